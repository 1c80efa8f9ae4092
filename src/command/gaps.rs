//! `gaps`: what was measured, what was published, where only rules speak, and what is worth testing next.

mod next;

use super::card::{CommandCard, Effect, HelpGroup, Run, TABLE};
use super::context::quoted;
use super::lost::{self, RestsOn};
use super::{CommandOutcome, Context, Fault, Shared, headings, library, save};
use gripbook::audit::gaps::{By, Frame, PairCell as Pair, PairKnowledge, Test, matrix, proposals};
use gripbook::book::sought::{self, Sought};
use gripbook::book::{Book, Record};
use gripbook::mechanics::thread;
use gripbook::present::svg::{Anchor, Drawing, INK, Stroke, TextStyle, at, text_width};
use gripbook::present::{Answer, Block, Page, Table, brief::fits, counted, table::Cell};
use gripbook::quantity::{self, Amount, Measure, Quantity};
use gripbook::suit;
use next::{Asker, Next};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::PathBuf;
use uom::si::f64::Length;

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "gaps",
    about: "What is worth testing next, and what is known already",
    group: HelpGroup::Book,
    formats: TABLE,
    effect: Effect::Answers,
    outputs: &["--plot"],
    runs: &Run(run),
};

/// Arguments of `gaps`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED, after_help = "Examples:
  gripbook gaps                            adhesives on all materials
  gripbook gaps --by method --need 300N    threads, for a load
  gripbook gaps --material pla --full      all that is known of one material")]
pub struct GapsArgs {
    /// Columns of the matrix
    #[arg(long, value_enum, default_value = "adhesive")]
    pub by: Columns,
    /// Only these materials (repeatable)
    #[arg(long, value_name = "ID")]
    pub material: Vec<String>,
    /// What the joint must hold: a strength for adhesives (8MPa), a load for methods (300N)
    #[arg(long, value_name = "QUANTITY")]
    pub need: Option<String>,
    /// Thread of the joints that methods are compared on
    #[arg(long, default_value = "M3")]
    pub thread: String,
    /// Engaged length of those joints
    #[arg(long, value_name = "LENGTH", default_value = "6mm")]
    pub length: String,
    /// How many tests to propose; 0 proposes all
    #[arg(long, default_value_t = 10, help_heading = headings::OUTPUT)]
    pub limit: usize,
    /// The whole page: what is known of every material, then every proposed test
    #[arg(long, help_heading = headings::OUTPUT)]
    pub full: bool,
    /// Write the matrix as a heat map (SVG)
    #[arg(long, value_name = "FILE.svg", help_heading = headings::OUTPUT)]
    pub plot: Option<PathBuf>,
}

/// Columns of the matrix.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Columns {
    /// Adhesives.
    Adhesive,
    /// Methods of making a threaded joint.
    Method,
}

struct Gaps {
    by: By,
    /// What is asked of the joints, in words.
    asked: Option<String>,
    rows: Vec<String>,
    columns: Vec<String>,
    cells: Vec<Vec<Pair>>,
    next: Vec<Next>,
    /// Pairs that can work, of which nothing to expect is known.
    unknown: usize,
    /// What the literature was searched for in vain.
    sought: Vec<Sought>,
    hash: String,
    plot: Option<String>,
    full: bool,
}

