//! What lies near a part: art, and others of its kind.

use super::parts::{Part, Parts};
use crate::units::Dpi;

/// Others of a kind are looked for this far around, in mm: the dots of an open stipple are not much farther apart.
const AROUND_MM: f64 = 4.0;
/// One of a kind is neither larger nor darker than another by more than so many times.
const ALIKE: f64 = 2.5;

/// Whether art reaches into the square that lies so many pixels around a part.
pub(super) fn has_art_near(parts: &Parts, is_art: &[bool], part: &Part, reach: usize) -> bool {
    let reach = reach as u32;
    let extent = part.extent;
    let columns = extent.left.saturating_sub(reach)..extent.right.saturating_add(reach);
    let has_art = |y: u32| {
        let mut runs = parts.in_row(y, columns.clone());
        runs.any(|run| run.part != part.number && is_art.get(run.part as usize) == Some(&true))
    };
    // From near to far, as most art is near.
    (extent.top..extent.bottom).any(has_art)
        || (1..=reach)
            .any(|d| extent.top.checked_sub(d).is_some_and(has_art) || has_art(extent.bottom - 1 + d))
}

/// The parts by where they lie, to find others of a kind.
pub(super) struct Kinds {
    side: f64,
    columns: usize,
    /// Numbers of the parts in each cell.
    cells: Vec<Vec<u32>>,
}

impl Kinds {
    pub fn of(parts: &Parts, dpi: Dpi) -> Self {
        let side = (AROUND_MM * dpi.px_per_mm()).max(8.0);
        let cell = |part: &Part| {
            let (x, y) = part.extent.middle();
            ((x / side) as usize, (y / side) as usize)
        };
        let standing = || parts.all.iter().filter(|p| p.stands_out);
        let (columns, rows) =
            standing().map(cell).fold((0, 0), |(c, r), (x, y)| (c.max(x + 1), r.max(y + 1)));
        let mut cells = vec![Vec::new(); columns * rows];
        for part in standing() {
            let (x, y) = cell(part);
            if let Some(cell) = cells.get_mut(y * columns + x) {
                cell.push(part.number);
            }
        }
        Self { side, columns, cells }
    }

    /// Whether fewer than so many others of its kind, and of theirs, are near a part. They are followed from one to
    /// the next, so that of a row of dots none is left over when the others are dust.
    pub fn fewer_than(&self, parts: &Parts, number: usize, most: usize) -> bool {
        let mut known = vec![number as u32];
        let mut next = 0;
        while let Some(part) = known.get(next).and_then(|n| parts.all.get(*n as usize)) {
            for other in self.around(parts, part) {
                if !known.contains(&other.number) {
                    known.push(other.number);
                }
                if known.len() > most {
                    return false;
                }
            }
            next += 1;
        }
        true
    }

    /// The others of a kind near a part.
    fn around<'a>(&'a self, parts: &'a Parts, part: &'a Part) -> impl Iterator<Item = &'a Part> {
        let (x, y) = part.extent.middle();
        let (column, row) = ((x / self.side) as usize, (y / self.side) as usize);
        let rows = row.saturating_sub(1)..=row + 1;
        let cells = rows.flat_map(move |r| {
            let columns = column.saturating_sub(1)..(column + 2).min(self.columns);
            columns.filter_map(move |c| self.cells.get(r * self.columns + c))
        });
        let others = cells.flatten().filter_map(|n| parts.all.get(*n as usize));
        others.filter(move |other| {
            let (ox, oy) = other.extent.middle();
            let near = (ox - x) * (ox - x) + (oy - y) * (oy - y) <= self.side * self.side;
            near && other.number != part.number && are_alike(part, other)
        })
    }
}

fn are_alike(a: &Part, b: &Part) -> bool {
    let within = |a: f64, b: f64| a.max(b) <= ALIKE * a.min(b).max(1.0);
    within(f64::from(a.extent.longer()), f64::from(b.extent.longer()))
        && within(f64::from(a.depth), f64::from(b.depth))
}
