//! `check`: does every record say one thing?

use std::io::Read;
use std::path::{Path, PathBuf};

use serde_json::json;

use super::card::{CommandCard, Effect, HelpGroup, Run};
use super::library::Remembered;
use super::{CommandOutcome, Context, Fault, Shared, headings, lost, waiting::Waiting};
use gripbook::book::{self, Book, Manifest, PACK_FILE, PackRoot, Record, files, holds_no_pack, kinds, standing_in};
use gripbook::check::packs::PackFrom;
use gripbook::check::{CheckReport, CheckRequest, Targets, run_with as check};
use gripbook::finding::{Severity, settle};
use gripbook::present::Format;
use gripbook::present::findings::Findings;
use gripbook::present::{counted, writer};
use gripbook::read::{FILE_LIMIT, file};

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "check",
    about: "Check record files: every mistake, with line, column and remedy",
    group: HelpGroup::Contributions,
    formats: &[Format::Text, Format::Json, Format::Markdown, Format::Github, Format::Sarif],
    effect: Effect::Inspects,
    outputs: &[],
    runs: &Run(run),
};

/// Arguments of `check`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED, after_help = "Examples:
  gripbook check                      the current pack
  gripbook check my-pack/resins       a folder of it
  gripbook check - --as resin/tough   a record on standard input")]
pub struct CheckArgs {
    /// Files or folders; `-` reads one record from standard input; without them the current pack, else the built-in one
    pub paths: Vec<PathBuf>,
    /// Kind and id of the record on standard input, e.g. resin/tough
    #[arg(long = "as", value_name = "KIND/ID")]
    pub subject: Option<String>,
    /// Lowest severity that makes the exit code 1
    #[arg(long, value_enum, default_value = "error", help_heading = headings::OUTPUT)]
    pub fail_on: FailOn,
}

/// Least severity that makes the answer no.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum FailOn {
    /// Errors only.
    Error,
    /// Warnings too.
    Warning,
    /// Any finding.
    Note,
}

impl FailOn {
    /// The severity.
    pub fn severity(self) -> Severity {
        match self {
            FailOn::Error => Severity::Error,
            FailOn::Warning => Severity::Warning,
            FailOn::Note => Severity::Note,
        }
    }
}

/// Checks what the arguments name.
///
/// # Errors
/// Wrong use, and nothing at all that could be opened.
pub fn run(args: &CheckArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    super::save::recover(&args.paths, context);
    let report = report(args, shared, context)?;
    let is_no = report.findings.iter().any(|finding| finding.severity >= args.fail_on.severity());
    let answer = Findings {
        schema: "gripbook/check/1",
        scope: format!("{}, {}", counted(report.files, "file"), counted(report.records, "record")),
        fields: vec![("files", json!(report.files)), ("records", json!(report.records))],
        findings: report.findings,
        cards: super::review::check_cards(),
    };
    Ok(CommandOutcome { answer: Box::new(answer), exit: u8::from(is_no) })
}

fn report(args: &CheckArgs, shared: &Shared, context: &Context) -> Result<CheckReport, Fault> {
    let is_stdin = args.paths.iter().any(|path| path.as_os_str() == "-");
    if is_stdin && args.paths.len() > 1 {
        return Err(Fault::usage("standard input (`-`) cannot be checked together with other paths"));
    }
    if args.subject.is_some() && !is_stdin {
        return Err(Fault::usage("`--as` names the record on standard input").help("add `-` as the path"));
    }
    let mut packs = Packs::known(shared, context)?;
    let targets = if is_stdin {
        stdin(args.subject.as_deref())?
    } else if args.paths.is_empty() {
        Targets::Packs(packs.default_targets(context))
    } else {
        if let Some(missing) = all_missing(&args.paths, context) {
            return Err(Fault::data(missing).help("name files or folders that exist"));
        }
        args.paths.iter().for_each(|path| packs.add_home_of(path, context));
        Targets::Paths(args.paths.clone())
    };
    let roots = packs.roots();
    let request = CheckRequest { shared: kinds::built_in_schemas(), packs: packs.into_list(), targets };
    let remembered = Remembered::of(shared, context);
    let waiting = Waiting::on("checking the records");
    let report = check(&request, remembered.of_findings());
    let report = report.map(|report| with_citations(report, &request.targets, &roots, remembered.of_records(), context));
    drop(waiting);
    remembered.notice().iter().for_each(|notice| writer::notice(&format!("note: {notice}")));
    Ok(report?)
}

