//! The questions of the walk through the house, in the order in which a contractor meets what they
//! ask for.

use drawing::measure::Sheet;
use store::edit::Found;

use super::answers::{Ask, Kind, Part, answered, said};

/// Where the contractor stands while a question is asked.
pub const STOPS: [&str; 8] = [
    "At the kitchen table",
    "At the front door",
    "At the furnace",
    "Along the ducts",
    "Where the unit will hang",
    "Outdoors",
    "On the wall",
    "Back at the unit",
];

/// One question.
pub struct Card {
    /// Its name, by which the file knows that it has no answer.
    pub id: &'static str,
    /// Place of its stop in [`STOPS`].
    pub stop: usize,
    /// What is asked.
    pub question: &'static str,
    /// How it is measured.
    pub how: &'static str,
    /// What can hurt somebody, and who may do it.
    pub caution: Option<&'static str>,
    /// The drawing beside it.
    pub sheet: Sheet,
    /// What is typed.
    pub asks: Vec<Ask>,
    /// One answer of several is enough.
    pub any: bool,
    /// What is said when there is no answer; a question without it has to be answered.
    pub without: Option<&'static str>,
    /// The group of forms that asks for everything about it.
    pub group: &'static str,
    /// It has an answer elsewhere in the file.
    pub elsewhere: bool,
}

impl Card {
    /// Whether it has an answer in the file.
    pub fn answered(&self, found: &[Found]) -> bool {
        let given = |ask: &Ask| answered(found, ask);
        let needed = || self.asks.iter().filter(|ask| ask.needed);
        self.elsewhere
            || if self.any || needed().next().is_none() {
                self.asks.iter().any(given)
            } else {
                needed().all(given)
            }
    }

    /// Whether nothing can be computed before it is answered: the six on the house, those on the
    /// blower once there is one, and whatever is answered in part.
    pub fn holds_up(&self, found: &[Found]) -> bool {
        let begun = |group: &str| found.iter().any(|f| f.path.first() == Some(&group.into()));
        let decides = match self.group {
            "house" | "climate" => self.without.is_none(),
            "air_handler" => self.without.is_none() && begun("air_handler"),
            _ => self.asks.iter().any(|ask| answered(found, ask)) && !self.any,
        };
        decides && !self.elsewhere && !self.answered(found)
    }
}

/// Names of the questions that the file says have no answer.
pub fn without_answer(found: &[Found]) -> Vec<String> {
    let path = ["survey".into(), "without_answer".into()];
    let list = found.iter().find(|found| found.path == path);
    list.and_then(Found::members).unwrap_or_default()
}

const NOT_MEASURED: Option<&str> = Some("I could not measure this");
const LENGTH: &[&str] = &["ft", "m"];
const PRESSURE: &[&str] = &["inWC", "Pa"];
const FLOW: &[&str] = &["cfm", "L/s", "m3/h"];
const TEMPERATURE: &[&str] = &["F", "°C"];
const YES: &[(&str, &str)] = &[("true", "yes"), ("false", "no")];
const FACING: &[(&str, &str)] = &[
    ("north", "north"),
    ("north-east", "north-east"),
    ("east", "east"),
    ("south-east", "south-east"),
    ("south", "south"),
    ("south-west", "south-west"),
    ("west", "west"),
    ("north-west", "north-west"),
];

fn key(path: &str) -> Vec<Part> {
    path.split('/').map(|key| Part::Key(key.into())).collect()
}

/// A key of the element at a place of a list.
fn nth(list: &str, place: usize, key: &str) -> Vec<Part> {
    vec![Part::Nth(list.into(), place), Part::Key(key.into())]
}

/// A key of a mode of the blower.
fn mode(mode: &str, key: &str) -> Vec<Part> {
    vec![
        Part::Key("air_handler".into()),
        Part::Where("mode".into(), "mode".into(), mode.into()),
        Part::Key(key.into()),
    ]
}

