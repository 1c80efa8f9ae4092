//! Do series differ, and by how much? Ratio with its interval first, tests second, the floor of p beside them.

use super::bounds::NotComputable;
use super::reduction::ModeCount;
use super::specimen::{FactorLevel, Sample, batches, groups};
use crate::statistics::combine::{BetweenVariance, CommonMean, Estimate, RandomEffects, common_mean, random_effects};
use crate::statistics::compare::{EffectSize, Equivalence, Ratio, Welch, equivalence_of_ratio, hedges_g, ratio_of_means, welch};
use crate::statistics::exact::{ExactTest, mann_whitney, permutation_test};
use crate::statistics::interval::Interval;
use crate::statistics::many::{ChiSquaredTest, FTest, bartlett, kruskal_wallis, welch_anova};
use crate::statistics::pairwise::{self, Adjustment, adjust, dunnett, games_howell, tukey};
use crate::statistics::power::{TestSides, sample_size_for_relative_difference};
use crate::statistics::refusal::Refusal;
use crate::statistics::summary::{Summary, summary};

/// A named sample.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedGroup {
    /// What it is called.
    pub name: String,
    /// Its specimens.
    pub sample: Sample,
}

/// A group of the comparison.
#[derive(Debug, Clone, PartialEq)]
pub struct ComparedGroup {
    /// Its name.
    pub name: String,
    /// Values that failed, in the unit of the first group.
    pub failures: Vec<f64>,
    /// Specimens that held.
    pub held: usize,
    /// Centre and spread.
    pub summary: Option<Summary>,
    /// How they failed.
    pub modes: Vec<ModeCount>,
}

/// One group against the first.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// Place of the group.
    pub group: usize,
    /// Ratio group/first with its 95 % interval, on logarithms.
    pub ratio: Option<Ratio>,
    /// Difference group - first with its 95 % interval.
    pub difference: Option<Welch>,
    /// Exact permutation test of the means.
    pub permutation: Option<ExactTest>,
    /// Whether its floor lets it speak at 5 %.
    pub permutation_speaks: bool,
    /// Mann-Whitney, where there are no ties.
    pub ranks: Option<ExactTest>,
    /// Effect size.
    pub effect: Option<EffectSize>,
    /// Same within the margin asked for.
    pub same: Option<Equivalence>,
    /// p adjusted for all comparisons with the first, and how.
    pub adjusted: Option<Adjusted>,
    /// The sentence a careful person would write.
    pub sentence: String,
}

/// A p adjusted for a family of comparisons.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Adjusted {
    /// The p.
    pub p: f64,
    /// `dunnett` or `holm`.
    pub by: &'static str,
    /// Comparisons in the family.
    pub family: usize,
}

/// The comparison.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupComparison {
    /// The groups; the first is the reference.
    pub sides: Vec<ComparedGroup>,
    /// Every other group against the first.
    pub pairs: Vec<Pair>,
    /// Welch's analysis of variance over three groups or more.
    pub all: Option<FTest>,
    /// Kruskal-Wallis over three groups or more.
    pub all_ranks: Option<ChiSquaredTest>,
    /// Every pair of groups, where that is asked for.
    pub every: Option<Every>,
    /// The groups as one, where that is asked for.
    pub together: Option<Together>,
    /// What was refused.
    pub refused: Vec<NotComputable>,
    /// Whether different things broke.
    pub modes_differ: bool,
}

/// Every pair of groups, for the family of all pairs, on logarithms.
#[derive(Debug, Clone, PartialEq)]
pub struct Every {
    /// `tukey` where the spreads may be pooled, else `games-howell`.
    pub by: &'static str,
    /// The pairs: ratios of geometric means with their joint 95 % intervals.
    pub pairs: Vec<EveryPair>,
}

/// One of all pairs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EveryPair {
    /// Place of the first group.
    pub from: usize,
    /// Place of the second.
    pub to: usize,
    /// Geometric mean of the second over that of the first.
    pub ratio: f64,
    /// Its interval, all pairs at 95 % together.
    pub interval: Interval,
    /// p for the family.
    pub p: f64,
}

/// The means of the groups as one value with its uncertainty.
#[derive(Debug, Clone, PartialEq)]
pub struct Together {
    /// Weights 1/u², uncertainty widened by the Birge ratio where that is above 1.
    pub common: CommonMean,
    /// Groups that differ: DerSimonian and Laird, interval by Knapp and Hartung.
    pub random: RandomEffects,
}

/// What is asked of a comparison beyond the pairs with the first group.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Ask {
    /// Margin of "the same within", as a fraction.
    pub margin: Option<f64>,
    /// Every group against every other.
    pub every: bool,
    /// The groups as one.
    pub together: bool,
}

/// Level of every test.
pub const ALPHA: f64 = 0.05;
/// Power a follow-up is planned for.
pub const POWER: f64 = 0.8;

