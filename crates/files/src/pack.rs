//! The booking pack: a folder that a stranger at a print shop can run the job from, made in one action.
//!
//! **Invariant:** the folder appears whole or not at all; nothing in it knows the date, so that an unchanged
//! project gives the same bytes; only a folder that holds nothing but an earlier pack is replaced; and what is put
//! into that one meanwhile is kept.

mod dummy_print;
mod fill;
mod folder;
mod pages;
mod swap;

#[cfg(test)]
mod swap_tests;
#[cfg(test)]
mod tests;

use std::fs::File;
use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use slipsheet_document::project::Project;
use slipsheet_render::images::Images;

use crate::atomic::{self, WriteError, WriteSeek};
use crate::exchange::{self, Exchange};
use crate::guide::GuideError;
use crate::lettering::FontError;
use crate::plates::{PlateError, PlateForm, PlateFormat};
use crate::proof::ProofError;
use crate::scan::{Fingerprint, Progress, fingerprint_bytes};
use crate::store::{Originals, StoreError};
use crate::ticket::{TicketError, TicketNotes};
pub use pages::{PackPage, pages, ticket_pages};

/// Name of the list of a pack's files.
pub const MANIFEST: &str = "manifest.json";

/// What a person chooses for a pack.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct PackChoices {
    pub format: PlateFormat,
    /// How much of the reading is in the plates.
    pub form: PlateForm,
    /// Whether every edition has a folder of its own in it.
    pub editions: bool,
    /// Whether the folder is also written as a ZIP file beside it.
    pub zip: bool,
}

impl PackChoices {
    /// A pack so chosen, with what a study has found.
    pub fn with(self, notes: TicketNotes) -> PackOptions {
        let Self { format, form, editions, zip } = self;
        PackOptions { format, form, editions, zip, notes }
    }
}

#[derive(Debug, Clone, Default, PartialEq)]
pub struct PackOptions {
    pub format: PlateFormat,
    /// How much of the reading is in the plates.
    pub form: PlateForm,
    /// Whether every edition has a folder of its own in it.
    pub editions: bool,
    /// Whether the folder is also written as a ZIP file beside it.
    pub zip: bool,
    /// What a study of the register has found.
    pub notes: TicketNotes,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PackFile {
    /// Path in the folder, with `/` between parts.
    pub name: String,
    pub what: String,
    /// Size in bytes.
    pub bytes: u64,
    /// SHA-256, 64 hexadecimal digits.
    pub sha256: String,
}

/// The list of a pack's files.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest {
    pub title: String,
    pub made_by: String,
    /// The form of the plates; packs of earlier versions do not say it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub plates: Option<PlateForm>,
    pub files: Vec<PackFile>,
}

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WrittenPack {
    pub folder: PathBuf,
    /// The ZIP file, where one was asked for.
    pub zip: Option<PathBuf>,
    pub manifest: Manifest,
    /// What a person should hear besides: files that were kept, packs that are back. Sentences without a stop.
    pub notes: Vec<String>,
}

