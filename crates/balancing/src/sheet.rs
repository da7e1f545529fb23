//! A day and how it stands, in sentences and for programs.

use commission::advice::Step;
use commission::estimate::StateEstimate;
use commission::{Damped, Interval, Place, Verdict};
use house::model::Season;
use serde_json::{Value, json};
use units::text::{fixed, signed, true_minus};
use units::{Length, Quantity, System, VolumeFlow, both};

use crate::day::Day;
use crate::gauge::Gauge;
use crate::standing::Standing;
use crate::words::{
    blower_words, by_entry, damper_words, modes_words, plain_shown, running_words, shown, sure,
    verdict,
};

/// What is told of a day.
#[derive(Debug, Clone, Copy)]
pub struct Sheet<'a> {
    /// The day.
    pub day: &'a Day,
    /// How it stands.
    pub standing: &'a Standing,
    /// The system of units that comes first.
    pub system: System,
}

impl<'a> Sheet<'a> {
    fn flow(&self, standard: f64) -> String {
        true_minus(both(VolumeFlow::from_si(standard), self.system))
    }

    /// What is to be reached, in a sentence.
    pub fn aim(&self) -> String {
        let goal = &self.day.goals[self.standing.goal];
        let blower = if self.day.set_up.job().air_handler.is_some() {
            format!(", with the {}", modes_words(&goal.modes))
        } else {
            String::new()
        };
        let rate = if goal.required > 0.0 {
            format!(
                "at least {} of outdoor air to the rooms, and ",
                self.flow(goal.required)
            )
        } else {
            String::new()
        };
        format!(
            "To be reached at {}{blower}: {rate}supply and extract within {} % of each other. The work ends when this is sure by {} %.",
            goal.setting.name(),
            fixed(100.0 * goal.tolerance, 0),
            fixed(100.0 * goal.confidence, 0),
        )
    }

    /// What the flows are, where the air is so thin that it matters.
    pub fn density(&self) -> Option<String> {
        let altitude = self.day.set_up.job().building.altitude;
        if altitude <= 300.0 {
            return None;
        }
        let here = air::density(20.0, 0.0, air::standard_pressure(altitude));
        let unit = VolumeFlow::from_si(1.0).shown_in(self.system);
        let real = VolumeFlow::from_si(unit.to_si(100.0) * air::STANDARD_DENSITY / here);
        Some(format!(
            "Flows are volumes at standard density; at {} {} of them are {} of real volume at room temperature.",
            Length::from_si(altitude).show(self.system),
            VolumeFlow::from_si(unit.to_si(100.0)).show(self.system),
            real.show(self.system),
        ))
    }

    /// How the dampers stand.
    pub fn dampers(&self) -> String {
        damper_words(self.day)
    }

