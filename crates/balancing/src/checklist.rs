//! The checks of the set-up day: what this plan in this house needs to be looked at.

use house::model::{Interlock, Job, Mode, Setting, Venting};
use journal::{CheckResult, Combustion, Entry, Event};
use plan::Plan;

use crate::combustion::{Compared, Judgement, compared};
use crate::day::Day;
use crate::remark::Remark;

/// Mains power, said the same everywhere.
const MAINS: &str = "Mains wiring is for licensed people under the local code.";
/// Combustion: who may test, and what to do when gases or carbon monoxide are found, said the same
/// everywhere.
pub const COMBUSTION: &str = "A test of combustion safety is for people trained and licensed for it, by the local code and the appliance's papers. If gases spill: stop, switch the appliance off, air the house, call the licensed service. If a carbon monoxide alarm sounds or anyone feels unwell: leave the house, let air in on the way, call the emergency service from outside.";
/// The steps of a depressurisation test, in their order. `____` is filled in.
pub const WORKSHEET: [&str; 8] = [
    "Wind is light. Windows and outer doors are shut, fireplaces are out and shut, filters are clean. A carbon monoxide alarm is worn.  Carbon monoxide in the room: ________ ppm",
    "Everything is off, also the ventilator and the blower: pressure of the appliance's zone against outdoors.  Base: ________ Pa",
    "Every exhaust is on at its highest: kitchen, baths, dryer. The ventilator runs as it was set up.",
    "Inner doors and the blower stand so that the zone is drawn down most: try each door, with and without the blower.",
    "Pressure of the zone against outdoors in the worst state.  Worst: ________ Pa   State: ________________________",
    "Again with the supply fan of the ventilator stopped, as in some defrosts.  Worst: ________ Pa",
    "Worst less base: ________ Pa. The safety report of the job names the limit of each appliance and whose it is; the appliance's own papers come first.",
    "In the worst state fire each appliance, the smallest first, and watch its draft hood with smoke or a mirror: after how long does it draw? Measure the draft, and carbon monoxide in the flue before any dilution when it burns steadily.",
];

/// What the worksheet says where nothing is to be tested.
pub fn nothing_to_test(job: &Job) -> &'static str {
    if job.nothing_burns || !job.appliances.is_empty() {
        "The survey knows no appliance that could spill its gases into the house."
    } else {
        "The survey does not say what burns in the house: look, and add it to the survey, or that nothing burns."
    }
}

/// Ladders, said the same everywhere.
const LADDER: &str = "On a ladder work with a second person and three points of contact.";

/// One thing to be looked at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Item {
    /// Its name for `--done`.
    pub key: &'static str,
    /// What has to be so, in a sentence.
    pub text: String,
    /// Who may do it, or what to take care of.
    pub caution: Option<&'static str>,
}

/// An item with how it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Checked {
    /// The item.
    pub item: Item,
    /// How it ended; nothing if nobody has said.
    pub result: Option<CheckResult>,
    /// By which entries of the journal, and what they remark.
    pub because: String,
    /// Photo, as named in the journal; may be empty.
    pub photo: String,
}

impl Checked {
    /// What is still to be done about it, if anything: "the hoods are not checked".
    pub fn open(&self) -> Option<String> {
        let what = match self.item.key {
            "power" => "the power supply is",
            "insulation" => "the insulation of the ducts is",
            "hoods" => "the hoods are",
            "filters" => "the filters are",
            "dampers" => "the dampers are",
            "labels" => "the labels are",
            "combustion" => "the combustion test is",
            "sound" => "the sound of the unit is",
            other => return self.state().map(|state| format!("the {other} is {state}")),
        };
        self.state().map(|state| format!("{what} {state}"))
    }

    fn state(&self) -> Option<&'static str> {
        match self.result {
            Some(CheckResult::Good | CheckResult::NotApplicable) => None,
            Some(CheckResult::NotGood) => Some("not good"),
            None => Some("not checked"),
        }
    }
}

