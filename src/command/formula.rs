//! `gripbook formula`: a formula by name, with its card, or its number.

use super::card::{CommandCard, Effect, HelpGroup, Run, TABLE};
use super::mistakes::Mistakes;
use super::{CommandOutcome, Context, Fault, Shared, headings};
use gripbook::mechanics::call::{self, CallFault, ValiditySaid};
use gripbook::mechanics::formula::{Formula, Status, Trend};
use gripbook::present::brief::COLUMNS;
use gripbook::present::fold::continued;
use gripbook::present::{Answer, Block, Page, Sheet, Table};
use gripbook::quantity::Amount;
use serde_json::{Value, json};

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "formula",
    about: "Look up a formula of the mechanics, or compute it",
    group: HelpGroup::Joints,
    formats: TABLE,
    effect: Effect::Answers,
    outputs: &[],
    runs: &Run(run),
};

/// Arguments of `formula`.
#[derive(Debug, Clone, clap::Args)]
#[command(after_help = "\
Examples:
  gripbook formula
  gripbook formula lame-hoop
  gripbook formula lame-hoop inner=1.3376mm outer=3mm pressure=12.51MPa
  gripbook formula alexander-hole-thread strength_ratio=0.1 --beyond-range")]
#[command(next_help_heading = headings::ASKED)]
pub struct FormulaArgs {
    /// The formula; without one, all are listed
    name: Option<String>,
    /// Its arguments as name=value, in any order and any unit; without them, its card is shown
    #[arg(value_name = "NAME=VALUE")]
    arguments: Vec<String>,
    /// Give a number even outside the range of validity, if the formula has one there
    #[arg(long, help_heading = headings::COMPUTED)]
    beyond_range: bool,
}

/// Runs the command.
pub fn run(args: &FormulaArgs, _: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let all = context.registry.formulas();
    let Some(name) = &args.name else {
        return Ok(CommandOutcome { answer: Box::new(FormulaList(all)), exit: 0 });
    };
    let wrong = |f: CallFault| Fault::usage(f.message()).help(f.help());
    let formula = call::find(&all, name).map_err(wrong)?;
    if args.arguments.is_empty() {
        return Ok(CommandOutcome { answer: Box::new(card(formula)), exit: 0 });
    }
    match call::call(formula, &args.arguments, args.beyond_range) {
        Ok(answer) => Ok(CommandOutcome { answer: Box::new(Number { answer, beyond_range: args.beyond_range }), exit: 0 }),
        Err(fault) if fault.is_usage() => {
            let mut all = Mistakes::default();
            call::mistakes(formula, &args.arguments).into_iter().for_each(|one| all.add(wrong(one)));
            all.settle(&context.command_line).and(Err(wrong(fault)))
        }
        Err(fault) => Ok(CommandOutcome { answer: Box::new(NoNumber::of(formula, &fault)), exit: 1 }),
    }
}

/// A number.
struct Number {
    answer: call::FormulaAnswer,
    beyond_range: bool,
}

/// Six significant digits: enough to check a printed table, and no false comfort.
fn shown(amount: Amount) -> String {
    amount.text(6)
}

fn validity_words(v: &ValiditySaid) -> String {
    match v.inside {
        Some(false) => format!("OUTSIDE its range of validity: {}", v.left.join("; ")),
        Some(true) if v.kind == "within" => format!("inside its range of validity: {}", v.says),
        _ => v.says.clone(),
    }
}

impl Answer for Number {
    fn schema(&self) -> &'static str {
        "gripbook/formula/1"
    }
    fn json(&self) -> Value {
        let mut value = serde_json::to_value(&self.answer).unwrap_or(Value::Null);
        if let Value::Object(fields) = &mut value {
            fields.insert("beyond_range".into(), json!(self.beyond_range));
        }
        value
    }
    fn page(&self) -> Page {
        let a = &self.answer;
        let mut page = Page::titled(format!("{}: {} = {}", a.formula, a.symbol, shown(a.result)));
        page.line(&*a.purpose.to_string());
        page.heading("With");
        for input in &a.inputs {
            page.field(input.name, format!("{} ({})", input.given.text, input.means));
        }
        for remark in &a.remarks {
            page.item(remark.clone());
        }
        page.heading("Range of validity");
        page.line(validity_words(&a.validity));
        page.heading("Source");
        page.line(a.source);
        page
    }
    fn table(&self) -> Option<Table> {
        let a = &self.answer;
        let mut table = Table::new(&["name", "symbol", "value", "unit", "si"]);
        let r = a.result;
        table.row(vec![a.formula.into(), a.symbol.into(), r.value().into(), r.unit.symbol().into(), r.si.into()]);
        for i in &a.inputs {
            table.row(vec![i.name.into(), "".into(), i.given.value.into(), i.given.unit.symbol().into(), i.given.si.into()]);
        }
        Some(table)
    }
}

