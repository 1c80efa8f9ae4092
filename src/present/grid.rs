//! A table on a screen. Columns stand side by side where they fit; prose folds at its spaces, at last down to its longest word;
//! where that does not suffice the later columns follow below, or each row becomes a block. No word is ever broken.

use super::fold::{fold, wide, with_units};
use super::table::{Cell, Table};
use super::{Look, tone};

/// Columns between two columns.
const GAP: usize = 2;
/// A column of prose is not made narrower than this for others' sake.
const LEAST: usize = 14;
/// More lines than this no row has; then its cells stand below each other.
const TALL: usize = 5;
/// Letters of a cell from which it is prose.
const PROSE: usize = 36;

/// The cells as they are shown, with the widths they want.
struct ShownTable {
    head: Vec<String>,
    rows: Vec<Vec<String>>,
}

impl ShownTable {
    fn of(table: &Table) -> Self {
        let head = table.columns.iter().map(|c| super::safe::line(&c.replace('_', " ")).into_owned()).collect();
        ShownTable { head, rows: table.rows.iter().map(|row| row.iter().map(Cell::shown).collect()).collect() }
    }
    fn column(&self, at: usize) -> impl Iterator<Item = &str> {
        let cells = self.rows.iter().filter_map(move |row| row.get(at));
        self.head.get(at).into_iter().chain(cells).map(String::as_str)
    }
    fn natural(&self, at: usize) -> usize {
        self.column(at).map(wide).max().unwrap_or(0)
    }
    /// The narrowest a column may be: its longest word, and of prose some room more.
    fn least(&self, at: usize, prose: usize) -> usize {
        let longest = |text: &str| with_units(text).split(' ').map(wide).max().unwrap_or(0);
        let word = self.column(at).map(longest).max().unwrap_or(0);
        word.max(self.natural(at).min(prose))
    }
    fn has_prose(&self) -> bool {
        (0..self.head.len()).any(|at| self.natural(at) > PROSE)
    }
    fn tallest(&self, columns: &[usize], widths: &[usize]) -> usize {
        let lines = |row: &Vec<String>| {
            let each = columns.iter().zip(widths).map(|(&at, &width)| row.get(at).map_or(0, |cell| broken(cell, width).len()));
            each.max().unwrap_or(0)
        };
        self.rows.iter().map(lines).max().unwrap_or(0)
    }
}

/// The table as text that passes `look.width` only where a single word does.
pub fn grid(table: &Table, look: Look) -> String {
    let shown = ShownTable::of(table);
    let all: Vec<usize> = (0..shown.head.len()).collect();
    let beside = |prose| widths(&shown, &all, look.width, prose).filter(|widths| shown.tallest(&all, widths) <= TALL);
    match [LEAST, 0].into_iter().find_map(beside) {
        Some(widths) => side_by_side(&shown, &all, &widths, look),
        None if shown.has_prose() => blocks(&shown, look),
        None => stacked(&shown, look),
    }
}

/// The width of each column: its own where all fit, else the widest ones give way alike; `None` where words would break.
fn widths(shown: &ShownTable, columns: &[usize], width: usize, prose: usize) -> Option<Vec<usize>> {
    let room = width.checked_sub(GAP * columns.len().saturating_sub(1))?;
    let natural: Vec<usize> = columns.iter().map(|&at| shown.natural(at)).collect();
    let least: Vec<usize> = columns.iter().map(|&at| shown.least(at, prose)).collect();
    let with = |most: usize| -> Vec<usize> { natural.iter().zip(&least).map(|(n, l)| (*n).min(most.max(*l))).collect() };
    let widest = natural.iter().copied().max().unwrap_or(0);
    (0..=widest).rev().map(with).find(|widths| widths.iter().sum::<usize>() <= room)
}

fn broken(cell: &str, width: usize) -> Vec<String> {
    fold(cell, "", "", width).lines().map(str::to_owned).collect()
}

fn side_by_side(shown: &ShownTable, columns: &[usize], widths: &[usize], look: Look) -> String {
    let mut out = String::new();
    let names: Vec<&str> = columns.iter().map(|&at| &*shown.head[at]).collect();
    row(&mut out, &names, widths, |_, text| tone::strong(text, look));
    for cells in &shown.rows {
        let texts: Vec<&str> = columns.iter().map(|&at| cells.get(at).map_or("", String::as_str)).collect();
        row(&mut out, &texts, widths, |place, text| told(names[place], texts[place], text, look));
    }
    out
}

