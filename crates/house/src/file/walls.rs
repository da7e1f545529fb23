//! The walls, what is on them and before them, and where terminals sit on them.

use std::f64::consts::TAU;
use std::ops::Range;

use diagnostics::Problem;
use rules::clearances::Object;
use units::{Length, Quantity, Typed};

use super::customary::{FOOT, INCH};
use super::reader::{Names, Reader};
use super::tables::{JobTable, TerminalTable, WallObjectTable, WallTable};
use super::value::{Given, Slot, shortened};
use super::words::{GradePoint, Point};
use crate::model::{Section, Terminal, Wall, WallObject, WallPlace};

/// What a tape measure may be off (m).
const TAPE: f64 = 0.5 * INCH;

/// A gap in the chain of walls that is more than the sum of what a tape is off (m).
const GAP: f64 = 3.0 * INCH;

/// The walls with their names.
pub(super) fn walls(table: &JobTable, reader: &mut Reader) -> (Vec<Wall>, Names) {
    let members = table.wall.each();
    let names = Names::collect("wall", members, |wall| &wall.name, reader);
    if !members.is_empty()
        && table
            .climate
            .value()
            .is_some_and(|climate| climate.snow.is_absent())
    {
        reader.assume("climate.snow", "none", "the file gives no depth of snow");
    }
    let mut walls: Vec<Wall> = Vec::with_capacity(members.len());
    for given in members {
        let wall = wall(&given.value, walls.last(), given, reader);
        walls.push(wall);
    }
    chain(members, &walls, reader);
    (walls, names)
}

/// Whether the outline could be read; otherwise it is empty, and nothing is said of what follows
/// from it.
fn drawn(wall: &Wall) -> bool {
    !wall.outline.is_empty()
}

fn wall(
    table: &WallTable,
    before: Option<&Wall>,
    given: &Given<WallTable>,
    reader: &mut Reader,
) -> Wall {
    let mut wall = Wall {
        name: table.name.value().cloned().unwrap_or_default(),
        facing: table.facing.value().map_or(f64::NAN, |facing| facing.0),
        corner: match (table.corner.value(), before) {
            (Some(Point(corner)), _) => *corner,
            (None, Some(before)) => before.end(),
            (None, None) => [0.0, 0.0],
        },
        outline: Vec::new(),
        grade: grade(table, reader),
        objects: Vec::new(),
    };
    wall.outline = outline(table, &wall.grade, given, reader);
    check_grade(table, &wall, reader);
    wall.objects = table
        .object
        .each()
        .iter()
        .map(|given| object(given, &wall, reader))
        .collect();
    name_alike(&mut wall.objects);
    overlaps(table, &wall, reader);
    wall
}

/// Objects of one kind without a name of their own are numbered.
fn name_alike(objects: &mut [WallObject]) {
    for index in 0..objects.len() {
        let name = objects[index].name.clone();
        let alike: Vec<usize> = (index + 1..objects.len())
            .filter(|&other| objects[other].name == name)
            .collect();
        if alike.is_empty() {
            continue;
        }
        objects[index].name = format!("{name} 1");
        for (place, other) in alike.into_iter().enumerate() {
            objects[other].name = format!("{name} {}", place + 2);
        }
    }
}

fn grade(table: &WallTable, reader: &mut Reader) -> Vec<[f64; 2]> {
    let points = table.grade.each();
    let mut line: Vec<[f64; 2]> = Vec::with_capacity(points.len().max(1));
    for given in points {
        let GradePoint { along, height } = given.value;
        let Some(along) = along else {
            if points.len() > 1 {
                reader.error(
                    &given.span,
                    "wall.grade: a point of several needs its place",
                    "write the distance from the left corner before the height, like 24 ft, -3 ft",
                );
            }
            line.push([0.0, height]);
            continue;
        };
        if line.last().is_some_and(|last| along < last[0]) {
            reader.error(
                &given.span,
                "wall.grade runs backward",
                "give its points from left to right",
            );
        }
        line.push([along, height]);
    }
    if line.is_empty() {
        line.push([0.0, 0.0]);
    }
    line
}

