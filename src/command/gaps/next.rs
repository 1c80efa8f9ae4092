//! A test worth making, with the command that plans it.

use super::{GapsArgs, of};
use crate::command::context::quoted;
use crate::command::library;
use gripbook::audit::gaps::{By, JOINTS, Outlook, OutlookGround, Test, width_after};
use gripbook::book::{Book, Record};
use gripbook::present::brief::COLUMNS;
use gripbook::present::fold::continued;
use gripbook::quantity::Amount;
use serde_json::{Value, json};

/// Columns before a command.
const INDENT: &str = "   ";

/// A test, ready to be told.
pub(super) struct Next {
    pub material: String,
    pub column: String,
    pub because: String,
    /// Pair and expectation on one line or two.
    pub short: String,
    plan: Vec<String>,
    pub json: Value,
}

impl Next {
    /// The command line of its plan. Where it does not fit, it goes on behind a backslash, so that it can be pasted.
    pub fn command(&self) -> String {
        continued(&self.plan, INDENT, COLUMNS)
    }
}

/// What was asked of the matrix, in the terms of a plan.
pub(super) struct Asker<'a> {
    pub book: &'a Book,
    pub by: By,
    pub need: Option<f64>,
    pub args: &'a GapsArgs,
    pub packs: &'a [String],
}

impl Asker<'_> {
    /// A proposal in words, in JSON and as a command.
    pub fn told(&self, test: &Test<'_>) -> Next {
        let outlook = test.outlook.as_ref();
        let column = test.column.rsplit('/').next().unwrap_or(&test.column).to_owned();
        let material = test.material.id.name().to_owned();
        let because = outlook.map_or_else(|| NOTHING.to_owned(), |o| self.because(o));
        let expected = outlook.map_or_else(|| NOTHING.to_owned(), |o| self.in_short(o));
        let plan = self.plan(test);
        let json = json!({
            "material": test.material.id.to_string(),
            "column": test.column,
            "because": because,
            "worth": test.worth,
            "hold": outlook.and_then(|o| o.hold),
            "low": outlook.map(|o| Amount::new(of(self.by), o.low)),
            "high": outlook.map(|o| Amount::new(of(self.by), o.high)),
            "factor": outlook.map(Outlook::width),
            "factor_after": width_after(),
            "joints": JOINTS,
            "plan": plan.join(" "),
        });
        Next { short: format!("{material} with {column}: {expected}"), material, column, because, plan, json }
    }

    fn show(&self, si: f64) -> String {
        Amount::new(of(self.by), si).text(2)
    }

    fn held(&self, outlook: &Outlook) -> String {
        let held = outlook.hold.zip(self.need);
        held.map(|(p, need)| format!("{:.0} % would hold {}; ", p * 100.0, self.show(need))).unwrap_or_default()
    }

    fn because(&self, o: &Outlook) -> String {
        format!(
            "{}expected {} to {} by {}, which {JOINTS} joints would narrow from a factor of {:.1} to {:.1}",
            self.held(o),
            self.show(o.low),
            self.show(o.high),
            o.ground.text(),
            o.width(),
            width_after().min(o.width())
        )
    }

    fn in_short(&self, o: &Outlook) -> String {
        let ground = match o.ground {
            OutlookGround::Pair => "this pair",
            OutlookGround::Family => "the families",
            OutlookGround::Model => "model",
            OutlookGround::Class => "the glue on metal",
        };
        let hold = o.hold.map(|p| format!("{:.0} % hold, ", p * 100.0)).unwrap_or_default();
        format!("{hold}{} to {} ({ground})", self.show(o.low), self.show(o.high))
    }

    /// The words of the command, an option with its value together.
    fn plan(&self, test: &Test<'_>) -> Vec<String> {
        let material = format!("material={}", self.name(test.material, "material"));
        let column = match self.by {
            By::Method => format!("method={}", test.column),
            By::Adhesive => {
                let adhesive = self.book.record(&test.column).map(|r| self.name(r, "adhesive"));
                format!("adhesive={}", adhesive.unwrap_or_else(|| test.column.clone()))
            }
        };
        let mut words = vec![format!("gripbook plan --matrix {}", quoted(&material)), quoted(&column)];
        if self.by == By::Method {
            words.push(format!("--thread {}", quoted(&self.args.thread)));
            words.push(format!("--length {}", quoted(&self.args.length)));
        }
        words.push(format!("--specimens {JOINTS}"));
        words.extend(self.packs.iter().map(|pack| format!("--pack {}", quoted(pack))));
        words
    }

    /// The short id, where it names this record and no other.
    fn name(&self, record: &Record, role: &str) -> String {
        let is_same = library::find(self.book, record.id.name(), &[role]).is_ok_and(|found| found.id == record.id);
        if is_same { record.id.name().to_owned() } else { record.id.to_string() }
    }
}

const NOTHING: &str = "nothing to expect is known";
