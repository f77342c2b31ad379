//! The exact Euclidean distance transform: for every pixel the nearest seed.
//!
//! Meijster, Roerdink and Hesselink, "A general algorithm for computing distance transforms in linear time"
//! (2000): distances along the columns first, then the lower envelope of parabolas along each row. Both
//! steps run over bands of rows, so that threads never share a row.

use rayon::prelude::*;

/// The longest side that can be transformed.
pub const MAX_SIDE: usize = 32_000;

/// Rows that one thread takes at a time.
const BAND: usize = 64;
/// No seed in this column.
const NONE: i16 = i16::MAX;

/// The nearest seed of every pixel. Of several at the same distance, any one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Nearest {
    width: usize,
    height: usize,
    /// Column of the nearest seed.
    column: Vec<u16>,
    /// Rows down to the nearest seed of the same column.
    drop: Vec<i16>,
    any: bool,
}

impl Nearest {
    /// The transform of seeds given row by row; `None` when the buffer does not hold `width * height` or a
    /// side is 0 or longer than [`MAX_SIDE`].
    pub fn of(width: usize, height: usize, seeds: &[bool]) -> Option<Self> {
        let fits = (1..=MAX_SIDE).contains(&width) && (1..=MAX_SIDE).contains(&height);
        if !fits || seeds.len() != width * height {
            return None;
        }
        let drop = drops(width, height, seeds);
        let mut column = vec![0_u16; width * height];
        let rows = column.par_chunks_mut(width).zip(drop.par_chunks(width));
        let any = rows
            .map_init(Envelope::default, |envelope, (column, drop)| envelope.row(drop, column))
            .reduce(|| false, |a, b| a | b);
        Some(Self { width, height, column, drop, any })
    }

    /// Column and row of the seed nearest to a pixel; `None` outside and where there are no seeds.
    pub fn seed(&self, x: usize, y: usize) -> Option<(usize, usize)> {
        if !self.any || x >= self.width {
            return None;
        }
        let column = usize::from(*self.column.get(y * self.width + x)?);
        let drop = *self.drop.get(y * self.width + column)?;
        Some((column, y.checked_add_signed(isize::from(drop))?))
    }

    /// The square of the distance from a pixel to its nearest seed, in pixels between their middles; `None` outside
    /// and where there are no seeds.
    pub fn squared(&self, x: usize, y: usize) -> Option<u64> {
        let (sx, sy) = self.seed(x, y)?;
        let (dx, dy) = (sx.abs_diff(x) as u64, sy.abs_diff(y) as u64);
        Some(dx * dx + dy * dy)
    }
}

/// Rows down to the nearest seed of each column: a band knows its own seeds, and is told how far the last one above it
/// and the first one below are.
fn drops(width: usize, height: usize, seeds: &[bool]) -> Vec<i16> {
    let bands = || seeds.par_chunks(width * BAND);
    let ends: Vec<[Vec<i16>; 2]> = bands()
        .map(|rows| {
            let [mut up, mut down] = [vec![NONE; width], vec![NONE; width]];
            rows.chunks(width).for_each(|row| step(&mut up, row));
            rows.chunks(width).rev().for_each(|row| step(&mut down, row));
            [up, down]
        })
        .collect();
    // How far it is from the row before a band, and from the one after it.
    let (mut above, mut below) = (Vec::with_capacity(ends.len()), vec![Vec::new(); ends.len()]);
    let rows = |band: usize| BAND.min(height - band * BAND) as i16;
    let mut carried = vec![NONE; width];
    for (band, [up, _]) in ends.iter().enumerate() {
        above.push(carried.clone());
        carry(&mut carried, up, rows(band));
    }
    let mut carried = vec![NONE; width];
    for ((band, [_, down]), below) in ends.iter().enumerate().zip(&mut below).rev() {
        below.clone_from(&carried);
        carry(&mut carried, down, rows(band));
    }
    let mut drop = vec![0_i16; width * height];
    let bands = drop.par_chunks_mut(width * BAND).zip(bands());
    bands.zip(above).zip(below).for_each(|(((out, seeds), mut above), mut below)| {
        for (out, row) in out.chunks_mut(width).zip(seeds.chunks(width)) {
            step(&mut above, row);
            out.copy_from_slice(&above);
        }
        for (out, row) in out.chunks_mut(width).zip(seeds.chunks(width)).rev() {
            step(&mut below, row);
            for (out, down) in out.iter_mut().zip(&below) {
                let up = *out;
                *out = if *down < up {
                    *down
                } else if up == NONE {
                    NONE
                } else {
                    -up
                };
            }
        }
    });
    drop
}

