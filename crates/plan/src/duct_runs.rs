//! The ventilator's own ducts, from the survey's lengths and elbows to resistances.
//!
//! Network nodes are static pressures. So a duct that draws from still air or from the side of a
//! main also pays one velocity pressure for setting its air in motion, and a duct that delivers
//! pays nothing at its mouth beyond what its terminal takes, because it keeps that velocity
//! pressure until then.

use crate::candidate::Plan;
use crate::inputs::Inputs;
use ducts::tap::{EndLoss, TapEnd, losses_between};
use ducts::{ButterflyDamper, Elbow, Error, MainTap, Run, Section, flexible, terminal, transition};
use house::model::{End, Entry, Job, Material, Segment};

/// Density and viscosity of air at a temperature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirState {
    /// Density (kg/m³).
    pub density: f64,
    /// Dynamic viscosity (Pa·s).
    pub viscosity: f64,
}

impl AirState {
    /// Dry air at a temperature (°C) and pressure (Pa); moisture changes indoor densities by less
    /// than one per cent and is left out.
    pub fn new(temperature: f64, pressure: f64) -> Self {
        Self {
            density: air::density(temperature, 0.0, pressure),
            viscosity: air::viscosity(temperature),
        }
    }
}

/// What a duct of the ventilator is for, in the order of the unit's ports.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Use {
    /// From outdoors to the unit.
    Intake,
    /// From the unit to the house.
    Supply,
    /// From the house to the unit.
    Extract,
    /// From the unit to outdoors.
    Exhaust,
}

/// Reynolds number at which elbows are taken (100 cfm in a 6 in duct).
const ELBOW_REYNOLDS: f64 = 3e4;
/// Centreline radius of elbows by their diameter.
const ELBOW_RADIUS: f64 = 1.5;
/// Included angle of the reducers at the unit's ports (°).
const REDUCER_ANGLE: f64 = 30.0;
/// Length of a duct to an end for which the survey gave none: the plan is refused before, this
/// only keeps the physics defined (m).
const UNKNOWN_LENGTH: f64 = 3.0;

/// The duct between the unit and one end, with elbows, terminal, reducers and open damper losses.
pub fn ventilator_run(
    job: &Job,
    plan: &Plan,
    inputs: &Inputs,
    end: End,
    purpose: Use,
) -> Result<Run, Error> {
    let survey = job.spots[plan.spot].runs.iter().find(|run| run.to == end);
    let (length, elbows) = survey.map_or((UNKNOWN_LENGTH, 2), |run| (run.length, run.elbows));
    let section = Section::round(plan.diameter)?;
    let mut fittings = f64::from(elbows) * elbow_loss(job.ducts.material, plan.diameter)?;
    fittings += reducer_loss(
        plan.diameter,
        job.units[plan.unit].port_diameter,
        matches!(purpose, Use::Intake | Use::Extract),
    )?;
    let far_end = match end {
        End::Terminal(index) => hood(inputs.terminal_losses[index])?,
        End::Grille(index) => hood(inputs.grille_losses[index])?,
        End::Tap(_) => EndLoss::main(terminal::flush_entry().coefficient)?,
    };
    if matches!(end, End::Tap(_)) && purpose == Use::Supply && plan.entry == Entry::FacingDownstream
    {
        // The elbow inside the main is one more elbow of the run.
        fittings += elbow_loss(job.ducts.material, plan.diameter)?;
    }
    // The run lies in the usual direction of its air; the unit's port is a collar.
    let losses = match purpose {
        Use::Intake | Use::Extract => {
            losses_between(far_end, (fittings, fittings), EndLoss::collar())
        }
        Use::Supply | Use::Exhaust => {
            losses_between(EndLoss::collar(), (fittings, fittings), far_end)
        }
    };
    run(
        job.ducts.material,
        section,
        plan.diameter,
        length.max(0.1),
        inputs.compression,
    )?
    .with_losses(losses.0, losses.1)?
    .with_resistance_factor(inputs.duct_factors[purpose as usize])
}

/// A hood or grille in front of still air. Its coefficient holds in both directions; in the outward
/// direction it contains the discharge.
fn hood(loss: f64) -> Result<EndLoss, Error> {
    EndLoss::still_air(loss, loss.max(1.0))
}

/// Drives of a tap from the last flows (Pa): on the branch, and on the main after the tap.
///
/// The branch of a supply duct that faces downstream feels less than the main's static pressure;
/// the main's own static pressure changes where air joins or leaves it. Air that runs against its
/// usual direction gets no drive.
pub fn tap_drives(
    tap: &MainTap,
    flows: TapFlows,
    joins: bool,
    entry: Entry,
    wake: f64,
    density: f64,
) -> [f64; 2] {
    let main = flows.main.max(0.0);
    let branch = flows.branch.max(0.0);
    if joins {
        let gain = match entry {
            Entry::Flush => -TapEnd::Flush.offset(main / flows.main_area, density),
            Entry::FacingDownstream => {
                wake * ducts::section::velocity_pressure(main / flows.main_area, density)
            }
        };
        [gain, tap.pressure_change_joining(main, branch, density)]
    } else {
        [
            0.0,
            tap.pressure_change_leaving(main, branch.min(main), density),
        ]
    }
}

