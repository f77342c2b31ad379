//! The project: everything a person decides, as plain data.
//!
//! Pixels sit beside it, found by the contents of their scans, so that a copy of a project is cheap. It changes by
//! [`crate::edit::apply`] alone; what is printed of it is a [`Printing`].

mod older;
mod read;

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use crate::acceptance::Acceptance;
use crate::ids::{ArtId, EditionId, Ids, LayerId, SheetId};
use crate::layer::{Art, Layer};
use crate::printing::{Printing, WrapPart, press_dpi};
use crate::sheet::Sheet;
use crate::shelf::Shelf;
use crate::terms::JobTerms;
use crate::wrap::{Block, Wrap, WrapError, WrapJob, WrapOrder, WrapPlan};
use slipsheet_core::ink::OverprintSwatch;
use slipsheet_core::press::Press;
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Dpi, SheetFormat};

/// The schema that this program writes.
pub const SCHEMA: u32 = 6;

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Project {
    /// Version of the format.
    pub schema: u32,
    /// Title, as the proof shows it.
    pub title: String,
    /// The sheet of the piece itself, or all sheets of its booklet.
    pub main: Sheet,
    /// What goes around the folded piece, with a sheet of its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wrap: Option<Box<WrapSheet>>,
    #[serde(default)]
    pub overprints: Vec<OverprintSwatch>,
    #[serde(default = "press_dpi")]
    pub press_dpi: Dpi,
    #[serde(default)]
    pub press: Press,
    /// What would still be sold.
    #[serde(default)]
    pub acceptance: Acceptance,
    #[serde(default)]
    pub job: JobTerms,
    /// The identities that are still to be given.
    pub ids: Ids,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct WrapSheet {
    pub wrap: Wrap,
    pub sheet: Sheet,
}

/// Why a project cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ProjectError {
    #[error("the project cannot be read at line {line}, column {column} (“{excerpt}”): {why}")]
    Parse {
        /// Line, from 1.
        line: usize,
        /// Column, from 1.
        column: usize,
        /// The line itself, shortened.
        excerpt: String,
        why: String,
    },
    #[error(
        "the project was saved by a newer Slipsheet (format {found}, this one reads up to {SCHEMA}): update the program to open it"
    )]
    Newer { found: u32 },
    #[error("the project is not consistent: {0}")]
    Inconsistent(String),
}

/// What a job and an edition have once copies are booked.
struct Booked {
    /// Copies of the job.
    job: u32,
    overs: u32,
    /// The edition that has a number of its own.
    edition: Option<(EditionId, u32)>,
}

impl Project {
    /// An empty project.
    pub fn new(title: &str, format: SheetFormat, stock: Stock) -> Self {
        let mut ids = Ids::default();
        Self {
            schema: SCHEMA,
            title: title.to_owned(),
            main: Sheet::new(ids.sheet(), format, stock),
            wrap: None,
            overprints: Vec::new(),
            press_dpi: press_dpi(),
            press: Press::default(),
            acceptance: Acceptance::default(),
            job: JobTerms::default(),
            ids,
        }
    }

    /// Checks what the types cannot: each sheet by itself, and that every identity is given once and points somewhere.
    ///
    /// # Errors
    /// [`ProjectError::Inconsistent`].
    pub fn check(&self) -> Result<(), ProjectError> {
        self.sheets().try_for_each(Sheet::check).map_err(ProjectError::Inconsistent)?;
        self.check_ids()
            .map_err(|what| ProjectError::Inconsistent(format!("{what}; open an earlier copy of the file")))
    }

