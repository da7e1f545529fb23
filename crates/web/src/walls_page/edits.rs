//! What moving, adding and taking away changes in the text of a job.

use house::file::{Shape, stands_on_ground};
use house::model::Job;
use rules::clearances::{Object, Stream};
use sheets::Movable;
use siting::Place;
use store::edit::{EditError, Literal, Step, push, remove, set, values};
use units::text::capital;
use units::{Length, Quantity as _, System, Typed, written_like};

/// The word for a thing in addresses and forms, like `object-3`.
pub fn word(thing: Movable) -> String {
    match thing {
        Movable::Object(index) => format!("object-{}", index + 1),
        Movable::Terminal(index) => format!("terminal-{}", index + 1),
    }
}

/// The thing that a word means.
pub fn movable(word: &str) -> Option<Movable> {
    let (kind, number) = word.split_once('-')?;
    let index = number.parse::<usize>().ok()?.checked_sub(1)?;
    match kind {
        "object" => Some(Movable::Object(index)),
        "terminal" => Some(Movable::Terminal(index)),
        _ => None,
    }
}

/// The way to a thing in the file.
pub fn way(wall: usize, thing: Movable) -> Vec<Step> {
    match thing {
        Movable::Object(index) => {
            vec!["wall".into(), wall.into(), "object".into(), index.into()]
        }
        Movable::Terminal(index) => vec!["terminal".into(), index.into()],
    }
}

/// The key of its place along the wall, or of its height.
pub fn key(thing: Movable, along: bool) -> &'static str {
    match (thing, along) {
        (_, true) => "along",
        (Movable::Object(_), false) => "bottom",
        (Movable::Terminal(_), false) => "height",
    }
}

/// Its place along the wall, or its height, as it is typed in the file.
pub fn value(text: &str, wall: usize, thing: Movable, along: bool) -> Option<String> {
    let mut way = way(wall, thing);
    way.push(key(thing, along).into());
    let found = values(text).ok()?.into_iter().find(|it| it.path == way)?;
    Some(found.value)
}

/// Where a thing is to be.
pub enum Target<'a> {
    /// As somebody typed it: along the wall, and up; what is empty stays as it is.
    Typed {
        /// Along the wall.
        along: &'a str,
        /// Up.
        up: &'a str,
    },
    /// A point of the drawing (m): its place along the wall and its height above the level line.
    Point([f64; 2]),
}

/// A change of the text.
pub struct Edit {
    /// The text after it.
    pub text: String,
    /// What it changes, for the history.
    pub what: String,
}

/// Why a change cannot be, in a sentence.
pub fn sentence(error: &EditError) -> String {
    format!("{}.", capital(&error.to_string()))
}

fn apply(text: &str, splice: Result<store::Splice, EditError>) -> Result<String, String> {
    splice
        .and_then(|splice| splice.apply(text).map_err(|_| EditError::Entangled))
        .map_err(|error| sentence(&error))
}

fn set_text(text: &str, way: &[Step], key: &str, value: &str) -> Result<String, String> {
    let mut way = way.to_vec();
    way.push(key.into());
    apply(text, set(text, &way, Literal::text(value)))
}

/// The name of a thing.
pub fn name(job: &Job, wall: usize, thing: Movable) -> Option<&str> {
    match thing {
        Movable::Object(index) => {
            let object = job.walls.get(wall)?.objects.get(index)?;
            Some(&object.name)
        }
        Movable::Terminal(index) => Some(&job.terminals.get(index)?.name),
    }
}

