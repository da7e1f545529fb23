//! Properties of moist air that hold everywhere, and refusals. The comparison with tables and
//! libraries stands in the crate `checks`.

use air::*;
use proptest::prelude::*;

const SEA_LEVEL: f64 = STANDARD_PRESSURE;

/// Temperature, relative humidity and pressure for which air (not steam) exists.
fn states() -> impl Strategy<Value = AirState> {
    (-100.0..200.0f64, 0.0..=1.0f64, 20_000.0..180_000.0f64).prop_filter_map(
        "steam",
        |(temperature, relative_humidity, pressure)| {
            AirState::from_relative_humidity(temperature, relative_humidity, pressure).ok()
        },
    )
}

fn close(got: f64, expected: f64, relative: f64) -> bool {
    (got - expected).abs() <= relative * expected.abs()
}

/// Humidity ratio over the wet bulb at 0 °C, with water and with ice.
fn humidity_ratio_at_bulb_of_zero(state: &AirState) -> Option<(f64, f64)> {
    let at = |bulb| {
        AirState::from_wet_bulb(state.temperature(), bulb, state.pressure())
            .map(|state| state.humidity_ratio())
            .ok()
    };
    Some((at(0.0)?, at(-1e-9)?))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 20_000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn dew_point_wet_bulb_and_temperature_are_in_order(state in states()) {
        let wet_bulb = state.wet_bulb();
        prop_assert!(wet_bulb <= state.temperature() + 1e-9);
        if let Some(dew_point) = state.dew_point() {
            prop_assert!(dew_point <= wet_bulb + 1e-6, "{dew_point} {wet_bulb}");
        }
        prop_assert!(wet_bulb >= -101.0);
        prop_assert!((0.0..=1.0 + 1e-9).contains(&state.relative_humidity()));
    }

    #[test]
    fn dew_point_gives_the_state_back(state in states()) {
        match state.dew_point() {
            Some(dew_point) => {
                let again = AirState::from_dew_point(state.temperature(), dew_point, state.pressure()).unwrap();
                // At the triple point the curves over ice and over water meet to 1e-4 only, which is
                // 0.0014 K at their slope of 7 % per kelvin.
                let tolerance = if (dew_point - 0.01).abs() < 0.002 { 1e-3 } else { 1e-7 };
                prop_assert!(close(again.humidity_ratio(), state.humidity_ratio(), tolerance));
            }
            None => prop_assert!(state.vapour_pressure() < saturation_pressure(-100.0)),
        }
    }

    /// Below the band in which a bulb with ice and one with water are both in balance.
    #[test]
    fn wet_bulb_gives_the_state_back(state in states()) {
        let wet_bulb = state.wet_bulb();
        prop_assume!(wet_bulb >= -100.0);
        // The bulb is resolved to 1e-10 K; what that means for W depends on the slope.
        let near = |bulb: f64| {
            AirState::from_wet_bulb(state.temperature(), bulb.min(state.temperature()), state.pressure())
                .map_or(0.0, |state| state.humidity_ratio())
        };
        if (wet_bulb - 0.01).abs() > 0.002 && wet_bulb.abs() > 1e-6 {
            let (low, high) = (near(wet_bulb - 1e-8), near(wet_bulb + 1e-8));
            let slack = 1e-7 * state.humidity_ratio() + 1e-15;
            prop_assert!(low - slack <= state.humidity_ratio() && state.humidity_ratio() <= high + slack);
        }
        if wet_bulb >= 0.0 && let Some((_, with_ice)) = humidity_ratio_at_bulb_of_zero(&state) {
            prop_assert!(state.humidity_ratio() >= with_ice * (1.0 - 1e-6));
        }
    }

    #[test]
    fn humidity_ratio_gives_the_state_back(state in states()) {
        let again = AirState::from_humidity_ratio(state.temperature(), state.humidity_ratio(), state.pressure());
        prop_assert_eq!(again, Ok(state));
        prop_assert!(close(
            vapour_pressure(state.humidity_ratio(), state.pressure()),
            state.relative_humidity() * saturation_pressure(state.temperature()),
            1e-12,
        ));
        let h = state.enthalpy();
        prop_assert!((temperature_of_enthalpy(h, state.humidity_ratio()) - state.temperature()).abs() < 1e-9);
    }

    /// Warmer air is lighter, humid air is lighter, denser under pressure.
    #[test]
    fn density_falls_with_heat_and_vapour(
        t in -40.0..49.0f64, w in 0.0..0.03f64, p in 60_000.0..110_000.0f64, step in 0.01..1.0f64
    ) {
        prop_assert!(density(t + step, w, p) < density(t, w, p));
        prop_assert!(density(t, w + 0.01 * step, p) < density(t, w, p));
        prop_assert!(density(t, w, p + 100.0 * step) > density(t, w, p));
        prop_assert!(viscosity(t + step) > viscosity(t));
        prop_assert!(enthalpy(t + step, w) > enthalpy(t, w));
        prop_assert!(saturation_pressure(t + step) > saturation_pressure(t));
    }

    /// Any floating-point input gets a state or a reason.
    #[test]
    fn any_input_is_answered(t in proptest::num::f64::ANY, x in proptest::num::f64::ANY, p in proptest::num::f64::ANY) {
        for (t, x, p) in [(t, x, p), (20.0, x, p), (20.0, x, SEA_LEVEL), (t, 0.5, SEA_LEVEL), (20.0, 0.005, p)] {
            for state in [
                AirState::from_relative_humidity(t, x, p),
                AirState::from_humidity_ratio(t, x, p),
                AirState::from_dew_point(t, x, p),
                AirState::from_wet_bulb(t, x, p),
            ] {
                match state {
                    Ok(state) => prop_assert!(
                        state.density() > 0.0 && state.wet_bulb().is_finite() && state.humidity_ratio() >= 0.0
                    ),
                    Err(reason) => prop_assert!(!reason.to_string().is_empty()),
                }
            }
        }
    }
}

