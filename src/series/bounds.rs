//! Lower bounds of a sample, each with its name and what it promises.
//!
//! With two batches or more every parametric bound is that of the one-way random model (`statistics::batches`), and none is
//! above what any batch supports with the spread that all share; the batch that holds a bound down is named.

use super::specimen::{FactorLevel, SpecimenGroup};
use crate::statistics::batches::bound_over_batches;
use crate::statistics::bound::{BoundKind, Form, LowerBound, PooledSpread, lower_bound, lower_bound_pooled, order_bound};
use crate::statistics::censored::CensoredLognormal;
use crate::statistics::refusal::Refusal;
use crate::statistics::tolerance::{A_BASIS, B_BASIS, CoverageConfidence, FIVE_AT_75, FIVE_AT_90, FIVE_AT_95};
use crate::statistics::weibull::WeibullFit;

/// Share of specimens above the predictive bound.
pub const PREDICTIVE_COVERAGE: f64 = 0.95;

/// Where the spread behind a bound comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SpreadFrom {
    /// The specimens themselves.
    Own,
    /// The specimens, between and within their batches.
    BetweenAndWithin,
    /// Earlier series of the same method, mode and rig.
    EarlierSeries,
    /// No spread is used: one of the values is the bound.
    Ranks,
    /// The fitted Weibull distribution.
    Weibull,
}

impl SpreadFrom {
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            SpreadFrom::Own => "own",
            SpreadFrom::BetweenAndWithin => "between-and-within-batches",
            SpreadFrom::EarlierSeries => "earlier-series",
            SpreadFrom::Ranks => "none",
            SpreadFrom::Weibull => "weibull",
        }
    }
}

/// A lower bound of the sample.
#[derive(Debug, Clone, PartialEq)]
pub struct SampleBound {
    /// Name of its kind, e.g. `five-at-75`.
    pub name: &'static str,
    /// The bound, in the unit shown.
    pub value: f64,
    /// Share of specimens above it.
    pub coverage: f64,
    /// Confidence of that; `None` for the predictive bound.
    pub confidence: Option<f64>,
    /// Distribution: `lognormal`, `normal`, `weibull`, `none`.
    pub form: &'static str,
    /// Factor on the standard deviation, where one is used.
    pub k: Option<f64>,
    /// Specimens behind it, held ones among them.
    pub n: usize,
    /// Those of them that held: they count as at least what they held.
    pub held: usize,
    /// Degrees of freedom behind the spread, where one is used.
    pub degrees_of_freedom: Option<f64>,
    /// Where the spread comes from.
    pub spread: SpreadFrom,
    /// The batch that governs, where it supports less than all batches together.
    pub held_down: Option<HeldDown>,
    /// Shown without being asked for.
    pub default: bool,
}

/// A bound lowered to what the weakest batch supports.
#[derive(Debug, Clone, PartialEq)]
pub struct HeldDown {
    /// The batch.
    pub batch: Box<str>,
    /// Whether it is a lot or a print job.
    pub level: FactorLevel,
    /// The bound of all batches, by the random model.
    pub together: f64,
}

/// A bound or test that is not given, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct NotComputable {
    /// What is refused.
    pub what: String,
    /// Why.
    pub why: String,
    /// Specimens it would take, where more are the cure.
    pub needed: Option<usize>,
}

impl NotComputable {
    /// From a refusal of the statistics.
    pub fn of(what: impl Into<String>, refusal: &Refusal) -> Self {
        NotComputable { what: what.into(), why: refusal.to_string(), needed: refusal.needed() }
    }
    /// As [`NotComputable::of`], of what counts only the specimens that failed.
    pub fn of_failed(what: impl Into<String>, refusal: &Refusal) -> Self {
        let mut all = NotComputable::of(what, refusal);
        if let Refusal::TooFew { needed, given, .. } = refusal {
            all.why = format!("at least {needed} specimens that failed are needed, {given} did");
        }
        all
    }
}

/// Bounds with those refused.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Bounds {
    /// Given ones; the default two first.
    pub given: Vec<SampleBound>,
    /// Refused ones.
    pub refused: Vec<NotComputable>,
}

