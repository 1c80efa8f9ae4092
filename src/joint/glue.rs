//! What is known of a glue on this part and on this metal: the rules' verdict, the gap curve, the bond strengths.

use super::bonds::{Bond, class_range, nearest};
use super::distribution::Law;
use super::fact::ClaimUse;
use super::gap::GapLine;
use super::geometry::Geometry;
use super::method::Case;
use super::model::{InputOrigin, Model};
use super::need::Duration;
use super::part::{Part, PartStrength};
use crate::book::{Basis, Book, Record};
use crate::quantity::{Amount, Measure, Quantity};
use crate::suit::{self, Fact as JointFact, GlueEvidence, Question, RuleOutcome, Suitability};
use std::collections::BTreeMap;
use uom::si::f64::{Length, Pressure, Ratio};

/// The strengths of a bond.
#[derive(Debug, Clone)]
pub struct Strengths {
    /// To the metal.
    pub to_metal: PartStrength,
    /// To the part.
    pub to_part: PartStrength,
}

/// Asks the rules about this glue, material and metal, and notes what they say in the model.
pub fn gate(model: &mut Model<'_>, case: &Case<'_>, geometry: &Geometry) -> Option<Suitability> {
    let need = model.need;
    let adhesive = case.adhesive?;
    let metal = case.insert.and_then(|i| need.book.in_use(i.common().metal.as_deref()?));
    let question = Question {
        adhesive,
        material: need.material,
        insert: case.insert,
        metal,
        joint: joint_facts(case, geometry),
        unsettled: BTreeMap::new(),
        steps: need.steps.clone(),
    };
    let suitability = suit::judge(question, need.rules, need.book);
    for spoken in &suitability.rules {
        let gate = spoken.strength == suit::RuleStrength::Gate;
        match spoken.outcome {
            RuleOutcome::Stands if gate && spoken.lifted_by.is_empty() => {
                model.gates.push(format!("{} ({})", spoken.name, spoken.id))
            }
            RuleOutcome::Stands if gate => {
                model.gates.push(format!("{} ({}): met by --step {}", spoken.name, spoken.id, spoken.lifted_by.join(" or ")));
            }
            RuleOutcome::Stands => model.cares.push(format!("{} ({})", spoken.name, spoken.id)),
            RuleOutcome::Unknown if gate => {
                model.doubts.push(format!("{} ({}): open", spoken.name, spoken.id));
                for missing in &spoken.missing {
                    model.would_help(missing.what.clone(), missing.settle.clone());
                }
            }
            _ => {}
        }
    }
    for step in suitability.preparation.steps.iter().chain(&suitability.preparation.cure) {
        model.steps.push(step.what.clone());
    }
    for caution in &suitability.cautions {
        model.caution(caution.name.clone());
    }
    Some(suitability)
}

fn joint_facts(case: &Case<'_>, geometry: &Geometry) -> BTreeMap<&'static str, JointFact> {
    let need = case.need;
    let mut joint = BTreeMap::new();
    let mut put = |name: &'static str, quantity: Quantity, si: Option<f64>| {
        if let Some(si) = si {
            joint.insert(name, JointFact::Quantity(Amount::new(quantity, si)));
        }
    };
    put("gap", Quantity::Length, geometry.gap.map(|(_, widest)| widest.si()));
    put("overlap", Quantity::Length, geometry.insert.as_ref().map(|i| i.length.si()));
    put("boss", Quantity::Length, need.boss.map(|b| b.si()));
    put("temperature", Quantity::Temperature, need.using.hottest.map(|t| t.si()));
    put("coldest", Quantity::Temperature, need.using.coldest.map(|t| t.si()));
    put("wavelength", Quantity::Length, need.wavelength.map(|w| w.si()));
    put("dose", Quantity::Dose, need.dose.map(|d| d.si()));
    let hole = geometry.hole.first().map_or(0.0, |h| h.finished.nominal.si());
    let wall = need.wall.map(|w| w.si()).or(need.dose.map(|_| (geometry.boss.si() - hole) / 2.0));
    put("wall", Quantity::Length, wall);
    if let Some(place) = need.using.place {
        joint.insert("place", JointFact::Word(place.word().into()));
    }
    let load = match need.using.duration {
        Duration::Short => None,
        other => Some(other.word()),
    };
    if let Some(load) = load {
        joint.insert("load", JointFact::Word(load.into()));
    }
    joint
}

/// The gap curve of an adhesive's family; `None` where no band is known (the factor is then one).
pub fn curve(model: &mut Model<'_>, adhesive: &Record) -> Option<GapLine> {
    let book = model.need.book;
    let is = |family: &str| book.is_family(&adhesive.family, family);
    let curve = match () {
        () if is("cyanoacrylate-thin") => Some(GapLine::thin_cyanoacrylate(model)),
        () if is("cyanoacrylate-thick") => Some(GapLine::thick_cyanoacrylate(model)),
        () if is("cyanoacrylate") => Some(GapLine::medium_cyanoacrylate(model)),
        () if is("epoxy") => Some(GapLine::epoxy(model)),
        () => None,
    };
    if curve.is_none() && !is("photopolymer") {
        model.doubts.push(format!("no gap curve is known for {}: the factor is taken as one", adhesive.name));
    }
    curve
}

/// Whether a glue is thin: then a narrow gap is aimed at.
pub fn is_thin(book: &Book, adhesive: Option<&Record>) -> bool {
    adhesive.is_some_and(|a| book.is_family(&a.family, "cyanoacrylate-thin"))
}

