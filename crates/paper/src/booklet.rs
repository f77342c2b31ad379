//! Booklets of several sheets: which page lies on which sheet, face and half, how much inner sheets creep, and
//! how thick the spine is.
//!
//! Every sheet lies and carries two pages a side. Whoever makes a booklet resolves it sheet by sheet, so that all
//! else works on one folded sheet at a time.

use serde::{Deserialize, Serialize};

use crate::fold::{Binding, Crease, Face, Fold, GridLine, PagePlace, Panel, Scheme, Side, Turn};
use slipsheet_base::geometry::Point;
use slipsheet_base::units::{Mm, Size};

/// How the sheets are held together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Bound {
    /// Folded sheets inside one another, stitched through the fold.
    #[default]
    Saddle,
    /// Leaves cut apart, stacked and glued along the spine: the left halves lie on the right ones.
    Perfect,
}

/// Where pages are added that make the number a multiple of four.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Blanks {
    /// After the last page.
    #[default]
    End,
    /// Behind the front cover and before the back cover, half of them each.
    InsideCovers,
}

/// A booklet of several sheets.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Booklet {
    /// Pages with something on them, 1 to 400.
    pub pages: u32,
    pub bound: Bound,
    pub blanks: Blanks,
    /// Whether pages move toward the spine to make up for creep.
    pub compensate: bool,
}

impl Default for Booklet {
    fn default() -> Self {
        Self { pages: 16, bound: Bound::Saddle, blanks: Blanks::End, compensate: true }
    }
}

/// The most pages: more would not be stitched or stapled by hand, and numbers stay small.
pub const MAX_PAGES: u32 = 400;

/// Where a page of a booklet lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BookletPlace {
    /// The sheet, from 0; the outermost or topmost first.
    pub sheet: usize,
    pub place: PagePlace,
}

impl Booklet {
    /// Whether the number of pages can be bound.
    ///
    /// # Errors
    /// One sentence that says what to do.
    pub fn check(&self) -> Result<(), String> {
        if (1..=MAX_PAGES).contains(&self.pages) {
            Ok(())
        } else {
            Err(format!(
                "a booklet has from 1 to {MAX_PAGES} pages, not {}; bind more as several booklets",
                self.pages
            ))
        }
    }

    /// Pages with the blanks, a multiple of four.
    pub fn total(&self) -> u32 {
        self.pages.clamp(1, MAX_PAGES).div_ceil(4) * 4
    }

    pub fn blank_pages(&self) -> u32 {
        self.total() - self.pages.clamp(1, MAX_PAGES)
    }

    pub fn sheets(&self) -> usize {
        self.total() as usize / 4
    }

    pub fn leaves(&self) -> usize {
        self.total() as usize / 2
    }

    /// The place in the bound booklet, from 1, where a page ends.
    pub fn slot(&self, page: u32) -> u32 {
        match self.blanks {
            Blanks::End => page,
            Blanks::InsideCovers if page <= 1 => page,
            Blanks::InsideCovers if page == self.pages => self.total(),
            Blanks::InsideCovers => page + self.blank_pages() / 2,
        }
    }

    /// The page in a place; blanks are numbered on from the last page.
    pub fn page_in(&self, slot: u32) -> u32 {
        let real = (1..=self.pages).find(|p| self.slot(*p) == slot);
        real.unwrap_or_else(|| {
            let blanks_before = (1..slot).filter(|s| (1..=self.pages).all(|p| self.slot(p) != *s)).count();
            self.pages + 1 + blanks_before as u32
        })
    }

    /// The places on a sheet: front left and right, then back left and right as the back is seen.
    pub fn slots(&self, sheet: usize) -> [u32; 4] {
        let (s, total, n) = (sheet as u32, self.total(), self.sheets() as u32);
        match self.bound {
            Bound::Saddle => [total - 2 * s, 2 * s + 1, 2 * s + 2, total - 2 * s - 1],
            Bound::Perfect => [2 * s + 1, 2 * (s + n) + 1, 2 * (s + n) + 2, 2 * s + 2],
        }
    }

    /// One sheet as a scheme of two panels; `None` when there is no such sheet.
    pub fn scheme(&self, sheet: usize) -> Option<Scheme> {
        if sheet >= self.sheets() {
            return None;
        }
        let panel = |slot: u32| Panel { page: self.page_in(slot), turn: Turn::Upright };
        let [a, b, c, d] = self.slots(sheet).map(panel);
        let crease =
            Crease { line: GridLine::Vertical(1), fold: Fold::Mountain, moves: Side::Before, span: None };
        let (creases, what) = match self.bound {
            Bound::Saddle => (vec![crease], "fold it in the middle and put it into the sheets before it"),
            Bound::Perfect => (vec![], "cut it apart in the middle and stack the halves"),
        };
        Some(Scheme {
            id: format!("booklet sheet {}", sheet + 1),
            name: format!("Sheet {} of {}", sheet + 1, self.sheets()),
            summary: format!("Print both faces, then {what}."),
            landscape: true,
            columns: vec![1.0, 1.0],
            rows: vec![1.0],
            front: vec![a, b],
            back: vec![c, d],
            creases,
            slits: vec![],
            binding: Binding::Leaflet,
            order: None,
            shorter: vec![],
        })
    }

    /// Where a page lies, moved toward the spine if creep is made up for; `None` when there is no such page.
    pub fn place(&self, sheet_size: Size, page: u32, caliper: Mm) -> Option<BookletPlace> {
        if page == 0 || page > self.pages {
            return None;
        }
        let slot = self.slot(page);
        let sheet = (0..self.sheets()).find(|s| self.slots(*s).contains(&slot))?;
        let mut place = self.scheme(sheet)?.place(sheet_size, page)?;
        place.face_from_page = place.face_from_page
            * slipsheet_base::geometry::Affine::shift(self.toward_spine(page, sheet, caliper), 0.0);
        Some(BookletPlace { sheet, place })
    }

