//! What warmth leaves of a strength: everything at room temperature, a falling share towards the softening of the record,
//! nothing that may be counted on from there.

use super::distribution::Law;
use super::fact::{ClaimUse, single};
use super::model::{InputOrigin, Model, Var};
use super::need::{Need, ROOM, ROOM_TOLERANCE};
use crate::book::choose::related;
use crate::book::{Basis, Claim, ConditionValue, Record};
use uom::si::f64::Ratio;

/// Up to which temperature a record is counted on, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// The temperature, in K.
    pub kelvin: f64,
    /// The softening behind it, in K, and what it is called.
    pub softens: (f64, &'static str),
    /// The claims behind it.
    pub claims: Vec<ClaimUse>,
}

/// What a temperature does to a record.
#[derive(Debug, Clone, PartialEq)]
pub enum Warmth {
    /// Nothing.
    None,
    /// It leaves a share of every strength.
    Leaves(Law),
    /// It is too much: why.
    TooMuch(String),
    /// It cannot be judged: what is missing and what would settle it.
    Unknown(String, String),
}

fn celsius(kelvin: f64) -> String {
    format!("{:.0} °C", kelvin - 273.15)
}

/// The limit of a record: a named margin below its softening.
///
/// A glassy thermoplastic softens at its glass transition; a semicrystalline one at its heat deflection temperature, because
/// it stays solid above the glass transition; of anything else the lower of both counts. A service temperature of a glue
/// holds its margin already. A transition below room temperature is no softening: what is measured there is a rubber. Where the
/// margin reaches room temperature the limit is room temperature, at which its strength was measured.
pub fn limit(need: &Need<'_>, record: &Record) -> Option<Limit> {
    let margin = need.assumptions.value("softening_margin");
    let yes = |property: &str| super::need::yes_no(record, property, need.invented());
    let thermoset = yes("thermoset").unwrap_or_else(|| need.book.is_family(&record.family, "thermoset"));
    let amorphous = yes("amorphous");
    let tg = single(need, record, "tg").filter(|(k, _)| *k > ROOM && amorphous != Some(false));
    let glassy = amorphous == Some(true) && !thermoset && tg.is_some();
    let hdt = deflection(need, record).filter(|_| !glassy);
    let serves = single(need, record, "service_temperature").filter(|_| need.book.role(record) == "adhesive");
    let of = |found: Option<(f64, Vec<ClaimUse>)>, margin: f64, what: &'static str| {
        found.map(|(kelvin, claims)| Limit { kelvin: (kelvin - margin).max(ROOM), softens: (kelvin, what), claims })
    };
    let all = [
        of(tg, margin, "glass transition"),
        of(hdt, margin, "heat deflection temperature"),
        of(single(need, record, "softening_temperature"), margin, "softening temperature"),
        of(serves, 0.0, "service temperature"),
    ];
    all.into_iter().flatten().min_by(|a, b| a.kelvin.total_cmp(&b.kelvin))
}

fn usable<'r>(need: &Need<'_>, record: &'r Record, property: &str) -> impl Iterator<Item = &'r Claim> {
    let invented = need.invented() || record.invented();
    record.claims(property).iter().filter(move |c| c.in_use() && (invented || c.basis != Basis::Invented))
}

fn condition(claim: &Claim, name: &str) -> Option<f64> {
    match claim.condition(name) {
        Some(ConditionValue::Quantity(written)) => Some(written.si),
        _ => None,
    }
}

fn used(record: &Record, property: &str, claim: &Claim) -> ClaimUse {
    ClaimUse {
        claim: record.address(property, claim),
        value: claim.value.text(),
        basis: claim.basis,
        source: claim.source.as_deref().map(Into::into),
        notes: Vec::new(),
    }
}

/// The lowest heat deflection temperature at the highest stress that is stated.
fn deflection(need: &Need<'_>, record: &Record) -> Option<(f64, Vec<ClaimUse>)> {
    let known = usable(need, record, "hdt").filter(|c| c.bound.is_none());
    let all: Vec<(f64, f64, &Claim)> =
        known.filter_map(|c| Some((condition(c, "stress").unwrap_or(0.0), c.value.middle_si()?, c))).collect();
    let highest = all.iter().map(|a| a.0).fold(0.0, f64::max);
    // Stresses of 1.80 and 1.82 MPa are one test.
    let at_highest = all.into_iter().filter(|a| a.0 >= 0.9 * highest);
    let (_, kelvin, claim) = at_highest.min_by(|a, b| a.1.total_cmp(&b.1))?;
    Some((kelvin, vec![used(record, "hdt", claim)]))
}

