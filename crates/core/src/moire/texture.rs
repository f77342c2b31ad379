//! Textures that repeat in an original: weave, hatching films, dots of an earlier print. They stand out of
//! the spectrum of some patches as peaks far above their surroundings.

use crate::geometry::Point;
use crate::raster::GrayRaster;
use crate::spectrum::{Peak, Spectrum, Taper};
use crate::units::Dpi;

/// Pixels along a patch, where the original is large enough.
const SIDE: usize = 512;
/// A peak counts when it is this many times the mean power around it.
const ABOVE: f64 = 60.0;
/// And when its wave is at least this many grays high.
const GRAYS: f64 = 2.0;
/// At most this many textures of an original are told.
const MOST: usize = 4;

/// A wave found in an original.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Texture {
    /// Cycles per mm of the original, to the right and down.
    pub frequency: Point,
    /// Height of the wave in grays, from the middle to the top, on the mean over the patches.
    pub contrast: f64,
}

impl Texture {}

/// The textures of an original, the highest first. Nine patches are looked at; what repeats fewer than eight
/// times in one, or faster than every 2.2 pixels, is not found.
pub fn textures(raster: &GrayRaster, dpi: Dpi) -> Vec<Texture> {
    let least = raster.width().min(raster.height()) as usize;
    let side = if least >= SIDE { SIDE } else { (least + 1).next_power_of_two() / 2 };
    let mut sum: Option<Spectrum> = None;
    let mut patches = 0.0;
    for (i, j) in (0..3).flat_map(|j| (0..3).map(move |i| (i, j))) {
        let place = |n: u32, k: usize| (n as usize).saturating_sub(side) * k / 2;
        let (x0, y0) = (place(raster.width(), i), place(raster.height(), j));
        let samples: Vec<f64> = (y0..y0 + side)
            .flat_map(|y| raster.row(y as u32).iter().skip(x0).take(side).map(|&g| f64::from(g)))
            .collect();
        let Some(spectrum) = Spectrum::of(&samples, side, Taper::Hann) else { continue };
        patches += 1.0;
        match &mut sum {
            Some(sum) => sum.add(&spectrum),
            None => sum = Some(spectrum),
        }
    }
    let Some(sum) = sum else { return Vec::new() };
    let bins = side as f64;
    let mut found: Vec<Texture> = Vec::new();
    // A Hann window halves a wave along each side.
    let contrast = |p: &Peak| 2.0 * libm::sqrt(p.power / patches) / (bins * bins * 0.25);
    for peak in sum.peaks(8.0..=bins / 2.2).into_iter().take(200) {
        if contrast(&peak) < GRAYS || found.len() == MOST {
            break;
        }
        if peak.power < ABOVE * around(&sum, &peak) {
            continue;
        }
        let scale = dpi.px_per_mm();
        let frequency = Point::new(peak.fx * scale, peak.fy * scale);
        if !found.iter().any(|t| multiple(t.frequency, frequency, 1.5 * scale / bins)) {
            found.push(Texture { frequency, contrast: contrast(&peak) });
        }
    }
    found
}

/// Mean power on a ring around a peak, clear of its own skirt.
fn around(spectrum: &Spectrum, peak: &Peak) -> f64 {
    let side = spectrum.side() as f64;
    let (cx, cy) = (libm::round(peak.fx * side) as i64, libm::round(peak.fy * side) as i64);
    let (mut sum, mut count) = (0.0, 0.0);
    for dy in -7..=7_i64 {
        for dx in -7..=7_i64 {
            if (16..=49).contains(&(dx * dx + dy * dy)) {
                sum += spectrum.at(cx + dx, cy + dy);
                count += 1.0;
            }
        }
    }
    sum / count
}

/// Whether a frequency is a whole multiple of another, up to the fifth.
fn multiple(base: Point, f: Point, within: f64) -> bool {
    (1..=5).any(|k| {
        let near = |sign: f64| f.distance(Point::new(sign * base.x, sign * base.y)) < within;
        near(f64::from(k)) || near(-f64::from(k))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    /// Mixed well: products of the index alone repeat, and the finder finds them.
    fn noise(i: u32) -> f64 {
        let mut z = (u64::from(i) + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z >> 56) as f64 / 255.0 - 0.5
    }

    /// Threads of two periods, crossing, on noisy gray.
    fn weave(across_mm: f64, down_mm: f64, turn: f64, dpi: f64) -> GrayRaster {
        let (sin, cos) = libm::sincos(turn.to_radians());
        let mm = 25.4 / dpi;
        let pixels = (0..900 * 700_u32)
            .map(|i| {
                let (x, y) = (f64::from(i % 900) * mm, f64::from(i / 900) * mm);
                let (u, v) = (x * cos + y * sin, y * cos - x * sin);
                let thread = |t: f64, p: f64| 14.0 * libm::cos(TAU * t / p);
                (170.0 + thread(u, across_mm) + thread(v, down_mm) + 30.0 * noise(i)) as u8
            })
            .collect();
        GrayRaster::new(900, 700, pixels).unwrap()
    }

    /// Direction across the crests, in degrees clockwise from the right, -90 to 90.
    fn direction_deg(texture: &Texture) -> f64 {
        let d = libm::atan2(texture.frequency.y, texture.frequency.x).to_degrees();
        if d > 90.0 { d - 180.0 } else { d }
    }

    #[test]
    fn the_periods_of_a_weave_are_found() {
        for (across, down, turn, dpi) in [(0.8, 0.55, 12.0, 300.0), (0.35, 0.35, 45.0, 600.0)] {
            let found = textures(&weave(across, down, turn, dpi), Dpi::new(dpi).unwrap());
            assert_eq!(found.len(), 2, "{found:?}");
            for (period, direction) in [(across, turn), (down, turn - 90.0)] {
                let hit = found.iter().any(|t| {
                    (super::super::period_mm(t.frequency) / period - 1.0).abs() < 0.01
                        && (direction_deg(t) - direction).abs() < 0.5
                        && (t.contrast - 14.0).abs() < 3.0
                });
                assert!(hit, "{period} mm at {direction} degrees is not among {found:?}");
            }
        }
    }

    #[test]
    fn noise_a_ramp_and_a_hard_edge_have_no_texture() {
        let make = |at: fn(u32, u32, u32) -> f64| {
            let pixels = (0..700 * 600).map(|i| at(i, i % 700, i / 700) as u8).collect();
            textures(&GrayRaster::new(700, 600, pixels).unwrap(), Dpi::new(300.0).unwrap())
        };
        assert_eq!(make(|i, _, _| 128.0 + 200.0 * noise(i)), []);
        assert_eq!(make(|_, x, y| f64::from(x + y) / 6.0), []);
        assert_eq!(make(|i, x, y| if x * 2 + y > 700 { 30.0 } else { 220.0 } + 10.0 * noise(i)), []);
        assert_eq!(textures(&GrayRaster::filled(3, 5, 9).unwrap(), Dpi::default()), []);
    }
}
