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

/// Rows down to the nearest seed of each column: a band knows its own seeds, and is told of the last seed
/// above it and the first one below.
fn drops(width: usize, height: usize, seeds: &[bool]) -> Vec<i16> {
    let ends: Vec<(Vec<i32>, Vec<i32>)> = seeds
        .par_chunks(width * BAND)
        .enumerate()
        .map(|(band, rows)| {
            let (mut first, mut last) = (vec![-1_i32; width], vec![-1_i32; width]);
            for (y, row) in rows.chunks(width).enumerate() {
                let y = (band * BAND + y) as i32;
                for ((first, last), _) in first.iter_mut().zip(&mut last).zip(row).filter(|(_, seed)| **seed)
                {
                    *last = y;
                    if *first < 0 {
                        *first = y;
                    }
                }
            }
            (first, last)
        })
        .collect();
    // Far away stands for none; it is farther than any side.
    let far = 4 * MAX_SIDE as i32;
    let (mut above, mut below) = (Vec::with_capacity(ends.len()), vec![Vec::new(); ends.len()]);
    let mut carried = vec![-far; width];
    for (_, last) in &ends {
        above.push(carried.clone());
        carry(&mut carried, last);
    }
    let mut carried = vec![far; width];
    for ((first, _), below) in ends.iter().zip(&mut below).rev() {
        below.clone_from(&carried);
        carry(&mut carried, first);
    }
    let mut drop = vec![NONE; width * height];
    let bands = drop.par_chunks_mut(width * BAND).zip(seeds.par_chunks(width * BAND));
    bands.zip(above).zip(below).enumerate().for_each(|(band, (((out, seeds), mut above), mut below))| {
        let top = (band * BAND) as i32;
        for (i, (out, row)) in out.chunks_mut(width).zip(seeds.chunks(width)).enumerate() {
            let y = top + i as i32;
            for ((out, seed), above) in out.iter_mut().zip(row).zip(&mut above) {
                if *seed {
                    *above = y;
                }
                let up = y - *above;
                *out = if up > MAX_SIDE as i32 { NONE } else { -(up as i16) };
            }
        }
        for (i, (out, row)) in out.chunks_mut(width).zip(seeds.chunks(width)).enumerate().rev() {
            let y = top + i as i32;
            for ((out, seed), below) in out.iter_mut().zip(row).zip(&mut below) {
                if *seed {
                    *below = y;
                }
                let down = *below - y;
                let up = if *out == NONE { i32::MAX } else { -i32::from(*out) };
                if down < up && down <= MAX_SIDE as i32 {
                    *out = down as i16;
                }
            }
        }
    });
    drop
}

fn carry(to: &mut [i32], from: &[i32]) {
    for (to, from) in to.iter_mut().zip(from).filter(|(_, from)| **from >= 0) {
        *to = *from;
    }
}

/// The lower envelope of one row's parabolas: a stack of their columns, and from where each is lowest.
#[derive(Default)]
struct Envelope {
    stack: Vec<(i64, i64, i64)>,
}

impl Envelope {
    /// Fills in the nearest columns; whether the row has any.
    fn row(&mut self, drop: &[i16], column: &mut [u16]) -> bool {
        self.stack.clear();
        let width = drop.len() as i64;
        for (u, g) in drop.iter().enumerate().filter(|(_, g)| **g != NONE) {
            let (u, g2) = (u as i64, i64::from(*g) * i64::from(*g));
            let at = |x: i64, (s, g2, _): (i64, i64, i64)| (x - s) * (x - s) + g2;
            let mut from = 0;
            while let Some(&top) = self.stack.last() {
                if at(top.2, top) > at(top.2, (u, g2, 0)) {
                    self.stack.pop();
                    continue;
                }
                // Both parabolas are equal here; the quotient of integers below 2^32 is exact enough for its floor.
                let over = u * u - top.0 * top.0 + g2 - top.1;
                from = (over as f64 / (2 * (u - top.0)) as f64) as i64 + 1;
                break;
            }
            if from < width {
                self.stack.push((u, g2, from));
            }
        }
        let mut end = column.len();
        for &(s, _, from) in self.stack.iter().rev() {
            if let Some(run) = column.get_mut(from as usize..end) {
                run.fill(s as u16);
            }
            end = from as usize;
        }
        !self.stack.is_empty()
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
