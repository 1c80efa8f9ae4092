//! Today, read from the clock at the rim and handed in as text.

/// Today in UTC, `YYYY-MM-DD`.
pub fn today() -> String {
    time::OffsetDateTime::now_utc().date().to_string()
}
