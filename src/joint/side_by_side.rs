//! Normal quantiles and exponentials of many values at once: what stands in the middle of every draw, without cases, so that
//! the processor works on several values side by side. Additions and multiplications alone, so the same bits on every machine.

/// Values worked on in one go.
const FEW: usize = 64;

/// The normal quantile of each value, in place: M. J. Wichura, algorithm AS 241 (1988), one rational function a region. Ten
/// times faster than the iterated one of the statistics stage, against which a test holds it.
pub(super) fn normal_quantiles(values: &mut [f64]) {
    values.chunks_mut(FEW).for_each(quantiles::<FEW>);
}

/// The same of one value.
pub(super) fn normal_quantile(p: f64) -> f64 {
    let mut one = [p];
    quantiles::<1>(&mut one);
    one[0]
}

/// Of at most so many.
fn quantiles<const MOST: usize>(few: &mut [f64]) {
    let mut given = [0.0; MOST];
    let given = &mut given[..few.len()];
    given.copy_from_slice(few);
    // All by the function of the middle first, then those in the tails, put together.
    few.iter_mut().for_each(|p| *p = central_quantile(*p - 0.5));
    let (mut places, mut roots, mut count) = ([0; MOST], [0.0; MOST], 0);
    for (place, p) in given.iter().enumerate() {
        places[count] = place;
        roots[count] = if *p < 0.5 { *p } else { 1.0 - *p };
        count += usize::from((*p - 0.5).abs() > CENTRAL);
        if count == MOST {
            break;
        }
    }
    let (places, roots) = (&places[..count], &mut roots[..count]);
    logarithms(roots);
    roots.iter_mut().for_each(|ln| *ln = libm::sqrt(-*ln));
    for (place, r) in places.iter().zip(roots) {
        let z = quantile_of_tail(*r);
        few[*place] = if given[*place] < 0.5 { -z } else { z };
    }
}

/// The exponential of each value, in place, to two units in the last place.
pub(super) fn exponentials(values: &mut [f64]) {
    near_or_exact(values, near_exponential, |x| x.is_nan() || x.abs() > FAR, libm::exp);
}

/// The natural logarithm of each value, in place, to two units in the last place.
pub(super) fn logarithms(values: &mut [f64]) {
    near_or_exact(values, near_logarithm, |x| !(f64::MIN_POSITIVE..=f64::MAX).contains(&x), libm::log);
}

/// All by the function without cases first, then those beyond its reach by the one of the library.
fn near_or_exact(values: &mut [f64], near: impl Fn(f64) -> f64, is_beyond: impl Fn(f64) -> bool, exact: fn(f64) -> f64) {
    for few in values.chunks_mut(FEW) {
        let mut given = [0.0; FEW];
        let given = &mut given[..few.len()];
        given.copy_from_slice(few);
        few.iter_mut().for_each(|x| *x = near(*x));
        for (y, x) in few.iter_mut().zip(given) {
            if is_beyond(*x) {
                *y = exact(*x);
            }
        }
    }
}

/// Beyond this a power of two may not fit.
const FAR: f64 = 700.0;
/// Added and taken off again, it leaves a whole number; that number stands in the last bits of the sum.
const WHOLE: f64 = 6_755_399_441_055_744.0;
/// ln 2 in two parts, the first with room for a whole number before it.
const LN_2: (f64, f64) = (6.931_471_803_691_238e-1, 1.908_214_929_270_587_7e-10);
/// Terms of the series: the fourteenth is below 4e-18 of the sum where it is used.
const TERMS: [f64; 13] = [
    1.0 / 6_227_020_800.0,
    1.0 / 479_001_600.0,
    1.0 / 39_916_800.0,
    1.0 / 3_628_800.0,
    1.0 / 362_880.0,
    1.0 / 40_320.0,
    1.0 / 5_040.0,
    1.0 / 720.0,
    1.0 / 120.0,
    1.0 / 24.0,
    1.0 / 6.0,
    0.5,
    1.0,
];

/// Series of the logarithm in the square of s = f/(2 + f): K. C. Ng's coefficients in the `e_log.c` of FreeBSD's libm (1993).
const OF_SQUARE: [f64; 7] = [
    1.479_819_860_511_658_6e-1,
    1.531_383_769_920_937_3e-1,
    1.818_357_216_161_805e-1,
    2.222_219_843_214_978_4e-1,
    2.857_142_874_366_239e-1,
    3.999_999_999_940_942e-1,
    6.666_666_666_666_735e-1,
];
/// Bits of √½, from which to √2 the series is used.
const LEAST: u64 = 0x3FE6_A09E_667F_3BCD;
/// Bits of 2⁵², and that number with the offset of exponents.
const WHOLE_BITS: u64 = 0x4330_0000_0000_0000;
const WITH_OFFSET: f64 = 4_503_599_627_370_496.0 + 1_023.0;

