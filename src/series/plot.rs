//! What a plot shows, apart from how it is drawn.

use super::curve::bins::Point;
use super::reduce::reduce;
use super::reduction::Reduction;
use super::specimen::{Sample, batches};
use crate::quantity::UnitId;

/// One specimen as a dot.
#[derive(Debug, Clone, PartialEq)]
pub struct Dot {
    /// Its value in the unit of the plot.
    pub value: f64,
    /// It held.
    pub held: bool,
    /// How it failed.
    pub mode: String,
}

/// A row of dots with mean and interval.
#[derive(Debug, Clone, PartialEq)]
pub struct DotRow {
    /// Name of the group.
    pub name: String,
    /// Its specimens.
    pub dots: Vec<Dot>,
    /// Mean of those that failed.
    pub mean: Option<f64>,
    /// 95 % interval of the mean.
    pub interval: Option<(f64, f64)>,
}

/// Specimens of one or more groups on one axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Strip {
    /// Title.
    pub title: String,
    /// What the axis shows.
    pub axis: String,
    /// Its unit.
    pub unit: UnitId,
    /// The rows.
    pub rows: Vec<DotRow>,
    /// A lower bound with its name.
    pub bound: Option<(f64, String)>,
    /// Lines below: origin of the data.
    pub footer: Vec<String>,
}

/// A load-travel curve.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveLine {
    /// Specimen.
    pub name: String,
    /// How it failed.
    pub mode: String,
    /// It held.
    pub held: bool,
    /// Travel in mm, load in N.
    pub points: Vec<Point>,
    /// The peak.
    pub peak: Point,
}

/// Curves of a series.
#[derive(Debug, Clone, PartialEq)]
pub struct Traces {
    /// Title.
    pub title: String,
    /// The curves.
    pub curves: Vec<CurveLine>,
    /// Lines below.
    pub footer: Vec<String>,
}

fn row(name: String, sample: &Sample, unit: UnitId, r: &Reduction) -> DotRow {
    let other = sample.unit();
    let into = |v: f64| if other == unit { v } else { unit.unit().number_from_si(other.unit().si_from_number(v)) };
    let unknown = |held: bool| if held { "machine-limit" } else { "unknown" };
    DotRow {
        name,
        dots: sample
            .specimens
            .iter()
            .map(|s| Dot {
                value: s.in_unit(unit),
                held: s.censored,
                mode: s.mode.as_deref().unwrap_or(unknown(s.censored)).to_owned(),
            })
            .collect(),
        mean: r.mean().map(into),
        interval: r.mean_interval.map(|i| (into(i.low), into(i.high))),
    }
}

/// The rows of one sample: its batches apart, with one row where it has none.
pub fn rows(sample: &Sample) -> Vec<DotRow> {
    let unit = sample.unit();
    let Some((level, batches)) = batches(sample) else {
        return vec![row(String::new(), sample, unit, &reduce(sample, None))];
    };
    let part = |name: &str| {
        let own = sample.only(|s| level.holds(s, name));
        row(level.named(name), &own, unit, &reduce(&own, None))
    };
    batches.iter().map(|b| part(&b.name)).collect()
}

/// A named group as a row.
pub fn group_row(name: &str, sample: &Sample, unit: UnitId) -> DotRow {
    row(name.to_owned(), sample, unit, &reduce(sample, None))
}
