//! The search: every candidate solved, balanced, measured and ranked.

use crate::balance;
use crate::candidate::{Plan, candidates};
use crate::case::{CaseFlows, OperatingCase, running_modes};
use crate::inputs::{Inputs, Parameters};
use crate::installation::Installation;
use crate::merit::{self, Merits};
use crate::rate::{self, RequiredRate};
use crate::rules::{self, Rules};
use crate::safety::{AsFound, DrawnDown};
use crate::side_effects::side_effects;
use ::rules::Row;
use house::model::{Job, Layout, Season, Setting};

/// A candidate that meets every hard rule.
#[derive(Debug, Clone, PartialEq)]
pub struct Evaluated {
    /// The plan, with its setting and its dampers as set.
    pub plan: Plan,
    /// What was measured.
    pub merits: Merits,
    /// Points lost at each of [`merit::CRITERIA`].
    pub lost: [f64; merit::COUNT],
    /// The balance stays within the rule in every blower mode in which the ventilator runs.
    pub balanced: bool,
    /// No other plan is at least as good in everything.
    pub pareto: bool,
    /// Place in the order of the candidates, which breaks ties.
    order: usize,
}

impl Evaluated {
    /// Points out of 100.
    pub fn score(&self) -> f64 {
        100.0 - self.lost.iter().sum::<f64>()
    }
}

