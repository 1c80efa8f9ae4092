//! The address of a claim among its siblings.

use super::claim::{ClaimCondition, ConditionValue};
use crate::read::digest::hex;
use sha2::{Digest, Sha256};

/// First 8 hex digits of SHA-256 over source, locator, method and conditions, in that order.
///
/// The value is not part of it, so that a corrected claim keeps its address; a quantity among the conditions counts
/// by its SI value, so that another spelling of its unit changes nothing. The order of the conditions does not matter.
pub fn claim_key(source: Option<&str>, locator: Option<&str>, method: Option<&str>, conditions: &[ClaimCondition]) -> Box<str> {
    let mut hash = Sha256::new();
    for part in [source, locator, method] {
        hash.update(part.unwrap_or_default());
        hash.update([0]);
    }
    let mut parts: Vec<String> = conditions.iter().map(canonical).collect();
    parts.sort();
    for part in parts {
        hash.update(part);
        hash.update([0]);
    }
    hex(&hash.finalize(), 8).into()
}

fn canonical(condition: &ClaimCondition) -> String {
    let value = match &condition.value {
        ConditionValue::Quantity(w) => format!("{:e} {}", w.si, w.quantity().word()),
        ConditionValue::Text(_) | ConditionValue::YesNo(_) => condition.value.text(),
    };
    format!("{}={value}", condition.name)
}
