//! Colour that says again what a word says: verdicts and severities. Without colour nothing is lost.

use super::Look;
use crate::finding::Severity;
use crate::suit::Verdict;

/// What a word means to whoever acts on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// Go ahead.
    Good,
    /// Go ahead with care, or mend it when there is time.
    Care,
    /// Stop.
    Bad,
    /// Not known: test first.
    Open,
}

/// The tone of a verdict.
fn of_verdict(verdict: Verdict) -> Tone {
    match verdict {
        Verdict::Suits => Tone::Good,
        Verdict::WithCare => Tone::Care,
        Verdict::ModelOnly | Verdict::Unknown => Tone::Open,
        Verdict::DoesNotSuit => Tone::Bad,
    }
}

/// The tone of a severity.
pub fn of_severity(severity: Severity) -> Tone {
    match severity {
        Severity::Note => Tone::Open,
        Severity::Warning => Tone::Care,
        Severity::Error => Tone::Bad,
    }
}

/// Every word that has a tone, in its long and its short form.
pub fn words() -> impl Iterator<Item = (&'static str, Tone)> {
    const SEVERITIES: [Severity; 3] = [Severity::Note, Severity::Warning, Severity::Error];
    let verdicts = Verdict::ALL.into_iter().flat_map(|v| [(v.text(), of_verdict(v)), (v.short(), of_verdict(v))]);
    verdicts.chain(SEVERITIES.into_iter().map(|s| (s.word(), of_severity(s))))
}

/// The tone of a word of a table or of the end of a title; `None` for every other text.
pub fn of(word: &str) -> Option<Tone> {
    words().find(|(text, _)| *text == word).map(|(_, tone)| tone)
}

/// A text in the colour of its tone.
pub fn paint(text: &str, tone: Tone, look: Look) -> String {
    let code = match tone {
        Tone::Good => 32,
        Tone::Care => 33,
        Tone::Bad => 31,
        Tone::Open => 36,
    };
    if look.colour { format!("\u{1b}[1;{code}m{text}\u{1b}[0m") } else { text.to_owned() }
}

/// A text that stands out.
pub fn strong(text: &str, look: Look) -> String {
    if look.colour && !text.is_empty() { format!("\u{1b}[1m{text}\u{1b}[0m") } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colour_is_given_to_whole_words_only_and_taken_away_without_a_trace() {
        assert_eq!(of("does not suit"), Some(Tone::Bad));
        assert_eq!(of("with care"), of("suits with care"));
        assert_eq!(of("suits the eye"), None);
        let plain = Look { width: 80, colour: false };
        assert_eq!(paint("suits", Tone::Good, plain), "suits");
        let coloured = paint("suits", Tone::Good, Look { colour: true, ..plain });
        assert!(coloured.contains("suits") && coloured.ends_with("\u{1b}[0m"), "{coloured:?}");
    }
}
