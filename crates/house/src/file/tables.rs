//! The tables of the job file and of the catalogue.

use units::{
    Angle, Area, EnergyPrice, Fraction, Length, LengthPrice, Money, Power, Pressure, SoundLevel,
    System, Temperature, ThermalResistance, Typed, Velocity, VolumeFlow,
};

use super::rates::Hours;
use super::value::{Given, Named, Number, table};
use super::words::{
    BlowerDoor, ChartPoint, Core, Date, Facing, Fans, FlowAt, GradePoint, Point, ReadsIn, Run,
    RunningMode, Shown, StationKind, Stretch, TerminalKind, TerminalUse, Tightness, Use,
    Ventilation,
};
use crate::model::{
    BlowerKind, Entry, InstrumentKind, Interlock, Layout, Material, Mode, OpeningKind, OrificeTaps,
    Section, Serves, Setting, Side, Venting, ZoneKind,
};
use rules::RuleSet;
use rules::clearances::Object;
use rules::rates::{Basement, Category, Edition};

table! {
    /// A job: one house, what was measured in it, and what may be built into it.
    JobTable {
        /// Version of the file format: 1.
        required format: u32,
        /// Name of the job, as it is printed.
        required name: String,
        /// Units that are printed first. IP when absent.
        optional units: System,
        /// File with the candidate units, beside the job file. Not needed when units stand in the job itself.
        optional catalogue: String,
        /// The building as a whole.
        required house: HouseTable,
        /// Weather and rooms for which flows are computed.
        required climate: ClimateTable,
        /// Rooms, floors and spaces beside them; without any, the house is one zone called "house".
        optional zone: Vec<Given<ZoneTable>>,
        /// Doors and openings between zones.
        optional opening: Vec<Given<OpeningTable>>,
        /// Exhausts other than the ventilator: kitchen hood, bath fans, dryer.
        optional exhaust: Vec<Given<ExhaustTable>>,
        /// Appliances that burn something: furnace, water heater, stove, fireplace. Without any, give `house.nothing_burns`.
        optional appliance: Vec<Given<ApplianceTable>>,
        /// What ventilates the house today. Nothing when absent.
        optional existing: ExistingTable,
        /// The forced-air system. None when absent.
        optional air_handler: AirHandlerTable,
        /// Places where the ventilator may hang.
        optional spot: Vec<Given<SpotTable>>,
        /// Places where existing ducts may be tapped.
        optional tap: Vec<Given<TapTable>>,
        /// Places for grilles of the ventilator's own.
        optional grille: Vec<Given<GrilleTable>>,
        /// Walls as they are seen from outdoors, each from left to right, walking around the house with it at the left hand; needed by `lungwort walls`.
        optional wall: Vec<Given<WallTable>>,
        /// Places where the wall may be pierced.
        optional terminal: Vec<Given<TerminalTable>>,
        /// Distances between terminals, edge to edge.
        optional separation: Vec<Given<SeparationTable>>,
        /// Candidate units that stand in the job itself, beside those of the catalogue.
        optional unit: Vec<Given<UnitTable>>,
        /// What the new ducts may be.
        optional ducts: DuctsTable,
        /// How the ventilator may be controlled.
        optional controls: ControlsTable,
        /// Prices.
        optional costs: CostsTable,
        /// Whose rules hold for the job. Common practice alone when absent.
        optional rules: RulesTable,
        /// What the rules of rates ask beyond the survey: weather factor, rooms, hours of running.
        optional rates: RatesTable,
        /// The plan that was chosen.
        optional plan: PlanTable,
        /// Places where a pressure is read on the set-up day and turned into a flow; needed by `lungwort balance`.
        optional station: Vec<Given<StationTable>>,
        /// Manometers, hoods and meters of the set-up day. An ordinary manometer, and what else the stations need, when absent.
        optional instrument: Vec<Given<InstrumentTable>>,
        /// What the set-up has to reach.
        optional balancing: BalancingTable,
        /// How the survey went.
        optional survey: SurveyTable,
    }
}

