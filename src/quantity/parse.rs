//! From text to a quantity, and what is wrong with a text that is none.

use super::number::{self, NumberFault};
use super::{Quantity, UnitId, Written, table};

/// Why a text is not the quantity that was expected. [`QuantityFault::message`] says what is wrong, [`QuantityFault::help`] what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum QuantityFault {
    /// The number is missing or not spelt as the record profile wants it.
    Number {
        /// What was expected.
        expected: Quantity,
        /// The whole text.
        text: String,
        /// What is wrong with the number.
        fault: NumberFault,
    },
    /// A number without a unit.
    UnitMissing {
        /// What was expected.
        expected: Quantity,
        /// The number.
        number: String,
    },
    /// No unit of any quantity; `offer` is the nearest unit of the expected one.
    UnitUnknown {
        /// What was expected.
        expected: Quantity,
        /// The unit as written.
        unit: String,
        /// The nearest unit of the expected quantity.
        offer: Option<&'static str>,
        /// Whether only letters of another alphabet stand between it and `offer`.
        confusable: bool,
    },
    /// A unit of another quantity; `offer` is what was probably meant.
    WrongQuantity {
        /// What was expected.
        expected: Quantity,
        /// The unit as written.
        unit: String,
        /// What it is a unit of.
        found: Quantity,
        /// What was probably meant.
        offer: Option<String>,
    },
}

impl QuantityFault {
    /// Readable name of the finding this fault gives.
    pub fn rule(&self) -> &'static str {
        match self {
            QuantityFault::Number { fault, .. } => match fault {
                NumberFault::DecimalComma(_) => "decimal-comma",
                NumberFault::Grouped(_) => "digits-grouped",
                NumberFault::Minus(_) => "minus-sign",
                NumberFault::ForeignDigits(_) => "digits-foreign",
                NumberFault::NotFinite => "number-out-of-range",
                NumberFault::Missing | NumberFault::Spelling(_) => "number-spelling",
            },
            QuantityFault::UnitMissing { .. } => "unit-missing",
            QuantityFault::UnitUnknown { confusable: true, .. } => "unit-confusable",
            QuantityFault::UnitUnknown { .. } => "unit-unknown",
            QuantityFault::WrongQuantity { .. } => "unit-wrong-quantity",
        }
    }
    /// What is wrong, in one sentence without a full stop.
    pub fn message(&self) -> String {
        match self {
            QuantityFault::Number { expected, text, fault } => number_message(*expected, text, fault),
            QuantityFault::UnitMissing { expected, number } => {
                format!("`{number}` has no unit; {} is expected here", expected.title())
            }
            QuantityFault::UnitUnknown { expected, unit, confusable: true, .. } => {
                format!("`{unit}` holds a letter that only looks like one of a unit of {}", expected.title())
            }
            QuantityFault::UnitUnknown { expected, unit, .. } => format!("`{unit}` is not a unit of {}", expected.title()),
            QuantityFault::WrongQuantity { expected, unit, found, .. } => {
                format!("`{unit}` is a unit of {}, but {} is expected here", found.title(), expected.title())
            }
        }
    }
    /// What to do.
    pub fn help(&self) -> String {
        match self {
            QuantityFault::Number { text, fault: NumberFault::DecimalComma(fixed), .. } => decimal_help(text, fixed),
            QuantityFault::Number { expected, fault, .. } => number_help(*expected, fault),
            QuantityFault::UnitMissing { expected, number } => {
                format!("write {} (units: {})", spelled(number, expected.canonical().symbol()), unit_list(*expected))
            }
            QuantityFault::UnitUnknown { expected, offer: Some(o), .. } => {
                format!("did you mean `{o}`? units: {}", unit_list(*expected))
            }
            QuantityFault::UnitUnknown { expected, offer: None, .. } => format!("units: {}", unit_list(*expected)),
            QuantityFault::WrongQuantity { offer: Some(o), .. } => format!("did you mean `{o}`?"),
            QuantityFault::WrongQuantity { expected, offer: None, .. } => format!("units: {}", unit_list(*expected)),
        }
    }
}

