//! Calling a formula by text: `lame-hoop inner=1.3376mm outer=3mm pressure=12.51MPa`.
//!
//! Every fault names what is wrong and what to write instead. Outside its range a formula says so and gives no
//! number, unless the caller asks for one beyond the range; outside its meaning it never gives one.

use serde::Serialize;
use serde::ser::{SerializeMap, Serializer};

use super::formula::{Domain, Formula, Of, Parameter, Validity, ValidityLimit};
use crate::quantity::parse::edit_distance;
use crate::quantity::{Amount, Quantity, QuantityFault, Written, parse};

/// One argument as given, with what it means.
#[derive(Debug, Clone, PartialEq)]
pub struct FormulaInput {
    /// The argument's name.
    pub name: &'static str,
    /// What it is.
    pub means: &'static str,
    /// The quantity as written.
    pub given: Written,
}

/// Where the formula may be believed, and whether this call stayed there.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ValiditySaid {
    /// `exact`, `not-stated` or `within`.
    pub kind: &'static str,
    /// The statement in words.
    pub says: String,
    /// Whether the arguments lie inside the stated range; `null` when none is stated.
    pub inside: Option<bool>,
    /// The bounds that were left, in words.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub left: Vec<String>,
}

/// The answer of a call.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FormulaAnswer {
    /// The formula's name.
    pub formula: &'static str,
    /// What it gives.
    pub purpose: &'static str,
    /// The letter of the result.
    pub symbol: &'static str,
    /// What the result is.
    pub means: &'static str,
    /// The result.
    pub result: Amount,
    /// Where the formula may be believed.
    pub validity: ValiditySaid,
    /// Who says so.
    pub source: &'static str,
    /// The arguments by name.
    #[serde(serialize_with = "by_name")]
    pub inputs: Vec<FormulaInput>,
    /// What to know of this very number: how an argument was read, a result below zero.
    pub remarks: Vec<String>,
}

fn by_name<S: Serializer>(inputs: &[FormulaInput], s: S) -> Result<S::Ok, S::Error> {
    let mut map = s.serialize_map(Some(inputs.len()))?;
    for input in inputs {
        map.serialize_entry(input.name, &input.given)?;
    }
    map.end()
}

/// Why a call gives no number.
#[derive(Debug, Clone, PartialEq)]
pub enum CallFault {
    /// No formula of that name; the nearest ones.
    UnknownFormula {
        /// The name as given.
        name: String,
        /// Names that are near.
        nearest: Vec<&'static str>,
    },
    /// Not of the form `name=value`.
    NotAnArgument {
        /// The text as given.
        text: String,
        /// The call of the worked example.
        example: String,
    },
    /// The formula has no such argument.
    UnknownArgument {
        /// The formula.
        formula: &'static str,
        /// The name as given.
        name: String,
        /// The nearest argument.
        nearest: Option<&'static str>,
        /// All arguments with their units.
        takes: String,
    },
    /// An argument was given twice.
    Twice {
        /// The argument.
        name: &'static str,
    },
    /// Arguments that were not given.
    Missing {
        /// The missing arguments, with units.
        missing: Vec<String>,
        /// The call of the worked example.
        example: String,
    },
    /// An argument's text is not the quantity it should be.
    Quantity {
        /// The argument.
        name: &'static str,
        /// What is wrong with the text.
        fault: QuantityFault,
    },
    /// An argument has a value for which the formula means nothing.
    Meaningless {
        /// What is wrong.
        message: String,
        /// What to write.
        help: String,
    },
    /// The arguments lie outside the stated range.
    OutsideRange {
        /// The formula.
        formula: &'static str,
        /// The bounds that were left, in words.
        left: Vec<String>,
        /// Whether the formula has a number there, for whoever asks for one beyond its range.
        has_value: bool,
    },
    /// The formula has no finite value for these arguments.
    NoValue {
        /// The formula.
        formula: &'static str,
    },
    /// The result is an area or a volume below zero: there is no such thing.
    BelowZero {
        /// The formula.
        formula: &'static str,
        /// What would be below zero.
        means: &'static str,
        /// The number.
        result: String,
    },
}

