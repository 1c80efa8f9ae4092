//! Where a claim goes in the text of a record, in the hand the record is written in.

use crate::command::edit::{Edit, apply};
use crate::command::new::fields;
use gripbook::check::schemas::Step;
use gripbook::check::view::View;
use gripbook::read::ParsedFile;
use gripbook::read::tree::{Entry, Map, Node};

/// Longest line of a claim written in braces.
const LONGEST_LINE: usize = 130;

/// The text of the record with the claim in it.
///
/// # Errors
/// Why it cannot be put in.
pub(super) fn claim(reading: &ParsedFile, property: &str, given: &[(String, String)], top: &View<'_>) -> Result<String, String> {
    if let Some(fault) = reading.faults.first() {
        return Err(format!("line {}: {}", fault.span.line, fault.message));
    }
    let text = reading.source.text();
    let map = reading.tree.as_ref().and_then(Node::as_map).ok_or("the file holds no record")?;
    let view = top.step(&key("properties"));
    let inside = view.step(&key(property)).step(&Step::Item(0));
    let lines = fields::tree(given, &inside);
    let edit = match map.entry("properties") {
        None => {
            let item = item(&lines, 4, true);
            let at = place(text, map, "properties", &top.order(), 0);
            Edit { start: at, end: at, text: format!("{}properties:\n  {property}:\n{item}", gap(text, at)) }
        }
        Some(entry) => {
            let all = entry.node.as_map().ok_or("`properties` is no map")?;
            if is_flow(text, &entry.node) {
                return Err("`properties` is written in one line: put each property on a line of its own".into());
            }
            match all.entry(property) {
                Some(own) => into_list(text, own, &lines)?,
                None => {
                    let column = all.iter().next().map_or(2, |e| e.key.span.column as usize - 1);
                    let dash = all.iter().find_map(|e| dash(text, &e.node)).map_or(2, |d| d.saturating_sub(column));
                    let braces = all.iter().filter_map(|e| e.node.item(0)).all(|claim| is_flow(text, claim));
                    let item = item(&lines, column + dash, braces);
                    let behind_key = line_behind(text, entry.key.span.end as usize);
                    let at = place(text, all, property, &view.order(), behind_key);
                    Edit { start: at, end: at, text: format!("{}{}{property}:\n{item}", gap(text, at), " ".repeat(column)) }
                }
            }
        }
    };
    Ok(apply(text, vec![edit]))
}

fn key(word: &str) -> Step {
    Step::Key(word.to_owned())
}

fn is_flow(text: &str, node: &Node) -> bool {
    matches!(text.as_bytes().get(node.span.start as usize), Some(b'{' | b'['))
}

/// Byte behind the line break of the line a byte stands in.
fn line_behind(text: &str, at: usize) -> usize {
    text[at..].find('\n').map_or(text.len(), |n| at + n + 1)
}

/// Byte behind the last line of a node.
fn behind(text: &str, node: &Node) -> usize {
    let end = text[..node.span.end as usize].trim_end().len();
    line_behind(text, end)
}

/// A line break, where the text before does not end with one.
fn gap(text: &str, at: usize) -> &'static str {
    if at > 0 && !text[..at].ends_with('\n') { "\n" } else { "" }
}

/// Column of the dash of a list's first item, when each item has a line of its own.
fn dash(text: &str, list: &Node) -> Option<usize> {
    let start = list.item(0)?.span.start as usize;
    let line = text[..start].rfind('\n').map_or(0, |n| n + 1);
    let lead = &text[line..start];
    lead.trim_start().starts_with('-').then(|| lead.len() - lead.trim_start().len())
}

/// Behind the entry that comes before it in the order of the schema, else at `first`. The order of what is there stays.
fn place(text: &str, map: &Map, word: &str, order: &[&str], first: usize) -> usize {
    let rank = |word: &str| order.iter().position(|w| *w == word).unwrap_or(order.len());
    let before = map.iter().filter(|e| rank(&e.key.text) < rank(word)).max_by_key(|e| e.key.span.start);
    before.map_or(first, |e| behind(text, &e.node))
}

/// A claim as an item of a list: in braces where its neighbours are and it fits a line, else a field a line.
fn item(lines: &[(String, String)], column: usize, in_braces: bool) -> String {
    let indent = " ".repeat(column);
    let flat = lines.iter().map(|(key, value)| format!("{key}: {value}")).collect::<Vec<_>>().join(", ");
    if in_braces && column + flat.chars().count() + 4 <= LONGEST_LINE {
        return format!("{indent}- {{{flat}}}\n");
    }
    let line =
        |(at, (key, value)): (usize, &(String, String))| format!("{indent}{} {key}: {value}\n", if at == 0 { '-' } else { ' ' });
    lines.iter().enumerate().map(line).collect()
}