fn outline(
    table: &WallTable,
    grade: &[[f64; 2]],
    given: &Given<WallTable>,
    reader: &mut Reader,
) -> Vec<[f64; 2]> {
    let width = reader.within(
        "wall.width",
        &table.width,
        1.0 * FOOT..=100.0,
        "from 1 ft to 328 ft (100 m)",
    );
    let height = reader.within(
        "wall.height",
        &table.height,
        1.0 * FOOT..=30.0,
        "from 1 ft to 98 ft (30 m)",
    );
    if let Some(outline) = table.outline.given() {
        for (key, span) in [
            ("wall.width", table.width.given().map(|typed| &typed.span)),
            ("wall.height", table.height.given().map(|typed| &typed.span)),
        ] {
            if let Some(span) = span {
                reader.error(
                    span,
                    format!("{key} and wall.outline are both given"),
                    "keep one: the outline says both",
                );
            }
        }
        return points(outline, reader);
    }
    if !matches!(table.outline, Slot::Refused) {
        for (key, absent) in [
            ("width", table.width.is_absent()),
            ("height", table.height.is_absent()),
        ] {
            if absent {
                reader.error(
                    &given.span,
                    format!("wall.{key} is missing"),
                    "give width and height, or the outline as a list of points",
                );
            }
        }
    }
    if !(width.is_finite() && height.is_finite()) {
        return Vec::new();
    }
    // The wall goes down to the lowest ground, so that nothing is cut off there.
    let foot = grade.iter().map(|point| point[1]).fold(0.0, f64::min);
    vec![[0.0, foot], [width, foot], [width, height], [0.0, height]]
}

/// The points of an outline, checked.
fn points(given: &Given<Vec<Given<Point>>>, reader: &mut Reader) -> Vec<[f64; 2]> {
    let points: Vec<[f64; 2]> = given.value.iter().map(|point| point.value.0).collect();
    if points.len() < 3 {
        reader.error(
            &given.span,
            format!("wall.outline has {} points", points.len()),
            "it takes at least three corners in order, each as distance from the left corner and height",
        );
        return Vec::new();
    }
    let left = points
        .iter()
        .map(|point| point[0])
        .fold(f64::INFINITY, f64::min);
    if left.abs() > TAPE {
        let far = Length::from_si(left).show(reader.system);
        reader.error(
            &given.span,
            format!("wall.outline begins {far} from the left corner"),
            "the leftmost point lies at 0 ft",
        );
    }
    if crosses_itself(&points) {
        reader.error(
            &given.span,
            "wall.outline crosses itself",
            "give its corners in order around the wall",
        );
        return Vec::new();
    }
    if area(&points).abs() < 0.05 {
        reader.error(
            &given.span,
            "wall.outline has no area",
            "give its corners in order around the wall",
        );
        return Vec::new();
    }
    points
}

fn area(points: &[[f64; 2]]) -> f64 {
    let next = points.iter().cycle().skip(1);
    let twice: f64 = points
        .iter()
        .zip(next)
        .map(|(a, b)| a[0] * b[1] - b[0] * a[1])
        .sum();
    0.5 * twice
}