/// Builds the matrix.
///
/// # Errors
/// A material that does not exist, a need of another quantity, a plot that cannot be written.
pub fn run(args: &GapsArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let loaded = library::open(shared, context)?;
    let book = &loaded.book;
    let methods = context.registry.methods_of(book);
    let by = if args.by == Columns::Adhesive { By::Adhesive } else { By::Method };
    let rows = materials(book, &args.material)?;
    let columns: Vec<String> = match by {
        By::Adhesive => book.of_role("adhesive").filter(|r| r.current).map(|r| r.id.to_string()).collect(),
        By::Method => methods.names().into_iter().map(str::to_owned).collect(),
    };
    let need = args.need.as_deref().map(|text| needed(text, by)).transpose()?;
    let thread =
        thread::fastening(&args.thread).map_err(|f| Fault::usage(format!("--thread: {}", f.message())).help(f.help()))?;
    let length = Length::from_si(quantity_of("--length", &args.length, Quantity::Length)?);
    let (rules, _) = suit::rules(book);
    let all = methods.all();
    let frame = Frame { book, rules: &rules, methods: &all, by, need, thread, length };
    let sought = searched(book, by, &rows, args.material.is_empty());
    let made = matrix(&frame, rows, columns);
    let hash = book.hash_line(made.rows.iter().copied());
    let tests = proposals(&made);
    let unknown = tests.iter().filter(|t| t.worth.is_none()).count();
    let asker = Asker { book, by, need, args, packs: &shared.pack };
    let most = if args.limit == 0 { tests.len() } else { args.limit };
    let next = varied(&tests, most, made.rows.len()).into_iter().map(|t| asker.told(t)).collect();
    let mut answer = Gaps {
        by,
        asked: asked(&frame),
        rows: made.rows.iter().map(|r| r.id.name().to_owned()).collect(),
        columns: made.columns.iter().map(|c| c.rsplit('/').next().unwrap_or(c).to_owned()).collect(),
        cells: made.cells,
        next,
        unknown,
        sought,
        hash,
        plot: None,
        full: args.full,
    };
    if let Some(path) = &args.plot {
        let mut files = save::Batch::default();
        files.output(path, heat_map(&answer, &context.command_line));
        files.commit(context)?;
        answer.plot = Some(path.to_string_lossy().into_owned());
    }
    Ok(CommandOutcome { answer: lost::told(&loaded.book, RestsOn::Joints, Box::new(answer)), exit: loaded.exit(0) })
}

/// The most worthwhile tests; no material and no column comes twice while another has not come, for ten tests of one glue
/// teach less than one each of ten.
fn varied<'t, 'b>(tests: &'t [Test<'b>], most: usize, materials: usize) -> Vec<&'t Test<'b>> {
    let (mut rows, mut columns) = (BTreeSet::new(), BTreeSet::new());
    let is_new = |t: &&Test<'_>| {
        // A material that was asked for by name is the subject of all tests.
        let new = (materials == 1 || !rows.contains(t.material.id.as_str())) && !columns.contains(&*t.column);
        if new {
            rows.insert(t.material.id.to_string());
            columns.insert(t.column.clone());
        }
        new
    };
    let (first, rest): (Vec<&Test<'b>>, Vec<&Test<'b>>) = tests.iter().partition(is_new);
    first.into_iter().chain(rest).take(most).collect()
}

/// Searches of joints for the matrix of methods; for that of adhesives those of the materials that were named.
fn searched(book: &Book, by: By, rows: &[&Record], every: bool) -> Vec<Sought> {
    match by {
        By::Method => sought::of_joints(book),
        By::Adhesive if every => Vec::new(),
        By::Adhesive => {
            let mut all: Vec<Sought> = rows.iter().flat_map(|m| sought::of_material(book, m)).collect();
            all.dedup();
            all
        }
    }
}

/// The quantity that answers the question of the matrix.
fn of(by: By) -> Quantity {
    if by == By::Adhesive { Quantity::Stress } else { Quantity::Force }
}

fn asked(frame: &Frame<'_>) -> Option<String> {
    let need = frame.need.map(|n| Amount::new(of(frame.by), n).text(3));
    match frame.by {
        By::Adhesive => need,
        By::Method => {
            let joint = format!("{} over {}", frame.thread.designation(), Amount::of(frame.length).text(3));
            Some(need.map_or_else(|| joint.clone(), |n| format!("{joint}, to hold {n}")))
        }
    }
}

fn materials<'b>(book: &'b Book, ids: &[String]) -> Result<Vec<&'b Record>, Fault> {
    if ids.is_empty() {
        return Ok(book.of_role("material").filter(|r| r.current && !r.invented()).collect());
    }
    ids.iter().map(|id| library::find(book, id, &["material"])).collect()
}