/// The questions that this survey asks. `catalogues` are those that are at hand.
pub fn cards(found: &[Found], catalogues: &[String]) -> Vec<Card> {
    let mut cards = at_the_table();
    cards.extend(at_the_door());
    cards.extend(at_the_furnace(found));
    cards.extend(where_it_hangs(found));
    cards.extend(outdoors(found));
    cards.extend(back_at_the_unit(found, catalogues));
    cards
}

/// A card with what most of them have.
fn card(
    id: &'static str,
    stop: usize,
    sheet: Sheet,
    question: &'static str,
    how: &'static str,
    asks: Vec<Ask>,
) -> Card {
    Card {
        id,
        stop,
        question,
        how,
        caution: None,
        sheet,
        asks,
        any: false,
        without: None,
        group: "house",
        elsewhere: false,
    }
}

fn at_the_table() -> Vec<Card> {
    vec![
        card(
            "place",
            0,
            Sheet::Altitude,
            "Where is the house, and how high does it lie?",
            "Town and region, for you and the inspector. The altitude makes air thinner; to the nearest 100 ft or 30 m is enough.",
            vec![
                Ask::new(key("house/place"), "Town and region", Kind::Text).needed(),
                Ask::new(key("house/altitude"), "Altitude", Kind::Quantity(LENGTH)).needed(),
            ],
        ),
        card(
            "floor area",
            0,
            Sheet::FloorArea,
            "How much floor is heated or cooled?",
            "From the listing or the plans, or measured along the outside walls, floor by floor. A finished basement counts; garage, attic and porch do not.",
            vec![
                Ask::new(
                    key("house/floor_area"),
                    "Floor area",
                    Kind::Quantity(&["ft2", "m2"]),
                )
                .needed(),
            ],
        ),
        card(
            "heights",
            0,
            Sheet::Heights,
            "How many storeys stand above the ground, and how high are the rooms?",
            "A half storey under the roof counts 1.5. The basement does not count here.",
            vec![
                Ask::new(key("house/storeys"), "Storeys above ground", Kind::Number).needed(),
                Ask::new(
                    key("house/ceiling_height"),
                    "Floor to ceiling",
                    Kind::Quantity(LENGTH),
                ),
            ],
        ),
        card(
            "bedrooms",
            0,
            Sheet::Bedrooms,
            "How many bedrooms are there, and how many people?",
            "Count each room meant for sleeping, used or not: the rules count people by them.",
            vec![
                Ask::new(key("house/bedrooms"), "Bedrooms", Kind::Count).needed(),
                Ask::new(key("house/occupants"), "People who live there", Kind::Count),
            ],
        ),
        Card {
            group: "climate",
            ..card(
                "weather",
                0,
                Sheet::Weather,
                "How cold and how hot does it get?",
                "The design temperatures of heating and cooling for the place, as your load calculation or the local authority has them; not the record of the century.",
                vec![
                    Ask::new(
                        key("climate/winter"),
                        "Winter design",
                        Kind::Signed(TEMPERATURE),
                    )
                    .needed(),
                    Ask::new(
                        key("climate/summer"),
                        "Summer design",
                        Kind::Signed(TEMPERATURE),
                    )
                    .needed(),
                ],
            )
        },
    ]
}

