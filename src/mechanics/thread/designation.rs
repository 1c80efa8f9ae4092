//! From `M3`, `M3x0.35`, `#4-40`, `1/4-20` to a thread of the table.

use super::sizes::{PitchSeries, System, Thread, all};
use crate::quantity::parse::edit_distance;

/// Why a text names no thread, or why a thread cannot be asked for like this.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ThreadFault {
    /// No thread of that name; the nearest ones.
    Unknown {
        /// The text as given.
        text: String,
        /// Names that are near.
        nearest: Vec<String>,
    },
    /// The size exists, the pitch does not.
    Pitch {
        /// The size: `M3`.
        size: &'static str,
        /// The pitch as written.
        pitch: String,
        /// The threads of that size.
        has: Vec<String>,
    },
    /// A unified size without threads per inch.
    PitchMissing {
        /// The size: `#4`.
        size: &'static str,
        /// The threads of that size.
        has: Vec<String>,
    },
    /// A length that makes no sense here.
    Geometry {
        /// What is wrong.
        message: String,
        /// What to write.
        help: String,
    },
}

impl ThreadFault {
    /// What is wrong, in one sentence without a full stop.
    pub fn message(&self) -> String {
        match self {
            ThreadFault::Unknown { text, .. } => format!("there is no thread `{text}` here"),
            ThreadFault::Pitch { size, pitch, .. } => format!("{size} has no pitch {pitch}"),
            ThreadFault::PitchMissing { size, .. } => format!("{size} names a size, not a thread"),
            ThreadFault::Geometry { message, .. } => message.clone(),
        }
    }
    /// What to do.
    pub fn help(&self) -> String {
        match self {
            ThreadFault::Unknown { nearest, .. } if nearest.is_empty() => {
                "ISO metric M1 to M12 (`M3`, `M3x0.35`), unified #2 to 3/8 in (`#4-40`, `1/4-20`) and pipe threads (`G1/8`) are known".into()
            }
            ThreadFault::Unknown { nearest, .. } => format!("did you mean {}?", nearest.join(", ")),
            ThreadFault::Pitch { size, has, .. } | ThreadFault::PitchMissing { size, has } => {
                format!("pitches of {size}: {}", has.join(", "))
            }
            ThreadFault::Geometry { help, .. } => help.clone(),
        }
    }
}

/// Reads a thread's designation.
///
/// # Errors
/// [`ThreadFault`] with the nearest names, or with the pitches the size has.
pub fn parse(text: &str) -> Result<Thread, ThreadFault> {
    let plain = normal(text);
    let unknown = || ThreadFault::Unknown { text: text.trim().into(), nearest: nearest(&plain) };
    let (size, pitch) = split(&plain).ok_or_else(unknown)?;
    let of_size: Vec<&Thread> = all().iter().filter(|t| t.size == size).collect();
    let first = of_size.first().ok_or_else(unknown)?;
    let has = || of_size.iter().map(|t| pitch_words(t)).collect();
    let Some(pitch) = pitch else {
        return match first.system {
            System::Metric | System::Pipe => Ok(**first),
            System::Unified => Err(ThreadFault::PitchMissing { size: first.size, has: has() }),
        };
    };
    if pitch.is_empty() {
        let has: Vec<String> = has();
        let message = format!("`{}` lacks its pitch", text.trim());
        return Err(ThreadFault::Geometry { message, help: format!("pitches of {}: {}", first.size, has.join(", ")) });
    }
    let number: Option<f64> = pitch.parse().ok();
    let found = number.and_then(|n| of_size.iter().find(|t| t.pitch_written == n));
    found.map(|t| **t).ok_or_else(|| ThreadFault::Pitch { size: first.size, pitch: pitch_asked(first, &pitch), has: has() })
}

