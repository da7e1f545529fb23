//! `lungwort schema`: the file formats as JSON schema.

use crate::command_line::File;
use crate::outcome::{Failure, Outcome};

/// Prints the schema of one kind of file.
pub fn run(file: File) -> Result<Outcome, Failure> {
    let schema = match file {
        File::Job => house::schema::job(),
        File::Catalogue => house::schema::catalogue(),
    };
    Ok(Outcome::json(&schema, true))
}
