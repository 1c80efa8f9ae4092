//! Writing files: everything a command writes, or nothing; and nothing over what somebody else wrote.
//!
//! A command collects what it writes in a [`Batch`]. A result (a sheet, a plot, an export) takes a name that is free or holds
//! what the program itself wrote: that is told by a seal in the file, or for tables, which have no room for one, by a note in the
//! cache folder. `--force` replaces any other file, but never one of a pack. A record is changed only while it is as it was read.

mod guard;
mod interrupt;
mod journal;
mod ledger;
mod seal;

use super::{Context, Fault};
use gripbook::present::{Answer, Stamp, document};
use gripbook::read::digest::sha256;
use guard::Target;
use std::path::{Path, PathBuf};

/// What a file may take the place of.
enum Over {
    /// Nothing: the name has to be free.
    Nothing,
    /// The file as it was read.
    Read(Vec<u8>),
    /// What the program itself wrote there.
    Own,
}

struct PlannedWrite {
    path: PathBuf,
    bytes: Vec<u8>,
    over: Over,
}

/// The files of one command, written together.
#[derive(Default)]
pub struct Batch {
    files: Vec<PlannedWrite>,
}

impl Batch {
    /// A result of the command.
    pub fn output<B: Into<Vec<u8>>>(&mut self, path: &Path, bytes: B) {
        self.add(path, seal::sealed(bytes.into()), Over::Own);
    }
    /// A result whose bytes are set by somebody else, such as a schema.
    pub fn exact<B: Into<Vec<u8>>>(&mut self, path: &Path, bytes: B) {
        self.add(path, bytes.into(), Over::Own);
    }
    /// A file under a name that has to be free.
    pub fn create(&mut self, path: &Path, bytes: impl Into<Vec<u8>>) {
        self.add(path, bytes.into(), Over::Nothing);
    }
    /// A file that takes the place of what was read as `old`.
    pub fn edit(&mut self, path: &Path, old: impl Into<Vec<u8>>, bytes: impl Into<Vec<u8>>) {
        self.add(path, bytes.into(), Over::Read(old.into()));
    }
    /// The JSON of an answer, where a file is named for it.
    pub fn sheet(&mut self, path: Option<&Path>, answer: &dyn Answer, context: &Context) {
        let stamp = Stamp { command: context.command_line.clone() };
        path.into_iter().for_each(|path| self.output(path, document(answer, &stamp)));
    }
    fn add(&mut self, path: &Path, bytes: Vec<u8>, over: Over) {
        self.files.push(PlannedWrite { path: path.to_owned(), bytes, over });
    }
    /// Writes all files, or none. Files of several packs or disks are whole for each of these by itself.
    ///
    /// # Errors
    /// Exit 2 for a file that must not be replaced, exit 4 with the path and the reason; all old files stay.
    pub fn commit(self, context: &Context) -> Result<(), Fault> {
        if let Some(handed) = &context.handed {
            let mut handed = handed.lock().map_err(|_| Fault::environment("a result is lost: the one before it broke off"))?;
            handed.extend(self.files.into_iter().map(|file| (file.path, file.bytes)));
            return Ok(());
        }
        let mut targets: Vec<Target> = Vec::new();
        for file in self.files {
            let target = guard::target(file, context)?;
            if targets.iter().any(|other| other.to == target.to) {
                let message = format!("two results of one command would go to {}", target.shown.display());
                return Err(Fault::usage(message).help("give each a name of its own"));
            }
            targets.push(target);
        }
        targets.retain(|target| !target.is_there);
        let own: Vec<(PathBuf, String)> = targets.iter().filter(|t| t.own).map(|t| (t.to.clone(), sha256(&t.bytes))).collect();
        let mut rest = targets;
        while let Some(first) = rest.first() {
            let root = first.root.clone();
            let (group, others) = rest.into_iter().partition(|t| t.root == root);
            write(&root, group)?;
            rest = others;
        }
        own.iter().for_each(|(path, digest)| ledger::remember(context.cache.as_deref(), path, digest));
        Ok(())
    }
}

fn write(root: &Path, group: Vec<Target>) -> Result<(), Fault> {
    let shown = |path: &Path| group.iter().find(|t| t.to == path).map_or(path, |t| t.shown.as_path()).display().to_string();
    let entries: Vec<journal::JournalEntry> =
        group.iter().map(|t| journal::JournalEntry { to: t.to.clone(), bytes: t.bytes.clone(), was: t.was.clone() }).collect();
    journal::write(root, &entries).map_err(|trouble| match trouble {
        journal::Trouble::Failed(path, e) => Fault::environment(format!("{}: {e}", shown(&path))),
        journal::Trouble::Changed(path) => {
            Fault::environment(format!("{} changed in the meantime; nothing was written", shown(&path)))
                .help("run the command again")
        }
        journal::Trouble::Unfinished(path, e) => Fault::environment(format!("{}: {e}", shown(&path)))
            .help("some of the files are written; the next start of gripbook here writes the rest"),
    })
}

/// Ends or takes back what a killed run left half-written: in the folder stood in, its pack, and the places named.
pub fn recover(named: &[PathBuf], context: &Context) {
    let mut roots: Vec<PathBuf> = Vec::new();
    for place in std::iter::once(&context.folder).chain(named) {
        let Ok(whole) = std::fs::canonicalize(context.folder.join(place)) else { continue };
        let above = gripbook::book::standing_in(&whole, context.home.as_deref());
        roots.extend(above.into_iter().chain([whole]).filter(|root| !roots.contains(root)).collect::<Vec<_>>());
    }
    for root in roots {
        for line in journal::recover(&root) {
            gripbook::present::writer::notice(&format!("note: {line}"));
        }
    }
}

/// Whether something has this name; what the disk cannot tell is an error, and never a free name.
///
/// # Errors
/// Exit 4 with the reason.
pub fn exists(path: &Path) -> Result<bool, Fault> {
    path.try_exists().map_err(|e| Fault::environment(format!("{}: {e}", path.display())))
}
