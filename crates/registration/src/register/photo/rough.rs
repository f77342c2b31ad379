//! A rough flat picture to look for marks in: from the paper's corners, or from the marks themselves where the
//! paper fills the photograph.

use super::{FIRST_LOOK, LEAST_MARKS, around};
use crate::register::layout::MarkLayout;
use crate::register::marks::{Mark, MarkSearch};
use crate::register::paper::Paper;
use crate::register::perspective::{PerspectiveFit, fours};
use crate::register::shape::MarkKind;
use rayon::prelude::*;
use slipsheet_base::projective::{Flatten, Homography, Lens};
use slipsheet_core::geometry::{Affine, Point, Rect};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::units::{Dpi, Size};
use std::borrow::Cow;

/// A paper whose sides are in a proportion farther than this from the original's is another one; as a difference of
/// logarithms. A tilt of 25 degrees takes about 0.1 from a side, and what lies nearer looks larger.
const PROPORTION: f64 = 0.3;
/// The most marks of a kind that are tried, best first.
const MOST_MARKS: usize = 7;
/// Of the largest four-sided part between marks of the layout, the least that one to start from has.
const LEAST_PART: f64 = 0.45;
/// The least share of the photograph that lies between four marks where the paper fills it.
const LEAST_SHARE: f64 = 0.15;
/// How far a mark may lie from where four others put it, as a share of the sheet's longer side: a lens bends so much.
const NEAR: f64 = 0.02;

/// A photograph so many times finer than the flat picture is halved first.
const FINER: f64 = 1.6;

/// How to make a flat picture that is off by a millimetre or two.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Rough {
    pub flatten: Flatten,
    pub dpi: Dpi,
}

impl Rough {
    /// The flat picture, out of a halving of the photograph where that is fine enough.
    pub fn picture(&self, raster: &GrayRaster) -> Option<GrayRaster> {
        let near = self
            .flatten
            .map()?
            .near(Point::new(f64::from(self.flatten.width) / 2.0, f64::from(self.flatten.height) / 2.0));
        let (mut flatten, mut finer, mut small) = (self.flatten, near.growth(), Cow::Borrowed(raster));
        while finer >= FINER {
            small = Cow::Owned(small.halved());
            let half = |p: Point| Point::new(p.x / 2.0, p.y / 2.0);
            let lens = flatten.lens;
            flatten.lens = Lens { middle: half(lens.middle), unit: lens.unit / 2.0, ..lens };
            flatten.corners = flatten.corners.map(half);
            finer /= 2.0;
        }
        flatten.apply(&small)
    }

    /// The paper laid flat, the one that is turned least first; both ways where the sides do not tell.
    pub fn of_paper(paper: &Paper, original: Size) -> Vec<Self> {
        let [a, b, c, d] = paper.corners;
        let seen = libm::log((a.distance(b) + c.distance(d)) / (b.distance(c) + d.distance(a)));
        let off = |size: &Size| (seen - libm::log(size.width.get() / size.height.get())).abs();
        let mut ways = vec![original, original.turned()];
        ways.retain(|size| off(size) <= PROPORTION);
        ways.sort_by(|a, b| off(a).total_cmp(&off(b)));
        let rough = |size: Size| {
            let mm = size.width.get() * size.height.get();
            let native = libm::sqrt(area(&paper.corners) / mm) * 25.4;
            let dpi = Dpi::nearest(native.clamp(FIRST_LOOK / 2.0, FIRST_LOOK));
            let (width, height) = size.pixels(dpi);
            Self { flatten: Flatten { corners: paper.corners, lens: paper.lens, width, height }, dpi }
        };
        ways.into_iter().map(rough).collect()
    }
}

