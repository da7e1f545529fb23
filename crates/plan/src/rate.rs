//! The outdoor-air rate that a plan has to meet.

use house::model::Job;

/// A required rate with its arithmetic in words.
#[derive(Debug, Clone, PartialEq)]
pub struct RequiredRate {
    /// The rate (m³/s).
    pub rate: f64,
    /// How it came about.
    pub because: String,
    /// Whose rule it is.
    pub authority: &'static str,
}

/// Total rate of ASHRAE 62.2 for one dwelling, editions from 2013 on (m³/s):
/// `0.03 A + 7.5 (N + 1)` cfm with A in ft², or `0.15 A + 3.5 (N + 1)` L/s with A in m². The two
/// forms are rounded apart; pick one for a job. N is the number of bedrooms, at least one; each
/// person beyond N + 1 adds 7.5 cfm or 3.5 L/s.
///
/// The coefficients of the SI form stand in ASHRAE Fundamentals 2021, chapter 16; the IP form is
/// from memory.
///
/// ```
/// // 1800 ft², three bedrooms, four people: 84 cfm.
/// let rate = plan::rate::total_rate(1800.0 * 0.09290304, 3, 4, true);
/// assert!((rate / 0.000471947443 - 84.0).abs() < 1e-6);
/// ```
pub fn total_rate(floor_area: f64, bedrooms: u32, occupants: u32, inch_pound: bool) -> f64 {
    let people = f64::from((bedrooms.max(1) + 1).max(occupants));
    if inch_pound {
        (0.03 * floor_area / SQUARE_FOOT + 7.5 * people) * CUBIC_FOOT_PER_MINUTE
    } else {
        (0.15 * floor_area + 3.5 * people) * 1e-3
    }
}

const SQUARE_FOOT: f64 = 0.092_903_04;
const CUBIC_FOOT_PER_MINUTE: f64 = 0.000_471_947_443_2;

/// The rate that a job asks for: the contractor's own number, or the total rate of ASHRAE 62.2.
pub fn required(job: &Job) -> RequiredRate {
    let building = &job.building;
    if let Some(rate) = building.required_rate {
        return RequiredRate {
            rate,
            because: "typed in the job file".into(),
            authority: "the job file",
        };
    }
    let inch_pound = job.inch_pound_first;
    let rate = total_rate(
        building.floor_area,
        building.bedrooms,
        building.occupants,
        inch_pound,
    );
    let people = (building.bedrooms.max(1) + 1).max(building.occupants);
    let because = if inch_pound {
        format!(
            "0.03 × {:.0} ft² + 7.5 × {people} people = {:.1} cfm",
            building.floor_area / SQUARE_FOOT,
            rate / CUBIC_FOOT_PER_MINUTE
        )
    } else {
        format!(
            "0.15 × {:.0} m² + 3.5 × {people} people = {:.1} L/s",
            building.floor_area,
            rate * 1e3
        )
    };
    RequiredRate {
        rate,
        because,
        authority: "ASHRAE 62.2 total rate, editions from 2013 on (formula from memory; check your edition)",
    }
}
