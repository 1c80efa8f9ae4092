//! From the claims of a property to the spread of its level.

use super::distribution::{Law, NINETY, ln_sd};
use super::need::{Need, ROOM};
use crate::book::choose::{Chosen, Subject, UsedClaim, Wanted, choose};
use crate::book::{Basis, Claim, Record, Value};

/// A claim an answer rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct ClaimUse {
    /// Address: `resin/tough:tg#1f2e3d4c`.
    pub claim: String,
    /// The value as written.
    pub value: String,
    /// How the source knows.
    pub basis: Basis,
    /// Id of the source.
    pub source: Option<String>,
    /// What to know about its use.
    pub notes: Vec<String>,
}

/// What is known of a property: the spread of its true level, and the scatter of single parts.
#[derive(Debug, Clone, PartialEq)]
pub struct Fact {
    /// Schema name.
    pub property: String,
    /// Full id of the record.
    pub record: String,
    /// Spread of the level, SI.
    pub law: Law,
    /// Log standard deviation of single parts within a source, where measured: pooled over the claims.
    pub scatter: f64,
    /// Claims used.
    pub claims: Vec<ClaimUse>,
    /// Names of the assumptions used.
    pub assumed: Vec<&'static str>,
    /// What to know.
    pub notes: Vec<String>,
}

/// What is known of a property of a record at room temperature; `None` when no claim can be used. What warmth leaves of it
/// is another question ([`super::heat`]).
///
/// `orientation` narrows to parts built that way where such claims exist.
pub fn fact(need: &Need<'_>, record: &Record, property: &str, orientation: Option<&str>) -> Option<Fact> {
    let chosen = pick(need, record, property, ROOM, orientation)?;
    build(need, record, property, &chosen)
}

/// The same from claims that state how their specimens were built, this way: a strength across the layers is no other.
pub fn fact_as_built(need: &Need<'_>, record: &Record, property: &str, orientation: &str) -> Option<Fact> {
    let own = |source: &str| need.book.own_campaign(source);
    let subject = Subject { invented: need.invented() || record.invented(), own: &own };
    let wanted = Wanted { orientation_stated: true, ..wanted(need, ROOM, Some(orientation)) };
    let chosen = choose(property, record.claims(property), &wanted, subject);
    usable(&chosen).then(|| build(need, record, property, &chosen)).flatten()
}

fn pick<'a>(
    need: &Need<'_>,
    record: &'a Record,
    property: &str,
    temperature: f64,
    orientation: Option<&str>,
) -> Option<Chosen<'a>> {
    let book = need.book;
    let own = |source: &str| book.own_campaign(source);
    let subject = Subject { invented: need.invented() || record.invented(), own: &own };
    let mut wanted = wanted(need, temperature, orientation);
    let first = choose(property, record.claims(property), &wanted, subject);
    if usable(&first) {
        return Some(first);
    }
    wanted.orientation = None;
    let second = choose(property, record.claims(property), &wanted, subject);
    usable(&second).then_some(second)
}

fn wanted(need: &Need<'_>, temperature: f64, orientation: Option<&str>) -> Wanted {
    use crate::suit::ServiceConditions as Place;
    let is_damp = matches!(need.using.place, Some(Place::Damp | Place::Wet | Place::Immersed)) && need.is("polyamide");
    Wanted {
        temperature: Some(temperature),
        moisture: is_damp.then(|| "conditioned".into()),
        orientation: orientation.map(Into::into),
        ..Wanted::default()
    }
}

fn usable(chosen: &Chosen<'_>) -> bool {
    chosen.used.iter().any(|u| level_known(u))
}

/// A one-sided range, or a value that only bounds the property, says nothing of the level.
fn level_known(used: &UsedClaim<'_>) -> bool {
    used.claim.bound.is_none() && used.middle_si().is_some()
}

fn build(need: &Need<'_>, record: &Record, property: &str, chosen: &Chosen<'_>) -> Option<Fact> {
    let mut fact = Fact {
        property: property.to_owned(),
        record: record.id.to_string(),
        law: Law::Fixed(f64::NAN),
        scatter: 0.0,
        claims: Vec::new(),
        assumed: Vec::new(),
        notes: Vec::new(),
    };
    let (mut laws, mut scatter) = (Vec::new(), Pooled::default());
    for used in chosen.used.iter().filter(|u| level_known(u)) {
        laws.push(law_of(need, used, &mut fact, &mut scatter)?);
        fact.claims.push(ClaimUse {
            claim: record.address(property, used.claim),
            value: used.claim.value.text(),
            basis: used.claim.basis,
            source: used.claim.source.as_deref().map(Into::into),
            notes: used.notes.clone(),
        });
        if let Some(partner) = &used.partner {
            fact.claims.push(ClaimUse {
                claim: record.address(property, partner.claim),
                value: partner.claim.value.text(),
                basis: partner.claim.basis,
                source: partner.claim.source.as_deref().map(Into::into),
                notes: vec!["interpolated".into()],
            });
        }
    }
    fact.scatter = scatter.deviation();
    fact.assumed.sort_unstable();
    fact.assumed.dedup();
    fact.law = match laws.len() {
        0 => return None,
        1 => laws.remove(0),
        n => {
            fact.notes.push(format!("{n} claims of one rank: each draw takes one of them"));
            Law::OneOf(laws)
        }
    };
    Some(fact)
}