fn at_the_door() -> Vec<Card> {
    vec![
        Card {
            any: true,
            ..card(
                "blower door",
                1,
                Sheet::BlowerDoor,
                "How much does the house leak?",
                "Blower door at 50 Pa: windows and outer doors shut, inner doors open, dampers and traps as on any day. Without a blower door say how tight the house is; that is far less sure, and the band shows it.",
                vec![
                    Ask::new(key("house/blower_door"), "Flow at 50 Pa", Kind::Quantity(&["cfm", "L/s", "m3/h", "ach50"])),
                    Ask::new(
                        key("house/tightness"),
                        "Or without a blower door",
                        Kind::Choice(&[
                            ("leaky", "leaky: old, drafty"),
                            ("average", "average"),
                            ("tight", "tight: sealed with care"),
                            ("very tight", "very tight: tested"),
                        ]),
                    ),
                ],
            )
        }
        .with_caution("Before the fan runs: fires out, combustion appliances off and locked off, ashes covered; not at all where loose asbestos or mould may be stirred up. Turn everything back on afterwards, pilot lights too."),
        Card {
            any: true,
            without: Some("I do not know yet"),
            group: "appliance",
            ..card(
                "what burns",
                1,
                Sheet::Appliances,
                "Does anything in the house burn?",
                "Furnace, boiler, water heater, stove, fireplace. Name the one that draws its air from the rooms and is the easiest to draw down; the others go on its form.",
                vec![
                    Ask::new(
                        key("house/nothing_burns"),
                        "Nothing burns in this house",
                        Kind::Choice(YES),
                    ),
                    Ask::new(nth("appliance", 0, "name"), "Or what burns", Kind::Text),
                    Ask::new(
                        nth("appliance", 0, "venting"),
                        "How its gases leave",
                        Kind::Choice(&[
                            ("natural draft water heater alone", "natural draft: a water heater alone on the chimney"),
                            ("natural draft shared", "natural draft: with a water heater on one chimney"),
                            ("natural draft", "natural draft: furnace or boiler alone"),
                            ("induced draft shared", "induced draft, with a water heater"),
                            ("power vented", "power vented or induced draft, alone"),
                            ("sealed", "sealed: both pipes to outdoors"),
                            ("unvented", "into the room"),
                        ]),
                    ),
                ],
            )
        }
        .with_caution("Combustion gases kill. Spillage and carbon monoxide are tested, and gas and flue work is done, by those who are licensed for it there."),
    ]
}

/// Whether the job has forced air, as far as it is said.
fn forced_air(found: &[Found]) -> bool {
    !without_answer(found).iter().any(|id| id == "forced air")
}