/// Compares every group with the first. All groups in the unit of the first; a group needs the same quantity.
pub fn compare(groups: &[NamedGroup], ask: Ask) -> GroupComparison {
    let margin = ask.margin;
    let unit = groups.first().map(|g| g.sample.unit());
    let sides: Vec<ComparedGroup> = groups
        .iter()
        .map(|g| {
            let own = unit.unwrap_or(g.sample.unit());
            let failures: Vec<f64> = g.sample.specimens.iter().filter(|s| !s.censored).map(|s| s.in_unit(own)).collect();
            ComparedGroup {
                name: g.name.clone(),
                summary: summary(&failures).ok(),
                held: g.sample.specimens.iter().filter(|s| s.censored).count(),
                modes: super::reduce::modes(&g.sample),
                failures,
            }
        })
        .collect();
    let mut refused = Vec::new();
    let mut pairs: Vec<Pair> = (1..sides.len()).map(|i| pair(&sides, i, margin, &mut refused)).collect();
    adjust_all(&sides, &mut pairs, &mut refused);
    let modes_differ = modes_differ(&sides);
    for p in &mut pairs {
        p.sentence = sentence(&sides[0], &sides[p.group], p, margin);
    }
    let lists: Vec<&[f64]> = sides.iter().map(|s| s.failures.as_slice()).collect();
    let many = lists.len() > 2;
    let every = ask.every.then(|| every(&lists).map_err(|e| refused.push(NotComputable::of("Every pair", &e))).ok()).flatten();
    let together =
        ask.together.then(|| together(&sides).map_err(|e| refused.push(NotComputable::of("Groups as one", &e))).ok()).flatten();
    GroupComparison {
        every,
        together,
        all: many.then(|| welch_anova(&lists).ok()).flatten(),
        all_ranks: many.then(|| kruskal_wallis(&lists).ok()).flatten(),
        sides,
        pairs,
        refused,
        modes_differ,
    }
}

fn pair(sides: &[ComparedGroup], group: usize, margin: Option<f64>, refused: &mut Vec<NotComputable>) -> Pair {
    let (a, b) = (&sides[group].failures, &sides[0].failures);
    let against = format!("{} against {}", sides[group].name, sides[0].name);
    let mut note =
        |what: &str, e: &crate::statistics::refusal::Refusal| refused.push(NotComputable::of(format!("{what}, {against}"), e));
    let ratio = ratio_of_means(a, b, 0.95).map_err(|e| note("Ratio of means", &e)).ok();
    let permutation = permutation_test(a, b).map_err(|e| note("Exact permutation test", &e)).ok();
    let same = margin.and_then(|m| equivalence_of_ratio(a, b, m, ALPHA).map_err(|e| note("Same within a margin", &e)).ok());
    Pair {
        group,
        ratio,
        difference: welch(a, b, 0.95).ok(),
        permutation_speaks: permutation.is_some_and(|p| p.floor <= ALPHA),
        permutation,
        ranks: mann_whitney(a, b).ok(),
        effect: hedges_g(a, b).ok(),
        same,
        adjusted: None,
        sentence: String::new(),
    }
}

/// Tukey where Bartlett's test lets the spreads be pooled, else Games and Howell; both on logarithms.
fn every(lists: &[&[f64]]) -> Result<Every, Refusal> {
    let logs: Vec<Vec<f64>> =
        lists.iter().map(|l| l.iter().map(|v| if *v > 0.0 { libm::log(*v) } else { f64::NAN }).collect()).collect();
    let views: Vec<&[f64]> = logs.iter().map(Vec::as_slice).collect();
    let alike = bartlett(&views).is_ok_and(|t| t.p >= ALPHA);
    let list = if alike { tukey(&views, 0.95)? } else { games_howell(&views, 0.95)? };
    let pair = |c: &pairwise::PairComparison| {
        let interval = Interval { low: libm::exp(c.interval.low), high: libm::exp(c.interval.high), ..c.interval };
        EveryPair { from: c.from, to: c.to, ratio: libm::exp(c.difference), interval, p: c.p }
    };
    Ok(Every { by: if alike { "tukey" } else { "games-howell" }, pairs: list.iter().map(pair).collect() })
}

fn together(sides: &[ComparedGroup]) -> Result<Together, Refusal> {
    let list: Vec<Estimate> = sides
        .iter()
        .filter_map(|s| s.summary)
        .map(|s| Estimate { value: s.mean, uncertainty: s.sd / libm::sqrt(s.n as f64) })
        .collect();
    let random = random_effects(&list, BetweenVariance::DerSimonianLaird, 0.95)?;
    Ok(Together { common: common_mean(&list)?, random })
}

