//! Which adhesive and which material somebody means, in whatever order and with however many words they are typed.

use super::SuitsArgs;
use crate::command::mistakes::Mistakes;
use crate::command::{Fault, library};
use gripbook::book::{Book, Miss, Record};

/// What is asked about.
pub enum Subjects<'b> {
    /// Does this adhesive suit this material?
    Pair {
        /// The adhesive.
        adhesive: &'b Record,
        /// The material.
        material: &'b Record,
    },
    /// Which adhesives suit this material?
    Material(&'b Record),
    /// Which materials does this adhesive suit?
    Adhesive(&'b Record),
}

const ADHESIVE: &str = "adhesive";
const MATERIAL: &str = "material";

/// The subjects, or `None` with the mistakes kept.
pub fn subjects<'b>(args: &SuitsArgs, book: &'b Book, mistakes: &mut Mistakes) -> Option<Subjects<'b>> {
    if let Some(text) = &args.of_material {
        return mistakes.record(book, text, MATERIAL).map(Subjects::Material);
    }
    if let Some(text) = &args.of_adhesive {
        return mistakes.record(book, text, ADHESIVE).map(Subjects::Adhesive);
    }
    if args.asked.is_empty() {
        mistakes.add(super::nothing_asked());
        return None;
    }
    pair(&args.asked, book).or_else(|| alone(&args.asked, book)).or_else(|| {
        explain(&args.asked, book, mistakes);
        None
    })
}

/// Two names, in either order; words of one name need no quotes where only one way to part them gives two records.
fn pair<'b>(words: &[String], book: &'b Book) -> Option<Subjects<'b>> {
    let is = |text: &str, role: &str| book.resolve(text, &[role]).ok();
    for at in 1..words.len() {
        let (a, b) = (words[..at].join(" "), words[at..].join(" "));
        for (glue, part) in [(&a, &b), (&b, &a)] {
            if let (Some(adhesive), Some(material)) = (is(glue, ADHESIVE), is(part, MATERIAL)) {
                return Some(Subjects::Pair { adhesive, material });
            }
        }
    }
    None
}

/// One name alone asks for a ranking.
fn alone<'b>(words: &[String], book: &'b Book) -> Option<Subjects<'b>> {
    let text = words.join(" ");
    let is = |role: &str| book.resolve(&text, &[role]).ok();
    match (is(ADHESIVE), is(MATERIAL)) {
        (Some(adhesive), None) => Some(Subjects::Adhesive(adhesive)),
        (None, Some(material)) => Some(Subjects::Material(material)),
        _ => None,
    }
}

/// Says what is wrong, reading the words the way that makes most sense of them.
fn explain(words: &[String], book: &Book, mistakes: &mut Mistakes) {
    let is = |text: &str, role: &str| book.resolve(text, &[role]).is_ok();
    if let [only] = words {
        match library::find(book, only, &[ADHESIVE, MATERIAL]) {
            Err(fault) => mistakes.add(fault),
            Ok(_) => mistakes.add(
                Fault::usage(format!("`{only}` is an adhesive and a material"))
                    .help(format!("`gripbook suits --material {only}` or `gripbook suits --adhesive {only}`")),
            ),
        }
        return;
    }
    // Of all ways to part the words and of both orders the one that makes most sense; of equals the first.
    let split = |at: usize| (words[..at].join(" "), words[at..].join(" "));
    let ways = (1..words.len()).flat_map(|at| {
        let (a, b) = split(at);
        [(a.clone(), b.clone()), (b, a)]
    });
    let sense = |(glue, part): &(String, String)| known(book, glue, ADHESIVE) + known(book, part, MATERIAL);
    let ways: Vec<(String, String)> = ways.collect();
    let Some(most) = ways.iter().map(sense).max() else { return };
    let Some((glue, part)) = ways.iter().find(|way| sense(way) == most) else { return };
    for (role, other) in [(ADHESIVE, MATERIAL), (MATERIAL, ADHESIVE)] {
        if is(glue, role) && is(part, role) && !is(glue, other) && !is(part, other) {
            let fault = Fault::usage(format!("`{glue}` and `{part}` are both {role}s; name the {other} too"));
            mistakes.add(fault.help("for example: gripbook suits cyanoacrylate-thick pla"));
            return;
        }
    }
    mistakes.record(book, glue, ADHESIVE);
    mistakes.record(book, part, MATERIAL);
}

/// How much sense a name makes in a role: a record, a class of several, nothing.
fn known(book: &Book, text: &str, role: &str) -> u8 {
    match book.resolve(text, &[role]) {
        Ok(_) => 2,
        Err(Miss::Class { .. } | Miss::Ambiguous { .. }) => 1,
        Err(Miss::Unknown { .. }) => 0,
        // It names one, and that it may not be used is what has to be said.
        Err(Miss::Withdrawn { .. }) => 2,
    }
}
