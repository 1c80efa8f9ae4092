//! The ways a joint can fail, one list for series, answers and plans.

use serde::Serialize;

/// A failure mode. The words are those of series records.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Mode {
    /// The thread of the part shears off.
    PartThreadShear,
    /// The thread of the screw, nut or insert shears off.
    MetalThreadShear,
    /// The screw breaks.
    ScrewBreak,
    /// The crests of the part's thread are crushed and the screw jumps.
    CrestCrush,
    /// The boss widens until the threads pass each other.
    ElasticJump,
    /// The boss bursts.
    HoopBurst,
    /// A crack runs from the roots of the thread.
    RootCrack,
    /// A cone breaks out of a brittle part.
    BreakOut,
    /// The plastic in the knurl shears off.
    KnurlShear,
    /// The plastic or the glue in a groove shears off.
    GrooveShear,
    /// The glue lets go of the metal.
    GlueToMetal,
    /// The glue lets go of the part.
    GlueToPart,
    /// The glue did not cure.
    NotCured,
    /// The gap was not filled.
    NotFilled,
    /// The plate splits.
    PlateSplit,
    /// The part yields under the head, washer or nut.
    HeadBearing,
}

impl Mode {
    /// Every mode a model can give, in the order of answers.
    pub const ALL: [Mode; 16] = [
        Mode::PartThreadShear,
        Mode::MetalThreadShear,
        Mode::ScrewBreak,
        Mode::CrestCrush,
        Mode::ElasticJump,
        Mode::HoopBurst,
        Mode::RootCrack,
        Mode::BreakOut,
        Mode::KnurlShear,
        Mode::GrooveShear,
        Mode::GlueToMetal,
        Mode::GlueToPart,
        Mode::NotCured,
        Mode::NotFilled,
        Mode::PlateSplit,
        Mode::HeadBearing,
    ];
    /// The word in records and JSON.
    pub fn word(self) -> &'static str {
        match self {
            Mode::PartThreadShear => "part-thread-shear",
            Mode::MetalThreadShear => "metal-thread-shear",
            Mode::ScrewBreak => "screw-break",
            Mode::CrestCrush => "crest-crush",
            Mode::ElasticJump => "elastic-jump",
            Mode::HoopBurst => "hoop-burst",
            Mode::RootCrack => "root-crack",
            Mode::BreakOut => "break-out",
            Mode::KnurlShear => "knurl-shear",
            Mode::GrooveShear => "groove-shear",
            Mode::GlueToMetal => "glue-to-metal",
            Mode::GlueToPart => "glue-to-part",
            Mode::NotCured => "not-cured",
            Mode::NotFilled => "not-filled",
            Mode::PlateSplit => "plate-split",
            Mode::HeadBearing => "head-bearing",
        }
    }
    /// The words on screen, those of testing and joining (of bonds: ISO 10365).
    pub fn text(self) -> &'static str {
        match self {
            Mode::PartThreadShear => "internal thread stripping",
            Mode::MetalThreadShear => "stripping of the metal thread",
            Mode::ScrewBreak => "fracture of the screw",
            Mode::CrestCrush => "thread crests crushed (screw disengages)",
            Mode::ElasticJump => "thread disengagement by elastic expansion",
            Mode::HoopBurst => "boss splits (hoop stress)",
            Mode::RootCrack => "crack from the thread root",
            Mode::BreakOut => "cone pull-out",
            Mode::KnurlShear => "shear of the plastic in the knurl",
            Mode::GrooveShear => "shear in the groove",
            Mode::GlueToMetal => "adhesive failure at the insert",
            Mode::GlueToPart => "adhesive failure at the part",
            Mode::NotCured => "adhesive not cured",
            Mode::NotFilled => "gap not filled",
            Mode::PlateSplit => "plate splits",
            Mode::HeadBearing => "bearing failure under the head or nut",
        }
    }
    /// Two or three words for a row of a table.
    pub fn short(self) -> &'static str {
        match self {
            Mode::PartThreadShear => "stripping",
            Mode::MetalThreadShear => "metal thread strips",
            Mode::ScrewBreak => "screw breaks",
            Mode::CrestCrush => "crests crush",
            Mode::ElasticJump => "disengages",
            Mode::HoopBurst => "boss splits",
            Mode::RootCrack => "root crack",
            Mode::BreakOut => "cone pull-out",
            Mode::KnurlShear => "knurl shear",
            Mode::GrooveShear => "groove shear",
            Mode::GlueToMetal => "bond to insert",
            Mode::GlueToPart => "bond to part",
            Mode::NotCured => "not cured",
            Mode::NotFilled => "gap not filled",
            Mode::PlateSplit => "plate splits",
            Mode::HeadBearing => "bearing failure",
        }
    }
    /// The mode of a word.
    pub fn from_word(word: &str) -> Option<Mode> {
        Mode::ALL.into_iter().find(|m| m.word() == word)
    }
    /// Whether metal fails: such a state is never biased by series of polymers.
    pub fn is_metal(self) -> bool {
        matches!(self, Mode::MetalThreadShear | Mode::ScrewBreak)
    }
    /// Whether glue fails.
    pub fn is_glue(self) -> bool {
        matches!(self, Mode::GlueToMetal | Mode::GlueToPart | Mode::NotCured | Mode::NotFilled)
    }
}

impl Serialize for Mode {
    fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.serialize_str(self.word())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_those_of_the_series_schema() {
        let schema: serde_json::Value = serde_json::from_str(include_str!("../../schemas/series.schema.json")).unwrap();
        let item = &schema["properties"]["measurements"]["items"]["properties"]["mode"]["enum"];
        let words: Vec<&str> = item.as_array().unwrap().iter().filter_map(|w| w.as_str()).collect();
        for mode in Mode::ALL {
            assert!(words.contains(&mode.word()), "{} is no word of the schema", mode.word());
            assert_eq!(Mode::from_word(mode.word()), Some(mode));
        }
    }
}
