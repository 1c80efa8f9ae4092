//! The first screen of `audit`: counts, and the findings that weigh most.

use gripbook::book::{Book, references};
use gripbook::finding::{Finding, Severity};
use gripbook::present::brief::{listed, shortened};
use gripbook::present::{Look, Page, text};
use std::cmp::Reverse;
use std::collections::{BTreeSet, HashMap};

/// Findings shown.
const SHOWN: usize = 10;
/// Findings of one audit among them, as long as others remain: ten times the same says less than what else there is.
const OF_ONE: usize = 3;
/// Lines of the page where the findings have one line each.
const LINES: usize = 22;
/// Columns before an item.
const MARK: usize = 2;
/// Letters of the counts of one severity.
const COUNTS: usize = 66;

/// How many records name each record.
pub(super) type Weight = HashMap<String, usize>;

/// Counts the records that name each record.
pub(super) fn weight(book: &Book) -> Weight {
    let mut all = Weight::new();
    for record in book.records() {
        let named: BTreeSet<String> = references::of(record).into_iter().map(|(target, _)| target).collect();
        named.into_iter().for_each(|target| *all.entry(target).or_default() += 1);
    }
    all
}

/// Findings of one audit in one file, told as one; an error stands alone.
struct ToldFinding<'f> {
    first: &'f Finding,
    times: usize,
}

/// What the first page says before its findings.
pub(super) struct Counts {
    /// What was looked at, and how many findings there are.
    pub summary: String,
    /// `unsourced 107`, one for each audit that found something of the severity.
    pub found: Vec<(Severity, Vec<String>)>,
    /// Whether notes are counted and not shown.
    pub notes_left: bool,
}

/// The first page; `shown` are the findings that the page is about. Where their whole sentences would make it longer than a
/// screen, each has one line.
pub(super) fn page(counts: &Counts, shown: &[&Finding], weight: &Weight, plugins: &[String], width: usize) -> Page {
    let told = weightiest(shown, weight);
    let whole = laid_out(counts, &told, plugins, None);
    let lines = text::page(&whole, Look { width, colour: false }).lines().count();
    if lines <= LINES { whole } else { laid_out(counts, &told, plugins, Some(width)) }
}

fn laid_out(counts: &Counts, told: &[ToldFinding<'_>], plugins: &[String], one_line: Option<usize>) -> Page {
    let mut page = Page::default();
    page.line(counts.summary.clone());
    for (severity, found) in counts.found.iter().filter(|(_, found)| !found.is_empty()) {
        page.field(format!("{}s", severity.word()), listed(found.iter().cloned(), COUNTS));
    }
    // What all their paths begin with is told once.
    let folder = common_folder(told.iter().map(|t| &*t.first.place.file));
    if !folder.is_empty() {
        page.field("files in", folder.trim_end_matches('/'));
    }
    if !told.is_empty() {
        page.heading("Most important first: by severity, then by how many records rest on the record");
    }
    let mixed = told.iter().any(|t| t.first.severity != told[0].first.severity);
    for one in told {
        let line = line(one, mixed, folder);
        page.item(one_line.map_or_else(|| line.clone(), |width| shortened(&line, width - MARK)));
    }
    let notes = if counts.notes_left { "; --notes: the notes too" } else { "" };
    page.blank().line(format!("--full: each finding with its line and remedy{notes}."));
    page.line("`gripbook why NAME` explains a finding and says when it may be waived.");
    plugins.iter().for_each(|line| {
        page.line(line.clone());
    });
    page
}

/// The longest beginning of all paths that ends with a slash.
fn common_folder<'f>(mut files: impl Iterator<Item = &'f str>) -> &'f str {
    let Some(first) = files.next() else { return "" };
    let folder = |file: &'f str| &file[..file.rfind('/').map_or(0, |at| at + 1)];
    files.fold(folder(first), |common, file| {
        let mut common = common;
        while !file.starts_with(common) {
            common = folder(common.trim_end_matches('/'));
        }
        common
    })
}

fn line(told: &ToldFinding<'_>, mixed: bool, folder: &str) -> String {
    let f = told.first;
    let at = f.place.span.map(|span| format!(":{}", span.line)).unwrap_or_default();
    let severity = if mixed { format!("{} ", f.severity.word()) } else { String::new() };
    let times = if told.times > 1 { format!(" ({} times)", told.times) } else { String::new() };
    let file = f.place.file.strip_prefix(folder).unwrap_or(&f.place.file);
    format!("{severity}{file}{at} {}{times}: {}", f.rule, f.message)
}

/// Gravest first, then what most records rest on, then audits with few findings, then the order of the files.
fn weightiest<'f>(findings: &[&'f Finding], weight: &Weight) -> Vec<ToldFinding<'f>> {
    let mut all: Vec<ToldFinding<'f>> = Vec::new();
    let mut places: HashMap<(&str, &str, Severity), usize> = HashMap::new();
    let mut kinds: HashMap<&str, usize> = HashMap::new();
    for &first in findings {
        *kinds.entry(first.rule).or_default() += 1;
        let key = (&*first.place.file, first.rule, first.severity);
        match places.get(&key).copied().filter(|_| first.severity != Severity::Error) {
            Some(at) => all[at].times += 1,
            None => {
                places.insert(key, all.len());
                all.push(ToldFinding { first, times: 1 });
            }
        }
    }
    let rests = |f: &Finding| {
        let record = f.subject.as_deref().and_then(|s| s.split(':').next());
        record.and_then(|id| weight.get(id)).copied().unwrap_or(0)
    };
    let kind = |f: &Finding| kinds.get(f.rule).copied().unwrap_or(0);
    all.sort_by_key(|t| (Reverse(t.first.severity), Reverse(rests(t.first)), kind(t.first)));
    few_of_each(all)
}

