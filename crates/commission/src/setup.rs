//! The set-up day: house and plan, stations, instruments, damper positions, readings.

use crate::device::{self, Device};
use crate::error::Error;
use crate::faults::Faults;
use crate::instrument::Instrument;
use crate::words::Words;
use air::AirState;
use ducts::ButterflyDamper;
use house::model::{End, Job, Mode, Season, Setting, Side};
use plan::{OperatingCase, Plan};
use units::System;

/// Which air a station meets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stream {
    /// All supply air, or the outdoor air behind it.
    Supply,
    /// All extract air, or the exhaust air behind it.
    Extract,
    /// The air through the blower of the air handler.
    Blower,
    /// The air in the duct to one tap, grille or terminal.
    Duct(End),
}

/// A place where a pressure is read and turned into a flow.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Name, as the contractor calls it.
    pub name: String,
    /// The air that it meets.
    pub stream: Stream,
    /// What turns the pressure into a flow.
    pub device: Device,
    /// Air at the station.
    pub air: AirState,
    /// Relative standard deviation of its calibration: chart, place of the probe, straight duct.
    pub calibration: f64,
    /// Instrument that usually reads it, by its index; nothing where there is none for it.
    pub instrument: Option<usize>,
}

/// Relative standard deviation of a unit's own stations with their chart (from memory: makers
/// print ±10 % or 5 to 7 %).
pub const CHART_CALIBRATION: f64 = 0.05;

impl Station {
    /// Actual volume flow (m³/s) for what the instrument shows.
    pub fn flow(&self, shown: f64) -> f64 {
        self.device.flow(shown, &self.air)
    }

    /// The same as mass flow (kg/s).
    pub fn mass_flow(&self, shown: f64) -> f64 {
        self.flow(shown) * self.air.density()
    }

    /// Flow at standard density (m³/s) for what the instrument shows.
    pub fn standard_flow(&self, shown: f64) -> f64 {
        device::standard_flow(self.flow(shown), self.air.density())
    }

    /// What the instrument shows for a mass flow (kg/s).
    pub fn shown(&self, mass_flow: f64) -> f64 {
        self.device.shown(mass_flow / self.air.density(), &self.air)
    }
}

/// One of the unit's four ports.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Port {
    /// Outdoor air into the unit.
    Outdoor,
    /// Supply air out of it.
    Supply,
    /// Extract air into it.
    Extract,
    /// Exhaust air out of it.
    Exhaust,
}

impl Port {
    /// All ports, in the order of the network.
    pub const ALL: [Port; 4] = [Port::Outdoor, Port::Supply, Port::Extract, Port::Exhaust];

    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            Port::Outdoor => "outdoor",
            Port::Supply => "supply",
            Port::Extract => "extract",
            Port::Exhaust => "exhaust",
        }
    }
}

/// What a reading was taken of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// A station, by its index in the set-up.
    Station(usize),
    /// Static pressure at a port of the unit against the space where the air handler stands.
    Port(Port),
    /// Static pressure of a plenum of the air handler against that space.
    Plenum(Side),
    /// Pressure of the lived-in zone that lies lowest against outdoors.
    House,
}

/// A stream whose damper can be turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Damped {
    /// Supply air.
    Supply,
    /// Extract air.
    Extract,
}

impl Damped {
    /// Both, supply first.
    pub const BOTH: [Damped; 2] = [Damped::Supply, Damped::Extract];

    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            Damped::Supply => "supply",
            Damped::Extract => "extract",
        }
    }

    /// The other one.
    pub fn other(self) -> Self {
        match self {
            Damped::Supply => Damped::Extract,
            Damped::Extract => Damped::Supply,
        }
    }

    pub(crate) fn stream(self) -> Stream {
        match self {
            Damped::Supply => Stream::Supply,
            Damped::Extract => Stream::Extract,
        }
    }
}

/// A position of one damper in which readings were taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    /// Angle from open (°), by its mark or by the advice.
    pub angle: f64,
    /// Standard deviation of the logarithm of the blade's loss coefficient there.
    pub log_deviation: f64,
}

