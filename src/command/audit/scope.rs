//! Which records findings are wanted of.

use super::AuditArgs;
use crate::command::{Context, Fault, Shared};
use gripbook::book::{Book, PackRoot, Record, standing_in};
use std::path::{Path, PathBuf};

/// The records of an audit.
pub(super) enum Scope {
    /// Those of these packs.
    Packs(Vec<usize>),
    /// Those whose file is one of these or in one of these folders.
    Paths(Vec<PathBuf>, Box<Context>),
}

impl Scope {
    pub fn holds(&self, record: &Record) -> bool {
        match self {
            Scope::Packs(places) => places.contains(&record.pack),
            Scope::Paths(paths, context) => {
                on_disk(record, context).is_some_and(|file| paths.iter().any(|p| file.starts_with(p)))
            }
        }
    }
}

/// The whole path of a record's file; `None` for embedded ones.
fn on_disk(record: &Record, context: &Context) -> Option<PathBuf> {
    std::fs::canonicalize(context.folder.join(&*record.file)).ok()
}

/// The shared options with the packs of the named paths added, so that references are resolved.
pub(super) fn with_homes(args: &AuditArgs, shared: &Shared, context: &Context) -> Result<Shared, Fault> {
    let mut shared = shared.clone();
    let stood_in = standing_in(&context.folder, context.home.as_deref()).and_then(|p| std::fs::canonicalize(p).ok());
    for path in &args.paths {
        let whole = std::fs::canonicalize(context.folder.join(path))
            .map_err(|e| Fault::data(format!("{}: {e}", path.display())).help("name files or folders that exist"))?;
        let folder = if whole.is_dir() { whole.as_path() } else { whole.parent().unwrap_or(Path::new("/")) };
        let Some(home) = standing_in(folder, context.home.as_deref()) else {
            return Err(Fault::data(format!("{} does not belong to a pack", path.display()))
                .help("a pack is a folder with a pack.yaml in it"));
        };
        let known = |p: &String| std::fs::canonicalize(context.folder.join(p)).ok().as_ref() == Some(&home);
        if stood_in.as_ref() != Some(&home) && !shared.pack.iter().any(known) {
            shared.pack.push(shorter(&home, &context.folder));
        }
    }
    Ok(shared)
}

/// A folder as seen from where one stands, where it lies below.
fn shorter(home: &Path, here: &Path) -> String {
    let here = std::fs::canonicalize(here).unwrap_or_else(|_| here.to_path_buf());
    let below = home.strip_prefix(here).ok().filter(|p| !p.as_os_str().is_empty());
    below.unwrap_or(home).to_string_lossy().into_owned()
}

/// Without paths: the pack one stands in, else the packs named, else the built-in one.
pub(super) fn of(paths: &[PathBuf], book: &Book, shared: &Shared, context: &Context) -> Scope {
    if !paths.is_empty() {
        let whole = paths.iter().filter_map(|p| std::fs::canonicalize(context.folder.join(p)).ok()).collect();
        return Scope::Paths(whole, Box::new(context.clone()));
    }
    let places = |wanted: &dyn Fn(&PackRoot) -> bool| -> Vec<usize> {
        book.packs().iter().enumerate().filter(|(_, p)| wanted(&p.root)).map(|(i, _)| i).collect()
    };
    let stood_in = places(&|r| matches!(r, PackRoot::Folder { stood_in: true, .. }));
    if !stood_in.is_empty() {
        return Scope::Packs(stood_in);
    }
    if !shared.pack.is_empty() {
        return Scope::Packs(places(&|r| *r != PackRoot::BuiltIn));
    }
    Scope::Packs(places(&|r| *r == PackRoot::BuiltIn))
}
