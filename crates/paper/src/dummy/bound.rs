//! A booklet of several sheets in space: its sheets are laid on one another, folded and stitched or cut apart
//! and glued, trimmed, and then its leaves turn.
//!
//! Leaves are counted as they are read. Each is a panel that turns about the spine; where it lies follows from how
//! much of each step is done, and in the bound booklet from how often it was opened.

use super::bend::{self, Bends, smooth};
use super::mesh::{Folded, Moment};
use super::timeline::{Step, StepKind};
use crate::booklet::{self, Booklet};
use crate::construction::Construction;
use crate::fold::{Face, FoldedPanel, PagePlace, Vec3, middle_of};
use slipsheet_base::geometry::Point;
use slipsheet_base::units::{Mm, Size};

/// Most degrees between neighbouring leaves of the closed booklet, and between its first and its last leaf.
const LEAF_GAP: (f64, f64) = (1.6, 14.0);
/// Room between sheets that lie beside each other, in parts of a sheet.
const BESIDE: f64 = 0.08;

/// A booklet as the dummy folds it.
#[derive(Debug, Clone, PartialEq)]
pub struct Bound {
    booklet: Booklet,
    sheet: Size,
    caliper: f64,
    /// What is cut off head, foot and fore-edge, in mm, besides creep.
    trim: f64,
}

/// What is done to the sheets, in order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Phase {
    Gather,
    Fold,
    CutApart,
    Trim,
}

/// A leaf: the sheet it is part of, and the left edges of its two pages on their faces.
struct Leaf {
    sheet: usize,
    recto: (Face, f64),
    verso: (Face, f64),
}

impl Bound {
    /// The booklet of a construction; `None` when it has none.
    pub fn of(made: &Construction<'_>) -> Option<Self> {
        let booklet = made.booklet?.clone();
        Some(Self { booklet, sheet: made.sheet, caliper: made.caliper, trim: made.trim.get() })
    }

    pub fn booklet(&self) -> &Booklet {
        &self.booklet
    }

    fn phases(&self) -> Vec<Phase> {
        let mut phases = Vec::new();
        if self.booklet.sheets() > 1 {
            phases.push(Phase::Gather);
        }
        phases.push(match self.booklet.bound {
            booklet::Bound::Saddle => Phase::Fold,
            booklet::Bound::Perfect => Phase::CutApart,
        });
        if self.trim > 0.0 || self.creep(self.booklet.sheets() - 1) > 0.0 {
            phases.push(Phase::Trim);
        }
        phases
    }

    pub fn steps(&self) -> Vec<Step> {
        let made = self.phases().into_iter().map(|phase| {
            let label = match phase {
                Phase::Gather => "Gather the sheets",
                Phase::Fold => "Fold and stitch",
                Phase::CutApart => "Cut apart, stack, glue",
                Phase::Trim => "Trim the edges",
            };
            Step { kind: StepKind::Fold, label: label.to_owned() }
        });
        let turned = (0..self.openings())
            .map(|i| Step { kind: StepKind::Open, label: format!("Turn page {}", 2 * i + 1) });
        made.chain(turned).collect()
    }

    /// Steps before the first page turns.
    pub fn folds(&self) -> usize {
        self.phases().len()
    }

    /// How often a leaf can be turned.
    pub fn openings(&self) -> usize {
        self.booklet.leaves()
    }

