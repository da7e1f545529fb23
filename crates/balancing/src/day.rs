//! One day: its readings in the states in which they were taken.

use std::ops::RangeInclusive;

use commission::device::{AveragingProbe, Chart, Device, ExhaustBox, Meter, PowerLaw, air_at};
use commission::instrument;
use commission::orifice::{Orifice, Taps};
use commission::{Damped, Error, Goal, Place, Port, Position, SetUp, Station, Stream};
use house::model::{
    End, Instrument, InstrumentKind, Job, Meets, Mode, OrificeTaps, Season, Setting, Side,
    StationDevice,
};
use journal::{BlowerMode, Entry, Event, Journal, Visit, time};
use plan::Plan;
use units::{Quantity, System, Temperature, Typed};

use crate::bare::{INDOORS, OUTDOORS, is_of_flow, unit_of};
use crate::remark::{Remark, calibrations};
use crate::value::{Understood, angle, understand};
use crate::words::blower_words;

/// Part of the temperature difference that a core is taken to recover where the file does not say
/// how warm the air at a station is. Ten points more or less change a flow by less than 1 %.
const RECOVERY: f64 = 0.7;

/// A reading that was understood.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Taken {
    /// Number of its entry in the journal.
    pub entry: u64,
    /// Its index in the set-up.
    pub reading: usize,
}

/// A set-up day, or a revisit, understood.
#[derive(Debug, Clone)]
pub struct Day {
    /// House, plan, stations, instruments, positions and readings.
    pub set_up: SetUp,
    /// What has to be reached, for each setting; the dampers are turned at the first.
    pub goals: Vec<Goal>,
    /// The readings, in their order, struck out or not.
    pub taken: Vec<Taken>,
    /// Entries that stay in the journal but could not be used.
    pub misread: Vec<Remark>,
    /// Readings that are used although something about them is odd.
    pub odd: Vec<Remark>,
    /// Positions of the dampers now, by their indices in the set-up.
    pub dampers: [usize; 2],
    /// Blower mode now.
    pub blower: Mode,
    /// Setting now.
    pub setting: Setting,
    /// What was taken for granted, in sentences.
    pub assumed: Vec<String>,
    /// Unit of a bare number at each station.
    reads_in: Vec<&'static str>,
    /// Unit of a bare pressure elsewhere.
    pressure_unit: &'static str,
    /// Units that were typed last: of a pressure, of a flow, of the pressure of the house.
    typed_last: [Option<&'static str>; 3],
    devices: Vec<StationDevice>,
    /// Day of the last reading, or of the beginning, as it was at the place; empty if not noted.
    date: String,
    /// The readings as they stand in the journal, to find what was written twice.
    written: Vec<(u64, String, journal::Reading)>,
    /// Instrument of a traverse, if there is one: behind those of the job.
    traverse: Option<usize>,
}

/// A temperature as typed (°C).
pub fn temperature(text: &str) -> Option<f64> {
    Typed::<Temperature>::parse(text.trim())
        .ok()
        .map(|typed| typed.value.si())
}

impl Day {
    /// Understands a day: the entries after the beginning of the set-up, or of the last revisit.
    ///
    /// `struck` says whether an entry was struck out.
    ///
    /// # Errors
    /// A job without stations, and numbers that the physics refuses.
    pub fn new<'a>(
        job: &Job,
        plan: &Plan,
        entries: impl Iterator<Item = &'a Entry>,
        struck: impl Fn(u64) -> bool,
    ) -> Result<Self, Error> {
        if job.stations.is_empty() {
            return Err(Error(
                "the job has no station: say with [[station]] where pressures are read and how they become flows; docs/balancing.md shows how".into(),
            ));
        }
        let entries: Vec<&Entry> = entries.collect();
        let visit = entries.iter().rev().find_map(|entry| match &entry.event {
            Event::SetUp(visit) | Event::Revisit(visit) if !struck(entry.number) => Some(visit),
            _ => None,
        });
        let mut assumed = Vec::new();
        let mild = "that of the mild day of the job";
        let temperatures = temperatures(job, visit, mild, &mut assumed);
        let stations = job
            .stations
            .iter()
            .map(|station| set_up_station(job, plan, station, temperatures))
            .collect::<Result<Vec<Station>, Error>>()?;
        let mut instruments: Vec<instrument::Instrument> =
            job.instruments.iter().map(set_up_instrument).collect();
        let has_traverse = job
            .stations
            .iter()
            .any(|station| matches!(station.device, StationDevice::PitotTraverse { .. }));
        let traverse = has_traverse.then(|| {
            instruments.push(traverse_instrument(&job.instruments));
            instruments.len() - 1
        });
        let set_up = SetUp::new(job, plan, temperatures, stations, instruments)?;
        let goals = goals(job, &set_up, &mut assumed)?;
        for damper in Damped::BOTH {
            if set_up.stations_of(damper).is_empty() {
                assumed.push(format!(
                    "No station tells all {} air, so nothing can be proven: add one to the job, at the unit, at the terminal, or at every grille.",
                    damper.name()
                ));
            }
        }
        let first = &goals[0];
        let mut day = Self {
            blower: first.modes.first().copied().unwrap_or(Mode::Off),
            setting: first.setting,
            goals,
            taken: Vec::new(),
            misread: Vec::new(),
            odd: Vec::new(),
            dampers: [0, 0],
            assumed,
            reads_in: job
                .stations
                .iter()
                .map(|station| station.reads_in)
                .collect(),
            pressure_unit: if job.inch_pound_first { "inWC" } else { "Pa" },
            typed_last: [None; 3],
            devices: job
                .stations
                .iter()
                .map(|station| station.device.clone())
                .collect(),
            date: String::new(),
            written: Vec::new(),
            traverse,
            set_up,
        };
        for entry in entries {
            day.add(entry, struck(entry.number))?;
        }
        Ok(day)
    }

