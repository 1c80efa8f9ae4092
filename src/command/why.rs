//! `why`: the text of a rule, an audit or a finding of check: what, why, an example, the source.

use super::card::{CommandCard, Effect, HelpGroup, Run, TABLE};
use super::{Context, Fault, Outcome, Shared, headings, library};
use crate::audit::{Audit, waiver::ABOUT_WAIVERS};
use crate::book::{Book, Record};
use crate::check::rules::{self, Doc};
use crate::plugins::audits::ALL;
use crate::present::{Answer, Block, Page, Table};
use crate::quantity::parse::edit_distance;
use serde_json::{Value, json};

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "why",
    about: "What does a rule, an audit or a finding mean? With its source and an example",
    group: HelpGroup::Book,
    formats: TABLE,
    effect: Effect::Answers,
    outputs: &[],
    runs: &Run(run),
};

/// Arguments of `why`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED)]
pub struct WhyArgs {
    /// Name of a rule, an audit or a finding; without: all names with a line each
    pub name: Option<String>,
}

/// Explains a name, or lists all.
///
/// # Errors
/// A name that nothing bears (exit 1), and packs that cannot be opened.
pub fn run(args: &WhyArgs, shared: &Shared, context: &Context) -> Result<Outcome, Fault> {
    let done = |answer: Box<dyn Answer>| Ok(Outcome { answer, exit: 0 });
    if let Some(name) = &args.name {
        if let Some(audit) = ALL.iter().chain(ABOUT_WAIVERS).find(|a| a.name == name) {
            return done(Box::new(AuditPage(audit)));
        }
        if let Some(doc) = rules::doc(name) {
            return done(Box::new(CheckPage(doc)));
        }
    }
    let loaded = library::open(shared, context)?;
    match &args.name {
        None => Ok(Outcome { answer: Box::new(List::of(&loaded.book)), exit: loaded.exit(0) }),
        Some(name) => {
            let bare = name.strip_prefix("rule/").unwrap_or(name);
            let rule = loaded.book.record(&format!("rule/{bare}"));
            let rule = rule.or_else(|| loaded.book.of_kind("rule").find(|r| r.name.eq_ignore_ascii_case(name)));
            let rule = rule.ok_or_else(|| unknown(name, &loaded.book))?;
            Ok(Outcome { answer: Box::new(RulePage::of(&loaded.book, rule)), exit: loaded.exit(0) })
        }
    }
}

fn unknown(name: &str, book: &Book) -> Fault {
    let names = ALL.iter().chain(ABOUT_WAIVERS).map(|a| a.name).chain(rules::all().into_iter().map(|d| d.name));
    let names = names.chain(book.of_kind("rule").map(|r| r.id.name()));
    let bound = (name.len() / 3).max(1);
    let near = names.map(|n| (edit_distance(n, name), n)).filter(|(d, _)| *d <= bound).min();
    let help = near.map_or_else(|| "`gripbook why` lists all names".to_owned(), |(_, n)| format!("did you mean `{n}`?"));
    Fault { exit: 1, message: format!("no rule, audit or finding is called `{name}`"), help: Some(help) }
}

struct AuditPage(&'static Audit);

impl Answer for AuditPage {
    fn schema(&self) -> &'static str {
        "gripbook/why/1"
    }
    fn json(&self) -> Value {
        let a = self.0;
        json!({
            "name": a.name, "sort": "audit", "severity": a.severity.word(), "integrity": a.integrity, "what": a.what,
            "why": a.why, "wrong": a.shown_example(true), "right": a.shown_example(false), "waive": a.waive, "source": a.source,
        })
    }
    fn page(&self) -> Page {
        let a = self.0;
        let mut page = Page::titled(format!("{} ({}, found by audit)", a.name, a.severity.word()));
        page.blank().line(a.what).line(a.why);
        for (heading, wrong) in [("Wrong", true), ("Right", false)] {
            if let Some(text) = a.shown_example(wrong) {
                page.heading(heading);
                page.blocks.push(Block::Verbatim(text));
            }
        }
        page.blank().field("When to waive", a.waive).field("Source", a.source);
        if !a.integrity {
            let line = format!("waive: [{{finding: {}, at: PROPERTY, because: …, until: DATE}}]", a.name);
            page.field("In the record", line);
        }
        page
    }
}

