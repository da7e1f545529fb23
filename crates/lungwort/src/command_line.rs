//! What may be typed.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use units::System;

/// Printed when no command is given: the commands in the order of the job.
pub const FIRST_STEPS: &str = "\
Lungwort predicts the balance of a ventilation retrofit before the first hole is cut.

Begin
  lungwort new            write a commented job file to start from
  lungwort check JOB      say what is wrong in it, what was read, what is assumed

Look behind the numbers
  lungwort network FILE   solve a raw pressure network, to compare with another program
  lungwort checks         every check against a source outside the project
  lungwort schema         the format of a job file, for editors

Each command explains itself with --help.
";

/// Predict the balance of a heat- or energy-recovery ventilation retrofit before the first hole is
/// cut.
#[derive(Debug, Parser)]
#[command(version, max_term_width = 100, disable_help_subcommand = true)]
pub struct CommandLine {
    /// What to do.
    #[command(subcommand)]
    pub command: Option<Command>,
    /// How to say it.
    #[command(flatten)]
    pub options: Options,
}

/// How results are printed.
#[derive(Debug, Clone, Args)]
pub struct Options {
    /// Print everything as JSON, for programs
    #[arg(long, global = true)]
    pub json: bool,
    /// Which units stand first; by default those of the file
    #[arg(long, global = true, value_name = "SYSTEM")]
    pub units: Option<Units>,
}

/// The two systems of units.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Units {
    /// Inch-pound: cfm, inWC, °F
    Ip,
    /// International: L/s, Pa, °C
    Si,
}

impl From<Units> for System {
    fn from(units: Units) -> Self {
        match units {
            Units::Ip => Self::Ip,
            Units::Si => Self::Si,
        }
    }
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Write a commented job file to start from
    New {
        /// Where to
        #[arg(default_value = "job.toml")]
        file: PathBuf,
        /// Replace a file that exists
        #[arg(long)]
        force: bool,
    },
    /// Say what is wrong in a job, what was read, and what is assumed
    Check {
        /// The job file
        job: PathBuf,
    },
    /// Solve a raw pressure network, so that the solver can be compared with another one
    Network {
        /// The network, see docs/network-file.md
        file: PathBuf,
    },
    /// Print every check against a source outside the project: expected, got, tolerance
    Checks,
    /// Print the JSON schema of a file format, for editors
    Schema {
        /// Which file
        #[arg(value_enum, default_value_t = File::Job)]
        file: File,
    },
}

/// The files that have a schema.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum File {
    /// A job
    Job,
    /// A catalogue of units
    Catalogue,
}
