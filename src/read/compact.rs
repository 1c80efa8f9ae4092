//! Numbers and texts as compact bytes, for what is remembered between runs of one build.
//!
//! Not an exchange format: whoever writes puts a version in front, and bytes that cannot be right are thrown away.

/// Length of the seal at the end.
const SEAL: usize = 12;

/// Puts values one after the other.
#[derive(Debug, Default)]
pub struct Encoder(pub Vec<u8>);

impl Encoder {
    /// A number; small ones take one byte.
    pub fn number(&mut self, mut n: u64) {
        while n >= 0x80 {
            self.0.push((n as u8 & 0x7F) | 0x80);
            n >>= 7;
        }
        self.0.push(n as u8);
    }
    /// A number in eight bytes.
    pub fn wide(&mut self, n: u64) {
        self.0.extend(n.to_le_bytes());
    }
    /// A text or other bytes, with their length.
    pub fn bytes(&mut self, bytes: &[u8]) {
        self.number(bytes.len() as u64);
        self.0.extend(bytes);
    }
    /// A text.
    pub fn text(&mut self, text: &str) {
        self.bytes(text.as_bytes());
    }
    /// Yes or no.
    pub fn yes_no(&mut self, yes: bool) {
        self.0.push(u8::from(yes));
    }
    /// A value that may be missing.
    pub fn maybe<T: ?Sized>(&mut self, value: Option<&T>, write: impl Fn(&mut Self, &T)) {
        self.yes_no(value.is_some());
        if let Some(value) = value {
            write(self, value);
        }
    }
    /// A text that may be missing.
    pub fn maybe_text(&mut self, text: Option<&str>) {
        self.maybe(text, Self::text);
    }
    /// A list.
    pub fn list<T>(&mut self, items: &[T], write: impl Fn(&mut Self, &T)) {
        self.number(items.len() as u64);
        items.iter().for_each(|item| write(self, item));
    }
    /// All bytes with a seal at the end, by which damage is seen.
    #[must_use]
    pub fn sealed(mut self) -> Vec<u8> {
        let seal = seal(&self.0);
        self.0.extend(seal);
        self.0
    }
}

/// Takes values in the order an [`Encoder`] put them; every step gives `None` at the first byte that cannot be right.
#[derive(Debug, Clone)]
pub struct Decoder<'a>(pub &'a [u8]);

impl<'a> Decoder<'a> {
    /// The bytes before an intact seal.
    #[must_use]
    pub fn unsealed(bytes: &'a [u8]) -> Option<Self> {
        let (body, end) = bytes.split_at_checked(bytes.len().checked_sub(SEAL)?)?;
        (seal(body)[..] == *end).then_some(Decoder(body))
    }
    /// The next bytes.
    pub fn take(&mut self, n: usize) -> Option<&'a [u8]> {
        let (head, tail) = self.0.split_at_checked(n)?;
        self.0 = tail;
        Some(head)
    }
    /// One byte.
    pub fn byte(&mut self) -> Option<u8> {
        self.take(1).map(|b| b[0])
    }
    /// A number.
    pub fn number(&mut self) -> Option<u64> {
        let mut n = 0u64;
        for shift in (0..64).step_by(7) {
            let byte = self.byte()?;
            n |= u64::from(byte & 0x7F).checked_shl(shift)?;
            if byte < 0x80 {
                return Some(n);
            }
        }
        None
    }
    /// A number in eight bytes.
    pub fn wide(&mut self) -> Option<u64> {
        self.take(8)?.try_into().ok().map(u64::from_le_bytes)
    }
    /// A number that counts something here.
    pub fn count(&mut self) -> Option<usize> {
        usize::try_from(self.number()?).ok()
    }
    /// Bytes with their length.
    pub fn bytes(&mut self) -> Option<&'a [u8]> {
        let length = self.count()?;
        self.take(length)
    }
    /// A text.
    pub fn text(&mut self) -> Option<&'a str> {
        std::str::from_utf8(self.bytes()?).ok()
    }
    /// Yes or no.
    pub fn yes_no(&mut self) -> Option<bool> {
        match self.byte()? {
            0 => Some(false),
            1 => Some(true),
            _ => None,
        }
    }
    /// A value that may be missing.
    pub fn maybe<T>(&mut self, read: impl Fn(&mut Self) -> Option<T>) -> Option<Option<T>> {
        if self.yes_no()? { read(self).map(Some) } else { Some(None) }
    }
    /// A text that may be missing.
    pub fn maybe_text(&mut self) -> Option<Option<Box<str>>> {
        self.maybe(|from| from.text().map(Box::from))
    }
    /// A list.
    pub fn list<T>(&mut self, read: impl Fn(&mut Self) -> Option<T>) -> Option<Vec<T>> {
        let length = self.count()?;
        // Every item takes a byte at least, so damaged lengths cannot ask for memory that is not there.
        (length <= self.0.len()).then_some(())?;
        (0..length).map(|_| read(self)).collect()
    }
}

/// Length and CRC-32: it shows damage by chance, which is all that happens to files nobody else writes.
fn seal(bytes: &[u8]) -> [u8; SEAL] {
    let mut seal = [0; SEAL];
    seal[..8].copy_from_slice(&(bytes.len() as u64).to_le_bytes());
    seal[8..].copy_from_slice(&crc32fast::hash(bytes).to_le_bytes());
    seal
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_was_put_comes_out(n in any::<u64>(), wide in any::<u64>(), text in ".{0,40}", yes in any::<bool>(), all in prop::collection::vec(any::<u64>(), 0..5)) {
            let mut to = Encoder::default();
            to.number(n);
            to.wide(wide);
            to.text(&text);
            to.maybe_text(yes.then_some(&*text));
            to.list(&all, |to, n| to.number(*n));
            let bytes = to.sealed();
            let mut from = Decoder::unsealed(&bytes).expect("intact");
            prop_assert_eq!(from.number(), Some(n));
            prop_assert_eq!(from.wide(), Some(wide));
            prop_assert_eq!(from.text(), Some(&*text));
            prop_assert_eq!(from.maybe_text(), Some(yes.then(|| text.clone().into())));
            prop_assert_eq!(from.list(Decoder::number), Some(all));
            prop_assert!(from.0.is_empty());
        }
        #[test]
        fn damage_breaks_the_seal(bytes in prop::collection::vec(any::<u8>(), 1..600), at in any::<prop::sample::Index>(), bit in 0..8u8) {
            let whole = Encoder(bytes).sealed();
            let mut bad = whole.clone();
            let at = at.index(bad.len());
            bad[at] ^= 1 << bit;
            prop_assert!(Decoder::unsealed(&bad).is_none());
            prop_assert!(Decoder::unsealed(&whole[..at]).is_none());
        }
    }
}
