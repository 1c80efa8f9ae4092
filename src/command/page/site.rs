//! A folder for any web server: a page of every record and source, the ledger, a feed of changes. No script is needed.

use super::changes;
use crate::command::card::Commands;
use crate::command::library::Loaded;
use crate::command::{Arguments, Context, Fault, export, refusal};
use gripbook::present::html::{body, escaped};
use gripbook::present::{Page, Table};
use std::collections::BTreeMap;
use std::path::PathBuf;

/// Name of the file that answers, in the folder.
pub const BOOK: &str = "book.html";
const STYLE: &str = include_str!("site.css");

/// What the folder is made of.
pub struct Site<'a> {
    /// The packs.
    pub loaded: &'a Loaded,
    /// What is asked for the pages: they are answers of the program.
    pub commands: Commands,
    /// The surroundings, with the packs in them.
    pub context: &'a Context,
    /// Whether the file that answers stands in the folder.
    pub has_book: bool,
}

impl Site<'_> {
    /// The files by their path in the folder.
    ///
    /// # Errors
    /// A page that cannot be made.
    pub fn pages(&self) -> Result<Vec<(PathBuf, String)>, Fault> {
        let book = &self.loaded.book;
        let mut files = vec![(PathBuf::from("site.css"), STYLE.to_owned())];
        for record in book.records() {
            let id = record.id.to_string();
            let mut page = self.answer(&["show", &id, "--full"])?;
            let sources = export::sources(book, &[record]);
            if record.id.kind() != "source" && !sources.is_empty() {
                page.heading("Sources");
                sources.iter().for_each(|source| {
                    page.item(format!("{} {}", source.id, source.name));
                });
            }
            files.push((format!("{id}.html").into(), self.document(&page, &id, 1)));
        }
        let today = &self.context.today;
        let changes = changes::of(book, self.context);
        files.push(("ledger.html".into(), self.document(&self.answer(&["audit", "--ledger"])?, "Ledger", 0)));
        files.push(("changes.html".into(), self.document(&changes::page(&changes), "Changes", 0)));
        files.push(("changes.xml".into(), changes::feed(&changes, &self.title(), today)));
        files.push(("index.html".into(), self.document(&self.index(), &self.title(), 0)));
        Ok(files)
    }
    fn title(&self) -> String {
        let names: Vec<&str> = self.loaded.book.packs().iter().map(|pack| &*pack.title).collect();
        names.join(" · ")
    }
    fn answer(&self, words: &[&str]) -> Result<Page, Fault> {
        let words = std::iter::once("gripbook").chain(words.iter().copied());
        let arguments = Arguments::read(self.commands, words).map_err(|e| refusal::told(&e, self.commands))?;
        Ok(arguments.run(self.commands, self.context)?.answer.page())
    }
    fn index(&self) -> Page {
        let book = &self.loaded.book;
        let mut page = Page::titled(self.title());
        for pack in book.packs() {
            page.line(pack.description.as_deref().unwrap_or_default());
        }
        page.heading("How it is known").item("ledger.html").item("changes.html");
        if self.has_book {
            page.heading("Ask it").item(BOOK);
        }
        let mut kinds: BTreeMap<String, Table> = BTreeMap::new();
        for record in book.records() {
            let table = kinds.entry(record.id.kind().to_owned()).or_insert_with(|| Table::new(&["record", "name"]));
            let invented = if record.invented() { ", invented" } else { "" };
            table.row(vec![record.id.to_string().into(), format!("{}{invented}", record.name).into()]);
        }
        for (kind, table) in kinds {
            page.heading(kind).table(table);
        }
        page
    }
    /// A document at so many folders below the start.
    fn document(&self, page: &Page, title: &str, depth: usize) -> String {
        let up = "../".repeat(depth);
        let leads = |word: &str| self.leads(word).map(|address| format!("{up}{address}"));
        format!(
            "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
             <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
             <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'self'; base-uri 'none'\">\n\
             <title>{}</title>\n<link rel=\"stylesheet\" href=\"{up}site.css\">\n\
             <link rel=\"alternate\" type=\"application/atom+xml\" href=\"{up}changes.xml\">\n</head>\n<body>\n\
             <nav><a href=\"{up}index.html\">gripbook</a> <a href=\"{up}ledger.html\">ledger</a> \
             <a href=\"{up}changes.html\">changes</a></nav>\n<main>\n{}</main>\n</body>\n</html>\n",
            escaped(title),
            body(page, &leads),
        )
    }
    /// The file a word names: a record, a claim of one, a source by its short id, a file of the folder.
    fn leads(&self, word: &str) -> Option<String> {
        if ["ledger.html", "changes.html", BOOK].contains(&word) {
            return Some(word.to_owned());
        }
        let id = word.split(':').next().unwrap_or(word);
        let record = self.loaded.book.record(id).or_else(|| self.loaded.book.record(&format!("source/{id}")))?;
        Some(format!("{}.html", record.id))
    }
}
