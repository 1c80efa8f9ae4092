//! What is missing? A matrix of materials against adhesives or joint methods: what was measured, what was published, where
//! only rules speak, where nothing does; and which test would narrow the answer to a need the most.

use super::series::SeriesAt;
use crate::book::{Book, Record};
use serde_json::Value as Json;
use std::collections::BTreeSet;

/// The columns of the matrix.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// Adhesives; cells count bond tests.
    Adhesive,
    /// Methods of making a threaded joint; cells count tests of such joints.
    Method,
}

/// What is known of a pair, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum State {
    /// Series of one's own.
    Measured,
    /// Published series.
    Published,
    /// Rules only.
    Rules,
    /// Nothing.
    Nothing,
}

impl State {
    /// The word on screen.
    pub fn word(self) -> &'static str {
        match self {
            State::Measured => "measured",
            State::Published => "published",
            State::Rules => "rules only",
            State::Nothing => "nothing",
        }
    }
}

/// A cell of the matrix.
#[derive(Debug, Clone, PartialEq)]
pub struct Cell {
    /// Series of one's own.
    pub own: usize,
    /// Published series.
    pub published: usize,
    /// Rules whose scope names both sides or one of them and holds for both.
    pub rules: usize,
    /// Least and greatest strength or load that series of the families of the pair report, in SI.
    pub family: Option<(f64, f64)>,
}

impl Cell {
    /// The best that is known.
    pub fn state(&self) -> State {
        match (self.own, self.published, self.rules) {
            (1.., ..) => State::Measured,
            (0, 1.., _) => State::Published,
            (0, 0, 1..) => State::Rules,
            (0, 0, 0) => State::Nothing,
        }
    }
}

/// The matrix.
#[derive(Debug, Clone, PartialEq)]
pub struct Matrix<'b> {
    /// Materials.
    pub rows: Vec<&'b Record>,
    /// Ids of adhesives, or words of methods.
    pub columns: Vec<String>,
    /// Cells by row and column.
    pub cells: Vec<Vec<Cell>>,
}

/// A test worth making.
#[derive(Debug, Clone, PartialEq)]
pub struct Question<'b> {
    /// The material.
    pub material: &'b Record,
    /// The adhesive or method.
    pub column: String,
    /// How wide the open interval is, as a ratio of its ends; infinite where not even the families are known.
    pub width: f64,
    /// Why it is worth it.
    pub because: String,
}

/// A series in the terms of the matrix.
struct Seen<'b> {
    material: &'b Record,
    column: String,
    own: bool,
    values: Vec<f64>,
}

/// Builds the matrix of these materials.
pub fn matrix<'b>(book: &'b Book, by: By, rows: Vec<&'b Record>, columns: Vec<String>) -> Matrix<'b> {
    let seen: Vec<Seen<'b>> = book.of_kind("series").filter_map(|r| seen(book, r, by)).collect();
    let invented = rows.iter().any(|r| r.invented());
    let seen: Vec<Seen<'b>> = seen.into_iter().filter(|s| invented || !s.material.invented()).collect();
    let cells = rows.iter().map(|row| columns.iter().map(|column| cell(book, by, row, column, &seen)).collect()).collect();
    Matrix { rows, columns, cells }
}

fn seen<'b>(book: &'b Book, record: &'b Record, by: By) -> Option<Seen<'b>> {
    let series = SeriesAt::of(record, book).filter(SeriesAt::in_use)?;
    if record.rest["untraced"] == true {
        return None;
    }
    let material = book.record(series.text("/joint/material")?)?;
    let column = match by {
        By::Adhesive => series.text("/joint/adhesive")?,
        By::Method => series.text("/joint/method")?,
    };
    let values = series.measurements().into_iter().filter(|m| m.in_use && wanted(m.quantity, by));
    let values =
        values.flat_map(|m| m.mean.iter().map(|w| w.si).chain(m.specimens.iter().map(|s| s.value.si)).collect::<Vec<_>>());
    Some(Seen { material, column: column.to_owned(), own: series.own, values: values.collect() })
}

/// The quantities that answer the question of the matrix.
fn wanted(quantity: &str, by: By) -> bool {
    match by {
        By::Adhesive => matches!(quantity, "lap_shear_strength" | "shear_strength" | "butt_strength" | "pull_off_strength"),
        By::Method => matches!(quantity, "pull_out_load" | "push_out_load"),
    }
}

