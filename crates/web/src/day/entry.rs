//! The number that is typed: large, with its unit, and a scale that shows where it lies.

use balancing::words::plain_shown;
use balancing::{Day, Gauge, Reached};
use commission::{Interval, Place};
use maud::{Markup, html};
use units::text::capital;
use units::{Pressure, Quantity as _, System, VolumeFlow};

/// What was sent and is asked again, with what is wrong with it.
#[derive(Default)]
pub struct Again {
    /// The form it belongs to: the last part of its address.
    pub form: &'static str,
    /// What was typed, by the names of the fields.
    pub fields: Vec<(String, String)>,
    /// What is wrong, in a sentence.
    pub why: String,
}

impl Again {
    /// What was typed into a field of a form.
    pub fn typed(&self, form: &str, name: &str) -> Option<&str> {
        let mut fields = self.fields.iter().filter(|_| self.form == form);
        let found = fields.find(|(field, _)| field == name);
        found.map(|(_, typed)| typed.as_str())
    }

    /// What is wrong with a form.
    pub fn complaint(&self, form: &str) -> Option<&str> {
        (self.form == form).then_some(self.why.as_str())
    }
}

/// Units that may stand behind a number at a place, the usual one first, each with its size in SI.
fn units_at(day: &Day, place: Place) -> Vec<(&'static str, f64)> {
    let first = day.likely_unit(place);
    let flows = VolumeFlow::units();
    let of_flow = flows.iter().any(|unit| unit.symbol == first);
    let (units, usual) = if of_flow {
        (flows, ["cfm", "L/s"])
    } else {
        (Pressure::units(), ["inWC", "Pa"])
    };
    let wanted = |symbol: &str| symbol == first || usual.contains(&symbol);
    let mut list: Vec<(&'static str, f64)> = units
        .iter()
        .filter(|unit| wanted(unit.symbol))
        .map(|unit| (unit.symbol, unit.factor))
        .collect();
    list.sort_by_key(|(symbol, _)| *symbol != first);
    list
}

/// Whether a place is read at several points, whose velocity pressures are typed one after another.
fn is_traverse(day: &Day, place: Place) -> bool {
    let pressure = |symbol: &str| Pressure::units().iter().any(|unit| unit.symbol == symbol);
    day.set_up.shows_flow(place) && pressure(day.unit(place))
}

/// A place where a number is asked for.
pub struct Asked<'a> {
    /// The form.
    pub form: &'static str,
    /// The day.
    pub day: &'a Day,
    /// The place.
    pub place: Place,
    /// What the number will likely be.
    pub likely: Option<Interval>,
    /// Where a damper is to lead it.
    pub gauge: Option<Gauge>,
    /// What was typed before.
    pub again: &'a Again,
    /// The system of units that comes first.
    pub system: System,
}

