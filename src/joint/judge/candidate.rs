//! One way to make a joint, as judged: the named results.

use crate::book::Record;
use crate::joint::correct::Corrected;
use crate::joint::evaluate::Capacity;
use crate::joint::geometry::Geometry;
use crate::joint::held::Held;
use crate::joint::method::{Effort, Glue, Impossible, Life, MethodCard};
use crate::joint::mode::Mode;
use crate::joint::model::Lack;
use crate::quantity::{Amount, Quantity};
use crate::suit::{Spoken, Verdict};

/// Kind of a lower bound.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AnswerBound {
    /// 5 % point of the predictive distribution of the next joint.
    Predictive5,
    /// At least 95 % of joints lie above with 75 % confidence, from the measured series of this combination.
    Tolerance95At75,
    /// That of a measured series beside, which holds this joint too.
    Beside95At75,
}

impl AnswerBound {
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            AnswerBound::Predictive5 => "predictive-5",
            AnswerBound::Tolerance95At75 => "tolerance-5-75",
            AnswerBound::Beside95At75 => "tolerance-5-75-beside",
        }
    }
    /// The words on screen.
    pub fn text(self) -> &'static str {
        match self {
            AnswerBound::Predictive5 => "lower 5 % prediction bound",
            AnswerBound::Tolerance95At75 => "characteristic value of the series: 5 % fractile, 75 % confidence",
            AnswerBound::Beside95At75 => "from the characteristic value of a series beside: 5 % fractile, 75 % confidence",
        }
    }
}

/// The lower bound of a load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LowerBound {
    /// N.
    pub value: f64,
    /// What it promises.
    pub kind: AnswerBound,
}

impl LowerBound {
    /// The design load, N: the bound rounded down to two digits; zero where nothing is held.
    pub fn design(&self) -> f64 {
        rounded_down(self.value)
    }
}

/// A positive number rounded down to two significant digits, since what is promised is never rounded up; else zero.
pub fn rounded_down(value: f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return 0.0;
    }
    let step = libm::pow(10.0, libm::floor(libm::log10(value)) - 1.0);
    libm::floor(value / step + 1e-9) * step
}

/// Share of the draws of which so much holds a load; of no load at all, those that hold anything.
pub(super) fn held(capacity: &Capacity, load: f64, share: f64) -> f64 {
    let held = capacity.loads.iter().filter(|f| **f * share >= load && **f > 0.0).count();
    held as f64 / capacity.loads.len().max(1) as f64
}

/// Predicted survival: the share of like joints that hold a load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Survival {
    /// The load, N: that asked for with its factor, else the design load.
    pub load: f64,
    /// Share of the draws that hold it.
    pub share: f64,
    /// Whether the load was asked for.
    pub asked: bool,
}

impl Survival {
    /// Of a load that is asked for.
    pub(super) fn of(capacity: &Capacity, load: f64) -> Survival {
        Survival { load, share: held(capacity, load, 1.0), asked: true }
    }
    /// The share, never rounded up, so that it reads on the side of its limit on which it lies.
    pub fn percent(&self) -> String {
        match self.share {
            s if s >= 0.995 => "above 99 %".to_string(),
            s if s < 0.01 => "below 1 %".to_string(),
            s => format!("{:.0} %", libm::floor(s * 100.0 + 1e-9)),
        }
    }
    /// `predicted survival at 300 N: 98 %`.
    pub fn text(&self) -> String {
        let load = Amount::new(Quantity::Force, self.load).text(3);
        format!("predicted survival at {}{load}: {}", if self.asked { "" } else { "the design load of " }, self.percent())
    }
}

/// What an answer rests on.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct JointEvidence {
    /// Series of this very joint: method, thread, length, hole, insert, glue, material, axis.
    pub combination: Vec<String>,
    /// Specimens in them.
    pub specimens: usize,
    /// Batches those came from; one batch promises less than several.
    pub batches: usize,
    /// Series of the method on this material's family.
    pub family: Vec<String>,
    /// Series of this method and material at other sizes, or with another insert or glue: they count the less, the farther.
    pub beside: Vec<String>,
    /// The options with which the question would be about a joint that was measured.
    pub would_be: Option<String>,
    /// Where no hole was asked for: the series whose hole this answer takes; of two it lies between theirs, the nearer first.
    pub hole_of: Vec<String>,
    /// Where infill is stated: series of printed joints in this family with infill, quoted and never scaled.
    pub infill: Vec<Quoted>,
    /// Modes of this candidate in which joints in materials of the same family failed, more than one of them.
    pub calibrated: Vec<Mode>,
    /// Whether what fails first in most draws is such a mode, or one of metal, which standards vouch for. Where it is not,
    /// the governing state is the model's alone.
    pub governed: bool,
}

