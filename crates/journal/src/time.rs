//! Times with their zone, as far as a journal needs them: to see whether a clock went back, and on
//! which day something was read.

/// Seconds since 1970-01-01T00:00:00Z of a time as RFC 3339 writes it, fractions left out; `None`
/// if it is none or has no zone.
///
/// ```
/// use journal::time::seconds;
/// assert_eq!(seconds("1970-01-02T00:00:00Z"), Some(86_400));
/// assert_eq!(seconds("2026-05-12T09:14:03-05:00"), seconds("2026-05-12T14:14:03Z"));
/// assert_eq!(seconds("2026-05-12 09:14"), None);
/// ```
pub fn seconds(text: &str) -> Option<i64> {
    let text = text.trim();
    let bytes = text.as_bytes();
    if !text.is_ascii() || bytes.len() < 20 {
        return None;
    }
    let fixed = [(4, b'-'), (7, b'-'), (13, b':'), (16, b':')];
    if fixed.iter().any(|&(at, sign)| bytes[at] != sign) || !matches!(bytes[10], b'T' | b't' | b' ')
    {
        return None;
    }
    let number = |from: usize, to: usize| -> Option<i64> {
        let digits = text.get(from..to)?;
        digits
            .bytes()
            .all(|digit| digit.is_ascii_digit())
            .then(|| digits.parse().ok())?
    };
    let (year, month, day) = (number(0, 4)?, number(5, 7)?, number(8, 10)?);
    let (hour, minute, second) = (number(11, 13)?, number(14, 16)?, number(17, 19)?);
    if !(1..=12).contains(&month)
        || !(1..=31).contains(&day)
        || hour > 23
        || minute > 59
        || second > 60
    {
        return None;
    }
    let zone = text[19..].trim_start_matches(|c: char| c == '.' || c.is_ascii_digit());
    let offset = match zone.as_bytes() {
        [b'Z' | b'z'] => 0,
        [sign @ (b'+' | b'-'), h1, h2, b':', m1, m2] => {
            let digits = [h1, h2, m1, m2];
            if !digits.iter().all(|digit| digit.is_ascii_digit()) {
                return None;
            }
            let [h1, h2, m1, m2] = digits.map(|digit| i64::from(digit - b'0'));
            let size = (10 * h1 + h2) * 3600 + (10 * m1 + m2) * 60;
            if *sign == b'-' { -size } else { size }
        }
        _ => return None,
    };
    Some(days(year, month, day) * 86_400 + hour * 3600 + minute * 60 + second - offset)
}

/// The day of a time or a date as it was written at the place: `2026-05-12`; `None` if it begins with
/// no date of the calendar.
///
/// ```
/// use journal::time::day;
/// assert_eq!(day("2026-05-12T23:14:03-05:00"), Some("2026-05-12"));
/// assert_eq!(day("2026-02-30"), None);
/// ```
pub fn day(text: &str) -> Option<&str> {
    let date = text.trim().get(..10)?;
    let number = |from: usize, to: usize| -> Option<i64> {
        let digits = &date[from..to];
        let plain = digits.bytes().all(|digit| digit.is_ascii_digit());
        plain.then(|| digits.parse().ok())?
    };
    if !date.is_ascii() || date.as_bytes()[4] != b'-' || date.as_bytes()[7] != b'-' {
        return None;
    }
    let (year, month, day) = (number(0, 4)?, number(5, 7)?, number(8, 10)?);
    // A day that does not exist falls on or after the first of the next month.
    let next = days(year + month / 12, month % 12 + 1, 1);
    let known = (1..=12).contains(&month) && day >= 1 && days(year, month, day) < next;
    known.then_some(date)
}

/// Days since 1970-01-01 of a date of the Gregorian calendar, counted in years that begin in March
/// so that the leap day is the last of them.
fn days(year: i64, month: i64, day: i64) -> i64 {
    let year = if month <= 2 { year - 1 } else { year };
    let month = (month + 9) % 12;
    let leaps = year.div_euclid(4) - year.div_euclid(100) + year.div_euclid(400);
    365 * year + leaps + (153 * month + 2) / 5 + day - 719_469
}

