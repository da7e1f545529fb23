//! One terminal of a job while it is moved: its regions, its rules, and the way back to an allowed
//! place.

use house::model::Job;
use rules::clearances::Stream;
use siting::{
    Opening, Place, Region, Verdict, best_beside, best_on, best_two_in_one, region, region_beside,
    region_two_in_one,
};
use units::System;

use super::{Found, TerminalReport, Walls, mark, opening};

impl Walls {
    /// The terminal that would be the other one of a pair: that of the job's plan, or the only one
    /// that could be.
    pub fn partner(&self, job: &Job, index: usize) -> Option<usize> {
        let terminal = job.terminals.get(index)?;
        if let Some(plan) = &job.chosen
            && plan.intake != plan.exhaust
        {
            if plan.intake == index {
                return Some(plan.exhaust);
            }
            if plan.exhaust == index {
                return Some(plan.intake);
            }
        }
        let mut others = job.terminals.iter().enumerate().filter(|(place, other)| {
            *place != index
                && other.place.is_some()
                && !other.two_in_one
                && !terminal.two_in_one
                && (terminal.intake && other.exhaust || terminal.exhaust && other.intake)
        });
        let (only, _) = others.next()?;
        others.next().is_none().then_some(only)
    }

    /// Where the other terminal of its pair sits, if it is known which.
    fn beside(&self, job: &Job, index: usize) -> Option<(Place, Opening)> {
        let other = &job.terminals[self.partner(job, index)?];
        Some((self.place(other)?, opening(other)))
    }

    /// Where the centre of a terminal may lie on its wall, as each thing that it may be, beside the
    /// other terminal of its pair.
    pub fn regions_of(&self, job: &Job, index: usize) -> Vec<(Stream, Region)> {
        let Some(terminal) = job.terminals.get(index) else {
            return Vec::new();
        };
        let Some(place) = self.place(terminal) else {
            return Vec::new();
        };
        let hood = opening(terminal);
        if terminal.two_in_one {
            let region = region_two_in_one(&self.site, hood, place.wall);
            return region
                .into_iter()
                .map(|region| (Stream::Intake, region))
                .collect();
        }
        let beside = self.beside(job, index);
        [
            (terminal.intake, Stream::Intake),
            (terminal.exhaust, Stream::Exhaust),
        ]
        .into_iter()
        .filter(|(may, _)| *may)
        .filter_map(|(_, stream)| {
            let region = match beside {
                Some(other) => region_beside(&self.site, hood, place.wall, stream, other),
                None => region(&self.site, hood, place.wall, stream),
            };
            Some((stream, region?))
        })
        .collect()
    }

    /// Where the hoods of the job may lie on a wall, without regard to each other.
    pub fn regions_on(&self, wall: usize) -> Vec<(Stream, Region)> {
        [Stream::Intake, Stream::Exhaust]
            .into_iter()
            .filter_map(|stream| Some((stream, region(&self.site, self.hood, wall, stream)?)))
            .collect()
    }

    /// Every rule at the place of a terminal, those beside the other terminal of its pair included.
    pub fn judged_beside(&self, job: &Job, index: usize) -> Option<TerminalReport> {
        let place = self.place(job.terminals.get(index)?)?;
        self.judged_at(job, index, place)
    }

    /// The same at another place.
    fn judged_at(&self, job: &Job, index: usize, place: Place) -> Option<TerminalReport> {
        let terminal = &job.terminals[index];
        let hood = opening(terminal);
        let mut report = TerminalReport {
            terminal: index,
            place,
            intake: None,
            exhaust: None,
        };
        if terminal.two_in_one {
            let pair = siting::judge_two_in_one(&self.site, hood, place)?;
            report.intake = Some(pair.intake);
            report.exhaust = Some(pair.exhaust);
            return Some(report);
        }
        let beside = self.beside(job, index);
        let of =
            |stream: Stream| -> Option<Verdict> {
                let Some((other, size)) = beside else {
                    return siting::judge(&self.site, hood, place, stream);
                };
                match stream {
                    Stream::Intake => siting::judge_pair(&self.site, [hood, size], place, other)
                        .map(|it| it.intake),
                    Stream::Exhaust => siting::judge_pair(&self.site, [size, hood], other, place)
                        .map(|it| it.exhaust),
                }
            };
        if terminal.intake {
            report.intake = of(Stream::Intake);
        }
        if terminal.exhaust {
            report.exhaust = of(Stream::Exhaust);
        }
        Some(report)
    }

