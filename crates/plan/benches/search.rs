//! Times the search over about 5,000 plans: `cargo bench -p plan --features parallel`.

#[path = "../tests/common/mod.rs"]
mod common;

use common::{FOOT, INCH, house, unit};
use house::model::{End, Job, Separation, SpotRun};
use std::time::Instant;

fn main() {
    let job = large_house();
    let candidates = plan::candidate::candidates(&job).plans.len();
    let mut times = Vec::new();
    let mut found = None;
    for _ in 0..5 {
        let start = Instant::now();
        found = Some(plan::search(&job, &|_, _| {}));
        times.push(start.elapsed().as_secs_f64());
    }
    times.sort_by(f64::total_cmp);
    let Some(found) = found else { return };
    println!("combinations {}", found.combinations);
    println!(
        "plans solved {candidates}, cases solved to the end {}",
        found.cases
    );
    println!("plans that work {}", found.ranked.len());
    println!(
        "search {:.3} s median of 5 ({:.0} µs a plan)",
        times[2],
        1e6 * times[2] / candidates as f64
    );
    if let Some(kilobytes) = peak_memory() {
        println!("peak memory {:.0} MB", kilobytes / 1024.0);
    }
}

/// The test house with more units, terminals and diameters.
fn large_house() -> Job {
    let mut job = house();
    job.units = (0..12)
        .map(|index| {
            let mut unit = unit(&format!("unit {index}"));
            for setting in &mut unit.settings {
                for point in &mut setting.points {
                    let factor = 1.0 + 0.03 * f64::from(index);
                    point.gross_supply *= factor;
                    point.gross_extract *= factor * 1.01;
                    point.net_supply *= factor;
                }
            }
            unit
        })
        .collect();
    let template = job.terminals[0].clone();
    for index in 3..8_usize {
        let mut terminal = template.clone();
        terminal.name = format!("wall {index}");
        terminal.facing = 45.0 * index as f64;
        job.terminals.push(terminal);
        for other in (0..index).filter(|&other| other != 2) {
            job.separations.push(Separation {
                between: [other, index],
                distance: 8.0 * FOOT,
            });
        }
        job.spots[0].runs.push(SpotRun {
            to: End::Terminal(index),
            length: 12.0 * FOOT,
            elbows: 2,
        });
    }
    job.ducts.diameters = vec![6.0 * INCH, 7.0 * INCH];
    job
}

/// Peak resident memory of this process [kB], where the system tells.
fn peak_memory() -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}