struct BoundsQuestion {
    name: &'static str,
    form: Form,
    kind: BoundKind,
    default: bool,
}

const fn tolerance(name: &'static str, form: Form, ask: CoverageConfidence, default: bool) -> BoundsQuestion {
    BoundsQuestion { name, form, kind: BoundKind::Tolerance(ask), default }
}

const PREDICTIVE: BoundKind = BoundKind::Predictive { coverage: PREDICTIVE_COVERAGE };

const ASKED: &[BoundsQuestion] = &[
    tolerance("five-at-75", Form::Lognormal, FIVE_AT_75, true),
    BoundsQuestion { name: "predictive-5", form: Form::Lognormal, kind: PREDICTIVE, default: true },
    tolerance("five-at-75-normal", Form::Normal, FIVE_AT_75, false),
    BoundsQuestion { name: "predictive-5-normal", form: Form::Normal, kind: PREDICTIVE, default: false },
    tolerance("five-at-90", Form::Lognormal, FIVE_AT_90, false),
    tolerance("five-at-95", Form::Lognormal, FIVE_AT_95, false),
    tolerance("b-basis", Form::Lognormal, B_BASIS, false),
    tolerance("b-basis-normal", Form::Normal, B_BASIS, false),
    tolerance("a-basis", Form::Lognormal, A_BASIS, false),
    tolerance("a-basis-normal", Form::Normal, A_BASIS, false),
];

/// All bounds of failures and held specimens; `batches` are their groups when there are two or more, `earlier` a spread pooled
/// over earlier series, `weibull` a fit where one was allowed.
pub fn bounds(
    failures: &[f64],
    held: &[f64],
    batches: &[SpecimenGroup],
    earlier: Option<&PooledSpread>,
    weibull: Option<&WeibullFit>,
) -> Bounds {
    let mut all = if held.is_empty() { complete(failures, batches, earlier) } else { censored(failures, held, batches) };
    if batches.len() < 2 {
        ranks(&mut all, failures, held);
    } else {
        all.refused.push(not_over_batches(title("five-at-75-ranks")));
    }
    if let Some(fit) = weibull {
        weibull_bound(&mut all, fit);
    }
    all
}

/// What takes its specimens as independent is not given where several batches are told.
pub fn not_over_batches(what: &str) -> NotComputable {
    let why = "specimens of several batches are not one sample; the bounds over batches take that into account";
    NotComputable { what: what.to_owned(), why: why.to_owned(), needed: None }
}

fn ranks(all: &mut Bounds, failures: &[f64], held: &[f64]) {
    // A held load counted as a failure at that load can only lower a rank.
    let every = [failures, held].concat();
    match order_bound(&every, FIVE_AT_75) {
        Ok(order) => all.given.push(SampleBound {
            name: "five-at-75-ranks",
            value: order.value,
            coverage: order.coverage,
            confidence: Some(order.confidence),
            form: "none",
            k: None,
            n: order.n,
            held: held.len(),
            degrees_of_freedom: None,
            spread: SpreadFrom::Ranks,
            held_down: None,
            default: false,
        }),
        Err(refusal) => all.refused.push(NotComputable::of(title("five-at-75-ranks"), &refusal)),
    }
}

/// Every specimen failed.
fn complete(failures: &[f64], batches: &[SpecimenGroup], earlier: Option<&PooledSpread>) -> Bounds {
    let mut all = Bounds::default();
    // Equal values say nothing of the spread: a bound at their mean would be an empty promise.
    let equal = failures.len() > 1 && failures.iter().all(|v| *v == failures[0]);
    let bound = |ask: &BoundsQuestion| match (equal, batches.len()) {
        (true, _) => Err(Refusal::NoSpread { method: "a lower bound from the specimens' own spread" }),
        (_, 0 | 1) => lower_bound(failures, ask.form, ask.kind).map(|b| from(ask, &b)),
        _ => over_batches(failures.len(), batches, ask, |g| &g.failures),
    };
    for ask in ASKED {
        match bound(ask) {
            Ok(bound) => all.given.push(bound),
            Err(refusal) => all.refused.push(NotComputable::of(title(ask.name), &refusal)),
        }
    }
    match earlier {
        Some(spread) if batches.len() < 2 => pooled(&mut all, failures, spread),
        Some(_) => all.refused.push(NotComputable {
            what: title("five-at-75-pooled").to_owned(),
            why: "the spread of earlier series is one within batches, but these specimens come from several".to_owned(),
            needed: None,
        }),
        None => {}
    }
    all
}

