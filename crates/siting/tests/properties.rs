//! What must hold on any site.

mod common;

use common::FOOT;
use proptest::prelude::*;
use rules::clearances::{Measure, Object, Stream};
use rules::{RuleBook, RuleSet};
use siting::{
    AMPLE, Opening, PAIR_RESOLUTION, Place, RESOLUTION, ROUNDING, Region, Site, Thing, Wall, apart,
    area, best, best_pair, best_two_in_one, demands, judge, judge_pair, judge_two_in_one, region,
    region_beside, region_two_in_one,
};

const STREAMS: [Stream; 2] = [Stream::Intake, Stream::Exhaust];

/// The numbers of a random site.
#[derive(Debug, Clone)]
struct Draw {
    /// Width and depth of the house, and of the part that is cut out of its corner.
    plan: [f64; 4],
    /// By how much the whole is turned (radians).
    turn: f64,
    /// Bottom and top of the walls, and where their roof slopes to.
    heights: [f64; 3],
    /// Heights of the ground along each wall.
    ground: [f64; 4],
    snow: f64,
    hood: [f64; 2],
    rules: usize,
    things: Vec<DrawnThing>,
}

#[derive(Debug, Clone)]
struct DrawnThing {
    object: usize,
    wall: usize,
    /// Along the wall as a share, bottom, distance of its back.
    place: [f64; 3],
    size: [f64; 3],
    on_wall: bool,
    /// By how much it is turned in plan.
    turn: f64,
}

fn thing() -> impl Strategy<Value = DrawnThing> {
    (
        0..Object::ALL.len(),
        0..6_usize,
        [-0.2..1.2, -0.5..6.0, -4.0..4.0],
        [0.0..2.0, 0.0..1.5, 0.0..2.0],
        any::<bool>(),
        -3.0..3.0,
    )
        .prop_map(|(object, wall, place, size, on_wall, turn)| DrawnThing {
            object,
            wall,
            place,
            size,
            on_wall,
            turn,
        })
}

fn draw() -> impl Strategy<Value = Draw> {
    (
        [5.0..14.0, 5.0..12.0, 0.0..4.0, 0.0..4.0],
        -3.2..3.2,
        [-0.5..0.3, 2.5..7.0, 0.0..2.0],
        [-0.3..1.2, -0.3..1.2, -0.3..1.2, -0.3..1.2],
        0.0..0.8,
        [0.1..0.6, 0.1..0.5],
        0..5_usize,
        prop::collection::vec(thing(), 0..9),
    )
        .prop_map(
            |(plan, turn, heights, ground, snow, hood, rules, things)| Draw {
                plan,
                turn,
                heights,
                ground,
                snow,
                hood,
                rules,
                things,
            },
        )
}

impl Draw {
    fn walls(&self) -> Vec<Wall> {
        let [width, depth, right, back] = self.plan;
        // An L, with an inside corner.
        let corners = [
            [0.0, 0.0],
            [width, 0.0],
            [width, depth - back - 0.5],
            [width - right - 0.5, depth - back - 0.5],
            [width - right - 0.5, depth],
            [0.0, depth],
        ]
        .map(|[x, y]| turned([x, y], self.turn));
        (0..6)
            .map(|index| {
                let (start, end) = (corners[index], corners[(index + 1) % 6]);
                let [bottom, top, gable] = self.heights;
                let mut wall = Wall::rectangle(&format!("wall {index}"), start, end, bottom, top);
                let length = wall.length();
                if index % 2 == 0 {
                    wall.outline.insert(3, [length / 2.0, top + gable]);
                }
                let [a, b, c, d] = self.ground;
                wall.grade = match index % 3 {
                    0 => vec![[0.0, a], [length, b]],
                    1 => vec![[0.2 * length, c], [0.6 * length, c], [0.6 * length, d]],
                    _ => vec![[0.0, b]],
                };
                wall.snow = self.snow * (index % 2) as f64;
                wall
            })
            .collect()
    }