impl CallFault {
    /// Whether the call itself was wrong; otherwise it was understood and the answer is that there is no number.
    pub fn is_usage(&self) -> bool {
        !matches!(self, CallFault::OutsideRange { .. } | CallFault::NoValue { .. } | CallFault::BelowZero { .. })
    }
    /// What is wrong, in one sentence without a full stop.
    pub fn message(&self) -> String {
        match self {
            CallFault::UnknownFormula { name, .. } => format!("there is no formula `{name}`"),
            CallFault::NotAnArgument { text, .. } => format!("`{text}` is not of the form name=value"),
            CallFault::UnknownArgument { formula, name, .. } => format!("`{formula}` has no argument `{name}`"),
            CallFault::Twice { name } => format!("`{name}` is given twice"),
            CallFault::Missing { missing, .. } => format!("missing: {}", missing.join(", ")),
            CallFault::Quantity { name, fault } => format!("{name}: {}", fault.message()),
            CallFault::Meaningless { message, .. } => message.clone(),
            CallFault::OutsideRange { formula, left, .. } => {
                format!("outside the range of `{formula}`, so no number is given: {}", left.join("; "))
            }
            CallFault::NoValue { formula } => format!("`{formula}` has no value for these arguments"),
            CallFault::BelowZero { formula, means, result } => {
                format!("`{formula}` gives a {means} of {result} for these arguments: there is no such {means}")
            }
        }
    }
    /// What to do.
    pub fn help(&self) -> String {
        match self {
            CallFault::UnknownFormula { nearest, .. } if nearest.is_empty() => "`gripbook formula` lists them all".into(),
            CallFault::UnknownFormula { nearest, .. } => format!("did you mean {}?", quoted(nearest)),
            CallFault::NotAnArgument { example, .. } | CallFault::Missing { example, .. } => format!("example: {example}"),
            CallFault::UnknownArgument { nearest: Some(n), takes, .. } => format!("did you mean `{n}`? it takes {takes}"),
            CallFault::UnknownArgument { takes, .. } => format!("it takes {takes}"),
            CallFault::Twice { .. } => "give every argument once".into(),
            CallFault::Quantity { fault, .. } => fault.help(),
            CallFault::Meaningless { help, .. } => help.clone(),
            CallFault::OutsideRange { has_value: true, .. } => {
                "ask for a number beyond the range if you can judge it yourself".into()
            }
            CallFault::OutsideRange { .. } => "there the formula has no value at all".into(),
            CallFault::NoValue { .. } => {
                "check the arguments: they contradict each other, or describe something that cannot work (such as a thread locked by friction)".into()
            }
            CallFault::BelowZero { .. } => "check that the arguments belong to one pair of parts".into(),
        }
    }
}

fn quoted(names: &[&str]) -> String {
    names.iter().map(|n| format!("`{n}`")).collect::<Vec<_>>().join(" or ")
}

/// Names near a misspelt one, nearest first, at most four.
pub fn nearest<'a>(name: &str, names: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let lower = name.to_lowercase();
    let limit = 2.max(lower.chars().count() / 3);
    let mut near: Vec<(usize, &str)> = names
        .filter_map(|n| {
            let distance = edit_distance(&lower, &n.to_lowercase());
            let part = lower.len() >= 3 && n.to_lowercase().contains(&lower);
            (distance <= limit || part).then_some((if part { distance.min(limit) } else { distance }, n))
        })
        .collect();
    near.sort_unstable_by_key(|(distance, n)| (*distance, !n.to_lowercase().starts_with(&lower), *n));
    near.into_iter().take(4).map(|(_, n)| n).collect()
}

/// The formula of a name; case, and whether words are joined by hyphens, underscores or spaces, does not count.
///
/// # Errors
/// [`CallFault::UnknownFormula`] with the nearest names.
pub fn find<'a>(formulas: &'a [Formula], name: &str) -> Result<&'a Formula, CallFault> {
    formulas
        .iter()
        .find(|f| f.name == name.trim().to_lowercase().replace(['_', ' '], "-"))
        .ok_or_else(|| CallFault::UnknownFormula { name: name.into(), nearest: nearest(name, formulas.iter().map(|f| f.name)) })
}

