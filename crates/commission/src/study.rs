//! Random set-up days: our advice against the usual habit.
//!
//! Each house is drawn around its plan: the survey's numbers, the ducts as built, the spread of the
//! dampers' blades, the calibration of the stations, gain and zero of the manometer. A contractor
//! then sets it up twice from the same beginning, once by [`advise`], once by
//! the habit: read both streams in one blower mode, believe the chart, throttle the stronger stream
//! by a guess, read again, stop when the two readings are within the tolerance and the supply shows
//! the rate. Every reading has noise and is rounded by the display, every damper is turned until the
//! reading is about right, and its angle is noted as well as the eye sees it.

use crate::advice::{Verdict, advise};
use crate::device::{Device, PowerLaw, air_at};
use crate::error::Error;
use crate::estimate::{Estimate, estimate_from};
use crate::goal::Goal;
use crate::instrument::Instrument;
use crate::network::{DUCT_LOG_DEVIATION, Kind, Network};
use crate::setup::{
    CHART_CALIBRATION, Damped, Place, Port, Position, Reading, SetUp, Station, Stream,
};
use ducts::ButterflyDamper;
use house::model::{Job, Mode, Season};
use plan::balance::even_out;
use plan::installation::Installation;
use plan::{OperatingCase, Plan};
use rand_core::{Rng, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use rand_pcg::Pcg64Mcg;

/// How a study is run.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// How many houses.
    pub houses: usize,
    /// Seed; the same seed gives the same study.
    pub seed: u64,
    /// Passes after which a contractor stops whatever the result.
    pub most_passes: usize,
    /// How much farther than the survey says the true houses lie from it: 1 as it says.
    pub spread: f64,
    /// Relative standard deviation of the stations' calibration.
    pub calibration: f64,
    /// Part of the houses with one hidden fault.
    pub hidden: f64,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            houses: 500,
            seed: 1,
            most_passes: 10,
            spread: 1.0,
            calibration: CHART_CALIBRATION,
            hidden: 0.0,
        }
    }
}

/// A fault that nobody knows of on the day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Hidden {
    /// A screen is blocked, so that the path to its port resists so many times more.
    BlockedScreen(Port, f64),
    /// A duct is crushed and resists so many times more.
    CrushedDuct(Port, f64),
    /// A fan moves this part of what its curve says.
    WeakFan(Damped, f64),
    /// A station shows air that is so many times more than its chart says.
    WrongChart(Damped, f64),
}

impl Hidden {
    /// The kind of fault in words.
    pub fn name(self) -> &'static str {
        match self {
            Hidden::BlockedScreen(..) => "blocked screen",
            Hidden::CrushedDuct(..) => "crushed duct",
            Hidden::WeakFan(..) => "weak fan",
            Hidden::WrongChart(..) => "wrong chart",
        }
    }

    /// One of the kinds, as often as the others.
    fn draw(random: &mut Pcg64Mcg) -> Self {
        let mut uniform = |low: f64, high: f64| {
            low + (high - low) * (random.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
        };
        let kind = uniform(0.0, 4.0) as usize;
        let first = uniform(0.0, 1.0) < 0.5;
        let damped = if first {
            Damped::Supply
        } else {
            Damped::Extract
        };
        match kind {
            0 => {
                let port = if first { Port::Outdoor } else { Port::Exhaust };
                Hidden::BlockedScreen(port, uniform(3.0_f64.ln(), 10.0_f64.ln()).exp())
            }
            1 => {
                let port = if first { Port::Supply } else { Port::Extract };
                Hidden::CrushedDuct(port, uniform(2.5_f64.ln(), 8.0_f64.ln()).exp())
            }
            2 => Hidden::WeakFan(damped, uniform(0.70, 0.87)),
            _ => {
                let off = uniform(0.12, 0.25);
                let more = uniform(0.0, 1.0) < 0.5;
                Hidden::WrongChart(damped, if more { 1.0 + off } else { 1.0 - off })
            }
        }
    }
}

