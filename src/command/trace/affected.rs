//! `affected`: what used a source, a record, a claim, a measurement or a single result: what would be lost without it, bias
//! estimates of the joint models, saved sheets. Nothing that merely names the same record.

use super::asked::{AffectedBy, Use};
use super::{AffectedArgs, bias, sheet};
use crate::command::{CommandOutcome, Context, Fault, Shared, library};
use gripbook::book::{Loss, files};
use gripbook::joint::mode::Mode;
use gripbook::present::{Answer, Page, counted};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

struct Affected {
    what: String,
    uses: Vec<Use>,
    sheets: usize,
}

/// Lists what used a source, record, claim, measurement or specimen.
///
/// # Errors
/// What does not exist (exit 1), sheets that cannot be read.
pub fn affected(args: &AffectedArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let loaded = library::open(shared, context)?;
    let book = &loaded.book;
    let asked = AffectedBy::of(book, &args.claim)?;
    let mut uses: Vec<Use> = asked.lost.iter().map(rested).collect();
    uses.extend(asked.computed_with());
    uses.extend(bias::uses(book, &context.registry.methods_of(book).all(), &asked));
    let files = once(sheet::files(book, &args.paths, context)?, context);
    let sheets = files.len();
    for file in files {
        let used = asked.used_by(&sheet::read(&context.folder.join(&file))?);
        if !used.is_empty() {
            uses.push(Use { sort: "sheet".into(), name: shown(&file, context), how: format!("used {}", used.join(", ")) });
        }
    }
    let is_no = uses.is_empty();
    Ok(CommandOutcome { answer: Box::new(Affected { what: asked.what, uses, sheets }), exit: loaded.exit(u8::from(is_no)) })
}

fn rested(loss: &Loss) -> Use {
    let through = loss.through.as_deref().unwrap_or(&loss.root);
    let is_claim = loss.what.contains(':');
    let how = match (is_claim, through.starts_with("source/")) {
        (_, true) => format!("cites {through}"),
        (true, _) => format!("computed from {through}"),
        (false, _) => format!("rests on {through}"),
    };
    let sort = if is_claim { "claim" } else { loss.record.kind() };
    Use { sort: sort.to_owned(), name: loss.what.clone(), how }
}

/// Each file once, by whatever path it was found.
fn once(files: Vec<PathBuf>, context: &Context) -> Vec<PathBuf> {
    let mut seen = BTreeSet::new();
    let whole = |file: &Path| std::fs::canonicalize(context.folder.join(file)).unwrap_or_else(|_| file.to_path_buf());
    files.into_iter().filter(|file| seen.insert(whole(file))).collect()
}

/// A path as seen from where one stands.
fn shown(file: &Path, context: &Context) -> String {
    let here = std::fs::canonicalize(&context.folder).unwrap_or_else(|_| context.folder.clone());
    files::shown(file.strip_prefix(&here).or_else(|_| file.strip_prefix(&context.folder)).unwrap_or(file))
}

/// Each text once, in the order of its first appearance.
fn distinct<'t>(texts: impl Iterator<Item = &'t str>) -> Vec<&'t str> {
    let mut all: Vec<&str> = Vec::new();
    texts.for_each(|text| {
        if !all.contains(&text) {
            all.push(text);
        }
    });
    all
}

/// The name with its sort, where it does not say that itself.
fn named(u: &Use) -> String {
    match &*u.sort {
        "bias" => {
            let modes = u.name.split(", ").map(|word| Mode::from_word(word).map_or(word, |mode| mode.text()));
            format!("model error of {}", modes.collect::<Vec<_>>().join(", "))
        }
        "sheet" => format!("sheet {}", u.name),
        _ => u.name.clone(),
    }
}

/// The name behind a label that tells its sort.
fn bare(u: &Use) -> &str {
    u.name.strip_prefix(&*u.sort).and_then(|rest| rest.strip_prefix('/')).unwrap_or(&u.name)
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
        for how in distinct(self.uses.iter().map(|u| &*u.how)) {
            let alike: Vec<&Use> = self.uses.iter().filter(|u| *u.how == *how).collect();
            match alike[..] {
                [one] => {
                    page.item(format!("{}: {how}", named(one)));
                }
                // What is true of many is told once, of all of a kind together.
                _ => {
                    page.line(format!("What {how}:"));
                    for sort in distinct(alike.iter().map(|u| &*u.sort)) {
                        let of_sort = alike.iter().filter(|u| *u.sort == *sort);
                        let names: Vec<&str> = of_sort.map(|u| bare(u)).collect();
                        page.subfield(1, counted(names.len(), sort), names.join(", "));
                    }
                }
            }
        }
        if self.uses.is_empty() {
            page.line("Nothing in the loaded packs or in the saved sheets.");
        }
        page.blank().line(match self.sheets {
            0 => "No saved sheet was looked at: name files or folders to have them searched.".to_owned(),
            1 => "1 saved sheet was looked at.".to_owned(),
            n => format!("{n} saved sheets were looked at."),
        });
        page
    }
}
