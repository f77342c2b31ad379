//! From rows of the power space to the samples that the eye works on: light, in opponent values, as means of
//! 2 x 2 pixels.

use slipsheet_base::wide::Step;

use super::plate::TILE;

/// Samples of a row of a tile.
pub(super) const SAMPLES: usize = TILE / 2;

/// A row of samples of some tiles.
pub(super) struct Light<'a> {
    /// The power to which the power space is light.
    pub(super) n: f64,
    /// Two rows of pixels of each of the columns, the upper row's first.
    pub(super) power: [&'a [f32]; 3],
    pub(super) opponent_from_light: &'a [[f32; 3]; 3],
    /// For that many samples of each channel.
    pub(super) sums: [&'a mut [f32]; 3],
    /// Columns of tiles.
    pub(super) columns: &'a [usize],
    /// A whole row of samples of each channel.
    pub(super) out: [&'a mut [f32]; 3],
}

impl Step for Light<'_> {
    #[inline(always)]
    fn run(self) {
        if self.n == 2.0 {
            self.by(|v| v * v);
        } else if self.n == 1.5 {
            self.by(|v| v * v.max(0.0).sqrt());
        } else if self.n == 1.0 {
            self.by(|v| v);
        } else {
            let n = self.n as f32;
            self.by(|v| libm::powf(v.max(0.0), n));
        }
    }
}

impl Light<'_> {
    #[inline(always)]
    fn by(self, light: impl Fn(f32) -> f32) {
        let Self { power, opponent_from_light, columns, sums: [r, g, b], out, .. } = self;
        for (sums, power) in [&mut *r, &mut *g, &mut *b].into_iter().zip(power) {
            let (upper, lower) = power.split_at(power.len() / 2);
            add_up(upper, lower, &light, sums);
        }
        turn(opponent_from_light, r, g, b);
        for (out, sums) in out.into_iter().zip([r, g, b]) {
            let (runs, _) = sums.as_chunks::<SAMPLES>();
            for (column, run) in columns.iter().zip(runs) {
                let to = out.get_mut(column * SAMPLES..).unwrap_or(&mut []);
                match to.first_chunk_mut() {
                    Some(whole) => *whole = *run,
                    None => to.iter_mut().zip(run).for_each(|(to, from)| *to = *from),
                }
            }
        }
    }
}

/// From sums of four lights to opponent values, over whole rows: compilers unroll the short loop of a
/// tile's row and then gather across tiles or channels.
#[inline(always)]
fn turn(m: &[[f32; 3]; 3], r: &mut [f32], g: &mut [f32], b: &mut [f32]) {
    let row = |m: [f32; 3], r: f32, g: f32, b: f32| 0.25 * (m[0] * r + m[1] * g + m[2] * b);
    for ((r, g), b) in r.iter_mut().zip(g).zip(b) {
        (*r, *g, *b) = (row(m[0], *r, *g, *b), row(m[1], *r, *g, *b), row(m[2], *r, *g, *b));
    }
}

/// The light of 2 x 2 pixels each.
#[inline(always)]
fn add_up(upper: &[f32], lower: &[f32], light: impl Fn(f32) -> f32, sums: &mut [f32]) {
    let ((upper, _), (lower, _)) = (upper.as_chunks::<2>(), lower.as_chunks::<2>());
    for ((sum, [a, b]), [c, d]) in sums.iter_mut().zip(upper).zip(lower) {
        *sum = (light(*a) + light(*b)) + (light(*c) + light(*d));
    }
}
