//! Bolt through, with washer and nut.

use crate::joint::clamped::Clamped;
use crate::joint::method::{Effort, Method, MethodCard, Takes};

/// Bolt through, with washer and nut.
pub const METHOD: &dyn Method = &Clamped {
    card: &MethodCard {
        name: "through-bolt",
        title: "through-bolt with washers and nut",
        purpose: "A screw passes through a clearance hole; washers and a nut on the other side carry the load.",
        needs: &[],
        takes: Takes::Nothing,
    },
    pocket: false,
    effort: Effort {
        tools: "nut, two washers, wrench",
        minutes: 1.0,
        wrong: "when overtightened, the plastic creeps away under the head",
    },
};
