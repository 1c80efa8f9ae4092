//! What no longer counts: what was withdrawn or replaced, and what rested on it.
//!
//! A record rests on the records it names, a claim on its source and on the claims it was computed from. What rests on
//! something withdrawn is lost until it is mended, and so on upwards. The book takes what is lost out of use when it is
//! loaded, so no answer has to ask twice.

use super::claim::{Claim, Standing};
use super::record::{Record, RecordId};
use super::references;
use super::view::Series;
use serde_json::Value as Json;
use std::collections::{BTreeMap, BTreeSet};

/// Something that no longer counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Loss {
    /// Record id, address of a claim, measurement or single result, or `kind/id:field` for an entry with a source of its own.
    pub what: String,
    /// The record it is or stands in.
    pub record: RecordId,
    /// What it rested on; `None` for what was itself withdrawn or replaced.
    pub through: Option<String>,
    /// What was withdrawn in the beginning.
    pub root: String,
    /// Why that was withdrawn.
    pub because: String,
    /// What takes its place, if anything.
    pub instead: Option<String>,
}

/// A record in use that names something withdrawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Citation {
    /// The record.
    pub record: RecordId,
    /// Pointer into its file.
    pub pointer: String,
    /// The claim or record that names it.
    pub what: String,
    /// What it names.
    pub cited: String,
    /// Why that was withdrawn.
    pub because: String,
    /// What takes its place.
    pub instead: Option<String>,
}

impl Loss {
    /// What sort of thing it is: the kind of a record, or `claim`, `measurement`, `single result`.
    pub fn sort(&self) -> &str {
        let is_part = self.what.contains(':');
        match self.record.kind() {
            "series" if is_part && self.what.contains('#') => "single result",
            "series" if is_part => "measurement",
            _ if is_part => "claim",
            kind => kind,
        }
    }
}

/// Why something is lost.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Cause {
    through: Option<String>,
    root: String,
    because: String,
    instead: Option<String>,
}

/// Fields whose names of records are no ground to stand on: history, waivers, lists of relatives.
const NO_GROUND: [&str; 6] = ["withdrawn", "waive", "was", "cites", "shares_specimens_with", "replaced_by"];

/// Where a series names how it was made and what it was printed and tested with.
const TOLD: [&str; 3] = [METHOD, "/joint/process", "/test/rig"];
/// Where it names its method, by a word.
const METHOD: &str = "/joint/method";

/// Where a record names another, outside of its claims.
pub(super) struct Named {
    /// Full id.
    pub target: String,
    /// Pointer into the record.
    pub pointer: String,
    /// Pointer of the entry of a list that has its own source; `None` where the record as a whole rests on it.
    entry: Option<String>,
}

/// The records that a record rests on as a whole or in an entry.
pub(super) fn grounds(record: &Record) -> Vec<Named> {
    let mut found = Vec::new();
    walk(record.rest.json(), "", None, &mut found);
    let method = references::method(record).map(|word| format!("method/{word}"));
    found.extend(method.map(|target| Named { target, pointer: METHOD.to_owned(), entry: None }));
    found
}

fn walk(value: &Json, at: &str, entry: Option<&str>, into: &mut Vec<Named>) {
    match value {
        Json::Object(fields) => {
            for (key, inner) in fields.iter().filter(|(key, _)| !NO_GROUND.contains(&key.as_str())) {
                walk(inner, &format!("{at}/{key}"), entry, into);
            }
        }
        Json::Array(items) => {
            for (place, item) in items.iter().enumerate() {
                let inside = format!("{at}/{place}");
                let own = item.get("source").is_some_and(Json::is_string);
                walk(item, &inside, if own { Some(&inside) } else { entry }, into);
            }
        }
        Json::String(text) => {
            let target = match at.rsplit('/').next() {
                Some("source") => Some(format!("source/{text}")),
                _ if references::names_record(text) => Some(text.clone()),
                _ => None,
            };
            let entry = entry.map(str::to_owned);
            into.extend(target.map(|target| Named { target, pointer: at.to_owned(), entry }));
        }
        _ => {}
    }
}

