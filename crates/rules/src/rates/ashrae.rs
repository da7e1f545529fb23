//! ASHRAE 62.2 in its editions, with the credit for infiltration.
//!
//! The SI coefficients and the formulas of leakage stand in ASHRAE Handbook—Fundamentals (2021),
//! chapter 16; the inch-pound coefficients, the yearly infiltration and the rules of the credit are
//! from memory.

use units::System;

use super::words::{Words, percent};
use super::{Dwelling, Rate, Step, own_row};
use crate::infiltration::normalised_leakage;
use crate::row::{FOOT, INCH};

/// An edition of ASHRAE 62.2, or several that ask the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Edition {
    /// 2010; 2004 and 2007 alike.
    To2010,
    /// 2013.
    From2013,
    /// 2016.
    From2016,
    /// 2019 and 2022.
    From2019,
}

impl Edition {
    /// All, the oldest first.
    pub const ALL: [Self; 4] = [Self::To2010, Self::From2013, Self::From2016, Self::From2019];

    /// Name of the row.
    pub fn rule(self) -> &'static str {
        match self {
            Self::To2010 => "62.2-2010 rate",
            Self::From2013 => "62.2-2013 rate",
            Self::From2016 => "62.2-2016 rate",
            Self::From2019 => "62.2-2019 rate",
        }
    }

    /// The year by which a job chooses it.
    pub fn name(self) -> &'static str {
        match self {
            Self::To2010 => "2010",
            Self::From2013 => "2013",
            Self::From2016 => "2016",
            Self::From2019 => "2019",
        }
    }

    /// Outdoor air per floor area: cfm per ft², L/s per m².
    fn per_area(self) -> (f64, f64) {
        match self {
            Self::To2010 => (0.01, 0.05),
            _ => (0.03, 0.15),
        }
    }

    /// Flow below which some text asks for no fan (cfm, L/s); unsure.
    fn smallest_fan(self) -> Option<(f64, f64)> {
        match self {
            Self::To2010 => None,
            Self::From2013 | Self::From2016 => Some((15.0, 7.0)),
            Self::From2019 => Some((10.0, 5.0)),
        }
    }
}

/// Total rate (m³/s) of an edition for a floor area (m²) and people: `0.03 A + 7.5 N` cfm with A in
/// ft², or `0.15 A + 3.5 N` L/s with A in m², from 2013 on; 0.01 and 0.05 before. The two forms are
/// rounded apart.
///
/// ```
/// use rules::rates::{Edition, total_rate};
/// use units::System;
/// // 1800 ft², three bedrooms and so four people: 84 cfm; in the SI form 39.08 L/s.
/// let area = 1800.0 * 0.3048 * 0.3048;
/// let rate = total_rate(Edition::From2019, area, 4, System::Ip);
/// assert!((rate / 0.0004719474432 - 84.0).abs() < 1e-9);
/// let rate = total_rate(Edition::From2019, area, 4, System::Si);
/// assert!((rate * 1e3 - 39.08).abs() < 0.005);
/// ```
pub fn total_rate(edition: Edition, floor_area: f64, people: u32, system: System) -> f64 {
    let words = Words(system);
    let (inch_pound, international) = edition.per_area();
    words.to_si(
        words.form(inch_pound, international) * words.area_number(floor_area)
            + words.form(7.5, 3.5) * f64::from(people),
    )
}

/// Yearly effective infiltration (m³/s): `NL · wsf · A / 7.3` cfm with A in ft², or
/// `NL · wsf · A / 1.44` L/s with A in m²; from memory.
///
/// ```
/// use units::System;
/// // Normalised leakage 0.4189, factor 0.60, 1800 ft²: 61.98 cfm, and 29.19 L/s in the SI form.
/// let area = 1800.0 * 0.3048 * 0.3048;
/// let flow = rules::rates::counted_infiltration(0.4189, 0.60, area, System::Ip);
/// assert!((flow / 0.0004719474432 - 61.98).abs() < 0.01);
/// let flow = rules::rates::counted_infiltration(0.4189, 0.60, area, System::Si);
/// assert!((flow * 1e3 - 29.19).abs() < 0.01);
/// ```
pub fn counted_infiltration(
    normalised_leakage: f64,
    weather_factor: f64,
    floor_area: f64,
    system: System,
) -> f64 {
    let words = Words(system);
    words.to_si(
        normalised_leakage * weather_factor * words.area_number(floor_area) / words.form(7.3, 1.44),
    )
}