fn at_the_furnace(found: &[Found]) -> Vec<Card> {
    let of_the_blower = |card: Card| Card {
        group: "air_handler",
        ..card
    };
    let mut cards = vec![of_the_blower(Card {
        without: Some("There is no forced air in this house"),
        ..card(
            "forced air",
            2,
            Sheet::BlowerMotor,
            "What drives the blower?",
            "The plate on the motor, or the maker's sheet by the model number. An induction motor has speed taps; an electronic one holds its torque or its airflow.",
            vec![
                Ask::new(
                    key("air_handler/blower"),
                    "Motor",
                    Kind::Choice(&[
                        ("fixed-speed-tap", "induction motor on a speed tap"),
                        ("constant-torque", "electronic, holds its torque"),
                        ("constant-airflow", "electronic, holds its airflow"),
                        ("as measured", "I cannot tell: take the readings alone"),
                    ]),
                )
                .needed(),
                Ask::new(key("air_handler/furnace"), "It heats with a furnace", Kind::Choice(YES)),
            ],
        )
    }
    .with_caution("Switch the power off at the disconnect before the blower door of the cabinet comes off; wiring is for those who are licensed for it."))];
    if !forced_air(found) {
        return cards;
    }
    cards.extend([
        of_the_blower(card(
            "blower flow",
            2,
            Sheet::BlowerFlow,
            "How much air does the blower move in heating?",
            "A flow plate in the place of the filter is the surest. Else from the temperature rise, or from the maker's blower table at the pressures of the next two cards; then write ± 10 % behind it.",
            vec![Ask::new(mode("heating", "flow"), "Blower flow in heating", Kind::Quantity(FLOW)).needed()],
        )),
        of_the_blower(card(
            "return pressure",
            2,
            Sheet::ReturnPressure,
            "How far below the house is the return plenum?",
            "Drill between filter and blower, away from the wheel; tip into the flow, other hose open to the room. The blower in heating, all doors of the cabinet shut, a clean filter in.",
            vec![Ask::new(mode("heating", "return_pressure"), "Below the house", Kind::Below(PRESSURE)).needed()],
        ))
        .with_caution("Look where you drill: no coil, no wire, no gas line behind the sheet metal. Close the hole again with a plug."),
        of_the_blower(card(
            "supply pressure",
            2,
            Sheet::SupplyPressure,
            "How far above the house is the supply plenum?",
            "Drill behind furnace and coil, before the first branch, an arm's length from the fan if you can; tip into the flow.",
            vec![Ask::new(mode("heating", "supply_pressure"), "Above the house", Kind::Quantity(PRESSURE)).needed()],
        ))
        .with_caution("Never drill where a coil, a heat exchanger or a drain pan may be; on the outlet of a furnace ask its maker's sheet where."),
        of_the_blower(Card {
            without: NOT_MEASURED,
            ..card(
                "filter",
                2,
                Sheet::Filter,
                "What does the filter hold back?",
                "Both hoses on one manometer, before and behind the filter, in heating.",
                vec![Ask::new(key("air_handler/filter_pressure_drop"), "Pressure drop of the filter", Kind::Quantity(PRESSURE))],
            )
        }),
        of_the_blower(Card {
            without: Some("There is no other mode"),
            ..card(
                "second mode",
                2,
                Sheet::SecondMode,
                "And in cooling?",
                "Call cooling at the thermostat, give the blower two minutes, and read flow and both holes again.",
                vec![
                    Ask::new(mode("cooling", "flow"), "Blower flow in cooling", Kind::Quantity(FLOW)).needed(),
                    Ask::new(mode("cooling", "return_pressure"), "Return plenum, below the house", Kind::Below(PRESSURE)),
                    Ask::new(mode("cooling", "supply_pressure"), "Supply plenum, above the house", Kind::Quantity(PRESSURE)),
                ],
            )
        }),
        of_the_blower(Card {
            without: NOT_MEASURED,
            ..card(
                "return trunk",
                3,
                Sheet::ReturnTrunk,
                "How long is the return trunk, and what is its inner size?",
                "From the blower to its far end. If a joist bay is the duct, its size is the clear width between the joists and the depth of the bay.",
                vec![
                    Ask::new(key("air_handler/return/length"), "Length of the return trunk", Kind::Quantity(LENGTH)),
                    Ask::new(key("air_handler/return/section"), "Inner size of the return trunk", Kind::Section),
                ],
            )
        }),
        of_the_blower(Card {
            without: NOT_MEASURED,
            ..card(
                "supply trunk",
                3,
                Sheet::SupplyTrunk,
                "How long is the supply trunk, and what is its inner size?",
                "From the blower to its far end, the sheet metal without its insulation.",
                vec![
                    Ask::new(key("air_handler/supply/length"), "Length of the supply trunk", Kind::Quantity(LENGTH)),
                    Ask::new(key("air_handler/supply/section"), "Inner size of the supply trunk", Kind::Section),
                ],
            )
        }),
        Card {
            group: "tap",
            without: Some("No duct can be tapped"),
            ..card(
                "first tap",
                3,
                Sheet::Tap,
                "Where could a duct be tapped?",
                "A straight, free piece, best far from the blower on the return. Measure along the middle of the duct.",
                tap(0, "return end"),
            )
        }
        .with_caution("Old tape, wrap and mastic may hold asbestos: have it looked at before you cut."),
        Card {
            group: "tap",
            without: Some("There is no second place"),
            ..card(
                "second tap",
                3,
                Sheet::SecondTap,
                "And where else?",
                "A second place far from the first, or on the supply side: then plans that give and take at one blower can be compared.",
                tap(1, "second tap"),
            )
        },
    ]);
    cards
}

fn tap(place: usize, name: &'static str) -> Vec<Ask> {
    const SIDE: Kind = Kind::Choice(&[("return", "the return"), ("supply", "the supply")]);
    vec![
        Ask::new(nth("tap", place, "name"), "Name of this tap", Kind::Text)
            .needed()
            .preset(name),
        Ask::new(nth("tap", place, "on"), "On", SIDE)
            .needed()
            .preset("return"),
        Ask::new(
            nth("tap", place, "from_fan"),
            "From the blower, along the duct",
            Kind::Quantity(LENGTH),
        )
        .needed(),
    ]
}

