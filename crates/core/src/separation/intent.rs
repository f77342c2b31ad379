//! What becomes of colours that the inks cannot print, in the words of the open standard (ICC.1:2022).

use serde::{Deserialize, Serialize};

use crate::colour::{Lab, Light, Xyz, ciede2000_parts, lab_and_slope, oklab_and_slope};

/// How a picture's colours are brought within the reach of inks on a stock. White becomes paper with each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
pub enum Intent {
    /// Black becomes the darkest overprint, and then what is nearest in Oklab with lightness weighed twice, so that
    /// what tells shapes apart stays.
    #[default]
    Perceptual,
    /// What is nearest by CIEDE2000: the smallest difference where the inks reach, and dark tones that run together.
    RelativeColorimetric,
    /// Black becomes the darkest overprint, and then what is nearest in Oklab with lightness weighed half, so that colour
    /// stays strong.
    Saturation,
}

impl Intent {
    pub const ALL: [Self; 3] = [Self::Perceptual, Self::RelativeColorimetric, Self::Saturation];

    pub fn name(self) -> &'static str {
        match self {
            Self::Perceptual => "perceptual",
            Self::RelativeColorimetric => "relative colorimetric",
            Self::Saturation => "saturation",
        }
    }

    fn compensates_black(self) -> bool {
        self != Self::RelativeColorimetric
    }
}

/// What a print is held against.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Target {
    /// Nearest by CIEDE2000.
    Lab([f64; 3]),
    /// Nearest in Oklab, with this weight of lightness.
    Oklab([f64; 3], f64),
}

/// Oklab in steps as large as those of Lab, so that one weight suits both.
const OKLAB_SCALE: f64 = 100.0;

impl Target {
    /// A colour as it is wanted on the sheet, by CIEDE2000.
    pub(super) fn exactly(lab: Lab) -> Self {
        Self::Lab([lab.l(), lab.a(), lab.b()])
    }

    /// A colour of a picture, for a paper and the luminance of its darkest overprint as a share of the paper's.
    pub(super) fn of(source: Lab, intent: Intent, paper: &Light, darkest: f64) -> Self {
        let light = aim(source, intent, paper, darkest);
        match intent {
            Intent::RelativeColorimetric => Self::exactly(Xyz::from_light(light).lab()),
            Intent::Perceptual => Self::Oklab(oklab_and_slope(light).0, 2.0),
            Intent::Saturation => Self::Oklab(oklab_and_slope(light).0, 0.5),
        }
    }

    /// The parts of the difference of light from it; their squares add up to its square.
    pub(super) fn difference(&self, light: Light) -> [f64; 3] {
        match self {
            Self::Lab(wanted) => ciede2000_parts(*wanted, lab_and_slope(light).0),
            Self::Oklab(wanted, weight) => {
                let (got, _) = oklab_and_slope(light);
                weighed([got[0] - wanted[0], got[1] - wanted[1], got[2] - wanted[2]], *weight)
            }
        }
    }

    /// The same with its slope by the channels of light, rows first.
    pub(super) fn difference_and_slope(&self, light: Light) -> ([f64; 3], [[f64; 3]; 3]) {
        match self {
            Self::Lab(wanted) => {
                let (lab, by_light) = lab_and_slope(light);
                let at = ciede2000_parts(*wanted, lab);
                // Its formula has no slope worth writing down; a step is as good.
                let mut by_lab = [[0.0; 3]; 3];
                for c in 0..3 {
                    let moved = |by: f64| {
                        let mut lab = lab;
                        lab[c] += by;
                        ciede2000_parts(*wanted, lab)
                    };
                    let (up, down) = (moved(STEP), moved(-STEP));
                    for (row, (up, down)) in by_lab.iter_mut().zip(up.iter().zip(down)) {
                        row[c] = (up - down) / (2.0 * STEP);
                    }
                }
                (at, times(&by_lab, &by_light))
            }
            Self::Oklab(wanted, weight) => {
                let (got, slope) = oklab_and_slope(light);
                let d = [got[0] - wanted[0], got[1] - wanted[1], got[2] - wanted[2]];
                let factor = [OKLAB_SCALE * libm::sqrt(*weight), OKLAB_SCALE, OKLAB_SCALE];
                let mut rows = slope;
                for (row, factor) in rows.iter_mut().zip(factor) {
                    *row = row.map(|v| v * factor);
                }
                (weighed(d, *weight), rows)
            }
        }
    }
}

/// What a print of a picture's colour aims at: white is paper, and black the darkest overprint with the intents that
/// compensate it.
pub(super) fn aim(source: Lab, intent: Intent, paper: &Light, darkest: f64) -> Light {
    let source = source.light();
    let black = if intent.compensates_black() { darkest } else { 0.0 };
    std::array::from_fn(|c| (black + (1.0 - black) * source[c]) * paper[c])
}

/// A step in Lab over which a slope is taken.
const STEP: f64 = 1e-3;

fn weighed([l, a, b]: [f64; 3], lightness: f64) -> [f64; 3] {
    [l * OKLAB_SCALE * libm::sqrt(lightness), a * OKLAB_SCALE, b * OKLAB_SCALE]
}

fn times(a: &[[f64; 3]; 3], b: &[[f64; 3]; 3]) -> [[f64; 3]; 3] {
    std::array::from_fn(|i| std::array::from_fn(|j| (0..3).map(|k| a[i][k] * b[k][j]).sum()))
}
