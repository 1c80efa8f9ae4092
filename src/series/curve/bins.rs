//! Samples gathered into runs of equal length, so that a recording of any size fits in bounded memory.
//!
//! A run keeps the moments of its samples. A least-squares line over several runs is therefore the line over all their
//! samples; only the ends of a window snap to the ends of runs. Up to [`MOST_RUNS`] samples every run is one sample.

/// Runs kept at most; a full list is halved by joining neighbours.
pub const MOST_RUNS: usize = 1 << 16;

/// A run of neighbouring samples.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// Samples in it.
    pub n: u64,
    /// Sums of x, y, x², x·y over the samples, x counted from the first sample of the curve.
    pub x: f64,
    /// Sum of the loads.
    pub y: f64,
    /// Sum of x².
    pub xx: f64,
    /// Sum of x·y.
    pub xy: f64,
    /// x of the first sample.
    pub first: f64,
    /// x of the last sample.
    pub last: f64,
    /// Least load, and where.
    pub low: Point,
    /// Greatest load, and where.
    pub high: Point,
}

/// A place on the curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Travel in mm.
    pub x: f64,
    /// Load in N.
    pub y: f64,
}

impl Run {
    #[inline]
    fn of(x: f64, y: f64) -> Run {
        let point = Point { x, y };
        Run { n: 1, x, y, xx: x * x, xy: x * y, first: x, last: x, low: point, high: point }
    }
    fn join(&mut self, next: &Run) {
        self.n += next.n;
        self.x += next.x;
        self.y += next.y;
        self.xx += next.xx;
        self.xy += next.xy;
        self.last = next.last;
        if next.low.y < self.low.y {
            self.low = next.low;
        }
        if next.high.y > self.high.y {
            self.high = next.high;
        }
    }
    #[inline]
    fn add(&mut self, x: f64, y: f64) {
        self.n += 1;
        self.x += x;
        self.y += y;
        self.xx += x * x;
        self.xy += x * y;
        self.last = x;
        if y < self.low.y {
            self.low = Point { x, y };
        }
        if y > self.high.y {
            self.high = Point { x, y };
        }
    }
}

/// The runs of a curve.
#[derive(Debug, Clone)]
pub struct Runs {
    list: Vec<Run>,
    size: u64,
}

impl Default for Runs {
    fn default() -> Self {
        Runs { list: Vec::new(), size: 1 }
    }
}

impl Runs {
    /// Adds a sample.
    #[inline]
    pub fn push(&mut self, x: f64, y: f64) {
        match self.list.last_mut() {
            Some(run) if run.n < self.size => run.add(x, y),
            _ => {
                if self.list.len() == MOST_RUNS {
                    self.halve();
                    // The joined last run may still be short of the new size.
                    return self.push(x, y);
                }
                self.list.push(Run::of(x, y));
            }
        }
    }
    fn halve(&mut self) {
        self.size *= 2;
        let joined = self.list.chunks(2).map(|pair| {
            let mut run = pair[0];
            if let Some(next) = pair.get(1) {
                run.join(next);
            }
            run
        });
        self.list = joined.collect();
    }
    /// The runs in order.
    pub fn list(&self) -> &[Run] {
        &self.list
    }
    /// Samples in a full run.
    pub fn size(&self) -> u64 {
        self.size
    }
    /// The curve as points: each run by its least and greatest load, in the order they came.
    pub fn outline(&self) -> Vec<Point> {
        let mut points = Vec::with_capacity(2 * self.list.len());
        for run in &self.list {
            if run.n == 1 {
                points.push(run.high);
            } else if run.low.x <= run.high.x {
                points.extend([run.low, run.high]);
            } else {
                points.extend([run.high, run.low]);
            }
        }
        points
    }
}

/// Least-squares line over a window of runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Window {
    /// Slope in N/mm.
    pub slope: f64,
    /// Where the line crosses zero load, mm.
    pub zero: f64,
    /// x of the first sample of the window.
    pub from: f64,
    /// x of the last sample.
    pub to: f64,
    /// Samples in it.
    pub samples: u64,
}

#[derive(Clone, Copy, Default)]
struct Sums {
    n: f64,
    x: f64,
    y: f64,
    xx: f64,
    xy: f64,
}

/// The steepest window that spans at least `span` and holds at least `samples`, among these runs.
pub fn steepest(runs: &[Run], span: f64, samples: u64) -> Option<Window> {
    let mut sums = Vec::with_capacity(runs.len() + 1);
    let mut total = Sums::default();
    sums.push(total);
    for run in runs {
        total.n += run.n as f64;
        total.x += run.x;
        total.y += run.y;
        total.xx += run.xx;
        total.xy += run.xy;
        sums.push(total);
    }
    let mut best: Option<Window> = None;
    let mut end = 0;
    for start in 0..runs.len() {
        end = end.max(start + 1);
        // A hair of slack, so that 0.1 mm in steps of 0.01 mm is not missed by the last bit.
        let wide = |end: usize| runs[end - 1].last - runs[start].first >= span * (1.0 - 1e-9);
        let filled = |end: usize| sums[end].n - sums[start].n >= samples as f64;
        while end <= runs.len() && !(wide(end) && filled(end)) {
            end += 1;
        }
        if end > runs.len() {
            break;
        }
        if let Some(window) = line(&sums[start], &sums[end])
            && best.is_none_or(|b| window.slope > b.slope)
        {
            let (from, to) = (runs[start].first, runs[end - 1].last);
            best = Some(Window { from, to, ..window });
        }
    }
    best
}

fn line(a: &Sums, b: &Sums) -> Option<Window> {
    let n = b.n - a.n;
    let (mx, my) = ((b.x - a.x) / n, (b.y - a.y) / n);
    let sxx = (b.xx - a.xx) - n * mx * mx;
    let sxy = (b.xy - a.xy) - n * mx * my;
    if n < 2.0 || sxx <= 0.0 {
        return None;
    }
    let slope = sxy / sxx;
    (slope > 0.0).then(|| Window { slope, zero: mx - my / slope, from: 0.0, to: 0.0, samples: n as u64 })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_number_of_samples_fits_and_the_moments_stay_exact() {
        let mut runs = Runs::default();
        let n = 5 * MOST_RUNS as u64 + 17;
        for i in 0..n {
            runs.push(i as f64, 3.0 * i as f64 + 1.0);
        }
        assert!(runs.list().len() <= MOST_RUNS && runs.size() == 8);
        assert_eq!(runs.list().iter().map(|r| r.n).sum::<u64>(), n);
        let window = steepest(runs.list(), 1000.0, 20).unwrap();
        assert!((window.slope - 3.0).abs() < 1e-6, "{window:?}");
        assert_eq!(runs.list().last().unwrap().last, (n - 1) as f64);
    }
}
