//! How like joints scatter: within a batch and between batches, from the prior and from the joints' own specimens.
//!
//! A variance has a scaled inverse chi-squared prior; the degrees of freedom of other series count as far as their joints are
//! alike, so nothing jumps at the edge of a joint (hierarchy of variances: G. K. Smyth, 2004, Statistical Applications in
//! Genetics and Molecular Biology 3, 3). Between batches never less than a floor, since one's own few batches hardly tell.
//!
//! Bars of a material may scatter more than joints usually do. Whether its joints do so too nobody measured: both are as likely
//! before, and specimens decide by their likelihood, so that a wide set of bars does not stand against joints that agree.

use super::place::{JointCoordinates, Parts};
use crate::joint::assumption::Assumptions;
use crate::joint::distribution::NINETY;
use crate::statistics::distribution::student_quantile;
use std::collections::BTreeMap;

/// Log standard deviations of like joints.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scatter {
    /// Within a batch.
    pub within: f64,
    /// Degrees of freedom behind it, those of the prior included.
    pub freedom: f64,
    /// Between batches.
    pub between: f64,
}

impl Scatter {
    /// Variance that the states of the next specimen have in common: its batch and its own scatter.
    pub fn common(&self) -> f64 {
        self.next() * self.next() + self.between * self.between
    }
    /// Deviation of a normal distribution whose 90 % band is that of the next specimen, with the doubt of the deviation.
    pub fn next(&self) -> f64 {
        self.within * student_quantile(0.95, self.freedom) / NINETY
    }
}

/// What one joint's specimens say: its batches by the logarithms of their loads.
#[derive(Debug, Clone)]
pub struct Sample {
    /// Where the joint lies.
    pub place: JointCoordinates,
    /// ln load of the specimens that failed, by source and label of their batch.
    pub batches: BTreeMap<(String, String), Vec<f64>>,
}

/// What is known before any series, in numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    usual: f64,
    freedom: f64,
    between: f64,
    between_freedom: f64,
    parts: Parts,
}

impl Prior {
    /// From the assumptions.
    pub fn of(assumptions: &Assumptions) -> Prior {
        Prior {
            usual: assumptions.value("joint_sd"),
            freedom: assumptions.value("joint_sd_freedom"),
            between: assumptions.value("batch_sd"),
            between_freedom: assumptions.value("batch_sd_freedom"),
            parts: Parts::of(assumptions),
        }
    }
    /// Scatter of joints at a place, in a material whose bars scatter by `bars`.
    pub fn at(&self, place: &JointCoordinates, bars: f64, samples: &[Sample]) -> Scatter {
        let alike = |s: &Sample| self.parts.alike(&s.place, place);
        let near: Vec<(f64, &Sample)> = samples.iter().map(|s| (alike(s), s)).filter(|(w, _)| *w > 0.0).collect();
        let (mut squares, mut freedom) = (0.0, 0.0);
        for (weight, sample) in &near {
            let (s, f) = sample.within();
            squares += weight * s;
            freedom += weight * f;
        }
        let before = self.variance(bars, squares, freedom);
        let freedom = self.freedom + freedom;
        let variance = (self.freedom * before + squares) / freedom;
        let floor = self.between * self.between;
        let (mut between, mut batches) = (self.between_freedom * floor, self.between_freedom);
        for (weight, sample) in &near {
            let (s, f) = sample.between(variance);
            between += weight * s;
            batches += weight * f;
        }
        Scatter { within: libm::sqrt(variance), freedom, between: libm::sqrt((between / batches).max(floor)) }
    }
}

