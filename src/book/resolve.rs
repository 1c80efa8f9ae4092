//! From what somebody typed to a record.

use super::collection::Book;
use super::record::{Head, Record, RecordId};
use crate::check::catalogue::KindCard;
use crate::quantity::parse::edit_distance;

/// No record, or several, for a name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Miss {
    /// Nothing has that name.
    Unknown {
        /// As typed.
        text: String,
        /// What was looked for, when it was one role: `material`.
        wanted: Option<String>,
        /// The ids nearest in spelling, best first.
        near: Vec<RecordId>,
    },
    /// Several records have it.
    Ambiguous {
        /// As typed.
        text: String,
        /// All of them, by id.
        candidates: Vec<RecordId>,
    },
    /// It names a class: a kind or a family of several records, or of none.
    Class {
        /// As typed.
        text: String,
        /// Its members, by id.
        members: Vec<RecordId>,
    },
    /// It names a record that was withdrawn, or that rests on one.
    Withdrawn {
        /// The record.
        id: RecordId,
        /// Why it may not be used.
        because: String,
        /// What takes its place.
        instead: Option<String>,
    },
}

impl Miss {
    /// The miss of a record that may not be used.
    pub fn of_lost(book: &Book, id: &RecordId) -> Miss {
        let loss = book.loss(id.as_str());
        let because = loss.map(|loss| match &loss.through {
            Some(_) => format!("it rests on {}, which is withdrawn: {}", loss.root, loss.because),
            None => loss.because.clone(),
        });
        let because = because.unwrap_or_else(|| "no reason given".into());
        Miss::Withdrawn { id: id.clone(), because, instead: loss.and_then(|loss| loss.instead.clone()) }
    }
    /// What is wrong, one sentence.
    pub fn message(&self) -> String {
        match self {
            Miss::Unknown { text, wanted: Some(role), .. } => format!("no {role} is called `{text}`"),
            Miss::Unknown { text, wanted: None, .. } => format!("nothing is called `{text}`"),
            Miss::Ambiguous { text, .. } => format!("`{text}` could be one of several"),
            Miss::Class { text, members } if members.is_empty() => {
                format!("`{text}` names a class, but the loaded packs have no record in it")
            }
            Miss::Class { text, members } => format!("`{text}` names a class of {}", members.len()),
            Miss::Withdrawn { id, because, .. } => format!("{id} may not be used: {because}"),
        }
    }
    /// What to do.
    pub fn help(&self) -> String {
        let list = |ids: &[RecordId]| ids.iter().map(RecordId::as_str).collect::<Vec<_>>().join(", ");
        match self {
            Miss::Unknown { near, .. } if near.is_empty() => {
                "`gripbook find WORDS` searches names, synonyms and descriptions".into()
            }
            Miss::Unknown { near, .. } => format!("did you mean {}?", list(near)),
            Miss::Ambiguous { candidates, .. } => format!("choose one of {}", list(candidates)),
            Miss::Class { text, members } if members.is_empty() => {
                format!("`gripbook find {text}` lists the records that mention it")
            }
            Miss::Class { members, .. } => format!("choose one of {}", list(members)),
            Miss::Withdrawn { instead: Some(by), .. } => format!("{by} takes its place"),
            Miss::Withdrawn { id, .. } => format!("`gripbook show {id}` shows what it said"),
        }
    }
}

/// How many near names a miss carries.
const NEAR: usize = 5;

/// A name as names are compared: spaces, hyphens, other marks between words, and case do not count. Between two digits the
/// mark counts, so that M2.5 is not M25.
pub fn plain(text: &str) -> String {
    let mut out = String::new();
    let mut parted = false;
    for c in text.to_lowercase().chars() {
        if c.is_whitespace() || matches!(c, '-' | '_' | '/' | '.' | ',' | '(' | ')' | '\'') {
            parted = true;
            continue;
        }
        if parted && c.is_ascii_digit() && out.ends_with(|last: char| last.is_ascii_digit()) {
            out.push('.');
        }
        parted = false;
        out.push(c);
    }
    out
}

/// The words of a name in lower case.
fn words(text: &str) -> Vec<String> {
    let parts = text.split(|c: char| c.is_whitespace() || matches!(c, '-' | '_' | '/' | ',' | '(' | ')'));
    parts.filter(|w| !w.is_empty()).map(str::to_lowercase).collect()
}

