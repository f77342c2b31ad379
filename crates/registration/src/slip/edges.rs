//! The edges of an ink, found to a fraction of a pixel, and which of them is nearest to a place.
//!
//! An edge pixel prints and has a neighbour that does not. Where the edge runs through it follows from the
//! gray across it: along the axis that the edge crosses more steeply, the coverage is summed from where it
//! has risen to where it has fallen, which is exact for a straight edge under any even blur.
//!
//! An edge is as long as the line through these points. Counting pixels by their direction, as one step each,
//! would make a soft edge some 5 % and a jagged one up to 40 % long, for there several pixels lie on one step.

use rayon::prelude::*;

use super::cover::Covers;
use super::distance::Nearest;

/// What counts as printed, of 255: a faint tone still has edges, the grain of a scan's white has none.
const PRINTS: u8 = 30;
/// The least change of coverage across an edge, of 255; what changes less is a tone, not an edge.
const STEP: i32 = 38;
/// How far across an edge its blur is followed, in pixels: a scan of 60 dpi is blurred over five at 300.
const BLUR: isize = 6;
/// Half the length of an edge pixel's stretch of edge, in pixels.
const HALF: f64 = 0.75;

/// How many pixels away the next point of an edge is looked for.
const NEXT: u16 = 2;
/// Sum of two unit normals that belong to one edge: they turn by no more than some 72 degrees.
const TOGETHER: f64 = 1.612;
/// How far across an edge its points may lie from each other, in pixels.
const ACROSS: f64 = 1.6;

/// A stretch of edge, about one pixel long.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Edge {
    /// Column of its pixel.
    pub x: u16,
    /// Row of its pixel.
    pub y: u16,
    /// Unit normal, out of the ink, to the right.
    pub nx: f32,
    /// Unit normal, out of the ink, downwards.
    pub ny: f32,
    /// From the pixel's middle along the normal to the edge, in pixels.
    pub off: f32,
    /// Half the way along the edge to the next edge points on either side, in pixels.
    span: f32,
}

impl Edge {
    /// The point on the edge, in pixels with corners at whole numbers.
    pub fn point(&self) -> (f64, f64) {
        let (nx, ny, off) = (f64::from(self.nx), f64::from(self.ny), f64::from(self.off));
        (f64::from(self.x) + 0.5 + nx * off, f64::from(self.y) + 0.5 + ny * off)
    }

    /// Its length in pixels: its part of the line through the edge's points.
    ///
    /// A circle comes out within 0.5 %; a right-angled corner is cut short by about 0.7 pixels.
    pub fn length(&self) -> f64 {
        f64::from(self.span)
    }
}

#[derive(Debug, Clone)]
pub struct Edges {
    /// Row by row, from left to right.
    pub all: Vec<Edge>,
    /// Where each row begins in `all`.
    rows: Vec<usize>,
    nearest: Nearest,
}

/// The edge nearest to a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Near {
    pub edge: Edge,
    /// How deep inside the ink the point lies, in pixels along the edge's normal; negative outside.
    pub depth: f64,
    /// How far along the edge the point lies from the end of its stretch, in pixels; 0 beside it.
    pub beside: f64,
}

impl Edges {
    /// The edges of an ink, by its place in the covers; `None` when there is no such ink.
    pub fn of(covers: &Covers, ink: usize) -> Option<Self> {
        let (w, h) = (covers.width, covers.height);
        let plane = covers.inks.get(ink)?.plane.as_slice();
        let found: Vec<Vec<Edge>> = (0..h).into_par_iter().map(|y| row_edges(plane, w, h, y)).collect();
        let mut rows = Vec::with_capacity(h + 1);
        let mut all = Vec::with_capacity(found.iter().map(Vec::len).sum());
        for row in found {
            rows.push(all.len());
            all.extend(row);
        }
        rows.push(all.len());
        let spans: Vec<f32> = all.par_iter().map(|edge| span(edge, &all, &rows)).collect();
        all.iter_mut().zip(spans).for_each(|(edge, span)| edge.span = span);
        let mut seeds = vec![false; w * h];
        for edge in &all {
            if let Some(seed) = seeds.get_mut(usize::from(edge.y) * w + usize::from(edge.x)) {
                *seed = true;
            }
        }
        Some(Self { all, rows, nearest: Nearest::of(w, h, &seeds)? })
    }

