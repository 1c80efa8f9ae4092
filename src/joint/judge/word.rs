//! The word of a verdict: one table, from what is known and how many like joints hold.
//!
//! | what is known of the joint at the load | word |
//! | --- | --- |
//! | a gate stands, or predicted survival below `verdict_care` | does not suit |
//! | a value that decides is missing | unknown |
//! | a model alone speaks for it | model only, not measured |
//! | survival below `verdict_suits`, evidence of the family only, or a warning stands | suits with care |
//! | the joint was measured in what fails first | suits |
//!
//! The first row that is true counts. Its limits are assumptions with reasons; the load is that asked for with its factor,
//! and the printed design load where none is asked for.

use super::JointEvidence;
use crate::joint::assumption::Assumptions;
use crate::suit::Verdict;

/// What a predicted load rests on, the strongest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Ground {
    /// Series of this very joint, in what fails first; more than one specimen.
    Joint,
    /// Series of its family, or of what fails first in other materials.
    Family,
    /// The model.
    Model,
}

impl JointEvidence {
    /// What a load with this evidence rests on.
    pub fn ground(&self) -> Ground {
        match () {
            () if self.model_only() => Ground::Model,
            () if self.specimens > 1 && self.governed => Ground::Joint,
            () => Ground::Family,
        }
    }
}

/// What decides about a word.
#[derive(Debug, Clone, Copy)]
pub(super) struct VerdictBasis {
    /// Whether a gate stands.
    pub gated: bool,
    /// Whether a value that decides is missing.
    pub open: bool,
    /// Whether a warning stands.
    pub warned: bool,
    /// What the load rests on.
    pub ground: Ground,
    /// Share of like joints that hold the load; `None` without a predicted load.
    pub survival: Option<f64>,
}

/// The word.
pub(super) fn word(known: VerdictBasis, assumptions: &Assumptions) -> Verdict {
    let (suits, care) = (assumptions.value("verdict_suits"), assumptions.value("verdict_care"));
    match known.survival {
        _ if known.gated => Verdict::DoesNotSuit,
        Some(share) if share < care => Verdict::DoesNotSuit,
        None => Verdict::Unknown,
        _ if known.open => Verdict::Unknown,
        _ if known.ground == Ground::Model => Verdict::ModelOnly,
        Some(share) if share < suits || known.ground == Ground::Family || known.warned => Verdict::WithCare,
        Some(_) => Verdict::Suits,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every combination of the other facts, over survivals from certain to none.
    #[test]
    fn a_lower_survival_or_a_worse_fact_is_never_kinder() {
        let assumptions = Assumptions::default();
        let grounds = [Ground::Joint, Ground::Family, Ground::Model];
        let mut words = std::collections::BTreeSet::new();
        for bits in 0..8 {
            let [gated, open, warned] = [bits & 1 > 0, bits & 2 > 0, bits & 4 > 0];
            for ground in grounds {
                let at = |share: f64| word(VerdictBasis { gated, open, warned, ground, survival: Some(share) }, &assumptions);
                for step in 0..200 {
                    let share = f64::from(step) / 200.0;
                    assert!(at(share) >= at(share + 0.005), "{share} {gated} {open} {warned} {ground:?}");
                    let better =
                        VerdictBasis { gated: false, open: false, warned: false, ground: Ground::Joint, survival: Some(share) };
                    assert!(at(share) >= word(better, &assumptions));
                    words.insert(at(share));
                }
            }
        }
        assert_eq!(words.len(), 5, "{words:?}");
    }

    #[test]
    fn the_limits_are_those_of_the_table() {
        let at = |share: f64, ground: Ground| {
            word(
                VerdictBasis { gated: false, open: false, warned: false, ground, survival: Some(share) },
                &Assumptions::default(),
            )
        };
        assert_eq!(at(0.99, Ground::Joint), Verdict::Suits);
        assert_eq!(at(0.989, Ground::Joint), Verdict::WithCare);
        assert_eq!(at(1.0, Ground::Family), Verdict::WithCare);
        assert_eq!(at(1.0, Ground::Model), Verdict::ModelOnly);
        for ground in [Ground::Joint, Ground::Family, Ground::Model] {
            assert_eq!(at(0.949, ground), Verdict::DoesNotSuit);
        }
    }
}
