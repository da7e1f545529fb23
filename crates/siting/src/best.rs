//! The place with the largest margin.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use rules::clearances::Stream;

use crate::field::{Field, Gap, Heights};
use crate::judge::{Judgement, PairVerdict, Verdict, judge, judge_pair, judge_two_in_one};
use crate::region::{Region, of_field};
use crate::shapes::{Shape, contains, sides};
use crate::site::{Demand, Opening, Place, Site, Wall, length};
use crate::{AMPLE, EXACT, PAIR_RESOLUTION, RESOLUTION};

/// The best place of one hood.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Best {
    /// The centre of the hood.
    pub place: Place,
    /// The smallest margin of a deciding rule there (m); infinite if no rule decides.
    pub margin: f64,
    /// The rule with this margin.
    pub tightest: Option<Judgement>,
}

/// The best places of intake and exhaust together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BestPair {
    /// The centre of the intake.
    pub intake: Place,
    /// The centre of the exhaust.
    pub exhaust: Place,
    /// The smallest margin of a deciding rule (m); infinite if no rule decides.
    pub margin: f64,
    /// The rule with this margin, and the stream for which it is made.
    pub tightest: Option<(Stream, Judgement)>,
    /// No pair has a margin that is larger by more than this (m): [`PAIR_RESOLUTION`], or more
    /// where the search was cut short.
    pub gap: f64,
}

/// The place of one stream's opening with the largest margin on any wall, without regard to the
/// ventilator's other opening; `None` if no place is allowed.
pub fn best(site: &Site, opening: Opening, stream: Stream) -> Option<Best> {
    let fields = (0..site.walls().len()).map(|wall| Field::new(site, opening, wall, &[stream]));
    one(fields.flatten(), |place| {
        judge(site, opening, place, stream)
    })
}

/// The same on one wall.
pub fn best_on(site: &Site, opening: Opening, wall: usize, stream: Stream) -> Option<Best> {
    let field = Field::new(site, opening, wall, &[stream])?;
    one([field], |place| judge(site, opening, place, stream))
}

/// The same on one wall when the other opening of the ventilator, of its own size, lies at `other`.
pub fn best_beside(
    site: &Site,
    opening: Opening,
    wall: usize,
    stream: Stream,
    other: (Place, Opening),
) -> Option<Best> {
    let mut field = Field::new(site, opening, wall, &[stream])?;
    field.add_other(other, stream, true)?;
    one([field], |place| {
        let (other, size) = other;
        Some(match stream {
            Stream::Intake => judge_pair(site, [opening, size], place, other)?.intake,
            Stream::Exhaust => judge_pair(site, [size, opening], other, place)?.exhaust,
        })
    })
}

/// The place of a factory-made hood for both streams with the largest margin on any wall; `None` if
/// no place is allowed.
pub fn best_two_in_one(site: &Site, opening: Opening) -> Option<Best> {
    let fields = (0..site.walls().len()).map(|wall| Field::two_in_one(site, opening, wall));
    one(fields.flatten(), |place| {
        let PairVerdict { intake, exhaust } = judge_two_in_one(site, opening, place)?;
        Some(if intake.margin() <= exhaust.margin() {
            intake
        } else {
            exhaust
        })
    })
}

/// The places of intake and exhaust, on one wall or two, of which the smallest margin is largest;
/// `None` if no pair is allowed. A pair that is allowed by no more than a few millimetres may be
/// missed.
pub fn best_pair(site: &Site, opening: Opening) -> Option<BestPair> {
    let trees = |stream| -> Vec<Tree> {
        let fields = (0..site.walls().len()).map(|wall| Field::new(site, opening, wall, &[stream]));
        fields.flatten().map(Tree::new).collect()
    };
    let own = [Stream::Intake, Stream::Exhaust]
        .into_iter()
        .flat_map(|stream| {
            let demands = site.demands().iter();
            demands
                .filter(move |demand| demand.concerns(stream) && demand.keeps_own_openings_apart())
                .map(move |demand| (demand, stream))
        });
    let mut search = PairSearch {
        trees: [trees(Stream::Intake), trees(Stream::Exhaust)],
        own: own.collect(),
        opening,
        best: None,
    };
    let roots = [search.roots(0), search.roots(1)];
    let gap = search.run(Goal::Margin, &roots);
    let enough = search.best?.1.margin.min(AMPLE) - PAIR_RESOLUTION / 2.0;
    // What has less weight only asks for a sensible choice: each in its turn, once more after.
    for side in [0, 1, 0, 1] {
        search.move_one(side, Goal::Lesser { enough });
    }
    let (pair, _) = search.best?;
    let [intake, exhaust] = pair;
    let verdict = judge_pair(site, [opening; 2], intake, exhaust)?;
    let (stream, tighter) = if verdict.intake.margin() <= verdict.exhaust.margin() {
        (Stream::Intake, &verdict.intake)
    } else {
        (Stream::Exhaust, &verdict.exhaust)
    };
    Some(BestPair {
        intake,
        exhaust,
        margin: verdict.margin(),
        tightest: tighter.tightest().map(|judgement| (stream, *judgement)),
        gap,
    })
}

