//! Everything of Slipsheet that crosses the disk.
//!
//! [`scan`] reads originals into gray rasters, [`store`] keeps projects, [`proof`] and [`proof_series`] draw what comes off the
//! press, [`guide`] what to draw originals on, [`wedge`] calibration sheets, [`marks`] mark sheets of the press, [`wrap_sheet`] wraps to be cut and scored, and [`dummy_picture`] the folded piece; [`png_out`] writes pictures,
//! and [`atomic`] writes files so that nothing is lost.

#![expect(missing_docs, reason = "a name or an error's sentence that says everything stands alone")]

pub mod atomic;
mod dashes;
mod deflate;
pub mod dummy_picture;
pub mod dummy_sheet;
mod exchange;
pub mod file_name;
pub mod file_set;
pub mod guide;
pub mod home;
mod lettering;
mod litter;
mod log_file;
pub mod marks;
pub mod pack;
mod page_boxes;
mod pdf_parts;
pub mod pdf_picture;
pub mod plates;
pub mod png_out;
pub mod press_file;
pub mod proof;
pub mod proof_series;
pub mod scan;
pub mod spot_pdf;
pub mod store;
pub mod ticket;
mod typeset;
pub mod user_file;
pub mod wedge;
mod words;
pub mod wrap_sheet;
mod wrap_svg;

pub use atomic::WriteError;
pub use dummy_picture::{DummyPictureError, DummyShot};
pub use guide::{GuideError, GuideOptions, guide_pdf, guide_png};
pub use lettering::FontError;
pub use log_file::{log_to, logged};
pub use plates::{PlateError, PlateForm, PlateFormat, PlateOptions};
pub use png_out::PngMeta;
pub use proof::{ProofError, ProofOptions, ProofPicture};
pub use scan::{
    ColourKind, Fingerprint, GrayFrom, Orientation, Progress, Scan, ScanError, ScanFormat, ScanInfo,
    ScanNotice, ScanOptions,
};
pub use store::{AddedScan, LoadedScan, ScanState, StoreError};
pub use wedge::WedgeError;
pub use wrap_sheet::{WrapFileError, wrap_pdf, wrap_svg};
