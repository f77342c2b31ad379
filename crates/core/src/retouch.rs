//! Mending a scan by a mask of its size, beside the scan and never in it: what is taken out, painted white, or kept
//! as it was scanned.
//!
//! A mask is a gray picture of six values, so that it can be looked at with anything.

use crate::raster::GrayRaster;

/// Left as it is.
pub const AS_IT_IS: u8 = 0;
/// Left as it is, and nothing is filled from it: artwork that crosses what is taken out.
pub const ASIDE: u8 = 21;
/// A mark that was found, or what a guide has printed: filled with what lies around it.
pub const MARK: u8 = 42;
/// Taken out by hand: filled alike.
pub const FILL: u8 = 85;
/// Painted white.
pub const WHITE: u8 = 170;
/// Kept as it was scanned, whatever is taken for dust.
pub const KEEP: u8 = 255;

/// Carries a mask out. `scanned` is the scan before dust was removed. Of another size than the scan it says nothing
/// about it: then nothing is done, and the answer is false.
pub fn apply(raster: &mut GrayRaster, scanned: Option<&GrayRaster>, mask: &GrayRaster) -> bool {
    let same = |other: &GrayRaster| (other.width(), other.height()) == (mask.width(), mask.height());
    if !same(raster) {
        return false;
    }
    if let Some(scanned) = scanned.filter(|s| same(s)) {
        let kept = raster.pixels_mut().iter_mut().zip(scanned.pixels()).zip(mask.pixels());
        kept.filter(|(_, code)| **code == KEEP).for_each(|((gray, was), _)| *gray = *was);
    }
    fill(raster, mask);
    let painted = raster.pixels_mut().iter_mut().zip(mask.pixels()).filter(|(_, code)| **code == WHITE);
    painted.for_each(|(gray, _)| *gray = 255);
    true
}

/// Fills what a mask takes out, from its rim inwards: every pixel becomes the mean of those around it that are known.
fn fill(raster: &mut GrayRaster, mask: &GrayRaster) {
    let width = mask.width() as usize;
    let mut unknown: Vec<bool> = mask.pixels().iter().map(|code| matches!(*code, MARK | FILL)).collect();
    let mut holes: Vec<usize> = (0..unknown.len()).filter(|i| unknown.get(*i) == Some(&true)).collect();
    let mut filled: Vec<(usize, u8)> = Vec::new();
    // Nothing is filled from artwork that crosses a hole, unless there is nothing else.
    let aside: Vec<bool> = mask.pixels().iter().map(|code| *code == ASIDE).collect();
    while !holes.is_empty() {
        filled.clear();
        for &hole in &holes {
            if let Some(gray) = around(raster, (&unknown, &aside), hole, width) {
                filled.push((hole, gray));
            }
        }
        // A mask that leaves nothing known has nothing to be filled with.
        if filled.is_empty() {
            return;
        }
        for (at, gray) in &filled {
            if let (Some(pixel), Some(unknown)) = (raster.pixels_mut().get_mut(*at), unknown.get_mut(*at)) {
                (*pixel, *unknown) = (*gray, false);
            }
        }
        holes.retain(|hole| unknown.get(*hole) == Some(&true));
    }
}

