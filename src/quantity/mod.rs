//! What does "52.1 MPa" mean?
//!
//! The one border between written quantities and numbers in SI. A quantity is a dimension *and* a kind:
//! a temperature is not a temperature difference, a torque is not an energy, a stress is not a load.
//! The unit list of every quantity is closed (see [`table`]); the text as written is kept beside the SI
//! value, and a converted number is never written back.
//!
//! Not here: physics, rounding of results, knowledge of properties.

mod amount;
pub mod measure;
pub mod number;
pub mod parse;
pub mod print;
pub mod table;

use serde::de::{Deserialize, Deserializer};
use serde::ser::{Serialize, SerializeMap, Serializer};

pub use amount::Amount;
pub use measure::{FractureToughness, Measure};
pub use parse::{QuantityFault, parse, parse_any, parse_typed};
pub use table::{Quantity, Unit, UnitId};

/// A quantity as somebody wrote it: the text with its digits, the number in the written unit, and the value in base SI.
#[derive(Debug, Clone, PartialEq)]
pub struct Written {
    /// The text as written, digits kept: `1.20 MPa` stays `1.20 MPa`.
    pub text: Box<str>,
    /// The number in the written unit.
    pub value: f64,
    /// The value in base SI units (K, Pa, m, fraction for %).
    pub si: f64,
    /// The unit it was written in.
    pub unit: UnitId,
}

impl Written {
    /// The quantity that was written.
    pub fn quantity(&self) -> Quantity {
        self.unit.quantity
    }
    /// The typed value; `None` when this is another quantity than `M` measures.
    pub fn typed<M: Measure>(&self) -> Option<M> {
        (M::QUANTITY == self.quantity()).then(|| M::from_si(self.si))
    }
    /// The number's text, without its unit.
    pub fn digits(&self) -> &str {
        number::split(&self.text).0
    }
    /// Significant digits as written (trailing zeros of whole numbers count).
    pub fn significant_digits(&self) -> usize {
        number::significant_digits(self.digits())
    }
    /// One unit of the last written digit, in the written unit: `46.5 MPa` → 0.1.
    pub fn resolution(&self) -> f64 {
        number::resolution(self.digits())
    }
    /// The amount without the text.
    pub fn amount(&self) -> Amount {
        Amount { si: self.si, unit: self.unit }
    }
}

/// For people and programs the value with its unit, for what is remembered between runs the fields as they are.
impl Serialize for Written {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        if !s.is_human_readable() {
            return (&self.text, self.value, self.si, self.unit).serialize(s);
        }
        let mut m = s.serialize_map(Some(4))?;
        m.serialize_entry("value", &self.value)?;
        m.serialize_entry("unit", self.unit.symbol())?;
        m.serialize_entry("si", &self.si)?;
        m.serialize_entry("written", &*self.text)?;
        m.end()
    }
}

/// Only from what is remembered between runs: anything a person wrote is parsed.
impl<'de> Deserialize<'de> for Written {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let (text, value, si, unit) = Deserialize::deserialize(from)?;
        Ok(Written { text, value, si, unit })
    }
}

#[cfg(test)]
mod tests;
