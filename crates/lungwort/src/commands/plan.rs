//! `lungwort plan JOB`: every combination that the survey allows, ranked.

use std::fmt::Write as _;
use std::path::Path;
use units::text::{capital, fixed, money, signed, thousands};

use house::model::{Entry, Interlock, Job};
use plan::account::{self, priced};
use plan::candidate::{Missing, Plan, end_names, missing};
use plan::comparison::why;
use plan::finding::{self};
use plan::flows::{FlowsReport, flows_of};
use plan::merit::{self, CRITERIA, Merits};
use plan::search::{Evaluated, Search};
use plan::standing::{Standing, State, standings};
use rules::Row as RuleRow;
use serde_json::{Value, json};
use units::{Length, Quantity, System, VolumeFlow, both};

use crate::command_line::Options;
use crate::commands::flows::{place, search, unsolved};
use crate::figures::{Figures, percent};
use crate::job::{self, Usable};
use crate::objects;
use crate::outcome::{Failure, Outcome, coloured};
use crate::report::Page;
use crate::sketch::{case_words, sketch};
use crate::text::{WIDTH, item, left, right, wrap};

/// Searches and ranks; the answer is no if nothing works.
pub fn run(
    path: &Path,
    explain: Option<usize>,
    top: usize,
    options: &Options,
) -> Result<Outcome, Failure> {
    let Usable {
        job,
        notes,
        problems,
    } = job::usable(path)?;
    let found = search(&job, options);
    let page = Page {
        job: &job,
        figures: Figures {
            system: job::system(&job, options),
        },
        coloured: coloured(),
    };
    let shown = columns(&found, top);
    let works = !found.ranked.is_empty();
    if let Some(asked) = explain {
        let place = place(&found, asked)?;
        let outcome = explained(page, &found, place, path, options)?;
        return Ok(outcome.with_notes(notes));
    }
    if options.json {
        let mut object = object(page, &found, &shown);
        object["problems"] = problems;
        return Ok(Outcome::json(&object, works));
    }
    let mut text = page.heading(&job.name);
    text.push('\n');
    text.push_str(&before_all(page, &found));
    text.push_str(&demand(page, &found));
    text.push('\n');
    text.push_str(&fallen(page, &found));
    text.push('\n');
    if works {
        for columns in shown.chunks(COLUMNS) {
            text.push_str(&side_by_side(page, &found, columns));
            text.push('\n');
        }
        text.push_str(&page.heading("Why they stand where they do (points in parentheses)"));
        for &place in &shown {
            let words = why(&job, &found, place, page.figures.system);
            text.push_str(&item(&format!("{:>4}  ", place + 1), &words, WIDTH));
        }
        text.push('\n');
        let name = path.display();
        let _ = writeln!(
            text,
            "See the flows of one:      lungwort flows {name} --plan 1\n\
             Everything about one:      lungwort plan {name} --explain 1"
        );
    } else {
        text.push_str(&nothing_works(page, &found));
    }
    Ok(Outcome::new(text, works).with_notes(notes))
}

/// Places shown: the best few, and the best of each layout so that the alternatives are seen.
fn columns(found: &Search, top: usize) -> Vec<usize> {
    let mut places: Vec<usize> = (0..top.min(found.ranked.len())).collect();
    places.extend(found.best_of_each_layout());
    places.sort_unstable();
    places.dedup();
    places
}

/// The rate to be met, with its arithmetic.
fn demand(page: Page<'_>, found: &Search) -> String {
    let required = &found.required;
    let mut reason = capital(&required.because);
    if !reason.contains(&required.authority) {
        let _ = write!(reason, "; {}", required.authority);
    }
    page.paragraph(&format!(
        "Outdoor air needed: {}. {reason}.",
        both(VolumeFlow::from_si(required.rate), page.figures.system),
    ))
}

