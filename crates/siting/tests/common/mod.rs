//! Houses for tests and benchmarks.
#![allow(dead_code)] // Each of them uses a part.

use rules::clearances::Object;
use rules::{RuleBook, RuleSet};
use siting::{Opening, Site, Thing, Wall, demands};

pub const FOOT: f64 = 0.3048;
pub const INCH: f64 = 0.0254;

/// An 8 in hood.
pub const HOOD: Opening = Opening {
    width: 8.0 * INCH,
    height: 8.0 * INCH,
};

/// The four walls of a house, from the south counterclockwise: 12 m by 9 m, two floors.
pub fn walls() -> Vec<Wall> {
    let corners = [[0.0, 0.0], [12.0, 0.0], [12.0, 9.0], [0.0, 9.0]];
    ["south", "east", "north", "west"]
        .into_iter()
        .enumerate()
        .map(|(index, name)| {
            let (start, end) = (corners[index], corners[(index + 1) % 4]);
            Wall::rectangle(name, start, end, -0.3, 5.6)
        })
        .collect()
}

/// That house with some forty things on and around it, under these rules.
pub fn house(sets: &[RuleSet]) -> Site {
    let mut walls = walls();
    walls[3].grade = vec![[0.0, 0.0], [4.0, 0.4], [4.0, 1.0], [9.0, 1.2]];
    walls[2].snow = 0.4;
    let mut things = Vec::new();
    // (object, wall, left edge, bottom, width, height)
    let on_walls = [
        (Object::Window, 0, 1.0, 0.9, 1.2, 1.3),
        (Object::Window, 0, 3.4, 0.9, 1.2, 1.3),
        (Object::Door, 0, 5.6, 0.1, 0.95, 2.1),
        (Object::Window, 0, 7.6, 0.9, 1.2, 1.3),
        (Object::Window, 0, 10.0, 0.9, 1.2, 1.3),
        (Object::Window, 0, 1.0, 3.6, 1.2, 1.3),
        (Object::Window, 0, 5.4, 3.6, 1.2, 1.3),
        (Object::Window, 0, 10.0, 3.6, 1.2, 1.3),
        (Object::GasMeter, 0, 11.4, 0.5, 0.4, 0.5),
        (Object::Window, 1, 0.8, 0.9, 1.0, 1.3),
        (Object::Window, 1, 6.5, 0.9, 1.0, 1.3),
        (Object::Window, 1, 0.8, 3.6, 1.0, 1.3),
        (Object::Window, 1, 6.5, 3.6, 1.0, 1.3),
        (Object::GasRegulator, 1, 0.3, 0.6, 0.15, 0.15),
        (Object::DryerOutlet, 1, 5.2, 0.5, 0.12, 0.12),
        (Object::BathExhaust, 1, 4.4, 4.9, 0.2, 0.2),
        (Object::ElectricMeter, 1, 8.2, 1.2, 0.3, 0.4),
        (Object::MediumDirectVent, 2, 1.2, 0.8, 0.15, 0.15),
        (Object::MechanicalDraughtVent, 2, 0.5, 0.9, 0.1, 0.1),
        (Object::Window, 2, 3.0, 0.9, 1.2, 1.3),
        (Object::Window, 2, 7.0, 0.9, 1.8, 1.3),
        (Object::Window, 2, 10.2, 0.9, 1.0, 1.3),
        (Object::Window, 2, 3.0, 3.6, 1.2, 1.3),
        (Object::Window, 2, 7.0, 3.6, 1.2, 1.3),
        (Object::KitchenExhaust, 2, 9.4, 2.4, 0.25, 0.1),
        (Object::SoffitInlet, 2, 0.0, 5.5, 12.0, 0.1),
        (Object::Window, 3, 1.0, 1.5, 1.0, 1.0),
        (Object::Window, 3, 5.0, 1.5, 1.0, 1.0),
        (Object::Door, 3, 7.0, 1.3, 0.9, 2.1),
        (Object::Window, 3, 2.5, 3.6, 1.0, 1.3),
        (Object::OilFill, 3, 8.4, 1.6, 0.1, 0.1),
        (Object::BathExhaust, 3, 4.2, 4.8, 0.2, 0.2),
    ];
    for (index, (object, wall, left, bottom, width, height)) in on_walls.into_iter().enumerate() {
        things.push(Thing::on_wall(
            &format!("{} {index}", object.name()),
            object,
            (wall, &walls[wall]),
            [left, bottom],
            [width, height],
        ));
    }
    // (object, wall, [left edge, bottom, distance of its back], [width, height, depth])
    let in_front = [
        (Object::AirConditioner, 2, [5.0, 0.1, 0.3], [0.9, 0.8, 0.9]),
        (Object::Deck, 3, [6.0, 1.0, 0.0], [3.0, 0.1, 3.0]),
        (Object::Parking, 1, [0.0, 0.0, 1.5], [9.0, 0.3, 5.0]),
        (Object::Walkway, 0, [5.5, 0.0, 0.0], [1.2, 0.05, 6.0]),
        (
            Object::PropertyLine,
            3,
            [-6.0, -5.0, 4.0],
            [21.0, 40.0, 0.0],
        ),
        (Object::PlumbingVent, 2, [6.0, 6.2, -2.5], [0.1, 0.3, 0.1]),
        (Object::Chimney, 1, [4.5, 6.0, -3.0], [0.5, 1.5, 0.5]),
        (Object::RadonOutlet, 3, [1.8, 6.0, 0.1], [0.1, 0.4, 0.1]),
    ];
    for (index, (object, wall, place, size)) in in_front.into_iter().enumerate() {
        let name = format!("{} {index}", object.name());
        things.push(Thing::in_front_of(&name, object, &walls[wall], place, size));
    }
    let book = RuleBook::new(sets, Vec::new()).expect("one national set");
    Site::new(walls, things, demands(&book)).expect("a house")
}
