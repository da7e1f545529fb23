//! What the new ducts may be, controls, costs, and the plan that was chosen.

use units::{Angle, EnergyPrice, Fraction, Length, Money, Quantity, ThermalResistance, Typed};

use super::customary::{INCH, R_VALUE};
use super::joints::Ends;
use super::reader::{Names, Reader, unknown_name};
use super::tables::{ControlsTable, CostsTable, DuctsTable, JobTable, PlanTable};
use super::value::{Given, Slot, shortened};
use super::words::Stretch;
use crate::model::{
    ChosenPlan, Controls, Costs, DuctChoices, End, Entry, Estimate, Interlock, Job, Layout,
    Material, Origin, Setting, Side,
};
use diagnostics::Problem;

/// Standard deviation of the logarithm of a compression that was judged by eye.
const COMPRESSION_LOG_DEVIATION: f64 = 0.4;

pub(super) fn ducts(slot: &Slot<DuctsTable>, reader: &mut Reader) -> DuctChoices {
    let absent = DuctsTable::default();
    let table = slot.value().unwrap_or(&absent);
    let mut diameters: Vec<f64> = table
        .diameters
        .each()
        .iter()
        .map(|given| diameter("ducts.diameters", &Slot::Good(given.clone()), reader))
        .collect();
    if let Some(given) = table.diameters.given()
        && diameters.is_empty()
    {
        reader.error(
            &given.span,
            "ducts.diameters is empty",
            "name one, like [\"6 in\"]",
        );
    }
    if table.diameters.is_absent() {
        let six = Length::from_si(6.0 * INCH).show(reader.system);
        reader.assume(
            "ducts.diameters",
            six,
            "usual duct (common practice, no published source)",
        );
        diameters.push(6.0 * INCH);
    }
    diameters.sort_by(f64::total_cmp);
    diameters.dedup_by(|a, b| (*a - *b).abs() < 1e-4);
    let material = reader.choice(
        "ducts.material",
        &table.material,
        Material::Flexible,
        "flexible",
        "usual in retrofits (common practice, no published source)",
    );
    let insulation = reader.within(
        "ducts.insulation",
        &table.insulation,
        0.0..=5.0,
        "from 0 to R-28 (RSI 5)",
    );
    DuctChoices {
        diameters,
        material,
        compression: compression(table, material, reader),
        insulation: reader.or_default::<ThermalResistance, _>(
            "ducts.insulation",
            &table.insulation,
            insulation,
            8.0 * R_VALUE,
            "usual for outdoor-air ducts (common practice, no published source)",
        ),
    }
}

fn compression(table: &DuctsTable, material: Material, reader: &mut Reader) -> Estimate {
    const FIELD: &str = "ducts.compression";
    const REASON: &str = "stretched 4 %, good 10 %, as found 15 %, poor 30 % pushed together, \
                          known within a factor of two (from memory)";
    if material != Material::Flexible {
        for span in [
            table.stretch.given().map(|given| given.span.clone()),
            table.compression.given().map(|given| given.span.clone()),
        ]
        .into_iter()
        .flatten()
        {
            reader.error(
                &span,
                "only flexible duct is pulled out or pushed together",
                "leave out stretch and compression, or choose flexible duct",
            );
        }
        return Estimate::exact(0.0);
    }
    if let (Slot::Good(stretch), Slot::Good(compression)) = (&table.stretch, &table.compression) {
        reader.problem(
            Problem::error(
                "ducts.stretch and ducts.compression contradict each other",
                stretch.span.clone(),
            )
            .related(compression.span.clone(), "the figure")
            .help("keep one of them"),
        );
    }
    let value = reader.within(FIELD, &table.compression, 0.0..=0.5, "from 0 to 50 %");
    match (&table.compression, &table.stretch) {
        (Slot::Good(given), _) => {
            let deviation = given
                .value
                .standard_deviation()
                .unwrap_or(COMPRESSION_LOG_DEVIATION * value);
            if given.value.uncertainty.is_none() {
                reader.assume(
                    "uncertainty of ducts.compression",
                    "a factor of 1.5 (one deviation)",
                    REASON,
                );
            }
            Estimate {
                value,
                deviation,
                origin: Origin::Typed(given.value.text.clone()),
            }
        }
        (Slot::Refused, _) | (_, Slot::Refused) => Estimate::exact(f64::NAN),
        (Slot::Absent, stretch) => {
            let share = match stretch.value().unwrap_or(&Stretch::AsFound) {
                Stretch::Stretched => 0.04,
                Stretch::Good => 0.10,
                Stretch::AsFound => 0.15,
                Stretch::Poor => 0.30,
            };
            let half_width = 2.0 * COMPRESSION_LOG_DEVIATION * share;
            reader.default_estimate::<Fraction>(FIELD, share, half_width, REASON)
        }
    }
}

