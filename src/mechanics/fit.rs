//! Fits of a sleeve in a hole: pressed, shrunk, or loosened and tightened by temperature.

use uom::si::f64::{Length, Pressure, Ratio, TemperatureCoefficient, TemperatureInterval};

use super::bursting::lame_ratio;
use super::formula::{Argument, Domain, Example, Formula, FormulaCard, Gives, Status, Trend, Validity, arg};
use crate::quantity::Measure;

/// Strain of the fit per pressure in 1/Pa: (Kp + νp)/Ep + (Kb - νb)/Eb, part outside and insert inside. Shigley ch. 3.
fn compliance(f: Fit) -> f64 {
    let part = (lame_ratio(f.interface, f.outer).si() + f.part_poisson.si()) / f.part_modulus.si();
    let insert = (lame_ratio(f.bore, f.interface).si() - f.insert_poisson.si()) / f.insert_modulus.si();
    part + insert
}

/// An insert (hollow when `bore` is above zero) in a part: radii, moduli, Poisson's ratios.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// Radius where they touch.
    pub interface: Length,
    /// Outer radius of the part.
    pub outer: Length,
    /// Radius of the insert's bore.
    pub bore: Length,
    /// Elastic modulus of the part.
    pub part_modulus: Pressure,
    /// Poisson's ratio of the part.
    pub part_poisson: Ratio,
    /// Elastic modulus of the insert.
    pub insert_modulus: Pressure,
    /// Poisson's ratio of the insert.
    pub insert_poisson: Ratio,
}

/// Change of the diametral gap on heating: D (a_part - a_insert) ΔT; above zero the fit loosens.
pub fn gap_change(
    diameter: Length,
    part_expansion: TemperatureCoefficient,
    insert_expansion: TemperatureCoefficient,
    heating: TemperatureInterval,
) -> Length {
    diameter * ((part_expansion.si() - insert_expansion.si()) * heating.si())
}

/// Pressure between insert and part from a diametral interference: p = (δ/D)/[(Kp + νp)/Ep + (Kb - νb)/Eb].
///
/// Plane stress, elastic. Source: compound cylinder, Shigley ch. 3.
pub fn press_pressure(interference: Length, fit: Fit) -> Pressure {
    Pressure::from_si(interference.si() / (2.0 * fit.interface.si()) / compliance(fit))
}

/// Diametral interference that gives a pressure between insert and part; the inverse of [`press_pressure`].
pub fn press_interference(pressure: Pressure, fit: Fit) -> Length {
    fit.interface * (2.0 * pressure.si() * compliance(fit))
}

/// Pressure between a tight or bonded insert and its part after cooling: p = (a_part - a_insert) ΔT/[…]; see [`press_pressure`].
pub fn cooling_pressure(
    fit: Fit,
    part_expansion: TemperatureCoefficient,
    insert_expansion: TemperatureCoefficient,
    cooling: TemperatureInterval,
) -> Pressure {
    let strain = (part_expansion.si() - insert_expansion.si()) * cooling.si();
    Pressure::from_si(strain / compliance(fit))
}

/// Hoop stress of the part at the interface after cooling: p Kp; see [`cooling_pressure`].
pub fn cooling_hoop(
    fit: Fit,
    part_expansion: TemperatureCoefficient,
    insert_expansion: TemperatureCoefficient,
    cooling: TemperatureInterval,
) -> Pressure {
    cooling_pressure(fit, part_expansion, insert_expansion, cooling) * lame_ratio(fit.interface, fit.outer)
}

use Domain::{Any, NotNegative, Positive};
use Trend::{Falls, Mixed, Rises};

