//! Files that are written: proofs, pictures and plates, each with the path it came to or why it did not.

use std::fmt::Display;
use std::path::{Path, PathBuf};

use slipsheet_core::calibrate::WedgeSheet;
use slipsheet_core::units::Size;
use slipsheet_document::printing::Printing;
use slipsheet_document::project::Project;
use slipsheet_document::wrap::WrapPlan;
use slipsheet_files::dummy_picture::{self, DummyShot};
use slipsheet_files::dummy_sheet::{self, DummySheetOptions};
use slipsheet_files::pack::{self, PackChoices};
use slipsheet_files::proof::{self, ProofOptions};
use slipsheet_files::store::Originals;
use slipsheet_files::ticket::TicketNotes;
use slipsheet_files::{
    GuideOptions, Progress, guide_pdf, guide_png, marks, plates, proof_series, wedge, wrap_pdf, wrap_svg,
};
use slipsheet_registration::slip::JobRegister;
use slipsheet_render::images::Images;

use super::Done;

/// What a person is told of a file: where it is, or the sentence.
fn told<T, E: Display>(written: Result<T, E>, path: PathBuf) -> Done {
    Done::Proof(written.map(|_| path).map_err(|e| e.to_string()))
}

fn ends_in(path: &Path, ending: &str) -> bool {
    path.extension().is_some_and(|e| e.eq_ignore_ascii_case(ending))
}

/// The proof.
pub(super) fn proof(
    printing: &Printing,
    images: &Images,
    path: PathBuf,
    options: &ProofOptions,
    progress: &Progress,
) -> Done {
    told(proof::write(printing, images, options, &path, progress), path)
}

/// A proof of every edition, in a folder.
pub(super) fn proofs(
    printing: &Printing,
    images: &Images,
    (folder, originals): (PathBuf, &Originals),
    options: &ProofOptions,
    progress: &Progress,
) -> Done {
    told(proof_series::write(printing, images, options, &folder, originals, progress), folder)
}

/// A picture of the dummy.
pub(super) fn dummy(
    printing: &Printing,
    images: &Images,
    path: PathBuf,
    shot: &DummyShot,
    progress: &Progress,
) -> Done {
    told(dummy_picture::write(printing, images, shot, &path, progress), path)
}

/// The page guide, as PNG or PDF by the path's ending.
pub(super) fn guide(printing: &Printing, path: PathBuf) -> Done {
    let write = if ends_in(&path, "png") { guide_png } else { guide_pdf };
    told(write(printing, &GuideOptions::default(), &path), path)
}

/// The printed dummy.
pub(super) fn dummy_sheet(printing: &Printing, path: PathBuf, options: DummySheetOptions) -> Done {
    told(dummy_sheet::write(printing, options, &path), path)
}

/// A calibration sheet for inks in printing order.
pub(super) fn wedge(sheet: Size, inks: &[String], path: PathBuf) -> Done {
    let plan = WedgeSheet::new(sheet, inks, 0).map_err(|e| e.to_string());
    told(plan.and_then(|plan| wedge::write_pdf(&plan, &path).map_err(|e| e.to_string())), path)
}

/// The plates of a mark sheet.
pub(super) fn marks(
    printing: &Printing,
    folder: PathBuf,
    originals: &Originals,
    progress: &Progress,
) -> Done {
    let written = marks::write_plates(printing, printing.press_dpi, &folder, originals, progress);
    told(written, folder)
}

/// The booking pack of a project, with its register where that is known, in a folder; `base` is the project's file.
pub(super) fn pack(
    (project, images, register): (&Project, &Images, Option<JobRegister>),
    (folder, base): (PathBuf, Option<&Path>),
    choices: PackChoices,
    progress: &Progress,
) -> Done {
    let crisp = plates::with_crisp_vectors(project, images, base, project.press_dpi, progress);
    let made = crisp.map_err(|e| e.to_string()).and_then(|(crisp, pixels)| {
        // The register is that of the scans as they are loaded, which findings and the Run view speak of.
        let (main, stop) = (project.main_printing(), || progress.is_cancelled());
        let register = register.map_or_else(|| JobRegister::of_until(&main, images, &stop), Ok);
        let notes = TicketNotes::from_register(&main, &register.map_err(|e| e.to_string())?);
        let options = choices.with(notes);
        pack::write(&crisp, &pixels, &options, (&folder, base), progress).map_err(|e| e.to_string())
    });
    Done::Pack(made.map(|made| (made.folder, made.notes)))
}

/// The sheet of a wrap, as SVG or PDF by the path's ending.
pub(super) fn wrap(plan: &WrapPlan, title: &str, path: PathBuf) -> Done {
    let write = if ends_in(&path, "svg") { wrap_svg } else { wrap_pdf };
    told(write(plan, title, &path), path)
}
