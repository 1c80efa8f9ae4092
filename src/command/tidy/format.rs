//! The form of a record file. Every step edits stretches of the text; the tree is only read.
//!
//! The result is compared with what was there before it is handed out: equal but for the order of keys and the spelling
//! of units, every quantity with the same digits and the same value in SI to the last bit.

use super::order;
use crate::command::edit::{Edit, apply};
use gripbook::check::schemas::{Schemas, Step};
use gripbook::check::view::View;
use gripbook::quantity::{self, Quantity, Written};
use gripbook::read::tree::{Node, Style, Value};
use gripbook::read::{self, ParsedFile};

/// The tidy text of a record of the kind whose schema this is.
///
/// # Errors
/// Why the file is left alone: it cannot be read, or the result would say something else.
pub fn tidy(bytes: &[u8], schema: &str, schemas: &Schemas) -> Result<String, String> {
    let before = read_or_why(bytes)?;
    let view = View::top(schemas, schema);
    let mut text = lines(&before);
    for step in [units as Pass, |node, reading, _, edits| gaps(node, reading, edits)] {
        let reading = read_or_why(text.as_bytes())?;
        let Some(tree) = &reading.tree else { return Err("the file holds no record".into()) };
        let mut edits = Vec::new();
        step(tree, &reading, &view, &mut edits);
        text = apply(&text, edits);
    }
    let text = order::keys(&text, &view);
    let after = read_or_why(text.as_bytes())?;
    match (&before.tree, &after.tree) {
        (Some(a), Some(b)) if same(a, b, &view) => Ok(text),
        _ => Err("tidying would change what it says; please report this".into()),
    }
}

type Pass = fn(&Node, &ParsedFile, &View<'_>, &mut Vec<Edit>);

fn read_or_why(bytes: &[u8]) -> Result<ParsedFile, String> {
    let reading = read::read(bytes);
    // A missing last line break is what tidying mends.
    match reading.faults.iter().find(|f| f.name != "newline-missing") {
        Some(fault) => Err(format!("{} (line {}); see `gripbook check`", fault.message, fault.span.line)),
        None => Ok(reading),
    }
}

/// Line ends, spaces at line ends, runs of empty lines, the last line end; block texts are let be.
fn lines(reading: &ParsedFile) -> String {
    let text = reading.source.text().replace("\r\n", "\n");
    let mut blocks = Vec::new();
    if let Some(tree) = &reading.tree {
        block_lines(tree, reading, &mut blocks);
    }
    let mut out: Vec<&str> = Vec::new();
    for (at, line) in text.split('\n').enumerate() {
        if blocks.iter().any(|(first, last)| (*first..=*last).contains(&(at + 1))) {
            out.push(line);
            continue;
        }
        let line = line.trim_end_matches([' ', '\t']);
        let doubled = line.is_empty() && out.last().is_none_or(|l| l.is_empty());
        if !doubled {
            out.push(line);
        }
    }
    while out.last().is_some_and(|l| l.is_empty()) {
        out.pop();
    }
    let mut text = out.join("\n");
    text.push('\n');
    text
}

/// First and last line of every block text.
fn block_lines(node: &Node, reading: &ParsedFile, into: &mut Vec<(usize, usize)>) {
    match &node.value {
        Value::Text(_, Style::Block) => {
            let last = reading.source.span((node.span.end as usize).saturating_sub(1), node.span.end as usize).line;
            into.push((node.span.line as usize, last.max(node.span.line) as usize));
        }
        Value::List(items) => items.iter().for_each(|n| block_lines(n, reading, into)),
        Value::Map(map) => map.iter().for_each(|e| block_lines(&e.node, reading, into)),
        _ => {}
    }
}

/// Canonical spelling of units; the digits stay.
fn units(node: &Node, reading: &ParsedFile, view: &View<'_>, edits: &mut Vec<Edit>) {
    match &node.value {
        Value::Map(map) => {
            map.iter().for_each(|e| units(&e.node, reading, &view.step(&Step::Key(e.key.text.to_string())), edits));
        }
        Value::List(items) => items.iter().for_each(|n| units(n, reading, &view.step(&Step::Item(0)), edits)),
        Value::Text(text, style) if *style != Style::Block => {
            let Some(written) = quantity(text, view) else { return };
            let tidy = canonical(&written);
            // Only what is written as it reads is replaced: an escape in quotes is let be.
            let (start, end) = (node.span.start as usize, node.span.end as usize);
            let raw = reading.source.slice(node.span);
            if tidy != **text && raw.contains(&**text) {
                edits.push(Edit { start, end, text: raw.replacen(&**text, &tidy, 1) });
            }
        }
        _ => {}
    }
}

/// The quantity a scalar of this place states; where a schema allows a text or a number and says no more, its unit says which.
fn quantity(text: &str, view: &View<'_>) -> Option<Written> {
    if let Some(quantity) = view.quantity() {
        return quantity::parse(text, quantity).ok();
    }
    let either = view.words("type").is_some_and(|t| t.contains(&"number") && t.contains(&"string"));
    let written = either.then(|| quantity::parse_any(text).into_iter().next()).flatten()?;
    // One spelling for all quantities that know the unit, else it is let be.
    let all = quantity::parse_any(text);
    all.iter().all(|w| w.unit.symbol() == written.unit.symbol()).then_some(written)
}

fn canonical(written: &Written) -> String {
    let symbol = written.unit.symbol();
    // A pure number needs no unit, and keeps one where it has one.
    let bare = number_only(&written.text);
    if bare || (symbol == "1" && written.unit.quantity == Quantity::Number) {
        return written.text.to_string();
    }
    format!("{} {symbol}", written.digits())
}

fn number_only(text: &str) -> bool {
    quantity::number::split(text).1.is_empty()
}

/// One space after a colon.
fn gaps(node: &Node, reading: &ParsedFile, edits: &mut Vec<Edit>) {
    let text = reading.source.text();
    match &node.value {
        Value::Map(map) => {
            for entry in map {
                let (start, end) = (entry.key.span.end as usize, entry.node.span.start as usize);
                let between = text.get(start..end).unwrap_or_default();
                let plain = between.starts_with(':') && between.len() > 2 && between[1..].bytes().all(|b| b == b' ');
                if plain {
                    edits.push(Edit { start, end, text: ": ".into() });
                }
                gaps(&entry.node, reading, edits);
            }
        }
        Value::List(items) => items.iter().for_each(|n| gaps(n, reading, edits)),
        _ => {}
    }
}

/// Whether two trees say the same: key order aside, quantities by digits, unit and SI value.
fn same(a: &Node, b: &Node, view: &View<'_>) -> bool {
    match (&a.value, &b.value) {
        (Value::Map(x), Value::Map(y)) => {
            let in_y = |e: &gripbook::read::tree::Entry| {
                y.get(&e.key.text).is_some_and(|n| same(&e.node, n, &view.step(&Step::Key(e.key.text.to_string()))))
            };
            x.len() == y.len() && x.iter().all(in_y)
        }
        (Value::List(x), Value::List(y)) => {
            x.len() == y.len() && x.iter().zip(y).all(|(m, n)| same(m, n, &view.step(&Step::Item(0))))
        }
        (Value::Text(x, _), Value::Text(y, _)) if x != y => match (quantity(x, view), quantity(y, view)) {
            (Some(x), Some(y)) => x.digits() == y.digits() && x.unit == y.unit && x.si.to_bits() == y.si.to_bits(),
            _ => false,
        },
        _ => a.says_the_same(b),
    }
}

#[cfg(test)]
mod tests;
