//! A wall as it is seen from outdoors.

use units::text::capital;
use units::{Length, Quantity, System};

use crate::labels::{Box4, Placed, Sheet, Wish};
use crate::svg::{Svg, escape, number};
use crate::text::{cut, width, wrap};

/// Air that passes an opening of the ventilator, with the colours of EN 16798-3.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Air {
    /// Outdoor air comes in: green.
    Outdoor,
    /// Exhaust air goes out: brown.
    Exhaust,
}

impl Air {
    fn class(self) -> &'static str {
        match self {
            Self::Outdoor => "outdoor",
            Self::Exhaust => "exhaust",
        }
    }

    fn word(self) -> &'static str {
        match self {
            Self::Outdoor => "intake",
            Self::Exhaust => "exhaust",
        }
    }
}

/// How a thing on the wall is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Symbol {
    /// A window that opens.
    Window,
    /// A door.
    Door,
    /// A hood with slats: outlets of fans and dryers.
    Louvre,
    /// A grid: openings without a fan, intakes.
    Grille,
    /// A strip of slots under the eaves.
    Slots,
    /// A pipe or a chimney that ends in the open.
    Pipe,
    /// The round mouth of a vent.
    Mouth,
    /// A box with a dial: meters.
    Meter,
    /// A box with a fan behind a grille: outdoor unit of an air conditioner.
    Condenser,
    /// A flat surface on the ground: driveway, walk.
    Ground,
    /// A platform.
    Deck,
    /// A line on the ground.
    Boundary,
}

/// How a thing is taken hold of where the drawing stands on a page and its things are moved.
#[derive(Debug, Clone, PartialEq)]
pub struct Grip {
    /// What it is for the page, a word.
    pub what: String,
    /// The address at which the page tells more of it.
    pub address: String,
    /// What it is and where, for those who do not see the drawing.
    pub words: String,
    /// The point that is moved (m).
    pub at: [f64; 2],
    /// The lowest and the highest place of that point (m).
    pub range: [[f64; 2]; 2],
    /// Whether the page tells of it now.
    pub chosen: bool,
}

/// A thing on the wall or before it. Lengths in metres, along and up.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// Its name.
    pub name: String,
    /// How it is drawn.
    pub symbol: Symbol,
    /// Left edge and lower edge (m).
    pub at: [f64; 2],
    /// Width and height (m).
    pub size: [f64; 2],
    /// It stands off the wall by this much (m).
    pub out: f64,
    /// How it is taken hold of on a page.
    pub grip: Option<Grip>,
}

/// The part of the wall where the centre of a hood may lie.
#[derive(Debug, Clone, PartialEq)]
pub struct Area {
    /// For which air.
    pub air: Air,
    /// Outer contours and holes (m).
    pub allowed: Vec<Vec<[f64; 2]>>,
}

/// How far a rule reaches from a thing.
#[derive(Debug, Clone, PartialEq)]
pub struct Reach {
    /// For which air.
    pub air: Air,
    /// What is asked, shortly: `10 ft off`.
    pub asked: [String; 2],
    /// Its contours on this wall (m).
    pub contours: Vec<Vec<[f64; 2]>>,
    /// What causes it.
    pub cause: Cause,
    /// Whether the rule decides. One that is only shown is drawn lighter, without colour.
    pub decides: bool,
    /// The address at which a page explains it.
    pub address: Option<String>,
}

impl Reach {
    /// The class of its line or of its words.
    fn class(&self, base: &str) -> String {
        let kind = if self.decides {
            self.air.class()
        } else {
            "shown"
        };
        format!("{base} {kind}")
    }
}

/// What causes the reach of a rule.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cause {
    /// A thing of the drawing: its place in [`Elevation::items`].
    Item(usize),
    /// The expected snow.
    Snow,
    /// The ground.
    Ground,
    /// Something else of this name, which is not on this wall.
    Elsewhere(String),
}

/// An opening of the ventilator that was chosen or is proposed.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Its name.
    pub name: String,
    /// What is to be said of it in a word or two; may be empty.
    pub state: String,
    /// What passes it.
    pub airs: Vec<Air>,
    /// Centre (m).
    pub at: [f64; 2],
    /// Width and height (m).
    pub size: [f64; 2],
    /// The ground under it (m).
    pub ground: f64,
    /// Only proposed, hence drawn thin.
    pub proposed: bool,
    /// Whether it gets its dimensions from corner and ground.
    pub dimensions: bool,
    /// How it is taken hold of on a page.
    pub grip: Option<Grip>,
}

/// A measured distance between a mark and a thing.
#[derive(Debug, Clone, PartialEq)]
pub struct Span {
    /// From here (m).
    pub from: [f64; 2],
    /// To there (m).
    pub to: [f64; 2],
    /// The distance in space, which is not always that on the wall, in both systems of units.
    pub size: [String; 2],
    /// For which air.
    pub air: Air,
    /// What is asked if the rule is broken; otherwise nothing.
    pub broken: Option<[String; 2]>,
    /// The address at which a page explains it.
    pub address: Option<String>,
}

/// A sentence under the drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct Note {
    /// For which air, if for one.
    pub air: Option<Air>,
    /// Its first words, set forward.
    pub title: String,
    /// The sentence.
    pub text: String,
}

/// Everything that is on one sheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Elevation {
    /// A word of letters, digits and hyphens that no other drawing of a page has.
    pub id: String,
    /// Name of the job.
    pub job: String,
    /// Name of the wall.
    pub wall: String,
    /// Where it faces, in words: `faces north`.
    pub facing: String,
    /// Which units stand first.
    pub system: System,
    /// Corners of the wall (m).
    pub outline: Vec<[f64; 2]>,
    /// The ground from left to right (m).
    pub grade: Vec<[f64; 2]>,
    /// Expected snow (m).
    pub snow: f64,
    /// What is on the wall and before it.
    pub items: Vec<Item>,
    /// Where hoods may lie.
    pub areas: Vec<Area>,
    /// What the rules take.
    pub reaches: Vec<Reach>,
    /// The openings of the ventilator.
    pub marks: Vec<Mark>,
    /// Distances to what is tightest.
    pub spans: Vec<Span>,
    /// What is said under the drawing.
    pub notes: Vec<Note>,
}

/// A drawing that is done.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawing {
    /// The SVG document.
    pub svg: String,
    /// Where its texts lie (units of the sheet), to prove that none lies on another.
    pub labels: Vec<Box4>,
    /// The lines to what the labels name.
    pub leaders: Vec<[[f64; 2]; 2]>,
}

/// Width of the sheet. At 390 pixels, a phone, the smallest text is then 8 pixels high.
const WIDTH: f64 = 560.0;
/// On a page a unit is a pixel or more: a hood is large enough to be seen (units for each metre).
const PAGE_SCALE: f64 = 58.0;
/// The narrowest and the widest drawing on a page.
const PAGE_WIDTH: [f64; 2] = [390.0, 900.0];
/// The highest wall on a sheet, and on a page.
const HIGHEST: [f64; 2] = [430.0, 540.0];
/// More things on a wall than these have no room for their names, nor have they where the names would
/// pile up higher than this above the wall: they are numbered.
const NAMED: usize = 17;
const PILE: f64 = 190.0;
/// The narrowest column of the names that numbers stand for.
const COLUMN: f64 = 420.0;
/// What a finger hits.
const FINGER: f64 = 44.0;
/// White at the sides.
const SIDE: f64 = 24.0;
/// Size of labels.
const LABEL: f64 = 14.5;
/// Size of the other system of units and of second lines.
const SMALL: f64 = 12.0;
/// Distance of lines of a label, by its size.
const LEADING: f64 = 1.18;
/// The least size at which a thing is drawn.
const LEAST: f64 = 9.0;
/// Depth of the strip of earth.
const EARTH: f64 = 12.0;

