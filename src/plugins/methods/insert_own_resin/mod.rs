//! An insert bonded with the part's own resin.

use crate::joint::glued::{FITTING, GluedInsert, one_diameter};
use crate::joint::limit_states::bond::HoleForm;
use crate::joint::method::{Effort, Glue, Method, MethodCard, Takes};
use crate::joint::need::Lacking;

/// An insert bonded with the part's own resin.
pub const METHOD: &dyn Method = &GluedInsert {
    card: &MethodCard {
        name: "insert-own-resin",
        title: "insert bonded with the part's own resin",
        purpose: "A drop of the printing resin is cured round the insert.",
        needs: &[Lacking::Glue, Lacking::Insert],
        takes: Takes::GluedInsert(FITTING, Glue::OwnResin),
    },
    hole: HoleForm::Plain,
    glue: Glue::OwnResin,
    step: "cure from the open end with the lamp close, then post-cure the part again",
    effort: Effort {
        tools: "curing lamp",
        minutes: 10.0,
        wrong: "behind a dark wall the resin stays liquid, and in a plain hole it runs out",
    },
    prefers: one_diameter,
};
