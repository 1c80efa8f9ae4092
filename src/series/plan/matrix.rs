//! A test plan: every combination of the factors, print jobs as randomised blocks, one reference joint in each job.

use super::order::SplitMix64;
use crate::read::digest::hex;
use sha2::{Digest, Sha256};

/// A factor with its values, e.g. `material` with two resins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Factor {
    /// Its name.
    pub name: String,
    /// Its values.
    pub values: Vec<String>,
}

/// One combination.
#[derive(Debug, Clone, PartialEq)]
pub struct RunCell {
    /// Its letter: A, B, …
    pub letter: String,
    /// A value for each factor.
    pub values: Vec<String>,
    /// Hole to drill or print, as the joint says it.
    pub hole: String,
}

/// One specimen of the plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Planned {
    /// Mark to stick on: cell, job, repeat.
    pub label: String,
    /// Print job, from 1.
    pub block: usize,
    /// Place in the order of testing within its job, from 1.
    pub order: usize,
    /// Letter of its cell; `R` for the reference joint.
    pub cell: String,
}

/// The plan.
#[derive(Debug, Clone, PartialEq)]
pub struct RunMatrix {
    /// The factors.
    pub factors: Vec<Factor>,
    /// What all combinations share: thread, length.
    pub common: Vec<(String, String)>,
    /// The combinations.
    pub cells: Vec<RunCell>,
    /// The specimens in the order of testing.
    pub specimens: Vec<Planned>,
    /// Print jobs.
    pub jobs: usize,
    /// Specimens of each cell in all.
    pub each: usize,
    /// Seed of the order.
    pub seed: u64,
}

/// Why a plan cannot be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanFault(pub String);

/// Combinations a plan may have.
pub const MOST_CELLS: usize = 200;

/// Letter of the reference joint.
pub const REFERENCE: &str = "R";

/// Every combination of the factors in their order, without holes.
///
/// # Errors
/// No factor, a factor twice, too many combinations.
pub fn cells(factors: &[Factor]) -> Result<Vec<RunCell>, PlanFault> {
    if factors.is_empty() {
        return Err(PlanFault("a plan needs a factor, e.g. method=cut-thread,direct-screw".into()));
    }
    for (i, f) in factors.iter().enumerate() {
        if f.values.is_empty() || f.values.iter().any(String::is_empty) {
            return Err(PlanFault(format!("factor `{}` has an empty value", f.name)));
        }
        let twice = factors[..i].iter().any(|g| g.name == f.name);
        let value_twice = f.values.iter().enumerate().any(|(k, v)| f.values[..k].contains(v));
        if twice || value_twice {
            return Err(PlanFault(format!("factor `{}` has the same value twice", f.name)));
        }
    }
    let count = factors.iter().try_fold(1usize, |n, f| n.checked_mul(f.values.len())).unwrap_or(usize::MAX);
    if count > MOST_CELLS {
        return Err(PlanFault(format!("{count} combinations are more than {MOST_CELLS}: leave some factors for a second plan")));
    }
    let mut list: Vec<Vec<String>> = vec![vec![]];
    for factor in factors {
        list = list.iter().flat_map(|have| factor.values.iter().map(move |v| [have.clone(), vec![v.clone()]].concat())).collect();
    }
    Ok(list.into_iter().enumerate().map(|(i, values)| RunCell { letter: letter(i), values, hole: String::new() }).collect())
}

/// A, B, … Z without R (the reference), then A1, B1, …
fn letter(place: usize) -> String {
    let letters: Vec<char> = ('A'..='Z').filter(|c| *c != 'R').collect();
    let round = place / letters.len();
    let letter = letters[place % letters.len()];
    if round == 0 { letter.to_string() } else { format!("{letter}{round}") }
}

/// Specimens of each cell in a job, counted from 1: as even as the number lets them be, the first jobs holding one more.
pub fn in_job(each: usize, jobs: usize, block: usize) -> usize {
    let jobs = jobs.max(1);
    each / jobs + usize::from(block <= each % jobs)
}