table! {
    /// The building as a whole.
    HouseTable {
        /// Town or region.
        required place: String,
        /// Height above sea level.
        required altitude: Typed<Length>,
        /// Conditioned floor area, a finished basement included.
        required floor_area: Typed<Area>,
        /// Floor to ceiling. 8 ft when absent.
        optional ceiling_height: Typed<Length>,
        /// Storeys above grade, 1.5 for a half storey.
        required storeys: Number,
        /// Bedrooms.
        required bedrooms: u32,
        /// People who live there. Bedrooms plus one when absent.
        optional occupants: u32,
        /// Blower-door result at 50 Pa. Give this or tightness.
        optional blower_door: BlowerDoor,
        /// How tight the house is, where no blower door was run.
        optional tightness: Tightness,
        /// Exponent of the envelope's leakage, 0.5 to 1. 0.65 ± 0.05 when absent.
        optional leakage_exponent: Number,
        /// Outdoor-air rate to be met. The rule's rate when absent.
        optional required_rate: Typed<VolumeFlow>,
        /// Nothing in the house burns anything. No when absent: then `lungwort safety` asks for the appliances.
        optional nothing_burns: bool,
    }
}

table! {
    /// Weather and rooms for which flows are computed.
    ClimateTable {
        /// Outdoor temperature for winter design.
        required winter: Typed<Temperature>,
        /// Outdoor temperature on a mild day. 55 °F when absent.
        optional mild: Typed<Temperature>,
        /// Outdoor temperature for summer design.
        required summer: Typed<Temperature>,
        /// Room temperature in winter. 70 °F when absent.
        optional indoor_winter: Typed<Temperature>,
        /// Room temperature in summer. 75 °F when absent.
        optional indoor_summer: Typed<Temperature>,
        /// Wind at eaves height, for the wind option. 9 mph when absent.
        optional wind: Typed<Velocity>,
        /// Relative humidity of the rooms in winter, for condensation on ducts. 35 % when absent.
        optional indoor_winter_humidity: Typed<Fraction>,
        /// Relative humidity of the rooms in summer, for condensation on ducts. 55 % when absent.
        optional indoor_summer_humidity: Typed<Fraction>,
        /// Dew point of the outdoor air in summer, for condensation on ducts in attics, crawlspaces and garages. That of the summer design temperature at 50 % relative humidity when absent.
        optional summer_dew_point: Typed<Temperature>,
        /// Depth of snow that is expected at the walls. None when absent.
        optional snow: Typed<Length>,
    }
}

table! {
    /// A room, a floor, or a space that leaks to the house.
    ZoneTable {
        /// Name, used wherever a zone is asked for.
        required name: String,
        /// What it is. Living and basement are lived in, the others lie outside the envelope.
        required kind: ZoneKind,
        /// Floor area.
        required floor_area: Typed<Area>,
        /// Floor to ceiling. A stated default by kind when absent.
        optional height: Typed<Length>,
        /// Floor above grade, negative below. A stated default by kind when absent.
        optional level: Typed<Length>,
        /// Part of the house's leakage that lies here: to outdoors for a lived-in zone, to the house for the others. What is not given is shared out by floor area.
        optional leakage: Typed<Fraction>,
        /// Part of the air handler's supply air that is blown in here. What is not given is shared out by floor area.
        optional supply: Typed<Fraction>,
        /// Part of the air handler's return air that is drawn from here. What is not given is shared out by floor area.
        optional r#return: Typed<Fraction>,
        /// For attic, crawlspace and garage, the lived-in zone that it leaks to.
        optional joins: String,
        /// For attic, crawlspace and garage, the free area of its own vents.
        optional vent_area: Typed<Area>,
        /// A bedroom. No when absent.
        optional bedroom: bool,
    }
}

