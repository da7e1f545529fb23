//! One complete candidate, and every candidate that a survey allows.

use crate::rules::Rules;
use ::rules::Row;
use house::model::{ChosenPlan, End, Entry, Interlock, Job, Layout, Setting, Side};

/// One complete candidate: unit, spot, layout, taps, ducts, terminals, interlock and dampers.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Index into the job's units.
    pub unit: usize,
    /// Setting at which the rate is met.
    pub setting: Setting,
    /// Index into the job's spots.
    pub spot: usize,
    /// Layout.
    pub layout: Layout,
    /// Taps or grilles from which extract air is drawn.
    pub extract: Vec<End>,
    /// Taps or grilles to which supply air goes.
    pub supply: Vec<End>,
    /// How the supply duct ends in an existing duct.
    pub entry: Entry,
    /// Index of the intake into the job's terminals.
    pub intake: usize,
    /// Index of the exhaust into the job's terminals.
    pub exhaust: usize,
    /// Inner diameter of the new ducts (m).
    pub diameter: f64,
    /// Interlock of ventilator and blower.
    pub interlock: Interlock,
    /// Angle of the balancing damper in the supply stream (°), 0 open.
    pub supply_damper: f64,
    /// Angle of the balancing damper in the extract stream (°), 0 open.
    pub extract_damper: f64,
}

impl Plan {
    /// The plan that a job file names, dampers open where it gives no angle.
    pub fn from_chosen(chosen: &ChosenPlan) -> Self {
        Self {
            unit: chosen.unit,
            setting: chosen.setting,
            spot: chosen.spot,
            layout: chosen.layout,
            extract: chosen.extract.clone(),
            supply: chosen.supply.clone(),
            entry: chosen.entry,
            intake: chosen.intake,
            exhaust: chosen.exhaust,
            diameter: chosen.diameter,
            interlock: chosen.interlock,
            supply_damper: chosen.supply_damper.unwrap_or(0.0),
            extract_damper: chosen.extract_damper.unwrap_or(0.0),
        }
    }

    /// The same plan in another state of its job, found by the names of its parts; `None` if one of
    /// them is no longer there.
    ///
    /// ```
    /// # let source = diagnostics::Source::new("job.toml", house::file::starter());
    /// # let job = house::file::read(&source, &mut |_| Err(String::new())).job.expect("a job");
    /// let plan = &plan::candidate::candidates(&job).plans[0];
    /// assert_eq!(plan.carried(&job, &job).as_ref(), Some(plan));
    /// ```
    pub fn carried(&self, from: &Job, to: &Job) -> Option<Self> {
        fn place<T>(from: &[T], at: usize, to: &[T], name: fn(&T) -> &str) -> Option<usize> {
            let wanted = name(from.get(at)?);
            to.iter().position(|other| name(other) == wanted)
        }
        let tap = |at| place(&from.taps, at, &to.taps, |tap| &tap.name);
        let grille = |at| place(&from.grilles, at, &to.grilles, |grille| &grille.name);
        let terminal = |at| {
            place(&from.terminals, at, &to.terminals, |terminal| {
                &terminal.name
            })
        };
        let end = |end: &End| {
            Some(match *end {
                End::Tap(at) => End::Tap(tap(at)?),
                End::Grille(at) => End::Grille(grille(at)?),
                End::Terminal(at) => End::Terminal(terminal(at)?),
            })
        };
        let unit = place(&from.units, self.unit, &to.units, |unit| &unit.name)?;
        let tested = &to.units.get(unit)?.settings;
        if !tested.iter().any(|tested| tested.setting == self.setting) {
            return None;
        }
        Some(Self {
            unit,
            spot: place(&from.spots, self.spot, &to.spots, |spot| &spot.name)?,
            extract: self.extract.iter().map(end).collect::<Option<_>>()?,
            supply: self.supply.iter().map(end).collect::<Option<_>>()?,
            intake: terminal(self.intake)?,
            exhaust: terminal(self.exhaust)?,
            ..self.clone()
        })
    }

    /// Whether intake and exhaust share one hood.
    pub fn two_in_one(&self) -> bool {
        self.intake == self.exhaust
    }
}

