//! The strengths of the part as this need sees them: by temperature, by place, by the way it was built.

use super::distribution::Law;
use super::fact::{Fact, fact, fact_as_built};
use super::heat;
use super::measured::gather;
use super::model::{Draw, InputOrigin, Model, Var};
use super::need::{Axis, Duration, Need};
use crate::book::Record;
use crate::quantity::{FractureToughness, Measure};
use uom::si::f64::{Pressure, Ratio};

/// A strength: a base times factors, and a second one when the weaker of two counts.
#[derive(Debug, Clone)]
pub struct PartStrength {
    base: Var<Pressure>,
    times: Vec<Var<Ratio>>,
    across: Option<Var<Pressure>>,
    weaker: Vec<Var<Ratio>>,
}

impl PartStrength {
    /// A base strength times factors.
    pub fn new(base: Var<Pressure>, times: Vec<Var<Ratio>>) -> Self {
        PartStrength { base, times, across: None, weaker: Vec::new() }
    }
    /// The same strength with the smallest of some factors.
    pub fn and_weaker(mut self, factors: impl IntoIterator<Item = Var<Ratio>>) -> Self {
        self.weaker.extend(factors);
        self
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
        let weaker = self.weaker.iter().map(|t| draw.get(*t).si()).fold(1.0, f64::min);
        self.times.iter().fold(value * weaker, |v, t| v * draw.get(*t))
    }
}

/// Fracture toughness of the part, with what warmth leaves of it: it counts as falling like a strength, since nothing says
/// that it lasts longer.
#[derive(Debug, Clone, Copy)]
pub struct Toughness {
    base: Var<FractureToughness>,
    left: Option<Var<Ratio>>,
}

impl Toughness {
    /// The toughness in a draw.
    pub fn get(&self, draw: &Draw<'_>) -> FractureToughness {
        FractureToughness::from_si(draw.get(self.base).si() * self.left.map_or(1.0, |left| draw.get(left).si()))
    }
}

/// The part's strengths.
#[derive(Debug, Clone)]
pub struct Part {
    /// Tensile strength in the layers.
    pub tensile: PartStrength,
    /// Shear strength on a cylinder round the hole.
    pub shear: PartStrength,
    /// Tensile yield strength.
    pub yielding: PartStrength,
    /// Share of every strength that warmth leaves.
    pub left: Option<Var<Ratio>>,
}

impl Part {
    /// The strengths of the need's material as inputs of a model; what is missing is noted in the model. `None` where there
    /// is nothing to count on.
    pub fn of(model: &mut Model<'_>) -> Option<Part> {
        let need = model.need;
        let record = need.material;
        let left = heat::left(model, record).ok()?;
        let read = |property: &'static str| fact(need, record, property, Some("flat"));
        let (tensile, yielding) = (read("tensile_strength"), read("yield_strength"));
        let known = tensile.or_else(|| yielding.clone());
        let Some(tensile) = known.or_else(|| told_by_joints(need, record)) else {
            model
                .blocked(format!("tensile strength of {}", record.id), format!("a claim of `tensile_strength` in {}", record.id));
            return None;
        };
        if tensile.property == "yield_strength" {
            model.caution("no tensile strength is known: the yield stress is used instead");
        }
        soaked(model, &tensile);
        let shear = read("shear_strength");
        let mut part = Part {
            tensile: strength(model, &tensile, left),
            shear: match &shear {
                Some(own) => strength(model, own, left),
                None => {
                    model.caution("no shear strength is known: 0.577 to 0.65 of the tensile strength is used");
                    let mut of_tensile = strength(model, &tensile, left);
                    of_tensile.times.push(model.assume::<Ratio>("shear_over_tensile"));
                    of_tensile
                }
            },
            yielding: strength(model, yielding.as_ref().unwrap_or(&tensile), left),
            left,
        };
        across_layers(model, &mut part, shear.as_ref(), &tensile);
        lasting(model, &tensile);
        cellular(model);
        Some(part)
    }
}

