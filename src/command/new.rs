//! `new`: a record to be filled in. The skeleton comes from the schema: every property with its unit and its meaning.

pub(super) mod skeleton;

use super::card::{CommandCard, Effect, HelpGroup, PAGE, Run};
use super::{Context, Fault, Outcome, Shared, headings, library, save};
use crate::book::{Book, PackRoot, kinds};
use crate::check::{Checker, ids};
use crate::present::{Answer, Block, Page, findings, writer};
use serde_json::{Value, json};
use std::io::{BufRead, IsTerminal};
use std::path::{Path, PathBuf};

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "new",
    about: "A record to be filled in, with every property's unit and meaning",
    group: HelpGroup::Contributions,
    formats: PAGE,
    effect: Effect::Writes,
    outputs: &[],
    runs: &Run(run),
};

/// Arguments of `new`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED)]
pub struct NewArgs {
    /// Kind of the record: polymer, resin, adhesive, series, source …
    pub kind: String,
    /// What people call it (of a source: its title)
    #[arg(long)]
    pub name: Option<String>,
    /// Id; made from the name unless given
    #[arg(long)]
    pub id: Option<String>,
    /// A field of the record, e.g. family=pla, joint.test=pull-out (repeatable)
    #[arg(long = "set", value_name = "FIELD=VALUE", help_heading = headings::COMPUTED)]
    pub set: Vec<String>,
    /// A claim, e.g. 'tg: 61 °C; source=river-logger-2026-03; locator=sheet 2; basis=measured; n=5' (repeatable)
    #[arg(long = "claim", value_name = "PROPERTY: VALUE; FIELD=…")]
    pub claims: Vec<String>,
    /// The pack; without: the one stood in
    #[arg(long, value_name = "DIR", help_heading = headings::OUTPUT)]
    pub into: Option<PathBuf>,
    /// Write it to standard output only
    #[arg(long, help_heading = headings::OUTPUT)]
    pub print: bool,
}

/// A new record.
struct Made {
    file: String,
    text: String,
    /// What check says is still to be filled in.
    open: Vec<crate::finding::Finding>,
    written: bool,
    /// Where the schemas would be looked for, when they are not there.
    schemas: Option<String>,
}

/// Makes a record.
///
/// # Errors
/// A kind that does not exist, no pack to write into, a file that exists already.
pub fn run(args: &NewArgs, shared: &Shared, context: &Context) -> Result<Outcome, Fault> {
    let mut shared = shared.clone();
    if let Some(into) = &args.into {
        shared.pack.push(into.to_string_lossy().into_owned());
    }
    let loaded = library::open(&shared, context)?;
    let book = &loaded.book;
    let checker = Checker::new(kinds::built_in_schemas(), &library::packs_for_check(book, context)).map_err(|e| Fault {
        exit: 70,
        message: format!("an embedded schema is broken: {e}"),
        help: None,
    })?;
    let schemas = checker.schemas();
    let kind = schemas.kind(&args.kind).ok_or_else(|| {
        let all: Vec<&str> = schemas.kinds().iter().map(|k| k.word.as_str()).collect();
        Fault::usage(format!("`{}` is no kind", args.kind)).help(format!("kinds are {}", all.join(", ")))
    })?;
    let skeleton = skeleton::Skeleton::of(schemas, kind);
    let mut filled = skeleton::filled(&args.set, &args.claims)?;
    if let Some(name) = &args.name {
        filled.set(skeleton.title_field(), name);
    }
    if !args.print && std::io::stdin().is_terminal() && writer::notices_to_terminal() {
        ask(&skeleton, &mut filled)?;
    }
    let id = match (&args.id, filled.get(skeleton.title_field())) {
        (Some(id), _) => id.clone(),
        (None, Some(name)) => id_of(name),
        (None, None) => {
            return Err(Fault::usage("a name is needed").help("--name 'Acrylate resin, tough, grey', or --id tough-grey"));
        }
    };
    if ids::fault(&id).is_some() {
        return Err(Fault::usage(format!("`{id}` cannot be an id")).help("--id with small letters, digits and single hyphens"));
    }
    let root = (!args.print).then(|| pack_folder(book)).transpose()?;
    let path = root.as_ref().map(|r| r.join(&kind.folder).join(format!("{id}.yaml")));
    let line = path.as_ref().and_then(|p| schema_line(&context.folder.join(p), &kind.file));
    let text = skeleton.text(&filled, line.as_deref());
    let schemas = root.as_ref().filter(|_| line.is_none()).map(|r| crate::book::files::shown(&r.join("../schemas")));
    let shown = path.as_ref().map_or_else(|| format!("{}/{id}.yaml", kind.folder), |p| crate::book::files::shown(p));
    let open = library::judge(book, &format!("{}/{id}", kind.word), &shown, &text, context)?;
    if let Some(path) = &path {
        let whole = context.folder.join(path);
        if save::exists(&whole)? {
            return Err(Fault::usage(format!("{shown} exists already")).help("choose another --id, or edit the file"));
        }
        save::create(&whole, text.as_bytes())?;
    }
    Ok(Outcome { answer: Box::new(Made { file: shown, text, open, written: path.is_some(), schemas }), exit: loaded.exit(0) })
}