/// How well an angle is set by eye (°), from memory.
pub const ANGLE_DEVIATION: f64 = 3.0;
/// Spread of a damper's loss coefficient about the table, as a logarithm, from memory.
pub const DAMPER_LOG_DEVIATION: f64 = 0.25;

impl Position {
    /// Fully open: what little the blade resists belongs to the duct.
    pub const OPEN: Self = Self {
        angle: 0.0,
        log_deviation: 0.0,
    };

    /// A position by its angle (°): the spread of the damper's table and that of the angle,
    /// `√(0.25² + (3° · d ln ζ/dα)²)`.
    pub fn at(angle: f64) -> Self {
        let angle = if angle.is_finite() {
            angle.clamp(0.0, 90.0)
        } else {
            0.0
        };
        if angle <= 0.5 {
            return Self::OPEN;
        }
        let steepness = ButterflyDamper::new(ducts::damper::TYPICAL_SHUT_LOSS)
            .and_then(|damper| damper.loss_with_slope(angle))
            .map_or(0.1, |(loss, slope)| slope / loss);
        Self {
            angle,
            log_deviation: f64::hypot(DAMPER_LOG_DEVIATION, ANGLE_DEVIATION * steepness),
        }
    }
}

/// One number that was read.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Of what.
    pub place: Place,
    /// Blower mode.
    pub blower: Mode,
    /// Setting of the ventilator.
    pub setting: Setting,
    /// Position of the supply and of the extract damper, by their indices in the set-up.
    pub dampers: [usize; 2],
    /// What the instrument showed: Pa, or m³/s where the station's instrument shows a flow.
    pub value: f64,
    /// Instrument, by its index in the set-up.
    pub instrument: usize,
    /// Struck out by the person who wrote it: kept, not used.
    pub struck_out: bool,
}

impl Reading {
    /// Whether both are of one place in one state of the house, so that they should show the same.
    pub(crate) fn is_of_same(&self, other: &Self) -> bool {
        let of = |it: &Self| (it.place, it.blower, it.setting, it.dampers);
        of(self) == of(other)
    }
}

/// A state of the house in which something is read or predicted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// Blower, setting and weather. The weather of the day is that of a mild day.
    pub case: OperatingCase,
    /// Positions of the dampers.
    pub dampers: [Position; 2],
    /// Their indices in the set-up, where they are among the positions read.
    pub indices: [Option<usize>; 2],
}

/// House, plan, stations, instruments, damper positions and readings of one set-up day.
///
/// The job's mild weather is the weather of the day: [`SetUp::new`] puts it there.
#[derive(Debug, Clone)]
pub struct SetUp {
    pub(crate) job: Job,
    pub(crate) plan: Plan,
    stations: Vec<Station>,
    instruments: Vec<Instrument>,
    positions: [Vec<Position>; 2],
    readings: Vec<Reading>,
    system: System,
    faults: Faults,
}

impl SetUp {
    /// A set-up of a plan on a day with this outdoor and indoor temperature (°C), both dampers
    /// open, nothing read.
    ///
    /// # Errors
    /// Refuses temperatures that are not finite or far from any weather, stations or instruments
    /// with impossible numbers.
    pub fn new(
        job: &Job,
        plan: &Plan,
        temperatures: [f64; 2],
        stations: Vec<Station>,
        instruments: Vec<Instrument>,
    ) -> Result<Self, Error> {
        for (what, value, accepted) in [
            ("outdoor temperature [°C]", temperatures[0], -50.0..=55.0),
            ("indoor temperature [°C]", temperatures[1], 0.0..=45.0),
        ] {
            if !accepted.contains(&value) {
                let accepted = format!("{} to {}", accepted.start(), accepted.end());
                return Err(Error::refused(what, value, &accepted));
            }
        }
        for station in &stations {
            if !(station.calibration.is_finite() && (0.0..=0.5).contains(&station.calibration)) {
                return Err(Error::refused(
                    &format!("relative deviation of the calibration of {}", station.name),
                    station.calibration,
                    "0 to 0.5",
                ));
            }
        }
        for instrument in &instruments {
            instrument.check()?;
        }
        for station in &stations {
            let found = match station.stream {
                Stream::Supply | Stream::Extract => true,
                Stream::Blower => job.air_handler.is_some(),
                Stream::Duct(End::Terminal(terminal)) => {
                    !plan.two_in_one() && [plan.intake, plan.exhaust].contains(&terminal)
                }
                Stream::Duct(end) => plan.extract.contains(&end) || plan.supply.contains(&end),
            };
            if !found {
                return Err(Error(format!(
                    "{} meets air that this plan does not move, or cannot tell which of two; name the supply or the extract stream, or a tap, grille or terminal of the plan",
                    station.name
                )));
            }
        }
        let system = if job.inch_pound_first {
            System::Ip
        } else {
            System::Si
        };
        let mut job = job.clone();
        for weather in &mut job.climate.weathers {
            if weather.season == Season::Mild {
                weather.outdoor = temperatures[0];
                weather.indoor = temperatures[1];
            }
        }
        let mut plan = plan.clone();
        plan.supply_damper = 0.0;
        plan.extract_damper = 0.0;
        Ok(Self {
            job,
            plan,
            stations,
            instruments,
            positions: [vec![Position::OPEN], vec![Position::OPEN]],
            readings: Vec::new(),
            system,
            faults: Faults::default(),
        })
    }

