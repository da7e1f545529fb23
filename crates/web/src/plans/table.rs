//! All plans that work as a table: sorted by any column, filtered by layout and unit.

use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse as _, Response};
use house::model::{Job, Layout};
use maud::{Markup, html};
use plan::account::priced;
use plan::search::{Evaluated, Search};
use serde::Deserialize;
use units::System;
use units::text::{capital, fixed, signed, thousands};

use super::{chosen_place, found, running};
use crate::App;
use crate::job::Open;
use crate::layout::of_job;
use crate::needs::blocked;
use crate::say::short_flow;

/// Rows that are shown at first.
const FIRST: usize = 25;
/// Most rows of a page.
const MOST: usize = 400;

/// What is asked of the table.
#[derive(Deserialize, Default)]
pub struct Asked {
    by: Option<String>,
    layout: Option<String>,
    unit: Option<String>,
    rows: Option<usize>,
}

/// A column of figures.
struct Column {
    key: &'static str,
    name: &'static str,
    /// The better, the smaller.
    value: fn(&Evaluated) -> f64,
    shown: fn(&Evaluated, &Job, System) -> String,
}

const COLUMNS: [Column; 9] = [
    Column {
        key: "points",
        name: "Points of 100",
        value: |plan| -plan.score(),
        shown: |plan, _, _| fixed(plan.score(), 1),
    },
    Column {
        key: "price",
        name: "Unit and parts",
        value: |plan| plan.merits.parts_cost,
        shown: |plan, job, _| price(plan, job),
    },
    Column {
        key: "balance",
        name: "Worst balance",
        value: |plan| plan.merits.balance,
        shown: |plan, _, _| format!("{} %", fixed(100.0 * plan.merits.balance, 1)),
    },
    Column {
        key: "short-circuit",
        name: "Short circuit",
        value: |plan| plan.merits.short_circuit,
        shown: |plan, _, _| format!("{} %", fixed(100.0 * plan.merits.short_circuit, 1)),
    },
    Column {
        key: "air",
        name: "Outdoor air",
        value: |plan| plan.merits.delivered,
        shown: |plan, _, system| short_flow(plan.merits.delivered, system),
    },
    Column {
        key: "fan",
        name: "Fan pressure used",
        value: |plan| plan.merits.fan_pressure_used,
        shown: |plan, _, _| format!("{} %", fixed(100.0 * plan.merits.fan_pressure_used, 0)),
    },
    Column {
        key: "sound",
        name: "Sound to target",
        value: |plan| {
            let excess = plan.merits.side_effects.sound_excess;
            excess.unwrap_or(f64::INFINITY)
        },
        shown: |plan, _, _| {
            let excess = plan.merits.side_effects.sound_excess;
            excess.map_or("unknown".to_owned(), |excess| {
                format!("{} dB", signed(excess, 0))
            })
        },
    },
    Column {
        key: "house-pressure",
        name: "Drawn down at worst",
        value: |plan| {
            let drawn = plan.merits.side_effects.drawn_down;
            drawn.map_or(0.0, |drawn| drawn.with_plan)
        },
        shown: |plan, _, _| {
            let drawn = plan.merits.side_effects.drawn_down;
            drawn.map_or("no limit".to_owned(), |drawn| {
                format!("{} Pa", fixed(drawn.with_plan, 1))
            })
        },
    },
    Column {
        key: "electricity",
        name: "Electricity a year",
        value: |plan| plan.merits.electricity,
        shown: |plan, _, _| {
            format!(
                "{} kWh",
                thousands(plan.merits.electricity.round() as usize)
            )
        },
    },
];

/// What unit and parts of a plan cost.
pub fn price(plan: &Evaluated, job: &Job) -> String {
    let cost = plan.merits.parts_cost;
    if priced(cost) {
        format!("{}{}", job.costs.currency, thousands(cost.round() as usize))
    } else {
        "no price".to_owned()
    }
}

