//! What does "52.1 MPa" mean?
//!
//! The one border between written quantities and numbers in SI. A quantity is a dimension *and* a kind:
//! a temperature is not a temperature difference, a torque is not an energy, a stress is not a load.
//! The unit list of every quantity is closed (see [`table`]); the text as written is kept beside the SI
//! value, and a converted number is never written back.
//!
//! Not here: physics, rounding of results, knowledge of properties.

pub mod measure;
pub mod number;
pub mod parse;
pub mod print;
pub mod table;

use serde::de::{Deserialize, Deserializer};
use serde::ser::{Serialize, SerializeMap, Serializer};

pub use measure::{FractureToughness, Measure};
pub use parse::{QuantityFault, parse, parse_any};
pub use table::{Quantity, Unit};

/// A unit of the closed table: the quantity and the place in its unit list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
#[serde(try_from = "(Quantity, u8)", into = "(Quantity, u8)")]
pub struct UnitId {
    /// The quantity the unit measures.
    pub quantity: Quantity,
    pub(crate) place: u8,
}

impl From<UnitId> for (Quantity, u8) {
    fn from(unit: UnitId) -> Self {
        (unit.quantity, unit.place)
    }
}

impl TryFrom<(Quantity, u8)> for UnitId {
    type Error = &'static str;

    fn try_from((quantity, place): (Quantity, u8)) -> Result<Self, Self::Error> {
        let known = usize::from(place) < quantity.units().len();
        known.then_some(UnitId { quantity, place }).ok_or("no such unit of this quantity")
    }
}

impl UnitId {
    /// The unit's row in the table: symbol, aliases, UCUM code, factor.
    pub fn unit(self) -> &'static Unit {
        &self.quantity.units()[usize::from(self.place)]
    }
    /// The canonical spelling, e.g. `MPa`.
    pub fn symbol(self) -> &'static str {
        self.unit().symbol
    }
}

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
        print::amount(self, significant)
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

#[cfg(test)]
mod tests;
