//! Distances, exceptions and areas worked by hand.

mod common;

use std::f64::consts::PI;

use common::{FOOT, HOOD, INCH};
use rules::clearances::{Object, Stream, Unless};
use rules::{Override, RuleBook, RuleSet};
use siting::{
    Against, Demand, Judgement, Opening, Place, RESOLUTION, ROUNDING, Site, Thing, Wall, area,
    best, best_beside, best_pair, best_two_in_one, demands, judge, judge_pair, judge_two_in_one,
    region, region_beside, region_two_in_one,
};

const SMALL: Opening = Opening {
    width: 0.2,
    height: 0.2,
};

/// A wall and the centre of an opening on it.
type Spot = (usize, [f64; 2]);

/// A house of 12 m by 9 m, 20 m high, its walls from the south counterclockwise.
fn tall_walls() -> Vec<Wall> {
    let corners = [[0.0, 0.0], [12.0, 0.0], [12.0, 9.0], [0.0, 9.0]];
    ["south", "east", "north", "west"]
        .into_iter()
        .enumerate()
        .map(|(index, name)| {
            Wall::rectangle(name, corners[index], corners[(index + 1) % 4], 0.0, 20.0)
        })
        .collect()
}

fn under(sets: &[RuleSet]) -> Vec<Demand> {
    demands(&RuleBook::new(sets, Vec::new()).expect("one national set"))
}

fn site(things: Vec<Thing>, demands: Vec<Demand>) -> Site {
    Site::new(tall_walls(), things, demands).expect("a site")
}

/// A thing on a wall, by [left, bottom] and [width, height].
fn on(wall: usize, object: Object, place: [f64; 2], size: [f64; 2]) -> Thing {
    Thing::on_wall("thing", object, (wall, &tall_walls()[wall]), place, size)
}

fn before(wall: usize, object: Object, place: [f64; 3], size: [f64; 3]) -> Thing {
    Thing::in_front_of("thing", object, &tall_walls()[wall], place, size)
}

/// What a rule says on the only thing of a site.
fn ruling(site: &Site, id: &str, stream: Stream, place: Spot) -> Judgement {
    let place = Place {
        wall: place.0,
        at: place.1,
    };
    let verdict = judge(site, SMALL, place, stream).expect("a wall");
    *verdict
        .judgements
        .iter()
        .find(|judgement| {
            site.demands()[judgement.demand].id() == id
                && matches!(
                    judgement.against,
                    Against::Thing(0) | Against::Grade | Against::Snow
                )
        })
        .unwrap_or_else(|| panic!("no judgement by {id:?}"))
}

/// Straight lines in space, edge to edge. The opening is 0.2 m square.
#[test]
fn straight_lines() {
    let other = Object::DryerOutlet;
    // (what, thing, wall and centre of the opening, distance)
    let facts: &[(&str, Thing, Spot, f64)] = &[
        (
            "beside each other on one wall: the gap along it",
            on(0, other, [2.0, 1.0], [0.1, 0.1]),
            (0, [5.0, 1.05]),
            5.0 - 0.1 - 2.1,
        ),
        (
            "one above the other, floors apart: the gap in height",
            on(0, other, [2.0, 1.0], [0.4, 0.1]),
            (0, [2.2, 4.2]),
            4.1 - 1.1,
        ),
        (
            "on one wall and off in both: 3, 4, 5",
            on(0, other, [2.0, 1.0], [0.1, 0.1]),
            (0, [2.1 + 3.0 + 0.1, 1.1 + 4.0 + 0.1]),
            5.0,
        ),
        (
            "across the south-east corner: 3 and 4 along the walls make 5 in plan, 12 up make 13",
            on(1, other, [4.0, 14.2], [0.1, 0.1]),
            (0, [12.0 - 3.0 - 0.1, 2.1]),
            13.0,
        ),
        (
            "through the house from the north to the south wall",
            on(2, other, [12.0 - 5.1, 1.0], [0.1, 0.1]),
            (0, [5.05, 1.0]),
            9.0,
        ),
        (
            "in front of the wall: 1 m out, 2 m along, 2 m up",
            before(0, other, [2.0, 0.0, 1.0], [1.0, 1.0, 1.0]),
            (0, [3.0 + 2.0 + 0.1, 1.0 + 2.0 + 0.1]),
            3.0,
        ),
        (
            "above a thing that reaches to the wall: the gap in height",
            before(0, other, [2.0, 0.0, 0.0], [1.0, 1.0, 1.0]),
            (0, [2.5, 2.0]),
            0.9,
        ),
        (
            "beside a thing around the corner that is in the line of the wall",
            before(1, other, [-1.0, 0.0, 0.0], [1.0, 1.0, 1.0]),
            (0, [11.0, 0.5]),
            12.0 - 11.1,
        ),
    ];
    for (what, thing, place, distance) in facts {
        let site = site(vec![thing.clone()], under(&[]));
        let found = ruling(&site, "intake from other exhausts", Stream::Intake, *place);
        assert!(
            (found.measured - distance).abs() < 1e-9,
            "{what}: {} instead of {distance}",
            found.measured
        );
        assert!(
            (found.margin - (distance - 6.0 * FOOT)).abs() < 1e-9,
            "{what}"
        );
        assert_eq!(found.holds, Some(*distance >= 6.0 * FOOT), "{what}");
    }
}

