//! Draws what the layout has placed.

use super::layout::{Layout, Point, Route, Stub, TrunkLine};
use super::{EndKind, Figure, Format, Section, Sign, SignKind, Stream};
use crate::elevation::Drawing;
use crate::labels::{Box4, Placed, Sheet, Wish};
use crate::svg::{Svg, escape, number};
use crate::text::{cut, width, wrap};
use units::text::capital;

/// Sizes of letters against the usual one. On a phone no letter is much smaller than the usual one.
const LARGE: f64 = 1.14;
const SMALL: f64 = 0.86;
const SMALL_ON_PHONE: f64 = 0.97;
/// Distance of lines of a label, by its size.
const LEADING: f64 = 1.2;

/// A line of a label: pieces with class and size.
#[derive(Debug, Clone)]
struct Line(Vec<(String, &'static str, f64)>);

impl Line {
    fn new(text: impl Into<String>, class: &'static str, size: f64) -> Self {
        Self(vec![(text.into(), class, size)])
    }

    fn and(mut self, text: impl Into<String>, class: &'static str, size: f64) -> Self {
        let text = text.into();
        if !text.is_empty() {
            self.0.push((text, class, size));
        }
        self
    }

    /// Width in letters.
    fn width(&self) -> f64 {
        self.0
            .iter()
            .map(|(text, class, size)| {
                let weight = if class.contains("strong") { 1.13 } else { 1.0 };
                size * (weight * width(text) + 0.35)
            })
            .sum()
    }

    fn size(&self) -> f64 {
        self.0.iter().map(|piece| piece.2).fold(0.0, f64::max)
    }
}

/// A label: what it says, and under which key it is known.
#[derive(Debug, Clone)]
struct Words {
    /// A key that no other label has, and that stays from one operating case to the next.
    key: String,
    /// It is a figure that can be explained.
    figure: bool,
    lines: Vec<Line>,
}

impl Words {
    fn new(key: impl Into<String>, lines: Vec<Line>) -> Self {
        Self {
            key: key.into(),
            figure: false,
            lines,
        }
    }

    fn figure(key: impl Into<String>, lines: Vec<Line>) -> Self {
        Self {
            figure: true,
            ..Self::new(key, lines)
        }
    }
}

/// Where a figure is explained, by its key.
type Why<'a> = Option<&'a dyn Fn(&str) -> String>;

struct Pen<'a> {
    it: &'a Section,
    /// A word that no other drawing of a page has.
    id: String,
    why: Why<'a>,
    lay: Layout,
    narrow: bool,
    sheet: Sheet,
    back: Svg,
    leads: Svg,
    front: Svg,
    labels: Vec<Box4>,
    leaders: Vec<[Point; 2]>,
    wishes: Vec<(Wish, Words)>,
    /// Labels of lesser things: lines, places, target, weight.
    waiting: Vec<(Words, Vec<Point>, Box4, f64)>,
}

/// Draws a sheet.
pub fn draw(it: &Section, format: Format, why: Why<'_>) -> Drawing {
    let lay = Layout::new(it, format);
    let sheet = Sheet::new(
        3.0,
        lay.width - 3.0,
        lay.lower.max(lay.grade) + 1.0 * lay.em,
    );
    let narrow = format == Format::Narrow;
    // A page holds both formats, so each has names of its own.
    let id = match (why.is_some(), narrow) {
        (false, _) => it.id.clone(),
        (true, true) => format!("{}-narrow", it.id),
        (true, false) => format!("{}-wide", it.id),
    };
    let mut pen = Pen {
        it,
        id,
        why,
        narrow,
        sheet,
        lay,
        back: Svg::default(),
        leads: Svg::default(),
        front: Svg::default(),
        labels: Vec::new(),
        leaders: Vec::new(),
        wishes: Vec::new(),
        waiting: Vec::new(),
    };
    pen.house();
    pen.existing();
    pen.reserve();
    for stream in Stream::ALL {
        pen.duct(stream);
    }
    pen.short_circuit();
    for stream in [Stream::Supply, Stream::Extract] {
        pen.damper(stream);
    }
    pen.unit();
    pen.name_things();
    pen.name_zones();
    pen.place_labels();
    pen.signs();
    pen.finish()
}

fn between([x, y]: Point, [to_x, to_y]: Point, share: f64) -> Point {
    [x + share * (to_x - x), y + share * (to_y - y)]
}

fn distance([x, y]: Point, [to_x, to_y]: Point) -> f64 {
    (to_x - x).hypot(to_y - y)
}

/// Direction from one point to another.
fn direction(from: Point, to: Point) -> Point {
    let long = distance(from, to).max(1e-9);
    [(to[0] - from[0]) / long, (to[1] - from[1]) / long]
}

impl Pen<'_> {
    fn e(&self) -> f64 {
        self.lay.em
    }

    /// The size of lesser words.
    fn small(&self) -> f64 {
        if self.narrow { SMALL_ON_PHONE } else { SMALL }
    }

    /// Walls, floors, roof and ground.
    fn house(&mut self) {
        let e = self.e();
        let lay = self.lay.clone();
        self.earth(&lay);
        self.back
            .path(std::slice::from_ref(&lay.roof), false, "cut", "");
        self.lines(&lay.roof);
        for shed in &lay.shed {
            self.back.path(std::slice::from_ref(shed), false, "cut", "");
            self.lines(shed);
        }
        for [from, to] in &lay.partitions {
            self.back.line(*from, *to, "partition");
            self.sheet.line(*from, *to);
        }
        for [from, to] in &lay.floors {
            self.back.line(*from, *to, "cut");
            self.sheet.line(*from, *to);
        }
        for body in &lay.bodies {
            let corners = [
                [body.left, body.upper],
                [body.right, body.upper],
                [body.right, body.lower],
                [body.left, body.lower],
            ];
            self.back.path(&[corners.to_vec()], true, "cut", "");
            let mut closed = corners.to_vec();
            closed.push(corners[0]);
            self.lines(&closed);
        }
        if let Some([x, y]) = lay.break_at {
            let half = 0.7 * e;
            self.back
                .rectangle([x - half, y - half, 2.0 * half, 2.0 * half], "paper");
            let zigzag = vec![
                [x, y - half],
                [x - 0.5 * half, y - 0.2 * half],
                [x + 0.5 * half, y + 0.2 * half],
                [x, y + half],
            ];
            self.back.path(&[zigzag], false, "wire", "");
            self.sheet
                .thing(Box4::around([x, y], 1.2 * half, 2.0 * half));
        }
    }

    /// The ground beside the house, and a strip of earth around what stands in it.
    fn earth(&mut self, lay: &Layout) {
        let deep = 0.8 * self.e();
        let mut bodies = lay.bodies.clone();
        bodies.sort_by(|one, other| one.left.total_cmp(&other.left));
        let foot = |body: &Box4| body.lower.max(lay.grade);
        let left = bodies.first().map_or(0.0, |body| body.left);
        let right = bodies.last().map_or(lay.width, |body| body.right);
        let mut strips: Vec<[f64; 4]> = vec![
            [0.0, lay.grade, left, lay.grade + deep],
            [right, lay.grade, lay.width, lay.grade + deep],
        ];
        let mut before = lay.grade;
        for body in &bodies {
            let here = foot(body);
            strips.push([body.left, here, body.right, here + deep]);
            // The step down to this body, or up from the one before it.
            if here > before {
                strips.push([body.left - deep, before + deep, body.left, here + deep]);
            } else if before > here {
                strips.push([body.left, here + deep, body.left + deep, before + deep]);
            }
            before = here;
        }
        if before > lay.grade {
            strips.push([right, lay.grade + deep, right + deep, before + deep]);
        }
        for [left, upper, right, lower] in strips {
            let more = format!("fill=\"url(#{}-earth)\"", self.id);
            let corners = vec![[left, upper], [right, upper], [right, lower], [left, lower]];
            self.back.path(&[corners], true, "earth", &more);
            self.sheet.thing(Box4 {
                left,
                upper: upper - 1.0,
                right,
                lower,
            });
        }
        for (from, to) in [(0.0, left), (right, lay.width)] {
            self.back.line([from, lay.grade], [to, lay.grade], "ground");
        }
        for body in &bodies {
            if body.lower < lay.grade - 1.0 {
                // The floor lies above the ground.
                self.back
                    .line([body.left, lay.grade], [body.right, lay.grade], "ground");
                for x in [body.left, body.right] {
                    self.back.line([x, body.lower], [x, lay.grade], "cut");
                    self.sheet.line([x, body.lower], [x, lay.grade]);
                }
            }
        }
    }

    /// Lines that no text may touch.
    fn lines(&mut self, points: &[Point]) {
        for pair in points.windows(2) {
            self.sheet.line(pair[0], pair[1]);
        }
    }

    /// A box that no text may touch.
    fn thing(&mut self, from: Point, to: Point, half: f64) {
        self.sheet.thing(Box4 {
            left: from[0].min(to[0]) - half,
            upper: from[1].min(to[1]) - half,
            right: from[0].max(to[0]) + half,
            lower: from[1].max(to[1]) + half,
        });
    }

    /// An arrow around a point; its length tells the velocity.
    fn arrow(&mut self, key: &str, at: Point, toward: Point, [long, thick]: [f64; 2], class: &str) {
        let [x, y] = at;
        let [along, up] = toward;
        let tip = [x + along * long / 2.0, y + up * long / 2.0];
        let tail = [x - along * long / 2.0, y - up * long / 2.0];
        let head = (1.6 * thick).min(0.6 * long);
        let neck = [tip[0] - along * head, tip[1] - up * head];
        let wing = |side: f64| {
            [
                neck[0] - side * up * thick * 0.75,
                neck[1] + side * along * thick * 0.75,
            ]
        };
        self.back.path(
            &[vec![tail, neck]],
            false,
            &format!("shaft {class}"),
            &format!(
                "stroke-width=\"{}\" id=\"{}-shaft-{key}\"",
                number((0.5 * thick).max(1.6)),
                self.id
            ),
        );
        self.back.path(
            &[vec![tip, wing(1.0), wing(-1.0)]],
            true,
            &format!("head {class}"),
            &format!("id=\"{}-head-{key}\"", self.id),
        );
    }

    /// Length of an arrow on a stretch of this length; none if the air stands still there.
    fn arrow_length(&self, velocity: f64, stretch: f64) -> Option<f64> {
        let e = self.e();
        let speed = if velocity.is_finite() {
            velocity.abs()
        } else {
            0.0
        };
        if speed < 0.01 {
            return None;
        }
        let long = ((0.9 + 0.62 * speed) * e)
            .min(5.5 * e)
            .min(stretch - 0.3 * e);
        (long > 0.7 * e).then_some(long)
    }

    /// The air handler with its trunks.
    fn existing(&mut self) {
        let e = self.e();
        let (Some(handler), Some(box_), Some(trunks)) =
            (&self.it.handler, self.lay.handler, self.lay.trunks)
        else {
            return;
        };
        let stubs = self.lay.stubs.clone();
        for (index, trunk) in trunks.iter().enumerate() {
            let supply = index == 1;
            let own: Vec<Stub> = stubs
                .iter()
                .copied()
                .filter(|stub| stub.supply == supply)
                .collect();
            self.trunk(trunk, &own);
            for (place, stub) in own.iter().enumerate() {
                self.register(&format!("register-{index}-{place}"), stub, handler.runs);
            }
            let speeds = handler.trunks[index].velocities;
            let toward = if supply { [1.0, 0.0] } else { [-1.0, 0.0] };
            let mut marks = vec![box_.right];
            marks.extend(trunk.taps.into_iter().flatten());
            marks.push(trunk.to);
            let stretches = marks.len() - 1;
            for place in 0..stretches {
                let speed = match place {
                    0 => speeds[0],
                    place if place + 1 == stretches => speeds[2],
                    _ => speeds[1],
                };
                let (from, to) = self.clear_stretch(trunk, [marks[place], marks[place + 1]]);
                let looped =
                    !self.it.short_circuit.is_empty() && place + 1 < stretches && place > 0;
                let room = to - from - 1.0 * e;
                if let (Some(long), false) = (self.arrow_length(speed, room), looped) {
                    let toward = if speed < 0.0 {
                        [-toward[0], 0.0]
                    } else {
                        toward
                    };
                    let at = [(from + to) / 2.0, trunk.y];
                    let key = format!("trunk-{index}-{place}");
                    self.arrow(&key, at, toward, [long, 0.42 * e], "plain");
                }
            }
        }
        self.handler_box(box_, trunks);
    }

    /// The longest part of a stretch of a trunk that nothing passes in front of.
    fn clear_stretch(&self, trunk: &TrunkLine, [from, to]: [f64; 2]) -> (f64, f64) {
        let mut cuts = vec![from, to];
        let mut note = |one: Point, other: Point| {
            let (upper, lower) = (one[1].min(other[1]), one[1].max(other[1]));
            let upright = (one[0] - other[0]).abs() < 0.1;
            if upright && upper < trunk.y && lower > trunk.y && one[0] > from && one[0] < to {
                cuts.push(one[0]);
            }
        };
        for stub in &self.lay.stubs {
            note(stub.line[0], stub.line[1]);
        }
        for route in &self.lay.routes {
            for line in &route.lines {
                for pair in line.windows(2) {
                    note(pair[0], pair[1]);
                }
            }
        }
        cuts.sort_by(f64::total_cmp);
        cuts.windows(2)
            .map(|pair| (pair[0], pair[1]))
            .max_by(|one, other| (one.1 - one.0).total_cmp(&(other.1 - other.0)))
            .unwrap_or((from, to))
    }

    fn trunk(&mut self, trunk: &TrunkLine, stubs: &[Stub]) {
        let e = self.e();
        let line = vec![[trunk.from.min(trunk.to), trunk.y], [trunk.to, trunk.y]];
        let thin = 0.84 * e;
        for (class, less) in [("old edge", 0.0), ("old fill", 2.0)] {
            for stub in stubs {
                let [from, to] = stub.line;
                let back = direction(to, from);
                let from = [from[0] + back[0] * 0.1 * e, from[1] + back[1] * 0.3 * e];
                let more = format!("stroke-width=\"{}\"", number(thin - less));
                self.back.path(&[vec![from, to]], false, class, &more);
            }
            let more = format!("stroke-width=\"{}\"", number(2.0 * trunk.half - less));
            let mut line = line.clone();
            if less > 0.0 {
                line[0][0] += 1.0;
                line[1][0] -= 1.0;
            }
            self.back.path(&[line], false, class, &more);
        }
        for stub in stubs {
            // The mouth of the branch stays open.
            let [from, to] = stub.line;
            let back = direction(to, from);
            let inner = [from[0] + back[0] * 0.1 * e, from[1] + back[1] * 0.3 * e];
            let more = format!("stroke-width=\"{}\"", number(thin - 2.0));
            self.back.path(&[vec![inner, to]], false, "old fill", &more);
            self.thing(from, to, thin / 2.0);
        }
        self.thing(line[0], line[1], trunk.half);
    }

    /// The register or grille at the end of a branch, with its air.
    fn register(&mut self, key: &str, stub: &Stub, runs: bool) {
        let e = self.e();
        let [from, to] = stub.line;
        let [along, up] = direction(from, to);
        let (long, thin) = (1.5 * e, 0.4 * e);
        let (wide, high) = if stub.side {
            (thin, long)
        } else {
            (long, thin)
        };
        self.back.rectangle(
            [to[0] - wide / 2.0, to[1] - high / 2.0, wide, high],
            "grille",
        );
        let mut reach = 0.4 * e;
        if runs && !(stub.side && self.narrow) {
            reach = 1.9 * e;
            let at = [to[0] + along * 1.15 * e, to[1] + up * 1.15 * e];
            let toward = if stub.supply {
                [along, up]
            } else {
                [-along, -up]
            };
            self.arrow(key, at, toward, [1.2 * e, 0.36 * e], "plain");
        }
        let tip = [to[0] + along * reach, to[1] + up * reach];
        self.thing(to, tip, long / 2.0 + 1.0);
    }

    fn handler_box(&mut self, rect: Box4, trunks: [TrunkLine; 2]) {
        let e = self.e();
        let svg = &mut self.back;
        svg.rectangle(
            [rect.left, rect.upper, rect.width(), rect.height()],
            "machine",
        );
        let [x, y] = rect.centre();
        // Two plenums, the blower in the wall between them.
        for side in [-1.0, 1.0] {
            svg.line(
                [x + side * 1.15 * e, y],
                [if side < 0.0 { rect.left } else { rect.right }, y],
                "fine",
            );
        }
        // Filter where the return comes in.
        let [back, _] = trunks;
        let filter = Box4 {
            left: rect.right - 1.5 * e,
            upper: (back.y - back.half - 0.2 * e).max(rect.upper + 0.3 * e),
            right: rect.right - 0.8 * e,
            lower: back.y + back.half + 0.2 * e,
        };
        self.filter(filter);
        self.wheel([x, y], 1.0 * e);
        let svg = &mut self.back;
        // Heat exchanger after the blower.
        let top = y + 1.3 * e;
        let mut coil = vec![[rect.left + 0.9 * e, top]];
        for step in 1..=6 {
            let share = f64::from(step) / 6.0;
            coil.push([
                rect.left + 0.9 * e + share * (rect.width() - 2.4 * e),
                top + if step % 2 == 1 { 0.65 * e } else { 0.0 },
            ]);
        }
        svg.path(&[coil], false, "fine", "");
        self.sheet.thing(rect);
    }

    /// A filter: a frame with its pleats.
    fn filter(&mut self, rect: Box4) {
        let svg = &mut self.back;
        svg.rectangle([rect.left, rect.upper, rect.width(), rect.height()], "part");
        let count = (rect.height() / rect.width().max(1.0))
            .ceil()
            .clamp(3.0, 12.0) as usize;
        let pleats: Vec<Point> = (0..=count)
            .map(|step| {
                let y = rect.upper + rect.height() * step as f64 / count as f64;
                [if step % 2 == 0 { rect.left } else { rect.right }, y]
            })
            .collect();
        svg.path(&[pleats], false, "fine", "");
    }

    /// A fan wheel with its blades.
    fn wheel(&mut self, [x, y]: Point, radius: f64) {
        let svg = &mut self.back;
        svg.circle([x, y], radius, "part");
        svg.circle([x, y], 0.3 * radius, "fine");
        let mut blades = Vec::new();
        for step in 0..7 {
            let angle = std::f64::consts::TAU * f64::from(step) / 7.0;
            let point = |share: f64, turn: f64| {
                [
                    x + share * radius * (angle + turn).cos(),
                    y + share * radius * (angle + turn).sin(),
                ]
            };
            blades.push(vec![point(0.38, 0.0), point(0.62, 0.22), point(0.88, 0.3)]);
        }
        svg.path(&blades, false, "fine", "");
    }

    fn size_of(&self, stream: Stream) -> f64 {
        let size = self.it.ducts[stream as usize].size;
        let size = if size.is_finite() { size } else { 0.0 };
        (size * self.lay.scale).max(0.3 * self.e())
    }

    /// Keeps texts off the unit and the hoods, which are drawn over the ducts.
    fn reserve(&mut self) {
        self.sheet.thing(self.lay.unit);
        for hood in self.lay.hoods.clone() {
            self.sheet.thing(hood);
        }
    }

    /// A duct of the ventilator with its damper, its air and its ends.
    fn duct(&mut self, stream: Stream) {
        let e = self.e();
        let route: Route = self.lay.routes[stream as usize].clone();
        let it = &self.it.ducts[stream as usize];
        let class = stream.class();
        let size = self.size_of(stream);
        self.back
            .open("g", &format!("class=\"duct {class}\" data-air=\"{class}\""));
        for (name, wide) in [("halo", size + 5.0), ("edge", size), ("fill", size - 3.4)] {
            let more = format!("stroke-width=\"{}\"", number(wide.max(1.0)));
            self.back
                .path(&route.lines, false, &format!("{name} {class}"), &more);
        }
        if it.flexible {
            // Turns of the wire: hairlines across the duct.
            let more = format!("stroke-width=\"{}\"", number((size - 3.4).max(1.0)));
            self.back
                .path(&route.lines, false, &format!("helix {class}"), &more);
        }
        self.back
            .path(&route.lines, false, &format!("air {class}"), "");
        for line in &route.lines {
            for pair in line.windows(2) {
                self.thing(pair[0], pair[1], size / 2.0);
            }
        }
        if it.velocity < 0.0 && !it.wrong.is_empty() {
            let backward = route.lines.iter().map(|line| {
                let mut line = line.clone();
                line.reverse();
                line
            });
            self.chevrons(&backward.collect::<Vec<_>>(), 0.62 * size, "backward");
        }
        // Arrows on the longest stretch of each line, one stretch only once.
        let mut done: Vec<Point> = Vec::new();
        for (index, line) in route.lines.iter().enumerate() {
            for (place, (from, to)) in self.arrow_places(line, &route).into_iter().enumerate() {
                let at = between(from, to, 0.5);
                if done.iter().any(|other| distance(*other, at) < 2.5 * e) {
                    continue;
                }
                if let Some(long) = self.arrow_length(it.velocity, distance(from, to) - 0.4 * e) {
                    let toward = if it.velocity < 0.0 {
                        direction(to, from)
                    } else {
                        direction(from, to)
                    };
                    let thick = (0.62 * size).clamp(0.3 * e, 0.62 * e);
                    let key = format!("{class}-{index}-{place}");
                    self.arrow(&key, at, toward, [long, thick], class);
                    done.push(at);
                }
            }
        }
        self.ends(stream, &route, size);
        self.back.close("g");
    }

    /// The longest stretch of a line; of equally long ones the first.
    fn arrow_places(&self, line: &[Point], route: &Route) -> Vec<(Point, Point)> {
        let mut stretches: Vec<(Point, Point)> =
            line.windows(2).map(|pair| (pair[0], pair[1])).collect();
        stretches
            .sort_by(|one, other| distance(other.0, other.1).total_cmp(&distance(one.0, one.1)));
        stretches.truncate(if route.lines.len() > 1 { 2 } else { 1 });
        stretches
    }

    /// Where the damper of a duct sits, along which way its air goes there, and to which side its
    /// lever turns: on the first upright stretch where there is room, otherwise beside the unit.
    fn damper_at(&self, stream: Stream) -> [Point; 3] {
        let e = self.e();
        let route = &self.lay.routes[stream as usize];
        let mut line = route.lines.first().cloned().unwrap_or_default();
        if stream == Stream::Extract {
            line.reverse();
        }
        if let [_, corner, next, ..] = line.as_slice()
            && distance(*corner, *next) > LEVER * e + 3.0 * e
        {
            let along = direction(*corner, *next);
            let at = [corner[0], corner[1] + along[1] * 1.5 * e];
            return [at, along, [1.0, 0.0]];
        }
        let [x, y] = route.port;
        let side = if y < self.lay.unit.centre()[1] {
            -1.0
        } else {
            1.0
        };
        [[x + 1.0 * e, y], [1.0, 0.0], [0.0, side]]
    }

    /// A damper: its blade in the duct, and the lever that turns it on its quadrant.
    fn damper(&mut self, stream: Stream) {
        let e = self.e();
        let Some(angle) = self.it.ducts[stream as usize].damper else {
            return;
        };
        let size = self.size_of(stream);
        let [at, along, side] = self.damper_at(stream);
        let angle = if angle.is_finite() {
            angle.clamp(0.0, 90.0)
        } else {
            0.0
        };
        let point = |far: f64, turned: f64| {
            let (sine, cosine) = turned.to_radians().sin_cos();
            [0, 1].map(|axis| at[axis] + far * (cosine * along[axis] + sine * side[axis]))
        };
        // Clockwise as the sheet is seen, or the other way.
        let sense = along[0] * side[1] - along[1] * side[0];
        let class = stream.class();
        let long = LEVER * e;
        let numbers = |[x, y]: Point| format!("{} {}", number(x), number(y));
        self.back.open(
            "g",
            &format!(
                "id=\"{}-lever-{class}\" class=\"lever\" data-damper=\"{class}\" data-angle=\"{}\" data-pivot=\"{}\" data-along=\"{}\" data-side=\"{}\"",
                self.id,
                number(angle),
                numbers(at),
                numbers(along),
                numbers(side)
            ),
        );
        let arc: Vec<Point> = (0..=18)
            .map(|step| point(long, 5.0 * f64::from(step)))
            .collect();
        let mut quadrant = vec![arc];
        for step in 0..=6 {
            let turned = 15.0 * f64::from(step);
            quadrant.push(vec![point(long - 0.28 * e, turned), point(long, turned)]);
        }
        self.back.path(&quadrant, false, "quadrant", "");
        self.back.open(
            "g",
            &format!(
                "id=\"{}-turns-{class}\" class=\"turns\" transform=\"rotate({} {})\"",
                self.id,
                number(sense * angle),
                numbers(at)
            ),
        );
        let half = size / 2.0 - 0.6;
        self.back.line(point(-half, 0.0), point(half, 0.0), "blade");
        self.back.line(at, point(long, 0.0), "handle");
        self.back.circle(point(long, 0.0), 0.42 * e, "knob");
        self.back.circle(point(0.6 * long, 0.0), TOUCH * e, "touch");
        self.back.close("g");
        self.back.circle(at, 1.6, "pivot");
        self.back.close("g");
        let (one, other) = (point(long, 0.0), point(long, 90.0));
        let box_ = Box4 {
            left: at[0].min(one[0]).min(other[0]) - 0.45 * e,
            upper: at[1].min(one[1]).min(other[1]) - 0.45 * e,
            right: at[0].max(one[0]).max(other[0]) + 0.45 * e,
            lower: at[1].max(one[1]).max(other[1]) + 0.45 * e,
        };
        self.sheet.thing(box_);
        let words = if angle < 0.5 {
            "damper open".to_owned()
        } else {
            format!("damper {angle:.0}°")
        };
        let words = if self.narrow {
            format!("{angle:.0}°")
        } else {
            words
        };
        let lines = vec![Line::new(words, "word", self.small())];
        let [wide, high] = self.lines_size(&lines);
        let middle = box_.centre()[1] - high / 2.0;
        let anchors = vec![
            [box_.right + 0.2 * e, middle],
            [box_.right + 0.2 * e, box_.upper],
            [at[0] + size / 2.0 + 0.3 * e, box_.lower + 0.2 * e],
            [box_.left, box_.upper - 0.2 * e - high],
            [box_.left, box_.lower + 0.2 * e],
            [box_.left - 0.8 * e - wide, middle],
        ];
        let words = Words::figure(format!("damper-{class}"), lines);
        self.waiting.push((words, anchors, box_, 2.0));
    }

    /// Hoods, taps and grilles at the far ends.
    fn ends(&mut self, stream: Stream, route: &Route, size: f64) {
        let e = self.e();
        let it = &self.it.ducts[stream as usize];
        let class = stream.class();
        if matches!(stream, Stream::Outdoor | Stream::Exhaust) {
            let y = route.ends.first().map_or(0.0, |end| end[1]);
            let hood = self
                .lay
                .hoods
                .iter()
                .copied()
                .find(|hood| y > hood.upper && y < hood.lower);
            if let Some(hood) = hood {
                if !self.it.one_hood || stream == Stream::Exhaust {
                    self.hood(hood);
                }
                // The air outside the hood.
                let stretch = if self.narrow && self.lay.on_both_sides() {
                    1.8
                } else {
                    4.5
                };
                if let Some(long) = self.arrow_length(it.velocity, stretch * e) {
                    let inward = (stream == Stream::Outdoor) == (it.velocity > 0.0);
                    let beyond = self.beyond(&hood);
                    let (side, edge) = if beyond {
                        (1.0, hood.right)
                    } else {
                        (-1.0, hood.left)
                    };
                    let at = [edge + side * (0.5 * e + long / 2.0), y];
                    let toward = [if inward { -side } else { side }, 0.0];
                    self.arrow(&format!("hood-{class}"), at, toward, [long, 0.5 * e], class);
                    self.thing([at[0] + side * long / 2.0, y], [edge, y], 0.5 * e);
                }
            }
            return;
        }
        for (place, (end, at)) in it.ends.iter().zip(&route.ends).enumerate() {
            let size_of_words = if self.narrow { SMALL_ON_PHONE } else { 1.0 };
            let mut lines = Vec::new();
            if self.narrow {
                for line in wrap(&end.name, 8.0).into_iter().take(3) {
                    lines.push(Line::new(cut(&line, 10.0), "word", size_of_words));
                }
            } else {
                lines.push(Line::new(self.cut(&end.name, 19.0), "word", size_of_words));
                for line in wrap(&end.detail, 22.0).into_iter().take(3) {
                    lines.push(Line::new(cut(&line, 22.0), "lesser", SMALL));
                }
            }
            if let Some(flow) = &end.flow {
                lines.extend(self.flow(flow, self.narrow));
            }
            let key = format!("end-{class}-{place}");
            let figure = end.flow.is_some();
            let words = |lines| Words {
                figure,
                ..Words::new(key.clone(), lines)
            };
            match end.kind {
                EndKind::Grille { .. } => {
                    let half = size / 2.0 + 0.35 * e;
                    let high = 0.5 * e;
                    self.back.rectangle(
                        [at[0] - half, at[1] - high / 2.0, 2.0 * half, high],
                        &format!("own {class}"),
                    );
                    let mut slats = Vec::new();
                    for step in 1..5 {
                        let x = at[0] - half + 2.0 * half * f64::from(step) / 5.0;
                        slats.push(vec![[x, at[1] - high / 2.0], [x, at[1] + high / 2.0]]);
                    }
                    self.back.path(&slats, false, "fine", "");
                    let mut reach = 0.4 * e;
                    if let Some(long) = self.arrow_length(it.velocity, 2.4 * e) {
                        let down = (stream == Stream::Supply) == (it.velocity > 0.0);
                        let middle = [at[0], at[1] + 0.5 * e + long / 2.0];
                        self.arrow(
                            &key,
                            middle,
                            [0.0, if down { 1.0 } else { -1.0 }],
                            [long, 0.45 * e],
                            class,
                        );
                        reach = 0.6 * e + long;
                    }
                    let target = Box4 {
                        left: at[0] - half,
                        upper: at[1] - high / 2.0,
                        right: at[0] + half,
                        lower: at[1] + reach,
                    };
                    self.sheet.thing(target);
                    let [wide, high] = self.lines_size(&lines);
                    let (left, right) = (target.left - 0.4 * e - wide, target.right + 0.4 * e);
                    let anchors = vec![
                        [right, target.upper],
                        [left, target.upper],
                        [at[0] - wide / 2.0, target.lower + 0.4 * e],
                        [right, target.upper + high],
                        [left, target.upper + high],
                    ];
                    self.waiting.push((words(lines), anchors, target, 1.5));
                }
                _ => {
                    let target = Box4::around([at[0], at[1]], size, 0.6 * e);
                    let [wide, high] = self.lines_size(&lines);
                    let (right, left) = (
                        at[0] + size / 2.0 + 0.4 * e,
                        at[0] - size / 2.0 - 0.4 * e - wide,
                    );
                    let on_top = at[1] - 0.4 * e - high;
                    let trunk = self.lay.trunks.and_then(|trunks| {
                        trunks
                            .into_iter()
                            .find(|trunk| (at[1] - trunk.y).abs() <= trunk.half + 1.0)
                    });
                    let under =
                        trunk.map_or(at[1] + 0.4 * e, |trunk| trunk.y + trunk.half + 0.4 * e);
                    let mut anchors = vec![
                        [right, on_top],
                        [left, on_top],
                        [at[0] - 1.0 * e, under],
                        [at[0] - wide + 1.0 * e, under],
                    ];
                    // Toward the air handler where another tap follows.
                    let follows = Stream::ALL
                        .iter()
                        .flat_map(|other| &self.lay.routes[*other as usize].ends)
                        .any(|other| (other[1] - at[1]).abs() < 1.0 && other[0] > at[0] + 1.0);
                    if follows {
                        anchors.swap(0, 1);
                        anchors.swap(2, 3);
                    }
                    self.waiting.push((words(lines), anchors, target, 1.0));
                }
            }
        }
    }

    /// Whether a hood sits on the right side of the house.
    fn beyond(&self, hood: &Box4) -> bool {
        self.lay.beyond(hood)
    }

    fn hood(&mut self, hood: Box4) {
        let (wall, front) = if self.beyond(&hood) {
            (hood.left, hood.right)
        } else {
            (hood.right, hood.left)
        };
        // Toward the wall.
        let deep = wall - front;
        let svg = &mut self.back;
        let shape = vec![
            [wall, hood.upper],
            [front + 0.35 * deep, hood.upper],
            [front, hood.upper + 0.35 * hood.width()],
            [front, hood.lower],
            [wall, hood.lower],
        ];
        svg.path(&[shape], true, "part", "");
        let count = (hood.height() / 5.0).floor().clamp(2.0, 9.0) as usize;
        let slats: Vec<Vec<Point>> = (1..count)
            .map(|step| {
                let y = hood.upper
                    + 0.35 * hood.width()
                    + (hood.height() - 0.35 * hood.width()) * step as f64 / count as f64;
                vec![[front, y], [front + 0.55 * deep, y]]
            })
            .collect();
        svg.path(&slats, false, "fine", "");
    }

    /// The ventilator: casing, core, filters, fans.
    fn unit(&mut self) {
        let e = self.e();
        let rect = self.lay.unit;
        self.back.rectangle(
            [rect.left, rect.upper, rect.width(), rect.height()],
            "machine",
        );
        let [x, y] = rect.centre();
        let half = 1.75 * e;
        let ports = [
            Stream::Outdoor,
            Stream::Supply,
            Stream::Extract,
            Stream::Exhaust,
        ]
        .map(|stream| self.lay.routes[stream as usize].port);
        // The streams through the core, each from its inlet to its outlet.
        for (inlet, outlet) in [
            (Stream::Outdoor, Stream::Supply),
            (Stream::Extract, Stream::Exhaust),
        ] {
            let (from, to) = (ports[inlet as usize], ports[outlet as usize]);
            let knee = |port: Point| {
                let side = if port[0] < x { -1.0 } else { 1.0 };
                [x + side * half, port[1]]
            };
            self.back.path(
                &[vec![from, knee(from), [x, y]]],
                false,
                &format!("air {}", inlet.class()),
                "",
            );
            self.back.path(
                &[vec![[x, y], knee(to), to]],
                false,
                &format!("air {}", outlet.class()),
                "",
            );
        }
        let core = vec![[x, y - half], [x + half, y], [x, y + half], [x - half, y]];
        self.back.path(&[core], true, "core", "");
        let mut plates = Vec::new();
        for step in 1..5 {
            let share = f64::from(step) / 5.0;
            plates.push(vec![
                between([x, y - half], [x + half, y], share),
                between([x - half, y], [x, y + half], share),
            ]);
            plates.push(vec![
                between([x, y - half], [x - half, y], share),
                between([x + half, y], [x, y + half], share),
            ]);
        }
        self.back.path(&plates, false, "plates", "");
        for stream in [Stream::Outdoor, Stream::Extract] {
            let port = ports[stream as usize];
            let side = if port[0] < x { 1.0 } else { -1.0 };
            self.filter(Box4::around(
                [port[0] + side * 0.7 * e, port[1]],
                0.6 * e,
                2.0 * e,
            ));
        }
        let fans = if self.it.unit.fans_after_core {
            [(Stream::Supply, 1.15), (Stream::Exhaust, 1.15)]
        } else {
            [(Stream::Outdoor, 2.1), (Stream::Extract, 2.1)]
        };
        for (stream, from_port) in fans {
            let port = ports[stream as usize];
            let side = if port[0] < x { 1.0 } else { -1.0 };
            self.wheel([port[0] + side * from_port * e, port[1]], 0.85 * e);
        }
    }

    /// Supply air that runs straight to the extract, drawn where it does.
    fn short_circuit(&mut self) {
        if self.it.short_circuit.is_empty() {
            return;
        }
        let e = self.e();
        let ends = |stream: Stream| self.lay.routes[stream as usize].ends.first().copied();
        let (Some(from), Some(to)) = (ends(Stream::Supply), ends(Stream::Extract)) else {
            return;
        };
        let on_trunk = |end: Point| {
            let trunks = self.lay.trunks?;
            trunks
                .into_iter()
                .find(|trunk| (end[1] - trunk.y).abs() <= trunk.half + 1.0)
                .map(|trunk| trunk.y)
        };
        let (one, other) = (on_trunk(from), on_trunk(to));
        let line = match (one, other) {
            (Some(one), Some(other)) if (one - other).abs() < 1.0 => {
                vec![[from[0], one], [to[0], one]]
            }
            (Some(one), Some(other)) => {
                // Through the air handler.
                let x = self.lay.handler.map_or(from[0], |rect| rect.left + 1.4 * e);
                vec![[from[0], one], [x, one], [x, other], [to[0], other]]
            }
            _ => vec![from, to],
        };
        // The whole way from the unit and back to it, without what an elbow adds.
        let mut way: Vec<Point> = Vec::new();
        let leg = |stream: Stream| self.lay.routes[stream as usize].lines.first().cloned();
        let (out, back) = (leg(Stream::Supply), leg(Stream::Extract));
        let upright = |[x, _]: &Point, end: Point| (x - end[0]).abs() < 1.0;
        if let Some(out) = &out {
            way.extend(
                out.iter()
                    .filter(|point| point[0] < from[0] - 1.0 || upright(point, from)),
            );
        }
        way.extend(&line);
        if let Some(back) = &back {
            way.extend(
                back.iter()
                    .filter(|point| point[0] < to[0] - 1.0 || upright(point, to)),
            );
        }
        let wide = 0.62 * self.size_of(Stream::Supply).min(1.2 * e);
        let more = format!("stroke-width=\"{}\"", number(wide));
        self.back
            .path(std::slice::from_ref(&way), false, "loop", &more);
        self.chevrons(&[way], 0.62 * wide, "onloop");
        for pair in line.windows(2) {
            self.thing(pair[0], pair[1], 0.5 * e);
        }
        let middle = between(line[0], line[1], 0.5);
        self.mark("loop", middle);
        let target = Box4::around(middle, 1.0 * e, 1.6 * e);
        let lines = if self.narrow && self.why.is_some() {
            // The page says it in full.
            self.sentence_in("Straight back out.", 5.6)
        } else {
            self.sentence(&self.it.short_circuit)
        };
        let [_, high] = self.lines_size(&lines);
        let half = self
            .lay
            .trunks
            .map_or(e, |trunks| trunks[0].half.max(trunks[1].half));
        let near = line[0][0].min(line[1][0]) + 0.6 * e;
        let beside = self.lay.handler.map_or(near, |rect| rect.right + 0.5 * e);
        let anchors: Vec<Point> = [near, beside]
            .into_iter()
            .flat_map(|left| {
                [
                    [left, middle[1] + half + 0.9 * e],
                    [left, middle[1] - half - 0.9 * e - high],
                ]
            })
            .collect();
        self.anchored(
            Words::figure("short-circuit", lines),
            &anchors,
            &[target],
            4.0,
        );
    }

    /// Chevrons along lines, in their direction: air on a way that it should not take.
    fn chevrons(&mut self, lines: &[Vec<Point>], half: f64, class: &str) {
        let step = 1.5 * self.e();
        let mut marks = Vec::new();
        for line in lines {
            for pair in line.windows(2) {
                let long = distance(pair[0], pair[1]);
                let [x, y] = direction(pair[0], pair[1]);
                let count = ((long - half) / step).floor().clamp(0.0, 200.0) as usize;
                for index in 0..count {
                    let share = (index as f64 + 0.5) / count as f64;
                    let [at_x, at_y] = between(pair[0], pair[1], share);
                    let (back_x, back_y) = (at_x - 0.6 * half * x, at_y - 0.6 * half * y);
                    marks.push(vec![
                        [back_x - half * y, back_y + half * x],
                        [at_x + 0.4 * half * x, at_y + 0.4 * half * y],
                        [back_x + half * y, back_y - half * x],
                    ]);
                }
            }
        }
        self.back.path(&marks, false, class, "");
    }

    /// The mark that something is wrong here.
    fn mark(&mut self, key: &str, [x, y]: Point) {
        let half = 0.95 * self.e();
        self.back.open(
            "g",
            &format!("id=\"{}-mark-{key}\" class=\"mark\"", self.id),
        );
        let corners = vec![
            [x, y - half],
            [x + half, y + 0.8 * half],
            [x - half, y + 0.8 * half],
        ];
        self.back.path(&[corners], true, "alarm", "");
        self.back
            .line([x, y - 0.42 * half], [x, y + 0.2 * half], "bang");
        self.back.circle([x, y + 0.52 * half], 0.13 * half, "point");
        self.back.close("g");
        self.sheet
            .thing(Box4::around([x, y], 2.2 * half, 2.2 * half));
    }

    /// Leaks, exhausts and appliances, each in its zone.
    ///
    /// They come last: a sign that finds no room for itself and its words is left out, and the page
    /// lists it.
    fn signs(&mut self) {
        const STEPS: usize = 28;
        let e = self.e();
        for [from, to] in self.leaders.clone() {
            self.sheet.line(from, to);
        }
        for sign in self.it.signs.clone() {
            let Some(room) = self.lay.rooms.get(sign.zone).copied() else {
                continue;
            };
            let lines = self.sign_words(&sign);
            let [wide, high] = self.lines_size(&lines);
            let outer = |x: f64| {
                self.lay
                    .bodies
                    .iter()
                    .any(|body| (body.right - x).abs() < 0.1)
            };
            let wall = sign.kind != SignKind::Appliance;
            if wall && !outer(room.right) {
                continue;
            }
            let (half, tall) = if wall {
                (1.5 * e, 0.8 * e)
            } else {
                (0.8 * e, 1.0 * e)
            };
            // Room that every text and thing keeps from the walls.
            let clear = 3.6;
            let mut found = None;
            for step in 0..=STEPS {
                let share = step as f64 / STEPS as f64;
                let at = if wall {
                    let (top, low) = (room.upper + 1.1 * e, room.lower - 1.1 * e);
                    // Air leaves high and comes in low.
                    let share = if sign.kind == SignKind::LeaksIn {
                        1.0 - share
                    } else {
                        share
                    };
                    [room.right - half - clear, top + share * (low - top)]
                } else {
                    let (left, right) = (room.left + 1.4 * e, room.right - 1.4 * e);
                    [left + share * (right - left), room.lower - tall - clear]
                };
                let own = Box4::around(at, 2.0 * half, 2.0 * tall);
                let words = [
                    [own.left - 0.3 * e - wide, at[1] - high / 2.0],
                    [own.right + 0.3 * e, at[1] - high / 2.0],
                    [own.right - wide, own.upper - 0.2 * e - high],
                    [own.left, own.upper - 0.2 * e - high],
                ];
                let rect = |[left, upper]: Point| Box4 {
                    left,
                    upper,
                    right: left + wide,
                    lower: upper + high,
                };
                let inside = |rect: &Box4| rect.left > room.left && rect.right < room.right;
                if own.upper < room.upper || !self.sheet.is_free(&own) {
                    continue;
                }
                let place = words.into_iter().map(rect);
                let mut place = place.filter(|rect| inside(rect) && self.sheet.is_free(rect));
                if let Some(rect) = place.next() {
                    found = Some((at, own, rect));
                    break;
                }
            }
            let Some((at, own, rect)) = found else {
                continue;
            };
            self.sheet.thing(own);
            self.sheet.label(rect);
            self.sign(&sign, at, room.right);
            let words = Words {
                figure: sign.flow.is_some(),
                ..Words::new(sign.key.clone(), lines)
            };
            self.write(rect, &words);
        }
    }

    fn sign_words(&self, sign: &Sign) -> Vec<Line> {
        let mut lines: Vec<Line> = wrap(&sign.name, 9.0)
            .into_iter()
            .take(2)
            .map(|line| Line::new(cut(&line, 10.0), "lesser", self.small()))
            .collect();
        if let Some(flow) = &sign.flow {
            let mut line = Line::new(flow.first.clone(), "word", self.small());
            if !self.narrow {
                line = line.and(flow.second.clone(), "lesser", 0.78);
            }
            lines.push(line);
        }
        lines
    }

    /// A fan that draws air out through the wall, an arrow through its cracks, or an appliance.
    fn sign(&mut self, sign: &Sign, [x, y]: Point, wall: f64) {
        let e = self.e();
        match sign.kind {
            SignKind::Appliance => {
                self.back
                    .rectangle([x - 0.75 * e, y - 0.95 * e, 1.5 * e, 1.9 * e], "machine");
                let flame = vec![
                    [x, y - 0.5 * e],
                    [x + 0.4 * e, y + 0.2 * e],
                    [x + 0.2 * e, y + 0.6 * e],
                    [x - 0.2 * e, y + 0.6 * e],
                    [x - 0.4 * e, y + 0.2 * e],
                ];
                self.back.path(&[flame], true, "fine", "");
            }
            SignKind::Fan => {
                self.wheel([x - 0.2 * e, y], 0.75 * e);
                let at = [wall - 0.1 * e, y];
                self.arrow(&sign.key, at, [1.0, 0.0], [1.7 * e, 0.4 * e], "plain");
            }
            SignKind::LeaksIn | SignKind::LeaksOut => {
                let toward = if sign.kind == SignKind::LeaksIn {
                    -1.0
                } else {
                    1.0
                };
                let at = [wall - 0.4 * e, y];
                self.arrow(&sign.key, at, [toward, 0.0], [2.0 * e, 0.34 * e], "plain");
                // The crack in the wall.
                let crack = vec![[wall, y - 0.55 * e], [wall, y + 0.55 * e]];
                self.back.path(&[crack], false, "crack", "");
            }
        }
    }

    fn sentence(&self, text: &str) -> Vec<Line> {
        self.sentence_in(text, if self.narrow { 10.6 } else { 15.0 })
    }

    fn sentence_in(&self, text: &str, limit: f64) -> Vec<Line> {
        wrap(text, limit)
            .into_iter()
            .map(|line| Line::new(line, "strong warn", 1.0))
            .collect()
    }

    fn cut(&self, text: &str, limit: f64) -> String {
        cut(text, if self.narrow { 0.62 * limit } else { limit })
    }

    fn lines_size(&self, lines: &[Line]) -> [f64; 2] {
        let e = self.e();
        let wide = lines.iter().map(Line::width).fold(0.0, f64::max) * e;
        let high: f64 = lines.iter().map(|line| line.size() * LEADING * e).sum();
        [wide, high]
    }

    /// Names of zones with their pressures, inside them where there is room.
    fn name_zones(&mut self) {
        const STEPS: usize = 26;
        let e = self.e();
        let [left, peak, right] = [self.lay.roof[0], self.lay.roof[1], self.lay.roof[2]];
        let under_roof = |[x, y]: Point| {
            let share = if x < peak[0] {
                (x - left[0]) / (peak[0] - left[0])
            } else {
                (right[0] - x) / (right[0] - peak[0])
            };
            let roof = left[1] + share * (peak[1] - left[1]);
            y > roof + 3.0
        };
        let mut order: Vec<usize> = (0..self.it.zones.len()).collect();
        order.sort_by(|one, other| {
            let wide = |index: usize| self.lay.rooms[index].width();
            wide(*one).total_cmp(&wide(*other))
        });
        for index in order {
            let zone = &self.it.zones[index];
            let room = self.lay.rooms[index];
            let limit = ((room.width() / e - 1.2) / 1.15).clamp(2.0, 16.0);
            // A word that would be cut stands outside as a whole.
            let slim = zone.name.split_whitespace().any(|word| width(word) > limit);
            let limit = if slim { 16.0 } else { limit };
            // As it is, or else a word on each line.
            let longest = zone.name.split_whitespace().map(width).fold(2.0, f64::max);
            let named: Vec<Vec<Line>> = [limit, longest.min(limit)]
                .map(|limit| self.zone_lines(zone, limit))
                .into();
            let figure = zone.pressure.is_some();
            let words = |lines| Words {
                figure,
                ..Words::new(format!("zone-{index}"), lines)
            };
            let mut best: Option<(f64, usize, Box4)> = None;
            for (way, lines) in named.iter().enumerate() {
                if best.is_some() {
                    break;
                }
                let [wide, high] = self.lines_size(lines);
                for row in 0..=STEPS {
                    for column in 0..=2 * STEPS {
                        let x = (room.width() - wide - 1.2 * e).max(0.0) * column as f64
                            / (2 * STEPS) as f64;
                        let y =
                            (room.height() - high - 1.0 * e).max(0.0) * row as f64 / STEPS as f64;
                        let rect = Box4 {
                            left: room.left + 0.6 * e + x,
                            upper: room.upper + 0.5 * e + y,
                            right: room.left + 0.6 * e + x + wide,
                            lower: room.upper + 0.5 * e + y + high,
                        };
                        let attic = room.lower <= 0.1;
                        let middle = (rect.centre()[0] - room.centre()[0]).abs();
                        let cost = if attic { y + middle } else { 3.0 * y + 0.4 * x };
                        if rect.right > room.right - 0.3 * e
                            || rect.lower > room.lower - 0.3 * e
                            || best.as_ref().is_some_and(|(known, ..)| *known <= cost)
                            || (attic
                                && !(under_roof([rect.left - 4.0, rect.upper - 3.0])
                                    && under_roof([rect.right + 4.0, rect.upper - 3.0])))
                            || !self.sheet.is_free(&rect)
                        {
                            continue;
                        }
                        best = Some((cost, way, rect));
                    }
                }
            }
            match best {
                Some((_, way, rect)) => {
                    self.sheet.label(rect);
                    self.write(rect, &words(named[way].clone()));
                }
                None => {
                    // Somewhere beside it, with a leader to a free corner of it.
                    let [x, y] = [room.right - 0.9 * e, room.upper + 0.9 * e];
                    let target = Box4::around([x, y], 2.0, 2.0);
                    self.label(&[target], words(named[0].clone()), 1.0);
                }
            }
        }
    }

    /// Name and pressure of a zone.
    fn zone_lines(&self, zone: &super::Zone, limit: f64) -> Vec<Line> {
        let mut lines: Vec<Line> = wrap(&zone.name, limit)
            .into_iter()
            .map(|line| Line::new(cut(&line, limit), "strong", 1.0))
            .collect();
        lines.truncate(3);
        if let Some(pressure) = &zone.pressure {
            lines.extend(self.pressure(pressure));
        }
        lines
    }

    /// A flow: large, with its uncertainty, and the other unit behind or under it.
    fn flow(&self, figure: &Figure, under: bool) -> Vec<Line> {
        let line = Line::new(figure.first.clone(), "strong flow", LARGE);
        let spread = figure.spread.clone();
        if self.narrow {
            // The other unit is one tap away.
            return if under && !spread.is_empty() {
                vec![line, Line::new(spread, "word", SMALL_ON_PHONE)]
            } else {
                vec![line.and(spread, "word", SMALL_ON_PHONE)]
            };
        }
        if under {
            let mut lines = vec![line];
            if !spread.is_empty() || !figure.second.is_empty() {
                lines.push(Line(Vec::new()).and(spread, "word", SMALL).and(
                    figure.second.clone(),
                    "lesser",
                    SMALL,
                ));
            }
            return lines;
        }
        vec![
            line.and(spread, "word", 1.0)
                .and(figure.second.clone(), "lesser", SMALL),
        ]
    }

    /// A pressure: small, the other unit under it.
    fn pressure(&self, figure: &Figure) -> Vec<Line> {
        let mut lines = vec![Line::new(figure.first.clone(), "word", self.small())];
        if !figure.second.is_empty() && !self.narrow {
            lines.push(Line::new(figure.second.clone(), "lesser", 0.78));
        }
        lines
    }

    /// Everything else that has a name or a number.
    fn name_things(&mut self) {
        let e = self.e();
        let it = self.it;
        let unit = self.lay.unit;
        for stream in [Stream::Outdoor, Stream::Exhaust] {
            self.name_outdoor(stream);
        }
        let mut lines = vec![Line::new(cut(&it.unit.name, 15.0), "strong", 1.0)];
        let both = format!("{}, {}", it.unit.words, it.unit.spot);
        let room = unit.width() / e;
        let small = self.small();
        if it.unit.spot.is_empty() || width(&both) * small > room {
            lines.push(Line::new(self.cut(&it.unit.words, 22.0), "word", small));
            if !it.unit.spot.is_empty() {
                lines.push(Line::new(cut(&it.unit.spot, room / small), "word", small));
            }
        } else {
            lines.push(Line::new(both, "word", small));
        }
        let [_, high] = self.lines_size(&lines);
        let above = |rect: Box4, high: f64| vec![[rect.left, rect.upper - 0.35 * e - high]];
        let mut anchors = above(unit, high);
        anchors.push([unit.left, unit.upper - 2.6 * e - high]);
        self.anchored(Words::figure("unit", lines), &anchors, &[unit], 3.0);
        if let (Some(handler), Some(rect)) = (&it.handler, self.lay.handler) {
            let mut lines = vec![
                Line::new("air handler", "strong", 1.0),
                Line::new(self.cut(&handler.words, 28.0), "word", small),
            ];
            if let Some(flow) = &handler.flow {
                lines.extend(self.flow(flow, false));
            }
            let [_, high] = self.lines_size(&lines);
            let words = Words {
                figure: handler.flow.is_some(),
                ..Words::new("blower", lines)
            };
            self.anchored(words, &above(rect, high), &[rect], 3.0);
            for (index, word) in ["return", "supply"].into_iter().enumerate() {
                let mut lines = if self.narrow {
                    vec![Line::new(word, "lesser", SMALL_ON_PHONE)]
                } else {
                    vec![Line::new(format!("{word} plenum"), "lesser", 0.8)]
                };
                lines.extend(self.pressure(&handler.plenums[index]));
                let [wide, high] = self.lines_size(&lines);
                let upper = if index == 0 {
                    rect.upper + 0.5 * e
                } else {
                    rect.lower - 0.5 * e - high
                };
                self.inside(
                    Words::figure(format!("plenum-{word}"), lines),
                    [rect.left + 0.4 * e, upper],
                    wide <= rect.width() - if index == 0 { 1.9 } else { 0.6 } * e,
                    rect,
                );
            }
        }
        // On a phone they are one tap away.
        if !self.narrow {
            for stream in Stream::ALL {
                self.name_port(stream);
            }
        }
        for stream in [Stream::Supply, Stream::Extract] {
            self.name_indoor(stream);
        }
        let waiting = std::mem::take(&mut self.waiting);
        for (words, anchors, target, weight) in waiting {
            // On a phone the name of a tap stands beside it or nowhere.
            let optional = self.narrow && weight <= 1.0;
            let [wide, high] = self.lines_size(&words.lines);
            let free = |[left, upper]: &Point| {
                self.sheet.is_free(&Box4 {
                    left: *left,
                    upper: *upper,
                    right: left + wide,
                    lower: upper + high,
                })
            };
            if !optional || anchors.iter().any(free) {
                self.anchored(words, &anchors, &[target], weight);
            }
        }
    }

    /// The air outside a hood.
    fn name_outdoor(&mut self, stream: Stream) {
        let e = self.e();
        let duct = &self.it.ducts[stream as usize];
        let mut lines = vec![Line::new(stream.word(), stream.strong(), 1.0)];
        lines.extend(self.flow(&duct.flow, true));
        for end in &duct.ends {
            if self.narrow {
                for line in wrap(&end.name, 7.0).into_iter().take(2) {
                    lines.push(Line::new(cut(&line, 8.0), "word", SMALL_ON_PHONE));
                }
                continue;
            }
            lines.push(Line::new(self.cut(&end.name, 15.0), "word", SMALL));
            for line in wrap(&end.detail, 12.0) {
                lines.push(Line::new(cut(&line, 12.0), "lesser", SMALL));
            }
        }
        lines.extend(self.sentence_in(&duct.wrong, if self.narrow { 6.4 } else { 9.0 }));
        let [x, y] = self.lay.routes[stream as usize]
            .ends
            .first()
            .copied()
            .unwrap_or_default();
        let half = self.size_of(stream) / 2.0 + 0.5 * e;
        let [_, high] = self.lines_size(&lines);
        let beyond = x > self.lay.unit.right;
        if self.narrow && self.lay.on_both_sides() {
            self.name_in_the_sky(stream, lines, [x, y]);
            return;
        }
        let left = match (beyond, self.narrow) {
            (true, _) => x + 1.9 * e,
            (false, true) => 0.3 * e,
            (false, false) => 0.5 * e,
        };
        let target = Box4 {
            left: if beyond { x + 1.5 * e } else { 0.4 * e },
            upper: y - half,
            right: if beyond {
                self.lay.width - 0.4 * e
            } else {
                x - 1.5 * e
            },
            lower: y + half,
        };
        let above = [left, y - half - 0.4 * e - high];
        let below = [left, y + half + 0.4 * e];
        let other = match stream {
            Stream::Outdoor => Stream::Exhaust,
            _ => Stream::Outdoor,
        };
        let there = self.lay.routes[other as usize]
            .ends
            .first()
            .map_or(y, |end| end[1]);
        let anchors = if y < there || (there - y).abs() > high + 2.0 * half + e {
            [above, below]
        } else {
            [below, above]
        };
        let words = Words::figure(format!("flow-{}", stream.class()), lines);
        self.anchored(words, &anchors, &[target], 5.0);
    }

    /// The air outside a hood of a narrow sheet that has openings on both sides: beside the roof, above
    /// the hood, with a line down to it.
    fn name_in_the_sky(&mut self, stream: Stream, lines: Vec<Line>, [x, y]: Point) {
        let e = self.e();
        let [wide, high] = self.lines_size(&lines);
        let beyond = x > self.lay.unit.right;
        let left = if beyond {
            self.lay.width - 0.3 * e - wide
        } else {
            0.3 * e
        };
        // Above the roof, as far as it reaches over the house.
        let (eaves, ridge) = match self.lay.roof.as_slice() {
            [left, ridge, right] => (if beyond { *right } else { *left }, *ridge),
            _ => ([x, 0.0], [x, 0.0]),
        };
        let over = if beyond {
            eaves[0] - (left - 0.6 * e)
        } else {
            left + wide + 0.6 * e - eaves[0]
        };
        let half = (ridge[0] - eaves[0]).abs().max(e);
        let rise = (eaves[1] - ridge[1]) * (over / half).clamp(0.0, 1.0);
        let lower = (eaves[1] - rise - 0.4 * e).min(-0.4 * e);
        // A spread that is not known yet keeps its line, so that the sheet does not move when it comes.
        let spread = &self.it.ducts[stream as usize].flow.spread;
        let kept = if spread.is_empty() {
            SMALL_ON_PHONE * LEADING * e
        } else {
            0.0
        };
        let side = if beyond { 1.0 } else { -1.0 };
        let target = Box4::around([x + side * 2.6 * e, y - 0.5 * e], 0.6 * e, 0.6 * e);
        let words = Words::figure(format!("flow-{}", stream.class()), lines);
        self.anchored(words, &[[left, lower - high - kept]], &[target], 5.0);
        let from = [x + side * 2.2 * e, lower + 0.4 * e];
        let to = [from[0], y - 0.8 * e];
        if to[1] - from[1] > e {
            self.leads.line(from, to, "leader");
            self.leads.circle(to, 1.3, "dot");
            self.leaders.push([from, to]);
        }
    }

    /// The pressure at a port of the unit.
    fn name_port(&mut self, stream: Stream) {
        let e = self.e();
        let unit = self.lay.unit;
        let lines = self.pressure(&self.it.ducts[stream as usize].port);
        let [wide, high] = self.lines_size(&lines);
        let [x, y] = self.lay.routes[stream as usize].port;
        let half = self.size_of(stream) / 2.0;
        let inside = if x < unit.centre()[0] {
            x - 0.4 * e - wide
        } else {
            x + 0.4 * e
        };
        let (above, below) = (y - half - 0.35 * e - high, y + half + 0.35 * e);
        let anchors = if y < unit.centre()[1] {
            vec![[inside, above], [inside, below]]
        } else {
            vec![[inside, below], [inside, above]]
        };
        let side = if x < unit.centre()[0] { -1.0 } else { 1.0 };
        let target = Box4::around([x + side * 0.3 * e, y], 0.8 * e, 2.0 * half);
        let words = Words::figure(format!("port-{}", stream.class()), lines);
        self.anchored(words, &anchors, &[target], 2.5);
    }

    /// Supply and extract air beside their ducts.
    fn name_indoor(&mut self, stream: Stream) {
        let e = self.e();
        let duct = &self.it.ducts[stream as usize];
        let route = self.lay.routes[stream as usize].clone();
        let mut lines = vec![Line::new(stream.word(), stream.strong(), 1.0)];
        lines.extend(self.flow(&duct.flow, true));
        lines.extend(self.sentence_in(&duct.wrong, 7.2));
        let [wide, high] = self.lines_size(&lines);
        let half = self.size_of(stream) / 2.0;
        let mut targets = Vec::new();
        let mut anchors = Vec::new();
        if self.narrow {
            let [x, y] = route.port;
            let left = x + 0.4 * e;
            if y < self.lay.unit.centre()[1] {
                anchors.push([left, y - half - 0.4 * e - high]);
            } else {
                anchors.push([left, y + half + 0.4 * e]);
                anchors.push([
                    self.lay.unit.right + 1.6 * e - wide,
                    self.lay.unit.lower + 0.4 * e,
                ]);
            }
        }
        for line in &route.lines {
            for pair in line.windows(2) {
                let long = distance(pair[0], pair[1]);
                if long < 1.6 * e {
                    continue;
                }
                let steps = (long / (0.8 * e)).floor().clamp(2.0, 24.0) as usize;
                for step in 1..steps {
                    let at = between(pair[0], pair[1], step as f64 / steps as f64);
                    if step % 3 == 1 && targets.len() < 12 {
                        targets.push(Box4::around(at, 2.0 * half, 2.0 * half));
                    }
                    if (pair[0][0] - pair[1][0]).abs() < 0.1 {
                        anchors.push([at[0] + half + 0.4 * e, at[1] - high / 2.0]);
                        anchors.push([at[0] - half - 0.4 * e - wide, at[1] - high / 2.0]);
                    } else {
                        anchors.push([at[0] - wide / 2.0, at[1] - half - 0.4 * e - high]);
                        anchors.push([at[0] - wide / 2.0, at[1] + half + 0.4 * e]);
                    }
                }
            }
        }
        // Beside an upright stretch is better than above a level one.
        if targets.is_empty() {
            targets.push(Box4::around(route.port, 2.0 * half, 2.0 * half));
        }
        let words = Words::figure(format!("flow-{}", stream.class()), lines);
        self.anchored(words, &anchors, &targets, 5.0);
    }

    /// Writes a label into a machine where it fits, otherwise beside it.
    fn inside(&mut self, words: Words, [left, upper]: Point, fits: bool, machine: Box4) {
        if !fits {
            self.label(&[machine], words, 1.5);
            return;
        }
        let [wide, high] = self.lines_size(&words.lines);
        let rect = Box4 {
            left,
            upper,
            right: left + wide,
            lower: upper + high,
        };
        self.sheet.label(rect);
        self.write(rect, &words);
    }

    /// Writes a label at the first free one of these places of its upper left corner; if none is
    /// free, it looks for a place with the others.
    fn anchored(&mut self, words: Words, anchors: &[Point], targets: &[Box4], weight: f64) {
        let [wide, high] = self.lines_size(&words.lines);
        for [left, upper] in anchors {
            let rect = Box4 {
                left: *left,
                upper: *upper,
                right: left + wide,
                lower: upper + high,
            };
            if self.sheet.is_free(&rect) {
                self.sheet.label(rect);
                self.write(rect, &words);
                return;
            }
        }
        self.label(targets, words, weight);
    }

    fn label(&mut self, targets: &[Box4], words: Words, weight: f64) {
        let wish = Wish {
            targets: targets.to_vec(),
            size: self.lines_size(&words.lines),
            weight,
        };
        self.wishes.push((wish, words));
    }

    fn place_labels(&mut self) {
        let mut list = std::mem::take(&mut self.wishes);
        list.sort_by(|one, other| other.0.weight.total_cmp(&one.0.weight));
        let (wishes, texts): (Vec<Wish>, Vec<Words>) = list.into_iter().unzip();
        let places = self.sheet.place_all(&wishes);
        for (Placed { rect, leader, .. }, words) in places.into_iter().zip(texts) {
            if let Some([from, to]) = leader {
                self.leads.line(from, to, "leader");
                self.leads.circle(from, 1.3, "dot");
                self.leaders.push([from, to]);
            }
            self.write(rect, &words);
        }
    }

    /// Writes a label into a box. In a page a figure leads to its explanation.
    fn write(&mut self, rect: Box4, words: &Words) {
        let e = self.e();
        self.labels.push(rect);
        let place = format!(
            "id=\"{}-label-{}\" transform=\"translate({} {})\"",
            self.id,
            words.key,
            number(rect.left),
            number(rect.upper)
        );
        let link = self.why.filter(|_| words.figure).map(|why| why(&words.key));
        match &link {
            Some(address) => {
                let address = escape(address);
                self.front
                    .open("a", &format!("{place} class=\"figure\" href=\"{address}\""));
                let size = [rect.width(), rect.height()];
                self.front.rectangle([0.0, 0.0, size[0], size[1]], "hit");
            }
            None => self.front.open("g", &place),
        }
        let mut y = 0.0;
        for line in &words.lines {
            let size = line.size() * e;
            y += size * LEADING;
            let mut text = format!(
                "<text x=\"{}\" y=\"{}\">",
                number(0.12 * e),
                number(y - 0.3 * size)
            );
            for (index, (piece, class, size)) in line.0.iter().enumerate() {
                let gap = if index > 0 {
                    format!(" dx=\"{}\"", number(0.3 * e))
                } else {
                    String::new()
                };
                text.push_str(&format!(
                    "<tspan class=\"{class}\" font-size=\"{}\"{gap}>{}</tspan>",
                    number(size * e),
                    escape(piece)
                ));
            }
            text.push_str("</text>");
            self.front.raw(&text);
        }
        self.front.close(if link.is_some() { "a" } else { "g" });
    }

    /// Sentences, the bar of the scale, and the document around everything.
    fn finish(mut self) -> Drawing {
        let e = self.e();
        let (wide, id) = (self.lay.width, self.id.clone());
        let in_page = self.why.is_some();
        let side = if self.narrow { 0.9 * e } else { 2.0 * e };
        let mut y = self.lay.lower.max(self.lay.grade) + 3.0 * e;
        let lowest = self
            .labels
            .iter()
            .map(|rect| rect.lower)
            .fold(f64::MIN, f64::max);
        y = y.max(lowest + 2.0 * e);
        self.bar(side, y);
        y += 1.4 * e;
        let mut notes = self.it.notes.clone();
        notes.push(
            "Coloured ducts are new, grey ones are there already. Ducts of the ventilator and trunks are drawn to one \
             scale, floors in their order; lengths are not to scale."
                .to_owned(),
        );
        let limit = (wide - 2.0 * side) / e / 1.06;
        if in_page {
            notes.clear();
        }
        let last = notes.len().saturating_sub(1);
        for (index, note) in notes.iter().enumerate() {
            let (class, size) = if index == last {
                ("lesser", self.small())
            } else {
                ("word", 1.0)
            };
            y += 0.5 * e;
            for line in wrap(note, limit / size) {
                y += 1.3 * size * e;
                self.front.raw(&format!(
                    "<text x=\"{}\" y=\"{}\" class=\"{class}\" font-size=\"{}\">{}</text>",
                    number(side),
                    number(y),
                    number(size * e),
                    escape(&line)
                ));
            }
        }
        let top = self
            .labels
            .iter()
            .map(|rect| rect.upper)
            .chain(self.lay.roof.iter().map(|point| point[1]))
            .fold(0.0, f64::min);
        let mut head = Svg::default();
        let mut line = 0.9 * e;
        let titles = wrap(&self.it.job, (wide - 2.0 * side) / (1.5 * e) / 1.13);
        for words in titles.iter().take(if in_page { 0 } else { 3 }) {
            line += 1.5 * e * 1.15;
            head.raw(&format!(
                "<text x=\"{}\" y=\"{}\" class=\"strong\" font-size=\"{}\">{}</text>",
                number(side),
                number(line),
                number(1.5 * e),
                escape(&cut(words, (wide - 2.0 * side) / (1.5 * e) / 1.13))
            ));
        }
        for words in wrap(&capital(&self.it.case), limit) {
            if in_page {
                break;
            }
            line += 1.3 * e;
            head.raw(&format!(
                "<text x=\"{}\" y=\"{}\" class=\"word\" font-size=\"{}\">{}</text>",
                number(side),
                number(line),
                number(e),
                escape(&words)
            ));
        }
        let down = line + if in_page { 0.6 } else { 1.6 } * e - top;
        let height = down + y + if in_page { 0.2 } else { 1.2 } * e;
        let mut svg = Svg::default();
        // What can be followed and turned is no part of a picture.
        let role = if in_page { "group" } else { "img" };
        let shape = if self.narrow { "tall" } else { "across" };
        let space = if in_page {
            ""
        } else {
            " xmlns=\"http://www.w3.org/2000/svg\""
        };
        svg.raw(&format!(
            "<svg{space} id=\"{id}\" class=\"section {shape}\" width=\"{0}\" height=\"{1}\" viewBox=\"0 0 {0} {1}\" role=\"{role}\" aria-labelledby=\"{id}-title\">",
            number(wide),
            number(height),
        ));
        svg.raw(&format!(
            "<title id=\"{id}-title\">{}</title>",
            escape(&format!("{}: {}", self.it.job, self.it.case))
        ));
        if !in_page {
            svg.raw(&format!("<style>{STYLE}</style>"));
        }
        svg.raw(&format!(
            "<defs><pattern id=\"{id}-earth\" width=\"5\" height=\"5\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\"><path d=\"M0 0V5\" class=\"stripe\"/></pattern></defs>"
        ));
        svg.rectangle([0.0, 0.0, wide, height], "paper");
        svg.raw(head.finish().trim_end());
        svg.open("g", &format!("transform=\"translate(0 {})\"", number(down)));
        svg.raw(self.back.finish().trim_end());
        svg.raw(self.leads.finish().trim_end());
        svg.raw(self.front.finish().trim_end());
        svg.close("g");
        svg.close("svg");
        let moved = |[x, y]: Point| [x, y + down];
        Drawing {
            svg: svg.finish(),
            labels: self
                .labels
                .iter()
                .map(|rect| Box4 {
                    upper: rect.upper + down,
                    lower: rect.lower + down,
                    ..*rect
                })
                .collect(),
            leaders: self
                .leaders
                .iter()
                .map(|[from, to]| [moved(*from), moved(*to)])
                .collect(),
        }
    }

    /// The scale of the ducts.
    fn bar(&mut self, x: f64, y: f64) {
        let e = self.e();
        let mut x = x;
        for (metres, words) in [(0.3048, "1 ft"), (0.3, "300 mm")] {
            let long = metres * self.lay.scale;
            self.front.line([x, y], [x + long, y], "bar");
            for at in [x, x + long] {
                self.front
                    .line([at, y - 0.3 * e], [at, y + 0.3 * e], "fine");
            }
            let words = format!("{words} of duct");
            let start = x + long + 0.6 * e;
            self.front.raw(&format!(
                "<text x=\"{}\" y=\"{}\" class=\"lesser\" font-size=\"{}\">{words}</text>",
                number(start),
                number(y + 0.3 * e),
                number(self.small() * e)
            ));
            x = start + (width(&words) + 1.6) * self.small() * e;
        }
    }
}

