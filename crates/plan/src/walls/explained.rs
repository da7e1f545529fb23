//! How a distance, its margin and the part of a wall that is allowed come about.

use house::model::Job;
use rules::clearances::{Measure, Stream};
use siting::{AMPLE, Against, Apart, Demand, Judgement, Opening, Place, Region, apart, area};
use units::text::capital;
use units::{Area, Length, Quantity as _, System, both};

use super::{Found, FoundPair, Walls, on_tape, opening, overridden, share};
use crate::explanation::{COMPUTED, Change, Explanation, Input, SURVEYED, change, input};

/// A hood that is explained: one of the job, or one that is proposed.
#[derive(Debug, Clone, PartialEq)]
pub struct Hood {
    /// What it is called.
    pub name: String,
    /// Where it is told in the survey, as a way through the job file; empty for one that is proposed.
    pub way: String,
    /// Its centre.
    pub place: Place,
    /// Its size.
    pub size: Opening,
}

impl Walls {
    /// A terminal of the job; none if its wall is not drawn.
    pub fn hood_of(&self, job: &Job, index: usize) -> Option<Hood> {
        let terminal = job.terminals.get(index)?;
        Some(Hood {
            name: terminal.name.clone(),
            way: format!("terminal/{}", index + 1),
            place: self.place(terminal)?,
            size: opening(terminal),
        })
    }

    /// Explains what one rule says of a hood: the distance, the limit, and by how much it is kept.
    pub fn explain_judgement(
        &self,
        job: &Job,
        hood: &Hood,
        other: Option<&Hood>,
        judgement: &Judgement,
        system: System,
    ) -> Explanation {
        let demand = self.demand(judgement);
        let wall = hood.place.wall;
        let thing = self.words(judgement.against, wall);
        let measure = demand.clearance.measure;
        let title = match measure {
            Measure::StraightLine => format!("{}: distance from {thing}", hood.name),
            Measure::Horizontal => format!("{}: distance sideways from {thing}", hood.name),
            Measure::Above | Measure::AboveGround | Measure::HighestAboveGround => {
                format!("{}: height above {thing}", hood.name)
            }
            Measure::Below => format!("{}: height below {thing}", hood.name),
        };
        let mut words = vec![format!(
            "{}.",
            capital(&self.measured_and_asked(judgement, wall, system))
        )];
        words.push(match judgement.holds {
            Some(true) if judgement.margin.is_finite() => format!(
                "The rule is kept, with {} to spare.",
                on_tape(judgement.margin.max(0.0), system)
            ),
            Some(true) => "The rule is kept.".to_owned(),
            Some(false) => format!(
                "The rule is broken: {} are missing.",
                over_tape(-judgement.margin, system)
            ),
            None => "It is shown only: the number is from memory and in doubt, so it forbids nothing. A number of the \
                     job's own for this rule would decide."
                .to_owned(),
        });
        let mut inputs = hood_inputs(self, hood, system).to_vec();
        match (judgement.against, other) {
            (Against::Thing(index), _) => inputs.extend(self.thing_input(job, index, system)),
            (Against::OwnOpening, Some(other)) => {
                inputs.extend(hood_inputs(self, other, system));
            }
            (Against::OwnOpening, None) => {}
            (Against::Grade | Against::Snow, _) => {
                let [low, high] = self.ground_under(hood);
                inputs.push(input(
                    "ground under the hood",
                    if high - low < 0.005 {
                        format!("{} against the level line", signed(high, system))
                    } else {
                        format!(
                            "{} to {} against the level line",
                            signed(low, system),
                            signed(high, system)
                        )
                    },
                    SURVEYED,
                    format!("wall/{}", wall + 1),
                ));
                if judgement.against == Against::Snow {
                    let snow = both(Length::from_si(job.climate.snow), system);
                    inputs.push(input("expected snow", snow, SURVEYED, "climate"));
                }
            }
        }
        let mut formula = self.measured_lines(hood, other, judgement, system);
        formula.extend(self.margin_line(judgement, system));
        let mut changes = vec![change(
            &format!("Move the {}.", hood.name),
            hood.way.clone(),
        )];
        if let Against::Thing(index) = judgement.against
            && let Some(way) = self.thing_way(job, index)
        {
            changes.push(change(
                &format!("Move {thing}, or say where it really is."),
                way,
            ));
        }
        changes.extend(own_number(job, demand));
        Explanation {
            title: capital(&title),
            value: format!(
                "{} ({})",
                tape(judgement.measured, system),
                signed(judgement.measured, system.other())
            ),
            band: None,
            words,
            formula,
            inputs,
            rule: Some(rule_of(demand)),
            change: changes,
        }
    }

