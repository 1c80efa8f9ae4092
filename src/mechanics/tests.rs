use super::book::formulas;
use super::call::{CallFault, call, find, mistakes};
use super::formula::{Domain, Formula, Status, Trend};
use crate::quantity::parse;

/// The example's arguments and expected result in base SI.
fn example_si(f: &Formula) -> (Vec<f64>, f64) {
    let inputs = f.example.inputs.iter().zip(&f.parameters);
    let si = inputs.map(|(text, p)| parse(text, p.quantity).unwrap_or_else(|e| panic!("{}: {e:?}", f.name)).si).collect();
    let result = parse(f.example.result, f.quantity).unwrap_or_else(|e| panic!("{}: {e:?}", f.name)).si;
    (si, result)
}

#[test]
fn every_worked_example_comes_out_as_printed() {
    for f in formulas() {
        let (_, expected) = example_si(&f);
        let arguments: Vec<&str> = f.example.call.split(' ').skip(1).collect();
        let answer = call(&f, &arguments, false).unwrap_or_else(|e| panic!("{}: {}", f.name, e.message()));
        let off = (answer.result.si / expected - 1.0).abs();
        assert!(off <= f.example.tolerance, "{}: {} instead of {}", f.name, answer.result.text(8), f.example.result);
        assert!(f.example.tolerance <= 0.02, "{}: a loose example checks nothing", f.name);
    }
}

#[test]
fn no_worked_example_rests_on_our_own_output() {
    for f in formulas() {
        assert_ne!(f.example.status, Status::Own, "{}", f.name);
        assert!(!f.example.origin.is_empty() && !f.source.is_empty() && f.purpose.ends_with('.'), "{}", f.name);
    }
}

#[test]
fn names_are_unique_and_symbols_do_not_hide_names() {
    let all = formulas();
    for (i, f) in all.iter().enumerate() {
        assert!(all[i + 1..].iter().all(|g| g.name != f.name), "{} twice", f.name);
        for (place, p) in f.parameters.iter().enumerate() {
            assert_eq!(f.place(p.argument.name), Some(place), "{}: {}", f.name, p.argument.name);
            assert_eq!(f.place(p.argument.symbol), Some(place), "{}: {}", f.name, p.argument.symbol);
            assert!(p.quantity.unit(p.argument.unit).is_some(), "{}: {} in {}", f.name, p.argument.name, p.argument.unit);
        }
        assert!(f.quantity.unit(f.gives.unit).is_some(), "{} in {}", f.name, f.gives.unit);
        for (upper, lower) in f.above {
            assert!(f.place(upper).is_some() && f.place(lower).is_some(), "{}: {upper} above {lower}", f.name);
        }
    }
}

/// Results while one argument runs from half to twice its example value, where the call is allowed.
fn sweep(f: &Formula, place: usize) -> Vec<f64> {
    let (si, _) = example_si(f);
    let p = &f.parameters[place];
    let from_zero = si[place] == 0.0;
    let top = match p.argument.domain {
        Domain::Share => 1.0,
        Domain::Within(_, high) => high,
        _ => 1e-3,
    };
    let steps = (0..=60).map(|k| {
        let t = f64::from(k) / 60.0;
        if from_zero { top * t } else { si[place] * (0.5 + 1.5 * t) }
    });
    steps
        .filter_map(|value| {
            let mut at = si.clone();
            at[place] = value;
            let text: Vec<String> = f
                .parameters
                .iter()
                .zip(&at)
                .map(|(q, v)| {
                    format!(
                        "{}={:e}{}",
                        q.argument.name,
                        q.quantity.canonical().unit().number_from_si(*v),
                        q.quantity.canonical().symbol()
                    )
                })
                .collect();
            call(f, &text, false).ok().map(|a| a.result.si)
        })
        .collect()
}

#[test]
fn results_rise_and_fall_as_the_cards_say() {
    for f in formulas() {
        for (place, p) in f.parameters.iter().enumerate() {
            let results = sweep(&f, place);
            assert!(results.len() > 5, "{}: only {} steps of {}", f.name, results.len(), p.argument.name);
            let steps = || results.windows(2).map(|w| (w[1] - w[0]) / w[0].abs().max(w[1].abs()).max(1e-300));
            let name = p.argument.name;
            match p.argument.trend {
                Trend::Rises => {
                    assert!(steps().all(|d| d >= -1e-12), "{}: falls with {name}", f.name);
                    assert!(steps().any(|d| d > 1e-9), "{}: never rises with {name}", f.name);
                }
                Trend::Falls => {
                    assert!(steps().all(|d| d <= 1e-12), "{}: rises with {name}", f.name);
                    assert!(steps().any(|d| d < -1e-9), "{}: never falls with {name}", f.name);
                }
                Trend::Mixed => assert!(steps().any(|d| d.abs() > 1e-9), "{}: {name} has no effect", f.name),
            }
        }
    }
}

