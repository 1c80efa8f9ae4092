//! Claim addresses: `kind/id:property`, `kind/id:property#key`.

use crate::book::{Book, Claim, Record};

/// An address taken apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Address<'a> {
    /// `kind/id`.
    pub record: &'a str,
    /// The property, or the quantity of a measurement.
    pub property: &'a str,
    /// The key among its siblings.
    pub key: Option<&'a str>,
}

/// Takes an address apart; `None` when it is none.
pub fn parse(text: &str) -> Option<Address<'_>> {
    let (record, rest) = text.split_once(':')?;
    let (property, key) = rest.split_once('#').map_or((rest, None), |(p, k)| (p, Some(k)));
    (record.contains('/') && !property.is_empty()).then_some(Address { record, property, key })
}

/// A claim that an address names.
#[derive(Clone, Copy)]
pub struct NamedClaim<'a> {
    /// Its record.
    pub record: &'a Record,
    /// Its property.
    pub property: &'a str,
    /// The claim.
    pub claim: &'a Claim,
}

impl NamedClaim<'_> {
    /// Its address.
    pub fn address(&self) -> String {
        self.record.address(self.property, self.claim)
    }
}

/// The claims an address names: one, or all of the property where it has no key.
pub fn resolve<'a>(book: &'a Book, text: &str) -> Vec<NamedClaim<'a>> {
    let Some(address) = parse(text) else { return Vec::new() };
    let Some(record) = book.record(address.record) else { return Vec::new() };
    let Some(property) = record.properties.iter().find(|p| &*p.word == address.property) else { return Vec::new() };
    let wanted = |c: &&Claim| address.key.is_none_or(|key| &*c.key == key);
    property.claims.iter().filter(wanted).map(|claim| NamedClaim { record, property: &property.word, claim }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_come_apart_at_colon_and_hash() {
        let whole = parse("resin/tough:tg#1f2e3d4c");
        assert_eq!(whole, Some(Address { record: "resin/tough", property: "tg", key: Some("1f2e3d4c") }));
        assert_eq!(parse("resin/tough:tg").map(|a| a.key), Some(None));
        assert_eq!(parse("resin/tough"), None);
        assert_eq!(parse("tough:tg"), None);
    }
}