    /// The same house and stations on another day: positions of the dampers as they were left,
    /// nothing read yet.
    ///
    /// # Errors
    /// As [`new`](Self::new).
    pub fn revisited(&self, temperatures: [f64; 2]) -> Result<Self, Error> {
        let mut revisit = Self::new(
            &self.job,
            &self.plan,
            temperatures,
            self.stations.clone(),
            self.instruments.clone(),
        )?;
        revisit.positions.clone_from(&self.positions);
        revisit.system = self.system;
        revisit.faults.clone_from(&self.faults);
        Ok(revisit)
    }

    /// The same with sentences in this system of units first; otherwise it is the job's.
    pub fn in_system(mut self, system: System) -> Self {
        self.system = system;
        self
    }

    /// The same with other chances and spreads of hidden faults.
    pub fn suspecting(mut self, faults: Faults) -> Self {
        self.faults = faults;
        self
    }

    /// What may be wrong in the house or with the instruments beyond the spreads of the survey.
    pub fn faults(&self) -> &Faults {
        &self.faults
    }

    pub(crate) fn words(&self) -> Words {
        Words {
            system: self.system,
        }
    }

    /// Whether an instrument shows a flow at a place, and not a pressure.
    pub fn shows_flow(&self, place: Place) -> bool {
        match place {
            Place::Station(station) => self
                .stations
                .get(station)
                .is_some_and(|known| known.device.shows_flow()),
            _ => false,
        }
    }

    /// The job, with the weather of the day.
    pub fn job(&self) -> &Job {
        &self.job
    }

    /// The plan.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Stations that tell together all air of a stream: one that meets it, or its air outdoors; else
    /// those at all of its ends in the house. None where some of it is not met.
    pub fn stations_of(&self, damper: Damped) -> Vec<usize> {
        let at = |stream: Stream| {
            let mut stations = self.stations.iter();
            stations.position(|station| station.stream == stream)
        };
        let plan = &self.plan;
        let (terminal, ends) = match damper {
            Damped::Supply => (plan.intake, &plan.supply),
            Damped::Extract => (plan.exhaust, &plan.extract),
        };
        let outdoors = (plan.intake != plan.exhaust)
            .then(|| at(Stream::Duct(End::Terminal(terminal))))
            .flatten();
        if let Some(whole) = at(damper.stream()).or(outdoors) {
            return vec![whole];
        }
        let parts: Option<Vec<usize>> = ends.iter().map(|&end| at(Stream::Duct(end))).collect();
        parts.unwrap_or_default()
    }

