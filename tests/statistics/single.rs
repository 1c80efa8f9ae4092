//! Values the library gives for check rows about one sample: summaries, bounds, Weibull, outliers, planning, rounding.

use super::sets;
use super::table::{Row, lists, numbers};
use gripbook::statistics::bound::{BoundKind, Form, lower_bound, smallest_n_for_order_bound};
use gripbook::statistics::distribution::student_quantile;
use gripbook::statistics::outlier::{GrubbsSide, grubbs, grubbs_critical, grubbs_largest, grubbs_statistic};
use gripbook::statistics::power::{TestSides, power, sample_size, sample_size_for_relative_difference};
use gripbook::statistics::summary::{c4, cv_interval, lag_one_autocorrelation, moments, sd_interval_factors, summary};
use gripbook::statistics::tolerance::{
    A_BASIS, B_BASIS, CoverageConfidence, FIVE_AT_75, FIVE_AT_95, modified_cv, predictive_factor, predictive_factor_sigma_known,
    tolerance_factor,
};
use gripbook::statistics::weibull::{WeibullFit, unbiasing_factor, weibull_fit, weibull_pivots};

fn n(row: &Row) -> usize {
    numbers(&row.inputs)[0] as usize
}

/// NIST univariate sets: `uni-SET-WHAT`.
pub fn univariate(row: &Row) -> Option<Vec<f64>> {
    let mut parts = row.id.splitn(3, '-').skip(1);
    let values = sets::univariate(parts.next()?);
    let s = summary(&values).ok()?;
    Some(vec![match parts.next()? {
        "mean" => s.mean,
        "sd" => s.sd,
        "r1" => lag_one_autocorrelation(&values).ok()?,
        _ => return None,
    }])
}

/// The two series of three.
pub fn three(row: &Row) -> Option<Vec<f64>> {
    let values = lists(&row.inputs).remove(0);
    let s = summary(&values).ok()?;
    let interval = s.mean_interval(0.95).ok()?;
    let bound = |form, kind| Some(lower_bound(&values, form, kind).ok()?.value);
    let five = BoundKind::Tolerance(FIVE_AT_75);
    Some(vec![match row.id.split_once('-')?.1 {
        "mean" => s.mean,
        "CV" => s.cv().ok()?,
        "95" => interval.low,
        "95-2" => interval.high,
        "lower" => bound(Form::Normal, five)?,
        "lower-2" => bound(Form::Lognormal, five)?,
        "B-basis" => bound(Form::Normal, BoundKind::Tolerance(B_BASIS))?,
        "95-3" => bound(Form::Normal, BoundKind::Predictive { coverage: 0.95 })?,
        _ => return None,
    }])
}

/// Factors of a sample size alone.
pub fn factors(row: &Row) -> Option<Vec<f64>> {
    let head = row.id.split('-').next()?;
    Some(match head {
        "sdci" => {
            let i = sd_interval_factors(n(row), 0.95).ok()?;
            vec![i.low, i.high]
        }
        "c4" => vec![c4(n(row)).ok()?],
        "cvci" => {
            let given = numbers(&row.inputs);
            let i = cv_interval(given[0], given[1] as usize, 0.95).ok()?;
            vec![i.low, i.high]
        }
        "t975" => vec![student_quantile(0.975, n(row) as f64)],
        "modcv" => vec![modified_cv(numbers(&row.inputs)[0]).ok()?],
        "nonpar" => {
            let given = numbers(&row.inputs);
            let ask = CoverageConfidence { coverage: given[0], confidence: given[1] };
            vec![smallest_n_for_order_bound(ask).ok()? as f64]
        }
        "k" => vec![k(row)?],
        _ => return None,
    })
}

fn k(row: &Row) -> Option<f64> {
    let size = n(row);
    let kind = row.id.strip_prefix("k-")?.rsplit_once('-')?.0;
    match kind {
        "A" => tolerance_factor(size, A_BASIS),
        "B" => tolerance_factor(size, B_BASIS),
        "5-75" => tolerance_factor(size, FIVE_AT_75),
        "5-95" => tolerance_factor(size, FIVE_AT_95),
        "en1990-unk" => predictive_factor(size, 0.95),
        "en1990-kn" => predictive_factor_sigma_known(size, 0.95),
        _ => return None,
    }
    .ok()
}

/// The worked example of CMH-17-1G with 18 specimens.
pub fn eighteen(row: &Row) -> Option<Vec<f64>> {
    let values = lists(&row.inputs).remove(0);
    let s = summary(&values).ok()?;
    let bound = |form, ask| Some(lower_bound(&values, form, BoundKind::Tolerance(ask)).ok()?.value);
    let weibull = |ask: CoverageConfidence| weibull_fit(&values, &[]).ok()?.lower_bound(ask.coverage, ask.confidence).ok();
    Some(vec![match row.id.strip_prefix("cmh18-")? {
        "mean" => s.mean,
        "sd" => s.sd,
        "B-basis_normal" => bound(Form::Normal, B_BASIS)?,
        "A-basis_normal" => bound(Form::Normal, A_BASIS)?,
        "B-basis_lognormal" => bound(Form::Lognormal, B_BASIS)?,
        "A-basis_lognormal" => bound(Form::Lognormal, A_BASIS)?,
        "5_%/75_%_normal" => bound(Form::Normal, FIVE_AT_75)?,
        "5_%/75_%_lognormal" => bound(Form::Lognormal, FIVE_AT_75)?,
        "Weibull_MLE_scale" => weibull_fit(&values, &[]).ok()?.scale,
        "B-basis_Weibull" => weibull(B_BASIS)?,
        "A-basis_Weibull" => weibull(A_BASIS)?,
        _ => return None,
    }])
}

