//! A claim: one statement of one property, with its provenance.

use crate::quantity::{Quantity, Written};
use serde::{Deserialize, Serialize};

/// How the source knows. The order is the order of trust when several claims compete.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Basis {
    /// Measured by the source.
    Measured,
    /// A guaranteed minimum of a standard.
    Standard,
    /// A value of a handbook or textbook table.
    Handbook,
    /// Computed from other claims.
    Computed,
    /// A trade rule without published source.
    Practice,
    /// From memory, not seen.
    Recalled,
    /// Invented, for the demo only.
    Invented,
}

impl Basis {
    /// Every word, in order of trust.
    pub const ALL: [Basis; 7] =
        [Basis::Measured, Basis::Standard, Basis::Handbook, Basis::Computed, Basis::Practice, Basis::Recalled, Basis::Invented];
    /// The word on disk and on screen.
    pub fn word(self) -> &'static str {
        match self {
            Basis::Measured => "measured",
            Basis::Standard => "standard",
            Basis::Handbook => "handbook",
            Basis::Computed => "computed",
            Basis::Practice => "practice",
            Basis::Recalled => "recalled",
            Basis::Invented => "invented",
        }
    }
    /// The basis of a word.
    pub fn from_word(word: &str) -> Option<Basis> {
        Basis::ALL.into_iter().find(|b| b.word() == word)
    }
}

/// Whether a claim may be used in an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, Default)]
#[serde(rename_all = "lowercase")]
pub enum Standing {
    /// In use.
    #[default]
    Good,
    /// Shown, never used: somebody doubts it, and `because` says why.
    Disputed,
    /// Taken back.
    Withdrawn,
}

impl Standing {
    /// The word on disk and on screen.
    pub fn word(self) -> &'static str {
        match self {
            Standing::Good => "good",
            Standing::Disputed => "disputed",
            Standing::Withdrawn => "withdrawn",
        }
    }
}

/// What a claim states.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Value {
    /// One quantity.
    One(Written),
    /// A range; one end may be missing ("up to").
    Between {
        /// Lower end.
        low: Option<Written>,
        /// Upper end.
        high: Option<Written>,
    },
    /// Raw values of specimens.
    Samples(Vec<Written>),
    /// A yes/no fact.
    YesNo(bool),
    /// One of the words the property allows.
    Word(Box<str>),
}

impl Value {
    /// The quantity stated, when it is one.
    pub fn quantity(&self) -> Option<Quantity> {
        self.ends().map(|(low, _)| low.quantity())
    }
    /// Smallest and largest stated quantity (equal for a single value, one-sided ranges repeat their end).
    pub fn ends(&self) -> Option<(&Written, &Written)> {
        match self {
            Value::One(w) => Some((w, w)),
            Value::Between { low, high } => {
                let (low, high) = (low.as_ref(), high.as_ref());
                Some((low.or(high)?, high.or(low)?))
            }
            Value::Samples(all) => {
                let least = all.iter().min_by(|a, b| a.si.total_cmp(&b.si))?;
                let most = all.iter().max_by(|a, b| a.si.total_cmp(&b.si))?;
                Some((least, most))
            }
            Value::YesNo(_) | Value::Word(_) => None,
        }
    }
    /// Middle of what is stated, in SI: the value, the mean of the samples, the middle of a range. A one-sided range has none.
    pub fn middle_si(&self) -> Option<f64> {
        match self {
            Value::One(w) => Some(w.si),
            Value::Between { low: Some(l), high: Some(h) } => Some((l.si + h.si) / 2.0),
            Value::Samples(all) if !all.is_empty() => Some(all.iter().map(|w| w.si).sum::<f64>() / all.len() as f64),
            _ => None,
        }
    }
    /// The text as written: `46.5 MPa`, `40 MPa to 55 MPa`, `at most 20 MPa`, `yes`.
    pub fn text(&self) -> String {
        match self {
            Value::One(w) => w.text.to_string(),
            Value::Between { low: Some(l), high: Some(h) } => format!("{} to {}", l.text, h.text),
            Value::Between { low: Some(l), high: None } => format!("at least {}", l.text),
            Value::Between { low: None, high: Some(h) } => format!("at most {}", h.text),
            Value::Between { low: None, high: None } => String::new(),
            Value::Samples(all) => all.iter().map(|w| &*w.text).collect::<Vec<_>>().join(", "),
            Value::YesNo(b) => if *b { "yes" } else { "no" }.into(),
            Value::Word(w) => w.to_string(),
        }
    }
}

