//! Series and process records as text: new ones, and lines added to old ones. What is there stays as it is, to the byte.

use crate::book::view::Specimen;
use crate::read::{self, tree::Node};

/// A line of a diff.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DiffLine {
    /// Unchanged.
    Same(String),
    /// Taken away.
    Minus(String),
    /// Added.
    Plus(String),
}

/// Why lines cannot be added to a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CannotAdd(pub String);

/// A scalar of the record profile, quoted where it could be taken for something else.
pub fn scalar(text: &str) -> String {
    let first = text.chars().next();
    let plain_start = first.is_some_and(|c| c.is_ascii_alphanumeric());
    let plain = text.chars().all(|c| c.is_alphanumeric() || " ._·/²³°%+-".contains(c));
    let word = matches!(text.to_lowercase().as_str(), "yes" | "no" | "on" | "off" | "true" | "false" | "null" | "nan" | "inf");
    let number = text.parse::<f64>().is_ok();
    if plain_start && plain && !word && !number && !text.ends_with(' ') {
        return text.to_owned();
    }
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => out.push(' '),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// A flow mapping of the fields that have a value.
pub fn flow(fields: &[(&str, Option<String>)]) -> String {
    let list: Vec<String> = fields.iter().filter_map(|(k, v)| Some(format!("{k}: {}", scalar(v.as_deref()?)))).collect();
    format!("{{{}}}", list.join(", "))
}

/// A specimen as a flow mapping.
pub fn specimen(s: &Specimen) -> String {
    let text = |b: &Option<Box<str>>| b.as_deref().map(str::to_owned);
    let mut fields = vec![
        ("label", Some(s.label().to_owned())),
        ("value", Some(s.value.text.to_string())),
        ("mode", text(&s.mode)),
        ("job", text(&s.job)),
        ("batch", text(&s.batch)),
        ("date", text(&s.date)),
        ("position", text(&s.position)),
    ];
    if s.censored {
        fields.push(("censored", Some("true".into())));
    }
    fields.extend([("note", text(&s.note)), ("curve", text(&s.curve))]);
    // A boolean and a bare count are no words to be quoted.
    let whole = flow(&fields).replace("censored: \"true\"", "censored: true");
    let bare = crate::quantity::number::split(&s.value.text).1.is_empty();
    if bare { whole.replace(&format!("value: \"{}\"", s.value.text), &format!("value: {}", s.value.text)) } else { whole }
}

/// A new measurement as lines of the list `measurements`.
pub fn measurement(word: &str, specimens: &[Specimen]) -> String {
    let lines: String = specimens.iter().map(|s| format!("      - {}\n", specimen(s))).collect();
    format!("  - quantity: {word}\n    n: {}\n    specimens:\n{lines}", specimens.len())
}

/// The head of a new series.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Head {
    /// What was tested.
    pub name: String,
    /// Bare id of the campaign.
    pub source: Option<String>,
    /// The line for editors.
    pub editor: Option<String>,
    /// Page, sheet or table in the source.
    pub locator: Option<String>,
    /// Fields of the joint in order.
    pub joint: Vec<(String, String)>,
    /// Fields of the test in order.
    pub test: Vec<(String, String)>,
    /// Conditions the quantity needs and nobody gave.
    pub not_stated: Vec<String>,
}

/// A new series record.
pub fn new_series(head: &Head, word: &str, specimens: &[Specimen]) -> String {
    let mut out = head.editor.as_ref().map(|line| format!("{line}\n")).unwrap_or_default();
    out += &format!("name: {}\n", scalar(&head.name));
    if let Some(source) = &head.source {
        out += &format!("source: {}\n", scalar(source));
    }
    if let Some(locator) = &head.locator {
        out += &format!("locator: {}\n", scalar(locator));
    }
    out += "basis: measured\njoint:\n";
    for (key, value) in &head.joint {
        out += &format!("  {key}: {}\n", scalar(value));
    }
    if !head.test.is_empty() {
        out += "test:\n";
        for (key, value) in &head.test {
            out += &format!("  {key}: {}\n", scalar(value));
        }
    }
    out += &format!("measurements:\n{}", measurement(word, specimens));
    if !head.not_stated.is_empty() {
        out += &format!("not_stated: [{}]\n", head.not_stated.join(", "));
    }
    out
}

fn tree(text: &str) -> Result<Node, CannotAdd> {
    let reading = read::read(text.as_bytes());
    match (reading.faults.first(), reading.tree) {
        (Some(fault), _) => Err(CannotAdd(format!("the record has a fault in line {}: {}", fault.span.line, fault.message))),
        (None, Some(tree)) => Ok(tree),
        (None, None) => Err(CannotAdd("the record is empty".into())),
    }
}