fn grille(place: usize, name: &'static str) -> Vec<Ask> {
    const USE: Kind = Kind::Choice(&[("extract", "extract air"), ("supply", "supply air")]);
    vec![
        Ask::new(nth("grille", place, "use"), "It is for", USE).needed(),
        Ask::new(
            nth("grille", place, "name"),
            "Name of this grille",
            Kind::Text,
        )
        .needed()
        .preset(name),
    ]
}

fn where_it_hangs(found: &[Found]) -> Vec<Card> {
    let mut cards = vec![Card {
        group: "grille",
        without: Some("There is no grille to be added"),
        ..card(
            "grille",
            3,
            Sheet::Grille,
            "Can a room have a grille of the ventilator's own?",
            "The bathroom for extract air is the usual one; a duct has to reach it.",
            grille(0, "bath grille"),
        )
    }];
    if !forced_air(found) {
        cards.push(Card {
            group: "grille",
            without: Some("There is no second grille"),
            ..card(
                "second grille",
                3,
                Sheet::Grille,
                "And a grille for the other stream?",
                "Without forced air both streams need grilles of their own: supply air for the living room and the bedrooms, extract air from the bathroom.",
                grille(1, "living room grille"),
            )
        });
    }
    cards.extend([
        Card {
            group: "spot",
            ..card(
                "spot",
                4,
                Sheet::Spot,
                "Where may the unit hang?",
                "Where filter and core can be taken out. The coldest and the warmest air around it decide whether a unit may hang there; in a heated basement leave both as usual.",
                vec![
                    Ask::new(nth("spot", 0, "name"), "Name of this place", Kind::Text).needed(),
                    Ask::new(nth("spot", 0, "coldest"), "Coldest air there", Kind::Signed(TEMPERATURE)),
                    Ask::new(nth("spot", 0, "warmest"), "Warmest air there", Kind::Signed(TEMPERATURE)),
                ],
            )
        },
        Card {
            group: "spot",
            without: Some("As usual: all of it is there"),
            ..card(
                "drain",
                4,
                Sheet::Drain,
                "Is there a drain, an outlet, and something that carries it?",
                "A drain with a trap that does not freeze; an outlet without an extension cord; joists or a wall that no bedroom leans on.",
                vec![
                    Ask::new(nth("spot", 0, "drain"), "A drain can be reached", Kind::Choice(YES)),
                    Ask::new(nth("spot", 0, "outlet"), "An outlet can be reached", Kind::Choice(YES)),
                    Ask::new(nth("spot", 0, "support"), "Something carries it without shaking a bedroom", Kind::Choice(YES)),
                ],
            )
        }
        .with_caution("A new outlet is for a licensed electrician."),
    ]);
    cards
}

fn outdoors(found: &[Found]) -> Vec<Card> {
    let wall = said(found, &nth("wall", 0, "name"));
    let kind = said(found, &nth("terminal", 0, "kind"));
    let mut cards = vec![
        Card {
            group: "wall",
            without: Some("I did not measure a wall"),
            ..card(
                "wall",
                5,
                Sheet::Wall,
                "Which wall may be pierced?",
                "Stand outdoors and face it: its left corner is where all distances begin. Windows, vents and meters are drawn on the wall's own page.",
                vec![
                    Ask::new(nth("wall", 0, "name"), "Name of this wall", Kind::Text).needed(),
                    Ask::new(nth("wall", 0, "facing"), "It faces", Kind::Choice(FACING)).needed(),
                    Ask::new(nth("wall", 0, "width"), "Width", Kind::Quantity(LENGTH)).needed(),
                    Ask::new(nth("wall", 0, "height"), "Height to the eaves", Kind::Quantity(LENGTH)).needed(),
                ],
            )
        },
        Card {
        group: "climate",
        without: Some("It does not snow there"),
        ..card(
            "snow",
            5,
            Sheet::Snow,
            "How deep does snow lie at the walls?",
            "Ask who shovels there; drifts count.",
            vec![Ask::new(
                key("climate/snow"),
                "Expected snow",
                Kind::Quantity(&["in", "cm"]),
            )],
        )
    },
        Card {
            group: "terminal",
            ..card(
                "hood",
                6,
                Sheet::Hood,
                "Where may a hood go?",
                "The centre of the opening, from the left corner and above the ground below it.",
                hood(0, wall.as_deref(), "first hood", true),
            )
        }
        .with_caution("Ladders: on firm ground, tied, one person at the foot. Look for wires and pipes in the wall before you drill."),
    ];
    if kind.as_deref() != Some("two-in-one") {
        cards.push(Card {
            group: "terminal",
            without: Some("There is no second hood"),
            ..card(
                "second hood",
                6,
                Sheet::SecondHood,
                "And the other hood?",
                "Intake and exhaust need a distance from each other: many codes ask for 10 ft or 3 m. Where it cannot be kept, a two-in-one hood may be allowed.",
                hood(1, wall.as_deref(), "second hood", false),
            )
        });
    }
    cards
}

