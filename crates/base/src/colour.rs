//! Colour: Lab and XYZ under D50 for the 2 degree observer come in and go out (ISO 13655 practice),
//! linear Rec.2020 light (ITU-R BT.2020) is what inks mix in, and sRGB (IEC 61966-2-1) is what is shown.
//!
//! Lab, XYZ and CIEDE2000 are the `palette` crate's. The way from D50 to the two RGB spaces is one matrix
//! each, worked out from the standards' chromaticities when the program is compiled, so that there and
//! back again is exact to the last digits.

use palette::color_difference::Ciede2000 as _;
use palette::convert::FromColorUnclamped as _;
use palette::white_point::D50;
use serde::{Deserialize, Serialize};

/// A colour in CIE L*a*b* under D50, 2 degree observer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "(f64, f64, f64)", into = "(f64, f64, f64)")]
pub struct Lab {
    l: f64,
    a: f64,
    b: f64,
}

/// A number that cannot be part of a Lab colour.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error("Lab {what} must be {wanted}, not {got}")]
pub struct LabError {
    /// `L`, `a` or `b`.
    pub what: &'static str,
    /// The range allowed.
    pub wanted: &'static str,
    /// The number given.
    pub got: f64,
}

/// Tristimulus values under D50, scaled so that the reference white has Y = 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Xyz {
    pub x: f64,
    /// Y, the luminance factor.
    pub y: f64,
    pub z: f64,
}

/// Linear light, one value a channel with the primaries of Rec.2020; white is (1, 1, 1).
pub type Light = [f64; 3];

/// An sRGB colour for showing, with whether it had to be clipped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shown {
    /// 8-bit sRGB.
    pub rgb: [u8; 3],
    /// Whether the colour lies outside sRGB, so that the screen cannot show it.
    pub clipped: bool,
}

impl Lab {
    /// White paper that reflects everything.
    pub const WHITE: Self = Self { l: 100.0, a: 0.0, b: 0.0 };

    /// A colour.
    ///
    /// # Errors
    /// When L is not within 0 to 150 (fluorescent inks can exceed the white) or a, b not within ±200.
    pub fn new(l: f64, a: f64, b: f64) -> Result<Self, LabError> {
        if !(0.0..=150.0).contains(&l) {
            return Err(LabError { what: "L", wanted: "from 0 to 150", got: l });
        }
        for (what, got) in [("a", a), ("b", b)] {
            if !(-200.0..=200.0).contains(&got) {
                return Err(LabError { what, wanted: "from -200 to 200", got });
            }
        }
        Ok(Self { l, a, b })
    }

    /// An sRGB colour as screens and drawing programs write it: `#` and six hexadecimal digits, or these alone.
    pub fn from_hex(text: &str) -> Option<Self> {
        let text = text.trim();
        let digits = text.strip_prefix('#').unwrap_or(text);
        if digits.len() != 6 || !digits.bytes().all(|b| b.is_ascii_hexdigit()) {
            return None;
        }
        let number = u32::from_str_radix(digits, 16).ok()?;
        let channel = |shift: u32| linear_from_srgb(f64::from(number >> shift & 255) / 255.0);
        Some(Xyz::from_linear_srgb([channel(16), channel(8), channel(0)]).lab())
    }

    /// The same way back: `#` and six hexadecimal digits of the colour that a screen shows.
    pub fn hex(self) -> String {
        let [r, g, b] = self.xyz().shown().rgb;
        format!("#{r:02x}{g:02x}{b:02x}")
    }

    /// Lightness, 0 to 100 for anything that does not glow.
    pub fn l(self) -> f64 {
        self.l
    }

    /// Green (-) to red (+).
    pub fn a(self) -> f64 {
        self.a
    }

    /// Blue (-) to yellow (+).
    pub fn b(self) -> f64 {
        self.b
    }

    /// The same colour as tristimulus values.
    pub fn xyz(self) -> Xyz {
        let v = palette::Xyz::<D50, f64>::from_color_unclamped(self.palette());
        Xyz { x: v.x, y: v.y, z: v.z }
    }

