//! Ways of joining: the names that series and searches use, and the formulas, inputs and lengths of a method's record.
//!
//! Words from closed lists (modes, groups, hazards, assumptions) are the affair of the schema; here is what no schema can say.

use super::catalogue::{Catalogue, Measures};
use super::file_findings::{FileFindingList, nearest};
use super::packs::Index;
use super::schemas::{Schemas, Step};
use super::view::View;
use crate::finding::Span;
use crate::mechanics::book::formulas;
use crate::mechanics::formula::{Formula, Parameter};
use crate::quantity::{Quantity, parse};
use crate::read::tree::{Map, Node};

/// The kind of records that describe a way of joining.
const KIND: &str = "method";

/// Lengths that a method may name before the joint is shaped: of thread, screw, nut and insert.
pub const LENGTHS: [&str; 13] = [
    "thread_diameter",
    "pitch",
    "pitch_diameter",
    "minor_diameter",
    "length",
    "tap_drill",
    "clearance_hole",
    "head_diameter",
    "washer_diameter",
    "nut_flats",
    "nut_height",
    "insert_diameter",
    "insert_length",
];
/// Lengths of the joint as shaped, which limit states may name too.
pub const SHAPED_LENGTHS: [&str; 5] = ["hole_diameter", "boss_diameter", "wall", "depth", "engaged_length"];

/// Formulas inside of one another.
pub const DEEPEST: usize = 4;

/// Looks at a record that names or describes ways of joining.
pub(super) fn look((kind, id): (&str, &str), tree: &Node, schemas: &Schemas, index: &Index<'_>, list: &mut FileFindingList<'_>) {
    match kind {
        "series" => tree.get("joint").and_then(|joint| joint.get("method")).into_iter().for_each(|word| {
            named(word, schemas, index, list);
        }),
        "search" => {
            let words = tree.get("methods").and_then(Node::as_list).unwrap_or_default();
            words.iter().for_each(|word| named(word, schemas, index, list));
        }
        KIND => Looker::of(tree, schemas).look(id, list),
        _ => {}
    }
}

fn words<'s>(schemas: &'s Schemas, file: &str, path: &[&str]) -> Vec<&'s str> {
    let steps: Vec<Step> = path.iter().map(|key| Step::Key((*key).to_owned())).collect();
    View::top(schemas, file).path(&steps).words("enum").unwrap_or_default()
}

/// A word that must be a way of joining: one of the program, or a record.
fn named(word: &Node, schemas: &Schemas, index: &Index<'_>, list: &mut FileFindingList<'_>) {
    let Some(text) = word.as_text().filter(|text| super::ids::fault(text).is_none()) else { return };
    let known = words(schemas, "series.schema.json", &["joint", "method"]);
    if known.contains(&text) || index.contains(KIND, text) {
        return;
    }
    let close = nearest(text, known.iter().copied()).map(str::to_owned);
    let close = close.or_else(|| index.nearest(KIND, text).map(|id| id.trim_start_matches("method/").to_owned()));
    let help = close.map_or_else(
        || format!("one of {}; or add a record {KIND}/{text}", known.join(", ")),
        |close| format!("did you mean `{close}`?"),
    );
    list.find("method-unknown", word.span, format!("no way of joining is called `{text}`"), help);
}

/// Looks at the record of a method.
struct Looker<'t> {
    tree: &'t Node,
    catalogue: Catalogue,
    formulas: Vec<Formula>,
    built_in: Vec<String>,
    /// Assumptions by name, each with what it measures.
    assumptions: Vec<(String, Quantity)>,
    /// Names of the record's own sizes.
    own: Vec<&'t str>,
}

