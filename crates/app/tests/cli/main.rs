//! The command line, driven in the tests' own process with captured output, from scans to files and figures.
#![expect(clippy::unwrap_used, reason = "a test stops at the first thing that is wrong")]

mod answers;
mod basics;
mod dummy;
mod dummy_sheet;
mod guide;
mod harness;
mod hostile;
mod line_up;
mod matching;
mod measured;
mod new;
mod pack;
mod plates;
mod press;
mod refused;
mod separate;
mod study;
mod values;
mod wrap;
mod writers;
