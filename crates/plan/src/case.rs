//! Operating cases and what flows in them.

use house::model::{End, Interlock, Job, Mode, Season, Setting};

/// Wind at eaves height.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wind {
    /// Speed (m/s).
    pub speed: f64,
    /// Where it blows from, degrees clockwise from north.
    pub from: f64,
}

/// One blower mode, one ventilator setting, one condition of weather.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OperatingCase {
    /// Blower mode.
    pub blower: Mode,
    /// Ventilator setting.
    pub setting: Setting,
    /// Condition of weather.
    pub season: Season,
    /// Wind, if it blows.
    pub wind: Option<Wind>,
}

/// Air in one room.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoomAir {
    /// Index into the job's zones.
    pub zone: usize,
    /// Outdoor air that reaches this room first, from the ventilator and through leaks (kg/s).
    pub outdoor_air: f64,
    /// That over all air that enters the room from outdoors, ducts and other rooms, 0 to 1.
    pub outdoor_share: f64,
    /// Mean age of the air in the room (s).
    pub age: f64,
}

/// What flows in one operating case. Mass flows are positive in the usual direction.
#[derive(Debug, Clone, PartialEq)]
pub struct CaseFlows {
    /// The case.
    pub case: OperatingCase,
    /// Supply air from the unit, gross (kg/s).
    pub supply: f64,
    /// Extract air into the unit and on as exhaust air, gross (kg/s).
    pub extract: f64,
    /// Part of the supply air that leaves through the extract without having passed a room, 0 to 1.
    pub short_circuit: f64,
    /// Outdoor air that the ventilator delivers to rooms: gross supply less what leaks across
    /// inside the unit and what short-circuits (kg/s).
    pub delivered: f64,
    /// Pressure of each conditioned zone against outdoors at grade (Pa), zone index first.
    pub zone_pressures: Vec<(usize, f64)>,
    /// Flow through the blower (kg/s).
    pub blower_flow: f64,
    /// Return and supply plenum against the zone where the air handler stands (Pa).
    pub plenums: Option<[f64; 2]>,
    /// Static pressure at the outdoor, supply, extract and exhaust port against that zone (Pa).
    pub ports: [f64; 4],
    /// External static pressure of the supply and of the extract stream (Pa).
    pub external_static_pressure: [f64; 2],
    /// Largest external static pressure of the certified curve at this setting (Pa).
    pub certified_pressure: f64,
    /// Velocity in the outdoor, supply, extract and exhaust duct (m/s); the fastest where several
    /// ducts meet a port.
    pub velocities: [f64; 4],
    /// Air in each conditioned zone.
    pub rooms: Vec<RoomAir>,
    /// Largest mass imbalance of a node (kg/s).
    pub residual: f64,
}

/// What a house draws or loses elsewhere than through the unit, and how the ducts share a stream, in
/// one operating case. Mass flows in kg/s.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Branches {
    /// Through the duct to each tap, grille and terminal of the plan, positive in the usual direction.
    pub ends: Vec<(End, f64)>,
    /// Through leaks between each zone and outdoors.
    pub leaks: Vec<Leaks>,
    /// Other exhausts that run.
    pub exhausts: Vec<Exhausted>,
}

/// An exhaust other than the ventilator that runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Exhausted {
    /// Its name.
    pub name: String,
    /// Index of the zone from which it draws.
    pub zone: usize,
    /// What it draws (kg/s).
    pub flow: f64,
}

/// Air through the leaks between a zone and outdoors (kg/s).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leaks {
    /// Index into the job's zones.
    pub zone: usize,
    /// Air that comes in.
    pub inward: f64,
    /// Air that goes out.
    pub outward: f64,
}

impl CaseFlows {
    /// Balance by mass: (supply − exhaust) over the larger of the two; zero when nothing flows.
    pub fn balance(&self) -> f64 {
        balance(self.supply, self.extract)
    }

    /// The lowest pressure of a conditioned zone (Pa).
    pub fn house_pressure(&self) -> f64 {
        self.zone_pressures
            .iter()
            .map(|&(_, pressure)| pressure)
            .fold(f64::INFINITY, f64::min)
    }

    /// The fastest air in the ventilator's ducts (m/s).
    pub fn fastest(&self) -> f64 {
        self.velocities.iter().copied().fold(0.0, f64::max)
    }
}

/// Balance by mass of two streams (kg/s): (supply − exhaust) over the larger of the two.
pub fn balance(supply: f64, exhaust: f64) -> f64 {
    let larger = supply.abs().max(exhaust.abs());
    if larger < 1e-6 {
        0.0
    } else {
        (supply - exhaust) / larger
    }
}

/// The blower modes that a house has: off, and every mode that was measured.
pub fn blower_modes(job: &Job) -> Vec<Mode> {
    let mut modes = vec![Mode::Off];
    if let Some(handler) = &job.air_handler {
        modes.extend(handler.modes.iter().map(|mode| mode.mode));
    }
    modes.sort();
    modes
}

/// The blower modes in which a ventilator with this interlock runs.
pub fn running_modes(job: &Job, interlock: Interlock) -> Vec<Mode> {
    let modes = blower_modes(job);
    match interlock {
        Interlock::None => modes,
        Interlock::VentilatorCallsBlower => {
            let running: Vec<_> = modes
                .iter()
                .copied()
                .filter(|&mode| mode != Mode::Off)
                .collect();
            if running.is_empty() { modes } else { running }
        }
        Interlock::OnlyWithBlower => modes
            .into_iter()
            .filter(|mode| matches!(mode, Mode::Heating | Mode::Cooling))
            .collect(),
    }
}

/// The mode in which the blower runs when the ventilator calls it: low, or the gentlest measured.
pub fn called_mode(job: &Job) -> Mode {
    let handler = job.air_handler.as_ref();
    handler
        .and_then(|handler| {
            handler
                .modes
                .iter()
                .min_by(|a, b| a.flow.value.total_cmp(&b.flow.value))
        })
        .map_or(Mode::Off, |mode| mode.mode)
}

/// The running blower mode in which a ventilator with this interlock spends most of its time, if it
/// runs at all. Hours in which the blower stands count for the mode that is then in force.
pub fn usual_mode(job: &Job, interlock: Interlock) -> Option<Mode> {
    let share = |mode: Mode| {
        job.air_handler
            .as_ref()
            .and_then(|handler| handler.modes.iter().find(|known| known.mode == mode))
            .map_or(0.0, |known| known.run_share)
    };
    let standing = 1.0 - Mode::ALL.into_iter().map(share).sum::<f64>();
    let at_rest = match interlock {
        Interlock::None => Mode::Off,
        _ => called_mode(job),
    };
    running_modes(job, interlock)
        .into_iter()
        .map(|mode| {
            (
                mode,
                share(mode) + if mode == at_rest { standing } else { 0.0 },
            )
        })
        .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))
        .map(|(mode, _)| mode)
}