/// What has to be mended before anything else.
fn before_all(page: Page<'_>, found: &Search) -> String {
    let show = |pascals: f64| format!("{} Pa", fixed(pascals, 1));
    let mut text = String::new();
    for drawn in &found.unsafe_as_found {
        text.push_str(&page.paragraph(&format!(
            "Before anything else: as found, with every exhaust running, the room of the {} can be drawn down by {}, beyond its {}. Have it tested by a qualified person and mended first; the plans below are judged as if nothing had been mended. See lungwort safety.",
            page.job.appliances[drawn.appliance].name,
            show(drawn.as_found),
            show(drawn.limit),
        )));
        text.push('\n');
    }
    text
}

/// How many combinations there were, and how many fell to which rule.
fn fallen(page: Page<'_>, found: &Search) -> String {
    let fronts = found.ranked.iter().filter(|plan| plan.pareto).count();
    let survivors = match found.ranked.len() {
        0 => "None of them meets every rule.".to_owned(),
        1 => "One of them meets every rule.".to_owned(),
        count => format!(
            "{} of them meet every rule; {} ({MARK}) {} by no other in balance, short circuit, sound, electricity and parts at once.",
            thousands(count),
            thousands(fronts),
            if fronts == 1 {
                "is beaten"
            } else {
                "are beaten"
            },
        ),
    };
    let mut text = page.paragraph(&format!(
        "{} combinations of unit, spot, layout, taps, terminals, interlock and duct size; {} allowed by the survey, solved in {} operating cases. {survivors}",
        thousands(found.combinations),
        thousands(found.solved),
        thousands(found.cases),
    ));
    if found.discarded.is_empty() {
        return text;
    }
    text.push('\n');
    text.push_str(
        &page.heading("What the others fell to (each is counted at the first rule it breaks)"),
    );
    for &(rule, count) in &found.discarded {
        let words = plan::rules::words(&page.job.rules, rule, page.figures.system);
        text.push_str(&item(
            &format!("{} ", right(&thousands(count), 7)),
            &words,
            WIDTH,
        ));
    }
    for words in found.unsolved.iter().take(3) {
        text.push_str(&item("        ", words, WIDTH));
    }
    text
}

