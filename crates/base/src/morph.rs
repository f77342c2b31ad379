//! Growing and shrinking shapes in gray: the darkest (or lightest) gray within a disc.
//!
//! A disc is a stack of horizontal runs. For each of its rows the row's running minimum is taken over the
//! run (van Herk 1992, Gil and Werman 1993: three comparisons a pixel whatever the length), and the rows'
//! minima are joined. A radius between whole pixels lies between the two discs around it.

use rayon::prelude::*;

use crate::raster::GrayRaster;

/// Shapes grown by a radius in pixels: ink is dark.
#[must_use]
pub fn spread(plate: &GrayRaster, radius: f64) -> GrayRaster {
    let radius = radius.clamp(0.0, 2000.0);
    let (low, part) = (libm::floor(radius) as usize, radius - libm::floor(radius));
    let small = if low == 0 { plate.clone() } else { whole(plate, low) };
    if part < 1e-3 {
        return small;
    }
    let large = whole(plate, low + 1);
    let part = (part * 256.0 + 0.5) as u32;
    let mut out = small;
    let rows = out.pixels_mut().par_chunks_mut(1 << 16).zip(large.pixels().par_chunks(1 << 16));
    rows.for_each(|(a, b)| {
        for (a, b) in a.iter_mut().zip(b) {
            *a = ((u32::from(*a) * (256 - part) + u32::from(*b) * part + 128) >> 8) as u8;
        }
    });
    out
}

/// Shapes shrunk by a radius in pixels.
#[must_use]
pub fn choked(plate: &GrayRaster, radius: f64) -> GrayRaster {
    let inverse: [u8; 256] = std::array::from_fn(|g| 255 - g as u8);
    spread(&plate.mapped(&inverse), radius).mapped(&inverse)
}

/// Half the length of each of a disc's rows, from its middle row outwards.
fn runs(radius: usize) -> Vec<usize> {
    let r = radius as f64;
    (0..=radius).map(|dy| libm::floor(libm::sqrt(r * r - (dy * dy) as f64) + 1e-9) as usize).collect()
}

fn whole(plate: &GrayRaster, radius: usize) -> GrayRaster {
    let (width, height) = (plate.width() as usize, plate.height() as usize);
    let runs = runs(radius);
    let mut out = plate.clone();
    out.pixels_mut().par_chunks_mut(width).enumerate().for_each_init(
        || (vec![255_u8; width + 2 * radius + 1], Vec::new(), Vec::new()),
        |(padded, forward, backward), (y, out)| {
            for (dy, half) in runs.iter().enumerate() {
                for sy in [y.checked_sub(dy), Some(y + dy).filter(|sy| dy > 0 && *sy < height)] {
                    let Some(row) = sy.map(|sy| plate.row(sy as u32)) else { continue };
                    // A white row darkens nothing.
                    if row.iter().all(|g| *g == 255) {
                        continue;
                    }
                    darken(row, *half, out, (padded, forward, backward));
                }
            }
        },
    );
    out
}

/// Takes the running minimum of a row over `2 half + 1` pixels into `out`.
fn darken(
    row: &[u8],
    half: usize,
    out: &mut [u8],
    (padded, forward, backward): (&mut Vec<u8>, &mut Vec<u8>, &mut Vec<u8>),
) {
    let run = 2 * half + 1;
    if half < 4 {
        // Few comparisons over whole rows beat the running minimum.
        for shift in 0..=half {
            let right = row.get(shift..).unwrap_or(&[]);
            out.iter_mut().zip(right).for_each(|(o, g)| *o = (*o).min(*g));
            let left = out.get_mut(shift..).unwrap_or(&mut []);
            left.iter_mut().zip(row).for_each(|(o, g)| *o = (*o).min(*g));
        }
        return;
    }
    padded.clear();
    padded.resize(half, 255);
    padded.extend_from_slice(row);
    padded.resize(padded.len() + half, 255);
    forward.clone_from(padded);
    for block in forward.chunks_mut(run) {
        let mut least = 255;
        for g in block {
            least = least.min(*g);
            *g = least;
        }
    }
    backward.clone_from(padded);
    for block in backward.chunks_mut(run) {
        let mut least = 255;
        for g in block.iter_mut().rev() {
            least = least.min(*g);
            *g = least;
        }
    }
    let ends = forward.get(run - 1..).unwrap_or(&[]);
    for ((o, b), f) in out.iter_mut().zip(backward.iter()).zip(ends) {
        *o = (*o).min(*b).min(*f);
    }
}
