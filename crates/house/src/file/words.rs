//! Words and forms of the file.

use units::{AirChanges, Angle, Length, Pressure, Quantity as _, System, Typed, VolumeFlow};

use super::reader::Reader;
use super::value::{Item, Path, Shape, Value, shortened, text, word, words};
use crate::model::{
    BlowerKind, Entry, InstrumentKind, Interlock, Layout, Material, Mode, OpeningKind, OrificeTaps,
    Section, Serves, Setting, Side, Venting, ZoneKind,
};
use diagnostics::{Problem, nearest};
use rules::RuleSet;
use rules::clearances::Object;
use rules::rates::{Basement, Category, Edition};

words!(System { "IP" => System::Ip, "SI" => System::Si });

words!(ZoneKind {
    "living" => ZoneKind::Living,
    "basement" => ZoneKind::Basement,
    "attic" => ZoneKind::Attic,
    "crawlspace" => ZoneKind::Crawlspace,
    "garage" => ZoneKind::Garage,
});

words!(RuleSet {
    "common practice" => RuleSet::CommonPractice,
    "ASHRAE 62.2" => RuleSet::Ashrae622,
    "very tight house" => RuleSet::VeryTightHouse,
    "IRC 2024" => RuleSet::Irc2024,
    "IRC 2021" => RuleSet::Irc2021,
    "Washington" => RuleSet::Washington,
    "Canada" => RuleSet::Canada,
    "Ontario" => RuleSet::Ontario,
    "England" => RuleSet::England,
    "Europe" => RuleSet::Europe,
});

words!(Edition {
    "2010" => Edition::To2010,
    "2013" => Edition::From2013,
    "2016" => Edition::From2016,
    "2019" => Edition::From2019,
    "2022" => Edition::From2019,
});

words!(Category { "I" => Category::I, "II" => Category::II, "III" => Category::III });

words!(Basement {
    "none" => Basement::None,
    "open" => Basement::Open,
    "divided" => Basement::Divided,
});

words!(Serves {
    "kitchen hood" => Serves::KitchenHood,
    "kitchen" => Serves::Kitchen,
    "bath" => Serves::Bathroom,
    "toilet" => Serves::Toilet,
    "utility" => Serves::Utility,
    "none" => Serves::Nothing,
});

words!(Venting {
    "natural draft water heater alone" => Venting::NaturalDraftWaterHeaterAlone,
    "natural draft shared" => Venting::NaturalDraftShared,
    "natural draft" => Venting::NaturalDraft,
    "induced draft shared" => Venting::InducedDraftShared,
    "power vented" => Venting::PowerVented,
    "sealed" => Venting::Sealed,
    "unvented" => Venting::Unvented,
});
words!(OpeningKind {
    "door undercut" => OpeningKind::DoorUndercut,
    "open" => OpeningKind::Open,
    "transfer grille" => OpeningKind::TransferGrille,
});

words!(BlowerKind {
    "fixed-speed-tap" => BlowerKind::FixedSpeedTap,
    "constant-torque" => BlowerKind::ConstantTorque,
    "constant-airflow" => BlowerKind::ConstantAirflow,
    "as measured" => BlowerKind::AsMeasured,
});

words!(Mode {
    "low" => Mode::Low,
    "heating" => Mode::Heating,
    "cooling" => Mode::Cooling,
});

words!(Setting { "low" => Setting::Low, "high" => Setting::High, "boost" => Setting::Boost });

words!(Material {
    "galvanised" => Material::Galvanised,
    "smooth plastic" => Material::SmoothPlastic,
    "semi-rigid" => Material::SemiRigid,
    "flexible" => Material::Flexible,
});

words!(Side { "return" => Side::Return, "supply" => Side::Supply });

words!(Interlock {
    "none" => Interlock::None,
    "ventilator calls blower" => Interlock::VentilatorCallsBlower,
    "only with blower" => Interlock::OnlyWithBlower,
});

words!(Layout {
    "dedicated return" => Layout::DedicatedReturn,
    "return-to-supply" => Layout::ReturnToSupply,
    "return-to-return" => Layout::ReturnToReturn,
    "fully ducted" => Layout::FullyDucted,
});

