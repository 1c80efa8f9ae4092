//! Several files put in their places as one: staged beside their places, sealed by a journal, then named one by one. A run that
//! is killed before the seal wrote nothing; one killed behind it is ended by the next start.
//!
//! A pack may come from a stranger, so a journal is believed only for plain files below its own folder, outside of `.git`.

use super::interrupt::Shield;
use gripbook::read::digest::sha256;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{self, ErrorKind, Write};
use std::path::{Component, Path, PathBuf};
use std::time::{Duration, Instant};

/// Folder of staged files. The dot keeps it out of every listing of records.
pub(super) const STAGING: &str = ".gripbook-write";
const JOURNAL: &str = "journal";
const UNSEALED: &str = "journal.new";
/// How long a start waits for a run that is writing.
const PATIENCE: Duration = Duration::from_secs(5);

/// A file to be written.
pub(super) struct JournalEntry {
    /// Its place, below the root and without links.
    pub to: PathBuf,
    pub bytes: Vec<u8>,
    /// Digest of the file it replaces; nothing may stand there without.
    pub was: Option<String>,
}

/// Why a write did not come about.
pub(super) enum Trouble {
    /// Nothing was written.
    Failed(PathBuf, io::Error),
    /// Somebody else changed the file; nothing was written.
    Changed(PathBuf),
    /// Some files are written; the next start writes the rest.
    Unfinished(PathBuf, io::Error),
}

#[derive(Serialize, Deserialize)]
struct JournalLine {
    to: PathBuf,
    was: Option<String>,
}

/// Whether files can be staged in a folder.
pub(super) fn can_write(root: &Path) -> bool {
    // Asked of the disk itself: rights, mounts and quotas all have a say.
    let place = root.join(STAGING);
    match fs::create_dir(&place) {
        Ok(()) => fs::remove_dir(&place).is_ok(),
        Err(e) => e.kind() == ErrorKind::AlreadyExists,
    }
}

/// Holds the root against other runs, where the system can; `None` when another run has it for too long.
fn hold(root: &Path, patience: Duration) -> Option<Option<File>> {
    let Ok(folder) = File::open(root) else { return Some(None) };
    let start = Instant::now();
    loop {
        match folder.try_lock() {
            Ok(()) => return Some(Some(folder)),
            Err(fs::TryLockError::WouldBlock) if start.elapsed() < patience => std::thread::sleep(Duration::from_millis(10)),
            Err(fs::TryLockError::WouldBlock) => return None,
            // Some file systems lock no folders; there runs that meet are told apart by the staging folder alone.
            Err(fs::TryLockError::Error(_)) => return Some(None),
        }
    }
}

/// Makes sure that names outlive a power cut, where the platform can.
fn settle(folder: &Path) {
    // Some file systems refuse to sync a folder; the files themselves are safe by then.
    let _ = File::open(folder).and_then(|f| f.sync_all());
}