    /// The same colour as linear Rec.2020 light; a channel is negative outside that gamut.
    pub fn light(self) -> Light {
        self.xyz().light()
    }

    /// What the difference CIEDE2000 from a reference consists of: lightness, and chroma and hue by their weights,
    /// turned so that the squares of all three add up to the square of the difference (ISO/CIE 11664-6; Sharma, Wu and
    /// Dalal, "The CIEDE2000 color-difference formula", 2005).
    pub fn ciede2000_parts(self, reference: Self) -> [f64; 3] {
        ciede2000_parts([reference.l, reference.a, reference.b], [self.l, self.a, self.b])
    }

    /// The colour difference CIEDE2000 (ISO/CIE 11664-6) with all weights 1.
    pub fn ciede2000(self, other: Self) -> f64 {
        self.palette().difference(other.palette())
    }

    fn palette(self) -> palette::Lab<D50, f64> {
        palette::Lab::new(self.l, self.a, self.b)
    }
}

impl TryFrom<(f64, f64, f64)> for Lab {
    type Error = LabError;
    fn try_from((l, a, b): (f64, f64, f64)) -> Result<Self, LabError> {
        Self::new(l, a, b)
    }
}

impl From<Lab> for (f64, f64, f64) {
    fn from(lab: Lab) -> Self {
        (lab.l, lab.a, lab.b)
    }
}

impl std::fmt::Display for Lab {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "L {:.1}, a {:.1}, b {:.1}", self.l, self.a, self.b)
    }
}

impl Xyz {
    /// The same colour in Lab; out-of-range values are brought to the nearest that [`Lab`] holds.
    pub fn lab(self) -> Lab {
        let v = palette::Lab::<D50, f64>::from_color_unclamped(palette::Xyz::<D50, f64>::new(
            self.x, self.y, self.z,
        ));
        let side = |v: f64| if v.is_finite() { v.clamp(-200.0, 200.0) } else { 0.0 };
        Lab { l: if v.l.is_finite() { v.l.clamp(0.0, 150.0) } else { 0.0 }, a: side(v.a), b: side(v.b) }
    }

    /// The same colour as linear Rec.2020 light, by way of Bradford.
    pub fn light(self) -> Light {
        apply(&LIGHT_FROM_XYZ, [self.x, self.y, self.z])
    }

    /// From linear Rec.2020 light.
    pub fn from_light(light: Light) -> Self {
        let [x, y, z] = apply(&XYZ_FROM_LIGHT, light);
        Self { x, y, z }
    }

    /// From linear sRGB light, 0..=1 a channel, by way of Bradford.
    pub fn from_linear_srgb(linear: [f64; 3]) -> Self {
        Self::from_light(apply(&LIGHT_FROM_SRGB, linear))
    }

    /// As linear sRGB light; channels outside 0..=1 are colours that sRGB does not hold.
    pub fn linear_srgb(self) -> [f64; 3] {
        apply(&SRGB_FROM_LIGHT, self.light())
    }

    /// The colour as a screen shows it: colours outside sRGB move toward the gray of their own luminance,
    /// in linear light, until they fit, which keeps their hue (dominant wavelength); [`Shown::clipped`] says so.
    pub fn shown(self) -> Shown {
        let (linear, clipped) = into_gamut(apply(&SRGB_FROM_LIGHT, self.light()));
        Shown { rgb: linear.map(|c| (srgb_from_linear(c) * 255.0 + 0.5) as u8), clipped }
    }
}