    /// The booklet with `fold` of its making done (0..=1), opened `open` times.
    pub fn folded(&self, fold: f64, open: f64) -> Folded {
        let openings = self.openings() as f64;
        let fold = if fold.is_nan() { 0.0 } else { fold.clamp(0.0, 1.0) };
        let open = if open.is_nan() || fold < 1.0 { 0.0 } else { open.clamp(0.0, openings) };
        let mut panels = self.panels(fold, open);
        let (held, radius) = if fold < 1.0 {
            middle(&panels)
        } else {
            // It glides from one resting place to the next, as one's eye follows the open spread.
            let (from, to) =
                (middle(&self.panels(1.0, open.floor())), middle(&self.panels(1.0, open.ceil())));
            let t = smooth(open - open.floor());
            (from.0 + (to.0 - from.0) * t, from.1 + (to.1 - from.1) * t)
        };
        panels.iter_mut().for_each(|p| p.corners = p.corners.map(|c| c - held));
        let n = panels.len();
        let bends = if fold < 1.0 {
            Bends { arcs: vec![0.0; n], openness: 0.0 }
        } else {
            bend::of_leaves(&panels, &self.panels(1.0, 0.0), openings, open)
        };
        // A sheet is one piece until it is folded; a bound spine shows the paper's edge.
        let whole = fold < 1.0 && self.done(fold, Phase::Fold).max(self.done(fold, Phase::CutApart)) <= 0.0;
        let shared = vec![[false, false, false, whole]; n];
        Folded::of(&Moment {
            panels,
            shared,
            hinges: vec![Some(3); n],
            bends,
            radius,
            thickness: self.caliper,
        })
    }

    /// The pages whose numbers may be seen then, each with its sheet.
    pub fn places(&self, fold: f64, open: f64) -> Vec<(usize, PagePlace)> {
        let total = self.booklet.total();
        let near = |slot: u32| {
            // In the bound booklet only the covers and the leaves about the opening come to light.
            let leaf = f64::from((slot - 1) / 2);
            fold < 1.0 || slot <= 2 || slot + 1 >= total || (leaf - open).abs() <= 2.0
        };
        let pages = (1..=self.booklet.pages).filter(|page| near(self.booklet.slot(*page)));
        let placed = pages.filter_map(|page| self.booklet.place(self.sheet, page, Mm::ZERO));
        placed.map(|p| (p.sheet, p.place)).collect()
    }

    /// How much of a step is done; all of it where there is no such step and the booklet is bound.
    fn done(&self, fold: f64, phase: Phase) -> f64 {
        let phases = self.phases();
        match phases.iter().position(|p| *p == phase) {
            Some(at) => smooth(fold * phases.len() as f64 - at as f64),
            None => 0.0,
        }
    }

    fn creep(&self, sheet: usize) -> f64 {
        self.booklet.creep(sheet, Mm::new(self.caliper))
    }

    fn leaf(&self, i: usize) -> Option<Leaf> {
        let half = self.sheet.width.get() / 2.0;
        let place = |slot: u32| {
            (0..self.booklet.sheets()).find_map(|sheet| {
                let at = self.booklet.slots(sheet).iter().position(|s| *s == slot)?;
                let face = if at < 2 { Face::Front } else { Face::Back };
                Some((sheet, (face, half * (at % 2) as f64)))
            })
        };
        let (sheet, recto) = place(2 * i as u32 + 1)?;
        let (_, verso) = place(2 * i as u32 + 2)?;
        Some(Leaf { sheet, recto, verso })
    }

    /// Every leaf where it lies.
    fn panels(&self, fold: f64, open: f64) -> Vec<FoldedPanel> {
        let trimmed = self.done(fold, Phase::Trim);
        let (half, height) = (self.sheet.width.get() / 2.0, self.sheet.height.get());
        let panel = |i: usize| {
            let leaf = self.leaf(i)?;
            let (hinge, angle) = self.stand(i, &leaf, fold, open);
            let (x1, y0) =
                (half - trimmed * (self.trim + self.creep(leaf.sheet)).min(half * 0.9), trimmed * self.trim);
            let y0 = y0.min(height * 0.4);
            let corners = [(0.0, y0), (x1, y0), (x1, height - y0), (0.0, height - y0)];
            let at = |(x, y): (f64, f64)| hinge + Vec3::new(x, height / 2.0 - y, 0.0).yawed(angle);
            let recto = |(x, y): (f64, f64)| Point::new(leaf.recto.1 + x, y);
            let verso = |(x, y): (f64, f64)| Point::new(leaf.verso.1 + half - x, y);
            Some(FoldedPanel {
                corners: corners.map(at),
                front: Some((leaf.recto.0, corners.map(recto))),
                back: Some((leaf.verso.0, corners.map(verso))),
                sheet: leaf.sheet,
            })
        };
        (0..self.booklet.leaves()).filter_map(panel).collect()
    }

