//! The strengths of the part as this need sees them: by temperature, by place, by the way it was built.

use super::fact::{self, Fact, fact};
use super::law::Law;
use super::model::{Draw, Model, Origin, Var};
use super::need::{Axis, Duration, Need, WARM};
use crate::quantity::FractureToughness;
use uom::si::f64::{Pressure, Ratio};

/// How far a part may be warmed.
#[derive(Debug, Clone, PartialEq)]
pub enum Heat {
    /// Room temperature, or claims at the temperature asked for.
    Fine,
    /// Between 30 °C and the softening limit without claims: with care.
    Care(String),
    /// It cannot be judged: why, and what would settle it.
    Unknown(String, String),
    /// Too hot.
    TooHot(String),
}

/// Judges the hottest temperature against the softening of a record (the part or a glue): up to 30 °C as is, up to
/// Tg - 30 K (or HDT - 10 K if lower) with care, above that unknown, above Tg - 10 K it does not suit.
pub fn heat(need: &Need<'_>, record: &crate::book::Record) -> (Heat, Vec<fact::ClaimUse>) {
    let hot = need.hottest();
    if hot <= WARM {
        return (Heat::Fine, Vec::new());
    }
    let (tg, hdt) = (fact::single(need, record, "tg"), fact::single(need, record, "hdt"));
    let claims: Vec<_> = [&tg, &hdt].into_iter().flatten().flat_map(|(_, c)| c.clone()).collect();
    let (tg, hdt) = (tg.map(|t| t.0), hdt.map(|t| t.0));
    let celsius = |k: f64| format!("{:.0} °C", k - 273.15);
    let margin = |name: &'static str| need.assumptions.value(name);
    let (care, of_hdt, no) = (margin("softening_care"), margin("softening_hdt"), margin("softening_no"));
    let heat = match (tg, hdt) {
        (Some(tg), _) if hot > tg - no => Heat::TooHot(format!(
            "{} is within {no:.0} K of the glass transition of {} ({})",
            celsius(hot),
            record.name,
            celsius(tg)
        )),
        (None, None) => Heat::Unknown(
            format!(
                "how {} stands {}: neither glass transition nor heat deflection temperature is known",
                record.name,
                celsius(hot)
            ),
            format!("a claim of `tg` or `hdt` in {}", record.id),
        ),
        _ => {
            let limit = [tg.map(|t| t - care), hdt.map(|t| t - of_hdt)].into_iter().flatten().fold(f64::INFINITY, f64::min);
            if hot <= limit {
                Heat::Care(format!(
                    "{} is above 30 °C; {} is taken to keep half to all of its strength",
                    celsius(hot),
                    record.name
                ))
            } else {
                Heat::Unknown(
                    format!("the strength of {} at {} (softening allows {})", record.name, celsius(hot), celsius(limit)),
                    format!("strength claims of {} at {}", record.id, celsius(hot)),
                )
            }
        }
    };
    (heat, claims)
}

/// A strength: a base times factors, and a second one when the weaker of two counts.
#[derive(Debug, Clone)]
pub struct Strength {
    base: Var<Pressure>,
    times: Vec<Var<Ratio>>,
    across: Option<Var<Pressure>>,
}

impl Strength {
    /// A base strength times factors.
    pub fn new(base: Var<Pressure>, times: Vec<Var<Ratio>>) -> Self {
        Strength { base, times, across: None }
    }
    /// The same strength with a further factor.
    pub fn and(mut self, factor: Var<Ratio>) -> Self {
        self.times.push(factor);
        self
    }
    /// The strength in a draw.
    pub fn get(&self, draw: &Draw<'_>) -> Pressure {
        let mut value = draw.get(self.base);
        if let Some(across) = self.across {
            let other = draw.get(across);
            if other < value {
                value = other;
            }
        }
        self.times.iter().fold(value, |v, t| v * draw.get(*t))
    }
}