/// The bound of the random model over batches, and never more than any batch supports.
fn over_batches(
    n: usize,
    batches: &[SpecimenGroup],
    ask: &BoundsQuestion,
    values: impl Fn(&SpecimenGroup) -> &[f64],
) -> Result<SampleBound, Refusal> {
    let filled: Vec<&SpecimenGroup> = batches.iter().filter(|g| !values(g).is_empty()).collect();
    let lists: Vec<&[f64]> = filled.iter().map(|g| values(g)).collect();
    let found = bound_over_batches(&lists, ask.form, ask.kind)?;
    let (coverage, confidence) = promised(ask.kind);
    Ok(SampleBound {
        name: ask.name,
        value: found.value,
        coverage,
        confidence,
        form: found.form.word(),
        k: None,
        n,
        held: 0,
        degrees_of_freedom: Some((lists.len() - 1) as f64),
        spread: SpreadFrom::BetweenAndWithin,
        held_down: found.least.map(|place| HeldDown {
            batch: filled[place].name.clone(),
            level: filled[place].level,
            together: found.together,
        }),
        default: ask.default,
    })
}

/// Why the other forms are not worked out when specimens held.
const NOT_WITH_HELD: &str = "not defined with specimens that held; the lognormal, the rank and the Weibull bound count each of those as at least the load it held";

/// Some specimens held.
fn censored(failures: &[f64], held: &[f64], batches: &[SpecimenGroup]) -> Bounds {
    let mut all = Bounds::default();
    let together = CensoredLognormal::new(failures, held);
    // A held load taken as a failure at that load cannot raise a mean.
    let as_failed: Vec<SpecimenGroup> =
        batches.iter().map(|g| SpecimenGroup { failures: [&g.failures[..], &g.held].concat(), ..g.clone() }).collect();
    for ask in ASKED {
        if ask.form == Form::Normal {
            all.refused.push(NotComputable { what: title(ask.name).to_owned(), why: NOT_WITH_HELD.to_owned(), needed: None });
            continue;
        }
        match together.as_ref().map_err(Clone::clone).and_then(|fit| fit.lower_bound(ask.kind)) {
            Ok(value) => {
                let whole = with_held(ask, value, failures.len(), held.len());
                let over = (batches.len() > 1)
                    .then(|| over_batches(failures.len() + held.len(), &as_failed, ask, |g| &g.failures).ok())
                    .flatten();
                all.given.push(match over.filter(|b| b.value < value) {
                    Some(b) => SampleBound { held: held.len(), ..b },
                    None => whole,
                });
            }
            Err(refusal) => all.refused.push(NotComputable::of_failed(title(ask.name), &refusal)),
        }
    }
    all
}

fn with_held(ask: &BoundsQuestion, value: f64, failures: usize, held: usize) -> SampleBound {
    let (coverage, confidence) = promised(ask.kind);
    SampleBound {
        name: ask.name,
        value,
        coverage,
        confidence,
        form: "lognormal",
        k: None,
        n: failures + held,
        held,
        degrees_of_freedom: None,
        spread: SpreadFrom::Own,
        held_down: None,
        default: ask.default,
    }
}

fn promised(kind: BoundKind) -> (f64, Option<f64>) {
    match kind {
        BoundKind::Tolerance(c) => (c.coverage, Some(c.confidence)),
        BoundKind::Predictive { coverage } => (coverage, None),
    }
}

