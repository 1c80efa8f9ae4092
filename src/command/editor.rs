//! The line that tells an editor the schema of a record, and the schemas it names.

use super::save::Batch;
use gripbook::book::kinds;
use std::path::{Path, PathBuf};

/// Where schemas stand, seen from a pack: its own, those beside it, and those put into it for editors only. The dot keeps the
/// last out of the pack's content.
const WAYS: [&str; 4] = ["schemas", "../schemas", "../../schemas", ".schemas"];
const IN_THE_PACK: &str = WAYS[3];

/// What an editor needs for a record of a pack.
#[derive(Debug, Clone, Default)]
pub struct Editor {
    /// First line of the record; absent where no schema has that name.
    pub line: Option<String>,
    /// Schemas that are to be put into the pack, so that the line leads somewhere.
    missing: Vec<(PathBuf, &'static str)>,
}

impl Editor {
    /// For records of a schema file, one folder below a pack.
    pub fn of(pack: &Path, file: &str) -> Self {
        Editor::below(pack, file, "../")
    }
    /// For the pack's own description.
    pub fn of_pack(pack: &Path) -> Self {
        Editor::below(pack, "pack.schema.json", "")
    }
    fn below(pack: &Path, file: &str, up: &str) -> Self {
        let line = |way: &str| Some(format!("# yaml-language-server: $schema={up}{way}/{file}"));
        if let Some(way) = WAYS.iter().find(|way| pack.join(way).join(file).is_file()) {
            return Editor { line: line(way), missing: Vec::new() };
        }
        let all = kinds::built_in_schemas();
        if !all.iter().any(|(name, _)| *name == file) {
            return Editor::default();
        }
        let folder = pack.join(IN_THE_PACK);
        let missing = all.iter().map(|(name, text)| (folder.join(name), *text)).filter(|(path, _)| !path.exists()).collect();
        Editor { line: line(IN_THE_PACK), missing }
    }
    /// Adds the schemas that are missing to what is written.
    pub fn add_to(&self, files: &mut Batch) {
        self.missing.iter().for_each(|(path, text)| files.create(path, *text));
    }
    /// Whether schemas are put into the pack.
    pub fn brings_schemas(&self) -> bool {
        !self.missing.is_empty()
    }
}
