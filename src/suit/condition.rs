//! Conditions of rules, judged in three-valued logic.

use super::question::{Fact, Grounds, joint_fact};
use super::truth::{Missing, MissingSort, ReadValue, Truth};
use crate::book::view::{Is, Operand, Scalar};
use crate::book::{Basis, Claim, Record, Value};
use crate::quantity::{Amount, Quantity};

pub use crate::book::view::RuleCondition;

impl RuleCondition {
    /// Whether the condition holds for a question; values looked at are added to `used`.
    pub fn judge(&self, grounds: &Grounds<'_>, used: &mut Vec<ReadValue>) -> Truth {
        if !self.all.is_empty() {
            return self.all.iter().fold(Truth::Yes, |t, c| t.and(c.judge(grounds, used)));
        }
        if !self.any.is_empty() {
            return self.any.iter().fold(Truth::No, |t, c| t.or(c.judge(grounds, used)));
        }
        if let Some(inner) = &self.not {
            return inner.judge(grounds, used).not();
        }
        match (self.of, &self.property) {
            (Some(of), Some(property)) => self.leaf(of, property, grounds, used),
            _ => Truth::Unknown(vec![Missing {
                sort: MissingSort::Record,
                what: "a condition of the rule says nothing".into(),
                settle: "correct the rule".into(),
            }]),
        }
    }

    /// Whether it looks at a fact of the joint that passes this test.
    pub(super) fn asks_of_joint(&self, test: &dyn Fn(&str) -> bool) -> bool {
        let here = self.of == Some(Operand::Joint) && self.property.as_deref().is_some_and(test);
        here || self.inner().any(|c| c.asks_of_joint(test))
    }

    fn leaf(&self, of: Operand, property: &str, grounds: &Grounds<'_>, used: &mut Vec<ReadValue>) -> Truth {
        let known = match known(of, property, grounds, used) {
            Ok(known) => known,
            Err(missing) => return Truth::Unknown(missing),
        };
        match &known {
            KnownValue::YesNo(b) => self.judge_yes_no(*b),
            KnownValue::Word(w) => self.judge_word(w),
            KnownValue::Between { quantity, low, high } => self.judge_quantity(
                *quantity,
                *low,
                *high,
                &format!("{} of the {}", property.replace('_', " "), of.word()),
                grounds,
                used,
            ),
        }
    }

    fn judge_yes_no(&self, value: bool) -> Truth {
        match &self.is {
            Some(Is::YesNo(wanted)) => Truth::known(*wanted == value),
            // A step or fact named without a comparison asks for yes.
            None => Truth::known(value),
            Some(_) => Truth::No,
        }
    }

    fn judge_word(&self, word: &str) -> Truth {
        if let Some(words) = &self.one_of {
            return Truth::known(words.iter().any(|w| w == word));
        }
        Truth::known(matches!(&self.is, Some(Is::Word(wanted)) if **wanted == *word))
    }

    fn judge_quantity(
        &self,
        quantity: Quantity,
        low: f64,
        high: f64,
        what: &str,
        grounds: &Grounds<'_>,
        used: &mut Vec<ReadValue>,
    ) -> Truth {
        let mut truth = Truth::Yes;
        let straddles = |limit: f64| {
            Truth::Unknown(vec![Missing {
                sort: MissingSort::Record,
                what: format!("{what} is known only as a range on both sides of {}", Amount::new(quantity, limit).text(3)),
                settle: format!("a narrower range of the {what}"),
            }])
        };
        let above = |limit: f64, equal: bool| {
            let over = |x: f64| x > limit || (equal && x == limit);
            if over(low) {
                Truth::Yes
            } else if !over(high) {
                Truth::No
            } else {
                straddles(limit)
            }
        };
        let limits =
            [(&self.above, true, false), (&self.at_least, true, true), (&self.below, false, true), (&self.at_most, false, false)];
        for (limit, upward, equal) in limits {
            let Some(limit) = limit else { continue };
            let Some(si) = limit_si(limit, quantity) else { return unreadable(what) };
            let t = above(si, equal);
            truth = truth.and(if upward { t } else { t.not() });
        }
        for (other, upward) in [(self.above_of, true), (self.below_of, false)] {
            let Some(other) = other else { continue };
            let property = self.property_of.as_deref().unwrap_or_default();
            let (o_low, o_high) = match known(other, property, grounds, used) {
                Ok(KnownValue::Between { low, high, .. }) => (low, high),
                Ok(_) => return unreadable(what),
                Err(missing) => return Truth::Unknown(missing),
            };
            let plus = match &self.plus {
                None => 0.0,
                Some(plus) => match limit_si(plus, quantity.spread()) {
                    Some(si) => si,
                    None => return unreadable(what),
                },
            };
            let t = between(low, high, o_low + plus, o_high + plus, what, upward);
            truth = truth.and(t);
        }
        truth
    }
}

