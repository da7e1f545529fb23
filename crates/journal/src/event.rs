//! What may stand in a journal.

use serde::{Deserialize, Serialize};

/// When something happened, and who wrote it down.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stamp {
    /// Time with its zone, as in RFC 3339: `2026-05-12T09:14:03-05:00`.
    pub time: String,
    /// Who; may be empty.
    pub who: String,
}

impl Stamp {
    /// A stamp.
    pub fn new(time: &str, who: &str) -> Self {
        Self {
            time: time.to_owned(),
            who: who.to_owned(),
        }
    }
}

/// One line of a journal that was understood.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Its number: one more than the greatest before it.
    pub number: u64,
    /// When, with the zone.
    pub time: String,
    /// Who wrote it.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub who: String,
    /// What.
    #[serde(flatten)]
    pub event: Event,
    /// SHA-256 of the line before it, in hexadecimal digits; zeros in the first line.
    pub previous: String,
}

/// What happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "event")]
pub enum Event {
    /// The set-up day begins.
    #[serde(rename = "set-up begun")]
    SetUp(Visit),
    /// A revisit begins.
    #[serde(rename = "revisit begun")]
    Revisit(Visit),
    /// Blower mode or setting of the ventilator was changed.
    #[serde(rename = "running")]
    Running(Running),
    /// A damper was turned.
    #[serde(rename = "damper turned")]
    Damper(DamperTurned),
    /// A number was read.
    #[serde(rename = "reading")]
    Reading(Reading),
    /// An earlier entry does not count.
    #[serde(rename = "struck out")]
    StruckOut(StruckOut),
    /// An item of the list of the day was checked.
    #[serde(rename = "checked")]
    Checked(ItemChecked),
    /// Values of a test of combustion safety.
    #[serde(rename = "combustion test")]
    Combustion(Combustion),
    /// A remark.
    #[serde(rename = "note")]
    Note {
        /// What was remarked.
        text: String,
    },
    /// The record was signed off.
    #[serde(rename = "signed off")]
    SignedOff(SignedOff),
}

impl Event {
    /// Names of the events that this version knows, as they stand in the file.
    pub const NAMES: [&'static str; 10] = [
        "set-up begun",
        "revisit begun",
        "running",
        "damper turned",
        "reading",
        "struck out",
        "checked",
        "combustion test",
        "note",
        "signed off",
    ];

    /// What happened, in words.
    ///
    /// ```
    /// use journal::{DamperTurned, Event, Stream};
    /// let turned = DamperTurned {
    ///     damper: Stream::Extract,
    ///     to: "54 deg".into(),
    ///     note: "locked".into(),
    /// };
    /// assert_eq!(
    ///     Event::Damper(turned).words(),
    ///     "extract damper turned to 54 deg; locked"
    /// );
    /// ```
    pub fn words(&self) -> String {
        let mut text = String::new();
        let mut with = |before: &str, more: &str| {
            if !more.is_empty() {
                text.push_str(before);
                text.push_str(more);
            }
        };
        match self {
            Self::SetUp(visit) | Self::Revisit(visit) => {
                let begun = match self {
                    Self::SetUp(_) => "set-up begun",
                    _ => "revisit begun",
                };
                with("", begun);
                with(", outdoors ", &visit.outdoor);
                with(", indoors ", &visit.indoor);
                with("; ", &visit.note);
            }
            Self::Running(running) => {
                with("blower ", running.blower.name());
                with(", ventilator ", &running.setting);
            }
            Self::Damper(turned) => {
                with("", turned.damper.name());
                with(" damper turned to ", &turned.to);
                with("; ", &turned.note);
            }
            Self::Reading(reading) => {
                with("", &reading.at);
                with(" reads ", &reading.value);
                with(", blower ", reading.blower.map_or("", BlowerMode::name));
                with(", ventilator ", &reading.setting);
                with(", supply damper at ", &reading.supply_damper);
                with(", extract damper at ", &reading.extract_damper);
                with(", with ", &reading.instrument);
                with("; ", &reading.note);
                with("; photo ", &reading.photo);
            }
            Self::StruckOut(struck) => {
                with("entry ", &struck.entry.to_string());
                with(" struck out: ", &struck.reason);
            }
            Self::Checked(checked) => {
                with("", &checked.item);
                with(": ", checked.result.name());
                with("; ", &checked.note);
                with("; photo ", &checked.photo);
            }
            Self::Combustion(test) => {
                with("combustion test of ", &test.appliance);
                with(", base pressure ", &test.base_pressure);
                with(", worst pressure ", &test.worst_pressure);
                with(" with ", &test.state);
                with(", vent: ", &test.spillage);
                with(", draft ", &test.draft);
                with(", carbon monoxide in the flue ", &test.carbon_monoxide);
                with(", in the room ", &test.room_carbon_monoxide);
                with(", by ", &test.tester);
                with(": ", test.result.map_or("", CheckResult::name));
                with("; ", &test.note);
            }
            Self::Note { text: note } => with("", note),
            Self::SignedOff(signed) => {
                with("signed off: ", &signed.record);
                with(", although ", &signed.although);
            }
        }
        text
    }
}

