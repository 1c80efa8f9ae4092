//! What is missing? A matrix of materials against adhesives or joint methods: what was measured, what was published, where
//! only rules speak, where nothing does; and which test would narrow the answer to a need the most.

mod frame;
mod outlook;

pub use frame::{By, Frame};
pub use outlook::{JOINTS, Outlook, OutlookGround, Prospect, width_after};

use super::series::SeriesAt;
use crate::book::{Book, Record};
use rayon::prelude::*;

/// What is known of a pair, best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum PairKnowledge {
    /// Series of one's own.
    Measured,
    /// Published series.
    Published,
    /// Rules only; for a method, the joint model only.
    Rules,
    /// Nothing.
    Nothing,
}

impl PairKnowledge {
    /// The word on screen.
    pub fn word(self) -> &'static str {
        match self {
            PairKnowledge::Measured => "measured",
            PairKnowledge::Published => "published",
            PairKnowledge::Rules => "rules only",
            PairKnowledge::Nothing => "nothing",
        }
    }
}

/// A cell of the matrix.
#[derive(Debug, Clone, PartialEq)]
pub struct PairCell {
    /// Series of one's own.
    pub own: usize,
    /// Published series.
    pub published: usize,
    /// Rules whose scope names both sides and holds for both; for a method, 1 where the joint model gives a load.
    pub rules: usize,
    /// What is expected, or why the pair cannot work.
    pub prospect: Prospect,
}

impl PairCell {
    /// The best that is known.
    pub fn state(&self) -> PairKnowledge {
        match (self.own, self.published, self.rules) {
            (1.., ..) => PairKnowledge::Measured,
            (0, 1.., _) => PairKnowledge::Published,
            (0, 0, 1..) => PairKnowledge::Rules,
            (0, 0, 0) => PairKnowledge::Nothing,
        }
    }
}

/// The matrix.
#[derive(Debug, Clone, PartialEq)]
pub struct PairMatrix<'b> {
    /// Materials.
    pub rows: Vec<&'b Record>,
    /// Ids of adhesives, or words of methods.
    pub columns: Vec<String>,
    /// Cells by row and column.
    pub cells: Vec<Vec<PairCell>>,
}

/// A test worth making.
#[derive(Debug, Clone, PartialEq)]
pub struct Test<'b> {
    /// The material.
    pub material: &'b Record,
    /// The adhesive or method.
    pub column: String,
    /// How much it would narrow the answer; `None` where nothing is known that it could narrow.
    pub worth: Option<f64>,
    /// What is expected now.
    pub outlook: Option<Outlook>,
}

/// A series in the terms of the matrix.
struct Seen<'b> {
    material: &'b Record,
    column: String,
    own: bool,
}

/// Builds the matrix of these materials.
pub fn matrix<'b>(frame: &Frame<'b>, rows: Vec<&'b Record>, columns: Vec<String>) -> PairMatrix<'b> {
    let seen: Vec<Seen<'b>> = frame.book.of_kind("series").filter_map(|r| seen(frame.book, r, frame.by)).collect();
    let invented = rows.iter().any(|r| r.invented());
    let seen: Vec<Seen<'b>> = seen.into_iter().filter(|s| invented || !s.material.invented()).collect();
    let row = |row: &&'b Record| -> Vec<PairCell> {
        let prospects = outlook::prospects(frame, row, &columns);
        columns.iter().zip(prospects).map(|(column, prospect)| cell(frame, row, column, &seen, prospect)).collect()
    };
    let cells = rows.par_iter().map(row).collect();
    PairMatrix { rows, columns, cells }
}

fn seen<'b>(book: &'b Book, record: &'b Record, by: By) -> Option<Seen<'b>> {
    let series = SeriesAt::of(record, book).filter(SeriesAt::in_use)?;
    if series.says.untraced {
        return None;
    }
    let joint = &series.says.joint;
    let material = book.record(joint.material.as_deref()?)?;
    let column = match by {
        By::Adhesive => joint.adhesive.as_deref()?,
        By::Method => joint.method.as_deref()?,
    };
    let answers = series.measurements().iter().any(|m| m.in_use && wanted(m.quantity, by));
    answers.then(|| Seen { material, column: column.to_owned(), own: series.own })
}

/// The quantities that answer the question of the matrix.
fn wanted(quantity: &str, by: By) -> bool {
    match by {
        By::Adhesive => matches!(quantity, "lap_shear_strength" | "shear_strength" | "butt_strength" | "pull_off_strength"),
        By::Method => matches!(quantity, "pull_out_load" | "push_out_load"),
    }
}

