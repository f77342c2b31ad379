//! Slipsheet: the window and the command line.

pub mod cli;