/// The signed parts of CIEDE2000 from a reference to a sample, both L*, a*, b*: their squares add up to the square of the
/// difference.
pub fn ciede2000_parts([l1, a1, b1]: [f64; 3], [l2, a2, b2]: [f64; 3]) -> [f64; 3] {
    let power7 = |c: f64| {
        let c7 = c * c * c * c * c * c * c;
        libm::sqrt(c7 / (c7 + 6_103_515_625.0))
    };
    let mean_chroma = (libm::hypot(a1, b1) + libm::hypot(a2, b2)) / 2.0;
    let stretch = 1.0 + 0.5 * (1.0 - power7(mean_chroma));
    let (a1, a2) = (a1 * stretch, a2 * stretch);
    let (c1, c2) = (libm::hypot(a1, b1), libm::hypot(a2, b2));
    let (gray, turn) = (c1 * c2 == 0.0, std::f64::consts::TAU);
    let [h1, h2] = [(a1, b1), (a2, b2)].map(|(a, b)| libm::atan2(b, a).rem_euclid(turn));
    let mut dh = h2 - h1;
    if dh.abs() > turn / 2.0 {
        dh -= turn * dh.signum();
    }
    // Halfway between both hues, on the shorter way round.
    let hue = if gray { h1 + h2 } else { h1 + dh / 2.0 };
    let (l, c) = ((l1 + l2) / 2.0, (c1 + c2) / 2.0);
    let cos = |factor: f64, shift: f64| libm::cos(factor * hue + shift.to_radians());
    let t =
        1.0 - 0.17 * cos(1.0, -30.0) + 0.24 * cos(2.0, 0.0) + 0.32 * cos(3.0, 6.0) - 0.20 * cos(4.0, -63.0);
    let far = (l - 50.0) * (l - 50.0);
    let (sl, sc, sh) = (1.0 + 0.015 * far / libm::sqrt(20.0 + far), 1.0 + 0.045 * c, 1.0 + 0.015 * c * t);
    let degrees = hue.to_degrees().rem_euclid(360.0);
    let blue = (degrees - 275.0) / 25.0;
    let turned = -2.0 * power7(c) * libm::sin((60.0 * libm::exp(-blue * blue)).to_radians());
    let parts = [
        (l2 - l1) / sl,
        (c2 - c1) / sc,
        2.0 * libm::sqrt(c1 * c2) * libm::sin(if gray { 0.0 } else { dh / 2.0 }) / sh,
    ];
    // The term that joins chroma and hue, as a shear: c² + h² + r c h is (c + r h / 2)² + (1 - r² / 4) h².
    let half = turned / 2.0;
    [parts[0], parts[1] + half * parts[2], libm::sqrt((1.0 - half * half).max(0.0)) * parts[2]]
}

/// A colour in Oklab, L from 0 to 1, with its derivative by the channels of light, rows first.
///
/// Ottosson, "A perceptual color space for image processing", 2020. Light has the white of Oklab.
pub fn oklab_and_slope(light: Light) -> ([f64; 3], [[f64; 3]; 3]) {
    let lms = apply(&LMS_FROM_LIGHT, light);
    let root = lms.map(libm::cbrt);
    // Without bound at black, where a step of light is still only a step.
    let slope = root.map(|r| 1.0 / (3.0 * (r * r).max(1e-4)));
    let mut rows = OKLAB_FROM_ROOT;
    for row in &mut rows {
        let scaled = [row[0] * slope[0], row[1] * slope[1], row[2] * slope[2]];
        *row = apply(&transpose(&LMS_FROM_LIGHT), scaled);
    }
    (apply(&OKLAB_FROM_ROOT, root), rows)
}

/// L*, a* and b* of light, with their derivative by its channels, rows first.
pub fn lab_and_slope(light: Light) -> ([f64; 3], [[f64; 3]; 3]) {
    let xyz = apply(&XYZ_FROM_LIGHT, light);
    let white = [0.96422, 1.0, 0.82521];
    let (mut f, mut slope) = ([0.0; 3], [0.0; 3]);
    for i in 0..3 {
        let t = xyz[i] / white[i];
        // CIE 15: the cube root above (6/29)³, a straight line below.
        (f[i], slope[i]) = if t > 216.0 / 24389.0 {
            let r = libm::cbrt(t);
            (r, 1.0 / (3.0 * r * r * white[i]))
        } else {
            ((24389.0 / 27.0 * t + 16.0) / 116.0, 24389.0 / 27.0 / 116.0 / white[i])
        };
    }
    let by = |weights: [f64; 3]| {
        apply(
            &transpose(&XYZ_FROM_LIGHT),
            [weights[0] * slope[0], weights[1] * slope[1], weights[2] * slope[2]],
        )
    };
    let lab = [116.0 * f[1] - 16.0, 500.0 * (f[0] - f[1]), 200.0 * (f[1] - f[2])];
    (lab, [by([0.0, 116.0, 0.0]), by([500.0, -500.0, 0.0]), by([0.0, 200.0, -200.0])])
}

