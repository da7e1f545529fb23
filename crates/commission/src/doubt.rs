//! Readings that make no sense or do not fit, and why.
//!
//! A reading that does not fit is compared with what it would be if one single thing were wrong:
//! the hose on another tap, the two hoses exchanged, another unit, the blower in another mode, the
//! zero, the filter, a duct, a damper, a fan. Each cause is rated by how much more likely it makes
//! the reading, as twice the logarithm of the ratio of likelihoods (as χ² counts), less a toll for
//! how rare such a mistake is. Tolls and widths are a judgement, no published source.

use crate::error::Error;
use crate::faults::Suspect;
use crate::laplace::{Datum, Posterior};
use crate::network::{Kind, Network};
use crate::setup::{Place, Port, Reading, SetUp};
use crate::words::Words;
use house::model::{Mode, Setting, Side};
use plan::inputs::Slot;

/// What is wrong with a reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Trouble {
    /// Not a number at all.
    NotANumber,
    /// Beyond what the instrument can show.
    BeyondInstrument,
    /// Outside the chart or the range of the device.
    BeyondDevice,
    /// Negative where only positive makes sense: read with the hoses exchanged it is this.
    Swapped(f64),
    /// A blower mode that the survey does not know.
    UnknownMode(Mode),
    /// A setting that the unit does not have.
    UnknownSetting(Setting),
    /// A flow at a station of the ventilator while it stands.
    UnitOff,
    /// Far from what all other readings and the survey say: by so many standard deviations.
    DoesNotFit(f64),
}

/// A reading in doubt. It is kept whatever it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// The reading, by its index.
    pub reading: usize,
    /// What is wrong.
    pub trouble: Trouble,
    /// Whether it takes part in the estimate all the same.
    pub used: bool,
    /// Causes, the likeliest first; empty where the trouble is its own cause.
    pub causes: Vec<Cause>,
    /// What it means, in a sentence.
    pub text: String,
}

/// Why a reading may not fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Cause {
    /// What it is.
    pub what: What,
    /// Twice the logarithm of how much more likely it makes the reading.
    pub gain: f64,
    /// What it is, as a part of a sentence.
    pub phrase: String,
    /// The same in a sentence, with what to do.
    pub text: String,
}

/// A single cause.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum What {
    /// The hose was on another place.
    OtherPlace(Place),
    /// The hoses were exchanged.
    Swapped,
    /// The number was in another unit, so that it has to be multiplied by this.
    OtherUnit(&'static str, f64),
    /// The blower ran in another mode.
    OtherMode(Mode),
    /// The ventilator ran at another setting.
    OtherSetting(Setting),
    /// An unknown lies farther from the survey than was believed; its index among the unknowns.
    Unknown(usize),
}

impl Cause {
    /// The unknown of the house that explains the reading, if that is the cause. A zero or a
    /// calibration counts too: they are not mistakes of one reading.
    pub fn unknown(&self) -> Option<usize> {
        match self.what {
            What::Unknown(unknown) => Some(unknown),
            _ => None,
        }
    }
}

impl Doubt {
    /// The unknown of the house that explains the reading about as well as the likeliest cause does.
    pub fn house(&self) -> Option<usize> {
        let best = self.causes.first().map_or(0.0, |cause| cause.gain);
        self.causes
            .iter()
            .take_while(|cause| best - cause.gain < CLOSE)
            .find_map(Cause::unknown)
    }

