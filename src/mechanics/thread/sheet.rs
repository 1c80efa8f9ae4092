//! Everything about one thread on one sheet: sizes, limits, holes, and its shear areas at an engaged length.

use serde::Serialize;
use uom::si::f64::{Area, Length, Ratio};

use super::designation::ThreadFault;
use super::limits::{Limits, SizeLimits};
use super::sizes::{PitchSeries, System, Thread};
use super::{ValueStatus, profile};
use crate::mechanics::stripping::{bearing_area, external_shear_area, internal_shear_area};
use crate::quantity::{Amount, Measure};

/// What is asked beside the thread itself.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ThreadQuestion {
    /// Engaged length.
    pub engaged: Option<Length>,
    /// Radial growth of a printed internal thread.
    pub offset: Option<Length>,
    /// Diameter of the finished hole at its crests, instead of the thread's own minor diameter.
    pub hole: Option<Length>,
}

/// Basic sizes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BasicSizes {
    /// Major diameter d = D.
    pub major_diameter: Amount,
    /// Pitch diameter d2 = D2.
    pub pitch_diameter: Amount,
    /// Minor diameter of the internal thread D1.
    pub minor_diameter: Amount,
    /// Root diameter of the external thread d3 (rounded root).
    pub root_diameter: Amount,
    /// Height of the fundamental triangle H.
    pub fundamental_height: Amount,
}

/// A smallest and a largest size.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SizeBand {
    /// Smallest.
    pub min: Amount,
    /// Largest.
    pub max: Amount,
}

/// Limits of both parts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LimitSizes {
    /// Class of the screw.
    pub external_class: &'static str,
    /// Major diameter of the screw.
    pub external_major: SizeBand,
    /// Pitch diameter of the screw.
    pub external_pitch_diameter: SizeBand,
    /// Root diameter of the screw, a reference dimension.
    pub external_root: Option<SizeBand>,
    /// How the screw's limits are known.
    pub external_known: ValueStatus,
    /// Class of the hole.
    pub internal_class: &'static str,
    /// Minor diameter of the hole.
    pub internal_minor: SizeBand,
    /// Pitch diameter of the hole.
    pub internal_pitch_diameter: SizeBand,
    /// Smallest major diameter of the hole.
    pub internal_major_min: Amount,
    /// Largest major diameter of the hole, a reference dimension.
    pub internal_major_max: Option<Amount>,
    /// How the hole's limits are known.
    pub internal_known: ValueStatus,
    /// Which standard.
    pub source: &'static str,
}

/// Holes for a tap and for a screw to pass.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Holes {
    /// Tap drill of the tables.
    pub tap_drill: Amount,
    /// How it is known.
    pub tap_drill_known: ValueStatus,
    /// A wider drill for less engagement, where a table lists one.
    pub tap_drill_wide: Option<Amount>,
    /// Major diameter less one pitch, the rule the tap drills round.
    pub tap_drill_by_rule: Amount,
    /// Clearance hole, close fit.
    pub clearance_close: Option<Amount>,
    /// Clearance hole, medium (normal) fit.
    pub clearance_medium: Option<Amount>,
    /// Clearance hole, coarse (loose) fit.
    pub clearance_coarse: Option<Amount>,
    /// How the clearance holes are known.
    pub clearance_known: Option<ValueStatus>,
}

/// Shear areas of both threads.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ShearAreas {
    /// The hole's thread, on the screw's major diameter.
    pub internal: Amount,
    /// The screw's thread, on the hole's minor diameter.
    pub external: Amount,
}

/// Shear areas in the middle of the tolerance zones, where real parts lie.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MidZone {
    /// Hole formed by the screw itself: it takes the screw's pitch diameter.
    pub formed: Amount,
    /// Hole cut by a tap.
    pub cut: ShearAreas,
    /// Printed thread with the offset asked for.
    pub printed: Option<Amount>,
}

/// The thread as printed with a radial offset, with a screw of basic size.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Printed {
    /// Radial growth.
    pub offset: Amount,
    /// Radial overlap of screw and hole.
    pub overlap: Amount,
    /// Shear areas, when a length was asked for.
    pub areas: Option<ShearAreas>,
}

