//! Packs that were read before, carried to where nothing can be kept: a page opens without parsing a record.
//!
//! The bytes are those of snapshots, one for each pack. They serve a program with the same schemas and embedded files as the
//! one that wrote them; for any other they are as good as none, and everything is read from the files again.

use super::snapshot::{Body, Held, SmallShelf, Snapshot, Stored, keeps_kinds, key};
use crate::book::files::{self, FileRole, PackFile};
use crate::book::kinds::SchemasHash;
use crate::book::memory::{Kept, Memory, Recalled, Sum, UnchangedFile};
use crate::book::{Book, PackRoot, Record};
use crate::read::folder::Stamp;
use crate::read::kept;
use serde_bytes::Bytes;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// First bytes: what it is.
const FORM: &str = concat!("gripbook packs ", env!("CARGO_PKG_VERSION"), "\n");

/// What was read of some packs.
#[derive(Debug, Clone, Default)]
pub struct Carried(BTreeMap<String, Vec<u8>>);

impl Carried {
    /// The bytes of what a book holds; `here` is the folder relative paths start from. Files that were left out of the book
    /// are not in it, so that they are read, and their faults told, again.
    #[must_use]
    pub fn of(book: &Book, here: &Path) -> Vec<u8> {
        let packs = book.packs().iter().enumerate();
        let all: Vec<(&str, Vec<u8>)> =
            packs.map(|(place, pack)| (name(&pack.root, &pack.id), snapshot(book, place, here))).collect();
        let all: Vec<(&str, &Bytes)> = all.iter().map(|(name, bytes)| (*name, Bytes::new(bytes))).collect();
        kept::seal(FORM, &all)
    }
    /// What such bytes hold; nothing where they are of another version or damaged.
    #[must_use]
    pub fn read(bytes: &[u8]) -> Carried {
        let all: Vec<(&str, &Bytes)> = kept::unseal(FORM, bytes).unwrap_or_default();
        Carried(all.into_iter().map(|(name, bytes)| (name.to_owned(), bytes.to_vec())).collect())
    }
}

/// What a pack goes by. No id has a space.
fn name<'n>(root: &'n PackRoot, id: &'n str) -> &'n str {
    match root {
        PackRoot::BuiltIn => "built in",
        PackRoot::Demo => "built-in demo",
        // Where it is opened it is given, and shown by its id.
        PackRoot::Given { shown, .. } => shown,
        PackRoot::Folder { .. } => id,
    }
}

fn snapshot(book: &Book, place: usize, here: &Path) -> Vec<u8> {
    let pack = &book.packs()[place];
    let (mut files, below) = (files::list(&pack.root, here).files, files::folder_of(&pack.root, here));
    // When and where a file lies on this disk is of no use elsewhere: the same packs give the same bytes.
    files.iter_mut().for_each(|file| file.stamp = Stamp::default());
    let read: BTreeMap<Arc<str>, Record> = book.as_read(place).collect();
    let known = |file: &PackFile| {
        let record = read.get(&file.path);
        let is_sound = file.part != FileRole::Record || record.is_some();
        let hash = files::content_hash(&file.bytes(&below).ok().filter(|_| is_sound)?);
        Some(UnchangedFile { hash, claims: record.map_or(0, Record::claim_count) })
    };
    let known: Vec<Option<UnchangedFile>> = files.iter().map(known).collect();
    let records = read.iter().map(|(path, record)| (&**path, Stored::of(record))).collect();
    let sum = Sum { counts: pack.counts.clone(), claims: pack.claims, hash: pack.hash.clone() };
    let kept = Kept { files: &files, known: &known, read: &[] };
    let kinds = keeps_kinds(&pack.root).then_some(book.kinds());
    Body::of(&kept, records, false).with(kinds).bytes(&key(&pack.root, book.schemas_hash()), &sum, 0, None)
}

impl Memory for Carried {
    fn fetch(&self, root: &PackRoot) -> Option<Vec<u8>> {
        self.0.get(name(root, "")).cloned()
    }
    fn recall<'m>(&'m self, kept: Option<Vec<u8>>, root: &PackRoot, files: &[PackFile], schemas: &SchemasHash) -> Recalled<'m> {
        let snapshot = Snapshot::of(kept, &key(root, schemas));
        let kept::Aligned { kept, gone } = kept::align(files, |file| &file.path, snapshot.files(), |state| state.path);
        let known: Vec<Option<UnchangedFile>> = kept
            .into_iter()
            .zip(files)
            .map(|(state, file)| Some(state.filter(|s| s.fits(file) && s.held != Held::InIndex)?.known))
            .collect();
        let is_same = !gone && known.iter().all(Option::is_some);
        Recalled {
            known,
            same: is_same.then(|| snapshot.sum.clone()),
            kinds: snapshot.kinds(),
            shelf: Some(Arc::new(SmallShelf::of(snapshot))),
            renewal: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::files::built_in_files;

    fn ids(book: &Book) -> Vec<&str> {
        book.records().iter().map(|record| record.id.as_str()).collect()
    }

    #[test]
    fn a_carried_book_is_the_book_and_one_of_others_is_read_from_the_files() {
        let of_demo = || built_in_files(&PackRoot::Demo).iter().map(|(path, bytes)| ((*path).to_owned(), bytes.to_vec()));
        let broken = ("resins/broken.yaml".to_owned(), b"name: [".to_vec());
        let files: BTreeMap<String, Vec<u8>> = of_demo().chain([broken.clone()]).collect();
        let roots = [PackRoot::BuiltIn, PackRoot::given("demo", files.clone())];
        let read = Book::load(&roots, Path::new(".")).expect("loads");
        let bytes = Carried::of(&read, Path::new("."));
        let opened = Book::load_with(&roots, Path::new("."), &Carried::read(&bytes)).expect("opens");
        assert_eq!(ids(&read), ids(&opened));
        for (a, b) in read.records().into_iter().zip(opened.records()) {
            assert_eq!(a, b);
        }
        assert!(!read.left_out.is_empty());
        let told = |book: &Book| book.left_out.iter().map(|f| (f.rule, f.place.file.clone())).collect::<Vec<_>>();
        assert_eq!(told(&read), told(&opened), "what is broken is told again");
        assert_eq!(read.references_to("resin/logger-grey"), opened.references_to("resin/logger-grey"));
        assert!(!opened.references_to("resin/logger-grey").is_empty());
        let hashes = |book: &Book| book.packs().iter().map(|p| (p.hash.clone(), p.claims)).collect::<Vec<_>>();
        assert_eq!(hashes(&read), hashes(&opened));

        let mut damaged = bytes.clone();
        damaged[bytes.len() / 2] ^= 1;
        let without = Book::load_with(&roots, Path::new("."), &Carried::read(&damaged)).expect("opens");
        assert_eq!(ids(&read), ids(&without));
        let less: BTreeMap<String, Vec<u8>> = of_demo().filter(|(path, _)| path != "resins/logger-grey.yaml").collect();
        let roots = [PackRoot::BuiltIn, PackRoot::given("demo", less)];
        let fewer = Book::load_with(&roots, Path::new("."), &Carried::read(&bytes)).expect("opens");
        let fresh = Book::load(&roots, Path::new(".")).expect("loads");
        assert_eq!(ids(&fresh), ids(&fewer), "a file that is gone is no record");
    }
}
