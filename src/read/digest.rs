//! Digests as digits: one spelling for every place that writes one.

use sha2::{Digest, Sha256};

/// The first `digits` hexadecimal digits of a hash.
#[must_use]
pub fn hex(bytes: &[u8], digits: usize) -> String {
    const DIGITS: &[u8; 16] = b"0123456789abcdef";
    let nibbles = bytes.iter().flat_map(|b| [b >> 4, b & 15]);
    nibbles.take(digits).map(|n| char::from(DIGITS[usize::from(n)])).collect()
}

/// SHA-256 of bytes, as 64 hexadecimal digits.
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes), 64)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Published: FIPS 180-4, examples of SHA-256 (one block).
    #[test]
    fn the_digits_are_those_of_the_standard() {
        let digits = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(sha256(b"abc"), digits);
        assert_eq!(hex(&Sha256::digest(b"abc"), 8), &digits[..8]);
    }
}
