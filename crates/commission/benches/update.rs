//! Times one update of a set-up day, `cargo bench -p commission`: estimate and advice after each
//! round of readings, in each example house.

#[path = "../tests/common/mod.rs"]
mod common;

use commission::study::usual_set_up;
use commission::{Estimate, Goal, Place, advise, estimate_from};
use common::{TrueHouse, chosen, example, reading};
use plan::inputs::Parameters;
use std::time::Instant;

fn main() {
    for name in [
        "duluth-furnace.toml",
        "tallahassee-heat-pump.toml",
        "flagstaff-crawlspace.toml",
    ] {
        let job = example(name);
        let plan = chosen(&job);
        let Ok(empty) = usual_set_up(&job, &plan, 0.05) else {
            continue;
        };
        let goal = Goal::of(&empty);
        let mut inputs = Parameters::new(&job).best().clone();
        inputs.duct_factors = [0.9, 0.9, 1.3, 1.3];
        let mut house = TrueHouse::new(&empty, &inputs);
        let mut set_up = empty.clone();
        let mut earlier: Option<Estimate> = None;
        for &mode in &goal.modes {
            for station in 0..2 {
                let place = Place::Station(station);
                let value = house.shown(&empty, place, mode, goal.setting, [0.0; 2]);
                if let Err(error) = set_up.add(reading(place, mode, goal.setting, value)) {
                    println!("{error}");
                }
            }
            let states = goal.states(&set_up, [0, 0]);
            let mut times = Vec::new();
            let mut last = None;
            for _ in 0..21 {
                let start = Instant::now();
                let now = estimate_from(&set_up, &states, earlier.as_ref());
                let middle = start.elapsed().as_secs_f64();
                if let Ok(now) = now {
                    let start = Instant::now();
                    let advice = advise(&set_up, &goal, &now, [0, 0], mode);
                    times.push((middle, start.elapsed().as_secs_f64()));
                    last = advice.ok().map(|advice| (now, advice));
                }
            }
            times.sort_by(|a, b| a.0.total_cmp(&b.0));
            let Some((now, advice)) = last else { continue };
            println!(
                "{name}, {} readings: estimate {:.1} ms median of {}, {:.1} ms least ({} unknowns, {} cases solved, {} passes); advice {:.1} ms: {:?} {:.2}",
                set_up.readings().len(),
                1e3 * times[times.len() / 2].0,
                times.len(),
                1e3 * times[0].0,
                now.unknowns.len(),
                now.solved,
                now.posterior.passes,
                1e3 * times[times.len() / 2].1,
                advice.verdict,
                advice.probability,
            );
            earlier = Some(now);
        }
    }
}