table! {
    /// A door or opening between two zones.
    OpeningTable {
        /// The two zones.
        required between: Vec<Given<String>>,
        /// What it is.
        required kind: OpeningKind,
        /// Free area. Give this or width and gap (door undercut), or width and height (open).
        optional area: Typed<Area>,
        /// Width. 30 in for a door when absent.
        optional width: Typed<Length>,
        /// Gap under a closed door.
        optional gap: Typed<Length>,
        /// Height of an open door or stair.
        optional height: Typed<Length>,
        /// How many of the same. 1 when absent.
        optional count: u32,
    }
}

table! {
    /// An exhaust other than the ventilator.
    ExhaustTable {
        /// Name, for instance kitchen hood.
        required name: String,
        /// Zone from which it draws. May be left out when there is one lived-in zone.
        optional zone: String,
        /// Flow.
        required flow: Typed<VolumeFlow>,
        /// Runs all the time. No when absent.
        optional continuous: bool,
        /// Room whose moisture or smells it takes out. Told from its name when absent.
        optional serves: Serves,
    }
}

table! {
    /// An appliance that burns something and sends its gases outdoors or into the room.
    ApplianceTable {
        /// Name, for instance water heater.
        required name: String,
        /// Zone where it stands. May be left out when there is one zone.
        optional zone: String,
        /// How its gases leave. Asked for by `lungwort safety` when absent, never assumed.
        optional venting: Venting,
        /// Largest depressurisation that its maker or a test allows. The rule for its venting when absent.
        optional limit: Typed<Pressure>,
    }
}

table! {
    /// What ventilates the house today.
    ExistingTable {
        /// What it is.
        required ventilation: Ventilation,
        /// Exhaust-only: zone from which the fan draws. May be left out when there is one lived-in zone.
        optional zone: String,
        /// Exhaust-only: flow of the fan.
        optional flow: Typed<VolumeFlow>,
        /// Supply-only: inner diameter of the outdoor duct.
        optional diameter: Typed<Length>,
        /// Supply-only: length of the outdoor duct with its bends.
        optional length: Typed<Length>,
        /// Supply-only: distance from its tap to the air-handler fan along the return.
        optional from_fan: Typed<Length>,
        /// Stays in use after the work. No when absent.
        optional stays: bool,
    }
}

table! {
    /// The forced-air system.
    AirHandlerTable {
        /// How its blower answers to pressure: an induction motor on a speed tap, an electronic motor that holds torque or airflow, or only the readings.
        required blower: BlowerKind,
        /// Zone where it stands. May be left out when there is one zone.
        optional zone: String,
        /// Heats with a furnace, which has a lowest return-air temperature. No when absent.
        optional furnace: bool,
        /// Furnace: least temperature of the air that enters it, as its maker asks for it. That of the rule "furnace return air" decides where it is higher.
        optional least_return_temperature: Typed<Temperature>,
        /// Pressure drop of the filter at the flow of the first mode that has pressures. 20 % of the total external static pressure when absent.
        optional filter_pressure_drop: Typed<Pressure>,
        /// Modes in which the blower was measured; standing still is always added.
        required mode: Vec<Given<ModeTable>>,
        /// The return side.
        optional r#return: PathTable,
        /// The supply side.
        optional supply: PathTable,
    }
}

table! {
    /// One mode of the blower, as measured.
    ModeTable {
        /// Which mode.
        required mode: Mode,
        /// Blower flow.
        required flow: Typed<VolumeFlow>,
        /// Static pressure in the return plenum, between filter and blower, against the house: below zero.
        optional return_pressure: Typed<Pressure>,
        /// Static pressure in the supply plenum, against the house: above zero.
        optional supply_pressure: Typed<Pressure>,
        /// Electric power of the blower. 0.5 W per cfm when absent.
        optional power: Typed<Power>,
        /// Part of the year in which the blower runs in this mode of its own accord. A stated default by mode when absent.
        optional run_share: Typed<Fraction>,
    }
}