/// The smallest margins at a place, or the most that they can be in a cell.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Value {
    /// Of the rules that decide.
    margin: f64,
    /// Of what has less weight: the rules that only inform, and the room around the hood.
    lesser: f64,
}

impl Value {
    const FREE: Self = Self {
        margin: f64::INFINITY,
        lesser: f64::INFINITY,
    };

    fn min(self, other: Self) -> Self {
        Self {
            margin: self.margin.min(other.margin),
            lesser: self.lesser.min(other.lesser),
        }
    }

    fn plus(self, more: f64) -> Self {
        Self {
            margin: self.margin + more,
            lesser: self.lesser + more,
        }
    }

    /// One number to compare places by. It rises with both margins, so the score of bounds is a
    /// bound of scores.
    fn score(self, goal: Goal) -> f64 {
        match goal {
            Goal::Margin => self.margin.min(AMPLE),
            Goal::Lesser { enough } if self.margin >= enough => self.lesser.min(AMPLE),
            Goal::Lesser { .. } => f64::NEG_INFINITY,
        }
    }
}

/// What a search is for: first for the margin, then, among the places that have it, for what has
/// less weight.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Goal {
    /// The largest margin, up to what is ample.
    Margin,
    /// The best of what has less weight, where the margin is enough.
    Lesser { enough: f64 },
}

/// A rectangle of a wall.
#[derive(Debug, Clone, Copy)]
struct Cell {
    centre: [f64; 2],
    half: [f64; 2],
    /// At its centre.
    value: Value,
    /// Anywhere in it.
    bound: Value,
    /// Whether there is room for the hood at its centre.
    room: bool,
    /// Whether no place in it is allowed.
    dead: bool,
    children: Option<[usize; 2]>,
}

impl Cell {
    fn radius(&self) -> f64 {
        length(self.half[0], self.half[1])
    }
}

/// The cells of one wall.
struct Tree<'a> {
    field: Field<'a>,
    region: Region,
    cells: Vec<Cell>,
    roots: usize,
}

impl<'a> Tree<'a> {
    fn new(mut field: Field<'a>) -> Self {
        let region = of_field(&field, None);
        field.leave_out_covered();
        let mut tree = Self {
            field,
            region,
            cells: Vec::new(),
            roots: 0,
        };
        let boxes: Vec<([f64; 2], [f64; 2])> = tree
            .region
            .allowed
            .iter()
            .filter_map(bounding_box)
            .collect();
        for (centre, half) in boxes {
            tree.add(centre, half);
        }
        tree.roots = tree.cells.len();
        tree
    }

    fn add(&mut self, centre: [f64; 2], half: [f64; 2]) -> usize {
        let room = self.room(centre);
        let (value, bound) = self.values(centre, half, room);
        let dead = bound.margin < 0.0 || room + length(half[0], half[1]) < 0.0;
        self.cells.push(Cell {
            centre,
            half,
            value,
            bound,
            room: room >= 0.0,
            dead,
            children: None,
        });
        self.cells.len() - 1
    }

    /// How far the hood is from having no room, below zero by how far it has none.
    fn room(&self, centre: [f64; 2]) -> f64 {
        let distance = distance_to_sides(&self.region.free, centre);
        if contains(&self.region.free, centre) {
            distance
        } else {
            -distance
        }
    }

