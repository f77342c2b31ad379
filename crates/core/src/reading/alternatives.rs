//! Readings worth seeing beside the present one.

use super::{DropOut, Mode, Reading, Ruling, Swing, upright};

/// By how much the alternatives are darker or lighter, and drop out more; wide enough apart to tell on a print
/// (common practice, no source).
const STEP: f64 = 0.3;
const MORE_DROP_OUT: f64 = 0.08;

impl Reading {
    /// The present reading, then what a person would try next to it: another mode that suits the same kind of
    /// original, darker, lighter, and with more (or without) drop-out. No two are the same.
    pub fn alternatives(&self) -> Vec<Self> {
        let screened = Mode::Screened { ruling: Ruling::default(), angle: upright() };
        let mixed = Mode::Mixed { ruling: Ruling::default(), angle: upright() };
        let other = match self.mode {
            Mode::Continuous | Mode::Stochastic { .. } => screened,
            Mode::Screened { ruling, angle } => Mode::Mixed { ruling, angle },
            Mode::Mixed { ruling, angle } => Mode::Screened { ruling, angle },
            Mode::Line | Mode::Faint => mixed,
        };
        let moved = |by: f64| {
            let to = self.density.get() + by;
            // At the end of its range the other direction is the one left to try.
            let to = if to.abs() > 1.0 { self.density.get() - 2.0 * by } else { to };
            Self { density: Swing::new(to.clamp(-1.0, 1.0)), ..*self }
        };
        let more = self.background.get() + MORE_DROP_OUT;
        let background = DropOut::new(if more > 0.5 { 0.0 } else { more });
        let tried =
            [*self, Self { mode: other, ..*self }, moved(STEP), moved(-STEP), Self { background, ..*self }];
        let mut all: Vec<Self> = Vec::new();
        for reading in tried {
            if !all.contains(&reading) {
                all.push(reading);
            }
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::Scatter;

    #[test]
    fn there_are_always_five_that_differ_with_the_present_one_first() {
        let scattered = [Scatter::Tile, Scatter::Diffusion].map(|scatter| Mode::Stochastic { scatter });
        let screened = Mode::Screened { ruling: Ruling::new(60.0), angle: upright() };
        for mode in [Mode::Continuous, Mode::Line, screened, Mode::Faint].into_iter().chain(scattered) {
            for (d, b) in [(0.0, 0.0), (1.0, 0.5), (-1.0, 0.45), (0.9, 0.1)] {
                let now =
                    Reading { density: Swing::new(d), background: DropOut::new(b), ..Reading::of(mode) };
                let all = now.alternatives();
                assert_eq!((all.len(), all[0]), (5, now), "{now:?}: {all:?}");
            }
        }
        let mixed = Reading::of(screened).alternatives()[1].mode;
        assert!(matches!(mixed, Mode::Mixed { ruling, .. } if ruling == Ruling::new(60.0)));
    }
}
