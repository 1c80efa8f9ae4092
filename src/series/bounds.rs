//! Lower bounds of a sample, each with its name, what it promises and, where batches differ, the batch that holds it down.

use super::specimen::Group;
use crate::statistics::bound::{
    BoundKind, Form, LowerBound, PooledSpread, lower_bound, lower_bound_pooled, order_bound, pooled_spread,
};
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
    /// The specimens within their batches.
    WithinBatches,
    /// Earlier series of the same method, mode and rig.
    EarlierSeries,
    /// The means of the batches, as if each were one specimen.
    BatchMeans,
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
            SpreadFrom::WithinBatches => "within-batches",
            SpreadFrom::EarlierSeries => "earlier-series",
            SpreadFrom::BatchMeans => "batch-means",
            SpreadFrom::Ranks => "none",
            SpreadFrom::Weibull => "weibull",
        }
    }
}

/// A lower bound of the sample.
#[derive(Debug, Clone, PartialEq)]
pub struct Bound {
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
    /// The batch that holds the bound down, and the bound of all specimens taken together.
    pub held_down: Option<HeldDown>,
    /// Shown without being asked for.
    pub default: bool,
}

/// A bound lowered to what the weakest batch supports.
#[derive(Debug, Clone, PartialEq)]
pub struct HeldDown {
    /// The batch.
    pub batch: Box<str>,
    /// The bound of all specimens as if they were one batch.
    pub together: f64,
}

/// A bound or test that is not given, and why.
#[derive(Debug, Clone, PartialEq)]
pub struct Refused {
    /// What is refused.
    pub what: String,
    /// Why.
    pub why: String,
    /// Specimens it would take, where more are the cure.
    pub needed: Option<usize>,
}

impl Refused {
    /// From a refusal of the statistics.
    pub fn of(what: impl Into<String>, refusal: &Refusal) -> Self {
        Refused { what: what.into(), why: refusal.to_string(), needed: refusal.needed() }
    }
}

/// Bounds with those refused.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Bounds {
    /// Given ones; the default two first.
    pub given: Vec<Bound>,
    /// Refused ones.
    pub refused: Vec<Refused>,
}

struct Asked {
    name: &'static str,
    form: Form,
    kind: BoundKind,
    default: bool,
}

const fn tolerance(name: &'static str, form: Form, ask: CoverageConfidence, default: bool) -> Asked {
    Asked { name, form, kind: BoundKind::Tolerance(ask), default }
}

const PREDICTIVE: BoundKind = BoundKind::Predictive { coverage: PREDICTIVE_COVERAGE };

const ASKED: &[Asked] = &[
    tolerance("five-at-75", Form::Lognormal, FIVE_AT_75, true),
    Asked { name: "predictive-5", form: Form::Lognormal, kind: PREDICTIVE, default: true },
    tolerance("five-at-75-normal", Form::Normal, FIVE_AT_75, false),
    Asked { name: "predictive-5-normal", form: Form::Normal, kind: PREDICTIVE, default: false },
    tolerance("five-at-90", Form::Lognormal, FIVE_AT_90, false),
    tolerance("five-at-95", Form::Lognormal, FIVE_AT_95, false),
    tolerance("b-basis", Form::Lognormal, B_BASIS, false),
    tolerance("a-basis", Form::Lognormal, A_BASIS, false),
];

