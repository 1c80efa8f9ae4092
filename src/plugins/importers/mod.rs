//! Importers: one folder each, and its `mod` line; the type is called as the folder.

pub mod curve;
pub mod ladder;
pub mod results;
mod sheet;
pub mod table;

use crate::series::importer::Importer;

// The build lists what the lines above declare (`tools/embed.rs`).
include!(concat!(env!("OUT_DIR"), "/importers.rs"));

#[cfg(test)]
mod tests {
    use super::*;
    use crate::series::importer::{Ask, RowIn, Sink};

    #[derive(Default)]
    struct Count(usize);
    impl Sink for Count {
        fn sample(&mut self, _: f64, _: f64, _: u64) {
            self.0 += 1;
        }
        fn row(&mut self, _: RowIn) {
            self.0 += 1;
        }
        fn progress(&mut self, _: u64) {}
    }

    #[test]
    fn every_folder_is_listed_once_in_order_and_reads_its_example() {
        let names: Vec<&str> = ALL.iter().map(|i| i.card().name).collect();
        let here = concat!(env!("CARGO_MANIFEST_DIR"), "/src/plugins/importers");
        let mut folders: Vec<String> = std::fs::read_dir(here)
            .unwrap()
            .map(|e| e.unwrap())
            .filter(|e| e.path().is_dir())
            .map(|e| e.file_name().to_string_lossy().into_owned())
            .collect();
        folders.sort();
        for folder in &folders {
            assert!(names.contains(&&**folder), "add `pub mod {folder};` to src/plugins/importers/mod.rs");
        }
        assert_eq!(names, folders, "the list is sorted by name");
        for importer in ALL {
            let card = importer.card();
            let mut sink = Count::default();
            let ask = Ask { file: "example".into(), ..Ask::default() };
            importer.read(&mut card.example.as_bytes(), &ask, &mut sink).unwrap_or_else(|f| panic!("{}: {f:?}", card.name));
            assert!(sink.0 > 1 && !card.takes.is_empty(), "{}", card.name);
        }
    }
}