/// One row on: how far the last seed of each column is now.
fn step(far: &mut [i16], row: &[bool]) {
    for (far, seed) in far.iter_mut().zip(row) {
        *far = if *seed { 0 } else { far.saturating_add(1) };
    }
}

/// How far the last seed of each column is after so many rows, of which `own` knows the seeds.
fn carry(far: &mut [i16], own: &[i16], rows: i16) {
    for (far, own) in far.iter_mut().zip(own) {
        *far = if *own == NONE { far.saturating_add(rows) } else { *own };
    }
}

/// The columns whose parabolas are lowest somewhere in a row, from left to right, each with the square of its drop.
///
/// Which of three are lowest somewhere is told without a division (Maurer, Qi and Raghavan, "A linear time algorithm for
/// computing exact Euclidean distance transforms", 2003).
#[derive(Default)]
struct Envelope {
    lowest: Vec<(i64, i64)>,
}

impl Envelope {
    /// Fills in the nearest columns; whether the row has any.
    fn row(&mut self, drop: &[i16], column: &mut [u16]) -> bool {
        let mut from = 0;
        // A seed is its own nearest, and what lies between two seeds has no nearer one beyond them.
        while from < drop.len() {
            let rest = drop.get(from..).unwrap_or(&[]);
            let seeds = rest.iter().take_while(|g| **g == 0).count();
            let own = column.get_mut(from..from + seeds).unwrap_or(&mut []);
            own.iter_mut().zip(from..).for_each(|(c, x)| *c = x as u16);
            let first = from + seeds;
            let between = rest.iter().skip(seeds).take_while(|g| **g != 0).count();
            if between > 0 && !self.between(drop, column, first..first + between) {
                return false;
            }
            from = first + between;
        }
        true
    }

    /// The same for columns without a seed between two that have one, or the ends of the row.
    fn between(&mut self, drop: &[i16], column: &mut [u16], columns: std::ops::Range<usize>) -> bool {
        self.lowest.clear();
        let (from, to) = (columns.start.saturating_sub(1), (columns.end + 1).min(drop.len()));
        for (u, g) in (from..to).zip(drop.get(from..to).unwrap_or(&[])).filter(|(_, g)| **g != NONE) {
            let (u, g2) = (u as i64, i64::from(*g) * i64::from(*g));
            while let [.., (s, s2), (t, t2)] = self.lowest[..] {
                let (a, b) = (t - s, u - t);
                if (a + b) * t2 - b * s2 - a * g2 <= a * b * (a + b) {
                    break;
                }
                self.lowest.pop();
            }
            self.lowest.push((u, g2));
        }
        let mut lowest = self.lowest.iter().copied();
        let Some(mut now) = lowest.next() else { return false };
        let mut next = lowest.next();
        for (x, c) in columns.clone().zip(column.get_mut(columns).unwrap_or(&mut [])) {
            let way = |(u, g2): (i64, i64)| (x as i64 - u) * (x as i64 - u) + g2;
            while let Some(nearer) = next.filter(|next| way(*next) < way(now)) {
                (now, next) = (nearer, lowest.next());
            }
            *c = now.0 as u16;
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Masks and squared distances by `scipy.ndimage.distance_transform_edt`; `tests/fixtures/distance.py` wrote them.
    const SCIPY: &str = include_str!("../../../tests/data/slip/distance.txt");

    #[test]
    fn distances_are_those_of_scipy() {
        let mut checked = 0;
        for case in SCIPY.split("mask ").skip(1) {
            let mut lines = case.lines();
            let size: Vec<usize> = lines.next().unwrap().split(' ').map(|v| v.parse().unwrap()).collect();
            let (width, height) = (size[0], size[1]);
            let seeds: Vec<bool> =
                lines.by_ref().take(height).flat_map(|l| l.chars().map(|c| c == '#')).collect();
            let nearest = Nearest::of(width, height, &seeds).unwrap();
            for (y, line) in lines.take(height).enumerate() {
                for (x, wanted) in line.split(' ').enumerate() {
                    assert_eq!(nearest.squared(x, y), Some(wanted.parse().unwrap()), "{x} {y} in {width}");
                    checked += 1;
                }
            }
        }
        assert!(checked > 10_000, "{checked}");
    }

    #[test]
    fn without_seeds_nothing_is_near_and_wrong_sizes_are_refused() {
        let nearest = Nearest::of(5, 3, &[false; 15]).unwrap();
        assert_eq!(nearest.seed(2, 1), None);
        assert!(Nearest::of(5, 3, &[false; 14]).is_none());
        assert!(Nearest::of(0, 3, &[]).is_none());
        assert!(Nearest::of(MAX_SIDE + 1, 1, &vec![true; MAX_SIDE + 1]).is_none());
    }
}
