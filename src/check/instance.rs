//! Lets the schema validator read our located tree as it is, without a copy in JSON.
//!
//! The only module, with `schemas`, that knows the validator.

use std::borrow::Cow;
use std::ops::ControlFlow;

use jsonschema::JsonType;
use jsonschema::json::{Array, Json, JsonNumber, Node as JsonNode, NodeIdentity, Object};

use crate::finding::Span;
use crate::read::tree::{Entry, Map, Node, Style, Value};

/// The located tree as a representation of JSON.
pub struct Located;

impl Json for Located {
    type Node<'a> = &'a Node;
    type PreparedKey = String;
    type StringBuffer = ();
    /// A tree has no cycles.
    const ACYCLIC: bool = true;

    fn prepare_key(key: &str) -> String {
        key.to_owned()
    }

    fn with_string_node<T>((): &mut (), string: &str, f: impl FnOnce(&Node) -> T) -> T {
        f(&Node { span: Span::default(), value: Value::Text(string.into(), Style::Quoted) })
    }
}

/// A number in the digits of the record.
pub struct Digits<'a>(&'a str);

impl JsonNumber for Digits<'_> {
    fn as_u64(&self) -> Option<u64> {
        self.0.parse().ok()
    }
    fn as_i64(&self) -> Option<i64> {
        self.0.parse().ok()
    }
    fn as_f64(&self) -> Option<f64> {
        self.0.parse().ok()
    }
    fn as_str(&self) -> Cow<'_, str> {
        Cow::Borrowed(self.0)
    }
    fn to_number(&self) -> Cow<'_, serde_json::Number> {
        let whole = self.as_i64().map(serde_json::Number::from).or_else(|| self.as_u64().map(Into::into));
        let float = || self.as_f64().and_then(serde_json::Number::from_f64);
        // Reading refuses numbers that no float can hold.
        Cow::Owned(whole.or_else(float).unwrap_or_else(|| 0.into()))
    }
}

impl<'a> JsonNode<'a, Located> for &'a Node {
    type Object = &'a Map;
    type Array = Items<'a>;
    type Number = Digits<'a>;

    fn as_object(&self) -> Option<&'a Map> {
        match &self.value {
            Value::Map(map) => Some(map),
            _ => None,
        }
    }
    fn as_array(&self) -> Option<Items<'a>> {
        match &self.value {
            Value::List(items) => Some(Items(items)),
            _ => None,
        }
    }
    fn as_string(&self) -> Option<Cow<'a, str>> {
        match &self.value {
            Value::Text(text, _) => Some(Cow::Borrowed(text)),
            _ => None,
        }
    }
    fn as_number(&self) -> Option<Digits<'a>> {
        match &self.value {
            Value::Number(digits) => Some(Digits(digits)),
            _ => None,
        }
    }
    fn as_boolean(&self) -> Option<bool> {
        match &self.value {
            Value::Bool(yes) => Some(*yes),
            _ => None,
        }
    }
    fn is_null(&self) -> bool {
        matches!(self.value, Value::Null)
    }
    fn json_type(&self) -> JsonType {
        match self.value {
            Value::Null => JsonType::Null,
            Value::Bool(_) => JsonType::Boolean,
            Value::Number(_) => JsonType::Number,
            Value::Text(..) => JsonType::String,
            Value::List(_) => JsonType::Array,
            Value::Map(_) => JsonType::Object,
        }
    }
    fn equals_value(&self, expected: &serde_json::Value) -> bool {
        match (&self.value, expected) {
            (Value::Text(text, _), serde_json::Value::String(word)) => **text == **word,
            (Value::Bool(a), serde_json::Value::Bool(b)) => a == b,
            (Value::Text(..) | Value::Bool(_), _) => false,
            _ => jsonschema::json::cmp::equal(&whole(self), expected),
        }
    }
    /// Only for the text of errors, which is not used: places and facts come from the tree.
    /// Lists and maps are left out, so that many errors in one map cost no copy of it each.
    fn to_value(&self) -> Cow<'a, serde_json::Value> {
        Cow::Owned(match &self.value {
            Value::List(_) | Value::Map(_) => serde_json::Value::Null,
            _ => whole(self),
        })
    }
    fn identity(&self) -> Option<NodeIdentity> {
        Some(NodeIdentity::new(std::ptr::from_ref::<Node>(self).addr()))
    }
}

/// A full copy in JSON.
pub(super) fn whole(node: &Node) -> serde_json::Value {
    match &node.value {
        Value::Null => serde_json::Value::Null,
        Value::Bool(yes) => serde_json::Value::Bool(*yes),
        Value::Number(digits) => serde_json::Value::Number(Digits(digits).to_number().into_owned()),
        Value::Text(text, _) => serde_json::Value::String(text.to_string()),
        Value::List(items) => serde_json::Value::Array(items.iter().map(whole).collect()),
        Value::Map(map) => serde_json::Value::Object(map.iter().map(|e| (e.key.text.to_string(), whole(&e.node))).collect()),
    }
}

impl<'a> Object<'a, Located> for &'a Map {
    type Node = &'a Node;
    type MemberName = &'a str;
    type MembersIter = std::iter::Map<std::slice::Iter<'a, Entry>, fn(&'a Entry) -> (&'a str, &'a Node)>;

    fn len(&self) -> usize {
        Map::len(self)
    }
    fn get(&self, key: &String) -> Option<&'a Node> {
        Map::get(self, key)
    }
    fn members(&self) -> Self::MembersIter {
        Map::iter(self).map(|entry| (&*entry.key.text, &entry.node))
    }
    fn try_for_each_name_node<B>(&self, (): &mut (), mut f: impl FnMut(&Node) -> ControlFlow<B>) -> ControlFlow<B> {
        for entry in *self {
            Located::with_string_node(&mut (), &entry.key.text, &mut f)?;
        }
        ControlFlow::Continue(())
    }
}

/// A list.
pub struct Items<'a>(&'a [Node]);

impl<'a> Array<'a, Located> for Items<'a> {
    type Node = &'a Node;
    type ElementsIter = std::slice::Iter<'a, Node>;

    fn len(&self) -> usize {
        self.0.len()
    }
    fn elements(&self) -> std::slice::Iter<'a, Node> {
        self.0.iter()
    }
    fn is_unique(&self) -> bool {
        let values: Vec<serde_json::Value> = self.0.iter().map(whole).collect();
        jsonschema::json::unique::is_unique(&values)
    }
}
