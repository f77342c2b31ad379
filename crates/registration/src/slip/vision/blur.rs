//! The blurs, in loops over whole rows.

use slipsheet_base::wide::Step;

use super::{COARSE, STRIDE};

/// One kernel of a channel.
#[derive(Debug, Clone)]
pub(super) struct Part {
    pub(super) weight: f32,
    /// Whether it is worked out on coarse cells.
    pub(super) coarse: bool,
    /// An odd number of them.
    pub(super) taps: Vec<f32>,
}

/// Memory that blurs use again.
#[derive(Debug, Clone, Default)]
pub struct Work {
    row: Vec<f32>,
    even: Vec<f32>,
    odd: Vec<f32>,
    sums: Vec<f32>,
    half: Vec<f32>,
    coarse: Vec<f32>,
    blurred: Vec<f32>,
    size: (usize, usize),
}

/// Adds a narrow kernel.
pub(super) struct Fine<'a> {
    pub(super) part: &'a Part,
    pub(super) from: &'a [f32],
    pub(super) width: usize,
    pub(super) work: &'a mut Work,
    pub(super) to: &'a mut [f32],
    pub(super) out_width: usize,
}

impl Step for Fine<'_> {
    #[inline(always)]
    fn run(self) {
        let Self { part, from, width, work, to, out_width } = self;
        let (radius, height) = (part.taps.len() / 2, from.len() / width.max(1));
        let Work { row, even, odd, sums, .. } = work;
        row.resize(width + 2 * radius, 0.0);
        for each in [&mut *even, &mut *odd] {
            each.resize(row.len().div_ceil(2), 0.0);
        }
        sums.resize(out_width, 0.0);
        for (oy, to) in to.chunks_mut(out_width.max(1)).enumerate() {
            down(part, from, (width, height), oy * STRIDE, row);
            apart(row, even, odd);
            sums.fill(0.0);
            for (i, tap) in part.taps.iter().enumerate() {
                let source = if i % STRIDE == 0 { &*even } else { &*odd };
                add_scaled(sums, source.get(i / STRIDE..).unwrap_or(&[]), *tap);
            }
            add_scaled(to, sums, part.weight);
        }
    }
}

/// Makes coarse cells, in two steps of two: means of 2 x 2, then 1 3 3 1 each way. A plain mean of 4 x 4 would
/// let fine gratings through as coarse ones.
pub(super) struct Reduce<'a> {
    pub(super) from: &'a [f32],
    pub(super) width: usize,
    pub(super) work: &'a mut Work,
}

impl Step for Reduce<'_> {
    #[inline(always)]
    fn run(self) {
        let Self { from, width, work } = self;
        let height = from.len() / width.max(1);
        let (hw, hh) = (width.div_ceil(2), height.div_ceil(2));
        let (cw, ch) = (hw.div_ceil(2), hh.div_ceil(2));
        let Work { row, even, odd, half, coarse, size, .. } = work;
        *size = (cw, ch);
        half.resize(hw * hh, 0.0);
        for (y, half) in half.chunks_mut(hw.max(1)).enumerate() {
            let row = |y: usize| from.get(y * width..(y + 1) * width).unwrap_or(&[]);
            halve(row(2 * y), row((2 * y + 1).min(height.saturating_sub(1))), half);
        }
        coarse.resize(cw * ch, 0.0);
        // With one half cell more at the start and two at the end, the outermost repeated.
        row.resize(2 * cw + 2, 0.0);
        for each in [&mut *even, &mut *odd] {
            each.resize(cw + 1, 0.0);
        }
        let weights = [0.125, 0.375, 0.375, 0.125];
        for (cy, coarse) in coarse.chunks_mut(cw.max(1)).enumerate() {
            let Some(middle) = row.get_mut(1..=hw) else { return };
            middle.fill(0.0);
            for (y, weight) in weights.into_iter().enumerate() {
                let y = (2 * cy + y).saturating_sub(1).min(hh.saturating_sub(1));
                add_scaled(middle, half.get(y * hw..(y + 1) * hw).unwrap_or(&[]), weight);
            }
            repeat_ends(row, 1, hw);
            apart(row, even, odd);
            coarse.fill(0.0);
            for (i, weight) in weights.into_iter().enumerate() {
                let source = if i % 2 == 0 { &*even } else { &*odd };
                add_scaled(coarse, source.get(i / 2..).unwrap_or(&[]), weight);
            }
        }
    }
}

/// Adds a wide kernel, from coarse cells.
pub(super) struct Coarse<'a> {
    pub(super) part: &'a Part,
    pub(super) work: &'a mut Work,
    pub(super) to: &'a mut [f32],
    pub(super) out_width: usize,
}