words!(Entry { "flush" => Entry::Flush, "facing downstream" => Entry::FacingDownstream });

words!(OrificeTaps {
    "flange" => OrificeTaps::Flange,
    "corner" => OrificeTaps::Corner,
    "D and D/2" => OrificeTaps::DiameterAndHalf,
});

words!(InstrumentKind {
    "manometer" => InstrumentKind::Manometer,
    "powered hood" => InstrumentKind::PoweredHood,
    "passive hood" => InstrumentKind::PassiveHood,
    "flow plate" => InstrumentKind::FlowPlate,
});

/// A blower mode in which the ventilator may run; unlike a surveyed mode it may be "off".
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct RunningMode(pub Mode);

words!(RunningMode {
    "off" => RunningMode(Mode::Off),
    "low" => RunningMode(Mode::Low),
    "heating" => RunningMode(Mode::Heating),
    "cooling" => RunningMode(Mode::Cooling),
});

/// What turns a reading into a flow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum StationKind {
    Chart,
    PowerLaw,
    Orifice,
    AveragingProbe,
    PitotTraverse,
    PoweredHood,
    PassiveHood,
    FlowPlate,
    ExhaustBox,
}

words!(StationKind {
    "chart" => StationKind::Chart,
    "power law" => StationKind::PowerLaw,
    "orifice" => StationKind::Orifice,
    "averaging probe" => StationKind::AveragingProbe,
    "Pitot traverse" => StationKind::PitotTraverse,
    "powered hood" => StationKind::PoweredHood,
    "passive hood" => StationKind::PassiveHood,
    "flow plate" => StationKind::FlowPlate,
    "exhaust box" => StationKind::ExhaustBox,
});

/// A unit in which an instrument is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct ReadsIn(pub &'static str);

words!(ReadsIn {
    "inWC" => ReadsIn("inWC"),
    "Pa" => ReadsIn("Pa"),
    "mmH2O" => ReadsIn("mmH2O"),
    "cfm" => ReadsIn("cfm"),
    "L/s" => ReadsIn("L/s"),
    "m3/h" => ReadsIn("m³/h"),
});

/// A point of a chart: pressure (Pa) and flow (m³/s).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct ChartPoint {
    pub pressure: f64,
    pub flow: f64,
}

impl Value for ChartPoint {
    fn shape() -> Shape {
        Shape::Written {
            name: "pressure and flow",
            examples: "0.10 inWC, 46 cfm",
        }
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        let typed = text::<Self>(item, path, reader)?;
        // A decimal comma has no blank after it.
        let Some((pressure, flow)) = typed.split_once(", ").or_else(|| typed.split_once(';'))
        else {
            reader.error(
                &item.span(),
                format!("{path} cannot be {}", shortened(typed)),
                "write pressure and flow with a comma between, like 0.10 inWC, 46 cfm",
            );
            return None;
        };
        let pressure = reader.quantity::<Pressure>(pressure, path, item.span())?;
        let flow = reader.quantity::<VolumeFlow>(flow, path, item.span())?;
        Some(Self {
            pressure: pressure.value.si(),
            flow: flow.value.si(),
        })
    }
}

/// A flow (m³/s) at a pressure (Pa).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct FlowAt {
    pub flow: f64,
    pub pressure: f64,
}

impl Value for FlowAt {
    fn shape() -> Shape {
        Shape::Written {
            name: "flow at a pressure",
            examples: "12.4 cfm at 1 Pa, 98 cfm at 0.25 inWC",
        }
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        let typed = text::<Self>(item, path, reader)?;
        let Some((flow, pressure)) = typed.split_once(" at ") else {
            reader.error(
                &item.span(),
                format!("{path} cannot be {}", shortened(typed)),
                "write a flow at a pressure, like 12.4 cfm at 1 Pa",
            );
            return None;
        };
        let flow = reader.quantity::<VolumeFlow>(flow, path, item.span())?;
        let pressure = reader.quantity::<Pressure>(pressure, path, item.span())?;
        Some(Self {
            flow: flow.value.si(),
            pressure: pressure.value.si(),
        })
    }
}

