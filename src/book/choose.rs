//! Which claims of a property an answer uses.
//!
//! Rules: claims in standing whose stated conditions fit (temperature within 5 K, or between two claims of one source;
//! what a claim leaves unstated fits, with a note); of these the best basis present; of a glass transition the lowest.
//! Several claims of one rank are all used, so that disagreement widens the answer. Disputed claims are never used,
//! invented ones only where the subject itself is invented.

use super::claim::{Basis, Claim, ConditionValue, Standing};

/// Largest distance at which a stated temperature counts as the wanted one, in K.
pub const TEMPERATURE_FITS: f64 = 5.0;
/// Relative distance at which a stated wavelength counts as the wanted one.
const WAVELENGTH_FITS: f64 = 0.02;

/// The conditions an answer is asked for. What is `None` is not asked.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Wanted {
    /// Temperature in K.
    pub temperature: Option<f64>,
    /// `dry`, `conditioned` or `wet`.
    pub moisture: Option<String>,
    /// Whether the part is post-cured.
    pub post_cured: Option<bool>,
    /// `flat`, `upright`, …
    pub orientation: Option<String>,
    /// Whether a claim has to state that orientation: one that states none is left out.
    pub orientation_stated: bool,
    /// `moulded`, `printed-vat`, …
    pub process: Option<String>,
    /// `liquid`, `cured` or `green`.
    pub state: Option<String>,
    /// Wavelength in m.
    pub wavelength: Option<f64>,
}

/// What the choice depends on besides the claims.
#[derive(Clone, Copy)]
pub struct Subject<'a> {
    /// Whether the subject is invented (demo): only then are invented claims used.
    pub invented: bool,
    /// Whether a source is a test campaign of one's own.
    pub own: &'a dyn Fn(&str) -> bool,
}

/// The claims of a property, sorted into used and unused; each in the order of the file.
#[derive(Debug, Clone, PartialEq)]
pub struct Chosen<'a> {
    /// Used ones, all of one rank.
    pub used: Vec<UsedClaim<'a>>,
    /// The others, each with the reason.
    pub unused: Vec<Unused<'a>>,
}

/// A used claim.
#[derive(Debug, Clone, PartialEq)]
pub struct UsedClaim<'a> {
    /// The claim.
    pub claim: &'a Claim,
    /// When two claims bracket the wanted temperature: the other one, and its share of the result.
    pub partner: Option<Partner<'a>>,
    /// What a reader should know: conditions asked for that the claim does not state.
    pub notes: Vec<String>,
}

/// The second of two claims between which a value is interpolated.
#[derive(Debug, Clone, PartialEq)]
pub struct Partner<'a> {
    /// The claim at the other temperature.
    pub claim: &'a Claim,
    /// Its share, 0 to 1; the first claim has the rest.
    pub share: f64,
}

/// A claim that is not used.
#[derive(Debug, Clone, PartialEq)]
pub struct Unused<'a> {
    /// The claim.
    pub claim: &'a Claim,
    /// Why not.
    pub because: String,
}

impl UsedClaim<'_> {
    /// Middle of the claim in SI, interpolated where two claims bracket the wanted temperature; `None` for words,
    /// facts and one-sided ranges.
    pub fn middle_si(&self) -> Option<f64> {
        let first = self.claim.value.middle_si()?;
        match &self.partner {
            None => Some(first),
            Some(p) => Some(first + (p.claim.value.middle_si()? - first) * p.share),
        }
    }
}

/// How a claim stands to the wanted conditions.
enum Fit {
    Fits(Vec<String>),
    /// Fits but for the temperature, which is this one in K.
    OtherTemperature(f64, Vec<String>),
    Not(String),
}

/// Chooses among the claims of one property. `property` is its schema name.
pub fn choose<'a>(property: &str, claims: &'a [Claim], wanted: &Wanted, subject: Subject<'_>) -> Chosen<'a> {
    let mut unused = Vec::new();
    let mut fitting = Vec::new();
    let mut elsewhere = Vec::new();
    for claim in claims {
        if let Some(because) = barred(claim, subject) {
            unused.push(Unused { claim, because });
            continue;
        }
        match fit(claim, wanted) {
            Fit::Fits(notes) => fitting.push(UsedClaim { claim, partner: None, notes }),
            Fit::OtherTemperature(at, notes) => elsewhere.push((at, UsedClaim { claim, partner: None, notes })),
            Fit::Not(because) => unused.push(Unused { claim, because }),
        }
    }
    let (bracketed, left) = interpolate(elsewhere, wanted.temperature);
    fitting.extend(bracketed);
    unused.extend(left);
    let mut chosen = Chosen { used: fitting, unused };
    keep_best_rank(&mut chosen, subject);
    if property == "tg" {
        keep_lowest(&mut chosen);
    }
    restore_order(&mut chosen, claims);
    chosen
}

