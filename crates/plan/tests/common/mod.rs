//! An invented house in plain SI, so that the tests of the physics do not lean on the file format.

#![allow(dead_code)]

use house::model::*;

pub const CFM: f64 = 0.000_471_947_443_2;
pub const FOOT: f64 = 0.3048;
pub const INCH: f64 = 0.0254;

/// Dry air at 1.2 kg/m³ all through: no stack, no recovery.
pub fn still_weather(season: Season) -> Weather {
    Weather {
        season,
        outdoor: 20.0,
        indoor: 20.0,
    }
}

/// A two-zone house with a furnace in the basement, measured in low and heating.
pub fn house() -> Job {
    let estimate = |value: f64, relative: f64| Estimate {
        value,
        deviation: relative * value.abs(),
        origin: Origin::Typed(String::new()),
    };
    let zone = |name: &str, kind, area, level, leakage, supply, back| Zone {
        name: name.into(),
        kind,
        floor_area: area,
        height: 2.44,
        level,
        leakage_share: leakage,
        joins: None,
        vent_area: 0.0,
        supply_share: supply,
        return_share: back,
        bedroom: false,
    };
    let mode =
        |mode, flow: f64, back: Option<f64>, out: Option<f64>, power: f64, share: f64| BlowerMode {
            mode,
            flow: estimate(flow, 0.05),
            return_pressure: back.map(|pressure| estimate(pressure, 0.05)),
            supply_pressure: out.map(|pressure| estimate(pressure, 0.05)),
            power: estimate(power, 0.1),
            run_share: share,
        };
    let path = |length: f64, section, share: f64| Path {
        length,
        section,
        branch_share: Estimate::default(share, 0.1, "test"),
        leakage: Estimate::default(0.0, 0.0, "test"),
        leakage_zone: None,
        segments: Vec::new(),
    };
    let trunk = Section::Rectangular(8.0 * INCH, 18.0 * INCH);
    let tap = |name: &str, side, feet: f64, extract, supply| Tap {
        name: name.into(),
        side,
        from_fan: feet * FOOT,
        section: trunk,
        extract,
        supply,
        pressure: None,
    };
    let terminal = |name: &str, two_in_one, height: f64, facing: f64| Terminal {
        name: name.into(),
        two_in_one,
        intake: true,
        exhaust: true,
        facing,
        height,
        place: None,
        size: [8.0 * INCH, 8.0 * INCH],
        flow_limit: two_in_one.then_some(110.0 * CFM),
        loss: estimate(2.5, 0.25),
    };
    let run = |to, feet: f64, elbows| SpotRun {
        to,
        length: feet * FOOT,
        elbows,
    };
    Job {
        name: "test house".into(),
        inch_pound_first: true,
        building: Building {
            place: "Nowhere".into(),
            altitude: 0.0,
            floor_area: 170.0,
            ceiling_height: 2.44,
            storeys: 1.0,
            bedrooms: 3,
            occupants: 4,
            leakage_at_50_pascals: estimate(0.6, 0.025),
            leakage_exponent: Estimate::default(0.65, 0.03, "test"),
            required_rate: Some(75.0 * CFM),
        },
        climate: Climate {
            weathers: [
                Weather {
                    season: Season::Winter,
                    outdoor: -15.0,
                    indoor: 21.0,
                },
                Weather {
                    season: Season::Mild,
                    outdoor: 15.0,
                    indoor: 21.0,
                },
                Weather {
                    season: Season::Summer,
                    outdoor: 33.0,
                    indoor: 24.0,
                },
            ],
            snow: 0.0,
            wind_speed: 4.0,
            humidity: Humidity {
                indoor_winter: 0.35,
                indoor_summer: 0.55,
                summer_dew_point: 21.0,
            },
        },
        zones: vec![
            zone("main floor", ZoneKind::Living, 90.0, 0.3, 0.7, 0.8, 1.0),
            zone("basement", ZoneKind::Basement, 80.0, -2.1, 0.3, 0.2, 0.0),
        ],
        openings: vec![Opening {
            between: [0, 1],
            area: 0.6,
            kind: OpeningKind::Open,
        }],
        exhausts: Vec::new(),
        appliances: Vec::new(),
        nothing_burns: false,
        existing: Existing::Nothing,
        air_handler: Some(AirHandler {
            blower: BlowerKind::FixedSpeedTap,
            zone: 1,
            furnace: true,
            least_return_temperature: None,
            modes: vec![
                mode(Mode::Low, 600.0 * CFM, None, None, 180.0, 0.0),
                mode(
                    Mode::Heating,
                    1100.0 * CFM,
                    Some(-60.0),
                    Some(65.0),
                    480.0,
                    0.25,
                ),
            ],
            filter_pressure_drop: Estimate::default(25.0, 8.0, "test"),
            return_path: path(10.0, trunk, 0.4),
            supply_path: path(10.0, trunk, 0.6),
        }),
        spots: vec![Spot {
            name: "by the furnace".into(),
            zone: 1,
            coldest: 14.0,
            warmest: 27.0,
            drain: true,
            outlet: true,
            support: true,
            bedroom_wall: None,
            working_space: None,
            hatch: None,
            passage: None,
            drain_slope: None,
            runs: vec![
                run(End::Tap(0), 12.0, 2),
                run(End::Tap(1), 8.0, 2),
                run(End::Tap(2), 10.0, 2),
                run(End::Grille(0), 20.0, 3),
                run(End::Grille(1), 20.0, 3),
                run(End::Terminal(0), 10.0, 1),
                run(End::Terminal(1), 10.0, 1),
                run(End::Terminal(2), 9.0, 1),
            ],
        }],
        taps: vec![
            tap("far return", Side::Return, 25.0, true, true),
            tap("near return", Side::Return, 15.0, true, true),
            tap("supply trunk", Side::Supply, 4.0, false, true),
        ],
        grilles: vec![
            Grille {
                name: "bath".into(),
                zone: 0,
                extract: true,
                serves: Serves::Bathroom,
                loss: estimate(2.0, 0.2),
            },
            Grille {
                name: "hall".into(),
                zone: 0,
                extract: false,
                serves: Serves::Nothing,
                loss: estimate(2.0, 0.2),
            },
        ],
        walls: Vec::new(),
        terminals: vec![
            terminal("north", false, 1.0, 0.0),
            terminal("north east", false, 1.0, 0.0),
            terminal("one hood", true, 1.2, 90.0),
        ],
        separations: vec![Separation {
            between: [0, 1],
            distance: 2.5,
        }],
        units: vec![unit("test unit")],
        ducts: DuctChoices {
            diameters: vec![6.0 * INCH],
            material: Material::Flexible,
            compression: Estimate::default(0.08, 0.03, "test"),
            insulation: 1.4,
        },
        controls: Controls {
            interlocks: Interlock::ALL.to_vec(),
            run_share: 1.0,
        },
        costs: Costs {
            currency: "USD".into(),
            electricity: 0.15,
            duct: vec![(6.0 * INCH, 9.0)],
            elbow: 9.0,
            damper: 22.0,
            collar: 12.0,
            hood: 45.0,
            two_in_one_hood: 120.0,
            grille: 20.0,
            interlock: 35.0,
        },
        rules: rules::RuleBook::common_practice(),
        rates: Rates::default(),
        chosen: None,
        stations: Vec::new(),
        instruments: Vec::new(),
        balancing: house::model::Balancing::default(),
    }
}

