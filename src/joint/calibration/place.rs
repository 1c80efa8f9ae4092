//! Where a joint lies among all joints: how much two of them share, and how far they lie apart.
//!
//! The discrepancy of a limit state is a Gaussian process on the log scale: parts common to all joints, to a class, a family
//! and a material, and a part of the joint itself whose correlation falls smoothly with the distance (Matérn, 3/2: Rasmussen
//! and Williams, Gaussian Processes for Machine Learning, 2006, eq. 4.17). Within the identity of a joint the distance is 0.

use crate::book::{Book, Record};
use crate::joint::assumption::Assumptions;
use crate::joint::distribution::NINETY;
use crate::joint::geometry::Geometry;
use crate::joint::measured::Measured;
use crate::joint::need::{Axis, Need, ROOM};
use crate::quantity::Measure;

/// Sizes and ways of one joint.
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredJoint {
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

/// Part of a size within which rounding alone lies.
const ROUNDING: f64 = 1e-9;

impl MeasuredJoint {
    /// Whether two joints are the same to the last digit that matters.
    pub fn coincides(&self, other: &MeasuredJoint) -> bool {
        let sizes = |j: &MeasuredJoint| [j.thread.0, j.thread.1, j.length, j.hole, j.boss, j.temperature, j.infill];
        let near = |(a, b): (f64, f64)| (a - b).abs() <= ROUNDING * b.abs();
        self.method == other.method
            && (&self.insert, &self.adhesive, self.axis) == (&other.insert, &other.adhesive, other.axis)
            && sizes(self).into_iter().zip(sizes(other)).all(near)
    }
}

/// Where a joint lies.
#[derive(Debug, Clone, PartialEq)]
pub struct JointCoordinates {
    /// Class of the material: foam, thermoplastic, photopolymer, …; `None` for any.
    pub class: Option<String>,
    /// Family of the material.
    pub family: Option<String>,
    /// Id of the material, or of the study that stands for one.
    pub material: Option<String>,
    /// The joint; `None` for a mean over many, or for the next joint whatever it is.
    pub joint: Option<MeasuredJoint>,
}

/// Variances of the parts of the discrepancy, log², and how far apart joints are.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Parts {
    common: f64,
    class: f64,
    family: f64,
    material: f64,
    /// Of a joint itself.
    pub joint: f64,
    scales: Scales,
}

/// Differences within which two joints are one and the same, and over which a size takes them one distance apart.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Scales {
    same_length: f64,
    same_hole: f64,
    same_temperature: f64,
    far_length: f64,
    far_hole: f64,
    far_boss: f64,
    far_thread: f64,
    far_temperature: f64,
    far_infill: f64,
    other_axis: f64,
    other_part: f64,
}

impl Parts {
    /// From the assumptions.
    pub fn of(assumptions: &Assumptions) -> Parts {
        let value = |name: &'static str| assumptions.value(name);
        let variance = |name: &'static str| libm::pow(assumptions.value(name), 2.0);
        Parts {
            common: variance("bias_sd"),
            class: variance("bias_class_sd"),
            family: variance("bias_family_sd"),
            material: variance("bias_material_sd"),
            joint: variance("bias_joint_sd"),
            scales: Scales {
                same_length: value("same_length"),
                same_hole: value("same_hole"),
                same_temperature: value("same_temperature"),
                far_length: value("far_length"),
                far_hole: value("far_hole"),
                far_boss: value("far_boss"),
                far_thread: value("far_thread"),
                far_temperature: value("far_temperature"),
                far_infill: value("far_infill"),
                other_axis: value("other_axis"),
                other_part: value("other_part"),
            },
        }
    }
    /// Variance of the discrepancy of a single joint.
    pub fn whole(&self) -> f64 {
        self.common + self.class + self.family + self.material + self.joint
    }
    /// Covariance of the discrepancies at two places.
    pub fn shared(&self, a: &JointCoordinates, b: &JointCoordinates) -> f64 {
        let both = |a: &Option<String>, b: &Option<String>| if a.is_some() && a == b { 1.0 } else { 0.0 };
        let levels = self.class * both(&a.class, &b.class)
            + self.family * both(&a.family, &b.family)
            + self.material * both(&a.material, &b.material);
        self.common + levels + self.joint * self.alike(a, b)
    }
    /// How alike two joints are: 1 for the same, falling to 0; 0 for another material or method. Joints that count as one and
    /// the same are taken as far apart as they are: only of plain distances is this a covariance, however many joints there are.
    pub fn alike(&self, a: &JointCoordinates, b: &JointCoordinates) -> f64 {
        self.scales.to_the_letter().distance(a, b).map_or(0.0, |r| {
            let far = libm::sqrt(3.0) * r;
            (1.0 + far) * libm::exp(-far)
        })
    }
    /// Whether two joints count as one and the same.
    pub fn same(&self, a: &JointCoordinates, b: &JointCoordinates) -> bool {
        self.scales.distance(a, b) == Some(0.0)
    }
}