    pub(crate) fn does_not_fit(
        set_up: &SetUp,
        reading: usize,
        surprise: f64,
        causes: Vec<Cause>,
        used: bool,
    ) -> Self {
        let place = set_up.name(set_up.readings()[reading].place);
        let cause = match causes.as_slice() {
            [] => "Nothing simple explains it: read it again.".to_owned(),
            [first, second, ..]
                if first.gain - second.gain < CLOSE
                    && let (What::OtherPlace(one), What::OtherPlace(other)) =
                        (first.what, second.what) =>
            {
                format!(
                    "It would fit {} or {}: look whether the hose was on the wrong tap.",
                    set_up.name(one),
                    set_up.name(other)
                )
            }
            [first, second, ..] if first.gain - second.gain < CLOSE => format!(
                "Either {} or {} explains it about as well. Take the reading that is asked for next before you look for either.",
                first.phrase, second.phrase
            ),
            [first, ..] => first.text.clone(),
        };
        let by_house = used && causes.first().and_then(Cause::unknown).is_some();
        let text = format!(
            "Reading {} ({place}) does not fit{}: it is {} than the survey and all other readings let expect, by {:.1} times the usual scatter. {cause}{}",
            reading + 1,
            if by_house { " the survey" } else { "" },
            if surprise > 0.0 { "higher" } else { "lower" },
            surprise.abs(),
            match (used, by_house) {
                (false, _) => " It is kept, but not used.",
                (true, true) => "",
                (true, false) => " With so few readings it stays in use: read it again.",
            }
        );
        Self {
            reading,
            trouble: Trouble::DoesNotFit(surprise),
            used,
            causes,
            text,
        }
    }
}

/// What can be said of a reading without any other.
pub fn at_sight(set_up: &SetUp, index: usize) -> Option<Doubt> {
    let reading = set_up.readings().get(index)?;
    let instrument = set_up.instruments().get(reading.instrument)?;
    let name = set_up.name(reading.place);
    let plain = |value| set_up.words().shown(set_up, reading.place, value);
    let number = index + 1;
    let doubt = |trouble, used, text: String| {
        Some(Doubt {
            reading: index,
            trouble,
            used,
            causes: Vec::new(),
            text,
        })
    };
    let value = reading.value;
    if !value.is_finite() {
        return doubt(
            Trouble::NotANumber,
            false,
            format!("Reading {number} ({name}) is not a number. It is kept, but not used."),
        );
    }
    if !(instrument.range[0]..=instrument.range[1]).contains(&value) {
        return doubt(
            Trouble::BeyondInstrument,
            false,
            format!(
                "Reading {number} ({name}) lies beyond what {} can show. Look at the unit that it was typed in. It is kept, but not used.",
                instrument.name
            ),
        );
    }
    let job = set_up.job();
    let modes = plan::case::blower_modes(job);
    if !modes.contains(&reading.blower) {
        return doubt(
            Trouble::UnknownMode(reading.blower),
            false,
            format!(
                "Reading {number} ({name}) was taken{}, which the survey does not have. Add that mode to the survey, or correct the reading. It is kept, but not used.",
                Words::with_blower(set_up, reading.blower)
            ),
        );
    }
    let unit = &job.units[set_up.plan().unit];
    let known = reading.setting == Setting::Off
        || unit
            .settings
            .iter()
            .any(|tested| tested.setting == reading.setting);
    if !known {
        return doubt(
            Trouble::UnknownSetting(reading.setting),
            false,
            format!(
                "Reading {number} ({name}) was taken at {}, a setting that {} does not have. It is kept, but not used.",
                reading.setting.name(),
                unit.name
            ),
        );
    }
    let deviation = f64::hypot(instrument.deviation(value), instrument.zero);
    if let Some(positive) = sign(reading)
        && value * positive < -GATE_OF_SIGN * deviation
    {
        return doubt(
            Trouble::Swapped(-value),
            false,
            format!(
                "Reading {number} ({name}) has the wrong sign for this place: the hoses were probably exchanged. If so it counts as {}. It is kept, but not used until you say so.",
                plain(-value)
            ),
        );
    }
    if let Place::Station(station) = reading.place {
        let station = &set_up.stations()[station];
        if reading.setting == Setting::Off
            && value.abs() > GATE_OF_SIGN * deviation
            && !matches!(station.stream, crate::setup::Stream::Blower)
        {
            return doubt(
                Trouble::UnitOff,
                true,
                format!(
                    "Reading {number} ({name}) shows air although the ventilator is said to be off: the blower drives air through the standing unit, or the setting was noted wrongly."
                ),
            );
        }
        if let Some([low, high]) = station.device.range()
            && !(0.7 * low..=1.3 * high).contains(&value.abs())
            && reading.setting != Setting::Off
        {
            return doubt(
                Trouble::BeyondDevice,
                true,
                format!(
                    "Reading {number} ({name}) lies outside the chart, which goes from {} to {}; the flow behind it is a continuation of the chart and less sure.",
                    plain(low),
                    plain(high)
                ),
            );
        }
    }
    None
}

