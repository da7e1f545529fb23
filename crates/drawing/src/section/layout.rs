//! Where everything of a section lies on the sheet.
//!
//! One template serves every house: outdoors at the left, then risers to the outdoor openings, the
//! ventilator, lanes for its ducts to the house, and the trunks of the air handler to the right.
//! Ducts keep to lanes that are theirs, so they cross only where one has to pass in front of another.

use super::{EndKind, Format, Place, Section, Stream};
use crate::labels::Box4;

/// A point of the sheet.
pub type Point = [f64; 2];

/// A storey, a basement, an attic with something in it.
#[derive(Debug, Clone)]
struct Row {
    zones: Vec<usize>,
    /// Lowest floor and highest ceiling of its zones (m).
    low: f64,
    high: f64,
    top: f64,
    bottom: f64,
}

/// An existing branch from a trunk to a zone.
#[derive(Debug, Clone, Copy)]
pub struct Stub {
    /// From the trunk to the zone.
    pub line: [Point; 2],
    /// Supply air comes out of it, otherwise return air goes in.
    pub supply: bool,
    /// It passes this zone on its way to another one and opens to its side.
    pub side: bool,
}

/// A trunk of the air handler.
#[derive(Debug, Clone, Copy)]
pub struct TrunkLine {
    /// Height of its middle.
    pub y: f64,
    /// Half of its height.
    pub half: f64,
    /// Left and right end.
    pub from: f64,
    /// Right end.
    pub to: f64,
    /// Places of the ventilator's taps, from the air handler outward, with their stream.
    pub taps: [Option<f64>; 2],
}

/// A duct of the ventilator.
#[derive(Debug, Clone, Default)]
pub struct Route {
    /// One line for each far end, in the usual direction of its air.
    pub lines: Vec<Vec<Point>>,
    /// The far ends.
    pub ends: Vec<Point>,
    /// Its port at the unit.
    pub port: Point,
}

/// Everything with its place.
#[derive(Debug, Clone)]
pub struct Layout {
    /// Size of a letter.
    pub em: f64,
    /// Width of the sheet.
    pub width: f64,
    /// Units of the sheet per metre of duct.
    pub scale: f64,
    /// Rectangle of each zone; a space under the roof has that of its triangle.
    pub rooms: Vec<Box4>,
    /// Bodies with heavy walls: the house, and a garage beside it.
    pub bodies: Vec<Box4>,
    /// Heights of floors within the house, and from where to where.
    pub floors: Vec<[Point; 2]>,
    /// Walls between zones.
    pub partitions: Vec<[Point; 2]>,
    /// The roof from eaves over the ridge to eaves.
    pub roof: Vec<Point>,
    /// Roofs of garages.
    pub shed: Vec<Vec<Point>>,
    /// Height of the ground.
    pub grade: f64,
    /// Lowest point of the house.
    pub lower: f64,
    /// The ventilator.
    pub unit: Box4,
    /// The air handler.
    pub handler: Option<Box4>,
    /// Return and supply trunk.
    pub trunks: Option<[TrunkLine; 2]>,
    /// Branches of the trunks.
    pub stubs: Vec<Stub>,
    /// Outdoor, supply, extract, exhaust.
    pub routes: [Route; 4],
    /// Hoods outside the wall.
    pub hoods: Vec<Box4>,
    /// Height of the break in the wall between two openings that face different ways.
    pub break_at: Option<Point>,
}

/// Vertical things that are there already: place, half width, upper and lower end.
#[derive(Default)]
struct Slots(Vec<[f64; 4]>);

impl Slots {
    fn take(&mut self, x: f64, half: f64, ends: [f64; 2]) {
        let (upper, lower) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        self.0.push([x, half, upper, lower]);
    }

    /// The free place in a range that is nearest to the preferred one, taken at once.
    fn find(&mut self, range: [f64; 2], prefer: f64, half: f64, ends: [f64; 2], air: f64) -> f64 {
        const STEPS: usize = 60;
        let (from, to) = (range[0].min(range[1]), range[0].max(range[1]));
        let (upper, lower) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        let cost = |x: f64| {
            let crowd: f64 = self
                .0
                .iter()
                .filter(|other| other[2] < lower && other[3] > upper)
                .map(|other| (half + other[1] + air - (x - other[0]).abs()).max(0.0))
                .sum();
            (x - prefer).abs() + 40.0 * crowd
        };
        let place = |step: usize| from + (to - from) * step as f64 / STEPS as f64;
        let x = (0..=STEPS)
            .map(place)
            .min_by(|one, other| cost(*one).total_cmp(&cost(*other)))
            .unwrap_or(from);
        self.take(x, half, ends);
        x
    }
}

/// A finite number, or zero.
fn sound(value: f64) -> f64 {
    if value.is_finite() { value } else { 0.0 }
}

/// Height of a storey on the sheet by its height in the house, in letters per metre.
const PER_METRE: f64 = 2.6;
/// Sizes of ventilator and air handler, and distance of the ventilator's ports from its upper and
/// lower edge, in letters.
struct Sizes {
    unit: [f64; 2],
    port: f64,
    handler: [f64; 2],
}

/// From one branch under a ceiling to the next, with room for the grilles of the upper one.
const BRANCH: f64 = 2.9;
/// From the floor to the air handler, in letters.
const BELOW: f64 = 2.4;

impl Layout {
    /// Lays out a sheet.
    pub fn new(it: &Section, format: Format) -> Self {
        Builder::new(it, format).build()
    }

    /// Whether a hood sits on the right side of the house.
    pub fn beyond(&self, hood: &Box4) -> bool {
        hood.left > self.unit.right
    }

    /// Whether there are hoods on both sides of the house.
    pub fn on_both_sides(&self) -> bool {
        self.hoods.iter().any(|hood| self.beyond(hood))
    }
}