/// How a set-up day ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// The contractor believed that rate and balance were met.
    Done,
    /// The contractor was told, or believed, that dampers cannot do it.
    GaveUp,
    /// Still unsure after all readings that could help, or after the most passes.
    Unsure,
}

/// One set-up day by one method.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outcome {
    /// How it ended.
    pub end: End,
    /// How often dampers were turned and both streams read again.
    pub passes: usize,
    /// How many readings were taken.
    pub readings: usize,
    /// Whether rate and balance are truly met in every mode that the controls use.
    pub met: bool,
    /// Largest true distance of the balance from zero in these modes.
    pub balance: f64,
    /// Least true outdoor air over the required rate in these modes.
    pub rate: f64,
    /// Angles of the dampers at the end (°).
    pub angles: [f64; 2],
    /// The probability that was claimed at the end, by our method.
    pub claimed: f64,
}

/// One house set up both ways.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct House {
    /// Which plan, by its index.
    pub plan: usize,
    /// Whether dampers could have met rate and balance in the true house.
    pub possible: bool,
    /// Whether they were met with open dampers already.
    pub met_open: bool,
    /// The hidden fault, if there is one.
    pub hidden: Option<Hidden>,
    /// The day by our advice.
    pub advised: Outcome,
    /// The day by the usual habit.
    pub habit: Outcome,
}

/// All houses.
#[derive(Debug, Clone, PartialEq)]
pub struct Study {
    /// The houses, in the order of their numbers.
    pub houses: Vec<House>,
    /// Houses that could not be drawn or solved; there should be none.
    pub lost: usize,
}

/// A line of the table of a study.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Summary {
    /// Houses counted.
    pub houses: usize,
    /// Median passes of the days that ended with "done".
    pub median_passes: f64,
    /// Mean passes of all days.
    pub mean_passes: f64,
    /// Passes that nine of ten days need at most.
    pub ninth_decile_passes: f64,
    /// Mean readings of all days.
    pub mean_readings: f64,
    /// Part of the days that ended with "done".
    pub done: f64,
    /// Part of the days with "done" in which rate or balance is truly missed in some mode.
    pub wrongly_done: f64,
    /// Part of the days that ended with "cannot be done" although it could.
    pub wrongly_given_up: f64,
    /// Part of the days that ended unsure.
    pub unsure: f64,
    /// Part of the unsure days in which rate and balance are truly met.
    pub unsure_but_met: f64,
    /// Part of the days in which rate and balance are truly met at the end, whatever was believed.
    pub met: f64,
    /// Median of the true balance's distance from zero, at the end.
    pub median_balance: f64,
}

impl Study {
    /// Summary of the days by our advice.
    pub fn advised(&self) -> Summary {
        self.summary(|house| house.advised)
    }

    /// Summary of the days by the usual habit.
    pub fn habit(&self) -> Summary {
        self.summary(|house| house.habit)
    }

    /// The days by our advice that ended with "done", grouped by the probability that was claimed:
    /// from each of these edges to the next, how many, what was claimed on average, and how many of
    /// them truly met rate and balance.
    pub fn calibration(&self, edges: &[f64]) -> Vec<(usize, f64, usize)> {
        edges
            .iter()
            .enumerate()
            .map(|(at, &low)| {
                let high = edges.get(at + 1).copied().unwrap_or(f64::INFINITY);
                let days: Vec<&Outcome> = self
                    .houses
                    .iter()
                    .map(|house| &house.advised)
                    .filter(|day| day.end == End::Done && (low..high).contains(&day.claimed))
                    .collect();
                let claimed = days.iter().map(|day| day.claimed).sum::<f64>();
                let met = days.iter().filter(|day| day.met).count();
                (days.len(), claimed / days.len().max(1) as f64, met)
            })
            .collect()
    }

