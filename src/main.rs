//! Arguments → command → exit code.

#![deny(unsafe_code)]

use clap::Parser;
use gripbook::command::{self, Arguments, Context};
use gripbook::present::writer;
use std::panic;
use std::process::ExitCode;
use std::sync::atomic::Ordering;

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

/// The runtime opens the null device in the place of a closed standard stream, and then nothing tells it from a null device
/// that was given. So the question is asked before the runtime begins.
#[cfg(target_os = "linux")]
mod output {
    use std::sync::atomic::{AtomicBool, Ordering};

    /// Whether standard output was closed when the program started.
    pub static WAS_CLOSED: AtomicBool = AtomicBool::new(false);

    extern "C" fn look() {
        // SAFETY: asks for the flags of a descriptor by its number; touches no memory, and any number may be asked for.
        #[allow(unsafe_code)]
        let flags = unsafe { libc::fcntl(libc::STDOUT_FILENO, libc::F_GETFD) };
        WAS_CLOSED.store(flags == -1, Ordering::Relaxed);
    }

    // SAFETY: the section holds pointers to functions without arguments, which are called once before `main`.
    #[allow(unsafe_code)]
    #[used]
    #[unsafe(link_section = ".init_array")]
    static LOOK: extern "C" fn() = look;
}

#[cfg(not(target_os = "linux"))]
mod output {
    use std::sync::atomic::AtomicBool;

    pub static WAS_CLOSED: AtomicBool = AtomicBool::new(false);
}

fn main() -> ExitCode {
    survive_size_limit();
    if output::WAS_CLOSED.load(Ordering::Relaxed) {
        writer::output_is_closed();
    }
    panic::set_hook(Box::new(|info| {
        writer::notice(&format!("gripbook: internal error: {info}\n  please report it with the command you typed"));
    }));
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(refusal) => return ExitCode::from(command::refuse(&refusal)),
    };
    let context = Context::read();
    let exit = panic::catch_unwind(panic::AssertUnwindSafe(|| command::run(&arguments, &context)));
    ExitCode::from(exit.unwrap_or(BUG))
}
