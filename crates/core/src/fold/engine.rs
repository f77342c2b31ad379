//! Folds a scheme flat, step by step: where every panel lies in the stack and which face it shows.
//!
//! The stack lies on a plane seen from above, in mm, as the front of the flat sheet does. A step turns all that
//! hangs on one side of a crease by half a turn, over the rest or under it. Such a step is possible when the
//! paper parts along the crease, when the crease lies on one line of the stack, and when nothing that stays
//! lies in the way; the engine says which of these fails.

use super::engine_error::FoldError;
use super::scheme::{Binding, Crease, Face, Fold, GridLine, Scheme, Side, Slit};
use crate::geometry::{Affine, Point, Rect};
use crate::units::Size;

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
    /// The grid line.
    pub line: GridLine,
    /// Which row (of an upright line) or column (of a lying one).
    pub at: usize,
    /// Which way.
    pub fold: Fold,
}

/// What a step did.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// The stack afterwards.
    pub stack: Stack,
    /// Where what moved came to lie.
    pub onto: Over,
    /// The crease's line in the plane: its x when it stands, its y when it lies, in mm.
    pub axis: f64,
    /// Whether that line stands.
    pub upright: bool,
    /// What moved, as indices of cells row by row.
    pub moved: Vec<usize>,
    /// The edges creased.
    pub edges: Vec<CreaseEdge>,
    /// Whether it creased several layers at once.
    pub layered: bool,
}

/// A sheet folded flat, with every step on the way.
#[derive(Debug, Clone, PartialEq)]
pub struct Folding {
    /// The flat sheet.
    pub flat: Stack,
    /// After each step.
    pub steps: Vec<Step>,
    pub(super) grid: Grid,
}