/// A line of a label.
#[derive(Debug, Clone)]
struct Line {
    /// Pieces with their classes.
    pieces: Vec<(String, String)>,
    size: f64,
    /// The address at which a page explains it.
    address: Option<String>,
}

impl Line {
    fn new(text: impl Into<String>, class: impl Into<String>, size: f64) -> Self {
        Self {
            pieces: vec![(text.into(), class.into())],
            size,
            address: None,
        }
    }

    fn explained(mut self, address: Option<&String>) -> Self {
        self.address = address.cloned();
        self
    }

    fn and(mut self, text: impl Into<String>, class: impl Into<String>) -> Self {
        self.pieces.push((text.into(), class.into()));
        self
    }

    fn width(&self) -> f64 {
        self.pieces
            .iter()
            .map(|(text, class)| {
                let size = if class == "quiet" { SMALL } else { self.size };
                let weight = if class.contains("strong") { 1.13 } else { 1.0 };
                (weight * width(text) + 0.3) * size
            })
            .sum::<f64>()
    }
}

fn size_of(lines: &[Line]) -> [f64; 2] {
    let wide = lines.iter().map(Line::width).fold(0.0, f64::max);
    let high: f64 = lines.iter().map(|line| line.size * LEADING).sum();
    [wide, high]
}

/// How metres become units of the sheet.
#[derive(Debug, Clone, Copy)]
struct Frame {
    left: f64,
    base: f64,
    scale: f64,
}

impl Frame {
    fn point(&self, [s, z]: [f64; 2]) -> [f64; 2] {
        [self.left + s * self.scale, self.base - z * self.scale]
    }

    fn contour(&self, contour: &[[f64; 2]]) -> Vec<[f64; 2]> {
        contour.iter().map(|&point| self.point(point)).collect()
    }

    /// The box of a rectangle [left, lower] and [width, height], not smaller than can be drawn.
    fn rect(&self, at: [f64; 2], size: [f64; 2]) -> Box4 {
        let centre = self.point([at[0] + size[0] / 2.0, at[1] + size[1] / 2.0]);
        Box4::around(
            centre,
            (size[0] * self.scale).max(LEAST),
            (size[1] * self.scale).max(LEAST),
        )
    }
}

impl Elevation {
    /// Draws the sheet.
    pub fn draw(&self) -> Drawing {
        self.named_or_numbered(false)
    }

    /// Draws what stands on a page of its own style: without title and sentences, which the page
    /// has, and with its things to be taken hold of. The page has to load [`STYLE`].
    ///
    /// The layers of the drawing are groups: `areas`, `reaches`, `names`, `dimensions`, `spans` with
    /// what they `say`, and around them `frame`, which tells how metres become units.
    pub fn draw_on_page(&self) -> Drawing {
        self.named_or_numbered(true)
    }

    fn named_or_numbered(&self, page: bool) -> Drawing {
        let named = (self.items.len() <= NAMED).then(|| Pen::new(self, page, false).draw());
        named
            .flatten()
            .or_else(|| Pen::new(self, page, true).draw())
            .unwrap_or_default()
    }

    fn ground(&self, along: f64) -> f64 {
        let mut before: Option<[f64; 2]> = None;
        for &point in &self.grade {
            if along <= point[0] {
                return match before {
                    Some(last) if point[0] > last[0] => {
                        last[1] + (point[1] - last[1]) * (along - last[0]) / (point[0] - last[0])
                    }
                    _ => point[1],
                };
            }
            before = Some(point);
        }
        before.map_or(0.0, |last| last[1])
    }
}

/// Of what a label tells.
#[derive(Debug, Clone)]
enum Of {
    /// Of something that has its place; a page knows it by this word.
    Name(Option<String>),
    /// Of a distance.
    Span,
}

struct Pen<'a> {
    it: &'a Elevation,
    /// Whether it stands on a page.
    page: bool,
    /// The numbers of the things where they are numbered, from the left.
    numbers: Option<Vec<usize>>,
    paper: f64,
    frame: Frame,
    /// Width of the wall (m).
    wide: f64,
    /// Lowest and highest point that is drawn (m).
    low: f64,
    high: f64,
    sheet: Sheet,
    back: Svg,
    leads: Svg,
    front: Svg,
    labels: Vec<Box4>,
    leaders: Vec<[[f64; 2]; 2]>,
    /// Labels that look for their places.
    wishes: Vec<(Wish, Vec<Line>, Of)>,
}

impl<'a> Pen<'a> {
    fn new(it: &'a Elevation, page: bool, numbered: bool) -> Self {
        let axis = |axis: usize, start: f64, pick: fn(f64, f64) -> f64| {
            it.outline.iter().map(|point| point[axis]).fold(start, pick)
        };
        let wide = axis(0, 0.0, f64::max).max(0.1);
        let ground = it.grade.iter().map(|point| point[1]);
        let lowest = ground.clone().fold(f64::INFINITY, f64::min);
        let low = if lowest.is_finite() { lowest } else { 0.0 };
        let high = it
            .items
            .iter()
            .filter(|item| item.symbol == Symbol::Pipe)
            .map(|item| item.at[1] + item.size[1])
            .fold(axis(1, low + 0.1, f64::max), f64::max);
        let [narrowest, widest] = PAGE_WIDTH;
        let paper = if page {
            (wide * PAGE_SCALE + 2.0 * SIDE)
                .clamp(narrowest, widest)
                .round()
        } else {
            WIDTH
        };
        let highest = HIGHEST[usize::from(page)];
        let scale = ((paper - 2.0 * SIDE) / wide).min(highest / (high - low));
        let left = (paper - wide * scale) / 2.0;
        // The wall stands on zero; everything is moved down at the end.
        let frame = Frame {
            left,
            base: low * scale,
            scale,
        };
        let mut sheet = Sheet::new(4.0, paper - 4.0, 0.0);
        sheet.hurried = page;
        let numbers = numbered.then(|| {
            let middle = |index: &usize| it.items[*index].at[0] + it.items[*index].size[0] / 2.0;
            let mut order: Vec<usize> = (0..it.items.len()).collect();
            order.sort_by(|one, other| middle(one).total_cmp(&middle(other)));
            let mut numbers = vec![0; order.len()];
            for (number, index) in order.into_iter().enumerate() {
                numbers[index] = number + 1;
            }
            numbers
        });
        Self {
            it,
            page,
            numbers,
            paper,
            frame,
            wide,
            low,
            high,
            sheet,
            back: Svg::default(),
            leads: Svg::default(),
            front: Svg::default(),
            labels: Vec::new(),
            leaders: Vec::new(),
            wishes: Vec::new(),
        }
    }