/// Weibull fits and the table of their small-sample behaviour.
pub fn weibull(row: &Row) -> Option<Vec<f64>> {
    let rest = row.id.strip_prefix("wb-")?;
    let (head, what) = rest.split_once('-')?;
    match head {
        "q" => {
            let i = weibull_pivots(n(row), 0.90).ok()?.shape;
            Some(vec![i.low, i.high])
        }
        "t" => {
            let i = weibull_pivots(n(row), 0.90).ok()?.scale;
            Some(vec![i.low, i.high])
        }
        "UF" => Some(vec![unbiasing_factor(n(row)).ok()?]),
        _ => {
            let failures = lists(&row.inputs).remove(0);
            let censored = if head == "cens" { vec![500.0; 10] } else { Vec::new() };
            weibull_value(&weibull_fit(&failures, &censored).ok()?, what)
        }
    }
}

fn weibull_value(fit: &WeibullFit, what: &str) -> Option<Vec<f64>> {
    let wald = fit.log_wald_intervals(0.95).ok()?;
    Some(match what {
        "shape" => vec![fit.shape],
        "scale" => vec![fit.scale],
        "log-likelihood" => vec![fit.log_likelihood],
        "se(log" => vec![fit.se_ln_scale],
        "se(log-2" => vec![fit.se_ln_shape],
        "95" => vec![wald.shape.low, wald.shape.high],
        "95-2" => vec![wald.scale.low, wald.scale.high],
        "5" => vec![fit.quantile(0.05).ok()?],
        "mean" => vec![fit.mean()],
        _ => return None,
    })
}

/// Grubbs' test and the maximum normed residual.
pub fn outliers(row: &Row) -> Option<Vec<f64>> {
    let head = row.id.rsplit_once('-')?.0;
    let (alpha, side) = match head {
        "grubbs1" => (0.05, GrubbsSide::High),
        "grubbs2" => (0.05, GrubbsSide::Either),
        "grubbs3" => (0.01, GrubbsSide::Either),
        _ => return outlier_example(row),
    };
    Some(vec![grubbs_critical(n(row), alpha, side).ok()?])
}

fn outlier_example(row: &Row) -> Option<Vec<f64>> {
    if row.id == "grubbs-max-3" {
        return Some(vec![grubbs_largest(3)]);
    }
    let values = lists(&row.inputs).remove(0);
    Some(vec![match row.id.as_str() {
        "grubbs-u-G" => grubbs(&values, 0.05, GrubbsSide::High).ok()?.statistic,
        "grubbs-u-crit" => grubbs(&values, 0.05, GrubbsSide::High).ok()?.critical,
        "mnr-b2" | "mnr-b3" => {
            let test = grubbs(&values, 0.05, GrubbsSide::Either).ok()?;
            // The worked example flags 80.233 in batch 3 and nothing in batch 2.
            assert_eq!(test.suspect, row.id == "mnr-b3", "{}", row.id);
            test.statistic
        }
        "mnr-seq" | "mnr-seq-ties" => repeated(values) as f64,
        _ => return None,
    }])
}

/// The repeated test the library does not offer, built from its parts: how many values it would eat.
fn repeated(mut values: Vec<f64>) -> usize {
    let mut dropped = 0;
    while values.len() >= 3 {
        let extreme = grubbs_statistic(&values, GrubbsSide::Either).expect("three finite values");
        let critical = grubbs_critical(values.len(), 0.05, GrubbsSide::Either).expect("n from 3");
        if extreme.statistic <= critical {
            break;
        }
        values.remove(extreme.index);
        dropped += 1;
    }
    dropped
}

/// Power and numbers of specimens.
pub fn planning(row: &Row) -> Option<Vec<f64>> {
    let given = numbers(&row.inputs);
    Some(match row.id.as_str() {
        "pow-1" => vec![power(20.0, 1.0, 0.05, TestSides::Two).ok()?],
        "pow-2" => vec![sample_size(1.0, 0.9, 0.05, TestSides::Two).ok()?.exact],
        "pow-3" => vec![sample_size(1.0, 0.9, 0.05, TestSides::One).ok()?.exact],
        id if id.starts_with("pow-n") => {
            vec![power(given[0], given[1], 0.05, TestSides::TwoBothCounted).ok()?]
        }
        id if id.starts_with("n-cv") => {
            let ask = |wanted| sample_size_for_relative_difference(given[1], given[0], wanted, 0.05, TestSides::Two).ok();
            let (some, more) = (ask(0.8)?, ask(0.9)?);
            vec![some.exact, some.per_group as f64, more.exact, more.per_group as f64]
        }
        _ => return None,
    })
}

/// A published series whose table printed the divisor-n standard deviation.
pub fn divisors(row: &Row) -> Option<Vec<f64>> {
    let values = lists(&row.inputs).remove(0);
    let s = summary(&values).ok()?;
    assert_eq!(moments(&values).ok()?.mean.to_bits(), s.mean.to_bits());
    Some(vec![s.mean, s.sd, s.sd_divisor_n])
}