impl Asked<'_> {
    /// The field, with its sign and unit, what it will show, and the scale.
    pub fn field(&self, label: &str) -> Markup {
        let form = self.form;
        let id = format!("{form}-value");
        let units = units_at(self.day, self.place);
        let typed = |name: &str| self.again.typed(form, name).unwrap_or_default();
        let complaint = self.again.complaint(form);
        let several = is_traverse(self.day, self.place);
        let below_zero = match self.again.typed(form, "value") {
            Some(_) => typed("minus") == "1",
            None => self.likely.is_some_and(|likely| likely.high < 0.0),
        };
        let unit = typed("unit");
        html! {
            div class="shows" {
                label for=(id) { (label) }
                div class="number-entry" data-entry=[(!several).then_some("")] {
                    @if !several {
                        label class="sign" {
                            input type="checkbox" name="minus" value="1" checked[below_zero] aria-label="below zero";
                            span aria-hidden="true" { "−" }
                        }
                    }
                    input id=(id) name="value" value=(typed("value")) inputmode=(if several { "text" } else { "decimal" })
                        autocomplete="off" spellcheck="false" enterkeyhint="done" maxlength="200"
                        aria-describedby={ (id) "-hint" } aria-invalid=[complaint.map(|_| "true")];
                    select name="unit" aria-label="Unit" {
                        @for (symbol, factor) in &units {
                            option value=(symbol) data-factor=(factor) selected[*symbol == unit] { (symbol) }
                        }
                    }
                }
                @if let Some(why) = complaint { p class="error" role="alert" { (why) } }
                div id={ (id) "-hint" } class="hint" { (self.outlook(several)) }
                @if !several { (self.scale()) }
                p class="reached" role="status" data-reached="" {}
            }
        }
    }

    fn value(&self, value: f64) -> String {
        plain_shown(self.day, self.place, value, self.system)
    }

    /// What it will show.
    fn outlook(&self, several: bool) -> Markup {
        html! {
            @if several { "The velocity pressures of all points, parted by semicolons. " }
            @if let Some(gauge) = &self.gauge {
                "Near enough from " (self.value(gauge.aim - gauge.band)) " to " (self.value(gauge.aim + gauge.band)) "."
            } @else if let Some(likely) = &self.likely {
                "It will likely show " (self.value(likely.low)) " to " (self.value(likely.high)) "."
            }
        }
    }

    /// A plain scale: where it will likely lie, or the way to the aim. The script moves a needle on
    /// it; every number and word comes from here.
    fn scale(&self) -> Markup {
        let gauge = match (self.gauge, self.likely) {
            (Some(gauge), _) => gauge,
            (None, Some(likely)) if likely.high > likely.low => {
                let half = 0.5 * (likely.high - likely.low);
                Gauge {
                    before: likely.value,
                    aim: likely.value,
                    band: half,
                    low: likely.low - 1.2 * half,
                    high: likely.high + 1.2 * half,
                }
            }
            _ => return html! {},
        };
        let words = match self.gauge {
            None => [
                "Within what is likely.",
                "Outside of what is likely. Look at hose, unit and what runs before you keep it.",
                "Outside of what is likely. Look at hose, unit and what runs before you keep it.",
            ]
            .map(str::to_owned),
            Some(gauge) => [gauge.aim, gauge.low, gauge.high].map(|value| {
                let reached = gauge.reached(value);
                let mut text = capital(reached.words());
                text.push_str(if reached == Reached::There { "." } else { "; " });
                text
            }),
        };
        const LEFT: f64 = 10.0;
        const WIDTH: f64 = 320.0;
        let x = |value: f64| LEFT + WIDTH * gauge.part(value);
        let (from, to) = (x(gauge.aim - gauge.band), x(gauge.aim + gauge.band));
        let anchor = |at: f64| match at {
            at if at < 70.0 => "start",
            at if at > 270.0 => "end",
            _ => "middle",
        };
        html! {
            svg class="scale" viewBox="0 0 340 74" role="img" aria-label="The scale along which the reading lies"
                data-scale="" data-low=(gauge.low) data-high=(gauge.high) data-aim=(gauge.aim) data-band=(gauge.band)
                data-inside=(words[0]) data-below=(words[1]) data-above=(words[2]) data-turn=[self.gauge.map(|_| "")] {
                line class="axis" x1=(LEFT) y1="38" x2=(LEFT + WIDTH) y2="38" {}
                rect class="near" x=(format!("{from:.1}")) y="31" width=(format!("{:.1}", (to - from).max(2.0))) height="14" {}
                @for part in 0..=10 {
                    @let at = LEFT + WIDTH * f64::from(part) / 10.0;
                    line class="axis" x1=(at) y1="38" x2=(at) y2=(if part % 5 == 0 { 45 } else { 42 }) {}
                }
                @if self.gauge.is_some() {
                    @let at = x(gauge.aim);
                    line class="aim" x1=(format!("{at:.1}")) y1="24" x2=(format!("{at:.1}")) y2="46" {}
                    text x=(format!("{at:.1}")) y="17" text-anchor=(anchor(at)) { "aim " (self.value(gauge.aim)) }
                    @let at = x(gauge.before);
                    line class="axis" x1=(format!("{at:.1}")) y1="30" x2=(format!("{at:.1}")) y2="46" {}
                    text class="quiet" x=(format!("{at:.1}")) y="68" text-anchor=(anchor(at)) { "before " (self.value(gauge.before)) }
                } @else {
                    @for value in [gauge.aim - gauge.band, gauge.aim + gauge.band] {
                        @let at = x(value);
                        text class="quiet" x=(format!("{at:.1}")) y="20" text-anchor="middle" { (self.value(value)) }
                    }
                }
                path class="needle" data-needle="" d="M0 40l7 13h-14z" {}
            }
        }
    }
}
