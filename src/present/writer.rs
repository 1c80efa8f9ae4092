//! The one writer: the only place that writes to standard output and standard error.

use std::io::{self, IsTerminal, Write};

/// Standard output could not take the answer.
#[derive(Debug)]
pub struct Unwritten(pub io::Error);

/// Writes the asked-for result. A reader that closed the pipe early is no fault.
pub fn answer(bytes: &[u8]) -> Result<(), Unwritten> {
    if closed_at_start() {
        return Err(Unwritten(io::Error::other("standard output is closed")));
    }
    let mut out = io::stdout().lock();
    match out.write_all(bytes).and_then(|()| out.flush()) {
        Err(e) if e.kind() != io::ErrorKind::BrokenPipe => Err(Unwritten(e)),
        _ => Ok(()),
    }
}

/// Writes a notice for the person at the keyboard to standard error; a failure there has nobody left to be told.
pub fn notice(text: &str) {
    let mut err = io::stderr().lock();
    let _ = writeln!(err, "{}", super::safe::lines(text));
}

/// Whether a person reads standard output.
pub fn to_terminal() -> bool {
    io::stdout().is_terminal()
}

/// Whether a person reads standard error.
pub fn notices_to_terminal() -> bool {
    io::stderr().is_terminal()
}

/// Whether descriptor 1 was closed when the program started. The runtime then opens the null device there for reading and
/// writing, whereas a shell's `> /dev/null` opens it for writing only. Services share one read-write null device among all
/// descriptors; they are told by descriptor 0.
fn closed_at_start() -> bool {
    null_for_both("1") && !null_for_both("0")
}

fn null_for_both(descriptor: &str) -> bool {
    let target = std::fs::read_link(format!("/proc/self/fd/{descriptor}"));
    let info = std::fs::read_to_string(format!("/proc/self/fdinfo/{descriptor}")).unwrap_or_default();
    let flags = info.lines().find_map(|l| l.strip_prefix("flags:")).map(str::trim);
    let mode = flags.and_then(|f| u32::from_str_radix(f, 8).ok());
    target.is_ok_and(|t| t.as_os_str() == "/dev/null") && mode.is_some_and(|m| m & 3 == 2)
}