/// The time of so many seconds since 1970-01-01T00:00:00Z as RFC 3339 writes it, by the clocks of a
/// zone that is so many minutes ahead of UTC; a zone that is none counts as UTC.
///
/// ```
/// use journal::time::written;
/// assert_eq!(written(86_400, 0), "1970-01-02T00:00:00Z");
/// assert_eq!(written(1_778_595_243, -300), "2026-05-12T09:14:03-05:00");
/// ```
pub fn written(seconds: i64, ahead: i32) -> String {
    // 0000-01-01 to 9999-12-31, what the form can write.
    let seconds = seconds.clamp(-62_167_219_200, 253_402_214_400);
    let ahead = if (-1080..=1080).contains(&ahead) {
        ahead
    } else {
        0
    };
    let local = seconds + 60 * i64::from(ahead);
    let (year, month, day) = date(local.div_euclid(86_400));
    let rest = local.rem_euclid(86_400);
    let zone = match ahead {
        0 => "Z".to_owned(),
        ahead => format!(
            "{}{:02}:{:02}",
            if ahead < 0 { '-' } else { '+' },
            ahead.abs() / 60,
            ahead.abs() % 60
        ),
    };
    format!(
        "{year:04}-{month:02}-{day:02}T{:02}:{:02}:{:02}{zone}",
        rest / 3600,
        rest / 60 % 60,
        rest % 60
    )
}

/// The date of so many days since 1970-01-01: the inverse of [`days`].
fn date(days: i64) -> (i64, i64, i64) {
    let shifted = days + 719_468;
    let era = shifted.div_euclid(146_097);
    let of_era = shifted.rem_euclid(146_097);
    let year_of_era = (of_era - of_era / 1460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month = (5 * of_year + 2) / 153;
    let day = of_year - (153 * month + 2) / 5 + 1;
    let year = year_of_era + era * 400 + i64::from(month >= 10);
    (year, (month + 2) % 12 + 1, day)
}

#[cfg(test)]
mod tests {
    use super::{seconds, written};

    #[test]
    fn what_is_written_is_read() {
        // Every 97,531 seconds of three centuries, in seven zones.
        for step in 0..97_000 {
            let time = -3_000_000_000 + 97_531 * step;
            for ahead in [0, -300, 345, 840, -720, 1, -1] {
                let text = written(time, ahead);
                assert_eq!(seconds(&text), Some(time), "{text}");
            }
        }
        assert_eq!(written(i64::MAX, 5000), "9999-12-31T00:00:00Z");
        assert_eq!(written(951_825_600, 0), "2000-02-29T12:00:00Z");
    }

    #[test]
    fn known_instants() {
        // (time, seconds since 1970), from the time values that POSIX defines.
        for (time, expected) in [
            ("1970-01-01T00:00:00Z", 0),
            ("2000-02-29T12:00:00Z", 951_825_600),
            ("2001-09-09T01:46:40Z", 1_000_000_000),
            ("2038-01-19T03:14:07Z", 2_147_483_647),
            ("2038-01-19T04:14:07.25+01:00", 2_147_483_647),
            ("1969-12-31T23:59:59Z", -1),
        ] {
            assert_eq!(seconds(time), Some(expected), "{time}");
        }
    }

    #[test]
    fn what_is_no_time() {
        for time in [
            "",
            "noon",
            "2026-05-12",
            "2026-05-12T09:14:03",
            "2026-13-12T09:14:03Z",
            "2026-05-12T25:14:03Z",
            "2026-05-12T09:14:03-5:00",
            "2026-05-12T09:14:03+0x:00",
            "2026-05-12T09:14:03Zoo",
            "２０26-05-12T09:14:03Z",
        ] {
            assert_eq!(seconds(time), None, "{time}");
        }
    }
}
