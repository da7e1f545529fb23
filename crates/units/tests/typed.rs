//! Spelling, refusals, uncertainty and printing as tables of facts.

use units::*;

fn si<Q: Quantity>(text: &str) -> f64 {
    match Typed::<Q>::parse(text) {
        Ok(typed) => typed.value.si(),
        Err(error) => panic!("{text}: {error}"),
    }
}

fn refusal<Q: Quantity>(text: &str) -> String {
    match Typed::<Q>::parse(text) {
        Ok(typed) => panic!("{text} was read as {}", typed.value.si()),
        Err(error) => error.to_string(),
    }
}

fn all_read_as<Q: Quantity>(expected: f64, texts: &[&str]) {
    for text in texts {
        let got = si::<Q>(text);
        assert!(
            (got - expected).abs() <= 1e-12 * expected.abs(),
            "{text}: {got} instead of {expected}"
        );
    }
}

/// Factors of NIST Special Publication 811 (2008), appendix B.8, to the digits printed there.
#[test]
fn factors_agree_with_nist_sp_811() {
    for (got, published) in [
        (si::<VolumeFlow>("1 cfm"), 4.719474e-4),
        (si::<Pressure>("1 inWC"), 2.490889e2),
        (si::<Pressure>("1 inHg"), 3.386389e3),
        (si::<Pressure>("1 psi"), 6.894757e3),
        (si::<Pressure>("1 mmH2O"), 9.80665),
        (si::<Length>("1 ft"), 3.048e-1),
        (si::<Length>("1 in"), 2.54e-2),
        (si::<Area>("1 ft2"), 9.290304e-2),
        (si::<Area>("1 in2"), 6.4516e-4),
        (si::<Volume>("1 ft3"), 2.831685e-2),
        (si::<Mass>("1 lb"), 4.535924e-1),
        (si::<MassFlow>("1 lb/min"), 7.559873e-3),
        (si::<MassFlow>("1 lb/h"), 1.259979e-4),
        (si::<Velocity>("1 fpm"), 5.08e-3),
        (si::<Velocity>("1 mph"), 4.4704e-1),
        (si::<Velocity>("1 km/h"), 2.777778e-1),
        (si::<ThermalResistance>("R-1"), 1.761102e-1),
        (si::<Power>("1 Btu/h"), 2.930711e-1),
        (si::<Power>("1 hp"), 7.456999e2),
        (si::<Power>("1 ton"), 3.516853e3),
        (si::<TemperatureDifference>("1 F"), 5.555556e-1),
        (si::<Angle>("1 deg"), 1.745329e-2),
        (1.0 / si::<EnergyPrice>("1 /therm"), 1.055056e8),
    ] {
        assert!(
            (got - published).abs() <= 6e-7 * published,
            "{got} instead of {published}"
        );
    }
}