struct Builder<'a> {
    it: &'a Section,
    format: Format,
    em: f64,
    width: f64,
    scale: f64,
    rows: Vec<Row>,
    attic: Vec<usize>,
    garages: Vec<usize>,
    /// Row beside which the garage stands.
    ground: usize,
    unit_zone: usize,
    handler_zone: Option<usize>,
    /// Left and right face of the main house, and of a garage.
    main: [f64; 2],
    garage: Option<[f64; 2]>,
    lanes: [f64; 2],
    slots: Slots,
}

impl<'a> Builder<'a> {
    fn new(it: &'a Section, format: Format) -> Self {
        let (width, em): (f64, f64) = match format {
            Format::Wide => (1120.0, 15.0),
            Format::Narrow => (390.0, 11.4),
        };
        let last = it.zones.len().saturating_sub(1);
        let largest = it
            .handler
            .iter()
            .flat_map(|handler| handler.trunks.iter().map(|trunk| sound(trunk.size)))
            .chain([0.3])
            .fold(0.0, f64::max);
        let thickest = it
            .ducts
            .iter()
            .map(|duct| sound(duct.size))
            .fold(0.05, f64::max);
        let scale = (5.4 * em).min(3.2 * em / largest).min(1.3 * em / thickest);
        Self {
            it,
            format,
            em,
            width,
            scale,
            rows: Vec::new(),
            attic: Vec::new(),
            garages: Vec::new(),
            ground: 0,
            unit_zone: it.unit.zone.min(last),
            handler_zone: it.handler.as_ref().map(|handler| handler.zone.min(last)),
            main: [0.0; 2],
            garage: None,
            lanes: [0.0; 2],
            slots: Slots::default(),
        }
    }

    /// The exhaust leaves by the other side of the house than the intake comes in by. A garage at the
    /// right hides the wall there, and on a phone many grilles leave no room for names.
    fn across(&self) -> bool {
        /// Grilles beside which a phone has room.
        const MOST: usize = 2;
        let room = self.garages.is_empty() && (!self.narrow() || self.grilles().count() <= MOST);
        self.it.two_walls && !self.it.one_hood && room
    }

    /// From the right wall to the riser of an exhaust that leaves there, in letters.
    fn riser_at_the_right(&self) -> f64 {
        match (self.across(), self.narrow()) {
            (false, _) => 0.0,
            (true, true) => 1.5,
            (true, false) => 2.2,
        }
    }

    fn duct(&self, stream: Stream) -> f64 {
        (sound(self.it.ducts[stream as usize].size) * self.scale).max(0.3 * self.em)
    }

    /// Whether something of the sheet stands or ends in a zone.
    fn used(&self, zone: usize) -> bool {
        zone == self.unit_zone
            || Some(zone) == self.handler_zone
            || self.it.zones[zone].served.contains(&true) && self.handler_zone.is_some()
            || self.grilles().any(|(_, at)| at == zone)
    }

    fn grilles(&self) -> impl Iterator<Item = (usize, usize)> {
        let last = self.it.zones.len().saturating_sub(1);
        let ducts = self.it.ducts.iter().enumerate();
        ducts.flat_map(move |(stream, duct)| {
            duct.ends.iter().filter_map(move |end| match end.kind {
                EndKind::Grille { zone } => Some((stream, zone.min(last))),
                _ => None,
            })
        })
    }

    fn build(mut self) -> Layout {
        self.stack();
        self.columns();
        // A sheet that is too narrow for what has to stand beside each other is made wider.
        let missing = self.missing();
        if missing > 0.0 {
            self.width += missing;
            self.columns();
        }
        let rooms = self.rooms();
        let unit = self.unit_box();
        let handler = self.handler_box(&rooms);
        let reach = handler.map_or(unit.right, |handler| handler.right.max(unit.right));
        let thick = self.duct(Stream::Supply).max(self.duct(Stream::Extract));
        let first = reach + self.lane_gap();
        self.lanes = [first, first + self.lane_space().max(thick + 1.0 * self.em)];
        self.finish(rooms, unit, handler)
    }

