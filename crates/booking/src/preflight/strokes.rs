//! Findings about strokes too thin for the press: hairlines, and type in a tint that a screen breaks up.
//!
//! A stroke is thin where a square of the limit's side cannot be laid into it (a morphological opening). The
//! limits are common practice, no source: a full stroke holds from 0.1 mm, a stroke in a tint from one cell of
//! its screen on. Type is named by its size: the stem of a plain text face is about 0.09 of its size.

use rayon::prelude::*;

use super::{Finding, Kind};
use slipsheet_core::geometry::Rect;
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::reading::Mode;
use slipsheet_core::units::Dpi;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;
use slipsheet_render::{Scene, Show, View};

/// Resolution of the look.
const DPI: f64 = 400.0;
/// Bytes that the look takes for a pixel: a plate and two masks, of both faces at once.
const BYTES_A_PIXEL: f64 = 6.0;
/// Pixels of a hairline's width below which it is not looked for, as it would be said of wider strokes.
const FEWEST: f64 = 1.5;
/// The thinnest full stroke in mm.
const HAIRLINE: f64 = 0.1;
/// Stem of a plain text face as a share of its size.
const STEM: f64 = 0.09;
/// Thin ink in mm2 from which it is worth a word.
const ENOUGH: f64 = 3.0;
/// Share of a stroke's ink that must be thin in its surroundings, so that rims of washes do not count.
const MOSTLY: f64 = 0.6;
/// Side in mm of the squares in which strokes are counted.
const TILE: f64 = 5.0;

pub(super) fn findings(printing: &Printing, images: &Images) -> Vec<Finding> {
    Face::BOTH.into_par_iter().flat_map_iter(|face| of_face(printing, images, face)).collect()
}

fn of_face(printing: &Printing, images: &Images, face: Face) -> Vec<Finding> {
    let show = Show::meant(face);
    let (Ok(scene), Ok(dpi)) = (Scene::new(printing, images, show), Dpi::new(DPI)) else { return Vec::new() };
    let dpi = scene.sheet().dpi_within(dpi, BYTES_A_PIXEL);
    let view = View::sheet(scene.sheet(), dpi);
    let mut all = Vec::new();
    for (index, layer) in printing.sheet.on(face).filter(|(_, l)| l.visible) {
        let Some(plate) = scene.plate(index, &view) else { continue };
        let px = |mm: f64| libm::round(mm * dpi.px_per_mm()).max(2.0) as usize;
        // Full strokes: anything that is more ink than not.
        let is_fine = HAIRLINE * dpi.px_per_mm() >= FEWEST;
        if let Some(rect) = thin(&plate, (1, 160), px(HAIRLINE), dpi).filter(|_| is_fine) {
            let sentence =
                format!("“{}” has strokes thinner than {HAIRLINE:.1} mm, which may not print", layer.name);
            all.push(Finding::new(Kind::Hairline, sentence).on_layer(printing, index).at(face, rect));
        }
        let Some(cell) = cell(&layer.reading.mode) else { continue };
        // Half way to a middle tint, so that the rim of a stroke does not make it wider.
        if let Some(rect) = thin(&plate, (64, 180), px(cell), dpi) {
            let size = cell / STEM / 25.4 * 72.0;
            let sentence = format!(
                "“{}” has strokes in a tint thinner than {cell:.2} mm, which its screen breaks up; type in a tint needs {size:.0} pt or more",
                layer.name
            );
            all.push(Finding::new(Kind::SmallType, sentence).on_layer(printing, index).at(face, rect));
        }
    }
    all
}

/// The thinnest stroke in a tint that a reading keeps whole, in mm; `None` where tints are not screened.
fn cell(mode: &Mode) -> Option<f64> {
    match mode {
        Mode::Screened { ruling, angle: _ } => Some(25.4 / ruling.get()),
        Mode::Stochastic { .. } | Mode::Faint => Some(0.2),
        // A mixed reading takes strokes as line; continuous tone is the machine's business.
        Mode::Continuous | Mode::Line | Mode::Mixed { .. } => None,
    }
}

