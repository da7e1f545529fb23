//! The house of a job in section, with what flows in one operating case.

use drawing::section::{
    Duct, End, EndKind, Figure, Handler, Place, Section, Sign, SignKind, Stream, Trunk, Unit, Zone,
};
use house::model::{self, Entry, Job, Material, Mode, Setting, Side, ZoneKind};
use plan::Plan;
use plan::candidate::end_name;
use plan::flows::{Band, CaseReport};
use units::text::signed;
use units::{Length, Pressure, Quantity, System, VolumeFlow};

use crate::elevation::compass;

/// A flow below which air stands still for the eye (kg/s), half a cubic foot a minute.
const STILL: f64 = 0.000_28;
/// Part of the supply air drawn straight back from which it is said.
const SHORT_CIRCUIT: f64 = 0.10;
/// Density at which flows are shown as volume (kg/m³).
const STANDARD_DENSITY: f64 = 1.204;

/// The section of a house with a plan in one operating case, which `case` tells in words.
pub fn section(job: &Job, plan: &Plan, report: &CaseReport, case: &str, system: System) -> Section {
    let pencil = Pencil {
        job,
        plan,
        report,
        system,
    };
    let terminals = [plan.intake, plan.exhaust].map(|index| &job.terminals[index]);
    let turn = (terminals[0].facing - terminals[1].facing).rem_euclid(360.0);
    Section {
        id: "house-section".to_owned(),
        job: job.name.clone(),
        case: case.to_owned(),
        zones: pencil.zones(),
        handler: pencil.handler(),
        unit: pencil.unit(),
        ducts: Stream::ALL.map(|stream| pencil.duct(stream)),
        one_hood: plan.two_in_one(),
        two_walls: turn.min(360.0 - turn) > 44.0,
        short_circuit: pencil.short_circuit(),
        signs: pencil.signs(),
        notes: pencil.notes(),
    }
}

struct Pencil<'a> {
    job: &'a Job,
    plan: &'a Plan,
    report: &'a CaseReport,
    system: System,
}

