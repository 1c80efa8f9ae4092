//! Loads typed on a command line: `812 N, 857 N, 790 N`.
//!
//! A `/` starts the next batch, `>` marks a specimen that held. Nothing is guessed: a load without a unit is refused.

use super::specimen::Sample;
use crate::book::view::Specimen;
use crate::quantity::{Quantity, Written, number, parse};

/// Quantities a typed unit may mean, the likelier of two with the same unit first.
const LIKELY: [Quantity; 8] = [
    Quantity::Force,
    Quantity::Torque,
    Quantity::Stress,
    Quantity::LineLoad,
    Quantity::Length,
    Quantity::Duration,
    Quantity::Number,
    Quantity::Fraction,
];

/// Why typed loads cannot be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LoadsFault {
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub help: String,
}

impl LoadsFault {
    fn new(message: impl Into<String>, help: impl Into<String>) -> Self {
        LoadsFault { message: message.into(), help: help.into() }
    }
}

/// Word of the measurement for a quantity whose record is not known.
pub fn plain_word(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Force => "load",
        Quantity::Torque => "torque",
        Quantity::Stress => "strength",
        Quantity::Length => "diameter",
        Quantity::Duration => "time",
        Quantity::Number => "count",
        Quantity::Fraction => "share",
        _ => "value",
    }
}

/// Reads typed loads; `unit` is the unit of those written without one.
///
/// # Errors
/// An empty list, a load without unit, units of different quantities, a load that is not above zero.
pub fn loads(text: &str, unit: Option<&str>) -> Result<Sample, LoadsFault> {
    if let Some(fault) = decimal_commas(text) {
        return Err(fault);
    }
    text.split([',', ';', '/']).try_for_each(|item| several(item.trim().trim_start_matches('>').trim_start()))?;
    let quantity = quantity_of(text, unit)?;
    let batches: Vec<&str> = text.split('/').collect();
    let mut specimens = Vec::new();
    for (number, batch) in batches.iter().enumerate() {
        let name = (batches.len() > 1).then(|| Box::<str>::from(batch_name(number)));
        for item in batch.split([',', ';']).map(str::trim) {
            if item.is_empty() {
                return Err(LoadsFault::new(
                    format!("`{text}` has nothing between two of its separators"),
                    "write the loads with commas between them: `812 N, 857 N, 790 N`",
                ));
            }
            let (censored, plain) = match item.strip_prefix('>') {
                Some(rest) => (true, rest.trim_start()),
                None => (false, item),
            };
            let value = one(plain, unit, quantity)?;
            let label = Some((specimens.len() + 1).to_string().into());
            specimens.push(Specimen { label, censored, batch: name.clone(), ..Specimen::of(value) });
        }
    }
    Ok(Sample { word: plain_word(quantity).into(), quantity, specimens })
}

/// Commas that stand inside a load: where other marks separate the loads, or a unit stands behind the digits after the comma.
fn decimal_commas(text: &str) -> Option<LoadsFault> {
    let runs = runs(text);
    let lone = |run: &str| run.matches(',').count() == 1;
    let short = |run: &str| run.split_once(',').is_some_and(|(_, behind)| behind.len() < 3);
    let with_unit = |end: usize| text[end..].trim_start().starts_with(char::is_alphabetic);
    // A comma alone may also separate two loads of a batch; one in every batch, with a digit or two behind it, does not.
    let in_every_batch = text.contains('/') && runs.iter().all(|(_, run)| lone(run) && short(run));
    let decimal = |(at, run): &(usize, &str)| lone(run) && (text.contains(';') || in_every_batch || with_unit(at + run.len()));
    if !runs.iter().any(decimal) {
        return None;
    }
    let mended = |right: fn(&str) -> Option<String>| {
        let (mut line, mut done) = (String::new(), 0);
        for (at, run) in &runs {
            line.push_str(&text[done..*at]);
            line.push_str(&right(run).unwrap_or_else(|| (*run).to_owned()));
            done = at + run.len();
        }
        line + &text[done..]
    };
    let plain = mended(|run| Some(number::plain(run)?.0));
    let thousands = mended(number::thousands);
    let thousands = if thousands == text { String::new() } else { format!(", for thousands `{thousands}`") };
    Some(LoadsFault::new(
        format!("`{text}` has a comma inside a load"),
        format!("write `{plain}`{thousands}; two loads have a comma and a space between them"),
    ))
}

