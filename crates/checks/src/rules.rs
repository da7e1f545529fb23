//! Rates and infiltration against the worked examples of ASHRAE Fundamentals, a code's tables, and
//! scipy; the network's leaks against the enhanced infiltration model.

use airflow::{Law, Network, Solver};
use rules::infiltration::{Foundation, PowerLaw, Terrain, basic, enhanced, wind_at_height};
use rules::rates::exposure::{
    Averaging, Flow, Schedule, exposure, needed_running, relative_exposure, run_time_factor,
};
use rules::rates::{Edition, one_line_infiltration, table_rate, total_rate};
use units::System;

use crate::Tolerance::{Absolute, Relative};
use crate::ducts::{rows, value, worst};
use crate::{Check, Tolerance};

const STEPS: &str = include_str!("../tables/rates_exposure_steps.csv");
const DAYS: &str = include_str!("../tables/rates_exposure_days.csv");

const INFILTRATION: &str = "infiltration";
const RATES: &str = "outdoor-air rates";
const EXPOSURE: &str = "relative exposure";
const HANDBOOK: &str = "ASHRAE Handbook—Fundamentals (2021), ch. 16";
const SCIPY: &str = "scipy 1.17.1, solve_ivp and brentq";

const CFM: f64 = 0.3048 * 0.3048 * 0.3048 / 60.0;
const SQUARE_FOOT: f64 = 0.3048 * 0.3048;
const HOUR: f64 = 3600.0;

/// The checks of the crate `rules`.
pub(crate) fn checks() -> Vec<Check> {
    [
        basic_model(),
        enhanced_model(),
        areas(),
        stack(),
        rates(),
        running(),
    ]
    .concat()
}

fn check(
    subject: &'static str,
    source: &str,
    input: String,
    unit: &'static str,
    expected: f64,
    got: f64,
    tolerance: Tolerance,
) -> Check {
    Check {
        subject,
        source: source.to_owned(),
        input,
        unit,
        expected,
        got,
        tolerance,
    }
}

fn basic_model() -> Vec<Check> {
    // Example, cm², storeys, shelter class, K, m/s, m³/s as printed.
    [
        (2, 500.0, 2, 3, 39.0, 6.7, 0.0736),
        (3, 690.0, 1, 4, 17.0, 2.7, 0.0392),
        (4, 848.0, 2, 3, 20.0, 3.2, 0.077),
    ]
    .into_iter()
    .map(|(example, area, storeys, class, difference, wind, expected)| {
        check(
            INFILTRATION,
            &format!("{HANDBOOK}, example {example}"),
            format!(
                "basic model: {area} cm², {storeys} storeys, class {class}, {difference} K, {wind} m/s"
            ),
            "m³/s",
            expected,
            value(basic(area * 1e-4, storeys, class, difference, wind)),
            Relative(0.006),
        )
    })
    .collect()
}

fn enhanced_model() -> Vec<Check> {
    use Foundation::{Crawlspace, Slab};
    // Example, c, n, storeys, foundation, flue, class, K, m/s, m³/h as printed. The book rounds on
    // the way, and example 6 prints another exponent for its wind.
    let examples = [
        (5, 0.051, 0.67, 2, Slab, true, 4, 39.0, 6.7, 214.0),
        (6, 0.078, 0.60, 1, Crawlspace, false, 4, 16.0, 2.7, 83.0),
        (7, 0.102, 0.67, 3, Crawlspace, true, 5, 5.0, 4.47, 140.0),
    ];
    let mut checks: Vec<Check> = examples
        .into_iter()
        .map(
            |(example, c, n, storeys, foundation, flue, class, difference, wind, expected)| {
                let got = PowerLaw::new(c, n).and_then(|leakage| {
                    enhanced(leakage, storeys, foundation, flue, class, difference, wind)
                });
                check(
                    INFILTRATION,
                    &format!("{HANDBOOK}, example {example}"),
                    format!(
                        "enhanced model: c {c}, n {n}, {storeys} storeys, class {class}, {difference} K, {wind} m/s"
                    ),
                    "m³/h",
                    expected,
                    value(got.map(|parts| parts.total * HOUR)),
                    Relative(0.02),
                )
            },
        )
        .collect();
    let eaves = PowerLaw::new(0.051, 0.67)
        .and_then(|leakage| enhanced(leakage, 2, Slab, true, 4, 39.0, 6.7));
    checks.push(check(
        INFILTRATION,
        &format!("{HANDBOOK}, example 5"),
        "wind at the eaves of two storeys, 6.7 m/s at the station".into(),
        "m/s",
        3.95,
        value(eaves.map(|parts| parts.wind_at_eaves)),
        Absolute(0.005),
    ));
    checks.push(check(
        INFILTRATION,
        "ASHRAE Handbook—Fundamentals (2021), ch. 24, example 1",
        "10 m/s at an airport, 15 m up in a suburb".into(),
        "m/s",
        7.8,
        value(wind_at_height(10.0, Terrain::Suburb, 15.0)),
        Absolute(0.05),
    ));
    checks
}

