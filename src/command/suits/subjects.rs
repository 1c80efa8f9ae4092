//! Which adhesive and which material somebody means, in whatever order and with however many words they are typed.

use super::SuitsArgs;
use crate::book::{Book, Record};
use crate::command::mistakes::Mistakes;
use crate::command::{Fault, library};

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
    // The split of which one side is a name that is known, else the first.
    let known = |at: &usize| {
        let (a, b) = (words[..*at].join(" "), words[*at..].join(" "));
        [ADHESIVE, MATERIAL].iter().any(|role| is(&a, role) || is(&b, role))
    };
    let at = (1..words.len()).find(known).unwrap_or(1);
    let (a, b) = (words[..at].join(" "), words[at..].join(" "));
    for (role, other) in [(ADHESIVE, MATERIAL), (MATERIAL, ADHESIVE)] {
        if is(&a, role) && is(&b, role) && !is(&a, other) && !is(&b, other) {
            let fault = Fault::usage(format!("`{a}` and `{b}` are both of the role {role}; the {other} is missing"));
            mistakes.add(fault.help("gripbook suits cyanoacrylate-thick pla"));
            return;
        }
    }
    let swapped = is(&b, ADHESIVE) || is(&a, MATERIAL) || (is_class(book, &a, MATERIAL) || is_class(book, &b, ADHESIVE));
    let (glue, part) = if swapped { (&b, &a) } else { (&a, &b) };
    mistakes.record(book, glue, ADHESIVE);
    mistakes.record(book, part, MATERIAL);
}

fn is_class(book: &Book, text: &str, role: &str) -> bool {
    matches!(book.resolve(text, &[role]), Err(crate::book::Miss::Class { .. }))
}
