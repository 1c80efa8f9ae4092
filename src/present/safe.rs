//! Record text made safe for terminals: control and bidirectional characters are shown, never sent.

use std::borrow::Cow;

/// Whether a character may reach a terminal as it is: the list of the record profile, and no line or tab control.
pub fn harmless(c: char) -> bool {
    crate::read::characters::trouble(c).is_none() && !c.is_control()
}

/// One line of text with every other character in visible form (`\u{1b}`).
pub fn line(text: &str) -> Cow<'_, str> {
    if text.chars().all(harmless) {
        return Cow::Borrowed(text);
    }
    Cow::Owned(text.chars().map(|c| if harmless(c) { c.to_string() } else { c.escape_unicode().to_string() }).collect())
}

/// Several lines of text; line feeds stay, tabs become spaces.
pub fn lines(text: &str) -> String {
    text.split('\n').map(|l| line(&l.replace('\t', "    ")).into_owned()).collect::<Vec<_>>().join("\n")
}

/// Text that Markdown leaves as it is: no mark-up, no mentions, no HTML.
pub fn escape_markdown(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars() {
        match c {
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '#' | '!' => {
                out.push('\\');
                out.push(c);
            }
            '@' => out.push_str("&#64;"),
            c => out.push(c),
        }
    }
    out
}