#[test]
fn faults_name_what_to_write() {
    let all = formulas();
    let unknown = find(&all, "cure-dept").unwrap_err();
    assert!(unknown.help().contains("cure-depth"), "{}", unknown.help());
    let f = find(&all, "cure-depth").unwrap();
    let message = |arguments: &[&str]| {
        let fault = call(f, arguments, false).unwrap_err();
        assert!(fault.is_usage());
        format!("{}; {}", fault.message(), fault.help())
    };
    assert!(message(&["penetraton=100um"]).contains("did you mean `penetration`"));
    assert!(message(&["penetration=100um"]).contains("missing: dose (E0, mJ/cm²)"));
    assert!(message(&["penetration=100"]).contains("no unit"));
    assert!(message(&["penetration=100 MPa"]).contains("is a unit of a stress"));
    assert!(message(&["penetration"]).contains("name=value"));
    assert!(message(&["Dp=1um", "penetration=1um"]).contains("twice"));
    assert!(message(&["Dp=-1um", "E0=1mJ/cm2", "Ec=1mJ/cm2"]).contains("above zero"));
}

/// All that is wrong with a call is found at once; what was given in a wrong form is not missing besides.
#[test]
fn every_mistake_of_a_call_is_found() {
    let all = formulas();
    let f = find(&all, "lame-hoop").unwrap();
    let found = |arguments: &[&str]| mistakes(f, arguments).iter().map(CallFault::message).collect::<Vec<_>>();
    let lacking = found(&["inner=3", "outer=2mm"]);
    assert!(lacking.len() == 2 && lacking[0].contains("no unit") && lacking[1].starts_with("missing: pressure"), "{lacking:?}");
    let crossed = found(&["inner=3mm", "outer=2mm", "presure=5MPa", "thick"]);
    assert!(crossed.len() == 3 && crossed[0].contains("no argument `presure`"), "{crossed:?}");
    assert!(crossed[1].contains("name=value") && crossed[2].contains("outer (2mm) is not above inner (3mm)"), "{crossed:?}");
    assert!(found(&["inner=1mm", "outer=2mm", "pressure=5MPa"]).is_empty());
}

#[test]
fn outside_its_range_a_formula_gives_no_number_unless_asked() {
    let all = formulas();
    let f = find(&all, "alexander-hole-thread").unwrap();
    let fault = call(f, &["strength_ratio=0.1"], false).unwrap_err();
    assert!(!fault.is_usage());
    assert!(matches!(&fault, CallFault::OutsideRange { left, .. } if left.len() == 1));
    let beyond = call(f, &["strength_ratio=0.1"], true).unwrap();
    assert_eq!((beyond.result.si, beyond.validity.inside), (1.0, Some(false)));
    let boss = find(&all, "alexander-dilation").unwrap();
    assert!(matches!(call(boss, &["boss=3.9mm", "major=3mm"], false), Err(CallFault::OutsideRange { .. })));
    let below = call(boss, &["boss=3.9mm", "major=3mm"], true).unwrap();
    // Hand: s/D = 1.3, and -1.69 + 4.94 - 2.61 = 0.64.
    assert!((below.result.si - 0.64).abs() < 1e-12 && below.validity.inside == Some(false));
}

/// Every bound of every formula is left once on each side; what is offered then is given, and marked as outside.
#[test]
fn beyond_its_range_every_formula_gives_the_number_it_offers() {
    use super::formula::{Of, Validity};
    let (mut left, mut bounded) = (0, 0);
    for f in formulas() {
        let Validity::Within(bounds) = f.validity else { continue };
        bounded += 1;
        let example: Vec<&str> = f.example.call.split(' ').filter(|word| word.contains('=')).collect();
        for bound in bounds {
            let (Of::Argument(name) | Of::Quotient(name, _)) = bound.of;
            let place = f.place(name).expect("an argument");
            for factor in [1e-3, 0.1, 0.5, 0.9, 1.1, 2.0, 10.0, 1e3] {
                let arguments: Vec<String> = example.iter().map(|text| moved(&f, text, place, factor)).collect();
                let Err(CallFault::OutsideRange { has_value, .. }) = call(&f, &arguments, false) else { continue };
                left += 1;
                match call(&f, &arguments, true) {
                    Ok(answer) => assert!(has_value && answer.validity.inside == Some(false), "{} {arguments:?}", f.name),
                    Err(fault) => assert!(!has_value && !fault.is_usage(), "{} {arguments:?}: {}", f.name, fault.message()),
                }
            }
        }
    }
    assert!(bounded > 0 && left >= bounded, "{left} calls left the ranges of {bounded} formulas");
}

/// An argument of a call times a factor, where it is the one at that place.
fn moved(f: &Formula, text: &str, place: usize, factor: f64) -> String {
    let (name, value) = text.split_once('=').expect("name=value");
    if f.place(name) != Some(place) {
        return text.to_owned();
    }
    let written = crate::quantity::parse(value, f.parameters[place].quantity).expect("an example reads");
    format!("{name}={} {}", written.value * factor, written.unit.symbol())
}