fn number_message(expected: Quantity, text: &str, fault: &NumberFault) -> String {
    match fault {
        NumberFault::Missing => format!("`{text}` does not start with a number; {} is expected here", expected.title()),
        NumberFault::DecimalComma(_) => format!("`{text}` has a decimal comma"),
        NumberFault::Grouped(_) => format!("`{text}` has a separator between its digits"),
        NumberFault::Minus(_) => format!("`{text}` starts with a dash that is not the minus sign `-`"),
        NumberFault::ForeignDigits(_) => format!("`{text}` has digits that are not 0 to 9"),
        NumberFault::NotFinite => format!("`{text}` is too large or too small for a number"),
        NumberFault::Spelling(_) => format!("`{text}` is not a plain decimal number"),
    }
}

/// A comma before three digits sets off thousands for some.
fn decimal_help(text: &str, fixed: &str) -> String {
    let thousands = number::thousands(text).map(|whole| format!("; thousands? write `{whole}`")).unwrap_or_default();
    format!("decimal comma? write `{fixed}`{thousands}")
}

fn number_help(expected: Quantity, fault: &NumberFault) -> String {
    match fault {
        NumberFault::DecimalComma(fixed)
        | NumberFault::Grouped(fixed)
        | NumberFault::Minus(fixed)
        | NumberFault::ForeignDigits(fixed)
        | NumberFault::Spelling(Some(fixed)) => format!("write `{fixed}`"),
        NumberFault::Spelling(None) => {
            "digits, an optional point, an optional exponent: `0.25`, `1.2e-6`; no hexadecimal, plus or leading zero".into()
        }
        NumberFault::NotFinite => "check the exponent".into(),
        NumberFault::Missing => {
            format!("write a number, a space and a unit, e.g. {}", spelled("12.5", expected.canonical().symbol()))
        }
    }
}

fn spelled(number: &str, symbol: &str) -> String {
    format!("`{number} {symbol}`")
}

fn unit_list(quantity: Quantity) -> String {
    quantity.units().iter().map(|u| u.symbol).collect::<Vec<_>>().join(", ")
}

/// Reads a written quantity: a number, a space (optional), a unit of `expected`. Digits are kept.
///
/// ```
/// use gripbook::quantity::{Quantity, parse};
/// let strength = parse("1.20 MPa", Quantity::Stress).unwrap();
/// assert_eq!((&*strength.text, strength.si), ("1.20 MPa", 1.2e6));
/// let load = parse("20kg", Quantity::Force).unwrap_err();
/// assert!(load.help().contains("20 kgf"));
/// ```
pub fn parse(text: &str, expected: Quantity) -> Result<Written, QuantityFault> {
    let trimmed = text.trim_matches(' ');
    if let Some(fault) = number::foreign(trimmed) {
        return Err(QuantityFault::Number { expected, text: trimmed.into(), fault });
    }
    let (digits, symbol) = number::split(trimmed);
    let value = number::read(digits).map_err(|fault| QuantityFault::Number { expected, text: trimmed.into(), fault })?;
    if let Some(fault) = broken_number(symbol) {
        return Err(QuantityFault::Number { expected, text: trimmed.into(), fault });
    }
    match expected.unit(symbol) {
        Some(unit) => written(trimmed, value, unit, expected),
        None if symbol.is_empty() => Err(QuantityFault::UnitMissing { expected, number: digits.into() }),
        None => Err(unit_fault(digits, symbol, expected)),
    }
}

fn written(text: &str, value: f64, unit: UnitId, expected: Quantity) -> Result<Written, QuantityFault> {
    let si = unit.unit().si_from_number(value);
    if !si.is_finite() {
        return Err(QuantityFault::Number { expected, text: text.into(), fault: NumberFault::NotFinite });
    }
    Ok(Written { text: text.into(), value, si, unit })
}

/// Reads a quantity typed on a command line: as [`parse`] does, and a length also in fractions of an inch.
///
/// ```
/// use gripbook::quantity::{Quantity, parse_typed};
/// assert_eq!(parse_typed("1-1/4in", Quantity::Length).unwrap().si, 0.03175);
/// ```
pub fn parse_typed(text: &str, expected: Quantity) -> Result<Written, QuantityFault> {
    match inches(text).filter(|_| expected == Quantity::Length) {
        Some(plain) => parse(&plain, expected),
        None => parse(text, expected),
    }
}

