//! The ways of joining of one question: those that the program brings, and those of the records of its book.

use super::method::Method;
use super::recorded::RecordedMethod;
use crate::book::Book;
use crate::mechanics::formula::Formula;
use std::sync::Arc;

/// Every way of joining that a book and a program know.
pub struct Methods<'b> {
    built_in: &'b [&'static dyn Method],
    recorded: Vec<RecordedMethod<'b>>,
}

impl<'b> Methods<'b> {
    /// The methods of the program with those of the book; a record that bears the name of a method of the program is left out
    /// (`check` refuses it).
    pub fn of(built_in: &'b [&'static dyn Method], book: &'b Book, formulas: Vec<Formula>) -> Methods<'b> {
        let formulas: Vec<Arc<Formula>> = formulas.into_iter().map(Arc::new).collect();
        let new = |name: &str| built_in.iter().all(|known| known.card().name != name);
        let records = book.of_kind("method").filter(|record| new(record.id.name()));
        Methods { built_in, recorded: records.filter_map(|record| RecordedMethod::of(record, &formulas)).collect() }
    }
    /// All of them, by name.
    pub fn all(&self) -> Vec<&dyn Method> {
        let built_in = self.built_in.iter().map(|method| *method as &dyn Method);
        let mut all: Vec<&dyn Method> = built_in.chain(self.recorded.iter().map(|method| method as &dyn Method)).collect();
        all.sort_by(|a, b| a.card().name.cmp(b.card().name));
        all
    }
    /// Their names, sorted.
    pub fn names(&self) -> Vec<&str> {
        self.all().into_iter().map(|method| method.card().name).collect()
    }
}
