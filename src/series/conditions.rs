//! Which conditions a measured quantity needs, as the schema of the series says.

use serde_json::Value;

/// A condition that a quantity needs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TestCondition {
    /// Part of the record it stands in: `joint` or `test`.
    pub part: String,
    /// Fields of which one is needed.
    pub fields: Vec<String>,
    /// Its word in `not_stated`.
    pub word: String,
}

fn words(value: &Value) -> Vec<String> {
    value.as_array().into_iter().flatten().filter_map(Value::as_str).map(str::to_owned).collect()
}

fn condition(either: &Value) -> Option<TestCondition> {
    let [stated, left_out] = either["anyOf"].as_array()?.as_slice() else { return None };
    let part = words(&stated["required"]).pop()?;
    let inner = &stated["properties"][&part];
    let one_of = inner["anyOf"].as_array().into_iter().flatten().flat_map(|one| words(&one["required"]));
    let fields = words(&inner["required"]).into_iter().chain(one_of).collect();
    let word = left_out["properties"]["not_stated"]["contains"]["const"].as_str()?.to_owned();
    Some(TestCondition { part, fields, word })
}

/// The conditions of a quantity in the schema of the series.
pub fn of(schema: &Value, quantity: &str) -> Vec<TestCondition> {
    let named = |rule: &&Value| {
        let about = &rule["if"]["properties"]["measurements"]["contains"]["properties"]["quantity"]["enum"];
        words(about).iter().any(|w| w == quantity)
    };
    let rules = schema["allOf"].as_array().into_iter().flatten().filter(named);
    rules.flat_map(|rule| rule["then"]["allOf"].as_array().into_iter().flatten().filter_map(condition)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Issue and series.md list what each quantity needs: hole, length, speed for a pull, the torque for cycles.
    #[test]
    fn the_schema_says_what_each_quantity_needs() {
        let schema: Value = serde_json::from_str(include_str!("../../schemas/series.schema.json")).unwrap();
        let need = |quantity: &str| of(&schema, quantity).into_iter().map(|c| c.word).collect::<Vec<_>>();
        assert_eq!(need("pull_out_load"), ["thread", "length", "hole", "boss", "speed", "temperature"]);
        assert_eq!(need("push_out_load"), need("pull_out_load"));
        assert_eq!(need("cycles"), ["thread", "torque", "temperature"]);
        assert_eq!(need("preload_left"), ["thread", "duration", "temperature"]);
        assert_eq!(need("torque_out"), ["insert", "hole"]);
        assert!(need("friction").is_empty());
        let boss = of(&schema, "pull_out_load").into_iter().find(|c| c.word == "boss").unwrap();
        assert_eq!((boss.part.as_str(), boss.fields.len()), ("joint", 3));
    }
}