/// Calls a formula with arguments written `name=value`, in any order.
///
/// # Errors
/// [`CallFault`] says what is wrong with the call first, or that there is no number for it.
pub fn call<S: AsRef<str>>(formula: &Formula, arguments: &[S], beyond_range: bool) -> Result<FormulaAnswer, CallFault> {
    let (inputs, mistakes) = read_arguments(formula, arguments);
    if let Some(first) = mistakes.into_iter().next() {
        return Err(first);
    }
    let si: Vec<f64> = inputs.iter().map(|i| i.given.si).collect();
    let validity = validity_said(formula, &si);
    let result = value(formula, &si);
    if !validity.left.is_empty() && !beyond_range {
        return Err(CallFault::OutsideRange { formula: formula.name, left: validity.left, has_value: result.is_ok() });
    }
    let result = result?;
    let below_zero = result.si < 0.0;
    let mut remarks: Vec<String> = inputs.iter().filter_map(as_difference).collect();
    if below_zero && formula.quantity == Quantity::Length {
        remarks.push(format!("the result is below zero: {}", formula.gives.means));
    }
    Ok(FormulaAnswer {
        formula: formula.name,
        purpose: formula.purpose,
        symbol: formula.gives.symbol,
        means: formula.gives.means,
        result,
        validity,
        source: formula.source,
        inputs,
        remarks,
    })
}

/// What the formula gives for arguments in base SI, in order, within its range or beyond.
fn value(formula: &Formula, si: &[f64]) -> Result<Amount, CallFault> {
    let result = formula.evaluate(si).ok_or(CallFault::NoValue { formula: formula.name })?;
    let amount = Amount::new(formula.quantity, result).shown_in(formula.gives.unit);
    if result < 0.0 && matches!(formula.quantity, Quantity::Area | Quantity::Volume) {
        return Err(CallFault::BelowZero { formula: formula.name, means: formula.gives.means, result: amount.text(4) });
    }
    Ok(amount)
}

/// A difference of temperatures written in degrees could be meant as a temperature; how it was read is said.
fn as_difference(input: &FormulaInput) -> Option<String> {
    let unit = input.given.unit;
    let kelvin = unit.quantity.canonical();
    (unit.quantity == Quantity::TemperatureDifference && unit.symbol() != kelvin.symbol()).then(|| {
        let difference = Amount { si: input.given.si, unit: kelvin }.text(4);
        format!("{} = {} is a difference of {difference}, not a temperature", input.name, input.given.text)
    })
}

/// Everything that is wrong with the arguments of a call: as they were given, then what is missing, then what means nothing.
pub fn mistakes<S: AsRef<str>>(formula: &Formula, arguments: &[S]) -> Vec<CallFault> {
    read_arguments(formula, arguments).1
}

/// The arguments in the order of the card, all of them where nothing is wrong; and what is.
fn read_arguments<S: AsRef<str>>(formula: &Formula, arguments: &[S]) -> (Vec<FormulaInput>, Vec<CallFault>) {
    let mut read: Vec<Option<FormulaInput>> = formula.parameters.iter().map(|_| None).collect();
    // What was given in a wrong form is not missing besides.
    let mut meant = vec![false; read.len()];
    let mut faults = Vec::new();
    for argument in arguments {
        match read_argument(formula, argument.as_ref()) {
            Ok((place, input)) if read[place].is_some() => faults.push(CallFault::Twice { name: input.name }),
            Ok((place, input)) => read[place] = Some(input),
            Err((place, fault)) => {
                place.into_iter().for_each(|place| meant[place] = true);
                faults.push(fault);
            }
        }
    }
    let places = formula.parameters.iter().enumerate();
    let missing: Vec<String> =
        places.filter(|(place, _)| read[*place].is_none() && !meant[*place]).map(|(_, p)| with_unit(p)).collect();
    if !missing.is_empty() {
        faults.push(CallFault::Missing { missing, example: formula.example.call.clone() });
    }
    faults.extend(meaningless(formula, &read));
    (read.into_iter().flatten().collect(), faults)
}

/// One argument with its place; or why it is none, with the place it was meant for.
fn read_argument(formula: &Formula, text: &str) -> Result<(usize, FormulaInput), (Option<usize>, CallFault)> {
    let not_an_argument = || CallFault::NotAnArgument { text: text.into(), example: formula.example.call.clone() };
    let (name, value) = text.split_once('=').ok_or_else(|| (None::<usize>, not_an_argument()))?;
    let name = name.trim();
    let place = formula.place(name).ok_or_else(|| {
        let fault = unknown_argument(formula, name);
        let near = if let CallFault::UnknownArgument { nearest: Some(near), .. } = &fault { formula.place(near) } else { None };
        (near, fault)
    })?;
    let Parameter { argument, quantity } = formula.parameters[place];
    match parse(value, quantity) {
        Ok(given) => Ok((place, FormulaInput { name: argument.name, means: argument.means, given })),
        Err(fault) => Err((Some(place), CallFault::Quantity { name: argument.name, fault })),
    }
}

