//! Which damper to turn next, by the reading to aim for; or why dampers cannot do it.
//!
//! Only the stronger stream is throttled and the weaker one opened, so the least throttling that
//! does it is found. A damper is turned until the station of its own stream shows the aim: then the
//! blade's own spread does not matter. The aim holds *now*, before the other damper is touched;
//! what the other station shows afterwards is told too, since one stream alters the other.

use crate::belief::Numbers;
use crate::doubt::{Doubt, Trouble, agree};
use crate::error::Error;
use crate::estimate::{
    DRAWS, Estimate, Interval, StateEstimate, StateFlows, chance as chance_of, state_estimates,
};
use crate::goal::Goal;
use crate::laplace::Datum;
use crate::mixture::Mixture;
use crate::network::{Flows, Network};
use crate::outlook::expected;
use crate::setup::{Damped, Place, Port, Position, SetUp, State};
use crate::words::{Words, percent};
use house::model::{Mode, Season, Setting};
use plan::OperatingCase;
use plan::balance::{GREATEST_DAMPER_ANGLE, even_out};
use plan::installation::Installation;
use units::text::{capital, true_minus};

/// What is to be done.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// Rate and balance are met with the probability asked for.
    Done,
    /// Turn dampers.
    Turn,
    /// The dampers are right as far as is known, but not surely enough: read more.
    ReadMore,
    /// The dampers are right as far as is known, and nothing more can be read with these
    /// instruments that would prove it: leave them, and bring a better one if proof is wanted.
    NotProvable,
    /// Dampers cannot do it.
    CannotBeDone,
}

/// One turn of one damper.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// The damper.
    pub damper: Damped,
    /// Close it, or open it.
    pub close: bool,
    /// Angle from open that it has and that it will have by its mark, about (°).
    pub angles: [f64; 2],
    /// Blower mode in which to do it.
    pub mode: Mode,
    /// The station of its own stream, what it shows before and what to aim for.
    pub aim: Option<Aim>,
    /// The station of the other stream, and what it will show after this turn.
    pub other: Option<Aim>,
    /// The same in a sentence.
    pub text: String,
}

/// What a station shows before and after a turn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aim {
    /// The station.
    pub station: usize,
    /// What its instrument shows before (Pa, or m³/s).
    pub before: f64,
    /// What it shows after: the reading to aim for at the station of the damper's own stream.
    pub after: f64,
    /// Flow behind it at standard density (m³/s).
    pub flow: f64,
}

/// What a station should show in one of the modes when all is done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expectation {
    /// Blower mode.
    pub mode: Mode,
    /// Station.
    pub station: usize,
    /// What the instrument should show, with the interval in which 95 of 100 readings lie.
    pub shown: Interval,
}

/// Why dampers cannot do it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Obstacle {
    /// The pressures at the taps move the balance between the modes by more than both tolerances:
    /// the spread of the balance.
    TapPressure(f64),
    /// In balance the rate is missed by this part.
    TooLittleAir(f64),
    /// This part of the supply air leaves through the extract without having passed a room.
    ShortCircuit(f64),
    /// Even with one damper nearly shut this balance is left.
    OneSided(f64),
}

/// A change that would do it.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// What to change, as an instruction.
    pub text: String,
    /// Least outdoor air to the rooms then (m³/s at standard density).
    pub delivered: f64,
    /// Largest distance of the balance from zero then.
    pub balance: f64,
}

/// The reading that would help most.
#[derive(Debug, Clone, PartialEq)]
pub struct NextReading {
    /// Of what.
    pub place: Place,
    /// In which blower mode.
    pub mode: Mode,
    /// Probability that the goal is met after it, if it shows what is expected.
    pub probability: f64,
    /// The same in a sentence.
    pub text: String,
}

/// What to do next.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// In one word.
    pub verdict: Verdict,
    /// Probability that rate and balance are met as the dampers stand.
    pub probability: f64,
    /// The same after the steps.
    pub probability_after: f64,
    /// Turns, in their order.
    pub steps: Vec<Step>,
    /// What the stations should show in every mode after the steps.
    pub expectations: Vec<Expectation>,
    /// Why it cannot be done.
    pub obstacles: Vec<Obstacle>,
    /// What would help to know.
    pub next_reading: Option<NextReading>,
    /// What it all means, in sentences.
    pub text: String,
}

/// Change of a balance that is not worth a turn: a damper is hardly set better.
const WORTH_TURNING: f64 = 0.015;
/// Distance between the middle of all explanations and the likeliest from which both are tried.
const WORTH_CENTRING: f64 = 0.005;
/// Gain of probability that is worth a turn even if it does not end the work.
const WORTH_GAINING: f64 = 0.05;
/// Distance from what was expected, in standard deviations, that no one reading makes believable.
const VERY_FAR: f64 = 5.0;
/// Times that one place is read before a reading that does not fit is taken as it is.
const MOST_TRIES: usize = 3;
/// Probability from which a fault is named as the reason.
const WORTH_NAMING: f64 = 0.2;
/// Short circuit that is named as an obstacle.
const SHORT_CIRCUIT: f64 = 0.05;
/// Parts of the tolerance, towards the stronger stream, at which less throttling is tried.
const LEANINGS: [f64; 3] = [0.4, 0.2, 0.0];

