//! From schema texts and packs to the schemas and ids a check needs.

use std::borrow::Cow;
use std::collections::BTreeMap;

use serde_json::Value;

use super::file_findings::{self, FileFindingList};
use super::packfile::{self, Declared, META_SCHEMA, PACK_FILE, PACK_SCHEMA};
use super::packs::{self, File, Files, Index, Pack};
use super::schemas::{SchemaFault, Schemas};
use super::{instance, translate};
use crate::finding::{Finding, Severity};
use crate::read::{self, ParsedFile};

/// Schema documents by file name.
type Documents = BTreeMap<String, Value>;

/// Everything that stands still while records are checked.
pub(super) struct CheckSetting<'a> {
    pub schemas: Schemas,
    pub index: Index<'a>,
    /// Findings on the packs as such: names, pack.yaml, schemas. By pack.
    pub findings: Vec<Vec<Finding>>,
}

/// The schemas of the shared texts (file name and JSON).
///
/// # Errors
/// The file and what is wrong with its JSON; the shared schemas are our own and a test reads them.
pub fn schemas_of(shared: &[(&str, &str)]) -> Result<Schemas, SchemaFault> {
    documents(shared).map(Schemas::new)
}

/// Findings on the shared schemas themselves: meta-schema, references, whether each can be used.
///
/// # Errors
/// As [`schemas_of`].
pub fn schema_findings(shared: &[(&str, &str)]) -> Result<Vec<Finding>, SchemaFault> {
    let schemas = schemas_of(shared)?;
    let mut found = Vec::new();
    for (name, text) in shared {
        let reading = read::read(text.as_bytes());
        let mut list = FileFindingList::new(name, None, &reading.source);
        list.faults(reading.faults);
        if let Some(tree) = &reading.tree {
            let mismatches = schemas.mismatches(META_SCHEMA, tree)?;
            translate::report(&schemas, META_SCHEMA, tree, &mismatches, &mut list);
            packfile::schema(name, tree, &schemas, &mut list);
        }
        found.extend(list.findings());
        if let Err(error) = schemas.build(name) {
            found.push(super::rules::finding("schema-broken", name, format!("the schema cannot be used: {error}"), "correct it"));
        }
    }
    Ok(found)
}

fn documents(shared: &[(&str, &str)]) -> Result<Documents, SchemaFault> {
    let fault = |file: &str, error: &serde_json::Error| SchemaFault::NotJson { file: file.to_owned(), why: error.to_string() };
    let parse = |(file, text): &(&str, &str)| {
        let document = serde_json::from_str(text).map_err(|error| fault(file, &error))?;
        Ok(((*file).to_owned(), document))
    };
    shared.iter().map(parse).collect()
}

/// Takes in what packs declare, and sorts their files.
pub(super) fn setting<'a>(bare: Schemas, from: Vec<Files<'a>>) -> CheckSetting<'a> {
    let mut documents = Cow::Borrowed(bare.documents());
    let mut findings = Vec::new();
    let mut taken = Vec::new();
    for mut files in from {
        let mut found = std::mem::take(&mut files.findings);
        let declared = pack_yaml(&files, &bare, &mut documents, &mut found);
        own_schemas(&files, &mut documents, &mut found);
        found.extend(packs::twins(&files));
        taken.push((declared, files));
        findings.push(found);
    }
    let added = match documents {
        Cow::Borrowed(_) => None,
        Cow::Owned(documents) => Some(documents),
    };
    // Packs that add nothing leave the validators that are built already.
    let schemas = added.map_or(bare, Schemas::new);
    let mut all = Vec::new();
    for ((declared, files), found) in taken.into_iter().zip(&mut findings) {
        let (parts, wrong) = packs::sorted(&files, &schemas);
        found.extend(wrong);
        all.push(Pack { declared, files, parts });
    }
    let index = Index::new(all, &schemas);
    index.twice(&schemas, &mut findings);
    for (pack, found) in index.packs.iter().zip(&mut findings) {
        found.extend(super::curves::lost(pack, &index));
        found.extend(super::modules::look(&pack.files));
    }
    CheckSetting { schemas, index, findings }
}

fn pack_yaml(files: &Files<'_>, schemas: &Schemas, documents: &mut Cow<'_, Documents>, found: &mut Vec<Finding>) -> Declared {
    let Some(file) = files.get(PACK_FILE) else {
        let shown = if files.prefix.is_empty() { "." } else { files.prefix.trim_end_matches('/') };
        found.push(super::rules::finding(
            "pack-missing",
            shown,
            "this folder has no pack.yaml",
            "add pack.yaml with id, title and licence",
        ));
        return Declared::default();
    };
    let Some(reading) = read_file(files, file, found) else { return Declared::default() };
    let whole = files.shown(file);
    let mut list = FileFindingList::new(&whole, None, &reading.source);
    list.faults(reading.faults);
    let mut declared = Declared::default();
    if let Some(tree) = &reading.tree {
        if let Ok(mismatches) = schemas.mismatches(PACK_SCHEMA, tree) {
            translate::report(schemas, PACK_SCHEMA, tree, &mismatches, &mut list);
        }
        packfile::licence(tree, &mut list);
        declared = packfile::declared(tree);
        if !declared.leaves.is_empty()
            && let Some(document) = documents.to_mut().get_mut("family.schema.json")
        {
            families(document, &declared, &mut list);
        }
    }
    found.extend(list.findings());
    declared
}