/// The assumption that stands for a tensile strength nobody claims, where joints of the material were measured: they tell how
/// strong it is. By itself it promises nothing.
pub const UNKNOWN_STRENGTH: &str = "unknown_strength";

fn told_by_joints(need: &Need<'_>, record: &Record) -> Option<Fact> {
    let (measured, _) = gather(need.book, need.invented());
    measured.iter().find(|series| series.material.id == record.id)?;
    let of = need.assumptions.get(UNKNOWN_STRENGTH).law();
    Some(Fact {
        property: "tensile_strength".into(),
        record: record.id.to_string(),
        law: of,
        scatter: 0.0,
        claims: Vec::new(),
        assumed: vec![UNKNOWN_STRENGTH],
        notes: Vec::new(),
    })
}

/// A strength measured on soaked specimens says less than dry parts hold: it is used, and said.
fn soaked(model: &mut Model<'_>, tensile: &Fact) {
    use crate::suit::ServiceConditions;
    let wet = |c: &crate::book::Claim| c.condition("moisture").is_some_and(|m| m.text() == "wet");
    let need = model.need;
    let stands_wet =
        matches!(need.using.place, Some(ServiceConditions::Damp | ServiceConditions::Wet | ServiceConditions::Immersed));
    let behind = need.material.claims(&tensile.property).iter();
    let mut behind =
        behind.filter(|c| tensile.claims.iter().any(|u| u.claim == need.material.address(&tensile.property, c))).peekable();
    if !stands_wet && behind.peek().is_some() && behind.all(wet) {
        model.caution("the strength used here was measured on soaked specimens: a dry part may hold much more");
        model.would_help(format!("dry strength of {}", need.material.id), "a claim of `tensile_strength` of dry specimens");
    }
}

fn strength(model: &mut Model<'_>, fact: &Fact, left: Option<Var<Ratio>>) -> PartStrength {
    PartStrength::new(model.fact(fact), left.into_iter().collect())
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
pub fn toughness(model: &mut Model<'_>, part: &Part) -> Toughness {
    let need = model.need;
    let left = part.left;
    if let Some(known) = fact(need, need.material, "fracture_toughness", None) {
        let scatter = model.scatter;
        let base = model.fact(&known);
        model.scatter = scatter;
        return Toughness { base, left };
    }
    model.would_help(
        format!("fracture toughness of {}", need.material.id),
        "a claim of `fracture_toughness`: bursting and cracks rest on a wide band of its class (an assumption)",
    );
    let class = if need.thermoset() == Some(true) { "brittle_toughness" } else { "tough_toughness" };
    Toughness { base: model.assume(class), left }
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
        let mut known = fact_as_built(need, need.material, property, word)?;
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
        part.shear.times.push(model.input("strength across the layers", Law::Fixed(ratio), InputOrigin::of(&across)));
        return;
    }
    model
        .would_help(format!("strength of {} across its layers", need.material.id), "a tensile claim with `orientation: upright`");
    part.shear.times.push(model.assume::<Ratio>("z_ratio"));
}

/// Property that says what is left of the tensile strength under repeated load; a load that is held has its own
/// answer beside the short pull ([`super::held`]).
pub fn lasting_property(duration: Duration) -> Option<&'static str> {
    (duration == Duration::Repeated).then_some("fatigue_strength")
}

/// Under such a load every limit state of the part falls as its claim does against the tensile strength of a short pull;
/// toughness counts as falling alike, since nothing says that it lasts longer.
fn lasting(model: &mut Model<'_>, tensile: &Fact) {
    let need = model.need;
    let Some(property) = lasting_property(need.using.duration) else { return };
    let Some(known) = fact(need, need.material, property, None) else { return };
    model.rests_on(&known);
    let law = known.law.times(1.0 / tensile.law.median());
    model.lasting = Some(model.input(format!("{} {property} over tensile", need.material.id), law, InputOrigin::of(&known)));
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