/// Says what to do next, with the dampers standing at these positions (by index) and the
/// contractor working in one blower mode.
///
/// The estimate must contain the goal's states at these positions: ask
/// [`estimate`](crate::estimate::estimate) for [`Goal::states`].
///
/// # Errors
/// An impossible goal, and a plan whose network cannot be solved.
pub fn advise(
    set_up: &SetUp,
    goal: &Goal,
    estimate: &Estimate,
    dampers: [usize; 2],
    working: Mode,
) -> Result<Advice, Error> {
    goal.check()?;
    let words = set_up.words();
    let belief = &estimate.belief;
    let scores = belief.lead().scores.mean.clone();
    let places: Option<Vec<usize>> = goal
        .states(set_up, dampers)
        .iter()
        .map(|state| estimate.place(state))
        .collect();
    let Some(places) = places else {
        return Err(Error(
            "the estimate lacks the states of the goal: ask for them".into(),
        ));
    };
    let now: Vec<&StateEstimate> = places.iter().map(|&at| &estimate.states[at]).collect();
    let mut network = network_of(set_up, estimate)?;
    let streams = belief.numbers(&estimate.streams(&places));
    let chance = chance_of(goal, &streams, now.len(), DRAWS);
    let proven = Damped::BOTH.into_iter().all(|damper| {
        let stations = set_up.stations_of(damper);
        let read = |&station: &usize| {
            let readings = set_up.readings().iter().zip(&estimate.fits);
            readings.into_iter().any(|(reading, fit)| {
                fit.used
                    && reading.dampers == dampers
                    && reading.setting == goal.setting
                    && reading.place == Place::Station(station)
            })
        };
        !stations.is_empty() && stations.iter().all(read)
    });
    let mut advice = Advice {
        verdict: Verdict::Done,
        probability: chance,
        probability_after: chance,
        steps: Vec::new(),
        expectations: Vec::new(),
        obstacles: Vec::new(),
        next_reading: None,
        text: String::new(),
    };
    // What is probably a slip, or very far off, is read again before anything rests on it; what may be
    // the house, before the work ends without being done.
    if proven && let Some(at) = unconfirmed(set_up, estimate, goal, dampers, false) {
        advice.read_again(set_up, at);
        return Ok(advice);
    }
    let doubtful = unconfirmed(set_up, estimate, goal, dampers, true);
    if chance >= goal.confidence && proven {
        let flows: Vec<StateFlows> = belief
            .arounds
            .iter()
            .map(|around| {
                let of = |&at: &usize| (&around.flows[at], &around.slopes[at]);
                places.iter().map(of).collect()
            })
            .collect();
        advice.expectations = expectations(set_up, &network, estimate, &now, &flows);
        advice.text = format!(
            "Done: rate and balance are met in every mode in which the ventilator runs, with a probability of {}.",
            percent(chance)
        );
        return Ok(advice);
    }
    // The best that dampers can do, at the most probable house.
    let cases = goal.cases();
    let mut installation = network.installation(&scores)?;
    let mut best: Option<Candidate> = None;
    let mut slopes: Option<Vec<Vec<Vec<f64>>>> = None;
    let leaning = lean(&mut installation, &cases)?;
    let mut aims: Vec<f64> = LEANINGS
        .iter()
        .rev()
        .map(|part| leaning * part * goal.tolerance)
        .collect();
    let mut next_aim = 0;
    while let Some(&aim) = aims.get(next_aim) {
        next_aim += 1;
        even_out(&mut installation, &cases, aim)?;
        let Some(plan) = installation.plan() else {
            break;
        };
        let angles = [plan.supply_damper, plan.extract_damper];
        let states: Vec<State> = cases.iter().map(|&case| state_at(case, angles)).collect();
        let slopes = match &slopes {
            Some(slopes) => slopes,
            None => slopes.insert(network.flow_slopes(&scores, &states)?.1),
        };
        let flows = belief
            .arounds
            .iter()
            .map(|around| network.solve(&around.scores, &states))
            .collect::<Result<Vec<_>, _>>()?;
        let streams = belief.numbers(&streams_of(&flows, slopes));
        if next_aim == 1 {
            // Where the explanations differ, their middle is tried too.
            let off = middle(&streams, states.len()) - aim;
            if off.abs() > WORTH_CENTRING {
                aims.insert(1, aim - off.clamp(-goal.tolerance, goal.tolerance));
            }
        }
        let after = chance_of(goal, &streams, states.len(), DRAWS);
        let surely = (goal.confidence + 0.02).min(0.5 * (1.0 + goal.confidence));
        // Less throttling where it is as sure as was asked; otherwise the surest.
        let better = best
            .as_ref()
            .is_none_or(|best| after >= surely || after > best.after);
        if better {
            best = Some(Candidate {
                after,
                angles,
                states,
                flows,
            });
        }
    }
    let (Some(best), Some(slopes)) = (best, slopes) else {
        return Err(Error("the plan has no ventilator".into()));
    };
    let (after, angles) = (best.after, best.angles);
    let flows: Vec<StateFlows> = best
        .flows
        .iter()
        .map(|flows| flows.iter().zip(&slopes).collect())
        .collect();
    let states = state_estimates(belief, &best.states, &flows);
    advice.probability_after = after;
    let meets = states.iter().all(|state| {
        goal.met(
            state.supply.value,
            state.extract.value,
            state.delivered.value,
        )
    });
    let possible = if meets || !proven {
        1.0
    } else {
        possible(goal, &mut network, estimate, &cases, &slopes, after)?
    };
    if possible < 0.5 {
        if let Some(at) = doubtful {
            advice.read_again(set_up, at);
            return Ok(advice);
        }
        advice.obstacles = obstacles(goal, &states, &mut installation, &cases)?;
        let mut text = cannot(words, goal, &states, &advice.obstacles);
        text.push_str(&likely_why(estimate));
        let (next, deciding) = if possible < 1.0 - goal.confidence {
            (None, 0.0)
        } else {
            let streams = streams_of(&best.flows, &slopes);
            next_reading(set_up, goal, &network, estimate, &places, streams, dampers)
        };
        match next.filter(|_| deciding >= WORTH_READING) {
            Some(next) => {
                advice.verdict = Verdict::ReadMore;
                advice.text = format!(
                    "It looks as if dampers alone could not do it, but that is not sure yet: with a probability of {} they can. Read on before anything is changed. {}",
                    percent(possible),
                    next.text
                );
                advice.next_reading = Some(next);
                advice.obstacles.clear();
            }
            None => {
                advice.verdict = Verdict::CannotBeDone;
                if possible >= 1.0 - goal.confidence {
                    text.push_str(&format!(
                        " As far as these instruments can tell: that dampers can do it after all has a probability of {}.",
                        percent(possible)
                    ));
                }
                advice.text = text;
            }
        }
        return Ok(advice);
    }
    let shift = states
        .iter()
        .zip(&now)
        .map(|(then, now)| (then.balance.value - now.balance.value).abs())
        .fold(0.0, f64::max);
    let gains = after > chance + WORTH_GAINING || (after > chance && after >= goal.confidence);
    if !proven || !gains || shift <= WORTH_TURNING {
        let streams = estimate.streams(&places);
        let (next, proof) =
            next_reading(set_up, goal, &network, estimate, &places, streams, dampers);
        advice.verdict = if proven && (next.is_none() || proof < WORTH_READING) {
            if let Some(at) = doubtful {
                advice.read_again(set_up, at);
                return Ok(advice);
            }
            Verdict::NotProvable
        } else {
            Verdict::ReadMore
        };
        advice.next_reading = next;
        advice.text = read_more(set_up, &advice, goal, proven, &now, words);
        return Ok(advice);
    }
    advice.verdict = Verdict::Turn;
    advice.steps = steps(
        set_up,
        goal,
        &mut network,
        &scores,
        dampers,
        angles,
        working,
        words,
    )?;
    let after: Vec<&StateEstimate> = states.iter().collect();
    advice.expectations = expectations(set_up, &network, estimate, &after, &flows);
    let sentences: Vec<&str> = advice.steps.iter().map(|step| step.text.as_str()).collect();
    advice.text = sentences.join(" ");
    Ok(advice)
}