fn diameter(field: &str, slot: &Slot<Typed<Length>>, reader: &mut Reader) -> f64 {
    reader.within(field, slot, 0.07..=0.4, "from 3 to 16 in (70 to 400 mm)")
}

pub(super) fn controls(table: &JobTable, has_blower: bool, reader: &mut Reader) -> Controls {
    let absent = ControlsTable::default();
    let controls = table.controls.value().unwrap_or(&absent);
    let run_share = reader.within(
        "controls.run_share",
        &controls.run_share,
        0.01..=1.0,
        "from 1 to 100 %",
    );
    let run_share = reader.or_default::<Fraction, _>(
        "controls.run_share",
        &controls.run_share,
        run_share,
        1.0,
        "the ventilator runs all the time",
    );
    let given = controls.interlocks.each();
    if let Some(list) = controls
        .interlocks
        .given()
        .filter(|list| list.value.is_empty())
    {
        reader.error(
            &list.span,
            "controls.interlocks is empty",
            "name one, like [\"none\"]",
        );
    }
    for interlock in given {
        if interlock.value != Interlock::None && table.air_handler.is_absent() {
            reader.error(
                &interlock.span,
                format!("\"{}\" needs a blower", interlock.value.name()),
                "describe the [air_handler], or allow \"none\" only",
            );
        }
    }
    let mut interlocks: Vec<Interlock> = given.iter().map(|given| given.value).collect();
    interlocks.sort_unstable();
    interlocks.dedup();
    if controls.interlocks.is_absent() {
        let (list, text): (&[Interlock], &str) = if has_blower {
            (
                &Interlock::ALL,
                "none, ventilator calls blower, only with blower",
            )
        } else {
            (&[Interlock::None], "none")
        };
        reader.assume(
            "controls.interlocks",
            text,
            "the file does not restrict them",
        );
        interlocks = list.to_vec();
    }
    Controls {
        interlocks,
        run_share,
    }
}

pub(super) fn costs(slot: &Slot<CostsTable>, reader: &mut Reader) -> Costs {
    let absent = CostsTable::default();
    let table = slot.value().unwrap_or(&absent);
    if slot.is_absent() {
        reader.assume(
            "costs",
            "zero",
            "no prices are given; costs are those of the units only",
        );
    }
    let mut money = |key: &str, slot_of_key: &Slot<Typed<Money>>| {
        let field = format!("costs.{key}");
        let price = reader.not_negative(&field, slot_of_key);
        if slot_of_key.is_absent() {
            if slot.value().is_some() {
                reader.assume(&field, "zero", "no price is given");
            }
            return 0.0;
        }
        price
    };
    let elbow = money("elbow", &table.elbow);
    let damper = money("damper", &table.damper);
    let collar = money("collar", &table.collar);
    let hood = money("hood", &table.hood);
    let two_in_one_hood = money("two_in_one_hood", &table.two_in_one_hood);
    let grille = money("grille", &table.grille);
    let interlock = money("interlock", &table.interlock);
    let electricity = reader.not_negative("costs.electricity", &table.electricity);
    let electricity = reader.or_default::<EnergyPrice, _>(
        "costs.electricity",
        &table.electricity,
        electricity,
        0.17 / 3.6e6,
        "0.17 per kilowatt-hour (from memory)",
    );
    Costs {
        currency: table
            .currency
            .value()
            .cloned()
            .unwrap_or_else(|| "$".into()),
        electricity: electricity * 3.6e6,
        duct: duct_prices(table, slot.value().is_some(), reader),
        elbow,
        damper,
        collar,
        hood,
        two_in_one_hood,
        grille,
        interlock,
    }
}

