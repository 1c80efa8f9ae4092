//! A load that is held: how long, and what share of a short pull may stay that long.
//!
//! A short pull says nothing by itself of a load that stays, because plastics and glues creep. The answer for a held load
//! is a claim of creep rupture of every partner, or a share of practice by class of duration, or a plain no.

use super::fact::{ClaimUse, fact};
use super::heat;
use super::need::{Duration, Need, ROOM, ROOM_TOLERANCE};
use crate::book::{ConditionValue, Record};
use crate::quantity::{Amount, Measure, Quantity, parse};
use uom::si::f64::Time;

/// How the load comes, as it is asked: a word, or the time it stays.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lasting {
    /// The word.
    pub duration: Duration,
    /// The time, where stated.
    pub time: Option<Time>,
}

const MINUTE: f64 = 60.0;
const HOUR: f64 = 3600.0;
const DAY: f64 = 24.0 * HOUR;
const WEEK: f64 = 7.0 * DAY;
const MONTH: f64 = 31.0 * DAY;
/// A hundred years.
const LONGEST: f64 = 100.0 * 366.0 * DAY;

/// Reads `short`, `held`, `repeated`, `shock`, or a time the load stays: `10 h`, `3 months`, `a year`. Up to a minute is a
/// short pull.
///
/// # Errors
/// A text that is neither, with what to write.
pub fn lasting(text: &str) -> Result<Lasting, String> {
    let plain = text.trim().to_lowercase();
    let all = [Duration::Short, Duration::Held, Duration::Repeated, Duration::Shock];
    if let Some(duration) = all.into_iter().find(|d| d.word() == plain) {
        return Ok(Lasting { duration, time: None });
    }
    let seconds = seconds(&plain).ok_or_else(|| {
        format!("`{text}` is neither a kind of load nor a time: write short, held, repeated or shock, or how long the load is sustained: 10 h, 3 months, a year")
    })?;
    if !(seconds > 0.0 && seconds <= LONGEST) {
        return Err(format!("a load is not sustained for `{text}`: give a time from a minute to a hundred years"));
    }
    let duration = if seconds <= MINUTE { Duration::Short } else { Duration::Held };
    Ok(Lasting { duration, time: (duration == Duration::Held).then(|| Time::from_si(seconds)) })
}

/// Seconds of `10 h`, `a week`, `1y`: the units of durations, and weeks, which the unit table does not have.
fn seconds(plain: &str) -> Option<f64> {
    let articles = ["a ", "an ", "one "];
    let counted = articles
        .iter()
        .find_map(|a| plain.strip_prefix(a))
        .map_or_else(|| plain.to_string(), |rest| format!("1 {}", rest.trim()));
    let unit = counted.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | ' ' | '-' | '+' | 'e'));
    let number = || counted.strip_suffix(unit).and_then(|n| n.trim().parse::<f64>().ok());
    match unit {
        "week" | "weeks" | "wk" | "w" => number().map(|n| n * WEEK),
        "y" | "yr" | "yrs" => number().map(|n| n * Quantity::Duration.unit("year").map_or(0.0, |u| u.unit().si_from_number(1.0))),
        "minute" | "minutes" => number().map(|n| n * MINUTE),
        "second" | "seconds" => number(),
        _ => parse(&counted, Quantity::Duration).ok().map(|w| w.si),
    }
}

/// Classes of duration: each as long as its longest.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    /// Up to an hour.
    Hour,
    /// Up to a day.
    Day,
    /// Up to a month.
    Month,
    /// Longer, a year and more.
    Years,
}

impl Class {
    /// The class of a time; of a load that stays without a stated end the longest.
    pub fn of(time: Option<Time>) -> Class {
        match time.map(|t| t.si()) {
            Some(t) if t <= HOUR => Class::Hour,
            Some(t) if t <= DAY => Class::Day,
            Some(t) if t <= MONTH => Class::Month,
            _ => Class::Years,
        }
    }
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Class::Hour => "hour",
            Class::Day => "day",
            Class::Month => "month",
            Class::Years => "years",
        }
    }
    /// The words on screen.
    pub fn text(self) -> &'static str {
        match self {
            Class::Hour => "up to an hour",
            Class::Day => "up to a day",
            Class::Month => "up to a month",
            Class::Years => "a year and more",
        }
    }
    fn share(self, need: &Need<'_>) -> (&'static str, f64) {
        let name = match self {
            Class::Hour => "held_share_hour",
            Class::Day => "held_share_day",
            Class::Month => "held_share_month",
            Class::Years => "held_share",
        };
        (name, need.assumptions.value(name))
    }
}