impl Advice {
    /// Asks for a reading again.
    fn read_again(&mut self, set_up: &SetUp, at: usize) {
        let reading = &set_up.readings()[at];
        let text = format!(
            "Read {} again{}: look at the hoses and the zero first. It does not fit what all others say, and nothing should rest on one such reading.",
            set_up.name(reading.place),
            Words::with_blower(set_up, reading.blower)
        );
        self.verdict = Verdict::ReadMore;
        self.text.clone_from(&text);
        self.next_reading = Some(NextReading {
            place: reading.place,
            mode: reading.blower,
            probability: self.probability,
            text,
        });
    }
}

/// A reading as the dampers stand that does not fit, takes part all the same, and was not confirmed
/// yet: by another one of the same place that shows the same. Three tries are enough. What the house
/// may explain, and is not very far off, is only looked for if `any`.
fn unconfirmed(
    set_up: &SetUp,
    estimate: &Estimate,
    goal: &Goal,
    dampers: [usize; 2],
    any: bool,
) -> Option<usize> {
    let readings = set_up.readings();
    let does_not_fit = |doubt: &&Doubt| {
        let reading = &readings[doubt.reading];
        matches!(doubt.trouble, Trouble::DoesNotFit(surprise)
            if any || surprise.abs() > VERY_FAR || doubt.house().is_none())
            && estimate.fits[doubt.reading].used
            && reading.dampers == dampers
            && reading.setting == goal.setting
    };
    estimate
        .doubts
        .iter()
        .filter(does_not_fit)
        .map(|doubt| doubt.reading)
        .find(|&at| {
            let reading = &readings[at];
            let datum = |at: usize| Datum {
                value: readings[at].value,
                deviation: estimate.fits[at].deviation,
            };
            let others: Vec<usize> = (0..readings.len())
                .filter(|&other| {
                    let known = &readings[other];
                    other != at && !known.struck_out && known.is_of_same(reading)
                })
                .collect();
            let confirmed = others.iter().any(|&other| agree(datum(other), datum(at)));
            !confirmed && others.len() < MOST_TRIES - 1
        })
}

