//! BibTeX: entries, strings, the common marks of letters. What a source has no place for is told.

use super::cited::{Citation, doi};
use super::fields::person;
use std::collections::HashMap;

/// An entry as it is written: sort, key, fields.
struct BibtexEntry {
    sort: String,
    key: String,
    fields: Vec<(String, String)>,
    line: usize,
}

/// Reads citations; the fault begins with its line.
pub(super) fn read(text: &str) -> Result<Vec<Citation>, String> {
    let mut reader = Reader { text, at: 0, strings: months() };
    let mut all = Vec::new();
    while let Some(entry) = reader.entry()? {
        all.push(citation(&entry)?);
    }
    Ok(all)
}

/// The names of months that every style knows.
fn months() -> HashMap<String, String> {
    let names = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"];
    names.iter().enumerate().map(|(at, name)| ((*name).to_owned(), format!("{:02}", at + 1))).collect()
}

struct Reader<'t> {
    text: &'t str,
    at: usize,
    strings: HashMap<String, String>,
}

impl Reader<'_> {
    fn rest(&self) -> &str {
        &self.text[self.at..]
    }
    fn line(&self) -> usize {
        self.text[..self.at].matches('\n').count() + 1
    }
    fn fault(&self, what: &str) -> String {
        format!("{}: {what}", self.line())
    }
    fn skip(&mut self) {
        self.at += self.rest().len() - self.rest().trim_start().len();
    }
    fn takes(&mut self, c: char) -> bool {
        self.skip();
        let found = self.rest().starts_with(c);
        self.at += if found { c.len_utf8() } else { 0 };
        found
    }
    fn word(&mut self, stop: &[char]) -> String {
        self.skip();
        let end = self.rest().find(|c: char| stop.contains(&c) || c.is_whitespace()).unwrap_or(self.rest().len());
        let word = self.rest()[..end].to_owned();
        self.at += end;
        word
    }
    /// The next entry; comments, preambles and text between entries are passed over, strings are kept.
    fn entry(&mut self) -> Result<Option<BibtexEntry>, String> {
        loop {
            let Some(mark) = self.rest().find('@') else { return Ok(None) };
            self.at += mark + 1;
            let line = self.line();
            let sort = self.word(&['{', '(', '@']).to_lowercase();
            if !self.takes('{') && !self.takes('(') {
                continue;
            }
            match sort.as_str() {
                "comment" | "preamble" => {
                    self.at -= 1;
                    self.braced()?;
                }
                "string" => {
                    let name = self.word(&['=']).to_lowercase();
                    if !self.takes('=') {
                        return Err(self.fault("a string has no value"));
                    }
                    let value = self.value()?;
                    self.strings.insert(name, value);
                    self.takes('}');
                }
                _ => {
                    let key = self.word(&[',', '}', ')']);
                    let fields = self.fields()?;
                    return Ok(Some(BibtexEntry { sort, key, fields, line }));
                }
            }
        }
    }
    fn fields(&mut self) -> Result<Vec<(String, String)>, String> {
        let mut fields = Vec::new();
        loop {
            while self.takes(',') {}
            if self.takes('}') || self.takes(')') {
                return Ok(fields);
            }
            let name = self.word(&['=', ',', '}', ')']).to_lowercase();
            if name.is_empty() || !self.takes('=') {
                return Err(self.fault("`NAME = {VALUE}` is expected; is a brace or a comma missing before?"));
            }
            fields.push((name, self.value()?));
        }
    }
    /// Braced, quoted, a number or a string, joined by `#`.
    fn value(&mut self) -> Result<String, String> {
        let mut out = String::new();
        loop {
            self.skip();
            match self.rest().chars().next() {
                Some('{') => out += &self.braced()?,
                Some('"') => out += &self.in_quotes()?,
                _ => {
                    let word = self.word(&[',', '}', ')', '#']);
                    out += self.strings.get(&word.to_lowercase()).map_or(word.as_str(), String::as_str);
                }
            }
            if !self.takes('#') {
                return Ok(out);
            }
        }
    }
    fn braced(&mut self) -> Result<String, String> {
        let start = self.at + 1;
        let mut depth = 0usize;
        let mut escaped = false;
        for (at, c) in self.rest().char_indices() {
            match c {
                _ if escaped => escaped = false,
                '\\' => escaped = true,
                '{' | '(' if c == '{' || at == 0 => depth += 1,
                '}' => depth = depth.saturating_sub(1),
                _ => {}
            }
            if depth == 0 && c == '}' {
                let inside = self.text[start..self.at + at].to_owned();
                self.at += at + 1;
                return Ok(inside);
            }
        }
        Err(self.fault("a brace is not closed"))
    }
    fn in_quotes(&mut self) -> Result<String, String> {
        let mut depth = 0i32;
        let start = self.at + 1;
        let mut before = ' ';
        for (at, c) in self.rest().char_indices().skip(1) {
            match c {
                '{' => depth += 1,
                '}' => depth -= 1,
                '"' if depth == 0 && before != '\\' => {
                    let inside = self.text[start..self.at + at].to_owned();
                    self.at += at + 1;
                    return Ok(inside);
                }
                _ => {}
            }
            before = c;
        }
        Err(self.fault("a quote is not closed"))
    }
}

