//! `review`: what a change says, claim by claim, among what, which answers it moves, and what it causes to be found.

mod base;
mod findings;
mod review_page;

use super::audit::today;
use super::card::{CommandCard, Effect, FINDINGS, HelpGroup, Run};
use super::check::FailOn;
use super::{CommandOutcome, Context, Fault, Shared, headings, waiting::Waiting};
use base::Both;
use gripbook::audit::Peers;
use gripbook::audit::review::{AskedOfBoth, Near, ReviewedChange, answers, changes, moved, near};
use gripbook::book::{Book, PackRoot, Record, references};
use gripbook::plugins::Registry;
use gripbook::present::Format;
pub(super) use review_page::check_cards;
use review_page::{Answers, Review};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "review",
    about: "What does a change say, claim by claim? Old against new, neighbours, answers it moves, findings it causes",
    group: HelpGroup::Contributions,
    formats: FINDINGS,
    effect: Effect::Inspects,
    outputs: &[],
    runs: &Run(run),
};

/// Arguments of `review`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED, after_help = "Examples:
  gripbook review origin/main                     what this branch changes, on one screen
  gripbook review origin/main records/mine --full every change with every field
  gripbook review origin/main --format markdown   for a comment on a pull request")]
pub struct ReviewArgs {
    /// The commit or branch to compare with: what differs from where this branch left it
    pub base: String,
    /// Packs; without them all that differ
    pub paths: Vec<PathBuf>,
    /// Do not ask the whole book again: no answers
    #[arg(long)]
    pub no_answers: bool,
    /// Every change, answer and finding
    #[arg(long, help_heading = headings::OUTPUT)]
    pub full: bool,
    /// Least severity of a caused finding that makes the exit code 1
    #[arg(long, value_enum, default_value = "error", help_heading = headings::OUTPUT)]
    pub fail_on: FailOn,
    /// The day on which waivers are judged; today unless given
    #[arg(long, value_name = "DATE", help_heading = headings::OUTPUT)]
    pub today: Option<String>,
}

/// The packs before or after the change.
struct ReviewSide {
    book: Book,
    /// Places of the packs under review among those of the book.
    places: Vec<usize>,
}

/// Reviews a change.
///
/// # Errors
/// No git, no such commit, packs that cannot be opened.
pub fn run(args: &ReviewArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let today = today(args.today.as_deref(), context)?;
    let both = Both::of(&args.base, &args.paths, context)?;
    let old = side(both.packs.iter().filter_map(|p| p.then.clone()), shared, context)?;
    let new = side(both.packs.iter().filter_map(|p| p.now.as_deref().map(|now| context.way_from_here(now))), shared, context)?;
    let peers = Peers::of(&new.book);
    let told: Vec<(ReviewedChange, Option<Near>)> = differing(&both, &old.book, &new.book)
        .into_iter()
        .map(|change| {
            let near = near(&change, &new.book, &peers);
            (change, near)
        })
        .collect();
    let left_out = new.book.left_out.iter().filter_map(|f| id_of(&new.book, &f.place.file)).collect();
    let answers = (!args.no_answers && !told.is_empty()).then(|| moves(&told, &old.book, &new.book, &context.registry));
    let caused = findings::caused(&old, &new, &today, context)?;
    let is_no = caused.new.iter().any(|f| f.severity >= args.fail_on.severity());
    let review = Review {
        base: args.base.clone(),
        commit: both.commit.clone(),
        packs: both.packs.iter().map(|p| p.inside.clone()).collect(),
        changes: told,
        left_out,
        answers,
        caused,
        short: !args.full && shared.format == Format::Text,
        audits: context.registry.audits,
    };
    Ok(CommandOutcome { answer: Box::new(review), exit: u8::from(is_no) })
}

