//! Density, contrast and background drop-out, as one curve on gray that never falls.

use super::{DropOut, Swing};

/// For every gray, the gray that is asked for. On coverage `a = 1 - gray / 255`, in this order:
/// 1. background: `max(a - b, 0) / (1 - b)`, so the background drops out and full ink stays full;
/// 2. contrast: `(2a)^p / 2` below the half tone and its mirror image above, `p = 3^contrast`;
/// 3. density: `a^(3^-density)`, so 1 turns a coverage of 0.125 to 0.5 and -1 the other way.
///
/// All three keep no ink and full ink, rise, and do nothing at their defaults.
pub fn curve(density: Swing, contrast: Swing, background: DropOut) -> [u8; 256] {
    let b = background.get();
    let (hard, light) = (libm::pow(3.0, contrast.get()), libm::pow(3.0, -density.get()));
    std::array::from_fn(|gray| {
        let a = 1.0 - gray as f64 / 255.0;
        let a = ((a - b) / (1.0 - b)).clamp(0.0, 1.0);
        let bent = |a: f64| 0.5 * libm::pow(2.0 * a, hard);
        let a = if a < 0.5 { bent(a) } else { 1.0 - bent(1.0 - a) };
        let a = libm::pow(a, light);
        libm::round((1.0 - a) * 255.0).clamp(0.0, 255.0) as u8
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_default_changes_nothing() {
        let c = curve(Swing::default(), Swing::default(), DropOut::default());
        assert!(c.iter().enumerate().all(|(i, &g)| i == usize::from(g)));
    }

    #[test]
    fn each_setting_does_what_it_says() {
        let (no, drop) = (Swing::default(), DropOut::default());
        assert_eq!(curve(Swing::new(1.0), no, drop)[223], 127);
        assert!(curve(Swing::new(-0.5), no, drop)[128] > 150);
        let hard = curve(no, Swing::new(0.5), drop);
        assert!(hard[64] < 50 && hard[192] > 205);
        let dropped = curve(no, no, DropOut::new(0.1));
        assert!(dropped[230..].iter().all(|&g| g == 255) && dropped[228] < 255);
        assert_eq!(dropped[0], 0);
    }

    proptest! {
        #[test]
        fn the_curve_never_falls_and_keeps_its_ends(d in -1.0..=1.0_f64, c in -1.0..=1.0_f64, b in 0.0..=0.5_f64) {
            let t = curve(Swing::new(d), Swing::new(c), DropOut::new(b));
            prop_assert_eq!((t[0], t[255]), (0, 255));
            prop_assert!(t.windows(2).all(|w| w[0] <= w[1]));
        }
    }
}
