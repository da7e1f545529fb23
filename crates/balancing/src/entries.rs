//! What is written into the journal when something is read or done.

use commission::Damped;
use commission::Place;
use commission::doubt::{Trouble, at_sight};
use house::model::{Mode, Setting};
use journal::{BlowerMode, DamperTurned, Event, Reading, Running, Stream, StruckOut};
use units::text::fixed;

use crate::day::{Day, Taken};
use crate::standing::Wanted;

/// The mode as the journal names it.
pub fn blower_mode(mode: Mode) -> BlowerMode {
    match mode {
        Mode::Off => BlowerMode::Off,
        Mode::Low => BlowerMode::Low,
        Mode::Heating => BlowerMode::Heating,
        Mode::Cooling => BlowerMode::Cooling,
    }
}

/// What runs from now on.
pub fn running(blower: Mode, setting: Setting) -> Event {
    Event::Running(Running {
        blower: blower_mode(blower),
        setting: setting.name().to_owned(),
    })
}

/// A damper was turned to this angle from open (°) by its mark.
pub fn turned(damper: Damped, angle: f64) -> Event {
    Event::Damper(DamperTurned {
        damper: match damper {
            Damped::Supply => Stream::Supply,
            Damped::Extract => Stream::Extract,
        },
        to: degrees(angle),
        note: String::new(),
    })
}

/// An angle without zeros at its end.
fn degrees(angle: f64) -> String {
    let text = fixed(angle, 1);
    format!("{} deg", text.strip_suffix(".0").unwrap_or(&text))
}

impl Day {
    /// A reading as the journal keeps it: with all that tells in which state it was taken.
    pub fn reading(&self, value: &str, wanted: Wanted) -> Reading {
        let instrument = self
            .instrument(wanted.place, "")
            .map(|at| self.set_up.instruments()[at].name.clone());
        Reading {
            at: self.set_up.name(wanted.place),
            value: value.to_owned(),
            blower: Some(blower_mode(wanted.blower)),
            setting: wanted.setting.name().to_owned(),
            supply_damper: degrees(self.angle(Damped::Supply)),
            extract_damper: degrees(self.angle(Damped::Extract)),
            instrument: instrument.unwrap_or_default(),
            ..Reading::default()
        }
    }

    /// What a reading counts as if its hoses were exchanged, where its sign cannot be.
    pub fn exchanged(&self, taken: &Taken) -> Option<(Place, f64)> {
        let place = self.set_up.readings()[taken.reading].place;
        match at_sight(&self.set_up, taken.reading)?.trouble {
            Trouble::Swapped(value) => Some((place, value)),
            _ => None,
        }
    }
}

/// Counts a reading with its sign turned: the entry is struck out, and the reading taken again.
pub fn exchange(entry: u64, reading: &Reading) -> [Event; 2] {
    let struck = StruckOut {
        entry,
        reason: "hoses exchanged".into(),
    };
    let turned = Reading {
        value: crate::value::turned(reading.value.trim()),
        note: format!("entry {entry} with its sign turned"),
        ..reading.clone()
    };
    [Event::StruckOut(struck), Event::Reading(turned)]
}
