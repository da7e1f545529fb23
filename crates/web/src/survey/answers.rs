//! Answers of the walk: how they stand in the file, how they are typed, and how the one becomes the
//! other.

use store::edit::{EditError, Found, Literal, Step, push, remove, set, values};
use units::System;

use super::Typed;
use super::change::applied;
use super::form::written;

/// A part of the way to a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Part {
    /// Into a table.
    Key(String),
    /// To an element of a list by its place.
    Nth(String, usize),
    /// To the element of a list whose key has this value.
    Where(String, String, String),
}

/// What is typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kind {
    /// Words.
    Text,
    /// A whole number.
    Count,
    /// A number.
    Number,
    /// A number that is never below zero, with its unit; inch-pound first.
    Quantity(&'static [&'static str]),
    /// A number that may be below zero, with its unit.
    Signed(&'static [&'static str]),
    /// A number that is always below zero, typed without its sign.
    Below(&'static [&'static str]),
    /// One of some words of the file, each with what it means.
    Choice(&'static [(&'static str, &'static str)]),
    /// One of some names.
    OneOf(Vec<String>),
    /// Width and height of a duct, or its diameter alone.
    Section,
    /// Length of a duct and its elbows.
    Run,
    /// Nothing: it is written with the others.
    Fixed,
}

/// One field of a question.
#[derive(Debug, Clone)]
pub struct Ask {
    /// The way to its value.
    pub way: Vec<Part>,
    /// What it is.
    pub label: String,
    /// What is typed.
    pub kind: Kind,
    /// The question is not answered without it.
    pub needed: bool,
    /// What stands in the field before anything is typed.
    pub preset: String,
}

impl Ask {
    /// A field that may stay empty.
    pub fn new(way: Vec<Part>, label: &str, kind: Kind) -> Self {
        Self {
            way,
            label: label.to_owned(),
            kind,
            needed: false,
            preset: String::new(),
        }
    }

    /// The question is not answered without it.
    pub fn needed(self) -> Self {
        Self {
            needed: true,
            ..self
        }
    }

    /// What stands in the field before anything is typed.
    pub fn preset(self, preset: &str) -> Self {
        Self {
            preset: preset.to_owned(),
            ..self
        }
    }

    /// The units to choose from.
    pub fn units(&self) -> &'static [&'static str] {
        match self.kind {
            Kind::Quantity(units) | Kind::Signed(units) | Kind::Below(units) => units,
            Kind::Section => &["in", "mm"],
            Kind::Run => &["ft", "m"],
            _ => &[],
        }
    }
}

/// The way to a value, if all elements on it are there.
pub fn path(found: &[Found], way: &[Part]) -> Option<Vec<Step>> {
    let mut path: Vec<Step> = Vec::new();
    for part in way {
        match part {
            Part::Key(key) => path.push(key.as_str().into()),
            Part::Nth(list, place) => {
                path.push(list.as_str().into());
                path.push((*place).into());
                found.iter().find(|found| found.path.starts_with(&path))?;
            }
            Part::Where(list, key, value) => {
                path.push(list.as_str().into());
                let depth = path.len();
                let element = found.iter().find(|found| {
                    found.path.starts_with(&path)
                        && found.path.len() == depth + 2
                        && found.path[depth + 1] == key.as_str().into()
                        && found.value == *value
                })?;
                path.push(element.path[depth].clone());
            }
        }
    }
    Some(path)
}

/// What the file says.
pub fn said(found: &[Found], way: &[Part]) -> Option<String> {
    let path = path(found, way)?;
    let found = found.iter().find(|found| found.path == path)?;
    Some(written(Some(found)))
}

/// Whether the file says anything.
pub fn answered(found: &[Found], ask: &Ask) -> bool {
    said(found, &ask.way).is_some_and(|said| !said.is_empty())
}

/// The fields of an ask as they stand in the form: the main one, a second one, and the unit.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Fields {
    /// Number, words or choice.
    pub main: String,
    /// Second size of a section, or elbows of a run.
    pub second: String,
    /// Unit; empty if the main field holds it.
    pub unit: String,
}

