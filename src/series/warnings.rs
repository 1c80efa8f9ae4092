//! What a reader of the numbers must keep in mind.

use super::reduction::{Apart, Reduction, Warning};
use super::specimen::{FactorLevel, NOT_STATED, Sample};
use crate::book::view::Specimen;
use crate::statistics::summary::sd_interval_factors;

const FEW: usize = 5;

/// The warnings of a reduced sample.
pub fn of(r: &Reduction, sample: &Sample) -> Vec<Warning> {
    let mut list = Vec::new();
    few(r, &mut list);
    held(r, &mut list);
    modes(r, &sample.word, &mut list);
    levels(r, sample, &mut list);
    if let Some(outlier) = r.outlier.filter(|o| o.suspect) {
        let label = sample.specimens.iter().filter(|s| !s.censored).nth(outlier.index).map_or("", Specimen::label);
        let message = format!(
            "specimen {label} stands out (Grubbs two-sided, G = {:.2} above {:.2}); it is kept: look at the part before you judge the number",
            outlier.statistic, outlier.critical
        );
        list.push(Warning::new("value-stands-out", message));
    }
    list
}

fn few(r: &Reduction, list: &mut Vec<Warning>) {
    let n = r.failures.len();
    if n == 1 {
        list.push(Warning::new("few-specimens", "one specimen shows that this load can be held, not how often"));
    } else if (2..FEW).contains(&n) && r.summary.is_some_and(|s| s.sd > 0.0) {
        let wide = sd_interval_factors(n, 0.95).map(|f| format!("{:.1} to {:.1} times", f.low, f.high)).unwrap_or_default();
        let message = format!("n = {n}: the true standard deviation may be {wide} the one seen");
        list.push(Warning::new("few-specimens", message));
    }
    if n > 1 && r.summary.is_some_and(|s| s.sd == 0.0) {
        list.push(Warning::new("no-spread", "all values are equal: a limit or a coarse scale is more likely than no scatter"));
    }
}

fn held(r: &Reduction, list: &mut Vec<Warning>) {
    if r.held.is_empty() {
        return;
    }
    let (held, n) = (r.held.len(), r.held.len() + r.failures.len());
    let own = match r.failures.len() {
        0 => "none failed, so there is no mean and no bound".to_owned(),
        1 => "the value shown is that of the one that failed; the true mean is higher".to_owned(),
        f => format!(
            "mean, spread and intervals are of the {f} that failed: the true mean is higher, the true spread wider; the bounds count the held ones as at least what they held"
        ),
    };
    let message = format!("{held} of {n} specimens held until the test was stopped; {own}");
    list.push(Warning::new("specimens-held", message));
}

fn modes(r: &Reduction, word: &str, list: &mut Vec<Warning>) {
    let failing: Vec<&str> = r.modes.iter().map(|m| &*m.mode).filter(|m| *m != "machine-limit").collect();
    // Holes, friction and the like do not fail.
    let fails = super::vocabulary::above(word).is_some() || word == "drive_torque";
    if failing == ["unknown"] && fails {
        list.push(Warning::new("mode-unknown", "the failure mode is not stated; look at the parts and record it"));
    } else if failing.len() > 1 && fails {
        let message = format!(
            "the specimens failed in different modes ({}): mean and bounds mix several mechanisms, of which one can be improved without the other",
            failing.iter().map(|mode| super::vocabulary::mode_means(mode)).collect::<Vec<_>>().join("; ")
        );
        list.push(Warning::new("modes-mixed", message));
    }
}

/// Degrees of freedom up to which a spread between batches is called hardly known.
pub const HARDLY: usize = 2;

/// Two or three batches say little of how far batches lie apart.
fn hardly_known(apart: &Apart, list: &mut Vec<Warning>) {
    let Some(spread) = apart.spread.filter(|s| s.between_freedom <= HARDLY) else { return };
    let (batches, words) = (spread.between_freedom + 1, apart.level.words());
    let range = sd_interval_factors(batches, 0.95).map(|f| format!("{:.1} to {:.0} times", f.low, f.high)).unwrap_or_default();
    let message = format!(
        "the spread between {words} is hardly known: {batches} of them; the true spread of their means may be {range} the one seen, so the bound is low. One more raises it more than further specimens of these"
    );
    list.push(Warning::new("batch-spread-hardly-known", message));
}

fn levels(r: &Reduction, sample: &Sample, list: &mut Vec<Warning>) {
    let Some(apart) = &r.apart else {
        if r.failures.len() > 1 && sample.specimens.iter().any(|s| s.batch.is_some()) {
            list.push(Warning::new("one-batch", "there is only one batch: how much batches differ cannot be seen"));
        }
        return;
    };
    if apart.groups.iter().any(|g| &*g.name == NOT_STATED) {
        list.push(Warning::new("batch-not-stated", "some specimens have no batch; they are taken as a group of their own"));
    }
    if apart.level == FactorLevel::Job {
        let message =
            "the print jobs are of one lot, or their lots are not told: how much lots of material differ cannot be seen";
        list.push(Warning::new("one-batch", message));
    }
    for group in apart.groups.iter().filter(|g| g.failures.len() == 1) {
        let whose = if &*group.name == NOT_STATED {
            "without a batch there".to_owned()
        } else {
            format!("in {} there", apart.level.named(&group.name))
        };
        let message = format!("{whose} is one specimen: no bound can be given from it alone");
        list.push(Warning::new("batch-of-one", message));
    }
    hardly_known(apart, list);
    if let Some(effect) = apart.effect
        && effect.between_share > 0.1
    {
        let message = format!(
            "{:.0} % of the variance lies between {}: {} specimens are worth about {:.1} independent ones",
            effect.between_share * 100.0,
            apart.level.words(),
            effect.n,
            effect.effective_n
        );
        list.push(Warning::new("groups-differ", message));
    }
}