    /// The day that a journal tells of last: the set-up, or a revisit with the dampers as they were
    /// left.
    ///
    /// # Errors
    /// As [`Day::new`].
    pub fn of_journal(
        job: &Job,
        plan: &Plan,
        journal: &Journal,
        system: System,
    ) -> Result<Self, Error> {
        let first = Self::first_of_journal(job, plan, journal, system)?;
        let struck = journal.struck_out();
        let revisit = journal.entries().rev().find(|entry| {
            matches!(entry.event, Event::Revisit(_)) && !struck.contains_key(&entry.number)
        });
        let Some(revisit) = revisit.map(|entry| entry.number) else {
            return Ok(first);
        };
        let entries = journal.entries().filter(|entry| entry.number >= revisit);
        let mut day = first.revisited(entries, |entry| struck.contains_key(&entry))?;
        day.set_up = day.set_up.in_system(system);
        Ok(day)
    }

    /// The day of the set-up: what stands before the first revisit.
    ///
    /// # Errors
    /// As [`Day::new`].
    pub fn first_of_journal(
        job: &Job,
        plan: &Plan,
        journal: &Journal,
        system: System,
    ) -> Result<Self, Error> {
        let struck = journal.struck_out();
        let entries = journal.entries().take_while(|entry| {
            !matches!(entry.event, Event::Revisit(_)) || struck.contains_key(&entry.number)
        });
        let mut day = Self::new(job, plan, entries, |entry| struck.contains_key(&entry))?;
        day.set_up = day.set_up.in_system(system);
        Ok(day)
    }