impl Step for Coarse<'_> {
    #[inline(always)]
    fn run(self) {
        let Self { part, work, to, out_width } = self;
        let Work { row, sums, coarse, blurred, size: (cw, ch), .. } = work;
        let (cw, ch) = (*cw, *ch);
        row.resize(cw + 2 * (part.taps.len() / 2), 0.0);
        blurred.resize(cw * ch, 0.0);
        for (y, blurred) in blurred.chunks_mut(cw.max(1)).enumerate() {
            down(part, coarse, (cw, ch), y, row);
            blurred.fill(0.0);
            for (i, tap) in part.taps.iter().enumerate() {
                add_scaled(blurred, row.get(i..).unwrap_or(&[]), *tap);
            }
        }
        // With the outermost cells repeated.
        sums.resize(cw + 2, 0.0);
        for (oy, to) in to.chunks_mut(out_width.max(1)).enumerate() {
            // The middle of a coarse cell lies between samples.
            let y =
                (((oy * STRIDE) as f32 + 0.5) / COARSE as f32 - 0.5).clamp(0.0, ch.saturating_sub(1) as f32);
            let upper = y as usize;
            let lower = (upper + 1).min(ch.saturating_sub(1));
            let cells = |y: usize| blurred.get(y * cw..(y + 1) * cw).unwrap_or(&[]);
            let Some(middle) = sums.get_mut(1..=cw) else { return };
            let fraction = y - upper as f32;
            for ((s, a), b) in middle.iter_mut().zip(cells(upper)).zip(cells(lower)) {
                *s = part.weight * (a + fraction * (b - a));
            }
            repeat_ends(sums, 1, cw);
            between(sums, to);
        }
    }
}

/// Adds two samples for every coarse cell: three eighths of a cell before its middle, and one eighth behind.
#[inline(always)]
fn between(cells: &[f32], to: &mut [f32]) {
    let add = |to: &mut [f32; 2], before: f32, at: f32, after: f32| {
        to[0] += before + 0.625 * (at - before);
        to[1] += at + 0.125 * (after - at);
    };
    let after = cells.get(2..).unwrap_or(&[]);
    let (pairs, odd) = to.as_chunks_mut::<2>();
    let pairs_count = pairs.len();
    for (((to, before), at), after) in pairs.iter_mut().zip(cells).zip(cells.iter().skip(1)).zip(after) {
        add(to, *before, *at, *after);
    }
    if let ([to], Some([before, at, ..])) = (odd, cells.get(pairs_count..)) {
        *to += before + 0.625 * (at - before);
    }
}

#[inline(always)]
fn add_scaled(to: &mut [f32], from: &[f32], by: f32) {
    for (to, v) in to.iter_mut().zip(from) {
        *to += v * by;
    }
}

/// The even and the odd places of a row.
#[inline(always)]
fn apart(row: &[f32], even: &mut [f32], odd: &mut [f32]) {
    let (pairs, last) = row.as_chunks::<2>();
    for (([a, b], even), odd) in pairs.iter().zip(&mut *even).zip(odd) {
        *even = *a;
        *odd = *b;
    }
    if let (Some(to), [last]) = (even.get_mut(pairs.len()), last) {
        *to = *last;
    }
}

/// Means of 2 x 2, of what there is at the right end.
#[inline(always)]
fn halve(upper: &[f32], lower: &[f32], to: &mut [f32]) {
    let ((upper, u), (lower, l)) = (upper.as_chunks::<2>(), lower.as_chunks::<2>());
    for ((to, [a, b]), [c, d]) in to.iter_mut().zip(upper).zip(lower) {
        *to = ((a + b) + (c + d)) / 4.0;
    }
    if let (Some(to), [u], [l]) = (to.get_mut(upper.len()), u, l) {
        *to = (u + l) / 2.0;
    }
}

/// One row blurred downwards, its ends repeated outwards.
#[inline(always)]
fn down(part: &Part, from: &[f32], (width, height): (usize, usize), y: usize, row: &mut [f32]) {
    let radius = part.taps.len() / 2;
    let Some(middle) = row.get_mut(radius..radius + width) else { return };
    middle.fill(0.0);
    for (i, tap) in part.taps.iter().enumerate() {
        let sy = (y + i).saturating_sub(radius).min(height.saturating_sub(1));
        add_scaled(middle, from.get(sy * width..(sy + 1) * width).unwrap_or(&[]), *tap);
    }
    repeat_ends(row, radius, width);
}

/// Fills a row outside so many values from a place on with the outermost of them.
#[inline(always)]
fn repeat_ends(row: &mut [f32], from: usize, count: usize) {
    let (first, last) = (row.get(from).copied(), row.get((from + count).saturating_sub(1)).copied());
    if let (Some(start), Some(first)) = (row.get_mut(..from), first) {
        start.fill(first);
    }
    if let (Some(end), Some(last)) = (row.get_mut(from + count..), last) {
        end.fill(last);
    }
}
