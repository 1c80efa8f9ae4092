//! Pages as plain text and as Markdown.

use super::fold::{HELD, fold, wide};
use super::page::{Block, Page};
use super::{Look, grid, safe, tone};

/// A page for a terminal or a file.
pub fn page(page: &Page, look: Look) -> String {
    let mut out = String::new();
    let mut fields: Vec<FieldLine<'_>> = Vec::new();
    for block in &page.blocks {
        if let Block::Field { indent, label, text } = block {
            fields.push(FieldLine { indent: *indent, label, text });
            continue;
        }
        flush(&mut out, &mut fields, look);
        one(&mut out, block, look);
    }
    flush(&mut out, &mut fields, look);
    out
}

struct FieldLine<'p> {
    indent: usize,
    label: &'p str,
    text: &'p str,
}

fn one(out: &mut String, block: &Block, look: Look) {
    match block {
        Block::Title(t) => push(out, &title(t, look)),
        Block::Heading(t) => push(out, &strong(t, look)),
        Block::Line { indent, text } => push(out, &fold(text, &spaces(*indent), &spaces(*indent), look.width)),
        Block::Item { indent, text } => {
            let (first, rest) = (format!("{}- ", spaces(*indent)), format!("{}  ", spaces(*indent)));
            push(out, &fold(text, &first, &rest, look.width));
        }
        Block::Table(t) => push(out, &grid::grid(t, look)),
        Block::Spot { place, severity, rule } => push(out, &spot(place, *severity, rule, look)),
        Block::Verbatim(t) => push(out, &safe::lines(t)),
        Block::Blank if out.ends_with("\n\n") || out.is_empty() => {}
        Block::Blank => out.push('\n'),
        Block::Field { .. } => {}
    }
}

/// Steps of two columns.
fn spaces(steps: usize) -> String {
    "  ".repeat(steps)
}

fn push(out: &mut String, text: &str) {
    out.push_str(text.trim_end_matches('\n'));
    out.push('\n');
}

fn strong(text: &str, look: Look) -> String {
    fold(text, "", "", look.width).lines().map(|line| tone::strong(line, look) + "\n").collect()
}

/// A title; a verdict at its end stands in its colour and on one line.
fn title(text: &str, look: Look) -> String {
    let verdict = text.rsplit_once(": ").map(|(_, last)| last).and_then(|last| Some((last, tone::of(last)?)));
    let Some((word, tone)) = verdict else { return strong(text, look) };
    let held = word.replace(' ', &HELD.to_string());
    let folded = fold(&format!("{}{held}", &text[..text.len() - word.len()]), "", "", look.width);
    let before = folded.strip_suffix(word).unwrap_or(&folded);
    let mut out: String = before
        .split_inclusive('\n')
        .map(|l| {
            let line = l.trim_end_matches('\n');
            tone::strong(line, look) + &l[line.len()..]
        })
        .collect();
    out.push_str(&tone::paint(word, tone, look));
    out
}

fn spot(place: &str, severity: crate::finding::Severity, rule: &str, look: Look) -> String {
    let place = safe::line(place);
    let gap = if place.is_empty() { "" } else { "  " };
    let word = tone::paint(severity.word(), tone::of_severity(severity), look);
    format!("{}{gap}{word}  {}", tone::strong(&place, look), safe::line(rule))
}

fn flush(out: &mut String, fields: &mut Vec<FieldLine<'_>>, look: Look) {
    let widest = fields.iter().map(|f| wide(f.label)).max().unwrap_or(0);
    for FieldLine { indent, label, text } in fields.drain(..) {
        let first = format!("{}{}{}", spaces(indent), safe::line(label), " ".repeat(widest - wide(label) + 2));
        push(out, &fold(text, &first, &" ".repeat(2 * indent + widest + 2), look.width));
    }
}

/// The page as Markdown.
pub fn markdown(page: &Page) -> String {
    let mut out = String::new();
    let clean = |t: &str| safe::escape_markdown(&safe::line(t));
    for block in &page.blocks {
        match block {
            Block::Title(t) => out.push_str(&format!("# {}\n\n", clean(t))),
            Block::Heading(t) => out.push_str(&format!("## {}\n\n", clean(t))),
            // What is set in below an item belongs to it.
            Block::Line { indent, text } if *indent > 0 && in_list(&out) => {
                out.push_str(&format!("{}- {}\n", "  ".repeat(*indent), clean(text)));
            }
            Block::Line { text, .. } => {
                end_list(&mut out);
                out.push_str(&format!("{}\n\n", clean(text)));
            }
            Block::Item { indent, text } => out.push_str(&format!("{}- {}\n", "  ".repeat(*indent), clean(text))),
            Block::Spot { place, severity, rule } => {
                end_list(&mut out);
                out.push_str(&format!("{} **{}** {}\n\n", clean(place), severity.word(), clean(rule)));
            }
            // A field goes on below its label.
            Block::Field { label, text, .. } if label.is_empty() => out.push_str(&format!("  - {}\n", clean(text))),
            Block::Field { label, text, .. } => out.push_str(&format!("- **{}** {}\n", clean(label), clean(text))),
            Block::Table(t) => {
                end_list(&mut out);
                out.push_str(&format!("{}\n", t.markdown()));
            }
            Block::Verbatim(t) => out.push_str(&format!("```text\n{}\n```\n", safe::lines(t).replace("```", "'''"))),
            Block::Blank if out.ends_with("\n\n") || out.is_empty() => {}
            Block::Blank => out.push('\n'),
        }
    }
    out
}