    /// The same over the houses where dampers can do it.
    pub fn possible(&self) -> Self {
        let possible = self.houses.iter().filter(|house| house.possible);
        Self {
            houses: possible.copied().collect(),
            lost: 0,
        }
    }

    /// The same over the houses where dampers can do it and have to.
    pub fn to_be_turned(&self) -> Self {
        let turned = self
            .houses
            .iter()
            .filter(|house| house.possible && !house.met_open);
        Self {
            houses: turned.copied().collect(),
            lost: 0,
        }
    }

    fn summary(&self, of: impl Fn(&House) -> Outcome) -> Summary {
        let days: Vec<(bool, Outcome)> = self
            .houses
            .iter()
            .map(|house| (house.possible, of(house)))
            .collect();
        let part = |which: &dyn Fn(&(bool, Outcome)) -> bool| {
            days.iter().filter(|day| which(day)).count() as f64 / days.len().max(1) as f64
        };
        let mean = |value: &dyn Fn(&Outcome) -> f64| {
            days.iter().map(|day| value(&day.1)).sum::<f64>() / days.len().max(1) as f64
        };
        let done: Vec<&Outcome> = days
            .iter()
            .map(|day| &day.1)
            .filter(|day| day.end == End::Done)
            .collect();
        let mut passes: Vec<f64> = done.iter().map(|day| day.passes as f64).collect();
        let mut all_passes: Vec<f64> = days.iter().map(|day| day.1.passes as f64).collect();
        let mut balances: Vec<f64> = days.iter().map(|day| day.1.balance).collect();
        let wrong = done.iter().filter(|day| !day.met).count() as f64;
        Summary {
            houses: days.len(),
            median_passes: quantile(&mut passes, 0.5),
            mean_passes: mean(&|day| day.passes as f64),
            ninth_decile_passes: quantile(&mut all_passes, 0.9),
            mean_readings: mean(&|day| day.readings as f64),
            done: part(&|day| day.1.end == End::Done),
            wrongly_done: wrong / done.len().max(1) as f64,
            wrongly_given_up: part(&|day| day.1.end == End::GaveUp && day.0),
            unsure: part(&|day| day.1.end == End::Unsure),
            unsure_but_met: part(&|day| day.1.end == End::Unsure && day.1.met)
                / part(&|day| day.1.end == End::Unsure).max(1e-9),
            met: part(&|day| day.1.met),
            median_balance: quantile(&mut balances, 0.5),
        }
    }
}

fn quantile(values: &mut [f64], part: f64) -> f64 {
    if values.is_empty() {
        return f64::NAN;
    }
    values.sort_by(f64::total_cmp);
    values[((part * values.len() as f64).ceil() as usize).clamp(1, values.len()) - 1]
}

/// Plans of a job spread over its ranking, best and worst alike; the chosen plan first, if any.
pub fn plans(job: &Job, most: usize) -> Vec<Plan> {
    let ranked = plan::search(job, &|_, _| {}).ranked;
    let mut plans: Vec<Plan> = job.chosen.iter().map(Plan::from_chosen).collect();
    let wanted = most.saturating_sub(plans.len());
    let step = (ranked.len() / wanted.max(1)).max(1);
    plans.extend(
        ranked
            .into_iter()
            .step_by(step)
            .take(wanted)
            .map(|evaluated| evaluated.plan),
    );
    plans
}

/// Plays the houses, in turn over the plans.
///
/// `progress` is called with the number of houses done and their total; from several threads when
/// the feature `parallel` is on. The result does not depend on the number of threads.
///
/// # Errors
/// No plans.
pub fn study(
    plans: &[(Job, Plan)],
    options: &Options,
    progress: &(dyn Fn(usize, usize) + Sync),
) -> Result<Study, Error> {
    if plans.is_empty() {
        return Err(Error("a study needs at least one plan".into()));
    }
    let results = each(options.houses, progress, |number| {
        let at = number % plans.len();
        let (job, plan) = &plans[at];
        play(job, plan, options, number as u64).map(|house| House { plan: at, ..house })
    });
    let lost = results.iter().filter(|result| result.is_err()).count();
    Ok(Study {
        houses: results.into_iter().flatten().collect(),
        lost,
    })
}

