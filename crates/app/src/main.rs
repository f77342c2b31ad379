//! Slipsheet.
fn main() {}
