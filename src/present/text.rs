//! Pages as plain text and as Markdown.

use super::page::{Block, Page};
use super::table::Table;
use super::{Look, safe};

/// A page for a terminal or a file.
pub fn page(page: &Page, look: Look) -> String {
    let mut out = String::new();
    let mut fields: Vec<(&str, &str)> = Vec::new();
    for block in &page.blocks {
        if let Block::Field { label, text } = block {
            fields.push((label, text));
            continue;
        }
        flush(&mut out, &mut fields, look);
        one(&mut out, block, look);
    }
    flush(&mut out, &mut fields, look);
    out
}

fn one(out: &mut String, block: &Block, look: Look) {
    match block {
        Block::Title(t) => push(out, &broken(&emphasis(t, look), 0, 0, look.width, look.colour)),
        Block::Heading(t) => push(out, &emphasis(t, look)),
        Block::Line { indent, text } => push(out, &wrap(text, indent * 2, indent * 2, look.width)),
        Block::Item { indent, text } => push(out, &wrap(&format!("- {text}"), indent * 2, indent * 2 + 2, look.width)),
        Block::Table(t) => push(out, &grid(t, look.width)),
        Block::Verbatim(t) => push(out, &safe::lines(t)),
        Block::Blank if out.ends_with("\n\n") || out.is_empty() => {}
        Block::Blank => out.push('\n'),
        Block::Field { .. } => {}
    }
}

fn push(out: &mut String, text: &str) {
    out.push_str(text.trim_end_matches('\n'));
    out.push('\n');
}

fn emphasis(text: &str, look: Look) -> String {
    let text = safe::line(text);
    if look.colour { format!("\u{1b}[1m{text}\u{1b}[0m") } else { text.into_owned() }
}

fn flush(out: &mut String, fields: &mut Vec<(&str, &str)>, look: Look) {
    let label_width = fields.iter().map(|(l, _)| l.chars().count()).max().unwrap_or(0);
    for (label, text) in fields.drain(..) {
        let pad = " ".repeat(label_width - label.chars().count());
        push(out, &wrap(&format!("{label}{pad}\u{0}{text}"), 0, label_width + 2, look.width));
    }
}

/// Breaks a text at spaces so that no line passes `width`; the first line starts at `first`, the others at `rest` columns.
pub fn wrap(text: &str, first: usize, rest: usize, width: usize) -> String {
    broken(text, first, rest, width, false)
}

/// As [`wrap`]; `styled` text holds escapes of our own and was made safe before. Whether it does is for the caller to say: text
/// from elsewhere may begin with an escape too.
fn broken(text: &str, first: usize, rest: usize, width: usize, styled: bool) -> String {
    // A NUL marks the two spaces between a label and its text, which must not break or shrink.
    let mut out = String::new();
    let mut line = " ".repeat(first);
    let mut used = first;
    let mut fresh = true;
    let words = text.split(' ');
    for word in words {
        let shown = if styled {
            word.to_string()
        } else {
            word.split('\u{0}').map(|w| safe::line(w).into_owned()).collect::<Vec<_>>().join("  ")
        };
        let size = shown.chars().count();
        if !fresh && used + 1 + size > width.max(rest + 20) {
            out.push_str(line.trim_end());
            out.push('\n');
            line = " ".repeat(rest);
            used = rest;
            fresh = true;
        }
        if !fresh {
            line.push(' ');
            used += 1;
        }
        line.push_str(&shown);
        used += size;
        fresh = false;
    }
    out.push_str(line.trim_end());
    out
}

fn grid(table: &Table, width: usize) -> String {
    use comfy_table::{ColumnConstraint, ContentArrangement, Table as Grid, Width, presets};
    let mut grid = Grid::new();
    grid.load_style(presets::NOTHING).set_content_arrangement(ContentArrangement::Dynamic);
    // One column of prose may wrap; ids, numbers and short words stay whole, even if a line grows too long by it.
    let prose = widest_prose(table);
    grid.set_width(u16::try_from(width).ok().filter(|_| prose.is_some()).unwrap_or(u16::MAX));
    grid.set_header(table.columns.iter().map(|c| c.replace('_', " ")));
    for row in &table.rows {
        grid.add_row(row.iter().map(super::table::Cell::shown));
    }
    for (place, column) in grid.column_iter_mut().enumerate() {
        column.set_padding((0, 2));
        // Prose of a few letters in each line nobody reads; then the lines grow too long here too.
        let least = ColumnConstraint::LowerBoundary(Width::Fixed(LEAST));
        column.set_constraint(if Some(place) == prose { least } else { ColumnConstraint::ContentWidth });
    }
    grid.lines().map(|l| l.trim_end().to_string() + "\n").collect()
}

/// Characters of a cell that is worth breaking.
const LONG: usize = 20;
/// Least width of a column of prose, with the space behind it.
const LEAST: u16 = 14;

/// The column with the longest cell that has spaces to break at; none where all such cells are short.
fn widest_prose(table: &Table) -> Option<usize> {
    let width = |place: usize| {
        let cells = table.rows.iter().filter_map(|r| r.get(place)).map(super::table::Cell::shown);
        cells.filter(|c| c.contains(' ')).map(|c| c.chars().count()).max().unwrap_or(0)
    };
    (0..table.columns.len()).filter(|&place| width(place) > LONG).max_by_key(|&place| width(place))
}

/// The page as Markdown.
pub fn markdown(page: &Page) -> String {
    let mut out = String::new();
    let clean = |t: &str| safe::escape_markdown(&safe::line(t));
    for block in &page.blocks {
        match block {
            Block::Title(t) => out.push_str(&format!("# {}\n\n", clean(t))),
            Block::Heading(t) => out.push_str(&format!("## {}\n\n", clean(t))),
            Block::Line { text, .. } => out.push_str(&format!("{}\n\n", clean(text))),
            Block::Item { indent, text } => out.push_str(&format!("{}- {}\n", "  ".repeat(*indent), clean(text))),
            Block::Field { label, text } => out.push_str(&format!("- **{}** {}\n", clean(label), clean(text))),
            Block::Table(t) => out.push_str(&format!("{}\n", t.markdown())),
            Block::Verbatim(t) => out.push_str(&format!("```text\n{}\n```\n", safe::lines(t).replace("```", "'''"))),
            Block::Blank if out.ends_with("\n\n") || out.is_empty() => {}
            Block::Blank => out.push('\n'),
        }
    }
    out
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
    fn a_table_wraps_prose_and_never_an_id() {
        let mut table = Table::new(&["id", "verdict", "why"]);
        table.rows.push(vec![
            "insert-glued-stepped/cyanoacrylate-thick".into(),
            "does not suit".into(),
            "a b c d e f g h i j k l".into(),
        ]);
        let text = grid(&table, 72);
        assert!(text.contains("insert-glued-stepped/cyanoacrylate-thick  does not suit  "), "{text}");
        assert!(text.lines().all(|l| l.chars().count() <= 72), "{text}");
        // Where there is no room the line grows too long, and no word is broken into letters.
        let words = "preparation of the surface, then the adhesive";
        table.rows[0][2] = words.into();
        let narrow = grid(&table, 40);
        assert!(words.split(' ').all(|word| narrow.contains(word)), "{narrow}");
        assert!("abcdefghijkl".chars().all(|c| text.contains(&format!(" {c}"))), "{text}");
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