    /// Sorts zones into rows and gives the rows their heights.
    fn stack(&mut self) {
        let zones = &self.it.zones;
        let mut storeys: Vec<usize> = Vec::new();
        let mut below = Vec::new();
        for (index, zone) in zones.iter().enumerate() {
            match zone.place {
                Place::Storey => storeys.push(index),
                Place::Below => below.push(index),
                Place::Attic => self.attic.push(index),
                Place::Garage => self.garages.push(index),
            }
        }
        if storeys.is_empty() && below.is_empty() {
            storeys.append(&mut self.garages);
        }
        storeys.sort_by(|one, other| {
            sound(zones[*one].level)
                .total_cmp(&sound(zones[*other].level))
                .then(one.cmp(other))
        });
        let mut groups: Vec<Vec<usize>> = Vec::new();
        for zone in storeys {
            match groups.last_mut() {
                Some(group) if sound(zones[zone].level) - sound(zones[group[0]].level) < 1.2 => {
                    group.push(zone);
                }
                _ => groups.push(vec![zone]),
            }
        }
        if !below.is_empty() {
            groups.push(below);
        }
        let row = |members: Vec<usize>| {
            let low = |zone: &usize| sound(zones[*zone].level);
            let high =
                |zone: &usize| sound(zones[*zone].level) + sound(zones[*zone].height).max(0.3);
            Row {
                low: members.iter().map(low).fold(f64::INFINITY, f64::min),
                high: members.iter().map(high).fold(f64::NEG_INFINITY, f64::max),
                zones: members,
                top: 0.0,
                bottom: 0.0,
            }
        };
        let mut rows: Vec<Row> = groups.into_iter().map(row).collect();
        rows.sort_by(|one, other| other.low.total_cmp(&one.low));
        if rows.is_empty() || self.attic.iter().any(|&zone| self.used(zone)) {
            let members = std::mem::take(&mut self.attic);
            if !members.is_empty() {
                rows.insert(0, row(members));
            }
        }
        let beside = self
            .garages
            .first()
            .map_or(0.0, |zone| sound(zones[*zone].level));
        self.ground = (0..rows.len())
            .min_by(|one, other| {
                let away = |index: usize| {
                    let place = rows[index].zones.first().map(|zone| zones[*zone].place);
                    let odd = if place == Some(Place::Storey) {
                        0.0
                    } else {
                        100.0
                    };
                    (rows[index].low - beside).abs() + odd
                };
                away(*one).total_cmp(&away(*other))
            })
            .unwrap_or(0);
        self.rows = rows;
        let e = self.em;
        let (unit_row, handler_row) = (self.row_of(self.unit_zone), self.handler_row());
        // Streams with grilles in a row, each with a branch of its own under the ceiling.
        let branches: Vec<usize> = (0..self.rows.len())
            .map(|row| {
                let ends_here = |stream: &usize| {
                    self.grilles()
                        .any(|(of, zone)| of == *stream && self.row_of(zone) == row)
                };
                let passing = usize::from(self.across() && row == unit_row);
                passing + [1, 2].iter().filter(|stream| ends_here(stream)).count()
            })
            .collect();
        let mut y = 0.0;
        for (index, branches) in branches.into_iter().enumerate() {
            let row = &self.rows[index];
            let natural = (row.high - row.low).clamp(0.5, 8.0) * PER_METRE * e;
            // Under the last branch its grille, the arrow, and what they are called.
            let under_branches = match branches {
                0 => 0.0,
                count => 6.7 + BRANCH * (count as f64 - 1.0),
            };
            let mut height = natural.max(6.4 * e).max(under_branches * e);
            let unit = unit_row == index;
            let air = if self.narrow() { 4.8 } else { 4.6 } + BRANCH * branches as f64;
            let handler = handler_row == Some(index);
            if unit && handler {
                height = height.max(
                    (air + self.sizes().unit[1] + self.between() + self.sizes().handler[1] + BELOW)
                        * e,
                );
            } else if unit {
                height = height.max((air + self.sizes().unit[1] + self.under()) * e);
            } else if handler {
                let air = match branches {
                    0 => 5.0,
                    count => 8.0 + BRANCH * count as f64,
                };
                height = height.max((air + self.sizes().handler[1] + BELOW) * e);
            }
            self.rows[index].top = y;
            y += height;
            self.rows[index].bottom = y;
        }
    }

    fn narrow(&self) -> bool {
        self.format == Format::Narrow
    }

    fn sizes(&self) -> Sizes {
        if self.narrow() {
            Sizes {
                unit: [8.6, 7.6],
                port: 1.8,
                handler: [9.0, 12.4],
            }
        } else {
            Sizes {
                unit: [8.2, 7.4],
                port: 1.7,
                handler: [8.8, 11.6],
            }
        }
    }

    /// From the unit to the air handler under it, and from the unit to the floor, in letters.
    fn between(&self) -> f64 {
        if self.narrow() { 8.6 } else { 5.2 }
    }

    fn under(&self) -> f64 {
        match (self.row_of(self.unit_zone) == self.ground, self.narrow()) {
            (true, true) => 7.4,
            (true, false) => 6.4,
            (false, true) => 5.0,
            (false, false) => 3.4,
        }
    }

    /// From the unit to the first lane: room for the pressures at its ports.
    fn lane_gap(&self) -> f64 {
        if self.narrow() {
            2.1 * self.em
        } else {
            8.4 * self.em
        }
    }

    /// From the first lane to the second: room for the flow in the first, if there are two.
    fn lane_space(&self) -> f64 {
        let (extract, supply) = (self.ways(Stream::Extract), self.ways(Stream::Supply));
        let two = extract[0] && supply[0] || extract[1] && supply[1];
        match (two, self.narrow()) {
            (false, _) => 1.2 * self.em,
            (true, true) => 4.1 * self.em,
            (true, false) => 9.4 * self.em,
        }
    }

    /// From the wall to the unit: risers, and the pressures at its ports.
    fn riser_space(&self) -> f64 {
        if self.narrow() {
            3.9 * self.em
        } else {
            10.4 * self.em
        }
    }

    fn row_of(&self, zone: usize) -> usize {
        self.rows
            .iter()
            .position(|row| row.zones.contains(&zone))
            .unwrap_or(self.ground.min(self.rows.len().saturating_sub(1)))
    }

    fn handler_row(&self) -> Option<usize> {
        self.handler_zone.map(|zone| self.row_of(zone))
    }

    /// Left and right faces of house and garage.
    fn columns(&mut self) {
        let e = self.em;
        let narrow = self.narrow();
        // On a phone the air of two sides is named in the sky above them.
        let (outdoors, beside) = match (narrow, self.across()) {
            (true, true) => (3.5, 3.5),
            (true, false) => (8.0, 0.9),
            (false, true) => (12.0, 12.0),
            (false, false) => (12.0, 3.0),
        };
        let outdoors = outdoors * e;
        let right = self.width - beside * e;
        let in_garage = |zone: usize| self.garages.contains(&zone);
        let unit = in_garage(self.unit_zone);
        let handler = self.handler_zone.is_some_and(in_garage);
        self.main = [outdoors, right];
        if self.garages.is_empty() {
            return;
        }
        if unit || handler {
            let beside = if narrow { 1.4 } else { 7.4 };
            let wide = if unit {
                self.riser_space() + (self.sizes().unit[0] + beside) * e
            } else {
                (self.sizes().handler[0] + 3.0) * e
            };
            let wall = outdoors + wide;
            self.garage = Some([outdoors, wall]);
            self.main = [wall, right];
        } else {
            let wide = if narrow { 4.6 * e } else { 8.0 * e };
            self.garage = Some([right - wide, right]);
            self.main = [outdoors, right - wide];
        }
    }