/// Whether `low..high` lies above (or below) `o_low..o_high` for sure, never, or perhaps.
fn between(low: f64, high: f64, o_low: f64, o_high: f64, what: &str, upward: bool) -> Truth {
    let (sure, never) = if upward { (low > o_high, high <= o_low) } else { (high < o_low, low >= o_high) };
    if sure {
        return Truth::Yes;
    }
    if never {
        return Truth::No;
    }
    Truth::Unknown(vec![Missing {
        sort: MissingSort::Record,
        what: format!("{what}: its range includes the value it is compared with"),
        settle: format!("a narrower range of the {what}"),
    }])
}

fn limit_si(limit: &Scalar, quantity: Quantity) -> Option<f64> {
    limit.read(quantity).map(|w| w.si)
}

fn unreadable(what: &str) -> Truth {
    Truth::Unknown(vec![Missing {
        sort: MissingSort::Record,
        what: format!("the rule compares {what} with another kind of quantity"),
        settle: "correct the rule".into(),
    }])
}

/// A value that is known, perhaps as a range.
enum KnownValue {
    YesNo(bool),
    Word(String),
    Between { quantity: Quantity, low: f64, high: f64 },
}

fn known(of: Operand, property: &str, grounds: &Grounds<'_>, used: &mut Vec<ReadValue>) -> Result<KnownValue, Vec<Missing>> {
    match of {
        Operand::Step => Ok(KnownValue::YesNo(grounds.steps.contains(property))),
        Operand::Joint => joint(property, grounds, used),
        Operand::Adhesive => match grounds.adhesive {
            Some(adhesive) => record(adhesive, of, property, grounds, used),
            None => Err(vec![Missing { sort: MissingSort::Use, what: "the adhesive".into(), settle: "--adhesive ID".into() }]),
        },
        Operand::Material => record(grounds.material, of, property, grounds, used),
        Operand::Insert => match grounds.metal {
            Some(metal) => record(metal, of, property, grounds, used),
            None => Err(vec![Missing {
                sort: MissingSort::Use,
                what: "the metal of the insert".into(),
                settle: "--insert ID".into(),
            }]),
        },
    }
}

fn joint(property: &str, grounds: &Grounds<'_>, used: &mut Vec<ReadValue>) -> Result<KnownValue, Vec<Missing>> {
    let Some(fact) = grounds.joint.get(property) else {
        let (what, settle) = joint_fact(property).map_or_else(
            || (property.to_string(), format!("--set {property}=VALUE")),
            |f| (f.meaning.to_string(), f.option.to_string()),
        );
        if let Some(missing) = grounds.unsettled.get(property) {
            return Err(missing.clone());
        }
        return Err(vec![Missing { sort: MissingSort::Use, what, settle }]);
    };
    let (value, known) = match fact {
        Fact::Quantity(a) => (a.trimmed(4), KnownValue::Between { quantity: a.unit.quantity, low: a.si, high: a.si }),
        Fact::Word(w) => (w.clone(), KnownValue::Word(w.clone())),
        Fact::YesNo(b) => (if *b { "yes" } else { "no" }.into(), KnownValue::YesNo(*b)),
    };
    used.push(ReadValue { what: format!("{} of the joint", property.replace('_', " ")), value, claim: None });
    Ok(known)
}

