//! `gripbook find`: which records have these words, this family, these properties?

use super::card::{CommandCard, Effect, HelpGroup, Run, TABLE};
use super::class::with_canonical;
use super::library::{self, Loaded};
use super::{CommandOutcome, Context, Fault, Shared, headings, lost};
use gripbook::book::Book;
use gripbook::index::query::{self, PropertyBound, Query, Sort};
use gripbook::index::{Found, Hit, MatchedBy, WrongQuery, search};
use gripbook::present::{Answer, Page, Table, table::Cell};
use serde_json::{Value, json};

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "find",
    about: "Find records by words, family and properties",
    group: HelpGroup::Book,
    formats: TABLE,
    effect: Effect::Answers,
    outputs: &[],
    runs: &Run(run),
};

/// Arguments of `find`.
#[derive(Debug, Clone, clap::Args)]
#[command(after_help = "\
Examples:
  gripbook find tough --kind resin
  gripbook find --family polyamide --where \"tensile_strength >= 40 MPa\" --where \"tg < 70 °C\"
  gripbook find --kind resin --missing tg
  gripbook find --kind polymer --sort tensile_strength --limit 5")]
#[command(next_help_heading = headings::ASKED)]
pub struct FindArgs {
    /// Words: each must be somewhere in the record (beginnings and one wrong letter count, for less)
    words: Vec<String>,
    /// Only records of this kind (polymer, resin, adhesive, source, ...)
    #[arg(long)]
    kind: Option<String>,
    /// Only this family and its members
    #[arg(long)]
    family: Option<String>,
    /// Only records with this tag
    #[arg(long)]
    tag: Option<String>,
    /// A bound on a property, in any unit: "tg < 70 °C" or "tg = 60 °C to 80 °C" (repeatable; all must hold)
    #[arg(long = "where", value_name = "BOUND")]
    bounds: Vec<String>,
    /// Only records that could have this property but state nothing usable of it
    #[arg(long, value_name = "PROPERTY")]
    missing: Option<String>,
    /// Only records with a usable claim that names no source
    #[arg(long)]
    unsourced: bool,
    /// Order by a property, largest first, or by name
    #[arg(long, value_name = "PROPERTY|name", help_heading = headings::OUTPUT)]
    sort: Option<String>,
    /// Reverse the order
    #[arg(long, help_heading = headings::OUTPUT)]
    reverse: bool,
    /// Largest number of results; 0 lists all
    #[arg(long, default_value_t = 20, help_heading = headings::OUTPUT)]
    limit: usize,
}

/// Runs the command.
pub fn run(args: &FindArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let mut loaded = library::open_to_search(shared, context)?;
    let query = understood(args, &loaded.book)?;
    let found = match loaded.search(&query) {
        Some(found) => found,
        None => {
            loaded = library::open_afresh(shared, context)?;
            search(&loaded.book, &query)
        }
    };
    let exit = loaded.exit(u8::from(found.total == 0));
    let answer = Box::new(sheet(&query, found, &loaded));
    Ok(CommandOutcome { answer: lost::searched(&loaded.book, &query, answer), exit })
}

/// Every word is held against every word of every record, and an empty answer tries each left out in turn.
const MOST_WORDS: usize = 32;

fn understood(args: &FindArgs, book: &Book) -> Result<Query, Fault> {
    let kinds = book.catalogue();
    let wrong = |w: WrongQuery| Fault { exit: 2, message: w.message, help: w.help };
    let maybe = |text: &Option<String>, read: &dyn Fn(&str) -> Result<String, WrongQuery>| {
        text.as_deref().map(read).transpose().map_err(wrong)
    };
    let words: Vec<String> = args.words.iter().flat_map(|w| gripbook::index::words::words(w).collect::<Vec<_>>()).collect();
    if words.len() > MOST_WORDS {
        let message = format!("{} words are too many for one search: {MOST_WORDS} at most", words.len());
        return Err(Fault::usage(message).help("name a few words, --kind, --family or --where"));
    }
    Ok(Query {
        words,
        kind: maybe(&args.kind, &|k| query::kind(k, kinds))?,
        family: maybe(&args.family, &|f| query::family(f, kinds))?,
        tag: args.tag.as_ref().map(|t| t.to_lowercase()),
        bounds: args
            .bounds
            .iter()
            .map(|b| PropertyBound::read_all(b, kinds))
            .collect::<Result<Vec<_>, _>>()
            .map_err(wrong)?
            .concat(),
        missing: maybe(&args.missing, &|p| query::property(p, kinds))?,
        unsourced: args.unsourced,
        sort: match args.sort.as_deref() {
            None => None,
            Some("name") => Some(Sort::Name),
            Some(word) => Some(Sort::Property(query::property(word, kinds).map_err(wrong)?)),
        },
        reverse: args.reverse,
        limit: if args.limit == 0 { usize::MAX } else { args.limit },
    })
}

