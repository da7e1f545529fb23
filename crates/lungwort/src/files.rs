//! Reading and writing files, with an answer for everything that can go wrong.

use std::fs::{self, File};
use std::io::{ErrorKind, Read, Write};
use std::path::Path;

use diagnostics::{Source, nearest};

use crate::outcome::Failure;

/// Reads a file; bytes that are no text are the affair of [`Source`].
pub fn read(path: &Path) -> Result<Source, Failure> {
    let name = path.display().to_string();
    bytes(path)
        .map(|bytes| Source::from_bytes(name.as_str(), &bytes))
        .map_err(|why| Failure::message(format!("cannot read {name}: {why}"), similar(path)))
}

/// The bytes of a file, at most a few more than [`Source::LARGEST`], or why they cannot be had.
pub fn bytes(path: &Path) -> Result<Vec<u8>, String> {
    if path.is_dir() {
        return Err("it is a folder, a file is asked for".to_owned());
    }
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|file| {
            file.take(Source::LARGEST as u64 + 1)
                .read_to_end(&mut bytes)
        })
        .map_err(|error| reason(&error))?;
    Ok(bytes)
}

/// Writes a file as a whole or not at all, and never over another one unless told to.
pub fn write(path: &Path, text: &str, replace: bool) -> Result<(), Failure> {
    let name = path.display();
    let failed = |why: String| Failure::message(format!("cannot write {name}: {why}"), "");
    let exists = || {
        Failure::message(
            format!("{name} exists already"),
            "choose another name, or replace it with --force",
        )
    };
    if path.is_dir() {
        return Err(failed("it is a folder, a file is asked for".to_owned()));
    }
    if !replace && fs::symlink_metadata(path).is_ok() {
        return Err(exists());
    }
    let folder = match path.parent() {
        Some(folder) if folder != Path::new("") => folder,
        _ => Path::new("."),
    };
    let mut builder = tempfile::Builder::new();
    builder.prefix(".lungwort-");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt as _;
        // As for any new file, the user's mask decides who may read it.
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut file = builder
        .tempfile_in(folder)
        .map_err(|error| failed(reason(&error)))?;
    file.write_all(text.as_bytes())
        .and_then(|()| file.as_file().sync_all())
        .map_err(|error| failed(reason(&error)))?;
    let kept = if replace {
        file.persist(path)
    } else {
        file.persist_noclobber(path)
    };
    match kept {
        Ok(_) => Ok(()),
        Err(error) if error.error.kind() == ErrorKind::AlreadyExists => Err(exists()),
        Err(error) => Err(failed(reason(&error.error))),
    }
}

/// Why something could not be done with a file, in words.
pub fn reason(error: &std::io::Error) -> String {
    match error.kind() {
        ErrorKind::NotFound => "there is no such file or folder".to_owned(),
        ErrorKind::PermissionDenied => "you have no permission for it".to_owned(),
        _ => error.to_string(),
    }
}

/// A hint at a file of nearly that name in the same folder.
fn similar(path: &Path) -> String {
    let (Some(name), false) = (
        path.file_name().and_then(|name| name.to_str()),
        path.exists(),
    ) else {
        return String::new();
    };
    let folder = path.parent().filter(|folder| *folder != Path::new(""));
    let names: Vec<String> = fs::read_dir(folder.unwrap_or(Path::new(".")))
        .into_iter()
        .flatten()
        .take(1000)
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .collect();
    match nearest(name, names.iter().map(String::as_str)) {
        Some(other) => format!("did you mean {}?", path.with_file_name(other).display()),
        None => String::new(),
    }
}