/// Cone responses of Oklab from XYZ under D65.
const LMS_FROM_XYZ: Matrix = [
    [0.818_933_010_1, 0.361_866_742_4, -0.128_859_713_7],
    [0.032_984_543_6, 0.929_311_871_5, 0.036_145_638_7],
    [0.048_200_301_8, 0.264_366_269_1, 0.633_851_707_0],
];

const LMS_FROM_LIGHT: Matrix =
    times(&LMS_FROM_XYZ, &xyz_from_primaries([[0.708, 0.292], [0.170, 0.797], [0.131, 0.046]]));

const OKLAB_FROM_ROOT: Matrix = [
    [0.210_454_255_3, 0.793_617_785_0, -0.004_072_046_8],
    [1.977_998_495_1, -2.428_592_205_0, 0.450_593_709_9],
    [0.025_904_037_1, 0.782_771_766_2, -0.808_675_766_0],
];

/// A 3 x 3 matrix, rows first.
type Matrix = [[f64; 3]; 3];

/// D50 as CIE 15 tabulates it for the 2 degree observer.
const D50_WHITE: [f64; 3] = [0.96422, 1.0, 0.82521];

/// D65 from the chromaticity (0.3127, 0.3290) that both RGB standards name.
const D65_WHITE: [f64; 3] = [0.3127 / 0.3290, 1.0, (1.0 - 0.3127 - 0.3290) / 0.3290];

/// Bradford cone responses (ICC.1:2022, Annex E).
const BRADFORD: Matrix = [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]];

/// Linear Rec.2020 to XYZ under D50.
const XYZ_FROM_LIGHT: Matrix =
    times(&BRADFORD_D50_FROM_D65, &xyz_from_primaries([[0.708, 0.292], [0.170, 0.797], [0.131, 0.046]]));

/// XYZ under D50 to linear Rec.2020.
const LIGHT_FROM_XYZ: Matrix = inverse(&XYZ_FROM_LIGHT);

/// Linear Rec.2020 to linear sRGB; both have D65 as their white.
pub const SRGB_FROM_LIGHT: Matrix = times(
    &inverse(&xyz_from_primaries([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])),
    &xyz_from_primaries([[0.708, 0.292], [0.170, 0.797], [0.131, 0.046]]),
);

/// Linear sRGB to linear Rec.2020.
const LIGHT_FROM_SRGB: Matrix = inverse(&SRGB_FROM_LIGHT);

const BRADFORD_D50_FROM_D65: Matrix = {
    let (from, to) = (apply(&BRADFORD, D65_WHITE), apply(&BRADFORD, D50_WHITE));
    let scale = [[to[0] / from[0], 0.0, 0.0], [0.0, to[1] / from[1], 0.0], [0.0, 0.0, to[2] / from[2]]];
    times(&inverse(&BRADFORD), &times(&scale, &BRADFORD))
};

/// The matrix to XYZ of an RGB space with white D65, from the chromaticities of its primaries.
const fn xyz_from_primaries([r, g, b]: [[f64; 2]; 3]) -> Matrix {
    let columns =
        [[r[0], g[0], b[0]], [r[1], g[1], b[1]], [1.0 - r[0] - r[1], 1.0 - g[0] - g[1], 1.0 - b[0] - b[1]]];
    let s = apply(&inverse(&columns), D65_WHITE);
    times(&columns, &[[s[0], 0.0, 0.0], [0.0, s[1], 0.0], [0.0, 0.0, s[2]]])
}

const fn apply(m: &Matrix, v: [f64; 3]) -> [f64; 3] {
    [
        m[0][0] * v[0] + m[0][1] * v[1] + m[0][2] * v[2],
        m[1][0] * v[0] + m[1][1] * v[1] + m[1][2] * v[2],
        m[2][0] * v[0] + m[2][1] * v[1] + m[2][2] * v[2],
    ]
}

const fn transpose(m: &Matrix) -> Matrix {
    [[m[0][0], m[1][0], m[2][0]], [m[0][1], m[1][1], m[2][1]], [m[0][2], m[1][2], m[2][2]]]
}

