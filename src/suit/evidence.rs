//! Measured bonds: of this pair, of this glue on the material's family, of both families. Levels are never mixed.

use super::question::{Question, must_be_declared};
use crate::book::view::{Joint, Measurement, Scalar, Series};
use crate::book::{Book, Record, RecordId, Standing};
use crate::quantity::{Written, parse_any};
use std::collections::BTreeSet;

/// How near a measured bond is to the question.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum EvidenceLevel {
    /// This glue on this material.
    SamePair,
    /// This glue on the metal of the insert.
    Metal,
    /// This glue on the material's family.
    MaterialFamily,
    /// The glue's family on the material or its family.
    BothFamilies,
}

impl EvidenceLevel {
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            EvidenceLevel::SamePair => "same-pair",
            EvidenceLevel::Metal => "metal",
            EvidenceLevel::MaterialFamily => "material-family",
            EvidenceLevel::BothFamilies => "both-families",
        }
    }
    /// The words on screen.
    pub fn text(self) -> &'static str {
        match self {
            EvidenceLevel::SamePair => "this pair",
            EvidenceLevel::Metal => "this glue on the insert's metal",
            EvidenceLevel::MaterialFamily => "this glue on the material's family",
            EvidenceLevel::BothFamilies => "families of both",
        }
    }
}

/// One measured quantity of one series.
#[derive(Debug, Clone, PartialEq)]
pub struct GlueEvidence {
    /// How near.
    pub level: EvidenceLevel,
    /// The series.
    pub series: RecordId,
    /// Quantity measured, e.g. `lap_shear_strength`.
    pub quantity: String,
    /// Mean, or the ends of a range: of single results the least and the largest.
    pub values: Vec<Written>,
    /// Whether it is a mean.
    pub is_mean: bool,
    /// Whether the source gives nothing but single results.
    pub is_listed: bool,
    /// Standard deviation.
    pub sd: Option<Written>,
    /// Specimens.
    pub n: Option<u64>,
    /// Kind of test.
    pub test: String,
    /// How the adherend was made.
    pub made_by: Option<String>,
    /// Adherends as the record names them.
    pub adherends: String,
    /// How it failed.
    pub mode: Option<String>,
    /// Surface preparation.
    pub preparation: Option<String>,
    /// Its steps in the words of `--step`; `None` where the source does not say.
    pub steps: Option<Vec<String>>,
    /// Those of them that have to be declared for this bond to speak, and are not.
    pub undeclared: Vec<String>,
    /// How many declared steps it was made without.
    pub without: usize,
    /// Whether the value only bounds the bond from below (the substrate failed).
    pub lower_bound: bool,
    /// Handbook table that may repeat supplier data: shown, not counted.
    pub untraced: bool,
    /// In doubt: shown, not counted.
    pub disputed: bool,
    /// Whether the record is invented.
    pub invented: bool,
    /// Id of the source.
    pub source: Option<String>,
    /// Where in the source.
    pub locator: Option<String>,
}

impl GlueEvidence {
    /// Whether it counts as a measured bond: a strength or a load, traced, undisputed and after no step that the question
    /// does not name. A stiffness is shown only.
    pub fn counts(&self) -> bool {
        let strength = self.quantity.ends_with("strength") || self.quantity.ends_with("load");
        strength && !self.untraced && !self.disputed && self.undeclared.is_empty()
    }
    /// Whether nothing at all was done to the surfaces.
    pub fn is_unprepared(&self) -> bool {
        self.steps.as_ref().is_some_and(Vec::is_empty)
    }
}

/// Families too wide for a fallback.
const TOO_WIDE: [&str; 5] = ["thermoplastic", "thermoset", "metal", "reactive", "photopolymer"];

/// How many series of one level count; two quantities measured on the same specimens are one.
pub fn series_counted(evidence: &[GlueEvidence], levels: &[EvidenceLevel]) -> usize {
    evidence.iter().filter(|e| e.counts() && levels.contains(&e.level)).map(|e| &e.series).collect::<BTreeSet<_>>().len()
}

/// The measured bonds that speak to a question, nearest first.
pub fn evidence(question: &Question<'_>, book: &Book) -> Vec<GlueEvidence> {
    let mut all = Vec::new();
    for record in book.of_kind("series").filter(|r| r.current) {
        let level = level(record, question, book);
        if let Some((level, says)) = level.zip(record.series()) {
            all.extend(measurements(record, says, level, &Steps::of(&says.joint, question)));
        }
    }
    // Invented bonds speak only where every subject is invented.
    let invented = question.invented();
    all.retain(|e| !e.invented || invented);
    let nearness = |e: &GlueEvidence| (e.level, !e.counts(), e.without);
    all.sort_by(|a, b| nearness(a).cmp(&nearness(b)).then_with(|| a.series.cmp(&b.series)));
    all
}

