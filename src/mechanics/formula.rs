//! How a formula is declared: a plain typed function and one card of data in which nothing is optional.
//!
//! The type of the function gives the quantity of every argument and of the result; the card gives the words.
//! A card without a source, a range statement or a worked example does not compile.

use serde::Serialize;

use crate::quantity::{Measure, Quantity};

/// Where a number used as an example or a check comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Status {
    /// Printed in a source that can be named.
    Published,
    /// Worked out by hand, or by a second route that shares no code with the formula.
    Hand,
    /// Given by an independent library.
    Library,
    /// Recalled, not seen.
    Memory,
    /// What the trade does.
    Practice,
    /// Our own output, kept against change only.
    #[serde(rename = "self")]
    Own,
}

/// The values an argument may take at all, in base SI. Outside it the formula has no meaning.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Domain {
    /// Any finite number.
    Any,
    /// Above zero.
    Positive,
    /// Zero or above.
    NotNegative,
    /// From `0` up to `1`, both included.
    Share,
    /// From the first to the second number, both included.
    Within(f64, f64),
}

impl Domain {
    /// Whether a value in base SI is possible.
    pub fn admits(self, si: f64) -> bool {
        match self {
            Domain::Any => si.is_finite(),
            Domain::Positive => si > 0.0,
            Domain::NotNegative => si >= 0.0,
            Domain::Share => (0.0..=1.0).contains(&si),
            Domain::Within(low, high) => (low..=high).contains(&si),
        }
    }
}

/// What the result does when one argument grows and the others stay.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Trend {
    /// The result grows.
    Rises,
    /// The result falls.
    Falls,
    /// Neither everywhere.
    Mixed,
}

/// One argument of a formula.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Argument {
    /// The word used in a call.
    pub name: &'static str,
    /// The letter of the field; accepted in a call as well.
    pub symbol: &'static str,
    /// The unit it is usually given in.
    pub unit: &'static str,
    /// What it is.
    pub means: &'static str,
    /// The values it may take.
    pub domain: Domain,
    /// What it does to the result.
    pub trend: Trend,
}

/// An argument of a card, on one line.
pub const fn arg(
    name: &'static str,
    symbol: &'static str,
    unit: &'static str,
    means: &'static str,
    domain: Domain,
    trend: Trend,
) -> Argument {
    Argument { name, symbol, unit, means, domain, trend }
}

/// The result of a formula.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Gives {
    /// The letter of the field.
    pub symbol: &'static str,
    /// The unit it is shown in.
    pub unit: &'static str,
    /// What it is.
    pub means: &'static str,
}

/// What a bound of a validity range speaks about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Of {
    /// One argument.
    Argument(&'static str),
    /// One argument over another.
    Quotient(&'static str, &'static str),
}

/// One bound of a validity range; `low` and `high` in base SI, both included.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ValidityLimit {
    /// What is bounded.
    pub of: Of,
    /// Smallest value; `f64::NEG_INFINITY` when there is none.
    pub low: f64,
    /// Largest value; `f64::INFINITY` when there is none.
    pub high: f64,
    /// The bound in words, with its reason.
    pub says: &'static str,
}

/// Where a formula may be believed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Validity {
    /// True by geometry, statics or definition wherever the arguments have a meaning; with the assumptions it makes.
    Exact(&'static str),
    /// No source states a range; what is known about its limits. Unknown is not "everywhere".
    NotStated(&'static str),
    /// Stated: no number outside unless asked for.
    Within(&'static [ValidityLimit]),
}

/// A worked example: every argument as text, in the order of the card, and the result.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Example<const N: usize> {
    /// The arguments as written in a call.
    pub inputs: [&'static str; N],
    /// The result as printed.
    pub result: &'static str,
    /// Half of the last printed digit, relative to the result.
    pub tolerance: f64,
    /// Where the result comes from.
    pub status: Status,
    /// Who printed or worked it out.
    pub origin: &'static str,
}

/// Everything said about a formula of `N` arguments.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FormulaCard<const N: usize> {
    /// The word used in a call.
    pub name: &'static str,
    /// What it gives, in one sentence.
    pub purpose: &'static str,
    /// The arguments in the order of the function.
    pub arguments: [Argument; N],
    /// Pairs of argument names: the first must be above the second.
    pub above: &'static [(&'static str, &'static str)],
    /// The result.
    pub gives: Gives,
    /// Where it may be believed.
    pub validity: Validity,
    /// Who says so.
    pub source: &'static str,
    /// A worked example.
    pub example: Example<N>,
}

/// What a formula may return: a typed quantity, or nothing where the source gives no value.
pub trait FormulaResult {
    /// The quantity it measures.
    const QUANTITY: Quantity;
    /// The value in base SI.
    fn number(self) -> Option<f64>;
}

impl<M: Measure> FormulaResult for M {
    const QUANTITY: Quantity = M::QUANTITY;
    fn number(self) -> Option<f64> {
        Some(self.si())
    }
}

impl<M: Measure> FormulaResult for Option<M> {
    const QUANTITY: Quantity = M::QUANTITY;
    fn number(self) -> Option<f64> {
        self.map(M::si)
    }
}

/// A plain typed function of `N` quantities.
pub trait Kernel<Arguments, const N: usize>: Send + Sync + 'static {
    /// The quantities of the arguments.
    const ARGUMENTS: [Quantity; N];
    /// The quantity of the result.
    const RESULT: Quantity;
    /// The result in base SI of arguments in base SI; `None` for a wrong count or where the formula has no value.
    fn at(&self, si: &[f64]) -> Option<f64>;
}

