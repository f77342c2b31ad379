//! What lies together on a page: cells of a millimetre that hold art, joined over the gaps between strokes.
//!
//! Art that is near enough to be one thing is a piece, dark or pale as a whole: a wash belongs to its outlines, and a
//! line of type is dark although its rims are not. Pale pieces are then joined over wider gaps, for a drawing's strokes
//! may lie apart; dark ones are not, or type beside a drawing would pass for its shadows.

use slipsheet_core::geometry::{Point, Rect};
use slipsheet_core::gray_check::PAPER;
use slipsheet_paper::fold::PagePlace;
use slipsheet_render::Drawn;

/// Side of a cell, in mm.
const CELL: f64 = 1.0;
/// Pixels of a cell, as a share, that must be drawn for it to hold art: less is grain and dust.
const DRAWN: f64 = 0.04;
/// Art that lies no farther apart is one piece, and pale pieces no farther apart are one group, in mm.
const PIECE: f64 = 2.5;
const GROUP: f64 = 8.0;
/// A group of less art, in mm², is too small to matter (common practice, no source).
const LEAST: f64 = 25.0;
/// The darkest tone is the one that this share of the art reaches, within these limits in mm²; a piece smaller than that
/// is as dark as its darkest third.
const SHARE: f64 = 0.01;
const AT_LEAST: f64 = 0.25;
const AT_MOST: f64 = 2.0;
const THIRD: f64 = 0.3;
/// The darkest share of the original that a black point is set to.
const ORIGINAL: f64 = 0.02;

/// A layer on a face, as it is looked at.
pub(super) struct Look<'a> {
    pub drawn: &'a Drawn,
    /// Effective coverage of what is asked for.
    pub effective: [f32; 256],
    /// Whether what is asked for is too light to print.
    pub vanishes: [bool; 256],
    pub px_per_mm: f64,
    pub pages: &'a [PagePlace],
}

/// Pale art that lies together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Group {
    pub page: Option<u32>,
    pub rect: Rect,
    /// Effective coverage where it is darkest.
    pub darkest: f32,
    /// Share of it that does not print.
    pub lost: f32,
    /// Coverage of the original where that is darkest.
    pub original: f64,
}

/// The cells of a face.
struct Cells {
    /// Pixels along the side of one.
    side: usize,
    columns: usize,
    /// The page of each cell that holds art.
    pages: Vec<Option<Option<u32>>>,
}

/// Counted pixels of art.
#[derive(Clone)]
struct Counts {
    page: Option<u32>,
    asked: [u32; 256],
    art: [u32; 256],
    all: u32,
    lost: u32,
    /// Columns and rows of cells, from and to.
    from: (usize, usize),
    to: (usize, usize),
}

impl Look<'_> {
    /// The groups whose darkest tone is paler than a limit.
    pub fn pale(&self, limit: f32) -> Vec<Group> {
        let cells = self.cells();
        let (pieces, count) = cells.joined(|i| cells.pages.get(i).copied().flatten(), PIECE);
        let counts = self.counted(&cells, &pieces, count);
        let is_pale: Vec<bool> = counts.iter().map(|c| self.darkest(c) < limit).collect();

        let piece = |i: usize| pieces.get(i).copied().flatten();
        let pale = |i: usize| piece(i).filter(|p| is_pale.get(*p) == Some(&true));
        let (groups, count) =
            cells.joined(|i| pale(i).and_then(|_| cells.pages.get(i).copied().flatten()), GROUP);
        let mut of_group: Vec<Option<Counts>> = vec![None; count];
        let mut seen = vec![false; counts.len()];
        for (i, group) in groups.iter().enumerate() {
            let (Some(group), Some(piece)) = (group, pale(i)) else { continue };
            let (Some(known), Some(counted)) = (seen.get_mut(piece), counts.get(piece)) else { continue };
            if std::mem::replace(known, true) {
                continue;
            }
            match of_group.get_mut(*group) {
                Some(Some(sum)) => sum.add(counted),
                Some(empty) => *empty = Some(counted.clone()),
                None => {}
            }
        }
        let least = LEAST * self.px_per_mm * self.px_per_mm;
        let large = of_group.into_iter().flatten().filter(|c| f64::from(c.all) >= least);
        large.map(|c| self.group(&cells, &c)).filter(|g| g.darkest < limit).collect()
    }

    fn cells(&self) -> Cells {
        let art = &self.drawn.art;
        let side = (libm::round(CELL * self.px_per_mm) as usize).max(1);
        let columns = (art.width() as usize).div_ceil(side);
        let mut drawn = vec![0_u32; columns * (art.height() as usize).div_ceil(side)];
        for (y, row) in art.pixels().chunks(art.width().max(1) as usize).enumerate() {
            let counts = drawn.iter_mut().skip(y / side * columns);
            for (count, cell) in counts.zip(row.chunks(side)) {
                *count += cell.iter().map(|g| u32::from(*g < PAPER)).sum::<u32>();
            }
        }
        let enough = DRAWN * (side * side) as f64;
        let page = |i: usize| {
            let mm = |cell: usize| (cell as f64 + 0.5) * side as f64 / self.px_per_mm;
            let at = Point::new(mm(i % columns), mm(i / columns));
            self.pages.iter().find(|p| p.rect.contains(at)).map(|p| p.page)
        };
        let pages = drawn.iter().enumerate().map(|(i, n)| (f64::from(*n) >= enough).then(|| page(i)));
        Cells { side, columns, pages: pages.collect() }
    }

    /// What the pixels of each piece are, by the piece of each cell.
    fn counted(&self, cells: &Cells, pieces: &[Option<usize>], count: usize) -> Vec<Counts> {
        let mut all = vec![Counts::default(); count];
        let lost = self.drawn.lost(&self.vanishes);
        let width = (self.drawn.art.width() as usize).max(1);
        for (i, piece) in pieces.iter().enumerate() {
            let Some(counts) = piece.and_then(|p| all.get_mut(p)) else { continue };
            let (column, row) = (i % cells.columns, i / cells.columns);
            counts.reach(column, row, cells.pages.get(i).copied().flatten().flatten());
            let columns = column * cells.side..((column + 1) * cells.side).min(width);
            for y in row * cells.side..((row + 1) * cells.side).min(self.drawn.art.height() as usize) {
                let part = y * width + columns.start..y * width + columns.end;
                let (Some(art), Some(asked), Some(lost)) = (
                    self.drawn.art.pixels().get(part.clone()),
                    self.drawn.asked.pixels().get(part.clone()),
                    lost.get(part),
                ) else {
                    continue;
                };
                for ((art, asked), lost) in art.iter().zip(asked).zip(lost).filter(|p| *p.0.0 < PAPER) {
                    let (art, asked) = (usize::from(*art), usize::from(*asked));
                    counts.art[art] += 1;
                    counts.asked[asked] += 1;
                    counts.all += 1;
                    counts.lost += u32::from(*lost);
                }
            }
        }
        all
    }

    /// Effective coverage that enough of the art reaches.
    fn darkest(&self, counts: &Counts) -> f32 {
        let all = f64::from(counts.all);
        let mm2 = self.px_per_mm * self.px_per_mm;
        let enough = (SHARE * all).clamp(AT_LEAST * mm2, AT_MOST * mm2).min(THIRD * all);
        quantile(&counts.asked, enough).map_or(0.0, |g| self.effective[g])
    }

    fn group(&self, cells: &Cells, counts: &Counts) -> Group {
        let mm = |cell: usize| (cell * cells.side) as f64 / self.px_per_mm;
        let (x, y) = (mm(counts.from.0), mm(counts.from.1));
        let original = quantile(&counts.art, ORIGINAL * f64::from(counts.all)).unwrap_or(255);
        Group {
            page: counts.page,
            rect: Rect { x, y, width: mm(counts.to.0) - x, height: mm(counts.to.1) - y },
            darkest: self.darkest(counts),
            lost: counts.lost as f32 / counts.all.max(1) as f32,
            original: 1.0 - original as f64 / 255.0,
        }
    }
}

