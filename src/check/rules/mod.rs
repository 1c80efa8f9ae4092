//! Every finding that `check` can give, with its documentation. `why NAME` prints it.

mod claims;
mod documented;
mod methods;
mod packs;
mod profile;
mod quantity;
mod schema;

pub use documented::Doc;

use crate::finding::{Finding, Severity};

const TABLES: [&[Doc]; 6] = [profile::RULES, quantity::RULES, schema::RULES, claims::RULES, packs::RULES, methods::RULES];

/// All documented findings, sorted by name.
#[must_use]
pub fn all() -> Vec<&'static Doc> {
    let mut all: Vec<&Doc> = TABLES.iter().flat_map(|table| table.iter()).collect();
    all.sort_by_key(|doc| doc.name);
    all
}

/// The documentation of a finding.
#[must_use]
pub fn doc(name: &str) -> Option<&'static Doc> {
    TABLES.iter().flat_map(|table| table.iter()).find(|doc| doc.name == name)
}

/// How much a finding matters; a name without documentation blocks, so that it cannot pass unseen.
#[must_use]
pub fn severity(name: &str) -> Severity {
    doc(name).map_or(Severity::Error, |doc| doc.severity)
}

/// A finding on a whole file.
pub(super) fn finding(rule: &'static str, file: &str, message: impl Into<String>, help: impl Into<String>) -> Finding {
    Finding::new(rule, severity(rule), file, message).help(help)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Texts of the stages whose findings are documented here.
    const SOURCES: [&str; 18] = [
        include_str!("../curves.rs"),
        include_str!("../methods.rs"),
        include_str!("../modules.rs"),
        include_str!("../limits.rs"),
        include_str!("../../read/build.rs"),
        include_str!("../../read/characters.rs"),
        include_str!("../../read/file.rs"),
        include_str!("../../read/scalar.rs"),
        include_str!("../../read/source.rs"),
        include_str!("../../quantity/parse.rs"),
        include_str!("../file_findings.rs"),
        include_str!("../packfile.rs"),
        include_str!("../packs.rs"),
        include_str!("../record.rs"),
        include_str!("../run.rs"),
        include_str!("../setup.rs"),
        include_str!("../translate.rs"),
        include_str!("../../read/mod.rs"),
    ];

    #[test]
    fn names_are_unique_words_and_every_text_is_there() {
        let all = all();
        for pair in all.windows(2) {
            assert_ne!(pair[0].name, pair[1].name);
        }
        for doc in all {
            assert!(
                doc.name.split('-').all(|part| !part.is_empty() && part.bytes().all(|b| b.is_ascii_lowercase() || b == b'8')),
                "{}",
                doc.name
            );
            for text in [doc.what, doc.why, doc.wrong, doc.right] {
                assert!(text.len() > 2, "{}", doc.name);
            }
            assert!(doc.what.ends_with('.') && doc.why.ends_with('.'), "{}", doc.name);
            assert_ne!(doc.wrong, doc.right, "{}", doc.name);
        }
    }

    #[test]
    fn every_documented_name_is_used_and_every_used_name_documented() {
        let code = SOURCES.concat();
        for doc in all() {
            assert!(code.contains(&format!("\"{}\"", doc.name)), "nothing gives {}", doc.name);
        }
        // Names in the code are quoted words with a hyphen right where a finding is made.
        for mark in [
            "fault(\n                    \"",
            "fault(\n                \"",
            "fault(\n            \"",
            "fault(\"",
            "find(\"",
            "find(\n",
            "find_whole(\"",
            "finding(\"",
            "refused(\"",
            "name: \"",
            "Wrong(\"",
            "put(\"",
        ] {
            for piece in code.split(mark).skip(1) {
                let name = piece.trim_start().trim_start_matches('"').split('"').next().unwrap_or_default();
                let is_name = name.contains('-') && name.bytes().all(|b| b.is_ascii_lowercase() || b == b'-' || b == b'8');
                assert!(!is_name || doc(name).is_some(), "{name} has no documentation");
            }
        }
    }
}
