//! What must hold for any sound.

use acoustics::{
    FREQUENCIES, Path, Source, Spectrum, a_weighting, duct, energy_sum, exact_frequency, fan_power,
    from_a_weighted, loudness, off_peak, room, speed_and_density, total,
};
use proptest::prelude::*;

fn all(spectrum: Spectrum, holds: impl Fn(f64) -> bool) -> bool {
    spectrum.0.into_iter().all(holds)
}

/// `a` is nowhere below `b`.
fn at_least(a: Spectrum, b: Spectrum) -> bool {
    all(a.less(&b), |difference| difference >= -1e-12)
}

proptest! {
    /// The sum of sounds is at least the loudest, at most that with as many of them.
    #[test]
    fn the_sum_lies_above_the_loudest(levels in prop::collection::vec(-20.0..110.0f64, 1..9)) {
        let sum = energy_sum(levels.iter().copied());
        let loudest = levels.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        prop_assert!(sum >= loudest - 1e-9);
        prop_assert!(sum <= loudest + 10.0 * (levels.len() as f64).log10() + 1e-9);
    }

    #[test]
    fn longer_flexible_duct_is_quieter(diameter in 0.06..0.4f64, length in 0.0..5.0f64, more in 0.0..5.0f64) {
        let short = duct::flexible(diameter, length).expect("in range");
        let long = duct::flexible(diameter, length + more).expect("in range");
        prop_assert!(at_least(long, short));
        prop_assert!(all(short, |loss| loss >= 0.0));
        // Within the table, below 12 ft, it is so strictly.
        if length + more < 3.65 && more > 1e-6 {
            prop_assert!(all(long.less(&short), |more| more > 0.0));
        }
    }

    #[test]
    fn longer_duct_is_quieter(diameter in 0.06..0.4f64, length in 0.0..50.0f64, more in 0.01..50.0f64) {
        for along in [duct::bare_round, duct::lined_round] {
            let short = along(diameter, length).expect("in range");
            prop_assert!(at_least(along(diameter, length + more).expect("in range"), short));
        }
    }

    /// A wider mouth throws less back, and a free one more than a flush one.
    #[test]
    fn end_reflection_falls_with_size(diameter in 0.06..0.5f64, more in 0.01..0.4f64) {
        let at = |diameter, outlet| duct::end_reflection(diameter, outlet).expect("in range");
        prop_assert!(at_least(at(diameter, duct::Outlet::Flush), at(diameter + more, duct::Outlet::Flush)));
        prop_assert!(at_least(at(diameter, duct::Outlet::Free), at(diameter, duct::Outlet::Flush)));
    }

    /// What goes into all branches of a split is what came.
    #[test]
    fn a_split_conserves_power(share in 0.001..0.999f64) {
        let level = |share| -duct::split(share).expect("in range").0[0];
        prop_assert!(energy_sum([level(share), level(1.0 - share)]).abs() < 1e-9);
        prop_assert!(duct::area_change(share, 1.0 - share).expect("in range").0[0] >= 0.0);
    }

    #[test]
    fn a_larger_room_and_distance_are_quieter(
        distance in 0.5..5.0f64, farther in 0.1..5.0f64, volume in 10.0..200.0f64, more in 1.0..200.0f64,
    ) {
        let at = |distance, volume| room::schultz(distance, volume).expect("in range");
        prop_assert!(at_least(at(distance + farther, volume), at(distance, volume)));
        prop_assert!(at_least(at(distance, volume + more), at(distance, volume)));
    }

    /// The level that is asked for comes out, and the fan's level rises with flow and pressure.
    #[test]
    fn sources(level in 0.0..120.0f64, flow in 0.005..0.2f64, pressure in 10.0..500.0f64) {
        prop_assert!((from_a_weighted(level).expect("in range").a_weighted() - level).abs() < 1e-9);
        let fan = fan_power(flow, pressure).expect("in range");
        prop_assert!(at_least(fan_power(1.1 * flow, pressure).expect("in range"), fan));
        prop_assert!(at_least(fan_power(flow, 1.1 * pressure).expect("in range"), fan));
    }

    /// One more path makes a room louder; the band is no wider than the worst of a single path.
    #[test]
    fn paths(levels in prop::collection::vec((0.0..80.0f64, 1.0..9.0f64, 1.0..9.0f64), 1..6)) {
        let paths: Vec<Path> = levels.iter().enumerate().map(|(place, &(level, source, own))| Path {
            level: Spectrum::flat(level),
            source: if place % 2 == 0 { Source::Casing } else { Source::Ducts },
            source_half_width: source,
            path_half_width: own,
        }).collect();
        let whole = total(&paths);
        let fewer = total(&paths[1..]);
        prop_assert!(whole.level >= fewer.level);
        let widest = levels.iter().map(|&(_, source, own)| source.hypot(own)).fold(0.0, f64::max);
        prop_assert!(whole.half_width <= widest * 2f64.sqrt() + 1e-9);
        prop_assert!(whole.low() <= whole.level && whole.level <= whole.high());
    }
}

