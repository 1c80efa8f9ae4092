//! Rows of the table of check values, and calls of the formulas as a user would type them.

use crate::statistics::table::cells;
use gripbook::mechanics::book::formulas;
use gripbook::mechanics::call::{call, find};
use gripbook::mechanics::formula::Status;
use gripbook::quantity::{Amount, Quantity, parse};

/// One row.
pub struct Row {
    pub id: String,
    pub inputs: String,
    pub expected: f64,
    pub unit: String,
    pub tolerance: String,
    pub source: String,
    pub status: String,
}

/// All rows.
pub fn rows() -> Vec<Row> {
    let all = cells(include_str!("../data/mechanics-checks.csv"));
    assert_eq!(all[0].join(","), "id,quantity,inputs,expected,unit,tolerance,source,status", "the table has changed its columns");
    all[1..]
        .iter()
        .map(|c| {
            assert_eq!(c.len(), 8, "{c:?}");
            let expected = c[3].parse().unwrap_or_else(|_| panic!("{}: `{}` is no number", c[0], c[3]));
            let [id, _, inputs, _, unit, tolerance, source, status] = [0, 1, 2, 3, 4, 5, 6, 7].map(|i| c[i].clone());
            Row { id, inputs, expected, unit, tolerance, source, status }
        })
        .collect()
}

impl Row {
    /// The id after its first word: `d2-M3` of `ISO-d2-M3`.
    pub fn after(&self, start: &str) -> &str {
        self.id.strip_prefix(start).unwrap_or_else(|| panic!("{} does not start with {start}", self.id))
    }
    /// The digits of one input: `0.5` of `P=0.5 mm`.
    pub fn input(&self, name: &str) -> String {
        let mark = format!("{name}=");
        let words = self.inputs.split([';', ' ', ',', ':']);
        let digits = |v: &&str| v.starts_with(|c: char| c.is_ascii_digit() || c == '-');
        let value = words.filter_map(|w| w.strip_prefix(&mark)).find(digits);
        let value = value.unwrap_or_else(|| panic!("{}: no {name} in `{}`", self.id, self.inputs));
        value.to_string()
    }
    /// The same as a number.
    pub fn number(&self, name: &str) -> f64 {
        let text = self.input(name);
        text.parse().unwrap_or_else(|_| panic!("{}: `{text}`", self.id))
    }
    /// Expected value and tolerance in base SI of a quantity.
    pub fn wanted(&self, quantity: Quantity, tolerance: &str) -> (f64, f64) {
        let unit = match self.unit.as_str() {
            "-" | "drops" => "1",
            "in2/in" => "in2",
            u => u,
        };
        let si = |value: f64| {
            let unit = quantity.unit(unit).unwrap_or_else(|| panic!("{}: {unit} is no unit of {}", self.id, quantity.title()));
            unit.unit().si_from_number(value)
        };
        let expected = si(self.expected);
        let allowed = match tolerance.strip_suffix('%') {
            Some(share) => expected.abs() * share.parse::<f64>().expect("a number of per cent") / 100.0,
            None => si(self.expected + tolerance.parse::<f64>().expect("a tolerance")) - expected,
        };
        (expected, allowed)
    }
    /// What kind of evidence the row is.
    pub fn evidence(&self) -> Status {
        match self.status.as_str() {
            "memory" => Status::Memory,
            "verified" if self.source.contains("recalled") => Status::Memory,
            "verified" if self.source.contains("derived") || self.source.contains("arithmetic") => Status::Hand,
            "verified" => Status::Published,
            other => panic!("{}: status `{other}`", self.id),
        }
    }
}

/// A computed value with its quantity, and where it came from.
pub struct Got {
    pub amount: Amount,
    /// The formula, or nothing for a value of a thread's sheet.
    pub formula: Option<&'static str>,
}

impl From<Amount> for Got {
    fn from(amount: Amount) -> Self {
        Got { amount, formula: None }
    }
}

/// The result of a call as a user types it: `pitch-diameter major=3mm pitch=0.5mm`.
pub fn typed(line: &str) -> Got {
    let mut words = line.split(' ');
    let all = formulas();
    let formula = find(&all, words.next().unwrap_or("")).unwrap_or_else(|e| panic!("{line}: {}", e.message()));
    let arguments: Vec<&str> = words.collect();
    let answer = call(formula, &arguments, false).unwrap_or_else(|e| panic!("{line}: {}; {}", e.message(), e.help()));
    Got { amount: answer.result, formula: Some(formula.name) }
}

/// A written quantity in base SI.
pub fn si(text: &str, quantity: Quantity) -> f64 {
    parse(text, quantity).unwrap_or_else(|e| panic!("{text}: {e:?}")).si
}
