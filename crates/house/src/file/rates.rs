//! What the rules of rates ask beyond the survey: weather factor, rooms, hours of running.

use rules::rates::exposure::Schedule;
use rules::rates::{Basement, Category, Edition, Rooms, Variants};
use units::{Area, Quantity};

use super::reader::Reader;
use super::tables::{GrilleTable, JobTable, RatesTable, RoomsTable};
use super::value::{Given, Item, Path, Shape, Slot, Value, shortened, text};
use super::words::Use;
use crate::model::{Building, Exhaust, Grille, Rates, Running, Serves, Zone, ZoneKind};

pub(super) fn rates(
    table: &JobTable,
    building: &Building,
    zones: &[Zone],
    run_share: f64,
    reader: &mut Reader,
) -> Rates {
    let absent = RatesTable::default();
    let rates = table.rates.value().unwrap_or(&absent);
    let weather_factor = rates.weather_factor.given().map(|given| {
        let factor = given.value.value;
        if !(0.1..=1.5).contains(&factor) {
            reader.error(
                &given.span,
                format!("rates.weather_factor cannot be {}", given.value.text),
                "weather and shielding factors of ASHRAE 62.2 lie between about 0.3 and 1.2",
            );
        }
        factor
    });
    let share = reader.share("rates.exterior_share", &rates.exterior_share);
    let exterior_share = if rates.exterior_share.is_absent() {
        reader.assume(
            "rates.exterior_share",
            "100 %",
            "a detached house: no part of its envelope is shared with another dwelling",
        );
        1.0
    } else {
        share
    };
    let shelter = rates.shelter.given().map_or(3, |given| {
        if !(1..=5).contains(&given.value) {
            reader.error(
                &given.span,
                format!("rates.shelter cannot be {}", given.value),
                "1 (open, nothing near) to 5 (obstacles closer than a house height)",
            );
        }
        given.value
    });
    if rates.shelter.is_absent() {
        reader.assume(
            "rates.shelter",
            "3",
            "buildings across the street (shelter classes of ASHRAE Fundamentals 2021, ch. 16)",
        );
    }
    Rates {
        weather_factor,
        exterior_share,
        new_construction: reader.choice(
            "rates.new_construction",
            &rates.new_construction,
            false,
            "no",
            "a retrofit of an existing house",
        ),
        cap_credit: rates.cap_credit.value().copied().unwrap_or(true),
        distributed: rates.distributed.value().copied(),
        variants: Variants {
            edition: rates.edition.value().copied().unwrap_or(Edition::From2019),
            category: rates.category.value().copied().unwrap_or(Category::II),
        },
        shelter,
        running: running(rates, run_share, reader),
        rooms: rooms(&rates.rooms, building, zones, reader),
        rooms_assumed: rates.rooms.is_absent(),
    }
}

/// When the ventilator runs.
fn running(rates: &RatesTable, run_share: f64, reader: &mut Reader) -> Running {
    let spans: Vec<[f64; 2]> = rates
        .hours
        .each()
        .iter()
        .map(|hours| hours.value.0)
        .collect();
    if let Some(given) = rates.hours.given() {
        match Schedule::spans(&spans) {
            Ok(schedule) => {
                if run_share < 1.0 && (run_share - schedule.share()).abs() > 0.01 {
                    reader.warn(
                        &given.span,
                        format!(
                            "rates.hours are {:.0} % of the day, but controls.run_share is {:.0} %",
                            100.0 * schedule.share(),
                            100.0 * run_share
                        ),
                        "give one of the two, or make them agree",
                    );
                }
                return Running {
                    schedule,
                    hours: spans,
                };
            }
            Err(error) => reader.error(
                &given.span,
                format!("rates.hours: {error}"),
                "write spans of the day, like [\"6-9\", \"17-23\"]",
            ),
        }
    }
    Running {
        schedule: Schedule::share_of_each_hour(run_share).unwrap_or_else(|_| Schedule::always()),
        hours: Vec::new(),
    }
}

fn rooms(
    slot: &Slot<RoomsTable>,
    building: &Building,
    zones: &[Zone],
    reader: &mut Reader,
) -> Rooms {
    const REASON: &str = "usual for a house with so many bedrooms (common practice, no published source); the Canadian rate and local exhaust count rooms";
    let absent = RoomsTable::default();
    let table = slot.value().unwrap_or(&absent);
    let below = zones.iter().any(|zone| zone.kind == ZoneKind::Basement);
    let usual = Rooms {
        living: 2,
        kitchens: 1,
        enclosed_kitchen_area: None,
        bathrooms: 1 + u32::from(building.bedrooms > 2),
        toilets: 0,
        utility_rooms: 1,
        basement: if below {
            Basement::Open
        } else {
            Basement::None
        },
        kitchen_window: false,
        bathroom_window: false,
    };
    if slot.is_absent() {
        reader.assume(
            "rates.rooms",
            format!(
                "{} rooms to live in, {} kitchen, {} bathroom{}, {} utility room, basement: {}",
                usual.living,
                usual.kitchens,
                usual.bathrooms,
                if usual.bathrooms == 1 { "" } else { "s" },
                usual.utility_rooms,
                usual.basement.name()
            ),
            REASON,
        );
        return usual;
    }
    let mut count = |key: &str, slot: &Slot<u32>, usual: u32| {
        let field = format!("rates.rooms.{key}");
        if slot.is_absent() {
            reader.assume(&field, usual.to_string(), REASON);
        }
        if let Some(given) = slot.given().filter(|given| given.value > 30) {
            reader.error(
                &given.span,
                format!("{field} cannot be {}", given.value),
                "a dwelling has 0 to 30 rooms of a kind",
            );
        }
        slot.value().copied().unwrap_or(usual)
    };
    let living = count("living", &table.living, usual.living);
    let kitchens = count("kitchens", &table.kitchens, usual.kitchens);
    let bathrooms = count("bathrooms", &table.bathrooms, usual.bathrooms);
    let toilets = count("toilets", &table.toilets, usual.toilets);
    let utility_rooms = count("utility_rooms", &table.utility_rooms, usual.utility_rooms);
    let area = reader.within(
        "rates.rooms.enclosed_kitchen",
        &table.enclosed_kitchen,
        2.0..=200.0,
        "from 22 to 2150 ft2 (2 to 200 m2)",
    );
    if let Some(given) = table.enclosed_kitchen.given()
        && area > building.floor_area
    {
        let whole = Area::from_si(building.floor_area).show(reader.system);
        reader.error(
            &given.span,
            "rates.rooms.enclosed_kitchen is larger than the house",
            format!("the house has {whole}"),
        );
    }
    Rooms {
        living,
        kitchens,
        enclosed_kitchen_area: table.enclosed_kitchen.given().map(|_| area),
        bathrooms,
        toilets,
        utility_rooms,
        basement: reader.choice(
            "rates.rooms.basement",
            &table.basement,
            usual.basement,
            usual.basement.name(),
            "a basement that is a zone is taken as one open room",
        ),
        kitchen_window: table.kitchen_window.value().copied().unwrap_or(false),
        bathroom_window: table.bathroom_window.value().copied().unwrap_or(false),
    }
}

