//! Measured series of whole joints, as the calibration reads them.

use super::assumption::Assumptions;
use super::geometry::Geometry;
use super::method::{Case, Method};
use super::mode::Mode;
use super::model::Model;
use super::need::{Axis, Need};
use crate::book::view::{self, Scalar, Specimen, Stated};
use crate::book::{Basis, Book, Record};
use crate::mechanics::thread;
use crate::quantity::{Measure, Quantity, parse};
use crate::suit::Rule;
use uom::si::f64::Length;

/// A load of a series: of one specimen, or the mean of several of which nothing else is known.
#[derive(Debug, Clone, PartialEq)]
pub struct Observation {
    /// Load in N.
    pub load: f64,
    /// How it failed, where one of the model's modes.
    pub mode: Option<Mode>,
    /// It did not fail: the load is the highest one reached.
    pub censored: bool,
    /// Its batch: the label of the material's lot, else of the print job; without either the whole series is one batch.
    pub batch: Option<String>,
    /// How many specimens it stands for: more than one where only their mean is known.
    pub stands_for: usize,
}

/// One series of pulled joints.
#[derive(Debug, Clone)]
pub struct Measured<'b> {
    /// Its record.
    pub record: &'b Record,
    /// What the record says.
    pub says: &'b view::Series,
    /// Word of the method.
    pub method: String,
    /// Material of the part.
    pub material: &'b Record,
    /// Insert.
    pub insert: Option<&'b Record>,
    /// Adhesive.
    pub adhesive: Option<&'b Record>,
    /// Thread designation.
    pub thread: thread::Thread,
    /// Engaged length.
    pub length: Length,
    /// Loads of its specimens.
    pub specimens: Vec<Observation>,
    /// Temperature of the test, K.
    pub temperature: Option<f64>,
    /// Share of the inside that was filled.
    pub infill: Option<f64>,
    /// Whether the series is invented.
    pub invented: bool,
}

/// Why a series says nothing here.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unused {
    /// Id of the series.
    pub series: String,
    /// Why.
    pub because: String,
}

/// Series of joints sorted into those that can be compared with a model and the others with the reason.
pub fn gather<'b>(book: &'b Book, invented: bool) -> (Vec<Measured<'b>>, Vec<Unused>) {
    let (mut used, mut unused) = (Vec::new(), Vec::new());
    for record in book.of_kind("series").filter(|r| r.current && is_joint(r)) {
        if record.is_invented() && !invented {
            continue;
        }
        match read(book, record) {
            Ok(measured) => used.push(measured),
            Err(because) => unused.push(Unused { series: record.id.to_string(), because }),
        }
    }
    (used, unused)
}

fn is_joint(record: &Record) -> bool {
    record.series().is_some_and(|s| s.joint.is("pull-out") && s.joint.method.is_some())
}

fn amount<Q: Measure>(stated: &Option<Stated<Q>>) -> Option<Q> {
    stated.as_ref().map(Stated::amount)
}

fn read<'b>(book: &'b Book, record: &'b Record) -> Result<Measured<'b>, String> {
    let says = record.series().ok_or("it is no series")?;
    let joint = &says.joint;
    if says.untraced {
        return Err("untraced: it may repeat supplier data".into());
    }
    if let Some(standing) = says.standing {
        return Err(standing.word().into());
    }
    let basis = record.common().basis;
    if !matches!(basis, Some(Basis::Measured | Basis::Invented)) {
        return Err(format!("basis {}: only measurements calibrate", basis.map_or("unknown", Basis::word)));
    }
    let find = |id: &Option<Box<str>>| id.as_deref().and_then(|id| book.record(id));
    let material = find(&joint.material).ok_or("the material has no record")?;
    let thread = joint.thread.as_deref().and_then(|t| thread::fastening(t).ok()).ok_or("no standard thread is stated")?;
    let length = amount(&joint.length).ok_or("the engaged length is not stated")?;
    let specimens = says.measured("pull_out_load").map(loads).unwrap_or_default();
    if specimens.is_empty() {
        return Err("no pull-out load of a specimen or mean is given".into());
    }
    Ok(Measured {
        record,
        says,
        method: joint.method.as_deref().unwrap_or_default().into(),
        material,
        insert: find(&joint.insert),
        adhesive: find(&joint.adhesive),
        thread,
        length,
        specimens,
        temperature: says.test.temperature.as_ref().map(|t| t.si),
        infill: joint.infill.as_ref().map(|i| i.si),
        invented: basis == Some(Basis::Invented),
    })
}