    /// A revisit of the same house: dampers as they were left, nothing read yet, then the entries of
    /// the revisit.
    ///
    /// # Errors
    /// As [`Day::new`].
    pub fn revisited<'a>(
        &self,
        entries: impl Iterator<Item = &'a Entry>,
        struck: impl Fn(u64) -> bool,
    ) -> Result<Self, Error> {
        let entries: Vec<&Entry> = entries.collect();
        let visit = entries.iter().rev().find_map(|entry| match &entry.event {
            Event::Revisit(visit) if !struck(entry.number) => Some(visit),
            _ => None,
        });
        let mut assumed = Vec::new();
        let job = self.set_up.job();
        let plan = self.set_up.plan();
        let before = "that of the day of the record";
        let temperatures = temperatures(job, visit, before, &mut assumed);
        // The air at the stations is that of this day; the dampers stand as they were left.
        let stations = job
            .stations
            .iter()
            .map(|station| set_up_station(job, plan, station, temperatures))
            .collect::<Result<Vec<Station>, Error>>()?;
        let instruments = self.set_up.instruments().to_vec();
        let mut set_up = SetUp::new(job, plan, temperatures, stations, instruments)?;
        for damper in Damped::BOTH {
            for position in self.set_up.positions(damper).iter().skip(1) {
                set_up.moved(damper, *position);
            }
        }
        let mut day = Self {
            set_up,
            taken: Vec::new(),
            misread: Vec::new(),
            odd: Vec::new(),
            date: String::new(),
            written: Vec::new(),
            assumed,
            ..self.clone()
        };
        for entry in entries {
            day.add(entry, struck(entry.number))?;
        }
        Ok(day)
    }

    /// Goes on with one more entry.
    ///
    /// # Errors
    /// None that an entry can cause; what cannot be used is in [`Day::misread`].
    pub fn add(&mut self, entry: &Entry, struck: bool) -> Result<(), Error> {
        let number = entry.number;
        let tells = matches!(
            entry.event,
            Event::SetUp(_) | Event::Revisit(_) | Event::Reading(_)
        );
        if let (true, false, Some(date)) = (tells, struck, time::day(&entry.time)) {
            date.clone_into(&mut self.date);
        }
        match &entry.event {
            Event::Running(running) if !struck => {
                self.blower = mode(running.blower);
                match setting(&running.setting) {
                    Some(setting) => self.setting = setting,
                    None => self.cannot(number, unknown_setting(&running.setting)),
                }
            }
            Event::Damper(turned) if !struck => {
                let damper = match turned.damper {
                    journal::Stream::Supply => Damped::Supply,
                    journal::Stream::Extract => Damped::Extract,
                };
                match angle(&turned.to) {
                    Some(angle) => self.turn(damper, angle),
                    None => self.cannot(number, no_angle(&turned.to)),
                }
            }
            Event::Reading(reading) => {
                if !struck && self.stands_twice(entry, reading) {
                    return Ok(());
                }
                self.read(number, reading, struck)?;
            }
            _ => {}
        }
        Ok(())
    }

    /// Whether the same reading, down to its time, stands in the journal already; it is told then.
    fn stands_twice(&mut self, entry: &Entry, reading: &journal::Reading) -> bool {
        let first = self
            .written
            .iter()
            .find(|(_, time, known)| !time.is_empty() && *time == entry.time && known == reading)
            .map(|(first, ..)| *first);
        if let Some(first) = first {
            self.misread.push(Remark {
                entry: entry.number,
                text: format!(
                    "Entry {} is the same as entry {first}, down to its time. It is kept, and counts once.",
                    entry.number
                ),
            });
            return true;
        }
        self.written
            .push((entry.number, entry.time.clone(), reading.clone()));
        false
    }

    fn turn(&mut self, damper: Damped, angle: f64) {
        self.dampers[damper as usize] = self.set_up.moved(damper, Position::at(angle));
    }

    fn cannot(&mut self, entry: u64, text: String) {
        self.misread.push(Remark {
            entry,
            text: format!("Entry {entry}: {text} It is kept, and not used."),
        });
    }

    fn read(&mut self, entry: u64, reading: &journal::Reading, struck: bool) -> Result<(), Error> {
        if !struck {
            if let Some(blower) = reading.blower {
                self.blower = mode(blower);
            }
            if !reading.setting.is_empty() {
                match setting(&reading.setting) {
                    Some(setting) => self.setting = setting,
                    None => {
                        self.cannot(entry, unknown_setting(&reading.setting));
                        return Ok(());
                    }
                }
            }
            for (damper, typed) in [
                (Damped::Supply, &reading.supply_damper),
                (Damped::Extract, &reading.extract_damper),
            ] {
                if typed.is_empty() {
                    continue;
                }
                let Some(angle) = angle(typed) else {
                    self.cannot(entry, no_angle(typed));
                    return Ok(());
                };
                if (angle - self.angle(damper)).abs() > 0.25 {
                    self.turn(damper, angle);
                }
            }
        }
        let Some(place) = self.place(&reading.at) else {
            if !struck {
                let known: Vec<String> =
                    self.places().map(|place| self.set_up.name(place)).collect();
                self.cannot(
                    entry,
                    format!(
                        "there is no station \"{}\"; known: {}.",
                        reading.at,
                        known.join(", ")
                    ),
                );
            }
            return Ok(());
        };
        let value = match self.understood(place, &reading.value) {
            Ok(understood) => {
                if let Some((unit, flow)) = unit_of(&reading.value) {
                    self.typed_last[kind(place, flow)] = Some(unit.symbol);
                }
                if !struck {
                    let name = self.set_up.name(place);
                    self.odd
                        .extend(understood.odd.into_iter().map(|odd| Remark {
                            entry,
                            text: format!("Entry {entry} ({name}): {odd}"),
                        }));
                }
                understood.value
            }
            Err(why) => {
                if !struck {
                    self.cannot(
                        entry,
                        format!(
                            "the reading of {} was not understood: {why}.",
                            self.set_up.name(place)
                        ),
                    );
                }
                return Ok(());
            }
        };
        let Some(instrument) = self.instrument(place, &reading.instrument) else {
            if !struck {
                self.cannot(
                    entry,
                    format!(
                        "there is no instrument \"{}\" that can read {}.",
                        reading.instrument,
                        self.set_up.name(place)
                    ),
                );
            }
            return Ok(());
        };
        let index = self.set_up.add(commission::Reading {
            place,
            blower: reading.blower.map_or(self.blower, mode),
            setting: setting(&reading.setting).unwrap_or(self.setting),
            dampers: self.dampers,
            value,
            instrument,
            struck_out: struck,
        })?;
        self.taken.push(Taken {
            entry,
            reading: index,
        });
        Ok(())
    }

    /// The places that can be read: the stations first. A house without air handler has no plenum.
    pub fn places(&self) -> impl Iterator<Item = Place> + use<> {
        let plenums = self.set_up.job().air_handler.is_some();
        (0..self.set_up.stations().len())
            .map(Place::Station)
            .chain(Port::ALL.map(Place::Port))
            .chain(
                [Side::Return, Side::Supply]
                    .map(Place::Plenum)
                    .into_iter()
                    .filter(move |_| plenums),
            )
            .chain([Place::House])
    }

    /// Calibrations that are older than a year on the day of the readings, or not yet made, in
    /// sentences. `today` is taken where no reading says its day.
    pub fn calibrations(&self, today: &str) -> Vec<String> {
        let instruments = &self.set_up.job().instruments;
        let read_with = |at: usize| {
            self.taken.is_empty()
                || self.taken.iter().any(|taken| {
                    let used = self.set_up.readings()[taken.reading].instrument;
                    // A traverse is read with the first manometer.
                    let traverse = Some(used) == self.traverse;
                    used == at || traverse && Some(at) == self.instrument(Place::House, "")
                })
        };
        let day = if self.date.is_empty() {
            today
        } else {
            &self.date
        };
        let some = instruments
            .iter()
            .enumerate()
            .filter(|(at, _)| read_with(*at))
            .map(|(_, instrument)| instrument);
        calibrations(some, day, !self.taken.is_empty())
    }

    /// The place of a name, in any case; ports also as "supply port".
    pub fn place(&self, name: &str) -> Option<Place> {
        let name = name.trim().to_lowercase();
        let short = |place: Place| match place {
            Place::Port(port) => format!("{} port", port.name()),
            Place::Plenum(Side::Return) => "return plenum".into(),
            Place::Plenum(Side::Supply) => "supply plenum".into(),
            Place::House => "house".into(),
            Place::Station(_) => String::new(),
        };
        self.places()
            .find(|&place| self.set_up.name(place).to_lowercase() == name || short(place) == name)
    }

    /// Unit of a bare number at a place.
    pub fn unit(&self, place: Place) -> &'static str {
        match place {
            Place::Station(station) => self.reads_in[station],
            // Pascals are usual for it in both systems.
            Place::House => "Pa",
            _ => self.pressure_unit,
        }
    }

    /// Unit in which a bare number is likely meant: that which was typed last for such a place, else
    /// that of the station.
    pub fn likely_unit(&self, place: Place) -> &'static str {
        let usual = self.unit(place);
        self.typed_last[kind(place, is_of_flow(usual))].unwrap_or(usual)
    }

    /// What a typed value means at a place: Pa, or m³/s.
    ///
    /// # Errors
    /// Why it means nothing there.
    pub fn understand(&self, place: Place, text: &str) -> Result<f64, String> {
        self.understood(place, text)
            .map(|understood| understood.value)
    }

    /// The same with what is odd about it.
    ///
    /// # Errors
    /// As [`Day::understand`].
    pub fn understood(&self, place: Place, text: &str) -> Result<Understood, String> {
        let (device, air) = self.device(place);
        understand(text, device, self.unit(place), air)
    }

    /// What turns the readings of a place into flows, and the air there.
    pub(crate) fn device(&self, place: Place) -> (Option<&StationDevice>, Option<&air::AirState>) {
        match place {
            Place::Station(station) => (
                Some(&self.devices[station]),
                Some(&self.set_up.stations()[station].air),
            ),
            _ => (None, None),
        }
    }

    /// The instrument of a name that can read a place; the first that can if there is no name.
    pub fn instrument(&self, place: Place, name: &str) -> Option<usize> {
        match place {
            Place::Station(station) => reads(self.set_up.job(), &self.devices[station], name),
            _ => of_kind(self.set_up.job(), InstrumentKind::Manometer, name),
        }
    }

    /// Angle of a damper now, by its mark (°).
    pub fn angle(&self, damper: Damped) -> f64 {
        self.set_up.positions(damper)[self.dampers[damper as usize]].angle
    }

    /// The entry of a reading of the set-up.
    pub fn entry(&self, reading: usize) -> Option<u64> {
        self.taken
            .iter()
            .find(|taken| taken.reading == reading)
            .map(|taken| taken.entry)
    }
}