    /// What the main house lacks in width.
    fn missing(&self) -> f64 {
        let e = self.em;
        let sizes = self.sizes();
        let unit_row = self.row_of(self.unit_zone);
        let beside = self.handler_row() == Some(unit_row)
            && self.handler_zone != Some(self.unit_zone)
            && !self.garages.contains(&self.unit_zone)
            && self
                .handler_zone
                .is_some_and(|zone| !self.garages.contains(&zone));
        let mut reach = if self.garages.contains(&self.unit_zone) {
            self.main[0] + (1.4 + sizes.handler[0]) * e
        } else {
            self.unit_left() + sizes.unit[0].max(sizes.handler[0]) * e
        };
        if beside {
            let gap = if self.narrow() { 1.2 } else { 7.2 };
            reach = self.unit_left() + (sizes.unit[0] + gap + 1.4 + sizes.handler[0]) * e;
        }
        let lanes = reach + self.lane_gap() + self.lane_space();
        let others = self
            .rows
            .iter()
            .map(|row| row.zones.len())
            .max()
            .unwrap_or(1)
            .saturating_sub(1);
        let served = self.handler_zone.is_some()
            && self.it.zones.iter().any(|zone| zone.served != [false; 2]);
        let riser = if self.narrow() {
            self.riser_at_the_right()
        } else {
            0.0
        };
        let branches = riser
            + if !served {
                3.0
            } else if others == 0 {
                if self.narrow() { 6.0 } else { 7.2 }
            } else {
                2.6 + if self.narrow() { 5.4 } else { 7.0 } * others as f64
            };
        lanes + branches * e - self.main[1]
    }

    /// The left end of what lies above each other around the unit.
    fn unit_left(&self) -> f64 {
        let wall = match self.garage {
            Some([left, _]) if self.garages.contains(&self.unit_zone) => left,
            _ => self.main[0],
        };
        wall + self.riser_space()
    }

    fn unit_box(&self) -> Box4 {
        let e = self.em;
        let row = &self.rows[self.row_of(self.unit_zone)];
        let left = self.unit_left();
        let both = self.handler_row() == Some(self.row_of(self.unit_zone));
        let lower = if both {
            row.bottom - (BELOW + self.sizes().handler[1] + self.between()) * e
        } else {
            row.bottom - self.under() * e
        };
        Box4 {
            left,
            right: left + self.sizes().unit[0] * e,
            upper: lower - self.sizes().unit[1] * e,
            lower,
        }
    }

    fn handler_box(&self, rooms: &[Box4]) -> Option<Box4> {
        let e = self.em;
        let zone = self.handler_zone?;
        let row = &self.rows[self.row_of(zone)];
        let left = if self.garages.contains(&zone) {
            self.garage.map_or(self.main[0], |garage| garage[0]) + 2.0 * e
        } else if row.zones.contains(&self.unit_zone) && zone != self.unit_zone {
            rooms[zone].left + 1.4 * e
        } else {
            (self.unit_left()).max(self.main[0] + 1.4 * e)
        };
        let lower = row.bottom - BELOW * e;
        Some(Box4 {
            left,
            right: left + self.sizes().handler[0] * e,
            upper: lower - self.sizes().handler[1] * e,
            lower,
        })
    }

    /// Rectangles of all zones.
    fn rooms(&mut self) -> Vec<Box4> {
        let e = self.em;
        let zones = &self.it.zones;
        let mut rooms = vec![Box4::around([0.0, 0.0], 0.0, 0.0); zones.len()];
        let [left, right] = self.main;
        let unit_right = self.unit_left() + self.sizes().unit[0] * e;
        // The lanes end about here.
        let reach =
            self.lane_gap() + self.lane_space() + if self.narrow() { 2.0 * e } else { 7.0 * e };
        let lanes = |from: f64| from + reach;
        for index in 0..self.rows.len() {
            let Row {
                zones: members,
                top,
                bottom,
                ..
            } = self.rows[index].clone();
            let mut order = members.clone();
            let rank = |zone: &usize| match *zone {
                zone if zone == self.unit_zone => 0,
                zone if Some(zone) == self.handler_zone => 1,
                _ => 2,
            };
            order.sort_by_key(|zone| (rank(zone), *zone));
            let both = order.contains(&self.unit_zone)
                && self
                    .handler_zone
                    .is_some_and(|zone| zone != self.unit_zone && order.contains(&zone));
            let area = |zone: &usize| sound(zones[*zone].area).clamp(1.0, 1e5);
            let mut from = left;
            for (place, zone) in order.iter().enumerate() {
                let after = order.len() - place - 1;
                let rest: f64 = order[place..].iter().map(area).sum();
                let least = 4.6 * e;
                let mut to = from + (right - from) * area(zone) / rest;
                if place == 0 && both {
                    to = unit_right + if self.narrow() { 1.2 } else { 7.2 } * e;
                } else if place == 0 || place == 1 && both {
                    let reach = if both {
                        from + (1.4 + self.sizes().handler[0]) * e
                    } else {
                        unit_right
                    };
                    to = to.max(lanes(reach));
                }
                let to = to.max(from + least).min(right - least * after as f64);
                let to = if after == 0 {
                    right
                } else {
                    to.max(from + 0.5 * e)
                };
                rooms[*zone] = Box4 {
                    left: from,
                    upper: top,
                    right: to,
                    lower: bottom,
                };
                from = to;
            }
        }
        if let (Some([from, to]), false) = (self.garage, self.rows.is_empty()) {
            let row = &self.rows[self.ground];
            let equipped = self.garages.iter().any(|&zone| self.used(zone));
            let upper = if equipped { row.top } else { row.top + 1.6 * e };
            let part = (to - from) / self.garages.len() as f64;
            for (place, &zone) in self.garages.iter().enumerate() {
                rooms[zone] = Box4 {
                    left: from + part * place as f64,
                    upper,
                    right: from + part * (place + 1) as f64,
                    lower: row.bottom,
                };
            }
        }
        let part = (right - left) / self.attic.len().max(1) as f64;
        for (place, &zone) in self.attic.iter().enumerate() {
            rooms[zone] = Box4 {
                left: left + part * place as f64,
                upper: -self.roof_height(),
                right: left + part * (place + 1) as f64,
                lower: 0.0,
            };
        }
        rooms
    }