/// Letters with a mark: accent command and letter.
const ACCENTS: [(&str, &str, &str); 10] = [
    ("\"", "aeiouyAEIOUY", "äëïöüÿÄËÏÖÜŸ"),
    ("'", "aeiouycnszAEIOUYCNSZ", "áéíóúýćńśźÁÉÍÓÚÝĆŃŚŹ"),
    ("`", "aeiouAEIOU", "àèìòùÀÈÌÒÙ"),
    ("^", "aeiouAEIOU", "âêîôûÂÊÎÔÛ"),
    ("~", "anoANO", "ãñõÃÑÕ"),
    ("v", "cdenrstzCDENRSTZ", "čďěňřšťžČĎĚŇŘŠŤŽ"),
    ("c", "csCS", "çşÇŞ"),
    ("k", "aeAE", "ąęĄĘ"),
    ("H", "ouOU", "őűŐŰ"),
    ("r", "auAU", "åůÅŮ"),
];
/// Commands that stand for a sign.
const SIGNS: [(&str, &str); 17] = [
    ("textbackslash", "\\"),
    ("textasciitilde", "~"),
    ("textasciicircum", "^"),
    ("ss", "ß"),
    ("ae", "æ"),
    ("AE", "Æ"),
    ("oe", "œ"),
    ("OE", "Œ"),
    ("aa", "å"),
    ("AA", "Å"),
    ("o", "ø"),
    ("O", "Ø"),
    ("l", "ł"),
    ("L", "Ł"),
    ("i", "i"),
    ("textendash", "–"),
    ("textdegree", "°"),
];

/// Text without braces and commands.
fn plain(text: &str) -> String {
    let mut out = String::new();
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '{' | '}' | '$' => {}
            '~' => out.push(' '),
            '\\' => {
                let mut command = String::new();
                match chars.peek() {
                    Some(next) if next.is_ascii_alphabetic() => {
                        while let Some(next) = chars.next_if(char::is_ascii_alphabetic) {
                            command.push(next);
                        }
                        while chars.next_if(|c| *c == ' ').is_some() {}
                    }
                    _ => command.extend(chars.next()),
                }
                out.push_str(&meant(&command, &mut chars));
            }
            c => out.push(c),
        }
    }
    out.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn meant(command: &str, chars: &mut std::iter::Peekable<std::str::Chars<'_>>) -> String {
    if let Some((_, letters, marked)) = ACCENTS.iter().find(|(accent, ..)| *accent == command) {
        while chars.next_if(|c| matches!(c, '{' | '\\' | ' ')).is_some() {}
        let letter = chars.next().unwrap_or_default();
        let place = letters.chars().position(|l| l == letter);
        return place.and_then(|at| marked.chars().nth(at)).unwrap_or(letter).to_string();
    }
    if let Some((_, sign)) = SIGNS.iter().find(|(name, _)| *name == command) {
        return (*sign).to_owned();
    }
    // A font or another command: what it is applied to stays.
    if command.chars().all(|c| c.is_ascii_alphabetic()) { String::new() } else { command.to_owned() }
}