/// The instrument of a name that reads a device, by its index in the set-up; the first that can if
/// there is no name. A traverse has one of its own behind those of the job.
fn reads(job: &Job, device: &StationDevice, name: &str) -> Option<usize> {
    let kind = match device {
        StationDevice::PitotTraverse { .. } => return Some(job.instruments.len()),
        StationDevice::PoweredHood => InstrumentKind::PoweredHood,
        StationDevice::PassiveHood { .. } => InstrumentKind::PassiveHood,
        StationDevice::FlowPlate { .. } => InstrumentKind::FlowPlate,
        _ => InstrumentKind::Manometer,
    };
    of_kind(job, kind, name)
}

fn of_kind(job: &Job, kind: InstrumentKind, name: &str) -> Option<usize> {
    job.instruments.iter().position(|instrument| {
        instrument.kind == kind
            && (name.is_empty() || instrument.name.eq_ignore_ascii_case(name.trim()))
    })
}

/// Which of the units that were typed last a place has.
fn kind(place: Place, flow: bool) -> usize {
    match (place, flow) {
        (_, true) => 1,
        (Place::House, false) => 2,
        (_, false) => 0,
    }
}

fn no_angle(typed: &str) -> String {
    format!("\"{typed}\" is no angle from open, from 0 to 90, like 35 deg or open.")
}