    fn roof_height(&self) -> f64 {
        let narrow = self.narrow();
        match (self.attic.is_empty(), narrow) {
            (true, _) => 3.4 * self.em,
            (false, true) => 7.4 * self.em,
            (false, false) => 8.4 * self.em,
        }
    }

    /// Height on the sheet of a height in the house.
    fn y_of(&self, level: f64) -> f64 {
        let per = PER_METRE * self.em;
        let Some(row) = self.rows.iter().find(|row| row.low <= level) else {
            // Under the lowest floor.
            return self.rows.last().map_or(0.0, |row| {
                row.bottom + ((row.low - level) * per).min(3.0 * self.em)
            });
        };
        if level <= row.high {
            let part = (level - row.low) / (row.high - row.low);
            return row.bottom - part * (row.bottom - row.top);
        }
        let highest = self.rows.first().is_some_and(|first| first.top >= row.top);
        let over = if highest {
            (level - row.high) * per
        } else {
            0.0
        };
        row.top - over.min(3.0 * self.em)
    }

    fn finish(mut self, rooms: Vec<Box4>, unit: Box4, handler: Option<Box4>) -> Layout {
        let e = self.em;
        let grade = self.y_of(0.0);
        let [left, right] = self.main;
        let bottom = self.rows.last().map_or(0.0, |row| row.bottom);
        let body = Box4 {
            left,
            upper: 0.0,
            right,
            lower: bottom,
        };
        let mut bodies = vec![body];
        let mut shed = Vec::new();
        if let Some([from, to]) = self.garage {
            let upper = self
                .garages
                .iter()
                .map(|zone| rooms[*zone].upper)
                .fold(f64::INFINITY, f64::min);
            let row = &self.rows[self.ground];
            let garage = Box4 {
                left: from,
                upper,
                right: to,
                lower: row.bottom,
            };
            let out = 1.0 * e;
            shed.push(if from < left {
                vec![[from - out, upper + 0.2 * e], [from, upper], [to, upper]]
            } else {
                vec![[from, upper], [to, upper], [to + out, upper + 0.2 * e]]
            });
            bodies.push(garage);
        }
        let mut floors: Vec<[Point; 2]> = Vec::new();
        for row in self.rows.iter().skip(1) {
            floors.push([[left, row.top], [right, row.top]]);
        }
        let mut partitions = Vec::new();
        for row in &self.rows {
            for zone in &row.zones {
                let room = rooms[*zone];
                if room.right < right - 0.1 {
                    partitions.push([[room.right, row.top], [room.right, row.bottom]]);
                    self.slots.take(room.right, 0.2 * e, [row.top, row.bottom]);
                }
            }
        }
        for pair in self.garages.windows(2) {
            let room = rooms[pair[0]];
            partitions.push([[room.right, room.upper], [room.right, room.lower]]);
        }
        self.slots.take(
            unit.centre()[0],
            unit.width() / 2.0,
            [unit.upper - 1.5 * e, unit.lower + 1.5 * e],
        );
        if let Some(handler) = handler {
            self.slots.take(
                handler.centre()[0],
                handler.width() / 2.0,
                [handler.upper - 1.5 * e, handler.lower + 1.0 * e],
            );
        }
        let trunk_line = |index: usize| -> Option<TrunkLine> {
            let box_ = handler?;
            let trunk = self.it.handler.as_ref()?.trunks[index];
            let half = (sound(trunk.size) * self.scale / 2.0).clamp(0.35 * e, 1.7 * e);
            let y = if index == 0 {
                box_.upper + 2.5 * e
            } else {
                box_.lower - 2.5 * e
            };
            Some(TrunkLine {
                y,
                half,
                from: box_.right,
                to: (self.lanes[1] + 2.0 * e).min(right - 0.8 * e),
                taps: [None; 2],
            })
        };
        let mut trunks = trunk_line(0).zip(trunk_line(1)).map(|(a, b)| [a, b]);

        let upright = self.upright();
        let mut routes: [Route; 4] = Default::default();
        self.house_side(&mut routes, &mut trunks, &rooms, unit, upright);
        let (hoods, break_at) = self.outdoor_side(&mut routes, unit, grade, upright);
        let stubs = match &mut trunks {
            Some(trunks) => self.stubs(trunks, &rooms, handler),
            None => Vec::new(),
        };
        let peak = self.roof_height();
        let out = if self.narrow() { 0.5 } else { 1.0 } * e;
        let slope = peak / ((right - left) / 2.0);
        let beside =
            |at: f64| self.garage.is_some_and(|garage| garage.contains(&at)) && self.ground == 0;
        let eaves = |at: f64| if beside(at) { 0.0 } else { out };
        Layout {
            em: e,
            width: self.width,
            scale: self.scale,
            roof: vec![
                [left - eaves(left), slope * eaves(left)],
                [(left + right) / 2.0, -peak],
                [right + eaves(right), slope * eaves(right)],
            ],
            rooms,
            floors,
            partitions,
            shed,
            grade,
            lower: bodies.iter().map(|body| body.lower).fold(grade, f64::max),
            bodies,
            unit,
            handler,
            trunks,
            stubs,
            routes,
            hoods,
            break_at,
        }
    }

