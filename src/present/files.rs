//! Files written whole or not at all: a killed or failed write leaves the old file or the new one.

use std::ffi::OsString;
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Writes a file in place of an old one, by a temporary file in the same folder.
///
/// # Errors
/// Whatever the file system says; the temporary file is removed and an old file left as it was.
pub fn replace(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let temporary = beside(path);
    let written = write_through(&temporary, bytes).and_then(|()| fs::rename(&temporary, path));
    if written.is_err() {
        // The first error is the one to tell; a temporary file that was never made cannot be removed.
        let _ = fs::remove_file(&temporary);
        return written;
    }
    settle_folder(path)
}

/// Writes a file that must not exist yet.
///
/// # Errors
/// `AlreadyExists`, or whatever the file system says.
pub fn create(path: &Path, bytes: &[u8]) -> io::Result<()> {
    if path.exists() {
        return Err(io::Error::new(io::ErrorKind::AlreadyExists, "the file exists already"));
    }
    replace(path, bytes)
}

fn write_through(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut file = OpenOptions::new().write(true).create_new(true).open(path)?;
    file.write_all(bytes)?;
    file.sync_all()
}

fn beside(path: &Path) -> PathBuf {
    let mut name = OsString::from(".");
    name.push(path.file_name().unwrap_or_default());
    name.push(format!(".{}.part", std::process::id()));
    path.with_file_name(name)
}

/// Makes the rename last through a power cut, where folders can be synchronised.
fn settle_folder(path: &Path) -> io::Result<()> {
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    match File::open(folder) {
        Ok(folder) => folder.sync_all(),
        // A folder that may be written but not read cannot be synchronised; the file is complete all the same.
        Err(_) => Ok(()),
    }
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
        assert!(replace(&path, b"new").is_err());
        assert_eq!(fs::read(&path).expect("the old file"), b"old");
        fs::remove_dir(beside(&path)).expect("clear");
        replace(&path, b"new").expect("second write");
        assert_eq!(fs::read(&path).expect("the new file"), b"new");
        assert_eq!(fs::read_dir(folder.path()).expect("list").count(), 1);
        assert_eq!(create(&path, b"x").expect_err("exists").kind(), io::ErrorKind::AlreadyExists);
    }
}