    fn both(&self, length: f64) -> [String; 2] {
        let length = Length::from_si(length);
        [
            length.show(self.it.system),
            length.show(self.it.system.other()),
        ]
    }

    /// Draws everything; nothing where the names pile up and the things are to be numbered.
    fn draw(mut self) -> Option<Drawing> {
        self.back.open("g", "class=\"areas\"");
        self.areas();
        self.back.close("g");
        self.back.open("g", "class=\"reaches\"");
        self.reaches();
        self.back.close("g");
        self.wall();
        self.items();
        self.marks();
        self.front.open("g", "class=\"dimensions\"");
        let below = self.dimensions();
        self.front.close("g");
        self.front.open("g", "class=\"spans\"");
        self.spans();
        self.front.close("g");
        self.label_everything();
        self.write_labels();
        let highest = self.labels.iter().map(|label| label.upper);
        let pile = self.frame.point([0.0, self.high])[1] - highest.fold(0.0, f64::min);
        if self.numbers.is_none() && pile > PILE && !self.it.items.is_empty() {
            return None;
        }
        let end = self.notes(below);
        Some(self.finish(end))
    }

    /// The forbidden area of each air, hatched.
    fn areas(&mut self) {
        let outline = self.frame.contour(&self.it.outline);
        for area in &self.it.areas {
            let mut lines = vec![outline.clone()];
            lines.extend(area.allowed.iter().map(|line| self.frame.contour(line)));
            let class = area.air.class();
            let more = format!(
                "fill=\"url(#{}-{class})\" fill-rule=\"evenodd\" clip-path=\"url(#{}-wall)\"",
                self.it.id, self.it.id
            );
            self.back.path(&lines, true, "hatch", &more);
        }
    }

    fn reaches(&mut self) {
        for reach in &self.it.reaches {
            let lines: Vec<Vec<[f64; 2]>> = reach
                .contours
                .iter()
                .map(|line| self.frame.contour(line))
                .collect();
            let more = format!("clip-path=\"url(#{}-wall)\"", self.it.id);
            self.back.path(&lines, true, &reach.class("reach"), &more);
            for line in &lines {
                for (from, to) in line.iter().zip(line.iter().cycle().skip(1)) {
                    self.sheet.thin_line(*from, *to, 6.0);
                }
            }
        }
    }

    fn wall(&mut self) {
        let outline = self.frame.contour(&self.it.outline);
        for (from, to) in outline.iter().zip(outline.iter().cycle().skip(1)) {
            self.sheet.line(*from, *to);
        }
        self.back.path(&[outline], true, "wall", "");
        // The earth covers the foot of the wall and goes on to both sides.
        let reach = (SIDE - 2.0) / self.frame.scale;
        let mut line: Vec<[f64; 2]> = vec![[-reach, self.it.ground(-reach)]];
        line.extend(
            self.it
                .grade
                .iter()
                .filter(|point| point[0] > -reach && point[0] < self.wide + reach),
        );
        line.push([self.wide + reach, self.it.ground(self.wide + reach)]);
        let surface = self.frame.contour(&line);
        let deep = |depth: f64| {
            let mut shape = surface.clone();
            shape.extend(
                surface
                    .iter()
                    .rev()
                    .map(|point| [point[0], point[1] + depth]),
            );
            shape
        };
        let to_the_foot =
            (surface.iter().map(|point| point[1])).fold(0.0, |depth: f64, y| depth.max(-y)) + EARTH;
        self.back.path(&[deep(to_the_foot)], true, "cover", "");
        let more = format!("fill=\"url(#{}-earth)\"", self.it.id);
        self.back.path(&[deep(EARTH)], true, "hatch", &more);
        for pair in surface.windows(2) {
            self.sheet.line(pair[0], pair[1]);
        }
        if self.it.snow > 0.0 {
            let snow: Vec<[f64; 2]> = surface
                .iter()
                .map(|point| [point[0], point[1] - self.it.snow * self.frame.scale])
                .collect();
            for pair in snow.windows(2) {
                self.sheet.line(pair[0], pair[1]);
            }
            self.back.path(&[snow], false, "snow", "");
        }
        self.back.path(&[surface], false, "ground", "");
    }

    fn item_box(&self, item: &Item) -> Box4 {
        let mut rect = self.frame.rect(item.at, item.size);
        // What reaches beyond the sheet is cut.
        rect.left = rect.left.clamp(2.0, self.paper - 2.0);
        rect.right = rect.right.clamp(2.0, self.paper - 2.0);
        let lower = self.frame.point(item.at)[1];
        match item.symbol {
            Symbol::Ground | Symbol::Boundary => {
                let heights = follow(&self.frame, self.it, rect.left, rect.right);
                let upper = heights
                    .iter()
                    .map(|point| point[1])
                    .fold(f64::MAX, f64::min);
                let lower = heights
                    .iter()
                    .map(|point| point[1])
                    .fold(f64::MIN, f64::max);
                Box4 {
                    upper: upper - 4.0,
                    lower: lower + 4.0,
                    ..rect
                }
            }
            Symbol::Deck => Box4 {
                upper: lower - item.size[1] * self.frame.scale,
                lower: lower + 5.0,
                ..rect
            },
            _ => rect,
        }
    }

    fn items(&mut self) {
        // What stands before the wall covers what is on it.
        let mut order: Vec<&Item> = self.it.items.iter().collect();
        order.sort_by(|one, other| one.out.total_cmp(&other.out));
        for item in order {
            let rect = self.item_box(item);
            let grip = item.grip.as_ref().filter(|_| self.page);
            if let Some(grip) = grip {
                take_hold(&mut self.back, grip, rect);
            }
            self.symbol(item.symbol, rect);
            if grip.is_some() {
                self.back.close("a");
            }
            self.sheet.thing(rect);
        }
    }