/// Flows at a tap.
#[derive(Debug, Clone, Copy)]
pub struct TapFlows {
    /// In the main before the tap (m³/s).
    pub main: f64,
    /// In the branch (m³/s).
    pub branch: f64,
    /// Area of the main (m²).
    pub main_area: f64,
}

/// Geometry of a tap: a jet that faces downstream runs along the main, a flush one square to it.
pub fn main_tap(main_area: f64, branch_area: f64, entry: Entry) -> Result<MainTap, Error> {
    let angle = match entry {
        Entry::Flush => 90.0,
        Entry::FacingDownstream => 0.0,
    };
    MainTap::new(main_area, branch_area, angle)
}

/// An outdoor duct that leads straight into the return, flexible, with a hood.
pub fn outdoor_duct(diameter: f64, length: f64, compression: f64) -> Result<Run, Error> {
    let hood = hood(terminal::WallHood::Intake.loss().coefficient)?;
    let main = EndLoss::main(terminal::flush_entry().coefficient)?;
    let losses = losses_between(hood, (0.0, 0.0), main);
    run(
        Material::Flexible,
        Section::round(diameter)?,
        diameter,
        length.max(0.1),
        compression,
    )?
    .with_losses(losses.0, losses.1)
}

/// A drawn part of a trunk.
pub fn segment_run(segment: &Segment) -> Result<Run, Error> {
    let section = match segment.section {
        house::model::Section::Round(diameter) => Section::round(diameter)?,
        house::model::Section::Rectangular(width, depth) => Section::rectangular(width, depth)?,
    };
    let diameter = section.hydraulic_diameter();
    run(
        segment.material,
        section,
        diameter,
        segment.length.max(0.01),
        flexible::Stretch::AsFound.compression(),
    )?
    .with_losses(segment.loss, segment.loss)
}

/// The same run with a balancing damper at an angle (°), 0 open.
pub fn with_damper(run: Run, damper: &ButterflyDamper, angle: f64) -> Run {
    let loss = damper.loss(angle.clamp(0.0, 90.0)).unwrap_or(0.0);
    run.with_losses(run.loss_forward() + loss, run.loss_reverse() + loss)
        .unwrap_or(run)
}

fn run(
    material: Material,
    section: Section,
    diameter: f64,
    length: f64,
    compression: f64,
) -> Result<Run, Error> {
    let run = Run::new(section, length, duct_material(material).roughness())?;
    match material {
        Material::Flexible => {
            run.with_friction_multiplier(flexible::compression_factor(diameter, compression)?)
        }
        _ => Ok(run),
    }
}

fn duct_material(material: Material) -> ducts::Material {
    match material {
        Material::Galvanised => ducts::Material::Galvanised,
        Material::SmoothPlastic => ducts::Material::SmoothPlastic,
        Material::SemiRigid => ducts::Material::SemiRigid,
        Material::Flexible => ducts::Material::Flexible,
    }
}

fn elbow_loss(material: Material, diameter: f64) -> Result<f64, Error> {
    let loss = match material {
        Material::Galvanised => Elbow::DieStamped {
            diameter: diameter.max(0.075),
        }
        .loss(90.0, ELBOW_REYNOLDS)?,
        Material::SmoothPlastic => Elbow::Smooth {
            radius_ratio: ELBOW_RADIUS,
        }
        .loss(90.0, ELBOW_REYNOLDS)?,
        Material::SemiRigid => Elbow::SemiRigid {
            radius_ratio: ELBOW_RADIUS,
        }
        .loss(90.0, ELBOW_REYNOLDS)?,
        Material::Flexible => flexible::bend_loss(diameter.max(0.1), ELBOW_RADIUS, 90.0)?,
    };
    Ok(loss.coefficient)
}

/// Loss of the reducer between a duct and a port, on the velocity in the duct.
fn reducer_loss(duct: f64, port: f64, into_unit: bool) -> Result<f64, Error> {
    let (duct_area, port_area) = (duct * duct, port * port);
    let (from, to) = if into_unit {
        (duct_area, port_area)
    } else {
        (port_area, duct_area)
    };
    if (from - to).abs() < 1e-9 {
        return Ok(0.0);
    }
    let small = from.min(to);
    let loss = if from > to {
        transition::contraction(to / from, REDUCER_ANGLE)?
    } else {
        transition::expansion(from / to, REDUCER_ANGLE)?
    };
    Ok(loss.on_area(small, duct_area)?.coefficient)
}
