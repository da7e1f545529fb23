//! How one plan stands to each rule of the job's book that concerns it: kept or broken, with what
//! was measured, or to be seen to on the site because the survey does not tell.

use crate::candidate::Plan;
use crate::case::called_mode;
use crate::installation::sensible_recovery;
use crate::merit::Merits;
use crate::rules::distance;
use ::rules::clearances::{self, Object, Stream, Unless};
use ::rules::{Row, Ruling, Subject};
use house::model::{End, Interlock, Job, Layout, Mode, Side, ZoneKind};
use units::System;

/// How a plan stands to a rule.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// The rule.
    pub row: &'static Row,
    /// What is known.
    pub state: State,
    /// What was measured or computed, in words; empty where the survey does not tell.
    pub measured: String,
}

/// Whether a rule is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// It is kept.
    Kept,
    /// It is broken.
    Broken,
    /// The survey does not tell, or the rule is in doubt: to be seen to on the site.
    ToSee,
}

/// Dew point of summer air from which a place counts as humid (°C); from memory.
const HUMID: f64 = 18.0;

/// The rules on spot, access, layout, balance, ducts and insulation that concern a plan, in the
/// order in which they are listed; of siting only the height of the openings and their distance, which
/// need no drawn wall. Walls, sound and safety have reports of their own.
pub fn standings(job: &Job, plan: &Plan, merits: &Merits, system: System) -> Vec<Standing> {
    let judge = Judge {
        job,
        plan,
        merits,
        system,
    };
    let subjects = [
        Subject::Spot,
        Subject::Access,
        Subject::Layout,
        Subject::Balance,
        Subject::Siting,
        Subject::Ducts,
        Subject::Insulation,
    ];
    job.rules
        .rows()
        .filter(|row| subjects.contains(&row.subject))
        .filter_map(|row| {
            let (state, measured) = judge.state(row)?;
            Some(Standing {
                row,
                state,
                measured,
            })
        })
        .collect()
}

struct Judge<'a> {
    job: &'a Job,
    plan: &'a Plan,
    merits: &'a Merits,
    system: System,
}

type Known = Option<(State, String)>;

