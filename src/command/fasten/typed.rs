//! What is asked about, however it was typed: `petg M4 8mm 20kgf` or options, which win.

use super::FastenArgs;
use crate::command::Fault;
use crate::command::mistakes::Mistakes;
use gripbook::mechanics::thread;
use gripbook::quantity::{Quantity, QuantityFault, number, parse, parse_typed};

/// Material, thread, length and load as typed.
#[derive(Debug, Default, PartialEq)]
pub struct Typed {
    /// Name of the material.
    pub material: Option<String>,
    /// Designation of the thread.
    pub thread: Option<String>,
    /// Engaged length.
    pub length: Option<String>,
    /// Load.
    pub need: Option<String>,
}

/// Example for those who left something out.
pub const EXAMPLE: &str = "gripbook fasten petg M4 8mm 20kgf";

/// Words in their order, with options put over them.
pub fn typed(args: &FastenArgs, mistakes: &mut Mistakes) -> Typed {
    let asked = in_order(&args.asked);
    if asked != args.asked {
        let fault = Fault::usage("the order is material, thread, length, load");
        mistakes.add(fault.help(format!("write `{}`", asked.join(" "))));
    }
    let words = words(&asked, mistakes);
    Typed {
        material: args.material.clone().or(words.material),
        thread: args.thread.clone().or(words.thread),
        length: args.length.clone().or(words.length),
        need: args.need.clone().or(words.need),
    }
}

fn is_length(word: &str) -> bool {
    parse_typed(word, Quantity::Length).is_ok()
}

/// A force, or a weight written as a mass: `20kgf`, `20 kg`, `45 lbs`.
fn is_load(word: &str) -> bool {
    let weight = |fault: QuantityFault| matches!(fault, QuantityFault::WrongQuantity { found: Quantity::Mass, .. });
    parse(word, Quantity::Force).is_ok() || parse(word, Quantity::Force).is_err_and(weight)
}

/// The words in their order round the thread: quantities with a unit stand behind it, and so does no word of the material.
fn in_order(asked: &[String]) -> Vec<String> {
    let Some(at) = asked.iter().position(|w| thread::parse(w).is_ok()) else { return asked.to_vec() };
    let (mut early, mut material): (Vec<String>, Vec<String>) =
        asked[..at].iter().cloned().partition(|w| is_length(w) || is_load(w));
    early.sort_by_key(|w| !is_length(w));
    let mut behind = Vec::new();
    let lacks_material = material.is_empty();
    for pair in asked[at..].windows(2) {
        // A unit typed with a space belongs to the number before it.
        let is_unit = number::split(&pair[0]).1.is_empty();
        let is_word = pair[1].starts_with(char::is_alphabetic) && !is_unit;
        if lacks_material && is_word { material.push(pair[1].clone()) } else { behind.push(pair[1].clone()) }
    }
    [material, vec![asked[at].clone()], early, behind].concat()
}

/// Material up to the thread, then length and load, each known by its unit.
fn words(asked: &[String], mistakes: &mut Mistakes) -> Typed {
    let is_thread = |w: &String| thread::parse(w).is_ok();
    let is_number = |w: &String| w.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '.' | '-' | '+'));
    // Without any thread the last word before the numbers was meant to be one, unless it is the only word.
    let meant = || {
        let end = asked.iter().position(is_number).unwrap_or(asked.len());
        (end > 1).then(|| if end == asked.len() { 1 } else { end - 1 })
    };
    let at = asked.iter().position(is_thread).or_else(meant);
    let material = &asked[..at.unwrap_or_else(|| asked.iter().position(is_number).unwrap_or(asked.len()))];
    let rest = at.map_or(&asked[material.len()..], |at| &asked[at + 1..]);
    let mut typed = Typed {
        material: (!material.is_empty()).then(|| material.join(" ")),
        thread: at.map(|at| asked[at].clone()),
        ..Typed::default()
    };
    for quantity in joined(rest) {
        let slot = match (is_length(&quantity), is_load(&quantity)) {
            (true, _) => &mut typed.length,
            (_, true) => &mut typed.need,
            _ if typed.length.is_none() => &mut typed.length,
            _ => &mut typed.need,
        };
        match slot {
            None => *slot = Some(quantity),
            Some(there) => {
                let fault = Fault::usage(format!("`{quantity}` is one too many besides `{there}`"));
                mistakes.add(fault.help(format!("material, thread, length, load: {EXAMPLE}")));
            }
        }
    }
    typed
}