/// The three streams of states in every linearisation.
fn streams_of(flows: &[Vec<Flows>], slopes: &[Vec<Vec<f64>>]) -> Vec<Numbers> {
    flows
        .iter()
        .map(|flows| {
            let mut numbers = Numbers::default();
            for (flows, slopes) in flows.iter().zip(slopes) {
                numbers.add_streams(flows, slopes);
            }
            numbers
        })
        .collect()
}

/// Chance that some position of the dampers meets the goal: each house that the readings allow may
/// need another one, so that the position that is right for each linearisation is tried in all
/// explanations, and each takes the best. `least` is what a position found before comes to.
fn possible(
    goal: &Goal,
    network: &mut Network,
    estimate: &Estimate,
    cases: &[OperatingCase],
    slopes: &[Vec<Vec<f64>>],
    least: f64,
) -> Result<f64, Error> {
    let belief = &estimate.belief;
    let mut best = vec![0.0_f64; belief.explanations.len()];
    for around in &belief.arounds {
        let mut installation = network.installation(&around.scores)?;
        even_out(&mut installation, cases, 0.0)?;
        let Some(plan) = installation.plan() else {
            break;
        };
        let angles = [plan.supply_damper, plan.extract_damper];
        let states: Vec<State> = cases.iter().map(|&case| state_at(case, angles)).collect();
        let flows = belief
            .arounds
            .iter()
            .map(|around| network.solve(&around.scores, &states))
            .collect::<Result<Vec<_>, _>>()?;
        let mixture = belief.numbers(&streams_of(&flows, slopes));
        for (best, (_, law)) in best.iter_mut().zip(mixture.parts) {
            let alone = Mixture {
                parts: vec![(1.0, law)],
            };
            *best = best.max(chance_of(goal, &alone, cases.len(), FEW_DRAWS));
        }
    }
    let weighed = belief.explanations.iter().zip(&best);
    let chance: f64 = weighed.map(|(known, best)| known.weight * best).sum();
    Ok(chance.max(least))
}

/// What the readings make likely beyond the survey, in a sentence; empty where nothing stands out.
fn likely_why(estimate: &Estimate) -> String {
    let suspicions = estimate.suspicions();
    let likely: Vec<String> = suspicions
        .iter()
        .take(2)
        .filter(|(_, weight)| *weight >= WORTH_NAMING)
        .map(|(words, weight)| format!("{words} ({})", percent(*weight)))
        .collect();
    if likely.is_empty() {
        String::new()
    } else {
        format!(" What may lie behind it: {}.", likely.join(", or "))
    }
}

pub(crate) fn network_of<'a>(set_up: &'a SetUp, estimate: &Estimate) -> Result<Network<'a>, Error> {
    let mut network = Network::new(set_up, &[])?;
    network.quiet.clone_from(&estimate.quiet);
    Ok(network)
}

/// Middle of the extreme balances, averaged over all explanations.
fn middle(streams: &Mixture, states: usize) -> f64 {
    streams
        .parts
        .iter()
        .map(|(weight, law)| {
            let (mut highest, mut lowest) = (f64::NEG_INFINITY, f64::INFINITY);
            for at in 0..states {
                let balance = plan::case::balance(law.mean[3 * at], law.mean[3 * at + 1]);
                highest = highest.max(balance);
                lowest = lowest.min(balance);
            }
            weight * 0.5 * (highest + lowest)
        })
        .sum()
}

/// Positions of the dampers that are thought of.
struct Candidate {
    /// Probability that the goal is met there.
    after: f64,
    angles: [f64; 2],
    states: Vec<State>,
    /// Flows in every linearisation.
    flows: Vec<Vec<Flows>>,
}

/// +1 where the supply is the stronger stream with open dampers, −1 where it is the extract.
fn lean(installation: &mut Installation, cases: &[OperatingCase]) -> Result<f64, Error> {
    installation.set_dampers(0.0, 0.0);
    let mut sum = 0.0;
    for &case in cases {
        let [supply, extract] = installation.solve_streams(case)?;
        sum += plan::case::balance(supply, extract);
    }
    Ok(1.0_f64.copysign(sum))
}

