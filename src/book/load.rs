//! Loading: from pack folders to records, with everything left out named.

use super::Book;
use super::files::{self, FileRole, PackFile};
use super::files::{PACK_FILE, PackRoot};
use super::kinds::{self, Kinds, SchemasHash};
use super::memory::{Memory, NoMemory, Recalled};
use super::pack::Manifest;
use super::reading::{self, Opened, Setting, Taken};
use crate::check::catalogue::Catalogue;
use crate::check::packs::PackFrom;
use crate::check::schemas::{SchemaFault, Schemas};
use crate::check::{Checker, schemas_of};
use crate::finding::{Finding, Severity};
use std::path::Path;

impl Book {
    /// Loads packs and reads every file. `here` is the folder relative paths start from.
    ///
    /// # Errors
    /// A pack that cannot be opened, and a record id that two packs use.
    pub fn load(roots: &[PackRoot], here: &Path) -> Result<Book, Box<Finding>> {
        load(roots, here, &NoMemory)
    }
    /// As [`Book::load`], with files remembered from earlier runs.
    ///
    /// # Errors
    /// As [`Book::load`].
    pub fn load_with(roots: &[PackRoot], here: &Path, memory: &dyn Memory) -> Result<Book, Box<Finding>> {
        load(roots, here, memory)
    }
}

/// Loads packs. `here` is the folder relative paths start from.
///
/// # Errors
/// A pack that cannot be opened, and a record id that two packs use.
fn load(roots: &[PackRoot], here: &Path, memory: &dyn Memory) -> Result<Book, Box<Finding>> {
    let fetch = || roots.iter().map(|root| memory.fetch(root)).collect::<Vec<_>>();
    let (opened, kept) = rayon::join(|| open(roots, here), fetch);
    let mut notices = Vec::new();
    let mut opened = opened?;
    opened.iter_mut().zip(kept).for_each(|(pack, kept)| pack.kept = kept);
    let mut opened = replace_built_in(opened, &mut notices)?;
    refuse_twins(&opened)?;
    let mut rules = if opened.iter().any(declares_more) { Rules::Unread.with_packs(&opened)? } else { Rules::Unread };
    let schemas = rules.hash();
    let mut recalled = recalled(&mut opened, memory, &schemas);
    let kept = recalled.iter_mut().find_map(|recalled| recalled.kinds.take());
    let kinds = kept.map_or_else(|| rules.kinds(), Ok)?;
    forget_what_names_nothing(&mut recalled, &opened, &kinds.catalogue);
    if opened.iter().zip(&recalled).any(|(pack, known)| pack.is_checked() && must_check(pack, known)) {
        rules = rules.with_packs(&opened)?;
    }
    let folders = kinds.catalogue.kinds.iter().map(|k| (&*k.folder, &*k.word)).collect();
    let setting = Setting { kinds: &kinds, folders, checker: rules.checker(), here };
    let mut book = Book::empty();
    book.notices = notices;
    for (pack, known) in opened.iter().zip(recalled) {
        let Taken { slots, summary, home, left_out } = reading::take(pack, book.packs.len(), known, &setting);
        book.packs.push(summary);
        book.homes.push(home);
        book.left_out.extend(left_out);
        book.slots.extend(slots);
    }
    drop(setting);
    book.kinds = kinds;
    book.schemas = schemas;
    book.settle();
    book.lose();
    // Lists of many files take a while to be freed, and nobody has to wait for that.
    rayon::spawn(move || drop((rules, opened)));
    Ok(book)
}

