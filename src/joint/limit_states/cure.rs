//! Whether the part's own resin cures as a glue: light through the wall, light down the open mouth.

use crate::book::{Claim, ConditionValue, Record};
use crate::joint::distribution::Law;
use crate::joint::fact::ClaimUse;
use crate::joint::geometry::Geometry;
use crate::joint::model::{Draw, InputOrigin, Model, Var};
use crate::joint::need::yes_no;
use crate::mechanics::light::{dose_through_wall, light_reach};
use crate::quantity::Measure;
use uom::si::f64::{Length, RadiantExposure, Ratio};

/// A claim belongs to the lamp when its wavelength is this near, in m.
const LINE_WIDTH: f64 = 6e-9;

/// What decides the cure in a draw.
#[derive(Clone, Copy)]
pub struct Cure {
    dose: RadiantExposure,
    wall: Option<Length>,
    length: Length,
    liquid: Var<Length>,
    cured: Option<Var<Length>>,
    over_liquid: Var<Ratio>,
    critical: Var<RadiantExposure>,
    left: Var<Ratio>,
}

impl Cure {
    /// Strength of the bond in parts of the cured one: the share of the depth that gels, and what the rest still carries.
    pub fn share(&self, draw: &Draw<'_>) -> Ratio {
        let critical = draw.get(self.critical);
        let liquid = draw.get(self.liquid);
        let through = self.wall.is_some_and(|wall| {
            let cured = self.cured.map_or_else(|| liquid * draw.get(self.over_liquid), |c| draw.get(c));
            dose_through_wall(self.dose, wall, cured) >= critical
        });
        let reach = light_reach(liquid, self.dose, critical).si() / self.length.si();
        let gelled = if through { 1.0 } else { reach.clamp(0.0, 1.0) };
        Ratio::from_si(gelled + (1.0 - gelled) * draw.get(self.left).si())
    }
}

/// The cure of the need's resin as a glue; what is missing is noted in the model.
pub fn of(model: &mut Model<'_>, geometry: &Geometry, length: Length) -> Option<Cure> {
    let need = model.need;
    let material = need.material;
    let test = "cure a drop of the resin behind a coupon of that wall";
    let opaque = yes_no(material, "opaque_at_cure_wavelength", need.invented());
    match opaque {
        Some(true) => model.gates.push(format!(
            "{} is opaque to the lamp: its own resin stays liquid behind the wall and holds next to nothing, whatever the dose",
            material.name
        )),
        Some(false) => {}
        None => model.doubts.push(format!(
            "whether the lamp shines through {} is not known: in an opaque part its own resin stays liquid and holds next to nothing",
            material.name
        )),
    }
    if need.dose.is_none() {
        model.blocked("the light dose at the part", format!("--dose with --wavelength; or {test}"));
    }
    if need.wavelength.is_none() {
        model.blocked("the wavelength of the lamp", "--wavelength");
    }
    let (dose, wavelength) = (need.dose?, need.wavelength?.si());
    let Some(liquid) = depth(model, material, "liquid", wavelength) else {
        model.blocked(
            format!("penetration depth in liquid {}", material.id),
            format!("a claim of `penetration_depth` (liquid, {:.0} nm); or {test}", wavelength * 1e9),
        );
        return None;
    };
    let critical = critical(model, material, wavelength);
    let over_liquid = model.assume::<Ratio>("cured_over_liquid");
    let cured = depth(model, material, "cured", wavelength);
    let opaque = opaque == Some(true);
    let hole = geometry.hole.first().map_or(0.0, |s| s.finished.nominal.si());
    let wall = need.wall.unwrap_or_else(|| Length::from_si((geometry.boss.si() - hole) / 2.0));
    if opaque {
        model.caution("the part is opaque at the lamp's wavelength: light enters only at the open end, and brass is opaque too");
    }
    let left = model.assume_own::<Ratio>("uncured_left");
    Some(Cure { dose, wall: (!opaque).then_some(wall), length, liquid, cured, over_liquid, critical, left })
}

fn at_wavelength(claim: &Claim, wavelength: f64) -> bool {
    matches!(claim.condition("wavelength"), Some(ConditionValue::Quantity(w)) if (w.si - wavelength).abs() <= LINE_WIDTH)
}

/// What the claims of a property that fit say.
struct Fitting {
    middles: Vec<f64>,
    claims: Vec<String>,
}

impl Fitting {
    /// Each value as a band, one factor up and down; each draw takes one of them.
    fn law(&self, factor: f64) -> Option<Law> {
        let laws: Vec<Law> = self.middles.iter().map(|m| Law::between_90(m / factor, m * factor)).collect();
        (!laws.is_empty()).then_some(Law::OneOf(laws))
    }
    fn origin(&self, assumed: &'static str) -> InputOrigin {
        InputOrigin::Claims { claims: self.claims.clone(), assumed: vec![assumed] }
    }
}

fn fitting(model: &mut Model<'_>, record: &Record, property: &'static str, fits: &dyn Fn(&Claim) -> bool) -> Fitting {
    let invented = model.need.invented();
    let usable = |c: &&Claim| c.in_use() && (invented || c.basis != crate::book::Basis::Invented) && fits(c);
    let found: Vec<&Claim> = record.claims(property).iter().filter(usable).collect();
    let uses: Vec<ClaimUse> = found
        .iter()
        .map(|c| ClaimUse {
            claim: record.address(property, c),
            value: c.value.text(),
            basis: c.basis,
            source: c.source.as_deref().map(Into::into),
            notes: Vec::new(),
        })
        .collect();
    model.claims_used(&uses);
    Fitting {
        // Of a depth that is only known to be more than the instrument shows, the least stands.
        middles: found.iter().filter_map(|c| c.value.middle_si().or_else(|| Some(c.value.ends()?.0.si))).collect(),
        claims: uses.into_iter().map(|u| u.claim).collect(),
    }
}

fn depth(model: &mut Model<'_>, record: &Record, state: &str, wavelength: f64) -> Option<Var<Length>> {
    let fits = |c: &Claim| at_wavelength(c, wavelength) && c.condition("state").is_some_and(|s| s.text() == state);
    let found = fitting(model, record, "penetration_depth", &fits);
    let law = found.law(model.need.assumptions.value("penetration_factor"))?;
    model.assumptions.insert("penetration_factor");
    Some(model.input(format!("{} penetration depth {state}", record.id), law, found.origin("penetration_factor")))
}

fn critical(model: &mut Model<'_>, record: &Record, wavelength: f64) -> Var<RadiantExposure> {
    // A critical dose without a stated wavelength fits every lamp, as it does where suitability is judged.
    let fits = |c: &Claim| c.condition("wavelength").is_none() || at_wavelength(c, wavelength);
    let found = fitting(model, record, "critical_dose", &fits);
    let Some(law) = found.law(model.need.assumptions.value("critical_dose_factor")) else {
        model.would_help(format!("critical dose of {}", record.id), "a claim of `critical_dose` at the lamp's wavelength");
        return model.assume::<RadiantExposure>("critical_dose");
    };
    model.assumptions.insert("critical_dose_factor");
    model.input(format!("{} critical dose", record.id), law, found.origin("critical_dose_factor"))
}
