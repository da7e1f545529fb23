//! What must hold for any duct.

use air::AirState;
use insulation::{
    FOIL, InsulatedDuct, PLAIN, R_VALUE, Stream, condensation, flat_resistance, needed_resistance,
    surface, temperature_after,
};
use proptest::prelude::*;

fn duct(diameter: f64, resistance: f64, emissivity: f64) -> InsulatedDuct {
    InsulatedDuct::new(diameter, resistance, emissivity).expect("a duct")
}

proptest! {
    /// On a cold duct every bit of insulation makes the surface warmer and the heat gain smaller.
    #[test]
    fn thicker_insulation_means_a_warmer_surface(
        diameter in 0.1..0.3f64, thin in 0.05..3.0f64, more in 0.01..3.0f64,
        emissivity in 0.03..1.0f64, cold in -40.0..10.0f64, warm in 15.0..35.0f64,
        flow in 0.0..0.15f64, pressure in 65_000.0..103_000.0f64,
    ) {
        let room = AirState::from_relative_humidity(warm, 0.4, pressure).expect("a room");
        let stream = Stream::new(cold, flow).expect("a stream");
        let thin_one = surface(&duct(diameter, thin, emissivity), &stream, &room);
        let thick_one = surface(&duct(diameter, thin + more, emissivity), &stream, &room);
        prop_assert!(thick_one.temperature > thin_one.temperature);
        prop_assert!(thick_one.heat_flow < thin_one.heat_flow);
    }

    /// The heat that enters the surface from the room is the heat that goes on into the air, and all
    /// temperatures lie between those of the air and the room, in order, whichever is warmer.
    #[test]
    fn heat_is_conserved(
        diameter in 0.06..0.4f64, resistance in 0.0..4.0f64, emissivity in 0.03..1.0f64,
        inside in -50.0..60.0f64, outside in -40.0..60.0f64, flow in 0.0..0.3f64,
    ) {
        let room = AirState::from_relative_humidity(outside, 0.2, 101_325.0).expect("a room");
        let stream = Stream::new(inside, flow).expect("a stream");
        let duct = duct(diameter, resistance, emissivity);
        let at = surface(&duct, &stream, &room);
        let from_room = (at.convection + at.radiation)
            * std::f64::consts::PI * duct.outer_diameter() * (outside - at.temperature);
        // 1e-9 K of the surface times the largest conductance.
        prop_assert!((from_room - at.heat_flow).abs() < 1e-6 + 1e-6 * at.heat_flow.abs());
        let order = (outside - inside).signum();
        prop_assert!(order * (at.wall - inside) >= -1e-9);
        prop_assert!(order * (at.temperature - at.wall) >= -1e-6);
        prop_assert!(order * (outside - at.temperature) >= -1e-9);
    }

    /// Bright foil keeps the room's radiation off: a cold duct is colder outside than a plain one.
    #[test]
    fn foil_makes_a_cold_duct_colder(
        diameter in 0.1..0.3f64, resistance in 0.1..2.0f64, cold in -40.0..15.0f64,
    ) {
        let room = AirState::from_relative_humidity(22.0, 0.5, 101_325.0).expect("a room");
        let stream = Stream::new(cold, 0.05).expect("a stream");
        let plain = surface(&duct(diameter, resistance, PLAIN), &stream, &room);
        let foil = surface(&duct(diameter, resistance, FOIL), &stream, &room);
        prop_assert!(foil.temperature < plain.temperature);
    }

    /// The resistance that is asked for gives the margin that was asked for.
    #[test]
    fn the_needed_resistance_just_suffices(
        diameter in 0.1..0.3f64, emissivity in 0.05..1.0f64, cold in -40.0..5.0f64,
        humidity in 0.2..0.8f64, margin in 0.0..2.0f64,
    ) {
        let room = AirState::from_relative_humidity(21.0, humidity, 90_000.0).expect("a room");
        let stream = Stream::new(cold, 0.05).expect("a stream");
        let found = needed_resistance(diameter, emissivity, &stream, &room, margin).expect("in range");
        if let Some(resistance) = found {
            let at = surface(&duct(diameter, resistance, emissivity), &stream, &room);
            let margin_there = condensation(&at, &stream, &room).margin;
            if resistance > 0.0 {
                prop_assert!((margin_there - margin).abs() < 1e-4, "{margin_there} for {margin}");
            } else {
                prop_assert!(margin_there >= margin);
            }
        }
    }

    /// Air approaches the surroundings along the duct and never passes them.
    #[test]
    fn air_approaches_its_surroundings(
        inside in -40.0..50.0f64, outside in -40.0..50.0f64, length in 0.0..100.0f64,
        more in 0.1..50.0f64, flow in 0.001..0.2f64,
    ) {
        let room = AirState::from_relative_humidity(outside, 0.3, 101_325.0).expect("a room");
        let stream = Stream::new(inside, flow).expect("a stream");
        let at = surface(&duct(0.15, R_VALUE, PLAIN), &stream, &room);
        let near = temperature_after(&at, &stream, outside, length).expect("in range");
        let far = temperature_after(&at, &stream, outside, length + more).expect("in range");
        prop_assert!((far - outside).abs() <= (near - outside).abs() + 1e-12);
        prop_assert!((near - outside) * (inside - outside) >= 0.0);
    }
}

