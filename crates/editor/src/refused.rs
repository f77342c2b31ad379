//! Why a session refuses a request.

use std::path::PathBuf;
use std::sync::Arc;

use slipsheet_document::edit::Refusal;
use slipsheet_document::shelf::ShelfError;
use slipsheet_files::GuideError;
use slipsheet_files::press_file::PressFileError;
use slipsheet_files::store::StoreError;
use slipsheet_files::user_file::UserFileError;
use slipsheet_paper::fold::SchemeError;

use crate::notice::Cause;

/// Why a request was refused; nothing has changed then.
#[derive(Debug, thiserror::Error)]
pub enum RequestError {
    #[error(transparent)]
    Edit(#[from] Refusal),
    #[error("there is nothing to {0}")]
    Nothing(&'static str),
    #[error(transparent)]
    NotSaved(Arc<StoreError>),
    #[error(transparent)]
    NotOpened(Arc<StoreError>),
    /// A file of the project's own would have been replaced.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A scan has no pixels, and what was asked for would miss it.
    #[error(
        "a scan is not loaded, so the {what} would miss it; wait until it is read, or find it first: {path}"
    )]
    MissesScan { what: &'static str, path: String },
    /// A scan has no pixels.
    #[error("this scan is not loaded: {0}")]
    NotLoaded(String),
    #[error("no layer is printed before this one with artwork on the same place; line that one up instead")]
    NothingBelow,
    #[error(transparent)]
    Guide(#[from] GuideError),
    #[error("save the project first, so that its scans can be copied beside it")]
    SaveFirst,
    #[error("give it a name first")]
    NameEmpty,
    #[error("the shelf already has something called “{0}”: choose another name")]
    NameTaken(String),
    #[error("an overprint needs two inks or more")]
    OneInk,
    #[error("the shelf already has this overprint on this stock: edit that one")]
    OverprintKnown,
    #[error(transparent)]
    Scheme(#[from] SchemeError),
    #[error("an ink is named twice: choose another for one of them")]
    InkTwice,
    #[error(transparent)]
    PressFile(#[from] PressFileError),
    #[error(transparent)]
    UserFile(#[from] UserFileError),
    #[error("{why}: {}", path.display())]
    Shelf { why: ShelfError, path: PathBuf },
    /// What a task answered, in its own sentence.
    #[error("{0}")]
    Task(String),
}

impl RequestError {
    /// What cures it, where something does.
    pub fn cause(&self) -> Option<Cause> {
        matches!(self, Self::NotSaved(_)).then_some(Cause::Save)
    }
}