    fn things(&self, walls: &[Wall]) -> Vec<Thing> {
        self.things
            .iter()
            .enumerate()
            .map(|(index, drawn)| {
                let name = format!("thing {index}");
                let object = Object::ALL[drawn.object];
                let wall = &walls[drawn.wall];
                let left = drawn.place[0] * wall.length();
                let [width, height, depth] = drawn.size;
                if drawn.on_wall {
                    let place = [left, drawn.place[1]];
                    Thing::on_wall(&name, object, (drawn.wall, wall), place, [width, height])
                } else {
                    let place = [left, drawn.place[1], drawn.place[2]];
                    let mut thing =
                        Thing::in_front_of(&name, object, wall, place, [width, height, depth]);
                    let pivot = thing.plan[0];
                    for point in &mut thing.plan {
                        let offset = [point[0] - pivot[0], point[1] - pivot[1]];
                        let offset = turned(offset, drawn.turn);
                        *point = [pivot[0] + offset[0], pivot[1] + offset[1]];
                    }
                    thing
                }
            })
            .collect()
    }

    fn site(&self) -> Site {
        let walls = self.walls();
        let things = self.things(&walls);
        self.with(walls, things)
    }

    fn with(&self, walls: Vec<Wall>, things: Vec<Thing>) -> Site {
        let sets: &[RuleSet] = [
            &[][..],
            &[RuleSet::Irc2024],
            &[RuleSet::Irc2021, RuleSet::Ashrae622],
            &[RuleSet::Washington],
            &[RuleSet::Ontario],
        ][self.rules];
        let book = RuleBook::new(sets, Vec::new()).expect("one national set");
        Site::new(walls, things, demands(&book)).expect("a site")
    }

    fn hood(&self) -> Opening {
        Opening {
            width: self.hood[0],
            height: self.hood[1],
        }
    }
}

fn turned([x, y]: [f64; 2], angle: f64) -> [f64; 2] {
    let (sin, cos) = angle.sin_cos();
    [x * cos - y * sin, x * sin + y * cos]
}

/// Points all over a wall: an even grid, a little off the round numbers.
fn grid(wall: &Wall, step: f64) -> Vec<[f64; 2]> {
    let top = wall
        .outline
        .iter()
        .map(|point| point[1])
        .fold(0.0, f64::max);
    let mut points = Vec::new();
    let mut s = 0.037 * step;
    while s < wall.length() {
        let mut z = wall.outline[0][1] + 0.051 * step;
        while z < top {
            points.push([s, z]);
            z += step;
        }
        s += step;
    }
    points
}

/// The corners of the allowed polygons, the middles of their sides, and the grid points in them.
fn allowed_points(region: &Region, wall: &Wall, step: f64) -> Vec<[f64; 2]> {
    let mut points = grid(wall, step);
    points.retain(|&at| region.contains(at));
    for contour in region.allowed.iter().flatten() {
        for (index, p) in contour.iter().enumerate() {
            let q = contour[(index + 1) % contour.len()];
            points.push(*p);
            points.push([(p[0] + q[0]) / 2.0, (p[1] + q[1]) / 2.0]);
        }
    }
    points
}

