//! Saved sheets: the JSON of an answer, with the addresses of the claims it used.

use crate::command::{Context, Fault};
use gripbook::book::{Book, PackRoot};
use serde_json::Value;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

/// Largest sheet read, in bytes.
const LIMIT: u64 = 64 * 1024 * 1024;

/// How a sheet is made.
const HOW: &str = "write one with --format json or --out";

/// A claim that a sheet used, with the value it had.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetClaim {
    /// Its address.
    pub address: String,
    /// The text of its value then, when the sheet holds it.
    pub written: Option<String>,
}

/// Reads a sheet.
///
/// # Errors
/// A file that cannot be read or is no JSON document of an answer.
pub fn read(path: &Path) -> Result<Value, Fault> {
    let fault = |e: &dyn std::fmt::Display| Fault::data(format!("{}: {e}", path.display()));
    let size = std::fs::metadata(path).map_err(|e| fault(&e))?.len();
    if size > LIMIT {
        return Err(fault(&"the file is too large for a sheet"));
    }
    let bytes = std::fs::read(path).map_err(|e| fault(&e))?;
    let sheet: Value = serde_json::from_slice(&bytes)
        .map_err(|e| fault(&format!("the file is not JSON (line {}, column {})", e.line(), e.column())).help(HOW))?;
    let ours = sheet["tool"] == "gripbook" && sheet["schema"].as_str().is_some_and(|s| s.starts_with("gripbook/"));
    if !ours {
        return Err(fault(&"the file is not the JSON of an answer").help(HOW));
    }
    Ok(sheet)
}

/// The claims and series a sheet used, each once, in the order of the sheet.
pub fn used(sheet: &Value) -> Vec<SheetClaim> {
    let mut all = Vec::new();
    walk(sheet, &mut all);
    all
}

fn walk(value: &Value, into: &mut Vec<SheetClaim>) {
    match value {
        Value::Object(fields) => {
            for key in ["address", "claim"] {
                if let Some(address) = fields.get(key).and_then(Value::as_str).filter(|a| is_address(a) || is_series(a)) {
                    add(address, written(fields), into);
                }
            }
            let counts = |key: &str| !matches!(key, "command" | "lost");
            fields.iter().filter(|(key, _)| counts(key)).for_each(|(_, inner)| walk(inner, into));
        }
        Value::Array(items) => items.iter().for_each(|inner| walk(inner, into)),
        Value::String(text) if is_address(text) || is_series(text) => add(text, None, into),
        _ => {}
    }
}

/// What the answer says it had lost.
pub fn lost(sheet: &Value) -> BTreeSet<String> {
    let groups = sheet["lost"].as_array().into_iter().flatten();
    let all = groups.flat_map(|group| group["lost"].as_array().into_iter().flatten());
    all.filter_map(Value::as_str).map(str::to_owned).collect()
}

/// Whether a sheet names a record.
pub fn names(sheet: &Value, id: &str) -> bool {
    match sheet {
        Value::Object(fields) => {
            fields.iter().any(|(key, inner)| !matches!(key.as_str(), "command" | "lost") && names(inner, id))
        }
        Value::Array(items) => items.iter().any(|inner| names(inner, id)),
        Value::String(text) => text == id,
        _ => false,
    }
}

fn add(address: &str, written: Option<String>, into: &mut Vec<SheetClaim>) {
    match into.iter_mut().find(|u| u.address == address) {
        Some(known) if known.written.is_none() => known.written = written,
        Some(_) => {}
        None => into.push(SheetClaim { address: address.into(), written }),
    }
}

/// The text of the value beside an address: `written`, or that of `value`, or of both ends.
fn written(fields: &serde_json::Map<String, Value>) -> Option<String> {
    let text = |v: &Value| v.as_str().or_else(|| v["written"].as_str()).map(str::to_owned);
    fields.get("written").and_then(text).or_else(|| fields.get("value").and_then(text))
}

fn word(s: &str) -> bool {
    !s.is_empty() && s.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || matches!(b, b'-' | b'_'))
}

/// `series/id`: a series is used whole.
fn is_series(text: &str) -> bool {
    text.strip_prefix("series/").is_some_and(word)
}

/// `kind/id:property`, with a key perhaps.
fn is_address(text: &str) -> bool {
    let Some(address) = gripbook::audit::address::parse(text) else { return false };
    let Some((kind, id)) = address.record.split_once('/') else { return false };
    word(kind) && word(id) && word(address.property) && address.key.is_none_or(word)
}

/// Sheets in the `sheets` folders of folder packs, and those named.
///
/// # Errors
/// A named path that does not exist.
pub fn files(book: &Book, paths: &[PathBuf], context: &Context) -> Result<Vec<PathBuf>, Fault> {
    let mut files = Vec::new();
    for pack in book.packs() {
        if let PackRoot::Folder { path, .. } = &pack.root {
            files.extend(inside(&path.join("sheets"), context));
        }
    }
    for path in paths {
        let whole = context.folder.join(path);
        if whole.is_dir() {
            files.extend(inside(path, context));
        } else if whole.is_file() {
            files.push(path.clone());
        } else {
            return Err(Fault::data(format!("{}: no such file or folder", path.display())));
        }
    }
    files.sort();
    files.dedup();
    Ok(files)
}

fn inside(folder: &Path, context: &Context) -> Vec<PathBuf> {
    let entries = std::fs::read_dir(context.folder.join(folder)).into_iter().flatten().flatten();
    let is_sheet = |name: &std::ffi::OsString| name.to_str().is_some_and(|n| n.ends_with(".json"));
    entries.map(|e| e.file_name()).filter(is_sheet).map(|name| folder.join(name)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn addresses_are_found_with_the_value_beside_them() {
        let sheet = json!({
            "command": "gripbook trace polymer/pla:cte",
            "inputs": [{"address": "polymer/pla:tg#1f2e3d4c", "value": {"value": 60.0, "unit": "°C", "written": "60 °C"}}],
            "claims": ["resin/tough:tensile_strength", "polymer/pla:tg#1f2e3d4c", "no: address", "https://example.org/a:b", "a series/x of words"],
            "calibration": {"used": [{"series": "series/logger-grey-cut-m3", "n": 5}]},
        });
        let used = used(&sheet);
        assert_eq!(used.len(), 3, "{used:?}");
        assert_eq!(used[0], SheetClaim { address: "polymer/pla:tg#1f2e3d4c".into(), written: Some("60 °C".into()) });
        let rest: Vec<&str> = used[1..].iter().map(|u| &*u.address).collect();
        assert!(rest.contains(&"resin/tough:tensile_strength") && rest.contains(&"series/logger-grey-cut-m3"), "{rest:?}");
    }
}
