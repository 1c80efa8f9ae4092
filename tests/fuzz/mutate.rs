//! Mutants of inputs, the same in every run of one seed.

use crate::faults::kills::Dice;

/// Inputs kept to go on from.
const KEPT: usize = 400;
/// Longest mutant.
const LONGEST: usize = 20_000;

pub struct Mutator {
    dice: Dice,
    corpus: Vec<Vec<u8>>,
    first: usize,
    words: &'static [&'static str],
    /// Mutants the target took.
    pub accepted: u64,
}

impl Mutator {
    pub fn new(seed: u64, corpus: Vec<Vec<u8>>, words: &'static [&'static str]) -> Self {
        Mutator { dice: Dice(seed), first: corpus.len(), corpus, words, accepted: 0 }
    }

    pub fn next(&mut self) -> Vec<u8> {
        let mut input = self.corpus[self.dice.below(self.corpus.len())].clone();
        for _ in 0..=self.dice.below(4) {
            self.change(&mut input);
        }
        input.truncate(LONGEST);
        input
    }

    pub fn learn(&mut self, input: Vec<u8>, is_accepted: bool) {
        self.accepted += u64::from(is_accepted);
        if is_accepted && self.corpus.len() < self.first + KEPT {
            self.corpus.push(input);
        } else if is_accepted && self.dice.below(20) == 0 {
            let place = self.first + self.dice.below(KEPT);
            self.corpus[place] = input;
        }
    }

    fn stretch(&mut self, of: &[u8], longest: usize) -> std::ops::Range<usize> {
        let start = self.dice.below(of.len() + 1);
        start..(start + self.dice.below(longest)).min(of.len())
    }

    fn change(&mut self, input: &mut Vec<u8>) {
        let at = self.dice.below(input.len() + 1);
        match self.dice.below(9) {
            0 if at < input.len() => input[at] ^= 1 << self.dice.below(8),
            1 if at < input.len() => input[at] = u8::try_from(self.dice.below(256)).unwrap_or(0),
            2 => {
                let gone = self.stretch(input, 30);
                input.drain(gone);
            }
            3 => {
                let copied = self.stretch(input, 60);
                let copied = input[copied].to_vec();
                input.splice(at..at, copied);
            }
            4 => {
                let other = self.corpus[self.dice.below(self.corpus.len())].clone();
                let taken = self.stretch(&other, 200);
                input.splice(at..at, other[taken].iter().copied());
            }
            5 if self.dice.below(6) == 0 => input.truncate(at),
            6 => {
                // A digit for a digit: numbers of every size.
                if let Some(digit) = input.iter_mut().skip(at).find(|b| b.is_ascii_digit()) {
                    *digit = b'0' + u8::try_from(self.dice.below(10)).unwrap_or(0);
                }
            }
            _ => {
                let word = self.words[self.dice.below(self.words.len())];
                let times = if self.dice.below(30) == 0 { 1 + self.dice.below(300) } else { 1 };
                input.splice(at..at, word.repeat(times).into_bytes());
            }
        }
    }
}