    /// Explains the number of a rule, without a place.
    pub fn explain_limit(&self, job: &Job, demand: usize, system: System) -> Option<Explanation> {
        let demand = self.site.demands().get(demand)?;
        let row = &demand.clearance.row;
        Some(Explanation {
            title: capital(row.id),
            value: format!(
                "{} {}",
                demand.limit.sense.name(),
                both(Length::from_si(demand.limit.value), system)
            ),
            band: None,
            words: vec![
                format!("It holds for {}.", row.applies_to),
                if demand.decides {
                    "It decides: a place that breaks it is not allowed.".to_owned()
                } else {
                    "It is shown only: the number is from memory and in doubt, so it forbids nothing.".to_owned()
                },
            ],
            formula: vec![format!("Measured: {}.", demand.clearance.measure.name())],
            inputs: Vec::new(),
            rule: Some(rule_of(demand)),
            change: own_number(job, demand).into_iter().collect(),
        })
    }

    /// Explains which part of a wall is allowed for a hood that is to be this, like `an intake`.
    pub fn explain_region(
        &self,
        job: &Job,
        what: &str,
        region: &Region,
        size: Opening,
        best: Option<&Found>,
        system: System,
    ) -> Explanation {
        let wall = &self.site.walls()[region.wall];
        let part = share(region);
        let square = |size: f64| both(Area::from_si(size), system);
        let mut formula = vec![format!(
            "{} that is allowed ÷ {} with room for the hood = {}.",
            square(area(&region.allowed)),
            square(area(&region.free)),
            percent(part)
        )];
        /// More of them are not read.
        const MOST: usize = 6;
        let taken = region.taken();
        let mut told: Vec<Against> = Vec::new();
        let mut changes = Vec::new();
        for (index, share) in &taken {
            let forbidden = &region.forbidden[*index];
            if told.contains(&forbidden.against) || told.len() >= MOST {
                continue;
            }
            told.push(forbidden.against);
            let demand = &self.site.demands()[forbidden.demand];
            let thing = self.words(forbidden.against, region.wall);
            let asked = if demand.limit.value > 0.0 {
                demand.limit.show(system)
            } else {
                "to stay above it".to_owned()
            };
            formula.push(format!(
                "{} takes {}: {}{}, {asked} ({}).",
                capital(&thing),
                percent(*share),
                demand.id(),
                overridden(demand),
                demand.source
            ));
            if told.len() <= 2 {
                if let Against::Thing(thing_index) = forbidden.against
                    && let Some(way) = self.thing_way(job, thing_index)
                {
                    changes.push(change(
                        &format!("Move {thing}, or say where it really is."),
                        way,
                    ));
                }
                changes.extend(own_number(job, demand));
            }
        }
        if told.len() > 1 {
            formula.push("What they take overlaps, so it does not add up.".into());
        }
        changes.dedup();
        let mut words = vec![format!(
            "The part of the wall on which the centre of {what} may lie, of the part where the hood has room at all: \
             within the outline and on nothing else."
        )];
        if let Some(best) = best {
            words.push(format!(
                "The best place: {}. {}",
                self.place_words(best.place, system),
                self.tightest_words(best.tightest.as_ref(), region.wall, system)
            ));
            formula.push(best_words(system));
        }
        let things = self.site.things()[..self.drawn()].len();
        Explanation {
            title: format!("Where {what} may lie on the {}", wall.name),
            value: format!("{} of the wall", percent(part)),
            band: None,
            words,
            formula,
            inputs: vec![
                input(
                    "wall",
                    format!("{} wide", both(Length::from_si(wall.length()), system)),
                    SURVEYED,
                    format!("wall/{}", region.wall + 1),
                ),
                input(
                    "hood",
                    size_words(size, system),
                    "the largest of the survey, or the usual size",
                    "terminal",
                ),
                input(
                    "things on and before the walls",
                    things.to_string(),
                    SURVEYED,
                    format!("wall/{}/object", region.wall + 1),
                ),
            ],
            rule: None,
            change: changes,
        }
    }