/// The book of some folders, with the built-in pack and those named on the command line.
fn side(folders: impl Iterator<Item = PathBuf>, shared: &Shared, context: &Context) -> Result<ReviewSide, Fault> {
    let folders: BTreeSet<PathBuf> = folders.collect();
    let mut roots = vec![PackRoot::BuiltIn];
    for name in &shared.pack {
        let path = PathBuf::from(name);
        let is_known = |path: &Path| folders.iter().any(|f| std::fs::canonicalize(f).ok() == std::fs::canonicalize(path).ok());
        match name.as_str() {
            "demo" => roots.push(PackRoot::Demo),
            _ if is_known(&context.folder.join(&path)) => {}
            _ => roots.push(PackRoot::Folder { path, stood_in: false }),
        }
    }
    roots.extend(folders.iter().map(|path| PackRoot::Folder { path: path.clone(), stood_in: false }));
    let fault = |f: Box<gripbook::finding::Finding>| Fault {
        exit: 3,
        message: format!("{}: {}", f.place.file, f.message),
        help: f.help.clone(),
    };
    let book = Book::load(&roots, &context.folder).map_err(fault)?;
    let is_ours = |root: &PackRoot| matches!(root, PackRoot::Folder { path, .. } if folders.contains(path));
    let places = book.packs().iter().enumerate().filter(|(_, p)| is_ours(&p.root)).map(|(place, _)| place).collect();
    Ok(ReviewSide { book, places })
}

/// What differs in the records whose files do.
fn differing(both: &Both, old: &Book, new: &Book) -> Vec<ReviewedChange> {
    let ids: BTreeSet<String> = both
        .packs
        .iter()
        .flat_map(|pack| &pack.files)
        .flat_map(|file| [old.catalogue().id_of(file), new.catalogue().id_of(file)])
        .flatten()
        .collect();
    let mut all: Vec<ReviewedChange> = ids.iter().flat_map(|id| changes(old.record(id), new.record(id))).collect();
    // What was changed has to be seen before what came: it is what answers rested on.
    all.sort_by_key(|change| change.sort);
    all
}

/// The record of a file, however the way to its pack is told.
fn id_of(book: &Book, file: &str) -> Option<String> {
    let inside: Vec<&str> = file.rsplit('/').take(2).collect();
    book.catalogue().id_of(&[*inside.get(1)?, *inside.first()?].join("/"))
}

/// Asks both books everything that the change can move.
fn moves(told: &[(ReviewedChange, Option<Near>)], old: &Book, new: &Book, registry: &Registry) -> Answers {
    let of = |id: &str| new.record(id).or_else(|| old.record(id));
    let is_invented = |r: &Record| r.invented() || r.is_invented();
    let subjects: Vec<&Record> = told.iter().filter_map(|(c, _)| of(&c.record)).filter(|r| r.id.kind() != "source").collect();
    let invented = !subjects.is_empty() && subjects.iter().all(|r| is_invented(r));
    let lost = |book: &Book| book.losses().iter().map(|l| l.record.to_string()).collect::<BTreeSet<_>>();
    let touched: BTreeSet<String> =
        subjects.iter().map(|r| r.id.to_string()).chain(lost(old).symmetric_difference(&lost(new)).cloned()).collect();
    // A series, and a material that some series was made of, move the trust in every prediction.
    let is_material = |r: &Record| new.role(r) == "material";
    let is_tested = |id: &str| new.references_to(id).iter().chain(&old.references_to(id)).any(|r| r.record.kind() == "series");
    let moves_all = |id: &String| of(id).is_some_and(|r| r.id.kind() != "source" && (!is_material(r) || is_tested(id)));
    let everywhere = touched.iter().any(moves_all);
    let joints_in = |material: &Record| everywhere || touched.contains(material.id.as_str());
    let waiting = Waiting::on("asking the book");
    let ask = |book: &Book, turn: &str| {
        let done = |done: usize, of: usize| waiting.told(format!("{done} of {of} materials asked, the book {turn} the change"));
        let methods = registry.methods_of(book);
        answers(&AskedOfBoth { book, methods: &methods.all(), joints_in: &joints_in, invented, done: &done })
    };
    let (then, now) = (ask(old, "before"), ask(new, "after"));
    let mut moved = moved(&then, &now);
    // Answers about what the change is about come before those that it moves from afar.
    let asked_about = |id: &String| of(id).is_some_and(|r| matches!(new.role(r), "material" | "adhesive"));
    let named = subjects.iter().flat_map(|r| references::of(r)).map(|(target, _)| target);
    let about: BTreeSet<String> = named.chain(touched.iter().cloned()).filter(asked_about).collect();
    let names: BTreeSet<&str> = about.iter().filter_map(|id| id.split_once('/')).map(|(_, name)| name).collect();
    moved.sort_by_key(|m| (!m.turns(), !m.question.split([' ', ',']).any(|word| names.contains(word))));
    Answers {
        asked: now.len(),
        gone: then.keys().filter(|question| !now.contains_key(*question)).count(),
        come: now.keys().filter(|question| !then.contains_key(*question)).count(),
        moved,
    }
}
