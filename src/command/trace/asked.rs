//! What `affected` is asked about, and what it finds.

use super::near;
use crate::audit::address::{self, Named};
use crate::book::{Book, Record};
use crate::command::{Fault, library};

/// Something that used a claim.
pub(super) struct Use {
    /// claim, record, series, bias or sheet.
    pub(super) sort: &'static str,
    /// Its address, id, limit state or file.
    pub(super) name: String,
    /// How it used it.
    pub(super) how: String,
}

/// What is asked about: a record, a property or claim of it, a quantity of a series.
pub(super) struct Asked<'b> {
    /// The record.
    pub(super) record: &'b Record,
    /// As asked, with the id in full.
    pub(super) what: String,
    /// Addresses of the claims, where claims are asked about.
    pub(super) claims: Vec<String>,
}

impl<'b> Asked<'b> {
    pub(super) fn of(book: &'b Book, text: &str) -> Result<Self, Fault> {
        let (id, property) = text.split_once(':').map_or((text, None), |(id, rest)| (id, Some(rest)));
        let record = library::find(book, id, &[])?;
        let Some(property) = property else {
            return Ok(Asked { record, what: record.id.to_string(), claims: Vec::new() });
        };
        let what = format!("{}:{property}", record.id);
        let measured = record.series().is_some_and(|s| s.measurements.iter().any(|m| &*m.quantity == property));
        let claims: Vec<String> = address::resolve(book, &what).iter().map(Named::address).collect();
        if claims.is_empty() && !measured {
            return Err(Fault { exit: 1, message: format!("there is no claim `{what}`"), help: Some(near(book, &what)) });
        }
        Ok(Asked { record, what, claims })
    }
    /// Whether an address names one of the claims, or something of the record. A series is used whole.
    pub(super) fn touched_by(&self, address: &str) -> bool {
        let id = self.record.id.as_str();
        self.claims.iter().any(|c| c == address)
            || address == self.what
            || (self.record.id.kind() == "series" && address == id)
            || (self.claims.is_empty() && self.what == id && address.strip_prefix(id).is_some_and(|rest| rest.starts_with(':')))
    }
}