/// Puts the cells in order: each job holds every cell about equally often and one reference joint.
pub fn matrix(factors: Vec<Factor>, cells: Vec<RunCell>, specimens: usize, jobs: usize, seed: u64) -> RunMatrix {
    let jobs = jobs.max(1);
    let specimens_of_each = specimens.max(1);
    let mut random = SplitMix64::new(seed);
    let mut list = Vec::new();
    for block in 1..=jobs {
        let repeats = in_job(specimens_of_each, jobs, block);
        let each = cells.iter().flat_map(|c| (1..=repeats).map(move |r| (c.letter.clone(), format!("{}-{block}-{r}", c.letter))));
        let mut own: Vec<(String, String)> = each.chain([(REFERENCE.to_owned(), format!("{REFERENCE}-{block}"))]).collect();
        random.shuffle(&mut own);
        let placed = own.into_iter().enumerate().map(|(i, (cell, label))| Planned { label, block, order: i + 1, cell });
        list.extend(placed);
    }
    RunMatrix { factors, common: Vec::new(), cells, specimens: list, jobs, each: specimens_of_each, seed }
}

/// One row of a plan as it stands on a results sheet, without what is filled in.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct PlannedRow {
    /// Print job.
    pub block: String,
    /// Place in the order of testing.
    pub order: String,
    /// Mark of the specimen.
    pub label: String,
    /// Letter of the combination.
    pub cell: String,
    /// Every other cell of the plan, in the order of the columns.
    pub rest: Vec<String>,
}

/// Name of a plan: the same for the same rows, whatever order they stand in, and another when one is changed.
pub fn id(rows: &[PlannedRow]) -> String {
    let mut sorted: Vec<&PlannedRow> = rows.iter().collect();
    sorted.sort();
    let mut hash = Sha256::new();
    for row in sorted {
        for cell in [&row.block, &row.order, &row.label, &row.cell].into_iter().chain(&row.rest) {
            hash.update(cell.trim().as_bytes());
            hash.update([0]);
        }
        hash.update([1]);
    }
    hex(&hash.finalize(), 8)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn factor(name: &str, values: &[&str]) -> Factor {
        Factor { name: name.into(), values: values.iter().map(|v| (*v).to_owned()).collect() }
    }

    #[test]
    fn every_job_holds_every_cell_and_a_reference() {
        let factors = vec![factor("material", &["a", "b"]), factor("method", &["x", "y", "z"])];
        let m = matrix(factors.clone(), cells(&factors).unwrap(), 5, 2, 7);
        assert_eq!((m.cells.len(), m.each, m.specimens.len()), (6, 5, 6 * 5 + 2));
        for block in 1..=2 {
            for cell in &m.cells {
                assert_eq!(m.specimens.iter().filter(|s| s.block == block && s.cell == cell.letter).count(), 4 - block);
            }
            assert_eq!(m.specimens.iter().filter(|s| s.block == block && s.cell == REFERENCE).count(), 1);
        }
        let mut labels: Vec<&str> = m.specimens.iter().map(|s| &*s.label).collect();
        labels.sort_unstable();
        labels.dedup();
        assert_eq!(labels.len(), m.specimens.len());
        assert_eq!(matrix(factors.clone(), cells(&factors).unwrap(), 5, 2, 7), m);
        assert_ne!(matrix(factors.clone(), cells(&factors).unwrap(), 5, 2, 8).specimens, m.specimens);
    }

    #[test]
    fn senseless_plans_are_refused() {
        assert!(cells(&[]).is_err() && cells(&[factor("m", &[])]).is_err() && cells(&[factor("m", &["a", "a"])]).is_err());
        let wide: Vec<Factor> = (0..8).map(|i| factor(&i.to_string(), &["a", "b"])).collect();
        assert!(cells(&wide).is_err());
    }
}