/// ln x = n ln 2 + ln m, with x = 2ⁿ m and m next to one.
fn near_logarithm(x: f64) -> f64 {
    let bits = x.to_bits();
    let exponent = bits.wrapping_sub(LEAST).wrapping_add(1023 << 52) >> 52;
    let n = f64::from_bits(WHOLE_BITS | exponent) - WITH_OFFSET;
    let f = f64::from_bits(bits.wrapping_sub(exponent.wrapping_sub(1023) << 52)) - 1.0;
    let s = f / (2.0 + f);
    let square = s * s;
    let series = OF_SQUARE.iter().fold(0.0, |sum, term| sum * square + term) * square;
    let half = 0.5 * f * f;
    n * LN_2.0 - ((half - (s * (half + series) + n * LN_2.1)) - f)
}

/// exp x = 2ⁿ exp(x - n ln 2), with the nearest whole n and the series of the rest.
fn near_exponential(x: f64) -> f64 {
    let sum = x * std::f64::consts::LOG2_E + WHOLE;
    let n = sum - WHOLE;
    let rest = (x - n * LN_2.0) - n * LN_2.1;
    let series = TERMS.iter().fold(0.0, |sum, term| sum * rest + term) * rest + 1.0;
    series * f64::from_bits(sum.to_bits().wrapping_add(1023) << 52)
}

/// How far from the middle the central function reaches.
const CENTRAL: f64 = 0.425;

fn central_quantile(q: f64) -> f64 {
    let r = 0.180625 - q * q;
    q * polynomial(&A, r) / polynomial(&B, r)
}

/// By r, the root of minus the logarithm of the tail.
fn quantile_of_tail(r: f64) -> f64 {
    if r <= 5.0 { polynomial(&C, r - 1.6) / polynomial(&D, r - 1.6) } else { polynomial(&E, r - 5.0) / polynomial(&F, r - 5.0) }
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
    use crate::statistics::distribution;

    #[test]
    fn the_quantile_agrees_with_the_iterated_one() {
        let all = [1e-12, 1e-6, 1e-3, 0.025, 0.07, 0.0751, 0.3, 0.5, 0.8, 0.9249, 0.95, 0.999, 1.0 - 1e-9];
        let mut together = all;
        normal_quantiles(&mut together);
        for (p, fast) in all.into_iter().zip(together) {
            let slow = distribution::normal_quantile(p);
            assert!((fast - slow).abs() <= 1e-9 * slow.abs().max(1.0), "p {p}: {fast} against {slow}");
            assert_eq!(fast.to_bits(), normal_quantile(p).to_bits(), "p {p}");
        }
    }

    #[test]
    fn the_exponential_agrees_with_that_of_the_library() {
        let mut all: Vec<f64> = (-70_000..70_000).map(|i| f64::from(i) * 0.009_997).collect();
        all.extend([0.0, -0.0, 1e-300, 745.0, -745.5, 709.7, 800.0, -800.0, f64::INFINITY, f64::NEG_INFINITY]);
        all.extend((1..400).map(|i| f64::from(i) * 0.5 * std::f64::consts::LN_2 - 70.0));
        let mut together = all.clone();
        exponentials(&mut together);
        for (x, fast) in all.into_iter().zip(together) {
            let slow = libm::exp(x);
            let apart = fast.to_bits().abs_diff(slow.to_bits());
            assert!(apart <= 2, "exp {x}: {fast} against {slow}, {apart} units in the last place");
        }
        let mut none = [f64::NAN];
        exponentials(&mut none);
        assert!(none[0].is_nan());
    }

    #[test]
    fn the_logarithm_agrees_with_that_of_the_library() {
        let mut all: Vec<f64> = (-70_000..70_000).map(|i| libm::exp(f64::from(i) * 0.009_997)).collect();
        all.extend((1..4_000).map(|i| 0.5 + f64::from(i) * 0.000_5));
        all.extend([0.0, -0.0, -1.0, 1.0, 2.0, 0.5, f64::from_bits(LEAST), f64::from_bits(LEAST - 1), std::f64::consts::SQRT_2]);
        all.extend([f64::MIN_POSITIVE, 5e-324, f64::MAX, f64::INFINITY, f64::NAN]);
        let mut together = all.clone();
        logarithms(&mut together);
        for (x, fast) in all.into_iter().zip(together) {
            let slow = libm::log(x);
            let near = (fast - slow).abs() <= 4.5e-16 * slow.abs() || fast.to_bits() == slow.to_bits();
            assert!(near || (fast.is_nan() && slow.is_nan()), "ln {x}: {fast} against {slow}");
        }
    }
}
