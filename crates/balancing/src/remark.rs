//! What is to be said beside the numbers: of entries, calibrations, photos.

use house::model::Instrument;
use journal::{Entry, Event, time};

/// Something to be said about an entry of the journal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Remark {
    /// Number of the entry.
    pub entry: u64,
    /// What is odd about it, why, and what to do, in sentences.
    pub text: String,
}

/// What is to be said of the calibration of instruments on the day of the readings, or today where
/// nothing is read; it is written like 2026-05-12. A year is common practice; no published source.
pub fn calibrations<'a>(
    instruments: impl Iterator<Item = &'a Instrument>,
    day: &str,
    is_read: bool,
) -> Vec<String> {
    let Some(day) = time::day(day) else {
        return Vec::new();
    };
    instruments
        .filter_map(|instrument| {
            let calibrated = time::day(instrument.calibrated.as_deref()?)?;
            calibration(&instrument.name, calibrated, day, is_read)
        })
        .collect()
}

/// Dates in the order of ISO 8601 are in the order of time.
fn calibration(name: &str, calibrated: &str, day: &str, is_read: bool) -> Option<String> {
    let when = if is_read { "the readings of" } else { "today," };
    if calibrated > day {
        return Some(format!(
            "By the job file the {name} was calibrated on {calibrated}, which is after {when} {day}: look at the date in the file, and at the clock."
        ));
    }
    let (year, rest) = calibrated.split_at(4);
    let over = format!("{:04}{rest}", year.parse::<u32>().ok()? + 1);
    (over.as_str() < day).then(|| {
        format!(
            "The {name} was last calibrated on {calibrated}, more than a year before {when} {day}: have it compared with a calibrated one, and write the day into the job file. A year is common practice; no published source."
        )
    })
}

/// What is to be said of the photos that entries name: they lie beside the job, or in a folder there.
/// `exists` says whether there is such a file.
pub fn photos<'a>(
    entries: impl Iterator<Item = &'a Entry>,
    struck: impl Fn(u64) -> bool,
    exists: impl Fn(&str) -> bool,
) -> Vec<Remark> {
    entries
        .filter(|entry| !struck(entry.number))
        .filter_map(|entry| {
            let photo = match &entry.event {
                Event::Checked(checked) => &checked.photo,
                Event::Reading(reading) => &reading.photo,
                _ => return None,
            };
            let why = if photo.is_empty() {
                return None;
            } else if leaves_folder(photo) {
                "lies outside the folder of the job. It is not looked for: copy it beside the job and name it so"
            } else if exists(photo) {
                return None;
            } else {
                "is not beside the job: copy it there under this name"
            };
            Some(Remark {
                entry: entry.number,
                text: format!("Entry {}: the photo \"{photo}\" {why}.", entry.number),
            })
        })
        .collect()
}

/// Whether a name leads out of the folder in which it is looked for, on whatever system.
fn leaves_folder(name: &str) -> bool {
    let drive = name.as_bytes().get(1) == Some(&b':');
    drive || name.starts_with(['/', '\\']) || name.split(['/', '\\']).any(|part| part == "..")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_calibration_holds_a_year() {
        // (calibrated, day of the readings, what is said)
        for (calibrated, day, said) in [
            ("2026-02-17", "2026-05-12", None),
            ("2026-02-17", "2027-02-17", None),
            ("2026-02-17", "2027-02-18", Some("more than a year")),
            ("2024-02-29", "2025-02-28", None),
            ("2024-02-29", "2025-03-01", Some("more than a year")),
            ("2019-12-31", "2026-05-12", Some("more than a year")),
            ("2026-05-12", "2026-05-12", None),
            ("2026-05-13", "2026-05-12", Some("after the readings of")),
        ] {
            let text = calibration("manometer", calibrated, day, true);
            match said {
                None => assert_eq!(text, None, "{calibrated} {day}"),
                Some(said) => assert!(
                    text.as_ref().is_some_and(|text| text.contains(said)),
                    "{calibrated} {day}: {text:?}"
                ),
            }
        }
    }

    #[test]
    fn names_that_leave_the_folder() {
        for (name, leaves) in [
            ("trap.jpg", false),
            ("photos/trap.jpg", false),
            ("trap..jpg", false),
            ("../trap.jpg", true),
            ("photos/../../trap.jpg", true),
            ("photos\\..\\..\\trap.jpg", true),
            ("/home/trap.jpg", true),
            ("\\\\server\\trap.jpg", true),
            ("C:\\trap.jpg", true),
        ] {
            assert_eq!(leaves_folder(name), leaves, "{name}");
        }
    }
}
