//! Writing a file whole or not at all: readers see the old content or the new one.

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::Path;

/// How long what is written has to last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lasts {
    /// Beyond a power cut: for what people wrote.
    PowerCut,
    /// As long as the machine runs: for what can be made again.
    Run,
}

/// Puts a file with this content in its place, whatever was there; folders that are missing are made.
///
/// # Errors
/// What the file system says; then the old file stays, and nothing is left beside it.
pub fn replace(path: &Path, bytes: &[u8], lasts: Lasts) -> io::Result<()> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    fs::create_dir_all(folder)?;
    let name = path.file_name().ok_or(io::ErrorKind::InvalidInput)?.to_string_lossy();
    let mut beside = builder(&format!(".{name}.")).tempfile_in(folder)?;
    beside.write_all(bytes)?;
    if lasts == Lasts::PowerCut {
        beside.as_file().sync_all()?;
    }
    beside.persist(path)?;
    if lasts == Lasts::PowerCut {
        // Some file systems refuse to sync a folder; the content is safe by then.
        let _ = File::open(folder).and_then(|folder| folder.sync_all());
    }
    Ok(())
}

/// A file beside another one, with the rights the user gives new files.
fn builder(prefix: &str) -> tempfile::Builder<'_, 'static> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(prefix).suffix(".part");
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    builder
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_has_the_old_content_or_the_new_one() {
        let folder = tempfile::tempdir().expect("a folder");
        let file = folder.path().join("deep/er/a.yaml");
        for (content, lasts) in [("old", Lasts::PowerCut), ("new", Lasts::Run)] {
            replace(&file, content.as_bytes(), lasts).expect("written");
            assert_eq!(fs::read_to_string(&file).expect("there"), content);
        }
        // A folder stands in the way: the write fails, and what is there stays.
        let taken = file.parent().expect("below").to_path_buf();
        assert!(replace(&taken, b"x", Lasts::Run).is_err());
        let left: Vec<_> = fs::read_dir(taken.parent().expect("below")).expect("a folder").collect();
        assert_eq!(left.len(), 1, "{left:?}");
        assert_eq!(fs::read_to_string(&file).expect("there"), "new");
    }
}