    /// At a centre with so much room, and the bound within a rectangle around it.
    fn values(&self, centre: [f64; 2], half: [f64; 2], room: f64) -> (Value, Value) {
        let mut value = Value {
            margin: f64::INFINITY,
            lesser: room,
        };
        let mut bound = Value {
            margin: f64::INFINITY,
            lesser: room + length(half[0], half[1]),
        };
        for clause in &self.field.clauses {
            let (margin, most) = self.field.bound(clause, centre, half);
            if self.field.demand(clause).decides {
                value.margin = value.margin.min(margin);
                bound.margin = bound.margin.min(most);
            } else {
                value.lesser = value.lesser.min(margin);
                bound.lesser = bound.lesser.min(most);
            }
        }
        (value, bound)
    }

    /// The halves of a cell, across its longer side.
    fn split(&mut self, index: usize) -> [usize; 2] {
        let cell = self.cells[index];
        if let Some(children) = cell.children {
            return children;
        }
        let axis = usize::from(cell.half[1] > cell.half[0]);
        let mut half = cell.half;
        half[axis] /= 2.0;
        let children = [-1.0, 1.0].map(|side| {
            let mut centre = cell.centre;
            centre[axis] += side * half[axis];
            self.add(centre, half)
        });
        self.cells[index].children = Some(children);
        children
    }

    fn place(&self, at: [f64; 2]) -> Place {
        Place {
            wall: self.field.index,
            at,
        }
    }
}

fn bounding_box(shape: &Shape) -> Option<([f64; 2], [f64; 2])> {
    let outer = shape.first()?;
    let mut low = [f64::INFINITY; 2];
    let mut high = [f64::NEG_INFINITY; 2];
    for point in outer {
        for axis in 0..2 {
            low[axis] = low[axis].min(point[axis]);
            high[axis] = high[axis].max(point[axis]);
        }
    }
    let of = |factor: f64| [0, 1].map(|axis| (high[axis] + factor * low[axis]) / 2.0);
    Some((of(1.0), of(-1.0)))
}

fn distance_to_sides(shapes: &[Shape], at: [f64; 2]) -> f64 {
    shapes
        .iter()
        .flatten()
        .flat_map(|contour| sides(contour))
        .map(|(p, q)| point_to_segment(at, p, q))
        .fold(f64::INFINITY, f64::min)
}

fn point_to_segment(at: [f64; 2], p: [f64; 2], q: [f64; 2]) -> f64 {
    let edge = [q[0] - p[0], q[1] - p[1]];
    let offset = [at[0] - p[0], at[1] - p[1]];
    let squared = edge[0] * edge[0] + edge[1] * edge[1];
    let share = if squared > 0.0 {
        ((offset[0] * edge[0] + offset[1] * edge[1]) / squared).clamp(0.0, 1.0)
    } else {
        0.0
    };
    length(offset[0] - share * edge[0], offset[1] - share * edge[1])
}

/// Something in a queue, the largest bound first.
struct Queued<T> {
    bound: f64,
    what: T,
}

impl<T> PartialEq for Queued<T> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl<T> Eq for Queued<T> {}

impl<T> PartialOrd for Queued<T> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<T> Ord for Queued<T> {
    fn cmp(&self, other: &Self) -> Ordering {
        self.bound.total_cmp(&other.bound)
    }
}

/// The best place in any of these fields.
fn one<'a>(
    fields: impl IntoIterator<Item = Field<'a>>,
    judge: impl Fn(Place) -> Option<Verdict>,
) -> Option<Best> {
    let mut trees: Vec<Tree> = fields.into_iter().map(Tree::new).collect();
    // The corners of the regions are allowed, however narrow these are.
    let mut found: Option<(Place, Value)> = None;
    for tree in &trees {
        for &at in tree.region.allowed.iter().flatten().flatten() {
            let (value, _) = tree.values(at, [0.0, 0.0], 0.0);
            if found.is_none_or(|(_, best)| value.margin > best.margin) {
                found = Some((tree.place(at), value));
            }
        }
    }
    let found = search(&mut trees, found?, Goal::Margin);
    let enough = found.1.margin.min(AMPLE) - RESOLUTION / 2.0;
    let (place, _) = search(&mut trees, found, Goal::Lesser { enough });
    let verdict = judge(place)?;
    Some(Best {
        place,
        margin: verdict.margin(),
        tightest: verdict.tightest().copied(),
    })
}

