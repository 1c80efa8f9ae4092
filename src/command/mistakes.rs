//! All mistakes of one typed line, told at once, with the line repaired where there is one way to repair it.

use super::context::quoted;
use super::{Fault, library};
use gripbook::book::{Book, Miss, Record};
use gripbook::quantity::number::NumberFault;
use gripbook::quantity::parse::sure_unit;
use gripbook::quantity::{Quantity, QuantityFault, number, parse, parse_typed};

/// The mistakes found so far.
#[derive(Debug, Default)]
pub struct Mistakes {
    faults: Vec<Fault>,
    repairs: Vec<(String, String)>,
    /// Whether some mistake cannot be repaired in one way only.
    open: bool,
}

impl Mistakes {
    /// What is right goes on; a mistake is kept for the end.
    pub fn keep<T>(&mut self, found: Result<T, Fault>) -> Option<T> {
        found.map_err(|fault| self.add(fault)).ok()
    }
    /// Keeps a mistake that the typed line shows no repair of.
    pub fn add(&mut self, fault: Fault) {
        self.faults.push(fault);
        self.open = true;
    }
    /// Keeps a mistake that is mended by writing another word in the place of the typed one.
    pub fn add_repaired(&mut self, fault: Fault, typed: &str, right: String) {
        self.faults.push(fault);
        self.repairs.push((typed.to_owned(), right));
    }
    /// The record somebody means.
    pub fn record<'b>(&mut self, book: &'b Book, typed: &str, role: &str) -> Option<&'b Record> {
        let miss = match book.resolve(typed, &[role]) {
            Ok(record) => return Some(record),
            Err(miss) => miss,
        };
        let fault = library::missed(book, &miss);
        match &miss {
            Miss::Unknown { near, .. } if near.len() == 1 => {
                self.add_repaired(fault, typed, near.iter().map(|id| id.name().to_owned()).collect());
            }
            _ => self.add(fault),
        }
        None
    }
    /// A quantity above zero, in SI. `option` is what the person knows it by: `--need`, or `length`.
    pub fn quantity(&mut self, option: &str, typed: Option<&str>, quantity: Quantity) -> Option<f64> {
        let typed = typed?;
        match parse_typed(typed, quantity) {
            Ok(written) if written.si > 0.0 => return Some(written.si),
            Ok(_) => {
                let help = match option {
                    "load" => "leave the load out to rank by design load",
                    "length" => "give the length over which screw and thread overlap",
                    _ => "give a value above zero",
                };
                self.add(Fault::usage(format!("{option}: {typed} is not above zero")).help(help));
            }
            Err(fault) => self.wrong_quantity(option, typed, quantity, &fault),
        }
        None
    }
    /// Keeps a quantity that could not be read.
    pub fn wrong_quantity(&mut self, option: &str, typed: &str, quantity: Quantity, fault: &QuantityFault) {
        let told = Fault::usage(format!("{option}: {}", fault.message())).help(advice(typed, quantity, fault));
        match repaired_quantity(typed, fault) {
            Some(right) => self.add_repaired(told, typed, right),
            None => self.add(told),
        }
    }
    /// Nothing when nothing was wrong, else all of it in one fault.
    pub fn settle(self, command_line: &str) -> Result<(), Fault> {
        let repaired = (!self.open).then(|| repair(command_line, &self.repairs)).flatten();
        let mut faults = self.faults;
        let mut told = match faults.len() {
            0 => return Ok(()),
            1 => faults.remove(0),
            n => {
                let exit = faults.iter().map(|f| f.exit).max_by_key(|exit| (*exit == 2, *exit)).unwrap_or(2);
                // What several mistakes are mended by is told behind the last of them.
                let is_last = |place: usize, help: &String| faults[place + 1..].iter().all(|f| f.help.as_ref() != Some(help));
                let one = |(place, f): (usize, &Fault)| {
                    let help = f.help.as_ref().filter(|h| is_last(place, h));
                    let help = help.map(|h| format!("\n     {h}")).unwrap_or_default();
                    format!("  {}. {}{help}", place + 1, f.message)
                };
                let list: Vec<String> = faults.iter().enumerate().map(one).collect();
                Fault { exit, message: format!("this line has {n} mistakes\n{}", list.join("\n")), help: None }
            }
        };
        if let Some(line) = repaired {
            let help = told.help.map(|h| format!("{h}\n  ")).unwrap_or_default();
            told.help = Some(format!("{help}Repaired: {line}"));
        }
        Err(told)
    }
}

