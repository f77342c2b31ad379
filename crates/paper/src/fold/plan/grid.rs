//! Columns and rows of a plan that come and go: lines, spans and panels keep their places on the paper.

use crate::fold::plan::{FoldPlan, MOST_LINES, UNNAMED};
use crate::fold::scheme::{Crease, GridLine, Panel, Slit};

/// Columns or rows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lanes {
    /// Columns, left to right on the front.
    Columns,
    /// Rows, top to bottom.
    Rows,
}

impl FoldPlan {
    /// The relative sizes of columns or rows.
    pub fn sizes(&self, lanes: Lanes) -> &[f64] {
        match lanes {
            Lanes::Columns => &self.scheme.columns,
            Lanes::Rows => &self.scheme.rows,
        }
    }

    pub fn sizes_mut(&mut self, lanes: Lanes) -> &mut [f64] {
        match lanes {
            Lanes::Columns => &mut self.scheme.columns,
            Lanes::Rows => &mut self.scheme.rows,
        }
    }

    /// Puts a column or row after another one, as large as that one.
    pub fn add_lane(&mut self, lanes: Lanes, after: usize) {
        let count = self.sizes(lanes).len();
        let Some(size) = self.sizes(lanes).get(after).copied().filter(|_| count < MOST_LINES) else { return };
        let (line, place) = (|i| if i > after { i + 1 } else { i }, |i| if i > after { i + 1 } else { i });
        self.renumber(lanes, |i| Some(line(i)), place);
        let old = self.scheme.columns.len();
        match lanes {
            Lanes::Columns => {
                self.scheme.columns.insert(after + 1, size);
                if !self.scheme.shorter.is_empty() {
                    self.scheme.shorter.insert(after + 1, 0.0);
                }
            }
            Lanes::Rows => self.scheme.rows.insert(after + 1, size),
        }
        self.refill(old, lanes, |i| match i {
            i if i <= after => Some(i),
            i if i == after + 1 => None,
            i => Some(i - 1),
        });
    }

    /// Takes a column or row away, with the line on its far side.
    pub fn remove_lane(&mut self, lanes: Lanes, at: usize) {
        let count = self.sizes(lanes).len();
        if count < 2 || at >= count {
            return;
        }
        let gone = (at + 1).min(count - 1);
        let line = |i: usize| if i == gone { None } else { Some(if i > gone { i - 1 } else { i }) };
        self.renumber(lanes, line, |i| if i > at { i - 1 } else { i });
        let old = self.scheme.columns.len();
        match lanes {
            Lanes::Columns => {
                self.scheme.columns.remove(at);
                if at < self.scheme.shorter.len() {
                    self.scheme.shorter.remove(at);
                }
            }
            Lanes::Rows => {
                self.scheme.rows.remove(at);
            }
        }
        self.refill(old, lanes, |i| Some(if i >= at { i + 1 } else { i }));
    }

    /// Gives lines and grid positions their new numbers; a line without one is dropped with all on it.
    fn renumber(
        &mut self,
        lanes: Lanes,
        line: impl Fn(usize) -> Option<usize>,
        place: impl Fn(usize) -> usize,
    ) {
        let moved = |at: GridLine| match (at, lanes) {
            (GridLine::Vertical(i), Lanes::Columns) => line(i).map(GridLine::Vertical),
            (GridLine::Horizontal(i), Lanes::Rows) => line(i).map(GridLine::Horizontal),
            (other, _) => Some(other),
        };
        let along = |at: GridLine| match lanes {
            Lanes::Columns => matches!(at, GridLine::Horizontal(_)),
            Lanes::Rows => matches!(at, GridLine::Vertical(_)),
        };
        let span = |at: GridLine, (from, to): (usize, usize)| {
            let (from, to) = if along(at) { (place(from), place(to)) } else { (from, to) };
            (from < to).then_some((from, to))
        };
        let crease = |c: &Crease| {
            let span = match c.span {
                None => None,
                Some(s) => Some(span(c.line, s)?),
            };
            Some(Crease { line: moved(c.line)?, span, ..*c })
        };
        let slit = |s: &Slit| {
            let (from, to) = span(s.line, (s.from, s.to))?;
            Some(Slit { line: moved(s.line)?, from, to })
        };
        self.scheme.creases = self.scheme.creases.iter().filter_map(crease).collect();
        self.scheme.slits = self.scheme.slits.iter().filter_map(slit).collect();
    }

    /// Lays the panels out anew: `source` says for each column (on the front) or row which old one it was.
    fn refill(&mut self, old_columns: usize, lanes: Lanes, source: impl Fn(usize) -> Option<usize>) {
        let (columns, rows) = (self.scheme.columns.len(), self.scheme.rows.len());
        let filled = |old: &[Panel], mirrored: bool| -> Vec<Panel> {
            let panel = |i: usize| {
                let (c, r) = (i % columns, i / columns);
                let c = if mirrored { columns - 1 - c } else { c };
                let (c, r) = match lanes {
                    Lanes::Columns => (source(c)?, r),
                    Lanes::Rows => (c, source(r)?),
                };
                let c = if mirrored { (old_columns - 1).checked_sub(c)? } else { c };
                old.get(r * old_columns + c).copied()
            };
            (0..columns * rows).map(|i| panel(i).unwrap_or(UNNAMED)).collect()
        };
        self.scheme.front = filled(&self.scheme.front, false);
        if self.scheme.two_sided() {
            self.scheme.back = filled(&self.scheme.back, true);
        }
    }
}