    /// Which of its two directions a duct of the ventilator takes to the house: up or down.
    fn ways(&self, stream: Stream) -> [bool; 2] {
        let own = self.row_of(self.unit_zone);
        let last = self.it.zones.len().saturating_sub(1);
        let mut ways = [false; 2];
        for end in &self.it.ducts[stream as usize].ends {
            let up = match end.kind {
                EndKind::Tap { .. } => self.handler_row().is_some_and(|row| row < own),
                EndKind::Grille { zone } => self.row_of(zone.min(last)) <= own,
                EndKind::Terminal { .. } => true,
            };
            ways[usize::from(!up)] = true;
        }
        ways
    }

    /// Extract air comes in at the upper of the two ports to the house.
    fn upright(&self) -> bool {
        let (extract, supply) = (self.ways(Stream::Extract), self.ways(Stream::Supply));
        let far = |stream: Stream| {
            let duct = &self.it.ducts[stream as usize];
            let end = duct.ends.first()?;
            match end.kind {
                EndKind::Tap {
                    on_supply,
                    from_fan,
                    ..
                } => Some((on_supply, from_fan)),
                _ => None,
            }
        };
        match (extract, supply) {
            ([true, false], [false, true]) => true,
            ([false, true], [true, false]) => false,
            ([_, true], [_, true]) => match (far(Stream::Extract), far(Stream::Supply)) {
                (Some((one, there)), Some((other, here))) if one == other => there >= here,
                _ => true,
            },
            ([true, false], [true, false]) => match (far(Stream::Extract), far(Stream::Supply)) {
                // The upper port has the nearer lane here.
                (Some((one, there)), Some((other, here))) if one == other => there <= here,
                _ => true,
            },
            _ => true,
        }
    }

    /// Ducts between the unit and the house.
    fn house_side(
        &mut self,
        routes: &mut [Route; 4],
        trunks: &mut Option<[TrunkLine; 2]>,
        rooms: &[Box4],
        unit: Box4,
        upright: bool,
    ) {
        let e = self.em;
        let last = self.it.zones.len().saturating_sub(1);
        let own = self.row_of(self.unit_zone);
        let (extract, supply) = (self.ways(Stream::Extract), self.ways(Stream::Supply));
        let both_up = extract[0] && supply[0];
        let both_down = extract[1] && supply[1];
        let mut branches = vec![0_usize; self.rows.len()];
        if self.across() {
            // The exhaust passes here on its way to the other side.
            branches[own] = 1;
        }
        for stream in [Stream::Extract, Stream::Supply] {
            let upper = (stream == Stream::Extract) == upright;
            let port = [
                unit.right,
                if upper {
                    unit.upper + self.sizes().port * e
                } else {
                    unit.lower - self.sizes().port * e
                },
            ];
            let half = self.duct(stream) / 2.0;
            let lane_of = |up: bool| {
                let outer = if up {
                    both_up && !upper
                } else {
                    both_down && upper
                };
                self.lanes[usize::from(outer)]
            };
            // Nearest first, so that each row has one height for its branch.
            let mut rows_of: Vec<(usize, f64)> = Vec::new();
            let mut lines: Vec<Vec<Point>> = Vec::new();
            let mut ends = Vec::new();
            let list = &self.it.ducts[stream as usize].ends;
            for end in list {
                let mut line = vec![port];
                match (end.kind, trunks.as_mut()) {
                    (
                        EndKind::Tap {
                            on_supply,
                            facing_downstream,
                            ..
                        },
                        Some(trunks),
                    ) => {
                        let trunk = &mut trunks[usize::from(on_supply)];
                        let up = trunk.y < port[1];
                        let lane = lane_of(up);
                        let side = if up { 1.0 } else { -1.0 };
                        let edge = trunk.y + side * trunk.half;
                        line.push([lane, port[1]]);
                        if facing_downstream && stream == Stream::Supply {
                            let turn = if on_supply { 1.0 } else { -1.0 };
                            line.push([lane, trunk.y]);
                            line.push([lane + turn * (half + 0.9 * e), trunk.y]);
                        } else {
                            line.push([lane, edge - side * 0.25 * e]);
                        }
                        let slot = usize::from(trunk.taps[0].is_some());
                        trunk.taps[slot] = Some(lane);
                        self.slots.take(lane, half, [port[1], edge]);
                        ends.push([lane, edge]);
                    }
                    (EndKind::Grille { zone }, _) => {
                        let zone = zone.min(last);
                        let room = rooms[zone];
                        let row = self.row_of(zone);
                        let up = row <= own;
                        let lane = lane_of(up);
                        let known = rows_of.iter().find(|(known, _)| *known == row);
                        let y = match known {
                            Some((_, y)) => *y,
                            None => {
                                let y = room.upper + (1.5 + BRANCH * branches[row] as f64) * e;
                                branches[row] += 1;
                                rows_of.push((row, y));
                                y
                            }
                        };
                        let inner = (lane - self.lanes[0]).abs() < 1.0 && (both_up || both_down);
                        let prefer = if inner {
                            lane - 3.6 * e
                        } else {
                            lane + 3.2 * e
                        };
                        let range = [room.left + 1.2 * e, room.right - 1.2 * e];
                        let drop = y + half + 1.1 * e;
                        self.slots.take(lane, half, [port[1], y]);
                        let x = self
                            .slots
                            .find(range, prefer, half, [y, drop + 2.0 * e], 1.2 * e);
                        line.extend([[lane, port[1]], [lane, y], [x, y], [x, drop]]);
                        ends.push([x, drop]);
                    }
                    _ => {
                        let x = self.lanes[1] + 3.0 * e;
                        line.push([x, port[1]]);
                        ends.push([x, port[1]]);
                    }
                }
                lines.push(line);
            }
            if stream == Stream::Extract {
                for line in &mut lines {
                    line.reverse();
                }
            }
            routes[stream as usize] = Route { lines, ends, port };
        }
        if let Some(trunks) = trunks {
            for trunk in trunks.iter_mut() {
                trunk.taps.sort_by(|one, other| match (one, other) {
                    (Some(one), Some(other)) => one.total_cmp(other),
                    (one, other) => other.is_some().cmp(&one.is_some()),
                });
            }
        }
    }

