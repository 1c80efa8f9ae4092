//! The results sheet of a plan, filled in by hand.

use super::sheet;
use crate::finding::Finding;
use crate::series::importer::{Ask, Importer, ImporterCard, Sink, Understood};
use std::io::Read;

/// The importer.
pub struct Results;

const CARD: ImporterCard = ImporterCard {
    name: "results",
    takes: "the results sheet that `plan --matrix` wrote, with loads and modes filled in",
    example: "# gripbook plan\nlabel,block,cell,load,mode,batch,job,date,note\nA1-1,1,A,812 N,glue,L1,2026-05-02,2026-05-04,\nB1-1,1,B,,,,,,\n",
};

impl Importer for Results {
    fn card(&self) -> &'static ImporterCard {
        &CARD
    }
    fn read(&self, input: &mut dyn Read, ask: &Ask, sink: &mut dyn Sink) -> Result<Understood, Vec<Finding>> {
        sheet::read(input, ask, sink, &["label", "block", "cell", "load", "mode"])
    }
}