impl Pencil<'_> {
    fn zones(&self) -> Vec<Zone> {
        let pressures = &self.report.flows.zone_pressures;
        let handler = self.job.air_handler.is_some();
        self.job
            .zones
            .iter()
            .enumerate()
            .map(|(index, zone)| Zone {
                name: zone.name.clone(),
                place: match zone.kind {
                    ZoneKind::Living => Place::Storey,
                    ZoneKind::Basement | ZoneKind::Crawlspace => Place::Below,
                    ZoneKind::Attic => Place::Attic,
                    ZoneKind::Garage => Place::Garage,
                },
                level: zone.level,
                height: zone.height,
                area: zone.floor_area,
                pressure: pressures.iter().find(|(known, _)| *known == index).map(
                    |&(_, pressure)| Figure {
                        first: format!("{} Pa", signed(pressure, 1)),
                        spread: String::new(),
                        second: String::new(),
                    },
                ),
                served: [
                    handler && zone.supply_share > 0.0,
                    handler && zone.return_share > 0.0,
                ],
            })
            .collect()
    }

    fn handler(&self) -> Option<Handler> {
        let handler = self.job.air_handler.as_ref()?;
        let flows = &self.report.flows;
        let [back, out] = flows.plenums?;
        let mode = flows.case.blower;
        Some(Handler {
            zone: handler.zone,
            words: match mode {
                Mode::Off => "blower off".to_owned(),
                mode => format!("blower in {}", mode.name()),
            },
            flow: (flows.blower_flow.abs() >= 4.0 * STILL)
                .then(|| self.flow(flows.blower_flow, None)),
            runs: mode != Mode::Off,
            plenums: [self.pressure(back), self.pressure(out)],
            trunks: [
                self.trunk(&handler.return_path, Side::Return),
                self.trunk(&handler.supply_path, Side::Supply),
            ],
        })
    }

    /// Velocities beside the blower, between taps and beyond them.
    fn trunk(&self, path: &model::Path, side: Side) -> Trunk {
        let flows = &self.report.flows;
        let section = path
            .segments
            .first()
            .map_or(path.section, |first| first.section);
        // Distance from the blower and what the tap adds to the flow toward the blower, or away from
        // it, on its far side.
        let mut taps: Vec<(f64, f64)> = Vec::new();
        for (ends, flow) in [
            (&self.plan.supply, flows.supply),
            (&self.plan.extract, -flows.extract),
        ] {
            for end in ends {
                if let model::End::Tap(index) = end {
                    let tap = &self.job.taps[*index];
                    if tap.side == side {
                        let added = if side == Side::Return { -flow } else { flow };
                        taps.push((tap.from_fan, added));
                    }
                }
            }
        }
        taps.sort_by(|one, other| one.0.total_cmp(&other.0));
        let near = flows.blower_flow;
        let between = near + taps.first().map_or(0.0, |tap| tap.1);
        let far = near + taps.iter().map(|tap| tap.1).sum::<f64>();
        // What leaks from the ducts is too little for an arrow.
        let speed = |flow: f64| {
            if flow.abs() < 4.0 * STILL {
                0.0
            } else {
                flow / STANDARD_DENSITY / section.area().max(1e-4)
            }
        };
        Trunk {
            size: match section {
                model::Section::Round(diameter) => diameter,
                model::Section::Rectangular(one, other) => one.min(other),
            },
            velocities: [near, between, far].map(speed),
        }
    }

    fn unit(&self) -> Unit {
        let unit = &self.job.units[self.plan.unit];
        let spot = &self.job.spots[self.plan.spot];
        let setting = self.report.flows.case.setting;
        Unit {
            zone: spot.zone,
            name: unit.name.clone(),
            words: match setting {
                Setting::Off => "standing still".to_owned(),
                setting => format!("at {}", setting.name()),
            },
            spot: if self.job.zones[spot.zone].name == spot.name {
                String::new()
            } else {
                spot.name.clone()
            },
            fans_after_core: unit.fans_after_core,
        }
    }

    fn duct(&self, stream: Stream) -> Duct {
        let flows = &self.report.flows;
        let (flow, band) = match stream {
            Stream::Outdoor | Stream::Supply => (flows.supply, self.report.supply),
            Stream::Extract | Stream::Exhaust => (flows.extract, self.report.extract),
        };
        let place = stream as usize;
        let still = flow.abs() < STILL;
        let speed = flows.velocities[place].abs();
        let ends: Vec<End> = match stream {
            Stream::Outdoor => vec![self.terminal(self.plan.intake)],
            Stream::Exhaust => vec![self.terminal(self.plan.exhaust)],
            Stream::Supply => self.plan.supply.iter().map(|&end| self.end(end)).collect(),
            Stream::Extract => self.plan.extract.iter().map(|&end| self.end(end)).collect(),
        };
        Duct {
            flow: if still {
                Figure {
                    first: "no flow".to_owned(),
                    spread: String::new(),
                    second: String::new(),
                }
            } else {
                self.flow(flow, Some(band))
            },
            velocity: if still { 0.0 } else { speed.copysign(flow) },
            size: self.plan.diameter,
            flexible: self.job.ducts.material == Material::Flexible,
            damper: match stream {
                Stream::Supply => Some(self.plan.supply_damper),
                Stream::Extract => Some(self.plan.extract_damper),
                _ => None,
            },
            port: self.pressure(flows.ports[place]),
            ends,
            wrong: if still {
                String::new()
            } else {
                self.wrong(stream, flow).to_owned()
            },
        }
    }

    /// What is to be said of air that runs where it should not.
    fn wrong(&self, stream: Stream, flow: f64) -> &'static str {
        let stands = self.report.flows.case.setting == Setting::Off;
        match (stream, flow < 0.0) {
            (Stream::Outdoor, true) => "Runs backward: house air leaves through the intake.",
            (Stream::Exhaust, true) => "Runs backward: outdoor air enters through the exhaust.",
            (Stream::Supply | Stream::Extract, true) => "Runs backward.",
            (Stream::Outdoor, false) if stands => {
                "Outdoor air is drawn in through the standing unit."
            }
            (Stream::Exhaust, false) if stands => "House air leaves through the standing unit.",
            _ => "",
        }
    }

    fn terminal(&self, index: usize) -> End {
        let terminal = &self.job.terminals[index];
        // A number keeps its unit at the end of a line.
        let height = format!("{} up", Length::from_si(terminal.height).show(self.system));
        let height = height.replace(' ', "\u{a0}");
        End {
            name: terminal.name.clone(),
            detail: format!("faces {}, {height}", compass(terminal.facing)),
            flow: None,
            kind: EndKind::Terminal {
                height: terminal.height,
            },
        }
    }

    fn end(&self, end: model::End) -> End {
        let name = end_name(self.job, end).to_owned();
        match end {
            model::End::Tap(index) => {
                let tap = &self.job.taps[index];
                let distance = Length::from_si(tap.from_fan).show(self.system);
                End {
                    name,
                    detail: format!("{distance} from blower"),
                    flow: self.share(end),
                    kind: EndKind::Tap {
                        on_supply: tap.side == Side::Supply,
                        from_fan: tap.from_fan,
                        facing_downstream: self.plan.entry == Entry::FacingDownstream,
                    },
                }
            }
            model::End::Grille(index) => {
                let zone = self.job.grilles[index].zone;
                End {
                    name,
                    detail: String::new(),
                    flow: self.share(end),
                    kind: EndKind::Grille { zone },
                }
            }
            model::End::Terminal(index) => self.terminal(index),
        }
    }

    /// Leaks, exhausts that run, and what burns.
    fn signs(&self) -> Vec<Sign> {
        let branches = &self.report.branches;
        let mut signs = Vec::new();
        for (place, fan) in branches.exhausts.iter().enumerate() {
            signs.push(Sign {
                key: format!("exhaust-{place}"),
                zone: fan.zone,
                kind: SignKind::Fan,
                name: fan.name.clone(),
                flow: Some(self.moved(fan.flow)),
            });
        }
        for leak in &branches.leaks {
            let net = leak.inward - leak.outward;
            if !self.job.zones[leak.zone].kind.conditioned() || net.abs() < STILL {
                continue;
            }
            let (kind, name) = if net > 0.0 {
                (SignKind::LeaksIn, "leaks in")
            } else {
                (SignKind::LeaksOut, "leaks out")
            };
            signs.push(Sign {
                key: format!("leak-{}", leak.zone),
                zone: leak.zone,
                kind,
                name: name.to_owned(),
                flow: Some(self.flow(net, None)),
            });
        }
        for (place, appliance) in self.job.appliances.iter().enumerate() {
            // The furnace is the air handler itself.
            let handler = self.job.air_handler.as_ref();
            if appliance.name == "furnace" && handler.is_some_and(|one| one.zone == appliance.zone)
            {
                continue;
            }
            signs.push(Sign {
                key: format!("appliance-{place}"),
                zone: appliance.zone,
                kind: SignKind::Appliance,
                name: appliance.name.clone(),
                flow: None,
            });
        }
        signs
    }

    /// What one end takes of the air of its duct, if others take the rest.
    fn share(&self, end: model::End) -> Option<Figure> {
        let alone = [&self.plan.supply, &self.plan.extract]
            .into_iter()
            .any(|ends| ends.as_slice() == [end]);
        let known = self.report.branches.ends.iter();
        let (_, flow) = known.copied().find(|(known, _)| *known == end)?;
        (!alone).then(|| self.moved(flow))
    }

    /// A flow, or the words that there is none.
    fn moved(&self, flow: f64) -> Figure {
        if flow.abs() < STILL {
            Figure {
                first: "no flow".to_owned(),
                spread: String::new(),
                second: String::new(),
            }
        } else {
            self.flow(flow, None)
        }
    }

    fn short_circuit(&self) -> String {
        let flows = &self.report.flows;
        let part = flows.short_circuit;
        if part < SHORT_CIRCUIT || flows.supply < STILL || flows.extract < STILL {
            return String::new();
        }
        let much = if part > 0.9 {
            "Nearly all the supply air is"
        } else if part > 0.5 {
            "Most of the supply air is"
        } else {
            "A part of the supply air is"
        };
        format!("{much} drawn straight back out without passing a room.")
    }

    fn notes(&self) -> Vec<String> {
        let flows = &self.report.flows;
        let mut notes = Vec::new();
        if flows.case.setting != Setting::Off {
            let delivered = self.flow(flows.delivered, Some(self.report.delivered));
            let balance = flows.balance();
            let band = self.report.balance;
            let between = if band.low.is_finite() && band.high.is_finite() {
                format!(
                    "; nine houses of ten like this lie between {} and {} %",
                    signed(100.0 * band.low, 0),
                    signed(100.0 * band.high, 0)
                )
            } else {
                String::new()
            };
            let difference = format!("{:.1} %", 100.0 * balance.abs());
            let sentence = if difference == "0.0 %" {
                "There is as much supply as exhaust air".to_owned()
            } else if balance > 0.0 {
                format!("There is {difference} more supply than exhaust air")
            } else {
                format!("There is {difference} more exhaust than supply air")
            };
            notes.push(format!(
                "{} of outdoor air reaches the rooms. {sentence}{between}.",
                format!("{} {}", delivered.first, delivered.spread).trim()
            ));
            if !self.short_circuit().is_empty() {
                notes.push(format!(
                    "{:.0} % of the supply air is drawn back out without having passed a room.",
                    100.0 * flows.short_circuit
                ));
            }
            if !self.report.runs {
                notes.push(
                    "The interlock keeps the ventilator from running in this case.".to_owned(),
                );
            }
        }
        let against = match &self.job.air_handler {
            Some(handler) => self.job.zones[handler.zone].name.as_str(),
            None => self.job.zones[self.job.spots[self.plan.spot].zone]
                .name
                .as_str(),
        };
        notes.push(format!(
            "Pressures in ducts are against {against}, those of rooms against outdoors at grade. Flows are at standard \
             density; ± holds nine houses of ten."
        ));
        notes
    }

    /// A mass flow as volume flow at standard density, with half of its band.
    fn flow(&self, mass_flow: f64, band: Option<Band>) -> Figure {
        let volume = VolumeFlow::from_si(mass_flow.abs() / STANDARD_DENSITY);
        let unit = volume.shown_in(self.system);
        let number = format!("{:.*}", unit.decimals, unit.from_si(volume.si()));
        let half = band
            .map(|band| unit.from_si((band.high - band.low).abs() / 2.0 / STANDARD_DENSITY))
            .filter(|half| half.is_finite());
        Figure {
            first: format!("{number} {}", unit.symbol),
            spread: half.map_or(String::new(), |half| {
                let least = 0.1_f64.powi(i32::try_from(unit.decimals).unwrap_or(0));
                format!("± {:.*}", unit.decimals, half.max(least))
            }),
            second: volume.show(self.system.other()),
        }
    }

    /// A pressure with its sign.
    fn pressure(&self, pascals: f64) -> Figure {
        let write = |system: System| {
            let unit = Pressure::from_si(pascals).shown_in(system);
            format!(
                "{} {}",
                signed(unit.from_si(pascals), unit.decimals),
                unit.symbol
            )
        };
        Figure {
            first: write(self.system),
            spread: String::new(),
            second: write(self.system.other()),
        }
    }
}
