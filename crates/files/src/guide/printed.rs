//! A guide's own printing in a scan of what was drawn on it: no artwork, and so taken out.
//!
//! A guide may as well have lain under the paper, on a light table. So it is asked first whether its lines are on the
//! scan: whether most of them are darker than what lies beside them, and darker more often than a shifted guide's would
//! be. What is much darker than these lines was drawn over them and stays.

use rayon::prelude::*;

use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::retouch::{AS_IT_IS, ASIDE, MARK};
use slipsheet_core::units::Dpi;
use slipsheet_document::layer::Target;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;

use super::drawing::Drawing;
use super::{GuideError, GuideOptions, picture};

/// Resolution at which the guide is drawn to be looked for.
const DPI: f64 = 200.0;
/// How far a printed line may lie beside its place, in pixels of that resolution.
const STRAYS: usize = 3;
/// How much darker than its surroundings a printed line is at least, in gray levels.
const DARKER: u8 = 8;
/// The share of the lines that must be seen, and how many times as many as of a guide shifted aside.
const SEEN: f64 = 0.5;
const MORE: f64 = 2.0;
/// What is darker than the printed lines by more than this was drawn, in gray levels.
const DRAWN: u8 = 30;
/// How far from its place the darkest point of a line is looked for, in mm.
const NEAR: f64 = 0.15;
/// How far beside a line its surroundings are looked at, and how far a shifted guide lies off, in mm.
const BESIDE: f64 = 0.9;
const SHIFTED: (f64, f64) = (2.3, 1.7);

/// Writes into a mask of the picture's size what a guide has printed on it; whether it is there.
///
/// # Errors
/// When there is no such page, or not enough memory.
pub fn take_out_printing(
    mask: &mut GrayRaster,
    picture: &GrayRaster,
    picture_from_target: Affine,
    (printing, target, face): (&Printing, Target, Face),
) -> Result<bool, GuideError> {
    let options = GuideOptions { face, ..GuideOptions::default() };
    let drawing = match target {
        Target::Sheet => Drawing::new(printing, 0, &options)?,
        Target::Page(page) => Drawing::of_page(printing, page, &options)?,
        // Nobody prints a guide of two pages.
        Target::Spread(_) => return Ok(false),
    };
    let guide = Lines::of(drawing.without_marks(), picture_from_target)?;
    let Some(gray) = guide.gray_on(picture) else { return Ok(false) };
    let width = mask.width() as usize;
    mask.pixels_mut().par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        for (x, (code, now)) in row.iter_mut().zip(picture.row(y as u32)).enumerate() {
            if *code == AS_IT_IS && guide.covers(x, y) {
                let drawn = *now < gray.saturating_sub(DRAWN);
                *code = if drawn { ASIDE } else { MARK };
            }
        }
    });
    Ok(true)
}

/// What a guide prints, as pixels of its own.
struct Lines {
    width: usize,
    height: usize,
    inked: Vec<bool>,
    /// The same with what strays beside the lines.
    near: Vec<bool>,
    picture_from_lines: Affine,
    lines_from_picture: Affine,
    /// Pixels of the picture a mm.
    ppm: f64,
}

impl Lines {
    fn of(drawing: Drawing, picture_from_target: Affine) -> Result<Self, GuideError> {
        let dpi = Dpi::nearest(DPI);
        let size = drawing.original.pixels(dpi);
        let rgb = picture::rgb(&drawing, dpi, size)?;
        let (width, height) = (size.0 as usize, size.1 as usize);
        let inked: Vec<bool> = rgb.chunks_exact(3).map(|p| p.iter().any(|v| *v < 235)).collect();
        let mm_per_px = 1.0 / dpi.px_per_mm();
        let picture_from_lines = picture_from_target
            * Affine::shift(-drawing.sheet.x, -drawing.sheet.y)
            * Affine::scale(mm_per_px, mm_per_px);
        let lines_from_picture = picture_from_lines.inverse().unwrap_or(Affine::IDENTITY);
        let near = grown(&inked, width);
        let ppm = picture_from_target.growth();
        Ok(Self { width, height, inked, near, picture_from_lines, lines_from_picture, ppm })
    }

    fn covers(&self, x: usize, y: usize) -> bool {
        let at = self.lines_from_picture * Point::new(x as f64 + 0.5, y as f64 + 0.5);
        let inside = at.x >= 0.0 && at.y >= 0.0 && at.x < self.width as f64 && at.y < self.height as f64;
        inside && self.near.get(at.y as usize * self.width + at.x as usize) == Some(&true)
    }

    /// The gray of the printed lines on a picture; `None` where they are not on it.
    fn gray_on(&self, picture: &GrayRaster) -> Option<u8> {
        let (seen, grays) = self.seen(picture, (0.0, 0.0));
        let (by_chance, _) = self.seen(picture, SHIFTED);
        if seen < SEEN || seen < MORE * by_chance {
            return None;
        }
        // A line is thinner than a pixel of many a scan: what is darkest of it is nearest to its own gray.
        let mut grays = grays;
        grays.sort_unstable();
        grays.get(grays.len() / 5).copied()
    }