macro_rules! kernels {
    ($($n:literal: $($t:ident $i:literal)*;)*) => {$(
        impl<F, R: FormulaResult, $($t: Measure),*> Kernel<($($t,)*), $n> for F
        where F: Fn($($t),*) -> R + Send + Sync + 'static {
            const ARGUMENTS: [Quantity; $n] = [$($t::QUANTITY),*];
            const RESULT: Quantity = R::QUANTITY;
            fn at(&self, si: &[f64]) -> Option<f64> {
                self($($t::from_si(*si.get($i)?)),*).number()
            }
        }
    )*};
}

kernels! {
    1: A 0;
    2: A 0 B 1;
    3: A 0 B 1 C 2;
    4: A 0 B 1 C 2 D 3;
    5: A 0 B 1 C 2 D 3 E 4;
    6: A 0 B 1 C 2 D 3 E 4 G 5;
    7: A 0 B 1 C 2 D 3 E 4 G 5 H 6;
    8: A 0 B 1 C 2 D 3 E 4 G 5 H 6 I 7;
    9: A 0 B 1 C 2 D 3 E 4 G 5 H 6 I 7 J 8;
    10: A 0 B 1 C 2 D 3 E 4 G 5 H 6 I 7 J 8 K 9;
}

/// A kernel that takes its arguments by place, in base SI.
type ByPlace = Box<dyn Fn(&[f64]) -> Option<f64> + Send + Sync>;

/// One argument with the quantity its type declares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parameter {
    /// The words.
    pub argument: Argument,
    /// The quantity.
    pub quantity: Quantity,
}

/// A formula that can be called by text; see [`super::call`].
pub struct Formula {
    /// The topic it is listed under.
    pub topic: &'static str,
    /// The word used in a call.
    pub name: &'static str,
    /// What it gives, in one sentence.
    pub purpose: &'static str,
    /// The arguments in the order of the function.
    pub parameters: Vec<Parameter>,
    /// Pairs of argument names: the first must be above the second.
    pub above: &'static [(&'static str, &'static str)],
    /// The result.
    pub gives: Gives,
    /// The quantity of the result.
    pub quantity: Quantity,
    /// Where it may be believed.
    pub validity: Validity,
    /// Who says so.
    pub source: &'static str,
    /// The worked example.
    pub example: WorkedExample,
    kernel: ByPlace,
}

/// The worked example of a formula of any number of arguments.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WorkedExample {
    /// The call as a user would type it.
    pub call: String,
    /// The result as printed.
    pub result: &'static str,
    /// Half of the last printed digit, relative to the result.
    pub tolerance: f64,
    /// Where the result comes from.
    pub status: Status,
    /// Who printed or worked it out.
    pub origin: &'static str,
    /// The arguments as text, in order.
    #[serde(skip)]
    pub inputs: Vec<&'static str>,
}

impl Formula {
    /// A formula of a plain typed function and its card. The number of arguments is checked by the compiler.
    pub fn of<A, const N: usize, K: Kernel<A, N>>(kernel: K, card: FormulaCard<N>) -> Formula {
        let parameters: Vec<Parameter> =
            card.arguments.into_iter().zip(K::ARGUMENTS).map(|(argument, quantity)| Parameter { argument, quantity }).collect();
        let words = card.arguments.iter().zip(card.example.inputs).map(|(a, text)| format!(" {}={text}", a.name));
        let example = WorkedExample {
            call: words.fold(card.name.to_string(), |call, word| call + &word),
            result: card.example.result,
            tolerance: card.example.tolerance,
            status: card.example.status,
            origin: card.example.origin,
            inputs: card.example.inputs.to_vec(),
        };
        Formula {
            topic: "",
            name: card.name,
            purpose: card.purpose,
            parameters,
            above: card.above,
            gives: card.gives,
            quantity: K::RESULT,
            validity: card.validity,
            source: card.source,
            example,
            kernel: Box::new(move |si| kernel.at(si)),
        }
    }
    /// The same formula, listed under a topic.
    pub fn under(self, topic: &'static str) -> Formula {
        Formula { topic, ..self }
    }
    /// The result in base SI of arguments in base SI, in the order of the card, without any check.
    /// `None` where the formula has no finite value.
    pub fn evaluate(&self, si: &[f64]) -> Option<f64> {
        (self.kernel)(si).filter(|v| v.is_finite())
    }
    /// The place of an argument by its name or its symbol.
    pub fn place(&self, name: &str) -> Option<usize> {
        let by = |f: fn(&Argument) -> &'static str| self.parameters.iter().position(|p| f(&p.argument) == name);
        by(|a| a.name).or_else(|| by(|a| a.symbol))
    }
}

impl std::fmt::Debug for Formula {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Formula").field("name", &self.name).finish_non_exhaustive()
    }
}
