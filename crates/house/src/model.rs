//! The job as the physics sees it: SI numbers with their uncertainty, names resolved to indices.
//!
//! These structs are not the file: [`crate::file`] reads the file, reports its problems and cooks
//! it into a [`Job`]. All numbers are SI: metres, square metres, pascals, cubic metres per second,
//! degrees Celsius, watts, fractions of one. Flows of moving air that people type or read on an
//! instrument are volume flows at standard density (1.204 kg/m³) unless the field says otherwise.

use rules::RuleBook;
use rules::rates::exposure::Schedule;
use rules::rates::{Basement, Rooms, Variants};

/// A number from the survey, with how well it is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Estimate {
    /// Best value (SI).
    pub value: f64,
    /// Standard deviation (SI), zero when the number is exact.
    pub deviation: f64,
    /// How the number was obtained.
    pub origin: Origin,
}

/// How a number of the survey was obtained.
#[derive(Debug, Clone, PartialEq)]
pub enum Origin {
    /// Typed in the job file; the text as it stands there.
    Typed(String),
    /// Not given: a stated default, with the reason in words.
    Default(&'static str),
}

impl Estimate {
    /// An exact number that was typed.
    pub fn exact(value: f64) -> Self {
        Self {
            value,
            deviation: 0.0,
            origin: Origin::Typed(String::new()),
        }
    }

    /// A stated default with its standard deviation (SI) and the reason.
    pub fn default(value: f64, deviation: f64, reason: &'static str) -> Self {
        Self {
            value,
            deviation,
            origin: Origin::Default(reason),
        }
    }
}

/// Everything about one house and the installation to be planned in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// Name of the job.
    pub name: String,
    /// Which system of units is printed first.
    pub inch_pound_first: bool,
    /// The building as a whole.
    pub building: Building,
    /// Outdoor and indoor conditions for which flows are computed.
    pub climate: Climate,
    /// Zones of well-mixed air, at least one of them conditioned.
    pub zones: Vec<Zone>,
    /// Openings between zones.
    pub openings: Vec<Opening>,
    /// Exhausts other than the ventilator.
    pub exhausts: Vec<Exhaust>,
    /// Appliances that burn something inside the house.
    pub appliances: Vec<Appliance>,
    /// The survey says that nothing in the house burns anything.
    pub nothing_burns: bool,
    /// What ventilates the house today.
    pub existing: Existing,
    /// The forced-air system, if the house has one.
    pub air_handler: Option<AirHandler>,
    /// Places where the ventilator may hang.
    pub spots: Vec<Spot>,
    /// Places where existing ducts may be tapped.
    pub taps: Vec<Tap>,
    /// Places for grilles of the ventilator's own.
    pub grilles: Vec<Grille>,
    /// The walls as drawn, seen from outdoors; none if the survey has not drawn them.
    pub walls: Vec<Wall>,
    /// Places where the wall may be pierced.
    pub terminals: Vec<Terminal>,
    /// Known distances between terminals.
    pub separations: Vec<Separation>,
    /// Candidate units.
    pub units: Vec<Unit>,
    /// What the new ducts may be.
    pub ducts: DuctChoices,
    /// How the ventilator may be controlled.
    pub controls: Controls,
    /// Prices.
    pub costs: Costs,
    /// Whose rules hold, with what replaces single numbers.
    pub rules: RuleBook,
    /// What the rules of rates ask beyond the survey.
    pub rates: Rates,
    /// The plan that was chosen, if any.
    pub chosen: Option<ChosenPlan>,
    /// Places where a pressure is read on the set-up day.
    pub stations: Vec<Station>,
    /// Instruments of the set-up day.
    pub instruments: Vec<Instrument>,
    /// What the set-up has to reach.
    pub balancing: Balancing,
}

/// A place where a pressure is read and turned into a flow.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Name.
    pub name: String,
    /// Which air it meets.
    pub meets: Meets,
    /// What turns the reading into a flow.
    pub device: StationDevice,
    /// Relative standard deviation of its calibration.
    pub calibration: f64,
    /// Temperature of the air at it (°C), if the file says.
    pub temperature: Option<f64>,
    /// Relative humidity of the air at it, 0 to 1.
    pub humidity: f64,
    /// Unit of numbers that are typed without one.
    pub reads_in: &'static str,
}

/// Which air a station meets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meets {
    /// All supply air, or the outdoor air behind it.
    Supply,
    /// All extract air, or the exhaust air behind it.
    Extract,
    /// The air of the air handler.
    Blower,
    /// The air in the duct to one tap, grille or terminal.
    Duct(End),
}

