//! What an answer lost: what was withdrawn since, and what rested on it, said in the answer itself.

use super::{Context, library};
use gripbook::book::{Book, Loss, Record, Standing, references};
use gripbook::finding::{Finding, Severity};
use gripbook::index::Query;
use gripbook::index::matching::judge;
use gripbook::present::{Answer, Block, Format, Page, Table, counted};
use gripbook::read;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

/// What an answer rests on besides what it names.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RestsOn {
    /// Nothing.
    Named,
    /// Every rule.
    Rules,
    /// Every rule, every way of joining, and every measured series: they tell how far a prediction can be trusted.
    Joints,
}

/// Causes told on a first screen.
const TOLD: usize = 2;

/// What is lost for one reason.
struct LossGroup {
    root: String,
    because: String,
    instead: Option<String>,
    what: Vec<Loss>,
    /// Whether a first screen tells it.
    is_news: bool,
}

impl LossGroup {
    fn text(&self) -> String {
        format!("Withdrawn: {}", self.what_and_why())
    }
    fn what_and_why(&self) -> String {
        let instead = self.instead.as_deref().map(|by| format!("; {by} takes its place")).unwrap_or_default();
        let more: Vec<&Loss> = self.what.iter().filter(|loss| loss.what != self.root).collect();
        let more = match more[..] {
            [] => String::new(),
            [one] => format!("; with it went {}", one.what),
            _ => format!("; with it went {}, `gripbook affected {}` lists them", counts(&more), self.root),
        };
        format!("{}, {}{instead}{more}", self.root, self.because)
    }
    fn json(&self) -> Value {
        let lost: Vec<&str> = self.what.iter().map(|loss| &*loss.what).collect();
        json!({"withdrawn": self.root, "because": self.because, "instead": self.instead, "lost": lost})
    }
}

/// `3 claims, 2 series`.
fn counts(what: &[&Loss]) -> String {
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    for one in what {
        *kinds.entry(one.sort().to_owned()).or_default() += 1;
    }
    kinds.iter().map(|(kind, n)| counted(*n, kind)).collect::<Vec<_>>().join(", ")
}

/// An answer that says what it lost.
struct WithLosses {
    inner: Box<dyn Answer>,
    groups: Vec<LossGroup>,
}

/// The answer, and what it lost.
pub fn told(book: &Book, ground: RestsOn, inner: Box<dyn Answer>) -> Box<dyn Answer> {
    if book.losses().is_empty() {
        return inner;
    }
    let mut named = BTreeSet::new();
    ids(&inner.json(), &mut named);
    let invented = named.iter().filter_map(|id| book.record(id)).any(is_invented);
    let groups = grouped(book, book.losses().iter().filter(|loss| concerns(book, loss, ground, &named, invented)));
    if groups.is_empty() { inner } else { Box::new(WithLosses { inner, groups }) }
}

/// Whether an answer may have rested on it: in a pack that was loaded beside the book. What the built-in book took back itself
/// was gone before this program was built, so no answer of it did; whole answers, sheets and records tell it all the same.
fn is_news(book: &Book, loss: &Loss) -> bool {
    let root = loss.root.split(':').next().unwrap_or(&loss.root);
    let places = [loss.record.as_str(), root].into_iter().filter_map(|id| book.record(id)).map(|record| record.pack);
    places.into_iter().any(|pack| book.packs().get(pack).is_some_and(|pack| !pack.root.is_built_in()))
}

/// Whether any loss may stand on a first screen.
pub fn any_news(book: &Book) -> bool {
    book.losses().iter().any(|loss| is_news(book, loss))
}

fn concerns(book: &Book, loss: &Loss, ground: RestsOn, named: &BTreeSet<String>, invented: bool) -> bool {
    let Some(record) = book.record(loss.record.as_str()) else { return false };
    if is_invented(record) && !invented {
        return false;
    }
    if named.contains(record.id.as_str()) {
        return true;
    }
    match (ground, record.id.kind()) {
        (RestsOn::Rules | RestsOn::Joints, "rule") | (RestsOn::Joints, "series" | "method") => return true,
        _ => {}
    }
    // A record that is out of use as a whole concerns what it was about.
    let about = || references::of(record).into_iter().any(|(to, _)| !to.starts_with("source/") && named.contains(&to));
    !loss.what.contains(':') && about()
}

fn is_invented(record: &Record) -> bool {
    record.invented() || record.is_invented()
}

/// Ids of records in an answer.
fn ids(value: &Value, into: &mut BTreeSet<String>) {
    match value {
        Value::Object(fields) => fields.iter().filter(|(key, _)| *key != "command").for_each(|(_, inner)| ids(inner, into)),
        Value::Array(items) => items.iter().for_each(|inner| ids(inner, into)),
        Value::String(text) => {
            let id = text.split(':').next().unwrap_or(text);
            if id.contains('/') && !id.contains(' ') {
                into.insert(id.to_owned());
            }
        }
        _ => {}
    }
}

