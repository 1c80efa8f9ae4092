//! `new`: a record to be filled in, a source out of a citation, a pack. The skeleton comes from the schema: every property with
//! its unit, its meaning and what will be asked of it.

mod bibtex;
mod citation;
mod cited;
mod csl;
pub(super) mod fields;
mod listing;
mod method;
mod pack;
mod plugin;
pub(super) mod skeleton;

use super::card::{CommandCard, Effect, HelpGroup, PAGE, Run};
use super::editor::Editor;
use super::{CommandOutcome, Context, Fault, Shared, headings, library, question, save};
use gripbook::book::{Book, PackRoot, kinds};
use gripbook::check::{Checker, ids, similar, suggestion};
use gripbook::finding::Finding;
use gripbook::present::{Answer, Block, Page, findings};
use serde_json::{Value, json};
use std::path::PathBuf;

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "new",
    about: "Make a record to be filled in, a source from a citation, or a pack; with the meaning of every field",
    group: HelpGroup::Contributions,
    formats: PAGE,
    effect: Effect::Writes,
    outputs: &[],
    runs: &Run(run),
};

/// Arguments of `new`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED, after_help = "Lists: `--set also='tough grey; grey'` (semicolons, or commas where no item holds one), names of people \
`--set author='Petrie, E. M.; Smith, J.'` (Family, Given; a body without a comma), maps `--set joint.hole='2.5 mm'`.

Examples:
  gripbook new pack --name 'Tests of the workshop' --set licence=CC0-1.0
  gripbook new source --from paper.bib
  gripbook new plugin importer my-tester
  gripbook new method cross-bar --name 'screw into a cross bar'
  gripbook new resin --name 'Tough grey' --set family=acrylate --claim 'tg: 61 °C; source=ID; locator=sheet 2; basis=measured'")]
pub struct NewArgs {
    /// Kind of the record: polymer, resin, adhesive, series, source …; or `pack`
    pub kind: String,
    /// Of a method: its name. Of a plug-in: what it does, importer or audit, and its name
    #[arg(value_name = "NAME", num_args = 0..=2)]
    pub plugin: Vec<String>,
    /// What people call it; of a source, its title
    #[arg(long)]
    pub name: Option<String>,
    /// Its id; made from the name unless given
    #[arg(long)]
    pub id: Option<String>,
    /// A field of the record, e.g. family=pla, joint.test=pull-out, also='tough grey; grey' (repeatable)
    #[arg(long = "set", value_name = "FIELD=VALUE", help_heading = headings::COMPUTED)]
    pub set: Vec<String>,
    /// A claim, e.g. 'tg: 61 °C; source=river-logger-2026-03; locator=sheet 2; basis=measured; n=5' (repeatable)
    #[arg(long = "claim", value_name = "PROPERTY: VALUE; FIELD=…")]
    pub claims: Vec<String>,
    /// Of a source: a file of citations, CSL-JSON or BibTeX
    #[arg(long, value_name = "FILE", conflicts_with_all = ["claims", "name"])]
    pub from: Option<PathBuf>,
    /// Only the citation with this key
    #[arg(long, value_name = "KEY", requires = "from")]
    pub key: Option<String>,
    /// The pack it is written to; without it the current pack. Of a new pack: its folder
    #[arg(long, value_name = "DIR", help_heading = headings::OUTPUT)]
    pub into: Option<PathBuf>,
    /// Write it to standard output only
    #[arg(long, help_heading = headings::OUTPUT)]
    pub print: bool,
    /// List what a field may say, or which fields stand at a place: family, properties, joint, joint.method
    #[arg(long, value_name = "FIELD", num_args = 0..=1, default_missing_value = "")]
    pub words: Option<String>,
}

/// The kind of a way of joining.
const METHOD: &str = "method";

/// A new record.
struct One {
    file: String,
    text: String,
    /// What check says is still to be filled in.
    open: Vec<Finding>,
    /// What there is to tell of it.
    told: Vec<String>,
}

/// New records.
struct NewRecords {
    all: Vec<One>,
    written: bool,
    brings_schemas: bool,
    /// Whether hints are in the text.
    is_skeleton: bool,
}