/// What turns a reading into a flow.
#[derive(Debug, Clone, PartialEq)]
pub enum StationDevice {
    /// The unit's chart: pressures (Pa) and flows (m³/s), both rising.
    Chart(Vec<(f64, f64)>),
    /// `Q = K Δpⁿ`.
    PowerLaw {
        /// K (m³/(s·Paⁿ)).
        coefficient: f64,
        /// n.
        exponent: f64,
    },
    /// A sharp-edged plate in a round duct.
    Orifice {
        /// Diameter of its opening (m).
        opening: f64,
        /// Diameter of the duct (m).
        duct: f64,
        /// Where its pressures are taken.
        taps: OrificeTaps,
    },
    /// An averaging probe across a duct.
    AveragingProbe {
        /// Area of the duct (m²).
        area: f64,
        /// Factor on the velocity.
        factor: f64,
    },
    /// A Pitot tube held at several places of equal weight.
    PitotTraverse {
        /// Area of the duct (m²).
        area: f64,
    },
    /// A hood whose fan undoes its own resistance.
    PoweredHood,
    /// A hood that keeps back a part of the flow.
    PassiveHood {
        /// That part, 0 to 1.
        held_back: f64,
    },
    /// A flow plate in the slot of the filter.
    FlowPlate {
        /// Supply plenum pressure with the filter (Pa).
        with_filter: f64,
        /// The same with the plate (Pa).
        with_plate: f64,
    },
    /// A box with one opening over an exhaust inlet.
    ExhaustBox {
        /// Area of the opening (m²).
        area: f64,
    },
}

impl StationDevice {
    /// Whether the instrument shows a flow and not a pressure.
    pub fn shows_flow(&self) -> bool {
        matches!(
            self,
            Self::PoweredHood | Self::PassiveHood { .. } | Self::FlowPlate { .. }
        )
    }
}

/// Where the two pressures of an orifice are taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum OrificeTaps {
    /// One inch before and after it.
    Flange,
    /// In the corners at the plate.
    Corner,
    /// One diameter before and half a diameter after it.
    DiameterAndHalf,
}

/// An instrument of the set-up day.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    /// Name.
    pub name: String,
    /// Kind.
    pub kind: InstrumentKind,
    /// Relative standard deviation that all its readings share.
    pub accuracy: f64,
    /// Standard deviation of its zero over the day (Pa, or m³/s).
    pub zero: f64,
    /// Relative standard deviation of one averaged reading.
    pub noise: f64,
    /// Smallest step of the display (Pa, or m³/s).
    pub resolution: f64,
    /// Least and greatest reading (Pa, or m³/s).
    pub range: [f64; 2],
    /// Day of its last calibration, as ISO 8601 writes it.
    pub calibrated: Option<String>,
}

/// Kind of instrument.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum InstrumentKind {
    /// Shows a pressure difference.
    Manometer,
    /// Shows a flow; its fan undoes its own resistance.
    PoweredHood,
    /// Shows a flow, and holds a part of it back.
    PassiveHood,
    /// Shows the flow through the slot of the filter.
    FlowPlate,
}

impl InstrumentKind {
    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Manometer => "manometer",
            Self::PoweredHood => "powered hood",
            Self::PassiveHood => "passive hood",
            Self::FlowPlate => "flow plate",
        }
    }

    /// Whether it shows a flow and not a pressure.
    pub fn shows_flow(self) -> bool {
        self != Self::Manometer
    }
}

/// What the set-up has to reach.
#[derive(Debug, Clone, PartialEq)]
pub struct Balancing {
    /// Largest distance of the balance from zero, over the larger stream.
    pub tolerance: f64,
    /// Probability at which the work ends.
    pub certainty: f64,
    /// Settings at which it has to be right, the first is worked at; empty: that of the plan.
    pub settings: Vec<Setting>,
    /// Blower modes in the order of the work; empty: those in which the ventilator runs.
    pub modes: Vec<Mode>,
}

impl Default for Balancing {
    fn default() -> Self {
        Self {
            tolerance: 0.10,
            certainty: 0.95,
            settings: Vec::new(),
            modes: Vec::new(),
        }
    }
}

/// The building as a whole.
#[derive(Debug, Clone, PartialEq)]
pub struct Building {
    /// Town or region, as typed.
    pub place: String,
    /// Height above sea level (m).
    pub altitude: f64,
    /// Conditioned floor area (m²).
    pub floor_area: f64,
    /// Ceiling height (m).
    pub ceiling_height: f64,
    /// Storeys above grade.
    pub storeys: f64,
    /// Bedrooms.
    pub bedrooms: u32,
    /// People who live there.
    pub occupants: u32,
    /// Flow through the closed envelope at 50 Pa (m³/s).
    pub leakage_at_50_pascals: Estimate,
    /// Exponent of the envelope's leakage, 0.5 to 1.
    pub leakage_exponent: Estimate,
    /// Outdoor-air rate asked for by the contractor (m³/s); the rule's rate when absent.
    pub required_rate: Option<f64>,
}