/// Name of the far end of a duct.
pub fn end_name(job: &Job, end: End) -> &str {
    match end {
        End::Tap(index) => &job.taps[index].name,
        End::Grille(index) => &job.grilles[index].name,
        End::Terminal(index) => &job.terminals[index].name,
    }
}

/// Names of several ends, joined by "+".
pub fn end_names(job: &Job, ends: &[End]) -> String {
    ends.iter()
        .map(|&end| end_name(job, end))
        .collect::<Vec<_>>()
        .join(" + ")
}

/// Candidates that no rule of the survey forbids, and how many fell to which rule.
#[derive(Debug, Clone, Default)]
pub struct Candidates {
    /// The candidates in a fixed order.
    pub plans: Vec<Plan>,
    /// All combinations that were formed.
    pub combinations: usize,
    /// How many combinations each rule discarded, counted at the first rule that they break.
    pub discarded: Vec<(&'static Row, usize)>,
}

impl Candidates {
    /// Adds to the count of a rule.
    pub(crate) fn discard(&mut self, rule: &'static Row, count: usize) {
        if count == 0 {
            return;
        }
        match self
            .discarded
            .iter_mut()
            .find(|(known, _)| known.id == rule.id)
        {
            Some((_, total)) => *total += count,
            None => self.discarded.push((rule, count)),
        }
    }
}

/// Layout with the ends that it joins.
struct Joint {
    layout: Layout,
    extract: Vec<End>,
    supply: Vec<End>,
    entry: Entry,
}

/// Forms every combination of unit, spot, layout, taps, duct diameter, terminal pair and interlock,
/// and keeps those that break none of the rules that need no computed flow.
///
/// A combination is counted at the first rule that it breaks, whole branches of the tree at once.
pub fn candidates(job: &Job) -> Candidates {
    let rules = Rules::new(job);
    let joints = joints(job);
    let pairs = terminal_pairs(job);
    let mut found = Candidates::default();
    let below_joint = pairs.len() * job.controls.interlocks.len() * job.ducts.diameters.len();
    let below_pair = job.controls.interlocks.len() * job.ducts.diameters.len();
    found.combinations = job.units.len() * job.spots.len() * joints.len() * below_joint;
    for unit in 0..job.units.len() {
        for spot in 0..job.spots.len() {
            if let Some(rule) = rules.unit_in_spot(unit, spot) {
                found.discard(rule, joints.len() * below_joint);
                continue;
            }
            for joint in &joints {
                if let Some(rule) = rules.joint(spot, joint.layout, &joint.extract, &joint.supply) {
                    found.discard(rule, below_joint);
                    continue;
                }
                for &(intake, exhaust) in &pairs {
                    if let Some(rule) = rules.terminals(spot, intake, exhaust) {
                        found.discard(rule, below_pair);
                        continue;
                    }
                    for &interlock in &job.controls.interlocks {
                        if let Some(rule) = rules.interlock(joint.layout, interlock) {
                            found.discard(rule, job.ducts.diameters.len());
                            continue;
                        }
                        for &diameter in &job.ducts.diameters {
                            found.plans.push(Plan {
                                unit,
                                setting: Setting::High,
                                spot,
                                layout: joint.layout,
                                extract: joint.extract.clone(),
                                supply: joint.supply.clone(),
                                entry: joint.entry,
                                intake,
                                exhaust,
                                diameter,
                                interlock,
                                supply_damper: 0.0,
                                extract_damper: 0.0,
                            });
                        }
                    }
                }
            }
        }
    }
    found
}

/// All ways to join the house: the taps and grilles of each layout.
fn joints(job: &Job) -> Vec<Joint> {
    let taps = |side: Side, extract: bool| {
        job.taps
            .iter()
            .enumerate()
            .filter(move |(_, tap)| {
                tap.side == side && if extract { tap.extract } else { tap.supply }
            })
            .map(|(index, _)| End::Tap(index))
    };
    let grilles = |extract: bool| -> Vec<End> {
        job.grilles
            .iter()
            .enumerate()
            .filter(|(_, grille)| grille.extract == extract)
            .map(|(index, _)| End::Grille(index))
            .collect()
    };
    let extract_grilles = grilles(true);
    let supply_grilles = grilles(false);
    let mut joints = Vec::new();
    if job.air_handler.is_some() {
        if !extract_grilles.is_empty() {
            for supply in taps(Side::Return, false) {
                joints.push(Joint {
                    layout: Layout::DedicatedReturn,
                    extract: extract_grilles.clone(),
                    supply: vec![supply],
                    entry: Entry::Flush,
                });
            }
        }
        for extract in taps(Side::Return, true) {
            for supply in taps(Side::Supply, false) {
                for entry in [Entry::Flush, Entry::FacingDownstream] {
                    joints.push(Joint {
                        layout: Layout::ReturnToSupply,
                        extract: vec![extract],
                        supply: vec![supply],
                        entry,
                    });
                }
            }
            for supply in taps(Side::Return, false).filter(|&supply| supply != extract) {
                joints.push(Joint {
                    layout: Layout::ReturnToReturn,
                    extract: vec![extract],
                    supply: vec![supply],
                    entry: Entry::Flush,
                });
            }
        }
    }
    if !extract_grilles.is_empty() && !supply_grilles.is_empty() {
        joints.push(Joint {
            layout: Layout::FullyDucted,
            extract: extract_grilles,
            supply: supply_grilles,
            entry: Entry::Flush,
        });
    }
    joints
}

/// All pairs of intake and exhaust; a two-in-one hood pairs with itself only.
fn terminal_pairs(job: &Job) -> Vec<(usize, usize)> {
    let mut pairs = Vec::new();
    for (intake, inlet) in job.terminals.iter().enumerate() {
        if inlet.two_in_one {
            pairs.push((intake, intake));
            continue;
        }
        for (exhaust, outlet) in job.terminals.iter().enumerate() {
            if inlet.intake && outlet.exhaust && intake != exhaust && !outlet.two_in_one {
                pairs.push((intake, exhaust));
            }
        }
    }
    pairs
}

/// Something without which not a single combination can be formed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Missing {
    /// A candidate unit.
    Unit,
    /// A place for the unit.
    Spot,
    /// A pair of intake and exhaust.
    Terminals,
    /// Ducts or grilles to be joined.
    Joints,
    /// A duct size.
    Diameters,
    /// An interlock to try.
    Interlocks,
}

