//! The descriptor of a tabular data package (Frictionless Data, version 1): schemas, keys between the tables, hashes.

use crate::command::library::Loaded;
use gripbook::book::Record;
use gripbook::present::Table;
use gripbook::read::digest::sha256;
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// Columns that hold numbers.
const NUMBERS: [&str; 8] = ["value", "low", "high", "value_si", "low_si", "high_si", "sd_si", "n"];

/// The descriptor of these tables, whose CSV stands in `files` under the same names.
pub(super) fn descriptor(
    loaded: &Loaded,
    records: &[&Record],
    tables: &[(&'static str, Table); 3],
    files: &[(String, String)],
    [hash, command]: &[&str; 2],
) -> String {
    let book = &loaded.book;
    let packs: BTreeSet<usize> = records.iter().map(|r| r.pack).collect();
    let packs: Vec<_> = packs.into_iter().filter_map(|p| book.packs().get(p)).collect();
    let mut licences: Vec<Value> = packs.iter().map(|p| json!({"name": p.licence})).collect();
    licences.dedup();
    let resources: Vec<Value> = tables
        .iter()
        .zip(files)
        .map(|((name, table), (path, text))| {
            json!({
                "name": name,
                "path": path,
                "profile": "tabular-data-resource",
                "format": "csv",
                "mediatype": "text/csv",
                "encoding": "utf-8",
                "bytes": text.len(),
                "hash": format!("sha256:{}", sha256(text.as_bytes())),
                "schema": schema(name, table),
            })
        })
        .collect();
    let mut whole = json!({
        "profile": "tabular-data-package",
        "name": "gripbook-export",
        "title": "Claims, measurements and sources of the book",
        "version": hash,
        "licenses": licences,
        "sources": packs.iter().map(|p| json!({"title": p.title})).collect::<Vec<_>>(),
        "resources": resources,
        "gripbook": {"version": env!("CARGO_PKG_VERSION"), "book": hash, "command": command},
    });
    if !book.left_out.is_empty() {
        whole["left_out"] = loaded.left_out_json();
    }
    let mut text = serde_json::to_string_pretty(&whole).unwrap_or_default();
    text.push('\n');
    text
}

fn schema(name: &str, table: &Table) -> Value {
    let fields: Vec<Value> = table
        .columns
        .iter()
        .map(|c| json!({"name": c, "type": if NUMBERS.contains(&c.as_str()) { "number" } else { "string" }}))
        .collect();
    let mut schema = json!({"fields": fields, "missingValues": [""]});
    if name == "sources" {
        schema["primaryKey"] = json!("id");
    } else {
        schema["foreignKeys"] = json!([{"fields": "source", "reference": {"resource": "sources", "fields": "id"}}]);
    }
    schema
}
