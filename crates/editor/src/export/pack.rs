//! The booking pack.

use std::path::Path;

use slipsheet_files::ticket::TicketNotes;
use slipsheet_files::{Progress, pack, plates};
use slipsheet_registration::slip::JobRegister;

use super::{About, Export, ExportError, GoesTo, Source};

/// What a person reads while a pack is made.
pub const MAKING_PACK: &str = "Making the pack";

/// The booking pack of the whole project.
#[derive(Debug)]
pub struct PackExport;

impl Export for PackExport {
    fn about(&self) -> About {
        About {
            question: "Make the pack in a new folder",
            label: MAKING_PACK,
            goes_to: GoesTo::NewFolder,
            name: "pack",
            misses_scans: Some("pack"),
        }
    }

    fn write(&self, from: &Source, to: &Path, progress: &Progress) -> Result<Vec<String>, ExportError> {
        let (file, dpi) = (from.file.as_deref(), from.project.press_dpi);
        let (crisp, pixels) = plates::with_crisp_vectors(&from.project, &from.images, file, dpi, progress)?;

        // The study is of the scans as they are loaded, which findings and the Run view speak of.
        let main = from.project.main_printing();
        let study = || JobRegister::of_until(&main, &from.images, &|| progress.is_cancelled());
        let register = from.register.clone().map_or_else(study, Ok)?;

        let options = from.pack.with(TicketNotes::from_register(&main, &register));
        Ok(pack::write(&crisp, &pixels, &options, (to, file), progress)?.notes)
    }
}
