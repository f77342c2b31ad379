//! The fast Fourier transform of squares whose side is a power of two (Cooley and Tukey 1965), written out so
//! that its angles come from `libm` and every machine gives the same bits.

use rayon::prelude::*;

#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Complex {
    pub re: f64,
    pub im: f64,
}

impl Complex {
    pub fn new(re: f64, im: f64) -> Self {
        Self { re, im }
    }

    /// Its distance from 0.
    pub fn magnitude(self) -> f64 {
        libm::sqrt(self.re * self.re + self.im * self.im)
    }

    fn times(self, o: Self) -> Self {
        Self::new(self.re * o.re - self.im * o.im, self.re * o.im + self.im * o.re)
    }

    /// This one times the other's conjugate.
    pub fn times_conjugate(self, o: Self) -> Self {
        self.times(Self::new(o.re, -o.im))
    }
}

/// A plan for lines of one length.
pub struct Fft {
    n: usize,
    /// `exp(-2 pi i k / n)` for the first half turn.
    turns: Vec<Complex>,
    /// Each place with its bits in reverse.
    order: Vec<usize>,
}

impl Fft {
    /// A plan for `n`, brought up to a power of two, at least 2.
    pub fn new(n: usize) -> Self {
        let n = n.next_power_of_two().max(2);
        let turn = |k: usize| {
            let (sin, cos) = libm::sincos(-2.0 * std::f64::consts::PI * k as f64 / n as f64);
            Complex::new(cos, sin)
        };
        let bits = n.trailing_zeros();
        let order = (0..n).map(|i| i.reverse_bits() >> (usize::BITS - bits)).collect();
        Self { n, turns: (0..n / 2).map(turn).collect(), order }
    }

    /// Transforms a square of `n` x `n`, row after row: element `v * n + u` of the result has frequency u along x
    /// and v along y. The inverse is not scaled.
    pub fn square(&self, data: &[Complex], inverse: bool) -> Vec<Complex> {
        let mut columns = self.transposed(data);
        columns.par_chunks_mut(self.n).for_each(|line| self.line(line, inverse));
        let mut rows = self.transposed(&columns);
        rows.par_chunks_mut(self.n).for_each(|line| self.line(line, inverse));
        rows
    }

    fn transposed(&self, data: &[Complex]) -> Vec<Complex> {
        let n = self.n;
        let mut out = vec![Complex::default(); n * n];
        out.par_chunks_mut(n).enumerate().for_each(|(x, row)| {
            for (o, v) in row.iter_mut().zip(data.iter().skip(x).step_by(n)) {
                *o = *v;
            }
        });
        out
    }

    fn line(&self, line: &mut [Complex], inverse: bool) {
        for (i, &j) in self.order.iter().enumerate() {
            if i < j && j < line.len() {
                line.swap(i, j);
            }
        }
        let mut half = 1;
        while half < self.n {
            let step = self.n / (2 * half);
            for block in line.chunks_exact_mut(2 * half) {
                let (low, high) = block.split_at_mut(half);
                for ((a, b), turn) in low.iter_mut().zip(high).zip(self.turns.iter().step_by(step)) {
                    let t = b.times(if inverse { Complex::new(turn.re, -turn.im) } else { *turn });
                    (*a, *b) =
                        (Complex::new(a.re + t.re, a.im + t.im), Complex::new(a.re - t.re, a.im - t.im));
                }
            }
            half *= 2;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The definition, term by term.
    fn slow(data: &[Complex], n: usize, u: usize, v: usize) -> Complex {
        let mut sum = Complex::default();
        for y in 0..n {
            for x in 0..n {
                let (sin, cos) =
                    libm::sincos(-2.0 * std::f64::consts::PI * ((u * x + v * y) % n) as f64 / n as f64);
                let t = data[y * n + x].times(Complex::new(cos, sin));
                sum = Complex::new(sum.re + t.re, sum.im + t.im);
            }
        }
        sum
    }

    #[test]
    fn it_is_the_transform_that_the_definition_gives() {
        let n = 16;
        let data: Vec<_> =
            (0..n * n).map(|i| Complex::new(((i * 71) % 23) as f64, ((i * 31) % 17) as f64)).collect();
        let fft = Fft::new(n);
        let out = fft.square(&data, false);
        for (u, v) in [(0, 0), (1, 0), (0, 3), (5, 11), (15, 8)] {
            let (got, wanted) = (out[v * n + u], slow(&data, n, u, v));
            assert!((got.re - wanted.re).abs() < 1e-9 && (got.im - wanted.im).abs() < 1e-9, "{u} {v}");
        }
        let back = fft.square(&out, true);
        let scale = (n * n) as f64;
        assert!(back.iter().zip(&data).all(|(b, d)| (b.re / scale - d.re).abs() < 1e-9));
    }
}
