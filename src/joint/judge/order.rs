//! Gates first, then the probability, then the median; neighbours that are not told apart are marked.

use super::Candidate;
use crate::joint::need::Need;
use crate::suit::Verdict;

fn rank_of(verdict: Verdict) -> u8 {
    match verdict {
        Verdict::Suits => 0,
        Verdict::WithCare => 1,
        Verdict::Unknown => 2,
        Verdict::DoesNotSuit => 3,
    }
}

/// Gates first, then the probability, then the median; without a need the 5 % point.
pub(super) fn order(need: &Need<'_>, candidates: &mut [Candidate<'_>]) {
    let gated = |c: &Candidate<'_>| match (c.verdict, &c.capacity) {
        (Verdict::DoesNotSuit, _) => 2u8,
        (_, None) => 1,
        _ => 0,
    };
    let key = |c: &Candidate<'_>| {
        let load = c.capacity.as_ref().map_or((0.0, 0.0), |k| (k.load.median, k.load.low));
        match need.load {
            Some(_) => (c.probability.unwrap_or(0.0), load.0),
            None => (load.1, load.0),
        }
    };
    candidates.sort_by(|a, b| {
        let (ka, kb) = (key(a), key(b));
        gated(a)
            .cmp(&gated(b))
            .then(kb.0.total_cmp(&ka.0))
            .then(kb.1.total_cmp(&ka.1))
            .then(rank_of(a.verdict).cmp(&rank_of(b.verdict)))
            .then(a.method.name.cmp(b.method.name))
            .then(a.adhesive.map(|r| &r.id).cmp(&b.adhesive.map(|r| &r.id)))
    });
    for i in 1..candidates.len() {
        let (above, below) = candidates.split_at_mut(i);
        let (upper, lower) = (&mut above[i - 1], &below[0]);
        let beats = beats(upper, lower);
        upper.beats_next = beats;
        upper.tied_with_next = gated(upper) == gated(lower) && beats.is_some_and(|p| (0.2..=0.8).contains(&p));
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
