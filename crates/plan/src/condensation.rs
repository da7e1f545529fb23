//! Whether the ventilator's ducts sweat, and what insulation keeps them dry.
//!
//! The ducts are taken to lie in the zone of the unit's spot, because the survey says no more. What
//! is assumed of the air around them stands in [`surroundings`].

use air::{AirError, AirState};
use house::model::{End, Job, Material, Season, Spot, Weather};
use insulation::{FOIL, InsulatedDuct, PLAIN, R_VALUE, Stream};

use crate::candidate::Plan;
use crate::case::CaseFlows;
use crate::duct_runs::Use;
use crate::installation::sensible_recovery;

/// Margin above the dew point that is asked for \[K\]; common practice, no published source.
pub const MARGIN: f64 = 0.5;

/// How much better the corrugated wall of flexible duct passes heat than a smooth one; from memory.
const CORRUGATION: f64 = 2.0;

/// Relative humidity of outdoor air on the winter design day; common practice, no published source.
const WINTER_HUMIDITY: f64 = 0.8;

/// Nominal resistances that are shown beside that of the job: bare, R-4.2, R-6, R-8.
pub const SHOWN: [f64; 4] = [0.0, 4.2 * R_VALUE, 6.0 * R_VALUE, 8.0 * R_VALUE];

/// What stopped the answer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Error {
    /// A number of the duct lies outside the formulas.
    Duct(insulation::Error),
    /// The air of a zone lies outside the formulas.
    Air(AirError),
}

impl std::fmt::Display for Error {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Duct(error) => error.fmt(formatter),
            Self::Air(error) => error.fmt(formatter),
        }
    }
}

impl std::error::Error for Error {}

impl From<insulation::Error> for Error {
    fn from(error: insulation::Error) -> Self {
        Self::Duct(error)
    }
}

impl From<AirError> for Error {
    fn from(error: AirError) -> Self {
        Self::Air(error)
    }
}

/// A jacket on a duct. Where there are two numbers, the first is for a plain jacket, the second for
/// bright foil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Jacket {
    /// Nominal resistance \[m²·K/W\].
    pub resistance: f64,
    /// Temperature of the outer surface at the coldest end \[°C\].
    pub surface: [f64; 2],
    /// The same above the dew point around it \[K\].
    pub margin: [f64; 2],
}

impl Jacket {
    /// What the margins mean.
    pub fn verdict(&self) -> Verdict {
        let least = self.margin[0].min(self.margin[1]);
        if least >= MARGIN {
            Verdict::Dry
        } else if self.margin[0] >= MARGIN {
            Verdict::DryIfPlain
        } else {
            Verdict::Sweats
        }
    }
}

/// Whether a duct stays dry outside.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Verdict {
    /// With any jacket.
    Dry,
    /// With a plain jacket, not with bright foil.
    DryIfPlain,
    /// With neither.
    Sweats,
}

/// One duct of the ventilator in one season.
#[derive(Debug, Clone, PartialEq)]
pub struct DuctSurface {
    /// Which air it carries.
    pub carries: Use,
    /// In which season.
    pub season: Season,
    /// Zone in which it lies.
    pub zone: usize,
    /// Length of its longest run \[m\].
    pub length: f64,
    /// Mass flow in one run \[kg/s\].
    pub mass_flow: f64,
    /// Temperature of its air where it enters the duct \[°C\].
    pub temperature: f64,
    /// Temperature around it \[°C\].
    pub around: f64,
    /// Dew point of the air around it \[°C\].
    pub dew_point: f64,
    /// The air in it is colder than that dew point: the jacket needs a sealed vapour retarder.
    pub seal: bool,
    /// Bare, R-4.2, R-6, R-8.
    pub jackets: [Jacket; 4],
    /// The insulation of the job.
    pub own: Jacket,
    /// Least nominal resistance that keeps [`MARGIN`] \[m²·K/W\], plain and foil; none if no jacket does.
    pub needed: [Option<f64>; 2],
    /// Temperature of the air at the end of the longest run \[°C\], with the job's insulation.
    pub after: f64,
    /// Inner wall above the dew point of the air in the duct \[K\], with the job's insulation, for
    /// house air in surroundings colder than itself; water runs inside below zero.
    pub inside_margin: Option<f64>,
}

impl DuctSurface {
    /// Whether the duct stays dry outside with the insulation of the job.
    pub fn verdict(&self) -> Verdict {
        self.own.verdict()
    }
}

