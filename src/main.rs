//! Arguments → command → exit code.

#![forbid(unsafe_code)]

use clap::Parser;
use gripbook::command::{self, Arguments, Context};
use gripbook::present::writer;
use std::panic;
use std::process::ExitCode;

const BUG: u8 = 70;

fn main() -> ExitCode {
    panic::set_hook(Box::new(|info| {
        writer::notice(&format!("gripbook: a bug of ours: {info}\n  please report it with the command you typed"));
    }));
    let arguments = match Arguments::try_parse() {
        Ok(arguments) => arguments,
        Err(refusal) => return ExitCode::from(command::refuse(&refusal)),
    };
    let context = Context::read();
    let exit = panic::catch_unwind(panic::AssertUnwindSafe(|| command::run(&arguments, &context)));
    ExitCode::from(exit.unwrap_or(BUG))
}