/// Conditions for which flows are computed.
#[derive(Debug, Clone, PartialEq)]
pub struct Climate {
    /// Winter, mild and summer, in this order.
    pub weathers: [Weather; 3],
    /// Wind speed at eaves height (m/s) for the wind option.
    pub wind_speed: f64,
    /// Moisture indoors and out, which decides where ducts sweat.
    pub humidity: Humidity,
    /// Expected depth of snow at the walls (m).
    pub snow: f64,
}

/// Moisture indoors and out under design conditions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Humidity {
    /// Relative humidity of the rooms in winter, 0 to 1.
    pub indoor_winter: f64,
    /// Relative humidity of the rooms in summer, 0 to 1.
    pub indoor_summer: f64,
    /// Dew point of the outdoor air in summer (°C).
    pub summer_dew_point: f64,
}

/// One condition of weather.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weather {
    /// Which one it is.
    pub season: Season,
    /// Outdoor temperature (°C).
    pub outdoor: f64,
    /// Indoor temperature (°C).
    pub indoor: f64,
}

/// The three conditions of weather.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Season {
    /// Winter design.
    Winter,
    /// A mild day.
    Mild,
    /// Summer design.
    Summer,
}

/// A room, a floor, or a space that leaks to the house.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// Name in the job file.
    pub name: String,
    /// What it is.
    pub kind: ZoneKind,
    /// Floor area (m²).
    pub floor_area: f64,
    /// Floor to ceiling (m).
    pub height: f64,
    /// Floor above grade (m), negative below.
    pub level: f64,
    /// Part of the house's leakage that lies in this zone: for a conditioned zone its leakage to
    /// outdoors, for the others their leakage to the zone named in `joins`. All parts sum to one.
    pub leakage_share: f64,
    /// For an unconditioned zone, the conditioned zone that it leaks to.
    pub joins: Option<usize>,
    /// For an unconditioned zone, the free area of its own openings to outdoors (m²).
    pub vent_area: f64,
    /// Part of the air handler's supply air that is blown into this zone.
    pub supply_share: f64,
    /// Part of the air handler's return air that is drawn from this zone.
    pub return_share: f64,
    /// Bedrooms are watched for noise and air.
    pub bedroom: bool,
}

/// Kind of zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ZoneKind {
    /// Part of the lived-in house.
    Living,
    /// A basement inside the envelope.
    Basement,
    /// An attic outside the envelope.
    Attic,
    /// A crawlspace outside the envelope.
    Crawlspace,
    /// An attached garage outside the envelope.
    Garage,
}

impl ZoneKind {
    /// Whether people live in it and ventilation air counts there.
    pub fn conditioned(self) -> bool {
        matches!(self, Self::Living | Self::Basement)
    }
}

/// An opening between two zones: a door undercut, an open door, a stair.
#[derive(Debug, Clone, PartialEq)]
pub struct Opening {
    /// The zones it joins.
    pub between: [usize; 2],
    /// Free area (m²).
    pub area: f64,
    /// What it is, as typed.
    pub kind: OpeningKind,
}

/// Kind of opening.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum OpeningKind {
    /// The gap under a closed door.
    DoorUndercut,
    /// A door that stands open, or a stair.
    Open,
    /// A transfer grille.
    TransferGrille,
}

/// An exhaust other than the ventilator.
#[derive(Debug, Clone, PartialEq)]
pub struct Exhaust {
    /// Name, for instance kitchen hood.
    pub name: String,
    /// Zone from which it draws.
    pub zone: usize,
    /// Flow (m³/s).
    pub flow: f64,
    /// Runs in every operating case (a continuous exhaust) instead of now and then.
    pub continuous: bool,
    /// Room whose moisture or smells it takes out.
    pub serves: Serves,
}

/// The kind of room whose moisture or smells an exhaust or an extract grille takes out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Serves {
    /// A kitchen, as a hood over the cooker.
    KitchenHood,
    /// A kitchen, as another fan or grille.
    Kitchen,
    /// A room with a bath or shower.
    Bathroom,
    /// A toilet without a bath or shower.
    Toilet,
    /// A laundry or utility room.
    Utility,
    /// None of these: a dryer, a hall.
    Nothing,
}

impl Serves {
    /// The word for it in a job file.
    pub fn name(self) -> &'static str {
        match self {
            Serves::KitchenHood => "kitchen hood",
            Serves::Kitchen => "kitchen",
            Serves::Bathroom => "bath",
            Serves::Toilet => "toilet",
            Serves::Utility => "utility",
            Serves::Nothing => "none",
        }
    }
}