fn cell(book: &Book, by: By, row: &Record, column: &str, seen: &[Seen<'_>]) -> Cell {
    let mine = |s: &&Seen<'_>| s.material.id == row.id && s.column == column;
    let own = seen.iter().filter(mine).filter(|s| s.own).count();
    let published = seen.iter().filter(mine).filter(|s| !s.own).count();
    let akin = seen.iter().filter(|s| kin(book, &s.material.family, &row.family) && same_column(book, by, &s.column, column));
    let values: Vec<f64> = akin.flat_map(|s| s.values.iter().copied()).filter(|v| *v > 0.0).collect();
    let ends = values.iter().copied().min_by(f64::total_cmp).zip(values.iter().copied().max_by(f64::total_cmp));
    let rules = if by == By::Adhesive { rules(book, row, column) } else { 0 };
    Cell { own, published, rules, family: ends }
}

/// Whether two families share the family above the narrower one: `pla` and `petg` are polyesters.
fn kin(book: &Book, a: &str, b: &str) -> bool {
    let chain = |w: &str| book.family_chain(w).into_iter().map(str::to_owned).collect::<Vec<_>>();
    let (x, y) = (chain(a), chain(b));
    // The widest words (thermoplastic, thermoset) say too little.
    let near = |c: &[String]| c[..c.len().saturating_sub(1).max(1).min(c.len())].iter().cloned().collect::<BTreeSet<_>>();
    !near(&x).is_disjoint(&near(&y))
}

fn same_column(book: &Book, by: By, a: &str, b: &str) -> bool {
    match by {
        By::Method => a == b,
        By::Adhesive => {
            let family = |id: &str| book.record(id).map(|r| r.family.to_string()).unwrap_or_default();
            a == b || kin(book, &family(a), &family(b))
        }
    }
}

/// Rules that name the family of one side at least and hold for both.
fn rules(book: &Book, material: &Record, adhesive: &str) -> usize {
    let Some(adhesive) = book.record(adhesive) else { return 0 };
    let scope = |rule: &Record, role: &str, record: &Record| -> (bool, bool) {
        let list = |key: &str| rule.rest[role][key].as_array().into_iter().flatten().filter_map(Json::as_str).collect::<Vec<_>>();
        let (only, not) = (list("family"), list("not_family"));
        let within = |words: &[&str]| words.iter().any(|w| book.is_family(&record.family, w));
        (!only.is_empty(), (only.is_empty() || within(&only)) && !within(&not))
    };
    let holds = |rule: &&Record| {
        let (names_a, a) = scope(rule, "adhesive", adhesive);
        let (names_m, m) = scope(rule, "material", material);
        a && m && names_a && names_m && rule.current && rule.rest["insert"].is_null()
    };
    book.of_kind("rule").filter(holds).count()
}

/// Cells without a measurement of one's own, the most telling test first. With a need, in SI: cells whose known range lies
/// wholly above or below it are decided and come last.
pub fn questions<'b>(matrix: &Matrix<'b>, need: Option<f64>) -> Vec<Question<'b>> {
    let mut all = Vec::new();
    for (row, cells) in matrix.rows.iter().zip(&matrix.cells) {
        for (column, cell) in matrix.columns.iter().zip(cells).filter(|(_, c)| c.own == 0) {
            let (width, because) = worth(cell, need);
            all.push(Question { material: row, column: column.clone(), width, because });
        }
    }
    all.sort_by(|a, b| {
        b.width.total_cmp(&a.width).then_with(|| a.material.id.cmp(&b.material.id)).then_with(|| a.column.cmp(&b.column))
    });
    all
}

fn worth(cell: &Cell, need: Option<f64>) -> (f64, String) {
    match (cell.family, need) {
        (None, _) => (f64::INFINITY, "no test of this family is known".into()),
        (Some((low, _)), Some(need)) if low > need => (1.0, "all tests of the families lie above the need".into()),
        (Some((_, high)), Some(need)) if high < need => (1.0, "all tests of the families lie below the need".into()),
        (Some((low, high)), need) => {
            let ratio = high / low;
            let about = if need.is_some() { " on both sides of the need" } else { "" };
            (ratio, format!("tests of the families differ by a factor of {ratio:.1}{about}"))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cell(own: usize, published: usize, rules: usize, family: Option<(f64, f64)>) -> Cell {
        Cell { own, published, rules, family }
    }

    #[test]
    fn a_cell_says_the_best_that_is_known() {
        assert_eq!(cell(1, 4, 2, None).state(), State::Measured);
        assert_eq!(cell(0, 4, 2, None).state(), State::Published);
        assert_eq!(cell(0, 0, 2, None).state(), State::Rules);
        assert_eq!(cell(0, 0, 0, None).state(), State::Nothing);
    }

    #[test]
    fn a_test_is_worth_most_where_the_need_lies_inside_a_wide_range() {
        let wide = worth(&cell(0, 0, 0, Some((1.0, 20.0))), Some(5.0)).0;
        let narrow = worth(&cell(0, 0, 0, Some((4.0, 6.0))), Some(5.0)).0;
        let decided = worth(&cell(0, 0, 0, Some((10.0, 90.0))), Some(5.0)).0;
        assert!(wide > narrow && narrow > decided);
        assert!(worth(&cell(0, 0, 3, None), Some(5.0)).0.is_infinite());
    }
}