/// What has to be looked at for a plan.
pub fn items(job: &Job, plan: &Plan) -> Vec<Item> {
    let unit = &job.units[plan.unit];
    let spot = &job.spots[plan.spot];
    let intake = &job.terminals[plan.intake].name;
    let exhaust = &job.terminals[plan.exhaust].name;
    let item = |key, text: String, caution| Item { key, text, caution };
    let mut list = vec![item(
        "power",
        format!(
            "{} in {} has power from an outlet or a circuit of its own, can be switched off within reach, and starts at every setting.",
            unit.name, spot.name
        ),
        Some(MAINS),
    )];
    if unit.needs_drain {
        list.push(item(
            "drain",
            "The drain falls all the way and cannot freeze, there is water in its trap, and a cup of water poured into the unit runs off.".into(),
            None,
        ));
    }
    list.push(item(
        "insulation",
        "The insulation of the outdoor and the exhaust duct has no gap from the unit to the wall, and its jacket is sealed at every joint.".into(),
        None,
    ));
    let hoods = if plan.two_in_one() {
        format!(
            "The hood {intake} sits with its intake and exhaust the right way round, its screen is clean, nothing lies before it."
        )
    } else {
        format!(
            "{intake} opens downward and away from the exhaust, its screen is clean; the flap of {exhaust} opens and shuts freely; nothing lies before them."
        )
    };
    list.push(item("hoods", hoods, Some(LADDER)));
    list.push(item(
        "filters",
        "The filters of the unit and of the air handler are in and clean; the core sits tight."
            .into(),
        None,
    ));
    list.push(item(
        "dampers",
        "Both balancing dampers are locked, and their marks are written on the ducts.".into(),
        None,
    ));
    list.push(item(
        "labels",
        "The four ducts, the dampers, the switch and the controls carry labels; the date and the name of who set it up stand on the unit.".into(),
        None,
    ));
    if job.air_handler.is_some() {
        list.push(item(
            "interlock",
            match plan.interlock {
                Interlock::None => "The ventilator runs whether the blower runs or not, as planned: a flow is read in both.".into(),
                Interlock::VentilatorCallsBlower => "The ventilator calls the blower: a flow is read in two blower modes at least, and the blower starts when the ventilator does.".into(),
                Interlock::OnlyWithBlower => "The ventilator runs only with the blower: a flow is read while the blower runs, and none is found when it stands.".into(),
            },
            Some(MAINS),
        ));
    }
    if !burning(job).is_empty() {
        list.push(item(
            "combustion",
            format!(
                "The combustion test of every appliance that could spill ({}) is done with the ventilator as set up, and its result is entered.",
                burning(job).join(", ")
            ),
            Some(COMBUSTION),
        ));
    }
    list.push(item(
        "sound",
        "The unit is heard at its setting in the nearest bedroom with the door shut: the reading, or what it is like, is noted.".into(),
        None,
    ));
    list
}

/// Appliances whose gases could come into the house.
pub fn burning(job: &Job) -> Vec<String> {
    job.appliances
        .iter()
        .filter(|appliance| appliance.venting != Some(Venting::Sealed))
        .map(|appliance| appliance.name.clone())
        .collect()
}

/// How the list stands by the entries of a journal.
pub fn checked(
    job: &Job,
    day: &Day,
    entries: &[&Entry],
    struck: &dyn Fn(u64) -> bool,
) -> Vec<Checked> {
    items(job, day.set_up.plan())
        .into_iter()
        .map(|item| one(job, day, item, entries, struck))
        .collect()
}

fn one(
    job: &Job,
    day: &Day,
    item: Item,
    entries: &[&Entry],
    struck: &dyn Fn(u64) -> bool,
) -> Checked {
    let said = entries.iter().rev().find_map(|entry| match &entry.event {
        Event::Checked(checked) if checked.item == item.key && !struck(entry.number) => {
            Some((entry.number, checked))
        }
        _ => None,
    });
    if let Some((number, said)) = said {
        let mut because = format!("entry {number}");
        if !said.note.is_empty() {
            because.push_str(": ");
            because.push_str(&said.note);
        }
        return Checked {
            item,
            result: Some(said.result),
            because,
            photo: said.photo.clone(),
        };
    }
    let (result, because) = match item.key {
        "interlock" => interlock(day),
        "combustion" => combustion(job, entries, struck),
        _ => (None, String::new()),
    };
    Checked {
        item,
        result,
        because,
        photo: String::new(),
    }
}

