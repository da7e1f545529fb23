//! Command line of Lungwort.
//!
//! Results go to standard output, problems and errors to standard error. The exit code is 0 if the
//! answer is yes, 1 if it is no (a check fails, no plan survives), and 2 if the input cannot be
//! used.

mod canvas;
mod command_line;
mod commands;
mod dialogue;
mod figures;
mod files;
mod job;
mod log;
mod objects;
mod outcome;
mod progress;
mod readings;
mod report;
mod set_up;
mod sketch;
mod text;

use std::process::ExitCode;

use clap::Parser as _;

use crate::command_line::{Command, CommandLine, FIRST_STEPS, Serve};
use crate::outcome::Outcome;

fn main() -> ExitCode {
    let CommandLine { command, options } = CommandLine::parse();
    let answer = match command {
        None => commands::serve::run(&Serve::default()),
        Some(Command::Serve(asked)) => commands::serve::run(&asked),
        Some(Command::Help) => Ok(Outcome::yes(FIRST_STEPS)),
        Some(Command::New { file, force }) => commands::new::run(&file, force, &options),
        Some(Command::Check { job }) => commands::check::run(&job, &options),
        Some(Command::Plan { job, explain, top }) => {
            commands::plan::run(&job, explain, top, &options)
        }
        Some(Command::Flows(asked)) => commands::flows::run(&asked, &options),
        Some(Command::Walls(asked)) => commands::walls::run(&asked, &options),
        Some(Command::Safety { job, plan }) => commands::safety::run(&job, plan, &options),
        Some(Command::Insulation { job, plan }) => commands::insulation::run(&job, plan, &options),
        Some(Command::Sound { job, plan }) => commands::sound::run(&job, plan, &options),
        Some(Command::Rates {
            job,
            explain,
            plan,
            flow,
        }) => commands::rates::run(&job, explain.as_deref(), plan, flow.as_deref(), &options),
        Some(Command::Balance(asked)) => commands::balance::run(&asked, &options),
        Some(Command::Checklist(asked)) => commands::checklist::run(&asked, &options),
        Some(Command::Record(asked)) => commands::record::run(&asked, &options),
        Some(Command::Revisit(asked)) => commands::revisit::run(&asked, &options),
        Some(Command::Log(asked)) => commands::log::run(&asked, &options),
        Some(Command::Rules { job, subject, set }) => {
            commands::rules::run(job.as_deref(), subject.as_deref(), set.as_deref(), &options)
        }
        Some(Command::Network { file }) => commands::network::run(&file, &options),
        Some(Command::Checks) => commands::checks::run(&options),
        Some(Command::Schema { file }) => commands::schema::run(file),
    };
    outcome::report(answer, &options)
}
