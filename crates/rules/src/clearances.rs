//! Clearances of intake and exhaust openings, as rows that geometry can read.
//!
//! Every row holds at once. Distances run edge to edge along the shortest straight line in space
//! unless the row says horizontal or vertical. A row that is broken may still be kept by one of its
//! exceptions, which stand beside it as data.

use crate::row::{Confidence, Kind, Limit, Row, RuleSet, Subject};

/// What goes through an opening of the ventilator.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Stream {
    /// Outdoor air comes in.
    Intake,
    /// Exhaust air goes out.
    Exhaust,
}

macro_rules! objects {
    ($($(#[$about:meta])* $Object:ident = $name:literal;)*) => {
        /// What stands on a wall or beside the house and asks for a clearance.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Object {
            $($(#[$about])* $Object,)*
        }

        impl Object {
            /// All objects.
            pub const ALL: &'static [Self] = &[$(Self::$Object),*];

            /// The trade's word for it.
            pub fn name(self) -> &'static str {
                match self {
                    $(Self::$Object => $name,)*
                }
            }
        }
    };
}

objects! {
    /// A window that opens.
    Window = "window";
    /// A door.
    Door = "door";
    /// An opening through which air enters by itself.
    GravityInlet = "gravity inlet";
    /// Vents in the soffit.
    SoffitInlet = "soffit inlet";
    /// Outlet of a natural-draught appliance.
    Chimney = "chimney";
    /// Outlet of an appliance with a fan in its vent that draws room air.
    MechanicalDraughtVent = "mechanical-draught vent";
    /// Outlet of a sealed appliance up to 10 kBtu/h (2.9 kW).
    SmallDirectVent = "direct vent up to 10 kBtu/h";
    /// Outlet of a sealed appliance above 10 up to 50 kBtu/h (14.7 kW).
    MediumDirectVent = "direct vent up to 50 kBtu/h";
    /// Outlet of a sealed appliance above 50 kBtu/h.
    LargeDirectVent = "direct vent above 50 kBtu/h";
    /// Relief outlet of a gas regulator.
    GasRegulator = "gas regulator";
    /// Gas meter.
    GasMeter = "gas meter";
    /// Electric meter.
    ElectricMeter = "electric meter";
    /// Outlet of a clothes dryer.
    DryerOutlet = "dryer outlet";
    /// Outlet of a kitchen exhaust.
    KitchenExhaust = "kitchen exhaust";
    /// Outlet of a bath exhaust.
    BathExhaust = "bath exhaust";
    /// Outlet of any other exhaust fan, another ventilator's included.
    MechanicalExhaust = "mechanical exhaust";
    /// Intake of any fan, another ventilator's included.
    MechanicalIntake = "mechanical intake";
    /// Vent of the drains.
    PlumbingVent = "plumbing vent";
    /// Outlet of a radon fan.
    RadonOutlet = "radon outlet";
    /// Outdoor unit of an air conditioner or heat pump.
    AirConditioner = "air conditioner";
    /// Driveway, parking or street.
    Parking = "driveway";
    /// Public or private walkway.
    Walkway = "walkway";
    /// Deck, balcony or any other fixed surface above grade.
    Deck = "deck";
    /// Property line.
    PropertyLine = "property line";
    /// Filler or vent of an oil tank.
    OilFill = "oil fill";
    /// Corner of the house, where wind pressure changes fast.
    Corner = "corner";
    /// The other opening of the same ventilator.
    OwnOpening = "the ventilator's other opening";
    /// The ground at the wall.
    Grade = "grade";
    /// The snow that is expected on it.
    Snow = "snow";
}

impl Object {
    /// The object of this name, whatever its capitals.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL
            .iter()
            .copied()
            .find(|object| object.name().eq_ignore_ascii_case(name.trim()))
    }
}

/// How the number of a clearance is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Measure {
    /// Shortest straight line in space, edge to edge, whatever stands between.
    StraightLine,
    /// In plan, edge to edge.
    Horizontal,
    /// Upward from the top of the object to the lower edge of the opening.
    Above,
    /// Downward from the bottom of the object to the upper edge of the opening.
    Below,
    /// Upward from the grade or snow under the opening to its lower edge.
    AboveGround,
    /// Upward from the grade under the opening to its upper edge, as a greatest height.
    HighestAboveGround,
}