table! {
    /// The return or the supply side of the forced-air system.
    PathTable {
        /// Length of the trunk from the blower to its end. 20 ft (return) or 30 ft (supply) when absent.
        optional length: Typed<Length>,
        /// Inner size of the trunk. Sized for 700 fpm at the largest flow when absent.
        optional section: Section,
        /// Part of the pressure drop (without the filter) at grilles, boots and branches. 40 % ± 15 % (return) or 60 % ± 15 % (supply) when absent.
        optional branch_share: Typed<Fraction>,
        /// Leakage as a part of the blower flow. 5 % ± 4 % when absent.
        optional leakage: Typed<Fraction>,
        /// Zone that the leakage joins, or "outdoors". The zone of the air handler when absent.
        optional leakage_zone: String,
        /// The trunk as drawn, from the blower outward; replaces the even split along the trunk.
        optional segment: Vec<Given<SegmentTable>>,
    }
}

table! {
    /// A drawn part of a trunk.
    SegmentTable {
        /// Length.
        required length: Typed<Length>,
        /// Inner size.
        required section: Section,
        /// Material. Galvanised when absent.
        optional material: Material,
        /// Sum of the loss coefficients of its fittings. 0 when absent.
        optional loss: Number,
    }
}

table! {
    /// A place where the ventilator may hang.
    SpotTable {
        /// Name.
        required name: String,
        /// Zone. May be left out when there is one zone.
        optional zone: String,
        /// Lowest temperature through the year. A stated default by kind of zone when absent.
        optional coldest: Typed<Temperature>,
        /// Highest temperature through the year. A stated default by kind of zone when absent.
        optional warmest: Typed<Temperature>,
        /// A drain can be reached. Yes when absent.
        optional drain: bool,
        /// An electric outlet can be reached. Yes when absent.
        optional outlet: bool,
        /// Something carries the unit without shaking a bedroom. Yes when absent.
        optional support: bool,
        /// It hangs on the wall of a bedroom.
        optional bedroom_wall: bool,
        /// Shorter side of the level floor in front of the unit.
        optional working_space: Typed<Length>,
        /// Clear opening of the hatch to an attic or a crawlspace, for instance "22 in x 30 in".
        optional hatch: Section,
        /// Way from the hatch of an attic to the unit.
        optional passage: Typed<Length>,
        /// Fall of the drain over its length.
        optional drain_slope: Typed<Fraction>,
        /// Duct runs to taps, grilles and terminals, by their names; what is not named cannot be reached. Without the table everything is reached by 15 ft and 2 elbows.
        optional runs: Named<Run>,
    }
}

table! {
    /// A place where an existing duct may be tapped.
    TapTable {
        /// Name.
        required name: String,
        /// Which side of the blower.
        required on: Side,
        /// Distance to the air-handler fan along the duct.
        required from_fan: Typed<Length>,
        /// Inner size of the duct there. That of the trunk when absent.
        optional section: Section,
        /// What may be joined here. Both on the return, supply on the supply side, when absent.
        optional r#use: Vec<Given<Use>>,
        /// Measured static pressure against the house.
        optional pressure: Typed<Pressure>,
        /// Blower mode in which the pressure was read.
        optional mode: Mode,
    }
}

table! {
    /// A place for a grille of the ventilator's own.
    GrilleTable {
        /// Name.
        required name: String,
        /// Zone. May be left out when there is one lived-in zone.
        optional zone: String,
        /// Extract air is drawn, or supply air delivered.
        required r#use: Use,
        /// Extract: room whose moisture or smells it takes out. Told from its name when absent.
        optional serves: Serves,
        /// Loss coefficient on the velocity pressure in its duct. 2.0 ± 0.5 when absent.
        optional loss: Number,
    }
}

