//! Ways through the tables of the file, and their addresses.

use house::file::{Shape, Table};
use store::edit::Step;

use crate::job::Open;

/// The group of the keys at the top of the file.
pub const TOP: &str = "job";

/// Names of the groups for people, in the order in which a survey goes.
pub const GROUPS: &[(&str, &str)] = &[
    (TOP, "The job"),
    ("house", "The house"),
    ("climate", "Weather and rooms"),
    ("zone", "Rooms and floors"),
    ("opening", "Doors between them"),
    ("exhaust", "Other exhausts"),
    ("appliance", "What burns"),
    ("existing", "Ventilation today"),
    ("air_handler", "The air handler"),
    ("tap", "Where ducts may be tapped"),
    ("grille", "Own grilles"),
    ("spot", "Where the unit may hang"),
    ("wall", "Walls"),
    ("terminal", "Hoods on the walls"),
    ("separation", "Distances between hoods"),
    ("unit", "Units"),
    ("ducts", "New ducts"),
    ("controls", "Controls"),
    ("costs", "Prices"),
    ("rules", "Rules"),
    ("rates", "Rates"),
    ("plan", "The chosen plan"),
    ("station", "Stations of the set-up day"),
    ("instrument", "Instruments of the set-up day"),
    ("balancing", "What the set-up has to reach"),
];

/// What a way of the survey leads to.
pub enum Place {
    /// A table with known keys.
    Keys(Table),
    /// A list of tables.
    List(Table),
    /// A table whose keys are names.
    Names(Shape),
}

/// Goes a way through the tables of the file.
pub fn find(path: &[Step]) -> Option<Place> {
    let root = house::file::tables();
    if path == [Step::from(TOP)] {
        return Some(Place::Keys(root));
    }
    let mut place = Place::Keys(root);
    for step in path {
        place = match (place, step) {
            (Place::Keys(table), Step::Key(key)) => {
                let field = table.fields.into_iter().find(|field| field.key == key)?;
                match field.shape {
                    Shape::Table(table) => Place::Keys(table),
                    Shape::Named(shape) => Place::Names(*shape),
                    Shape::List(shape) => match *shape {
                        Shape::Table(table) => Place::List(table),
                        _ => return None,
                    },
                    _ => return None,
                }
            }
            (Place::List(table), Step::Place(_)) => Place::Keys(table),
            _ => return None,
        };
    }
    Some(place)
}

/// The steps of an address.
pub fn way(address: &str) -> Vec<Step> {
    let steps = address.split('/').filter(|step| !step.is_empty());
    steps
        .map(|step| match step.parse::<usize>() {
            Ok(number) => Step::Place(number.saturating_sub(1)),
            Err(_) => step.into(),
        })
        .collect()
}

/// The address of a way.
pub fn address(open: &Open, path: &[Step]) -> String {
    let steps = path.iter().map(|step| match step {
        Step::Key(key) => format!("/{key}"),
        Step::Place(place) => format!("/{}", place + 1),
    });
    open.address(&format!("/survey{}", steps.collect::<String>()))
}

/// The way of a key below a way; keys of the top have none above them.
pub fn below(path: &[Step], key: &str) -> Vec<Step> {
    let mut path = if path == [Step::from(TOP)] {
        Vec::new()
    } else {
        path.to_vec()
    };
    path.push(key.into());
    path
}

/// The steps of a way for an address.
pub fn join(path: &[Step]) -> String {
    let steps = path.iter().map(|step| match step {
        Step::Key(key) => key.clone(),
        Step::Place(place) => (place + 1).to_string(),
    });
    steps.collect::<Vec<_>>().join("/")
}
