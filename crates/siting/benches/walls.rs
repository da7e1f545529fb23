//! Times the regions and best places of a house with 4 walls and 40 things: `cargo bench -p siting`.

#[path = "../tests/common/mod.rs"]
mod common;

use std::hint::black_box;
use std::time::Instant;

use common::{HOOD, house};
use rules::RuleSet;
use rules::clearances::{Object, Stream};
use siting::{Best, best, best_pair, best_two_in_one, region, region_two_in_one};

/// Prints the median and the smallest time of 41 runs, and what they found.
fn time<T>(what: &str, mut run: impl FnMut() -> T, show: impl Fn(T) -> String) {
    let mut times: Vec<f64> = (0..41)
        .map(|_| {
            let start = Instant::now();
            black_box(run());
            1e3 * start.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    println!(
        "{what:<28}{:10.2}{:10.2}   {}",
        times[20],
        times[0],
        show(run())
    );
}

fn main() {
    for sets in [
        &[RuleSet::Irc2024, RuleSet::Ashrae622][..],
        &[RuleSet::Ontario],
    ] {
        let site = house(sets);
        let walls = site.walls().len();
        let corners = site
            .things()
            .iter()
            .filter(|thing| thing.object == Object::Corner)
            .count();
        println!(
            "{walls} walls, {} things, {} clearances of {}",
            site.things().len() - corners,
            site.demands().len(),
            sets.iter()
                .map(|set| set.name())
                .collect::<Vec<_>>()
                .join(" and "),
        );
        println!("{:<28}{:>10}{:>10}", "ms", "median", "smallest");
        time(
            "all regions",
            || {
                (0..walls)
                    .flat_map(|wall| {
                        [
                            region(&site, HOOD, wall, Stream::Intake),
                            region(&site, HOOD, wall, Stream::Exhaust),
                            region_two_in_one(&site, HOOD, wall),
                        ]
                    })
                    .flatten()
                    .collect::<Vec<_>>()
            },
            |regions| {
                let corners = regions.iter().flat_map(|region| &region.allowed).flatten();
                format!(
                    "{} of intake, exhaust and two in one, {} corners",
                    regions.len(),
                    corners.map(Vec::len).sum::<usize>()
                )
            },
        );
        let place = |found: Option<Best>| match found {
            Some(best) => format!("on wall {}, {:.3} m spare", best.place.wall, best.margin),
            None => "nowhere".to_owned(),
        };
        time("best intake", || best(&site, HOOD, Stream::Intake), place);
        time("best exhaust", || best(&site, HOOD, Stream::Exhaust), place);
        time("best two in one", || best_two_in_one(&site, HOOD), place);
        time(
            "best pair",
            || best_pair(&site, HOOD),
            |found| match found {
                Some(pair) => format!(
                    "on walls {} and {}, {:.3} m spare",
                    pair.intake.wall, pair.exhaust.wall, pair.margin
                ),
                None => "nowhere".to_owned(),
            },
        );
        println!();
    }
}