fn areas() -> Vec<Check> {
    // cm² at 4 Pa, n, c: pairs that the examples give; within half a unit of the last digit.
    [
        (5, 500.0, 0.67, 0.051),
        (6, 690.0, 0.6, 0.078),
        (7, 1000.0, 0.67, 0.102),
    ]
    .into_iter()
    .map(|(example, area, n, expected)| {
        check(
            INFILTRATION,
            &format!("{HANDBOOK}, example {example}"),
            format!("flow coefficient of {area} cm² at 4 Pa, n {n}"),
            "m³/(s·Paⁿ)",
            expected,
            value(
                PowerLaw::from_leakage_area(area * 1e-4, 4.0, 1.0, n)
                    .map(|leakage| leakage.coefficient()),
            ),
            Absolute(0.0005),
        )
    })
    .collect()
}

/// Air (m³/s of outdoor air) through the leaks of a still house of some storeys of 2.5 m, one node,
/// by the network: 1/(storeys + 1) of the leakage in floor and ceiling together, the rest evenly over
/// the height of the walls. That is the distribution from which the enhanced model's own formula
/// gives its printed stack coefficients.
fn still_house(leakage: PowerLaw, storeys: u32, indoor: f64, outdoor: f64) -> Option<f64> {
    const STRIPS: u32 = 20;
    let density = |celsius: f64| 101_325.0 / (287.055 * (celsius + 273.15));
    let (inside, outside) = (density(indoor), density(outdoor));
    let height = 2.5 * f64::from(storeys);
    let level = 1.0 / f64::from(storeys + 1);
    let mut network = Network::new();
    let outdoors = network.fixed_node("outdoors", 0.0, outside);
    let house = network.node("house", inside);
    let mut leaks = Vec::new();
    let mut leak = |part: f64, at: f64| {
        let id = network.element(
            "leak",
            outdoors,
            house,
            Law::Leak {
                coefficient: part * leakage.coefficient(),
                exponent: leakage.exponent(),
            },
        );
        network.set_drive(id, (inside - outside) * 9.80665 * at);
        leaks.push(id);
    };
    leak(0.5 * level, 0.0);
    leak(0.5 * level, height);
    for strip in 0..STRIPS {
        let at = height * (f64::from(strip) + 0.5) / f64::from(STRIPS);
        leak((1.0 - level) / f64::from(STRIPS), at);
    }
    let mut solver = Solver::new(&network).ok()?;
    solver.solve().ok()?;
    let entering: f64 = leaks.iter().map(|id| solver.mass_flow(*id).max(0.0)).sum();
    Some(entering / outside)
}

fn stack() -> Vec<Check> {
    let mut points = Vec::new();
    for storeys in 1..=3 {
        for outdoor in [-30.0, -15.0, 0.0, 12.0, 33.0] {
            let Ok(leakage) = PowerLaw::new(0.05, 0.67) else {
                continue;
            };
            let expected = enhanced(
                leakage,
                storeys,
                Foundation::Slab,
                false,
                3,
                21.0 - outdoor,
                0.0,
            );
            points.push((
                format!("{storeys} storeys, 21 °C inside, {outdoor} °C outside"),
                value(expected.map(|parts| parts.total)),
                still_house(leakage, storeys, 21.0, outdoor).unwrap_or(f64::NAN),
            ));
        }
    }
    vec![worst(
        INFILTRATION,
        &format!("{HANDBOOK}, enhanced model"),
        "the network's stack effect in a still house with the model's distribution of leaks",
        "m³/s",
        // The model has one density and linearised stack pressure, and coefficients of two digits.
        Relative(0.05),
        points,
    )]
}

