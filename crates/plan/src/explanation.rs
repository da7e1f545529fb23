//! What a number is, how it comes about in this house, whose rule stands behind it, and what would
//! change it. Any surface shows the same explanation.

use crate::candidate::{Plan, end_name};
use crate::case::CaseFlows;
use crate::flows::{Band, CaseReport};
use crate::merit::{self, CRITERIA};
use crate::rate::{self, RequiredRate};
use crate::rules::source;
use crate::search::Evaluated;
use ::rules::rates::Rate;
use ducts::ButterflyDamper;
use house::model::{End, Estimate, Job, Mode, Origin, Setting};
use units::text::{capital, fixed, true_minus};
use units::{Angle, Fraction, Length, Pressure, Quantity, System, Temperature, VolumeFlow, both};

/// How a number comes about.
#[derive(Debug, Clone, PartialEq)]
pub struct Explanation {
    /// What it is called.
    pub title: String,
    /// The number with its unit, in both systems where that helps.
    pub value: String,
    /// The band in which nine houses of ten lie, if it is known.
    pub band: Option<String>,
    /// What it means, in sentences.
    pub words: Vec<String>,
    /// How it is computed, in words with the numbers of this house.
    pub formula: Vec<String>,
    /// What went in.
    pub inputs: Vec<Input>,
    /// The rule that it is held against, and whose rule that is.
    pub rule: Option<[String; 2]>,
    /// What would change it.
    pub change: Vec<Change>,
}

/// A number that went in.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// What it is.
    pub name: String,
    /// The number with its unit.
    pub value: String,
    /// How it is known.
    pub known: String,
    /// Where it is told in the survey, as a way through the job file: `tap/1`; empty if nowhere.
    pub way: String,
}

/// Something that would change a number.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    /// What to do, as a sentence.
    pub words: String,
    /// Where, as a way through the job file, or `needs/` with the name of a rule for which the job may
    /// give a number of its own.
    pub way: String,
}

pub(crate) const COMPUTED: &str = "computed";
pub(crate) const SURVEYED: &str = "from the survey";
const CERTIFIED: &str = "certified performance data of the unit";

pub(crate) fn input(
    name: impl Into<String>,
    value: String,
    known: &str,
    way: impl Into<String>,
) -> Input {
    Input {
        name: name.into(),
        value,
        known: known.to_owned(),
        way: way.into(),
    }
}

pub(crate) fn change(words: &str, way: impl Into<String>) -> Change {
    Change {
        words: words.to_owned(),
        way: way.into(),
    }
}

/// A mass flow (kg/s) as volume of standard air.
fn volume(mass_flow: f64) -> VolumeFlow {
    VolumeFlow::from_si(mass_flow / air::STANDARD_DENSITY)
}

fn percent(part: f64, decimals: usize) -> String {
    format!("{} %", fixed(100.0 * part, decimals))
}

fn known(estimate: &Estimate) -> &'static str {
    match estimate.origin {
        Origin::Typed(_) => SURVEYED,
        Origin::Default(reason) => reason,
    }
}

/// What explains the figures of one operating case.
struct Case<'a> {
    job: &'a Job,
    plan: &'a Plan,
    report: &'a CaseReport,
    system: System,
}

/// Explains a figure of the house drawing by its key, if there is such a figure.
pub fn of_flows(
    job: &Job,
    plan: &Plan,
    report: &CaseReport,
    key: &str,
    system: System,
) -> Option<Explanation> {
    let case = Case {
        job,
        plan,
        report,
        system,
    };
    let (kind, rest) = key.split_once('-').unwrap_or((key, ""));
    match (kind, rest) {
        ("flow", "outdoor") => Some(case.stream(0)),
        ("flow", "supply") => Some(case.stream(1)),
        ("flow", "extract") => Some(case.stream(2)),
        ("flow", "exhaust") => Some(case.stream(3)),
        ("port", _) => Some(case.port(AIRS.iter().position(|air| *air == rest)?)),
        ("damper", "supply") => Some(case.damper(true)),
        ("damper", "extract") => Some(case.damper(false)),
        ("end", _) => {
            let (stream, place) = rest.split_once('-')?;
            case.end(stream, place.parse().ok()?)
        }
        ("zone", _) => case.zone(rest.parse().ok()?),
        ("leak", _) => case.leak(rest.parse().ok()?),
        ("exhaust", _) => case.exhaust(rest.parse().ok()?),
        ("plenum", "return") => case.plenum(0),
        ("plenum", "supply") => case.plenum(1),
        ("blower", "") => case.blower(),
        ("unit", "") => Some(case.unit()),
        ("delivered", "") => Some(case.delivered()),
        ("balance", "") => Some(case.balance()),
        ("short", "circuit") => Some(case.short_circuit()),
        ("house", "pressure") => case.house_pressure(),
        _ => None,
    }
}

