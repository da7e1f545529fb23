//! The uncertain numbers behind a prediction, and how they are drawn.
//!
//! A survey number has a best value and a standard deviation. [`Parameters`] lists every uncertain
//! number that the network of a job uses, each with the words for it and the way to measure it
//! better; [`Parameters::draw`] turns one independent standard-normal score per parameter into the
//! [`Inputs`] of one possible house. All scores zero give the best values.

use house::model::{BlowerKind, Estimate, Job, Mode};

/// The numbers of one possible house that the survey does not know exactly (SI).
#[derive(Debug, Clone, PartialEq)]
pub struct Inputs {
    /// Leakage flow of the envelope at 50 Pa (m³/s).
    pub leakage_at_50_pascals: f64,
    /// Exponent of the envelope's leakage.
    pub leakage_exponent: f64,
    /// Readings per blower mode, in the order of the job.
    pub modes: Vec<ModeReadings>,
    /// Relative loss of blower flow per pascal of added pressure (1/Pa).
    pub blower_flow_loss: f64,
    /// Resistance of the standing blower (Pa/(m³/s)²).
    pub idle_blower_resistance: f64,
    /// Pressure drop of the filter at the flow of the first mode with pressures (Pa).
    pub filter_pressure_drop: f64,
    /// Part of the return's pressure drop at grilles and branches.
    pub return_branch_share: f64,
    /// Part of the supply's pressure drop at registers and branches.
    pub supply_branch_share: f64,
    /// Return leakage as a part of the blower flow.
    pub return_leakage: f64,
    /// Supply leakage as a part of the blower flow.
    pub supply_leakage: f64,
    /// Measured pressure at each tap (Pa), where there is one.
    pub tap_pressures: Vec<Option<f64>>,
    /// Compression of flexible duct, 0 to 0.5.
    pub compression: f64,
    /// Loss coefficient of each terminal.
    pub terminal_losses: Vec<f64>,
    /// Loss coefficient of each grille.
    pub grille_losses: Vec<f64>,
    /// Part of the velocity pressure of the main that an elbow facing downstream gains.
    pub wake: f64,
    /// Flow of the delivered unit's supply fan over the catalogue's.
    pub supply_fan_factor: f64,
    /// Flow of the delivered unit's extract fan over the catalogue's.
    pub extract_fan_factor: f64,
    /// Resistance of the outdoor, supply, extract and exhaust ducts as they were built over that
    /// of the survey. A survey knows nothing of it (all 1, and no parameter); readings can.
    pub duct_factors: [f64; 4],
}

/// Readings in one blower mode.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ModeReadings {
    /// Which mode.
    pub mode: Mode,
    /// Blower flow at standard density (m³/s).
    pub flow: f64,
    /// Return plenum static pressure (Pa).
    pub return_pressure: Option<f64>,
    /// Supply plenum static pressure (Pa).
    pub supply_pressure: Option<f64>,
}

/// One uncertain number.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameter {
    /// What it is, in the trade's words.
    pub name: String,
    /// How the contractor could know it better, as an instruction.
    pub remedy: String,
    /// Best value (SI).
    pub value: f64,
    /// Standard deviation (SI).
    pub deviation: f64,
    /// Standard deviation left after the remedy (SI).
    pub deviation_after: f64,
    /// Only the installed unit itself can tell, on the day.
    pub known_on_the_day: bool,
    /// Bounds of what is possible (SI).
    bounds: [f64; 2],
    slot: Slot,
}

/// Which of the [`Inputs`] a parameter is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slot {
    /// Leakage of the house.
    Leakage,
    /// Its exponent.
    Exponent,
    /// Blower flow in a mode of the job.
    Flow(usize),
    /// Return plenum pressure in a mode.
    ReturnPressure(usize),
    /// Supply plenum pressure in a mode.
    SupplyPressure(usize),
    /// Loss of blower flow with pressure.
    BlowerFlowLoss,
    /// Resistance of the standing blower.
    IdleBlower,
    /// Filter of the air handler.
    Filter,
    /// Part of the return's loss at its branches.
    ReturnBranchShare,
    /// Part of the supply's loss at its branches.
    SupplyBranchShare,
    /// Leakage of the return.
    ReturnLeakage,
    /// Leakage of the supply.
    SupplyLeakage,
    /// Measured pressure at a tap of the job.
    TapPressure(usize),
    /// Compression of flexible duct.
    Compression,
    /// Loss of a terminal of the job.
    Terminal(usize),
    /// Loss of a grille of the job.
    Grille(usize),
    /// Gain of an elbow facing downstream.
    Wake,
    /// The unit's supply fan.
    SupplyFan,
    /// The unit's extract fan.
    ExtractFan,
}

