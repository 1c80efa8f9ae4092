//! Where a value that decides is missing: what the limit states that are known say of the load asked for.
//!
//! All states together hold no more than those that are known, so a load that these do not hold, the joint does not hold.

use super::{Candidate, Survival};
use crate::joint::correct::Corrected;
use crate::joint::evaluate::{Capacity, Columns};
use crate::joint::limit_states::metal;
use crate::joint::model::Model;
use crate::joint::need::{Consequence, Need};
use crate::quantity::Measure;
use crate::suit::Verdict;

/// Why a candidate does not hold the load whatever is missing; `None` where the known states hold it, or where nothing is
/// missing and the predicted survival says so itself.
pub(super) fn fails(need: &Need<'_>, candidate: &Candidate<'_>, columns: &Columns, whole: Option<&Capacity>) -> Option<String> {
    let load = need.load?.si() * need.factor;
    if candidate.verdict == Verdict::DoesNotSuit || (whole.is_some() && need.using.consequence != Consequence::Injury) {
        return None;
    }
    let known = match whole {
        Some(whole) => whole,
        None => &of_known_states(need, candidate, columns)?,
    };
    let survival = Survival::of(known, load);
    let (first, _) = known.modes.first()?;
    let fails = survival.share < need.assumptions.value("verdict_care");
    let whatever = if whole.is_none() { ", whatever is missing" } else { "" };
    // Where somebody may be hurt no share is told, only that it does not hold.
    let said = match need.using.consequence {
        Consequence::Injury => "the load asked for is not held".to_owned(),
        _ => survival.text(),
    };
    fails.then(|| format!("{}{whatever}: {said}", first.text()))
}

/// The capacity of the states that are known; of a model without any, and of a joint without a model, that of the screw.
fn of_known_states(need: &Need<'_>, candidate: &Candidate<'_>, columns: &Columns) -> Option<Capacity> {
    let capacity = |corrected: &Corrected<'_>| corrected.capacity(columns, need.seed, need.draws);
    if let Some(corrected) = candidate.model.as_ref().filter(|c| !c.model.states.is_empty()) {
        return Some(capacity(corrected));
    }
    let mut screw = Model::new(need, "screw".into());
    metal::breaks(&mut screw);
    (!screw.states.is_empty()).then(|| capacity(&Corrected::of_metal(screw)))
}
