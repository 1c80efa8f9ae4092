//! `affected`: what used a source, a record, a claim, a measurement or a single result: what would be lost without it, bias
//! estimates of the joint models, saved sheets. Nothing that merely names the same record.

use super::{AffectedArgs, bias, near, sheet};
use crate::audit::address::{self, Named};
use crate::book::{Book, Loss, Record, files};
use crate::command::{Context, Fault, Outcome, Shared, library};
use crate::present::{Answer, Page, counted};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Something that used what is asked about.
pub(super) struct Use {
    /// claim, series, rule and other kinds of record, bias or sheet.
    pub(super) sort: String,
    /// Its address, id, limit state or file.
    pub(super) name: String,
    /// How it used it.
    pub(super) how: String,
}

struct Affected {
    what: String,
    uses: Vec<Use>,
    sheets: usize,
}

/// What part of a record is asked about.
enum Part {
    Whole,
    Claims(BTreeSet<String>),
    Measurement,
    Specimen { mode: Option<String> },
}

/// What is asked about, and what would be lost without it.
pub(super) struct Asked<'b> {
    /// The record.
    pub(super) record: &'b Record,
    book: &'b Book,
    /// As asked, with the id in full.
    what: String,
    part: Part,
    lost: Vec<Loss>,
}

impl<'b> Asked<'b> {
    pub(super) fn of(book: &'b Book, text: &str) -> Result<Self, Fault> {
        let (id, rest) = text.split_once(':').map_or((text, None), |(id, rest)| (id, Some(rest)));
        let record = library::find(book, id, &[])?;
        let what = rest.map_or_else(|| record.id.to_string(), |rest| format!("{}:{rest}", record.id));
        let part = match rest {
            None => Part::Whole,
            Some(rest) => part(book, record, &what, rest)?,
        };
        let lost = match &part {
            Part::Whole => book.resting_on(record, &[]),
            Part::Claims(claims) => book.resting_on(record, &claims.iter().cloned().collect::<Vec<_>>()),
            Part::Measurement | Part::Specimen { .. } => Vec::new(),
        };
        // What a record says goes with it, and what was taken back before uses nothing any more.
        let before = |what: &str| book.loss(what).is_some_and(|loss| loss.through.is_none());
        let lost = lost.into_iter().filter(|l| !before(&l.what));
        let inside = |l: &Loss| l.through.as_deref() == Some(l.record.as_str()) && l.what.starts_with(&format!("{}:", l.record));
        let lost = lost.filter(|l| !inside(l)).collect();
        Ok(Asked { record, book, what, part, lost })
    }
    /// Whether an address names what is asked about, or something that would be lost with it. A series is used whole.
    pub(super) fn touched_by(&self, address: &str) -> bool {
        let id = self.record.id.as_str();
        let within = |id: &str| address == id || address.strip_prefix(id).is_some_and(|rest| rest.starts_with(':'));
        let named = || address::resolve(self.book, address).iter().map(Named::address).collect::<Vec<_>>();
        let own = match &self.part {
            Part::Whole => within(id),
            Part::Claims(claims) => claims.contains(address) || named().iter().any(|a| claims.contains(a)),
            Part::Measurement | Part::Specimen { .. } => {
                address == id || self.what.split('#').next().is_some_and(|quantity| address == quantity)
            }
        };
        own || self.lost.iter().any(|l| if l.what.contains(':') { l.what == address } else { within(&l.what) })
    }
    /// Whether a bias estimate from failures of this mode can rest on it.
    pub(super) fn fails_by(&self, mode: &str) -> bool {
        match &self.part {
            Part::Specimen { mode: Some(own) } => own == mode,
            _ => true,
        }
    }
    /// What of a sheet it is or would take along.
    fn used_by(&self, sheet: &Value) -> Vec<String> {
        let addresses = sheet::used(sheet).into_iter().map(|used| used.address);
        let mut used: Vec<String> = addresses.filter(|address| self.touched_by(address)).collect();
        if matches!(self.part, Part::Whole) {
            let ids = self.lost.iter().map(|l| &*l.what).filter(|what| !what.contains(':')).chain([self.record.id.as_str()]);
            used.extend(ids.filter(|id| sheet::names(sheet, id)).map(str::to_owned));
        }
        used.sort();
        used.dedup();
        used
    }
}

fn part(book: &Book, record: &Record, what: &str, rest: &str) -> Result<Part, Fault> {
    let claims: BTreeSet<String> = address::resolve(book, what).iter().map(Named::address).collect();
    if !claims.is_empty() {
        return Ok(Part::Claims(claims));
    }
    let (quantity, label) = rest.split_once('#').map_or((rest, None), |(quantity, label)| (quantity, Some(label)));
    let all = record.rest["measurements"].as_array().into_iter().flatten();
    let mine: Vec<&Value> = all.filter(|m| m["quantity"] == quantity).collect();
    let Some(label) = label else {
        return match mine.is_empty() {
            false => Ok(Part::Measurement),
            true => Err(Fault { exit: 1, message: format!("`{what}` names no claim"), help: Some(near(book, what)) }),
        };
    };
    let specimens: Vec<&Value> = mine.iter().filter_map(|m| m["specimens"].as_array()).flatten().collect();
    match specimens.iter().find(|s| s["label"] == label) {
        Some(specimen) => Ok(Part::Specimen { mode: specimen["mode"].as_str().map(str::to_owned) }),
        None => {
            let labels: Vec<&str> = specimens.iter().filter_map(|s| s["label"].as_str()).collect();
            let help = if labels.is_empty() { near(book, what) } else { format!("its specimens: {}", labels.join(", ")) };
            Err(Fault { exit: 1, message: format!("`{what}` names no specimen"), help: Some(help) })
        }
    }
}

/// Lists what used a source, record, claim, measurement or specimen.
///
/// # Errors
/// What does not exist (exit 1), sheets that cannot be read.
pub fn affected(args: &AffectedArgs, shared: &Shared, context: &Context) -> Result<Outcome, Fault> {
    let loaded = library::open(shared, context)?;
    let book = &loaded.book;
    let asked = Asked::of(book, &args.claim)?;
    let mut uses: Vec<Use> = asked.lost.iter().map(rested).collect();
    uses.extend(bias::uses(book, &asked));
    let files = once(sheet::files(book, &args.paths, context)?, context);
    let sheets = files.len();
    for file in files {
        let used = asked.used_by(&sheet::read(&context.folder.join(&file))?);
        if !used.is_empty() {
            uses.push(Use { sort: "sheet".into(), name: shown(&file, context), how: format!("used {}", used.join(", ")) });
        }
    }
    let is_no = uses.is_empty();
    Ok(Outcome { answer: Box::new(Affected { what: asked.what, uses, sheets }), exit: loaded.exit(u8::from(is_no)) })
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
            let what = match &*u.sort {
                "bias" => format!("bias of {}", u.name),
                "sheet" => format!("sheet {}", u.name),
                _ => u.name.clone(),
            };
            page.item(format!("{what}: {}", u.how));
        }
        if self.uses.is_empty() {
            page.line("Nothing that is loaded or was looked into.");
        }
        let verb = if self.sheets == 1 { "was" } else { "were" };
        page.blank().line(format!("{} {verb} looked into", counted(self.sheets, "saved sheet")));
        page
    }
}