fn level(record: &Record, question: &Question<'_>, book: &Book) -> Option<EvidenceLevel> {
    let joint = &record.series()?.joint;
    let glue = book.record(joint.adhesive.as_deref()?)?;
    let adherends: Vec<&Record> = [&joint.material, &joint.other].iter().filter_map(|id| book.record(id.as_deref()?)).collect();
    let same_glue = glue.id == question.adhesive.id;
    let kin_glue = same_glue || kin(&glue.family, &question.adhesive.family, book);
    let same = adherends.iter().any(|a| a.id == question.material.id);
    let near = same || adherends.iter().any(|a| a.id.kind() != "metal" && kin(&a.family, &question.material.family, book));
    let metal = question
        .metal
        .is_some_and(|m| adherends.iter().any(|a| a.id == m.id || (a.id.kind() == "metal" && kin(&a.family, &m.family, book))));
    match (same_glue, kin_glue, same, near) {
        (true, _, true, _) => Some(EvidenceLevel::SamePair),
        (true, _, _, true) => Some(EvidenceLevel::MaterialFamily),
        (_, true, _, true) => Some(EvidenceLevel::BothFamilies),
        _ if same_glue && metal => Some(EvidenceLevel::Metal),
        _ => None,
    }
}

/// Whether two families are one, or share their next wider family, short of the widest words.
fn kin(a: &str, b: &str, book: &Book) -> bool {
    book.catalogue().families.are_next(a, b, &TOO_WIDE)
}

/// What was done to the surfaces of a series, beside what the question says is done.
#[derive(Default)]
struct Steps {
    done: Option<Vec<String>>,
    undeclared: Vec<String>,
    without: usize,
}

impl Steps {
    fn of(joint: &Joint, question: &Question<'_>) -> Steps {
        let mut done: Vec<String> = joint.steps.iter().flatten().map(|s| s.to_string()).collect();
        let primed = joint.steps.is_none() && joint.primer.is_some();
        done.extend(primed.then(|| "primer".to_owned()));
        done.extend(joint.activator.then(|| "activator".to_owned()));
        done.sort_unstable();
        done.dedup();
        let declared = |step: &str| question.steps.contains(step);
        let undeclared = done.iter().filter(|step| must_be_declared(step) && !declared(step)).cloned().collect();
        let without = question.steps.iter().filter(|step| must_be_declared(step) && !done.iter().any(|d| d == *step)).count();
        Steps { done: (joint.steps.is_some() || !done.is_empty()).then_some(done), undeclared, without }
    }
}

fn measurements(record: &Record, says: &Series, level: EvidenceLevel, steps: &Steps) -> Vec<GlueEvidence> {
    let (joint, common) = (&says.joint, record.common());
    let text = |t: &Option<Box<str>>| t.as_deref().map(str::to_string);
    let adherends = [(&joint.material, &joint.material_text), (&joint.other, &joint.other_text)];
    let adherends = adherends.into_iter().filter_map(|(id, words)| id.as_deref().or(words.as_deref()));
    let adherends = adherends.collect::<Vec<_>>().join(" and ");
    let one = |m: &Measurement| GlueEvidence {
        level,
        series: record.id.clone(),
        quantity: m.quantity.to_string(),
        values: match (&m.mean, &m.low, &m.high) {
            (Some(mean), ..) => read(mean).into_iter().collect(),
            (None, None, None) => ends(m),
            (None, low, high) => [low, high].into_iter().flatten().filter_map(read).collect(),
        },
        is_listed: m.mean.is_none() && m.low.is_none() && m.high.is_none(),
        is_mean: m.mean.is_some() && matches!(m.statistic.as_deref(), None | Some("mean")),
        sd: m.sd.as_ref().and_then(read),
        n: m.n,
        test: joint.test.as_deref().unwrap_or_default().to_string(),
        made_by: text(&joint.made_by),
        adherends: adherends.clone(),
        mode: text(&m.mode).or_else(|| text(&m.mode_text)),
        preparation: text(&joint.preparation),
        steps: steps.done.clone(),
        undeclared: steps.undeclared.clone(),
        without: steps.without,
        lower_bound: m.bound.as_deref() == Some("lower") || all_held(m),
        untraced: says.untraced,
        disputed: says.standing.is_some() || m.standing.is_some(),
        invented: record.is_invented(),
        source: text(&common.source),
        locator: text(&common.locator),
    };
    says.measurements.iter().filter(|m| m.standing != Some(Standing::Withdrawn)).map(one).collect()
}

/// The least and the largest single result, one of them where they are equal; without results what the source gives as such.
fn ends(m: &Measurement) -> Vec<Written> {
    let results: Vec<Written> = m.specimens().filter_map(|(_, s)| read(&s.value)).collect();
    let least = results.iter().min_by(|a, b| a.si.total_cmp(&b.si)).cloned().or_else(|| m.min.as_ref().and_then(read));
    let largest = results.iter().max_by(|a, b| a.si.total_cmp(&b.si)).cloned().or_else(|| m.max.as_ref().and_then(read));
    let largest = largest.filter(|l| least.as_ref().is_none_or(|w| w.si != l.si));
    least.into_iter().chain(largest).collect()
}

/// Whether there are single results and no bond of them failed.
fn all_held(m: &Measurement) -> bool {
    m.specimens().next().is_some() && m.specimens().all(|(_, s)| s.held())
}

/// A measured quantity as written; its unit tells what it is (no two quantities a series measures share a unit).
fn read(value: &Scalar) -> Option<Written> {
    parse_any(&value.to_string()).into_iter().next()
}