#[cfg(feature = "parallel")]
fn each<T: Send>(
    count: usize,
    progress: &(dyn Fn(usize, usize) + Sync),
    work: impl Fn(usize) -> T + Sync,
) -> Vec<T> {
    use rayon::prelude::*;
    use std::sync::atomic::{AtomicUsize, Ordering};
    let done = AtomicUsize::new(0);
    (0..count)
        .into_par_iter()
        .map(|number| {
            let result = work(number);
            progress(done.fetch_add(1, Ordering::Relaxed) + 1, count);
            result
        })
        .collect()
}

#[cfg(not(feature = "parallel"))]
fn each<T>(
    count: usize,
    progress: &(dyn Fn(usize, usize) + Sync),
    work: impl Fn(usize) -> T,
) -> Vec<T> {
    (0..count)
        .map(|number| {
            let result = work(number);
            progress(number + 1, count);
            result
        })
        .collect()
}

/// The set-up of a plan with an ordinary station in each stream and one manometer: the unit's own
/// chart, made so that the larger stream shows about 60 Pa with open dampers, calibrated to this
/// relative standard deviation.
///
/// # Errors
/// A plan that cannot be solved.
pub fn usual_set_up(job: &Job, plan: &Plan, calibration: f64) -> Result<SetUp, Error> {
    let indoor = job.climate.weathers[1].indoor;
    let outdoor = job.climate.weathers[1].outdoor;
    let air = air_at(indoor, 0.4, job.building.altitude)?;
    let free = job.units[plan.unit]
        .settings
        .iter()
        .find(|tested| tested.setting == plan.setting)
        .and_then(|tested| tested.points.first())
        .map_or(0.05, |point| point.gross_supply);
    let law = PowerLaw::new(free / 60.0_f64.sqrt(), 0.5)?;
    let station = |name: &str, stream| Station {
        name: name.into(),
        stream,
        device: Device::PowerLaw(law),
        air,
        calibration,
        instrument: Some(0),
    };
    SetUp::new(
        job,
        plan,
        [outdoor, indoor],
        vec![
            station("the supply station", Stream::Supply),
            station("the extract station", Stream::Extract),
        ],
        vec![Instrument::manometer("the manometer")],
    )
}

/// A true house with its instruments.
struct Truth<'a> {
    installation: Installation<'a>,
    stations: Vec<Station>,
    instrument: Instrument,
    /// Logarithm of each station's calibration.
    calibration: [f64; 2],
    gain: f64,
    zero: f64,
    damper: ButterflyDamper,
    /// Logarithm of each damper's loss over the table's.
    blades: [f64; 2],
    /// True angles (°).
    angles: [f64; 2],
    random: Pcg64Mcg,
    readings: usize,
}

/// Most readings beyond those after each turn.
const MOST_ASKED: usize = 20;
/// Spread about the reading at which a contractor stops turning, as a part of it.
const STOPPING: f64 = 0.02;
/// Spread of an angle as noted (°).
const NOTED_ANGLE: f64 = 2.0;

