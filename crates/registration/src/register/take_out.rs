//! Marks that were found are no artwork: which pixels of a picture are theirs, so that they can be taken out.
//!
//! A mark drawn by hand strays from its shape and ends where the hand did. So what is dark near its lines is followed
//! a little to the side, and where that leads on and on it is artwork that touches the mark: then the mark's own lines
//! alone are taken.

use super::layout::LayoutMark;
use super::shape::Stroke;
use slipsheet_base::stats::gray_quantile;
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::retouch::{AS_IT_IS, ASIDE, MARK};

/// How far from a mark's lines its strokes may lie, in mm: for sure, and where they lead there.
const NEAR: f64 = 0.45;
const FAR: f64 = 1.3;
/// How much darker than the paper around it a stroke is, in gray levels.
const DARKER: u8 = 14;
/// The soft rim of a stroke, in mm.
const RIM: f64 = 0.15;
/// The share of a mark's pixels at the outer limit from which on they are artwork that goes on.
const LEADS_ON: f64 = 0.08;

/// Writes the pixels of these marks into a mask of the picture's size.
pub fn take_out<'a>(
    mask: &mut GrayRaster,
    picture: &GrayRaster,
    picture_from_sheet: Affine,
    marks: impl IntoIterator<Item = &'a LayoutMark>,
) {
    let Some(sheet_from_picture) = picture_from_sheet.inverse() else { return };
    for mark in marks {
        let around = Around::of(picture, picture_from_sheet, sheet_from_picture, mark);
        for (x, y, taken) in around.strokes() {
            let at = y as usize * mask.width() as usize + x as usize;
            if let Some(code) = mask.pixels_mut().get_mut(at).filter(|code| is_free(**code, taken)) {
                *code = taken;
            }
        }
    }
}

/// Whether a pixel may get a code: what was painted by hand stays, and the stroke of one mark is no artwork to the next.
fn is_free(code: u8, taken: u8) -> bool {
    code == AS_IT_IS || (code == ASIDE && taken == MARK)
}

/// The part of a picture around one mark.
struct Around {
    /// First column and row, and the size.
    x: u32,
    y: u32,
    width: usize,
    height: usize,
    /// Pixels a mm.
    ppm: f64,
    /// How far each pixel lies from the mark's lines, in mm.
    off: Vec<f64>,
    dark: Vec<bool>,
}

impl Around {
    fn of(
        picture: &GrayRaster,
        picture_from_sheet: Affine,
        sheet_from_picture: Affine,
        mark: &LayoutMark,
    ) -> Self {
        let strokes = mark.kind.strokes(mark.size);
        let ppm = picture_from_sheet.growth();
        let reach = (reach(&strokes) + FAR + 2.0 * RIM) * ppm;
        let at = picture_from_sheet * mark.at;
        let within = |v: f64, side: u32| v.clamp(0.0, f64::from(side)) as u32;
        let (x, y) = (within(at.x - reach, picture.width()), within(at.y - reach, picture.height()));
        let width = (within(at.x + reach, picture.width()) - x) as usize;
        let height = (within(at.y + reach, picture.height()) - y) as usize;
        let place = |i: usize| (x + (i % width) as u32, y + (i / width) as u32);

        let mut off = Vec::with_capacity(width * height);
        let mut beside = [0_u32; 256];
        let gray = |i: usize| {
            let (px, py) = place(i);
            picture.row(py).get(px as usize).copied().unwrap_or(255)
        };
        for i in 0..width * height {
            let (px, py) = place(i);
            let on_sheet = sheet_from_picture * Point::new(f64::from(px) + 0.5, f64::from(py) + 0.5);
            let from_mark = Point::new(on_sheet.x - mark.at.x, on_sheet.y - mark.at.y);
            let near = strokes.iter().map(|s| s.distance(from_mark)).fold(f64::INFINITY, f64::min);
            if near > 2.0 * NEAR {
                beside[usize::from(gray(i))] += 1;
            }
            off.push(near);
        }
        let paper = gray_quantile(&beside, 0.5);
        let dark = (0..off.len()).map(|i| paper.saturating_sub(gray(i)) >= DARKER).collect();
        Self { x, y, width, height, ppm, off, dark }
    }

    /// The pixels of the strokes with their rim, and those of artwork that crosses them.
    fn strokes(&self) -> Vec<(u32, u32, u8)> {
        let off = |i: usize| self.off.get(i).copied().unwrap_or(f64::INFINITY);
        let is_dark = |i: usize| self.dark.get(i) == Some(&true);
        let sure: Vec<usize> = (0..self.off.len()).filter(|i| is_dark(*i) && off(*i) <= NEAR).collect();
        let mut taken = vec![false; self.off.len()];
        let mut todo = sure.clone();
        let mut found = Vec::new();
        while let Some(i) = todo.pop() {
            match taken.get_mut(i) {
                Some(known) if !*known => *known = true,
                _ => continue,
            }
            found.push(i);
            todo.extend(self.beside(i, 1).filter(|j| is_dark(*j) && off(*j) <= FAR));
        }
        let limit = found.iter().filter(|i| off(**i) > FAR - RIM).count();
        let strokes = if limit as f64 > LEADS_ON * found.len() as f64 { sure } else { found };

        let rim = libm::ceil(RIM * self.ppm).max(1.0) as usize;
        let mut all = vec![false; self.off.len()];
        for i in strokes {
            for j in self.beside(i, rim) {
                if let Some(pixel) = all.get_mut(j) {
                    *pixel = true;
                }
            }
        }
        let place = |i: usize| (self.x + (i % self.width) as u32, self.y + (i / self.width) as u32);
        let code = |(i, taken): (usize, &bool)| {
            let code = if *taken { MARK } else { ASIDE };
            (*taken || is_dark(i)).then(|| (place(i).0, place(i).1, code))
        };
        all.iter().enumerate().filter_map(code).collect()
    }

