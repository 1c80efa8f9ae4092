//! One pull: samples of travel and load in, what they say out.
//!
//! Samples are taken one at a time and never kept whole. Definitions: peak and energies by the trapezium rule on the samples;
//! stiffness the steepest least-squares window up to the peak, its crossing of zero load taken as the true start (toe
//! compensation as in ASTM D638 Annex A1, memory); break the first sample after the peak that has lost a stated share of it.

pub mod bins;
pub mod mode;
pub mod teeth;

use crate::finding::{Finding, Severity, Span};
use crate::quantity::measure::Stiffness;
use bins::{Point, Run, Runs, Window};
use teeth::Tooth;
use uom::si::f64::{Energy, Force, Length};
use uom::si::{energy::joule, force::newton, length::millimeter};

/// How a curve is reduced; every value is shown with the results.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Share of the peak lost at the break.
    pub drop: f64,
    /// Least prominence of a tooth as a share of the peak.
    pub prominence: f64,
    /// Span of the stiffness window as a share of the travel to the peak.
    pub window: f64,
    /// Samples in the stiffness window, at least.
    pub window_samples: u64,
    /// Travel of the rig itself for its load, mm/N; `None` when it is not known.
    pub compliance: Option<f64>,
    /// Largest load the cell reads, N.
    pub capacity: Option<f64>,
    /// Pitch of the thread, mm.
    pub pitch: Option<f64>,
    /// Largest step of load near the peak that passes without a warning, as a share of the peak.
    pub doubt: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Settings {
            drop: 0.2,
            prominence: 0.05,
            window: 0.1,
            window_samples: 20,
            compliance: None,
            capacity: None,
            pitch: None,
            doubt: 0.02,
        }
    }
}

/// Where the load has fallen by the stated share.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Break {
    /// Travel.
    pub travel: Length,
    /// Load.
    pub load: Force,
    /// Line of the sample in its file.
    pub line: u64,
}

/// The steepest straight stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slope {
    /// Slope.
    pub stiffness: Stiffness,
    /// Start and end of the window.
    pub from: Length,
    /// End of the window.
    pub to: Length,
    /// Samples in the window.
    pub samples: u64,
    /// Where the line crosses zero load.
    pub zero: Length,
    /// Whether the travel of the rig was taken off; else this is the stiffness of the whole system.
    pub rig_taken_off: bool,
}

/// What one pull says.
#[derive(Debug, Clone, PartialEq)]
pub struct Pull {
    /// Samples read.
    pub samples: u64,
    /// Largest load.
    pub peak: Force,
    /// Line of the peak in its file.
    pub peak_line: u64,
    /// Travel at the peak, as recorded (rig taken off when known).
    pub travel_at_peak: Length,
    /// Largest rise between two samples just before the peak: the true peak may be higher by about this.
    pub peak_doubt: Force,
    /// Steepest stretch up to the peak.
    pub slope: Option<Slope>,
    /// Travel at the peak, counted from where the steepest line crosses zero load.
    pub travel_at_peak_corrected: Option<Length>,
    /// Energy to the peak.
    pub energy_to_peak: Energy,
    /// Energy to the end of the recording.
    pub energy: Energy,
    /// Where the load broke down.
    pub load_drop: Option<Break>,
    /// Teeth of the curve, the peak among them.
    pub teeth: Vec<Tooth>,
    /// Middle distance between teeth.
    pub tooth_pitch: Option<Length>,
    /// Whether the load cell or machine limited it: the specimen held.
    pub held: bool,
    /// Points for drawing: travel in mm, load in N.
    pub outline: Vec<Point>,
    /// What is odd about the recording.
    pub findings: Vec<Finding>,
}

/// Steps of load looked back on for the doubt of the peak.
const LOOK_BACK: usize = 5;

/// Takes samples one at a time.
#[derive(Debug, Clone)]
pub struct Gatherer {
    settings: Settings,
    compliance: f64,
    runs: Runs,
    samples: u64,
    start: f64,
    last: Point,
    last_line: u64,
    peak: Point,
    peak_line: u64,
    energy: f64,
    energy_to_peak: f64,
    rises: [f64; LOOK_BACK],
    doubt: f64,
    fallen: bool,
    equal: Option<u64>,
    level: u64,
    longest_level: u64,
    lowest: Point,
    lowest_line: u64,
    drop: Option<(Point, u64)>,
    widest: f64,
    widest_line: u64,
    back: f64,
    back_line: u64,
    farthest: f64,
    first_load: f64,
    first_line: u64,
}