#[test]
fn the_spellings_of_the_trade() {
    let cfm = 0.028316846592 / 60.0;
    all_read_as::<VolumeFlow>(
        70.0 * cfm,
        &[
            "70 cfm",
            "70 CFM",
            "70cfm",
            " 70\u{a0}cfm ",
            "70 ft3/min",
            "70 ft³/min",
            "70 cu. ft. per min",
        ],
    );
    all_read_as::<VolumeFlow>(
        0.033,
        &[
            "33 L/s",
            "33 l/s",
            "33 lps",
            "33 L per s",
            "33 litres per second",
        ],
    );
    all_read_as::<VolumeFlow>(
        120.0 / 3600.0,
        &["120 m3/h", "120 m³/h", "120 m^3/h", "120 cmh"],
    );
    all_read_as::<VolumeFlow>(1500.0 * cfm, &["1500 cfm50"]);
    all_read_as::<Pressure>(
        0.2 * 249.08891,
        &[
            "0.2 inWC",
            "0.2 in wc",
            "0.2 in. w.c.",
            "0.2 in. W.C.",
            "0.2 inwg",
            "0.2 in. wg",
            "0.2 iwc",
            "0.2\"wc",
            "0.2\" w.c.",
            "0.2” WC",
            "0.2 in H2O",
            "0,2 inWC",
            ".2 inWC",
            "0.2 inches of water",
            "1/5 in. w.c.",
            "0.2'' wc",
        ],
    );
    all_read_as::<Pressure>(50.0, &["50 Pa", "50 pa", "0.5 mbar", "0.05 kPa"]);
    all_read_as::<Temperature>(
        200.0 / 9.0,
        &[
            "72 F",
            "72 °F",
            "72F",
            "72 ºF",
            "72℉",
            "72 deg F",
            "72 deg. F",
        ],
    );
    all_read_as::<Temperature>(22.0, &["22 °C", "22 C", "22c", "22 ℃", "22 degC"]);
    all_read_as::<Temperature>(295.0 - 273.15, &["295 K"]);
    all_read_as::<Temperature>(-210.0 / 9.0, &["-10 F", "−10 F", "–10 °F"]);
    all_read_as::<TemperatureDifference>(5.0, &["9 F", "9 °F", "5 K", "5 °C"]);
    let r = 0.09290304 * (5.0 / 9.0) * 3600.0 / 1055.05585262;
    all_read_as::<ThermalResistance>(
        8.0 * r,
        &["R-8", "R8", "r-8", "R 8", "R‑8", "8 h·ft²·°F/Btu"],
    );
    all_read_as::<ThermalResistance>(
        1.4,
        &["RSI 1.4", "RSI-1.4", "rsi1,4", "1.4 m2K/W", "1.4 m²·K/W"],
    );
    all_read_as::<Length>(
        6.0 * 0.0254,
        &[
            "6 in", "6\"", "6”", "6 in.", "6-inch", "1/2 ft", "6″", "6''",
        ],
    );
    all_read_as::<Length>(
        10.5 * 0.3048,
        &[
            "10 ft 6 in",
            "10' 6\"",
            "10'6\"",
            "10′6″",
            "10 feet 6 inches",
            "10.5 ft",
            "10½ ft",
            "126 in",
        ],
    );
    all_read_as::<Length>(
        6.5 * 0.0254,
        &["6-1/2 in", "6 1/2 in", "6½ in", "6½\"", "6.5 in", "6,5 in"],
    );
    all_read_as::<Length>(-10.5 * 0.3048, &["-10 ft 6 in", "−10' 6\""]);
    all_read_as::<Length>(0.0127, &["1/2 in", "½ in", "½\""]);
    all_read_as::<Length>(0.15, &["150 mm", "15 cm", "0,15 m"]);
    all_read_as::<Area>(
        2400.0 * 0.09290304,
        &[
            "2400 ft2",
            "2400 ft²",
            "2400 sq ft",
            "2400 sqft",
            "2,400.0 sq. ft.",
            "2400 SF",
        ],
    );
    all_read_as::<Area>(220.0, &["220 m2", "220 m²", "220 sq m"]);
    all_read_as::<Velocity>(3.048, &["600 fpm", "600 ft/min", "600 FPM", "3.048 m/s"]);
    all_read_as::<Power>(1500.0, &["1500 W", "1.5 kW", "1500 watts"]);
    all_read_as::<Angle>(
        std::f64::consts::PI / 6.0,
        &["30 deg", "30°", "30 °", "30 degrees"],
    );
    all_read_as::<Fraction>(0.65, &["65 %", "65%", "65 percent", "39 min/h"]);
    all_read_as::<Duration>(5400.0, &["1.5 h", "90 min", "1 h 30 min", "1 hr 30 min"]);
    all_read_as::<Duration>(15.0 * 8760.0 * 3600.0, &["15 years", "15 yr"]);
    all_read_as::<AirChanges>(
        0.35 / 3600.0,
        &[
            "0.35 ach",
            "0.35 ACH",
            "0.35 1/h",
            "0.35 /h",
            "0.35 per hour",
            "0.35 ach50",
        ],
    );
    all_read_as::<SoundLevel>(32.0, &["32 dBA", "32 dB(A)", "32 dba"]);
    all_read_as::<Loudness>(1.2, &["1.2 sone", "1.2 sones"]);
    all_read_as::<Money>(
        120.5,
        &["120.50", "$120.50", "€ 120,50", "CAD 120.5", "US$120.50"],
    );
    all_read_as::<EnergyPrice>(
        0.16 / 3.6e6,
        &[
            "0.16 per kWh",
            "0.16 /kWh",
            "$0.16/kWh",
            "$0.16 per kWh",
            "160 /MWh",
        ],
    );
    all_read_as::<LengthPrice>(2.4 / 0.3048, &["2.40 /ft", "2.40 per ft", "$2.40/ft"]);
    all_read_as::<TimePrice>(85.0 / 3600.0, &["85 /h", "85 per hour", "$85/hr"]);
}