/// What the joint must hold. The quantity of the other matrix is understood, and the line that asks it told.
fn needed(text: &str, by: By) -> Result<f64, Fault> {
    quantity_of("--need", text, of(by)).map_err(|fault| {
        let is = |quantity| quantity_of("--need", text, quantity).is_ok();
        let typed = quoted(text);
        match by {
            By::Adhesive if is(Quantity::Force) => {
                fault.help(format!("a load is asked of threads: gripbook gaps --by method --need {typed}"))
            }
            By::Method if is(Quantity::Stress) => {
                fault.help(format!("a strength is asked of adhesives: gripbook gaps --need {typed}"))
            }
            _ => fault,
        }
    })
}

/// A quantity typed on the command line.
fn quantity_of(option: &str, text: &str, quantity: Quantity) -> Result<f64, Fault> {
    let fault = |f: quantity::QuantityFault| Fault::usage(format!("{option}: {}", f.message())).help(f.help());
    let written = quantity::parse_typed(text, quantity).map_err(fault)?;
    if written.si > 0.0 {
        return Ok(written.si);
    }
    Err(Fault::usage(format!("{option} {text}: it must be above zero")))
}

impl Gaps {
    /// The word of a cell's state.
    fn word(&self, cell: &Pair) -> &'static str {
        match (cell.state(), self.by) {
            (PairKnowledge::Rules, By::Method) => "model only",
            (state, _) => state.word(),
        }
    }
    /// The word with the number of series.
    fn counted(&self, cell: &Pair) -> String {
        match cell.state() {
            PairKnowledge::Measured => format!("{} measured", cell.own),
            PairKnowledge::Published => format!("{} published", cell.published),
            _ => self.word(cell).to_owned(),
        }
    }
    fn pairs(&self) -> impl Iterator<Item = (&String, &String, &Pair)> {
        let rows = self.rows.iter().zip(&self.cells);
        rows.flat_map(|(row, cells)| self.columns.iter().zip(cells).map(move |(column, c)| (row, column, c)))
    }
    /// Says that there is nothing to test, where that is so.
    fn none(&self, page: &mut Page) {
        if self.next.is_empty() {
            page.line("Nothing: every pair that can work is either measured or decided for this need.");
        }
    }
    /// The first page: what to test next, as many of the tests as it holds.
    fn first(&self) -> Page {
        let of = |rows: usize| self.rows_of(rows);
        (1..=self.next.len()).rev().map(of).find(fits).unwrap_or_else(|| of(0))
    }
    fn rows_of(&self, rows: usize) -> Page {
        let mut page = Page::titled("Worth testing next");
        if let Some(asked) = &self.asked {
            page.field("asked", asked.clone());
        }
        page.field("known", self.states()).blank();
        self.none(&mut page);
        for (at, n) in self.next.iter().take(rows).enumerate() {
            page.line(format!("{}. {}", at + 1, n.short));
            page.blocks.push(Block::Verbatim(n.command()));
        }
        let more = self.next.len() - rows;
        let tests = if more > 0 { format!("{}, and ", gripbook::present::more(more, "test")) } else { String::new() };
        page.line(format!("--full: {tests}what is known of each material. --format csv: every pair."));
        if let Some(plot) = &self.plot {
            page.line(format!("{plot} written"));
        }
        page
    }
    /// `517 pairs: 13 published, 190 model only, 214 nothing, 100 ruled out`.
    fn states(&self) -> String {
        let out = |c: &Pair| c.prospect.ruled_out.is_some() && c.state() >= PairKnowledge::Rules;
        let pairs = || self.pairs().map(|(_, _, c)| c);
        let of = |state: PairKnowledge| {
            let same: Vec<&Pair> = pairs().filter(|c| c.state() == state && !out(c)).collect();
            same.first().map(|c| format!("{} {}", same.len(), self.word(c)))
        };
        let states = [PairKnowledge::Measured, PairKnowledge::Published, PairKnowledge::Rules, PairKnowledge::Nothing]
            .into_iter()
            .filter_map(of);
        let ruled_out = pairs().filter(|c| out(c)).count();
        let all: Vec<String> = states.chain((ruled_out > 0).then(|| format!("{ruled_out} ruled out"))).collect();
        format!("{}: {}", counted(self.rows.len() * self.columns.len(), "pair"), all.join(", "))
    }
    fn long_table(&self) -> Table {
        let columns = [
            "material",
            "column",
            "state",
            "measured",
            "published",
            "rules",
            "ruled_out",
            "expected_low",
            "expected_high",
            "unit",
        ];
        let mut table = Table::new(&columns);
        let unit = of(self.by).canonical().symbol();
        for (row, column, c) in self.pairs() {
            let n = |n: usize| Cell::Number(n as f64);
            let expected = c.prospect.outlook.as_ref();
            let end = |si: Option<f64>| si.map_or(Cell::Empty, |si| Cell::Number(Amount::new(of(self.by), si).value()));
            table.row(vec![
                row.as_str().into(),
                column.as_str().into(),
                self.word(c).into(),
                n(c.own),
                n(c.published),
                n(c.rules),
                c.prospect.ruled_out.clone().into(),
                end(expected.map(|o| o.low)),
                end(expected.map(|o| o.high)),
                if expected.is_some() { unit.into() } else { Cell::Empty },
            ]);
        }
        table
    }
}

