//! Turn and scale from spectra (Reddy and Chatterji 1996): the size of a spectrum does not know of shifts, and
//! on axes of angle and of the logarithm of frequency a turn and a scale become shifts themselves.

use rayon::prelude::*;

use super::correlation::{correlate, peak};
use slipsheet_base::fourier::{Complex, Fft};

/// Steps of the half turn, and of the logarithm of frequency.
const STEPS: usize = 512;
/// The lowest and the highest frequency looked at, as shares of the highest there is.
const BAND: (f64, f64) = (0.04, 0.9);

/// A turn and a scale that may lay the second picture on the first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spin {
    /// Degrees, clockwise, known up to half a turn.
    pub degrees: f64,
    /// Enlargement of the second picture.
    pub scale: f64,
}

/// The likeliest turn and scale between two spectra, `n` by `n`, within limits: degrees either way, and a factor.
pub(super) fn spin(n: usize, a: &[Complex], b: &[Complex], most_turn: f64, most_scale: f64) -> Option<Spin> {
    let fft = Fft::new(STEPS);
    let (a, b) = (fft.square(&unrolled(n, a), false), fft.square(&unrolled(n, b), false));
    let map = correlate(&fft, STEPS, &a, &b);
    let degrees = 180.0 / STEPS as f64;
    let growth = libm::log(BAND.1 / BAND.0) / STEPS as f64;
    let most = libm::log(most_scale);
    let found = peak(&map, STEPS, |dx, dy| {
        let (turn, scale) = ((dy * degrees).abs(), (dx * growth).abs());
        turn.min(180.0 - turn) <= most_turn.max(degrees) && scale <= most.max(growth)
    })?;
    // A larger picture has lower frequencies: shifts along the logarithm run the other way.
    Some(Spin { degrees: found.dy * degrees, scale: libm::exp(-found.dx * growth) })
}

/// The size of a spectrum on axes of log frequency (along) and angle (down, half a turn), without its mean.
fn unrolled(n: usize, spectrum: &[Complex]) -> Vec<Complex> {
    let (low, high) = (BAND.0 * n as f64 / 2.0, BAND.1 * n as f64 / 2.0);
    let size = |x: i64, y: i64| {
        let wrap = |v: i64| v.rem_euclid(n as i64) as usize;
        spectrum.get(wrap(y) * n + wrap(x)).map_or(0.0, |c| libm::log1p(c.magnitude()))
    };
    let mut out = vec![Complex::default(); STEPS * STEPS];
    out.par_chunks_mut(STEPS).enumerate().for_each(|(row, line)| {
        let angle = std::f64::consts::PI * row as f64 / STEPS as f64;
        let (sin, cos) = libm::sincos(angle);
        for (column, o) in line.iter_mut().enumerate() {
            let along = column as f64 / STEPS as f64;
            let radius = low * libm::exp(along * libm::log(high / low));
            let (x, y) = (radius * cos, radius * sin);
            let (x0, y0) = (libm::floor(x), libm::floor(y));
            let (fx, fy) = (x - x0, y - y0);
            let (x0, y0) = (x0 as i64, y0 as i64);
            let top = size(x0, y0) * (1.0 - fx) + size(x0 + 1, y0) * fx;
            let bottom = size(x0, y0 + 1) * (1.0 - fx) + size(x0 + 1, y0 + 1) * fx;
            o.re = top * (1.0 - fy) + bottom * fy;
        }
    });
    // Every ring loses its mean, so that the fall of all spectra towards fine detail is no likeness, and the
    // rings fade towards both ends, which are no neighbours.
    for column in 0..STEPS {
        let ring = || out.iter().skip(column).step_by(STEPS);
        let mean = ring().map(|c| c.re).sum::<f64>() / STEPS as f64;
        let fade = 0.5 - 0.5 * libm::cos(2.0 * std::f64::consts::PI * (column as f64 + 0.5) / STEPS as f64);
        out.iter_mut().skip(column).step_by(STEPS).for_each(|c| c.re = (c.re - mean) * fade);
    }
    out
}
