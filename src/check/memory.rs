//! What a check remembers of a pack, so that unchanged files need not be read again.
//!
//! What is found in a file follows from its bytes, the schemas, the id of its pack and the ids of all records. Schemas,
//! ids of other packs and the version of the program make the key; files of the pack itself are compared one by one. A
//! file without findings stays without when ids come in, since all it names is there already; when a file is gone, or a
//! recording has come, every file is looked at again.

use std::path::Path;

use sha2::{Digest, Sha256};

use super::packfile::PACK_FILE;
use super::packs::{Content, File, Files};
use super::rules;
use crate::finding::{Finding, Place, Severity, Span};
use crate::read::compact::{Decoder, Encoder};
use crate::read::folder::Stamp;
use crate::read::paths::{self, Paths};

/// Where what was found is kept between runs.
pub trait Memory: Sync {
    /// What was kept of the pack in a folder; `None` when there is nothing, or when it cannot be read.
    fn recall(&self, root: &Path) -> Option<Vec<u8>>;
    /// Keeps what was found in the pack of a folder, if it can.
    fn keep(&self, root: &Path, bytes: &[u8]);
    /// When the run began to look at files, in nanoseconds since 1970.
    fn began(&self) -> i64;
    /// Whether every file has to be read, whatever its stamp says.
    fn reads_all(&self) -> bool;
}

/// What it is and the versions it can be read by.
const MAGIC: &str = concat!("gripbook findings 3 ", env!("CARGO_PKG_VERSION"), "\n");

/// Hash of the content of a file.
pub(super) type Mark = [u8; 16];

/// Hash of the content of a file.
pub(super) fn mark(bytes: &[u8]) -> Mark {
    let whole: [u8; 32] = Sha256::digest(bytes).into();
    let mut mark = Mark::default();
    mark.copy_from_slice(&whole[..16]);
    mark
}

/// What is remembered of one file.
#[derive(Debug, Clone, Copy)]
pub(super) struct Was<'m> {
    pub mark: Mark,
    /// Its findings, still encoded.
    pub findings: &'m [u8],
    pub state: State,
}

/// How a file stands to what is remembered of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum State {
    /// Believed by its stamp, or nothing but its name counts.
    Same,
    /// Read, and its content is the same.
    SameContent,
}

/// What is remembered of a pack, as far as it still holds.
#[derive(Debug)]
pub(super) struct Past<'m> {
    /// Of each file; `None` when it must be looked at.
    pub files: Vec<Option<Was<'m>>>,
    /// Records among them, when the files are the same.
    records: u64,
    /// Findings on the pack as such; absent when they must be made anew.
    pack: Option<Vec<Finding>>,
}

impl Past<'_> {
    /// Nothing is remembered.
    pub fn empty(files: &Files<'_>) -> Self {
        Past { files: vec![None; files.all.len()], records: 0, pack: None }
    }
    /// Every finding and the number of records, when nothing has changed.
    pub fn whole(&self, files: &Files<'_>) -> Option<(Vec<Finding>, usize)> {
        let mut all = self.pack.clone()?;
        for (file, was) in files.all.iter().zip(&self.files) {
            let found = was.as_ref()?.findings;
            if found != NONE {
                all.extend(findings(found, &files.shown(file))?);
            }
        }
        Some((all, usize::try_from(self.records).ok()?))
    }
    /// Whether the files can be believed by their stamps from now on, which they could not before.
    pub fn settles(&self, files: &Files<'_>, began: i64) -> bool {
        let is_new = |was: &Option<Was<'_>>| was.is_some_and(|was| was.state == State::SameContent);
        files.all.iter().zip(&self.files).any(|(file, was)| is_new(was) && stamp(file).settled(began))
    }
}

/// The encoded findings of a file without any.
pub(super) const NONE: &[u8] = &[0];

fn stamp(file: &File<'_>) -> Stamp {
    match file.content {
        Content::Inside(stamp) => stamp,
        Content::Bytes(_) | Content::Path(_) => Stamp::default(),
    }
}

