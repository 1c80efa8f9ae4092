//! Edits in the text of a record: a value in the place of another, a line of history, a field of a claim.

use crate::command::edit::Edit;
use gripbook::read::tree::{Node, Value};
use serde_json::json;

/// A value in the place of another.
pub(super) fn replace(node: &Node, text: &str) -> Edit {
    let is_fact = node.as_bool().is_some() && matches!(text, "true" | "false");
    let text = if is_fact { text.to_owned() } else { scalar(text) };
    Edit { start: node.span.start as usize, end: node.span.end as usize, text }
}

fn is_flow(text: &str, node: &Node) -> bool {
    matches!(text.as_bytes().get(node.span.start as usize), Some(b'{' | b'['))
}

/// An earlier value as an item of a history; the field is left out where it is the value itself.
pub(super) fn was(field: &str, old: &str, date: &str, because: &str) -> String {
    let field = if field == "value" { String::new() } else { format!("field: {}, ", scalar(field)) };
    format!("{{{field}value: {}, until: {date}, because: {}}}", scalar(old), scalar(because))
}

/// Adds earlier values to what holds them: into its list, or as a new field behind the field that changed.
pub(super) fn add_was(text: &str, holder: &Node, field: &str, was: &[String]) -> Edit {
    let at = |at: usize, text: String| Edit { start: at, end: at, text };
    if let Some(list) = holder.get("was") {
        if is_flow(text, list) {
            return at(list.span.end as usize - 1, format!(", {}", was.join(", ")));
        }
        let column = text[..list.span.start as usize].rfind('\n').map_or(0, |n| list.span.start as usize - n - 1);
        let lines: String = was.iter().map(|one| format!("\n{}- {one}", " ".repeat(column))).collect();
        return at(line_end(text, last(text, list)), lines);
    }
    if is_flow(text, holder) {
        return at(holder.span.end as usize - 1, format!(", was: [{}]", was.join(", ")));
    }
    let first = field.split('.').next().unwrap_or(field);
    let entry = holder.as_map().and_then(|map| map.entry(first));
    let (column, end) = entry.map_or((0, text.len()), |e| (e.key.span.column as usize - 1, last(text, &e.node)));
    let indent = " ".repeat(column);
    let lines: String = was.iter().map(|one| format!("\n{indent}  - {one}")).collect();
    at(line_end(text, end), format!("\n{indent}was:{lines}"))
}

/// The end of the last thing written in a node. The span of a block reaches to whatever follows it.
fn last(text: &str, node: &Node) -> usize {
    let inner = match &node.value {
        _ if is_flow(text, node) => None,
        Value::Map(map) => map.iter().last().map(|entry| &entry.node),
        Value::List(items) => items.iter().last(),
        _ => None,
    };
    inner.map_or(node.span.end as usize, |inner| last(text, inner))
}

/// Sets fields of a claim or measurement, each replaced where it stands or added at its end.
pub(super) fn set_fields(text: &str, claim: &Node, fields: &[(&str, String)]) -> Vec<Edit> {
    let mut edits = Vec::new();
    let mut added = String::new();
    let map = claim.as_map();
    let flow = is_flow(text, claim);
    let indent = map.and_then(|m| m.iter().next()).map_or(4, |e| e.key.span.column as usize - 1);
    for (key, value) in fields {
        match map.and_then(|m| m.get(key)) {
            Some(node) => edits.push(replace(node, value)),
            None if flow => added.push_str(&format!(", {key}: {}", scalar(value))),
            None => added.push_str(&format!("\n{}{key}: {}", " ".repeat(indent), scalar(value))),
        }
    }
    if !added.is_empty() {
        let at = if flow { claim.span.end as usize - 1 } else { line_end(text, last(text, claim)) };
        edits.push(Edit { start: at, end: at, text: added });
    }
    edits
}

fn line_end(text: &str, from: usize) -> usize {
    // A block text ends behind its last line break.
    let from = if from > 0 && text.as_bytes().get(from - 1) == Some(&b'\n') { from - 1 } else { from };
    text[from..].find('\n').map_or(text.len(), |n| from + n)
}

/// A text as a scalar: plain where every reader takes it for this text, else in double quotes.
pub(in crate::command) fn scalar(text: &str) -> String {
    let plain =
        |c: char| c.is_alphanumeric() || matches!(c, ' ' | '.' | '-' | '/' | '(' | ')' | '%' | '°' | '·' | '√' | '+' | '_' | ';');
    let is_number = || text.split(' ').next().is_some_and(|first| first.parse::<f64>().is_ok_and(f64::is_finite));
    let safe_start = text.starts_with(|c: char| c.is_alphanumeric()) || (text.starts_with('-') && is_number());
    let words = ["yes", "no", "on", "off", "true", "false", "null"];
    let is_text = text.chars().all(plain) && safe_start && !text.ends_with(' ') && !words.contains(&text.to_lowercase().as_str());
    if is_text { text.to_owned() } else { json!(text).to_string() }
}

#[cfg(test)]
mod tests {
    use super::scalar;

    #[test]
    fn texts_that_readers_take_differently_are_quoted() {
        for plain in ["47.1 MPa", "read from the wrong row", "25 µm/(m·K)", "2026-03-14", "-20 °C", "-5"] {
            assert_eq!(scalar(plain), plain);
        }
        assert_eq!(scalar("no"), "\"no\"");
        assert_eq!(scalar("- x"), "\"- x\"");
        assert_eq!(scalar("a: b"), "\"a: b\"");
        assert_eq!(scalar("x, y"), "\"x, y\"");
        assert_eq!(scalar("say \"hm\""), "\"say \\\"hm\\\"\"");
    }
}
