//! The journal on the disk: read as it is, appended to by whole lines that are safe before they are
//! confirmed.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{ErrorKind, Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use journal::{Entry, Event, Journal, Stamp};

use crate::files::reason;
use crate::outcome::Failure;

/// Largest journal that is read: some hundred thousand entries.
const LARGEST: u64 = 64 << 20;
/// How long another program that writes is waited for.
const PATIENCE: Duration = Duration::from_secs(5);

/// The journal that belongs to a job: beside it, with its name.
pub fn path_of(job: &Path) -> PathBuf {
    job.with_extension("journal")
}

/// The time now, with the zone of this computer.
pub fn now() -> String {
    jiff::ZonedDateTime::now()
        .strftime("%Y-%m-%dT%H:%M:%S%:z")
        .to_string()
}

/// Reads a journal; an empty one if there is no file.
pub fn read(path: &Path) -> Result<Journal, Failure> {
    bytes(path).map(|bytes| Journal::read(&bytes))
}

/// The bytes of a journal; none if there is no file.
pub fn bytes(path: &Path) -> Result<Vec<u8>, Failure> {
    match File::open(path) {
        Ok(file) => content(&file, path),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(Vec::new()),
        Err(error) => Err(cannot("read", path, &reason(&error))),
    }
}

/// Appends an entry, stamped with the given time or the time now. When this returns the entry has
/// reached the disk: neither a killed program nor a power cut takes it away.
///
/// The file is locked meanwhile, so that two programs cannot give the same number; what another one
/// appended since is read first. The entry is written in one piece at the end of the file; nothing
/// that stands in it is touched. If writing breaks off, what was written is passed over by
/// [`Journal::read`], and the next entry starts on a line of its own.
pub fn append(path: &Path, who: &str, time: Option<&str>, event: Event) -> Result<Entry, Failure> {
    let failed = |error: std::io::Error| cannot("write", path, &reason(&error));
    let is_new = !path.exists();
    let file = OpenOptions::new()
        .create(true)
        .read(true)
        .append(true)
        .open(path)
        .map_err(failed)?;
    lock(&file, path)?;
    let journal = Journal::read(&content(&file, path)?);
    let stamp = Stamp {
        time: time.map_or_else(now, str::to_owned),
        who: who.to_owned(),
    };
    let next = journal.next(&stamp, event);
    (&file).write_all(&next.bytes).map_err(failed)?;
    file.sync_all().map_err(failed)?;
    if is_new {
        sync_folder(path);
    }
    // Closing the file gives the lock back.
    Ok(next.entry)
}

/// Waits for the file to be free of other writers.
fn lock(file: &File, path: &Path) -> Result<(), Failure> {
    let begun = Instant::now();
    loop {
        match file.try_lock() {
            Ok(()) => return Ok(()),
            Err(TryLockError::WouldBlock) if begun.elapsed() < PATIENCE => {
                std::thread::sleep(Duration::from_millis(5));
            }
            Err(TryLockError::WouldBlock) => {
                return Err(Failure::message(
                    format!("another program is writing to {}", path.display()),
                    "nothing was written; close the other one and try again",
                ));
            }
            Err(TryLockError::Error(error)) if error.kind() == ErrorKind::Unsupported => {
                return Ok(());
            }
            Err(TryLockError::Error(error)) => return Err(cannot("lock", path, &reason(&error))),
        }
    }
}

/// A new file is safe only when its folder has noted it.
fn sync_folder(path: &Path) {
    if cfg!(unix) {
        let folder = path.parent().filter(|folder| *folder != Path::new(""));
        // Some file systems cannot; the file itself is safe.
        let _ = File::open(folder.unwrap_or(Path::new("."))).and_then(|folder| folder.sync_all());
    }
}

fn content(file: &File, path: &Path) -> Result<Vec<u8>, Failure> {
    let failed = |error: std::io::Error| cannot("read", path, &reason(&error));
    if fs::metadata(path).is_ok_and(|data| data.is_dir()) {
        return Err(cannot("read", path, "it is a folder, a file is asked for"));
    }
    let mut bytes = Vec::new();
    file.take(LARGEST + 1)
        .read_to_end(&mut bytes)
        .map_err(failed)?;
    if bytes.len() as u64 > LARGEST {
        return Err(cannot(
            "read",
            path,
            "it is larger than 64 MB: is it a journal?",
        ));
    }
    Ok(bytes)
}

fn cannot(what: &str, path: &Path, why: &str) -> Failure {
    Failure::message(format!("cannot {what} {}: {why}", path.display()), "")
}
