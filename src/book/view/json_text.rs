//! Fields as JSON text: the compact bytes that are kept of a record do not say of themselves what they hold.

use super::Fields;
use serde::de::{Deserialize, Deserializer, Error};
use serde::ser::{Serialize, Serializer};

/// The text.
pub fn serialize<S: Serializer>(value: &Fields, to: S) -> Result<S::Ok, S::Error> {
    value.to_string().serialize(to)
}

/// The fields of the text.
pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Fields, D::Error> {
    serde_json::from_str(<&str>::deserialize(from)?).map_err(D::Error::custom)
}
