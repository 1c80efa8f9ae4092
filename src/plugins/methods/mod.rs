//! The ways to make a threaded joint. Adding one: a folder here, and its `mod` line.

use crate::joint::method::Method;

mod cut_thread;
mod direct_screw;
mod heat_set_insert;
mod press_fit_insert;
mod printed_thread;

// The build lists what the lines above declare (`tools/embed.rs`).
include!(concat!(env!("OUT_DIR"), "/methods.rs"));

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    #[test]
    fn names_are_unique_and_sorted() {
        let names: Vec<&str> = ALL.iter().map(|m| m.card().name).collect();
        let mut sorted = names.clone();
        sorted.sort_unstable();
        sorted.dedup();
        assert_eq!(names, sorted, "the list of methods is sorted by name, each once");
    }

    #[test]
    fn every_folder_is_listed() {
        let here = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/plugins/methods");
        let names: Vec<&str> = ALL.iter().map(|m| m.card().name).collect();
        for entry in std::fs::read_dir(here).unwrap().flatten().filter(|e| e.path().is_dir()) {
            let folder = entry.file_name().to_string_lossy().into_owned();
            let name = folder.replace('_', "-");
            assert!(
                names.contains(&name.as_str()),
                "src/plugins/methods/{folder} is not listed: add the line `mod {folder};` to src/plugins/methods/mod.rs"
            );
        }
    }

    /// The build puts the names of the folders, and those of the book's records, where a schema says `registered`.
    #[test]
    fn the_words_of_schemas_are_the_names_of_the_methods() {
        let schema = |file: &str| -> serde_json::Value {
            let (_, text) = crate::book::kinds::built_in_schemas().iter().find(|(n, _)| *n == file).unwrap();
            serde_json::from_str(text).unwrap()
        };
        let names: Vec<&str> = ALL.iter().map(|m| m.card().name).collect();
        assert_eq!(schema("method.schema.json")["$defs"]["built_in"]["enum"], serde_json::json!(names));
        let book = crate::book::Book::load(&[crate::book::PackRoot::BuiltIn], Path::new(".")).expect("the book loads");
        let methods = crate::plugins::BUILT_IN.methods_of(&book);
        assert!(methods.names().len() > names.len(), "the book has methods of its own");
        let words = &schema("series.schema.json")["properties"]["joint"]["properties"]["method"]["anyOf"][0]["enum"];
        assert_eq!(*words, serde_json::json!(methods.names()));
    }

    #[test]
    fn cards_are_complete() {
        for method in ALL {
            let card = method.card();
            assert!(card.purpose.ends_with('.') && card.title.len() > 5, "{}", card.name);
            let effort = method.effort();
            assert!(effort.minutes > 0.0 && !effort.tools.is_empty() && !effort.wrong.is_empty(), "{}", card.name);
        }
    }
}