/// The same in one line, `0.052 · wsf · S · Q50` with `S = storeys^0.4`, as a public page on
/// weatherization prints it for exponent 0.65 and storeys of 2.5 m; the flow at 50 Pa in m³/s.
///
/// ```
/// let flow = rules::rates::one_line_infiltration(1500.0, 0.60, 2.0);
/// assert!((flow - 61.78).abs() < 0.03); // the page rounds S to 1.32
/// ```
pub fn one_line_infiltration(flow_at_50: f64, weather_factor: f64, storeys: f64) -> f64 {
    0.052 * weather_factor * storeys.powf(0.4) * flow_at_50
}

/// The infiltration that counts (m³/s), with its arithmetic; or what is missing.
fn infiltration(dwelling: &Dwelling, system: System) -> Result<(f64, Vec<Step>), String> {
    if !dwelling.leakage_measured {
        return Err("No credit for infiltration: a blower-door test is needed for it. Type its result as house.blower_door.".into());
    }
    let Some(factor) = dwelling.weather_factor else {
        return Err("No credit for infiltration: it needs the weather and shielding factor of the place. Look it up in your copy of the standard (normative appendix B) and type it as rates.weather_factor; no value is assumed for any town.".into());
    };
    let words = Words(system);
    let law = &dwelling.leakage;
    let at_4 = law.flow(4.0);
    let area = law.leakage_area(4.0, 1.0);
    // The reference height is 2.5 m or 8.2 ft, rounded apart.
    let reference = words.form(8.2 * FOOT, 2.5);
    let leakage = normalised_leakage(area, dwelling.floor_area, dwelling.height * 2.5 / reference);
    let flow = counted_infiltration(leakage, factor, dwelling.floor_area, system);
    let area_words = match system {
        System::Ip => format!("{:.1} in²", area / (INCH * INCH)),
        System::Si => format!("{area:.4} m²"),
    };
    let steps = vec![
        Step::flow(
            "flow through the leaks at 4 Pa",
            format!(
                "{} × (4 ÷ 50)^{:.2} = {}",
                words.flow(law.flow(50.0)),
                law.exponent(),
                words.flow(at_4)
            ),
            at_4,
        ),
        Step {
            what: "effective leakage area".into(),
            formula: match system {
                System::Ip => format!("0.2833 in²/cfm × {} = {area_words}", words.flow(at_4)),
                System::Si => format!("{at_4:.4} m³/s ÷ √(2 × 4 Pa ÷ 1.2 kg/m³) = {area_words}"),
            },
            value: area,
            unit: "m2",
        },
        Step::number(
            "normalised leakage",
            format!(
                "1000 × ({area_words}{} ÷ {}) × ({} ÷ {})^0.4 = {leakage:.3}",
                if system == System::Ip { " ÷ 144" } else { "" },
                words.area(dwelling.floor_area),
                words.height(dwelling.height),
                match system {
                    System::Ip => "8.2 ft",
                    System::Si => "2.5 m",
                },
            ),
            leakage,
        ),
        Step::flow(
            "infiltration over the year",
            format!(
                "{leakage:.3} × {factor:.2} × {} ÷ {} = {}",
                words.area(dwelling.floor_area),
                words.form(7.3, 1.44),
                words.flow(flow)
            ),
            flow,
        ),
    ];
    Ok((flow, steps))
}

/// The rate of one edition.
pub(super) fn rate(dwelling: &Dwelling, edition: Edition, system: System) -> Rate {
    let words = Words(system);
    let people = dwelling.counted_people();
    let total = total_rate(edition, dwelling.floor_area, people, system);
    let (inch_pound, international) = edition.per_area();
    let mut rate = Rate::plain(
        own_row(edition.rule()),
        vec![Step::flow(
            "total",
            format!(
                "{} × {} + {} × {people} people = {}",
                words.form(inch_pound, international),
                words.area(dwelling.floor_area),
                words.form(7.5, 3.5),
                words.flow(total)
            ),
            total,
        )],
    );
    if dwelling.people > dwelling.bedrooms.max(1) + 1 {
        rate.exceptions.push(format!(
            "{people} people live there, more than bedrooms plus one: each is counted."
        ));
    }
    if edition == Edition::To2010 && dwelling.new_construction {
        rate.exceptions.push(
            "A usual infiltration is already inside the coefficient; a new house gets no further credit.".into(),
        );
        return rate;
    }
    match infiltration(dwelling, system) {
        Err(missing) => rate.missing.push(missing),
        Ok((flow, steps)) => {
            rate.steps.extend(steps);
            if edition == Edition::To2010 {
                excess_credit(&mut rate, dwelling, flow, words);
            } else {
                credit(&mut rate, dwelling, edition, flow, words);
            }
        }
    }
    if let Some((cfm, litres)) = edition.smallest_fan() {
        let smallest = words.form(cfm, litres);
        if rate.needed < words.to_si(smallest) {
            rate.doubts.push(format!(
                "What is left is less than {}: some text of this edition then asks for no fan (unsure, so it is not applied).",
                words.flow(words.to_si(smallest))
            ));
        }
    }
    rate
}