    /// The pixels up to so many steps from one, itself among them.
    fn beside(&self, i: usize, steps: usize) -> impl Iterator<Item = usize> {
        let (x, y, width, height) = (i % self.width, i / self.width, self.width, self.height);
        let rows = y.saturating_sub(steps)..(y + steps + 1).min(height);
        rows.flat_map(move |y| {
            (x.saturating_sub(steps)..(x + steps + 1).min(width)).map(move |x| y * width + x)
        })
    }
}

/// How far a mark's strokes reach from its point, in mm.
fn reach(strokes: &[Stroke]) -> f64 {
    let far = |p: &Point| libm::hypot(p.x, p.y);
    let of = |stroke: &Stroke| match stroke {
        Stroke::Line { from, to } => far(from).max(far(to)),
        Stroke::Arc { radius, .. } => *radius,
    };
    strokes.iter().map(of).fold(0.0, f64::max)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::register::layout::{MarkLayout, usual_original};
    use crate::register::marks::tests::Drawing;
    use slipsheet_core::retouch;
    use slipsheet_core::units::SheetFormat;

    const DPI: f64 = 150.0;

    fn layout() -> MarkLayout {
        let sheet = SheetFormat::Letter.size();
        MarkLayout::guide(sheet, usual_original(SheetFormat::Letter, sheet))
    }

    fn map() -> Affine {
        let ppm = DPI / 25.4;
        Affine::shift(70.0, 80.0) * Affine::turn(0.7) * Affine::scale(ppm, ppm)
    }

    fn cleared(picture: &GrayRaster) -> (GrayRaster, GrayRaster) {
        let mut mask = GrayRaster::filled(picture.width(), picture.height(), retouch::AS_IT_IS).unwrap();
        take_out(&mut mask, picture, map(), &layout().marks);
        let mut done = picture.clone();
        assert!(retouch::apply(&mut done, None, &mask));
        (done, mask)
    }

    #[test]
    fn marks_drawn_by_hand_are_taken_out_whole() {
        let mut drawing = Drawing::new(1420, 1820, DPI);
        let bare = drawing.raster.clone();
        for mark in &layout().marks {
            let at = map() * mark.at;
            // A hand strays by up to half a millimetre.
            drawing.strokes(&mark.kind.strokes(mark.size), Point::new(at.x + 2.0, at.y - 2.4), 3.0, 0.4, 70);
        }
        let (done, _) = cleared(&drawing.raster);
        let worst = done.pixels().iter().zip(bare.pixels()).map(|(a, b)| b.saturating_sub(*a)).max().unwrap();
        assert!(worst <= 10, "{worst} levels of a mark are left");
    }

    #[test]
    fn paper_that_is_white_is_left_alone() {
        let white = GrayRaster::filled(1420, 1820, 255).unwrap();
        let (_, mask) = cleared(&white);
        assert!(mask.pixels().iter().all(|code| *code == retouch::AS_IT_IS));
    }

    #[test]
    fn a_line_that_crosses_a_mark_stays_but_for_the_crossing() {
        let mut drawing = Drawing::new(1420, 1820, DPI);
        for mark in &layout().marks {
            drawing.strokes(&mark.kind.strokes(mark.size), map() * mark.at, 0.7, 0.3, 70);
        }
        let line = Stroke::Line { from: Point::new(-30.0, -11.0), to: Point::new(30.0, 14.0) };
        let corner = map() * Point::new(215.9, 279.4);
        drawing.strokes(&[line], corner, 0.0, 1.2, 20);
        let (done, mask) = cleared(&drawing.raster);
        let taken = mask.pixels().iter().filter(|code| **code == MARK).count();
        assert!((500..20_000).contains(&taken), "{taken}");
        // The line goes on past the mark.
        let dark = |dx: f64| {
            let (x, y) = (dx, dx * 25.0 / 60.0 + 1.5);
            let p = Point::new(corner.x + x * DPI / 25.4, corner.y + y * DPI / 25.4);
            done.pixels()[p.y as usize * 1420 + p.x as usize]
        };
        for dx in [-20.0, -12.0, -8.0, 8.0, 11.0] {
            assert!(dark(dx) < 140, "{dx}: {}", dark(dx));
        }
    }

    #[test]
    fn a_wash_under_a_mark_stays_a_wash() {
        let mut drawing = Drawing::new(1420, 1820, DPI);
        drawing
            .raster
            .pixels_mut()
            .iter_mut()
            .enumerate()
            .for_each(|(i, g)| *g = 120 + (i % 1420 / 20) as u8);
        let wash = drawing.raster.clone();
        for mark in &layout().marks {
            drawing.strokes(&mark.kind.strokes(mark.size), map() * mark.at, 0.7, 0.3, 20);
        }
        let (done, _) = cleared(&drawing.raster);
        let worst = done.pixels().iter().zip(wash.pixels()).map(|(a, b)| a.abs_diff(*b)).max().unwrap();
        assert!(worst <= 8, "{worst}");
    }
}