/// The place of the largest score to half the resolution.
fn search(trees: &mut [Tree], mut found: (Place, Value), goal: Goal) -> (Place, Value) {
    let mut queue = BinaryHeap::new();
    for (number, tree) in trees.iter().enumerate() {
        for index in 0..tree.roots {
            queue.push(Queued {
                bound: tree.cells[index].bound.score(goal),
                what: (number, index),
            });
        }
    }
    let to_beat = |found: &(Place, Value)| found.1.score(goal) + RESOLUTION / 2.0;
    while let Some(Queued { bound, what }) = queue.pop() {
        if bound <= to_beat(&found) {
            break;
        }
        let tree = &mut trees[what.0];
        for index in tree.split(what.1) {
            let cell = tree.cells[index];
            if cell.room && cell.value.margin >= 0.0 && cell.value.score(goal) > found.1.score(goal)
            {
                found = (tree.place(cell.centre), cell.value);
            }
            let bound = cell.bound.score(goal);
            if !cell.dead && cell.radius() > RESOLUTION / 8.0 && bound > to_beat(&found) {
                queue.push(Queued {
                    bound,
                    what: (what.0, index),
                });
            }
        }
    }
    found
}

/// The search for intake and exhaust together, over pairs of cells.
struct PairSearch<'a> {
    /// Of the intake and of the exhaust, one for each wall.
    trees: [Vec<Tree<'a>>; 2],
    /// The demands that keep the two apart, each with the stream for which it is made.
    own: Vec<(&'a Demand, Stream)>,
    opening: Opening,
    best: Option<([Place; 2], Value)>,
}

/// For intake and exhaust: which tree and which cell of it.
type Cells = [(usize, usize); 2];

impl PairSearch<'_> {
    /// So many pairs of cells are split at most: some tenths of a second.
    const MOST: usize = 200_000;

    /// All cells to begin with, of the intake or of the exhaust.
    fn roots(&self, side: usize) -> Vec<(usize, usize)> {
        let trees = self.trees[side].iter().enumerate();
        trees
            .flat_map(|(number, tree)| (0..tree.roots).map(move |cell| (number, cell)))
            .collect()
    }

    /// Moves one opening to where the goal is reached best while the other one stays.
    fn move_one(&mut self, side: usize, goal: Goal) {
        let Some((places, _)) = self.best else {
            return;
        };
        let other = 1 - side;
        let Place { wall, at } = places[other];
        let trees = &mut self.trees[other];
        let Some(number) = trees.iter().position(|tree| tree.field.index == wall) else {
            return;
        };
        let fixed = (number, trees[number].add(at, [0.0, 0.0]));
        let mut roots = [vec![fixed], vec![fixed]];
        roots[side] = self.roots(side);
        self.run(goal, &roots);
    }

    /// Searches, and says by how much another pair may have a better score.
    fn run(&mut self, goal: Goal, roots: &[Vec<(usize, usize)>; 2]) -> f64 {
        let mut queue = BinaryHeap::new();
        for &intake in &roots[0] {
            for &exhaust in &roots[1] {
                self.consider([intake, exhaust], goal, &mut queue);
            }
        }
        let mut count = 0;
        while let Some(Queued { bound, what }) = queue.pop() {
            let best = self.score(goal);
            if bound <= best + PAIR_RESOLUTION {
                break;
            }
            count += 1;
            if count > Self::MOST {
                return bound - best;
            }
            let side = self.side_to_split(what, goal);
            let (tree, cell) = what[side];
            for child in self.trees[side][tree].split(cell) {
                let mut cells = what;
                cells[side] = (tree, child);
                self.consider(cells, goal, &mut queue);
            }
        }
        PAIR_RESOLUTION
    }

    fn score(&self, goal: Goal) -> f64 {
        self.best
            .as_ref()
            .map_or(-EXACT, |(_, value)| value.score(goal))
    }

    fn cells(&self, cells: Cells) -> [Cell; 2] {
        [0, 1].map(|side| self.trees[side][cells[side].0].cells[cells[side].1])
    }

    /// The cell that sets the bound is worth the split; where the rules between both set it, the
    /// larger one.
    fn side_to_split(&self, cells: Cells, goal: Goal) -> usize {
        let [x, y] = self.cells(cells);
        let least = RESOLUTION / 2.0;
        if x.radius() < least || y.radius() < least {
            return usize::from(x.radius() < y.radius());
        }
        let pair = self.between(cells, [&x, &y]).plus(x.radius() + y.radius());
        let of = |value: Value| match goal {
            Goal::Margin => value.margin,
            Goal::Lesser { .. } => value.lesser,
        };
        let (one, other, both) = (of(x.bound), of(y.bound), of(pair));
        if both < one.min(other) || one == other {
            usize::from(x.radius() < y.radius())
        } else {
            usize::from(other < one)
        }
    }

    /// The rules that hold between the two openings, each at the centre of its cell.
    fn between(&self, cells: Cells, [x, y]: [&Cell; 2]) -> Value {
        let walls = [0, 1].map(|side| self.trees[side][cells[side].0].field.wall);
        own_rules(&self.own, self.opening, walls, [x.centre, y.centre])
    }

    /// Takes the centres of two cells if they are better, and queues the cells if they may hold
    /// something better.
    fn consider(&mut self, cells: Cells, goal: Goal, queue: &mut BinaryHeap<Queued<Cells>>) {
        let [x, y] = self.cells(cells);
        if x.dead || y.dead {
            return;
        }
        let same_wall = cells[0].0 == cells[1].0;
        let overlap = |more: [f64; 2]| {
            let apart = |axis: usize| (x.centre[axis] - y.centre[axis]).abs() + more[axis];
            same_wall && apart(0) < self.opening.width && apart(1) < self.opening.height
        };
        if overlap([x.half[0] + y.half[0], x.half[1] + y.half[1]]) {
            return;
        }
        let between = self.between(cells, [&x, &y]);
        let value = x.value.min(y.value).min(between);
        let room = x.room && y.room && !overlap([0.0, 0.0]);
        if room && value.margin >= 0.0 && value.score(goal) > self.score(goal) {
            let places = [0, 1].map(|side| {
                let tree = &self.trees[side][cells[side].0];
                tree.place([x.centre, y.centre][side])
            });
            self.best = Some((places, value));
        }
        let radius = x.radius() + y.radius();
        let bound = x.bound.min(y.bound).min(between.plus(radius));
        if bound.margin >= 0.0 && radius > RESOLUTION / 2.0 {
            let bound = bound.score(goal);
            if bound > self.score(goal) + PAIR_RESOLUTION {
                queue.push(Queued { bound, what: cells });
            }
        }
    }
}