/// The part's strengths.
#[derive(Debug, Clone)]
pub struct Part {
    /// Tensile strength in the layers.
    pub tensile: Strength,
    /// Shear strength on a cylinder round the hole.
    pub shear: Strength,
    /// Tensile yield strength.
    pub yielding: Strength,
}

impl Part {
    /// The strengths of the need's material as inputs of a model; what is missing is noted in the model.
    pub fn of(model: &mut Model<'_>) -> Option<Part> {
        let need = model.need;
        let record = need.material;
        let read = |property: &'static str| fact(need, record, property, Some("flat"));
        let (tensile, yielding) = (read("tensile_strength"), read("yield_strength"));
        let Some(tensile) = tensile.clone().or_else(|| yielding.clone()) else {
            model
                .blocked(format!("tensile strength of {}", record.id), format!("a claim of `tensile_strength` in {}", record.id));
            return None;
        };
        if tensile.property == "yield_strength" {
            model.caution("no tensile strength is known: yield stands for it");
        }
        let (heat, claims) = heat(need, record);
        model.claims_used(&claims);
        if need.hottest() > WARM {
            model.assumptions.extend(["softening_care", "softening_hdt", "softening_no"]);
        }
        let warm = warm(model, &heat, tensile.at_temperature);
        let shear = read("shear_strength");
        let mut part = Part {
            tensile: strength(model, &tensile, warm),
            shear: match &shear {
                Some(own) => strength(model, own, warm),
                None => {
                    model.caution("no shear strength is known: 0.577 to 0.65 of the tensile strength is taken");
                    let mut of_tensile = strength(model, &tensile, warm);
                    of_tensile.times.push(model.assume::<Ratio>("shear_over_tensile"));
                    of_tensile
                }
            },
            yielding: strength(model, yielding.as_ref().unwrap_or(&tensile), warm),
        };
        across_layers(model, &mut part, shear.as_ref(), &tensile);
        lasting(model, &tensile);
        cellular(model);
        Some(part)
    }
}

/// Notes what the heat does and gives the factor on strengths, if any.
fn warm(model: &mut Model<'_>, heat: &Heat, at_temperature: bool) -> Option<Var<Ratio>> {
    match heat {
        Heat::Fine => None,
        Heat::TooHot(why) => {
            model.gates.push(why.clone());
            Some(model.assume::<Ratio>("hot_factor"))
        }
        _ if at_temperature => None,
        Heat::Care(why) => {
            model.cares.push(why.clone());
            Some(model.assume::<Ratio>("hot_factor"))
        }
        Heat::Unknown(what, settle) => {
            model.blocked(what.clone(), settle.clone());
            None
        }
    }
}

fn strength(model: &mut Model<'_>, fact: &Fact, warm: Option<Var<Ratio>>) -> Strength {
    let base = model.fact(fact);
    let times = if fact.at_temperature { Vec::new() } else { warm.into_iter().collect() };
    Strength { base, times, across: None }
}

/// Elastic modulus of the part, where known; asked for by the states that need it.
pub fn modulus(model: &mut Model<'_>) -> Option<Var<Pressure>> {
    let need = model.need;
    let known = ["tensile_modulus", "flexural_modulus"].into_iter().find_map(|p| fact(need, need.material, p, Some("flat")));
    match known {
        Some(known) => {
            let scatter = model.scatter;
            let var = model.fact(&known);
            // The scatter of stiffness is none of strength.
            model.scatter = scatter;
            Some(var)
        }
        None => {
            model.would_help(
                format!("elastic modulus of {}", need.material.id),
                "a claim of `tensile_modulus`: without it, elastic jumping and thermal stress are left out",
            );
            None
        }
    }
}

/// Poisson's ratio of the part.
pub fn poisson(model: &mut Model<'_>) -> Var<Ratio> {
    let need = model.need;
    match fact(need, need.material, "poisson_ratio", Some("flat")) {
        Some(known) => model.fact(&known),
        None => model.assume::<Ratio>("poisson"),
    }
}

