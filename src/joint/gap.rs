//! What the gap does to a glue: the corners of its family's curve, each an assumption of the table.

use super::model::Model;
use crate::mechanics::bond::{GapPoint, gap_factor_along};
use crate::quantity::Measure;
use uom::si::f64::{Length, Ratio};

/// Corners a curve has at most.
const CORNERS: usize = 4;

/// Strength kept at a gap on each side, by straight lines between corners.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GapLine {
    corners: [GapPoint; CORNERS],
    count: usize,
}

impl GapLine {
    /// Factor on the strength at a gap on each side.
    pub fn factor(&self, gap: Length) -> Ratio {
        gap_factor_along(&self.corners[..self.count], gap)
    }
    /// Gap at which the curve ends although something is left: nothing is known beyond it.
    pub fn ends_at(&self) -> Option<Length> {
        let last = self.corners[..self.count].last()?;
        (last.factor > 0.0).then(|| Length::from_si(last.gap_mm * 1e-3))
    }
    fn of(corners: &[(f64, f64)]) -> GapLine {
        let mut line = GapLine { corners: [GapPoint { gap_mm: 0.0, factor: 0.0 }; CORNERS], count: 0 };
        for (corner, &(gap, factor)) in line.corners.iter_mut().zip(corners) {
            *corner = GapPoint { gap_mm: gap * 1e3, factor };
            line.count += 1;
        }
        line
    }
    /// Thin cyanoacrylate.
    pub fn thin_cyanoacrylate(model: &mut Model<'_>) -> GapLine {
        let (full, middle, none) =
            (model.assumed("gap_thin_full"), model.assumed("gap_thin_middle"), model.assumed("gap_thin_none"));
        GapLine::of(&[(full, 1.0), (middle, model.assumed("gap_thin_middle_factor")), (none, 0.0)])
    }
    /// Medium cyanoacrylate.
    pub fn medium_cyanoacrylate(model: &mut Model<'_>) -> GapLine {
        let (full, middle) = (model.assumed("gap_medium_full"), model.assumed("gap_medium_middle"));
        let none = model.assumed("gap_medium_none");
        GapLine::of(&[(full, 1.0), (middle, model.assumed("gap_medium_middle_factor")), (none, 0.0)])
    }
    /// Thick cyanoacrylate.
    pub fn thick_cyanoacrylate(model: &mut Model<'_>) -> GapLine {
        let (full, middle) = (model.assumed("gap_thick_full"), model.assumed("gap_thick_middle"));
        let none = model.assumed("gap_thick_none");
        GapLine::of(&[(full, 1.0), (middle, model.assumed("gap_thick_middle_factor")), (none, 0.0)])
    }
    /// Epoxy: starved in a narrow gap, weaker in a wide one.
    pub fn epoxy(model: &mut Model<'_>) -> GapLine {
        let (least, most, wide) =
            (model.assumed("gap_epoxy_least"), model.assumed("gap_epoxy_most"), model.assumed("gap_epoxy_wide"));
        let (starved, kept) = (model.assumed("gap_epoxy_starved_factor"), model.assumed("gap_epoxy_wide_factor"));
        GapLine::of(&[(0.0, starved), (least, 1.0), (most, 1.0), (wide, kept)])
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
            let line = GapLine::of(&corners);
            for step in 0..60 {
                let gap = Length::from_si(f64::from(step) * 1e-5);
                let (a, b) = (line.factor(gap).si(), gap_factor(curve, gap).si());
                assert!((a - b).abs() < 1e-9, "{curve:?} at {step}: {a} {b}");
            }
        }
    }
}
