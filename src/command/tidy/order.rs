//! The order of keys: that of the schema, so that every record reads alike. Whole line blocks move, with the comments
//! above them; an entry of a flow map moves as it is written.

use crate::command::edit::{Edit, apply};
use gripbook::check::schemas::Step;
use gripbook::check::view::View;
use gripbook::read::ParsedFile;
use gripbook::read::tree::{Entry, Map, Node, Value};

/// Maps whose order carries a meaning: the properties of a record stay as their author grouped them.
const AS_WRITTEN: [&str; 1] = ["properties"];

/// The text with the keys of all its maps in the order of the schema.
pub(super) fn keys(text: &str, view: &View<'_>) -> String {
    let mut text = text.to_owned();
    // Inner maps first, each on the text as it is by then.
    for _ in 0..ROUNDS {
        let reading = gripbook::read::read(text.as_bytes());
        let Some(edit) = reading.tree.as_ref().and_then(|tree| first(tree, &reading, view, "")) else { break };
        text = apply(&text, vec![edit]);
    }
    text
}

/// More maps than this out of order in one file wait for the next run.
const ROUNDS: usize = 4000;

/// The first map out of order, innermost first, as one edit.
fn first(node: &Node, reading: &ParsedFile, view: &View<'_>, name: &str) -> Option<Edit> {
    match &node.value {
        Value::List(items) => {
            let view = view.step(&Step::Item(0));
            items.iter().find_map(|n| first(n, reading, &view, ""))
        }
        Value::Map(map) => {
            let inner =
                map.iter().find_map(|e| first(&e.node, reading, &view.step(&Step::Key(e.key.text.to_string())), &e.key.text));
            inner.or_else(|| if AS_WRITTEN.contains(&name) { None } else { sorted(node, map, reading, &view.order()) })
        }
        _ => None,
    }
}

fn sorted(node: &Node, map: &Map, reading: &ParsedFile, order: &[&str]) -> Option<Edit> {
    let rank = |e: &Entry| order.iter().position(|k| *k == &*e.key.text).unwrap_or(order.len());
    let entries: Vec<&Entry> = map.iter().collect();
    let mut wanted: Vec<usize> = (0..entries.len()).collect();
    wanted.sort_by_key(|i| rank(entries[*i]));
    if wanted.iter().enumerate().all(|(at, i)| at == *i) {
        return None;
    }
    let text = reading.source.text();
    if text.as_bytes().get(node.span.start as usize) == Some(&b'{') {
        flow(node, &entries, &wanted, text)
    } else {
        block(node, &entries, &wanted, text)
    }
}

/// `{b: 1, a: 2}` → `{a: 2, b: 1}`; one with comments or line breaks is let be.
fn flow(node: &Node, entries: &[&Entry], wanted: &[usize], text: &str) -> Option<Edit> {
    let (start, end) = (node.span.start as usize, node.span.end as usize);
    let whole = text.get(start..end)?;
    if whole.contains('\n') || !whole.ends_with('}') {
        return None;
    }
    let slice = |e: &Entry| text.get(e.key.span.start as usize..(e.node.span.end as usize).max(e.key.span.end as usize));
    let parts: Option<Vec<&str>> = wanted.iter().map(|i| slice(entries[*i])).collect();
    Some(Edit { start, end, text: format!("{{{}}}", parts?.join(", ")) })
}

/// Blocks of whole lines. The first key of a list item stands behind its dash; the dash stays where it is.
fn block(node: &Node, entries: &[&Entry], wanted: &[usize], text: &str) -> Option<Edit> {
    let column = entries.first()?.key.span.column as usize - 1;
    let begin = line_start(text, node.span.start as usize);
    let head = &text[begin..entries[0].key.span.start as usize];
    let starts: Vec<usize> =
        entries.iter().enumerate().map(|(i, e)| if i == 0 { begin } else { with_comments(text, e, column) }).collect();
    let last = entries.last()?;
    let end = after_last(text, (last.node.span.end as usize).max(last.key.span.end as usize));
    let mut blocks: Vec<String> = Vec::new();
    for (i, from) in starts.iter().enumerate() {
        let to = starts.get(i + 1).copied().unwrap_or(end);
        let raw = text.get(*from..to)?;
        blocks.push(if i == 0 { format!("{}{}", " ".repeat(column), &raw[head.len()..]) } else { raw.to_owned() });
    }
    if blocks.iter().any(|b| !b.ends_with('\n')) {
        return None;
    }
    let mut out: String = wanted.iter().map(|i| blocks[*i].as_str()).collect();
    if !head.trim().is_empty() {
        // The block that comes first takes the dash; comments above its key go below its first line.
        let first = &blocks[wanted[0]];
        let comments: usize = first.lines().take_while(|l| l.trim_start().starts_with('#')).map(|l| l.len() + 1).sum();
        if comments > 0 {
            let line = first[comments..].find('\n').map_or(first.len(), |n| comments + n + 1);
            out = format!("{}{}{}", &first[comments..line], &first[..comments], &out[line..]);
        }
        out.replace_range(..column.min(out.len()), head);
    }
    Some(Edit { start: begin, end, text: out })
}

fn line_start(text: &str, at: usize) -> usize {
    text[..at].rfind('\n').map_or(0, |n| n + 1)
}

/// Where the block of an entry begins: the first of the comment lines of its own depth right above it.
fn with_comments(text: &str, entry: &Entry, column: usize) -> usize {
    let mut start = line_start(text, entry.key.span.start as usize);
    while start > 0 {
        let above = line_start(text, start - 1);
        let line = &text[above..start - 1];
        let depth = line.len() - line.trim_start().len();
        if line.trim_start().starts_with('#') && depth == column {
            start = above;
        } else {
            break;
        }
    }
    start
}

/// The byte behind the line in which a map ends.
fn after_last(text: &str, end: usize) -> usize {
    if end > 0 && text.as_bytes().get(end - 1) == Some(&b'\n') {
        return end;
    }
    text[end..].find('\n').map_or(text.len(), |n| end + n + 1)
}
