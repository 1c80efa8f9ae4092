//! An insert glued into a stepped hole and gives it an end stop.

use crate::joint::geometry::Insert;
use crate::joint::glued::{FITTING, GluedInsert};
use crate::joint::limit_states::bond::HoleForm;
use crate::joint::method::{Effort, Glue, Method, MethodCard, Takes};
use crate::joint::need::Lacking;

/// An insert glued into a stepped hole and gives it an end stop.
pub const METHOD: &dyn Method = &GluedInsert {
    card: &MethodCard {
        name: "insert-glued-stepped",
        title: "insert glued into a stepped hole",
        purpose: "The hole narrows where the insert does and so stops it.",
        needs: &[Lacking::Glue, Lacking::Insert],
        takes: Takes::GluedInsert(FITTING, Glue::Adhesive),
    },
    hole: HoleForm::Following,
    glue: Glue::Adhesive,
    step: "push the insert to its stop",
    effort: Effort { tools: "glue, file, degreaser", minutes: 8.0, wrong: "resin left on the shoulder holds the insert high" },
    prefers: a_shoulder,
};

/// Prefers at least one shoulder to stop on; grooves come second.
fn a_shoulder(insert: &Insert) -> u8 {
    let plain = insert.steps.iter().filter(|s| s.form == "plain");
    let widths: std::collections::BTreeSet<u64> = plain.map(|s| s.diameter.value.to_bits()).collect();
    match (widths.len(), insert.steps.iter().any(|s| s.form == "groove")) {
        (2.., _) => 0,
        (_, true) => 1,
        _ => 2,
    }
}