/// Digits with the points and commas between them, each with its place.
fn runs(text: &str) -> Vec<(usize, &str)> {
    let marks = [',', '.'];
    let mut runs = Vec::new();
    let mut at = 0;
    for piece in text.split(|c: char| !c.is_ascii_digit() && !marks.contains(&c)) {
        let run = piece.trim_start_matches(marks);
        let begin = at + piece.len() - run.len();
        let run = run.trim_end_matches(marks);
        if !run.is_empty() {
            runs.push((begin, run));
        }
        // The character that ended the piece.
        at += piece.len();
        at += text[at..].chars().next().map_or(0, char::len_utf8);
    }
    runs
}

/// Numbers with nothing but spaces between them are several loads, never one.
fn several(item: &str) -> Result<(), LoadsFault> {
    let words: Vec<&str> = item.split_whitespace().collect();
    let numbers = words.iter().take_while(|word| word.parse::<f64>().is_ok()).count();
    // The unit of a bare number is `1`.
    if numbers < 2 || words[1..] == ["1"] {
        return Ok(());
    }
    let unit = words[numbers..].join(" ");
    let load = |digits: &str| format!("{digits} {unit}").trim_end().to_owned();
    let list: Vec<String> = words[..numbers].iter().map(|digits| load(digits)).collect();
    let one = match words[..numbers] {
        [first, second] if first.len() < 3 && second.len() == 3 => {
            format!(", or `{}` for one load", load(&format!("{first}{second}")))
        }
        _ => String::new(),
    };
    let help = format!("loads have commas between them: write `{}`{one}", list.join(", "));
    Err(LoadsFault::new(format!("`{item}` has {numbers} numbers without a comma between them"), help))
}

fn batch_name(number: usize) -> String {
    match u8::try_from(number) {
        Ok(n) if n < 26 => char::from(b'A' + n).to_string(),
        _ => (number + 1).to_string(),
    }
}

fn quantity_of(text: &str, unit: Option<&str>) -> Result<Quantity, LoadsFault> {
    let first = text.split([',', ';', '/']).map(str::trim).find(|i| !i.is_empty());
    let Some(first) = first else {
        return Err(LoadsFault::new("no loads are given", "write `--loads '812 N, 857 N, 790 N'`"));
    };
    let (number, own) = crate::quantity::number::split(first.trim_start_matches('>').trim_start());
    let symbol = match unit {
        Some(unit) => unit.trim(),
        None => own,
    };
    if symbol.is_empty() {
        return Err(LoadsFault::new(
            format!("`{first}` has no unit"),
            "write it with each load (`812 N, 857 N`) or once (`--unit N`); a decimal comma is written as a point",
        ));
    }
    if let Some(quantity) = LIKELY.into_iter().find(|q| q.unit(symbol).is_some()) {
        return Ok(quantity);
    }
    let number = if number.parse::<f64>().is_ok() { number } else { "1" };
    let fault = parse(&format!("{number} {symbol}"), Quantity::Force).err();
    let help = fault.map_or_else(String::new, |f| f.help());
    Err(LoadsFault::new(format!("`{symbol}` is not a unit of load"), help))
}

