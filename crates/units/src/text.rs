//! Numbers as sentences and tables show them, in one way everywhere.

/// A number with fixed decimals and a true minus; what rounds to zero has no sign.
///
/// ```
/// assert_eq!(units::text::fixed(-1.26, 1), "−1.3");
/// assert_eq!(units::text::fixed(-0.04, 1), "0.0");
/// ```
pub fn fixed(number: f64, decimals: usize) -> String {
    let text = format!("{number:.decimals$}");
    match text.strip_prefix('-') {
        Some(size) if has_size(size) => format!("−{size}"),
        Some(size) => size.to_owned(),
        None => text,
    }
}

/// The same with a plus before a positive number.
///
/// ```
/// assert_eq!(units::text::signed(12.0, 0), "+12");
/// assert_eq!(units::text::signed(0.04, 1), "0.0");
/// ```
pub fn signed(number: f64, decimals: usize) -> String {
    let text = fixed(number, decimals);
    if number > 0.0 && has_size(&text) {
        format!("+{text}")
    } else {
        text
    }
}

fn has_size(text: &str) -> bool {
    text.contains(|character: char| ('1'..='9').contains(&character))
}

/// A text of numbers with minus signs instead of hyphens.
///
/// ```
/// assert_eq!(units::text::true_minus("-0.2 inWC (-50 Pa)"), "−0.2 inWC (−50 Pa)");
/// ```
pub fn true_minus(text: impl AsRef<str>) -> String {
    text.as_ref().replace('-', "−")
}

/// A count with its thousands set apart.
///
/// ```
/// assert_eq!([0, 999, 1000, 1_234_567].map(units::text::thousands), ["0", "999", "1,000", "1,234,567"]);
/// ```
pub fn thousands(count: usize) -> String {
    apart(&count.to_string())
}

/// Digits in groups of three from the right.
fn apart(digits: &str) -> String {
    let mut text = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

/// An amount in whole units of a currency.
///
/// ```
/// assert_eq!(units::text::money("$", 1857.2), "$1,857");
/// assert_eq!(units::text::money("CAD", -40.0), "CAD −40");
/// ```
pub fn money(currency: &str, amount: f64) -> String {
    let whole = fixed(amount, 0);
    let number = match whole.strip_prefix('−') {
        Some(size) => format!("−{}", apart(size)),
        None => apart(&whole),
    };
    if currency.chars().any(char::is_alphabetic) {
        format!("{currency} {number}")
    } else {
        format!("{currency}{number}")
    }
}

/// The text with its first letter large.
///
/// ```
/// assert_eq!(units::text::capital("supply damper"), "Supply damper");
/// ```
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
