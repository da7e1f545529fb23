//! The plan's network as what readings are expected from: unknowns, expected readings, slopes.

use crate::error::Error;
use crate::laplace::Forward;
use crate::setup::{Damped, Place, Port, Position, Reading, SetUp, State, Stream};
use ducts::ButterflyDamper;
use house::model::{End, Season};
use plan::inputs::{Inputs, Parameters, Slot};
use plan::installation::{Installation, Solution};

/// What an unknown is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// An uncertain number of the survey.
    Survey(Slot),
    /// Resistance of the duct at a port as it was built.
    Duct(Port),
    /// Loss of a damper in one of its positions.
    Damper(Damped, usize),
    /// Calibration of a station.
    Calibration(usize),
    /// Gain of an instrument.
    Gain(usize),
    /// Zero of an instrument.
    Zero(usize),
}

/// One unknown: standard-normal before the readings.
#[derive(Debug, Clone, PartialEq)]
pub struct Unknown {
    /// What it is.
    pub kind: Kind,
    /// The same in the trade's words.
    pub name: String,
    /// One standard deviation before any reading: of the logarithm for what is positive by nature,
    /// in the reading's unit for a zero, in SI for the others.
    pub scale: f64,
    /// Index into the survey's parameters.
    survey: Option<usize>,
}

/// Spread of a duct's resistance as built about that of the survey, as a logarithm; from memory.
pub const DUCT_LOG_DEVIATION: f64 = 0.25;

/// Where the numbers of a [`Flows`] stand.
const SUPPLY: usize = 0;
const EXTRACT: usize = 1;
const DELIVERED: usize = 2;
const BLOWER: usize = 3;
const PORTS: usize = 4;
const PLENUMS: usize = 8;
const HOUSE: usize = 10;
const ENDS: usize = 11;

/// What the network gives in one state: mass flows (kg/s) and pressures (Pa).
#[derive(Debug, Clone, PartialEq)]
pub struct Flows(pub(crate) Vec<f64>);

impl Flows {
    /// Supply air, gross (kg/s).
    pub fn supply(&self) -> f64 {
        self.0[SUPPLY]
    }

    /// Extract air, gross (kg/s).
    pub fn extract(&self) -> f64 {
        self.0[EXTRACT]
    }

    /// Outdoor air that reaches the rooms (kg/s).
    pub fn delivered(&self) -> f64 {
        self.0[DELIVERED]
    }

    /// Balance by mass: (supply − exhaust) over the larger.
    pub fn balance(&self) -> f64 {
        plan::case::balance(self.supply(), self.extract())
    }
}

/// Derivatives of flows: `[state][unknown][number]`.
type Slopes = Vec<Vec<Vec<f64>>>;

/// The network of a set-up.
pub(crate) struct Network<'a> {
    set_up: &'a SetUp,
    parameters: Parameters,
    damper: ButterflyDamper,
    ends: Vec<End>,
    unknowns: Vec<Unknown>,
    /// States in which something is read or wanted, without repetition.
    states: Vec<State>,
    /// State of each reading.
    reading_states: Vec<usize>,
    /// The states that were read, without repetition.
    read: Vec<usize>,
    /// The flows of all states at the scores asked for last.
    pub flows: Vec<Flows>,
    /// Their derivatives by each unknown, at the scores of the last call of `slopes`.
    pub slopes: Vec<Vec<Vec<f64>>>,
    /// How many networks were solved.
    pub solved: usize,
    /// The last installation, from which the next ones start.
    last: Option<Installation<'a>>,
    /// Unknowns that hardly move any flow or pressure; their derivatives are taken once, or not at
    /// all where an earlier estimate of the day found them so.
    pub quiet: Vec<Kind>,
}

/// Parts of a flow, and pressure (Pa), that one standard deviation of a quiet unknown moves.
const QUIET_FLOW: f64 = 5e-4;
const QUIET_PRESSURE: f64 = 0.05;

/// Step of the difference quotients, in standard deviations. The network settles its taps to
/// 1e-3 Pa; smaller steps would see that.
const STEP: f64 = 0.25;