fn from(ask: &BoundsQuestion, bound: &LowerBound) -> SampleBound {
    let (coverage, confidence) = promised(ask.kind);
    SampleBound {
        name: ask.name,
        value: bound.value,
        coverage,
        confidence,
        form: ask.form.word(),
        k: Some(bound.k),
        n: bound.n,
        held: 0,
        degrees_of_freedom: Some(bound.degrees_of_freedom),
        spread: SpreadFrom::Own,
        held_down: None,
        default: ask.default,
    }
}

fn pooled(all: &mut Bounds, failures: &[f64], spread: &PooledSpread) {
    let asks = [("five-at-75-pooled", BoundKind::Tolerance(FIVE_AT_75)), ("predictive-5-pooled", PREDICTIVE)];
    for (name, kind) in asks {
        let ask = BoundsQuestion { name, form: Form::Lognormal, kind, default: true };
        match lower_bound_pooled(failures, spread, kind) {
            Ok(bound) => all.given.push(SampleBound { spread: SpreadFrom::EarlierSeries, ..from(&ask, &bound) }),
            Err(refusal) => all.refused.push(NotComputable::of(title(name), &refusal)),
        }
    }
}

fn weibull_bound(all: &mut Bounds, fit: &WeibullFit) {
    match fit.lower_bound(0.95, 0.75) {
        Ok(value) => all.given.push(SampleBound {
            name: "five-at-75-weibull",
            value,
            coverage: 0.95,
            confidence: Some(0.75),
            form: "weibull",
            k: None,
            n: fit.n,
            held: fit.n - fit.failures,
            degrees_of_freedom: None,
            spread: SpreadFrom::Weibull,
            held_down: None,
            default: false,
        }),
        Err(refusal) => all.refused.push(NotComputable::of(title("five-at-75-weibull"), &refusal)),
    }
}

/// Name of a bound, for people.
pub fn title(name: &str) -> &'static str {
    match name {
        "five-at-75" => "characteristic value (5 % fractile, 75 % confidence)",
        "predictive-5" => "lower 95 % prediction bound",
        "five-at-75-normal" => "characteristic value (5 % fractile, 75 % confidence), normal",
        "predictive-5-normal" => "lower 95 % prediction bound, normal (EN 1990)",
        "five-at-90" => "5 % fractile, 90 % confidence",
        "five-at-95" => "5 % fractile, 95 % confidence",
        "b-basis" => "B-basis (90 % exceed it, 95 % confidence)",
        "b-basis-normal" => "B-basis (90 % exceed it, 95 % confidence), normal",
        "a-basis" => "A-basis (99 % exceed it, 95 % confidence)",
        "a-basis-normal" => "A-basis (99 % exceed it, 95 % confidence), normal",
        "five-at-75-pooled" => "characteristic value (5 % fractile, 75 % confidence), spread of earlier series",
        "predictive-5-pooled" => "lower 95 % prediction bound, spread of earlier series",
        "five-at-75-ranks" => "characteristic value (5 % fractile, 75 % confidence) without a distribution",
        "five-at-75-weibull" => "characteristic value (5 % fractile, 75 % confidence), Weibull",
        _ => "lower bound",
    }
}

/// What governs a bound, where one batch does.
pub fn governed(bound: &SampleBound) -> Option<String> {
    let held_down = bound.held_down.as_ref()?;
    Some(match &*held_down.batch == super::specimen::NOT_STATED {
        true => "governed by the specimens without a batch".to_owned(),
        false => format!("governed by {}", held_down.level.named(&held_down.batch)),
    })
}

/// What a bound promises, in words; `above` is what a specimen above it does: `hold more`.
pub fn promise(bound: &SampleBound, above_it: &str) -> String {
    let above = format!("{:.0} %", bound.coverage * 100.0);
    let whose = if bound.spread == SpreadFrom::BetweenAndWithin || bound.held_down.is_some() { ", of any batch," } else { "" };
    let what = match bound.confidence {
        Some(c) => format!("{above} of such specimens{whose} {above_it}, confidence {:.0} %", c * 100.0),
        None => format!("the next specimen like these{whose} will {above_it} with a probability of {above}"),
    };
    match governed(bound) {
        Some(by) => format!("{what}; {by}"),
        None => what,
    }
}
