//! What the gap does to a glue: the corners of its family's curve, each an assumption of the table.

use super::model::Model;
use crate::mechanics::bond::GapPoint;
use crate::quantity::Measure;
use uom::si::f64::{Length, Ratio};

/// Corners a curve has at most.
const CORNERS: usize = 4;

/// Strength kept at a gap on each side, by straight lines between corners.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GapLine {
    /// Up to the first corner.
    first: f64,
    ramps: [Ramp; CORNERS - 1],
    last: GapPoint,
}

/// The line from one corner to the next.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Ramp {
    from_mm: f64,
    wide_mm: f64,
    slope: f64,
}

/// Least width of a line, mm: two corners at one gap are a step.
const STEP_MM: f64 = 1e-9;

impl GapLine {
    /// Factor on the strength at a gap on each side.
    pub fn factor(&self, gap: Length) -> Ratio {
        // What each line adds: no case is told from another, because this stands in the middle of every draw.
        // The hair of a micrometre is that of the formula.
        let gap = gap.si() * 1e3 + 1e-9;
        let added = |ramp: &Ramp| ramp.slope * (gap - ramp.from_mm).clamp(0.0, ramp.wide_mm);
        let kept = self.ramps.iter().fold(self.first, |sum, ramp| sum + added(ramp));
        // What rounding leaves of nothing is nothing.
        Ratio::from_si(if kept < 1e-12 { 0.0 } else { kept })
    }
    /// Gap at which the curve ends although something is left: nothing is known beyond it.
    pub fn ends_at(&self) -> Option<Length> {
        (self.last.factor > 0.0).then(|| Length::from_si(self.last.gap_mm * 1e-3))
    }
    fn of(first: (f64, f64), others: &[(f64, f64)]) -> GapLine {
        let mut line = GapLine {
            first: first.1,
            ramps: [Ramp { from_mm: 0.0, wide_mm: 0.0, slope: 0.0 }; CORNERS - 1],
            last: GapPoint { gap_mm: first.0 * 1e3, factor: first.1 },
        };
        for (ramp, &(gap, factor)) in line.ramps.iter_mut().zip(others) {
            let (from_mm, before) = (line.last.gap_mm, line.last.factor);
            line.last = GapPoint { gap_mm: gap * 1e3, factor };
            let wide_mm = (line.last.gap_mm - from_mm).max(STEP_MM);
            *ramp = Ramp { from_mm, wide_mm, slope: (factor - before) / wide_mm };
        }
        line
    }
    /// Thin cyanoacrylate.
    pub fn thin_cyanoacrylate(model: &mut Model<'_>) -> GapLine {
        let (full, middle, none) =
            (model.assumed("gap_thin_full"), model.assumed("gap_thin_middle"), model.assumed("gap_thin_none"));
        GapLine::of((full, 1.0), &[(middle, model.assumed("gap_thin_middle_factor")), (none, 0.0)])
    }
    /// Medium cyanoacrylate.
    pub fn medium_cyanoacrylate(model: &mut Model<'_>) -> GapLine {
        let (full, middle) = (model.assumed("gap_medium_full"), model.assumed("gap_medium_middle"));
        let none = model.assumed("gap_medium_none");
        GapLine::of((full, 1.0), &[(middle, model.assumed("gap_medium_middle_factor")), (none, 0.0)])
    }
    /// Thick cyanoacrylate.
    pub fn thick_cyanoacrylate(model: &mut Model<'_>) -> GapLine {
        let (full, middle) = (model.assumed("gap_thick_full"), model.assumed("gap_thick_middle"));
        let none = model.assumed("gap_thick_none");
        GapLine::of((full, 1.0), &[(middle, model.assumed("gap_thick_middle_factor")), (none, 0.0)])
    }
    /// Epoxy: starved in a narrow gap, weaker in a wide one.
    pub fn epoxy(model: &mut Model<'_>) -> GapLine {
        let (least, most, wide) =
            (model.assumed("gap_epoxy_least"), model.assumed("gap_epoxy_most"), model.assumed("gap_epoxy_wide"));
        let (starved, kept) = (model.assumed("gap_epoxy_starved_factor"), model.assumed("gap_epoxy_wide_factor"));
        GapLine::of((0.0, starved), &[(least, 1.0), (most, 1.0), (wide, kept)])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::bond::{GapCurve, gap_factor};

    #[test]
    fn the_table_has_the_corners_of_the_formula_cards() {
        let table = crate::joint::Assumptions::default();
        let at = |name: &'static str| table.value(name);
        let lines = [
            (
                GapCurve::CyanoacrylateThin,
                vec![
                    (at("gap_thin_full"), 1.0),
                    (at("gap_thin_middle"), at("gap_thin_middle_factor")),
                    (at("gap_thin_none"), 0.0),
                ],
            ),
            (
                GapCurve::CyanoacrylateMedium,
                vec![
                    (at("gap_medium_full"), 1.0),
                    (at("gap_medium_middle"), at("gap_medium_middle_factor")),
                    (at("gap_medium_none"), 0.0),
                ],
            ),
            (
                GapCurve::CyanoacrylateThick,
                vec![
                    (at("gap_thick_full"), 1.0),
                    (at("gap_thick_middle"), at("gap_thick_middle_factor")),
                    (at("gap_thick_none"), 0.0),
                ],
            ),
            (
                GapCurve::Epoxy,
                vec![
                    (0.0, at("gap_epoxy_starved_factor")),
                    (at("gap_epoxy_least"), 1.0),
                    (at("gap_epoxy_most"), 1.0),
                    (at("gap_epoxy_wide"), at("gap_epoxy_wide_factor")),
                ],
            ),
        ];
        for (curve, corners) in lines {
            let line = GapLine::of(corners[0], &corners[1..]);
            for step in 0..60 {
                let gap = Length::from_si(f64::from(step) * 1e-5);
                let (a, b) = (line.factor(gap).si(), gap_factor(curve, gap).si());
                assert!((a - b).abs() < 1e-9, "{curve:?} at {step}: {a} {b}");
            }
            if line.ends_at().is_none() {
                assert_eq!(line.factor(Length::from_si(5e-3)).si(), 0.0, "{curve:?}: nothing is left, not even of rounding");
            }
        }
    }
}
