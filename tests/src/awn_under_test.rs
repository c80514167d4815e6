//! The program `awn`, built beside the tests so that they can start it as a process.

use std::process::ExitCode;

fn main() -> ExitCode {
    ExitCode::from(awn::cli::run(std::env::args_os(), &mut std::io::stdout(), &mut std::io::stderr()))
}
