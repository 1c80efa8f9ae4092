//! What a plain scalar means, and which spellings are refused because readers disagree on them.

/// A refused spelling.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct UnclearScalar {
    pub name: &'static str,
    pub message: String,
    pub help: String,
}

/// What an unquoted scalar is.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Meaning {
    Null,
    Bool(bool),
    Number,
    Text,
    Refused(UnclearScalar),
}

/// What an unquoted scalar is. A refused one is kept as text beside the reason.
pub(super) fn plain(text: &str) -> Meaning {
    match text {
        "" | "~" | "null" => return Meaning::Null,
        "true" => return Meaning::Bool(true),
        "false" => return Meaning::Bool(false),
        _ => {}
    }
    if text.len() <= 5 && is_ambiguous_word(text) {
        return Meaning::Refused(ambiguous(text));
    }
    let first = text.chars().next().unwrap_or(' ');
    let numeric_start = first.is_ascii_digit() || matches!(first, '-' | '+' | '.') || ascii_digit(first).is_some();
    if !numeric_start {
        return Meaning::Text;
    }
    if is_number(text) {
        return range_trouble(text).map_or(Meaning::Number, Meaning::Refused);
    }
    strange_number(text).or_else(|| clock_time(text)).map_or(Meaning::Text, Meaning::Refused)
}

fn ambiguous(text: &str) -> UnclearScalar {
    let small = text.to_ascii_lowercase();
    let help = match small.as_str() {
        "true" | "false" | "null" => format!("write {small} in small letters, or \"{text}\" in quotes for the word"),
        "yes" | "on" => format!("write true, or \"{text}\" in quotes for the word"),
        _ => format!("write false, or \"{text}\" in quotes for the word"),
    };
    let message = format!("unquoted `{text}` is a truth value to some readers, a word to others");
    refused("word-ambiguous", message, help)
}

/// Whether a word would be a truth value or null to some reader. `y` and `n` stay words.
pub(super) fn is_ambiguous_word(text: &str) -> bool {
    const WORDS: [&str; 7] = ["yes", "no", "on", "off", "true", "false", "null"];
    WORDS.iter().any(|word| word.eq_ignore_ascii_case(text))
}

/// Plain decimal or exponent form: `12`, `-0.5`, `1.2e-5`.
fn is_number(text: &str) -> bool {
    let rest = text.strip_prefix('-').unwrap_or(text);
    let whole = digits(rest);
    if whole == 0 || (whole > 1 && rest.starts_with('0')) {
        return false;
    }
    let mut rest = &rest[whole..];
    if let Some(fraction) = rest.strip_prefix('.') {
        let count = digits(fraction);
        if count == 0 {
            return false;
        }
        rest = &fraction[count..];
    }
    if let Some(exponent) = rest.strip_prefix(['e', 'E']) {
        let exponent = exponent.strip_prefix(['-', '+']).unwrap_or(exponent);
        let count = digits(exponent);
        return count > 0 && count == exponent.len();
    }
    rest.is_empty()
}

/// Number of ASCII digits at the start.
fn digits(text: &str) -> usize {
    text.bytes().take_while(u8::is_ascii_digit).count()
}

/// Refuses numbers that a float cannot hold, and minus zero.
fn range_trouble(text: &str) -> Option<UnclearScalar> {
    let value: f64 = text.parse().ok()?;
    let mantissa = text.split(['e', 'E']).next().unwrap_or(text);
    let is_zero = !mantissa.bytes().any(|b| matches!(b, b'1'..=b'9'));
    let what = if !value.is_finite() {
        "is too large to be held"
    } else if is_zero && text.starts_with('-') {
        "is minus zero"
    } else if !is_zero && value.abs() < f64::MIN_POSITIVE {
        "is too small to be held with its digits"
    } else {
        return None;
    };
    Some(refused("number-out-of-range", format!("`{text}` {what}"), "correct the exponent or the sign".to_owned()))
}

