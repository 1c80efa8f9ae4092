//! … which files it reads, and how they are laid out.

pub mod contract;

use contract::{Begin, End, Importer, Taken};

/// The importer.
#[derive(Debug, Default)]
pub struct TYPE {
    begin: Begin,
    /// What was handed over and not used yet: blocks end anywhere.
    rest: Vec<u8>,
    line: u64,
}

impl Importer for TYPE {
    const NAME: &'static str = "NAME";

    fn begin(&mut self, begin: Begin) -> Taken {
        self.begin = begin;
        Taken::default()
    }
    /// Lines `travel load`, in mm and N: put your own format here.
    fn take(&mut self, bytes: &[u8], last: bool) -> Taken {
        let mut taken = Taken::default();
        self.rest.extend_from_slice(bytes);
        if last {
            self.rest.push(b'\n');
        }
        while let Some(end) = self.rest.iter().position(|b| *b == b'\n') {
            let line: Vec<u8> = self.rest.drain(..=end).collect();
            self.line += 1;
            let text = String::from_utf8_lossy(&line);
            let numbers: Vec<f64> = text.split_whitespace().filter_map(|word| word.parse().ok()).collect();
            match numbers[..] {
                [travel, load] => taken.sample(travel, load - self.begin.zero, self.line),
                _ if text.trim().is_empty() => {}
                _ => taken.find("error", Some(self.line), "no line of two numbers", "export travel and load, one sample in a line"),
            }
        }
        taken
    }
    fn end(&mut self) -> (Taken, End) {
        (Taken::default(), End { load_unit: Some("N".into()), facts: vec!["travel in mm, load in N".into()] })
    }
}

#[cfg(target_arch = "wasm32")]
exports_importer!(TYPE);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_are_read_wherever_the_file_is_cut() {
        let bytes = b"0.00 0.0\n0.01 2.5\n";
        let mut wanted = Taken::default();
        wanted.sample(0.0, 0.0, 1);
        wanted.sample(0.01, 2.5, 2);
        for cut in 0..bytes.len() {
            let mut importer = TYPE::default();
            let mut taken = importer.take(&bytes[..cut], false);
            taken.samples.extend(importer.take(&bytes[cut..], true).samples);
            assert_eq!(taken.samples, wanted.samples, "{cut}");
        }
        assert_eq!(TYPE::default().take(b"load;travel\n", true).findings.len(), 1);
    }
}