const fn interface(trend: Trend) -> Argument {
    arg("interface", "ri", "mm", "radius where they touch", Positive, trend)
}
const fn outer(trend: Trend) -> Argument {
    arg("outer", "ro", "mm", "outer radius of the part", Positive, trend)
}
const fn bore(trend: Trend) -> Argument {
    arg("bore", "rb", "mm", "radius of the insert's bore; 0 for a solid pin", NotNegative, trend)
}
const fn part_modulus(trend: Trend) -> Argument {
    arg("part_modulus", "Ep", "MPa", "elastic modulus of the part", Positive, trend)
}
const fn part_poisson(trend: Trend) -> Argument {
    arg("part_poisson", "νp", "1", "Poisson's ratio of the part", Domain::Within(0.0, 0.5), trend)
}
const fn insert_modulus(trend: Trend) -> Argument {
    arg("insert_modulus", "Eb", "GPa", "elastic modulus of the insert", Positive, trend)
}
const fn insert_poisson(trend: Trend) -> Argument {
    arg("insert_poisson", "νb", "1", "Poisson's ratio of the insert", Domain::Within(0.0, 0.5), trend)
}
const PART_EXPANSION: Argument = arg("part_expansion", "ap", "µm/(m·K)", "thermal expansion of the part", Any, Rises);
const INSERT_EXPANSION: Argument = arg("insert_expansion", "ab", "µm/(m·K)", "thermal expansion of the insert", Any, Falls);
const COOLING: Argument = arg("cooling", "ΔT", "K", "cooling from the stress-free temperature", Any, Rises);

const ELASTIC: Validity = Validity::Exact("elastic, round, plane stress, no creep: an upper bound for plastics, which relax");
const SHIGLEY: &str = "compound cylinder: Shigley, Mechanical Engineering Design, ch. 3 (press and shrink fits)";
const RADII: &[(&str, &str)] = &[("outer", "interface"), ("interface", "bore")];

/// The formulas of this module.
pub fn formulas() -> Vec<Formula> {
    let mut all = press_formulas();
    all.extend(thermal_formulas());
    all
}

fn press_formulas() -> Vec<Formula> {
    let pressed = |interference, interface, outer, bore, part_modulus, part_poisson, insert_modulus, insert_poisson| {
        press_pressure(interference, Fit { interface, outer, bore, part_modulus, part_poisson, insert_modulus, insert_poisson })
    };
    let shrunk = |pressure, interface, outer, bore, part_modulus, part_poisson, insert_modulus, insert_poisson| {
        press_interference(pressure, Fit { interface, outer, bore, part_modulus, part_poisson, insert_modulus, insert_poisson })
    };
    vec![
        Formula::of(
            pressed,
            FormulaCard {
                name: "press-pressure",
                purpose: "Pressure between a pressed insert and its part.",
                arguments: [
                    arg("interference", "δ", "mm", "diametral interference", NotNegative, Rises),
                    interface(Mixed),
                    outer(Rises),
                    bore(Falls),
                    part_modulus(Rises),
                    part_poisson(Falls),
                    insert_modulus(Rises),
                    insert_poisson(Rises),
                ],
                above: RADII,
                gives: Gives { symbol: "p", unit: "MPa", means: "pressure" },
                validity: ELASTIC,
                source: SHIGLEY,
                example: Example {
                    inputs: ["0.0317106mm", "20mm", "30mm", "10mm", "207GPa", "0.27", "207GPa", "0.27"],
                    result: "38.4615 MPa",
                    tolerance: 3e-6,
                    status: Status::Published,
                    origin: "Bhandari, Introduction to Machine Design, example 22.6",
                },
            },
        ),
        Formula::of(
            shrunk,
            FormulaCard {
                name: "shrink-interference",
                purpose: "Diametral interference that gives a pressure between a sleeve and its jacket.",
                arguments: [
                    arg("pressure", "p", "MPa", "pressure at the interface", NotNegative, Rises),
                    interface(Mixed),
                    outer(Falls),
                    bore(Rises),
                    part_modulus(Falls),
                    part_poisson(Rises),
                    insert_modulus(Falls),
                    insert_poisson(Falls),
                ],
                above: RADII,
                gives: Gives { symbol: "δ", unit: "mm", means: "diametral interference" },
                validity: ELASTIC,
                source: SHIGLEY,
                example: Example {
                    inputs: ["38.4615MPa", "20mm", "30mm", "10mm", "207GPa", "0.27", "207GPa", "0.27"],
                    result: "0.031711 mm",
                    tolerance: 2e-5,
                    status: Status::Published,
                    origin: "Bhandari, Introduction to Machine Design, example 22.6: jacket bore 39.968289 on 40 mm",
                },
            },
        ),
    ]
}

