//! The closed word lists of failure modes and directions, with what they mean.

/// A word with its meaning.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Word {
    /// The word in records and JSON.
    pub word: &'static str,
    /// What it means, for people.
    pub means: &'static str,
}

const fn word(word: &'static str, means: &'static str) -> Word {
    Word { word, means }
}

/// Ways a joint fails.
pub const MODES: &[Word] = &[
    word("part-thread-shear", "internal thread stripped"),
    word("metal-thread-shear", "thread of the screw or insert sheared off"),
    word("screw-break", "screw broke"),
    word("crest-crush", "crests crushed, thread pulled through"),
    word("elastic-jump", "thread disengaged by elastic expansion"),
    word("hoop-burst", "boss split lengthwise"),
    word("root-crack", "crack from the thread root"),
    word("break-out", "cone of material broke out"),
    word("knurl-shear", "material sheared at the knurl"),
    word("groove-shear", "material sheared at the groove"),
    word("glue", "cohesive failure of the glue"),
    word("glue-to-metal", "adhesive failure at the metal"),
    word("glue-to-part", "adhesive failure at the part"),
    word("not-cured", "glue not cured"),
    word("not-filled", "glue did not fill the gap"),
    word("substrate", "part failed beside the bond (substrate failure)"),
    word("plate-split", "plate or block split"),
    word("strip", "thread stripped by torque"),
    word("torque-out", "insert turned in the part"),
    word("jack-out", "insert jacked out by tightening"),
    word("head-bearing", "bearing failure under the head"),
    word("machine-limit", "machine limit reached, specimen held"),
    word("unknown", "failure mode not recorded"),
];

/// What to write in the place of a word that is no failure mode.
pub fn mode_help(typed: &str) -> String {
    let words: Vec<&str> = MODES.iter().map(|w| w.word).collect();
    let close = crate::check::suggestion(&crate::check::similar(typed, &words)).map_or_else(String::new, |text| text + " ");
    format!("{close}modes: {}", words.join(", "))
}

/// Directions of load.
pub const DIRECTIONS: &[Word] =
    &[word("out", "out of the mouth"), word("through", "through the part"), word("push", "pushed through")];

/// What a specimen does that lies above a lower bound: `hold more`. `None` where a lower bound promises nothing, as for a
/// driving torque or the diameter of a hole.
pub fn above(quantity: &str) -> Option<&'static str> {
    match quantity {
        "cycles" => Some("last longer"),
        "preload_left" | "strength_kept" => Some("keep more"),
        "diameter" | "time" | "count" | "share" | "value" => Some("lie above it"),
        "drive_torque"
        | "hole_deviation"
        | "hole_diameter"
        | "size_deviation"
        | "preload_lost"
        | "share_split"
        | "load_change"
        | "friction"
        | "poisson_ratio"
        | "measured_over_predicted"
        | "prediction_error"
        | "strength_ratio" => None,
        "stiffness" | "tensile_modulus" | "elongation_at_break" => Some("have more"),
        _ => Some("hold more"),
    }
}

/// Meaning of a failure mode; the word itself where it is none of the list.
pub fn mode_means(mode: &str) -> &str {
    MODES.iter().find(|w| w.word == mode).map_or(mode, |w| w.means)
}

/// Whether a word is a failure mode.
pub fn is_mode(mode: &str) -> bool {
    MODES.iter().any(|w| w.word == mode)
}

/// What is measured, as people say it: `pull_out_load` → `pull-out load`.
pub fn quantity_title(word: &str) -> String {
    match word {
        "pull_out_load" => "pull-out load".into(),
        "push_out_load" => "push-out load".into(),
        "torque_out" => "torque-out torque".into(),
        "drive_torque" => "driving torque".into(),
        "strip_torque" => "stripping torque".into(),
        "pull_off_strength" => "pull-off strength".into(),
        "lap_shear_strength" => "lap shear strength".into(),
        other => other.replace('_', " "),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::Value;
    use std::collections::BTreeSet;

    fn enum_of<'v>(schema: &'v Value, pointer: &str) -> BTreeSet<&'v str> {
        let list = schema.pointer(pointer).and_then(Value::as_array).unwrap_or_else(|| panic!("{pointer}"));
        list.iter().filter_map(Value::as_str).collect()
    }

    fn words(list: &'static [Word]) -> BTreeSet<&'static str> {
        list.iter().map(|w| w.word).collect()
    }

    /// The schema of the series knows the same words, in every place where it lists them.
    #[test]
    fn words_are_those_of_the_schema() {
        let schema: Value = serde_json::from_str(include_str!("../../schemas/series.schema.json")).unwrap();
        assert_eq!(enum_of(&schema, "/properties/test/properties/direction/enum"), words(DIRECTIONS));
        let measurement = "/properties/measurements/items/properties";
        for place in ["mode/enum", "modes/propertyNames/enum", "specimens/items/properties/mode/enum"] {
            assert_eq!(enum_of(&schema, &format!("{measurement}/{place}")), words(MODES), "{place}");
        }
    }
}
