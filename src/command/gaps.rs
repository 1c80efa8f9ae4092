//! `gaps`: what was measured, what was published, where only rules speak, and what is worth testing next.

use super::{Context, Fault, Outcome, Shared, library, save};
use crate::audit::gaps::{By, Question, State, matrix, questions};
use crate::book::{Book, Record};
use crate::plugins::methods;
use crate::present::svg::{Anchor, Drawing, INK, Stroke, TextStyle, at};
use crate::present::{Answer, Page, Table, table::Cell};
use crate::quantity::{self, Quantity};
use serde_json::{Value, json};
use std::path::PathBuf;

/// Arguments of `gaps`.
#[derive(Debug, Clone, clap::Args)]
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
    /// How many tests to propose
    #[arg(long, default_value_t = 8)]
    pub limit: usize,
    /// Write the matrix as a heat map (SVG)
    #[arg(long, value_name = "FILE.svg")]
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
    rows: Vec<String>,
    columns: Vec<String>,
    cells: Vec<Vec<(State, usize, usize, usize)>>,
    next: Vec<(String, String, String, Option<f64>)>,
    hash: String,
    plot: Option<String>,
}

/// Builds the matrix.
///
/// # Errors
/// A material that does not exist, a need of another quantity, a plot that cannot be written.
pub fn run(args: &GapsArgs, shared: &Shared, context: &Context) -> Result<Outcome, Fault> {
    let loaded = library::open(shared, context)?;
    let book = &loaded.book;
    let by = if args.by == Columns::Adhesive { By::Adhesive } else { By::Method };
    let rows = materials(book, &args.material)?;
    let columns: Vec<String> = match by {
        By::Adhesive => book.of_role("adhesive").filter(|r| r.current).map(|r| r.id.to_string()).collect(),
        By::Method => methods::ALL.iter().map(|m| m.card().name.to_owned()).collect(),
    };
    let need = args.need.as_deref().map(|text| need(text, by)).transpose()?;
    let made = matrix(book, by, rows, columns);
    let next = questions(&made, need);
    let hash = book.hash_line(made.rows.iter().copied());
    let mut answer = Gaps {
        by,
        rows: made.rows.iter().map(|r| r.id.name().to_owned()).collect(),
        columns: made.columns.iter().map(|c| c.rsplit('/').next().unwrap_or(c).to_owned()).collect(),
        cells: made.cells.iter().map(|r| r.iter().map(|c| (c.state(), c.own, c.published, c.rules)).collect()).collect(),
        next: next.into_iter().take(args.limit).map(|q: Question<'_>| told(&q)).collect(),
        hash,
        plot: None,
    };
    if let Some(path) = &args.plot {
        save::replace(&context.folder.join(path), heat_map(&answer, &context.command_line).as_bytes())?;
        answer.plot = Some(path.to_string_lossy().into_owned());
    }
    Ok(Outcome { answer: Box::new(answer), exit: loaded.exit(0) })
}

fn told(q: &Question<'_>) -> (String, String, String, Option<f64>) {
    (q.material.id.to_string(), q.column.clone(), q.because.clone(), Some(q.width).filter(|w| w.is_finite()))
}

fn materials<'b>(book: &'b Book, ids: &[String]) -> Result<Vec<&'b Record>, Fault> {
    if ids.is_empty() {
        return Ok(book.of_role("material").filter(|r| r.current && !r.invented()).collect());
    }
    ids.iter().map(|id| library::find(book, id, &["material"])).collect()
}

fn need(text: &str, by: By) -> Result<f64, Fault> {
    let quantity = if by == By::Adhesive { Quantity::Stress } else { Quantity::Force };
    let (number, unit) = quantity::number::split(text);
    let spaced = format!("{number} {unit}");
    let written =
        quantity::parse(&spaced, quantity).map_err(|f| Fault { exit: 2, message: f.message(), help: Some(f.help()) })?;
    Ok(written.si)
}

impl Gaps {
    fn word(&self, cell: &(State, usize, usize, usize)) -> String {
        match cell.0 {
            State::Measured => format!("{} measured", cell.1),
            State::Published => format!("{} published", cell.2),
            state => state.word().to_owned(),
        }
    }
    fn long_table(&self) -> Table {
        let mut table = Table::new(&["material", "column", "state", "measured", "published", "rules"]);
        for (row, cells) in self.rows.iter().zip(&self.cells) {
            for (column, c) in self.columns.iter().zip(cells) {
                let n = |n: usize| Cell::Number(n as f64);
                table.row(vec![row.as_str().into(), column.as_str().into(), c.0.word().into(), n(c.1), n(c.2), n(c.3)]);
            }
        }
        table
    }
}