impl Measure {
    /// The words for it.
    pub fn name(self) -> &'static str {
        match self {
            Self::StraightLine => "straight line, edge to edge",
            Self::Horizontal => "horizontally, edge to edge",
            Self::Above => "from its top up to the opening's lower edge",
            Self::Below => "from its bottom down to the opening's upper edge",
            Self::AboveGround => "from the ground up to the opening's lower edge",
            Self::HighestAboveGround => "from the ground up to the opening's upper edge",
        }
    }
}

/// A condition under which a clearance need not be kept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Unless {
    /// The opening lies at least so far below the object (m).
    Below(f64),
    /// The opening lies at least so far above the object (m).
    Above(f64),
    /// The exhaust lies at least so far above the intake (m).
    ExhaustAboveIntake(f64),
    /// The opening lies at least so far from the object in plan (m).
    HorizontallyBeyond(f64),
    /// Both openings are one factory-made hood, put in as its instructions say.
    TwoInOne,
}

/// A row with what geometry needs to know about it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clearance {
    /// The row.
    pub row: Row,
    /// For which openings it holds.
    pub streams: &'static [Stream],
    /// From which objects it keeps away.
    pub objects: &'static [Object],
    /// How its number is measured.
    pub measure: Measure,
    /// Any one of these lifts it.
    pub unless: &'static [Unless],
}

impl Clearance {
    /// The number of the row (m).
    pub fn limit(&self) -> f64 {
        self.row.limit.map_or(0.0, |limit| limit.value)
    }
}

/// All clearances.
///
/// ```
/// use rules::clearances::{Object, all};
/// let grade = all().find(|clearance| clearance.row.id == "intake above grade").unwrap();
/// assert_eq!(grade.objects, [Object::Grade]);
/// assert!((grade.limit() - 0.4572).abs() < 1e-12); // 18 in
/// ```
pub fn all() -> impl Iterator<Item = &'static Clearance> {
    CLEARANCES.iter()
}

/// The clearance of this name.
pub fn clearance(id: &str) -> Option<&'static Clearance> {
    all().find(|clearance| clearance.row.id == id)
}

const FOOT: f64 = 0.3048;
const INCH: f64 = 0.0254;

const INTAKE: &[Stream] = &[Stream::Intake];
const EXHAUST: &[Stream] = &[Stream::Exhaust];
const EITHER: &[Stream] = &[Stream::Intake, Stream::Exhaust];

const COMBUSTION: &[Object] = &[
    Object::Chimney,
    Object::MechanicalDraughtVent,
    Object::SmallDirectVent,
    Object::MediumDirectVent,
    Object::LargeDirectVent,
];
const OTHER_EXHAUSTS: &[Object] = &[
    Object::DryerOutlet,
    Object::KitchenExhaust,
    Object::BathExhaust,
    Object::MechanicalExhaust,
    Object::OwnOpening,
];
/// What the clause on exhaust openings keeps apart: any fan's intake and any fan's exhaust.
const FANS: &[Object] = &[
    Object::KitchenExhaust,
    Object::BathExhaust,
    Object::MechanicalExhaust,
    Object::OwnOpening,
];
const FAN_INTAKES: &[Object] = &[Object::MechanicalIntake, Object::OwnOpening];
const OPENABLE: &[Object] = &[
    Object::Window,
    Object::Door,
    Object::GravityInlet,
    Object::SoffitInlet,
];

const UNITED_STATES: &[RuleSet] = &[RuleSet::Irc2024, RuleSet::Irc2021, RuleSet::Washington];
const CANADIAN: &[RuleSet] = &[RuleSet::Canada, RuleSet::Ontario];

const EDGES: &str = "shortest straight line in space, edge to edge of the openings";
const PLAN: &str = "horizontally, edge to edge";
const GROUND: &str = "vertically, from the ground under the opening to its lower edge";

