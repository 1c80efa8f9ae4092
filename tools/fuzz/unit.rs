//! The target `unit` of the mutation loop, under a fuzzer that sees which lines run.
#![no_main]

#[path = "../../tests/fuzz/targets.rs"]
mod targets;

libfuzzer_sys::fuzz_target!(|data: &[u8]| {
    (targets::UNIT.run)(data);
});
