//! Today, read from the clock at the rim and handed in as text.

use std::time::{SystemTime, UNIX_EPOCH};

/// Today in UTC, `YYYY-MM-DD`.
pub fn today() -> String {
    let seconds = SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |d| d.as_secs());
    date(i64::try_from(seconds / 86_400).unwrap_or(0))
}

/// The date of a day counted from 1970-01-01. Algorithm: civil from days, H. Hinnant (memory).
fn date(days: i64) -> String {
    let z = days + 719_468;
    let era = z.div_euclid(146_097);
    let day_of_era = z.rem_euclid(146_097);
    let year_of_era = (day_of_era - day_of_era / 1460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
    let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let shifted = (5 * day_of_year + 2) / 153;
    let day = day_of_year - (153 * shifted + 2) / 5 + 1;
    let month = if shifted < 10 { shifted + 3 } else { shifted - 9 };
    let year = year_of_era + era * 400 + i64::from(month <= 2);
    format!("{year:04}-{month:02}-{day:02}")
}

#[cfg(test)]
mod tests {
    use super::date;

    /// Known days by hand: the epoch, a leap day, the day after it, the end of a century.
    #[test]
    fn days_become_dates() {
        for (days, text) in
            [(0, "1970-01-01"), (19_782, "2024-02-29"), (19_783, "2024-03-01"), (10_956, "1999-12-31"), (11_016, "2000-02-29")]
        {
            assert_eq!(date(days), text);
        }
    }
}
