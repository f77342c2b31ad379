//! Black point, density, contrast and background drop-out, as one curve on gray that never falls.

use super::{BlackPoint, Reading};

impl BlackPoint {
    /// Whether it leaves every gray as it is.
    pub fn leaves_all(&self) -> bool {
        *self == Self::default()
    }

    /// For every gray of an original, the gray that the rest of a reading is given: on coverage `a = 1 - gray / 255`,
    /// `min(a / black, 1)`. Full ink stays full, bare paper bare, and a lower black point makes no gray lighter.
    pub fn table(self) -> [u8; 256] {
        std::array::from_fn(|gray| {
            let stretched = ((255 - gray) as f64 / self.get()).min(255.0);
            libm::round(255.0 - stretched) as u8
        })
    }
}

/// For every gray, the gray that is asked for. On coverage `a = 1 - gray / 255`, in this order:
/// 1. black point: [`BlackPoint::table`], rounded to whole grays, so that an original with it in reads the same;
/// 2. background: `max(a - b, 0) / (1 - b)`, so the background drops out and full ink stays full;
/// 3. contrast: `(2a)^p / 2` below the half tone and its mirror image above, `p = 3^contrast`;
/// 4. density: `a^(3^-density)`, so 1 turns a coverage of 0.125 to 0.5 and -1 the other way.
///
/// All four keep no ink and full ink, never fall, and do nothing at their defaults. The black point comes first since
/// it says something of the original, and the others are what a machine's panel does with it.
pub fn curve(reading: &Reading) -> [u8; 256] {
    let rest = after_black(reading, reading.background.get());
    reading.black.table().map(|gray| rest(1.0 - f64::from(gray) / 255.0))
}

/// What density, contrast and a drop-out make of a coverage that the black point has been applied to, as gray.
pub(super) fn after_black(reading: &Reading, background: f64) -> impl Fn(f64) -> u8 {
    let hard = libm::pow(3.0, reading.contrast.get());
    let light = libm::pow(3.0, -reading.density.get());
    move |a: f64| {
        let a = ((a - background) / (1.0 - background)).clamp(0.0, 1.0);
        let bent = |a: f64| 0.5 * libm::pow(2.0 * a, hard);
        let a = if a < 0.5 { bent(a) } else { 1.0 - bent(1.0 - a) };
        let a = libm::pow(a, light);
        libm::round((1.0 - a) * 255.0).clamp(0.0, 255.0) as u8
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::{DropOut, Swing};
    use proptest::prelude::*;

    /// The curve of density, contrast, drop-out and black point.
    fn of(density: f64, contrast: f64, background: f64, black: f64) -> [u8; 256] {
        curve(&Reading {
            density: Swing::new(density),
            contrast: Swing::new(contrast),
            background: DropOut::new(background),
            black: BlackPoint::new(black),
            ..Reading::default()
        })
    }

    #[test]
    fn the_default_changes_nothing() {
        let c = curve(&Reading::default());
        assert!(c.iter().enumerate().all(|(i, &g)| i == usize::from(g)));
    }

    #[test]
    fn each_setting_does_what_it_says() {
        assert_eq!(of(1.0, 0.0, 0.0, 1.0)[223], 127);
        assert!(of(-0.5, 0.0, 0.0, 1.0)[128] > 150);
        let hard = of(0.0, 0.5, 0.0, 1.0);
        assert!(hard[64] < 50 && hard[192] > 205);
        let dropped = of(0.0, 0.0, 0.1, 1.0);
        assert!(dropped[230..].iter().all(|&g| g == 255) && dropped[228] < 255);
        assert_eq!(dropped[0], 0);
        // A coverage of 0.4 is full ink, half of it a half tone.
        let stretched = of(0.0, 0.0, 0.0, 0.4);
        assert_eq!([stretched[0], stretched[153], stretched[204], stretched[255]], [0, 0, 128, 255]);
        assert!(stretched[154] > 0);
    }

    #[test]
    fn the_black_point_comes_before_the_drop_out() {
        // 0.2 of 0.4 is a half, of which a tenth drops out: (0.5 - 0.1) / 0.9.
        assert!((f64::from(of(0.0, 0.0, 0.1, 0.4)[204]) - 255.0 * (1.0 - 0.4 / 0.9)).abs() < 1.1);
    }

    proptest! {
        #[test]
        fn the_curve_never_falls_and_keeps_its_ends(
            d in -1.0..=1.0_f64, c in -1.0..=1.0_f64, b in 0.0..=0.5_f64, black in 0.2..=1.0_f64,
        ) {
            let t = of(d, c, b, black);
            prop_assert_eq!((t[0], t[255]), (0, 255));
            prop_assert!(t.windows(2).all(|w| w[0] <= w[1]));
        }

        #[test]
        fn a_lower_black_point_is_never_lighter_and_its_own_coverage_is_full_ink(
            d in -1.0..=1.0_f64, c in -1.0..=1.0_f64, b in 0.0..=0.5_f64,
            low in 0.2..=1.0_f64, high in 0.2..=1.0_f64,
        ) {
            let (low, high) = (low.min(high), low.max(high));
            let (darker, lighter) = (of(d, c, b, low), of(d, c, b, high));
            prop_assert!(darker.iter().zip(&lighter).all(|(a, b)| a <= b));
            prop_assert!(darker[..=(255.0 * (1.0 - low)) as usize].iter().all(|g| *g == 0));
        }

        #[test]
        fn an_original_with_the_black_point_in_reads_the_same_without_one(
            d in -1.0..=1.0_f64, c in -1.0..=1.0_f64, b in 0.0..=0.5_f64, black in 0.2..=1.0_f64,
        ) {
            let rest = of(d, c, b, 1.0);
            let baked = BlackPoint::new(black).table().map(|g| rest[usize::from(g)]);
            prop_assert_eq!(baked, of(d, c, b, black));
        }
    }
}
