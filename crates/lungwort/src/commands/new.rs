//! `lungwort new`: a commented job file to start from.

use std::path::Path;

use serde_json::json;

use crate::command_line::{Options, Units};
use crate::files;
use crate::outcome::{Failure, Outcome};

/// Writes the starter; never over another file unless told to.
pub fn run(path: &Path, force: bool, options: &Options) -> Result<Outcome, Failure> {
    let starter = house::file::starter();
    let text = match options.units {
        Some(Units::Si) => starter.replacen("units = \"IP\"", "units = \"SI\"", 1),
        _ => starter.to_owned(),
    };
    files::write(path, &text, force)?;
    let name = path.display();
    if options.json {
        return Ok(Outcome::json(&json!({ "written": name.to_string() }), true));
    }
    Ok(Outcome::yes(format!(
        "Wrote {name}. Change its numbers to those of your house, then:\n\
         \x20 lungwort check {name}\n"
    )))
}
