//! Everything of Slipsheet that crosses the disk.
//!
//! [`scan`] reads originals into gray rasters, [`store`] keeps projects, [`proof`] draws what comes off the
//! press, [`guide`] what to draw originals on, and [`wedge`] calibration sheets; [`png_out`] writes pictures,
//! and [`atomic`] writes files so that nothing is lost.

pub mod atomic;
pub mod dummy_sheet;
pub mod guide;
pub mod home;
pub mod png_out;
pub mod proof;
pub mod scan;
pub mod store;
pub mod wedge;

pub use atomic::WriteError;
pub use guide::{GuideError, GuideOptions, guide_pdf, guide_png};
pub use png_out::PngMeta;
pub use proof::{ProofError, ProofOptions, ProofPicture};
pub use scan::{
    ColourKind, Fingerprint, GrayFrom, Orientation, Progress, Scan, ScanError, ScanFormat, ScanInfo,
    ScanNotice, ScanOptions,
};
pub use store::{AddedScan, LoadedScan, ScanState, StoreError};
pub use wedge::WedgeError;