/// The text with a thing moved. Only the values that change are written, each as it was typed.
pub fn moved(
    text: &str,
    job: &Job,
    wall: usize,
    thing: Movable,
    target: &Target,
    system: System,
) -> Result<Edit, String> {
    let missing = || "This thing is not on the wall any more. Load the page again.".to_owned();
    let name = name(job, wall, thing).ok_or_else(missing)?.to_owned();
    let drawn = job.walls.get(wall).ok_or_else(missing)?;
    let old = [true, false].map(|along| value(text, wall, thing, along));
    let [old_along, old_up] = old.each_ref().map(|old| old.as_deref().unwrap_or_default());
    let [along, up] = match target {
        Target::Typed { along, up } => [along.trim().to_owned(), up.trim().to_owned()],
        Target::Point([s, z]) => {
            if !(s.is_finite() && z.is_finite()) {
                return Err("A place needs two lengths.".to_owned());
            }
            let along = written_like(old_along, *s, system);
            let length = |text: &str| Typed::<Length>::parse(text).map(|typed| typed.value.si());
            // Heights of hoods are measured from the ground below them.
            let from = match thing {
                Movable::Terminal(_) => drawn.ground(length(&along).unwrap_or(*s)),
                Movable::Object(_) => 0.0,
            };
            let up = match thing {
                Movable::Object(_) if old_up.is_empty() => String::new(),
                _ => written_like(old_up, z - from, system),
            };
            [along, up]
        }
    };
    let mut after = text.to_owned();
    let mut what = Vec::new();
    for (typed, old, along) in [(along, old_along, true), (up, old_up, false)] {
        if typed.is_empty() || same(&typed, old) {
            continue;
        }
        if let Err(error) = Typed::<Length>::parse(&typed) {
            let which = if along { "Along the wall" } else { "Up" };
            return Err(format!("{which}: {error}."));
        }
        after = set_text(&after, &way(wall, thing), key(thing, along), &typed)?;
        what.push(format!("{typed} {}", if along { "along" } else { "up" }));
    }
    Ok(Edit {
        text: after,
        what: format!("{name} moved to {}", what.join(", ")),
    })
}

/// Whether two texts say one length.
fn same(one: &str, other: &str) -> bool {
    let length = |text: &str| Typed::<Length>::parse(text).map(|typed| typed.value.si());
    match (length(one), length(other)) {
        (Ok(a), Ok(b)) => one == other || (a - b).abs() < 1e-9 && !one.contains('±'),
        _ => one == other,
    }
}

/// The text without a thing; the ducts to a terminal go with it.
pub fn removed(text: &str, job: &Job, wall: usize, thing: Movable) -> Result<Edit, String> {
    let name = name(job, wall, thing)
        .ok_or_else(|| "This thing is not on the wall any more. Load the page again.".to_owned())?;
    if let (Movable::Terminal(index), Some(plan)) = (thing, &job.chosen)
        && [plan.intake, plan.exhaust].contains(&index)
    {
        return Err(format!(
            "The chosen plan uses the {name}. Adopt another plan, or name another terminal in the plan of the survey, \
             then take it away."
        ));
    }
    let mut after = apply(text, remove(text, &way(wall, thing)))?;
    if let Movable::Terminal(_) = thing {
        for way in runs_to(&after, name) {
            after = apply(&after, remove(&after, &way))?;
        }
    }
    Ok(Edit {
        text: after,
        what: format!("{name} taken away from the {}", job.walls[wall].name),
    })
}

/// The ways to the ducts between spots and a terminal.
fn runs_to(text: &str, name: &str) -> Vec<Vec<Step>> {
    let mut ways: Vec<Vec<Step>> = Vec::new();
    for found in values(text).unwrap_or_default() {
        let [Step::Key(spot), _, Step::Key(runs), Step::Key(to), ..] = found.path.as_slice() else {
            continue;
        };
        let way = &found.path[..4];
        if spot == "spot" && runs == "runs" && to == name && !ways.iter().any(|it| it == way) {
            ways.push(way.to_vec());
        }
    }
    ways
}

/// Kinds of things that can be on a wall, in the words of the file.
pub fn kinds() -> Vec<&'static str> {
    let fields = |table: house::file::Table, key: &str| {
        table.fields.into_iter().find(|field| field.key == key)
    };
    let list = |shape: Shape| match shape {
        Shape::List(item) => match *item {
            Shape::Table(table) => Some(table),
            _ => None,
        },
        _ => None,
    };
    let words = || {
        let wall = list(fields(house::file::tables(), "wall")?.shape)?;
        let object = list(fields(wall, "object")?.shape)?;
        match fields(object, "kind")?.shape {
            Shape::Words(words) => Some(words.to_vec()),
            _ => None,
        }
    };
    words().unwrap_or_default()
}

