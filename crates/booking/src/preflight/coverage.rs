//! Findings about how much ink lies where: large solids, too many inks on one place, and layers too light.
//!
//! The limits are common practice, no source: a solid of 40 mm square sets off, picks the sheet up and shows
//! roller marks; more than 240 % over a centimetre dries slowly.

use super::look::{Look, PX_PER_MM};
use super::{Finding, Kind};
use slipsheet_core::geometry::Rect;
use slipsheet_core::gray_check::{Fate, fates};
use slipsheet_core::raster::GrayRaster;
use slipsheet_document::printing::Printing;

/// Side of the square, in mm, that is all solid where a solid is large.
const SOLID_SIDE: f64 = 40.0;
/// Effective coverage from which it is solid.
const SOLID: f32 = 0.9;
/// Side of the square over which inks are added up, in mm.
const HEAVY_SIDE: f64 = 10.0;
/// Sum of the inks from which it is heavy.
const HEAVY: f64 = 2.4;
/// Share of what is drawn that does not print, from which a layer is too light.
const LIGHT: f64 = 0.5;

pub(super) fn findings(printing: &Printing, looks: &[Look]) -> Vec<Finding> {
    let mut all = Vec::new();
    for look in looks {
        for (index, plate, table) in &look.plates {
            all.extend(solid(printing, look, *index, (plate, table)));
            all.extend(light(printing, *index, plate));
        }
        all.extend(heavy(look));
    }
    all
}

/// Mean of a value over every square of a side in mm, at steps of a mm, with where each lies. Sums over rectangles
/// come from a summed-area table (Crow 1984).
fn squares(size: (usize, usize), side: f64, value: impl Fn(usize, usize) -> f64) -> Vec<(Rect, f64)> {
    let (width, height) = size;
    let (side, step) = ((side * PX_PER_MM) as usize, (PX_PER_MM as usize).max(1));
    let across = width + 1;
    let mut sums = vec![0.0; across * (height + 1)];
    for y in 0..height {
        let mut row = 0.0;
        for x in 0..width {
            row += value(x, y);
            let above = sums.get(y * across + x + 1).copied().unwrap_or(0.0);
            if let Some(sum) = sums.get_mut((y + 1) * across + x + 1) {
                *sum = above + row;
            }
        }
    }
    let sum = |x: usize, y: usize| sums.get(y * across + x).copied().unwrap_or(0.0);
    let starts = |length: usize| {
        let last = length.checked_sub(side);
        (0..last.unwrap_or(0)).step_by(step).chain(last)
    };
    let mm = |v: usize| v as f64 / PX_PER_MM;
    let at = |x: usize, y: usize| {
        let inside = sum(x + side, y + side) - sum(x, y + side) - sum(x + side, y) + sum(x, y);
        let rect = Rect { x: mm(x), y: mm(y), width: mm(side), height: mm(side) };
        (rect, inside / (side * side).max(1) as f64)
    };
    starts(height).flat_map(|y| starts(width).map(move |x| (x, y))).map(|(x, y)| at(x, y)).collect()
}

fn solid(
    printing: &Printing,
    look: &Look,
    index: usize,
    (plate, table): (&GrayRaster, &[f32; 256]),
) -> Option<Finding> {
    let size = (plate.width() as usize, plate.height() as usize);
    let is_solid = |x: usize, y: usize| {
        let gray = plate.row(y as u32).get(x).copied().unwrap_or(255);
        if table[usize::from(gray)] >= SOLID { 1.0 } else { 0.0 }
    };
    // A few pinholes do not make a solid less of one.
    let (rect, _) = squares(size, SOLID_SIDE, is_solid).into_iter().find(|s| s.1 >= 0.98)?;
    let name = &printing.sheet.layers.get(index)?.name;
    let sentence = format!(
        "“{name}” has a solid of {SOLID_SIDE:.0} mm square or more, which sets off, can pick the sheet up and shows roller marks"
    );
    Some(Finding::new(Kind::LargeSolid, sentence).on_layer(printing, index).at(look.face, rect))
}

fn heavy(look: &Look) -> Option<Finding> {
    let first = &look.plates.first()?.1;
    let size = (first.width() as usize, first.height() as usize);
    let sum = |x: usize, y: usize| {
        let of = |(_, plate, table): &(usize, GrayRaster, [f32; 256])| {
            table[usize::from(plate.row(y as u32).get(x).copied().unwrap_or(255))]
        };
        f64::from(look.plates.iter().map(of).sum::<f32>())
    };
    if look.plates.len() < 3 {
        return None;
    }
    let worst = squares(size, HEAVY_SIDE, sum).into_iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    (worst.1 > HEAVY).then(|| {
        let sentence = format!(
            "the inks add up to {:.0} % over a centimetre on the {}; wet ink that thick sets off and dries slowly",
            worst.1 * 100.0,
            look.face.name().to_lowercase()
        );
        Finding::new(Kind::HeavyCoverage, sentence).at(look.face, worst.0)
    })
}

fn light(printing: &Printing, index: usize, plate: &GrayRaster) -> Option<Finding> {
    let layer = printing.sheet.layers.get(index)?;
    let grays = layer.gray_table();
    let fates = fates(&layer.ink.curve);
    let counts = slipsheet_core::reading::histogram(plate.pixels());
    let (mut drawn, mut lost) = (0.0, 0.0);
    for (g, n) in counts.iter().enumerate() {
        let read = grays.map_or(g, |t| usize::from(t[g]));
        // What was drawn is judged by the original, what prints by what the reading makes of it.
        if g < usize::from(slipsheet_core::gray_check::PAPER) {
            drawn += *n as f64;
            if matches!(fates.get(read), Some(Fate::Vanishes | Fate::Blank)) {
                lost += *n as f64;
            }
        }
    }
    (drawn > 0.0 && lost / drawn > LIGHT).then(|| {
        let sentence =
            format!("{:.0} % of what “{}” has is too light to print", lost / drawn * 100.0, layer.name);
        Finding::new(Kind::TooLight, sentence).on_layer(printing, index)
    })
}