fn grouped<'l>(book: &Book, losses: impl Iterator<Item = &'l Loss>) -> Vec<LossGroup> {
    let mut groups: BTreeMap<&str, LossGroup> = BTreeMap::new();
    for loss in losses {
        let group = groups.entry(&loss.root).or_insert_with(|| LossGroup {
            root: loss.root.clone(),
            because: loss.because.clone(),
            instead: loss.instead.clone(),
            what: Vec::new(),
            is_news: false,
        });
        group.is_news |= is_news(book, loss);
        group.what.push(loss.clone());
    }
    groups.into_values().collect()
}

/// The answer of a search, and what it would have found before.
pub fn searched(book: &Book, query: &Query, inner: Box<dyn Answer>) -> Box<dyn Answer> {
    let ids: BTreeSet<&str> = book.losses().iter().map(|loss| loss.record.as_str()).collect();
    let matched = |id: &str| {
        let Some(record) = book.record(id).filter(|r| judge(r, query, book.catalogue()).is_none()) else { return false };
        let mut before = record.clone();
        before.current = true;
        let is_lost = |address: &str| book.loss(address).is_some();
        for property in &mut before.properties {
            let claims = property.claims.iter_mut().filter(|c| is_lost(&record.address(&property.word, c)));
            claims.for_each(|claim| claim.standing = Standing::Good);
        }
        judge(&before, query, book.catalogue()).is_some()
    };
    let missed: BTreeSet<&str> = ids.into_iter().filter(|id| matched(id)).collect();
    let groups = grouped(book, book.losses().iter().filter(|loss| missed.contains(loss.record.as_str())));
    if groups.is_empty() { inner } else { Box::new(WithLosses { inner, groups }) }
}

/// What is lost of some records, for who takes them all; of the built-in book nothing, as on first screens.
pub fn notice<'r>(book: &Book, wanted: impl Fn(&Record) -> bool + 'r) -> Vec<String> {
    let is_wanted = |loss: &&Loss| is_news(book, loss) && book.record(loss.record.as_str()).is_some_and(&wanted);
    grouped(book, book.losses().iter().filter(is_wanted)).iter().map(LossGroup::text).collect()
}

impl Answer for WithLosses {
    fn schema(&self) -> &'static str {
        self.inner.schema()
    }
    fn json(&self) -> Value {
        let mut all = self.inner.json();
        all["lost"] = self.groups.iter().map(LossGroup::json).collect();
        all
    }
    fn page(&self) -> Page {
        let mut page = self.inner.page();
        page.heading("Withdrawn, and not used in this answer");
        for group in &self.groups {
            page.item(group.what_and_why());
            for loss in group.what.iter().filter(|loss| loss.what != group.root) {
                page.subitem(1, loss.what.clone());
            }
        }
        page
    }
    fn brief(&self, width: usize) -> Option<Page> {
        let mut page = self.inner.brief(width)?;
        let line = |text: String| Block::Line { indent: 0, text };
        let news: Vec<&LossGroup> = self.groups.iter().filter(|group| group.is_news).collect();
        let more = news.len().saturating_sub(TOLD);
        let more = (more > 0).then(|| line(format!("Withdrawn: {more} more; --full lists them")));
        let told = news.iter().take(TOLD).map(|group| line(group.text())).chain(more);
        let at = page.blocks.len().min(1);
        page.blocks.splice(at..at, told);
        Some(page)
    }
    fn table(&self) -> Option<Table> {
        self.inner.table()
    }
    fn special(&self, format: Format) -> Option<String> {
        self.inner.special(format)
    }
}

/// What `check` says of records that still name something withdrawn.
pub fn findings(book: &Book, wanted: impl Fn(&Record) -> bool, context: &Context) -> Vec<Finding> {
    let mut found = Vec::new();
    for citation in book.citations() {
        let Some(record) = book.record(citation.record.as_str()).filter(|r| wanted(r)) else { continue };
        let bytes = library::bytes(book, record, context);
        let reading = bytes.as_deref().map(read::read);
        let span = reading.as_ref().and_then(|r| r.tree.as_ref()?.at(&citation.pointer)).map(|node| node.span);
        let file = record.file.strip_prefix("./").unwrap_or(&record.file);
        let message = format!("`{}` is withdrawn: {}", citation.cited, citation.because);
        let help = match &citation.instead {
            Some(by) => format!("name {by}, or withdraw {} too", citation.what),
            None => format!("name another, or withdraw {} too", citation.what),
        };
        let mut finding = Finding::new(gripbook::check::WITHDRAWN_CITED, Severity::Error, file, message).help(help);
        finding.place.span = span;
        finding.excerpt = reading.as_ref().zip(span).and_then(|(r, s)| r.source.line(s.line as usize)).map(str::to_owned);
        found.push(finding.about(citation.what));
    }
    found
}
