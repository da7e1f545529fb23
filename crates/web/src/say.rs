//! Numbers and times as pages show them.

use air::STANDARD_DENSITY;
use units::text::{thousands, true_minus};
use units::{Quantity, System, VolumeFlow};

/// A mass flow (kg/s) as volume at standard density, one system.
pub fn short_flow(mass_flow: f64, system: System) -> String {
    true_minus(VolumeFlow::from_si(mass_flow / STANDARD_DENSITY).show(system))
}

/// The same without its unit.
pub fn bare_flow(mass_flow: f64, system: System) -> String {
    let text = short_flow(mass_flow, system);
    text.split(' ').next().unwrap_or_default().to_owned()
}

/// `1 value`, `2 values`.
pub fn counted(count: usize, one: &str, more: &str) -> String {
    format!(
        "{} {}",
        thousands(count),
        if count == 1 { one } else { more }
    )
}

/// A text as it stands in the query of an address.
pub fn encoded(text: &str) -> String {
    let mut encoded = String::new();
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            encoded.push(char::from(byte));
        } else {
            encoded.push_str(&format!("%{byte:02X}"));
        }
    }
    encoded
}

/// A key of the job file in words: `floor_area` is `floor area`.
pub fn key_words(key: &str) -> String {
    key.replace('_', " ")
}

/// A time (seconds since 1970-01-01T00:00:00Z) as date and time of day, UTC.
pub fn time(seconds: i64) -> String {
    let days = seconds.div_euclid(86_400);
    let rest = seconds.rem_euclid(86_400);
    // Days of the Gregorian calendar counted in years that begin in March (Hinnant's algorithm).
    let shifted = days + 719_468;
    let era = shifted.div_euclid(146_097);
    let of_era = shifted.rem_euclid(146_097);
    let year_of_era = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month_from_march = (5 * of_year + 2) / 153;
    let day = of_year - (153 * month_from_march + 2) / 5 + 1;
    let month = if month_from_march < 10 {
        month_from_march + 3
    } else {
        month_from_march - 9
    };
    let year = year_of_era + era * 400 + i64::from(month <= 2);
    format!(
        "{year:04}-{month:02}-{day:02} {:02}:{:02} UTC",
        rest / 3600,
        rest / 60 % 60
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses() {
        for (text, query) in [
            ("9 ft 4 in", "9%20ft%204%20in"),
            ("a&b=c#d", "a%26b%3Dc%23d"),
            ("½", "%C2%BD"),
        ] {
            assert_eq!(super::encoded(text), query);
        }
    }

    #[test]
    fn times() {
        // Known moments: the epoch, a leap day, 32 bits of seconds, the second before the epoch.
        for (seconds, shown) in [
            (0, "1970-01-01 00:00 UTC"),
            (951_782_400, "2000-02-29 00:00 UTC"),
            (2_147_483_647, "2038-01-19 03:14 UTC"),
            (-1, "1969-12-31 23:59 UTC"),
        ] {
            assert_eq!(time(seconds), shown);
        }
    }
}
