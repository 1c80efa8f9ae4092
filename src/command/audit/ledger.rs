//! `audit --ledger`: how the book is known, in shares, and what leans on memory.

use crate::command::library::Loaded;
use crate::command::waiting::Waiting;
use gripbook::audit::ledger::{Frame, Ledger, Tally, ledger};
use gripbook::audit::walk::THREADS;
use gripbook::book::{Basis, Record};
use gripbook::present::{Answer, Page, Table, table::Cell};
use gripbook::suit;
use serde_json::{Value, json};

/// Weak values that a page shows.
const SHOWN: usize = 20;

/// The answer of `audit --ledger`.
pub(super) struct LedgerAnswer {
    ledger: Ledger,
    full: bool,
    hash: String,
}

/// Makes the ledger of the records wanted. Progress is told on a terminal, not before two seconds have passed.
pub(super) fn answer(loaded: &Loaded, wanted: &(dyn Fn(&Record) -> bool + Sync), full: bool) -> LedgerAnswer {
    let book = &loaded.book;
    let (rules, _) = suit::rules(book);
    let waiting = Waiting::on("asking for every joint of every material");
    let done = |done: usize, of: usize| waiting.told(format!("{done} of {of} materials asked"));
    let methods = loaded.registry.methods_of(book);
    let ledger = ledger(&Frame { book, rules: &rules, methods: &methods.all(), wanted, done: &done });
    drop(waiting);
    let hash = book.hash_line(book.records().into_iter().filter(|r| wanted(r)));
    LedgerAnswer { ledger, full, hash }
}

fn percent(share: f64) -> String {
    format!("{:.1} %", share * 100.0)
}

fn counts<K: std::fmt::Display>(counts: impl IntoIterator<Item = (K, usize)>) -> String {
    let mut all: Vec<(K, usize)> = counts.into_iter().collect();
    all.sort_by_key(|(_, n)| std::cmp::Reverse(*n));
    all.iter().map(|(word, n)| format!("{word} {n}")).collect::<Vec<_>>().join(", ")
}

fn tally_json(t: &Tally) -> Value {
    json!({
        "statements": t.total,
        "unsourced": t.unsourced,
        "basis": t.basis,
        "read": t.read,
        "kind_of_source": t.source,
        "share_recalled": t.of_basis(Basis::Recalled),
        "share_unsourced": t.without_source(),
        "share_abstract_of_sourced": t.of_read("abstract"),
    })
}

impl LedgerAnswer {
    fn shares(&self) -> Table {
        let mut table = Table::new(&["kind", "statements", "recalled", "practice", "unsourced", "abstract only", "second-hand"]);
        let rows = self.ledger.kinds.iter().map(|(kind, t)| (kind.as_str(), t)).chain([("all", &self.ledger.all)]);
        for (kind, t) in rows {
            table.row(vec![
                kind.into(),
                Cell::Number(t.total as f64),
                percent(t.of_basis(Basis::Recalled)).into(),
                percent(t.of_basis(Basis::Practice)).into(),
                percent(t.without_source()).into(),
                percent(t.of_read("abstract")).into(),
                percent(t.of_read("secondary")).into(),
            ]);
        }
        table
    }
}

impl Answer for LedgerAnswer {
    fn schema(&self) -> &'static str {
        "gripbook/ledger/1"
    }
    fn json(&self) -> Value {
        let l = &self.ledger;
        let kinds: serde_json::Map<String, Value> = l.kinds.iter().map(|(k, t)| (k.clone(), tally_json(t))).collect();
        let weak: Vec<Value> =
            l.weak.iter().map(|w| json!({"claim": w.claim, "value": w.value, "how": w.how, "answers": w.answers})).collect();
        json!({
            "book": self.hash,
            "all": tally_json(&l.all),
            "kinds": kinds,
            "insert_shapes": l.shapes,
            "asked": {"pairs": l.pairs, "joints": l.joints, "threads": THREADS},
            "weak": weak,
        })
    }
    fn page(&self) -> Page {
        let l = &self.ledger;
        let mut page = Page::titled(format!("How {} claims and measurements are known", l.all.total));
        page.field("packs", self.hash.clone()).blank().table(self.shares());
        page.line("abstract only and second-hand: of those with a source; what is withdrawn, and a measurement in doubt, is not counted");
        page.heading("All together");
        page.field("basis", counts(l.all.basis.iter().map(|(k, n)| (*k, *n))))
            .field("read", counts(l.all.read.iter().map(|(k, n)| (k.as_str(), *n))))
            .field("sources", counts(l.all.source.iter().map(|(k, n)| (k.as_str(), *n))))
            .field("insert shapes", counts(l.shapes.iter().map(|(k, n)| (k.as_str(), *n))));
        let under = l.weak.iter().filter(|w| w.answers > 0).count();
        page.heading("What rests on memory and on quotations");
        page.line(format!(
            "{} values are recalled or quoted from another source; {under} of them stand under at least one of {} answers on \
             adhesives and {} on joints ({}).",
            l.weak.len(),
            l.pairs,
            l.joints,
            THREADS.join(", ")
        ));
        let shown = if self.full { l.weak.len() } else { SHOWN };
        let mut table = Table::new(&["answers", "how", "claim", "value"]);
        for w in l.weak.iter().take(shown) {
            table.row(vec![Cell::Number(w.answers as f64), w.how.into(), w.claim.as_str().into(), w.value.as_str().into()]);
        }
        page.blank().table(table);
        if l.weak.len() > shown {
            page.line(format!("{} more: --full, or --format json", l.weak.len() - shown));
        }
        page
    }
    fn table(&self) -> Option<Table> {
        Some(self.shares())
    }
}