/// From the marks that are found in the photograph turned by so many degrees, its resolution guessed from the original
/// filling it.
pub(super) fn of_marks(raster: &GrayRaster, layout: &MarkLayout, original: Size, turn: f64) -> Option<Rough> {
    let even: Vec<MarkKind> = layout
        .kinds()
        .into_iter()
        .filter(|k| matches!(k, MarkKind::Cross | MarkKind::CrossedCircle))
        .collect();
    let long = |a: f64, b: f64| a.max(b);
    let (w, h) = (f64::from(raster.width()), f64::from(raster.height()));
    let dpi = long(w, h) / long(original.width.get(), original.height.get()) * 25.4;
    if even.is_empty() || !(30.0..=2400.0).contains(&dpi) {
        return None;
    }
    let found = if turn == 0.0 {
        MarkSearch::new(raster, Dpi::nearest(dpi)).anywhere(&even)
    } else {
        turned(raster, dpi, &even, turn)?
    };
    let best: Vec<Mark> = even
        .iter()
        .flat_map(|kind| found.iter().filter(|m| m.kind == *kind).take(MOST_MARKS).copied())
        .collect();
    let photo_from_sheet = agreed(&best, layout, w * h)?;
    let part = around(layout, 0.0);
    let native = photo_from_sheet.near(part.centre()).growth() * 25.4;
    let dpi = Dpi::nearest(native.clamp(FIRST_LOOK / 2.0, FIRST_LOOK));
    let lens = Lens::of_photo(raster.width(), raster.height(), 0.0);
    Some(Rough { flatten: flatten(photo_from_sheet, lens, part, dpi), dpi })
}

/// The marks of a photograph whose sheet lies askew: marks are only known when they are nearly upright.
fn turned(raster: &GrayRaster, dpi: f64, kinds: &[MarkKind], turn: f64) -> Option<Vec<Mark>> {
    let (w, h) = (f64::from(raster.width()), f64::from(raster.height()));
    let map = Affine::turn_about(turn, Point::new(w / 2.0, h / 2.0));
    let whole = map.bounds(Rect { x: 0.0, y: 0.0, width: w, height: h });
    let scale = (FIRST_LOOK / dpi).min(1.0);
    let (x0, y0, x1, y1) = (whole.x, whole.y, whole.x + whole.width, whole.y + whole.height);
    let flatten = Flatten {
        corners: [(x0, y0), (x1, y0), (x1, y1), (x0, y1)].map(|(x, y)| map * Point::new(x, y)),
        lens: Lens::of_photo(raster.width(), raster.height(), 0.0),
        width: (whole.width * scale) as u32,
        height: (whole.height * scale) as u32,
    };
    let (picture, photo_from_picture) = (flatten.apply(raster)?, flatten.map()?);
    let found = MarkSearch::new(&picture, Dpi::nearest(dpi * scale)).anywhere(kinds);
    Some(found.into_iter().map(|m| Mark { at: photo_from_picture * m.at, ..m }).collect())
}

fn flatten(photo_from_sheet: Homography, lens: Lens, part: Rect, dpi: Dpi) -> Flatten {
    let fit =
        PerspectiveFit { photo_from_sheet, lens, residuals_mm: Vec::new(), rms_mm: 0.0, used: Vec::new() };
    fit.flatten(part, dpi)
}

/// The map through four marks of a photograph of so many pixels that most others agree with; of equals the one that turns the sheet least.
fn agreed(found: &[Mark], layout: &MarkLayout, photo: f64) -> Option<Homography> {
    let even: Vec<(MarkKind, Point)> = layout
        .marks
        .iter()
        .map(|m| (m.kind, m.at))
        .filter(|(kind, _)| matches!(kind, MarkKind::Cross | MarkKind::CrossedCircle))
        .collect();
    let mut starts: Vec<[(MarkKind, Point); 4]> = fours(&even).into_iter().filter_map(ringed).collect();
    let size = |four: &[(MarkKind, Point); 4]| area(&four.map(|(_, p)| p));
    let largest = starts.iter().map(size).fold(0.0, f64::max);
    starts.retain(|four| size(four) >= LEAST_PART * largest);
    let near = NEAR * layout.sheet.width.get().max(layout.sheet.height.get());
    let best = starts
        .par_iter()
        .filter_map(|four| best_of(found, four, &even, near, photo))
        .reduce_with(|a, b| if b.score > a.score { b } else { a })?;
    (best.marks >= LEAST_MARKS).then_some(best.map)
}

