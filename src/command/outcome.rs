//! What comes of a command: an answer, or why there is none.

use gripbook::check::schemas::SchemaFault;
use gripbook::present::{Answer, Format};

/// What a command found, and whether the answer is no.
pub struct CommandOutcome {
    /// The answer.
    pub answer: Box<dyn Answer>,
    /// Exit code: 0 done, 1 the answer is no, 3 some data could not be loaded.
    pub exit: u8,
}

/// A command could not do its work.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// Exit code: 2 usage, 3 data, 4 environment, 5 plugin.
    pub exit: u8,
    /// What is wrong.
    pub message: String,
    /// What to do.
    pub help: Option<String>,
}

/// The embedded schemas are ours, and a test builds every one of them.
impl From<SchemaFault> for Fault {
    fn from(fault: SchemaFault) -> Self {
        Fault { exit: 70, message: format!("an embedded schema is broken: {fault}"), help: None }
    }
}

impl Fault {
    /// Wrong use of the command.
    pub fn usage(message: impl Into<String>) -> Self {
        Fault { exit: 2, message: message.into(), help: None }
    }
    /// Data could not be loaded.
    pub fn data(message: impl Into<String>) -> Self {
        Fault { exit: 3, message: message.into(), help: None }
    }
    /// An environment error: disk full, permission, closed output.
    pub fn environment(message: impl Into<String>) -> Self {
        Fault { exit: 4, message: message.into(), help: None }
    }
    /// Message and advice in one line.
    pub fn said(&self) -> String {
        match &self.help {
            Some(help) => format!("{}: {help}", self.message),
            None => self.message.clone(),
        }
    }
    /// The same fault with advice.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }
}

/// The answer has no such form.
pub fn no_such_format(format: Format) -> Fault {
    Fault::usage(format!("this answer is not available as {}", format.word()))
        .help("it has no rows: take text, json or markdown; lists and rankings have csv and jsonl too")
}