/// Spellings that are numbers to one reader and text, or another number, to the next.
fn strange_number(text: &str) -> Option<UnclearScalar> {
    let unsigned = text.strip_prefix(['-', '+']).unwrap_or(text);
    let lower = unsigned.to_ascii_lowercase();
    let name = "number-form";
    if lower == ".inf" || lower == ".nan" {
        let message = format!("`{text}` is not a number a record can hold");
        return Some(refused(name, message, "give a finite number".to_owned()));
    }
    if text.starts_with('+') && is_number(unsigned) {
        return Some(number_form(text, "has a plus sign", unsigned));
    }
    let based = |prefix: &str, radix: u32| {
        lower.strip_prefix(prefix).is_some_and(|d| !d.is_empty() && d.chars().all(|c| c == '_' || c.is_digit(radix)))
    };
    if based("0x", 16) || based("0o", 8) || based("0b", 2) {
        let message = format!("`{text}` is written to another base than ten");
        let help = format!("write it in decimal digits, or \"{text}\" in quotes for text");
        return Some(refused(name, message, help));
    }
    if unsigned.contains('_') && is_number(&unsigned.replace('_', "")) {
        return Some(number_form(text, "has underscores", &text.replace('_', "")));
    }
    let trimmed = unsigned.trim_start_matches('0');
    if unsigned.starts_with('0') && is_number(&format!("1{}", &unsigned[1..])) {
        let plain =
            if trimmed.starts_with(['.', 'e', 'E']) || trimmed.is_empty() { format!("0{trimmed}") } else { trimmed.to_owned() };
        return Some(number_form(text, "has leading zeros", &plain));
    }
    if unsigned.starts_with('.') && is_number(&format!("0{unsigned}")) {
        return Some(number_form(text, "has no digit before its point", &format!("0{unsigned}")));
    }
    if let Some(before) = unsigned.strip_suffix('.')
        && is_number(before)
    {
        return Some(number_form(text, "ends with its point", before));
    }
    if is_base_sixty(unsigned) {
        let message = format!("`{text}` is a number to base 60 to some readers");
        let help = format!("write \"{text}\" in quotes for text");
        return Some(refused(name, message, help));
    }
    foreign_digits(text, unsigned)
}

/// Decimal commas, other minus signs, digits beyond ASCII, spaces as thousands separators.
fn foreign_digits(text: &str, unsigned: &str) -> Option<UnclearScalar> {
    let is_comma_number = unsigned.contains(',')
        && unsigned.split(',').all(|part| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit() || b == b'.'));
    if is_comma_number {
        let help = format!("write {} with a decimal point, or \"{text}\" in quotes for text", text.replacen(',', ".", 1));
        let message = format!("`{text}` has a decimal comma");
        return Some(refused("decimal-comma", message, help));
    }
    let mut other = false;
    let ascii: String = text
        .chars()
        .filter_map(|c| match c {
            '\u{A0}' | '\u{2009}' | '\u{202F}' | '\'' | '\u{2019}' => {
                other = true;
                None
            }
            _ => Some(ascii_digit(c).map_or(c, |plain| {
                other = true;
                plain
            })),
        })
        .collect();
    if other && is_number(&ascii) {
        return Some(number_form(text, "has characters that are not plain digits", &ascii));
    }
    None
}

/// The ASCII spelling of a digit or minus sign from beyond ASCII.
fn ascii_digit(c: char) -> Option<char> {
    match c {
        '\u{2212}' | '\u{FF0D}' | '\u{2010}'..='\u{2013}' => Some('-'),
        '\u{FF10}'..='\u{FF19}' => char::from_digit(u32::from(c) - 0xFF10, 10),
        '\u{660}'..='\u{669}' => char::from_digit(u32::from(c) - 0x660, 10),
        '\u{FF0E}' => Some('.'),
        _ => None,
    }
}

/// `1:30`, `190:20:30.15`.
fn is_base_sixty(text: &str) -> bool {
    let mut parts = text.split(':');
    let first = parts.next().unwrap_or("");
    let mut rest = parts.peekable();
    if rest.peek().is_none() || first.is_empty() || digits(first) != first.len() {
        return false;
    }
    rest.all(|part| {
        let whole = part.split('.').next().unwrap_or("");
        (1..=2).contains(&whole.len())
            && digits(whole) == whole.len()
            && whole.parse::<u8>().is_ok_and(|v| v < 60)
            && part[whole.len()..].bytes().all(|b| b == b'.' || b.is_ascii_digit())
    })
}