/// The measured bonds that speak, with the assumptions about them noted in the model.
fn measured<'e>(model: &mut Model<'_>, evidence: &'e [GlueEvidence], metal: bool) -> Option<Bond<'e>> {
    nearest(evidence.iter(), metal, |name| model.assumed(name))
}

/// The strengths of an adhesive's bond: measured where they are, else the class range on metal and a judged share of it.
///
/// Warmth takes from the metal side what it takes from the glue, from the part's side what it takes from the weaker of both.
pub fn strengths(model: &mut Model<'_>, case: &Case<'_>, suit: &Option<Suitability>, part: &Part) -> Option<Strengths> {
    let adhesive = case.adhesive?;
    let left = super::heat::left(model, adhesive).ok()?;
    let evidence = suit.as_ref().map_or(&[][..], |s| &s.evidence);
    let class = class_range(model.need, adhesive);
    let metal = measured(model, evidence, true);
    let to_metal = match (&metal, &class) {
        (Some(bond), _) => from_bond(model, bond, "metal"),
        (None, Some(class)) => {
            let base = model.fact::<Pressure>(class);
            PartStrength::new(base, Vec::new())
        }
        (None, None) => {
            model.blocked(
                format!("the strength of {} on the insert's metal", adhesive.id),
                format!("a claim of `lap_shear_strength` in {}, or a pin-and-collar series", adhesive.id),
            );
            return None;
        }
    };
    let bond = measured(model, evidence, false);
    // What nobody prepared is as weak as it was measured.
    let is_measured_so = bond.as_ref().is_some_and(|b| b.from.iter().all(|e| e.is_unprepared()));
    let to_part = match &bond {
        Some(bond) => from_bond(model, bond, "part"),
        None => {
            let Some(class) = &class else {
                model.blocked(
                    format!("the strength of {} on {}", adhesive.id, model.need.material.id),
                    "a pin-and-collar series of this pair",
                );
                return None;
            };
            model.would_help(
                format!("the strength of {} on {}", adhesive.id, model.need.material.id),
                "a pin-and-collar series of this pair: now a judged share of the class range on metal",
            );
            let base = model.fact::<Pressure>(class);
            let share = model.assume::<Ratio>("plastic_over_metal");
            PartStrength::new(base, vec![share])
        }
    };
    let own = model.spread_shared("batch_sd", format!("{} batch", adhesive.id));
    let mut to_part = to_part.and(own);
    if model.need.unprepared && !is_measured_so {
        let (median, sd) = (model.assumed("unprepared_bond"), model.assumed("unprepared_sd"));
        let origin = InputOrigin::Assumed(vec!["unprepared_bond", "unprepared_sd"]);
        to_part = to_part.and(model.own("unprepared surface", Law::LogNormal { median, sd }, origin));
        model.cares.push("the surfaces stay unprepared: 0.21 of the prepared bond, give or take a factor of 2.15".into());
    }
    Some(Strengths { to_metal: to_metal.and(own).and_weaker(left), to_part: to_part.and_weaker(left).and_weaker(part.left) })
}

fn from_bond(model: &mut Model<'_>, bond: &Bond<'_>, side: &str) -> PartStrength {
    let used = |from: &&GlueEvidence| ClaimUse {
        claim: from.series.to_string(),
        value: from.values.iter().map(|v| v.text.to_string()).collect::<Vec<_>>().join(" to "),
        basis: if from.invented { Basis::Invented } else { Basis::Measured },
        source: from.source.clone(),
        notes: [from.level.text().to_owned(), from.test.clone()].into_iter().chain(from.preparation.clone()).collect(),
    };
    model.claims_used(&bond.from.iter().map(used).collect::<Vec<_>>());
    if bond.from.iter().any(|e| e.lower_bound) {
        model.caution("a measured bond ended by failure of the part: it holds at least that much");
    }
    let series: Vec<String> = bond.from.iter().map(|e| e.series.to_string()).collect();
    let more = if series.len() > 1 { format!(" and {} more", series.len() - 1) } else { String::new() };
    let name = format!("bond {}{more} {side}", series.first().map_or("", String::as_str));
    let base = model.input(name, bond.law.clone(), InputOrigin::Series(series));
    let mut times = Vec::new();
    if !bond.sleeve {
        times.push(model.spread_shared("lap_to_sleeve_sd", format!("lap to sleeve {side}")));
    }
    PartStrength::new(base, times)
}

/// The part's own resin as a glue: nothing measured is known, so a judged share of the part's shear strength.
pub fn own_resin(model: &mut Model<'_>, part: &Part) -> Option<Strengths> {
    model.would_help(
        format!("the bond of cured {} to itself and to metal", model.need.material.id),
        "a pin-and-collar series: now a judged share of the part's shear strength",
    );
    let share = model.assume::<Ratio>("plastic_over_metal");
    let bond = part.shear.clone().and(share);
    Some(Strengths { to_metal: bond.clone(), to_part: bond })
}

/// Smallest and largest gap on a side, of hole diameters and insert diameters.
pub fn gap_range(pairs: &[(Length, Length)]) -> Option<(Length, Length)> {
    let gaps = pairs.iter().map(|(hole, insert)| (hole.si() - insert.si()) / 2.0);
    let (low, high) = gaps.fold((f64::INFINITY, 0.0f64), |(l, h), g| (l.min(g), h.max(g)));
    low.is_finite().then(|| (Length::from_si(low), Length::from_si(high)))
}