/// Weather and helpers of a day.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Visit {
    /// Name of the job.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub job: String,
    /// Outdoor temperature, as typed.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub outdoor: String,
    /// Indoor temperature, as typed.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub indoor: String,
    /// What else is to be said.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// A mode of the blower.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum BlowerMode {
    /// Standing still.
    Off,
    /// Continuous low speed.
    Low,
    /// Heating speed.
    Heating,
    /// Cooling speed.
    Cooling,
}

impl BlowerMode {
    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Off => "off",
            Self::Low => "low",
            Self::Heating => "heating",
            Self::Cooling => "cooling",
        }
    }
}

/// What runs from now on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Running {
    /// Blower mode.
    pub blower: BlowerMode,
    /// Setting of the ventilator: off, low, high, boost.
    pub setting: String,
}

/// A stream with a damper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Stream {
    /// Supply air.
    Supply,
    /// Extract air.
    Extract,
}

impl Stream {
    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Supply => "supply",
            Self::Extract => "extract",
        }
    }
}

/// A damper was turned.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DamperTurned {
    /// Which one.
    pub damper: Stream,
    /// Angle from open by its mark, as typed: `35 deg`.
    pub to: String,
    /// What else is to be said.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// A number that was read.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Reading {
    /// Station or place.
    pub at: String,
    /// The value as it was typed, with its unit: `0.214 inWC`.
    pub value: String,
    /// Blower mode, if it is said; otherwise as it ran before.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blower: Option<BlowerMode>,
    /// Setting of the ventilator.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub setting: String,
    /// Angle of the supply damper by its mark, as typed.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub supply_damper: String,
    /// Angle of the extract damper by its mark, as typed.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub extract_damper: String,
    /// Instrument.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub instrument: String,
    /// What else is to be said.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// File name of a photo of the display, beside the job.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub photo: String,
}

/// An earlier entry does not count.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct StruckOut {
    /// Number of the entry.
    pub entry: u64,
    /// Why.
    pub reason: String,
}

/// How a check ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum CheckResult {
    /// As it should be.
    #[serde(rename = "good")]
    Good,
    /// Not as it should be.
    #[serde(rename = "not good")]
    NotGood,
    /// Does not concern this house.
    #[serde(rename = "not applicable")]
    NotApplicable,
}

impl CheckResult {
    /// All results.
    pub const ALL: [Self; 3] = [Self::Good, Self::NotGood, Self::NotApplicable];

    /// The words for it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::NotGood => "not good",
            Self::NotApplicable => "not applicable",
        }
    }
}

/// An item of the list of the day was checked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ItemChecked {
    /// Key of the item.
    pub item: String,
    /// How it ended.
    pub result: CheckResult,
    /// What else is to be said.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// File name of a photo, beside the job.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub photo: String,
}

/// Values of a test of combustion safety, as typed by the person who is allowed to do it.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Combustion {
    /// The appliance.
    pub appliance: String,
    /// Who did the test, with the licence.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub tester: String,
    /// Pressure of the zone against outdoors with everything off.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub base_pressure: String,
    /// The same in the worst state.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub worst_pressure: String,
    /// The worst state: fans, doors, blower, ventilator.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub state: String,
    /// What the vent did, for instance "draws after 2 min".
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub spillage: String,
    /// Pressure of the vent against the room at steady state, negative where it draws.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub draft: String,
    /// Carbon monoxide in the flue.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub carbon_monoxide: String,
    /// Carbon monoxide in the air of the room.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub room_carbon_monoxide: String,
    /// How it ended.
    pub result: Option<CheckResult>,
    /// What else is to be said.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
}

/// The record was signed off.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SignedOff {
    /// Name of the record's file.
    pub record: String,
    /// SHA-256 of the record.
    pub sha256: String,
    /// Why it was signed although something was open; empty if nothing was.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub although: String,
}