table! {
    /// A place where the wall may be pierced.
    TerminalTable {
        /// Name.
        required name: String,
        /// A hood for one stream, or intake and exhaust through one opening. A hood when absent.
        optional kind: TerminalKind,
        /// What it may serve. Both when absent.
        optional r#use: Vec<Given<TerminalUse>>,
        /// Facing of its wall. May be left out when `wall` says where it sits.
        optional facing: Facing,
        /// Drawn wall on which it sits. Then the distance to other terminals on drawn walls is computed, and `along` is needed.
        optional wall: String,
        /// Centre from the left corner of the wall.
        optional along: Typed<Length>,
        /// Centre above the ground there. 4 ft when absent.
        optional height: Typed<Length>,
        /// Size of its opening on the wall, from which distances are measured. 8 in for a hood, 16 x 8 in for a two-in-one hood, when absent.
        optional size: Section,
        /// Two-in-one hood: largest flow of each stream. That of the rule "hood limit" when absent.
        optional flow_limit: Typed<VolumeFlow>,
        /// Loss coefficient on the velocity pressure in its duct. By use when absent: intake 2.75 ± 0.8, exhaust 2.25 ± 0.7, either 2.5 ± 0.8.
        optional loss: Number,
    }
}

table! {
    /// A wall, seen from outdoors. Heights are above the level line of the house: grade, where the ground is level.
    WallTable {
        /// Name, for instance north wall.
        required name: String,
        /// Where it faces.
        required facing: Facing,
        /// Width. Give width and height, or `outline`.
        optional width: Typed<Length>,
        /// Height of its upper edge, to the eaves.
        optional height: Typed<Length>,
        /// Corners of its outline in order, each as distance from the left corner and height; for gables and steps.
        optional outline: Vec<Given<Point>>,
        /// Grade line: one height, or points from left to right, each as distance from the left corner and height. The level line when absent.
        optional grade: Vec<Given<GradePoint>>,
        /// Left corner in plan, as distances to the east and to the north of the left corner of the first wall. Where the wall before it ends when absent.
        optional corner: Point,
        /// What is on the wall and before it.
        optional object: Vec<Given<WallObjectTable>>,
    }
}

table! {
    /// Something on a wall or before it that asks for a distance.
    WallObjectTable {
        /// What it is.
        required kind: Object,
        /// Name, for instance kitchen window. That of its kind when absent.
        optional name: String,
        /// Left edge from the left corner of the wall.
        required along: Typed<Length>,
        /// Lower edge above the level line. The ground when absent, for what stands or lies on it.
        optional bottom: Typed<Length>,
        /// Width. A usual one by kind when absent.
        optional width: Typed<Length>,
        /// Height. A usual one by kind when absent.
        optional height: Typed<Length>,
        /// Distance from the wall, for what stands off it: the condenser on its pad, the driveway, the property line. 0 when absent.
        optional out: Typed<Length>,
        /// How far it reaches outward from there. 0 when absent.
        optional depth: Typed<Length>,
    }
}

table! {
    /// The distance between two terminals, edge to edge.
    SeparationTable {
        /// The two terminals.
        required between: Vec<Given<String>>,
        /// Shortest distance.
        required distance: Typed<Length>,
    }
}

table! {
    /// What the new ducts may be.
    DuctsTable {
        /// Inner diameters to be tried. 6 in when absent.
        optional diameters: Vec<Given<Typed<Length>>>,
        /// Material. Flexible when absent.
        optional material: Material,
        /// Flexible duct: how well it is pulled out. "as found" when absent.
        optional stretch: Stretch,
        /// Flexible duct: how far it is pushed together, in place of `stretch`.
        optional compression: Typed<Fraction>,
        /// Insulation of ducts that carry outdoor or exhaust air. R-8 when absent.
        optional insulation: Typed<ThermalResistance>,
    }
}

table! {
    /// How the ventilator may be controlled.
    ControlsTable {
        /// What ventilator and blower may have to do with each other. All three when absent, "none" without an air handler.
        optional interlocks: Vec<Given<Interlock>>,
        /// Part of the time in which the ventilator runs. 100 % when absent.
        optional run_share: Typed<Fraction>,
    }
}