impl Book {
    /// The record somebody means, among those of the given roles (empty: any).
    ///
    /// Tried in this order, without regard to case, spaces and hyphens: full id; short id, unless the word names a class that
    /// the record is not of; a class (kind, family or another word for one); name or synonym; beginning of a short id; words
    /// that all stand in one record's names. The first step that finds a record decides. Where real and invented records
    /// compete, the real ones win. A withdrawn record is found only where any role will do, for then it is looked at and not
    /// used.
    ///
    /// # Errors
    /// [`Miss`] with the nearest ids, with all candidates, or with the members of the class.
    pub fn resolve<'b>(&'b self, text: &str, roles: &[&str]) -> Result<&'b Record, Miss> {
        let typed = text.trim().to_lowercase();
        let is_among = |r: &&Record| roles.is_empty() || roles.contains(&self.role(r));
        if let Some(exact) = self.record(&typed).filter(is_among) {
            return self.usable(exact, roles);
        }
        let (kind, name) = typed.split_once('/').map_or((None, &*typed), |(kind, name)| (Some(plain(kind)), name));
        let kind = kind.filter(|kind| self.catalogue().kinds.iter().any(|k| plain(&k.word) == *kind));
        let of_kind = |id: &RecordId| kind.as_ref().is_none_or(|kind| plain(id.kind()) == *kind);
        let name = if kind.is_some() { name } else { &typed };
        let wanted = plain(name);
        if wanted.is_empty() {
            return Err(self.unknown(text, roles));
        }
        let by_id = |fits: &dyn Fn(&RecordId) -> bool| -> Vec<&'b Record> {
            let ids = self.ids(roles).filter(|id| of_kind(id) && fits(id));
            ids.filter_map(|id| self.record(id.as_str())).collect()
        };
        let by_head = |fits: &dyn Fn(&Head) -> bool| -> Vec<&'b Record> {
            let heads = self.heads(roles);
            let fitting = heads.iter().filter(|h| of_kind(&h.id) && fits(h));
            fitting.filter_map(|h| self.record(h.id.as_str())).collect()
        };
        let slug = words(name).join("-");
        let typed_words = words(name);
        let class = self.class(&wanted, roles).filter(|_| kind.is_none());
        let short = || by_id(&|id| id.name() == name);
        let spelled = || by_id(&|id| plain(id.name()) == wanted);
        let of_class = || class.iter().flatten().filter_map(|id| self.record(id.as_str())).collect();
        let called = || by_head(&|h| plain(&h.name) == wanted || h.also.iter().any(|a| plain(a) == wanted));
        let begun = || by_id(&|id| is_beginning(id.name(), &slug));
        let worded = || by_head(&|h| typed_words.len() > 1 && has_words(h, &typed_words));
        let steps: [&dyn Fn() -> Vec<&'b Record>; 6] = [&short, &spelled, &of_class, &called, &begun, &worded];
        for (place, step) in steps.iter().enumerate() {
            let found = step();
            let current: Vec<&Record> = found.iter().copied().filter(|record| record.current).collect();
            if let Some(answer) = one(text, if current.is_empty() { found } else { current }) {
                const CLASS: usize = 2;
                let answer = answer.and_then(|record| self.usable(record, roles));
                // Who names a class (`nylon`) does not mean the one record elsewhere that bears the same word (a screw).
                if let (Ok(record), Some(members)) = (&answer, class.as_ref().filter(|members| !members.is_empty()))
                    && place < CLASS
                    && !members.contains(&record.id)
                {
                    let members = members.iter().chain([&record.id]).cloned().collect();
                    return Err(Miss::Class { text: text.into(), members });
                }
                return answer.map_err(|miss| match miss {
                    Miss::Ambiguous { text, candidates } if place == CLASS => Miss::Class { text, members: candidates },
                    miss => miss,
                });
            }
        }
        match class.and_then(|_| self.class(&wanted, &[])) {
            Some(members) if members.is_empty() => Err(Miss::Class { text: text.into(), members }),
            _ => Err(self.unknown(text, roles)),
        }
    }

    /// Whether a word stands for a class of things, with or without members.
    pub fn names_class(&self, text: &str) -> bool {
        self.class(&plain(text), &[]).is_some()
    }

    fn usable<'b>(&'b self, record: &'b Record, roles: &[&str]) -> Result<&'b Record, Miss> {
        if record.current || roles.is_empty() { Ok(record) } else { Err(Miss::of_lost(self, &record.id)) }
    }

    /// The current records of the class with that (plain) name among these roles; `None` when it names no class.
    fn class(&self, wanted: &str, roles: &[&str]) -> Option<Vec<RecordId>> {
        let families = &self.catalogue().families;
        let is_named = |family: &str, called: &[String]| plain(family) == wanted || called.iter().any(|c| plain(c) == wanted);
        let family = families.called().find(|(family, called)| is_named(family, called)).map(|(family, _)| family);
        // Sources, rules and series are documents, not a class of things.
        let has_name = |k: &&KindCard| {
            k.role != "book" && [&k.word, &k.folder, &k.title].into_iter().chain(&k.called).any(|n| plain(n) == wanted)
        };
        let kind = self.catalogue().kinds.iter().find(has_name);
        if kind.is_none() && family.is_none() {
            return None;
        }
        let candidates = self.ids(roles).filter(|id| self.catalogue().kind(id.kind()).is_some_and(|k| k.role != "book"));
        let records = candidates.filter_map(|id| self.record(id.as_str())).filter(|r| r.current);
        let belongs =
            |r: &&Record| kind.is_some_and(|k| k.word == r.id.kind()) || family.is_some_and(|f| self.is_family(&r.family, f));
        Some(records.filter(belongs).map(|r| r.id.clone()).collect())
    }

    fn unknown(&self, text: &str, roles: &[&str]) -> Miss {
        let wanted = match roles {
            [one] if *one != "book" => Some((*one).to_owned()),
            _ => None,
        };
        Miss::Unknown { text: text.into(), wanted, near: self.near(&text.trim().to_lowercase(), roles) }
    }

    /// The ids nearest in spelling to a text, best first.
    fn near(&self, wanted: &str, roles: &[&str]) -> Vec<RecordId> {
        let heads = self.heads(roles);
        // Sources and series are looked for by full id; as suggestions for a material they are noise.
        let is_book = |h: &Head| self.catalogue().kind(h.id.kind()).is_some_and(|k| k.role == "book");
        let candidates = heads.iter().filter(|h| wanted.contains('/') || roles.contains(&"book") || !is_book(h));
        let mut scored: Vec<(usize, &RecordId)> = candidates.filter_map(|h| Some((distance(h, wanted)?, &h.id))).collect();
        scored.sort();
        scored.into_iter().take(NEAR).map(|(_, id)| id.clone()).collect()
    }
}

