//! Pin readings of a hole-ladder coupon.

use super::sheet;
use crate::finding::Finding;
use crate::series::importer::{Ask, Importer, ImporterCard, Sink, Understood};
use std::io::Read;

/// The importer.
pub struct Ladder;

const CARD: ImporterCard = ImporterCard {
    name: "ladder",
    takes: "pin readings of a hole ladder: columns `drawn` and `measured`, one row for each hole",
    example: "drawn,measured,kind\n2.5 mm,2.42 mm,blind\n2.6 mm,2.51 mm,through\n",
};

impl Importer for Ladder {
    fn card(&self) -> &'static ImporterCard {
        &CARD
    }
    fn read(&self, input: &mut dyn Read, ask: &Ask, sink: &mut dyn Sink) -> Result<Understood, Vec<Finding>> {
        sheet::read(input, ask, sink, &["drawn", "measured"])
    }
}
