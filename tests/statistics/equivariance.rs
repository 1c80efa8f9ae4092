//! Shift and scale: what must move with the numbers, and what must not. The laws are of the definitions (hand).

use gripbook::statistics::bound::{BoundKind, Form, lower_bound, order_bound, pooled_spread};
use gripbook::statistics::combine::{BetweenVariance, Estimate, common_mean, random_effects};
use gripbook::statistics::compare::{equivalence_of_ratio, hedges_g, ratio_of_means, welch};
use gripbook::statistics::exact::{mann_whitney, permutation_test};
use gripbook::statistics::line::fit_line;
use gripbook::statistics::many::{anova, bartlett, batch_effect, brown_forsythe, kruskal_wallis, welch_anova};
use gripbook::statistics::outlier::{GrubbsSide, grubbs};
use gripbook::statistics::summary::{lag_one_autocorrelation, robust_summary, summary};
use gripbook::statistics::tolerance::{CoverageConfidence, FIVE_AT_75};
use gripbook::statistics::weibull::weibull_fit;
use proptest::prelude::*;

/// Loads of a bench: three digits, as they are read.
fn loads(n: std::ops::Range<usize>) -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec((100u32..2000).prop_map(f64::from), n)
        .prop_filter("not all equal", |v| v.iter().any(|x| x.to_bits() != v[0].to_bits()))
}

/// A shift in N and a scale: N to kN, to lbf, to mN.
fn change() -> impl Strategy<Value = (f64, f64)> {
    (-50.0..500.0_f64, prop::sample::select(vec![1e-3, 0.224_808_943, 1e3, 3.7]))
}

fn near(name: &str, got: f64, want: f64, size: f64) {
    assert!((got - want).abs() <= 1e-8 * size.abs().max(want.abs()), "{name}: {got:e} for {want:e}");
}

