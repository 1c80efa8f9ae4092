//! What can be said of a subject: kinds, properties and families, read from the schema files.

use std::collections::{BTreeMap, HashMap};

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::schemas::{Schemas, Step};
use super::view::View;
use crate::quantity::{self, Quantity, Written};

/// What the claims of a property state.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub enum Measures {
    /// A number with a unit of this quantity.
    Quantity(Quantity),
    /// True or false.
    YesNo,
    /// One of these words; any word when there are none.
    Word(Vec<String>),
}

/// Values from low to high, as the schema writes them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlausibleRange {
    /// Lower end.
    pub low: Written,
    /// Upper end.
    pub high: Written,
}

/// A property of a kind.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PropertyCard {
    /// The word in records: `tensile_strength`.
    pub word: String,
    /// Its name for people.
    pub title: String,
    /// What it is.
    pub description: String,
    /// Symbol in formulas, when it has one.
    pub symbol: Option<String>,
    /// What its claims state.
    pub measures: Measures,
    /// Where nearly all values lie.
    pub plausible: Option<PlausibleRange>,
    /// Outside of which no value can lie.
    pub possible: Option<PlausibleRange>,
    /// Where the bands come from.
    pub band_source: Option<String>,
    /// Sorts of property it belongs to: `mechanical`, `impact`, `thermal`.
    pub groups: Vec<String>,
    /// Whether it is a limit that protects people: of several claims the least is told.
    pub lowest: bool,
    /// What the joint models ask it for.
    pub asked_by_models: Option<Ranked>,
    /// How its value is told to who does the work: the heading, and the words before the value.
    pub instruction: Option<(String, Ranked)>,
}

impl PropertyCard {
    /// Whether it is of that sort.
    #[must_use]
    pub fn is(&self, group: &str) -> bool {
        self.groups.iter().any(|g| g == group)
    }
}

/// Words with their place among others of their sort.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Ranked {
    /// The place, from 1.
    pub rank: u64,
    /// The words.
    pub words: String,
}

/// A kind of subject or book record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KindCard {
    /// The word in ids: `resin`.
    pub word: String,
    /// Folder of its records.
    pub folder: String,
    /// Other words for it: `glue`.
    pub called: Vec<String>,
    /// What it is in a joint.
    pub role: String,
    /// Its name for people.
    pub title: String,
    /// What it is.
    pub description: String,
    /// Schema file.
    pub file: String,
    /// Its properties in the order of the schema.
    pub properties: Vec<PropertyCard>,
}

impl KindCard {
    /// The property with this word.
    #[must_use]
    pub fn property(&self, word: &str) -> Option<&PropertyCard> {
        self.properties.iter().find(|property| property.word == word)
    }
}

/// The closed list of families, each with the next broader one.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Families {
    broader: BTreeMap<String, Option<String>>,
    called: BTreeMap<String, Vec<String>>,
}

impl Families {
    /// Every word, sorted.
    pub fn words(&self) -> impl Iterator<Item = &str> {
        self.broader.keys().map(String::as_str)
    }

    /// Whether the word is on the list.
    #[must_use]
    pub fn contains(&self, word: &str) -> bool {
        self.broader.contains_key(word)
    }

    /// Every family with what people call it too: `nylon` for `polyamide`.
    pub fn called(&self) -> impl Iterator<Item = (&str, &[String])> {
        self.words().map(|word| (word, self.called.get(word).map_or(&[][..], Vec::as_slice)))
    }

    /// The word and everything broader, narrowest first; empty for an unknown word. Of a circle, each word once.
    #[must_use]
    pub fn chain<'a>(&'a self, word: &'a str) -> Vec<&'a str> {
        let mut chain = Vec::new();
        for word in self.steps(word) {
            if chain.contains(&word) {
                break;
            }
            chain.push(word);
        }
        chain
    }

