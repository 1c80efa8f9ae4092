//! Files that differ from a commit, by asking git.

use crate::command::{Context, Fault};
use gripbook::book::standing_in;
use std::collections::HashSet;
use std::path::PathBuf;
use std::process::Command;

/// Whole paths of files that differ from a commit: changed, added, and not yet known to git.
pub(super) fn since(reference: &str, context: &Context) -> Result<HashSet<PathBuf>, Fault> {
    let (root, base) = base(reference, context)?;
    let changed = git(context, &["diff", "--name-only", "-z", "--diff-filter=d", &base, "--"])?;
    let new = git(context, &["ls-files", "--others", "--exclude-standard", "--full-name", "-z", ":/"])?;
    let names = changed.split('\0').chain(new.split('\0')).filter(|n| !n.is_empty());
    Ok(names.filter_map(|n| std::fs::canonicalize(root.join(n)).ok()).collect())
}

/// The top of the repository, and the commit where this branch left another.
pub(in crate::command) fn base(reference: &str, context: &Context) -> Result<(PathBuf, String), Fault> {
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

/// The changed records that stand in some pack, for somebody who stands outside of all packs.
pub(super) fn of_packs(changed: &HashSet<PathBuf>, context: &Context) -> Vec<PathBuf> {
    let is_record = |p: &&PathBuf| {
        let in_pack = p.parent().and_then(|folder| standing_in(folder, context.home.as_deref())).is_some();
        in_pack && p.extension().is_some_and(|e| e == "yaml") && p.file_name().is_some_and(|n| n != "pack.yaml")
    };
    let mut all: Vec<PathBuf> = changed.iter().filter(is_record).cloned().collect();
    all.sort();
    all
}

pub(in crate::command) fn git(context: &Context, args: &[&str]) -> Result<String, Fault> {
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
