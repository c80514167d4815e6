//! The program `awn`: the command line, which opens the window when asked for nothing else.

use std::process::ExitCode;

fn main() -> ExitCode {
    let code = awn::cli::run(std::env::args_os(), &mut std::io::stdout(), &mut std::io::stderr());
    ExitCode::from(code)
}
