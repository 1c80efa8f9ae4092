//! Which verdicts and design loads differ between two books, over every question of a walk.

use crate::audit::walk::{Walk, WalkAnswer, walk};
use crate::book::{Book, Record};
use crate::joint::method::Method;
use crate::suit;
use std::collections::BTreeMap;

/// Draws for one joint. Both books get the same ones, so that what differs is not chance.
const DRAWS: usize = 200;

/// What is asked of a book.
pub struct AskedOfBoth<'a> {
    /// The book.
    pub book: &'a Book,
    /// The ways of joining.
    pub methods: &'a [&'a dyn Method],
    /// Which materials a joint in which may have moved.
    pub joints_in: &'a (dyn Fn(&Record) -> bool + Sync),
    /// Whether invented materials are asked about, or real ones.
    pub invented: bool,
    /// Told how many of how many materials are done.
    pub done: &'a (dyn Fn(usize, usize) + Sync),
}

/// An answer: verdict, and design load in N where one is given.
#[derive(Debug, Clone, PartialEq)]
pub struct Answered {
    /// The verdict.
    pub verdict: String,
    /// The load it may be designed for.
    pub load: Option<f64>,
}

/// An answer that differs.
#[derive(Debug, Clone, PartialEq)]
pub struct Move {
    /// The question: `cyanoacrylate-thick on pla`, `pla M3 6 mm, cut-thread`.
    pub question: String,
    /// Before; `None` when there was no such question.
    pub old: Option<Answered>,
    /// After.
    pub new: Option<Answered>,
}

impl Move {
    /// Whether the verdict is another one.
    pub fn turns(&self) -> bool {
        self.old.as_ref().map(|a| &a.verdict) != self.new.as_ref().map(|a| &a.verdict)
    }
    /// How far the load moved, as a logarithm; infinite where one of the two gives none.
    pub fn distance(&self) -> f64 {
        match (self.old.as_ref().and_then(|a| a.load), self.new.as_ref().and_then(|a| a.load)) {
            (Some(a), Some(b)) => libm::log(b / a).abs(),
            (None, None) => 0.0,
            _ => f64::INFINITY,
        }
    }
}

/// Every answer of a book by its question.
pub fn answers(asked: &AskedOfBoth<'_>) -> BTreeMap<String, Answered> {
    let (rules, _) = suit::rules(asked.book);
    let AskedOfBoth { book, methods, joints_in, invented, done } = *asked;
    let named = |told: WalkAnswer<'_>| match told {
        WalkAnswer::Bond { adhesive, material, insert, answer } => {
            let with = if insert { ", brass insert" } else { "" };
            let question = format!("{} on {}{with}", adhesive.id.name(), material.id.name());
            (question, Answered { verdict: answer.verdict.word().to_owned(), load: None })
        }
        WalkAnswer::Joint { material, thread, candidate } => {
            let question = format!("{} {thread}, {}", material.id.name(), candidate.short_title());
            let load = candidate.design().map(|bound| bound.design());
            (question, Answered { verdict: candidate.verdict.word().to_owned(), load })
        }
    };
    walk(&Walk { book, rules: &rules, methods, invented, joints_in, draws: DRAWS, done }, &named).into_iter().collect()
}

/// What differs: verdicts first, then loads by how far they moved. Questions only one book can be asked are left out.
pub fn moved(old: &BTreeMap<String, Answered>, new: &BTreeMap<String, Answered>) -> Vec<Move> {
    let both = new.iter().filter_map(|(question, now)| Some((question, old.get(question)?, now)));
    let differing = both.filter(|(_, then, now)| then != now);
    let one = |(question, then, now): (&String, &Answered, &Answered)| Move {
        question: question.clone(),
        old: Some(then.clone()),
        new: Some(now.clone()),
    };
    let mut all: Vec<Move> = differing.map(one).collect();
    all.sort_by(|a, b| b.turns().cmp(&a.turns()).then(b.distance().total_cmp(&a.distance())).then(a.question.cmp(&b.question)));
    all
}