/// What the rules of rates ask beyond the survey.
#[derive(Debug, Clone, PartialEq)]
pub struct Rates {
    /// Weather and shielding factor of ASHRAE 62.2 (1/h), if it was typed.
    pub weather_factor: Option<f64>,
    /// Part of the envelope that is shared with no other dwelling and no garage, 0 to 1.
    pub exterior_share: f64,
    /// Newly built.
    pub new_construction: bool,
    /// The credit for infiltration stops at two thirds of the total where the text is in doubt.
    pub cap_credit: bool,
    /// Outdoor air is supplied to every bedroom and to a living, dining or kitchen room, if the
    /// file says.
    pub distributed: Option<bool>,
    /// Edition and category that the job uses.
    pub variants: Variants,
    /// Shelter class, 1 (open) to 5, for the comparison of infiltration models.
    pub shelter: u32,
    /// When the ventilator runs.
    pub running: Running,
    /// Rooms by kind, the bedrooms apart.
    pub rooms: Rooms,
    /// The rooms are a stated default.
    pub rooms_assumed: bool,
}

impl Default for Rates {
    /// A detached existing house of which nothing more is known, ventilated all day.
    fn default() -> Self {
        Self {
            weather_factor: None,
            exterior_share: 1.0,
            new_construction: false,
            cap_credit: true,
            distributed: None,
            variants: Variants::default(),
            shelter: 3,
            running: Running {
                schedule: Schedule::always(),
                hours: Vec::new(),
            },
            rooms: Rooms {
                living: 2,
                kitchens: 1,
                enclosed_kitchen_area: None,
                bathrooms: 2,
                toilets: 0,
                utility_rooms: 1,
                basement: Basement::None,
                kitchen_window: false,
                bathroom_window: false,
            },
            rooms_assumed: true,
        }
    }
}

/// When the ventilator runs during a day.
#[derive(Debug, Clone, PartialEq)]
pub struct Running {
    /// The day in steps.
    pub schedule: Schedule,
    /// The spans as typed, from and to in seconds since midnight; none if it runs all day or for a
    /// share of every hour.
    pub hours: Vec<[f64; 2]>,
}

/// An appliance that burns something and sends its gases up a vent.
#[derive(Debug, Clone, PartialEq)]
pub struct Appliance {
    /// Name, for instance water heater.
    pub name: String,
    /// Zone where it stands.
    pub zone: usize,
    /// How its gases leave; absent when the survey does not say.
    pub venting: Option<Venting>,
    /// Largest depressurisation that its maker or a test allows (Pa below outdoors).
    pub limit: Option<f64>,
}

/// How the gases of an appliance leave the house.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Venting {
    /// A natural-draft water heater alone on a chimney.
    NaturalDraftWaterHeaterAlone,
    /// A natural-draft furnace or boiler vented together with a water heater.
    NaturalDraftShared,
    /// A natural-draft furnace or boiler alone, with or without a vent damper.
    NaturalDraft,
    /// An induced-draft appliance vented together with a water heater.
    InducedDraftShared,
    /// A power-vented or induced-draft appliance alone.
    PowerVented,
    /// Sealed combustion, direct vent.
    Sealed,
    /// Into the room.
    Unvented,
}

/// What ventilates the house before the work.
#[derive(Debug, Clone, PartialEq)]
pub enum Existing {
    /// Nothing but leaks.
    Nothing,
    /// A fan that only exhausts, from a zone (m³/s).
    ExhaustOnly {
        /// Zone.
        zone: usize,
        /// Flow (m³/s).
        flow: f64,
        /// Stays in use after the work.
        stays: bool,
    },
    /// An outdoor duct into the return.
    SupplyOnly {
        /// Inner diameter (m).
        diameter: f64,
        /// Length with its bends (m).
        length: f64,
        /// Distance of its tap from the air-handler fan along the duct (m).
        from_fan: f64,
        /// Stays open after the work.
        stays: bool,
    },
}

/// The forced-air system.
#[derive(Debug, Clone, PartialEq)]
pub struct AirHandler {
    /// How its blower answers to pressure.
    pub blower: BlowerKind,
    /// Zone where it stands.
    pub zone: usize,
    /// What it heats or cools with; a furnace has a lowest return-air temperature.
    pub furnace: bool,
    /// Least temperature of the air that enters the furnace, as its maker asks for it (°C).
    pub least_return_temperature: Option<f64>,
    /// Measured modes; at least one has both plenum pressures. "Off" is always added.
    pub modes: Vec<BlowerMode>,
    /// Pressure drop of the filter (Pa) at the flow of the first mode that has pressures.
    pub filter_pressure_drop: Estimate,
    /// Return side.
    pub return_path: Path,
    /// Supply side.
    pub supply_path: Path,
}

