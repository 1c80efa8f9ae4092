//! What becomes of a written value: another text, a multiple, another unit.

use super::AmendArgs;
use crate::command::Fault;
use gripbook::quantity::{self, Written};

/// A correction of a value.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Amendment {
    /// Another text.
    Value(String),
    /// The number times this.
    Factor(f64),
    /// The same number in another unit: symbols of the written and of the right one.
    Unit { written: String, right: String },
}

impl Amendment {
    /// The change the arguments ask for.
    pub fn of(args: &AmendArgs) -> Result<Amendment, Fault> {
        match (&args.value, args.factor, &args.unit) {
            (Some(value), ..) => Ok(Amendment::Value(value.clone())),
            (_, Some(factor), _) if factor.is_finite() && factor != 0.0 => Ok(Amendment::Factor(factor)),
            (_, Some(factor), _) => Err(Fault::usage(format!("{factor} is no factor"))),
            (.., unit) => Amendment::units(unit.as_deref().unwrap_or_default()),
        }
    }
    fn units(text: &str) -> Result<Amendment, Fault> {
        let wrong = |why: String| {
            Fault::usage(format!("--unit {text}: {why}")).help("for example lbf=kgf: written in lbf, and kgf is right")
        };
        let (written, right) = text.split_once('=').ok_or_else(|| wrong("two units are needed".into()))?;
        let known = |symbol: &str| -> Result<Written, Fault> {
            let all = quantity::parse_any(&format!("1 {}", symbol.trim()));
            all.into_iter().next().ok_or_else(|| wrong(format!("`{symbol}` is no unit")))
        };
        let (written, right) = (known(written)?, known(right)?);
        if written.quantity() != right.quantity() {
            return Err(wrong(format!("`{}` and `{}` measure different things", written.unit.symbol(), right.unit.symbol())));
        }
        Ok(Amendment::Unit { written: written.unit.symbol().into(), right: right.unit.symbol().into() })
    }
    /// Whether every number of what is named is meant, and not its main value alone.
    pub fn is_of_all_numbers(&self) -> bool {
        !matches!(self, Amendment::Value(_))
    }
    /// The new text; `None` where the change does not concern the old one.
    pub fn apply(&self, old: &str) -> Result<Option<String>, Fault> {
        let number = || {
            let (number, unit) = old.split_once(' ').map_or((old, ""), |(n, u)| (n, u.trim()));
            number.parse::<f64>().ok().filter(|n| n.is_finite()).map(|n| (number, n, unit))
        };
        match self {
            Amendment::Value(new) => Ok(Some(new.clone())),
            Amendment::Factor(factor) => {
                let (text, value, unit) = number().ok_or_else(|| Fault::usage(format!("`{old}` is no number")))?;
                if unit.starts_with('°') {
                    return Err(Fault::usage(format!("`{old}`: a temperature scale with a zero of its own has no factor"))
                        .help("give the right value with --value"));
                }
                Ok(Some(format!("{} {unit}", multiplied(text, value * factor)).trim_end().to_owned()))
            }
            Amendment::Unit { written, right } => {
                let is_it = quantity::parse_any(old).iter().any(|w| w.unit.symbol() == written);
                Ok(number().filter(|_| is_it).map(|(text, ..)| format!("{text} {right}")))
            }
        }
    }
}

/// A product with as many significant digits as the factor it was made from, three at least.
fn multiplied(from: &str, product: f64) -> String {
    let mantissa = from.split(['e', 'E']).next().unwrap_or(from);
    let digits: String = mantissa.chars().filter(char::is_ascii_digit).collect();
    let significant = digits.trim_start_matches('0').len().clamp(3, 15) as i32;
    if product == 0.0 {
        return "0".into();
    }
    let places = significant - 1 - libm::floor(libm::log10(product.abs())) as i32;
    if places >= 0 {
        return format!("{product:.*}", places as usize);
    }
    let step = libm::pow(10.0, f64::from(-places));
    format!("{:.0}", libm::round(product / step) * step)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn factor(old: &str, factor: f64) -> String {
        Amendment::Factor(factor).apply(old).expect("a number").expect("a change")
    }

    /// Products by hand.
    #[test]
    fn a_product_keeps_the_digits_of_what_was_written() {
        assert_eq!(factor("220.0 lbf", 0.4536), "99.79 lbf");
        assert_eq!(factor("1240 N", 0.4536), "562.5 N");
        assert_eq!(factor("4 N", 4.448222), "17.8 N");
        assert_eq!(factor("12345 N", 1000.0), "12345000 N");
        assert_eq!(factor("-5.00 mm", 2.0), "-10.0 mm");
        assert!(Amendment::Factor(2.0).apply("20 °C").is_err());
        assert!(Amendment::Factor(2.0).apply("dry").is_err());
    }

    #[test]
    fn another_unit_keeps_the_number_and_concerns_only_what_has_the_written_one() {
        let change = Amendment::units("lbf=kgf").expect("two forces");
        assert_eq!(change.apply("12.50 lbf").expect("read").as_deref(), Some("12.50 kgf"));
        assert_eq!(change.apply("12.50 N").expect("read"), None);
        assert!(Amendment::units("lbf=mm").is_err());
        assert!(Amendment::units("lbf").is_err());
    }
}
