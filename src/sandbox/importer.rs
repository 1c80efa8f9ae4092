//! A module as an importer: the file goes through it in blocks, samples come back as plain numbers.

use super::documents::{AboutAnswer, BeginInput, EndAnswer, FileFinding, SeveritySaid, TakeAnswer, TakeInput, ask, said};
use super::fault::SandboxFault;
use super::limits;
use super::module::{Bytes, Module, Operation, Session};
use crate::finding::{Finding, Severity, Span};
use crate::quantity::Quantity;
use crate::series::importer::{Ask, Importer, ImporterCard, RowIn, Sink, Understood};
use std::io::Read;

/// Name of the finding that tells why a plug-in was stopped.
pub const STOPPED: &str = "plugin-stopped";
/// Name of the findings that a plug-in tells.
const SAYS: &str = "plugin-says";
/// Bytes handed over at a time.
const BLOCK: usize = 1 << 17;
/// Bytes of a sample.
const SAMPLE: usize = 24;

/// An importer in a sandbox.
pub struct ImporterPlugin {
    card: &'static ImporterCard,
    module: Module,
}

impl ImporterPlugin {
    /// An importer of that card; `card` says what its record says.
    ///
    /// # Errors
    /// [`SandboxFault`] where the module is refused or says that it is something else.
    pub fn new(card: &'static ImporterCard, module: Module) -> Result<Self, SandboxFault> {
        about(&module, card.name, "importer")?;
        Ok(ImporterPlugin { card, module })
    }
}

/// Asks a module what it is, and compares.
pub(super) fn about(module: &Module, name: &str, does: &str) -> Result<(), SandboxFault> {
    let mut session = module.instance()?;
    let answer: AboutAnswer = ask(&mut session, Operation::About, &serde_json::json!({}))?;
    if answer.name == name && answer.does == does {
        return Ok(());
    }
    let (is, called) = (said(&answer.does), said(&answer.name));
    Err(SandboxFault::NotAsDescribed(format!("it calls itself `{called}` ({is}), its record `{name}` ({does})")))
}

impl Importer for ImporterPlugin {
    fn card(&self) -> &'static ImporterCard {
        self.card
    }
    fn read(&self, input: &mut dyn Read, asked: &Ask, sink: &mut dyn Sink) -> Result<Understood, Vec<Finding>> {
        let mut reading = FileReading { name: self.card.name, file: &asked.file, samples: 0, findings: Vec::new() };
        let end = match reading.through(&self.module, input, asked, sink) {
            Ok(end) => end,
            Err(fault) => {
                let message = format!("plug-in {}: {}: {fault}", self.card.name, fault.name());
                let help = "nothing was written; tell the maker of the plug-in, or read the file another way";
                reading.findings.push(Finding::new(STOPPED, Severity::Error, &asked.file, message).help(help));
                return Err(reading.findings);
            }
        };
        if reading.findings.iter().any(|f| f.severity == Severity::Error) {
            return Err(reading.findings);
        }
        let load_unit = end.load_unit.as_deref().and_then(|text| Quantity::Force.unit(text));
        let mut facts: Vec<String> = end.facts.iter().take(limits::FINDINGS).map(|f| said(f)).collect();
        facts.push(format!("read by the plug-in {}", self.card.name));
        let comments = end.comments.iter().take(limits::FINDINGS).map(|c| said(c)).collect();
        Ok(Understood { load_unit, facts, findings: reading.findings, comments })
    }
}

struct FileReading<'a> {
    name: &'static str,
    file: &'a str,
    samples: u64,
    findings: Vec<Finding>,
}

