//! What is looked for.

use crate::book::plain;
use crate::check::catalogue::{Catalogue, KindCard, Measures};
use crate::quantity::parse::{edit_distance, range_ends};
use crate::quantity::{Amount, Written, parse};

/// What is looked for. Everything given must hold.
#[derive(Debug, Clone, Default)]
pub struct Query {
    /// Words, each to be found somewhere in the record.
    pub words: Vec<String>,
    /// Only records of this kind.
    pub kind: Option<String>,
    /// Only this family and its members.
    pub family: Option<String>,
    /// Only records with this tag.
    pub tag: Option<String>,
    /// Bounds on properties.
    pub bounds: Vec<PropertyBound>,
    /// Only records whose kind has this property and that state nothing usable about it.
    pub missing: Option<String>,
    /// Only records with a usable claim that names no source.
    pub unsourced: bool,
    /// Order; by score without it.
    pub sort: Option<Sort>,
    /// The order turned round.
    pub reverse: bool,
    /// Most results listed; all are counted.
    pub limit: usize,
}

/// A bound on a property.
#[derive(Debug, Clone, PartialEq)]
pub struct PropertyBound {
    /// Schema name of the property.
    pub property: String,
    /// What is asked of it.
    pub comparison: Operator,
}

/// What is asked of a property.
#[derive(Debug, Clone, PartialEq)]
pub enum Operator {
    /// More than a quantity.
    Above(Written),
    /// A quantity or more.
    AtLeast(Written),
    /// Less than a quantity.
    Below(Written),
    /// A quantity or less.
    AtMost(Written),
    /// Yes or no.
    Is(bool),
    /// A word.
    Word(String),
}

/// Order of the results.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Sort {
    /// By name.
    Name,
    /// By a property, largest first; records without it last.
    Property(String),
}

/// A query that means nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrongQuery {
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub help: Option<String>,
}

impl WrongQuery {
    fn new(message: impl Into<String>, help: impl Into<String>) -> Self {
        WrongQuery { message: message.into(), help: Some(help.into()) }
    }
}

/// The comparison signs, longer ones first.
const SIGNS: [(&str, Sign); 7] = [
    (">=", Sign::AtLeast),
    ("≥", Sign::AtLeast),
    ("<=", Sign::AtMost),
    ("≤", Sign::AtMost),
    (">", Sign::Above),
    ("<", Sign::Below),
    ("=", Sign::Is),
];

#[derive(Clone, Copy, PartialEq)]
enum Sign {
    AtLeast,
    AtMost,
    Above,
    Below,
    Is,
}

impl PropertyBound {
    /// The bound in words: `tg < 70 °C`.
    pub fn text(&self) -> String {
        let (sign, value) = match &self.comparison {
            Operator::Above(w) => (">", &*w.text),
            Operator::AtLeast(w) => (">=", &*w.text),
            Operator::Below(w) => ("<", &*w.text),
            Operator::AtMost(w) => ("<=", &*w.text),
            Operator::Is(true) => ("=", "yes"),
            Operator::Is(false) => ("=", "no"),
            Operator::Word(word) => ("=", &**word),
        };
        format!("{} {sign} {value}", self.property)
    }
    /// Reads `tensile_strength >= 40 MPa`, `amorphous = yes` or `cure = moisture`.
    ///
    /// # Errors
    /// An unknown property, a missing sign, a quantity of another kind.
    pub fn read(text: &str, kinds: &Catalogue) -> Result<PropertyBound, WrongQuery> {
        let (property, sign, value) = parts(text, kinds)?;
        let comparison = comparison(&property, sign, value, kinds)?;
        Ok(PropertyBound { property, comparison })
    }
    /// As [`PropertyBound::read`]; a range, `tg = 60 °C to 80 °C`, is two bounds.
    ///
    /// # Errors
    /// As [`PropertyBound::read`].
    pub fn read_all(text: &str, kinds: &Catalogue) -> Result<Vec<PropertyBound>, WrongQuery> {
        let (property, sign, value) = parts(text, kinds)?;
        let Some((low, high)) = range_ends(value).filter(|_| sign == Sign::Is) else {
            return Ok(vec![PropertyBound::read(text, kinds)?]);
        };
        let end = |sign: Sign, value: &str| {
            Ok(PropertyBound { property: property.clone(), comparison: comparison(&property, sign, value, kinds)? })
        };
        Ok(vec![end(Sign::AtLeast, &low)?, end(Sign::AtMost, &high)?])
    }
}