/// What findings of a pack depend on beside its own records.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Key {
    /// Schemas, what the pack declares, ids of other packs.
    rules: [u8; 32],
    /// Names shown, and what could not be listed: only findings on the pack as such depend on it.
    view: [u8; 32],
}

/// The key of the pack at `place`.
pub(super) fn key(shared: &[(&str, &str)], packs: &[Files<'_>], place: usize) -> Key {
    let (mut rules, mut view) = (Sha256::new(), Sha256::new());
    let add = |hash: &mut Sha256, bytes: &[u8]| {
        hash.update((bytes.len() as u64).to_le_bytes());
        hash.update(bytes);
    };
    for (name, text) in shared {
        add(&mut rules, name.as_bytes());
        add(&mut rules, text.as_bytes());
    }
    for (at, pack) in packs.iter().enumerate() {
        add(&mut rules, if at == place { b"this pack" } else { b"another pack" });
        for file in &pack.all {
            let declares = &*file.relative == PACK_FILE || file.relative.starts_with("schemas/");
            if declares || at != place {
                add(&mut rules, file.relative.as_bytes());
            }
            if declares {
                match pack.bytes(file) {
                    Ok(bytes) => add(&mut rules, &bytes),
                    Err(fault) => add(&mut rules, fault.message.as_bytes()),
                }
            }
        }
        add(&mut view, pack.prefix.as_bytes());
        pack.findings.iter().for_each(|found| add(&mut view, format!("{found:?}").as_bytes()));
    }
    Key { rules: rules.finalize().into(), view: view.finalize().into() }
}

/// What still holds of what was kept.
pub(super) fn recall<'m>(kept: &'m [u8], key: &Key, files: &Files<'_>, reads_all: bool) -> Option<Past<'m>> {
    let mut from = Decoder::unsealed(kept)?;
    (from.take(MAGIC.len())? == MAGIC.as_bytes() && from.take(32)? == key.rules).then_some(())?;
    let same_view = from.take(32)? == key.view;
    let (made, records) = (from.wide()?.cast_signed(), from.number()?);
    let pack: Vec<Finding> = from.list(|from| {
        let file = from.text()?.to_owned();
        finding(from, &file)
    })?;
    let paths = Paths::take(&mut from)?;
    let one = |from: &mut Decoder<'m>, file: Option<&File<'_>>| {
        let old = Kept::take(from)?;
        Some(file.and_then(|file| judge(old, file, files, made, reads_all)))
    };
    let aligned = paths.align(&files.all, |file| &*file.relative, one)?;
    // What is said of a series depends on the recordings in its folder.
    let is_recording = |(was, file): (&Option<Was<'_>>, &File<'_>)| was.is_none() && file.relative.matches('/').count() > 1;
    if aligned.gone || aligned.kept.iter().zip(&files.all).any(is_recording) {
        return Some(Past::empty(files));
    }
    let same_names = paths.count() == files.all.len();
    let keeps = |was: &Was<'_>| same_names || was.findings == NONE;
    let judged = aligned.kept.into_iter().map(|was| was.filter(keeps)).collect();
    Some(Past { files: judged, records, pack: (same_names && same_view).then_some(pack) })
}

/// What was kept of one file.
struct Kept<'m> {
    stamp: Stamp,
    /// Absent when nothing but its name counts.
    mark: Option<Mark>,
    findings: &'m [u8],
}

impl<'m> Kept<'m> {
    fn take(from: &mut Decoder<'m>) -> Option<Self> {
        let stamp = Stamp::take(from)?;
        let mark = from.maybe(|from| from.take(16)?.try_into().ok())?;
        Some(Kept { stamp, mark, findings: from.bytes()? })
    }
}