/// Scatter within sources, each by its degrees of freedom: one small set that scatters widely is not all of them.
#[derive(Default)]
struct Pooled {
    squares: f64,
    freedom: f64,
}

impl Pooled {
    /// Degrees of freedom of a deviation whose number of specimens is not told: those of three.
    const UNTOLD: f64 = 2.0;

    fn add(&mut self, relative: f64, freedom: f64) {
        self.squares += freedom * ln_sd(relative) * ln_sd(relative);
        self.freedom += freedom;
    }
    fn deviation(&self) -> f64 {
        if self.freedom > 0.0 { libm::sqrt(self.squares / self.freedom) } else { 0.0 }
    }
}

/// The spread of the level behind one claim.
fn law_of(need: &Need<'_>, used: &UsedClaim<'_>, fact: &mut Fact, scatter: &mut Pooled) -> Option<Law> {
    let claim = used.claim;
    let middle = used.middle_si()?;
    let own = claim.source.as_deref().is_some_and(|s| need.book.own_campaign(s));
    if let Value::Between { low: Some(l), high: Some(h) } = &claim.value {
        // A range over grades or sources holds the doubt of the grade already.
        if claim.range.as_deref() == Some("bounds") {
            return Some(Law::Uniform { low: l.si, high: h.si });
        }
        return Some(Law::between_90(l.si, h.si));
    }
    let mut cv = |name: &'static str| {
        fact.assumed.push(name);
        need.assumptions.value(name)
    };
    if claim.basis == Basis::Standard {
        // A guaranteed minimum of a grade is the lower 5 % point of what is delivered.
        let own_cv = claim.se.as_ref().or(claim.u.as_ref()).map_or_else(|| cv("cv_standard"), |u| u.si / middle);
        let sd = ln_sd(own_cv);
        return Some(Law::LogNormal { median: middle * libm::exp(NINETY * sd), sd });
    }
    // The record is a class unless the figures are one's own: another grade of it may differ.
    let grade = if own { 0.0 } else { cv("cv_grade") };
    if let Some((s, n)) = specimens(claim) {
        let relative = s / claim.value.middle_si()?;
        scatter.add(relative, f64::from(n - 1));
        let level = ln_sd(relative) / libm::sqrt(f64::from(n));
        return Some(if grade > 0.0 {
            Law::LogNormal { median: middle, sd: libm::hypot(level * widening(n), ln_sd(grade)) }
        } else {
            Law::LogStudent { median: middle, scale: level, freedom: f64::from(n - 1) }
        });
    }
    let of_mean = claim.se.as_ref().or(claim.u.as_ref()).map(|u| u.si / middle);
    let spread = claim.sd.as_ref().map(|s| s.si / middle);
    if let Some(spread) = spread {
        scatter.add(spread, claim.n.map_or(Pooled::UNTOLD, |n| f64::from(n.max(2) - 1)));
    }
    let basis = match claim.basis {
        Basis::Measured | Basis::Invented => "cv_measured",
        Basis::Standard => "cv_standard",
        Basis::Handbook => "cv_handbook",
        Basis::Computed => "cv_computed",
        Basis::Practice => "cv_practice",
        Basis::Recalled => "cv_recalled",
    };
    let own_cv = of_mean.unwrap_or_else(|| cv(basis));
    Some(Law::LogNormal { median: middle, sd: libm::hypot(ln_sd(own_cv), ln_sd(grade)) })
}

/// How much wider Student's t is than the normal at few specimens, as its 95 % point.
fn widening(n: u32) -> f64 {
    crate::statistics::distribution::student_quantile(0.95, f64::from(n.max(2) - 1)) / NINETY
}

/// Standard deviation with its number of specimens, where both are known and the divisor is.
fn specimens(claim: &Claim) -> Option<(f64, u32)> {
    if let Value::Samples(all) = &claim.value {
        let n = u32::try_from(all.len()).ok().filter(|n| *n >= 2)?;
        let mean = claim.value.middle_si()?;
        let squares: f64 = all.iter().map(|w| (w.si - mean) * (w.si - mean)).sum();
        return Some((libm::sqrt(squares / f64::from(n - 1)), n));
    }
    if claim.spread_of.as_deref().is_some_and(|s| s != "specimens") {
        return None;
    }
    let (sd, n) = (claim.sd.as_ref()?.si, claim.n.filter(|n| *n >= 2)?);
    match claim.sd_kind.as_deref() {
        Some("n") => Some((sd * libm::sqrt(f64::from(n) / f64::from(n - 1)), n)),
        // An unknown divisor may be n: the wider reading is taken.
        Some("unknown") => Some((sd * libm::sqrt(f64::from(n) / f64::from(n - 1)), n)),
        _ => Some((sd, n)),
    }
}

/// Middle value of a property in SI, with its claims, where only one number is wanted (softening, expansion).
pub fn single(need: &Need<'_>, record: &Record, property: &str) -> Option<(f64, Vec<ClaimUse>)> {
    let fact = fact(need, record, property, None)?;
    Some((fact.law.median(), fact.claims))
}
