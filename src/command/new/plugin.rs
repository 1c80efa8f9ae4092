//! A new plug-in: a small crate beside the records of the pack, and its record.

use super::NewArgs;
use crate::command::{CommandOutcome, Context, Fault, save};
use gripbook::book::standing_in;
use gripbook::check::ids;
use gripbook::present::{Page, Sheet};
use gripbook::sandbox::CONTRACT;
use serde_json::json;

/// The files of a crate: path inside its folder and text, in which NAME and TYPE are filled in.
const FILES: [(&str, &str); 2] = [
    ("Cargo.toml", include_str!("../../../tools/plugin/manifest.toml")),
    ("src/contract.rs", include_str!("../../../tools/plugin/contract.rs")),
];
const IMPORTER: &str = include_str!("../../../tools/plugin/importer.rs");
const AUDIT: &str = include_str!("../../../tools/plugin/audit.rs");

/// Writes the crate and the record.
pub(super) fn run(args: &NewArgs, context: &Context) -> Result<CommandOutcome, Fault> {
    let example = "gripbook new plugin importer my-tester";
    let [does, name] = args.plugin.as_slice() else {
        return Err(Fault::usage("what the plug-in does and its name are missing").help(format!("for example: {example}")));
    };
    let lib = match does.as_str() {
        "importer" => IMPORTER,
        "audit" => AUDIT,
        other => {
            return Err(Fault::usage(format!("a plug-in is an importer or an audit, not `{other}`"))
                .help(format!("for example: {example}")));
        }
    };
    if ids::fault(name).is_some() {
        return Err(Fault::usage(format!("`{name}` is no id")).help("small letters, digits and hyphens, such as my-tester"));
    }
    let pack = args
        .into
        .as_ref()
        .map(|into| context.folder.join(into))
        .or_else(|| standing_in(&context.folder, context.home.as_deref()));
    let pack = pack.ok_or_else(|| Fault::usage("no pack to write to").help("name one with --into DIR, or stand in one"))?;
    let source = pack.join("plugins/sources").join(name);
    if save::exists(&source)? {
        return Err(Fault::usage(format!("{} is there already", context.shown(&source))).help("choose another name"));
    }
    let type_name: String = name.split('-').map(|w| w[..1].to_ascii_uppercase() + &w[1..]).collect();
    let fill = |text: &str| {
        text.replace("NAME: &'static str = \"NAME\"", &format!("NAME: &'static str = \"{name}\"")).replace("TYPE", &type_name)
    };
    let mut files = save::Batch::default();
    for (path, text) in FILES {
        files.create(&source.join(path), text.replace("name = \"NAME\"", &format!("name = \"{name}\"")));
    }
    files.create(&source.join("src/lib.rs"), fill(lib));
    files.create(&source.join(".gitignore"), "target/\n");
    let severity = if does == "audit" { "severity: warning\n" } else { "" };
    let record = format!(
        "name: {}\ndoes: {does}\npurpose: \"… which files it reads, or what it finds\"\n{severity}contract: {CONTRACT}\n\
         # sha256sum of plugins/{name}.wasm\nsha256: \"{}\"\nlicence: MIT OR Apache-2.0\ncode: plugins/sources/{name}\n",
        name.replace('-', " "),
        "0".repeat(64),
    );
    let path = pack.join("plugins").join(format!("{name}.yaml"));
    files.create(&path, record.as_str());
    files.commit(context)?;
    let mut page =
        Page::titled(format!("plug-in {name}: a crate in {}, its record {}", context.shown(&source), context.shown(&path)));
    let target = "wasm32-unknown-unknown";
    for step in [
        "write what it does in src/lib.rs; src/contract.rs stays as it is".to_owned(),
        format!("cargo test, then cargo build --release --target {target} (rustup target add {target})"),
        format!("copy target/{target}/release/{}.wasm to plugins/{name}.wasm", name.replace('-', "_")),
        format!("write its checksum (sha256sum) into plugins/{name}.yaml"),
        match does.as_str() {
            "importer" => format!("gripbook import curve FILE … --plugin {name}=SHA256"),
            _ => format!("gripbook audit --plugin {name}=SHA256"),
        },
    ] {
        page.item(step);
    }
    let json = json!({"crate": context.shown(&source), "record": context.shown(&path), "written": true});
    Ok(CommandOutcome { answer: Box::new(Sheet { schema: "gripbook/new/1", page, json, table: None }), exit: 0 })
}
