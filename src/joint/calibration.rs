//! What measured series say of each limit state: one posterior, no switch.
//!
//! ln C = ln m(x) + d(x) + batch + scatter for each limit state. d is what the prediction is off by: parts common to all
//! joints, a class, a family, a material and the joint itself, and the errors of the inputs behind the prediction. With the
//! mode of every specimen the likelihood falls into one factor for each state: the density of the state that failed, the
//! survival of every other. So each state is inferred by itself, and three bursts at 1,000 N say that roots, crests and
//! thread of that very joint hold more than 1,000 N. Screw and insert metal are never biased.

use super::distribution::NINETY;
use super::measured::{Measured, Observation, Unused, gather};
use super::method::Method;
use super::mode::Mode;
use super::need::Need;
use crate::book::{Basis, Record};
use crate::statistics::distribution::{normal_ln_cdf, normal_pdf};
use field::{Field, Site, Unrecorded, Word};
use lean::{Lean, related};
use own::Anchor;
use place::{JointCoordinates, Parts};
use scatter::{Prior, Sample, Scatter};
use std::collections::{BTreeMap, BTreeSet};

mod dense;
pub mod field;
pub mod foam;
mod known;
pub mod lean;
pub mod left_out;
pub mod own;
pub mod place;
pub mod scatter;

pub use known::Exactly;
pub(super) use known::KnownJoint;
pub use left_out::LeftOut;

/// What the series say, for one need.
#[derive(Debug, Clone)]
pub struct Calibration {
    /// What is known of the bias of the next joint of the material asked about, for each mode in which specimens failed.
    pub posteriors: BTreeMap<Mode, Posterior>,
    /// The prior, for the others.
    pub prior: Posterior,
    /// Series used, with what they were used for.
    pub used: Vec<UsedSeries>,
    /// Series that say nothing here, and why.
    pub unused: Vec<Unused>,
    latents: Vec<Latent>,
    states: BTreeMap<Mode, StatePosterior>,
    samples: Vec<Sample>,
    anchors: Vec<Anchor>,
    parts: Parts,
    scatter: Prior,
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
    /// Whether it is of the material asked about.
    pub own: bool,
}

/// What is known of the bias of the next joint.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    /// Median.
    pub median: f64,
    /// 5 % point.
    pub low: f64,
    /// 95 % point.
    pub high: f64,
    /// What is behind it, series by series.
    pub groups: Vec<CalibrationGroup>,
    /// Whether a series of the material asked about is among them.
    pub own: bool,
}

/// What one series says of one mode.
#[derive(Debug, Clone, PartialEq)]
pub struct CalibrationGroup {
    /// Its id.
    pub series: String,
    /// Class of its material: foam, thermoplastic, photopolymer, ….
    pub class: String,
    /// Specimens that failed in this mode, or may have.
    pub failed: usize,
    /// Specimens that held at least so much in it.
    pub held: usize,
}

/// One batch of one joint, as a series has it.
#[derive(Debug, Clone)]
struct Latent {
    series: String,
    place: JointCoordinates,
    /// What joints share that were made of one batch of one material.
    batch: (String, String),
    leans: BTreeMap<Mode, Lean>,
    between: f64,
}

/// The posterior of one mode and the latents it is about.
#[derive(Debug, Clone)]
struct StatePosterior {
    latents: Vec<usize>,
    field: Field,
}

/// What series make of one limit state of a case: ln C = ln m(medians) + keep x (ln m − ln m(medians)) + normal(shift, sd).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Correction {
    /// Share of the inputs' own spread that is left once joints that read the same inputs were measured: 1 for none measured.
    pub keep: f64,
    /// Mean of ln bias.
    pub shift: f64,
    /// Its log standard deviation.
    pub sd: f64,
}

/// Gathers the series and infers every limit state.
pub fn calibrate(need: &Need<'_>, methods: &[&dyn Method]) -> Calibration {
    let (measured, unused) = gather(need.book, need.invented());
    let mut found = Gathered { unused, parts: Parts::of(&need.assumptions), ..Gathered::default() };
    for series in &measured {
        if let Err(because) = found.read(need, series, methods) {
            found.unused.push(Unused { series: series.record.id.to_string(), because });
        }
    }
    let real = |r: &&Record| r.current && r.common().basis == Some(Basis::Measured) && r.series().is_some_and(|s| !s.untraced);
    need.book.of_kind("series").filter(real).for_each(|record| found.study(need, record));
    found.infer(need)
}