/// Asks for the fields that must be there and are not.
fn ask(skeleton: &skeleton::Skeleton<'_>, filled: &mut skeleton::Filled) -> Result<(), Fault> {
    let stdin = std::io::stdin();
    for (field, question) in skeleton.questions() {
        if filled.get(&field).is_some() {
            continue;
        }
        writer::notice(&format!("{question} (empty: later)"));
        let mut line = String::new();
        stdin.lock().read_line(&mut line).map_err(|e| Fault::environment(format!("standard input: {e}")))?;
        let answer = line.trim();
        if !answer.is_empty() {
            filled.set(&field, answer);
        }
    }
    Ok(())
}

/// Small letters, digits and single hyphens out of a name.
fn id_of(name: &str) -> String {
    let words = name.split(|c: char| !c.is_ascii_alphanumeric()).filter(|w| !w.is_empty());
    let mut id = words.map(str::to_ascii_lowercase).collect::<Vec<_>>().join("-");
    id.truncate(ids::LONGEST);
    id.trim_end_matches('-').to_owned()
}

/// The last folder pack: the one stood in, else the last one named.
fn pack_folder(book: &Book) -> Result<PathBuf, Fault> {
    let mut folders = book.packs().iter().filter_map(|p| match &p.root {
        PackRoot::Folder { path, .. } => Some(path.clone()),
        _ => None,
    });
    let fault = Fault::usage("no pack to write into")
        .help("stand in a pack (a folder with a pack.yaml), name one with --into DIR, or use --print");
    folders.next_back().ok_or(fault)
}

/// The line for editors, where the schemas stand beside the packs.
fn schema_line(path: &Path, file: &str) -> Option<String> {
    // The folder of the kind may not exist yet, so its ways up are looked for from the pack.
    let pack = path.parent()?.parent()?;
    let ways = ["schemas", "../schemas", "../../schemas"];
    let way = ways.iter().find(|w| pack.join(w).join(file).is_file())?;
    Some(format!("# yaml-language-server: $schema=../{way}/{file}"))
}

impl Answer for Made {
    fn schema(&self) -> &'static str {
        "gripbook/new/1"
    }
    fn json(&self) -> Value {
        json!({"file": self.file, "written": self.written, "text": self.text, "to_fill_in": findings::json(&self.open)})
    }
    fn page(&self) -> Page {
        let mut page = Page::default();
        if !self.written {
            page.blocks.push(Block::Verbatim(self.text.clone()));
            return page;
        }
        page.line(format!("{} written", self.file));
        if self.open.is_empty() {
            page.line("It passes check. Uncomment what you know, then: gripbook check, gripbook audit, gripbook tidy.");
        } else {
            page.line("Still to be filled in:");
            for f in &self.open {
                let line = f.place.span.map(|s| format!("line {}: ", s.line)).unwrap_or_default();
                page.item(format!("{line}{} ({})", f.message, f.rule));
            }
        }
        page.line("When it is filled in, `gripbook tidy --finish` takes the hints out.");
        if let Some(folder) = &self.schemas {
            page.line(format!(
                "For completion in an editor: gripbook export --what schemas --out {folder}, before the next `new`."
            ));
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