fn families(document: &mut Value, declared: &Declared, list: &mut FileFindingList<'_>) {
    let mut waiting: Vec<_> = declared.leaves.iter().collect();
    // A leaf may stand before the one it hangs on; each round must place at least one.
    loop {
        let before = waiting.len();
        waiting.retain(|leaf| match packfile::add_family(document, leaf) {
            Ok(()) => false,
            Err("family-twice") => {
                let message = format!("the family `{}` already exists", leaf.word);
                list.find(
                    "family-twice",
                    leaf.span,
                    message,
                    "a pack may only add families; use this one as it is, or choose another word",
                );
                false
            }
            Err(_) => true,
        });
        if waiting.is_empty() || waiting.len() == before {
            break;
        }
    }
    for leaf in waiting {
        let message = format!("`{}` is not a family that `{}` could belong to", leaf.broader, leaf.word);
        list.find("family-unknown", leaf.span, message, "name an existing family as its broader family");
    }
}

/// Reads a file of a pack; a file that cannot be opened is a finding.
fn read_file(files: &Files<'_>, file: &File<'_>, found: &mut Vec<Finding>) -> Option<ParsedFile> {
    match files.bytes(file) {
        Ok(bytes) => Some(read::read(&bytes)),
        Err(fault) => {
            found.push(file_findings::unread(&files.shown(file), None, fault));
            None
        }
    }
}

/// Takes in the schemas of a pack that are sound; the others leave findings.
fn own_schemas(files: &Files<'_>, documents: &mut Cow<'_, Documents>, found: &mut Vec<Finding>) {
    let mut fresh = Vec::new();
    for file in &files.all {
        let Some(name) =
            file.relative.strip_prefix("schemas/").filter(|name| name.ends_with(".schema.json") && !name.contains('/'))
        else {
            continue;
        };
        let Some(reading) = read_file(files, file, found) else { continue };
        fresh.push((name.to_owned(), files.shown(file), reading));
    }
    if fresh.is_empty() {
        return;
    }
    let documents = documents.to_mut();
    let mut trial = documents.clone();
    for (name, _, reading) in &fresh {
        if let Some(tree) = &reading.tree {
            trial.entry(name.clone()).or_insert_with(|| instance::whole(tree));
        }
    }
    let trial = Schemas::new(trial);
    for (name, file, reading) in fresh {
        let known = documents.contains_key(&name);
        let sound = one_schema(&name, &file, reading, known, &trial, documents, found);
        if let Some(document) = sound {
            documents.insert(name, document);
        }
    }
}

fn one_schema(
    name: &str,
    file: &str,
    reading: ParsedFile,
    known: bool,
    trial: &Schemas,
    documents: &Documents,
    found: &mut Vec<Finding>,
) -> Option<Value> {
    let mut list = FileFindingList::new(file, None, &reading.source);
    list.faults(reading.faults);
    let document = reading.tree.as_ref().map(instance::whole);
    if known {
        list.find_whole(
            "schema-twice",
            format!("the schema {name} already exists"),
            "a pack may only add schemas; choose another file name",
        );
    } else if let Some(tree) = &reading.tree {
        if let Ok(mismatches) = trial.mismatches(META_SCHEMA, tree) {
            translate::report(trial, META_SCHEMA, tree, &mismatches, &mut list);
        }
        packfile::schema(name, tree, trial, &mut list);
    }
    let mut own = list.findings();
    if own.iter().all(|finding| finding.severity < Severity::Error)
        && let Some(document) = &document
    {
        own.extend(kind_conflict(file, document, documents));
        own.extend(does_not_build(name, file, document, documents));
    }
    let sound = own.iter().all(|finding| finding.severity < Severity::Error);
    found.extend(own);
    document.filter(|_| sound)
}

fn kind_conflict(file: &str, document: &Value, documents: &Documents) -> Option<Finding> {
    let taken = |key: &str| {
        let word = document.get(key).and_then(Value::as_str)?;
        documents.values().any(|other| other.get(key).and_then(Value::as_str) == Some(word)).then_some(word)
    };
    let (what, word) = taken("kind").map(|word| ("kind", word)).or_else(|| taken("folder").map(|word| ("folder", word)))?;
    let message = format!("the {what} `{word}` is already declared");
    Some(super::rules::finding("schema-twice", file, message, "a pack may only add kinds; choose another word"))
}

fn does_not_build(name: &str, file: &str, document: &Value, documents: &Documents) -> Option<Finding> {
    let mut all = documents.clone();
    all.insert(name.to_owned(), document.clone());
    let error = Schemas::new(all).build(name).err()?;
    let message = format!("the schema cannot be used: {error}");
    Some(super::rules::finding("schema-broken", file, message, "correct the schema; patterns may not look ahead or back"))
}