impl Prior {
    /// Variance within a batch before the specimens count: that of usual joints or that of the bars, by how likely each makes
    /// these squares on so many degrees of freedom.
    fn variance(&self, bars: f64, squares: f64, freedom: f64) -> f64 {
        let (usual, bars) = (self.usual * self.usual, bars * bars);
        if bars <= usual {
            return usual;
        }
        // The variance integrated over its inverse chi-squared prior, without what both have in common.
        let ln_likelihood = |variance: f64| {
            let own = self.freedom * variance;
            (self.freedom * libm::log(own) - (self.freedom + freedom) * libm::log(own + squares)) / 2.0
        };
        let share = 1.0 / (1.0 + libm::exp(ln_likelihood(usual) - ln_likelihood(bars)));
        usual + share * (bars - usual)
    }
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

impl Sample {
    /// Squares about the means of the batches, and their degrees of freedom.
    fn within(&self) -> (f64, f64) {
        let full = self.batches.values().filter(|b| b.len() > 1);
        full.fold((0.0, 0.0), |(s, f), batch| {
            let middle = mean(batch);
            (s + batch.iter().map(|x| (x - middle) * (x - middle)).sum::<f64>(), f + batch.len() as f64 - 1.0)
        })
    }
    /// Squares of the means of the batches above what scatter within them explains, and their degrees of freedom.
    fn between(&self, within: f64) -> (f64, f64) {
        let full: Vec<&Vec<f64>> = self.batches.values().filter(|b| !b.is_empty()).collect();
        if full.len() < 2 {
            return (0.0, 0.0);
        }
        let means: Vec<f64> = full.iter().map(|b| mean(b)).collect();
        let middle = mean(&means);
        let freedom = means.len() as f64 - 1.0;
        let noise = full.iter().map(|b| within / b.len() as f64).sum::<f64>() / full.len() as f64;
        let squares: f64 = means.iter().map(|m| (m - middle) * (m - middle)).sum();
        ((squares - freedom * noise).max(0.0), freedom)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn prior() -> Prior {
        let parts = Parts::of(&Assumptions::default());
        Prior { usual: 0.1, freedom: 6.0, between: 0.1, between_freedom: 4.0, parts }
    }

    fn place() -> JointCoordinates {
        use crate::joint::calibration::place::MeasuredJoint;
        let joint = MeasuredJoint {
            method: "m".into(),
            insert: None,
            adhesive: None,
            thread: (3e-3, 0.5e-3),
            length: 6e-3,
            hole: 2.5e-3,
            boss: 9e-3,
            axis: crate::joint::need::Axis::Unknown,
            temperature: 296.0,
            infill: 1.0,
        };
        JointCoordinates { class: None, family: None, material: Some("a".into()), joint: Some(joint) }
    }

    fn sample(batches: &[&[f64]]) -> [Sample; 1] {
        let named = batches.iter().enumerate().map(|(i, b)| (("s".into(), i.to_string()), b.to_vec()));
        [Sample { place: place(), batches: named.collect() }]
    }

    #[test]
    fn squares_add_to_those_of_the_prior() {
        // Hand: squares 6 x 0.01 + (0.02 + 0.02) = 0.10 over 6 + 2 degrees; means 0 and 0.5: 0.125 - 0.0125/2, over 4 + 1.
        let found = prior().at(&place(), 0.1, &sample(&[&[-0.1, 0.1], &[0.4, 0.6]]));
        assert!((found.within * found.within - 0.0125).abs() < 1e-12 && found.freedom == 8.0, "{found:?}");
        assert!((found.between * found.between - (0.04 + 0.125 - 0.00625) / 5.0).abs() < 1e-12, "{found:?}");
    }

    #[test]
    fn bars_that_scatter_widely_do_not_stand_against_joints_that_agree() {
        // Hand, without specimens: the mean of 0.01 and 0.25.
        let alone = prior().at(&place(), 0.5, &[]);
        assert!((alone.within * alone.within - 0.13).abs() < 1e-12, "{alone:?}");
        // Hand: squares 0.002 on 2 degrees. Usual 0.06^3/0.062^4 = 14.618, bars 1.5^3/1.502^4 = 0.66312: share 0.043395,
        // prior 0.0204148, and (6 x 0.0204148 + 0.002)/8 = 0.0155611.
        let three = prior().at(&place(), 0.5, &sample(&[&[-0.031_622_776_6, 0.0, 0.031_622_776_6]]));
        assert!((three.within * three.within - 0.015_561_1).abs() < 2e-6, "{three:?}");
        // Joints that scatter as the bars do leave them in their place: near the mean of both before, above it after.
        let wide = prior().at(&place(), 0.5, &sample(&[&[-0.6, 0.0, 0.6], &[-0.5, 0.0, 0.5]]));
        assert!(wide.within > 0.4, "{wide:?}");
    }

    #[test]
    fn batches_that_agree_leave_the_floor() {
        assert_eq!(prior().at(&place(), 0.1, &sample(&[&[0.0, 0.01], &[0.0, 0.01], &[0.0, 0.01]])).between, 0.1);
    }
}