struct CheckPage(&'static Doc);

impl Answer for CheckPage {
    fn schema(&self) -> &'static str {
        "gripbook/why/1"
    }
    fn json(&self) -> Value {
        let d = self.0;
        json!({"name": d.name, "sort": "check", "severity": d.severity.word(), "what": d.what, "why": d.why, "wrong": d.wrong, "right": d.right})
    }
    fn page(&self) -> Page {
        let d = self.0;
        let mut page = Page::titled(format!("{} ({}, found by check)", d.name, d.severity.word()));
        page.blank().line(d.what).line(d.why);
        for (heading, text) in [("Wrong", d.wrong), ("Right", d.right)] {
            page.heading(heading);
            page.blocks.push(Block::Verbatim(text.to_owned()));
        }
        page.blank().field("When to waive", "never: what check finds must be mended");
        page
    }
}

/// A rule with its origins in words.
struct RulePage {
    name: String,
    id: String,
    strength: String,
    rest: Value,
    origins: Vec<String>,
}

impl RulePage {
    fn of(book: &Book, rule: &Record) -> Self {
        let origin = |o: &Value| {
            let text = |key: &str| o[key].as_str();
            let source = text("source").map_or_else(|| "no source".to_owned(), |s| book.cite(s));
            let place = text("locator").map(|l| format!(", {l}")).unwrap_or_default();
            let note = text("note").map(|n| format!(" ({n})")).unwrap_or_default();
            let read = text("read").map(|r| format!(", read: {r}")).unwrap_or_default();
            format!("{}: {source}{place}{read}{note}", text("basis").unwrap_or("basis not stated"))
        };
        RulePage {
            name: rule.name.to_string(),
            id: rule.id.to_string(),
            strength: rule.rest["strength"].as_str().unwrap_or_default().to_owned(),
            origins: rule.rest["provenance"].as_array().into_iter().flatten().map(origin).collect(),
            rest: rule.rest.clone(),
        }
    }
}

impl Answer for RulePage {
    fn schema(&self) -> &'static str {
        "gripbook/why/1"
    }
    fn json(&self) -> Value {
        json!({"name": self.id, "sort": "rule", "title": self.name, "strength": self.strength, "rule": self.rest, "origins": self.origins})
    }
    fn page(&self) -> Page {
        let mut page = Page::titled(format!("{} ({}, {})", self.name, self.strength, self.id));
        page.blank();
        if let Some(because) = self.rest["because"].as_str() {
            page.line(because);
        }
        for (label, key) in [("Glue", "adhesive"), ("Material", "material"), ("Insert", "insert")] {
            let words = |field: &str| {
                let all = self.rest[key][field].as_array().into_iter().flatten().filter_map(Value::as_str);
                all.collect::<Vec<_>>().join(", ")
            };
            let (only, not) = (words("family"), words("not_family"));
            if !only.is_empty() {
                page.field(label, only);
            }
            if !not.is_empty() {
                page.field(format!("{label}, not"), not);
            }
        }
        if let Some(steps) = self.rest["lifted_by"].as_array() {
            let steps: Vec<&str> = steps.iter().filter_map(Value::as_str).collect();
            page.field("Lifted by", steps.join(", "));
        }
        for (label, key) in [("Advice", "advice"), ("When unknown", "say_when_unknown")] {
            if let Some(text) = self.rest[key].as_str() {
                page.field(label, text);
            }
        }
        if !self.rest["when"].is_null() {
            page.heading("When");
            page.blocks.push(Block::Verbatim(serde_yaml::to_string(&self.rest["when"]).unwrap_or_default()));
        }
        page.heading("Rests on");
        for origin in &self.origins {
            page.item(origin.clone());
        }
        page
    }
}

struct List(Table);

impl List {
    fn of(book: &Book) -> Self {
        let mut table = Table::new(&["name", "sort", "severity", "what"]);
        for a in ALL.iter().chain(ABOUT_WAIVERS) {
            table.row(vec![a.name.into(), "audit".into(), a.severity.word().into(), a.what.into()]);
        }
        for d in rules::all() {
            table.row(vec![d.name.into(), "check".into(), d.severity.word().into(), d.what.into()]);
        }
        for r in book.of_kind("rule").filter(|r| r.current) {
            let strength = r.rest["strength"].as_str().unwrap_or_default();
            table.row(vec![r.id.name().into(), "rule".into(), strength.into(), r.name.to_string().into()]);
        }
        List(table)
    }
}

impl Answer for List {
    fn schema(&self) -> &'static str {
        "gripbook/why-list/1"
    }
    fn json(&self) -> Value {
        let lines = self.0.json_lines("");
        let rows = lines.lines().filter_map(|l| serde_json::from_str::<Value>(l).ok()).filter(|v| v.get("name").is_some());
        json!({"names": rows.collect::<Vec<_>>()})
    }
    fn page(&self) -> Page {
        let mut page = Page::titled("All audits, findings of check, and rules");
        page.blank().table(self.0.clone());
        page
    }
    fn table(&self) -> Option<Table> {
        Some(self.0.clone())
    }
}
