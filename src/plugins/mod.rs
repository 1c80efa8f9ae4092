//! What plugs in? One sorted list per folder; the contracts stand in the stages that use them. A test per folder names
//! the line that is missing.

pub mod audits;
pub mod importers;
pub mod methods;

use crate::audit::Audit;
use crate::joint::method::Method;
use crate::mechanics::book::{self, TOPICS, Topic};
use crate::mechanics::formula::Formula;
use crate::series::importer::Importer;

/// What is plugged in. It is handed to what asks, never looked up: another program may leave some out or add its own.
#[derive(Clone, Copy)]
pub struct Registry {
    /// Ways to make a threaded joint.
    pub methods: &'static [&'static dyn Method],
    /// Audits.
    pub audits: &'static [&'static Audit],
    /// Importers.
    pub importers: &'static [&'static dyn Importer],
    /// Formulas, by topic.
    pub topics: &'static [Topic],
}

/// Everything that comes with the program.
pub const BUILT_IN: Registry = Registry { methods: methods::ALL, audits: audits::ALL, importers: importers::ALL, topics: TOPICS };

impl Registry {
    /// The names of the methods, sorted: the words of the schema marked `registered`.
    pub fn method_names(&self) -> Vec<&'static str> {
        self.methods.iter().map(|method| method.card().name).collect()
    }
    /// The importer of that name.
    pub fn importer(&self, name: &str) -> Option<&'static dyn Importer> {
        self.importers.iter().copied().find(|importer| importer.card().name == name)
    }
    /// Every formula that can be called by name.
    pub fn formulas(&self) -> Vec<Formula> {
        book::of(self.topics)
    }
}
