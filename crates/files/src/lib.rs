//! Everything of Slipsheet that crosses the disk.
//!
//! [`atomic`] writes files so that nothing is lost, and [`png_out`] writes pictures.

pub mod atomic;
pub mod png_out;

pub use atomic::WriteError;
pub use png_out::PngMeta;