/// Strength over temperature as claims of one test series state it, in parts of the strength at room temperature.
struct Curve {
    /// Temperature in K and share, from room temperature upwards; the share never rises.
    points: Vec<(f64, f64)>,
    claims: Vec<ClaimUse>,
}

/// Properties whose fall stands for that of every strength of the record, the best first.
const STRENGTHS: [&str; 5] = ["tensile_strength", "yield_strength", "shear_strength", "lap_shear_strength", "flexural_strength"];

fn curve(need: &Need<'_>, record: &Record) -> Option<Curve> {
    STRENGTHS.iter().find_map(|property| {
        let all: Vec<(f64, f64, &Claim)> = usable(need, record, property)
            .filter(|c| c.bound.is_none())
            .filter_map(|c| Some((condition(c, "temperature")?, c.value.middle_si()?, c)))
            .collect();
        // One test series, because laboratories differ by more than a few kelvin do: that which reaches furthest.
        let hottest = all.iter().filter(|a| a.0 > ROOM + ROOM_TOLERANCE).max_by(|a, b| a.0.total_cmp(&b.0))?;
        let mut kin: Vec<_> = all.iter().filter(|a| related(a.2, hottest.2)).collect();
        kin.sort_by(|a, b| a.0.total_cmp(&b.0));
        let at_room = at(&kin.iter().map(|a| (a.0, a.1)).collect::<Vec<_>>(), ROOM)?;
        let mut points = vec![(ROOM, 1.0f64)];
        for (kelvin, strength, _) in kin.iter().filter(|a| a.0 > ROOM) {
            let least = points.last().map_or(1.0, |p| p.1);
            points.push((*kelvin, (strength / at_room).min(least)));
        }
        Some(Curve { points, claims: kin.iter().map(|a| used(record, property, a.2)).collect() })
    })
}

/// Value at a temperature by straight lines; that of the nearest end up to the tolerance of room temperature beyond it.
fn at(points: &[(f64, f64)], kelvin: f64) -> Option<f64> {
    let (first, last) = (points.first()?, points.last()?);
    if kelvin <= first.0 {
        return (first.0 - kelvin <= ROOM_TOLERANCE).then_some(first.1);
    }
    if kelvin >= last.0 {
        return (kelvin - last.0 <= ROOM_TOLERANCE).then_some(last.1);
    }
    points.windows(2).find(|w| kelvin <= w[1].0).map(|w| {
        let share = (kelvin - w[0].0) / (w[1].0 - w[0].0);
        w[0].1 + (w[1].1 - w[0].1) * share
    })
}

/// Least and largest share left at a temperature. Both fall as it rises, so that every draw falls.
fn shares(curve: Option<&Curve>, limit: f64, end: (f64, f64), doubt: f64, hot: f64) -> (f64, f64) {
    let way = |kelvin: f64| ((kelvin - ROOM) / (limit - ROOM)).clamp(0.0, 1.0);
    let class = |kelvin: f64, end: f64| 1.0 - (1.0 - end) * way(kelvin);
    let Some(curve) = curve else { return (class(hot, end.0), class(hot, end.1)) };
    let top = curve.points.last().map_or(ROOM, |p| p.0).min(limit);
    let measured = at(&curve.points, hot.min(top)).unwrap_or(1.0);
    // Beyond the last claim it falls on as its class does.
    let beyond = |end: f64| if hot > top { class(hot, end) / class(top, end) } else { 1.0 };
    (measured * (1.0 - doubt * way(hot)) * beyond(end.0), measured * beyond(end.1))
}

/// What the hottest temperature of the need does to a record, with the claims and assumptions it rests on.
pub fn warmth(need: &Need<'_>, record: &Record) -> (Warmth, Vec<ClaimUse>, Vec<&'static str>) {
    let hot = need.hottest();
    if hot <= ROOM {
        return (Warmth::None, Vec::new(), Vec::new());
    }
    let (limit, curve) = (limit(need, record), curve(need, record));
    let mut claims: Vec<ClaimUse> = limit.iter().flat_map(|l| l.claims.clone()).collect();
    claims.extend(curve.iter().flat_map(|c| c.claims.clone()));
    let end = if need.book.role(record) == "adhesive" { "glue_heat_left" } else { "heat_left" };
    let names = vec!["softening_margin", end, "heat_doubt"];
    // Without a softening the claims at temperatures reach as far as they reach.
    let top = limit.as_ref().map(|l| l.kelvin).or_else(|| curve.as_ref()?.points.last().map(|p| p.0));
    let warmth = match (top, &limit) {
        (None, _) if hot <= ROOM + ROOM_TOLERANCE => Warmth::None,
        (Some(top), Some(limit)) if hot > top => {
            Warmth::TooMuch(too_much(record, limit, hot, need.assumptions.value("softening_margin")))
        }
        (Some(top), _) if hot <= top => {
            let (ends, doubt) = (need.assumptions.get(end), need.assumptions.value("heat_doubt"));
            let (low, high) = shares(curve.as_ref(), top, (ends.low, ends.high), doubt, hot);
            Warmth::Leaves(if low < high { Law::Uniform { low, high } } else { Law::Fixed(high) })
        }
        _ => Warmth::Unknown(
            format!("how strong {} is at {}: no softening temperature and no strength there is known", record.name, celsius(hot)),
            format!("a claim of `tg` or `hdt` in {}, or of its strength at room temperature and at {}", record.id, celsius(hot)),
        ),
    };
    (warmth, claims, names)
}