const fn times(a: &Matrix, b: &Matrix) -> Matrix {
    let columns = transpose(b);
    transpose(&[apply(a, columns[0]), apply(a, columns[1]), apply(a, columns[2])])
}

const fn cross(a: [f64; 3], b: [f64; 3]) -> [f64; 3] {
    [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]
}

/// The inverse by cross products of the rows; only for the constants here, none of which is singular.
const fn inverse(m: &Matrix) -> Matrix {
    let (c0, c1, c2) = (cross(m[1], m[2]), cross(m[2], m[0]), cross(m[0], m[1]));
    let det = m[0][0] * c0[0] + m[0][1] * c0[1] + m[0][2] * c0[2];
    let rows = [
        [c0[0] / det, c0[1] / det, c0[2] / det],
        [c1[0] / det, c1[1] / det, c1[2] / det],
        [c2[0] / det, c2[1] / det, c2[2] / det],
    ];
    transpose(&rows)
}

/// Luminance weights of linear sRGB (IEC 61966-2-1).
pub const SRGB_LUMINANCE: [f64; 3] = [0.2126, 0.7152, 0.0722];

/// Tolerance within which a linear sRGB channel still counts as inside the gamut.
const GAMUT_SLACK: f64 = 5e-4;

/// Moves linear sRGB toward the gray of its luminance until every channel lies in 0..=1.
/// The flag says whether it had to move by more than a rounding error.
pub fn into_gamut(linear: [f64; 3]) -> ([f64; 3], bool) {
    let y: f64 = linear.iter().zip(SRGB_LUMINANCE).map(|(c, w)| c * w).sum();
    if !y.is_finite() {
        return ([0.0; 3], true);
    }
    let gray = y.clamp(0.0, 1.0);
    let low = linear.iter().copied().fold(f64::INFINITY, f64::min);
    let high = linear.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let out = low < -GAMUT_SLACK || high > 1.0 + GAMUT_SLACK;
    let mut keep = 1.0_f64;
    if low < 0.0 {
        keep = keep.min(gray / (gray - low));
    }
    if high > 1.0 {
        keep = keep.min((1.0 - gray) / (high - gray).max(1e-12));
    }
    (linear.map(|c| (gray + (c - gray) * keep).clamp(0.0, 1.0)), out)
}

/// The sRGB transfer function, linear to encoded, both 0..=1 (IEC 61966-2-1).
pub fn srgb_from_linear(c: f64) -> f64 {
    if c <= 0.003_130_8 { 12.92 * c } else { 1.055 * libm::pow(c, 1.0 / 2.4) - 0.055 }
}