/// Names between `and`: `Family, Given`, `Given Family`, or a body in braces.
fn people(text: &str) -> Vec<String> {
    let mut parts = vec![String::new()];
    let mut depth = 0;
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        depth += i32::from(c == '{') - i32::from(c == '}');
        let is_and = depth == 0
            && c.is_whitespace()
            && rest.trim_start().strip_prefix("and").is_some_and(|r| r.starts_with(char::is_whitespace));
        if is_and {
            rest = rest.trim_start().trim_start_matches("and");
            parts.push(String::new());
            continue;
        }
        parts.last_mut().into_iter().for_each(|part| part.push(c));
        rest = &rest[c.len_utf8()..];
    }
    parts.iter().map(|part| part.trim().to_owned()).filter(|part| !part.is_empty() && part != "others").collect()
}

/// `Family, Given`; a body has no comma.
fn ordered(name: &str) -> String {
    let is_body = name.starts_with('{') && name.ends_with('}');
    let text = plain(name);
    match (is_body, text.contains(','), text.rsplit_once(' ')) {
        (true, ..) => text.replace(", ", " ").replace(',', " "),
        (false, false, Some((given, family))) => format!("{family}, {given}"),
        _ => text,
    }
}

fn citation(entry: &BibtexEntry) -> Result<Citation, String> {
    let get = |name: &str| entry.fields.iter().find(|(field, _)| field == name).map(|(_, value)| value.as_str());
    let text = |name: &str| get(name).map(plain).filter(|t| !t.is_empty());
    let mut c = Citation { key: entry.key.clone(), ..Citation::default() };
    let url = get("url").map(|u| u.replace(['{', '}'], "").replace("\\_", "_").replace("\\%", "%").trim().to_owned());
    if let Some(sort) = sort(&entry.sort, url.is_some()) {
        c.set("type", sort);
    }
    c.set("title", text("title").ok_or_else(|| format!("{}: `{}` has no title", entry.line, entry.key))?);
    for field in ["author", "editor"] {
        let names: Vec<String> = get(field).map(people).unwrap_or_default().iter().map(|name| ordered(name)).collect();
        if let Some(first) = names.first().filter(|_| c.author.is_none()) {
            c.author = Some(first.split(',').next().unwrap_or_default().to_owned());
        }
        if !names.is_empty() {
            c.set(field, format!("[{}]", names.iter().map(|name| person(name)).collect::<Vec<_>>().join(", ")));
        }
    }
    if let Some(day) = text("date").or_else(|| issued(text("year"), text("month"))) {
        c.set("issued", day);
    }
    let is_numbered = matches!(entry.sort.as_str(), "techreport" | "report" | "standard" | "manual");
    let number = if is_numbered { "number" } else { "issue" };
    let pairs = [
        ("journal", "container-title"),
        ("journaltitle", "container-title"),
        ("booktitle", "container-title"),
        ("series", "collection-title"),
        ("volume", "volume"),
        ("number", number),
        ("issue", "issue"),
        ("edition", "edition"),
        ("publisher", "publisher"),
        ("school", "publisher"),
        ("institution", "publisher"),
        ("organization", "publisher"),
        ("address", "publisher-place"),
        ("location", "publisher-place"),
        ("pmcid", "PMCID"),
        ("urldate", "accessed"),
        ("note", "note"),
    ];
    for (from, to) in pairs {
        if let Some(value) = text(from) {
            c.set(to, value);
        }
    }
    if let Some(pages) = text("pages") {
        c.set("page", pages.replace("--", "-").replace('–', "-"));
    }
    if let Some(value) = get("doi") {
        c.set("DOI", doi(&value.replace(['{', '}'], "").replace("\\_", "_")));
    }
    if let Some(value) = text("isbn") {
        c.set("ISBN", value.to_uppercase());
    }
    if let Some(address) = url.filter(|u| u.starts_with("http") && c.get("DOI").is_none_or(|d| doi(u) != d)) {
        c.set("URL", address);
    }
    let known = ["title", "author", "editor", "date", "year", "month", "pages", "doi", "isbn", "url"];
    let is_left = |name: &str| !known.contains(&name) && !pairs.iter().any(|(from, _)| *from == name);
    c.left_out = entry.fields.iter().map(|(name, _)| name.clone()).filter(|name| is_left(name)).collect();
    Ok(c)
}

