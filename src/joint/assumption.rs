//! Every number of practice or judgement the models use, in one table, each with its reason.
//!
//! No model holds such a number itself: it asks for it by name, and the answer lists the names asked for.

use super::distribution::Law;
use crate::quantity::parse::range_ends;
use crate::quantity::{Amount, parse};
use std::collections::BTreeMap;

mod row;
mod shape_table;
mod table;
mod use_table;

pub use row::{Assumption, AssumptionOrigin, Shape};

/// Every assumption: sizes, materials, limit states, glue, torque, life, calibration.
pub fn table() -> impl Iterator<Item = &'static Assumption> {
    table::ROWS.iter().chain(use_table::ROWS).chain(shape_table::ROWS)
}

/// An assumption as this answer uses it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AssumptionSetting {
    /// The row of the table.
    pub row: &'static Assumption,
    /// Lower end in SI.
    pub low: f64,
    /// Upper end in SI.
    pub high: f64,
    /// Whether the person asking has overridden it.
    pub overridden: bool,
}

impl AssumptionSetting {
    /// How it is drawn.
    pub fn law(&self) -> Law {
        match self.row.shape {
            _ if self.low == self.high => Law::Fixed(self.low),
            Shape::One => Law::Fixed(self.low),
            Shape::Even => Law::Uniform { low: self.low, high: self.high },
            Shape::Ninety => Law::between_90(self.low, self.high),
        }
    }
    /// `0.05 mm to 0.3 mm`.
    pub fn text(&self) -> String {
        let show = |si: f64| Amount::new(self.row.quantity, si).shown_in(self.row.unit).text(3);
        if self.low == self.high {
            short(&show(self.low))
        } else {
            format!("{} to {}", short(&show(self.low)), short(&show(self.high)))
        }
    }
}

/// `0.0500 mm` reads better as `0.05 mm`.
fn short(text: &str) -> String {
    let (number, unit) = text.split_once(' ').unwrap_or((text, ""));
    let number = if number.contains('.') { number.trim_end_matches('0').trim_end_matches('.') } else { number };
    if unit.is_empty() { number.into() } else { format!("{number} {unit}") }
}

/// The table with the overrides of one question.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Assumptions {
    overrides: BTreeMap<&'static str, (f64, f64)>,
}

/// A `--set` that cannot be followed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetFault {
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub help: String,
}

impl Assumptions {
    /// Overrides one: `NAME=VALUE` or `NAME=LOW..HIGH`, each with its unit.
    ///
    /// # Errors
    /// An unknown name, a text that is no such quantity, ends in the wrong order, a negative value.
    pub fn set(&mut self, text: &str) -> Result<(), SetFault> {
        let fault = |message: String, help: String| SetFault { message, help };
        let (name, value) = text.split_once('=').ok_or_else(|| {
            fault(format!("--set {text}: it needs a name and a value"), "write NAME=VALUE or NAME=LOW..HIGH".into())
        })?;
        let row = row(name.trim()).ok_or_else(|| fault(format!("--set: no assumption is called `{name}`"), nearest(name)))?;
        let read = |t: &str| {
            parse(t.trim(), row.quantity).map(|w| w.si).map_err(|f| fault(format!("--set {name}: {}", f.message()), f.help()))
        };
        let (low, high) = match range_ends(value) {
            Some((l, h)) => (read(&l)?, read(&h)?),
            None => (read(value)?, read(value)?),
        };
        if low > high || low < 0.0 {
            return Err(fault(
                format!("--set {name}: {value} is not a range"),
                "write the lower end first; neither end may be negative".into(),
            ));
        }
        self.overrides.insert(row.name, (low, high));
        Ok(())
    }
    /// The assumption of that name. The name is ours: a test holds every name used in the code against the table.
    pub fn get(&self, name: &'static str) -> AssumptionSetting {
        let row = row(name).unwrap_or(&table::ROWS[0]);
        debug_assert_eq!(row.name, name, "no assumption is called {name}");
        let quantity = row.quantity;
        let si = |v: f64| quantity.unit(row.unit).map_or(v, |u| u.unit().si_from_number(v));
        match self.overrides.get(row.name) {
            Some(&(low, high)) => AssumptionSetting { row, low, high, overridden: true },
            None => AssumptionSetting { row, low: si(row.low), high: si(row.high), overridden: false },
        }
    }
    /// Its single value: the middle of a band.
    pub fn value(&self, name: &'static str) -> f64 {
        self.get(name).law().median()
    }
    /// Every assumption as set.
    pub fn all(&self) -> Vec<AssumptionSetting> {
        table().map(|r| self.get(r.name)).collect()
    }
    /// Those that were overridden.
    pub fn overridden(&self) -> Vec<AssumptionSetting> {
        self.all().into_iter().filter(|s| s.overridden).collect()
    }
}

