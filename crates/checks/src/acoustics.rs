//! Sound against the standard's weighting, handbook tables and worked chains.

use crate::ducts::{value, worst};
use crate::{Check, Tolerance};
use acoustics::{
    Error, FREQUENCIES, SPECIFIC_LATER, SPECIFIC_OLDER, Spectrum, a_weighting, duct,
    exact_frequency, fan_power, loudness, room, specific_power,
};

use Tolerance::Absolute;

const SUBJECT: &str = "sound";
const FOOT: f64 = 0.3048;
const INCH: f64 = 0.0254;
const CUBIC_FOOT_PER_MINUTE: f64 = 0.000_471_947_443_2;
const INCH_OF_WATER: f64 = 249.088_91;

/// The checks of the crate `acoustics`.
pub(crate) fn checks() -> Vec<Check> {
    [weighting(), fans(), ends_and_rooms(), chain(), sones()].concat()
}

fn weighting() -> Vec<Check> {
    let table = [-26.2, -16.1, -8.6, -3.2, 0.0, 1.2, 1.0, -1.1];
    let points = table
        .into_iter()
        .enumerate()
        .map(|(band, expected)| {
            (
                format!("{} Hz", FREQUENCIES[band]),
                expected,
                a_weighting(exact_frequency(band)),
            )
        })
        .collect();
    vec![worst(
        SUBJECT,
        "IEC 61672-1, A-weighting in tenths of a decibel",
        "weighting of octave bands",
        "dB",
        Absolute(0.0501),
        points,
    )]
}

/// The bands of a spectrum against a row of a table; the row may end before the last band.
fn bands(
    source: &str,
    what: &str,
    tolerance: f64,
    expected: &[f64],
    got: Result<Spectrum, Error>,
) -> Check {
    let points = expected
        .iter()
        .enumerate()
        .map(|(band, &expected)| {
            let got = got.as_ref().map_or(f64::NAN, |spectrum| spectrum.0[band]);
            (format!("{} Hz", FREQUENCIES[band]), expected, got)
        })
        .collect();
    worst(SUBJECT, source, what, "dB", Absolute(tolerance), points)
}

fn one(source: &str, input: &str, tolerance: f64, expected: f64, got: f64) -> Check {
    Check {
        subject: SUBJECT,
        source: source.to_owned(),
        input: input.to_owned(),
        unit: "dB",
        expected,
        got,
        tolerance: Absolute(tolerance),
    }
}

fn fans() -> Vec<Check> {
    const TOOLBOX: &str = "Engineering ToolBox, sound power of a forward-curved fan, by hand";
    const SPECIFIC: &str = "specific sound power levels of older ASHRAE handbooks (from memory), added up apart to a tenth";
    let specific = |set: &[f64; 7]| {
        value(
            specific_power(set, 106.0 * CUBIC_FOOT_PER_MINUTE, 0.5 * INCH_OF_WATER)
                .map(|spectrum| spectrum.a_weighted()),
        )
    };
    vec![
        bands(
            TOOLBOX,
            "fan of 50 L/s and 125 Pa in octave bands",
            0.05,
            &[66.93, 62.93, 55.93, 50.93, 49.93, 46.93, 43.93, 38.93],
            fan_power(0.050, 125.0),
        ),
        one(
            SPECIFIC,
            "106 cfm and 0.5 in. w.c., older set: dB(A)",
            0.05,
            50.2,
            specific(&SPECIFIC_OLDER),
        ),
        one(
            SPECIFIC,
            "the same, later set: dB(A)",
            0.05,
            56.3,
            specific(&SPECIFIC_LATER),
        ),
    ]
}

fn ends_and_rooms() -> Vec<Check> {
    vec![
        bands(
            "ASHRAE table of end reflection, in whole decibels (from memory)",
            "end reflection of a 6 in. duct flush with a wall",
            0.5,
            &[18.0, 12.0, 7.0, 3.0, 1.0],
            duct::end_reflection(6.0 * INCH, duct::Outlet::Flush),
        ),
        bands(
            "Schultz's formula in feet (from memory), worked apart to a hundredth",
            "room of 1500 ft³ at 5 ft: sound pressure less sound power",
            0.01,
            &[-3.27, -4.16, -5.06, -5.97, -6.87, -7.77, -8.68, -9.58],
            room::schultz(5.0 * FOOT, 1500.0 * FOOT.powi(3))
                .map(|spectrum| spectrum.map(|_, loss| -loss)),
        ),
        one(
            "Schultz's formula: its constant of 25 in feet is 12.10 in metres",
            "10 lg r + 5 lg V + 3 lg f − 12.10 at 2 m, 40 m³, 500 Hz",
            0.005,
            10.0 * 2f64.log10() + 5.0 * 40f64.log10() + 3.0 * 500f64.log10() - 12.10,
            room::schultz(2.0, 40.0).map_or(f64::NAN, |spectrum| spectrum.0[3]),
        ),
    ]
}

/// Fan, duct, elbow, split, flexible duct, end reflection and room, one after the other.
fn chain() -> Vec<Check> {
    const SOURCE: &str = "chain of the ASHRAE tables (from memory), worked apart to a tenth";
    const WHAT: &str = "106 cfm, 0.5 in. w.c., 10 ft of bare 6 in. duct, elbow, split in two, end, 1500 ft³ at 5 ft";
    let level = |flexible: bool| -> Result<Spectrum, Error> {
        let six = 6.0 * INCH;
        let fan = specific_power(
            &SPECIFIC_OLDER,
            106.0 * CUBIC_FOOT_PER_MINUTE,
            0.5 * INCH_OF_WATER,
        )?;
        let mut loss = duct::bare_round(six, 10.0 * FOOT)?
            .and(&duct::round_elbow(six)?)
            .and(&duct::split(0.5)?)
            .and(&duct::end_reflection(six, duct::Outlet::Flush)?)
            .and(&room::schultz(5.0 * FOOT, 1500.0 * FOOT.powi(3))?);
        if flexible {
            loss = loss.and(&duct::flexible(six, 9.0 * FOOT)?);
        }
        Ok(fan.less(&loss))
    };
    let weighted = |flexible| value(level(flexible).map(|spectrum| spectrum.a_weighted()));
    vec![
        bands(
            SOURCE,
            &format!("{WHAT}, and 9 ft of flexible duct"),
            0.06,
            &[30.6, 28.4, 24.6, 8.7, -0.6, -5.8, 1.5],
            level(true),
        ),
        one(SOURCE, "the same: dB(A)", 0.06, 18.2, weighted(true)),
        bands(
            SOURCE,
            &format!("{WHAT}, no flexible duct"),
            0.06,
            &[36.6, 37.4, 37.6, 33.7, 28.4, 24.2, 21.5],
            level(false),
        ),
        one(SOURCE, "the same: dB(A)", 0.06, 35.1, weighted(false)),
    ]
}

fn sones() -> Vec<Check> {
    let points = [(2.0, 37.99), (3.0, 43.84), (4.0, 47.99), (5.0, 51.21)]
        .into_iter()
        .map(|(sones, expected)| {
            (
                format!("{sones} sone"),
                expected,
                value(loudness::decibels_of_sones(sones)),
            )
        })
        .collect();
    vec![worst(
        SUBJECT,
        "a trade page on ratings of house fans",
        "dB(A) of a rating in sones",
        "dB",
        Absolute(0.01),
        points,
    )]
}