impl Truth<'_> {
    fn normal(&mut self) -> f64 {
        StandardNormal.sample(&mut self.random)
    }

    fn uniform(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.random.next_u64() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Turns the dampers to true angles (°) of their own blades.
    fn turn(&mut self, angles: [f64; 2]) {
        self.angles = angles.map(|angle| angle.clamp(0.0, 85.0));
        let loss = |angle: f64| self.damper.loss(angle).unwrap_or(0.0);
        let ordinary = [0, 1].map(|side| {
            if self.angles[side] <= 0.0 {
                return 0.0;
            }
            let wanted = loss(self.angles[side]) * self.blades[side].exp();
            let wanted = wanted.clamp(loss(0.0), loss(90.0));
            self.damper.angle(wanted).unwrap_or(self.angles[side])
        });
        self.installation.set_dampers(ordinary[0], ordinary[1]);
    }

    /// What the manometer would show at both stations without noise.
    fn shown(&mut self, case: OperatingCase) -> Result<[f64; 2], Error> {
        let streams = self.installation.solve_streams(case)?;
        Ok([0, 1].map(|side| {
            let flow = streams[side] * (-self.calibration[side]).exp();
            self.gain * self.stations[side].shown(flow) + self.zero
        }))
    }

    /// Reads both stations.
    fn read(&mut self, case: OperatingCase) -> Result<[f64; 2], Error> {
        let shown = self.shown(case)?;
        self.readings += 2;
        Ok(shown.map(|shown| self.noisy(shown)))
    }

    /// Reads the static pressure at a port against the space where the air handler stands.
    fn read_port(&mut self, case: OperatingCase, port: Port) -> Result<f64, Error> {
        let pressure = self.installation.solve(case)?.ports[port as usize];
        let shown = self.gain * pressure + self.zero;
        self.readings += 1;
        Ok(self.noisy(shown))
    }

    /// What the display shows in moving air.
    fn noisy(&mut self, shown: f64) -> f64 {
        let noise = f64::hypot(self.instrument.noise * shown, self.instrument.least_noise);
        let value = shown + noise * self.normal();
        let step = self.instrument.resolution;
        (value / step).round() * step
    }

    /// Turns a damper until its station shows about the aim.
    fn turn_to(&mut self, damper: Damped, case: OperatingCase, aim: f64) -> Result<(), Error> {
        let side = damper as usize;
        let noise = f64::hypot(STOPPING * aim, self.instrument.least_noise);
        let stop = aim + noise * self.normal();
        let (mut open, mut shut) = (0.0, 85.0);
        for _ in 0..14 {
            let middle = 0.5 * (open + shut);
            let mut angles = self.angles;
            angles[side] = middle;
            self.turn(angles);
            if self.shown(case)?[side] > stop {
                open = middle;
            } else {
                shut = middle;
            }
        }
        let mut angles = self.angles;
        // A damper that ends nearly open is left open.
        angles[side] = if open < 1.0 { 0.0 } else { open };
        self.turn(angles);
        Ok(())
    }

    /// True balance farthest from zero and least outdoor air over the required, and whether the
    /// goal is met.
    fn verdict(&mut self, goal: &Goal) -> Result<(f64, f64, bool), Error> {
        let (mut balance, mut rate, mut met) = (0.0_f64, f64::INFINITY, true);
        for case in goal.cases() {
            let flows = self.installation.solve(case)?;
            balance = balance.max(flows.balance().abs());
            rate = rate.min(flows.delivered / (goal.required * air::STANDARD_DENSITY));
            met &= goal.met(flows.supply, flows.extract, flows.delivered);
        }
        Ok((balance, rate, met))
    }
}

