//! `gripbook suits`: does this glue suit this material?

use super::card::{CommandCard, Effect, HelpGroup, Run, TABLE};
use super::choice::choice;
use super::library::{self, Loaded};
use super::lost::{self, RestsOn};
use super::mistakes::Mistakes;
use super::{CommandOutcome, Context, Fault, Shared, headings, save};
use gripbook::book::{Book, Record};
use gripbook::present::{Opened, Sheet};
use gripbook::quantity::{Amount, Quantity, parse};
use gripbook::suit::{self, Fact, JOINT_FACTS, Question, Ranking, STEPS, ServiceConditions, Side, Suitability, Verdict};
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

mod full;
mod json;
mod subjects;
mod suits_page;

use subjects::{Subjects, subjects};

/// The command.
pub const CARD: CommandCard = CommandCard {
    name: "suits",
    about: "Does this glue suit this material? With rules, sources and what is missing",
    group: HelpGroup::Joints,
    formats: TABLE,
    effect: Effect::Answers,
    outputs: &["--out"],
    runs: &Run(run),
};

/// Does this glue suit this material?
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  gripbook suits cyanoacrylate-thick pla
  gripbook suits abs 'super glue'           the order does not matter
  gripbook suits epoxy-slow pp --step plasma
  gripbook suits cyanoacrylate-thick pc --stress --gap 0.1mm --insert heat-set-m3
  gripbook suits --material petg            ranks every adhesive
  gripbook suits --adhesive epoxy-slow      ranks every material")]
#[command(next_help_heading = headings::ASKED)]
pub struct SuitsArgs {
    /// An adhesive and a material, in either order; one of them alone ranks what goes with it
    #[arg(value_name = "ADHESIVE MATERIAL", num_args = 0..=8)]
    asked: Vec<String>,
    /// Rank all adhesives for this material
    #[arg(long = "material", value_name = "NAME", conflicts_with_all = ["asked", "of_adhesive"])]
    of_material: Option<String>,
    /// Rank all materials for this adhesive
    #[arg(long = "adhesive", value_name = "NAME", conflicts_with = "asked")]
    of_adhesive: Option<String>,
    /// The insert; its metal is the other adherend
    #[arg(long, value_name = "ID", help_heading = headings::JOINT)]
    insert: Option<String>,
    /// Thickness of the glue on one side
    #[arg(long, value_name = "LENGTH", help_heading = headings::JOINT)]
    gap: Option<String>,
    /// Hottest temperature in use
    #[arg(long, value_name = "TEMPERATURE", help_heading = headings::JOINT)]
    temperature: Option<String>,
    /// Thickness of the part between the lamp and the glue
    #[arg(long, value_name = "LENGTH", help_heading = headings::JOINT)]
    wall: Option<String>,
    /// Wavelength of the lamp
    #[arg(long, value_name = "LENGTH", help_heading = headings::JOINT)]
    wavelength: Option<String>,
    /// Light dose at the part
    #[arg(long, value_name = "DOSE", help_heading = headings::JOINT)]
    dose: Option<String>,
    /// Process record whose post-cure lamp gives dose and wavelength
    #[arg(long, value_name = "PROCESS", conflicts_with = "dose", help_heading = headings::JOINT)]
    lamp: Option<String>,
    /// The part is under stress while the glue is wet (moulded-in, clamped, pressed)
    #[arg(long, help_heading = headings::JOINT)]
    stress: bool,
    /// Where the joint is used
    #[arg(long, value_parser = choice::<ServiceConditions>())]
    place: Option<ServiceConditions>,
    /// An activator is used (short for --step activator)
    #[arg(long, help_heading = headings::JOINT)]
    activator: bool,
    /// A preparation step that is carried out (repeatable)
    #[arg(long, value_name = "STEP", value_parser = clap::builder::PossibleValuesParser::new(STEPS), help_heading = headings::JOINT)]
    step: Vec<String>,
    /// Another fact of the joint: overlap, boss, interference, coldest, swing, load, humidity, stress
    #[arg(long = "set", value_name = "NAME=VALUE", help_heading = headings::COMPUTED)]
    set: Vec<String>,
    /// Exit code 1 for "with care" and "unknown" too
    #[arg(long, help_heading = headings::OUTPUT)]
    strict: bool,
    /// The whole page: every rule with its source, all measured bonds, all steps; of a ranking, every row
    #[arg(long, help_heading = headings::OUTPUT)]
    full: bool,
    /// Write the sheet as JSON, for `recheck` and `affected`
    #[arg(long, value_name = "FILE.json", help_heading = headings::OUTPUT)]
    out: Option<PathBuf>,
}