/// Why a claim may not be used whatever the conditions.
fn barred(claim: &Claim, subject: Subject<'_>) -> Option<String> {
    let reason = |word: &str| match &claim.because {
        Some(because) => format!("{word}: {because}"),
        None => word.to_owned(),
    };
    match claim.standing {
        Standing::Disputed => Some(reason("disputed")),
        Standing::Withdrawn => Some(reason("withdrawn")),
        Standing::Good if claim.basis == Basis::Invented && !subject.invented => Some("invented, and the subject is real".into()),
        Standing::Good => None,
    }
}

fn fit(claim: &Claim, wanted: &Wanted) -> Fit {
    let mut notes = Vec::new();
    let words = [
        ("moisture", &wanted.moisture),
        ("orientation", &wanted.orientation),
        ("process", &wanted.process),
        ("state", &wanted.state),
    ];
    for (name, want) in words {
        if let Some(want) = want
            && let Err(because) = word_fits(claim, name, want, &mut notes)
        {
            return Fit::Not(because);
        }
    }
    if wanted.orientation_stated
        && wanted.orientation.as_deref() != claim.condition("orientation").map(ConditionValue::text).as_deref()
    {
        return Fit::Not("orientation not stated".into());
    }
    if let Some(want) = wanted.post_cured {
        match post_cured(claim) {
            Some(is) if is != want => return Fit::Not(if is { "post-cured" } else { "not post-cured" }.into()),
            Some(_) => {}
            None => notes.push("post-cure not stated".into()),
        }
    }
    if let Some(want) = wanted.wavelength {
        match quantity(claim, "wavelength") {
            Some(is) if (is - want).abs() > want * WAVELENGTH_FITS => return Fit::Not(format!("at {:.0} nm", is * 1e9)),
            Some(_) => {}
            None => notes.push("wavelength not stated".into()),
        }
    }
    match (wanted.temperature, quantity(claim, "temperature")) {
        (Some(want), Some(is)) if (is - want).abs() > TEMPERATURE_FITS => Fit::OtherTemperature(is, notes),
        (Some(_), None) => {
            notes.push("temperature not stated".into());
            Fit::Fits(notes)
        }
        _ => Fit::Fits(notes),
    }
}

fn word_fits(claim: &Claim, name: &str, want: &str, notes: &mut Vec<String>) -> Result<(), String> {
    match claim.condition(name).map(ConditionValue::text) {
        Some(is) if is == want => Ok(()),
        // `printed` says less than `printed-vat`, and `unknown` says nothing.
        Some(is) if is == "unknown" || want.strip_prefix(&*is).is_some_and(|rest| rest.starts_with('-')) => {
            notes.push(format!("{name}: {is}"));
            Ok(())
        }
        Some(is) => Err(format!("{name}: {is}, wanted {want}")),
        None => {
            notes.push(format!("{name} not stated"));
            Ok(())
        }
    }
}

/// Whether the claim says that the part was post-cured.
fn post_cured(claim: &Claim) -> Option<bool> {
    if claim.condition("state").is_some_and(|s| s.text() == "green") {
        return Some(false);
    }
    match claim.condition("post_cure.none") {
        Some(ConditionValue::YesNo(none)) => Some(!none),
        _ => claim.conditions.iter().any(|c| c.name.starts_with("post_cure.")).then_some(true),
    }
}

fn quantity(claim: &Claim, name: &str) -> Option<f64> {
    match claim.condition(name)? {
        ConditionValue::Quantity(w) => Some(w.si),
        ConditionValue::Text(_) | ConditionValue::YesNo(_) => None,
    }
}

type AtTemperature<'a> = (f64, UsedClaim<'a>);