impl<'a> Network<'a> {
    /// The network with the unknowns that matter to some state, in which `wanted` states are
    /// predicted beside those that were read.
    pub fn new(set_up: &'a SetUp, wanted: &[State]) -> Result<Self, Error> {
        let parameters = Parameters::new(&set_up.job);
        let damper = ButterflyDamper::new(ducts::damper::TYPICAL_SHUT_LOSS)
            .map_err(|error| Error(error.to_string()))?;
        let plan = &set_up.plan;
        let ends = plan.extract.iter().chain(&plan.supply).copied().collect();
        let mut network = Self {
            set_up,
            parameters,
            damper,
            ends,
            unknowns: Vec::new(),
            states: Vec::new(),
            reading_states: Vec::new(),
            read: Vec::new(),
            flows: Vec::new(),
            slopes: Vec::new(),
            solved: 0,
            last: None,
            quiet: Vec::new(),
        };
        for state in wanted {
            network.state(*state);
        }
        for reading in set_up.readings() {
            let state = network.state(set_up.state_of(reading));
            network.reading_states.push(state);
        }
        network.read.clone_from(&network.reading_states);
        network.read.sort_unstable();
        network.read.dedup();
        network.unknowns = network.list();
        Ok(network)
    }

    /// Index of a state.
    pub fn state(&mut self, state: State) -> usize {
        if let Some(known) = self.states.iter().position(|known| *known == state) {
            return known;
        }
        self.states.push(state);
        self.states.len() - 1
    }

