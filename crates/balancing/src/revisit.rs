//! What a revisit reads again, and what the day of the record says of it.

use commission::{Error, Estimate, Place, Reading, drift};

use crate::day::Day;
use crate::standing::Wanted;

/// A reading of the day of the record that is taken again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Again {
    /// Where and in which state.
    pub wanted: Wanted,
    /// What the instrument showed on that day with the dampers as they were left; what it would have
    /// shown then, by all readings of that day, where it was read before a damper was turned.
    pub recorded: f64,
    /// Whether it was read so.
    pub was_read: bool,
}

/// The readings of the day of the record that a revisit takes first, each place once in each mode:
/// stations before other places, in the order of that day.
pub fn again(first: &Day, record: &Estimate) -> Vec<Again> {
    let readings = first.set_up.readings();
    let mut list: Vec<Again> = Vec::new();
    for taken in &first.taken {
        let reading = &readings[taken.reading];
        if reading.struck_out || !record.fits[taken.reading].used {
            continue;
        }
        let wanted = Wanted {
            place: reading.place,
            blower: reading.blower,
            setting: reading.setting,
        };
        let as_left = reading.dampers == first.dampers;
        match list.iter_mut().find(|known| known.wanted == wanted) {
            // The last one counts, as the dampers stood in the end.
            Some(known) if as_left => {
                known.recorded = reading.value;
                known.was_read = true;
            }
            Some(_) => {}
            None => list.push(Again {
                wanted,
                recorded: reading.value,
                was_read: as_left,
            }),
        }
    }
    list.retain_mut(|again| again.was_read || expected(first, record, again));
    list.sort_by_key(|again| !matches!(again.wanted.place, Place::Station(_)));
    list
}

/// Puts in what a station would have shown as the dampers were left. Whether that is known.
fn expected(first: &Day, record: &Estimate, again: &mut Again) -> bool {
    let Place::Station(station) = again.wanted.place else {
        return false;
    };
    let state = first
        .set_up
        .state(again.wanted.blower, again.wanted.setting, first.dampers);
    let shown = record.station(&first.set_up, station, &state);
    if let Some(shown) = shown {
        again.recorded = shown.value;
    }
    shown.is_some()
}

/// Whether a reading of a revisit is of the place and state of one of the record.
pub fn is_of(reading: &Reading, again: &Again) -> bool {
    let wanted = again.wanted;
    !reading.struck_out
        && (reading.place, reading.blower, reading.setting)
            == (wanted.place, wanted.blower, wanted.setting)
}

/// Distance from the record (standard deviations) from which a single reading is told to have
/// drifted: one in twenty lies farther by chance.
pub const VISIBLE: f64 = 2.0;

/// What a single reading says, in a sentence: its distance from the record in standard deviations,
/// and its change as a part of what was recorded, where that is known.
pub fn words(surprise: f64, change: Option<f64>) -> String {
    let deviations = format!("{:.1} standard deviations", surprise.abs());
    let change = change.map_or(String::new(), |change| {
        format!(
            "{:.0} % {} than recorded, ",
            100.0 * change.abs(),
            if change > 0.0 { "more" } else { "less" }
        )
    });
    if surprise.abs() < VISIBLE {
        format!("No drift to be seen here: {change}{deviations} from what the record expects.")
    } else {
        format!("It has drifted: {change}{deviations} from what the record expects.")
    }
}

/// A revisit compared with its record, reading by reading.
#[derive(Debug, Clone)]
pub struct Compared {
    /// The comparison.
    pub comparison: drift::Comparison,
    /// The readings that it uses, as indices of the revisit, in the order of its surprises.
    pub used: Vec<usize>,
}

impl Compared {
    /// Whether a revisit has a reading that can be compared.
    pub fn is_possible(revisit: &Day) -> bool {
        usable(revisit).next().is_some()
    }

    /// Compares.
    ///
    /// # Errors
    /// A revisit without usable readings, and a network that cannot be solved.
    pub fn of(record: &Estimate, revisit: &Day) -> Result<Self, Error> {
        Ok(Self {
            comparison: drift::compare(record, &revisit.set_up)?,
            used: usable(revisit).collect(),
        })
    }

    /// Distance of a reading of the revisit from what the record expects, in standard deviations;
    /// absent where it is not used.
    pub fn surprise(&self, reading: usize) -> Option<f64> {
        let at = self.used.iter().position(|&used| used == reading)?;
        self.comparison.surprises.get(at).copied()
    }
}

/// The readings that a comparison uses.
fn usable(revisit: &Day) -> impl Iterator<Item = usize> {
    let readings = revisit.set_up.readings();
    (0..readings.len()).filter(move |&at| {
        !readings[at].struck_out
            && commission::doubt::at_sight(&revisit.set_up, at).is_none_or(|it| it.used)
    })
}
