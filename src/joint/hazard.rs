//! What can hurt at the bench, said once: the methods of the program name these texts, those of records the words beside them.

use super::method::Case;

/// Drilling and tapping.
pub const CHIPS: &str =
    "drilling and tapping throw chips: wear eye protection; avoid breathing dust of printed resin and skin contact with it";
/// A hot iron.
pub const HEAT: &str = "a hot iron burns skin; molten plastic gives off fumes: ventilate";
/// Pressing in.
pub const PRESS: &str = "a part that bursts under the press throws fragments: wear eye protection";
/// A brittle part under a screw.
pub const SPLINTERS: &str = "a brittle part may splinter: wear eye protection";
/// Uncured resin.
const RESIN: &str = "uncured resin left in the thread irritates the skin: wear gloves";
/// A part under a nut.
const FRAGMENTS: &str = "a part that splits under a nut throws fragments: wear eye protection";
/// Sawn or cut metal.
const EDGES: &str = "cut metal has sharp edges: deburr it, and wear gloves while you do";

/// The words of records; `glue` says what its family does.
pub const WORDS: [&str; 8] = ["glue", "fragments", "chips", "heat", "edges", "press", "splinters", "resin"];

/// What a word says of a case.
pub fn said(word: &str, case: &Case<'_>) -> Vec<&'static str> {
    match word {
        "glue" => of_glue(case),
        "fragments" => vec![FRAGMENTS],
        "chips" => vec![CHIPS],
        "heat" => vec![HEAT],
        "edges" => vec![EDGES],
        "press" => vec![PRESS],
        "splinters" => vec![SPLINTERS],
        "resin" => resin(case),
        _ => Vec::new(),
    }
}

/// Uncured resin in a thread, where the part is printed of one.
pub fn resin(case: &Case<'_>) -> Vec<&'static str> {
    case.need.is("photopolymer").then_some(RESIN).into_iter().collect()
}

/// What the glue of a case can do, by its family.
fn of_glue(case: &Case<'_>) -> Vec<&'static str> {
    let is = |family: &str| case.adhesive.is_some_and(|a| case.need.book.is_family(&a.family, family));
    let by_family = [
        (is("cyanoacrylate"), "cyanoacrylate bonds skin, and on cotton it can burn; wear eye protection near activator or spray"),
        (is("epoxy"), "uncured epoxy sensitises the skin: wear gloves"),
        (is("photopolymer"), "uncured resin sensitises the skin: wear gloves; never look into a curing lamp"),
        (is("methacrylate"), "acrylic glue gives off vapour: ventilate, and keep flames away"),
    ];
    let mut hazards: Vec<&'static str> = by_family.into_iter().filter(|(is, _)| *is).map(|(_, text)| text).collect();
    hazards.push("follow the data sheet of the glue; it takes precedence over this page");
    hazards
}