impl Missing {
    /// What to do in the job file, as a sentence.
    pub fn in_the_file(self) -> &'static str {
        match self {
            Self::Unit => "There is no unit: name a catalogue, or add a [[unit]].",
            Self::Spot => "There is no place for the unit: add a [[spot]].",
            Self::Terminals => {
                "There is no pair of intake and exhaust: add a [[terminal]] for each, or a two-in-one hood."
            }
            Self::Joints => {
                "There is nothing to join: add a [[tap]] on the return and one more tap or an extract [[grille]], or grilles for both."
            }
            Self::Diameters => "There is no duct size: give the diameters under [ducts].",
            Self::Interlocks => "There is no interlock to try: give some under [controls].",
        }
    }

    /// The same for somebody who does not see the file.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Unit => "Nothing can be planned before there is a unit to choose from.",
            Self::Spot => "Nothing can be planned before a place for the unit is named.",
            Self::Terminals => {
                "Nothing can be planned before there is a place for the intake and one for the exhaust, or for a two-in-one hood."
            }
            Self::Joints => {
                "Nothing can be planned before there is something to join: a tap on the return with one more tap or an extract grille, or grilles for both streams."
            }
            Self::Diameters => "Nothing can be planned before a duct size is named.",
            Self::Interlocks => "Nothing can be planned before an interlock to try is named.",
        }
    }
}

/// What the survey lacks so that not a single combination can be formed; empty when there are
/// combinations.
pub fn missing(job: &Job) -> Vec<Missing> {
    let mut missing = Vec::new();
    let mut need = |there: bool, what| {
        if !there {
            missing.push(what);
        }
    };
    need(!job.units.is_empty(), Missing::Unit);
    need(!job.spots.is_empty(), Missing::Spot);
    need(!terminal_pairs(job).is_empty(), Missing::Terminals);
    need(!joints(job).is_empty(), Missing::Joints);
    need(!job.ducts.diameters.is_empty(), Missing::Diameters);
    need(!job.controls.interlocks.is_empty(), Missing::Interlocks);
    missing
}
