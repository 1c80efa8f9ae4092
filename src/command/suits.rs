//! `gripbook suits`: does this glue suit this material?

use super::library::{self, Loaded};
use super::{Context, Fault, Outcome, Shared, save};
use crate::book::{Book, Record};
use crate::present::Sheet;
use crate::quantity::{Amount, Quantity, parse};
use crate::suit::{self, Fact, JOINT_FACTS, Place, Question, Ranking, STEPS, Side, Suitability, Verdict};
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

mod page;

/// Does this glue suit this material?
#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  gripbook suits cyanoacrylate-thick pla
  gripbook suits epoxy-slow pp --step plasma
  gripbook suits cyanoacrylate-thick pc --stress --gap 0.1mm --insert heat-set-m3
  gripbook suits --material petg            ranks every adhesive
  gripbook suits --adhesive epoxy-slow      ranks every material")]
pub struct SuitsArgs {
    /// The adhesive: id, short id or synonym
    #[arg(value_name = "ADHESIVE", required_unless_present_any = ["of_material", "of_adhesive"])]
    adhesive: Option<String>,
    /// The material of the part
    #[arg(value_name = "MATERIAL", requires = "adhesive", required_unless_present_any = ["of_material", "of_adhesive"])]
    material: Option<String>,
    /// Rank all adhesives for this material
    #[arg(long = "material", value_name = "ID", conflicts_with_all = ["adhesive", "of_adhesive"])]
    of_material: Option<String>,
    /// Rank all materials for this adhesive
    #[arg(long = "adhesive", value_name = "ID", conflicts_with = "adhesive")]
    of_adhesive: Option<String>,
    /// The insert; its metal is the other adherend
    #[arg(long, value_name = "ID")]
    insert: Option<String>,
    /// Thickness of the glue on one side
    #[arg(long, value_name = "LENGTH")]
    gap: Option<String>,
    /// Hottest temperature in use
    #[arg(long, value_name = "TEMPERATURE")]
    temperature: Option<String>,
    /// Thickness of the part between the lamp and the glue
    #[arg(long, value_name = "LENGTH")]
    wall: Option<String>,
    /// Wavelength of the lamp
    #[arg(long, value_name = "LENGTH")]
    wavelength: Option<String>,
    /// Light dose at the part
    #[arg(long, value_name = "DOSE")]
    dose: Option<String>,
    /// Process record whose post-cure lamp gives dose and wavelength
    #[arg(long, value_name = "PROCESS", conflicts_with = "dose")]
    lamp: Option<String>,
    /// The part is under stress while the glue is wet (moulded-in, clamped, pressed)
    #[arg(long)]
    stress: bool,
    /// Where the joint lives
    #[arg(long, value_enum)]
    place: Option<Place>,
    /// An activator is used (short for --step activator)
    #[arg(long)]
    activator: bool,
    /// A step that is done: primer, silane, activator, plasma, flame, etched, sanded, dried, post-cured, annealed, degreased, preheated, warm-cured
    #[arg(long, value_name = "STEP", value_parser = clap::builder::PossibleValuesParser::new(STEPS))]
    step: Vec<String>,
    /// Another fact of the joint: overlap, boss, interference, coldest, swing, load, humidity, stress
    #[arg(long = "set", value_name = "NAME=VALUE")]
    set: Vec<String>,
    /// Exit with 1 for "with care" and "unknown" too
    #[arg(long)]
    strict: bool,
    /// Show rules whose condition does not hold too
    #[arg(long)]
    all: bool,
    /// Write the sheet as JSON, for `recheck` and `affected`
    #[arg(long, value_name = "FILE.json")]
    out: Option<PathBuf>,
}

/// Answers the question, and writes the sheet where one is asked for.
pub fn run(args: &SuitsArgs, shared: &Shared, context: &Context) -> Result<Outcome, Fault> {
    let outcome = answer(args, shared, context)?;
    save::sheet(args.out.as_deref(), &*outcome.answer, context)?;
    Ok(outcome)
}

fn answer(args: &SuitsArgs, shared: &Shared, context: &Context) -> Result<Outcome, Fault> {
    let loaded = library::open(shared, context)?;
    let book = &loaded.book;
    let (rules, broken) = suit::rules(book);
    if let Some(fault) = broken.first() {
        return Err(Fault::data(format!("{}: {}", fault.id, fault.message)).help("`gripbook check` says more"));
    }
    if let Some(text) = &args.of_material {
        let material = library::find(book, text, &["material"])?;
        let any = first(book, "adhesive")?;
        let ranking = suit::rank_adhesives(&question(args, any, material, book)?, &rules, book);
        return Ok(ranked(ranking, format!("Adhesives for {} ({})", material.name, material.id), material, &loaded));
    }
    if let Some(text) = &args.of_adhesive {
        let adhesive = library::find(book, text, &["adhesive"])?;
        let any = first(book, "material")?;
        let ranking = suit::rank_materials(&question(args, adhesive, any, book)?, &rules, book);
        return Ok(ranked(ranking, format!("Materials for {} ({})", adhesive.name, adhesive.id), adhesive, &loaded));
    }
    let (adhesive, material) = match (&args.adhesive, &args.material) {
        (Some(a), Some(m)) => (library::find(book, a, &["adhesive"])?, library::find(book, m, &["material"])?),
        _ => return Err(Fault::usage("an adhesive and a material are needed").help("gripbook suits cyanoacrylate-thick pla")),
    };
    let question = question(args, adhesive, material, book)?;
    let answer = suit::judge(question.clone(), &rules, book);
    Ok(one(args, &question, answer, &loaded))
}

