//! The loaded packs and where they come from.

use crate::command::library::Loaded;
use gripbook::book::Pack;
use gripbook::present::{Answer, Page, Table, counted, table::Cell};
use serde_json::{Value, json};

/// The answer of `show` without an id.
pub struct PacksAnswer {
    packs: Vec<Pack>,
    left_out: Value,
    left_out_count: usize,
}

impl PacksAnswer {
    /// The packs of a run.
    pub fn of(loaded: &Loaded) -> PacksAnswer {
        PacksAnswer {
            packs: loaded.book.packs().to_vec(),
            left_out: loaded.left_out_json(),
            left_out_count: loaded.book.left_out.len(),
        }
    }
}

fn records(pack: &Pack) -> usize {
    pack.counts.iter().map(|c| c.records).sum()
}

impl Answer for PacksAnswer {
    fn schema(&self) -> &'static str {
        "gripbook/packs/1"
    }
    fn json(&self) -> Value {
        json!({ "packs": self.packs, "left_out": self.left_out })
    }
    fn page(&self) -> Page {
        let mut page = Page::titled(counted(self.packs.len(), "pack"));
        for pack in &self.packs {
            page.heading(format!("{}: {}", pack.id, pack.title));
            if let Some(description) = &pack.description {
                page.line(&**description);
            }
            let counts: Vec<String> = pack.counts.iter().map(|c| counted(c.records, &c.kind)).collect();
            page.field("from", &*pack.origin);
            page.field("licence", &*pack.licence);
            page.field("records", format!("{} ({})", records(pack), counts.join(", ")));
            page.field("claims", pack.claims.to_string());
            page.field("hash", &*pack.hash);
        }
        if self.left_out_count > 0 {
            page.blank().line(format!("{} findings on records left out; `gripbook check` names them", self.left_out_count));
        }
        page
    }
    fn table(&self) -> Option<Table> {
        let mut table = Table::new(&["id", "title", "licence", "origin", "records", "claims", "hash"]);
        for pack in &self.packs {
            let number = |n: usize| Cell::Number(n as f64);
            table.row(vec![
                (*pack.id).into(),
                (*pack.title).into(),
                (*pack.licence).into(),
                (*pack.origin).into(),
                number(records(pack)),
                number(pack.claims),
                (*pack.hash).into(),
            ]);
        }
        Some(table)
    }
}
