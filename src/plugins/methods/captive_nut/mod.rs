//! Captive nut in a pocket.

use crate::joint::clamped::Clamped;
use crate::joint::method::{Effort, Method, MethodCard, Takes};

/// Captive nut in a pocket.
pub const METHOD: &dyn Method = &Clamped {
    card: &MethodCard {
        name: "captive-nut",
        title: "captive nut in a pocket",
        purpose: "A nut sits in a pocket behind the plastic, which the screw clamps.",
        needs: &[],
        takes: Takes::Nothing,
    },
    pocket: true,
    effort: Effort { tools: "nut, screwdriver", minutes: 1.0, wrong: "a loose pocket lets the nut turn, and a tight one splits" },
};
