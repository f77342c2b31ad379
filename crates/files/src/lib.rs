//! Everything of Slipsheet that crosses the disk.
//!
//! [`scan`] reads originals into gray rasters, [`atomic`] writes files so that nothing is
//! lost, [`store`] keeps projects, and [`png_out`] writes pictures.

pub mod atomic;
pub mod home;
pub mod png_out;
pub mod scan;
pub mod store;

pub use atomic::WriteError;
pub use png_out::PngMeta;
pub use scan::{
    ColourKind, Fingerprint, GrayFrom, Orientation, Progress, Scan, ScanError, ScanFormat, ScanInfo,
    ScanNotice, ScanOptions,
};
pub use store::{AddedScan, LoadedScan, ScanState, StoreError};
