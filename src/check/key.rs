//! The address of a claim among the claims of its property.

use std::collections::HashMap;
use std::fmt::Write;
use std::sync::LazyLock;

use sha2::{Digest, Sha256};

use crate::quantity::{number, table};
use crate::read::tree::{Node, Value};

/// Every spelling of a unit and its canonical one.
static CANONICAL: LazyLock<HashMap<&str, &str>> = LazyLock::new(|| {
    let units = table::ALL.iter().flat_map(|quantity| quantity.units());
    let pairs = units.flat_map(|unit| unit.aliases.iter().map(move |alias| (*alias, unit.symbol)));
    pairs.filter(|(alias, _)| !alias.is_empty()).collect()
});

/// First 8 hex digits of a hash over source, locator, method and conditions of a claim.
///
/// The value is left out, so that a correction keeps the address; units count in their canonical
/// spelling and conditions in the order of their names, so that formatting keeps it.
#[must_use]
pub fn claim_key(claim: &Node) -> String {
    let mut text = String::with_capacity(160);
    for field in ["source", "locator", "method"] {
        if let Some(written) = claim.get(field).and_then(Node::written) {
            let _ = writeln!(text, "{field}={written}");
        }
    }
    if let Some(conditions) = claim.get("conditions") {
        let mut lines = Vec::new();
        flatten("conditions", conditions, &mut lines);
        lines.sort_unstable();
        lines.iter().for_each(|line| {
            let _ = writeln!(text, "{line}");
        });
    }
    let digest = Sha256::digest(text.as_bytes());
    digest.iter().take(4).fold(String::with_capacity(8), |mut hex, byte| {
        let _ = write!(hex, "{byte:02x}");
        hex
    })
}

fn flatten(name: &str, node: &Node, lines: &mut Vec<String>) {
    match &node.value {
        Value::Map(map) => map.iter().for_each(|e| flatten(&format!("{name}.{}", e.key.text), &e.node, lines)),
        Value::List(items) => items.iter().enumerate().for_each(|(at, item)| flatten(&format!("{name}.{at}"), item, lines)),
        _ => lines.push(format!("{name}={}", canonical(node.written().unwrap_or_default()))),
    }
}

/// A quantity with its unit in the canonical spelling; any other text as it is.
fn canonical(text: &str) -> String {
    if !text.starts_with(|c: char| c.is_ascii_digit() || c == '-') {
        return text.to_owned();
    }
    let (digits, unit) = number::split(text);
    match CANONICAL.get(unit) {
        Some(symbol) => format!("{digits} {symbol}"),
        None if unit.is_empty() => digits.to_owned(),
        None => format!("{digits} {unit}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(text: &str) -> String {
        claim_key(&crate::read::read(text.as_bytes()).tree.expect("a map"))
    }

    #[test]
    fn the_value_and_the_spelling_of_units_do_not_change_the_key() {
        let a = key("value: 1 MPa\nsource: x\nconditions: {temperature: 23 °C, speed: 5 mm/min}\n");
        assert_eq!(a.len(), 8);
        assert_eq!(a, key("value: 2 MPa\nsource: x\nconditions: {speed: 5 mm/min, temperature: 23 degC}\n"));
        assert_ne!(a, key("value: 1 MPa\nsource: x\nconditions: {temperature: 24 °C, speed: 5 mm/min}\n"));
        assert_ne!(a, key("value: 1 MPa\nsource: y\nconditions: {temperature: 23 °C, speed: 5 mm/min}\n"));
    }
}
