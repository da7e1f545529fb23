//! The network's envelope against the two published single-zone models.

mod common;

use common::{CFM, house};
use house::model::{Estimate, Job, Opening, OpeningKind, Weather};
use plan::infiltration::{Infiltration, infiltration};

/// Storeys of 2.5 m at sea level, one above the other with wide openings between, each with the same
/// part of 1500 cfm at 50 Pa: floor and ceiling of the house together have 1/2, 1/3, 2/9 of the
/// leakage with one, two, three storeys.
fn simple(storeys: usize, outdoor: f64, wind: f64, exponent: f64, shelter: u32) -> Job {
    let mut job = house();
    job.air_handler = None;
    job.taps.clear();
    job.grilles.clear();
    let mut zone = job.zones[0].clone();
    zone.height = 2.5;
    zone.leakage_share = 1.0 / storeys as f64;
    job.zones = (0..storeys)
        .map(|storey| {
            let mut zone = zone.clone();
            zone.level = 2.5 * storey as f64;
            zone
        })
        .collect();
    job.openings = (1..storeys)
        .map(|storey| Opening {
            between: [storey - 1, storey],
            area: 4.0,
            kind: OpeningKind::Open,
        })
        .collect();
    job.exhausts.clear();
    job.building.altitude = 0.0;
    job.building.storeys = storeys as f64;
    job.building.leakage_at_50_pascals = Estimate::exact(1500.0 * CFM);
    job.building.leakage_exponent = Estimate::exact(exponent);
    job.climate.wind_speed = wind;
    job.rates.shelter = shelter;
    for (weather, outdoor) in job.climate.weathers.iter_mut().zip([outdoor, 12.0, 33.0]) {
        *weather = Weather {
            season: weather.season,
            outdoor,
            indoor: 21.0,
        };
    }
    job
}

fn lines(job: &Job) -> Vec<Infiltration> {
    infiltration(job).unwrap().unwrap().lines
}

#[test]
fn the_stack_alone_agrees_with_the_enhanced_model() {
    // Calm: 2 to 6 % apart. What is left: two heights stand for the whole of a wall, and with three
    // storeys floor and ceiling have 2/9 of the leakage, the coefficient of the model 1/4.
    for storeys in [1, 2, 3] {
        for outdoor in [-30.0, -10.0, 5.0] {
            for line in &lines(&simple(storeys, outdoor, 0.0, 0.67, 3))[..3] {
                let ratio = line.network / line.enhanced;
                assert!((ratio - 1.0).abs() < 0.07, "{storeys} storeys, {line:?}");
            }
        }
    }
}

#[test]
fn wind_stays_below_the_enhanced_model() {
    // With wind the network is 5 to 21 % lower: it gives the wind to the walls alone, whose mean
    // pressure the rooms take on, while the model was fitted with wind on the ceiling too.
    for storeys in [1, 2, 3] {
        for shelter in [1, 3] {
            for wind in [3.0, 6.0] {
                for line in &lines(&simple(storeys, -10.0, wind, 0.67, shelter))[3..] {
                    let ratio = line.network / line.enhanced;
                    assert!((0.78..0.97).contains(&ratio), "{storeys} storeys, {line:?}");
                }
            }
        }
    }
}

#[test]
fn the_basic_model_holds_for_openings() {
    // The basic model takes the leaks for openings, exponent 0.5. With that the stack alone agrees
    // within 3 % on one storey, of which floor and ceiling have half of the leakage, as it assumes.
    for outdoor in [-30.0, -10.0, 5.0] {
        for line in &lines(&simple(1, outdoor, 0.0, 0.5, 3))[..3] {
            let ratio = line.network / line.basic;
            assert!((ratio - 1.0).abs() < 0.03, "{line:?}");
        }
    }
    // With the exponent of houses it gives more where the pressure is below its 4 Pa.
    for line in &lines(&simple(1, 5.0, 0.0, 0.67, 3))[..3] {
        assert!(line.network < 0.85 * line.basic, "{line:?}");
    }
}

#[test]
fn what_the_models_do_not_know_is_not_compared() {
    let job = simple(1, -10.0, 4.0, 0.67, 9);
    assert_eq!(infiltration(&job).unwrap(), None);
}
