//! Questions to the person at the terminal.

use super::Fault;
use gripbook::present::writer;
use std::io::{BufRead, IsTerminal};

/// Whether somebody is there to be asked.
pub fn can_ask() -> bool {
    std::io::stdin().is_terminal() && writer::notices_to_terminal()
}

/// The answer to a question; nothing when the line is empty.
pub fn ask(question: &str) -> Result<Option<String>, Fault> {
    writer::notice(&format!("{question} (leave it empty to fill it in later)"));
    let mut line = String::new();
    std::io::stdin().lock().read_line(&mut line).map_err(|e| Fault::environment(format!("standard input: {e}")))?;
    let answer = line.trim();
    Ok((!answer.is_empty()).then(|| answer.to_owned()))
}