fn one(text: &str, unit: Option<&str>, quantity: Quantity) -> Result<Written, LoadsFault> {
    let bare = crate::quantity::number::split(text).1.is_empty();
    let whole = match unit {
        Some(unit) if bare => format!("{text} {}", unit.trim()),
        _ => text.to_owned(),
    };
    if bare && unit.is_none() && quantity != Quantity::Number {
        return Err(LoadsFault::new(
            format!("`{text}` has no unit"),
            "write it with each load (`812 N, 857 N`) or once (`--unit N`); a decimal comma is written as a point",
        ));
    }
    let written = parse(&whole, quantity).map_err(|f| LoadsFault::new(f.message(), f.help()))?;
    if written.si <= 0.0 {
        return Err(LoadsFault::new(
            format!("`{whole}` is not above zero"),
            "a specimen that held nothing is a result of its own: leave it out here and report it",
        ));
    }
    Ok(written)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn values(text: &str, unit: Option<&str>) -> Vec<f64> {
        loads(text, unit).unwrap().specimens.iter().map(|s| s.value.si).collect()
    }

    #[test]
    fn units_with_each_or_once() {
        assert_eq!(values("812 N, 857 N, 790 N", None), [812.0, 857.0, 790.0]);
        assert_eq!(values("812,857,790", Some("N")), [812.0, 857.0, 790.0]);
        assert_eq!(values("1 kgf", None), [9.80665]);
        assert_eq!(loads("0.5 N·m; 0.6 N·m", None).unwrap().quantity, Quantity::Torque);
    }

    #[test]
    fn held_specimens_and_batches() {
        let sample = loads("812, >520 / 655", Some("N")).unwrap();
        let held: Vec<bool> = sample.specimens.iter().map(|s| s.censored).collect();
        let batch: Vec<&str> = sample.specimens.iter().filter_map(|s| s.batch.as_deref()).collect();
        assert_eq!((held, batch), (vec![false, true, false], vec!["A", "A", "B"]));
    }

    #[test]
    fn a_decimal_comma_is_refused_with_the_list_as_it_should_be() {
        let help = |text: &str, unit| loads(text, unit).expect_err(text).help;
        for (typed, unit, right) in [
            ("812,5; 857,2; 790,1", Some("N"), "`812.5; 857.2; 790.1`"),
            ("812,5 / 857,2 / 790,1", Some("N"), "`812.5 / 857.2 / 790.1`"),
            ("812,5 N, 857,2 N", None, "`812.5 N, 857.2 N`"),
            ("1.200,5 N, 1.300 N", None, "`1200.5 N, 1.300 N`"),
            ("1,200 N, 1,300 N", None, "for thousands `1200 N, 1300 N`"),
            ("1,200 N, 1,300 N", Some("N"), "`1.200 N, 1.300 N`"),
        ] {
            assert!(help(typed, unit).contains(right), "{typed}: {}", help(typed, unit));
        }
        // Lists as they are documented.
        assert_eq!(values("812,857,790 / 655,702,731", Some("N")).len(), 6);
        assert_eq!(values("812,857/655,702", Some("N")).len(), 4);
        assert_eq!(values("20,21,19", Some("kgf")).len(), 3);
        assert_eq!(values("812.5;857.2", Some("N")), [812.5, 857.2]);
    }

    #[test]
    fn numbers_are_never_joined() {
        let help = |text: &str, unit| loads(text, unit).expect_err(text).help;
        assert!(help("812 857 790", Some("N")).contains("`812, 857, 790`"));
        assert!(help("812 857 790 N", None).contains("`812 N, 857 N, 790 N`"));
        assert!(help("1 200 N", None).contains("`1200 N` for one load"));
        assert!(!help("812 857", Some("N")).contains("812857"));
    }

    #[test]
    fn nothing_is_guessed() {
        for bad in ["", "812", "812 N, 857", "46,5 N", "812 kg", "812 N,, 857 N", "-3 N", "0 N", "812 N, 3 MPa", "1e400 N"] {
            let fault = loads(bad, None).expect_err(bad);
            assert!(!fault.message.is_empty() && !fault.help.is_empty(), "{bad}");
        }
        assert!(loads("812 kg", None).unwrap_err().help.contains("kgf"));
    }
}
