//! Arguments → command → exit code.

#![forbid(unsafe_code)]

mod command;
mod terminal;

use command::{Arguments, registry};
use gripbook::plugins::BUILT_IN;
use gripbook::present::writer;
use std::panic;
use std::process::ExitCode;

const BUG: u8 = 70;

/// A write beyond the limit on the size of files shall fail with a reason; by default the system kills the program for it.
#[cfg(unix)]
fn survive_size_limit() {
    let passed = std::sync::Arc::new(std::sync::atomic::AtomicBool::new(false));
    // Where the handler cannot be set the default stays: a kill, which leaves whole files too.
    let _ = signal_hook::flag::register(libc::SIGXFSZ, passed);
}

#[cfg(not(unix))]
fn survive_size_limit() {}

fn main() -> ExitCode {
    survive_size_limit();
    panic::set_hook(Box::new(|info| {
        writer::notice(&format!("gripbook: internal error: {info}\n  please report it with the command you typed"));
    }));
    let arguments = match Arguments::read(registry::ALL, std::env::args_os()) {
        Ok(arguments) => arguments,
        Err(refusal) => return ExitCode::from(terminal::refuse(&refusal, registry::ALL)),
    };
    let context = terminal::surroundings(BUILT_IN);
    let exit = panic::catch_unwind(panic::AssertUnwindSafe(|| terminal::run(&arguments, registry::ALL, &context)));
    ExitCode::from(exit.unwrap_or(BUG))
}