/// What a search found.
#[derive(Debug, Clone)]
pub struct Search {
    /// The rate that every plan had to meet.
    pub required: RequiredRate,
    /// All combinations formed.
    pub combinations: usize,
    /// How many combinations were solved.
    pub solved: usize,
    /// How many were still to be solved when the search was stopped; none of a whole search.
    pub not_looked_at: usize,
    /// How many operating cases were solved to the end for them.
    pub cases: usize,
    /// Appliances that the house as found already draws down beyond their limit.
    pub unsafe_as_found: Vec<DrawnDown>,
    /// Largest share by which supply and extract may differ.
    pub balance_limit: f64,
    /// How many fell to which rule, in the order in which rules are applied.
    pub discarded: Vec<(&'static Row, usize)>,
    /// Plans that meet every hard rule, best first: balanced before unbalanced, then by points.
    pub ranked: Vec<Evaluated>,
    /// Cases that the solver could not solve, with its words. There should be none.
    pub unsolved: Vec<String>,
}

impl Search {
    /// Place in the ranking of the best plan of each layout, in the order of the ranking.
    pub fn best_of_each_layout(&self) -> Vec<usize> {
        let mut seen: Vec<Layout> = Vec::new();
        let mut places = Vec::new();
        for (place, evaluated) in self.ranked.iter().enumerate() {
            if !seen.contains(&evaluated.plan.layout) {
                seen.push(evaluated.plan.layout);
                places.push(place);
            }
        }
        places
    }
}

/// Outcome of one candidate.
enum Outcome {
    Works {
        plan: Box<Plan>,
        merits: Merits,
        cases: usize,
    },
    Falls {
        rule: &'static Row,
        cases: usize,
    },
    Unsolved(String),
}

/// Searches all plans of a job.
///
/// `progress` is called from time to time with the number of candidates done and their total; it
/// may be called from several threads when the feature `parallel` is on. The result does not
/// depend on the number of threads.
pub fn search(job: &Job, progress: &(dyn Fn(usize, usize) + Sync)) -> Search {
    search_while(job, progress, &|| true)
}

/// Searches as [`search`] does, as long as `go_on` says so. It is asked before each candidate, from
/// several threads when the feature `parallel` is on. A search that was stopped ranks what it had
/// looked at until then and counts the rest in [`Search::not_looked_at`].
pub fn search_while(
    job: &Job,
    progress: &(dyn Fn(usize, usize) + Sync),
    go_on: &(dyn Fn() -> bool + Sync),
) -> Search {
    let required = rate::required(job);
    let mut found = candidates(job);
    let plans = std::mem::take(&mut found.plans);
    let parameters = Parameters::new(job);
    let rules = Rules::new(job);
    let balance_limit = rules.balance_limit();
    let all = plans.len();
    let mut unsolved = Vec::new();
    let mut unsafe_as_found = Vec::new();
    let outcomes = match AsFound::new(job, &parameters) {
        Ok(as_found) => {
            unsafe_as_found = as_found.beyond();
            let search = Searched {
                job,
                rules: &rules,
                as_found: &as_found,
                inputs: parameters.best(),
                required: required.rate,
            };
            each(plans, progress, |plan| {
                go_on().then(|| search.evaluate(plan))
            })
        }
        Err(error) => {
            found.discard(&rules::NOT_SOLVED, all);
            unsolved.push(error.to_string());
            Vec::new()
        }
    };
    let mut ranked = Vec::new();
    let mut total_cases = 0;
    let mut not_looked_at = 0;
    for (order, outcome) in outcomes.into_iter().enumerate() {
        let Some(outcome) = outcome else {
            not_looked_at += 1;
            continue;
        };
        match outcome {
            Outcome::Works {
                plan,
                merits,
                cases,
            } => {
                total_cases += cases;
                ranked.push(Evaluated {
                    plan: *plan,
                    merits,
                    lost: [0.0; merit::COUNT],
                    balanced: merits.balance <= balance_limit,
                    pareto: false,
                    order,
                });
            }
            Outcome::Falls { rule, cases } => {
                total_cases += cases;
                found.discard(rule, 1);
            }
            Outcome::Unsolved(words) => {
                found.discard(&rules::NOT_SOLVED, 1);
                unsolved.push(words);
            }
        }
    }
    let cheapest = ranked
        .iter()
        .map(|plan| plan.merits.parts_cost)
        .fold(f64::INFINITY, f64::min);
    for plan in &mut ranked {
        plan.lost = merit::lost_points(&plan.merits, cheapest);
    }
    ranked.sort_by(|a, b| {
        b.balanced
            .cmp(&a.balanced)
            .then(b.score().total_cmp(&a.score()))
            .then(a.order.cmp(&b.order))
    });
    mark_pareto(&mut ranked);
    let mut discarded = found.discarded;
    discarded.sort_by_key(|(rule, _)| rules::order(rule));
    Search {
        required,
        combinations: found.combinations,
        solved: all - not_looked_at,
        not_looked_at,
        cases: total_cases,
        unsafe_as_found,
        balance_limit,
        discarded,
        ranked,
        unsolved,
    }
}

#[cfg(feature = "parallel")]
fn each<T: Send>(
    plans: Vec<Plan>,
    progress: &(dyn Fn(usize, usize) + Sync),
    work: impl Fn(Plan) -> T + Sync,
) -> Vec<T> {
    use rayon::prelude::*;
    use std::sync::atomic::{AtomicUsize, Ordering};
    let total = plans.len();
    let done = AtomicUsize::new(0);
    plans
        .into_par_iter()
        .map(|plan| {
            let outcome = work(plan);
            progress(done.fetch_add(1, Ordering::Relaxed) + 1, total);
            outcome
        })
        .collect()
}

#[cfg(not(feature = "parallel"))]
fn each<T>(
    plans: Vec<Plan>,
    progress: &(dyn Fn(usize, usize) + Sync),
    work: impl Fn(Plan) -> T,
) -> Vec<T> {
    let total = plans.len();
    plans
        .into_iter()
        .enumerate()
        .map(|(index, plan)| {
            let outcome = work(plan);
            progress(index + 1, total);
            outcome
        })
        .collect()
}

/// What every candidate is judged by.
struct Searched<'a> {
    job: &'a Job,
    rules: &'a Rules<'a>,
    as_found: &'a AsFound,
    inputs: &'a Inputs,
    /// The required rate (m³/s).
    required: f64,
}