    /// The instrument that reads a place, by its index: that used there last, or the usual one. At
    /// ports and plenums the usual one is that which last read a pressure, or the first that reads no
    /// flow.
    pub(crate) fn instrument_at(&self, place: Place) -> Option<usize> {
        let last = |wanted: &dyn Fn(Place) -> bool| {
            let mut readings = self.readings.iter().rev();
            let found = readings.find(|reading| wanted(reading.place));
            found.map(|reading| reading.instrument)
        };
        last(&|known| known == place).or_else(|| match place {
            Place::Station(station) => self.stations.get(station)?.instrument,
            _ => last(&|known| !self.shows_flow(known)).or_else(|| {
                (0..self.instruments.len()).find(|&at| {
                    let mut stations = self.stations.iter();
                    stations.all(|it| it.instrument != Some(at) || !it.device.shows_flow())
                })
            }),
        })
    }

    /// The stations.
    pub fn stations(&self) -> &[Station] {
        &self.stations
    }

    /// The instruments.
    pub fn instruments(&self) -> &[Instrument] {
        &self.instruments
    }

    /// The readings, in the order in which they were added.
    pub fn readings(&self) -> &[Reading] {
        &self.readings
    }

    /// Positions of a damper so far; the first is open.
    pub fn positions(&self, damper: Damped) -> &[Position] {
        &self.positions[damper as usize]
    }

    /// Notes a new position of a damper and gives its index. Every time a damper was moved it is a
    /// new position, even at the same mark.
    pub fn moved(&mut self, damper: Damped, position: Position) -> usize {
        let positions = &mut self.positions[damper as usize];
        if position == Position::OPEN {
            return 0;
        }
        positions.push(position);
        positions.len() - 1
    }

    /// Adds a reading. Nothing is refused but what has no meaning: an unknown station, instrument
    /// or position.
    ///
    /// # Errors
    /// Names what is unknown.
    pub fn add(&mut self, reading: Reading) -> Result<usize, Error> {
        if let Place::Station(station) = reading.place
            && station >= self.stations.len()
        {
            return Err(Error(format!(
                "there is no station {station}; the set-up has {}",
                self.stations.len()
            )));
        }
        if matches!(reading.place, Place::Plenum(_)) && self.job.air_handler.is_none() {
            return Err(Error(
                "the house has no air handler, so there is no plenum to read".into(),
            ));
        }
        if reading.instrument >= self.instruments.len() {
            return Err(Error(format!(
                "there is no instrument {}; the set-up has {}",
                reading.instrument,
                self.instruments.len()
            )));
        }
        for damper in Damped::BOTH {
            let index = reading.dampers[damper as usize];
            if index >= self.positions(damper).len() {
                return Err(Error(format!(
                    "there is no position {index} of the {} damper",
                    damper.name()
                )));
            }
        }
        self.readings.push(reading);
        Ok(self.readings.len() - 1)
    }

    /// Strikes out a reading: it stays, and is not used.
    ///
    /// # Errors
    /// An unknown reading.
    pub fn strike_out(&mut self, reading: usize) -> Result<(), Error> {
        match self.readings.get_mut(reading) {
            Some(reading) => {
                reading.struck_out = true;
                Ok(())
            }
            None => Err(Error(format!("there is no reading {reading}"))),
        }
    }

    /// The state in which a reading was taken.
    pub fn state_of(&self, reading: &Reading) -> State {
        self.state(reading.blower, reading.setting, reading.dampers)
    }

    /// The state with dampers at known positions.
    pub fn state(&self, blower: Mode, setting: Setting, dampers: [usize; 2]) -> State {
        State {
            case: OperatingCase {
                blower,
                setting,
                season: Season::Mild,
                wind: None,
            },
            dampers: [0, 1].map(|side| {
                self.positions[side]
                    .get(dampers[side])
                    .copied()
                    .unwrap_or(Position::OPEN)
            }),
            indices: dampers.map(Some),
        }
    }

    /// Name of a place in the contractor's words.
    pub fn name(&self, place: Place) -> String {
        match place {
            Place::Station(station) => self
                .stations
                .get(station)
                .map_or_else(|| format!("station {station}"), |known| known.name.clone()),
            Place::Port(port) => format!("static pressure at the {} port", port.name()),
            Place::Plenum(Side::Return) => "return plenum pressure".into(),
            Place::Plenum(Side::Supply) => "supply plenum pressure".into(),
            Place::House => "pressure of the house against outdoors".into(),
        }
    }
}