/// Missing unit, unknown unit and a unit of another quantity are told apart.
#[test]
fn refusals_say_what_was_found_and_what_is_accepted() {
    let flow = "volume flow is asked for, like 70 cfm, 33 L/s, 120 m3/h";
    for (text, message) in [
        ("", format!("nothing was typed; {flow}")),
        ("  ", format!("nothing was typed; {flow}")),
        ("70", format!("\"70\" has no unit; {flow}")),
        ("7 1/2", format!("\"7 1/2\" has no unit; {flow}")),
        ("70 Pa", format!("\"Pa\" is a unit of pressure, but {flow}")),
        (
            "70 C",
            format!("\"C\" is a unit of temperature or temperature difference, but {flow}"),
        ),
        (
            "70 cfn",
            format!("\"cfn\" is not a known unit; did you mean cfm? {flow}"),
        ),
        (
            "70 m3/j",
            format!("\"m3/j\" is not a known unit; did you mean m³/h? {flow}"),
        ),
        (
            "70 furlongs",
            format!("\"furlongs\" is not a known unit; {flow}"),
        ),
        (
            "seventy cfm",
            format!("\"seventy cfm\" is not a number; {flow}"),
        ),
        ("NaN cfm", format!("\"NaN cfm\" is not a number; {flow}")),
        ("inf cfm", format!("\"inf cfm\" is not a number; {flow}")),
        (
            "1e13 cfm",
            format!("\"1e13 cfm\" is too large; numbers up to 1e12 are accepted, {flow}"),
        ),
        (
            "1e999 cfm",
            format!("\"1e999 cfm\" is too large; numbers up to 1e12 are accepted, {flow}"),
        ),
        (
            "70 cfm 5",
            format!("\"5\" after the quantity is not understood; {flow}"),
        ),
        (
            "1,234 cfm",
            "does the comma in \"1,234\" separate thousands or decimals? Write 1234 or 1.234"
                .to_owned(),
        ),
    ] {
        assert_eq!(refusal::<VolumeFlow>(text), message, "{text:?}");
    }
    assert!(refusal::<Fraction>("0.65").contains("has no unit"));
    assert!(refusal::<Length>("6 in 10 ft").contains("after the quantity"));
    assert!(refusal::<Length>("10 ft -6 in").contains("not a known unit"));
    assert!(refusal::<Length>("10 ft 6").contains("\"6\" has no unit"));
    assert!(refusal::<ThermalResistance>("8").contains("has no unit"));
    assert!(refusal::<ThermalResistance>("R-8 in").contains("after the quantity"));
    assert!(refusal::<Temperature>("20 C 5 K").contains("after the quantity"));
    assert!(refusal::<Money>("1,200").contains("thousands or decimals"));
    assert!(refusal::<Area>(&"9".repeat(5000)).len() < 200);
}