impl FileReading<'_> {
    fn through(
        &mut self,
        module: &Module,
        input: &mut dyn Read,
        asked: &Ask,
        sink: &mut dyn Sink,
    ) -> Result<EndAnswer, SandboxFault> {
        let mut session = module.instance()?;
        let begin = BeginInput {
            file: &asked.file,
            load_unit: asked.load_unit.map(|u| u.symbol()),
            travel_unit: asked.travel_unit.map(|u| u.symbol()),
            speed: asked.speed,
            reversed: asked.reversed,
            zero: asked.zero,
        };
        let answer: TakeAnswer = ask(&mut session, Operation::Begin, &begin)?;
        self.take(&session, answer, sink)?;
        let mut block = vec![0; BLOCK];
        let mut total = 0;
        while !self.stopped() {
            let filled = fill(input, &mut block)?;
            let last = filled < block.len();
            let bytes = session.place(&block[..filled])?;
            let answer: TakeAnswer = ask(&mut session, Operation::Take, &TakeInput { bytes, last })?;
            self.take(&session, answer, sink)?;
            total += filled as u64;
            sink.progress(total);
            if last {
                let mut end: EndAnswer = ask(&mut session, Operation::End, &serde_json::json!({}))?;
                self.take(&session, std::mem::take(&mut end.rest), sink)?;
                return Ok(end);
            }
        }
        Ok(EndAnswer::default())
    }
    fn stopped(&self) -> bool {
        self.findings.iter().any(|f| f.severity == Severity::Error)
    }
    fn take(&mut self, session: &Session, answer: TakeAnswer, sink: &mut dyn Sink) -> Result<(), SandboxFault> {
        if self.findings.len() + answer.findings.len() > limits::FINDINGS {
            return Err(SandboxFault::TooManyFindings(self.findings.len() + answer.findings.len()));
        }
        self.findings.extend(answer.findings.iter().map(|f| finding(self.file, self.name, f)));
        if let Some(place) = answer.samples {
            self.samples(session.bytes(place)?, place, sink)?;
        }
        for row in answer.rows {
            let cells = row.cells.iter().map(|(heading, cell)| (said(heading), said(cell))).collect();
            sink.row(RowIn { line: row.line, cells });
        }
        Ok(())
    }
    fn samples(&mut self, bytes: &[u8], place: Bytes, sink: &mut dyn Sink) -> Result<(), SandboxFault> {
        let (samples, rest) = bytes.as_chunks::<SAMPLE>();
        if !rest.is_empty() {
            return Err(SandboxFault::NotTheDocument(format!("{} bytes are no whole number of samples", place.length)));
        }
        for sample in samples {
            self.samples += 1;
            let eight = |from: usize| sample[from..from + 8].try_into().unwrap_or_default();
            let (travel, load) = (f64::from_le_bytes(eight(0)), f64::from_le_bytes(eight(8)));
            if !travel.is_finite() || !load.is_finite() {
                return Err(SandboxFault::NotTheDocument(format!("sample {} is no finite number", self.samples)));
            }
            sink.sample(travel, load, u64::from_le_bytes(eight(16)));
        }
        Ok(())
    }
}

/// Reads until the block is full or the file ends.
fn fill(input: &mut dyn Read, block: &mut [u8]) -> Result<usize, SandboxFault> {
    let mut filled = 0;
    while filled < block.len() {
        match input.read(&mut block[filled..]) {
            Ok(0) => break,
            Ok(n) => filled += n,
            Err(e) if e.kind() == std::io::ErrorKind::Interrupted => {}
            Err(e) => return Err(SandboxFault::Unreadable(e.to_string())),
        }
    }
    Ok(filled)
}

fn finding(file: &str, name: &str, found: &FileFinding) -> Finding {
    let severity = match found.severity {
        SeveritySaid::Note => Severity::Note,
        SeveritySaid::Warning => Severity::Warning,
        SeveritySaid::Error => Severity::Error,
    };
    let finding = Finding::new(SAYS, severity, file, format!("{name}: {}", said(&found.message)));
    let line = found.line.and_then(|line| u32::try_from(line).ok());
    let finding = match line {
        Some(line) => finding.at(Span { line, column: 1, ..Span::default() }),
        None => finding,
    };
    if found.help.is_empty() { finding } else { finding.help(said(&found.help)) }
}