fn unknown_setting(typed: &str) -> String {
    format!("\"{typed}\" is no setting of a ventilator; known: off, low, high, boost.")
}

fn mode(mode: BlowerMode) -> Mode {
    match mode {
        BlowerMode::Off => Mode::Off,
        BlowerMode::Low => Mode::Low,
        BlowerMode::Heating => Mode::Heating,
        BlowerMode::Cooling => Mode::Cooling,
    }
}

fn setting(word: &str) -> Option<Setting> {
    [Setting::Off, Setting::Low, Setting::High, Setting::Boost]
        .into_iter()
        .find(|setting| setting.name().eq_ignore_ascii_case(word.trim()))
}

/// Outdoor and indoor temperature of the day (°C); what is taken where they are not known is told
/// in words.
fn temperatures(
    job: &Job,
    visit: Option<&Visit>,
    instead: &str,
    assumed: &mut Vec<String>,
) -> [f64; 2] {
    let mild = job
        .climate
        .weathers
        .iter()
        .find(|weather| weather.season == Season::Mild);
    let [outdoor, indoor] = mild.map_or([10.0, 21.0], |mild| [mild.outdoor, mild.indoor]);
    let mut one = |what: &str, typed: Option<&str>, usual: f64, possible: RangeInclusive<f64>| {
        let typed = typed.filter(|typed| !typed.is_empty());
        match typed.and_then(temperature) {
            Some(value) if possible.contains(&value) => value,
            _ => {
                let shown = Temperature::from_si(usual).show(if job.inch_pound_first {
                    units::System::Ip
                } else {
                    units::System::Si
                });
                assumed.push(match typed {
                    Some(typed) => format!(
                        "\"{typed}\" cannot be the {what} temperature of the day; {shown}, {instead}, is taken."
                    ),
                    None => format!(
                        "The {what} temperature of the day is not noted; {shown}, {instead}, is taken."
                    ),
                });
                usual
            }
        }
    };
    [
        one(
            "outdoor",
            visit.map(|visit| visit.outdoor.as_str()),
            outdoor,
            OUTDOORS,
        ),
        one(
            "indoor",
            visit.map(|visit| visit.indoor.as_str()),
            indoor,
            INDOORS,
        ),
    ]
}

