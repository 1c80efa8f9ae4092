//! What a stranger's module may use. Every limit is counted by the interpreter, none by a clock, so that the same module and
//! the same input stop at the same place on every machine.

/// Length of a module, bytes.
pub const MODULE: usize = 4 << 20;
/// Linear memory of one instance, bytes.
pub const MEMORY: usize = 64 << 20;
/// Length of one answer with all it points to, bytes.
pub const ANSWER: usize = 8 << 20;
/// Steps of one call: a few tenths of a second.
pub const FUEL_CALL: u64 = 60_000_000;
/// Steps of all calls for one file, or for one audit of all records.
pub const FUEL_ALL: u64 = 3_000_000_000;
/// Calls within calls.
pub const CALLS_DEEP: usize = 1_000;
/// Stack of values, bytes.
pub const STACK: usize = 1 << 20;
/// Blocks within blocks in the code of one function.
pub const BLOCKS_DEEP: usize = 1_000;
/// Lists and maps within each other in an answer.
pub const ANSWER_DEEP: usize = 16;
/// Findings on one record, or on one file.
pub const FINDINGS: usize = 1_000;
/// Length of a text in an answer, bytes.
pub const TEXT: usize = 2_000;
/// Elements of a table of functions.
pub const TABLE: usize = 20_000;
/// Functions, globals, segments of a module.
pub const PARTS: u32 = 20_000;