fn state_at(case: OperatingCase, angles: [f64; 2]) -> State {
    State {
        case,
        dampers: angles.map(|angle| Position {
            angle,
            log_deviation: 0.0,
        }),
        indices: [None, None],
    }
}

/// The turns from the present positions to the wanted angles of an ordinary damper: first what
/// opens, then what closes.
#[allow(clippy::too_many_arguments)]
fn steps(
    set_up: &SetUp,
    goal: &Goal,
    network: &mut Network,
    scores: &[f64],
    dampers: [usize; 2],
    angles: [f64; 2],
    working: Mode,
    words: Words,
) -> Result<Vec<Step>, Error> {
    let mut here = set_up.state(working, goal.setting, dampers);
    let now = Damped::BOTH.map(|damper| network.angle_of(damper, &here, scores));
    let mut order: Vec<Damped> = Damped::BOTH
        .into_iter()
        .filter(|&damper| (angles[damper as usize] - now[damper as usize]).abs() > 0.5)
        .collect();
    order.sort_by_key(|&damper| angles[damper as usize] > now[damper as usize]);
    let mut flows = network.solve(scores, &[here])?;
    let mut steps = Vec::new();
    let count = order.len();
    for (place, damper) in order.into_iter().enumerate() {
        let side = damper as usize;
        let close = angles[side] > now[side];
        let from = set_up.positions(damper)[dampers[side]].angle;
        let to = if angles[side] <= 0.5 {
            0.0
        } else {
            network.mark(damper, angles[side], scores).angle
        };
        let mut there = here;
        there.dampers[side] = Position {
            angle: angles[side],
            log_deviation: 0.0,
        };
        there.indices[side] = None;
        let after = network.solve(scores, &[there])?;
        let aim = |damper: Damped| {
            let station = *set_up.stations_of(damper).first()?;
            let at = Place::Station(station);
            let instrument = set_up.instrument_at(at)?;
            let (flow, _) = network.number(at, &after[0], &[]);
            Some(Aim {
                station,
                before: network.shown(at, instrument, &flows[0], scores),
                after: network.shown(at, instrument, &after[0], scores),
                flow: flow / air::STANDARD_DENSITY,
            })
        };
        let mut step = Step {
            damper,
            close,
            angles: [from, to],
            mode: working,
            aim: aim(damper),
            other: aim(damper.other()),
            text: String::new(),
        };
        step.text = step_text(words, set_up, &step, count > 1, place + 1 == count);
        steps.push(step);
        here = there;
        flows = after;
    }
    Ok(steps)
}

/// What each station should show in each mode on the day, with the spread of estimate and
/// instrument.
fn expectations(
    set_up: &SetUp,
    network: &Network,
    estimate: &Estimate,
    states: &[&StateEstimate],
    flows: &[StateFlows],
) -> Vec<Expectation> {
    let belief = &estimate.belief;
    let mut list = Vec::new();
    for (at, state) in states.iter().enumerate() {
        if state.state.case.season != Season::Mild {
            continue;
        }
        for station in 0..set_up.stations().len() {
            let place = Place::Station(station);
            let Some(instrument) = set_up.instrument_at(place) else {
                continue;
            };
            let shown = expected(network, belief, place, instrument, |around| {
                flows[around][at]
            });
            list.push(Expectation {
                mode: state.state.case.blower,
                station,
                shown,
            });
        }
    }
    list
}

/// Draws behind the probability after a reading that was not taken yet.
const FEW_DRAWS: usize = 500;
/// How many explanations are each taken for the truth when the next reading is chosen.
const TRUTHS: usize = 5;
/// Readings seldom show just what is expected; those that show better may bring this much more.
const FORTUNE: f64 = 0.02;
/// Chance of a decision that is worth reading on for.
const WORTH_READING: f64 = 0.08;

