//! Loads of like joints in one measure, so that series of different sizes can be held against each other.
//!
//! A load goes with diameter times length, a torque with the third power of the diameter (shear of a cylinder, equilibrium).
//! Where a source leaves a size out, only joints of the same stated size are alike.

use super::series::{MeasurementAt, SeriesAt};
use crate::book::Basis;
use crate::book::Book;
use crate::book::view::Stated;
use crate::quantity::{self, Quantity};
use crate::statistics::summary::median;
use std::collections::HashMap;
use uom::si::f64::Length;

/// A factor between a wrong and a right number, and the mix-up it comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mixed {
    /// As it is told.
    pub text: &'static str,
    /// The factor, above 1.
    pub factor: f64,
}

/// Mix-ups that happen on a bench: exact definitions, but for the last.
pub const MIXED: [Mixed; 5] = [
    Mixed { text: "2.2046: pounds and kilograms exchanged, on the display or on the sheet", factor: 2.204_622_6 },
    Mixed { text: "4.448: lbf and N exchanged", factor: 4.448_221_6 },
    Mixed { text: "9.80665: kgf and N exchanged", factor: 9.806_65 },
    Mixed { text: "25.4: inch and mm exchanged", factor: 25.4 },
    Mixed { text: "1000: N and kN, or N·mm and N·m, exchanged", factor: 1000.0 },
];

/// Fewer like series say nothing.
const FEWEST: usize = 3;
/// Series that agree better than this do not make the next one suspect.
const LEAST_SPREAD: f64 = 0.1;
/// Nearer than this to its peers nothing is suspect: two batches may differ so much.
const LEAST_OFF: f64 = 0.588; // ln 1.8
/// How near to a factor the distance must come, as a logarithm.
const NEAR: (f64, f64) = (0.1, 0.3);

/// Loads of all series in use.
#[derive(Debug, Default)]
pub struct Loads<'a> {
    groups: HashMap<String, Vec<Load<'a>>>,
}

#[derive(Debug)]
struct Load<'a> {
    series: &'a str,
    source: Option<&'a str>,
    /// Logarithm of the load in the measure of its group.
    log: f64,
}

/// A series that stands off its peers by the factor of a mix-up.
#[derive(Debug, Clone, PartialEq)]
pub struct Off {
    /// Its load over that of its peers.
    pub ratio: f64,
    /// How many like series.
    pub peers: usize,
    /// The mix-ups that explain it, nearest first.
    pub ways: Vec<Mixed>,
}

impl<'a> Loads<'a> {
    /// The loads of a book.
    pub fn of(book: &'a Book) -> Self {
        let mut groups: HashMap<String, Vec<Load<'a>>> = HashMap::new();
        for record in book.of_kind("series") {
            let measurements = SeriesAt::of(record, book).map(SeriesAt::measurements).unwrap_or_default();
            for (m, log) in measurements.iter().filter(|m| m.in_use).filter_map(|m| Some((m, log(m)?))) {
                let load = Load { series: record.id.as_str(), source: m.series.record.common().source.as_deref(), log };
                groups.entry(group(m)).or_default().push(load);
            }
        }
        Loads { groups }
    }
    /// How far a measurement is off like ones, where a mix-up of units explains it.
    pub fn off(&self, m: &MeasurementAt<'_>) -> Option<Off> {
        let own = log(m).filter(|_| m.in_use)?;
        let (id, source) = (m.series.record.id.as_str(), m.series.record.common().source.as_deref());
        let others: Vec<&Load<'_>> = self.groups.get(&group(m))?.iter().filter(|l| l.series != id).collect();
        // A slip goes through a whole campaign more often than not, so strangers are asked first.
        let strangers: Vec<f64> = others.iter().filter(|l| l.source != source).map(|l| l.log).collect();
        let all: Vec<f64> = others.iter().map(|l| l.log).collect();
        let peers = if strangers.len() >= FEWEST { strangers } else { all };
        if peers.len() < FEWEST {
            return None;
        }
        let centre = median(&peers).ok()?;
        let apart: Vec<f64> = peers.iter().map(|log| (log - centre).abs()).collect();
        let spread = (1.4826 * median(&apart).ok()?).max(LEAST_SPREAD);
        let off = (own - centre).abs();
        if off < (3.0 * spread).max(LEAST_OFF) {
            return None;
        }
        let distance = |mixed: &Mixed| (off - libm::log(mixed.factor)).abs();
        let near = (2.0 * spread).clamp(NEAR.0, NEAR.1);
        let mut ways: Vec<Mixed> = MIXED.iter().filter(|mixed| distance(mixed) <= near).copied().collect();
        ways.sort_by(|a, b| distance(a).total_cmp(&distance(b)));
        (!ways.is_empty()).then(|| Off { ratio: libm::exp(own - centre), peers: peers.len(), ways })
    }
}

/// Logarithm of the load in the measure of its group; `None` where no load is stated.
fn log(m: &MeasurementAt<'_>) -> Option<f64> {
    if !m.is_failure() && m.quantity != "drive_torque" || m.quantity == "cycles" {
        return None;
    }
    let failures = m.failures();
    let mean = match &m.mean {
        Some(mean) => mean.si,
        None if failures.is_empty() => return None,
        None => failures.iter().sum::<f64>() / failures.len() as f64,
    };
    (mean > 0.0).then(|| libm::log(mean / measure(m).unwrap_or(1.0)))
}

/// What a load of this size is divided by; `None` where a size is missing or none is needed.
fn measure(m: &MeasurementAt<'_>) -> Option<f64> {
    let any = m.mean.as_ref().or(m.specimens.first().map(|s| &s.value))?;
    let diameter = || diameter(&m.series);
    match any.quantity() {
        Quantity::Force => Some(diameter()? * m.series.says.joint.length.as_ref()?.si),
        Quantity::Torque => diameter().map(|d| d * d * d),
        _ => None,
    }
}

fn diameter(series: &SeriesAt<'_>) -> Option<f64> {
    let joint = &series.says.joint;
    let of_thread = || {
        let word = joint.thread.as_deref()?.strip_prefix('M')?;
        quantity::parse(&format!("{} mm", word.split('x').next().unwrap_or(word)), Quantity::Length).ok().map(|w| w.si)
    };
    joint.thread_diameter.as_ref().map(|d| d.si).or_else(of_thread)
}

/// Like with like: test, method, quantity, material, glue, insert, whether invented; the stated sizes where one is missing.
fn group(m: &MeasurementAt<'_>) -> String {
    let joint = &m.series.says.joint;
    let text = |field: &Option<Box<str>>| field.as_deref().unwrap_or_default().to_owned();
    let either =
        |id: &Option<Box<str>>, words: &Option<Box<str>>| id.as_deref().or(words.as_deref()).unwrap_or_default().to_owned();
    let length = |stated: &Option<Stated<Length>>| stated.as_ref().map(|s| s.si.to_string()).unwrap_or_default();
    let invented = m.basis() == Some(Basis::Invented);
    let sizes = match measure(m) {
        Some(_) => String::new(),
        None => {
            let area = joint.bond_area.as_ref().map(|s| s.si.to_string()).unwrap_or_default();
            [text(&joint.thread), length(&joint.thread_diameter), length(&joint.length), area, length(&joint.overlap)].join("/")
        }
    };
    let like = [
        either(&joint.material, &joint.material_text),
        either(&joint.adhesive, &joint.adhesive_text),
        either(&joint.insert, &joint.insert_text),
    ];
    format!("{}/{}/{}/{}/{invented}/{sizes}", text(&joint.test), text(&joint.method), m.quantity, like.join("/"))
}
