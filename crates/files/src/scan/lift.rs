//! Paper white: a scan of white paper is seldom 255, and what is not 255 may be printed.

use rayon::prelude::*;
use slipsheet_core::raster::GrayRaster;

/// No paper is darker than this; a peak below it is art.
const LIGHTEST_ART: usize = 160;
/// Half the width of a peak in gray levels.
const SPREAD: usize = 4;
/// A peak holds at least this share of all pixels.
const LEAST_SHARE: f64 = 0.02;
/// A lighter peak is the paper if it holds this share of the largest light peak.
const RIVAL_SHARE: f64 = 0.25;

/// Scales the grays so that the paper becomes 255, and returns the gray the paper had.
///
/// The paper is the lightest peak of the histogram, at 160 or above, that holds at least 2 % of
/// the pixels within 4 levels and a quarter as many as the largest light peak: so a big pale wash
/// does not pass for the paper, nor a strip of the scanner's lid. Each gray then becomes
/// `min(255, round(255 * gray / paper))`, so black stays 0.
///
/// Does nothing and returns `None` when there is no such peak, as with art that covers the sheet.
pub fn lift_white(raster: &mut GrayRaster) -> Option<u8> {
    let paper = paper_white(&slipsheet_core::reading::histogram(raster.pixels()))?;
    if paper < 255 {
        let table: [u8; 256] = std::array::from_fn(|v| lifted(v as u32, u32::from(paper)));
        raster.pixels_mut().par_chunks_mut(1 << 16).for_each(|pixels| {
            for p in pixels {
                *p = table.get(usize::from(*p)).copied().unwrap_or(*p);
            }
        });
    }
    Some(paper)
}

fn lifted(gray: u32, paper: u32) -> u8 {
    ((510 * gray + paper) / (2 * paper)).min(255) as u8
}

/// The lightest peak that can be the paper.
fn paper_white(counts: &[u64; 256]) -> Option<u8> {
    let total: u64 = counts.iter().sum();
    let near = |v: usize, spread: usize| -> u64 {
        counts.iter().skip(v.saturating_sub(spread)).take(spread + v.min(spread) + 1).sum()
    };
    let peaks: Vec<(usize, u64)> = (LIGHTEST_ART..256)
        .filter(|&v| {
            // A peak is the top of its surroundings, smoothed over three levels; of a
            // plateau it is the lightest level.
            let here = near(v, 1);
            let lower = (v.saturating_sub(SPREAD)..v).all(|n| near(n, 1) <= here);
            let upper = (v + 1..=(v + SPREAD).min(255)).all(|n| near(n, 1) < here);
            here > 0 && lower && upper
        })
        .map(|v| (v, near(v, SPREAD)))
        .collect();
    let largest = peaks.iter().map(|(_, mass)| *mass).max()?;
    let enough = (LEAST_SHARE * total as f64).max(RIVAL_SHARE * largest as f64);
    let (v, _) = peaks.into_iter().rev().find(|(_, mass)| *mass as f64 >= enough)?;
    // Smoothing can put the peak a level off; the fullest of the three is the paper.
    let fullest = (v.saturating_sub(1)..=(v + 1).min(255)).max_by_key(|n| near(*n, 0));
    fullest.and_then(|n| u8::try_from(n).ok())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A raster with so many pixels of each gray.
    fn raster(grays: &[(u8, usize)]) -> GrayRaster {
        let pixels: Vec<u8> = grays.iter().flat_map(|&(v, n)| std::iter::repeat_n(v, n)).collect();
        GrayRaster::new(pixels.len() as u32, 1, pixels).unwrap()
    }

    fn check(grays: &[(u8, usize)], expected: Option<u8>) {
        assert_eq!(lift_white(&mut raster(grays)), expected, "{grays:?}");
    }

    #[test]
    fn the_paper_becomes_white_and_black_stays_black() {
        let mut r = raster(&[(0, 100), (120, 300), (239, 200), (240, 900), (241, 210), (250, 3)]);
        assert_eq!(lift_white(&mut r), Some(240));
        let count = |v: u8| r.pixels().iter().filter(|p| **p == v).count();
        assert_eq!((count(0), count(255), count(254)), (100, 900 + 210 + 3, 200));
        assert_eq!(count(128), 300, "120 * 255 / 240 is 127.5, which rounds up");
    }

    #[test]
    fn a_pale_wash_does_not_pass_for_the_paper() {
        check(&[(20, 50), (200, 600), (238, 300)], Some(238));
    }

    #[test]
    fn a_strip_of_the_lid_does_not_pass_for_the_paper() {
        check(&[(20, 50), (232, 800), (255, 60)], Some(232));
    }

    #[test]
    fn white_paper_is_left_alone() {
        let mut r = raster(&[(0, 10), (200, 10), (255, 500)]);
        let before = r.clone();
        assert_eq!(lift_white(&mut r), Some(255));
        assert_eq!(r, before);
    }

    #[test]
    fn a_sheet_covered_with_art_has_no_paper() {
        check(&[(0, 500), (90, 500), (130, 100)], None);
        check(&[(0, 990), (240, 10)], None);
        let mut dark = raster(&[(3, 40), (99, 60)]);
        let before = dark.clone();
        assert_eq!(lift_white(&mut dark), None);
        assert_eq!(dark, before);
    }
}