    fn symbol(&mut self, symbol: Symbol, rect: Box4) {
        let svg = &mut self.back;
        let Box4 {
            left,
            upper,
            right,
            lower,
        } = rect;
        let (wide, high) = (rect.width(), rect.height());
        let [x, y] = rect.centre();
        let inner = |by: f64| [left + by, upper + by, wide - 2.0 * by, high - 2.0 * by];
        match symbol {
            Symbol::Window => {
                svg.rectangle(inner(0.0), "thing");
                let frame = (0.08 * wide.min(high)).clamp(1.5, 3.0);
                svg.rectangle(inner(frame), "fine");
                svg.line([x, upper + frame], [x, lower - frame], "fine");
                svg.line([left - 2.0, lower], [right + 2.0, lower], "thing");
                // The hinges are at the tip of the broken lines.
                svg.path(
                    &[vec![
                        [x, upper + frame],
                        [left + frame, y],
                        [x, lower - frame],
                    ]],
                    false,
                    "swing",
                    "",
                );
                svg.path(
                    &[vec![
                        [x, upper + frame],
                        [right - frame, y],
                        [x, lower - frame],
                    ]],
                    false,
                    "swing",
                    "",
                );
            }
            Symbol::Door => {
                svg.rectangle(inner(0.0), "thing");
                svg.rectangle(inner((0.12 * wide).min(5.0)), "fine");
                svg.circle([right - 0.18 * wide, y], 1.4, "fine");
            }
            Symbol::Louvre | Symbol::Grille => {
                svg.rectangle(inner(0.0), "thing");
                let count = (high / 3.2).floor().clamp(2.0, 5.0) as usize;
                for index in 1..=count {
                    let y = upper + high * index as f64 / (count + 1) as f64;
                    svg.line([left + 1.2, y], [right - 1.2, y], "fine");
                    if symbol == Symbol::Grille {
                        let x = left + wide * index as f64 / (count + 1) as f64;
                        svg.line([x, upper + 1.2], [x, lower - 1.2], "fine");
                    }
                }
            }
            Symbol::Slots => {
                svg.rectangle([left, y - 2.0, wide, 4.0], "fine");
                let count = (wide / 9.0).floor().clamp(2.0, 60.0) as usize;
                for index in 0..count {
                    let x = left + wide * (index as f64 + 0.25) / count as f64;
                    svg.line([x, y], [x + 0.5 * wide / count as f64, y], "fine");
                }
            }
            Symbol::Pipe => {
                svg.rectangle(inner(0.0), "thing");
                svg.line([left - 2.5, upper], [right + 2.5, upper], "thing");
                svg.line(
                    [left - 2.5, upper + 3.0],
                    [right + 2.5, upper + 3.0],
                    "fine",
                );
            }
            Symbol::Mouth => {
                let radius = wide.min(high) / 2.0;
                svg.circle([x, y], radius, "thing");
                svg.circle([x, y], 0.5 * radius, "fine");
            }
            Symbol::Meter => {
                svg.rectangle(inner(0.0), "thing");
                let radius = 0.3 * wide.min(high);
                svg.circle([x, y], radius, "fine");
                svg.line([x, y], [x + 0.7 * radius, y - 0.7 * radius], "fine");
            }
            Symbol::Condenser => {
                svg.rectangle(inner(0.0), "thing");
                for index in 1..6 {
                    let x = left + wide * f64::from(index) / 6.0;
                    svg.line([x, upper + 3.0], [x, lower - 3.0], "fine");
                }
                svg.line(
                    [left + 2.0, lower + 1.5],
                    [right - 2.0, lower + 1.5],
                    "thing",
                );
            }
            Symbol::Ground => {
                let strip = follow(&self.frame, self.it, left, right);
                let mut under: Vec<[f64; 2]> =
                    strip.iter().rev().map(|[x, y]| [*x, y + 5.0]).collect();
                let mut shape = strip;
                shape.append(&mut under);
                svg.path(&[shape], true, "pavement", "");
            }
            Symbol::Deck => {
                svg.rectangle([left, lower - 5.0, wide, 5.0], "thing");
                let along = |x: f64| (x - self.frame.left) / self.frame.scale;
                for x in [left + 4.0, right - 4.0] {
                    let ground = self.frame.point([0.0, self.it.ground(along(x))])[1];
                    if ground > lower {
                        svg.line([x, lower], [x, ground], "thing");
                    }
                }
            }
            Symbol::Boundary => {
                let line: Vec<[f64; 2]> = follow(&self.frame, self.it, left, right)
                    .into_iter()
                    .map(|[x, y]| [x, y - 3.0])
                    .collect();
                svg.path(&[line], false, "boundary", "");
            }
        }
    }

    fn mark_box(&self, mark: &Mark) -> Box4 {
        let [width, height] = mark.size;
        self.frame.rect(
            [mark.at[0] - width / 2.0, mark.at[1] - height / 2.0],
            mark.size,
        )
    }

    fn marks(&mut self) {
        for mark in &self.it.marks {
            let rect = self.mark_box(mark);
            let grip = mark.grip.as_ref().filter(|_| self.page);
            if let Some(grip) = grip {
                take_hold(&mut self.front, grip, rect);
            }
            let [x, y] = rect.centre();
            let weight = if mark.proposed { "proposed" } else { "chosen" };
            let parts = mark.airs.len().max(1) as f64;
            for (index, air) in mark.airs.iter().enumerate() {
                let part = rect.width() / parts;
                self.front.rectangle(
                    [
                        rect.left + part * index as f64,
                        rect.upper,
                        part,
                        rect.height(),
                    ],
                    &format!("mark {weight} {}", air.class()),
                );
            }
            // A cross marks the centre, from which a tape measures.
            let arm = 0.5 * rect.height() + 4.0;
            let class = format!("cross {weight}");
            self.front.line([x - arm, y], [x + arm, y], &class);
            self.front.line([x, y - arm], [x, y + arm], &class);
            if grip.is_some() {
                self.front.close("a");
            }
            self.sheet
                .thing(Box4::around([x, y], rect.width().max(2.0 * arm), 2.0 * arm));
        }
    }

