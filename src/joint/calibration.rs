//! What measured series say of the bias of each limit state.
//!
//! Bias belongs to a limit state, not to a method. A specimen that failed in mode j at F is an observation of j and a
//! right-censored one of every other candidate. One posterior, no switch: ln bias of a material ~ N(mu, tau), mu ~ N(0, 0.5),
//! tau ~ half-normal(0.4), tau integrated on a grid; prediction for a new material, or for the material asked about where a
//! series of it scales to the case. Screw and insert metal are never biased.

use super::fact::fact;
use super::law::Law;
use super::measured::{Measured, Unused, gather};
use super::method::Method;
use super::mode::Mode;
use super::need::Need;
use crate::book::{Book, Record};
use crate::quantity::Measure;
use crate::statistics::distribution::{half_normal_pdf, normal_cdf, normal_pdf};
use serde_json::Value as Json;
use std::collections::BTreeMap;

pub mod foam;
mod grid;

pub use grid::{Group, Posterior};

/// What the series say, for one need.
#[derive(Debug, Clone)]
pub struct Calibration {
    /// One posterior for each mode that any series speaks of.
    pub posteriors: BTreeMap<Mode, Posterior>,
    /// The prior, for the others.
    pub prior: Posterior,
    /// Series used, with what they were used for.
    pub used: Vec<UsedSeries>,
    /// Series that say nothing here, and why.
    pub unused: Vec<Unused>,
}

/// A series that enters.
#[derive(Debug, Clone, PartialEq)]
pub struct UsedSeries {
    /// Its id.
    pub series: String,
    /// Modes it observed.
    pub modes: Vec<Mode>,
    /// Specimens.
    pub n: usize,
    /// Whether it is of the material asked about and scales to the case.
    pub own: bool,
}

/// Gathers the series and computes the posteriors for a need.
pub fn calibrate(need: &Need<'_>, methods: &[&dyn Method]) -> Calibration {
    let settings = grid::Settings::of(&need.assumptions);
    let (measured, mut unused) = gather(need.book, need.invented());
    let mut groups: BTreeMap<Mode, Vec<Group>> = BTreeMap::new();
    let mut used = Vec::new();
    for series in &measured {
        match observe(need, series, methods, &mut groups) {
            Ok(one) => used.push(one),
            Err(because) => unused.push(Unused { series: series.record.id.to_string(), because }),
        }
    }
    for record in need.book.of_kind("series").filter(|r| r.current && r.rest["basis"] == "measured" && r.rest["untraced"] != true)
    {
        if let Some((mode, group)) = published_ratio(need, record) {
            used.push(UsedSeries { series: record.id.to_string(), modes: vec![mode], n: group.n, own: false });
            groups.entry(mode).or_default().push(group);
        }
    }
    let posteriors = groups.iter().filter(|(_, g)| g.iter().any(|g| !g.exact.is_empty()));
    let posteriors = posteriors.map(|(mode, g)| (*mode, grid::posterior(g, &settings))).collect();
    used.sort_by(|a, b| a.series.cmp(&b.series));
    unused.sort_by(|a, b| a.series.cmp(&b.series));
    Calibration { posteriors, prior: grid::posterior(&[], &settings), used, unused }
}

impl Calibration {
    /// The spread of the bias of a mode.
    pub fn law(&self, mode: Mode) -> Law {
        self.posterior(mode).law.clone()
    }
    /// The posterior of a mode; the prior where no series speaks.
    pub fn posterior(&self, mode: Mode) -> &Posterior {
        self.posteriors.get(&mode).unwrap_or(&self.prior)
    }
}

/// A study's own ratio of measured to predicted load, with the strength measured in the same study.
fn published_ratio(need: &Need<'_>, record: &Record) -> Option<(Mode, Group)> {
    let list = record.rest["measurements"].as_array()?;
    let ratio = list.iter().find(|m| m["quantity"] == "measured_over_predicted" && m["standing"].is_null())?;
    let mode = ratio["mode"].as_str().and_then(Mode::from_word)?;
    let value = match &ratio["mean"] {
        Json::Number(n) => n.as_f64()?,
        Json::String(t) => t.parse().ok()?,
        _ => return None,
    };
    let class = class_of_series(need, record);
    let group = Group {
        material: record.id.to_string(),
        same_class: same_class(need, &class),
        class,
        own: false,
        exact: vec![(libm::log(value), foam::MODEL_SD)],
        censored: Vec::new(),
        extra: 0.0,
        n: 1,
    };
    Some((mode, group))
}

