//! Tells a calibration sheet from an ordinary original by a quick look at its gray pixels.

use super::read::{View, fits};
use super::{Encoding, ScanPixels, WedgeSheet, fiducials};
use crate::overprint::MAX_INKS;
use crate::raster::Pyramid;
use crate::units::SheetFormat;

/// The look is taken at the smallest copy that is at least this long, in pixels.
const LONGEST: u32 = 700;

/// A calibration sheet that was recognised.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recognised {
    /// Its format, one of those given.
    pub sheet: SheetFormat,
    /// Number of inks whose codes were read.
    pub inks: usize,
}

/// Looks for the corner marks of a calibration sheet, and for codes where they should be on sheets of these
/// formats. Both must be there: a drawing may have rings, but not the codes.
pub fn recognise(pixels: &Pyramid, formats: &[SheetFormat]) -> Option<Recognised> {
    let long = |i: usize| pixels.level(i).width().max(pixels.level(i).height());
    let level = (0..pixels.levels()).rev().find(|i| long(*i) >= LONGEST)?;
    let small = pixels.level(level);
    let rgb: Vec<u8> = small.pixels().iter().flat_map(|v| [*v; 3]).collect();
    let (width, height) = (small.width() as usize, small.height() as usize);
    let scan = ScanPixels { width, height, rgb: &rgb, encoding: Encoding::Srgb };
    let corners = fiducials::find(&scan).ok()?;
    let inks = |format: &SheetFormat| {
        let known = |inks: &usize| {
            let names = vec![String::new(); *inks];
            WedgeSheet::new(format.size(), &names, 0).is_ok_and(|plan| {
                (0..4).any(|turn| {
                    let mut turned = corners;
                    turned.rotate_left(turn);
                    fits(&plan, turned)
                        && View::new(&scan, &plan, turned).is_some_and(|v| v.codes(&plan).is_ok())
                })
            })
        };
        (1..=MAX_INKS).rev().find(known).unwrap_or(0)
    };
    let all = formats.iter().map(|f| Recognised { sheet: *f, inks: inks(f) });
    // The first of the formats that explain most.
    all.rev().max_by_key(|r| r.inks).filter(|r| r.inks > 0)
}
