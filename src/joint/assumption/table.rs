//! The table of assumptions.

use super::{Assumption, Kind, Shape};
use crate::quantity::Quantity;
use Kind::{Judgement as J, Practice as P, Published};
use Quantity::{Density, Duration, Dose, Fraction, Length, Mass, Number, Stress, Toughness};

const fn one(
    name: &'static str,
    kind: Kind,
    (quantity, unit): (Quantity, &'static str),
    value: f64,
    means: &'static str,
    reason: &'static str,
) -> Assumption {
    Assumption { name, kind, quantity, unit, low: value, high: value, shape: Shape::One, means, reason }
}

const fn even(
    name: &'static str,
    kind: Kind,
    (quantity, unit): (Quantity, &'static str),
    low: f64,
    high: f64,
    means: &'static str,
    reason: &'static str,
) -> Assumption {
    Assumption { name, kind, quantity, unit, low, high, shape: Shape::Even, means, reason }
}

const fn ninety(
    name: &'static str,
    kind: Kind,
    (quantity, unit): (Quantity, &'static str),
    low: f64,
    high: f64,
    means: &'static str,
    reason: &'static str,
) -> Assumption {
    Assumption { name, kind, quantity, unit, low, high, shape: Shape::Ninety, means, reason }
}

const MM: (Quantity, &str) = (Length, "mm");
const X: (Quantity, &str) = (Number, "1");
const PART: (Quantity, &str) = (Fraction, "1");
const KIC: (Quantity, &str) = (Toughness, "MPa·√m");

/// Every assumption: sizes, materials, limit states, glue, torque, life, calibration.
pub const TABLE: &[Assumption] = &[
    // Sizes.
    one("hole_tolerance", J, MM, 0.05, "half width of the limits of a printed hole without a process record", "a tenth on the diameter is what a bench gets without a ladder"),
    one("drill_tolerance", P, MM, 0.05, "how much larger than the drill a drilled hole becomes at most", "twist drill in plastic, hand held"),
    one("print_sd", J, MM, 0.05, "radial standard deviation of a printed thread without a process record", "no measured figure for printed threads was found"),
    one("printed_offset", P, MM, 0.05, "radial growth drawn into a printed thread", "without it the screw does not enter"),
    one("direct_thread_share", P, PART, 0.6, "share of the thread's height left by the hole of a direct screw", "more splits the boss or breaks the screw, less jumps"),
    one("glue_gap", P, MM, 0.10, "glue gap on each side", "usual for epoxy and thick glues between cylinders"),
    one("thin_glue_gap", P, MM, 0.03, "glue gap on each side for thin glues", "thin cyanoacrylate is best below 0.05 mm"),
    one("press_interference", P, MM, 0.10, "how much larger a pressed insert is than its hole", "usual for straight knurls in plastic"),
    one("boss_over_insert", P, X, 2.0, "least boss diameter over insert diameter", "common advice for bosses with inserts"),
    one("boss_over_screw", P, X, 2.5, "least boss diameter over screw diameter, without an insert", "common advice for screw bosses"),
    one("undercut_depth", P, MM, 0.4, "depth of the undercut in the hole, on the radius", "prints cleanly in a vat print and keys the glue"),
    one("undercut_width", P, MM, 1.0, "width of the undercut along the axis", "as wide as a groove of usual inserts"),
    one("protrusion", P, MM, 1.0, "room left below the screw in a blind hole, beside what it protrudes", "the screw must not bottom"),
    even("eccentricity", J, PART, 0.0, 0.5, "how far an insert sits off centre, in parts of the gap", "nothing centres it in the glue"),
    // Materials.
    one("cv_measured", J, PART, 0.10, "spread of the true mean behind one measured value without spread", "between laboratories on one plastic"),
    one("cv_computed", J, PART, 0.20, "the same for a computed value", "as a handbook value"),
    one("cv_handbook", J, PART, 0.20, "the same for a handbook value", "one figure stands for many grades"),
    one("cv_practice", J, PART, 0.30, "the same for a value of practice", "rule of the trade without source"),
    one("cv_recalled", J, PART, 0.35, "the same for a recalled value", "from memory, not seen"),
    one("cv_standard", J, PART, 0.10, "spread above a guaranteed minimum, which is taken as the lower 5 % point", "a minimum is never the mean"),
    one("cv_grade", J, PART, 0.20, "added because the record is a class and the grade of the part is unknown", "grades of one class differ"),
    even("shear_over_tensile", J, PART, 0.577, 0.65, "shear strength over tensile strength where no shear strength is known", "von Mises to what polymer tables show"),
    one("batch_sd", J, X, 0.10, "log standard deviation between batches", "most values come from one batch"),
    one("joint_sd", Published, X, 0.115, "log standard deviation between like joints of one batch", "median over nine infill groups of printed pull-outs, 10.7759/cureus.3893"),
    even("poisson", J, X, 0.33, 0.42, "Poisson's ratio of the part where none is known", "range of rigid plastics"),
    ninety("brittle_toughness", J, KIC, 0.6, 1.7, "fracture toughness of a brittle cross-linked part where none is known", "one printed photopolymer measured 1.01 MPa·√m; cast epoxies 0.6"),
    ninety("tough_toughness", J, KIC, 1.0, 4.5, "fracture toughness of a thermoplastic where none is known", "textbook range of glassy and semicrystalline thermoplastics"),
    even("z_ratio", J, PART, 0.5, 0.9, "strength across the layers over strength in the layers where neither axis nor figure is known", "printed filament reaches 0.52, dense vat prints more"),
    even("hot_factor", J, PART, 0.5, 1.0, "strength left between 30 °C and the softening limit without a claim at that temperature", "stiff plastics lose up to half before they soften"),
    // Limit states.
    even("bearing_over_yield", J, PART, 1.0, 1.6, "strength of the crests in bearing over tensile yield", "no constraint to full constraint of the crest"),
    even("flank_friction", J, PART, 0.05, 0.30, "friction of the flanks against radial sliding", "steel on plastic, dry to greasy"),
    even("first_thread_share", J, X, 1.0, 3.0, "load on the first thread over the mean", "an elastic metal nut has 2 to 4, a compliant plastic evens it out"),
    ninety("axial_flaw", J, MM, 0.05, 0.30, "depth of a flaw along the axis in the wall: flute, seam, tap scratch, layer line", "height of a layer to depth of a knurl"),
    ninety("cut_root_flaw", J, MM, 0.05, 0.30, "depth of the cracks a tap leaves in a brittle part", "near the critical distance of a material with 1 MPa·√m"),
    ninety("printed_root_flaw", J, MM, 0.01, 0.05, "depth of the flaws at the root of a printed thread", "rounder and uncracked; half a layer"),
    even("forming_stress", J, PART, 0.0, 0.3, "hoop stress left by forming a thread, in parts of the tensile strength", "nothing measured was found"),
    even("heat_stress", J, PART, 0.0, 0.1, "hoop stress left by melting an insert in, in parts of the tensile strength", "the melt relaxes most of it"),
    one("break_out_sd", J, X, 0.4, "log standard deviation of the break-out formula", "recalled formula for concrete, order of magnitude only"),
    even("knurl_fill", J, PART, 0.5, 1.0, "share of the knurl that plastic fills", "half when pressed cold or hurried, all when melted well"),
    one("metal_shear", Published, PART, 0.6, "shear strength of metal over its tensile strength", "Alexander 1977 as adopted in VDI 2230 (recalled)"),
    one("solid_insert_wall", Published, MM, 2.4, "least solid wall round an insert", "no gain above it in extruded thermoplastic, 10.3390/jmmp7010042"),
    one("solid_thread_wall", P, MM, 1.2, "least solid wall round a thread", "three perimeters of a 0.4 mm nozzle"),
    one("perimeter_width", P, MM, 0.45, "width of one perimeter", "usual for a 0.4 mm nozzle"),
    // Glue.
    even("plain_fill", J, PART, 0.7, 1.0, "share of the bond that glue fills in a plain hole", "the insert wipes glue off and nothing stops it"),
    even("stepped_fill", J, PART, 0.85, 1.0, "share of the bond that glue fills in a hole that follows the insert", "the shoulder dams the glue"),
    even("own_resin_fill", J, PART, 0.1, 0.4, "share that the part's own resin fills in a plain hole", "it runs out before it is cured"),
    ninety("plastic_over_metal", J, PART, 0.2, 0.6, "bond to a prepared plastic over the bond to metal, where the pair was never measured", "cyanoacrylate on plastics reaches 0.2 to 0.4 of steel in one handbook table"),
    one("unprepared_bond", Published, PART, 0.21, "bond of unprepared over prepared plastic", "geometric mean of 18 pairs in one handbook table"),
    one("unprepared_sd", Published, X, 0.765, "its log standard deviation", "geometric standard deviation 2.15 of the same pairs"),
    one("lap_to_sleeve_sd", J, X, 0.30, "log standard deviation added when a lap strength stands for a sleeve", "laps peel, sleeves do not; nobody measured both"),
    one("gap_curve_sd", J, X, 0.15, "log standard deviation of the gap factor", "sources disagree on bond thickness, even in sign"),
    ninety("cured_over_liquid", J, X, 0.5, 5.0, "light path in the cured part over that in the liquid", "bleaching lengthens it, yellowing shortens it"),
    ninety("critical_dose", J, (Dose, "mJ/cm²"), 2.0, 20.0, "critical dose of a printing resin where none is known", "4 to 14 mJ/cm² recalled, laboratories differ 70-fold"),
    even("uncured_left", J, PART, 0.0, 0.1, "strength of glue that did not cure, in parts of the cured one", "a gel carries next to nothing"),
    one("glue_drop", P, (Mass, "mg"), 25.0, "mass of one drop from a bottle", "20 to 30 mg, recalled"),
    one("glue_density", P, (Density, "kg/m³"), 1100.0, "density of liquid glue", "cyanoacrylates and epoxies lie near it"),
    one("glue_shear_modulus", J, (Stress, "MPa"), 700.0, "shear modulus of a rigid glue, for the peak warning only", "a rigid polymer of 2 GPa"),
    one("load_after", P, (Duration, "h"), 24.0, "wait before loading a bond", "usual for cyanoacrylate and epoxy; polyurethane wants 7 days"),
    // Torque.
    even("friction", J, PART, 0.10, 0.30, "friction of thread and head where no screw says better", "greased steel to dry zinc"),
    one("tighten_share", P, PART, 0.5, "tightening torque over the 5 % point of the torque that strips", "screws strip at assembly long before anyone hangs a load"),
    // Use.
    one("held_share", P, PART, 0.25, "what may stay on a plastic joint, in parts of the lower bound of a short pull", "rule of thumb; no creep rupture data of joints was found"),
    one("repeated_share", P, PART, 0.20, "the same for repeated load", "rule of thumb; no fatigue data of joints was found"),
    even("life_direct_brittle", P, X, 1.0, 3.0, "openings a direct screw stands in a brittle resin", "common practice"),
    even("life_direct_tough", P, X, 5.0, 10.0, "openings a direct screw stands in a thermoplastic", "common practice"),
    even("life_thread_brittle", P, X, 5.0, 10.0, "openings a cut or printed thread stands in a resin", "common practice"),
    even("life_thread_tough", P, X, 10.0, 20.0, "openings a cut or printed thread stands in a thermoplastic", "common practice"),
    one("life_metal", P, X, 100.0, "openings a metal thread stands at least", "common practice"),
    // Calibration.
    one("bias_sd", J, X, 0.5, "prior log standard deviation of the bias of a limit state", "a model may be off by a factor of 1.6 either way"),
    one("bias_between_sd", J, X, 0.4, "scale of the half-normal prior of the bias between materials", "materials of one class differ about that much"),
    one("scale_sd", J, X, 0.15, "log standard deviation added when a series is scaled to another length", "the size effect is over-predicted by area: load grows as D^0.68"),
    one("scale_slope", J, X, 0.3, "further log standard deviation for each unit of the log length ratio", "the further, the less a series says"),
];