    /// The edge nearest to a point in pixels; `None` off the sheet and where the ink has no edges.
    pub fn near(&self, x: f64, y: f64) -> Option<Near> {
        if x < 0.0 || y < 0.0 {
            return None;
        }
        let (sx, sy) = self.nearest.seed(x as usize, y as usize)?;
        let row = self.all.get(*self.rows.get(sy)?..*self.rows.get(sy + 1)?)?;
        let at = row.binary_search_by_key(&(sx as u16), |e| e.x).ok()?;
        let edge = *row.get(at)?;
        let (nx, ny) = (f64::from(edge.nx), f64::from(edge.ny));
        let (wx, wy) = (x - f64::from(edge.x) - 0.5, y - f64::from(edge.y) - 0.5);
        let depth = f64::from(edge.off) - (wx * nx + wy * ny);
        let beside = ((wy * nx - wx * ny).abs() - HALF).max(0.0);
        Some(Near { edge, depth, beside })
    }
}

/// Whether a coverage counts as printed.
pub(super) fn prints(cover: u8) -> bool {
    cover >= PRINTS
}

fn row_edges(plane: &[u8], w: usize, h: usize, y: usize) -> Vec<Edge> {
    let row = |y: usize| plane.get(y * w..(y + 1) * w).unwrap_or(&[]);
    let (here, above, below) = (row(y), row(y.saturating_sub(1)), row((y + 1).min(h - 1)));
    let mut edges = Vec::new();
    for x in 1..w.saturating_sub(1) {
        let [left, middle, right] = [x - 1, x, x + 1].map(|x| here.get(x).copied().unwrap_or(0));
        if middle < PRINTS {
            continue;
        }
        let (up, down) = (above.get(x).copied().unwrap_or(0), below.get(x).copied().unwrap_or(0));
        // The edge of the sheet is no edge of the ink.
        if left.min(right).min(up).min(down) < PRINTS && y > 0 && y + 1 < h {
            edges.extend(fitted(plane, w, h, (x, y)));
        }
    }
    edges
}

/// Where the edge runs through an edge pixel; `None` where the coverage changes too little.
fn fitted(plane: &[u8], w: usize, h: usize, (x, y): (usize, usize)) -> Option<Edge> {
    let at = |dx: isize, dy: isize| -> i32 {
        let (x, y) = (x as isize + dx, y as isize + dy);
        let inside = x >= 0 && y >= 0 && (x as usize) < w && (y as usize) < h;
        if inside { plane.get(y as usize * w + x as usize).map_or(0, |v| i32::from(*v)) } else { 0 }
    };
    // The derivative of a normal curve of about 1.2 pixels: a step's direction comes out within a degree.
    let (mut gx, mut gy) = (0, 0);
    for (dy, (smooth_y, slope_y)) in (-2..).zip([(1, -2), (3, -3), (4, 0), (3, 3), (1, 2)]) {
        for (dx, (smooth_x, slope_x)) in (-2..).zip([(1, -2), (3, -3), (4, 0), (3, 3), (1, 2)]) {
            let v = at(dx, dy);
            gx += slope_x * smooth_y * v;
            gy += smooth_x * slope_y * v;
        }
    }
    let (gx, gy) = (-f64::from(gx), -f64::from(gy));
    let size = libm::sqrt(gx * gx + gy * gy);
    if size < 1.0 {
        return None;
    }
    let (nx, ny) = (gx / size, gy / size);
    let (ax, ay) = if nx.abs() >= ny.abs() { (nx.signum() as isize, 0) } else { (0, ny.signum() as isize) };
    let along = |i: isize| at(ax * i, ay * i);
    let follow = |direction: isize, falls: bool| {
        let mut i = 0;
        while i < BLUR {
            let (now, next) = (along(i * direction), along((i + 1) * direction));
            if if falls { next >= now } else { next <= now } {
                break;
            }
            i += 1;
        }
        i
    };
    let (outwards, inwards) = (follow(1, true), follow(-1, false));
    let (low, high) = (along(outwards), along(-inwards));
    if high - low < STEP {
        return None;
    }
    let sum: i32 = (-inwards..=outwards).map(|i| along(i) - low).sum();
    let crossing = f64::from(sum) / f64::from(high - low) - 0.5 - inwards as f64;
    let off = crossing * nx.abs().max(ny.abs());
    Some(Edge { x: x as u16, y: y as u16, nx: nx as f32, ny: ny as f32, off: off as f32, span: 0.0 })
}