impl Calibration {
    /// The posterior of a mode; the prior where no series speaks.
    pub fn posterior(&self, mode: Mode) -> &Posterior {
        self.posteriors.get(&mode).unwrap_or(&self.prior)
    }
    /// Whether joints in materials of this family failed so, more than one of them: of any method, or of that one alone where
    /// the formula is its own.
    pub fn speaks_of(&self, mode: Mode, method: Option<&str>, family: &str) -> bool {
        let alike = |l: &&Latent| {
            l.place.family.as_deref() == Some(family)
                && l.leans.get(&mode).is_some_and(|lean| lean.alone == method.is_some())
                && method.is_none_or(|method| l.place.method() == Some(method))
        };
        let series: BTreeSet<&str> = self.latents.iter().filter(alike).map(|l| &*l.series).collect();
        let failed = self.used.iter().filter(|u| series.contains(&*u.series) && u.modes.contains(&mode));
        failed.map(|u| u.n).sum::<usize>() > 1
    }
    /// Scatter of joints at a place, in a material whose bars scatter by so much (log standard deviation).
    pub fn scatter(&self, place: &JointCoordinates, bars: f64) -> Scatter {
        self.scatter.at(place, bars, &self.samples)
    }
    /// What the series make of one limit state at a place.
    pub fn correction(&self, mode: Mode, place: &JointCoordinates, lean: Option<&Lean>) -> Correction {
        let found = self.told(mode, place, lean);
        Correction { shift: found.shift + own::moved(&self.anchors, &self.parts, place), ..found }
    }
    /// The same before a measured joint is held to its own loads.
    fn told(&self, mode: Mode, place: &JointCoordinates, lean: Option<&Lean>) -> Correction {
        let whole = self.parts.whole();
        let Some(state) = self.states.get(&mode) else { return Correction { keep: 1.0, shift: 0.0, sd: libm::sqrt(whole) } };
        let (mut all, mut inputs) = (Vec::new(), Vec::new());
        for latent in state.latents.iter().map(|l| &self.latents[*l]) {
            let theirs = latent.leans.get(&mode);
            let shared = lean.zip(theirs).map_or(0.0, |(a, b)| a.shared_with(b, self.parts.alike(&latent.place, place)));
            let tells = if related((lean, theirs), (&latent.place, place)) { 1.0 } else { 0.0 };
            inputs.push(tells * shared);
            all.push(tells * (self.parts.shared(&latent.place, place) + shared));
        }
        let of_inputs = lean.map_or(0.0, Lean::variance);
        let keep = if of_inputs > 0.0 { 1.0 - state.field.explained(&inputs, &all) / of_inputs } else { 1.0 };
        let left = whole - state.field.explained(&all, &all) + (1.0 - keep * keep) * of_inputs;
        Correction { keep, shift: state.field.mean(&all), sd: libm::sqrt(left.max(0.0)) }
    }
    /// What joints share, and how far they lie apart.
    pub(super) fn parts(&self) -> &Parts {
        &self.parts
    }
}

/// A mode and the latents its field is about.
type About = (Mode, Vec<usize>);

/// One observation of a latent, before the fields are made.
struct Observed {
    latent: usize,
    ln_load: f64,
    specimens: f64,
    within: f64,
    mode: Option<Mode>,
    censored: bool,
}

#[derive(Default)]
struct Gathered {
    used: Vec<UsedSeries>,
    unused: Vec<Unused>,
    latents: Vec<Latent>,
    observed: Vec<Observed>,
    samples: Vec<Sample>,
    parts: Parts,
    /// Scatter of the bars of its material, for each latent.
    within: Vec<f64>,
    /// ln load of the states of metal and its variance, for each latent.
    metals: Vec<Vec<(f64, f64)>>,
}

