//! What fails last, then the better verdict, then the likelier; neighbours that are not statistically distinguishable are marked.

use super::Candidate;
use crate::joint::need::Need;
use crate::suit::Verdict;

/// What does not suit last; ways round a thread behind the threads; the kinder verdict first, so that nothing unknown stands
/// above what is recommended; then survival at the need, or without one the lower bound; then the median.
pub(super) fn order(need: &Need<'_>, candidates: &mut [Candidate<'_>]) {
    let class = |c: &Candidate<'_>| (c.verdict == Verdict::DoesNotSuit, c.alternative, c.verdict, c.capacity.is_none());
    let merit = |c: &Candidate<'_>| {
        let load = c.capacity.as_ref().map_or((0.0, 0.0), |k| (k.load.median, k.load.low));
        match need.load {
            Some(_) => (c.survival.map_or(0.0, |s| s.share), load.0),
            None => (load.1, load.0),
        }
    };
    candidates.sort_by(|a, b| {
        let (of_a, of_b) = (merit(a), merit(b));
        class(a)
            .cmp(&class(b))
            .then(of_b.0.total_cmp(&of_a.0))
            .then(of_b.1.total_cmp(&of_a.1))
            .then(a.method.name.cmp(b.method.name))
            .then(a.adhesive.map(|r| &r.id).cmp(&b.adhesive.map(|r| &r.id)))
    });
    for i in 1..candidates.len() {
        let (above, below) = candidates.split_at_mut(i);
        let (upper, lower) = (&mut above[i - 1], &below[0]);
        let beats = beats(upper, lower);
        upper.beats_next = beats;
        upper.tied_with_next = class(upper) == class(lower) && beats.is_some_and(|p| (0.2..=0.8).contains(&p));
    }
}

/// P(A ≥ B) on the same draws.
fn beats(a: &Candidate<'_>, b: &Candidate<'_>) -> Option<f64> {
    let (a, b) = (a.capacity.as_ref()?, b.capacity.as_ref()?);
    if a.loads.len() != b.loads.len() || a.loads.is_empty() {
        return None;
    }
    let wins = a.loads.iter().zip(&b.loads).filter(|(x, y)| x >= y).count();
    Some(wins as f64 / a.loads.len() as f64)
}