impl Parameter {
    /// Which of the inputs it is.
    pub fn slot(&self) -> Slot {
        self.slot
    }
}

/// Every uncertain number of a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameters {
    list: Vec<Parameter>,
    best: Inputs,
}

/// Relative loss of blower flow per pascal of added pressure (1/Pa) and its log-deviation.
///
/// A speed tap loses about 10 % of its flow per added 0.1 inWC (common practice, no published
/// source); a motor that holds torque about half of that (from memory); with readings alone the
/// value lies between, known badly.
pub fn blower_flow_loss(kind: BlowerKind) -> (f64, f64) {
    match kind {
        BlowerKind::FixedSpeedTap => (0.004, 0.3),
        BlowerKind::ConstantTorque => (0.002, 0.3),
        BlowerKind::ConstantAirflow => (0.0002, 0.5),
        BlowerKind::AsMeasured => (0.003, 0.5),
    }
}

/// Resistance of a standing furnace blower (Pa/(m³/s)²), 40 to 150, from memory.
const IDLE_BLOWER_RESISTANCE: f64 = 80.0;
/// Gain of an elbow facing downstream, 0.4 ± 0.2 of the velocity pressure, from memory.
const WAKE: f64 = 0.4;
/// Spread between a delivered unit and its certified curve, from memory.
const FAN_SPREAD: f64 = 0.03;

