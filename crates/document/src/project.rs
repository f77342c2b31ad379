//! The project: everything a person decides, as plain data.
//!
//! Pixels sit beside it, found by the contents of their scans, so that a copy of a project is cheap. [`Project`] is
//! the document; `read` brings it from text and back, `sheets` takes it apart into the sheets that are printed.

mod read;
mod sheets;

use serde::{Deserialize, Serialize};

use slipsheet_paper::construction::Construction;

use crate::accepted::Accepted;
use crate::edition::Edition;
use crate::layer::{Layer, Slip};
use crate::shelf::Shelf;
use crate::terms::JobTerms;
use crate::wrap::WrapSheet;
use slipsheet_core::ink::OverprintSwatch;
use slipsheet_core::overprint::MAX_INKS;
use slipsheet_core::press::Press;
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Dpi, Mm, SheetFormat, Size};
use slipsheet_paper::booklet::Booklet;
use slipsheet_paper::fold::{Face, Scheme};
use slipsheet_paper::turning::Turning;

/// The schema that this program writes.
pub const SCHEMA: u32 = 3;

/// A project.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Project {
    /// Version of the format.
    pub schema: u32,
    /// Title, as the proof shows it.
    pub title: String,
    /// Format of the sheet.
    pub sheet: SheetFormat,
    /// Whether the sheet lies (landscape); a fold scheme decides it where there is one.
    #[serde(default)]
    pub lying: bool,
    /// The paper.
    pub stock: Stock,
    /// Layers in printing order, first printed first.
    pub layers: Vec<Layer>,
    /// How the sheet is folded; `None` when it stays flat.
    #[serde(default)]
    pub fold: Option<Scheme>,
    /// Measured overprints of the shop.
    #[serde(default)]
    pub overprints: Vec<OverprintSwatch>,
    /// What is trimmed off each edge after folding, in mm.
    #[serde(default)]
    pub trim: Mm,
    /// How the sheet is turned over between its faces.
    #[serde(default)]
    pub turning: Turning,
    /// A what-if shift and skew of the whole back against the front.
    #[serde(default)]
    pub back_slip: Slip,
    /// A booklet of several sheets, in place of a fold.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub booklet: Option<Booklet>,
    /// Resolution of the press's masters.
    #[serde(default = "press_dpi")]
    pub press_dpi: Dpi,
    /// The press it is planned for.
    #[serde(default)]
    pub press: Press,
    /// The same artwork in other inks on other stocks.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub editions: Vec<Edition>,
    /// What is agreed with the shop.
    #[serde(default)]
    pub job: JobTerms,
    /// Findings that the person has seen and lives with.
    #[serde(default)]
    pub accepted: Vec<Accepted>,
    /// What goes around the folded piece, with a sheet of its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wrap: Option<Box<WrapSheet>>,
}

/// 600 dpi, as most machines have today (common practice, no source).
fn press_dpi() -> Dpi {
    Dpi::new(600.0).unwrap_or_default()
}

/// Why a project cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ProjectError {
    /// The text is not a project.
    #[error("the project cannot be read at line {line}, column {column} (“{excerpt}”): {why}")]
    Parse {
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
        /// The line itself, shortened.
        excerpt: String,
        /// What is wrong.
        why: String,
    },
    /// Written by a newer program.
    #[error(
        "the project was saved by a newer Slipsheet (format {found}, this one reads up to {SCHEMA}): update the program to open it"
    )]
    Newer {
        /// The format found.
        found: u32,
    },
    /// The parts contradict each other.
    #[error("the project is not consistent: {0}")]
    Inconsistent(String),
}

impl Project {
    /// An empty project.
    pub fn new(title: &str, sheet: SheetFormat, stock: Stock) -> Self {
        Self {
            schema: SCHEMA,
            title: title.to_owned(),
            sheet,
            lying: false,
            stock,
            layers: Vec::new(),
            fold: None,
            overprints: Vec::new(),
            trim: Mm::ZERO,
            turning: Turning::default(),
            back_slip: Slip::default(),
            booklet: None,
            press_dpi: press_dpi(),
            press: Press::default(),
            editions: Vec::new(),
            job: JobTerms::default(),
            accepted: Vec::new(),
            wrap: None,
        }
    }