/// A number and the unit behind it, typed with a space, are one quantity.
fn joined(words: &[String]) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for word in words {
        let fraction = |last: &str| last.contains('/') && last.chars().all(|c| c.is_ascii_digit() || matches!(c, '/' | '-'));
        let bare = all.last().is_some_and(|last| number::split(last).1.is_empty() || fraction(last));
        match all.last_mut() {
            Some(last) if bare && word.starts_with(char::is_alphabetic) => *last = format!("{last} {word}"),
            _ => all.push(word.clone()),
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(line: &str) -> (Typed, Mistakes) {
        let mut mistakes = Mistakes::default();
        let asked: Vec<String> = line.split(' ').map(str::to_owned).collect();
        (words(&asked, &mut mistakes), mistakes)
    }

    fn expect(line: &str, parts: [Option<&str>; 4]) {
        let [material, thread, length, need] = parts.map(|p| p.map(str::to_owned));
        assert_eq!(of(line).0, Typed { material, thread, length, need }, "{line}");
    }

    #[test]
    fn words_are_told_apart_by_order_and_unit() {
        expect("petg M4 8mm 20kgf", [Some("petg"), Some("M4"), Some("8mm"), Some("20kgf")]);
        expect("petg M4", [Some("petg"), Some("M4"), None, None]);
        expect("petg M4 20kgf", [Some("petg"), Some("M4"), None, Some("20kgf")]);
        expect("ABS-like resin M3 6 mm 200 N", [Some("ABS-like resin"), Some("M3"), Some("6 mm"), Some("200 N")]);
        expect("M3 6mm", [None, Some("M3"), Some("6mm"), None]);
        expect("petg 8mm", [Some("petg"), None, Some("8mm"), None]);
        expect("petg M44q 8mm", [Some("petg"), Some("M44q"), Some("8mm"), None]);
        expect("petg M4 8 20kg", [Some("petg"), Some("M4"), Some("8"), Some("20kg")]);
        expect("petg M4 45 lbs", [Some("petg"), Some("M4"), None, Some("45 lbs")]);
        expect("petg 1/4-20 1/2in 20daN", [Some("petg"), Some("1/4-20"), Some("1/2in"), Some("20daN")]);
        expect("petg 1/4-20 5/16 in", [Some("petg"), Some("1/4-20"), Some("5/16 in"), None]);
    }

    #[test]
    fn words_in_another_order_are_put_in_theirs() {
        let sorted = |line: &str| in_order(&line.split(' ').map(str::to_owned).collect::<Vec<_>>()).join(" ");
        for line in
            ["petg M4 8mm 20kgf", "petg M4 20kgf 8mm", "ABS-like resin M3 6 mm 200 N", "nylon 6 M3 6mm", "M3 6 mm", "petg"]
        {
            assert_eq!(sorted(line), line);
        }
        assert_eq!(sorted("M3 pla 6mm 300N"), "pla M3 6mm 300N");
        assert_eq!(sorted("300N 6mm M3 pla"), "pla M3 6mm 300N");
        assert_eq!(sorted("M3 6 mm ABS-like resin"), "ABS-like resin M3 6 mm");
    }

    #[test]
    fn a_third_quantity_is_refused() {
        assert!(of("petg M4 8mm 20kgf").1.settle("").is_ok());
        assert!(of("petg M4 8mm 20kgf 9mm").1.settle("").is_err());
    }
}
