//! The contract with gripbook, version 1: memory goes in, memory comes out. Nothing here needs to be changed.
//!
//! `schemas/plugin/` of gripbook describes the documents.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Something odd in a file.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FileFinding {
    /// `note`, `warning` or `error`; an error ends the reading.
    pub severity: &'static str,
    /// Line or number of the sample.
    pub line: Option<u64>,
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub help: String,
}

/// What the user says about a file.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default)]
pub struct Begin {
    /// Name of the file.
    pub file: String,
    /// Unit of the load, where it was said.
    pub load_unit: Option<String>,
    /// Unit of the travel, where it was said.
    pub travel_unit: Option<String>,
    /// Speed of the crosshead, mm/s.
    pub speed: Option<f64>,
    /// The cell counts pulling as negative.
    pub reversed: bool,
    /// Load of the unloaded cell, N.
    pub zero: f64,
}

/// What was read.
#[derive(Debug, Default)]
pub struct Taken {
    /// Samples, 24 bytes each.
    pub samples: Vec<u8>,
    /// Rows of a table: line, cells by heading.
    pub rows: Vec<(u64, BTreeMap<String, String>)>,
    /// What is odd.
    pub findings: Vec<FileFinding>,
}

impl Taken {
    /// A sample: travel in mm, load in N, its line or number.
    pub fn sample(&mut self, travel: f64, load: f64, line: u64) {
        self.samples.extend_from_slice(&travel.to_le_bytes());
        self.samples.extend_from_slice(&load.to_le_bytes());
        self.samples.extend_from_slice(&line.to_le_bytes());
    }
    /// Something odd.
    pub fn find(&mut self, severity: &'static str, line: Option<u64>, message: impl Into<String>, help: &str) {
        self.findings.push(FileFinding { severity, line, message: message.into(), help: help.into() });
    }
}

/// How the file was understood.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct End {
    /// Unit of the loads in the file.
    pub load_unit: Option<String>,
    /// In words, one fact each.
    pub facts: Vec<String>,
}

/// Something doubtful in a record.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RecordFinding {
    /// JSON pointer into the record, such as `/measurements/0/specimens/2/label`.
    pub at: String,
    /// `note` or `warning`.
    pub severity: &'static str,
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub help: String,
}

/// A record as it is written.
#[derive(Debug, Clone, Deserialize)]
pub struct Look {
    /// Today, `YYYY-MM-DD`.
    pub today: String,
    /// Id of the record.
    pub id: String,
    /// Its kind.
    pub kind: String,
    /// Its content.
    pub record: serde_json::Value,
}

/// Reads one sort of file.
pub trait Importer: Default {
    /// The name of the plug-in.
    const NAME: &'static str;
    /// A new file.
    fn begin(&mut self, begin: Begin) -> Taken;
    /// The next bytes of it; `last` when the file ends behind them.
    fn take(&mut self, bytes: &[u8], last: bool) -> Taken;
    /// The end.
    fn end(&mut self) -> (Taken, End);
}

/// Looks at records.
pub trait Audit {
    /// The name of the plug-in.
    const NAME: &'static str;
    /// What is doubtful in a record.
    fn look(look: &Look) -> Vec<RecordFinding>;
}

/// What crosses the border.
pub mod border {
    use super::{Audit, Begin, Importer, Taken};
    use serde::Deserialize;
    use serde_json::{Value, json};

    /// Blocks the host asked for and the answer it may still read; all in the module's own memory.
    pub struct Desk<T> {
        state: T,
        given: Vec<Vec<u8>>,
        samples: Vec<u8>,
        answer: Vec<u8>,
    }

    #[derive(Deserialize)]
    struct Bytes {
        at: usize,
        length: usize,
    }
    #[derive(Deserialize)]
    struct Take {
        bytes: Bytes,
        last: bool,
    }

    impl<T: Default> Default for Desk<T> {
        fn default() -> Self {
            Desk { state: T::default(), given: Vec::new(), samples: Vec::new(), answer: Vec::new() }
        }
    }

