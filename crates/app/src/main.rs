//! Slipsheet: plans small zines for a shared stencil duplicator.

use std::process::ExitCode;

fn main() -> ExitCode {
    slipsheet::cli::run(std::env::args_os())
}
