//! How an input is spread, and how it is drawn.
//!
//! Every input has its own ChaCha8 stream, keyed by its name: adding an input does not disturb the others, and rival methods
//! that name the same input share its draws. All values are base SI.

use super::side_by_side::{exponentials, normal_quantile, normal_quantiles};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use sha2::{Digest, Sha256};

/// Half of the width of a central 90 % interval of a normal distribution, in standard deviations.
pub const NINETY: f64 = 1.644_853_626_951_472_7;

/// The spread of an input.
#[derive(Debug, Clone, PartialEq)]
pub enum Law {
    /// Known for this purpose.
    Fixed(f64),
    /// Rectangular between hard bounds (JCGM 101, 6.4.2).
    Uniform {
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
    },
    /// Normal.
    Normal {
        /// Mean.
        mean: f64,
        /// Standard deviation.
        sd: f64,
    },
    /// Normal in the logarithm.
    LogNormal {
        /// Median.
        median: f64,
        /// Standard deviation of the logarithm.
        sd: f64,
    },
    /// Student's t in the logarithm: the level of a mean from few specimens.
    LogStudent {
        /// Median.
        median: f64,
        /// Scale of the logarithm.
        scale: f64,
        /// Degrees of freedom.
        freedom: f64,
    },
    /// Several sources: each draw picks one with equal weight, so that disagreement widens the answer.
    OneOf(Vec<Law>),
}

impl Law {
    /// A lognormal with 90 % between two values.
    pub fn between_90(low: f64, high: f64) -> Law {
        if low <= 0.0 || high <= low {
            return Law::Fixed(high.max(low));
        }
        Law::LogNormal { median: libm::sqrt(low * high), sd: libm::log(high / low) / (2.0 * NINETY) }
    }
    /// A lognormal of a median with a coefficient of variation.
    pub fn with_cv(median: f64, cv: f64) -> Law {
        Law::LogNormal { median, sd: ln_sd(cv) }
    }
    /// The middle of the law.
    pub fn median(&self) -> f64 {
        match self {
            Law::Fixed(v) => *v,
            Law::Uniform { low, high } => (low + high) / 2.0,
            Law::Normal { mean, .. } => *mean,
            Law::LogNormal { median, .. } | Law::LogStudent { median, .. } => *median,
            Law::OneOf(all) => {
                let mut middles: Vec<f64> = all.iter().map(Law::median).collect();
                middles.sort_by(f64::total_cmp);
                match middles.len() {
                    0 => f64::NAN,
                    n if n % 2 == 1 => middles[n / 2],
                    n => (middles[n / 2 - 1] + middles[n / 2]) / 2.0,
                }
            }
        }
    }
    /// Whether the law lives in the logarithm.
    pub fn logarithmic(&self) -> bool {
        match self {
            Law::LogNormal { .. } | Law::LogStudent { .. } => true,
            Law::OneOf(all) => all.iter().all(Law::logarithmic),
            Law::Fixed(_) | Law::Uniform { .. } | Law::Normal { .. } => false,
        }
    }
    /// Standard uncertainty: of the logarithm for a logarithmic law, of the value else. `None` where it has no closed form.
    pub fn uncertainty(&self) -> Option<f64> {
        match self {
            Law::Fixed(_) => Some(0.0),
            Law::Uniform { low, high } => Some((high - low) / libm::sqrt(12.0)),
            Law::Normal { sd, .. } | Law::LogNormal { sd, .. } => Some(*sd),
            Law::LogStudent { scale, freedom, .. } if *freedom > 2.0 => Some(scale * libm::sqrt(freedom / (freedom - 2.0))),
            Law::LogStudent { .. } | Law::OneOf(_) => None,
        }
    }
    /// The same law with every value times a factor.
    pub fn times(&self, factor: f64) -> Law {
        match self {
            Law::Fixed(v) => Law::Fixed(v * factor),
            Law::Uniform { low, high } => Law::Uniform { low: low * factor, high: high * factor },
            Law::Normal { mean, sd } => Law::Normal { mean: mean * factor, sd: sd * factor },
            Law::LogNormal { median, sd } => Law::LogNormal { median: median * factor, sd: *sd },
            Law::LogStudent { median, scale, freedom } => {
                Law::LogStudent { median: median * factor, scale: *scale, freedom: *freedom }
            }
            Law::OneOf(all) => Law::OneOf(all.iter().map(|l| l.times(factor)).collect()),
        }
    }
    /// The draws of an input of that name: the same for the same seed, name and law on every machine.
    pub fn draws(&self, name: &str, seed: u64, count: usize) -> Vec<f64> {
        let mut values = vec![0.0; count];
        Drawer::of(self, name, seed).fill(&mut values);
        values
    }
    /// The draws of several laws of that name. The deviates that normal laws draw alike are drawn once.
    pub fn all_draws(laws: &[&Law], name: &str, seed: u64, count: usize) -> Vec<Vec<f64>> {
        let is_normal = |law: &Law| matches!(law, Law::Normal { .. } | Law::LogNormal { .. });
        if laws.iter().filter(|law| is_normal(law)).count() < 2 {
            return laws.iter().map(|law| law.draws(name, seed, count)).collect();
        }
        let deviates = Law::Normal { mean: 0.0, sd: 1.0 }.draws(name, seed, count);
        let draws = |law: &&Law| match **law {
            Law::Normal { mean, sd } => deviates.iter().map(|z| mean + sd * z).collect(),
            Law::LogNormal { median, sd } => {
                let mut values = deviates.clone();
                lognormal(median, sd, &mut values);
                values
            }
            _ => law.draws(name, seed, count),
        };
        laws.iter().map(draws).collect()
    }
    fn draw(&self, stream: &mut Stream) -> f64 {
        match self {
            Law::Fixed(v) => *v,
            Law::Uniform { low, high } => low + (high - low) * stream.unit(),
            Law::Normal { mean, sd } => mean + sd * stream.normal(),
            Law::LogNormal { median, sd } => {
                let mut one = [stream.normal()];
                lognormal(*median, *sd, &mut one);
                one[0]
            }
            Law::LogStudent { median, scale, freedom } => median * libm::exp(scale * stream.student(*freedom)),
            Law::OneOf(all) => {
                // The pick is below the length, because a unit draw is below one.
                let pick = (stream.unit() * all.len() as f64) as usize;
                all.get(pick).map_or(f64::NAN, |law| law.draw(stream))
            }
        }
    }
}