    /// Dimensions from the left corner in rows under the earth, and from the ground beside each
    /// mark. Returns where the rows end.
    fn dimensions(&mut self) -> f64 {
        let mut marks: Vec<&Mark> = self
            .it
            .marks
            .iter()
            .filter(|mark| mark.dimensions)
            .collect();
        marks.sort_by(|one, other| one.at[0].total_cmp(&other.at[0]));
        let lowest = self
            .it
            .grade
            .iter()
            .map(|point| self.frame.point(*point)[1])
            .fold(0.0, f64::max);
        let mut y = lowest + EARTH + 10.0;
        self.sheet.lower = lowest + EARTH - 2.0;
        let corner = self.frame.point([0.0, 0.0])[0];
        let mut rows: Vec<(f64, &'static str, Option<&Mark>)> = Vec::new();
        for mark in &marks {
            let class = match mark.airs.as_slice() {
                [air] => air.class(),
                _ => "plain",
            };
            rows.push((mark.at[0], class, Some(mark)));
        }
        rows.push((self.wide, "plain", None));
        let bottom = y + rows.len() as f64 * 21.0;
        // Beneath all figures, which interrupt them.
        self.leads.line(
            [corner, lowest + EARTH],
            [corner, bottom - 6.0],
            "extension",
        );
        for (index, (along, class, mark)) in rows.into_iter().enumerate() {
            let y = y + index as f64 * 21.0 + 8.0;
            let x = self.frame.point([along, 0.0])[0];
            let [first, second] = self.both(along);
            let line = Line::new(first, "label", LABEL).and(second, "quiet");
            let wide = line.width();
            if let Some(mark) = mark {
                let from = self.frame.point(mark.at)[1];
                self.leads.line([x, from], [x, y + 4.0], "extension");
                let ground = self.frame.point([0.0, mark.ground])[1];
                self.tick([x, ground]);
                let arm = 0.5 * self.mark_box(mark).height() + 4.0;
                self.sheet.thin_line([x, from + arm], [x, ground], 35.0);
            } else {
                self.leads
                    .line([x, lowest + EARTH], [x, y + 4.0], "extension");
            }
            self.front
                .line([corner, y], [x, y], &format!("dimension {class}"));
            self.tick([corner, y]);
            self.tick([x, y]);
            // Beside the line where it is too short for its figure.
            let centre = if x - corner > wide + 16.0 {
                (corner + x) / 2.0
            } else {
                (x + 8.0 + wide / 2.0).min(self.paper - 4.0 - wide / 2.0)
            };
            let rect = Box4::around([centre, y], wide, LABEL * LEADING);
            self.write(rect, &[line], true);
        }
        y = bottom + 2.0;
        y
    }

    /// A tick at the end of a dimension line.
    fn tick(&mut self, [x, y]: [f64; 2]) {
        self.front
            .line([x - 3.5, y + 3.5], [x + 3.5, y - 3.5], "tick");
    }

    fn spans(&mut self) {
        for span in &self.it.spans {
            let (from, to) = (self.frame.point(span.from), self.frame.point(span.to));
            let class = format!("span {}", span.air.class());
            self.front.line(from, to, &class);
            self.tick(from);
            self.tick(to);
            self.sheet.thin_line(from, to, 45.0);
        }
    }

    fn label_everything(&mut self) {
        for mark in &self.it.marks {
            let mut lines = vec![Line::new(
                cut(&mark.name, 22.0),
                match mark.airs.as_slice() {
                    [Air::Outdoor] => "label strong outdoor",
                    [Air::Exhaust] => "label strong exhaust",
                    _ => "label strong",
                },
                LABEL,
            )];
            if mark.dimensions {
                let [first, second] = self.both(mark.at[1] - mark.ground);
                lines.push(Line::new(format!("{first} up"), "label", LABEL).and(second, "quiet"));
            }
            if !mark.state.is_empty() {
                lines.push(Line::new(cut(&mark.state, 26.0), "second", SMALL));
            }
            let rect = self.mark_box(mark);
            self.label(&[rect], &lines, 4.0, name_of(mark.grip.as_ref()));
        }
        for span in &self.it.spans {
            let [first, second] = &span.size;
            let line = Line::new(first, "label", LABEL).and(second, "quiet");
            let address = span.address.as_ref();
            let mut lines = vec![line.explained(address)];
            if let Some([asked, _]) = &span.broken {
                let line = Line::new(format!("{asked} asked"), "second strong", SMALL);
                lines.push(line.explained(address));
            }
            let (from, to) = (self.frame.point(span.from), self.frame.point(span.to));
            let along = |share: f64| {
                let at = [
                    from[0] + share * (to[0] - from[0]),
                    from[1] + share * (to[1] - from[1]),
                ];
                Box4::around(at, 0.0, 0.0)
            };
            self.label(
                &[along(0.5), along(0.35), along(0.65)],
                &lines,
                2.0,
                Of::Span,
            );
        }
        // Small things first: they have the fewest places.
        let mut order: Vec<usize> = (0..self.it.items.len()).collect();
        let width_of = |index: &usize| self.item_box(&self.it.items[*index]).width();
        order.sort_by(|one, other| width_of(one).total_cmp(&width_of(other)));
        for index in order {
            let item = &self.it.items[index];
            if let Some(numbers) = &self.numbers {
                let line = Line::new(numbers[index].to_string(), "label strong", LABEL);
                let targets = stretches(self.item_box(item));
                self.label(&targets, &[line], 1.0, name_of(item.grip.as_ref()));
                continue;
            }
            let mut lines = vec![Line::new(cut(&item.name, 24.0), "label", LABEL)];
            if item.out > 0.0 {
                let [first, _] = self.both(item.out);
                lines.push(Line::new(
                    format!("{first} before the wall"),
                    "second",
                    SMALL,
                ));
            }
            lines.extend(self.reach_lines(|cause| *cause == Cause::Item(index)));
            let targets = stretches(self.item_box(item));
            self.label(&targets, &lines, 1.0, name_of(item.grip.as_ref()));
        }
        let mut named: Vec<&String> = Vec::new();
        for reach in self.it.reaches.iter().filter(|reach| reach.decides) {
            let Cause::Elsewhere(name) = &reach.cause else {
                continue;
            };
            if named.contains(&name) {
                continue;
            }
            named.push(name);
            let mut lines = vec![Line::new(cut(name, 34.0), "label", LABEL)];
            lines.extend(
                self.deciding_lines(
                    |cause| matches!(cause, Cause::Elsewhere(other) if other == name),
                ),
            );
            let targets = self.on_contour(reach);
            self.label(&targets, &lines, 1.0, Of::Name(None));
        }
        if self.it.snow > 0.0 {
            let [first, second] = self.both(self.it.snow);
            let mut lines =
                vec![Line::new(format!("snow {first}"), "label", LABEL).and(second, "quiet")];
            lines.extend(self.deciding_lines(|cause| *cause == Cause::Snow));
            let at = |along: f64| {
                let z = self.it.ground(along) + self.it.snow;
                Box4::around(self.frame.point([along, z]), 0.0, 0.0)
            };
            let targets: Vec<Box4> = (0..9)
                .map(|step| at(self.wide * f64::from(step) / 8.0))
                .collect();
            self.label(&targets, &lines, 1.0, Of::Name(None));
        }
    }

    /// What is asked around a thing, the farthest only: one line for each air, or one for both where a
    /// rule is shown only.
    fn reach_lines(&self, of: impl Fn(&Cause) -> bool) -> Vec<Line> {
        let mut lines = self.deciding_lines(&of);
        let reaches = self.it.reaches.iter().filter(|reach| of(&reach.cause));
        for (who, reach) in shown_only(reaches) {
            let [first, second] = &reach.asked;
            let line = Line::new(format!("shown only: {who} {first}"), "second shown", SMALL);
            let line = line.and(second.clone(), "quiet");
            lines.push(line.explained(reach.address.as_ref()));
        }
        lines
    }

    fn deciding_lines(&self, of: impl Fn(&Cause) -> bool) -> Vec<Line> {
        let reaches = self.it.reaches.iter();
        reaches
            .filter(|reach| reach.decides && of(&reach.cause))
            .map(|reach| {
                let [first, second] = &reach.asked;
                let line = format!("{} {first}", reach.air.word());
                let line = Line::new(line, reach.class("second"), SMALL);
                line.and(second.clone(), "quiet")
                    .explained(reach.address.as_ref())
            })
            .collect()
    }

    /// What is asked by rules that are shown only and is named under the drawing: around what does not
    /// stand on this wall, what is asked with all that ask it.
    fn shown_elsewhere(&self) -> Vec<String> {
        let mut groups: Vec<(String, Vec<String>)> = Vec::new();
        let mut causes: Vec<&Cause> = Vec::new();
        for reach in self.it.reaches.iter().filter(|reach| !reach.decides) {
            if matches!(reach.cause, Cause::Item(_)) || causes.contains(&&reach.cause) {
                continue;
            }
            causes.push(&reach.cause);
            let name = match &reach.cause {
                Cause::Snow => "the snow".to_owned(),
                Cause::Ground => "the ground".to_owned(),
                Cause::Elsewhere(name) => name.clone(),
                Cause::Item(_) => continue,
            };
            let same = self
                .it
                .reaches
                .iter()
                .filter(|other| other.cause == reach.cause);
            for (who, Reach { asked, .. }) in shown_only(same) {
                let [first, second] = asked;
                let asked = format!("{who} {first} ({second})");
                match groups.iter_mut().find(|(known, _)| *known == asked) {
                    Some((_, names)) => names.push(name.clone()),
                    None => groups.push((asked, vec![name.clone()])),
                }
            }
        }
        groups
            .into_iter()
            .map(|(asked, names)| format!("{}: {asked}", names.join(", ")))
            .collect()
    }

    /// Points of a contour that are seen on the wall.
    fn on_contour(&self, reach: &Reach) -> Vec<Box4> {
        let inside = |point: &[f64; 2]| {
            point[0] > 0.02 * self.wide
                && point[0] < 0.98 * self.wide
                && point[1] > self.it.ground(point[0]) + 0.05
                && point[1] < self.high - 0.05
        };
        // Long sides count as well as their ends.
        let mut seen: Vec<[f64; 2]> = Vec::new();
        for contour in &reach.contours {
            for (from, to) in contour.iter().zip(contour.iter().cycle().skip(1)) {
                let long = (to[0] - from[0]).hypot(to[1] - from[1]);
                let parts = (12.0 * long / self.wide).ceil().clamp(1.0, 12.0);
                seen.extend((0..parts as usize).map(|part| {
                    let share = part as f64 / parts;
                    [
                        from[0] + share * (to[0] - from[0]),
                        from[1] + share * (to[1] - from[1]),
                    ]
                }));
            }
        }
        seen.retain(inside);
        let step = seen.len().div_ceil(7).max(1);
        let mut targets: Vec<Box4> = seen
            .iter()
            .step_by(step)
            .map(|&point| Box4::around(self.frame.point(point), 0.0, 0.0))
            .collect();
        if targets.is_empty() {
            let middle = [self.wide / 2.0, (self.low + self.high) / 2.0];
            targets.push(Box4::around(self.frame.point(middle), 0.0, 0.0));
        }
        targets
    }

    /// Wants a label.
    fn label(&mut self, targets: &[Box4], lines: &[Line], weight: f64, of: Of) {
        let wish = Wish {
            targets: targets.to_vec(),
            size: size_of(lines),
            weight,
        };
        self.wishes.push((wish, lines.to_vec(), of));
    }

    /// Finds places for all labels and writes them.
    fn write_labels(&mut self) {
        let wishes = std::mem::take(&mut self.wishes);
        let wanted: Vec<Wish> = wishes.iter().map(|(wish, ..)| wish.clone()).collect();
        let places = self.sheet.place_all(&wanted);
        // What distances say stands in a group of its own, with its leaders.
        for spans in [false, true] {
            let class = if spans { "say" } else { "names" };
            self.front.open("g", &format!("class=\"{class}\""));
            for (Placed { rect, leader, .. }, (_, lines, of)) in places.iter().zip(&wishes) {
                if matches!(of, Of::Span) != spans {
                    continue;
                }
                let word = match of {
                    Of::Name(Some(word)) if self.page => {
                        Some(format!("data-of=\"{}\"", escape(word)))
                    }
                    _ => None,
                };
                if let Some([from, to]) = leader {
                    let svg = if spans {
                        &mut self.front
                    } else {
                        &mut self.leads
                    };
                    if let Some(word) = &word {
                        svg.open("g", word);
                    }
                    svg.line(*from, *to, "leader");
                    svg.circle(*from, 1.3, "dot");
                    if word.is_some() {
                        svg.close("g");
                    }
                    self.leaders.push([*from, *to]);
                }
                if let Some(word) = &word {
                    self.front.open("g", word);
                }
                self.write(*rect, lines, false);
                if word.is_some() {
                    self.front.close("g");
                }
            }
            self.front.close("g");
        }
    }

    /// Writes lines into a box, on clean paper.
    fn write(&mut self, rect: Box4, lines: &[Line], taken: bool) {
        if taken {
            self.sheet.label(rect);
        }
        self.labels.push(rect);
        self.front.rectangle(
            [rect.left, rect.upper, rect.width(), rect.height()],
            "paper",
        );
        let mut y = rect.upper;
        for line in lines {
            y += line.size * LEADING;
            let base = y - 0.28 * line.size;
            let x = rect.left + 0.15 * line.size;
            self.write_line([x, base], line, rect.width());
        }
    }

    /// Writes a line on its base; where the page explains it, so much of it leads there.
    fn write_line(&mut self, [x, base]: [f64; 2], line: &Line, wide: f64) {
        if let Some(address) = &line.address {
            let address = escape(address);
            self.front
                .open("a", &format!("class=\"figure\" href=\"{address}\""));
            let high = line.size * LEADING;
            let area = [
                x - 0.15 * line.size,
                base + 0.28 * line.size - high,
                wide,
                high,
            ];
            self.front.rectangle(area, "ask");
        }
        let mut text = format!("<text x=\"{}\" y=\"{}\">", number(x), number(base));
        for (index, (piece, class)) in line.pieces.iter().enumerate() {
            let gap = if index > 0 { " dx=\"4\"" } else { "" };
            text.push_str(&format!(
                "<tspan class=\"{class}\"{gap}>{}</tspan>",
                escape(piece)
            ));
        }
        text.push_str("</text>");
        self.front.raw(&text);
        if line.address.is_some() {
            self.front.close("a");
        }
    }

    /// The names that the numbers stand for, in columns; returns where they end.
    fn key(&mut self, below: f64) -> f64 {
        let Some(numbers) = self.numbers.clone() else {
            return below;
        };
        let room = self.paper - 2.0 * SIDE;
        let columns = (room / COLUMN).floor().clamp(1.0, 3.0);
        let rows = (numbers.len() as f64 / columns).ceil();
        let wide = room / columns;
        let mut order: Vec<usize> = (0..numbers.len()).collect();
        order.sort_by_key(|index| numbers[*index]);
        for (place, index) in order.into_iter().enumerate() {
            let item = &self.it.items[index];
            let asked = self.reach_lines(|cause| *cause == Cause::Item(index));
            let address = asked.iter().find_map(|line| line.address.clone());
            let name = cut(&item.name, wide / LABEL / 1.3);
            let mut line = Line::new(numbers[index].to_string(), "label strong", LABEL)
                .and(name, "label")
                .explained(address.as_ref());
            if item.out > 0.0 {
                let [first, _] = self.both(item.out);
                line = line.and(format!("{first} before the wall"), "second");
            }
            for (text, class) in asked.iter().filter_map(|line| line.pieces.first()) {
                line = line.and(text.clone(), class.clone());
            }
            let (column, row) = ((place as f64 / rows).floor(), place as f64 % rows);
            let at = [SIDE + column * wide, below + (row + 1.0) * 20.0];
            self.write_line(at, &line, line.width().min(wide));
        }
        below + rows * 20.0 + 6.0
    }

    /// The key of the hatching and the sentences; returns where they end.
    fn notes(&mut self, below: f64) -> f64 {
        let mut y = below + 12.0;
        let mut x = SIDE;
        for area in &self.it.areas {
            let class = area.air.class();
            let words = format!("no {}", area.air.word());
            self.front.raw(&format!(
                "<rect x=\"{}\" y=\"{}\" width=\"26\" height=\"14\" class=\"swatch\" fill=\"url(#{}-{class})\"/>",
                number(x),
                number(y - 11.0),
                self.it.id
            ));
            self.front.text([x + 32.0, y], "second", &words);
            x += 32.0 + (width(&words) + 1.6) * SMALL;
        }
        if !self.it.areas.is_empty() {
            self.front.rectangle([x, y - 11.0, 26.0, 14.0], "clean");
            let words = if self.it.areas.len() > 1 {
                "clean paper: either"
            } else {
                "clean paper: allowed"
            };
            self.front.text([x + 32.0, y], "second", words);
            y += 10.0;
        }
        for reach in self.it.reaches.iter().filter(|reach| reach.decides) {
            if reach.cause == Cause::Ground {
                let [first, second] = &reach.asked;
                let words = format!("{} {first} the ground, {second}", reach.air.word());
                y += 16.0;
                self.front.text([SIDE, y], &reach.class("second"), &words);
            }
        }
        if self.it.reaches.iter().any(|reach| !reach.decides) {
            y += 16.0;
            self.front
                .line([SIDE, y - 4.0], [SIDE + 26.0, y - 4.0], "reach shown");
            let words = "shown only: a rule in doubt, which forbids nothing";
            self.front.text([SIDE + 32.0, y], "second", words);
            for words in self.shown_elsewhere() {
                for line in wrap(&words, (self.paper - 2.0 * SIDE - 32.0) / SMALL) {
                    y += 15.0;
                    self.front.text([SIDE + 32.0, y], "second shown", &line);
                }
            }
        }
        y = self.key(y + 6.0);
        for note in &self.it.notes {
            y += 12.0;
            let class = match note.air {
                Some(Air::Outdoor) => "label strong outdoor",
                Some(Air::Exhaust) => "label strong exhaust",
                None => "label strong",
            };
            y += LABEL;
            self.front.text([SIDE, y], class, &note.title);
            for line in wrap(&note.text, (WIDTH - 2.0 * SIDE) / (SMALL + 1.0)) {
                y += 17.0;
                self.front.text([SIDE, y], "note", &line);
            }
        }
        y + 18.0
    }

    /// Bar of the scale, title block, and the document around everything.
    fn finish(self, end: f64) -> Drawing {
        let Self {
            it,
            page,
            paper,
            frame,
            back,
            leads,
            mut front,
            labels,
            leaders,
            ..
        } = self;
        let base = end + 8.0;
        if !page {
            title_block(it, frame, &mut front, base);
        }

        // Everything above zero is moved into the sheet, under the title.
        let top = labels
            .iter()
            .map(|rect| rect.upper)
            .chain([frame.point([0.0, self.high])[1]])
            .fold(0.0, f64::min);
        let (title, foot) = if page {
            (4.0, 4.0)
        } else {
            (58.0, 62.0 + 14.0)
        };
        let down = title - top + 6.0;
        let height = down + base + foot;
        let mut svg = Svg::default();
        // On a page the drawing holds things that are read one by one.
        let name = if page {
            ""
        } else {
            " xmlns=\"http://www.w3.org/2000/svg\""
        };
        let (role, look) = if page {
            (
                "group",
                format!("width=\"{}\" height=\"{}\"", number(paper), number(height)),
            )
        } else {
            let look =
                "style=\"display:block;width:100%;max-width:900px;height:auto;margin:0 auto\"";
            ("img", look.to_owned())
        };
        svg.raw(&format!(
            "<svg{name} class=\"elevation\" viewBox=\"0 0 {} {}\" role=\"{role}\" aria-labelledby=\"{id}-title\" {look}>",
            number(paper),
            number(height),
            id = it.id
        ));
        svg.raw(&format!(
            "<title id=\"{}-title\">{}: {}</title>",
            it.id,
            escape(&it.job),
            escape(&format!("{}, {}", it.wall, it.facing))
        ));
        if !page {
            svg.raw(&format!("<style>{STYLE}</style>"));
        }
        svg.raw("<defs>");
        for (name, turn, step) in [("outdoor", 45, 7), ("exhaust", -45, 7), ("earth", 60, 5)] {
            svg.raw(&format!(
                "<pattern id=\"{}-{name}\" width=\"{step}\" height=\"{step}\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate({turn})\"><path d=\"M0 0V{step}\" class=\"stripe {name}\"/></pattern>",
                it.id
            ));
        }
        svg.raw(&format!("<clipPath id=\"{}-wall\">", it.id));
        svg.path(&[frame.contour(&it.outline)], true, "", "");
        svg.raw("</clipPath>");
        svg.raw("</defs>");
        svg.rectangle([0.0, 0.0, paper, height], "paper");
        if !page {
            svg.text(
                [SIDE, 30.0],
                "title",
                &cut(&capital(&it.wall), (WIDTH - 2.0 * SIDE) / 24.0),
            );
            svg.text(
                [SIDE, 49.0],
                "second",
                &cut(
                    &format!(
                        "{}, seen from outdoors. Points are centres of hoods.",
                        it.facing
                    ),
                    (WIDTH - 2.0 * SIDE) / SMALL,
                ),
            );
        }
        let Frame { left, base, scale } = frame;
        let more = format!(
            "class=\"frame\" data-scale=\"{scale}\" data-left=\"{left}\" data-base=\"{base}\" transform=\"translate(0 {})\"",
            number(down)
        );
        svg.open("g", &more);
        svg.raw(back.finish().trim_end());
        svg.raw(leads.finish().trim_end());
        svg.raw(front.finish().trim_end());
        svg.close("g");
        svg.close("svg");
        Drawing {
            svg: svg.finish(),
            labels,
            leaders,
        }
    }
}

/// Bar of the scale, name and facing of the wall, name of the job.
fn title_block(it: &Elevation, frame: Frame, front: &mut Svg, base: f64) {
    let row = |svg: &mut Svg, system: System, y: f64| {
        let (unit, name) = match system {
            System::Ip => (0.3048, "ft"),
            System::Si => (1.0, "m"),
        };
        let steps: &[f64] = &[0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0];
        let step = steps
            .iter()
            .copied()
            .filter(|step| step * unit * frame.scale <= 100.0)
            .fold(0.5, f64::max);
        let long = step * unit * frame.scale;
        let x = WIDTH - SIDE - 150.0;
        svg.line([x, y], [x + long, y], "bar");
        svg.line([x, y - 4.0], [x, y + 4.0], "fine");
        svg.line([x + long, y - 4.0], [x + long, y + 4.0], "fine");
        svg.line([x + long / 2.0, y - 2.5], [x + long / 2.0, y + 2.5], "fine");
        svg.text(
            [x + long + 8.0, y + 4.0],
            "second",
            &format!("{step} {name}"),
        );
    };
    let block = [SIDE, base, WIDTH - 2.0 * SIDE, 62.0];
    front.rectangle(block, "block");
    let split = WIDTH - SIDE - 166.0;
    front.line([split, base], [split, base + 62.0], "fine");
    let room = (split - SIDE - 20.0) / LABEL;
    front.text(
        [SIDE + 10.0, base + 21.0],
        "label strong",
        &cut(&capital(&it.wall), room),
    );
    let room = (split - SIDE - 20.0) / SMALL;
    front.text(
        [SIDE + 10.0, base + 38.0],
        "second",
        &cut(&format!("{}, seen from outdoors", it.facing), room),
    );
    front.text([SIDE + 10.0, base + 54.0], "second", &cut(&it.job, room));
    row(front, it.system, base + 20.0);
    row(front, it.system.other(), base + 44.0);
}

/// Opens what is taken hold of, with as much around it as a finger hits.
fn take_hold(svg: &mut Svg, grip: &Grip, rect: Box4) {
    let [[from, low], [to, high]] = grip.range;
    let class = if grip.chosen { "grip chosen" } else { "grip" };
    let current = if grip.chosen {
        " aria-current=\"true\""
    } else {
        ""
    };
    svg.open(
        "a",
        &format!(
            "class=\"{class}\" href=\"{}\" data-what=\"{}\" data-at=\"{} {}\" data-range=\"{from} {low} {to} {high}\" aria-label=\"{}\"{current}",
            escape(&grip.address),
            escape(&grip.what),
            grip.at[0],
            grip.at[1],
            escape(&grip.words)
        ),
    );
    let [wide, high] = [rect.width().max(FINGER), rect.height().max(FINGER)];
    let hit = Box4::around(rect.centre(), wide, high);
    svg.rectangle([hit.left, hit.upper, hit.width(), hit.height()], "hit");
    if grip.chosen {
        let halo = rect.grown(7.0);
        svg.rectangle([halo.left, halo.upper, halo.width(), halo.height()], "halo");
    }
}

/// What rules that are shown only ask, and for which air; once where it is the same for both.
fn shown_only<'r>(reaches: impl Iterator<Item = &'r Reach>) -> Vec<(&'static str, &'r Reach)> {
    let mut list: Vec<(&'static str, &Reach)> = Vec::new();
    for reach in reaches.filter(|reach| !reach.decides) {
        match list
            .iter_mut()
            .find(|(_, known)| known.asked == reach.asked)
        {
            Some((who, known)) if known.air != reach.air => *who = "either",
            Some(_) => {}
            None => list.push((reach.air.word(), reach)),
        }
    }
    list
}

fn name_of(grip: Option<&Grip>) -> Of {
    Of::Name(grip.map(|grip| grip.what.clone()))
}

/// The surface of the ground between two places of the sheet.
fn follow(frame: &Frame, it: &Elevation, left: f64, right: f64) -> Vec<[f64; 2]> {
    let along = |x: f64| (x - frame.left) / frame.scale;
    let (from, to) = (along(left), along(right));
    let mut line = vec![[from, it.ground(from)]];
    line.extend(
        it.grade
            .iter()
            .filter(|point| point[0] > from && point[0] < to),
    );
    line.push([to, it.ground(to)]);
    frame.contour(&line)
}

/// A wide thing in stretches, so that its label may stand at any of them.
fn stretches(rect: Box4) -> Vec<Box4> {
    let count = (rect.width() / 60.0).floor().clamp(1.0, 8.0) as usize;
    // Leaders keep off the ends, where other lines may stand.
    let inset = if count > 1 { 14.0 } else { 0.0 };
    let part = (rect.width() - 2.0 * inset) / count as f64;
    (0..count)
        .map(|index| Box4 {
            left: rect.left + inset + part * index as f64,
            right: rect.left + inset + part * (index + 1) as f64,
            ..rect
        })
        .collect()
}

/// Ink and paper. The four airs have the colours of EN 16798-3, darkened to read on paper and
/// lightened to read in the dark.
pub const STYLE: &str = "\
.elevation{--paper:#fdfcf8;--ink:#16243a;--quiet:#5d6878;--rule:#8d96a3;--outdoor:#1f7a45;--exhaust:#8a5420;\
--cover:#fdfcf8;font-family:'Lungwort Sans',system-ui,-apple-system,'Segoe UI',Roboto,'Noto Sans',Arial,sans-serif;\
font-variant-numeric:tabular-nums;background:var(--paper)}\
@media screen and (prefers-color-scheme:dark){.elevation{--paper:#10151d;--ink:#e8ecf2;--quiet:#a2adbb;--rule:#727d8c;\
--outdoor:#6fd09a;--exhaust:#dda56a;--cover:#10151d}}\
.elevation path:not(.hatch),.elevation circle,.elevation rect:not(.swatch){fill:none}\
.elevation text{fill:var(--ink);font-size:12px}\
.elevation .title{font-size:24px;font-weight:600}\
.elevation .label{font-size:14.5px}.elevation .second,.elevation .quiet{font-size:12px}\
.elevation .note{font-size:13px}.elevation .second{fill:var(--ink)}.elevation .quiet{fill:var(--quiet)}\
.elevation .strong{font-weight:600}\
.elevation text.outdoor,.elevation tspan.outdoor{fill:var(--outdoor)}\
.elevation text.exhaust,.elevation tspan.exhaust{fill:var(--exhaust)}\
.elevation rect.paper{fill:var(--paper)}.elevation path.cover{fill:var(--cover)}\
.elevation .stripe{stroke:var(--rule);stroke-width:1.1}\
.elevation .stripe.outdoor{stroke:var(--outdoor);stroke-width:1.1;opacity:.5;stroke-dasharray:none}\
.elevation .stripe.exhaust{stroke:var(--exhaust);stroke-width:1.1;opacity:.5}\
.elevation .stripe.earth{stroke:var(--ink);stroke-width:1.4}\
.elevation .swatch,.elevation .clean{stroke:var(--rule);stroke-width:.8}\
.elevation .wall{stroke:var(--ink);stroke-width:3.2;stroke-linejoin:miter}\
.elevation .ground{stroke:var(--ink);stroke-width:2.4}\
.elevation .snow{stroke:var(--ink);stroke-width:1.1;stroke-dasharray:1 3.5;stroke-linecap:round}\
.elevation .thing{stroke:var(--ink);stroke-width:1.3}.elevation rect.thing,.elevation circle.thing{fill:var(--paper)}\
.elevation path.pavement{fill:var(--rule);stroke:var(--ink);stroke-width:.7}\
.elevation .fine,.elevation .block{stroke:var(--ink);stroke-width:.7}\
.elevation .swing{stroke:var(--quiet);stroke-width:.6;stroke-dasharray:3 2}\
.elevation .boundary{stroke:var(--ink);stroke-width:1.3;stroke-dasharray:12 3 2 3}\
.elevation .reach{stroke-width:1.1}\
.elevation .reach.shown{stroke:var(--quiet);stroke-width:.8;stroke-dasharray:2 5}\
.elevation text.shown,.elevation tspan.shown{fill:var(--quiet)}\
.elevation .reach.outdoor{stroke:var(--outdoor);stroke-dasharray:9 3}\
.elevation .reach.exhaust{stroke:var(--exhaust);stroke-dasharray:6 2.5 1.5 2.5}\
.elevation .mark.chosen.outdoor{fill:var(--outdoor)}.elevation .mark.chosen.exhaust{fill:var(--exhaust)}\
.elevation .mark.proposed{fill:var(--paper)}\
.elevation .mark{stroke-width:1.8}.elevation .mark.outdoor{stroke:var(--outdoor)}.elevation .mark.exhaust{stroke:var(--exhaust)}\
.elevation .cross{stroke:var(--ink);stroke-width:.8}\
.elevation .extension{stroke:var(--quiet);stroke-width:.6}\
.elevation .dimension{stroke:var(--ink);stroke-width:.8}.elevation .tick{stroke:var(--ink);stroke-width:1.3}\
.elevation .dimension.outdoor,.elevation .span.outdoor{stroke:var(--outdoor)}\
.elevation .dimension.exhaust,.elevation .span.exhaust{stroke:var(--exhaust)}\
.elevation .span{stroke-width:1.1}\
.elevation .leader{stroke:var(--quiet);stroke-width:.7}.elevation circle.dot{fill:var(--quiet)}\
.elevation .bar{stroke:var(--ink);stroke-width:2.4}";
