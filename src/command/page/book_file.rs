//! One file that answers in a browser: style, script, module and packs in one document that may load nothing else.

use crate::command::library::Loaded;
use crate::command::{Context, Fault};
use base64::Engine;
use base64::engine::general_purpose::STANDARD as BASE64;
use flate2::{Compression, GzBuilder};
use gripbook::book::{PackRoot, files};
use gripbook::index::Carried;
use gripbook::present::html::escaped;
use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};
use std::io::Write;

const TEMPLATE: &str = include_str!("book.html");
const STYLE: &str = include_str!("book.css");
/// In the order they run in.
const SCRIPTS: [&str; 6] = [
    include_str!("script/words.js"),
    include_str!("script/module.js"),
    include_str!("script/parts.js"),
    include_str!("script/pictures.js"),
    include_str!("script/views.js"),
    include_str!("script/start.js"),
];
/// Runs before everything else.
const BEGIN: &str = include_str!("script/begin.js");
/// Stands behind each piece of the module.
const TAKE: &str = "module_in_pieces.take()";
/// Bytes in a piece, a multiple of three: each is a base64 text of its own.
const PIECE: usize = 3 << 16;
const WORKER: &str = include_str!("script/worker.js");

/// The document, and files of packs that are no text and stay out.
pub struct BookFile {
    /// The document.
    pub html: String,
    /// Paths that are left out.
    pub left_out: Vec<String>,
}

/// Writes the document of the loaded packs.
///
/// # Errors
/// A file of a pack that cannot be read.
pub fn write(loaded: &Loaded, context: &Context, module: &[u8]) -> Result<BookFile, Fault> {
    let mut left_out = Vec::new();
    let mut packs = Vec::new();
    for pack in loaded.book.packs().iter().filter(|pack| !pack.root.is_built_in()) {
        let below = files::folder_of(&pack.root, &context.folder);
        let mut texts = Map::new();
        for file in files::list(&pack.root, &context.folder).files {
            let bytes = file.bytes(&below).map_err(|f| Fault::data(format!("{}/{}: {}", pack.id, file.path, f.message)))?;
            // A page runs no plug-ins: their modules are the files that are no text.
            match String::from_utf8(bytes.into_owned()) {
                Ok(text) => texts.insert(file.path.to_string(), Value::String(text)).map_or((), drop),
                Err(_) => left_out.push(format!("{}/{}", pack.id, file.path)),
            }
        }
        // Its id and not its folder: where it lies on this machine is nobody else's business.
        packs.push(json!({"name": pack.id, "files": texts}));
    }
    let demo = loaded.book.packs().iter().any(|pack| pack.root == PackRoot::Demo);
    let names: Vec<&str> = loaded.book.packs().iter().map(|pack| &*pack.id).collect();
    let said = json!({"demo": demo, "packs": packs, "names": names, "version": env!("CARGO_PKG_VERSION")});
    let carried = Carried::of(&loaded.book, &context.folder);
    let script = SCRIPTS.concat();
    let policy = policy(&[BEGIN, TAKE, &script]);
    // What goes in last may hold anything; it is base64 or escaped, so it cannot hold a mark of the template.
    let html = TEMPLATE
        .replace("{{policy}}", &escaped(&policy))
        .replace("{{title}}", &escaped(&format!("gripbook: {}", names.join(", "))))
        .replace("{{style}}", STYLE)
        .replace("{{begin}}", BEGIN)
        .replace("{{script}}", &script)
        .replace("{{worker}}", &BASE64.encode(WORKER))
        .replace("{{carried}}", &BASE64.encode(packed(&carried)?))
        .replace("{{packs}}", &BASE64.encode(packed(said.to_string().as_bytes())?))
        .replace("{{module}}", &in_pieces(module));
    Ok(BookFile { html, left_out })
}

/// The module in pieces, each with the line that hands it on: the browser compiles while it reads.
fn in_pieces(module: &[u8]) -> String {
    let piece = |bytes| format!("<script type=\"text/plain\">{}</script><script>{TAKE}</script>\n", BASE64.encode(bytes));
    module.chunks(PIECE).map(piece).collect()
}

/// What the document may do: run its own scripts and module, show its own style and pictures; load nothing.
fn policy(scripts: &[&str]) -> String {
    let hash = |text: &str| format!("'sha256-{}'", BASE64.encode(Sha256::digest(text.as_bytes())));
    let scripts: Vec<String> = scripts.iter().map(|script| hash(script)).collect();
    format!(
        "default-src 'none'; script-src {} 'wasm-unsafe-eval'; style-src {}; img-src blob:; worker-src blob:; base-uri 'none'; \
         form-action 'none'",
        scripts.join(" "),
        hash(STYLE)
    )
}

/// Compressed, without the time: the same packs give the same bytes.
fn packed(bytes: &[u8]) -> Result<Vec<u8>, Fault> {
    let mut packer = GzBuilder::new().write(Vec::new(), Compression::best());
    let whole = packer.write_all(bytes).and_then(|()| packer.finish());
    whole.map_err(|e| Fault::environment(format!("the packs cannot be compressed: {e}")))
}
