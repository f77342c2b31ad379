//! Scattered dots by a threshold tile: 128 by 128 thresholds whose dots, at every tone, lie as far from one
//! another as they can.
//!
//! The tile is the project's own, made by the void-and-cluster method (Ulichney, "The void-and-cluster
//! method for dither array generation", Proceedings of SPIE 1913, 1993). The generator stands in the tests,
//! which hold the stored tile to it.

/// Pixels along a side of the tile.
pub const TILE_SIDE: usize = 128;

/// The thresholds, row by row: ink where gray is below.
static TILE: &[u8; TILE_SIDE * TILE_SIDE] = include_bytes!("../../../../assets/screens/scattered128.bin");

pub(super) fn tile_row(y: u32) -> &'static [u8] {
    let row = y as usize % TILE_SIDE;
    TILE.get(row * TILE_SIDE..(row + 1) * TILE_SIDE).unwrap_or(&[])
}

#[cfg(test)]
mod tests {
    use super::super::threshold;
    use super::*;
    use crate::spectrum::{Spectrum, Taper};

    const CELLS: usize = TILE_SIDE * TILE_SIDE;

    /// How crowded each cell is, in whole numbers so that every machine decides alike.
    struct Crowd {
        bump: Vec<i64>,
        energy: Vec<i64>,
        ink: Vec<bool>,
    }

    impl Crowd {
        fn new() -> Self {
            // A bump of 1.5 pixels, as the paper recommends; beyond 12 pixels it is nothing.
            let bump = (0..CELLS)
                .map(|i| {
                    let wrap = |d: usize| d.min(TILE_SIDE - d) as f64;
                    let (dx, dy) = (wrap(i % TILE_SIDE), wrap(i / TILE_SIDE));
                    let r2 = dx * dx + dy * dy;
                    (libm::exp(-r2 / (2.0 * 1.5 * 1.5)) * 1e12) as i64
                })
                .collect();
            Self { bump, energy: vec![0; CELLS], ink: vec![false; CELLS] }
        }

        fn set(&mut self, cell: usize, ink: bool) {
            self.ink[cell] = ink;
            let sign = if ink { 1 } else { -1 };
            let (x0, y0) = (cell % TILE_SIDE, cell / TILE_SIDE);
            for dy in -12_i64..=12 {
                for dx in -12_i64..=12 {
                    let wrap = |v: i64| v.rem_euclid(TILE_SIDE as i64) as usize;
                    let at = wrap(y0 as i64 + dy) * TILE_SIDE + wrap(x0 as i64 + dx);
                    self.energy[at] += sign * self.bump[wrap(dy) * TILE_SIDE + wrap(dx)];
                }
            }
        }

        /// The most crowded cell that holds ink.
        fn cluster(&self) -> usize {
            (0..CELLS).filter(|&i| self.ink[i]).max_by_key(|&i| (self.energy[i], CELLS - i)).unwrap()
        }

        /// The least crowded cell that holds none.
        fn void(&self) -> usize {
            (0..CELLS).filter(|&i| !self.ink[i]).min_by_key(|&i| (self.energy[i], i)).unwrap()
        }
    }

    fn made() -> Vec<u8> {
        let mut crowd = Crowd::new();
        let mut state = 0x0005_11b5_4ee7_u64;
        let start = CELLS / 10;
        let mut placed = 0;
        while placed < start {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let cell = (state >> 50) as usize;
            if !crowd.ink[cell] {
                crowd.set(cell, true);
                placed += 1;
            }
        }
        loop {
            let from = crowd.cluster();
            crowd.set(from, false);
            let to = crowd.void();
            crowd.set(to, true);
            if from == to {
                break;
            }
        }
        let mut rank = vec![0; CELLS];
        let settled: Vec<usize> = (0..CELLS).filter(|&i| crowd.ink[i]).collect();
        for place in (0..start).rev() {
            let cell = crowd.cluster();
            crowd.set(cell, false);
            rank[cell] = place;
        }
        settled.into_iter().for_each(|cell| crowd.set(cell, true));
        // Beyond the half tone the paper looks for clusters of white instead; with one symmetric bump the
        // largest void of ink is the tightest cluster of white, so the same search goes on to the end.
        for place in start..CELLS {
            let cell = crowd.void();
            crowd.set(cell, true);
            rank[cell] = place;
        }
        rank.into_iter().map(|r| threshold(r, CELLS)).collect()
    }

    #[test]
    fn the_stored_tile_is_the_one_the_method_makes() {
        assert!(made() == TILE, "run the ignored test that writes the tile");
    }

    #[test]
    #[ignore = "writes the tile"]
    fn write_the_tile() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../assets/screens/scattered128.bin");
        std::fs::write(path, made()).unwrap();
    }

    #[test]
    fn the_spectrum_is_low_below_the_principal_frequency() {
        // Ulichney 1988: at coverage g the principal frequency is sqrt(g) cycles per pixel up to a half,
        // sqrt(1 - g) above; blue noise has little power below it. White noise would have 1 everywhere.
        for gray in [230_u8, 205, 180, 155, 100, 51, 25] {
            let pattern: Vec<f64> = TILE.iter().map(|&t| f64::from(u8::from(gray < t))).collect();
            let cover = pattern.iter().sum::<f64>() / CELLS as f64;
            let rings = Spectrum::of(&pattern, TILE_SIDE, Taper::None).unwrap().radial();
            let variance = cover * (1.0 - cover) * CELLS as f64;
            let principal = libm::sqrt(cover.min(1.0 - cover)) * TILE_SIDE as f64;
            let low = rings[1..(principal * 0.5) as usize].iter().sum::<f64>()
                / ((principal * 0.5) as usize - 1) as f64
                / variance;
            let peak = rings.iter().fold(0.0_f64, |a, b| a.max(*b)) / variance;
            assert!(low < 0.125, "gray {gray}: {low:.3} of white noise below half the principal frequency");
            assert!(peak > 1.3, "gray {gray}: no ring at the principal frequency, {peak:.2}");
        }
    }
}
