//! The kinds of value a field may have.

use crate::quantity::{Measure, Quantity, Written, parse};
use serde::{Deserialize, Deserializer, de::Error};
use std::borrow::Cow;
use std::fmt;
use std::marker::PhantomData;
use std::ops::Deref;

/// A quantity of one dimension as its record writes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Stated<Q> {
    written: Written,
    measures: PhantomData<Q>,
}

impl<Q: Measure> Stated<Q> {
    /// The typed quantity.
    pub fn amount(&self) -> Q {
        Q::from_si(self.written.si)
    }
}

impl<Q> Deref for Stated<Q> {
    type Target = Written;
    fn deref(&self) -> &Written {
        &self.written
    }
}

impl<'de, Q: Measure> Deserialize<'de> for Stated<Q> {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let text = Cow::<str>::deserialize(from)?;
        let written = parse(&text, Q::QUANTITY).map_err(|fault| D::Error::custom(fault.message()))?;
        Ok(Stated { written, measures: PhantomData })
    }
}

/// Text or a plain number: a quantity whose dimension stands in another field.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[cfg_attr(test, derive(serde::Serialize))]
#[serde(untagged)]
pub enum Scalar {
    /// A number without unit.
    Number(serde_json::Number),
    /// Anything else.
    Text(Box<str>),
}

impl Scalar {
    /// The text, where it is one.
    pub fn as_text(&self) -> Option<&str> {
        match self {
            Scalar::Text(text) => Some(text),
            Scalar::Number(_) => None,
        }
    }
    /// As a quantity of this dimension.
    pub fn read(&self, quantity: Quantity) -> Option<Written> {
        match self {
            Scalar::Text(text) => parse(text, quantity).ok(),
            Scalar::Number(number) => parse(&number.to_string(), quantity).ok(),
        }
    }
}

impl fmt::Display for Scalar {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Scalar::Text(text) => f.write_str(text),
            Scalar::Number(number) => write!(f, "{number}"),
        }
    }
}

/// A whole number that is not negative.
pub(super) fn count<'de, D: Deserializer<'de>>(from: D) -> Result<Option<u64>, D::Error> {
    Ok(serde_json::Value::deserialize(from)?.as_u64())
}

/// A field that a kind of somebody else's may use for something else: then it says nothing here.
pub(super) fn lenient<'de, T: for<'v> Deserialize<'v>, D: Deserializer<'de>>(from: D) -> Result<Option<T>, D::Error> {
    Ok(T::deserialize(serde_json::Value::deserialize(from)?).ok())
}

#[cfg(test)]
impl<Q> serde::Serialize for Stated<Q> {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&self.written.text)
    }
}
