//! Which operating case is shown, and how the dampers stand in it.

use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use house::model::{Job, Mode, Season, Setting};
use plan::OperatingCase;
use plan::case::{blower_modes, usual_mode};
use plan::flows::FlowsReport;
use serde::Deserialize;

use crate::layout::message;

/// What is asked for cannot be shown, and why, as a sentence.
#[derive(Debug, PartialEq)]
pub struct Refused(pub String);

impl From<Refused> for Response {
    fn from(refused: Refused) -> Self {
        let page = message("That cannot be shown", &refused.0);
        (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
    }
}

/// What an address asks for. What it does not say is as usual.
#[derive(Debug, Default, Deserialize)]
pub struct Asked {
    blower: Option<String>,
    setting: Option<String>,
    weather: Option<String>,
    supply_damper: Option<String>,
    extract_damper: Option<String>,
}

/// The case that is shown.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shown {
    /// The operating case.
    pub case: OperatingCase,
    /// Angle of the supply and of the extract damper (°).
    pub dampers: [f64; 2],
    /// The dampers stand as the plan has them.
    pub kept: bool,
}

/// The conditions of weather, with the word in the address and the words for people.
pub const WEATHERS: [(Season, &str, &str); 3] = [
    (Season::Winter, "winter", "in winter"),
    (Season::Mild, "mild", "on a mild day"),
    (Season::Summer, "summer", "in summer"),
];

/// The settings of the unit of a plan, and off.
pub fn settings(job: &Job, report: &FlowsReport) -> Vec<Setting> {
    let tested = job.units[report.plan.unit].settings.iter();
    let mut settings: Vec<Setting> = tested.map(|tested| tested.setting).collect();
    settings.push(Setting::Off);
    settings.sort();
    settings.dedup();
    settings
}

impl Shown {
    /// Reads an address; an answer of its own where that asks for what there is not.
    pub fn new(job: &Job, report: &FlowsReport, asked: &Asked) -> Result<Self, Refused> {
        let pick = |asked: Option<&String>, usual: usize, names: &[&str], what: &str| match asked {
            None => Ok(usual),
            Some(asked) => names.iter().position(|name| name == asked).ok_or_else(|| {
                Refused(format!(
                    "There is no {what} “{asked}” here. There is {}.",
                    names.join(", ")
                ))
            }),
        };
        let modes = blower_modes(job);
        let names: Vec<&str> = modes.iter().map(|mode| mode.name()).collect();
        let usual = usual_mode(job, report.plan.interlock);
        let usual = modes.iter().position(|mode| Some(*mode) == usual);
        let blower = pick(
            asked.blower.as_ref(),
            usual.unwrap_or(0),
            &names,
            "blower mode",
        )?;
        let settings = settings(job, report);
        let names: Vec<&str> = settings.iter().map(|setting| setting.name()).collect();
        let usual = settings.iter().position(|one| *one == report.plan.setting);
        let setting = pick(
            asked.setting.as_ref(),
            usual.unwrap_or(0),
            &names,
            "ventilator setting",
        )?;
        let weather = pick(
            asked.weather.as_ref(),
            1,
            &WEATHERS.map(|one| one.1),
            "weather",
        )?;
        let kept = [report.plan.supply_damper, report.plan.extract_damper];
        let dampers = [
            angle(asked.supply_damper.as_deref(), kept[0])?,
            angle(asked.extract_damper.as_deref(), kept[1])?,
        ];
        Ok(Self {
            case: OperatingCase {
                blower: modes.get(blower).copied().unwrap_or(Mode::Off),
                setting: settings[setting],
                season: WEATHERS[weather].0,
                wind: None,
            },
            dampers,
            kept: dampers == kept,
        })
    }

    /// The rest of an address that asks for this again.
    pub fn query(&self) -> String {
        let mut query = self.case_query();
        if !self.kept {
            let [supply, extract] = self.dampers;
            query += &format!("&supply_damper={supply}&extract_damper={extract}");
        }
        query
    }

    /// The same without the dampers.
    pub fn case_query(&self) -> String {
        case_query(&self.case)
    }

    /// The case in words.
    pub fn words(&self) -> String {
        case_words(&self.case)
    }
}

/// The rest of an address that asks for a case.
pub fn case_query(case: &OperatingCase) -> String {
    let weather = WEATHERS.iter().find(|one| one.0 == case.season);
    format!(
        "blower={}&setting={}&weather={}",
        case.blower.name(),
        case.setting.name(),
        weather.map_or("mild", |one| one.1)
    )
}

/// A case in words.
pub fn case_words(case: &OperatingCase) -> String {
    let weather = WEATHERS.iter().find(|one| one.0 == case.season);
    format!(
        "blower {}, ventilator {}, {}",
        case.blower.name(),
        case.setting.name(),
        weather.map_or("", |one| one.2)
    )
}

/// The angle of a damper (°) as it was asked for. A quarter of a degree is more than a lever can be
/// set to; the angle that the plan has is taken as it is.
pub fn angle(asked: Option<&str>, kept: f64) -> Result<f64, Refused> {
    let Some(text) = asked.map(str::trim).filter(|text| !text.is_empty()) else {
        return Ok(kept);
    };
    let number = text.trim_end_matches('°').trim_end().parse::<f64>();
    match number {
        Ok(angle) if (0.0..=90.0).contains(&angle) => {
            let near = (angle - kept).abs() < 0.126;
            Ok(if near {
                kept
            } else {
                (4.0 * angle).round() / 4.0
            })
        }
        _ => Err(Refused(format!(
            "A damper turns from 0° (open) to 90° (shut); “{text}” is no angle between them."
        ))),
    }
}

#[cfg(test)]
mod tests {
    use super::angle;

    #[test]
    fn angles() {
        for (asked, kept, taken) in [
            (None, 12.3, Some(12.3)),
            (Some(""), 12.3, Some(12.3)),
            (Some(" 35 "), 12.3, Some(35.0)),
            (Some("35.1°"), 12.3, Some(35.0)),
            (Some("12"), 12.1, Some(12.1)),
            (Some("0"), 12.3, Some(0.0)),
            (Some("90"), 12.3, Some(90.0)),
            (Some("90.5"), 12.3, None),
            (Some("-1"), 12.3, None),
            (Some("NaN"), 12.3, None),
            (Some("inf"), 12.3, None),
            (Some("1e400"), 12.3, None),
            (Some("shut"), 12.3, None),
        ] {
            assert_eq!(angle(asked, kept).ok(), taken, "{asked:?}");
        }
    }
}