/// Which reading that was not taken yet tells best whether the goal is met, and the chance that all
/// of them would decide it: prove what is open, or show that it is missed. `numbers` begins with the
/// streams that have to meet it: as the dampers stand, where readings are taken, or as they could.
/// Each of the likeliest explanations is taken for the truth in turn: the reading shows what it
/// expects, and all others lose or gain weight by it.
fn next_reading(
    set_up: &SetUp,
    goal: &Goal,
    network: &Network,
    estimate: &Estimate,
    places: &[usize],
    mut numbers: Vec<Numbers>,
    dampers: [usize; 2],
) -> (Option<NextReading>, f64) {
    let belief = &estimate.belief;
    let mut candidates: Vec<(Place, Mode, usize)> = Vec::new();
    let mut spots: Vec<Place> = (0..set_up.stations().len()).map(Place::Station).collect();
    spots.extend([Port::Supply, Port::Outdoor, Port::Extract, Port::Exhaust].map(Place::Port));
    for &at in places {
        let state = &estimate.states[at].state;
        let mode = state.case.blower;
        if state.case.season != Season::Mild {
            continue;
        }
        for &place in &spots {
            let taken = set_up.readings().iter().any(|known| {
                !known.struck_out
                    && known.place == place
                    && known.blower == mode
                    && known.setting == goal.setting
                    && known.dampers == dampers
            });
            if taken {
                continue;
            }
            let Some(instrument) = set_up.instrument_at(place) else {
                continue;
            };
            for (numbers, around) in numbers.iter_mut().zip(&belief.arounds) {
                let (flows, slopes, scores) =
                    (&around.flows[at], &around.slopes[at], &around.scores);
                numbers.add(
                    network.shown(place, instrument, flows, scores),
                    network.shown_slopes(place, instrument, flows, slopes, scores),
                );
            }
            candidates.push((place, mode, instrument));
        }
    }
    let mixture = belief.numbers(&numbers);
    let streams = 3 * places.len();
    // What might be true: the likeliest explanation for each fault.
    let mut truths: Vec<usize> = Vec::new();
    for (at, known) in belief.explanations.iter().enumerate() {
        let is_new = truths
            .iter()
            .all(|&other| belief.explanations[other].faults != known.faults);
        if is_new && truths.len() < TRUTHS {
            truths.push(at);
        }
    }
    let shares: Vec<f64> = truths
        .iter()
        .map(|&at| {
            let faults = &belief.explanations[at].faults;
            let same = belief
                .explanations
                .iter()
                .filter(|known| known.faults == *faults);
            same.map(|known| known.weight).sum()
        })
        .collect();
    let sum: f64 = shares.iter().sum();
    let mut all: Vec<Mixture> = truths.iter().map(|_| mixture.clone()).collect();
    for (after, &known) in all.iter_mut().zip(&truths) {
        for (index, &(_, _, instrument)) in candidates.iter().enumerate() {
            let value = mixture.parts[known].1.mean[streams + index];
            let own = set_up.instruments()[instrument].deviation(value);
            after.observe(streams + index, value, own);
        }
    }
    let mut best: Option<(f64, NextReading)> = None;
    let mut first = streams;
    for group in candidates.chunk_by(|a, b| (a.1, stretch(a.0)) == (b.1, stretch(b.0))) {
        let some: Vec<usize> = (first..first + group.len()).collect();
        first += group.len();
        let few = mixture.with(streams, &some);
        // How well met and missed are told apart, and what it comes to in the likeliest house.
        let (mut apart, mut chance) = (0.0, 0.0);
        for (truth, (&known, share)) in truths.iter().zip(&shares).enumerate() {
            let mut after = few.clone();
            for (index, (&at, &(_, _, instrument))) in some.iter().zip(group).enumerate() {
                let value = mixture.parts[known].1.mean[at];
                let own = set_up.instruments()[instrument].deviation(value);
                after.observe(streams + index, value, own);
            }
            let probability = chance_of(goal, &after, places.len(), FEW_DRAWS);
            apart += share / sum * probability * probability;
            if truth == 0 {
                chance = probability;
            }
        }
        if best.as_ref().is_none_or(|best| apart > best.0) {
            let (place, mode, _) = group[0];
            let text = format!(
                "The reading that would help most: {}{}.",
                set_up.name(place),
                Words::with_blower(set_up, mode)
            );
            let next = NextReading {
                place,
                mode,
                probability: chance,
                text,
            };
            best = Some((apart, next));
        }
    }
    // Proven or nearly so, open, or missed.
    let class = |mixture: &Mixture| {
        let probability = chance_of(goal, mixture, places.len(), FEW_DRAWS);
        let missed = probability < 0.5;
        (probability + FORTUNE >= goal.confidence, missed)
    };
    let now = (false, class(&mixture).1);
    let proof: f64 = all
        .iter()
        .zip(&shares)
        .filter(|(after, _)| class(after) != now)
        .map(|(_, share)| share / sum)
        .sum();
    (best.map(|best| best.1), proof)
}

/// Readings that tell together what each alone does not: both stations; both ports of a stream, which
/// tell a fan from a duct and both from a station.
fn stretch(place: Place) -> usize {
    match place {
        Place::Port(Port::Supply | Port::Outdoor) => 1,
        Place::Port(_) => 2,
        _ => 0,
    }
}

fn obstacles(
    goal: &Goal,
    best: &[StateEstimate],
    installation: &mut Installation,
    cases: &[OperatingCase],
) -> Result<Vec<Obstacle>, Error> {
    let mut list = Vec::new();
    let balances = || best.iter().map(|state| state.balance.value);
    let highest = balances().fold(f64::NEG_INFINITY, f64::max);
    let lowest = balances().fold(f64::INFINITY, f64::min);
    if highest - lowest > 2.0 * goal.tolerance {
        list.push(Obstacle::TapPressure(highest - lowest));
    } else if highest > goal.tolerance || lowest < -goal.tolerance {
        list.push(Obstacle::OneSided(if highest > goal.tolerance {
            highest
        } else {
            lowest
        }));
    }
    let required = goal.required * air::STANDARD_DENSITY;
    installation.set_dampers(0.0, 0.0);
    let mut short = 0.0_f64;
    for &case in cases {
        short = short.max(installation.solve(case)?.short_circuit);
    }
    let delivered = best
        .iter()
        .map(|state| state.delivered.value)
        .fold(f64::INFINITY, f64::min);
    if delivered < required {
        if short > SHORT_CIRCUIT {
            list.push(Obstacle::ShortCircuit(short));
        }
        list.push(Obstacle::TooLittleAir(1.0 - delivered / required));
    }
    Ok(list)
}

