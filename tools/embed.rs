//! Build script: lists the schemas and the built-in packs, sorted, for embedding in the binary.
//!
//! Writes two files of static lists, `schemas.rs` and `packs.rs`; each entry is a path inside its folder,
//! with `/`, and the bytes. Three more list what is plugged in. Reruns when a file is added, changed or taken away.

use std::fmt::Write as _;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::{Path, PathBuf};
use std::{env, fs, io};

/// What belongs to a pack; anything else in the folder (notes, editor leftovers) stays out.
const PACK_FILES: [&str; 4] = ["yaml", "csv", "json", "wasm"];
/// Modules beside the plug-ins that plug in nothing.
const BESIDE: [&str; 3] = ["common", "sheet", "tests"];

fn main() -> io::Result<()> {
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").ok_or(io::ErrorKind::NotFound)?);
    let out = PathBuf::from(env::var_os("OUT_DIR").ok_or(io::ErrorKind::NotFound)?);
    println!("cargo::rerun-if-changed=tools/embed.rs");
    let schemas = list("SCHEMAS", "(&str, &str)", "include_str", &root.join("schemas"), &["json"])?;
    let mut mark = DefaultHasher::new();
    add_to_mark(&root.join("schemas"), &["json"], &mut mark)?;
    let schemas = registered(&root, &out, schemas, &mut mark)?;
    fs::write(out.join("schemas.rs"), marked(schemas, "schemas", &mark))?;
    let mut packs = list("BOOK", "(&str, &[u8])", "include_bytes", &root.join("records/book"), &PACK_FILES)?;
    let mut mark = DefaultHasher::new();
    packs += &list("DEMO", "(&str, &[u8])", "include_bytes", &root.join("records/demo"), &PACK_FILES)?;
    for folder in ["records/book", "records/demo"] {
        add_to_mark(&root.join(folder), &PACK_FILES, &mut mark)?;
    }
    fs::write(out.join("packs.rs"), marked(packs, "packs", &mark))?;
    plugged_in(&root, &out)
}

/// How a module of a folder is named in its list.
type Item<'a> = &'a dyn Fn(&str) -> String;