/// A reading, and those in use of the same place in the same state that contradict it.
pub(crate) fn contradicted(set_up: &SetUp, data: &[Datum], used: &[bool], at: usize) -> Vec<usize> {
    let readings = set_up.readings();
    (0..readings.len())
        .filter(|&other| {
            other == at
                || used[other]
                    && readings[other].is_of_same(&readings[at])
                    && !agree(data[other], data[at])
        })
        .collect()
}

/// Whether two readings of one thing differ by no more than instruments do.
pub(crate) fn agree(a: Datum, b: Datum) -> bool {
    (a.value - b.value).abs() <= crate::estimate::GATE * f64::hypot(a.deviation, b.deviation)
}

/// Distance from zero in standard deviations from which a wrong sign is no accident.
const GATE_OF_SIGN: f64 = 3.0;

/// The sign that a reading must have while fans run, if it must have one.
fn sign(reading: &Reading) -> Option<f64> {
    let runs = reading.setting != Setting::Off;
    match reading.place {
        Place::Station(_) if runs => Some(1.0),
        Place::Plenum(side) if reading.blower != Mode::Off => Some(match side {
            Side::Return => -1.0,
            Side::Supply => 1.0,
        }),
        _ => None,
    }
}

/// Units that are mistaken for each other, and the factor that mends the number, for pressures.
const PRESSURE_UNITS: [(&str, f64); 4] = [
    ("it was read in inWC and noted as Pa", 249.088_91),
    ("it was read in Pa and noted as inWC", 1.0 / 249.088_91),
    ("it was read in mmWC and noted as Pa", 9.806_65),
    ("it was read in Pa and noted as mmWC", 1.0 / 9.806_65),
];

/// The same for flows.
const FLOW_UNITS: [(&str, f64); 4] = [
    ("it was read in L/s and noted as cfm", 2.118_88),
    ("it was read in cfm and noted as L/s", 1.0 / 2.118_88),
    ("it was read in m³/h and noted as L/s", 1.0 / 3.6),
    ("it was read in cfm and noted as m³/h", 1.699_01),
];

/// Tolls in χ²: a thing that happens every other time costs nothing.
const PLACE_TOLL: f64 = 4.0;
const SWAP_TOLL: f64 = 3.0;
const UNIT_TOLL: f64 = 4.0;
const MODE_TOLL: f64 = 5.0;
/// Causes whose gains differ by less are told as one of two: about four to one.
pub(crate) const CLOSE: f64 = 3.0;
/// Least gain of a cause worth naming: about three to one after its toll.
const LEAST_GAIN: f64 = 2.0;