/// A condition of a claim: a quantity where the schema says so, else text or yes/no.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum ConditionValue {
    /// A quantity with its digits.
    Quantity(Written),
    /// Free or listed text.
    Text(Box<str>),
    /// Yes or no.
    YesNo(bool),
}

impl ConditionValue {
    /// As written.
    pub fn text(&self) -> String {
        match self {
            ConditionValue::Quantity(w) => w.text.to_string(),
            ConditionValue::Text(t) => t.to_string(),
            ConditionValue::YesNo(b) => if *b { "yes" } else { "no" }.into(),
        }
    }
}

/// A condition under which a claim holds; nested ones have dotted names (`post_cure.time`).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ClaimCondition {
    /// Name, dotted when nested.
    pub name: Box<str>,
    /// What it is.
    pub value: ConditionValue,
}

/// One statement of one property: a value and its provenance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Claim {
    /// First 8 hex digits of a hash over source, locator, method and conditions; the claim's address among its siblings.
    pub key: Box<str>,
    /// What is stated.
    pub value: Value,
    /// Lower end stated beside a single value; `range` says what it is (least specimen, lowest source).
    pub least: Option<Written>,
    /// Upper end stated beside a single value.
    pub most: Option<Written>,
    /// Standard deviation of specimens, when stated.
    pub sd: Option<Written>,
    /// Standard error of the mean, when stated.
    pub se: Option<Written>,
    /// Standard uncertainty, when stated.
    pub u: Option<Written>,
    /// Number of specimens.
    pub n: Option<u32>,
    /// Divisor of the standard deviation: `n-1`, `n` or `unknown`.
    pub sd_kind: Option<Box<str>>,
    /// What scatters: specimens, sources, materials, laboratories.
    pub spread_of: Option<Box<str>>,
    /// What low..high means: bounds, typical, specimens, sources, ages.
    pub range: Option<Box<str>>,
    /// Id of the source record.
    pub source: Option<Box<str>>,
    /// Where in the source.
    pub locator: Option<Box<str>>,
    /// How the source knows.
    pub basis: Basis,
    /// What was read: table, text, abstract, graph, secondary.
    pub read: Option<Box<str>>,
    /// Whether it may be used.
    pub standing: Standing,
    /// Why it is disputed or withdrawn.
    pub because: Option<Box<str>>,
    /// Test standard or procedure.
    pub method: Option<Box<str>>,
    /// Conditions under which it holds.
    pub conditions: Vec<ClaimCondition>,
    /// `lower` or `upper` when the value only bounds the property (the substrate failed, the machine stopped).
    pub bound: Option<Box<str>>,
    /// A table that may repeat supplier data without saying so.
    pub untraced: bool,
    /// What the source prints when the value differs from it.
    pub as_printed: Option<Box<str>>,
    /// Remark.
    pub note: Option<Box<str>>,
    /// Claims it was computed from.
    pub from: Vec<Box<str>>,
    /// Earlier values, corrected since: value text, date until, reason.
    pub was: Vec<Correction>,
    /// Line of the claim in its file, from 1.
    pub line: u32,
}

/// An earlier value of an amended claim.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Correction {
    /// The field it was, when not the value.
    #[serde(default)]
    pub field: Option<Box<str>>,
    /// The old value as written.
    pub value: Box<str>,
    /// Date it was replaced.
    pub until: Box<str>,
    /// Why.
    pub because: Box<str>,
}

impl Correction {
    /// `was 46.5 MPa until 2026-03-01: read from the wrong row`.
    pub fn text(&self) -> String {
        let field = self.field.as_deref().map(|f| format!("{f} ")).unwrap_or_default();
        format!("{field}was {} until {}: {}", self.value, self.until, self.because)
    }
}

impl Claim {
    /// Whether an answer may use it.
    pub fn in_use(&self) -> bool {
        self.standing == Standing::Good
    }
    /// The condition of that name.
    pub fn condition(&self, name: &str) -> Option<&ConditionValue> {
        self.conditions.iter().find(|c| &*c.name == name).map(|c| &c.value)
    }
}