/// Price of duct by diameter, in order of diameter.
fn duct_prices(table: &CostsTable, has_costs: bool, reader: &mut Reader) -> Vec<(f64, f64)> {
    let Some(named) = table.duct.value() else {
        if table.duct.is_absent() && has_costs {
            reader.assume("costs.duct", "zero", "no price is given");
        }
        return Vec::new();
    };
    let mut prices: Vec<(f64, f64)> = Vec::new();
    for (name, price) in &named.members {
        let path = super::value::Path::ROOT;
        let path = path.child("costs.duct");
        let Some(size) = reader.quantity::<Length>(&name.value, &path, name.span.clone()) else {
            continue;
        };
        let size = Slot::Good(Given {
            value: size,
            span: name.span.clone(),
        });
        let size = diameter("costs.duct", &size, reader);
        let cost = reader.not_negative("costs.duct", &Slot::Good(price.clone()));
        if prices.iter().any(|(other, _)| (other - size).abs() < 1e-4) {
            reader.error(
                &name.span,
                format!(
                    "costs.duct: the price of {} is given twice",
                    shortened(&name.value)
                ),
                "keep one",
            );
        }
        prices.push((size, cost));
    }
    prices.sort_by(|a, b| a.0.total_cmp(&b.0));
    prices
}

/// The names that a plan may use.
pub(super) struct PlanNames<'a> {
    pub units: &'a Names,
    pub spots: &'a Names,
    /// Whether some runs of a spot were refused.
    pub incomplete: &'a [bool],
    pub ends: &'a Ends,
}

