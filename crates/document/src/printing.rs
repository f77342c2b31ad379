//! What is printed of a project: one of its sheets in the inks of one edition, with the press and the terms of the
//! job. Whatever draws, studies, counts or writes works on this, and sees no other sheet.

use std::borrow::Cow;

use crate::acceptance::Acceptance;
use crate::edition::{Colours, Edition};
use crate::ids::SheetId;
use crate::sheet::Sheet;
use crate::terms::JobTerms;
use crate::wrap::{WrapError, WrapJob, WrapPlan};
use slipsheet_core::ink::OverprintSwatch;
use slipsheet_core::press::Press;
use slipsheet_core::stock::Stock;
use slipsheet_core::units::{Dpi, SheetFormat};

/// One sheet of a project as it is printed.
#[derive(Debug, Clone, PartialEq)]
pub struct Printing {
    pub title: String,
    pub sheet: Sheet,
    pub press: Press,
    pub acceptance: Acceptance,
    pub press_dpi: Dpi,
    pub overprints: Vec<OverprintSwatch>,
    pub job: JobTerms,
    /// What this sheet has to do with a wrap.
    pub wrap: WrapPart,
}

/// 600 dpi, as most machines have today (common practice, no source).
pub(crate) fn press_dpi() -> Dpi {
    Dpi::nearest(600.0)
}

/// What a sheet has to do with a wrap.
#[derive(Debug, Clone, PartialEq)]
pub enum WrapPart {
    None,
    /// Each copy is put into this one, which has a sheet of its own.
    Around(Box<WrapJob>),
    Itself(Box<WrapJob>),
}

impl Printing {
    /// A sheet without layers, planned for the usual press.
    pub fn new(title: &str, format: SheetFormat, stock: Stock) -> Self {
        Self {
            title: title.to_owned(),
            sheet: Sheet::new(SheetId::new(0), format, stock),
            press: Press::default(),
            acceptance: Acceptance::default(),
            press_dpi: press_dpi(),
            overprints: Vec::new(),
            job: JobTerms::default(),
            wrap: WrapPart::None,
        }
    }

    /// One printed sheet of a booklet, by its number from 0 ([`Sheet::number`]).
    pub fn number(&self, number: usize) -> Cow<'_, Self> {
        match self.sheet.number(number) {
            Cow::Borrowed(_) => Cow::Borrowed(self),
            Cow::Owned(sheet) => Cow::Owned(self.with(sheet)),
        }
    }

    /// The same in other inks on another stock, as an edition has them.
    #[must_use]
    pub fn in_colours(&self, colours: &Colours) -> Self {
        let mut sheet = self.sheet.clone();
        sheet.take_colours(colours);
        self.with(sheet)
    }

    /// One edition of it, with the copies, overs and good copies of its own; it knows of no other.
    #[must_use]
    pub fn in_edition(&self, edition: &Edition) -> Self {
        let job = self.job.for_copies(edition.copies_in(self.job.copies));
        let mut printing = Self { job, ..self.in_colours(&edition.colours) };
        printing.sheet.editions = vec![edition.clone()];
        printing
    }

    /// The same with the copies of the edition that it shows, where it shows one.
    pub fn as_shown(&self) -> Cow<'_, Self> {
        match self.sheet.shown_edition() {
            Some(edition) => Cow::Owned(Self {
                job: self.job.for_copies(edition.copies_in(self.job.copies)),
                ..self.clone()
            }),
            None => Cow::Borrowed(self),
        }
    }

    /// Everything that is printed of it, in order: the present inks and stock where no edition has them, then each
    /// edition, with its place in the list.
    pub fn series(&self) -> Vec<(Option<usize>, Self)> {
        let present = self.sheet.shown_edition().is_none().then(|| (None, self.clone()));
        let each = self.sheet.editions.iter().enumerate().map(|(at, e)| (Some(at), self.in_edition(e)));
        present.into_iter().chain(each).collect()
    }

    /// The same with another sheet in the place of its own.
    #[must_use]
    pub fn with(&self, sheet: Sheet) -> Self {
        Self {
            title: self.title.clone(),
            sheet,
            press: self.press.clone(),
            acceptance: self.acceptance,
            press_dpi: self.press_dpi,
            overprints: self.overprints.clone(),
            job: self.job.clone(),
            wrap: self.wrap.clone(),
        }
    }

    /// Whether this is the sheet of a wrap.
    pub fn is_wrap(&self) -> bool {
        matches!(self.wrap, WrapPart::Itself(_))
    }

    /// The wrap that this is the sheet of, worked out; `None` of any other sheet, and where it cannot be made any
    /// more, as after another fold was chosen.
    pub fn own_wrap(&self) -> Option<WrapPlan> {
        match &self.wrap {
            WrapPart::Itself(job) => self.worked_out(job).ok(),
            WrapPart::None | WrapPart::Around(_) => None,
        }
    }

    /// The wrap that each copy is put into, worked out; `None` where there is none or it cannot be made.
    pub fn outer_wrap(&self) -> Option<WrapPlan> {
        match &self.wrap {
            WrapPart::Around(job) => self.worked_out(job).ok(),
            WrapPart::None | WrapPart::Itself(_) => None,
        }
    }

    /// Sheets of each kind that go through the press for so many copies, with overs in the proportion of the terms;
    /// of a wrap, as its nets lie on them.
    pub fn run_for(&self, copies: u32) -> u32 {
        self.run_of(self.own_wrap().as_ref(), copies)
    }

    /// The same for a wrap that is worked out already.
    pub fn run_of(&self, own: Option<&WrapPlan>, copies: u32) -> u32 {
        let sheets = own.map_or(copies, |plan| plan.sheets(copies));
        sheets.saturating_add(self.job.overs_for(sheets))
    }

    /// Sheets of the wrap that each copy is put into: as many as the copies take, and overs where it is printed.
    pub fn wrap_sheets(&self, plan: &WrapPlan, copies: u32) -> u32 {
        let printed = match &self.wrap {
            WrapPart::Around(job) | WrapPart::Itself(job) => !job.inks.is_empty(),
            WrapPart::None => false,
        };
        let sheets = plan.sheets(copies);
        if printed { sheets.saturating_add(self.job.overs_for(sheets)) } else { sheets }
    }

    fn worked_out(&self, job: &WrapJob) -> Result<WrapPlan, WrapError> {
        WrapPlan::new(&job.order, job.block.clone()?, &self.press)
    }
}