impl Answer for Gaps {
    fn schema(&self) -> &'static str {
        "gripbook/gaps/1"
    }
    fn json(&self) -> Value {
        let cells: Vec<Value> = self
            .rows
            .iter()
            .zip(&self.cells)
            .flat_map(|(row, cells)| self.columns.iter().zip(cells).map(move |(column, c)| (row, column, c)))
            .map(|(row, column, c)| json!({"material": row, "column": column, "state": c.0.word(), "measured": c.1, "published": c.2, "rules": c.3}))
            .collect();
        let next: Vec<Value> = self
            .next
            .iter()
            .map(|(m, c, why, width)| json!({"material": m, "column": c, "because": why, "factor": width}))
            .collect();
        json!({"by": if self.by == By::Adhesive { "adhesive" } else { "method" }, "book": self.hash, "cells": cells, "next": next})
    }
    fn page(&self) -> Page {
        let by = if self.by == By::Adhesive { "adhesives" } else { "methods" };
        let mut page = Page::titled(format!("What is known of {} materials with {} {by}", self.rows.len(), self.columns.len()));
        page.blank();
        for (row, cells) in self.rows.iter().zip(&self.cells) {
            let known = self.columns.iter().zip(cells).filter(|(_, c)| c.0 < State::Rules);
            let known: Vec<String> = known.map(|(column, c)| format!("{column} {}", self.word(c))).collect();
            let count = |state: State| cells.iter().filter(|c| c.0 == state).count();
            let rest = format!("rules only {}, nothing {}", count(State::Rules), count(State::Nothing));
            page.field(row.clone(), if known.is_empty() { rest } else { format!("{}; {rest}", known.join(", ")) });
        }
        if !self.next.is_empty() {
            page.heading("Worth testing next");
            for (material, column, why, _) in &self.next {
                page.item(format!("{material} with {column}: {why}"));
            }
        }
        page.blank().line("--format csv gives every cell, --plot FILE.svg the matrix as a picture");
        if let Some(plot) = &self.plot {
            page.line(format!("{plot} written"));
        }
        page
    }
    fn table(&self) -> Option<Table> {
        Some(self.long_table())
    }
}

/// Fill, and the letter that stands in the cell beside the number: colour is never the only signal.
fn look(state: State) -> (&'static str, &'static str) {
    match state {
        State::Measured => ("#7fbf9f", "m"),
        State::Published => ("#a9cdea", "p"),
        State::Rules => ("#f0e6c0", "r"),
        State::Nothing => ("#ffffff", "-"),
    }
}

const CELL: f64 = 24.0;
const LEFT: f64 = 170.0;
const TOP: f64 = 190.0;

fn heat_map(gaps: &Gaps, command: &str) -> String {
    let (width, height) = (LEFT + CELL * gaps.columns.len() as f64 + 20.0, TOP + CELL * gaps.rows.len() as f64 + 70.0);
    let description = "Rows are materials, columns adhesives or methods. m: series of one's own, p: published series, each with their number; r: rules only; -: nothing.";
    let mut d = Drawing::new(width.max(620.0), height, "", "What is known of materials and joints", description);
    let small = TextStyle::plain(11.0, Anchor::Start);
    for (x, column) in gaps.columns.iter().enumerate() {
        d.text(at(LEFT + CELL * (x as f64 + 0.65), TOP - 6.0), column, small.turned(-60.0));
    }
    for (y, (row, cells)) in gaps.rows.iter().zip(&gaps.cells).enumerate() {
        let top = TOP + CELL * y as f64;
        d.text(at(LEFT - 6.0, top + 16.0), row, TextStyle::plain(11.0, Anchor::End));
        for (x, cell) in cells.iter().enumerate() {
            let (fill, letter) = look(cell.0);
            let corner = at(LEFT + CELL * x as f64, top);
            d.rectangle(corner, CELL, CELL, fill, Stroke::solid(INK, 0.4));
            let number = cell.1.max(cell.2);
            let text = if cell.0 < State::Rules { format!("{letter}{number}") } else { letter.to_owned() };
            d.text(at(corner.x + CELL / 2.0, top + 16.0), &text, TextStyle::plain(10.0, Anchor::Middle));
        }
    }
    let base = TOP + CELL * gaps.rows.len() as f64 + 22.0;
    d.text(at(10.0, base), "m measured by oneself, p published (with number of series), r rules only, - nothing", small);
    d.text(at(10.0, base + 16.0), &format!("{} · gripbook {}", gaps.hash, env!("CARGO_PKG_VERSION")), small);
    d.text(at(10.0, base + 32.0), command, small);
    d.finish()
}