    /// The allowed place on its wall that is nearest to where a terminal is, on whole marks of a tape;
    /// none if there is no allowed place.
    pub fn nearest_allowed(
        &self,
        job: &Job,
        index: usize,
        regions: &[(Stream, Region)],
        system: System,
    ) -> Option<Place> {
        /// Sides of the region that are looked at, the nearest first.
        const SIDES: usize = 12;
        let place = self.place(job.terminals.get(index)?)?;
        let step = mark(system);
        let far = |at: [f64; 2]| (at[0] - place.at[0]).hypot(at[1] - place.at[1]);
        let mut points: Vec<[f64; 2]> = regions
            .iter()
            .flat_map(|(_, region)| region.allowed.iter().flatten())
            .flat_map(|contour| {
                let next = contour.iter().cycle().skip(1);
                contour
                    .iter()
                    .zip(next)
                    .map(|(from, to)| nearest_on(*from, *to, place.at))
            })
            .collect();
        points.sort_by(|one, other| far(*one).total_cmp(&far(*other)));
        let mut best: Option<Place> = None;
        for point in points.into_iter().take(SIDES) {
            for right in -2..=2 {
                for up in -2..=2 {
                    let s = step * ((point[0] / step).round() + f64::from(right));
                    let ground = self.ground(place.wall, s);
                    let z = ground + step * (((point[1] - ground) / step).round() + f64::from(up));
                    let at = Place {
                        wall: place.wall,
                        at: [s, z],
                    };
                    if best.is_none_or(|best| far(at.at) < far(best.at))
                        && self
                            .judged_at(job, index, at)
                            .is_some_and(|report| report.holds())
                    {
                        best = Some(at);
                    }
                }
            }
        }
        best
    }

    /// The place on a wall with the most room for a new hood: beside the only other opening that is
    /// there for it, or alone; with no stream, for a two-in-one hood.
    pub fn most_room(
        &self,
        job: &Job,
        wall: usize,
        stream: Option<Stream>,
        system: System,
    ) -> Option<Found> {
        let step = mark(system);
        let Some(stream) = stream else {
            let alone = self.alone(wall)?;
            let best = best_two_in_one(&alone, self.two_in_one_hood)?;
            let at = best.place.at;
            return self.snapped_two_in_one(Place { wall, at }, step);
        };
        let mut others = job.terminals.iter().filter(|other| {
            !other.two_in_one
                && other.place.is_some()
                && match stream {
                    Stream::Intake => other.exhaust,
                    Stream::Exhaust => other.intake,
                }
        });
        let beside = match (others.next(), others.next()) {
            (Some(other), None) => self.place(other).map(|place| (place, opening(other))),
            _ => None,
        };
        let Some((other, size)) = beside else {
            let best = best_on(&self.site, self.hood, wall, stream)?;
            return self.snapped(best.place, stream, step);
        };
        let best = best_beside(&self.site, self.hood, wall, stream, (other, size))?;
        self.snapped_by(best.place, step, |place| match stream {
            Stream::Intake => {
                let pair = siting::judge_pair(&self.site, [self.hood, size], place, other);
                pair.map(|pair| pair.intake)
            }
            Stream::Exhaust => {
                let pair = siting::judge_pair(&self.site, [size, self.hood], other, place);
                pair.map(|pair| pair.exhaust)
            }
        })
    }
}

/// The point of a segment that is nearest to another point.
fn nearest_on(from: [f64; 2], to: [f64; 2], at: [f64; 2]) -> [f64; 2] {
    let way = [to[0] - from[0], to[1] - from[1]];
    let long = way[0] * way[0] + way[1] * way[1];
    if long <= 0.0 {
        return from;
    }
    let share = ((at[0] - from[0]) * way[0] + (at[1] - from[1]) * way[1]) / long;
    let share = share.clamp(0.0, 1.0);
    [from[0] + share * way[0], from[1] + share * way[1]]
}