impl Answer for Gaps {
    fn schema(&self) -> &'static str {
        "gripbook/gaps/1"
    }
    fn json(&self) -> Value {
        let cell = |(row, column, c): (&String, &String, &Pair)| {
            json!({
                "material": row, "column": column, "state": self.word(c), "measured": c.own, "published": c.published,
                "rules": c.rules, "ruled_out": c.prospect.ruled_out,
            })
        };
        let cells: Vec<Value> = self.pairs().map(cell).collect();
        let next: Vec<&Value> = self.next.iter().map(|n| &n.json).collect();
        let by = if self.by == By::Adhesive { "adhesive" } else { "method" };
        json!({"by": by, "asked": self.asked, "book": self.hash, "cells": cells, "next": next, "nothing_to_expect": self.unknown, "sought": self.sought})
    }
    fn page(&self) -> Page {
        let by = if self.by == By::Adhesive { "adhesives" } else { "methods" };
        let mut page =
            Page::titled(format!("What is known of {} with {} {by}", counted(self.rows.len(), "material"), self.columns.len()));
        if let Some(asked) = &self.asked {
            page.field("asked", asked.clone());
        }
        page.blank();
        for (row, cells) in self.rows.iter().zip(&self.cells) {
            let known = self.columns.iter().zip(cells).filter(|(_, c)| c.state() < PairKnowledge::Rules);
            let mut parts: Vec<String> = known.map(|(column, c)| format!("{column} {}", self.counted(c))).collect();
            let out = |c: &&Pair| c.prospect.ruled_out.is_some() && c.state() >= PairKnowledge::Rules;
            let count =
                |state: PairKnowledge| cells.iter().filter(|c| c.state() == state && c.prospect.ruled_out.is_none()).count();
            let word = if self.by == By::Adhesive { "rules only" } else { "model only" };
            for (word, n) in [
                (word, count(PairKnowledge::Rules)),
                ("nothing", count(PairKnowledge::Nothing)),
                ("ruled out", cells.iter().filter(out).count()),
            ] {
                parts.extend((n > 0).then(|| format!("{word} {n}")));
            }
            page.field(row.clone(), parts.join(", "));
        }
        page.heading("Worth testing next");
        for n in &self.next {
            page.item(format!("{} with {}: {}", n.material, n.column, n.because));
            page.blocks.push(Block::Verbatim(n.command()));
        }
        self.none(&mut page);
        if self.unknown > 0 {
            page.blank().line(format!(
                "For {} no load can be expected from what is known: there is no test, no range of the glue, or no strength of the material.",
                counted(self.unknown, "pair")
            ));
        }
        if !self.sought.is_empty() {
            page.heading("Looked for and not found");
        }
        for search in &self.sought {
            page.item(search.told());
        }
        page.blank().line("--format csv gives every cell; --plot FILE.svg draws the matrix");
        if let Some(plot) = &self.plot {
            page.line(format!("{plot} written"));
        }
        page
    }
    fn brief(&self, _: usize) -> Option<Page> {
        (!self.full).then(|| self.first())
    }
    fn table(&self) -> Option<Table> {
        Some(self.long_table())
    }
}

