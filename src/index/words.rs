//! What counts as a word, and when two words are near enough.

use crate::book::Record;
use crate::book::view::Person;
use crate::check::catalogue::Catalogue;

/// The words of a text: runs of letters and digits, in small letters.
pub fn words(text: &str) -> impl Iterator<Item = String> + '_ {
    text.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_lowercase)
}

/// Where in a record a word stands, in order of weight.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Field {
    /// The short id.
    Id,
    /// The name and the synonyms.
    Name,
    /// The tags.
    Tag,
    /// The family and its wider families, the kind.
    Family,
    /// Description and note; authors and journal of a source.
    Text,
}

impl Field {
    /// All fields, heaviest first.
    pub const ALL: [Field; 5] = [Field::Id, Field::Name, Field::Tag, Field::Family, Field::Text];

    /// What an exact word is worth there. Powers of two, so that sums are exact whatever their order.
    pub fn weight(self) -> f32 {
        match self {
            Field::Id => 16.0,
            Field::Name => 8.0,
            Field::Tag => 4.0,
            Field::Family => 2.0,
            Field::Text => 1.0,
        }
    }
}

/// What the beginning of a word is worth against the whole word.
pub const BEGINNING: f32 = 0.5;
/// What a word with one slip is worth against the word itself.
pub const SLIP: f32 = 0.25;

/// The words of a record with their fields.
pub fn of_record(record: &Record, kinds: &Catalogue) -> Vec<(Field, String)> {
    let mut all = Vec::new();
    let mut add = |field: Field, text: &str| all.extend(words(text).map(|w| (field, w)));
    add(Field::Id, record.id.name());
    add(Field::Name, &record.name);
    record.also.iter().for_each(|a| add(Field::Name, a));
    record.tags.iter().for_each(|t| add(Field::Tag, t));
    add(Field::Family, record.id.kind());
    kinds.families.chain(&record.family).into_iter().for_each(|f| add(Field::Family, f));
    for text in [&record.description, &record.note].into_iter().flatten() {
        add(Field::Text, text);
    }
    if let Some(source) = record.source() {
        for text in [&source.container_title, &source.number, &source.publisher].into_iter().flatten() {
            add(Field::Text, text);
        }
        source.author.iter().filter_map(Person::name).for_each(|name| add(Field::Text, name));
    }
    all
}

/// How much of its field's weight a word of a record has for a word of the query; 0 when they do not match.
pub fn likeness(wanted: &str, word: &str) -> f32 {
    if word == wanted {
        1.0
    } else if takes_beginning(wanted) && word.starts_with(wanted) {
        BEGINNING
    } else if takes_slip(wanted) && one_slip(wanted, word) {
        SLIP
    } else {
        0.0
    }
}

/// Whether a word of the query also finds words that begin with it.
pub fn takes_beginning(wanted: &str) -> bool {
    wanted.chars().count() >= 2
}

/// Whether a word of the query also finds words with one slip. Not words with digits: `pa11` is not `pa12`.
pub fn takes_slip(wanted: &str) -> bool {
    wanted.chars().count() >= 4 && wanted.chars().all(char::is_alphabetic)
}

/// Whether two words differ by one inserted, missing, wrong or swapped letter at most.
pub fn one_slip(a: &str, b: &str) -> bool {
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    if a.len().abs_diff(b.len()) > 1 {
        return false;
    }
    let same = a.iter().zip(&b).take_while(|(x, y)| x == y).count();
    let (rest_a, rest_b) = (&a[same..], &b[same..]);
    match (rest_a, rest_b) {
        ([], _) | (_, []) => true,
        ([_, more_a @ ..], [_, more_b @ ..]) if more_a == more_b => true,
        ([_, more_a @ ..], _) if more_a == rest_b => true,
        (_, [_, more_b @ ..]) if rest_a == more_b => true,
        ([x, y, more_a @ ..], [v, w, more_b @ ..]) => x == w && y == v && more_a == more_b,
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::parse::edit_distance;
    use proptest::prelude::*;

    #[test]
    fn words_split_at_everything_but_letters_and_digits() {
        assert_eq!(words("PA6-GF30, tough (µm)").collect::<Vec<_>>(), ["pa6", "gf30", "tough", "µm"]);
    }

    proptest! {
        #[test]
        fn one_slip_agrees_with_the_edit_distance(a in "[abc]{0,6}", b in "[abc]{0,6}") {
            prop_assert_eq!(one_slip(&a, &b), edit_distance(&a, &b) <= 1, "{} {}", a, b);
        }
    }
}
