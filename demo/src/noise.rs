//! Chance that is the same on every machine: a small seeded generator for what is placed, and noise
//! hashed on whole coordinates for what is textured.

/// A seeded stream of numbers (splitmix64).
#[derive(Debug, Clone)]
pub struct Rng(u64);

impl Rng {
    /// A stream of its own for each seed.
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0x7469_6465_7772_6163)
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// From 0 up to, not including, 1.
    pub fn unit(&mut self) -> f32 {
        (self.bits() >> 40) as f32 / 16_777_216.0
    }

    /// From `low` up to `high`.
    pub fn range(&mut self, low: f32, high: f32) -> f32 {
        low + (high - low) * self.unit()
    }

    /// From `-by` to `by`, most often near 0.
    pub fn jitter(&mut self, by: f32) -> f32 {
        (self.unit() + self.unit() + self.unit() - 1.5) / 1.5 * by
    }
}

fn lattice(x: i32, y: i32, seed: u32) -> f32 {
    let mut h = seed.wrapping_mul(0x9E37_79B1) ^ (x as u32).wrapping_mul(0x85EB_CA77);
    h = (h ^ (h >> 15)).wrapping_mul(0x2C1B_3C6D) ^ (y as u32).wrapping_mul(0xC2B2_AE3D);
    h = (h ^ (h >> 13)).wrapping_mul(0x297A_2D39);
    h = (h ^ (h >> 16)).wrapping_mul(0x85EB_CA6B);
    ((h ^ (h >> 14)) >> 8) as f32 / 16_777_216.0
}

/// Smooth value noise with cells of size 1, from 0 to 1.
pub fn value(x: f32, y: f32, seed: u32) -> f32 {
    let (fx, fy) = (x.floor(), y.floor());
    let (ix, iy) = (fx as i32, fy as i32);
    let ease = |t: f32| t * t * (3.0 - 2.0 * t);
    let (u, v) = (ease(x - fx), ease(y - fy));
    let top = lattice(ix, iy, seed) * (1.0 - u) + lattice(ix.wrapping_add(1), iy, seed) * u;
    let iy = iy.wrapping_add(1);
    let bottom = lattice(ix, iy, seed) * (1.0 - u) + lattice(ix.wrapping_add(1), iy, seed) * u;
    top * (1.0 - v) + bottom * v
}

/// Gradient noise with cells of size 1, from 0 to 1, one half at every corner of a cell. Its edges follow
/// no grid, unlike those of [`value`].
pub fn gradient(x: f32, y: f32, seed: u32) -> f32 {
    let (fx, fy) = (x.floor(), y.floor());
    let (dx, dy) = (x - fx, y - fy);
    let corner = |i: i32, j: i32| {
        let turn = lattice((fx as i32).wrapping_add(i), (fy as i32).wrapping_add(j), seed) * 16.0;
        // Sixteen directions around a square, scaled to about the same length.
        let along = (turn % 4.0).floor() / 2.0 - 0.75;
        let (gx, gy) = match turn as u32 / 4 {
            0 => (1.0, along),
            1 => (-along, 1.0),
            2 => (-1.0, -along),
            _ => (along, -1.0),
        };
        let stretch = 1.0 - 0.35 * along * along;
        stretch * (gx * (dx - i as f32) + gy * (dy - j as f32))
    };
    let ease = |t: f32| t * t * t * (t * (t * 6.0 - 15.0) + 10.0);
    let (u, v) = (ease(dx), ease(dy));
    let top = corner(0, 0) * (1.0 - u) + corner(1, 0) * u;
    let bottom = corner(0, 1) * (1.0 - u) + corner(1, 1) * u;
    (0.5 + 0.9 * (top * (1.0 - v) + bottom * v)).clamp(0.0, 1.0)
}

/// Gradient noise at `octaves` scales, each half as large and half as strong, each turned.
/// From 0 to 1, mean one half.
pub fn fbm(x: f32, y: f32, seed: u32, octaves: u32) -> f32 {
    let (mut x, mut y, mut weight, mut sum, mut total) =
        (0.8 * x + 0.6 * y, 0.8 * y - 0.6 * x, 1.0, 0.0, 0.0);
    for octave in 0..octaves {
        sum += weight * gradient(x, y, seed.wrapping_add(octave.wrapping_mul(101)));
        total += weight;
        weight *= 0.5;
        (x, y) = (1.6 * x - 1.2 * y + 7.3, 1.2 * x + 1.6 * y - 3.1);
    }
    sum / total
}

/// Height of the drawing paper's tooth at a point in mm, spread over about 0 to 1.
pub fn tooth(x: f32, y: f32, seed: u32) -> f32 {
    let fine = value(x / 0.27 + 0.3 * y, y / 0.27 - 0.3 * x, seed);
    let coarse = value(x / 0.62 - 0.9 * y, y / 0.62 + 0.9 * x, seed ^ 0x51);
    ((0.58 * fine + 0.42 * coarse - 0.5) * 1.65 + 0.5).clamp(0.0, 1.0)
}

/// 0 below `low`, 1 above `high`, smooth between.
pub fn smoothstep(low: f32, high: f32, x: f32) -> f32 {
    let t = ((x - low) / (high - low)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}

/// Two inkings of one sheet, one over the other.
pub fn screen(a: f32, b: f32) -> f32 {
    1.0 - (1.0 - a) * (1.0 - b.clamp(0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn noise_stays_in_range_and_repeats() {
        let mut rng = Rng::new(5);
        for _ in 0..1000 {
            let (x, y) = (rng.range(-500.0, 500.0), rng.range(-500.0, 500.0));
            let n = fbm(x, y, 3, 4);
            assert!((0.0..=1.0).contains(&n));
            assert_eq!(n.to_bits(), fbm(x, y, 3, 4).to_bits());
        }
    }
}