fn too_much(record: &Record, limit: &Limit, hot: f64, margin: f64) -> String {
    let (softens, what) = limit.softens;
    let stands = if hot >= softens {
        format!("is at or above the {what} of {} ({})", record.name, celsius(softens))
    } else {
        format!("is within {margin:.0} K of the {what} of {} ({})", record.name, celsius(softens))
    };
    format!("{} {stands}: it softens, no load is given above {}", celsius(hot), celsius(limit.kelvin))
}

/// The share that the need's warmth leaves of the strengths of a record, as an input of the model; what it does is noted there.
///
/// # Errors
/// The record is too hot: the gate is noted, and there is nothing to count on.
pub fn left(model: &mut Model<'_>, record: &Record) -> Result<Option<Var<Ratio>>, TooHot> {
    let (warmth, claims, names) = warmth(model.need, record);
    model.claims_used(&claims);
    match warmth {
        Warmth::None => Ok(None),
        Warmth::TooMuch(why) => {
            model.assumptions.insert("softening_margin");
            model.gates.push(why);
            Err(TooHot)
        }
        Warmth::Unknown(what, settle) => {
            model.blocked(what, settle);
            Ok(None)
        }
        Warmth::Leaves(law) => {
            model.assumptions.extend(names.iter().copied());
            if model.need.hottest() > ROOM + ROOM_TOLERANCE {
                let (low, high) = match law {
                    Law::Uniform { low, high } => (low, high),
                    _ => (law.median(), law.median()),
                };
                model.cares.push(format!(
                    "{}: {} keeps {:.0} to {:.0} % of its strength at room temperature",
                    celsius(model.need.hottest()),
                    record.name,
                    low * 100.0,
                    high * 100.0
                ));
            }
            let name = format!("{} share of strength left by warmth", record.id);
            Ok(Some(model.input(
                name,
                law,
                InputOrigin::Claims { claims: claims.into_iter().map(|c| c.claim).collect(), assumed: names },
            )))
        }
    }
}

/// A partner of the joint is too hot for any load.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TooHot;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_fall_from_one_to_the_end_without_a_step() {
        let (limit, end) = (ROOM + 50.0, (0.2, 0.6));
        let at = |dt: f64| shares(None, limit, end, 0.1, ROOM + dt);
        assert_eq!(at(0.0), (1.0, 1.0));
        // Hand: half way, 1 - 0.8/2 and 1 - 0.4/2.
        let (low, high) = at(25.0);
        assert!((low - 0.6).abs() < 1e-12 && (high - 0.8).abs() < 1e-12, "{low} {high}");
        let (low, high) = at(50.0);
        assert!((low - 0.2).abs() < 1e-12 && (high - 0.6).abs() < 1e-12, "{low} {high}");
        let claims = Curve { points: vec![(ROOM, 1.0), (ROOM + 20.0, 0.9), (ROOM + 30.0, 0.7)], claims: Vec::new() };
        let mut before = (1.0, 1.0);
        for step in 0..=500 {
            let now = shares(Some(&claims), limit, end, 0.1, ROOM + f64::from(step) * 0.1);
            assert!(now.0 <= now.1 && now.0 <= before.0 + 1e-12 && now.1 <= before.1 + 1e-12, "{step}: {now:?} {before:?}");
            assert!(before.0 - now.0 < 5e-3 && before.1 - now.1 < 5e-3, "a step at {step}");
            before = now;
        }
        // Hand: at the last claim 0.7, less a tenth of 30/50 at the lower end.
        let (low, high) = shares(Some(&claims), limit, end, 0.1, ROOM + 30.0);
        assert!((high - 0.7).abs() < 1e-12 && (low - 0.7 * 0.94).abs() < 1e-12);
    }
}
