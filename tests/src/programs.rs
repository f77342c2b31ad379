//! Programs that tests call: the command line in this process, and general-purpose tools of the system.

use std::ffi::OsString;
use std::process::Command;

use slipsheet::cli::{Ending, Outcome, Output, run_with};

/// Calls the command line: how it ended, its output, its error output.
#[track_caller]
pub fn slipsheet(args: &[&str]) -> (Ending, String, String) {
    let args = std::iter::once("slipsheet").chain(args.iter().copied()).map(OsString::from);
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let outcome = run_with(args, &mut std::io::empty(), &mut Output::new(&mut out, &mut err));
    let Outcome::Done(ending) = outcome else { panic!("a window was asked for") };
    (ending, String::from_utf8(out).unwrap(), String::from_utf8(err).unwrap())
}

/// Runs a tool of the system and gives what it says; it must be there and must be content.
#[track_caller]
pub fn outside(program: &str, args: &[&str]) -> String {
    let ran = Command::new(program).args(args).output();
    let ran = ran.unwrap_or_else(|e| panic!("{program} is not there ({e}); run bash .ci/setup test"));
    let message = String::from_utf8_lossy(&ran.stdout).into_owned() + &String::from_utf8_lossy(&ran.stderr);
    assert!(ran.status.success(), "{program} {args:?}: {message}");
    message
}