#[test]
fn thin_air_carries_less_heat_to_the_surface() {
    let at = |altitude: f64| {
        let room = AirState::from_relative_humidity(21.0, 0.4, air::standard_pressure(altitude));
        let stream = Stream::new(-20.0, 0.046).expect("a stream");
        surface(
            &duct(0.15, 6.0 * R_VALUE, PLAIN),
            &stream,
            &room.expect("a room"),
        )
    };
    assert!(at(2500.0).convection < at(0.0).convection);
    assert!(at(2500.0).temperature < at(0.0).temperature);
}

#[test]
fn pressing_the_blanket_costs_margin() {
    let room = AirState::from_relative_humidity(21.0, 0.4, 101_325.0).expect("a room");
    let stream = Stream::new(-20.0, 0.046).expect("a stream");
    let whole = duct(0.15, 4.2 * R_VALUE, FOIL);
    let pressed = whole.compressed(0.25).expect("a part");
    assert!((pressed.thickness() / whole.thickness() - 0.75).abs() < 1e-12);
    assert!(
        surface(&pressed, &stream, &room).temperature < surface(&whole, &stream, &room).temperature
    );
}

#[test]
fn sealing_is_asked_for_below_the_dew_point() {
    let room = AirState::from_relative_humidity(21.0, 0.4, 101_325.0).expect("a room");
    for (temperature, seal) in [(-20.0, true), (6.8, true), (7.0, false), (18.0, false)] {
        let stream = Stream::new(temperature, 0.046).expect("a stream");
        let at = surface(&duct(0.15, R_VALUE, PLAIN), &stream, &room);
        assert_eq!(
            condensation(&at, &stream, &room).seal,
            seal,
            "{temperature} °C"
        );
    }
}

#[test]
fn a_saturated_room_cannot_be_kept_dry() {
    let room = AirState::from_relative_humidity(21.0, 1.0, 101_325.0).expect("a room");
    let stream = Stream::new(5.0, 0.046).expect("a stream");
    assert_eq!(
        needed_resistance(0.15, PLAIN, &stream, &room, 0.5),
        Ok(None)
    );
    assert_eq!(flat_resistance(5.0, 21.0, 21.0, 0.12), f64::INFINITY);
    assert_eq!(flat_resistance(22.0, 21.0, 20.0, 0.12), 0.0);
}

#[test]
fn impossible_input_is_refused() {
    for (diameter, resistance, emissivity, quantity) in [
        (0.0, 1.0, 0.9, "inner diameter (m)"),
        (f64::NAN, 1.0, 0.9, "inner diameter (m)"),
        (0.15, -0.1, 0.9, "nominal resistance (m²·K/W)"),
        (0.15, f64::INFINITY, 0.9, "nominal resistance (m²·K/W)"),
        (0.15, 1.0, 1.1, "emissivity"),
    ] {
        let error = InsulatedDuct::new(diameter, resistance, emissivity).expect_err("refused");
        assert_eq!(error.quantity, quantity);
    }
    for (temperature, flow, quantity) in [
        (-61.0, 0.1, "temperature in the duct (°C)"),
        (f64::NAN, 0.1, "temperature in the duct (°C)"),
        (0.0, -0.1, "mass flow (kg/s)"),
        (0.0, f64::NAN, "mass flow (kg/s)"),
    ] {
        let error = Stream::new(temperature, flow).expect_err("refused");
        assert_eq!(error.quantity, quantity);
        assert!(error.to_string().contains("accepted: "));
    }
    let whole = duct(0.15, 1.0, 0.9);
    assert!(whole.compressed(0.95).is_err());
    assert!(
        Stream::new(0.0, 0.1)
            .expect("a stream")
            .with_film_factor(0.5)
            .is_err()
    );
}