    pub fn set_up(&self) -> &'a SetUp {
        self.set_up
    }

    pub fn unknowns(&self) -> &[Unknown] {
        &self.unknowns
    }

    pub fn states(&self) -> &[State] {
        &self.states
    }

    pub fn reading_state(&self, reading: usize) -> usize {
        self.reading_states[reading]
    }

    /// Everything that the plan's network or the readings depend on.
    fn list(&self) -> Vec<Unknown> {
        let plan = &self.set_up.plan;
        let ends: Vec<End> = self
            .ends
            .iter()
            .copied()
            .chain([End::Terminal(plan.intake), End::Terminal(plan.exhaust)])
            .collect();
        let mut unknowns: Vec<Unknown> = self
            .parameters
            .list()
            .iter()
            .enumerate()
            .filter(|(_, parameter)| parameter.deviation > 0.0)
            .filter(|(_, parameter)| match parameter.slot() {
                Slot::Terminal(index) => ends.contains(&End::Terminal(index)),
                Slot::Grille(index) => ends.contains(&End::Grille(index)),
                Slot::TapPressure(_) => true,
                Slot::Wake => plan.entry == house::model::Entry::FacingDownstream,
                _ => true,
            })
            .map(|(index, parameter)| Unknown {
                kind: Kind::Survey(parameter.slot()),
                name: parameter.name.clone(),
                scale: parameter.deviation,
                survey: Some(index),
            })
            .collect();
        let mut add = |kind, name: String, scale: f64| {
            if scale > 0.0 {
                unknowns.push(Unknown {
                    kind,
                    name,
                    scale,
                    survey: None,
                });
            }
        };
        for port in Port::ALL {
            add(
                Kind::Duct(port),
                format!("resistance of the {} duct as built", port.name()),
                DUCT_LOG_DEVIATION,
            );
        }
        for damper in Damped::BOTH {
            for (index, position) in self.set_up.positions(damper).iter().enumerate() {
                add(
                    Kind::Damper(damper, index),
                    format!(
                        "the {} damper at about {:.0}°",
                        damper.name(),
                        position.angle
                    ),
                    position.log_deviation,
                );
            }
        }
        for (index, station) in self.set_up.stations().iter().enumerate() {
            add(
                Kind::Calibration(index),
                format!("calibration of {}", station.name),
                station.calibration,
            );
        }
        for (index, instrument) in self.set_up.instruments().iter().enumerate() {
            add(
                Kind::Gain(index),
                format!("gain of {}", instrument.name),
                instrument.gain,
            );
            add(
                Kind::Zero(index),
                format!("zero of {}", instrument.name),
                instrument.zero,
            );
        }
        unknowns
    }

    /// The survey's inputs at some scores.
    pub fn inputs(&self, scores: &[f64]) -> Inputs {
        let mut survey = vec![0.0; self.parameters.list().len()];
        for (unknown, score) in self.unknowns.iter().zip(scores) {
            if let Some(index) = unknown.survey {
                survey[index] = *score;
            }
        }
        let mut inputs = self.parameters.draw(&survey);
        for (unknown, score) in self.unknowns.iter().zip(scores) {
            if let Kind::Duct(port) = unknown.kind {
                inputs.duct_factors[port as usize] = (unknown.scale * score).exp();
            }
        }
        inputs
    }

    /// What one standard deviation of a survey number is over its value.
    pub fn relative_deviation(&self, unknown: usize) -> f64 {
        self.unknowns[unknown].survey.map_or(0.0, |index| {
            let parameter = &self.parameters.list()[index];
            parameter.deviation / parameter.value.abs().max(1e-12)
        })
    }

    /// Score of an unknown, zero if it is not among them.
    fn score(&self, kind: Kind, scores: &[f64]) -> f64 {
        self.unknowns
            .iter()
            .zip(scores)
            .find(|(unknown, _)| unknown.kind == kind)
            .map_or(0.0, |(unknown, score)| unknown.scale * score)
    }

    /// Angle (°) at which an ordinary damper has the loss of this one.
    pub fn angle_of(&self, damper: Damped, state: &State, scores: &[f64]) -> f64 {
        let side = damper as usize;
        let angle = state.dampers[side].angle;
        if angle <= 0.0 {
            return 0.0;
        }
        let factor = state.indices[side]
            .map_or(0.0, |index| self.score(Kind::Damper(damper, index), scores));
        let loss = |angle: f64| self.damper.loss(angle).unwrap_or(0.0);
        let wanted = (loss(angle) * factor.exp()).clamp(loss(0.0), loss(90.0));
        self.damper.angle(wanted).unwrap_or(angle)
    }

    /// Flows of some states at some scores.
    pub fn solve(&mut self, scores: &[f64], states: &[State]) -> Result<Vec<Flows>, Error> {
        let mut installation = self.installation(scores)?;
        let flows = states
            .iter()
            .map(|state| self.solve_one(&mut installation, scores, state))
            .collect();
        self.solved += states.len();
        self.last = Some(installation);
        flows
    }

    /// The same, each from a start of its own, with the solutions.
    fn solve_from(
        &mut self,
        scores: &[f64],
        states: &[(State, Solution)],
    ) -> Result<Vec<(Flows, Solution)>, Error> {
        let mut installation = self.installation(scores)?;
        let flows = states
            .iter()
            .map(|(state, start)| {
                installation.start_from(state.case, start);
                let flows = self.solve_one(&mut installation, scores, state)?;
                let solution = installation.solution(state.case).cloned();
                Ok((flows, solution.unwrap_or_default()))
            })
            .collect();
        self.solved += states.len();
        self.last = Some(installation);
        flows
    }

    fn solve_one(
        &self,
        installation: &mut Installation,
        scores: &[f64],
        state: &State,
    ) -> Result<Flows, Error> {
        installation.set_dampers(
            self.angle_of(Damped::Supply, state, scores),
            self.angle_of(Damped::Extract, state, scores),
        );
        self.read(installation, state)
    }

    fn read(&self, installation: &mut Installation, state: &State) -> Result<Flows, Error> {
        let case = installation.solve(state.case)?;
        let mut flows = vec![0.0; ENDS];
        flows[SUPPLY] = case.supply;
        flows[EXTRACT] = case.extract;
        flows[DELIVERED] = case.delivered;
        flows[BLOWER] = case.blower_flow;
        flows[PORTS..PLENUMS].copy_from_slice(&case.ports);
        flows[PLENUMS..HOUSE].copy_from_slice(&case.plenums.unwrap_or([0.0; 2]));
        flows[HOUSE] = case.house_pressure();
        flows.extend(
            self.ends
                .iter()
                .map(|&end| installation.duct_flow(end).unwrap_or(0.0)),
        );
        Ok(Flows(flows))
    }

    /// An installation at some scores, for whoever wants to turn its dampers.
    pub fn installation(&mut self, scores: &[f64]) -> Result<Installation<'a>, Error> {
        let inputs = self.inputs(scores);
        let installation = match self.last.take() {
            Some(last) => last.in_house(&inputs)?,
            None => {
                let set_up = self.set_up;
                Installation::new(&set_up.job, Some(&set_up.plan), &inputs, false)?
            }
        };
        Ok(installation)
    }

    /// Where the number behind a place stands in the flows, and its station.
    fn slot(&self, place: Place) -> (usize, Option<usize>) {
        match place {
            Place::Port(port) => (PORTS + port as usize, None),
            Place::Plenum(side) => (PLENUMS + side as usize, None),
            Place::House => (HOUSE, None),
            Place::Station(station) => {
                let slot = match self.set_up.stations()[station].stream {
                    Stream::Supply => SUPPLY,
                    Stream::Extract => EXTRACT,
                    Stream::Blower => BLOWER,
                    Stream::Duct(End::Terminal(terminal)) => {
                        if terminal == self.set_up.plan.intake {
                            SUPPLY
                        } else {
                            EXTRACT
                        }
                    }
                    Stream::Duct(end) => self
                        .ends
                        .iter()
                        .position(|known| *known == end)
                        .map_or(SUPPLY, |at| ENDS + at),
                };
                (slot, Some(station))
            }
        }
    }

    /// The flow (kg/s) or pressure (Pa) behind a place and its derivatives by every unknown.
    pub fn number(&self, place: Place, flows: &Flows, slopes: &[Vec<f64>]) -> (f64, Vec<f64>) {
        let (slot, _) = self.slot(place);
        (flows.0[slot], slopes.iter().map(|row| row[slot]).collect())
    }

    /// What an instrument is expected to show at a place with these flows.
    pub fn shown(&self, place: Place, instrument: usize, flows: &Flows, scores: &[f64]) -> f64 {
        let (slot, station) = self.slot(place);
        let truth = match station {
            None => flows.0[slot],
            Some(index) => {
                let station = &self.set_up.stations()[index];
                // The chart says Q; Q eᶜ flows.
                let calibration = self.score(Kind::Calibration(index), scores);
                station.shown(flows.0[slot] * (-calibration).exp())
            }
        };
        let gain = self.score(Kind::Gain(instrument), scores).exp();
        gain * truth + self.score(Kind::Zero(instrument), scores)
    }

    /// Derivatives by every unknown of what an instrument shows at a place in a state, from the
    /// last slopes of that state's flows.
    pub fn shown_slopes(
        &self,
        place: Place,
        instrument: usize,
        flows: &Flows,
        slopes: &[Vec<f64>],
        scores: &[f64],
    ) -> Vec<f64> {
        let (slot, _) = self.slot(place);
        let step = 1e-4 * flows.0[slot].abs().max(1e-3);
        let moved = |by: f64| {
            let mut flows = flows.clone();
            flows.0[slot] += by;
            self.shown(place, instrument, &flows, scores)
        };
        let by_flow = (moved(step) - moved(-step)) / (2.0 * step);
        let mut scores = scores.to_vec();
        self.unknowns
            .iter()
            .enumerate()
            .map(|(k, unknown)| {
                let own = match unknown.kind {
                    Kind::Calibration(_) | Kind::Gain(_) | Kind::Zero(_) => {
                        let kept = scores[k];
                        scores[k] = kept + 1e-3;
                        let above = self.shown(place, instrument, flows, &scores);
                        scores[k] = kept - 1e-3;
                        let below = self.shown(place, instrument, flows, &scores);
                        scores[k] = kept;
                        (above - below) / 2e-3
                    }
                    _ => 0.0,
                };
                own + by_flow * slopes[k][slot]
            })
            .collect()
    }

    /// Flows of some states and their derivatives by every unknown: `[state][unknown][number]`. A state
    /// in another season takes those of the same state on the day, if that is among them: the
    /// weather moves the flows, but hardly what moves them.
    pub fn flow_slopes(
        &mut self,
        scores: &[f64],
        states: &[State],
    ) -> Result<(Vec<Flows>, Slopes), Error> {
        let width = ENDS + self.ends.len();
        let mut slopes = vec![vec![vec![0.0; width]; self.unknowns.len()]; states.len()];
        let mut moved = scores.to_vec();
        let all: Vec<(State, Solution)> = states
            .iter()
            .map(|state| (*state, Solution::default()))
            .collect();
        let (flows, middle): (Vec<Flows>, Vec<Solution>) =
            self.solve_from(scores, &all)?.into_iter().unzip();
        let twins: Vec<Option<usize>> = states
            .iter()
            .map(|state| {
                if state.case.season == Season::Mild {
                    return None;
                }
                let mut day = *state;
                day.case.season = Season::Mild;
                states.iter().position(|known| *known == day)
            })
            .collect();
        for k in 0..self.unknowns.len() {
            let kind = self.unknowns[k].kind;
            if self.quiet.contains(&kind) {
                continue;
            }
            // Which states feel it: a damper's position only those that have it.
            let feels = |state: &State| match kind {
                Kind::Survey(_) | Kind::Duct(_) => true,
                Kind::Damper(damper, index) => state.indices[damper as usize] == Some(index),
                _ => false,
            };
            let some: Vec<usize> = (0..states.len())
                .filter(|&at| twins[at].is_none() && feels(&states[at]))
                .collect();
            if some.is_empty() {
                continue;
            }
            let mut asked: Vec<(State, Solution)> = some
                .iter()
                .map(|&at| (states[at], middle[at].clone()))
                .collect();
            moved[k] = scores[k] + STEP;
            let above = self.solve_from(&moved, &asked)?;
            for (((_, start), (_, above)), &at) in asked.iter_mut().zip(&above).zip(&some) {
                *start = above.mirrored(&middle[at]);
            }
            moved[k] = scores[k] - STEP;
            let below = self.solve_from(&moved, &asked)?;
            moved[k] = scores[k];
            for ((&at, (above, _)), (below, _)) in some.iter().zip(&above).zip(&below) {
                for ((slope, above), below) in slopes[at][k].iter_mut().zip(&above.0).zip(&below.0)
                {
                    *slope = (above - below) / (2.0 * STEP);
                }
            }
        }
        for (at, twin) in twins.into_iter().enumerate() {
            if let Some(twin) = twin {
                slopes[at] = slopes[twin].clone();
            }
        }
        Ok((flows, slopes))
    }

    /// Finds the quiet unknowns.
    fn hush(&mut self, slopes: &[Vec<Vec<f64>>]) {
        for (k, unknown) in self.unknowns.iter().enumerate() {
            if !matches!(unknown.kind, Kind::Survey(_)) || self.quiet.contains(&unknown.kind) {
                continue;
            }
            let still = slopes.iter().zip(&self.flows).all(|(state, flows)| {
                state[k].iter().enumerate().all(|(slot, slope)| {
                    let least = match slot {
                        PORTS..ENDS => QUIET_PRESSURE,
                        _ => QUIET_FLOW * flows.0[slot].abs().max(0.01),
                    };
                    slope.abs() < least
                })
            });
            if still {
                self.quiet.push(unknown.kind);
            }
        }
    }

    fn reading(&self, index: usize) -> &'a Reading {
        &self.set_up.readings()[index]
    }

    /// A position of a damper whose loss follows what was learnt of it in its last position.
    pub fn learnt(&self, damper: Damped, scores: &[f64]) -> f64 {
        let last = self.set_up.positions(damper).len() - 1;
        self.score(Kind::Damper(damper, last), scores)
    }

    /// Angle (°) of this damper whose loss is that of an ordinary damper at `angle`, by what was
    /// learnt of it.
    pub fn mark(&self, damper: Damped, angle: f64, scores: &[f64]) -> Position {
        let loss = |angle: f64| self.damper.loss(angle).unwrap_or(0.0);
        let wanted = loss(angle) * (-self.learnt(damper, scores)).exp();
        let wanted = wanted.clamp(loss(0.0), loss(90.0));
        Position::at(self.damper.angle(wanted).unwrap_or(angle))
    }
}