/// The other records of a book, as far as they are needed.
pub(super) trait Around {
    /// The record with that id.
    fn record(&self, id: &str) -> Option<&Record>;
    /// The records that name this one.
    fn naming(&self, id: &str) -> Vec<&Record>;
}

/// Follows what is lost to what rests on it.
#[derive(Debug, Default)]
pub(super) struct Spread {
    /// By record id, claim address, or `kind/id:/pointer` of an entry.
    lost: BTreeMap<String, Cause>,
    /// Records of which something was lost, whose namers have not been looked at.
    open: BTreeSet<String>,
}

impl Spread {
    /// Takes in what a record withdraws itself.
    pub fn begin(&mut self, record: &Record) {
        if !record.current {
            self.lose(record, Cause { through: None, root: record.id.to_string(), ..own_cause(record) });
            return;
        }
        let of_claims = claims(record).filter(|(_, c)| c.standing == Standing::Withdrawn);
        let of_claims =
            of_claims.map(|(word, c)| (record.address(word, c), c.because.as_deref().unwrap_or("no reason given").to_owned()));
        let parts = record.series().into_iter().flat_map(|series| series.withdrawn_parts());
        let parts = parts.map(|(part, because)| (format!("{}:{part}", record.id), because.to_owned()));
        for (address, because) in of_claims.chain(parts) {
            self.lost.insert(address.clone(), Cause { through: None, root: address, because, instead: None });
            self.open.insert(record.id.to_string());
        }
    }
    /// Takes in a record, or the parts of it with these addresses, as if withdrawn, for the question what rests on it.
    pub fn suppose(&mut self, record: &Record, parts: &[String]) {
        let cause = |root: &str| Cause { through: None, root: root.into(), because: String::new(), instead: None };
        if parts.is_empty() {
            self.lose(record, cause(record.id.as_str()));
        } else {
            // Results that are withdrawn already: a measurement goes with the last one.
            let before = record.series().into_iter().flat_map(|series| series.withdrawn_parts());
            let before = before.map(|(part, _)| format!("{}:{part}", record.id)).filter(|part| part.contains('#'));
            let all: Vec<String> = before.chain(parts.iter().cloned()).collect();
            all.iter().for_each(|part| drop(self.lost.insert(part.clone(), cause(part))));
            self.open.insert(record.id.to_string());
        }
    }
    /// The next record whose namers have to be looked at.
    pub fn next(&mut self) -> Option<String> {
        self.open.pop_first()
    }
    /// Looks at the records that name `id`, and at the record itself: its claims may rest on each other.
    pub fn follow(&mut self, id: &str, around: &dyn Around) {
        around.naming(id).into_iter().for_each(|record| self.look(record, around));
        if let Some(record) = around.record(id) {
            self.look(record, around);
        }
    }
    fn lose(&mut self, record: &Record, cause: Cause) {
        self.open.insert(record.id.to_string());
        let inner = Cause { through: Some(record.id.to_string()), ..cause.clone() };
        for (word, claim) in claims(record) {
            self.lost.entry(record.address(word, claim)).or_insert_with(|| inner.clone());
        }
        self.lost.insert(record.id.to_string(), cause);
    }
    fn through(&self, name: &str) -> Option<Cause> {
        self.lost.get(name).map(|c| Cause { through: Some(name.to_owned()), ..c.clone() })
    }
    fn look(&mut self, record: &Record, around: &dyn Around) {
        if self.lost.contains_key(record.id.as_str()) {
            return;
        }
        let grounds = grounds(record);
        // A series says how it was made and what it was printed and tested with. It goes with a method, process or rig that is
        // withdrawn itself, not with one whose figures lost their source: its loads are what its own source says.
        let by_itself = |target: &str| self.lost.get(target).is_some_and(|cause| cause.through.is_none());
        let told = |named: &Named| record.id.kind() == "series" && TOLD.contains(&named.pointer.as_str());
        let grounds = grounds.into_iter().filter(|named| !told(named) || by_itself(&named.target)).collect::<Vec<_>>();
        for named in &grounds {
            let Some(cause) = self.through(&named.target) else { continue };
            match &named.entry {
                None => return self.lose(record, cause),
                Some(entry) => drop(self.lost.entry(format!("{}:{entry}", record.id)).or_insert(cause)),
            }
        }
        if let Some(cause) = self.no_provenance(record) {
            return self.lose(record, cause);
        }
        for (word, claim) in claims(record) {
            let address = record.address(word, claim);
            if !self.lost.contains_key(&address)
                && let Some(cause) = self.of_claim(claim, around)
            {
                self.lost.insert(address, cause);
                self.open.insert(record.id.to_string());
            }
        }
    }
    /// A rule stands as long as one of its sources does.
    fn no_provenance(&self, record: &Record) -> Option<Cause> {
        let list = Some(&record.rule()?.provenance).filter(|list| !list.is_empty())?;
        let of = |place: usize| self.lost.get(&format!("{}:/provenance/{place}", record.id)).cloned();
        let all: Option<Vec<Cause>> = (0..list.len()).map(of).collect();
        all?.into_iter().next()
    }
    fn of_claim(&self, claim: &Claim, around: &dyn Around) -> Option<Cause> {
        let source = claim.source.as_ref().and_then(|s| self.through(&format!("source/{s}")));
        source.or_else(|| claim.from.iter().find_map(|from| self.of_address(from, around)))
    }
    /// An address without a key names all claims of a property, or all measurements of a quantity, and is lost with the last of
    /// them.
    fn of_address(&self, address: &str, around: &dyn Around) -> Option<Cause> {
        let (id, rest) = address.split_once(':')?;
        if let Some(cause) = self.through(id) {
            return Some(cause);
        }
        let record = around.record(id)?;
        let (word, key) = rest.split_once('#').map_or((rest, None), |(word, key)| (word, Some(key)));
        if let Some(series) = record.series() {
            let of_word = series.measurements.iter().enumerate().filter(|(_, m)| *m.quantity == *word);
            let all: Option<Vec<Cause>> = match key {
                None => of_word.map(|(at, _)| self.of_measurement(record, series, at)).collect(),
                Some(_) => return self.through(address),
            };
            return all?.into_iter().next();
        }
        let meant = record.claims(word).iter().filter(|c| key.is_none_or(|key| &*c.key == key));
        let all: Option<Vec<Cause>> = meant.map(|c| self.through(&record.address(word, c))).collect();
        all?.into_iter().next()
    }
    /// A measurement is lost by itself, or with the last of its single results.
    fn of_measurement(&self, record: &Record, series: &Series, at: usize) -> Option<Cause> {
        let through = |result: Option<usize>| self.through(&format!("{}:{}", record.id, series.part(at, result)));
        let of_results = || {
            let count = series.measurements.get(at).map_or(0, |m| m.all_specimens.len());
            (0..count).map(|place| through(Some(place))).collect::<Option<Vec<Cause>>>()?.into_iter().next()
        };
        through(None).or_else(of_results)
    }
    /// Ids of the records of which something is lost.
    pub fn records(&self) -> BTreeSet<String> {
        self.lost.keys().map(|what| what.split(':').next().unwrap_or(what).to_owned()).collect()
    }
    /// Everything lost, sorted by name.
    pub fn losses(&self) -> Vec<Loss> {
        let one = |(what, cause): (&String, &Cause)| {
            let record = what.split(':').next().unwrap_or(what);
            let (kind, name) = record.split_once('/').unwrap_or(("", record));
            Loss {
                what: what.replace(":/", ":"),
                record: RecordId::new(kind, name),
                through: cause.through.clone(),
                root: cause.root.clone(),
                because: cause.because.clone(),
                instead: cause.instead.clone(),
            }
        };
        self.lost.iter().map(one).collect()
    }
    /// Takes what is lost of a record out of use.
    pub fn apply(&self, record: &mut Record) {
        if self.lost.contains_key(record.id.as_str()) {
            record.current = false;
        }
        let id = record.id.clone();
        let keyed = |word: &str, claim: &Claim, of: usize| match of {
            0 | 1 => format!("{id}:{word}"),
            _ => format!("{id}:{word}#{}", claim.key),
        };
        for property in &mut record.properties {
            let of = property.claims.len();
            for claim in &mut property.claims {
                let Some(cause) = self.lost.get(&keyed(&property.word, claim, of)) else { continue };
                if claim.standing != Standing::Withdrawn {
                    claim.standing = Standing::Withdrawn;
                    claim.because = Some(told(cause).into());
                }
            }
        }
        let prefix = format!("{}:/", record.id);
        for (what, cause) in self.lost.range(prefix.clone()..).take_while(|(what, _)| what.starts_with(&prefix)) {
            let pointer = &what[prefix.len() - 1..];
            record.rest.withdraw(pointer, &told(cause));
        }
    }
}

