//! What plugs in? One sorted list per folder; the contracts stand in the stages that use them. A test per folder names
//! the line that is missing.

pub mod audits;
pub mod importers;
pub mod methods;

use crate::audit::Audit;
use crate::book::Book;
use crate::joint::method::Method;
use crate::joint::methods::Methods;
use crate::mechanics::book::{self, TOPICS, Topic};
use crate::mechanics::formula::Formula;
use crate::series::importer::Importer;

/// What is plugged in. It is handed to what asks, never looked up: another program may leave some out or add its own.
#[derive(Clone, Copy)]
pub struct Registry {
    /// Ways to make a threaded joint that the program brings itself; records of packs bring more.
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
    /// The ways to make a threaded joint: those of the program, and those of the records of a book.
    pub fn methods_of<'b>(&self, book: &'b Book) -> Methods<'b> {
        Methods::of(self.methods, book, self.formulas())
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