/// A cell in its colour: a verdict or a severity, in a column of that name.
fn told(column: &str, cell: &str, text: &str, look: Look) -> String {
    let named = matches!(column, "verdict" | "severity");
    tone::of(cell).filter(|_| named).map_or_else(|| text.to_owned(), |tone| tone::paint(text, tone, look))
}

fn row(out: &mut String, texts: &[&str], widths: &[usize], styled: impl Fn(usize, &str) -> String) {
    let cells: Vec<Vec<String>> = texts.iter().zip(widths).map(|(text, &width)| broken(text, width)).collect();
    let height = cells.iter().map(Vec::len).max().unwrap_or(0).max(1);
    for line in 0..height {
        let part = |place: usize| cells[place].get(line).map_or("", String::as_str);
        let last = (0..cells.len()).rev().find(|&place| !part(place).is_empty());
        for (place, &width) in widths.iter().enumerate().take(last.map_or(0, |last| last + 1)) {
            let text = part(place);
            let behind = if Some(place) == last { 0 } else { (width + GAP).saturating_sub(wide(text)) };
            if !text.is_empty() {
                out.push_str(&styled(place, text));
            }
            out.push_str(&" ".repeat(behind));
        }
        out.push('\n');
    }
}

/// Numbers that do not fit beside each other: the columns that are left follow in tables below, each led by the first column.
fn stacked(shown: &ShownTable, look: Look) -> String {
    let mut parts: Vec<String> = Vec::new();
    let mut left: Vec<usize> = (1..shown.head.len()).collect();
    loop {
        let mut columns = vec![0];
        while let Some(&next) = left.first() {
            let trial: Vec<usize> = columns.iter().copied().chain([next]).collect();
            if columns.len() > 1 && widths(shown, &trial, look.width, LEAST).is_none() {
                break;
            }
            columns = trial;
            left.remove(0);
        }
        let own = || columns.iter().map(|&at| shown.least(at, LEAST)).collect();
        parts.push(side_by_side(shown, &columns, &widths(shown, &columns, look.width, LEAST).unwrap_or_else(own), look));
        if left.is_empty() {
            return parts.join("\n");
        }
    }
}