/// What a held load may be.
#[derive(Debug, Clone, PartialEq)]
pub enum HeldVerdict {
    /// None, and why.
    No(String),
    /// A share of the short pull, by common practice: the name of the assumption.
    Practice(&'static str),
    /// A share of the short pull, by claims of creep rupture of every partner.
    Claims(Vec<ClaimUse>),
}

/// The answer for a load that is held.
#[derive(Debug, Clone, PartialEq)]
pub struct Held {
    /// The time asked for, where stated.
    pub time: Option<Time>,
    /// Its class.
    pub class: Class,
    /// What it rests on.
    pub verdict: HeldVerdict,
    /// Share of the short pull's lower bound; zero for a no.
    pub share: f64,
    /// The short pull's lower bound, N.
    pub short: f64,
}

impl Held {
    /// The load that may stay, N; `None` for a no.
    pub fn load(&self) -> Option<f64> {
        (!matches!(self.verdict, HeldVerdict::No(_))).then_some(self.share * self.short)
    }
    /// The word of what it rests on.
    pub fn basis(&self) -> &'static str {
        match self.verdict {
            HeldVerdict::No(_) => "no",
            HeldVerdict::Practice(_) => "practice",
            HeldVerdict::Claims(_) => "creep-rupture claims",
        }
    }
    /// How long, in words.
    pub fn how_long(&self) -> String {
        match self.time {
            Some(time) => stretch(time),
            None => self.class.text().into(),
        }
    }
    /// The answer in a line.
    pub fn text(&self, load: &str) -> String {
        let how_long = self.how_long();
        match &self.verdict {
            HeldVerdict::No(why) => format!("none for {how_long}: {why}"),
            HeldVerdict::Practice(_) => {
                let class = if self.time.is_some() { format!(", as for {}", self.class.text()) } else { String::new() };
                format!("{load} for {how_long}: {:.0} % of the short pull{class} (practice, no creep data)", self.share * 100.0)
            }
            HeldVerdict::Claims(_) => {
                format!("{load} for {how_long}: {:.0} % of the short pull (claims of creep rupture)", self.share * 100.0)
            }
        }
    }
}

/// A stretch of time in words: `10 h`, `6 months`, `1 year`.
pub fn stretch(time: Time) -> String {
    let unit = shown(time);
    let text = Amount::new(Quantity::Duration, time.si()).shown_in(unit).trimmed(3);
    let is_word = matches!(unit, "month" | "year");
    if is_word && !text.starts_with("1 ") { format!("{text}s") } else { text }
}

fn shown(time: Time) -> &'static str {
    match time.si() {
        t if t < HOUR => "min",
        t if t < 2.0 * DAY => "h",
        t if t < 2.0 * MONTH => "d",
        t if t < 360.0 * DAY => "month",
        _ => "year",
    }
}

/// The answer for a held load of a joint whose short pull has that lower bound; `None` when no held load is asked for.
///
/// `relaxes` says why the joint has nothing to hold on to after a while, where it has not.
pub fn held(need: &Need<'_>, relaxes: Option<&str>, adhesive: Option<&Record>, short: f64) -> Option<Held> {
    if need.using.duration != Duration::Held {
        return None;
    }
    let (time, class) = (need.using.held, Class::of(need.using.held));
    let partners: Vec<&Record> = [Some(need.material), adhesive].into_iter().flatten().collect();
    let claimed = claimed(need, &partners, time);
    let no = too_warm(need, &partners).or_else(|| relaxes.filter(|_| class > Class::Hour).map(str::to_string));
    let (verdict, share) = match (claimed, no) {
        (Some((share, claims)), _) => (HeldVerdict::Claims(claims), share),
        (None, Some(why)) => (HeldVerdict::No(why), 0.0),
        (None, None) => {
            let (name, share) = class.share(need);
            (HeldVerdict::Practice(name), share)
        }
    };
    Some(Held { time, class, verdict, share, short })
}

