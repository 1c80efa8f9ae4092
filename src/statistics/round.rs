//! Rounding on decimal text, never on binary numbers: 0.135 is not 0.13500000000000000888 here.
//!
//! ISO 80000-1:2009 Annex B: rule A, the even multiple when two are equally near (also ASTM E29); rule B, the larger one.
//! Value and uncertainty are rounded to one place, the uncertainty to two significant digits: JCGM 100:2008, 7.2.6
//! (clauses from memory).

use super::refusal::{Refusal, require_positive};

/// What happens half-way between two multiples.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum HalfRule {
    /// Rule A: to the even multiple.
    ToEven,
    /// Rule B: to the one larger in magnitude.
    AwayFromZero,
}

/// A decimal number as its digits: 0.d₁d₂d₃… × 10^point, the first digit not zero unless all are.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Decimal {
    negative: bool,
    digits: Vec<u8>,
    point: i32,
}

/// Most digits before or after the point that are handled.
const WIDEST: i32 = 400;

impl Decimal {
    fn parse(text: &str) -> Result<Self, Refusal> {
        let refuse = || Refusal::NotDecimal { text: text.to_owned() };
        let body = text.trim();
        let (negative, body) = match body.strip_prefix('-') {
            Some(rest) => (true, rest),
            None => (false, body.strip_prefix('+').unwrap_or(body)),
        };
        let (mantissa, exponent) = match body.split_once(['e', 'E']) {
            Some((m, e)) => (m, e.parse::<i32>().map_err(|_| refuse())?),
            None => (body, 0),
        };
        let (whole, part) = mantissa.split_once('.').unwrap_or((mantissa, ""));
        let all_digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
        if whole.is_empty() && part.is_empty() || !all_digits(whole) || !all_digits(part) {
            return Err(refuse());
        }
        if exponent.abs() > WIDEST || mantissa.len() > WIDEST as usize {
            return Err(refuse());
        }
        let mut digits: Vec<u8> = whole.bytes().chain(part.bytes()).map(|b| b - b'0').collect();
        let mut point = whole.len() as i32 + exponent;
        let zeros = digits.iter().take_while(|d| **d == 0).count();
        digits.drain(..zeros);
        point -= zeros as i32;
        if digits.is_empty() {
            point = 0;
        }
        Ok(Decimal { negative, digits, point })
    }

    /// Rounds to `places` digits after the point (negative: before it).
    fn round(&self, places: i32, rule: HalfRule) -> Decimal {
        let nothing_left = Decimal { negative: self.negative, digits: Vec::new(), point: 0 };
        let keep = self.point + places;
        if keep < 0 || self.digits.is_empty() {
            return nothing_left;
        }
        let keep = keep as usize;
        if keep >= self.digits.len() {
            return self.clone();
        }
        let (kept, rest) = self.digits.split_at(keep);
        let odd = kept.last().is_some_and(|d| d % 2 == 1);
        let up = match rest[0].cmp(&5) {
            std::cmp::Ordering::Greater => true,
            std::cmp::Ordering::Less => false,
            std::cmp::Ordering::Equal => rest[1..].iter().any(|d| *d != 0) || rule == HalfRule::AwayFromZero || odd,
        };
        if !up && kept.is_empty() {
            return nothing_left;
        }
        let mut digits = kept.to_vec();
        let mut point = self.point;
        if up && carry(&mut digits) {
            digits.insert(0, 1);
            point += 1;
        }
        Decimal { negative: self.negative, digits, point }
    }

    /// Writes with exactly `places` digits after the point; zeros stand for digits not known when negative.
    fn write(&self, places: i32) -> String {
        let digit = |place: i32| -> char {
            let index = self.point - place - 1;
            let d = usize::try_from(index).ok().and_then(|i| self.digits.get(i)).copied().unwrap_or(0);
            char::from(b'0' + d)
        };
        let highest = (self.point - 1).max(0);
        let mut text: String = (0..=highest).rev().map(digit).collect();
        if places > 0 {
            text.push('.');
            text.extend((1..=places).map(|p| digit(-p)));
        }
        let zero = self.digits.iter().all(|d| *d == 0);
        if self.negative && !zero {
            text.insert(0, '-');
        }
        text
    }
}

/// Adds one unit in the last place; true when it ran over the front.
fn carry(digits: &mut [u8]) -> bool {
    for digit in digits.iter_mut().rev() {
        if *digit == 9 {
            *digit = 0;
        } else {
            *digit += 1;
            return false;
        }
    }
    true
}

fn check_places(places: i32) -> Result<(), Refusal> {
    if places.abs() <= WIDEST {
        Ok(())
    } else {
        Err(Refusal::OutOfRange { argument: "decimal places", value: f64::from(places), allowed: "-400 to 400" })
    }
}

/// Rounds decimal text to `places` digits after the point; negative places round tens, hundreds and so on.
///
/// A result of zero has no sign. Text may have a sign, a point and an exponent; anything else is refused.
pub fn round_to_places(text: &str, places: i32, rule: HalfRule) -> Result<String, Refusal> {
    check_places(places)?;
    Ok(Decimal::parse(text)?.round(places, rule).write(places))
}