impl JointEvidence {
    /// Whether only the model speaks: no series of this joint, the material or the family, and none of what most often fails
    /// first.
    pub fn model_only(&self) -> bool {
        self.combination.is_empty() && self.beside.is_empty() && self.family.is_empty() && !self.governed
    }
    /// `measured: 2 series of this joint, 1 of its family`, or `model only, not measured`.
    pub fn text(&self) -> String {
        match (self.combination.len(), self.beside.len(), self.family.len()) {
            (0, 0, 0) if self.governed => {
                "no series of this joint or method; what fails first was measured in other joints of this family of materials"
                    .into()
            }
            (0, 0, 0) => "model only, not measured".into(),
            (own, near, family) => {
                let would = self.would_be.as_ref().map_or_else(String::new, |o| format!(" (with {o} it is the measured one)"));
                let near = if near > 0 { format!("{near} of it at other sizes or conditions{would}, ") } else { String::new() };
                let alone = if self.specimens == 1 { " (one specimen alone)" } else { "" };
                format!("measured: {own} series of this joint{alone}, {near}{family} of its family")
            }
        }
    }
}

/// A series that is quoted as it stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Quoted {
    /// Its id.
    pub series: String,
    /// What it is, in a line.
    pub text: String,
}

/// The one test that would settle a candidate: pull so many joints of exactly this kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settling {
    /// Joints to pull.
    pub joints: usize,
    /// Mean load from which the method suits, N; `None` without a need.
    pub suits_from: Option<f64>,
    /// Width of the 90 % band of the next joint then, upper over lower end.
    pub width: f64,
}

/// One way to make the joint.
pub struct Candidate<'n> {
    /// The method.
    pub method: MethodCard<'n>,
    /// Insert used.
    pub insert: Option<&'n Record>,
    /// Glue used.
    pub adhesive: Option<&'n Record>,
    /// The verdict.
    pub verdict: Verdict,
    /// Why.
    pub because: Vec<String>,
    /// Capacity; `None` where something blocks it.
    pub capacity: Option<Capacity>,
    /// The lower bound.
    pub lower_bound: Option<LowerBound>,
    /// What a held load may be, where one is asked for.
    pub held: Option<Held>,
    /// Predicted survival at the need (of a held one at its share of a short pull), or at the design load; `None` without a
    /// load or where somebody may be hurt.
    pub survival: Option<Survival>,
    /// Whether it is no thread in the part but a way round one that nobody named.
    pub alternative: bool,
    /// Shape.
    pub geometry: Option<Geometry>,
    /// Why there is no shape, where it cannot be made.
    pub impossible: Option<Impossible>,
    /// What it rests on.
    pub evidence: JointEvidence,
    /// Model facts: missing values, claims, assumptions, cautions, steps.
    pub model: Option<Corrected<'n>>,
    /// What the rules of threads and inserts say of it.
    pub rules: Vec<Spoken>,
    /// What is missing.
    pub missing: Vec<Lack>,
    /// Cautions.
    pub cautions: Vec<String>,
    /// What can hurt.
    pub hazards: Vec<&'static str>,
    /// The one test that would settle it.
    pub settling: Option<Settling>,
    /// What it costs.
    pub effort: Effort<'n>,
    /// How often it may be opened.
    pub life: Life<'n>,
    /// Whether it is told apart from the next one below.
    pub tied_with_next: bool,
    /// P(this ≥ next) on the same draws, where both have a load.
    pub beats_next: Option<f64>,
}

impl Candidate<'_> {
    /// The design load, N, and its kind: only where the verdict lets a load be promised at all.
    pub fn design(&self) -> Option<LowerBound> {
        let gated = self.model.as_ref().is_some_and(|m| !m.model.gates.is_empty());
        let promised = !gated && self.verdict != Verdict::Unknown;
        self.lower_bound.filter(|bound| promised && bound.design() > 0.0)
    }
    /// `3 % of such joints split without any load`, where half a percent of the draws do.
    pub fn split(&self) -> Option<String> {
        let loads = &self.capacity.as_ref()?.loads;
        let split = loads.iter().filter(|f| **f <= 0.0).count() as f64 / loads.len().max(1) as f64;
        (split >= 0.005).then(|| format!("{:.0} % of such joints split without any load", split * 100.0))
    }
    /// Name of the method, with the glue's short id.
    pub fn short_title(&self) -> String {
        match (self.adhesive, self.method.takes.glue) {
            (Some(glue), Some(Glue::Adhesive)) => {
                format!("{}/{}", self.method.name, glue.id.name())
            }
            _ => self.method.name.into(),
        }
    }
    /// Title with glue and insert.
    pub fn title(&self) -> String {
        match (self.adhesive, self.method.takes.glue) {
            (Some(glue), Some(Glue::Adhesive)) => {
                format!("{}, {}", self.method.title, glue.name)
            }
            _ => self.method.title.into(),
        }
    }
}