/// Whether the region could rightly leave out a place: no room, or a rule broken or kept by no more
/// than the half millimetre on the safe side, there or a hair (the slack of straight bounds) beside.
fn rightly_left_out(at: [f64; 2], verdict: impl Fn([f64; 2]) -> (bool, f64)) -> bool {
    const HAIR: f64 = 2.5e-5;
    (0..9_i8)
        .map(|index| [index % 3 - 1, index / 3 - 1].map(|side| f64::from(side) * HAIR))
        .any(|[right, up]| {
            let (fits, margin) = verdict([at[0] + right, at[1] + up]);
            !fits || margin <= ROUNDING + 1e-5
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// No place of a region breaks a rule, and no place outside keeps all by more than half a
    /// millimetre.
    #[test]
    fn regions_are_right(draw in draw()) {
        let site = draw.site();
        for (index, wall) in site.walls().iter().enumerate() {
            for stream in STREAMS {
                let region = region(&site, draw.hood(), index, stream).expect("a wall");
                let verdict = |at| {
                    let place = Place { wall: index, at };
                    judge(&site, draw.hood(), place, stream).expect("a wall")
                };
                for at in allowed_points(&region, wall, 0.31) {
                    prop_assert!(verdict(at).holds(), "{at:?} {:?}", verdict(at));
                }
                for at in grid(wall, 0.31) {
                    prop_assert!(
                        region.contains(at) || rightly_left_out(at, |at| {
                            let verdict = verdict(at);
                            (verdict.fit.holds(), verdict.margin())
                        }),
                        "{at:?} {:?}", verdict(at)
                    );
                }
            }
        }
    }

    /// The same for one hood with both openings, and for one opening beside the other.
    #[test]
    fn regions_of_both_openings_are_right(draw in draw(), along in 0.1..0.9, up in 0.5..3.0) {
        let site = draw.site();
        let other = Place { wall: 0, at: [along * site.walls()[0].length(), up] };
        for (index, wall) in site.walls().iter().enumerate() {
            let both = region_two_in_one(&site, draw.hood(), index).expect("a wall");
            let verdict = |at| {
                let place = Place { wall: index, at };
                judge_two_in_one(&site, draw.hood(), place).expect("a wall")
            };
            for at in allowed_points(&both, wall, 0.4) {
                prop_assert!(verdict(at).holds(), "{at:?} {:?}", verdict(at));
            }
            for at in grid(wall, 0.4) {
                prop_assert!(both.contains(at) || rightly_left_out(at, |at| {
                    let verdict = verdict(at);
                    (verdict.intake.fit.holds(), verdict.margin())
                }), "{at:?} {:?}", verdict(at));
            }
            // The exhaust, given the intake: its own rules, and all that keep them apart.
            let beside = region_beside(&site, draw.hood(), index, Stream::Exhaust, (other, draw.hood()))
                .expect("a wall");
            let verdict = |at| {
                let place = Place { wall: index, at };
                let pair = judge_pair(&site, [draw.hood(); 2], other, place).expect("a wall");
                let apart = pair.intake.judgements.iter()
                    .filter(|judgement| judgement.against == siting::Against::OwnOpening)
                    .filter(|judgement| judgement.holds.is_some())
                    .map(|judgement| judgement.margin)
                    .fold(f64::INFINITY, f64::min);
                (pair.exhaust.fit.holds(), pair.exhaust.margin().min(apart))
            };
            for at in allowed_points(&beside, wall, 0.4) {
                let (fits, margin) = verdict(at);
                prop_assert!(fits && margin >= 0.0, "{at:?} {margin}");
            }
            for at in grid(wall, 0.4) {
                prop_assert!(
                    beside.contains(at) || rightly_left_out(at, verdict),
                    "{at:?} {:?}", verdict(at)
                );
            }
        }
    }

    /// A thing in front of a wall that moves straight out, one above it that moves up, and one
    /// beside it that moves on never shrink its region.
    #[test]
    fn moving_away_never_shrinks(
        draw in draw(),
        first in thing(),
        way in 0..3_usize,
        from in 0.0..4.0,
        by in 0.01..4.0,
    ) {
        let mut draw = draw;
        draw.things.insert(0, DrawnThing { on_wall: false, ..first });
        let walls = draw.walls();
        let mut things = draw.things(&walls);
        let index = draw.things[0].wall;
        let wall = &walls[index];
        let shift = |thing: &Thing, by: f64| {
            let mut moved = thing.clone();
            match way {
                0 => {
                    moved.bottom += by;
                    moved.top += by;
                }
                1 => for point in &mut moved.plan {
                    let [s, out] = wall.local(*point);
                    *point = wall.plan(s, out + by);
                },
                _ => for point in &mut moved.plan {
                    let [s, out] = wall.local(*point);
                    *point = wall.plan(s + by, out);
                },
            }
            moved
        };
        // Put it where "away" has a meaning: above, in front of or beside all of the wall.
        let least = |axis: usize| {
            things[0].plan.iter().map(|&point| wall.local(point)[axis]).fold(f64::INFINITY, f64::min)
        };
        let top = wall.outline.iter().map(|point| point[1]).fold(0.0, f64::max);
        let short = [top - things[0].bottom, -least(1), wall.length() - least(0)][way];
        things[0] = shift(&things[0], short + from);
        let mut moved = things.clone();
        moved[0] = shift(&things[0], by);
        let (before, after) = (draw.with(walls.clone(), things), draw.with(walls.clone(), moved));
        for stream in STREAMS {
            let [old, new] = [&before, &after]
                .map(|site| region(site, draw.hood(), index, stream).expect("a wall"));
            for at in allowed_points(&old, wall, 0.3) {
                // The rounding may fall out differently by half a millimetre of distance.
                let place = Place { wall: index, at };
                let verdict = judge(&after, draw.hood(), place, stream).expect("a wall");
                prop_assert!(verdict.holds(), "{at:?} {verdict:?}");
                prop_assert!(
                    new.contains(at) || verdict.margin() <= ROUNDING + 1e-5
                        || rightly_left_out(at, |at| {
                            let place = Place { wall: index, at };
                            let verdict = judge(&after, draw.hood(), place, stream).expect("a wall");
                            (verdict.fit.holds(), verdict.margin())
                        }),
                    "{at:?} {verdict:?}"
                );
            }
            let around: f64 = old.allowed.iter().flatten().map(|contour| {
                (0..contour.len()).map(|index| {
                    let (p, q) = (contour[index], contour[(index + 1) % contour.len()]);
                    (p[0] - q[0]).hypot(p[1] - q[1])
                }).sum::<f64>()
            }).sum();
            // The figure of one thing is no longer around than 40 m.
            let lost = area(&old.allowed) - area(&new.allowed);
            prop_assert!(lost <= ROUNDING * (around + 40.0), "{lost}");
        }
    }

    /// The best place is allowed, and no place of a dense grid is better.
    #[test]
    fn best_is_best(draw in draw()) {
        let site = draw.site();
        for stream in STREAMS {
            let found = best(&site, draw.hood(), stream);
            let mut most = f64::NEG_INFINITY;
            for (index, wall) in site.walls().iter().enumerate() {
                for at in grid(wall, 0.23) {
                    let place = Place { wall: index, at };
                    let verdict = judge(&site, draw.hood(), place, stream).expect("a wall");
                    if verdict.fit.holds() {
                        most = most.max(verdict.margin());
                    }
                }
            }
            match found {
                Some(best) => {
                    let verdict = judge(&site, draw.hood(), best.place, stream).expect("a wall");
                    prop_assert!(verdict.holds(), "{best:?} {verdict:?}");
                    prop_assert!(
                        best.margin.min(AMPLE) >= most.min(AMPLE) - RESOLUTION,
                        "{best:?} {most}"
                    );
                }
                None => prop_assert!(most <= ROUNDING + 1e-5, "{most}"),
            }
        }
        if let Some(found) = best_two_in_one(&site, draw.hood()) {
            let verdict = judge_two_in_one(&site, draw.hood(), found.place).expect("a wall");
            prop_assert!(verdict.holds());
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// A straight distance is the third side of the triangle of what lies between in plan and in height.
    #[test]
    fn a_distance_has_two_sides(draw in draw()) {
        let site = draw.site();
        for (index, wall) in site.walls().iter().enumerate() {
            for at in grid(wall, 1.7) {
                let place = Place { wall: index, at };
                for stream in STREAMS {
                    let verdict = judge(&site, draw.hood(), place, stream).expect("a wall");
                    for one in verdict.judgements {
                        let sides = apart(&site, (place, draw.hood()), one.against, None);
                        let measure = site.demands()[one.demand].clearance.measure;
                        if let (Some(sides), Measure::StraightLine) = (sides, measure) {
                            let third = sides.plan.hypot(sides.height);
                            prop_assert!((third - one.measured).abs() < 1e-9, "{one:?} {sides:?}");
                        }
                    }
                }
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(16))]

    /// The best pair is allowed, its search ends, and no pair of a grid is better.
    #[test]
    fn best_pair_is_best(draw in draw()) {
        let site = draw.site();
        let found = best_pair(&site, draw.hood());
        if let Some(pair) = found {
            let verdict = judge_pair(&site, [draw.hood(); 2], pair.intake, pair.exhaust)
                .expect("a wall");
            prop_assert!(verdict.holds(), "{pair:?} {verdict:?}");
            prop_assert!((verdict.margin() - pair.margin).abs() < 1e-9);
        }
        let candidates = |stream| {
            let mut places = Vec::new();
            for (index, wall) in site.walls().iter().enumerate() {
                for at in grid(wall, 0.9) {
                    let place = Place { wall: index, at };
                    let verdict = judge(&site, draw.hood(), place, stream).expect("a wall");
                    if verdict.holds() {
                        places.push((place, verdict.margin()));
                    }
                }
            }
            places
        };
        let (margin, gap) = found.map_or((0.0, PAIR_RESOLUTION), |pair| (pair.margin, pair.gap));
        let exhausts = candidates(Stream::Exhaust);
        for (intake, one) in candidates(Stream::Intake) {
            for &(exhaust, other) in &exhausts {
                if one.min(other).min(AMPLE) <= margin {
                    continue;
                }
                let verdict = judge_pair(&site, [draw.hood(); 2], intake, exhaust).expect("a wall");
                let most = if verdict.holds() { verdict.margin() } else { f64::NEG_INFINITY };
                prop_assert!(
                    margin.min(AMPLE) >= most.min(AMPLE) - gap - 0.5 * PAIR_RESOLUTION,
                    "{found:?} but {most} at {intake:?} {exhaust:?}"
                );
            }
        }
    }
}

/// An intake 10 ft from every combustion outlet, wherever it is put on any wall: the same property,
/// once in the words of the trade.
#[test]
fn ten_feet_from_combustion_outlets() {
    let site = common::house(&[RuleSet::Irc2024]);
    let outlets: Vec<usize> = (0..site.things().len())
        .filter(|&index| site.things()[index].object == Object::MechanicalDraughtVent)
        .collect();
    assert!(!outlets.is_empty());
    let mut places = 0;
    for (index, wall) in site.walls().iter().enumerate() {
        let region = region(&site, common::HOOD, index, Stream::Intake).expect("a wall");
        for at in allowed_points(&region, wall, 0.1) {
            let half = [common::HOOD.width / 2.0, common::HOOD.height / 2.0];
            for &outlet in &outlets {
                let thing = &site.things()[outlet];
                // All pairs of corners of hood and outlet: no shorter than their distance.
                for [right, up] in [[-1.0, -1.0], [-1.0, 1.0], [1.0, -1.0], [1.0, 1.0]] {
                    let [x, y] = wall.plan(at[0] + right * half[0], 0.0);
                    let z = at[1] + up * half[1];
                    for point in &thing.plan {
                        for height in [thing.bottom, thing.top] {
                            let apart = (x - point[0]).hypot(y - point[1]).hypot(z - height);
                            assert!(apart >= 10.0 * FOOT, "{at:?} {apart}");
                        }
                    }
                }
            }
            places += 1;
        }
    }
    assert!(places > 1000, "{places}");
}