    /// Ducts between the unit and outdoors, with their hoods.
    fn outdoor_side(
        &mut self,
        routes: &mut [Route; 4],
        unit: Box4,
        grade: f64,
        upright: bool,
    ) -> (Vec<Box4>, Option<Point>) {
        let e = self.em;
        let height = |stream: Stream| match self.it.ducts[stream as usize].ends.first() {
            Some(end) => match end.kind {
                EndKind::Terminal { height } => sound(height).clamp(0.0, 30.0),
                _ => 1.0,
            },
            None => 1.0,
        };
        let order = if upright {
            [Stream::Outdoor, Stream::Exhaust]
        } else {
            [Stream::Exhaust, Stream::Outdoor]
        };
        let ports = [
            unit.upper + self.sizes().port * e,
            unit.lower - self.sizes().port * e,
        ];
        let thick = self.duct(Stream::Outdoor).max(self.duct(Stream::Exhaust));
        let apart = if self.it.one_hood {
            thick + 0.5 * e
        } else if self.narrow() {
            9.6 * e
        } else {
            8.2 * e
        };
        let wish = order.map(|stream| self.y_of(height(stream)));
        let row = &self.rows[self.row_of(self.unit_zone)];
        let inside = |y: f64| y >= row.top && y <= row.bottom;
        let straight = (0..2)
            .all(|place| inside(wish[place]) || self.across() && order[place] == Stream::Exhaust)
            && ports[1] + thick < grade - 0.5 * e
            && !self.it.one_hood;
        let ys = if straight {
            ports
        } else {
            let middle = (wish[0] + wish[1]) / 2.0;
            let lowest = grade - 1.2 * e - thick;
            let highest = 1.0 * e + thick;
            let lower = (middle + apart / 2.0).min(lowest);
            let upper = (lower - apart).max(highest);
            let mut ys = [upper, lower.max(upper + thick + 0.5 * e)];
            // Not through a floor.
            for y in &mut ys {
                for row in &self.rows {
                    let away = *y - row.top;
                    let least = thick / 2.0 + 0.5 * e;
                    if away.abs() < least {
                        *y = row.top + if away < 0.0 { -least } else { least };
                    }
                }
            }
            ys
        };
        let wall = self.unit_left() - self.riser_space();
        let first = wall + 1.3 * e;
        let lanes = [first, first + (1.9 * e).max(thick + 0.7 * e)];
        let mut hoods: Vec<Box4> = Vec::new();
        for (place, stream) in order.into_iter().enumerate() {
            let (port, y) = (ports[place], ys[place]);
            if stream == Stream::Exhaust && self.across() {
                let (route, hood) = self.other_side(unit, port, lanes, grade, height(stream));
                hoods.push(hood);
                routes[stream as usize] = route;
                continue;
            }
            let face = self.face(y);
            let mut line = vec![[face, y]];
            if (y - port).abs() > 0.1 {
                let up = y < port;
                // Upward the lower port has the outer lane, downward the upper one.
                let outer = if up { place == 1 } else { place == 0 } || self.across();
                let lane = lanes[usize::from(!outer)];
                line.push([lane, y]);
                line.push([lane, port]);
            }
            line.push([unit.left, port]);
            let half = self.duct(stream) / 2.0;
            let hood = Box4 {
                left: face - 1.3 * e,
                upper: y - half - 0.45 * e,
                right: face,
                lower: y + half + 0.45 * e,
            };
            hoods.push(hood);
            if stream == Stream::Exhaust {
                line.reverse();
            }
            routes[stream as usize] = Route {
                lines: vec![line],
                ends: vec![[face, y]],
                port: [unit.left, port],
            };
        }
        if self.it.one_hood {
            let (one, other) = (hoods[0], hoods[1]);
            hoods = vec![Box4 {
                left: one.left,
                upper: one.upper.min(other.upper),
                right: one.right,
                lower: one.lower.max(other.lower),
            }];
        }
        let middle = (ys[0] + ys[1]) / 2.0;
        let broken = self.it.two_walls && !self.it.one_hood && !self.across();
        let break_at = broken.then(|| [self.face(middle), middle]);
        (hoods, break_at)
    }

