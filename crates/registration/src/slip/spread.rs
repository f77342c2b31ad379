//! The press's register scatter and offset from printed mark sheets.
//!
//! Every ink prints its own marks beside the
//! others', and how the inks of a copy lie against each other says how far the press wanders, and how far the
//! later passes lie off the first on every copy.
//!
//! With the model of [`super::run`], the inks `a`, `b` of one pass differ by twice the variance within a
//! pass. The passes' means vary, after each copy's and each pass's own mean are taken out, by the variance
//! between passes plus what the inks within add. Where the copy lay on the scanner cancels out.

mod sheet;

pub use sheet::{SpreadSheet, station_plate};

use super::stats::{self, Interval};
use slipsheet_core::geometry::Point;
use slipsheet_core::press::{Measured, Offset, Press, Spread};

/// Shift right and down in mm, skew in degrees, stretch downwards in percent.
pub type Misalignment = [f64; 4];

/// Why no spread could be told.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SpreadError {
    #[error("{0} mark sheets are too few to measure the register scatter: scan at least 3, better 20")]
    TooFew(usize),
    #[error(
        "copy {copy} shows {found} inks where {wanted} are needed: scan every copy with all inks printed"
    )]
    Inks {
        /// The copy, from 1.
        copy: usize,
        found: usize,
        wanted: usize,
    },
    #[error("one ink alone has nothing to slip against: print the marks of at least two inks")]
    OneInk,
    #[error(
        "only {found} of the marks of ink {ink} were found and 3 are needed: scan the whole sheet at 200 dpi or more, or choose a darker ink"
    )]
    Marks {
        /// The ink, from 1.
        ink: usize,
        found: usize,
    },
}

/// A standard deviation with its interval at 95 %.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Deviation {
    pub value: f64,
    /// Where the true one is likely to lie (chi-square).
    pub interval: Interval,
}

/// A mean with its interval at 95 %.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Mean {
    pub value: f64,
    /// Where the true one is likely to lie (Student's t).
    pub interval: Interval,
}

impl Mean {
    /// Whether it is more than chance: none at all is not likely.
    pub fn is_sure(&self) -> bool {
        self.interval.low > 0.0 || self.interval.high < 0.0
    }
}

/// What mark sheets tell; the four figures are those of [`Misalignment`].
#[derive(Debug, Clone, PartialEq)]
pub struct SpreadEstimate {
    pub copies: usize,
    /// Within a pass; `None` when no pass has two inks.
    pub within: Option<[Deviation; 4]>,
    /// Between passes; `None` when there is one pass.
    pub between: Option<[Deviation; 4]>,
    /// How later passes lie off the first, the same on every copy; `None` when there is one pass.
    pub offset: Option<[Mean; 4]>,
}

/// How an ink lies, by where its marks were meant to be and where they are, both in mm; `None` with fewer
/// than three marks or when they lie on one line. Least squares, to first order in skew and stretch.
pub fn misalignment(meant: &[Point], found: &[Point], centre: Point) -> Option<Misalignment> {
    let n = meant.len().min(found.len());
    if n < 3 {
        return None;
    }
    let (mut m, mut v) = ([[0.0; 4]; 4], [0.0; 4]);
    for (p, q) in meant.iter().zip(found) {
        let (x, y) = (p.x - centre.x, p.y - centre.y);
        for (row, off) in [([1.0, 0.0, -y, 0.0], q.x - p.x), ([0.0, 1.0, x, y], q.y - p.y)] {
            for ((sums, v), of_row) in m.iter_mut().zip(&mut v).zip(row) {
                *v += of_row * off;
                sums.iter_mut().zip(row).for_each(|(sum, r)| *sum += of_row * r);
            }
        }
    }
    let [dx, dy, turn, stretch] = slipsheet_base::linear::solve(m, v)?;
    Some([dx, dy, turn.to_degrees(), stretch * 100.0])
}