/// Length of the lever of a damper, and the size of what a finger turns it by (letters).
const LEVER: f64 = 2.3;
const TOUCH: f64 = 2.1;

/// The style of the sheet: ink and paper, the four airs by colour and by pattern.
pub const STYLE: &str = "\
.section{display:block;width:100%;max-width:1200px;height:auto;margin:0 auto}.section.tall{max-width:560px}\
.section{--paper:#fdfcf8;--ink:#16243a;--quiet:#5d6878;--rule:#8d96a3;--old:#eeeeea;--outdoor:#1f7a45;--supply:#1d5fa8;\
--extract:#8f6a00;--exhaust:#8a4a1c;--warn:#a3182a;--act:#a03c0c;\
font-family:'Lungwort Sans',system-ui,-apple-system,'Segoe UI',Roboto,'Noto Sans',Arial,sans-serif;\
font-variant-numeric:tabular-nums;background:var(--paper)}\
@media screen and (prefers-color-scheme:dark){.section{--paper:#10151d;--ink:#e8ecf2;--quiet:#a2adbb;--rule:#727d8c;--old:#1c232e;\
--outdoor:#6fd09a;--supply:#7fb8f5;--extract:#e3bd4f;--exhaust:#d99a6c;--warn:#ff9aa5;--act:#f2a566}}\
.section path:not(.earth),.section circle,.section rect{fill:none}\
.section text,.section tspan{fill:var(--ink)}.section .strong{font-weight:600}\
.section .lesser{fill:var(--quiet)}.section tspan.warn{fill:var(--warn)}\
.section tspan.outdoor{fill:var(--outdoor)}.section tspan.supply{fill:var(--supply)}\
.section tspan.extract{fill:var(--extract)}.section tspan.exhaust{fill:var(--exhaust)}\
.section rect.paper{fill:var(--paper)}.section .stripe{stroke:var(--rule);stroke-width:1.2}\
.section .ground{stroke:var(--ink);stroke-width:2.2}\
.section .cut{stroke:var(--ink);stroke-width:3.4;stroke-linejoin:miter}\
.section .wire{stroke:var(--ink);stroke-width:1.2}\
.section .partition{stroke:var(--ink);stroke-width:2}\
.section .old.edge{stroke:var(--rule)}.section .old.fill{stroke:var(--old)}\
.section rect.grille{fill:var(--paper);stroke:var(--quiet);stroke-width:1.1}\
.section rect.machine{fill:var(--paper);stroke:var(--ink);stroke-width:2}\
.section .part{fill:var(--paper);stroke:var(--ink);stroke-width:1.2}\
.section .core{fill:var(--paper);stroke:var(--ink);stroke-width:1.4}\
.section .plates{stroke:var(--quiet);stroke-width:.6}\
.section .fine{stroke:var(--ink);stroke-width:.7}\
.section .halo,.section .fill{stroke:var(--paper)}\
.section .halo,.section .edge,.section .fill,.section .air{stroke-linejoin:round}\
.section .edge.outdoor,.section .air.outdoor,.section .shaft.outdoor,.section .helix.outdoor,.section .own.outdoor{stroke:var(--outdoor)}\
.section .edge.supply,.section .air.supply,.section .shaft.supply,.section .helix.supply,.section .own.supply{stroke:var(--supply)}\
.section .edge.extract,.section .air.extract,.section .shaft.extract,.section .helix.extract,.section .own.extract{stroke:var(--extract)}\
.section .edge.exhaust,.section .air.exhaust,.section .shaft.exhaust,.section .helix.exhaust,.section .own.exhaust{stroke:var(--exhaust)}\
.section .head.outdoor{fill:var(--outdoor)}.section .head.supply{fill:var(--supply)}\
.section .head.extract{fill:var(--extract)}.section .head.exhaust{fill:var(--exhaust)}\
.section .head.plain{fill:var(--quiet)}.section .shaft.plain{stroke:var(--quiet)}\
.section .helix{stroke-dasharray:.7 4.6;opacity:.7}\
.section .air{stroke-width:1.9}\
.section .air.outdoor{stroke-dasharray:13 6}\
.section .air.extract{stroke-dasharray:.1 5;stroke-linecap:round;stroke-width:2.6}\
.section .air.exhaust{stroke-dasharray:9 4 1.6 4}\
.section rect.own{fill:var(--paper);stroke-width:1.6}\
.section .blade{stroke:var(--ink);stroke-width:2.4}.section .pivot{fill:var(--ink)}\
.section .crack{stroke:var(--paper);stroke-width:4.4;stroke-dasharray:2.5 2}\
.section .quadrant{stroke:var(--quiet);stroke-width:.8}.section .handle{stroke:var(--act);stroke-width:2.6}\
.section circle.knob{fill:var(--act);stroke:var(--paper);stroke-width:1.4}\
.section .loop{stroke:var(--warn);stroke-linejoin:round}.section .onloop{stroke:var(--paper);stroke-width:2}\
.section .backward{stroke:var(--warn);stroke-width:2.6}\
.section .alarm{fill:var(--paper);stroke:var(--warn);stroke-width:2.4;stroke-linejoin:round}\
.section path.alarm{fill:var(--paper)}.section .bang{stroke:var(--warn);stroke-width:2.4}.section circle.point{fill:var(--warn)}\
.section .shaft{stroke-linecap:butt}\
.section .leader{stroke:var(--quiet);stroke-width:.7}.section circle.dot{fill:var(--quiet)}\
.section .bar{stroke:var(--ink);stroke-width:2.4}";
