//! The harness of the acceptance tests: where the reference data lies and how it is read.
#![expect(clippy::unwrap_used, reason = "a test harness stops at the first thing that is wrong")]

pub mod characterisation;
pub mod nesting;
pub mod prints;
pub mod programs;
pub mod scans;
pub mod window;

use std::path::PathBuf;

/// A file of `tests/data`.
pub fn data(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("data").join(name)
}

/// Rows of numbers of a CSV file in `tests/data`, its heading left out.
pub fn csv(name: &str) -> Vec<Vec<f64>> {
    let text = std::fs::read_to_string(data(name)).unwrap();
    text.lines().skip(1).map(|l| l.split(',').map(|v| v.trim().parse().unwrap()).collect()).collect()
}