    impl<T> Desk<T> {
        /// Room for so many bytes, kept until the next call ends.
        pub fn allocate(&mut self, length: i32) -> i32 {
            let mut block = vec![0; usize::try_from(length).unwrap_or(0)];
            let at = block.as_mut_ptr() as usize as i32;
            self.given.push(block);
            at
        }
        fn given(&self, at: usize, length: usize) -> &[u8] {
            let block = self.given.iter().find(|block| block.as_ptr() as usize == at);
            block.and_then(|block| block.get(..length)).unwrap_or_default()
        }
        fn answered(&mut self, answer: Value) -> i64 {
            self.given.clear();
            self.answer = answer.to_string().into_bytes();
            ((self.answer.as_ptr() as u64) << 32 | self.answer.len() as u64) as i64
        }
        fn taken(&mut self, taken: Taken) -> Value {
            self.samples = taken.samples;
            let samples = (!self.samples.is_empty())
                .then(|| json!({"at": self.samples.as_ptr() as usize, "length": self.samples.len()}));
            let rows: Vec<Value> = taken.rows.iter().map(|(line, cells)| json!({"line": line, "cells": cells})).collect();
            json!({"samples": samples, "rows": rows, "findings": taken.findings})
        }
    }

    /// An operation of an importer.
    pub fn importer<T: Importer>(desk: &mut Desk<T>, operation: i32, at: i32, length: i32) -> i64 {
        let document = desk.given(at as usize, length as usize).to_vec();
        let answer = match operation {
            0 => json!({"name": T::NAME, "does": "importer"}),
            1 => {
                desk.state = T::default();
                let begin: Begin = serde_json::from_slice(&document).unwrap_or_default();
                let taken = desk.state.begin(begin);
                desk.taken(taken)
            }
            2 => match serde_json::from_slice::<Take>(&document) {
                Ok(take) => {
                    let bytes = desk.given(take.bytes.at, take.bytes.length).to_vec();
                    let taken = desk.state.take(&bytes, take.last);
                    desk.taken(taken)
                }
                Err(_) => json!({}),
            },
            _ => {
                let (taken, end) = desk.state.end();
                let mut all = serde_json::to_value(end).unwrap_or_default();
                all["rest"] = desk.taken(taken);
                all
            }
        };
        desk.answered(answer)
    }

    /// An operation of an audit.
    pub fn audit<T: Audit>(desk: &mut Desk<()>, operation: i32, at: i32, length: i32) -> i64 {
        let answer = match operation {
            0 => json!({"name": T::NAME, "does": "audit"}),
            _ => {
                let look = serde_json::from_slice(desk.given(at as usize, length as usize));
                json!({"findings": look.map(|look| T::look(&look)).unwrap_or_default()})
            }
        };
        desk.answered(answer)
    }
}

/// Makes the exports of an importer.
#[macro_export]
macro_rules! exports_importer {
    ($importer:ty) => {
        $crate::exports!($importer, $crate::contract::border::Desk<$importer>, $crate::contract::border::importer);
    };
}

/// Makes the exports of an audit.
#[macro_export]
macro_rules! exports_audit {
    ($audit:ty) => {
        $crate::exports!($audit, $crate::contract::border::Desk<()>, $crate::contract::border::audit::<$audit>);
    };
}

/// The four exports of the contract; a module has one thread.
#[macro_export]
macro_rules! exports {
    ($plugin:ty, $desk:ty, $call:path) => {
        std::thread_local! {
            static DESK: std::cell::RefCell<$desk> = std::cell::RefCell::default();
        }
        /// Version of the contract.
        #[unsafe(no_mangle)]
        pub extern "C" fn gripbook_contract() -> i32 {
            1
        }
        /// Room for the input.
        #[unsafe(no_mangle)]
        pub extern "C" fn gripbook_allocate(length: i32) -> i32 {
            DESK.with(|desk| desk.borrow_mut().allocate(length))
        }
        /// An operation.
        #[unsafe(no_mangle)]
        pub extern "C" fn gripbook_call(operation: i32, at: i32, length: i32) -> i64 {
            DESK.with(|desk| $call(&mut *desk.borrow_mut(), operation, at, length))
        }
    };
}
