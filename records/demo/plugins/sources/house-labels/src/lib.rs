//! A house rule of the logger workshop: a specimen of its own is labelled by a letter and a number (a1, b12), the letter standing
//! for the combination that was tested. Invented, as the workshop is.

pub mod contract;

use contract::{Audit, Look, RecordFinding};

/// The audit.
pub struct HouseLabels;

/// A small letter and one to three digits.
fn is_house_label(label: &str) -> bool {
    let mut letters = label.chars();
    let letter = letters.next().is_some_and(|c| c.is_ascii_lowercase());
    let digits = letters.as_str();
    letter && (1..=3).contains(&digits.len()) && digits.bytes().all(|b| b.is_ascii_digit())
}

impl Audit for HouseLabels {
    const NAME: &'static str = "house-labels";

    fn look(look: &Look) -> Vec<RecordFinding> {
        let mut found = Vec::new();
        let own = look.kind == "series" && look.record["source"].as_str().is_some_and(|s| s.starts_with("river-logger-"));
        if !own {
            return found;
        }
        let list = |value: &serde_json::Value| value.as_array().cloned().unwrap_or_default();
        for (m, measurement) in list(&look.record["measurements"]).iter().enumerate() {
            let specimens = list(&measurement["specimens"]);
            let label = |place: usize| specimens[place]["label"].as_str().unwrap_or_default();
            let odd: Vec<usize> = (0..specimens.len()).filter(|place| !is_house_label(label(*place))).collect();
            if let Some(first) = odd.first() {
                found.push(RecordFinding {
                    at: format!("/measurements/{m}/specimens/{first}/label"),
                    severity: "warning",
                    message: format!(
                        "{} of {} labels are not a letter and a number, the first is `{}`",
                        odd.len(),
                        specimens.len(),
                        label(*first)
                    ),
                    help: "write the label that stands on the bag of the part, such as b3".into(),
                });
            }
        }
        found
    }
}

#[cfg(target_arch = "wasm32")]
exports_audit!(HouseLabels);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_letter_and_a_number() {
        for (label, is) in
            [("a1", true), ("c123", true), ("a", false), ("a1234", false), ("A1", false), ("ab1", false), ("", false)]
        {
            assert_eq!(is_house_label(label), is, "{label}");
        }
    }

    #[test]
    fn only_the_workshop_s_own_series() {
        let record = |source: &str| serde_json::json!({"source": source, "measurements": [{"specimens": [{"label": "a1"}, {"label": "left"}]}]});
        let look = |kind: &str, source: &str| {
            let look = Look { today: String::new(), id: String::new(), kind: kind.into(), record: record(source) };
            HouseLabels::look(&look).into_iter().map(|f| f.at).collect::<Vec<_>>()
        };
        assert_eq!(look("series", "river-logger-2026-03"), ["/measurements/0/specimens/1/label"]);
        assert!(look("series", "paper-2020-x").is_empty() && look("polymer", "river-logger-2026-03").is_empty());
    }
}