/// A station of the job as the physics sees it.
fn set_up_station(
    job: &Job,
    plan: &Plan,
    station: &house::model::Station,
    [outdoor, indoor]: [f64; 2],
) -> Result<Station, Error> {
    let supplied = outdoor + RECOVERY * (indoor - outdoor);
    let exhausted = indoor - RECOVERY * (indoor - outdoor);
    let (stream, usual) = match station.meets {
        Meets::Supply => (Stream::Supply, supplied),
        Meets::Extract => (Stream::Extract, indoor),
        Meets::Blower => (Stream::Blower, indoor),
        Meets::Duct(end) => (
            Stream::Duct(end),
            match end {
                End::Terminal(at) if at == plan.intake => outdoor,
                End::Terminal(_) => exhausted,
                end if plan.supply.contains(&end) => supplied,
                _ => indoor,
            },
        ),
    };
    let device = match &station.device {
        StationDevice::Chart(points) => Device::Chart(Chart::new(points)?),
        StationDevice::PowerLaw {
            coefficient,
            exponent,
        } => Device::PowerLaw(PowerLaw::new(*coefficient, *exponent)?),
        StationDevice::Orifice {
            opening,
            duct,
            taps,
        } => Device::Orifice(Orifice::new(
            *opening,
            *duct,
            match taps {
                OrificeTaps::Flange => Taps::Flange,
                OrificeTaps::Corner => Taps::Corner,
                OrificeTaps::DiameterAndHalf => Taps::DiameterAndHalf,
            },
        )?),
        StationDevice::AveragingProbe { area, factor } => {
            Device::AveragingProbe(AveragingProbe::new(*area, *factor)?)
        }
        // The traverse is averaged to an actual flow when it is read.
        StationDevice::PitotTraverse { .. } => Device::Meter(Meter {
            held_back: 0.0,
            reference_density: None,
        }),
        StationDevice::PoweredHood => Device::Meter(Meter::POWERED_HOOD),
        StationDevice::PassiveHood { held_back } => Device::Meter(Meter::passive_hood(*held_back)?),
        StationDevice::FlowPlate {
            with_filter,
            with_plate,
        } => Device::Meter(Meter::flow_plate(*with_filter, *with_plate)?),
        StationDevice::ExhaustBox { area } => Device::ExhaustBox(ExhaustBox::new(*area)?),
    };
    Ok(Station {
        name: station.name.clone(),
        stream,
        device,
        air: air_at(
            station.temperature.unwrap_or(usual),
            station.humidity,
            job.building.altitude,
        )?,
        calibration: station.calibration,
        instrument: reads(job, &station.device, ""),
    })
}

