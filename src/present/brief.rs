//! What makes a first screen: texts cut to the room they have, and whether a page is short enough to be one.

use super::{Look, Page, text};

/// Most lines of a first screen.
pub const LINES: usize = 20;
/// Columns that a first screen is laid out for.
pub const COLUMNS: usize = 80;

/// Whether a page is no longer than a first screen.
pub fn fits(page: &Page) -> bool {
    fits_in(page, COLUMNS)
}

/// As [`fits`], on a terminal of so many columns.
pub fn fits_in(page: &Page, width: usize) -> bool {
    let shown = text::page(page, Look { width, colour: false });
    // Excerpts keep their lines; what is too wide for the terminal takes several of its rows.
    shown.lines().map(|line| super::fold::wide(line).div_ceil(width).max(1)).sum::<usize>() <= LINES
}

/// Parts one after the other, as many as fit; how many are left out is said.
pub fn clip(parts: Vec<String>, between: &str, room: usize) -> String {
    const MORE: usize = 18;
    let mut text = String::new();
    let all = parts.len();
    for (at, part) in parts.into_iter().enumerate() {
        let spare = if at + 1 == all { room } else { room.saturating_sub(MORE) };
        if text.is_empty() {
            text = shortened(&part, spare);
        } else if text.chars().count() + between.len() + part.chars().count() <= spare {
            text = format!("{text}{between}{part}");
        } else {
            return format!("{}; {} more: --full", text.trim_end_matches([';', '.', ',']), all - at);
        }
    }
    text
}

/// As [`clip`], for the items of a list: commas between them.
pub fn listed(items: impl IntoIterator<Item = String>, room: usize) -> String {
    clip(items.into_iter().collect(), ", ", room)
}

/// A text too long for its room, broken off at a word.
pub fn shortened(text: &str, room: usize) -> String {
    if text.chars().count() <= room {
        return text.to_owned();
    }
    let cut: String = text.chars().take(room.saturating_sub(2)).collect();
    let whole = cut.rfind(' ').map_or(&*cut, |at| &cut[..at]);
    format!("{} …", whole.trim_end_matches([',', ';', '.']))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_says_how_many_it_leaves_out() {
        let names = |n: usize| (0..n).map(|at| format!("name-{at}"));
        assert_eq!(listed(names(2), 40), "name-0, name-1");
        let text = listed(names(20), 60);
        let shown = (0..20).filter(|at| text.contains(&format!("name-{at}"))).count();
        assert!(text.ends_with(&format!("; {} more: --full", 20 - shown)) && text.chars().count() <= 60, "{text}");
        assert_eq!(listed(names(0), 40), "");
    }

    #[test]
    fn a_text_breaks_off_at_a_word() {
        assert_eq!(shortened("one two three", 13), "one two three");
        assert_eq!(shortened("one two three", 12), "one two …");
    }

    #[test]
    fn a_page_fits_by_the_rows_it_takes() {
        let mut page = Page::default();
        for _ in 0..LINES {
            page.line("a");
        }
        assert!(fits(&page));
        page.blocks.pop();
        page.blocks.push(crate::present::Block::Verbatim("b".repeat(COLUMNS + 1)));
        assert!(!fits(&page), "a line of 81 letters takes two rows");
    }
}
