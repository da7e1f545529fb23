//! What may be typed.

use clap::{Args, Parser, Subcommand};

/// Printed when no command is given: the commands in the order of the job.
pub const FIRST_STEPS: &str = "\
Lungwort predicts the balance of a ventilation retrofit before the first hole is cut.

Look behind the numbers
  lungwort checks         every check against a source outside the project

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
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Print every check against a source outside the project: expected, got, tolerance
    Checks,
}
