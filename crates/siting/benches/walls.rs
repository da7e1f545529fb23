//! Times the regions and best places of a house with 4 walls and 40 things: `cargo bench -p siting`.

#[path = "../tests/common/mod.rs"]
mod common;

use std::hint::black_box;
use std::time::Instant;

use common::{HOOD, house};
use rules::RuleSet;
use rules::clearances::Stream;

/// Median of 21 runs (ms).
fn median(mut run: impl FnMut()) -> f64 {
    let mut times: Vec<f64> = (0..21)
        .map(|_| {
            let start = Instant::now();
            run();
            1e3 * start.elapsed().as_secs_f64()
        })
        .collect();
    times.sort_by(f64::total_cmp);
    times[10]
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
            .filter(|thing| thing.name.starts_with("corner"));
        println!(
            "{} walls, {} things and {} corners, {} clearances of {:?}",
            walls,
            site.things().len() - corners.clone().count(),
            corners.count(),
            site.demands().len(),
            sets.iter().map(|set| set.name()).collect::<Vec<_>>(),
        );
        let regions = median(|| {
            for wall in 0..walls {
                for stream in [Stream::Intake, Stream::Exhaust] {
                    black_box(siting::region(&site, HOOD, wall, stream));
                }
                black_box(siting::region_two_in_one(&site, HOOD, wall));
            }
        });
        println!("all regions: intake, exhaust, two in one   {regions:7.2} ms");
        for stream in [Stream::Intake, Stream::Exhaust] {
            let time = median(|| {
                black_box(siting::best(&site, HOOD, stream));
            });
            println!(
                "best {stream:?}: {time:.2} ms, {:?}",
                siting::best(&site, HOOD, stream)
            );
        }
        let time = median(|| {
            black_box(siting::best_two_in_one(&site, HOOD));
        });
        println!(
            "best two in one: {time:.2} ms, {:?}",
            siting::best_two_in_one(&site, HOOD)
        );
        let time = median(|| {
            black_box(siting::best_pair(&site, HOOD));
        });
        println!(
            "best pair: {time:.2} ms, {:?}",
            siting::best_pair(&site, HOOD)
        );
    }
}