/// The schemas in force, as far as they had to be read: what they say may be remembered.
enum Rules {
    /// Nothing was read.
    Unread,
    /// Those of the program.
    Shared(Box<Schemas>),
    /// Those of the packs too.
    Packs(Box<Checker<'static>>),
}

impl Rules {
    fn with_packs(self, opened: &[Opened]) -> Result<Rules, Box<Finding>> {
        let shared = match self {
            Rules::Unread => built_in()?,
            Rules::Shared(shared) => *shared,
            ready @ Rules::Packs(_) => return Ok(ready),
        };
        Ok(Rules::Packs(Box::new(Checker::with(shared, &packs_from(opened)))))
    }
    fn hash(&self) -> SchemasHash {
        match self {
            Rules::Unread | Rules::Shared(_) => kinds::built_in_hash(),
            Rules::Packs(checker) => kinds::hash_of(checker.schemas()),
        }
    }
    /// What they say; reads them where that was not done.
    fn kinds(&mut self) -> Result<Kinds, Box<Finding>> {
        if let Rules::Unread = self {
            *self = Rules::Shared(Box::new(built_in()?));
        }
        Ok(match self {
            Rules::Unread => Kinds::default(),
            Rules::Shared(shared) => Kinds::of(shared),
            Rules::Packs(checker) => Kinds::of(checker.schemas()),
        })
    }
    fn checker(&self) -> Option<&Checker<'static>> {
        match self {
            Rules::Unread | Rules::Shared(_) => None,
            Rules::Packs(checker) => Some(checker),
        }
    }
}

fn built_in() -> Result<Schemas, Box<Finding>> {
    schemas_of(kinds::built_in_schemas()).map_err(|e| broken_schemas(&e))
}

fn broken_schemas(error: &SchemaFault) -> Box<Finding> {
    Box::new(Finding::new("schema-broken", Severity::Error, "schemas", format!("the built-in schemas cannot be read: {error}")))
}

/// Whether a pack brings schemas or families.
fn declares_more(pack: &Opened) -> bool {
    pack.is_checked() && (pack.manifest.families || pack.listing.files.iter().any(|f| f.part == FileRole::Schema))
}

/// Whether a pack has to be looked at by `check`: a file is not known, or a name could not be listed.
fn must_check(pack: &Opened, recalled: &Recalled<'_>) -> bool {
    !pack.listing.refused.is_empty() || recalled.known.iter().any(Option::is_none)
}

fn packs_from(opened: &[Opened]) -> Vec<PackFrom<'static>> {
    let from = |pack: &Opened| match &pack.root {
        PackRoot::Folder { .. } => PackFrom::Listed(pack.folder.clone(), pack.listing.whole.clone()),
        other => files::for_check(other, &pack.folder),
    };
    opened.iter().map(from).collect()
}

/// Refuses a record id that two packs hold.
fn refuse_twins(opened: &[Opened]) -> Result<(), Box<Finding>> {
    for (at, later) in opened.iter().enumerate() {
        for earlier in &opened[..at] {
            // Each file of the smaller pack is looked up in the larger one.
            let (few, many) =
                if later.listing.files.len() < earlier.listing.files.len() { (later, earlier) } else { (earlier, later) };
            let is_record = |f: &&PackFile| f.part == FileRole::Record && f.path.ends_with(".yaml");
            let Some(twin) = few.listing.files.iter().filter(is_record).find(|f| many.listing.holds(&f.path)) else { continue };
            let (other, file) = (format!("{}{}", earlier.prefix, twin.path), format!("{}{}", later.prefix, twin.path));
            let message = format!("this record is also in {other}; a pack may add records but never change those of another");
            let found = Finding::new("record-twice", Severity::Error, &file, message);
            return Err(Box::new(found.help("give the record another id")));
        }
    }
    Ok(())
}

/// What memory knows of each pack.
fn recalled<'m>(opened: &mut [Opened], memory: &'m dyn Memory, schemas: &SchemasHash) -> Vec<Recalled<'m>> {
    let one = |pack: &mut Opened| memory.recall(pack.kept.take(), &pack.root, &pack.listing.files, schemas);
    opened.iter_mut().map(one).collect()
}