fn loads(pulls: &view::Measurement) -> Vec<Observation> {
    let newtons = |value: &Scalar| value.as_text().and_then(|t| parse(t, Quantity::Force).ok()).map(|w| w.si);
    let load = |value: &Scalar| newtons(value).filter(|load| *load > 0.0);
    let mode = |word: &Option<Box<str>>| word.as_deref().and_then(Mode::from_word);
    let one = |(_, s): (usize, &Specimen<Scalar>)| {
        let batch = s.batch.as_deref().or(s.job.as_deref()).map(str::to_owned);
        Some(Observation { load: load(&s.value)?, mode: mode(&s.mode), censored: s.held(), batch, stands_for: 1 })
    };
    if !pulls.all_specimens.is_empty() {
        return pulls.specimens().filter_map(one).collect();
    }
    let stands_for = pulls.n.and_then(|n| usize::try_from(n).ok()).unwrap_or(1).max(1);
    let mean = pulls.mean.as_ref().and_then(load);
    let one = mean.map(|load| Observation { load, mode: mode(&pulls.mode), censored: false, batch: None, stands_for });
    one.into_iter().collect()
}

impl<'b> Measured<'b> {
    /// The need whose model is compared with the series.
    pub fn need(&self, book: &'b Book, rules: &'b [Rule], assumptions: &Assumptions) -> Need<'b> {
        let joint = &self.says.joint;
        let mut need = Need::new(book, rules, self.material, self.thread, self.length);
        need.insert = self.insert;
        need.adhesive = self.adhesive;
        need.process = joint.process.as_deref().and_then(|id| book.record(id));
        need.boss = amount(&joint.boss);
        need.edge = amount(&joint.edge_distance);
        need.gap = self.gap();
        need.hole_size = self.hole();
        need.using.axis = self.axis();
        need.assumptions = assumptions.clone();
        need
    }
    /// Diameter of the hole, where stated.
    pub fn hole(&self) -> Option<Length> {
        amount(&self.says.joint.hole)
    }
    /// Glue gap on one side, where stated.
    pub fn gap(&self) -> Option<Length> {
        amount(&self.says.joint.gap)
    }
    /// How its joints lay to the build direction.
    pub fn axis(&self) -> Axis {
        match self.says.joint.axis.as_deref() {
            Some("along-build") => Axis::AlongBuild,
            Some("across-build") => Axis::AcrossBuild,
            _ => Axis::Unknown,
        }
    }
    /// Shape and model of its joints.
    ///
    /// # Errors
    /// Why there is none, or none with a load.
    pub fn modelled<'n>(&self, need: &'n Need<'b>, methods: &[&dyn Method]) -> Result<(Geometry, Model<'n>), String> {
        let method = methods.iter().find(|m| m.card().name == self.method).ok_or("no such method")?;
        let case = Case { need, insert: self.insert, adhesive: self.adhesive };
        let geometry = method.geometry(&case).or_else(|_| {
            // A hole in a stepped shape is given by its gap; a hole of the book's shape by its diameter.
            let need = Need { hole_size: None, ..need.clone() };
            method.geometry(&Case { need: &need, insert: self.insert, adhesive: self.adhesive }).map_err(|e| e.message)
        })?;
        let model = method.model(&case, &geometry);
        if !model.has_load() {
            return Err(model.lacks.iter().find(|l| l.blocks).map_or("no load is predicted".into(), |l| l.what.clone()));
        }
        Ok((geometry, model))
    }
}