/// The thread in a hole of another size than its own.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct InHole {
    /// Hole diameter at the crests.
    pub diameter: Amount,
    /// Share of the thread's height it leaves (100 % as in tap drill tables).
    pub height_share: Amount,
    /// Radial overlap of screw and hole; below zero the screw falls through.
    pub overlap: Amount,
    /// Shear areas, when a length was asked for.
    pub areas: Option<ShearAreas>,
    /// Area on which the flanks bear, when a length was asked for.
    pub bearing: Option<Amount>,
}

/// Shear areas at the engaged length.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Engaged {
    /// Engaged length.
    pub length: Amount,
    /// Engaged length over the major diameter.
    pub over_diameter: Amount,
    /// At basic sizes.
    pub basic: ShearAreas,
    /// In the middle of the tolerance zones, where limits are stored.
    pub mid_zone: Option<MidZone>,
    /// At the worst limits, where limits are stored.
    pub worst: Option<ShearAreas>,
}

/// The sheet of one thread.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ThreadSheet {
    /// Designation.
    pub thread: String,
    /// Family.
    pub system: System,
    /// Coarse or fine.
    pub series: PitchSeries,
    /// Pitch.
    pub pitch: Amount,
    /// Threads per inch of a unified thread.
    pub threads_per_inch: Option<Amount>,
    /// Basic sizes.
    pub basic: BasicSizes,
    /// Stress area of the screw; a pipe thread has none.
    pub stress_area: Option<Amount>,
    /// Limits.
    pub limits: Option<LimitSizes>,
    /// Said when there are no limits.
    pub limits_missing: Option<&'static str>,
    /// Tap drill and clearance holes.
    pub holes: Holes,
    /// Shear areas, when a length was asked for.
    pub engaged: Option<Engaged>,
    /// As printed, when an offset was asked for.
    pub printed: Option<Printed>,
    /// In a hole of another size, when one was asked for.
    pub in_hole: Option<InHole>,
    /// What to mind.
    pub cautions: Vec<String>,
    /// Where the numbers come from.
    pub sources: Vec<&'static str>,
}

/// The sheet of a thread.
///
/// # Errors
/// [`ThreadFault::Geometry`] when a length is zero, negative or out of all proportion to the thread.
pub fn sheet(thread: &Thread, asked: ThreadQuestion) -> Result<ThreadSheet, ThreadFault> {
    check(thread, asked)?;
    let limits = thread.limits();
    let shown = ShownThread { thread, metric: thread.system != System::Unified };
    let hole = asked.hole.map(|hole| in_hole(shown, asked.engaged, hole));
    Ok(ThreadSheet {
        thread: thread.designation(),
        system: thread.system,
        series: thread.series,
        pitch: thread.amount(thread.pitch()),
        threads_per_inch: (thread.system != System::Metric).then(|| plain(Ratio::from_si(thread.pitch_written))),
        basic: basic_sizes(thread),
        stress_area: thread.fastens().then(|| shown.area(thread.stress_area())),
        limits: limits.map(|l| limit_sizes(thread, &l)),
        limits_missing: limits.is_none().then_some("no limits: the standard has no class 6H for this pitch, or none are stored"),
        holes: holes(thread),
        engaged: asked.engaged.map(|length| engaged(shown, limits.as_ref(), length, asked.offset)),
        printed: asked.offset.map(|offset| printed(shown, asked.engaged, offset)),
        in_hole: hole,
        cautions: cautions(thread, asked),
        sources: sources(thread, limits.as_ref(), asked),
    })
}

/// How numbers of this thread are shown.
#[derive(Clone, Copy)]
struct ShownThread<'a> {
    thread: &'a Thread,
    metric: bool,
}

impl ShownThread<'_> {
    fn area(self, area: Area) -> Amount {
        let amount = Amount::of(area);
        if self.metric { amount } else { amount.shown_in("in²") }
    }
    fn areas(self, internal: Area, external: Area) -> ShearAreas {
        ShearAreas { internal: self.area(internal), external: self.area(external) }
    }
}

fn plain(ratio: Ratio) -> Amount {
    Amount::of(ratio).shown_in("1")
}

