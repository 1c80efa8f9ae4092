//! What is shown, in every form: text, Markdown, CSV, annotations, JSON, SARIF.

use gripbook::finding::{Finding, Severity, Span};
use gripbook::present::page::Page;
use gripbook::present::sarif::RuleCard;
use gripbook::present::table::{Cell, Table};
use gripbook::present::{Look, findings, sarif, text};

/// Text from anywhere, in every place of a finding, a page and a table.
pub fn output(bytes: &[u8]) -> bool {
    let text = String::from_utf8_lossy(bytes);
    let parts: Vec<&str> = text.splitn(5, '\u{1}').collect();
    let part = |n: usize| (*parts.get(n).unwrap_or(&&*text)).to_owned();
    let rules = ["unsourced", "unit-unknown", "key-twice"];
    let severity = [Severity::Error, Severity::Warning, Severity::Note][bytes.len() % 3];
    let length = u32::try_from(bytes.len()).unwrap_or(0);
    let mut finding = Finding::new(rules[bytes.len() % 3], severity, &part(0), part(1)).help(part(2)).about(part(3));
    finding.excerpt = Some(part(4));
    let place = Span { start: length / 3, end: length / 3 + length % 7, line: 1 + length % 5, column: 1 + length % 11 };
    let found = [finding.clone().at(place), finding];
    shown_safely(&found);
    tables(&part(0), &part(1));
    !text.is_empty()
}

fn tables(a: &str, b: &str) {
    let mut table = Table::new(&["first_text", "number", "second_text"]);
    table.row(vec![Cell::from(a), Cell::Number(-2.5), Cell::from(b)]).row(vec![Cell::from(b), Cell::Empty, Cell::from(a)]);
    let csv = table.csv();
    let rows = csv_rows(&csv);
    assert_eq!(rows.len(), 3, "{csv:?}");
    assert!(rows.iter().all(|row| row.len() == 3), "{csv:?}");
    for cell in [&rows[1][0], &rows[1][2], &rows[2][0]] {
        assert!(!cell.starts_with(['=', '+', '-', '@', '\t', '\r']), "{cell:?}");
    }
    assert_eq!(rows[1][1], "-2.5");
    assert_eq!(rows[1][0].trim_start_matches('\''), a.trim_start_matches('\''));
    let markdown = table.markdown();
    assert_eq!(markdown.lines().count(), 4, "{markdown:?}");
    safe(&markdown);
    for line in table.json_lines("x/1").lines() {
        serde_json::from_str::<serde_json::Value>(line).expect("one value a line");
    }
    let mut page = Page::titled(a);
    page.heading(b).line(a).item(b).field(a, b).table(table);
    for width in [20, 100] {
        safe(&text::page(&page, Look { width, colour: false }));
    }
    let markdown = text::markdown(&page);
    safe(&markdown);
    // What would be a link or an element has a backslash before its bracket.
    for opening in ["](", "<img"] {
        for (at, _) in markdown.match_indices(opening) {
            assert!(markdown[..at].ends_with('\\'), "{markdown}");
        }
    }
}

/// RFC 4180, read independently of the writer.
fn csv_rows(text: &str) -> Vec<Vec<String>> {
    let (mut rows, mut row, mut cell, mut is_quoted) = (Vec::new(), Vec::new(), String::new(), false);
    let mut letters = text.chars().peekable();
    while let Some(c) = letters.next() {
        match c {
            '"' if is_quoted && letters.peek() == Some(&'"') => {
                letters.next();
                cell.push('"');
            }
            '"' if is_quoted => is_quoted = false,
            '"' if cell.is_empty() => is_quoted = true,
            ',' if !is_quoted => row.push(std::mem::take(&mut cell)),
            '\n' if !is_quoted => {
                row.push(std::mem::take(&mut cell));
                rows.push(std::mem::take(&mut row));
            }
            other => cell.push(other),
        }
    }
    rows
}

fn safe(shown: &str) {
    let bad = shown.chars().find(|c| {
        *c != '\n' && (c.is_control() || ('\u{202a}'..='\u{202e}').contains(c) || ('\u{2066}'..='\u{2069}').contains(c))
    });
    assert_eq!(bad, None, "{shown:?}");
}

/// Every form of findings: text without control characters, annotations of ours only, JSON and SARIF that are JSON.
pub fn shown_safely(found: &[Finding]) {
    safe(&gripbook::present::text::page(
        &gripbook::present::findings::page(found),
        gripbook::present::Look { width: 100, colour: false },
    ));
    let github = findings::github(found);
    safe(&github);
    for line in github.lines() {
        let ours = ["::error title=", "::warning title=", "::notice title=", "::notice::"].iter().any(|s| line.starts_with(s));
        assert!(ours && line.matches("::").count() == 2, "{line:?}");
    }
    drop(findings::json(found).to_string());
    let cards = [RuleCard { name: "unsourced", what: "a", why: "b", severity: Severity::Warning }];
    let document = sarif::document(found, &cards);
    let read: serde_json::Value = serde_json::from_str(&document).expect("SARIF is JSON");
    let results = read["runs"][0]["results"].as_array().expect("results");
    assert_eq!(results.len(), found.len());
    for (result, finding) in results.iter().zip(found) {
        let place = &result["locations"][0]["physicalLocation"];
        let uri = place["artifactLocation"]["uri"].as_str().expect("an address");
        let plain = |b: u8| b.is_ascii_alphanumeric() || b"-._~/%".contains(&b);
        assert!(!uri.is_empty() && !uri.starts_with('/') && uri.bytes().all(plain), "{uri:?}");
        assert!(result["message"]["text"].as_str().is_some_and(|t| t.starts_with(&finding.message)));
    }
}
