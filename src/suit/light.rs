//! Does light reach the glue: through the wall, or down the open mouth?
//!
//! Behind a wall the light crosses *cured* material; down the mouth it crosses the *liquid* glue. Every figure is a band:
//! between laboratories the penetration depth of one batch varied 7-fold, the critical dose 70-fold (PMC10986335, abstract).

use super::condition::usable;
use super::question::{Fact, Question};
use super::truth::{Missing, MissingSort, ReadValue, Truth};
use crate::book::{Book, Claim, ConditionValue, Record};
use crate::mechanics::light::{dose_through_wall, light_reach};
use crate::quantity::{Amount, Measure, Quantity};
use uom::si::f64::{Length, RadiantExposure};

/// The cured depth lies within these factors of the liquid one when only the liquid was measured (judgement).
const CURED_OVER_LIQUID: (f64, f64) = (0.5, 5.0);
/// A claim belongs to the lamp when its wavelength is this near (a lamp line is some 10 nm wide).
const LINE_WIDTH_M: f64 = 6e-9;

/// Whether light reaches the glue, by each way.
#[derive(Debug, Clone, PartialEq)]
pub struct Light {
    /// Through the wall, crossing cured material.
    pub through_wall: Truth,
    /// Down the open mouth, crossing liquid glue, to the bottom of the bond.
    pub down_mouth: Truth,
    /// The reasoning, one sentence a line.
    pub because: Vec<String>,
    /// Values used.
    pub used: Vec<ReadValue>,
}

#[derive(Clone, Copy)]
struct WavelengthBand {
    low: f64,
    high: f64,
}

/// Judges the light for a glue that needs it; `None` for a glue that does not.
pub fn light(question: &Question<'_>, book: &Book) -> Option<Light> {
    if !book.is_family(&question.adhesive.family, "photopolymer") && !needs_light(question) {
        return None;
    }
    let mut found = Light { through_wall: Truth::No, down_mouth: Truth::No, because: Vec::new(), used: Vec::new() };
    // The part's own resin used as glue is the material in its liquid state.
    let own = book.is_family(&question.adhesive.family, "photopolymer");
    let glue = if own { question.material } else { question.adhesive };
    found.through_wall = through_wall(question, glue, &mut found);
    found.down_mouth = down_mouth(question, glue, &mut found);
    Some(found)
}

fn needs_light(question: &Question<'_>) -> bool {
    let claims = usable(question.adhesive, "needs_light", question.invented());
    claims.iter().any(|c| c.value == crate::book::Value::YesNo(true))
}

/// Puts the light's verdict among the facts of the joint, where rules ask for it.
pub(super) fn settle(question: &mut Question<'_>, light: &Light) {
    let reaches = light.through_wall.clone().or(light.down_mouth.clone());
    let all =
        [("light_through_wall", &light.through_wall), ("light_down_mouth", &light.down_mouth), ("light_reaches_bond", &reaches)];
    for (name, truth) in all {
        match truth {
            Truth::Yes => drop(question.joint.insert(name, Fact::YesNo(true))),
            Truth::No => drop(question.joint.insert(name, Fact::YesNo(false))),
            Truth::Unknown(missing) => drop(question.unsettled.insert(name, missing.clone())),
        }
    }
}

fn through_wall(question: &Question<'_>, glue: &Record, found: &mut Light) -> Truth {
    let mut missing = Vec::new();
    let dose = option(question, "dose", "--dose", &mut missing);
    let wall = option(question, "wall", "--wall", &mut missing);
    let depth = cured_depth(question, found, &mut missing);
    let critical = critical(question, glue, found, &mut missing);
    let (Some(dose), Some(wall), Some(depth), Some(critical)) = (dose, wall, depth, critical) else {
        return opaque(question, found).unwrap_or(Truth::Unknown(missing));
    };
    let behind = |h: f64| dose_through_wall(RadiantExposure::from_si(dose), Length::from_si(wall), Length::from_si(h)).si();
    let arrives = WavelengthBand { low: behind(depth.low), high: behind(depth.high) };
    let text = |q, v| Amount::new(q, v).text(2);
    found.because.push(format!(
        "behind {} of cured material {} to {} of the {} arrive; the glue gels at {} to {}",
        text(Quantity::Length, wall),
        text(Quantity::Dose, arrives.low),
        text(Quantity::Dose, arrives.high),
        text(Quantity::Dose, dose),
        text(Quantity::Dose, critical.low),
        text(Quantity::Dose, critical.high)
    ));
    compare(arrives, critical, "the dose behind the wall", "cure a drop of the glue behind a coupon of that wall")
}

/// Where no depth can be computed, a stated fact about the part decides; one about the liquid does not.
fn opaque(question: &Question<'_>, found: &mut Light) -> Option<Truth> {
    let claims = usable(question.material, "opaque_at_cure_wavelength", question.invented());
    let claim = claims.into_iter().find(|c| c.value == crate::book::Value::YesNo(true) && !is_state(c, "liquid"))?;
    note(found, question.material, "opaque_at_cure_wavelength", claim);
    found.because.push(format!("{} is opaque at the cure wavelength: no light passes the wall", question.material.name));
    Some(Truth::No)
}