/// Causes of a reading that does not fit, the likeliest first, from the posterior without it.
pub(crate) fn causes(
    network: &mut Network,
    posterior: &Posterior,
    data: &[Datum],
    at: usize,
    suspects: &[Suspect],
    found: &[usize],
) -> Result<Vec<Cause>, Error> {
    let set_up = network.set_up();
    let reading = set_up.readings()[at].clone();
    let datum = data[at];
    let (surprise, wide) = posterior.surprise(at, false);
    // −2 ln of the likelihood of the reading as it stands, by all others.
    let as_is = surprise * surprise + 2.0 * (wide * datum.deviation).ln();
    let mut causes = Vec::new();
    let mut propose = |what, gain: f64, phrase: String, text: String| {
        if gain > LEAST_GAIN {
            causes.push(Cause {
                what,
                gain,
                phrase,
                text,
            });
        }
    };
    // A reading that was noted wrongly: it belongs elsewhere, with a factor.
    let state = network.reading_state(at);
    let states = network.states().to_vec();
    let elsewhere = |network: &Network, place: Place, state: usize, factor: f64| -> f64 {
        let flows = &network.flows[state];
        let expected = network.shown(place, reading.instrument, flows, &posterior.scores);
        let slopes = network.shown_slopes(
            place,
            reading.instrument,
            flows,
            &network.slopes[state],
            &posterior.scores,
        );
        let value = factor * datum.value;
        let deviation = set_up.instruments()[reading.instrument].deviation(value);
        let spread = (posterior.variance(&slopes) + deviation * deviation).sqrt();
        let distance = (value - expected) / spread;
        as_is - (distance * distance + 2.0 * (spread / factor.abs()).ln())
    };
    let mut places: Vec<Place> = (0..set_up.stations().len()).map(Place::Station).collect();
    places.extend(Port::ALL.map(Place::Port));
    if set_up.job().air_handler.is_some() {
        places.extend([Side::Return, Side::Supply].map(Place::Plenum));
    }
    for place in places {
        if place == reading.place || set_up.shows_flow(place) != set_up.shows_flow(reading.place) {
            continue;
        }
        let gain = elsewhere(network, place, state, 1.0) - PLACE_TOLL;
        propose(
            What::OtherPlace(place),
            gain,
            format!("a hose on another place ({})", set_up.name(place)),
            format!(
                "It would fit {}: look whether the hose was on the wrong tap.",
                set_up.name(place)
            ),
        );
    }
    propose(
        What::Swapped,
        elsewhere(network, reading.place, state, -1.0) - SWAP_TOLL,
        "an exchange of the hoses".into(),
        "It would fit with the opposite sign: the hoses were probably exchanged.".into(),
    );
    let units = if set_up.shows_flow(reading.place) {
        FLOW_UNITS
    } else {
        PRESSURE_UNITS
    };
    for (words, factor) in units {
        propose(
            What::OtherUnit(words, factor),
            elsewhere(network, reading.place, state, factor) - UNIT_TOLL,
            "another unit".into(),
            format!(
                "It would fit if {words}; it would then count as {}.",
                set_up
                    .words()
                    .shown(set_up, reading.place, factor * reading.value)
            ),
        );
    }
    for (other, known) in states.iter().enumerate() {
        if other == state || known.dampers != states[state].dampers {
            continue;
        }
        let (case, here) = (known.case, states[state].case);
        let gain = elsewhere(network, reading.place, other, 1.0) - MODE_TOLL;
        if case.setting == here.setting && case.blower != here.blower {
            propose(
                What::OtherMode(case.blower),
                gain,
                format!("the blower in another mode ({})", case.blower.name()),
                format!(
                    "It would fit{}: look which mode was running.",
                    Words::with_blower(set_up, case.blower)
                ),
            );
        } else if case.blower == here.blower && case.setting != here.setting {
            propose(
                What::OtherSetting(case.setting),
                gain,
                format!("the ventilator at {}", case.setting.name()),
                format!(
                    "It would fit with the ventilator at {}: look at its setting.",
                    case.setting.name()
                ),
            );
        }
    }
    // Something that is not as the survey believed.
    let unknowns = network.unknowns().to_vec();
    // Something is wrong: which, by how often each is.
    let all: f64 = suspects.iter().map(|suspect| suspect.odds).sum();
    for (place, suspect) in suspects.iter().enumerate() {
        if found.contains(&place) {
            continue;
        }
        let k = suspect.unknown;
        let unknown = &unknowns[k];
        let times = suspect.width;
        let mean = posterior.scores[k];
        let variance = posterior.covariance(k, k);
        // What the others say of it, ∫ N(s; 0, w²)/N(s; 0, 1) · N(s; m, v) ds, as twice its
        // logarithm.
        let a = 1.0 - 1.0 / (times * times);
        let rest = (1.0 - variance * a).max(1e-6);
        let by_others = -2.0 * times.ln() - rest.ln() + a * mean * mean / rest;
        // And the reading itself, once the unknown is free to move.
        let shared = posterior.shared(at, k);
        let spread = (wide * wide + a * shared * shared / rest).sqrt();
        let distance = (surprise * wide - a * mean * shared / rest) / spread;
        let by_itself = as_is - (distance * distance + 2.0 * (spread * datum.deviation).ln());
        let gain = by_others + by_itself;
        let moved = mean
            + a * mean * variance / rest
            + (variance / rest) * (shared / variance.max(1e-12)) * distance / spread;
        let side = suspect.side(f64::from(u8::from(moved > 0.0)));
        propose(
            What::Unknown(k),
            gain + 2.0 * (side * suspect.odds / all).ln(),
            phrase(unknown.kind, &unknown.name, moved > 0.0),
            words(unknown.kind, &unknown.name, moved),
        );
    }
    causes.sort_by(|a, b| b.gain.total_cmp(&a.gain));
    causes.truncate(4);
    Ok(causes)
}

