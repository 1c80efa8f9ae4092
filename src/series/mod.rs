//! What was measured? Specimens, curves, what a series says, how series compare, what to test next.
//!
//! Pure: a sample or the bytes of a curve come in, named results go out. Levels are batch > job > specimen: two batches of
//! three are not six specimens. A specimen that held is never averaged with those that failed, a value that stands out is
//! shown and never dropped, and what few specimens cannot say is refused with the number it would take.
//!
//! Not here: files and terminals (command), drawing (present), what a joint should hold (joint).

pub mod bounds;
pub mod compare;
pub mod conditions;
pub mod curve;
pub mod earlier;
pub mod importer;
pub mod loads;
pub mod plan;
pub mod plot;
pub mod record;
pub mod reduce;
pub mod reduction;
pub mod specimen;
pub mod stress;
pub mod vocabulary;
pub mod warnings;
pub mod write;
