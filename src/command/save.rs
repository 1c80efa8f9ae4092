//! Writing files: the old content or the new one, never half of it.

use super::Fault;
use std::fs::{self, File, OpenOptions};
use std::io::Write;
use std::path::{Path, PathBuf};

fn failed(path: &Path, error: &std::io::Error) -> Fault {
    Fault::environment(format!("{}: {error}", path.display()))
}

/// A name beside the file that nothing else uses.
fn beside(path: &Path) -> PathBuf {
    let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
    path.with_file_name(format!(".{name}.{}.part", std::process::id()))
}

/// Makes sure a rename outlives a power cut, where the platform can.
fn settle_folder(path: &Path) {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    // Some file systems refuse to sync a folder; the file itself is safe by then.
    let _ = File::open(folder).and_then(|f| f.sync_all());
}

fn written(path: &Path, put: impl FnOnce(&mut File) -> std::io::Result<()>) -> Result<PathBuf, Fault> {
    if let Some(folder) = path.parent().filter(|p| !p.as_os_str().is_empty()) {
        fs::create_dir_all(folder).map_err(|e| failed(folder, &e))?;
    }
    let part = beside(path);
    let done = OpenOptions::new().write(true).create(true).truncate(true).open(&part).and_then(|mut file| {
        put(&mut file)?;
        file.sync_all()
    });
    if let Err(error) = done {
        // The half-written part is of no use to anyone.
        let _ = fs::remove_file(&part);
        return Err(failed(path, &error));
    }
    Ok(part)
}

/// Writes a file whole or not at all; an existing one is replaced.
///
/// # Errors
/// Exit 4 with the reason; the old file stays.
pub fn replace(path: &Path, bytes: &[u8]) -> Result<(), Fault> {
    let part = written(path, |f| f.write_all(bytes))?;
    if let Err(error) = fs::rename(&part, path) {
        let _ = fs::remove_file(&part);
        return Err(failed(path, &error));
    }
    settle_folder(path);
    Ok(())
}

/// Writes the JSON of an answer to a file, where one is asked for.
///
/// # Errors
/// As [`replace`].
pub fn sheet(path: Option<&Path>, answer: &dyn crate::present::Answer, context: &super::Context) -> Result<(), Fault> {
    let Some(path) = path else { return Ok(()) };
    let stamp = crate::present::Stamp { command: context.command_line.clone() };
    replace(path, crate::present::document(answer, &stamp).as_bytes())
}

/// Whether something has this name; what the disk cannot tell is an error, and never a free name.
///
/// # Errors
/// Exit 4 with the reason.
pub fn exists(path: &Path) -> Result<bool, Fault> {
    path.try_exists().map_err(|e| Fault::environment(format!("{}: {e}", path.display())))
}

/// Copies a file whole or not at all; one that exists is never replaced.
///
/// # Errors
/// Exit 4 with the reason.
pub fn copy_new(from: &Path, to: &Path) -> Result<(), Fault> {
    let part = written(to, |f| {
        let mut source = File::open(from)?;
        std::io::copy(&mut source, f).map(|_| ())
    })?;
    named_new(part, to)
}

/// Writes a new file whole or not at all; one that exists is never replaced.
///
/// # Errors
/// Exit 4 with the reason.
pub fn create(path: &Path, bytes: &[u8]) -> Result<(), Fault> {
    let part = written(path, |f| f.write_all(bytes))?;
    named_new(part, path)
}

/// Gives a file that is written its name, if nothing has it.
fn named_new(part: PathBuf, to: &Path) -> Result<(), Fault> {
    // A hard link fails where the name exists, which a rename would not.
    let linked = fs::hard_link(&part, to).or_else(|e| match e.kind() {
        std::io::ErrorKind::AlreadyExists => Err(e),
        _ if to.try_exists()? => Err(std::io::Error::from(std::io::ErrorKind::AlreadyExists)),
        _ => fs::rename(&part, to),
    });
    let _ = fs::remove_file(&part);
    linked.map_err(|e| failed(to, &e))?;
    settle_folder(to);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_failed_write_leaves_the_old_file_and_no_litter() {
        let folder = tempfile::tempdir().expect("a scratch folder");
        let path = folder.path().join("a.txt");
        replace(&path, b"old").expect("first write");
        // A folder where the temporary file should go makes the write fail.
        fs::create_dir(beside(&path)).expect("an obstacle");
        assert_eq!(replace(&path, b"new").expect_err("refused").exit, 4);
        assert_eq!(fs::read(&path).expect("the old file"), b"old");
        fs::remove_dir(beside(&path)).expect("clear");
        replace(&path, b"new").expect("second write");
        assert_eq!(fs::read(&path).expect("the new file"), b"new");
        assert_eq!(fs::read_dir(folder.path()).expect("list").count(), 1);
    }
}
