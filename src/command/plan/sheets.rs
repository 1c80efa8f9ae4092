//! The sheets of a plan: results to fill in, labels, readings of a ladder.

use crate::present::Table;
use crate::present::svg::labels::Label;
use crate::present::table::Cell;
use crate::series::plan::ladder::Ladder;
use crate::series::plan::matrix::{Matrix, Planned, REFERENCE};
use crate::series::plan::order;

/// Columns that the person fills in.
pub const TO_FILL: [&str; 6] = ["load", "mode", "batch", "job", "date", "note"];

/// The results sheet as a table.
pub fn results(plan: &Matrix, reference: &str) -> Table {
    let factors: Vec<&str> = plan.factors.iter().map(|f| f.name.as_str()).collect();
    let columns = [&["label", "block", "order", "cell"][..], &factors, &["hole"], &TO_FILL].concat();
    let mut table = Table::new(&columns);
    for s in &plan.specimens {
        let mut row: Vec<Cell> =
            vec![s.label.as_str().into(), Cell::Number(s.block as f64), Cell::Number(s.order as f64), s.cell.as_str().into()];
        row.extend(values(plan, s, reference).into_iter().map(Cell::from));
        row.extend(TO_FILL.iter().map(|_| Cell::Empty));
        table.row(row);
    }
    table
}

/// Factor values and hole of a specimen; the reference says what it is in the first.
fn values(plan: &Matrix, s: &Planned, reference: &str) -> Vec<String> {
    match plan.cells.iter().find(|c| c.letter == s.cell) {
        Some(cell) => [cell.values.clone(), vec![cell.hole.clone()]].concat(),
        None => {
            let mut list = vec![String::new(); plan.factors.len() + 1];
            list[0] = format!("reference: {reference}");
            list
        }
    }
}

/// The results sheet as a file, with what made it in comment lines.
pub fn results_file(plan: &Matrix, reference: &str, stamp: &str) -> String {
    format!(
        "# {stamp}\n# order: {}, seed {}; test in this order, block by block\n# load with its unit (812 N; >520 N for one that held), mode as in `gripbook plan`\n{}",
        order::NAME,
        plan.seed,
        results(plan, reference).csv()
    )
}

/// Labels in the order of testing.
pub fn labels(plan: &Matrix, reference: &str) -> Vec<Label> {
    let label = |s: &Planned| {
        let mut lines: Vec<String> = values(plan, s, reference).into_iter().filter(|v| !v.is_empty()).collect();
        if s.cell == REFERENCE {
            lines = vec!["reference joint".to_owned()];
        } else {
            // The hole comes last and stands on the results sheet.
            lines.pop();
        }
        lines.truncate(2);
        lines.push(format!("job {}, test {} of it", s.block, s.order));
        Label { mark: s.label.clone(), lines }
    };
    plan.specimens.iter().map(label).collect()
}

/// The readings sheet as a table.
pub fn readings(l: &Ladder) -> Table {
    let mut table = Table::new(&["drawn", "kind", "repeat", "measured"]);
    for h in &l.holes {
        table.row(vec![format!("{:.2} mm", h.diameter).into(), h.kind.word().into(), Cell::Number(h.repeat as f64), Cell::Empty]);
    }
    table
}

/// The readings sheet as a file.
pub fn readings_file(l: &Ladder, stamp: &str) -> String {
    format!(
        "# {stamp}\n# measured with its unit (2.51 mm): the largest pin that drops in by its own weight\n{}",
        readings(l).csv()
    )
}