/// Byte behind the line on which a node ends.
fn behind(text: &str, node: &Node) -> usize {
    let end = text[..node.span.end as usize].trim_end().len();
    text[end..].find('\n').map_or(text.len(), |i| end + i + 1)
}

fn inserted(text: &str, at: usize, lines: &str) -> String {
    let gap = if at == text.len() && !text.ends_with('\n') { "\n" } else { "" };
    format!("{}{gap}{lines}{}", &text[..at], &text[at..])
}

/// What stands before an item on its first line: its indent and dash.
fn lead(text: &str, item: &Node) -> Option<String> {
    let start = item.span.start as usize;
    let line = text[..start].rfind('\n').map_or(0, |i| i + 1);
    let lead = &text[line..start];
    lead.trim_start().starts_with('-').then(|| " ".repeat(lead.len() - lead.trim_start().len()) + "- ")
}

/// Lines added to a list of the record at a pointer such as `hole_offset`.
fn added_to_list(text: &str, list: &Node, items: &[String]) -> Result<String, CannotAdd> {
    let last = list.as_list().and_then(<[Node]>::last).ok_or_else(|| CannotAdd("the list in the record is empty".into()))?;
    let lead = lead(text, last)
        .ok_or_else(|| CannotAdd("the list is written on one line: put each item on a line of its own first".into()))?;
    let lines: String = items.iter().map(|i| format!("{lead}{i}\n")).collect();
    Ok(inserted(text, behind(text, last), &lines))
}

/// Specimens added to a series record.
///
/// # Errors
/// A record that does not read, a label that exists, a list in one line.
pub fn add_specimens(text: &str, word: &str, specimens: &[Specimen]) -> Result<String, CannotAdd> {
    let root = tree(text)?;
    let all =
        root.get("measurements").and_then(Node::as_list).ok_or_else(|| CannotAdd("the record has no measurements".into()))?;
    let own = all.iter().find(|m| m.get("quantity").and_then(Node::as_text) == Some(word));
    let Some(own) = own else {
        let last = all.last().ok_or_else(|| CannotAdd("the record has no measurements".into()))?;
        return Ok(inserted(text, behind(text, last), &measurement(word, specimens)));
    };
    let list = own
        .get("specimens")
        .ok_or_else(|| CannotAdd(format!("`{word}` has published figures only, so there are no specimens to add to")))?;
    let known: Vec<&str> = list.as_list().unwrap_or(&[]).iter().filter_map(|s| s.get("label").and_then(Node::written)).collect();
    if let Some(twice) = specimens.iter().find(|s| known.contains(&s.label())) {
        return Err(CannotAdd(format!("specimen `{}` is already in the record; nothing was overwritten", twice.label())));
    }
    let items: Vec<String> = specimens.iter().map(specimen).collect();
    let longer = added_to_list(text, list, &items)?;
    // What was withdrawn is listed and not counted.
    let counted = list.as_list().unwrap_or(&[]).iter().filter(|s| s.get("standing").is_none()).count();
    Ok(match own.get("n").filter(|n| n.as_count() == Some(counted as u64)) {
        // `n` stands before or behind the list; only its own digits change.
        Some(n) => {
            let grown = longer.len() - text.len();
            let shift = if n.span.start > list.span.start { grown } else { 0 };
            let (from, to) = (n.span.start as usize + shift, n.span.end as usize + shift);
            format!("{}{}{}", &longer[..from], counted + specimens.len(), &longer[to..])
        }
        None => longer,
    })
}

/// A hole offset, ready to be written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OffsetLine {
    /// Drawn diameter as written, e.g. `2.6 mm`.
    pub diameter: String,
    /// The whole item as a flow mapping.
    pub item: String,
}

/// Hole offsets added to a process record.
///
/// # Errors
/// A record that does not read, a diameter that has an offset already.
pub fn add_offsets(text: &str, offsets: &[OffsetLine]) -> Result<String, CannotAdd> {
    let root = tree(text)?;
    let items: Vec<String> = offsets.iter().map(|o| o.item.clone()).collect();
    let Some(list) = root.get("hole_offset") else {
        let lines: String = items.iter().map(|i| format!("  - {i}\n")).collect();
        return Ok(inserted(text, text.len(), &format!("hole_offset:\n{lines}")));
    };
    let value = |t: &str| crate::quantity::parse(t, crate::quantity::Quantity::Length).map(|w| w.si).ok();
    let known: Vec<f64> = list.as_list().unwrap_or(&[]).iter().filter_map(|o| value(o.get("diameter")?.written()?)).collect();
    if let Some(twice) = offsets.iter().find(|o| value(&o.diameter).is_some_and(|d| known.contains(&d))) {
        return Err(CannotAdd(format!("an offset for {} is already in the record; nothing was overwritten", twice.diameter)));
    }
    added_to_list(text, list, &items)
}

