//! What is known of a text: its reading, and what was computed from it. Every page asks for some of
//! it, so it is kept for the texts that were last looked at.

use std::collections::{BTreeMap, HashMap};
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Arc, Mutex, OnceLock, PoisonError, Weak};

use balancing::Day;
use diagnostics::Source;
use house::file::Reading;
use house::model::Job;
use journal::Journal;
use plan::Plan;
use plan::case::OperatingCase;
use plan::effect::{Effect, effect, glance};
use plan::finding::Weight;
use plan::flows::{
    CaseReport, FlowsError, FlowsReport, expected, flows_of, one_case, one_case_with_bands,
    with_dampers,
};
use plan::local_exhaust::LocalExhaust;
use plan::rate::Rates;
use plan::safety::SafetyReport;
use plan::search::Search;
use plan::walls::{Walls, WallsReport};
use rules::clearances::Stream;
use siting::Region;
use units::System;

use crate::Work;
use crate::day::{Log, Today};

/// Texts that are kept.
const KEPT: usize = 24;

/// The texts that were last looked at, the latest last.
#[derive(Default)]
pub struct Shelf {
    kept: Mutex<Vec<Arc<Known>>>,
    /// The text of each job for which plans were last searched.
    searched: Mutex<HashMap<String, Weak<Known>>>,
    /// By the name of each job, what was known when its plans were last found.
    found: Mutex<BTreeMap<String, Arc<Known>>>,
    journals: Mutex<Vec<(Arc<str>, Arc<Journal>)>>,
}

impl Shelf {
    /// Remembers a text of a job whose plans were found.
    pub fn remember(&self, job: &str, known: &Arc<Known>) {
        if known.found().is_none() {
            return;
        }
        let mut found = self.found.lock().unwrap_or_else(PoisonError::into_inner);
        if found.len() >= KEPT && !found.contains_key(job) {
            found.pop_first();
        }
        found.insert(job.to_owned(), Arc::clone(known));
    }

    /// What was known of a job when its plans were last found.
    pub fn last_found(&self, job: &str) -> Option<Arc<Known>> {
        let found = self.found.lock().unwrap_or_else(PoisonError::into_inner);
        found.get(job).cloned()
    }

    /// What is known of a job's text with its catalogue, if it names one.
    pub fn known(&self, text: &str, catalogue: Option<&str>) -> Arc<Known> {
        let same =
            |known: &Arc<Known>| known.text == text && known.catalogue.as_deref() == catalogue;
        {
            let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
            if let Some(place) = kept.iter().position(same) {
                let known = kept.remove(place);
                kept.push(Arc::clone(&known));
                return known;
            }
        }
        // Read without the lock: a large file must not hold up other pages.
        let known = Arc::new(Known::new(text, catalogue));
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.len() >= KEPT {
            kept.remove(0);
        }
        kept.push(Arc::clone(&known));
        known
    }

    /// What a journal says.
    pub fn journal(&self, text: &str) -> (Arc<str>, Arc<Journal>) {
        let mut kept = self.journals.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(place) = kept.iter().position(|(known, _)| **known == *text) {
            let known = kept.remove(place);
            kept.push(known.clone());
            return known;
        }
        drop(kept);
        let read = (Arc::from(text), Arc::new(Journal::read(text.as_bytes())));
        let mut kept = self.journals.lock().unwrap_or_else(PoisonError::into_inner);
        if kept.len() >= KEPT {
            kept.remove(0);
        }
        kept.push(read.clone());
        read
    }
}

impl Shelf {
    /// Starts the search for the plans of a job; one that still runs for an earlier text of the same
    /// job is stopped, since nobody will look at it.
    pub fn search(&self, job: &str, known: &Arc<Known>, background: &(dyn Fn(Work) + Send + Sync)) {
        {
            let mut searched = self.searched.lock().unwrap_or_else(PoisonError::into_inner);
            if let Some(earlier) = searched.insert(job.to_owned(), Arc::downgrade(known))
                && let Some(earlier) = earlier.upgrade()
                && !Arc::ptr_eq(&earlier, known)
            {
                earlier.search.unwanted.store(true, Ordering::Relaxed);
                earlier.stop_search();
            }
            searched.retain(|_, known| known.strong_count() > 0);
        }
        known.search(background);
    }
}