/// The plan that was chosen; absent if it names what does not exist or does not fit its layout.
pub(super) fn chosen(
    given: &Given<PlanTable>,
    job: &Job,
    names: &PlanNames,
    reader: &mut Reader,
) -> Option<ChosenPlan> {
    let table = &given.value;
    let unit = table
        .unit
        .given()
        .and_then(|name| names.units.resolve("plan.unit", name, reader));
    let spot = table
        .spot
        .given()
        .and_then(|name| names.spots.resolve("plan.spot", name, reader));
    let layout = table.layout.value().copied();
    let extract = ends("plan.extract", &table.extract, names, reader);
    let supply = ends("plan.supply", &table.supply, names, reader);
    let intake = terminal("plan.intake", &table.intake, names, reader);
    let exhaust = terminal("plan.exhaust", &table.exhaust, names, reader);

    let setting = reader.choice(
        "plan.setting",
        &table.setting,
        Setting::High,
        "high",
        "the setting at which the rate is to be met",
    );
    if let Some(unit) = unit
        && !job.units[unit]
            .settings
            .iter()
            .any(|other| other.setting == setting)
    {
        let span = table
            .setting
            .given()
            .map_or(given.span.clone(), |typed| typed.span.clone());
        let known: Vec<&str> = job.units[unit]
            .settings
            .iter()
            .map(|other| other.setting.name())
            .collect();
        reader.error(
            &span,
            format!(
                "unit \"{}\" has no setting \"{}\"",
                job.units[unit].name,
                setting.name()
            ),
            format!("it has {}", known.join(", ")),
        );
    }
    if let Some(layout) = layout {
        for (field, list, drawn) in [
            ("plan.extract", &extract, true),
            ("plan.supply", &supply, false),
        ] {
            for (end, span) in list {
                if let Some(reason) = misfit(layout, *end, drawn, job) {
                    reader.error(
                        span,
                        format!("{field} does not fit the layout \"{}\"", layout.name()),
                        reason,
                    );
                }
            }
        }
    }
    for (end, span) in &supply {
        if extract.iter().any(|(other, _)| other == end) {
            reader.error(
                span,
                "plan: extract and supply use the same place",
                "supply air would be drawn straight back; name two places",
            );
        }
    }
    wall(table, intake, exhaust, job, reader);
    if let Some(spot) = spot {
        let walls = [(intake, &table.intake), (exhaust, &table.exhaust)]
            .map(|(terminal, slot)| Some((End::Terminal(terminal?), slot.given()?.span.clone())));
        let needed = extract
            .iter()
            .chain(&supply)
            .cloned()
            .chain(walls.into_iter().flatten());
        for (end, span) in needed {
            let runs = &job.spots[spot].runs;
            if !names.incomplete[spot] && !runs.iter().any(|run| run.to == end) {
                reader.error(
                    &span,
                    format!(
                        "the spot \"{}\" has no run to this place",
                        job.spots[spot].name
                    ),
                    "add it to [spot.runs], or choose another place",
                );
            }
        }
    }
    let interlock = interlock(table, layout, job, reader);
    let diameter = diameter("plan.diameter", &table.diameter, reader);
    let first = job.ducts.diameters.first().copied().unwrap_or(f64::NAN);
    let entry = match layout {
        Some(Layout::ReturnToSupply) => (Entry::FacingDownstream, "facing downstream"),
        _ => (Entry::Flush, "flush"),
    };
    Some(ChosenPlan {
        unit: unit?,
        setting,
        spot: spot?,
        layout: layout?,
        extract: extract.into_iter().map(|(end, _)| end).collect(),
        supply: supply.into_iter().map(|(end, _)| end).collect(),
        entry: reader.choice(
            "plan.entry",
            &table.entry,
            entry.0,
            entry.1,
            "an elbow facing downstream in a supply duct, else flush \
             (common practice, no published source)",
        ),
        intake: intake?,
        exhaust: exhaust?,
        diameter: reader.or_default::<Length, _>(
            "plan.diameter",
            &table.diameter,
            diameter,
            first,
            "the first of the diameters to be tried",
        ),
        interlock,
        supply_damper: damper("plan.supply_damper", &table.supply_damper, reader),
        extract_damper: damper("plan.extract_damper", &table.extract_damper, reader),
    })
}

/// The ends that a list names.
fn ends(
    field: &str,
    slot: &Slot<Vec<Given<String>>>,
    names: &PlanNames,
    reader: &mut Reader,
) -> Vec<(End, std::ops::Range<usize>)> {
    let mut list: Vec<(End, std::ops::Range<usize>)> = Vec::new();
    if let Some(given) = slot.given().filter(|given| given.value.is_empty()) {
        reader.error(
            &given.span,
            format!("{field} is empty"),
            "name at least one tap or grille",
        );
    }
    for name in slot.each() {
        match names.ends.find(&name.value) {
            None => unknown_name(
                field,
                "tap or grille",
                name,
                names.ends.taps.iter().chain(names.ends.grilles.iter()),
                reader,
            ),
            Some(End::Terminal(_)) => reader.error(
                &name.span,
                format!("{field}: \"{}\" is a terminal", shortened(&name.value)),
                "name a tap or a grille",
            ),
            Some(end) if list.iter().any(|(other, _)| *other == end) => reader.error(
                &name.span,
                format!("{field} names \"{}\" twice", shortened(&name.value)),
                "name it once",
            ),
            Some(end) => list.push((end, name.span.clone())),
        }
    }
    list
}

fn terminal(
    field: &str,
    slot: &Slot<String>,
    names: &PlanNames,
    reader: &mut Reader,
) -> Option<usize> {
    names.ends.terminals.resolve(field, slot.given()?, reader)
}

