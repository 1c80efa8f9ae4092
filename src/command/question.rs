//! Questions to the person at the terminal. An answer is judged at once: what `check` would refuse is asked for again.

use super::Fault;
use gripbook::book::{Book, PackRoot};
use gripbook::check::Checker;
use gripbook::finding::{Finding, Severity};
use gripbook::present::writer;
use gripbook::read;
use std::io::{BufRead, IsTerminal};

/// Whether somebody is there to be asked.
pub fn can_ask() -> bool {
    std::io::stdin().is_terminal() && writer::notices_to_terminal()
}

/// Told before the first question.
pub fn begin() {
    writer::notice("An empty line leaves a field open, `?` lists what it may hold, Ctrl-C ends without writing anything.");
}

/// A question for one field.
pub struct TerminalQuestion<'q> {
    /// The field.
    pub field: &'q str,
    /// What it means.
    pub meaning: String,
    /// What it may hold, where that is a list.
    pub words: Vec<&'q str>,
}

/// The answer to a question, asked until `against` has nothing against it; nothing when the line is empty.
///
/// # Errors
/// The end of the input: nobody answers any more.
pub fn ask(question: &TerminalQuestion<'_>, against: impl Fn(&str) -> Option<String>) -> Result<Option<String>, Fault> {
    writer::notice(&format!("\n{}: {}", question.field, question.meaning));
    loop {
        writer::passing("> ");
        let mut line = String::new();
        let read =
            std::io::stdin().lock().read_line(&mut line).map_err(|e| Fault::environment(format!("standard input: {e}")))?;
        match line.trim() {
            "" if read == 0 => return Err(Fault::usage("the questions were not answered to the end; nothing was written")),
            "" => return Ok(None),
            "?" if question.words.is_empty() => writer::notice("no list of words: any text of this form"),
            "?" => writer::notice(&question.words.join(", ")),
            answer => match against(answer) {
                None => return Ok(Some(answer.to_owned())),
                Some(why) => writer::notice(&why),
            },
        }
    }
}

/// What `check` has against the value at a pointer of a record, in one line; what is missing elsewhere is none of it.
pub fn against(checker: &Checker<'_>, pack: usize, subject: (&str, &str), text: &str, pointer: &str) -> Option<String> {
    let reading = read::read(text.as_bytes());
    let node = reading.tree.as_ref()?.at(pointer)?;
    let inside = |f: &&Finding| {
        f.severity == Severity::Error && f.place.span.is_some_and(|s| node.span.start <= s.start && s.end <= node.span.end)
    };
    let checked = checker.record(pack, subject, "answer", text.as_bytes());
    let found = checked.findings.iter().find(inside)?;
    Some(match &found.help {
        Some(help) => format!("{}: {help}", found.message),
        None => found.message.clone(),
    })
}

/// The sources of packs that can be written to, by id: those a contributor is most likely to mean.
pub fn own_sources(book: &Book) -> Vec<&str> {
    let is_own = |pack: usize| book.packs().get(pack).is_some_and(|p| matches!(p.root, PackRoot::Folder { .. }));
    book.of_kind("source").filter(|source| is_own(source.pack)).map(|source| source.id.name()).collect()
}