/// How far a joint lies from a measured one, in distances of the table: in what harms, in what helps. A difference that has
/// no one way, such as another thread or another insert, counts in both.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Apart {
    /// In what harms.
    pub worse: f64,
    /// In what helps.
    pub better: f64,
}

impl Parts {
    /// How far a joint lies from a measured one of its material; `None` of another material or method. Of the hole it is told
    /// whether a wider one is never stronger.
    pub fn apart(&self, from: &JointCoordinates, to: &JointCoordinates, wider_is_weaker: bool) -> Option<Apart> {
        let same = from.material.is_some() && from.material == to.material;
        let (from, to) = from.joint.as_ref().zip(to.joint.as_ref()).filter(|_| same)?;
        let Ways { better, either } = self.scales.ways(from, to)?;
        let [length, boss, cooler, narrower] = better;
        let (one_way, hole) = if wider_is_weaker { (narrower, 0.0) } else { (0.0, narrower) };
        let squares = |all: &[f64]| all.iter().map(|d| d * d).sum::<f64>();
        // What may go either way has no bound but its spread: nine of ten joints.
        let both = NINETY * NINETY * (squares(&either) + hole * hole);
        let ordered = [length, boss, cooler, one_way];
        let far = |side: fn(f64) -> f64| libm::sqrt(squares(&ordered.map(side)) + both);
        let apart = Apart { worse: far(|d| d.min(0.0)), better: far(|d| d.max(0.0)) };
        (apart.worse.is_finite() && apart.better.is_finite()).then_some(apart)
    }
    /// Most that two joints one distance apart are taken to differ by beyond what the model says, in ln load.
    pub fn slope(&self) -> f64 {
        libm::sqrt(self.joint)
    }
}

/// Differences of two joints in distances: of what helps (above zero where the second has more of it) and of the rest.
struct Ways {
    better: [f64; 4],
    either: [f64; 6],
}

impl Scales {
    /// The same scales, with no difference so small that it does not count.
    fn to_the_letter(self) -> Scales {
        Scales { same_length: 0.0, same_hole: 0.0, same_temperature: 0.0, ..self }
    }
    /// Distance of two joints; `None` of another material or method.
    fn distance(&self, a: &JointCoordinates, b: &JointCoordinates) -> Option<f64> {
        let same = a.material.is_some() && a.material == b.material;
        let (a, b) = a.joint.as_ref().zip(b.joint.as_ref()).filter(|_| same)?;
        let ways = self.ways(a, b)?;
        let all = ways.better.iter().chain(&ways.either);
        Some(libm::sqrt(all.map(|d| d * d).sum())).filter(|r: &f64| r.is_finite())
    }
    /// The differences one by one: more length, more boss, cooler, a narrower hole; thread, pitch, infill, insert, glue, axis.
    fn ways(&self, a: &MeasuredJoint, b: &MeasuredJoint) -> Option<Ways> {
        if a.method != b.method {
            return None;
        }
        // A scale of zero, as somebody may set it, puts whatever differs infinitely far.
        let over = |difference: f64, same: f64, far: f64| match difference.abs() - same {
            beyond if beyond > 0.0 => (beyond / far).copysign(difference),
            _ => 0.0,
        };
        let ln = |from: f64, to: f64| libm::log(to / from);
        let parts = |a: &Option<String>, b: &Option<String>| if a == b { 0.0 } else { self.other_part };
        // A way that is not known lies between the two that there are.
        let axis = match (a.axis, b.axis) {
            (a, b) if a == b => 0.0,
            (Axis::Unknown, _) | (_, Axis::Unknown) => self.other_axis / 2.0,
            _ => self.other_axis,
        };
        Some(Ways {
            better: [
                over(ln(a.length, b.length), self.same_length, self.far_length),
                over(ln(a.boss, b.boss), self.same_length, self.far_boss),
                over(a.temperature - b.temperature, self.same_temperature, self.far_temperature),
                over(ln(b.hole, a.hole), self.same_hole, self.far_hole),
            ],
            either: [
                over(ln(a.thread.0, b.thread.0), 0.0, self.far_thread),
                over(ln(a.thread.1, b.thread.1), 0.0, self.far_thread),
                over(a.infill - b.infill, 0.0, self.far_infill),
                parts(&a.insert, &b.insert),
                parts(&a.adhesive, &b.adhesive),
                axis,
            ],
        })
    }
}

