//! `affected`: from a claim up to all that used it: claims computed from it, records and series that name it, bias estimates of
//! the joint models, saved sheets.

use super::asked::{Asked, Use};
use super::{AffectedArgs, bias, sheet};
use crate::audit::address;
use crate::book::{Book, Record, files};
use crate::command::{Context, Fault, Outcome, Shared, library};
use crate::present::{Answer, Page};
use serde_json::{Value, json};
use std::path::Path;

struct Affected {
    what: String,
    uses: Vec<Use>,
    sheets: usize,
}

/// Lists what used a claim.
///
/// # Errors
/// A claim that does not exist (exit 1), sheets that cannot be read.
pub fn affected(args: &AffectedArgs, shared: &Shared, context: &Context) -> Result<Outcome, Fault> {
    let loaded = library::open(shared, context)?;
    let book = &loaded.book;
    let asked = Asked::of(book, &args.claim)?;
    let mut uses = computed_from(book, &asked.what, &asked.claims);
    for reference in book.references_to(asked.record.id.as_str()) {
        let sort = if reference.record.kind() == "series" { "series" } else { "record" };
        if !uses.iter().any(|u| u.name.starts_with(reference.record.as_str())) {
            let how = format!("names {} at {}", asked.record.id, reference.at);
            uses.push(Use { sort, name: reference.record.to_string(), how });
        }
    }
    uses.extend(bias::uses(book, context.registry.methods, &asked));
    let files = sheet::files(book, &args.paths, context)?;
    let sheets = files.len();
    for file in files {
        let sheet = sheet::read(&context.folder.join(&file))?;
        let used: Vec<String> = sheet::used(&sheet).into_iter().map(|u| u.address).filter(|a| asked.touched_by(a)).collect();
        if !used.is_empty() {
            uses.push(Use { sort: "sheet", name: shown(&file, context), how: format!("used {}", used.join(", ")) });
        }
    }
    let is_no = uses.is_empty();
    Ok(Outcome { answer: Box::new(Affected { what: asked.what, uses, sheets }), exit: loaded.exit(u8::from(is_no)) })
}

/// A path as seen from where one stands.
fn shown(file: &Path, context: &Context) -> String {
    let here = std::fs::canonicalize(&context.folder).unwrap_or_else(|_| context.folder.clone());
    files::shown(file.strip_prefix(&here).or_else(|_| file.strip_prefix(&context.folder)).unwrap_or(file))
}

/// Claims computed from the claim, from those, and so on.
fn computed_from(book: &Book, what: &str, claims: &[String]) -> Vec<Use> {
    let mut open: Vec<String> = std::iter::once(what.to_owned()).chain(claims.iter().cloned()).collect();
    let mut uses: Vec<Use> = Vec::new();
    while let Some(next) = open.pop() {
        let all = book
            .records()
            .into_iter()
            .flat_map(|r: &Record| r.properties.iter().flat_map(move |p| p.claims.iter().map(move |c| (r, p, c))));
        for (record, property, claim) in all {
            let from = claim.from.iter().any(|f| **f == *next || address::resolve(book, f).iter().any(|n| n.address() == next));
            let name = record.address(&property.word, claim);
            if from && !uses.iter().any(|u| u.name == name) {
                uses.push(Use { sort: "claim", name: name.clone(), how: format!("computed from {next}") });
                open.push(name);
            }
        }
    }
    uses
}

impl Answer for Affected {
    fn schema(&self) -> &'static str {
        "gripbook/affected/1"
    }
    fn json(&self) -> Value {
        let uses: Vec<Value> = self.uses.iter().map(|u| json!({"sort": u.sort, "name": u.name, "how": u.how})).collect();
        json!({"what": self.what, "used_by": uses, "sheets_looked_into": self.sheets})
    }
    fn page(&self) -> Page {
        let mut page = Page::titled(format!("What used {}", self.what));
        page.blank();
        for u in &self.uses {
            // An id says its kind itself.
            let what = match u.sort {
                "bias" => format!("bias of {}", u.name),
                "sheet" => format!("sheet {}", u.name),
                _ => u.name.clone(),
            };
            page.item(format!("{what}: {}", u.how));
        }
        if self.uses.is_empty() {
            page.line("Nothing in the loaded packs or in the saved sheets.");
        }
        let sheets = if self.sheets == 1 { "1 saved sheet was".into() } else { format!("{} saved sheets were", self.sheets) };
        page.blank().line(format!("{sheets} looked at"));
        page
    }
}
