//! The skeleton of a record, out of its schema: what must be there and what check and audit would ask for stands open.

use super::fields::{self, Filled};
use crate::command::question::TerminalQuestion;
use gripbook::audit::asked;
use gripbook::check::catalogue::{Catalogue, KindCard, Measures, PropertyCard};
use gripbook::check::schemas::{RecordKind, Schemas, Step};
use gripbook::check::view::View;
use gripbook::check::{families_of, strengths_first};
use gripbook::series::conditions;

/// A kind, ready to be written out.
pub(in crate::command) struct Skeleton<'s> {
    schemas: &'s Schemas,
    view: View<'s>,
    card: Option<KindCard>,
    kind: RecordKind,
}

/// Fields of a record that are of no use to somebody who starts one.
const LATER: [&str; 4] = ["status", "withdrawn", "waive", "properties"];
/// Words of a list that a hint names before it points to all.
const NAMED: usize = 14;

/// One field on its way into the text.
struct SkeletonField<'f, 's> {
    name: &'f str,
    /// Keys that lead here, between dots.
    path: String,
    view: View<'s>,
    is_open: bool,
    depth: usize,
}

impl<'s> Skeleton<'s> {
    pub fn of(schemas: &'s Schemas, kind: &RecordKind) -> Self {
        let card = Catalogue::of(schemas).kind(&kind.word).cloned();
        Skeleton { schemas, view: View::top(schemas, &kind.file), card, kind: kind.clone() }
    }
    /// The field that names the record.
    pub fn title_field(&self) -> &'static str {
        if self.view.order().contains(&"name") { "name" } else { "title" }
    }
    /// What the schema says of the record.
    pub fn view(&self) -> &View<'s> {
        &self.view
    }
    fn required(view: &View<'_>) -> Vec<String> {
        view.words("required").unwrap_or_default().into_iter().map(str::to_owned).collect()
    }
    fn at(&self, path: &str) -> View<'s> {
        path.split('.').fold(self.view.clone(), |view, key| view.step(&Step::Key(key.to_owned())))
    }
    /// Fields beside the required ones that check or audit would ask for.
    pub fn asked(&self, filled: &Filled) -> Vec<String> {
        match self.kind.word.as_str() {
            "series" => {
                let schema = self.schemas.document(&self.kind.file);
                let quantity = filled.get("joint.test").map(fields::quantity_of_test);
                let needed = schema.zip(quantity).map(|(schema, word)| conditions::of(schema, word)).unwrap_or_default();
                let told =
                    |c: &conditions::TestCondition| c.fields.iter().any(|f| filled.get(&format!("{}.{f}", c.part)).is_some());
                let of_test =
                    needed.iter().filter(|c| !told(c)).filter_map(|c| Some(format!("{}.{}", c.part, c.fields.first()?)));
                let bond = quantity.is_some_and(|word| word.ends_with("_strength"));
                let of_bond =
                    ["joint.adhesive", "joint.preparation", "joint.steps", "joint.gap", "joint.overlap", "test.age_of_bond"];
                let first = ["source", "locator", "joint.method", "joint.material"].map(str::to_owned);
                let bond = of_bond.into_iter().filter(|_| bond).map(str::to_owned);
                // The schema lets a torque go without them; the audit of one's own tests does not.
                let turned = quantity.is_some_and(|word| word.ends_with("_torque"));
                let turned = ["joint.boss", "test.speed"].into_iter().filter(|_| turned).map(str::to_owned);
                first
                    .into_iter()
                    .filter(|f| !(f == "joint.method" && quantity.is_none_or(|q| q.ends_with("_strength"))))
                    .chain(of_test)
                    .chain(bond)
                    .chain(turned)
                    .collect()
            }
            "source" => {
                let has_number = ["ISBN", "PMCID", "number", "URL"].iter().any(|f| filled.get(f).is_some());
                let rest: &[&str] = match filled.get("type") {
                    Some("campaign") => &["issued", "by"],
                    Some("book" | "thesis" | "report") => &["author", "issued", "publisher"],
                    _ if has_number => &["author", "issued"],
                    _ => &["author", "issued", "DOI"],
                };
                rest.iter().map(|f| (*f).to_owned()).collect()
            }
            // What was measured or stands in a standard has a source; practice and memory have none.
            _ => {
                let has_source = filled.get("basis").is_none_or(|b| !["practice", "recalled"].contains(&b));
                let asks = has_source && Self::required(&self.view).iter().any(|f| f == "basis");
                let fields = self.view.order();
                let both = ["source", "locator"].into_iter().filter(|f| asks && fields.contains(f));
                // Of several fields one has to be there: all stand open.
                let any = self.view.keyword("anyOf").and_then(|all| all.as_array()).into_iter().flatten();
                let one_of = any.filter_map(|one| one.get("required")?.as_array()).flatten().filter_map(|field| field.as_str());
                both.chain(one_of).map(str::to_owned).collect()
            }
        }
    }
    /// Fields that must be there or will be asked for, each as a question.
    pub fn questions(&self, filled: &Filled) -> Vec<String> {
        let required = Self::required(&self.view);
        let simple = required.into_iter().filter(|f| self.at(f).order().is_empty() && f != "properties");
        let inner = Self::required(&self.view).into_iter().filter(|f| self.at(f).text("type") == Some("object"));
        let inner = inner.flat_map(|f| Self::required(&self.at(&f)).into_iter().map(move |key| format!("{f}.{key}")));
        let all = simple.chain(inner).chain(self.asked(filled));
        let plain = all
            .filter(|f| self.at(f).text("type") != Some("array") || self.at(f).step(&Step::Item(0)).order().contains(&"family"));
        plain.collect()
    }
    /// The question for a field of the record; `sources` are those it may name first.
    pub fn question<'q>(&self, field: &'q str, sources: Vec<&'q str>) -> TerminalQuestion<'q>
    where
        's: 'q,
    {
        let view = self.at(field);
        if field == "source" {
            return TerminalQuestion { field, meaning: self.source(&sources), words: sources };
        }
        TerminalQuestion { field, meaning: self.meaning(&view, field), words: self.words(&view, field).unwrap_or_default() }
    }
    /// What a source is, with those that are most likely meant.
    pub fn source(&self, known: &[&str]) -> String {
        let here = match known {
            [] => "There is none in the pack yet: `gripbook new source`.".to_owned(),
            known => format!(
                "Here: {}{}",
                known.iter().take(NAMED).copied().collect::<Vec<_>>().join(", "),
                if known.len() > NAMED { " …" } else { "." }
            ),
        };
        format!("The source record. {here}")
    }
    /// The text: what is filled in as it is, what must be there open, the rest as comments with its meaning.
    pub fn text(&self, filled: &Filled, line: Option<&str>) -> String {
        self.asking(filled, line, &self.asked(filled))
    }
    fn asking(&self, filled: &Filled, line: Option<&str>, asked: &[String]) -> String {
        let mut out = line.map(|line| format!("{line}\n")).unwrap_or_default();
        out += &format!("# A new {}. Uncomment what you know; `gripbook check` names what is still open.\n", self.kind.word);
        let required = Self::required(&self.view);
        for name in self.view.order().into_iter().filter(|f| !LATER.contains(f)) {
            let is_open = required.iter().any(|r| r == name) || is_asked(asked, name);
            let field = SkeletonField { name, path: name.to_owned(), view: self.at(name), is_open, depth: 0 };
            self.field(&field, filled, asked, &mut out);
        }
        self.properties(filled, &mut out);
        out
    }
    /// The text of a record of which nothing is open: the fields that are filled in, in the order of the schema.
    pub fn plain(&self, filled: &Filled, line: Option<&str>) -> String {
        let mut out = line.map(|line| format!("{line}\n")).unwrap_or_default();
        for name in self.view.order() {
            if let Some(value) = filled.get(name) {
                out += &format!("{name}: {}\n", fields::written(value, &self.at(name)));
            }
        }
        out
    }
    /// Every hint that a skeleton of this kind may hold, whichever fields are filled in.
    pub fn hints(&self) -> String {
        let mut opened = Filled::default();
        self.view.order().into_iter().for_each(|field| opened.set(&format!("{field}.-"), ""));
        // A field that is asked for of one sort of record is a remark in another.
        let none = Filled::default();
        self.text(&none, None) + &self.text(&opened, None) + &self.asking(&none, None, &[])
    }
    fn field(&self, field: &SkeletonField<'_, 's>, filled: &Filled, asked: &[String], out: &mut String) {
        let SkeletonField { name, path, view, depth, .. } = field;
        let indent = "  ".repeat(*depth);
        let inner = view.order();
        let is_list = view.text("type") == Some("array");
        if let Some(value) = filled.get(path) {
            return out.push_str(&format!("{indent}{name}: {}\n", fields::written(value, view)));
        }
        let open = field.is_open || filled.below(path);
        if is_list && !view.step(&Step::Item(0)).order().is_empty() && open && name == &"measurements" {
            out.push_str(&format!("{indent}{name}:  # {}\n", self.meaning(view, path)));
            return self.measurement(&view.step(&Step::Item(0)), path, filled, out);
        }
        if !is_list && !inner.is_empty() && open {
            out.push_str(&format!("{indent}{name}:\n"));
            let needed = Self::required(view);
            for key in inner {
                let path = format!("{path}.{key}");
                let is_open = needed.iter().any(|n| n == key) || is_asked(asked, &path);
                let below =
                    SkeletonField { name: key, path, view: view.step(&Step::Key(key.to_owned())), is_open, depth: depth + 1 };
                self.field(&below, filled, asked, out);
            }
            return;
        }
        let hash = if open { "" } else { "# " };
        out.push_str(&format!("{indent}{hash}{name}:  # {}\n", self.meaning(view, path)));
        // What stands below an optional field is shown too, so that nobody has to look for it in the schema.
        if !is_list && !open {
            for key in inner {
                let meaning = self.meaning(&view.step(&Step::Key(key.to_owned())), &format!("{path}.{key}"));
                out.push_str(&format!("{indent}#   {key}:  # {meaning}\n"));
            }
        }
    }
    /// The first item of a list of measurements: single results, the rest as comments.
    fn measurement(&self, item: &View<'s>, path: &str, filled: &Filled, out: &mut String) {
        let step = |view: &View<'s>, key: &str| view.step(&Step::Key(key.to_owned()));
        let hint = |view: &View<'s>, key: &str, inside: &str| self.meaning(&step(view, key), &format!("{path}{inside}.{key}"));
        let word = filled.get("joint.test").map(|test| format!(" {}", fields::quantity_of_test(test))).unwrap_or_default();
        out.push_str(&format!("  - quantity:{word}  # {}\n", hint(item, "quantity", "")));
        if word.trim() == "hole_diameter" {
            out.push_str(&format!("    drawn:  # {}\n", hint(item, "drawn", "")));
        }
        for key in ["n", "mean", "sd", "mode"] {
            out.push_str(&format!("    # {key}:  # {}\n", hint(item, key, "")));
        }
        out.push_str(&format!("    specimens:  # {}\n", hint(item, "specimens", "")));
        let one = step(item, "specimens").step(&Step::Item(0));
        for (at, key) in ["label", "value", "mode", "job", "batch", "date"].into_iter().enumerate() {
            let mark = match at {
                0 => "- ",
                1 | 2 => "  ",
                _ => "  # ",
            };
            out.push_str(&format!("      {mark}{key}:  # {}\n", hint(&one, key, ".specimens")));
        }
    }
    /// Properties: those with claims as they are, the others as comments with unit, meaning and all that will be asked.
    fn properties(&self, filled: &Filled, out: &mut String) {
        let Some(card) = self.card.as_ref().filter(|c| !c.properties.is_empty()) else { return };
        let is_needed = Self::required(&self.view).iter().any(|field| field == "properties");
        out.push_str(match (filled.claims.is_empty(), is_needed) {
            (false, _) => "properties:\n",
            (true, true) => "properties:  # At least one of these; `gripbook add` puts it in.\n",
            (true, false) => "# properties:\n",
        });
        for word in strengths_first(card.properties.iter().map(|p| p.word.as_str()).collect()) {
            let Some(property) = card.property(word) else { continue };
            let claims: Vec<_> = filled.claims.iter().filter(|(of, _)| of == word).collect();
            if claims.is_empty() {
                let (example, description) = (self.example(property, filled), &property.description);
                out.push_str(&format!("#   {word}: [{example}]  # {description}\n"));
                continue;
            }
            out.push_str(&format!("  {word}:\n"));
            claims.into_iter().for_each(|(_, fields)| out.push_str(&fields::claim(fields, &self.claim_view(word))));
        }
    }
    /// What stands in a claim of a property.
    pub fn claim_view(&self, word: &str) -> View<'s> {
        self.at("properties").step(&Step::Key(word.to_owned())).step(&Step::Item(0))
    }
    /// A claim to be filled in, with the fields an audit asks for.
    fn example(&self, property: &PropertyCard, filled: &Filled) -> String {
        let is_polyamide = filled.get("family").is_some_and(|f| f.starts_with("pa") || f.starts_with("polyamide"));
        let asked = asked::of_claim(&self.kind.word, is_polyamide, property);
        let plain: String = asked.iter().filter(|f| !f.contains('.')).map(|f| format!("{f}: , ")).collect();
        let conditions: Vec<String> =
            asked.iter().filter_map(|f| f.strip_prefix("conditions.")).map(|f| format!("{f}: ")).collect();
        let conditions =
            if conditions.is_empty() { String::new() } else { format!(", conditions: {{{}}}", conditions.join(", ")) };
        format!("{{value: {}, {plain}source: , locator: , basis: measured{conditions}}}", unit(property))
    }
    /// Description, words or an example of a place. A list of words that is cut says which command shows all.
    pub fn meaning(&self, view: &View<'s>, place: &str) -> String {
        let description = view.text("description").or_else(|| view.text("title")).unwrap_or("see the schema").to_owned();
        let words = self.words(view, place).map(|words| {
            let more = words.len().saturating_sub(NAMED);
            let named = words.iter().take(NAMED).copied().collect::<Vec<_>>().join(", ");
            match more {
                0 => format!(" One of: {named}."),
                _ => format!(" One of: {named} and {more} more (`gripbook new {} --words {place}` lists all).", self.kind.word),
            }
        });
        let example = view.keyword("examples").and_then(|e| e.get(0)).and_then(|e| e.as_str()).map(|e| format!(" E.g. {e}"));
        format!("{description}{}", words.or(example).unwrap_or_default())
    }
    /// The words that may stand at a place; of families those of the kind.
    pub fn words(&self, view: &View<'s>, place: &str) -> Option<Vec<&'s str>> {
        let words = view.words("enum").or_else(|| view.words("words"))?;
        Some(if place == "family" { families_of(self.schemas, &self.kind.word) } else { words })
    }
}

/// Whether a field, or one below it, will be asked for.
fn is_asked(asked: &[String], path: &str) -> bool {
    asked.iter().any(|f| f == path || f.strip_prefix(path).is_some_and(|rest| rest.starts_with('.')))
}

/// A value of a property that is not known yet.
pub(in crate::command) fn unit(property: &PropertyCard) -> String {
    match &property.measures {
        Measures::Quantity(q) => match q.canonical().symbol() {
            "1" => "0.0".into(),
            symbol => format!("0.0 {symbol}"),
        },
        Measures::YesNo => "true".into(),
        Measures::Word(words) => words.first().cloned().unwrap_or_else(|| "word".into()),
    }
}
