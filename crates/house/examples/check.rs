//! Reads job files and prints what was found: `cargo run -p house --example check -- FILE…`.

use std::path::Path;
use std::time::Instant;

use diagnostics::{Source, Style};

fn main() {
    for file in std::env::args().skip(1) {
        let bytes = std::fs::read(&file).unwrap_or_default();
        let folder = Path::new(&file).parent().unwrap_or(Path::new("."));
        let mut load =
            |name: &str| std::fs::read(folder.join(name)).map_err(|error| error.to_string());
        let start = Instant::now();
        let reading = house::file::read(&Source::from_bytes(&file, &bytes), &mut load);
        let time = start.elapsed();
        print!("{}", reading.problems.render(Style::Plain));
        for assumed in &reading.assumed {
            println!(
                "assumed {} = {}: {}",
                assumed.field, assumed.value, assumed.reason
            );
        }
        println!(
            "{file}: job {}, {:.2} ms",
            reading.job.is_some(),
            time.as_secs_f64() * 1e3
        );
    }
}