fn told(cause: &Cause) -> String {
    match &cause.through {
        Some(through) if *through == cause.root => format!("{through} is withdrawn: {}", cause.because),
        Some(through) => format!("{through} rests on {}, which is withdrawn: {}", cause.root, cause.because),
        None => cause.because.clone(),
    }
}

fn own_cause(record: &Record) -> Cause {
    let withdrawn = record.common().withdrawn.as_ref();
    let because = withdrawn.map(|w| &w.because).or_else(|| record.series()?.because.as_ref());
    Cause {
        through: None,
        root: String::new(),
        because: because.map_or_else(|| "no reason given".into(), |b| b.to_string()),
        instead: withdrawn.and_then(|w| w.replaced_by.as_deref()).map(str::to_owned),
    }
}

fn claims(record: &Record) -> impl Iterator<Item = (&str, &Claim)> {
    record.properties.iter().flat_map(|p| p.claims.iter().map(move |c| (&*p.word, c)))
}

/// Where a record in use names what was withdrawn itself.
pub(super) fn citations(record: &Record, roots: &BTreeMap<String, &Loss>) -> Vec<Citation> {
    if roots.contains_key(record.id.as_str()) {
        return Vec::new();
    }
    let mut found = Vec::new();
    let mut add = |target: &str, pointer: String, what: String| {
        if let Some(loss) = roots.get(target) {
            let (because, instead) = (loss.because.clone(), loss.instead.clone());
            found.push(Citation { record: record.id.clone(), pointer, what, cited: target.to_owned(), because, instead });
        }
    };
    for named in grounds(record) {
        add(&named.target, named.pointer, record.id.to_string());
    }
    let cites = record.source().map(|s| &s.cites).or_else(|| record.search().map(|s| &s.cites));
    for (place, cited) in cites.into_iter().flatten().enumerate() {
        add(&format!("source/{cited}"), format!("/cites/{place}"), record.id.to_string());
    }
    for property in &record.properties {
        for (place, claim) in property.claims.iter().enumerate() {
            let (address, at) = (record.address(&property.word, claim), format!("/properties/{}/{place}", property.word));
            // Itself withdrawn: it cites nothing any more.
            if roots.contains_key(&address) {
                continue;
            }
            claim.source.iter().for_each(|s| add(&format!("source/{s}"), format!("{at}/source"), address.clone()));
            for (nth, from) in claim.from.iter().enumerate() {
                let pointer = format!("{at}/from/{nth}");
                match from.split_once(':').filter(|(id, _)| roots.contains_key(*id)) {
                    Some((id, _)) => add(id, pointer, address.clone()),
                    None => add(from, pointer, address.clone()),
                }
            }
        }
    }
    found
}
