//! Packs in folders, with what is remembered of them between runs.

use super::Reading;
use crate::command::{Context, Fault, Shared, waiting::Waiting};
use gripbook::book::{self, Book, WantedPacks};
use gripbook::check;
use gripbook::finding::Finding;
use gripbook::index::{Cache, Found, Query, search};
use gripbook::present::writer;
use std::sync::Arc;

/// What is remembered, where there is a folder for it.
#[derive(Default)]
pub struct Remembered(Option<Cache>);

impl Remembered {
    /// What earlier runs left.
    pub fn of(shared: &Shared, context: &Context) -> Self {
        let folder = context.cache.as_ref();
        Remembered(folder.map(|folder| Cache::new(folder, &context.folder, shared.rehash, context.begun)))
    }
    /// Of records, for loading.
    pub fn of_records(&self) -> Option<&dyn book::memory::Memory> {
        self.0.as_ref().map(|cache| cache as _)
    }
    /// Of findings, for checking.
    pub fn of_findings(&self) -> Option<&dyn check::Memory> {
        self.0.as_ref().map(|cache| cache as _)
    }
    /// What a person is to know of it.
    pub fn notice(&self) -> Option<String> {
        self.0.as_ref().and_then(Cache::notice)
    }
    /// Searches a book; `None` when an index is damaged, which is then thrown away.
    pub(super) fn search(&self, book: &Book, query: &Query) -> Option<Found> {
        match &self.0 {
            Some(cache) => cache.search(book, query).inspect_err(|_| cache.forget(book)).ok(),
            None => Some(search(book, query)),
        }
    }
}

/// Loads the packs that were asked for.
pub(super) fn load(shared: &Shared, context: &Context, reading: Reading) -> Result<(Arc<Book>, Remembered), Fault> {
    let asked = WantedPacks { packs: shared.pack.clone(), here: context.folder.clone(), home: context.home.clone() };
    let roots = asked.roots().map_err(|f| refused(&f))?;
    let remembered = match reading {
        Reading::Afresh => Remembered::default(),
        Reading::Whole => Remembered::of(shared, context),
        Reading::ToSearch => Remembered(Remembered::of(shared, context).0.map(Cache::for_search)),
    };
    // The first run over a large pack makes its index; later ones are much shorter.
    let waiting = Waiting::on("reading the records; the next run will be faster");
    let book = match remembered.of_records() {
        Some(memory) => Book::load_with(&roots, &context.folder, memory),
        None => Book::load(&roots, &context.folder),
    };
    drop(waiting);
    let book = book.map_err(|f| refused(&f))?;
    let forgetful = "there is no cache folder (HOME and GRIPBOOK_CACHE are unset), so every run reads all records again";
    let notice = if context.cache.is_none() { Some(forgetful.to_owned()) } else { remembered.notice() };
    notice.iter().for_each(|n| writer::notice(&format!("note: {n}")));
    for notice in &book.notices {
        writer::notice(&format!("note: {notice}"));
    }
    super::left_out(&book).iter().for_each(|line| writer::notice(line));
    let book = Arc::new(book);
    context.leave(Arc::clone(&book));
    Ok((book, remembered))
}

fn refused(finding: &Finding) -> Fault {
    let place = if finding.place.file.is_empty() { String::new() } else { format!("{}: ", finding.place.file) };
    Fault { exit: 3, message: format!("{place}{}", finding.message), help: finding.help.clone() }
}
