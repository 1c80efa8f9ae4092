//! A new pack: its description, and the schemas an editor asks for.

use super::{NewArgs, fields, id};
use crate::command::amend::scalar;
use crate::command::editor::Editor;
use crate::command::{CommandOutcome, Context, Fault, question, save};
use gripbook::book::{PACK_FILE, kinds};
use gripbook::check::LICENCES;
use gripbook::check::schemas_of;
use gripbook::check::view::View;
use gripbook::present::{Page, Sheet};
use serde_json::json;
use std::path::PathBuf;

/// Makes the folder of a pack.
pub(super) fn run(args: &NewArgs, context: &Context) -> Result<CommandOutcome, Fault> {
    let schemas = schemas_of(kinds::built_in_schemas())?;
    let view = View::top(&schemas, "pack.schema.json");
    if !args.claims.is_empty() || args.from.is_some() {
        return Err(Fault::usage("a pack has no claims").help("make the pack, then `gripbook new` its records"));
    }
    let mut filled = fields::filled("pack", &view, &args.set, &[])?;
    if let Some(name) = &args.name {
        filled.set("title", name);
    }
    if !args.print && question::can_ask() {
        question::begin();
        for field in
            ["title", "licence", "description"].into_iter().filter(|field| filled.get(field).is_none()).collect::<Vec<_>>()
        {
            let words = if field == "licence" { LICENCES.to_vec() } else { Vec::new() };
            let asked = question::TerminalQuestion { field, meaning: meaning(&view, field), words };
            let refused = |answer: &str| not_a_licence(answer).filter(|_| field == "licence").map(|fault| fault.said());
            if let Some(answer) = question::ask(&asked, refused)? {
                filled.set(field, &answer);
            }
        }
    }
    let id = id(args, filled.get("title"))?;
    filled.set("id", &id);
    if filled.get("title").is_none() {
        filled.set("title", &id.replace('-', " "));
    }
    let licence = filled.get("licence").unwrap_or_default().to_owned();
    if let Some(fault) = not_a_licence(&licence) {
        return Err(fault);
    }
    let folder = args.into.clone().unwrap_or_else(|| PathBuf::from(&id));
    let path = folder.join(PACK_FILE);
    if save::exists(&context.folder.join(&path))? {
        return Err(
            Fault::usage(format!("{} is a pack already", context.shown(&folder))).help("choose another --id, or --into DIR")
        );
    }
    let editor = Editor::of_pack(&context.folder.join(&folder));
    let order = view.order().into_iter().filter(|field| *field != "families");
    let lines = order.filter_map(|field| Some(format!("{field}: {}\n", scalar(filled.get(field)?))));
    let text: String = editor.line.iter().map(|line| format!("{line}\n")).chain(lines).collect();
    let mut page = Page::default();
    if args.print {
        page.blocks.push(gripbook::present::Block::Verbatim(text.clone()));
    } else {
        let mut files = save::Batch::default();
        files.create(&path, text.as_str());
        editor.add_to(&mut files);
        files.commit(context)?;
        page.line(format!(
            "{} written. Change into {} and go on: gripbook new source, gripbook new resin …",
            context.shown(&path),
            context.shown(&folder)
        ));
    }
    let json = json!({"file": context.shown(&path), "written": !args.print, "text": text});
    Ok(CommandOutcome { answer: Box::new(Sheet { schema: "gripbook/new/1", page, json, table: None }), exit: 0 })
}

/// What is wrong with the licence of a pack.
fn not_a_licence(licence: &str) -> Option<Fault> {
    if LICENCES.contains(&licence) || licence.strip_prefix("LicenseRef-").is_some_and(|name| !name.is_empty()) {
        return None;
    }
    let what = match licence {
        "" => "a pack states the licence of its data".into(),
        other => format!("`{other}` is no licence of data"),
    };
    let help = format!("--set licence=… with one of {}, or LicenseRef-NAME for your own", LICENCES.join(", "));
    Some(Fault::usage(what).help(help))
}

fn meaning(view: &View<'_>, field: &str) -> String {
    let place = view.step(&gripbook::check::schemas::Step::Key(field.to_owned()));
    place.text("description").unwrap_or_default().to_owned()
}
