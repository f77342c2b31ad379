//! Line work: one threshold for the whole original, by Otsu's method (Otsu, "A threshold selection method from
//! gray-level histograms", IEEE Transactions on Systems, Man, and Cybernetics 9(1), 1979).

use rayon::prelude::*;

use super::{DropOut, Swing};
use crate::raster::GrayRaster;

/// How often each gray occurs.
pub fn histogram(pixels: &[u8]) -> [u64; 256] {
    pixels
        .par_chunks(1 << 18)
        .map(|chunk| {
            // Four counts in turn, so that runs of one gray do not wait for the last addition.
            let mut counts = [[0_u32; 256]; 4];
            for four in chunk.chunks(4) {
                for (count, g) in counts.iter_mut().zip(four) {
                    count[usize::from(*g)] += 1;
                }
            }
            std::array::from_fn(|g| counts.iter().map(|c| u64::from(c[g])).sum())
        })
        .reduce(|| [0; 256], |a, b| std::array::from_fn(|g| a[g] + b[g]))
}

/// The gray up to which, inclusive, pixels belong to the darker class.
///
/// It is where the variance between the two classes is largest, or the middle of such a stretch. `None` when
/// there are fewer than two grays.
pub fn otsu(histogram: &[u64; 256]) -> Option<u8> {
    let total: u64 = histogram.iter().sum();
    let moment: f64 = histogram.iter().enumerate().map(|(g, &n)| g as f64 * n as f64).sum();
    let (mut below, mut below_moment) = (0_u64, 0.0);
    let mut best: Option<(f64, usize, usize)> = None;
    for (g, &n) in histogram.iter().enumerate() {
        below += n;
        below_moment += g as f64 * n as f64;
        if below == 0 || below == total {
            continue;
        }
        let (w0, w1) = (below as f64, (total - below) as f64);
        let apart = below_moment / w0 - (moment - below_moment) / w1;
        let between = w0 * w1 * apart * apart;
        match &mut best {
            // An empty gray leaves the figures as they are, bit for bit: the stretch grows.
            Some((most, _, last)) if *most >= between => {
                if between >= *most {
                    *last = g;
                }
            }
            _ => best = Some((between, g, g)),
        }
    }
    best.map(|(_, first, last)| ((first + last) / 2) as u8)
}

/// Classes nearer to one another than this many grays are paper and its noise, not ink and paper.
const APART: f64 = 32.0;

/// The gray up to which an original of these counts is ink before the density moves it: Otsu's threshold. An
/// original of one tone is split at the half tone.
pub(super) fn threshold(counts: &[u64; 256]) -> u8 {
    otsu(counts).filter(|&t| class_distance(counts, t) >= APART).unwrap_or(127)
}

/// Black and white for every gray: ink up to the threshold, moved by the density over nine tenths of the grays
/// on that side; background drop-out keeps what is lighter from ever counting as ink.
pub(super) fn table_at(threshold: u8, density: Swing, background: DropOut) -> [u8; 256] {
    let t = f64::from(threshold);
    let d = density.get() * 0.9;
    let moved = if d >= 0.0 { t + d * (254.0 - t) } else { t + d * (t + 1.0) };
    let limit = moved.min(254.0 - background.get() * 255.0);
    std::array::from_fn(|g| if g as f64 <= limit { 0 } else { 255 })
}

/// The same for a raster.
pub(super) fn table(raster: &GrayRaster, density: Swing, background: DropOut) -> [u8; 256] {
    table_at(threshold(&histogram(raster.pixels())), density, background)
}

fn class_distance(counts: &[u64; 256], t: u8) -> f64 {
    let mean = |range: std::ops::RangeInclusive<usize>| {
        let part = counts.iter().enumerate().filter(|(g, _)| range.contains(g));
        let (n, sum) = part.fold((0, 0.0), |(n, s), (g, &c)| (n + c, s + g as f64 * c as f64));
        sum / (n.max(1)) as f64
    };
    mean(usize::from(t) + 1..=255) - mean(0..=usize::from(t))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The obvious twin: both classes' means anew for every threshold, in whole numbers as far as they go.
    fn exhaustive(h: &[u64; 256]) -> Vec<(usize, f64)> {
        (0..255)
            .filter_map(|t| {
                let class = |r: std::ops::Range<usize>| {
                    let n: u64 = h[r.clone()].iter().sum();
                    let s: u64 = r.map(|g| g as u64 * h[g]).sum();
                    (n > 0).then(|| (n as f64, s as f64 / n as f64))
                };
                let ((w0, m0), (w1, m1)) = (class(0..t + 1)?, class(t + 1..256)?);
                Some((t, w0 * w1 * (m0 - m1) * (m0 - m1)))
            })
            .collect()
    }

    proptest! {
        #[test]
        fn otsus_threshold_is_where_the_classes_vary_most(
            spikes in proptest::collection::vec((0..256_usize, 1..5000_u64), 2..60),
        ) {
            let mut h = [0; 256];
            spikes.iter().for_each(|&(g, n)| h[g] += n);
            let all = exhaustive(&h);
            let most = all.iter().fold(0.0_f64, |a, b| a.max(b.1));
            match otsu(&h) {
                None => prop_assert!(all.is_empty()),
                Some(t) => {
                    let here = all.iter().find(|(g, _)| *g == usize::from(t)).unwrap().1;
                    prop_assert!(here >= most * (1.0 - 1e-9));
                }
            }
        }
    }

    #[test]
    fn a_small_histogram_worked_by_hand() {
        // Grays 0 to 5 with 8, 7, 2, 6, 9 and 4 of 36 pixels. w0 * w1 * (mean difference)^2 for thresholds 0..4:
        // 8*28*(0-3.0357)^2 = 2064; 15*21*(0.4667-3.7143)^2 = 3322; 17*19*(0.6471-3.8947)^2 = 3407;
        // 23*13*(1.2609-4.3077)^2 = 2776; 32*4*(2.0313-5)^2 = 1128. The most is at 2.
        let mut h = [0; 256];
        h[..6].copy_from_slice(&[8, 7, 2, 6, 9, 4]);
        assert_eq!(otsu(&h), Some(2));
        let figures: Vec<f64> = exhaustive(&h).iter().take(5).map(|f| f.1.round()).collect();
        assert_eq!(figures, [2064.0, 3322.0, 3407.0, 2776.0, 1128.0]);
    }

    #[test]
    fn blank_paper_with_a_little_noise_stays_blank() {
        let noisy = GrayRaster::new(64, 64, (0..4096).map(|i| 245 + (i * 7 % 11) as u8).collect()).unwrap();
        assert_eq!(table(&noisy, Swing::default(), DropOut::default())[245], 255);
        assert_eq!(otsu(&histogram(&[9; 100])), None);
    }

    #[test]
    fn density_moves_the_threshold_and_background_holds_it() {
        let two = GrayRaster::new(4, 2, vec![40, 40, 40, 40, 220, 220, 220, 220]).unwrap();
        let up_to = |d, b| {
            table(&two, Swing::new(d), DropOut::new(b)).iter().take_while(|&&g| g == 0).count() as i64 - 1
        };
        assert_eq!(up_to(0.0, 0.0), 129);
        assert_eq!((up_to(1.0, 0.0), up_to(-1.0, 0.0)), (241, 12));
        assert_eq!(up_to(1.0, 0.25), 190);
    }
}
