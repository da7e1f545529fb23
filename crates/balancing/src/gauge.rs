//! The scale along which a damper leads its station to the aim.

use commission::Place;
use commission::advice::Aim;
use units::text::fixed;

use crate::day::Day;

/// A scale from where a station stands to its aim (Pa, or m³/s).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gauge {
    /// What it shows before the turn.
    pub before: f64,
    /// What to aim for.
    pub aim: f64,
    /// How near to the aim is near enough.
    pub band: f64,
    /// Lower end of the scale.
    pub low: f64,
    /// Upper end of the scale.
    pub high: f64,
}

/// Where a reading stands on a gauge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reached {
    /// Near enough.
    There,
    /// Not far enough.
    GoOn,
    /// Too far.
    GoBack,
}

impl Reached {
    /// What to do, in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::There => "there: leave it and lock it",
            Self::GoOn => "go on",
            Self::GoBack => "too far, go back",
        }
    }
}

impl Gauge {
    /// The gauge of an aim. Near enough is what the instrument can tell, or 2 %, which is 1 % of
    /// flow.
    pub fn new(day: &Day, aim: &Aim) -> Self {
        let place = Place::Station(aim.station);
        let deviation = day
            .instrument(place, "")
            .map_or(0.0, |at| day.set_up.instruments()[at].deviation(aim.after));
        let band = (2.0 * deviation).max(0.02 * aim.after.abs());
        let (low, high) = (aim.before.min(aim.after), aim.before.max(aim.after));
        let margin = (0.25 * (high - low)).max(2.0 * band);
        Self {
            before: aim.before,
            aim: aim.after,
            band,
            low: low - margin,
            high: high + margin,
        }
    }

    /// Whether the instrument can show the turn: it is larger than what is near enough.
    pub fn tells(&self) -> bool {
        (self.before - self.aim).abs() > self.band
    }

    /// What leads the damper instead, in a sentence.
    pub fn by_the_mark(&self, station: &str) -> String {
        format!("So small a turn {station} cannot show: set the damper by its mark.")
    }

    /// Where a reading stands.
    pub fn reached(&self, now: f64) -> Reached {
        if (now - self.aim).abs() <= self.band {
            Reached::There
        } else if (now > self.aim) == (self.before > self.aim) {
            Reached::GoOn
        } else {
            Reached::GoBack
        }
    }

    /// The same in words, with how far it is.
    pub fn words(&self, now: f64) -> String {
        let reached = self.reached(now);
        if reached == Reached::There {
            return reached.words().to_owned();
        }
        let percent = 100.0 * ((now - self.aim) / self.aim).abs();
        format!("{}; {} % to go", reached.words(), fixed(percent, 0))
    }

    /// Place of a value on the scale: 0 at its lower end, 1 at its upper end.
    pub fn part(&self, value: f64) -> f64 {
        ((value - self.low) / (self.high - self.low)).clamp(0.0, 1.0)
    }
}
