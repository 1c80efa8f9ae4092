//! … what it finds doubtful, and why.

pub mod contract;

use contract::{Audit, Look, RecordFinding};

/// The audit.
pub struct TYPE;

impl Audit for TYPE {
    const NAME: &'static str = "NAME";

    /// A record of a material without a description: put your own rule here.
    fn look(look: &Look) -> Vec<RecordFinding> {
        let mut found = Vec::new();
        if ["polymer", "resin"].contains(&look.kind.as_str()) && look.record["description"].is_null() {
            found.push(RecordFinding {
                at: "/name".into(),
                severity: "note",
                message: "the material is not described".into(),
                help: "add `description: …`".into(),
            });
        }
        found
    }
}

#[cfg(target_arch = "wasm32")]
exports_audit!(TYPE);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_description_is_missed() {
        let look = |text: &str| {
            let record = serde_json::from_str(text).expect("JSON");
            TYPE::look(&Look { today: "2026-01-01".into(), id: "resin/x".into(), kind: "resin".into(), record })
        };
        assert_eq!(look(r#"{"name": "X"}"#)[0].at, "/name");
        assert!(look(r#"{"name": "X", "description": "grey"}"#).is_empty());
    }
}