/// Warmth far below softening is enough for creep: why there is no held load.
fn too_warm(need: &Need<'_>, partners: &[&Record]) -> Option<String> {
    let hot = need.hottest();
    if hot <= ROOM + ROOM_TOLERANCE {
        return None;
    }
    let margin = need.assumptions.value("softening_held");
    let celsius = |k: f64| format!("{:.0} °C", k - 273.15);
    partners.iter().find_map(|record| {
        let (softens, what) = heat::limit(need, record)?.softens;
        (hot > softens - margin).then(|| {
            format!(
                "{} is within {margin:.0} K of the {what} of {} ({}): under a sustained load it creeps until it fails",
                celsius(hot),
                record.name,
                celsius(softens)
            )
        })
    })
}

/// Property that says which stress breaks a record after a time.
const CREEP: &str = "creep_rupture_strength";

/// Share of the short pull by claims of creep rupture: each partner has one that reaches as long and as warm as asked.
fn claimed(need: &Need<'_>, partners: &[&Record], time: Option<Time>) -> Option<(f64, Vec<ClaimUse>)> {
    let mut share = 1.0f64;
    let mut claims = Vec::new();
    for record in partners {
        let (ratio, used) = ratio(need, record, time)?;
        share = share.min(ratio);
        claims.extend(used);
    }
    Some((share, claims))
}

/// Creep rupture strength of a record over its strength in a short test.
fn ratio(need: &Need<'_>, record: &Record, time: Option<Time>) -> Option<(f64, Vec<ClaimUse>)> {
    let short = ["tensile_strength", "yield_strength", "shear_strength", "lap_shear_strength"];
    let short = short.iter().find_map(|p| fact(need, record, p, Some("flat")))?.law.median();
    let condition = |c: &crate::book::Claim, name: &str| match c.condition(name) {
        Some(ConditionValue::Quantity(w)) => Some(w.si),
        _ => None,
    };
    let warm = need.hottest() > ROOM + ROOM_TOLERANCE;
    // Without a stated end only a claim of a year or more speaks for it.
    let wanted = time.map_or(360.0 * DAY, |t| t.si());
    let reaches = |c: &&crate::book::Claim| {
        c.in_use()
            && c.bound.is_none()
            && (need.invented() || c.basis != crate::book::Basis::Invented)
            && condition(c, "time").is_some_and(|t| t >= wanted * (1.0 - 1e-9))
            && (!warm || condition(c, "temperature").is_some_and(|t| t >= need.hottest() - 1e-6))
    };
    let known = record.claims(CREEP).iter().filter(reaches);
    let (stress, claim) = known.filter_map(|c| Some((c.value.middle_si()?, c))).min_by(|a, b| a.0.total_cmp(&b.0))?;
    let used = ClaimUse {
        claim: record.address(CREEP, claim),
        value: claim.value.text(),
        basis: claim.basis,
        source: claim.source.as_deref().map(Into::into),
        notes: Vec::new(),
    };
    Some(((stress / short).min(1.0), vec![used]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn durations_are_read_as_people_write_them() {
        let time = |text: &str| lasting(text).unwrap().time.unwrap().si();
        for (text, hours) in
            [("10 h", 10.0), ("10h", 10.0), ("a day", 24.0), ("2 weeks", 336.0), ("a week", 168.0), ("90 min", 1.5)]
        {
            assert!((time(text) / 3600.0 - hours).abs() < 1e-9, "{text}");
        }
        // The mean Gregorian year has 365.2425 days (exact).
        for text in ["a year", "1 year", "1y", "12 months", "one year", " A Year "] {
            assert!((time(text) / 86_400.0 - 365.2425).abs() < 1e-6, "{text}");
        }
        assert_eq!(lasting("held").unwrap(), Lasting { duration: Duration::Held, time: None });
        assert_eq!(lasting("30 s").unwrap(), Lasting { duration: Duration::Short, time: None });
        for bad in ["", "year", "a", "3", "-2 h", "0 h", "5 N", "200 years", "soon", "1e9 years", "ä year"] {
            assert!(lasting(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn classes_hold_their_longest() {
        let class = |seconds: f64| Class::of(Some(Time::from_si(seconds)));
        assert_eq!(
            [class(HOUR), class(DAY), class(MONTH), class(MONTH + 1.0)],
            [Class::Hour, Class::Day, Class::Month, Class::Years]
        );
        assert_eq!(Class::of(None), Class::Years);
    }
}