    /// How far a page moves to the right on its panel so that outer margins are equal after trimming, in mm.
    pub fn toward_spine(&self, page: u32, sheet: usize, caliper: Mm) -> f64 {
        let by = if self.compensate { self.creep(sheet, caliper) } else { 0.0 };
        // The spine lies right of a left page, and left pages have even places.
        if self.slot(page).is_multiple_of(2) { by } else { -by }
    }

    /// How far a sheet's fore-edge stands out beyond the outermost sheet's, in mm.
    ///
    /// A fold that is pressed flat goes squarely round the sheets inside it: with `j` of them its spine is
    /// `(2 j + 1)` calipers wide, half of which each of its leaves loses. Against the outermost sheet of `n`
    /// (`j = n - 1`) the sheet counted `s` from outside (`j = n - 1 - s`) gains `s` calipers. A round spine
    /// would make it pi / 2 of that. (Common practice, no source, takes one caliper a sheet as well.)
    pub fn creep(&self, sheet: usize, caliper: Mm) -> f64 {
        match self.bound {
            Bound::Saddle => sheet as f64 * caliper.get(),
            Bound::Perfect => 0.0,
        }
    }

    /// Width of the spine in mm: every leaf's caliper.
    pub fn spine(&self, caliper: Mm) -> f64 {
        self.leaves() as f64 * caliper.get()
    }

    /// Where stitches go on the front of the outermost sheet: a quarter of the height from head and foot
    /// (common practice, no source). None where leaves are glued.
    pub fn stitches(&self, sheet_size: Size) -> Vec<Point> {
        let (x, h) = (sheet_size.width.get() / 2.0, sheet_size.height.get());
        match self.bound {
            Bound::Saddle => vec![Point::new(x, h / 4.0), Point::new(x, 3.0 * h / 4.0)],
            Bound::Perfect => vec![],
        }
    }

    pub fn face_of(&self, page: u32) -> Option<(usize, Face)> {
        let slot = self.slot(page);
        (1..=self.pages).contains(&page).then_some(())?;
        (0..self.sheets()).find_map(|s| {
            let at = self.slots(s).iter().position(|x| *x == slot)?;
            Some((s, if at < 2 { Face::Front } else { Face::Back }))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn booklet(pages: u32, bound: Bound) -> Booklet {
        Booklet { pages, bound, ..Booklet::default() }
    }

    #[test]
    fn two_pages_on_a_side_of_a_saddle_stitched_sheet_sum_to_one_more_than_all() {
        for pages in 1..=64 {
            let b = booklet(pages, Bound::Saddle);
            for s in 0..b.sheets() {
                let [a, c, d, e] = b.slots(s);
                assert_eq!((a + c, d + e), (b.total() + 1, b.total() + 1));
            }
        }
    }

    #[test]
    fn every_place_is_filled_once_and_leaves_have_consecutive_pages() {
        for bound in [Bound::Saddle, Bound::Perfect] {
            for pages in 1..=41 {
                let b = booklet(pages, bound);
                let mut all: Vec<u32> = (0..b.sheets()).flat_map(|s| b.slots(s)).collect();
                all.sort_unstable();
                assert_eq!(all, (1..=b.total()).collect::<Vec<_>>());
                for s in 0..b.sheets() {
                    let [left, right, back_left, back_right] = b.slots(s);
                    for (front, back) in [(left, back_right), (right, back_left)] {
                        assert_eq!((front.min(back) % 2, front.abs_diff(back)), (1, 1));
                    }
                }
            }
        }
    }

    #[test]
    fn a_sheet_of_a_saddle_stitched_booklet_folds_into_a_card() {
        let scheme = booklet(4, Bound::Saddle).scheme(0).unwrap();
        assert_eq!(scheme.check(), Ok(()));
    }

    #[test]
    fn blanks_fill_up_to_a_multiple_of_four_where_they_are_wanted() {
        let mut b = booklet(6, Bound::Saddle);
        assert_eq!((b.total(), b.blank_pages(), b.sheets()), (8, 2, 2));
        assert_eq!((1..=8).map(|s| b.page_in(s)).collect::<Vec<_>>(), [1, 2, 3, 4, 5, 6, 7, 8]);
        b.blanks = Blanks::InsideCovers;
        // Place 2 and place 7 stay blank; the last page is the back cover.
        assert_eq!((1..=8).map(|s| b.page_in(s)).collect::<Vec<_>>(), [1, 7, 2, 3, 4, 5, 8, 6]);
    }

    #[test]
    fn the_innermost_sheet_creeps_a_caliper_for_every_sheet_outside_it() {
        let b = booklet(32, Bound::Saddle);
        let caliper = Mm::new(0.1);
        assert!((b.creep(7, caliper) - 0.7).abs() < 1e-12 && b.creep(0, caliper) == 0.0);
        assert!((b.spine(caliper) - 1.6).abs() < 1e-12);
        let size = Size::mm(297.0, 210.0);
        // Pages 16 and 17 are the middle spread: both move toward the spine.
        let (left, right) = (b.place(size, 16, caliper).unwrap(), b.place(size, 17, caliper).unwrap());
        assert_eq!(
            (left.sheet, right.sheet, left.place.face, right.place.face),
            (7, 7, Face::Back, Face::Back)
        );
        let at = |p: &BookletPlace| (p.place.face_from_page * Point::default()).x - p.place.rect.x;
        assert!((at(&left) - 0.7).abs() < 1e-9 && (at(&right) + 0.7).abs() < 1e-9);
    }
}