/// Why a pack could not be made; nothing is left behind.
#[derive(Debug, thiserror::Error)]
pub enum PackError {
    #[error("the folder holds something that is not of a pack ({found}); choose an empty or a new folder: {}", folder.display())]
    Foreign { found: String, folder: PathBuf },
    #[error("the folder in which Slipsheet runs cannot be exchanged for a pack; name a new folder in it or beside it: {}", folder.display())]
    Here { folder: PathBuf },
    /// A scan or the project itself would go.
    #[error(transparent)]
    Store(#[from] StoreError),
    #[error(transparent)]
    Plates(#[from] PlateError),
    #[error(transparent)]
    Proof(#[from] ProofError),
    #[error(transparent)]
    Ticket(#[from] TicketError),
    #[error(transparent)]
    Dummy(#[from] crate::dummy_sheet::DummySheetError),
    #[error(transparent)]
    Guide(#[from] GuideError),
    #[error(transparent)]
    Wrap(#[from] crate::wrap_sheet::WrapFileError),
    #[error(transparent)]
    Font(#[from] FontError),
    #[error(transparent)]
    Write(#[from] WriteError),
    #[error("the pack was stopped; nothing was written")]
    Cancelled,
}

impl PackError {
    fn normalized(self) -> Self {
        let stopped =
            matches!(self, Self::Plates(PlateError::Cancelled) | Self::Proof(ProofError::Cancelled));
        if stopped { Self::Cancelled } else { self }
    }
}

/// Makes the pack of a project in a folder, which is made or, if it is an earlier pack, replaced.
///
/// It is about the
/// booklet, whichever sheet is in hand; a wrap has a folder of its own in it. `file` is the project's own, so that
/// neither it nor a scan is ever replaced.
///
/// # Errors
/// See [`PackError`]; the folder is then as it was.
pub fn write(
    project: &Project,
    images: &Images,
    options: &PackOptions,
    (folder, file): (&Path, Option<&Path>),
    progress: &Progress,
) -> Result<WrittenPack, PackError> {
    write_by(exchange::exchange, project, images, options, (folder, file), progress)
}

/// The same by this way of exchanging two folders.
fn write_by(
    exchange: Exchange,
    project: &Project,
    images: &Images,
    options: &PackOptions,
    (folder, file): (&Path, Option<&Path>),
    progress: &Progress,
) -> Result<WrittenPack, PackError> {
    let place = folder::place_of(folder)?;
    let originals = Originals::of(project, file);
    // Beside the folder as it was named, also where that is a link.
    let zip_path = folder::zip_path(if folder.file_name().is_some() { folder } else { &place });
    let zip = options.zip.then_some(&zip_path);
    folder::refuse_closed(&place)?;
    folder::refuse_foreign(&place)?;
    folder::refuse_originals(&place, &originals)?;
    if let Some(zip) = zip {
        folder::refuse_foreign_zip(&place, zip)?;
        originals.refuse(zip)?;
    }
    let fresh = swap::Fresh::beside(&place)?;
    let files =
        fill::fill(project, images, options, fresh.path(), progress).map_err(PackError::normalized)?;
    let manifest = listed(project, options.form, files, fresh.path())?;
    if progress.is_cancelled() {
        return Err(PackError::Cancelled);
    }

    // All of the ZIP is on the disk before the folder is exchanged, so that the two are never of different ages.
    let staged = zip.map(|zip| atomic::stage(zip, |out| zipped(fresh.path(), &manifest, out))).transpose()?;
    let stale = zip.is_none() && zip_path.is_file() && folder::manifest_of(&place).is_some();
    let put_zip = || staged.map_or(Ok(()), atomic::Staged::put).map_err(PackError::from);
    let mut notes = fresh.take_its_place(exchange, put_zip)?;
    notes.extend(stale.then(|| {
        let zip = zip_path.display();
        format!("the ZIP beside the folder is of an earlier pack; delete it or make it again: {zip}")
    }));

    progress.set_span(0.0, 1.0);
    progress.set_fraction(1.0);
    Ok(WrittenPack { folder: folder.to_path_buf(), zip: zip.cloned(), manifest, notes })
}

/// Writes the list of the files, with the size and the hash of each.
fn listed(
    project: &Project,
    form: PlateForm,
    files: Vec<(String, String)>,
    into: &Path,
) -> Result<Manifest, PackError> {
    let mut listed = Vec::new();
    for (name, what) in files {
        let path = into.join(&name);
        let bytes = std::fs::read(&path).map_err(|e| WriteError::from_io(&path, e))?;
        let Fingerprint { size, sha256 } = fingerprint_bytes(&bytes);
        listed.push(PackFile { name, what, bytes: size, sha256 });
    }
    listed.sort_by(|a, b| a.name.cmp(&b.name));
    let made_by = crate::pdf_parts::SOFTWARE.to_owned();
    let manifest = Manifest { title: project.title.clone(), made_by, plates: Some(form), files: listed };
    let place = into.join(MANIFEST);
    let text = serde_json::to_string_pretty(&manifest).map_err(|e| WriteError::from_io(&place, e.into()))?;
    atomic::write_bytes(&place, (text + "\n").as_bytes())?;
    Ok(manifest)
}

/// Writes the folder as a ZIP file with one fixed time for all entries.
fn zipped(folder: &Path, manifest: &Manifest, out: &mut dyn WriteSeek) -> io::Result<()> {
    let stored = zip::write::SimpleFileOptions::default()
        .compression_method(zip::CompressionMethod::Stored)
        .last_modified_time(zip::DateTime::default())
        .unix_permissions(0o644);
    let mut archive = zip::ZipWriter::new(out);
    for name in manifest.files.iter().map(|f| f.name.as_str()).chain([MANIFEST]) {
        let mut file = File::open(folder.join(name))?;
        archive.start_file(name, stored.large_file(file.metadata()?.len() > u32::MAX.into()))?;
        io::copy(&mut file, &mut archive)?;
    }
    archive.finish()?;
    Ok(())
}