/// What an instrument can show: a pressure (Pa) or a flow (m³/s).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Shown {
    Pressure(f64),
    Flow(f64),
}

impl Value for Shown {
    fn shape() -> Shape {
        Shape::Written {
            name: "pressure or flow",
            examples: "0.5 Pa, 0.001 inWC, 1 cfm",
        }
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        let typed = text::<Self>(item, path, reader)?;
        match Typed::<VolumeFlow>::parse(typed) {
            Ok(flow) => Some(Self::Flow(flow.value.si())),
            Err(_) => reader
                .quantity::<Pressure>(typed, path, item.span())
                .map(|pressure| Self::Pressure(pressure.value.si())),
        }
    }
}

/// A day, as ISO 8601 writes it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Date(pub String);

impl Value for Date {
    fn shape() -> Shape {
        Shape::Written {
            name: "year, month and day",
            examples: "2026-03-01",
        }
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        let typed = text::<Self>(item, path, reader)?;
        let parts: Vec<Option<u32>> = typed.split('-').map(|part| part.parse().ok()).collect();
        let good = typed.len() == 10
            && matches!(
                parts.as_slice(),
                [Some(1950..=2200), Some(1..=12), Some(1..=31)]
            );
        if !good {
            reader.error(
                &item.span(),
                format!("{path} cannot be {}", shortened(typed)),
                "write year, month and day, like 2026-03-01",
            );
        }
        good.then(|| Self(typed.to_owned()))
    }
}

/// How tight the envelope is, where no blower door was run.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Tightness {
    Leaky,
    Average,
    Tight,
    VeryTight,
}

words!(Tightness {
    "leaky" => Tightness::Leaky,
    "average" => Tightness::Average,
    "tight" => Tightness::Tight,
    "very tight" => Tightness::VeryTight,
});

/// What ventilates the house before the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Ventilation {
    Nothing,
    ExhaustOnly,
    SupplyOnly,
}

words!(Ventilation {
    "none" => Ventilation::Nothing,
    "exhaust-only" => Ventilation::ExhaustOnly,
    "supply-only" => Ventilation::SupplyOnly,
});

/// What a tap or a grille may serve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Use {
    Extract,
    Supply,
}

words!(Use { "extract" => Use::Extract, "supply" => Use::Supply });

/// What a terminal may serve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum TerminalUse {
    Intake,
    Exhaust,
}

words!(TerminalUse { "intake" => TerminalUse::Intake, "exhaust" => TerminalUse::Exhaust });

/// Kind of terminal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum TerminalKind {
    Hood,
    TwoInOne,
}

words!(TerminalKind { "hood" => TerminalKind::Hood, "two-in-one" => TerminalKind::TwoInOne });

/// How well flexible duct is pulled out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stretch {
    Stretched,
    Good,
    AsFound,
    Poor,
}

words!(Stretch {
    "stretched" => Stretch::Stretched,
    "good" => Stretch::Good,
    "as found" => Stretch::AsFound,
    "poor" => Stretch::Poor,
});

/// What a core passes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Core {
    Heat,
    Energy,
}

words!(Core { "heat" => Core::Heat, "energy" => Core::Energy });

/// Where the fans of a unit sit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fans {
    AfterCore,
    BeforeCore,
}

words!(Fans { "after core" => Fans::AfterCore, "before core" => Fans::BeforeCore });

/// Leakage of the envelope at 50 Pa, as a flow or as air changes.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum BlowerDoor {
    Flow(Typed<VolumeFlow>),
    Changes(Typed<AirChanges>),
}

impl Value for BlowerDoor {
    fn shape() -> Shape {
        Shape::Written {
            name: "flow or air changes at 50 Pa",
            examples: "1650 cfm, 1650 cfm ± 5 %, 5.2 ach50, 780 L/s",
        }
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        let text = text::<Self>(item, path, reader)?;
        match Typed::parse(text) {
            Ok(changes) => Some(Self::Changes(changes)),
            Err(_) => reader.quantity(text, path, item.span()).map(Self::Flow),
        }
    }
}