fn cell(frame: &Frame<'_>, row: &Record, column: &str, seen: &[Seen<'_>], prospect: Prospect) -> PairCell {
    let mine = |s: &&Seen<'_>| s.material.id == row.id && s.column == column;
    let own = seen.iter().filter(mine).filter(|s| s.own).count();
    let published = seen.iter().filter(mine).filter(|s| !s.own).count();
    let rules = match frame.by {
        By::Adhesive => rules(frame.book, row, column),
        By::Method => usize::from(prospect.outlook.is_some()),
    };
    PairCell { own, published, rules, prospect }
}

/// Rules that name the family of one side at least and hold for both.
fn rules(book: &Book, material: &Record, adhesive: &str) -> usize {
    let Some(adhesive) = book.record(adhesive) else { return 0 };
    let scope = |rule: &Record, role: &str, record: &Record| -> (bool, bool) {
        match rule.rule().and_then(|r| r.scope(role)) {
            Some(scope) => (!scope.family.is_empty(), scope.holds_family(record, book)),
            None => (false, true),
        }
    };
    let holds = |rule: &&Record| {
        let (names_a, a) = scope(rule, "adhesive", adhesive);
        let (names_m, m) = scope(rule, "material", material);
        a && m && names_a && names_m && rule.current && rule.rule().is_some_and(|r| r.insert.is_none())
    };
    book.of_kind("rule").filter(holds).count()
}

/// Tests of pairs that were not measured by oneself and can work, the most telling first. With a need: how much of the band
/// a test would take away, times how open the need is; a need that all or none of the band holds is decided, and no test of
/// it is proposed. Without: how much of the band it would take away. Pairs of which nothing is known to expect come last.
pub fn proposals<'b>(matrix: &PairMatrix<'b>) -> Vec<Test<'b>> {
    let mut all = Vec::new();
    for (row, cells) in matrix.rows.iter().zip(&matrix.cells) {
        let open = |c: &&PairCell| c.own == 0 && c.prospect.ruled_out.is_none();
        for (column, cell) in matrix.columns.iter().zip(cells).filter(|(_, c)| open(c)) {
            let worth = cell.prospect.outlook.as_ref().map(worth);
            if worth.is_none_or(|w| w > LEAST) {
                all.push(Test { material: row, column: column.clone(), worth, outlook: cell.prospect.outlook });
            }
        }
    }
    let names = |t: &Test<'_>| (t.material.id.to_string(), t.column.clone());
    let rank = |t: &Test<'_>| t.worth.unwrap_or(0.0);
    all.sort_by(|a, b| rank(b).total_cmp(&rank(a)).then_with(|| names(a).cmp(&names(b))));
    all
}

/// A test that takes away less than this is none.
const LEAST: f64 = 0.01;

fn worth(outlook: &Outlook) -> f64 {
    let narrowed = libm::log(outlook.width() / width_after()).max(0.0);
    // 1 where the need may as well hold as not, 0 where it surely does or surely does not.
    let open = outlook.hold.map_or(1.0, |p| 4.0 * p * (1.0 - p));
    narrowed * open
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cell(own: usize, published: usize, rules: usize) -> PairCell {
        PairCell { own, published, rules, prospect: Prospect::default() }
    }

    #[test]
    fn a_cell_says_the_best_that_is_known() {
        assert_eq!(cell(1, 4, 2).state(), PairKnowledge::Measured);
        assert_eq!(cell(0, 4, 2).state(), PairKnowledge::Published);
        assert_eq!(cell(0, 0, 2).state(), PairKnowledge::Rules);
        assert_eq!(cell(0, 0, 0).state(), PairKnowledge::Nothing);
    }

    #[test]
    fn a_test_is_worth_most_where_the_need_lies_inside_a_wide_range() {
        let of = |low: f64, high: f64, hold: f64| worth(&Outlook { low, high, hold: Some(hold), ground: OutlookGround::Family });
        let (wide, narrow, decided) = (of(1.0, 20.0, 0.5), of(4.0, 6.0, 0.5), of(10.0, 90.0, 1.0));
        assert!(wide > narrow && narrow >= decided);
        assert!(of(1.0, 20.0, 0.5) > of(1.0, 20.0, 0.9), "the more open, the more worth");
        assert_eq!(decided, 0.0);
    }
}
