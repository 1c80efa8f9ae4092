//! Build script: lists the schemas and records that are embedded in the binary.
fn main() {}
