//! Where a joint lies among all joints: how much two of them share, and how far they lie apart.
//!
//! The discrepancy of a limit state is a Gaussian process on the log scale: parts common to all joints, to a class, a family
//! and a material, and a part of the joint itself whose correlation falls smoothly with the distance (Matérn, 3/2: Rasmussen
//! and Williams, Gaussian Processes for Machine Learning, 2006, eq. 4.17). Within the identity of a joint the distance is 0.

use crate::book::{Book, Record};
use crate::joint::assumption::Assumptions;
use crate::joint::geometry::Geometry;
use crate::joint::measured::Measured;
use crate::joint::need::{Axis, Need, ROOM};
use crate::quantity::Measure;

/// Sizes and ways of one joint.
#[derive(Debug, Clone, PartialEq)]
pub struct Joint {
    /// Word of the method.
    pub method: String,
    /// Id of the insert.
    pub insert: Option<String>,
    /// Id of the glue.
    pub adhesive: Option<String>,
    /// Major diameter and pitch of the thread, m.
    pub thread: (f64, f64),
    /// Engaged length, m.
    pub length: f64,
    /// Diameter of the hole, m.
    pub hole: f64,
    /// Diameter of the boss, m.
    pub boss: f64,
    /// How it lies to the build direction.
    pub axis: Axis,
    /// Temperature, K.
    pub temperature: f64,
    /// Share of the inside that is filled.
    pub infill: f64,
}

/// Where a joint lies.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Class of the material: foam, thermoplastic, photopolymer, …; `None` for any.
    pub class: Option<String>,
    /// Family of the material.
    pub family: Option<String>,
    /// Id of the material, or of the study that stands for one.
    pub material: Option<String>,
    /// The joint; `None` for a mean over many, or for the next joint whatever it is.
    pub joint: Option<Joint>,
}

/// Variances of the parts of the discrepancy, log².
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parts {
    common: f64,
    class: f64,
    family: f64,
    material: f64,
    /// Of a joint itself.
    pub joint: f64,
}

impl Parts {
    /// From the assumptions.
    pub fn of(assumptions: &Assumptions) -> Parts {
        let variance = |name: &'static str| libm::pow(assumptions.value(name), 2.0);
        Parts {
            common: variance("bias_sd"),
            class: variance("bias_class_sd"),
            family: variance("bias_family_sd"),
            material: variance("bias_material_sd"),
            joint: variance("bias_joint_sd"),
        }
    }
    /// Variance of the discrepancy of a single joint.
    pub fn whole(&self) -> f64 {
        self.common + self.class + self.family + self.material + self.joint
    }
    /// Covariance of the discrepancies at two places.
    pub fn shared(&self, a: &Place, b: &Place) -> f64 {
        let both = |a: &Option<String>, b: &Option<String>| if a.is_some() && a == b { 1.0 } else { 0.0 };
        let levels = self.class * both(&a.class, &b.class)
            + self.family * both(&a.family, &b.family)
            + self.material * both(&a.material, &b.material);
        self.common + levels + self.joint * a.alike(b)
    }
}

/// Log differences of length, hole and boss within which two joints are one and the same.
const SAME_LENGTH: f64 = 0.02;
const SAME_HOLE: f64 = 0.01;
/// Differences over which the correlation of joints falls to about a half, in the unit of each size.
const FAR_LENGTH: f64 = 0.30;
const FAR_HOLE: f64 = 0.20;
const FAR_BOSS: f64 = 0.60;
const FAR_THREAD: f64 = 0.30;
const SAME_TEMPERATURE: f64 = 5.0;
const FAR_TEMPERATURE: f64 = 25.0;
const FAR_INFILL: f64 = 0.5;
/// Distance of another way to lie to the build, and of a way that is not known.
const OTHER_AXIS: f64 = 1.0;
const UNKNOWN_AXIS: f64 = 0.5;
/// Distance of another insert or glue.
const OTHER_PART: f64 = 1.5;

