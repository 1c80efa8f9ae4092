//! Mutation loop on the stable toolchain: the gate of continuous integration. The same targets serve a coverage-guided
//! fuzzer in `tools/fuzz`, which needs a nightly toolchain and is run by hand.
//!
//! `GRIPBOOK_FUZZ_SECONDS=600` runs each target so long; without it each runs a fixed number of rounds. The seed is fixed
//! (`GRIPBOOK_FUZZ_SEED` changes it), so a failure comes back.

mod mutate;
pub mod targets;

use mutate::Mutator;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::{Duration, Instant};
use targets::Target;

fn number(name: &str) -> Option<u64> {
    std::env::var(name).ok()?.parse().ok()
}

/// Runs a target on its corpus and on mutants of it.
fn run(target: &Target, rounds: u64) {
    let corpus = targets::corpus(target.name);
    assert!(!corpus.is_empty(), "{} has no corpus", target.name);
    for input in &corpus {
        one(target, input);
    }
    let seed = number("GRIPBOOK_FUZZ_SEED").unwrap_or(1);
    let mut mutator = Mutator::new(seed, corpus, target.words);
    let seconds = number("GRIPBOOK_FUZZ_SECONDS").map(Duration::from_secs);
    let (start, mut done) = (Instant::now(), 0);
    let mut slowest = Duration::ZERO;
    while seconds.map_or(done < rounds, |s| start.elapsed() < s) {
        let input = mutator.next();
        let began = Instant::now();
        let is_new = one(target, &input);
        slowest = slowest.max(began.elapsed());
        // What was accepted is a good place to go on from.
        mutator.learn(input, is_new);
        done += 1;
    }
    println!(
        "fuzz {}: {done} mutants in {:.0?}, {} accepted, slowest {slowest:.1?}",
        target.name,
        start.elapsed(),
        mutator.accepted
    );
    assert!(mutator.accepted > 0, "{}: nothing was accepted, so only the refusals were tried", target.name);
}

fn one(target: &Target, input: &[u8]) -> bool {
    catch_unwind(AssertUnwindSafe(|| (target.run)(input))).unwrap_or_else(|_| {
        panic!("{} fails on {} bytes: {}", target.name, input.len(), input.escape_ascii());
    })
}

#[test]
fn record_text() {
    run(&targets::RECORD, 1_500);
}

#[test]
fn unit_text() {
    run(&targets::UNIT, 3_000);
}

#[test]
fn query_text() {
    run(&targets::QUERY, 400);
}

#[test]
fn curve_files() {
    run(&targets::CURVE, 2_000);
}

#[test]
fn remembered_files() {
    run(&targets::MEMORY, 40);
}

#[test]
fn output() {
    run(&targets::OUTPUT, 2_000);
}

#[test]
fn plugin_modules() {
    run(&targets::PLUGIN, 2_000);
}
