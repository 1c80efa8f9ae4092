//! The number of a written quantity: plain decimal or exponent, by the record profile.

/// Why a text is no number of the record profile.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NumberFault {
    /// Nothing numeric at the start.
    Missing,
    /// `46,5`: the text with a point instead.
    DecimalComma(String),
    /// A thousands mark (thin space, space, underscore, apostrophe) between digits: the text without it.
    Grouped(String),
    /// U+2212 or another dash used as minus: the text with `-`.
    Minus(String),
    /// Digits that are not ASCII: the text with ASCII digits.
    ForeignDigits(String),
    /// Leading zero, leading plus, bare point, hexadecimal, octal, sexagesimal: the plain spelling if there is one.
    Spelling(Option<String>),
    /// Not a finite number in double precision, or lost to underflow.
    NotFinite,
}

/// Splits a written quantity into the text of its number and the text of its unit (either may be empty).
pub fn split(text: &str) -> (&str, &str) {
    let text = text.trim_matches(' ');
    let end = number_end(text);
    let (number, rest) = text.split_at(end);
    (number, rest.trim_start_matches(' '))
}

/// Bytes of the longest prefix that reads as a plain number.
fn number_end(text: &str) -> usize {
    let b = text.as_bytes();
    let mut i = usize::from(b.first() == Some(&b'-'));
    let digits = |mut i: usize| {
        while b.get(i).is_some_and(u8::is_ascii_digit) {
            i += 1;
        }
        i
    };
    let whole = digits(i);
    if whole == i {
        return 0;
    }
    i = whole;
    if b.get(i) == Some(&b'.') {
        let frac = digits(i + 1);
        if frac > i + 1 {
            i = frac;
        }
    }
    if matches!(b.get(i), Some(b'e' | b'E')) {
        let sign = i + 1 + usize::from(matches!(b.get(i + 1), Some(b'+' | b'-')));
        let exp = digits(sign);
        if exp > sign {
            i = exp;
        }
    }
    i
}

/// Reads the number of the record profile.
pub fn read(text: &str) -> Result<f64, NumberFault> {
    if let Some(fault) = foreign(text) {
        return Err(fault);
    }
    if text.is_empty() {
        return Err(NumberFault::Missing);
    }
    let unsigned = text.strip_prefix('-').unwrap_or(text);
    let leading_zero = unsigned.len() > 1 && unsigned.starts_with('0') && unsigned.as_bytes()[1].is_ascii_digit();
    if leading_zero {
        let plain = unsigned.trim_start_matches('0');
        let plain = if plain.starts_with(|c: char| c.is_ascii_digit()) { plain.to_string() } else { format!("0{plain}") };
        let sign = if text.starts_with('-') { "-" } else { "" };
        return Err(NumberFault::Spelling(Some(format!("{sign}{plain}"))));
    }
    if number_end(text) != text.len() {
        return Err(NumberFault::Spelling(None));
    }
    let value: f64 = text.parse().map_err(|_| NumberFault::Spelling(None))?;
    let written_zero = !text.split(['e', 'E']).next().unwrap_or("").contains(|c: char| ('1'..='9').contains(&c));
    let lost = value == 0.0 && !written_zero;
    if !value.is_finite() || lost || (value != 0.0 && value.is_subnormal()) {
        return Err(NumberFault::NotFinite);
    }
    if value == 0.0 && text.starts_with('-') {
        return Err(NumberFault::Spelling(Some(text.trim_start_matches('-').to_string())));
    }
    Ok(value)
}

/// Faults of the raw text that a plain-number scan would cut short: decimal commas, dashes, grouping, foreign digits.
pub fn foreign(text: &str) -> Option<NumberFault> {
    let mut chars = text.chars();
    let first = chars.next()?;
    if matches!(first, '\u{2212}' | '\u{2013}' | '\u{2014}' | '\u{FF0D}') {
        return Some(NumberFault::Minus(format!("-{}", chars.as_str())));
    }
    if first == '+' {
        return Some(NumberFault::Spelling(Some(chars.as_str().to_string())));
    }
    if first == '.' && chars.as_str().starts_with(|c: char| c.is_ascii_digit()) {
        return Some(NumberFault::Spelling(Some(format!("0{text}"))));
    }
    if let Some(fault) = foreign_digits(text) {
        return Some(fault);
    }
    between_digits(text)
}

fn foreign_digits(text: &str) -> Option<NumberFault> {
    let lead: String = text.chars().take_while(|c| !c.is_alphabetic() || c.is_numeric()).collect();
    if !lead.chars().any(|c| ('\u{FF10}'..='\u{FF19}').contains(&c)) {
        return None;
    }
    let plain = text
        .chars()
        .map(|c| match c {
            '\u{FF10}'..='\u{FF19}' => char::from(b'0' + ((c as u32 - 0xFF10) as u8)),
            '\u{FF0E}' => '.',
            c => c,
        })
        .collect();
    Some(NumberFault::ForeignDigits(plain))
}

