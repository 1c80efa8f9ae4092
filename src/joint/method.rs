//! The contract of a way to make a threaded joint.

use super::geometry::{Geometry, Insert, InsertStep};
use super::model::{Lack, Model};
use super::need::{Lacking, Need};
use crate::book::Record;
use crate::book::view::{self, Stated};
use uom::si::f64::Length;

/// What a method takes besides screw and part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Takes<'m> {
    /// An insert with this fitting.
    pub insert: Option<&'m str>,
    /// Glue.
    pub glue: Option<Glue>,
}

impl<'m> Takes<'m> {
    /// Nothing.
    pub const NOTHING: Takes<'static> = Takes { insert: None, glue: None };
    /// An insert with this fitting, without glue.
    pub const fn insert(fitting: &'m str) -> Takes<'m> {
        Takes { insert: Some(fitting), glue: None }
    }
}

/// Which glue.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Glue {
    /// The part's own resin.
    OwnResin,
    /// An adhesive.
    Adhesive,
}

/// What a method is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct MethodCard<'m> {
    /// Word of series, answers and plans.
    pub name: &'m str,
    /// What people call it.
    pub title: &'m str,
    /// One sentence.
    pub purpose: &'m str,
    /// Id of its record; `None` of one that the program brings itself.
    pub record: Option<&'m str>,
    /// What the bench must have.
    pub needs: &'m [Lacking],
    /// What it takes.
    pub takes: Takes<'m>,
}

/// One way to make the joint of a need: the method with its insert and glue.
#[derive(Clone, Copy)]
pub struct Case<'n> {
    /// What is asked.
    pub need: &'n Need<'n>,
    /// The insert.
    pub insert: Option<&'n Record>,
    /// The glue.
    pub adhesive: Option<&'n Record>,
}

impl Case<'_> {
    /// The insert's shape; `None` when there is no insert or its record cannot be read as one.
    pub fn shape(&self) -> Option<Insert> {
        self.insert.and_then(shape)
    }
}

/// Whether a method can be used at all.
#[derive(Debug, Clone, PartialEq)]
pub enum Applies {
    /// It can.
    Yes,
    /// It cannot, and why.
    No(String),
    /// It cannot be judged without this.
    Unknown(Lack),
}

/// A geometry that cannot be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Impossible {
    /// What is wrong.
    pub message: String,
    /// The nearest right thing.
    pub help: String,
}

/// What a method costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effort<'m> {
    /// Tools.
    pub tools: &'m str,
    /// Minutes of work for one joint.
    pub minutes: f64,
    /// What can go wrong.
    pub wrong: &'m str,
}

/// How often a joint may be opened.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Life<'m> {
    /// At least.
    pub low: f64,
    /// At most; the same as at least where only that is known.
    pub high: f64,
    /// Name of the assumption behind it, or id of the method's record.
    pub origin: &'m str,
}

impl Life<'static> {
    /// As the assumption of that name says.
    pub fn of(need: &Need<'_>, name: &'static str) -> Life<'static> {
        let life = need.assumptions.get(name);
        Life { low: life.low, high: life.high, origin: name }
    }
}