/// An oblique wall: a thing on its neighbour at 45°, the foot of the shortest line inside an edge.
#[test]
fn oblique_walls() {
    let wall = |name, start, end| Wall::rectangle(name, start, end, 0.0, 5.0);
    let walls = vec![
        wall("south", [0.0, 0.0], [10.0, 0.0]),
        wall("south-east", [10.0, 0.0], [16.0, 6.0]),
    ];
    // The window lies 2·√2 to 4·√2 along the oblique wall, from (12, 2) to (14, 4).
    let root = 2.0_f64.sqrt();
    let thing = Thing::on_wall(
        "vent",
        Object::DryerOutlet,
        (1, &walls[1]),
        [2.0 * root, 1.0],
        [2.0 * root, 0.5],
    );
    let site = Site::new(walls, vec![thing], under(&[])).expect("a site");
    let found = ruling(
        &site,
        "intake from other exhausts",
        Stream::Intake,
        (0, [9.9, 1.2]),
    );
    assert!((found.measured - 8.0_f64.sqrt()).abs() < 1e-9, "{found:?}");
    // From the oblique wall the south wall's end is nearest, at its corner.
    let place = Place {
        wall: 1,
        at: [5.0, 2.0],
    };
    let corner = site
        .things()
        .iter()
        .position(|thing| thing.name == "corner of south and south-east");
    let verdict = judge(&site, SMALL, place, Stream::Exhaust).expect("a wall");
    let found = verdict
        .judgements
        .iter()
        .find(|judgement| Some(judgement.against) == corner.map(Against::Thing))
        .expect("a corner");
    assert!((found.measured - 4.9).abs() < 1e-9);
    assert_eq!(found.holds, None, "the row only informs");
    assert!(found.kept());
}

/// A rule and what lifts it.
struct Exception {
    what: &'static str,
    set: RuleSet,
    id: &'static str,
    stream: Stream,
    thing: Thing,
    place: Spot,
    measured: f64,
    holds: bool,
    lifted: Option<Unless>,
}

