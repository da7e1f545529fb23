//! A revisit: what changed, found by the resistance that changed beyond its uncertainty.

mod common;

use commission::drift::compare;
use commission::{Damped, Kind, Place, Port, Position, Reading, SetUp, estimate};
use common::{TrueHouse, all_places, chosen, example, reading, set_up};
use house::model::{Mode, Setting};
use plan::inputs::{Inputs, Parameters, Slot};

const MODES: [Mode; 2] = [Mode::Low, Mode::Heating];
const SUPPLY_ANGLE: f64 = 30.0;

fn read(set_up: &mut SetUp, inputs: &Inputs, angle: f64, position: usize, places: &[Place]) {
    let empty = set_up.clone();
    let mut house = TrueHouse::new(&empty, inputs);
    for mode in MODES {
        for &place in places {
            let value = house.shown(&empty, place, mode, Setting::High, [angle, 0.0]);
            let reading = Reading {
                dampers: [position, 0],
                ..reading(place, mode, Setting::High, value)
            };
            set_up.add(reading).unwrap();
        }
    }
}

#[test]
fn the_part_that_changed_is_named_with_its_factor() {
    let job = example("duluth-furnace.toml");
    let mut day = set_up(&job, &chosen(&job));
    let position = day.moved(Damped::Supply, Position::at(SUPPLY_ANGLE));
    // The house as set up differs from the survey.
    let mut built = Parameters::new(&job).best().clone();
    built.duct_factors = [1.15, 0.9, 1.1, 0.85];
    let empty = day.clone();
    read(&mut day, &built, SUPPLY_ANGLE, position, &all_places());
    let record = estimate(&day, &[]).unwrap();

    type Row = (&'static str, fn(&mut Inputs), f64, Option<(Kind, f64)>);
    let table: [Row; 8] = [
        ("nothing", |_| {}, SUPPLY_ANGLE, None),
        (
            "screen of the intake blocked",
            |house| house.duct_factors[0] *= 2.0,
            SUPPLY_ANGLE,
            Some((Kind::Duct(Port::Outdoor), 2.0)),
        ),
        (
            "exhaust hood blocked",
            |house| house.duct_factors[3] *= 3.0,
            SUPPLY_ANGLE,
            Some((Kind::Duct(Port::Exhaust), 3.0)),
        ),
        (
            "extract duct crushed",
            |house| house.duct_factors[2] *= 2.5,
            SUPPLY_ANGLE,
            Some((Kind::Duct(Port::Extract), 2.5)),
        ),
        (
            "core dirty on the supply side",
            |house| house.supply_fan_factor *= 0.82,
            SUPPLY_ANGLE,
            Some((Kind::Survey(Slot::SupplyFan), 0.82)),
        ),
        (
            "filter of the extract air dirty",
            |house| house.extract_fan_factor *= 0.85,
            SUPPLY_ANGLE,
            Some((Kind::Survey(Slot::ExtractFan), 0.85)),
        ),
        (
            "furnace filter dirty",
            |house| house.filter_pressure_drop *= 2.2,
            SUPPLY_ANGLE,
            Some((Kind::Survey(Slot::Filter), 2.2)),
        ),
        (
            "two things at once",
            |house| {
                house.duct_factors[0] *= 2.2;
                house.extract_fan_factor *= 0.8;
            },
            SUPPLY_ANGLE,
            Some((Kind::Survey(Slot::ExtractFan), 0.8)),
        ),
    ];
    for (what, spoil, angle, expected) in table {
        let mut house = built.clone();
        spoil(&mut house);
        let mut revisit = empty.revisited([-4.0, 20.0]).unwrap();
        read(&mut revisit, &house, angle, position, &all_places());
        let found = compare(&record, &revisit).unwrap();
        match expected {
            None => {
                assert!(found.changes.is_empty(), "{what}: {found:#?}");
                assert!(found.surprises.iter().all(|surprise| surprise.abs() < 2.0));
                assert!(found.text.contains("Nothing has changed"));
            }
            Some((kind, factor)) => {
                let change = found
                    .changes
                    .iter()
                    .find(|change| change.kind == kind)
                    .unwrap_or_else(|| panic!("{what}: {found:#?}"));
                let off = (change.factor.value / factor).ln().abs();
                assert!(off < 0.25 * factor.ln().abs() + 0.02, "{what}: {change:?}");
                let count = if what.starts_with("two") { 2 } else { 1 };
                assert_eq!(found.changes.len(), count, "{what}: {found:#?}");
            }
        }
    }
}

#[test]
fn a_damper_that_moved_is_told_from_a_crushed_duct_only_as_far_as_it_can_be() {
    // Both lie in the same duct: either name sends the contractor to the right place.
    let job = example("duluth-furnace.toml");
    let mut day = set_up(&job, &chosen(&job));
    let position = day.moved(Damped::Supply, Position::at(SUPPLY_ANGLE));
    let built = Parameters::new(&job).best().clone();
    let empty = day.clone();
    read(&mut day, &built, SUPPLY_ANGLE, position, &all_places());
    let record = estimate(&day, &[]).unwrap();
    let mut revisit = empty.revisited([12.0, 21.0]).unwrap();
    read(&mut revisit, &built, 48.0, position, &all_places());
    let found = compare(&record, &revisit).unwrap();
    assert_eq!(found.changes.len(), 1, "{found:#?}");
    let kind = found.changes[0].kind;
    assert!(
        kind == Kind::Damper(Damped::Supply, position) || kind == Kind::Duct(Port::Supply),
        "{kind:?}"
    );
    assert!(found.changes[0].factor.low > 1.2);
}

#[test]
fn a_revisit_without_readings_is_refused() {
    let job = example("duluth-furnace.toml");
    let day = set_up(&job, &chosen(&job));
    let record = estimate(&day, &[]).unwrap();
    let revisit = day.revisited([12.0, 21.0]).unwrap();
    assert!(
        compare(&record, &revisit)
            .unwrap_err()
            .0
            .contains("no reading")
    );
    assert!(day.revisited([f64::NAN, 21.0]).is_err());
}