impl Cells {
    /// Numbers cells of one page that lie no farther apart than so many mm, and how many numbers there are.
    fn joined(&self, page: impl Fn(usize) -> Option<Option<u32>>, apart: f64) -> (Vec<Option<usize>>, usize) {
        let mut numbers: Vec<Option<usize>> = vec![None; self.pages.len()];
        // Between the rims of two cells lies one step less.
        let reach = (apart / CELL) as usize + 1;
        let mut count = 0;
        let mut todo = Vec::new();
        for start in 0..self.pages.len() {
            let Some(on) = page(start).filter(|_| numbers.get(start) == Some(&None)) else { continue };
            todo.push(start);
            if let Some(number) = numbers.get_mut(start) {
                *number = Some(count);
            }
            while let Some(i) = todo.pop() {
                for j in self.near(i, reach) {
                    let Some(number) = numbers.get_mut(j).filter(|n| n.is_none()) else { continue };
                    if page(j) == Some(on) {
                        *number = Some(count);
                        todo.push(j);
                    }
                }
            }
            count += 1;
        }
        (numbers, count)
    }

    /// The cells within a circle around one.
    fn near(&self, i: usize, reach: usize) -> impl Iterator<Item = usize> {
        let (columns, rows) = (self.columns, self.pages.len() / self.columns.max(1));
        let (x, y) = (i % columns, i / columns);
        let span = |at: usize, most: usize| at.saturating_sub(reach)..(at + reach + 1).min(most);
        let inside = move |v: usize, u: usize| {
            let (dx, dy) = (u.abs_diff(x), v.abs_diff(y));
            dx * dx + dy * dy <= reach * reach
        };
        let across = span(x, columns);
        span(y, rows)
            .flat_map(move |v| across.clone().filter(move |u| inside(v, *u)).map(move |u| v * columns + u))
    }
}

impl Default for Counts {
    fn default() -> Self {
        let (from, to) = ((usize::MAX, usize::MAX), (0, 0));
        Self { page: None, asked: [0; 256], art: [0; 256], all: 0, lost: 0, from, to }
    }
}

impl Counts {
    /// Takes a cell in.
    fn reach(&mut self, column: usize, row: usize, page: Option<u32>) {
        self.page = page;
        self.from = (self.from.0.min(column), self.from.1.min(row));
        self.to = (self.to.0.max(column + 1), self.to.1.max(row + 1));
    }

    fn add(&mut self, other: &Self) {
        self.asked.iter_mut().zip(other.asked).for_each(|(a, b)| *a += b);
        self.art.iter_mut().zip(other.art).for_each(|(a, b)| *a += b);
        self.all += other.all;
        self.lost += other.lost;
        self.from = (self.from.0.min(other.from.0), self.from.1.min(other.from.1));
        self.to = (self.to.0.max(other.to.0), self.to.1.max(other.to.1));
    }
}

/// The gray that so many pixels do not exceed; `None` where there are fewer.
fn quantile(counts: &[u32; 256], wanted: f64) -> Option<usize> {
    let mut seen = 0_u32;
    counts.iter().position(|n| {
        seen += n;
        seen > 0 && f64::from(seen) >= wanted
    })
}
