//! The skeleton of a record, out of its schema.

use crate::check::catalogue::{Catalogue, KindCard, Measures, PropertyCard};
use crate::check::schemas::{Kind, Schemas, Step};
use crate::check::view::View;
use crate::command::Fault;
use crate::command::amend::scalar;
use crate::quantity::parse::range_ends;
use std::collections::BTreeMap;

/// What is known already, by field (dotted where nested), and claims by property.
#[derive(Debug, Clone, Default)]
pub(in crate::command) struct Filled {
    fields: BTreeMap<String, String>,
    claims: Vec<(String, Vec<(String, String)>)>,
}

impl Filled {
    pub fn set(&mut self, field: &str, value: &str) {
        self.fields.insert(field.to_owned(), value.to_owned());
    }
    pub fn get(&self, field: &str) -> Option<&str> {
        self.fields.get(field).map(String::as_str)
    }
    /// Whether something below a field is given.
    fn below(&self, field: &str) -> bool {
        self.fields.keys().any(|k| k.strip_prefix(field).is_some_and(|rest| rest.starts_with('.')))
    }
}

/// Reads the options `--set` and `--claim`.
pub(super) fn filled(set: &[String], claims: &[String]) -> Result<Filled, Fault> {
    let mut filled = Filled::default();
    for pair in set {
        let (field, value) =
            pair.split_once('=').ok_or_else(|| Fault::usage(format!("--set {pair}")).help("write FIELD=VALUE"))?;
        filled.set(field.trim(), value.trim());
    }
    for claim in claims {
        let mut parts = claim.split(';').map(str::trim);
        let head = parts.next().unwrap_or_default();
        let (word, value) = head.split_once(':').ok_or_else(|| {
            Fault::usage(format!("--claim '{claim}'")).help("write 'tg: 61 °C; source=ID; locator=sheet 2; basis=measured'")
        })?;
        let mut fields = match range_ends(value) {
            Some((low, high)) => vec![("low".to_owned(), low), ("high".to_owned(), high)],
            None => vec![("value".to_owned(), value.trim().to_owned())],
        };
        for part in parts.filter(|p| !p.is_empty()) {
            let (key, value) = part
                .split_once('=')
                .ok_or_else(|| Fault::usage(format!("`{part}` in --claim")).help("write FIELD=VALUE between semicolons"))?;
            fields.push((key.trim().to_owned(), value.trim().to_owned()));
        }
        filled.claims.push((word.trim().to_owned(), fields));
    }
    Ok(filled)
}

/// A kind, ready to be written out.
pub(in crate::command) struct Skeleton<'s> {
    view: View<'s>,
    card: Option<KindCard>,
    kind: Kind,
}

/// Fields of a record that are of no use to somebody who starts one.
const LATER: [&str; 4] = ["status", "withdrawn", "waive", "properties"];

