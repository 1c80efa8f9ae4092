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
use crate::finding::{Finding, Location, Severity, Span};
use crate::read::folder::Stamp;
use crate::read::kept::{self, Aligned};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use serde_bytes::Bytes;

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
const FORM: &str = concat!("gripbook findings 4 ", env!("CARGO_PKG_VERSION"), "\n");

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
    pub state: FileStatus,
}

/// How a file stands to what is remembered of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum FileStatus {
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
        let is_new = |was: &Option<Was<'_>>| was.is_some_and(|was| was.state == FileStatus::SameContent);
        files.all.iter().zip(&self.files).any(|(file, was)| is_new(was) && stamp(file).settled(began))
    }
}

/// The encoded findings of a file without any.
pub(super) const NONE: &[u8] = &[0];

fn stamp(file: &File<'_>) -> Stamp {
    match file.content {
        Content::Inside(stamp) => stamp,
        Content::Bytes(_) | Content::Given(_) | Content::Path(_) => Stamp::default(),
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

/// What is kept of a pack.
#[derive(Serialize, Deserialize)]
struct Whole<'m> {
    rules: [u8; 32],
    view: [u8; 32],
    made: i64,
    records: u64,
    /// Findings on the pack as such, with the files they name.
    #[serde(borrow)]
    pack: Vec<(&'m str, KeptFinding<'m>)>,
    files: Vec<KeptFile<'m>>,
}

/// What is kept of one file.
#[derive(Serialize, Deserialize)]
struct KeptFile<'m> {
    path: &'m str,
    stamp: Stamp,
    /// Absent when nothing but its name counts.
    mark: Option<Mark>,
    #[serde(borrow)]
    findings: &'m Bytes,
}

/// A finding without its file.
#[derive(Serialize, Deserialize)]
struct KeptFinding<'m> {
    rule: &'m str,
    severity: Severity,
    span: Option<Span>,
    message: &'m str,
    help: Option<&'m str>,
    subject: Option<&'m str>,
    excerpt: Option<&'m str>,
}

impl<'m> KeptFinding<'m> {
    fn of(found: &'m Finding) -> Self {
        let Finding { rule, severity, place: Location { span, .. }, message, help, subject, excerpt } = found;
        let (help, subject, excerpt) = (help.as_deref(), subject.as_deref(), excerpt.as_deref());
        KeptFinding { rule, severity: *severity, span: *span, message, help, subject, excerpt }
    }
    /// `None` for a rule that this program does not have.
    fn finding(self, file: &str) -> Option<Finding> {
        let place = Location { file: file.to_owned(), span: self.span };
        let own = |text: Option<&str>| text.map(str::to_owned);
        Some(Finding {
            rule: rules::doc(self.rule)?.name,
            severity: self.severity,
            place,
            message: self.message.to_owned(),
            help: own(self.help),
            subject: own(self.subject),
            excerpt: own(self.excerpt),
        })
    }
}

/// What still holds of what was kept.
pub(super) fn recall<'m>(kept: &'m [u8], key: &Key, files: &Files<'_>, reads_all: bool) -> Option<Past<'m>> {
    let Whole { rules, view, made, records, pack, files: old }: Whole<'m> = kept::unseal(FORM, kept)?;
    (rules == key.rules).then_some(())?;
    let pack: Vec<Finding> = pack.into_iter().map(|(file, found)| found.finding(file)).collect::<Option<_>>()?;
    let same_names = old.len() == files.all.len();
    let Aligned { kept, gone } = kept::align(&files.all, |file| &*file.relative, old, |old| old.path);
    let one = |(old, file): (Option<KeptFile<'m>>, &File<'_>)| judge(old?, file, files, made, reads_all);
    let judged: Vec<Option<Was<'m>>> = kept.into_par_iter().zip(&files.all).map(one).collect();
    // What is said of a series depends on the recordings in its folder.
    let is_recording = |(was, file): (&Option<Was<'_>>, &File<'_>)| was.is_none() && file.relative.matches('/').count() > 1;
    if gone || judged.iter().zip(&files.all).any(is_recording) {
        return Some(Past::empty(files));
    }
    let keeps = |was: &Was<'_>| same_names || was.findings == NONE;
    let judged = judged.into_iter().map(|was| was.filter(keeps)).collect();
    Some(Past { files: judged, records, pack: (same_names && view == key.view).then_some(pack) })
}

fn judge<'m>(old: KeptFile<'m>, file: &File<'_>, files: &Files<'_>, made: i64, reads_all: bool) -> Option<Was<'m>> {
    let findings: &'m [u8] = old.findings;
    let Some(before) = old.mark else {
        return Some(Was { mark: Mark::default(), findings, state: FileStatus::Same });
    };
    let now = stamp(file);
    if !reads_all && old.stamp == now && now.settled(made) {
        return Some(Was { mark: before, findings, state: FileStatus::Same });
    }
    let is_same = files.bytes(file).is_ok_and(|bytes| mark(&bytes) == before);
    is_same.then_some(Was { mark: before, findings, state: FileStatus::SameContent })
}

/// What a check found in one file.
#[derive(Debug)]
pub(super) enum FileFindings<'m> {
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
pub(super) fn bytes(
    key: &Key,
    began: i64,
    records: usize,
    pack: &[Finding],
    files: &Files<'_>,
    all: &[FileFindings<'_>],
) -> Vec<u8> {
    let fresh: Vec<Vec<u8>> = all.iter().map(FileFindings::encoded).collect();
    let mut kept = Vec::with_capacity(all.len());
    for ((file, outcome), fresh) in files.all.iter().zip(all).zip(&fresh) {
        let (mark, findings) = match outcome {
            FileFindings::Unread(_) => continue,
            FileFindings::Named => (None, NONE),
            FileFindings::Was(was) => (Some(was.mark), was.findings),
            FileFindings::Fresh(mark, _) => (Some(*mark), &**fresh),
        };
        kept.push(KeptFile { path: &file.relative, stamp: stamp(file), mark, findings: Bytes::new(findings) });
    }
    let pack = pack.iter().map(|found| (&*found.place.file, KeptFinding::of(found))).collect();
    let Key { rules, view } = *key;
    kept::seal(FORM, &Whole { rules, view, made: began, records: records as u64, pack, files: kept })
}

impl FileFindings<'_> {
    /// The bytes of what was found now; none when it is known from before.
    fn encoded(&self) -> Vec<u8> {
        let FileFindings::Fresh(_, found) = self else { return Vec::new() };
        kept::encode(&found.iter().map(KeptFinding::of).collect::<Vec<_>>())
    }
}

/// The findings of a file, from their bytes.
pub(super) fn findings(bytes: &[u8], file: &str) -> Option<Vec<Finding>> {
    kept::decode::<Vec<KeptFinding<'_>>>(bytes)?.into_iter().map(|found| found.finding(file)).collect()
}