/// Rounds decimal text to a number of significant digits (at least 1).
pub fn round_to_significant(text: &str, digits: usize, rule: HalfRule) -> Result<String, Refusal> {
    let decimal = Decimal::parse(text)?;
    let places = places_for(&decimal, digits, rule)?;
    Ok(decimal.round(places, rule).write(places))
}

/// Decimal places that leave the wanted number of significant digits after rounding.
fn places_for(decimal: &Decimal, digits: usize, rule: HalfRule) -> Result<i32, Refusal> {
    let wanted = i32::try_from(digits).unwrap_or(i32::MAX);
    if !(1..=WIDEST).contains(&wanted) {
        return Err(Refusal::OutOfRange { argument: "significant digits", value: digits as f64, allowed: "1 to 400" });
    }
    if decimal.digits.is_empty() {
        return Ok(wanted - 1);
    }
    let places = wanted - decimal.point;
    // 0.0999 to two digits is 0.10: the carry moves the first digit one place up.
    let moved = decimal.round(places, rule).point - decimal.point;
    Ok(places - moved)
}

/// A value and its uncertainty written to one decimal place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RoundedPair {
    /// Value as text.
    pub value: String,
    /// Uncertainty as text, to the same place.
    pub uncertainty: String,
    /// Digits after the point of both; negative when tens or more were rounded.
    pub places: i32,
}

/// Rounds an uncertainty (decimal text, above zero) to `digits` significant digits and the value to the same place.
///
/// Half-way cases go to the even digit. Two digits are usual; more than two are never needed (7.2.6).
pub fn round_with_uncertainty(value: &str, uncertainty: &str, digits: usize) -> Result<RoundedPair, Refusal> {
    let rule = HalfRule::ToEven;
    let u = Decimal::parse(uncertainty)?;
    if u.negative || u.digits.is_empty() {
        return Err(Refusal::OutOfRange {
            argument: "uncertainty",
            value: uncertainty.trim().parse().unwrap_or(f64::NAN),
            allowed: "above zero",
        });
    }
    let places = places_for(&u, digits, rule)?;
    Ok(RoundedPair {
        value: Decimal::parse(value)?.round(places, rule).write(places),
        uncertainty: u.round(places, rule).write(places),
        places,
    })
}

/// The same for computed numbers, by their shortest decimal text.
pub fn round_numbers_with_uncertainty(value: f64, uncertainty: f64, digits: usize) -> Result<RoundedPair, Refusal> {
    require_positive("uncertainty", uncertainty)?;
    if !value.is_finite() {
        return Err(Refusal::NotFinite { index: 0 });
    }
    round_with_uncertainty(&format!("{value:e}"), &format!("{uncertainty:e}"), digits)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Examples by hand after rule A and rule B.
    #[test]
    fn places() {
        let even = |t, p| round_to_places(t, p, HalfRule::ToEven).unwrap();
        let away = |t, p| round_to_places(t, p, HalfRule::AwayFromZero).unwrap();
        for (text, places, rule_a, rule_b) in [
            ("2.5", 0, "2", "3"),
            ("3.5", 0, "4", "4"),
            ("-2.5", 0, "-2", "-3"),
            ("0.5", 0, "0", "1"),
            ("-0.5", 0, "0", "-1"),
            ("0.125", 2, "0.12", "0.13"),
            ("0.135", 2, "0.14", "0.14"),
            ("2.5000001", 0, "3", "3"),
            ("9.995", 2, "10.00", "10.00"),
            ("999.5", 0, "1000", "1000"),
            ("12345", -2, "12300", "12300"),
            ("1250", -2, "1200", "1300"),
            ("49", -2, "0", "0"),
            ("50", -2, "0", "100"),
            ("51", -2, "100", "100"),
            ("1.5e-3", 3, "0.002", "0.002"),
            ("7", 3, "7.000", "7.000"),
            ("0", 2, "0.00", "0.00"),
            ("0.004", 2, "0.00", "0.00"),
        ] {
            assert_eq!(even(text, places), rule_a, "{text}");
            assert_eq!(away(text, places), rule_b, "{text}");
        }
    }

    #[test]
    fn significant() {
        let to = |t, d| round_to_significant(t, d, HalfRule::ToEven).unwrap();
        assert_eq!(to("0.0999", 2), "0.10");
        assert_eq!(to("19.717", 2), "20");
        assert_eq!(to("1234", 2), "1200");
        assert_eq!(to("9.96", 2), "10");
        assert_eq!(to("0", 3), "0.00");
    }

    #[test]
    fn refuses_what_is_no_decimal() {
        for text in ["", ".", "1,5", "nan", "inf", "0x10", "1e", "--1", "1_000", "1e999"] {
            assert!(round_to_places(text, 1, HalfRule::ToEven).is_err(), "{text}");
        }
        assert!(round_with_uncertainty("1", "0", 2).is_err());
        assert!(round_with_uncertainty("1", "-1", 2).is_err());
        assert!(round_numbers_with_uncertainty(1.0, f64::NAN, 2).is_err());
        assert!(round_to_significant("1", 0, HalfRule::ToEven).is_err());
    }
}