impl<'s> Skeleton<'s> {
    pub fn of(schemas: &'s Schemas, kind: &Kind) -> Self {
        let card = Catalogue::of(schemas).kind(&kind.word).cloned();
        Skeleton { view: View::top(schemas, &kind.file), card, kind: kind.clone() }
    }
    /// The field that names the record.
    pub fn title_field(&self) -> &'static str {
        if self.view.order().contains(&"name") { "name" } else { "title" }
    }
    fn required(view: &View<'_>) -> Vec<String> {
        view.words("required").unwrap_or_default().into_iter().map(str::to_owned).collect()
    }
    /// Fields that must be there, each as a question.
    pub fn questions(&self) -> Vec<(String, String)> {
        let required = Self::required(&self.view);
        let simple =
            required.into_iter().filter(|f| self.view.step(&Step::Key(f.clone())).order().is_empty() && f != "properties");
        simple
            .filter(|f| !self.is_list(f))
            .map(|f| (f.clone(), format!("{f}: {}", meaning(&self.view.step(&Step::Key(f.clone()))))))
            .collect()
    }
    fn is_list(&self, field: &str) -> bool {
        self.view.step(&Step::Key(field.to_owned())).text("type") == Some("array")
    }
    /// The text: what is filled in as it is, what must be there open, the rest as comments with its meaning.
    pub fn text(&self, filled: &Filled, line: Option<&str>) -> String {
        let mut out = String::new();
        if let Some(line) = line {
            out.push_str(&format!("{line}\n"));
        }
        out.push_str(&format!(
            "# A new {}. Uncomment what you know; `gripbook check` names what is still open.\n",
            self.kind.word
        ));
        let required = Self::required(&self.view);
        for field in self.view.order().into_iter().filter(|f| !LATER.contains(f)) {
            self.field(
                field,
                field,
                &self.view.step(&Step::Key(field.to_owned())),
                required.iter().any(|r| r == field),
                0,
                filled,
                &mut out,
            );
        }
        if self.card.as_ref().is_some_and(|c| !c.properties.is_empty()) {
            self.properties(filled, &mut out);
        }
        out
    }
    /// Every hint that a skeleton of this kind may hold, whichever fields are filled in.
    pub fn hints(&self) -> String {
        let mut opened = Filled::default();
        self.view.order().into_iter().for_each(|field| opened.set(&format!("{field}.-"), ""));
        self.text(&Filled::default(), None) + &self.text(&opened, None)
    }
    #[expect(clippy::too_many_arguments, reason = "one recursive step of a writer; a struct would only rename them")]
    fn field(&self, name: &str, path: &str, view: &View<'_>, required: bool, depth: usize, filled: &Filled, out: &mut String) {
        let indent = "  ".repeat(depth);
        let inner = view.order();
        let is_list = view.text("type") == Some("array");
        if let Some(value) = filled.get(path) {
            let value = if is_list { list(value) } else { value_text(value, view) };
            return out.push_str(&format!("{indent}{name}: {value}\n"));
        }
        let open = required || filled.below(path);
        let hash = if open { "" } else { "# " };
        if is_list && !view.step(&Step::Item(0)).order().is_empty() && required {
            // A list of maps starts with one item.
            out.push_str(&format!("{indent}{name}:  # {}\n", meaning(view)));
            let item = view.step(&Step::Item(0));
            let needed = Self::required(&item);
            let mut first = true;
            for key in needed
                .iter()
                .map(String::as_str)
                .chain(["n", "mean", "sd", "mode", "specimens"].into_iter().filter(|k| item.order().contains(k)))
            {
                let dash = if first { "- " } else { "  " };
                let mark = if needed.iter().any(|n| n == key) { "" } else { "# " };
                out.push_str(&format!("{indent}  {dash}{mark}{key}:  # {}\n", meaning(&item.step(&Step::Key(key.to_owned())))));
                first = false;
            }
            return;
        }
        if !is_list && !inner.is_empty() && open {
            out.push_str(&format!("{indent}{name}:\n"));
            let needed = Self::required(view);
            for key in inner {
                let below = view.step(&Step::Key(key.to_owned()));
                self.field(key, &format!("{path}.{key}"), &below, needed.iter().any(|n| n == key), depth + 1, filled, out);
            }
            return;
        }
        out.push_str(&format!("{indent}{hash}{name}:  # {}\n", meaning(view)));
        // What stands below an optional field is shown too, so that nobody has to look for it in the schema.
        if !is_list && !open {
            for key in inner {
                out.push_str(&format!("{indent}#   {key}:  # {}\n", meaning(&view.step(&Step::Key(key.to_owned())))));
            }
        }
    }
    /// Properties: those with claims as they are, the others as comments with unit and meaning.
    fn properties(&self, filled: &Filled, out: &mut String) {
        let Some(card) = &self.card else { return };
        let hash = if filled.claims.is_empty() { "# " } else { "" };
        out.push_str(&format!("{hash}properties:\n"));
        let unknown = filled.claims.iter().filter(|(word, _)| card.property(word).is_none());
        for property in &card.properties {
            let claims: Vec<_> = filled.claims.iter().filter(|(word, _)| *word == property.word).collect();
            if claims.is_empty() {
                out.push_str(&format!(
                    "#   {}: [{{value: {}, source: , locator: , basis: measured}}]  # {}\n",
                    property.word,
                    unit(property),
                    property.description
                ));
                continue;
            }
            out.push_str(&format!("  {}:\n", property.word));
            claims.into_iter().for_each(|(_, fields)| claim(fields, out));
        }
        for (word, fields) in unknown {
            // Kept, so that check names it with the nearest property.
            out.push_str(&format!("  {word}:\n"));
            claim(fields, out);
        }
    }
}

fn claim(fields: &[(String, String)], out: &mut String) {
    for (at, (key, value)) in fields.iter().enumerate() {
        let dash = if at == 0 { "    - " } else { "      " };
        let value =
            if matches!(key.as_str(), "n") || matches!(value.as_str(), "true" | "false") { value.clone() } else { scalar(value) };
        match key.split_once('.') {
            Some((group, inner)) => out.push_str(&format!("{dash}{group}: {{{inner}: {value}}}\n")),
            None => out.push_str(&format!("{dash}{key}: {value}\n")),
        }
    }
}

/// A value as the schema wants it: numbers and truth values plain, texts as texts.
fn value_text(value: &str, view: &View<'_>) -> String {
    let plain = matches!(view.text("type"), Some("integer" | "number" | "boolean"));
    let looks_number = value.parse::<f64>().is_ok();
    match (plain, looks_number) {
        (true, _) => value.to_owned(),
        (false, true) => serde_json::json!(value).to_string(),
        (false, false) => scalar(value),
    }
}

/// `a, b` as a list; what is written as a list or map stays.
fn list(value: &str) -> String {
    if value.starts_with(['[', '{']) {
        value.to_owned()
    } else {
        format!("[{}]", value.split(',').map(|v| scalar(v.trim())).collect::<Vec<_>>().join(", "))
    }
}

/// Description, words or an example of a place.
fn meaning(view: &View<'_>) -> String {
    let description = view.text("description").or_else(|| view.text("title")).unwrap_or("see the schema").to_owned();
    let words = view.words("enum").filter(|w| w.len() <= 14).map(|w| format!(" One of: {}.", w.join(", ")));
    let example = view.keyword("examples").and_then(|e| e.get(0)).and_then(|e| e.as_str()).map(|e| format!(" E.g. {e}"));
    format!("{description}{}", words.or(example).unwrap_or_default())
}

fn unit(property: &PropertyCard) -> String {
    match &property.measures {
        Measures::Quantity(q) => match q.canonical().symbol() {
            "1" => "0.0".into(),
            symbol => format!("0.0 {symbol}"),
        },
        Measures::YesNo => "true".into(),
        Measures::Word(words) => words.first().cloned().unwrap_or_else(|| "word".into()),
    }
}
