//! Plug-ins of packs: found, compared with the fingerprint the user gave, made ready. None runs without the user's word.

use super::{Context, Fault, Shared, headings};
use gripbook::book::{Book, Record};
use gripbook::finding::Severity;
use gripbook::read::digest::sha256;
use gripbook::sandbox::{AuditPlugin, ImporterPlugin, Module, Permit, SandboxFault, limits};
use gripbook::series::importer::ImporterCard;
use std::path::{Path, PathBuf};

/// Exit code where a plug-in failed.
pub const FAILED: u8 = 5;

/// Which plug-ins may run.
#[derive(Debug, Clone, Default, clap::Args)]
#[command(next_help_heading = headings::PACKS)]
pub struct PluginArgs {
    /// Let a plug-in of a pack run, if its module has this SHA-256: NAME or path of its record (repeatable)
    #[arg(long, value_name = "NAME=SHA256", help_heading = headings::PACKS)]
    pub plugin: Vec<String>,
    /// Plug-ins you allow, in a file of lines `SHA256  NAME`, as sha256sum prints them
    #[arg(long, value_name = "FILE", help_heading = headings::PACKS)]
    pub plugins_allowed: Option<PathBuf>,
}

impl PluginArgs {
    /// The permits of the line and of the allow file; a path stands for the name of its record.
    pub fn permits(&self, context: &Context) -> Result<Vec<Permit>, Fault> {
        let mut all = Vec::new();
        for text in &self.plugin {
            let permit = Permit::read(text).map_err(|why| {
                Fault::usage(format!("--plugin {text}: {why}")).help("for example --plugin river-log=0123456789abcdef…")
            })?;
            all.push(Permit { name: short(&permit.name), ..permit });
        }
        if let Some(file) = &self.plugins_allowed {
            let shown = file.display();
            let text = std::fs::read_to_string(context.folder.join(file))
                .map_err(|e| Fault::data(format!("--plugins-allowed {shown}: {e}")))?;
            let permits = Permit::read_all(&text).map_err(|(line, why)| {
                Fault::data(format!("{shown}:{line}: {why}")).help("one line for each: SHA256  NAME, as sha256sum prints them")
            })?;
            all.extend(permits);
        }
        Ok(all)
    }
    /// The names that were typed, without those that only an allow file has.
    fn named(&self) -> Vec<String> {
        self.plugin.iter().map(|text| short(text.split('=').next().unwrap_or(text))).collect()
    }
    /// The packs asked for, with those of plug-ins named by their path.
    pub fn with_packs(&self, shared: &Shared) -> Shared {
        let mut shared = shared.clone();
        let paths = self.plugin.iter().map(|text| text.split('=').next().unwrap_or(text)).filter(|name| is_path(name));
        for pack in paths.filter_map(|path| Path::new(path).parent()?.parent()) {
            let pack = if pack.as_os_str().is_empty() { ".".to_owned() } else { pack.display().to_string() };
            if !shared.pack.contains(&pack) {
                shared.pack.push(pack);
            }
        }
        shared
    }
    /// The importer that was named, if any.
    pub fn importer(&self, book: &Book, context: &Context) -> Result<Option<Imported>, Fault> {
        let permits = self.permits(context)?;
        let mut found = None;
        for name in self.named() {
            let record = record(book, &name)?;
            if does(record) != "importer" {
                return Err(Fault::usage(format!("the plug-in {name} is no importer")).help("it runs with `gripbook audit`"));
            }
            if found.is_some() {
                return Err(Fault::usage("two importers are named").help("one recording is read by one importer"));
            }
            let (module, fingerprint) = allowed(book, record, &permits, context)?;
            // Lives as long as the run, as the built-in cards do.
            let card = ImporterCard { name: leak(&name), takes: leak(purpose(record)), example: "" };
            let importer = ImporterPlugin::new(Box::leak(Box::new(card)), module).map_err(|f| failed(&name, &f))?;
            found = Some(Imported { importer, fingerprint });
        }
        Ok(found)
    }
    /// The audits that were named, and those of the allow file that the loaded packs have.
    pub fn audits(&self, book: &Book, context: &Context) -> Result<Vec<Audited>, Fault> {
        let permits = self.permits(context)?;
        let mut names = self.named();
        for name in &names {
            if does(record(book, name)?) != "audit" {
                return Err(Fault::usage(format!("the plug-in {name} is no audit")).help("it runs with `gripbook import curve`"));
            }
        }
        let has = |p: &&Permit| book.in_use(&format!("plugin/{}", p.name)).is_some_and(|r| does(r) == "audit");
        names.extend(permits.iter().filter(has).map(|p| p.name.clone()));
        names.sort();
        names.dedup();
        let one = |name: String| {
            let record = record(book, &name)?;
            let (module, fingerprint) = allowed(book, record, &permits, context)?;
            let severity = match record.plugin().and_then(|p| p.severity.as_deref()) {
                Some("note") => Severity::Note,
                _ => Severity::Warning,
            };
            let taken = context.registry.audits.iter().any(|a| a.name == name) || gripbook::check::rules::doc(&name).is_some();
            if taken {
                return Err(Fault::data(format!("the plug-in {name} has the name of a finding of this program"))
                    .help("its maker must give it a name of its own"));
            }
            let why = record.plugin().and_then(|p| p.why.as_deref()).unwrap_or("A rule of the pack.").to_owned();
            let says = [purpose(record).to_owned(), why];
            Ok(Audited { name: leak(&name), says, plugin: AuditPlugin::new(leak(&name), severity, module), fingerprint })
        };
        names.into_iter().map(one).collect()
    }
}

