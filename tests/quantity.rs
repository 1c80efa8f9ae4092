//! Unit conversions against factors of independent libraries, and properties of reading and printing quantities.

use gripbook::quantity::{Amount, Quantity, parse, table};
use proptest::prelude::*;

/// `unit-…` rows of the statistics check table: factors on which pint, GNU units and a UCUM library agree.
#[test]
fn conversions_agree_with_independent_libraries() {
    let text = include_str!("data/statistics-checks.csv");
    let mut seen = 0;
    for row in text.lines().filter(|l| l.starts_with("unit-")) {
        let cells: Vec<&str> = row.split(',').collect();
        let (question, expected, to) = (cells[2], cells[3], cells[4]);
        let from = question.split(" in ").next().expect("a quantity");
        let expected: f64 = expected.parse().expect("a number");
        let tolerance: f64 = cells[5].trim_start_matches("rel ").parse().expect("a tolerance");
        let tolerance = if cells[5].starts_with("rel") { tolerance * expected.abs() } else { tolerance };
        let got = converted(from, to).unwrap_or_else(|| panic!("{row}: no quantity has both units"));
        assert!((got - expected).abs() <= tolerance, "{row}: got {got}");
        seen += 1;
    }
    assert_eq!(seen, 20, "every unit row of the table");
}

fn converted(from: &str, to: &str) -> Option<f64> {
    table::ALL.iter().find_map(|&q| {
        let written = parse(from, q).ok()?;
        let unit = q.unit(to)?;
        Some(Amount { si: written.si, unit }.value())
    })
}

/// SI brochure, 9th edition, and NIST SP 811: 0 °C is 273.15 K, 32 °F is 0 °C, -40 °F is -40 °C.
#[test]
fn fixed_points_of_temperature() {
    let kelvin = |t: &str| parse(t, Quantity::Temperature).expect("a temperature").si;
    assert_eq!(kelvin("0 °C"), 273.15);
    assert!((kelvin("32 °F") - 273.15).abs() < 1e-12);
    assert!((kelvin("-40 °F") - kelvin("-40 °C")).abs() < 1e-12);
    assert_eq!(parse("9 °F", Quantity::TemperatureDifference).expect("a difference").si, 5.0);
}

/// A torque is no energy, a stress no load, a temperature no difference: units of the one are refused for the other.
#[test]
fn kinds_of_equal_dimension_stay_apart() {
    for (text, wrong) in [
        ("1 J", Quantity::Torque),
        ("1 N·m", Quantity::Energy),
        ("1 MPa", Quantity::Force),
        ("1 mJ/cm²", Quantity::SurfaceEnergy),
        ("1 kJ/m²", Quantity::Dose),
        ("50 %", Quantity::Number),
    ] {
        let fault = parse(text, wrong).expect_err(text);
        assert!(fault.message().contains(wrong.title()), "{}", fault.message());
    }
}

fn any_unit() -> impl Strategy<Value = (Quantity, usize)> {
    let all: Vec<(Quantity, usize)> = table::ALL.iter().flat_map(|&q| (0..q.units().len()).map(move |i| (q, i))).collect();
    proptest::sample::select(all)
}

proptest! {
    /// parse(print(x)) = x, digits kept.
    #[test]
    fn reading_keeps_the_text((q, place) in any_unit(), number in "(0|[1-9][0-9]{0,5})(\\.[0-9]{1,6})?") {
        let symbol = q.units()[place].symbol;
        let text = format!("{number} {symbol}");
        let w = parse(&text, q).expect("a plain quantity");
        prop_assert_eq!(&*w.text, text.as_str());
        prop_assert_eq!(w.digits(), number.as_str());
    }

    /// To SI and back gives the number to 12 digits, in every unit of the table.
    #[test]
    fn units_round_trip((q, place) in any_unit(), x in 1e-3f64..1e6) {
        let unit = &q.units()[place];
        let back = unit.number_from_si(unit.si_from_number(x));
        // Offset units lose the digits of the offset.
        let scale = x.abs().max(if q == Quantity::Temperature { 500.0 } else { 0.0 });
        prop_assert!((back - x).abs() <= 1e-12 * scale, "{} {} {}", x, unit.symbol, back);
    }

    /// Group law: a to b to c is a to c.
    #[test]
    fn conversions_compose((q, a) in any_unit(), x in 1e-3f64..1e6, b in 0usize..12, c in 0usize..12) {
        let units = q.units();
        let (a, b, c) = (&units[a], &units[b % units.len()], &units[c % units.len()]);
        let direct = c.number_from_si(a.si_from_number(x));
        let by_b = c.number_from_si(b.si_from_number(b.number_from_si(a.si_from_number(x))));
        let scale = direct.abs().max(if q == Quantity::Temperature { 1e3 } else { 0.0 });
        prop_assert!((direct - by_b).abs() <= 1e-11 * scale, "{} {} {}", direct, by_b, q.word());
    }

    /// No text makes the reader panic.
    #[test]
    fn no_text_panics(text in "\\PC{0,24}") {
        for &q in table::ALL {
            if let Err(fault) = parse(&text, q) {
                let _ = (fault.message(), fault.help(), fault.rule());
            }
        }
    }
}

