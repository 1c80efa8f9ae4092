//! The target `plugin` of the mutation loop, under a fuzzer that sees which lines run.
#![no_main]

#[path = "../../tests/fuzz/targets.rs"]
#[allow(dead_code)] // Each target uses its part of the file.
mod targets;

libfuzzer_sys::fuzz_target!(|data: &[u8]| {
    (targets::PLUGIN.run)(data);
});
