//! The example houses, and a set-up of one of them.

#![allow(dead_code)]

use commission::device::{Device, PowerLaw, standard_air};
use commission::instrument::Instrument;
use commission::setup::CHART_CALIBRATION;
use commission::{Place, Port, Reading, SetUp, Station, Stream};
use diagnostics::Source;
use house::model::{Interlock, Job, Mode, Season, Setting, Side};
use plan::Plan;
use std::path::Path;

pub const CFM: f64 = 0.000_471_947_443_2;
pub const INWC: f64 = 249.088_91;

/// An example house by its file.
pub fn example(name: &str) -> Job {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let text = std::fs::read_to_string(folder.join(name)).unwrap();
    let source = Source::new(name, text.as_str());
    house::file::read(&source, &mut |name| {
        std::fs::read(folder.join(name)).map_err(|error| error.to_string())
    })
    .job
    .unwrap()
}

/// The chosen plan of an example with the ventilator calling the blower.
pub fn chosen(job: &Job) -> Plan {
    let mut plan = Plan::from_chosen(job.chosen.as_ref().unwrap());
    plan.interlock = Interlock::VentilatorCallsBlower;
    plan
}

/// A station of the unit itself: 100 cfm at 0.4 inWC.
pub fn station(name: &str, stream: Stream) -> Station {
    let coefficient = 100.0 * CFM / (0.4 * INWC).sqrt();
    Station {
        name: name.into(),
        stream,
        device: Device::PowerLaw(PowerLaw::new(coefficient, 0.5).unwrap()),
        air: standard_air(),
        calibration: CHART_CALIBRATION,
        instrument: Some(0),
    }
}

/// A set-up with a station in each stream and a manometer.
pub fn set_up(job: &Job, plan: &Plan) -> SetUp {
    set_up_with(job, plan, CHART_CALIBRATION)
}

/// The same with stations of this relative deviation.
pub fn set_up_with(job: &Job, plan: &Plan, calibration: f64) -> SetUp {
    let station = |name, stream| Station {
        calibration,
        ..station(name, stream)
    };
    SetUp::new(
        job,
        plan,
        [8.0, 21.0],
        vec![
            station("supply station", Stream::Supply),
            station("extract station", Stream::Extract),
        ],
        vec![Instrument::manometer("manometer")],
    )
    .unwrap()
}

/// A true house, known exactly, with perfect instruments.
pub struct TrueHouse<'a> {
    pub installation: plan::installation::Installation<'a>,
}

impl<'a> TrueHouse<'a> {
    /// The house of a set-up with some inputs.
    pub fn new(set_up: &'a SetUp, inputs: &plan::inputs::Inputs) -> Self {
        Self {
            installation: plan::installation::Installation::new(
                set_up.job(),
                Some(set_up.plan()),
                inputs,
                false,
            )
            .unwrap(),
        }
    }

    /// Flows in a mode with the dampers at these angles.
    pub fn flows(&mut self, blower: Mode, setting: Setting, angles: [f64; 2]) -> plan::CaseFlows {
        self.installation.set_dampers(angles[0], angles[1]);
        self.installation
            .solve(plan::OperatingCase {
                blower,
                setting,
                season: Season::Mild,
                wind: None,
            })
            .unwrap()
    }

    /// What a perfect instrument shows.
    pub fn shown(
        &mut self,
        set_up: &SetUp,
        place: Place,
        blower: Mode,
        setting: Setting,
        angles: [f64; 2],
    ) -> f64 {
        let flows = self.flows(blower, setting, angles);
        match place {
            Place::Station(station) => {
                let station = &set_up.stations()[station];
                station.shown(match station.stream {
                    Stream::Supply => flows.supply,
                    Stream::Extract => flows.extract,
                    Stream::Blower => flows.blower_flow,
                    Stream::Duct(end) => self.installation.duct_flow(end).unwrap(),
                })
            }
            Place::Port(port) => flows.ports[port as usize],
            Place::Plenum(side) => flows.plenums.unwrap()[side as usize],
            Place::House => flows.house_pressure(),
        }
    }
}

/// A reading with open dampers and the first instrument.
pub fn reading(place: Place, blower: Mode, setting: Setting, value: f64) -> Reading {
    Reading {
        place,
        blower,
        setting,
        dampers: [0, 0],
        value,
        instrument: 0,
        struck_out: false,
    }
}

/// The places of a thorough round: both stations, all ports, both plenums.
pub fn all_places() -> Vec<Place> {
    let mut places = vec![Place::Station(0), Place::Station(1)];
    places.extend(Port::ALL.map(Place::Port));
    places.extend([Side::Return, Side::Supply].map(Place::Plenum));
    places
}
