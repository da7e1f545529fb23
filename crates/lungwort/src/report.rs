//! Parts of a report that several commands print: the plan in words, findings, operating cases.

use std::fmt::Write as _;
use units::text::fixed;

use house::model::{Interlock, Job, Mode, Season, Setting};
use plan::account;
use plan::candidate::Plan;
use plan::case::CaseFlows;
use plan::finding::{Finding, Weight, interlock_words};
use plan::flows::{CaseReport, FlowsReport};
use units::{Length, Quantity, VolumeFlow};

use crate::canvas::heading;
use crate::figures::{Figures, balance_in_band, house_pressure, percent};
use crate::text::{WIDTH, cut, item, left, right};

/// How and about what a report is written.
#[derive(Debug, Clone, Copy)]
pub struct Page<'a> {
    /// The job.
    pub job: &'a Job,
    /// The system of units.
    pub figures: Figures,
    /// Whether the terminal shows colours.
    pub coloured: bool,
}

impl Page<'_> {
    /// The plan in one sentence.
    pub fn plan_words(&self, plan: &Plan) -> String {
        account::plan_words(self.job, plan, self.figures.system)
    }

    /// A paragraph.
    pub fn paragraph(&self, text: &str) -> String {
        item("", text, WIDTH)
    }

    /// A heading.
    pub fn heading(&self, words: &str) -> String {
        heading(words, self.coloured)
    }

    /// The findings under their weights, the most serious first.
    pub fn findings(&self, findings: &[Finding]) -> String {
        let mut text = String::new();
        for (weight, words) in [
            (Weight::NotAllowed, "Must not stay so"),
            (Weight::Doubtful, "Look at"),
            (Weight::Good, "As it should be"),
        ] {
            let mut some = findings
                .iter()
                .filter(|finding| finding.weight == weight)
                .peekable();
            if some.peek().is_none() {
                continue;
            }
            text.push_str(&self.heading(words));
            for finding in some {
                text.push_str(&item("  • ", &finding.text, WIDTH));
            }
        }
        text
    }

    /// Flows and pressures of operating cases: all of them, or those in which the plan runs at its
    /// setting and the telling ones.
    pub fn cases(&self, report: &FlowsReport, all: bool) -> String {
        let parts = parts(report, all);
        let mut text = self.flow_table(&parts);
        if let Some(worst) = report.worst {
            text.push('\n');
            text.push_str(&self.paragraph(&self.worst_words(&report.cases[worst])));
        }
        text.push('\n');
        text.push_str(&self.pressure_table(&parts));
        text
    }

    fn worst_words(&self, worst: &CaseReport) -> String {
        let flows = &worst.flows;
        let more = if flows.balance() > 0.0 {
            "more supply than exhaust"
        } else {
            "more exhaust than supply"
        };
        let blower = if self.job.air_handler.is_some() {
            format!(" with the {}", blower_words(flows.case.blower))
        } else {
            String::new()
        };
        format!(
            "The worst balance of these is {}{blower}: {} % {more}. The house pressure is that of the room with the lowest, against outdoors at grade.",
            season_words(flows.case.season),
            percent(flows.balance().abs(), 1),
        )
    }

    fn flow_table(&self, parts: &[Part]) -> String {
        let unit = self.figures.flow_unit();
        let mut text = self
            .heading("Flows in each operating case, with the band that holds nine houses of ten");
        let _ = writeln!(
            text,
            "{} {} {} {} {} {} {}",
            left("", CASE),
            right("", FLOW),
            right("extract air", FLOW),
            right("outdoor air", FLOW),
            right("", BALANCE),
            right("house", HOUSE),
            right("short", SHORT),
        );
        let _ = writeln!(
            text,
            "{} {} {} {} {} {} {}",
            left("blower   at     weather", CASE),
            right(&format!("supply air {unit}"), FLOW),
            right(&format!("= exhaust {unit}"), FLOW),
            right(&format!("delivered {unit}"), FLOW),
            right("balance %", BALANCE),
            right("Pa", HOUSE),
            right("circuit %", SHORT),
        );
        for part in parts {
            let _ = writeln!(text, "{}", part.words);
            let mut blower = None;
            for case in &part.cases {
                let flows = &case.flows;
                let runs = flows.case.setting != Setting::Off;
                let when_running = |words: String| if runs { words } else { String::new() };
                let row = format!(
                    "{} {} {} {} {} {} {}",
                    case_columns(flows, &mut blower),
                    right(&self.figures.flow_in_band(flows.supply, case.supply), FLOW),
                    right(
                        &self.figures.flow_in_band(flows.extract, case.extract),
                        FLOW
                    ),
                    right(
                        &self.figures.flow_in_band(flows.delivered, case.delivered),
                        FLOW
                    ),
                    right(
                        &when_running(balance_in_band(flows.balance(), case.balance)),
                        BALANCE
                    ),
                    right(&house_pressure(flows.house_pressure()), HOUSE),
                    right(&when_running(percent(flows.short_circuit, 0)), SHORT),
                );
                let _ = writeln!(text, "{}", row.trim_end());
            }
        }
        text
    }

    fn pressure_table(&self, parts: &[Part]) -> String {
        let unit = self.figures.pressure_unit();
        let place = if self.job.air_handler.is_some() {
            "the room where the air handler stands"
        } else {
            "the house"
        };
        let mut text = self.heading(&format!(
            "Static pressures in the same cases ({unit}), against {place}"
        ));
        let has_plenums = self.job.air_handler.is_some();
        let columns = |values: [String; 6]| -> String {
            let skip = if has_plenums { 0 } else { 2 };
            values[skip..]
                .iter()
                .map(|value| right(value, PRESSURE))
                .collect()
        };
        let words = |words: [&str; 6]| columns(words.map(str::to_owned));
        let _ = writeln!(
            text,
            "{}{}",
            left("", CASE),
            words([
                "return", "supply", "outdoor", "supply", "extract", "exhaust"
            ])
        );
        let _ = writeln!(
            text,
            "{}{}",
            left("blower   at     weather", CASE),
            words(["plenum", "plenum", "port", "port", "port", "port"])
        );
        for part in parts {
            let _ = writeln!(text, "{}", part.words);
            let mut blower = None;
            for case in &part.cases {
                let flows = &case.flows;
                let [back, out] = flows.plenums.unwrap_or([f64::NAN; 2]);
                let [outdoor, supply, extract, exhaust] = flows.ports;
                let _ = writeln!(
                    text,
                    "{}{}",
                    case_columns(flows, &mut blower),
                    columns(
                        [back, out, outdoor, supply, extract, exhaust]
                            .map(|pressure| self.figures.pressure(pressure))
                    )
                );
            }
        }
        text
    }

    /// Outdoor air and age of air in each room in one case.
    pub fn rooms(&self, flows: &CaseFlows, case: &str) -> String {
        let unit = self.figures.flow_unit();
        let mut text = self.heading(&format!("Air in the rooms: {case}"));
        let _ = writeln!(
            text,
            "{} {} {} {}",
            left("", ROOM),
            right("outdoor air that", COLUMN),
            right("outdoor share of", COLUMN),
            right("age of", COLUMN),
        );
        let _ = writeln!(
            text,
            "{} {} {} {}",
            left("room", ROOM),
            right(&format!("comes here first {unit}"), COLUMN),
            right("what enters %", COLUMN),
            right("the air h", COLUMN),
        );
        for room in &flows.rooms {
            let _ = writeln!(
                text,
                "{} {} {} {}",
                left(&cut(&self.job.zones[room.zone].name, ROOM), ROOM),
                right(&self.figures.flow(room.outdoor_air), COLUMN),
                right(&percent(room.outdoor_share, 0), COLUMN),
                right(&fixed(room.age / 3600.0, 1), COLUMN),
            );
        }
        text.push_str(&self.paragraph(
            "Outdoor air from the ventilator and through leaks is counted in the room that it reaches first; the age is the mean time since the air of a room came in.",
        ));
        text
    }

    /// What the measurement is that would narrow the band most.
    pub fn measurement(&self, report: &FlowsReport) -> String {
        let mut text = self.heading("How sure is this?");
        let day = format!(
            "{} % of what is left open lies in the unit itself: only the readings of the day of the balancing tell it.",
            percent(report.known_on_the_day, 0)
        );
        let words = match &report.measurement {
            Some(measurement) => format!(
                "The worst balance is known to ±{} points (nine houses of ten). One measurement would narrow that to ±{}: {}. {day}",
                fixed(100.0 * measurement.now, 1),
                fixed(100.0 * measurement.after, 1),
                measurement.how,
            ),
            None => format!(
                "No single measurement of the survey would narrow the band of the balance much. {day}"
            ),
        };
        text.push_str(&self.paragraph(&words));
        if report.draws_lost > 0 {
            text.push_str(&self.paragraph(&format!(
                "{} of the drawn houses had no solution. Please send us the job file: this should not happen.",
                report.draws_lost
            )));
        }
        text
    }

    /// At what density flows are given.
    pub fn density(&self) -> String {
        let altitude = self.job.building.altitude;
        let mut words = format!(
            "Flows are volumes at standard density, {} kg/m³, so that they can be added and compared.",
            air::STANDARD_DENSITY
        );
        if altitude > 300.0 {
            let here = air::density(20.0, 0.0, air::standard_pressure(altitude));
            let unit = VolumeFlow::from_si(1.0).shown_in(self.figures.system);
            let real = VolumeFlow::from_si(unit.to_si(100.0) * air::STANDARD_DENSITY / here);
            let _ = write!(
                words,
                " At {} the air is thinner: 100 {unit} here are {} of real volume at room temperature, which is what a vane anemometer shows.",
                Length::from_si(altitude).show(self.figures.system),
                real.show(self.figures.system),
                unit = unit.symbol,
            );
        }
        self.paragraph(&words)
    }
}