#[test]
#[rustfmt::skip]
fn exceptions() {
    use RuleSet::{Irc2021, Irc2024};
    use Stream::{Exhaust, Intake};
    let window = || on(0, Object::Window, [4.0, 1.0], [1.0, 1.0]);
    let drain = || on(0, Object::PlumbingVent, [4.0, 4.0], [0.1, 0.1]);
    let fan_vent = || on(0, Object::MechanicalDraughtVent, [4.0, 4.0], [0.1, 0.1]);
    let deck = || before(0, Object::Deck, [4.0, 0.9, 0.0], [3.0, 0.1, 2.0]);
    let fan = || on(0, Object::BathExhaust, [4.0, 4.0], [0.1, 0.1]);
    let inlet = || on(0, Object::MechanicalIntake, [4.0, 4.0], [0.1, 0.1]);
    let line = || before(0, Object::PropertyLine, [-50.0, -5.0, 0.8], [100.0, 50.0, 0.0]);
    let radon = || on(0, Object::RadonOutlet, [4.0, 4.0], [0.1, 0.1]);
    let windows = "IRC 2024 exhaust from openings";
    let facts = [
        Exception { what: "an exhaust beside a window, too near",
            set: Irc2024, id: windows, stream: Exhaust, thing: window(),
            place: (0, [5.6, 1.5]), measured: 0.5, holds: false, lifted: None },
        Exception { what: "beside a window at 3 ft",
            set: Irc2024, id: windows, stream: Exhaust, thing: window(),
            place: (0, [5.0 + 3.0 * FOOT + 0.1, 1.5]), measured: 3.0 * FOOT, holds: true, lifted: None },
        Exception { what: "1 ft above the window: lifted",
            set: Irc2024, id: windows, stream: Exhaust, thing: window(),
            place: (0, [4.5, 2.0 + FOOT + 0.1]), measured: FOOT, holds: true,
            lifted: Some(Unless::Above(FOOT)) },
        Exception { what: "1 mm less",
            set: Irc2024, id: windows, stream: Exhaust, thing: window(),
            place: (0, [4.5, 2.0 + FOOT + 0.099]), measured: FOOT - 0.001, holds: false, lifted: None },
        Exception { what: "1 ft above, the older edition has no such exception",
            set: Irc2021, id: "IRC 2021 exhaust from openings", stream: Exhaust, thing: window(),
            place: (0, [4.5, 2.0 + FOOT + 0.1]), measured: FOOT, holds: false, lifted: None },
        Exception { what: "an intake 3 ft below a drain vent: lifted",
            set: Irc2024, id: "IRC 2024 intake from contaminants", stream: Intake, thing: drain(),
            place: (0, [4.05, 4.0 - 3.0 * FOOT - 0.1]), measured: 3.0 * FOOT, holds: true,
            lifted: Some(Unless::Below(3.0 * FOOT)) },
        Exception { what: "as far above it",
            set: Irc2024, id: "IRC 2024 intake from contaminants", stream: Intake, thing: drain(),
            place: (0, [4.05, 4.1 + 3.0 * FOOT + 0.1]), measured: 3.0 * FOOT, holds: false, lifted: None },
        Exception { what: "an intake 3 ft below a bath fan's outlet: the exhaust is above it",
            set: Irc2024, id: "IRC 2024 intake from exhausts", stream: Intake, thing: fan(),
            place: (0, [4.05, 4.0 - 3.0 * FOOT - 0.1]), measured: 3.0 * FOOT, holds: true,
            lifted: Some(Unless::ExhaustAboveIntake(3.0 * FOOT)) },
        Exception { what: "an intake 3 ft above it",
            set: Irc2024, id: "IRC 2024 intake from exhausts", stream: Intake, thing: fan(),
            place: (0, [4.05, 4.1 + 3.0 * FOOT + 0.1]), measured: 3.0 * FOOT, holds: false, lifted: None },
        Exception { what: "an exhaust 3 ft above another fan's intake",
            set: Irc2024, id: "IRC 2024 exhaust from intakes", stream: Exhaust, thing: inlet(),
            place: (0, [4.05, 4.1 + 3.0 * FOOT + 0.1]), measured: 3.0 * FOOT, holds: true,
            lifted: Some(Unless::ExhaustAboveIntake(3.0 * FOOT)) },
        Exception { what: "an exhaust 3 ft below it",
            set: Irc2024, id: "IRC 2024 exhaust from intakes", stream: Exhaust, thing: inlet(),
            place: (0, [4.05, 4.0 - 3.0 * FOOT - 0.1]), measured: 3.0 * FOOT, holds: false, lifted: None },
        Exception { what: "a vent with a fan 3 ft above the intake",
            set: Irc2024, id: "gas vent above intake", stream: Intake, thing: fan_vent(),
            place: (0, [6.0, 4.0 - 3.0 * FOOT - 0.1]), measured: 3.0 * FOOT, holds: true, lifted: None },
        Exception { what: "at one height, 9 ft away",
            set: Irc2024, id: "gas vent above intake", stream: Intake, thing: fan_vent(),
            place: (0, [4.1 + 9.0 * FOOT + 0.1, 4.05]), measured: -0.15, holds: false, lifted: None },
        Exception { what: "at one height, 10 ft away",
            set: Irc2024, id: "gas vent above intake", stream: Intake, thing: fan_vent(),
            place: (0, [4.1 + 10.0 * FOOT + 0.1, 4.05]), measured: -0.15, holds: true,
            lifted: Some(Unless::HorizontallyBeyond(10.0 * FOOT)) },
        Exception { what: "18 in above a deck",
            set: Irc2024, id: "intake above a deck", stream: Intake, thing: deck(),
            place: (0, [5.0, 1.0 + 18.0 * INCH + 0.1]), measured: 18.0 * INCH, holds: true, lifted: None },
        Exception { what: "12 in above a deck",
            set: Irc2024, id: "intake above a deck", stream: Intake, thing: deck(),
            place: (0, [5.0, 1.0 + 12.0 * INCH + 0.1]), measured: 12.0 * INCH, holds: false, lifted: None },
        Exception { what: "with one edge over the deck",
            set: Irc2024, id: "intake above a deck", stream: Intake, thing: deck(),
            place: (0, [7.09, 1.0 + 12.0 * INCH + 0.1]), measured: 12.0 * INCH, holds: false, lifted: None },
        Exception { what: "just beside the deck",
            set: Irc2024, id: "intake above a deck", stream: Intake, thing: deck(),
            place: (0, [7.1, 1.0 + 12.0 * INCH + 0.1]), measured: 12.0 * INCH, holds: true,
            lifted: Some(Unless::HorizontallyBeyond(0.0)) },
        Exception { what: "the property line 0.8 m off the wall, measured in plan",
            set: Irc2024, id: "IRC 2024 exhaust from the property line", stream: Exhaust, thing: line(),
            place: (0, [6.0, 3.0]), measured: 0.8, holds: false, lifted: None },
        Exception { what: "the same from the north wall",
            set: Irc2024, id: "IRC 2024 exhaust from the property line", stream: Exhaust, thing: line(),
            place: (2, [6.0, 3.0]), measured: 9.8, holds: true, lifted: None },
        Exception { what: "2 ft below the outlet of a radon fan",
            set: Irc2024, id: "intake from a radon outlet", stream: Intake, thing: radon(),
            place: (0, [4.05, 4.0 - 2.0 * FOOT - 0.1]), measured: 2.0 * FOOT, holds: true,
            lifted: Some(Unless::Below(2.0 * FOOT)) },
    ];
    for fact in facts {
        let site = site(vec![fact.thing], under(&[fact.set]));
        let found = ruling(&site, fact.id, fact.stream, fact.place);
        assert!((found.measured - fact.measured).abs() < 1e-9, "{}: {found:?}", fact.what);
        assert_eq!(found.holds, Some(fact.holds), "{}: {found:?}", fact.what);
        assert_eq!(found.lifted, fact.lifted, "{}: {found:?}", fact.what);
    }
}