/// How a blower answers to pressure.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum BlowerKind {
    /// Induction motor on a speed tap: flow falls clearly as pressure rises.
    FixedSpeedTap,
    /// Electronic motor that holds torque: falls about half as fast.
    ConstantTorque,
    /// Electronic motor that holds airflow up to its ceiling.
    ConstantAirflow,
    /// Nothing known but the readings.
    AsMeasured,
}

/// One mode of the blower as measured.
#[derive(Debug, Clone, PartialEq)]
pub struct BlowerMode {
    /// Which mode.
    pub mode: Mode,
    /// Blower flow (m³/s).
    pub flow: Estimate,
    /// Static pressure in the return plenum, between filter and blower, against the house (Pa), negative.
    pub return_pressure: Option<Estimate>,
    /// Static pressure in the supply plenum against the house (Pa), positive.
    pub supply_pressure: Option<Estimate>,
    /// Electric power (W).
    pub power: Estimate,
    /// Part of the year in which the blower runs in this mode without the ventilator's asking.
    pub run_share: f64,
}

/// Blower modes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Mode {
    /// Standing still.
    Off,
    /// Continuous low speed.
    Low,
    /// Heating speed.
    Heating,
    /// Cooling speed.
    Cooling,
}

impl Mode {
    /// All modes, in order of rising flow as usual.
    pub const ALL: [Mode; 4] = [Mode::Off, Mode::Low, Mode::Heating, Mode::Cooling];

    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            Mode::Off => "off",
            Mode::Low => "low",
            Mode::Heating => "heating",
            Mode::Cooling => "cooling",
        }
    }
}

/// The return or the supply side of the forced-air system.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    /// Length of the trunk from the blower to its end (m).
    pub length: f64,
    /// Cross-section of the trunk.
    pub section: Section,
    /// Part of the path's pressure drop (without the filter) that lies at grilles, boots and
    /// branches rather than along the trunk, 0 to 1.
    pub branch_share: Estimate,
    /// Leakage as a part of the blower flow, 0 to 1.
    pub leakage: Estimate,
    /// Zone that the leakage joins; outdoors when absent.
    pub leakage_zone: Option<usize>,
    /// The trunk as drawn, from the blower outward; replaces the even split along the trunk.
    pub segments: Vec<Segment>,
}

/// A drawn part of a trunk.
#[derive(Debug, Clone, PartialEq)]
pub struct Segment {
    /// Length (m).
    pub length: f64,
    /// Cross-section.
    pub section: Section,
    /// Material.
    pub material: Material,
    /// Sum of the loss coefficients of its fittings, on its own velocity pressure.
    pub loss: f64,
}

/// Cross-section of a duct.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Section {
    /// Round, inner diameter (m).
    Round(f64),
    /// Rectangular, inner sides (m).
    Rectangular(f64, f64),
}

impl Section {
    /// Area (m²).
    pub fn area(self) -> f64 {
        match self {
            Self::Round(diameter) => std::f64::consts::FRAC_PI_4 * diameter * diameter,
            Self::Rectangular(width, depth) => width * depth,
        }
    }

    /// Hydraulic diameter, four times the area over the perimeter (m).
    pub fn hydraulic_diameter(self) -> f64 {
        match self {
            Self::Round(diameter) => diameter,
            Self::Rectangular(width, depth) => 2.0 * width * depth / (width + depth),
        }
    }
}

/// Duct material.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Material {
    /// Galvanised steel.
    Galvanised,
    /// Smooth plastic pipe.
    SmoothPlastic,
    /// Semi-rigid tube.
    SemiRigid,
    /// Flexible duct with a wire helix.
    Flexible,
}

/// Where the ventilator may hang.
#[derive(Debug, Clone, PartialEq)]
pub struct Spot {
    /// Name.
    pub name: String,
    /// Zone.
    pub zone: usize,
    /// Lowest temperature through the year (°C).
    pub coldest: f64,
    /// Highest temperature through the year (°C).
    pub warmest: f64,
    /// A drain can be reached.
    pub drain: bool,
    /// An outlet can be reached.
    pub outlet: bool,
    /// Something that carries the unit's weight without shaking a bedroom.
    pub support: bool,
    /// It hangs on the wall of a bedroom, if that is known.
    pub bedroom_wall: Option<bool>,
    /// Shorter side of the level floor in front of the unit (m), if measured.
    pub working_space: Option<f64>,
    /// Clear opening of the hatch to it, the shorter side first (m), if measured.
    pub hatch: Option<[f64; 2]>,
    /// Way from the hatch to the unit (m), if measured.
    pub passage: Option<f64>,
    /// Fall of the drain over its length, if known.
    pub drain_slope: Option<f64>,
    /// Measured duct runs to taps, grilles and terminals.
    pub runs: Vec<SpotRun>,
}

