//! The sketch of one plan in one operating case: outdoors left, the unit in the middle, the air
//! handler below it, the rooms right. Each of the four airs has its own line; arrowheads point the
//! way the air really goes.

use house::model::{End, Entry, Job, Layout, Mode, Season, Setting, Side};
use plan::candidate::{Plan, end_name};
use plan::case::{CaseFlows, OperatingCase};
use units::text::{fixed, true_minus};
use units::{Quantity, Temperature};

use crate::canvas::{Canvas, Ink};
use crate::figures::{Figures, house_pressure};
use crate::text::{WIDTH, cut, wrap};

/// Columns of the sheet.
const WALL: usize = 14;
const HANDLER: usize = 18;
const UNIT: [usize; 2] = [31, 59];
const SUPPLY_TAP: usize = 73;
const EXTRACT_TAP: usize = 79;
const TRUNK_END: usize = 82;
const ROOMS: usize = 84;

/// A flow below which air stands still for the eye (kg/s), half a cubic foot a minute.
const STILL: f64 = 0.000_28;

/// One of the four airs as it is drawn.
struct Air {
    word: &'static str,
    pattern: &'static str,
    ink: Ink,
}

const OUTDOOR: Air = Air {
    word: "outdoor air",
    pattern: "── ",
    ink: Ink::Outdoor,
};
const SUPPLY: Air = Air {
    word: "supply air",
    pattern: "═",
    ink: Ink::Supply,
};
const EXTRACT: Air = Air {
    word: "extract air",
    pattern: "┈",
    ink: Ink::Extract,
};
const EXHAUST: Air = Air {
    word: "exhaust air",
    pattern: "─·",
    ink: Ink::Exhaust,
};

/// A wind speed in miles an hour or metres a second.
pub fn wind_words(speed: f64, system: units::System) -> String {
    match system {
        units::System::Ip => format!("{} mph", fixed(speed / 0.44704, 0)),
        units::System::Si => format!("{} m/s", fixed(speed, 1)),
    }
}

/// The operating case in words: `blower in heating, ventilator at high, a mild day (50 °F)`.
pub fn case_words(job: &Job, case: OperatingCase, figures: Figures) -> String {
    let blower = match case.blower {
        Mode::Off => "blower off".to_owned(),
        mode => format!("blower in {}", mode.name()),
    };
    let ventilator = match case.setting {
        Setting::Off => "ventilator off".to_owned(),
        setting => format!("ventilator at {}", setting.name()),
    };
    let weather = weather(job, case, figures);
    let mut words = if job.air_handler.is_some() {
        format!("{blower}, {ventilator}, {weather}")
    } else {
        format!("{ventilator}, {weather}")
    };
    if let Some(wind) = case.wind {
        let speed = wind_words(wind.speed, figures.system);
        words = format!("{words}, wind {speed} from the {}", compass(wind.from));
    }
    words
}

fn weather(job: &Job, case: OperatingCase, figures: Figures) -> String {
    let known = |season| {
        let weather = job.climate.weathers.iter().find(|w| w.season == season);
        weather.map_or(String::new(), |weather| {
            let outdoor = Temperature::from_si(weather.outdoor).show(figures.system);
            format!(" ({})", true_minus(outdoor))
        })
    };
    let words = match case.season {
        Season::Winter => "winter design",
        Season::Mild => "a mild day",
        Season::Summer => "summer design",
    };
    format!("{words}{}", known(case.season))
}

/// The name of a direction, degrees clockwise from north.
pub fn compass(from: f64) -> &'static str {
    const NAMES: [&str; 8] = [
        "north",
        "north-east",
        "east",
        "south-east",
        "south",
        "south-west",
        "west",
        "north-west",
    ];
    NAMES[((from.rem_euclid(360.0) / 45.0).round() as usize) % 8]
}

