//! The International Residential Code with Washington's amendments. All of it is in cfm and ft².

use units::System;

use super::words::{SQUARE_FOOT, Words};
use super::{Dwelling, Rate, Step, own_row};
use crate::row::CFM;

/// Upper ends of the rows of the table but the last (ft²). Exactly 1500 is unassigned in print and
/// belongs to the first row here.
const AREAS: [f64; 5] = [1500.0, 3000.0, 4500.0, 6000.0, 7500.0];
/// IRC table M1505.4.3(1) (cfm): by floor area, then with 0–1, 2–3, 4–5, 6–7 and more bedrooms.
const TABLE: [[f64; 5]; 6] = [
    [30.0, 45.0, 60.0, 75.0, 90.0],
    [45.0, 60.0, 75.0, 90.0, 105.0],
    [60.0, 75.0, 90.0, 105.0, 120.0],
    [75.0, 90.0, 105.0, 120.0, 135.0],
    [90.0, 105.0, 120.0, 135.0, 150.0],
    [105.0, 120.0, 135.0, 150.0, 165.0],
];
const WORDS: Words = Words(System::Ip);

/// Rate of IRC table M1505.4.3(1) (m³/s) for a floor area (m²) and bedrooms, before its credit.
///
/// ```
/// // 1800 ft², three bedrooms: 60 cfm.
/// let rate = rules::rates::table_rate(1800.0 * 0.3048 * 0.3048, 3);
/// assert!((rate / 0.0004719474432 - 60.0).abs() < 1e-9);
/// ```
pub fn table_rate(floor_area: f64, bedrooms: u32) -> f64 {
    let area = floor_area / SQUARE_FOOT;
    // A hundredth of a square foot is left for areas that were converted.
    let row = AREAS.iter().filter(|end| area > **end + 0.01).count();
    let column = (bedrooms / 2).min(4) as usize;
    TABLE[row][column] * CFM
}

/// Equation 15-1 (m³/s): `0.01 A + 7.5 (N + 1)` cfm.
fn equation(dwelling: &Dwelling) -> (f64, String) {
    let people = dwelling.bedrooms.max(1) + 1;
    let rate = (0.01 * dwelling.floor_area / SQUARE_FOOT + 7.5 * f64::from(people)) * CFM;
    let words = format!(
        "0.01 × {} + 7.5 × ({} + 1) = {}",
        WORDS.area(dwelling.floor_area),
        dwelling.bedrooms.max(1),
        WORDS.flow(rate)
    );
    (rate, words)
}

/// By the table.
pub(super) fn by_table(dwelling: &Dwelling) -> Rate {
    let rate = table_rate(dwelling.floor_area, dwelling.bedrooms);
    let formula = format!(
        "{}, {} bedrooms: {}",
        WORDS.area(dwelling.floor_area),
        dwelling.bedrooms,
        WORDS.flow(rate)
    );
    credited(
        Rate::plain(
            own_row("IRC rate by table"),
            vec![Step::flow("from the table", formula, rate)],
        ),
        dwelling,
    )
}

/// By the equation.
pub(super) fn by_equation(dwelling: &Dwelling) -> Rate {
    let (rate, formula) = equation(dwelling);
    credited(
        Rate::plain(
            own_row("IRC rate by equation"),
            vec![Step::flow("equation 15-1", formula, rate)],
        ),
        dwelling,
    )
}

/// What to type so that the distribution counts.
const DISTRIBUTION: &str = "Whether outdoor air reaches every bedroom and a living, dining or kitchen room is not said: type rates.distributed = true if the plan does that.";

/// Takes off 30 % where the system is balanced and distributed.
fn credited(mut rate: Rate, dwelling: &Dwelling) -> Rate {
    match (dwelling.balanced, dwelling.distributed) {
        (true, Some(true)) => {
            rate.needed = 0.7 * rate.total;
            rate.steps.push(Step::flow(
                "30 % less",
                format!("0.7 × {} = {}", WORDS.flow(rate.total), WORDS.flow(rate.needed)),
                rate.needed,
            ));
            rate.exceptions.push("Balanced, and supplied to every bedroom and a living, dining or kitchen room: 30 % less.".into());
        }
        (true, None) => rate.missing.push(format!(
            "The 30 % off for balanced and distributed systems is not taken. {DISTRIBUTION}"
        )),
        (true, Some(false)) => rate.exceptions.push(
            "No 30 % off: outdoor air does not reach every bedroom and a living, dining or kitchen room.".into(),
        ),
        (false, _) => rate
            .exceptions
            .push("No 30 % off: supply and exhaust are not balanced.".into()),
    }
    rate
}

/// Washington: `C · max(30, equation)`, C 1.0 if balanced and distributed, 1.25 if one of the two,
/// 1.5 if neither.
pub(super) fn washington(dwelling: &Dwelling) -> Rate {
    let (by_equation, formula) = equation(dwelling);
    let least = 30.0 * CFM;
    let mut steps = vec![Step::flow("equation of the IRC", formula, by_equation)];
    let mut exceptions = Vec::new();
    if by_equation < least {
        steps.push(Step::flow("at least", WORDS.flow(least), least));
        exceptions.push("The least rate of 30 cfm holds.".into());
    }
    let total = by_equation.max(least);
    let distributed = dwelling.distributed == Some(true);
    let factor = match (dwelling.balanced, distributed) {
        (true, true) => 1.0,
        (false, false) => 1.5,
        _ => 1.25,
    };
    let needed = factor * total;
    steps.push(Step::flow(
        match (dwelling.balanced, distributed) {
            (true, true) => "balanced and distributed",
            (true, false) => "balanced, not distributed",
            (false, true) => "distributed, not balanced",
            (false, false) => "neither balanced nor distributed",
        },
        format!("{factor} × {} = {}", WORDS.flow(total), WORDS.flow(needed)),
        needed,
    ));
    let mut rate = Rate::plain(own_row("Washington rate"), steps);
    rate.total = total;
    rate.exceptions = exceptions;
    if dwelling.distributed.is_none() {
        rate.missing.push(format!(
            "The factor of a system that is not distributed is taken. {DISTRIBUTION}"
        ));
    }
    rate
}