/// Dunnett where spreads may be pooled, else Holm on Welch.
fn adjust_all(sides: &[ComparedGroup], pairs: &mut [Pair], refused: &mut Vec<NotComputable>) {
    if pairs.len() < 2 {
        return;
    }
    let family = pairs.len();
    let logs: Vec<Vec<f64>> = sides.iter().map(|s| s.failures.iter().map(|v| libm::log(*v)).collect()).collect();
    let views: Vec<&[f64]> = logs.iter().map(Vec::as_slice).collect();
    if bartlett(&views).is_ok_and(|t| t.p >= ALPHA)
        && let Ok(list) = dunnett(&views, 0, 0.95)
    {
        for c in list {
            if let Some(p) = pairs.iter_mut().find(|p| p.group == c.to) {
                p.adjusted = Some(Adjusted { p: c.p, by: "dunnett", family });
            }
        }
        return;
    }
    let raw: Option<Vec<f64>> = pairs.iter().map(|p| p.ratio.map(|r| r.on_logs.p)).collect();
    match raw.map(|raw| adjust(&raw, Adjustment::Holm)) {
        Some(Ok(list)) => {
            for (p, adjusted) in pairs.iter_mut().zip(list) {
                p.adjusted = Some(Adjusted { p: adjusted, by: "holm", family });
            }
        }
        Some(Err(e)) => refused.push(NotComputable::of("Adjustment for many comparisons", &e)),
        None => {}
    }
}

fn modes_differ(sides: &[ComparedGroup]) -> bool {
    let known = |s: &ComparedGroup| {
        let mut list: Vec<String> =
            s.modes.iter().map(|m| m.mode.to_string()).filter(|m| m != "unknown" && m != "machine-limit").collect();
        list.sort();
        list
    };
    let lists: Vec<Vec<String>> = sides.iter().map(known).filter(|l| !l.is_empty()).collect();
    lists.windows(2).any(|two| two[0] != two[1])
}

fn percent(x: f64) -> String {
    format!("{:.0} %", x * 100.0)
}

/// What a careful person would write.
fn sentence(reference: &ComparedGroup, side: &ComparedGroup, pair: &Pair, margin: Option<f64>) -> String {
    let Some(ratio) = pair.ratio else {
        if let (Some(a), Some(b)) = (side.summary, reference.summary)
            && a.sd == 0.0
            && b.sd == 0.0
        {
            return format!(
                "{} and {}: all values within each group are equal, so there is no scatter to judge a difference by; a limit or a coarse scale is more likely than no scatter.",
                side.name, reference.name
            );
        }
        return format!("{} and {}: too few specimens to compare.", side.name, reference.name);
    };
    let p = pair.adjusted.map_or(ratio.on_logs.p, |a| a.p);
    let told = p < ALPHA && !ratio.interval.holds(1.0);
    let mut text = if told {
        let (way, ends) = if ratio.ratio < 1.0 {
            ("weaker", (1.0 - ratio.interval.high, 1.0 - ratio.interval.low))
        } else {
            ("stronger", (ratio.interval.low - 1.0, ratio.interval.high - 1.0))
        };
        let by = percent((ratio.ratio - 1.0).abs());
        format!(
            "{} is {way} than {} by {by} (95 % interval {} to {}).",
            side.name,
            reference.name,
            percent(ends.0),
            percent(ends.1)
        )
    } else {
        format!(
            "{} and {} are not statistically distinguishable with these specimens; that does not show that they are equal.",
            side.name, reference.name
        )
    };
    if let (Some(m), Some(same)) = (margin, &pair.same) {
        text += &if same.shown {
            format!(" They are the same within {}.", percent(m))
        } else {
            format!(" Not shown equal within {}.", percent(m))
        };
    }
    if !told && let Some(more) = follow_up(reference, side) {
        text += &format!(" {more}");
    }
    text
}

/// How many specimens would tell a difference worth knowing.
fn follow_up(a: &ComparedGroup, b: &ComparedGroup) -> Option<String> {
    let freedom = |s: &ComparedGroup| s.failures.len().saturating_sub(1) as f64;
    let square = |s: &ComparedGroup| s.summary.and_then(|x| x.cv().ok()).map(|c| c * c);
    let cv = libm::sqrt((square(a)? * freedom(a) + square(b)? * freedom(b)) / (freedom(a) + freedom(b)));
    let need = |d: f64| sample_size_for_relative_difference(d, cv, POWER, ALPHA, TestSides::Two).ok().map(|s| s.per_group);
    Some(format!("With this spread {} per group would tell 10 %, {} would tell 20 % (power 80 %).", need(0.1)?, need(0.2)?))
}

/// The batches of a sample as groups; of a sample of one batch that one.
pub fn by_batch(name: &str, sample: &Sample) -> Vec<NamedGroup> {
    let groups = batches(sample).map_or_else(|| groups(sample, FactorLevel::Batch), |(_, groups)| groups);
    groups
        .iter()
        .map(|g| {
            let own = sample.only(|s| g.level.holds(s, &g.name));
            let title = g.level.named(&g.name);
            NamedGroup { name: if name.is_empty() { title } else { format!("{name}, {title}") }, sample: own }
        })
        .collect()
}