fn set_up_instrument(instrument: &Instrument) -> instrument::Instrument {
    let usual = match instrument.kind {
        InstrumentKind::Manometer => instrument::Instrument::manometer(&instrument.name),
        InstrumentKind::PassiveHood => instrument::Instrument::passive_hood(&instrument.name),
        InstrumentKind::PoweredHood => instrument::Instrument::powered_hood(&instrument.name),
        InstrumentKind::FlowPlate => instrument::Instrument {
            least_noise: 0.002,
            ..instrument::Instrument::powered_hood(&instrument.name)
        },
    };
    instrument::Instrument {
        gain: instrument.accuracy,
        zero: instrument.zero,
        noise: instrument.noise,
        resolution: instrument.resolution,
        range: instrument.range,
        ..usual
    }
}

/// A traverse as an instrument that shows a flow: half of the manometer's relative errors, since the
/// flow goes with the root of the pressure.
fn traverse_instrument(instruments: &[Instrument]) -> instrument::Instrument {
    let manometer = instruments
        .iter()
        .find(|instrument| instrument.kind == InstrumentKind::Manometer);
    instrument::Instrument {
        name: "Pitot traverse".into(),
        gain: manometer.map_or(0.005, |manometer| 0.5 * manometer.accuracy),
        zero: 0.0,
        noise: manometer.map_or(0.005, |manometer| 0.5 * manometer.noise),
        least_noise: 0.0005,
        resolution: 0.0,
        range: [-2.0, 2.0],
    }
}

/// What has to be reached, one for each setting.
fn goals(job: &Job, set_up: &SetUp, assumed: &mut Vec<String>) -> Result<Vec<Goal>, Error> {
    let balancing = &job.balancing;
    let mut goal = Goal::of(set_up);
    goal.tolerance = balancing.tolerance;
    goal.confidence = balancing.certainty;
    let runs = goal.modes.clone();
    let mut modes: Vec<Mode> = balancing
        .modes
        .iter()
        .copied()
        .filter(|mode| runs.contains(mode))
        .collect();
    modes.dedup();
    for mode in &balancing.modes {
        if !runs.contains(mode) {
            assumed.push(format!(
                "The ventilator does not run with the {}, so nothing has to be balanced there.",
                blower_words(*mode)
            ));
        }
    }
    modes.extend(
        runs.into_iter()
            .filter(|mode| !balancing.modes.contains(mode)),
    );
    goal.modes = modes;
    goal.check()?;
    let known = &job.units[set_up.plan().unit];
    let settings: Vec<Setting> = if balancing.settings.is_empty() {
        vec![goal.setting]
    } else {
        balancing.settings.clone()
    };
    settings
        .into_iter()
        .map(|setting| {
            if known
                .settings
                .iter()
                .any(|tested| tested.setting == setting)
            {
                // The rate is asked for at the setting of the plan alone.
                let required = if setting == goal.setting {
                    goal.required
                } else {
                    assumed.push(format!(
                        "At {} only the balance is judged: the rate is asked for at {}, the setting of the plan.",
                        setting.name(),
                        goal.setting.name()
                    ));
                    0.0
                };
                Ok(Goal {
                    setting,
                    required,
                    ..goal.clone()
                })
            } else {
                Err(Error(format!(
                    "balancing.settings names \"{}\", which {} does not have",
                    setting.name(),
                    known.name
                )))
            }
        })
        .collect()
}
