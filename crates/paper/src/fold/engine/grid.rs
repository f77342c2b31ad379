//! The panel grid of a flat sheet in mm: its cells, the edges between them, and what hangs together.

use super::{NEAR, Placed, Stack};
use crate::fold::scheme::{Crease, Face, GridLine, Scheme, Slit};
use slipsheet_base::geometry::{Affine, Point, Rect};
use slipsheet_base::units::Size;

/// The panel grid in mm, with its cuts.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::fold) struct Grid {
    xs: Vec<f64>,
    ys: Vec<f64>,
    slits: Vec<Slit>,
}

/// One edge between two cells.
pub(super) struct Edge {
    pub line: GridLine,
    pub at: usize,
    pub before: (usize, usize),
    pub after: (usize, usize),
    /// A point of it on the flat sheet.
    pub point: Point,
}

impl Grid {
    pub(super) fn of(scheme: &Scheme, sheet: Size) -> Self {
        Self {
            xs: scheme.column_lines(sheet, Face::Front),
            ys: scheme.row_lines(sheet),
            slits: scheme.slits.clone(),
        }
    }

    fn columns(&self) -> usize {
        self.xs.len().saturating_sub(1)
    }

    fn rows(&self) -> usize {
        self.ys.len().saturating_sub(1)
    }

    pub(in crate::fold) fn index(&self, (c, r): (usize, usize)) -> usize {
        r * self.columns() + c
    }

    pub(in crate::fold) fn rect(&self, (c, r): (usize, usize)) -> Rect {
        let span = |lines: &[f64], i: usize| match (lines.get(i), lines.get(i + 1)) {
            (Some(a), Some(b)) => (*a, b - a),
            _ => (0.0, 0.0),
        };
        let ((x, width), (y, height)) = (span(&self.xs, c), span(&self.ys, r));
        Rect { x, y, width, height }
    }

    pub(super) fn flat(&self) -> Stack {
        let cells = (0..self.rows()).flat_map(|r| (0..self.columns()).map(move |c| (c, r)));
        let placed = |cell| Placed { cell, plane_from_sheet: Affine::IDENTITY, front_up: true };
        Stack { layers: cells.map(placed).collect() }
    }

    pub(super) fn is_slit(&self, line: GridLine, at: usize) -> bool {
        self.slits.iter().any(|s| s.line == line && (s.from..s.to).contains(&at))
    }

    pub(super) fn edges(&self, crease: &Crease) -> Vec<Edge> {
        let whole = match crease.line {
            GridLine::Vertical(_) => self.rows(),
            GridLine::Horizontal(_) => self.columns(),
        };
        let (from, to) = crease.span.unwrap_or((0, whole));
        (from..to.min(whole)).filter_map(|at| self.edge(crease.line, at)).collect()
    }

    fn edge(&self, line: GridLine, at: usize) -> Option<Edge> {
        let (before, after) = match line {
            GridLine::Vertical(i) => ((i.checked_sub(1)?, at), (i, at)),
            GridLine::Horizontal(i) => ((at, i.checked_sub(1)?), (at, i)),
        };
        let r = self.rect(after);
        Some(Edge { line, at, before, after, point: Point::new(r.x, r.y) })
    }

    pub(super) fn all_edges(&self, vertical: bool) -> Vec<Edge> {
        let (lines, along) =
            if vertical { (self.columns(), self.rows()) } else { (self.rows(), self.columns()) };
        let line = |i| if vertical { GridLine::Vertical(i) } else { GridLine::Horizontal(i) };
        (1..lines).flat_map(|i| (0..along).filter_map(move |at| self.edge(line(i), at))).collect()
    }

    /// Everything that hangs on the seeds once the edges give, as indices in rising order.
    pub(super) fn moving(&self, edges: &[Edge], seeds: Vec<(usize, usize)>) -> Vec<usize> {
        let cut = |a: (usize, usize), b: (usize, usize)| {
            edges.iter().any(|e| (e.before, e.after) == (a, b) || (e.before, e.after) == (b, a))
        };
        let mut open = seeds;
        let mut found: Vec<usize> = Vec::new();
        while let Some(cell) = open.pop() {
            if found.contains(&self.index(cell)) {
                continue;
            }
            found.push(self.index(cell));
            open.extend(self.neighbours(cell).filter(|next| !cut(cell, *next)));
        }
        found.sort_unstable();
        found
    }

    /// The cells that hang together with one across an edge that is not slit.
    pub(in crate::fold) fn neighbours(
        &self,
        (c, r): (usize, usize),
    ) -> impl Iterator<Item = (usize, usize)> + '_ {
        let left = (c > 0 && !self.is_slit(GridLine::Vertical(c), r)).then(|| (c - 1, r));
        let right =
            (c + 1 < self.columns() && !self.is_slit(GridLine::Vertical(c + 1), r)).then_some((c + 1, r));
        let above = (r > 0 && !self.is_slit(GridLine::Horizontal(r), c)).then(|| (c, r - 1));
        let below =
            (r + 1 < self.rows() && !self.is_slit(GridLine::Horizontal(r + 1), c)).then_some((c, r + 1));
        [left, right, above, below].into_iter().flatten()
    }
}

/// Whether two rectangles share more than an edge.
pub(in crate::fold) fn overlap(a: Rect, b: Rect) -> bool {
    a.x + NEAR < b.x + b.width
        && b.x + NEAR < a.x + a.width
        && a.y + NEAR < b.y + b.height
        && b.y + NEAR < a.y + a.height
}
