//! Price against performance: every plan a dot, and the line along which none is cheaper and better.

use maud::{Markup, PreEscaped, html};
use plan::comparison::{frontier, price};
use plan::merit::performance;
use plan::search::Search;
use units::text::{fixed, money, thousands};

use crate::say::counted;

/// What the chart shows, whatever its size.
pub struct Chart<'a> {
    found: &'a Search,
    /// Plans along the line, the cheapest first.
    pub frontier: Vec<usize>,
    /// Place of the chosen plan, if it is among those found.
    chosen: Option<usize>,
    /// What the price axis measures, and how a price is written.
    axis: Axis<'a>,
    address: &'a str,
}

/// The price axis.
enum Axis<'a> {
    /// Unit and parts in this currency.
    Money(&'a str),
    /// Nothing has a price: electricity of a year.
    Electricity,
}

/// The size of a sheet, and how large its dots and letters are.
struct Sheet {
    class: &'static str,
    width: f64,
    height: f64,
    letter: f64,
    price_steps: f64,
}

const SHEETS: [Sheet; 2] = [
    Sheet {
        class: "chart wide",
        width: 860.0,
        height: 400.0,
        letter: 14.0,
        price_steps: 6.0,
    },
    Sheet {
        class: "chart narrow",
        width: 358.0,
        height: 340.0,
        letter: 14.0,
        price_steps: 3.0,
    },
];

impl<'a> Chart<'a> {
    /// The chart of a search. `address` is that of the page of plans.
    pub fn new(
        found: &'a Search,
        currency: &'a str,
        chosen: Option<usize>,
        address: &'a str,
    ) -> Self {
        let priced = found.ranked.iter().any(|plan| plan.merits.parts_cost > 0.0);
        Self {
            found,
            frontier: frontier(found),
            chosen,
            axis: if priced {
                Axis::Money(currency)
            } else {
                Axis::Electricity
            },
            address,
        }
    }

    fn at(&self, place: usize) -> (f64, f64) {
        let plan = &self.found.ranked[place];
        (price(&plan.merits), performance(&plan.lost))
    }

    /// A price as it is written.
    pub fn price(&self, place: usize) -> String {
        self.written(self.at(place).0)
    }

    fn written(&self, price: f64) -> String {
        match self.axis {
            Axis::Money(currency) => money(currency, price),
            Axis::Electricity => format!("{} kWh", thousands(price.round().max(0.0) as usize)),
        }
    }