impl Judge<'_> {
    /// What is known about one rule; `None` where it does not concern the plan.
    fn state(&self, row: &'static Row) -> Known {
        let (job, plan) = (self.job, self.plan);
        let unit = &job.units[plan.unit];
        let spot = &job.spots[plan.spot];
        let kind = job.zones[spot.zone].kind;
        let joined = plan.layout != Layout::FullyDucted;
        let limit = job.rules.ruling(row);
        let to_see = || Some((State::ToSee, String::new()));
        let only = |applies: bool| applies.then(to_see).flatten();
        let measured = |value: Option<f64>| match (value, &limit) {
            (Some(value), Some(limit)) => self.measured(limit, value),
            _ => to_see(),
        };
        if row.subject == Subject::Siting {
            return self.siting(row);
        }
        match row.id {
            "surroundings" => self.against(spot.coldest, unit.ambient.map(|it| it[0]), &limit),
            "warm surroundings" => self.against(spot.warmest, unit.ambient.map(|it| it[1]), &limit),
            "services" => {
                self.said(spot.outlet && spot.support && (spot.drain || !unit.needs_drain))
            }
            "bedroom wall" => match spot.bedroom_wall {
                Some(yes) => self.said(!yes),
                None => to_see(),
            },
            "drain slope" if unit.needs_drain => measured(spot.drain_slope),
            "drain pipe" | "drain trap" => only(unit.needs_drain),
            "drain pan" => only(
                unit.needs_drain
                    && !matches!(
                        kind,
                        ZoneKind::Basement | ZoneKind::Crawlspace | ZoneKind::Garage
                    ),
            ),
            "drain slope" => None,
            "access space" => measured(spot.working_space),
            "attic opening" if kind == ZoneKind::Attic => measured(spot.hatch.map(|it| it[0])),
            "attic passage" if kind == ZoneKind::Attic => measured(spot.passage),
            "crawlspace opening" if kind == ZoneKind::Crawlspace => {
                measured(spot.hatch.map(|it| it[0]))
            }
            "attic opening" | "attic passage" | "crawlspace opening" => None,
            "near fan" => measured(Some(self.nearest_to_fan()?)),
            "taps together" => measured(Some(self.apart()?)),
            "supply tap" => only(self.supplies_into(Side::Supply)),
            "blower needed" => match plan.layout {
                Layout::ReturnToReturn => self.said(plan.interlock != Interlock::None),
                Layout::DedicatedReturn if plan.interlock == Interlock::None => to_see(),
                _ => None,
            },
            "furnace return air" => {
                let air = self.merits.side_effects.furnace_air?;
                let kept = if air.temperature >= air.least {
                    State::Kept
                } else {
                    State::Broken
                };
                let show = |value| {
                    limit.map_or(String::new(), |limit| {
                        limit.limit.kind.show(value, self.system)
                    })
                };
                Some((
                    kept,
                    format!(
                        "{} while the core works, {} if its recovery fails",
                        show(air.temperature),
                        show(air.without_recovery)
                    ),
                ))
            }
            "mixed by a blower" => only(
                self.supplies_into(Side::Return)
                    && job
                        .air_handler
                        .as_ref()
                        .is_some_and(|handler| !handler.furnace),
            ),
            "circulation switch" | "outdoor air of a blower" => only(joined),
            "ventilation-only speed" if joined => {
                let share = self.called_share()?;
                Some((State::ToSee, limit?.limit.kind.show(share, self.system)))
            }
            "ventilation-only speed" => None,
            "no bath air returned" | "return openings" => only(joined),
            "baths by the unit" => only(matches!(
                plan.layout,
                Layout::ReturnToSupply | Layout::ReturnToReturn
            )),
            "leaking air handler" => only(job.air_handler.as_ref().is_some_and(|handler| {
                matches!(
                    job.zones[handler.zone].kind,
                    ZoneKind::Garage | ZoneKind::Attic
                )
            })),
            "summer moisture" => only(
                plan.interlock == Interlock::VentilatorCallsBlower
                    && job.climate.humidity.summer_dew_point >= HUMID,
            ),
            "damper when off" if unit.shuts_when_off => self.said(true),
            "hood limit" => only(plan.two_in_one()),
            "balance" | "balance, Washington" => measured(Some(self.merits.balance)),
            "balance, very tight house" => {
                // Over the mean of the two instead of the larger.
                let balance = self.merits.balance;
                measured(Some(balance / (1.0 - 0.5 * balance)))
            }
            "trunk velocity" => measured(Some(self.merits.velocity)),
            "recovery in cold zones" | "recovery, very tight house" => {
                let recovery = sensible_recovery(unit, 0.0);
                Some((State::ToSee, limit?.limit.kind.show(recovery, self.system)))
            }
            "cold duct insulation" | "cold duct insulation, Washington" => {
                measured(Some(job.ducts.insulation))
            }
            "duct insulation" if !kind.conditioned() => measured(Some(job.ducts.insulation)),
            "duct insulation" | "small duct insulation" => None,
            _ => to_see(),
        }
    }

    /// A value against its rule.
    fn measured(&self, ruling: &Ruling<'_>, value: f64) -> Known {
        let state = match ruling.holds(value) {
            Some(true) => State::Kept,
            Some(false) => State::Broken,
            None => State::ToSee,
        };
        Some((state, ruling.limit.kind.show(value, self.system)))
    }

    /// The openings' height above the ground, and how far they lie from each other.
    fn siting(&self, row: &'static Row) -> Known {
        let (job, plan) = (self.job, self.plan);
        let clearance = clearances::clearance(row.id)?;
        let ruling = job.rules.ruling(row)?;
        let height = |index: usize| job.terminals[index].height;
        match clearance.objects {
            [Object::Grade] if clearance.measure == clearances::Measure::AboveGround => {
                let of = |stream: &Stream| match stream {
                    Stream::Intake => height(plan.intake),
                    Stream::Exhaust => height(plan.exhaust),
                };
                self.measured(
                    &ruling,
                    clearance
                        .streams
                        .iter()
                        .map(of)
                        .fold(f64::INFINITY, f64::min),
                )
            }
            objects if objects.contains(&Object::OwnOpening) => {
                let above = height(plan.exhaust) - height(plan.intake);
                let lifted = clearance.unless.iter().any(|unless| match *unless {
                    Unless::TwoInOne => plan.two_in_one(),
                    Unless::ExhaustAboveIntake(least) => !plan.two_in_one() && above >= least,
                    _ => false,
                });
                if lifted {
                    return Some((
                        State::Kept,
                        format!("does not hold, because {}", row.exception),
                    ));
                }
                let distance = distance(job, plan.intake, plan.exhaust)?;
                self.measured(&ruling, distance)
            }
            _ => None,
        }
    }

    /// A temperature against the unit's own data, or against the rule where they are silent.
    fn against(&self, value: f64, own: Option<f64>, limit: &Option<Ruling<'_>>) -> Known {
        let ruling = limit.as_ref()?;
        let Some(own) = own else {
            return self.measured(ruling, value);
        };
        let limit = ::rules::Limit {
            value: own,
            inch_pound: None,
            ..ruling.limit
        };
        let state = if limit.holds(value) {
            State::Kept
        } else {
            State::Broken
        };
        let show = |value| limit.kind.show(value, self.system);
        Some((
            state,
            format!("{}; its data say {}", show(value), show(own)),
        ))
    }

    fn said(&self, kept: bool) -> Known {
        let state = if kept { State::Kept } else { State::Broken };
        Some((state, "as the survey says".into()))
    }

    fn distance_to_fan(&self, end: &End) -> Option<f64> {
        match *end {
            End::Tap(index) if self.job.taps[index].side == Side::Return => {
                Some(self.job.taps[index].from_fan)
            }
            _ => None,
        }
    }

    fn nearest_to_fan(&self) -> Option<f64> {
        let ends = self.plan.extract.iter().chain(&self.plan.supply);
        ends.filter_map(|end| self.distance_to_fan(end))
            .min_by(f64::total_cmp)
    }

    fn apart(&self) -> Option<f64> {
        if self.plan.layout != Layout::ReturnToReturn {
            return None;
        }
        let least = |ends: &[End]| {
            ends.iter()
                .filter_map(|end| self.distance_to_fan(end))
                .min_by(f64::total_cmp)
        };
        Some(least(&self.plan.extract)? - least(&self.plan.supply)?)
    }

    fn supplies_into(&self, side: Side) -> bool {
        self.plan
            .supply
            .iter()
            .any(|end| matches!(*end, End::Tap(index) if self.job.taps[index].side == side))
    }

    /// Flow of the blower mode that the ventilator calls, over that of the strongest mode.
    fn called_share(&self) -> Option<f64> {
        let flow = |mode: Mode| {
            let handler = self.job.air_handler.as_ref()?;
            let known = handler.modes.iter().find(|known| known.mode == mode)?;
            Some(known.flow.value)
        };
        let strongest = Mode::ALL
            .into_iter()
            .filter_map(flow)
            .max_by(f64::total_cmp)?;
        Some(flow(called_mode(self.job))? / strongest)
    }
}