/// The draws of one input, as many at a time as are wanted.
pub struct Drawer<'l> {
    law: &'l Law,
    stream: Stream,
}

impl<'l> Drawer<'l> {
    /// At the beginning of the stream of that name.
    pub fn of(law: &'l Law, name: &str, seed: u64) -> Drawer<'l> {
        Drawer { law, stream: Stream::of(name, seed) }
    }
    /// The next draws.
    pub fn fill(&mut self, into: &mut [f64]) {
        let stream = &mut self.stream;
        match self.law {
            Law::Fixed(v) => into.fill(*v),
            Law::Uniform { low, high } => {
                stream.units(into);
                into.iter_mut().for_each(|x| *x = low + (high - low) * *x);
            }
            Law::Normal { mean, sd } => {
                stream.normals(into);
                into.iter_mut().for_each(|x| *x = mean + sd * *x);
            }
            Law::LogNormal { median, sd } => {
                stream.normals(into);
                lognormal(*median, *sd, into);
            }
            law => into.iter_mut().for_each(|x| *x = law.draw(stream)),
        }
    }
}

/// Turns normal deviates into lognormal values.
fn lognormal(median: f64, sd: f64, values: &mut [f64]) {
    values.iter_mut().for_each(|z| *z *= sd);
    exponentials(values);
    values.iter_mut().for_each(|x| *x *= median);
}

/// Standard deviation of the logarithm for a coefficient of variation.
pub fn ln_sd(cv: f64) -> f64 {
    libm::sqrt(libm::log1p(cv * cv))
}

/// Random numbers made in one go.
const FEW: usize = 64;

/// A number above 0 and below 1 of 64 random bits.
fn unit(bits: u64) -> f64 {
    const SCALE: f64 = 1.0 / (1u64 << 53) as f64;
    ((bits >> 11) as f64 + 0.5) * SCALE
}

/// A stream of random numbers of one input.
struct Stream(ChaCha8Rng);

impl Stream {
    fn of(name: &str, seed: u64) -> Stream {
        let hash = Sha256::digest(name.as_bytes());
        let number = hash.iter().take(8).fold(0u64, |n, b| (n << 8) | u64::from(*b));
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(number);
        Stream(rng)
    }
    /// Above 0 and below 1.
    fn unit(&mut self) -> f64 {
        unit(self.0.next_u64())
    }
    /// The same many times over.
    fn units(&mut self, into: &mut [f64]) {
        let mut bytes = [0; 8 * FEW];
        for some in into.chunks_mut(FEW) {
            let bytes = &mut bytes[..8 * some.len()];
            self.0.fill_bytes(bytes);
            let (words, _) = bytes.as_chunks::<8>();
            some.iter_mut().zip(words).for_each(|(x, word)| *x = unit(u64::from_le_bytes(*word)));
        }
    }
    fn normal(&mut self) -> f64 {
        normal_quantile(self.unit())
    }
    /// The same many times over.
    fn normals(&mut self, into: &mut [f64]) {
        self.units(into);
        normal_quantiles(into);
    }
    /// Exact from two uniforms: R. W. Bailey, Polar generation of random variates with the t-distribution, Math. Comp. 62 (1994).
    fn student(&mut self, freedom: f64) -> f64 {
        let (u, v) = (self.unit(), self.unit());
        let radius = libm::sqrt(freedom * libm::expm1(-2.0 / freedom * libm::log(u)));
        radius * libm::cos(2.0 * std::f64::consts::PI * v)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::statistics::distribution::student_quantile;

    #[test]
    fn laws_of_one_name_drawn_together_are_drawn_as_each_alone() {
        let laws = [
            Law::LogNormal { median: 2.0, sd: 0.3 },
            Law::Uniform { low: 1.0, high: 2.0 },
            Law::Normal { mean: 5.0, sd: 2.0 },
            Law::Fixed(3.0),
            Law::LogNormal { median: 1.0, sd: 0.1 },
        ];
        for some in [&laws[..], &laws[..2], &laws[3..]] {
            let together = Law::all_draws(&some.iter().collect::<Vec<_>>(), "x", 9, 300);
            let alone: Vec<Vec<f64>> = some.iter().map(|law| law.draws("x", 9, 300)).collect();
            assert_eq!(together, alone);
        }
    }

    #[test]
    fn many_draws_are_the_draws_one_by_one() {
        for law in
            [Law::LogNormal { median: 2.0, sd: 0.3 }, Law::Uniform { low: 1.0, high: 2.0 }, Law::Normal { mean: 5.0, sd: 2.0 }]
        {
            let mut stream = Stream::of("x", 4);
            let alone: Vec<f64> = (0..1_000).map(|_| law.draw(&mut stream)).collect();
            assert_eq!(law.draws("x", 4, 1_000), alone);
            // In pieces of any length.
            let mut pieces = vec![0.0; 1_000];
            let mut drawer = Drawer::of(&law, "x", 4);
            pieces.chunks_mut(77).for_each(|piece| drawer.fill(piece));
            assert_eq!(pieces, alone);
        }
    }

    fn quantile(mut draws: Vec<f64>, p: f64) -> f64 {
        draws.sort_by(f64::total_cmp);
        draws[(p * draws.len() as f64) as usize]
    }

    #[test]
    fn student_draws_have_the_quantiles_of_student() {
        let law = Law::LogStudent { median: 1.0, scale: 1.0, freedom: 4.0 };
        let draws: Vec<f64> = law.draws("t", 1, 200_000).into_iter().map(libm::log).collect();
        for p in [0.05, 0.5, 0.95] {
            let want = student_quantile(p, 4.0);
            assert!((quantile(draws.clone(), p) - want).abs() < 0.03, "p {p}");
        }
    }

    #[test]
    fn a_new_input_does_not_disturb_the_others() {
        let law = Law::LogNormal { median: 40e6, sd: 0.1 };
        let alone = law.draws("tensile strength", 7, 5);
        Law::Fixed(1.0).draws("another", 7, 5);
        assert_eq!(alone, law.draws("tensile strength", 7, 5));
        assert_ne!(alone, law.draws("shear strength", 7, 5));
        assert_ne!(alone, law.draws("tensile strength", 8, 5));
    }

    #[test]
    fn several_sources_widen_the_spread() {
        let one = Law::LogNormal { median: 40.0, sd: 0.1 };
        let two = Law::OneOf(vec![one.clone(), Law::LogNormal { median: 60.0, sd: 0.1 }]);
        let width = |law: &Law| {
            let draws = law.draws("x", 3, 20_000);
            quantile(draws.clone(), 0.95) / quantile(draws, 0.05)
        };
        assert!(width(&two) > 1.3 * width(&one));
    }
}