const AIRS: [&str; 4] = ["outdoor", "supply", "extract", "exhaust"];

impl Case<'_> {
    fn flows(&self) -> &CaseFlows {
        &self.report.flows
    }

    fn flow(&self, mass_flow: f64) -> String {
        true_minus(both(volume(mass_flow), self.system))
    }

    fn short(&self, mass_flow: f64) -> String {
        true_minus(volume(mass_flow).show(self.system))
    }

    fn pressure(&self, pascals: f64) -> String {
        true_minus(both(Pressure::from_si(pascals), self.system))
    }

    fn band(&self, band: Band) -> Option<String> {
        band.known().then(|| {
            format!(
                "Nine houses of ten that the survey leaves possible lie between {} and {}.",
                self.short(band.low),
                self.short(band.high)
            )
        })
    }

    fn words(&self) -> String {
        let case = self.flows().case;
        format!(
            "blower {}, ventilator {}",
            case.blower.name(),
            case.setting.name()
        )
    }

    fn unit_way(&self) -> String {
        format!("unit/{}", self.plan.unit + 1)
    }

    fn spot_way(&self) -> String {
        format!("spot/{}/runs", self.plan.spot + 1)
    }

    fn end_way(end: End) -> String {
        match end {
            End::Tap(place) => format!("tap/{}", place + 1),
            End::Grille(place) => format!("grille/{}", place + 1),
            End::Terminal(place) => format!("terminal/{}", place + 1),
        }
    }

    fn ends(&self, supply: bool) -> Vec<End> {
        if supply {
            let mut ends = vec![End::Terminal(self.plan.intake)];
            ends.extend(&self.plan.supply);
            ends
        } else {
            let mut ends = self.plan.extract.clone();
            ends.push(End::Terminal(self.plan.exhaust));
            ends
        }
    }

    /// The ducts of one stream, the damper in it, and the pressures where they end.
    fn duct_inputs(&self, supply: bool) -> Vec<Input> {
        let mut inputs = Vec::new();
        for end in self.ends(supply) {
            let name = end_name(self.job, end);
            let runs = &self.job.spots[self.plan.spot].runs;
            if let Some(run) = runs.iter().find(|run| run.to == end) {
                inputs.push(input(
                    format!("duct to {name}"),
                    format!(
                        "{} long, {} {}, {} wide",
                        Length::from_si(run.length).show(self.system),
                        run.elbows,
                        if run.elbows == 1 { "elbow" } else { "elbows" },
                        Length::from_si(self.plan.diameter).show(self.system)
                    ),
                    SURVEYED,
                    self.spot_way(),
                ));
            }
            if let End::Tap(place) = end {
                let tap = &self.job.taps[place];
                let (value, how) = match &tap.pressure {
                    Some((mode, pressure)) => (
                        format!(
                            "{} with the blower in {}",
                            self.pressure(pressure.value),
                            mode.name()
                        ),
                        known(pressure),
                    ),
                    None => (
                        "follows from the plenum pressures".to_owned(),
                        "not measured; reading it narrows the band",
                    ),
                };
                inputs.push(input(
                    format!("static pressure at {name}"),
                    value,
                    how,
                    Self::end_way(end),
                ));
            }
        }
        let angle = if supply {
            self.plan.supply_damper
        } else {
            self.plan.extract_damper
        };
        inputs.push(input(
            if supply {
                "supply damper"
            } else {
                "extract damper"
            },
            Angle::from_si(angle.to_radians()).show(self.system),
            "as it is shown",
            "plan",
        ));
        inputs
    }

    fn stream(&self, air: usize) -> Explanation {
        let flows = self.flows();
        let supply = air < 2;
        let (flow, band) = if supply {
            (flows.supply, self.report.supply)
        } else {
            (flows.extract, self.report.extract)
        };
        let external = flows.external_static_pressure[usize::from(!supply)];
        let ports = if supply { [1, 0] } else { [3, 2] };
        let stands = flows.case.setting == Setting::Off;
        let (fan, other) = if supply {
            ("supply", "outdoor air and supply air are the same air")
        } else {
            ("extract", "extract air and exhaust air are the same air")
        };
        let mut words = vec![format!(
            "How much {} air moves with {}; {other}, before and after the unit.",
            AIRS[air],
            self.words()
        )];
        if flow < 0.0 {
            words.push("It runs backward.".into());
        }
        let formula = if stands {
            vec![format!(
                "The fans stand still. Air passes the unit only as far as {} between its ports pushes it.",
                self.pressure(external.abs())
            )]
        } else {
            vec![
                format!(
                    "The flow at which the {fan} fan gives just the pressure that its ducts take."
                ),
                format!(
                    "The ducts take {} less {}, which is {}; at that pressure the fan's curve at {} gives {}.",
                    self.pressure(flows.ports[ports[0]]),
                    self.pressure(flows.ports[ports[1]]),
                    self.pressure(external),
                    flows.case.setting.name(),
                    self.short(flow)
                ),
                "Duct friction goes nearly with the square of the flow, so all flows and pressures of the house \
                 are solved together until every node keeps its mass."
                    .into(),
            ]
        };
        let mut inputs = vec![input(
            format!("{fan} fan of {}", self.job.units[self.plan.unit].name),
            format!(
                "certified up to {}",
                self.pressure(flows.certified_pressure)
            ),
            CERTIFIED,
            self.unit_way(),
        )];
        inputs.extend(self.duct_inputs(supply));
        Explanation {
            title: format!("{} air", capital(AIRS[air])),
            value: self.flow(flow),
            band: self.band(band),
            words,
            formula,
            inputs,
            rule: None,
            change: vec![
                change(
                    "Turn the damper, or choose another diameter or setting.",
                    "plan",
                ),
                change("Measure the duct runs again.", self.spot_way()),
            ],
        }
    }

    fn port(&self, air: usize) -> Explanation {
        let flows = self.flows();
        let supply = air < 2;
        let toward = if air == 0 || air == 2 {
            "Air is drawn in here, so the port lies below the room around it"
        } else {
            "Air is pushed out here, so the port lies above the room around it"
        };
        Explanation {
            title: format!("Static pressure at the {} port", AIRS[air]),
            value: self.pressure(flows.ports[air]),
            band: None,
            words: vec![
                format!(
                    "What a manometer reads in the {} duct beside the unit against the room where the air handler \
                     stands, or else the first room of the house.",
                    AIRS[air]
                ),
                format!(
                    "{toward}, as long as the fan is stronger than what else pulls at the duct."
                ),
            ],
            formula: vec![format!(
                "The pressure at the far end of the duct, with the friction of its run at {} in between.",
                self.short(if supply { flows.supply } else { flows.extract })
            )],
            inputs: self.duct_inputs(supply),
            rule: None,
            change: vec![change("Measure the duct runs again.", self.spot_way())],
        }
    }

    fn damper(&self, supply: bool) -> Explanation {
        let flows = self.flows();
        let angle = if supply {
            self.plan.supply_damper
        } else {
            self.plan.extract_damper
        };
        let air = if supply { 1 } else { 2 };
        let velocity = flows.velocities[air];
        let loss = ButterflyDamper::new(ducts::damper::TYPICAL_SHUT_LOSS)
            .and_then(|damper| damper.loss(angle.to_radians()))
            .unwrap_or(f64::NAN);
        let dynamic = 0.5 * air::STANDARD_DENSITY * velocity * velocity;
        let mut formula = vec![
            "A damper takes its loss coefficient times the velocity pressure of the air in its duct.".to_owned(),
        ];
        if (loss * dynamic).is_finite() {
            formula.push(format!(
                "{loss:.2} × {} = {}.",
                self.pressure(dynamic),
                self.pressure(loss * dynamic)
            ));
        }
        Explanation {
            title: format!("{} damper", if supply { "Supply" } else { "Extract" }),
            value: Angle::from_si(angle.to_radians()).show(self.system),
            band: None,
            words: vec![
                "0° is open: the blade lies along the duct. 90° is shut.".into(),
                format!(
                    "Closing it takes air from the {} stream and leaves the other nearly as it is.",
                    AIRS[air]
                ),
            ],
            formula,
            inputs: vec![input(
                "air speed in the duct",
                both(units::Velocity::from_si(velocity), self.system),
                COMPUTED,
                "",
            )],
            rule: None,
            change: vec![change(
                "Turn its lever in the drawing, or type its angle; without an angle the program sets it.",
                "plan",
            )],
        }
    }

    fn end(&self, stream: &str, place: usize) -> Option<Explanation> {
        let supply = stream == "supply";
        let list = if supply {
            &self.plan.supply
        } else {
            &self.plan.extract
        };
        let end = *list.get(place)?;
        let ends = self.report.branches.ends.iter();
        let (_, flow) = ends.clone().find(|(known, _)| *known == end)?;
        let all = if supply {
            self.flows().supply
        } else {
            self.flows().extract
        };
        let name = end_name(self.job, end);
        Some(Explanation {
            title: format!("Air at {name}"),
            value: self.flow(*flow),
            band: None,
            words: vec![format!(
                "What {name} takes of the {stream} air; the other ends of the same duct share the rest."
            )],
            formula: vec![
                "The ends share the air so that every way takes the same pressure: the longer and narrower one gets less."
                    .into(),
                format!("{} of {}.", self.short(*flow), self.short(all)),
            ],
            inputs: self.duct_inputs(supply),
            rule: None,
            change: vec![
                change("Change what is known of it.", Self::end_way(end)),
                change("Measure the duct runs again.", self.spot_way()),
            ],
        })
    }

    fn climate(&self) -> Input {
        let season = self.flows().case.season;
        let weather = self.job.climate.weathers.iter();
        let known = weather.clone().find(|weather| weather.season == season);
        input(
            "outdoor temperature",
            known.map_or_else(String::new, |weather| {
                both(Temperature::from_si(weather.outdoor), self.system)
            }),
            "of the chosen weather",
            "climate",
        )
    }

    fn leakage(&self) -> Input {
        let building = &self.job.building;
        let leakage = &building.leakage_at_50_pascals;
        input(
            "leakage of the house at 50 Pa",
            both(VolumeFlow::from_si(leakage.value), self.system),
            known(leakage),
            "house",
        )
    }

    fn zone(&self, zone: usize) -> Option<Explanation> {
        let zones = self.flows().zone_pressures.iter();
        let (_, pressure) = zones.clone().find(|(known, _)| *known == zone)?;
        let name = &self.job.zones[zone].name;
        let leak = self.report.branches.leaks.iter();
        let leak = leak.clone().find(|leak| leak.zone == zone);
        let mut formula = vec![
            "The pressure at which as much air comes into the zone as leaves it, through leaks, doors, ducts and exhausts."
                .to_owned(),
        ];
        if let Some(leak) = leak {
            formula.push(format!(
                "Through leaks {} come in and {} go out.",
                self.short(leak.inward),
                self.short(leak.outward)
            ));
        }
        Some(Explanation {
            title: format!("Pressure of {name}"),
            value: self.pressure(*pressure),
            band: None,
            words: vec![format!(
                "What a manometer reads in {name} against outdoors at ground level on a day without wind. Below zero, \
                 outdoor air is drawn in; an appliance with a natural draft may be drawn down."
            )],
            formula,
            inputs: vec![self.leakage(), self.climate()],
            rule: None,
            change: vec![
                change("Run a blower-door test.", "house"),
                change(
                    "Change what is known of the zone.",
                    format!("zone/{}", zone + 1),
                ),
            ],
        })
    }

    fn leak(&self, zone: usize) -> Option<Explanation> {
        let leaks = self.report.branches.leaks.iter();
        let leak = leaks.clone().find(|leak| leak.zone == zone)?;
        let name = &self.job.zones[zone].name;
        let net = leak.inward - leak.outward;
        Some(Explanation {
            title: format!("Leaks of {name}"),
            value: self.flow(net.abs()),
            band: None,
            words: vec![format!(
                "More air {} through the leaks of {name} than the other way.",
                if net > 0.0 { "comes in" } else { "goes out" }
            )],
            formula: vec![
                "Each leak lets pass its coefficient times the pressure across it to the power of the exponent; the pressure \
                 differs with height, as warm air is lighter."
                    .into(),
                format!("{} in, {} out.", self.short(leak.inward), self.short(leak.outward)),
            ],
            inputs: vec![
                self.leakage(),
                input(
                    "exponent of the leakage",
                    format!("{:.2}", self.job.building.leakage_exponent.value),
                    known(&self.job.building.leakage_exponent),
                    "house",
                ),
                self.climate(),
            ],
            rule: None,
            change: vec![change("Run a blower-door test.", "house")],
        })
    }

    fn exhaust(&self, place: usize) -> Option<Explanation> {
        let fan = self.report.branches.exhausts.get(place)?;
        let own = self
            .job
            .exhausts
            .iter()
            .position(|one| one.name == fan.name);
        let way = own.map_or("existing".to_owned(), |own| format!("exhaust/{}", own + 1));
        Some(Explanation {
            title: capital(&fan.name),
            value: self.flow(fan.flow),
            band: None,
            words: vec!["It runs all the time, so it runs in this case too.".into()],
            formula: vec!["The flow that the survey gives; its own ducts are not computed.".into()],
            inputs: vec![input(&fan.name, self.flow(fan.flow), SURVEYED, way.clone())],
            rule: None,
            change: vec![change("Change its flow.", way)],
        })
    }

    fn mode_inputs(&self) -> Vec<Input> {
        let mode = self.flows().case.blower;
        let Some(handler) = &self.job.air_handler else {
            return Vec::new();
        };
        let Some(place) = handler.modes.iter().position(|one| one.mode == mode) else {
            return vec![input(
                "blower",
                "stands still".into(),
                "of the chosen case",
                "air_handler",
            )];
        };
        let known_mode = &handler.modes[place];
        let way = "air_handler";
        let mut inputs = vec![input(
            format!("blower flow in {} as found", mode.name()),
            both(VolumeFlow::from_si(known_mode.flow.value), self.system),
            known(&known_mode.flow),
            way,
        )];
        for (name, pressure) in [
            ("return plenum as found", &known_mode.return_pressure),
            ("supply plenum as found", &known_mode.supply_pressure),
        ] {
            if let Some(pressure) = pressure {
                inputs.push(input(
                    name,
                    self.pressure(pressure.value),
                    known(pressure),
                    way,
                ));
            }
        }
        inputs
    }

    fn plenum(&self, side: usize) -> Option<Explanation> {
        let pressure = self.flows().plenums?[side];
        let name = ["return", "supply"][side];
        Some(Explanation {
            title: format!("Pressure of the {name} plenum"),
            value: self.pressure(pressure),
            band: None,
            words: vec![format!(
                "What a manometer reads in the {name} plenum against the room where the air handler stands, with {}.",
                self.words()
            )],
            formula: vec![
                "The readings of the survey give the resistance of the ducts that are there; the ventilator adds or takes \
                 air at its taps, and the plenum follows."
                    .into(),
            ],
            inputs: self.mode_inputs(),
            rule: None,
            change: vec![change("Read the plenum pressures again.", "air_handler")],
        })
    }

    fn blower(&self) -> Option<Explanation> {
        self.job.air_handler.as_ref()?;
        Some(Explanation {
            title: "Air through the blower".into(),
            value: self.flow(self.flows().blower_flow),
            band: None,
            words: vec![format!(
                "How much air the blower of the air handler moves with {}.",
                self.words()
            )],
            formula: vec![if self.flows().case.blower == Mode::Off {
                "The blower stands still; what passes its wheel is pushed by the ventilator alone."
                    .into()
            } else {
                "The measured flow, less what the pressures that the ventilator adds cost this kind of motor.".into()
            }],
            inputs: self.mode_inputs(),
            rule: None,
            change: vec![change(
                "Measure the blower flow with a flow plate or a traverse.",
                "air_handler",
            )],
        })
    }

    fn unit(&self) -> Explanation {
        let flows = self.flows();
        let unit = &self.job.units[self.plan.unit];
        let [supply, extract] = flows.external_static_pressure;
        let power = merit::unit_power(
            self.job,
            self.plan,
            flows.case.setting,
            0.5 * (supply + extract),
        );
        Explanation {
            title: unit.name.clone(),
            value: flows.case.setting.name().to_owned(),
            band: None,
            words: vec!["The unit with its two fans, in the setting of this case.".into()],
            formula: vec![
                format!(
                    "External static pressure of the supply stream: {} − {} = {}.",
                    self.pressure(flows.ports[1]),
                    self.pressure(flows.ports[0]),
                    self.pressure(supply)
                ),
                format!(
                    "Of the extract stream: {} − {} = {}.",
                    self.pressure(flows.ports[3]),
                    self.pressure(flows.ports[2]),
                    self.pressure(extract)
                ),
            ],
            inputs: vec![
                input(
                    "certified up to",
                    self.pressure(flows.certified_pressure),
                    CERTIFIED,
                    self.unit_way(),
                ),
                input(
                    "electric power",
                    format!("{power:.0} W"),
                    CERTIFIED,
                    self.unit_way(),
                ),
            ],
            rule: None,
            change: vec![change("Choose another unit or setting.", "plan")],
        }
    }

    fn delivered(&self) -> Explanation {
        let flows = self.flows();
        let unit = &self.job.units[self.plan.unit];
        Explanation {
            title: "Outdoor air that reaches the rooms".into(),
            value: self.flow(flows.delivered),
            band: self.band(self.report.delivered),
            words: vec![
                "The part of the supply air that people breathe: what leaks across inside the unit is stale air, and what is \
                 drawn straight back out never passes a room."
                    .into(),
            ],
            formula: vec![format!(
                "{} of supply air × (1 − {} leaking across) × (1 − {} drawn straight back) = {}.",
                self.short(flows.supply.max(0.0)),
                percent(unit.cross_leakage, 1),
                percent(flows.short_circuit, 1),
                self.short(flows.delivered)
            )],
            inputs: vec![
                input("supply air", self.flow(flows.supply), COMPUTED, ""),
                input(
                    "leaks across inside the unit",
                    percent(unit.cross_leakage, 1),
                    CERTIFIED,
                    self.unit_way(),
                ),
                input("short circuit", percent(flows.short_circuit, 1), COMPUTED, ""),
            ],
            rule: Some(needed(&rate::required(self.job), self.system)),
            change: vec![change("Choose another setting, layout or interlock.", "plan")],
        }
    }

    fn balance(&self) -> Explanation {
        let flows = self.flows();
        let larger = flows.supply.abs().max(flows.extract.abs());
        let band = self.report.balance;
        Explanation {
            title: "Balance".into(),
            value: percent(flows.balance(), 1),
            band: band.known().then(|| {
                format!(
                    "Nine houses of ten that the survey leaves possible lie between {} and {}.",
                    percent(band.low, 0),
                    percent(band.high, 0)
                )
            }),
            words: vec![
                "How much more supply air than exhaust air there is, by mass. Above zero the house is pushed up, below zero \
                 drawn down."
                    .into(),
            ],
            formula: vec![format!(
                "({} of supply air − {} of exhaust air) ÷ the larger, {} = {}.",
                self.short(flows.supply),
                self.short(flows.extract),
                self.short(larger),
                percent(flows.balance(), 1)
            )],
            inputs: vec![
                input("supply air", self.flow(flows.supply), COMPUTED, ""),
                input("exhaust air", self.flow(flows.extract), COMPUTED, ""),
                input(
                    "dampers",
                    format!(
                        "{:.0}° and {:.0}°",
                        self.plan.supply_damper, self.plan.extract_damper
                    ),
                    "as they are shown",
                    "plan",
                ),
            ],
            rule: balance_rule(self.job, self.system),
            change: vec![
                change("Turn a damper of the stronger stream toward shut.", "plan"),
                change("Another limit with its reason.", "rules"),
            ],
        }
    }

    fn short_circuit(&self) -> Explanation {
        let flows = self.flows();
        let taps = self.plan.extract.iter().chain(&self.plan.supply);
        let inputs = taps
            .filter_map(|end| match end {
                End::Tap(place) => Some(*place),
                _ => None,
            })
            .map(|place| {
                let tap = &self.job.taps[place];
                input(
                    format!("{} to the blower", tap.name),
                    both(Length::from_si(tap.from_fan), self.system),
                    SURVEYED,
                    format!("tap/{}", place + 1),
                )
            })
            .chain([input(
                "blower",
                flows.case.blower.name().to_owned(),
                "of the chosen case",
                "",
            )])
            .collect();
        Explanation {
            title: "Short circuit".into(),
            value: percent(flows.short_circuit, 1),
            band: None,
            words: vec![
                "The part of the supply air that reaches the extract tap before it has passed a room. The fan power and the \
                 recovered heat of this air are lost."
                    .into(),
            ],
            formula: vec![
                "The air is followed from the supply port through trunks and plenums: at every junction it mixes and goes on \
                 in the shares of the flows that leave there. What arrives at the extract port without having entered a \
                 room is counted."
                    .into(),
                "With the blower running the trunk carries the supply air away from the extract tap; with the blower off \
                 nothing does."
                    .into(),
            ],
            inputs,
            rule: None,
            change: vec![
                change("Let the ventilator call the blower, or move the extract.", "plan"),
            ],
        }
    }

    fn house_pressure(&self) -> Option<Explanation> {
        let pressure = self.flows().house_pressure();
        let zones = self.flows().zone_pressures.iter();
        let (zone, _) = zones.clone().find(|(_, known)| *known == pressure)?;
        let mut explanation = self.zone(*zone)?;
        explanation.title = "House against outdoors".into();
        explanation.words.insert(
            0,
            format!(
                "The lowest pressure of a lived-in zone, that of {}.",
                self.job.zones[*zone].name
            ),
        );
        let exhausts: f64 = self
            .report
            .branches
            .exhausts
            .iter()
            .map(|one| one.flow)
            .sum();
        explanation.inputs.push(input(
            "supply air less exhaust air",
            self.flow(self.flows().supply - self.flows().extract),
            COMPUTED,
            "",
        ));
        explanation.inputs.push(input(
            "exhausts that always run",
            self.flow(exhausts),
            SURVEYED,
            "exhaust",
        ));
        Some(explanation)
    }
}