    /// Explains a pair of places that was found, on one wall or on all of them.
    pub fn explain_pair(
        &self,
        job: &Job,
        title: &str,
        pair: &FoundPair,
        system: System,
    ) -> Explanation {
        let hood = |name: &str, place: Place| Hood {
            name: name.to_owned(),
            way: String::new(),
            place,
            size: self.hood,
        };
        let intake = hood("intake", pair.intake);
        let exhaust = hood("exhaust", pair.exhaust);
        let on = |hood: &Hood| {
            format!(
                "{} on the {}: {}.",
                capital(&hood.name),
                self.site.walls()[hood.place.wall].name,
                self.place_words(hood.place, system)
            )
        };
        let margin = pair.verdict.margin();
        let blank = Explanation {
            title: title.to_owned(),
            value: if margin.is_finite() {
                format!("{} to spare", on_tape(margin.max(0.0), system))
            } else {
                "no rule comes near".to_owned()
            },
            band: None,
            words: vec![on(&intake), on(&exhaust)],
            formula: vec![best_words(system)],
            inputs: Vec::new(),
            rule: None,
            change: vec![change("Draw another wall.", "wall")],
        };
        let Some((stream, tightest)) = pair.tightest().filter(|(_, it)| it.margin.is_finite())
        else {
            return blank;
        };
        let [this, other] = match stream {
            Stream::Intake => [&intake, &exhaust],
            Stream::Exhaust => [&exhaust, &intake],
        };
        let of = self.explain_judgement(job, this, Some(other), tightest, system);
        let mut words = blank.words;
        words.push(format!("Tightest: {}", of.words.join(" ")));
        let mut formula = blank.formula;
        formula.extend(of.formula);
        Explanation {
            title: blank.title,
            value: blank.value,
            words,
            formula,
            change: of
                .change
                .into_iter()
                .filter(|it| !it.way.is_empty())
                .collect(),
            ..of
        }
    }

    /// The way to a thing of the site in the job file; corners have none.
    fn thing_way(&self, job: &Job, thing: usize) -> Option<String> {
        let owner = self.owner(Against::Thing(thing))?;
        let before: usize = job.walls[..owner]
            .iter()
            .map(|wall| wall.objects.len())
            .sum();
        Some(format!("wall/{}/object/{}", owner + 1, thing - before + 1))
    }

    fn thing_input(&self, job: &Job, thing: usize, system: System) -> Option<Input> {
        let owner = self.owner(Against::Thing(thing))?;
        let way = self.thing_way(job, thing)?;
        let before: usize = job.walls[..owner]
            .iter()
            .map(|wall| wall.objects.len())
            .sum();
        let object = &job.walls[owner].objects[thing - before];
        let show = |length: f64| Length::from_si(length).show(system);
        let mut value = format!(
            "left edge {}, lower edge {}, {} × {}",
            signed(object.along, system),
            signed(object.bottom, system),
            show(object.width),
            show(object.height)
        );
        if object.out > 0.0 {
            value += &format!(", {} before the wall", show(object.out));
        }
        if object.depth > 0.0 {
            value += &format!(", {} deep", show(object.depth));
        }
        Some(input(
            format!("{} on the {}", object.name, job.walls[owner].name),
            value,
            SURVEYED,
            way,
        ))
    }

