//! What the program last wrote under a name: a digest for each file, in the cache folder. Losing it costs a `--force`, no data.

use gripbook::read::digest::sha256;
use std::fs;
use std::path::{Path, PathBuf};

fn place(cache: &Path, file: &Path) -> PathBuf {
    let name = sha256(file.as_os_str().as_encoded_bytes());
    cache.join("written").join(&name[..32])
}

/// Whether the program wrote this content under this name.
pub(super) fn knows(cache: Option<&Path>, file: &Path, content: &str) -> bool {
    cache.and_then(|cache| fs::read_to_string(place(cache, file)).ok()).is_some_and(|kept| kept == content)
}

/// Keeps what was written.
pub(super) fn remember(cache: Option<&Path>, file: &Path, content: &str) {
    let Some(place) = cache.map(|cache| place(cache, file)) else { return };
    // A note that is not kept is a file that is asked about.
    let folder = place.parent().map_or(Ok(()), fs::create_dir_all);
    let _ = folder.and_then(|()| fs::write(&place, content));
}
