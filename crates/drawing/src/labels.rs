//! Where labels have room.
//!
//! Each label tries places around its target, the nearest first, and takes the cheapest that lies on
//! nothing which was there before: no other label, no line, no thing. Further away it gets a leader,
//! which must not run through another label. The sheet has no upper end, so a place is always found.

/// A rectangle of the sheet: left, upper, right, lower.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Box4 {
    /// Left edge.
    pub left: f64,
    /// Upper edge.
    pub upper: f64,
    /// Right edge.
    pub right: f64,
    /// Lower edge.
    pub lower: f64,
}

impl Box4 {
    /// Around a centre.
    pub fn around([x, y]: [f64; 2], width: f64, height: f64) -> Self {
        Self {
            left: x - width / 2.0,
            upper: y - height / 2.0,
            right: x + width / 2.0,
            lower: y + height / 2.0,
        }
    }

    /// Its centre.
    pub fn centre(&self) -> [f64; 2] {
        [
            (self.left + self.right) / 2.0,
            (self.upper + self.lower) / 2.0,
        ]
    }

    /// Its width.
    pub fn width(&self) -> f64 {
        self.right - self.left
    }

    /// Its height.
    pub fn height(&self) -> f64 {
        self.lower - self.upper
    }

    /// Larger on all sides.
    pub fn grown(&self, by: f64) -> Self {
        Self {
            left: self.left - by,
            upper: self.upper - by,
            right: self.right + by,
            lower: self.lower + by,
        }
    }

    /// Whether the two share more than an edge.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.upper < other.lower
            && other.upper < self.lower
    }

    /// The point of it that is nearest to another point.
    pub fn nearest(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        [
            x.clamp(self.left, self.right.max(self.left)),
            y.clamp(self.upper, self.lower.max(self.upper)),
        ]
    }

    /// Whether a straight line runs through its interior.
    pub fn crossed(&self, from: [f64; 2], to: [f64; 2]) -> bool {
        // Most lines are plainly beside it.
        if from[0].max(to[0]) <= self.left
            || from[0].min(to[0]) >= self.right
            || from[1].max(to[1]) <= self.upper
            || from[1].min(to[1]) >= self.lower
        {
            return false;
        }
        let (mut start, mut end) = (0.0_f64, 1.0_f64);
        for (low, high, at, step) in [
            (self.left, self.right, from[0], to[0] - from[0]),
            (self.upper, self.lower, from[1], to[1] - from[1]),
        ] {
            if step.abs() < 1e-12 {
                if at <= low || at >= high {
                    return false;
                }
                continue;
            }
            let (one, other) = ((low - at) / step, (high - at) / step);
            start = start.max(one.min(other));
            end = end.min(one.max(other));
        }
        start < end
    }
}

/// A label that has found its place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// Where it lies.
    pub rect: Box4,
    /// The line to what it names, where it does not lie beside it.
    pub leader: Option<[[f64; 2]; 2]>,
    /// There was no way for the leader around other labels: it passes behind them.
    pub behind: bool,
}

/// A label that looks for a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Wish {
    /// What it names, in one or more pieces: it may stand at any of them.
    pub targets: Vec<Box4>,
    /// Its width and height.
    pub size: [f64; 2],
    /// How much it matters that it stands near, against one for all others.
    pub weight: f64,
}

/// What is on the sheet already.
#[derive(Debug, Clone, Default)]
pub struct Sheet {
    /// Left and right end of the sheet.
    pub left: f64,
    /// Right end.
    pub right: f64,
    /// No label lies lower.
    pub lower: f64,
    /// A good place at once is worth more than the best one later.
    pub hurried: bool,
    /// What no label may lie on.
    boxes: Vec<Box4>,
    /// Lines that no label may lie on.
    lines: Vec<[[f64; 2]; 2]>,
    /// Lines that a label may interrupt if it must, with what that costs.
    thin: Vec<([[f64; 2]; 2], f64)>,
    /// Labels, which no leader may cross.
    labels: Vec<Box4>,
}

