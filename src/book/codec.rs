//! A record as compact bytes, so that a later run need not parse its file again.
//!
//! Not an exchange format: it changes with [`FORMAT`], and bytes that do not decode are simply thrown away.

use super::record::{Head, Record};
use crate::read::kept;

/// Version of the form; part of the name of every cache folder.
pub const FORMAT: u32 = 10;

/// The bytes of a record. Its pack and path are not part of them: they belong to the run.
pub fn encode(record: &Record) -> Vec<u8> {
    // Its head can be decoded alone: id, name and synonyms are the first fields of a record.
    kept::encode(&(record.invented(), record))
}

/// The record of such bytes, with pack 0 and no path; `None` when they are damaged.
pub fn decode(bytes: &[u8]) -> Option<Record> {
    kept::decode::<(bool, Record)>(bytes).map(|(_, record)| record)
}

/// What a record is called, which is looked at far more often than the rest.
pub fn decode_head(bytes: &[u8]) -> Option<Head> {
    postcard::take_from_bytes(bytes).ok().map(|(head, _)| head)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{Book, PackRoot};
    use std::path::Path;

    fn built_in() -> Book {
        Book::load(&[PackRoot::BuiltIn], Path::new(".")).expect("the built-in book loads")
    }

    #[test]
    fn every_built_in_record_survives_the_round_trip() {
        let book = built_in();
        assert!(book.records().len() > 100);
        for record in book.records() {
            let mut back = decode(&encode(record)).expect("decodes");
            back.file = record.file.clone();
            assert_eq!(&back, record);
            assert_eq!(decode_head(&encode(record)), Some(record.head()));
        }
    }

    #[test]
    fn damaged_bytes_are_refused_or_another_record_but_never_a_panic() {
        let record = built_in().record("polymer/pla").cloned().expect("is there");
        let good = encode(&record);
        for at in 0..good.len() {
            let mut bad = good.clone();
            bad[at] ^= 0x41;
            let _ = decode(&bad);
            assert!(decode(&good[..at]).is_none());
        }
    }
}