/// A duct run from a spot.
#[derive(Debug, Clone, PartialEq)]
pub struct SpotRun {
    /// Where it goes.
    pub to: End,
    /// Length along the duct (m).
    pub length: f64,
    /// 90° elbows.
    pub elbows: u32,
}

/// The far end of a duct of the ventilator.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum End {
    /// Index into [`Job::taps`].
    Tap(usize),
    /// Index into [`Job::grilles`].
    Grille(usize),
    /// Index into [`Job::terminals`].
    Terminal(usize),
}

/// Where an existing duct may be tapped.
#[derive(Debug, Clone, PartialEq)]
pub struct Tap {
    /// Name.
    pub name: String,
    /// Which side of the blower.
    pub side: Side,
    /// Distance to the air-handler fan along the duct (m).
    pub from_fan: f64,
    /// Cross-section of the duct there.
    pub section: Section,
    /// Extract air may be drawn here.
    pub extract: bool,
    /// Supply air may be delivered here.
    pub supply: bool,
    /// Measured static pressure at the tap against the house (Pa), with the mode it was read in.
    pub pressure: Option<(Mode, Estimate)>,
}

/// A side of the blower.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// Before the blower.
    Return,
    /// After the blower.
    Supply,
}

/// A grille of the ventilator's own.
#[derive(Debug, Clone, PartialEq)]
pub struct Grille {
    /// Name.
    pub name: String,
    /// Zone.
    pub zone: usize,
    /// Extract air is drawn here (otherwise supply air is delivered).
    pub extract: bool,
    /// Room whose moisture or smells it takes out.
    pub serves: Serves,
    /// Loss coefficient on the velocity pressure in its duct.
    pub loss: Estimate,
}

/// A wall as someone sees it who stands outdoors before it.
///
/// Along runs from the left corner to the right, up from the level line of the house, which is grade
/// wherever the ground is level. In plan the first number goes east and the second north.
#[derive(Debug, Clone, PartialEq)]
pub struct Wall {
    /// Name.
    pub name: String,
    /// Where it faces, degrees clockwise from north.
    pub facing: f64,
    /// Left corner in plan (m).
    pub corner: [f64; 2],
    /// Corners of its outline, along and up (m), at least three.
    pub outline: Vec<[f64; 2]>,
    /// Points of the grade line, along and up (m), from left to right, at least one. Left of the
    /// first and right of the last the ground is level.
    pub grade: Vec<[f64; 2]>,
    /// What is on it and before it.
    pub objects: Vec<WallObject>,
}

impl Wall {
    /// Width (m).
    pub fn width(&self) -> f64 {
        self.outline
            .iter()
            .map(|point| point[0])
            .fold(0.0, f64::max)
    }

    /// Height of the ground at a place along the wall (m).
    ///
    /// ```
    /// let wall = house::model::Wall {
    ///     name: "south".to_owned(),
    ///     facing: 180.0,
    ///     corner: [0.0, 0.0],
    ///     outline: vec![[0.0, -1.0], [8.0, -1.0], [8.0, 3.0], [0.0, 3.0]],
    ///     grade: vec![[0.0, 0.0], [4.0, -1.0]],
    ///     objects: Vec::new(),
    /// };
    /// assert_eq!((wall.ground(2.0), wall.ground(7.0)), (-0.5, -1.0));
    /// ```
    pub fn ground(&self, along: f64) -> f64 {
        let mut before: Option<[f64; 2]> = None;
        for &point in &self.grade {
            if along <= point[0] {
                return match before {
                    Some(last) if point[0] > last[0] => {
                        last[1] + (point[1] - last[1]) * (along - last[0]) / (point[0] - last[0])
                    }
                    _ => point[1],
                };
            }
            before = Some(point);
        }
        before.map_or(0.0, |last| last[1])
    }

    /// Direction in plan from the left corner to the right one, as a unit vector.
    pub fn direction(&self) -> [f64; 2] {
        // Someone who looks at a north wall from outdoors has west at the right hand.
        let facing = self.facing.to_radians();
        [-facing.cos(), facing.sin()]
    }

    /// Right corner in plan (m).
    pub fn end(&self) -> [f64; 2] {
        let [east, north] = self.direction();
        [
            self.corner[0] + self.width() * east,
            self.corner[1] + self.width() * north,
        ]
    }
}

