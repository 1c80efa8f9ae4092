//! `why`: the text of a rule, an audit or a finding of check: what, why, an example, the source.

use super::card::{CommandCard, Effect, HelpGroup, Run, TABLE};
use super::library::{self, Loaded};
use super::{CommandOutcome, Context, Fault, Shared, headings};
use gripbook::audit::{Audit, waiver::ABOUT_WAIVERS};
use gripbook::book::{Book, Record, view};
use gripbook::check::rules::{self, Doc};
use gripbook::mechanics::call::nearest;
use gripbook::present::table::Cell;
use gripbook::present::{Answer, Block, Page, Table};
use serde_json::{Value, json};

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "why",
    about: "Explain a rule, an audit or a finding, with its source and an example",
    group: HelpGroup::Book,
    formats: TABLE,
    effect: Effect::Answers,
    outputs: &[],
    runs: &Run(run),
};

/// Arguments of `why`.
#[derive(Debug, Clone, clap::Args)]
#[command(next_help_heading = headings::ASKED, after_help = "Examples:
  gripbook why unsourced                      an audit
  gripbook why unit-missing                   a finding of check
  gripbook why unprepared-print-bonds-badly   a rule
  gripbook why                                all names, a line each")]
pub struct WhyArgs {
    /// Name of a rule, an audit or a finding; without it, a list of all
    pub name: Option<String>,
}

/// Explains a name, or lists all.
///
/// # Errors
/// A name that nothing bears (exit 1), and packs that cannot be opened.
pub fn run(args: &WhyArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let done = |answer: Box<dyn Answer>| Ok(CommandOutcome { answer, exit: 0 });
    let audits = context.registry.audits;
    if let Some(name) = &args.name {
        if let Some(audit) = audits.iter().chain(ABOUT_WAIVERS).find(|a| a.name == name) {
            return done(Box::new(AuditPage(audit)));
        }
        if let Some(doc) = rules::doc(name) {
            return done(Box::new(CheckPage(doc)));
        }
    }
    let loaded = library::open(shared, context)?;
    match &args.name {
        None => Ok(CommandOutcome { answer: Box::new(NameList::of(&loaded)), exit: loaded.exit(0) }),
        Some(name) => {
            let bare = name.strip_prefix("rule/").unwrap_or(name);
            let rule = loaded.book.record(&format!("rule/{bare}"));
            let rule = rule.or_else(|| loaded.book.of_kind("rule").find(|r| r.name.eq_ignore_ascii_case(name)));
            if let Some(page) = loaded.book.record(&format!("plugin/{name}")).and_then(PluginPage::of) {
                return Ok(CommandOutcome { answer: Box::new(page), exit: loaded.exit(0) });
            }
            let page = rule.and_then(|rule| RulePage::of(&loaded.book, rule)).ok_or_else(|| unknown(name, &loaded))?;
            Ok(CommandOutcome { answer: Box::new(page), exit: loaded.exit(0) })
        }
    }
}

fn unknown(name: &str, loaded: &Loaded) -> Fault {
    let names =
        loaded.registry.audits.iter().chain(ABOUT_WAIVERS).map(|a| a.name).chain(rules::all().into_iter().map(|d| d.name));
    let names = names.chain(loaded.book.of_kind("rule").map(|r| r.id.name()));
    let near: Vec<String> = nearest(name, names).into_iter().map(|n| format!("`{n}`")).collect();
    let help = match near.is_empty() {
        true => "`gripbook why` lists all names".to_owned(),
        false => format!("did you mean {}?", near.join(" or ")),
    };
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
        let mut page = Page::titled(format!("{}: {} found by audit", a.name, a.severity.word()));
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
        let mut page = Page::titled(format!("{}: {} found by check", d.name, d.severity.word()));
        page.blank().line(d.what).line(d.why);
        for (heading, text) in [("Wrong", d.wrong), ("Right", d.right)] {
            page.heading(heading);
            page.blocks.push(Block::Verbatim(text.to_owned()));
        }
        page.blank().field("When to waive", "never: what check finds must be corrected");
        page
    }
}

/// The audit of a plug-in, as its record says.
struct PluginPage {
    name: String,
    what: String,
    why: String,
    severity: String,
}

impl PluginPage {
    fn of(record: &Record) -> Option<Self> {
        let says = record.plugin().filter(|p| &*p.does == "audit")?;
        let text = |text: &Option<Box<str>>, other: &str| text.as_deref().unwrap_or(other).to_owned();
        Some(PluginPage {
            name: record.id.name().into(),
            what: says.purpose.to_string(),
            why: text(&says.why, "its record does not say why"),
            severity: text(&says.severity, "warning"),
        })
    }
}