    /// Where a leaf's spine lies, and its angle there in degrees from the right, away from the viewer.
    fn stand(&self, i: usize, leaf: &Leaf, fold: f64, open: f64) -> (Vec3, f64) {
        let t = self.caliper;
        let leaves = self.booklet.leaves() as f64;
        let gap = LEAF_GAP.0.min(LEAF_GAP.1 / leaves);
        let nth = i as f64;
        // In the bound booklet leaves lie under one another on both sides of the opening.
        let turned = smooth(open - nth);
        let right = (nth - open).max(0.0) * gap;
        let left = (open - 1.0 - nth).max(0.0) * gap;
        let creep = self.creep(leaf.sheet);
        let depth = (nth - open).max(open - 1.0 - nth);
        let bound = (
            Vec3::new(creep * (1.0 - 2.0 * turned), 0.0, -t * depth),
            right * (1.0 - turned) - (180.0 + left) * turned,
        );
        if fold >= 1.0 {
            return bound;
        }
        let lies = self.beside(leaf.sheet) * (1.0 - self.done(fold, Phase::Gather));
        let flat = lies + Vec3::new(0.0, 0.0, -t * leaf.sheet as f64);
        let on_the_left = leaf.recto.0 == Face::Back;
        match self.booklet.bound {
            booklet::Bound::Saddle => {
                let done = self.done(fold, Phase::Fold);
                let from = if on_the_left { 180.0 } else { 0.0 };
                (flat + (bound.0 - flat) * done, from + (bound.1 - from) * done)
            }
            booklet::Bound::Perfect => {
                let done = self.done(fold, Phase::CutApart);
                let half = self.sheet.width.get() / 2.0;
                let moves = leaf.recto.1 < half / 2.0;
                let from = flat - Vec3::new(if moves { half } else { 0.0 }, 0.0, 0.0);
                // The left halves are lifted over the right ones.
                let lift = if moves { 0.35 * half * libm::sin(std::f64::consts::PI * done) } else { 0.0 };
                (from + (bound.0 - from) * done + Vec3::new(0.0, 0.0, lift), bound.1 * done)
            }
        }
    }

    /// Where a sheet lies before it is gathered: row by row, as nearly square as it goes.
    fn beside(&self, sheet: usize) -> Vec3 {
        let n = self.booklet.sheets();
        if n < 2 {
            return Vec3::default();
        }
        let (w, h) = (
            self.sheet.width.get() * (1.0 + BESIDE),
            self.sheet.height.get() + self.sheet.width.get() * BESIDE,
        );
        let columns = (libm::round(libm::sqrt(n as f64 * h / w * 1.3)).max(1.0) as usize).min(n);
        let (col, row) = ((sheet % columns) as f64, (sheet / columns) as f64);
        let rows = n.div_ceil(columns) as f64;
        Vec3::new((col - (columns as f64 - 1.0) / 2.0) * w, ((rows - 1.0) / 2.0 - row) * h, 0.0)
    }
}