/// The ground under the opening: its highest point counts, a step too; snow lies on it.
#[test]
fn ground_and_snow() {
    let mut wall = Wall::rectangle("south", [0.0, 0.0], [12.0, 0.0], -1.0, 6.0);
    wall.grade = vec![[1.0, 0.0], [5.0, 0.4], [5.0, 1.0], [9.0, 1.0]];
    wall.snow = 0.3;
    let site = Site::new(vec![wall], Vec::new(), under(&[])).expect("a site");
    // (centre, above grade, above snow)
    let facts = [
        ([0.5, 2.0], 1.9, 1.6),
        ([3.0, 2.0], 1.9 - 0.21, 1.6 - 0.21),
        ([4.8, 2.0], 1.9 - 0.39, 1.6 - 0.39),
        ([4.95, 2.0], 0.9, 0.6),
        ([11.0, 2.0], 0.9, 0.6),
    ];
    for (at, grade, snow) in facts {
        let found = ruling(&site, "intake above grade", Stream::Intake, (0, at));
        assert!((found.measured - grade).abs() < 1e-9, "{at:?}: {found:?}");
        let found = ruling(&site, "openings above snow", Stream::Exhaust, (0, at));
        assert!((found.measured - snow).abs() < 1e-9, "{at:?}: {found:?}");
    }
    // To be reached from the lowest ground under it: 10 ft to the upper edge at most.
    let found = ruling(
        &site,
        "openings within reach",
        Stream::Intake,
        (0, [4.95, 2.0]),
    );
    assert!((found.measured - (2.1 - 0.385)).abs() < 1e-9, "{found:?}");
    assert!((found.margin - (10.0 * FOOT - 1.715)).abs() < 1e-9);
    assert_eq!(found.holds, None);
}