/// All ducts that could sweat, in winter and summer: outdoor and exhaust air always, supply and
/// extract air where they lie outside the lived-in house.
///
/// `flows` gives the flows of the seasons, as of [`usual_flows`](crate::usual::usual_flows); a
/// season that is missing is left out. Supply and exhaust temperatures follow from the sensible
/// recovery, without the heat of condensation in the core, which would make exhaust air warmer.
///
/// # Errors
///
/// [`Error`] if a number of the job lies outside the formulas.
pub fn duct_surfaces(
    job: &Job,
    plan: &Plan,
    flows: &[CaseFlows],
) -> Result<Vec<DuctSurface>, Error> {
    let mut list = Vec::new();
    let spot = &job.spots[plan.spot];
    let inside = job.zones[spot.zone].kind.conditioned();
    for weather in &job.climate.weathers {
        if weather.season == Season::Mild {
            continue;
        }
        let Some(flows) = flows
            .iter()
            .find(|flows| flows.case.season == weather.season)
        else {
            continue;
        };
        for carries in [Use::Intake, Use::Exhaust, Use::Supply, Use::Extract] {
            if inside && matches!(carries, Use::Supply | Use::Extract) {
                continue;
            }
            list.push(duct(job, plan, flows, weather, carries)?);
        }
    }
    Ok(list)
}

/// The least distance of an outer surface above the dew point around it \[K\], of outdoor and
/// exhaust ducts in winter and summer with a plain jacket and the job's insulation; the short form
/// of [`duct_surfaces`] for comparing many plans. `None` if there are no flows.
///
/// # Errors
///
/// As [`duct_surfaces`].
pub fn least_margin(job: &Job, plan: &Plan, flows: &[&CaseFlows]) -> Result<Option<f64>, Error> {
    let mut least: Option<f64> = None;
    for weather in &job.climate.weathers {
        let of_season = flows
            .iter()
            .find(|flows| flows.case.season == weather.season);
        let Some(flows) = of_season.filter(|_| weather.season != Season::Mild) else {
            continue;
        };
        let around = surroundings(job, &job.spots[plan.spot], weather)?;
        let dew_point = around.dew_point().unwrap_or(-100.0);
        for carries in [Use::Intake, Use::Exhaust] {
            let carried = carried(job, plan, flows, weather, carries);
            let duct = InsulatedDuct::new(plan.diameter, job.ducts.insulation, PLAIN)?;
            let stream = carried.stream(job)?;
            let margin = insulation::surface(&duct, &stream, &around).temperature - dew_point;
            least = Some(least.map_or(margin, |known| known.min(margin)));
        }
    }
    Ok(least)
}

/// What one duct carries.
struct Carried {
    ends: Vec<End>,
    /// Mass flow in one run \[kg/s\].
    mass_flow: f64,
    /// Temperature where the air enters \[°C\].
    temperature: f64,
}

impl Carried {
    /// The stream with a film that passes heat as well as that of the job's duct.
    fn stream(&self, job: &Job) -> Result<Stream, Error> {
        let factor = match job.ducts.material {
            Material::Flexible => CORRUGATION,
            _ => 1.0,
        };
        Ok(Stream::new(self.temperature, self.mass_flow)?.with_film_factor(factor)?)
    }
}

fn carried(job: &Job, plan: &Plan, flows: &CaseFlows, weather: &Weather, carries: Use) -> Carried {
    let recovery = sensible_recovery(&job.units[plan.unit], weather.outdoor);
    let span = weather.indoor - weather.outdoor;
    let terminal = |index| vec![End::Terminal(index)];
    let (ends, flow, temperature) = match carries {
        Use::Intake => (terminal(plan.intake), flows.supply, weather.outdoor),
        Use::Exhaust => (
            terminal(plan.exhaust),
            flows.extract,
            weather.indoor - recovery * span,
        ),
        Use::Supply => (
            plan.supply.clone(),
            flows.supply,
            weather.outdoor + recovery * span,
        ),
        Use::Extract => (plan.extract.clone(), flows.extract, weather.indoor),
    };
    Carried {
        mass_flow: flow.abs() / ends.len().max(1) as f64,
        ends,
        temperature,
    }
}