/// A unit whose two streams are alike, without cross leakage.
pub fn unit(name: &str) -> Unit {
    let setting = |setting, flows: [f64; 5], power: f64| UnitSetting {
        setting,
        points: [25.0, 50.0, 100.0, 150.0, 200.0]
            .iter()
            .zip(flows)
            .map(|(&pressure, flow)| UnitPoint {
                pressure,
                net_supply: flow * CFM,
                gross_supply: flow * CFM,
                gross_extract: flow * CFM,
                power,
            })
            .collect(),
        sound: None,
        duct_sound: None,
    };
    Unit {
        name: name.into(),
        recovers_moisture: false,
        price: 1000.0,
        port_diameter: 6.0 * INCH,
        cross_leakage: 0.0,
        fans_after_core: true,
        shuts_when_off: false,
        ambient: Some([10.0, 40.0]),
        needs_drain: true,
        settings: vec![
            setting(Setting::Low, [80.0, 72.0, 55.0, 35.0, 10.0], 40.0),
            setting(Setting::High, [150.0, 142.0, 124.0, 102.0, 75.0], 95.0),
        ],
        recovery: vec![Recovery {
            outdoor: 0.0,
            flow: 60.0 * CFM,
            sensible: 0.7,
            moisture: 0.0,
        }],
    }
}

/// The same house in weather and air that drive nothing by themselves.
pub fn still_house() -> Job {
    let mut job = house();
    job.climate.weathers = [Season::Winter, Season::Mild, Season::Summer].map(still_weather);
    job.units[0].recovery.clear();
    job
}

/// Three of the layouts on the house, at the high setting.
pub fn plan_of(job: &Job, layout: Layout, entry: Entry) -> plan::Plan {
    let (extract, supply) = match layout {
        Layout::ReturnToReturn => (End::Tap(0), End::Tap(1)),
        Layout::ReturnToSupply => (End::Tap(0), End::Tap(2)),
        Layout::DedicatedReturn => (End::Grille(0), End::Tap(1)),
        Layout::FullyDucted => (End::Grille(0), End::Grille(1)),
    };
    plan::Plan {
        unit: 0,
        setting: Setting::High,
        spot: 0,
        layout,
        extract: vec![extract],
        supply: vec![supply],
        entry,
        intake: 0,
        exhaust: 1,
        diameter: job.ducts.diameters[0],
        interlock: Interlock::VentilatorCallsBlower,
        supply_damper: 0.0,
        extract_damper: 0.0,
    }
}
