//! What is asked of the matrix.

use crate::book::Book;
use crate::joint::method::Method;
use crate::mechanics::thread::Thread;
use crate::suit::Rule;
use uom::si::f64::Length;

/// The columns of the matrix.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// Adhesives; cells count bond tests.
    Adhesive,
    /// Methods of making a threaded joint; cells count tests of such joints.
    Method,
}

/// What is asked of the matrix.
#[derive(Clone, Copy)]
pub struct Frame<'a> {
    /// All loaded records.
    pub book: &'a Book,
    /// Rules of glue and material.
    pub rules: &'a [Rule],
    /// Methods of making a threaded joint.
    pub methods: &'a [&'a dyn Method],
    /// The columns.
    pub by: By,
    /// What the joint must hold, in SI: a strength for adhesives, a load for methods.
    pub need: Option<f64>,
    /// The thread of the methods.
    pub thread: Thread,
    /// The engaged length of the methods.
    pub length: Length,
}
