//! Air through the leaks of the house by the two published single-zone models, beside what the
//! network itself finds.

use house::model::{Job, Mode, Season, Setting, Venting, ZoneKind};
use rules::infiltration::{Foundation, PowerLaw, basic, eaves_factor, enhanced, shelter_factor};

use crate::case::{OperatingCase, Wind};
use crate::flows::FlowsError;
use crate::inputs::Parameters;
use crate::installation::{Exhausts, Household, Installation};

/// Directions from which the wind blows in turn; their mean is compared, since the models know no
/// direction (°).
const DIRECTIONS: usize = 8;

/// Infiltration of the house as found in one weather, ventilator, blower and exhausts standing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Infiltration {
    /// The weather.
    pub season: Season,
    /// Indoors less outdoors (K).
    pub difference: f64,
    /// Unsheltered wind at eaves height (m/s), zero in calm.
    pub wind: f64,
    /// By the network (m³/s of outdoor air at its own density).
    pub network: f64,
    /// By the basic model (m³/s).
    pub basic: f64,
    /// By the enhanced model, no flue (m³/s).
    pub enhanced: f64,
    /// By the enhanced model with an open flue, where the house has one (m³/s).
    pub with_flue: Option<f64>,
}

/// The comparison with what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Calm and windy, for winter, a mild day and summer.
    pub lines: Vec<Infiltration>,
    /// Leakage of the envelope.
    pub leakage: PowerLaw,
    /// Storeys by which the tables of the models were read, 1 to 3.
    pub storeys: u32,
    /// What the lowest floor stands on.
    pub foundation: Foundation,
    /// Shelter class.
    pub shelter: u32,
    /// Part of the leakage in floor, walls and ceiling of the network. The models say a quarter, a
    /// half and a quarter; the stack coefficients of the enhanced one follow from its own formula
    /// with 1/(storeys + 1) in floor and ceiling together.
    pub distribution: [f64; 3],
}

/// Compares the infiltration of a job. The wind of the job is at eaves height and unsheltered; the
/// models ask for that of the weather station, which is larger by their own factor, and the network
/// gets what the shelter class leaves of it, so that all three see the same wind. `None` for a
/// leakage or a shelter that the models do not know.
///
/// # Errors
///
/// [`FlowsError`] if the network cannot be built or solved.
pub fn infiltration(job: &Job) -> Result<Option<Comparison>, FlowsError> {
    let building = &job.building;
    let leakage = PowerLaw::through(
        building.leakage_at_50_pascals.value,
        50.0,
        building.leakage_exponent.value,
    );
    let storeys = building.storeys.round().clamp(1.0, 3.0) as u32;
    let (Ok(leakage), Ok(at_eaves), Ok(sheltered)) = (
        leakage,
        eaves_factor(storeys),
        shelter_factor(job.rates.shelter),
    ) else {
        return Ok(None);
    };
    let has = |kind| job.zones.iter().any(|zone| zone.kind == kind);
    let foundation = if has(ZoneKind::Crawlspace) {
        Foundation::Crawlspace
    } else {
        Foundation::Slab
    };
    let flue = job.appliances.iter().any(|appliance| {
        matches!(
            appliance.venting,
            Some(
                Venting::NaturalDraftWaterHeaterAlone
                    | Venting::NaturalDraftShared
                    | Venting::NaturalDraft
            )
        )
    });
    let parameters = Parameters::new(job);
    let mut house = Installation::new(job, None, parameters.best(), true)?;
    house.set_household(Household {
        exhausts: Exhausts::None,
        ..Household::USUAL
    });
    let pressure = air::standard_pressure(building.altitude);
    let area = leakage.leakage_area(4.0, 1.0);
    let mut lines = Vec::new();
    for wind in [0.0, job.climate.wind_speed] {
        for weather in job.climate.weathers {
            let difference = weather.indoor - weather.outdoor;
            let density = crate::duct_runs::AirState::new(weather.outdoor, pressure).density;
            let station = wind / at_eaves;
            let by_enhanced = |flue| {
                enhanced(
                    leakage,
                    storeys,
                    foundation,
                    flue,
                    job.rates.shelter,
                    difference,
                    station,
                )
                .map(|parts| parts.total)
            };
            let (Ok(by_basic), Ok(without), Ok(with)) = (
                basic(area, storeys, job.rates.shelter, difference, station),
                by_enhanced(false),
                by_enhanced(true),
            ) else {
                return Ok(None);
            };
            let mut entering = |wind| -> Result<f64, FlowsError> {
                house.solve(OperatingCase {
                    blower: Mode::Off,
                    setting: Setting::Off,
                    season: weather.season,
                    wind,
                })?;
                Ok(house.rooms().iter().map(|room| room.outdoor_air).sum())
            };
            let mass_flow = if wind > 0.0 {
                let mut sum = 0.0;
                for direction in 0..DIRECTIONS {
                    sum += entering(Some(Wind {
                        speed: sheltered * wind,
                        from: 360.0 * direction as f64 / DIRECTIONS as f64,
                    }))?;
                }
                sum / DIRECTIONS as f64
            } else {
                entering(None)?
            };
            lines.push(Infiltration {
                season: weather.season,
                difference,
                wind,
                network: mass_flow / density,
                basic: by_basic,
                enhanced: without,
                with_flue: flue.then_some(with),
            });
        }
    }
    Ok(Some(Comparison {
        lines,
        leakage,
        storeys,
        foundation,
        shelter: job.rates.shelter,
        distribution: house.leakage_distribution(),
    }))
}
