//! The mark sheet of a press: at eight stations around the sheet every ink has a crossed circle of its own,
//! beside the others'. It is drawn from here, and read back here.

use rayon::prelude::*;

use super::{Misalignment, SpreadError, misalignment};
use crate::register::{ExpectedMark, MarkKind, MarkSearch};
use slipsheet_core::geometry::Point;
use slipsheet_core::raster::{GrayRaster, RasterError};
use slipsheet_core::units::{Dpi, Size};

/// Radius of a circle in mm.
const RADIUS: f64 = 1.6;
/// Width of a stroke in mm.
const STROKE: f64 = 0.25;
/// Between the marks of two inks in mm.
const APART: f64 = 8.0;
/// Marks beside each other before a second row begins.
const ROW: usize = 4;
/// From the edge of the sheet to the nearest mark in mm; more than any press leaves unprinted.
const EDGE: f64 = 14.0;
/// How far a mark may lie from where it is looked for, in mm: less than half the way to the next.
const WITHIN: f64 = 3.8;

/// A mark sheet for a number of inks.
#[derive(Debug, Clone, PartialEq)]
pub struct SpreadSheet {
    pub sheet: Size,
    /// Where each ink's marks lie, in mm from the top left.
    pub marks: Vec<Vec<Point>>,
}

impl SpreadSheet {
    /// The marks of so many inks on a sheet.
    pub fn new(sheet: Size, inks: usize) -> Self {
        let (w, h) = (sheet.width.get(), sheet.height.get());
        let wide = (inks.clamp(1, ROW) - 1) as f64 * APART;
        let tall = (inks.div_ceil(ROW).max(1) - 1) as f64 * APART;
        // Corners of a station's block; the middle of the sheet says nothing about skew and is left out.
        let places = |length: f64, block: f64| {
            let (first, last) = (EDGE, (length - EDGE - block).max(EDGE));
            let middle = (length - block) / 2.0;
            // A middle station needs room beside the outer ones.
            if middle - first > block + APART { vec![first, middle, last] } else { vec![first, last] }
        };
        let (xs, ys) = (places(w, wide), places(h, tall));
        let middle = |i: usize, n: usize| n == 3 && i == 1;
        let stations: Vec<Point> = ys
            .iter()
            .enumerate()
            .flat_map(|(j, y)| xs.iter().enumerate().map(move |(i, x)| (i, j, Point::new(*x, *y))))
            .filter(|(i, j, _)| !(middle(*i, xs.len()) && middle(*j, ys.len())))
            .map(|(_, _, p)| p)
            .collect();
        let of_ink = |ink: usize| {
            let (dx, dy) = ((ink % ROW) as f64 * APART, (ink / ROW) as f64 * APART);
            stations.iter().map(|s| Point::new(s.x + dx, s.y + dy)).collect()
        };
        Self { sheet, marks: (0..inks).map(of_ink).collect() }
    }

    /// How every ink lies on a scanned copy, which shows the sheet standing as it was printed, at most some
    /// 6 degrees crooked.
    ///
    /// # Errors
    /// [`SpreadError::Marks`] when too few marks of an ink are found.
    pub fn read(&self, scan: &GrayRaster, dpi: Dpi) -> Result<Vec<Misalignment>, SpreadError> {
        let ppm = dpi.px_per_mm();
        let search = MarkSearch::new(scan, dpi);
        let seen = search.anywhere(&[MarkKind::CrossedCircle]);
        let shift =
            self.shift(&seen.iter().map(|m| Point::new(m.at.x / ppm, m.at.y / ppm)).collect::<Vec<_>>());
        let centre = Point::new(self.sheet.width.get() / 2.0, self.sheet.height.get() / 2.0);
        self.marks
            .par_iter()
            .enumerate()
            .map(|(ink, marks)| {
                let (mut meant, mut found) = (Vec::new(), Vec::new());
                for p in marks {
                    let at = Point::new((p.x + shift.x) * ppm, (p.y + shift.y) * ppm);
                    let place = ExpectedMark { kind: MarkKind::CrossedCircle, at, within: WITHIN * ppm };
                    if let Some(mark) = search.near(place) {
                        meant.push(*p);
                        found.push(Point::new(mark.at.x / ppm, mark.at.y / ppm));
                    }
                }
                misalignment(&meant, &found, centre)
                    .ok_or(SpreadError::Marks { ink: ink + 1, found: found.len() })
            })
            .collect()
    }

    /// The shift that brings most marks onto found ones, in mm.
    fn shift(&self, seen: &[Point]) -> Point {
        let all: Vec<Point> = self.marks.iter().flatten().copied().collect();
        let candidates = seen.iter().flat_map(|s| all.iter().map(move |p| Point::new(s.x - p.x, s.y - p.y)));
        let votes = |shift: &Point| {
            let hit = |p: &&Point| {
                let at = Point::new(p.x + shift.x, p.y + shift.y);
                seen.iter().any(|s| s.distance(at) < 1.5)
            };
            all.iter().filter(hit).count()
        };
        // Of equal ones the smallest: a scan shows the sheet about where it is.
        let best = candidates.map(|c| (votes(&c), c)).max_by(|a, b| {
            let size = |p: &Point| libm::hypot(p.x, p.y);
            a.0.cmp(&b.0).then(size(&b.1).total_cmp(&size(&a.1)))
        });
        best.map_or(Point::default(), |(_, shift)| shift)
    }
}

/// One ink's plate of a mark sheet, every mark shifted by what `at` says of it (mm to mm); as drawn for a
/// master when that is where it is.
///
/// # Errors
/// When the raster would be too large.
pub fn station_plate(
    sheet: Size,
    marks: &[Point],
    dpi: Dpi,
    at: impl Fn(Point) -> Point,
) -> Result<GrayRaster, RasterError> {
    let (width, height) = sheet.pixels(dpi);
    let mut plate = GrayRaster::filled(width, height, 255)?;
    let ppm = dpi.px_per_mm();
    let reach = RADIUS * 1.6 + STROKE;
    for mark in marks {
        let middle = at(*mark);
        let range = |c: f64, most: u32| {
            let low = libm::floor((c - reach) * ppm).clamp(0.0, f64::from(most)) as usize;
            let high = libm::ceil((c + reach) * ppm).clamp(0.0, f64::from(most)) as usize;
            low..high
        };
        for y in range(middle.y, height) {
            for x in range(middle.x, width) {
                let (dx, dy) = ((x as f64 + 0.5) / ppm - middle.x, (y as f64 + 0.5) / ppm - middle.y);
                let ring = (libm::hypot(dx, dy) - RADIUS).abs();
                let arms = RADIUS * 1.6;
                let arm = |along: f64, across: f64| across.abs().max(along.abs() - arms + STROKE / 2.0);
                let off = ring.min(arm(dx, dy)).min(arm(dy, dx));
                let ink = ((STROKE / 2.0 - off) * ppm + 0.5).clamp(0.0, 1.0);
                if let Some(pixel) = plate.pixels_mut().get_mut(y * width as usize + x) {
                    *pixel = (*pixel).min((255.0 * (1.0 - ink) + 0.5) as u8);
                }
            }
        }
    }
    Ok(plate)
}
