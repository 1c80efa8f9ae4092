//! Yes, no, unknown: what a condition can come to, and what it looked at.

/// What would settle an unknown condition.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum MissingSort {
    /// A value no record holds: makes a gate's verdict unknown.
    Record,
    /// A use the asker did not state: listed under "say also".
    Use,
}

/// A value that is missing, and what would supply it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Missing {
    /// Record value or use.
    pub sort: MissingSort,
    /// What is missing: `tg of resin/tough`, `gap`.
    pub what: String,
    /// What would settle it: an option to give or a claim to add.
    pub settle: String,
}

/// Yes, no, or unknown with what is missing.
#[derive(Debug, Clone, PartialEq)]
pub enum Truth {
    /// It holds.
    Yes,
    /// It does not.
    No,
    /// It cannot be judged without these.
    Unknown(Vec<Missing>),
}

impl Truth {
    /// Kleene's conjunction: one no decides; else one unknown leaves it open.
    pub fn and(self, other: Truth) -> Truth {
        match (self, other) {
            (Truth::No, _) | (_, Truth::No) => Truth::No,
            (Truth::Unknown(mut a), Truth::Unknown(b)) => {
                a.extend(b);
                Truth::Unknown(a)
            }
            (Truth::Unknown(a), _) | (_, Truth::Unknown(a)) => Truth::Unknown(a),
            (Truth::Yes, Truth::Yes) => Truth::Yes,
        }
    }
    /// Kleene's disjunction: one yes decides.
    pub fn or(self, other: Truth) -> Truth {
        self.not().and(other.not()).not()
    }
    /// Kleene's negation.
    #[allow(clippy::should_implement_trait)] // the operator `!` would hide that this is three-valued
    pub fn not(self) -> Truth {
        match self {
            Truth::Yes => Truth::No,
            Truth::No => Truth::Yes,
            unknown @ Truth::Unknown(_) => unknown,
        }
    }
    /// Yes or no.
    pub fn known(b: bool) -> Truth {
        if b { Truth::Yes } else { Truth::No }
    }
}

/// A value a condition looked at.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct ReadValue {
    /// `material tg`.
    pub what: String,
    /// As written, or as given.
    pub value: String,
    /// Address of the claim, when it is one.
    pub claim: Option<String>,
}
