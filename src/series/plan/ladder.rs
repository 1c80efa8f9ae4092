//! The hole-ladder coupon: holes of rising drawn diameter, printed and read with pins.

use crate::statistics::interval::Interval;
use crate::statistics::refusal::Refusal;
use crate::statistics::summary::summary;
use crate::statistics::tolerance::mean_interval_factor;

/// Whether a hole goes through.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HoleEnd {
    /// Closed at the bottom.
    Blind,
    /// Open on both sides.
    Through,
}

impl HoleEnd {
    /// The word on screen and in tables.
    pub fn word(self) -> &'static str {
        match self {
            HoleEnd::Blind => "blind",
            HoleEnd::Through => "through",
        }
    }
}

/// One hole of the coupon.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LadderHole {
    /// Drawn diameter, mm.
    pub diameter: f64,
    /// Blind or through.
    pub kind: HoleEnd,
    /// Which of the repeats, from 1.
    pub repeat: usize,
    /// Column from the marked end, from 0.
    pub column: usize,
    /// Row from the marked side, from 0.
    pub row: usize,
}

/// The coupon; lengths in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Ladder {
    /// Its holes, row by row.
    pub holes: Vec<LadderHole>,
    /// Side of the square that each hole has.
    pub tile: f64,
    /// Columns.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
    /// Thickness.
    pub thickness: f64,
    /// Depth of the blind holes.
    pub depth: f64,
}

/// Holes side by side.
pub const STEPS: usize = 5;
/// Step between them, mm.
pub const STEP: f64 = 0.1;
/// Repeats of each.
pub const REPEATS: usize = 3;

/// A coupon about a middle diameter (mm).
pub fn ladder(middle: f64) -> Ladder {
    // Wall between holes of one diameter and at least 3 mm, rounded up to half millimetres.
    let tile = libm::ceil(2.0 * (middle + 0.2 + middle.max(3.0))) / 2.0;
    let depth = libm::ceil(2.0 * (1.5 * middle).max(4.0)) / 2.0;
    let mut holes = Vec::new();
    for (group, kind) in [HoleEnd::Blind, HoleEnd::Through].into_iter().enumerate() {
        for repeat in 1..=REPEATS {
            for column in 0..STEPS {
                let steps = column as f64 - (STEPS - 1) as f64 / 2.0;
                // Whole hundredths, so that 2.4 is 2.4.
                let diameter = libm::round(100.0 * (middle + steps * STEP)) / 100.0;
                holes.push(LadderHole { diameter, kind, repeat, column, row: group * REPEATS + repeat - 1 });
            }
        }
    }
    Ladder { holes, tile, columns: STEPS, rows: 2 * REPEATS, thickness: depth + 2.0, depth }
}

/// A pin reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PinReading {
    /// Drawn diameter, mm.
    pub drawn: f64,
    /// Measured diameter, mm.
    pub measured: f64,
    /// Blind or through, where it is said.
    pub kind: Option<HoleEnd>,
}

/// Offset of one drawn diameter, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Offset {
    /// Drawn diameter.
    pub drawn: f64,
    /// Mean of measured minus drawn.
    pub offset: f64,
    /// Standard deviation between holes (divisor n - 1), at least that of the step of the pins.
    pub sd: f64,
    /// Holes.
    pub n: usize,
    /// 95 % interval of the mean offset.
    pub interval: Interval,
}

/// How much larger through holes come out than blind ones of the same drawn diameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KindGap {
    /// Mean over the drawn diameters, mm.
    pub through_over_blind: f64,
    /// Its 95 % interval.
    pub interval: Interval,
}

impl KindGap {
    /// Whether the two kinds are told apart.
    pub fn told(&self) -> bool {
        !self.interval.holds(0.0)
    }
}

/// The gap between the two kinds, each drawn diameter a pair; `None` with fewer than two diameters that have both.
pub fn kind_gap(readings: &[PinReading]) -> Option<KindGap> {
    let mean = |drawn: f64, kind: HoleEnd| {
        let list: Vec<f64> = readings.iter().filter(|r| r.drawn == drawn && r.kind == Some(kind)).map(|r| r.measured).collect();
        (!list.is_empty()).then(|| list.iter().sum::<f64>() / list.len() as f64)
    };
    let pairs: Vec<f64> =
        diameters(readings).into_iter().filter_map(|d| Some(mean(d, HoleEnd::Through)? - mean(d, HoleEnd::Blind)?)).collect();
    let s = summary(&pairs).ok()?;
    Some(KindGap { through_over_blind: s.mean, interval: s.mean_interval(0.95).ok()? })
}