/// What is known of one text.
pub struct Known {
    text: String,
    catalogue: Option<String>,
    /// The reading of the text.
    pub reading: Reading,
    rates: OnceLock<Option<Rates>>,
    local: OnceLock<Result<LocalExhaust, String>>,
    sited: OnceLock<Result<(Walls, WallsReport), String>>,
    walls: OnceLock<Result<(Walls, WallsReport), String>>,
    regions: Mutex<Vec<(usize, Arc<Regions>)>>,
    safety: OnceLock<Result<SafetyReport, String>>,
    flows: OnceLock<Result<FlowsReport, String>>,
    bands: OnceLock<Option<FlowsReport>>,
    bands_begun: AtomicBool,
    cases: Mutex<Vec<KnownCase>>,
    /// The plan that was last looked at with what it does where it balances worst.
    effect: Mutex<Option<(Plan, EffectFound)>>,
    search: Later<Search>,
    plan: OnceLock<Result<Plan, String>>,
    /// The set-up day by the journals that were last looked at with this text.
    days: Mutex<Vec<Looked>>,
}

/// What a plan does where it balances worst; none if it never runs.
type EffectFound = Option<Result<Effect, String>>;

/// A journal as far as it alters the day, and the day that it tells of.
type Looked = (Arc<str>, Result<Arc<Today>, String>);

/// Journals whose day is kept for each text.
const DAYS: usize = 3;

/// Where hoods may lie on a wall.
pub type Regions = Vec<(Stream, Region)>;

/// Cases with dampers of their own whose bands are kept.
const KEPT_CASES: usize = 16;

/// An operating case with dampers that were tried, and its bands once they are there.
struct KnownCase {
    case: OperatingCase,
    dampers: [f64; 2],
    report: Option<CaseReport>,
}

/// A result that takes its time.
pub struct Later<T> {
    value: Mutex<Option<Arc<T>>>,
    running: AtomicBool,
    stopped: AtomicBool,
    unwanted: AtomicBool,
    done: AtomicUsize,
    total: AtomicUsize,
}

impl<T> Later<T> {
    fn get(&self) -> Option<Arc<T>> {
        self.value
            .lock()
            .unwrap_or_else(PoisonError::into_inner)
            .clone()
    }

    fn put(&self, value: Option<T>) {
        *self.value.lock().unwrap_or_else(PoisonError::into_inner) = value.map(Arc::new);
    }
}

impl<T> Default for Later<T> {
    fn default() -> Self {
        Self {
            value: Mutex::new(None),
            running: AtomicBool::new(false),
            stopped: AtomicBool::new(false),
            unwanted: AtomicBool::new(false),
            done: AtomicUsize::new(0),
            total: AtomicUsize::new(0),
        }
    }
}

impl Known {
    /// What is known of a text that is only looked at, and is not kept.
    pub fn new(text: &str, catalogue: Option<&str>) -> Self {
        let source = Source::from_bytes("job.toml", text.as_bytes());
        let reading = house::file::read(&source, &mut |name| match catalogue {
            Some(catalogue) => Ok(catalogue.as_bytes().to_vec()),
            None => Err(format!(
                "the workspace holds no catalogue {name}; bring it in on the first page"
            )),
        });
        Self {
            text: text.to_owned(),
            catalogue: catalogue.map(str::to_owned),
            reading,
            rates: OnceLock::new(),
            local: OnceLock::new(),
            sited: OnceLock::new(),
            walls: OnceLock::new(),
            regions: Mutex::default(),
            safety: OnceLock::new(),
            flows: OnceLock::new(),
            bands: OnceLock::new(),
            bands_begun: AtomicBool::new(false),
            cases: Mutex::default(),
            effect: Mutex::default(),
            search: Later::default(),
            plan: OnceLock::new(),
            days: Mutex::default(),
        }
    }