table! {
    /// Prices in the currency of the job. What is not given counts as zero, and `check` says so.
    CostsTable {
        /// Currency, as printed. $ when absent.
        optional currency: String,
        /// Electricity.
        optional electricity: Typed<EnergyPrice>,
        /// Insulated duct by inner diameter, for instance { "6 in" = "2.90 /ft" }.
        optional duct: Named<Typed<LengthPrice>>,
        /// An elbow or boot.
        optional elbow: Typed<Money>,
        /// A balancing damper.
        optional damper: Typed<Money>,
        /// A collar in an existing duct.
        optional collar: Typed<Money>,
        /// A wall hood.
        optional hood: Typed<Money>,
        /// A two-in-one wall hood.
        optional two_in_one_hood: Typed<Money>,
        /// A grille, with what it takes to bring its duct there. Give every price with its labour or every one without.
        optional grille: Typed<Money>,
        /// Relay and wire of an interlock.
        optional interlock: Typed<Money>,
    }
}

table! {
    /// Whose rules hold for the job. Common practice always belongs to them.
    RulesTable {
        /// Rule sets beside common practice, of which one at most is the law of a place: `lungwort rules` lists them.
        optional sets: Vec<Given<RuleSet>>,
        /// Numbers that take the place of those of single rules.
        optional r#override: Vec<Given<OverrideTable>>,
    }
}

table! {
    /// A number that takes the place of that of a rule.
    OverrideTable {
        /// Name of the rule, as `lungwort rules` lists it.
        required rule: String,
        /// The number with its unit, of the kind that the rule has.
        required limit: String,
        /// Why. It is printed wherever the rule is used.
        required reason: String,
        /// Who says so, for instance the building inspector.
        optional who: String,
    }
}

table! {
    /// What the rules of rates ask beyond the survey.
    RatesTable {
        /// Weather and shielding factor of the place, from your copy of ASHRAE 62.2 (normative appendix B). Without it no credit is given for infiltration; no value is assumed for any town.
        optional weather_factor: Number,
        /// Part of the envelope that is shared with no other dwelling and no garage, for an attached dwelling. 100 % when absent.
        optional exterior_share: Typed<Fraction>,
        /// Newly built. No when absent.
        optional new_construction: bool,
        /// Stop the credit for infiltration at two thirds of the total where the text is in doubt about it. Yes when absent.
        optional cap_credit: bool,
        /// Outdoor air is supplied to every bedroom and to a living, dining or kitchen room. Not counted when absent.
        optional distributed: bool,
        /// Edition of ASHRAE 62.2 that the job uses. "2019" when absent.
        optional edition: Edition,
        /// Category of EN 16798-1 that the job uses. "II" when absent.
        optional category: Category,
        /// Shelter class of ASHRAE Fundamentals, 1 (open) to 5 (obstacles closer than a house height), for the comparison of infiltration models. 3 when absent.
        optional shelter: u32,
        /// Spans of the day in which the ventilator runs. All day, or controls.run_share of every hour, when absent.
        optional hours: Vec<Given<Hours>>,
        /// Rooms by kind, the bedrooms apart. A stated default when absent.
        optional rooms: RoomsTable,
    }
}

table! {
    /// Rooms by kind, the bedrooms apart.
    RoomsTable {
        /// Living, dining, family and other rooms to live in; one that is both living and dining room counts as two. 2 when absent.
        optional living: u32,
        /// Kitchens. 1 when absent.
        optional kitchens: u32,
        /// Floor area of a kitchen closed off by doors. An open kitchen when absent.
        optional enclosed_kitchen: Typed<Area>,
        /// Rooms with a bath or shower. 1 with up to two bedrooms, 2 with more, when absent.
        optional bathrooms: u32,
        /// Toilets without a bath or shower. 0 when absent.
        optional toilets: u32,
        /// Laundries and utility rooms. 1 when absent.
        optional utility_rooms: u32,
        /// Basement: "open" if more than two thirds of it are no rooms counted here, "divided" if less. "open" where a zone is a basement, "none" otherwise, when absent.
        optional basement: Basement,
        /// A window of the kitchen opens. No when absent.
        optional kitchen_window: bool,
        /// A window of each bathroom opens. No when absent.
        optional bathroom_window: bool,
    }
}

