//! Ids and file names that mean the same on every file system.

/// Longest id in bytes.
pub const LONGEST: usize = 64;

/// Names a widespread system keeps for its devices.
const RESERVED: [&str; 4] = ["con", "prn", "aux", "nul"];

/// What is wrong with an id.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum IdFault {
    /// Not small letters, digits and single hyphens.
    Form,
    /// Longer than [`LONGEST`].
    Long,
    /// The name of a device.
    Reserved,
}

/// Checks an id: `[a-z0-9]` with single hyphens, at most [`LONGEST`] bytes, no device name.
#[must_use]
pub fn fault(id: &str) -> Option<IdFault> {
    // Asked of every file of a pack, so in one go.
    let mut before = b'-';
    for byte in id.bytes() {
        if !(byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'-' && before != b'-') {
            return Some(IdFault::Form);
        }
        before = byte;
    }
    if before == b'-' {
        return Some(IdFault::Form);
    }
    if id.len() > LONGEST {
        return Some(IdFault::Long);
    }
    let device = |prefix: &str| id.strip_prefix(prefix).is_some_and(|n| n.len() == 1 && n.bytes().all(|b| b.is_ascii_digit()));
    (RESERVED.contains(&id) || device("com") || device("lpt")).then_some(IdFault::Reserved)
}

/// A name as the most forgetful file system keeps it: case folded, accents not told apart.
#[must_use]
pub fn folded(name: &str) -> String {
    let mut out = String::with_capacity(name.len());
    for c in name.chars() {
        match c {
            // A combining mark turns the letter before it into what a composed letter becomes.
            '\u{300}'..='\u{36F}' => {
                out.pop();
                out.push('?');
            }
            c if c.is_ascii() => out.push(c.to_ascii_lowercase()),
            _ => out.push('?'),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_small_letters_digits_and_single_hyphens() {
        for good in ["pla", "pa6-gf30", "petrie-2000-handbook", "7", &"a".repeat(64)] {
            assert_eq!(fault(good), None, "{good}");
        }
        for bad in ["", "-a", "a-", "a--b", "PLA", "a_b", "a.b", "../a", "é", "a b", "a/b", "c:", "a\n", "a.", "%2e"] {
            assert_eq!(fault(bad), Some(IdFault::Form), "{bad}");
        }
        assert_eq!(fault(&"a".repeat(65)), Some(IdFault::Long));
        for bad in ["con", "nul", "com1", "lpt9"] {
            assert_eq!(fault(bad), Some(IdFault::Reserved), "{bad}");
        }
        assert_eq!(fault("com10"), None);
    }

    #[test]
    fn twins_fold_to_the_same_name() {
        assert_eq!(folded("PLA"), folded("pla"));
        assert_eq!(folded("\u{e9}poxy"), folded("e\u{301}poxy"));
        assert_ne!(folded("pla"), folded("plb"));
    }
}
