//! Lengths that a record of a method may name: of thread, screw, nut and insert, of the joint as shaped, and its own.

use crate::book::view::method::{NamedSize, Size};
use crate::joint::distribution::Law;
use crate::joint::fact::ClaimUse;
use crate::joint::geometry::Geometry;
use crate::joint::limit_states::torque;
use crate::joint::method::Case;
use crate::joint::model::{InputOrigin, Lack, Model};
use crate::joint::nut;
use crate::quantity::{Measure, Quantity};
use uom::si::f64::Length;

/// The lengths of one case.
pub(super) struct Sizes<'a> {
    record: &'a str,
    case: &'a Case<'a>,
    geometry: Option<&'a Geometry>,
    /// Of the record itself: name, length, origin.
    own: Vec<(&'a str, Length, InputOrigin)>,
}

impl<'a> Sizes<'a> {
    /// Works out the sizes of a record, each from those before it.
    ///
    /// # Errors
    /// A length that this case does not have.
    pub fn of(
        record: &'a str,
        named: &'a [NamedSize],
        case: &'a Case<'a>,
        geometry: Option<&'a Geometry>,
    ) -> Result<Sizes<'a>, Lack> {
        let mut sizes = Sizes { record, case, geometry, own: Vec::new() };
        for size in named {
            let length = sizes.length(&size.size)?;
            let origin = InputOrigin::Method { record: record.into(), says: size.origin.to_string() };
            sizes.own.push((&size.name, length, origin));
        }
        Ok(sizes)
    }
    /// A size in this case.
    ///
    /// # Errors
    /// A length that this case does not have.
    pub fn length(&self, size: &Size) -> Result<Length, Lack> {
        let base = match (&size.value, size.of.as_deref()) {
            (Some(value), _) => value.amount(),
            (None, Some(word)) => self.named(word)?,
            (None, None) => Length::from_si(0.0),
        };
        let plus = size.plus.as_ref().map_or(Length::from_si(0.0), |plus| plus.amount());
        Ok(base * size.times.unwrap_or(1.0) + plus)
    }
    /// The length of a word.
    ///
    /// # Errors
    /// A length that this case does not have.
    pub fn named(&self, word: &str) -> Result<Length, Lack> {
        let own = self.own.iter().find(|(name, ..)| *name == word).map(|(_, length, _)| *length);
        own.or_else(|| self.of_parts(word)).or_else(|| self.of_joint(word)).ok_or_else(|| Lack {
            blocks: true,
            what: format!("the length `{word}` of this joint"),
            settle: "another thread or insert, or a record of the part it belongs to".into(),
        })
    }
    fn of_parts(&self, word: &str) -> Option<Length> {
        let need = self.case.need;
        let thread = &need.thread;
        Some(match word {
            "thread_diameter" => thread.major(),
            "pitch" => thread.pitch(),
            "pitch_diameter" => thread.pitch_diameter(),
            "minor_diameter" => thread.minor_diameter(),
            "length" => need.length,
            "tap_drill" => thread.length(thread.tap),
            "clearance_hole" => torque::clearance(thread),
            "head_diameter" => torque::head_of(need),
            "washer_diameter" => torque::head_of(need) * need.assumptions.value("washer_over_head"),
            "nut_flats" => nut::usual(need)?.flats,
            "nut_height" => nut::usual(need)?.height,
            "insert_diameter" => self.case.shape()?.largest(),
            "insert_length" => self.case.shape()?.length,
            _ => return None,
        })
    }
    fn of_joint(&self, word: &str) -> Option<Length> {
        let geometry = self.geometry?;
        // The widest hole that the limits allow leaves the least.
        let hole = geometry.hole.first()?.finished.high;
        Some(match word {
            "hole_diameter" => hole,
            "boss_diameter" => geometry.boss,
            "wall" => (geometry.boss - hole) * 0.5,
            "depth" => geometry.depth,
            "engaged_length" => geometry.thread.engaged,
            _ => return None,
        })
    }
    /// Notes in a model the input behind a word, where it is a size of the record's own.
    pub fn input(&self, word: &str, length: Length, model: &mut Model<'_>) -> Option<usize> {
        let (.., origin) = self.own.iter().find(|(name, ..)| *name == word)?;
        let name = format!("{} {word}", self.record);
        // A size follows thread and insert: another case has another one.
        Some(model.measured(format!("{}: {name}", model.case), Law::Fixed(length.si()), origin.clone(), false, Quantity::Length))
    }
}

/// Claims and assumptions behind the words of a case that are used.
pub(super) fn rests_on(word: &str, model: &mut Model<'_>) {
    match word {
        "nut_flats" | "nut_height" => {
            let claims: Vec<ClaimUse> = nut::usual(model.need).map_or_else(Vec::new, |nut| nut.claims);
            model.claims_used(&claims);
        }
        "washer_diameter" => {
            model.assumptions.insert("washer_over_head");
        }
        "head_diameter" if model.need.screw.is_none() => {
            model.caution("the diameter of the head is recalled from its standard, not read there: measure yours");
        }
        _ => {}
    }
}
