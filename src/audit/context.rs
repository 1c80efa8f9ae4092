//! What an audit may look at besides the claim in hand.

use super::findings::Spot;
use super::loads::Loads;
use super::peers::Peers;
use crate::book::{Basis, Book, Claim, ConditionValue, Record};
use crate::check::catalogue::PropertyCard;
use crate::quantity::{Quantity, Written};

/// The surroundings of a run.
pub struct AuditContext<'a> {
    /// All loaded records.
    pub book: &'a Book,
    /// Today, `YYYY-MM-DD`, as an argument, so that the same inputs give the same findings.
    pub today: &'a str,
    /// Values of like things.
    pub peers: Peers<'a>,
    /// Loads of like joints.
    pub loads: Loads<'a>,
}

impl AuditContext<'_> {
    /// The year of today.
    pub fn year(&self) -> i32 {
        self.today.get(..4).and_then(|y| y.parse().ok()).unwrap_or(0)
    }
    /// The year a source was issued.
    pub fn year_of(&self, source: &str) -> Option<i32> {
        self.book.source(source)?.source()?.issued.as_deref()?.get(..4)?.parse().ok()
    }
}

/// A claim in its record.
#[derive(Clone, Copy)]
pub struct ClaimAt<'a> {
    /// The record.
    pub record: &'a Record,
    /// The property.
    pub word: &'a str,
    /// Place among the claims of the property.
    pub index: usize,
    /// The claim.
    pub claim: &'a Claim,
    /// What the schema says of the property.
    pub card: Option<&'a PropertyCard>,
    /// Whether the source is a test campaign of one's own.
    pub own: bool,
}

impl<'a> ClaimAt<'a> {
    /// Whether the schema says that the property is of this sort: `mechanical`, `impact`, `thermal`.
    pub fn is(&self, group: &str) -> bool {
        self.card.is_some_and(|card| card.is(group))
    }
    /// A field of the claim; the claim as a whole for an empty name.
    pub fn spot(&self, field: &str) -> Spot {
        let tail = if field.is_empty() { String::new() } else { format!("/{field}") };
        let pointer = format!("/properties/{}/{}{tail}", self.word, self.index);
        Spot { pointer, ..Spot::claim(self.record, self.word, self.claim) }
    }
    /// The field that holds the value: `value`, `low`, `high` or `samples`.
    pub fn value_spot(&self) -> Spot {
        use crate::book::Value;
        self.spot(match &self.claim.value {
            Value::Between { low: Some(_), .. } => "low",
            Value::Between { .. } => "high",
            Value::Samples(_) => "samples",
            _ => "value",
        })
    }
    /// Whether it may be used in an answer.
    pub fn in_use(&self) -> bool {
        self.claim.in_use() && self.record.current
    }
    /// Whether it comes from a test, one's own or published.
    pub fn tested(&self) -> bool {
        self.claim.basis == Basis::Measured || (self.claim.basis == Basis::Invented && self.own)
    }
    /// Whether its number was read in full text and not quoted from elsewhere.
    pub fn first_hand(&self) -> bool {
        !matches!(self.claim.read.as_deref(), Some("abstract" | "secondary"))
    }
    /// The quantity the property measures.
    pub fn quantity(&self) -> Option<Quantity> {
        self.claim.value.quantity()
    }
    /// Its title, in small letters.
    pub fn title(&self) -> String {
        self.card.map_or_else(|| self.word.replace('_', " "), |c| c.title.to_lowercase())
    }
    /// A condition as text.
    pub fn condition(&self, name: &str) -> Option<String> {
        self.claim.condition(name).map(ConditionValue::text)
    }
    /// A condition as a quantity.
    pub fn amount(&self, name: &str) -> Option<&'a Written> {
        match self.claim.condition(name)? {
            ConditionValue::Quantity(w) => Some(w),
            ConditionValue::Text(_) | ConditionValue::YesNo(_) => None,
        }
    }
    /// Whether a condition, or a group of conditions (`post_cure`), is stated.
    pub fn states(&self, name: &str) -> bool {
        self.claim.conditions.iter().any(|c| c.name.split('.').next() == Some(name) || &*c.name == name)
    }
    /// Whether the record is of this family or narrower.
    pub fn is_family(&self, context: &AuditContext<'_>, family: &str) -> bool {
        context.book.is_family(&self.record.family, family)
    }
    /// Whether no condition and no method is stated differently by another claim; `but` are left out of the comparison.
    pub fn comparable(&self, other: &Claim, but: &[&str]) -> bool {
        let same = |x: &ConditionValue, y: &ConditionValue| match (x, y) {
            (ConditionValue::Quantity(x), ConditionValue::Quantity(y)) => x.si == y.si,
            _ => x == y,
        };
        let skip = |name: &str| but.contains(&name) || name.ends_with("note");
        self.claim
            .conditions
            .iter()
            .filter(|c| !skip(&c.name))
            .all(|c| other.condition(&c.name).is_none_or(|value| same(&c.value, value)))
    }
    /// Claims of another property of the record, in use, of the same source, with no condition stated differently.
    pub fn beside(&self, word: &'a str, but: &[&str]) -> impl Iterator<Item = &'a Claim> {
        let (claim, me) = (self.claim, *self);
        let but: Vec<String> = but.iter().map(|b| (*b).to_owned()).collect();
        self.record.claims(word).iter().filter(move |c| {
            let but: Vec<&str> = but.iter().map(String::as_str).collect();
            c.in_use() && c.bound.is_none() && c.source == claim.source && c.basis == claim.basis && me.comparable(c, &but)
        })
    }
}
