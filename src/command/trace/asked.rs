//! What `affected` is asked about, and what it finds.

use super::{near, sheet};
use crate::command::{Fault, library};
use gripbook::audit::address::{self, NamedClaim};
use gripbook::book::view::Measurement;
use gripbook::book::{Book, Loss, Record};
use serde_json::Value;
use std::collections::BTreeSet;

/// Something that used what is asked about.
pub(super) struct Use {
    /// claim, series, rule and other kinds of record, bias or sheet.
    pub(super) sort: String,
    /// Its address, id, limit state or file.
    pub(super) name: String,
    /// How it used it.
    pub(super) how: String,
}

/// What part of a record is asked about.
enum AskedPart {
    Whole,
    Claims(BTreeSet<String>),
    Measurement,
    /// One result of the measurement with this address.
    Specimen {
        of: String,
        mode: Option<String>,
    },
}

/// What is asked about, and what would be lost without it.
pub(super) struct AffectedBy<'b> {
    /// The record.
    pub(super) record: &'b Record,
    book: &'b Book,
    /// As asked, with the id in full.
    pub(super) what: String,
    part: AskedPart,
    /// What would be lost without it.
    pub(super) lost: Vec<Loss>,
}

impl<'b> AffectedBy<'b> {
    pub(super) fn of(book: &'b Book, text: &str) -> Result<Self, Fault> {
        let (id, rest) = text.split_once(':').map_or((text, None), |(id, rest)| (id, Some(rest)));
        let record = library::find(book, id, &[])?;
        let what = rest.map_or_else(|| record.id.to_string(), |rest| format!("{}:{rest}", record.id));
        let part = match rest {
            None => AskedPart::Whole,
            Some(rest) => part(book, record, &what, rest)?,
        };
        let lost = match &part {
            AskedPart::Whole => book.resting_on(record, &[]),
            AskedPart::Claims(claims) => book.resting_on(record, &claims.iter().cloned().collect::<Vec<_>>()),
            AskedPart::Measurement | AskedPart::Specimen { .. } => book.resting_on(record, std::slice::from_ref(&what)),
        };
        // What a record says goes with it, and what was taken back before uses nothing any more.
        let before = |what: &str| book.loss(what).is_some_and(|loss| loss.through.is_none());
        let lost = lost.into_iter().filter(|l| !before(&l.what));
        let inside = |l: &Loss| l.through.as_deref() == Some(l.record.as_str()) && l.what.starts_with(&format!("{}:", l.record));
        let lost = lost.filter(|l| !inside(l)).collect();
        Ok(AffectedBy { record, book, what, part, lost })
    }
    /// Whether an address names what is asked about, or something that would be lost with it. A series is used whole.
    pub(super) fn touched_by(&self, address: &str) -> bool {
        let id = self.record.id.as_str();
        let within = |id: &str| address == id || address.strip_prefix(id).is_some_and(|rest| rest.starts_with(':'));
        let named = || address::resolve(self.book, address).iter().map(NamedClaim::address).collect::<Vec<_>>();
        let own = match &self.part {
            AskedPart::Whole => within(id),
            AskedPart::Claims(claims) => claims.contains(address) || named().iter().any(|a| claims.contains(a)),
            AskedPart::Measurement | AskedPart::Specimen { .. } => {
                address == id || self.what.split('#').next().is_some_and(|quantity| address == quantity)
            }
        };
        own || self.lost.iter().any(|l| if l.what.contains(':') { l.what == address } else { within(&l.what) })
    }
    /// Whether a bias estimate from failures of this mode can rest on it.
    pub(super) fn fails_by(&self, mode: &str) -> bool {
        match &self.part {
            AskedPart::Specimen { mode: Some(own), .. } => own == mode,
            _ => true,
        }
    }
    /// The claims computed from the measurement of which it is one result: without it they have to be computed again.
    pub(super) fn computed_with(&self) -> Vec<Use> {
        let AskedPart::Specimen { of, .. } = &self.part else { return Vec::new() };
        let how = format!("computed from {of}, of which this is one result");
        self.book.computed_from(of).into_iter().map(|name| Use { sort: "claim".into(), name, how: how.clone() }).collect()
    }
    /// What of a sheet it is or would take along.
    pub(super) fn used_by(&self, sheet: &Value) -> Vec<String> {
        let addresses = sheet::used(sheet).into_iter().map(|used| used.address);
        let mut used: Vec<String> = addresses.filter(|address| self.touched_by(address)).collect();
        if matches!(self.part, AskedPart::Whole) {
            let ids = self.lost.iter().map(|l| &*l.what).filter(|what| !what.contains(':')).chain([self.record.id.as_str()]);
            used.extend(ids.filter(|id| sheet::names(sheet, id)).map(str::to_owned));
        }
        used.sort();
        used.dedup();
        used
    }
}

fn part(book: &Book, record: &Record, what: &str, rest: &str) -> Result<AskedPart, Fault> {
    let claims: BTreeSet<String> = address::resolve(book, what).iter().map(NamedClaim::address).collect();
    if !claims.is_empty() {
        return Ok(AskedPart::Claims(claims));
    }
    let (quantity, label) = rest.split_once('#').map_or((rest, None), |(quantity, label)| (quantity, Some(label)));
    let all = record.series().into_iter().flat_map(|s| &s.measurements);
    let mine: Vec<&Measurement> = all.filter(|m| &*m.quantity == quantity).collect();
    let Some(label) = label else {
        return match mine.is_empty() {
            false => Ok(AskedPart::Measurement),
            true => Err(Fault { exit: 1, message: format!("there is no claim `{what}`"), help: Some(near(book, what)) }),
        };
    };
    let specimens: Vec<_> = mine.iter().flat_map(|m| &m.all_specimens).collect();
    match specimens.iter().find(|s| s.label.as_deref() == Some(label)) {
        Some(specimen) => {
            let mode = specimen.mode.as_deref().map(str::to_owned);
            Ok(AskedPart::Specimen { of: format!("{}:{quantity}", record.id), mode })
        }
        None => {
            let labels: Vec<&str> = specimens.iter().filter_map(|s| s.label.as_deref()).collect();
            let help = if labels.is_empty() { near(book, what) } else { format!("its specimens: {}", labels.join(", ")) };
            Err(Fault { exit: 1, message: format!("there is no specimen `{what}`"), help: Some(help) })
        }
    }
}