    /// The text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The job, if the text has no errors.
    pub fn job(&self) -> Option<&Job> {
        self.reading.job.as_ref()
    }

    /// The system of units that the job puts first.
    pub fn system(&self) -> System {
        match self.job() {
            Some(job) if !job.inch_pound_first => System::Si,
            _ => System::Ip,
        }
    }

    /// The rates that the rules ask for.
    pub fn rates(&self, job: &Job) -> Option<&Rates> {
        self.rates.get_or_init(|| plan::rate::rates(job)).as_ref()
    }

    /// The exhausts of kitchens and baths, with the plan of the job if it names one.
    pub fn local(&self, job: &Job) -> Result<&LocalExhaust, &String> {
        self.local
            .get_or_init(|| {
                let plan = chosen(job)?;
                plan::local_exhaust::local_exhaust(job, plan.as_ref())
                    .map_err(|error| error.to_string())
            })
            .as_ref()
    }

    /// The drawn walls with what is said of the terminals on them, but not of the walls.
    pub fn sited(&self, job: &Job) -> Result<&(Walls, WallsReport), &String> {
        self.sited
            .get_or_init(|| {
                let walls = Walls::new(job).map_err(|error| error.to_string())?;
                let report = walls.judged(job);
                Ok((walls, report))
            })
            .as_ref()
    }

    /// The drawn walls with their report.
    pub fn walls(&self, job: &Job) -> Result<&(Walls, WallsReport), &String> {
        self.walls
            .get_or_init(|| {
                let (walls, _) = self.sited(job).map_err(Clone::clone)?;
                Ok((walls.clone(), walls.report(job, self.system())))
            })
            .as_ref()
    }

