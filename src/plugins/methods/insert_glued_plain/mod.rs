//! An insert glued into a plain hole.

use crate::joint::glued::{FITTING, GluedInsert, one_diameter};
use crate::joint::limit_states::bond::HoleForm;
use crate::joint::method::{Effort, Glue, Method, MethodCard, Takes};
use crate::joint::need::Lacking;

/// An insert glued into a plain hole.
pub const METHOD: &dyn Method = &GluedInsert {
    card: &MethodCard {
        name: "insert-glued-plain",
        title: "insert glued into a plain hole",
        purpose: "The insert is glued into a hole with one diameter.",
        needs: &[Lacking::Glue, Lacking::Insert],
        takes: Takes::GluedInsert(FITTING, Glue::Adhesive),
    },
    hole: HoleForm::Plain,
    glue: Glue::Adhesive,
    step: "turn the insert while pushing it in, so that the glue wets it all round",
    effort: Effort {
        tools: "glue, file, degreaser",
        minutes: 8.0,
        wrong: "the insert sits at an angle or too deep, because nothing stops it",
    },
    prefers: one_diameter,
};