/// The lists of what is plugged in follow from the `mod` lines of each folder's `mod.rs`: a method, audit or importer is known
/// by that one line.
fn plugged_in(root: &Path, out: &Path) -> io::Result<()> {
    let camel = |module: &str| -> String {
        let words = module.split('_').map(|word| word[..1].to_uppercase() + &word[1..]);
        words.collect()
    };
    let lists: [(&str, &str, Item<'_>); 3] = [
        ("methods", "const ALL: &[&dyn Method]", &|module| format!("{module}::METHOD")),
        ("audits", "static ALL: &[&Audit]", &|module| format!("&{module}::AUDIT")),
        ("importers", "const ALL: &[&dyn Importer]", &|module| format!("&{module}::{}", camel(module))),
    ];
    for (folder, declares, of) in lists {
        let file = root.join("src/plugins").join(folder).join("mod.rs");
        println!("cargo::rerun-if-changed={}", file.display());
        let text = fs::read_to_string(file)?;
        let declared = text.lines().filter_map(|line| line.trim_start_matches("pub ").strip_prefix("mod ")?.strip_suffix(';'));
        let mut modules: Vec<&str> = declared.filter(|module| !BESIDE.contains(module)).collect();
        modules.sort_unstable();
        let items: String = modules.into_iter().map(|module| format!("    {},\n", of(module))).collect();
        let text = format!("/// What is plugged in, by name.\npub {declares} = &[\n{items}];\n");
        fs::write(out.join(format!("{folder}.rs")), text)?;
    }
    Ok(())
}

/// Where a schema says that words are registered, its embedded copy lists them: the names of the methods, which are those of
/// their folders, with those of the book's records or without them.
fn registered(root: &Path, out: &Path, schemas: String, mark: &mut DefaultHasher) -> io::Result<String> {
    let methods = root.join("src/plugins/methods");
    println!("cargo::rerun-if-changed={}", methods.display());
    let folders = fs::read_dir(methods)?.collect::<io::Result<Vec<_>>>()?.into_iter().filter(|e| e.path().is_dir());
    let mut names: Vec<String> = folders.map(|e| e.file_name().to_string_lossy().replace('_', "-")).collect();
    names.sort();
    let built_in = format!("\"enum\": {names:?}");
    let recorded = root.join("records/book/methods");
    println!("cargo::rerun-if-changed={}", recorded.display());
    let records = fs::read_dir(recorded)?.collect::<io::Result<Vec<_>>>()?.into_iter().map(|e| e.path());
    let records = records.filter(|path| path.extension().is_some_and(|ending| ending == "yaml"));
    names.extend(records.filter_map(|path| path.file_stem().map(|name| name.to_string_lossy().into_owned())));
    names.sort();
    let all = format!("\"enum\": {names:?}");
    (&built_in, &all).hash(mark);
    let mut schemas = schemas;
    for file in ["series.schema.json", "method.schema.json"] {
        let (from, to) = (root.join("schemas").join(file), out.join(file));
        let text = fs::read_to_string(&from)?.replace("\"registered\": \"methods\"", &all);
        fs::write(&to, text.replace("\"registered\": \"built-in methods\"", &built_in))?;
        schemas = schemas.replace(&format!("{from:?}"), &format!("{to:?}"));
    }
    Ok(schemas)
}

/// A list with the hash of what it holds.
fn marked(list: String, what: &str, mark: &DefaultHasher) -> String {
    format!("{list}/// Changes with the content of the embedded {what}.\npub static MARK: u64 = {};\n", mark.finish())
}

/// Takes names and contents of a folder's files into a hash that tells one build's from another's.
fn add_to_mark(folder: &Path, endings: &[&str], mark: &mut DefaultHasher) -> io::Result<()> {
    let mut paths = Vec::new();
    if folder.is_dir() {
        collect(folder, endings, &mut paths)?;
    }
    paths.sort();
    for path in paths {
        inside(folder, &path).hash(mark);
        fs::read(&path)?.hash(mark);
    }
    Ok(())
}

/// One static list over a folder; an absent folder gives an empty list.
fn list(name: &str, item: &str, include: &str, folder: &Path, endings: &[&str]) -> io::Result<String> {
    let mut paths = Vec::new();
    if folder.is_dir() {
        collect(folder, endings, &mut paths)?;
    } else {
        // Watching an absent folder would rerun at every build; its parent changes when it appears.
        println!("cargo::rerun-if-changed={}", folder.parent().unwrap_or(folder).display());
    }
    let mut entries: Vec<(String, &PathBuf)> = paths.iter().map(|p| (inside(folder, p), p)).collect();
    entries.sort();
    let mut text =
        format!("/// Path and content of every file of `{}`.\npub static {name}: &[{item}] = &[\n", inner_name(folder));
    for (path, file) in entries {
        writeln!(text, "    ({path:?}, {include}!({:?})),", file.display().to_string()).map_err(io::Error::other)?;
    }
    Ok(text + "];\n")
}

fn collect(folder: &Path, endings: &[&str], into: &mut Vec<PathBuf>) -> io::Result<()> {
    println!("cargo::rerun-if-changed={}", folder.display());
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            // The folders beside the schemas of records describe no records.
            if folder.ends_with("schemas") {
                continue;
            }
            collect(&path, endings, into)?;
        } else if path.extension().is_some_and(|e| endings.iter().any(|known| e == *known)) {
            println!("cargo::rerun-if-changed={}", path.display());
            into.push(path);
        }
    }
    Ok(())
}

fn inside(folder: &Path, path: &Path) -> String {
    let parts = path.strip_prefix(folder).unwrap_or(path).components();
    parts.map(|c| c.as_os_str().to_string_lossy()).collect::<Vec<_>>().join("/")
}

fn inner_name(folder: &Path) -> String {
    folder.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default()
}