impl Gathered {
    /// Reads a series of joints.
    fn read(&mut self, need: &Need<'_>, series: &Measured<'_>, methods: &[&dyn Method]) -> Result<(), String> {
        let asked = series.need(need.book, need.rules, &need.assumptions);
        let (geometry, model) = series.modelled(&asked, methods)?;
        let place = JointCoordinates::of_series(&asked, series, &geometry);
        let within = model.scatter.max(need.assumptions.value("joint_sd"));
        let mut leans: BTreeMap<Mode, Lean> = BTreeMap::new();
        for lean in lean::of(&model).into_iter().flatten() {
            // Of two states of one mode the weaker one is what a specimen saw.
            let weaker = leans.get(&lean.mode).is_none_or(|known| lean.ln_load < known.ln_load);
            if weaker {
                leans.insert(lean.mode, lean);
            }
        }
        let id = series.record.id.to_string();
        let mut batches: BTreeMap<&str, Vec<&Observation>> = BTreeMap::new();
        series.specimens.iter().for_each(|s| batches.entry(s.batch.as_deref().unwrap_or_default()).or_default().push(s));
        for (label, specimens) in &batches {
            let source = series.record.common().source.as_deref().unwrap_or_default();
            let batch = if label.is_empty() { (id.clone(), String::new()) } else { (source.to_owned(), (*label).to_owned()) };
            let metals = leans.values().filter(|l| l.mode.is_metal()).map(|l| (l.ln_load, l.variance() + within * within));
            self.metals.push(metals.collect());
            for specimen in specimens {
                self.observed.push(Observed {
                    latent: self.latents.len(),
                    ln_load: libm::log(specimen.load),
                    specimens: specimen.stands_for as f64,
                    within,
                    mode: specimen.mode,
                    censored: specimen.censored,
                });
            }
            let failed = specimens.iter().filter(|s| !s.censored).map(|s| libm::log(s.load)).collect();
            self.sample(&place, &batch, failed);
            self.within.push(within);
            let polymer = leans.iter().filter(|(m, _)| !m.is_metal()).map(|(m, l)| (*m, l.clone())).collect();
            self.latents.push(Latent { series: id.clone(), place: place.clone(), batch, leans: polymer, between: 0.0 });
        }
        let mut modes: Vec<Mode> = series.specimens.iter().filter(|s| !s.censored).filter_map(|s| s.mode).collect();
        modes.sort();
        modes.dedup();
        let n = series.specimens.iter().map(|s| s.stands_for).sum();
        self.used.push(UsedSeries { series: id, modes, n, own: is_own(need, series.material) });
        Ok(())
    }
    /// Adds specimens to the sample of their joint; the same batch in another series is one batch.
    fn sample(&mut self, place: &JointCoordinates, batch: &(String, String), failed: Vec<f64>) {
        let known = self.samples.iter().position(|s| self.parts.same(&s.place, place)).unwrap_or_else(|| {
            self.samples.push(Sample { place: place.clone(), batches: BTreeMap::new() });
            self.samples.len() - 1
        });
        self.samples[known].batches.entry(batch.clone()).or_default().extend(failed);
    }
    /// A study's own ratio of measured to predicted load over many joints, with the strength measured in the same study.
    fn study(&mut self, need: &Need<'_>, record: &Record) {
        let Some(ratio) = record.series().and_then(|s| s.measured("measured_over_predicted")) else { return };
        let Some(mode) = ratio.mode.as_deref().and_then(Mode::from_word) else { return };
        let Some(value) = ratio.mean.as_ref().and_then(|mean| mean.to_string().parse().ok()) else { return };
        let series = record.id.to_string();
        self.observed.push(Observed {
            latent: self.latents.len(),
            ln_load: libm::log(value),
            specimens: 1.0,
            within: foam::MODEL_SD,
            mode: Some(mode),
            censored: false,
        });
        let leans = BTreeMap::from([(mode, Lean { mode, alone: false, ln_load: 0.0, shared: Vec::new(), own: 0.0 })]);
        let (place, batch) = (JointCoordinates::of_study(need.book, record), (series.clone(), String::new()));
        self.within.push(foam::MODEL_SD);
        self.metals.push(Vec::new());
        self.latents.push(Latent { series: series.clone(), place, batch, leans, between: 0.0 });
        self.used.push(UsedSeries { series, modes: vec![mode], n: 1, own: false });
    }
    fn infer(mut self, need: &Need<'_>) -> Calibration {
        let (parts, scatter) = (self.parts, Prior::of(&need.assumptions));
        for (latent, within) in self.latents.iter_mut().zip(&self.within) {
            // A mean over many joints has its own deviation; it is of no batch.
            if latent.place.joint.is_some() {
                let here = scatter.at(&latent.place, *within, &self.samples);
                latent.between = here.between;
            }
        }
        let lone = self.lone();
        for one in &mut self.observed {
            let place = &self.latents[one.latent].place;
            if place.joint.is_some() {
                let doubt = if lone[one.latent] { need.assumptions.value("lone_sd") } else { 0.0 };
                one.within = libm::hypot(scatter.at(place, one.within, &self.samples).within, doubt);
            }
        }
        let (modes, mut fields, unrecorded) = self.fields();
        let own = self.own();
        field::infer(&mut fields, &unrecorded);
        let states: BTreeMap<Mode, StatePosterior> =
            modes.into_iter().zip(fields).map(|((mode, latents), field)| (mode, StatePosterior { latents, field })).collect();
        let Gathered { mut used, mut unused, latents, samples, .. } = self;
        used.sort_by(|a, b| a.series.cmp(&b.series));
        unused.sort_by(|a, b| a.series.cmp(&b.series));
        let prior = Posterior::of(Correction { keep: 1.0, shift: 0.0, sd: libm::sqrt(parts.whole()) }, Vec::new(), false);
        let (posteriors, anchors) = (BTreeMap::new(), Vec::new());
        let mut found = Calibration { posteriors, prior, used, unused, latents, states, samples, anchors, parts, scatter };
        found.anchors = own.iter().map(|o| found.anchor(o)).collect();
        let place = JointCoordinates::of_material(need);
        let of = |(mode, state): (&Mode, &StatePosterior)| {
            let groups = found.groups(*mode, state);
            let own = groups.iter().any(|g| found.used.iter().any(|u| u.own && u.series == g.series));
            let failed = groups.iter().any(|g| g.failed > 0);
            failed.then(|| (*mode, Posterior::of(found.correction(*mode, &place, None), groups, own)))
        };
        found.posteriors = found.states.iter().filter_map(of).collect();
        found
    }
    /// Of each latent, whether its joint is known from one specimen alone.
    fn lone(&self) -> Vec<bool> {
        let specimens = |of: &Latent| {
            let here = |o: &&Observed| self.parts.same(&self.latents[o.latent].place, &of.place);
            self.observed.iter().filter(here).map(|o| o.specimens).sum::<f64>()
        };
        self.latents.iter().map(|l| specimens(l) < 1.5).collect()
    }
    /// One field a mode with the latents it is about, and the specimens whose mode is not recorded.
    fn fields(&self) -> (Vec<About>, Vec<Field>, Vec<Unrecorded>) {
        let mut unrecorded: Vec<Unrecorded> = (0..self.latents.len()).map(|l| self.unrecorded(l)).collect();
        let (mut modes, mut fields) = (Vec::new(), Vec::new());
        for mode in Mode::ALL {
            let latents: Vec<usize> = (0..self.latents.len()).filter(|l| self.latents[*l].leans.contains_key(&mode)).collect();
            if latents.is_empty() {
                continue;
            }
            let n = latents.len();
            let prior = (0..n * n).map(|k| self.covariance(mode, latents[k / n], latents[k % n])).collect();
            let mut sites = Vec::new();
            for observed in &self.observed {
                let Some(latent) = latents.iter().position(|l| *l == observed.latent) else { continue };
                let word = observed.word(mode);
                let place = (fields.len(), latent);
                let batch = &mut unrecorded[observed.latent];
                if word == Word::Unsaid && batch.latents.last() != Some(&place) {
                    batch.latents.push(place);
                }
                let y = observed.ln_load - self.latents[observed.latent].leans[&mode].ln_load;
                let sd = if word == Word::Held { observed.within } else { observed.within / libm::sqrt(observed.specimens) };
                sites.push(Site { latent, y, sd, word });
            }
            fields.push(Field::new(prior, n, sites));
            modes.push((mode, latents));
        }
        (modes, fields, unrecorded.into_iter().filter(|u| !u.latents.is_empty()).collect())
    }
    /// The measured joints whose loads are the strength of the part: all failed, none in metal. A latent of each, its sample
    /// and its prior deviation within a batch.
    fn own(&self) -> Vec<(usize, usize, f64)> {
        let other = |o: &&Observed| o.censored || o.mode.is_some_and(Mode::is_metal);
        let of = |(place, sample): (usize, &Sample)| {
            let here = |l: usize| self.parts.same(&self.latents[l].place, &sample.place);
            let spoilt = self.observed.iter().filter(other).any(|o| here(o.latent));
            let latent = (0..self.latents.len()).find(|l| here(*l)).filter(|_| !spoilt)?;
            Some((latent, place, self.within[latent]))
        };
        self.samples.iter().enumerate().filter_map(of).collect()
    }
    /// What the metal says of the specimens of a batch without a mode.
    fn unrecorded(&self, latent: usize) -> Unrecorded {
        let unsaid = || self.observed.iter().filter(|o| o.latent == latent && o.mode.is_none() && !o.censored);
        let of = |(mean, variance): &(f64, f64)| {
            let sd = libm::sqrt(*variance);
            let z = |o: &Observed| (o.ln_load - mean) / sd;
            let failed = unsaid().map(|o| libm::log(normal_pdf(z(o)).max(f64::MIN_POSITIVE) / sd)).sum();
            (failed, unsaid().map(|o| normal_ln_cdf(-z(o))).sum())
        };
        Unrecorded { latents: Vec::new(), rivals: self.metals[latent].iter().map(of).collect() }
    }
    /// Covariance of two latents of one mode: discrepancy, errors of the inputs, and the batch where it is the same.
    fn covariance(&self, mode: Mode, a: usize, b: usize) -> f64 {
        let (a, b) = (&self.latents[a], &self.latents[b]);
        let (la, lb) = (&a.leans[&mode], &b.leans[&mode]);
        let same_batch = a.batch == b.batch && a.place.material == b.place.material;
        let batch = if same_batch { a.between * b.between } else { 0.0 };
        let shared = self.parts.shared(&a.place, &b.place) + la.shared_with(lb, self.parts.alike(&a.place, &b.place));
        // Parts of one batch differ from the next batch alike, whatever holds them.
        if related((Some(la), Some(lb)), (&a.place, &b.place)) { shared + batch } else { batch }
    }
}