impl Forward for Network<'_> {
    fn expected(&mut self, scores: &[f64]) -> Result<Vec<f64>, Error> {
        let states: Vec<State> = self.read.iter().map(|&at| self.states[at]).collect();
        let flows = self.solve(scores, &states)?;
        Ok((0..self.reading_states.len())
            .map(|at| {
                let reading = self.reading(at);
                let place = self.read.binary_search(&self.reading_states[at]);
                let flows = &flows[place.unwrap_or(0)];
                self.shown(reading.place, reading.instrument, flows, scores)
            })
            .collect())
    }

    fn slopes(&mut self, scores: &[f64]) -> Result<Vec<Vec<f64>>, Error> {
        let states = self.states.clone();
        let (flows, mut slopes) = self.flow_slopes(scores, &states)?;
        self.flows = flows;
        if self.slopes.is_empty() {
            self.hush(&slopes);
        } else {
            // Those that were left out keep what they had.
            for (state, old) in slopes.iter_mut().zip(&mut self.slopes) {
                for (k, row) in state.iter_mut().enumerate() {
                    if self.quiet.contains(&self.unknowns[k].kind) {
                        std::mem::swap(row, &mut old[k]);
                    }
                }
            }
        }
        self.slopes = slopes;
        Ok((0..self.reading_states.len())
            .map(|at| {
                let reading = self.reading(at);
                let state = self.reading_states[at];
                self.shown_slopes(
                    reading.place,
                    reading.instrument,
                    &self.flows[state],
                    &self.slopes[state],
                    scores,
                )
            })
            .collect())
    }
}