/// What the readings prove of the interlock.
fn interlock(day: &Day) -> (Option<CheckResult>, String) {
    let mut running: Vec<(Mode, u64)> = Vec::new();
    let mut standing = None;
    for taken in &day.taken {
        let reading = &day.set_up.readings()[taken.reading];
        if reading.struck_out {
            continue;
        }
        if reading.setting != Setting::Off
            && !running.iter().any(|(mode, _)| *mode == reading.blower)
        {
            running.push((reading.blower, taken.entry));
        }
        if reading.setting == Setting::Off && reading.blower == Mode::Off {
            standing = Some(taken.entry);
        }
    }
    let modes: Vec<String> = running
        .iter()
        .map(|(mode, entry)| match mode {
            Mode::Off => format!("off (entry {entry})"),
            mode => format!("in {} (entry {entry})", mode.name()),
        })
        .collect();
    let enough = match day.set_up.plan().interlock {
        Interlock::OnlyWithBlower => !running.is_empty() && standing.is_some(),
        _ => running.len() >= 2,
    };
    if enough {
        (
            Some(CheckResult::Good),
            format!("read with the blower {}", modes.join(", ")),
        )
    } else if modes.is_empty() {
        (None, "nothing is read yet".into())
    } else {
        (
            None,
            format!(
                "read only with the blower {}: read in another mode too",
                modes.join(", ")
            ),
        )
    }
}

/// A combustion test that counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Tested<'a> {
    /// Number of its entry.
    pub entry: u64,
    /// Its values, as typed.
    pub test: &'a Combustion,
    /// What its values say by the rows of the job's rules.
    pub compared: Vec<Compared>,
}

impl Tested<'_> {
    /// How it ended: as entered, but not good if a value breaks a row that may decide.
    fn result(&self) -> Option<CheckResult> {
        if self.breaks() && self.test.result == Some(CheckResult::Good) {
            Some(CheckResult::NotGood)
        } else {
            self.test.result
        }
    }

    fn breaks(&self) -> bool {
        self.compared
            .iter()
            .any(|it| it.judgement == Judgement::Breaks)
    }

    /// What has to be looked at, in sentences; nothing where all that was entered is kept.
    pub fn remarks(&self) -> Vec<Remark> {
        let mut list: Vec<String> = self
            .compared
            .iter()
            .filter(|it| it.judgement != Judgement::Kept)
            .map(|it| it.text.clone())
            .collect();
        if self.breaks() && self.test.result == Some(CheckResult::Good) {
            list.push("It was entered as good: whoever tests and the local code decide. Have it tested again, or put the limit that holds here into the job file with its reason.".into());
        }
        list.into_iter()
            .map(|text| Remark {
                entry: self.entry,
                text: format!("Entry {}, {}: {text}", self.entry, self.test.appliance),
            })
            .collect()
    }
}

/// The combustion tests that count, each compared with the rules of the job. The outdoor temperature
/// is that of the day on which they were entered.
pub fn tests<'a>(
    job: &Job,
    entries: &[&'a Entry],
    struck: &dyn Fn(u64) -> bool,
) -> Vec<Tested<'a>> {
    let mut outdoor = "";
    let mut list = Vec::new();
    for entry in entries.iter().filter(|entry| !struck(entry.number)) {
        match &entry.event {
            Event::SetUp(visit) | Event::Revisit(visit) => outdoor = &visit.outdoor,
            Event::Combustion(test) => list.push(Tested {
                entry: entry.number,
                test,
                compared: compared(job, test, outdoor),
            }),
            _ => {}
        }
    }
    list
}

/// The combustion tests that were entered.
fn combustion(
    job: &Job,
    entries: &[&Entry],
    struck: &dyn Fn(u64) -> bool,
) -> (Option<CheckResult>, String) {
    let tests = tests(job, entries, struck);
    let mut missing = Vec::new();
    let mut bad = Vec::new();
    let mut good = Vec::new();
    for appliance in burning(job) {
        let tested = tests
            .iter()
            .rev()
            .find(|tested| tested.test.appliance.eq_ignore_ascii_case(&appliance));
        match tested.map(|tested| (tested.entry, tested.result())) {
            Some((entry, Some(CheckResult::NotGood))) => {
                bad.push(format!("{appliance} by entry {entry}"));
            }
            Some((entry, Some(_))) => good.push(format!("{appliance} by entry {entry}")),
            _ => missing.push(appliance),
        }
    }
    if !bad.is_empty() {
        (Some(CheckResult::NotGood), bad.join(", "))
    } else if missing.is_empty() {
        (Some(CheckResult::Good), good.join(", "))
    } else {
        (None, format!("still to be entered: {}", missing.join(", ")))
    }
}