impl Value for Section {
    fn shape() -> Shape {
        Shape::Written {
            name: "inner size of a duct",
            examples: "14 in, 8 x 16 in, 200 mm, 200 x 400 mm",
        }
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        let text = text::<Self>(item, path, reader)?;
        let side = |text: &str, reader: &mut Reader| {
            let side = reader.quantity::<Length>(text, path, item.span())?;
            let side = units::Quantity::si(side.value);
            if (0.03..=2.0).contains(&side) {
                return Some(side);
            }
            reader.error(
                &item.span(),
                format!("{path} cannot be {}", shortened(text)),
                "a side or diameter of a duct is between 1.2 in and 79 in (30 mm and 2 m)",
            );
            None
        };
        match text
            .split_once([' ', 'x', '×', '*'])
            .and(text.split_once(['x', '×', '*']))
        {
            None => side(text, reader).map(Self::Round),
            Some((width, depth)) => {
                let unit = depth.trim_start_matches(|c: char| {
                    c.is_ascii_digit() || matches!(c, '.' | ',' | '/' | '-' | ' ')
                });
                let bare = !width.contains(|c: char| c.is_alphabetic() || c == '"' || c == '\'');
                let width = if bare {
                    format!("{} {unit}", width.trim())
                } else {
                    width.to_owned()
                };
                let width = side(&width, reader)?;
                Some(Self::Rectangular(width, side(depth, reader)?))
            }
        }
    }
}

/// A measured duct run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Run {
    /// Length (m).
    pub length: f64,
    pub elbows: u32,
}

impl Value for Run {
    fn shape() -> Shape {
        Shape::Written {
            name: "length along the duct and number of 90° elbows",
            examples: "14 ft, 2 elbows; 4.5 m, 1 elbow; 8 ft",
        }
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        let text = text::<Self>(item, path, reader)?;
        let lower = text.to_lowercase();
        let (length, elbows) = match lower.trim_end().strip_suffix(['s', 'w']) {
            Some(_) if lower.contains("elbow") => {
                // "4,5 m, 1 elbow": the last comma parts length and elbows.
                match lower.rsplit_once(',') {
                    Some((length, elbows)) => (length, Some(elbows)),
                    None => (lower.as_str(), Some("")),
                }
            }
            _ => (lower.as_str(), None),
        };
        let elbows = match elbows.map(str::trim) {
            None => Some(0),
            Some(words) => words
                .strip_suffix("elbows")
                .or_else(|| words.strip_suffix("elbow"))
                .map(str::trim)
                .and_then(|count| {
                    if count == "no" {
                        Some(0)
                    } else {
                        count.parse().ok()
                    }
                })
                .filter(|count| *count <= 40),
        };
        let Some(elbows) = elbows else {
            reader.error(
                &item.span(),
                format!("{path}: \"{}\" is not a duct run", shortened(text)),
                "write a length and the elbows, like 14 ft, 2 elbows",
            );
            return None;
        };
        let length = reader.quantity::<Length>(length, path, item.span())?;
        let length = units::Quantity::si(length.value);
        if !(0.0..=100.0).contains(&length) {
            reader.error(
                &item.span(),
                format!("{path} cannot be {}", shortened(text)),
                "a run is from 0 to 328 ft (100 m) long",
            );
            return None;
        }
        Some(Self { length, elbows })
    }
}

/// Facing of a wall, degrees clockwise from north.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Facing(pub f64);

const POINTS: [(&str, f64); 8] = [
    ("north", 0.0),
    ("north-east", 45.0),
    ("east", 90.0),
    ("south-east", 135.0),
    ("south", 180.0),
    ("south-west", 225.0),
    ("west", 270.0),
    ("north-west", 315.0),
];

