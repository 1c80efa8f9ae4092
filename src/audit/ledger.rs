//! The ledger: how what is stated is known, by basis, by reading and by kind of source; and which of the weakly known values
//! most answers rest on.

use super::series::SeriesAt;
use super::walk::{Walk, WalkAnswer, walk};
use crate::book::{Basis, Book, Claim, Record, Standing};
use crate::joint::method::Method;
use crate::suit::Rule;
use std::collections::{BTreeMap, BTreeSet};

/// Draws for one joint: which claims it rests on needs no distribution.
const DRAWS: usize = 16;

/// Statements counted by how they are known.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tally {
    /// All of them.
    pub total: usize,
    /// Those without a source.
    pub unsourced: usize,
    /// By basis.
    pub basis: BTreeMap<&'static str, usize>,
    /// Of those with a source, by how it was read; `not-stated` where the record does not say.
    pub read: BTreeMap<String, usize>,
    /// Of those with a source, by kind of source.
    pub source: BTreeMap<String, usize>,
}

impl Tally {
    /// One statement more; `source` is the kind of its source.
    fn add(&mut self, basis: &'static str, source: Option<&str>, read: Option<&str>) {
        self.total += 1;
        *self.basis.entry(basis).or_default() += 1;
        let Some(source) = source else {
            self.unsourced += 1;
            return;
        };
        *self.read.entry(read.unwrap_or("not-stated").into()).or_default() += 1;
        *self.source.entry(source.into()).or_default() += 1;
    }
    fn take(&mut self, other: &Tally) {
        self.total += other.total;
        self.unsourced += other.unsourced;
        other.basis.iter().for_each(|(k, n)| *self.basis.entry(k).or_default() += n);
        other.read.iter().for_each(|(k, n)| *self.read.entry(k.clone()).or_default() += n);
        other.source.iter().for_each(|(k, n)| *self.source.entry(k.clone()).or_default() += n);
    }
    /// Share of all statements of that basis.
    pub fn of_basis(&self, basis: Basis) -> f64 {
        share(self.basis.get(basis.word()).copied().unwrap_or(0), self.total)
    }
    /// Share of all statements without a source.
    pub fn without_source(&self) -> f64 {
        share(self.unsourced, self.total)
    }
    /// Share of the statements with a source that were read in that way.
    pub fn of_read(&self, read: &str) -> f64 {
        share(self.read.get(read).copied().unwrap_or(0), self.total - self.unsourced)
    }
}

fn share(part: usize, whole: usize) -> f64 {
    if whole == 0 { 0.0 } else { part as f64 / whole as f64 }
}

/// A value from memory, or one its source quotes from another, and how many answers rest on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Weak {
    /// Address of the claim.
    pub claim: String,
    /// The value as written.
    pub value: String,
    /// `recalled` or `secondary`.
    pub how: &'static str,
    /// Answers that looked at it.
    pub answers: usize,
}

/// The ledger of the records asked for.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Ledger {
    /// Claims by kind of subject; measurements of series as `series`.
    pub kinds: BTreeMap<String, Tally>,
    /// Everything.
    pub all: Tally,
    /// Shapes of inserts by basis: whole records, not claims.
    pub shapes: BTreeMap<String, usize>,
    /// Weakly known values, those under most answers first.
    pub weak: Vec<Weak>,
    /// Questions asked to count them: adhesives on materials, with and without a brass insert.
    pub pairs: usize,
    /// Questions asked to count them: joints, one for each way of making one.
    pub joints: usize,
}

/// What the ledger is made from.
pub struct Frame<'b> {
    /// All records.
    pub book: &'b Book,
    /// Their rules.
    pub rules: &'b [Rule],
    /// The methods of joining.
    pub methods: &'b [&'b dyn Method],
    /// Which records are wanted.
    pub wanted: &'b (dyn Fn(&Record) -> bool + Sync),
    /// Told how many of how many materials are done.
    pub done: &'b (dyn Fn(usize, usize) + Sync),
}

/// Counts the statements of the wanted records, then asks every question once.
pub fn ledger(frame: &Frame<'_>) -> Ledger {
    let mut ledger = Ledger::default();
    for record in frame.book.records().into_iter().filter(|r| r.current && (frame.wanted)(r)) {
        if let Some(basis) = record.common().basis.filter(|_| frame.book.role(record) == "insert") {
            *ledger.shapes.entry(basis.word().to_owned()).or_default() += 1;
        }
        let tally = tally(record, frame.book);
        if tally.total > 0 {
            ledger.all.take(&tally);
            ledger.kinds.entry(record.id.kind().to_owned()).or_default().take(&tally);
        }
    }
    let asked = ask(frame);
    (ledger.pairs, ledger.joints) = (asked.pairs, asked.joints);
    ledger.weak = weak(frame, &asked.leaning);
    ledger
}