/// JCGM 100:2008: half-width of a 95 % interval = 2 standard deviations.
#[test]
fn uncertainty() {
    let cfm = 0.028316846592 / 60.0;
    let flow = 70.0 * cfm;
    for (text, deviation) in [
        ("70 cfm ± 5 %", 0.025 * flow),
        ("70 cfm ±5%", 0.025 * flow),
        ("70 cfm +- 5 percent", 0.025 * flow),
        ("70 cfm +/- 3 cfm", 1.5 * cfm),
        ("70 cfm ±3 cfm", 1.5 * cfm),
        ("70 cfm ± 3", 1.5 * cfm),
        ("70 cfm ± 1 L/s", 0.0005),
        ("70 cfm ± 100 %", 0.5 * flow),
        ("-70 cfm ± 5 %", 0.025 * flow),
    ] {
        let typed = Typed::<VolumeFlow>::parse(text).unwrap();
        let got = typed.standard_deviation().unwrap();
        assert!((got - deviation).abs() < 1e-15, "{text}: {got}");
        assert_eq!(typed.text, text);
    }
    let deviation =
        |typed: Result<Typed<Temperature>, _>| typed.unwrap().standard_deviation().unwrap();
    assert!((deviation(Typed::parse("72 F ± 2 F")) - 5.0 / 9.0).abs() < 1e-15);
    assert!((deviation(Typed::parse("22 C ± 2")) - 1.0).abs() < 1e-15);
    assert_eq!(
        Typed::<Fraction>::parse("65 % ± 5 %").unwrap().uncertainty,
        Some(Uncertainty::Absolute(0.05))
    );
    assert_eq!(
        Typed::<Pressure>::parse("0 Pa ± 2 Pa")
            .unwrap()
            .standard_deviation(),
        Some(1.0)
    );
    assert_eq!(
        Typed::<Pressure>::parse("5 Pa")
            .unwrap()
            .standard_deviation(),
        None
    );

    for text in [
        "70 cfm ± 0 %",
        "70 cfm ± -5 %",
        "70 cfm ± 101 %",
        "70 cfm ± 0 cfm",
        "70 cfm ± -3",
        "0 cfm ± 5 %",
    ] {
        assert!(
            matches!(
                Typed::<VolumeFlow>::parse(text),
                Err(ParseError::BadWidth { .. })
            ),
            "{text}"
        );
    }
    for text in [
        "70 cfm ±",
        "70 cfm ± x",
        "70 cfm ± 5 % ± 5 %",
        "70 cfm ± 3 Pa",
        "± 3 cfm",
        "70 cfm ± 1,234",
    ] {
        assert!(Typed::<VolumeFlow>::parse(text).is_err(), "{text}");
    }
    assert!(matches!(
        Typed::<Temperature>::parse("72 F ± 5 %"),
        Err(ParseError::RelativeWidth { .. })
    ));
    assert!(matches!(
        Typed::<SoundLevel>::parse("32 dBA ± 5 %"),
        Err(ParseError::RelativeWidth { .. })
    ));
}

fn echo<Q: Quantity>(text: &str) -> String {
    Typed::<Q>::parse(text).unwrap().echo()
}

