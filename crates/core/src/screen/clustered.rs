//! Clustered dots at any ruling and angle.
//!
//! The screen's cell is brought to whole pixels over a supercell of several cells. Inside, the pixels
//! of every cell are ranked by a spot function, the cells take turns, and the ranks become evenly spread
//! thresholds, so that the coverage over a supercell is exact. The supercell is stored as a brick that is
//! shifted from course to course (Holladay, "An optimum algorithm for halftone generation for displays and
//! hard copies", Proceedings of the SID 21(2), 1980), so that a row is one walk through memory.

use super::{cycle, threshold};

/// The most and the fewest pixels of a supercell: many for a close angle and fine tones, few for memory.
const MOST: i64 = 90_000;
const FEWEST: i64 = 2_048;

/// Stored rows are at least this long, so that short bricks do not make short loops.
const ROW: usize = 4_096;

/// A clustered-dot screen.
#[derive(Clone, PartialEq)]
pub struct Clustered {
    /// Thresholds, `height` rows of one length.
    rows: Vec<u8>,
    /// Length of a row before it repeats; the stored row is a multiple of it.
    period: usize,
    height: usize,
    /// Columns by which each course of bricks lies to the right of the one above.
    shift: usize,
    /// Cells along a side of the supercell, and that side in pixels.
    cells: i64,
    side: (i64, i64),
}

impl std::fmt::Debug for Clustered {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Clustered({} cells along {:?} pixels)", self.cells, self.side)
    }
}

impl Clustered {
    /// Bytes held.
    pub(super) fn bytes(&self) -> usize {
        self.rows.len()
    }

    /// A screen of a ruling in lines per inch and an angle in degrees (clockwise on a page, as all turns are),
    /// on a master of a resolution in pixels per inch. A cell has at least 2 pixels along a side, so the
    /// ruling is brought to half the resolution at most, and to 1 at least.
    pub fn new(ruling_lpi: f64, angle_deg: f64, dpi: f64) -> Self {
        let dpi = if dpi.is_finite() { dpi.clamp(10.0, 9_600.0) } else { 600.0 };
        let ruling =
            if ruling_lpi.is_finite() { ruling_lpi.clamp(dpi / 140.0, dpi / 2.0) } else { dpi / 8.0 };
        let angle = if angle_deg.is_finite() { angle_deg.rem_euclid(90.0) } else { 45.0 };
        let (sin, cos) = libm::sincos(angle.to_radians());
        let cell = dpi / ruling;
        let (cells, (a, b)) = supercell(cell * cos, cell * sin);
        let n = a * a + b * b;
        let (g, i, j) = extended_gcd(b, a);
        let (height, period) = (g, n / g);
        let shift = (i * a - j * b).rem_euclid(period);
        let ranked = rank(cells, (a, b), height, period);
        let repeats = ROW.div_ceil(period as usize);
        let rows = ranked.chunks(period as usize).flat_map(|row| row.repeat(repeats)).collect();
        Self {
            rows,
            period: period as usize,
            height: height as usize,
            shift: shift as usize,
            cells,
            side: (a, b),
        }
    }

    pub(super) fn row(&self, y: u32, x0: u32, gray: &mut [u8]) {
        let (course, in_course) = (y as usize / self.height, y as usize % self.height);
        let length = self.rows.len() / self.height;
        let back = (course % self.period) * self.shift % self.period;
        let start = x0 as usize % self.period + self.period - back;
        cycle(self.rows.get(in_course * length..(in_course + 1) * length).unwrap_or(&[]), start, gray);
    }
}

/// The number of cells along a side, and the side in whole pixels, that come nearest to the cell asked for.
fn supercell(x: f64, y: f64) -> (i64, (i64, i64)) {
    let mut best = (f64::INFINITY, 1, (2, 0));
    for cells in 1..=150_i64 {
        let m = cells as f64;
        let side = (libm::round(m * x) as i64, libm::round(m * y) as i64);
        let n = side.0 * side.0 + side.1 * side.1;
        if n > MOST && best.0.is_finite() {
            break;
        }
        let off = libm::hypot(side.0 as f64 / m - x, side.1 as f64 / m - y);
        if n >= FEWEST && off < best.0 - 1e-9 {
            best = (off, cells, side);
        }
    }
    (best.1, best.2)
}

