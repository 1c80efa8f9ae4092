//! An answer whose forms are made at once: page, JSON and, where it is one, table.

use super::{Answer, Page, Table};
use serde_json::Value;

/// An answer with its forms.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// Schema tag, e.g. `gripbook/suits/1`.
    pub schema: &'static str,
    /// For people.
    pub page: Page,
    /// For programs.
    pub json: Value,
    /// For CSV and JSON Lines.
    pub table: Option<Table>,
}

impl Answer for Sheet {
    fn schema(&self) -> &'static str {
        self.schema
    }
    fn json(&self) -> Value {
        self.json.clone()
    }
    fn page(&self) -> Page {
        self.page.clone()
    }
    fn table(&self) -> Option<Table> {
        self.table.clone()
    }
}

/// A sheet that opens with a first screen at a terminal.
#[derive(Debug, Clone)]
pub struct Opened {
    /// The first screen; absent where the whole page was asked for.
    pub brief: Option<Page>,
    /// The whole.
    pub sheet: Sheet,
}

impl Answer for Opened {
    fn schema(&self) -> &'static str {
        self.sheet.schema
    }
    fn json(&self) -> Value {
        self.sheet.json()
    }
    fn page(&self) -> Page {
        self.sheet.page()
    }
    fn brief(&self, _: usize) -> Option<Page> {
        self.brief.clone()
    }
    fn table(&self) -> Option<Table> {
        self.sheet.table()
    }
}