/// Pairs of claims of one source, basis and method that bracket the wanted temperature; the rest is left over.
fn interpolate<'a>(mut elsewhere: Vec<AtTemperature<'a>>, want: Option<f64>) -> (Vec<UsedClaim<'a>>, Vec<Unused<'a>>) {
    let Some(want) = want else { return (Vec::new(), elsewhere.into_iter().map(|(at, u)| other_temperature(at, u)).collect()) };
    elsewhere.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut made = Vec::new();
    let mut taken = vec![false; elsewhere.len()];
    for high in (0..elsewhere.len()).filter(|&i| elsewhere[i].0 > want) {
        let kin = |low: &usize| related(elsewhere[*low].1.claim, elsewhere[high].1.claim);
        let Some(low) = (0..high).rev().filter(|&i| elsewhere[i].0 < want && !taken[i]).find(kin) else { continue };
        let ((t_low, below), (t_high, above)) = (&elsewhere[low], &elsewhere[high]);
        let share = (want - t_low) / (t_high - t_low);
        let mut notes = below.notes.clone();
        notes.push(format!("interpolated between {} and {}", celsius(*t_low), celsius(*t_high)));
        made.push(UsedClaim { claim: below.claim, partner: Some(Partner { claim: above.claim, share }), notes });
        (taken[low], taken[high]) = (true, true);
    }
    let left = elsewhere.into_iter().zip(taken).filter(|(_, taken)| !taken);
    (made, left.map(|((at, used), _)| other_temperature(at, used)).collect())
}

/// Whether two claims of a property differ in nothing but value and temperature.
pub fn related(a: &Claim, b: &Claim) -> bool {
    let others = |c: &Claim| -> Vec<_> { c.conditions.iter().filter(|c| &*c.name != "temperature").cloned().collect() };
    let numbers = a.value.middle_si().is_some() && b.value.middle_si().is_some();
    numbers && a.source == b.source && a.basis == b.basis && a.method == b.method && others(a) == others(b)
}

fn other_temperature(at: f64, used: UsedClaim<'_>) -> Unused<'_> {
    Unused { claim: used.claim, because: format!("at {}", celsius(at)) }
}

fn celsius(kelvin: f64) -> String {
    format!("{:.0} °C", kelvin - 273.15)
}

/// Rank of trust: own measured, measured, standard, handbook, computed, practice, recalled, invented; within each, an
/// abstract after what was read in full.
fn rank(claim: &Claim, subject: Subject<'_>) -> (usize, bool) {
    let own = claim.basis == Basis::Measured && claim.source.as_deref().is_some_and(subject.own);
    let place = Basis::ALL.iter().position(|b| *b == claim.basis).map_or(usize::MAX, |p| p + 1);
    (if own { 0 } else { place }, claim.read.as_deref() == Some("abstract"))
}

fn keep_best_rank(chosen: &mut Chosen<'_>, subject: Subject<'_>) {
    let Some(best) = chosen.used.iter().map(|u| rank(u.claim, subject)).min() else { return };
    let word = chosen.used.iter().find(|u| rank(u.claim, subject) == best).map_or("", |u| u.claim.basis.word());
    let better = match best {
        (0, _) => "there is a measurement of your own".to_owned(),
        (_, false) => format!("there is a value with a better basis: {word}"),
        (_, true) => format!("there is a value with a better basis: {word} (abstract)"),
    };
    let (keep, drop): (Vec<_>, Vec<_>) = chosen.used.drain(..).partition(|u| rank(u.claim, subject) == best);
    chosen.used = keep;
    for used in drop {
        let because = better.clone();
        chosen.unused.extend(used.partner.map(|p| Unused { claim: p.claim, because: because.clone() }));
        chosen.unused.push(Unused { claim: used.claim, because });
    }
}

/// Of a glass transition the lowest: a part softens at its weakest reading.
fn keep_lowest(chosen: &mut Chosen<'_>) {
    let low = |u: &UsedClaim<'_>| u.middle_si().or_else(|| u.claim.value.ends().map(|(l, _)| l.si));
    let Some(lowest) = chosen.used.iter().filter_map(low).min_by(f64::total_cmp) else { return };
    let (keep, drop): (Vec<_>, Vec<_>) = chosen.used.drain(..).partition(|u| low(u).is_some_and(|v| v <= lowest));
    chosen.used = keep;
    chosen.unused.extend(drop.into_iter().map(|u| Unused { claim: u.claim, because: "there is a lower one".into() }));
}

fn restore_order(chosen: &mut Chosen<'_>, claims: &[Claim]) {
    let place = |claim: &Claim| claims.iter().position(|c| std::ptr::eq(c, claim)).unwrap_or(usize::MAX);
    chosen.used.sort_by_key(|u| place(u.claim));
    chosen.unused.sort_by_key(|u| place(u.claim));
}