/// Lines that differ, with two lines around them.
pub fn diff(old: &str, new: &str) -> Vec<DiffLine> {
    let (a, b): (Vec<&str>, Vec<&str>) = (old.lines().collect(), new.lines().collect());
    let (mut i, mut j) = (0, 0);
    let mut all = Vec::new();
    while i < a.len() || j < b.len() {
        if i < a.len() && j < b.len() && a[i] == b[j] {
            all.push(DiffLine::Same(a[i].to_owned()));
            (i, j) = (i + 1, j + 1);
            continue;
        }
        // The next pair of equal lines; records are short, so the search may be plain.
        let (di, dj) = next_equal(&a[i..], &b[j..]);
        all.extend(a[i..i + di].iter().map(|l| DiffLine::Minus((*l).to_owned())));
        all.extend(b[j..j + dj].iter().map(|l| DiffLine::Plus((*l).to_owned())));
        (i, j) = (i + di, j + dj);
    }
    let near = |k: usize| all[k.saturating_sub(2)..(k + 3).min(all.len())].iter().any(|l| !matches!(l, DiffLine::Same(_)));
    (0..all.len()).filter(|k| near(*k)).map(|k| all[k].clone()).collect()
}

fn next_equal(a: &[&str], b: &[&str]) -> (usize, usize) {
    for sum in 1..=a.len() + b.len() {
        for di in 0..=sum.min(a.len()) {
            let dj = sum - di;
            if dj <= b.len() && di < a.len() && dj < b.len() && a[di] == b[dj] {
                return (di, dj);
            }
        }
    }
    (a.len(), b.len())
}

/// A diff as text.
pub fn diff_text(lines: &[DiffLine]) -> String {
    let line = |l: &DiffLine| match l {
        DiffLine::Same(t) => format!("  {t}\n"),
        DiffLine::Minus(t) => format!("- {t}\n"),
        DiffLine::Plus(t) => format!("+ {t}\n"),
    };
    lines.iter().map(line).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::series::loads::loads;

    fn specimens(text: &str, first: usize) -> Vec<Specimen> {
        let mut list = loads(text, None).unwrap().specimens;
        for (i, s) in list.iter_mut().enumerate() {
            s.label = Some(format!("s{}", first + i).into());
            s.mode = Some("unknown".into());
        }
        list
    }

    fn head() -> Head {
        let joint = vec![("test".to_owned(), "pull-out".to_owned())];
        Head {
            name: "Test: \"one\"".into(),
            source: Some("own-2026-05".into()),
            joint,
            test: vec![],
            not_stated: vec!["hole".into()],
            ..Head::default()
        }
    }

    #[test]
    fn what_is_written_reads_back() {
        let text = new_series(&head(), "pull_out_load", &specimens("812 N, >857 N", 1));
        let reading = read::read(text.as_bytes());
        assert!(reading.faults.is_empty(), "{text}\n{:?}", reading.faults);
        let root = reading.tree.unwrap();
        assert_eq!(root.get("name").and_then(Node::as_text), Some("Test: \"one\""));
        let second = root.at("/measurements/0/specimens/1").unwrap();
        assert_eq!(second.get("censored").and_then(Node::as_bool), Some(true));
    }

    #[test]
    fn lines_are_added_and_the_rest_stays() {
        let old = new_series(&head(), "pull_out_load", &specimens("812 N, 857 N", 1)) + "tags: [own]\n";
        let new = add_specimens(&old, "pull_out_load", &specimens("790 N", 3)).unwrap();
        let changed: Vec<DiffLine> = diff(&old, &new).into_iter().filter(|l| !matches!(l, DiffLine::Same(_))).collect();
        assert_eq!(
            changed,
            [
                DiffLine::Minus("    n: 2".into()),
                DiffLine::Plus("    n: 3".into()),
                DiffLine::Plus("      - {label: s3, value: 790 N, mode: unknown}".into()),
            ]
        );
        assert!(read::read(new.as_bytes()).faults.is_empty() && new.ends_with("tags: [own]\n"));
        let other = add_specimens(&new, "strip_torque", &specimens("1 N", 9)).unwrap();
        assert!(read::read(other.as_bytes()).faults.is_empty() && other.contains("- quantity: strip_torque\n"));
    }

    #[test]
    fn nothing_is_overwritten() {
        let old = new_series(&head(), "pull_out_load", &specimens("812 N", 1));
        assert!(add_specimens(&old, "pull_out_load", &specimens("900 N", 1)).unwrap_err().0.contains("s1"));
        assert!(add_specimens("a: [1", "x", &[]).is_err());
    }

    #[test]
    fn scalars_that_mean_something_else_are_quoted() {
        for text in ["yes", "No", "a: b", "#x", "-x", "", "a, b", "x ", "{", "NaN"] {
            assert!(scalar(text).starts_with('"'), "{text}");
        }
        assert_eq!(scalar("812 N"), "812 N");
    }
}
