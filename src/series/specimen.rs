//! Specimens: what was measured on each, as written.

use crate::book::view::Specimen;
use crate::quantity::{Quantity, UnitId};

impl Specimen {
    /// The value in another unit of its quantity.
    pub fn in_unit(&self, unit: UnitId) -> f64 {
        if self.value.unit == unit { self.value.value } else { unit.unit().number_from_si(self.value.si) }
    }
}

/// One quantity measured on a group of specimens.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    /// Word of the quantity, e.g. `pull_out_load`.
    pub word: Box<str>,
    /// Dimension and kind.
    pub quantity: Quantity,
    /// The specimens in the order tested; never empty.
    pub specimens: Vec<Specimen>,
}

impl Sample {
    /// The unit the results are shown in: that of the first specimen.
    pub fn unit(&self) -> UnitId {
        self.specimens.first().map_or(self.quantity.canonical(), |s| s.value.unit)
    }
    /// Values of the specimens that failed, in the unit shown.
    pub fn failures(&self) -> Vec<f64> {
        let unit = self.unit();
        self.specimens.iter().filter(|s| !s.censored).map(|s| s.in_unit(unit)).collect()
    }
    /// Values that specimens held without failing, in the unit shown.
    pub fn held(&self) -> Vec<f64> {
        let unit = self.unit();
        self.specimens.iter().filter(|s| s.censored).map(|s| s.in_unit(unit)).collect()
    }
    /// The same quantity on some of the specimens.
    pub fn only(&self, keep: impl Fn(&Specimen) -> bool) -> Sample {
        Sample { specimens: self.specimens.iter().filter(|s| keep(s)).cloned().collect(), ..self.clone() }
    }
    /// Most significant digits any value was written with, at least three.
    pub fn digits(&self) -> usize {
        self.specimens.iter().map(|s| s.value.significant_digits()).max().unwrap_or(3).clamp(3, 5)
    }
}

/// Specimens that share a batch or a job.
#[derive(Debug, Clone, PartialEq)]
pub struct SpecimenGroup {
    /// What it is a group of.
    pub level: FactorLevel,
    /// Name of the batch or job; `not stated` for specimens without one.
    pub name: Box<str>,
    /// Print jobs seen in it.
    pub jobs: usize,
    /// Values of those that failed, in the unit shown.
    pub failures: Vec<f64>,
    /// Values of those that held.
    pub held: Vec<f64>,
}

/// What the groups are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FactorLevel {
    /// Lots of material.
    Batch,
    /// Print jobs of one lot.
    Job,
}

impl FactorLevel {
    /// The word on screen.
    pub fn word(self) -> &'static str {
        match self {
            FactorLevel::Batch => "batch",
            FactorLevel::Job => "job",
        }
    }
    /// One of them in a sentence.
    pub fn one(self) -> &'static str {
        match self {
            FactorLevel::Batch => "batch",
            FactorLevel::Job => "print job",
        }
    }
    /// The word for several.
    pub fn words(self) -> &'static str {
        match self {
            FactorLevel::Batch => "batches",
            FactorLevel::Job => "print jobs",
        }
    }
    /// `batch A`, `print job 2026-05-01`.
    pub fn named(self, name: &str) -> String {
        match (self, name) {
            (FactorLevel::Batch, NOT_STATED) => "no batch".to_owned(),
            (FactorLevel::Job, NOT_STATED) => "no print job".to_owned(),
            (FactorLevel::Batch, name) => format!("batch {name}"),
            (FactorLevel::Job, name) => format!("print job {name}"),
        }
    }
    /// Whether a specimen is of the group of that name.
    pub fn holds(self, specimen: &Specimen, name: &str) -> bool {
        self.of(specimen).unwrap_or(NOT_STATED) == name
    }
    fn of(self, specimen: &Specimen) -> Option<&str> {
        match self {
            FactorLevel::Batch => specimen.batch.as_deref(),
            FactorLevel::Job => specimen.job.as_deref(),
        }
    }
}

/// Word for specimens whose batch or job is not stated.
pub const NOT_STATED: &str = "not stated";

/// What was made apart and may differ for it: the lots of a sample where it has several, else its print jobs where every
/// specimen says which. `None` for a sample of one.
pub fn batches(sample: &Sample) -> Option<(FactorLevel, Vec<SpecimenGroup>)> {
    let stated = |level: FactorLevel, list: &[SpecimenGroup]| {
        let named = list.iter().filter(|g| &*g.name != NOT_STATED).count();
        list.len() > 1 && named > 0 && (level == FactorLevel::Batch || named == list.len())
    };
    let of = |level: FactorLevel| (level, groups(sample, level));
    [FactorLevel::Batch, FactorLevel::Job].into_iter().map(of).find(|(level, list)| stated(*level, list))
}

/// The groups of a level in the order they first appear.
pub fn groups(sample: &Sample, level: FactorLevel) -> Vec<SpecimenGroup> {
    let unit = sample.unit();
    let mut list: Vec<SpecimenGroup> = Vec::new();
    for specimen in &sample.specimens {
        let name = level.of(specimen).unwrap_or(NOT_STATED);
        let at = list.iter().position(|g| &*g.name == name).unwrap_or_else(|| {
            list.push(SpecimenGroup { level, name: name.into(), jobs: 0, failures: Vec::new(), held: Vec::new() });
            list.len() - 1
        });
        let value = specimen.in_unit(unit);
        if specimen.censored { list[at].held.push(value) } else { list[at].failures.push(value) }
    }
    for group in &mut list {
        let mut jobs: Vec<&str> = sample
            .specimens
            .iter()
            .filter(|s| level.of(s).unwrap_or(NOT_STATED) == &*group.name)
            .filter_map(|s| s.job.as_deref())
            .collect();
        jobs.sort_unstable();
        jobs.dedup();
        group.jobs = jobs.len();
    }
    list
}
