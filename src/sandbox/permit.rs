//! The user's word: which plug-in may run, by name and by the SHA-256 of its module.

use crate::read::digest::sha256;
use std::fmt;

/// Digits of a fingerprint that a person must give at least.
const DIGITS: usize = 16;

/// A plug-in somebody allows: `NAME=SHA256`, or a line `SHA256  NAME` of an allow file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Permit {
    /// Name of the plug-in.
    pub name: String,
    /// The fingerprint, or its first digits; `None` where the allow file has to say it.
    pub fingerprint: Option<String>,
}

/// Why a plug-in does not run.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum NotPermitted {
    /// Nobody allowed it.
    NotAllowed {
        /// Its name.
        name: String,
        /// The fingerprint of its module.
        fingerprint: String,
    },
    /// The module is another than the one allowed.
    OtherModule {
        /// Its name.
        name: String,
        /// What was allowed.
        allowed: String,
        /// What is there.
        fingerprint: String,
    },
    /// The module is another than its record says.
    OtherThanRecord {
        /// Its name.
        name: String,
        /// What the record says.
        recorded: String,
        /// What is there.
        fingerprint: String,
    },
}

fn is_fingerprint(text: &str) -> bool {
    (DIGITS..=64).contains(&text.len()) && text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'))
}

impl Permit {
    /// Reads `NAME=SHA256` or `NAME`.
    ///
    /// # Errors
    /// What is wrong with it, in one sentence.
    pub fn read(text: &str) -> Result<Self, String> {
        let (name, fingerprint) = match text.split_once('=') {
            Some((name, digits)) => (name, Some(digits.to_ascii_lowercase())),
            None => (text, None),
        };
        match &fingerprint {
            Some(digits) if !is_fingerprint(digits) => {
                Err(format!("`{digits}` is no SHA-256: {DIGITS} to 64 hexadecimal digits are needed"))
            }
            _ if name.is_empty() => Err("the name of the plug-in is missing".into()),
            _ => Ok(Permit { name: name.into(), fingerprint }),
        }
    }
    /// Reads an allow file: lines `SHA256  NAME` as `sha256sum` writes them, with `#` for comments.
    ///
    /// # Errors
    /// The first line that is none, from 1, and what is wrong with it.
    pub fn read_all(text: &str) -> Result<Vec<Self>, (usize, String)> {
        let mut all = Vec::new();
        for (at, line) in text.lines().enumerate() {
            let line = line.split('#').next().unwrap_or_default().trim();
            if line.is_empty() {
                continue;
            }
            let (digits, name) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
            let name = name.trim().trim_start_matches('*');
            // `sha256sum` writes the path of the file.
            let name = name.rsplit('/').next().unwrap_or(name);
            let name = name.strip_suffix(".wasm").unwrap_or(name);
            let permit = Self::read(&format!("{name}={digits}")).map_err(|why| (at + 1, why))?;
            all.push(permit);
        }
        Ok(all)
    }
    /// Whether the permits allow this module.
    ///
    /// # Errors
    /// [`NotPermitted`] says why it does not run.
    pub fn judge(permits: &[Permit], name: &str, recorded: &str, module: &[u8]) -> Result<(), NotPermitted> {
        let (name, fingerprint) = (name.to_owned(), sha256(module));
        if recorded != fingerprint {
            return Err(NotPermitted::OtherThanRecord { name, recorded: recorded.into(), fingerprint });
        }
        let mut said = permits.iter().filter(|p| p.name == name).filter_map(|p| p.fingerprint.as_deref()).peekable();
        let Some(first) = said.peek().copied() else { return Err(NotPermitted::NotAllowed { name, fingerprint }) };
        if said.any(|digits| fingerprint.starts_with(digits)) {
            Ok(())
        } else {
            Err(NotPermitted::OtherModule { name, allowed: first.into(), fingerprint })
        }
    }
}

impl fmt::Display for NotPermitted {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NotPermitted::NotAllowed { name, .. } => {
                write!(f, "the plug-in {name} runs only when you allow its module by its SHA-256")
            }
            NotPermitted::OtherModule { name, allowed, fingerprint } => {
                write!(f, "the module of {name} has the SHA-256 {fingerprint}; you allowed {allowed}")
            }
            NotPermitted::OtherThanRecord { name, recorded, fingerprint } => {
                write!(f, "the module of {name} has the SHA-256 {fingerprint}; its record says {recorded}")
            }
        }
    }
}

impl NotPermitted {
    /// What to do.
    pub fn help(&self) -> String {
        match self {
            NotPermitted::NotAllowed { name, fingerprint } => {
                format!("if you trust where it comes from: --plugin {name}={fingerprint}")
            }
            NotPermitted::OtherModule { .. } => "somebody changed it since: ask the maker, then allow the new one".into(),
            NotPermitted::OtherThanRecord { .. } => "the pack is damaged, or its record was not brought up to date".into(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_module_that_was_allowed_runs() {
        let digits = sha256(b"abc");
        let judge =
            |permit: &str, bytes: &[u8]| Permit::judge(&[Permit::read(permit).expect(permit)], "log", &sha256(bytes), bytes);
        assert_eq!(judge(&format!("log={digits}"), b"abc"), Ok(()));
        assert_eq!(judge(&format!("log={}", digits[..16].to_uppercase()), b"abc"), Ok(()));
        assert!(matches!(judge(&format!("log={digits}"), b"abd"), Err(NotPermitted::OtherModule { .. })));
        assert!(matches!(judge(&format!("other={digits}"), b"abc"), Err(NotPermitted::NotAllowed { .. })));
        assert!(matches!(judge("log", b"abc"), Err(NotPermitted::NotAllowed { .. })));
        assert!(matches!(Permit::judge(&[], "log", &digits, b"abd"), Err(NotPermitted::OtherThanRecord { .. })));
        assert!(Permit::read("log=ba78").is_err() && Permit::read("log=zz7816bf8f01cfea").is_err());
        assert!(Permit::read("=ba7816bf8f01cfea").is_err());
    }

    #[test]
    fn an_allow_file_is_read_as_checksums_are_written() {
        let digits = sha256(b"abc");
        let text = format!("# mine\n{digits}  plugins/river-log.wasm\n\n{digits} *house  # ours\n");
        let names: Vec<_> = Permit::read_all(&text).expect("lines").into_iter().map(|p| p.name).collect();
        assert_eq!(names, ["river-log", "house"]);
        assert_eq!(Permit::read_all("\nriver-log\n").expect_err("no digits").0, 2);
    }
}
