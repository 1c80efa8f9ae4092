//! What is asked: material, thread, length, load, and the use the joint is put to.

use super::assumption::Assumptions;
use crate::book::{Book, Record};
use crate::mechanics::thread::Thread;
use crate::quantity::{Measure, Quantity, UnitId};
use crate::suit::{Rule, ServiceConditions};
use std::collections::BTreeSet;
use uom::si::f64::{Force, Length, RadiantExposure, ThermodynamicTemperature, Time};

/// How the load comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Duration {
    /// A short pull of about a minute.
    Short,
    /// It stays.
    Held,
    /// It comes and goes.
    Repeated,
    /// It strikes.
    Shock,
}

impl Duration {
    /// The word of the option.
    pub fn word(self) -> &'static str {
        match self {
            Duration::Short => "short",
            Duration::Held => "held",
            Duration::Repeated => "repeated",
            Duration::Shock => "shock",
        }
    }
}

/// How the joint lies to the build direction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Axis {
    /// The screw stands along the build direction.
    AlongBuild,
    /// The screw lies across it.
    AcrossBuild,
    /// Not known.
    Unknown,
}

impl Axis {
    /// The word of the option.
    pub fn word(self) -> &'static str {
        match self {
            Axis::AlongBuild => "along-build",
            Axis::AcrossBuild => "across-build",
            Axis::Unknown => "unknown",
        }
    }
}

/// What a failure does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Consequence {
    /// Somebody fetches another screw.
    Nuisance,
    /// Something is damaged.
    Damage,
    /// Somebody may be hurt.
    Injury,
}

impl Consequence {
    /// The word of the option.
    pub fn word(self) -> &'static str {
        match self {
            Consequence::Nuisance => "nuisance",
            Consequence::Damage => "damage",
            Consequence::Injury => "injury",
        }
    }
}

/// What the bench lacks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lacking {
    /// No hot iron.
    Heat,
    /// No glue.
    Glue,
    /// No tap.
    Tap,
    /// No inserts.
    Insert,
}

impl Lacking {
    /// All of them.
    pub const ALL: [Lacking; 4] = [Lacking::Heat, Lacking::Glue, Lacking::Tap, Lacking::Insert];
    /// The one of a word.
    pub fn from_word(word: &str) -> Option<Lacking> {
        Lacking::ALL.into_iter().find(|one| one.word() == word)
    }
    /// The word of the option.
    pub fn word(self) -> &'static str {
        match self {
            Lacking::Heat => "heat",
            Lacking::Glue => "glue",
            Lacking::Tap => "tap",
            Lacking::Insert => "insert",
        }
    }
}

/// Room temperature, in K: the standard atmosphere of tests on plastics (ISO 291).
pub const ROOM: f64 = 273.15 + 23.0;
/// How far above it still counts as room temperature where nothing says how a record stands warmth (ISO 291, class 2), in K.
pub const ROOM_TOLERANCE: f64 = 2.0;

/// The use of the joint.
#[derive(Debug, Clone, PartialEq)]
pub struct Use {
    /// Hottest temperature.
    pub hottest: Option<ThermodynamicTemperature>,
    /// Coldest temperature.
    pub coldest: Option<ThermodynamicTemperature>,
    /// How the load comes.
    pub duration: Duration,
    /// How long a load that is held stays, where stated.
    pub held: Option<Time>,
    /// Where the joint lives.
    pub place: Option<ServiceConditions>,
    /// How it lies to the build direction.
    pub axis: Axis,
    /// Perimeters round the hole.
    pub perimeters: Option<u32>,
    /// Share of the inside that is filled.
    pub infill: Option<f64>,
    /// Openings and closings wanted.
    pub cycles: Option<u32>,
    /// What a failure does.
    pub consequence: Consequence,
}

impl Default for Use {
    fn default() -> Self {
        Use {
            hottest: None,
            coldest: None,
            duration: Duration::Short,
            held: None,
            place: None,
            axis: Axis::Unknown,
            perimeters: None,
            infill: None,
            cycles: None,
            consequence: Consequence::Damage,
        }
    }
}