/// Thresholds of the brick: for every pixel, its place in its cell, then the turn of its cell.
fn rank(cells: i64, (a, b): (i64, i64), height: i64, period: i64) -> Vec<u8> {
    let n = a * a + b * b;
    let count = (n as usize).max(1);
    let spots: Vec<(usize, f64)> = (0..height)
        .flat_map(|y| (0..period).map(move |x| (x, y)))
        .map(|(x, y)| {
            // Position along the cell's sides, in n-ths of a cell: whole numbers, so that ties are ties.
            let (u, v) = ((x * a + y * b) * cells, (y * a - x * b) * cells);
            let cell = u.div_euclid(n).rem_euclid(cells) + cells * v.div_euclid(n).rem_euclid(cells);
            let part = |w: i64| w.rem_euclid(n) as f64 / n as f64;
            (cell as usize, spot(part(u), part(v)))
        })
        .collect();
    let mut members = vec![Vec::new(); (cells * cells) as usize];
    for (pixel, &(cell, _)) in spots.iter().enumerate() {
        if let Some(list) = members.get_mut(cell) {
            list.push(pixel);
        }
    }
    let height_at = |pixel: usize| spots.get(pixel).map_or(0.0, |s| s.1);
    let mut order: Vec<(f64, usize)> = Vec::with_capacity(count);
    for (cell, mut list) in members.into_iter().enumerate() {
        list.sort_by(|&p, &q| height_at(q).total_cmp(&height_at(p)).then(p.cmp(&q)));
        let (i, j) = ((cell as i64 % cells) as f64, (cell as i64 / cells) as f64);
        // Cells take turns by an additive recurrence on the plane, whose turns lie far from one another
        // (the plastic number's powers; Roberts 2018, the "R2" sequence).
        let turn = (0.754_877_666_246_693 * i + 0.569_840_290_998_053_2 * j).fract();
        let size = list.len() as f64;
        order.extend(list.into_iter().enumerate().map(|(k, pixel)| ((k as f64 + turn) / size, pixel)));
    }
    order.sort_by(|p, q| p.0.total_cmp(&q.0).then(p.1.cmp(&q.1)));
    let mut out = vec![0; count];
    for (place, (_, pixel)) in order.into_iter().enumerate() {
        if let Some(o) = out.get_mut(pixel) {
            *o = threshold(place, count);
        }
    }
    out
}

/// The spot function: round dots in light tones, a checkerboard at the half tone, round holes in dark ones.
/// Its top is in the middle of the cell.
fn spot(u: f64, v: f64) -> f64 {
    let wave = |w: f64| -libm::cos(std::f64::consts::TAU * w);
    wave(u) + wave(v)
}

/// `(g, i, j)` with `i * a + j * b == g`, the greatest common divisor; neither number negative, not both 0.
fn extended_gcd(a: i64, b: i64) -> (i64, i64, i64) {
    if a == 0 {
        return (b, 0, 1);
    }
    let (g, i, j) = extended_gcd(b % a, a);
    (g, j - (b / a) * i, i)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::spectrum::{Spectrum, Taper};
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_brick_wall_is_the_supercells_lattice(
            lpi in 20.0..200.0_f64, angle in 0.0..90.0_f64, x in 0..3000_i64, y in 0..3000_i64,
        ) {
            let s = Clustered::new(lpi, angle, 600.0);
            let at = |x: i64, y: i64| {
                // Gray from 0 to 255 finds the threshold.
                (0..=255_u8).take_while(|&g| { let mut p = [g]; s.row(y as u32, x as u32, &mut p); p == [0] }).count()
            };
            let (a, b) = s.side;
            prop_assert_eq!(at(x + b, y), at(x + b + a, y + b));
            prop_assert_eq!(at(x + b, y), at(x, y + a));
        }

        #[test]
        fn ruling_and_angle_come_out_as_asked(lpi in 30.0..150.0_f64, angle in 0.0..90.0_f64) {
            let s = Clustered::new(lpi, angle, 600.0);
            let (a, b) = (s.side.0 as f64, s.side.1 as f64);
            let (ruling, turned) = (600.0 * s.cells as f64 / libm::hypot(a, b), libm::atan2(b, a).to_degrees());
            prop_assert!((ruling / lpi - 1.0).abs() < 0.01, "{} for {}", ruling, lpi);
            prop_assert!((turned - angle).abs() < 0.5, "{} for {}", turned, angle);
        }
    }

    #[test]
    fn thresholds_are_spread_evenly() {
        for (lpi, angle, dpi) in [(75.0, 45.0, 600.0), (75.0, 0.0, 300.0), (60.0, 22.5, 600.0)] {
            let s = Clustered::new(lpi, angle, dpi);
            let n = s.rows.len();
            for gray in 0..=255_u8 {
                let share = s.rows.iter().filter(|&&t| gray < t).count() as f64 / n as f64;
                assert!((share - (1.0 - f64::from(gray) / 255.0)).abs() < 0.001);
            }
        }
    }

    #[test]
    fn the_spectrum_of_a_flat_tint_shows_the_ruling_and_angle_asked_for() {
        for (lpi, angle, gray) in
            [(75.0, 45.0, 128_u8), (60.0, 15.0, 180), (85.0, 75.0, 90), (53.0, 22.5, 128)]
        {
            let s = Clustered::new(lpi, angle, 600.0);
            let side = 512;
            let tint: Vec<f64> = (0..side as u32)
                .flat_map(|y| {
                    let mut row = vec![gray; side];
                    s.row(y, 0, &mut row);
                    row.into_iter().map(f64::from)
                })
                .collect();
            let peak = Spectrum::of(&tint, side, Taper::Hann).unwrap().peaks(8.0..=250.0)[0];
            let ruling = libm::hypot(peak.fx, peak.fy) * 600.0;
            let measured = libm::atan2(peak.fy, peak.fx).to_degrees().rem_euclid(90.0);
            assert!((ruling - lpi).abs() < 0.5, "{ruling} lpi for {lpi}");
            assert!((measured - angle).abs() < 0.5, "{measured} degrees for {angle}");
        }
    }
}