/// Changes of the installation that would meet the goal at the most probable house, the simplest
/// first: another setting, flexible duct pulled tight, another interlock, larger ducts, other taps
/// or another layout.
///
/// # Errors
/// An impossible goal.
pub fn changes(set_up: &SetUp, goal: &Goal, estimate: &Estimate) -> Result<Vec<Change>, Error> {
    goal.check()?;
    let job = set_up.job();
    let plan = set_up.plan();
    let network = network_of(set_up, estimate)?;
    let inputs = network.inputs(&estimate.belief.lead().scores.mean);
    let words = set_up.words();
    let mut list = Vec::new();
    let mut consider = |candidate: &plan::Plan,
                        inputs: &plan::inputs::Inputs,
                        modes: &[Mode],
                        setting: Setting,
                        text: String| {
        let cases: Vec<OperatingCase> = modes
            .iter()
            .map(|&blower| OperatingCase {
                blower,
                setting,
                season: Season::Mild,
                wind: None,
            })
            .collect();
        let share = plan::merit::share_left(job, candidate.interlock)
            / plan::merit::share_left(job, plan.interlock);
        if let Some((delivered, balance)) = evened(job, candidate, inputs, &cases)
            && delivered * share >= goal.required * air::STANDARD_DENSITY
            && balance <= goal.tolerance
        {
            list.push(Change {
                text,
                delivered: delivered / air::STANDARD_DENSITY,
                balance,
            });
        }
    };
    for tested in &job.units[plan.unit].settings {
        if tested.setting != goal.setting {
            consider(
                plan,
                &inputs,
                &goal.modes,
                tested.setting,
                format!("Run the unit at {}.", tested.setting.name()),
            );
        }
    }
    if inputs.compression > 0.05 && job.ducts.material == house::model::Material::Flexible {
        let mut tight = inputs.clone();
        tight.compression = 0.03;
        consider(
            plan,
            &tight,
            &goal.modes,
            goal.setting,
            "Pull the flexible duct tight and cut it to length.".into(),
        );
    }
    for (port, factor) in Port::ALL.into_iter().zip(inputs.duct_factors) {
        if factor > 1.25 {
            let mut mended = inputs.clone();
            mended.duct_factors[port as usize] = 1.0;
            consider(
                plan,
                &mended,
                &goal.modes,
                goal.setting,
                format!(
                    "Bring the {} duct back to what was planned: it resists {:.1} times as much.",
                    port.name(),
                    factor
                ),
            );
        }
    }
    for &interlock in &job.controls.interlocks {
        if interlock != plan.interlock {
            let mut other = plan.clone();
            other.interlock = interlock;
            let modes = plan::case::running_modes(job, interlock);
            let text = format!("Change the interlock to \"{}\".", interlock.name());
            consider(&other, &inputs, &modes, goal.setting, text);
        }
    }
    for &diameter in job.ducts.diameters.iter().filter(|&&d| d > plan.diameter) {
        let mut other = plan.clone();
        other.diameter = diameter;
        let text = format!("Use ducts of {}.", words.length(diameter));
        consider(&other, &inputs, &goal.modes, goal.setting, text);
    }
    for candidate in plan::candidate::candidates(job).plans {
        let same = candidate.unit == plan.unit
            && candidate.spot == plan.spot
            && candidate.diameter == plan.diameter
            && candidate.interlock == plan.interlock
            && (candidate.intake, candidate.exhaust) == (plan.intake, plan.exhaust);
        let other = candidate.layout != plan.layout
            || candidate.extract != plan.extract
            || candidate.supply != plan.supply
            || candidate.entry != plan.entry;
        if same && other {
            let ends = |ends| plan::candidate::end_names(job, ends);
            let text = format!(
                "Join it as {}: extract at {}, supply at {}.",
                candidate.layout.name(),
                ends(&candidate.extract),
                ends(&candidate.supply)
            );
            consider(&candidate, &inputs, &goal.modes, goal.setting, text);
        }
    }
    Ok(list)
}