/// Room that a label keeps from everything (units of the sheet).
const AIR: f64 = 2.0;
/// What it costs to find no place.
const NO_PLACE: f64 = 1000.0;
/// From this distance on a label has a leader.
const BESIDE: f64 = 10.0;

impl Sheet {
    /// An empty sheet.
    pub fn new(left: f64, right: f64, lower: f64) -> Self {
        Self {
            left,
            right,
            lower,
            ..Self::default()
        }
    }

    /// Takes room for a thing.
    pub fn thing(&mut self, rect: Box4) {
        self.boxes.push(rect);
    }

    /// Takes room for a line that no label may touch.
    pub fn line(&mut self, from: [f64; 2], to: [f64; 2]) {
        self.lines.push([from, to]);
    }

    /// Notes a line that a label had better not interrupt; a label would rather lie this much
    /// further away.
    pub fn thin_line(&mut self, from: [f64; 2], to: [f64; 2], cost: f64) {
        self.thin.push(([from, to], cost));
    }

    /// Takes room for a text that has its place.
    pub fn label(&mut self, rect: Box4) {
        self.labels.push(rect);
    }

    /// Whether a label here would lie on nothing.
    pub fn is_free(&self, rect: &Box4) -> bool {
        let room = rect.grown(AIR);
        rect.left >= self.left
            && rect.right <= self.right
            && rect.lower <= self.lower
            && !self
                .boxes
                .iter()
                .chain(&self.labels)
                .any(|other| other.overlaps(&room))
            && !self.lines.iter().any(|[from, to]| room.crossed(*from, *to))
    }

    /// Finds places for all labels, and takes them.
    ///
    /// They are placed one after the other. Then the one that came off worst is placed first, and so
    /// on; the best of these attempts is kept.
    pub fn place_all(&mut self, wishes: &[Wish]) -> Vec<Placed> {
        // Many labels take long, and another order helps them little.
        let attempts = match wishes.len() {
            0..=40 if !self.hurried => 22,
            0..=40 => 4,
            41..=120 => 3,
            _ => 1,
        };
        /// After so many attempts the order is shuffled instead.
        const IN_TURN: usize = 12;
        let mut order: Vec<usize> = (0..wishes.len()).collect();
        let mut best: Option<(f64, Self, Vec<Placed>)> = None;
        let mut random: u32 = 1;
        for attempt in 0..attempts {
            let mut sheet = self.clone();
            let mut places = vec![None; wishes.len()];
            // The worst of those that were not the first.
            let mut worst = (0.0, 0);
            let mut total = 0.0;
            for (rank, &index) in order.iter().enumerate() {
                let (cost, placed) = sheet.place(&wishes[index]);
                let cost = wishes[index].weight * cost;
                total += cost;
                places[index] = Some(placed);
                if cost > worst.0 && rank > 0 {
                    worst = (cost, rank);
                }
            }
            if best.as_ref().is_none_or(|(known, ..)| total < *known) {
                best = Some((total, sheet, places.into_iter().flatten().collect()));
            }
            let (cost, rank) = worst;
            let good = best.as_ref().is_some_and(|(total, ..)| *total < NO_PLACE);
            if cost < BESIDE || (good && attempt >= IN_TURN) {
                break;
            }
            if attempt < IN_TURN {
                let index = order.remove(rank);
                order.insert(0, index);
            } else {
                for index in (1..order.len()).rev() {
                    // A linear congruential generator: the same order at every run.
                    random = random.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                    order.swap(index, (random >> 8) as usize % (index + 1));
                }
            }
        }
        match best {
            Some((_, sheet, places)) => {
                *self = sheet;
                places
            }
            None => Vec::new(),
        }
    }