/// Half the way from an edge point to the nearest ones before and after it on the same edge.
fn span(edge: &Edge, all: &[Edge], rows: &[usize]) -> f32 {
    let (px, py) = edge.point();
    let (mut before, mut after) = (f64::INFINITY, f64::INFINITY);
    for y in edge.y.saturating_sub(NEXT)..=edge.y.saturating_add(NEXT) {
        let ends = rows.get(usize::from(y)).zip(rows.get(usize::from(y) + 1));
        let row = ends.and_then(|(from, to)| all.get(*from..*to)).unwrap_or(&[]);
        let first = row.partition_point(|e| e.x < edge.x.saturating_sub(NEXT));
        let near = row.iter().skip(first).take_while(|e| e.x <= edge.x.saturating_add(NEXT));
        for other in near.filter(|e| (e.x, e.y) != (edge.x, edge.y)) {
            // The direction between the two edges' normals; the other side of a thin stroke faces away.
            let (nx, ny) =
                (f64::from(edge.nx) + f64::from(other.nx), f64::from(edge.ny) + f64::from(other.ny));
            let size = libm::hypot(nx, ny);
            if size < TOGETHER {
                continue;
            }
            let (qx, qy) = other.point();
            let (wx, wy) = (qx - px, qy - py);
            let (along, across) = ((wy * nx - wx * ny) / size, (wx * nx + wy * ny) / size);
            if across.abs() > ACROSS {
                continue;
            }
            // Of two points side by side, the one in the later pixel comes after.
            if along > 0.0 || (along == 0.0 && (other.y, other.x) > (edge.y, edge.x)) {
                after = after.min(along);
            } else {
                before = before.min(-along);
            }
        }
    }
    // An edge that ends here goes on for about half a pixel.
    let half = |way: f64| if way.is_finite() { way / 2.0 } else { 0.5 };
    (half(before) + half(after)) as f32
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::slip::testing::{Drawn, covers};

    impl Edges {
        /// The distance from a point to the nearest edge, in pixels.
        fn distance(&self, x: f64, y: f64) -> Option<f64> {
            self.near(x, y).map(|n| libm::hypot(n.depth, n.beside))
        }
    }

    #[test]
    fn the_edge_of_a_gray_disc_lies_where_it_was_drawn() {
        // The closed form is the circle itself; coverages are areas of 16 x 16 samples a pixel.
        let (cx, cy, r) = (20.3, 19.6, 8.37);
        let covers = covers(40.0, 40.0, 8.0, &[Drawn::Disc(cx, cy, r, 1.0)]);
        let edges = Edges::of(&covers, 0).unwrap();
        let mut length = 0.0;
        for edge in &edges.all {
            let (x, y) = edge.point();
            let off = libm::hypot(x / 8.0 - cx, y / 8.0 - cy) - r;
            assert!(off.abs() < 0.01, "{off} mm at {edge:?}");
            let (nx, ny) = ((x / 8.0 - cx) / r, (y / 8.0 - cy) / r);
            assert!(nx * f64::from(edge.nx) + ny * f64::from(edge.ny) > 0.998, "{edge:?}");
            length += edge.length() / 8.0;
        }
        assert!((length / (2.0 * std::f64::consts::PI * r) - 1.0).abs() < 0.004, "{length}");
        for (x, y) in [(27.0, 22.0), (20.0, 13.5), (31.0, 22.0), (13.0, 14.0)] {
            let wanted = (libm::hypot(x - cx, y - cy) - r).abs();
            let got = edges.distance(x * 8.0, y * 8.0).unwrap() / 8.0;
            assert!((got - wanted).abs() < 0.02, "{got} is not {wanted}");
        }
    }

    #[test]
    fn a_tint_has_its_edge_where_a_solid_would() {
        let covers = covers(20.0, 10.0, 8.0, &[Drawn::Box(4.03, 2.0, 9.31, 8.0, 0.3)]);
        let edges = Edges::of(&covers, 0).unwrap();
        let near = edges.near(8.0 * 8.0, 5.0 * 8.0).unwrap();
        assert!((near.depth / 8.0 - 1.31).abs() < 0.01, "{near:?}");
        assert!(edges.near(-1.0, 2.0).is_none());
    }

    /// The length of an ink's edges in mm.
    fn length(covers: &Covers) -> f64 {
        let edges = Edges::of(covers, 0).unwrap();
        edges.all.iter().map(Edge::length).sum::<f64>() / covers.px_per_mm
    }

    #[test]
    fn edges_are_as_long_as_the_closed_formulas_say() {
        for dpi in [150.0, 300.0, 600.0] {
            let ppm = dpi / 25.4;
            for diameter in [3.0, 8.0, 15.0] {
                let drawn = covers(20.0, 20.0, ppm, &[Drawn::Disc(10.07, 9.94, diameter / 2.0, 1.0)]);
                let off = length(&drawn) / (std::f64::consts::PI * diameter) - 1.0;
                assert!(off.abs() < 0.004, "{off} at {dpi} dpi for a disc of {diameter} mm");
            }
            for (side, degrees) in
                [(6.0, 0.0), (9.0, 3.0), (12.0, 11.0), (9.0, 22.5), (6.0, 30.0), (12.0, 41.0), (9.0, 45.0)]
            {
                let drawn = covers(20.0, 20.0, ppm, &[Drawn::Square(10.07, 9.94, side, degrees)]);
                let off = length(&drawn) / (4.0 * side) - 1.0;
                // Four corners are cut by less than a pixel each: 1 % of the longest squares at 150 dpi.
                let corners = 4.0 / ppm / (4.0 * side);
                assert!(
                    off < 0.005 && off > -0.005 - corners,
                    "{off} at {dpi} dpi, {side} mm, {degrees} degrees"
                );
                assert!(dpi < 600.0 || off.abs() < 0.01, "{off} of {side} mm, {degrees} degrees");
            }
        }
    }

    /// Coverages at twice the resolution, as a plate drawn from a scan of half of it is.
    fn doubled(covers: &Covers) -> Covers {
        let (w, h) = (covers.width, covers.height);
        let plane = &covers.inks[0].plane;
        let old = |x: usize, y: usize| f64::from(plane[y.min(h - 1) * w + x.min(w - 1)]);
        let between = |i: usize| {
            // Middles of the new pixels lie a quarter of an old one to either side of the old middle.
            let place = (i as f64 / 2.0 - 0.25).max(0.0);
            (place as usize, place.fract())
        };
        let pixel = |i: usize| {
            let ((x, fx), (y, fy)) = (between(i % (2 * w)), between(i / (2 * w)));
            let row = |y: usize| old(x, y) * (1.0 - fx) + old(x + 1, y) * fx;
            (row(y) * (1.0 - fy) + row(y + 1) * fy + 0.5) as u8
        };
        let mut twice =
            Covers { width: 2 * w, height: 2 * h, px_per_mm: 2.0 * covers.px_per_mm, ..covers.clone() };
        twice.inks[0].plane = (0..4 * w * h).map(pixel).collect();
        twice
    }

    #[test]
    fn a_scan_looked_at_finer_than_it_is_has_no_longer_edges() {
        for diameter in [3.0, 8.0, 15.0] {
            let scan = covers(20.0, 20.0, 300.0 / 25.4, &[Drawn::Disc(10.07, 9.94, diameter / 2.0, 1.0)]);
            let off = length(&doubled(&scan)) / (std::f64::consts::PI * diameter) - 1.0;
            assert!(off.abs() < 0.004, "{off} for a disc of {diameter} mm");
        }
    }
}