fn needed(required: &RequiredRate, system: System) -> [String; 2] {
    [
        format!(
            "{} are needed while the ventilator runs.",
            both(VolumeFlow::from_si(required.rate), system)
        ),
        required.authority.clone(),
    ]
}

/// The strictest rule on the balance, and whose it is.
fn balance_rule(job: &Job, system: System) -> Option<[String; 2]> {
    let rulings = ["balance", "balance, Washington"].into_iter();
    let rulings = rulings.filter_map(|id| job.rules.limit(id));
    let ruling = rulings
        .filter(|ruling| ruling.holds(0.0).is_some())
        .min_by(|one, other| one.limit.value.total_cmp(&other.limit.value))?;
    let whose = match ruling.overridden {
        Some(_) => ruling.source(),
        None => source(ruling.row),
    };
    Some([
        format!(
            "{} The limit here is {}.",
            ruling.row.demand,
            ruling.limit.show(system)
        ),
        whose,
    ])
}

/// The figures of a ranked plan that can be explained, by their keys.
pub const MERITS: [&str; 7] = [
    "delivered",
    "balance",
    "short-circuit",
    "fan-pressure",
    "electricity",
    "parts",
    "points",
];

/// Explains a figure of a ranked plan by its key.
pub fn of_merit(
    job: &Job,
    evaluated: &Evaluated,
    key: &str,
    system: System,
) -> Option<Explanation> {
    let (plan, merits) = (&evaluated.plan, &evaluated.merits);
    let flow = |mass_flow: f64| both(volume(mass_flow), system);
    let modes: Vec<&str> = crate::case::running_modes(job, plan.interlock)
        .into_iter()
        .map(Mode::name)
        .collect();
    let cases = format!(
        "Looked at are all cases in which the ventilator runs at {}: blower {}, in winter, on a mild day and in summer.",
        plan.setting.name(),
        modes.join(", ")
    );
    let unit = format!("unit/{}", plan.unit + 1);
    let blank = |title: &str, value: String, words: &str| Explanation {
        title: title.to_owned(),
        value,
        band: None,
        words: vec![words.to_owned(), cases.clone()],
        formula: Vec::new(),
        inputs: Vec::new(),
        rule: None,
        change: Vec::new(),
    };
    let points = |name: &str| {
        let place = CRITERIA.iter().position(|criterion| criterion.name == name);
        let lost = place.map_or(0.0, |place| evaluated.lost[place]);
        let weight = place.map_or(0.0, |place| CRITERIA[place].weight);
        format!("It costs {lost:.1} of {weight:.0} points.")
    };
    Some(match key {
        "delivered" => Explanation {
            formula: vec![
                "The least of all cases of: supply air × (1 − leaking across in the unit) × (1 − short circuit).".into(),
                format!(
                    "{}, which is {} {} than needed.",
                    flow(merits.delivered),
                    percent(merits.excess.abs(), 0),
                    if merits.excess < 0.0 { "less" } else { "more" }
                ),
            ],
            inputs: vec![input(
                "leaks across inside the unit",
                percent(job.units[plan.unit].cross_leakage, 1),
                CERTIFIED,
                unit,
            )],
            rule: Some(needed(&rate::required(job), system)),
            change: vec![change("Change what the house needs.", "house")],
            ..blank(
                "Outdoor air that reaches the rooms",
                flow(merits.delivered),
                "The least that the plan brings into the rooms, whatever the blower does.",
            )
        },
        "balance" => Explanation {
            formula: vec![
                "The largest of all cases of: (supply − exhaust) ÷ the larger of the two, by mass, with the damper of the \
                 stronger stream set so that the extremes lie evenly around zero on a mild day."
                    .into(),
                points("balance"),
            ],
            rule: balance_rule(job, system),
            change: vec![change("Another limit with its reason.", "rules")],
            ..blank(
                "Worst balance",
                percent(merits.balance, 1),
                "How far supply and exhaust air can lie apart.",
            )
        },
        "short-circuit" => Explanation {
            formula: vec![
                "The largest part of the supply air, over all cases, that reaches the extract before it has passed a room."
                    .into(),
                points("short circuit"),
            ],
            inputs: vec![input(
                "interlock",
                plan.interlock.name().to_owned(),
                "of this plan",
                "plan",
            )],
            ..blank(
                "Short circuit",
                percent(merits.short_circuit, 1),
                "Air that is drawn straight back out does nothing for the rooms.",
            )
        },
        "fan-pressure" => Explanation {
            formula: vec![
                "The largest external static pressure of a stream ÷ the largest of the certified curve at this setting.".into(),
                points("pressure left for the fan"),
            ],
            inputs: vec![input(
                "certified curve",
                job.units[plan.unit].name.clone(),
                CERTIFIED,
                unit,
            )],
            ..blank(
                "Fan pressure used",
                percent(merits.fan_pressure_used, 0),
                "How much of what the fans can push is used up by the ducts; the rest is left for dirty filters and a \
                 damper that has to close.",
            )
        },
        "electricity" => Explanation {
            formula: vec![
                format!(
                    "Hours in which it runs ({} of 8,760) × the power of its fans at the pressures found: {:.0} kWh a year.",
                    percent(merit::running_share(job, plan.interlock), 0),
                    merits.electricity - merits.blower_electricity
                ),
                format!(
                    "Hours of the blower that only the ventilator asks for: {:.0} kWh a year.",
                    merits.blower_electricity
                ),
                points("electricity"),
            ],
            inputs: vec![input(
                "running share asked for",
                Fraction::from_si(job.controls.run_share).show(system),
                SURVEYED,
                "controls",
            )],
            change: vec![change("Ask for another running time.", "controls")],
            ..blank(
                "Electricity a year",
                format!("{:.0} kWh", merits.electricity),
                "What the fans of the ventilator take, and the blower where it runs for the ventilator.",
            )
        },
        "parts" => Explanation {
            words: vec!["The unit and the parts at the prices of the job; labour is not in it.".into()],
            formula: merit::parts(job, plan)
                .iter()
                .map(|line| {
                    let quantity = if line.is_length {
                        Length::from_si(line.quantity).show(system)
                    } else {
                        format!("{:.0}", line.quantity)
                    };
                    format!("{quantity} {}: {}{:.0}", line.item, job.costs.currency, line.price)
                })
                .collect(),
            change: vec![change("Change the prices.", "costs")],
            ..blank(
                "Unit and parts",
                format!("{}{:.0}", job.costs.currency, merits.parts_cost),
                "",
            )
        },
        "points" => Explanation {
            words: vec![
                "A hundred points, less what is lost at each criterion. Limits and weights are our own choice, made so that \
                 air that flows as promised outweighs everything else."
                    .into(),
            ],
            formula: lost_lines(&evaluated.lost),
            ..blank("Points", format!("{:.1} of 100", evaluated.score()), "")
        },
        _ => return None,
    })
}

