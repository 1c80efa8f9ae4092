//! The located tree: every value and every key with its place in the file.

use std::collections::HashMap;

use crate::finding::Span;

/// How a text was written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// Without quotes.
    Plain,
    /// In single or double quotes.
    Quoted,
    /// As a block after `|` or `>`.
    Block,
}

/// A value with its place.
#[derive(Debug, Clone)]
pub struct Node {
    /// Where it stands. A map or list ends where its last member ends.
    pub span: Span,
    /// What it is.
    pub value: Value,
}

/// What stands at a place.
#[derive(Debug, Clone)]
pub enum Value {
    /// Nothing, `null` or `~`.
    Null,
    /// `true` or `false`.
    Bool(bool),
    /// A plain number, digits as written.
    Number(Box<str>),
    /// Any other text; escapes of quoted text are resolved.
    Text(Box<str>, Style),
    /// A list.
    List(Vec<Node>),
    /// A map.
    Map(Map),
}

/// A key with its place.
#[derive(Debug, Clone)]
pub struct Key {
    /// The key.
    pub text: Box<str>,
    /// Where it stands.
    pub span: Span,
}

/// A key and its value.
#[derive(Debug, Clone)]
pub struct Entry {
    /// The key.
    pub key: Key,
    /// Its value.
    pub node: Node,
}

/// A map in the order of the file. Keys are unique.
#[derive(Debug, Clone, Default)]
pub struct Map {
    entries: Vec<Entry>,
    /// Only for maps too wide for a linear search.
    index: Option<HashMap<Box<str>, usize>>,
}

/// Maps wider than this look keys up by hash; below, comparing is faster.
const WIDE: usize = 24;

impl Map {
    /// Adds an entry, or hands it back when the key is there already.
    pub(super) fn insert(&mut self, entry: Entry) -> Result<(), Entry> {
        if self.position(&entry.key.text).is_some() {
            return Err(entry);
        }
        if let Some(index) = &mut self.index {
            index.insert(entry.key.text.clone(), self.entries.len());
        }
        self.entries.push(entry);
        if self.index.is_none() && self.entries.len() > WIDE {
            let keys = self.entries.iter().enumerate();
            self.index = Some(keys.map(|(at, entry)| (entry.key.text.clone(), at)).collect());
        }
        Ok(())
    }

    fn position(&self, key: &str) -> Option<usize> {
        match &self.index {
            Some(index) => index.get(key).copied(),
            None => self.entries.iter().position(|e| &*e.key.text == key),
        }
    }

    /// The value of a key.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&Node> {
        self.entry(key).map(|entry| &entry.node)
    }

    /// The key with its place, and its value.
    #[must_use]
    pub fn entry(&self, key: &str) -> Option<&Entry> {
        self.position(key).map(|at| &self.entries[at])
    }

    /// All entries in the order of the file.
    pub fn iter(&self) -> std::slice::Iter<'_, Entry> {
        self.entries.iter()
    }

    /// Number of keys.
    #[must_use]
    pub fn len(&self) -> usize {
        self.entries.len()
    }

    /// Whether there is no key.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }
}

impl<'a> IntoIterator for &'a Map {
    type Item = &'a Entry;
    type IntoIter = std::slice::Iter<'a, Entry>;
    fn into_iter(self) -> Self::IntoIter {
        self.entries.iter()
    }
}

impl Node {
    /// The map, if it is one.
    #[must_use]
    pub fn as_map(&self) -> Option<&Map> {
        match &self.value {
            Value::Map(map) => Some(map),
            _ => None,
        }
    }

    /// The items, if it is a list.
    #[must_use]
    pub fn as_list(&self) -> Option<&[Node]> {
        match &self.value {
            Value::List(items) => Some(items),
            _ => None,
        }
    }

    /// The text, if it is text (a number or a word like `true` is not).
    #[must_use]
    pub fn as_text(&self) -> Option<&str> {
        match &self.value {
            Value::Text(text, _) => Some(text),
            _ => None,
        }
    }

    /// `true` or `false`.
    #[must_use]
    pub fn as_bool(&self) -> Option<bool> {
        match self.value {
            Value::Bool(yes) => Some(yes),
            _ => None,
        }
    }

    /// A plain number as a float; [`Node::written`] keeps its digits.
    #[must_use]
    pub fn as_number(&self) -> Option<f64> {
        match &self.value {
            Value::Number(digits) => digits.parse().ok(),
            _ => None,
        }
    }

    /// A plain whole number that is not negative.
    #[must_use]
    pub fn as_count(&self) -> Option<u64> {
        match &self.value {
            Value::Number(digits) => digits.parse().ok(),
            _ => None,
        }
    }

    /// A scalar as it is written: text, digits, `true`, `false`. Lists, maps and nothing have none.
    #[must_use]
    pub fn written(&self) -> Option<&str> {
        match &self.value {
            Value::Text(text, _) | Value::Number(text) => Some(text),
            Value::Bool(true) => Some("true"),
            Value::Bool(false) => Some("false"),
            Value::Null | Value::List(_) | Value::Map(_) => None,
        }
    }

    /// The member of a map.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&Node> {
        self.as_map()?.get(key)
    }

    /// The item of a list.
    #[must_use]
    pub fn item(&self, index: usize) -> Option<&Node> {
        self.as_list()?.get(index)
    }

    /// The node at the end of a JSON pointer (`/properties/tg/0/value`; `~1` is `/`, `~0` is `~`).
    #[must_use]
    pub fn at(&self, pointer: &str) -> Option<&Node> {
        if pointer.is_empty() {
            return Some(self);
        }
        let mut node = self;
        for part in pointer.strip_prefix('/')?.split('/') {
            node = match &node.value {
                Value::List(items) => items.get(part.parse::<usize>().ok()?)?,
                Value::Map(map) if part.contains('~') => map.get(&part.replace("~1", "/").replace("~0", "~"))?,
                Value::Map(map) => map.get(part)?,
                _ => return None,
            };
        }
        Some(node)
    }

    /// What kind of value it is, in words for messages.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self.value {
            Value::Null => "nothing",
            Value::Bool(_) => "true or false",
            Value::Number(_) => "a number",
            Value::Text(..) => "text",
            Value::List(_) => "a list",
            Value::Map(_) => "a map",
        }
    }

    /// Whether two trees say the same, place and way of quoting aside.
    #[must_use]
    pub fn says_the_same(&self, other: &Node) -> bool {
        match (&self.value, &other.value) {
            (Value::Null, Value::Null) => true,
            (Value::Bool(a), Value::Bool(b)) => a == b,
            (Value::Number(a), Value::Number(b)) | (Value::Text(a, _), Value::Text(b, _)) => a == b,
            (Value::List(a), Value::List(b)) => a.len() == b.len() && a.iter().zip(b).all(|(a, b)| a.says_the_same(b)),
            (Value::Map(a), Value::Map(b)) => {
                a.len() == b.len() && a.iter().zip(b).all(|(a, b)| a.key.text == b.key.text && a.node.says_the_same(&b.node))
            }
            _ => false,
        }
    }
}