    /// Finds the cheapest place for one label, and takes it.
    fn place(&mut self, wish: &Wish) -> (f64, Placed) {
        const DISTANCES: [f64; 20] = [
            4.0, 8.0, 14.0, 22.0, 32.0, 44.0, 58.0, 74.0, 92.0, 112.0, 136.0, 164.0, 196.0, 232.0,
            272.0, 320.0, 380.0, 450.0, 530.0, 620.0,
        ];
        const DIRECTIONS: usize = 28;
        let [width, height] = wish.size;
        let mut best: Option<(f64, Placed)> = None;
        for distance in DISTANCES {
            // What lies further out can no more be cheaper.
            if best.as_ref().is_some_and(|(cost, _)| *cost < distance) {
                break;
            }
            for target in &wish.targets {
                for index in 0..DIRECTIONS {
                    let angle = std::f64::consts::TAU * index as f64 / DIRECTIONS as f64;
                    let rect = beside(target, width, height, distance, angle);
                    if let Some((cost, placed)) = self.try_at(rect, target, distance)
                        && best.as_ref().is_none_or(|(known, _)| cost < *known)
                    {
                        best = Some((cost, placed));
                    }
                }
            }
        }
        let (cost, placed) =
            best.unwrap_or_else(|| (NO_PLACE, self.above_all(&wish.targets, width, height)));
        self.labels.push(placed.rect);
        if let Some([from, to]) = placed.leader {
            self.lines.push([from, to]);
        }
        (cost, placed)
    }

    /// The cost of a place, if it is free.
    fn try_at(&self, rect: Box4, target: &Box4, distance: f64) -> Option<(f64, Placed)> {
        if rect.left < self.left || rect.right > self.right || rect.lower > self.lower {
            return None;
        }
        let room = rect.grown(AIR);
        let taken = self.boxes.iter().chain(&self.labels);
        if taken.into_iter().any(|other| other.overlaps(&room))
            || self.lines.iter().any(|[from, to]| room.crossed(*from, *to))
        {
            return None;
        }
        let mut cost = distance;
        let interrupted: f64 = self
            .thin
            .iter()
            .filter(|([from, to], _)| room.crossed(*from, *to))
            .map(|(_, cost)| cost)
            .sum();
        cost += interrupted.min(90.0);
        let from = target.nearest(rect.centre());
        let to = rect.nearest(from);
        let leader = (distance >= BESIDE).then_some([from, to]);
        if let Some([from, to]) = leader {
            if self.labels.iter().any(|label| label.crossed(from, to)) {
                return None;
            }
            let over_things = self
                .boxes
                .iter()
                .filter(|other| *other != target && other.crossed(from, to))
                .count();
            let over_lines = self
                .lines
                .iter()
                .filter(|[start, end]| cross(from, to, *start, *end))
                .count();
            cost += 60.0 * over_things as f64 + 20.0 * over_lines as f64;
            cost += 0.3 * (to[0] - from[0]).abs();
        }
        Some((
            cost,
            Placed {
                rect,
                leader,
                behind: false,
            },
        ))
    }

    /// A row of its own above everything, with a leader that crosses no label where there is one.
    fn above_all(&self, targets: &[Box4], width: f64, height: f64) -> Placed {
        const STEPS: usize = 40;
        let all = self.boxes.iter().chain(&self.labels);
        let ends = self.lines.iter().flatten().map(|end| end[1]);
        let top = all.map(|rect| rect.upper).chain(ends).fold(0.0, f64::min);
        let room = (self.right - self.left - width).max(0.0);
        let row = |step: usize| {
            let x = self.left + width / 2.0 + room * step as f64 / STEPS as f64;
            Box4::around([x, top - 2.0 * AIR - height / 2.0], width, height)
        };
        let mut best: Option<(f64, Placed)> = None;
        for rect in (0..=STEPS).map(row) {
            for target in targets {
                let from = target.nearest(rect.centre());
                let to = rect.nearest(from);
                let crossed = self.labels.iter().filter(|label| label.crossed(from, to));
                let crossed = crossed.count();
                let cost = (to[0] - from[0]).hypot(to[1] - from[1]) + 1000.0 * crossed as f64;
                if best.as_ref().is_none_or(|(known, _)| cost < *known) {
                    let placed = Placed {
                        rect,
                        leader: Some([from, to]),
                        behind: crossed > 0,
                    };
                    best = Some((cost, placed));
                }
            }
        }
        best.map_or_else(
            || Placed {
                rect: row(STEPS / 2),
                leader: None,
                behind: false,
            },
            |(_, placed)| placed,
        )
    }
}