fn hood(place: usize, wall: Option<&str>, name: &'static str, two_in_one: bool) -> Vec<Ask> {
    let kinds: &[(&str, &str)] = if two_in_one {
        &[
            ("hood", "one stream"),
            ("two-in-one", "intake and exhaust through one opening"),
        ]
    } else {
        &[("hood", "one stream")]
    };
    let mut asks = vec![
        Ask::new(
            nth("terminal", place, "name"),
            "Name of this hood",
            Kind::Text,
        )
        .needed()
        .preset(name),
        Ask::new(
            nth("terminal", place, "kind"),
            "It is for",
            Kind::Choice(kinds),
        ),
    ];
    match wall {
        Some(wall) => asks.extend([
            Ask::new(nth("terminal", place, "wall"), "On the", Kind::Fixed)
                .needed()
                .preset(wall),
            Ask::new(
                nth("terminal", place, "along"),
                "Along the wall, from its left corner",
                Kind::Quantity(LENGTH),
            )
            .needed(),
        ]),
        None => asks.push(
            Ask::new(
                nth("terminal", place, "facing"),
                "Its wall faces",
                Kind::Choice(FACING),
            )
            .needed(),
        ),
    }
    asks.push(Ask::new(
        nth("terminal", place, "height"),
        "Above the ground",
        Kind::Quantity(LENGTH),
    ));
    asks
}

fn back_at_the_unit(found: &[Found], catalogues: &[String]) -> Vec<Card> {
    let mut runs = Vec::new();
    for list in ["tap", "grille", "terminal"] {
        for place in 0.. {
            let Some(name) = said(found, &nth(list, place, "name")) else {
                break;
            };
            let way = vec![
                Part::Nth("spot".into(), 0),
                Part::Key("runs".into()),
                Part::Key(name.clone()),
            ];
            runs.push(Ask::new(way, &format!("To {name}"), Kind::Run));
        }
    }
    let own = found
        .iter()
        .any(|found| found.path.first() == Some(&"unit".into()));
    let mut choices = catalogues.to_vec();
    let named = said(found, &key("catalogue"));
    choices.extend(named.filter(|named| !catalogues.contains(named)));
    vec![
        Card {
            group: "spot",
            without: Some("Take the usual: 15 ft or 4.6 m and two elbows each"),
            ..card(
                "runs",
                7,
                Sheet::Runs,
                "How far is it from the unit to each of them?",
                "Along the new duct, and how many elbows. As soon as one is given, what is left empty counts as out of reach from here.",
                runs,
            )
        },
        Card {
            group: "unit",
            elsewhere: own,
            ..card(
                "units",
                7,
                Sheet::Unit,
                "From which units do you choose?",
                "A catalogue holds the tested figures of your suppliers' units; it is brought in on the first page. The figures of a single unit can also be typed on its form.",
                vec![Ask::new(key("catalogue"), "Catalogue", Kind::OneOf(choices)).needed()],
            )
        },
    ]
}

impl Card {
    fn with_caution(self, caution: &'static str) -> Self {
        Self {
            caution: Some(caution),
            ..self
        }
    }
}