impl Gatherer {
    /// A fresh curve.
    pub fn new(settings: Settings) -> Self {
        let zero = Point { x: 0.0, y: 0.0 };
        Gatherer {
            settings,
            compliance: settings.compliance.unwrap_or(0.0),
            runs: Runs::default(),
            samples: 0,
            start: 0.0,
            last: zero,
            last_line: 0,
            peak: Point { x: 0.0, y: f64::NEG_INFINITY },
            peak_line: 0,
            energy: 0.0,
            energy_to_peak: 0.0,
            rises: [0.0; LOOK_BACK],
            doubt: 0.0,
            fallen: false,
            equal: None,
            level: 0,
            longest_level: 0,
            lowest: Point { x: 0.0, y: f64::INFINITY },
            lowest_line: 0,
            drop: None,
            widest: 0.0,
            widest_line: 0,
            back: 0.0,
            back_line: 0,
            farthest: f64::NEG_INFINITY,
            first_load: 0.0,
            first_line: 0,
        }
    }
    /// Samples taken so far.
    pub fn samples(&self) -> u64 {
        self.samples
    }
    /// Takes a sample: travel in mm, load in N, the line it stands on.
    #[inline]
    pub fn push(&mut self, travel: f64, load: f64, line: u64) {
        let x = travel - self.compliance * load;
        if self.samples == 0 {
            self.start = x;
            self.first_load = load;
            self.first_line = line;
            self.last = Point { x, y: load };
        }
        let rise = load - self.last.y;
        self.energy += (x - self.last.x) * 0.5 * (load + self.last.y);
        self.steps(travel, line);
        self.rises[(self.samples % LOOK_BACK as u64) as usize] = rise;
        self.samples += 1;
        if load > self.peak.y {
            self.rise_to(Point { x, y: load }, line);
        } else {
            self.stay_below(Point { x, y: load }, line);
        }
        if load < self.lowest.y {
            self.lowest = Point { x, y: load };
            self.lowest_line = line;
        }
        self.runs.push(x - self.start, load);
        self.last = Point { x, y: load };
        self.last_line = line;
    }
    #[inline]
    fn steps(&mut self, travel: f64, line: u64) {
        if self.samples == 0 {
            self.farthest = travel;
            return;
        }
        let step = travel - self.farthest;
        if step > 0.0 {
            if step > self.widest {
                self.widest = step;
                self.widest_line = line;
            }
            self.farthest = travel;
        } else if -step > self.back {
            self.back = -step;
            self.back_line = line;
        }
    }
    #[inline]
    fn rise_to(&mut self, point: Point, line: u64) {
        self.peak = point;
        self.peak_line = line;
        self.energy_to_peak = self.energy;
        self.doubt = self.rises.iter().copied().fold(0.0, f64::max);
        self.fallen = false;
        self.equal = None;
        self.level = 1;
        self.longest_level = 1;
        self.drop = None;
    }
    #[inline]
    fn stay_below(&mut self, point: Point, line: u64) {
        if point.y == self.peak.y {
            self.level += 1;
            self.longest_level = self.longest_level.max(self.level);
            if self.fallen && self.equal.is_none() {
                self.equal = Some(line);
            }
            return;
        }
        self.level = 0;
        if point.y < 0.98 * self.peak.y {
            self.fallen = true;
        }
        if self.drop.is_none() && point.y <= (1.0 - self.settings.drop) * self.peak.y * (1.0 + 1e-12) {
            self.drop = Some((point, line));
        }
    }
    /// What the curve says. `file` is its name in findings.
    ///
    /// # Errors
    /// A finding when there are fewer than three samples or no load above zero.
    pub fn finish(self, file: &str) -> Result<Pull, Finding> {
        if self.samples < 3 {
            let message = format!("{} is not a curve: at least three are needed", samples_text(self.samples));
            return Err(Finding::new("curve-too-short", Severity::Error, file, message)
                .at(at(self.last_line))
                .help("export every sample of the pull, not only the result"));
        }
        if self.peak.y <= 0.0 || -self.lowest.y > self.peak.y {
            return Err(reversed(&self, file));
        }
        let findings = self.findings(file);
        Ok(self.results(findings))
    }
    fn results(self, findings: Vec<Finding>) -> Pull {
        let mm = Length::new::<millimeter>;
        // One millimetre times one newton is a millijoule.
        let joules = |n_mm: f64| Energy::new::<joule>(n_mm * 1e-3);
        let slope = self.slope();
        let outline: Vec<Point> = self.runs.outline().iter().map(|p| Point { x: p.x + self.start, y: p.y }).collect();
        let teeth = teeth::teeth(&outline, self.settings.prominence * self.peak.y);
        Pull {
            samples: self.samples,
            peak: Force::new::<newton>(self.peak.y),
            peak_line: self.peak_line,
            travel_at_peak: mm(self.peak.x),
            peak_doubt: Force::new::<newton>(self.doubt),
            travel_at_peak_corrected: slope.map(|s| mm(self.peak.x) - s.zero),
            slope,
            energy_to_peak: joules(self.energy_to_peak),
            energy: joules(self.energy),
            load_drop: self.drop.map(|(p, line)| Break { travel: mm(p.x), load: Force::new::<newton>(p.y), line }),
            tooth_pitch: teeth::pitch(&teeth).map(mm),
            teeth,
            held: self.saturated(),
            outline,
            findings,
        }
    }
    /// The steepest window of the runs up to the peak.
    fn slope(&self) -> Option<Slope> {
        use crate::quantity::Measure;
        let at_peak = self.peak.x - self.start;
        let list = self.runs.list();
        let end = list.iter().position(|r| r.high.x == at_peak && r.high.y == self.peak.y)?;
        // A run that goes on behind the peak would mix both sides.
        let upto: &[Run] = if list[end].n == 1 { &list[..=end] } else { &list[..end] };
        let samples: u64 = upto.iter().map(|r| r.n).sum();
        if samples < 5 {
            return None;
        }
        let least = self.settings.window_samples.min((samples / 4).max(3));
        let window: Window = bins::steepest(upto, self.settings.window * at_peak, least)?;
        let mm = |x: f64| Length::new::<millimeter>(x + self.start);
        Some(Slope {
            stiffness: Stiffness::from_si(window.slope * 1e3),
            from: mm(window.from),
            to: mm(window.to),
            samples: window.samples,
            zero: mm(window.zero),
            rig_taken_off: self.settings.compliance.is_some(),
        })
    }
    fn saturated(&self) -> bool {
        self.settings.capacity.is_some_and(|c| self.peak.y >= 0.995 * c)
    }
    fn findings(&self, file: &str) -> Vec<Finding> {
        let mut list = Vec::new();
        let mut warn = |rule, line, message: String, help: &str| {
            list.push(Finding::new(rule, Severity::Warning, file, message).at(at(line)).help(help));
        };
        let peak = self.peak.y;
        if self.doubt > self.settings.doubt * peak {
            let message = format!(
                "the load rose by {} N between two samples just before the peak of {} N ({:.1} %)",
                short(self.doubt),
                short(peak),
                100.0 * self.doubt / peak
            );
            warn(
                "peak-doubtful",
                self.peak_line,
                message,
                "the true peak may be higher by that much: sample faster or pull more slowly",
            );
        }
        if self.first_load.abs() > 0.02 * peak {
            let message = format!("the recording starts at {} N, not at zero", short(self.first_load));
            warn("load-offset", self.first_line, message, "zero the cell before the pull, or take it off with --zero");
        }
        if self.lowest.y < -0.02 * peak {
            let message = format!("the load falls to {} N", short(self.lowest.y));
            warn("load-negative", self.lowest_line, message, "check the zero and the play in the grips");
        }
        self.limits(&mut warn);
        self.gaps(&mut warn);
        list
    }
    fn limits(&self, warn: &mut impl FnMut(&'static str, u64, String, &str)) {
        if self.saturated() {
            let message =
                format!("the load reaches the limit of the load cell: the specimen held at least {} N", short(self.peak.y));
            warn("load-saturated", self.peak_line, message, "it counts as held (censored), not as failed");
        } else if self.longest_level >= LEVEL_TOP {
            let message = format!("{} samples in a row stand at exactly {} N", self.longest_level, short(self.peak.y));
            warn("load-level", self.peak_line, message, "if this is the limit of the load cell, give --capacity");
        }
        if let Some(line) = self.equal {
            let message = format!("the load comes back to exactly the peak of line {}; the first counts", self.peak_line);
            warn("peaks-equal", line, message, "if the load cell is near its limit, give --capacity");
        }
    }
    fn gaps(&self, warn: &mut impl FnMut(&'static str, u64, String, &str)) {
        let travel = self.farthest - (self.start + self.compliance * self.first_load);
        let usual = travel / (self.samples - 1) as f64;
        if self.samples > 20 && self.widest > 10.0 * usual {
            let message = format!("a gap of {} mm, {:.0} times the usual step", short(self.widest), self.widest / usual);
            warn("samples-missing", self.widest_line, message, "peak and energy near the gap are doubtful");
        }
        if self.back > 0.05 * travel {
            let message = format!("the travel goes back by {} mm", short(self.back));
            warn("travel-back", self.back_line, message, "unloading or a second pull: keep one pull in one file");
        }
    }
}

/// Equal samples at the top that look like a limit.
const LEVEL_TOP: u64 = 6;

fn reversed(g: &Gatherer, file: &str) -> Finding {
    if g.lowest.y < 0.0 {
        let message = format!("the loads are negative, down to {} N", short(g.lowest.y));
        Finding::new("load-reversed", Severity::Error, file, message)
            .at(at(g.lowest_line))
            .help("if the load cell counts pulling as negative, give --reversed")
    } else {
        Finding::new("load-none", Severity::Error, file, "no load above zero").help("is this the load column?")
    }
}

fn samples_text(n: u64) -> String {
    match n {
        0 => "no sample".into(),
        1 => "one sample".into(),
        n => format!("{n} samples"),
    }
}

/// A number for a message.
pub fn short(x: f64) -> String {
    crate::quantity::print::number(x, 4)
}

/// The place of a line.
pub fn at(line: u64) -> Span {
    Span { start: 0, end: 0, line: u32::try_from(line.max(1)).unwrap_or(u32::MAX), column: 1 }
}

#[cfg(test)]
mod tests;
