//! `gripbook page`: the loaded packs and the answers as one file for a browser, or as a folder for any web server.

mod book_file;
mod changes;
mod site;

use super::card::{CommandCard, Commands, Effect, HelpGroup, PAGE, RunAmong};
use super::{CommandOutcome, Context, Fault, Shared, headings, library, save, waiting::Waiting};
use gripbook::present::{Answer, Page, counted};
use serde_json::{Value, json};
use std::path::PathBuf;
use std::sync::Arc;

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "page",
    about: "Write the book and its answers as one file for a browser",
    group: HelpGroup::Book,
    formats: PAGE,
    effect: Effect::Writes,
    outputs: &[],
    runs: &RunAmong(run),
};

/// Arguments of `page`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::OUTPUT, after_help = "Examples:
  gripbook page --out book.html                  opens without a server, a network or this program
  gripbook page --out bench.html --pack demo     with the demo pack
  gripbook page --site public --pack my-pack     a folder for a web server: every record a page")]
pub struct PageArgs {
    /// Write one file that answers in a browser
    #[arg(long, value_name = "FILE.html")]
    out: Option<PathBuf>,
    /// Write a folder with a readable page of every record and source, the ledger and a feed of changes
    #[arg(long, value_name = "DIR")]
    site: Option<PathBuf>,
    /// The module that answers in the browser, as tools/page makes it; without it the one of this build
    #[arg(long, value_name = "FILE.wasm.gz")]
    module: Option<PathBuf>,
}

/// The module that is part of this build.
#[cfg(feature = "page")]
const BUILT_IN_MODULE: Option<&[u8]> = Some(include_bytes!("../../target/browser/gripbook.wasm.gz"));
#[cfg(not(feature = "page"))]
const BUILT_IN_MODULE: Option<&[u8]> = None;

/// Largest module that is taken, bytes.
const MODULE_LIMIT: u64 = 64 * 1024 * 1024;

/// What was written.
struct Written {
    files: Vec<(PathBuf, usize)>,
    packs: Vec<String>,
    left_out: Vec<String>,
}

/// Writes the page, the folder, or both.
///
/// # Errors
/// Nothing asked for, no module, files that cannot be written; nothing is written then.
pub fn run(args: &PageArgs, commands: Commands, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    if args.out.is_none() && args.site.is_none() {
        return Err(Fault::usage("name a file or a folder to write").help("for example: gripbook page --out book.html"));
    }
    let loaded = library::open(shared, context)?;
    let _waiting = Waiting::on("writing the pages");
    let mut files: Vec<(PathBuf, Vec<u8>)> = Vec::new();
    let mut left_out = Vec::new();
    let module = module(args, context)?;
    if args.out.is_some() && module.is_none() {
        let fault = Fault::usage("this build has no module for the page in it");
        return Err(fault.help("run tools/page, which makes the module and a program with it, or name one with --module"));
    }
    if let Some(module) = &module {
        let file = book_file::write(&loaded, context, module)?;
        left_out.extend(file.left_out);
        let name = args.site.as_ref().map(|folder| folder.join(site::BOOK));
        files.extend(args.out.iter().cloned().chain(name).map(|path| (path, file.html.clone().into_bytes())));
    }
    if let Some(folder) = &args.site {
        let within = Context { book: Some(Arc::clone(&loaded.book)), ..context.clone() };
        let pages = site::Site { loaded: &loaded, commands, context: &within, has_book: module.is_some() }.pages()?;
        files.extend(pages.into_iter().map(|(path, text)| (folder.join(path), text.into_bytes())));
    }
    let mut batch = save::Batch::default();
    files.iter().for_each(|(path, bytes)| batch.output(path, bytes.as_slice()));
    batch.commit(context)?;
    let packs = loaded.book.packs().iter().map(|pack| format!("{} ({})", pack.id, pack.root.origin())).collect();
    let files = files.into_iter().map(|(path, bytes)| (path, bytes.len())).collect();
    Ok(CommandOutcome { answer: Box::new(Written { files, packs, left_out }), exit: loaded.exit(0) })
}

/// The module that was named, else that of the build.
fn module(args: &PageArgs, context: &Context) -> Result<Option<Vec<u8>>, Fault> {
    let Some(path) = &args.module else { return Ok(BUILT_IN_MODULE.map(<[u8]>::to_vec)) };
    let bytes = gripbook::read::file::load_at_most(&context.folder.join(path), MODULE_LIMIT)
        .map_err(|fault| Fault::data(format!("{}: {}", path.display(), fault.message)))?;
    if !bytes.starts_with(&[0x1f, 0x8b]) {
        return Err(Fault::data(format!("{} is no compressed module", path.display())).help("tools/page makes it"));
    }
    Ok(Some(bytes))
}

impl Answer for Written {
    fn schema(&self) -> &'static str {
        "gripbook/page/1"
    }
    fn json(&self) -> Value {
        let files = self.files.iter().map(|(path, bytes)| json!({"file": path, "bytes": bytes}));
        json!({"files": files.collect::<Vec<_>>(), "packs": self.packs, "left_out": self.left_out})
    }
    fn page(&self) -> Page {
        let mut page = match &self.files[..] {
            [(path, bytes)] => Page::titled(format!("Written: {}, {:.1} MB", path.display(), *bytes as f64 / 1e6)),
            files => Page::titled(format!("Written: {}", counted(files.len(), "file"))),
        };
        page.field("holds", self.packs.join(", "));
        page.line("Who gets it gets all records of these packs.");
        self.left_out.iter().for_each(|line| {
            page.item(format!("left out: {line}"));
        });
        page
    }
}