/// Where strokes of a range of grays are thinner than so many pixels.
fn thin(plate: &GrayRaster, (from, to): (u8, u8), side: usize, dpi: Dpi) -> Option<Rect> {
    let (w, h) = (plate.width() as usize, plate.height() as usize);
    let dark: Vec<bool> = plate.pixels().par_iter().map(|g| *g < to).collect();
    if !dark.contains(&true) {
        return None;
    }
    let opened = opened(&dark, w, side);
    let px_per_mm = dpi.px_per_mm();
    let tile = (TILE * px_per_mm) as usize;
    let across = w.div_ceil(tile);
    let mut counts = vec![(0_u32, 0_u32); across * h.div_ceil(tile)];
    for (i, (dark, kept)) in dark.iter().zip(&opened).enumerate() {
        if *dark {
            let at = (i / w) / tile * across + (i % w) / tile;
            // A full black core is a full stroke, whatever its rim.
            let tint = plate.pixels().get(i).is_some_and(|g| *g >= from) || from <= 1;
            if let Some(c) = counts.get_mut(at) {
                c.0 += 1;
                c.1 += u32::from(!kept && tint);
            }
        }
    }
    let enough = (ENOUGH * px_per_mm * px_per_mm / 8.0) as u32;
    let is_thin = |c: &(u32, u32)| c.1 >= enough && f64::from(c.1) >= MOSTLY * f64::from(c.0);
    let at = counts.iter().position(is_thin)?;
    let mm = |t: usize| (t * tile) as f64 / px_per_mm;
    Some(Rect { x: mm(at % across), y: mm(at / across), width: TILE, height: TILE })
}

/// What is left of a mask when a square of this side is pushed through it.
fn opened(mask: &[bool], w: usize, side: usize) -> Vec<bool> {
    let mut out = mask.to_vec();
    // A run of `side` pixels each way, and then the same grown back.
    out.par_chunks_mut(w.max(1)).for_each(|row| {
        let mut length = 0;
        for set in row.iter_mut().rev() {
            length = if *set { length + 1 } else { 0 };
            *set = length >= side;
        }
    });
    let mut counts = vec![0_u16; w];
    let side_down = side.min(usize::from(u16::MAX)) as u16;
    for row in out.chunks_mut(w.max(1)).rev() {
        for (set, length) in row.iter_mut().zip(&mut counts) {
            *length = if *set { length.saturating_add(1) } else { 0 };
            *set = *length >= side_down;
        }
    }
    counts.fill(0);
    for row in out.chunks_mut(w.max(1)) {
        for (set, left) in row.iter_mut().zip(&mut counts) {
            *left = if *set { side_down } else { left.saturating_sub(1) };
            *set = *left > 0;
        }
    }
    out.par_chunks_mut(w.max(1)).for_each(|row| {
        let mut left = 0;
        for set in row {
            left = if *set { side } else { left.saturating_sub(1) };
            *set = left > 0;
        }
    });
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Bars of a width in pixels, 60 apart, on white.
    fn bars(width: usize, gray: u8) -> GrayRaster {
        let side = 800_usize;
        let pixels = (0..side * side).map(|i| if (i % side) % 60 < width { gray } else { 255 }).collect();
        GrayRaster::new(side as u32, side as u32, pixels).unwrap()
    }

    #[test]
    fn a_square_passes_through_what_is_as_wide_as_it_is() {
        for (width, side, kept) in [(5, 5, true), (4, 5, false), (9, 5, true)] {
            let raster = bars(width, 0);
            let mask: Vec<bool> = raster.pixels().iter().map(|g| *g < 128).collect();
            let open = opened(&mask, 800, side);
            assert_eq!(open.iter().any(|v| *v), kept, "{width} {side}");
            assert!(!kept || open == mask);
        }
    }

    #[test]
    fn thin_strokes_are_found_and_thick_ones_are_not() {
        let dpi = Dpi::new(DPI).unwrap();
        assert!(thin(&bars(3, 150), (64, 224), 5, dpi).is_some());
        assert!(thin(&bars(5, 150), (64, 224), 5, dpi).is_none());
        // Full strokes are not broken by a screen.
        assert!(thin(&bars(3, 0), (64, 224), 5, dpi).is_none());
    }
}
