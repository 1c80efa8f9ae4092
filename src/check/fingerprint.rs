//! What makes two claims of a property the same claim: source, locator, method and conditions.

use std::collections::HashMap;
use std::fmt::Write;
use std::sync::LazyLock;

use crate::quantity::{UnitId, number, table};
use crate::read::tree::{Node, Value};

/// Every spelling of a unit, with the first unit of the table that has it.
static UNITS: LazyLock<HashMap<&str, UnitId>> = LazyLock::new(|| {
    let mut units = HashMap::new();
    for quantity in table::ALL {
        for unit in quantity.units() {
            for spelling in unit.aliases.iter().chain([&unit.symbol]).filter(|spelling| !spelling.is_empty()) {
                if let Some(id) = quantity.unit(spelling) {
                    units.entry(*spelling).or_insert(id);
                }
            }
        }
    }
    units
});

/// A text that is equal for two claims with equal source, locator, method and conditions.
///
/// The value is left out, so that a correction changes nothing; quantities among the conditions
/// count by their SI value, conditions in the order of their names.
pub(super) fn fingerprint(claim: &Node) -> String {
    let mut text = String::with_capacity(160);
    for field in ["source", "locator", "method"] {
        let written = claim.get(field).and_then(Node::written).unwrap_or_default();
        let _ = writeln!(text, "{written}");
    }
    if let Some(conditions) = claim.get("conditions") {
        let mut lines = Vec::new();
        flatten("", conditions, &mut lines);
        lines.sort_unstable();
        text.push_str(&lines.join("\n"));
    }
    text
}

fn flatten(name: &str, node: &Node, lines: &mut Vec<String>) {
    match &node.value {
        Value::Map(map) => map.iter().for_each(|e| flatten(&format!("{name}.{}", e.key.text), &e.node, lines)),
        Value::List(items) => {
            items.iter().enumerate().for_each(|(at, item)| flatten(&format!("{name}.{at}"), item, lines));
        }
        _ => lines.push(format!("{name}={}", plain(node.written().unwrap_or_default()))),
    }
}

/// A quantity by its SI value; any other text as it is.
fn plain(text: &str) -> String {
    if !text.starts_with(|c: char| c.is_ascii_digit() || c == '-') {
        return text.to_owned();
    }
    let (digits, unit) = number::split(text);
    match (UNITS.get(unit), digits.parse::<f64>()) {
        (Some(unit), Ok(value)) => format!("{:e} {}", unit.unit().si_from_number(value), unit.quantity.word()),
        _ => text.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str) -> String {
        fingerprint(&crate::read::read(text.as_bytes()).tree.expect("a map"))
    }

    #[test]
    fn the_value_and_the_spelling_of_units_do_not_matter() {
        let a = of("value: 1 MPa\nsource: x\nconditions: {temperature: 23 °C, thickness: 3 mm}\n");
        assert_eq!(a, of("value: 2 MPa\nsource: x\nconditions: {thickness: 0.3 cm, temperature: 23 degC}\n"));
        assert_ne!(a, of("value: 1 MPa\nsource: x\nconditions: {temperature: 24 °C, thickness: 3 mm}\n"));
        assert_ne!(a, of("value: 1 MPa\nsource: y\nconditions: {temperature: 23 °C, thickness: 3 mm}\n"));
        assert_ne!(of("source: x\n"), of("locator: x\n"));
    }
}