fn diameters(readings: &[PinReading]) -> Vec<f64> {
    let mut drawn: Vec<f64> = readings.iter().map(|r| r.drawn).collect();
    drawn.sort_by(f64::total_cmp);
    drawn.dedup();
    drawn
}

/// Step of the pins: the coarsest of 0.1, 0.01 and 0.001 mm in which every reading is whole.
fn pin_step(readings: &[PinReading]) -> f64 {
    let whole = |step: f64| {
        readings.iter().all(|r| {
            let steps = r.measured / step;
            (steps - libm::round(steps)).abs() < 1e-6
        })
    };
    [0.1, 0.01].into_iter().find(|s| whole(*s)).unwrap_or(0.001)
}

/// The offset of each drawn diameter, rising. Equal readings do not make a hole sure: the standard deviation is at least that
/// of the step of the pins, step/√12 (JCGM 100:2008 4.3.7, memory).
///
/// # Errors
/// A diameter read on one hole only: nothing says how sure it is.
pub fn offsets(readings: &[PinReading]) -> Result<Vec<Offset>, Refusal> {
    let step = pin_step(readings);
    diameters(readings)
        .into_iter()
        .map(|d| {
            let list: Vec<f64> = readings.iter().filter(|r| r.drawn == d).map(|r| r.measured - r.drawn).collect();
            let s = summary(&list)?;
            let sd = s.sd.max(step / libm::sqrt(12.0));
            let reach = mean_interval_factor(s.n, 0.95)? * sd / libm::sqrt(s.n as f64);
            let interval = Interval { low: s.mean - reach, high: s.mean + reach, confidence: 0.95 };
            Ok(Offset { drawn: d, offset: s.mean, sd, n: s.n, interval })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn five_steps_three_repeats_two_kinds() {
        let l = ladder(2.6);
        assert_eq!(l.holes.len(), 30);
        let first: Vec<f64> = l.holes[..5].iter().map(|h| h.diameter).collect();
        assert_eq!(first, [2.4, 2.5, 2.6, 2.7, 2.8]);
        assert!(l.tile - 2.8 >= 2.6 && l.thickness > l.depth);
    }

    /// By hand: -0.10, -0.08, -0.09 → mean -0.09, sd 0.01, interval ± 4.3027·0.01/√3 = 0.02484.
    #[test]
    fn offsets_by_hand() {
        let readings = [2.40, 2.42, 2.41].map(|measured| PinReading { drawn: 2.5, measured, kind: None });
        let o = offsets(&readings).unwrap();
        assert!((o[0].offset + 0.09).abs() < 1e-12 && (o[0].sd - 0.01).abs() < 1e-12);
        assert!((o[0].interval.high - o[0].interval.low - 2.0 * 0.024_841).abs() < 1e-5);
        assert!(offsets(&readings[..1]).is_err());
    }

    /// By hand: pins in steps of 0.01 mm, 0.01/√12 = 0.002887.
    #[test]
    fn equal_readings_are_as_sure_as_the_pins() {
        let readings = [2.41, 2.41, 2.41].map(|measured| PinReading { drawn: 2.5, measured, kind: None });
        let o = offsets(&readings).unwrap();
        assert!((o[0].sd - 0.002_887).abs() < 1e-6 && o[0].interval.low < o[0].offset);
    }

    /// By hand: gaps 0.02, 0.04, 0.03 → mean 0.03, sd 0.01, interval ± 4.3027·0.01/√3 = 0.02484: told apart from zero.
    #[test]
    fn kinds_by_hand() {
        let pair = |drawn: f64, gap: f64| {
            [(HoleEnd::Blind, 0.0), (HoleEnd::Through, gap)].map(|(kind, more)| PinReading {
                drawn,
                measured: drawn - 0.1 + more,
                kind: Some(kind),
            })
        };
        let readings: Vec<PinReading> =
            [(2.4, 0.02), (2.5, 0.04), (2.6, 0.03)].into_iter().flat_map(|(d, g)| pair(d, g)).collect();
        let gap = kind_gap(&readings).unwrap();
        assert!((gap.through_over_blind - 0.03).abs() < 1e-12 && gap.told());
        assert!((gap.interval.low - (0.03 - 0.024_841)).abs() < 1e-5);
        assert!(kind_gap(&readings[..2]).is_none());
    }
}
