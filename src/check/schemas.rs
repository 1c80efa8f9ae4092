//! The schema files: loading, the kinds they declare, and validators built when first used.
//!
//! The only module, with `instance`, that knows the validator. Nothing is ever fetched: a reference
//! names another loaded schema file or it is a fault. Patterns run on the linear engine.

use std::collections::BTreeMap;
use std::fmt;
use std::sync::OnceLock;

use jsonschema::error::{TypeKind, ValidationErrorKind};
use jsonschema::paths::{Location, LocationSegment};
use jsonschema::{Keyword, PatternOptions, Registry, ValidationError, Validator};
use serde_json::Value;

use super::instance::Located;
use crate::quantity::{self, Quantity};
use crate::read::tree::Node;

/// Where the schema files stand for each other; a name, not an address.
const BASE: &str = "json-schema:///";
/// Largest compiled pattern in bytes; a pack's pattern beyond it is a fault of the schema.
const PATTERN_SIZE: usize = 1 << 20;

/// A kind of record, as its schema declares it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecordKind {
    /// The word in ids: `resin`.
    pub word: String,
    /// Folder of its records: `resins`.
    pub folder: String,
    /// What it is in a joint: material, adhesive, step, insert, screw, metal, process, rig, book.
    pub role: String,
    /// Schema file: `resin.schema.json`.
    pub file: String,
}

/// A schema that cannot be used. What packs bring becomes a finding; of the shared schemas it is a fault of the program.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SchemaFault {
    /// No such file is loaded.
    Missing {
        /// Its name.
        file: String,
    },
    /// A file is no JSON.
    NotJson {
        /// Its name.
        file: String,
        /// What the parser says, with line and column.
        why: String,
    },
    /// The loaded files do not hang together: a reference leads nowhere, or one of them is no schema.
    References {
        /// What the validator says.
        why: String,
    },
    /// The validator refuses a file.
    Refused {
        /// Its name.
        file: String,
        /// What the validator says.
        why: String,
    },
}

impl fmt::Display for SchemaFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            SchemaFault::Missing { file } => write!(f, "no schema file {file}"),
            SchemaFault::NotJson { file, why } => write!(f, "{file}: {why}"),
            SchemaFault::References { why } | SchemaFault::Refused { why, .. } => f.write_str(why),
        }
    }
}

impl std::error::Error for SchemaFault {}

/// All loaded schema files.
pub struct Schemas {
    documents: BTreeMap<String, Value>,
    kinds: Vec<RecordKind>,
    validators: BTreeMap<String, OnceLock<Result<Validator<Located>, SchemaFault>>>,
    registry: OnceLock<Result<Registry<'static>, SchemaFault>>,
}

/// A step from the top of a record to a member.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// Into a map.
    Key(String),
    /// Into a list.
    Item(usize),
}

/// A place where a record does not fit its schema.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mismatch {
    pub at: Vec<Step>,
    pub what: What,
    /// What the schema itself says of a condition that is not met: its `description`, below a `then`.
    pub says: Option<String>,
}

/// How it does not fit. Facts only; the words come later.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum What {
    UnknownKeys(Vec<String>),
    MissingKey(String),
    Type(Vec<&'static str>),
    Word(Vec<String>),
    Form(String),
    Size(String),
    Bound(String),
    NotHere,
    NoneOf(Vec<Vec<Mismatch>>),
    Twice,
    Quantity,
    KeyForm,
    Other(String),
}

impl Schemas {
    /// Takes schema documents by file name.
    #[must_use]
    pub fn new(documents: BTreeMap<String, Value>) -> Self {
        let mut kinds: Vec<RecordKind> = documents.iter().filter_map(|(file, document)| kind_of(file, document)).collect();
        kinds.sort_by(|a, b| a.word.cmp(&b.word));
        let validators = documents.keys().map(|file| (file.clone(), OnceLock::new())).collect();
        Schemas { documents, kinds, validators, registry: OnceLock::new() }
    }