/// One house: whether it is possible, whether open dampers do it, and both days.
fn play(job: &Job, plan: &Plan, options: &Options, number: u64) -> Result<House, Error> {
    let set_up = usual_set_up(job, plan, options.calibration)?;
    let goal = Goal::of(&set_up);
    goal.check()?;
    let network = Network::new(&set_up, &[])?;
    let seed = options.seed.wrapping_mul(1_000_003).wrapping_add(number);
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    let mut normal = || -> f64 { options.spread * random_normal(&mut random) };
    let mut scores = vec![0.0; network.unknowns().len()];
    let (mut calibration, mut gain, mut zero) = ([0.0; 2], 1.0, 0.0);
    for (score, unknown) in scores.iter_mut().zip(network.unknowns()) {
        let drawn = normal();
        match unknown.kind {
            Kind::Calibration(station) if station < 2 => {
                calibration[station] = unknown.scale * drawn;
            }
            Kind::Gain(_) => gain = (unknown.scale * drawn).exp(),
            Kind::Zero(_) => zero = unknown.scale * drawn,
            _ => *score = drawn,
        }
    }
    let blades = [normal(), normal()].map(|score| DUCT_LOG_DEVIATION * score);
    let mut inputs = network.inputs(&scores);
    let mut chance = Pcg64Mcg::seed_from_u64(seed ^ 0xfa_17);
    let is_hidden = (chance.next_u64() >> 11) as f64 / (1_u64 << 53) as f64 <= options.hidden;
    let hidden = (is_hidden && options.hidden > 0.0).then(|| Hidden::draw(&mut chance));
    match hidden {
        Some(Hidden::BlockedScreen(port, times) | Hidden::CrushedDuct(port, times)) => {
            inputs.duct_factors[port as usize] *= times;
        }
        Some(Hidden::WeakFan(Damped::Supply, part)) => inputs.supply_fan_factor *= part,
        Some(Hidden::WeakFan(Damped::Extract, part)) => inputs.extract_fan_factor *= part,
        Some(Hidden::WrongChart(damped, times)) => calibration[damped as usize] += times.ln(),
        None => {}
    }
    let new_truth = |stream: u64| -> Result<Truth, Error> {
        Ok(Truth {
            installation: Installation::new(set_up.job(), Some(set_up.plan()), &inputs, false)?,
            stations: set_up.stations().to_vec(),
            instrument: set_up.instruments()[0].clone(),
            calibration,
            gain,
            zero,
            damper: ButterflyDamper::new(ducts::damper::TYPICAL_SHUT_LOSS)
                .map_err(|error| Error(error.to_string()))?,
            blades,
            angles: [0.0; 2],
            random: Pcg64Mcg::seed_from_u64(seed ^ (stream << 40)),
            readings: 0,
        })
    };
    let mut truth = new_truth(1)?;
    let met_open = truth.verdict(&goal)?.2;
    even_out(&mut truth.installation, &goal.cases(), 0.0)?;
    let possible = truth.verdict(&goal)?.2;
    let working = plan::case::called_mode(job);
    let working = if goal.modes.contains(&working) {
        working
    } else {
        goal.modes[0]
    };
    let advised = by_advice(&mut new_truth(2)?, set_up.clone(), &goal, working, options)?;
    let habit = by_habit(&mut new_truth(3)?, &goal, working, options)?;
    Ok(House {
        plan: 0,
        possible,
        met_open,
        hidden,
        advised,
        habit,
    })
}

fn random_normal(random: &mut Pcg64Mcg) -> f64 {
    StandardNormal.sample(random)
}

fn case_of(goal: &Goal, blower: Mode) -> OperatingCase {
    OperatingCase {
        blower,
        setting: goal.setting,
        season: Season::Mild,
        wind: None,
    }
}