fn judge<'m>(old: Kept<'m>, file: &File<'_>, files: &Files<'_>, made: i64, reads_all: bool) -> Option<Was<'m>> {
    let Some(before) = old.mark else {
        return Some(Was { mark: Mark::default(), findings: old.findings, state: State::Same });
    };
    let now = stamp(file);
    if !reads_all && old.stamp == now && now.settled(made) {
        return Some(Was { mark: before, findings: old.findings, state: State::Same });
    }
    let is_same = files.bytes(file).is_ok_and(|bytes| mark(&bytes) == before);
    is_same.then_some(Was { mark: before, findings: old.findings, state: State::SameContent })
}

/// What a check found in one file.
#[derive(Debug)]
pub(super) enum Outcome<'m> {
    /// Only its name counts.
    Named,
    /// It cannot be read, which the next run has to see for itself.
    Unread(Vec<Finding>),
    /// What an earlier run found holds.
    Was(Was<'m>),
    /// Looked at now.
    Fresh(Mark, Vec<Finding>),
}

/// The bytes to be kept of a pack.
pub(super) fn bytes(key: &Key, began: i64, records: usize, pack: &[Finding], files: &Files<'_>, all: &[Outcome<'_>]) -> Vec<u8> {
    let mut to = Encoder(Vec::with_capacity(files.all.len() * 56));
    to.0.extend(MAGIC.as_bytes());
    to.0.extend(key.rules);
    to.0.extend(key.view);
    to.wide(began.cast_unsigned());
    to.number(records as u64);
    to.list(pack, |to, found| {
        to.text(&found.place.file);
        put(to, found);
    });
    let kept: Vec<_> = files.all.iter().zip(all).filter(|(_, outcome)| !matches!(outcome, Outcome::Unread(_))).collect();
    paths::put(
        &mut to,
        &kept,
        |(file, _)| &*file.relative,
        |to, (file, outcome)| {
            stamp(file).put(to);
            let mark = match outcome {
                Outcome::Unread(_) | Outcome::Named => None,
                Outcome::Was(was) => Some(was.mark),
                Outcome::Fresh(mark, _) => Some(*mark),
            };
            to.maybe(mark.as_ref(), |to, mark| to.0.extend(mark));
            match outcome {
                Outcome::Unread(_) | Outcome::Named => to.bytes(NONE),
                Outcome::Was(was) => to.bytes(was.findings),
                Outcome::Fresh(_, found) => to.bytes(&encoded(found)),
            }
        },
    );
    to.sealed()
}

fn encoded(found: &[Finding]) -> Vec<u8> {
    let mut to = Encoder::default();
    to.list(found, put);
    to.0
}

/// The findings of a file, from their bytes.
pub(super) fn findings(bytes: &[u8], file: &str) -> Option<Vec<Finding>> {
    let mut from = Decoder(bytes);
    let found = from.list(|from| finding(from, file))?;
    from.0.is_empty().then_some(found)
}

fn put(to: &mut Encoder, found: &Finding) {
    to.text(found.rule);
    to.0.push(found.severity as u8);
    to.maybe(found.place.span.as_ref(), |to, span| {
        [span.start, span.end, span.line, span.column].iter().for_each(|n| to.number(u64::from(*n)));
    });
    to.text(&found.message);
    for text in [&found.help, &found.subject, &found.excerpt] {
        to.maybe_text(text.as_deref());
    }
}

fn finding(from: &mut Decoder<'_>, file: &str) -> Option<Finding> {
    let rule = rules::doc(from.text()?)?.name;
    let severity = from.byte()?;
    let severity = [Severity::Note, Severity::Warning, Severity::Error].into_iter().find(|s| *s as u8 == severity)?;
    let span = from.maybe(|from| {
        let mut number = || u32::try_from(from.number()?).ok();
        Some(Span { start: number()?, end: number()?, line: number()?, column: number()? })
    })?;
    let message = from.text()?.to_owned();
    let mut text = || Some(from.maybe_text()?.map(String::from));
    Some(Finding {
        rule,
        severity,
        place: Place { file: file.to_owned(), span },
        message,
        help: text()?,
        subject: text()?,
        excerpt: text()?,
    })
}
