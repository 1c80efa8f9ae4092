//! From an amount to text: so many significant digits, canonical spelling.

/// `46.5 MPa`: the number with so many significant digits, a space, the unit's canonical spelling.
pub fn amount(value: f64, unit: &str, significant: usize) -> String {
    let number = number(value, significant);
    with_unit(&number, unit)
}

/// A number with its unit. The degree of a plane angle stands at its number, as the SI brochure has it (5.4.3).
fn with_unit(number: &str, unit: &str) -> String {
    match unit {
        "1" => number.to_owned(),
        "°" => format!("{number}°"),
        symbol => format!("{number} {symbol}"),
    }
}

/// As [`amount`], with a number that is [`trimmed`].
pub fn amount_trimmed(value: f64, unit: &str, significant: usize) -> String {
    with_unit(&trimmed(value, significant), unit)
}

/// A number with so many decimals; what rounds to zero has no sign.
pub fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| matches!(b, b'0' | b'.')) => rest.to_owned(),
        _ => text,
    }
}

/// As [`number`], without zeros at the end of its decimals: a number somebody typed, told again.
pub fn trimmed(value: f64, significant: usize) -> String {
    let text = number(value, significant);
    if text.contains('.') && !text.contains('e') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// A number with so many significant digits, plain between 1e-4 and 1e7, else with an exponent.
pub fn number(value: f64, significant: usize) -> String {
    let significant = significant.max(1);
    if value == 0.0 {
        return "0".into();
    }
    if !value.is_finite() {
        return value.to_string();
    }
    let scientific = format!("{value:.*e}", significant - 1);
    let exponent: i32 = scientific.split_once('e').and_then(|(_, e)| e.parse().ok()).unwrap_or(0);
    if !(-4..7).contains(&exponent) {
        return scientific;
    }
    let decimals = i32::try_from(significant).unwrap_or(i32::MAX) - 1 - exponent;
    if decimals >= 0 {
        return format!("{value:.*}", usize::try_from(decimals).unwrap_or(0));
    }
    let rounded: f64 = scientific.parse().unwrap_or(value);
    format!("{rounded:.0}")
}
