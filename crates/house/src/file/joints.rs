//! Spots, taps, grilles and terminals, and the duct runs between them.

use diagnostics::Problem;
use units::{Length, Quantity, Temperature, Typed};

use super::customary::{FOOT, fahrenheit};
use super::limits::{beyond_end, duct_pressure, temperature};
use super::reader::{Names, Reader, unknown_name};
use super::tables::{JobTable, SpotTable, TapTable};
use super::value::{Given, Slot};
use super::words::{TerminalKind, TerminalUse, Use};
use super::{Places, air_handler, pair, walls};
use crate::model::{
    AirHandler, Climate, End, Grille, Section, Separation, Side, Spot, SpotRun, Tap, Terminal,
    Wall, ZoneKind,
};

/// Names of everything a duct of the ventilator may lead to.
pub(super) struct Ends {
    pub taps: Names,
    pub grilles: Names,
    pub terminals: Names,
}

impl Ends {
    /// Takes the names; a name must not be used for two kinds of end.
    pub fn collect(table: &JobTable, reader: &mut Reader) -> Self {
        let taps = Names::collect("tap", table.tap.each(), |tap| &tap.name, reader);
        let grilles = Names::collect("grille", table.grille.each(), |grille| &grille.name, reader);
        let terminals = Names::collect(
            "terminal",
            table.terminal.each(),
            |terminal| &terminal.name,
            reader,
        );
        let ends = Self {
            taps,
            grilles,
            terminals,
        };
        for (later, earlier) in [
            (&ends.grilles, &ends.taps),
            (&ends.terminals, &ends.taps),
            (&ends.terminals, &ends.grilles),
        ] {
            for name in later.iter() {
                if let (Some(here), Some(there)) = (later.index(name), earlier.index(name)) {
                    reader.problem(
                        Problem::error(
                            format!(
                                "a {} and a {} are both called \"{name}\"",
                                earlier.kind(),
                                later.kind()
                            ),
                            later.span(here),
                        )
                        .related(earlier.span(there), "first here")
                        .help("runs lead to names: give each a name of its own"),
                    );
                }
            }
        }
        ends
    }

    /// The end with a name.
    pub fn find(&self, name: &str) -> Option<End> {
        let tap = || self.taps.index(name).map(End::Tap);
        let grille = || self.grilles.index(name).map(End::Grille);
        let terminal = || self.terminals.index(name).map(End::Terminal);
        tap().or_else(grille).or_else(terminal)
    }

    pub fn names(&self) -> impl Iterator<Item = &str> {
        self.taps
            .iter()
            .chain(self.grilles.iter())
            .chain(self.terminals.iter())
    }

    fn all(&self) -> impl Iterator<Item = End> {
        let taps = (0..self.taps.len()).map(End::Tap);
        let grilles = (0..self.grilles.len()).map(End::Grille);
        let terminals = (0..self.terminals.len()).map(End::Terminal);
        taps.chain(grilles).chain(terminals)
    }
}

pub(super) fn taps(
    table: &JobTable,
    air_handler: Option<&AirHandler>,
    reader: &mut Reader,
) -> Vec<Tap> {
    let members = table.tap.each();
    if let Some(first) = members.first().filter(|_| table.air_handler.is_absent()) {
        reader.error(
            &first.span,
            "a tap needs existing ducts",
            "describe the [air_handler], or remove the taps",
        );
    }
    members
        .iter()
        .map(|given| tap(&given.value, air_handler, reader))
        .collect()
}

