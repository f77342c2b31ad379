//! Slipsheet.

use std::process::ExitCode;

fn main() -> ExitCode {
    slipsheet::cli::run(std::env::args_os())
}
