//! Which bias estimates of the joint models rest on a series, or on a claim behind the prediction that a series is held against.

use super::asked::{AffectedBy, Use};
use gripbook::book::Book;
use gripbook::joint::assumption::Assumptions;
use gripbook::joint::calibration::calibrate;
use gripbook::joint::judge::judge;
use gripbook::joint::measured::{Measured, gather};
use gripbook::joint::method::Method;
use gripbook::joint::need::Need;
use gripbook::mechanics::thread;
use gripbook::present::counted;
use gripbook::quantity::Measure;
use gripbook::suit::{self, Rule};
use uom::si::f64::Length;

/// A claim is looked up, not drawn: the fewest draws do.
const DRAWS: usize = 100;

/// The bias estimates that would move with what is asked about.
pub(super) fn uses(book: &Book, methods: &[&dyn Method], asked: &AffectedBy<'_>) -> Vec<Use> {
    let invented = asked.record.invented() || asked.record.is_invented();
    let (rules, _) = suit::rules(book);
    let Some(material) = book.of_role("material").find(|r| r.invented() == invented) else { return Vec::new() };
    let Ok(m3) = thread::parse("M3") else { return Vec::new() };
    let mut need = Need::new(book, &rules, material, m3, Length::from_si(6e-3));
    need.any_material = true;
    let calibration = calibrate(&need, methods);
    let (measured, _) = gather(book, invented);
    let mut found = Vec::new();
    for used in &calibration.used {
        let modes: Vec<&str> = used.modes.iter().map(|m| m.word()).filter(|mode| asked.fails_by(mode)).collect();
        if modes.is_empty() {
            continue;
        }
        let name = modes.join(", ");
        if asked.touched_by(&used.series) {
            let how = format!("rests on {} of {}", counted(used.n, "specimen"), used.series);
            found.push(Use { sort: "bias".into(), name, how });
        } else if let Some(series) = measured.iter().find(|m| m.record.id.as_str() == used.series)
            && predicted_from(book, methods, &rules, series).iter().any(|claim| asked.touched_by(claim))
        {
            found.push(Use {
                sort: "bias".into(),
                name,
                how: format!("the prediction that {} is held against uses it", used.series),
            });
        }
    }
    found
}

/// Addresses of the claims behind the prediction of a series.
fn predicted_from(book: &Book, methods: &[&dyn Method], rules: &[Rule], series: &Measured<'_>) -> Vec<String> {
    let mut need = series.need(book, rules, &Assumptions::default());
    need.draws = DRAWS;
    let judgement = judge(&need, methods, Some(&series.method));
    let models = judgement.candidates.iter().filter_map(|c| c.model.as_ref());
    models.flat_map(|m| m.model.claims.iter().map(|c| c.claim.clone())).collect()
}
