//! A computed quantity and the unit it is shown in.

use super::measure::Measure;
use super::print;
use super::table::{Quantity, UnitId};
use serde::ser::{Serialize, SerializeMap, Serializer};

/// A computed quantity: a value in base SI with the unit it is shown in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Amount {
    /// The value in base SI units.
    pub si: f64,
    /// The unit it is shown in; the canonical one unless asked otherwise.
    pub unit: UnitId,
}

impl Amount {
    /// An amount shown in the canonical unit of its quantity.
    pub fn new(quantity: Quantity, si: f64) -> Self {
        Amount { si, unit: quantity.canonical() }
    }
    /// The amount of a typed quantity.
    pub fn of<M: Measure>(m: M) -> Self {
        Amount::new(M::QUANTITY, m.si())
    }
    /// The same amount shown in another unit of the same quantity; unchanged when `symbol` is not one.
    pub fn shown_in(self, symbol: &str) -> Self {
        self.unit.quantity.unit(symbol).map_or(self, |unit| Amount { si: self.si, unit })
    }
    /// The number in the unit shown.
    pub fn value(self) -> f64 {
        self.unit.unit().number_from_si(self.si)
    }
    /// Text with so many significant digits: `46.5 MPa`.
    pub fn text(self, significant: usize) -> String {
        print::amount(self.value(), self.unit.symbol(), significant)
    }
    /// As [`Amount::text`], without zeros at the end: what somebody typed, told again.
    pub fn trimmed(self, significant: usize) -> String {
        print::amount_trimmed(self.value(), self.unit.symbol(), significant)
    }
}

impl Serialize for Amount {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let mut m = s.serialize_map(Some(3))?;
        m.serialize_entry("value", &self.value())?;
        m.serialize_entry("unit", self.unit.symbol())?;
        m.serialize_entry("si", &self.si)?;
        m.end()
    }
}