fn record(
    record: &Record,
    of: Operand,
    property: &str,
    grounds: &Grounds<'_>,
    used: &mut Vec<ReadValue>,
) -> Result<KnownValue, Vec<Missing>> {
    let claims = usable(record, property, grounds.invented());
    let missing = || Missing {
        sort: MissingSort::Record,
        what: format!("{} of {}", property.replace('_', " "), record.id),
        settle: format!("a claim of `{property}` in {}", record.id),
    };
    let mut ends: Option<(Quantity, f64, f64)> = None;
    let mut plain = None;
    for claim in &claims {
        used.push(ReadValue {
            what: format!("{} of the {}", property.replace('_', " "), of.word()),
            value: claim.value.text(),
            claim: Some(record.address(property, claim)),
        });
        match &claim.value {
            Value::YesNo(b) => plain = Some(KnownValue::YesNo(*b)),
            Value::Word(w) => plain = Some(KnownValue::Word(w.to_string())),
            other => {
                let Some((low, high)) = stated_ends(other) else { continue };
                let (_, l, h) = ends.unwrap_or((low.0, f64::INFINITY, f64::NEG_INFINITY));
                ends = Some((low.0, l.min(low.1), h.max(high.1)));
            }
        }
    }
    match (plain, ends) {
        (Some(known), _) => Ok(known),
        (None, Some((quantity, low, high))) => Ok(KnownValue::Between { quantity, low, high }),
        (None, None) => Err(vec![missing()]),
    }
}

/// Ends of a stated value; the open side of a one-sided range is open.
fn stated_ends(value: &Value) -> Option<((Quantity, f64), (Quantity, f64))> {
    match value {
        Value::Between { low: Some(l), high: None } => Some(((l.quantity(), l.si), (l.quantity(), f64::INFINITY))),
        Value::Between { low: None, high: Some(h) } => Some(((h.quantity(), f64::NEG_INFINITY), (h.quantity(), h.si))),
        other => other.ends().map(|(l, h)| ((l.quantity(), l.si), (h.quantity(), h.si))),
    }
}

/// The claims an answer may use: in standing, of the best basis present, invented ones only where the subject is invented.
pub(super) fn usable<'r>(record: &'r Record, property: &str, invented: bool) -> Vec<&'r Claim> {
    let allowed = |c: &&Claim| c.in_use() && (c.basis != Basis::Invented || invented);
    let claims: Vec<&Claim> = record.claims(property).iter().filter(allowed).collect();
    let Some(best) = claims.iter().map(|c| c.basis).min() else { return Vec::new() };
    claims.into_iter().filter(|c| c.basis == best).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unknown(what: &str) -> Truth {
        Truth::Unknown(vec![Missing { sort: MissingSort::Record, what: what.into(), settle: String::new() }])
    }

    /// Kleene, Introduction to Metamathematics (1952), section 64: the strong tables.
    #[test]
    fn three_valued_tables_are_kleenes() {
        use Truth::{No, Yes};
        let u = || unknown("x");
        assert_eq!(Yes.and(Yes), Yes);
        assert_eq!(Yes.and(No), No);
        assert_eq!(Yes.and(u()), u());
        assert_eq!(No.and(u()), No);
        assert_eq!(u().and(No), No);
        assert_eq!(No.or(No), No);
        assert_eq!(No.or(u()), u());
        assert_eq!(Yes.or(u()), Yes);
        assert_eq!(u().or(Yes), Yes);
        assert_eq!(u().not(), u());
        assert!(matches!(unknown("a").and(unknown("b")), Truth::Unknown(m) if m.len() == 2));
    }

    #[test]
    fn ranges_decide_only_where_they_lie_on_one_side() {
        assert_eq!(between(3.0, 4.0, 1.0, 2.0, "x", true), Truth::Yes);
        assert_eq!(between(1.0, 2.0, 3.0, 4.0, "x", true), Truth::No);
        assert!(matches!(between(1.0, 3.0, 2.0, 2.0, "x", true), Truth::Unknown(_)));
    }
}