/// A box of this size beside a target, `distance` away from it in this direction.
fn beside(target: &Box4, width: f64, height: f64, distance: f64, angle: f64) -> Box4 {
    let (up, along) = angle.sin_cos();
    let reach = |extent: f64, size: f64, share: f64| {
        if share.abs() < 1e-9 {
            f64::INFINITY
        } else {
            ((extent + size) / 2.0 + distance) / share.abs()
        }
    };
    let far = reach(target.width(), width, along).min(reach(target.height(), height, up));
    let [x, y] = target.centre();
    Box4::around([x + far * along, y - far * up], width, height)
}

/// Whether two straight lines cross.
fn cross(a: [f64; 2], b: [f64; 2], c: [f64; 2], d: [f64; 2]) -> bool {
    let turn = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| {
        (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    };
    turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_label_stands_beside_its_target() {
        let mut sheet = Sheet::new(0.0, 200.0, 200.0);
        let target = Box4::around([100.0, 100.0], 10.0, 10.0);
        sheet.thing(target);
        let wish = Wish {
            targets: vec![target],
            size: [40.0, 12.0],
            weight: 1.0,
        };
        let placed = sheet.place_all(&[wish])[0];
        assert!(placed.leader.is_none());
        assert!(!placed.rect.overlaps(&target));
    }

    #[test]
    fn lines_through_boxes() {
        let rect = Box4::around([0.0, 0.0], 2.0, 2.0);
        for (from, to, crossed) in [
            ([-2.0, 0.0], [2.0, 0.0], true),
            ([-2.0, 1.0], [2.0, 1.0], false),
            ([-2.0, 2.5], [2.5, -2.0], true),
            ([-2.0, 0.0], [-1.5, 0.0], false),
            ([0.0, 0.0], [0.1, 0.1], true),
        ] {
            assert_eq!(rect.crossed(from, to), crossed, "{from:?} {to:?}");
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

        /// Whatever is named, no two labels lie on each other or on a thing, and no leader runs
        /// through a label.
        #[test]
        fn labels_have_room(
            things in prop::collection::vec((20.0..380.0, 20.0..180.0, 2.0..60.0, 2.0..40.0), 1..14),
            sizes in prop::collection::vec((20.0..150.0, 10.0..40.0), 14),
        ) {
            let mut sheet = Sheet::new(0.0, 400.0, 200.0);
            let targets: Vec<Box4> = things
                .iter()
                .map(|&(x, y, width, height)| Box4::around([x, y], width, height))
                .collect();
            for target in &targets {
                sheet.thing(*target);
            }
            let wishes: Vec<Wish> = targets
                .iter()
                .zip(&sizes)
                .map(|(target, &(width, height))| Wish {
                    targets: vec![*target],
                    size: [width, height],
                    weight: 1.0,
                })
                .collect();
            let placed = sheet.place_all(&wishes);
            prop_assert_eq!(placed.len(), targets.len());
            for (index, one) in placed.iter().enumerate() {
                for target in &targets {
                    prop_assert!(!one.rect.overlaps(target));
                }
                for (place, other) in placed.iter().enumerate() {
                    if place != index {
                        prop_assert!(!one.rect.overlaps(&other.rect));
                        if let (Some([from, to]), false) = (other.leader, other.behind) {
                            prop_assert!(!one.rect.crossed(from, to));
                        }
                    }
                }
            }
        }
    }
}