/// Adds what a series observed of each mode to the groups of its material.
fn observe(
    need: &Need<'_>,
    series: &Measured<'_>,
    methods: &[&dyn Method],
    groups: &mut BTreeMap<Mode, Vec<Group>>,
) -> Result<UsedSeries, String> {
    let asked = series.need(need.book, need.rules, &need.assumptions);
    let predicted = series.predicted(&asked, methods)?;
    if series.specimens.iter().all(|s| s.mode.is_none() && !s.censored) {
        return Err("the failure mode is not stated: it counts for its own combination only".into());
    }
    let own = scales_to(need, series);
    let extra = if own { scaling(need, series) } else { strength_doubt(&asked) };
    let scatter = need.assumptions.value("joint_sd");
    let mut modes = Vec::new();
    for &(mode, ln_load) in predicted.iter().filter(|(m, _)| !m.is_metal()) {
        let group = group_of(need, groups.entry(mode).or_default(), series, own, extra);
        for specimen in &series.specimens {
            let ratio = libm::log(specimen.load) - ln_load;
            match specimen.mode {
                Some(seen) if seen == mode && !specimen.censored => {
                    group.exact.push((ratio, scatter));
                    if !modes.contains(&mode) {
                        modes.push(mode);
                    }
                }
                // It held at least that much in every mode in which it did not fail.
                Some(_) => group.censored.push((ratio, scatter)),
                None if specimen.censored => group.censored.push((ratio, scatter)),
                None => {}
            }
        }
        group.n += series.specimens.len();
    }
    Ok(UsedSeries { series: series.record.id.to_string(), modes, n: series.specimens.len(), own })
}

fn group_of<'g>(need: &Need<'_>, list: &'g mut Vec<Group>, series: &Measured<'_>, own: bool, extra: f64) -> &'g mut Group {
    let material = series.material.id.to_string();
    let class = class_of(need.book, &series.material.family);
    // A material's series within the scaling limits and those outside are two groups: only the first speak for the case.
    let place = list.iter().position(|g| g.material == material && g.own == own);
    let place = place.unwrap_or_else(|| {
        let same_class = same_class(need, &class);
        list.push(Group { material, class, same_class, own, exact: Vec::new(), censored: Vec::new(), extra: 0.0, n: 0 });
        list.len() - 1
    });
    list[place].extra = list[place].extra.max(extra);
    &mut list[place]
}

/// Class of a material within which biases are alike: photopolymers apart from other thermosets, else the widest family.
pub fn class_of(book: &Book, family: &str) -> String {
    if book.is_family(family, "photopolymer") {
        return "photopolymer".into();
    }
    book.family_chain(family).last().map_or_else(|| family.to_string(), |f| (*f).to_string())
}

/// Class of the material of a series: foams apart, whatever they are made of.
fn class_of_series(need: &Need<'_>, record: &Record) -> String {
    let joint = &record.rest["joint"];
    if joint["made_by"] == "foam-block" {
        return "foam".into();
    }
    let material = joint["material"].as_str().and_then(|id| need.book.record(id));
    material.map_or_else(|| "unknown".into(), |m| class_of(need.book, &m.family))
}

/// Whether that is the class asked about; for any material none is.
fn same_class(need: &Need<'_>, class: &str) -> bool {
    !need.any_material && class_of(need.book, &need.material.family) == class
}

/// Whether a series may be scaled to the case: same material, same thread size, length ratio 0.67 to 1.5.
pub fn scales_to(need: &Need<'_>, series: &Measured<'_>) -> bool {
    let ratio = need.length.si() / series.length.si();
    !need.any_material
        && series.material.id == need.material.id
        && series.thread.size == need.thread.size
        && ratio >= need.assumptions.value("scale_least")
        && ratio <= need.assumptions.value("scale_most")
}

/// Doubt added by scaling to another length; none at the same length.
fn scaling(need: &Need<'_>, series: &Measured<'_>) -> f64 {
    let ln_ratio = libm::log(need.length.si() / series.length.si()).abs();
    if ln_ratio < 0.02 {
        return 0.0;
    }
    need.assumptions.value("scale_sd") + need.assumptions.value("scale_slope") * ln_ratio
}

/// Doubt of the strength behind the prediction of another material's series.
fn strength_doubt(asked: &Need<'_>) -> f64 {
    let known = ["shear_strength", "tensile_strength"].into_iter().find_map(|p| fact(asked, asked.material, p, Some("flat")));
    known.and_then(|k| k.law.uncertainty()).unwrap_or(0.3)
}

/// Of the groups of a mode: how often the 90 % prediction from the others holds the mean of one left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LeftOut {
    /// Groups left out in turn.
    pub tried: usize,
    /// Predictions that held.
    pub held: usize,
}

/// Likelihood of a specimen of known bias.
fn exact(y: f64, sd: f64, bias: f64) -> f64 {
    normal_pdf((y - bias) / sd) / sd
}

/// Likelihood of a specimen that held at least so much.
fn at_least(y: f64, sd: f64, bias: f64) -> f64 {
    normal_cdf((bias - y) / sd)
}

fn tau_weight(tau: f64, scale: f64) -> f64 {
    half_normal_pdf(tau, scale)
}
