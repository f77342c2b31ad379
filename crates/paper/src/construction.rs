//! What the finished piece is made of, as far as folding it goes.

use slipsheet_base::units::{Mm, Size};

use crate::booklet::Booklet;
use crate::fold::{Face, Scheme};

/// The printed sheet and what is done to it: folded by a scheme, or bound with others into a booklet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Construction<'a> {
    pub sheet: Size,
    /// Thickness of a leaf in mm.
    pub caliper: f64,
    /// What is cut off the edges of the pages.
    pub trim: Mm,
    /// How one sheet is folded; none leaves it flat.
    pub fold: Option<&'a Scheme>,
    /// A booklet of several sheets, in place of a fold.
    pub booklet: Option<&'a Booklet>,
}

impl Construction<'_> {
    /// The largest page of the folded piece after trimming, and how many leaves of paper lie on one another.
    ///
    /// The spine stays; head, foot and fore edge lose the trim. A sheet that stays flat loses it all around.
    pub fn finished(&self) -> (Size, u32) {
        let (sheet, trim) = (self.sheet, self.trim.get());
        if let Some(bound) = self.booklet {
            // Every sheet is folded once, or cut, down its middle.
            let size = Size::mm(sheet.width.get() / 2.0 - trim, sheet.height.get() - 2.0 * trim);
            return (size, u32::try_from(bound.leaves()).unwrap_or(u32::MAX));
        }
        let Some(scheme) = self.fold else {
            let size = Size::mm(sheet.width.get() - 2.0 * trim, sheet.height.get() - 2.0 * trim);
            return (size, 1);
        };
        let pages = Face::BOTH.into_iter().flat_map(|face| scheme.places(sheet, face));
        let largest = pages.fold((0.0_f64, 0.0_f64), |(w, h), page| {
            (w.max(page.size.width.get()), h.max(page.size.height.get()))
        });
        let leaves = u32::try_from(scheme.columns.len() * scheme.rows.len()).unwrap_or(u32::MAX);
        (Size::mm(largest.0 - trim, largest.1 - 2.0 * trim), leaves)
    }
}