/// Values of common practice (no published source): 10 ft from combustion outlets, 6 ft from any
/// other exhaust, 18 in above grade; more where the job says so, and above the snow.
#[test]
fn common_practice() {
    let higher = Override {
        id: "intake above grade".into(),
        value: 1.0,
        reason: "drifts".into(),
        who: String::new(),
    };
    let book = RuleBook::new(&[], vec![higher]).expect("a book");
    let combustion = [
        Object::Chimney,
        Object::MechanicalDraughtVent,
        Object::SmallDirectVent,
        Object::MediumDirectVent,
        Object::LargeDirectVent,
    ];
    let exhausts = [
        Object::DryerOutlet,
        Object::KitchenExhaust,
        Object::BathExhaust,
        Object::MechanicalExhaust,
    ];
    let cases = combustion
        .map(|object| (object, 10.0 * FOOT))
        .into_iter()
        .chain(exhausts.map(|object| (object, 6.0 * FOOT)));
    for (object, limit) in cases {
        let thing = on(0, object, [2.0, 5.0], [0.1, 0.1]);
        let site = site(vec![thing], under(&[]));
        for (more, holds) in [(0.0, true), (-0.001, false), (0.001, true)] {
            let place = Place {
                wall: 0,
                at: [2.1 + limit + 0.1 + more, 5.05],
            };
            let verdict = judge(&site, SMALL, place, Stream::Intake).expect("a wall");
            assert_eq!(verdict.holds(), holds, "{object:?} {more}");
            assert!((verdict.margin() - more).abs() < 1e-9, "{object:?}");
            // The region agrees outside its half millimetre.
            if more != 0.0 {
                let region = region(&site, SMALL, 0, Stream::Intake).expect("a wall");
                assert_eq!(region.contains(place.at), holds, "{object:?} {more}");
            }
            // None of this concerns the exhaust.
            assert!(
                judge(&site, SMALL, place, Stream::Exhaust)
                    .expect("a wall")
                    .holds()
            );
        }
    }
    // The unit's own exhaust: 6 ft.
    let bare = site(Vec::new(), under(&[]));
    for (distance, holds) in [(6.0 * FOOT, true), (6.0 * FOOT - 0.001, false)] {
        let intake = Place {
            wall: 0,
            at: [3.0, 2.0],
        };
        let exhaust = Place {
            wall: 0,
            at: [3.2 + distance, 2.0],
        };
        let verdict = judge_pair(&bare, [SMALL; 2], intake, exhaust).expect("a wall");
        assert_eq!(verdict.holds(), holds, "{verdict:?}");
    }
    // Hoods of unlike size: from the edge of each, 6 ft between a side of 400 and one of 200 mm.
    let large = Opening {
        width: 0.4,
        height: 0.4,
    };
    for (distance, holds) in [(6.0 * FOOT, true), (6.0 * FOOT - 0.001, false)] {
        let intake = Place {
            wall: 0,
            at: [3.0, 2.0],
        };
        let exhaust = Place {
            wall: 0,
            at: [3.0 + 0.2 + distance + SMALL.width / 2.0, 2.0],
        };
        let verdict = judge_pair(&bare, [large, SMALL], intake, exhaust).expect("a wall");
        assert_eq!(verdict.holds(), holds, "{verdict:?}");
        let beside = region_beside(&bare, SMALL, 0, Stream::Exhaust, (intake, large));
        let further = [exhaust.at[0] + 0.0005, 2.0];
        assert_eq!(beside.expect("a wall").contains(further), holds);
        let best = best_beside(&bare, SMALL, 0, Stream::Exhaust, (intake, large));
        let best = best.expect("there is room").place;
        let verdict = judge_pair(&bare, [large, SMALL], intake, best).expect("a wall");
        assert!(verdict.holds(), "{best:?}");
    }
    // 18 in above grade, then 1 m by the job's override.
    for (demands, height) in [(under(&[]), 18.0 * INCH), (demands(&book), 1.0)] {
        let site = site(Vec::new(), demands);
        for (more, holds) in [(0.0, true), (-0.001, false)] {
            let place = Place {
                wall: 0,
                at: [6.0, height + 0.1 + more],
            };
            let verdict = judge(&site, SMALL, place, Stream::Intake).expect("a wall");
            assert_eq!(verdict.holds(), holds, "{height} {more}");
        }
    }
    // 0.7 m of snow ask for more than 18 in.
    let mut walls = tall_walls();
    walls[0].snow = 0.7;
    let site = Site::new(walls, Vec::new(), under(&[])).expect("a site");
    for (height, holds) in [(0.7, true), (0.699, false)] {
        let place = Place {
            wall: 0,
            at: [6.0, height + 0.1],
        };
        let verdict = judge(&site, SMALL, place, Stream::Intake).expect("a wall");
        assert_eq!(verdict.holds(), holds, "{height}");
    }
}

/// Each end of a wall is a corner, once; where the next wall carries on straight there is none.
#[test]
fn corners() {
    let names = |walls: Vec<Wall>| -> Vec<String> {
        let site = Site::new(walls, Vec::new(), Vec::new()).expect("a site");
        let things = site.things().iter();
        things.map(|thing| thing.name.clone()).collect()
    };
    assert_eq!(
        names(tall_walls()),
        [
            "corner of south and east",
            "corner of south and west",
            "corner of east and north",
            "corner of north and west",
        ]
    );
    let wall = |name, from, to| Wall::rectangle(name, [from, 0.0], [to, 0.0], 0.0, 3.0);
    assert_eq!(
        names(vec![wall("brick", 0.0, 4.0), wall("siding", 4.0, 9.0)]),
        ["corner of brick", "corner of siding"]
    );
}