/// Draws a plan in a case.
pub fn sketch(
    job: &Job,
    plan: &Plan,
    flows: &CaseFlows,
    figures: Figures,
    coloured: bool,
) -> String {
    let grilles = |ends: &[End]| ends.iter().all(|end| matches!(end, End::Grille(_)));
    let extra = |ends: &[End]| if grilles(ends) { ends.len() } else { 0 };
    // The unit hangs lower where extract grilles need room above.
    let unit = 1 + extra(&plan.extract).saturating_sub(3);
    let mut drawing = Drawing {
        job,
        plan,
        flows,
        figures,
        canvas: Canvas::new(WIDTH),
        unit,
        handler: (unit + 10).max(unit + 7 + extra(&plan.supply)),
    };
    drawing.places();
    drawing.unit();
    drawing.outdoor_ducts();
    drawing.extract();
    drawing.supply();
    drawing.air_handler();
    drawing.canvas.print(coloured)
}

struct Drawing<'a> {
    job: &'a Job,
    plan: &'a Plan,
    flows: &'a CaseFlows,
    figures: Figures,
    canvas: Canvas,
    /// Row of the unit's upper edge.
    unit: usize,
    /// Row of the air handler's upper edge.
    handler: usize,
}

impl Drawing<'_> {
    /// Row of the outdoor and extract ducts, and of the exhaust and supply ducts.
    fn upper(&self) -> usize {
        self.unit + 2
    }

    fn lower(&self) -> usize {
        self.unit + 6
    }

    /// Outdoors, the wall, the place of the unit.
    fn places(&mut self) {
        self.canvas.text(0, 0, "OUTDOORS", Ink::Strong);
        let bottom = self.handler + if self.job.air_handler.is_some() { 4 } else { 0 };
        self.canvas
            .down([0, bottom.max(self.lower() + 1)], WALL, '┃', Ink::Plain);
        let spot = &self.job.spots[self.plan.spot];
        let zone = &self.job.zones[spot.zone].name;
        let place = if spot.name == *zone {
            spot.name.clone()
        } else {
            format!("{}, {zone}", spot.name)
        };
        self.canvas
            .text(0, WALL + 2, &cut(&place.to_uppercase(), 60), Ink::Strong);
    }

    /// The unit with its crossing streams and the pressures at its ports.
    fn unit(&mut self) {
        let (upper, lower) = (self.upper(), self.lower());
        let [west, east] = UNIT;
        let unit = &self.job.units[self.plan.unit];
        self.canvas.frame([self.unit, lower + 1], UNIT, &unit.name);
        let setting = match self.flows.case.setting {
            Setting::Off => "standing still".to_owned(),
            setting => format!("at {}", setting.name()),
        };
        let middle = (west + east) / 2;
        self.canvas.text(
            self.unit + 1,
            middle - setting.len() / 2,
            &setting,
            Ink::Plain,
        );
        let [outdoor, supply, extract, exhaust] = self.flows.ports;
        let other = self.figures.other();
        for (row, beside, left, right) in [
            (upper, upper + 1, outdoor, extract),
            (lower, lower - 1, exhaust, supply),
        ] {
            for (row, figures, ink) in
                [(row, self.figures, Ink::Plain), (beside, other, Ink::Quiet)]
            {
                let canvas = &mut self.canvas;
                canvas.text(row, west + 2, &figures.pressure_with_unit(left), ink);
                canvas.text_before(row, east - 1, &figures.pressure_with_unit(right), ink);
            }
        }
        let widest = self
            .flows
            .ports
            .map(|pressure| other.pressure_with_unit(pressure).chars().count());
        let cross: &[(usize, usize, char)] = &[
            (upper + 2, middle, '╳'),
            (upper + 1, middle - 1, '╲'),
            (upper + 1, middle + 1, '╱'),
            (upper + 3, middle - 1, '╱'),
            (upper + 3, middle + 1, '╲'),
        ];
        // Wide figures leave room for the middle of the crossing streams only.
        let arms = if widest.into_iter().max() > Some(10) {
            1
        } else {
            cross.len()
        };
        for &(row, column, character) in &cross[..arms] {
            self.canvas.put(row, column, character, Ink::Plain);
        }
    }

    /// Outdoor and exhaust duct with their terminals.
    fn outdoor_ducts(&mut self) {
        let (upper, lower) = (self.upper(), self.lower());
        let [west, _] = UNIT;
        for (row, air, flow) in [
            (upper, OUTDOOR, self.flows.supply),
            (lower, EXHAUST, -self.flows.extract),
        ] {
            self.canvas.across(row, [0, west - 1], air.pattern, air.ink);
            if flow.abs() >= STILL {
                // Positive flows run inward.
                let (heads, head) = if flow > 0.0 {
                    ([WALL - 3, west - 1], '▶')
                } else {
                    ([0, WALL + 3], '◀')
                };
                for column in heads {
                    self.canvas.put(row, column, head, air.ink);
                }
            }
        }
        let flows = self.flows;
        // The other system stands below the line: beside it there is no room.
        self.label(
            [upper - 2, upper - 1, upper + 1],
            WALL + 2,
            &OUTDOOR,
            flows.supply,
        );
        self.label(
            [lower - 2, lower - 1, lower + 1],
            WALL + 2,
            &EXHAUST,
            flows.extract,
        );
        let [intake, exhaust] =
            [self.plan.intake, self.plan.exhaust].map(|index| &self.job.terminals[index].name);
        if self.plan.two_in_one() {
            let names = wrap(intake, WALL - 1);
            for (line, name) in names.iter().take(2).enumerate() {
                self.canvas.text(upper + 2 + line, 0, name, Ink::Plain);
            }
            self.canvas.text(upper + 1, 0, "one hood:", Ink::Plain);
        } else {
            for (row, name) in [(upper, intake), (lower, exhaust)] {
                let names = wrap(name, WALL - 1);
                let names = &names[..names.len().min(if row == upper { 1 } else { 3 })];
                for (line, name) in names.iter().enumerate() {
                    let row = row - names.len() + line;
                    self.canvas.text(row, 0, &cut(name, WALL - 1), Ink::Plain);
                }
            }
        }
    }

    /// The word of an air, its flow, and its flow in the other system, each in its row; what shares
    /// a row stands side by side.
    fn label(&mut self, rows: [usize; 3], column: usize, air: &Air, flow: f64) {
        self.canvas.text(rows[0], column, air.word, air.ink);
        if flow.abs() < STILL {
            self.canvas.text(rows[1], column, "no flow", Ink::Plain);
            return;
        }
        let first = self.figures.flow_with_unit(flow.abs());
        self.canvas.text(rows[1], column, &first, Ink::Strong);
        let beside = if flow < 0.0 {
            "backward".to_owned()
        } else {
            self.figures.other().flow_with_unit(flow.abs())
        };
        let shift = if rows[2] == rows[1] {
            first.chars().count() + 1
        } else {
            0
        };
        self.canvas
            .text(rows[2], column + shift, &beside, Ink::Quiet);
    }

    /// Word, flow and other unit above the supply line; the extract tap stands beside them.
    fn supply_label(&mut self, row: usize, column: usize) {
        let flow = self.flows.supply;
        self.canvas.text(row - 3, column, SUPPLY.word, SUPPLY.ink);
        if flow.abs() < STILL {
            self.canvas.text(row - 2, column, "no flow", Ink::Plain);
            return;
        }
        let first = self.figures.flow_with_unit(flow.abs());
        self.canvas.text(row - 2, column, &first, Ink::Strong);
        let beside = if flow < 0.0 {
            "backward".to_owned()
        } else {
            self.figures.other().flow_with_unit(flow.abs())
        };
        self.canvas.text(row - 1, column, &beside, Ink::Quiet);
    }

    /// A balancing damper that does not stand open.
    fn damper(&mut self, row: usize, angle: f64, air: &Air) {
        if angle < 0.5 {
            return;
        }
        self.canvas.put(row, UNIT[1] + 4, '⊘', air.ink);
        let words = format!("damper {}°", fixed(angle, 0));
        self.canvas.text(row + 1, UNIT[1] + 2, &words, Ink::Plain);
    }

    /// The extract duct, to a tap in the return below or to grilles on the right.
    fn extract(&mut self) {
        let row = self.upper();
        let flow = self.flows.extract;
        let east = UNIT[1] + 1;
        self.canvas
            .across(row, [east, EXTRACT_TAP], EXTRACT.pattern, EXTRACT.ink);
        if flow > STILL {
            self.canvas.put(row, east, '◀', EXTRACT.ink);
        } else if flow < -STILL {
            self.canvas.put(row, EXTRACT_TAP - 2, '▶', EXTRACT.ink);
        }
        self.damper(row, self.plan.extract_damper, &EXTRACT);
        self.label([row - 2, row - 1, row - 1], east + 1, &EXTRACT, flow);
        match self.plan.extract.first() {
            Some(&End::Tap(tap)) => {
                self.canvas.put(row, EXTRACT_TAP, '┐', EXTRACT.ink);
                let rows = [row + 1, self.handler - 1];
                self.canvas.down(rows, EXTRACT_TAP, '┊', EXTRACT.ink);
                let [name, distance] = self.tap_words(tap);
                let room = WIDTH - EXTRACT_TAP - 2;
                for (line, words) in [name, distance].iter().enumerate() {
                    let row = self.handler - 2 + line;
                    self.canvas
                        .text(row, EXTRACT_TAP + 2, &cut(words, room), Ink::Plain);
                }
            }
            _ => self.grilles(&self.plan.extract.clone(), false),
        }
    }

    /// The supply duct, to a tap below or to grilles on the right.
    fn supply(&mut self) {
        let row = self.lower();
        let flow = self.flows.supply;
        let east = UNIT[1] + 1;
        let tap = match self.plan.supply.first() {
            Some(&End::Tap(tap)) => Some(tap),
            _ => None,
        };
        let end = if tap.is_some() {
            SUPPLY_TAP
        } else {
            EXTRACT_TAP
        };
        self.canvas
            .across(row, [east, end], SUPPLY.pattern, SUPPLY.ink);
        if flow > STILL {
            self.canvas.put(row, end - 2, '▶', SUPPLY.ink);
        } else if flow < -STILL {
            self.canvas.put(row, east, '◀', SUPPLY.ink);
        }
        self.damper(row, self.plan.supply_damper, &SUPPLY);
        self.supply_label(row, east + 1);
        match tap {
            Some(tap) => {
                self.canvas.put(row, SUPPLY_TAP, '╗', SUPPLY.ink);
                let rows = [row + 1, self.handler - 1];
                self.canvas.down(rows, SUPPLY_TAP, '║', SUPPLY.ink);
                for (line, words) in self.tap_words(tap).iter().enumerate() {
                    let row = self.handler - 2 + line;
                    let words = cut(words, SUPPLY_TAP - WALL - 4);
                    self.canvas
                        .text_before(row, SUPPLY_TAP - 1, &words, Ink::Plain);
                }
            }
            None => self.grilles(&self.plan.supply.clone(), true),
        }
    }

    fn tap_words(&self, tap: usize) -> [String; 2] {
        let tap = &self.job.taps[tap];
        let distance = units::Length::from_si(tap.from_fan).show(self.figures.system);
        [tap.name.clone(), format!("{distance} from blower")]
    }

    /// Grilles of a stream: extract grilles upward from its row, supply grilles downward.
    fn grilles(&mut self, ends: &[End], supply: bool) {
        let (row, air, flow) = if supply {
            (self.lower(), SUPPLY, self.flows.supply)
        } else {
            (self.upper(), EXTRACT, -self.flows.extract)
        };
        // Positive flows run out of the grilles into the rooms.
        let head = match flow {
            flow if flow > STILL => '▶',
            flow if flow < -STILL => '◀',
            _ => ' ',
        };
        let (straight, vertical) = if supply {
            ('═', '║')
        } else {
            ('┈', '┊')
        };
        for (index, &end) in ends.iter().enumerate() {
            let at = if supply { row + index } else { row - index };
            if index > 0 {
                self.canvas.put(at, EXTRACT_TAP, vertical, air.ink);
            }
            self.canvas.put(at, EXTRACT_TAP + 1, straight, air.ink);
            if head != ' ' {
                self.canvas.put(at, EXTRACT_TAP + 2, head, air.ink);
            }
            let name = end_name(self.job, end);
            let room = match end {
                End::Grille(index) => &self.job.zones[self.job.grilles[index].zone].name,
                _ => "",
            };
            let column = EXTRACT_TAP + 4;
            let place = format!("{name}, {room}");
            let words = if room == name || column + place.chars().count() > WIDTH {
                name.to_owned()
            } else {
                place
            };
            self.canvas
                .text(at, column, &cut(&words, WIDTH - column), Ink::Plain);
        }
        let (last, single) = (ends.len() - 1, ends.len() == 1);
        if !single {
            let at = if supply { row + last } else { row - last };
            let corner = if supply { '╚' } else { '┌' };
            self.canvas.put(at, EXTRACT_TAP, corner, air.ink);
            let branch = if supply { '╦' } else { '┴' };
            self.canvas.put(row, EXTRACT_TAP, branch, air.ink);
        }
    }

    /// The air handler with its plenums, the existing ducts, and the rooms they lead to.
    fn air_handler(&mut self) {
        let top = self.handler;
        self.rooms(top);
        let Some([return_plenum, supply_plenum]) = self.flows.plenums else {
            return;
        };
        let (back, out) = (top + 1, top + 3);
        let east = UNIT[1];
        self.canvas
            .frame([top, top + 4], [HANDLER, east], "air handler");
        for row in [top, top + 2, top + 4] {
            self.canvas
                .across(row, [east + 1, TRUNK_END], "─", Ink::Plain);
        }
        for (row, corner) in [(top, '┬'), (top + 2, '├'), (top + 4, '┴')] {
            self.canvas.put(row, east, corner, Ink::Plain);
        }
        let other = self.figures.other();
        for (row, name, pressure) in [
            (back, "return plenum", return_plenum),
            (out, "supply plenum", supply_plenum),
        ] {
            let canvas = &mut self.canvas;
            canvas.text(row, HANDLER + 2, name, Ink::Plain);
            let words = self.figures.pressure_with_unit(pressure);
            canvas.text_before(row, east - 13, &words, Ink::Plain);
            canvas.text_before(
                row,
                east - 1,
                &other.pressure_with_unit(pressure),
                Ink::Quiet,
            );
        }
        self.blower(top + 2);
        self.taps(top);
    }

    fn blower(&mut self, row: usize) {
        let flow = self.flows.blower_flow;
        let running = self.flows.case.blower != Mode::Off;
        let name = if running { "blower" } else { "blower off" };
        self.canvas.text(row, HANDLER + 2, name, Ink::Plain);
        if flow.abs() < 4.0 * STILL {
            return;
        }
        let east = UNIT[1];
        let words = self.figures.flow_with_unit(flow.abs());
        let other = self.figures.other().flow_with_unit(flow.abs());
        let ink = if running { Ink::Strong } else { Ink::Plain };
        self.canvas.text_before(row, east - 13, &words, ink);
        self.canvas.text_before(row, east - 1, &other, Ink::Quiet);
        let head = if flow > 0.0 { '▼' } else { '▲' };
        self.canvas.put(row, HANDLER + 14, head, Ink::Plain);
    }

    /// Where the ventilator's ducts meet the existing ones, and which way the air runs there.
    fn taps(&mut self, top: usize) {
        let (back, out) = (top + 1, top + 3);
        let flows = self.flows;
        let side = |ends: &[End]| match ends.first() {
            Some(&End::Tap(tap)) => Some(self.job.taps[tap].side),
            _ => None,
        };
        let (supply, extract) = (side(&self.plan.supply), side(&self.plan.extract));
        let joined = |there: bool, flow: f64| if there { flow } else { 0.0 };
        // Flow through the return toward the blower, from the blower outward: near the blower,
        // between the taps, at the rooms. What leaks from the ducts is too little for an arrow.
        let fan = flows.blower_flow;
        let between = fan - joined(supply == Some(Side::Return), flows.supply);
        let rooms = between + joined(extract == Some(Side::Return), flows.extract);
        let blown = fan + joined(supply == Some(Side::Supply), flows.supply);
        let mut arrow = |row: usize, column: usize, inward: f64| {
            if inward.abs() >= 4.0 * STILL {
                let head = if inward > 0.0 { '◀' } else { '▶' };
                self.canvas.put(row, column, head, Ink::Plain);
            }
        };
        arrow(back, UNIT[1] + 3, fan);
        arrow(back, (SUPPLY_TAP + EXTRACT_TAP) / 2, between);
        arrow(back, TRUNK_END, rooms);
        arrow(out, UNIT[1] + 3, -fan);
        arrow(out, TRUNK_END, -blown);
        if extract.is_some() {
            self.canvas.put(top, EXTRACT_TAP, '┴', EXTRACT.ink);
            if flows.extract.abs() >= STILL {
                let head = if flows.extract > 0.0 { '▲' } else { '▼' };
                self.canvas.put(back, EXTRACT_TAP, head, EXTRACT.ink);
            }
        }
        let head = match flows.supply {
            flow if flow > STILL => '▼',
            flow if flow < -STILL => '▲',
            _ => '║',
        };
        match (supply, self.plan.entry) {
            (Some(Side::Return), _) => {
                self.canvas.put(top, SUPPLY_TAP, '╨', SUPPLY.ink);
                if head != '║' {
                    self.canvas.put(back, SUPPLY_TAP, head, SUPPLY.ink);
                }
            }
            (Some(Side::Supply), entry) => {
                // The duct passes in front of the return.
                self.canvas.put(top, SUPPLY_TAP, '╫', SUPPLY.ink);
                self.canvas.put(back, SUPPLY_TAP, '║', SUPPLY.ink);
                self.canvas.put(top + 2, SUPPLY_TAP, '╫', SUPPLY.ink);
                if entry == Entry::FacingDownstream {
                    self.canvas.put(out, SUPPLY_TAP, '╚', SUPPLY.ink);
                    let head = if flows.supply < -STILL { '◀' } else { '▶' };
                    self.canvas.put(out, SUPPLY_TAP + 1, head, SUPPLY.ink);
                } else {
                    self.canvas.put(top + 2, SUPPLY_TAP, '╨', SUPPLY.ink);
                    self.canvas.put(out, SUPPLY_TAP, head, SUPPLY.ink);
                }
            }
            (None, _) => {}
        }
        debug_assert!(self.plan.layout != Layout::FullyDucted || supply.is_none());
    }

    /// The rooms with their pressures against outdoors.
    fn rooms(&mut self, top: usize) {
        self.canvas.text(top, ROOMS, "ROOMS", Ink::Strong);
        let mut row = top + 1;
        for &(zone, pressure) in &self.flows.zone_pressures {
            let pressure = format!("{} Pa", house_pressure(pressure));
            let name = &self.job.zones[zone].name;
            let room = WIDTH - ROOMS;
            if name.chars().count() + 1 + pressure.chars().count() > room {
                self.canvas.text(row, ROOMS, &cut(name, room), Ink::Plain);
                row += 1;
            } else {
                self.canvas.text(row, ROOMS, name, Ink::Plain);
            }
            self.canvas.text_before(row, WIDTH, &pressure, Ink::Plain);
            row += 1;
        }
    }
}
