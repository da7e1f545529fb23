//! The example files.

use diagnostics::Source;
use house::file::{Reading, read};

pub const CATALOGUE: &str = include_str!("../../../../examples/catalogue.toml");
pub const DULUTH: &str = include_str!("../../../../examples/duluth-furnace.toml");
pub const FLAGSTAFF: &str = include_str!("../../../../examples/flagstaff-crawlspace.toml");
pub const TALLAHASSEE: &str = include_str!("../../../../examples/tallahassee-heat-pump.toml");
pub const LIGHT: &str = include_str!("../../../../examples/light.toml");

/// Reads a job with a catalogue beside it.
pub fn reading(job: &[u8], catalogue: &[u8]) -> Reading {
    read(
        &Source::from_bytes("job.toml", job),
        &mut |name| match name {
            "catalogue.toml" => Ok(catalogue.to_vec()),
            _ => Err("there is no such file".to_owned()),
        },
    )
}