/// `1/2in`, `1-1/4 in`, `1 1/4"` or `0.5"` in plain inches.
fn inches(text: &str) -> Option<String> {
    let text = text.trim();
    let number = ["inch", "in", "\"", "″"].iter().find_map(|unit| text.strip_suffix(*unit))?.trim_end();
    let Some((front, below)) = number.rsplit_once('/') else {
        return text.ends_with(['"', '″']).then(|| format!("{number} in"));
    };
    let (whole, above) = front.rsplit_once(['-', ' ']).unwrap_or(("0", front));
    let count = |digits: &str| digits.trim().parse::<u32>().ok();
    let (whole, above, below) = (count(whole)?, count(above)?, count(below)?);
    (below > 0).then(|| format!("{} in", f64::from(whole) + f64::from(above) / f64::from(below)))
}

/// What follows the number shows that the number itself was misspelt (`0x1F`, `1_000`, `12:30`, `1.2.3`, `1/2`).
fn broken_number(rest: &str) -> Option<NumberFault> {
    let mut chars = rest.chars();
    let first = chars.next()?;
    let digit_next = chars.next().is_some_and(|c| c.is_ascii_digit());
    (matches!(first, '_' | ':' | '.') || (matches!(first, 'x' | 'o' | 'X' | '/') && digit_next))
        .then_some(NumberFault::Spelling(None))
}

/// The two texts of a range: `0.1mm..1.5mm`, or as answers print it, `0.1 mm to 1.5 mm` or `0.1 to 1.5 mm`; `None` for a
/// single value.
pub fn range_ends(text: &str) -> Option<(String, String)> {
    let (low, high) = text.split_once("..").or_else(|| text.split_once(" to "))?;
    let (low, high) = (low.trim(), high.trim());
    let unit = if number::split(low).1.is_empty() { number::split(high).1 } else { "" };
    Some((format!("{low} {unit}").trim_end().to_owned(), high.to_owned()))
}

/// Reads a quantity by its unit alone, trying every quantity; for command-line text whose quantity the caller matches next.
pub fn parse_any(text: &str) -> Vec<Written> {
    table::ALL.iter().filter_map(|&q| parse(text, q).ok()).collect()
}

fn unit_fault(digits: &str, symbol: &str, expected: Quantity) -> QuantityFault {
    if let Some(unit) = unconfused(symbol).and_then(|plain| expected.unit(&plain)) {
        return QuantityFault::UnitUnknown { expected, unit: symbol.into(), offer: Some(unit.symbol()), confusable: true };
    }
    let found = table::ALL.iter().copied().find(|q| q.unit(symbol).is_some());
    if let Some(found) = found {
        let offer = weight_offer(symbol, expected).map(|u| format!("{digits} {u}"));
        let offer = offer.or_else(|| same_letters(symbol, expected).map(|u| format!("{digits} {u}")));
        return QuantityFault::WrongQuantity { expected, unit: symbol.into(), found, offer };
    }
    if let Some(weight) = weight_offer(symbol, expected) {
        let offer = Some(format!("{digits} {weight}"));
        return QuantityFault::WrongQuantity { expected, unit: symbol.into(), found: Quantity::Mass, offer };
    }
    QuantityFault::UnitUnknown { expected, unit: symbol.into(), offer: nearest(symbol, expected), confusable: false }
}

/// A mass where a force is meant.
fn weight_offer(symbol: &str, expected: Quantity) -> Option<&'static str> {
    match (expected, &*symbol.to_lowercase()) {
        (Quantity::Force, "kg" | "kgs" | "kilo" | "kilos") => Some("kgf"),
        (Quantity::Force, "lb" | "lbs") => Some("lbf"),
        _ => None,
    }
}

fn same_letters(symbol: &str, expected: Quantity) -> Option<&'static str> {
    spellings(expected).find(|(_, spelling)| spelling.to_lowercase() == symbol.to_lowercase()).map(|(unit, _)| unit)
}

/// Every spelling of the units of a quantity, with the canonical one of its unit.
fn spellings(quantity: Quantity) -> impl Iterator<Item = (&'static str, &'static str)> {
    quantity.units().iter().flat_map(|u| u.aliases.iter().chain([&u.symbol]).map(move |s| (u.symbol, *s)))
}

