//! Every question that a whole book is asked: each adhesive on each material, with and without a brass insert, and each way of
//! making a joint of each thread in each material.

use crate::book::{Book, Record};
use crate::joint::judge::{Candidate, judge as judge_joint};
use crate::joint::method::Method;
use crate::joint::need::Need;
use crate::mechanics::thread;
use crate::suit::{self, Question, Rule, Suitability};
use rayon::prelude::*;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Threads of the joints that are asked, each engaged over two diameters.
pub const THREADS: [&str; 8] = ["M2", "M2.5", "M3", "M4", "M5", "M6", "#4-40", "1/4-20"];

/// What is asked of a book.
pub struct Walk<'a> {
    /// The book.
    pub book: &'a Book,
    /// Its rules.
    pub rules: &'a [Rule],
    /// The ways of joining.
    pub methods: &'a [&'a dyn Method],
    /// Whether invented materials are asked about, or real ones.
    pub invented: bool,
    /// The materials in which joints are asked.
    pub joints_in: &'a (dyn Fn(&Record) -> bool + Sync),
    /// Draws for one joint.
    pub draws: usize,
    /// Told how many of how many materials are done.
    pub done: &'a (dyn Fn(usize, usize) + Sync),
}

/// An answer with its question.
pub enum WalkAnswer<'w> {
    /// A glue on a material.
    Bond {
        /// The glue.
        adhesive: &'w Record,
        /// The material.
        material: &'w Record,
        /// Whether a brass insert is in the joint.
        insert: bool,
        /// Whether it suits.
        answer: &'w Suitability,
    },
    /// A way of making a joint.
    Joint {
        /// The material.
        material: &'w Record,
        /// The thread.
        thread: &'static str,
        /// The way, as judged.
        candidate: &'w Candidate<'w>,
    },
}

/// Asks everything once, materials side by side, and keeps what `take` makes of each answer, in the order of the records.
pub fn walk<T: Send>(walk: &Walk<'_>, take: &(impl Fn(WalkAnswer<'_>) -> T + Sync)) -> Vec<T> {
    let materials: Vec<&Record> = walk.book.of_role("material").filter(|r| r.invented() == walk.invented).collect();
    let finished = AtomicUsize::new(0);
    let one = |material: &&Record| {
        let mut all = bonds(walk, material, take);
        if (walk.joints_in)(material) {
            joints(walk, material, take, &mut all);
        }
        (walk.done)(finished.fetch_add(1, Ordering::Relaxed) + 1, materials.len());
        all
    };
    materials.par_iter().flat_map_iter(one).collect()
}

fn bonds<T>(walk: &Walk<'_>, material: &Record, take: &impl Fn(WalkAnswer<'_>) -> T) -> Vec<T> {
    let brass = walk.book.of_kind("metal").find(|r| &*r.family == "leaded-brass");
    let mut all = Vec::new();
    for adhesive in walk.book.of_role("adhesive").filter(|r| !r.invented() || material.invented()) {
        for metal in [None, brass] {
            let answer = suit::judge(Question { metal, ..Question::of(adhesive, material) }, walk.rules, walk.book);
            all.push(take(WalkAnswer::Bond { adhesive, material, insert: metal.is_some(), answer: &answer }));
        }
    }
    all
}

fn joints<T>(walk: &Walk<'_>, material: &Record, take: &impl Fn(WalkAnswer<'_>) -> T, all: &mut Vec<T>) {
    for (name, thread) in THREADS.into_iter().filter_map(|name| Some((name, thread::fastening(name).ok()?))) {
        let mut need = Need::new(walk.book, walk.rules, material, thread, thread.major() * 2.0);
        need.draws = walk.draws;
        need.limit_states = false;
        let judgement = judge_joint(&need, walk.methods, None);
        all.extend(judgement.candidates.iter().map(|candidate| take(WalkAnswer::Joint { material, thread: name, candidate })));
    }
}
