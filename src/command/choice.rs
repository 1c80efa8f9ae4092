//! Closed lists of words as values of options: the stages below know no argument parser.

use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};
use gripbook::joint::need::{Axis, Consequence, Lacking};
use gripbook::series::plan::ladder::HoleEnd;
use gripbook::suit::ServiceConditions;

/// A value that is one of a closed list.
pub trait Choice: Copy + Send + Sync + 'static {
    /// All of them, in the order of the help.
    const ALL: &'static [Self];
    /// The word of the option.
    fn word(self) -> &'static str;
    /// What it means, for the help.
    fn means(self) -> &'static str;
}

/// Reads one of the list; the help shows all with their meanings.
pub fn choice<T: Choice>() -> impl TypedValueParser<Value = T> {
    let all = T::ALL.iter().map(|value| PossibleValue::new(value.word()).help(value.means()));
    PossibleValuesParser::new(all)
        .try_map(|typed| T::ALL.iter().copied().find(|value| value.word() == typed).ok_or("no such word"))
}

impl Choice for Axis {
    const ALL: &'static [Self] = &[Axis::AlongBuild, Axis::AcrossBuild, Axis::Unknown];
    fn word(self) -> &'static str {
        self.word()
    }
    fn means(self) -> &'static str {
        match self {
            Axis::AlongBuild => "The screw stands along the build direction",
            Axis::AcrossBuild => "The screw lies across it",
            Axis::Unknown => "Not known",
        }
    }
}

impl Choice for Consequence {
    const ALL: &'static [Self] = &[Consequence::Nuisance, Consequence::Damage, Consequence::Injury];
    fn word(self) -> &'static str {
        self.word()
    }
    fn means(self) -> &'static str {
        match self {
            Consequence::Nuisance => "Somebody fetches another screw",
            Consequence::Damage => "Something is damaged",
            Consequence::Injury => "Somebody may be hurt",
        }
    }
}

impl Choice for Lacking {
    const ALL: &'static [Self] = &[Lacking::Heat, Lacking::Glue, Lacking::Tap, Lacking::Insert];
    fn word(self) -> &'static str {
        self.word()
    }
    fn means(self) -> &'static str {
        match self {
            Lacking::Heat => "No hot iron",
            Lacking::Glue => "No glue",
            Lacking::Tap => "No tap",
            Lacking::Insert => "No inserts",
        }
    }
}

impl Choice for ServiceConditions {
    const ALL: &'static [Self] = &[
        ServiceConditions::Dry,
        ServiceConditions::Damp,
        ServiceConditions::Wet,
        ServiceConditions::Immersed,
        ServiceConditions::Sun,
    ];
    fn word(self) -> &'static str {
        self.word()
    }
    fn means(self) -> &'static str {
        match self {
            ServiceConditions::Dry => "Indoors, dry",
            ServiceConditions::Damp => "Damp air, condensation",
            ServiceConditions::Wet => "Rain, splash",
            ServiceConditions::Immersed => "Under water",
            ServiceConditions::Sun => "Sunlight",
        }
    }
}

impl Choice for HoleEnd {
    const ALL: &'static [Self] = &[HoleEnd::Blind, HoleEnd::Through];
    fn word(self) -> &'static str {
        self.word()
    }
    fn means(self) -> &'static str {
        match self {
            HoleEnd::Blind => "Closed at the bottom",
            HoleEnd::Through => "Open on both sides",
        }
    }
}