/// Something on a wall or before it.
#[derive(Debug, Clone, PartialEq)]
pub struct WallObject {
    /// Name; that of its kind if the file gives none.
    pub name: String,
    /// What it is.
    pub kind: rules::clearances::Object,
    /// Left edge along the wall (m).
    pub along: f64,
    /// Lower edge above the level line (m).
    pub bottom: f64,
    /// Width (m).
    pub width: f64,
    /// Height (m), zero for a surface.
    pub height: f64,
    /// Distance of its nearest face from the wall (m), zero for what is on it.
    pub out: f64,
    /// How far it reaches outward from there (m).
    pub depth: f64,
}

/// Where a terminal sits on a drawn wall.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WallPlace {
    /// Index into [`Job::walls`].
    pub wall: usize,
    /// Its centre from the left corner of the wall (m).
    pub along: f64,
}

/// Where the wall may be pierced.
#[derive(Debug, Clone, PartialEq)]
pub struct Terminal {
    /// Name.
    pub name: String,
    /// Intake and exhaust through one opening.
    pub two_in_one: bool,
    /// May be an intake.
    pub intake: bool,
    /// May be an exhaust.
    pub exhaust: bool,
    /// Facing of the wall, degrees clockwise from north.
    pub facing: f64,
    /// Height of its centre above the ground there (m).
    pub height: f64,
    /// Where it sits, if the survey has drawn its wall.
    pub place: Option<WallPlace>,
    /// Width and height of its opening on the wall (m).
    pub size: [f64; 2],
    /// Largest flow of each stream (m³/s), where the data of a two-in-one hood give it.
    pub flow_limit: Option<f64>,
    /// Loss coefficient on the velocity pressure in its duct.
    pub loss: Estimate,
}

/// Distance between two terminals, edge to edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Separation {
    /// Indices into [`Job::terminals`].
    pub between: [usize; 2],
    /// Shortest distance (m).
    pub distance: f64,
}

/// A ventilator in the shape that a certified test gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Unit {
    /// Name in the catalogue.
    pub name: String,
    /// Moisture passes the core.
    pub recovers_moisture: bool,
    /// Price.
    pub price: f64,
    /// Diameter of the ports (m).
    pub port_diameter: f64,
    /// Part of the extract air that leaks into the supply air inside the unit, 0 to 1.
    pub cross_leakage: f64,
    /// Both fans move air that has passed the core (otherwise air that has not).
    pub fans_after_core: bool,
    /// A damper shuts the outdoor duct while the unit stands still.
    pub shuts_when_off: bool,
    /// Least and greatest temperature around the unit (°C), where its data give them.
    pub ambient: Option<[f64; 2]>,
    /// Needs a drain.
    pub needs_drain: bool,
    /// Settings, from low to boost.
    pub settings: Vec<UnitSetting>,
    /// Recovery at tested flows and temperatures.
    pub recovery: Vec<Recovery>,
}

/// One setting of a ventilator.
#[derive(Debug, Clone, PartialEq)]
pub struct UnitSetting {
    /// Which setting.
    pub setting: Setting,
    /// Tested points in order of rising external static pressure.
    pub points: Vec<UnitPoint>,
    /// A-weighted sound power that the casing radiates (dB re 1 pW), if given.
    pub sound: Option<f64>,
    /// A-weighted sound power into the louder of the supply and the extract duct (dB re 1 pW), if
    /// given.
    pub duct_sound: Option<f64>,
}

/// Ventilator settings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Setting {
    /// Standing still.
    Off,
    /// Low.
    Low,
    /// High.
    High,
    /// Boost.
    Boost,
}

impl Setting {
    /// All settings.
    pub const ALL: [Setting; 4] = [Setting::Off, Setting::Low, Setting::High, Setting::Boost];

    /// The word for it.
    pub fn name(self) -> &'static str {
        match self {
            Setting::Off => "off",
            Setting::Low => "low",
            Setting::High => "high",
            Setting::Boost => "boost",
        }
    }
}

/// A tested point: both streams at the same external static pressure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UnitPoint {
    /// External static pressure of each stream (Pa).
    pub pressure: f64,
    /// Net supply flow (m³/s).
    pub net_supply: f64,
    /// Gross supply flow (m³/s).
    pub gross_supply: f64,
    /// Gross extract flow (m³/s).
    pub gross_extract: f64,
    /// Electric power of the whole unit (W).
    pub power: f64,
}

/// Recovery at a tested point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recovery {
    /// Outdoor temperature (°C).
    pub outdoor: f64,
    /// Net supply flow (m³/s).
    pub flow: f64,
    /// Sensible recovery efficiency, 0 to 1.
    pub sensible: f64,
    /// Moisture recovered, 0 to 1.
    pub moisture: f64,
}

