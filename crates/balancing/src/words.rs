//! Sentences and figures of the set-up day that every surface shows.

use commission::doubt::Doubt;
use commission::{Damped, Place, Verdict};
use house::model::{Job, Mode, Setting};
use units::text::{fixed, true_minus};
use units::{Pressure, Quantity, System, VolumeFlow, both};

use crate::day::Day;

/// A verdict in words.
pub fn verdict(verdict: &Verdict) -> &'static str {
    match verdict {
        Verdict::Done => "done",
        Verdict::Turn => "turn",
        Verdict::ReadMore => "read more",
        Verdict::NotProvable => "not provable",
        Verdict::CannotBeDone => "cannot be done",
    }
}

/// A probability in per cent.
///
/// ```
/// assert_eq!(balancing::words::sure(0.834), "83 %");
/// assert_eq!(balancing::words::sure(0.9999), "more than 99 %");
/// ```
pub fn sure(probability: f64) -> String {
    match 100.0 * probability {
        percent if percent > 99.5 => "more than 99 %".into(),
        percent if percent < 0.5 => "less than 1 %".into(),
        percent => format!("{} %", fixed(percent, 0)),
    }
}

/// What an instrument shows at a place, with both units.
pub fn shown(day: &Day, place: Place, value: f64, system: System) -> String {
    let text = if day.set_up.shows_flow(place) {
        both(VolumeFlow::from_si(value), system)
    } else {
        both(Pressure::from_si(value), system)
    };
    true_minus(text)
}

/// The same in one unit.
pub fn plain_shown(day: &Day, place: Place, value: f64, system: System) -> String {
    let text = if day.set_up.shows_flow(place) {
        VolumeFlow::from_si(value).show(system)
    } else {
        Pressure::from_si(value).show(system)
    };
    true_minus(text)
}

/// How both dampers stand, in words.
pub fn damper_words(day: &Day) -> String {
    let words = |damper: Damped| match day.angle(damper) {
        angle if angle <= 0.5 => format!("{} damper open", damper.name()),
        angle => format!("{} damper at {}°", damper.name(), fixed(angle, 0)),
    };
    format!("{}, {}", words(Damped::Supply), words(Damped::Extract))
}

/// A doubt, which names its entry in the journal instead of its place among the readings.
pub fn by_entry(day: &Day, doubt: &Doubt) -> String {
    match day.entry(doubt.reading) {
        Some(entry) => doubt.text.replacen(
            &format!("Reading {} ", doubt.reading + 1),
            &format!("Entry {entry} "),
            1,
        ),
        None => doubt.text.clone(),
    }
}

/// The blower in words.
pub fn blower_words(mode: Mode) -> String {
    match mode {
        Mode::Off => "blower off".to_owned(),
        mode => format!("blower in {}", mode.name()),
    }
}

/// Several modes of the blower in words: `blower off, and in low, heating`.
///
/// ```
/// use balancing::words::modes_words;
/// use house::model::Mode;
/// assert_eq!(modes_words(&[Mode::Low, Mode::Off]), "blower off, and in low");
/// assert_eq!(modes_words(&[Mode::Low, Mode::Heating]), "blower in low, heating");
/// ```
pub fn modes_words(modes: &[Mode]) -> String {
    let running: Vec<&str> = modes
        .iter()
        .filter(|&&mode| mode != Mode::Off)
        .map(|mode| mode.name())
        .collect();
    match (running.is_empty(), running.len() == modes.len()) {
        (true, _) => "blower off".to_owned(),
        (false, true) => format!("blower in {}", running.join(", ")),
        (false, false) => format!("blower off, and in {}", running.join(", ")),
    }
}

/// What runs, in words.
pub fn running_words(job: &Job, blower: Mode, setting: Setting) -> String {
    if job.air_handler.is_some() {
        format!("{}, ventilator at {}", blower_words(blower), setting.name())
    } else {
        format!("ventilator at {}", setting.name())
    }
}