impl JointCoordinates {
    /// Word of the method; `None` for a mean over many joints, or for the next one whatever it is.
    pub fn method(&self) -> Option<&str> {
        self.joint.as_ref().map(|joint| joint.method.as_str())
    }
    /// The same material, whatever the joint is.
    pub fn of_any_joint(&self) -> JointCoordinates {
        JointCoordinates { joint: None, ..self.clone() }
    }
    /// The next joint of the material asked about; of any where none is.
    pub fn of_material(need: &Need<'_>) -> JointCoordinates {
        if need.any_material {
            return JointCoordinates { class: None, family: None, material: None, joint: None };
        }
        JointCoordinates::of_record(need.book, need.material)
    }
    fn of_record(book: &Book, material: &Record) -> JointCoordinates {
        JointCoordinates {
            class: Some(class_of(book, &material.family)),
            family: Some(material.family.to_string()),
            material: Some(material.id.to_string()),
            joint: None,
        }
    }
    /// The joint of a need, made by a method with this insert and glue in this shape.
    pub fn of_need(
        need: &Need<'_>,
        method: &str,
        parts: (Option<&Record>, Option<&Record>),
        geometry: &Geometry,
    ) -> JointCoordinates {
        let (temperature, infill) = (need.hottest(), need.using.infill.unwrap_or(1.0));
        let joint = joint(need, method, parts, geometry, (temperature, infill));
        JointCoordinates { joint: (!need.any_material).then_some(joint), ..JointCoordinates::of_material(need) }
    }
    /// The joint of a series.
    pub fn of_series(need: &Need<'_>, series: &Measured<'_>, geometry: &Geometry) -> JointCoordinates {
        let kept = (series.temperature.unwrap_or(ROOM), series.infill.unwrap_or(1.0));
        let joint = joint(need, &series.method, (series.insert, series.adhesive), geometry, kept);
        JointCoordinates { joint: Some(joint), ..JointCoordinates::of_record(need.book, series.material) }
    }
    /// A study whose result is a mean over many joints.
    pub fn of_study(book: &Book, record: &Record) -> JointCoordinates {
        let stated = record.series().map(|s| &s.joint);
        let material = stated.and_then(|j| book.record(j.material.as_deref()?));
        let class = if stated.is_some_and(|j| j.made_by.as_deref() == Some("foam-block")) {
            // Foams stand apart, whatever they are made of.
            Some("foam".to_owned())
        } else {
            material.map(|m| class_of(book, &m.family))
        };
        JointCoordinates { class, family: None, material: Some(record.id.to_string()), joint: None }
    }
}

fn joint(
    need: &Need<'_>,
    method: &str,
    parts: (Option<&Record>, Option<&Record>),
    geometry: &Geometry,
    kept: (f64, f64),
) -> MeasuredJoint {
    let id = |record: Option<&Record>| record.map(|r| r.id.to_string());
    let hole = geometry.hole.iter().find(|s| matches!(s.purpose, "thread" | "insert")).or(geometry.hole.first());
    MeasuredJoint {
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
