//! The nut of a thread, from its record.

use super::fact::ClaimUse;
use super::need::Need;
use crate::book::{Record, Value};
use crate::quantity::Measure;
use uom::si::f64::Length;

/// A hexagon nut as the pocket must take it.
#[derive(Debug, Clone)]
pub struct Nut {
    /// Largest width across flats.
    pub flats: Length,
    /// Largest height.
    pub height: Length,
    /// The claims the two rest on.
    pub claims: Vec<ClaimUse>,
}

/// The hexagon nut of the need's thread: the regular one where there is one, else the thin one.
pub fn usual(need: &Need<'_>) -> Option<Nut> {
    let wanted = need.thread.designation();
    let form = |r: &Record, form: &str| r.nut().is_some_and(|n| n.form.as_deref() == Some(form));
    let of_thread = |r: &Record| r.common().thread.as_deref() == Some(&*wanted);
    let fits = |r: &&Record| r.current && of_thread(r) && form(r, "hexagon") && (need.invented() || !r.invented());
    let regular = |r: &Record| r.nut().is_some_and(|n| n.style.as_deref() == Some("regular"));
    let nuts = need.book.of_role("nut").filter(fits).filter_map(|r| Some((r, of(r)?)));
    nuts.min_by_key(|(r, _)| (!regular(r), r.id.clone())).map(|(_, nut)| nut)
}

fn of(record: &Record) -> Option<Nut> {
    let mut claims = Vec::new();
    let mut most = |property: &str| -> Option<Length> {
        let claim = record.claims(property).iter().find(|c| c.in_use())?;
        let si = match &claim.value {
            Value::Between { high: Some(high), .. } => high.si,
            other => other.middle_si()?,
        };
        claims.push(ClaimUse {
            claim: record.address(property, claim),
            value: claim.value.text(),
            basis: claim.basis,
            source: claim.source.as_deref().map(Into::into),
            notes: vec!["upper limit".into()],
        });
        Some(Length::from_si(si))
    };
    let (flats, height) = (most("width_across_flats")?, most("height")?);
    Some(Nut { flats, height, claims })
}
