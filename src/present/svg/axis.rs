//! A straight scale with round ticks.

/// A scale from values to places in a drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scale {
    low: f64,
    high: f64,
    from: f64,
    to: f64,
    step: f64,
}

impl Scale {
    /// A scale that holds `low..high`, ends on round ticks and maps them to `from..to`.
    pub fn new(low: f64, high: f64, from: f64, to: f64, ticks: usize) -> Self {
        let span = if high > low { high - low } else { high.abs().max(1.0) };
        let step = round_step(span / ticks.max(1) as f64);
        let (low, high) = (libm::floor(low / step + 1e-9) * step, libm::ceil((low + span) / step - 1e-9) * step);
        Scale { low, high, from, to, step }
    }
    /// The place of a value.
    pub fn place(&self, value: f64) -> f64 {
        self.from + (value - self.low) / (self.high - self.low) * (self.to - self.from)
    }
    /// The ticks with their labels.
    pub fn ticks(&self) -> Vec<Tick> {
        let count = libm::round((self.high - self.low) / self.step) as usize;
        let decimals = (-libm::floor(libm::log10(self.step) + 1e-9)).max(0.0) as usize;
        (0..=count)
            .map(|i| {
                let value = self.low + i as f64 * self.step;
                // Far from zero the sum carries rounding dust that would print as -0.
                let value = if value.abs() < 1e-9 * self.step { 0.0 } else { value };
                Tick { value, label: format!("{value:.decimals$}") }
            })
            .collect()
    }
}

/// A tick.
#[derive(Debug, Clone, PartialEq)]
pub struct Tick {
    /// Its value.
    pub value: f64,
    /// Its label.
    pub label: String,
}

/// The least of 1, 2, 5 times a power of ten that is not below `raw`.
fn round_step(raw: f64) -> f64 {
    let power = libm::pow(10.0, libm::floor(libm::log10(raw)));
    let step = [1.0, 2.0, 5.0, 10.0].into_iter().find(|m| m * power >= raw * (1.0 - 1e-9)).unwrap_or(10.0);
    step * power
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_hold_the_data() {
        let s = Scale::new(655.0, 857.0, 0.0, 100.0, 5);
        let labels: Vec<String> = s.ticks().into_iter().map(|t| t.label).collect();
        assert_eq!(labels, ["650", "700", "750", "800", "850", "900"]);
        assert_eq!((s.place(650.0), s.place(900.0)), (0.0, 100.0));
        let tiny = Scale::new(0.0, 0.013, 0.0, 1.0, 4);
        assert_eq!(tiny.ticks().last().map(|t| t.label.clone()).as_deref(), Some("0.015"));
        assert!(Scale::new(5.0, 5.0, 0.0, 1.0, 4).ticks().len() > 1);
    }
}