/// Whether two sides of a polygon that do not follow each other meet.
fn crosses_itself(points: &[[f64; 2]]) -> bool {
    let count = points.len();
    let side = |index: usize| (points[index], points[(index + 1) % count]);
    let turn = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| {
        (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    };
    (0..count).any(|one| {
        (one + 2..count)
            .filter(|&other| (other + 1) % count != one)
            .any(|other| {
                let ((a, b), (c, d)) = (side(one), side(other));
                turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0
            })
    })
}

/// The ground lies below the top of the wall and before no other one.
fn check_grade(table: &WallTable, wall: &Wall, reader: &mut Reader) {
    if !drawn(wall) {
        return;
    }
    let width = wall.width();
    let top = wall
        .outline
        .iter()
        .map(|point| point[1])
        .fold(f64::NEG_INFINITY, f64::max);
    for given in table.grade.each() {
        let GradePoint { along, height } = given.value;
        if along.is_some_and(|along| along < -TAPE || along > width + TAPE) {
            let width = Length::from_si(width).show(reader.system);
            reader.error(
                &given.span,
                "wall.grade has a point beyond the wall",
                format!("the wall is {width} wide"),
            );
        }
        if height >= top {
            let top = Length::from_si(top).show(reader.system);
            reader.error(
                &given.span,
                "wall.grade lies above the wall",
                format!("the upper edge of the wall is at {top}; a minus goes down"),
            );
        }
    }
}

/// What belongs to a kind of object.
struct Usual {
    /// Usual width and height (in), where there is one (from memory).
    width: Option<f64>,
    height: Option<f64>,
    /// It stands or lies on the ground.
    on_ground: bool,
    /// It may reach beyond the wall's edges.
    beyond: bool,
    /// It may end above the wall, on the roof.
    above: bool,
}

/// Whether a thing stands or lies on the ground where the file gives no lower edge.
///
/// ```
/// use rules::clearances::Object;
/// assert!(house::file::stands_on_ground(Object::Door));
/// assert!(!house::file::stands_on_ground(Object::Window));
/// ```
pub fn stands_on_ground(kind: Object) -> bool {
    usual(kind).on_ground
}

fn usual(kind: Object) -> Usual {
    let plain = |width: f64, height: f64| Usual {
        width: Some(width),
        height: Some(height),
        on_ground: false,
        beyond: false,
        above: false,
    };
    let ground = |width: Option<f64>, height: f64| Usual {
        width,
        height: Some(height),
        on_ground: true,
        beyond: true,
        above: false,
    };
    let pipe = |width: f64, height: f64| Usual {
        above: true,
        ..plain(width, height)
    };
    match kind {
        Object::Window => Usual {
            width: None,
            height: None,
            ..plain(0.0, 0.0)
        },
        Object::Door => Usual {
            on_ground: true,
            ..plain(36.0, 80.0)
        },
        Object::SoffitInlet => Usual {
            width: None,
            beyond: true,
            above: true,
            ..plain(0.0, 2.0)
        },
        Object::Chimney => pipe(16.0, 24.0),
        Object::PlumbingVent => pipe(3.0, 12.0),
        Object::RadonOutlet => pipe(4.0, 12.0),
        Object::MechanicalDraughtVent | Object::OilFill => plain(4.0, 4.0),
        Object::GasRegulator | Object::DryerOutlet | Object::BathExhaust => plain(6.0, 6.0),
        Object::GasMeter => plain(12.0, 14.0),
        Object::ElectricMeter => plain(10.0, 14.0),
        Object::AirConditioner => ground(Some(30.0), 32.0),
        Object::Parking | Object::Walkway => ground(None, 0.0),
        Object::PropertyLine => ground(None, 0.0),
        Object::Deck => Usual {
            on_ground: false,
            ..ground(None, 0.0)
        },
        _ => plain(8.0, 8.0),
    }
}

fn object(given: &Given<WallObjectTable>, wall: &Wall, reader: &mut Reader) -> WallObject {
    let table = &given.value;
    let kind = table.kind.value().copied().unwrap_or(Object::Window);
    let known = table.kind.value().is_some();
    let word = kind.name();
    let usual = usual(kind);
    let width = wall.width();
    let along = reader.within(
        "wall.object.along",
        &table.along,
        -200.0..=200.0,
        "within 656 ft (200 m)",
    );
    let size =
        |key: &str, slot: &Slot<Typed<Length>>, default: Option<f64>, reader: &mut Reader| {
            let field = format!("wall.object.{key}");
            let value = reader.within(&field, slot, 0.0..=100.0, "from 0 to 328 ft (100 m)");
            match default {
                _ if !slot.is_absent() => value,
                Some(inches) => {
                    let field = format!("{key} of a {word}");
                    reader.or_default::<Length, _>(
                        &field,
                        slot,
                        f64::NAN,
                        inches * INCH,
                        "usual size (from memory)",
                    )
                }
                None => {
                    if known {
                        reader.error(
                            &given.span,
                            format!("{field} is missing"),
                            format!("measure the {key} of the {word}"),
                        );
                    }
                    f64::NAN
                }
            }
        };
    // A property line runs along the whole wall unless the file says otherwise.
    let own_width = match kind {
        Object::PropertyLine if table.width.is_absent() => width,
        _ => size("width", &table.width, usual.width, reader),
    };
    let own_height = size("height", &table.height, usual.height, reader);
    let bottom = reader.within(
        "wall.object.bottom",
        &table.bottom,
        -30.0..=60.0,
        "from -98 to 197 ft (-30 to 60 m)",
    );
    let bottom = match table.bottom {
        Slot::Absent if usual.on_ground => wall.ground(along + 0.5 * own_width),
        Slot::Absent => {
            if known {
                reader.error(
                    &given.span,
                    "wall.object.bottom is missing",
                    format!("measure the lower edge of the {word} above the level line"),
                );
            }
            f64::NAN
        }
        _ => bottom,
    };
    let from_wall = |key: &str, slot: &Slot<Typed<Length>>, reader: &mut Reader| {
        let field = format!("wall.object.{key}");
        let value = reader.within(&field, slot, 0.0..=200.0, "from 0 to 656 ft (200 m)");
        if slot.is_absent() { 0.0 } else { value }
    };
    let out = from_wall("out", &table.out, reader);
    let depth = from_wall("depth", &table.depth, reader);
    let object = WallObject {
        name: match table.name.value() {
            Some(name) => name.clone(),
            None => word.to_owned(),
        },
        kind,
        along,
        bottom,
        width: own_width,
        height: own_height,
        out,
        depth,
    };
    if known {
        fits(given, &object, &usual, wall, reader);
    }
    object
}

/// Reports an object that lies beyond the edges of its wall.
fn fits(
    given: &Given<WallObjectTable>,
    object: &WallObject,
    usual: &Usual,
    wall: &Wall,
    reader: &mut Reader,
) {
    if usual.beyond || object.out > 0.0 || !drawn(wall) {
        return;
    }
    let span = given
        .value
        .along
        .given()
        .map_or(given.span.clone(), |typed| typed.span.clone());
    inside(
        &format!("the {}", shortened(&object.name)),
        [
            object.along,
            object.along + object.width,
            object.bottom + object.height,
        ],
        usual.above,
        wall,
        &span,
        reader,
    );
}

/// Reports what lies beyond the [left, right, upper] edges of its wall.
fn inside(
    what: &str,
    [left, right, upper]: [f64; 3],
    may_end_above: bool,
    wall: &Wall,
    span: &Range<usize>,
    reader: &mut Reader,
) -> bool {
    let show = |length: f64, reader: &Reader| Length::from_si(length).show(reader.system);
    let width = wall.width();
    if left < -TAPE || right > width + TAPE {
        let (where_to, corner) = if left < -TAPE {
            (format!("{} left of it", show(-left, reader)), "left")
        } else {
            (
                format!("{} from the left corner", show(right, reader)),
                "right",
            )
        };
        let width = show(width, reader);
        reader.error(
            span,
            format!(
                "{what} lies beyond the {corner} edge of the wall \"{}\"",
                shortened(&wall.name)
            ),
            format!("the wall is {width} wide, and it ends {where_to}; measure again from the left corner, seen from outdoors"),
        );
        return false;
    }
    let middle = 0.5 * (left + right);
    if let Some(top) = top_of(wall, middle)
        && upper > top + TAPE
        && !may_end_above
    {
        let (top, upper) = (show(top, reader), show(upper, reader));
        reader.error(
            span,
            format!(
                "{what} lies above the upper edge of the wall \"{}\"",
                shortened(&wall.name)
            ),
            format!("it ends at {upper}, the wall there at {top} above the level line"),
        );
        return false;
    }
    true
}

/// Upper edge of the wall at a place along it.
fn top_of(wall: &Wall, along: f64) -> Option<f64> {
    let next = wall.outline.iter().cycle().skip(1);
    wall.outline
        .iter()
        .zip(next)
        .filter_map(|(a, b)| {
            let (from, to) = (a[0].min(b[0]), a[0].max(b[0]));
            if !(from..=to).contains(&along) {
                return None;
            }
            if to - from < 1e-9 {
                return Some(a[1].max(b[1]));
            }
            Some(a[1] + (b[1] - a[1]) * (along - a[0]) / (b[0] - a[0]))
        })
        .reduce(f64::max)
}

/// Warns of things that are drawn over each other on one wall.
fn overlaps(table: &WallTable, wall: &Wall, reader: &mut Reader) {
    let rectangle = |object: &WallObject| {
        let flat = object.height <= 0.0 || object.out > 0.0 || usual(object.kind).above;
        (!flat).then_some([
            object.along,
            object.bottom,
            object.along + object.width,
            object.bottom + object.height,
        ])
    };
    let gas = |object: &WallObject| matches!(object.kind, Object::GasMeter | Object::GasRegulator);
    for (later, object) in wall.objects.iter().enumerate() {
        let Some(one) = rectangle(object) else {
            continue;
        };
        let clash = wall.objects[..later].iter().position(|other| {
            // A regulator often hangs on the meter.
            !(gas(object) && gas(other))
                && rectangle(other).is_some_and(|other| overlap(one, other))
        });
        if let Some(earlier) = clash {
            let span = |index: usize| {
                table
                    .object
                    .each()
                    .get(index)
                    .map_or(0..0, |given| given.span.clone())
            };
            reader.problem(
                Problem::warning(
                    format!(
                        "the {} lies over the {}",
                        shortened(&object.name),
                        shortened(&wall.objects[earlier].name)
                    ),
                    span(later),
                )
                .related(span(earlier), "this one")
                .help("check along, bottom, width and height of both"),
            );
        }
    }
}

/// Whether two rectangles share more than a strip as wide as an inch.
fn overlap(one: [f64; 4], other: [f64; 4]) -> bool {
    let shared = |axis: usize| one[axis + 2].min(other[axis + 2]) - one[axis].max(other[axis]);
    shared(0) > INCH && shared(1) > INCH
}

/// Reports walls that do not meet where they should.
fn chain(members: &[Given<WallTable>], walls: &[Wall], reader: &mut Reader) {
    let distance = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
    let complete = |wall: &Wall| wall.facing.is_finite() && drawn(wall);
    if walls.len() < 2 || !walls.iter().all(complete) {
        return;
    }
    for (index, given) in members.iter().enumerate().skip(1) {
        let Some(corner) = given.value.corner.given() else {
            continue;
        };
        let gap = distance(walls[index - 1].end(), walls[index].corner);
        if gap > GAP && gap < 2.0 * FOOT {
            let gap = Length::from_si(gap).show(reader.system);
            reader.error(
                &corner.span,
                format!(
                    "there is a hole of {gap} in the chain of walls before \"{}\"",
                    shortened(&walls[index].name)
                ),
                "leave corner out and the wall starts where the last one ends, or correct it",
            );
        }
    }
    if members
        .iter()
        .skip(1)
        .any(|given| !given.value.corner.is_absent())
    {
        return;
    }
    // Walls that turn once around close the house.
    let around = walls.iter().zip(walls.iter().cycle().skip(1));
    let turned: f64 = around
        .map(|(wall, next)| {
            // Counterclockwise, in (-180°, 180°].
            let turn = (wall.facing - next.facing).to_radians().rem_euclid(TAU);
            if turn > 0.5 * TAU { turn - TAU } else { turn }
        })
        .sum();
    let first = &walls[0];
    let Some(last) = walls.last() else { return };
    let gap = distance(last.end(), first.corner);
    let length: f64 = walls.iter().map(Wall::width).sum();
    let span = members.last().map_or(0..0, |given| given.span.clone());
    if walls.len() > 2 && (turned + TAU).abs() < 1e-6 {
        reader.error(
            &span,
            "the walls go around the house the wrong way",
            "seen from outdoors, each wall starts at the right end of the last: after a north wall \
             comes a west wall",
        );
    } else if walls.len() > 3 && (turned - TAU).abs() < 1e-6 && gap > GAP.max(0.01 * length) {
        let gap = Length::from_si(gap).show(reader.system);
        reader.error(
            &span,
            format!(
                "the walls leave a hole of {gap} between \"{}\" and \"{}\"",
                shortened(&last.name),
                shortened(&first.name)
            ),
            "walls on opposite sides are as wide as each other: check widths and facings, or give \
             the corner of a wall that stands apart",
        );
    }
}

/// Width and height of the opening of a terminal (m).
pub(super) fn opening(
    name: &str,
    slot: &Slot<Section>,
    two_in_one: bool,
    reader: &mut Reader,
) -> [f64; 2] {
    match slot.value() {
        Some(Section::Round(diameter)) => [*diameter, *diameter],
        Some(Section::Rectangular(width, height)) => [*width, *height],
        None => {
            let width = if two_in_one { 16.0 } else { 8.0 };
            if slot.is_absent() {
                let side = |inches: f64| Length::from_si(inches * INCH).show(reader.system);
                let text = format!("{} x {}", side(width), side(8.0));
                reader.assume(
                    &format!("terminal \"{name}\" size"),
                    text,
                    "usual hood for 6 in duct (from memory)",
                );
            }
            [width * INCH, 8.0 * INCH]
        }
    }
}

/// Where a terminal sits. `opening` is its height above the ground, its width and its height (m).
pub(super) fn place(
    given: &Given<TerminalTable>,
    [height, wide, high]: [f64; 3],
    walls: &[Wall],
    names: &Names,
    reader: &mut Reader,
) -> Option<WallPlace> {
    let table = &given.value;
    match (&table.wall, &table.along) {
        (Slot::Absent, Slot::Good(along)) => reader.error(
            &along.span,
            "terminal.along is given without a wall",
            "say on which wall it is measured, like wall = \"north wall\"",
        ),
        (Slot::Good(wall), Slot::Absent) => reader.error(
            &wall.span,
            "terminal.along is missing",
            "give the distance of its centre from the left corner of the wall",
        ),
        _ => {}
    }
    let wall_name = table.wall.given()?;
    let index = names.resolve("terminal.wall", wall_name, reader)?;
    let along = reader.within(
        "terminal.along",
        &table.along,
        0.0..=100.0,
        "from 0 to 328 ft (100 m)",
    );
    let typed = table.along.given()?;
    let wall = walls.get(index)?;
    if !along.is_finite() || !drawn(wall) {
        return None;
    }
    if height < 0.5 * high - TAPE {
        let needed = Length::from_si(0.5 * high).show(reader.system);
        reader.error(
            &table
                .height
                .given()
                .map_or(typed.span.clone(), |typed| typed.span.clone()),
            "terminal.height puts the hood into the ground",
            format!("its centre lies at least {needed} above it"),
        );
    }
    let name = table.name.value().map_or("", String::as_str);
    let edges = [
        along - 0.5 * wide,
        along + 0.5 * wide,
        wall.ground(along) + height + 0.5 * high,
    ];
    let what = format!("the terminal {}", shortened(name));
    inside(&what, edges, false, wall, &typed.span, reader)
        .then_some(WallPlace { wall: index, along })
}

/// Facing of a terminal: that of its wall, or as typed (°).
pub(super) fn facing(
    given: &Given<TerminalTable>,
    place: Option<WallPlace>,
    walls: &[Wall],
    reader: &mut Reader,
) -> f64 {
    let table = &given.value;
    let wall = place.and_then(|place| walls.get(place.wall));
    match (&table.facing, wall) {
        (Slot::Good(typed), Some(wall)) => {
            let off = (typed.value.0 - wall.facing).rem_euclid(360.0);
            if off > 1.0 && off < 359.0 {
                reader.error(
                    &typed.span,
                    format!(
                        "the facing of the terminal is not that of the wall \"{}\"",
                        shortened(&wall.name)
                    ),
                    "leave it out: the wall says it",
                );
            }
            wall.facing
        }
        (Slot::Good(typed), None) => typed.value.0,
        (Slot::Absent, Some(wall)) => wall.facing,
        (Slot::Absent, None) => {
            if table.wall.is_absent() {
                reader.error(
                    &given.span,
                    "terminal.facing is missing",
                    "say where its wall faces, like facing = \"north\", or on which drawn wall it sits",
                );
            }
            f64::NAN
        }
        (Slot::Refused, _) => f64::NAN,
    }
}

/// Shortest straight line between the openings of two terminals on drawn walls, edge to edge (m).
///
/// Both lie on vertical walls, so it is √(d² + g²) with d the distance of the two in plan and g the
/// vertical gap between them.
pub(super) fn apart(walls: &[Wall], one: &Terminal, other: &Terminal) -> Option<f64> {
    let rectangle = |terminal: &Terminal| {
        let place = terminal.place?;
        let wall = walls.get(place.wall)?;
        let [east, north] = wall.direction();
        let half = 0.5 * terminal.size[0];
        let at = |along: f64| {
            [
                wall.corner[0] + along * east,
                wall.corner[1] + along * north,
            ]
        };
        let centre = wall.ground(place.along) + terminal.height;
        let high = 0.5 * terminal.size[1];
        Some((
            [at(place.along - half), at(place.along + half)],
            [centre - high, centre + high],
        ))
    };
    let (one_plan, one_heights) = rectangle(one)?;
    let (other_plan, other_heights) = rectangle(other)?;
    let gap = (one_heights[0] - other_heights[1])
        .max(other_heights[0] - one_heights[1])
        .max(0.0);
    Some(segments_apart(one_plan, other_plan).hypot(gap))
}

/// Distance of two segments in plan (m).
fn segments_apart(one: [[f64; 2]; 2], other: [[f64; 2]; 2]) -> f64 {
    let turn = |a: [f64; 2], b: [f64; 2], c: [f64; 2]| {
        (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    };
    let parted = |[a, b]: [[f64; 2]; 2], [c, d]: [[f64; 2]; 2]| turn(a, b, c) * turn(a, b, d) < 0.0;
    if parted(one, other) && parted(other, one) {
        return 0.0;
    }
    let from = |point: [f64; 2], [a, b]: [[f64; 2]; 2]| {
        let (u, v) = (b[0] - a[0], b[1] - a[1]);
        let length = (u * u + v * v).max(f64::MIN_POSITIVE);
        let share = ((point[0] - a[0]) * u + (point[1] - a[1]) * v) / length;
        let share = share.clamp(0.0, 1.0);
        (point[0] - a[0] - share * u).hypot(point[1] - a[1] - share * v)
    };
    let ends = one.iter().map(|&point| from(point, other));
    ends.chain(other.iter().map(|&point| from(point, one)))
        .fold(f64::INFINITY, f64::min)
}
