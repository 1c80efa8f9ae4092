//! Lets serde read a located tree, so that a value that does not fit is told with its place.

use super::tree::{Node, Value};
use crate::finding::Span;
use serde::de::value::{MapDeserializer, SeqDeserializer};
use serde::de::{self, Deserialize, Deserializer, IntoDeserializer, Visitor};
use std::fmt;

/// A value that does not fit the type it is read into.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unfit {
    /// Where it stands; `None` where no tree was read.
    pub span: Option<Span>,
    /// What is wrong.
    pub message: String,
}

impl Unfit {
    fn at(self, span: Span) -> Unfit {
        Unfit { span: self.span.or(Some(span)), ..self }
    }
}

impl fmt::Display for Unfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.message)
    }
}

impl std::error::Error for Unfit {}

impl de::Error for Unfit {
    fn custom<T: fmt::Display>(message: T) -> Self {
        Unfit { span: None, message: message.to_string() }
    }
}

/// Reads a tree into a type.
///
/// # Errors
/// The innermost value that does not fit, with its place.
pub fn decode<'t, T: Deserialize<'t>>(node: &'t Node) -> Result<T, Unfit> {
    T::deserialize(node).map_err(|unfit| unfit.at(node.span))
}

impl<'t> Deserializer<'t> for &'t Node {
    type Error = Unfit;

    fn deserialize_any<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Unfit> {
        let read = match &self.value {
            Value::Null => visitor.visit_unit(),
            Value::Bool(yes) => visitor.visit_bool(*yes),
            Value::Number(digits) => number(digits, visitor),
            Value::Text(text, _) => visitor.visit_borrowed_str(text),
            Value::List(items) => visitor.visit_seq(SeqDeserializer::new(items.iter())),
            Value::Map(map) => visitor.visit_map(MapDeserializer::new(map.iter().map(|e| (&*e.key.text, &e.node)))),
        };
        read.map_err(|unfit| unfit.at(self.span))
    }
    fn deserialize_option<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Unfit> {
        if matches!(self.value, Value::Null) { visitor.visit_none() } else { visitor.visit_some(self) }
    }
    fn deserialize_newtype_struct<V: Visitor<'t>>(self, _: &'static str, visitor: V) -> Result<V::Value, Unfit> {
        visitor.visit_newtype_struct(self)
    }
    fn deserialize_enum<V: Visitor<'t>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Unfit> {
        let word = self.as_text().ok_or_else(|| de::Error::custom(format!("a word is expected, not {}", self.kind())));
        word.and_then(|word| visitor.visit_enum(word.into_deserializer())).map_err(|unfit: Unfit| unfit.at(self.span))
    }
    fn deserialize_ignored_any<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Unfit> {
        visitor.visit_unit()
    }
    serde::forward_to_deserialize_any! {
        <V: Visitor<'t>>
        bool i8 i16 i32 i64 u8 u16 u32 u64 f32 f64 char str string bytes byte_buf unit unit_struct seq tuple tuple_struct map
        struct identifier
    }
}

impl<'t> IntoDeserializer<'t, Unfit> for &'t Node {
    type Deserializer = Self;
    fn into_deserializer(self) -> Self {
        self
    }
}

/// Numbers that fit no machine number stay text.
fn number<'t, V: Visitor<'t>>(digits: &'t str, visitor: V) -> Result<V::Value, Unfit> {
    if let Ok(whole) = digits.parse::<i64>() {
        return visitor.visit_i64(whole);
    }
    match digits.parse::<f64>() {
        Ok(number) if number.is_finite() => visitor.visit_f64(number),
        _ => visitor.visit_borrowed_str(digits),
    }
}

#[cfg(test)]
mod tests {
    use super::decode;
    use serde::Deserialize;

    #[test]
    fn what_does_not_fit_is_told_with_its_place() {
        #[derive(Debug, Deserialize)]
        struct Inner {
            #[allow(dead_code)] // only whether it can be read is asked
            n: u64,
        }
        #[derive(Debug, Deserialize)]
        struct Outer {
            #[allow(dead_code)] // only whether it can be read is asked
            list: Vec<Inner>,
        }
        let tree = crate::read::read(b"list:\n  - n: 3\n  - n: three\n").tree.expect("a tree");
        let unfit = decode::<Outer>(&tree).expect_err("a word is no number");
        let span = unfit.span.expect("a place");
        assert_eq!((span.line, span.column), (3, 8), "{unfit}");
        let tree = crate::read::read(b"list: [{n: 3}]\n").tree.expect("a tree");
        assert!(decode::<Outer>(&tree).is_ok());
    }
}