fn down_mouth(question: &Question<'_>, glue: &Record, found: &mut Light) -> Truth {
    let mut missing = Vec::new();
    let dose = option(question, "dose", "--dose", &mut missing);
    let overlap = option(question, "overlap", "--set overlap=LENGTH", &mut missing);
    let depth = depth_of(question, glue, "liquid", found, &mut missing);
    let critical = critical(question, glue, found, &mut missing);
    let (Some(dose), Some(overlap), Some(depth), Some(critical)) = (dose, overlap, depth, critical) else {
        return Truth::Unknown(missing);
    };
    let reach =
        |h: f64, ec: f64| light_reach(Length::from_si(h), RadiantExposure::from_si(dose), RadiantExposure::from_si(ec)).si();
    let reaches = WavelengthBand { low: reach(depth.low, critical.high), high: reach(depth.high, critical.low) };
    let text = |v| Amount::new(Quantity::Length, v).text(2);
    found.because.push(format!(
        "from the open end the liquid gels down to {} to {} of the {} of the bond",
        text(reaches.low),
        text(reaches.high),
        text(overlap)
    ));
    compare(
        reaches,
        WavelengthBand { low: overlap, high: overlap },
        "the depth of cure from the open end",
        "cure the glue in a hole of that depth and cut it open",
    )
}

fn compare(have: WavelengthBand, need: WavelengthBand, what: &str, test: &str) -> Truth {
    if have.low >= need.high {
        return Truth::Yes;
    }
    if have.high < need.low {
        return Truth::No;
    }
    Truth::Unknown(vec![Missing {
        sort: MissingSort::Record,
        what: format!("{what}: its range includes what is needed"),
        settle: test.into(),
    }])
}

fn option(question: &Question<'_>, name: &str, how: &str, missing: &mut Vec<Missing>) -> Option<f64> {
    let given = question.amount(name).map(|a| a.si);
    if given.is_none() {
        // Without a dose or a wall the question about light stays open, whatever else is known (not a mere use option).
        missing.push(Missing { sort: MissingSort::Record, what: format!("the {name}"), settle: how.into() });
    }
    given
}

/// Depth of the cured wall; from the liquid's within a wide band where only that was measured.
fn cured_depth(question: &Question<'_>, found: &mut Light, missing: &mut Vec<Missing>) -> Option<WavelengthBand> {
    let mut none = Vec::new();
    if let Some(cured) = depth_of(question, question.material, "cured", found, &mut none) {
        return Some(cured);
    }
    if let Some(liquid) = depth_of(question, question.material, "liquid", found, &mut Vec::new()) {
        let (l, h) = CURED_OVER_LIQUID;
        found.because.push(format!(
            "only the penetration depth of the liquid is known: that of the cured wall is taken as {l} to {h} times as large (judgement)"
        ));
        return Some(WavelengthBand { low: liquid.low * l, high: liquid.high * h });
    }
    missing.extend(none);
    None
}

fn depth_of(
    question: &Question<'_>,
    of: &Record,
    state: &str,
    found: &mut Light,
    missing: &mut Vec<Missing>,
) -> Option<WavelengthBand> {
    let Some(wavelength) = question.amount("wavelength") else {
        missing.push(Missing {
            sort: MissingSort::Record,
            what: "the wavelength of the lamp".into(),
            settle: "--wavelength".into(),
        });
        return None;
    };
    let fits = |c: &&Claim| at_wavelength(c, wavelength.si) && is_state(c, state);
    let claims: Vec<&Claim> = usable(of, "penetration_depth", question.invented()).into_iter().filter(fits).collect();
    band(of, "penetration_depth", &claims, &format!("{state}, at {}", wavelength.shown_in("nm").text(3)), found, missing)
}

fn critical(question: &Question<'_>, glue: &Record, found: &mut Light, missing: &mut Vec<Missing>) -> Option<WavelengthBand> {
    let wavelength = question.amount("wavelength").map(|a| a.si);
    // A critical dose without a stated wavelength fits every lamp.
    let fits = |c: &&Claim| c.condition("wavelength").is_none() || wavelength.is_none_or(|w| at_wavelength(c, w));
    let claims: Vec<&Claim> = usable(glue, "critical_dose", question.invented()).into_iter().filter(fits).collect();
    band(glue, "critical_dose", &claims, "of the glue", found, missing)
}

fn band(
    of: &Record,
    property: &str,
    claims: &[&Claim],
    which: &str,
    found: &mut Light,
    missing: &mut Vec<Missing>,
) -> Option<WavelengthBand> {
    let ends: Vec<(f64, f64)> = claims.iter().filter_map(|c| c.value.ends().map(|(l, h)| (l.si, h.si))).collect();
    if ends.is_empty() {
        missing.push(Missing {
            sort: MissingSort::Record,
            what: format!("{} of {} ({which})", property.replace('_', " "), of.id),
            settle: format!("a claim of `{property}` in {}", of.id),
        });
        return None;
    }
    for claim in claims {
        note(found, of, property, claim);
    }
    let low = ends.iter().map(|e| e.0).fold(f64::INFINITY, f64::min);
    let high = ends.iter().map(|e| e.1).fold(f64::NEG_INFINITY, f64::max);
    Some(WavelengthBand { low, high })
}

fn note(found: &mut Light, of: &Record, property: &str, claim: &Claim) {
    let used = ReadValue { what: property.to_string(), value: claim.value.text(), claim: Some(of.address(property, claim)) };
    if !found.used.contains(&used) {
        found.used.push(used);
    }
}

fn at_wavelength(claim: &Claim, wavelength: f64) -> bool {
    match claim.condition("wavelength") {
        Some(ConditionValue::Quantity(w)) => (w.si - wavelength).abs() <= LINE_WIDTH_M,
        _ => false,
    }
}

fn is_state(claim: &Claim, state: &str) -> bool {
    matches!(claim.condition("state"), Some(ConditionValue::Text(t)) if &**t == state)
}