/// What other readers take for a decimal comma or a thousands mark.
const MARKS: [char; 7] = [',', '\u{2009}', '\u{202F}', '\u{00A0}', '_', '\'', ' '];

/// A mark between two digits; the spelling offered is the same number, or none.
fn between_digits(text: &str) -> Option<NumberFault> {
    let chars: Vec<char> = text.chars().collect();
    let digit = |i: usize| chars.get(i).is_some_and(char::is_ascii_digit);
    let inner = |i: usize| i > 0 && digit(i - 1) && digit(i + 1) && (chars[i] != ' ' || three_digits(&chars[i + 1..]));
    let at = (0..chars.len()).find(|&i| MARKS.contains(&chars[i]) && inner(i))?;
    if !chars[..at].iter().all(|c| c.is_ascii_digit() || matches!(c, '-' | '.') || MARKS.contains(c)) {
        return None;
    }
    let of_number = |i: usize| {
        let mark = MARKS.contains(&chars[i]) || chars[i] == '.';
        digit(i) || (i == 0 && chars[0] == '-') || (mark && inner(i))
    };
    let end = (0..chars.len()).find(|&i| !of_number(i)).unwrap_or(chars.len());
    let (run, rest): (String, String) = (chars[..end].iter().collect(), chars[end..].iter().collect());
    Some(match plain(&run).filter(|_| end > at) {
        Some((number, true)) => NumberFault::DecimalComma(number + &rest),
        Some((number, false)) => NumberFault::Grouped(number + &rest),
        None => NumberFault::Spelling(None),
    })
}

/// The plain spelling of a number with marks between its digits, and whether a comma was its decimal mark: `1.200,5` and
/// `1,200.5` are 1200.5. `None` where the marks are in no such order: a group of thousands has three digits.
pub fn plain(run: &str) -> Option<(String, bool)> {
    let (sign, body) = run.strip_prefix('-').map_or(("", run), |rest| ("-", rest));
    let count = |mark: char| body.matches(mark).count();
    let decimal = match (count('.'), count(',')) {
        (0, 0) => None,
        (1, 0) => Some('.'),
        (0, 1) => Some(','),
        (_, 0) => return None,
        (0, _) => None,
        _ => body.chars().rev().find(|c| matches!(c, '.' | ',')).filter(|mark| count(*mark) == 1).map(Some)?,
    };
    let (whole, fraction) = match decimal {
        Some(mark) => body.rsplit_once(mark)?,
        None => (body, ""),
    };
    let groups: Vec<&str> = whole.split(|c: char| !c.is_ascii_digit()).collect();
    let (first, others) = groups.split_first()?;
    let thousands = others.is_empty() || ((1..=3).contains(&first.len()) && others.iter().all(|group| group.len() == 3));
    let fraction: String = fraction.chars().filter(char::is_ascii_digit).collect();
    let point = if fraction.is_empty() { "" } else { "." };
    thousands.then(|| (format!("{sign}{}{point}{fraction}", groups.concat()), decimal == Some(',')))
}

/// The text without its comma, where that may as well set off thousands: `1200 N` of `1,200 N`.
pub fn thousands(text: &str) -> Option<String> {
    let (whole, rest) = text.split_once(',')?;
    let digits = |t: &str| t.chars().take_while(char::is_ascii_digit).count();
    let unsigned = whole.strip_prefix('-').unwrap_or(whole);
    let group = (1..=3).contains(&unsigned.len()) && digits(unsigned) == unsigned.len() && !unsigned.starts_with('0');
    (group && digits(rest) == 3).then(|| format!("{whole}{rest}"))
}

/// Exactly three digits follow: a thousands group, not a unit that starts with a digit (`6 1/K`).
fn three_digits(rest: &[char]) -> bool {
    rest.iter().take_while(|c| c.is_ascii_digit()).count() == 3
}

/// Significant digits of a plain number as written; trailing zeros of whole numbers count.
pub fn significant_digits(number: &str) -> usize {
    let mantissa = number.split(['e', 'E']).next().unwrap_or("");
    let digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    let lead = digits.trim_start_matches('0');
    if lead.is_empty() { 1 } else { lead.len() }
}

/// One unit of the last written digit: `46.5` → 0.1, `120` → 1, `1.2e3` → 100.
pub fn resolution(number: &str) -> f64 {
    let mut parts = number.split(['e', 'E']);
    let mantissa = parts.next().unwrap_or("");
    let exponent: i32 = parts.next().and_then(|e| e.parse().ok()).unwrap_or(0);
    let decimals = mantissa.split_once('.').map_or(0, |(_, f)| f.len());
    let power = exponent - i32::try_from(decimals).unwrap_or(i32::MAX);
    format!("1e{power}").parse().unwrap_or(0.0)
}
