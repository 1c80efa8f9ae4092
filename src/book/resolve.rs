//! From what somebody typed to a record.

use super::record::{Head, Record, RecordId};
use super::whole::Book;
use crate::quantity::parse::edit_distance;

/// No record, or several, for a name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Miss {
    /// Nothing has that name.
    Unknown {
        /// As typed.
        text: String,
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
}

impl Miss {
    /// What is wrong, one sentence.
    pub fn message(&self) -> String {
        match self {
            Miss::Unknown { text, .. } => format!("nothing is called `{text}`"),
            Miss::Ambiguous { text, .. } => format!("`{text}` may be several"),
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
            Miss::Ambiguous { candidates, .. } => format!("say which: {}", list(candidates)),
        }
    }
}

/// How many near names a miss carries.
const NEAR: usize = 5;

impl Book {
    /// The record somebody means, among those of the given roles (empty: any).
    ///
    /// Tried in this order, without regard to case: full id; short id; name or synonym; beginning of a short id.
    /// The first step that finds a record decides. Where real and invented records compete, the real ones win.
    ///
    /// # Errors
    /// [`Miss`] with the nearest ids, or with all candidates.
    pub fn resolve<'b>(&'b self, text: &str, roles: &[&str]) -> Result<&'b Record, Miss> {
        let wanted = text.trim().to_lowercase();
        let is_among = |r: &&Record| roles.is_empty() || roles.contains(&self.role(r));
        if let Some(exact) = self.record(&wanted).filter(is_among) {
            return Ok(exact);
        }
        let records = |ids: Vec<&RecordId>| ids.into_iter().filter_map(|id| self.record(id.as_str())).collect();
        let short = || records(self.ids(roles).filter(|id| id.name() == wanted).collect());
        let called = || {
            let is_called = |h: &Head| h.name.to_lowercase() == wanted || h.also.iter().any(|a| a.to_lowercase() == wanted);
            self.heads(roles).iter().filter(|h| is_called(h)).filter_map(|h| self.record(h.id.as_str())).collect()
        };
        let begun = || records(self.ids(roles).filter(|id| is_beginning(id.name(), &wanted)).collect());
        let steps: [&dyn Fn() -> Vec<&'b Record>; 3] = [&short, &called, &begun];
        for step in steps {
            if let Some(answer) = one(text, step()) {
                return answer;
            }
        }
        Err(Miss::Unknown { text: text.into(), near: self.near(&wanted, roles) })
    }

    /// The ids nearest in spelling to a text, best first.
    fn near(&self, wanted: &str, roles: &[&str]) -> Vec<RecordId> {
        let heads = self.heads(roles);
        // Sources and series are looked for by full id; as suggestions for a material they are noise.
        let is_book = |h: &Head| self.catalogue().kind(h.id.kind()).is_some_and(|k| k.role == "book");
        let candidates = heads.iter().filter(|h| wanted.contains('/') || !is_book(h));
        let mut scored: Vec<(usize, &RecordId)> = candidates.filter_map(|h| Some((distance(h, wanted)?, &h.id))).collect();
        scored.sort();
        scored.into_iter().take(NEAR).map(|(_, id)| id.clone()).collect()
    }
}

/// `Some` when the step decides: one record, or several that nothing tells apart.
fn one<'a>(text: &str, found: Vec<&'a Record>) -> Option<Result<&'a Record, Miss>> {
    let real: Vec<&Record> = found.iter().copied().filter(|r| !r.invented()).collect();
    let rest = if real.is_empty() { found } else { real };
    // Subjects before what merely documents them, so that a source with the same name does not stand in the way.
    match &rest[..] {
        [] => None,
        [only] => Some(Ok(only)),
        _ => Some(Err(Miss::Ambiguous { text: text.into(), candidates: rest.iter().map(|r| r.id.clone()).collect() })),
    }
}

/// Whether a short id starts with the text at a word boundary: `cyanoacrylate` begins `cyanoacrylate-thick`.
fn is_beginning(id: &str, text: &str) -> bool {
    !text.is_empty() && id.strip_prefix(text).is_some_and(|rest| rest.starts_with('-'))
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