table! {
    /// The plan that was chosen.
    PlanTable {
        /// Unit.
        required unit: String,
        /// Setting at which the rate is to be met. "high" when absent.
        optional setting: Setting,
        /// Spot.
        required spot: String,
        /// Layout.
        required layout: Layout,
        /// Taps or grilles from which extract air is drawn.
        required extract: Vec<Given<String>>,
        /// Taps or grilles to which supply air goes.
        required supply: Vec<Given<String>>,
        /// How the supply duct ends in an existing duct. "facing downstream" in a supply duct, "flush" in a return, when absent.
        optional entry: Entry,
        /// Terminal of the intake.
        required intake: String,
        /// Terminal of the exhaust; the same as the intake for a two-in-one hood.
        required exhaust: String,
        /// Inner diameter of the ducts. The first of the diameters to be tried when absent.
        optional diameter: Typed<Length>,
        /// Interlock. "ventilator calls blower" for return-to-return, "none" for the others, when absent.
        optional interlock: Interlock,
        /// Angle of the damper in the supply stream, 0 open. Found by the program when absent.
        optional supply_damper: Typed<Angle>,
        /// Angle of the damper in the extract stream, 0 open. Found by the program when absent.
        optional extract_damper: Typed<Angle>,
    }
}

table! {
    /// A place where a pressure is read and turned into a flow.
    StationTable {
        /// Name.
        required name: String,
        /// Which air it meets: "supply" (all supply air, or the outdoor air behind it), "extract" (all extract air, or the exhaust air behind it), "blower" (the air of the air handler), or the name of a tap, grille or terminal whose duct it measures.
        required meets: String,
        /// What turns the reading into a flow.
        required device: StationKind,
        /// Points of the unit's chart in rising order, each as pressure and flow.
        optional chart: Vec<Given<ChartPoint>>,
        /// For a power law Q = K Δpⁿ: what it passes at some pressure.
        optional passes: FlowAt,
        /// For a power law: its exponent n. 0.5 when absent.
        optional exponent: Number,
        /// For an orifice, an averaging probe and a Pitot traverse: inner size of the duct.
        optional duct: Section,
        /// For an orifice: diameter of its opening.
        optional opening: Typed<Length>,
        /// For an orifice: where its two pressures are taken. "flange" when absent.
        optional taps: OrificeTaps,
        /// For an averaging probe: its factor on the velocity, from its sheet.
        optional factor: Number,
        /// For a passive hood: part of the flow that it keeps back. 5 % when absent.
        optional held_back: Typed<Fraction>,
        /// For a flow plate: supply plenum pressure with the filter in its slot.
        optional with_filter: Typed<Pressure>,
        /// For a flow plate: supply plenum pressure with the plate in the filter's place.
        optional with_plate: Typed<Pressure>,
        /// For an exhaust box: area of its opening.
        optional opening_area: Typed<Area>,
        /// Straight duct before it, in diameters. Decides how sure it is where `uncertainty` is absent.
        optional straight: Number,
        /// How far its flow may be off in 95 of 100 cases, from its calibration. A stated default for the device when absent.
        optional uncertainty: Typed<Fraction>,
        /// Temperature of the air at it on the set-up day. From the stream and the temperatures of the day when absent.
        optional temperature: Typed<Temperature>,
        /// Relative humidity of the air at it. 40 % when absent.
        optional humidity: Typed<Fraction>,
        /// Unit in which its instrument is read, for numbers typed without one. inWC or cfm, or Pa or L/s, when absent.
        optional reads_in: ReadsIn,
    }
}

table! {
    /// An instrument of the set-up day.
    InstrumentTable {
        /// Name.
        required name: String,
        /// Kind. "manometer" when absent.
        optional kind: InstrumentKind,
        /// How far its readings may all be off by the same part, in 95 of 100 cases. A stated default for the kind when absent.
        optional accuracy: Typed<Fraction>,
        /// How far its zero may wander during the day, in 95 of 100 cases. A stated default for the kind when absent.
        optional zero: Shown,
        /// How far one averaged reading may be off from the next in moving air, in 95 of 100 cases. A stated default for the kind when absent.
        optional noise: Typed<Fraction>,
        /// Smallest step of its display. A stated default for the kind when absent.
        optional resolution: Shown,
        /// Least and greatest reading. A stated default for the kind when absent.
        optional range: Vec<Given<Shown>>,
        /// Day of its last calibration, like 2026-03-01.
        optional calibrated: Date,
    }
}

