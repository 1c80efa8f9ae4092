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
    /// The word for several.
    pub fn words(self) -> &'static str {
        match self {
            FactorLevel::Batch => "batches",
            FactorLevel::Job => "jobs",
        }
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

/// The groups of a level in the order they first appear.
pub fn groups(sample: &Sample, level: FactorLevel) -> Vec<SpecimenGroup> {
    let unit = sample.unit();
    let mut list: Vec<SpecimenGroup> = Vec::new();
    for specimen in &sample.specimens {
        let name = level.of(specimen).unwrap_or(NOT_STATED);
        let at = list.iter().position(|g| &*g.name == name).unwrap_or_else(|| {
            list.push(SpecimenGroup { name: name.into(), jobs: 0, failures: Vec::new(), held: Vec::new() });
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
