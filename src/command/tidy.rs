//! `tidy`: record files in one form: canonical units, order of keys, spacing. Comments stay, the meaning stays.

pub mod format;
mod hints;
mod order;

use super::card::{CommandCard, Effect, HelpGroup, PAGE, Run};
use super::{CommandOutcome, Context, Fault, Shared, edit, headings, save};
use gripbook::book::{kinds, standing_in};
use gripbook::check::Checker;
use gripbook::check::packs::PackFrom;
use gripbook::present::{Answer, Block, Page, counted};
use gripbook::read::file;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "tidy",
    about: "Bring record files into one form; comments and meaning stay",
    group: HelpGroup::Contributions,
    formats: PAGE,
    effect: Effect::Writes,
    outputs: &[],
    runs: &Run(run),
};

/// Arguments of `tidy`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED, after_help = "Examples:
  gripbook tidy                                   the current pack
  gripbook tidy --check                           only say what is not tidy
  gripbook tidy --finish resins/tough-grey.yaml   a record that `new` began")]
pub struct TidyArgs {
    /// Record files or folders; without them the current pack
    pub paths: Vec<PathBuf>,
    /// Change nothing; exit with 1 when a file is not tidy
    #[arg(long)]
    pub check: bool,
    /// Also take out the hints that `new` wrote: commented fields, and the meaning behind a field
    #[arg(long)]
    pub finish: bool,
    /// Show each hint that is taken out, too
    #[arg(long, help_heading = headings::OUTPUT)]
    pub full: bool,
}

/// A file that is not as it was.
struct TidiedFile {
    file: String,
    /// All that changed.
    diff: String,
    /// Hints that were taken out.
    hints: usize,
    /// What changed besides.
    form: String,
}

/// What became of the files.
struct Tidied {
    files: usize,
    changed: Vec<TidiedFile>,
    left: Vec<(String, String)>,
    check: bool,
    full: bool,
}

/// Tidies files.
///
/// # Errors
/// Nothing to tidy, and files that cannot be written.
pub fn run(args: &TidyArgs, _: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    super::save::recover(&args.paths, context);
    let roots = if args.paths.is_empty() {
        let home = standing_in(&context.folder, context.home.as_deref());
        vec![home.ok_or_else(|| Fault::usage("there is no pack to tidy").help("name files or folders, or change into a pack"))?]
    } else {
        args.paths.clone()
    };
    let mut files = save::Batch::default();
    let mut answer = Tidied { files: 0, changed: Vec::new(), left: Vec::new(), check: args.check, full: args.full };
    for root in &roots {
        let whole =
            std::fs::canonicalize(context.folder.join(root)).map_err(|e| Fault::data(format!("{}: {e}", root.display())))?;
        let first = if whole.is_dir() { whole.clone() } else { whole.parent().unwrap_or(&whole).to_path_buf() };
        let home = standing_in(&first, context.home.as_deref());
        let packs: Vec<PackFrom<'static>> = home.iter().map(|p| PackFrom::Folder(p.clone())).collect();
        let checker = Checker::new(kinds::built_in_schemas(), &packs)?;
        let mut records = Vec::new();
        gather(&whole, &checker, &mut records)?;
        records.sort();
        for path in records {
            let shown = context.shown(&path);
            one(&path, shown, &checker, args, &mut answer, &mut files);
        }
    }
    files.commit(context)?;
    if answer.files == 0 {
        return Err(Fault::data("nothing that was named holds a record file").help("records lie in the folder of their kind"));
    }
    let is_no = (args.check && !answer.changed.is_empty()) || !answer.left.is_empty();
    Ok(CommandOutcome { answer: Box::new(answer), exit: u8::from(is_no) })
}

/// Record files: YAML in the folder of a kind. Links are not followed.
fn gather(path: &Path, checker: &Checker<'_>, into: &mut Vec<PathBuf>) -> Result<(), Fault> {
    let fault = |e: std::io::Error| Fault::data(format!("{}: {e}", path.display()));
    let kind = std::fs::symlink_metadata(path).map_err(fault)?.file_type();
    if kind.is_file() {
        let folder = path.parent().and_then(Path::file_name).and_then(|n| n.to_str()).unwrap_or_default();
        if path.extension().is_some_and(|e| e == "yaml") && checker.schemas().kind_of_folder(folder).is_some() {
            into.push(path.to_path_buf());
        }
    } else if kind.is_dir() {
        for entry in std::fs::read_dir(path).map_err(fault)? {
            let entry = entry.map_err(fault)?;
            if !entry.file_name().to_string_lossy().starts_with('.') {
                gather(&entry.path(), checker, into)?;
            }
        }
    }
    Ok(())
}

fn one(path: &Path, shown: String, checker: &Checker<'_>, args: &TidyArgs, answer: &mut Tidied, files: &mut save::Batch) {
    answer.files += 1;
    let bytes = match file::load(path) {
        Ok(bytes) => bytes,
        Err(fault) => {
            answer.left.push((shown, fault.message));
            return;
        }
    };
    let folder = path.parent().and_then(Path::file_name).and_then(|n| n.to_str()).unwrap_or_default();
    let Some(kind) = checker.schemas().kind_of_folder(folder) else { return };
    let finished =
        args.finish.then(|| String::from_utf8(bytes.clone()).ok()).flatten().map(|t| hints::without(&t, kind, checker.schemas()));
    match format::tidy(finished.as_ref().map_or(&bytes, |(t, _)| t.as_bytes()), &kind.file, checker.schemas()) {
        Err(why) => answer.left.push((shown, why)),
        Ok(after) if after.as_bytes() == bytes => {}
        Ok(after) => {
            let before = String::from_utf8_lossy(&bytes).replace("\r\n", "\n");
            if !args.check {
                files.edit(path, bytes, after.as_str());
            }
            let (without_hints, hints) = finished.as_ref().map_or((before.as_str(), 0), |(text, hints)| (text.as_str(), *hints));
            let form = edit::diff(&without_hints.replace("\r\n", "\n"), &after);
            answer.changed.push(TidiedFile { file: shown, diff: edit::diff(&before, &after), hints, form });
        }
    }
}

impl Answer for Tidied {
    fn schema(&self) -> &'static str {
        "gripbook/tidy/1"
    }
    fn json(&self) -> Value {
        let changed: Vec<Value> =
            self.changed.iter().map(|c| json!({"file": c.file, "diff": c.diff, "hints": c.hints})).collect();
        let left: Vec<Value> = self.left.iter().map(|(file, why)| json!({"file": file, "because": why})).collect();
        json!({"files": self.files, "written": !self.check, "changed": changed, "left": left})
    }
    fn page(&self) -> Page {
        let mut page = Page::default();
        for changed in &self.changed {
            page.heading(changed.file.clone());
            let told = changed.hints > 0 && !self.full;
            if told {
                page.line(format!("{} taken out: --full shows them", counted(changed.hints, "hint")));
            }
            let diff = if told { &changed.form } else { &changed.diff };
            match (diff.is_empty(), told) {
                (true, true) => {}
                (true, false) => page.blocks.push(Block::Verbatim("line ends only".to_owned())),
                (false, _) => page.blocks.push(Block::Verbatim(diff.clone())),
            }
        }
        for (file, why) in &self.left {
            page.item(format!("{file} was left as it is: {why}"));
        }
        let done = if self.check { "not tidy" } else { "tidied" };
        let left = if self.left.is_empty() { String::new() } else { format!(", {} left as they are", self.left.len()) };
        page.blank().line(format!("{}: {} {done}{left}", counted(self.files, "file"), self.changed.len()));
        page
    }
}
