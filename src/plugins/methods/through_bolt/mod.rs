//! Bolt through, with washer and nut.

use crate::joint::clamped::Clamped;
use crate::joint::method::{Card, Effort, Method, Takes};

/// Bolt through, with washer and nut.
pub const METHOD: &dyn Method = &Clamped {
    card: &Card {
        name: "through-bolt",
        title: "bolt through, with washer and nut",
        purpose: "A screw passes a clearance hole; washers and a nut on the other side carry.",
        needs: &[],
        takes: Takes::Nothing,
    },
    pocket: false,
    effort: Effort {
        tools: "nut, two washers, wrench",
        minutes: 1.0,
        wrong: "overtightened, the plastic creeps away under the head",
    },
};