/// No number, and why.
struct NoNumber {
    formula: &'static str,
    because: String,
    help: String,
    left: Vec<String>,
    source: &'static str,
}

impl NoNumber {
    fn of(formula: &Formula, fault: &CallFault) -> Self {
        let left = match fault {
            CallFault::OutsideRange { left, .. } => left.clone(),
            _ => Vec::new(),
        };
        let help = match fault {
            CallFault::OutsideRange { has_value: true, .. } => {
                "--beyond-range gives a number nevertheless; judge it yourself".to_string()
            }
            _ => fault.help(),
        };
        NoNumber { formula: formula.name, because: fault.message(), help, left, source: formula.source }
    }
}

impl Answer for NoNumber {
    fn schema(&self) -> &'static str {
        "gripbook/formula/1"
    }
    fn json(&self) -> Value {
        json!({
            "formula": self.formula, "result": null, "because": self.because, "help": self.help,
            "validity": { "inside": if self.left.is_empty() { None } else { Some(false) }, "left": self.left },
            "source": self.source,
        })
    }
    fn page(&self) -> Page {
        let mut page = Page::titled(format!("{}: no number", self.formula));
        page.line(&*self.because).line(&*self.help);
        page
    }
}

fn card(f: &Formula) -> Sheet {
    Sheet { schema: "gripbook/formula-card/1", page: card_page(f), json: card_json(f), table: None }
}

fn card_json(f: &Formula) -> Value {
    let arguments: Vec<Value> = f
        .parameters
        .iter()
        .map(|p| {
            let a = p.argument;
            json!({
                "name": a.name, "symbol": a.symbol, "quantity": p.quantity.word(), "unit": a.unit, "means": a.means,
                "must_be": call::domain_words(p), "result": a.trend,
            })
        })
        .collect();
    json!({
        "formula": f.name, "purpose": f.purpose, "arguments": arguments,
        "result": { "symbol": f.gives.symbol, "quantity": f.quantity.word(), "unit": f.gives.unit, "means": f.gives.means },
        "validity": call::stated(f), "source": f.source, "example": f.example,
    })
}

fn card_page(f: &Formula) -> Page {
    let mut page = Page::titled(format!("{}: {}", f.name, f.purpose));
    page.heading("Arguments");
    for p in &f.parameters {
        let a = p.argument;
        let trend = match a.trend {
            Trend::Rises => "raises the result",
            Trend::Falls => "lowers the result",
            Trend::Mixed => "raises or lowers the result",
        };
        page.field(a.name, format!("{}, {}; {}; {trend}", with_unit(a.symbol, a.unit), a.means, call::domain_words(p)));
    }
    page.heading("Result");
    page.field(with_unit(f.gives.symbol, f.gives.unit), f.gives.means);
    page.heading("Range of validity");
    page.line(call::stated(f).says);
    page.heading("Source");
    page.line(f.source);
    page.heading("Example");
    let words: Vec<String> = std::iter::once("gripbook formula").chain(f.example.call.split(' ')).map(str::to_owned).collect();
    page.blocks.push(Block::Verbatim(continued(&words, "", COLUMNS)));
    page.line(format!("gives {} ({}: {})", f.example.result, status(f.example.status), f.example.origin));
    page
}

/// `pitch [mm]`; a plain number has no unit.
fn with_unit(symbol: &str, unit: &str) -> String {
    if unit == "1" { symbol.to_owned() } else { format!("{symbol} [{unit}]") }
}

fn status(status: Status) -> &'static str {
    match status {
        Status::Published => "published",
        Status::Hand => "by hand",
        Status::Library => "by an independent library",
        Status::Memory => "from memory, not seen",
        Status::Practice => "common practice",
        Status::Own => "this program",
    }
}

/// All formulas.
struct FormulaList(Vec<Formula>);

impl Answer for FormulaList {
    fn schema(&self) -> &'static str {
        "gripbook/formulas/1"
    }
    fn json(&self) -> Value {
        json!({ "formulas": self.0.iter().map(card_json).collect::<Vec<_>>() })
    }
    fn page(&self) -> Page {
        let mut page = Page::titled(format!("{} formulas", self.0.len()));
        for topic in self.0.chunk_by(|a, b| a.topic == b.topic) {
            topic.first().map(|f| page.heading(f.topic));
            for f in topic {
                page.field(f.name, f.purpose);
            }
        }
        page.blank().line("`gripbook formula NAME` shows the arguments of one, its range, its source and an example.");
        page
    }
    fn table(&self) -> Option<Table> {
        let mut table = Table::new(&["formula", "purpose", "result", "unit", "source"]);
        for f in &self.0 {
            table.row(vec![f.name.into(), f.purpose.into(), f.gives.means.into(), f.gives.unit.into(), f.source.into()]);
        }
        Some(table)
    }
}
