//! Pages as HTML: plain elements, every text escaped, links where somebody says what a word leads to.

use super::page::{Block, Page};
use super::{Table, safe, tone};

/// What a word of a text leads to, if anything: an address to put into a link.
pub type Leads<'l> = &'l dyn Fn(&str) -> Option<String>;

/// The body of a page; titles are `h1`, headings `h2`.
pub fn body(page: &Page, leads: Leads<'_>) -> String {
    let mut out = String::new();
    let mut open = None;
    for block in &page.blocks {
        let wanted = match block {
            Block::Item { .. } => Some("ul"),
            Block::Field { .. } => Some("dl"),
            Block::Blank => open,
            _ => None,
        };
        if open != wanted {
            open.iter().for_each(|tag| out.push_str(&format!("</{tag}>\n")));
            wanted.iter().for_each(|tag| out.push_str(&format!("<{tag}>\n")));
            open = wanted;
        }
        one(&mut out, block, leads);
    }
    open.iter().for_each(|tag| out.push_str(&format!("</{tag}>\n")));
    out
}

fn one(out: &mut String, block: &Block, leads: Leads<'_>) {
    let text = |text: &str| linked(text, leads);
    match block {
        Block::Title(title) => out.push_str(&format!("<h1>{}</h1>\n", self::title(title))),
        Block::Heading(heading) => out.push_str(&format!("<h2>{}</h2>\n", escaped(heading))),
        Block::Line { indent, text: line } => out.push_str(&format!("<p{}>{}</p>\n", inset(*indent), text(line))),
        Block::Item { indent, text: item } => out.push_str(&format!("<li{}>{}</li>\n", inset(*indent), text(item))),
        Block::Field { label, text: field, .. } => {
            out.push_str(&format!("<dt>{}</dt><dd>{}</dd>\n", escaped(label), text(field)));
        }
        Block::Table(table) => push_table(out, table, leads),
        Block::Spot { place, severity, rule } => {
            out.push_str(&format!("<p><b>{}</b> {} {}</p>\n", escaped(place), severity.word(), escaped(rule)));
        }
        Block::Verbatim(lines) => out.push_str(&format!("<pre>{}</pre>\n", escaped(&safe::lines(lines)))),
        Block::Blank => {}
    }
}

/// A title whose verdict stands apart.
fn title(text: &str) -> String {
    match text.rsplit_once(": ").and_then(|(before, last)| Some((before, last, tone::of(last)?))) {
        Some((before, last, tone)) => {
            format!("{}: <strong class=\"{}\">{}</strong>", escaped(before), super::blocks::word(tone), escaped(last))
        }
        None => escaped(text),
    }
}

fn inset(indent: usize) -> String {
    if indent == 0 { String::new() } else { format!(" class=\"in{}\"", indent.min(3)) }
}

fn push_table(out: &mut String, table: &Table, leads: Leads<'_>) {
    out.push_str("<div class=\"wide\"><table>\n<thead><tr>");
    table.columns.iter().for_each(|c| out.push_str(&format!("<th scope=\"col\">{}</th>", escaped(&c.replace('_', " ")))));
    out.push_str("</tr></thead>\n<tbody>\n");
    for row in &table.rows {
        out.push_str("<tr>");
        row.iter().for_each(|cell| out.push_str(&format!("<td>{}</td>", linked(&cell.shown(), leads))));
        out.push_str("</tr>\n");
    }
    out.push_str("</tbody></table></div>\n");
}

/// A text whose words lead somewhere; brackets and stops around a word are no part of it.
pub fn linked(text: &str, leads: Leads<'_>) -> String {
    let line = safe::line(text);
    let words = line.split_inclusive(' ').map(|word| {
        let bare = word.trim_matches(|c: char| " ()[],;.".contains(c));
        match leads(bare).filter(|_| !bare.is_empty()) {
            Some(address) => {
                let link = format!("<a href=\"{}\">{}</a>", escaped(&address), escaped(bare));
                let (before, after) = word.split_once(bare).unwrap_or((word, ""));
                format!("{}{link}{}", escaped(before), escaped(after))
            }
            None => escaped(word),
        }
    });
    words.collect()
}

/// Text with no mark-up left in it; it may stand in an attribute too.
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in safe::lines(text).chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_of_a_text_is_mark_up_and_known_words_lead_on() {
        let mut page = Page::titled("<script>alert(1)</script>: does not suit");
        page.field("a\"b", "x' onload=").item("see polymer/pla:density, and <i>resin/grey</i>").line("end");
        let known = |word: &str| word.starts_with("polymer/").then(|| format!("{word}.html?a&b"));
        let html = body(&page, &known);
        assert!(
            html.contains("<h1>&lt;script&gt;alert(1)&lt;/script&gt;: <strong class=\"bad\">does not suit</strong></h1>"),
            "{html}"
        );
        assert!(html.contains("<dt>a&quot;b</dt><dd>x&#39; onload=</dd>"), "{html}");
        let link = "<a href=\"polymer/pla:density.html?a&amp;b\">polymer/pla:density</a>, and &lt;i&gt;";
        assert!(html.contains(link), "{html}");
        assert_eq!(html.matches("<ul>").count(), html.matches("</ul>").count());
        assert!(!html.contains("<script") && !html.contains("<i>"), "{html}");
    }
}
