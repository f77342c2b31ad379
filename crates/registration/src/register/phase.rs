//! Lining one layer up on another without marks: the whole pictures give turn, scale and shift roughly, tiles
//! of them exactly, and how many tiles agree says how far to trust it.

use super::correlation::{Peak, correlate, peak};
use super::log_polar::{Spin, spin};
use super::plane::{Grid, edges};
use super::tiles::{Agreement, agreement};
use slipsheet_base::fourier::{Complex, Fft};
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::raster::Pyramid;
use slipsheet_document::layer::Placement;

/// Cells along a side of the grid that the whole pictures are compared on.
const GRID: usize = 512;
/// Below this there is nothing to compare.
const LEAST_ENERGY: f64 = 1e-5;

/// What is looked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineUpLimits {
    /// The most turn either way, in degrees; 180 for any.
    pub turn_deg: f64,
    /// The most enlargement or reduction, as a factor of at least 1.
    pub scale: f64,
}

impl Default for LineUpLimits {
    /// Scans put in crooked: 10 degrees, a tenth larger or smaller.
    fn default() -> Self {
        Self { turn_deg: 10.0, scale: 1.1 }
    }
}

/// How one picture comes to lie on another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LineUp {
    /// Shift in mm of the moved picture's middle from the other's middle.
    pub shift_mm: Point,
    /// Turn about the middle, in degrees, clockwise.
    pub rotation_deg: f64,
    /// Enlargement.
    pub scale: f64,
    /// How far to trust it, 0..=1: near 0 when nothing matches, above a half when a good share of the
    /// pictures agrees on it.
    pub confidence: f64,
    /// Root of the mean square of what the agreeing parts are off, in mm; 0 where there were none.
    pub rms_mm: f64,
}

impl LineUp {
    const NOTHING: Self =
        Self { shift_mm: Point::new(0.0, 0.0), rotation_deg: 0.0, scale: 1.0, confidence: 0.0, rms_mm: 0.0 };

    /// From mm about the moved picture's middle to mm about the other's middle.
    fn fixed_from_moved(&self) -> Affine {
        Affine::shift(self.shift_mm.x, self.shift_mm.y)
            * Affine::turn(self.rotation_deg)
            * Affine::scale(self.scale, self.scale)
    }

    /// The placement that lays the moved picture on the fixed one, where that has a placement of its own.
    pub fn placement_on(&self, fixed: &Placement) -> Placement {
        Placement::of_map(fixed.target_from_original() * self.fixed_from_moved())
    }
}

/// Lines `moved` up on `fixed` by what both show. Contrasts, grays and resolutions may differ; edges must not.
pub fn line_up(fixed: &Pyramid, moved: &Pyramid, limits: LineUpLimits) -> LineUp {
    let (fixed_size, moved_size) = (size_mm(fixed), size_mm(moved));
    let sides = [fixed_size.0, fixed_size.1, moved_size.0, moved_size.1];
    let cell = sides.into_iter().fold(0.0, f64::max) / GRID as f64;
    let Some(rough) = rough(fixed, moved, cell, limits) else { return LineUp::NOTHING };
    // From coarse to fine: each round halves the cells, while there are pixels to fill them.
    let finest = (1.0 / fixed.dpi().px_per_mm()).max(1.0 / moved.dpi().px_per_mm());
    let mut map = rough;
    let mut known: Option<Agreement> = None;
    for halvings in [2.0, 4.0, 8.0] {
        let fine = cell / halvings;
        if known.is_some() && fine < 0.75 * finest {
            break;
        }
        let Some(now) = agreement(fixed, moved, map, fine.max(finest), fixed_size) else { break };
        let enough = now.agreeing >= 4.min(now.tiles);
        // The first, widest look decides on trust; finer ones only sharpen what enough tiles agree on.
        if known.is_none() {
            known = Some(now.clone());
        }
        if !enough {
            break;
        }
        map = now.first_from_second;
        if let Some(s) = known.as_mut() {
            s.rms_mm = now.rms_mm;
        }
    }
    answer(map, known.as_ref(), limits)
}

fn answer(map: Affine, known: Option<&Agreement>, limits: LineUpLimits) -> LineUp {
    let scale = map.growth();
    let rotation_deg = libm::atan2(map.b, map.a).to_degrees();
    let outside = rotation_deg.abs() > limits.turn_deg + 1.0
        || scale > limits.scale * 1.02
        || scale < 1.0 / (limits.scale * 1.02);
    let confidence = match known {
        Some(s) if !outside => {
            // Any two tiles agree on some map; only further ones are evidence.
            let further = s.agreeing.saturating_sub(2) as f64;
            let share = (further / s.tiles.saturating_sub(2).max(4) as f64).min(1.0);
            1.0 - (1.0 - share) * (1.0 - share)
        }
        _ => 0.0,
    };
    let rms_mm = known.map_or(0.0, |s| s.rms_mm);
    LineUp { shift_mm: Point::new(map.e, map.f), rotation_deg, scale, confidence, rms_mm }
}

/// Turn, scale and shift from the whole pictures. Not turned at all is always tried too.
fn rough(fixed: &Pyramid, moved: &Pyramid, cell: f64, limits: LineUpLimits) -> Option<Affine> {
    let grid = Grid { n: GRID, cell, middle: Point::default() };
    let fft = Fft::new(GRID);
    let spectrum = |pyramid: &Pyramid, art_from_grid: Affine| -> Option<Vec<Complex>> {
        let (plane, energy) = edges(pyramid, grid, art_from_grid);
        (energy >= LEAST_ENERGY).then(|| fft.square(&plane, false))
    };
    let fixed = spectrum(fixed, Affine::IDENTITY)?;
    let unturned = spectrum(moved, Affine::IDENTITY)?;
    let found = spin(GRID, &fixed, &unturned, limits.turn_deg, limits.scale);
    let mut tries = vec![Spin { degrees: 0.0, scale: 1.0 }];
    for half in [0.0, 180.0] {
        let turned = found.map(|s| Spin { degrees: s.degrees + half, ..s });
        let within =
            |s: &Spin| (s.degrees - 360.0 * libm::round(s.degrees / 360.0)).abs() <= limits.turn_deg + 0.5;
        tries.extend(turned.filter(within));
    }
    let mut best: Option<(Peak, Affine)> = None;
    for s in tries {
        let turn = Affine::turn(s.degrees) * Affine::scale(s.scale, s.scale);
        let Some(moved) = turn.inverse().and_then(|back| spectrum(moved, back)) else { continue };
        let Some(p) = peak(&correlate(&fft, GRID, &fixed, &moved), GRID, |_, _| true) else { continue };
        if best.is_none_or(|(b, _)| p.height > b.height) {
            best = Some((p, Affine::shift(p.dx * cell, p.dy * cell) * turn));
        }
    }
    best.map(|(_, map)| map)
}

fn size_mm(p: &Pyramid) -> (f64, f64) {
    let ppm = p.dpi().px_per_mm();
    (f64::from(p.full().width()) / ppm, f64::from(p.full().height()) / ppm)
}

#[cfg(test)]
mod tests;