fn lost_lines(lost: &[f64; merit::COUNT]) -> Vec<String> {
    CRITERIA
        .iter()
        .zip(lost)
        .map(|(criterion, lost)| {
            format!(
                "{}: {lost:.1} of {:.0} points lost.",
                capital(criterion.name),
                criterion.weight
            )
        })
        .collect()
}

/// Explains the rate that the house needs.
pub fn of_rate(job: &Job, decided: Option<&Rate>, system: System) -> Explanation {
    let required = rate::required(job);
    let building = &job.building;
    let leakage = &building.leakage_at_50_pascals;
    let formula = match decided {
        Some(rate) if required.rule == Some(rate.rule.id) => rate
            .steps
            .iter()
            .map(|step| {
                format!(
                    "{}: {}.",
                    capital(&step.what),
                    step.formula.trim_end_matches('.')
                )
            })
            .collect(),
        _ => vec![capital(&required.because)],
    };
    Explanation {
        title: "Outdoor air that the house needs".into(),
        value: both(VolumeFlow::from_si(required.rate), system),
        band: None,
        words: vec![
            "The outdoor air that the ventilator has to bring into the rooms while it runs.".into(),
        ],
        formula,
        inputs: vec![
            input(
                "floor area",
                both(units::Area::from_si(building.floor_area), system),
                SURVEYED,
                "house",
            ),
            input("bedrooms", building.bedrooms.to_string(), SURVEYED, "house"),
            input("people", building.occupants.to_string(), SURVEYED, "house"),
            input(
                "leakage at 50 Pa",
                both(VolumeFlow::from_si(leakage.value), system),
                known(leakage),
                "house",
            ),
        ],
        rule: Some([capital(&required.because), required.authority.clone()]),
        change: vec![
            change("Choose other rules.", "rules"),
            change("Choose how the rate is met.", "rates"),
            change("Ask for a rate of your own.", "house"),
        ],
    }
}
