//! The one writer: the only place that writes to standard output and standard error.

use std::io::{self, IsTerminal, Write};

/// Standard output could not take the answer.
#[derive(Debug)]
pub struct Unwritten(pub io::Error);

/// Writes the asked-for result. A reader that closed the pipe early is no fault.
pub fn answer(bytes: &[u8]) -> Result<(), Unwritten> {
    let mut out = io::stdout().lock();
    match out.write_all(bytes).and_then(|()| out.flush()) {
        Err(e) if e.kind() != io::ErrorKind::BrokenPipe => Err(Unwritten(e)),
        _ => Ok(()),
    }
}

/// Writes a notice for the person at the keyboard to standard error; a failure there has nobody left to be told.
pub fn notice(text: &str) {
    let mut err = io::stderr().lock();
    let text = super::safe::lines(text);
    let folded = notice_columns().map(|width| super::fold::notice(&text, width));
    let _ = writeln!(err, "{}", folded.as_deref().unwrap_or(&text));
}

/// Writes a line to the terminal of standard error that the next such line takes the place of; an empty one clears it.
pub fn passing(text: &str) {
    let mut err = io::stderr().lock();
    let _ = write!(err, "\r\u{1b}[K{}", super::safe::line(text));
    let _ = err.flush();
}

/// Whether a person reads standard output.
pub fn to_terminal() -> bool {
    io::stdout().is_terminal()
}

/// The columns of the terminal that standard output goes to.
#[cfg(feature = "program")]
pub fn columns() -> Option<usize> {
    let (columns, _) = terminal_size::terminal_size_of(io::stdout())?;
    Some(usize::from(columns.0)).filter(|columns| *columns > 0)
}

/// The columns of the terminal that standard error goes to.
#[cfg(feature = "program")]
fn notice_columns() -> Option<usize> {
    let (columns, _) = terminal_size::terminal_size_of(io::stderr())?;
    Some(usize::from(columns.0)).filter(|columns| *columns > 0)
}

#[cfg(not(feature = "program"))]
fn notice_columns() -> Option<usize> {
    None
}

/// Whether a person reads standard error.
pub fn notices_to_terminal() -> bool {
    io::stderr().is_terminal()
}