/// The answer.
struct FindAnswer {
    asked: String,
    bounds: Vec<String>,
    sort: Option<String>,
    total: usize,
    rows: Vec<FoundRow>,
    relaxed: Vec<Relaxed>,
    left_out: Value,
    packs: String,
}

struct FoundRow {
    hit: Hit,
    pack: String,
    /// The values of bounds and order as they are read; none where a record has none to be ordered by.
    values: Vec<Option<String>>,
}

/// What would be found if one demand were dropped.
struct Relaxed {
    without: String,
    total: usize,
}

fn sheet(query: &Query, found: Found, loaded: &Loaded) -> FindAnswer {
    let book = &loaded.book;
    let packs = book.hash_line_of(found.hits.iter().map(|h| h.pack));
    let relaxed = if found.total == 0 { relaxed(query, loaded) } else { Vec::new() };
    let sort = match &query.sort {
        Some(Sort::Property(word)) if !query.bounds.iter().any(|b| b.property == *word) => Some(word.clone()),
        _ => None,
    };
    let row = |hit: Hit| FoundRow {
        pack: book.packs().get(hit.pack).map_or(String::new(), |p| p.id.to_string()),
        values: values(&hit, sort.as_deref(), book),
        hit,
    };
    FindAnswer {
        asked: described(query),
        bounds: query.bounds.iter().map(|b| b.property.clone()).collect(),
        total: found.total,
        rows: found.hits.into_iter().map(row).collect(),
        sort,
        relaxed,
        left_out: loaded.left_out_json(),
        packs,
    }
}

/// What met the bounds, then the value of the order.
fn values(hit: &Hit, sort: Option<&str>, book: &Book) -> Vec<Option<String>> {
    let part = |by| if by == MatchedBy::Overlap { "~ " } else { "" };
    let shown = |property: &str, written: &str| with_canonical(book.catalogue(), property, written);
    let met = hit.matched.iter().map(|m| Some(format!("{}{}", part(m.by), shown(&m.property, &m.written))));
    let by_order = sort.map(|word| hit.sorted_by.as_ref().map(|v| shown(word, &v.written)));
    met.chain(by_order).collect()
}

/// The query in words.
fn described(query: &Query) -> String {
    let mut parts: Vec<String> = Vec::new();
    if !query.words.is_empty() {
        parts.push(query.words.join(" "));
    }
    let named = [("kind", &query.kind), ("family", &query.family), ("tag", &query.tag), ("missing", &query.missing)];
    parts.extend(named.iter().filter_map(|(name, value)| value.as_ref().map(|v| format!("{name} {v}"))));
    parts.extend(query.bounds.iter().map(PropertyBound::text));
    if query.unsourced {
        parts.push("unsourced".into());
    }
    if parts.is_empty() { "everything".into() } else { parts.join(", ") }
}

/// For a query that finds nothing: which single demand stands in the way.
fn relaxed(query: &Query, loaded: &Loaded) -> Vec<Relaxed> {
    let mut tries: Vec<(String, Query)> = Vec::new();
    let mut without = |what: String, change: &dyn Fn(&mut Query)| {
        let mut wider = Query { limit: 0, ..query.clone() };
        change(&mut wider);
        tries.push((what, wider));
    };
    for (at, word) in query.words.iter().enumerate() {
        without(format!("the word {word}"), &|q| drop(q.words.remove(at)));
    }
    for (at, bound) in query.bounds.iter().enumerate() {
        without(bound.text(), &|q| drop(q.bounds.remove(at)));
    }
    if let Some(kind) = &query.kind {
        without(format!("kind {kind}"), &|q| q.kind = None);
    }
    if let Some(family) = &query.family {
        without(format!("family {family}"), &|q| q.family = None);
    }
    if let Some(tag) = &query.tag {
        without(format!("tag {tag}"), &|q| q.tag = None);
    }
    if tries.len() < 2 {
        return Vec::new();
    }
    let found =
        tries.into_iter().map(|(without, q)| Relaxed { without, total: loaded.search(&q).map_or(0, |found| found.total) });
    found.filter(|r| r.total > 0).collect()
}