    /// Kinds in order of their words.
    #[must_use]
    pub fn kinds(&self) -> &[RecordKind] {
        &self.kinds
    }

    /// The kind with this word.
    #[must_use]
    pub fn kind(&self, word: &str) -> Option<&RecordKind> {
        self.kinds.iter().find(|kind| kind.word == word)
    }

    /// The kind whose records stand in this folder.
    #[must_use]
    pub fn kind_of_folder(&self, folder: &str) -> Option<&RecordKind> {
        self.kinds.iter().find(|kind| kind.folder == folder)
    }

    /// A schema document by file name.
    #[must_use]
    pub fn document(&self, file: &str) -> Option<&Value> {
        self.documents.get(file)
    }

    /// All documents by file name.
    #[must_use]
    pub fn documents(&self) -> &BTreeMap<String, Value> {
        &self.documents
    }

    /// Builds the validator of a file, if it is not built yet.
    ///
    /// # Errors
    /// Why it cannot be used.
    pub fn build(&self, file: &str) -> Result<(), SchemaFault> {
        self.validator(file).map(|_| ())
    }

    fn validator(&self, file: &str) -> Result<&Validator<Located>, SchemaFault> {
        let cell = self.validators.get(file).ok_or_else(|| SchemaFault::Missing { file: file.to_owned() })?;
        cell.get_or_init(|| self.compile(file)).as_ref().map_err(Clone::clone)
    }

    fn compile(&self, file: &str) -> Result<Validator<Located>, SchemaFault> {
        let registry = self.registry.get_or_init(|| registry(&self.documents)).as_ref().map_err(Clone::clone)?;
        let document = self.documents.get(file).ok_or_else(|| SchemaFault::Missing { file: file.to_owned() })?;
        jsonschema::options_for::<Located>()
            .with_registry(registry)
            .offline()
            .with_base_uri(format!("{BASE}{file}"))
            .with_pattern_options(PatternOptions::regex().size_limit(PATTERN_SIZE))
            .should_validate_formats(false)
            .with_keyword("quantity", |_, value, _| quantity_keyword(value))
            .build(document)
            .map_err(|error| SchemaFault::Refused { file: file.to_owned(), why: error.to_string() })
    }

    /// Everything in which the tree does not fit the schema file.
    pub(super) fn mismatches(&self, file: &str, tree: &Node) -> Result<Vec<Mismatch>, SchemaFault> {
        let validator = self.validator(file)?;
        // Most records fit, and asking that is faster than collecting nothing.
        if validator.is_valid(tree) {
            return Ok(Vec::new());
        }
        let document = self.documents.get(file);
        let told = |error: ValidationError<'_>| Mismatch { says: document.and_then(|d| says(d, &error)), ..mismatch(&error) };
        Ok(validator.iter_errors(tree).map(told).collect())
    }
}

fn kind_of(file: &str, document: &Value) -> Option<RecordKind> {
    let text = |key: &str| document.get(key).and_then(Value::as_str).map(str::to_owned);
    Some(RecordKind { word: text("kind")?, folder: text("folder")?, role: text("role")?, file: file.to_owned() })
}

fn registry(documents: &BTreeMap<String, Value>) -> Result<Registry<'static>, SchemaFault> {
    let pairs = documents.iter().map(|(file, document)| (format!("{BASE}{file}"), document.clone()));
    let builder = Registry::new().extend(pairs).and_then(|builder| builder.prepare());
    builder.map_err(|error| SchemaFault::References { why: error.to_string() })
}

/// The keyword `quantity`: a scalar is a written quantity of this word.
struct QuantityKeyword(Quantity);