/// A row in doubt forbids nothing until a job puts its own number in its place.
#[test]
fn doubt_decides_nothing() {
    let thing = || on(0, Object::GasMeter, [6.0, 1.0], [0.4, 0.5]);
    let place = Place {
        wall: 0,
        at: [6.8, 1.2],
    };
    let doubtful = site(vec![thing()], under(&[]));
    assert!(
        judge(&doubtful, SMALL, place, Stream::Intake)
            .expect("a wall")
            .holds()
    );
    let region_then = region(&doubtful, SMALL, 0, Stream::Intake).expect("a wall");
    assert!(region_then.contains(place.at));
    let drawn = region_then
        .forbidden
        .iter()
        .find(|forbidden| forbidden.against == Against::Thing(0))
        .expect("it is drawn nevertheless");
    assert!(!drawn.decides);

    let own = Override {
        id: "intake from a gas regulator".into(),
        value: 2.0,
        reason: "the gas supplier asks for it".into(),
        who: String::new(),
    };
    let book = RuleBook::new(&[], vec![own]).expect("a book");
    let decided = site(vec![thing()], demands(&book));
    let verdict = judge(&decided, SMALL, place, Stream::Intake).expect("a wall");
    assert!(!verdict.holds());
    let tightest = verdict.tightest().expect("a rule");
    assert!((tightest.margin - (0.3 - 2.0)).abs() < 1e-9, "{tightest:?}");
    assert!(
        !region(&decided, SMALL, 0, Stream::Intake)
            .expect("a wall")
            .contains(place.at)
    );
}

/// A pair under the model code of 2024: 10 ft apart, or the exhaust 3 ft above, or one hood.
#[test]
fn pairs() {
    let code = site(Vec::new(), under(&[RuleSet::Irc2024]));
    let intake = Place {
        wall: 0,
        at: [4.0, 2.0],
    };
    // Common practice asks for 6 ft besides.
    let facts = [
        ([4.2 + 10.0 * FOOT, 2.0], true),
        ([4.2 + 9.9 * FOOT, 2.0], false),
        ([4.0, 2.2 + 6.0 * FOOT], true),
        ([4.0, 2.2 + 3.0 * FOOT], false),
        ([4.2 + 5.5 * FOOT, 2.2 + 3.0 * FOOT], true),
        ([4.2 + 5.5 * FOOT, 2.2 + 2.9 * FOOT], false),
    ];
    let beside = region_beside(&code, SMALL, 0, Stream::Exhaust, (intake, SMALL)).expect("a wall");
    for (at, holds) in facts {
        let exhaust = Place { wall: 0, at };
        let verdict = judge_pair(&code, [SMALL; 2], intake, exhaust).expect("a wall");
        assert_eq!(verdict.holds(), holds, "{at:?}");
        // A hair further out the region says the same.
        let further = [at[0] + 0.001, at[1] + 0.001];
        assert_eq!(beside.contains(further), holds, "{at:?}");
    }
    // On each other: no.
    let verdict = judge_pair(&code, [SMALL; 2], intake, intake).expect("a wall");
    assert!(verdict.intake.fit.overlaps_other && !verdict.holds());

    let one_hood = judge_two_in_one(&code, SMALL, intake).expect("a wall");
    assert!(one_hood.holds(), "{one_hood:?}");
    assert!(best_two_in_one(&code, SMALL).is_some());
    // The edition of 2021 has no such exception: every wall is lost, and by that rule.
    let older = site(Vec::new(), under(&[RuleSet::Irc2021]));
    assert!(
        !judge_two_in_one(&older, SMALL, intake)
            .expect("a wall")
            .holds()
    );
    assert!(best_two_in_one(&older, SMALL).is_none());
    let region = region_two_in_one(&older, SMALL, 0).expect("a wall");
    assert!(region.allowed.is_empty());
    let (index, share) = region.taken()[0];
    assert!(
        older.demands()[region.forbidden[index].demand]
            .id()
            .starts_with("IRC 2021")
    );
    assert!((share - 1.0).abs() < 1e-9);
}

/// A hood needs room: within the outline, on no thing.
#[test]
fn room() {
    let site = site(
        vec![
            on(0, Object::Window, [4.0, 1.0], [1.0, 1.0]),
            before(0, Object::AirConditioner, [8.0, 0.0, 0.3], [1.0, 1.0, 1.0]),
        ],
        Vec::new(),
    );
    let facts = [
        ([0.1, 0.1], true, false),
        ([0.099, 0.1], false, false),
        ([11.9, 19.9], true, false),
        ([11.9, 19.901], false, false),
        ([20.0, 5.0], false, false),
        ([3.9, 1.5], true, false),
        ([3.901, 1.5], true, true),
        ([4.5, 1.5], true, true),
        ([4.5, 2.1], true, false),
        ([8.5, 0.5], true, false),
    ];
    for (at, on_wall, overlaps) in facts {
        let place = Place { wall: 0, at };
        let fit = judge(&site, SMALL, place, Stream::Intake)
            .expect("a wall")
            .fit;
        assert_eq!(fit.on_wall, on_wall, "{at:?}");
        assert_eq!(!fit.overlaps.is_empty(), overlaps, "{at:?}");
    }
    let region = region(&site, SMALL, 0, Stream::Intake).expect("a wall");
    let expected = 11.8 * 19.8 - 1.2 * 1.2;
    assert!((area(&region.free) - expected).abs() < (63.2 + 4.8) * 1e-5 + 1e-6);
    assert_eq!(region.free, region.allowed);
}