/// The report with what still names something withdrawn. The book is asked only where something may be withdrawn.
fn with_citations(
    mut report: CheckReport,
    targets: &Targets,
    roots: &[PackRoot],
    memory: Option<&dyn book::memory::Memory>,
    context: &Context,
) -> CheckReport {
    let packs = whole_packs(targets, roots, context);
    let withdraws = report.withdraws
        || match (&packs, targets) {
            (Some(places), _) => {
                let others = roots.iter().enumerate().filter(|(place, _)| !places.contains(place));
                others.into_iter().any(|(_, root)| matches!(root, PackRoot::Folder { .. }) || files::mentions_withdrawal(root))
            }
            (None, Targets::Text { .. }) => false,
            (None, _) => true,
        };
    // A pack that cannot be opened has its findings already.
    let book = || match memory {
        Some(memory) => Book::load_with(roots, &context.folder, memory).ok(),
        None => Book::load(roots, &context.folder).ok(),
    };
    if let Some(book) = withdraws.then(book).flatten() {
        let whole = |path: &Path| std::fs::canonicalize(context.folder.join(path)).ok();
        let paths: Vec<PathBuf> = match targets {
            Targets::Paths(paths) => paths.iter().filter_map(|path| whole(path)).collect(),
            _ => Vec::new(),
        };
        let wanted = |record: &Record| match &packs {
            Some(places) => places.contains(&record.pack),
            None => whole(Path::new(&*record.file)).is_some_and(|file| paths.iter().any(|path| file.starts_with(path))),
        };
        report.findings.extend(lost::findings(&book, wanted, context));
        settle(&mut report.findings);
    }
    report
}

/// The places of the packs that are looked at as a whole; `None` where only a part of one is.
fn whole_packs(targets: &Targets, roots: &[PackRoot], context: &Context) -> Option<Vec<usize>> {
    let whole = |path: &Path| std::fs::canonicalize(context.folder.join(path)).ok();
    let place = |path: &PathBuf| {
        let wanted = whole(path)?;
        roots.iter().position(|root| matches!(root, PackRoot::Folder { path, .. } if whole(path).as_ref() == Some(&wanted)))
    };
    match targets {
        Targets::Packs(places) => Some(places.clone()),
        Targets::Paths(paths) => paths.iter().map(place).collect(),
        Targets::Text { .. } => None,
    }
}

fn stdin(subject: Option<&str>) -> Result<Targets, Fault> {
    let Some(subject) = subject else {
        return Err(Fault::usage("standard input needs `--as KIND/ID`").help("for example --as resin/tough"));
    };
    let mut bytes = Vec::new();
    // One byte more than a record may have, so that the reader sees that it is too large.
    let read = std::io::stdin().lock().take(FILE_LIMIT + 1).read_to_end(&mut bytes);
    read.map_err(|error| Fault::environment(format!("standard input: {error}")))?;
    Ok(Targets::Text { subject: Some(subject.to_owned()), shown: "<stdin>".to_owned(), bytes })
}

fn all_missing(paths: &[PathBuf], context: &Context) -> Option<String> {
    let fault = |path: &PathBuf| {
        let error = std::fs::symlink_metadata(context.folder.join(path)).err()?;
        Some(format!("{}: {error}", gripbook::check::packs::shown(path)))
    };
    let faults: Option<Vec<String>> = paths.iter().map(fault).collect();
    faults.map(|faults| faults.join("; "))
}

