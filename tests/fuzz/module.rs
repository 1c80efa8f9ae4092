//! Any bytes as a plug-in: refused, stopped or answered, never more than that.

use gripbook::finding::Severity;
use gripbook::sandbox::{AuditPlugin, ImporterPlugin, Module};
use gripbook::series::importer::{Ask, Importer, ImporterCard, RowIn, Sink};

/// Counts samples; each must be a number.
#[derive(Default)]
struct Finite(usize);

impl Sink for Finite {
    fn sample(&mut self, travel: f64, load: f64, _: u64) {
        assert!(travel.is_finite() && load.is_finite());
        self.0 += 1;
    }
    fn row(&mut self, _: RowIn) {}
    fn progress(&mut self, _: u64) {}
}

const CARD: ImporterCard = ImporterCard { name: "dial-counts", takes: "", example: "" };

/// Whether the module ran as an importer to its end.
pub fn run(bytes: &[u8]) -> bool {
    let Ok(module) = Module::new(bytes) else { return false };
    if let Ok(audit) = AuditPlugin::new("dial-counts", Severity::Note, module) {
        let _ = audit.look(std::iter::empty(), "2026-01-01");
    }
    let Ok(importer) = Module::new(bytes).and_then(|module| ImporterPlugin::new(&CARD, module)) else { return false };
    let mut sink = Finite::default();
    match importer.read(&mut &[1u8; 3_000][..], &Ask::default(), &mut sink) {
        Ok(understood) => {
            assert!(understood.facts.iter().all(|f| !f.contains('\u{1b}')));
            true
        }
        Err(findings) => {
            assert!(!findings.is_empty());
            false
        }
    }
}