/// A row about siting with the number `limit` (m).
const fn siting(
    id: &'static str,
    applies_to: &'static str,
    limit: f64,
    demand: &'static str,
) -> Row {
    Row {
        id,
        subject: Subject::Siting,
        applies_to,
        demand,
        limit: Some(Limit::at_least(limit, Kind::Length)),
        measured: EDGES,
        remedy: "Move the opening, or choose another wall.",
        ..Row::BLANK
    }
}

const fn clearance_of(
    row: Row,
    streams: &'static [Stream],
    objects: &'static [Object],
    measure: Measure,
    unless: &'static [Unless],
) -> Clearance {
    Clearance {
        row,
        streams,
        objects,
        measure,
        unless,
    }
}

static CLEARANCES: [Clearance; 40] = CLEARANCE_TABLE;

const CLEARANCE_TABLE: [Clearance; 40] = [
    // ---- Common practice.
    clearance_of(
        siting(
            "intake from combustion outlets",
            "an intake near the outlet of a fuel-burning appliance",
            10.0 * FOOT,
            "The intake keeps 10 ft from every combustion outlet.",
        ),
        INTAKE,
        COMBUSTION,
        Measure::StraightLine,
        &[],
    ),
    clearance_of(
        Row {
            exception: "both streams in one factory-made hood, put in as its instructions say",
            ..siting(
                "intake from other exhausts",
                "an intake near any exhaust, the unit's own included",
                6.0 * FOOT,
                "The intake keeps 6 ft from every other exhaust, the unit's own included.",
            )
        },
        INTAKE,
        OTHER_EXHAUSTS,
        Measure::StraightLine,
        &[Unless::TwoInOne],
    ),
    clearance_of(
        Row {
            measured: GROUND,
            ..siting(
                "intake above grade",
                "an intake",
                18.0 * INCH,
                "The intake stands 18 in above grade.",
            )
        },
        INTAKE,
        &[Object::Grade],
        Measure::AboveGround,
        &[],
    ),
    clearance_of(
        Row {
            measured: "vertically, from the expected snow under the opening to its lower edge",
            ..siting(
                "openings above snow",
                "an intake or an exhaust",
                0.0,
                "Both openings stand above the expected snow.",
            )
        },
        EITHER,
        &[Object::Snow],
        Measure::AboveGround,
        &[],
    ),
    clearance_of(
        Row {
            measured: "vertically, from the expected snow under the opening to its lower edge",
            confidence: Confidence::Unsure,
            ..siting(
                "openings well above snow",
                "an intake or an exhaust",
                12.0 * INCH,
                "Both openings stand 12 in above the expected snow.",
            )
        },
        EITHER,
        &[Object::Snow],
        Measure::AboveGround,
        &[],
    ),
    clearance_of(
        Row {
            limit: Some(Limit::at_most(10.0 * FOOT, Kind::Length)),
            measured: "vertically, from the ground under the opening to its upper edge",
            confidence: Confidence::Unsure,
            ..siting(
                "openings within reach",
                "an intake or an exhaust",
                10.0 * FOOT,
                "Hood and screen can be reached for cleaning, at most 10 ft above the ground.",
            )
        },
        EITHER,
        &[Object::Grade],
        Measure::HighestAboveGround,
        &[],
    ),
    clearance_of(
        siting(
            "intake from vehicles",
            "an intake near a driveway or parking place",
            10.0 * FOOT,
            "The intake keeps 10 ft from where engines run.",
        ),
        INTAKE,
        &[Object::Parking],
        Measure::StraightLine,
        &[],
    ),
    clearance_of(
        Row {
            measured: "vertically, from the surface under the opening to its lower edge",
            exception: "the opening does not stand over the surface",
            ..siting(
                "intake above a deck",
                "an intake over a deck or another fixed surface",
                18.0 * INCH,
                "Over a deck the intake stands 18 in above its surface.",
            )
        },
        INTAKE,
        &[Object::Deck],
        Measure::Above,
        &[Unless::HorizontallyBeyond(0.0)],
    ),
    clearance_of(
        Row {
            measured: PLAN,
            confidence: Confidence::Unsure,
            ..siting(
                "openings from a corner",
                "an opening near a corner of the house",
                3.0 * FOOT,
                "Openings keep 3 ft from corners, where wind pressure changes fast.",
            )
        },
        EITHER,
        &[Object::Corner],
        Measure::Horizontal,
        &[],
    ),
    clearance_of(
        Row {
            confidence: Confidence::Unsure,
            ..siting(
                "openings from an outdoor unit",
                "an opening near an air conditioner or heat pump",
                3.0 * FOOT,
                "Openings keep 3 ft from the outdoor unit of an air conditioner or heat pump.",
            )
        },
        EITHER,
        &[Object::AirConditioner],
        Measure::StraightLine,
        &[],
    ),
    clearance_of(
        Row {
            remedy: "Ask the gas supplier.",
            confidence: Confidence::Unsure,
            ..siting(
                "intake from a gas regulator",
                "an intake near the relief outlet of a gas regulator or a gas meter",
                3.0 * FOOT,
                "The intake keeps 3 ft from gas regulators; gas suppliers ask for 3 to 10 ft.",
            )
        },
        INTAKE,
        &[Object::GasRegulator, Object::GasMeter],
        Measure::StraightLine,
        &[],
    ),
    clearance_of(
        Row {
            measured: PLAN,
            confidence: Confidence::Unsure,
            ..siting(
                "openings from an electric meter",
                "an opening near an electric meter",
                3.0 * FOOT,
                "Openings leave 3 ft beside an electric meter free for the one who reads it.",
            )
        },
        EITHER,
        &[Object::ElectricMeter],
        Measure::Horizontal,
        &[],
    ),
    // ---- United States: contaminants.
    clearance_of(
        Row {
            exception: "the intake lies 3 ft or more below the source",
            authority: "IRC R325.4.1",
            edition: "2024",
            confidence: Confidence::ReadInSource,
            sets: &[RuleSet::Irc2024],
            ..siting(
                "IRC 2024 intake from contaminants",
                "an intake near chimneys, plumbing vents, streets and parking",
                10.0 * FOOT,
                "The intake keeps 10 ft from hazardous or noxious contaminants.",
            )
        },
        INTAKE,
        &[Object::Chimney, Object::PlumbingVent, Object::Parking],
        Measure::StraightLine,
        &[Unless::Below(3.0 * FOOT)],
    ),
    clearance_of(
        Row {
            exception: "the intake lies 3 ft or more below the source",
            authority: "IRC R303.5.1",
            edition: "2021",
            confidence: Confidence::ReadInSource,
            sets: &[RuleSet::Irc2021],
            ..siting(
                "IRC 2021 intake from contaminants",
                "an intake near chimneys, plumbing vents, streets and parking",
                10.0 * FOOT,
                "The intake keeps 10 ft from hazardous or noxious contaminants.",
            )
        },
        INTAKE,
        &[Object::Chimney, Object::PlumbingVent, Object::Parking],
        Measure::StraightLine,
        &[Unless::Below(3.0 * FOOT)],
    ),
    clearance_of(
        Row {
            exception: "the intake lies 3 ft or more below the source",
            authority: "IRC R303.5.1 as adopted by Washington State",
            edition: "2021",
            confidence: Confidence::FromMemory,
            sets: &[RuleSet::Washington],
            ..siting(
                "Washington intake from contaminants",
                "an intake near chimneys, plumbing vents, streets and parking",
                10.0 * FOOT,
                "The intake keeps 10 ft from hazardous or noxious contaminants.",
            )
        },
        INTAKE,
        &[Object::Chimney, Object::PlumbingVent, Object::Parking],
        Measure::StraightLine,
        &[Unless::Below(3.0 * FOOT)],
    ),
    // ---- United States: exhaust against intake. One row for each side of the pair.
    clearance_of(
        Row {
            exception: "the exhaust lies 3 ft or more above the intake, or both are one \
                        factory-made hood put in as its instructions say",
            authority: "IRC M1504.3",
            edition: "2024",
            confidence: Confidence::ReadInSource,
            sets: &[RuleSet::Irc2024],
            ..siting(
                "IRC 2024 intake from exhausts",
                "an intake near the exhaust of a fan, the unit's own included",
                10.0 * FOOT,
                "Mechanical intake and exhaust keep 10 ft from each other.",
            )
        },
        INTAKE,
        FANS,
        Measure::StraightLine,
        &[Unless::ExhaustAboveIntake(3.0 * FOOT), Unless::TwoInOne],
    ),
    clearance_of(
        Row {
            exception: "the exhaust lies 3 ft or more above the intake, or both are one \
                        factory-made hood put in as its instructions say",
            authority: "IRC M1504.3",
            edition: "2024",
            confidence: Confidence::ReadInSource,
            sets: &[RuleSet::Irc2024],
            ..siting(
                "IRC 2024 exhaust from intakes",
                "an exhaust near the intake of a fan, the unit's own included",
                10.0 * FOOT,
                "Mechanical intake and exhaust keep 10 ft from each other.",
            )
        },
        EXHAUST,
        FAN_INTAKES,
        Measure::StraightLine,
        &[Unless::ExhaustAboveIntake(3.0 * FOOT), Unless::TwoInOne],
    ),
    clearance_of(
        Row {
            exception: "the exhaust lies 3 ft or more above the intake",
            authority: "IRC M1504.3",
            edition: "2021",
            confidence: Confidence::ReadInSource,
            sets: &[RuleSet::Irc2021],
            ..siting(
                "IRC 2021 intake from exhausts",
                "an intake near the exhaust of a fan, the unit's own included",
                10.0 * FOOT,
                "Mechanical intake and exhaust keep 10 ft from each other.",
            )
        },
        INTAKE,
        FANS,
        Measure::StraightLine,
        &[Unless::ExhaustAboveIntake(3.0 * FOOT)],
    ),
    clearance_of(
        Row {
            exception: "the exhaust lies 3 ft or more above the intake",
            authority: "IRC M1504.3",
            edition: "2021",
            confidence: Confidence::ReadInSource,
            sets: &[RuleSet::Irc2021],
            ..siting(
                "IRC 2021 exhaust from intakes",
                "an exhaust near the intake of a fan, the unit's own included",
                10.0 * FOOT,
                "Mechanical intake and exhaust keep 10 ft from each other.",
            )
        },
        EXHAUST,
        FAN_INTAKES,
        Measure::StraightLine,
        &[Unless::ExhaustAboveIntake(3.0 * FOOT)],
    ),
    clearance_of(
        Row {
            exception: "the exhaust lies 3 ft or more above the intake, or both are one \
                        factory-made hood put in as its instructions say",
            authority: "IRC M1504.3 as amended by Washington State",
            edition: "2021",
            confidence: Confidence::ReadInSource,
            sets: &[RuleSet::Washington],
            ..siting(
                "Washington intake from exhausts",
                "an intake near the exhaust of a fan, the unit's own included",
                10.0 * FOOT,
                "Mechanical intake and exhaust keep 10 ft from each other.",
            )
        },
        INTAKE,
        FANS,
        Measure::StraightLine,
        &[Unless::ExhaustAboveIntake(3.0 * FOOT), Unless::TwoInOne],
    ),
    clearance_of(
        Row {
            exception: "the exhaust lies 3 ft or more above the intake, or both are one \
                        factory-made hood put in as its instructions say",
            authority: "IRC M1504.3 as amended by Washington State",
            edition: "2021",
            confidence: Confidence::ReadInSource,
            sets: &[RuleSet::Washington],
            ..siting(
                "Washington exhaust from intakes",
                "an exhaust near the intake of a fan, the unit's own included",
                10.0 * FOOT,
                "Mechanical intake and exhaust keep 10 ft from each other.",
            )
        },
        EXHAUST,
        FAN_INTAKES,
        Measure::StraightLine,
        &[Unless::ExhaustAboveIntake(3.0 * FOOT), Unless::TwoInOne],
    ),
    // ---- United States: exhaust against openings and the property line.
    clearance_of(
        Row {
            exception: "the exhaust lies 1 ft or more above the opening",
            authority: "IRC M1504.3",
            edition: "2024",
            confidence: Confidence::ReadInSource,
            sets: &[RuleSet::Irc2024],
            ..siting(
                "IRC 2024 exhaust from openings",
                "an exhaust near a window that opens, a door or a gravity inlet",
                3.0 * FOOT,
                "The exhaust keeps 3 ft from windows that open, doors and gravity inlets.",
            )
        },
        EXHAUST,
        OPENABLE,
        Measure::StraightLine,
        &[Unless::Above(1.0 * FOOT)],
    ),
    clearance_of(
        Row {
            authority: "IRC M1504.3",
            edition: "2021",
            confidence: Confidence::ReadInSource,
            sets: &[RuleSet::Irc2021],
            ..siting(
                "IRC 2021 exhaust from openings",
                "an exhaust near a window that opens, a door or a gravity inlet",
                3.0 * FOOT,
                "The exhaust keeps 3 ft from windows that open, doors and gravity inlets.",
            )
        },
        EXHAUST,
        OPENABLE,
        Measure::StraightLine,
        &[],
    ),
    clearance_of(
        Row {
            authority: "IRC M1504.3 as adopted by Washington State",
            edition: "2021",
            confidence: Confidence::FromMemory,
            sets: &[RuleSet::Washington],
            ..siting(
                "Washington exhaust from openings",
                "an exhaust near a window that opens, a door or a gravity inlet",
                3.0 * FOOT,
                "The exhaust keeps 3 ft from windows that open, doors and gravity inlets.",
            )
        },
        EXHAUST,
        OPENABLE,
        Measure::StraightLine,
        &[],
    ),
    clearance_of(
        Row {
            measured: PLAN,
            authority: "IRC M1504.3",
            edition: "2024",
            confidence: Confidence::ReadInSource,
            sets: &[RuleSet::Irc2024],
            ..siting(
                "IRC 2024 exhaust from the property line",
                "an exhaust near the property line",
                3.0 * FOOT,
                "The exhaust keeps 3 ft from the property line.",
            )
        },
        EXHAUST,
        &[Object::PropertyLine],
        Measure::Horizontal,
        &[],
    ),
    clearance_of(
        Row {
            measured: PLAN,
            authority: "IRC M1504.3",
            edition: "2021",
            confidence: Confidence::FromMemory,
            sets: &[RuleSet::Irc2021, RuleSet::Washington],
            ..siting(
                "IRC 2021 exhaust from the property line",
                "an exhaust near the property line",
                3.0 * FOOT,
                "The exhaust keeps 3 ft from the property line.",
            )
        },
        EXHAUST,
        &[Object::PropertyLine],
        Measure::Horizontal,
        &[],
    ),
    clearance_of(
        Row {
            measured: PLAN,
            authority: "IRC R303.5.2, which gives no distance",
            edition: "2021",
            confidence: Confidence::Unsure,
            sets: UNITED_STATES,
            ..siting(
                "IRC exhaust from walkways",
                "an exhaust near a walkway",
                3.0 * FOOT,
                "The exhaust does not blow onto a walkway; 3 ft is a guess at what that takes.",
            )
        },
        EXHAUST,
        &[Object::Walkway],
        Measure::Horizontal,
        &[],
    ),
    clearance_of(
        Row {
            authority: "IRC M1502.3",
            edition: "2024",
            confidence: Confidence::ReadInSource,
            sets: &[RuleSet::Irc2024],
            ..siting(
                "IRC 2024 dryer from openings",
                "an intake near the outlet of a clothes dryer",
                3.0 * FOOT,
                "A dryer outlet keeps 3 ft from every opening of the building.",
            )
        },
        INTAKE,
        &[Object::DryerOutlet],
        Measure::StraightLine,
        &[],
    ),
    clearance_of(
        Row {
            authority: "IRC M1502.3",
            edition: "2021",
            confidence: Confidence::FromMemory,
            sets: &[RuleSet::Irc2021, RuleSet::Washington],
            ..siting(
                "IRC 2021 dryer from openings",
                "an intake near the outlet of a clothes dryer",
                3.0 * FOOT,
                "A dryer outlet keeps 3 ft from every opening of the building.",
            )
        },
        INTAKE,
        &[Object::DryerOutlet],
        Measure::StraightLine,
        &[],
    ),
    // ---- United States: gas vents, drains, radon.
    clearance_of(
        Row {
            measured: "vertically, from the bottom of the vent to the upper edge of the intake",
            exception: "the vent is more than 10 ft away horizontally",
            authority: "NFPA 54, IFGC 503.8",
            confidence: Confidence::ReadInSource,
            sets: UNITED_STATES,
            ..siting(
                "gas vent above intake",
                "an intake near a mechanical-draught vent",
                3.0 * FOOT,
                "A mechanical-draught vent ends 3 ft above every forced-air inlet within 10 ft.",
            )
        },
        INTAKE,
        &[Object::MechanicalDraughtVent],
        Measure::Below,
        &[Unless::HorizontallyBeyond(10.0 * FOOT)],
    ),
    clearance_of(
        Row {
            measured: "vertically, from the bottom of the vent to the upper edge of the intake",
            exception: "the vent is more than 10 ft away horizontally",
            authority: "NFPA 54",
            confidence: Confidence::Unsure,
            sets: UNITED_STATES,
            ..siting(
                "direct vent above intake",
                "an intake near a direct vent",
                3.0 * FOOT,
                "A direct vent ends 3 ft above every forced-air inlet within 10 ft; printed tables \
                 differ.",
            )
        },
        INTAKE,
        &[
            Object::SmallDirectVent,
            Object::MediumDirectVent,
            Object::LargeDirectVent,
        ],
        Measure::Below,
        &[Unless::HorizontallyBeyond(10.0 * FOOT)],
    ),
    clearance_of(
        direct_vent("small direct vent from openings", 6.0 * INCH),
        INTAKE,
        &[Object::SmallDirectVent],
        Measure::StraightLine,
        &[],
    ),
    clearance_of(
        direct_vent("medium direct vent from openings", 9.0 * INCH),
        INTAKE,
        &[Object::MediumDirectVent],
        Measure::StraightLine,
        &[],
    ),
    clearance_of(
        direct_vent("large direct vent from openings", 12.0 * INCH),
        INTAKE,
        &[Object::LargeDirectVent],
        Measure::StraightLine,
        &[],
    ),
    clearance_of(
        Row {
            exception: "the outlet ends 2 ft or more above the intake",
            authority: "United States radon practice",
            confidence: Confidence::FromMemory,
            sets: UNITED_STATES,
            ..siting(
                "intake from a radon outlet",
                "an intake near the outlet of a radon fan",
                10.0 * FOOT,
                "The intake keeps 10 ft from the outlet of a radon fan.",
            )
        },
        INTAKE,
        &[Object::RadonOutlet],
        Measure::StraightLine,
        &[Unless::Below(2.0 * FOOT)],
    ),
    // ---- ASHRAE 62.2.
    clearance_of(
        Row {
            exception: "both streams in one hood of which little crosses over; 3 ft are enough from \
                        a source that ends above the roof (not computed)",
            authority: "ASHRAE 62.2 section 6.8",
            confidence: Confidence::FromMemory,
            sets: &[RuleSet::Ashrae622],
            ..siting(
                "62.2 intake from sources",
                "an intake near a stack, vent, exhaust hood or vehicle",
                10.0 * FOOT,
                "The intake keeps 10 ft from known sources of contaminants.",
            )
        },
        INTAKE,
        &[
            Object::Chimney,
            Object::MechanicalDraughtVent,
            Object::SmallDirectVent,
            Object::MediumDirectVent,
            Object::LargeDirectVent,
            Object::KitchenExhaust,
            Object::MechanicalExhaust,
            Object::OwnOpening,
            Object::PlumbingVent,
            Object::Parking,
        ],
        Measure::StraightLine,
        &[Unless::TwoInOne],
    ),
    // ---- Canada.
    clearance_of(
        Row {
            measured: GROUND,
            authority: "Ontario Building Code 9.32",
            edition: "O. Reg. 332/12",
            confidence: Confidence::ReadInSource,
            sets: CANADIAN,
            ..siting(
                "Canada intake above grade",
                "an intake",
                0.45,
                "The intake stands 450 mm above grade, or above the expected snow if that is more.",
            )
        },
        INTAKE,
        &[Object::Grade],
        Measure::AboveGround,
        &[],
    ),
    clearance_of(
        Row {
            measured: GROUND,
            authority: "Ontario Building Code 9.32",
            edition: "O. Reg. 332/12",
            confidence: Confidence::ReadInSource,
            sets: CANADIAN,
            ..siting(
                "Canada exhaust above grade",
                "an exhaust",
                0.1,
                "The exhaust stands 100 mm above grade.",
            )
        },
        EXHAUST,
        &[Object::Grade],
        Measure::AboveGround,
        &[],
    ),
    clearance_of(
        Row {
            authority: "Ontario Building Code 9.32",
            edition: "O. Reg. 332/12",
            confidence: Confidence::ReadInSource,
            sets: CANADIAN,
            ..siting(
                "Canada intake from contaminants",
                "an intake near a gas vent, an oil fill or the like",
                0.9,
                "The intake keeps 900 mm from gas vents, oil fills and the like.",
            )
        },
        INTAKE,
        &[
            Object::Chimney,
            Object::MechanicalDraughtVent,
            Object::SmallDirectVent,
            Object::MediumDirectVent,
            Object::LargeDirectVent,
            Object::OilFill,
        ],
        Measure::StraightLine,
        &[],
    ),
    clearance_of(
        Row {
            authority: "CSA B149.1, as reprinted by makers of appliances",
            confidence: Confidence::ReadInSource,
            sets: CANADIAN,
            ..siting(
                "Canada gas vent from intakes",
                "an intake near a gas vent",
                6.0 * FOOT,
                "A gas vent keeps 6 ft from every mechanical intake.",
            )
        },
        INTAKE,
        COMBUSTION,
        Measure::StraightLine,
        &[],
    ),
];