/// A fault as a part of a sentence.
pub(crate) fn phrase(kind: Kind, name: &str, more: bool) -> String {
    match kind {
        Kind::Zero(_) => "a zero that has drifted".into(),
        Kind::Gain(_) | Kind::Calibration(_) => format!("a {name} that does not hold"),
        Kind::Survey(Slot::Filter) if more => "a clogged furnace filter".into(),
        Kind::Survey(Slot::Filter) => "a furnace filter that is out".into(),
        Kind::Duct(port) if more => format!(
            "more resistance in the {} duct or its hood than planned",
            port.name()
        ),
        Kind::Duct(port) => format!("less resistance in the {} duct than planned", port.name()),
        Kind::Damper(damper, _) => {
            format!("a {} damper that is not where its mark says", damper.name())
        }
        Kind::Survey(Slot::SupplyFan) if !more => "a weak supply fan".into(),
        Kind::Survey(Slot::ExtractFan) if !more => "a weak extract fan".into(),
        Kind::Survey(_) => format!("an error of the survey ({name})"),
    }
}

/// What an unknown that lies off means, with what to look at.
fn words(kind: Kind, name: &str, score: f64) -> String {
    let more = score > 0.0;
    match kind {
        Kind::Zero(_) => "The zero of the manometer explains it: zero it with both hoses open and read again.".into(),
        Kind::Gain(_) => format!("The {name} explains it: compare the instrument with another."),
        Kind::Calibration(_) => format!(
            "The {name} explains it: look whether its taps are clean and tight, and whether the chart belongs to this unit."
        ),
        Kind::Survey(Slot::Filter) if more => {
            "A furnace filter that is dirtier or denser than in the survey explains it: look at the filter.".into()
        }
        Kind::Survey(Slot::Filter) => {
            "A furnace filter that is out or cleaner than in the survey explains it: look whether the filter is in its slot.".into()
        }
        Kind::Duct(port) if more => format!(
            "More resistance in the {} duct than planned explains it: look for a crushed or kinked duct, a closed damper or a blocked screen.",
            port.name()
        ),
        Kind::Duct(port) => format!(
            "Less resistance in the {} duct than planned explains it: look whether the duct is connected all the way.",
            port.name()
        ),
        Kind::Damper(damper, _) => format!(
            "The {} damper is not where its mark says: look at the blade.",
            damper.name()
        ),
        Kind::Survey(Slot::SupplyFan | Slot::ExtractFan) if !more => format!(
            "Less air than the certified curve explains it ({name}): look at the unit's filters and core, and at its setting."
        ),
        Kind::Survey(slot) => {
            let way = if more { "higher" } else { "lower" };
            let look = match slot {
                Slot::Flow(_) => "a blower flow",
                Slot::ReturnPressure(_) | Slot::SupplyPressure(_) => "a plenum pressure",
                _ => "something",
            };
            format!("It would fit if {name} were {way} than in the survey: look for {look} that has changed since.")
        }
    }
}