    /// The lowest and the highest ground under a hood (m).
    fn ground_under(&self, hood: &Hood) -> [f64; 2] {
        let wall = &self.site.walls()[hood.place.wall];
        let [s, half] = [hood.place.at[0], hood.size.width / 2.0];
        [
            wall.lowest_ground(s - half, s + half),
            wall.highest_ground(s - half, s + half),
        ]
    }

    /// How the distance is measured, with the numbers of this place.
    fn measured_lines(
        &self,
        hood: &Hood,
        other: Option<&Hood>,
        judgement: &Judgement,
        system: System,
    ) -> Vec<String> {
        let demand = self.demand(judgement);
        let measure = demand.clearance.measure;
        let result = tape(judgement.measured, system);
        let beside = other.map(|other| (other.place, other.size));
        let (low, high) = (
            hood.place.at[1] - hood.size.height / 2.0,
            hood.place.at[1] + hood.size.height / 2.0,
        );
        let heights = match judgement.against {
            Against::Thing(index) => {
                let thing = &self.site.things()[index];
                Some([thing.bottom, thing.top])
            }
            Against::OwnOpening => other.map(|other| {
                let half = other.size.height / 2.0;
                [other.place.at[1] - half, other.place.at[1] + half]
            }),
            _ => None,
        };
        let mut lines = vec![format!("Measured: {}.", measure.name())];
        let apart = apart(
            &self.site,
            (hood.place, hood.size),
            judgement.against,
            beside,
        );
        match (measure, apart, heights) {
            (Measure::StraightLine, Some(Apart { plan, height }), _) => {
                let plan_words = Length::from_si(plan).show(system);
                let height_words = Length::from_si(height).show(system);
                let (unit, name) = match system {
                    System::Ip => (0.3048, "ft"),
                    System::Si => (1.0, "m"),
                };
                let [a, b, c] = [plan, height, judgement.measured].map(|side| side / unit);
                lines.push(match (plan > 0.0005, height > 0.0005) {
                    (true, true) => format!(
                        "In plan they are {plan_words} apart, in height {height_words}: √({a:.2}² + {b:.2}²) = {c:.2} \
                         {name}, on the tape {result}."
                    ),
                    (true, false) => {
                        format!("In plan they are {plan_words} apart, in height they overlap: {result}.")
                    }
                    (false, true) => {
                        format!("They stand above each other, {height_words} apart in height: {result}.")
                    }
                    (false, false) => "They touch or overlap.".to_owned(),
                });
            }
            (Measure::Horizontal, Some(Apart { plan, .. }), _) => lines.push(format!(
                "In plan they are {} apart, whatever their heights.",
                Length::from_si(plan).show(system)
            )),
            (Measure::Above, _, Some([_, top])) => lines.push(format!(
                "{} (lower edge of the hood) − {} (top) = {result}, above the level line.",
                signed(low, system),
                signed(top, system)
            )),
            (Measure::Below, _, Some([bottom, _])) => lines.push(format!(
                "{} (bottom) − {} (upper edge of the hood) = {result}, above the level line.",
                signed(bottom, system),
                signed(high, system)
            )),
            (Measure::AboveGround | Measure::HighestAboveGround, _, _) => {
                let [lowest, highest] = self.ground_under(hood);
                let (edge, at, ground, which) = match measure {
                    Measure::AboveGround => ("lower", low, highest, "highest"),
                    _ => ("upper", high, lowest, "lowest"),
                };
                let snow = match judgement.against {
                    Against::Snow => self.snow(hood.place.wall),
                    _ => 0.0,
                };
                let snow_words = if snow > 0.0 {
                    format!(" − {} (snow)", Length::from_si(snow).show(system))
                } else {
                    String::new()
                };
                lines.push(format!(
                    "{} ({edge} edge of the hood) − {} ({which} ground under it){snow_words} = {result}, heights \
                     above the level line.",
                    signed(at, system),
                    signed(ground, system)
                ));
            }
            _ => {}
        }
        lines
    }

