//! Closed rings: a sheet slit along its middle is a ring of panels. Pushed together it becomes a star whose arms
//! are leaves, and gathered it is a booklet. The ring is walked panel by panel: every second hinge is the fold
//! of a leaf, the others meet in the spine.

use crate::fold::engine::error::FoldError;
use crate::fold::engine::read::ReadPage;
use crate::fold::scheme::{Crease, Face, Fold, GridLine, Scheme, Slit, Turn};
use slipsheet_base::geometry::Point;

/// A ring has its slit along the line between its two rows and is whole in its outermost columns.
pub(in crate::fold) fn is_ring(scheme: &Scheme) -> bool {
    let cols = scheme.columns.len();
    let slit = Slit { line: GridLine::Horizontal(1), from: 1, to: cols.saturating_sub(1) };
    let equal = |parts: &[f64]| parts.windows(2).all(|w| w[0] == w[1]);
    cols >= 4
        && cols.is_multiple_of(2)
        && scheme.rows.len() == 2
        && equal(&scheme.columns)
        && equal(&scheme.rows)
        && scheme.slits == [slit]
        && scheme.back.is_empty()
}

/// The cells clockwise: the upper row from left to right, the lower one back.
pub(in crate::fold) fn cells(columns: usize) -> Vec<(usize, usize)> {
    (0..columns).map(|c| (c, 0)).chain((0..columns).rev().map(|c| (c, 1))).collect()
}

/// What lies between two neighbours of the ring.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Hinge {
    /// The fold of a leaf, along its head or its fore-edge.
    Leaf,
    Spine,
}

/// The hinge after the i-th cell of the ring: from the fold at the right end on, leaves and spine take turns.
fn hinge(columns: usize, i: usize) -> Hinge {
    if (i + 1).abs_diff(columns).is_multiple_of(2) { Hinge::Leaf } else { Hinge::Spine }
}

/// The grid edge after the i-th cell.
fn edge(columns: usize, i: usize) -> (GridLine, usize) {
    match i {
        _ if i + 1 < columns => (GridLine::Vertical(i + 1), 0),
        _ if i + 1 == columns => (GridLine::Horizontal(1), columns - 1),
        _ if i + 1 < 2 * columns => (GridLine::Vertical(2 * columns - 1 - i), 1),
        _ => (GridLine::Horizontal(1), 0),
    }
}

fn creased(crease: &Crease, (line, at): (GridLine, usize)) -> bool {
    crease.line == line && crease.span.is_none_or(|(from, to)| (from..to).contains(&at))
}

/// Walks the ring from page 1.
pub(in crate::fold) fn read(scheme: &Scheme) -> Result<Vec<ReadPage>, FoldError> {
    if !is_ring(scheme) {
        return Err(FoldError::NoRing);
    }
    let columns = scheme.columns.len();
    let ring = cells(columns);
    let n = ring.len();
    let page_at =
        |i: usize| ring.get(i % n).and_then(|c| scheme.stated(Face::Front, *c)).map_or(0, |p| p.page);
    let bends = |i: usize| -> Option<Fold> {
        let mut found = scheme.creases.iter().filter(|c| creased(c, edge(columns, i)));
        found.next().map(|c| c.fold).filter(|_| found.next().is_none())
    };
    let (_, first, turn) = scheme.first_page().ok_or(FoldError::CoverInside)?;
    let start = ring.iter().position(|c| *c == first).ok_or(FoldError::CoverInside)?;
    // The spine lies left of page 1: the hinge toward its left neighbour, which is the one before or after it.
    let west_is_before = first.1 == 0;
    let spine_is_before = match turn {
        Turn::Upright => west_is_before,
        Turn::Half => !west_is_before,
        Turn::Right | Turn::Left => return Err(FoldError::Spine),
    };
    let spine = if spine_is_before { (start + n - 1) % n } else { start };
    let leaf = if spine_is_before { start } else { (start + n - 1) % n };
    if hinge(columns, spine) != Hinge::Spine || hinge(columns, leaf) != Hinge::Leaf {
        return Err(FoldError::Spine);
    }
    // Leaves are folded with the print outside; in the spine fronts face each other, but round the covers.
    for i in 0..n {
        let valley = hinge(columns, i) == Hinge::Spine && i != spine;
        let wanted = if valley { Fold::Valley } else { Fold::Mountain };
        if bends(i) != Some(wanted) {
            return Err(FoldError::RingCrease { pages: (page_at(i), page_at(i + 1)), valley });
        }
    }
    let step = |k: usize| if spine_is_before { (start + k) % n } else { (start + n - k) % n };
    let other_way = if turn == Turn::Upright { Turn::Half } else { Turn::Upright };
    let page = |k: usize| {
        let cell = *ring.get(step(k))?;
        // The row that is folded over is upside down.
        let turn = if cell.1 == first.1 { turn } else { other_way };
        Some(ReadPage { page: k as u32 + 1, face: Face::Front, cell, turn })
    };
    Ok((0..n).filter_map(page).collect())
}

/// Both rows of a ring in plan while its ends are pushed together: the ends of each panel from left to right,
/// the upper row first. Walked from the left end with a turn at every hinge, so that panels keep their width;
/// the push is 0 for a flat ring and 90 degrees for the star.
pub(in crate::fold) fn plan(columns: usize, width: f64, push: f64) -> [Vec<Point>; 2] {
    let walk = |side: f64| {
        let heading = |c: usize| match c {
            0 => 0.0,
            c if c + 1 == columns => 0.0,
            c if c % 2 == 1 => side * push,
            _ => -side * push,
        };
        let mut at = Point::default();
        let mut nodes = vec![at];
        for c in 0..columns {
            let (sin, cos) = libm::sincos(f64::to_radians(heading(c)));
            at = Point::new(at.x + width * cos, at.y + width * sin);
            nodes.push(at);
        }
        let middle = at.x / 2.0;
        nodes.into_iter().map(|p| Point::new(p.x - middle, p.y)).collect()
    };
    [walk(-1.0), walk(1.0)]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pushed_ring_stays_closed_and_keeps_its_panels_width() {
        for columns in [4, 6, 8] {
            for push in [0.0, 20.0, 45.0, 89.0, 90.0] {
                let [upper, lower] = plan(columns, 70.0, push);
                // Its outermost panels are shared by both rows.
                for i in [0, 1, columns - 1, columns] {
                    assert!(upper[i].distance(lower[i]) < 1e-9, "{columns} {push}");
                }
                for row in [&upper, &lower] {
                    assert!(row.windows(2).all(|w| (w[0].distance(w[1]) - 70.0).abs() < 1e-9));
                }
            }
            // Pushed home, every second node lies in the spine.
            let [upper, _] = plan(columns, 70.0, 90.0);
            assert!((1..columns).step_by(2).all(|i| upper[i].distance(Point::default()) < 1e-9));
        }
    }

    #[test]
    fn a_crease_of_the_ring_that_bends_the_wrong_way_is_named_by_its_pages() {
        let mut scheme = crate::fold::find("slit8").unwrap();
        scheme.creases[3].fold = Fold::Mountain;
        let error = scheme.verify().unwrap_err().to_string();
        assert!(error.contains("between pages 5 and 4") || error.contains("4 and 5"), "{error}");
        assert!(error.contains("valley"), "{error}");
    }
}