/// The rules that hold between the two openings of a ventilator: intake first.
fn own_rules(
    own: &[(&Demand, Stream)],
    opening: Opening,
    walls: [&Wall; 2],
    at: [[f64; 2]; 2],
) -> Value {
    let ends = [0, 1].map(|side| {
        let s = at[side][0];
        [-0.5, 0.5].map(|share| walls[side].plan(s + share * opening.width, 0.0))
    });
    let plan = segments_apart(ends[0], ends[1]);
    let half = opening.height / 2.0;
    let [intake, exhaust] = at.map(|[_, z]| [z - half, z + half]);
    let mut value = Value::FREE;
    for &(demand, stream) in own {
        let (opening, other) = match stream {
            Stream::Intake => (intake, exhaust),
            Stream::Exhaust => (exhaust, intake),
        };
        let gap = Gap {
            plan,
            // Openings that touch in plan are one above the other.
            signed: if plan > 0.0 { plan } else { -1.0 },
            heights: Heights {
                low: opening[0],
                high: opening[1],
                bottom: other[0],
                top: other[1],
            },
        };
        let margin = gap.read(demand, stream).margin;
        if demand.decides {
            value.margin = value.margin.min(margin);
        } else {
            value.lesser = value.lesser.min(margin);
        }
    }
    value
}

/// The distance of two segments in plan.
fn segments_apart([a, b]: [[f64; 2]; 2], [c, d]: [[f64; 2]; 2]) -> f64 {
    let turn = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| {
        (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    };
    if turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0 {
        return 0.0;
    }
    point_to_segment(a, c, d)
        .min(point_to_segment(b, c, d))
        .min(point_to_segment(c, a, b))
        .min(point_to_segment(d, a, b))
}
