use super::*;
use uom::si::f64::{Force, Length, Pressure, TemperatureInterval, ThermodynamicTemperature};

#[test]
fn spellings_are_unique_within_a_quantity() {
    for &q in table::ALL {
        let mut seen = std::collections::BTreeSet::new();
        for u in q.units() {
            for s in u.aliases.iter().chain([&u.symbol]) {
                assert!(seen.insert(*s), "{s} twice in {}", q.word());
                assert_eq!(q.unit(s).map(UnitId::symbol), Some(u.symbol));
            }
        }
    }
}

#[test]
fn digits_are_kept() {
    let w = parse("1.20 MPa", Quantity::Stress).unwrap();
    assert_eq!((&*w.text, w.si, w.significant_digits(), w.resolution()), ("1.20 MPa", 1.2e6, 3, 0.01));
    assert_eq!(parse("12.5 µm", Quantity::Length).unwrap().si, 12.5e-6);
    assert_eq!(parse("0.3mm", Quantity::Length).unwrap().si, 0.0003);
}

#[test]
fn kinds_do_not_mix() {
    assert_eq!(parse("20 °C", Quantity::Temperature).unwrap().si, 293.15);
    assert_eq!(parse("20 °C", Quantity::TemperatureDifference).unwrap().si, 20.0);
    assert!(parse("1 J", Quantity::Torque).is_err());
    assert!(parse("1 N·m", Quantity::Energy).is_err());
    assert!(parse("3 %", Quantity::Number).is_err());
    assert_eq!(parse("3 %", Quantity::Fraction).unwrap().si, 0.03);
}

#[test]
fn faults_offer_the_nearest_unit() {
    let help = |t: &str, q| parse(t, q).unwrap_err().help();
    assert!(help("20F", Quantity::Temperature).starts_with("did you mean `°F`?"), "{}", help("20F", Quantity::Temperature));
    assert_eq!(help("20kg", Quantity::Force), "did you mean `20 kgf`?");
    assert_eq!(help("5 lb", Quantity::Force), "did you mean `5 lbf`?");
    assert!(help("46 mPa", Quantity::Stress).contains("`MPa`"));
    assert!(help("46", Quantity::Stress).contains("`46 MPa`"));
    assert!(help("46,5 MPa", Quantity::Stress).contains("`46.5 MPa`"));
    assert!(help("\u{2212}5 °C", Quantity::Temperature).contains("`-5 °C`"));
    assert!(help("1\u{2009}000 N", Quantity::Force).contains("`1000 N`"));
    assert!(help("４６ MPa", Quantity::Stress).contains("`46 MPa`"));
    assert!(help("007 MPa", Quantity::Stress).contains("`7`"));
    let cyrillic = parse("46 МРа", Quantity::Stress).unwrap_err();
    assert_eq!(cyrillic.rule(), "unit-confusable");
    assert!(cyrillic.help().contains("`MPa`"));
    for bad in
        ["1e999 MPa", "1e-999 MPa", "nan MPa", "0x10 MPa", "1_000 MPa", "+5 MPa", ".5 MPa", "-0 MPa", "12:30 MPa", "", "MPa"]
    {
        assert!(parse(bad, Quantity::Stress).is_err(), "{bad}");
    }
}

/// The record profile reports letters of other alphabets, the Greek mu among them, with the intended sign.
#[test]
fn greek_mu_is_reported_with_the_micro_sign() {
    let fault = parse("5 \u{03BC}m", Quantity::Length).unwrap_err();
    assert_eq!(fault.rule(), "unit-confusable");
    assert!(fault.help().contains("`µm`"), "{}", fault.help());
}

/// The inch is 25.4 mm (1959); a decanewton is ten newtons (SI brochure, table of prefixes).
#[test]
fn fractions_of_an_inch_are_typed_and_not_recorded() {
    for (typed, metres) in [
        ("1/2in", 0.0127),
        ("5/16 in", 0.0079375),
        ("1-1/4in", 0.03175),
        ("1 1/4 in", 0.03175),
        ("1/4\"", 0.00635),
        ("0.25\"", 0.00635),
        ("0.25in", 0.00635),
    ] {
        let read = parse_typed(typed, Quantity::Length).unwrap().si;
        assert!((read - metres).abs() < 1e-15, "{typed}: {read}");
    }
    for bad in ["1/0in", "/2in", "-1/2in", "1/2", "1/2mm", "1/x in", "\""] {
        assert!(parse_typed(bad, Quantity::Length).is_err(), "{bad}");
    }
    assert!(parse("1/2in", Quantity::Length).is_err());
    assert!(parse_typed("1/2in", Quantity::Force).is_err());
    assert_eq!(parse("20 daN", Quantity::Force).unwrap().si, 200.0);
}

/// Points and commas between digits: what is offered is the number that was written.
#[test]
fn marks_between_digits_are_read_as_one_number_or_not_at_all() {
    let fault = |text: &str| parse(text, Quantity::Force).unwrap_err();
    assert!(fault("1.200,5N").help().contains("`1200.5N`"));
    assert!(fault("1,200.5 N").help().contains("`1200.5 N`"));
    assert!(fault("1,200,500 N").help().contains("`1200500 N`"));
    let both = fault("1,200 N").help();
    assert!(both.contains("`1.200 N`") && both.contains("`1200 N`"), "{both}");
    assert!(!fault("1.5,2 N").help().contains("1.5.2"));
    assert_eq!(parse("1.200 N", Quantity::Force).unwrap().si, 1.2);
}

#[test]
fn units_that_start_with_a_digit_are_no_thousands() {
    assert_eq!(parse("6 1/K", Quantity::Expansion).unwrap().si, 6.0);
    assert_eq!(parse("0.35 1", Quantity::Number).unwrap().si, 0.35);
    assert!(parse("1 000 N", Quantity::Force).unwrap_err().help().contains("`1000 N`"));
}

#[test]
fn typed_quantities_cross_the_border() {
    let p: Pressure = parse("46.5 MPa", Quantity::Stress).unwrap().typed().unwrap();
    assert_eq!(p.si(), 46.5e6);
    assert!(parse("46.5 MPa", Quantity::Stress).unwrap().typed::<Force>().is_none());
    let l: Length = parse("1 in", Quantity::Length).unwrap().typed().unwrap();
    assert_eq!(l.si(), 0.0254);
    let t: ThermodynamicTemperature = parse("61 °C", Quantity::Temperature).unwrap().typed().unwrap();
    assert!((t.si() - 334.15).abs() < 1e-9);
    let d: TemperatureInterval = parse("61 °C", Quantity::TemperatureDifference).unwrap().typed().unwrap();
    assert_eq!(d.si(), 61.0);
}

#[test]
fn amounts_print_without_round_trip_noise() {
    assert_eq!(Amount::new(Quantity::Length, 12.5e-6).shown_in("µm").value(), 12.5);
    assert_eq!(Amount::new(Quantity::Stress, 46.5e6).text(3), "46.5 MPa");
    assert_eq!(Amount::new(Quantity::Force, 1234.5).text(3), "1230 N");
    assert_eq!(print::number(0.000012345, 3), "1.23e-5");
    assert_eq!(print::number(9.999, 3), "10.0");
    assert_eq!(Amount::new(Quantity::Temperature, 333.15).value(), 60.0);
}