/// The middle of a pose, and the distance from it within which it lies.
fn middle(panels: &[FoldedPanel]) -> (Vec3, f64) {
    let centre = middle_of(panels);
    (centre, panels.iter().flat_map(|p| p.corners).map(|c| (c - centre).length()).fold(1.0, f64::max))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::booklet::Blanks;
    use crate::dummy::{DummyView, Piece};

    fn piece(pages: u32, bound: booklet::Bound) -> Piece {
        let booklet = Booklet { pages, bound, blanks: Blanks::End, compensate: true };
        Piece::of(&Construction {
            sheet: Size::mm(297.0, 210.0),
            caliper: 0.1,
            trim: Mm::default(),
            fold: None,
            booklet: Some(&booklet),
        })
    }

    fn marks(piece: &Piece, fold: f64, open: f64, yaw: f64) -> Vec<u32> {
        let view = DummyView { yaw, ..DummyView::facing(600, 600, [0; 3]) };
        piece.page_marks(&piece.folded(fold, open), (fold, open), &view).iter().map(|m| m.page).collect()
    }

    #[test]
    fn every_spread_of_a_bound_booklet_shows_its_two_pages() {
        for bound in [booklet::Bound::Saddle, booklet::Bound::Perfect] {
            for pages in [4, 16, 28, 100] {
                let piece = piece(pages, bound);
                assert_eq!(marks(&piece, 1.0, 0.0, 0.0), [1], "{bound:?}");
                for open in 1..pages / 2 {
                    let seen = marks(&piece, 1.0, f64::from(open), 0.0);
                    assert_eq!(seen, [2 * open, 2 * open + 1], "{bound:?} of {pages}");
                }
                assert_eq!(marks(&piece, 1.0, f64::from(pages / 2), 0.0), [pages]);
                assert_eq!(marks(&piece, 1.0, 0.0, 180.0), [pages]);
            }
        }
    }

    #[test]
    fn flat_sheets_lie_beside_one_another_with_their_pages_on_both_faces() {
        for bound in [booklet::Bound::Saddle, booklet::Bound::Perfect] {
            let piece = piece(16, bound);
            let mut all = marks(&piece, 0.0, 0.0, 0.0);
            assert_eq!(all.len(), 8, "{all:?}");
            all.extend(marks(&piece, 0.0, 0.0, 180.0));
            all.sort_unstable();
            assert_eq!(all, (1..=16).collect::<Vec<_>>());
        }
    }

    /// Each leaf keeps its size, whatever is done to it, but for what is trimmed.
    #[test]
    fn leaves_stay_rigid_and_lie_flush_once_they_are_trimmed() {
        let Piece::Booklet(bound) = piece(32, booklet::Bound::Saddle) else { panic!("a booklet") };
        for fold in [0.0, 0.2, 0.4, 0.5, 0.6] {
            for p in bound.panels(fold, 0.0) {
                let [tl, tr, _, bl] = p.corners;
                assert!(
                    ((tr - tl).length() - 148.5).abs() < 1e-9 && ((bl - tl).length() - 210.0).abs() < 1e-9
                );
            }
        }
        let edge = |p: &FoldedPanel| (p.corners[1] - p.corners[0]).length() + p.corners[0].x;
        let untrimmed: Vec<f64> = bound.panels(0.6667, 0.0).iter().map(edge).collect();
        // The innermost of eight sheets stands out by seven calipers.
        assert!((untrimmed[7] - untrimmed[0] - 0.7).abs() < 1e-3, "{untrimmed:?}");
        let trimmed = bound.panels(1.0, 0.0);
        assert!(trimmed.iter().all(|p| (edge(p) - 148.5).abs() < 1e-9));
    }

    #[test]
    fn a_booklet_moves_without_a_jump() {
        for bound in [booklet::Bound::Saddle, booklet::Bound::Perfect] {
            let Piece::Booklet(b) = piece(12, bound) else { panic!("a booklet") };
            let folds = b.folds() as f64;
            let corners = |time: f64| -> Vec<Vec3> {
                let (fold, open) = if time < folds { (time / folds, 0.0) } else { (1.0, time - folds) };
                b.panels(fold, open).iter().flat_map(|p| p.corners).collect()
            };
            let steps = (b.steps().len() as f64 / 0.01) as usize;
            for i in 0..steps {
                let (now, next) = (corners(i as f64 * 0.01), corners((i + 1) as f64 * 0.01));
                let far = now.iter().zip(&next).map(|(a, b)| (*a - *b).length()).fold(0.0, f64::max);
                assert!(far < 9.0, "{bound:?} jumps by {far} mm at {}", i as f64 * 0.01);
            }
        }
    }
}
