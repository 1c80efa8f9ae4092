//! Slips of conversion: which mix-up of units would explain a value that its peers do not bear out.
//!
//! Factors are those of exact unit definitions (the unit table) and of plain decimal slips.

use crate::quantity::Quantity;

/// A slip: what went wrong, and the factor between the wrong and the right number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slip {
    /// In words: `psi written as MPa`.
    pub what: &'static str,
    /// Wrong over right.
    pub factor: f64,
}

/// A slip with the value it would give.
#[derive(Debug, Clone, PartialEq)]
pub struct Explanation {
    /// In words.
    pub what: String,
    /// The value in SI if the slip were undone.
    pub si: f64,
    /// How far that still is from the peers, as a logarithm.
    pub off: f64,
}

const DECIMAL: [Slip; 4] = [
    Slip { what: "a factor of 1000 (kilo or milli; MPa and GPa exchanged)", factor: 1000.0 },
    Slip { what: "a factor of a million", factor: 1e6 },
    Slip { what: "a decimal point one place off", factor: 10.0 },
    Slip { what: "a factor of 100 (a per cent sign, or centimetres)", factor: 100.0 },
];

const STRESS: [Slip; 5] = [
    Slip { what: "ksi and MPa exchanged", factor: 6.894_757 },
    Slip { what: "psi and MPa exchanged", factor: 145.037_7 },
    Slip { what: "psi and kPa exchanged", factor: 6.894_757e-3 },
    Slip { what: "kgf/mm² and MPa exchanged", factor: 9.806_65 },
    Slip { what: "kgf/cm² and MPa exchanged", factor: 10.197_16 },
];
const FORCE: [Slip; 2] =
    [Slip { what: "kgf and N exchanged", factor: 9.806_65 }, Slip { what: "lbf and N exchanged", factor: 4.448_222 }];
const LENGTH: [Slip; 2] =
    [Slip { what: "inch and mm exchanged", factor: 25.4 }, Slip { what: "radius and diameter exchanged", factor: 2.0 }];
const TORQUE: [Slip; 3] = [
    Slip { what: "lbf·in and N·m exchanged", factor: 8.850_746 },
    Slip { what: "lbf·ft and N·m exchanged", factor: 1.355_818 },
    Slip { what: "kgf·cm and N·m exchanged", factor: 10.197_16 },
];
const IMPACT: [Slip; 2] = [
    Slip { what: "ft·lbf/in and J/m exchanged", factor: 53.378_66 },
    Slip { what: "ft·lbf/in² and kJ/m² exchanged", factor: 2.101_522 },
];
const DENSITY: [Slip; 2] = [
    Slip { what: "lb/in³ and g/cm³ exchanged", factor: 27.679_9 },
    Slip { what: "lb/ft³ and kg/m³ exchanged", factor: 16.018_46 },
];
const EXPANSION: [Slip; 1] = [Slip { what: "per °F and per K exchanged", factor: 1.8 }];

/// How near the corrected value must come to the peers.
const NEAR: f64 = 0.095_31; // ln 1.1

fn of_quantity(quantity: Quantity) -> &'static [Slip] {
    match quantity {
        Quantity::Stress => &STRESS,
        Quantity::Force => &FORCE,
        Quantity::Length => &LENGTH,
        Quantity::Torque => &TORQUE,
        Quantity::EnergyPerArea | Quantity::EnergyPerLength => &IMPACT,
        Quantity::Density => &DENSITY,
        Quantity::Expansion => &EXPANSION,
        _ => &[],
    }
}

/// The two best explanations of a value by a slip, best first; none when no slip leads near the peers. `band` is the
/// spread of the peers as a logarithm: within it a corrected value counts as near.
pub fn explanations(quantity: Quantity, si: f64, typical: f64, band: f64) -> Vec<Explanation> {
    let mut found = match quantity {
        Quantity::Temperature => temperatures(si, typical),
        _ => factors(quantity, si, typical, band),
    };
    found.sort_by(|a, b| a.off.total_cmp(&b.off));
    found.truncate(2);
    found
}

fn factors(quantity: Quantity, si: f64, typical: f64, band: f64) -> Vec<Explanation> {
    let mut found = Vec::new();
    for slip in DECIMAL.iter().chain(of_quantity(quantity)) {
        for factor in [slip.factor, 1.0 / slip.factor] {
            let right = si / factor;
            let off = libm::log(right / typical).abs();
            if off <= NEAR.max(band) {
                found.push(Explanation { what: slip.what.into(), si: right, off });
            }
        }
    }
    found
}

/// Degrees of one scale taken for another.
fn temperatures(si: f64, typical: f64) -> Vec<Explanation> {
    let celsius = si - 273.15;
    let ways = [
        ("°F written as °C", (celsius - 32.0) * 5.0 / 9.0 + 273.15),
        ("°C written as °F", celsius * 1.8 + 32.0 + 273.15),
        ("K written as °C", celsius),
        ("°C written as K", si + 273.15),
        ("a lost or added minus sign", 273.15 - celsius),
    ];
    const NEAR_KELVIN: f64 = 8.0;
    let near = ways.into_iter().filter(|(_, right)| (right - typical).abs() <= NEAR_KELVIN);
    near.map(|(what, right)| Explanation { what: what.into(), si: right, off: (right - typical).abs() / 100.0 }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Factors against the unit table, which holds exact definitions.
    #[test]
    fn factors_are_those_of_the_unit_table() {
        let ratio = |q: Quantity, a: &str, b: &str| {
            let size = |s: &str| q.unit(s).map(|u| u.unit().size()).unwrap_or(f64::NAN);
            size(a) / size(b)
        };
        let pairs = [
            (STRESS[0].factor, ratio(Quantity::Stress, "ksi", "MPa")),
            (STRESS[1].factor, ratio(Quantity::Stress, "MPa", "psi")),
            (STRESS[3].factor, ratio(Quantity::Stress, "kgf/mm²", "MPa")),
            (FORCE[1].factor, ratio(Quantity::Force, "lbf", "N")),
            (TORQUE[0].factor, ratio(Quantity::Torque, "N·m", "lbf·in")),
            (IMPACT[0].factor, ratio(Quantity::EnergyPerLength, "ft·lbf/in", "J/m")),
            (DENSITY[0].factor, ratio(Quantity::Density, "lb/in³", "g/cm³")),
        ];
        for (ours, table) in pairs {
            assert!((ours / table - 1.0).abs() < 1e-6, "{ours} {table}");
        }
    }

    #[test]
    fn a_temperature_in_fahrenheit_is_recognised() {
        let found = explanations(Quantity::Temperature, 137.0 + 273.15, 60.0 + 273.15, 0.05);
        assert_eq!(found[0].what, "°F written as °C");
        assert!((found[0].si - 273.15 - 58.333).abs() < 0.01);
        assert!(explanations(Quantity::Temperature, 65.0 + 273.15, 60.0 + 273.15, 0.05).len() <= 1);
    }
}
