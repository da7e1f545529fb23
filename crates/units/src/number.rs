//! Numbers as people type them.

/// Why the beginning of a text is not a number.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum NumberError {
    /// No digits, or separators that do not group them sensibly.
    Malformed,
    /// A comma that may separate thousands or decimals.
    AmbiguousComma(String),
}

/// Reads a number at the beginning of `text` and returns it with the text that follows.
///
/// Grammar: sign, then digits with a decimal point or comma, or grouped thousands; then an
/// exponent (`1e3`); or a fraction (`1/2`), alone or after a whole number (`6 1/2`, `6-1/2`).
pub(crate) fn leading(text: &str) -> Result<(f64, &str), NumberError> {
    let text = text.trim_start();
    let (sign, unsigned) = match text.as_bytes().first() {
        Some(b'-') => (-1.0, text[1..].trim_start()),
        Some(b'+') => (1.0, text[1..].trim_start()),
        _ => (1.0, text),
    };
    let (digits, rest) = split_while(unsigned, |c| c.is_ascii_digit() || c == '.' || c == ',');
    let whole = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());

    if whole {
        if let Some((fraction, rest)) = rest
            .strip_prefix('/')
            .and_then(|below| fraction(digits, below))
        {
            return Ok((sign * fraction, rest));
        }
        if let Some((fraction, rest)) = fraction_after_whole(rest) {
            return Ok((sign * (decimal(digits)? + fraction), rest));
        }
    }

    let mut number = standard_form(digits)?;
    let mut rest = rest;
    if let Some((exponent, after)) = exponent(rest) {
        number.push('e');
        number.push_str(exponent);
        rest = after;
    }
    Ok((sign * decimal(&number)?, rest))
}

fn split_while(text: &str, accept: impl Fn(char) -> bool) -> (&str, &str) {
    let end = text.find(|c| !accept(c)).unwrap_or(text.len());
    text.split_at(end)
}

fn split_digits(text: &str) -> (&str, &str) {
    split_while(text, |c| c.is_ascii_digit())
}

fn decimal(text: &str) -> Result<f64, NumberError> {
    text.parse().map_err(|_| NumberError::Malformed)
}

/// `above` / the digits at the start of `below`.
fn fraction<'a>(above: &str, below: &'a str) -> Option<(f64, &'a str)> {
    let (below, rest) = split_digits(below);
    let denominator: f64 = below.parse().ok().filter(|value| *value > 0.0)?;
    Some((above.parse::<f64>().ok()? / denominator, rest))
}

/// The proper fraction in ` 1/2` or `-1/2`.
fn fraction_after_whole(text: &str) -> Option<(f64, &str)> {
    let start = text
        .strip_prefix('-')
        .or_else(|| text.starts_with(' ').then(|| text.trim_start()))?;
    let (above, rest) = split_digits(start);
    let (value, rest) = fraction(above, rest.strip_prefix('/')?)?;
    (value < 1.0).then_some((value, rest))
}

fn exponent(text: &str) -> Option<(&str, &str)> {
    let after = text.strip_prefix(['e', 'E'])?;
    let unsigned = after.strip_prefix(['-', '+']).unwrap_or(after);
    let (digits, rest) = split_digits(unsigned);
    let end = after.len() - rest.len();
    (!digits.is_empty()).then(|| (&after[..end], rest))
}

/// Digits with at most one decimal point, from either habit of separating.
fn standard_form(digits: &str) -> Result<String, NumberError> {
    let points = digits.matches('.').count();
    let commas = digits.matches(',').count();
    let (whole, decimals) = match (points, commas) {
        (0, 0) => (digits.to_owned(), None),
        (1, 0) => split_at(digits, '.'),
        (0, 1) => {
            let (whole, decimals) = split_at(digits, ',');
            let thousands = (1..=3).contains(&whole.len())
                && !whole.starts_with('0')
                && decimals.is_some_and(|d| d.len() == 3);
            if thousands {
                return Err(NumberError::AmbiguousComma(digits.to_owned()));
            }
            (whole, decimals)
        }
        (_, 0) => (ungroup(digits, '.')?, None),
        (0, _) => (ungroup(digits, ',')?, None),
        _ => {
            let (decimal_mark, group_mark) = if digits.rfind('.') > digits.rfind(',') {
                ('.', ',')
            } else {
                (',', '.')
            };
            if digits.matches(decimal_mark).count() != 1 {
                return Err(NumberError::Malformed);
            }
            let (whole, decimals) = split_at(digits, decimal_mark);
            (ungroup(&whole, group_mark)?, decimals)
        }
    };
    match decimals {
        None if !whole.is_empty() => Ok(whole),
        Some(decimals) if !decimals.is_empty() => Ok(format!("{whole}.{decimals}")),
        _ => Err(NumberError::Malformed),
    }
}

fn split_at(digits: &str, mark: char) -> (String, Option<&str>) {
    match digits.split_once(mark) {
        Some((whole, decimals)) => (whole.to_owned(), Some(decimals)),
        None => (digits.to_owned(), None),
    }
}

/// `1,234,567` without its marks: one to three digits, then groups of exactly three.
fn ungroup(digits: &str, mark: char) -> Result<String, NumberError> {
    let mut groups = digits.split(mark);
    let first = groups.next().unwrap_or_default();
    if (1..=3).contains(&first.len()) && groups.all(|group| group.len() == 3) {
        Ok(digits.replace(mark, ""))
    } else {
        Err(NumberError::Malformed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_as_people_type_them() {
        for (text, value, rest) in [
            ("70 cfm", 70.0, " cfm"),
            ("-10F", -10.0, "F"),
            ("- 10F", -10.0, "F"),
            ("+3", 3.0, ""),
            (".5 in", 0.5, " in"),
            ("1,5 m", 1.5, " m"),
            ("0,125 m", 0.125, " m"),
            ("1234,567 m", 1234.567, " m"),
            ("1,234.5 m", 1234.5, " m"),
            ("1.234,5 m", 1234.5, " m"),
            ("1,234,567 m", 1234567.0, " m"),
            ("1e-3 m2", 1e-3, " m2"),
            ("2E3 m2", 2e3, " m2"),
            ("5 each", 5.0, " each"),
            ("1/2 in", 0.5, " in"),
            ("6 1/2 in", 6.5, " in"),
            ("6-1/2in", 6.5, "in"),
            ("6-inch", 6.0, "-inch"),
            ("5 1/h", 5.0, " 1/h"),
            ("1/0 in", 1.0, "/0 in"),
        ] {
            assert_eq!(leading(text), Ok((value, rest)), "{text}");
        }
    }

    #[test]
    fn what_is_not_a_number() {
        for text in [
            "", "cfm", "-", "5. cfm", "1,23,4", "1..2", "1.2,3.4", "NaN", "inf", ",5,",
        ] {
            assert_eq!(leading(text), Err(NumberError::Malformed), "{text}");
        }
        assert_eq!(
            leading("1,234 ft2"),
            Err(NumberError::AmbiguousComma("1,234".to_owned()))
        );
    }
}