/// All bounds of failures and held specimens; `batches` are their groups when there are two or more, `earlier` a spread pooled
/// over earlier series, `weibull` a fit where one was allowed.
pub fn bounds(
    failures: &[f64],
    held: &[f64],
    batches: &[Group],
    earlier: Option<&PooledSpread>,
    weibull: Option<&WeibullFit>,
) -> Bounds {
    let mut all = if held.is_empty() { complete(failures, batches, earlier) } else { censored(failures, held, batches) };
    // A held load counted as a failure at that load can only lower a rank.
    let every = [failures, held].concat();
    match order_bound(&every, FIVE_AT_75) {
        Ok(order) => all.given.push(Bound {
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
        Err(refusal) => all.refused.push(Refused::of(title("five-at-75-ranks"), &refusal)),
    }
    if let Some(fit) = weibull {
        weibull_bound(&mut all, fit);
    }
    all
}

/// Every specimen failed.
fn complete(failures: &[f64], batches: &[Group], earlier: Option<&PooledSpread>) -> Bounds {
    let mut all = Bounds::default();
    let within = within_batches(batches);
    // Equal values say nothing of the spread: a bound at their mean would be an empty promise.
    let equal = failures.len() > 1 && failures.iter().all(|v| *v == failures[0]);
    let bound = |ask: &Asked| match equal {
        true => Err(Refusal::NoSpread { method: "a lower bound from the specimens' own spread" }),
        false => lower_bound(failures, ask.form, ask.kind),
    };
    for ask in ASKED {
        match bound(ask) {
            Ok(bound) => all.given.push(hold_down(from(ask, &bound), ask, batches, within.as_ref())),
            Err(refusal) => all.refused.push(Refused::of(title(ask.name), &refusal)),
        }
    }
    if let Some(spread) = earlier {
        pooled(&mut all, failures, batches, spread);
    }
    if batches.len() > 1 {
        batch_means(&mut all, batches);
    }
    all
}

/// Why the other forms are not worked out when specimens held.
const NOT_WITH_HELD: &str =
    "not defined with specimens that held; the lognormal, the rank and the Weibull bound count those as at least what they held";

/// Some specimens held.
fn censored(failures: &[f64], held: &[f64], batches: &[Group]) -> Bounds {
    let mut all = Bounds::default();
    let refuse = |all: &mut Bounds, name: &str| {
        all.refused.push(Refused { what: title(name).to_owned(), why: NOT_WITH_HELD.to_owned(), needed: None });
    };
    let together = CensoredLognormal::new(failures, held);
    let apart: Vec<(&Group, CensoredLognormal)> = batches
        .iter()
        .filter(|_| batches.len() > 1)
        .filter_map(|b| Some((b, CensoredLognormal::new(&b.failures, &b.held).ok()?)))
        .collect();
    for ask in ASKED {
        if ask.form == Form::Normal {
            refuse(&mut all, ask.name);
            continue;
        }
        match together.as_ref().map_err(Clone::clone).and_then(|fit| fit.lower_bound(ask.kind)) {
            Ok(value) => {
                let whole = with_held(ask, value, failures.len(), held.len());
                let weakest = apart.iter().filter_map(|(b, fit)| Some((*b, fit.lower_bound(ask.kind).ok()?)));
                let weakest = weakest.min_by(|x, y| x.1.total_cmp(&y.1)).filter(|(_, own)| *own < value);
                all.given.push(match weakest {
                    Some((b, own)) => {
                        let held_down = Some(HeldDown { batch: b.name.clone(), together: value });
                        Bound { held_down, ..with_held(ask, own, b.failures.len(), b.held.len()) }
                    }
                    None => whole,
                });
            }
            Err(refusal) => all.refused.push(Refused::of(title(ask.name), &refusal)),
        }
    }
    if batches.len() > 1 {
        refuse(&mut all, "five-at-75-batches");
    }
    all
}

fn with_held(ask: &Asked, value: f64, failures: usize, held: usize) -> Bound {
    let (coverage, confidence) = promised(ask.kind);
    Bound {
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

fn from(ask: &Asked, bound: &LowerBound) -> Bound {
    let (coverage, confidence) = promised(ask.kind);
    Bound {
        name: ask.name,
        value: bound.value,
        coverage,
        confidence,
        form: match ask.form {
            Form::Normal => "normal",
            Form::Lognormal => "lognormal",
        },
        k: Some(bound.k),
        n: bound.n,
        held: 0,
        degrees_of_freedom: Some(bound.degrees_of_freedom),
        spread: SpreadFrom::Own,
        held_down: None,
        default: ask.default,
    }
}

fn within_batches(batches: &[Group]) -> Option<PooledSpread> {
    let lists: Vec<&[f64]> = batches.iter().map(|b| b.failures.as_slice()).filter(|f| f.len() > 1).collect();
    (batches.len() > 1 && lists.len() > 1).then(|| pooled_spread(&lists).ok()).flatten()
}

/// The promise may not exceed what the weakest batch supports.
fn hold_down(bound: Bound, ask: &Asked, batches: &[Group], within: Option<&PooledSpread>) -> Bound {
    if batches.len() < 2 {
        return bound;
    }
    let together = bound.value;
    let mut lowest = bound;
    for batch in batches {
        let pooled = match (ask.form, within) {
            (Form::Lognormal, Some(spread)) => lower_bound_pooled(&batch.failures, spread, ask.kind).ok(),
            _ => None,
        };
        let spread = if pooled.is_some() { SpreadFrom::WithinBatches } else { SpreadFrom::Own };
        let Some(own) = pooled.or_else(|| lower_bound(&batch.failures, ask.form, ask.kind).ok()) else {
            continue;
        };
        if own.value < lowest.value {
            let held_down = Some(HeldDown { batch: batch.name.clone(), together });
            lowest = Bound { spread, held_down, ..from(ask, &own) };
        }
    }
    lowest
}

fn pooled(all: &mut Bounds, failures: &[f64], batches: &[Group], spread: &PooledSpread) {
    let asks = [("five-at-75-pooled", BoundKind::Tolerance(FIVE_AT_75)), ("predictive-5-pooled", PREDICTIVE)];
    for (name, kind) in asks {
        let ask = Asked { name, form: Form::Lognormal, kind, default: true };
        match lower_bound_pooled(failures, spread, kind) {
            Ok(bound) => {
                let bound = hold_down(from(&ask, &bound), &ask, batches, Some(spread));
                all.given.push(Bound { spread: SpreadFrom::EarlierSeries, ..bound });
            }
            Err(refusal) => all.refused.push(Refused::of(title(name), &refusal)),
        }
    }
}

fn batch_means(all: &mut Bounds, batches: &[Group]) {
    let means: Vec<f64> = batches
        .iter()
        .filter(|b| !b.failures.is_empty())
        .map(|b| b.failures.iter().sum::<f64>() / b.failures.len() as f64)
        .collect();
    let ask = tolerance("five-at-75-batches", Form::Lognormal, FIVE_AT_75, false);
    match lower_bound(&means, ask.form, ask.kind) {
        Ok(bound) => all.given.push(Bound { spread: SpreadFrom::BatchMeans, ..from(&ask, &bound) }),
        Err(refusal) => all.refused.push(Refused::of(title(ask.name), &refusal)),
    }
}

fn weibull_bound(all: &mut Bounds, fit: &WeibullFit) {
    match fit.lower_bound(0.95, 0.75) {
        Ok(value) => all.given.push(Bound {
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
        Err(refusal) => all.refused.push(Refused::of(title("five-at-75-weibull"), &refusal)),
    }
}

/// Name of a bound, for people.
pub fn title(name: &str) -> &'static str {
    match name {
        "five-at-75" => "5 % bound at 75 % confidence",
        "predictive-5" => "5 % bound for the next specimen",
        "five-at-75-normal" => "5 % bound at 75 % confidence, normal",
        "predictive-5-normal" => "5 % bound for the next specimen, normal (EN 1990)",
        "five-at-90" => "5 % bound at 90 % confidence",
        "five-at-95" => "5 % bound at 95 % confidence",
        "b-basis" => "B basis: 10 % bound at 95 % confidence",
        "a-basis" => "A basis: 1 % bound at 95 % confidence",
        "five-at-75-pooled" => "5 % bound at 75 % confidence, spread of earlier series",
        "predictive-5-pooled" => "5 % bound for the next specimen, spread of earlier series",
        "five-at-75-batches" => "5 % bound at 75 % confidence for a new batch, from batch means",
        "five-at-75-ranks" => "5 % bound at 75 % confidence without a distribution",
        "five-at-75-weibull" => "5 % bound at 75 % confidence, Weibull",
        _ => "lower bound",
    }
}

/// What a bound promises, in words; `above` is what a specimen above it does: `hold more`.
pub fn promise(bound: &Bound, above_it: &str) -> String {
    let above = format!("{:.0} %", bound.coverage * 100.0);
    let what = match (bound.spread, bound.confidence) {
        (SpreadFrom::BatchMeans, Some(c)) => {
            format!("{above} of batch means lie above it, true in {:.0} of 100 such tests", c * 100.0)
        }
        (_, Some(c)) => format!("{above} of such specimens {above_it}, true in {:.0} of 100 such series", c * 100.0),
        (_, None) => format!("the next specimen like these will {above_it} with a chance of {above}"),
    };
    match &bound.held_down {
        Some(h) if &*h.batch != super::specimen::NOT_STATED => format!("{what}; held down by batch {}", h.batch),
        Some(_) => format!("{what}; held down by the specimens without a batch"),
        None => what,
    }
}
