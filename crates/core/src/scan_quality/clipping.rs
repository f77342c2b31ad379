//! Whether the darkest or the lightest tones of a scan were cut off.
//!
//! Solids and paper have noise. Where a scan was made with too much contrast, what of it would lie beyond the end of
//! the scale piles up at the end, and the rest of the noise is still there beside it: a spike next to a tail that
//! falls off. A drawn solid is all spike, and the pixels of its edges are no tail, for only blocks inside of solids
//! and paper are looked at.

use super::patches::Patch;

/// Pixels along each side of a block, as those of a JPEG, whose noise around strokes ends with its block.
const SIDE: usize = 8;
/// All of a block lies within so many grays of the end.
const NEAR: u8 = 40;
/// Grays that the tail is looked for in.
const TAIL: usize = 21;
/// What is as near to the end as this counts as cut off.
const CUT: usize = 2;
/// The share of a solid that is cut off, at least, and the share of its tail.
const SPIKE: f64 = 0.2;
const REST: f64 = 0.03;
/// How many times the mean gray of the tail the spike's is.
const ABOVE: f64 = 4.0;
/// The share of the blocks with a spike in which there is noise beside it.
const NOISY: f64 = 0.5;
/// Blocks that are needed.
const ENOUGH: u64 = 40;

/// Grays near one end of the scale, counted from there.
#[derive(Debug, Clone, Copy, Default)]
struct End {
    counts: [u64; TAIL],
    /// Blocks with a spike, and those of them with noise.
    blocks: u64,
    noisy: u64,
}

/// What lies near black and near white.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Ends {
    black: End,
    white: End,
}

impl Ends {
    pub fn of(patch: &Patch) -> Self {
        let mut ends = Self::default();
        let rows: Vec<&[u8]> = patch.rows().collect();
        for band in rows.chunks_exact(SIDE) {
            for x in (0..patch.width().saturating_sub(SIDE - 1)).step_by(SIDE) {
                let block = || band.iter().filter_map(|row| row.get(x..x + SIDE)).flatten();
                let (low, high) = block().fold((255, 0), |(l, h): (u8, u8), g| (l.min(*g), h.max(*g)));
                if high <= NEAR {
                    ends.black.block(block().copied());
                } else if low >= 255 - NEAR {
                    ends.white.block(block().map(|g| 255 - g));
                }
            }
        }
        ends
    }

    pub fn add(&mut self, other: &Self) {
        self.black.add(&other.black);
        self.white.add(&other.white);
    }

    pub fn black_is_cut(&self) -> bool {
        self.black.is_cut()
    }

    pub fn white_is_cut(&self) -> bool {
        self.white.is_cut()
    }
}

impl End {
    fn block(&mut self, grays: impl Iterator<Item = u8>) {
        let (mut cut, mut rest) = (0, 0);
        for gray in grays.map(usize::from) {
            if let Some(count) = self.counts.get_mut(gray) {
                *count += 1;
                cut += u64::from(gray < CUT);
                rest += u64::from(gray >= CUT);
            }
        }
        let all = (SIDE * SIDE) as f64;
        self.blocks += u64::from(cut as f64 >= SPIKE * all);
        self.noisy += u64::from(cut as f64 >= SPIKE * all && rest as f64 >= REST * all);
    }

    fn add(&mut self, other: &Self) {
        self.counts.iter_mut().zip(other.counts).for_each(|(a, b)| *a += b);
        self.blocks += other.blocks;
        self.noisy += other.noisy;
    }

    fn is_cut(&self) -> bool {
        let (cut, tail) = self.counts.split_at(CUT);
        let sum = |counts: &[u64]| counts.iter().sum::<u64>() as f64;
        let mean = |counts: &[u64]| sum(counts) / counts.len().max(1) as f64;
        let (next, far) = tail.split_at(5);
        let all = sum(&self.counts);
        self.blocks >= ENOUGH
            && self.noisy as f64 >= NOISY * self.blocks as f64
            && sum(cut) >= SPIKE * all
            && sum(tail) >= REST * all
            && cut.iter().any(|n| *n as f64 >= ABOVE * mean(next))
            && mean(next) > mean(far)
    }
}