/// What is asked.
#[derive(Clone)]
pub struct Need<'b> {
    /// The book the records come from.
    pub book: &'b Book,
    /// Rules of glue and material.
    pub rules: &'b [Rule],
    /// The material of the part.
    pub material: &'b Record,
    /// Whether that material only stands in for any: then no series is its own.
    pub any_material: bool,
    /// The insert, when named.
    pub insert: Option<&'b Record>,
    /// The adhesive, when named.
    pub adhesive: Option<&'b Record>,
    /// The screw, when named.
    pub screw: Option<&'b Record>,
    /// The process the part is printed with, when named.
    pub process: Option<&'b Record>,
    /// The thread.
    pub thread: Thread,
    /// Length over which the screw engages.
    pub length: Length,
    /// Load it must hold.
    pub load: Option<Force>,
    /// The unit it was asked in.
    pub load_unit: UnitId,
    /// Factor on the load.
    pub factor: f64,
    /// Boss diameter.
    pub boss: Option<Length>,
    /// Distance from the axis to the nearest free edge.
    pub edge: Option<Length>,
    /// Whether the hole goes through.
    pub through: bool,
    /// Finished diameter of the hole.
    pub hole_size: Option<Length>,
    /// Depth of the hole.
    pub depth: Option<Length>,
    /// Glue gap on each side.
    pub gap: Option<Length>,
    /// Radial growth of a printed thread.
    pub offset: Option<Length>,
    /// The use.
    pub using: Use,
    /// What the bench lacks.
    pub without: BTreeSet<Lacking>,
    /// Steps declared done.
    pub steps: BTreeSet<&'static str>,
    /// Whether surfaces stay unprepared.
    pub unprepared: bool,
    /// Light dose at the part.
    pub dose: Option<RadiantExposure>,
    /// Wavelength of the lamp.
    pub wavelength: Option<Length>,
    /// Wall between lamp and glue.
    pub wall: Option<Length>,
    /// Assumptions with overrides.
    pub assumptions: Assumptions,
    /// Seed of the draws.
    pub seed: u64,
    /// Number of draws.
    pub draws: usize,
    /// Whether the load of each limit state is wanted beside that of the joint: it takes memory and time to keep them.
    pub limit_states: bool,
}

impl<'b> Need<'b> {
    /// A need with nothing but a material, a thread and a length.
    pub fn new(book: &'b Book, rules: &'b [Rule], material: &'b Record, thread: Thread, length: Length) -> Self {
        Need {
            book,
            rules,
            material,
            any_material: false,
            insert: None,
            adhesive: None,
            screw: None,
            process: None,
            thread,
            length,
            load: None,
            load_unit: Quantity::Force.canonical(),
            factor: 1.0,
            boss: None,
            edge: None,
            through: true,
            hole_size: None,
            depth: None,
            gap: None,
            offset: None,
            using: Use::default(),
            without: BTreeSet::new(),
            steps: BTreeSet::new(),
            unprepared: false,
            dose: None,
            wavelength: None,
            wall: None,
            assumptions: Assumptions::default(),
            seed: 1,
            draws: 20_000,
            limit_states: true,
        }
    }
    /// Whether the material is invented: only then may invented records take part unnamed.
    pub fn invented(&self) -> bool {
        self.material.invented()
    }
    /// Whether any subject named is invented.
    pub fn any_invented(&self) -> bool {
        let claimed = |r: &Record| r.invented() || r.is_invented();
        [Some(self.material), self.insert, self.adhesive, self.screw, self.process].into_iter().flatten().any(claimed)
    }
    /// Hottest temperature in use in K; room temperature where not stated.
    pub fn hottest(&self) -> f64 {
        self.using.hottest.map_or(ROOM, |t| t.si()).max(ROOM)
    }
    /// Whether the material is of that family.
    pub fn is(&self, family: &str) -> bool {
        self.book.is_family(&self.material.family, family)
    }
    /// Whether the part does not melt.
    pub fn thermoset(&self) -> Option<bool> {
        let family = match () {
            () if self.is("thermoset") => Some(true),
            () if self.is("thermoplastic") => Some(false),
            () => None,
        };
        yes_no(self.material, "thermoset", self.invented()).or(family)
    }
    /// Whether the part breaks without yielding much: cross-linked parts that are no rubber, and glassy, stiff thermoplastics do.
    pub fn brittle(&self) -> bool {
        (self.thermoset() == Some(true) && !self.is("photopolymer-elastomer")) || ["ps", "pmma", "san"].iter().any(|f| self.is(f))
    }
}

/// A yes/no fact of a record, when a claim in standing states it.
pub fn yes_no(record: &Record, property: &str, invented: bool) -> Option<bool> {
    use crate::book::{Basis, Value};
    let usable = |c: &&crate::book::Claim| c.in_use() && (invented || c.basis != Basis::Invented);
    record.claims(property).iter().filter(usable).find_map(|c| match c.value {
        Value::YesNo(b) => Some(b),
        _ => None,
    })
}
