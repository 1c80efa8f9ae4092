//! Reads the binary log of the logger workshop's pull tester. Tester, format and numbers are invented.
//!
//! Head, 32 bytes, least byte first: `RVLG`; version, 16 bits; 16 bits free; number of samples, 32 bits; millinewtons of a count of
//! the load cell, 32 bits; nanometres of a step of the screw, 32 bits; counts of the unloaded cell, 32 bits with sign; 8 bytes free.
//! Then for each sample the steps, 32 bits, and the counts, 32 bits with sign. Last the sum of all counts, 32 bits, without carry.

pub mod contract;

use contract::{Begin, End, Importer, Taken};

/// Bytes of the head.
const HEAD: usize = 32;

/// The importer.
#[derive(Debug, Default)]
pub struct RiverLog {
    begin: Begin,
    rest: Vec<u8>,
    head: Option<Head>,
    samples: u32,
    sum: i32,
    ended: bool,
}

#[derive(Debug)]
struct Head {
    samples: u32,
    newton: f64,
    millimetre: f64,
    zero: i32,
}

fn word(bytes: &[u8], at: usize) -> u32 {
    bytes.get(at..at + 4).and_then(|four| four.try_into().ok()).map_or(0, u32::from_le_bytes)
}

impl RiverLog {
    fn head(&mut self, taken: &mut Taken) -> bool {
        if self.head.is_some() {
            return true;
        }
        if self.rest.len() < HEAD {
            return false;
        }
        if &self.rest[..4] != b"RVLG" || self.rest[4..6] != [1, 0] {
            taken.find("error", None, "no log of this tester in version 1", "export the raw log from the tester");
            return false;
        }
        let head = Head {
            samples: word(&self.rest, 8),
            newton: f64::from(word(&self.rest, 12)) / 1e3,
            millimetre: f64::from(word(&self.rest, 16)) / 1e6,
            zero: word(&self.rest, 20) as i32,
        };
        self.rest.drain(..HEAD);
        self.head = Some(head);
        true
    }
}

impl Importer for RiverLog {
    const NAME: &'static str = "river-log";

    fn begin(&mut self, begin: Begin) -> Taken {
        self.begin = begin;
        Taken::default()
    }
    fn take(&mut self, bytes: &[u8], last: bool) -> Taken {
        let mut taken = Taken::default();
        self.rest.extend_from_slice(bytes);
        if !self.head(&mut taken) {
            if last && taken.findings.is_empty() {
                taken.find("error", None, "the file ends inside its head", "copy the log again");
            }
            return taken;
        }
        let Some(head) = &self.head else { return taken };
        let sign = if self.begin.reversed { -1.0 } else { 1.0 };
        let mut at = 0;
        while self.samples < head.samples && self.rest.len() - at >= 8 {
            let (steps, counts) = (word(&self.rest, at), word(&self.rest, at + 4) as i32);
            at += 8;
            self.samples += 1;
            self.sum = self.sum.wrapping_add(counts);
            let load = sign * f64::from(counts.wrapping_sub(head.zero)) * head.newton - self.begin.zero;
            taken.sample(f64::from(steps) * head.millimetre, load, u64::from(self.samples));
        }
        if self.samples == head.samples && !self.ended && self.rest.len() - at >= 4 {
            self.ended = true;
            if word(&self.rest, at) as i32 != self.sum {
                taken.find("error", None, "the sum of the counts is not that of the log: some are wrong", "copy the log again");
            }
            at += 4;
        }
        self.rest.drain(..at);
        if last && self.samples < head.samples {
            let message = format!("the log breaks off after {} of {} samples", self.samples, head.samples);
            taken.find("warning", Some(u64::from(self.samples)), message, "the peak may be missing: look at the part");
        } else if last && !self.ended {
            taken.find("warning", None, "the log has no sum at its end", "copy the log again");
        }
        taken
    }
    fn end(&mut self) -> (Taken, End) {
        let facts = self.head.as_ref().map(|head| {
            vec![
                format!("a count is {} N, a step {} mm", head.newton, head.millimetre),
                format!("the unloaded cell shows {} counts, taken off", head.zero),
            ]
        });
        (Taken::default(), End { load_unit: Some("N".into()), facts: facts.unwrap_or_default() })
    }
}

#[cfg(target_arch = "wasm32")]
exports_importer!(RiverLog);

#[cfg(test)]
mod tests {
    use super::*;

    fn log(samples: &[(u32, i32)], zero: i32) -> Vec<u8> {
        let mut all = b"RVLG\x01\0\0\0".to_vec();
        for word in [samples.len() as u32, 250, 625, zero as u32, 0, 0] {
            all.extend(word.to_le_bytes());
        }
        let mut sum = 0i32;
        for (steps, counts) in samples {
            all.extend(steps.to_le_bytes());
            all.extend(counts.to_le_bytes());
            sum = sum.wrapping_add(*counts);
        }
        all.extend(sum.to_le_bytes());
        all
    }

    fn read(bytes: &[u8], piece: usize) -> (Vec<u8>, Vec<&'static str>) {
        let mut importer = RiverLog::default();
        let (mut samples, mut severities) = (Vec::new(), Vec::new());
        let pieces: Vec<&[u8]> = bytes.chunks(piece).collect();
        importer.begin(Begin::default());
        for (at, piece) in pieces.iter().enumerate() {
            let taken = importer.take(piece, at + 1 == pieces.len());
            samples.extend(taken.samples);
            severities.extend(taken.findings.iter().map(|f| f.severity));
        }
        (samples, severities)
    }

    #[test]
    fn counts_become_newtons_wherever_the_file_is_cut() {
        // 250 mN a count, 625 nm a step: 4 counts above zero are 1 N, 1600 steps are 1 mm.
        let bytes = log(&[(0, 10), (1600, 14), (3200, 4010)], 10);
        let mut wanted = Taken::default();
        for (travel, load, line) in [(0.0, 0.0, 1), (1.0, 1.0, 2), (2.0, 1000.0, 3)] {
            wanted.sample(travel, load, line);
        }
        for piece in [1, 3, 8, 31, 33, 4096] {
            assert_eq!(read(&bytes, piece), (wanted.samples.clone(), vec![]), "{piece}");
        }
    }

    #[test]
    fn a_broken_log_is_told() {
        let whole = log(&[(0, 10), (1, 20), (2, 30)], 0);
        assert_eq!(read(&whole[..whole.len() - 8], 7).1, ["warning"], "a sample is missing");
        let mut wrong = whole.clone();
        wrong[37] ^= 1;
        assert_eq!(read(&wrong, 64).1, ["error"], "a count is wrong");
        assert_eq!(read(b"travel,load\n", 64).1, ["error"], "another file");
    }
}
