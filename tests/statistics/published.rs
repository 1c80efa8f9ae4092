//! Single values as printed in tables everybody has, for lines no row of the check table reaches.

use gripbook::statistics::exact::smallest_p;
use gripbook::statistics::summary::summary;
use gripbook::statistics::tolerance::mean_interval_factor;

/// Student's t, two-sided, of any printed table: 12.706 (1 degree of freedom, 95 %), 2.776 (4), 1.833 (9, 90 %) (published).
#[test]
fn width_of_the_interval_of_a_mean() {
    for (n, confidence, t) in [(2, 0.95, 12.706), (5, 0.95, 2.776), (10, 0.90, 1.833)] {
        let got = mean_interval_factor(n, confidence).unwrap();
        assert!((got - t).abs() < 5e-4, "{n} {confidence}: {got}");
    }
    assert!(mean_interval_factor(1, 0.95).is_err() && mean_interval_factor(5, 1.0).is_err());
}

/// Chi-squared with 9 degrees of freedom: 2.700 and 19.023 (published tables), so √(9/19.023) and √(9/2.700) times s (hand).
#[test]
fn interval_of_a_standard_deviation() {
    let values = [520.0, 540.0, 610.0, 585.0, 560.0, 500.0, 575.0, 530.0, 555.0, 620.0];
    let s = summary(&values).unwrap();
    let i = s.sd_interval(0.95).unwrap();
    assert!((i.low / s.sd - (9.0f64 / 19.023).sqrt()).abs() < 1e-4, "{i:?}");
    assert!((i.high / s.sd - (9.0f64 / 2.700).sqrt()).abs() < 4e-4, "{i:?}");
}

/// By hand: 2 of C(4, 2) = 6, C(6, 3) = 20, C(10, 4) = 210 arrangements; one of one can show nothing.
#[test]
fn smallest_p_of_small_series() {
    for (a, b, p) in [(2, 2, 2.0 / 6.0), (3, 3, 0.1), (4, 6, 2.0 / 210.0), (6, 4, 2.0 / 210.0), (1, 1, 1.0)] {
        assert!((smallest_p(a, b).unwrap() - p).abs() < 1e-15, "{a} {b}");
    }
}

/// The blood counts of Dunnett's textbook example; ends of the simultaneous 95 % intervals by scipy 1.17.1 (library, itself to
/// about 1e-3 because it integrates by simulation).
#[test]
fn simultaneous_intervals_against_a_reference() {
    let control = [7.40, 8.50, 7.20, 8.24, 9.84, 8.32];
    let (a, b) = ([9.76, 8.80, 7.68, 9.36], [12.80, 9.68, 12.16, 9.20, 10.55]);
    let list = gripbook::statistics::pairwise::dunnett(&[&control, &a, &b], 0, 0.95).unwrap();
    for (comparison, (low, high)) in list.iter().zip([(-1.2571, 2.5571), (0.8390, 4.4170)]) {
        let i = comparison.interval;
        assert!((i.low - low).abs() < 5e-3 && (i.high - high).abs() < 5e-3, "{comparison:?}");
        assert!((i.low + i.high - 2.0 * comparison.difference).abs() < 1e-12, "{comparison:?}");
    }
}

/// Thoman, Bain and Antle's pivots of a Weibull shape, n = 10, 90 %: 0.738 and 1.807 (memory; the Monte Carlo table of the test
/// data has 0.738 and 1.818). The interval is the estimate over them.
#[test]
fn interval_of_a_weibull_shape() {
    let values = [520.0, 540.0, 610.0, 585.0, 560.0, 500.0, 575.0, 530.0, 555.0, 620.0];
    let fit = gripbook::statistics::weibull::weibull_fit(&values, &[]).unwrap();
    let i = fit.pivotal_intervals(0.90).unwrap().shape;
    assert!((fit.shape / i.high - 0.738).abs() < 0.01 && (fit.shape / i.low - 1.812).abs() < 0.02, "{} {i:?}", fit.shape);
}

/// A straight line by hand: y = 2 + 3 x through (0, 2), (1, 5), (2, 8), (4, 14), read at 2.5 and at -1.
#[test]
fn a_line_is_read_between_and_beyond_its_points() {
    let line = gripbook::statistics::line::fit_line(&[0.0, 1.0, 2.0, 4.0], &[2.0, 5.0, 8.0, 14.0]).unwrap();
    assert!((line.at(2.5) - 9.5).abs() < 1e-12 && (line.at(-1.0) + 1.0).abs() < 1e-12);
}