    /// The word and the next broader one, and so on, as many steps as there are words.
    fn steps<'a>(&'a self, word: &'a str) -> impl Iterator<Item = &'a str> {
        let first = self.broader.get_key_value(word);
        let next = |(_, broader): &(&'a String, &'a Option<String>)| self.broader.get_key_value(broader.as_deref()?);
        std::iter::successors(first, next).map(|(word, _)| word.as_str()).take(self.broader.len())
    }

    /// Whether `word` is `family` or narrower.
    #[must_use]
    pub fn is_within(&self, word: &str, family: &str) -> bool {
        self.steps(word).any(|word| word == family)
    }

    /// Whether two families are one, or share their next wider family, those words left out.
    #[must_use]
    pub fn are_next(&self, a: &str, b: &str, without: &[&str]) -> bool {
        let is_shared = |word: &str| self.steps(b).take(2).any(|other| other == word);
        self.steps(a).take(2).any(|word| !without.contains(&word) && is_shared(word))
    }

    /// The family and everything narrower, sorted.
    #[must_use]
    pub fn members<'a>(&'a self, family: &str) -> Vec<&'a str> {
        self.words().filter(|word| self.is_within(word, family)).collect()
    }
}

/// Kinds with their properties, and families.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Catalogue {
    /// Kinds in order of their words.
    pub kinds: Vec<KindCard>,
    /// Families.
    pub families: Families,
    /// Quantities of series that are the load, strength, torque or life of a joint that was broken.
    pub failures: Vec<String>,
}

impl Catalogue {
    /// The id that the path of a record file inside its pack gives: `resin/tough` for `resins/tough.yaml`.
    #[must_use]
    pub fn id_of(&self, path: &str) -> Option<String> {
        let (folder, name) = path.split_once('/')?;
        let kind = self.kinds.iter().find(|kind| kind.folder == folder)?;
        Some(format!("{}/{}", kind.word, name.strip_suffix(".yaml")?))
    }

    /// Reads the catalogue out of the schema files.
    #[must_use]
    pub fn of(schemas: &Schemas) -> Self {
        let kinds = schemas.kinds().iter().map(|kind| {
            let top = View::top(schemas, &kind.file);
            KindCard {
                word: kind.word.clone(),
                folder: kind.folder.clone(),
                called: top.words("also_called").unwrap_or_default().into_iter().map(str::to_owned).collect(),
                role: kind.role.clone(),
                title: text(&top, "title").unwrap_or_else(|| kind.word.clone()),
                description: text(&top, "description").unwrap_or_default(),
                file: kind.file.clone(),
                properties: properties(schemas, &kind.file, &top),
            }
        });
        Catalogue { kinds: kinds.collect(), families: families(schemas), failures: failures(schemas) }
    }

    /// The kind with this word.
    #[must_use]
    pub fn kind(&self, word: &str) -> Option<&KindCard> {
        self.kinds.iter().find(|kind| kind.word == word)
    }

    /// A property of a kind.
    #[must_use]
    pub fn property(&self, kind: &str, word: &str) -> Option<&PropertyCard> {
        self.kind(kind)?.property(word)
    }

    /// The properties the joint models ask of a role, in their order, each with what for.
    #[must_use]
    pub fn asked_by_models(&self, role: &str) -> Vec<(&str, &str)> {
        let cards = self.kinds.iter().filter(|kind| kind.role == role).flat_map(|kind| &kind.properties);
        let mut asked: Vec<(&Ranked, &str)> =
            cards.filter_map(|card| Some((card.asked_by_models.as_ref()?, card.word.as_str()))).collect();
        asked.sort();
        asked.dedup();
        asked.into_iter().map(|(asked, word)| (word, asked.words.as_str())).collect()
    }

    /// Every property word of any kind with the first card that bears it, sorted.
    #[must_use]
    pub fn all_properties(&self) -> BTreeMap<&str, &PropertyCard> {
        let mut all = BTreeMap::new();
        for card in self.kinds.iter().flat_map(|kind| &kind.properties) {
            all.entry(card.word.as_str()).or_insert(card);
        }
        all
    }
}