impl Searched<'_> {
    /// Finds the lowest setting at which a candidate meets the rate, with its dampers set.
    fn evaluate(&self, mut plan: Plan) -> Outcome {
        let &Self {
            job,
            inputs,
            required,
            ..
        } = self;
        let mut installation = match Installation::new(job, Some(&plan), inputs, false) {
            Ok(installation) => installation,
            Err(error) => return Outcome::Unsolved(error.to_string()),
        };
        let unit = &job.units[plan.unit];
        let modes = running_modes(job, plan.interlock);
        // Boost is for an hour now and then, not for the continuous rate.
        let mut settings: Vec<Setting> =
            unit.settings.iter().map(|tested| tested.setting).collect();
        settings.sort();
        if settings.len() > 1 {
            settings.retain(|&setting| setting != Setting::Boost);
        }
        let needed = required * air::STANDARD_DENSITY / merit::share_left(job, plan.interlock);
        let mut cases = 0;
        let mut fallen: &'static Row = &rules::RATE;
        for setting in settings {
            // With open dampers a stream is nearly as strong as it can be: skip hopeless settings.
            installation.set_dampers(0.0, 0.0);
            let Some(&blower) = modes.first() else { break };
            let open = match installation.solve(OperatingCase {
                blower,
                setting,
                season: Season::Mild,
                wind: None,
            }) {
                Ok(flows) => flows,
                Err(error) => return Outcome::Unsolved(error.to_string()),
            };
            cases += 1;
            if open.delivered < 0.97 * needed {
                continue;
            }
            if let Err(error) = balance::set_dampers(&mut installation, job, setting) {
                return Outcome::Unsolved(error.to_string());
            }
            let mut flows = Vec::with_capacity(3 * modes.len());
            for season in [Season::Mild, Season::Winter, Season::Summer] {
                for &blower in &modes {
                    match installation.solve(OperatingCase {
                        blower,
                        setting,
                        season,
                        wind: None,
                    }) {
                        Ok(solved) => flows.push(solved),
                        Err(error) => return Outcome::Unsolved(error.to_string()),
                    }
                }
                // Weather changes the flows by a few per cent: do not go on where the rate is far off.
                if flows.iter().any(|case| case.delivered < 0.9 * needed) {
                    break;
                }
            }
            cases += flows.len();
            if flows.iter().any(|case| case.delivered < needed) {
                continue;
            }
            if let Some(rule) = flows.iter().find_map(|case| self.breaks(&plan, case)) {
                fallen = rule;
                continue;
            }
            if let Some(set) = installation.plan() {
                plan = set.clone();
            }
            plan.setting = setting;
            let effects = side_effects(
                job,
                self.rules,
                self.as_found,
                &plan,
                &mut installation,
                &flows,
            );
            let effects = match effects {
                // A higher setting would only make them worse.
                Ok((_, Some(rule))) => return Outcome::Falls { rule, cases },
                Ok((effects, None)) => effects,
                Err(error) => return Outcome::Unsolved(error.to_string()),
            };
            let merits = merit::merits(job, &plan, required, &flows, effects);
            return Outcome::Works {
                plan: Box::new(plan),
                merits,
                cases,
            };
        }
        Outcome::Falls {
            rule: fallen,
            cases,
        }
    }

    /// Rules that need computed flows.
    fn breaks(&self, plan: &Plan, case: &CaseFlows) -> Option<&'static Row> {
        if plan.two_in_one() {
            let flow = case.supply.abs().max(case.extract.abs()) / air::STANDARD_DENSITY;
            if let Some(rule) = self.rules.hood(plan.intake, flow) {
                return Some(rule);
            }
        }
        let beyond = case
            .external_static_pressure
            .iter()
            .any(|&pressure| pressure > case.certified_pressure);
        beyond.then_some(&rules::NO_PRESSURE_LEFT)
    }
}

/// Marks the plans that no other dominates.
fn mark_pareto(ranked: &mut [Evaluated]) {
    let mut front: Vec<Merits> = Vec::new();
    for plan in ranked.iter() {
        if !front
            .iter()
            .any(|known| merit::dominates(known, &plan.merits))
        {
            front.retain(|known| !merit::dominates(&plan.merits, known));
            front.push(plan.merits);
        }
    }
    for plan in ranked {
        plan.pareto = !front
            .iter()
            .any(|known| merit::dominates(known, &plan.merits));
    }
}