fn duct(
    job: &Job,
    plan: &Plan,
    flows: &CaseFlows,
    weather: &Weather,
    carries: Use,
) -> Result<DuctSurface, Error> {
    let spot = &job.spots[plan.spot];
    let carried_air = carried(job, plan, flows, weather, carries);
    let Carried {
        ref ends,
        mass_flow,
        temperature,
    } = carried_air;
    let length = spot
        .runs
        .iter()
        .filter(|run| ends.contains(&run.to))
        .map(|run| run.length)
        .fold(0.0, f64::max);
    let around = surroundings(job, spot, weather)?;
    // A film that passes heat well makes the outside colder but the wall inside warmer: each is
    // judged on the safe side.
    let smooth = Stream::new(temperature, mass_flow)?;
    let stream = carried_air.stream(job)?;
    let at = |resistance: f64, emissivity: f64| -> Result<insulation::Surface, Error> {
        let duct = InsulatedDuct::new(plan.diameter, resistance, emissivity)?;
        Ok(insulation::surface(&duct, &stream, &around))
    };
    let dew_point = around.dew_point().unwrap_or(-100.0);
    let jacket = |resistance: f64| -> Result<Jacket, Error> {
        let surface = [
            at(resistance, PLAIN)?.temperature,
            at(resistance, FOIL)?.temperature,
        ];
        Ok(Jacket {
            resistance,
            surface,
            margin: surface.map(|surface| surface - dew_point),
        })
    };
    let needed = |emissivity: f64| {
        insulation::needed_resistance(plan.diameter, emissivity, &stream, &around, MARGIN)
    };
    let own = at(job.ducts.insulation, PLAIN)?;
    let own_duct = InsulatedDuct::new(plan.diameter, job.ducts.insulation, PLAIN)?;
    let wall = insulation::surface(&own_duct, &smooth, &around).wall;
    let house_air = matches!(carries, Use::Extract | Use::Supply);
    let inside_margin = if house_air && around.temperature() < temperature {
        indoor_air(job, weather)?
            .dew_point()
            .map(|dew_point| wall - dew_point.min(temperature))
    } else {
        None
    };
    let [bare, thin, usual, thick] = SHOWN;
    Ok(DuctSurface {
        carries,
        season: weather.season,
        zone: spot.zone,
        length,
        mass_flow,
        temperature,
        around: around.temperature(),
        dew_point,
        seal: temperature < dew_point,
        jackets: [jacket(bare)?, jacket(thin)?, jacket(usual)?, jacket(thick)?],
        own: jacket(job.ducts.insulation)?,
        needed: [needed(PLAIN)?, needed(FOIL)?],
        after: insulation::temperature_after(&own, &stream, around.temperature(), length)?,
        inside_margin,
    })
}

/// Air of the rooms in a season.
fn indoor_air(job: &Job, weather: &Weather) -> Result<AirState, AirError> {
    let humidity = match weather.season {
        Season::Summer => job.climate.humidity.indoor_summer,
        _ => job.climate.humidity.indoor_winter,
    };
    AirState::from_relative_humidity(
        weather.indoor,
        humidity,
        air::standard_pressure(job.building.altitude),
    )
}

/// The air around the ducts at a spot.
///
/// In the lived-in house it has the moisture of the rooms; in winter it is as cold as the spot gets.
/// Outside it has the moisture of outdoor air: in winter 80 % relative humidity at the outdoor
/// temperature, and the air is as cold as the spot gets; in summer the dew point of the job, and the
/// air is no warmer than outdoors, when condensation is likelier. Air is never more than saturated.
pub fn surroundings(job: &Job, spot: &Spot, weather: &Weather) -> Result<AirState, AirError> {
    let pressure = air::standard_pressure(job.building.altitude);
    let summer = weather.season == Season::Summer;
    let (temperature, dew_point) = if job.zones[spot.zone].kind.conditioned() {
        let room = indoor_air(job, weather)?;
        let temperature = if summer {
            weather.indoor
        } else {
            weather.indoor.min(spot.coldest)
        };
        (temperature, room.dew_point())
    } else if summer {
        let dew_point = job.climate.humidity.summer_dew_point;
        (
            weather.outdoor.min(spot.warmest).max(dew_point),
            Some(dew_point),
        )
    } else {
        let outdoors =
            AirState::from_relative_humidity(weather.outdoor, WINTER_HUMIDITY, pressure)?;
        (weather.outdoor.max(spot.coldest), outdoors.dew_point())
    };
    AirState::from_dew_point(
        temperature,
        dew_point.unwrap_or(-100.0).min(temperature),
        pressure,
    )
}