/// `Some` when the step decides: one record, or several that nothing tells apart.
fn one<'a>(text: &str, found: Vec<&'a Record>) -> Option<Result<&'a Record, Miss>> {
    let real: Vec<&Record> = found.iter().copied().filter(|r| !r.invented()).collect();
    let rest = if real.is_empty() { found } else { real };
    // A subject before what merely documents it, so that a source or a search with the same name does not stand in the way.
    let subjects: Vec<&Record> = rest.iter().copied().filter(|r| !matches!(r.id.kind(), "source" | "search")).collect();
    match (&rest[..], &subjects[..]) {
        ([], _) => None,
        ([only], _) | (_, [only]) => Some(Ok(only)),
        _ => Some(Err(Miss::Ambiguous { text: text.into(), candidates: rest.iter().map(|r| r.id.clone()).collect() })),
    }
}

/// Whether a short id starts with the text at a word boundary: `cyanoacrylate` begins `cyanoacrylate-thick`.
fn is_beginning(id: &str, text: &str) -> bool {
    !text.is_empty() && id.strip_prefix(text).is_some_and(|rest| rest.starts_with('-'))
}

/// Whether every word typed is one of the record's id, name or synonyms.
fn has_words(head: &Head, typed: &[String]) -> bool {
    let names = std::iter::once(head.id.name()).chain([&*head.name]).chain(head.also.iter().map(|a| &**a));
    let known: Vec<String> = names.flat_map(words).collect();
    typed.iter().all(|word| known.contains(word))
}

/// The distance of a record's nearest name; `None` when nothing is near.
fn distance(record: &Head, wanted: &str) -> Option<usize> {
    let bound = (wanted.chars().count() / 3).max(1);
    let names = std::iter::once(record.id.name()).chain(wanted.contains('/').then_some(record.id.as_str()));
    let names = names.map(str::to_owned).chain(record.also.iter().map(|a| a.to_lowercase())).chain([record.name.to_lowercase()]);
    let measured = names.filter_map(|name| {
        let far = name.chars().count().abs_diff(wanted.chars().count()) > bound;
        let distance = if far { usize::MAX } else { edit_distance(&name, wanted) };
        if distance <= bound {
            return Some(distance);
        }
        (wanted.chars().count() >= 3 && name.contains(wanted)).then_some(bound + 1)
    });
    measured.min()
}