    /// Where hoods may lie on one of the walls.
    pub fn regions(&self, walls: &Walls, wall: usize) -> Arc<Regions> {
        let kept = || self.regions.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, regions)) = kept().iter().find(|(known, _)| *known == wall) {
            return Arc::clone(regions);
        }
        let regions = Arc::new(walls.regions_on(wall));
        kept().push((wall, Arc::clone(&regions)));
        regions
    }

    /// How far appliances are drawn down, as found and with the plan of the job.
    pub fn safety(&self, job: &Job) -> Result<&SafetyReport, &String> {
        self.safety
            .get_or_init(|| {
                let plan = chosen(job)?;
                plan::safety::safety(job, plan.as_ref(), &job.rules)
                    .map_err(|error| error.to_string())
            })
            .as_ref()
    }

    /// The flows of the plan that the job names, at best values; none if it names no plan.
    pub fn flows(&self, job: &Job) -> Option<Result<&FlowsReport, &String>> {
        let chosen = job.chosen.as_ref()?;
        let report = self.flows.get_or_init(|| {
            let (plan, dampers_set) = with_dampers(job, chosen).map_err(|e| e.to_string())?;
            let mut report = expected(job, &plan, None).map_err(|error| error.to_string())?;
            report.dampers_set = dampers_set;
            Ok(report)
        });
        Some(report.as_ref())
    }

    /// The same with bands, once they are there; it is begun beside answering requests.
    pub fn flows_with_bands(
        self: &Arc<Self>,
        background: &(dyn Fn(Work) + Send + Sync),
    ) -> Option<&FlowsReport> {
        if !self.bands_begun.swap(true, Ordering::Relaxed) {
            let known = Arc::clone(self);
            background(Box::new(move |rest| {
                let report = known.job().and_then(|job| {
                    let expected = known.flows(job)?.ok()?;
                    let mut report = flows_of(job, &expected.plan, None, rest).ok()?;
                    report.dampers_set = expected.dampers_set;
                    Some(report)
                });
                // Nobody else sets it: it is begun once.
                let _ = known.bands.set(report);
            }));
        }
        self.bands.get()?.as_ref()
    }

    /// One case of the chosen plan with dampers at these angles, at best values.
    pub fn case(
        &self,
        job: &Job,
        case: OperatingCase,
        dampers: [f64; 2],
    ) -> Option<Result<CaseReport, String>> {
        let plan = match self.flows(job)? {
            Ok(report) => turned(&report.plan, dampers),
            Err(why) => return Some(Err(why.clone())),
        };
        Some(one_case(job, &plan, case).map_err(|error| error.to_string()))
    }

    /// The same with bands, once they are there; with a background it is begun beside answering
    /// requests.
    pub fn case_with_bands(
        self: &Arc<Self>,
        case: OperatingCase,
        dampers: [f64; 2],
        background: Option<&(dyn Fn(Work) + Send + Sync)>,
    ) -> Option<CaseReport> {
        let same = move |known: &KnownCase| known.case == case && known.dampers == dampers;
        {
            let mut cases = self.cases.lock().unwrap_or_else(PoisonError::into_inner);
            if let Some(known) = cases.iter().find(|known| same(known)) {
                return known.report.clone();
            }
            background?;
            if cases.len() >= KEPT_CASES {
                cases.remove(0);
            }
            cases.push(KnownCase {
                case,
                dampers,
                report: None,
            });
        }
        let known = Arc::clone(self);
        background?(Box::new(move |rest| {
            let report = known.job().and_then(|job| {
                let plan = turned(&known.flows(job)?.ok()?.plan, dampers);
                one_case_with_bands(job, &plan, case, rest).ok()
            });
            let mut cases = known.cases.lock().unwrap_or_else(PoisonError::into_inner);
            if let Some(known) = cases.iter_mut().find(|known| same(known)) {
                known.report = report;
            }
        }));
        let cases = self.cases.lock().unwrap_or_else(PoisonError::into_inner);
        cases.iter().find(|known| same(known))?.report.clone()
    }

    /// What a plan does where it balances worst, its dampers set on the way if `dampers`; none if it
    /// never runs. The bands are computed beside answering requests and are there at a later look.
    pub fn effect(
        self: &Arc<Self>,
        plan: &Plan,
        dampers: bool,
        background: &(dyn Fn(Work) + Send + Sync),
    ) -> EffectFound {
        let words = |found: Result<Option<Effect>, FlowsError>| {
            found.map_err(|error| error.to_string()).transpose()
        };
        if let Some(found) = self.kept_effect(plan) {
            return found;
        }
        let first = words(glance(self.job()?, plan, dampers));
        self.keep_effect(plan, &first, true);
        if matches!(first, Some(Ok(_))) {
            let (known, plan) = (Arc::clone(self), plan.clone());
            background(Box::new(move |rest| {
                let found = known.job().map(|job| effect(job, &plan, dampers, rest));
                if let Some(found) = found {
                    known.keep_effect(&plan, &words(found), false);
                }
            }));
        }
        self.kept_effect(plan).unwrap_or(first)
    }

    fn kept_effect(&self, plan: &Plan) -> Option<EffectFound> {
        let kept = self.effect.lock().unwrap_or_else(PoisonError::into_inner);
        let (known, found) = kept.as_ref()?;
        (known == plan).then(|| found.clone())
    }

    /// Keeps what a plan does. A later result takes the place of the first one only while it is still
    /// asked for.
    fn keep_effect(&self, plan: &Plan, found: &EffectFound, first: bool) {
        let mut kept = self.effect.lock().unwrap_or_else(PoisonError::into_inner);
        if first || kept.as_ref().is_some_and(|(known, _)| known == plan) {
            *kept = Some((plan.clone(), found.clone()));
        }
    }

    /// The first reason why the chosen plan must not stay as it is.
    pub fn forbidden(&self, job: &Job) -> Option<&str> {
        let findings = self.flows(job)?.ok()?.findings.iter();
        let mut forbidden = findings.filter(|finding| finding.weight == Weight::NotAllowed);
        forbidden.next().map(|finding| finding.text.as_str())
    }

    /// The plan that the job names, with its dampers.
    fn plan(&self, job: &Job) -> Result<&Plan, String> {
        let plan = self.plan.get_or_init(|| match chosen(job) {
            Ok(Some(plan)) => Ok(plan),
            Ok(None) => Err("no plan is chosen".into()),
            Err(why) => Err(why),
        });
        plan.as_ref().map_err(Clone::clone)
    }

    /// What a journal says of this job, without what follows from it.
    pub fn day(&self, job: &Job, log: &Log) -> Result<Day, String> {
        let plan = self.plan(job)?;
        Day::of_journal(job, plan, &log.journal, self.system()).map_err(|error| error.to_string())
    }

    /// The set-up day of this job as a journal tells it.
    pub fn today(&self, job: &Job, log: &Log) -> Result<Arc<Today>, String> {
        // A remark or a check alters nothing that was computed.
        let text = log.text_of_day();
        let before = {
            let days = self.days.lock().unwrap_or_else(PoisonError::into_inner);
            if let Some((_, today)) = days.iter().find(|(known, _)| **known == *text) {
                return today.clone();
            }
            let grown = days
                .iter()
                .rev()
                .find(|(known, _)| text.starts_with(&**known));
            grown.and_then(|(_, today)| today.clone().ok())
        };
        // Computed without the lock: another page need not wait.
        let today = self
            .plan(job)
            .and_then(|plan| Today::new(job, plan, &log.journal, self.system(), before.as_deref()))
            .map(Arc::new);
        let mut days = self.days.lock().unwrap_or_else(PoisonError::into_inner);
        if days.len() >= DAYS {
            drop(days.remove(0));
        }
        days.push((text.into(), today.clone()));
        today
    }

    /// The search for plans, if it is done or was stopped.
    pub fn found(&self) -> Option<Arc<Search>> {
        self.search.get()
    }

    /// Stops a running search: what was found so far is ranked.
    pub fn stop_search(&self) {
        self.search.stopped.store(true, Ordering::Relaxed);
    }

    /// Forgets a search that was stopped, so that the next look begins it anew.
    pub fn forget_stopped_search(&self) {
        if self.found().is_some_and(|found| found.not_looked_at > 0) {
            self.search.put(None);
        }
    }

    /// How many candidates of how many a running search has looked at.
    pub fn searched(&self) -> (usize, usize) {
        (
            self.search.done.load(Ordering::Relaxed),
            self.search.total.load(Ordering::Relaxed),
        )
    }

    /// Starts the search beside answering requests, unless it runs or is done.
    fn search(self: &Arc<Self>, background: &(dyn Fn(Work) + Send + Sync)) {
        let search = &self.search;
        if self.job().is_none()
            || search.get().is_some()
            || search.running.swap(true, Ordering::Relaxed)
        {
            return;
        }
        search.stopped.store(false, Ordering::Relaxed);
        search.unwanted.store(false, Ordering::Relaxed);
        let known = Arc::clone(self);
        background(Box::new(move |rest| {
            let search = &known.search;
            if let Some(job) = known.job() {
                let progress = |done, total| {
                    search.done.store(done, Ordering::Relaxed);
                    search.total.store(total, Ordering::Relaxed);
                };
                let go_on = || {
                    rest();
                    !search.stopped.load(Ordering::Relaxed)
                };
                let found = plan::search_while(job, &progress, &go_on);
                let wanted = !search.unwanted.load(Ordering::Relaxed);
                search.put(wanted.then_some(found));
            }
            search.running.store(false, Ordering::Relaxed);
        }));
    }
}

/// A plan with its dampers at other angles (°).
fn turned(plan: &plan::Plan, [supply, extract]: [f64; 2]) -> plan::Plan {
    plan::Plan {
        supply_damper: supply,
        extract_damper: extract,
        ..plan.clone()
    }
}

fn chosen(job: &Job) -> Result<Option<plan::Plan>, String> {
    match &job.chosen {
        None => Ok(None),
        Some(chosen) => with_dampers(job, chosen)
            .map(|(plan, _)| Some(plan))
            .map_err(|error| error.to_string()),
    }
}