fn tally(record: &Record, book: &Book) -> Tally {
    let mut tally = Tally::default();
    let kind = |source: &str| book.source(source).and_then(|r| r.source()?.sort.as_deref()).unwrap_or("unknown");
    for claim in claims(record).map(|(_, c)| c) {
        tally.add(claim.basis.word(), claim.source.as_deref().map(kind), claim.read.as_deref());
    }
    let Some(series) = SeriesAt::of(record, book).filter(SeriesAt::in_use) else { return tally };
    for m in series.measurements().iter().filter(|m| m.in_use) {
        let basis = m.basis().map_or("unknown", Basis::word);
        tally.add(basis, record.common().source.as_deref().map(kind), series.says.read.as_deref());
    }
    tally
}

/// Claims that still stand, disputed ones included.
fn claims(record: &Record) -> impl Iterator<Item = (&str, &Claim)> {
    let all = record.properties.iter().flat_map(|p| p.claims.iter().map(move |c| (&*p.word, c)));
    all.filter(|(_, c)| c.standing != Standing::Withdrawn)
}

/// What was asked, and how many answers looked at each claim.
#[derive(Default)]
struct AnswersByClaim {
    pairs: usize,
    joints: usize,
    leaning: BTreeMap<String, usize>,
}

/// Asks every question once, and counts what each answer looked at.
fn ask(frame: &Frame<'_>) -> AnswersByClaim {
    let questions = Walk {
        book: frame.book,
        rules: frame.rules,
        methods: frame.methods,
        invented: false,
        joints_in: &|_| true,
        draws: DRAWS,
        done: frame.done,
    };
    let looked_at = |told: WalkAnswer<'_>| -> (bool, BTreeSet<String>) {
        match told {
            WalkAnswer::Bond { answer, .. } => {
                (true, answer.rules.iter().flat_map(|r| r.used.iter().filter_map(|u| u.claim.clone())).collect())
            }
            WalkAnswer::Joint { candidate, .. } => {
                let model = candidate.model.as_ref().map(|corrected| &corrected.model);
                (false, model.into_iter().flat_map(|m| m.claims.iter().map(|c| c.claim.clone())).collect())
            }
        }
    };
    let mut asked = AnswersByClaim::default();
    for (is_pair, claims) in walk(&questions, &looked_at) {
        *(if is_pair { &mut asked.pairs } else { &mut asked.joints }) += 1;
        claims.into_iter().for_each(|claim| *asked.leaning.entry(claim).or_default() += 1);
    }
    asked
}

fn weak(frame: &Frame<'_>, leaning: &BTreeMap<String, usize>) -> Vec<Weak> {
    let mut all = Vec::new();
    for record in frame.book.records().into_iter().filter(|r| r.current && (frame.wanted)(r)) {
        for (word, claim) in claims(record).filter(|(_, c)| c.in_use()) {
            let how = match (claim.basis, claim.read.as_deref()) {
                (Basis::Recalled, _) => "recalled",
                (_, Some("secondary")) => "secondary",
                _ => continue,
            };
            let address = record.address(word, claim);
            let answers = leaning.get(&address).copied().unwrap_or(0);
            all.push(Weak { claim: address, value: claim.value.text(), how, answers });
        }
    }
    all.sort_by(|a, b| b.answers.cmp(&a.answers).then_with(|| a.claim.cmp(&b.claim)));
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_of_nothing_are_nothing() {
        let tally = Tally::default();
        assert_eq!((tally.of_basis(Basis::Recalled), tally.without_source(), tally.of_read("abstract")), (0.0, 0.0, 0.0));
    }

    #[test]
    fn what_was_read_counts_among_the_sourced_only() {
        let mut tally = Tally::default();
        tally.add("measured", Some("article-journal"), Some("table"));
        tally.add("measured", Some("article-journal"), Some("abstract"));
        tally.add("recalled", None, None);
        tally.add("practice", None, None);
        assert_eq!((tally.of_basis(Basis::Recalled), tally.without_source(), tally.of_read("abstract")), (0.25, 0.5, 0.5));
        let mut twice = tally.clone();
        twice.take(&tally);
        assert_eq!((twice.total, twice.of_read("abstract")), (8, 0.5));
    }
}
