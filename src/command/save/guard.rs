//! What may be written where: nothing over what somebody else wrote, and no result over a file of a pack.

use super::{Over, PlannedWrite, journal, ledger, seal};
use crate::command::{Context, Fault};
use gripbook::book::{PACK_FILE, kinds};
use gripbook::read::digest::sha256;
use std::ffi::OsStr;
use std::fs;
use std::path::{Path, PathBuf};

/// A file with its place on the disk.
pub(super) struct Target {
    /// As the user names it.
    pub shown: PathBuf,
    /// Without links.
    pub to: PathBuf,
    /// Folder that it is written from.
    pub root: PathBuf,
    pub bytes: Vec<u8>,
    /// Digest of the file that is replaced.
    pub was: Option<String>,
    /// Whether it is a result of the program, which it may replace the next time.
    pub own: bool,
    /// Whether the file has this content already.
    pub is_there: bool,
}

/// The place of a file, when it may be written there.
pub(super) fn target(file: PlannedWrite, context: &Context) -> Result<Target, Fault> {
    let PlannedWrite { path: shown, bytes, over } = file;
    let failed = |e: std::io::Error| Fault::environment(format!("{}: {e}", shown.display()));
    let to = resolved(&context.folder.join(&shown)).map_err(failed)?;
    let old = match fs::metadata(&to) {
        Ok(data) if !data.is_file() => {
            return Err(
                Fault::usage(format!("{} is no plain file and is not replaced", shown.display())).help("name another file")
            );
        }
        Ok(_) => Some(fs::read(&to).map_err(failed)?),
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => None,
        Err(e) => return Err(failed(e)),
    };
    let home = pack_of(&to);
    let is_there = old.as_ref() == Some(&bytes);
    let was = old.as_deref().map(sha256);
    let is_own = matches!(over, Over::Own);
    match (&over, &was) {
        (Over::Own, _) => {
            if let Some(pack) = home.as_deref().filter(|pack| belongs_to(pack, &to, was.is_some())) {
                let message = format!(
                    "{} belongs to the records of the pack {}: no result is written there",
                    shown.display(),
                    pack.display()
                );
                return Err(
                    Fault::usage(message).help("name a file outside of the folders of records; --force does not change this")
                );
            }
            let is_sealed = || old.as_deref().is_some_and(seal::is_whole);
            let known = was.as_ref().is_none_or(|digest| is_sealed() || ledger::knows(context.cache.as_deref(), &to, digest));
            if !known && !is_there && !context.force {
                let message = format!("{} exists, and not as gripbook wrote it: it is not replaced", shown.display());
                return Err(Fault::usage(message).help("choose another name, or replace it with --force"));
            }
        }
        (Over::Nothing, Some(_)) => {
            let message = format!("{} exists and is not replaced", shown.display());
            return Err(Fault::usage(message).help("choose another name"));
        }
        (Over::Read(read), _) if old.as_ref() != Some(read) => {
            let message = format!("{} changed in the meantime; nothing was written", shown.display());
            return Err(Fault::environment(message).help("run the command again"));
        }
        _ => {}
    }
    let root = root(&to, home, context).map_err(failed)?;
    Ok(Target { shown, to, root, bytes, was, own: is_own, is_there })
}

/// The path without links, whether or not the file and its last folders exist.
fn resolved(path: &Path) -> std::io::Result<PathBuf> {
    match fs::canonicalize(path) {
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => {}
        found => return found,
    }
    let (Some(folder), Some(name)) = (path.parent(), path.file_name()) else {
        return Err(std::io::ErrorKind::InvalidInput.into());
    };
    Ok(resolved(folder)?.join(name))
}

/// The nearest pack above a file.
fn pack_of(file: &Path) -> Option<PathBuf> {
    file.ancestors().skip(1).find(|folder| folder.join(PACK_FILE).is_file()).map(Path::to_path_buf)
}

/// Whether a file is, or would be taken for, one that the pack consists of.
fn belongs_to(pack: &Path, file: &Path, exists: bool) -> bool {
    let Ok(inside) = file.strip_prefix(pack) else { return false };
    let first = inside.components().next().map(|c| c.as_os_str()).and_then(OsStr::to_str).unwrap_or_default();
    let is_yaml = inside.extension().is_some_and(|e| e == "yaml" || e == "yml");
    let is_kept = first == "schemas" || kinds::folders().any(|folder| folder == first);
    inside == Path::new(PACK_FILE) || is_yaml && inside.components().count() > 1 || is_kept && exists
}

/// The folder a file is written from: its pack, or the folder stood in, where these are on the same disk and can be written to;
/// else the nearest one above it.
fn root(to: &Path, pack: Option<PathBuf>, context: &Context) -> std::io::Result<PathBuf> {
    let nearest = to.ancestors().skip(1).find(|folder| folder.is_dir()).unwrap_or(Path::new("/"));
    let here = fs::canonicalize(&context.folder).ok().filter(|here| to.starts_with(here));
    let wider = pack.or(here).filter(|root| same_disk(root, nearest) && journal::can_write(root));
    Ok(wider.unwrap_or_else(|| nearest.to_path_buf()))
}

#[cfg(unix)]
fn same_disk(a: &Path, b: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let disk = |path: &Path| fs::metadata(path).map(|data| data.dev()).ok();
    disk(a) == disk(b)
}

#[cfg(not(unix))]
fn same_disk(a: &Path, b: &Path) -> bool {
    a == b
}