fn first<'b>(book: &'b Book, role: &'static str) -> Result<&'b Record, Fault> {
    book.of_role(role).next().ok_or_else(|| Fault::data(format!("the loaded packs hold no {role}")))
}

fn question<'b>(args: &SuitsArgs, adhesive: &'b Record, material: &'b Record, book: &'b Book) -> Result<Question<'b>, Fault> {
    let insert = args.insert.as_deref().map(|t| library::find(book, t, &["insert"])).transpose()?;
    let metal = insert.and_then(|i| book.record(i.rest["metal"].as_str()?));
    let mut joint = BTreeMap::new();
    for (name, text) in [
        ("gap", &args.gap),
        ("temperature", &args.temperature),
        ("wall", &args.wall),
        ("wavelength", &args.wavelength),
        ("dose", &args.dose),
    ] {
        if let Some(text) = text {
            set(&mut joint, name, text, &format!("--{name}"))?;
        }
    }
    if let Some(place) = args.place {
        joint.insert("place", Fact::Word(place.word().into()));
    }
    if args.stress {
        joint.insert("stress", Fact::YesNo(true));
    }
    if let Some(text) = &args.lamp {
        lamp(library::find(book, text, &["process"])?, &mut joint)?;
    }
    for text in &args.set {
        let (name, value) = text.split_once('=').ok_or_else(|| Fault::usage(format!("--set {text}: write NAME=VALUE")))?;
        set(&mut joint, name, value, "--set")?;
    }
    if metal.is_some() {
        joint.entry("metal_in_joint").or_insert(Fact::YesNo(true));
    }
    if let Some(insert) = insert
        && !joint.contains_key("overlap")
        && let Some(length) = insert.rest["length"].as_str().and_then(|t| parse(t, Quantity::Length).ok())
    {
        joint.insert("overlap", Fact::Quantity(length.amount()));
    }
    let done = args.step.iter().map(String::as_str).chain(args.activator.then_some("activator"));
    let steps: BTreeSet<&'static str> = done.filter_map(|d| STEPS.iter().copied().find(|s| *s == d)).collect();
    Ok(Question { adhesive, material, insert, metal, joint, unsettled: BTreeMap::new(), steps })
}

/// Dose and wavelength of a process record's post-cure lamp.
fn lamp(process: &Record, joint: &mut BTreeMap<&'static str, Fact>) -> Result<(), Fault> {
    let post = &process.rest["post_cure"];
    for name in ["dose", "wavelength"] {
        let text = post[name].as_str().ok_or_else(|| {
            Fault::usage(format!("{} has no post_cure.{name}", process.id)).help("give --dose and --wavelength instead")
        })?;
        set(joint, name, text, "--lamp")?;
    }
    Ok(())
}

fn set(joint: &mut BTreeMap<&'static str, Fact>, name: &str, text: &str, option: &str) -> Result<(), Fault> {
    let settable = JOINT_FACTS.iter().filter(|f| f.side != Side::Method && !f.name.starts_with("light_"));
    let known = settable.clone().find(|f| f.name == name);
    let Some(known) = known else {
        let names: Vec<&str> = settable.map(|f| f.name).collect();
        return Err(
            Fault::usage(format!("{option}: no fact of a joint is called `{name}`")).help(format!("facts: {}", names.join(", ")))
        );
    };
    let fact = match known.quantity {
        Some(quantity) => {
            let w = parse(text, quantity).map_err(|f| Fault::usage(format!("{option}: {}", f.message())).help(f.help()))?;
            if w.si < 0.0 && quantity != Quantity::Temperature {
                return Err(Fault::usage(format!("{option}: {text} is negative")));
            }
            Fact::Quantity(Amount { si: w.si, unit: w.unit })
        }
        None => match text {
            "yes" | "true" => Fact::YesNo(true),
            "no" | "false" => Fact::YesNo(false),
            word => Fact::Word(word.into()),
        },
    };
    joint.insert(known.name, fact);
    Ok(())
}

fn one(args: &SuitsArgs, question: &Question<'_>, answer: Suitability, loaded: &Loaded) -> Outcome {
    let no = match answer.verdict {
        Verdict::DoesNotSuit => true,
        Verdict::WithCare | Verdict::Unknown => args.strict,
        Verdict::Suits => false,
    };
    let page = page::pair(question, &answer, &loaded.book, args.all);
    let json = page::pair_json(question, &answer, &loaded.book, loaded);
    Outcome { answer: Box::new(Sheet { schema: "gripbook/suits/1", page, json, table: None }), exit: loaded.exit(u8::from(no)) }
}

fn ranked(ranking: Ranking, title: String, subject: &Record, loaded: &Loaded) -> Outcome {
    let sheet = Sheet {
        schema: "gripbook/suits/1",
        page: page::ranking(&ranking, &title, subject.invented()),
        json: page::ranking_json(&ranking, subject, loaded),
        table: Some(page::ranking_table(&ranking)),
    };
    Outcome { answer: Box::new(sheet), exit: loaded.exit(0) }
}