/// What to do when no plan is left.
fn nothing_works(page: Page<'_>, found: &Search) -> String {
    let lacking = missing(page.job);
    let mut text = page.heading("No plan is left. What to do");
    let mut rules: Vec<&(&'static RuleRow, usize)> = found.discarded.iter().collect();
    rules.sort_by_key(|rule| std::cmp::Reverse(rule.1));
    for missing in lacking {
        text.push_str(&item("  • ", missing.in_the_file(), WIDTH));
    }
    for (rule, count) in rules {
        let remedy = if rule.remedy.is_empty() {
            rule.demand
        } else {
            rule.remedy
        };
        let words = format!("{remedy} ({} fell to this.)", thousands(*count));
        text.push_str(&item("  • ", &words, WIDTH));
    }
    text
}

/// Mark of a plan that no other beats in everything.
const MARK: char = '◆';
/// Plans side by side, and the width of their columns and of the words before them, in characters.
const COLUMNS: usize = 5;
const COLUMN: usize = 15;
const WORDS: usize = 20;

/// A row of the comparison.
struct Row {
    words: String,
    cells: Vec<String>,
    /// Numbers stand right, words left.
    number: bool,
}

fn side_by_side(page: Page<'_>, found: &Search, places: &[usize]) -> String {
    let plans: Vec<&Evaluated> = places.iter().map(|&place| &found.ranked[place]).collect();
    let heads: Vec<String> = places
        .iter()
        .zip(&plans)
        .map(|(place, plan)| {
            let mark = if plan.pareto { MARK } else { ' ' };
            format!("plan {} {mark}", place + 1)
        })
        .collect();
    let mut text = String::new();
    let head = Row {
        words: String::new(),
        cells: heads,
        number: false,
    };
    text.push_str(&page.heading(print(&head).trim_end()));
    for row in choices(page, &plans) {
        text.push_str(&print(&row));
    }
    text.push('\n');
    for row in numbers(page, &plans) {
        text.push_str(&print(&row));
    }
    text.push('\n');
    for row in points(&plans) {
        text.push_str(&print(&row));
    }
    text
}

fn print(row: &Row) -> String {
    let indent = row.words.len() - row.words.trim_start().len();
    let words: Vec<String> = wrap(&row.words, WORDS - indent)
        .iter()
        .map(|line| " ".repeat(indent) + line)
        .collect();
    let cells: Vec<Vec<String>> = row.cells.iter().map(|cell| wrap(cell, COLUMN)).collect();
    let lines = cells
        .iter()
        .map(Vec::len)
        .max()
        .unwrap_or(0)
        .max(words.len());
    let mut text = String::new();
    for line in 0..lines {
        let part = |lines: &[String]| lines.get(line).cloned().unwrap_or_default();
        let mut row_text = left(&part(&words), WORDS);
        for cell in &cells {
            let part = part(cell);
            row_text.push(' ');
            row_text.push_str(&if row.number {
                right(&part, COLUMN - 3) + "   "
            } else {
                left(&part, COLUMN)
            });
        }
        text.push_str(row_text.trim_end());
        text.push('\n');
    }
    text
}

/// What was chosen in each plan; a row on which all agree is kept, for it is what to order.
fn choices(page: Page<'_>, plans: &[&Evaluated]) -> Vec<Row> {
    let job = page.job;
    let row = |words: &str, value: &dyn Fn(&Plan) -> String| Row {
        words: words.to_owned(),
        cells: plans.iter().map(|plan| value(&plan.plan)).collect(),
        number: false,
    };
    vec![
        row("unit", &|plan| job.units[plan.unit].name.clone()),
        row("setting", &|plan| plan.setting.name().to_owned()),
        row("spot", &|plan| job.spots[plan.spot].name.clone()),
        row("layout", &|plan| plan.layout.name().to_owned()),
        row("extract air from", &|plan| end_names(job, &plan.extract)),
        row("supply air to", &|plan| end_names(job, &plan.supply)),
        row("supply entry", &|plan| entry_words(plan).to_owned()),
        row("intake", &|plan| job.terminals[plan.intake].name.clone()),
        row("exhaust", &|plan| {
            if plan.two_in_one() {
                "the same hood".to_owned()
            } else {
                job.terminals[plan.exhaust].name.clone()
            }
        }),
        row("ducts", &|plan| {
            Length::from_si(plan.diameter).show(page.figures.system)
        }),
        row("interlock", &|plan| match plan.interlock {
            Interlock::None => "none".to_owned(),
            interlock => finding::interlock_words(interlock).to_owned(),
        }),
        row("balancing damper", &|plan| {
            let short = |angle: f64, words: &str| format!("{words} {}°", fixed(angle, 0));
            match (plan.supply_damper >= 0.5, plan.extract_damper >= 0.5) {
                (false, false) => "both open".to_owned(),
                (true, _) => short(plan.supply_damper, "supply"),
                (_, true) => short(plan.extract_damper, "extract"),
            }
        }),
    ]
}

fn entry_words(plan: &Plan) -> &'static str {
    match (plan.entry, plan.supply.first()) {
        (_, Some(house::model::End::Grille(_))) => "grille",
        (Entry::Flush, _) => "flush",
        (Entry::FacingDownstream, _) => "elbow facing downstream",
    }
}

