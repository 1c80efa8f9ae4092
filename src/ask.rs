//! The way in for another program: load packs from bytes or a folder, ask the three questions, get answers that serialise.
//!
//! An answer says what the command of that name says, with every number's unit and origin: verdicts and cautions belong to the
//! numbers and are to be shown with them. Nothing is remembered between runs, nothing asks for a clock or the environment.
//!
//! ```
//! use gripbook::{ask::Library, plugins::BUILT_IN};
//! let library = Library::built_in(BUILT_IN)?;
//! let answer = library.suits("cyanoacrylate-thick", "pla")?;
//! println!("{}: {}", answer.verdict, serde_json::json!(answer.rules));
//! # Ok::<(), gripbook::ask::Refused>(())
//! ```

use crate::book::{Basis, Book, PackRoot, Record};
use crate::finding::Finding;
use crate::joint::judge::{self, Candidate};
use crate::joint::need::Need;
use crate::mechanics::thread;
use crate::plugins::Registry;
use crate::quantity::{Amount, Measure, Quantity, parse};
use crate::series::reduce::reduce;
use crate::series::{earlier, record};
use crate::suit::{self, Question, Spoken};
use serde::Serialize;
use std::collections::BTreeMap;
use std::fmt;
use std::path::Path;

/// Loaded packs, and what is plugged in.
pub struct Library {
    book: Book,
    registry: Registry,
}

/// A question that cannot be answered as it was put, or a pack that cannot be loaded.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Refused {
    /// What is wrong.
    pub message: String,
    /// What to do, where something can be said.
    pub help: Option<String>,
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)?;
        self.help.iter().try_for_each(|help| write!(f, "; {help}"))
    }
}

impl std::error::Error for Refused {}

impl From<Box<Finding>> for Refused {
    fn from(finding: Box<Finding>) -> Self {
        Refused { message: format!("{}: {}", finding.place.file, finding.message), help: finding.help }
    }
}

/// Does this glue suit this material?
#[derive(Debug, Clone, Serialize)]
pub struct GlueAnswer {
    /// Id of the adhesive.
    pub adhesive: String,
    /// Id of the material.
    pub material: String,
    /// `suits`, `suits-with-care`, `unknown`, `does-not-suit`.
    pub verdict: &'static str,
    /// Steps with which open gates are lifted.
    pub with_steps: Vec<String>,
    /// Whether the subjects are invented.
    pub invented: bool,
    /// Every rule about this pair, the decisive ones first.
    pub rules: Vec<RuleSaid>,
    /// What can hurt the person at the bench.
    pub cautions: Vec<RuleSaid>,
    /// Values no record holds, and what would settle them.
    pub missing: Vec<String>,
    /// Packs the records came from, with their hashes.
    pub packs: String,
}

/// What a rule said.
#[derive(Debug, Clone, Serialize)]
pub struct RuleSaid {
    /// Its record.
    pub id: String,
    /// What it says.
    pub says: String,
    /// `gate`, `warning`, `caution` …
    pub strength: &'static str,
    /// `stands`, `lifted`, `unknown` …
    pub outcome: &'static str,
    /// Why it exists.
    pub because: String,
    /// What to do instead.
    pub advice: Option<String>,
    /// Its sources, cited.
    pub sources: Vec<String>,
    /// Addresses of the claims it looked at.
    pub claims: Vec<String>,
}

/// Which thread will hold in this part?
#[derive(Debug, Clone, Serialize)]
pub struct JointAnswer {
    /// Id of the material.
    pub material: String,
    /// The thread.
    pub thread: String,
    /// Engaged length.
    pub length: Amount,
    /// Whether invented data is behind it.
    pub invented: bool,
    /// Every way to make the joint, the best first.
    pub candidates: Vec<JointCandidate>,
    /// Packs the records came from, with their hashes.
    pub packs: String,
}

/// One way to make the joint.
#[derive(Debug, Clone, Serialize)]
pub struct JointCandidate {
    /// The method.
    pub method: String,
    /// Id of the insert.
    pub insert: Option<String>,
    /// Id of the glue.
    pub adhesive: Option<String>,
    /// The verdict.
    pub verdict: &'static str,
    /// Why.
    pub because: Vec<String>,
    /// Whether it is no thread in the part but a way round one.
    pub alternative: bool,
    /// Median of the short pull it holds.
    pub median: Option<Amount>,
    /// The load to design with; absent where no verdict promises one.
    pub design_load: Option<Amount>,
    /// What that bound promises.
    pub bound: Option<&'static str>,
    /// Share of like joints that hold the load asked for, or the design load.
    pub survival: Option<f64>,
    /// What it rests on, in words.
    pub evidence: String,
    /// Addresses of the claims behind it.
    pub claims: Vec<String>,
    /// Names of the assumptions behind it.
    pub assumptions: Vec<&'static str>,
    /// What is missing.
    pub missing: Vec<String>,
    /// What to keep in mind.
    pub cautions: Vec<String>,
    /// What can hurt.
    pub hazards: Vec<&'static str>,
}