/// What the new ducts may be.
#[derive(Debug, Clone, PartialEq)]
pub struct DuctChoices {
    /// Inner diameters (m).
    pub diameters: Vec<f64>,
    /// Material.
    pub material: Material,
    /// Flexible duct: how far it is pushed together, (stretched − installed)/stretched, 0 to 0.5.
    pub compression: Estimate,
    /// Insulation of ducts that carry outdoor or exhaust air (m²·K/W).
    pub insulation: f64,
}

/// How the ventilator may be controlled.
#[derive(Debug, Clone, PartialEq)]
pub struct Controls {
    /// Allowed interlocks.
    pub interlocks: Vec<Interlock>,
    /// Part of the time in which the ventilator runs.
    pub run_share: f64,
}

/// What ventilator and blower have to do with each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Interlock {
    /// Nothing: the ventilator runs whatever the blower does.
    None,
    /// The ventilator calls the blower, which runs at least at low.
    VentilatorCallsBlower,
    /// The ventilator runs only while the blower runs for heating or cooling.
    OnlyWithBlower,
}

impl Interlock {
    /// All interlocks.
    pub const ALL: [Interlock; 3] = [
        Interlock::None,
        Interlock::VentilatorCallsBlower,
        Interlock::OnlyWithBlower,
    ];

    /// The words for it in a job file.
    pub fn name(self) -> &'static str {
        match self {
            Interlock::None => "none",
            Interlock::VentilatorCallsBlower => "ventilator calls blower",
            Interlock::OnlyWithBlower => "only with blower",
        }
    }
}

/// Prices in the currency of the job.
#[derive(Debug, Clone, PartialEq)]
pub struct Costs {
    /// Currency, as printed.
    pub currency: String,
    /// Electricity per kilowatt-hour.
    pub electricity: f64,
    /// Insulated duct per metre, by inner diameter (m).
    pub duct: Vec<(f64, f64)>,
    /// An elbow or boot.
    pub elbow: f64,
    /// A balancing damper.
    pub damper: f64,
    /// A collar in an existing duct.
    pub collar: f64,
    /// A wall hood.
    pub hood: f64,
    /// A two-in-one wall hood.
    pub two_in_one_hood: f64,
    /// A grille.
    pub grille: f64,
    /// Relay and wire of an interlock.
    pub interlock: f64,
}

/// How the ventilator joins the house.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Layout {
    /// Own extract grilles, supply air into the return duct.
    DedicatedReturn,
    /// Extract from the return, supply into the supply duct.
    ReturnToSupply,
    /// Extract from the return, supply into the return further on.
    ReturnToReturn,
    /// Own grilles for both.
    FullyDucted,
}

impl Layout {
    /// All layouts.
    pub const ALL: [Layout; 4] = [
        Layout::DedicatedReturn,
        Layout::ReturnToSupply,
        Layout::ReturnToReturn,
        Layout::FullyDucted,
    ];

    /// The trade's words for it.
    pub fn name(self) -> &'static str {
        match self {
            Layout::DedicatedReturn => "dedicated return",
            Layout::ReturnToSupply => "return-to-supply",
            Layout::ReturnToReturn => "return-to-return",
            Layout::FullyDucted => "fully ducted",
        }
    }
}

/// How a supply duct ends in an existing duct.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Entry {
    /// Flush with the wall of the duct.
    Flush,
    /// An elbow inside the duct that faces downstream.
    FacingDownstream,
}

/// The plan that was chosen in the job file.
#[derive(Debug, Clone, PartialEq)]
pub struct ChosenPlan {
    /// Index into [`Job::units`].
    pub unit: usize,
    /// Setting at which the rate is to be met.
    pub setting: Setting,
    /// Index into [`Job::spots`].
    pub spot: usize,
    /// Layout.
    pub layout: Layout,
    /// Taps or grilles from which extract air is drawn.
    pub extract: Vec<End>,
    /// Taps or grilles to which supply air goes.
    pub supply: Vec<End>,
    /// End of the supply duct in an existing duct.
    pub entry: Entry,
    /// Index of the intake into [`Job::terminals`].
    pub intake: usize,
    /// Index of the exhaust into [`Job::terminals`].
    pub exhaust: usize,
    /// Inner diameter of the ducts (m).
    pub diameter: f64,
    /// Interlock.
    pub interlock: Interlock,
    /// Angle of the damper in the supply stream (°), 0 open; set by the tool when absent.
    pub supply_damper: Option<f64>,
    /// Angle of the damper in the extract stream (°), 0 open; set by the tool when absent.
    pub extract_damper: Option<f64>,
}