/// Areas in closed form. The forbidden figures are larger by up to half a millimetre all around.
#[test]
fn areas() {
    let [width, height] = [12.0, 20.0];
    let free = (width - 0.2) * (height - 0.2);
    let ground = 11.8 * 18.0 * INCH;
    let ten = 10.0 * FOOT;
    let rounded = |across: f64, up: f64, limit: f64| {
        across * up + 2.0 * limit * (across + up) + PI * limit * limit
    };
    // A disc less a segment beyond a chord at `away` from its centre.
    let segment = |radius: f64, away: f64| {
        radius * radius * (away / radius).acos() - away * (radius * radius - away * away).sqrt()
    };
    // (what, thing, forbidden area besides that near the ground, its perimeter)
    let facts: &[(&str, Thing, f64, f64)] = &[
        (
            "a rectangle rounded by 10 ft",
            on(0, Object::Chimney, [6.0, 10.0], [0.3, 0.5]),
            rounded(0.5, 0.7, ten),
            22.0,
        ),
        (
            "a point, and what the ground takes anyway",
            on(0, Object::Chimney, [6.0, 2.0], [0.0, 0.0]),
            {
                // The square of the opening, rounded by 10 ft, is cut where the opening's lower
                // edge is 18 in above the ground.
                let down = (2.0 - 0.1) - (18.0 * INCH + 0.1);
                rounded(0.2, 0.2, ten) - segment(ten, down) - 0.2 * (ten - down)
            },
            22.0,
        ),
        (
            "1.5 m in front of the wall: a smaller disc in the wall's plane",
            before(0, Object::Chimney, [6.0, 10.0, 1.5], [0.0, 0.0, 0.0]),
            {
                let radius = (ten * ten - 1.5 * 1.5).sqrt();
                // Upward from the point the line first gets shorter by half the opening.
                rounded(0.2, 0.2, radius)
            },
            22.0,
        ),
        (
            "on the east wall, 2 m from the corner: half of that, cut by the corner",
            on(1, Object::Chimney, [2.0, 10.0], [0.0, 0.0]),
            {
                let radius = (ten * ten - 4.0_f64).sqrt();
                // The opening's centre ends 0.1 m before the corner; the disc's middle is the corner
                // less half the opening.
                rounded(0.0, 0.2, radius) / 2.0
            },
            22.0,
        ),
        (
            "out of reach",
            before(0, Object::Chimney, [6.0, 10.0, 3.1], [0.0, 0.0, 0.0]),
            0.0,
            0.0,
        ),
    ];
    for (what, thing, forbidden, perimeter) in facts {
        let site = site(vec![thing.clone()], under(&[]));
        let region = region(&site, SMALL, 0, Stream::Intake).expect("a wall");
        let expected = free - ground - forbidden;
        let found = area(&region.allowed);
        // With 64 bits to a coordinate nothing else is lost than the margins on the safe side.
        let slack = 1e-5 * 2.0 * (width + height);
        // Close to the plane of a disc that is cut off its axis, half a millimetre of distance is
        // more along the wall: by the ratio of the radii.
        let more = ROUNDING * perimeter * 1.4;
        assert!(
            found <= expected + 1e-6 && expected - more - slack <= found,
            "{what}: {found} instead of {expected}"
        );
    }
}

/// Where a wall is lost, the rule that takes most of it is named; where nothing is allowed there is
/// no best place.
#[test]
fn nothing_legal() {
    let walls = vec![Wall::rectangle("south", [0.0, 0.0], [5.0, 0.0], 0.0, 3.0)];
    let vent = Thing::on_wall(
        "furnace vent",
        Object::MechanicalDraughtVent,
        (0, &walls[0]),
        [2.4, 1.0],
        [0.1, 0.1],
    );
    let site = Site::new(walls, vec![vent], under(&[])).expect("a site");
    assert_eq!(best(&site, HOOD, Stream::Intake), None);
    let region = region(&site, HOOD, 0, Stream::Intake).expect("a wall");
    assert!(region.allowed.is_empty());
    let (index, share) = region.taken()[0];
    let worst = &region.forbidden[index];
    assert_eq!(
        site.demands()[worst.demand].id(),
        "intake from combustion outlets"
    );
    assert_eq!(site.name(worst.against), "furnace vent");
    assert!((share - 1.0).abs() < 1e-9);
    // The exhaust may go there.
    assert!(best(&site, HOOD, Stream::Exhaust).is_some());
}