fn check(thread: &Thread, asked: ThreadQuestion) -> Result<(), ThreadFault> {
    let show = |l: Length| thread.amount(l).text(4);
    let fault = |message: String, help: String| Err(ThreadFault::Geometry { message, help });
    if let Some(le) = asked.engaged
        && le.si() <= 0.0
    {
        return fault(format!("an engaged length cannot be {}", show(le)), "give a length above zero".into());
    }
    if let Some(hole) = asked.hole
        && hole.si() <= 0.0
    {
        return fault(format!("a hole cannot be {} wide", show(hole)), "give a diameter above zero".into());
    }
    if !thread.fastens() && (asked.engaged, asked.offset, asked.hole) != (None, None, None) {
        return fault(
            format!("{} has flanks of 55°: shear areas are computed for threads of 60° only", thread.size),
            "ask for its sizes alone".into(),
        );
    }
    let height = thread.fundamental_height();
    if let Some(c) = asked.offset
        && c.si().abs() > height.si()
    {
        return fault(
            format!("a radial offset of {} is more than the height of the thread ({})", show(c), show(height)),
            "the offset is radial, half of what the diameter grows".into(),
        );
    }
    Ok(())
}

fn basic_sizes(t: &Thread) -> BasicSizes {
    BasicSizes {
        major_diameter: t.amount(t.major()),
        pitch_diameter: t.amount(t.pitch_diameter()),
        minor_diameter: t.amount(t.minor_diameter()),
        root_diameter: t.amount(t.root_diameter()),
        fundamental_height: t.amount(t.fundamental_height()),
    }
}

fn limit_sizes(t: &Thread, l: &Limits) -> LimitSizes {
    let band = |b: SizeLimits| SizeBand { min: t.amount(b.min), max: t.amount(b.max) };
    LimitSizes {
        external_class: l.external.class,
        external_major: band(l.external.major),
        external_pitch_diameter: band(l.external.pitch_diameter),
        external_root: l.external.root.map(band),
        external_known: l.external.known,
        internal_class: l.internal.class,
        internal_minor: band(l.internal.minor),
        internal_pitch_diameter: band(l.internal.pitch_diameter),
        internal_major_min: t.amount(l.internal.major_min),
        internal_major_max: l.internal.major_max.map(|d| t.amount(d)),
        internal_known: l.internal.known,
        source: l.source,
    }
}

fn holes(t: &Thread) -> Holes {
    let clearance = t.clearance();
    let fit = |place: usize| clearance.map(|c| t.amount(t.length(c.sizes[place])));
    Holes {
        tap_drill: t.amount(t.length(t.tap)),
        tap_drill_known: t.tap_known,
        tap_drill_wide: t.wide_tap().map(|d| t.amount(d)),
        tap_drill_by_rule: t.amount(t.major() - t.pitch()),
        clearance_close: fit(0),
        clearance_medium: fit(1),
        clearance_coarse: fit(2),
        clearance_known: clearance.map(|c| c.known),
    }
}

fn engaged(shown: ShownThread<'_>, limits: Option<&Limits>, length: Length, offset: Option<Length>) -> Engaged {
    let t = shown.thread;
    let p = t.pitch();
    let basic = shown.areas(
        internal_shear_area(p, length, t.major(), t.pitch_diameter()),
        external_shear_area(p, length, t.minor_diameter(), t.pitch_diameter()),
    );
    let worst = limits.map(|l| {
        shown.areas(
            internal_shear_area(p, length, l.external.major.min, l.internal.pitch_diameter.max),
            external_shear_area(p, length, l.internal.minor.max, l.external.pitch_diameter.min),
        )
    });
    Engaged {
        length: t.amount(length),
        over_diameter: plain(length / t.major()),
        basic,
        mid_zone: limits.map(|l| mid_zone(shown, l, length, offset)),
        worst,
    }
}

fn mid_zone(shown: ShownThread<'_>, l: &Limits, length: Length, offset: Option<Length>) -> MidZone {
    let t = shown.thread;
    let p = t.pitch();
    let (major, screw_pitch) = (l.external.major.middle(), l.external.pitch_diameter.middle());
    let internal = |hole_pitch| internal_shear_area(p, length, major, hole_pitch);
    let printed = offset.map(|c| grown(t, major, c, internal(t.pitch_diameter() + c * 2.0)));
    MidZone {
        formed: shown.area(internal(screw_pitch)),
        cut: shown.areas(
            internal(l.internal.pitch_diameter.middle()),
            external_shear_area(p, length, l.internal.minor.middle(), screw_pitch),
        ),
        printed: printed.map(|a| shown.area(a)),
    }
}