impl Calibration {
    /// How far a measured joint is held to its own loads.
    fn anchor(&self, (latent, sample, within): &(usize, usize, f64)) -> Anchor {
        let (latent, sample) = (&self.latents[*latent], &self.samples[*sample]);
        let place = latent.place.clone();
        let state = |(mode, lean): (&Mode, &Lean)| {
            let told = self.told(*mode, &place, Some(lean));
            (lean.ln_load + told.shift, told.sd * told.sd + told.keep * told.keep * lean.variance())
        };
        let states: Vec<(f64, f64)> = latent.leans.iter().map(state).collect();
        let batches: Vec<&[f64]> = sample.batches.values().map(Vec::as_slice).collect();
        let by = own::translation(&batches, &states, self.scatter(&place, *within).common());
        Anchor { place, by }
    }
}

impl Observed {
    fn word(&self, mode: Mode) -> Word {
        match self.mode {
            Some(seen) if seen == mode && !self.censored => Word::Failed,
            None if !self.censored => Word::Unsaid,
            _ => Word::Held,
        }
    }
}

impl Calibration {
    /// What each series says of a mode in any method.
    fn groups(&self, mode: Mode, state: &StatePosterior) -> Vec<CalibrationGroup> {
        let mut groups: BTreeMap<&str, CalibrationGroup> = BTreeMap::new();
        let of_any = |latent: &Latent| latent.leans.get(&mode).is_none_or(|lean| !lean.alone);
        for site in state.field.sites() {
            let latent = &self.latents[state.latents[site.latent]];
            if !of_any(latent) {
                continue;
            }
            let group = groups.entry(&latent.series).or_insert_with(|| CalibrationGroup {
                series: latent.series.clone(),
                class: latent.place.class.clone().unwrap_or_else(|| "unknown".into()),
                failed: 0,
                held: 0,
            });
            match site.word {
                Word::Failed | Word::Unsaid => group.failed += 1,
                Word::Held => group.held += 1,
            }
        }
        groups.into_values().collect()
    }
}

impl Posterior {
    fn of(bias: Correction, groups: Vec<CalibrationGroup>, own: bool) -> Posterior {
        let at = |z: f64| libm::exp(bias.shift + z * bias.sd);
        Posterior { median: at(0.0), low: at(-NINETY), high: at(NINETY), groups, own }
    }
}

fn is_own(need: &Need<'_>, material: &Record) -> bool {
    !need.any_material && material.id == need.material.id
}