/// The sRGB transfer function, encoded to linear, both 0..=1 (IEC 61966-2-1).
pub fn linear_from_srgb(c: f64) -> f64 {
    if c <= 0.040_45 { c / 12.92 } else { libm::pow((c + 0.055) / 1.055, 2.4) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lab(l: f64, a: f64, b: f64) -> Lab {
        Lab::new(l, a, b).unwrap()
    }

    #[test]
    fn the_white_of_d50_is_white_everywhere() {
        let xyz = Lab::WHITE.xyz();
        assert!((xyz.x - 0.9642).abs() < 1e-3 && (xyz.y - 1.0).abs() < 1e-9 && (xyz.z - 0.8249).abs() < 1e-3);
        assert!(Lab::WHITE.light().iter().all(|c| (c - 1.0).abs() < 1e-4), "{:?}", Lab::WHITE.light());
        assert_eq!(xyz.shown(), Shown { rgb: [255, 255, 255], clipped: false });
    }

    #[test]
    fn light_and_lab_round_trip() {
        for c in [lab(50.0, 60.0, -20.0), lab(90.0, -10.0, 80.0), lab(16.0, 0.0, 0.0)] {
            assert!(Xyz::from_light(c.light()).lab().ciede2000(c) < 1e-6, "{c}");
        }
    }

    #[test]
    fn a_colour_outside_srgb_keeps_its_hue_and_is_flagged() {
        let cyan = lab(55.0, -37.0, -50.0);
        let shown = cyan.xyz().shown();
        assert!(shown.clipped);
        let [r, g, b] = shown.rgb;
        assert!(b > g && g > r, "{shown:?}");
        assert!(!lab(50.0, 10.0, 10.0).xyz().shown().clipped);
    }

    /// The pairs of Sharma, Wu and Dalal (2005), with the differences that they publish.
    const PAIRS: &str = include_str!("../../../tests/data/ciede2000_sharma2005.csv");

    #[test]
    fn the_parts_of_a_difference_add_up_to_the_published_one() {
        let mut checked = 0;
        for line in PAIRS.lines().filter(|l| l.starts_with(|c: char| c.is_ascii_digit())) {
            let v: Vec<f64> = line.split(',').map(|v| v.trim().parse().unwrap()).collect();
            let [l1, a1, b1, l2, a2, b2, wanted] = v[v.len() - 7..] else { panic!("{line}") };
            let parts = ciede2000_parts([l1, a1, b1], [l2, a2, b2]);
            let got = libm::sqrt(parts.iter().map(|p| p * p).sum());
            assert!((got - wanted).abs() < 1e-4, "{got} for {line}");
            checked += 1;
        }
        assert_eq!(checked, 34);
    }

    #[test]
    fn oklab_is_as_it_was_published() {
        // The table of Ottosson's page, XYZ under D65 to three places; here by way of light.
        let to_light = inverse(&xyz_from_primaries([[0.708, 0.292], [0.170, 0.797], [0.131, 0.046]]));
        for (xyz, wanted) in [
            ([0.950, 1.0, 1.089], [1.0, 0.0, 0.0]),
            ([1.0, 0.0, 0.0], [0.450, 1.236, -0.019]),
            ([0.0, 1.0, 0.0], [0.922, -0.671, 0.263]),
            ([0.0, 0.0, 1.0], [0.153, -1.415, -0.449]),
        ] {
            let (got, _) = oklab_and_slope(apply(&to_light, xyz));
            assert!(got.iter().zip(wanted).all(|(g, w)| (g - w).abs() < 1.5e-3), "{got:?} for {wanted:?}");
        }
    }

    #[test]
    fn slopes_are_what_small_steps_give() {
        for light in [[0.4, 0.3, 0.2], [0.9, 0.85, 0.8], [0.02, 0.05, 0.03]] {
            for of in [lab_and_slope, oklab_and_slope] {
                let (_, slope) = of(light);
                for c in 0..3 {
                    let moved = |by: f64| {
                        let mut at = light;
                        at[c] += by;
                        of(at).0
                    };
                    let (up, down) = (moved(1e-6), moved(-1e-6));
                    for i in 0..3 {
                        let wanted = (up[i] - down[i]) / 2e-6;
                        assert!(
                            (slope[i][c] - wanted).abs() < 1e-4 * wanted.abs().max(1.0),
                            "{light:?} {i} {c}"
                        );
                    }
                }
            }
            let lab = Xyz::from_light(light).lab();
            let (own, _) = lab_and_slope(light);
            assert!((own[0] - lab.l()).abs() < 1e-6 && (own[1] - lab.a()).abs() < 2e-2, "{own:?} {lab}");
        }
    }

    #[test]
    fn a_colour_comes_back_from_its_six_digits() {
        for text in ["#000000", "#ffffff", "#7f3c9a", "#08d1c2"] {
            assert_eq!(Lab::from_hex(text).unwrap().hex(), text);
        }
        // IEC 61966-2-1's red, by way of Bradford: 54.29, 80.81, 69.89 in tables of it under D50.
        assert!(Lab::from_hex(" FF0000 ").unwrap().ciede2000(lab(54.29, 80.81, 69.89)) < 0.1);
        for wrong in ["", "#12345", "#12345g", "1234567", "+12345", "#é1234"] {
            assert_eq!(Lab::from_hex(wrong), None, "{wrong}");
        }
    }

    #[test]
    fn nonsense_is_refused() {
        assert!(Lab::new(f64::NAN, 0.0, 0.0).is_err());
        assert!(Lab::new(50.0, 900.0, 0.0).is_err());
    }
}
