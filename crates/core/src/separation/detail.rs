//! A picture split into what all inks print and what one ink prints alone, so that slips blur colour and not shapes.
//!
//! The base is what a guided filter leaves (He, Sun and Tang, "Guided image filtering", 2010), worked at a coarser
//! resolution (He and Sun, "Fast guided filter", 2015); the rest is detail in lightness.

use rayon::prelude::*;

/// Radius of the filter in mm, and the variance of encoded values, 0 to 1, at which half of an edge stays in the base.
const RADIUS: f64 = 1.0;
const EDGE: f32 = 0.1;
/// The coarser picture has no fewer pixels than this over the filter's radius.
const FINE: f64 = 4.0;

/// The filter of a picture: the base is `slope * guide + offset`, channel by channel.
#[derive(Debug, Clone)]
pub struct Detail {
    width: usize,
    height: usize,
    /// Pixels of the picture along a side of a coarse one.
    coarse: usize,
    slope: [Vec<f32>; 3],
    offset: [Vec<f32>; 3],
}

impl Detail {
    /// Of encoded colours, three bytes a pixel, row by row; `guide` is what a colour's lightness is told by.
    pub(super) fn of(rgb: &[u8], width: usize, px_per_mm: f64) -> Option<Self> {
        let height = (rgb.len() / 3).checked_div(width)?;
        let radius = RADIUS * px_per_mm;
        let coarse = ((radius / FINE) as usize).clamp(1, 64);
        let (w, h) = (width.div_ceil(coarse), height.div_ceil(coarse));
        if w == 0 || h == 0 {
            return None;
        }
        let shrunk: Vec<[f32; 3]> = (0..w * h)
            .into_par_iter()
            .map(|i| {
                let (x0, y0) = (i % w * coarse, i / w * coarse);
                let (mut sum, mut count) = ([0.0_f32; 3], 0.0);
                for y in y0..(y0 + coarse).min(height) {
                    for x in x0..(x0 + coarse).min(width) {
                        let at = (y * width + x) * 3;
                        if let Some(px) = rgb.get(at..at + 3) {
                            sum.iter_mut().zip(px).for_each(|(s, v)| *s += f32::from(*v));
                            count += 1.0;
                        }
                    }
                }
                sum.map(|s| s / (255.0 * count))
            })
            .collect();
        let r = ((radius / coarse as f64) as usize).max(1);
        let plane = |of: &(dyn Fn(&[f32; 3]) -> f32 + Sync)| -> Vec<f32> {
            boxed(&shrunk.iter().map(of).collect::<Vec<_>>(), w, r)
        };
        let mean = plane(&guide);
        let square = plane(&|px| guide(px) * guide(px));
        let of_channel = |c: usize| {
            let (own, both) = (plane(&|px| px[c]), plane(&|px| px[c] * guide(px)));
            let slope: Vec<f32> = (0..own.len())
                .map(|i| {
                    let [m, s, o, b] =
                        [&mean, &square, &own, &both].map(|p| p.get(i).copied().unwrap_or(0.0));
                    (b - m * o) / ((s - m * m).max(0.0) + EDGE)
                })
                .collect();
            let offset = slope.iter().zip(&own).zip(&mean).map(|((a, o), m)| o - a * m).collect::<Vec<_>>();
            (boxed(&slope, w, r), boxed(&offset, w, r))
        };
        let [(s0, o0), (s1, o1), (s2, o2)] = [0, 1, 2].map(of_channel);
        Some(Self { width: w, height: h, coarse, slope: [s0, s1, s2], offset: [o0, o1, o2] })
    }

    /// The base at a pixel, as encoded values.
    pub(super) fn base(&self, (x, y): (usize, usize), px: [u8; 3]) -> [f32; 3] {
        let guide = guide(&px.map(|v| f32::from(v) / 255.0));
        let along = |at: usize, count: usize| {
            let v = ((at as f32 + 0.5) / self.coarse as f32 - 0.5).clamp(0.0, (count - 1) as f32);
            let i = (v as usize).min(count.saturating_sub(2));
            (i, (i + 1).min(count - 1), v - i as f32)
        };
        let (x0, x1, fx) = along(x, self.width);
        let (y0, y1, fy) = along(y, self.height);
        let read = |plane: &[f32]| {
            let at = |x: usize, y: usize| plane.get(y * self.width + x).copied().unwrap_or(0.0);
            let row = |y: usize| at(x0, y) + (at(x1, y) - at(x0, y)) * fx;
            row(y0) + (row(y1) - row(y0)) * fy
        };
        std::array::from_fn(|c| (read(&self.slope[c]) * guide + read(&self.offset[c])).clamp(0.0, 1.0))
    }
}

/// What the filter follows: encoded luma by the weights of sRGB.
fn guide(px: &[f32; 3]) -> f32 {
    0.2126 * px[0] + 0.7152 * px[1] + 0.0722 * px[2]
}

/// The mean over a square of `2 r + 1` pixels, at the rim over what there is.
fn boxed(plane: &[f32], width: usize, r: usize) -> Vec<f32> {
    let height = plane.len() / width.max(1);
    let along = |line: &mut [f32]| {
        let n = line.len();
        let mut sums = Vec::with_capacity(n + 1);
        let mut sum = 0.0_f64;
        sums.push(0.0);
        for v in line.iter() {
            sum += f64::from(*v);
            sums.push(sum);
        }
        for (i, v) in line.iter_mut().enumerate() {
            let (from, to) = (i.saturating_sub(r), (i + r + 1).min(n));
            if let (Some(a), Some(b)) = (sums.get(from), sums.get(to)) {
                *v = ((b - a) / (to - from) as f64) as f32;
            }
        }
    };
    let mut rows = plane.to_vec();
    rows.par_chunks_mut(width).for_each(along);
    let mut columns: Vec<f32> =
        (0..plane.len()).map(|i| rows.get(i % height * width + i / height).copied().unwrap_or(0.0)).collect();
    columns.par_chunks_mut(height).for_each(along);
    (0..plane.len()).map(|i| columns.get(i % width * height + i / width).copied().unwrap_or(0.0)).collect()
}