/// Fill, and the letter that stands in the cell beside the number: colour is never the only signal.
fn look(cell: &Pair) -> (&'static str, &'static str) {
    match cell.state() {
        PairKnowledge::Measured => ("#7fbf9f", "m"),
        PairKnowledge::Published => ("#a9cdea", "p"),
        _ if cell.prospect.ruled_out.is_some() => ("#d5d5d5", "x"),
        PairKnowledge::Rules => ("#f0e6c0", "r"),
        PairKnowledge::Nothing => ("#ffffff", "-"),
    }
}

const CELL: f64 = 24.0;
const LEFT: f64 = 170.0;
const TOP: f64 = 216.0;

fn heat_map(gaps: &Gaps, command: &str) -> String {
    let rules = if gaps.by == By::Adhesive { "rules only" } else { "joint model only" };
    let legend =
        format!("m: own measurements, p: published (each with the number of series), r: {rules}, -: nothing, x: ruled out");
    let foot = [legend, format!("{} · gripbook {}", gaps.hash, env!("CARGO_PKG_VERSION")), command.to_owned()];
    let widest = foot.iter().map(|line| text_width(line, 11.0)).fold(0.0, f64::max) + 20.0;
    let width = (LEFT + CELL * gaps.columns.len() as f64 + 60.0).max(widest);
    let height = TOP + CELL * gaps.rows.len() as f64 + 70.0;
    let description = "Rows are materials, columns adhesives or methods; every cell has a letter.";
    let mut d = Drawing::new(width, height, "", "What is known of materials and joints", description);
    let small = TextStyle::plain(11.0, Anchor::Start);
    let asked = gaps.asked.as_ref().map_or(String::new(), |asked| format!(": {asked}"));
    let what = if gaps.by == By::Adhesive { "adhesives on materials" } else { "joints in materials" };
    d.text(at(10.0, 20.0), &format!("What is known of {what}{asked}"), TextStyle::plain(13.0, Anchor::Start).bold());
    for (x, column) in gaps.columns.iter().enumerate() {
        d.text(at(LEFT + CELL * (x as f64 + 0.65), TOP - 6.0), column, small.turned(-60.0));
    }
    for (y, (row, cells)) in gaps.rows.iter().zip(&gaps.cells).enumerate() {
        let top = TOP + CELL * y as f64;
        d.text(at(LEFT - 6.0, top + 16.0), row, TextStyle::plain(11.0, Anchor::End));
        for (x, cell) in cells.iter().enumerate() {
            let (fill, letter) = look(cell);
            let corner = at(LEFT + CELL * x as f64, top);
            d.rectangle(corner, CELL, CELL, fill, Stroke::solid(INK, 0.4));
            let number = if cell.own > 0 { cell.own } else { cell.published };
            let text = if cell.state() < PairKnowledge::Rules { format!("{letter}{number}") } else { letter.to_owned() };
            d.text(at(corner.x + CELL / 2.0, top + 16.0), &text, TextStyle::plain(10.0, Anchor::Middle));
        }
    }
    let base = TOP + CELL * gaps.rows.len() as f64 + 22.0;
    for (line, text) in foot.iter().enumerate() {
        d.text(at(10.0, base + 16.0 * line as f64), text, small);
    }
    d.finish()
}