/// The row of that name.
pub fn row(name: &str) -> Option<&'static Assumption> {
    table().find(|r| r.name == name)
}

fn nearest(name: &str) -> String {
    let near = crate::mechanics::call::nearest(name, table().map(|r| r.name));
    let asked = near.first().map_or(String::new(), |n| format!("did you mean `{n}`? "));
    format!("{asked}`gripbook fasten --assumptions` lists all")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What is printed can be typed again; the range as printed and as short text are one.
    #[test]
    fn a_printed_range_is_read() {
        let mut typed = Assumptions::default();
        typed.set("glue_gap=0.1 mm to 1.5 mm").unwrap();
        let mut short = Assumptions::default();
        short.set("glue_gap=0.1mm..1.5mm").unwrap();
        assert_eq!(typed, short);
        assert!(typed.set("glue_gap=1.5 mm to 0.1 mm").is_err() && typed.set("glue_gap=0.1 mm to").is_err());
        for setting in Assumptions::default().all() {
            let mut again = Assumptions::default();
            again
                .set(&format!("{}={}", setting.row.name, setting.text()))
                .unwrap_or_else(|f| panic!("{}: {f:?}", setting.row.name));
        }
    }

    #[test]
    fn every_row_is_complete_and_named_once() {
        let rows: Vec<&Assumption> = table().collect();
        for (i, row) in rows.iter().enumerate() {
            assert!(row.quantity.unit(row.unit).is_some(), "{}: no unit {}", row.name, row.unit);
            assert!(row.low <= row.high, "{}", row.name);
            assert_eq!(row.shape == Shape::One, row.low == row.high, "{}: one value or a band", row.name);
            assert!(row.means.len() > 10 && row.reason.len() > 10, "{}", row.name);
            assert!(rows[..i].iter().all(|r| r.name != row.name), "{} twice", row.name);
        }
    }

    #[test]
    fn every_name_in_the_code_is_in_the_table() {
        let mut files = Vec::new();
        for root in ["src/joint", "src/plugins/methods"] {
            gather(&std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(root), &mut files);
        }
        let mut seen = std::collections::BTreeSet::new();
        let mut asked = 0;
        for file in files {
            let text = std::fs::read_to_string(&file).unwrap();
            if file.to_string_lossy().contains("joint/assumption") {
                continue;
            }
            for name in table().map(|r| r.name).filter(|n| text.contains(&format!("\"{n}\""))) {
                seen.insert(name);
            }
            for call in [
                "assume::<",
                "assume_own::<",
                "assumed(",
                "assumptions.get(",
                "assumptions.value(",
                "spread_by(",
                "spread_by::<",
                "spread_shared(",
            ] {
                for (at, _) in text.match_indices(call) {
                    let after = text[at + call.len()..].trim_start_matches(|c: char| c.is_alphanumeric() || c == '>' || c == '(');
                    let Some(quoted) = after.strip_prefix('"') else { continue };
                    let name = quoted.split('"').next().unwrap();
                    assert!(row(name).is_some(), "{}: `{name}` is not in the table", file.display());
                    asked += 1;
                }
            }
        }
        let idle: Vec<&str> = table().map(|r| r.name).filter(|n| !seen.contains(n)).collect();
        assert!(idle.is_empty(), "no model asks for {idle:?}");
        assert!(asked > 60, "the test reads the sources ({asked} questions seen)");
    }

    fn gather(folder: &std::path::Path, into: &mut Vec<std::path::PathBuf>) {
        for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
            let path = entry.path();
            if path.is_dir() { gather(&path, into) } else { into.push(path) }
        }
    }

    #[test]
    fn overrides_are_read_with_units() {
        let mut all = Assumptions::default();
        all.set("axial_flaw=0.1mm..0.2mm").unwrap();
        assert_eq!(all.get("axial_flaw").text(), "0.1 mm to 0.2 mm");
        assert!(all.get("axial_flaw").overridden);
        assert!(all.set("axial_flaw=0.3mm..0.1mm").is_err());
        assert!(all.set("axial_flaw=3 N").is_err());
        assert!(all.set("axial_flow=0.1mm").unwrap_err().help.contains("axial_flaw"));
    }
}
