//! The sheets of a plan: results to fill in, labels, readings of a ladder.

use gripbook::present::Table;
use gripbook::present::svg::labels::Label;
use gripbook::present::table::Cell;
use gripbook::series::plan::ladder::Ladder;
use gripbook::series::plan::matrix::{self, Planned, PlannedRow, REFERENCE, RunMatrix};
use gripbook::series::plan::order;

/// Columns that the person fills in.
pub const TO_FILL: [&str; 7] = ["load", "mode", "hole_measured", "batch", "job", "date", "note"];

/// What `# plan` begins the first line of a results sheet with.
pub const PLAN_LINE: &str = "plan ";

/// Name of a plan, from the rows of its sheet.
pub fn id(plan: &RunMatrix, reference: &str) -> String {
    let row = |s: &Planned| PlannedRow {
        block: s.block.to_string(),
        order: s.order.to_string(),
        label: s.label.clone(),
        cell: s.cell.clone(),
        rest: values(plan, s, reference),
    };
    matrix::id(&plan.specimens.iter().map(row).collect::<Vec<_>>())
}

/// The results sheet as a table.
pub fn results(plan: &RunMatrix, reference: &str) -> Table {
    let factors: Vec<&str> =
        plan.factors.iter().map(|f| f.name.as_str()).chain(plan.common.iter().map(|c| c.0.as_str())).collect();
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

/// Factor values, what all share, and hole of a specimen; the reference says what it is in the first.
fn values(plan: &RunMatrix, s: &Planned, reference: &str) -> Vec<String> {
    match plan.cells.iter().find(|c| c.letter == s.cell) {
        Some(cell) => {
            let common = plan.common.iter().map(|c| c.1.clone()).collect();
            [cell.values.clone(), common, vec![cell.hole.clone()]].concat()
        }
        None => {
            let mut list = vec![String::new(); plan.factors.len() + plan.common.len() + 1];
            list[0] = format!("reference: {reference}");
            list
        }
    }
}

/// The results sheet as a file, with what made it in comment lines.
pub fn results_file(plan: &RunMatrix, reference: &str, stamp: &str) -> String {
    format!(
        "# {PLAN_LINE}{}, seed {}, {} jobs\n# {stamp}\n# order: {}, seed {}; test in this order, block by block\n# fill in the last columns only: load with its unit (812 N; >520 N for one that held), mode as in `gripbook plan`, hole_measured with its unit (2.52 mm)\n{}",
        id(plan, reference),
        plan.seed,
        plan.jobs,
        order::NAME,
        plan.seed,
        results(plan, reference).csv()
    )
}

/// Labels in the order of testing.
pub fn labels(plan: &RunMatrix, reference: &str) -> Vec<Label> {
    let plan_id = id(plan, reference);
    let label = |s: &Planned| {
        let mut lines: Vec<String> = values(plan, s, reference).into_iter().filter(|v| !v.is_empty()).collect();
        if s.cell == REFERENCE {
            lines = vec!["reference joint".to_owned()];
        } else {
            // What all share and the hole come last and stand on the results sheet.
            lines.truncate(plan.factors.len());
        }
        lines.truncate(2);
        lines.push(format!("job {}, test {}; plan {plan_id}", s.block, s.order));
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
