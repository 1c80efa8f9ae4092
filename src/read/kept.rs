//! What is kept between runs of one build: values as compact bytes with a seal, and how it is held against the files as
//! they are now.
//!
//! Not an exchange format: whoever writes puts a version in front, and bytes that cannot be right are thrown away.

use serde::{Deserialize, Serialize};
use std::cmp::Ordering;

/// Length of the CRC-32 at the end.
const SEAL: usize = 4;

/// A value with the words by which its form is known in front, and a seal at the end by which damage by chance is seen.
#[must_use]
pub fn seal<T: Serialize>(form: &str, value: &T) -> Vec<u8> {
    // Values that no bytes can hold are none of ours; no bytes are as good as damaged ones.
    let Ok(mut bytes) = postcard::to_extend(value, form.as_bytes().to_vec()) else { return Vec::new() };
    bytes.extend(crc32fast::hash(&bytes).to_le_bytes());
    bytes
}

/// The value of bytes of that form; `None` when they are of another one or damaged.
pub fn unseal<'b, T: Deserialize<'b>>(form: &str, bytes: &'b [u8]) -> Option<T> {
    let (body, seal) = bytes.split_at_checked(bytes.len().checked_sub(SEAL)?)?;
    (crc32fast::hash(body).to_le_bytes() == *seal).then_some(())?;
    decode(body.strip_prefix(form.as_bytes())?)
}

/// The value that bytes without a seal hold, all of them.
pub fn decode<'b, T: Deserialize<'b>>(bytes: &'b [u8]) -> Option<T> {
    let (value, rest) = postcard::take_from_bytes(bytes).ok()?;
    rest.is_empty().then_some(value)
}

/// Bytes without a seal.
#[must_use]
pub fn encode<T: Serialize>(value: &T) -> Vec<u8> {
    postcard::to_allocvec(value).unwrap_or_default()
}

/// What was kept of each of some files; and whether something was kept of a path that is not among them.
#[derive(Debug)]
pub struct Aligned<T> {
    /// In the order of the files.
    pub kept: Vec<Option<T>>,
    /// Whether a path is gone.
    pub gone: bool,
}

/// Finds for each of `files` what was kept of it. Both are in the order of their paths.
pub fn align<F, T>(files: &[F], path: impl Fn(&F) -> &str, kept: Vec<T>, kept_path: impl Fn(&T) -> &str) -> Aligned<T> {
    let mut aligned = Aligned { kept: Vec::with_capacity(files.len()), gone: false };
    let mut kept = kept.into_iter().peekable();
    for file in files {
        while kept.next_if(|old| kept_path(old).cmp(path(file)) == Ordering::Less).is_some() {
            aligned.gone = true;
        }
        aligned.kept.push(kept.next_if(|old| kept_path(old) == path(file)));
    }
    aligned.gone |= kept.next().is_some();
    aligned
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::collections::BTreeSet;

    proptest! {
        #[test]
        fn what_was_sealed_comes_out_and_damage_does_not(value in any::<(u64, String, Vec<Option<i64>>)>(), at in any::<prop::sample::Index>(), bit in 0..8u8) {
            let whole = seal("form 1\n", &value);
            prop_assert_eq!(unseal("form 1\n", &whole), Some(value.clone()));
            prop_assert_eq!(unseal::<(u64, String, Vec<Option<i64>>)>("form 2\n", &whole), None);
            let mut bad = whole.clone();
            let at = at.index(bad.len());
            bad[at] ^= 1 << bit;
            prop_assert_eq!(unseal::<(u64, String, Vec<Option<i64>>)>("form 1\n", &bad), None);
            prop_assert_eq!(unseal::<(u64, String, Vec<Option<i64>>)>("form 1\n", &whole[..at]), None);
        }
        #[test]
        fn files_find_what_was_kept_of_them(old in prop::collection::btree_set("[ab/]{1,4}", 0..12), now in prop::collection::btree_set("[ab/]{1,4}", 0..12)) {
            let (kept, files): (Vec<String>, Vec<&String>) = (old.iter().cloned().collect(), now.iter().collect());
            let aligned = align(&files, |path| path, kept, |path| path);
            let expected: Vec<Option<String>> = now.iter().map(|path| old.get(path).cloned()).collect();
            prop_assert_eq!(aligned.kept, expected);
            prop_assert_eq!(aligned.gone, !BTreeSet::is_subset(&old, &now));
        }
    }
}
