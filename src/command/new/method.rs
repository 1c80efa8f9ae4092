//! A new way of joining: a whole record that passes check and answers at once, to be changed line by line.

use super::NewArgs;
use crate::command::Fault;
use crate::command::context::quoted;

const TEXT: &str = include_str!("../../../tools/method.yaml");

/// The id that is asked for.
pub(super) fn id(args: &NewArgs) -> Result<Option<String>, Fault> {
    if !args.set.is_empty() || !args.claims.is_empty() || args.from.is_some() {
        let help = "gripbook new method cross-bar --name 'screw into a cross bar'";
        return Err(Fault::usage("the fields of a method are changed in its file, not set here").help(help));
    }
    match args.plugin.as_slice() {
        [] => Ok(None),
        [id] => Ok(Some(id.clone())),
        [_, more, ..] => Err(Fault::usage(format!("`{more}`: a method has one name")).help("what people call it is --name TEXT")),
    }
}

/// The next step with it: the pack it stands in is named unless it is the one stood in.
pub(super) fn next(id: &str, packs: &[String]) -> String {
    let pack = packs.iter().rfind(|pack| *pack != "demo").map(|pack| format!(" --pack {}", quoted(pack)));
    format!("Try it: gripbook fasten petg M3 6mm --method {id}{}", pack.unwrap_or_default())
}

/// The record with its title.
pub(super) fn text(title: &str, line: Option<&str>) -> String {
    let title = serde_json::Value::from(title).to_string();
    line.map(|line| format!("{line}\n")).unwrap_or_default() + &TEXT.replacen("TITLE", &title, 1)
}
