//! The packs as they were at a commit, and as they are now, by asking git.

use crate::command::{Context, Fault};
use gripbook::book::PACK_FILE;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// A pack that differs.
pub(super) struct Pack {
    /// Its folder inside the repository; empty for the top.
    pub inside: String,
    /// Where it is now; `None` where it went.
    pub now: Option<PathBuf>,
    /// Where it lies as it was; `None` where it is new.
    pub then: Option<PathBuf>,
    /// Paths inside it that differ.
    pub files: BTreeSet<String>,
}

/// The packs that differ from a commit. What was is laid out in a folder of its own, which goes with this.
pub(super) struct Both {
    pub commit: String,
    pub packs: Vec<Pack>,
    folder: PathBuf,
}

impl Drop for Both {
    fn drop(&mut self) {
        // A copy in the system's folder for such; the system clears what cannot be removed now.
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

impl Both {
    /// Asks git what differs from the commit where this branch left `reference`, in packs below `paths` (none: all).
    pub fn of(reference: &str, paths: &[PathBuf], context: &Context) -> Result<Both, Fault> {
        let (root, commit) = base(reference, context)?;
        let root = std::fs::canonicalize(&root).unwrap_or(root);
        let changed = git(context, &["diff", "--name-only", "--no-renames", "-z", &commit, "--"])?;
        let new = git(context, &["ls-files", "--others", "--exclude-standard", "--full-name", "-z", ":/"])?;
        let changed: BTreeSet<&str> = changed.split('\0').chain(new.split('\0')).filter(|n| !n.is_empty()).collect();
        let there = git(context, &["ls-tree", "-r", "--name-only", "--full-tree", "-z", &commit])?;
        let there: BTreeSet<&str> = there.split('\0').filter(|n| !n.is_empty()).collect();
        let wanted = wanted(paths, &root, context)?;
        let mut packs: Vec<Pack> = Vec::new();
        for file in changed {
            let Some(inside) = home(file, &root, &there) else { continue };
            if !wanted.is_empty() && !wanted.iter().any(|path| inside.starts_with(path) || file.starts_with(path)) {
                continue;
            }
            let relative = file[inside.len()..].trim_start_matches('/').to_owned();
            match packs.iter_mut().find(|pack| pack.inside == inside) {
                Some(pack) => drop(pack.files.insert(relative)),
                None => {
                    let now = Some(root.join(inside)).filter(|folder| folder.join(PACK_FILE).is_file());
                    let files = BTreeSet::from([relative]);
                    packs.push(Pack { inside: inside.to_owned(), now, then: None, files });
                }
            }
        }
        let folder = scratch()?;
        let mut both = Both { commit, packs, folder };
        both.lay_out(&root, &there)?;
        Ok(both)
    }
    /// Writes the packs as they were.
    fn lay_out(&mut self, root: &Path, there: &BTreeSet<&str>) -> Result<(), Fault> {
        let of_pack =
            |inside: &str, file: &str| inside.is_empty() || file.strip_prefix(inside).is_some_and(|r| r.starts_with('/'));
        let mut names = String::new();
        for pack in &mut self.packs {
            let files: Vec<&&str> = there.iter().filter(|file| of_pack(&pack.inside, file)).collect();
            if files.iter().any(|file| file[pack.inside.len()..].trim_start_matches('/') == PACK_FILE) {
                files.iter().for_each(|file| names.extend([file, "\0"]));
                pack.then = Some(self.folder.join(&pack.inside));
            }
        }
        let index = self.folder.join(".index");
        let run = |words: &[&str], input: &str| -> Result<(), Fault> {
            let fault = |why: String| Fault::environment(format!("git {}: {why}", words.first().copied().unwrap_or_default()));
            let mut child = Command::new("git")
                .arg("-C")
                .arg(root)
                .args(words)
                .env("GIT_INDEX_FILE", &index)
                .stdin(Stdio::piped())
                .stdout(Stdio::null())
                .stderr(Stdio::piped())
                .spawn()
                .map_err(|e| fault(e.to_string()))?;
            if let Some(mut to) = child.stdin.take() {
                std::io::Write::write_all(&mut to, input.as_bytes()).map_err(|e| fault(e.to_string()))?;
            }
            let done = child.wait_with_output().map_err(|e| fault(e.to_string()))?;
            if done.status.success() { Ok(()) } else { Err(fault(String::from_utf8_lossy(&done.stderr).trim().to_owned())) }
        };
        run(&["read-tree", &self.commit], "")?;
        let prefix = format!("--prefix={}/", self.folder.display());
        run(&["checkout-index", &prefix, "-z", "--stdin"], &names)
    }
}

/// A folder that nothing else uses.
fn scratch() -> Result<PathBuf, Fault> {
    let named = |turn: u32| std::env::temp_dir().join(format!("gripbook-review-{}-{turn}", std::process::id()));
    let mut turn = 0;
    loop {
        match std::fs::create_dir(named(turn)) {
            Ok(()) => return Ok(named(turn)),
            Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists && turn < 100 => turn += 1,
            Err(e) => return Err(Fault::environment(format!("{}: {e}", named(turn).display()))),
        }
    }
}

/// The paths asked for, as git names them.
fn wanted(paths: &[PathBuf], root: &Path, context: &Context) -> Result<Vec<String>, Fault> {
    let one = |path: &PathBuf| {
        let whole = std::fs::canonicalize(context.folder.join(path))
            .map_err(|e| Fault::data(format!("{}: {e}", path.display())).help("name packs of this repository"))?;
        let inside =
            whole.strip_prefix(root).map_err(|_| Fault::usage(format!("{} is not of this repository", path.display())))?;
        Ok(inside.to_string_lossy().replace('\\', "/"))
    };
    paths.iter().map(one).collect()
}

/// The folder of the pack a file belongs to, now or then.
fn home<'f>(file: &'f str, root: &Path, there: &BTreeSet<&str>) -> Option<&'f str> {
    let mut folder = file;
    loop {
        folder = folder.rsplit_once('/').map_or("", |(head, _)| head);
        let manifest = if folder.is_empty() { PACK_FILE.to_owned() } else { format!("{folder}/{PACK_FILE}") };
        if there.contains(&*manifest) || root.join(&manifest).is_file() {
            return Some(folder);
        }
        if folder.is_empty() {
            return None;
        }
    }
}

