//! The contract of an importer: bytes of a strange file in, samples or rows out, every oddity named with its line.

use crate::finding::Finding;
use crate::quantity::UnitId;
use std::io::Read;

/// What an importer is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ImporterCard {
    /// Its name: the word behind `import`.
    pub name: &'static str,
    /// What it takes, in one line.
    pub takes: &'static str,
    /// A small file it reads.
    pub example: &'static str,
}

/// A column somebody names, by its heading or its number from 1.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ColumnAsk {
    /// By number from 1.
    Number(usize),
    /// By heading.
    Name(String),
}

/// What the user says about the file; nothing of it is guessed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ask {
    /// Name of the file in findings.
    pub file: String,
    /// The load column.
    pub load_column: Option<ColumnAsk>,
    /// Unit of the load.
    pub load_unit: Option<UnitId>,
    /// The travel column.
    pub travel_column: Option<ColumnAsk>,
    /// Unit of the travel.
    pub travel_unit: Option<UnitId>,
    /// The time column.
    pub time_column: Option<ColumnAsk>,
    /// Speed of the crosshead in mm/s, for a time axis.
    pub speed: Option<f64>,
    /// The cell counts pulling as negative.
    pub reversed: bool,
    /// Load of the unloaded cell, N.
    pub zero: f64,
}

/// How a file was understood; shown so that nothing is silent.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Understood {
    /// Unit of the loads in the file, for a recording.
    pub load_unit: Option<UnitId>,
    /// In words, one fact each.
    pub facts: Vec<String>,
    /// What was odd and did not stop the reading.
    pub findings: Vec<Finding>,
    /// Comment lines of a table, without their `#`.
    pub comments: Vec<String>,
}

/// One row of a table: cells by heading.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RowIn {
    /// Line in the file.
    pub line: u64,
    /// Headings (lower case, words joined by `_`) and cells.
    pub cells: Vec<(String, String)>,
}

impl RowIn {
    /// The cell under a heading; `None` when it is absent or empty.
    pub fn get(&self, heading: &str) -> Option<&str> {
        self.cells.iter().find(|(h, _)| h == heading).map(|(_, c)| c.trim()).filter(|c| !c.is_empty())
    }
}

/// Takes what an importer reads.
pub trait Sink {
    /// A sample: travel in mm, load in N, its line.
    fn sample(&mut self, travel: f64, load: f64, line: u64);
    /// A row of a table.
    fn row(&mut self, row: RowIn);
    /// Bytes read so far.
    fn progress(&mut self, bytes: u64);
}

/// Reads one sort of file.
pub trait Importer: Sync {
    /// What it is.
    fn card(&self) -> &'static ImporterCard;
    /// Reads the file.
    ///
    /// # Errors
    /// Findings that stop the reading, each with its line.
    fn read(&self, input: &mut dyn Read, ask: &Ask, sink: &mut dyn Sink) -> Result<Understood, Vec<Finding>>;
}