impl Answer for FindAnswer {
    fn schema(&self) -> &'static str {
        "gripbook/find/1"
    }
    fn json(&self) -> Value {
        let result = |row: &FoundRow| {
            let hit = &row.hit;
            let mut fields = json!({
                "id": hit.id, "name": hit.name, "kind": hit.id.kind(), "family": hit.family, "pack": row.pack,
                "invented": hit.invented, "score": hit.score, "matched": hit.matched,
            });
            if let Some(value) = &hit.sorted_by {
                fields["sorted_by"] = json!({"si": value.si, "written": value.written});
            }
            fields
        };
        json!({
            "asked": self.asked,
            "total": self.total,
            "results": self.rows.iter().map(result).collect::<Vec<_>>(),
            "without": self.relaxed.iter().map(|r| json!({"demand": r.without, "total": r.total})).collect::<Vec<_>>(),
            "left_out": self.left_out,
            "packs": self.packs,
        })
    }
    fn page(&self) -> Page {
        let mut page = Page::titled(self.headline());
        for relaxed in &self.relaxed {
            page.item(format!("without {}: {}", relaxed.without, relaxed.total));
        }
        if !self.rows.is_empty() {
            page.blank().table(self.people_table());
        }
        if self.rows.iter().flat_map(|r| &r.hit.matched).any(|m| m.by == MatchedBy::Overlap) {
            page.blank().line("~ only part of the stated range meets the bound");
        }
        if self.sort.is_some() {
            page.blank().line("Ordered by the first claim of the best basis; `gripbook show` weighs all claims of a record.");
        }
        if self.total > self.rows.len() {
            page.blank().line(format!("{} of {} shown; --limit 0 shows all", self.rows.len(), self.total));
        }
        if !self.packs.is_empty() {
            page.blank().field("packs", &self.packs);
        }
        page
    }
    fn table(&self) -> Option<Table> {
        let mut table = Table::new(&["id", "name", "kind", "family", "pack", "score", "matched"]);
        for row in &self.rows {
            let hit = &row.hit;
            let by = |by| if by == MatchedBy::Overlap { "overlap" } else { "value" };
            let matched: Vec<String> =
                hit.matched.iter().map(|m| format!("{} {} ({})", m.property, m.written, by(m.by))).collect();
            table.row(vec![
                hit.id.as_str().into(),
                (*hit.name).into(),
                hit.id.kind().into(),
                (*hit.family).into(),
                row.pack.as_str().into(),
                Cell::Number(f64::from(hit.score)),
                matched.join("; ").into(),
            ]);
        }
        Some(table)
    }
}

impl FindAnswer {
    fn headline(&self) -> String {
        match self.total {
            0 => format!("Nothing found for: {}", self.asked),
            1 => format!("1 record: {}", self.asked),
            n => format!("{n} records: {}", self.asked),
        }
    }
    fn people_table(&self) -> Table {
        // The family stands in the id or the name nearly always; `show` and the forms for programs have it.
        let mut columns = vec!["id", "name"];
        columns.extend(self.bounds.iter().map(String::as_str));
        columns.extend(self.sort.as_deref());
        let mut table = Table::new(&columns);
        for row in &self.rows {
            let hit = &row.hit;
            let mark = if hit.invented { "INVENTED: " } else { "" };
            let mut cells: Vec<Cell> = vec![hit.id.as_str().into(), format!("{mark}{}", hit.name).into()];
            cells.extend(row.values.iter().map(|value| Cell::from(value.as_deref())));
            table.row(cells);
        }
        table
    }
}