/// Least delivered air (kg/s) and largest balance of a plan with its dampers set.
fn evened(
    job: &house::model::Job,
    plan: &plan::Plan,
    inputs: &plan::inputs::Inputs,
    cases: &[OperatingCase],
) -> Option<(f64, f64)> {
    let mut installation = Installation::new(job, Some(plan), inputs, false).ok()?;
    even_out(&mut installation, cases, 0.0).ok()?;
    let (mut delivered, mut balance) = (f64::INFINITY, 0.0_f64);
    for &case in cases {
        let flows = installation.solve(case).ok()?;
        delivered = delivered.min(flows.delivered);
        balance = balance.max(flows.balance().abs());
    }
    delivered.is_finite().then_some((delivered, balance))
}

fn step_text(words: Words, set_up: &SetUp, step: &Step, several: bool, last: bool) -> String {
    let name = step.damper.name();
    let turn = if step.angles[1] <= 0.0 {
        format!("Open the {name} damper all the way")
    } else if step.close {
        format!("Close the {name} damper to about {:.0}°", step.angles[1])
    } else {
        format!("Open the {name} damper to about {:.0}°", step.angles[1])
    };
    let shown = |station, value| words.shown(set_up, Place::Station(station), value);
    let mut text = match step.aim {
        Some(aim) => format!(
            "{turn}, until {} shows {}{} (now {}); that is {}{}.",
            set_up.stations()[aim.station].name,
            shown(aim.station, aim.after),
            Words::with_blower(set_up, step.mode),
            shown(aim.station, aim.before),
            words.flow(aim.flow),
            if several && !last {
                ", before the other damper is touched"
            } else {
                ""
            }
        ),
        None => format!("{turn}."),
    };
    if let Some(other) = step.other {
        text.push_str(&format!(
            " {} will then show {}.",
            capital(&set_up.stations()[other.station].name),
            shown(other.station, other.after)
        ));
    }
    text
}

fn read_more(
    set_up: &SetUp,
    advice: &Advice,
    goal: &Goal,
    proven: bool,
    now: &[&StateEstimate],
    words: Words,
) -> String {
    let least = now
        .iter()
        .map(|state| state.delivered.value)
        .fold(f64::INFINITY, f64::min)
        / air::STANDARD_DENSITY;
    let tight = least < 1.05 * goal.required;
    let mut text = if proven {
        let mut text = format!(
            "Leave the dampers: they stand as well as is known, but rate and balance are met with a probability of {} only; {} is asked for.",
            percent(advice.probability),
            percent(goal.confidence)
        );
        if tight {
            text.push_str(&format!(
                " The rate is the tight one: about {} of the required {}.",
                words.flow(least),
                words.flow(goal.required)
            ));
        }
        text
    } else {
        let unmet = Damped::BOTH
            .into_iter()
            .find(|&damper| set_up.stations_of(damper).is_empty());
        match unmet {
            Some(damper) => format!(
                "No station tells all {} air, so nothing can be proven: add one to the job, at the unit, at the terminal, or at every grille.",
                damper.name()
            ),
            None => {
                "Read both streams with the dampers as they stand; without that nothing is proven."
                    .into()
            }
        }
    };
    if advice.verdict == Verdict::NotProvable {
        text.push_str(" No further reading with these instruments would prove it: for proof bring a better calibrated one, for instance a powered hood at the grilles");
        text.push_str(if tight {
            ", or give the unit more air, by a higher setting or wider ducts."
        } else {
            "."
        });
    } else if let Some(next) = &advice.next_reading {
        text.push(' ');
        text.push_str(&next.text);
    }
    text
}

fn cannot(words: Words, goal: &Goal, best: &[StateEstimate], obstacles: &[Obstacle]) -> String {
    let mut text = "Dampers alone cannot do it.".to_owned();
    for obstacle in obstacles {
        text.push(' ');
        match obstacle {
            Obstacle::TapPressure(spread) => {
                let modes: Vec<String> = best
                    .iter()
                    .map(|state| {
                        format!(
                            "{:+.0} % in {}",
                            100.0 * state.balance.value,
                            state.state.case.blower.name()
                        )
                    })
                    .collect();
                text.push_str(&format!(
                    "The pressure at the taps is too strong: between the blower modes the balance moves by {:.0} %, and a damper shifts all modes alike. At best it would be {}.",
                    100.0 * spread,
                    true_minus(modes.join(", "))
                ));
            }
            Obstacle::TooLittleAir(part) => text.push_str(&format!(
                "In balance the rate of {} is missed by {:.0} %: the unit moves no more air through the ducts as they are.",
                words.flow(goal.required),
                100.0 * part
            )),
            Obstacle::ShortCircuit(part) => text.push_str(&format!(
                "{:.0} % of the supply air is drawn straight back into the extract without having passed a room: the layout is wrong for this mode.",
                100.0 * part
            )),
            Obstacle::OneSided(balance) => text.push_str(&format!(
                "Even with the {} damper at {GREATEST_DAMPER_ANGLE:.0}° a balance of {:+.0} % is left: the other stream meets far too much resistance.",
                if *balance > 0.0 { "supply" } else { "extract" },
                100.0 * balance
            )),
        }
    }
    text
}
