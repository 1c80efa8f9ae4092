//! Files of the best joint: drawing, profile to revolve, body to subtract.

use super::FastenArgs;
use super::words::{design_load, factor, promised, wanted};
use crate::command::save::Batch;
use crate::command::{Context, Fault};
use gripbook::joint::Geometry;
use gripbook::joint::held::stretch;
use gripbook::joint::judge::{Candidate, Judgement};
use gripbook::joint::need::{Duration, Need};
use gripbook::present::drawing::section::{TitleBlock, svg};
use gripbook::present::drawing::{profile, solid};
use gripbook::quantity::{Amount, Measure};

/// Adds the files that were asked for; says which joint they show, and their names.
pub fn add(
    files: &mut Batch,
    judgement: &Judgement<'_>,
    args: &FastenArgs,
    packs: &str,
    context: &Context,
) -> Result<Option<String>, Fault> {
    if args.drawing.is_none() && args.profile.is_none() && args.solid.is_none() {
        return Ok(None);
    }
    let (candidate, geometry) = best(judgement).ok_or_else(|| {
        Fault::usage("there is no method with a shape to draw")
            .help("`gripbook fasten` without the drawing says what each method needs")
    })?;
    if let Some(path) = &args.drawing {
        files.output(path, svg(geometry, &block(judgement, candidate, packs, context)));
    }
    if let Some(path) = &args.profile {
        files.output(path, profile::table(geometry).csv());
    }
    if let Some(path) = &args.solid {
        files.output(path, solid::stl(geometry));
    }
    let named = [("drawing", &args.drawing), ("profile", &args.profile), ("solid", &args.solid)];
    let named = named.into_iter().filter_map(|(what, path)| Some(format!("{what} {}", path.as_ref()?.display())));
    Ok(Some(format!("written for {}: {}", candidate.method.name, named.collect::<Vec<_>>().join(", "))))
}

/// The candidate the sheet is about, or the first with a shape.
fn best<'j, 'n>(judgement: &'j Judgement<'n>) -> Option<(&'j Candidate<'n>, &'j Geometry)> {
    let shaped = |c: &'j Candidate<'n>| c.geometry.as_ref().map(|g| (c, g));
    judgement.best().and_then(shaped).or_else(|| judgement.candidates.iter().find_map(shaped))
}

fn block(judgement: &Judgement<'_>, candidate: &Candidate<'_>, packs: &str, context: &Context) -> TitleBlock {
    let need = judgement.need;
    let mark = if judgement.invented { "INVENTED DATA" } else { "" }.to_string();
    let name = |label: &str, text: Option<String>| text.map(|t| (label.to_string(), t));
    let lines = [
        name("part", Some(judgement.need.material.name.to_string())),
        name("glue", candidate.adhesive.map(|a| a.name.to_string())),
        name("process", judgement.need.process.map(|p| p.name.to_string())),
        name(
            "joint",
            Some(format!("{} x {}", judgement.need.thread.designation(), Amount::of(judgement.need.length).trimmed(4))),
        ),
        name("verdict", Some(candidate.verdict.text().to_string())),
        name("need", need.load.map(|load| wanted(need, load.si()) + &factor(need))),
        name("load", Some(load_kind(need))),
        told_load(judgement, candidate),
        name("packs", Some(packs.to_string())),
        name("made by", Some(format!("gripbook {}", env!("CARGO_PKG_VERSION")))),
        name("command", Some(shortened(&context.command_line))),
    ];
    TitleBlock { mark, title: candidate.method.title.to_string(), lines: lines.into_iter().flatten().collect() }
}

/// The kind of load asked about, and how long it is sustained where that is said.
fn load_kind(need: &Need<'_>) -> String {
    match need.using.held {
        Some(time) => format!("{}, {}", need.using.duration.word(), stretch(time)),
        None => need.using.duration.word().to_owned(),
    }
}

/// What may be counted on: for a held load never the short pull alone.
fn told_load(judgement: &Judgement<'_>, candidate: &Candidate<'_>) -> Option<(String, String)> {
    let (label, text) = match candidate.held.as_ref().filter(|_| !judgement.no_promise) {
        Some(held) => ("sustained", held.text(&held.load().map(promised).unwrap_or_default())),
        None => {
            let bound = candidate.design().filter(|_| !judgement.no_promise)?;
            let lasts = candidate.model.as_ref().is_some_and(|m| m.model.lasting.is_some());
            let short = judgement.need.using.duration == Duration::Held && !lasts;
            let limit = if short { ", short pull, not for the time asked" } else { "" };
            ("design load", design_load(bound, candidate) + limit)
        }
    };
    Some((label.to_owned(), text))
}

/// A command line that fits the block in a few lines; the sheet's JSON has it whole.
fn shortened(command: &str) -> String {
    const FITS: usize = 240;
    if command.chars().count() <= FITS {
        command.to_string()
    } else {
        command.chars().take(FITS - 2).chain(" …".chars()).collect()
    }
}
