//! Amounts in the unit of the measurements, with newton beside it where a load is in another unit.

use gripbook::quantity::{Amount, Quantity, UnitId};

/// An amount from a number in the unit shown.
pub fn amount(value: f64, unit: UnitId) -> Amount {
    Amount { si: unit.unit().si_from_number(value), unit }
}

/// The amount, with newton behind it where the unit is another one of force.
pub fn with_newton(value: f64, unit: UnitId, digits: usize) -> String {
    let own = amount(value, unit);
    let newton = Quantity::Force.canonical();
    let text = own.text(digits);
    match unit.quantity == Quantity::Force && unit != newton {
        true => format!("{text} ({})", Amount { si: own.si, unit: newton }.text(digits)),
        false => text,
    }
}