fn moved(values: &[f64], shift: f64, scale: f64) -> Vec<f64> {
    values.iter().map(|v| (v + shift) * scale).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn one_series(values in loads(3..9), (shift, scale) in change(), turn in 0usize..9) {
        let other = moved(&values, shift, scale);
        let size = 3000.0 * scale;
        let to = |x: f64| (x + shift) * scale;
        let (a, b) = (summary(&values).unwrap(), summary(&other).unwrap());
        for (name, was, is) in [("mean", a.mean, b.mean), ("median", a.median, b.median), ("min", a.min, b.min), ("max", a.max, b.max)] {
            near(name, is, to(was), size);
        }
        near("sd", b.sd, a.sd * scale, size);
        near("sd, divisor n", b.sd_divisor_n, a.sd_divisor_n * scale, size);
        near("standard error", b.standard_error, a.standard_error * scale, size);
        let (i, j) = (a.mean_interval(0.9).unwrap(), b.mean_interval(0.9).unwrap());
        near("mean interval", j.low, to(i.low), size);
        near("mean interval", j.high, to(i.high), size);
        near("sd interval", b.sd_interval(0.9).unwrap().high, a.sd_interval(0.9).unwrap().high * scale, size);
        let (r, s) = (robust_summary(&values).unwrap(), robust_summary(&other).unwrap());
        near("deviation from the median", s.scaled_mad, r.scaled_mad * scale, size);
        near("autocorrelation", lag_one_autocorrelation(&other).unwrap(), lag_one_autocorrelation(&values).unwrap(), 1.0);
        for side in [GrubbsSide::Either, GrubbsSide::Low, GrubbsSide::High] {
            // Three values are too few for it, before and after.
            let (g, h) = (grubbs(&values, 0.05, side), grubbs(&other, 0.05, side));
            prop_assert_eq!((g.is_ok(), h.is_ok()), (values.len() > 3, values.len() > 3));
            if let (Ok(g), Ok(h)) = (g, h) {
                near("outlier", h.statistic, g.statistic, 1.0);
                prop_assert_eq!(h.suspect, g.suspect);
            }
        }
        // The order in which specimens are written down says nothing, except to the correlation of neighbours.
        let mut turned = values.clone();
        turned.rotate_left(turn % values.len());
        near("order", summary(&turned).unwrap().sd, a.sd, size);
        near("order", summary(&turned).unwrap().mean, a.mean, size);
    }

    #[test]
    fn bounds(values in loads(4..9), (_, scale) in change()) {
        let kinds = [BoundKind::Tolerance(FIVE_AT_75), BoundKind::Predictive { coverage: 0.95 }];
        let other = moved(&values, 0.0, scale);
        let size = 3000.0 * scale;
        for kind in kinds {
            for form in [Form::Normal, Form::Lognormal] {
                // A load below zero is refused, in every unit.
                let (a, b) = (lower_bound(&values, form, kind), lower_bound(&other, form, kind));
                prop_assert_eq!(a.is_ok(), b.is_ok());
                if let (Ok(a), Ok(b)) = (a, b) {
                    near("bound", b.value, a.value * scale, size);
                    near("factor", b.k, a.k, 1.0);
                }
            }
            let by_thousand = lower_bound(&moved(&values, 1e5, 1.0), Form::Normal, kind).unwrap();
            let (s, k) = (summary(&values).unwrap(), by_thousand.k);
            near("shifted bound", by_thousand.value, s.mean + 1e5 - k * s.sd, 1e5);
        }
        let ask = CoverageConfidence { coverage: 0.5, confidence: 0.75 };
        if let (Ok(a), Ok(b)) = (order_bound(&values, ask), order_bound(&other, ask)) {
            near("order bound", b.value, a.value * scale, size);
            prop_assert_eq!(a.rank, b.rank);
        }
        let (f, g) = (weibull_fit(&values, &[]), weibull_fit(&other, &[]));
        if let (Ok(f), Ok(g)) = (f, g) {
            prop_assert!((f.shape / g.shape - 1.0).abs() < 1e-6, "{} {}", f.shape, g.shape);
            prop_assert!((f.scale * scale / g.scale - 1.0).abs() < 1e-6, "{} {}", f.scale, g.scale);
        }
        let (p, q) = (pooled_spread(&[&values, &values]).unwrap(), pooled_spread(&[&other, &values]).unwrap());
        near("spread of logs", q.sd_of_logs, p.sd_of_logs, 1.0);
    }

    #[test]
    fn two_series(first in loads(3..7), second in loads(3..7), (shift, scale) in change()) {
        let (f, s) = (moved(&first, shift, scale), moved(&second, shift, scale));
        let size = 3000.0 * scale;
        let (a, b) = (welch(&first, &second, 0.9).unwrap(), welch(&f, &s, 0.9).unwrap());
        near("difference", b.difference, a.difference * scale, size);
        near("interval", b.interval.low, a.interval.low * scale, size);
        near("t", b.t, a.t, 1.0);
        near("p", b.p, a.p, 1.0);
        near("g", hedges_g(&f, &s).unwrap().g, hedges_g(&first, &second).unwrap().g, 1.0);
        // Changing sides changes the sign and nothing else.
        let back = welch(&second, &first, 0.9).unwrap();
        near("sides", back.difference, -a.difference, 3000.0);
        near("sides", back.p, a.p, 1.0);
        // A ratio knows no unit.
        let (f, s) = (moved(&first, 0.0, scale), moved(&second, 0.0, scale));
        let (a, b) = (ratio_of_means(&first, &second, 0.9).unwrap(), ratio_of_means(&f, &s, 0.9).unwrap());
        near("ratio", b.ratio, a.ratio, 1.0);
        near("ratio interval", b.interval.high, a.interval.high, 1.0);
        let (a, b) = (equivalence_of_ratio(&first, &second, 0.2, 0.05), equivalence_of_ratio(&f, &s, 0.2, 0.05));
        if let (Ok(a), Ok(b)) = (a, b) {
            near("equivalence", b.p, a.p, 1.0);
        }
        let back = ratio_of_means(&second, &first, 0.9).unwrap();
        near("ratio, sides changed", back.ratio * ratio_of_means(&first, &second, 0.9).unwrap().ratio, 1.0, 1.0);
    }

    /// Ranks know only the order; whole numbers keep ties ties.
    #[test]
    fn ranks(first in loads(3..6), second in loads(3..6)) {
        let rising = |v: &[f64]| v.iter().map(|x| x * x + 7.0).collect::<Vec<f64>>();
        // Ties are refused by the exact test.
        let (a, b) = (mann_whitney(&first, &second), mann_whitney(&rising(&first), &rising(&second)));
        prop_assert_eq!(a.is_ok(), b.is_ok());
        if let (Ok(a), Ok(b)) = (a, b) {
            prop_assert_eq!((a.p.to_bits(), a.statistic.to_bits()), (b.p.to_bits(), b.statistic.to_bits()));
        }
        let groups = |f: &[f64], s: &[f64]| kruskal_wallis(&[f, s]).unwrap();
        near("kruskal", groups(&rising(&first), &rising(&second)).statistic, groups(&first, &second).statistic, 1.0);
        // A permutation test counts arrangements at least as far apart: doubling every load moves none.
        let double = |v: &[f64]| v.iter().map(|x| 2.0 * x).collect::<Vec<f64>>();
        let (a, b) = (permutation_test(&first, &second).unwrap(), permutation_test(&double(&first), &double(&second)).unwrap());
        prop_assert_eq!(a.p.to_bits(), b.p.to_bits());
        near("one-sided shares", a.p_less + a.p_greater, b.p_less + b.p_greater, 1.0);
    }

    #[test]
    fn many_series(a in loads(3..6), b in loads(3..6), c in loads(3..6), (shift, scale) in change()) {
        let was = [&*a, &*b, &*c];
        let (x, y, z) = (moved(&a, shift, scale), moved(&b, shift, scale), moved(&c, shift, scale));
        let is = [&*x, &*y, &*z];
        near("F", anova(&is).unwrap().f, anova(&was).unwrap().f, 1.0);
        near("share", anova(&is).unwrap().r_squared, anova(&was).unwrap().r_squared, 1.0);
        near("residual", anova(&is).unwrap().residual_sd, anova(&was).unwrap().residual_sd * scale, 3000.0 * scale);
        near("Welch", welch_anova(&is).unwrap().f, welch_anova(&was).unwrap().f, 1.0);
        near("Bartlett", bartlett(&is).unwrap().p, bartlett(&was).unwrap().p, 1.0);
        if let (Ok(i), Ok(w)) = (brown_forsythe(&is), brown_forsythe(&was)) {
            near("Brown and Forsythe", i.f, w.f, 1.0);
        }
        let (i, w) = (batch_effect(&is).unwrap(), batch_effect(&was).unwrap());
        near("share between batches", i.between_share, w.between_share, 1.0);
        near("effective n", i.effective_n, w.effective_n, 1.0);
        // The order of the groups is no order.
        near("order", anova(&[&c, &a, &b]).unwrap().f, anova(&was).unwrap().f, 1.0);
    }

    #[test]
    fn lines_and_sources(values in loads(4..8), (shift, scale) in change()) {
        let x: Vec<f64> = (0..values.len()).map(|i| i as f64).collect();
        let (a, b) = (fit_line(&x, &values).unwrap(), fit_line(&x, &moved(&values, shift, scale)).unwrap());
        let size = 3000.0 * scale;
        near("slope", b.slope, a.slope * scale, size);
        near("intercept", b.intercept, (a.intercept + shift) * scale, size);
        near("residual", b.residual_sd, a.residual_sd * scale, size);
        near("correlation", b.correlation, a.correlation, 1.0);
        near("error", b.error_at(1.5), a.error_at(1.5) * scale, size);
        let list = |shift: f64, scale: f64| -> Vec<Estimate> {
            let one = |(i, v): (usize, &f64)| Estimate { value: (v + shift) * scale, uncertainty: (20.0 + 5.0 * i as f64) * scale };
            values.iter().enumerate().map(one).collect()
        };
        let (a, b) = (common_mean(&list(0.0, 1.0)).unwrap(), common_mean(&list(shift, scale)).unwrap());
        near("common mean", b.mean, (a.mean + shift) * scale, size);
        near("Q", b.q, a.q, 1.0);
        for method in [BetweenVariance::DerSimonianLaird, BetweenVariance::PauleMandel, BetweenVariance::Reml] {
            let (a, b) = (random_effects(&list(0.0, 1.0), method, 0.9), random_effects(&list(shift, scale), method, 0.9));
            if let (Ok(a), Ok(b)) = (a, b) {
                // The two iterations stop at a tolerance of their own.
                prop_assert!((b.mean - (a.mean + shift) * scale).abs() < 1e-5 * size, "{method:?} {} {}", a.mean, b.mean);
                prop_assert!((b.between_variance - a.between_variance * scale * scale).abs() < 1e-5 * size * size, "{method:?}");
            }
        }
    }
}