fn tap(table: &TapTable, air_handler: Option<&AirHandler>, reader: &mut Reader) -> Tap {
    let side = table.on.value().copied().unwrap_or(Side::Return);
    let path = air_handler.map(|handler| match side {
        Side::Return => &handler.return_path,
        Side::Supply => &handler.supply_path,
    });
    let from_fan = reader.not_negative("tap.from_fan", &table.from_fan);
    if let (Some(path), Some(given)) = (path, table.from_fan.given())
        && table.on.value().is_some()
        && from_fan > path.length + 1e-9
    {
        beyond_end("tap.from_fan", given, path.length, reader);
    }
    let section = match (&table.section, path) {
        (Slot::Good(given), _) => given.value,
        (Slot::Absent, Some(path)) => {
            reader.assume(
                "tap.section",
                "that of the trunk",
                "no size is given at the tap",
            );
            path.section
        }
        _ => Section::Round(f64::NAN),
    };
    let (extract, supply) = tap_use(table, side, reader);
    Tap {
        name: table.name.value().cloned().unwrap_or_default(),
        side,
        from_fan,
        section,
        extract,
        supply,
        pressure: tap_pressure(table, side, air_handler, reader),
    }
}

fn tap_use(table: &TapTable, side: Side, reader: &mut Reader) -> (bool, bool) {
    if table.r#use.is_absent() {
        let text = match side {
            Side::Return => "extract and supply",
            Side::Supply => "supply",
        };
        let field = match side {
            Side::Return => "tap.use on the return",
            Side::Supply => "tap.use on the supply side",
        };
        reader.assume(field, text, "extract air is drawn from the return only");
        return (side == Side::Return, true);
    }
    let uses = table.r#use.each();
    if let Some(given) = table.r#use.given().filter(|given| given.value.is_empty()) {
        reader.error(
            &given.span,
            "tap.use is empty",
            "leave it out, or name a use",
        );
    }
    for given in uses {
        if given.value == Use::Extract && side == Side::Supply {
            reader.error(
                &given.span,
                "extract air cannot be drawn from the supply side",
                "conditioned air on its way to the rooms would be thrown out; tap the return",
            );
        }
    }
    let serves = |wanted: Use| uses.iter().any(|given| given.value == wanted);
    (serves(Use::Extract), serves(Use::Supply))
}

/// The measured static pressure at a tap, with its mode.
fn tap_pressure(
    table: &TapTable,
    side: Side,
    air_handler: Option<&AirHandler>,
    reader: &mut Reader,
) -> Option<(crate::model::Mode, crate::model::Estimate)> {
    const FIELD: &str = "tap.pressure";
    let (given, mode) = match (&table.pressure, &table.mode) {
        (Slot::Good(given), Slot::Good(mode)) => (given, mode),
        (Slot::Good(given), Slot::Absent) => {
            reader.error(
                &given.span,
                "tap.mode is missing",
                "say in which blower mode the pressure was read",
            );
            return None;
        }
        (Slot::Absent, Slot::Good(mode)) => {
            reader.error(
                &mode.span,
                "tap.mode is given without a pressure",
                "give the pressure that was read, or remove the mode",
            );
            return None;
        }
        _ => return None,
    };
    let value = duct_pressure(FIELD, &table.pressure, reader);
    let measured = air_handler?
        .modes
        .iter()
        .find(|other| other.mode == mode.value);
    let Some(measured) = measured else {
        reader.error(
            &mode.span,
            format!(
                "tap.mode: the air handler has no mode \"{}\"",
                mode.value.name()
            ),
            "add it as [[air_handler.mode]], or name one that was measured",
        );
        return None;
    };
    let (sign, plenum, word) = match side {
        Side::Return => (-1.0, &measured.return_pressure, "below"),
        Side::Supply => (1.0, &measured.supply_pressure, "above"),
    };
    if value * sign < 0.0 {
        reader.error(
            &given.span,
            format!("{FIELD} cannot be {} on this side", given.value.text),
            format!(
                "against the house it lies {word} zero while the blower runs; \
                 were the hoses of the manometer exchanged?"
            ),
        );
    } else if let Some(plenum) = plenum
        && value.abs() > 1.2 * plenum.value.abs()
    {
        reader.warn(
            &given.span,
            format!(
                "{FIELD} of {} is beyond that of the plenum",
                given.value.text
            ),
            "the pressure fades from the blower to the rooms; check both readings",
        );
    }
    Some((
        mode.value,
        air_handler::pressure_estimate(FIELD, &given.value, value, reader),
    ))
}