fn by_advice(
    truth: &mut Truth,
    mut set_up: SetUp,
    goal: &Goal,
    working: Mode,
    options: &Options,
) -> Result<Outcome, Error> {
    truth.turn([0.0; 2]);
    let mut dampers = [0, 0];
    let mut passes = 0;
    let mut asked = 0;
    // What to read next: both stations in the working mode, or one place in one mode.
    let mut next: Option<(Place, Mode)> = None;
    let mut estimate: Option<Estimate> = None;
    let (end, claimed) = loop {
        let mode = next.map_or(working, |next| next.1);
        let case = case_of(goal, mode);
        let values: Vec<(Place, f64)> = match next {
            Some((Place::Port(port), _)) => vec![(Place::Port(port), truth.read_port(case, port)?)],
            _ => {
                let values = truth.read(case)?;
                (0..2).map(|at| (Place::Station(at), values[at])).collect()
            }
        };
        for (place, value) in values {
            set_up.add(Reading {
                place,
                blower: mode,
                setting: goal.setting,
                dampers,
                value,
                instrument: 0,
                struck_out: false,
            })?;
        }
        let states = goal.states(&set_up, dampers);
        let now = estimate_from(&set_up, &states, estimate.as_ref())?;
        let advice = advise(&set_up, goal, &now, dampers, working)?;
        estimate = Some(now);
        match advice.verdict {
            Verdict::Done => break (End::Done, advice.probability),
            Verdict::CannotBeDone => break (End::GaveUp, advice.probability),
            Verdict::Turn if passes < options.most_passes => {
                passes += 1;
                next = None;
                for step in &advice.steps {
                    let Some(aim) = step.aim else { continue };
                    if step.angles[1] <= 0.0 {
                        let mut angles = truth.angles;
                        angles[step.damper as usize] = 0.0;
                        truth.turn(angles);
                        dampers[step.damper as usize] = 0;
                        continue;
                    }
                    truth.turn_to(step.damper, case_of(goal, working), aim.after)?;
                    let noted = truth.angles[step.damper as usize] + NOTED_ANGLE * truth.normal();
                    dampers[step.damper as usize] =
                        set_up.moved(step.damper, Position::at(noted.clamp(0.0, 80.0)));
                }
            }
            Verdict::ReadMore if asked < MOST_ASKED => {
                asked += 1;
                next = advice.next_reading.map(|next| (next.place, next.mode));
            }
            Verdict::Turn | Verdict::ReadMore | Verdict::NotProvable => {
                break (End::Unsure, advice.probability);
            }
        }
    };
    outcome(truth, goal, end, passes, claimed)
}

fn by_habit(
    truth: &mut Truth,
    goal: &Goal,
    working: Mode,
    options: &Options,
) -> Result<Outcome, Error> {
    truth.turn([0.0; 2]);
    let case = case_of(goal, working);
    let mut passes = 0;
    let mut last: Option<Damped> = None;
    let mut turned = 0.0;
    let end = loop {
        let shown = truth.read(case)?;
        let flows = [0, 1].map(|side| truth.stations[side].standard_flow(shown[side].max(0.0)));
        let balance = plan::case::balance(flows[0], flows[1]);
        if balance.abs() <= goal.tolerance {
            break if flows[0] >= goal.required {
                End::Done
            } else {
                End::GaveUp
            };
        }
        if passes == options.most_passes {
            break End::Unsure;
        }
        passes += 1;
        let stronger = if balance > 0.0 {
            Damped::Supply
        } else {
            Damped::Extract
        };
        let mut angles = truth.angles;
        if last.is_some_and(|last| last != stronger) {
            // Too far: back by about half of the last turn.
            let back = truth.uniform(0.3, 0.7) * turned;
            let side = stronger.other() as usize;
            angles[side] = (angles[side] - back).max(0.0);
            turned = back;
            if angles[side] <= 0.0 {
                last = None;
            }
        } else {
            // A guess: an eighth of a turn for a large difference, less for a small one.
            let guess = if balance.abs() > 0.2 { 25.0 } else { 12.0 };
            turned = guess * truth.uniform(0.6, 1.4);
            angles[stronger as usize] += turned;
            last = Some(stronger);
        }
        truth.turn(angles);
    };
    outcome(truth, goal, end, passes, f64::NAN)
}

fn outcome(
    truth: &mut Truth,
    goal: &Goal,
    end: End,
    passes: usize,
    claimed: f64,
) -> Result<Outcome, Error> {
    let (balance, rate, met) = truth.verdict(goal)?;
    Ok(Outcome {
        end,
        passes,
        readings: truth.readings,
        met,
        balance,
        rate,
        angles: truth.angles,
        claimed,
    })
}
