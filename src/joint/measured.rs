//! Measured series of whole joints, as the calibration reads them.

use super::assumption::Assumptions;
use super::geometry::Geometry;
use super::method::{Case, Method};
use super::mode::Mode;
use super::model::Model;
use super::need::{Axis, Need};
use crate::book::{Book, Record};
use crate::mechanics::thread;
use crate::quantity::{Measure, Quantity, parse};
use crate::suit::Rule;
use serde_json::Value as Json;
use uom::si::f64::Length;

/// One specimen.
#[derive(Debug, Clone, PartialEq)]
pub struct Specimen {
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
    /// Specimens.
    pub specimens: Vec<Specimen>,
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
        if record.rest["basis"].as_str() == Some("invented") && !invented {
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
    record.rest["joint"]["test"].as_str() == Some("pull-out") && record.rest["joint"]["method"].is_string()
}

fn length(json: &Json) -> Option<Length> {
    json.as_str().and_then(|t| parse(t, Quantity::Length).ok()).map(|w| Length::from_si(w.si))
}

fn read<'b>(book: &'b Book, record: &'b Record) -> Result<Measured<'b>, String> {
    let rest = &record.rest;
    let joint = &rest["joint"];
    if rest["untraced"].as_bool() == Some(true) {
        return Err("untraced: it may repeat supplier data".into());
    }
    if !rest["standing"].is_null() {
        return Err(rest["standing"].as_str().unwrap_or("disputed").to_string());
    }
    if !matches!(rest["basis"].as_str(), Some("measured" | "invented")) {
        return Err(format!("basis {}: only measurements calibrate", rest["basis"].as_str().unwrap_or("unknown")));
    }
    let find = |key: &str| joint[key].as_str().and_then(|id| book.record(id));
    let material = find("material").ok_or("the material has no record")?;
    let thread = joint["thread"].as_str().and_then(|t| thread::parse(t).ok()).ok_or("no standard thread is stated")?;
    let length = length(&joint["length"]).ok_or("the engaged length is not stated")?;
    let specimens = specimens(rest);
    if specimens.is_empty() {
        return Err("no pull-out load of a specimen or mean is given".into());
    }
    Ok(Measured {
        record,
        method: joint["method"].as_str().unwrap_or_default().into(),
        material,
        insert: find("insert"),
        adhesive: find("adhesive"),
        thread,
        length,
        specimens,
        temperature: rest["test"]["temperature"].as_str().and_then(|t| parse(t, Quantity::Temperature).ok()).map(|w| w.si),
        infill: joint["infill"].as_str().and_then(|t| parse(t, Quantity::Fraction).ok()).map(|w| w.si),
        invented: rest["basis"].as_str() == Some("invented"),
    })
}

fn specimens(rest: &Json) -> Vec<Specimen> {
    let load = |json: &Json| json.as_str().and_then(|t| parse(t, Quantity::Force).ok()).map(|w| w.si);
    let list = rest["measurements"].as_array().map_or(&[][..], Vec::as_slice);
    let Some(pulls) = list.iter().find(|m| m["quantity"] == "pull_out_load" && m["standing"].is_null()) else {
        return Vec::new();
    };
    let mode = |json: &Json| json.as_str().and_then(Mode::from_word);
    if let Some(single) = pulls["specimens"].as_array() {
        let text = |json: &Json| json.as_str().map(str::to_owned);
        let one = |s: &Json| {
            let machine = s["mode"].as_str() == Some("machine-limit");
            let batch = text(&s["batch"]).or_else(|| text(&s["job"]));
            let censored = machine || s["censored"] == true;
            Some(Specimen { load: load(&s["value"])?, mode: mode(&s["mode"]), censored, batch, stands_for: 1 })
        };
        return single.iter().filter_map(one).filter(|s| s.load > 0.0).collect();
    }
    let stands_for = pulls["n"].as_u64().and_then(|n| usize::try_from(n).ok()).unwrap_or(1).max(1);
    let mean = load(&pulls["mean"]).filter(|load| *load > 0.0);
    let one = mean.map(|load| Specimen { load, mode: mode(&pulls["mode"]), censored: false, batch: None, stands_for });
    one.into_iter().collect()
}

impl<'b> Measured<'b> {
    /// The need whose model is compared with the series.
    pub fn need(&self, book: &'b Book, rules: &'b [Rule], assumptions: &Assumptions) -> Need<'b> {
        let joint = &self.record.rest["joint"];
        let mut need = Need::new(book, rules, self.material, self.thread, self.length);
        need.insert = self.insert;
        need.adhesive = self.adhesive;
        need.process = joint["process"].as_str().and_then(|id| book.record(id));
        need.boss = length(&joint["boss"]);
        need.edge = length(&joint["edge_distance"]);
        need.gap = self.gap();
        need.hole_size = self.hole();
        need.using.axis = self.axis();
        need.assumptions = assumptions.clone();
        need
    }
    /// Diameter of the hole, where stated.
    pub fn hole(&self) -> Option<Length> {
        length(&self.record.rest["joint"]["hole"])
    }
    /// Glue gap on one side, where stated.
    pub fn gap(&self) -> Option<Length> {
        length(&self.record.rest["joint"]["gap"])
    }
    /// How its joints lay to the build direction.
    pub fn axis(&self) -> Axis {
        match self.record.rest["joint"]["axis"].as_str() {
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
