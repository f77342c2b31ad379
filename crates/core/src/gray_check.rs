//! The gray check: which grays of a layer print, which are too light to print and which fill in.

use crate::ink::Ink;
use crate::tone::ToneCurve;

/// Grays from here up are bare paper (a coverage below 1.6 %), so that a scan's noise is not counted as drawn.
pub const PAPER: u8 = 252;
/// Grays up to here are meant as a solid (a coverage from 98.4 %), so that a solid is not counted as clogged.
const SOLID: u8 = 4;

/// What becomes of a gray.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Fate {
    /// Bare paper, as meant.
    #[default]
    Blank,
    /// Lighter than the lightest printable tone: nothing prints.
    Vanishes,
    /// Prints as a tone, or as a solid that is meant.
    Prints,
    /// Darker than the fill-in shadow without being meant as a solid: detail is lost.
    Clogs,
}

/// How one pixel of a hatch is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stroke {
    /// In the fate's own colour.
    Line,
    /// In white beside the line, so that it is seen on any ink and stock.
    Halo,
}

impl Fate {
    /// What a pixel of a view belongs to in the hatch that marks this fate, if to anything.
    ///
    /// Wide-set lines that rise mark what vanishes, close-set lines that fall what clogs: they differ in
    /// direction and spacing, so that they are told apart without seeing colour.
    pub fn hatch(self, x: usize, y: usize) -> Option<Stroke> {
        let at = match self {
            Self::Blank | Self::Prints => return None,
            Self::Vanishes => (x % 12 + y % 12) % 12,
            Self::Clogs => (x % 6 + 6 - y % 6) % 6,
        };
        match at {
            0 | 1 => Some(Stroke::Line),
            2 => Some(Stroke::Halo),
            _ => None,
        }
    }

    /// The colour of the hatch, sRGB: blue and vermilion of the palette that Okabe and Ito proposed for all
    /// kinds of colour vision ("Color universal design", 2008).
    pub fn colour(self) -> [u8; 3] {
        match self {
            Self::Blank | Self::Vanishes => [0, 114, 178],
            Self::Prints | Self::Clogs => [213, 94, 0],
        }
    }
}

/// What becomes of every gray, 0 (black) to 255 (white).
pub fn fates(curve: &ToneCurve) -> [Fate; 256] {
    std::array::from_fn(|g| {
        let asked = 1.0 - g as f64 / 255.0;
        if g >= usize::from(PAPER) {
            Fate::Blank
        } else if asked < curve.lightest() {
            Fate::Vanishes
        } else if g > usize::from(SOLID) && asked > curve.fill_in() {
            Fate::Clogs
        } else {
            Fate::Prints
        }
    })
}

/// A layer's grays against what its ink can print.
#[derive(Debug, Clone, PartialEq)]
pub struct GrayCheck {
    /// How many pixels have each gray.
    pub histogram: [u64; 256],
    /// Pixels that are drawn, that is, no bare paper.
    pub drawn: u64,
    /// Share of the drawn pixels that vanish, 0..=1: too light to print, or removed by the reading.
    pub vanishes: f64,
    /// Share of the drawn pixels that clog, 0..=1.
    pub clogs: f64,
    /// Coverage that is asked for on the mean over all pixels, 0..=1.
    pub coverage: f64,
    /// Coverage that the darkest hundredth of the drawn pixels asks for at least, 0..=1; 0 when nothing is drawn.
    pub strongest: f64,
}

impl GrayCheck {
    /// Checks counted grays; add up those of all a layer's originals.
    pub fn of_histogram(histogram: [u64; 256], curve: &ToneCurve) -> Self {
        let fates = fates(curve);
        let count = |wanted: fn(Fate) -> bool| -> u64 {
            histogram.iter().zip(&fates).filter(|(_, f)| wanted(**f)).map(|(n, _)| n).sum()
        };
        let drawn = count(|f| f != Fate::Blank);
        let share = |n: u64| n as f64 / drawn.max(1) as f64;
        let asked: f64 =
            histogram.iter().enumerate().map(|(g, &n)| (255 - g) as f64 / 255.0 * n as f64).sum();
        let total: u64 = histogram.iter().sum();
        let mut seen = 0;
        let strongest = histogram.iter().take(usize::from(PAPER)).position(|n| {
            seen += n;
            seen > 0 && seen * 100 >= drawn
        });
        Self {
            histogram,
            drawn,
            vanishes: share(count(|f| f == Fate::Vanishes)),
            clogs: share(count(|f| f == Fate::Clogs)),
            coverage: asked / total.max(1) as f64,
            strongest: strongest.map_or(0.0, |g| (255 - g) as f64 / 255.0),
        }
    }

    /// The same with so many pixels more that were drawn and that the reading has made bare paper. They are among the
    /// blank ones of the histogram, and count as drawn and as lost.
    #[must_use]
    pub fn with_removed(self, removed: u64) -> Self {
        let drawn = self.drawn + removed;
        let of_all = |share: f64| share * self.drawn as f64 / drawn.max(1) as f64;
        let (vanishes, clogs) = (of_all(self.vanishes), of_all(self.clogs));
        Self { drawn, vanishes: vanishes + removed as f64 / drawn.max(1) as f64, clogs, ..self }
    }