/// Words each property of a kind allows, for the properties that list words.
#[must_use]
pub(super) fn listed_words(schemas: &Schemas, file: &str) -> HashMap<String, Vec<String>> {
    let cards = properties(schemas, file, &View::top(schemas, file)).into_iter();
    cards
        .filter_map(|card| match card.measures {
            Measures::Word(words) if !words.is_empty() => Some((card.word, words)),
            _ => None,
        })
        .collect()
}

fn properties(schemas: &Schemas, file: &str, top: &View<'_>) -> Vec<PropertyCard> {
    let here = schemas.document(file).and_then(|document| document.pointer("/properties/properties/properties"));
    let Some(all) = here.and_then(Value::as_object) else { return Vec::new() };
    let place = top.step(&Step::Key("properties".to_owned()));
    all.keys().map(|word| property(word, &place.step(&Step::Key(word.clone())))).collect()
}

fn property(word: &str, view: &View<'_>) -> PropertyCard {
    let measures = measures(view);
    let band = |name| match measures {
        Measures::Quantity(quantity) => band(view.words(name)?.as_slice(), quantity),
        _ => None,
    };
    PropertyCard {
        word: word.to_owned(),
        title: text(view, "title").unwrap_or_else(|| word.to_owned()),
        description: text(view, "description").unwrap_or_default(),
        symbol: text(view, "symbol"),
        plausible: band("plausible"),
        possible: band("possible"),
        band_source: text(view, "band_source"),
        measures,
        groups: view.words("groups").unwrap_or_default().into_iter().map(str::to_owned).collect(),
        lowest: view.keyword("lowest").and_then(Value::as_bool) == Some(true),
        asked_by_models: view.keyword("asked_by_models").and_then(|asked| ranked(asked, "for")),
        instruction: view
            .keyword("instruction")
            .and_then(|told| Some((told["under"].as_str()?.to_owned(), ranked(told, "say")?))),
    }
}

fn ranked(json: &Value, words: &str) -> Option<Ranked> {
    Some(Ranked { rank: json["rank"].as_u64()?, words: json[words].as_str()?.to_owned() })
}

fn failures(schemas: &Schemas) -> Vec<String> {
    let quantity = "/properties/measurements/items/properties/quantity/failures";
    let list = schemas.document("series.schema.json").and_then(|document| document.pointer(quantity));
    list.and_then(Value::as_array).into_iter().flatten().filter_map(Value::as_str).map(str::to_owned).collect()
}

fn measures(view: &View<'_>) -> Measures {
    let value = view.step(&Step::Item(0)).step(&Step::Key("value".to_owned()));
    if let Some(quantity) = value.quantity() {
        return Measures::Quantity(quantity);
    }
    if value.text("type") == Some("boolean") {
        return Measures::YesNo;
    }
    let words = view.words("words").unwrap_or_default();
    Measures::Word(words.into_iter().map(str::to_owned).collect())
}

fn band(ends: &[&str], quantity: Quantity) -> Option<PlausibleRange> {
    let [low, high] = ends else { return None };
    Some(PlausibleRange { low: quantity::parse(low, quantity).ok()?, high: quantity::parse(high, quantity).ok()? })
}

fn text(view: &View<'_>, keyword: &str) -> Option<String> {
    view.text(keyword).map(str::to_owned)
}

/// Families of the shared list with those the packs added.
pub(super) fn families(schemas: &Schemas) -> Families {
    let list = schemas.document("family.schema.json").and_then(|document| document.pointer("/$defs/family"));
    let Some(list) = list else { return Families::default() };
    let words = list.get("enum").and_then(Value::as_array).into_iter().flatten().filter_map(Value::as_str);
    let broader = |word: &str| list.get("broader").and_then(|all| all.get(word)).and_then(Value::as_str).map(str::to_owned);
    let called = list.get("called").and_then(Value::as_object).into_iter().flatten().map(|(family, words)| {
        let words = words.as_array().into_iter().flatten().filter_map(Value::as_str);
        (family.clone(), words.map(str::to_owned).collect())
    });
    Families { broader: words.map(|word| (word.to_owned(), broader(word))).collect(), called: called.collect() }
}
