//! Sources out of citations: CSL-JSON, as the registries of DOIs give it, and BibTeX.

use super::cited::Citation;
use super::fields::Filled;
use super::{NewArgs, bibtex, csl};
use crate::command::{Context, Fault};
use gripbook::book::Book;
use gripbook::check::ids;
use std::path::Path;

/// Largest file of citations.
const MOST: u64 = 4 << 20;

/// A source that is to be written.
pub(super) struct TakenSource {
    pub id: String,
    pub fields: Filled,
    pub told: Vec<String>,
}

/// Reads a file of citations.
pub(super) fn taken(
    path: &Path,
    args: &NewArgs,
    kind: &str,
    typed: &Filled,
    book: &Book,
    context: &Context,
) -> Result<Vec<TakenSource>, Fault> {
    if kind != "source" {
        return Err(Fault::usage(format!("a citation makes a source, not a {kind}")).help("gripbook new source --from FILE"));
    }
    let shown = path.display();
    let whole = context.folder.join(path);
    let size = std::fs::metadata(&whole).map_err(|e| Fault::data(format!("{shown}: {e}")))?.len();
    if size > MOST {
        return Err(Fault::data(format!("{shown}: a file of citations has at most 4 MiB")));
    }
    let bytes = std::fs::read(&whole).map_err(|e| Fault::data(format!("{shown}: {e}")))?;
    let text = String::from_utf8(bytes).map_err(|_| Fault::data(format!("{shown} is not UTF-8")).help("save it as UTF-8"))?;
    let text = text.trim_start_matches('\u{FEFF}');
    let is_json = text.trim_start().starts_with(['{', '[']);
    let read = if is_json { csl::read(text) } else { bibtex::read(text) };
    let mut all = read.map_err(|why| Fault::data(format!("{shown}:{why}")))?;
    if let Some(key) = &args.key {
        let keys: Vec<String> = all.iter().map(|c| c.key.clone()).collect();
        all.retain(|c| c.key == *key);
        if all.is_empty() {
            return Err(Fault::usage(format!("{shown} has no citation `{key}`")).help(format!("keys are {}", keys.join(", "))));
        }
    }
    if all.is_empty() {
        return Err(Fault::data(format!("{shown} holds no citation")).help("CSL-JSON (an object or a list of them) or BibTeX"));
    }
    if args.id.is_some() && all.len() > 1 {
        return Err(Fault::usage(format!("--id names one source, {shown} holds {}", all.len())).help("choose one with --key"));
    }
    let mut made: Vec<TakenSource> = Vec::new();
    for citation in all {
        let one = source(citation, args, typed, book).map_err(|f| Fault { message: format!("{shown}: {}", f.message), ..f })?;
        if made.iter().any(|other| other.id == one.id) {
            return Err(Fault::data(format!("{shown}: two citations would become source/{}", one.id))
                .help("take them one by one: --key KEY --id ID"));
        }
        made.push(one);
    }
    Ok(made)
}

fn source(citation: Citation, args: &NewArgs, typed: &Filled, book: &Book) -> Result<TakenSource, Fault> {
    let id = args.id.clone().unwrap_or_else(|| citation.id());
    if ids::fault(&id).is_some() {
        return Err(
            Fault::usage(format!("`{id}` is not a valid id")).help("give --id with small letters, digits and single hyphens")
        );
    }
    if let Some(doi) = citation.get("DOI")
        && let Some(same) = book
            .records()
            .into_iter()
            .find(|r| r.id.kind() == "source" && r.source().is_some_and(|s| s.doi.as_deref() == Some(doi)))
    {
        return Err(Fault::usage(format!("{} has the DOI {doi} already", same.id)).help("cite that record"));
    }
    let mut fields = typed.clone();
    for (field, value) in &citation.fields {
        if typed.get(field).is_none() {
            fields.set(field, value);
        }
    }
    if fields.get("type").is_none() {
        return Err(Fault::data(format!("what sort of source `{}` is cannot be told", citation.key))
            .help("say it: --set type=… (`gripbook new source --words type` lists all)"));
    }
    let told = (!citation.left_out.is_empty()).then(|| format!("A source has no place for: {}.", citation.left_out.join(", ")));
    Ok(TakenSource { id, fields, told: told.into_iter().collect() })
}
