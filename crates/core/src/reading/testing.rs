//! A raster by itself on the press: its gray at the press's pixels, then the screen.

use super::Reading;
use crate::raster::{GrayRaster, RasterError, check_size};
use crate::screen::{Screen, Window};
use crate::units::Dpi;

/// Draws a window of the master of what [`Reading::tones`] gave of one raster.
pub(super) fn master(
    reading: &Reading,
    toned: &GrayRaster,
    [scan_dpi, press_dpi]: [Dpi; 2],
    window: Option<Window>,
) -> Result<GrayRaster, RasterError> {
    let screen = reading.screen(press_dpi, 0);
    let step = scan_dpi.get() / press_dpi.get();
    let across = |n: u32| (libm::round(f64::from(n) / step).clamp(1.0, f64::from(u32::MAX))) as u32;
    let (width, height) = (across(toned.width()), across(toned.height()));
    let window = window.unwrap_or(Window { x: 0, y: 0, width, height });
    check_size(window.width, window.height)?;
    if matches!(screen, Screen::Diffusion) {
        check_size(width.max(window.x.saturating_add(window.width)), window.y.saturating_add(window.height))?;
    }
    let out = if (step - 1.0).abs() < 1e-9 {
        screen.draw(width, window, |y, x0, row| {
            let from = toned.row(y).get(x0 as usize..).unwrap_or(&[]);
            let n = from.len().min(row.len());
            let (inside, outside) = row.split_at_mut(n);
            inside.copy_from_slice(&from[..n]);
            outside.fill(255);
        })
    } else {
        screen.draw(width, window, |y, x0, row| resample(toned, step, y, x0, row))
    };
    GrayRaster::new(window.width, window.height, out)
}

/// A row of gray at the press's pixels, each `step` pixels of the raster wide: a weighted mean of what lies
/// under a coarser pixel, a straight line between the middles of finer ones. White outside.
fn resample(raster: &GrayRaster, step: f64, y: u32, x0: u32, out: &mut [u8]) {
    let rows = weights(f64::from(y), step);
    let first = weights(f64::from(x0), step).first;
    let last = weights(f64::from(x0) + out.len() as f64 - 1.0, step);
    let columns = (last.first + last.weights.len() as i64 - first).max(0) as usize;
    // Down first: one line of means, from column `first` on.
    let mut line = vec![0.0_f32; columns];
    for (i, weight) in rows.weights.iter().enumerate() {
        let row = u32::try_from(rows.first + i as i64).map_or(&[][..], |y| raster.row(y));
        for (j, sum) in line.iter_mut().enumerate() {
            let g = usize::try_from(first + j as i64).ok().and_then(|x| row.get(x)).copied().unwrap_or(255);
            *sum += weight * f32::from(g);
        }
    }
    for (i, o) in out.iter_mut().enumerate() {
        let w = weights(f64::from(x0) + i as f64, step);
        let from = line.get((w.first - first).max(0) as usize..).unwrap_or(&[]);
        let sum: f32 = w.weights.iter().zip(from).map(|(w, v)| w * v).sum();
        *o = (sum + 0.5).clamp(0.0, 255.0) as u8;
    }
}

/// Share of full ink that a raster of gray asks for on the mean, 0..=1.
pub(super) fn coverage(raster: &GrayRaster) -> f64 {
    let ink: u64 = raster.pixels().iter().map(|&g| u64::from(255 - g)).sum();
    ink as f64 / 255.0 / raster.pixels().len() as f64
}

struct Weights {
    first: i64,
    weights: Vec<f32>,
}

/// Which pixels of the raster count for a pixel of the press, along one side; weights add up to 1.
fn weights(at: f64, step: f64) -> Weights {
    if step <= 1.0 {
        let middle = (at + 0.5) * step - 0.5;
        let first = libm::floor(middle);
        let part = (middle - first) as f32;
        return Weights { first: first as i64, weights: vec![1.0 - part, part] };
    }
    let (from, to) = (at * step, (at + 1.0) * step);
    let first = libm::floor(from + 1e-9);
    let count = (libm::ceil(to - 1e-9) - first).max(1.0) as usize;
    let share = |i: usize| {
        let left = first + i as f64;
        (((left + 1.0).min(to) - left.max(from)) / step) as f32
    };
    Weights { first: first as i64, weights: (0..count).map(share).collect() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn weights_add_up_and_lie_around_the_pixel(at in 0..3000_u32, step in 0.1..8.0_f64) {
            let w = weights(f64::from(at), step);
            prop_assert!((w.weights.iter().sum::<f32>() - 1.0).abs() < 1e-4);
            let middle: f64 = w.weights.iter().enumerate().map(|(i, &v)| f64::from(v) * (i as f64 + w.first as f64 + 0.5)).sum();
            prop_assert!((middle - (f64::from(at) + 0.5) * step).abs() < 0.51);
        }
    }

    #[test]
    fn a_finer_scan_is_averaged_and_a_coarser_one_interpolated() {
        let r = GrayRaster::new(4, 2, vec![0, 100, 200, 200, 100, 200, 0, 0]).unwrap();
        let mut row = [0; 2];
        resample(&r, 2.0, 0, 0, &mut row);
        assert_eq!(row, [100, 100]);
        let mut row = [0; 4];
        resample(&r, 0.5, 1, 2, &mut row);
        // Between the first two rows and, at columns 2 and 3, between the first three columns.
        let column = |x: usize| 0.75 * f64::from(r.row(0)[x]) + 0.25 * f64::from(r.row(1)[x]);
        let want = [0.25 * column(0) + 0.75 * column(1), 0.75 * column(1) + 0.25 * column(2)];
        assert_eq!([row[0], row[1]], want.map(|v| (v + 0.5) as u8));
    }
}