/// An importer that may run.
pub struct Imported {
    /// The importer.
    pub importer: ImporterPlugin,
    /// SHA-256 of its module.
    pub fingerprint: String,
}

/// An audit that may run; a module that was refused is told with the answer.
pub struct Audited {
    /// Its name.
    pub name: &'static str,
    /// What it finds doubtful, and why that matters, as its record says.
    pub says: [String; 2],
    /// The audit.
    pub plugin: Result<AuditPlugin, SandboxFault>,
    /// SHA-256 of its module.
    pub fingerprint: String,
}

/// What `show` says of a plug-in: the fingerprint of its module, and whether it may run.
pub fn standing(book: &Book, record: &Record, permits: &[Permit], context: &Context) -> String {
    let bytes = match module_bytes(book, record, context) {
        Ok(bytes) => bytes,
        Err(fault) => return format!("cannot run: {}", fault.message),
    };
    match Permit::judge(permits, record.id.name(), recorded(record), &bytes) {
        Ok(()) => "allowed".into(),
        Err(refused) => format!("not allowed: {refused}; {}", refused.help()),
    }
}

fn is_path(name: &str) -> bool {
    name.contains('/') || name.ends_with(".wasm") || name.ends_with(".yaml")
}

/// The short id of a plug-in named by id, name or path.
fn short(name: &str) -> String {
    let last = name.rsplit('/').next().unwrap_or(name);
    last.strip_suffix(".wasm").or_else(|| last.strip_suffix(".yaml")).unwrap_or(last).to_owned()
}

fn leak(text: &str) -> &'static str {
    Box::leak(text.to_owned().into_boxed_str())
}

fn record<'b>(book: &'b Book, name: &str) -> Result<&'b Record, Fault> {
    let id = format!("plugin/{name}");
    book.in_use(&id).ok_or_else(|| {
        let known: Vec<&str> = book.of_kind("plugin").map(|r| r.id.name()).collect();
        let help = match known.as_slice() {
            [] => "the loaded packs have none; add its pack with --pack DIR".into(),
            _ => format!("the loaded packs have {}; others come with --pack DIR", known.join(", ")),
        };
        Fault::usage(format!("no plug-in is called {name}")).help(help)
    })
}

fn does(record: &Record) -> &str {
    record.plugin().map_or("", |p| &*p.does)
}

fn purpose(record: &Record) -> &str {
    record.plugin().map_or("", |p| &*p.purpose)
}

fn recorded(record: &Record) -> &str {
    record.plugin().map_or("", |p| &*p.sha256)
}

/// The module of a record, if the user's word and the record agree with what is there.
fn allowed(book: &Book, record: &Record, permits: &[Permit], context: &Context) -> Result<(Module, String), Fault> {
    let bytes = module_bytes(book, record, context)?;
    Permit::judge(permits, record.id.name(), recorded(record), &bytes).map_err(|refused| Fault {
        exit: FAILED,
        message: refused.to_string(),
        help: Some(refused.help()),
    })?;
    let module = Module::new(&bytes).map_err(|fault| failed(record.id.name(), &fault))?;
    Ok((module, sha256(&bytes)))
}

/// The bytes of the module beside the record, never more than a module may have.
fn module_bytes(book: &Book, record: &Record, context: &Context) -> Result<Vec<u8>, Fault> {
    let root = &book.pack_of(record).root;
    let file = Path::new(&*record.file).with_extension("wasm");
    let told = |why: &str| Fault::data(format!("{}: {why}", file.display()));
    if let gripbook::book::PackRoot::Folder { .. } = root {
        let most = limits::MODULE as u64 + 1;
        let bytes = gripbook::read::file::load_at_most(&context.folder.join(&file), most).map_err(|f| told(&f.message))?;
        return Ok(bytes);
    }
    let inside = file.to_string_lossy().splitn(3, '/').nth(2).unwrap_or_default().to_owned();
    let all = gripbook::book::files::built_in_files(root);
    let found = all.iter().find(|(path, _)| *path == inside);
    found.map(|(_, bytes)| bytes.to_vec()).ok_or_else(|| told("there is no such module in the pack"))
}

/// A plug-in that was stopped.
pub fn failed(name: &str, fault: &SandboxFault) -> Fault {
    Fault {
        exit: FAILED,
        message: format!("plug-in {name}: {}: {fault}", fault.name()),
        help: Some("nothing was written; tell the maker of the plug-in".into()),
    }
}