/// The mean of the lighter half of the known pixels around one: the rim of a stroke beside it is no ground.
fn around(raster: &GrayRaster, (unknown, aside): (&[bool], &[bool]), at: usize, width: usize) -> Option<u8> {
    let (column, row) = (at % width, at / width);
    let (mut known, mut count) = ([0_u8; 8], 0);
    for y in row.saturating_sub(1)..=row + 1 {
        for x in column.saturating_sub(1)..=(column + 1).min(width - 1) {
            let i = y * width + x;
            if let (Some(false), Some(false), Some(gray)) =
                (unknown.get(i), aside.get(i), raster.pixels().get(i))
                && let Some(slot) = known.get_mut(count)
            {
                *slot = *gray;
                count += 1;
            }
        }
    }
    let known = known.get_mut(..count)?;
    known.sort_unstable();
    let lighter = known.get(count / 2..)?;
    let sum: u32 = lighter.iter().map(|g| u32::from(*g)).sum();
    let n = lighter.len() as u32;
    (n > 0).then(|| ((sum + n / 2) / n) as u8)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn mask_of(codes: Vec<u8>, side: u32) -> GrayRaster {
        GrayRaster::new(side, side, codes).unwrap()
    }

    #[test]
    fn a_mark_on_a_slope_is_filled_with_the_slope() {
        let side = 60;
        let slope: Vec<u8> = (0..side * side).map(|i| 100 + (i % side) as u8).collect();
        let mut marked = slope.clone();
        let mut codes = vec![AS_IT_IS; marked.len()];
        for y in 5..55_usize {
            for x in 28..33 {
                marked[y * side as usize + x] = 0;
                codes[y * side as usize + x] = FILL;
            }
        }
        let mut raster = GrayRaster::new(side, side, marked).unwrap();
        assert!(apply(&mut raster, None, &mask_of(codes, side)));
        let worst = raster.pixels().iter().zip(&slope).map(|(a, b)| a.abs_diff(*b)).max().unwrap();
        assert!(worst <= 3, "{worst}");
    }

    #[test]
    fn a_stroke_that_crosses_a_hole_does_not_run_into_it() {
        let side = 41_usize;
        let (mut pixels, mut codes) = (vec![240_u8; side * side], vec![AS_IT_IS; side * side]);
        for y in 0..side {
            for x in 0..side {
                let (stroke, line) = (x.abs_diff(20) < 3, y.abs_diff(20) < 4);
                let i = y * side + x;
                pixels[i] = if stroke {
                    20
                } else if line {
                    140
                } else {
                    240
                };
                codes[i] = match (stroke, line) {
                    (true, true) => ASIDE,
                    (false, true) => MARK,
                    _ => AS_IT_IS,
                };
            }
        }
        let mut raster = GrayRaster::new(side as u32, side as u32, pixels).unwrap();
        assert!(apply(&mut raster, None, &mask_of(codes, side as u32)));
        for y in 0..side {
            for x in 0..side {
                let gray = raster.pixels()[y * side + x];
                assert_eq!(gray, if x.abs_diff(20) < 3 { 20 } else { 240 }, "{x} {y}");
            }
        }
    }

    #[test]
    fn a_mask_of_another_size_does_nothing() {
        let mut raster = GrayRaster::filled(4, 4, 9).unwrap();
        assert!(!apply(&mut raster, None, &GrayRaster::filled(5, 4, WHITE).unwrap()));
        assert!(raster.pixels().iter().all(|g| *g == 9));
        // Nothing known is nothing to fill with.
        assert!(apply(&mut raster, None, &GrayRaster::filled(4, 4, FILL).unwrap()));
        assert!(raster.pixels().iter().all(|g| *g == 9));
    }

    proptest! {
        #[test]
        fn each_code_does_what_it_says_and_no_more(
            pixels in proptest::collection::vec(any::<u8>(), 81), codes in proptest::collection::vec(0..6_usize, 81)
        ) {
            let codes: Vec<u8> = codes.into_iter().map(|c| [AS_IT_IS, FILL, WHITE, KEEP, MARK, ASIDE][c]).collect();
            let scanned = GrayRaster::new(9, 9, pixels.iter().map(|g| g ^ 0x55).collect()).unwrap();
            let mut raster = GrayRaster::new(9, 9, pixels.clone()).unwrap();
            let (low, high) = pixels.iter().chain(scanned.pixels()).fold((255, 0), |(l, h), g| (l.min(*g), h.max(*g)));
            prop_assert!(apply(&mut raster, Some(&scanned), &mask_of(codes.clone(), 9)));
            for (i, code) in codes.iter().enumerate() {
                let now = raster.pixels()[i];
                match *code {
                    AS_IT_IS | ASIDE => prop_assert_eq!(now, pixels[i]),
                    WHITE => prop_assert_eq!(now, 255),
                    KEEP => prop_assert_eq!(now, scanned.pixels()[i]),
                    _ => prop_assert!((low..=high).contains(&now)),
                }
            }
        }
    }
}