/// Behind the last claim of the property, written as that one is.
fn into_list(text: &str, own: &Entry, lines: &[(String, String)]) -> Result<Edit, String> {
    let claims = own.node.as_list().ok_or("the property is no list of claims")?;
    let last = claims.last().ok_or("the property has no claim: remove its line first")?;
    let Some(column) = dash(text, &own.node) else {
        // `[{…}]` in one line goes on in that line.
        let flat = lines.iter().map(|(key, value)| format!("{key}: {value}")).collect::<Vec<_>>().join(", ");
        let at = last.span.end as usize;
        return Ok(Edit { start: at, end: at, text: format!(", {{{flat}}}") });
    };
    let at = behind(text, last);
    Ok(Edit { start: at, end: at, text: format!("{}{}", gap(text, at), item(lines, column, is_flow(text, last))) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use gripbook::book::kinds;
    use gripbook::check::schemas_of;

    fn added(text: &str, property: &str, given: &[(&str, &str)]) -> Result<String, String> {
        let schemas = schemas_of(kinds::built_in_schemas()).expect("schemas");
        let given: Vec<(String, String)> = given.iter().map(|(k, v)| ((*k).to_owned(), (*v).to_owned())).collect();
        let reading = gripbook::read::read(text.as_bytes());
        let after = claim(&reading, property, &given, &View::top(&schemas, "polymer.schema.json"))?;
        assert!(gripbook::read::read(after.as_bytes()).faults.is_empty(), "{after}");
        Ok(after)
    }

    const NEW: [(&str, &str); 3] = [("basis", "recalled"), ("value", "1.24 g/cm3"), ("conditions.temperature", "23 °C")];
    const LINE: &str = "{value: 1.24 g/cm3, basis: recalled, conditions: {temperature: 23 °C}}";

    #[test]
    fn a_claim_goes_behind_its_like_and_the_rest_stays() {
        let text = "name: X # mine\nfamily: pla\nproperties:\n  # thermal\n  tg:\n  - {value: 60 °C, basis: recalled}  # old\n  # about density\n  density:\n    - value: 1.2 g/cm³\n      basis: recalled\n      # below it\nnote: y\n";
        let after = added(text, "density", &NEW).expect("added");
        let item = "    - value: 1.24 g/cm3\n      basis: recalled\n      conditions: {temperature: 23 °C}\n";
        assert_eq!(after, text.replace("      # below it\n", &format!("{item}      # below it\n")));
        let after = added(text, "tg", &[("value", "-5 °C"), ("basis", "recalled")]).expect("added");
        assert_eq!(after, text.replace("# old\n", "# old\n  - {value: -5 °C, basis: recalled}\n"));
    }

    #[test]
    fn a_new_property_takes_its_place_in_the_order_of_the_schema() {
        let text = "name: X\nfamily: pla\nproperties:\n  # thermal\n  tg:\n    - {value: 60 °C, basis: recalled}\nnote: y\n";
        let after = added(text, "density", &NEW).expect("added");
        assert_eq!(after, text.replace("  # thermal\n", &format!("  density:\n    - {LINE}\n  # thermal\n")));
        let after = added(text, "melting_temperature", &[("value", "170 °C"), ("basis", "recalled")]).expect("added");
        assert_eq!(after, text.replace("note: y\n", "  melting_temperature:\n    - {value: 170 °C, basis: recalled}\nnote: y\n"));
        let bare = "name: X\nfamily: pla\n# at the end\nnote: y\n";
        let after = added(bare, "density", &NEW).expect("added");
        assert_eq!(after, bare.replace("family: pla\n", &format!("family: pla\nproperties:\n  density:\n    - {LINE}\n")));
    }

    #[test]
    fn a_list_in_one_line_goes_on_in_it() {
        let text = "name: X\nfamily: pla\nproperties:\n  density: [{value: 1.2 g/cm³, basis: recalled}] # ours\n";
        let after = added(text, "density", &NEW).expect("added");
        assert_eq!(after, text.replace("}]", &format!("}}, {LINE}]")));
        assert!(added("name: X\nfamily: pla\nproperties: {tg: [{value: 60 °C, basis: recalled}]}\n", "density", &NEW).is_err());
    }
}
