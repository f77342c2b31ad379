//! Least and greatest gray in a square around every pixel, in few passes that the compiler vectorises: the
//! window grows by doubling, as minima of minima.

use rayon::prelude::*;

use crate::raster::GrayRaster;

/// Which extreme is kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Keep {
    Least,
    Greatest,
}

/// The extreme over `(2 radius + 1)^2` pixels around each; pixels outside do not count.
pub(super) fn extent(raster: &GrayRaster, radius: usize, keep: Keep) -> GrayRaster {
    let mut out = raster.clone();
    let width = out.width() as usize;
    let pixels = out.pixels_mut();
    // Each extreme is its own code, so that the loops below are compiled for it.
    match keep {
        Keep::Least => {
            rows(pixels, width, radius, u8::min, 255);
            columns(pixels, width, radius, u8::min, 255);
        }
        Keep::Greatest => {
            rows(pixels, width, radius, u8::max, 0);
            columns(pixels, width, radius, u8::max, 0);
        }
    }
    out
}

/// The reaches by which a window is grown from 1 to `2 radius + 1`: each at most the window so far.
fn reaches(radius: usize) -> Vec<usize> {
    let (mut window, mut list) = (1, Vec::new());
    while window < 2 * radius + 1 {
        let reach = window.min(2 * radius + 1 - window);
        list.push(reach);
        window += reach;
    }
    list
}

fn rows(pixels: &mut [u8], width: usize, radius: usize, pick: impl Fn(u8, u8) -> u8 + Sync, idle: u8) {
    let reaches = reaches(radius);
    type Lines = (Vec<u8>, Vec<u8>);
    pixels.par_chunks_mut(width).for_each_init(Lines::default, |(line, next), row| {
        // The row between two margins; a window then starts `radius` before its pixel.
        line.clear();
        line.resize(radius, idle);
        line.extend_from_slice(row);
        line.resize(width + 2 * radius, idle);
        next.resize(line.len(), idle);
        for &reach in &reaches {
            let shifted = line.get(reach..).unwrap_or(&[]);
            for ((n, a), b) in next.iter_mut().zip(line.iter()).zip(shifted) {
                *n = pick(*a, *b);
            }
            std::mem::swap(line, next);
        }
        row.iter_mut().zip(line.iter()).for_each(|(o, v)| *o = *v);
    });
}

fn columns(pixels: &mut [u8], width: usize, radius: usize, pick: impl Fn(u8, u8) -> u8 + Sync, idle: u8) {
    let height = pixels.len() / width.max(1);
    let mut from = vec![idle; width * radius];
    from.extend_from_slice(pixels);
    from.resize(width * (height + 2 * radius), idle);
    let mut to = vec![idle; from.len()];
    for reach in reaches(radius) {
        let shifted = from.get(reach * width..).unwrap_or(&[]);
        to.par_chunks_mut(width).zip(from.par_chunks(width)).zip(shifted.par_chunks(width)).for_each(
            |((to, a), b)| {
                for ((t, a), b) in to.iter_mut().zip(a).zip(b) {
                    *t = pick(*a, *b);
                }
            },
        );
        std::mem::swap(&mut from, &mut to);
    }
    pixels.iter_mut().zip(&from).for_each(|(o, v)| *o = *v);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn slow(r: &GrayRaster, radius: i64, keep: Keep) -> Vec<u8> {
        let (w, h) = (i64::from(r.width()), i64::from(r.height()));
        (0..h)
            .flat_map(|y| (0..w).map(move |x| (x, y)))
            .map(|(x, y)| {
                let near = (y - radius..=y + radius)
                    .flat_map(|v| (x - radius..=x + radius).map(move |u| (u, v)))
                    .filter(|(u, v)| (0..w).contains(u) && (0..h).contains(v))
                    .map(|(u, v)| r.row(v as u32)[u as usize]);
                match keep {
                    Keep::Least => near.min().unwrap(),
                    Keep::Greatest => near.max().unwrap(),
                }
            })
            .collect()
    }

    proptest! {
        #[test]
        fn the_extreme_is_that_of_the_square(w in 1..40_u32, h in 1..30_u32, radius in 0..20_usize, seed in 0..1000_u32) {
            let pixels = (0..w * h).map(|i| ((i + seed).wrapping_mul(2_654_435_761) >> 19) as u8).collect();
            let r = GrayRaster::new(w, h, pixels).unwrap();
            for keep in [Keep::Least, Keep::Greatest] {
                let got = extent(&r, radius, keep);
                prop_assert_eq!(got.pixels(), slow(&r, radius as i64, keep));
            }
        }
    }
}
