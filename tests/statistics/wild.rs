//! Wild numbers: every function refuses or answers with numbers, never with NaN and never with a panic.

use gripbook::statistics::bound::{BoundKind, Form, lower_bound, pooled_spread};
use gripbook::statistics::combine::{BetweenVariance, Estimate, random_effects};
use gripbook::statistics::compare::{equivalence_of_ratio, hedges_g, ratio_of_means, welch};
use gripbook::statistics::exact::{mann_whitney, permutation_test};
use gripbook::statistics::line::fit_line;
use gripbook::statistics::many::{anova, bartlett, kruskal_wallis, welch_anova};
use gripbook::statistics::outlier::{GrubbsSide, grubbs};
use gripbook::statistics::round::{HalfRule, round_numbers_with_uncertainty, round_to_places};
use gripbook::statistics::summary::{lag_one_autocorrelation, robust_summary, summary};
use gripbook::statistics::tolerance::FIVE_AT_75;
use gripbook::statistics::weibull::weibull_fit;
use proptest::prelude::*;

fn value() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => 1.0..1000.0_f64,
        1 => Just(5.0),
        1 => prop::num::f64::ANY,
        1 => prop::sample::select(vec![0.0, -0.0, -3.0, f64::NAN, f64::INFINITY, 1e-300, 1e300, 1e12]),
    ]
}

fn series() -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec(value(), 0..7)
}

fn is_number(name: &str, list: &[f64]) {
    assert!(list.iter().all(|v| !v.is_nan()), "{name}: {list:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn one_series(values in series()) {
        if let Ok(s) = summary(&values) {
            is_number("summary", &[s.mean, s.sd, s.median, s.standard_error]);
            prop_assert!(s.min <= s.max);
            if let Ok(i) = s.mean_interval(0.95) {
                is_number("mean interval", &[i.low, i.high]);
            }
            if let Ok(i) = s.cv_interval(0.95) {
                is_number("cv interval", &[i.low, i.high]);
                prop_assert!(i.low <= i.high);
            }
        }
        if let Ok(r) = robust_summary(&values) {
            is_number("robust", &[r.median, r.mad]);
        }
        if let Ok(r) = lag_one_autocorrelation(&values) {
            is_number("autocorrelation", &[r]);
        }
        for form in [Form::Normal, Form::Lognormal] {
            for kind in [BoundKind::Tolerance(FIVE_AT_75), BoundKind::Predictive { coverage: 0.95 }] {
                if let Ok(b) = lower_bound(&values, form, kind) {
                    is_number("bound", &[b.value, b.k]);
                    prop_assert!(b.value >= 0.0);
                }
            }
        }
        if let Ok(g) = grubbs(&values, 0.05, GrubbsSide::Either) {
            is_number("grubbs", &[g.statistic, g.critical]);
        }
        if let Ok(fit) = weibull_fit(&values, &[]) {
            is_number("weibull", &[fit.shape, fit.scale, fit.se_ln_scale, fit.se_ln_shape]);
        }
    }

    #[test]
    fn two_series(first in series(), second in series()) {
        if let Ok(w) = welch(&first, &second, 0.95) {
            is_number("welch", &[w.t, w.p, w.degrees_of_freedom, w.interval.low]);
        }
        if let Ok(r) = ratio_of_means(&first, &second, 0.95) {
            is_number("ratio", &[r.ratio, r.interval.low, r.interval.high]);
        }
        if let Ok(e) = hedges_g(&first, &second) {
            is_number("hedges", &[e.d, e.g]);
        }
        if let Ok(e) = equivalence_of_ratio(&first, &second, 0.15, 0.05) {
            is_number("equivalence", &[e.p]);
        }
        for test in [permutation_test(&first, &second), mann_whitney(&first, &second)].into_iter().flatten() {
            is_number("exact", &[test.p, test.floor]);
            prop_assert!(test.floor <= test.p && test.p <= 1.0, "{test:?}");
        }
        if let Ok(l) = fit_line(&first, &second) {
            is_number("line", &[l.slope, l.intercept, l.slope_error]);
        }
        if let Ok(p) = pooled_spread(&[&first, &second]) {
            is_number("pooled", &[p.sd_of_logs]);
        }
        let estimates: Vec<Estimate> =
            first.iter().zip(&second).map(|(v, u)| Estimate { value: *v, uncertainty: *u }).collect();
        for method in [BetweenVariance::DerSimonianLaird, BetweenVariance::PauleMandel, BetweenVariance::Reml] {
            if let Ok(r) = random_effects(&estimates, method, 0.95) {
                is_number("random effects", &[r.mean, r.between_variance, r.standard_error]);
            }
        }
    }

    #[test]
    fn three_series(a in series(), b in series(), c in series()) {
        let groups = [a.as_slice(), b.as_slice(), c.as_slice()];
        if let Ok(t) = anova(&groups) {
            is_number("anova", &[t.f, t.p, t.r_squared]);
        }
        if let Ok(t) = welch_anova(&groups) {
            is_number("welch anova", &[t.f, t.p]);
        }
        if let Ok(t) = bartlett(&groups) {
            is_number("bartlett", &[t.statistic, t.p]);
        }
        if let Ok(t) = kruskal_wallis(&groups) {
            is_number("kruskal", &[t.statistic, t.p]);
        }
    }

    #[test]
    fn rounding(text in "[-+0-9.eE]{0,12}", places in -12..12_i32, v in value(), u in value()) {
        if let Ok(rounded) = round_to_places(&text, places, HalfRule::ToEven) {
            let (was, is): (f64, f64) = (text.trim().parse().unwrap(), rounded.parse().unwrap());
            let half = 0.5 * 10_f64.powi(-places);
            // A power of ten beyond all numbers is infinite before and after.
            prop_assert!(was == is || (was - is).abs() <= half * (1.0 + 1e-9) + 1e-12 * was.abs(), "{text} {rounded}");
        }
        if let Ok(pair) = round_numbers_with_uncertainty(v, u, 2) {
            let back: f64 = pair.uncertainty.parse().unwrap();
            prop_assert!((back / u - 1.0).abs() < 0.051, "{u} {pair:?}");
        }
    }
}