pub(super) fn grilles(table: &JobTable, places: &Places, reader: &mut Reader) -> Vec<Grille> {
    let members = table.grille.each();
    members
        .iter()
        .map(|given| {
            let zone = places.zone("grille.zone", &given.value.zone, &given.span, true, reader);
            if let Some(name) = given.value.zone.given()
                && places
                    .zones
                    .get(zone)
                    .is_some_and(|zone| !zone.kind.conditioned())
            {
                reader.error(
                    &name.span,
                    format!("a grille cannot serve \"{}\"", name.value),
                    "grilles belong in lived-in zones",
                );
            }
            Grille {
                name: given.value.name.value().cloned().unwrap_or_default(),
                zone,
                extract: given.value.r#use.value() != Some(&Use::Supply),
                serves: crate::model::Serves::Nothing,
                loss: reader.number(
                    "grille.loss",
                    &given.value.loss,
                    0.0..=100.0,
                    (2.0, 0.5),
                    "grille with its boot (from memory)",
                ),
            }
        })
        .collect()
}

pub(super) fn terminals(
    table: &JobTable,
    walls: &[Wall],
    wall_names: &Names,
    reader: &mut Reader,
) -> Vec<Terminal> {
    table
        .terminal
        .each()
        .iter()
        .map(|given| {
            let terminal = &given.value;
            let name = terminal.name.value().cloned().unwrap_or_default();
            let two_in_one = terminal.kind.value() == Some(&TerminalKind::TwoInOne);
            let uses = terminal.r#use.each();
            let serves = |wanted: TerminalUse| {
                terminal.r#use.is_absent() || uses.iter().any(|given| given.value == wanted)
            };
            let (intake, exhaust) = (serves(TerminalUse::Intake), serves(TerminalUse::Exhaust));
            if let Some(typed) = terminal.r#use.given() {
                if typed.value.is_empty() {
                    reader.error(
                        &typed.span,
                        "terminal.use is empty",
                        "leave it out, or name a use",
                    );
                } else if two_in_one && !(intake && exhaust) {
                    reader.error(
                        &typed.span,
                        "a two-in-one hood serves as intake and as exhaust",
                        "leave use out, or make it a hood",
                    );
                }
            }
            let height = reader.within(
                "terminal.height",
                &terminal.height,
                0.0..=20.0,
                "from 0 to 66 ft (20 m) above grade",
            );
            let flow_limit = reader.positive("terminal.flow_limit", &terminal.flow_limit);
            let flow_limit = match (&terminal.flow_limit, two_in_one) {
                (Slot::Absent, false) => None,
                (Slot::Absent, true) => {
                    reader.assume(
                        &format!("terminal \"{name}\" flow_limit"),
                        "that of the rule \"hood limit\"",
                        "the data of the hood are not given",
                    );
                    None
                }
                _ => Some(flow_limit),
            };
            let (loss, reason) = match (intake, exhaust) {
                (true, false) => ((2.75, 0.8), "intake hood with its screen (from memory)"),
                (false, true) => ((2.25, 0.7), "exhaust hood with its flap (from memory)"),
                _ => ((2.5, 0.8), "hood for either stream (from memory)"),
            };
            let height = reader.or_default::<Length, _>(
                &format!("terminal \"{name}\" height"),
                &terminal.height,
                height,
                4.0 * FOOT,
                "above the snow, within reach (common practice, no published source)",
            );
            let size = walls::opening(&name, &terminal.size, two_in_one, reader);
            let place = walls::place(given, [height, size[0], size[1]], walls, wall_names, reader);
            Terminal {
                two_in_one,
                intake,
                exhaust,
                facing: walls::facing(given, place, walls, reader),
                height,
                place,
                size,
                flow_limit,
                loss: reader.number(
                    &format!("terminal \"{name}\" loss"),
                    &terminal.loss,
                    0.0..=100.0,
                    loss,
                    reason,
                ),
                name,
            }
        })
        .collect()
}

