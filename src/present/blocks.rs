//! Pages as JSON, part by part: for whoever lays them out otherwise than a terminal. The words and numbers are those of the page.

use super::page::{Block, Page};
use super::tone::{self, Tone};
use super::{Table, safe};
use serde_json::{Value, json};

/// The parts of a page in order, each an object with `is` naming its sort.
pub fn blocks(page: &Page) -> Value {
    page.blocks.iter().filter_map(one).collect()
}

fn one(block: &Block) -> Option<Value> {
    let clean = |text: &str| safe::line(text).into_owned();
    Some(match block {
        Block::Title(text) => {
            let verdict = text.rsplit_once(": ").and_then(|(_, last)| tone::of(last));
            json!({"is": "title", "text": clean(text), "tone": verdict.map(word)})
        }
        Block::Heading(text) => json!({"is": "heading", "text": clean(text)}),
        Block::Line { indent, text } => json!({"is": "line", "indent": indent, "text": clean(text)}),
        Block::Item { indent, text } => json!({"is": "item", "indent": indent, "text": clean(text)}),
        Block::Field { indent, label, text } => {
            json!({"is": "field", "indent": indent, "label": clean(label), "text": clean(text)})
        }
        Block::Table(table) => of_table(table),
        Block::Spot { place, severity, rule } => {
            json!({"is": "spot", "place": clean(place), "severity": severity.word(), "rule": clean(rule)})
        }
        Block::Verbatim(text) => json!({"is": "verbatim", "text": safe::lines(text)}),
        Block::Blank => return None,
    })
}

fn of_table(table: &Table) -> Value {
    let columns: Vec<String> = table.columns.iter().map(|column| column.replace('_', " ")).collect();
    let rows: Vec<Vec<String>> = table.rows.iter().map(|row| row.iter().map(|cell| cell.shown()).collect()).collect();
    json!({"is": "table", "columns": columns, "rows": rows})
}

/// The word of a tone.
pub fn word(tone: Tone) -> &'static str {
    match tone {
        Tone::Good => "good",
        Tone::Care => "care",
        Tone::Bad => "bad",
        Tone::Open => "open",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_part_of_a_page_is_told_in_its_order_and_blanks_are_not() {
        let mut table = Table::new(&["design_load"]);
        table.row(vec!["<b>500 N</b>".into()]);
        let mut page = Page::titled("M3 in Polylactide: suits with care");
        page.heading("Why").line("a line").subitem(1, "an item").field("Hole", "finished\u{1b}[31m").table(table);
        let said = blocks(&page);
        let sorts: Vec<&str> = said.as_array().into_iter().flatten().filter_map(|block| block["is"].as_str()).collect();
        assert_eq!(sorts, ["title", "heading", "line", "item", "field", "table"]);
        assert_eq!(said[0]["tone"], "care");
        assert_eq!(said[4]["text"], "finished\\u{1b}[31m", "a control character is shown, never sent");
        assert_eq!(said[5], json!({"is": "table", "columns": ["design load"], "rows": [["<b>500 N</b>"]]}));
    }
}