/// The page.
pub async fn page(
    State(app): State<App>,
    Path(name): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Response, Response> {
    let open = Open::job(&app, &name).await?;
    let title = "Plans side by side";
    let Some(job) = open.known.job() else {
        let content = blocked(&open, title);
        return Ok(of_job(&open, "/plans", title, &content).into_response());
    };
    let Some(found) = found(&app, &open) else {
        return Ok(running(&open));
    };
    let content = content(&open, job, &found, &asked);
    Ok(of_job(&open, "/plans", title, &content).into_response())
}

fn content(open: &Open, job: &Job, found: &Search, asked: &Asked) -> Markup {
    let system = open.known.system();
    let by = COLUMNS
        .iter()
        .find(|column| Some(column.key) == asked.by.as_deref())
        .unwrap_or(&COLUMNS[0]);
    let given = |text: &Option<String>| text.clone().filter(|text| !text.is_empty());
    let (layout, unit) = (given(&asked.layout), given(&asked.unit));
    let mut places: Vec<usize> = (0..found.ranked.len())
        .filter(|&place| {
            let plan = &found.ranked[place].plan;
            let fits = |asked: &Option<String>, own: &str| {
                asked.as_deref().is_none_or(|asked| asked == own)
            };
            fits(&layout, plan.layout.name()) && fits(&unit, &job.units[plan.unit].name)
        })
        .collect();
    let value = |place: &usize| (by.value)(&found.ranked[*place]);
    // By points the ranking itself, which also puts the balanced before the others.
    if by.key != COLUMNS[0].key {
        places.sort_by(|a, b| value(a).total_cmp(&value(b)).then(a.cmp(b)));
    }
    let rows = asked.rows.unwrap_or(FIRST).clamp(1, MOST);
    let link = |by: &str, rows: usize| {
        let mut address = open.address(&format!("/plans/table?by={by}"));
        for (key, value) in [("layout", &layout), ("unit", &unit)] {
            if let Some(value) = value {
                address.push_str(&format!("&{key}={}", escaped(value)));
            }
        }
        if rows != FIRST {
            address.push_str(&format!("&rows={rows}"));
        }
        address
    };
    let chosen = chosen_place(job, found);
    let layouts: Vec<&str> = [
        Layout::DedicatedReturn,
        Layout::ReturnToSupply,
        Layout::ReturnToReturn,
        Layout::FullyDucted,
    ]
    .map(Layout::name)
    .into_iter()
    .filter(|name| {
        found
            .ranked
            .iter()
            .any(|plan| plan.plan.layout.name() == *name)
    })
    .collect();
    let mut units: Vec<&str> = found
        .ranked
        .iter()
        .map(|plan| job.units[plan.plan.unit].name.as_str())
        .collect();
    units.sort_unstable();
    units.dedup();
    html! {
        p class="trail" { a href=(open.address("/plans")) { "Plans" } }
        h1 { "Plans side by side" }
        form class="sieve" method="get" action=(open.address("/plans/table")) {
            input type="hidden" name="by" value=(by.key);
            (choice("layout", "Layout", &layouts, layout.as_deref()))
            (choice("unit", "Unit", &units, unit.as_deref()))
            button class="quietly" { "Show these" }
        }
        p role="status" {
            @if places.is_empty() { "No plan that works is like that." }
            @else {
                (thousands(places.len())) " of " (thousands(found.ranked.len()))
                @if places.len() == 1 { " plan" } @else { " plans" }
                ", the best by " (by.name.to_lowercase()) " first. A column's name sorts by it."
            }
        }
        @if !places.is_empty() {
            div class="scroll" tabindex="0" role="region" aria-label="Plans side by side" {
                table {
                    thead { tr {
                        th scope="col" { "Plan" }
                        @for column in &COLUMNS {
                            @let own = column.key == by.key;
                            th scope="col" class="number" aria-sort=[own.then_some(if column.key == "points" { "descending" } else { "ascending" })] {
                                a href=(link(column.key, rows)) { (column.name) }
                                @if own { span class="band" { "best first" } }
                            }
                        }
                    } }
                    tbody { @for &place in places.iter().take(rows) {
                        @let plan = &found.ranked[place];
                        tr class=[(chosen == Some(place)).then_some("decides")] {
                            th scope="row" {
                                a href=(open.address(&format!("/plans/{}", place + 1))) { (place + 1) }
                                @if chosen == Some(place) { span class="tag" { "chosen" } }
                                span class="band" { (capital(plan.plan.layout.name())) ", " (job.units[plan.plan.unit].name) }
                            }
                            @for column in &COLUMNS { td class="number" { ((column.shown)(plan, job, system)) } }
                        }
                    } }
                }
            }
            @if places.len() > rows && rows < MOST {
                p { a href=(link(by.key, (4 * rows).min(MOST))) { "Show more" } }
            }
        }
    }
}

fn choice(name: &str, words: &str, values: &[&str], chosen: Option<&str>) -> Markup {
    html! {
        label {
            (words)
            select name=(name) {
                option value="" { "all" }
                @for value in values { option value=(value) selected[chosen == Some(*value)] { (value) } }
            }
        }
    }
}

/// A text as part of an address (RFC 3986).
fn escaped(text: &str) -> String {
    let mut address = String::new();
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            address.push(char::from(byte));
        } else {
            address.push_str(&format!("%{byte:02X}"));
        }
    }
    address
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses() {
        // RFC 3986, section 2.1: reserved characters and others as octets.
        for (text, address) in [
            ("Fescue 70 H", "Fescue%2070%20H"),
            ("a&b=c", "a%26b%3Dc"),
            ("é", "%C3%A9"),
            ("a-b_c.d~", "a-b_c.d~"),
        ] {
            assert_eq!(escaped(text), address);
        }
    }
}
