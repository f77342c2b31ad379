//! Draws the demo zine's originals.
fn main() {}
