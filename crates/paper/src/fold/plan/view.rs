//! A folded stack as a drawing in two dimensions: which level every panel lies on, so that layers can be drawn
//! a little apart, and where the paper bends from one level to another.

use crate::fold::engine::read::up_of;
use crate::fold::engine::{Folding, Over, Stack, overlap};
use crate::fold::scheme::{Face, Turn};
use slipsheet_base::geometry::{Point, Rect};

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawnPanel {
    /// Column and row on the front of the sheet.
    pub cell: (usize, usize),
    /// Where it lies in the plane, in mm.
    pub rect: Rect,
    /// How many layers lie below it.
    pub level: usize,
    pub shows: Face,
    /// Whether any of that face can be seen from above.
    pub seen: bool,
    /// The head of a page without a turn on that face, as a direction in the plane.
    pub up: Point,
}

/// Paper that bends round from one panel to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawnBend {
    /// One end of the crease in the plane, in mm.
    pub from: Point,
    pub to: Point,
    /// The levels it joins, the lower one first.
    pub levels: (usize, usize),
}

#[derive(Debug, Clone, PartialEq, Default)]
pub struct DrawnStack {
    /// The lowest panel first.
    pub panels: Vec<DrawnPanel>,
    pub bends: Vec<DrawnBend>,
}

impl Folding {
    /// A stack of this folding as a drawing, seen from above.
    pub fn drawn(&self, stack: &Stack) -> DrawnStack {
        let rects: Vec<Rect> = stack.layers.iter().map(|p| self.rect(p)).collect();
        let index = |cell| stack.layers.iter().position(|p| p.cell == cell);
        let joined: Vec<(usize, usize)> = stack
            .layers
            .iter()
            .enumerate()
            .flat_map(|(i, p)| self.grid.neighbours(p.cell).map(move |n| (i, n)))
            .filter_map(|(i, n)| index(n).filter(|j| i < *j).map(|j| (i, j)))
            .collect();
        let flat = |i: usize, j: usize| matches!((stack.layers.get(i), stack.layers.get(j)), (Some(a), Some(b)) if a.plane_from_sheet == b.plane_from_sheet);
        let levels = levels(&rects, |level| {
            // What lies flat together lies on one level.
            for (i, j) in joined.iter().filter(|(i, j)| flat(*i, *j)) {
                let high = level[*i].max(level[*j]);
                (level[*i], level[*j]) = (high, high);
            }
        });
        let seen = self.visible(stack, Over::Top);
        let panels = stack.layers.iter().zip(&rects).zip(&levels).map(|((p, rect), level)| DrawnPanel {
            cell: p.cell,
            rect: *rect,
            level: *level,
            shows: p.shows(Over::Top),
            seen: seen.iter().any(|s| s.0 == p.cell),
            up: up_of(p, p.shows(Over::Top), Turn::Upright),
        });
        let bends = joined.iter().filter(|(i, j)| !flat(*i, *j)).filter_map(|(i, j)| {
            let (a, b) = (stack.layers.get(*i)?, stack.layers.get(*j)?);
            let (ra, rb) = (self.grid.rect(a.cell), self.grid.rect(b.cell));
            // The edge on the flat sheet: where the two cells touch.
            let (x0, y0) = (ra.x.max(rb.x), ra.y.max(rb.y));
            let (x1, y1) = ((ra.x + ra.width).min(rb.x + rb.width), (ra.y + ra.height).min(rb.y + rb.height));
            let (la, lb) = (*levels.get(*i)?, *levels.get(*j)?);
            Some(DrawnBend {
                from: a.plane_from_sheet * Point::new(x0, y0),
                to: a.plane_from_sheet * Point::new(x1, y1),
                levels: (la.min(lb), la.max(lb)),
            })
        });
        DrawnStack { bends: bends.collect(), panels: panels.collect() }
    }
}

/// Levels such that what overlaps lies apart, the lowest first in `rects`.
fn levels(rects: &[Rect], even: impl Fn(&mut [usize])) -> Vec<usize> {
    let mut level = vec![0; rects.len()];
    // Woven layers might rise for ever; as many rounds as panels are enough for all others.
    for _ in 0..rects.len().max(1) {
        let before = level.clone();
        for i in 0..rects.len() {
            let below = (0..i).filter(|j| overlap(rects[i], rects[*j])).map(|j| level[j] + 1).max();
            level[i] = level[i].max(below.unwrap_or(0));
        }
        even(&mut level);
        if level == before {
            break;
        }
    }
    level
}
