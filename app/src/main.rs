//! The program `awn`: the command line, which opens the window when asked for nothing else.

use std::process::{Command, ExitCode};

use awn_core::crs::{BUILT_IN_ONLY, stray_database};

fn main() -> ExitCode {
    if let Some(code) = again_without_stray_database() {
        return code;
    }
    ExitCode::from(awn::cli::run(std::env::args_os(), &mut std::io::stdout(), &mut std::io::stderr()))
}

/// When another program's list of coordinate systems would be taken for ours (its folder stands in `PROJ_DATA`, say), the program
/// runs once more with an environment in which only the built-in list is found, and gives back that run's exit code.
fn again_without_stray_database() -> Option<ExitCode> {
    let tried = BUILT_IN_ONLY.iter().all(|(name, value)| std::env::var(name).is_ok_and(|held| held == *value));
    if tried || stray_database().is_none() {
        return None;
    }
    let own = std::env::current_exe().ok()?;
    let status = Command::new(own).args(std::env::args_os().skip(1)).envs(BUILT_IN_ONLY).status().ok()?;
    Some(ExitCode::from(status.code().and_then(|code| u8::try_from(code).ok()).unwrap_or(2)))
}