/// A record that names something no pack has now is read and judged again.
fn forget_what_names_nothing(recalled: &mut [Recalled<'_>], opened: &[Opened], catalogue: &Catalogue) {
    let lost = |target: &str| {
        let named = target.split_once('/').and_then(|(kind, name)| Some((&catalogue.kind(kind)?.folder, name)));
        let Some((folder, name)) = named else { return false };
        let path = format!("{folder}/{name}.yaml");
        !opened.iter().any(|pack| pack.listing.holds(&path))
    };
    for (pack, recalled) in opened.iter().zip(recalled).filter(|(pack, _)| pack.is_checked()) {
        let naming = recalled.shelf.as_ref().map_or_else(Vec::new, |shelf| shelf.naming(&lost));
        for place in naming.iter().filter_map(|path| pack.listing.place(path)) {
            recalled.known[place] = None;
            recalled.same = None;
        }
    }
}

fn open(roots: &[PackRoot], here: &Path) -> Result<Vec<Opened>, Box<Finding>> {
    let open_one = |root: &PackRoot| {
        let listing = files::list(root, here);
        let prefix = prefix(root, here);
        let shown = format!("{prefix}{PACK_FILE}");
        let missing = || Box::new(Finding::new("pack-missing", Severity::Error, &shown, "the pack has no pack.yaml"));
        let Some(file) = listing.get(PACK_FILE) else {
            // A folder that cannot be listed may hold one all the same.
            let untold = listing.refused.iter().find(|r| r.path.is_empty());
            let unreadable = |r: &files::Refused| Box::new(Finding::new(r.rule, Severity::Error, &shown, r.message.clone()));
            // A binary built before the demo pack was written has none; asking for it is then an error, not a bug.
            return Err(untold.map_or_else(missing, unreadable));
        };
        let folder = files::folder_of(root, here);
        let bytes = file.bytes(&folder).map_err(|fault| reading::finding(&fault, &shown))?;
        let manifest = Manifest::read(&bytes, &shown)?;
        Ok(Opened { root: root.clone(), folder, prefix, manifest, listing, kept: None })
    };
    roots.iter().map(open_one).collect()
}

/// How paths of a pack begin when shown.
fn prefix(root: &PackRoot, here: &Path) -> String {
    match root {
        PackRoot::BuiltIn => "records/book/".into(),
        PackRoot::Demo => "records/demo/".into(),
        PackRoot::Folder { path, stood_in: false } if path.as_os_str() == "." => String::new(),
        PackRoot::Folder { path, stood_in: false } => format!("{}/", files::shown(path).trim_end_matches('/')),
        PackRoot::Folder { path, stood_in: true } => {
            let below = here.strip_prefix(path).map_or(0, |rest| rest.components().count());
            "../".repeat(below)
        }
        PackRoot::Given { shown, .. } => format!("{shown}/"),
    }
}

/// A folder with the id of a built-in pack takes its place; two folders with one id are an error.
fn replace_built_in(mut opened: Vec<Opened>, notices: &mut Vec<String>) -> Result<Vec<Opened>, Box<Finding>> {
    let folders: Vec<(Box<str>, String)> =
        opened.iter().filter(|o| o.is_checked()).map(|o| (o.manifest.id.clone(), format!("{}{PACK_FILE}", o.prefix))).collect();
    for (at, (id, file)) in folders.iter().enumerate() {
        if folders[..at].iter().any(|(earlier, _)| earlier == id) {
            return Err(Box::new(Finding::new("pack-twice", Severity::Error, file, format!("two packs have the id `{id}`"))));
        }
    }
    opened.retain(|o| {
        let replaced = !o.is_checked() && folders.iter().any(|(id, _)| *id == o.manifest.id);
        if replaced {
            let file = folders.iter().find(|(id, _)| *id == o.manifest.id).map_or("", |(_, file)| file);
            notices.push(format!("the pack `{}` is read from {file}, not the built-in copy", o.manifest.id));
        }
        !replaced
    });
    Ok(opened)
}