#[test]
fn one_path_has_its_own_band() {
    let path = Path {
        level: Spectrum::flat(30.0),
        source: Source::Ducts,
        source_half_width: 8.0,
        path_half_width: 6.0,
    };
    assert!((total(&[path]).half_width - 10.0).abs() < 1e-12);
    // The source is common to both paths, the paths are not: 8² + 2 (6/2)².
    assert!((total(&[path, path]).half_width - (64.0f64 + 18.0).sqrt()).abs() < 1e-12);
    assert_eq!(total(&[]).level, f64::NEG_INFINITY);
}

#[test]
fn nominal_and_exact_frequencies_agree() {
    for (band, nominal) in FREQUENCIES.into_iter().enumerate() {
        assert!((exact_frequency(band) / nominal - 1.0).abs() < 0.01);
    }
    assert!(a_weighting(1e-3) < -150.0);
}

#[test]
fn tables_are_met_at_their_rows() {
    let flexible = |inches: f64, feet: f64, band: usize| {
        duct::flexible(inches * 0.0254, feet * 0.3048)
            .expect("in range")
            .0[band]
    };
    for (inches, feet, band, expected) in [
        (4.0, 12.0, 5, 42.0),
        (4.0, 3.0, 0, 2.0),
        (5.0, 6.0, 3, 16.0),
        (6.0, 9.0, 2, 13.0),
        (6.0, 12.0, 6, 26.0),
        (8.0, 12.0, 2, 21.0),
        (10.0, 12.0, 4, 36.0),
        // Held beyond the table.
        (12.0, 30.0, 4, 36.0),
    ] {
        assert!(
            (flexible(inches, feet, band) - expected).abs() < 1e-9,
            "{inches} in, {feet} ft"
        );
    }
    let six_inches = duct::round_elbow(0.1524).expect("in range");
    assert_eq!(six_inches.0[..7], [0.0, 0.0, 0.0, 1.0, 2.0, 3.0, 3.0]);
    let square = duct::square_elbow(0.3048).expect("in range");
    assert_eq!(square.0, [0.0, 0.0, 1.0, 5.0, 8.0, 4.0, 3.0, 3.0]);
    for (ratio, more) in [
        (1.0, 0.0),
        (0.87, 3.0),
        (0.8, 6.0),
        (0.7, 9.0),
        (0.6, 12.0),
        (0.5, 15.0),
    ] {
        assert_eq!(off_peak(ratio), Ok(more));
    }
    assert!((speed_and_density(2.0, 1.0).expect("in range") - 15.05).abs() < 0.01);
}

#[test]
fn loudness_and_level_invert() {
    for sones in [0.5, 1.0, 2.0, 4.0] {
        let phons = loudness::phons(sones).expect("in range");
        assert!((loudness::sones(phons).expect("in range") - sones).abs() < 1e-12);
    }
}

#[test]
fn impossible_input_is_refused() {
    for (error, quantity) in [
        (fan_power(0.0, 100.0).expect_err("refused"), "flow (m³/s)"),
        (
            fan_power(0.05, f64::NAN).expect_err("refused"),
            "fan pressure (Pa)",
        ),
        (
            from_a_weighted(-1.0).expect_err("refused"),
            "A-weighted level (dB)",
        ),
        (
            duct::flexible(f64::NAN, 1.0).expect_err("refused"),
            "diameter (m)",
        ),
        (
            duct::flexible(0.15, -1.0).expect_err("refused"),
            "length (m)",
        ),
        (duct::split(0.0).expect_err("refused"), "share of a branch"),
        (
            room::schultz(1.5, 1e4).expect_err("refused"),
            "room volume (m³)",
        ),
        (
            loudness::phons(0.0).expect_err("refused"),
            "loudness (sone)",
        ),
    ] {
        assert_eq!(error.quantity, quantity);
        assert!(error.to_string().starts_with(quantity));
    }
}
