//! Reading a job from the disk, with the catalogue that it names.

use std::io;
use std::path::{Component, Path};

use house::file::Reading;
use house::model::Job;
use units::System;

use crate::command_line::Options;
use crate::files;
use crate::outcome::{Failure, style};

/// Reads a job and its catalogue, which lies beside it. What is wrong in them is in the reading; a
/// file that cannot be opened at all is a failure.
pub fn read(path: &Path) -> Result<Reading, Failure> {
    let source = files::read(path)?;
    let folder = path.parent().unwrap_or(Path::new(""));
    let mut load = |name: &str| {
        let plain = Path::new(name)
            .components()
            .all(|part| matches!(part, Component::Normal(_) | Component::CurDir));
        if plain {
            files::bytes(&folder.join(name))
        } else {
            Err("the file has to lie beside the job, or in a folder there".to_owned())
        }
    };
    Ok(house::file::read(&source, &mut load))
}

/// A job that can be used, with its warnings as text for standard error and as JSON.
pub struct Usable {
    /// The job.
    pub job: Job,
    /// Its warnings, for a person.
    pub notes: String,
    /// Its warnings, for a program.
    pub problems: serde_json::Value,
}

/// Reads a job that has to be free of errors.
pub fn usable(path: &Path) -> Result<Usable, Failure> {
    let reading = read(path)?;
    match reading.job {
        Some(job) => Ok(Usable {
            job,
            notes: reading.problems.render(style(&io::stderr())),
            problems: reading.problems.to_json(),
        }),
        None => Err(Failure::Problems(Box::new(reading.problems))),
    }
}

/// The system of units that stands first: as asked for, or that of the job.
pub fn system(job: &Job, options: &Options) -> System {
    let own = if job.inch_pound_first {
        System::Ip
    } else {
        System::Si
    };
    options.units.map_or(own, System::from)
}