/// A map, the marks that agree with it, and how much that is.
#[derive(Debug, Clone, Copy)]
struct Agreed {
    map: Homography,
    marks: usize,
    score: f64,
}

/// The best of all ways to take four marks found for four of the layout.
fn best_of(
    found: &[Mark],
    four: &[(MarkKind, Point); 4],
    all: &[(MarkKind, Point)],
    near: f64,
    photo: f64,
) -> Option<Agreed> {
    let of_kind = |kind: MarkKind| found.iter().filter(move |m| m.kind == kind);
    let [a, b, c, d] = *four;
    let mut best: Option<Agreed> = None;
    for p in of_kind(a.0) {
        for q in of_kind(b.0).filter(|m| *m != p) {
            for r in of_kind(c.0).filter(|m| *m != p && *m != q) {
                for s in of_kind(d.0).filter(|m| *m != p && *m != q && *m != r) {
                    let corners = [p.at, q.at, r.at, s.at];
                    // A sheet is not seen from behind.
                    if !is_ring(&corners) || area(&corners) < LEAST_SHARE * photo {
                        continue;
                    }
                    let Some(map) = Homography::of_corners(four.map(|(_, at)| at), corners) else { continue };
                    let Some(agreed) = agreeing(found, map, all, near) else { continue };
                    if best.is_none_or(|b| agreed.score > b.score) {
                        best = Some(agreed);
                    }
                }
            }
        }
    }
    best
}

fn agreeing(found: &[Mark], map: Homography, all: &[(MarkKind, Point)], near: f64) -> Option<Agreed> {
    let back = map.inverse()?;
    let (mut marks, mut score) = (0, 0.0);
    for (kind, at) in all {
        let off = |m: &Mark| (back * m.at).distance(*at);
        let hit = found.iter().filter(|m| m.kind == *kind && off(m) <= near);
        if let Some(best) = hit.min_by(|a, b| off(a).total_cmp(&off(b))) {
            marks += 1;
            // Of four marks that lead and those that agree, what lies nearer counts a little more.
            score += best.score * (1.0 - 0.3 * off(best) / near);
        }
    }
    // The sheet's own right points to the right where it is upright in the photograph.
    let here = map.near(all.first()?.1);
    let upright = here.a / libm::hypot(here.a, here.b).max(1e-12);
    Some(Agreed { map, marks, score: score + 1e-3 * upright })
}

/// The four in a ring, clockwise as seen; `None` where they do not stand about a convex part.
fn ringed(four: [(MarkKind, Point); 4]) -> Option<[(MarkKind, Point); 4]> {
    let [a, b, c, d] = four;
    let orders = [[a, b, c, d], [a, b, d, c], [a, c, b, d], [a, c, d, b], [a, d, b, c], [a, d, c, b]];
    orders.into_iter().find(|order| is_ring(&order.map(|(_, p)| p)))
}

/// Whether four points run clockwise (y down) about a convex part.
fn is_ring(corners: &[Point; 4]) -> bool {
    (0..4).all(|i| {
        let at = |k: usize| corners.get((i + k) % 4).copied().unwrap_or_default();
        let (p, q, r) = (at(0), at(1), at(2));
        (q.x - p.x) * (r.y - q.y) - (q.y - p.y) * (r.x - q.x) > 0.0
    })
}

fn area([a, b, c, d]: &[Point; 4]) -> f64 {
    ((c.x - a.x) * (d.y - b.y) - (c.y - a.y) * (d.x - b.x)).abs() / 2.0
}