/// Between two vents the best place is halfway.
#[test]
fn best_between_two_vents() {
    let wall = Wall::rectangle("south", [0.0, 0.0], [7.0, 0.0], 0.0, 1.2);
    let vent = |left| Thing::on_wall("vent", Object::Chimney, (0, &wall), [left, 0.5], [0.1, 0.2]);
    let walls = vec![wall.clone()];
    let site = Site::new(walls, vec![vent(0.0), vent(6.9)], under(&[])).expect("a site");
    let found = best(&site, SMALL, Stream::Intake).expect("a place");
    // Halfway the gap on either side is 3.3 m; at the top of the wall the lower edge of the
    // opening lies 0.3 m above the vents besides.
    let margin = 3.3_f64.hypot(0.3) - 10.0 * FOOT;
    assert!((found.place.at[0] - 3.5).abs() < 1e-3, "{found:?}");
    assert!(found.margin <= margin + 1e-9, "{found:?}");
    assert!(margin - RESOLUTION < found.margin, "{found:?}");
    let tightest = found.tightest.expect("a rule");
    assert_eq!(
        site.demands()[tightest.demand].id(),
        "intake from combustion outlets"
    );
}

/// Walls and things that cannot be are refused with their name.
#[test]
fn refusals() {
    let wall = || Wall::rectangle("south", [0.0, 0.0], [7.0, 0.0], 0.0, 3.0);
    let thing = || {
        Thing::on_wall(
            "vent",
            Object::Chimney,
            (0, &wall()),
            [1.0, 1.0],
            [0.1, 0.1],
        )
    };
    type Change<'a> = &'a dyn Fn(&mut Wall, &mut Thing);
    let facts: &[(Change, &str)] = &[
        (
            &|wall, _| wall.end = [0.0, 0.0],
            "\"south\": the wall starts where it ends",
        ),
        (
            &|wall, _| wall.start[0] = f64::NAN,
            "\"south\": NaN m cannot be a coordinate: it has to be a number within 10 km",
        ),
        (
            &|wall, _| wall.outline.truncate(2),
            "\"south\": an outline needs three points or more",
        ),
        (
            &|wall, _| wall.outline.swap(1, 2),
            "\"south\": two sides of the outline cross each other",
        ),
        (
            &|wall, _| wall.grade.clear(),
            "\"south\": the ground line is missing",
        ),
        (
            &|wall, _| wall.grade.reverse(),
            "\"south\": the ground line has to run from left to right",
        ),
        (
            &|wall, _| wall.snow = -0.1,
            "\"south\": -0.1 m cannot be a depth of snow: it is below zero",
        ),
        (
            &|_, thing| thing.plan.clear(),
            "\"vent\": it has no place in plan",
        ),
        (
            &|_, thing| thing.top = 0.0,
            "\"vent\": its top lies below its bottom",
        ),
        (
            &|_, thing| thing.wall = Some(3),
            "\"vent\": there is no wall number 3",
        ),
    ];
    for (change, message) in facts {
        let (mut wall, mut thing) = (wall(), thing());
        change(&mut wall, &mut thing);
        let refused = Site::new(vec![wall], vec![thing], Vec::new()).expect_err(message);
        assert_eq!(refused.to_string(), *message);
    }
    // A place on a wall that does not exist is no place.
    let site = Site::new(vec![wall()], vec![thing()], Vec::new()).expect("a site");
    let place = Place {
        wall: 1,
        at: [1.0, 1.0],
    };
    assert_eq!(judge(&site, SMALL, place, Stream::Intake), None);
    assert_eq!(region(&site, SMALL, 1, Stream::Intake), None);
    // A hood that cannot be has no place.
    for width in [0.0, -0.2, f64::NAN, f64::INFINITY] {
        let hood = Opening { width, height: 0.2 };
        assert_eq!(best(&site, hood, Stream::Exhaust), None, "{width}");
        assert_eq!(best_pair(&site, hood), None, "{width}");
        let place = Place {
            wall: 0,
            at: [3.0, 1.5],
        };
        let verdict = judge(&site, hood, place, Stream::Intake).expect("a wall");
        assert!(!verdict.holds(), "{width}");
    }
}
