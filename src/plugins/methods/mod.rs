//! The ways to make a threaded joint. Adding one: a folder here, and its `mod` line.

use crate::joint::method::Method;

mod captive_nut;
mod cut_thread;
mod direct_screw;
mod heat_set_insert;
mod insert_glued_plain;
mod insert_glued_stepped;
mod insert_glued_undercut;
mod insert_own_resin;
mod press_fit_insert;
mod printed_thread;
mod through_bolt;

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

    /// The build puts the names of the folders where the schema says `registered`.
    #[test]
    fn the_words_of_series_are_the_names_of_the_methods() {
        let names: Vec<&str> = ALL.iter().map(|m| m.card().name).collect();
        let (_, text) = crate::book::kinds::built_in_schemas().iter().find(|(n, _)| *n == "series.schema.json").unwrap();
        let schema: serde_json::Value = serde_json::from_str(text).unwrap();
        assert_eq!(schema["properties"]["joint"]["properties"]["method"]["enum"], serde_json::json!(names));
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