    fn check_ids(&self) -> Result<(), String> {
        let mut given = BTreeSet::new();
        let mut once = |number: u32, what: &str| {
            let known = self.ids.has_given(number);
            if known && given.insert(number) {
                Ok(())
            } else {
                Err(format!("{what} has no number of its own"))
            }
        };
        for sheet in self.sheets() {
            once(sheet.id.number(), "a sheet")?;
            for layer in &sheet.layers {
                once(layer.id.number(), "a layer")?;
                layer.art.iter().try_for_each(|a| once(a.id.number(), "a piece of artwork"))?;
            }
            sheet.editions.iter().try_for_each(|e| once(e.id.number(), "an edition"))?;
            sheet.sources.iter().try_for_each(|s| once(s.id.number(), "a picture"))?;
            for source in &sheet.sources {
                let there = |id: &ArtId| sheet.art().any(|art| art.id == *id);
                if !source.plates.iter().all(there) {
                    return Err("a picture has a plate that is not there".to_owned());
                }
            }
            let there = |id: LayerId, whose: &str| {
                let found = sheet.layer(id).is_some();
                if found { Ok(()) } else { Err(format!("{whose} is about a layer that is not there")) }
            };
            for layer in &sheet.layers {
                layer.with.map_or(Ok(()), |id| there(id, "a pass"))?;
                layer.remedies.iter().filter_map(|r| r.other()).try_for_each(|id| there(id, "a remedy"))?;
            }
            for edition in &sheet.editions {
                edition.colours.inks.keys().try_for_each(|id| there(*id, "an edition"))?;
            }
            for accepted in &sheet.accepted {
                accepted.place.layer.map_or(Ok(()), |id| there(id, "an accepted finding"))?;
            }
        }
        Ok(())
    }

    /// Its sheets, the piece's own first.
    pub fn sheets(&self) -> impl Iterator<Item = &Sheet> {
        std::iter::once(&self.main).chain(self.wrap.iter().map(|w| &w.sheet))
    }

    /// The same, to be changed alike.
    pub fn sheets_mut(&mut self) -> impl Iterator<Item = &mut Sheet> {
        std::iter::once(&mut self.main).chain(self.wrap.iter_mut().map(|w| &mut w.sheet))
    }

    pub fn sheet(&self, id: SheetId) -> Option<&Sheet> {
        self.sheets().find(|s| s.id == id)
    }

    pub fn layer_mut(&mut self, id: LayerId) -> Option<&mut Layer> {
        self.sheets_mut().flat_map(|s| &mut s.layers).find(|l| l.id == id)
    }

    /// Every piece of artwork, of all sheets.
    pub fn every_art(&self) -> impl Iterator<Item = &Art> {
        self.sheets().flat_map(Sheet::art)
    }

    /// The same, to be changed alike.
    pub fn every_art_mut(&mut self) -> impl Iterator<Item = &mut Art> {
        self.sheets_mut().flat_map(|s| &mut s.layers).flat_map(|l| &mut l.art)
    }

    pub fn printing(&self, sheet: SheetId, edition: Option<EditionId>) -> Option<Printing> {
        let sheet = self.sheet(sheet)?;
        let wrap = match self.wrap_job() {
            None => WrapPart::None,
            Some(job) if sheet.id == self.main.id => WrapPart::Around(Box::new(job)),
            Some(job) => WrapPart::Itself(Box::new(job)),
        };
        let printing = self.printed(sheet, wrap);
        match edition {
            None => Some(printing),
            Some(id) => sheet.editions.iter().find(|e| e.id == id).map(|e| printing.in_edition(e)),
        }
    }

    /// Books so many copies of what the piece shows, and so many overs for them: of the edition that it shows where that
    /// has a number of its own, whose overs are the job's in proportion and so may come out a sheet more; of the job
    /// otherwise. Each of them is then wanted.
    pub fn book(&mut self, copies: u32, overs: u32) {
        let Booked { job, overs, edition } = self.booked(copies, overs);
        (self.job.copies, self.job.overs, self.job.good_copies) = (job, overs, 0);
        if let Some((id, copies)) = edition
            && let Some(edition) = self.main.editions.iter_mut().find(|e| e.id == id)
        {
            edition.copies = Some(copies);
        }
    }

