//! The headings of options in a command's help.

/// What the question is about.
pub const ASKED: &str = "What is asked";
/// What the joint or the specimen is like.
pub const JOINT: &str = "The joint";
/// How it is computed or read.
pub const COMPUTED: &str = "How it is worked out";
/// What comes out, and where to.
pub const OUTPUT: &str = "Output";
/// Which records are read.
pub const PACKS: &str = "Packs";