/// The panel grid in mm, with its cuts.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Grid {
    xs: Vec<f64>,
    ys: Vec<f64>,
    slits: Vec<Slit>,
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
        Ok(Self { flat, steps, grid })
    }

    /// A scheme's sheet before anything is folded.
    pub(super) fn flat(scheme: &Scheme, sheet: Size) -> Self {
        let grid = Grid::of(scheme, sheet);
        Self { flat: grid.flat(), steps: Vec::new(), grid }
    }

    /// The stack after so many steps.
    pub fn after(&self, steps: usize) -> &Stack {
        steps.checked_sub(1).and_then(|i| self.steps.get(i)).map_or(&self.flat, |s| &s.stack)
    }

    /// The folded stack.
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

    /// Takes a step back: what moved turns to where it was.
    pub fn unfold(&self, step: &Step) -> Stack {
        let moved = |p: &&Placed| step.moved.contains(&self.grid.index(p.cell));
        let stays: Vec<Placed> = step.stack.layers.iter().filter(|p| !moved(p)).copied().collect();
        let turned = step.stack.layers.iter().rev().filter(moved).map(|p| p.turned(step.axis, step.upright));
        Stack::joined(stays, turned.collect(), step.onto)
    }

    /// Whether two stacks are the same to the eye: panels lie alike, and where two lie on one another the same
    /// one is on top.
    pub fn same(&self, a: &Stack, b: &Stack) -> bool {
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
    /// The face it shows to a side.
    pub fn shows(&self, side: Over) -> Face {
        if self.front_up == (side == Over::Top) { Face::Front } else { Face::Back }
    }

    fn turned(self, axis: f64, upright: bool) -> Self {
        let mirror = if upright {
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

    /// Folds one crease. A stack is creased through every layer that lies there when `through` says so, or when
    /// the named line alone would leave paper in the way.
    fn fold(&self, grid: &Grid, crease: &Crease, through: bool, step: usize) -> Result<Step, FoldError> {
        let named = grid.edges(crease);
        if named.is_empty() || named.iter().any(|e| grid.is_slit(e.line, e.at)) {
            return Err(FoldError::OnSlit { step });
        }
        let hinge = self.hinge(grid, crease, &named, step)?;
        let all = self.edges_on(grid, &hinge);
        let alone = |edges: &[Edge]| self.turn(grid, edges, &hinge, step);
        if crease.span.is_some() {
            return alone(&named);
        }
        if through || all.len() < named.len() {
            return alone(&all);
        }
        alone(&named)
            .or_else(|why| if all.len() > named.len() { alone(&all).map_err(|_also| why) } else { Err(why) })
    }

    /// Where the named edges lie in the stack, and which way they bend.
    fn hinge(&self, grid: &Grid, crease: &Crease, named: &[Edge], step: usize) -> Result<Hinge, FoldError> {
        let upright = matches!(crease.line, GridLine::Vertical(_));
        let across = |p: Point| if upright { p.x } else { p.y };
        let mut found: Option<(f64, f64)> = None;
        let mut anchor: Option<bool> = None;
        for edge in named {
            let (stay, go) = match crease.moves {
                Side::Before => (edge.after, edge.before),
                Side::After => (edge.before, edge.after),
            };
            let (Some(stay), Some(go)) = (self.find(stay), self.find(go)) else {
                return Err(FoldError::NotThrough { step });
            };
            let here = across(stay.plane_from_sheet * edge.point);
            if stay.plane_from_sheet != go.plane_from_sheet {
                return Err(FoldError::Twice { step });
            }
            if found.is_some_and(|(axis, _)| (axis - here).abs() > NEAR) {
                return Err(FoldError::Bent { step });
            }
            let side = across(go.plane_from_sheet * grid.rect(go.cell).centre()) - here;
            found.get_or_insert((here, side.signum()));
            // The crease is named as seen on a panel that has kept its front up, where there is one.
            anchor = Some(anchor.unwrap_or(false) || stay.front_up);
        }
        let ((axis, side), Some(anchor)) = (found.ok_or(FoldError::NotThrough { step })?, anchor) else {
            return Err(FoldError::NotThrough { step });
        };
        let onto = if (crease.fold == Fold::Valley) == anchor { Over::Top } else { Over::Bottom };
        Ok(Hinge { upright, axis, side, onto })
    }

    fn find(&self, cell: (usize, usize)) -> Option<&Placed> {
        self.layers.iter().find(|p| p.cell == cell)
    }

    /// Every edge of flat paper that lies on the hinge's line.
    fn edges_on(&self, grid: &Grid, hinge: &Hinge) -> Vec<Edge> {
        let lies = |edge: &Edge| {
            let (Some(a), Some(b)) = (self.find(edge.before), self.find(edge.after)) else { return false };
            a.plane_from_sheet == b.plane_from_sheet
                && (hinge.across(a.plane_from_sheet * edge.point) - hinge.axis).abs() < NEAR
                && !grid.is_slit(edge.line, edge.at)
        };
        grid.all_edges(hinge.upright).into_iter().filter(lies).collect()
    }

    /// Turns everything that hangs beyond the edges over the hinge.
    fn turn(&self, grid: &Grid, edges: &[Edge], hinge: &Hinge, step: usize) -> Result<Step, FoldError> {
        let mut kept: Vec<(&Edge, &Placed)> = Vec::new();
        let mut seeds = Vec::new();
        for edge in edges {
            let (Some(before), Some(after)) = (self.find(edge.before), self.find(edge.after)) else {
                continue;
            };
            let centre = before.plane_from_sheet * grid.rect(before.cell).centre();
            let before_goes = (hinge.across(centre) - hinge.axis) * hinge.side > 0.0;
            let (stay, go) = if before_goes { (after, before) } else { (before, after) };
            kept.push((edge, stay));
            seeds.push(go.cell);
        }
        let moving = grid.moving(edges, seeds);
        if kept.iter().any(|(_, stay)| moving.contains(&grid.index(stay.cell))) {
            return Err(FoldError::NotThrough { step });
        }
        self.clear(grid, &moving, hinge, step)?;
        let is_moving = |p: &&Placed| moving.contains(&grid.index(p.cell));
        let stays = self.layers.iter().filter(|p| !is_moving(p)).copied().collect();
        let moved =
            self.layers.iter().rev().filter(is_moving).map(|p| p.turned(hinge.axis, hinge.upright)).collect();
        let over_front = |stay: &Placed| (hinge.onto == Over::Top) == stay.front_up;
        let bend = |(edge, stay): &(&Edge, &Placed)| CreaseEdge {
            line: edge.line,
            at: edge.at,
            fold: if over_front(stay) { Fold::Valley } else { Fold::Mountain },
        };
        let rects: Vec<Rect> =
            kept.iter().map(|(_, stay)| stay.plane_from_sheet.bounds(grid.rect(stay.cell))).collect();
        let layered = rects.iter().enumerate().any(|(i, a)| rects[..i].iter().any(|b| overlap(*a, *b)));
        Ok(Step {
            stack: Self::joined(stays, moved, hinge.onto),
            onto: hinge.onto,
            axis: hinge.axis,
            upright: hinge.upright,
            edges: kept.iter().map(bend).collect(),
            moved: moving,
            layered,
        })
    }

    /// Whether what moves lies on one side of the crease and has its way clear.
    fn clear(&self, grid: &Grid, moving: &[usize], hinge: &Hinge, step: usize) -> Result<(), FoldError> {
        let rect = |p: &Placed| p.plane_from_sheet.bounds(grid.rect(p.cell));
        for (i, p) in self.layers.iter().enumerate() {
            if !moving.contains(&grid.index(p.cell)) {
                continue;
            }
            let r = rect(p);
            let ends = [Point::new(r.x, r.y), Point::new(r.x + r.width, r.y + r.height)];
            if ends.iter().any(|e| (hinge.across(*e) - hinge.axis) * hinge.side < -NEAR) {
                return Err(FoldError::Past { step, cell: p.cell });
            }
            let in_the_way = match hinge.onto {
                Over::Top => self.layers.get(i + 1..),
                Over::Bottom => self.layers.get(..i),
            };
            let blocks = |q: &&Placed| !moving.contains(&grid.index(q.cell)) && overlap(r, rect(q));
            if let Some(by) = in_the_way.unwrap_or_default().iter().find(blocks) {
                return Err(FoldError::Blocked { step, cell: p.cell, by: by.cell });
            }
        }
        Ok(())
    }
}

/// A crease as it lies in the stack.
struct Hinge {
    upright: bool,
    /// Its x when it stands, its y when it lies.
    axis: f64,
    /// Which side of it moves, 1 or -1.
    side: f64,
    onto: Over,
}

impl Hinge {
    fn across(&self, p: Point) -> f64 {
        if self.upright { p.x } else { p.y }
    }
}

/// One edge between two cells.
struct Edge {
    line: GridLine,
    at: usize,
    before: (usize, usize),
    after: (usize, usize),
    /// A point of it on the flat sheet.
    point: Point,
}

impl Grid {
    fn of(scheme: &Scheme, sheet: Size) -> Self {
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

    pub(super) fn index(&self, (c, r): (usize, usize)) -> usize {
        r * self.columns() + c
    }

    pub(super) fn rect(&self, (c, r): (usize, usize)) -> Rect {
        let span = |lines: &[f64], i: usize| match (lines.get(i), lines.get(i + 1)) {
            (Some(a), Some(b)) => (*a, b - a),
            _ => (0.0, 0.0),
        };
        let ((x, width), (y, height)) = (span(&self.xs, c), span(&self.ys, r));
        Rect { x, y, width, height }
    }

    fn flat(&self) -> Stack {
        let cells = (0..self.rows()).flat_map(|r| (0..self.columns()).map(move |c| (c, r)));
        let placed = |cell| Placed { cell, plane_from_sheet: Affine::IDENTITY, front_up: true };
        Stack { layers: cells.map(placed).collect() }
    }

    fn is_slit(&self, line: GridLine, at: usize) -> bool {
        self.slits.iter().any(|s| s.line == line && (s.from..s.to).contains(&at))
    }

    fn edges(&self, crease: &Crease) -> Vec<Edge> {
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

    fn all_edges(&self, upright: bool) -> Vec<Edge> {
        let (lines, along) =
            if upright { (self.columns(), self.rows()) } else { (self.rows(), self.columns()) };
        let line = |i| if upright { GridLine::Vertical(i) } else { GridLine::Horizontal(i) };
        (1..lines).flat_map(|i| (0..along).filter_map(move |at| self.edge(line(i), at))).collect()
    }

    /// Everything that hangs on the seeds once the edges give, as indices in rising order.
    fn moving(&self, edges: &[Edge], seeds: Vec<(usize, usize)>) -> Vec<usize> {
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
    pub(super) fn neighbours(&self, (c, r): (usize, usize)) -> impl Iterator<Item = (usize, usize)> + '_ {
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
pub(super) fn overlap(a: Rect, b: Rect) -> bool {
    a.x + NEAR < b.x + b.width
        && b.x + NEAR < a.x + a.width
        && a.y + NEAR < b.y + b.height
        && b.y + NEAR < a.y + a.height
}