/// The spots, their names, and whether some runs of a spot were refused.
pub(super) fn spots(
    table: &JobTable,
    places: &Places,
    climate: &Climate,
    ends: &Ends,
    reader: &mut Reader,
) -> (Vec<Spot>, Names, Vec<bool>) {
    let members = table.spot.each();
    let names = Names::collect("spot", members, |spot| &spot.name, reader);
    let (spots, incomplete): (Vec<Spot>, Vec<bool>) = members
        .iter()
        .map(|given| spot(given, places, climate, ends, reader))
        .unzip();
    if !spots.is_empty() && !incomplete.contains(&true) {
        let reached = |end: End| {
            spots
                .iter()
                .any(|spot| spot.runs.iter().any(|run| run.to == end))
        };
        for (end, names, index) in ends.all().map(|end| match end {
            End::Tap(index) => (end, &ends.taps, index),
            End::Grille(index) => (end, &ends.grilles, index),
            End::Terminal(index) => (end, &ends.terminals, index),
        }) {
            if !reached(end) {
                reader.warn(
                    &names.span(index),
                    format!("no spot has a run to \"{}\"", names.name(index)),
                    "add it to [spot.runs], or remove it",
                );
            }
        }
    }
    (spots, names, incomplete)
}

fn spot(
    given: &Given<SpotTable>,
    places: &Places,
    climate: &Climate,
    ends: &Ends,
    reader: &mut Reader,
) -> (Spot, bool) {
    let table = &given.value;
    let name = table.name.value().cloned().unwrap_or_default();
    let field = |key: &str| format!("spot \"{name}\" {key}");
    let zone = places.zone("spot.zone", &table.zone, &given.span, false, reader);
    let kind = places
        .zones
        .get(zone)
        .map_or(ZoneKind::Living, |zone| zone.kind);
    let [winter, _, summer] = climate.weathers;
    let (usual_coldest, usual_warmest) = match kind {
        ZoneKind::Living => (fahrenheit(62.0), fahrenheit(82.0)),
        ZoneKind::Basement => (fahrenheit(55.0), fahrenheit(78.0)),
        ZoneKind::Attic => (winter.outdoor + 3.0, summer.outdoor + 20.0),
        ZoneKind::Crawlspace => (winter.outdoor + 10.0, summer.outdoor),
        ZoneKind::Garage => (winter.outdoor + 8.0, summer.outdoor + 5.0),
    };
    const RANGE: &str = "from -76 to 194 °F (-60 to 90 °C)";
    const REASON: &str = "by kind of zone: living 62 to 82 °F, basement 55 to 78 °F, attic, \
                          crawlspace and garage from the design days (from memory)";
    let coldest = temperature("spot.coldest", &table.coldest, -60.0..=90.0, RANGE, reader);
    let coldest = reader.or_default::<Temperature, _>(
        &field("coldest"),
        &table.coldest,
        coldest,
        usual_coldest,
        REASON,
    );
    let warmest = temperature("spot.warmest", &table.warmest, -60.0..=90.0, RANGE, reader);
    let warmest = reader.or_default::<Temperature, _>(
        &field("warmest"),
        &table.warmest,
        warmest,
        usual_warmest,
        REASON,
    );
    if warmest < coldest {
        let place = table.warmest.given().or(table.coldest.given());
        let span = place.map_or(given.span.clone(), |typed| typed.span.clone());
        reader.error(
            &span,
            format!("{} is colder than its coldest", field("warmest")),
            "are the two exchanged?",
        );
    }
    let present = |key: &str, slot: &Slot<bool>, reader: &mut Reader| {
        reader.choice(
            &field(key),
            slot,
            true,
            "yes",
            "the file does not say otherwise",
        )
    };
    let (runs, incomplete) = runs(table, &field("runs"), ends, reader);
    let hatch = table.hatch.given().and_then(|given| match given.value {
        Section::Rectangular(one, other) => Some([one.min(other), one.max(other)]),
        Section::Round(_) => {
            reader.error(
                &given.span,
                "spot.hatch takes two sides",
                "write its clear opening, like \"22 in x 30 in\"",
            );
            None
        }
    });
    let mut length = |key: &str, slot: &Slot<Typed<Length>>| {
        let value = reader.positive(&format!("spot.{key}"), slot);
        slot.given().map(|_| value)
    };
    let working_space = length("working_space", &table.working_space);
    let passage = length("passage", &table.passage);
    let slope = reader.share("spot.drain_slope", &table.drain_slope);
    let spot = Spot {
        bedroom_wall: table.bedroom_wall.value().copied(),
        working_space,
        hatch,
        passage,
        drain_slope: table.drain_slope.given().map(|_| slope),
        zone,
        coldest,
        warmest,
        drain: present("drain", &table.drain, reader),
        outlet: present("outlet", &table.outlet, reader),
        support: present("support", &table.support, reader),
        runs,
        name,
    };
    (spot, incomplete)
}