/// The first ten, of one audit no more than [`OF_ONE`] unless they are errors or nothing else of their severity is left.
fn few_of_each(all: Vec<ToldFinding<'_>>) -> Vec<ToldFinding<'_>> {
    let mut taken: HashMap<&str, usize> = HashMap::new();
    let mut ranked: Vec<(Reverse<Severity>, bool, ToldFinding<'_>)> = Vec::new();
    for told in all {
        let of_one = taken.entry(told.first.rule).or_default();
        *of_one += 1;
        let is_more = *of_one > OF_ONE && told.first.severity != Severity::Error;
        ranked.push((Reverse(told.first.severity), is_more, told));
    }
    ranked.sort_by_key(|(severity, is_more, _)| (*severity, *is_more));
    ranked.into_iter().take(SHOWN).map(|(_, _, told)| told).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn finding(rule: &'static str, severity: Severity, record: &str) -> Finding {
        Finding::new(rule, severity, &format!("{record}.yaml"), "wrong").about(format!("{record}:tg"))
    }

    fn order(findings: &[Finding], weight: &Weight) -> Vec<String> {
        let told = weightiest(&findings.iter().collect::<Vec<_>>(), weight);
        told.iter().map(|t| format!("{} {} {}", t.first.rule, t.first.place.file, t.times)).collect()
    }

    #[test]
    fn severity_comes_first_then_what_rests_on_the_record() {
        let weight = Weight::from([("polymer/b".into(), 9), ("polymer/c".into(), 2)]);
        let all = [
            finding("unsourced", Severity::Note, "polymer/b"),
            finding("unsourced", Severity::Warning, "polymer/a"),
            finding("unsourced", Severity::Warning, "polymer/c"),
            finding("unsourced", Severity::Warning, "polymer/c"),
            finding("sd-wrong", Severity::Error, "polymer/a"),
            finding("sd-wrong", Severity::Error, "polymer/a"),
        ];
        let want = [
            "sd-wrong polymer/a.yaml 1",
            "sd-wrong polymer/a.yaml 1",
            "unsourced polymer/c.yaml 2",
            "unsourced polymer/a.yaml 1",
            "unsourced polymer/b.yaml 1",
        ];
        assert_eq!(order(&all, &weight), want);
    }

    #[test]
    fn the_folder_of_all_files_is_told_once_and_a_text_is_cut_only_for_want_of_room() {
        let long = "the value is quoted at second hand, from a very long title of a very old book that has many words in it";
        let all = [("records/book/polymers/a", long), ("records/book/metals/b", "short")];
        let all = all.map(|(record, message)| Finding::new("unsourced", Severity::Warning, &format!("{record}.yaml"), message));
        let counts = Counts { summary: String::new(), found: Vec::new(), notes_left: false };
        let told = |all: &[Finding]| {
            let page = page(&counts, &all.iter().collect::<Vec<_>>(), &Weight::new(), &[], 80);
            text::page(&page, Look { width: 80, colour: false })
        };
        let text = told(&all);
        assert!(text.contains("files in  records/book\n") && text.contains("- polymers/a.yaml unsourced: "), "{text}");
        assert!(long.split(' ').all(|word| text.contains(word)) && !text.contains('…'), "{text}");
        let many: Vec<Finding> = ["b", "c", "d", "e", "f", "g", "h", "i", "j", "k", "l"]
            .map(|name| Finding::new("unsourced", Severity::Error, &format!("records/book/metals/{name}.yaml"), long))
            .into();
        let text = told(&many);
        assert!(text.lines().count() <= LINES && text.matches(" …\n").count() == SHOWN, "{text}");
        assert_eq!(common_folder(["a/b/x", "a/bc/y"].into_iter()), "a/");
        assert_eq!(common_folder(["x", "a/y"].into_iter()), "");
    }

    #[test]
    fn one_audit_does_not_fill_the_screen_while_others_speak() {
        let names: Vec<String> = (0..12).map(|n| format!("polymer/a{n:02}")).collect();
        let weight: Weight = names.iter().map(|n| (n.clone(), 5)).collect();
        let mut all: Vec<Finding> = names.iter().map(|n| finding("memory-only", Severity::Warning, n)).collect();
        all.push(finding("far-from-peers", Severity::Warning, "polymer/z"));
        all.push(finding("spread-unknown", Severity::Note, "polymer/z"));
        let told = order(&all, &weight);
        assert_eq!(told.len(), SHOWN);
        assert!(told[3].starts_with("far-from-peers"), "{told:?}");
        assert!(told.iter().all(|t| !t.starts_with("spread-unknown")), "a note stands behind every warning: {told:?}");
    }
}
