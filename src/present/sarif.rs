//! Findings as SARIF 2.1.0 (OASIS standard of 2020-03-27): every result with a location, relative URIs with `/`, and a
//! fingerprint of our own that does not move when lines are added above.

use crate::finding::{Finding, Severity};
use crate::read::digest::hex;
use serde_json::{Value, json};
use sha2::{Digest, Sha256};

/// What SARIF wants to know of a rule.
#[derive(Debug, Clone)]
pub struct RuleCard<'a> {
    /// Readable name.
    pub name: &'a str,
    /// What is wrong.
    pub what: &'a str,
    /// Why it matters.
    pub why: &'a str,
    /// The gravest finding it gives.
    pub severity: Severity,
}

/// The document.
pub fn document(findings: &[Finding], rules: &[RuleCard<'_>]) -> String {
    let used: Vec<&RuleCard<'_>> = rules.iter().filter(|r| findings.iter().any(|f| f.rule == r.name)).collect();
    let descriptors: Vec<Value> = used
        .iter()
        .map(|r| {
            json!({
                "id": r.name,
                "shortDescription": {"text": r.what},
                "fullDescription": {"text": r.why},
                "defaultConfiguration": {"level": level(r.severity)},
                "help": {"text": format!("gripbook why {}", r.name)},
            })
        })
        .collect();
    let results: Vec<Value> = findings.iter().map(|f| result(f, used.iter().position(|r| r.name == f.rule))).collect();
    let whole = json!({
        "$schema": "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json",
        "version": "2.1.0",
        "runs": [{
            "tool": {"driver": {"name": "gripbook", "version": env!("CARGO_PKG_VERSION"), "rules": descriptors}},
            "columnKind": "unicodeCodePoints",
            "results": results,
        }],
    });
    let mut text = serde_json::to_string_pretty(&whole).unwrap_or_default();
    text.push('\n');
    text
}

fn level(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Note => "note",
    }
}

fn result(finding: &Finding, rule: Option<usize>) -> Value {
    let (line, column) = finding.place.span.map_or((1, 1), |s| (s.line.max(1), s.column.max(1)));
    let text = match &finding.help {
        Some(help) => format!("{}. {help}", finding.message),
        None => finding.message.clone(),
    };
    let mut one = json!({
        "ruleId": finding.rule,
        "level": level(finding.severity),
        "message": {"text": text},
        "locations": [{
            "physicalLocation": {
                "artifactLocation": {"uri": uri(&finding.place.file)},
                "region": {"startLine": line, "startColumn": column},
            },
        }],
        "partialFingerprints": {"gripbookSubject/v1": fingerprint(finding)},
    });
    if let Some(index) = rule {
        one["ruleIndex"] = json!(index);
    }
    one
}

/// A relative reference of RFC 3986: what is no path character is escaped, leading slashes of either sort are taken off.
fn uri(file: &str) -> String {
    let mut out = String::new();
    for byte in file.trim_start_matches(['/', '\\']).bytes() {
        match byte {
            b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' | b'/' => out.push(char::from(byte)),
            b'\\' => out.push('/'),
            other => out.push_str(&format!("%{other:02X}")),
        }
    }
    if out.is_empty() { "unknown".into() } else { out }
}

/// Rule, file, subject and message, without line numbers.
fn fingerprint(finding: &Finding) -> String {
    let mut hash = Sha256::new();
    for part in [finding.rule, &finding.place.file, finding.subject.as_deref().unwrap_or_default(), &finding.message] {
        hash.update(part);
        hash.update([0]);
    }
    hex(&hash.finalize(), 32)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn addresses_are_relative_with_slashes() {
        assert_eq!(uri("/a b/c.yaml"), "a%20b/c.yaml");
        assert_eq!(uri(r"\/a\c.yaml"), "a/c.yaml");
        assert_eq!(uri("polymers/é.yaml"), "polymers/%C3%A9.yaml");
        assert_eq!(uri(""), "unknown");
    }

    #[test]
    fn the_fingerprint_does_not_know_the_line() {
        let mut a = Finding::new("unsourced", Severity::Warning, "x.yaml", "a");
        let first = fingerprint(&a);
        a.place.span = Some(crate::finding::Span { start: 3, end: 4, line: 9, column: 2 });
        assert_eq!(first, fingerprint(&a));
        a.message = "b".into();
        assert_ne!(first, fingerprint(&a));
    }
}