impl Joint {
    /// Distance to another joint of the same material; `None` for another method.
    fn distance(&self, other: &Joint) -> Option<f64> {
        if self.method != other.method {
            return None;
        }
        let ln = |a: f64, b: f64| libm::log(a / b).abs();
        let over = |difference: f64, same: f64, far: f64| (difference - same).max(0.0) / far;
        let parts = |a: &Option<String>, b: &Option<String>| if a == b { 0.0 } else { OTHER_PART };
        let axis = match (self.axis, other.axis) {
            (a, b) if a == b => 0.0,
            (Axis::Unknown, _) | (_, Axis::Unknown) => UNKNOWN_AXIS,
            _ => OTHER_AXIS,
        };
        let all = [
            over(ln(self.length, other.length), SAME_LENGTH, FAR_LENGTH),
            over(ln(self.hole, other.hole), SAME_HOLE, FAR_HOLE),
            over(ln(self.boss, other.boss), SAME_LENGTH, FAR_BOSS),
            ln(self.thread.0, other.thread.0) / FAR_THREAD,
            ln(self.thread.1, other.thread.1) / FAR_THREAD,
            over((self.temperature - other.temperature).abs(), SAME_TEMPERATURE, FAR_TEMPERATURE),
            (self.infill - other.infill).abs() / FAR_INFILL,
            parts(&self.insert, &other.insert),
            parts(&self.adhesive, &other.adhesive),
            axis,
        ];
        Some(libm::sqrt(all.iter().map(|d| d * d).sum()))
    }
}

impl Place {
    /// How alike two joints are: 1 for the same, falling to 0; 0 for another material or method.
    pub fn alike(&self, other: &Place) -> f64 {
        let same = self.material.is_some() && self.material == other.material;
        let joints = self.joint.as_ref().zip(other.joint.as_ref()).filter(|_| same);
        joints.and_then(|(a, b)| a.distance(b)).map_or(0.0, |r| {
            let far = libm::sqrt(3.0) * r;
            (1.0 + far) * libm::exp(-far)
        })
    }
    /// Whether the other is the same joint.
    pub fn is(&self, other: &Place) -> bool {
        self.alike(other) == 1.0
    }
    /// The next joint of the material asked about; of any where none is.
    pub fn of_material(need: &Need<'_>) -> Place {
        if need.any_material {
            return Place { class: None, family: None, material: None, joint: None };
        }
        Place::of_record(need.book, need.material)
    }
    fn of_record(book: &Book, material: &Record) -> Place {
        Place {
            class: Some(class_of(book, &material.family)),
            family: Some(material.family.to_string()),
            material: Some(material.id.to_string()),
            joint: None,
        }
    }
    /// The joint of a need, made by a method with this insert and glue in this shape.
    pub fn of_need(need: &Need<'_>, method: &str, parts: (Option<&Record>, Option<&Record>), geometry: &Geometry) -> Place {
        let (temperature, infill) = (need.hottest(), need.using.infill.unwrap_or(1.0));
        let joint = joint(need, method, parts, geometry, (temperature, infill));
        Place { joint: (!need.any_material).then_some(joint), ..Place::of_material(need) }
    }
    /// The joint of a series.
    pub fn of_series(need: &Need<'_>, series: &Measured<'_>, geometry: &Geometry) -> Place {
        let kept = (series.temperature.unwrap_or(ROOM), series.infill.unwrap_or(1.0));
        let joint = joint(need, &series.method, (series.insert, series.adhesive), geometry, kept);
        Place { joint: Some(joint), ..Place::of_record(need.book, series.material) }
    }
    /// A study whose result is a mean over many joints.
    pub fn of_study(book: &Book, record: &Record) -> Place {
        let stated = record.series().map(|s| &s.joint);
        let material = stated.and_then(|j| book.record(j.material.as_deref()?));
        let class = if stated.is_some_and(|j| j.made_by.as_deref() == Some("foam-block")) {
            // Foams stand apart, whatever they are made of.
            Some("foam".to_owned())
        } else {
            material.map(|m| class_of(book, &m.family))
        };
        Place { class, family: None, material: Some(record.id.to_string()), joint: None }
    }
}

fn joint(
    need: &Need<'_>,
    method: &str,
    parts: (Option<&Record>, Option<&Record>),
    geometry: &Geometry,
    kept: (f64, f64),
) -> Joint {
    let id = |record: Option<&Record>| record.map(|r| r.id.to_string());
    let hole = geometry.hole.iter().find(|s| matches!(s.purpose, "thread" | "insert")).or(geometry.hole.first());
    Joint {
        method: method.into(),
        insert: id(parts.0),
        adhesive: id(parts.1),
        thread: (need.thread.major().si(), need.thread.pitch().si()),
        length: need.length.si(),
        hole: hole.map_or(need.thread.major().si(), |h| h.finished.nominal.si()),
        boss: geometry.boss.si(),
        axis: need.using.axis,
        temperature: kept.0,
        infill: kept.1,
    }
}

/// Class of a material within which biases are alike: photopolymers apart from other thermosets, else the widest family.
pub fn class_of(book: &Book, family: &str) -> String {
    if book.is_family(family, "photopolymer") {
        return "photopolymer".into();
    }
    book.family_chain(family).last().map_or_else(|| family.to_string(), |f| (*f).to_string())
}