/// A value of the file parted into fields. What cannot be parted stands in the main field as it is.
pub fn parted(ask: &Ask, value: &str, system: System) -> Fields {
    let whole = || Fields {
        main: value.to_owned(),
        ..Fields::default()
    };
    let units = ask.units();
    if units.is_empty() {
        return whole();
    }
    if value.is_empty() {
        let place = usize::from(system == System::Si).min(units.len() - 1);
        return Fields {
            unit: units[place].to_owned(),
            ..Fields::default()
        };
    }
    let (measured, elbows) = match (&ask.kind, value.split_once(',')) {
        (Kind::Run, Some((measured, elbows))) => match elbows.trim().split_once(' ') {
            Some((count, "elbow" | "elbows")) if plain_number(count) => (measured, count),
            _ => return whole(),
        },
        _ => (value, ""),
    };
    let Some((number, unit)) = measured.trim().rsplit_once(' ') else {
        return whole();
    };
    let same = |known: &&&str| known.trim_start_matches('°') == unit.trim_start_matches('°');
    let Some(unit) = units.iter().find(same) else {
        return whole();
    };
    let (main, second) = match (&ask.kind, number.split_once(" x ")) {
        (Kind::Section, Some((width, height))) => (width.trim(), height.trim()),
        (Kind::Below(_), _) => match number.strip_prefix(['-', '−']) {
            Some(size) => (size, ""),
            None => return whole(),
        },
        _ => (number, elbows),
    };
    if !plain_number(main) || !(second.is_empty() || plain_number(second)) {
        return whole();
    }
    Fields {
        main: main.to_owned(),
        second: second.to_owned(),
        unit: (*unit).to_owned(),
    }
}

fn plain_number(text: &str) -> bool {
    let text = text.replace('−', "-");
    text.parse::<f64>().is_ok_and(f64::is_finite)
        && !text.contains(['e', 'E', 'n', 'N', 'i', 'I', '+'])
}

/// The value of the file that was typed in the fields. A bare number gets its unit, anything else
/// stands as it was typed.
pub fn joined(ask: &Ask, fields: &Fields) -> String {
    let main = fields.main.trim();
    let second = fields.second.trim();
    if main.is_empty() {
        return String::new();
    }
    // A comma for the point of a number, as many people type it.
    let number = main.replace('−', "-").replacen(',', ".", 1);
    let bare = plain_number(&number) && !fields.unit.is_empty();
    let unit = &fields.unit;
    match &ask.kind {
        Kind::Count | Kind::Number if plain_number(&number) => number,
        Kind::Quantity(_) | Kind::Signed(_) if bare => format!("{number} {unit}"),
        Kind::Below(_) if bare => format!("-{} {unit}", number.trim_start_matches('-')),
        Kind::Section if bare && second.is_empty() => format!("{number} {unit}"),
        Kind::Section if bare => format!("{number} x {second} {unit}"),
        Kind::Run if bare && second.is_empty() => format!("{number} {unit}"),
        Kind::Run if bare => {
            let elbows = if second == "1" { "elbow" } else { "elbows" };
            format!("{number} {unit}, {second} {elbows}")
        }
        _ => main.to_owned(),
    }
}

/// The fields that were sent for an ask; `None` if the form had none.
pub fn sent(typed: &Typed, name: &str) -> Option<Fields> {
    let field = |name: &str| {
        let found = typed.iter().find(|(known, _)| known == name);
        found.map(|(_, value)| value.clone())
    };
    Some(Fields {
        main: field(name)?,
        second: field(&format!("{name}.second")).unwrap_or_default(),
        unit: field(&format!("{name}.unit")).unwrap_or_default(),
    })
}