/// Distances as printed in the literature: kitten and sitting, Saturday and Sunday 3 (Levenshtein's distance, textbook
/// examples); a swap of neighbours 1; CA to ABC 3 when no part is edited twice (published).
#[test]
fn slips_are_counted_as_in_the_literature() {
    use gripbook::quantity::parse::edit_distance;
    let cases = [
        ("kitten", "sitting", 3),
        ("saturday", "sunday", 3),
        ("ca", "abc", 3),
        ("acres", "acers", 1),
        ("ab", "ba", 1),
        ("xaby", "xbay", 1),
        ("", "mpa", 3),
        ("mpa", "", 3),
        ("mpa", "mpa", 0),
        ("rosettacode", "raisethysword", 8),
    ];
    for (a, b, want) in cases {
        assert_eq!(edit_distance(a, b), want, "{a} {b}");
        assert_eq!(edit_distance(b, a), want, "{b} {a}");
    }
}

/// A slip of one or two letters is offered the unit; a word that shares nothing with any unit is not.
#[test]
fn only_a_near_spelling_is_offered() {
    let help = |text: &str, q| parse(text, q).expect_err(text).help();
    assert!(help("40 MPaa", Quantity::Stress).contains("did you mean `MPa`?"));
    assert!(help("40 NPa", Quantity::Stress).contains("did you mean"));
    assert!(!help("40 zzzzz", Quantity::Stress).contains("did you mean"));
    assert!(!help("40 qq", Quantity::Length).contains("did you mean"), "{}", help("40 qq", Quantity::Length));
    assert!(!help("40 widgets", Quantity::Force).contains("did you mean"));
}

/// Sizes by definition (SP 811, appendix B): the pound-force per square inch 6894.757 Pa, a degree Fahrenheit 5/9 K.
#[test]
fn sizes_of_units_are_their_definitions() {
    let size = |q: Quantity, symbol: &str| q.unit(symbol).expect(symbol).unit().size();
    assert!((size(Quantity::Stress, "psi") - 6894.757).abs() < 5e-4);
    assert!((size(Quantity::Temperature, "°F") - 5.0 / 9.0).abs() < 1e-15);
    assert!((size(Quantity::Length, "in") - 0.0254).abs() < 1e-17);
    use gripbook::quantity::measure::{FractureToughness, Measure, Stiffness};
    assert!((Stiffness::from_si(2.5e6).si() - 2.5e6).abs() < 1e-9 && (FractureToughness::from_si(3.0).si() - 3.0).abs() < 1e-15);
}

/// Digits of the wide forms (Unicode U+FF10 to U+FF19) are told with the plain ones, after a sign too; a name with one in
/// it is no number.
#[test]
fn wide_digits_are_named_with_the_plain_ones() {
    use gripbook::quantity::number::{NumberFault, read};
    for (text, plain) in [("\u{ff11}\u{ff12}", "12"), ("-\u{ff11}", "-1"), ("4\u{ff0e}\u{ff15}", "4.5"), ("0.\u{ff19}", "0.9")] {
        assert_eq!(read(text), Err(NumberFault::ForeignDigits(plain.into())), "{text}");
    }
    assert!(!matches!(read("x\u{ff11}"), Err(NumberFault::ForeignDigits(_))));
}
