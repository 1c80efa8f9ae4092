//! The clock, read at the rim and handed in.

/// Today in UTC, `YYYY-MM-DD`.
pub fn today() -> String {
    time::OffsetDateTime::now_utc().date().to_string()
}

/// Now, in nanoseconds since 1970.
pub fn nanoseconds() -> i64 {
    i64::try_from(time::OffsetDateTime::now_utc().unix_timestamp_nanos()).unwrap_or(i64::MAX)
}