/// Widths of the columns, in characters.
const CASE: usize = 23;
const FLOW: usize = 14;
const BALANCE: usize = 14;
const HOUSE: usize = 5;
const SHORT: usize = 9;
const PRESSURE: usize = 10;
const ROOM: usize = 24;
const COLUMN: usize = 22;

/// Cases that belong together.
struct Part<'a> {
    words: String,
    cases: Vec<&'a CaseReport>,
}

fn parts(report: &FlowsReport, all: bool) -> Vec<Part<'_>> {
    let setting = report.plan.setting;
    let strongest = report
        .cases
        .iter()
        .map(|case| case.flows.case.blower)
        .max()
        .unwrap_or(Mode::Off);
    let mild = |case: &CaseReport| case.flows.case.season == Season::Mild;
    let at = |case: &CaseReport| case.flows.case.setting;
    let blower = |case: &CaseReport| case.flows.case.blower;
    let pick = |wanted: &dyn Fn(&CaseReport) -> bool| -> Vec<&CaseReport> {
        report.cases.iter().filter(|case| wanted(case)).collect()
    };
    let prevented = match report.plan.interlock {
        Interlock::None => String::new(),
        interlock => format!(
            "What the interlock prevents ({}):",
            interlock_words(interlock)
        ),
    };
    let mut parts = vec![
        Part {
            words: "While the ventilator runs at its setting:".to_owned(),
            cases: pick(&|case| case.runs && at(case) == setting),
        },
        Part {
            words: "At its other settings:".to_owned(),
            cases: pick(&|case| all && case.runs && at(case) != setting),
        },
        Part {
            words: prevented,
            cases: pick(&|case| {
                let telling = at(case) == setting && blower(case) == Mode::Off && mild(case);
                !case.runs && at(case) != Setting::Off && (all || telling)
            }),
        },
        Part {
            words: "While the ventilator stands still:".to_owned(),
            cases: pick(&|case| {
                let telling = blower(case) == strongest && mild(case);
                at(case) == Setting::Off && (all || telling)
            }),
        },
    ];
    parts.retain(|part| !part.cases.is_empty());
    parts
}

/// Blower, setting and weather of a case; the blower only where it changes.
fn case_columns(flows: &CaseFlows, last: &mut Option<Mode>) -> String {
    let case = flows.case;
    let blower = if *last == Some(case.blower) {
        ""
    } else {
        case.blower.name()
    };
    *last = Some(case.blower);
    let words = format!(
        "{} {} {}",
        left(blower, 8),
        left(case.setting.name(), 6),
        season_name(case.season)
    );
    left(&words, CASE)
}

/// The word for a condition of weather.
pub fn season_name(season: Season) -> &'static str {
    match season {
        Season::Winter => "winter",
        Season::Mild => "mild",
        Season::Summer => "summer",
    }
}

fn season_words(season: Season) -> &'static str {
    match season {
        Season::Winter => "in winter",
        Season::Mild => "on a mild day",
        Season::Summer => "in summer",
    }
}

pub fn blower_words(mode: Mode) -> String {
    match mode {
        Mode::Off => "blower off".to_owned(),
        mode => format!("blower in {}", mode.name()),
    }
}