    /// The exhaust duct under the ceiling to a hood at the right.
    fn other_side(
        &self,
        unit: Box4,
        port: f64,
        lanes: [f64; 2],
        grade: f64,
        height: f64,
    ) -> (Route, Box4) {
        let e = self.em;
        let thick = self.duct(Stream::Exhaust);
        let row = &self.rows[self.row_of(self.unit_zone)];
        let run = row.top + 1.5 * e;
        let lowest = grade - 1.2 * e - thick;
        let face = self.main[1];
        let mut y = self
            .y_of(height)
            .clamp(1.0 * e + thick, lowest.max(1.1 * e + thick));
        // Not through a floor.
        for row in &self.rows {
            let away = y - row.top;
            let least = thick / 2.0 + 0.6 * e;
            if away.abs() < least {
                y = row.top + if away < 0.0 { -least } else { least };
            }
        }
        if run < lowest && y >= row.top && y <= row.bottom || (y - run).abs() < 1.6 * e {
            y = run;
        }
        let lane = lanes[1];
        let mut line = vec![[unit.left, port], [lane, port], [lane, run]];
        if (y - run).abs() > 0.1 {
            let riser = face - (self.riser_at_the_right() - 1.0) * e - thick / 2.0;
            line.extend([[riser, run], [riser, y]]);
        }
        line.push([face, y]);
        let half = thick / 2.0;
        let hood = Box4 {
            left: face,
            upper: y - half - 0.45 * e,
            right: face + 1.3 * e,
            lower: y + half + 0.45 * e,
        };
        let route = Route {
            lines: vec![line],
            ends: vec![[face, y]],
            port: [unit.left, port],
        };
        (route, hood)
    }

    /// The outermost face of the house at a height, on the left.
    fn face(&self, y: f64) -> f64 {
        let row = &self.rows[self.ground];
        match self.garage {
            Some([from, _]) if from < self.main[0] && y > row.top && y < row.bottom => from,
            _ => self.main[0],
        }
    }

    /// Branches of the trunks to the zones that they serve.
    fn stubs(
        &mut self,
        trunks: &mut [TrunkLine; 2],
        rooms: &[Box4],
        handler: Option<Box4>,
    ) -> Vec<Stub> {
        let e = self.em;
        let mut stubs = Vec::new();
        let (Some(handler), Some(own)) = (handler, self.handler_row()) else {
            return stubs;
        };
        let half = 0.42 * e;
        for (index, trunk) in trunks.iter_mut().enumerate() {
            let supply = index == 1;
            let mut reach = trunk
                .taps
                .into_iter()
                .flatten()
                .fold(handler.right, f64::max)
                + 1.2 * e;
            // The farthest first: what lies on its way opens to its side.
            let away = |zone: usize| self.row_of(zone).abs_diff(own);
            let mut served: Vec<usize> = (0..rooms.len())
                .filter(|&zone| self.it.zones[zone].served[usize::from(!supply)])
                .collect();
            served.sort_by_key(|&zone| (std::cmp::Reverse(away(zone)), zone));
            let first = stubs.len();
            for zone in served {
                let room = rooms[zone];
                let row = self.row_of(zone);
                let (from, to) = match row.cmp(&own) {
                    std::cmp::Ordering::Less => (trunk.y - trunk.half, room.lower),
                    std::cmp::Ordering::Greater => (trunk.y + trunk.half, room.upper),
                    std::cmp::Ordering::Equal if supply => {
                        (trunk.y + trunk.half, trunk.y + trunk.half + 0.9 * e)
                    }
                    std::cmp::Ordering::Equal => {
                        (trunk.y - trunk.half, trunk.y - trunk.half - 0.9 * e)
                    }
                };
                let passing = stubs[first..].iter().find(|stub: &&Stub| {
                    let [start, end] = stub.line;
                    let (upper, lower) = (start[1].min(end[1]), start[1].max(end[1]));
                    row != own
                        && !stub.side
                        && start[0] > room.left + 0.8 * e
                        && start[0] < room.right - 0.8 * e
                        && upper <= room.upper + 0.1
                        && lower >= room.lower - 0.1
                });
                if let Some(stub) = passing {
                    let x = stub.line[0][0];
                    let y = room.lower - 1.5 * e;
                    let out = half + if self.narrow() { 0.25 * e } else { 0.7 * e };
                    // Supply to the right, return to the left, where there is room.
                    let right = supply && x + out + 2.2 * e < room.right;
                    let left = x - out - 2.2 * e > room.left;
                    let out = if right || !left { out } else { -out };
                    stubs.push(Stub {
                        line: [[x, y], [x + out, y]],
                        supply,
                        side: true,
                    });
                    continue;
                }
                let left_of = room.right <= handler.left + 0.1;
                let range = if left_of {
                    [room.left + 1.2 * e, room.right - 1.2 * e]
                } else {
                    [
                        (room.left + 1.2 * e).max(handler.right + 1.4 * e),
                        (room.right - 1.2 * e).max(handler.right + 1.6 * e),
                    ]
                };
                let lanes = self.lanes[1] + 1.4 * e;
                let riser = if room.right > self.main[1] - 0.1 {
                    self.riser_at_the_right() * e
                } else {
                    0.0
                };
                let range = [range[0], (range[1] - riser).max(range[0])];
                let (low, high) = (range[0].max(lanes.min(range[1])), range[1]);
                // Return at a third of what is free, supply at two thirds; what serves the room of
                // the trunk itself nearer.
                let share = match (supply, row == own) {
                    (false, true) if room.right < self.main[1] - 0.1 => 0.95,
                    (false, true) => 0.12,
                    (false, false) => 0.4,
                    (true, true) => 0.55,
                    (true, false) => 0.8,
                };
                let prefer = low + share * (high - low);
                let air = if self.narrow() { 0.6 * e } else { 1.0 * e };
                let x = self.slots.find(range, prefer, half, [from, to], air);
                stubs.push(Stub {
                    line: [[x, from], [x, to]],
                    supply,
                    side: false,
                });
                if left_of {
                    trunk.from = trunk.from.min(x - 0.8 * e);
                } else {
                    reach = reach.max(x + 0.8 * e);
                }
            }
            trunk.to = reach
                .min(self.main[1] - 0.3 * e)
                .max(handler.right + 1.0 * e);
        }
        stubs
    }
}
