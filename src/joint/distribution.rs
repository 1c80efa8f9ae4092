//! How an input is spread, and how it is drawn.
//!
//! Every input has its own ChaCha8 stream, keyed by its name: adding an input does not disturb the others, and rival methods
//! that name the same input share its draws. All values are base SI.

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
            Law::LogNormal { median, sd } => deviates.iter().map(|z| median * libm::exp(sd * z)).collect(),
            _ => law.draws(name, seed, count),
        };
        laws.iter().map(draws).collect()
    }
    fn draw(&self, stream: &mut Stream) -> f64 {
        match self {
            Law::Fixed(v) => *v,
            Law::Uniform { low, high } => low + (high - low) * stream.unit(),
            Law::Normal { mean, sd } => mean + sd * stream.normal(),
            Law::LogNormal { median, sd } => median * libm::exp(sd * stream.normal()),
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
                into.iter_mut().for_each(|x| *x = median * libm::exp(sd * *x));
            }
            law => into.iter_mut().for_each(|x| *x = law.draw(stream)),
        }
    }
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
        fast_normal_quantile(self.unit())
    }
    /// The same many times over.
    fn normals(&mut self, into: &mut [f64]) {
        self.units(into);
        into.chunks_mut(FEW).for_each(normal_quantiles);
    }
    /// Exact from two uniforms: R. W. Bailey, Polar generation of random variates with the t-distribution, Math. Comp. 62 (1994).
    fn student(&mut self, freedom: f64) -> f64 {
        let (u, v) = (self.unit(), self.unit());
        let radius = libm::sqrt(freedom * libm::expm1(-2.0 / freedom * libm::log(u)));
        radius * libm::cos(2.0 * std::f64::consts::PI * v)
    }
}

/// Normal quantile by one rational function a region: M. J. Wichura, algorithm AS 241 (1988). Ten times faster than the
/// iterated one of the statistics stage, against which a test holds it.
fn fast_normal_quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= CENTRAL { central_quantile(q) } else { quantile_of_tail(p, q) }
}

/// The same of a few values, in place: all by the central function first, which the processor does side by side.
fn normal_quantiles(few: &mut [f64]) {
    let mut given = [0.0; FEW];
    let given = &mut given[..few.len()];
    given.copy_from_slice(few);
    few.iter_mut().for_each(|p| *p = central_quantile(*p - 0.5));
    for (z, p) in few.iter_mut().zip(given) {
        let q = *p - 0.5;
        if q.abs() > CENTRAL {
            *z = quantile_of_tail(*p, q);
        }
    }
}

/// How far from the middle the central function reaches.
const CENTRAL: f64 = 0.425;

fn central_quantile(q: f64) -> f64 {
    let r = 0.180625 - q * q;
    q * polynomial(&A, r) / polynomial(&B, r)
}

fn quantile_of_tail(p: f64, q: f64) -> f64 {
    let tail = if q < 0.0 { p } else { 1.0 - p };
    let r = libm::sqrt(-libm::log(tail));
    let z = if r <= 5.0 {
        polynomial(&C, r - 1.6) / polynomial(&D, r - 1.6)
    } else {
        polynomial(&E, r - 5.0) / polynomial(&F, r - 5.0)
    };
    if q < 0.0 { -z } else { z }
}

/// Horner's scheme, written out: it stands in the middle of every draw.
fn polynomial(c: &[f64; 8], x: f64) -> f64 {
    ((((((c[7] * x + c[6]) * x + c[5]) * x + c[4]) * x + c[3]) * x + c[2]) * x + c[1]) * x + c[0]
}

const A: [f64; 8] = [
    3.387_132_872_796_366_6,
    1.331_416_678_917_843_8e2,
    1.971_590_950_306_551_4e3,
    1.373_169_376_550_946e4,
    4.592_195_393_154_987e4,
    6.726_577_092_700_87e4,
    3.343_057_558_358_813e4,
    2.509_080_928_730_122_7e3,
];
const B: [f64; 8] = [
    1.0,
    4.231_333_070_160_091e1,
    6.871_870_074_920_579e2,
    5.394_196_021_424_751e3,
    2.121_379_430_158_659_7e4,
    3.930_789_580_009_271e4,
    2.872_908_573_572_194_3e4,
    5.226_495_278_852_854e3,
];
const C: [f64; 8] = [
    1.423_437_110_749_683_6,
    4.630_337_846_156_545,
    5.769_497_221_460_691,
    3.647_848_324_763_204_5,
    1.270_458_252_452_368_4,
    2.417_807_251_774_506e-1,
    2.272_384_498_926_918_4e-2,
    7.745_450_142_783_414e-4,
];
const D: [f64; 8] = [
    1.0,
    2.053_191_626_637_759,
    1.676_384_830_183_803_8,
    6.897_673_349_851e-1,
    1.481_039_764_274_800_8e-1,
    1.519_866_656_361_645_7e-2,
    5.475_938_084_995_345e-4,
    1.050_750_071_644_416_9e-9,
];
const E: [f64; 8] = [
    6.657_904_643_501_103,
    5.463_784_911_164_114,
    1.784_826_539_917_291_3,
    2.965_605_718_285_048_7e-1,
    2.653_218_952_657_612_4e-2,
    1.242_660_947_388_078_4e-3,
    2.711_555_568_743_487_6e-5,
    2.010_334_399_292_288_1e-7,
];
const F: [f64; 8] = [
    1.0,
    5.998_322_065_558_88e-1,
    1.369_298_809_227_358e-1,
    1.487_536_129_085_061_5e-2,
    7.868_691_311_456_133e-4,
    1.846_318_317_510_054_8e-5,
    1.421_511_758_316_446e-7,
    2.044_263_103_389_939_8e-15,
];

#[cfg(test)]
mod tests {
    use super::*;
    use crate::statistics::distribution::{normal_quantile, student_quantile};

    #[test]
    fn fast_quantile_agrees_with_the_iterated_one() {
        for p in [1e-12, 1e-6, 1e-3, 0.025, 0.07, 0.0751, 0.3, 0.5, 0.8, 0.9249, 0.95, 0.999, 1.0 - 1e-9] {
            let (fast, slow) = (fast_normal_quantile(p), normal_quantile(p));
            assert!((fast - slow).abs() <= 1e-9 * slow.abs().max(1.0), "p {p}: {fast} against {slow}");
        }
    }

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