/// The area of a printed thread, or nothing once screw and hole no longer overlap.
fn grown(t: &Thread, major: Length, offset: Length, area: Area) -> Area {
    let overlap = profile::radial_overlap(major, t.minor_diameter(), offset);
    if overlap.si() > 0.0 { area } else { Area::from_si(0.0) }
}

fn printed(shown: ShownThread<'_>, length: Option<Length>, offset: Length) -> Printed {
    let t = shown.thread;
    let (p, major, growth) = (t.pitch(), t.major(), offset * 2.0);
    let areas = length.map(|le| {
        let internal = internal_shear_area(p, le, major, t.pitch_diameter() + growth);
        let external = external_shear_area(p, le, t.minor_diameter() + growth, t.pitch_diameter());
        shown.areas(grown(t, major, offset, internal), grown(t, major, offset, external))
    });
    Printed { offset: t.amount(offset), overlap: t.amount(profile::radial_overlap(major, t.minor_diameter(), offset)), areas }
}

/// The shear area of the hole's thread does not contain the hole's diameter; that of the screw's thread and the bearing
/// area do. A hole below the screw's root cannot shear the screw on less than its own root.
fn in_hole(shown: ShownThread<'_>, length: Option<Length>, hole: Length) -> InHole {
    let t = shown.thread;
    let (p, major) = (t.pitch(), t.major());
    let engages = hole.si() < major.si();
    let none = Area::from_si(0.0);
    let cylinder = if hole.si() < t.root_diameter().si() { t.root_diameter() } else { hole };
    let areas = length.map(|le| {
        let internal = internal_shear_area(p, le, major, t.pitch_diameter());
        let external = external_shear_area(p, le, cylinder, t.pitch_diameter());
        if engages { shown.areas(internal, external) } else { shown.areas(none, none) }
    });
    InHole {
        diameter: t.amount(hole),
        height_share: Amount::of(profile::thread_height_share(major, p, hole)),
        overlap: t.amount((major - hole) * 0.5),
        areas,
        bearing: length.map(|le| shown.area(bearing_area(major, hole, le, p))),
    }
}

fn cautions(t: &Thread, asked: ThreadQuestion) -> Vec<String> {
    let mut all = Vec::new();
    if let Some(le) = asked.engaged {
        if le.si() > 2.5 * t.major().si() {
            all.push(
                "engaged length beyond 2 to 2.5 diameters helps little: the load is not shared evenly (practice)".to_string(),
            );
        }
        if le.si() < t.pitch().si() {
            all.push("engaged length below one pitch: the areas count a part of a turn as if it were cut clean".to_string());
        }
    }
    if let Some(c) = asked.offset {
        if profile::radial_overlap(t.major(), t.minor_diameter(), c).si() <= 0.0 {
            all.push("with this offset the screw passes through the printed thread without holding".to_string());
        } else if c.si() < 0.0 {
            all.push("a negative offset makes the printed thread too tight: the screw must cut or form it".to_string());
        }
    }
    if let Some(hole) = asked.hole {
        if hole.si() >= t.major().si() {
            all.push("the hole is as wide as the screw: nothing engages".to_string());
        } else if hole.si() < t.root_diameter().si() {
            all.push("the hole is narrower than the screw's root: the boss is stretched or splits".to_string());
        } else if hole.si() > t.pitch_diameter().si() {
            all.push(
                "the hole is wider than the pitch diameter: less than half of the thread engages, its crests decide".to_string(),
            );
        }
    }
    all
}

fn sources(t: &Thread, limits: Option<&Limits>, asked: ThreadQuestion) -> Vec<&'static str> {
    let mut all = match t.system {
        System::Metric => {
            vec!["basic sizes: ISO 68-1, ISO 724", "stress area: ISO 898-1", "tap drill: ISO 2306", "clearance holes: ISO 273"]
        }
        System::Unified => {
            vec!["basic sizes and stress area: ASME B1.1", "tap drill: drill number tables", "clearance holes: ASME B18.2.8"]
        }
        System::Pipe => vec!["basic sizes: ISO 228-1", "tap drill: recalled"],
    };
    if let Some(l) = limits {
        all.push(l.source);
    }
    if asked.engaged.is_some() {
        all.push("shear areas: FED-STD-H28/2, ASME B1.1 appendix B");
    }
    all
}
