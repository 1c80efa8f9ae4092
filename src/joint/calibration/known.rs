//! Which joints were measured: of one very joint, and of those of its method and material.

use super::lean::Lean;
use super::place::JointCoordinates;
use super::scatter::Sample;
use super::{Calibration, Latent};
use crate::joint::mode::Mode;
use std::collections::BTreeMap;

/// What was measured of one very joint.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Exactly {
    /// Ids of its series.
    pub series: Vec<String>,
    /// Specimens in them.
    pub specimens: usize,
    /// Batches they came from.
    pub batches: usize,
}

/// A joint that was measured.
pub(in crate::joint) struct KnownJoint<'c> {
    /// Where it lies.
    pub place: &'c JointCoordinates,
    /// How the loads of its modes lean on their inputs.
    pub leans: &'c BTreeMap<Mode, Lean>,
    /// Ids of its series.
    pub series: Vec<String>,
    /// ln of its least load at medians, corrected.
    pub ln_middle: f64,
}

impl Calibration {
    /// The measured joints of this method and material, each once.
    pub(in crate::joint) fn measured_beside(&self, place: &JointCoordinates) -> Vec<KnownJoint<'_>> {
        self.places_beside(place).filter_map(|place| self.measured_joint(place)).collect()
    }
    /// Where they lie.
    pub(in crate::joint) fn places_beside(&self, place: &JointCoordinates) -> impl Iterator<Item = &JointCoordinates> {
        let like =
            |s: &&Sample| place.method().is_some() && s.place.method() == place.method() && s.place.material == place.material;
        self.samples.iter().filter(like).map(|s| &s.place)
    }
    /// The modes that specimens of these series failed in.
    pub(in crate::joint) fn failed_modes(&self, series: &[String]) -> Vec<Mode> {
        self.used.iter().filter(|u| series.contains(&u.series)).flat_map(|u| u.modes.iter().copied()).collect()
    }
    fn measured_joint(&self, place: &JointCoordinates) -> Option<KnownJoint<'_>> {
        let latent = self.latents.iter().find(|l| self.parts.same(&l.place, place))?;
        let corrected = |(mode, lean): (&Mode, &Lean)| lean.ln_load + self.correction(*mode, &latent.place, Some(lean)).shift;
        let ln_middle = latent.leans.iter().map(corrected).fold(f64::INFINITY, f64::min);
        Some(KnownJoint { place: &latent.place, leans: &latent.leans, series: self.exactly(place).series, ln_middle })
    }
    /// The series of exactly this joint, with its specimens and batches.
    pub fn exactly(&self, place: &JointCoordinates) -> Exactly {
        let here: Vec<&Latent> = self.latents.iter().filter(|l| self.parts.same(&l.place, place)).collect();
        let mut series: Vec<String> = here.iter().map(|l| l.series.clone()).collect();
        series.dedup();
        let mut batches: Vec<&(String, String)> = here.iter().map(|l| &l.batch).collect();
        batches.sort();
        batches.dedup();
        let specimens = self.used.iter().filter(|u| series.contains(&u.series)).map(|u| u.n).sum();
        Exactly { batches: batches.len(), specimens, series }
    }
}