/// Writes one answer into the text; an empty one is taken out. Elements on the way are added.
pub fn write(text: &str, ask: &Ask, value: &str) -> Result<String, EditError> {
    let found = values(text)?;
    if value.is_empty() {
        return match path(&found, &ask.way) {
            Some(path) if found.iter().any(|found| found.path == path) => {
                applied(text, remove(text, &path))
            }
            _ => Ok(text.to_owned()),
        };
    }
    let literal = match &ask.kind {
        Kind::Count => value.parse().map(Literal::integer).ok(),
        Kind::Number => Literal::number(value),
        Kind::Choice(_) => match value {
            "true" => Some(Literal::flag(true)),
            "false" => Some(Literal::flag(false)),
            _ => None,
        },
        _ => None,
    };
    let literal = literal.unwrap_or_else(|| Literal::text(value));
    // Up to the first element that is not there.
    let there = (0..=ask.way.len())
        .rev()
        .find(|length| path(&found, &ask.way[..*length]).is_some());
    let there = there.unwrap_or(0);
    let known = path(&found, &ask.way[..there]).unwrap_or_default();
    let Some(absent) = ask.way.get(there) else {
        return applied(text, set(text, &known, literal));
    };
    let below = |list: &str| {
        let mut path = known.clone();
        path.push(list.into());
        path
    };
    match (absent, &ask.way[there + 1..]) {
        (Part::Nth(list, _), [Part::Key(key)]) => {
            applied(text, push(text, &below(list), key, literal))
        }
        (Part::Where(list, key, value_of_key), [_]) => {
            let element = push(text, &below(list), key, Literal::text(value_of_key));
            let text = applied(text, element)?;
            let path = path(&values(&text)?, &ask.way).ok_or(EditError::Entangled)?;
            applied(&text, set(&text, &path, literal))
        }
        _ => Err(EditError::Entangled),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ask(kind: Kind) -> Ask {
        let way = vec![Part::Nth("tap".into(), 0), Part::Key("x".into())];
        Ask::new(way, "x", kind)
    }

    #[test]
    fn values_are_parted_into_fields_and_joined_again() {
        const LENGTH: &[&str] = &["ft", "m"];
        const TEMPERATURE: &[&str] = &["F", "°C"];
        // (kind, value, main, second, unit)
        let facts = [
            (Kind::Quantity(LENGTH), "8.5 ft", "8.5", "", "ft"),
            (Kind::Quantity(LENGTH), "7 ft 6 in", "7 ft 6 in", "", ""),
            (Kind::Quantity(LENGTH), "8 ft ± 5 %", "8 ft ± 5 %", "", ""),
            (Kind::Signed(TEMPERATURE), "-16 °C", "-16", "", "°C"),
            (Kind::Below(&["inWC", "Pa"]), "-48 Pa", "48", "", "Pa"),
            (Kind::Below(&["inWC", "Pa"]), "48 Pa", "48 Pa", "", ""),
            (Kind::Section, "8 x 16 in", "8", "16", "in"),
            (Kind::Section, "10 in", "10", "", "in"),
            (Kind::Run, "8 ft, 2 elbows", "8", "2", "ft"),
            (Kind::Run, "3 m, 1 elbow", "3", "1", "m"),
            (Kind::Run, "3 m", "3", "", "m"),
            (
                Kind::Run,
                "3 m, 2 elbows, 1 tee",
                "3 m, 2 elbows, 1 tee",
                "",
                "",
            ),
            (Kind::Text, "a, b", "a, b", "", ""),
        ];
        for (kind, value, main, second, unit) in facts {
            let ask = ask(kind);
            let fields = parted(&ask, value, System::Si);
            let expected = Fields {
                main: main.into(),
                second: second.into(),
                unit: unit.into(),
            };
            assert_eq!(fields, expected, "{value}");
            assert_eq!(joined(&ask, &fields), value);
        }
        let empty = parted(&ask(Kind::Quantity(LENGTH)), "", System::Si);
        assert_eq!((empty.main.as_str(), empty.unit.as_str()), ("", "m"));
        // A comma for the point, and a sign that is not wanted.
        let typed = |main: &str| Fields {
            main: main.into(),
            second: String::new(),
            unit: "m".into(),
        };
        assert_eq!(joined(&ask(Kind::Quantity(LENGTH)), &typed("2,5")), "2.5 m");
        assert_eq!(joined(&ask(Kind::Below(LENGTH)), &typed("-3")), "-3 m");
        assert_eq!(joined(&ask(Kind::Quantity(LENGTH)), &typed("inf")), "inf");
    }

    #[test]
    fn answers_make_the_elements_that_they_need() {
        let mode = |key: &str| {
            let way = vec![
                Part::Key("h".into()),
                Part::Where("mode".into(), "mode".into(), "heating".into()),
                Part::Key(key.into()),
            ];
            Ask::new(way, key, Kind::Text)
        };
        let text = write("a = 1\n", &mode("flow"), "8 cfm").expect("it is written");
        assert_eq!(
            text,
            "a = 1\n\n[[h.mode]]\nmode = \"heating\"\nflow = \"8 cfm\"\n"
        );
        let text = write(&text, &mode("power"), "4 W").expect("it is written");
        assert!(
            text.ends_with("flow = \"8 cfm\"\npower = \"4 W\"\n"),
            "{text}"
        );
        let text = write(&text, &ask(Kind::Count), "3").expect("it is written");
        assert!(text.ends_with("\n[[tap]]\nx = 3\n"), "{text}");
        let text = write(&text, &ask(Kind::Count), "").expect("it is written");
        assert!(!text.contains("x ="), "{text}");
        let nothing = write("", &ask(Kind::Text), "").expect("nothing is written");
        assert_eq!(nothing, "");
    }
}