/// A row on a direct vent, which goes by its size.
const fn direct_vent(id: &'static str, limit: f64) -> Row {
    Row {
        authority: "NFPA 54",
        confidence: Confidence::FromMemory,
        sets: UNITED_STATES,
        ..siting(
            id,
            "an intake near a direct vent, by its size",
            limit,
            "A direct vent keeps 6 in (up to 10 kBtu/h), 9 in (up to 50) or 12 in (above) from \
             openings of the building.",
        )
    }
}

const fn rows_of<const N: usize>(clearances: &[Clearance; N]) -> [Row; N] {
    let mut rows = [Row::BLANK; N];
    let mut index = 0;
    while index < N {
        rows[index] = clearances[index].row;
        index += 1;
    }
    rows
}

/// The rows, for listing and overriding.
pub(crate) static ROWS: &[Row] = &ROW_TABLE;
static ROW_TABLE: [Row; 40] = rows_of(&CLEARANCE_TABLE);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_whole() {
        for clearance in all() {
            let row = &clearance.row;
            assert!(!row.id.is_empty() && !row.demand.is_empty(), "{row:?}");
            assert!(!clearance.streams.is_empty(), "{}", row.id);
            assert!(!clearance.objects.is_empty(), "{}", row.id);
            assert!(row.limit.is_some(), "{}", row.id);
            assert_eq!(row.subject, Subject::Siting, "{}", row.id);
            // An exception is said in words wherever geometry applies one.
            assert!(
                clearance.unless.is_empty() || !row.exception.is_empty(),
                "{}",
                row.id
            );
            // Only habits of the trade lack an authority.
            assert_eq!(
                row.authority == crate::COMMON_PRACTICE,
                row.sets == [RuleSet::CommonPractice],
                "{}",
                row.id
            );
        }
    }

    /// Objects are found by their names, and each is named once.
    #[test]
    fn objects_have_names() {
        for object in Object::ALL {
            assert_eq!(Object::named(object.name()), Some(*object));
        }
        assert_eq!(Object::named("volcano"), None);
    }

    /// Values of common practice, which the job asks to be kept (no published source).
    #[test]
    fn common_practice() {
        for (id, feet) in [
            ("intake from combustion outlets", 10.0),
            ("intake from other exhausts", 6.0),
            ("intake above grade", 1.5),
        ] {
            let limit = clearance(id).expect("a row").limit();
            assert!((limit - feet * 0.3048).abs() < 1e-12, "{id}");
        }
    }
}
