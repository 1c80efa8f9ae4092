//! Opening a file that strangers may have made: regular files only, no symbolic links, no hang on
//! a pipe, no half-written content.

use std::fs::{File, Metadata, OpenOptions};
use std::io::Read;
use std::path::Path;

use super::{FILE_LIMIT, Fault, TOP};

/// The fault of what cannot be read or listed.
pub const UNREADABLE: &str = "file-unreadable";

/// How often a file that changes while it is read is tried before it is reported.
const TRIES: usize = 4;

/// Reads a whole regular file of at most [`FILE_LIMIT`] bytes.
///
/// # Errors
/// `file-symlink`, `file-not-regular`, `file-too-large`, `file-changed`, `file-unreadable`.
pub fn load(path: &Path) -> Result<Vec<u8>, Fault> {
    load_at_most(path, FILE_LIMIT)
}

/// As [`load`], with another limit in bytes.
///
/// # Errors
/// As [`load`].
pub fn load_at_most(path: &Path, limit: u64) -> Result<Vec<u8>, Fault> {
    for _ in 0..TRIES {
        let mut file = open(path)?;
        let before = file.metadata().map_err(|e| unreadable(&e))?;
        regular(&before, limit)?;
        let mut bytes = Vec::with_capacity(usize::try_from(before.len()).unwrap_or(0) + 1);
        file.by_ref().take(limit + 1).read_to_end(&mut bytes).map_err(|e| unreadable(&e))?;
        let after = file.metadata().map_err(|e| unreadable(&e))?;
        if bytes.len() as u64 == after.len() && same_state(&before, &after) {
            return Ok(bytes);
        }
        regular(&after, limit)?;
    }
    Err(fault("file-changed", "the file kept changing while it was read", "try again when nothing writes to it"))
}

/// Opens without following a link and without waiting for the other end of a pipe.
fn open(path: &Path) -> Result<File, Fault> {
    let metadata = std::fs::symlink_metadata(path).map_err(|e| unreadable(&e))?;
    if metadata.file_type().is_symlink() {
        return Err(symlink());
    }
    // Looked at before opening, because opening a device can have effects of its own.
    regular(&metadata, u64::MAX)?;
    let mut options = OpenOptions::new();
    options.read(true);
    #[cfg(unix)]
    {
        use std::os::unix::fs::OpenOptionsExt;
        // A pipe or link put there since the look above must neither block nor be followed.
        options.custom_flags(libc::O_NONBLOCK | libc::O_NOFOLLOW);
    }
    options.open(path).map_err(|error| {
        #[cfg(unix)]
        if error.raw_os_error() == Some(libc::ELOOP) {
            return symlink();
        }
        unreadable(&error)
    })
}

fn regular(metadata: &Metadata, limit: u64) -> Result<(), Fault> {
    if !metadata.is_file() {
        return Err(fault(
            "file-not-regular",
            "not a regular file",
            "a record is an ordinary file; folders, pipes and devices are not read",
        ));
    }
    if metadata.len() > limit {
        return Err(too_large(metadata.len()));
    }
    Ok(())
}

fn same_state(a: &Metadata, b: &Metadata) -> bool {
    a.len() == b.len() && a.modified().ok() == b.modified().ok()
}

pub(super) fn too_large(length: u64) -> Fault {
    fault(
        "file-too-large",
        &format!("the file has {length} bytes, a record at most {}", super::FILE_LIMIT),
        "split the record, or keep raw data in curve files",
    )
}

fn symlink() -> Fault {
    fault("file-symlink", "a symbolic link is not followed", "put the file itself here")
}

fn unreadable(error: &std::io::Error) -> Fault {
    let message = format!("cannot be read: {error}");
    fault(UNREADABLE, &message, "check that it exists and may be read")
}

fn fault(name: &'static str, message: &str, help: &str) -> Fault {
    Fault { name, span: TOP, message: message.to_owned(), help: Some(help.to_owned()) }
}
