//! The simulation study in full, as the tables of docs: `cargo bench -p commission --features
//! parallel --bench study`. Plans are spread over the ranking of every example house. A number
//! behind `--` plays so many houses of each kind instead of 520.

#[path = "../tests/common/mod.rs"]
mod common;

use commission::study::{End, House, Options, Study, Summary, plans, study};
use common::example;
use std::time::Instant;

/// Groups of the probability that was claimed.
const EDGES: [f64; 4] = [0.95, 0.97, 0.98, 0.99];

fn main() {
    let mut numbers = std::env::args().filter_map(|word| word.parse::<usize>().ok());
    let houses = numbers.next().unwrap_or(520);
    let only: Vec<usize> = numbers.collect();
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
    let mut together = Vec::new();
    for (number, (what, spread, calibration, hidden)) in [
        ("as the survey says, stations 5 %", 1.0, 0.05, 0.0),
        ("as the survey says, stations 3 %", 1.0, 0.03, 0.0),
        ("as the survey says, stations 10 %", 1.0, 0.10, 0.0),
        ("1.5 times farther off, stations 5 %", 1.5, 0.05, 0.0),
        (
            "every third with a fault, stations 5 %",
            1.0,
            0.05,
            1.0 / 3.0,
        ),
        (
            "every third with a fault, stations 10 %",
            1.0,
            0.10,
            1.0 / 3.0,
        ),
    ]
    .into_iter()
    .enumerate()
    {
        if !only.is_empty() && !only.contains(&number) {
            continue;
        }
        let options = Options {
            houses,
            spread,
            calibration,
            hidden,
            ..Options::default()
        };
        let start = Instant::now();
        match study(&all, &options, &|_, _| {}) {
            Ok(played) => {
                rows(what, &played);
                rows(
                    &format!("{what}: have to be turned"),
                    &played.to_be_turned(),
                );
                if hidden > 0.0 {
                    rows(&format!("{what}: with the fault"), &with_fault(&played));
                    faults(&played);
                }
                calibrated(what, &played);
                println!(
                    "(lost {}, {:.0} s)",
                    played.lost,
                    start.elapsed().as_secs_f64()
                );
                together.extend(played.houses);
            }
            Err(error) => println!("{error}"),
        }
    }
    let together = Study {
        houses: together,
        lost: 0,
    };
    calibrated("all", &together);
}

fn with_fault(played: &Study) -> Study {
    let with = played.houses.iter().filter(|house| house.hidden.is_some());
    Study {
        houses: with.copied().collect(),
        lost: 0,
    }
}

/// How the days with each kind of fault ended: done, of these wrongly.
fn faults(played: &Study) {
    for kind in ["blocked screen", "crushed duct", "weak fan", "wrong chart"] {
        let days: Vec<&House> = played
            .houses
            .iter()
            .filter(|house| house.hidden.is_some_and(|hidden| hidden.name() == kind))
            .collect();
        let done: Vec<&&House> = days
            .iter()
            .filter(|house| house.advised.end == End::Done)
            .collect();
        let wrong: Vec<&&&House> = done.iter().filter(|house| !house.advised.met).collect();
        println!(
            "  {kind}: {} days, {} done, {} wrongly",
            days.len(),
            done.len(),
            wrong.len()
        );
        for house in wrong {
            println!(
                "    plan {} {:?}: claimed {:.3}, balance {:.3}, rate {:.3}, {} readings, {} passes",
                house.plan,
                house.hidden,
                house.advised.claimed,
                house.advised.balance,
                house.advised.rate,
                house.advised.readings,
                house.advised.passes
            );
        }
    }
}

fn calibrated(what: &str, played: &Study) {
    for ((days, claimed, met), from) in played.calibration(&EDGES).into_iter().zip(EDGES) {
        println!(
            "  {what}, claimed from {:.0} %: {days} days, {:.1} % claimed, {:.1} % met",
            100.0 * from,
            100.0 * claimed,
            100.0 * met as f64 / days.max(1) as f64
        );
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