/// Makes a record.
///
/// # Errors
/// A kind or field that does not exist, no pack to write into, a file that exists already.
pub fn run(args: &NewArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    if args.kind == "plugin" && args.words.is_none() {
        return plugin::run(args, context);
    }
    let is_method = args.kind == METHOD && args.words.is_none();
    if let Some(word) = args.plugin.first().filter(|_| !is_method) {
        return Err(Fault::usage(format!("`{word}`: a {} takes no further words", args.kind)).help("its name is --name TEXT"));
    }
    if args.kind == "pack" && args.words.is_none() {
        return pack::run(args, context);
    }
    let mut shared = shared.clone();
    if let Some(into) = &args.into {
        shared.pack.push(into.to_string_lossy().into_owned());
    }
    save::recover(args.into.as_slice(), context);
    let loaded = library::open(&shared, context)?;
    let book = &loaded.book;
    let checker = Checker::new(kinds::built_in_schemas(), &library::packs_for_check(book, context))?;
    let schemas = checker.schemas();
    let kind = schemas.kind(&args.kind).ok_or_else(|| {
        let all: Vec<&str> = schemas.kinds().iter().map(|k| k.word.as_str()).chain(["pack"]).collect();
        let close = suggestion(&similar(&args.kind, &all)).map_or_else(String::new, |text| text + " ");
        Fault::usage(format!("`{}` is not a known kind", args.kind)).help(format!("{close}kinds are {}", all.join(", ")))
    })?;
    let skeleton = skeleton::Skeleton::of(schemas, kind);
    if let Some(place) = &args.words {
        return listing::of(&skeleton, schemas, kind, place);
    }
    let mut filled = fields::filled(&kind.word, skeleton.view(), &args.set, &args.claims)?;
    let root = (!args.print).then(|| pack_folder(book)).transpose()?;
    let editor = root.as_ref().map(|root| Editor::of(&context.folder.join(root), &kind.file)).unwrap_or_default();
    let place =
        |id: &str| root.as_ref().map_or_else(|| PathBuf::from(&kind.folder), |r| r.join(&kind.folder)).join(format!("{id}.yaml"));
    let mut made = Vec::new();
    if let Some(from) = &args.from {
        for taken in citation::taken(from, args, &kind.word, &filled, book, context)? {
            made.push((taken.id, skeleton.plain(&taken.fields, editor.line.as_deref()), taken.told));
        }
    } else if is_method {
        let id = match method::id(args)? {
            Some(id) => id_as_given(&id)?,
            None => id(args, args.name.as_deref())?,
        };
        let title = args.name.clone().unwrap_or_else(|| id.replace('-', " "));
        let next = method::next(&id, &shared.pack);
        made.push((id, method::text(&title, editor.line.as_deref()), vec![next]));
    } else {
        if let Some(name) = &args.name {
            filled.set(skeleton.title_field(), name);
        }
        if !args.print && question::can_ask() {
            let pack = book.packs().iter().rposition(|p| matches!(p.root, PackRoot::Folder { .. })).unwrap_or(0);
            let against = |filled: &fields::Filled, field: &str| {
                let pointer = format!("/{}", field.replace('.', "/"));
                question::against(&checker, pack, (&kind.word, "answer"), &skeleton.text(filled, None), &pointer)
            };
            ask(&skeleton, &mut filled, &question::own_sources(book), &against)?;
        }
        let id = id(args, filled.get(skeleton.title_field()))?;
        made.push((id, skeleton.text(&filled, editor.line.as_deref()), Vec::new()));
    }
    let mut files = save::Batch::default();
    let mut all = Vec::new();
    for (id, text, told) in made {
        let path = place(&id);
        let file = context.shown(&path);
        let open = library::judge(book, &format!("{}/{id}", kind.word), &file, &text, context)?;
        if root.is_some() && save::exists(&context.folder.join(&path))? {
            return Err(Fault::usage(format!("{file} already exists")).help("choose another --id, or edit the file"));
        }
        files.create(&path, text.as_str());
        all.push(One { file, text, open, told });
    }
    if root.is_some() {
        editor.add_to(&mut files);
        files.commit(context)?;
    }
    let answer = NewRecords {
        all,
        written: root.is_some(),
        brings_schemas: editor.brings_schemas(),
        is_skeleton: args.from.is_none() && !is_method,
    };
    Ok(CommandOutcome { answer: Box::new(answer), exit: loaded.exit(0) })
}