    /// What the price axis measures.
    pub fn measure(&self) -> &'static str {
        match self.axis {
            Axis::Money(_) => "Unit and parts",
            Axis::Electricity => "Electricity a year",
        }
    }

    /// Points of a plan at everything but the price.
    pub fn performance(&self, place: usize) -> String {
        fixed(self.at(place).1, 1)
    }

    /// The chart for wide paper and for a phone; the style shows one of them.
    pub fn draw(&self) -> Markup {
        html! { @for sheet in &SHEETS { (self.sheet(sheet)) } }
    }

    fn sheet(&self, sheet: &Sheet) -> Markup {
        let all = || (0..self.found.ranked.len()).map(|place| self.at(place));
        let (low, high) = ends(all().map(|(price, _)| price));
        let (worst, best) = ends(all().map(|(_, performance)| performance));
        let prices = ticks(low, high, sheet.price_steps);
        let points = ticks(worst, best, 5.0);
        let (left, right) = (2.6 * sheet.letter, sheet.width - 1.2 * sheet.letter);
        let (top, bottom) = (2.2 * sheet.letter, sheet.height - 3.4 * sheet.letter);
        let x = |price: f64| left + (right - left) * along(&prices, price);
        let y = |performance: f64| bottom - (bottom - top) * along(&points, performance);
        let spot = |place: usize| {
            let (price, performance) = self.at(place);
            (x(price), y(performance))
        };
        let mut dots: Vec<(i64, i64)> = all()
            .map(|(price, performance)| (x(price).round() as i64, y(performance).round() as i64))
            .collect();
        dots.sort_unstable();
        dots.dedup();
        let dots: String = dots.iter().map(|(x, y)| format!("M{x} {y}h0")).collect();
        let line: String = self
            .frontier
            .iter()
            .enumerate()
            .map(|(index, &place)| {
                let (x, y) = spot(place);
                // Stairs: what a price buys at least.
                if index == 0 {
                    format!("M{x:.1} {y:.1}")
                } else {
                    format!("H{x:.1}V{y:.1}")
                }
            })
            .collect();
        let labels = self.labels(&spot, sheet);
        let text = fixed(sheet.letter, 0);
        let at = |number: f64| fixed(number, 1).replace('−', "-");
        html! {
            svg class=(sheet.class) viewBox={ "0 0 " (at(sheet.width)) " " (at(sheet.height)) } role="group"
                aria-label={ (self.measure()) " against performance of " (counted(self.found.ranked.len(), "plan", "plans")) ". The plans along the line stand in the table below." } {
                g class="grid" aria-hidden="true" {
                    @for &tick in &points {
                        path d={ "M" (at(left)) " " (at(y(tick))) "H" (at(right)) } {}
                        text x=(at(left - 0.5 * sheet.letter)) y=(at(y(tick) + 0.35 * sheet.letter)) text-anchor="end" font-size=(text) { (fixed(tick, 0)) }
                    }
                    @for &tick in &prices {
                        path d={ "M" (at(x(tick))) " " (at(bottom)) "v" (at(0.4 * sheet.letter)) } {}
                        text x=(at(x(tick))) y=(at(bottom + 1.5 * sheet.letter)) text-anchor="middle" font-size=(text) { (self.written(tick)) }
                    }
                    text x=(at(right)) y=(at(bottom + 2.9 * sheet.letter)) text-anchor="end" font-size=(text) { (self.measure()) " →" }
                    text x="0" y=(at(sheet.letter)) font-size=(text) { "↑ Points for everything but the price" }
                }
                path class="dots" d=(dots) aria-hidden="true" {}
                path class="line" d=(line) aria-hidden="true" {}
                @for &place in &self.frontier {
                    @let (x, y) = spot(place);
                    (self.link(place, html! { circle cx=(at(x)) cy=(at(y)) r=(at(0.36 * sheet.letter)) {} }))
                }
                @if let Some(place) = self.chosen {
                    @let (x, y) = spot(place);
                    @let half = 0.45 * sheet.letter;
                    g class="chosen" {
                        (self.link(place, html! {
                            rect x=(at(x - half)) y=(at(y - half)) width=(at(2.0 * half)) height=(at(2.0 * half)) {}
                        }))
                    }
                }
                g class="labels" aria-hidden="true" font-size=(text) {
                    @for (x, y, words) in labels { text x=(at(x)) y=(at(y)) { (words) } }
                }
            }
        }
    }

    /// A mark that leads to its plan.
    fn link(&self, place: usize, mark: Markup) -> Markup {
        html! {
            a href={ (self.address) "/" (place + 1) } {
                title { "Plan " (place + 1) ": " (self.price(place)) ", " (self.performance(place)) " points" }
                (mark)
                (PreEscaped(""))
            }
        }
    }

    /// Numbers beside the marks, as far as they have room.
    fn labels(&self, spot: &dyn Fn(usize) -> (f64, f64), sheet: &Sheet) -> Vec<(f64, f64, String)> {
        let mut taken: Vec<(f64, f64, f64)> = Vec::new();
        let mut labels = Vec::new();
        let chosen = self.chosen.map(|place| (place, true));
        let others = self.frontier.iter().rev().map(|&place| (place, false));
        for (place, is_chosen) in chosen.into_iter().chain(others) {
            if labels.len() > 8 || (!is_chosen && self.chosen == Some(place)) {
                continue;
            }
            let (x, y) = spot(place);
            let words = if is_chosen {
                format!("{} chosen", place + 1)
            } else {
                (place + 1).to_string()
            };
            let long = 0.6 * sheet.letter * words.len() as f64;
            let (left, base) = (
                (x + 0.6 * sheet.letter).min(sheet.width - long),
                y - 0.5 * sheet.letter,
            );
            let free = taken.iter().all(|&(other, line, length)| {
                left > other + length + 2.0
                    || other > left + long + 2.0
                    || (base - line).abs() > 1.1 * sheet.letter
            });
            if free {
                taken.push((left, base, long));
                labels.push((left, base, words));
            }
        }
        labels
    }
}

fn ends(values: impl Iterator<Item = f64>) -> (f64, f64) {
    values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
        (low.min(value), high.max(value))
    })
}

/// Round numbers from below the lowest to above the highest value; what is one value, or nearly one,
/// lies between them.
fn ticks(low: f64, high: f64, steps: f64) -> Vec<f64> {
    if !low.is_finite() || !high.is_finite() {
        return vec![0.0, 1.0];
    }
    let spread = (high - low).max(0.05 * high.abs());
    let rough = (spread / steps).max(1.0);
    let ten = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|times| times * ten)
        .find(|step| *step >= rough)
        .unwrap_or(rough);
    let (mut first, mut last) = ((low / step).floor() as i64, (high / step).ceil() as i64);
    if first == last {
        (first, last) = (first - 1, last + 1);
    }
    (first..=last).map(|tick| tick as f64 * step).collect()
}

/// How far a value lies between the first and the last tick.
fn along(ticks: &[f64], value: f64) -> f64 {
    match (ticks.first(), ticks.last()) {
        (Some(first), Some(last)) if last > first => (value - first) / (last - first),
        _ => 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_hold_all_values() {
        for (low, high, steps, expected) in [
            (
                2310.0,
                4120.0,
                6.0,
                vec![2000.0, 2500.0, 3000.0, 3500.0, 4000.0, 4500.0],
            ),
            (61.2, 88.9, 5.0, vec![60.0, 70.0, 80.0, 90.0]),
            (50.0, 50.0, 5.0, vec![49.0, 50.0, 51.0]),
            (1560.0, 1560.0, 3.0, vec![1550.0, 1600.0]),
        ] {
            assert_eq!(ticks(low, high, steps), expected);
        }
        assert_eq!(ticks(f64::INFINITY, f64::NEG_INFINITY, 5.0), [0.0, 1.0]);
        assert!((along(&[60.0, 70.0, 80.0], 75.0) - 0.75).abs() < 1e-12);
    }
}