    /// By how much the rule is kept.
    fn margin_line(&self, judgement: &Judgement, system: System) -> Option<String> {
        if !judgement.margin.is_finite() {
            return None;
        }
        let limit = &self.demand(judgement).limit;
        let number = limit.margin(judgement.measured);
        let asked = Length::from_si(limit.value).show(system);
        let measured = tape(judgement.measured, system);
        let line = match limit.sense {
            rules::Sense::AtLeast => format!("{measured} − {asked} asked"),
            rules::Sense::AtMost => format!("{asked} asked at most − {measured}"),
        };
        let mut line = format!("Margin: {line} = {}.", tape(number, system));
        if (judgement.margin - number).abs() > 1e-9 {
            line += &match self.exception(judgement, system) {
                Some(exception) => format!(
                    " An exception does instead: {exception}; {} to spare.",
                    on_tape(judgement.margin.max(0.0), system)
                ),
                None => format!(
                    " By its exception the margin is {}.",
                    tape(judgement.margin, system)
                ),
            };
        }
        Some(line)
    }
}

/// How the best place is found, in words.
fn best_words(system: System) -> String {
    format!(
        "The best place is where the tightest rule that decides is kept by the most. More than {} counts no more; then \
         the rules that are shown only and the room around the hood decide. It is moved to whole marks of a tape.",
        Length::from_si(AMPLE).show(system)
    )
}

fn hood_inputs(walls: &Walls, hood: &Hood, system: System) -> [Input; 2] {
    let known = if hood.way.is_empty() {
        COMPUTED
    } else {
        SURVEYED
    };
    [
        input(
            format!("centre of the {}", hood.name),
            walls.place_words(hood.place, system),
            known,
            hood.way.clone(),
        ),
        input(
            format!("size of the {}", hood.name),
            size_words(hood.size, system),
            if hood.way.is_empty() {
                "the largest of the survey, or the usual size"
            } else {
                "from the survey, or the usual size"
            },
            hood.way.clone(),
        ),
    ]
}

fn size_words(size: Opening, system: System) -> String {
    let show = |length: f64| Length::from_si(length).show(system);
    format!("{} × {}", show(size.width), show(size.height))
}

fn rule_of(demand: &Demand) -> [String; 2] {
    let row = &demand.clearance.row;
    let mut words = row.demand.to_owned();
    if !row.exception.is_empty() {
        words += &format!(" Not asked where: {}.", row.exception);
    }
    let whose = if demand.overridden {
        demand.source.clone()
    } else {
        format!(
            "{}. How well known: {}",
            demand.source,
            row.confidence.name()
        )
    };
    [format!("{}: {words}", capital(row.id)), whose]
}

/// What makes the number of a rule another one: that of the job, or the form for one.
fn own_number(job: &Job, demand: &Demand) -> Option<Change> {
    let mut own = job.rules.overrides();
    Some(match own.position(|(row, _)| row.id == demand.id()) {
        Some(place) => change(
            &format!("Change the job's own number for “{}”.", demand.id()),
            format!("rules/override/{}", place + 1),
        ),
        None => change(
            &format!(
                "Give a number of the job's own for “{}”, with the reason.",
                demand.id()
            ),
            format!("needs/{}", demand.id()),
        ),
    })
}

fn percent(share: f64) -> String {
    match 100.0 * share {
        p if p <= 0.0 => "none".to_owned(),
        p if p < 1.0 => "less than 1 %".to_owned(),
        p => format!("{p:.0} %"),
    }
}

/// A length with its sign.
fn signed(length: f64, system: System) -> String {
    let sign = if length < -0.0005 { "−" } else { "" };
    format!("{sign}{}", Length::from_si(length.abs()).show(system))
}

/// The same down to the last mark of a tape, so that what is short by a hair is not shown as enough.
fn tape(length: f64, system: System) -> String {
    if length < 0.0 {
        format!("−{}", over_tape(-length, system))
    } else {
        on_tape(length, system)
    }
}

/// Up to the next mark of a tape, so that what is missing is not shown as less.
fn over_tape(length: f64, system: System) -> String {
    let step = super::mark(system);
    Length::from_si((length / step - 1e-6).ceil() * step).show(system)
}
