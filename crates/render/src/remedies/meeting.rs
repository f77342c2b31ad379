//! Remedies where two layers meet: a trap, by which one grows into the other, and a gap on purpose.

use rayon::prelude::*;

use super::growth::Growing;
use super::shape;
use super::thick::{THIN, Thick, opened};
use slipsheet_core::raster::GrayRaster;

/// Shapes this near to each other, in mm, meet: what lies between them is a fault of the drawing, and a trap closes it.
const MEETS: f64 = 0.15;
/// Cosine of the largest angle between the edges of two shapes that meet, 60 degrees.
const FACING: f64 = 0.5;

/// A plate whose thick shapes grow by so many mm into the thick shapes of another, in the tone of their edges.
///
/// Nothing gets lighter, and a wider trap covers what a narrower one does.
pub(super) fn trapped(mut plate: GrayRaster, other: &GrayRaster, by: f64, px_per_mm: f64) -> GrayRaster {
    if by <= 0.0 {
        return plate;
    }
    let Some((own, theirs)) = Thick::of(&plate, px_per_mm).zip(Thick::of(other, px_per_mm)) else {
        return plate;
    };
    let Some(growing) = Growing::of(&own, &plate) else { return plate };
    let into = shape(other);
    let before = plate.clone();
    let width = plate.width() as usize;
    plate.pixels_mut().par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        for (x, (g, into)) in row.iter_mut().zip(into.row(y as u32)).enumerate() {
            let grown = growing.cover(x, y, by * px_per_mm);
            let part = if grown == 0 || own.is_inside(x, y) || !meet(&own, &theirs, (x, y)) {
                continue;
            } else if theirs.has((x, y)) {
                255 - u32::from(*into)
            } else if own.outside(x, y) + theirs.outside(x, y) <= MEETS {
                255
            } else {
                continue;
            };
            let tone = u32::from(own.tone(&before, x, y));
            let ink = tone * u32::from(grown) * part / (255 * 255);
            *g = (*g).min(255 - ink as u8);
        }
    });
    plate
}

/// Whether the edge of a shape that is nearest to a pixel meets another layer's shape: this begins there, or reaches
/// under it a little way, and the edges of the two face each other.
fn meet(own: &Thick, theirs: &Thick, at: (usize, usize)) -> bool {
    let Some(edge) = own.core(at.0, at.1) else { return false };
    let their_edge = if theirs.has(edge) {
        // Where their edge lies under this shape; otherwise this one lies whole within the other.
        let near = theirs.depth(edge.0, edge.1) <= THIN;
        theirs.way_out(edge.0, edge.1).filter(|out| near && own.has(*out))
    } else {
        let apart = theirs.outside(edge.0, edge.1) - own.depth(edge.0, edge.1);
        theirs.way_in(edge.0, edge.1).filter(|_| apart <= MEETS)
    };
    let Some(from) = their_edge else { return false };
    // A core lies some pixels from its edge, so that both are directions and not steps of one pixel.
    theirs.core(from.0, from.1).is_some_and(|into| cosine((from, into), (edge, at)) >= FACING)
}

/// The cosine of the angle between two ways, each from one pixel to another.
fn cosine(a: ((usize, usize), (usize, usize)), b: ((usize, usize), (usize, usize))) -> f64 {
    let way = |((ax, ay), (bx, by)): ((usize, usize), (usize, usize))| {
        (bx as f64 - ax as f64, by as f64 - ay as f64)
    };
    let ((ax, ay), (bx, by)) = (way(a), way(b));
    (ax * bx + ay * by) / (libm::hypot(ax, ay) * libm::hypot(bx, by)).max(1e-9)
}

/// A plate whose thick shapes keep away by so many mm from the thick shapes of another.
///
/// Where the two overlap over more than a thin strip, one is meant to print over the other, and nothing changes.
pub(super) fn apart(mut plate: GrayRaster, other: &GrayRaster, by: f64, px_per_mm: f64) -> GrayRaster {
    let Some((own, theirs)) = Thick::of(&plate, px_per_mm).zip(Thick::of(other, px_per_mm)) else {
        return plate;
    };
    let width = plate.width() as usize;
    let both: Vec<bool> = (0..plate.pixels().len())
        .into_par_iter()
        .map(|i| own.has((i % width, i / width)) && theirs.has((i % width, i / width)))
        .collect();
    let over = opened(&both, width, px_per_mm).map(|(over, _)| over);
    let is_over = |(x, y): (usize, usize)| over.as_ref().is_some_and(|o| o.get(y * width + x) == Some(&true));
    let Some(growing) = Growing::of(&theirs, other) else { return plate };
    plate.pixels_mut().par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        for (x, g) in row.iter_mut().enumerate() {
            let cut = growing.cover(x, y, by * px_per_mm);
            let deep = theirs.has((x, y)) && theirs.depth(x, y) > THIN;
            if cut > 0 && own.reaches(x, y) && !deep && !theirs.core(x, y).is_some_and(is_over) {
                *g = 255 - (u16::from(255 - *g) * u16::from(255 - cut) / 255) as u8;
            }
        }
    });
    plate
}

#[cfg(test)]
mod tests;