    /// Whether so many are booked already.
    pub fn has_booked(&self, copies: u32, overs: u32) -> bool {
        let booked = self.booked(copies, overs);
        let own = self.main.shown_edition().and_then(|e| Some((e.id, e.copies?)));
        (self.job.copies, self.job.overs) == (booked.job, booked.overs)
            && (booked.edition.is_none() || booked.edition == own)
            && [0, booked.job].contains(&self.job.good_copies)
    }

    fn booked(&self, copies: u32, overs: u32) -> Booked {
        let own = self.main.shown_edition().filter(|edition| edition.copies.is_some());
        let Some(edition) = own.filter(|_| self.job.copies > 0 && copies > 0) else {
            return Booked { job: copies, overs, edition: None };
        };
        let of_job = (u64::from(overs) * u64::from(self.job.copies)).div_ceil(u64::from(copies));
        let overs = u32::try_from(of_job).unwrap_or(u32::MAX);
        Booked { job: self.job.copies, overs, edition: Some((edition.id, copies)) }
    }

    pub fn main_printing(&self) -> Printing {
        let wrap = self.wrap_job().map_or(WrapPart::None, |job| WrapPart::Around(Box::new(job)));
        self.printed(&self.main, wrap)
    }

    pub fn wrap_printing(&self) -> Option<Printing> {
        self.printing(self.wrap.as_ref()?.sheet.id, None)
    }

    fn printed(&self, sheet: &Sheet, wrap: WrapPart) -> Printing {
        Printing {
            title: self.title.clone(),
            sheet: sheet.clone(),
            press: self.press.clone(),
            acceptance: self.acceptance,
            press_dpi: self.press_dpi,
            overprints: self.overprints.clone(),
            job: self.job.clone(),
            wrap,
        }
    }

    /// A wrap worked out for its main sheet, on its press.
    pub fn plan_wrap(&self, order: &WrapOrder) -> Result<WrapPlan, WrapError> {
        WrapPlan::new(order, Block::of(&self.main.construction(), &order.wrap)?, &self.press)
    }

    pub fn wrap_order(&self) -> Option<WrapOrder> {
        let WrapSheet { wrap, sheet } = self.wrap.as_deref()?;
        let (wrap, stock) = (wrap.clone(), sheet.stock.clone());
        Some(WrapOrder { wrap, format: sheet.format, landscape: sheet.landscape, stock })
    }

    fn wrap_job(&self) -> Option<WrapJob> {
        let order = self.wrap_order()?;
        let block = Block::of(&self.main.construction(), &order.wrap);
        let sheet = &self.wrap.as_ref()?.sheet;
        let mut inks: Vec<String> = Vec::new();
        for layer in sheet.layers.iter().filter(|l| l.visible) {
            if !inks.contains(&layer.ink.name) {
                inks.push(layer.ink.name.clone());
            }
        }
        Some(WrapJob { order, block, inks })
    }

    /// Takes over the shelf's measured overprints of inks that lie on one sheet, on that sheet's stock; those that the
    /// project has already are replaced only when asked.
    pub fn take_overprints(&mut self, shelf: &Shelf, replace: bool) {
        let fits = |swatch: &OverprintSwatch| {
            self.sheets().any(|sheet| {
                let names = sheet.ink_names();
                swatch.stock == sheet.stock.name && swatch.inks.iter().all(|i| names.contains(&i.as_str()))
            })
        };
        let fresh: Vec<OverprintSwatch> = shelf.overprints.iter().filter(|s| fits(s)).cloned().collect();
        for swatch in fresh {
            match self.overprints.iter_mut().find(|s| (&s.inks, &s.stock) == (&swatch.inks, &swatch.stock)) {
                Some(known) if replace => *known = swatch,
                Some(_) => {}
                None => self.overprints.push(swatch),
            }
        }
    }
}