/// Whether the last line is an item of a list.
fn in_list(out: &str) -> bool {
    let last = out.strip_suffix('\n').and_then(|before| before.rsplit('\n').next());
    last.is_some_and(|line| line.trim_start().starts_with("- "))
}

/// A list ends with an empty line, or what follows would belong to its last item.
fn end_list(out: &mut String) {
    if in_list(out) {
        out.push('\n');
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lines_break_at_spaces_behind_their_dash() {
        let mut p = Page::default();
        p.item("one two three four five six seven eight");
        let text = super::page(&p, Look { width: 22, colour: false });
        assert_eq!(text, "- one two three four\n  five six seven eight\n");
    }

    #[test]
    fn a_field_that_goes_on_has_no_label_in_markdown() {
        let mut page = Page::default();
        page.field("Reason", "one").field("", "two");
        assert_eq!(markdown(&page), "- **Reason** one\n  - two\n");
    }

    /// CommonMark 0.31, 5.2: a line below an item goes on with it, unless an empty line and its indentation set it apart.
    #[test]
    fn what_follows_a_list_is_no_part_of_it_and_what_is_set_in_is() {
        let mut page = Page::default();
        page.item("one").sub(1, "of one").sub(1, "of one too").item("two").line("a paragraph").sub(1, "another");
        assert_eq!(markdown(&page), "- one\n  - of one\n  - of one too\n- two\n\na paragraph\n\nanother\n\n");
        let mut page = Page::default();
        page.field("Reason", "one").table(crate::present::Table::new(&["a"]));
        assert!(markdown(&page).starts_with("- **Reason** one\n\n|"), "{}", markdown(&page));
    }

    #[test]
    fn a_number_keeps_its_unit_on_its_line() {
        let mut page = Page::default();
        page.line("loads of 1173 N, 938 N and 95 % of them");
        let lines = super::page(&page, Look { width: 24, colour: false });
        assert_eq!(lines, "loads of 1173 N, 938 N\nand 95 % of them\n");
    }

    #[test]
    fn a_verdict_ends_its_title_in_one_piece() {
        let title = "M3 x 5.0 mm in Polylactide: heat-set insert: suits with care";
        let shown = |width, colour| super::page(&Page::titled(title), Look { width, colour });
        assert!(shown(55, false).ends_with("\nsuits with care\n"), "{}", shown(55, false));
        let coloured = shown(80, true);
        assert!(coloured.contains("\u{1b}[1;33msuits with care\u{1b}[0m"), "{coloured:?}");
        let mut plain = coloured;
        for code in ["\u{1b}[1;33m", "\u{1b}[1m", "\u{1b}[0m"] {
            plain = plain.replace(code, "");
        }
        assert_eq!(plain, shown(80, false));
    }

    #[test]
    fn text_that_begins_with_an_escape_is_no_style_of_ours() {
        let mut page = Page::titled("\u{1b}[2Jtitle");
        page.heading("\u{1b}[2Jheading").line("\u{1b}[2Jline of words").item("\u{1b}[2J").field("\u{1b}[2J", "\u{1b}[2J");
        for width in [20, 100] {
            assert!(!super::page(&page, Look { width, colour: false }).contains('\u{1b}'));
        }
        let coloured = super::page(&page, Look { width: 100, colour: true });
        assert!(!coloured.contains("\u{1b}[2J"), "{coloured:?}");
    }

    #[test]
    fn no_control_character_reaches_a_person() {
        let mut p = Page::titled("a\u{1b}[31mb");
        p.line("x\u{202E}y").item("\u{7}").field("la", "\u{9b}31m");
        let text = super::page(&p, Look { width: 80, colour: false });
        assert!(text.chars().all(|c| c == '\n' || safe::harmless(c)), "{text:?}");
        assert!(markdown(&p).chars().all(|c| c == '\n' || safe::harmless(c)));
    }
}