    /// The share of the lines' places, shifted by so many mm, that are darker than what lies beside them; and their grays.
    fn seen(&self, picture: &GrayRaster, (dx, dy): (f64, f64)) -> (f64, Vec<u8>) {
        let places = self.inked.iter().enumerate().filter(|(i, inked)| **inked && i % 7 == 0);
        let (mut all, mut grays) = (0_usize, Vec::new());
        let gray = |p: Point| {
            let row = (p.y >= 0.0).then(|| picture.row(p.y as u32))?;
            (p.x >= 0.0).then(|| row.get(p.x as usize).copied())?
        };
        for (i, _) in places {
            let (x, y) = ((i % self.width) as f64 + 0.5, (i / self.width) as f64 + 0.5);
            let at = self.picture_from_lines * Point::new(x, y);
            let at = Point::new(at.x + dx * self.ppm, at.y + dy * self.ppm);
            let by = BESIDE * self.ppm;
            let beside = [(by, by), (-by, by), (by, -by), (-by, -by)];
            let beside = beside.iter().filter_map(|(x, y)| gray(Point::new(at.x + x, at.y + y)));
            let mut beside: Vec<u8> = beside.collect();
            beside.sort_unstable();
            let near = (-2..=2).flat_map(|y| (-2..=2).map(move |x| (f64::from(x), f64::from(y))));
            let by = NEAR / 2.0 * self.ppm;
            let darkest = near.filter_map(|(x, y)| gray(Point::new(at.x + x * by, at.y + y * by))).min();
            let (Some(darkest), Some(paper)) = (darkest, beside.get(beside.len() / 2)) else { continue };
            all += 1;
            if paper.saturating_sub(darkest) >= DARKER {
                grays.push(darkest);
            }
        }
        (grays.len() as f64 / all.max(1) as f64, grays)
    }
}

/// Grown by [`STRAYS`] pixels to all sides.
fn grown(inked: &[bool], width: usize) -> Vec<bool> {
    let mut wide = inked.to_vec();
    let set = |all: &mut Vec<bool>, i: usize| {
        if let Some(pixel) = all.get_mut(i) {
            *pixel = true;
        }
    };
    for (i, _) in inked.iter().enumerate().filter(|(_, inked)| **inked) {
        (i.saturating_sub(STRAYS)..=i + STRAYS).for_each(|j| set(&mut wide, j));
    }
    let mut all = wide.clone();
    for (i, _) in wide.iter().enumerate().filter(|(_, inked)| **inked) {
        for step in 1..=STRAYS {
            set(&mut all, i + step * width);
            set(&mut all, i.wrapping_sub(step * width));
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::retouch;

    const SCAN: f64 = 150.0;

    /// A scan of a guide on grainy paper, with a stroke of ink across it; or of the stroke alone.
    fn scan(printing: &Printing, printed: bool) -> (GrayRaster, Affine) {
        let options = GuideOptions::default();
        let drawing = Drawing::new(printing, 0, &options).unwrap();
        let dpi = Dpi::new(SCAN).unwrap();
        let (width, height) = drawing.original.pixels(dpi);
        let map =
            Affine::scale(dpi.px_per_mm(), dpi.px_per_mm()) * Affine::shift(drawing.sheet.x, drawing.sheet.y);
        let mut gray: Vec<u8> = if printed {
            let rgb = picture::rgb(&drawing.without_marks(), dpi, (width, height)).unwrap();
            rgb.chunks_exact(3).map(|p| p[1]).collect()
        } else {
            vec![255; (width * height) as usize]
        };
        for (i, g) in gray.iter_mut().enumerate() {
            let (x, y) = (i as u32 % width, i as u32 / width);
            let grain = (i as u32).wrapping_mul(2_654_435_761) >> 30;
            *g = g.saturating_sub(5 + grain as u8);
            if x.abs_diff(y / 2 + 200) < 6 {
                *g = 30;
            }
        }
        (GrayRaster::new(width, height, gray).unwrap(), map)
    }

    #[test]
    fn what_a_guide_printed_is_taken_out_and_what_was_drawn_over_it_stays() {
        let printing = crate::guide::tests::printing(slipsheet_core::units::SheetFormat::Letter, "slit8");
        let (picture, map) = scan(&printing, true);
        let (bare, _) = scan(&printing, false);
        let mut mask = GrayRaster::filled(picture.width(), picture.height(), retouch::AS_IT_IS).unwrap();
        let of = (&printing, Target::Sheet, Face::Front);
        assert!(take_out_printing(&mut mask, &picture, map, of).unwrap());
        let mut done = picture.clone();
        assert!(retouch::apply(&mut done, None, &mask));
        let left = |r: &GrayRaster| {
            r.pixels().iter().zip(bare.pixels()).filter(|(a, b)| a.abs_diff(**b) > 12).count()
        };
        let (before, after) = (left(&picture), left(&done));
        assert!(before > 5_000 && after * 20 < before, "{after} of {before} pixels are left");
    }

    #[test]
    fn a_guide_that_lay_under_the_paper_changes_nothing() {
        let printing = crate::guide::tests::printing(slipsheet_core::units::SheetFormat::Letter, "slit8");
        let (picture, map) = scan(&printing, false);
        let mut mask = GrayRaster::filled(picture.width(), picture.height(), retouch::AS_IT_IS).unwrap();
        let of = (&printing, Target::Sheet, Face::Front);
        assert!(!take_out_printing(&mut mask, &picture, map, of).unwrap());
        assert!(mask.pixels().iter().all(|code| *code == retouch::AS_IT_IS));
    }
}