    /// Every state that has to be right.
    pub fn states(&self) -> Vec<&'a StateEstimate> {
        self.day
            .goals
            .iter()
            .flat_map(|goal| goal.states(&self.day.set_up, self.day.dampers))
            .filter_map(|state| self.standing.estimate.state(&state))
            .collect()
    }

    /// How to run the house for what is to be done now, if it has to be run otherwise than noted
    /// last or nothing was read yet.
    pub fn run_so(&self) -> Option<String> {
        let advice = &self.standing.advice;
        let (blower, setting) = match (&self.standing.wanted, advice.steps.first()) {
            (Some(wanted), _) => (wanted.blower, wanted.setting),
            (None, Some(step)) => (step.mode, self.day.goals[self.standing.goal].setting),
            (None, None) => return None,
        };
        let changes =
            (blower, setting) != (self.day.blower, self.day.setting) || self.day.taken.is_empty();
        changes.then(|| {
            format!(
                "Run it so: {}. Wait until it is steady.",
                running_words(self.day.set_up.job(), blower, setting)
            )
        })
    }

    /// The reading that is wanted next, as an instruction.
    pub fn read(&self) -> Option<String> {
        let wanted = self.standing.wanted?;
        let name = self.day.set_up.name(wanted.place);
        let estimate = &self.standing.estimate;
        if self
            .day
            .was_read(estimate, wanted.place, wanted.blower, wanted.setting)
        {
            return Some(format!(
                "Read {name} again: look at the hoses and the zero first. One reading that does not fit is not enough to judge by."
            ));
        }
        let mut text = format!("Read {name}.");
        if !matches!(wanted.place, Place::Station(_)) {
            text.push_str(" It would help most now.");
        }
        Some(text)
    }

    /// A turn in short: until which reading, and what it takes now.
    pub fn order(&self, step: &Step) -> String {
        let name = step.damper.name();
        let verb = if step.close { "Close" } else { "Open" };
        match &step.aim {
            Some(aim) if !Gauge::new(self.day, aim).tells() => format!(
                "{verb} the {name} damper until its mark stands at {}°.",
                fixed(step.angles[1], 0)
            ),
            Some(aim) => {
                let place = Place::Station(aim.station);
                format!(
                    "{verb} the {name} damper until {} shows {}.",
                    self.day.set_up.name(place),
                    plain_shown(self.day, place, aim.after, self.system)
                )
            }
            None => step.text.clone(),
        }
    }

    /// Whether both streams were read, so that it counts, as the dampers stand: without that nothing
    /// is proven.
    pub fn is_proven(&self) -> bool {
        self.day
            .is_proven(&self.standing.estimate, self.standing.goal)
    }

    /// Readings that do not fit or are odd, and entries that were not understood, each with its entry.
    pub fn doubted(&self) -> Vec<(u64, String)> {
        let misread = self
            .day
            .misread
            .iter()
            .chain(&self.day.odd)
            .map(|misread| (misread.entry, misread.text.clone()));
        misread
            .chain(
                self.standing
                    .estimate
                    .doubts
                    .iter()
                    .filter(|doubt| !self.day.set_up.readings()[doubt.reading].struck_out)
                    .map(|doubt| {
                        let entry = self.day.entry(doubt.reading).unwrap_or(0);
                        (entry, by_entry(self.day, doubt))
                    }),
            )
            .collect()
    }

    /// What to do, or how it ended.
    pub fn advice(&self) -> Vec<String> {
        let advice = &self.standing.advice;
        let mut list = Vec::new();
        if self.day.goals.len() > 1 && advice.verdict != Verdict::Done {
            list.push(format!(
                "At {}:",
                self.day.goals[self.standing.goal].setting.name()
            ));
        }
        match advice.verdict {
            Verdict::Turn => {
                list.extend(advice.steps.iter().map(|step| step.text.clone()));
                list.push(format!(
                    "Then rate and balance will be met with a probability of {}, as far as is known now.",
                    sure(advice.probability_after)
                ));
            }
            _ => list.push(advice.text.clone()),
        }
        if advice.verdict == Verdict::CannotBeDone {
            if self.standing.changes.is_empty() {
                list.push(
                    "No single change of setting, interlock, ducts or layout that the job allows would do it either: look at the plans again.".into(),
                );
            } else {
                list.push("What would do it:".into());
            }
            for change in &self.standing.changes {
                list.push(format!(
                    "{} It would then bring {} at least, with a balance within {} %.",
                    change.text,
                    self.flow(change.delivered),
                    fixed(100.0 * change.balance, 0)
                ));
            }
        }
        if advice.verdict == Verdict::Done {
            list.extend(self.over_the_year());
        }
        list
    }

    /// How it fares in winter and summer, which decides nothing.
    pub fn over_the_year(&self) -> Option<String> {
        let year = &self.standing.year[self.standing.goal];
        let goal = &self.day.goals[self.standing.goal];
        let worst = year.worst.as_ref()?;
        let season = match worst.state.case.season {
            Season::Winter => "winter",
            _ => "summer",
        };
        Some(format!(
            "In the design weather of winter and summer the balance lies farthest from zero in {season}{}, at about {} % (air weighs more when it is cold, and the house draws differently); within {} % with the rate met all year it is with a probability of {}. The weather of the day decides; this is told so that nobody is surprised.",
            match self.day.set_up.job().air_handler {
                Some(_) => format!(" with the {}", blower_words(worst.state.case.blower)),
                None => String::new(),
            },
            signed(100.0 * worst.balance.value, 0),
            fixed(100.0 * goal.tolerance, 0),
            sure(year.probability),
        ))
    }

    /// What a place shows, with both units.
    pub fn shown(&self, place: Place, value: f64) -> String {
        shown(self.day, place, value, self.system)
    }

    /// The same for programs.
    pub fn object(&self) -> Value {
        let set_up = &self.day.set_up;
        let advice = &self.standing.advice;
        let station = |station: usize| set_up.name(Place::Station(station));
        let aim = |aim: Option<commission::advice::Aim>| {
            aim.map(|aim| {
                let (key, flow) = key(set_up.shows_flow(Place::Station(aim.station)));
                json!({
                    "station": station(aim.station),
                    format!("before_{key}"): aim.before,
                    format!("after_{key}"): aim.after,
                    "shows_flow": flow,
                    "flow_m3_s": aim.flow,
                })
            })
        };
        let goals: Vec<Value> = self
            .day
            .goals
            .iter()
            .zip(&self.standing.probabilities)
            .zip(&self.standing.year)
            .map(|((goal, probability), year)| {
                json!({
                    "setting": goal.setting.name(),
                    "blower_modes": goal.modes.iter().map(|mode| mode.name()).collect::<Vec<_>>(),
                    "required_m3_s": goal.required,
                    "tolerance": goal.tolerance,
                    "certainty": goal.confidence,
                    "probability": probability,
                    "probability_all_year": year.probability,
                })
            })
            .collect();
        let readings: Vec<Value> = self
            .day
            .taken
            .iter()
            .map(|taken| {
                let reading = &set_up.readings()[taken.reading];
                let fit = &self.standing.estimate.fits[taken.reading];
                let (key, flow) = key(set_up.shows_flow(reading.place));
                json!({
                    "entry": taken.entry,
                    "at": set_up.name(reading.place),
                    "blower": reading.blower.name(),
                    "setting": reading.setting.name(),
                    "shows_flow": flow,
                    format!("value_{key}"): reading.value,
                    format!("expected_{key}"): fit.expected,
                    "deviations": fit.surprise,
                    "used": fit.used,
                    "struck_out": reading.struck_out,
                })
            })
            .collect();
        let doubts: Vec<String> = self.doubted().into_iter().map(|(_, text)| text).collect();
        json!({
            "verdict": verdict(&advice.verdict),
            "text": advice.text,
            "probability": self.standing.probability(),
            "probability_after": advice.probability_after,
            "goals": goals,
            "dampers_deg": {
                "supply": self.day.angle(Damped::Supply),
                "extract": self.day.angle(Damped::Extract),
            },
            "states": self.states().into_iter().map(state_object).collect::<Vec<_>>(),
            "steps": advice.steps.iter().map(|step| json!({
                "damper": step.damper.name(),
                "close": step.close,
                "from_deg": step.angles[0],
                "to_deg": step.angles[1],
                "blower": step.mode.name(),
                "aim": aim(step.aim),
                "other": aim(step.other),
                "text": step.text,
            })).collect::<Vec<_>>(),
            "wanted": self.standing.wanted.map(|wanted| json!({
                "at": set_up.name(wanted.place),
                "blower": wanted.blower.name(),
                "setting": wanted.setting.name(),
            })),
            "expectations": advice.expectations.iter().map(|expectation| {
                let (key, flow) = key(set_up.shows_flow(Place::Station(expectation.station)));
                json!({
                    "station": station(expectation.station),
                    "blower": expectation.mode.name(),
                    "shows_flow": flow,
                    format!("value_{key}"): expectation.shown.value,
                    format!("interval_{key}"): [expectation.shown.low, expectation.shown.high],
                })
            }).collect::<Vec<_>>(),
            "changes": self.standing.changes.iter().map(|change| json!({
                "text": change.text,
                "delivered_m3_s": change.delivered,
                "balance": change.balance,
            })).collect::<Vec<_>>(),
            "readings": readings,
            "doubts": doubts,
            "learnt": self.standing.estimate.unknowns.iter().map(|learnt| json!({
                "what": learnt.unknown.name,
                "score": learnt.score,
                "left": learnt.left,
            })).collect::<Vec<_>>(),
            "assumed": self.day.assumed,
            "remarks": self.day.calibrations(""),
        })
    }
}

/// Flows of a state for programs.
pub fn state_object(state: &StateEstimate) -> Value {
    let ends = |interval: Interval| [interval.low, interval.high];
    json!({
        "blower": state.state.case.blower.name(),
        "setting": state.state.case.setting.name(),
        "supply_kg_s": state.supply.value,
        "supply_interval_kg_s": ends(state.supply),
        "extract_kg_s": state.extract.value,
        "extract_interval_kg_s": ends(state.extract),
        "delivered_kg_s": state.delivered.value,
        "delivered_interval_kg_s": ends(state.delivered),
        "balance": state.balance.value,
        "balance_interval": ends(state.balance),
    })
}

/// The unit in a key for what an instrument shows, and whether it is a flow.
pub fn key(flow: bool) -> (&'static str, bool) {
    (if flow { "m3_s" } else { "pa" }, flow)
}