impl<'i> Keyword<'i, Located> for QuantityKeyword {
    fn validate(&self, node: &'i Node) -> Result<(), ValidationError<'i>> {
        // The facts come from a second parse, where the place is known.
        if Keyword::<Located>::is_valid(self, node) { Ok(()) } else { Err(ValidationError::custom("")) }
    }
    fn is_valid(&self, node: &'i Node) -> bool {
        node.written().is_none_or(|text| quantity::parse(text, self.0).is_ok())
    }
}

fn quantity_keyword<'a>(value: &'a Value) -> Result<Box<dyn for<'i> Keyword<'i, Located>>, ValidationError<'a>> {
    let word = value.as_str().unwrap_or_default();
    let quantity =
        Quantity::from_word(word).ok_or_else(|| ValidationError::schema(format!("`{word}` is not a known quantity")))?;
    Ok(Box::new(QuantityKeyword(quantity)))
}

fn steps(location: &Location) -> Vec<Step> {
    let step = |segment| match segment {
        LocationSegment::Property(key) => Step::Key(key.into_owned()),
        LocationSegment::Index(at) => Step::Item(at),
    };
    location.iter().map(step).collect()
}

fn mismatch(error: &ValidationError<'_>) -> Mismatch {
    Mismatch { at: steps(error.instance_path()), what: what(error), says: None }
}

/// The description beside the keyword that failed, where it stands below a `then`.
fn says(document: &Value, error: &ValidationError<'_>) -> Option<String> {
    let path = error.schema_path().as_str();
    let (holder, _) = path.rsplit_once('/')?;
    if !holder.contains("/then") {
        return None;
    }
    document.pointer(holder)?.get("description")?.as_str().map(str::to_owned)
}

fn what(error: &ValidationError<'_>) -> What {
    use ValidationErrorKind as K;
    match error.kind() {
        K::AdditionalProperties { unexpected } | K::UnevaluatedProperties { unexpected } => What::UnknownKeys(unexpected.clone()),
        K::Required { property } => What::MissingKey(property.as_str().unwrap_or_default().to_owned()),
        K::Type { kind } => What::Type(match kind {
            TypeKind::Single(one) => vec![one.as_str()],
            TypeKind::Multiple(set) => set.iter().map(jsonschema::JsonType::as_str).collect(),
        }),
        K::Enum { options } => What::Word(words(options)),
        K::Constant { expected_value } => What::Word(vec![plain(expected_value)]),
        K::Pattern { pattern } => What::Form(pattern.clone()),
        K::MinItems { limit } => What::Size(format!("at least {limit} in the list")),
        K::MaxItems { limit } => What::Size(format!("at most {limit} in the list")),
        K::MinProperties { limit } => What::Size(format!("at least {limit} in the map")),
        K::MaxProperties { limit } => What::Size(format!("at most {limit} in the map")),
        K::MinLength { limit } => What::Size(format!("at least {limit} characters")),
        K::MaxLength { limit } => What::Size(format!("at most {limit} characters")),
        K::Minimum { limit } => What::Bound(format!("at least {limit}")),
        K::Maximum { limit } => What::Bound(format!("at most {limit}")),
        K::ExclusiveMinimum { limit } => What::Bound(format!("more than {limit}")),
        K::ExclusiveMaximum { limit } => What::Bound(format!("less than {limit}")),
        K::MultipleOf { multiple_of } => What::Bound(format!("a multiple of {multiple_of}")),
        K::FalseSchema => What::NotHere,
        K::AnyOf { context } | K::OneOfNotValid { context } | K::OneOfMultipleValid { context } => {
            What::NoneOf(context.iter().map(|branch| branch.iter().map(mismatch).collect()).collect())
        }
        K::UniqueItems => What::Twice,
        K::PropertyNames { .. } => What::KeyForm,
        K::Custom { keyword, .. } if keyword == "quantity" => What::Quantity,
        _ => What::Other(error.to_string()),
    }
}

fn words(options: &Value) -> Vec<String> {
    options.as_array().map(|all| all.iter().map(plain).collect()).unwrap_or_default()
}

fn plain(value: &Value) -> String {
    value.as_str().map_or_else(|| value.to_string(), str::to_owned)
}
