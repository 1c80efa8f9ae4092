//! Measured series of whole joints, as the calibration reads them.

use super::assumption::Assumptions;
use super::method::{Case, Method};
use super::mode::Mode;
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
    let thread = joint["thread"].as_str().and_then(|t| thread::fastening(t).ok()).ok_or("no standard thread is stated")?;
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
        let one = |s: &Json| {
            let machine = s["mode"].as_str() == Some("machine-limit");
            Some(Specimen { load: load(&s["value"])?, mode: mode(&s["mode"]), censored: machine || s["censored"] == true })
        };
        return single.iter().filter_map(one).collect();
    }
    let mean = load(&pulls["mean"]);
    mean.map(|load| Specimen { load, mode: mode(&pulls["mode"]), censored: false }).into_iter().collect()
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
        need.gap = length(&joint["gap"]);
        need.hole_size = length(&joint["hole"]);
        need.using.axis = self.axis();
        need.assumptions = assumptions.clone();
        need
    }
    /// How its joints lay to the build direction.
    pub fn axis(&self) -> Axis {
        match self.record.rest["joint"]["axis"].as_str() {
            Some("along-build") => Axis::AlongBuild,
            Some("across-build") => Axis::AcrossBuild,
            _ => Axis::Unknown,
        }
    }
    /// Load at which each mode is predicted with every input at its median, ln N.
    ///
    /// # Errors
    /// Why the model gives none.
    pub fn predicted(&self, need: &Need<'_>, methods: &[&dyn Method]) -> Result<Vec<(Mode, f64)>, String> {
        let method = methods.iter().find(|m| m.card().name == self.method).ok_or("no such method")?;
        let mut need = need.clone();
        // A hole in a stepped shape is given by its gap; a hole of the book's shape by its diameter.
        let case = Case { need: &need, insert: self.insert, adhesive: self.adhesive };
        let geometry = match method.geometry(&case) {
            Ok(geometry) => geometry,
            Err(_) => {
                need.hole_size = None;
                let case = Case { need: &need, insert: self.insert, adhesive: self.adhesive };
                method.geometry(&case).map_err(|e| e.message)?
            }
        };
        let case = Case { need: &need, insert: self.insert, adhesive: self.adhesive };
        let model = method.model(&case, &geometry);
        if !model.has_load() {
            return Err(model.lacks.iter().find(|l| l.blocks).map_or("no load is predicted".into(), |l| l.what.clone()));
        }
        let middle = model.middle();
        let draw = super::model::Draw(&middle);
        let loads = model.states.iter().map(|s| (s.mode, (s.load)(&draw).si()));
        Ok(loads.filter(|(_, f)| f.is_finite() && *f > 0.0).map(|(m, f)| (m, libm::log(f))).collect())
    }
}