/// Schema tag of every sheet of this command.
const SCHEMA: &str = "gripbook/suits/1";

/// Answers the question, and writes the sheet where one is asked for.
pub fn run(args: &SuitsArgs, shared: &Shared, context: &Context) -> Result<CommandOutcome, Fault> {
    let loaded = library::open(shared, context)?;
    let outcome = answer(args, &loaded, context)?;
    let outcome = CommandOutcome { answer: lost::told(&loaded.book, RestsOn::Rules, outcome.answer), ..outcome };
    let mut files = save::Batch::default();
    files.sheet(args.out.as_deref(), &*outcome.answer, context);
    files.commit(context)?;
    Ok(outcome)
}

fn answer(args: &SuitsArgs, loaded: &Loaded, context: &Context) -> Result<CommandOutcome, Fault> {
    let book = &loaded.book;
    let (rules, broken) = suit::rules(book);
    if let Some(fault) = broken.first() {
        return Err(Fault::data(format!("{}: {}", fault.id, fault.message)).help("`gripbook check` says more"));
    }
    let mut mistakes = Mistakes::default();
    let subjects = subjects(args, book, &mut mistakes);
    let joint = joint(args, book, &mut mistakes);
    mistakes.settle(&context.command_line)?;
    let Some(subjects) = subjects else { return Err(nothing_asked()) };
    let ask = |adhesive, material| joint.clone().of(args, adhesive, material);
    Ok(match subjects {
        Subjects::Pair { adhesive, material } => {
            let question = ask(adhesive, material);
            let answer = suit::judge(question.clone(), &rules, book);
            one(args, &question, answer, loaded)
        }
        Subjects::Material(material) => {
            let ranking = suit::rank_adhesives(&ask(first(book, "adhesive")?, material), &rules, book);
            ranked(args, &ranking, &format!("Adhesives for {} ({})", material.name, material.id), material, loaded)
        }
        Subjects::Adhesive(adhesive) => {
            let ranking = suit::rank_materials(&ask(adhesive, first(book, "material")?), &rules, book);
            ranked(args, &ranking, &format!("Materials for {} ({})", adhesive.name, adhesive.id), adhesive, loaded)
        }
    })
}

fn nothing_asked() -> Fault {
    Fault::usage("name an adhesive, a material, or both").help("for example: gripbook suits cyanoacrylate-thick pla")
}

fn first<'b>(book: &'b Book, role: &'static str) -> Result<&'b Record, Fault> {
    book.of_role(role).next().ok_or_else(|| Fault::data(format!("the loaded packs have no {role}")))
}

/// What is given of the joint, before adhesive and material are known.
#[derive(Clone, Default)]
struct JointLine<'b> {
    insert: Option<&'b Record>,
    metal: Option<&'b Record>,
    facts: BTreeMap<&'static str, Fact>,
}

impl<'b> JointLine<'b> {
    fn of(self, args: &SuitsArgs, adhesive: &'b Record, material: &'b Record) -> Question<'b> {
        let done = args.step.iter().map(String::as_str).chain(args.activator.then_some("activator"));
        let steps: BTreeSet<&'static str> = done.filter_map(|d| STEPS.iter().copied().find(|s| *s == d)).collect();
        let JointLine { insert, metal, facts } = self;
        Question { adhesive, material, insert, metal, joint: facts, unsettled: BTreeMap::new(), steps }
    }
}

