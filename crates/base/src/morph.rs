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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::raster::GrayRaster;

    fn noise(width: u32, height: u32) -> GrayRaster {
        let mut random = crate::random::SplitMix::new(3);
        let pixels =
            (0..width * height).map(|_| if random.uniform() < 0.9 { 255 } else { random.bits() as u8 });
        GrayRaster::new(width, height, pixels.collect()).unwrap()
    }

    #[test]
    fn a_spread_is_the_darkest_gray_within_the_disc() {
        let plate = noise(61, 43);
        for radius in [1, 2, 3, 5, 9, 30] {
            let got = spread(&plate, f64::from(radius));
            for y in 0..43_i32 {
                for x in 0..61_i32 {
                    let mut least = 255;
                    for dy in -radius..=radius {
                        for dx in -radius..=radius {
                            let (sx, sy) = (x + dx, y + dy);
                            let inside = (0..61).contains(&sx) && (0..43).contains(&sy);
                            if dx * dx + dy * dy <= radius * radius && inside {
                                least = least.min(plate.row(sy as u32)[sx as usize]);
                            }
                        }
                    }
                    assert_eq!(got.row(y as u32)[x as usize], least, "{x} {y} at {radius}");
                }
            }
        }
    }

    #[test]
    fn a_spread_between_whole_pixels_lies_between_and_a_choke_undoes_a_convex_one() {
        let mut plate = GrayRaster::filled(80, 60, 255).unwrap();
        for y in 20..40 {
            plate.pixels_mut()[y * 80 + 30..y * 80 + 50].fill(0);
        }
        let ink = |p: &GrayRaster| p.row(30).iter().map(|g| 255.0 - f64::from(*g)).sum::<f64>() / 255.0;
        assert!((ink(&spread(&plate, 2.5)) - 25.0).abs() < 0.02);
        assert!((ink(&choked(&plate, 2.5)) - 15.0).abs() < 0.02);
        assert_eq!(choked(&spread(&plate, 6.0), 6.0), plate);
    }
}