#[test]
fn what_was_typed_stands_first() {
    for (got, expected) in [
        (echo::<VolumeFlow>(" 70 cfm "), "70 cfm (33.0 L/s)"),
        (echo::<VolumeFlow>("33 l/s"), "33 l/s (70 cfm)"),
        (
            echo::<VolumeFlow>("120 m³/h ± 5 %"),
            "120 m³/h ± 5 % (71 cfm)",
        ),
        (echo::<Pressure>("0.2\"wc"), "0.2\"wc (49.8 Pa)"),
        (echo::<Pressure>("50 Pa"), "50 Pa (0.201 inWC)"),
        (echo::<Pressure>("0.02 Pa"), "0.02 Pa (0.00008 inWC)"),
        (echo::<Pressure>("84.2 kPa"), "84.2 kPa (24.86 inHg)"),
        (echo::<Temperature>("72 F"), "72 F (22.2 °C)"),
        (echo::<Temperature>("-18 C"), "-18 C (0 °F)"),
        (echo::<Temperature>("32 F"), "32 F (0.0 °C)"),
        (echo::<ThermalResistance>("R-8"), "R-8 (RSI 1.41)"),
        (echo::<ThermalResistance>("RSI 1.4"), "RSI 1.4 (R-7.9)"),
        (echo::<Length>("6 in"), "6 in (152 mm)"),
        (echo::<Length>("150 mm"), "150 mm (5.91 in)"),
        (echo::<Length>("10 ft 6 in"), "10 ft 6 in (3.20 m)"),
        (echo::<Length>("3.2 m"), "3.2 m (10 ft 6 in)"),
        (echo::<Length>("3.04 m"), "3.04 m (10 ft)"),
        (echo::<Length>("1600 m"), "1600 m (5249 ft)"),
        (echo::<Length>("-3.2 m"), "-3.2 m (-10 ft 6 in)"),
        (echo::<Length>("0.09 mm"), "0.09 mm (0.004 in)"),
        (echo::<Area>("2400 sq ft"), "2400 sq ft (223.0 m²)"),
        (echo::<Area>("380 cm2"), "380 cm2 (58.9 in²)"),
        (echo::<Velocity>("600 fpm"), "600 fpm (3.05 m/s)"),
        (echo::<Power>("60 W"), "60 W"),
        (echo::<Power>("40000 Btu/h"), "40000 Btu/h (11.7 kW)"),
        (echo::<Fraction>("65 %"), "65 %"),
        (echo::<LengthPrice>("$2.40/ft"), "$2.40/ft (7.87 /m)"),
    ] {
        assert_eq!(got, expected);
    }
    assert_eq!(
        both(VolumeFlow::from_si(0.033), System::Si),
        "33.0 L/s (70 cfm)"
    );
    assert_eq!(both(Fraction::from_si(0.655), System::Ip), "65.5 %");
    assert_eq!(
        VolumeFlow::from_si(0.033).show_with(System::Ip, 2),
        "69.92 cfm"
    );
    assert_eq!(Money::from_si(120.5).show(System::Ip), "120.50");
    assert_eq!(
        Angle::from_si(std::f64::consts::PI / 6.0).show(System::Ip),
        "30°"
    );
    let stated = Typed::stated(
        VolumeFlow::from_si(0.033),
        Some(Uncertainty::Relative(0.1)),
        System::Ip,
    );
    assert_eq!(stated.echo(), "70 cfm (33.0 L/s)");
}

fn examples_are_accepted<Q: Quantity>() {
    for example in Q::EXAMPLES.split(", ") {
        si::<Q>(example);
    }
    let mut seen = std::collections::BTreeSet::new();
    for unit in Q::units() {
        si::<Q>(&if unit.leads {
            format!("{}1", unit.symbol)
        } else {
            format!("1 {}", unit.symbol)
        });
        for spelling in unit.spellings {
            assert!(seen.insert(spelling), "{}: {spelling} twice", Q::NAME);
            assert_eq!(
                Typed::<Q>::parse(&format!("3 {spelling}")).map(|typed| typed.value.si()),
                Ok(unit.to_si(3.0)),
                "{spelling}"
            );
        }
    }
    for system in [System::Ip, System::Si] {
        assert!(
            Q::units()
                .iter()
                .any(|unit| unit.system.is_none_or(|its| its == system))
        );
    }
}