/// A date with a clock time: some readers turn it into a time stamp of another zone.
fn clock_time(text: &str) -> Option<UnclearScalar> {
    let bytes = text.as_bytes();
    let date = bytes.len() > 11
        && bytes[..10].iter().enumerate().all(|(at, b)| match at {
            4 | 7 => *b == b'-',
            _ => b.is_ascii_digit(),
        });
    if date && matches!(bytes[10], b'T' | b't' | b' ') && bytes[11].is_ascii_digit() {
        let message = format!("`{text}` is a time stamp to some readers");
        let help = format!("write the date only: {}", &text[..10]);
        return Some(refused("date-form", message, help));
    }
    None
}

fn number_form(text: &str, what: &str, plain: &str) -> UnclearScalar {
    let sign = if text.starts_with('-') && !plain.starts_with('-') { "-" } else { "" };
    refused(
        "number-form",
        format!("`{text}` {what}; readers disagree on its value"),
        format!("write {sign}{plain}, or \"{text}\" in quotes for text"),
    )
}

fn refused(name: &'static str, message: String, help: String) -> UnclearScalar {
    UnclearScalar { name, message, help }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn name(text: &str) -> Option<&'static str> {
        match plain(text) {
            Meaning::Refused(refused) => Some(refused.name),
            _ => None,
        }
    }

    #[test]
    fn plain_numbers_keep_their_digits() {
        for text in ["0", "12", "1.20", "-0.5", "1e5", "6.0e-06", "1E+3"] {
            assert_eq!(plain(text), Meaning::Number, "{text}");
        }
    }

    #[test]
    fn ordinary_words_are_text() {
        for text in [
            "n",
            "y",
            "N",
            "Y",
            "46.5 MPa",
            "2026-03",
            "2026-03-01",
            "ISO 527-2",
            "10.1002/abc",
            "1.2.3",
            "nothing",
            "one",
            "onset",
            "-",
            "978-0-12",
            "12 to 15",
            "3-4",
            "1:75",
            "0x",
        ] {
            assert_eq!(plain(text), Meaning::Text, "{text}");
        }
    }

    #[test]
    fn spellings_that_readers_take_differently_are_refused() {
        for text in ["yes", "No", "ON", "off", "True", "FALSE", "Null"] {
            assert_eq!(name(text), Some("word-ambiguous"), "{text}");
        }
        for text in [
            "010",
            "+5",
            "0x1F",
            "0o17",
            "0b11",
            "1_000",
            "1:30",
            ".5",
            "5.",
            ".inf",
            "-.INF",
            ".NaN",
            "\u{2212}5",
            "\u{FF15}",
            "00.5",
            "1\u{2009}000",
            "-010",
        ] {
            assert_eq!(name(text), Some("number-form"), "{text}");
        }
        for text in ["1,5", "-46,5", "1.000,5"] {
            assert_eq!(name(text), Some("decimal-comma"), "{text}");
        }
        for text in ["1e999", "-1e999", "-0", "-0.0", "1e-310", "1e-999", "-0e5"] {
            assert_eq!(name(text), Some("number-out-of-range"), "{text}");
        }
        assert_eq!(name("0.0"), None);
        assert_eq!(name("2026-03-01T10:00"), Some("date-form"));
    }

    #[test]
    fn the_help_shows_the_plain_spelling() {
        let help = |text| match plain(text) {
            Meaning::Refused(refused) => refused.help,
            other => panic!("{text} is {other:?}"),
        };
        assert!(help("010").starts_with("write 10,"));
        assert!(help("-010").starts_with("write -10,"));
        assert!(help("1,5").starts_with("write 1.5 "));
        assert!(help("\u{2212}5").starts_with("write -5,"));
        assert!(help(".5").starts_with("write 0.5,"));
    }
}