fn issued(year: Option<String>, month: Option<String>) -> Option<String> {
    let year = year?;
    let named = |m: &str| months().get(&m.to_lowercase().chars().take(3).collect::<String>()).cloned();
    let month = month
        .and_then(|m| m.parse::<u32>().ok().filter(|n| (1..=12).contains(n)).map(|n| format!("{n:02}")).or_else(|| named(&m)));
    Some(month.map_or_else(|| year.clone(), |month| format!("{year}-{month}")))
}

fn sort(word: &str, has_url: bool) -> Option<&'static str> {
    Some(match word {
        "article" => "article-journal",
        "inproceedings" | "conference" | "proceedings" => "paper-conference",
        "book" | "mvbook" | "collection" => "book",
        "inbook" | "incollection" | "suppbook" | "inreference" => "chapter",
        "phdthesis" | "mastersthesis" | "thesis" => "thesis",
        "techreport" | "report" | "manual" | "unpublished" | "booklet" => "report",
        "standard" => "standard",
        "online" | "electronic" | "www" => "webpage",
        "dataset" => "dataset",
        "misc" if has_url => "webpage",
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Form of entries, joined strings, months and names: the manual of BibTeX (Patashnik 1988), as remembered.
    #[test]
    fn an_entry_becomes_the_fields_of_a_source() {
        let text = "% a comment line\n@string{jj = \"Journal of Joints\"}\n@comment{not {this}}\n@Article{roe21,\n  author = {Roe, Richard and M{\\\"u}ller, A. and {Bench Group, Inc.} and Jane van Doe},\n  title = {Threads in {PLA}: a {\\'e}tude},\n  journal = jj # { (B)}, year = 2021, month = may, volume = 3, number = {2},\n  pages = {1--9}, doi = {10.1234/ABC\\_5}, keywords = {x},\n}\n";
        let all = read(text).expect("a citation");
        let c = &all[0];
        let field = |name: &str| c.get(name).unwrap_or_default();
        assert_eq!((all.len(), c.key.as_str(), field("type")), (1, "roe21", "article-journal"));
        assert_eq!(field("title"), "Threads in PLA: a étude");
        assert_eq!(
            field("author"),
            "[{family: Roe, given: Richard}, {family: Müller, given: A.}, {literal: Bench Group Inc.}, {family: Doe, given: Jane van}]"
        );
        assert_eq!((field("container-title"), field("issued"), field("page")), ("Journal of Joints (B)", "2021-05", "1-9"));
        assert_eq!((field("DOI"), field("issue"), c.author.as_deref()), ("10.1234/abc_5", "2", Some("Roe")));
        assert_eq!(c.left_out, ["keywords"]);
    }

    #[test]
    fn a_fault_names_its_line() {
        assert!(read("@article{a,\n title = {x\n").is_err_and(|e| e.contains("brace")));
        assert!(read("@article{a,\n title {x}}").is_err_and(|e| e.starts_with("2:")));
        assert!(read("@article{a, year = 2020}").is_err_and(|e| e.contains("no title")));
        assert!(read("nothing here").is_ok_and(|all| all.is_empty()));
    }
}
