//! Time to read each example with its catalogue: `cargo bench -p house`. The best of many, because
//! everything slower is the machine's doing.

use std::fs;
use std::path::Path;
use std::time::Instant;

use diagnostics::Source;

fn main() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let bytes = |name: &str| fs::read(folder.join(name)).map_err(|error| error.to_string());
    let catalogue = bytes("catalogue.toml").expect("the examples have a catalogue");
    for name in [
        "light.toml",
        "duluth-furnace.toml",
        "flagstaff-crawlspace.toml",
        "tallahassee-heat-pump.toml",
    ] {
        let job = bytes(name).expect("the example is there");
        let mut best = f64::INFINITY;
        for _ in 0..300 {
            let start = Instant::now();
            let source = Source::from_bytes(name, &job);
            let reading = house::file::read(&source, &mut |_| Ok(catalogue.clone()));
            let time = start.elapsed().as_secs_f64();
            assert!(reading.job.is_some(), "{name} is a valid job");
            best = best.min(time);
        }
        println!("{name:32} {:6.2} ms (goal 2 ms)", best * 1e3);
    }
}
