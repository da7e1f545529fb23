//! Instruments: what they add to a reading.

use crate::error::Error;

/// A manometer, a hood or a flow meter.
///
/// A reading is `gain · true + zero + noise`. Gain and zero are the same in all readings of the
/// day, the noise is new in each. The estimate learns gain and zero from the readings as far as
/// these tell them.
#[derive(Debug, Clone, PartialEq)]
pub struct Instrument {
    /// Name, as the contractor calls it.
    pub name: String,
    /// Relative standard deviation of its gain.
    pub gain: f64,
    /// Standard deviation of its zero over the day (Pa, or m³/s).
    pub zero: f64,
    /// Standard deviation of one averaged reading in moving air, as a part of it.
    pub noise: f64,
    /// The same at a reading of zero (Pa, or m³/s).
    pub least_noise: f64,
    /// Smallest step of the display (Pa, or m³/s).
    pub resolution: f64,
    /// Least and greatest reading (Pa, or m³/s).
    pub range: [f64; 2],
}

impl Instrument {
    /// An ordinary digital manometer that was zeroed in the morning: 1 % of the reading, 0.2 Pa
    /// zero, 1 Pa (or 0.001 inWC: 0.25 Pa) steps, readings averaged over half a minute. Typical
    /// figures from memory; take those of the instrument's sheet.
    pub fn manometer(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            gain: 0.01,
            zero: 0.2,
            noise: 0.01,
            least_noise: 0.3,
            resolution: 0.25,
            range: [-2000.0, 2000.0],
        }
    }

    /// A powered hood, 3 % (typical, from memory; 6 % in the field with its set-up by the
    /// measurements of Stratton, Walker and Wray at LBNL, which belongs to the station).
    pub fn powered_hood(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            gain: 0.03,
            zero: 0.0,
            noise: 0.02,
            least_noise: 0.0005,
            resolution: 0.0005,
            range: [0.002, 0.3],
        }
    }

    /// A passive hood: 11 to 25 % in the field by the same measurements, of which half belongs to
    /// the station.
    pub fn passive_hood(name: &str) -> Self {
        Self {
            name: name.to_owned(),
            gain: 0.08,
            zero: 0.0,
            noise: 0.04,
            least_noise: 0.001,
            resolution: 0.0005,
            range: [0.01, 0.5],
        }
    }

    /// Checks the numbers.
    ///
    /// # Errors
    /// Refuses deviations that are negative, not finite, or all zero, and an empty range.
    pub fn check(&self) -> Result<(), Error> {
        let numbers = [
            ("gain", self.gain),
            ("zero", self.zero),
            ("noise", self.noise),
            ("least noise", self.least_noise),
            ("resolution", self.resolution),
        ];
        for (what, number) in numbers {
            if !(number.is_finite() && number >= 0.0) {
                return Err(Error::refused(
                    &format!("{what} of {}", self.name),
                    number,
                    "a number not below 0",
                ));
            }
        }
        if self.least_noise <= 0.0 && self.resolution <= 0.0 {
            return Err(Error(format!(
                "{} claims to read without any error; give its resolution",
                self.name
            )));
        }
        if self.range[0] < self.range[1] {
            Ok(())
        } else {
            Err(Error(format!(
                "the range of {} is empty: {} to {}",
                self.name, self.range[0], self.range[1]
            )))
        }
    }

    /// Standard deviation of one reading about `gain · true + zero`: noise, and the rounding of
    /// the display, `resolution/√12`.
    pub fn deviation(&self, reading: f64) -> f64 {
        let noise = f64::hypot(self.noise * reading, self.least_noise);
        f64::hypot(noise, self.resolution / 12.0_f64.sqrt())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_display_that_rounds_adds_its_step_over_the_root_of_twelve() {
        let mut instrument = Instrument::manometer("manometer");
        instrument.noise = 0.0;
        instrument.least_noise = 0.0;
        instrument.resolution = 1.0;
        assert!((instrument.deviation(50.0) - 0.288_675).abs() < 1e-6);
        instrument.noise = 0.02;
        assert!((instrument.deviation(50.0) - f64::hypot(1.0, 0.288_675)).abs() < 1e-6);
    }

    #[test]
    fn an_instrument_without_any_error_is_refused() {
        let mut instrument = Instrument::manometer("manometer");
        assert!(instrument.check().is_ok());
        instrument.least_noise = 0.0;
        instrument.resolution = 0.0;
        assert!(
            instrument
                .check()
                .unwrap_err()
                .0
                .contains("without any error")
        );
        instrument.resolution = f64::NAN;
        assert!(instrument.check().is_err());
    }
}
