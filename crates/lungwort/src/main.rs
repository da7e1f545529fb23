//! Command line of Lungwort.
//!
//! Results go to standard output, problems and errors to standard error. The exit code is 0 if the
//! answer is yes, 1 if it is no (a check fails, no plan survives), and 2 if the input cannot be
//! used.

mod command_line;
mod commands;
mod files;
mod job;
mod outcome;
mod text;

use std::process::ExitCode;

use clap::Parser as _;

use crate::command_line::{Command, CommandLine, FIRST_STEPS};
use crate::outcome::Outcome;

fn main() -> ExitCode {
    let CommandLine { command, options } = CommandLine::parse();
    let answer = match command {
        None => Ok(Outcome::yes(FIRST_STEPS)),
        Some(Command::New { file, force }) => commands::new::run(&file, force, &options),
        Some(Command::Check { job }) => commands::check::run(&job, &options),
        Some(Command::Network { file }) => commands::network::run(&file, &options),
        Some(Command::Checks) => commands::checks::run(&options),
        Some(Command::Schema { file }) => commands::schema::run(file),
    };
    outcome::report(answer, &options)
}
