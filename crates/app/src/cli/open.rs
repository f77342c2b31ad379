//! A project with all its scans, as several commands need it.

use std::collections::BTreeMap;
use std::path::Path;

use slipsheet_document::acceptance::Acceptance;
use slipsheet_document::layer::{ScanKey, ScanRef};
use slipsheet_document::printing::Printing;
use slipsheet_document::project::Project;
use slipsheet_files::scan::{Progress, ScanError};
use slipsheet_files::store::{self, LoadedScan, Masks, Recipes, ScanState, StoreError};
use slipsheet_render::images::Images;

use super::{Ending, Output};

/// What came of loading each scan of a project, once each.
pub(super) struct Opened {
    pub project: Project,
    /// What is printed of the piece itself.
    pub printing: Printing,
    pub scans: Vec<(ScanRef, Result<LoadedScan, ScanError>)>,
}

impl Opened {
    /// Judges copies by this, whatever the project accepts.
    pub fn accept(&mut self, acceptance: Acceptance) {
        (self.project.acceptance, self.printing.acceptance) = (acceptance, acceptance);
    }

    /// Refuses a project with scans that cannot be read; says which have changed or lost their mask.
    pub fn scans_fit(&self, output: &mut Output<'_>) -> anyhow::Result<Ending> {
        let mut ending = Ending::Fine;
        for (scan, loaded) in &self.scans {
            let trouble = match loaded {
                Err(e) => anyhow::bail!("{e}"),
                Ok(loaded) if loaded.mask_lost => {
                    "its mask is missing, so what was mended by hand and the marks print; put the folder masks back beside the project"
                }
                Ok(loaded) => match loaded.state {
                    ScanState::Unchanged => continue,
                    ScanState::Changed { .. } | ScanState::Missing => {
                        "the scan has changed since it was placed"
                    }
                },
            };
            output.problem(format_args!("{trouble}: {}", scan.path));
            ending = Ending::Warnings;
        }
        Ok(ending)
    }
}

pub(super) fn open(path: &Path) -> Result<Opened, StoreError> {
    let project = store::load(path)?;
    let distinct: BTreeMap<ScanKey, ScanRef> =
        project.every_art().map(|a| (a.scan.key.clone(), a.scan.clone())).collect();
    let with = (&Masks::default(), &Recipes::default().of(&project));
    let scans = store::load_scans(Some(path), distinct.into_values().collect(), with, &Progress::new());
    Ok(Opened { printing: project.main_printing(), project, scans })
}

/// The pixels of every scan that could be read.
pub(super) fn images(scans: &[(ScanRef, Result<LoadedScan, ScanError>)]) -> Images {
    let mut images = Images::default();
    for loaded in scans.iter().filter_map(|(_, r)| r.as_ref().ok()) {
        images.insert(loaded.key.clone(), std::sync::Arc::clone(&loaded.pixels));
    }
    images
}

/// One sheet of a booklet, from 1; of anything else there is one sheet.
pub(super) fn one_sheet(printing: &Printing, sheet: usize) -> anyhow::Result<Printing> {
    let sheets = printing.sheet.printed_sheets();
    if sheet == 0 || sheet > sheets {
        anyhow::bail!("there is no sheet {sheet}: name one from 1 to {sheets}");
    }
    Ok(printing.number(sheet - 1).into_owned())
}