/// The text with a new object.
pub fn object_added(
    text: &str,
    job: &Job,
    wall: usize,
    kind: &str,
    lengths: &[(&'static str, String)],
) -> Result<(Edit, Movable), String> {
    let object = Object::named(kind).ok_or_else(|| "Choose what it is.".to_owned())?;
    let drawn = &job.walls[wall];
    let list: Vec<Step> = vec!["wall".into(), wall.into(), "object".into()];
    let new = Movable::Object(drawn.objects.len());
    let mut after = apply(
        text,
        push(text, &list, "kind", Literal::text(object.name())),
    )?;
    for (key, typed) in lengths {
        if typed.is_empty() || *key == "bottom" && typed == GROUND {
            continue;
        }
        if let Err(error) = Typed::<Length>::parse(typed) {
            return Err(format!("{}: {error}.", capital(key)));
        }
        after = set_text(&after, &way(wall, new), key, typed)?;
    }
    let what = format!("{} added to the {}", object.name(), drawn.name);
    Ok((Edit { text: after, what }, new))
}

/// Stands for the ground, where a new thing is to stand.
pub const GROUND: &str = "ground";

/// The lengths of a new object at a point of the drawing, in the units of the job.
pub fn at_point(kind: &str, [s, z]: [f64; 2], system: System) -> [String; 2] {
    let on_ground = Object::named(kind).is_some_and(stands_on_ground);
    [
        written_like("", s, system),
        if on_ground {
            GROUND.to_owned()
        } else {
            written_like("", z, system)
        },
    ]
}

/// The text with a new terminal for a stream, or a two-in-one hood for both.
pub fn terminal_added(
    text: &str,
    job: &Job,
    place: Place,
    stream: Option<Stream>,
    system: System,
) -> Result<(Edit, Movable), String> {
    let wall = &job.walls[place.wall];
    let kind = match stream {
        Some(Stream::Intake) => "intake",
        Some(Stream::Exhaust) => "exhaust",
        None => "two-in-one",
    };
    let wish = format!("{} {kind}", wall.name);
    let taken = |name: &str| {
        let mut names = job.terminals.iter();
        names.any(|terminal| terminal.name.eq_ignore_ascii_case(name))
    };
    let (mut name, mut number) = (wish.clone(), 2);
    while taken(&name) {
        name = format!("{wish} {number}");
        number += 1;
    }
    let new = Movable::Terminal(job.terminals.len());
    let along = written_like("", place.at[0], system);
    let ground = wall.ground(place.at[0]);
    let height = written_like("", place.at[1] - ground, system);
    let list: Vec<Step> = vec!["terminal".into()];
    let mut after = apply(text, push(text, &list, "name", Literal::text(&name)))?;
    let own = match stream {
        Some(_) => ("use", kind),
        None => ("kind", kind),
    };
    for (key, value) in [
        own,
        ("wall", wall.name.as_str()),
        ("along", along.as_str()),
        ("height", height.as_str()),
    ] {
        after = set_text(&after, &way(place.wall, new), key, value)?;
    }
    let what = format!("{name} added: {along} along, {height} up");
    Ok((Edit { text: after, what }, new))
}

/// Spots whose table of ducts does not name a terminal, so that it cannot be reached from there.
pub fn spots_without(text: &str, name: &str) -> Vec<usize> {
    let Ok(found) = values(text) else {
        return Vec::new();
    };
    let mut spots: Vec<(usize, bool)> = Vec::new();
    for value in found {
        if let [
            Step::Key(spot),
            Step::Place(place),
            Step::Key(runs),
            Step::Key(to),
            ..,
        ] = value.path.as_slice()
            && spot == "spot"
            && runs == "runs"
        {
            match spots.iter_mut().find(|(known, _)| known == place) {
                Some((_, named)) => *named |= to == name,
                None => spots.push((*place, to == name)),
            }
        }
    }
    let without = spots.into_iter().filter(|(_, named)| !named);
    without.map(|(place, _)| place).collect()
}
