//! The sheet of paper in front of whatever it lies on: its four edges as a camera or a flat-bed sees them.
//!
//! In a small copy the straight edges are voted for (Hough 1962, in the normal form of Duda and Hart 1972), and of
//! every four that stand about a quadrilateral that one is taken along whose sides the paper is told from the table
//! best. Its edges are then followed in the full picture, and where the paper's edges are bent alike, the lens is
//! measured by making them straight (Brown 1971).

mod edges;
mod quad;
mod trace;

use super::solve::{FitKind, solve};
use slipsheet_base::projective::Lens;
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::units::{Dpi, Size};

/// The longer side of the small copy is at most this many pixels.
const SMALL: u32 = 640;
/// How much larger or smaller than its resolution says a flat-bed may scan.
const SCALE_ERROR: f64 = 0.03;
/// How far a corner of the paper may lie from where its size puts it in a flat-bed's scan, in mm.
const MOST_OFF: f64 = 1.5;

/// The paper as a photograph shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Paper {
    /// Clockwise from the one that is nearest to the top left, in pixels of the undistorted photograph.
    pub corners: [Point; 4],
    /// As the paper's edges show it; its `k` is 0 where they are straight or bent in ways that no lens bends them.
    pub lens: Lens,
    /// How well the paper is told from the table along its edges, 0..=1.
    pub clear: f64,
}

impl Paper {
    /// The corners as they lie in the photograph, in pixels.
    pub fn seen(&self) -> [Point; 4] {
        self.corners.map(|corner| self.lens.distort(corner))
    }
}

/// The corners of the sheet of paper in a photograph, clockwise from the one that is nearest to the top left, in
/// pixels as they are seen; `None` where no paper stands out from a table on all four sides.
pub fn find_paper(raster: &GrayRaster) -> Option<[Point; 4]> {
    papers(raster).first().map(Paper::seen)
}

/// What may be the sheet of paper, likeliest first.
pub(super) fn papers(raster: &GrayRaster) -> Vec<Paper> {
    let mut small = raster.halved();
    let mut shrink = 2.0;
    while small.width().max(small.height()) > SMALL {
        small = small.halved();
        shrink *= 2.0;
    }
    let soft = edges::softened(&small);
    let quads = quad::quads(&soft, &edges::lines(&soft));
    quads.iter().filter_map(|quad| trace::followed(raster, &soft, shrink, quad)).collect()
}

/// Lays a flat-bed's scan by the edges of the paper: from pixels of the scan to mm on the paper, whose top left is
/// the origin. The paper is taken to be turned as little as possible.
///
/// `None` where the lid is not told from the paper on all four sides, or where what is told from it is not of the
/// paper's size at this resolution.
pub fn place_by_edges(raster: &GrayRaster, dpi: Dpi, paper: Size) -> Option<Affine> {
    papers(raster).into_iter().find_map(|found| {
        let (w, h) = (paper.width.get(), paper.height.get());
        let on_paper = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(|(x, y)| Point::new(x, y));
        let fits = (0..4).filter_map(|quarters| {
            let seen = found.seen().into_iter().cycle().skip(quarters);
            let pairs: Vec<_> = seen.zip(on_paper).collect();
            let fit = solve(FitKind::Similarity, &pairs).ok()?;
            let scale = fit.to_from_from.growth() * dpi.px_per_mm();
            let held = (scale - 1.0).abs() <= SCALE_ERROR && fit.residuals_mm.iter().all(|r| *r <= MOST_OFF);
            held.then_some(fit.to_from_from)
        });
        // Of two ways to lay it the one that turns less; a is the cosine of the turn, but for its scale.
        fits.max_by(|a, b| a.a.total_cmp(&b.a))
    })
}

#[cfg(test)]
mod tests;