fn stage(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = File::create_new(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

/// Writes all entries below a root, or none.
pub(super) fn write(root: &Path, entries: &[JournalEntry]) -> Result<(), Trouble> {
    let Some(first) = entries.first() else { return Ok(()) };
    let shield = Shield::new();
    let busy = || io::Error::new(ErrorKind::WouldBlock, "another run is writing here");
    let _held = hold(root, PATIENCE).ok_or_else(|| failed(&first.to)(busy()))?;
    mend(root).map_err(failed(&first.to))?;
    let staging = root.join(STAGING);
    make(root, &staging).map_err(failed(&first.to))?;
    let prepared = prepare(root, &staging, entries);
    let stopped = shield.is_asked_to_stop();
    let lines = match prepared {
        Ok(lines) if !stopped => lines,
        other => {
            // The half-staged files are of no use to anyone; what cannot be removed now the next start removes.
            let _ = fs::remove_dir_all(&staging);
            return other.and_then(|_| Err(failed(&first.to)(ErrorKind::Interrupted.into())));
        }
    };
    // Once more: a disk that fails once may do its work the second time.
    match apply(root, &staging, &lines).or_else(|_| apply(root, &staging, &lines)) {
        Ok(changed) => changed.into_iter().next().map_or(Ok(()), |path| Err(Trouble::Changed(path))),
        Err((0, path, e)) if unseal(&staging) => Err(failed(&path)(e)),
        Err((_, path, e)) => Err(Trouble::Unfinished(path, e)),
    }
}

/// Makes the staging folder; another run may just be asking the disk whether it could.
fn make(root: &Path, staging: &Path) -> io::Result<()> {
    for _ in 0..20 {
        match fs::create_dir(staging) {
            Err(e) if e.kind() == ErrorKind::AlreadyExists => std::thread::sleep(Duration::from_millis(5)),
            other => return other,
        }
        mend(root)?;
    }
    fs::create_dir(staging)
}

/// Takes a write back of which no file is in its place yet.
fn unseal(staging: &Path) -> bool {
    fs::remove_file(staging.join(JOURNAL)).is_ok() && {
        let _ = fs::remove_dir_all(staging);
        true
    }
}

fn failed(path: &Path) -> impl FnOnce(io::Error) -> Trouble {
    let path = path.to_owned();
    |e| Trouble::Failed(path, e)
}

/// Stages every file and seals the journal.
fn prepare(root: &Path, staging: &Path, entries: &[JournalEntry]) -> Result<Vec<JournalLine>, Trouble> {
    let mut lines = Vec::new();
    for (at, entry) in entries.iter().enumerate() {
        let now = there(&entry.to).map_err(failed(&entry.to))?;
        if now.as_deref().map(sha256) != entry.was {
            return Err(Trouble::Changed(entry.to.clone()));
        }
        let place = staging.join(at.to_string());
        stage(&place, &entry.bytes).map_err(failed(&entry.to))?;
        if now.is_some() {
            let rights = fs::metadata(&entry.to).map_err(failed(&entry.to))?.permissions();
            fs::set_permissions(&place, rights).map_err(failed(&entry.to))?;
        }
        let inside = entry.to.strip_prefix(root).map_err(|e| failed(&entry.to)(io::Error::other(e)))?;
        lines.push(JournalLine { to: inside.to_owned(), was: entry.was.clone() });
    }
    let to = entries.first().map_or(root, |e| &e.to);
    let text = serde_json::to_vec(&lines).map_err(|e| failed(to)(io::Error::other(e)))?;
    stage(&staging.join(UNSEALED), &text).map_err(failed(to))?;
    settle(staging);
    fs::rename(staging.join(UNSEALED), staging.join(JOURNAL)).map_err(failed(to))?;
    settle(staging);
    settle(root);
    Ok(lines)
}

/// The content of a file, if there is one.
fn there(path: &Path) -> io::Result<Option<Vec<u8>>> {
    match fs::read(path) {
        Ok(bytes) => Ok(Some(bytes)),
        Err(e) if e.kind() == ErrorKind::NotFound => Ok(None),
        Err(e) => Err(e),
    }
}

/// Puts staged files in their places; those that are there already are done. Gives the files that somebody else changed, or
/// how many were put in place, where it failed, and why.
fn apply(root: &Path, staging: &Path, lines: &[JournalLine]) -> Result<Vec<PathBuf>, (usize, PathBuf, io::Error)> {
    let mut changed = Vec::new();
    let mut folders = BTreeSet::new();
    for (at, line) in lines.iter().enumerate() {
        let to = root.join(&line.to);
        match put(&staging.join(at.to_string()), &to, line.was.as_deref()) {
            Ok(true) => {}
            Ok(false) => changed.push(to.clone()),
            Err(e) => {
                let done = (0..lines.len()).filter(|n| !staging.join(n.to_string()).exists()).count();
                return Err((done, to, e));
            }
        }
        folders.extend(to.parent().map(Path::to_path_buf));
    }
    folders.iter().for_each(|folder| settle(folder));
    fs::remove_file(staging.join(JOURNAL)).map_err(|e| (lines.len(), staging.to_owned(), e))?;
    // Without its journal the folder is litter, which the next start removes where this one cannot.
    let _ = fs::remove_dir_all(staging);
    Ok(changed)
}

/// Gives a staged file its name; `false` when something else stands there.
fn put(staged: &Path, to: &Path, was: Option<&str>) -> io::Result<bool> {
    let Some(bytes) = there(staged)? else { return Ok(true) };
    if let Some(folder) = to.parent() {
        fs::create_dir_all(folder)?;
    }
    let now = there(to)?;
    if now.as_ref() == Some(&bytes) {
        return fs::remove_file(staged).map(|()| true);
    }
    if now.as_deref().map(sha256).as_deref() != was {
        return Ok(false);
    }
    if was.is_some() {
        return fs::rename(staged, to).map(|()| true);
    }
    // A hard link fails where the name exists, which a rename would not.
    match fs::hard_link(staged, to) {
        Ok(()) => fs::remove_file(staged).map(|()| true),
        Err(e) if e.kind() == ErrorKind::AlreadyExists => Ok(false),
        Err(_) => fs::rename(staged, to).map(|()| true),
    }
}

/// Whether a path of a journal may be written: below the root, through no link, and not into the history of the records.
fn is_trusted(root: &Path, inside: &Path) -> bool {
    let plain = inside.components().all(|c| matches!(c, Component::Normal(name) if !name.eq_ignore_ascii_case(".git")));
    let is_link = |path: &Path| fs::symlink_metadata(root.join(path)).is_ok_and(|data| data.is_symlink());
    plain && inside.file_name().is_some() && !inside.ancestors().any(is_link)
}

/// Ends or takes back a write that was cut short. The root is held.
fn mend(root: &Path) -> io::Result<Vec<String>> {
    let staging = root.join(STAGING);
    let data = match fs::symlink_metadata(&staging) {
        Err(e) if e.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        other => other?,
    };
    let _shield = Shield::new();
    let sealed = if data.is_dir() { there(&staging.join(JOURNAL))? } else { None };
    let lines: Vec<JournalLine> = sealed.and_then(|text| serde_json::from_slice(&text).ok()).unwrap_or_default();
    let is_plain = |at: usize| fs::symlink_metadata(staging.join(at.to_string())).map_or(true, |data| data.is_file());
    if lines.is_empty() || !lines.iter().enumerate().all(|(at, line)| is_plain(at) && is_trusted(root, &line.to)) {
        if data.is_dir() {
            fs::remove_dir_all(&staging)?
        } else {
            fs::remove_file(&staging)?
        }
        return Ok(Vec::new());
    }
    let changed =
        apply(root, &staging, &lines).map_err(|(_, path, e)| io::Error::new(e.kind(), format!("{}: {e}", path.display())))?;
    let kept = |path: &PathBuf| format!("{} was changed after an interrupted write and stays as it is", path.display());
    Ok(changed.iter().map(kept).collect())
}

/// Ends or takes back what a killed run left below a root; gives what there is to tell.
pub(super) fn recover(root: &Path) -> Vec<String> {
    if !root.join(STAGING).exists() {
        return Vec::new();
    }
    let Some(_held) = hold(root, PATIENCE) else { return vec![format!("{}: another run is writing here", root.display())] };
    mend(root).unwrap_or_else(|e| vec![format!("{}: an interrupted write cannot be ended: {e}", root.display())])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(to: PathBuf, text: &str, was: Option<&str>) -> JournalEntry {
        JournalEntry { to, bytes: text.into(), was: was.map(|w| sha256(w.as_bytes())) }
    }

    fn names(folder: &Path) -> Vec<String> {
        let all = fs::read_dir(folder).expect("a folder").flatten();
        let mut all: Vec<String> = all.map(|e| e.file_name().to_string_lossy().into_owned()).collect();
        all.sort();
        all
    }

    #[test]
    fn all_or_none_and_no_litter() {
        let folder = tempfile::tempdir().expect("a folder");
        let root = fs::canonicalize(folder.path()).expect("a path");
        fs::write(root.join("a"), "old").expect("a file");
        let both = [entry(root.join("a"), "new", Some("old")), entry(root.join("sub/b"), "b", None)];
        assert!(write(&root, &both).is_ok());
        assert_eq!(fs::read(root.join("a")).expect("a"), b"new");
        assert_eq!(names(&root), ["a", "sub"]);
        // Somebody else's file in one place: the other one is not written either.
        let again = [entry(root.join("a"), "newer", Some("new")), entry(root.join("sub/b"), "c", None)];
        assert!(matches!(write(&root, &again), Err(Trouble::Changed(path)) if path.ends_with("b")));
        assert_eq!(fs::read(root.join("a")).expect("a"), b"new");
        assert_eq!(names(&root), ["a", "sub"]);
    }

    /// Killed before the seal: taken back. Killed behind it: ended, whatever was put in place by then.
    #[test]
    fn the_next_start_mends() {
        for done in 0..=2 {
            let folder = tempfile::tempdir().expect("a folder");
            let root = fs::canonicalize(folder.path()).expect("a path");
            fs::write(root.join("a"), "old").expect("a file");
            let both = [entry(root.join("a"), "new", Some("old")), entry(root.join("b"), "b", None)];
            let staging = root.join(STAGING);
            fs::create_dir(&staging).expect("a folder");
            let lines = prepare(&root, &staging, &both).ok().expect("sealed");
            for (at, line) in lines.iter().enumerate().take(done) {
                assert!(put(&staging.join(at.to_string()), &root.join(&line.to), line.was.as_deref()).expect("put"));
            }
            assert!(recover(&root).is_empty());
            assert_eq!((fs::read(root.join("a")).expect("a"), names(&root)), (b"new".to_vec(), vec!["a".into(), "b".into()]));
            fs::create_dir(&staging).expect("a folder");
            fs::write(staging.join("0"), "half").expect("a file");
            assert!(recover(&root).is_empty());
            assert_eq!(names(&root), ["a", "b"]);
        }
    }

    /// A pack of a stranger may hold a journal: it reaches nothing outside of its own folder, nor the history in it.
    #[test]
    fn a_forged_journal_reaches_nothing() {
        for to in ["../out", "/tmp/gripbook-forged", ".git/hooks/post-checkout", "link/x", "", "a/../../out"] {
            let outer = tempfile::tempdir().expect("a folder");
            let root = fs::canonicalize(outer.path()).expect("a path").join("pack");
            fs::create_dir_all(root.join(STAGING)).expect("a folder");
            fs::create_dir_all(outer.path().join("elsewhere")).expect("a folder");
            #[cfg(unix)]
            std::os::unix::fs::symlink(outer.path().join("elsewhere"), root.join("link")).expect("a link");
            let lines = serde_json::json!([{"to": to, "was": null}]);
            fs::write(root.join(STAGING).join(JOURNAL), lines.to_string()).expect("a file");
            fs::write(root.join(STAGING).join("0"), "forged").expect("a file");
            assert!(recover(&root).is_empty(), "{to}");
            assert_eq!(names(outer.path()), ["elsewhere", "pack"], "{to}");
            assert!(names(&outer.path().join("elsewhere")).is_empty() && !root.join(".git").exists(), "{to}");
            assert!(!Path::new("/tmp/gripbook-forged").exists());
            assert!(!root.join(STAGING).exists(), "{to}");
        }
    }

    /// What somebody wrote after a kill stays.
    #[test]
    fn a_later_change_of_the_user_stays() {
        let folder = tempfile::tempdir().expect("a folder");
        let root = fs::canonicalize(folder.path()).expect("a path");
        fs::write(root.join("a"), "old").expect("a file");
        let staging = root.join(STAGING);
        fs::create_dir(&staging).expect("a folder");
        assert!(prepare(&root, &staging, &[entry(root.join("a"), "new", Some("old"))]).is_ok());
        fs::write(root.join("a"), "mine").expect("a file");
        assert_eq!(recover(&root).len(), 1);
        assert_eq!((fs::read(root.join("a")).expect("a"), names(&root)), (b"mine".to_vec(), vec!["a".to_owned()]));
    }
}
