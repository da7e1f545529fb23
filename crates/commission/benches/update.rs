//! Times one update of a set-up day, `cargo bench -p commission`: the estimate after each round of
//! readings in each example house, from nothing and from the estimate before it, and the advice.

#[path = "../tests/common/mod.rs"]
mod common;

use commission::study::usual_set_up;
use commission::{Error, Estimate, Goal, Place, advise, estimate, estimate_from};
use common::{TrueHouse, chosen, example, reading};
use plan::inputs::Parameters;
use std::time::Instant;

/// Rounds of each measurement.
const ROUNDS: usize = 21;

/// Median time (ms) of some work, and its last result.
fn timed<T>(work: impl Fn() -> Result<T, Error>) -> Result<(f64, T), Error> {
    let mut times = Vec::new();
    loop {
        let start = Instant::now();
        let result = work()?;
        times.push(1e3 * start.elapsed().as_secs_f64());
        if times.len() == ROUNDS {
            times.sort_by(f64::total_cmp);
            return Ok((times[ROUNDS / 2], result));
        }
    }
}

fn main() -> Result<(), Error> {
    println!(
        "median ms of {ROUNDS}                    estimate, cases solved    from before, cases    ratio    advice"
    );
    for name in [
        "duluth-furnace.toml",
        "tallahassee-heat-pump.toml",
        "flagstaff-crawlspace.toml",
    ] {
        let job = example(name);
        let plan = chosen(&job);
        let empty = usual_set_up(&job, &plan, 0.05)?;
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
                set_up.add(reading(place, mode, goal.setting, value))?;
            }
            let states = goal.states(&set_up, [0, 0]);
            let (cold, now) = timed(|| estimate(&set_up, &states))?;
            let (advice, _) = timed(|| advise(&set_up, &goal, &now, [0, 0], mode))?;
            let words = format!("{name}, {} readings", set_up.readings().len());
            print!("{words:40} {cold:7.1} {:12}", now.solved);
            if earlier.is_some() {
                let (warm, again) = timed(|| estimate_from(&set_up, &states, earlier.as_ref()))?;
                print!("    {warm:12.1} {:10} {:8.1}", again.solved, cold / warm);
                earlier = Some(again);
            } else {
                print!("{:36}", "");
                earlier = Some(now);
            }
            println!(" {advice:9.1}");
        }
    }
    Ok(())
}
