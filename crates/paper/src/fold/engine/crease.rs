//! One step: finds where a crease lies in the stack, turns what hangs beyond it over the rest, and refuses what
//! paper cannot do.

use super::grid::{Edge, Grid, overlap};
use super::{CreaseEdge, NEAR, Over, Placed, Stack, Step};
use crate::fold::engine::error::FoldError;
use crate::fold::scheme::{Crease, Fold, GridLine, Side};
use slipsheet_base::geometry::{Point, Rect};

impl Stack {
    /// Folds one crease. A stack is creased through every layer that lies there when `through` says so, or when
    /// the named line alone would leave paper in the way.
    pub(super) fn fold(
        &self,
        grid: &Grid,
        crease: &Crease,
        through: bool,
        step: usize,
    ) -> Result<Step, FoldError> {
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
        let vertical = matches!(crease.line, GridLine::Vertical(_));
        let across = |p: Point| if vertical { p.x } else { p.y };
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
        Ok(Hinge { vertical, axis, side, onto })
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
        grid.all_edges(hinge.vertical).into_iter().filter(lies).collect()
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
        let moved = self
            .layers
            .iter()
            .rev()
            .filter(is_moving)
            .map(|p| p.turned(hinge.axis, hinge.vertical))
            .collect();
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
            vertical: hinge.vertical,
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
    vertical: bool,
    /// Its x when it stands, its y when it lies.
    axis: f64,
    /// Which side of it moves, 1 or -1.
    side: f64,
    onto: Over,
}

impl Hinge {
    fn across(&self, p: Point) -> f64 {
        if self.vertical { p.x } else { p.y }
    }
}