/// What to do; a mass where a force is wanted gets the load in newtons told too.
fn advice(typed: &str, quantity: Quantity, fault: &QuantityFault) -> String {
    /// Standard acceleration of free fall, ISO 80000-3.
    const GRAVITY: f64 = 9.806_65;
    let help = fault.help();
    match (quantity, parse(typed, Quantity::Mass)) {
        (Quantity::Force, Ok(mass)) => {
            let newtons = gripbook::quantity::Amount::new(Quantity::Force, mass.si * GRAVITY).text(4);
            format!("{help} The weight of {typed} is {newtons}.")
        }
        _ => help,
    }
}

/// The quantity as it should have been typed, without a space, where the fault leaves one way only: the number that is
/// meant stays what it is.
fn repaired_quantity(typed: &str, fault: &QuantityFault) -> Option<String> {
    let close = |text: &str| text.replace(' ', "");
    match fault {
        QuantityFault::UnitMissing { expected, number } => Some(format!("{number}{}", expected.canonical().symbol())),
        QuantityFault::WrongQuantity { offer, .. } => offer.as_deref().map(close),
        QuantityFault::Number { fault: NumberFault::DecimalComma(_), .. } if number::thousands(typed).is_some() => None,
        QuantityFault::Number { fault, .. } => match fault {
            NumberFault::DecimalComma(fixed) | NumberFault::Grouped(fixed) | NumberFault::Minus(fixed) => Some(close(fixed)),
            NumberFault::ForeignDigits(fixed) | NumberFault::Spelling(Some(fixed)) => Some(close(fixed)),
            NumberFault::Missing | NumberFault::NotFinite | NumberFault::Spelling(None) => None,
        },
        QuantityFault::UnitUnknown { offer, confusable: true, .. } => {
            offer.map(|unit| format!("{}{unit}", number::split(typed).0))
        }
        QuantityFault::UnitUnknown { expected, unit, .. } => {
            sure_unit(unit, *expected).map(|unit| format!("{}{unit}", number::split(typed).0))
        }
    }
}

/// The typed line with each wrong word replaced; `None` where a word does not stand in it.
fn repair(command_line: &str, repairs: &[(String, String)]) -> Option<String> {
    let mut line = format!("{command_line} ");
    for (typed, right) in repairs {
        let (typed, right) = (quoted(typed), quoted(right));
        // Alone, or behind the equals sign of an option.
        let found = [format!(" {typed} "), format!("={typed} ")].into_iter().find(|word| line.contains(word.as_str()))?;
        let sign = if found.starts_with('=') { '=' } else { ' ' };
        line = line.replacen(&found, &format!("{sign}{right} "), 1);
    }
    Some(line.trim_end().to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_repair_keeps_the_number() {
        let right = |typed: &str, quantity| repaired_quantity(typed, &parse_typed(typed, quantity).unwrap_err());
        for (typed, repaired) in [
            ("20KG", Some("20kgf")),
            ("20 kg", Some("20kgf")),
            ("45 lbs", Some("45lbf")),
            ("20KN", Some("20kN")),
            ("1.200,5N", Some("1200.5N")),
            ("1,200.5N", Some("1200.5N")),
            ("12,5N", Some("12.5N")),
            // Twelve hundred to one reader, one and a fifth to another.
            ("1,200N", None),
            // Ten to the sixth, ten to the second, a thousandth of the unit that is spelt most like it.
            ("5MN", None),
            ("5hN", None),
            ("5gf", None),
            ("1.5,2N", None),
        ] {
            assert_eq!(right(typed, Quantity::Force).as_deref(), repaired, "{typed}");
        }
        assert_eq!(right("8MM", Quantity::Length).as_deref(), Some("8mm"));
        assert_eq!(right("1/2", Quantity::Length), None);
        assert_eq!(right("1/2ft", Quantity::Length), None);
    }

    #[test]
    fn whole_words_are_repaired_and_nothing_else() {
        let pairs = |all: &[(&str, &str)]| -> Vec<(String, String)> {
            all.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect()
        };
        let line = "gripbook fasten petg M4 8 20kg --cycles 8";
        let right = repair(line, &pairs(&[("8", "8mm"), ("20kg", "20kgf")]));
        assert_eq!(right.as_deref(), Some("gripbook fasten petg M4 8mm 20kgf --cycles 8"));
        let right = repair("gripbook fasten --need=20kg 'tough rasin'", &pairs(&[("20kg", "20kgf"), ("tough rasin", "tough")]));
        assert_eq!(right.as_deref(), Some("gripbook fasten --need=20kgf tough"));
        assert_eq!(repair(line, &pairs(&[("80", "80mm")])), None);
    }
}