fn runs(table: &SpotTable, field: &str, ends: &Ends, reader: &mut Reader) -> (Vec<SpotRun>, bool) {
    let Some(named) = table.runs.value() else {
        if table.runs.is_absent() {
            reader.assume(
                field,
                format!(
                    "{} and 2 elbows to everything",
                    Length::from_si(15.0 * FOOT).show(reader.system)
                ),
                "no runs are given (from memory)",
            );
        }
        let run = |to| SpotRun {
            to,
            length: 15.0 * FOOT,
            elbows: 2,
        };
        return (ends.all().map(run).collect(), !table.runs.is_absent());
    };
    let mut runs: Vec<SpotRun> = Vec::new();
    let mut incomplete = named.incomplete;
    for (name, run) in &named.members {
        match ends.find(&name.value) {
            None => {
                incomplete = true;
                unknown_name(
                    "spot.runs",
                    "tap, grille or terminal",
                    name,
                    ends.names(),
                    reader,
                );
            }
            Some(to) if runs.iter().any(|other| other.to == to) => reader.error(
                &name.span,
                format!("spot.runs: there are two runs to \"{}\"", name.value),
                "keep one",
            ),
            Some(to) => {
                runs.push(SpotRun {
                    to,
                    length: run.value.length,
                    elbows: run.value.elbows,
                });
            }
        }
    }
    (runs, incomplete)
}

pub(super) fn separations(
    table: &JobTable,
    ends: &Ends,
    terminals: &[Terminal],
    drawn: &[Wall],
    reader: &mut Reader,
) -> Vec<Separation> {
    let mut separations: Vec<Separation> = Vec::new();
    for given in table.separation.each() {
        let distance = reader.within(
            "separation.distance",
            &given.value.distance,
            0.0..=200.0,
            "from 0 to 656 ft (200 m)",
        );
        let Some(names) = pair("separation.between", &given.value.between, reader) else {
            continue;
        };
        let one = ends
            .terminals
            .resolve("separation.between", names[0], reader);
        let other = ends
            .terminals
            .resolve("separation.between", names[1], reader);
        let (Some(one), Some(other)) = (one, other) else {
            continue;
        };
        if one == other {
            reader.error(
                &names[1].span,
                format!("a separation from \"{}\" to itself", names[1].value),
                "name two different terminals",
            );
            continue;
        }
        let same =
            |known: &Separation| known.between == [one, other] || known.between == [other, one];
        if terminals[one].place.is_some() && terminals[other].place.is_some() {
            reader.warn(
                &given.span,
                format!(
                    "the separation of \"{}\" and \"{}\" is not used",
                    terminals[one].name, terminals[other].name
                ),
                "both are placed on drawn walls, so their distance is computed: remove it",
            );
            continue;
        }
        if separations.iter().any(same) {
            reader.error(
                &given.span,
                format!(
                    "the separation of \"{}\" and \"{}\" is given twice",
                    terminals[one].name, terminals[other].name
                ),
                "keep one",
            );
            continue;
        }
        separations.push(Separation {
            between: [one, other],
            distance,
        });
    }
    for (other, later) in terminals.iter().enumerate() {
        for (one, earlier) in terminals[..other].iter().enumerate() {
            separations.extend(
                walls::apart(drawn, earlier, later).map(|distance| Separation {
                    between: [one, other],
                    distance,
                }),
            );
        }
    }
    separations
}