fn joint<'b>(args: &SuitsArgs, book: &'b Book, mistakes: &mut Mistakes) -> JointLine<'b> {
    let insert = args.insert.as_deref().and_then(|t| mistakes.record(book, t, "insert"));
    let metal = insert.and_then(|i| book.in_use(i.common().metal.as_deref()?));
    let mut facts = BTreeMap::new();
    for (name, text) in [
        ("gap", &args.gap),
        ("temperature", &args.temperature),
        ("wall", &args.wall),
        ("wavelength", &args.wavelength),
        ("dose", &args.dose),
    ] {
        if let Some(text) = text {
            set(&mut facts, name, text, &format!("--{name}"), mistakes);
        }
    }
    if let Some(place) = args.place {
        facts.insert("place", Fact::Word(place.word().into()));
    }
    if args.stress {
        facts.insert("stress", Fact::YesNo(true));
    }
    if let Some(process) = args.lamp.as_deref().and_then(|text| mistakes.record(book, text, "process")) {
        lamp(process, &mut facts, mistakes);
    }
    for text in &args.set {
        match text.split_once('=') {
            Some((name, value)) => set(&mut facts, name, value, "--set", mistakes),
            None => mistakes.add(Fault::usage(format!("--set {text}: write NAME=VALUE"))),
        }
    }
    if metal.is_some() {
        facts.entry("metal_in_joint").or_insert(Fact::YesNo(true));
    }
    if let Some(insert) = insert
        && !facts.contains_key("overlap")
        && let Some(length) = insert.insert().and_then(|i| i.length.as_ref())
    {
        facts.insert("overlap", Fact::Quantity((**length).amount()));
    }
    JointLine { insert, metal, facts }
}

/// Dose and wavelength of a process record's post-cure lamp.
fn lamp(process: &Record, facts: &mut BTreeMap<&'static str, Fact>, mistakes: &mut Mistakes) {
    let cure = process.process().and_then(|p| p.post_cure.as_ref());
    let (dose, wavelength) = (cure.and_then(|c| c.dose.as_deref()), cure.and_then(|c| c.wavelength.as_deref()));
    for (name, stated) in [("dose", dose), ("wavelength", wavelength)] {
        match stated {
            Some(stated) => set(facts, name, &stated.text, "--lamp", mistakes),
            None => {
                let fault = Fault::usage(format!("{} has no post_cure.{name}", process.id));
                mistakes.add(fault.help("give --dose and --wavelength instead"));
            }
        }
    }
}

fn set(facts: &mut BTreeMap<&'static str, Fact>, name: &str, text: &str, option: &str, mistakes: &mut Mistakes) {
    let settable = JOINT_FACTS.iter().filter(|f| f.side != Side::Method && !f.name.starts_with("light_"));
    let Some(known) = settable.clone().find(|f| f.name == name) else {
        let names: Vec<&str> = settable.map(|f| f.name).collect();
        let fault = Fault::usage(format!("{option}: a joint has no fact called `{name}`"));
        return mistakes.add(fault.help(format!("facts: {}", names.join(", "))));
    };
    let fact = match known.quantity.map(|quantity| (quantity, parse(text, quantity))) {
        Some((quantity, Err(fault))) => return mistakes.wrong_quantity(option, text, quantity, &fault),
        Some((quantity, Ok(w))) if w.si < 0.0 && quantity != Quantity::Temperature => {
            return mistakes.add(Fault::usage(format!("{option}: {text} is negative")));
        }
        Some((_, Ok(w))) => Fact::Quantity(Amount { si: w.si, unit: w.unit }),
        None => match text {
            "yes" | "true" => Fact::YesNo(true),
            "no" | "false" => Fact::YesNo(false),
            word => Fact::Word(word.into()),
        },
    };
    facts.insert(known.name, fact);
}

fn one(args: &SuitsArgs, question: &Question<'_>, answer: Suitability, loaded: &Loaded) -> CommandOutcome {
    let no = match answer.verdict {
        Verdict::DoesNotSuit => true,
        Verdict::WithCare | Verdict::ModelOnly | Verdict::Unknown => args.strict,
        Verdict::Suits => false,
    };
    let sheet = Sheet {
        schema: SCHEMA,
        page: full::pair(question, &answer, &loaded.book),
        json: json::pair(question, &answer, &loaded.book, loaded),
        table: None,
    };
    let brief = (!args.full).then(|| suits_page::pair(question, &answer, &loaded.book));
    CommandOutcome { answer: Box::new(Opened { brief, sheet }), exit: loaded.exit(u8::from(no)) }
}

fn ranked(args: &SuitsArgs, ranking: &Ranking, title: &str, subject: &Record, loaded: &Loaded) -> CommandOutcome {
    let sheet = Sheet {
        schema: SCHEMA,
        page: suits_page::ranking(ranking, title, subject, true),
        json: json::ranking(ranking, subject, loaded),
        table: Some(suits_page::ranking_table(ranking, usize::MAX)),
    };
    let brief = (!args.full).then(|| suits_page::ranking(ranking, title, subject, false));
    CommandOutcome { answer: Box::new(Opened { brief, sheet }), exit: loaded.exit(0) }
}
