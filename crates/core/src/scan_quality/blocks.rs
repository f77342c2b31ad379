//! Steps between the blocks of 8 x 8 pixels that a JPEG file is made of, in smooth tones.
//!
//! The mean step from pixel to pixel is taken for each of the 8 places in a block, across and down, as Z. Fan and
//! R. L. de Queiroz ("Identification of bitmap compression history: JPEG detection and quantizer estimation",
//! IEEE Transactions on Image Processing 12(2), 2003) and Z. Wang, H. R. Sheikh and A. C. Bovik ("No-reference
//! perceptual quality assessment of JPEG compressed images", 2002) compare steps between blocks with those inside.
//! Between blocks it stands out alone, and at one place both ways; a wave with a period of 8 pixels raises several
//! places, and bands of a drawn gradient one place one way only. A scan that was turned or resized since it was
//! compressed has its blocks elsewhere, and they are not found.

use super::patches::Patch;

/// Pixels of the runs that are smooth or not: each place in a block comes twice.
const RUN: usize = 16;
/// Grays within a smooth run, and the tones that are looked at: neither paper nor solid.
const SMOOTH: u8 = 24;
const DARK: u8 = 8;
const LIGHT: u8 = 244;
/// Steps at a place from which a mean of them can be trusted.
const ENOUGH: u64 = 1500;
/// How far a step must stand out on the mean, in grays: what a file of good quality has by less is not seen.
const LEAST: f64 = 0.8;
/// Steps inside of blocks that are lower than this, in grays, count as if they were as high.
const FLAT: f64 = 0.25;

/// Sums of steps by their place in a block.
#[derive(Debug, Clone, Copy, Default)]
struct Places {
    sums: [u64; 8],
    /// Steps at each place; at all as many.
    count: u64,
}

/// Steps across and down.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Blocks {
    ways: [Places; 2],
}

impl Blocks {
    pub fn of(patch: &Patch) -> Self {
        Self { ways: [Places::of(patch), Places::of(&patch.turned())] }
    }

    pub fn add(&mut self, other: &Self) {
        for (a, b) in self.ways.iter_mut().zip(&other.ways) {
            a.sums.iter_mut().zip(b.sums).for_each(|(a, b)| *a += b);
            a.count += b.count;
        }
    }

    /// By what share the steps between blocks stand out of all others, the lesser of both ways; 0 for not at all.
    pub fn stand_out(&self) -> f64 {
        self.ways.iter().map(Places::stand_out).fold(f64::INFINITY, f64::min)
    }
}

impl Places {
    fn of(patch: &Patch) -> Self {
        let mut all = Self::default();
        for row in patch.rows() {
            for start in (0..patch.width().saturating_sub(RUN)).step_by(RUN) {
                let Some(run) = row.get(start..=start + RUN) else { continue };
                let (low, high) = run.iter().fold((255, 0), |(l, h): (u8, u8), g| (l.min(*g), h.max(*g)));
                if low < DARK || high > LIGHT || high - low > SMOOTH {
                    continue;
                }
                for (i, (a, b)) in run.iter().zip(run.iter().skip(1)).enumerate() {
                    all.sums[i % 8] += u64::from(a.abs_diff(*b));
                }
                all.count += (RUN / 8) as u64;
            }
        }
        all
    }

    fn stand_out(&self) -> f64 {
        if self.count < ENOUGH {
            return 0.0;
        }
        let mut means = self.sums.map(|sum| sum as f64 / self.count as f64);
        means.sort_by(f64::total_cmp);
        let [.., second, most] = means;
        if most - second < LEAST { 0.0 } else { most / second.max(FLAT) - 1.0 }
    }
}
