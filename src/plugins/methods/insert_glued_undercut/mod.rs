//! An insert glued into a hole with an undercut.

use crate::joint::geometry::Insert;
use crate::joint::glued::{FITTING, GluedInsert};
use crate::joint::limit_states::bond::HoleForm;
use crate::joint::method::{Effort, Glue, Method, MethodCard, Takes};
use crate::joint::need::Lacking;

/// An insert glued into a hole with an undercut.
pub const METHOD: &dyn Method = &GluedInsert {
    card: &MethodCard {
        name: "insert-glued-undercut",
        title: "insert glued into a hole with an undercut",
        purpose: "Glue keys into a ring-shaped recess of the hole and into the grooves of the insert.",
        needs: &[Lacking::Glue, Lacking::Insert],
        takes: Takes::GluedInsert(FITTING, Glue::Adhesive),
    },
    hole: HoleForm::Undercut,
    glue: Glue::Adhesive,
    step: "fill the undercut with glue first, then push the insert in slowly so that no air stays",
    effort: Effort { tools: "glue, file, degreaser", minutes: 8.0, wrong: "an undercut that is not filled gives no hold" },
    prefers: a_groove,
};

/// Prefers an insert with a groove: the ring of glue keys into both sides.
fn a_groove(insert: &Insert) -> u8 {
    u8::from(!insert.steps.iter().any(|s| s.form == "groove"))
}
