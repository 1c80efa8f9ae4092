//! `gripbook compare`: do series differ, and by how much?

use super::card::{CommandCard, Effect, HelpGroup, Run, TABLE};
use super::series::{published, source, stamp, units};
use super::{CommandOutcome, Context, Fault, Shared, headings, library::Loaded, save};
use gripbook::present::Sheet;
use gripbook::present::svg::strip;
use gripbook::series::compare::{Ask, NamedGroup, by_batch, compare};
use gripbook::series::loads::loads;
use gripbook::series::plot::{Strip, group_row};
use gripbook::series::vocabulary::quantity_title;
use std::path::PathBuf;

mod compare_page;

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "compare",
    about: "Do test series differ, and by how much?",
    group: HelpGroup::Measurements,
    formats: TABLE,
    effect: Effect::Answers,
    outputs: &["--out", "--plot"],
    runs: &Run(run),
};

/// Do series differ, and by how much?
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  gripbook compare --a 812,857,790 --b 655,702,731 --unit N
  gripbook compare logger-grey-cut-m3 logger-grey-direct-m3 --pack demo
  gripbook compare logger-grey-direct-m3 --by batch --pack demo --plot batches.svg
  gripbook compare --a 812,857,790 --b 801,840,822 --unit N --same-within 15%
  gripbook compare --a 812,857,790 --b 655,702,731 --b 801,840,822 --unit N --all-pairs --together

The first group is the reference.")]
#[command(next_help_heading = headings::ASKED)]
pub struct CompareArgs {
    /// Series by id or file; the first is the reference
    #[arg(value_name = "ID|FILE", required_unless_present = "a", conflicts_with = "a")]
    series: Vec<String>,
    /// Loads of the reference group
    #[arg(long, value_name = "LOADS", requires = "b")]
    a: Option<String>,
    /// Loads of a group compared with it (repeatable)
    #[arg(long, value_name = "LOADS", requires = "a")]
    b: Vec<String>,
    /// Unit of loads that are written without one
    #[arg(long, value_name = "UNIT")]
    unit: Option<String>,
    /// Split every series into its batches
    #[arg(long, value_name = "batch")]
    by: Option<By>,
    /// Compare every group with every other (Tukey, or Games-Howell where spreads differ)
    #[arg(long, help_heading = headings::COMPUTED)]
    all_pairs: bool,
    /// Combine the means of the groups into one value (common mean and random effects)
    #[arg(long, help_heading = headings::COMPUTED)]
    together: bool,
    /// The whole page: every test with its figures
    #[arg(long, help_heading = headings::OUTPUT)]
    full: bool,
    /// Test whether the groups are equal within this share
    #[arg(long, value_name = "SHARE")]
    same_within: Option<String>,
    /// The quantity compared
    #[arg(long, value_name = "WORD")]
    quantity: Option<String>,
    /// Plot all groups on one axis
    #[arg(long, value_name = "FILE.svg", help_heading = headings::OUTPUT)]
    plot: Option<PathBuf>,
    /// Write the comparison as JSON, for `recheck` and `affected`
    #[arg(long, value_name = "FILE.json", help_heading = headings::OUTPUT)]
    out: Option<PathBuf>,
}

/// How series are split.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum By {
    /// By batch.
    Batch,
}

struct GroupsAsked {
    groups: Vec<NamedGroup>,
    invented: bool,
    pack: Option<String>,
    exit: u8,
    left_out: serde_json::Value,
    claims: Vec<serde_json::Value>,
}

/// Runs the command.
pub fn run(args: &CompareArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let mut taken = match &args.a {
        Some(a) => typed(args, a)?,
        None => {
            let texts: Vec<&str> = args.series.iter().map(String::as_str).collect();
            let loaded = source::open(&texts, shared, context)?;
            if let Some(listed) = texts.iter().find_map(|text| source::members(&loaded, text)) {
                return Ok(listed);
            }
            recorded(args, &texts, &loaded)?
        }
    };
    if args.by == Some(By::Batch) {
        let one = taken.groups.len() == 1;
        taken.groups = taken.groups.iter().flat_map(|g| by_batch(if one { "" } else { &g.name }, &g.sample)).collect();
    }
    if taken.groups.len() < 2 {
        let help = match args.by {
            Some(By::Batch) => "its specimens name no second batch: name a second series",
            None => "name a second series, or split one with --by batch",
        };
        return Err(Fault::usage("at least two groups are needed").help(help));
    }
    alike(&taken.groups)?;
    let margin = args.same_within.as_deref().map(share).transpose()?;
    let answer = compare(&taken.groups, Ask { margin, every: args.all_pairs, together: args.together });
    let mut page = compare_page::page(&taken.groups, &answer, margin, taken.invented, shared.is_whole(args.full));
    let mut files = save::Batch::default();
    if let Some(path) = &args.plot {
        files.output(path, strip::draw(&plot(&taken, context)));
        page.blank().line(format!("plot written to {}", path.display()));
    }
    if let Some(pack) = &taken.pack {
        page.blank().field("pack", pack.clone());
    }
    let mut json = compare_page::json(&taken.groups, &answer, margin);
    json["invented"] = taken.invented.into();
    json["pack"] = taken.pack.clone().into();
    json["left_out"] = taken.left_out.clone();
    json["claims"] = taken.claims.clone().into();
    let compared = Sheet { schema: "gripbook/compare/1", page, json, table: Some(compare_page::table(&taken.groups, &answer)) };
    files.sheet(args.out.as_deref(), &compared, context);
    files.commit(context)?;
    Ok(CommandOutcome { answer: Box::new(compared), exit: taken.exit })
}