/// Each row as a block: what it is about, and below it every other cell behind its name.
fn blocks(shown: &ShownTable, look: Look) -> String {
    // A column without a name holds a mark of the row, not what the row is about.
    let key = shown.head.iter().position(|name| !name.is_empty()).unwrap_or(0);
    let others: Vec<usize> = (key + 1..shown.head.len()).collect();
    let label = others.iter().map(|&at| wide(&shown.head[at])).max().unwrap_or(0);
    let block = |row: &Vec<String>| {
        let head = row.iter().take(key + 1).filter(|cell| !cell.is_empty()).map(String::as_str).collect::<Vec<_>>().join(" ");
        // A bare number would not say what it counts.
        let head = if head.parse::<f64>().is_ok() { format!("{} {head}", shown.head[key]) } else { head };
        let lines = fold(&head, "", "  ", look.width);
        let mut out: String = lines.lines().map(|line| tone::strong(line, look) + "\n").collect();
        for &at in &others {
            let cell = row.get(at).map_or("", String::as_str);
            if cell.is_empty() {
                continue;
            }
            let name = &shown.head[at];
            let first = format!("  {name}{}", " ".repeat(label - wide(name) + GAP));
            let text = fold(cell, &first, &" ".repeat(2 + label + GAP), look.width);
            match text.strip_prefix(first.as_str()) {
                Some(rest) => out.push_str(&format!("{first}{}", told(name, cell, rest, look))),
                None => out.push_str(&text),
            }
            out.push('\n');
        }
        out
    };
    shown.rows.iter().map(block).collect::<Vec<_>>().join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn look(width: usize) -> Look {
        Look { width, colour: false }
    }

    fn table(columns: &[&str], rows: &[&[&str]]) -> Table {
        let mut table = Table::new(columns);
        rows.iter().for_each(|row| {
            table.row(row.iter().map(|cell| Cell::from(*cell)).collect());
        });
        table
    }

    #[test]
    fn prose_folds_and_an_id_stays_whole() {
        let table = table(
            &["id", "verdict", "why"],
            &[&["insert-glued-stepped/cyanoacrylate-thick", "does not suit", "a b c d e f g h i j k l"]],
        );
        let text = grid(&table, look(72));
        assert!(text.contains("insert-glued-stepped/cyanoacrylate-thick  does not suit  "), "{text}");
        assert!(text.lines().all(|l| l.chars().count() <= 72), "{text}");
        assert!("abcdefghijkl".chars().all(|c| text.contains(&format!(" {c}"))), "{text}");
    }

    #[test]
    fn no_word_breaks_at_any_width() {
        let words = "Cyanoacrylate Acrylonitrile-butadiene-styrene preparation of the surface, then the adhesive";
        let table = table(
            &["id", "name", "family"],
            &[&["adhesive/cyanoacrylate-medium", words, "cyanoacrylate-medium"], &["polymer/abs", words, "abs"]],
        );
        for width in [20, 30, 40, 60, 80, 100, 120, 200] {
            let text = grid(&table, look(width));
            let every = words.split(' ').chain(["adhesive/cyanoacrylate-medium", "cyanoacrylate-medium"]);
            every.for_each(|word| {
                assert!(text.split_whitespace().filter(|w| *w == word).count() > 0, "{word} at {width}:\n{text}")
            });
            let longest = wide("Acrylonitrile-butadiene-styrene") + 2 + 6 + 2;
            assert!(text.lines().all(|l| wide(l) <= width.max(longest)), "{width}:\n{text}");
        }
    }

    #[test]
    fn columns_of_numbers_that_do_not_fit_follow_below_with_their_row() {
        let table = table(&["size", "first", "second", "third", "fourth"], &[&["M3", "1.000", "2.000", "3.000", "4.000"]]);
        let text = grid(&table, look(24));
        assert_eq!(text.matches("M3").count(), 2, "{text}");
        assert!(["1.000", "2.000", "3.000", "4.000"].iter().all(|cell| text.contains(cell)), "{text}");
        assert!(text.lines().all(|l| l.chars().count() <= 24), "{text}");
    }

    #[test]
    fn long_names_stay_a_table_on_80_columns() {
        let table = table(
            &["id", "name", "tensile strength", "Tg", "series", "claims"],
            &[
                &["resin/clear-without-absorber", "Methacrylate resin, clear", "43.7 MPa to 48.5 MPa", "27 °C", "0", "12"],
                &["resin/tough", "Urethane-acrylate resin, tough", "68 MPa", "not known", "0", "12"],
            ],
        );
        let text = grid(&table, look(80));
        assert!(text.starts_with("id  ") && text.lines().all(|l| wide(l) <= 80), "{text}");
        assert!(text.lines().any(|l| l.starts_with("resin/tough  ") && l.contains("68 MPa")), "{text}");
    }

    #[test]
    fn a_block_that_begins_with_a_number_says_what_it_counts() {
        let claim = "polymer/a-name-that-is-far-too-long-for-a-table:tensile_strength#1f2e3d4c";
        let text = grid(&table(&["answers", "claim"], &[&["3000", claim]]), look(60));
        assert!(text.starts_with("answers 3000\n") && text.contains(claim), "{text}");
    }

    #[test]
    fn letters_of_two_columns_are_counted_as_two() {
        let table = table(&["name", "word"], &[&["樹脂", "x"], &["pla", "y"]]);
        let text = grid(&table, look(80));
        let at = |letter: char| text.lines().find_map(|l| l.find(letter).map(|byte| wide(&l[..byte])));
        assert_eq!(at('x'), at('y'), "{text}");
    }

    #[test]
    fn a_verdict_is_coloured_and_the_same_word_elsewhere_is_not() {
        let table = table(&["name", "verdict"], &[&["unknown", "unknown"]]);
        let text = grid(&table, Look { width: 80, colour: true });
        assert_eq!(text.matches("\u{1b}[1;36m").count(), 1, "{text:?}");
    }
}
