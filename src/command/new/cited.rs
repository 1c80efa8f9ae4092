//! A citation out of a file of another program.

use super::id_of;
use gripbook::check::ids;

/// A citation in the fields of a source.
#[derive(Debug, Clone, Default)]
pub(super) struct Citation {
    /// Its key in the file.
    pub key: String,
    /// Fields of the source, as they would be typed; lists in brackets.
    pub fields: Vec<(&'static str, String)>,
    /// Family name of the first author, or the body.
    pub author: Option<String>,
    /// Fields that a source has no place for.
    pub left_out: Vec<String>,
}

impl Citation {
    /// Sets a field that is not set yet.
    pub fn set(&mut self, field: &'static str, value: impl Into<String>) {
        let value = value.into();
        if !value.is_empty() && self.get(field).is_none() {
            self.fields.push((field, value));
        }
    }
    pub fn get(&self, field: &str) -> Option<&str> {
        self.fields.iter().find(|(name, _)| *name == field).map(|(_, value)| value.as_str())
    }
    /// First author, year and first long word of the title.
    pub fn id(&self) -> String {
        let title = self.get("title").unwrap_or_default();
        let word = title.split(|c: char| !c.is_alphanumeric()).find(|w| w.chars().count() > 4).unwrap_or(title);
        let year = self.get("issued").and_then(|d| d.get(..4)).unwrap_or_default();
        let parts = [self.author.as_deref().unwrap_or_default(), year, word];
        let id = id_of(&plain(&parts.join(" ")));
        if id.len() > ids::LONGEST { id[..ids::LONGEST].trim_end_matches('-').to_owned() } else { id }
    }
}

/// A DOI as sources hold it: bare, in small letters.
pub(super) fn doi(text: &str) -> String {
    let lower = text.trim().to_lowercase();
    let bare = ["https://doi.org/", "http://doi.org/", "https://dx.doi.org/", "http://dx.doi.org/", "doi:"];
    bare.iter().find_map(|start| lower.strip_prefix(start)).unwrap_or(&lower).trim().to_owned()
}

/// Letters without their marks, as far as names of people commonly bear them.
fn plain(text: &str) -> String {
    const MARKED: [(&str, &str); 24] = [
        ("àáâãåāăą", "a"),
        ("ÀÁÂÃÅĀĂĄ", "a"),
        ("çćĉċč", "c"),
        ("ÇĆČ", "c"),
        ("ďđ", "d"),
        ("ĎĐ", "d"),
        ("èéêëēĕėęě", "e"),
        ("ÈÉÊËĒĘĚ", "e"),
        ("ğģ", "g"),
        ("ìíîïīįı", "i"),
        ("ÌÍÎÏİ", "i"),
        ("ķ", "k"),
        ("łĺļľ", "l"),
        ("Ł", "l"),
        ("ñńņň", "n"),
        ("òóôõøōő", "o"),
        ("ÒÓÔÕØ", "o"),
        ("řŕ", "r"),
        ("śŝşšș", "s"),
        ("ŚŠŞ", "s"),
        ("ţťț", "t"),
        ("ùúûūůűų", "u"),
        ("ýÿ", "y"),
        ("źżžŹŻŽ", "z"),
    ];
    const LONG: [(char, &str); 8] =
        [('ä', "ae"), ('ö', "oe"), ('ü', "ue"), ('ß', "ss"), ('æ', "ae"), ('Ä', "ae"), ('Ö', "oe"), ('Ü', "ue")];
    let one = |c: char| {
        let long = LONG.iter().find(|(from, _)| *from == c).map(|(_, to)| (*to).to_owned());
        let short = || MARKED.iter().find(|(from, _)| from.contains(c)).map(|(_, to)| (*to).to_owned());
        long.or_else(short).unwrap_or_else(|| c.to_string())
    };
    text.chars().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_id_names_author_year_and_word() {
        let mut c = Citation { author: Some("Müller-Weiß".into()), ..Citation::default() };
        c.set("title", "On the strength of printed threads");
        c.set("issued", "2021-05");
        assert_eq!(c.id(), "mueller-weiss-2021-strength");
        assert_eq!(doi("https://doi.org/10.3390/POLYM14132691"), "10.3390/polym14132691");
        assert_eq!(doi("doi:10.1/x"), "10.1/x");
    }
}