impl Value for Facing {
    fn shape() -> Shape {
        Shape::Written {
            name: "point of the compass, or degrees clockwise from north",
            examples: "north, south-west, 200 deg",
        }
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        let text = text::<Self>(item, path, reader)?;
        let plain = text.trim().to_lowercase().replace(' ', "-");
        if let Some((_, degrees)) = POINTS
            .iter()
            .find(|(point, _)| *point == plain || point.replace('-', "") == plain)
        {
            return Some(Self(*degrees));
        }
        if plain.starts_with(|c: char| c.is_ascii_digit()) {
            let angle = reader.quantity::<Angle>(text, path, item.span())?;
            let degrees = units::Quantity::si(angle.value).to_degrees();
            if (0.0..=360.0).contains(&degrees) {
                return Some(Self(degrees % 360.0));
            }
        }
        let mut problem = Problem::error(
            format!("{path} cannot be \"{}\"", shortened(text)),
            item.span(),
        );
        if let Some(near) = nearest(&plain, POINTS.iter().map(|(point, _)| *point)) {
            problem = problem.help(format!("did you mean \"{near}\"?"));
        }
        reader.problem(problem.help(format!("{path} takes {}", Self::shape().accepted())));
        None
    }
}

/// A point of a wall or of the plan (m).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Point(pub [f64; 2]);

impl Point {
    /// Two lengths with a comma between them.
    fn parse(text: &str, item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        // "4,5 m, 2 m": a comma that parts the two has a space after it, unless it is the only one.
        let parts = text
            .split_once(';')
            .or_else(|| text.split_once(", "))
            .or_else(|| text.split_once(','));
        let Some((first, second)) = parts else {
            reader.error(
                &item.span(),
                format!("{path}: \"{}\" is not a point", shortened(text)),
                "write two lengths, like 12 ft, 8 ft 6 in",
            );
            return None;
        };
        let mut length = |text: &str| {
            let length = reader.quantity::<Length>(text.trim(), path, item.span())?;
            let length = units::Quantity::si(length.value);
            if length.abs() <= 200.0 {
                return Some(length);
            }
            reader.error(
                &item.span(),
                format!("{path} cannot be {}", shortened(text.trim())),
                "a house lies within 656 ft (200 m)",
            );
            None
        };
        Some(Self([length(first)?, length(second)?]))
    }
}

impl Value for Point {
    fn shape() -> Shape {
        Shape::Written {
            name: "two lengths",
            examples: "12 ft, 8 ft 6 in; 3.6 m, 2.4 m",
        }
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        let text = text::<Self>(item, path, reader)?;
        Self::parse(text, item, path, reader)
    }
}

/// A point of the grade line, or one height for all of it (m).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct GradePoint {
    /// Distance from the left corner; absent for level ground.
    pub along: Option<f64>,
    pub height: f64,
}

impl Value for GradePoint {
    fn shape() -> Shape {
        Shape::Written {
            name: "height, or distance from the left corner and height",
            examples: "-8 in; 24 ft, -3 ft",
        }
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        let text = text::<Self>(item, path, reader)?;
        if !text.contains([',', ';']) || Typed::<Length>::parse(text).is_ok() {
            let height = reader.quantity::<Length>(text, path, item.span())?;
            return Some(Self {
                along: None,
                height: units::Quantity::si(height.value),
            });
        }
        let Point([along, height]) = Point::parse(text, item, path, reader)?;
        Some(Self {
            along: Some(along),
            height,
        })
    }
}

/// What a job may put on a wall; the others come from elsewhere: the ground, the snow, the corners
/// of the house and the ventilator's own openings.
const ON_WALLS: [Object; 25] = [
    Object::Window,
    Object::Door,
    Object::GravityInlet,
    Object::SoffitInlet,
    Object::Chimney,
    Object::MechanicalDraughtVent,
    Object::SmallDirectVent,
    Object::MediumDirectVent,
    Object::LargeDirectVent,
    Object::GasRegulator,
    Object::GasMeter,
    Object::ElectricMeter,
    Object::DryerOutlet,
    Object::KitchenExhaust,
    Object::BathExhaust,
    Object::MechanicalExhaust,
    Object::MechanicalIntake,
    Object::PlumbingVent,
    Object::RadonOutlet,
    Object::AirConditioner,
    Object::Parking,
    Object::Walkway,
    Object::Deck,
    Object::PropertyLine,
    Object::OilFill,
];

impl Value for Object {
    fn shape() -> Shape {
        Shape::Words(ON_WALLS.map(Object::name).to_vec())
    }

    fn read(item: &Item, path: &Path, reader: &mut Reader) -> Option<Self> {
        word(
            item,
            path,
            reader,
            &ON_WALLS.map(|object| (object.name(), object)),
        )
    }
}
