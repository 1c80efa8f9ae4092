//! A random order that anybody can make again: named generator, seed, and way of shuffling.
//!
//! SplitMix64 (Steele, Lea and Flood 2014, Fast splittable pseudorandom number generators, OOPSLA, memory); whole numbers by
//! rejection, shuffling after Fisher and Yates from the end. One generator runs through all blocks.

/// What the order is made with, for the plan.
pub const NAME: &str = "SplitMix64, rejection, Fisher-Yates from the end";

/// The generator.
#[derive(Debug, Clone)]
pub struct SplitMix64(u64);

impl SplitMix64 {
    /// From a seed.
    pub fn new(seed: u64) -> Self {
        SplitMix64(seed)
    }
    /// The next number.
    pub fn next_number(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }
    /// A number below `n`, every one equally likely; `n` above zero.
    pub fn below(&mut self, n: u64) -> u64 {
        // 2^64 mod n, without 128-bit numbers.
        let excess = (u64::MAX % n + 1) % n;
        loop {
            let x = self.next_number();
            if excess == 0 || x <= u64::MAX - excess {
                return x % n;
            }
        }
    }
    /// Shuffles a list.
    pub fn shuffle<T>(&mut self, list: &mut [T]) {
        for i in (1..list.len()).rev() {
            let j = self.below(i as u64 + 1);
            // j is at most i, which is a place of the list.
            list.swap(i, usize::try_from(j).unwrap_or(i));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn blocks(letters: &str, count: usize, seed: u64) -> Vec<String> {
        let mut g = SplitMix64::new(seed);
        let block = |_| {
            let mut list: Vec<char> = letters.chars().collect();
            g.shuffle(&mut list);
            list.into_iter().collect()
        };
        (0..count).map(block).collect()
    }

    /// First numbers of seed 1234567 as published with the generator; block orders from an independent program (library).
    #[test]
    fn known_numbers_and_orders() {
        let mut g = SplitMix64::new(1_234_567);
        let first: Vec<u64> = (0..3).map(|_| g.next_number()).collect();
        assert_eq!(first, [6_457_827_717_110_365_317, 3_203_168_211_198_807_973, 9_817_491_932_198_370_423]);
        assert_eq!(blocks("ABC", 4, 1), ["ABC", "CBA", "BCA", "CBA"]);
        assert_eq!(blocks("ABCD", 3, 20_240_601), ["CBDA", "DBCA", "DBAC"]);
    }
}