impl Parameters {
    /// Lists the uncertain numbers of a job.
    pub fn new(job: &Job) -> Self {
        let mut list = Vec::new();
        let building = &job.building;
        let mut add =
            |slot, name: String, remedy: &str, estimate: &Estimate, after: f64, bounds| {
                list.push(Parameter {
                    name,
                    remedy: remedy.to_owned(),
                    value: estimate.value,
                    deviation: estimate.deviation,
                    deviation_after: after.min(estimate.deviation),
                    known_on_the_day: matches!(slot, Slot::SupplyFan | Slot::ExtractFan),
                    bounds,
                    slot,
                });
            };
        let positive = [1e-9, f64::INFINITY];
        let leakage = &building.leakage_at_50_pascals;
        add(
            Slot::Leakage,
            "leakage of the house".into(),
            "run a blower-door test",
            leakage,
            0.03 * leakage.value,
            positive,
        );
        add(
            Slot::Exponent,
            "exponent of the house's leakage".into(),
            "run the blower door at several pressures",
            &building.leakage_exponent,
            0.02,
            [0.5, 1.0],
        );
        let mut modes = Vec::new();
        let mut filter = 0.0;
        let mut shares = [0.0, 0.0];
        let mut leakages = [0.0, 0.0];
        let mut flow_loss = 0.003;
        if let Some(handler) = &job.air_handler {
            for (index, mode) in handler.modes.iter().enumerate() {
                let word = mode.mode.name();
                add(
                    Slot::Flow(index),
                    format!("blower flow in {word}"),
                    "measure the blower flow with a flow plate or a traverse",
                    &mode.flow,
                    0.025 * mode.flow.value,
                    positive,
                );
                if let Some(pressure) = &mode.return_pressure {
                    add(
                        Slot::ReturnPressure(index),
                        format!("return plenum pressure in {word}"),
                        "read the static pressure in the return plenum again, between filter and blower",
                        pressure,
                        0.5_f64.max(0.01 * pressure.value.abs()),
                        [f64::NEG_INFINITY, -0.1],
                    );
                }
                if let Some(pressure) = &mode.supply_pressure {
                    add(
                        Slot::SupplyPressure(index),
                        format!("supply plenum pressure in {word}"),
                        "read the static pressure in the supply plenum again",
                        pressure,
                        0.5_f64.max(0.01 * pressure.value.abs()),
                        [0.1, f64::INFINITY],
                    );
                }
                modes.push(ModeReadings {
                    mode: mode.mode,
                    flow: mode.flow.value,
                    return_pressure: mode.return_pressure.as_ref().map(|p| p.value),
                    supply_pressure: mode.supply_pressure.as_ref().map(|p| p.value),
                });
            }
            let (loss, log_deviation) = blower_flow_loss(handler.blower);
            flow_loss = loss;
            add(
                Slot::BlowerFlowLoss,
                "how much blower flow a little more pressure costs".into(),
                "measure flow and pressures once more with the filter slot half covered",
                &Estimate::default(loss, loss * log_deviation, "by the kind of motor"),
                0.15 * loss,
                positive,
            );
            add(
                Slot::IdleBlower,
                "resistance of the standing blower".into(),
                "no simple reading tells it",
                &Estimate::default(
                    IDLE_BLOWER_RESISTANCE,
                    0.4 * IDLE_BLOWER_RESISTANCE,
                    "from memory, 40 to 150",
                ),
                f64::INFINITY,
                positive,
            );
            let drop = &handler.filter_pressure_drop;
            filter = drop.value;
            add(
                Slot::Filter,
                "pressure drop of the filter".into(),
                "read the static pressure before and after the filter",
                drop,
                0.7_f64.max(0.02 * drop.value),
                [0.0, f64::INFINITY],
            );
            for (side, path, share_slot, leakage_slot) in [
                (
                    "return",
                    &handler.return_path,
                    Slot::ReturnBranchShare,
                    Slot::ReturnLeakage,
                ),
                (
                    "supply",
                    &handler.supply_path,
                    Slot::SupplyBranchShare,
                    Slot::SupplyLeakage,
                ),
            ] {
                add(
                    share_slot,
                    format!("where along the {side} its pressure is lost"),
                    "read the static pressure at the place of the tap, before cutting",
                    &path.branch_share,
                    0.03,
                    [0.0, 0.95],
                );
                add(
                    leakage_slot,
                    format!("leakage of the {side} ducts"),
                    "run a duct leakage test",
                    &path.leakage,
                    0.01,
                    [0.0, 0.5],
                );
            }
            shares = [
                handler.return_path.branch_share.value,
                handler.supply_path.branch_share.value,
            ];
            leakages = [
                handler.return_path.leakage.value,
                handler.supply_path.leakage.value,
            ];
        }
        let mut tap_pressures = Vec::new();
        for (index, tap) in job.taps.iter().enumerate() {
            if let Some((mode, pressure)) = &tap.pressure {
                add(
                    Slot::TapPressure(index),
                    format!("static pressure at {} in {}", tap.name, mode.name()),
                    "read it again with the manometer zeroed",
                    pressure,
                    0.5,
                    [f64::NEG_INFINITY, f64::INFINITY],
                );
            }
            tap_pressures.push(tap.pressure.as_ref().map(|(_, pressure)| pressure.value));
        }
        add(
            Slot::Compression,
            "how far the flexible duct is pushed together".into(),
            "pull the flexible duct tight and cut it to length",
            &job.ducts.compression,
            0.015,
            [0.0, 0.5],
        );
        for (index, terminal) in job.terminals.iter().enumerate() {
            add(
                Slot::Terminal(index),
                format!("loss of the hood at {}", terminal.name),
                "take the hood's pressure drop from its maker's sheet",
                &terminal.loss,
                0.15 * terminal.loss.value,
                [0.0, f64::INFINITY],
            );
        }
        for (index, grille) in job.grilles.iter().enumerate() {
            add(
                Slot::Grille(index),
                format!("loss of the grille {}", grille.name),
                "take the grille's pressure drop from its maker's sheet",
                &grille.loss,
                0.15 * grille.loss.value,
                [0.0, f64::INFINITY],
            );
        }
        add(
            Slot::Wake,
            "what an elbow facing downstream gains".into(),
            "read the pressure in the elbow's mouth with the blower running",
            &Estimate::default(WAKE, 0.2, "from memory"),
            0.1,
            [-0.2, 1.0],
        );
        for (slot, name) in [(Slot::SupplyFan, "supply"), (Slot::ExtractFan, "extract")] {
            add(
                slot,
                format!("the unit's {name} fan against its certified curve"),
                "read the unit's own stations on the day",
                &Estimate::default(1.0, FAN_SPREAD, "from memory"),
                0.02,
                positive,
            );
        }
        let best = Inputs {
            leakage_at_50_pascals: building.leakage_at_50_pascals.value,
            leakage_exponent: building.leakage_exponent.value,
            modes,
            blower_flow_loss: flow_loss,
            idle_blower_resistance: IDLE_BLOWER_RESISTANCE,
            filter_pressure_drop: filter,
            return_branch_share: shares[0],
            supply_branch_share: shares[1],
            return_leakage: leakages[0],
            supply_leakage: leakages[1],
            tap_pressures,
            compression: job.ducts.compression.value,
            terminal_losses: job
                .terminals
                .iter()
                .map(|terminal| terminal.loss.value)
                .collect(),
            grille_losses: job.grilles.iter().map(|grille| grille.loss.value).collect(),
            wake: WAKE,
            supply_fan_factor: 1.0,
            extract_fan_factor: 1.0,
            duct_factors: [1.0; 4],
        };
        Self { list, best }
    }