fn numbers(page: Page<'_>, plans: &[&Evaluated]) -> Vec<Row> {
    let figures = page.figures;
    let currency = &page.job.costs.currency;
    let row = |words: String, value: &dyn Fn(&Merits) -> String| Row {
        words,
        cells: plans.iter().map(|plan| value(&plan.merits)).collect(),
        number: true,
    };
    vec![
        row(format!("outdoor air {}", figures.flow_unit()), &|merits| {
            figures.flow(merits.delivered)
        }),
        row("worst balance %".to_owned(), &|merits| {
            percent(merits.balance, 1)
        }),
        row("short circuit %".to_owned(), &|merits| {
            percent(merits.short_circuit, 1)
        }),
        row("fan pressure used %".to_owned(), &|merits| {
            percent(merits.fan_pressure_used, 0)
        }),
        row(format!("fastest air {}", figures.speed_unit()), &|merits| {
            figures.speed(merits.velocity)
        }),
        row("sound, dB to target".to_owned(), &|merits| {
            let excess = merits.side_effects.sound_excess;
            excess.map_or("unknown".to_owned(), |excess| signed(excess, 0))
        }),
        row("house pressure Pa".to_owned(), &|merits| {
            let drawn = merits.side_effects.drawn_down;
            drawn.map_or("no limit".to_owned(), |drawn| fixed(-drawn.with_plan, 1))
        }),
        row(
            format!(
                "above dew point {}",
                if figures.system == System::Ip {
                    "°F"
                } else {
                    "K"
                }
            ),
            &|merits| {
                let margin = merits.side_effects.dew_margin;
                let scale = if figures.system == System::Ip {
                    1.8
                } else {
                    1.0
                };
                margin.map_or("unknown".to_owned(), |margin| signed(scale * margin, 1))
            },
        ),
        row("electricity kWh/year".to_owned(), &|merits| {
            thousands(merits.electricity.round() as usize)
        }),
        row("  of it the blower".to_owned(), &|merits| {
            thousands(merits.blower_electricity.round() as usize)
        }),
        row(format!("  its cost {currency}/year"), &|merits| {
            if priced(merits.electricity_cost) {
                fixed(merits.electricity_cost, 0)
            } else {
                NO_PRICE.to_owned()
            }
        }),
        row(format!("unit and parts {currency}"), &|merits| {
            if priced(merits.parts_cost) {
                thousands(merits.parts_cost.round() as usize)
            } else {
                NO_PRICE.to_owned()
            }
        }),
    ]
}

/// What stands for a price that the job file leaves out.
const NO_PRICE: &str = "no price";

fn points(plans: &[&Evaluated]) -> Vec<Row> {
    let mut rows = vec![Row {
        words: "points of 100".to_owned(),
        cells: plans.iter().map(|plan| fixed(plan.score(), 1)).collect(),
        number: true,
    }];
    for (index, criterion) in CRITERIA.iter().enumerate() {
        rows.push(Row {
            words: format!("  {}", short_name(index, criterion.name)),
            cells: plans
                .iter()
                .map(|plan| match fixed(-plan.lost[index], 1) {
                    none if none == "0.0" => "·".to_owned(),
                    lost => lost,
                })
                .collect(),
            number: true,
        });
    }
    rows
}

