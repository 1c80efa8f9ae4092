//! What audits share: the contract, and how values are compared.

pub(super) use crate::audit::{
    Audit, AuditContext, AuditFindings, ClaimAt, Look, MeasurementAt, Peers, SeriesAt, Spot, Statement, StatementPart, Typical,
};
pub(super) use crate::audit::{address, half_step, slip};
pub(super) use crate::book::{Basis, Claim, Record, Value, disagree, gaps};
pub(super) use crate::finding::Severity::{Error, Note, Warning};
pub(super) use crate::quantity::{self, Amount, Quantity, Written};
pub(super) use crate::statistics::consistency::{mean_is_reachable, sd_bounds_from_range};

/// Whether a claim is of a mechanical property and comes from a test of the material itself.
pub(super) fn is_mechanical_test(at: &ClaimAt<'_>) -> bool {
    at.in_use() && at.tested() && at.is("mechanical")
}

/// A value in the canonical unit of its quantity, with so many digits.
pub(super) fn shown(quantity: Quantity, si: f64, digits: usize) -> String {
    Amount::new(quantity, si).text(digits)
}

/// The middle of a claim that states a two-sided value.
pub(super) fn middle(claim: &Claim) -> Option<f64> {
    claim.bound.is_none().then(|| claim.value.middle_si()).flatten()
}

/// A value, or a range as a whole, that stands far away from its peers.
pub(super) struct Odd {
    /// Its quantity.
    pub quantity: Quantity,
    /// The value, or the middle of the range, in SI.
    pub si: f64,
    /// The end that is nearest to the peers, in SI.
    pub near: f64,
    /// As written.
    pub text: String,
    /// Where it stands.
    pub part: StatementPart,
    /// Middle and spread of the peers.
    pub typical: Typical,
}

impl Odd {
    /// Distance of the nearest end from the middle of the peers, as a logarithm.
    pub fn apart(&self) -> f64 {
        libm::log(self.near / self.typical.median).abs()
    }
}

/// A value that stands at least three robust deviations away from its peers; of a range, its nearer end.
pub(super) fn odd(at: &Statement<'_>, context: &AuditContext<'_>) -> Option<Odd> {
    let claim = at.claim().filter(|c| c.claim.bound.is_none());
    let peers = match (claim, at.measurement()) {
        (Some(c), _) => context.peers.of_claim(c.record, c.word, c.claim),
        (_, Some(m)) => context.peers.of_measurement(m),
        _ => return None,
    };
    let typical = Peers::typical(&peers)?;
    let (low, high, part) = match (&at.mean, claim.map(|c| &c.claim.value)) {
        (Some(value), _) => (value, value, StatementPart::Mean),
        (None, Some(Value::Between { low: Some(low), high: Some(high) })) => (low, high, StatementPart::Field("low")),
        _ => return None,
    };
    (at.in_use && low.si > 0.0).then_some(())?;
    let odd = Odd {
        quantity: low.quantity(),
        si: (low.si + high.si) / 2.0,
        near: typical.median.clamp(low.si, high.si.max(low.si)),
        text: claim.map_or_else(|| low.text.to_string(), |c| c.claim.value.text()),
        part,
        typical,
    };
    (odd.apart() > 3.0 * typical.log_spread).then_some(odd)
}

/// Standard deviations of single results with divisor n - 1 and with divisor n; `None` below two results.
pub(super) fn deviations(values: &[f64]) -> Option<(f64, f64)> {
    let sample = crate::statistics::summary::summary(values).ok()?.sd;
    let n = values.len() as f64;
    Some((sample, sample * libm::sqrt((n - 1.0) / n)))
}
