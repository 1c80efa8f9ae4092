//! `sd-outside-range-bounds`: A standard deviation is not possible for this range and number of specimens.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "sd-outside-range-bounds",
    severity: Error,
    integrity: true,
    what: "A standard deviation is not possible for this range and number of specimens.",
    why: "For three specimens it lies between 0.500 and 0.577 of the range; a number outside these limits is an error, a standard error, or belongs to another sample.",
    waive: "never: correct the record",
    source: "exact bounds by algebra: R/√(2(n-1)) to (R/2)√(n/(n-1)) for even n, (R/2)√((n+1)/n) for odd n (Thomson 1955, memory)",
    cases: include_str!("../../../tests/data/audits/sd-outside-range-bounds.md"),
    look: Look::Statement(look),
};

fn look(at: &Statement<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let (Some((sd, sd_room)), Some(least), Some(most), Some(n)) = (at.sample_sd(), &at.least, &at.most, at.n) else { return };
    let room = half_step(least) + half_step(most);
    let Ok(n) = usize::try_from(n) else { return };
    let range = most.si - least.si;
    let (Ok(wide), Ok(narrow)) =
        (sd_bounds_from_range((range + room).max(0.0), n), sd_bounds_from_range((range - room).max(0.0), n))
    else {
        return;
    };
    let (low, high) = (narrow.low - sd_room, wide.high + sd_room);
    if at.in_use && (sd < low || sd > high) {
        let quantity = at.sd.as_ref().map_or(least.quantity(), Written::quantity);
        let message = format!(
            "{n} results over a range of {} have a standard deviation between {} and {}",
            shown(quantity, range, 3),
            shown(quantity, low, 3),
            shown(quantity, high, 3)
        );
        let error = sd * libm::sqrt(n as f64);
        let help = if error >= low && error <= high {
            "it may be the standard error of the mean: then write `se`"
        } else {
            "compute it again from the single results"
        };
        findings.find(at.spot(StatementPart::Sd), message, help);
    }
}