#[test]
fn refusals() {
    for (state, message) in [
        (
            AirState::from_relative_humidity(-101.0, 0.5, SEA_LEVEL),
            "air temperature -101 °C is outside -100 to 200 °C",
        ),
        (
            AirState::from_relative_humidity(f64::NAN, 0.5, SEA_LEVEL),
            "air temperature NaN °C is outside -100 to 200 °C",
        ),
        (
            AirState::from_relative_humidity(20.0, 50.0, SEA_LEVEL),
            "relative humidity 50 is outside 0 to 1 (0 to 100 %)",
        ),
        (
            AirState::from_relative_humidity(20.0, 0.5, 101.325),
            "air pressure 101.325 Pa is outside 20 000 to 180 000 Pa",
        ),
        (
            AirState::from_relative_humidity(120.0, 0.9, SEA_LEVEL),
            "vapour pressure 178817 Pa is not below the air pressure of 101325 Pa",
        ),
        (
            AirState::from_humidity_ratio(20.0, -0.001, SEA_LEVEL),
            "humidity ratio -0.001 kg/kg is not zero or more",
        ),
        (
            AirState::from_humidity_ratio(20.0, 0.02, SEA_LEVEL),
            "humidity ratio 0.02 kg/kg is above saturation (0.014695 kg/kg)",
        ),
        (
            AirState::from_dew_point(20.0, 21.0, SEA_LEVEL),
            "dew point 21 °C is outside -100 °C to the air temperature of 20 °C",
        ),
        (
            AirState::from_wet_bulb(20.0, 21.0, SEA_LEVEL),
            "wet bulb 21 °C is impossible in air of 20 °C: it lies between that of dry air and \
             the air temperature",
        ),
        (
            AirState::from_wet_bulb(40.0, 5.0, SEA_LEVEL),
            "wet bulb 5 °C is impossible in air of 40 °C: it lies between that of dry air and \
             the air temperature",
        ),
    ] {
        assert_eq!(
            state.map_err(|reason| reason.to_string()),
            Err(message.to_owned())
        );
    }
}

#[test]
fn dry_air_has_no_dew_point_but_a_wet_bulb() {
    let dry = AirState::from_relative_humidity(20.0, 0.0, SEA_LEVEL).unwrap();
    assert_eq!(dry.dew_point(), None);
    let saved = AirState::from_wet_bulb(20.0, dry.wet_bulb(), SEA_LEVEL).unwrap();
    assert!(saved.humidity_ratio() < 1e-9);
}

/// The curve over ice and the one over water meet at the triple point, 611.657 Pa
/// (IAPWS R14-08).
#[test]
fn the_curves_meet_at_the_triple_point() {
    for got in [
        saturation_pressure_over_ice(0.01),
        saturation_pressure_over_water(0.01),
    ] {
        assert!((got - 611.657).abs() < 0.1, "{got}");
    }
}
