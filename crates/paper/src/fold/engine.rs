//! Folds a scheme flat, step by step: where every panel lies in the stack and which face it shows.
//!
//! The stack lies on a plane seen from above, in mm, as the front of the flat sheet does. A step turns all that
//! hangs on one side of a crease by half a turn, over the rest or under it. Such a step is possible when the
//! paper parts along the crease, when the crease lies on one line of the stack, and when nothing that stays
//! lies in the way; the engine says which of these fails.

mod crease;
pub(super) mod error;
mod grid;
pub(super) mod read;
pub(super) mod ring;

pub(super) use grid::overlap;

use super::scheme::{Binding, Face, Fold, GridLine, Scheme};
use error::FoldError;
use grid::Grid;
use slipsheet_base::geometry::{Affine, Rect};
use slipsheet_base::units::Size;

/// Lengths closer than this are the same, in mm.
pub(super) const NEAR: f64 = 1e-6;

/// A panel in the stack.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// Column and row on the front of the sheet.
    pub cell: (usize, usize),
    /// From the flat sheet to the plane of the stack.
    pub plane_from_sheet: Affine,
    /// Whether the front of the sheet faces up.
    pub front_up: bool,
}

/// Panels lying on one another.
#[derive(Debug, Clone, PartialEq)]
pub struct Stack {
    /// The lowest one first.
    pub layers: Vec<Placed>,
}

/// The side of the stack.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Over {
    /// The side that faces up.
    Top,
    /// The side that faces down.
    Bottom,
}

/// One edge between two panels that a step creased, with the way it bends there seen on the front.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CreaseEdge {
    pub line: GridLine,
    /// Which row (of a vertical line) or column (of a horizontal one).
    pub at: usize,
    pub fold: Fold,
}

#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    pub stack: Stack,
    /// Where what moved came to lie.
    pub onto: Over,
    /// The crease's line in the plane: its x when it stands, its y when it lies, in mm.
    pub axis: f64,
    /// Whether that line stands.
    pub vertical: bool,
    /// What moved, as indices of cells row by row.
    pub moved: Vec<usize>,
    pub edges: Vec<CreaseEdge>,
    /// Whether it creased several layers at once.
    pub layered: bool,
}

/// A sheet folded flat, with every step on the way.
#[derive(Debug, Clone, PartialEq)]
pub struct Folding {
    pub flat: Stack,
    pub steps: Vec<Step>,
    pub(super) grid: Grid,
}

impl Folding {
    /// Folds a scheme's creases one after the other.
    ///
    /// # Errors
    /// When a step cannot be done with paper.
    pub fn of(scheme: &Scheme, sheet: Size) -> Result<Self, FoldError> {
        let grid = Grid::of(scheme, sheet);
        let flat = grid.flat();
        let mut steps: Vec<Step> = Vec::with_capacity(scheme.creases.len());
        for (i, crease) in scheme.creases.iter().enumerate() {
            let before = steps.last().map_or(&flat, |s| &s.stack);
            // The leaves of a section are all folded together.
            let step = before.fold(&grid, crease, scheme.binding == Binding::Section, i + 1)?;
            steps.push(step);
        }
        let folding = Self { flat, steps, grid };
        debug_assert!(folding.unfolds(), "{} unfolds into another sheet", scheme.id);
        Ok(folding)
    }

    /// A scheme's sheet before anything is folded.
    pub(super) fn flat(scheme: &Scheme, sheet: Size) -> Self {
        let grid = Grid::of(scheme, sheet);
        Self { flat: grid.flat(), steps: Vec::new(), grid }
    }

    pub fn after(&self, steps: usize) -> &Stack {
        steps.checked_sub(1).and_then(|i| self.steps.get(i)).map_or(&self.flat, |s| &s.stack)
    }

    pub fn folded(&self) -> &Stack {
        self.after(self.steps.len())
    }