    /// The parameters, in the order of the scores.
    pub fn list(&self) -> &[Parameter] {
        &self.list
    }

    /// The best values.
    pub fn best(&self) -> &Inputs {
        &self.best
    }

    /// The house that belongs to one standard-normal score per parameter.
    ///
    /// Numbers that are positive by nature follow a log-normal law with the given deviation,
    /// pressures and parts a normal law cut at what is possible.
    pub fn draw(&self, scores: &[f64]) -> Inputs {
        let mut inputs = self.best.clone();
        for (parameter, score) in self.list.iter().zip(scores) {
            if parameter.deviation <= 0.0 {
                continue;
            }
            let log_normal = parameter.bounds[0] >= 0.0
                && parameter.bounds[1] == f64::INFINITY
                && parameter.value > 0.0;
            let value = if log_normal {
                // Same median and the same deviation to first order.
                parameter.value * (parameter.deviation / parameter.value * score).exp()
            } else {
                parameter.value + parameter.deviation * score
            };
            parameter.slot.write(
                &mut inputs,
                value.clamp(parameter.bounds[0], parameter.bounds[1]),
            );
        }
        inputs
    }
}

impl Slot {
    fn write(self, inputs: &mut Inputs, value: f64) {
        match self {
            Slot::Leakage => inputs.leakage_at_50_pascals = value,
            Slot::Exponent => inputs.leakage_exponent = value,
            Slot::Flow(mode) => inputs.modes[mode].flow = value,
            Slot::ReturnPressure(mode) => inputs.modes[mode].return_pressure = Some(value),
            Slot::SupplyPressure(mode) => inputs.modes[mode].supply_pressure = Some(value),
            Slot::BlowerFlowLoss => inputs.blower_flow_loss = value,
            Slot::IdleBlower => inputs.idle_blower_resistance = value,
            Slot::Filter => inputs.filter_pressure_drop = value,
            Slot::ReturnBranchShare => inputs.return_branch_share = value,
            Slot::SupplyBranchShare => inputs.supply_branch_share = value,
            Slot::ReturnLeakage => inputs.return_leakage = value,
            Slot::SupplyLeakage => inputs.supply_leakage = value,
            Slot::TapPressure(tap) => inputs.tap_pressures[tap] = Some(value),
            Slot::Compression => inputs.compression = value,
            Slot::Terminal(terminal) => inputs.terminal_losses[terminal] = value,
            Slot::Grille(grille) => inputs.grille_losses[grille] = value,
            Slot::Wake => inputs.wake = value,
            Slot::SupplyFan => inputs.supply_fan_factor = value,
            Slot::ExtractFan => inputs.extract_fan_factor = value,
        }
    }
}