    /// Checks what the types cannot: the fold scheme, the number of inks on a face, the sheet.
    ///
    /// # Errors
    /// [`ProjectError::Inconsistent`].
    pub fn check(&self) -> Result<(), ProjectError> {
        self.check_sheet()?;
        match &self.wrap {
            Some(_) => self.turned_to(!self.shows_wrap()).check_sheet(),
            None => Ok(()),
        }
    }

    /// The same for the sheet in hand.
    fn check_sheet(&self) -> Result<(), ProjectError> {
        let fail = |why: String| Err(ProjectError::Inconsistent(why));
        let size = self.sheet.size();
        if !(20.0..=2000.0).contains(&size.width.get()) || !(20.0..=2000.0).contains(&size.height.get()) {
            return fail("a side of the sheet must be from 20 to 2000 mm".to_owned());
        }
        if let Some(scheme) = &self.fold {
            scheme.check().map_err(|e| ProjectError::Inconsistent(e.to_string()))?;
        }
        if let Some(booklet) = &self.booklet {
            booklet.check().map_err(ProjectError::Inconsistent)?;
        }
        for face in [Face::Front, Face::Back] {
            let inks = self.on(face).count();
            if inks > MAX_INKS {
                return fail(format!("{inks} layers on one face; {MAX_INKS} are the most"));
            }
        }
        Ok(())
    }

    /// What the folding needs to know of it.
    pub fn construction(&self) -> Construction<'_> {
        Construction {
            sheet: self.sheet_size(),
            caliper: slipsheet_core::paper::caliper(&self.stock),
            trim: self.trim,
            fold: self.fold.as_ref(),
            booklet: self.booklet.as_ref(),
        }
    }

    /// The sheet as it lies, in mm.
    pub fn sheet_size(&self) -> Size {
        let size = self.sheet.size();
        if self.booklet.is_some() && size.height.get() > size.width.get() {
            return size.turned();
        }
        match (&self.fold, self.sheet) {
            _ if self.booklet.is_some() => size,
            (Some(scheme), _) => scheme.oriented(size),
            (None, SheetFormat::Custom(_) | SheetFormat::Ledger) => size,
            (None, _) if self.lying => size.turned(),
            (None, _) => size,
        }
    }

    /// The layers of one face with their index, in printing order.
    pub fn on(&self, face: Face) -> impl Iterator<Item = (usize, &Layer)> {
        self.layers.iter().enumerate().filter(move |(_, l)| l.face == face)
    }

    /// Takes over the shelf's measured overprints of this project's inks on its stock; those that the project
    /// has already are replaced only when asked.
    pub fn take_overprints(&mut self, shelf: &Shelf, replace: bool) {
        let used = |name: &String| self.layers.iter().any(|l| l.ink.name == *name);
        let fitting = |s: &&OverprintSwatch| s.stock == self.stock.name && s.inks.iter().all(used);
        let fresh: Vec<OverprintSwatch> = shelf.overprints.iter().filter(fitting).cloned().collect();
        for swatch in fresh {
            match self.overprints.iter_mut().find(|s| (&s.inks, &s.stock) == (&swatch.inks, &swatch.stock)) {
                Some(known) if replace => *known = swatch,
                Some(_) => {}
                None => self.overprints.push(swatch),
            }
        }
    }

    /// Whether anything is, or by its fold should be, on the back.
    pub fn two_sided(&self) -> bool {
        self.booklet.is_some()
            || self.fold.as_ref().is_some_and(Scheme::two_sided)
            || self.on(Face::Back).next().is_some()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::colour::Lab;
    use slipsheet_core::ink::{Ink, Swatch};

    #[test]
    fn too_many_inks_on_a_face_are_refused() {
        let white = Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap() };
        let mut p = Project::new("Sea", SheetFormat::Letter, Stock::new("Plain white", white));
        let ink = Ink::estimated("Deep blue", Lab::new(40.0, 0.0, -40.0).unwrap());
        p.layers = vec![Layer::new("sea", ink); 9];
        assert!(p.check().unwrap_err().to_string().contains("9 layers"));
        p.layers[8].face = Face::Back;
        assert!(p.check().is_ok());
    }
}
