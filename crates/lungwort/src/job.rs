//! Reading a job from the disk, with the catalogue that it names.

use std::path::{Component, Path};

use house::file::Reading;

use crate::files;
use crate::outcome::Failure;

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
