//! The simulation study in full, as the table of docs: `cargo bench -p commission --features
//! parallel --bench study`. Plans are spread over the ranking of every example house.

#[path = "../tests/common/mod.rs"]
mod common;

use commission::study::{Options, Study, Summary, plans, study};
use common::example;
use std::time::Instant;

fn main() {
    let mut all = Vec::new();
    for name in [
        "duluth-furnace.toml",
        "tallahassee-heat-pump.toml",
        "flagstaff-crawlspace.toml",
        "light.toml",
    ] {
        let job = example(name);
        all.extend(plans(&job, 20).into_iter().map(|plan| (job.clone(), plan)));
    }
    println!("{} plans", all.len());
    println!(
        "| houses | method | days | passes, median of done / 9 of 10 days | readings, mean | done | wrongly done | given up wrongly | unproven (of these truly met) | truly met in the end |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|");
    for (what, spread, calibration) in [
        ("as the survey says, stations ±5 %", 1.0, 0.05),
        ("as the survey says, stations ±3 %", 1.0, 0.03),
        ("1.5 times farther off, stations ±5 %", 1.5, 0.05),
    ] {
        let options = Options {
            houses: 520,
            spread,
            calibration,
            ..Options::default()
        };
        let start = Instant::now();
        match study(&all, &options, &|_, _| {}) {
            Ok(played) => {
                rows(what, &played);
                rows(
                    &format!("{what}: those that have to be turned"),
                    &played.to_be_turned(),
                );
                println!(
                    "(lost {}, {:.0} s)",
                    played.lost,
                    start.elapsed().as_secs_f64()
                );
            }
            Err(error) => println!("{error}"),
        }
    }
}

fn rows(what: &str, played: &Study) {
    for (method, row) in [("advice", played.advised()), ("habit", played.habit())] {
        let Summary { houses, .. } = row;
        println!(
            "| {what} | {method} | {houses} | {:.0} / {:.0} | {:.1} | {:.1} % | {:.1} % | {:.1} % | {:.1} % ({:.0} %) | {:.1} % |",
            row.median_passes,
            row.ninth_decile_passes,
            row.mean_readings,
            100.0 * row.done,
            100.0 * row.wrongly_done,
            100.0 * row.wrongly_given_up,
            100.0 * row.unsure,
            100.0 * row.unsure_but_met,
            100.0 * row.met,
        );
    }
}