/// Why an end does not fit a layout.
fn misfit(layout: Layout, end: End, extract: bool, job: &Job) -> Option<&'static str> {
    match (layout, extract, end) {
        (Layout::FullyDucted | Layout::DedicatedReturn, true, End::Tap(_)) => {
            Some("this layout draws extract air through grilles of its own")
        }
        (Layout::FullyDucted, false, End::Tap(_)) => {
            Some("this layout delivers supply air through grilles of its own")
        }
        (Layout::ReturnToReturn | Layout::ReturnToSupply, true, End::Grille(_)) => {
            Some("this layout draws extract air from a tap on the return")
        }
        (_, false, End::Grille(_)) if layout != Layout::FullyDucted => {
            Some("this layout delivers supply air into a tap")
        }
        (Layout::ReturnToSupply, false, End::Tap(tap)) if job.taps[tap].side == Side::Return => {
            Some(
                "this layout delivers supply air into a supply duct, and this tap is on the return",
            )
        }
        (Layout::ReturnToReturn | Layout::DedicatedReturn, false, End::Tap(tap))
            if job.taps[tap].side == Side::Supply =>
        {
            Some(
                "this layout delivers supply air into the return, and this tap is on the supply side",
            )
        }
        (_, true, End::Tap(tap)) if !job.taps[tap].extract => {
            Some("this tap is not meant for extract air; see its use")
        }
        (_, false, End::Tap(tap)) if !job.taps[tap].supply => {
            Some("this tap is not meant for supply air; see its use")
        }
        (_, true, End::Grille(grille)) if !job.grilles[grille].extract => {
            Some("this grille is for supply air; see its use")
        }
        (_, false, End::Grille(grille)) if job.grilles[grille].extract => {
            Some("this grille is for extract air; see its use")
        }
        _ => None,
    }
}

/// Checks the two terminals of a plan.
fn wall(
    table: &PlanTable,
    intake: Option<usize>,
    exhaust: Option<usize>,
    job: &Job,
    reader: &mut Reader,
) {
    let span = |slot: &Slot<String>| slot.given().map_or(0..0, |given| given.span.clone());
    if let Some(terminal) = intake.map(|index| &job.terminals[index])
        && !terminal.intake
    {
        reader.error(
            &span(&table.intake),
            format!("terminal \"{}\" is not meant for an intake", terminal.name),
            "see its use",
        );
    }
    if let Some(terminal) = exhaust.map(|index| &job.terminals[index])
        && !terminal.exhaust
    {
        reader.error(
            &span(&table.exhaust),
            format!("terminal \"{}\" is not meant for an exhaust", terminal.name),
            "see its use",
        );
    }
    let (Some(intake), Some(exhaust)) = (intake, exhaust) else {
        return;
    };
    let two_in_one = job.terminals[intake].two_in_one || job.terminals[exhaust].two_in_one;
    if two_in_one && intake != exhaust {
        reader.error(
            &span(&table.exhaust),
            "a two-in-one hood serves as intake and as exhaust",
            "name the same hood for both, or two hoods",
        );
    } else if !two_in_one && intake == exhaust {
        reader.error(
            &span(&table.exhaust),
            "intake and exhaust are the same hood",
            "only a two-in-one hood serves both; name two hoods",
        );
    }
}

fn interlock(
    table: &PlanTable,
    layout: Option<Layout>,
    job: &Job,
    reader: &mut Reader,
) -> Interlock {
    if let Some(given) = table.interlock.given()
        && given.value != Interlock::None
        && job.air_handler.is_none()
    {
        reader.error(
            &given.span,
            format!("plan.interlock: \"{}\" needs a blower", given.value.name()),
            "describe the [air_handler], or choose \"none\"",
        );
    }
    let usual = match layout {
        Some(Layout::ReturnToReturn) => Interlock::VentilatorCallsBlower,
        _ => Interlock::None,
    };
    reader.choice(
        "plan.interlock",
        &table.interlock,
        usual,
        usual.name(),
        "return-to-return relies on the blower (common practice, no published source)",
    )
}

/// Angle of a damper (°).
fn damper(field: &str, slot: &Slot<Typed<Angle>>, reader: &mut Reader) -> Option<f64> {
    slot.given()?;
    let quarter = std::f64::consts::FRAC_PI_2 + 1e-9;
    Some(
        reader
            .within(
                field,
                slot,
                0.0..=quarter,
                "from 0 (open) to 90 degrees (shut)",
            )
            .to_degrees(),
    )
}