fn unknown_argument(formula: &Formula, name: &str) -> CallFault {
    CallFault::UnknownArgument {
        formula: formula.name,
        name: name.into(),
        nearest: nearest(name, formula.parameters.iter().map(|p| p.argument.name)).first().copied(),
        takes: formula.parameters.iter().map(with_unit).collect::<Vec<_>>().join(", "),
    }
}

/// `inner (ri, mm): bore radius`
fn with_unit(p: &Parameter) -> String {
    let a = p.argument;
    let unit = if a.unit == "1" { "plain number" } else { a.unit };
    format!("{} ({}, {unit}): {}", a.name, a.symbol, a.means)
}

/// Values for which the formula means nothing, alone or beside another.
fn meaningless(formula: &Formula, read: &[Option<FormulaInput>]) -> Vec<CallFault> {
    let mut faults = Vec::new();
    for (p, input) in formula.parameters.iter().zip(read) {
        if let Some(input) = input
            && !p.argument.domain.admits(input.given.si)
        {
            faults.push(CallFault::Meaningless {
                message: format!("{} ({}) cannot be {}", input.name, input.means, input.given.text),
                help: format!("{} must be {}", input.name, domain_words(p)),
            });
        }
    }
    for (upper, lower) in formula.above {
        let at = |name| formula.place(name).and_then(|i| read.get(i)?.as_ref());
        if let (Some(u), Some(l)) = (at(upper), at(lower))
            && u.given.si <= l.given.si
        {
            faults.push(CallFault::Meaningless {
                message: format!("{} ({}) is not above {} ({})", u.name, u.given.text, l.name, l.given.text),
                help: format!("{} is {}; {} is {}", u.name, u.means, l.name, l.means),
            });
        }
    }
    faults
}

/// Whether arguments in base SI, in order, mean anything together.
pub fn has_meaning(formula: &Formula, si: &[f64]) -> bool {
    let at = |name| formula.place(name).and_then(|i| si.get(i)).copied().unwrap_or(f64::NAN);
    formula.parameters.iter().zip(si).all(|(p, si)| p.argument.domain.admits(*si))
        && formula.above.iter().all(|(upper, lower)| at(upper) > at(lower))
}

/// The bounds of its stated range that arguments in base SI, in order, leave; in words.
pub fn bounds_left(formula: &Formula, si: &[f64]) -> Vec<String> {
    validity_said(formula, si).left
}

/// The domain of an argument in words.
pub fn domain_words(p: &Parameter) -> String {
    let shown = |si| Amount::new(p.quantity, si).shown_in(p.argument.unit);
    match p.argument.domain {
        Domain::Any => "any number".into(),
        Domain::Positive => "above zero".into(),
        Domain::NotNegative => "zero or above".into(),
        Domain::Share => "between 0 and 1".into(),
        Domain::Within(low, high) => format!("between {} and {}", shown(low).trimmed(3), shown(high).trimmed(3)),
    }
}

/// The statement about the range of a formula, whatever the arguments.
pub fn stated(formula: &Formula) -> ValiditySaid {
    let (kind, says, inside) = match formula.validity {
        Validity::Exact(says) => ("exact", says.to_string(), Some(true)),
        Validity::NotStated(says) => ("not-stated", says.to_string(), None),
        Validity::Within(bounds) => ("within", bounds.iter().map(|b| b.says).collect::<Vec<_>>().join("; "), None),
    };
    ValiditySaid { kind, says, inside, left: vec![] }
}

/// The statement about the range, and which bounds the arguments (base SI, in order) have left.
fn validity_said(formula: &Formula, si: &[f64]) -> ValiditySaid {
    let said = stated(formula);
    let Validity::Within(bounds) = formula.validity else { return said };
    let left: Vec<String> = bounds.iter().filter(|b| !holds(formula, b, si)).map(|b| b.says.to_string()).collect();
    ValiditySaid { inside: Some(left.is_empty()), left, ..said }
}

fn holds(formula: &Formula, bound: &ValidityLimit, si: &[f64]) -> bool {
    let at = |name| formula.place(name).and_then(|i| si.get(i)).copied().unwrap_or(f64::NAN);
    let value = match bound.of {
        Of::Argument(name) => at(name),
        Of::Quotient(upper, lower) => at(upper) / at(lower),
    };
    (bound.low..=bound.high).contains(&value)
}
