//! A plain table of loads and modes: one row for each specimen.

use super::sheet;
use crate::finding::Finding;
use crate::series::importer::{Ask, Importer, ImporterCard, Sink, Understood};
use std::io::Read;

/// The importer.
pub struct Table;

const CARD: ImporterCard = ImporterCard {
    name: "table",
    takes: "a table with a column `load` and, where known, label, mode, batch, job, date, position, held, note",
    example: "label,load,mode\na1,812 N,glue\na2,857 N,glue\n",
};

impl Importer for Table {
    fn card(&self) -> &'static ImporterCard {
        &CARD
    }
    fn read(&self, input: &mut dyn Read, ask: &Ask, sink: &mut dyn Sink) -> Result<Understood, Vec<Finding>> {
        sheet::read(input, ask, sink, &["load"])
    }
}