fn rates() -> Vec<Check> {
    const TABLE: &str = "IRC 2024, table M1505.4.3(1)";
    // ft², then cfm with 1, 3, 5, 7, 9 bedrooms.
    let printed = [
        (1499.0, [30.0, 45.0, 60.0, 75.0, 90.0]),
        (3000.0, [45.0, 60.0, 75.0, 90.0, 105.0]),
        (4500.0, [60.0, 75.0, 90.0, 105.0, 120.0]),
        (6000.0, [75.0, 90.0, 105.0, 120.0, 135.0]),
        (7500.0, [90.0, 105.0, 120.0, 135.0, 150.0]),
        (7501.0, [105.0, 120.0, 135.0, 150.0, 165.0]),
    ];
    let mut points = Vec::new();
    for (area, row) in printed {
        for (bedrooms, expected) in [1, 3, 5, 7, 9].into_iter().zip(row) {
            points.push((
                format!("{area} ft², {bedrooms} bedrooms"),
                expected,
                table_rate(area * SQUARE_FOOT, bedrooms) / CFM,
            ));
        }
    }
    let mut checks = vec![worst(
        RATES,
        TABLE,
        "rate by the table",
        "cfm",
        Absolute(1e-6),
        points,
    )];
    let total = |edition, area: f64, people, system| {
        total_rate(edition, area * SQUARE_FOOT, people, system)
    };
    checks.push(check(
        RATES,
        "a public note on California's energy code (2018), which has the form of 62.2-2010",
        "1800 ft², 3 bedrooms".into(),
        "cfm",
        48.0,
        total(Edition::To2010, 1800.0, 4, System::Ip) / CFM,
        Absolute(1e-6),
    ));
    checks.push(check(
        RATES,
        &format!("{HANDBOOK}, table 3 (0.15 L/s per m², 3.5 L/s per person)"),
        "1800 ft², 3 bedrooms, SI form; 0.15 × 167.225 + 3.5 × 4".into(),
        "L/s",
        39.084,
        total(Edition::From2019, 1800.0, 4, System::Si) * 1e3,
        Absolute(0.001),
    ));
    let points = [
        (1.0, 1.00),
        (1.5, 1.18),
        (2.0, 1.32),
        (2.5, 1.44),
        (3.0, 1.55),
    ]
    .into_iter()
    .map(|(storeys, expected)| {
        (
            format!("{storeys} storeys"),
            expected,
            one_line_infiltration(1.0 / 0.052, 1.0, storeys),
        )
    })
    .collect();
    checks.push(worst(
        RATES,
        "Standard Work Specifications, page on the infiltration credit of ASHRAE 62.2-2013",
        "factor S of the credit",
        "—",
        Absolute(0.005),
        points,
    ));
    checks
}

fn running() -> Vec<Check> {
    let points = [
        (0.25, 4.0),
        (0.33, 3.0),
        (0.50, 2.0),
        (0.66, 1.5),
        (0.75, 1.3),
        (1.00, 1.0),
    ]
    .into_iter()
    .map(|(share, expected)| {
        (
            format!("{} % of every four hours", 100.0 * share),
            expected,
            run_time_factor(share).unwrap_or(f64::NAN),
        )
    })
    .collect();
    let mut checks = vec![worst(
        RATES,
        "IRC 2024, table M1505.4.3(2)",
        "run-time factor",
        "—",
        Absolute(1e-9),
        points,
    )];
    let step = |row: &[f64; 7]| {
        let [start, flow, needed, volume, minutes, ..] = *row;
        let flow = Flow {
            duration: 60.0 * minutes,
            outdoor_air: flow,
        };
        relative_exposure(start, flow, needed, volume)
    };
    for (what, column) in [("at the end of a step", 5), ("mean over a step", 6)] {
        let points = rows::<7>(STEPS)
            .into_iter()
            .map(|row| {
                (
                    format!("from {} with {} m³/s, {} min", row[0], row[1], row[4]),
                    row[column],
                    step(&row)[column - 5],
                )
            })
            .collect();
        checks.push(worst(EXPOSURE, SCIPY, what, "—", Relative(1e-7), points));
    }
    let day = |row: &[f64; 12]| -> Option<[f64; 2]> {
        let [a, b, c, d, e, f, still, needed, volume, ..] = *row;
        let spans: Vec<[f64; 2]> = [[a, b], [c, d], [e, f]]
            .into_iter()
            .filter(|[from, to]| from < to)
            .map(|span| span.map(|hour| hour * HOUR))
            .collect();
        let schedule = Schedule::spans(&spans).ok()?;
        let running = needed_running(&schedule, still, needed, volume, Averaging::Exact)?;
        let day = exposure(&schedule, running, still, needed, volume)?;
        Some([running, day.peak])
    };
    for (what, column, unit) in [
        ("flow while running for a mean of 1 over the day", 9, "m³/s"),
        ("highest at that flow", 11, "—"),
    ] {
        let points = rows::<12>(DAYS)
            .into_iter()
            .map(|row| {
                let got = day(&row).map_or(
                    f64::NAN,
                    |[running, peak]| {
                        if column == 9 { running } else { peak }
                    },
                );
                (
                    format!("{} to {} h and so on, {} m³/s else", row[0], row[1], row[6]),
                    row[column],
                    got,
                )
            })
            .collect();
        checks.push(worst(EXPOSURE, SCIPY, what, unit, Relative(1e-6), points));
    }
    checks
}