/// What an exhaust or a grille serves, by the words in its name.
fn by_name(name: &str) -> Serves {
    let name = name.to_lowercase();
    let has = |words: &[&str]| words.iter().any(|word| name.contains(word));
    if has(&["hood", "cooker", "range"]) {
        Serves::KitchenHood
    } else if has(&["kitchen"]) {
        Serves::Kitchen
    } else if has(&["bath", "shower"]) {
        Serves::Bathroom
    } else if has(&["toilet", "powder room", "wc"]) {
        Serves::Toilet
    } else if has(&["laundry", "utility"]) {
        Serves::Utility
    } else {
        Serves::Nothing
    }
}

const BY_NAME: &str = "by their names; give serves to say otherwise";

/// Fills in what exhausts serve, where the file does not say.
pub(super) fn served_by_exhausts(table: &JobTable, exhausts: &mut [Exhaust], reader: &mut Reader) {
    let slots = table.exhaust.each().iter().map(|given| &given.value.serves);
    let mut guessed = Vec::new();
    for (exhaust, slot) in exhausts.iter_mut().zip(slots) {
        exhaust.serves = slot.value().copied().unwrap_or_else(|| {
            let serves = by_name(&exhaust.name);
            guessed.push(format!("{}: {}", exhaust.name, serves.name()));
            serves
        });
    }
    if !guessed.is_empty() {
        reader.assume("exhaust.serves", guessed.join("; "), BY_NAME);
    }
}

/// Fills in which rooms the extract grilles serve, where the file does not say.
pub(super) fn served_by_grilles(
    members: &[Given<GrilleTable>],
    grilles: &mut [Grille],
    reader: &mut Reader,
) {
    let mut guessed = Vec::new();
    for (grille, given) in grilles.iter_mut().zip(members) {
        let slot = &given.value.serves;
        if given.value.r#use.value() == Some(&Use::Supply) {
            if let Some(typed) = slot.given() {
                reader.error(
                    &typed.span,
                    "grille.serves belongs to grilles that extract",
                    "leave it out, or correct grille.use",
                );
            }
            continue;
        }
        grille.serves = match slot.value().copied() {
            Some(Serves::KitchenHood) => {
                if let Some(typed) = slot.given() {
                    reader.error(
                        &typed.span,
                        "a grille of the ventilator is no hood over a cooker",
                        "write serves = \"kitchen\"; grease does not belong into the ventilator",
                    );
                }
                Serves::Kitchen
            }
            Some(serves) => serves,
            None => {
                let serves = match by_name(&grille.name) {
                    Serves::KitchenHood => Serves::Kitchen,
                    serves => serves,
                };
                guessed.push(format!("{}: {}", grille.name, serves.name()));
                serves
            }
        };
    }
    if !guessed.is_empty() {
        reader.assume("grille.serves", guessed.join("; "), BY_NAME);
    }
}

/// A span of the day, from and to in seconds since midnight.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Hours(pub [f64; 2]);

impl Hours {
    /// `6-22`, `6:30-22:00`, `22-6` over midnight.
    fn parse(text: &str) -> Option<Self> {
        let time = |text: &str| -> Option<f64> {
            let (hours, minutes) = text.split_once(':').unwrap_or((text, "0"));
            let hours: u32 = hours.trim().parse().ok()?;
            let minutes: u32 = minutes.trim().parse().ok()?;
            let within = minutes < 60 && (hours < 24 || (hours == 24 && minutes == 0));
            within.then(|| f64::from(hours * 60 + minutes) * 60.0)
        };
        let (from, to) = text.split_once(['-', '–'])?;
        let (from, to) = (time(from)?, time(to)?);
        ((from - to).abs() > 1.0).then_some(Self([from, to]))
    }
}

impl Value for Hours {
    fn shape() -> Shape {
        Shape::Written {
            name: "span of the day, from and to on the clock of 24 hours",
            examples: "6-22, 6:30-9:00, 22-6",
        }
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        let text = text::<Self>(item, path, reader)?;
        let hours = Self::parse(&text.to_lowercase().replace('h', ""));
        if hours.is_none() {
            reader.error(
                &item.span(),
                format!("{path}: \"{}\" is not a span of the day", shortened(text)),
                format!("{path} takes {}", Self::shape().accepted()),
            );
        }
        hours
    }
}
