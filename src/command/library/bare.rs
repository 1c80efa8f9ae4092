//! Where nothing is remembered between runs and there are no folders: the surroundings bring the book.

use super::Reading;
use crate::command::{Context, Fault, Shared};
use gripbook::book::{self, Book};
use gripbook::check;
use gripbook::index::{Found, Query, search};
use std::sync::Arc;

/// Nothing.
#[derive(Default)]
pub struct Remembered {}

impl Remembered {
    /// Nothing is left by earlier runs.
    pub fn of(_: &Shared, _: &Context) -> Self {
        Remembered {}
    }
    /// Of records: nothing.
    pub fn of_records(&self) -> Option<&dyn book::memory::Memory> {
        None
    }
    /// Of findings: nothing.
    pub fn of_findings(&self) -> Option<&dyn check::Memory> {
        None
    }
    /// Nothing to know.
    pub fn notice(&self) -> Option<String> {
        None
    }
    /// Searches a book.
    pub(super) fn search(&self, book: &Book, query: &Query) -> Option<Found> {
        Some(search(book, query))
    }
}

/// There is no folder to load from.
pub(super) fn load(_: &Shared, _: &Context, _: Reading) -> Result<(Arc<Book>, Remembered), Fault> {
    Err(Fault::environment("no packs were given"))
}