    /// The caution for an original that was drawn as pale as its ink is, when it looks like that: a pale
    /// ink, and no part of the original near black (common practice, no source).
    pub fn drawn_pale(&self, ink: &Ink) -> Option<String> {
        let pale = ink.solid.lab().l() >= PALE_INK;
        (pale && self.drawn > 0 && self.strongest < PALE_ORIGINAL).then(|| {
            format!(
                "a pale ink still needs black on the original for full strength: this one asks for {:.0} % of {} at most, so redraw it darker or raise the density",
                self.strongest * 100.0,
                ink.name
            )
        })
    }
}

/// L* of a solid from which on an ink is pale.
const PALE_INK: f64 = 65.0;
/// Strongest coverage below which an original looks drawn in its ink's own lightness.
const PALE_ORIGINAL: f64 = 0.6;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::Lab;
    use crate::reading::histogram;

    fn curve() -> ToneCurve {
        ToneCurve::new(vec![(0.0, 0.0), (1.0, 1.0)]).unwrap().with_limits(0.1, 0.9).unwrap()
    }

    #[test]
    fn grays_are_sorted_by_what_the_curve_can_print() {
        let f = fates(&curve());
        assert_eq!(
            [f[255], f[252], f[251], f[230]],
            [Fate::Blank, Fate::Blank, Fate::Vanishes, Fate::Vanishes]
        );
        assert_eq!([f[229], f[128], f[26]], [Fate::Prints; 3]);
        assert_eq!([f[25], f[5], f[4], f[0]], [Fate::Clogs, Fate::Clogs, Fate::Prints, Fate::Prints]);
        // What the curve prints nothing for is what vanishes.
        for (g, fate) in f.iter().enumerate().take(252) {
            assert_eq!(*fate == Fate::Vanishes, curve().effective(1.0 - g as f64 / 255.0) == 0.0);
        }
    }

    #[test]
    fn shares_count_drawn_pixels_only() {
        let mut pixels = vec![255_u8; 600];
        pixels.extend([240; 100]);
        pixels.extend([128; 200]);
        pixels.extend([10; 50]);
        pixels.extend([0; 50]);
        let check = GrayCheck::of_histogram(histogram(&pixels), &curve());
        assert_eq!((check.drawn, check.vanishes, check.clogs), (400, 0.25, 0.125));
        let mean = (100.0 * 15.0 + 200.0 * 127.0 + 50.0 * 245.0 + 50.0 * 255.0) / 255_000.0;
        assert!((check.coverage - mean).abs() < 1e-12);
        assert_eq!(check.strongest, 1.0);
    }

    #[test]
    fn what_a_reading_removed_counts_as_drawn_and_lost() {
        let mut pixels = vec![255_u8; 600];
        pixels.extend([240; 100]);
        pixels.extend([128; 200]);
        pixels.extend([10; 100]);
        let check = GrayCheck::of_histogram(histogram(&pixels), &curve());
        let more = check.clone().with_removed(400);
        assert_eq!((more.drawn, more.vanishes, more.clogs), (800, 500.0 / 800.0, 100.0 / 800.0));
        assert_eq!((more.coverage, more.strongest), (check.coverage, check.strongest));
        assert_eq!(check.clone().with_removed(0), check);
        let nothing = GrayCheck::of_histogram(histogram(&[255; 9]), &curve());
        assert_eq!(nothing.clone().with_removed(0), nothing);
        assert_eq!(nothing.with_removed(9).vanishes, 1.0);
    }

    #[test]
    fn a_pale_original_for_a_pale_ink_is_told_and_others_are_not() {
        let ink = |l: f64| Ink::estimated("lemon", Lab::new(l, 0.0, 60.0).unwrap());
        let check = |g| GrayCheck::of_histogram(histogram(&[g; 81]), &curve());
        let message = check(180).drawn_pale(&ink(88.0)).unwrap();
        assert!(message.contains("29 % of lemon"), "{message}");
        assert!(check(180).drawn_pale(&ink(30.0)).is_none());
        assert!(check(20).drawn_pale(&ink(88.0)).is_none());
        assert!(check(255).drawn_pale(&ink(88.0)).is_none());
        assert_eq!(check(255).strongest, 0.0);
    }

    #[test]
    fn the_two_hatches_differ_in_direction_and_spacing() {
        let line = |f: Fate, x: usize, y: usize| f.hatch(x, y) == Some(Stroke::Line);
        let area = |f: Fate| (0..144).filter(|i| line(f, i % 12, i / 12)).count();
        assert_eq!([Fate::Blank, Fate::Vanishes, Fate::Prints, Fate::Clogs].map(area), [0, 24, 0, 48]);
        for i in 0..36 {
            // One step to the right and one up stays on a rising line, one down on a falling one.
            assert_eq!(line(Fate::Vanishes, i, 50), line(Fate::Vanishes, i + 1, 49));
            assert_eq!(line(Fate::Clogs, i, 50), line(Fate::Clogs, i + 1, 51));
        }
        assert!((0..36).any(|i| line(Fate::Vanishes, i, 50) != line(Fate::Vanishes, i + 1, 51)));
        assert!((0..36).any(|i| line(Fate::Clogs, i, 50) != line(Fate::Clogs, i + 1, 49)));
    }
}
