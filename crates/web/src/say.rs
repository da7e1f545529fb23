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

/// A time (seconds since 1970-01-01T00:00:00Z) as date and time of day by clocks that are so many
/// minutes ahead of UTC; where they are not, that it is UTC stands behind it.
pub fn time(seconds: i64, ahead: i32) -> String {
    let written = journal::time::written(seconds, ahead);
    let zone = if ahead == 0 { " UTC" } else { "" };
    format!("{}{zone}", written[..16].replace('T', " "))
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
            assert_eq!(time(seconds, 0), shown);
        }
        assert_eq!(time(951_782_400, -300), "2000-02-28 19:00");
        assert_eq!(time(951_782_400, 345), "2000-02-29 05:45");
    }
}