/// The unit a misspelt one stands for beyond doubt: the number keeps its size. The same letters, or one spelling nearest
/// that begins alike; none where the letters are a unit with a prefix of the SI (`MN`, `mPa`, `hN`).
pub fn sure_unit(symbol: &str, expected: Quantity) -> Option<&'static str> {
    const PREFIXES: [&str; 12] = ["G", "M", "k", "h", "da", "d", "c", "m", "µ", "u", "n", "T"];
    const WITHOUT_PREFIX: [&str; 7] = ["m", "g", "s", "N", "Pa", "J", "gf"];
    let base = |rest: &str| WITHOUT_PREFIX.contains(&rest) || (rest.starts_with('N') && expected.unit(rest).is_some());
    if PREFIXES.iter().any(|prefix| symbol.strip_prefix(prefix).is_some_and(base)) {
        return None;
    }
    let near = nearest(symbol, expected)?;
    let lower = symbol.to_lowercase();
    let same = |spelling: &str| spelling.to_lowercase().trim_start_matches('°') == lower.trim_start_matches('°');
    if spellings(expected).any(|(unit, spelling)| unit == near && same(spelling)) {
        return Some(near);
    }
    let apart = |spelling: &str| edit_distance(&lower, &spelling.to_lowercase());
    let least = spellings(expected).map(|(_, spelling)| apart(spelling)).min()?;
    let mut nearest = spellings(expected).filter(|(_, spelling)| apart(spelling) == least);
    let alike = near.to_lowercase().chars().next() == lower.chars().next();
    (alike && nearest.all(|(unit, _)| unit == near)).then_some(near)
}

/// The unit of the expected quantity nearest in spelling.
fn nearest(symbol: &str, expected: Quantity) -> Option<&'static str> {
    let lower = symbol.to_lowercase();
    if let Some(exact) = same_letters(symbol, expected) {
        return Some(exact);
    }
    // `F` is `°F` without its sign before it is `K`.
    let signless = |u: &&'static super::table::Unit| u.symbol.strip_prefix('°').is_some_and(|bare| bare.to_lowercase() == lower);
    if let Some(unit) = expected.units().iter().find(signless) {
        return Some(unit.symbol);
    }
    let scored = spellings(expected).map(|(unit, s)| (edit_distance(&lower, &s.to_lowercase()), unit));
    scored.min_by_key(|(d, _)| *d).filter(|(d, _)| *d <= 2 && *d < symbol.chars().count().max(2)).map(|(_, u)| u)
}

/// Letters of other alphabets that look like Latin ones, replaced; `None` when there are none.
fn unconfused(symbol: &str) -> Option<String> {
    let map = |c: char| match c {
        'М' | 'Μ' => 'M',
        'Р' | 'Ρ' => 'P',
        'а' | 'α' => 'a',
        'Ν' => 'N',
        'К' | 'Κ' => 'K',
        'С' => 'C',
        'т' => 'm',
        'к' => 'k',
        'с' => 'c',
        'о' | 'ο' => 'o',
        'р' | 'ρ' => 'p',
        'μ' => 'µ',
        c => c,
    };
    let plain: String = symbol.chars().map(map).collect();
    (plain != symbol).then_some(plain)
}

/// Edit distance (insertions, deletions, substitutions, swaps of neighbours) between two short texts.
pub fn edit_distance(a: &str, b: &str) -> usize {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let mut rows = vec![vec![0usize; b.len() + 1]; a.len() + 1];
    for (i, row) in rows.iter_mut().enumerate() {
        row[0] = i;
    }
    for (j, cell) in rows[0].iter_mut().enumerate() {
        *cell = j;
    }
    for i in 1..=a.len() {
        for j in 1..=b.len() {
            let cost = usize::from(a[i - 1] != b[j - 1]);
            let mut best = (rows[i - 1][j] + 1).min(rows[i][j - 1] + 1).min(rows[i - 1][j - 1] + cost);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                best = best.min(rows[i - 2][j - 2] + 1);
            }
            rows[i][j] = best;
        }
    }
    rows[a.len()][b.len()]
}
