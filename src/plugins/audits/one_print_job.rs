//! `one-print-job`: All specimens come from one print job.

use super::common::*;

/// The audit.
pub static AUDIT: Audit = Audit {
    name: "one-print-job",
    severity: Note,
    integrity: false,
    what: "All specimens come from one print job.",
    why: "The spread does not include what differs from one print job to the next.",
    waive: "when the question is about this print job only",
    source: "variance between and within batches: ISO 5725 (memory)",
    cases: include_str!("../../../tests/data/audits/one-print-job.md"),
    look: Look::Measurement(look),
};

fn look(at: &MeasurementAt<'_>, _: &AuditContext<'_>, findings: &mut AuditFindings<'_>) {
    let jobs: Vec<&str> = at.specimens.iter().filter_map(|s| s.job.as_deref()).collect();
    if at.in_use && jobs.len() >= 3 && jobs.len() == at.specimens.len() && jobs.iter().all(|j| *j == jobs[0]) {
        findings.find(
            at.spot("specimens"),
            format!("all specimens come from print job {}", jobs[0]),
            "print the next specimens in another job, on another day",
        );
    }
}