/// The spread from how every ink lies on every copy; passes list the inks by their place in a copy.
pub fn estimate(copies: &[Vec<Misalignment>], passes: &[Vec<usize>]) -> Result<SpreadEstimate, SpreadError> {
    let inks: usize = passes.iter().map(Vec::len).sum();
    if inks < 2 {
        return Err(SpreadError::OneInk);
    }
    if copies.len() < 3 {
        return Err(SpreadError::TooFew(copies.len()));
    }
    let wanted = passes.iter().flatten().max().map_or(0, |most| most + 1);
    if let Some((copy, c)) = copies.iter().enumerate().find(|(_, c)| c.len() < wanted) {
        return Err(SpreadError::Inks { copy: copy + 1, found: c.len(), wanted });
    }
    let value = |copy: &Vec<Misalignment>, ink: usize, i: usize| copy.get(ink).map_or(0.0, |l| l[i]);
    let per_figure = |i: usize| {
        // Within: each pass of several inks, each copy's and each ink's mean taken out.
        let within =
            residual(passes.iter().filter(|p| p.len() > 1).map(|pass| {
                copies.iter().map(|c| pass.iter().map(|ink| value(c, *ink, i)).collect()).collect()
            }));
        let means: Vec<Vec<f64>> = copies
            .iter()
            .map(|c| {
                passes
                    .iter()
                    .map(|p| p.iter().map(|ink| value(c, *ink, i)).sum::<f64>() / p.len().max(1) as f64)
                    .collect()
            })
            .collect();
        let between = if passes.len() > 1 { residual(std::iter::once(means)) } else { None };
        let added = within.map_or(0.0, |(w, _)| {
            passes.iter().filter(|p| p.len() > 1).map(|p| w / p.len() as f64).sum::<f64>()
                / passes.len() as f64
        });
        (within, between.map(|(b, freedom)| (b, freedom, added)))
    };
    let figures: [_; 4] = std::array::from_fn(per_figure);
    // Each copy's later passes against its first; where the copy lay on the glass cancels out here too.
    let offset_of = |i: usize| {
        let mean = |copy: &Vec<Misalignment>, pass: &Vec<usize>| {
            pass.iter().map(|ink| value(copy, *ink, i)).sum::<f64>() / pass.len().max(1) as f64
        };
        let (first, later) = passes.split_first().filter(|(_, later)| !later.is_empty())?;
        let off = |copy: &Vec<Misalignment>| {
            later.iter().map(|pass| mean(copy, pass)).sum::<f64>() / later.len() as f64 - mean(copy, first)
        };
        let (value, interval) = stats::mean_interval(&copies.iter().map(off).collect::<Vec<_>>())?;
        Some(Mean { value, interval })
    };
    let offset: Option<Vec<Mean>> = (0..4).map(offset_of).collect();
    let deviation = |variance: f64, freedom: f64, added: f64| {
        let all = stats::deviation_interval(libm::sqrt(variance), freedom);
        let less = |v: f64| libm::sqrt((v * v - added).max(0.0));
        Deviation {
            value: libm::sqrt((variance - added).max(0.0)),
            interval: Interval { low: less(all.low), high: less(all.high) },
        }
    };
    let within: Option<Vec<Deviation>> =
        figures.iter().map(|f| f.0.map(|(v, n)| deviation(v, n, 0.0))).collect();
    let between: Option<Vec<Deviation>> =
        figures.iter().map(|f| f.1.map(|(v, n, a)| deviation(v, n, a))).collect();
    Ok(SpreadEstimate {
        copies: copies.len(),
        within: within.and_then(|v| v.try_into().ok()),
        between: between.and_then(|v| v.try_into().ok()),
        offset: offset.and_then(|v| v.try_into().ok()),
    })
}

/// The variance that is left in tables of rows (copies) and columns once both their means are taken out,
/// with its degrees of freedom; `None` without any.
fn residual(tables: impl Iterator<Item = Vec<Vec<f64>>>) -> Option<(f64, f64)> {
    let (mut sum, mut freedom) = (0.0, 0.0);
    for table in tables {
        let (rows, columns) = (table.len(), table.first().map_or(0, Vec::len));
        let mean = |values: &mut dyn Iterator<Item = f64>, n: usize| values.sum::<f64>() / n.max(1) as f64;
        let by_row: Vec<f64> = table.iter().map(|r| mean(&mut r.iter().copied(), columns)).collect();
        let by_column: Vec<f64> = (0..columns)
            .map(|c| mean(&mut table.iter().map(|r| r.get(c).copied().unwrap_or(0.0)), rows))
            .collect();
        let all = mean(&mut by_row.iter().copied(), rows);
        for (row, of_row) in table.iter().zip(&by_row) {
            for (v, of_column) in row.iter().zip(&by_column) {
                sum += (v - of_row - of_column + all).powi(2);
            }
        }
        freedom += (rows.saturating_sub(1) * columns.saturating_sub(1)) as f64;
    }
    (freedom > 0.0).then(|| (sum / freedom, freedom))
}

impl SpreadEstimate {
    /// The offset of later passes, without what may be chance; `None` when there is one pass.
    pub fn sure_offset(&self) -> Option<Offset> {
        let [dx, dy, skew, stretch] = self.offset?.map(|m| if m.is_sure() { m.value } else { 0.0 });
        Some(Offset::of(dx, dy, skew, stretch))
    }

    /// The press with the figures that were measured; the others stay as they were. An offset that may be
    /// chance is none.
    #[must_use]
    pub fn onto(&self, press: &Press) -> Press {
        let spread = |d: &[Deviation; 4]| Spread::of(d[0].value, d[1].value, d[2].value, d[3].value);
        Press {
            within_pass: self.within.as_ref().map_or(press.within_pass, spread),
            between_passes: self.between.as_ref().map_or(press.between_passes, spread),
            offset: self.sure_offset().unwrap_or(press.offset),
            measured: Measured {
                within_pass: self.within.is_some() || press.measured.within_pass,
                between_passes: self.between.is_some() || press.measured.between_passes,
                offset: self.offset.is_some() || press.measured.offset,
            },
            ..press.clone()
        }
    }
}

#[cfg(test)]
mod tests;
