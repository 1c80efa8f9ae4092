//! The cases of every audit: each wrong record gives its finding on the marked line, each right one gives none.

use gripbook::audit::{Audit, AuditReport, AuditRequest, Example, waiver::ABOUT_WAIVERS};
use gripbook::book::{Book, PackRoot, Record};
use gripbook::finding::Finding;
use gripbook::plugins::audits::ALL;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

mod amend;
mod contribute;
pub mod formats;
mod ledger;
mod lost;
mod outside;
mod repository;
mod results;
mod review;
mod sheets;
mod skeletons;
mod slips;
mod sought;
pub mod work;
mod workflow;

/// The day on which the cases are read.
const TODAY: &str = "2026-06-15";

const PAPER: &str =
    "type: article-journal\ntitle: A paper\nissued: \"2020\"\ncontainer-title: A journal\npage: 100-120\nDOI: 10.1000/paper\n";
const OWN: &str = "type: campaign\ntitle: Tests of our own\nissued: 2026-03\nby: bench of the workshop\n";

/// A pack of the files of a case, with one paper and one campaign to cite.
pub fn pack(example: &Example<'_>) -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let write = |path: &str, text: &str| {
        let path = folder.path().join(path);
        fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
        fs::write(path, text).expect("a file");
    };
    write("pack.yaml", "id: case\ntitle: A case\nlicence: CC0-1.0\n");
    write("sources/paper-2020-example.yaml", PAPER);
    write("sources/own-2026-example.yaml", OWN);
    example.files.iter().for_each(|(path, text)| write(path, text));
    folder
}

pub fn book(folder: &Path) -> Book {
    let root = PackRoot::Folder { path: folder.to_path_buf(), stood_in: false };
    let book = Book::load(&[root], folder).expect("the pack loads");
    assert_eq!(unchecked(&book), Vec::<String>::new(), "the case does not pass check");
    book
}

fn unchecked(book: &Book) -> Vec<String> {
    book.left_out.iter().map(shown).collect()
}

pub fn shown(f: &Finding) -> String {
    let file = f.place.file.rsplit('/').next().unwrap_or_default();
    format!("{file}:{} {}: {}", f.place.span.map_or(0, |s| s.line), f.rule, f.message)
}

pub fn run(book: &Book, audits: &[&Audit]) -> AuditReport {
    gripbook::audit::run(&AuditRequest {
        book,
        audits,
        all: ALL,
        wanted: &|_| true,
        today: TODAY,
        bytes: &|record: &Record| fs::read(&*record.file).ok(),
    })
}

/// `file:line severity` of every mark.
fn expected(folder: &Path, example: &Example<'_>) -> BTreeSet<String> {
    let mut all = BTreeSet::new();
    for (path, text) in &example.files {
        for (at, line) in text.lines().enumerate() {
            if let Some((_, severity)) = line.split_once("# <- ") {
                all.insert(format!("{}/{path}:{} {}", folder.display(), at + 1, severity.trim()));
            }
        }
    }
    all
}

fn got(findings: &[Finding], name: &str) -> BTreeSet<String> {
    let of = findings.iter().filter(|f| f.rule == name);
    of.map(|f| format!("{}:{} {}", f.place.file, f.place.span.map_or(0, |s| s.line), f.severity.word())).collect()
}

fn check_case(audit: &Audit, audits: &[&Audit], example: &Example<'_>, faults: &mut Vec<String>) {
    let folder = pack(example);
    let root = PackRoot::Folder { path: folder.path().to_path_buf(), stood_in: false };
    let book = Book::load(&[root], folder.path()).expect("the pack loads");
    if !book.left_out.is_empty() {
        faults.push(format!("{} `{}` does not pass check: {:?}", audit.name, example.title, unchecked(&book)));
        return;
    }
    let report = run(&book, audits);
    let (want, have) = (expected(folder.path(), example), got(&report.findings, audit.name));
    let own = |f: &str| example.files.iter().any(|(path, _)| f.contains(path));
    let have: BTreeSet<String> = have.into_iter().filter(|f| own(f)).collect();
    if example.wrong && want.is_empty() {
        faults.push(format!("{} `{}`: no line is marked", audit.name, example.title));
    }
    if want != have {
        let all: Vec<String> = report.findings.iter().map(shown).collect();
        faults.push(format!("{} `{}`:\n  want {want:?}\n  have {have:?}\n  {all:?}", audit.name, example.title));
    }
}

#[test]
fn every_case_gives_its_finding_on_the_marked_line() {
    let mut faults = Vec::new();
    let mut cases = 0;
    for audit in ALL {
        for example in audit.examples() {
            cases += 1;
            check_case(audit, &[audit], &example, &mut faults);
        }
    }
    for audit in ABOUT_WAIVERS {
        for example in audit.examples() {
            cases += 1;
            check_case(audit, ALL, &example, &mut faults);
        }
    }
    assert!(faults.is_empty(), "{} of {cases} cases:\n{}", faults.len(), faults.join("\n"));
    assert!(cases > 2 * ALL.len(), "{cases}");
}

#[test]
fn there_are_as_many_audits_as_promised() {
    assert!(ALL.len() >= 45, "{}", ALL.len());
}

#[test]
fn a_waived_finding_is_listed_with_its_reason_and_no_longer_stands() {
    let audit = ABOUT_WAIVERS.iter().find(|a| a.name == "waiver-obsolete").expect("the audit");
    let example = audit.examples().into_iter().find(|e| !e.wrong).expect("a right case");
    let folder = pack(&example);
    let report = run(&book(folder.path()), ALL);
    assert!(report.findings.iter().all(|f| f.rule != "unsourced"), "{:#?}", report.findings);
    let waived = report.waived.iter().find(|w| w.finding.rule == "unsourced").expect("the waived finding");
    assert_eq!(waived.because, "known to every bench");
    assert_eq!(waived.finding.place.span.map(|s| s.line), Some(5));
}

/// Any sample keeps the bounds of its deviation, and whole extremes reach them: simulation beside the exact formula.
#[test]
fn deviations_of_simulated_samples_lie_within_the_bounds() {
    let mut state = 12345u64;
    let mut next = || {
        // Linear congruential generator of Knuth (MMIX), memory; only the scatter matters here.
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1u64 << 53) as f64
    };
    for n in 2..=12usize {
        for _ in 0..400 {
            let sample: Vec<f64> = (0..n)
                .map(|_| {
                    let u = next();
                    u * u * u
                })
                .collect();
            let mean = sample.iter().sum::<f64>() / n as f64;
            let sd = (sample.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (n as f64 - 1.0)).sqrt();
            let range = sample.iter().copied().fold(f64::MIN, f64::max) - sample.iter().copied().fold(f64::MAX, f64::min);
            let bounds = gripbook::statistics::consistency::sd_bounds_from_range(range, n).expect("bounds");
            assert!(sd >= bounds.low * (1.0 - 1e-12) && sd <= bounds.high * (1.0 + 1e-12), "{n} {sample:?}");
        }
    }
}