/// The packs of a run: built-in ones first, so that a conflict is a finding on the pack of the user.
struct Packs {
    list: Vec<(PackRoot, PathBuf, Option<String>)>,
    named: Vec<PathBuf>,
}

impl Packs {
    fn known(shared: &Shared, context: &Context) -> Result<Self, Fault> {
        let mut packs = Packs { list: vec![(PackRoot::BuiltIn, PathBuf::new(), Some("book".into()))], named: Vec::new() };
        for name in &shared.pack {
            if name == "demo" {
                packs.list.push((PackRoot::Demo, PathBuf::new(), Some("demo".into())));
            } else if holds_no_pack(&context.folder.join(name)) {
                let fault = Fault::data(format!("`{name}` is not a pack: it has no {PACK_FILE}"));
                return Err(fault.help("name `demo` or a folder that holds a pack.yaml"));
            } else {
                packs.add_folder(PathBuf::from(name), context);
                packs.named.push(PathBuf::from(name));
            }
        }
        if let Some(root) = standing_in(&context.folder, context.home.as_deref()) {
            packs.add_folder(context.way_from_here(&root), context);
        }
        Ok(packs)
    }

    /// Without paths: the pack one stands in, else the packs named, else the built-in one.
    fn default_targets(&self, context: &Context) -> Vec<usize> {
        let of =
            |path: &Path| self.list.iter().position(|(root, known, _)| matches!(root, PackRoot::Folder { .. }) && known == path);
        if let Some(root) = standing_in(&context.folder, context.home.as_deref()) {
            return of(&context.way_from_here(&root)).into_iter().collect();
        }
        let named: Vec<usize> = self.named.iter().filter_map(|path| of(path)).collect();
        let demo = self.list.iter().position(|(root, _, _)| *root == PackRoot::Demo);
        match (named.is_empty(), demo) {
            (true, None) => vec![0],
            (_, demo) => demo.into_iter().chain(named).collect(),
        }
    }

    fn add_home_of(&mut self, path: &Path, context: &Context) {
        let whole = context.folder.join(path);
        let folder = if whole.is_dir() { Some(whole.as_path()) } else { whole.parent() };
        let folder = folder.and_then(|folder| std::fs::canonicalize(folder).ok());
        if let Some(root) = folder.and_then(|folder| standing_in(&folder, context.home.as_deref())) {
            self.add_folder(context.way_from_here(&root), context);
        }
    }

    /// Adds a folder once; one with the id of an embedded pack takes its place.
    fn add_folder(&mut self, path: PathBuf, context: &Context) {
        let whole = |path: &Path| std::fs::canonicalize(context.folder.join(path)).ok();
        let root = |path: &Path| PackRoot::Folder { path: path.to_owned(), stood_in: false };
        let is_known = |(root, known, _): &(PackRoot, PathBuf, Option<String>)| {
            matches!(root, PackRoot::Folder { .. }) && whole(known) == whole(&path)
        };
        if self.list.iter().any(is_known) {
            return;
        }
        let manifest = file::load(&context.folder.join(&path).join(PACK_FILE)).ok();
        let id = manifest.and_then(|bytes| Manifest::read(&bytes, PACK_FILE).ok()).map(|manifest| manifest.id.to_string());
        let embedded = self
            .list
            .iter()
            .position(|(root, _, known)| !matches!(root, PackRoot::Folder { .. }) && id.is_some() && *known == id);
        let entry = (root(&path), path, id);
        match embedded {
            Some(place) => self.list[place] = entry,
            None => self.list.push(entry),
        }
    }

    fn roots(&self) -> Vec<PackRoot> {
        self.list.iter().map(|(root, _, _)| root.clone()).collect()
    }

    fn into_list(self) -> Vec<PackFrom<'static>> {
        self.list.into_iter().map(|(root, path, _)| files::for_check(&root, &path)).collect()
    }
}
