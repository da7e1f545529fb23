//! Openings on walls against shapely.

use rules::clearances::{Object, Stream};
use rules::{RuleBook, RuleSet};
use siting::{Opening, Place, ROUNDING, Site, Thing, Wall, area, demands, judge, region};

use crate::Tolerance::Absolute;
use crate::ducts::{rows, worst};
use crate::{Check, Tolerance};

const DISTANCES: &str = include_str!("../tables/walls_distances.csv");
const AREAS: &str = include_str!("../tables/walls_areas.csv");

const SUBJECT: &str = "openings on walls";
const SHAPELY: &str = "shapely 2.2.0";

/// The objects of the table, by their numbers in it.
const OBJECTS: [Object; 10] = [
    Object::Chimney,
    Object::PlumbingVent,
    Object::DryerOutlet,
    Object::BathExhaust,
    Object::RadonOutlet,
    Object::MechanicalDraughtVent,
    Object::Deck,
    Object::Window,
    Object::MechanicalIntake,
    Object::PropertyLine,
];

/// Regions lie on the safe side by up to half a millimetre around rounded figures, which together
/// are no longer around than 20 m on any wall of the table.
const SAFE_SIDE: Tolerance = Absolute(ROUNDING * 20.0);

/// The checks of the crate `siting`.
pub(crate) fn checks() -> Vec<Check> {
    vec![
        worst(
            SUBJECT,
            SHAPELY,
            "shortest straight line from a hood to a box",
            "m",
            Absolute(1e-8),
            rows::<19>(DISTANCES)
                .into_iter()
                .enumerate()
                .map(|(index, row)| (format!("row {}", index + 1), row[18], distance(&row)))
                .collect(),
        ),
        worst(
            SUBJECT,
            SHAPELY,
            "area of a wall where a hood may lie, with three things around it",
            "m²",
            SAFE_SIDE,
            rows::<47>(AREAS)
                .into_iter()
                .enumerate()
                .map(|(index, row)| (format!("row {}", index + 1), row[46], allowed(&row)))
                .collect(),
        ),
    ]
}

fn pairs(numbers: &[f64]) -> Vec<[f64; 2]> {
    numbers
        .chunks_exact(2)
        .map(|pair| [pair[0], pair[1]])
        .collect()
}

/// The measured distance of an intake from a chimney.
fn distance(row: &[f64; 19]) -> f64 {
    let wall = Wall::rectangle("wall", [row[0], row[1]], [row[2], row[3]], 0.0, 9.0);
    let thing = Thing {
        name: "thing".to_owned(),
        object: Object::Chimney,
        plan: pairs(&row[8..16]),
        bottom: row[16],
        top: row[17],
        wall: None,
    };
    let opening = Opening {
        width: row[4],
        height: row[5],
    };
    let place = Place {
        wall: 0,
        at: [row[6], row[7]],
    };
    Site::new(
        vec![wall],
        vec![thing],
        demands(&RuleBook::common_practice()),
    )
    .ok()
    .and_then(|site| {
        let verdict = judge(&site, opening, place, Stream::Intake)?;
        verdict.judgements.iter().find_map(|judgement| {
            let id = site.demands()[judgement.demand].id();
            (id == "intake from combustion outlets").then_some(judgement.measured)
        })
    })
    .unwrap_or(f64::NAN)
}

/// The area of the allowed region.
fn allowed(row: &[f64; 47]) -> f64 {
    let stream = if row[0] == 0.0 {
        Stream::Intake
    } else {
        Stream::Exhaust
    };
    let mut wall = Wall::rectangle("wall", [row[1], row[2]], [row[3], row[4]], 0.0, row[5]);
    wall.grade = vec![[0.0, row[6]], [wall.length(), row[7]]];
    let opening = Opening {
        width: row[8],
        height: row[9],
    };
    let things = row[10..46]
        .chunks_exact(12)
        .map(|thing| Thing {
            name: "thing".to_owned(),
            object: OBJECTS[thing[0] as usize % OBJECTS.len()],
            plan: pairs(&thing[2..10]),
            bottom: thing[10],
            top: thing[11],
            wall: (thing[1] == 1.0).then_some(0),
        })
        .collect();
    RuleBook::new(&[RuleSet::Irc2024], Vec::new())
        .ok()
        .and_then(|book| Site::new(vec![wall], things, demands(&book)).ok())
        .and_then(|site| region(&site, opening, 0, stream))
        .map_or(f64::NAN, |region| area(&region.allowed))
}