/// Fracture toughness of the part; a band of its class where none is known.
pub fn toughness(model: &mut Model<'_>) -> Var<FractureToughness> {
    let need = model.need;
    if let Some(known) = fact(need, need.material, "fracture_toughness", None) {
        let scatter = model.scatter;
        let var = model.fact(&known);
        model.scatter = scatter;
        return var;
    }
    model.would_help(
        format!("fracture toughness of {}", need.material.id),
        "a claim of `fracture_toughness`: bursting and cracks rest on a wide band of its class (an assumption)",
    );
    if need.thermoset() == Some(true) {
        model.assume::<FractureToughness>("brittle_toughness")
    } else {
        model.assume::<FractureToughness>("tough_toughness")
    }
}

/// A shear cylinder across the build carries the weaker of layers and seams; along the build the layers alone.
fn across_layers(model: &mut Model<'_>, part: &mut Part, shear: Option<&Fact>, tensile: &Fact) {
    let need = model.need;
    if need.using.axis == Axis::AlongBuild {
        return;
    }
    if need.using.axis == Axis::Unknown {
        model.would_help("how the joint lies to the build direction", "--axis along-build or across-build");
    }
    let upright = |property: &'static str| {
        let word = ["upright", "z", "across-build"].into_iter().find(|w| {
            let stated = |c: &crate::book::Claim| c.in_use() && c.condition("orientation").is_some_and(|o| o.text() == *w);
            need.material.claims(property).iter().any(stated)
        })?;
        let mut known = fact(need, need.material, property, Some(word))?;
        known.notes.push("across the layers".into());
        Some(known)
    };
    if shear.is_some()
        && let Some(across) = upright("shear_strength")
    {
        part.shear.across = Some(model.fact(&across));
        return;
    }
    if let Some(across) = upright("tensile_strength") {
        model.rests_on(&across);
        let ratio = (across.law.median() / tensile.law.median()).min(1.0);
        part.shear.times.push(model.input("strength across the layers", Law::Fixed(ratio), Origin::of(&across)));
        return;
    }
    model
        .would_help(format!("strength of {} across its layers", need.material.id), "a tensile claim with `orientation: upright`");
    part.shear.times.push(model.assume::<Ratio>("z_ratio"));
}

/// Property that says what is left of the tensile strength under a load that stays or comes and goes.
pub fn lasting_property(duration: Duration) -> Option<&'static str> {
    match duration {
        Duration::Held => Some("creep_rupture_strength"),
        Duration::Repeated => Some("fatigue_strength"),
        Duration::Short | Duration::Shock => None,
    }
}

/// Under such a load every limit state of the part falls as its claim does against the tensile strength of a short pull;
/// toughness counts as falling alike, since nothing says that it lasts longer.
fn lasting(model: &mut Model<'_>, tensile: &Fact) {
    let need = model.need;
    let Some(property) = lasting_property(need.using.duration) else { return };
    let Some(known) = fact(need, need.material, property, None) else { return };
    model.rests_on(&known);
    let law = known.law.times(1.0 / tensile.law.median());
    model.lasting = Some(model.input(format!("{} {property} over tensile", need.material.id), law, Origin::of(&known)));
}

/// A wall that is not solid has no model: infill is never scaled.
fn cellular(model: &mut Model<'_>) {
    let need = model.need;
    let Some(infill) = need.using.infill.filter(|i| *i < 1.0) else { return };
    let wanted = model.assumed("solid_thread_wall");
    let width = model.assumed("perimeter_width");
    let percent = infill * 100.0;
    match need.using.perimeters {
        Some(n) if f64::from(n) * width >= wanted => {
            model.cares.push(format!(
                "{percent:.0} % infill: of the wall only the {n} perimeters round the hole count ({:.1} mm); what lies behind carries \
                 nothing here, and no load is ever scaled by infill",
                f64::from(n) * width * 1e3
            ));
        }
        Some(n) => model.blocked(
            format!("the strength of a cellular wall ({percent:.0} % infill behind {n} perimeters)"),
            "more perimeters, or a test series with these settings: loads are never scaled by infill",
        ),
        None => model.blocked("how many perimeters stand round the hole", "--perimeters N"),
    }
}
