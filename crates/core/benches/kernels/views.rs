//! Whole views: what the window asks for.

pub fn run() {}
