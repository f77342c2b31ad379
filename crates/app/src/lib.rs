//! Slipsheet's two thin fronts: the window and the command line.

pub mod cli;
pub mod notices;
pub mod window;