/// Asks for the fields that must be there, or will be asked for, and are not.
fn ask(
    skeleton: &skeleton::Skeleton<'_>,
    filled: &mut fields::Filled,
    sources: &[&str],
    against: &dyn Fn(&fields::Filled, &str) -> Option<String>,
) -> Result<(), Fault> {
    question::begin();
    // An answer may bring further questions: what kind of test it is says what it needs.
    let mut put = Vec::new();
    loop {
        let next = skeleton.questions(filled).into_iter().find(|field| filled.get(field).is_none() && !put.contains(field));
        let Some(field) = next else { return Ok(()) };
        let refused = |answer: &str| {
            let mut trial = filled.clone();
            trial.set(&field, answer);
            against(&trial, &field)
        };
        if let Some(answer) = question::ask(&skeleton.question(&field, sources.to_vec()), refused)? {
            filled.set(&field, &answer);
        }
        put.push(field);
    }
}

/// The id asked for, or the one its name gives.
fn id(args: &NewArgs, name: Option<&str>) -> Result<String, Fault> {
    let id = match (&args.id, name) {
        (Some(id), _) => id.clone(),
        (None, Some(name)) => id_of(name),
        (None, None) => {
            return Err(Fault::usage("the record needs a name").help("--name 'Acrylate resin, tough, grey', or --id tough-grey"));
        }
    };
    id_as_given(&id)
}

fn id_as_given(id: &str) -> Result<String, Fault> {
    match ids::fault(id) {
        None => Ok(id.to_owned()),
        Some(_) => {
            Err(Fault::usage(format!("`{id}` is not a valid id")).help("give --id with small letters, digits and single hyphens"))
        }
    }
}

/// Small letters, digits and single hyphens out of a name.
fn id_of(name: &str) -> String {
    let words = name.split(|c: char| !c.is_ascii_alphanumeric()).filter(|w| !w.is_empty());
    let mut id = words.map(str::to_ascii_lowercase).collect::<Vec<_>>().join("-");
    id.truncate(ids::LONGEST);
    id.trim_end_matches('-').to_owned()
}

/// The last folder pack: the one stood in, else the last one named.
pub(super) fn pack_folder(book: &Book) -> Result<PathBuf, Fault> {
    let mut folders = book.packs().iter().filter_map(|p| match &p.root {
        PackRoot::Folder { path, .. } => Some(path.clone()),
        _ => None,
    });
    let fault = Fault::usage("there is no pack to write to").help(
        "change into a pack (a folder with a pack.yaml; `gripbook new pack` makes one), name one with --into DIR, or use --print",
    );
    folders.next_back().ok_or(fault)
}

impl Answer for NewRecords {
    fn schema(&self) -> &'static str {
        "gripbook/new/1"
    }
    fn json(&self) -> Value {
        let one = |o: &One| json!({"file": o.file, "written": self.written, "text": o.text, "to_fill_in": findings::json(&o.open), "told": o.told});
        let all: Vec<Value> = self.all.iter().map(one).collect();
        let mut document = self.all.first().map_or_else(|| json!({}), one);
        document["records"] = all.into();
        document
    }
    fn page(&self) -> Page {
        let mut page = Page::default();
        if !self.written {
            self.all.iter().for_each(|one| page.blocks.push(Block::Verbatim(one.text.clone())));
            return page;
        }
        for one in &self.all {
            page.line(format!("{} written", one.file));
            if one.open.is_empty() && self.is_skeleton {
                page.line("It passes check. Uncomment what you know; then run gripbook check, gripbook audit and gripbook tidy.");
            } else if !one.open.is_empty() {
                page.line("Still to be filled in:");
            }
            for f in &one.open {
                let line = f.place.span.map(|s| format!("line {}: ", s.line)).unwrap_or_default();
                page.item(format!("{line}{} ({})", f.message, f.rule));
            }
            one.told.iter().for_each(|line| {
                page.line(line.clone());
            });
        }
        if self.is_skeleton {
            page.line("When it is filled in, `gripbook tidy --finish` removes the hints.");
        }
        if self.brings_schemas {
            page.line("The schemas for editors are in .schemas of the pack: an editor with a YAML language server completes and explains every field.");
        }
        page
    }
}

#[cfg(test)]
mod tests {
    use super::id_of;

    #[test]
    fn an_id_comes_out_of_a_name() {
        assert_eq!(id_of("Acrylate resin, tough — dark grey"), "acrylate-resin-tough-dark-grey");
        assert_eq!(id_of("PA12 (GF 30)"), "pa12-gf-30");
    }
}
