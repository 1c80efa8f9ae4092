//! How strong a bond is taken to be from those that were measured, and whether that holds for those on record.

use super::calibration::left_out::LeftOut;
use super::distribution::{Law, ln_sd};
use super::fact::fact;
use super::need::Need;
use crate::book::{Basis, Record};
use crate::suit::{self, EvidenceLevel, GlueEvidence, Question, Verdict};

/// The strength of a bond as measured ones have it.
pub struct Bond<'e> {
    /// Of the next bond.
    pub law: Law,
    /// Whether sleeves were measured, not laps.
    pub sleeve: bool,
    /// The measured ones.
    pub from: Vec<&'e GlueEvidence>,
}

/// The bonds of the best level, preparation and test type: this pair, then this glue on the family, then both families; after
/// the steps that are declared before less; sleeves before laps, never mixed. Several of that rank disagree, and each draw
/// takes one of them. Untraced and disputed figures never count, nor do bonds made after steps that nobody declared.
pub fn nearest<'e>(
    evidence: impl Iterator<Item = &'e GlueEvidence>,
    metal: bool,
    mut assumed: impl FnMut(&'static str) -> f64,
) -> Option<Bond<'e>> {
    let strength = |e: &&GlueEvidence| matches!(e.quantity.as_str(), "shear_strength" | "lap_shear_strength") && e.counts();
    let right = |e: &&GlueEvidence| (e.level == EvidenceLevel::Metal) == metal;
    let test = |e: &GlueEvidence| match e.test.as_str() {
        "pin-collar" => Some(0u8),
        "lap-shear" | "shear" => Some(1),
        _ => None,
    };
    // Single results without a mean are shown, not counted on: those on record are a few bonds twisted by hand.
    let counts = |e: &&GlueEvidence| test(e).is_some() && !e.values.is_empty() && !e.is_listed;
    let rank = |e: &GlueEvidence| (e.level, e.without, test(e));
    let candidates: Vec<&GlueEvidence> = evidence.filter(strength).filter(right).filter(counts).collect();
    let best = candidates.iter().map(|e| rank(e)).min()?;
    let from: Vec<&GlueEvidence> = candidates.into_iter().filter(|e| rank(e) == best).collect();
    // How near the bond is: of this pair, of the family, of both families.
    let far = match best.0 {
        EvidenceLevel::SamePair | EvidenceLevel::Metal => assumed("bond_same_pair_sd"),
        EvidenceLevel::MaterialFamily => assumed("bond_family_sd"),
        EvidenceLevel::BothFamilies => assumed("bond_families_sd"),
    };
    let mut law = |bond: &GlueEvidence| {
        let median = bond.values.iter().map(|w| w.si).sum::<f64>() / bond.values.len() as f64;
        let spread = bond.sd.as_ref().map_or_else(|| assumed("bond_cv"), |s| s.si / median);
        Law::LogNormal { median, sd: libm::hypot(ln_sd(spread), far) }
    };
    let law = match from.as_slice() {
        [one] => law(one),
        all => Law::OneOf(all.iter().map(|e| law(e)).collect()),
    };
    Some(Bond { law, sleeve: best.2 == Some(0), from })
}

/// The range of an adhesive's class on metal: its own, else that of the next wider family that has one.
pub fn class_range(need: &Need<'_>, adhesive: &Record) -> Option<super::fact::Fact> {
    let own = fact(need, adhesive, "lap_shear_strength", None);
    own.or_else(|| {
        need.book.family_chain(&adhesive.family).into_iter().find_map(|family| {
            let of_family = need.book.of_role("adhesive").find(|r| &*r.family == family && !r.invented())?;
            fact(need, of_family, "lap_shear_strength", None)
        })
    })
}

/// Bonds on record, each predicted without its own study.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct BondsLeftOut {
    /// From bonds of other studies.
    pub from_bonds: LeftOut,
    /// From the class range on metal and the share of it that plastics are judged to reach.
    pub from_class: LeftOut,
}

/// Draws for a prediction: its 90 % band is known to 2 %.
const DRAWS: usize = 4_000;

/// Every measured bond to a plastic that counts, that no rule forbids and whose surface was not changed by plasma or the like,
/// predicted as an answer would be if its study were unknown.
pub fn left_out(need: &Need<'_>) -> BondsLeftOut {
    let mut found = BondsLeftOut::default();
    let real = |r: &&Record| r.current && r.common().basis == Some(Basis::Measured);
    for record in need.book.of_kind("series").filter(real) {
        predict(need, record, &mut found);
    }
    found
}

/// `None` where the record is no bond of this sort.
fn predict(need: &Need<'_>, record: &Record, found: &mut BondsLeftOut) -> Option<()> {
    let (joint, source) = (&record.series()?.joint, record.common().source.as_deref());
    let adhesive = need.book.in_use(joint.adhesive.as_deref()?)?;
    let material = need.book.in_use(joint.material.as_deref()?).filter(|r| need.book.role(r) == "material")?;
    // A surface that was changed is a rare thing; the range of a class is not about it.
    if joint.steps.iter().flatten().any(|step| suit::must_be_declared(step)) {
        return None;
    }
    let answer = suit::judge(Question::of(adhesive, material), need.rules, need.book);
    if answer.verdict == Verdict::DoesNotSuit || !answer.with_steps.is_empty() {
        return None;
    }
    let own = |e: &&GlueEvidence| e.series == record.id;
    let measured = nearest(answer.evidence.iter().filter(own), false, |name| need.assumptions.value(name))?;
    let others = answer.evidence.iter().filter(|e| e.source.as_deref() != source);
    let (law, share, counted) = match nearest(others, false, |name| need.assumptions.value(name)) {
        Some(bond) => (bond.law, Law::Fixed(1.0), &mut found.from_bonds),
        None => {
            let share = need.assumptions.get("plastic_over_metal");
            (class_range(need, adhesive)?.law, Law::between_90(share.low, share.high), &mut found.from_class)
        }
    };
    let batch = Law::LogNormal { median: 1.0, sd: need.assumptions.value("batch_sd") };
    let draws = |law: &Law, name: &str| law.draws(name, need.seed, DRAWS);
    let (level, share, batch) = (draws(&law, "level"), draws(&share, "share"), draws(&batch, "batch"));
    let drawn = level.iter().zip(&share).zip(&batch).map(|((level, share), batch)| libm::log(level * share * batch));
    counted.told(libm::log(measured.law.median()), drawn.collect());
    Some(())
}