    /// Where a panel lies in the plane, in mm.
    pub fn rect(&self, placed: &Placed) -> Rect {
        placed.plane_from_sheet.bounds(self.grid.rect(placed.cell))
    }

    /// Every creased edge, as it bends on the front.
    pub fn creases(&self) -> impl Iterator<Item = CreaseEdge> + '_ {
        self.steps.iter().flat_map(|s| s.edges.iter().copied())
    }

    /// Whether each step, taken back, leaves the stack that it began with and not the one that it made.
    fn unfolds(&self) -> bool {
        self.steps.iter().enumerate().all(|(i, step)| {
            let back = self.unfold(step);
            self.same(&back, self.after(i)) && !self.same(&back, self.after(i + 1))
        })
    }

    /// Takes a step back: what moved turns to where it was.
    fn unfold(&self, step: &Step) -> Stack {
        let moved = |p: &&Placed| step.moved.contains(&self.grid.index(p.cell));
        let stays: Vec<Placed> = step.stack.layers.iter().filter(|p| !moved(p)).copied().collect();
        let turned = step.stack.layers.iter().rev().filter(moved).map(|p| p.turned(step.axis, step.vertical));
        Stack::joined(stays, turned.collect(), step.onto)
    }

    /// Whether two stacks are the same to the eye: panels lie alike, and where two lie on one another the same
    /// one is on top.
    fn same(&self, a: &Stack, b: &Stack) -> bool {
        let place = |s: &Stack, cell| s.layers.iter().position(|p| p.cell == cell);
        let alike = |p: &Placed| {
            let Some(other) = place(b, p.cell).and_then(|i| b.layers.get(i)) else { return false };
            let centre = self.grid.rect(p.cell).centre();
            other.front_up == p.front_up
                && (other.plane_from_sheet * centre).distance(p.plane_from_sheet * centre) < NEAR
        };
        let ordered = |(i, p): (usize, &Placed)| {
            a.layers[..i]
                .iter()
                .all(|q| !overlap(self.rect(p), self.rect(q)) || place(b, q.cell) < place(b, p.cell))
        };
        a.layers.len() == b.layers.len()
            && a.layers.iter().all(alike)
            && a.layers.iter().enumerate().all(ordered)
    }

    /// What one sees from a side: faces whose middle no other panel hides, with their rectangle in the plane.
    pub fn visible(&self, stack: &Stack, from: Over) -> Vec<((usize, usize), Face, Rect)> {
        let nearer = |i: usize| match from {
            Over::Top => stack.layers.get(i + 1..).unwrap_or_default(),
            Over::Bottom => stack.layers.get(..i).unwrap_or_default(),
        };
        let seen = |(i, p): (usize, &Placed)| {
            let rect = self.rect(p);
            let middle = rect.centre();
            let hidden = nearer(i).iter().any(|q| self.rect(q).contains(middle));
            (!hidden).then_some((p.cell, p.shows(from), rect))
        };
        stack.layers.iter().enumerate().filter_map(seen).collect()
    }
}

impl Placed {
    pub fn shows(&self, side: Over) -> Face {
        if self.front_up == (side == Over::Top) { Face::Front } else { Face::Back }
    }

    fn turned(self, axis: f64, vertical: bool) -> Self {
        let mirror = if vertical {
            Affine::shift(2.0 * axis, 0.0) * Affine::scale(-1.0, 1.0)
        } else {
            Affine::shift(0.0, 2.0 * axis) * Affine::scale(1.0, -1.0)
        };
        Self { plane_from_sheet: mirror * self.plane_from_sheet, front_up: !self.front_up, cell: self.cell }
    }
}

impl Stack {
    fn joined(stays: Vec<Placed>, moved: Vec<Placed>, onto: Over) -> Self {
        let (low, high) = if onto == Over::Top { (stays, moved) } else { (moved, stays) };
        Self { layers: low.into_iter().chain(high).collect() }
    }
}
