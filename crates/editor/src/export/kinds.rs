//! The exports: what each asks, says and is called, and what it writes.

use std::path::Path;

use slipsheet_core::calibrate::WedgeSheet;
use slipsheet_document::shelf::Shelf;
use slipsheet_document::wrap::WrapOrder;
use slipsheet_files::dummy_picture::{self, DummyShot};
use slipsheet_files::dummy_sheet::{self, DummySheetOptions};
use slipsheet_files::proof::{self, ProofOptions};
use slipsheet_files::ticket::TicketNotes;
use slipsheet_files::{
    GuideOptions, Progress, atomic, guide_pdf, guide_png, marks, pack, plates, proof_series, wedge, wrap_pdf,
    wrap_svg,
};
use slipsheet_registration::slip::JobRegister;

use super::{About, Export, ExportError, GoesTo, Source, ends_in};

#[derive(Debug, Default)]
pub struct ProofExport(pub ProofOptions);

impl Export for ProofExport {
    fn about(&self) -> About {
        About {
            question: "Save the proof as",
            label: "Writing the proof",
            goes_to: GoesTo::File { kind: "PNG", endings: &["png"] },
            name: "proof.png",
            misses_scans: Some("proof"),
        }
    }

    fn write(&self, from: &Source, to: &Path, progress: &Progress) -> Result<Vec<String>, ExportError> {
        proof::write(&from.printing, &from.images, &self.0, to, progress)?;
        Ok(vec![])
    }
}

/// A proof of every edition, each drawn so.
#[derive(Debug, Default)]
pub struct ProofsExport(pub ProofOptions);

impl Export for ProofsExport {
    fn about(&self) -> About {
        About {
            question: "Save a proof of every edition in",
            label: "Writing the proofs",
            goes_to: GoesTo::Folder,
            name: "editions",
            misses_scans: Some("proof"),
        }
    }

    fn write(&self, from: &Source, to: &Path, progress: &Progress) -> Result<Vec<String>, ExportError> {
        proof_series::write(&from.printing, &from.images, &self.0, to, &from.originals(), progress)?;
        Ok(vec![])
    }
}

/// The guide to draw originals on.
#[derive(Debug)]
pub struct GuideExport;

impl Export for GuideExport {
    fn about(&self) -> About {
        About {
            question: "Save the page guide as",
            label: "Writing the page guide",
            goes_to: GoesTo::File { kind: "PDF or PNG", endings: &["pdf", "png"] },
            name: "guide.pdf",
            misses_scans: None,
        }
    }

    fn write(&self, from: &Source, to: &Path, _: &Progress) -> Result<Vec<String>, ExportError> {
        let write = if ends_in(to, "png") { guide_png } else { guide_pdf };
        write(&from.printing, &GuideOptions::default(), to)?;
        Ok(vec![])
    }
}

#[derive(Debug, Default)]
pub struct DummyExport(pub DummyShot);

impl Export for DummyExport {
    fn about(&self) -> About {
        About {
            question: "Save the picture as",
            label: "Drawing the dummy",
            goes_to: GoesTo::File { kind: "PNG", endings: &["png"] },
            name: "dummy.png",
            misses_scans: Some("picture"),
        }
    }

    fn write(&self, from: &Source, to: &Path, progress: &Progress) -> Result<Vec<String>, ExportError> {
        dummy_picture::write(&from.printing, &from.images, &self.0, to, progress)?;
        Ok(vec![])
    }
}

/// The dummy to fold, drawn so.
#[derive(Debug, Default)]
pub struct DummySheetExport(pub DummySheetOptions);

impl Export for DummySheetExport {
    fn about(&self) -> About {
        About {
            question: "Save the printed dummy as",
            label: "Writing the dummy",
            goes_to: GoesTo::File { kind: "PDF", endings: &["pdf"] },
            name: "dummy.pdf",
            misses_scans: None,
        }
    }

    fn write(&self, from: &Source, to: &Path, _: &Progress) -> Result<Vec<String>, ExportError> {
        dummy_sheet::write(&from.printing, self.0, to)?;
        Ok(vec![])
    }
}

/// The plates of a mark sheet, one for each ink of the front.
#[derive(Debug)]
pub struct MarksExport;

impl Export for MarksExport {
    fn about(&self) -> About {
        About {
            question: "Save the mark sheet's plates in a new folder",
            label: "Writing the mark sheet",
            goes_to: GoesTo::NewFolder,
            name: "marks",
            misses_scans: None,
        }
    }

    fn write(&self, from: &Source, to: &Path, progress: &Progress) -> Result<Vec<String>, ExportError> {
        let dpi = from.printing.press_dpi;
        marks::write_plates(&from.printing, dpi, to, &from.originals(), progress)?;
        Ok(vec![])
    }
}

/// A calibration sheet of the inks of the sheet that is open.
#[derive(Debug)]
pub struct WedgeExport;

impl Export for WedgeExport {
    fn about(&self) -> About {
        About {
            question: "Save the calibration sheet as",
            label: "Writing the calibration sheet",
            goes_to: GoesTo::File { kind: "PDF", endings: &["pdf"] },
            name: "calibration.pdf",
            misses_scans: None,
        }
    }

    fn write(&self, from: &Source, to: &Path, _: &Progress) -> Result<Vec<String>, ExportError> {
        let sheet = &from.printing.sheet;
        let inks: Vec<String> = sheet.ink_names().into_iter().map(str::to_owned).collect();
        wedge::write_pdf(&WedgeSheet::new(sheet.format.size(), &inks, 0)?, to)?;
        Ok(vec![])
    }
}

/// A wrap, whether the project has it yet or not.
#[derive(Debug)]
pub struct WrapExport(pub WrapOrder);

impl Export for WrapExport {
    fn about(&self) -> About {
        About {
            question: "Save the wrap as",
            label: "Writing the wrap",
            goes_to: GoesTo::File { kind: "PDF or SVG", endings: &["pdf", "svg"] },
            name: "",
            misses_scans: None,
        }
    }

    fn name(&self, project: &str) -> String {
        format!("{project} {}.pdf", self.0.wrap.kind.name().to_lowercase())
    }

    fn write(&self, from: &Source, to: &Path, _: &Progress) -> Result<Vec<String>, ExportError> {
        let write = if ends_in(to, "svg") { wrap_svg } else { wrap_pdf };
        write(&from.project.plan_wrap(&self.0)?, &from.project.title, to)?;
        Ok(vec![])
    }
}

#[derive(Debug)]
pub struct ShelfExport(pub Shelf);

impl Export for ShelfExport {
    fn about(&self) -> About {
        About {
            question: "Save the shelf as",
            label: "Writing the shelf",
            goes_to: GoesTo::File { kind: "Shelf", endings: &["ron"] },
            name: "",
            misses_scans: None,
        }
    }

    fn name(&self, _: &str) -> String {
        "shelf.ron".to_owned()
    }

    fn write(&self, _: &Source, to: &Path, _: &Progress) -> Result<Vec<String>, ExportError> {
        atomic::write_bytes(to, self.0.to_ron()?.as_bytes())?;
        Ok(vec![])
    }
}

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
