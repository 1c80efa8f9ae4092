//! A repository of git in a folder of a test.

use std::path::Path;
use std::process::Command;

/// Runs git as somebody who exists nowhere.
pub fn git(at: &Path, words: &[&str]) {
    let who = ["-c", "user.name=t", "-c", "user.email=t@example.org", "-c", "init.defaultBranch=main"];
    let done = Command::new("git").current_dir(at).args(who).args(words).output().expect("git runs");
    assert!(done.status.success(), "{words:?}: {}", String::from_utf8_lossy(&done.stderr));
}

/// Whether the test has to be skipped.
pub fn lacks_git() -> bool {
    crate::faults::scene::lacks("git", &["git", "--version"])
}

/// Makes a repository of a folder: everything in it is the first commit of `main`.
pub fn begin(at: &Path) {
    git(at, &["init", "-q"]);
    commit(at, "start");
}

/// Commits everything.
pub fn commit(at: &Path, message: &str) {
    git(at, &["add", "."]);
    git(at, &["commit", "-qm", message]);
}