/// The top of the repository, and the commit where this branch left another.
fn base(reference: &str, context: &Context) -> Result<(PathBuf, String), Fault> {
    if reference.starts_with('-') {
        return Err(Fault::usage(format!("`{reference}` is not a commit")));
    }
    let root = PathBuf::from(git(context, &["rev-parse", "--show-toplevel"])?.trim_end());
    // What others did after one branched off is no change of one's own. Without a common commit (a shallow clone) the
    // commit itself has to do.
    let base = git(context, &["merge-base", reference, "HEAD"]);
    let itself = |_| {
        let found = git(context, &["rev-parse", "--verify", "--end-of-options", &format!("{reference}^{{commit}}")]);
        found.map_err(|_| {
            Fault::usage(format!("this repository has no commit or branch `{reference}`"))
                .help("`git log` and `git branch -a` list them")
        })
    };
    let base = base.or_else(itself)?;
    Ok((root, base.trim_end().to_owned()))
}

fn git(context: &Context, args: &[&str]) -> Result<String, Fault> {
    let output = Command::new("git").arg("-C").arg(&context.folder).args(args).output();
    let output =
        output.map_err(|e| Fault::environment(format!("git: {e}")).help("git has to be there to compare with a commit"))?;
    if !output.status.success() {
        let message = String::from_utf8_lossy(&output.stderr);
        let first = message.lines().next().unwrap_or("git failed");
        return Err(Fault::usage(format!("git: {first}")).help("run it inside the repository, and name one of its commits"));
    }
    Ok(String::from_utf8_lossy(&output.stdout).into_owned())
}