table! {
    /// What the set-up has to reach.
    BalancingTable {
        /// Largest distance of the balance from zero. 10 % when absent.
        optional tolerance: Typed<Fraction>,
        /// Probability of being within tolerance and above the rate at which the work ends. 95 % when absent.
        optional certainty: Typed<Fraction>,
        /// Settings of the ventilator at which it has to be right; the first is the one at which the dampers are turned. The setting of the plan when absent.
        optional settings: Vec<Given<Setting>>,
        /// Blower modes in the order in which they are worked through. Those in which the ventilator runs when absent.
        optional modes: Vec<Given<RunningMode>>,
    }
}

table! {
    /// How the survey went.
    SurveyTable {
        /// What could not be measured or is not there, by the names that the walk through the house has for it, like "filter". It is not asked for again.
        optional without_answer: Vec<Given<String>>,
    }
}

table! {
    /// A catalogue of candidate units.
    CatalogueTable {
        /// Version of the file format: 1.
        required format: u32,
        /// The units.
        required unit: Vec<Given<UnitTable>>,
    }
}

table! {
    /// A ventilator in the shape that a certified test gives.
    UnitTable {
        /// Name.
        required name: String,
        /// A heat core passes heat only, an energy core moisture too.
        required core: Core,
        /// Price. Zero when absent, and `check` says so.
        optional price: Typed<Money>,
        /// Inner diameter of its ports.
        required port_diameter: Typed<Length>,
        /// Part of the extract air that leaks into the supply air inside. 3 % when absent.
        optional cross_leakage: Typed<Fraction>,
        /// Where both fans sit. "after core" when absent.
        optional fans: Fans,
        /// A damper shuts the outdoor duct while the unit stands still. No when absent.
        optional shuts_when_off: bool,
        /// Least and greatest temperature around it. Those of the rules "surroundings" and "warm surroundings" when absent.
        optional ambient: Vec<Given<Typed<Temperature>>>,
        /// Needs a drain. Yes for a heat core, no for an energy core, when absent.
        optional needs_drain: bool,
        /// Settings with their tested points.
        required setting: Vec<Given<SettingTable>>,
        /// Recovery at tested flows and temperatures.
        optional recovery: Vec<Given<RecoveryTable>>,
    }
}

table! {
    /// One setting of a ventilator.
    SettingTable {
        /// Which setting.
        required setting: Setting,
        /// Tested points in order of rising pressure, at least two.
        required points: Vec<Given<PointTable>>,
        /// A-weighted sound power that the casing radiates, as tested.
        optional sound: Typed<SoundLevel>,
        /// A-weighted sound power into the louder of the supply and the extract duct, as tested. Estimated from flow and pressure when absent.
        optional duct_sound: Typed<SoundLevel>,
    }
}

table! {
    /// A tested point: both streams at the same external static pressure.
    PointTable {
        /// External static pressure of each stream.
        required pressure: Typed<Pressure>,
        /// Net supply flow.
        required net_supply: Typed<VolumeFlow>,
        /// Gross supply flow. Net flow over one less the cross-leakage when absent.
        optional gross_supply: Typed<VolumeFlow>,
        /// Gross extract flow. The gross supply flow when absent.
        optional gross_extract: Typed<VolumeFlow>,
        /// Electric power of the whole unit.
        required power: Typed<Power>,
    }
}

table! {
    /// Recovery at a tested point.
    RecoveryTable {
        /// Outdoor temperature.
        required outdoor: Typed<Temperature>,
        /// Net supply flow.
        required flow: Typed<VolumeFlow>,
        /// Sensible recovery efficiency.
        required sensible: Typed<Fraction>,
        /// Moisture recovered. Zero for a heat core when absent; an energy core needs it.
        optional moisture: Typed<Fraction>,
    }
}