/// The name of a criterion in the width of a column.
fn short_name(index: usize, name: &'static str) -> &'static str {
    match index {
        2 => "fan pressure",
        6 => "too much air",
        7 => "sound",
        8 => "house pressure",
        10 => "furnace air",
        _ => name,
    }
}

/// One plan in full.
fn explained(
    page: Page<'_>,
    found: &Search,
    place: usize,
    path: &Path,
    options: &Options,
) -> Result<Outcome, Failure> {
    let (job, system) = (page.job, page.figures.system);
    let evaluated = &found.ranked[place];
    let report = flows_of(job, &evaluated.plan, None, &|| ()).map_err(unsolved)?;
    let findings = finding::findings_in(
        system,
        job,
        &report.plan,
        &report.required,
        &report.merits,
        &report.cases,
    );
    let reason = why(job, found, place, system);
    let standings = standings(job, &report.plan, &report.merits, system);
    if options.json {
        let mut object = objects::flows(job, &report, &findings);
        object["rules"] = standings.iter().map(standing_object).collect();
        object["name"] = job.name.clone().into();
        object["ranked"] = ranked(job, found, place, &reason);
        return Ok(Outcome::json(&object, true));
    }
    let mark = if evaluated.pareto {
        " No other plan beats it in balance, short circuit, sound, electricity and parts at once."
    } else {
        ""
    };
    let usual = plan::case::usual_mode(job, report.plan.interlock);
    let shown = report
        .cases
        .iter()
        .find(|case| {
            let known = case.flows.case;
            Some(known.blower) == usual
                && known.setting == report.plan.setting
                && known.season == house::model::Season::Mild
        })
        .or(report.cases.first());
    let mut text = page.heading(&format!(
        "{}: plan {} of {}",
        job.name,
        place + 1,
        found.ranked.len()
    ));
    text.push_str(&page.paragraph(&page.plan_words(&report.plan)));
    text.push_str(&page.paragraph(&format!("{reason}{mark}")));
    text.push('\n');
    if let Some(shown) = shown {
        let case = case_words(job, shown.flows.case, page.figures);
        text.push_str(&page.heading(&format!("{}:", capital(&case))));
        text.push('\n');
        text.push_str(&sketch(
            job,
            &report.plan,
            &shown.flows,
            page.figures,
            page.coloured,
        ));
        text.push('\n');
    }
    text.push_str(&page.findings(&findings));
    text.push('\n');
    text.push_str(&in_words(page, &report));
    text.push('\n');
    text.push_str(&point_table(page, evaluated));
    text.push('\n');
    text.push_str(&parts_list(page, &report.parts));
    text.push('\n');
    text.push_str(&page.cases(&report, true));
    text.push('\n');
    text.push_str(&page.measurement(&report));
    text.push('\n');
    text.push_str(&rules_kept(page, &standings));
    text.push('\n');
    text.push_str(&page.density());
    let _ = writeln!(
        text,
        "\nOther cases: lungwort flows {} --plan {} --weather winter",
        path.display(),
        place + 1
    );
    Ok(Outcome::yes(text))
}

/// How the plan stands to the rules of the job, and what is to be seen to on the site.
fn rules_kept(page: Page<'_>, standings: &[Standing]) -> String {
    let (job, system) = (page.job, page.figures.system);
    let mut text = String::new();
    for (state, title) in [
        (State::Broken, "Rules that it breaks"),
        (State::Kept, "Rules that it keeps"),
        (
            State::ToSee,
            "To be seen to on the site, because the survey does not tell",
        ),
    ] {
        let some: Vec<&Standing> = standings
            .iter()
            .filter(|standing| standing.state == state)
            .collect();
        if some.is_empty() {
            continue;
        }
        text.push_str(&page.heading(title));
        for standing in some {
            let measured = if standing.measured.is_empty() {
                String::new()
            } else {
                format!(" Here: {}.", standing.measured)
            };
            let words = plan::rules::words(&job.rules, standing.row, system);
            text.push_str(&item("  • ", &format!("{words}{measured}"), WIDTH));
        }
    }
    text
}

fn standing_object(standing: &Standing) -> Value {
    json!({
        "rule": standing.row.id,
        "state": match standing.state {
            State::Kept => "kept",
            State::Broken => "broken",
            State::ToSee => "to be seen to",
        },
        "measured": standing.measured,
        "demand": standing.row.demand,
        "authority": standing.row.source(),
    })
}

/// The merits in sentences.
fn in_words(page: Page<'_>, report: &FlowsReport) -> String {
    let mut text = page.heading("What it does");
    let FlowsReport {
        plan,
        merits,
        parts,
        ..
    } = report;
    for words in account::sentences(page.job, plan, merits, parts, page.figures.system) {
        text.push_str(&item("  • ", &words, WIDTH));
    }
    text
}

/// Value, limits and points at each criterion.
fn point_table(page: Page<'_>, evaluated: &Evaluated) -> String {
    let value = |index, value| account::at_criterion(index, value, page.figures.system);
    let mut text = page.heading(&format!(
        "Points: {} of 100 (limits and weights are our own choice)",
        fixed(evaluated.score(), 1)
    ));
    let _ = writeln!(
        text,
        "{} {} {} {} {} {}",
        left("", 28),
        right("here", 12),
        right("all points to", 14),
        right("none from", 12),
        right("of points", 10),
        right("lost", 8)
    );
    for (index, criterion) in CRITERIA.iter().enumerate() {
        let here = merit::at_criterion(index, &evaluated.merits, &evaluated.lost);
        let name = if index == merit::PARTS {
            "parts, over the cheapest plan"
        } else {
            criterion.name
        };
        let _ = writeln!(
            text,
            "{} {} {} {} {} {}",
            left(name, 29),
            right(&value(index, here), 11),
            right(&value(index, criterion.good), 14),
            right(&value(index, criterion.bad), 12),
            right(&fixed(criterion.weight, 0), 10),
            right(&fixed(evaluated.lost[index], 1), 8)
        );
    }
    text
}

fn parts_list(page: Page<'_>, parts: &[plan::merit::PartLine]) -> String {
    let currency = &page.job.costs.currency;
    let mut text = page.heading("Parts");
    let mut total = 0.0;
    for line in parts {
        let quantity = if line.is_length {
            Length::from_si(line.quantity).show(page.figures.system)
        } else {
            fixed(line.quantity, 0)
        };
        let _ = writeln!(
            text,
            "{} {} {}",
            right(&quantity, 12),
            left(&line.item, 40),
            right(
                &if priced(line.price) {
                    money(currency, line.price)
                } else {
                    NO_PRICE.to_owned()
                },
                12
            )
        );
        total += line.price;
    }
    let _ = writeln!(
        text,
        "{} {} {}",
        left("", 12),
        left("altogether", 40),
        if priced(total) {
            right(&money(currency, total), 12)
        } else {
            "no price in the job file".to_owned()
        }
    );
    text
}

fn object(page: Page<'_>, found: &Search, shown: &[usize]) -> Value {
    let job: &Job = page.job;
    let rules: Vec<Value> = found
        .discarded
        .iter()
        .map(|(rule, count)| {
            json!({
                "rule": rule.id,
                "demand": rule.demand,
                "authority": rule.source(),
                "overridden": job.rules.ruling(rule).and_then(|ruling| Some(ruling.overridden?.reason.clone())),
                "remedy": rule.remedy,
                "combinations": count,
            })
        })
        .collect();
    let plans: Vec<Value> = (0..found.ranked.len())
        .map(|place| {
            let reason = if shown.contains(&place) {
                why(job, found, place, page.figures.system)
            } else {
                String::new()
            };
            ranked(job, found, place, &reason)
        })
        .collect();
    json!({
        "name": job.name,
        "required": objects::required(&found.required),
        "combinations": found.combinations,
        "solved": found.solved,
        "cases": found.cases,
        "discarded": rules,
        "missing": missing(job).into_iter().map(Missing::in_the_file).collect::<Vec<_>>(),
        "unsafe_as_found": found.unsafe_as_found.iter().map(|drawn| json!({
            "appliance": job.appliances[drawn.appliance].name,
            "limit_pa": drawn.limit,
            "as_found_pa": drawn.as_found,
        })).collect::<Vec<_>>(),
        "rule_sets": job.rules.sets().iter().map(|set| set.name()).collect::<Vec<_>>(),
        "unsolved": found.unsolved,
        "plans": plans,
    })
}

/// A plan of the ranking.
fn ranked(job: &Job, found: &Search, place: usize, reason: &str) -> Value {
    let evaluated = &found.ranked[place];
    let lost: Vec<Value> = CRITERIA
        .iter()
        .zip(&evaluated.lost)
        .map(|(criterion, lost)| {
            json!({ "criterion": criterion.name, "weight": criterion.weight, "lost": lost })
        })
        .collect();
    json!({
        "place": place + 1,
        "plan": objects::plan(job, &evaluated.plan),
        "merits": objects::merits(job, &evaluated.merits),
        "points": evaluated.score(),
        "points_lost": lost,
        "unbeaten": evaluated.pareto,
        "balanced": evaluated.balanced,
        "why": if reason.is_empty() { Value::Null } else { reason.into() },
    })
}