/// A way to make a threaded joint.
pub trait Method: Sync {
    /// What it is.
    fn card(&self) -> MethodCard<'_>;
    /// Whether it can be used for this case.
    fn applies(&self, case: &Case<'_>) -> Applies;
    /// The shape of hole and boss.
    ///
    /// # Errors
    /// A geometry that cannot be made, with the nearest right thing.
    fn geometry(&self, case: &Case<'_>) -> Result<Geometry, Impossible>;
    /// Inputs and limit states.
    fn model<'n>(&self, case: &Case<'n>, geometry: &Geometry) -> Model<'n>;
    /// What can hurt.
    fn hazards(&self, case: &Case<'_>) -> Vec<&'static str>;
    /// What it costs.
    fn effort(&self) -> Effort<'_>;
    /// How often it may be opened.
    fn life(&self, need: &Need<'_>) -> Life<'_>;
    /// Whether it is no thread in the part but a way round one: it stands beside the answer, and leads only when named.
    fn alternative(&self) -> bool {
        false
    }
    /// Whether a wider hole is never stronger.
    fn wider_hole_is_weaker(&self) -> bool {
        self.card().takes.glue.is_none()
    }
    /// Whether its numbers are invented: then it takes part for an invented material, or where it is named.
    fn invented(&self) -> bool {
        false
    }
    /// Which of several inserts of its fitting it prefers: lower is better.
    fn prefers(&self, insert: &Insert) -> u8 {
        let _ = insert;
        0
    }
}

/// Glues tried when none is named.
const USUAL_GLUES: [&str; 2] = ["adhesive/cyanoacrylate-thick", "adhesive/epoxy-slow"];
/// The record of the part's own resin.
const OWN_RESIN: &str = "adhesive/own-resin";

/// The cases of a method for a need: one, or one for each glue tried.
pub fn cases<'n>(method: &dyn Method, need: &'n Need<'n>) -> Vec<Case<'n>> {
    let bare = Case { need, insert: None, adhesive: None };
    let takes = method.card().takes;
    let bare = Case { insert: takes.insert.and_then(|fitting| insert(method, need, fitting)), ..bare };
    let glues = match takes.glue {
        None => return vec![bare],
        Some(Glue::OwnResin) => vec![need.book.in_use(OWN_RESIN)],
        Some(Glue::Adhesive) if need.adhesive.is_some_and(|a| a.id.as_str() != OWN_RESIN) => vec![need.adhesive],
        Some(Glue::Adhesive) => USUAL_GLUES.iter().map(|id| need.book.in_use(id)).collect(),
    };
    glues.into_iter().map(|adhesive| Case { adhesive, ..bare }).collect()
}

/// The insert named, or the one the method prefers among those of the thread and fitting.
fn insert<'n>(method: &dyn Method, need: &'n Need<'n>, fitting: &str) -> Option<&'n Record> {
    if need.insert.is_some() {
        return need.insert;
    }
    let wanted = need.thread.designation();
    let fits = |r: &&Record| {
        r.current
            && r.common().thread.as_deref() == Some(&*wanted)
            && r.insert().is_some_and(|i| i.fitting.as_deref() == Some(fitting))
            && (need.invented() || !r.is_invented())
    };
    let candidates = need.book.of_role("insert").filter(fits).filter_map(|r| Some((r, shape(r)?)));
    // For an invented material its own invented inserts come first, for a real one there are none here.
    candidates.min_by_key(|(r, s)| (method.prefers(s), !r.is_invented(), r.id.clone())).map(|(r, _)| r)
}

/// The shape an insert record describes.
pub fn shape(record: &Record) -> Option<Insert> {
    let says = record.insert()?;
    let amount = |length: &Option<Stated<Length>>| length.as_ref().map(Stated::amount);
    let step = |step: &view::Step| {
        Some(InsertStep {
            diameter: amount(&step.diameter)?,
            length: amount(&step.length)?,
            form: step.form.as_deref()?.into(),
            knurl_depth: amount(&step.knurl_depth),
            knurl: step.knurl.as_deref().map(Into::into),
        })
    };
    let steps: Option<Vec<InsertStep>> = says.steps.iter().map(step).collect();
    let length = amount(&says.length)?;
    Some(Insert {
        id: Some(record.id.to_string()),
        name: record.name.to_string(),
        length,
        thread_length: amount(&says.thread_length).unwrap_or(length),
        through: says.through.unwrap_or(true),
        steps: steps.filter(|steps| !steps.is_empty())?,
    })
}

/// An insert of the right fitting is wanted and none is known.
pub fn no_insert(need: &Need<'_>, fitting: &str) -> Applies {
    Applies::Unknown(Lack {
        blocks: true,
        what: format!("a {fitting} insert for {}", need.thread.designation()),
        settle: "choose one with --insert ID, or add a record of its steps to your pack".into(),
    })
}