/// Reads the designation of a thread that joints are made with.
///
/// # Errors
/// As [`parse`]; and of a pipe thread, of which only the geometry is stored.
pub fn fastening(text: &str) -> Result<Thread, ThreadFault> {
    let thread = parse(text)?;
    if thread.fastens() {
        return Ok(thread);
    }
    Err(ThreadFault::Geometry {
        message: format!("{} is a pipe thread: its geometry is known, no joint is computed with it", thread.size),
        help: format!("take a metric or unified thread; `gripbook thread {}` shows the geometry", thread.size),
    })
}

fn pitch_asked(thread: &Thread, pitch: &str) -> String {
    match thread.system {
        System::Metric => format!("{pitch} mm"),
        System::Unified | System::Pipe => format!("of {pitch} threads per inch"),
    }
}

/// `M3 (0.5 mm)`, `#4-40`.
fn pitch_words(thread: &Thread) -> String {
    match (thread.system, thread.series) {
        (System::Metric, PitchSeries::Coarse) => format!("{} mm (coarse)", thread.pitch_written),
        (System::Metric, PitchSeries::Fine) => format!("{} mm", thread.pitch_written),
        (System::Unified | System::Pipe, _) => thread.designation(),
    }
}

/// Spaces, inch marks and the words of the series dropped; one spelling of the times sign, of `No.` and of the dash.
fn normal(text: &str) -> String {
    let mut plain: String = text
        .trim()
        .chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '"' | '″' | '\''))
        .map(|c| match c {
            '×' | '*' | 'X' => 'x',
            '–' | '−' | '‐' | '‑' => '-',
            c => c,
        })
        .collect();
    for word in ["UNC", "UNF", "unc", "unf", "-6g", "-6H", "-2A", "-2B", "mm"] {
        if let Some(rest) = plain.strip_suffix(word) {
            plain = rest.trim_end_matches('-').to_string();
        }
    }
    for word in ["No.", "no.", "NO.", "No", "no"] {
        if let Some(rest) = plain.strip_prefix(word) {
            plain = format!("#{rest}");
        }
    }
    plain
}

/// The name of the size as in the table, and the text of the pitch.
fn split(plain: &str) -> Option<(String, Option<String>)> {
    if let Some(rest) = plain.strip_prefix(['M', 'm']) {
        let (diameter, pitch) = match rest.split_once('x') {
            Some((d, p)) => (d, Some(p.to_string())),
            None => (rest, None),
        };
        let diameter: f64 = diameter.parse().ok()?;
        return Some((format!("M{diameter}"), pitch));
    }
    if let Some(rest) = plain.strip_prefix(['G', 'g']) {
        return Some((format!("G{rest}"), None));
    }
    let (size, pitch) = match plain.split_once('-') {
        Some((s, p)) => (s, Some(p.to_string())),
        None => (plain, None),
    };
    let known = |size: &str| all().iter().any(|t| t.size == size);
    let numbered = format!("#{size}");
    let name = if known(size) {
        size.to_string()
    } else if known(&numbered) && pitch.is_some() {
        numbered
    } else {
        return None;
    };
    Some((name, pitch))
}

/// Designations near a text: by spelling, then by diameter of a metric size.
fn nearest(plain: &str) -> Vec<String> {
    let asked: Option<f64> = plain.strip_prefix(['M', 'm']).and_then(|r| r.split('x').next()).and_then(|d| d.parse().ok());
    let mut near: Vec<(f64, usize, String)> = all()
        .iter()
        .enumerate()
        .filter_map(|(place, t)| {
            let distance = match (asked, t.system, t.series) {
                (Some(d), System::Metric, PitchSeries::Coarse) => (t.diameter - d).abs() / d.max(t.diameter),
                (Some(_), ..) => return None,
                (None, ..) => {
                    let edits = edit_distance(plain, &t.designation());
                    if edits > 2 {
                        return None;
                    }
                    // Any text within two edits comes before any distance of diameters could.
                    f64::from(u8::try_from(edits).unwrap_or(u8::MAX))
                }
            };
            (distance <= 0.5 || asked.is_none()).then(|| (distance, place, t.designation()))
        })
        .collect();
    near.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    near.into_iter().take(4).map(|(_, _, name)| name).collect()
}