/// Property, sign and value of a bound as typed.
fn parts<'t>(text: &'t str, kinds: &Catalogue) -> Result<(String, Sign, &'t str), WrongQuery> {
    let place = |sign: &str| text.find(sign);
    let Some((at, sign_text, sign)) =
        SIGNS.iter().filter_map(|(s, sign)| Some((place(s)?, *s, *sign))).min_by_key(|(at, s, _)| (*at, 9 - s.len()))
    else {
        let help = match property(text.trim(), kinds) {
            Ok(word) => repaired(&word, if is_quantity(&word, kinds) { ">=" } else { "=" }, kinds),
            Err(_) => "write it as --where \"tensile_strength >= 40 MPa\"".to_owned(),
        };
        return Err(WrongQuery::new(format!("`{text}` compares nothing: a sign and a value are missing"), help));
    };
    let (before, value) = (text[..at].trim(), text[at + sign_text.len()..].trim());
    if before.is_empty() {
        let help = format!("write the property first: --where \"tg {sign_text} {value}\"");
        return Err(WrongQuery::new(format!("`{text}`: the property before `{sign_text}` is missing"), help));
    }
    let word = property(before, kinds)?;
    if value.is_empty() {
        let message = format!("`{text}`: the value behind `{sign_text}` is missing");
        return Err(WrongQuery::new(message, repaired(&word, sign_text, kinds)));
    }
    Ok((word, sign, value))
}

fn is_quantity(property: &str, kinds: &Catalogue) -> bool {
    let card = kinds.kinds.iter().find_map(|k| k.property(property));
    card.is_some_and(|card| matches!(card.measures, Measures::Quantity(_)))
}

/// The line that was meant, with a value that such a property has.
fn repaired(property: &str, sign: &str, kinds: &Catalogue) -> String {
    let card = kinds.kinds.iter().find_map(|k| k.property(property));
    let value = card.and_then(|card| match &card.measures {
        Measures::Quantity(quantity) => {
            let band = card.plausible.as_ref()?;
            Some(Amount::new(*quantity, f64::midpoint(band.low.si, band.high.si)).trimmed(2))
        }
        Measures::YesNo => Some("yes".into()),
        Measures::Word(words) => words.first().cloned(),
    });
    format!("for example --where \"{property} {sign} {}\"", value.as_deref().unwrap_or("VALUE UNIT"))
}

fn comparison(property: &str, sign: Sign, value: &str, kinds: &Catalogue) -> Result<Operator, WrongQuery> {
    let measures = kinds.kinds.iter().find_map(|k| k.property(property)).map(|p| &p.measures);
    match (measures, sign) {
        (Some(Measures::Quantity(quantity)), _) => {
            let written = parse(value, *quantity).map_err(|f| WrongQuery::new(f.message(), f.help()))?;
            match sign {
                Sign::AtLeast => Ok(Operator::AtLeast(written)),
                Sign::AtMost => Ok(Operator::AtMost(written)),
                Sign::Above => Ok(Operator::Above(written)),
                Sign::Below => Ok(Operator::Below(written)),
                Sign::Is => {
                    let help = format!("write a bound, \"{property} >= …\", or a range, \"{property} = … to …\"");
                    Err(WrongQuery::new(
                        format!("`{property}` is a quantity, and measured quantities are never exactly equal"),
                        help,
                    ))
                }
            }
        }
        (Some(Measures::YesNo), Sign::Is) => match value {
            "yes" | "true" => Ok(Operator::Is(true)),
            "no" | "false" => Ok(Operator::Is(false)),
            _ => Err(WrongQuery::new(format!("`{property}` is yes or no, not `{value}`"), format!("write \"{property} = yes\""))),
        },
        (Some(Measures::Word(words)), Sign::Is) => {
            let word = value.to_lowercase();
            if words.is_empty() || words.contains(&word) {
                return Ok(Operator::Word(word));
            }
            Err(WrongQuery::new(format!("`{property}` cannot be `{value}`"), format!("one of {}", words.join(", "))))
        }
        _ => Err(WrongQuery::new(
            format!("`{property}` cannot be larger or smaller than something"),
            format!("write \"{property} = …\""),
        )),
    }
}

