//! Which colours became which grays as a scan was read, so that the tint of its paper is known once its gray is.

use std::sync::atomic::{AtomicU64, Ordering};

/// Grays that are counted together, and how many such groups there are.
const GROUP: usize = 4;
const GROUPS: usize = 256 / GROUP;
/// Every so many pixels of a row one is counted.
const STEP: usize = 16;
/// How far from its paper's gray a pixel may lie to be paper, in gray levels.
const NEAR: f64 = 8.0;
/// Channels of a strong colour lie this far apart, of 255: farther than those of tinted paper.
const STRONG: u64 = 45;
/// The fewest pixels that tell a tint.
const LEAST: u64 = 100;

/// Sums of red, green and blue and the number of pixels, by groups of gray.
#[derive(Debug)]
pub(super) struct Tints([[AtomicU64; 4]; GROUPS]);

impl Default for Tints {
    fn default() -> Self {
        Self(std::array::from_fn(|_| std::array::from_fn(|_| AtomicU64::new(0))))
    }
}

impl Tints {
    /// Counts some pixels of a row with the grays that they became.
    pub fn note(&self, colours: &[[u8; 3]], grays: &[u8]) {
        let mut sums = [[0_u64; 4]; GROUPS];
        for ([r, g, b], gray) in colours.iter().zip(grays).step_by(STEP) {
            if let Some(sum) = sums.get_mut(usize::from(*gray) / GROUP) {
                for (sum, part) in sum.iter_mut().zip([*r, *g, *b, 1]) {
                    *sum += u64::from(part);
                }
            }
        }
        for (all, sums) in self.0.iter().zip(&sums).filter(|(_, sums)| sums.last() != Some(&0)) {
            for (all, sum) in all.iter().zip(sums) {
                all.fetch_add(*sum, Ordering::Relaxed);
            }
        }
    }

    /// Whether a good part of it has colours that no paper and no gray drawing has.
    pub fn is_colourful(&self) -> bool {
        let (mut all, mut strong) = (0, 0);
        for group in &self.0 {
            let [r, g, b, count] = group.each_ref().map(|part| part.load(Ordering::Relaxed));
            all += count;
            let apart = r.max(g).max(b) - r.min(g).min(b);
            strong += if apart > STRONG * count { count } else { 0 };
        }
        all >= LEAST && strong * 20 > all
    }

    /// The mean colour of the pixels whose gray is about this; `None` where too few were in colour.
    pub fn of_gray(&self, gray: f64) -> Option<[u8; 3]> {
        let near = |group: usize| (((group * GROUP) as f64 + 1.5) - gray).abs() <= NEAR;
        let mut sums = [0_u64; 4];
        for (_, group) in self.0.iter().enumerate().filter(|(i, _)| near(*i)) {
            for (sum, part) in sums.iter_mut().zip(group) {
                *sum += part.load(Ordering::Relaxed);
            }
        }
        let [r, g, b, count] = sums;
        (count >= LEAST).then(|| [r, g, b].map(|sum| ((sum + count / 2) / count) as u8))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tint_of_a_gray_is_the_mean_of_what_became_it() {
        let tints = Tints::default();
        assert_eq!(tints.of_gray(200.0), None);
        let cream = vec![[214, 204, 170]; 4000];
        let ink = vec![[20, 30, 90]; 4000];
        tints.note(&cream, &vec![203; 4000]);
        tints.note(&ink, &vec![31; 4000]);
        assert_eq!(tints.of_gray(204.0), Some([214, 204, 170]));
        assert_eq!(tints.of_gray(30.0), Some([20, 30, 90]));
        assert_eq!(tints.of_gray(120.0), None);
    }
}