fn typed(args: &CompareArgs, a: &str) -> Result<GroupsAsked, Fault> {
    let read = |text: &str, name: String| {
        let sample = loads(text, args.unit.as_deref())
            .map_err(|f| Fault::usage(format!("--{}: {}", name.to_lowercase(), f.message)).help(f.help))?;
        Ok::<_, Fault>(NamedGroup { name, sample })
    };
    let mut groups = vec![read(a, "A".into())?];
    for (i, b) in args.b.iter().enumerate() {
        let letter = char::from(b'B' + u8::try_from(i.min(24)).unwrap_or(24));
        groups.push(read(b, letter.to_string())?);
    }
    Ok(GroupsAsked { groups, invented: false, pack: None, exit: 0, left_out: serde_json::json!([]), claims: vec![] })
}

fn recorded(args: &CompareArgs, texts: &[&str], loaded: &Loaded) -> Result<GroupsAsked, Fault> {
    let mut groups = Vec::new();
    let (mut records, mut claims) = (Vec::new(), Vec::new());
    let mut invented = false;
    for &text in texts {
        if text.ends_with(".csv") && source::is_file(text) {
            groups
                .push(NamedGroup { name: text.to_owned(), sample: source::table(&loaded.registry, text, args.unit.as_deref())? });
            continue;
        }
        let series = source::series(&loaded.book, text)?;
        let measured = source::measurement(&series, args.quantity.as_deref())?;
        let sample = measured.sample.clone().ok_or_else(|| Fault {
            exit: 1,
            message: format!("{} has no single results, only published figures", series.id),
            help: Some("a comparison needs the result of each specimen".into()),
        })?;
        invented |= series.invented();
        records.extend(loaded.book.record(&series.id));
        claims.push(published::claim(&series, measured));
        groups.push(NamedGroup { name: series.id.trim_start_matches("series/").to_owned(), sample });
    }
    let pack = (!records.is_empty()).then(|| loaded.book.hash_line(records));
    Ok(GroupsAsked { groups, invented, pack, exit: loaded.exit(0), left_out: loaded.left_out_json(), claims })
}

fn alike(groups: &[NamedGroup]) -> Result<(), Fault> {
    let first = &groups[0].sample;
    match groups.iter().find(|g| g.sample.quantity != first.quantity) {
        None => Ok(()),
        Some(other) => Err(Fault::usage(format!(
            "{} is {}, but {} is {}: they cannot be compared",
            groups[0].name,
            quantity_title(&first.word),
            other.name,
            quantity_title(&other.sample.word)
        ))),
    }
}

/// A share such as `15%` or `0.15`.
pub fn share(text: &str) -> Result<f64, Fault> {
    use gripbook::quantity::{Quantity, parse};
    let read = parse(text, Quantity::Fraction).map_err(|f| Fault::usage(f.message()).help(f.help()))?;
    match read.si {
        share if share <= 0.0 => Err(Fault::usage(format!("`{text}` is not above zero"))),
        share if share > 1.0 && text.trim().parse::<f64>().is_ok() => {
            Err(Fault::usage(format!("`{text}` lacks its percent sign")).help(format!("write {}%", text.trim())))
        }
        share => Ok(share),
    }
}

fn plot(taken: &GroupsAsked, context: &Context) -> Strip {
    let unit = taken.groups[0].sample.unit();
    let mark = if taken.invented { "INVENTED DATA: " } else { "" };
    Strip {
        title: format!("{mark}comparison of {} groups", taken.groups.len()),
        axis: quantity_title(&taken.groups[0].sample.word),
        unit,
        rows: taken.groups.iter().map(|g| group_row(&g.name, &g.sample, unit)).collect(),
        bound: None,
        footer: taken.pack.iter().map(|p| format!("pack {p}")).chain([stamp(context)]).collect(),
    }
}

/// An amount in the unit of the first group.
fn amount(value: f64, groups: &[NamedGroup]) -> gripbook::quantity::Amount {
    units::amount(value, groups[0].sample.unit())
}
