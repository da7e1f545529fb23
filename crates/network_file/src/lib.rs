//! A raw pressure network as a file.
//!
//! Anyone can write down nodes, elements and injections as TOML, have them solved and compare the
//! result with another program. The format is described in `docs/network-file.md`. This crate
//! turns the text of such a file into an [`airflow::Network`]; reading the file from a disk,
//! solving and printing are the affair of others.
//!
//! ```
//! let source = diagnostics::Source::new("house.toml", r#"
//! format = 1
//!
//! [[node]]
//! name = "outdoors"
//! pressure = 0
//! density = 1.34
//!
//! [[node]]
//! name = "house"
//! density = 1.20
//!
//! [[element]]
//! name = "leaks low in the wall"
//! from = "outdoors"
//! to = "house"
//! drive = 2.0
//! law = "leak"
//! coefficient = 0.016
//! exponent = 0.65
//!
//! [[injection]]
//! node = "house"
//! volume_flow = "-50 cfm"
//! "#);
//! let reading = network_file::read(source);
//! assert!(reading.problems.is_empty());
//! assert_eq!(reading.file.unwrap().network.elements().len(), 1);
//! ```

mod elements;
mod read;
mod table;

pub use read::{Assumed, NetworkFile, Reading, read};