impl<'t> Looker<'t> {
    fn of(tree: &'t Node, schemas: &Schemas) -> Self {
        let file = format!("{KIND}.schema.json");
        let document = schemas.document(&file);
        let measures = document.and_then(|d| d["$defs"]["assumption"]["measures"].as_object());
        let assumptions = measures.into_iter().flatten().flat_map(|(quantity, names)| {
            let quantity = Quantity::from_word(quantity);
            let names = names.as_array().into_iter().flatten().filter_map(|name| name.as_str());
            names.filter_map(move |name| Some((name.to_owned(), quantity?)))
        });
        let built_in = document.and_then(|d| d["$defs"]["built_in"]["enum"].as_array()).into_iter().flatten();
        Looker {
            tree,
            catalogue: Catalogue::of(schemas),
            formulas: formulas(),
            built_in: built_in.filter_map(|name| name.as_str().map(str::to_owned)).collect(),
            assumptions: assumptions.collect(),
            own: Vec::new(),
        }
    }
    fn look(mut self, id: &str, list: &mut FileFindingList<'_>) {
        if self.built_in.iter().any(|name| name == id) {
            let message = format!("`{id}` is a way of joining that the program brings itself");
            list.find_whole("method-built-in", message, "choose another name for the record");
        }
        for size in items(self.tree, "sizes") {
            self.size(size, list);
            let Some(name) = size.get("name") else { continue };
            let Some(word) = name.as_text() else { continue };
            if LENGTHS.contains(&word) || SHAPED_LENGTHS.contains(&word) || self.own.contains(&word) {
                let message = format!("`{word}` is the name of a length already");
                list.find("length-twice", name.span, message, "choose another name");
            }
            self.own.push(word);
        }
        self.hole(list);
        for state in items(self.tree, "fails") {
            self.group(state, list);
            if let Some(name) = state.get("formula") {
                self.bound(name, state.get("inputs"), Quantity::Force, DEEPEST, list);
            }
        }
    }
    fn takes(&self, what: &str) -> bool {
        let taken = self.tree.get("takes").and_then(|takes| takes.get(what));
        taken.is_some_and(|taken| taken.as_text().is_some() || taken.as_bool() == Some(true))
    }
    /// Whether what a word needs is taken; a finding where it is not.
    fn needs(&self, what: &str, span: Span, list: &mut FileFindingList<'_>) {
        if !self.takes(what) {
            let (message, example) = match what {
                "insert" => ("this needs an insert, and the method takes none", "takes: {insert: glue-in}"),
                "glue" => ("this needs glue, and the method takes none", "takes: {insert: glue-in, glue: adhesive}"),
                _ => ("this needs a nut, and the method takes none", "takes: {nut: true}"),
            };
            list.find("takes-missing", span, message, format!("add it to `takes`, e.g. `{example}`"));
        }
    }
    fn hole(&self, list: &mut FileFindingList<'_>) {
        let Some(hole) = self.tree.get("hole") else { return };
        if let Some(shape) = hole.get("shape") {
            match shape.as_text() {
                Some("plain" | "stepped" | "undercut") => {
                    self.needs("insert", shape.span, list);
                    self.needs("glue", shape.span, list);
                }
                Some("pocket") => self.needs("nut", shape.span, list),
                _ => {}
            }
        }
        let boss = hole.get("boss");
        boss.and_then(|boss| boss.get("round")).into_iter().for_each(|size| self.size(size, list));
        if let Some(times) = boss.and_then(|boss| boss.get("times")) {
            self.assumed(times, Quantity::Number, list);
        }
        for step in items(hole, "steps") {
            for key in ["diameter", "from", "to"] {
                step.get(key).into_iter().for_each(|size| self.size(size, list));
            }
        }
    }
    fn group(&self, state: &Node, list: &mut FileFindingList<'_>) {
        let Some(group) = state.get("group") else { return };
        match group.as_text() {
            Some("glued-sleeve") => {
                self.needs("insert", group.span, list);
                self.needs("glue", group.span, list);
            }
            Some("insert-thread") => self.needs("insert", group.span, list),
            _ => {}
        }
        let shapes: &[&str] = match group.as_text() {
            Some("glued-sleeve") => &["plain", "stepped", "undercut"],
            Some("clamped-nut") => &["clearance", "pocket"],
            _ => &[],
        };
        let shape = self.tree.get("hole").and_then(|hole| hole.get("shape")).and_then(Node::as_text);
        if !shapes.is_empty() && !shape.is_some_and(|shape| shapes.contains(&shape)) {
            let message = "this group belongs to another hole";
            list.find(
                "group-unfit",
                group.span,
                message,
                format!("hole: {{shape: {}}}, or states by formula", shapes.join(" or ")),
            );
        }
        if let Some(formula) = state.get("formula") {
            let help = "make two limit states of it";
            list.find("state-ambiguous", formula.span, "this limit state names a group and a formula", help);
        }
    }
    /// The length that a size follows.
    fn size(&self, size: &Node, list: &mut FileFindingList<'_>) {
        let (of, value) = (size.get("of"), size.get("value"));
        if let (Some(_), Some(value)) = (of, value) {
            let message = "this size follows another length and is fixed too";
            list.find("value-ambiguous", value.span, message, "keep one of `of` and `value`");
        }
        of.into_iter().for_each(|word| self.length(word, false, list));
    }
    fn length(&self, word: &Node, shaped: bool, list: &mut FileFindingList<'_>) {
        let Some(text) = word.as_text() else { return };
        match text {
            "nut_flats" | "nut_height" => self.needs("nut", word.span, list),
            "insert_diameter" | "insert_length" => self.needs("insert", word.span, list),
            _ => {}
        }
        let known: Vec<&str> = LENGTHS.iter().chain(SHAPED_LENGTHS.iter().filter(|_| shaped)).chain(&self.own).copied().collect();
        if known.contains(&text) {
            return;
        }
        let help = match nearest(text, known.iter().copied()) {
            Some(close) => format!("did you mean `{close}`?"),
            None if SHAPED_LENGTHS.contains(&text) => format!("`{text}` is known once the joint is shaped: in limit states"),
            None => format!("one of {}, or a size of this record that stands before", known.join(", ")),
        };
        list.find("length-unknown", word.span, format!("no length of the joint is called `{text}`"), help);
    }
    /// A formula with its inputs; `wants` is what its result must be.
    fn bound(&self, name: &Node, inputs: Option<&Node>, wants: Quantity, deep: usize, list: &mut FileFindingList<'_>) {
        let Some(text) = name.as_text() else { return };
        if deep == 0 {
            let message = format!("formulas stand more than {DEEPEST} deep inside of one another");
            list.find("formula-deep", name.span, message, "a formula of the program that gives the result at once");
            return;
        }
        let Some(formula) = self.formulas.iter().find(|f| f.name == text) else {
            let close = nearest(text, self.formulas.iter().map(|f| f.name));
            let help =
                close.map_or_else(|| "`gripbook formula` lists them".to_owned(), |close| format!("did you mean `{close}`?"));
            list.find("formula-unknown", name.span, format!("there is no formula `{text}`"), help);
            return;
        };
        if !fits(wants, formula.quantity) {
            let message = format!("`{text}` gives {}, and {} is needed here", formula.quantity.title(), wants.title());
            let help = if wants == Quantity::Force {
                "a formula that gives a load; `gripbook formula` lists them with what they give"
            } else {
                "another formula, or another binding of this input"
            };
            list.find("result-unfit", name.span, message, help);
        }
        if let Some(inputs) = inputs.and_then(Node::as_map) {
            self.inputs(formula, (inputs, name.span), deep, list);
        }
    }
    fn inputs(&self, formula: &Formula, (inputs, span): (&Map, Span), deep: usize, list: &mut FileFindingList<'_>) {
        let mut seen = Vec::new();
        for entry in inputs {
            let word = &*entry.key.text;
            let Some(place) = formula.place(word) else {
                let names: Vec<&str> = formula.parameters.iter().map(|p| p.argument.name).collect();
                let help = nearest(word, names.iter().copied())
                    .map_or_else(|| format!("it takes {}", names.join(", ")), |close| format!("did you mean `{close}`?"));
                let message = format!("`{}` has no input `{word}`", formula.name);
                list.find("input-unknown", entry.key.span, message, help);
                continue;
            };
            if seen.contains(&place) {
                let message = format!("`{word}` is an input that is given already");
                list.find("input-unknown", entry.key.span, message, "give every input once, by name or by symbol");
            }
            seen.push(place);
            self.input(&formula.parameters[place], &entry.node, deep, list);
        }
        let lacking: Vec<&str> =
            formula.parameters.iter().enumerate().filter(|(i, _)| !seen.contains(i)).map(|(_, p)| p.argument.name).collect();
        if !lacking.is_empty() {
            let message = format!("`{}` needs {}", formula.name, lacking.join(", "));
            list.find("input-missing", span, message, format!("gripbook formula {} tells what each is", formula.name));
        }
    }
    fn input(&self, parameter: &Parameter, input: &Node, deep: usize, list: &mut FileFindingList<'_>) {
        let Some(map) = input.as_map() else { return };
        let ways = ["claim", "geometry", "assumption", "value", "low", "formula"];
        let stated: Vec<_> = ways.iter().filter_map(|way| map.entry(way)).collect();
        if let [_, second, ..] = stated[..] {
            let message = format!("`{}` is bound in two ways", parameter.argument.name);
            list.find("value-ambiguous", second.key.span, message, "keep one of them");
        }
        let wants = parameter.quantity;
        if let (Some(claim), Some(of)) = (map.get("claim"), map.get("of")) {
            self.claim(parameter, claim, of, list);
        }
        if let Some(word) = map.get("geometry") {
            self.length(word, true, list);
            unfit(word, parameter, Quantity::Length, list);
        }
        map.get("assumption").into_iter().for_each(|name| self.assumed(name, wants, list));
        for key in ["value", "low", "high"] {
            map.get(key).into_iter().for_each(|number| self.number(number, parameter, list));
        }
        if let Some(name) = map.get("formula") {
            self.bound(name, map.get("inputs"), wants, deep - 1, list);
        }
    }
    /// A number with its unit, within what the input may be at all.
    fn number(&self, number: &Node, parameter: &Parameter, list: &mut FileFindingList<'_>) {
        let Some(text) = number.written() else { return };
        match parse(text, parameter.quantity) {
            Err(fault) => list.find("input-unfit", number.span, fault.message(), fault.help()),
            Ok(written) if !parameter.argument.domain.admits(written.si) => {
                let message = format!("`{}` cannot be {text}", parameter.argument.name);
                let help = format!("it must be {}", crate::mechanics::call::domain_words(parameter));
                list.find("input-unfit", number.span, message, help);
            }
            Ok(_) => {}
        }
    }
    fn assumed(&self, name: &Node, wants: Quantity, list: &mut FileFindingList<'_>) {
        let Some((text, (_, measures))) =
            name.as_text().and_then(|text| Some((text, self.assumptions.iter().find(|(known, _)| known == text)?)))
        else {
            return;
        };
        if !fits(wants, *measures) {
            let message = format!("the assumption `{text}` is {}, and {} is needed here", measures.title(), wants.title());
            list.find("input-unfit", name.span, message, "another assumption, or another binding of this input");
        }
    }
    fn claim(&self, parameter: &Parameter, claim: &Node, of: &Node, list: &mut FileFindingList<'_>) {
        let (Some(property), Some(whose)) = (claim.as_text(), of.as_text()) else { return };
        match whose {
            "insert" | "glue" => self.needs(whose, of.span, list),
            _ => {}
        }
        let roles: &[&str] = match whose {
            "part" => &["material"],
            "glue" => &["adhesive"],
            "insert" => &["insert", "metal"],
            "screw" => &["screw", "metal"],
            _ => &[],
        };
        let kind = whose.split('/').next().unwrap_or(whose);
        let kinds = self.catalogue.kinds.iter().filter(|k| match roles {
            [] => k.word == kind || (["insert", "screw", "nut"].contains(&kind) && k.role == "metal"),
            roles => roles.contains(&k.role.as_str()),
        });
        let cards: Vec<_> = kinds.flat_map(|k| &k.properties).collect();
        match cards.iter().find(|card| card.word == property).map(|card| &card.measures) {
            Some(Measures::Quantity(quantity)) => unfit(claim, parameter, *quantity, list),
            Some(_) => {
                let message = format!("`{property}` is no number, and {} is needed here", parameter.quantity.title());
                list.find("input-unfit", claim.span, message, "a property that is a number");
            }
            None => {
                let close = nearest(property, cards.iter().map(|card| card.word.as_str()));
                let help = close.map_or_else(
                    || "`gripbook new polymer --words properties` lists those of a kind".to_owned(),
                    |close| format!("did you mean `{close}`?"),
                );
                list.find("claim-unknown", claim.span, format!("`{whose}` has no property `{property}`"), help);
            }
        }
    }
}

/// The entries of a list.
fn items<'t>(node: &'t Node, key: &str) -> &'t [Node] {
    node.get(key).and_then(Node::as_list).unwrap_or_default()
}

/// Whether a value of one quantity may stand for another: shares are plain numbers.
fn fits(wants: Quantity, has: Quantity) -> bool {
    let plain = |quantity| matches!(quantity, Quantity::Fraction | Quantity::Number);
    wants == has || plain(wants) && plain(has)
}

fn unfit(place: &Node, parameter: &Parameter, has: Quantity, list: &mut FileFindingList<'_>) {
    if !fits(parameter.quantity, has) {
        let name = parameter.argument.name;
        let message = format!("this is {}, and `{name}` is {}", has.title(), parameter.quantity.title());
        list.find("input-unfit", place.span, message, format!("bind what is {}", parameter.argument.means));
    }
}