/// The property of any kind with that word (blanks and hyphens count as underscores).
///
/// # Errors
/// An unknown word, with the nearest ones.
pub fn property(text: &str, kinds: &Catalogue) -> Result<String, WrongQuery> {
    let word = text.to_lowercase().replace([' ', '-'], "_");
    let mut known: Vec<&str> = kinds.kinds.iter().flat_map(|k| &k.properties).map(|p| &*p.word).collect();
    known.sort_unstable();
    known.dedup();
    if known.contains(&&*word) {
        return Ok(word);
    }
    let mut near: Vec<(usize, &str)> = known.iter().map(|k| (edit_distance(k, &word), *k)).filter(|(d, _)| *d <= 3).collect();
    near.sort_unstable();
    let part = |k: &&&str| word.len() >= 3 && (k.contains(&*word));
    let mut offers: Vec<&str> = near.into_iter().map(|(_, k)| k).chain(known.iter().filter(part).copied()).take(5).collect();
    offers.dedup();
    let help = if offers.is_empty() {
        "`gripbook why` lists the words".to_owned()
    } else {
        format!("did you mean {}?", offers.join(", "))
    };
    Err(WrongQuery::new(format!("there is no property `{text}`"), help))
}

/// The kind of that word, folder or title; spaces, hyphens and case do not count.
///
/// # Errors
/// An unknown word, with all kinds.
pub fn kind(text: &str, kinds: &Catalogue) -> Result<String, WrongQuery> {
    let wanted = plain(text);
    let is_named = |k: &&KindCard| [&k.word, &k.folder, &k.title].iter().any(|name| plain(name) == wanted);
    if let Some(kind) = kinds.kinds.iter().find(is_named) {
        return Ok(kind.word.clone());
    }
    let mut all: Vec<&str> = kinds.kinds.iter().map(|k| &*k.word).collect();
    all.sort_unstable();
    Err(WrongQuery::new(format!("there is no kind `{text}`"), format!("kinds: {}", all.join(", "))))
}

/// The family of that word, or called by it; spaces, hyphens and case do not count.
///
/// # Errors
/// An unknown word, with the nearest ones.
pub fn family(text: &str, kinds: &Catalogue) -> Result<String, WrongQuery> {
    let word = text.to_lowercase();
    let wanted = plain(text);
    let is_named = |family: &str, called: &[String]| plain(family) == wanted || called.iter().any(|c| plain(c) == wanted);
    if let Some((family, _)) = kinds.families.called().find(|(family, called)| is_named(family, called)) {
        return Ok(family.to_owned());
    }
    let mut near: Vec<(usize, &str)> =
        kinds.families.words().map(|f| (edit_distance(f, &word), f)).filter(|(d, f)| *d <= 2 || f.contains(&*word)).collect();
    near.sort_unstable();
    let offers: Vec<&str> = near.into_iter().take(5).map(|(_, f)| f).collect();
    let help = (!offers.is_empty()).then(|| format!("did you mean {}?", offers.join(", ")));
    Err(WrongQuery { message: format!("there is no family `{text}`"), help })
}