/// 2010: existing houses subtract half of the infiltration beyond the usual that is counted
/// already, `0.5 · max(0, Q_inf − 0.02 A)`.
fn excess_credit(rate: &mut Rate, dwelling: &Dwelling, infiltration: f64, words: Words) {
    let usual = words.to_si(words.form(0.02, 0.1) * words.area_number(dwelling.floor_area));
    let credit = 0.5 * (infiltration - usual).max(0.0);
    rate.steps.push(Step::flow(
        "credit",
        format!(
            "0.5 × ({} − {} × {}), not below zero = {}",
            words.flow(infiltration),
            words.form(0.02, 0.1),
            words.area(dwelling.floor_area),
            words.flow(credit)
        ),
        credit,
    ));
    subtract(rate, credit, words);
    rate.exceptions
        .push("An existing house subtracts half of the infiltration beyond the usual.".into());
}

/// From 2013 on.
fn credit(rate: &mut Rate, dwelling: &Dwelling, edition: Edition, infiltration: f64, words: Words) {
    let mut counted = infiltration;
    let share = dwelling.exterior_share;
    if share < 1.0 {
        counted *= share;
        let what = "part through the exterior share of the envelope";
        let formula = format!(
            "{} × {} = {}",
            words.flow(infiltration),
            percent(share),
            words.flow(counted)
        );
        rate.steps.push(Step::flow(what, formula, counted));
        if edition != Edition::From2019 {
            rate.doubts.push("That an attached dwelling counts only this share is unsure for this edition; it is taken, on the safe side.".into());
        }
    }
    let cap = 2.0 / 3.0 * rate.total;
    let capped = match edition {
        Edition::From2019 => dwelling.new_construction || dwelling.cap_credit,
        _ => dwelling.new_construction,
    };
    if counted > cap {
        if capped {
            rate.steps.push(Step::flow(
                "most that counts",
                format!("2/3 × {} = {}", words.flow(rate.total), words.flow(cap)),
                cap,
            ));
            counted = cap;
            rate.exceptions
                .push("The credit stops at two thirds of the total.".into());
        }
        if edition == Edition::From2019 && !dwelling.new_construction {
            rate.doubts.push(if capped {
                "Whether this cap holds for existing houses is unsure; it is applied, on the safe side (rates.cap_credit = false takes it away).".into()
            } else {
                "Whether the credit of an existing house stops at two thirds of the total is unsure; the job file takes the cap away.".into()
            });
        }
    }
    if edition == Edition::From2019 && !dwelling.balanced {
        let factor = (counted / rate.total).min(1.0);
        rate.steps.push(Step::number(
            "factor of an unbalanced system",
            format!(
                "{} ÷ {} = {factor:.3}",
                words.flow(counted),
                words.flow(rate.total)
            ),
            factor,
        ));
        let credit = factor * counted;
        rate.steps.push(Step::flow(
            "credit",
            format!(
                "{factor:.3} × {} = {}",
                words.flow(counted),
                words.flow(credit)
            ),
            credit,
        ));
        rate.exceptions.push("Supply and exhaust are not balanced: they and the leaks share the openings, so infiltration counts less.".into());
        counted = credit;
    }
    subtract(rate, counted, words);
}

fn subtract(rate: &mut Rate, credit: f64, words: Words) {
    rate.needed = (rate.total - credit).max(0.0);
    rate.credit = Some(credit);
    rate.steps.push(Step::flow(
        "by the ventilator",
        format!(
            "{} − {}{} = {}",
            words.flow(rate.total),
            words.flow(credit),
            if credit > rate.total {
                ", not below zero"
            } else {
                ""
            },
            words.flow(rate.needed)
        ),
        rate.needed,
    ));
}