impl Answer for PluginPage {
    fn schema(&self) -> &'static str {
        "gripbook/why/1"
    }
    fn json(&self) -> Value {
        json!({"name": self.name, "sort": "plug-in", "severity": self.severity, "what": self.what, "why": self.why})
    }
    fn page(&self) -> Page {
        let mut page = Page::titled(format!("{}: {} found by a plug-in", self.name, self.severity));
        page.blank().line(self.what.as_str()).line(self.why.as_str()).blank();
        page.field("In the record", format!("waive: [{{finding: {}, because: …, until: DATE}}]", self.name));
        page.line("It runs only where it is allowed: gripbook audit --plugin NAME=SHA256");
        page
    }
}

/// A rule with its origins in words.
struct RulePage {
    name: String,
    id: String,
    says: view::Rule,
    fields: view::Fields,
    origins: Vec<String>,
}

impl RulePage {
    fn of(book: &Book, rule: &Record) -> Option<Self> {
        let says = rule.rule()?.clone();
        let origin = |o: &view::RuleOrigin| {
            let source = o.source.as_deref().map_or_else(|| "no source".to_owned(), |s| book.cite(s));
            let place = o.locator.as_ref().map(|l| format!(", {l}")).unwrap_or_default();
            let note = o.note.as_ref().map(|n| format!(" ({n})")).unwrap_or_default();
            let read = o.read.as_ref().map(|r| format!(", read: {r}")).unwrap_or_default();
            format!("{}: {source}{place}{read}{note}", o.basis.word())
        };
        let origins = says.provenance.iter().map(origin).collect();
        let (name, id) = (rule.name.to_string(), rule.id.to_string());
        Some(RulePage { name, id, origins, says, fields: rule.rest.clone() })
    }
}

impl Answer for RulePage {
    fn schema(&self) -> &'static str {
        "gripbook/why/1"
    }
    fn json(&self) -> Value {
        let strength = self.says.strength.word();
        json!({"name": self.id, "sort": "rule", "title": self.name, "strength": strength, "rule": self.fields, "origins": self.origins})
    }
    fn page(&self) -> Page {
        let says = &self.says;
        let mut page = Page::titled(format!("{} ({}, {})", self.name, says.strength.word(), self.id));
        page.blank();
        page.line(says.because.as_str());
        for (label, scope) in [("Glue", &says.adhesive), ("Material", &says.material), ("Insert", &says.insert)] {
            let Some(scope) = scope else { continue };
            if !scope.family.is_empty() {
                page.field(label, scope.family.join(", "));
            }
            if !scope.not_family.is_empty() {
                page.field(format!("{label}, not"), scope.not_family.join(", "));
            }
        }
        if !says.lifted_by.is_empty() {
            page.field("Met by", says.lifted_by.join(", "));
        }
        for (label, text) in [("Advice", &says.advice), ("When unknown", &says.say_when_unknown)] {
            if let Some(text) = text {
                page.field(label, text.as_str());
            }
        }
        if says.when.is_some() {
            page.heading("When");
            page.blocks.push(Block::Verbatim(serde_yaml::to_string(self.fields.when()).unwrap_or_default()));
        }
        page.heading("Evidence");
        for origin in &self.origins {
            page.item(origin.clone());
        }
        page
    }
}

struct NameList(Table);

impl NameList {
    fn of(loaded: &Loaded) -> Self {
        let mut table = Table::new(&["name", "sort", "severity", "what"]);
        for a in loaded.registry.audits.iter().chain(ABOUT_WAIVERS) {
            table.row(vec![a.name.into(), "audit".into(), a.severity.word().into(), a.what.into()]);
        }
        for d in rules::all() {
            table.row(vec![d.name.into(), "check".into(), d.severity.word().into(), d.what.into()]);
        }
        for r in loaded.book.of_kind("rule").filter(|r| r.current) {
            let strength = r.rule().map_or("", |rule| rule.strength.word());
            table.row(vec![r.id.name().into(), "rule".into(), strength.into(), r.name.to_string().into()]);
        }
        NameList(table)
    }
}

impl Answer for NameList {
    fn schema(&self) -> &'static str {
        "gripbook/why-list/1"
    }
    fn json(&self) -> Value {
        let lines = self.0.json_lines("");
        let rows = lines.lines().filter_map(|l| serde_json::from_str::<Value>(l).ok()).filter(|v| v.get("name").is_some());
        json!({"names": rows.collect::<Vec<_>>()})
    }
    fn page(&self) -> Page {
        let mut page = Page::titled("Audits, findings of check, and rules");
        page.line("`gripbook why NAME` explains one of them.");
        for (sort, heading) in [("audit", "Audits"), ("check", "Findings of check"), ("rule", "Rules about joints and bonds")] {
            page.heading(heading);
            let cell = |row: &[Cell], at: usize| row.get(at).map(Cell::shown).unwrap_or_default();
            for row in self.0.rows.iter().filter(|row| cell(row, 1) == sort) {
                page.item(format!("{} ({}): {}", cell(row, 0), cell(row, 2), cell(row, 3)));
            }
        }
        page
    }
    fn table(&self) -> Option<Table> {
        Some(self.0.clone())
    }
}