/// Calls a generic function for every quantity.
macro_rules! for_every_quantity {
    ($function:ident($($argument:expr),*)) => {
        for_every_quantity!($function($($argument),*);
            Length Area Volume Pressure VolumeFlow MassFlow Mass Velocity Temperature
            TemperatureDifference ThermalResistance Power Angle Fraction SoundLevel Loudness
            Duration AirChanges Money EnergyPrice LengthPrice TimePrice)
    };
    ($function:ident $arguments:tt; $($Quantity:ident)+) => {
        $($function::<$Quantity> $arguments;)+
    };
}

#[test]
fn every_example_symbol_and_spelling_is_accepted() {
    for_every_quantity!(examples_are_accepted());
}

mod properties {
    use super::*;
    use proptest::prelude::*;

    /// Prints a number in the usual unit and reads it back.
    fn print_then_parse<Q: Quantity>(number: f64) {
        for system in [System::Ip, System::Si] {
            let unit = Q::units()
                .iter()
                .find(|unit| unit.system.is_none_or(|its| its == system))
                .unwrap();
            let quantity = Q::from_si(unit.to_si(number));
            let shown_in = quantity.shown_in(system);

            let shown = quantity.show_with(system, 15);
            let distance = (si::<Q>(&shown) - quantity.si()).abs();
            let rounding = 1e-12 * (quantity.si().abs() + shown_in.factor * shown_in.offset.abs())
                + 1e-15 * shown_in.factor;
            assert!(distance <= rounding, "{shown}: off by {distance}");

            let shown = quantity.show(system);
            // Feet are shown to the inch, heights of hills to the foot or metre.
            let digits = if shown_in.symbol == "ft" && quantity.si() < 100.0 * 0.3048 {
                1.0 / 12.0
            } else if shown_in.symbol == "m" && quantity.si() >= 100.0 {
                1.0
            } else {
                0.1f64.powi(shown_in.decimals as i32)
            };
            let distance = (si::<Q>(&shown) - quantity.si()).abs();
            let allowed = 0.500001 * digits * shown_in.factor + rounding;
            assert!(distance <= allowed, "{shown}: off by {distance}");
        }
    }

    /// A larger number in the same unit is a larger quantity.
    fn monotone<Q: Quantity>(number: f64, step: f64) {
        for unit in Q::units() {
            let (small, large) = (number, number + step);
            let typed = |number: f64| {
                si::<Q>(&if unit.leads {
                    format!("{}{number}", unit.symbol)
                } else {
                    format!("{number} {}", unit.symbol)
                })
            };
            assert!(
                typed(small) < typed(large),
                "{small} {} and {large}",
                unit.symbol
            );
        }
    }

    fn answers<Q: Quantity>(text: &str) {
        match Typed::<Q>::parse(text) {
            Ok(typed) => {
                assert!(typed.value.si().is_finite());
                assert!(
                    typed
                        .standard_deviation()
                        .is_none_or(|d| d > 0.0 && d.is_finite())
                );
                assert!(!typed.echo().is_empty());
            }
            Err(error) => assert!(!error.to_string().is_empty()),
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 500, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn printed_quantities_are_read_back(number in 0.01..20000.0f64) {
            for_every_quantity!(print_then_parse(number));
        }

        #[test]
        fn larger_numbers_are_larger_quantities(number in 0.0..1e4f64, step in 1e-3..1e4f64) {
            for_every_quantity!(monotone(number, step));
        }

        #[test]
        fn any_text_is_answered(text in ".*") {
            for_every_quantity!(answers(&text));
        }

        #[test]
        fn any_likely_text_is_answered(
            text in "[-+−]?[0-9.,]{0,4}[ /½-]?[0-9e]{0,3} ?(R|RSI|ft|'|\"|in|cfm|m³/h|°F|%|\\$|per kWh|1/h| |\u{a0})?[0-9 ]{0,3}(in|\"|ft)? ?(±|\\+/-|\\+-)?[0-9 -]{0,3}(%|cfm|F|in)?"
        ) {
            for_every_quantity!(answers(&text));
        }
    }
}