/// What does a test series say?
#[derive(Debug, Clone, Serialize)]
pub struct SeriesAnswer {
    /// Id of the series.
    pub series: String,
    /// What was tested.
    pub name: String,
    /// How the source knows.
    pub basis: Option<Basis>,
    /// The source, cited.
    pub source: Option<String>,
    /// Whether the data are invented.
    pub invented: bool,
    /// Whether it may be used: neither disputed nor withdrawn.
    pub usable: bool,
    /// Quantities with single results; what was published as figures only is in the record.
    pub quantities: Vec<QuantitySaid>,
}

/// One measured quantity.
#[derive(Debug, Clone, Serialize)]
pub struct QuantitySaid {
    /// Its word: `pull_out_load`.
    pub quantity: String,
    /// Specimens that failed.
    pub failed: usize,
    /// Specimens that held; none is averaged with those that failed.
    pub held: usize,
    /// Mean of those that failed.
    pub mean: Option<Amount>,
    /// Coefficient of variation.
    pub cv: Option<f64>,
    /// Lower bounds with their names, the default ones first.
    pub bounds: Vec<(&'static str, Amount)>,
    /// Bounds that are not given, and why.
    pub refused: Vec<String>,
    /// How they failed, and how many.
    pub modes: Vec<(String, usize)>,
    /// What to keep in mind.
    pub warnings: Vec<String>,
}

impl Library {
    /// The built-in pack alone.
    ///
    /// # Errors
    /// Never in a sound build; a test loads it.
    pub fn built_in(registry: Registry) -> Result<Self, Refused> {
        Library::load(&[PackRoot::BuiltIn], Path::new("."), registry)
    }
    /// The built-in pack and one of these bytes, by path inside the pack with `/`: `pack.yaml`, `resins/ID.yaml`, …
    ///
    /// # Errors
    /// A pack that cannot be opened, and a record id that is in use already.
    pub fn from_bytes(shown: &str, files: BTreeMap<String, Vec<u8>>, registry: Registry) -> Result<Self, Refused> {
        Library::load(&[PackRoot::BuiltIn, PackRoot::given(shown, files)], Path::new("."), registry)
    }
    /// The built-in pack and one in a folder.
    ///
    /// # Errors
    /// As [`Library::from_bytes`].
    pub fn from_folder(folder: &Path, registry: Registry) -> Result<Self, Refused> {
        let pack = PackRoot::Folder { path: folder.into(), stood_in: false };
        Library::load(&[PackRoot::BuiltIn, pack], Path::new("."), registry)
    }
    fn load(roots: &[PackRoot], here: &Path, registry: Registry) -> Result<Self, Refused> {
        Ok(Library { book: Book::load(roots, here)?, registry })
    }
    /// What was loaded; records that do not pass `check` stand in [`Book::left_out`].
    pub fn book(&self) -> &Book {
        &self.book
    }
    /// Whether a glue suits a material, each by id or name.
    ///
    /// # Errors
    /// A name that leads to no record, or to several; a rule that cannot be read.
    pub fn suits(&self, adhesive: &str, material: &str) -> Result<GlueAnswer, Refused> {
        let (adhesive, material) = (self.record(adhesive, "adhesive")?, self.record(material, "material")?);
        let question = Question::of(adhesive, material);
        let answer = suit::judge(question, &self.rules()?, &self.book);
        Ok(GlueAnswer {
            adhesive: adhesive.id.to_string(),
            material: material.id.to_string(),
            verdict: answer.verdict.word(),
            with_steps: answer.with_steps,
            invented: answer.invented,
            rules: answer.rules.iter().map(|said| self.said(said)).collect(),
            cautions: answer.cautions.iter().map(|said| self.said(said)).collect(),
            missing: answer.missing.iter().map(|m| format!("{}: {}", m.what, m.settle)).collect(),
            packs: self.book.hash_line([adhesive, material]),
        })
    }
    /// Which thread of that engaged length holds in a part of that material; `load` is what it must hold: `300 N`.
    ///
    /// # Errors
    /// A name that leads to no record, a thread or quantity that cannot be read.
    pub fn fasten(&self, material: &str, thread: &str, length: &str, load: Option<&str>) -> Result<JointAnswer, Refused> {
        let material = self.record(material, "material")?;
        let rules = self.rules()?;
        let thread = thread::fastening(thread).map_err(|f| Refused { message: f.message(), help: Some(f.help()) })?;
        let mut need = Need::new(&self.book, &rules, material, thread, typed(length, Quantity::Length)?);
        need.load = load.map(|load| typed(load, Quantity::Force)).transpose()?;
        let methods = self.registry.methods_of(&self.book);
        let all = methods.all();
        let judgement = judge::judge(&need, &all, None);
        Ok(JointAnswer {
            material: material.id.to_string(),
            thread: need.thread.designation(),
            length: Amount::of(need.length),
            invented: judgement.invented,
            candidates: judgement.listed().into_iter().map(|at| joint(&judgement.candidates[at], judgement.no_promise)).collect(),
            packs: self.book.hash_line([material]),
        })
    }
    /// What a test series says.
    ///
    /// # Errors
    /// A name that leads to no series.
    pub fn series(&self, id: &str) -> Result<SeriesAnswer, Refused> {
        let found = self.book.record(id).or_else(|| self.book.record(&format!("series/{id}"))).and_then(record::series);
        let unknown = || Refused { message: format!("no series is called `{id}`"), help: Some("give its id: series/…".into()) };
        let series = found.ok_or_else(unknown)?;
        Ok(SeriesAnswer {
            name: series.name.clone(),
            basis: series.basis,
            source: series.source.as_deref().map(|s| self.book.cite(s)),
            invented: series.invented(),
            usable: series.usable(),
            quantities: series.measurements.iter().filter_map(|m| self.measured(&series, m)).collect(),
            series: series.id,
        })
    }
    fn measured(&self, series: &record::Series, measured: &record::Measurement) -> Option<QuantitySaid> {
        let sample = measured.sample.as_ref()?;
        let pooled = earlier::earlier(&self.book, series, measured).ok().flatten();
        let r = reduce(sample, pooled.as_ref().map(|earlier| &earlier.spread));
        let amount = |number: f64| Amount { si: r.unit.unit().si_from_number(number), unit: r.unit };
        Some(QuantitySaid {
            quantity: measured.word.clone(),
            failed: r.failures.len(),
            held: r.held.len(),
            mean: r.mean().map(amount),
            cv: r.cv(),
            bounds: r.bounds.given.iter().map(|b| (b.name, amount(b.value))).collect(),
            refused: r.bounds.refused.iter().map(|refused| format!("{}: {}", refused.what, refused.why)).collect(),
            modes: r.modes.iter().map(|m| (m.mode.to_string(), m.count)).collect(),
            warnings: r.warnings.iter().map(|w| w.message.clone()).collect(),
        })
    }
    fn record(&self, name: &str, role: &str) -> Result<&Record, Refused> {
        self.book.resolve(name, &[role]).map_err(|miss| Refused { message: miss.message(), help: Some(miss.help()) })
    }
    fn rules(&self) -> Result<Vec<suit::Rule>, Refused> {
        let (rules, broken) = suit::rules(&self.book);
        match broken.first() {
            Some(fault) => Err(Refused { message: format!("{}: {}", fault.id, fault.message), help: None }),
            None => Ok(rules),
        }
    }
    fn said(&self, said: &Spoken) -> RuleSaid {
        RuleSaid {
            id: said.id.to_string(),
            says: said.name.clone(),
            strength: said.strength.word(),
            outcome: said.outcome.word(),
            because: said.because.clone(),
            advice: said.advice.clone(),
            sources: said.provenance.iter().filter_map(|o| Some(self.book.cite(o.source.as_deref()?))).collect(),
            claims: said.used.iter().filter_map(|used| used.claim.clone()).collect(),
        }
    }
}

fn typed<M: Measure>(text: &str, quantity: Quantity) -> Result<M, Refused> {
    match parse(text, quantity) {
        Ok(written) if written.si > 0.0 => Ok(M::from_si(written.si)),
        Ok(_) => Err(Refused { message: format!("{text} is not above zero"), help: None }),
        Err(fault) => Err(Refused { message: fault.message(), help: Some(fault.help()) }),
    }
}

fn joint(c: &Candidate<'_>, no_promise: bool) -> JointCandidate {
    let capacity = c.capacity.as_ref().filter(|_| !no_promise);
    let design = c.design().filter(|_| !no_promise);
    let model = c.model.as_ref().map(|sealed| &sealed.model);
    let newtons = |load: f64| Amount::new(Quantity::Force, load);
    JointCandidate {
        method: c.method.name.to_owned(),
        insert: c.insert.map(|r| r.id.to_string()),
        adhesive: c.adhesive.map(|r| r.id.to_string()),
        verdict: c.verdict.word(),
        because: c.because.clone(),
        alternative: c.alternative,
        median: capacity.map(|known| newtons(known.load.median)),
        design_load: design.map(|bound| newtons(bound.design())),
        bound: design.map(|bound| bound.kind.text()),
        survival: c.survival.map(|survival| survival.share),
        evidence: c.evidence.text(),
        claims: model.into_iter().flat_map(|m| &m.claims).map(|used| used.claim.clone()).collect(),
        assumptions: model.into_iter().flat_map(|m| m.assumptions.iter().copied()).collect(),
        missing: c.missing.iter().map(|lack| format!("{}: {}", lack.what, lack.settle)).collect(),
        cautions: c.cautions.clone(),
        hazards: c.hazards.clone(),
    }
}