fn thermal_formulas() -> Vec<Formula> {
    // The registry takes plain arguments; the joint engine takes the `Fit`.
    let pressure = |interface, outer, bore, part_modulus, part_poisson, insert_modulus, insert_poisson, ap, ab, cooling| {
        let fit = Fit { interface, outer, bore, part_modulus, part_poisson, insert_modulus, insert_poisson };
        cooling_pressure(fit, ap, ab, cooling)
    };
    let hoop = |interface, outer, bore, part_modulus, part_poisson, insert_modulus, insert_poisson, ap, ab, cooling| {
        let fit = Fit { interface, outer, bore, part_modulus, part_poisson, insert_modulus, insert_poisson };
        cooling_hoop(fit, ap, ab, cooling)
    };
    let cooled = |interface_trend, outer_trend| {
        [
            interface(interface_trend),
            outer(outer_trend),
            bore(Falls),
            part_modulus(Rises),
            part_poisson(Falls),
            insert_modulus(Rises),
            insert_poisson(Rises),
            PART_EXPANSION,
            INSERT_EXPANSION,
            COOLING,
        ]
    };
    let inputs = ["2.3mm", "5mm", "1.5mm", "3000MPa", "0.36", "100GPa", "0.34", "68um/m/K", "19um/m/K", "40K"];
    vec![
        Formula::of(
            gap_change,
            FormulaCard {
                name: "thermal-gap-change",
                purpose: "Change of the diametral gap between a hole and an insert on heating.",
                arguments: [
                    arg("diameter", "D", "mm", "diameter of the hole", Positive, Rises),
                    PART_EXPANSION,
                    INSERT_EXPANSION,
                    arg("heating", "ΔT", "K", "heating; below zero for cooling", Any, Rises),
                ],
                above: &[],
                gives: Gives { symbol: "Δg", unit: "µm", means: "change of the diametral gap; above zero it opens" },
                validity: Validity::Exact("free linear expansion; expansion of plastics itself changes with temperature"),
                source: "Δg = D (a_part - a_insert) ΔT: linear expansion",
                example: Example {
                    inputs: ["4.6mm", "68um/m/K", "19um/m/K", "40K"],
                    result: "9.016 µm",
                    tolerance: 1e-6,
                    status: Status::Hand,
                    origin: "4600 · 49e-6 · 40",
                },
            },
        ),
        Formula::of(
            pressure,
            FormulaCard {
                name: "thermal-fit-pressure",
                purpose: "Pressure between a tight or bonded insert and its part after cooling.",
                arguments: cooled(Mixed, Rises),
                above: RADII,
                gives: Gives { symbol: "p", unit: "MPa", means: "pressure" },
                validity: ELASTIC,
                source: SHIGLEY,
                example: Example {
                    inputs,
                    result: "2.99848 MPa",
                    tolerance: 2e-6,
                    status: Status::Hand,
                    origin: "a root finder on both displacements gives 2.99848",
                },
            },
        ),
        Formula::of(
            hoop,
            FormulaCard {
                name: "thermal-hoop",
                purpose: "Hoop stress at the hole round a tight or bonded insert after cooling.",
                arguments: cooled(Rises, Falls),
                above: RADII,
                gives: Gives { symbol: "σt", unit: "MPa", means: "hoop stress at the hole" },
                validity: ELASTIC,
                source: SHIGLEY,
                example: Example {
                    inputs,
                    result: "4.608 MPa",
                    tolerance: 1e-4,
                    status: Status::Hand,
                    origin: "2.99848 · 30.29/19.71",
                },
            },
        ),
    ]
}
