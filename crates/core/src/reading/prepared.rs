//! Readings that follow a slider: what does not depend on density, contrast and drop-out is found once for a
//! part of a scan, so that each new setting is one walk over that part.

use slipsheet_base::cache::Bytes;

use super::paper::Paper;
use super::{Mode, Reading, faint, line, mixed};
use crate::raster::GrayRaster;
use crate::units::Dpi;

/// What only the whole of a scan tells, whatever the settings.
#[derive(Debug, Clone, PartialEq)]
pub struct Whole(Learnt);

#[derive(Debug, Clone, PartialEq)]
enum Learnt {
    Nothing,
    Threshold(u8),
    Sheet(faint::Sheet),
    /// The scan's paper, where there is any to clean.
    Paper(Option<Paper>),
}

/// A part of a scan, ready to be read at any setting of the mode that it was prepared for.
#[derive(Debug, Clone, PartialEq)]
pub struct Prepared(Kind);

#[derive(Debug, Clone, PartialEq)]
enum Kind {
    /// Gray that goes through the settings' curve.
    Gray(GrayRaster),
    Line(GrayRaster, u8),
    Sorted(mixed::Sorted),
    /// Gray with the paper's shade divided out.
    Flat(GrayRaster, faint::Sheet),
}

impl Bytes for Whole {
    fn bytes(&self) -> usize {
        match &self.0 {
            Learnt::Nothing | Learnt::Threshold(_) | Learnt::Sheet(_) | Learnt::Paper(None) => {
                size_of::<Self>()
            }
            Learnt::Paper(Some(paper)) => paper.bytes(),
        }
    }
}

impl Bytes for Prepared {
    fn bytes(&self) -> usize {
        match &self.0 {
            Kind::Gray(raster) | Kind::Line(raster, _) | Kind::Flat(raster, _) => raster.pixels().len(),
            Kind::Sorted(sorted) => sorted.bytes(),
        }
    }
}

impl Reading {
    /// Looks at the whole scan, once for all settings of a mode.
    pub fn learn(&self, whole: &GrayRaster, dpi: Dpi) -> Whole {
        Whole(match self.mode {
            Mode::Line => Learnt::Threshold(line::threshold(&line::histogram(whole.pixels()))),
            Mode::Faint => Learnt::Sheet(faint::Sheet::of(whole, dpi)),
            Mode::Mixed { .. } => Learnt::Paper(Paper::of(whole, dpi)),
            Mode::Continuous | Mode::Screened { .. } | Mode::Stochastic { .. } => Learnt::Nothing,
        })
    }

    /// How far around a pixel its gray depends on others, in mm: a part needs so much beside what is shown.
    pub fn margin_mm(&self) -> f64 {
        match self.mode {
            Mode::Mixed { .. } => mixed::MARGIN_MM,
            Mode::Faint => faint::MARGIN_MM,
            Mode::Continuous | Mode::Line | Mode::Screened { .. } | Mode::Stochastic { .. } => 0.0,
        }
    }

    /// Prepares a part of a scan, or a part of one of its halvings. `dpi` is the part's own resolution, `at` its first
    /// pixel's column and row in the whole at that resolution.
    pub fn prepare(&self, part: GrayRaster, dpi: Dpi, at: (u32, u32), whole: &Whole) -> Prepared {
        Prepared(match (self.mode, &whole.0) {
            (Mode::Mixed { .. }, Learnt::Paper(paper)) => {
                Kind::Sorted(mixed::Sorted::of(&part, dpi, paper.as_ref(), at))
            }
            (Mode::Mixed { .. }, _) => Kind::Sorted(mixed::Sorted::of(&part, dpi, None, at)),
            (Mode::Faint, Learnt::Sheet(sheet)) => Kind::Flat(faint::flat_part(&part, dpi, *sheet), *sheet),
            (Mode::Line, Learnt::Threshold(threshold)) => Kind::Line(part, *threshold),
            _ => Kind::Gray(part),
        })
    }
}

impl Prepared {
    /// The gray that the master aims at. The reading has the mode that this was prepared for; what it learnt and
    /// sorted stays as it is.
    pub fn tones(&self, reading: &Reading) -> GrayRaster {
        match &self.0 {
            Kind::Gray(part) => match reading.gray_table() {
                Some(table) => part.mapped(&table),
                None => part.clone(),
            },
            Kind::Line(part, threshold) => {
                part.mapped(&line::table_at(*threshold, reading.density, reading.background))
            }
            Kind::Sorted(sorted) => sorted.tones(reading),
            Kind::Flat(flat, sheet) => flat.mapped(&faint::table(reading, *sheet)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::{BlackPoint, DropOut, Ruling, Swing};
    use crate::units::Degrees;

    /// Shaded paper with a wash, strokes and noise.
    fn page(width: u32, height: u32) -> GrayRaster {
        let pixels = (0..width * height)
            .map(|i| {
                let (x, y) = (i % width, i / width);
                let noise = (i.wrapping_mul(2_654_435_761) >> 27) % 12;
                let paper = 235 - x * 30 / width;
                let ink = if x % 61 < 5 || y % 83 < 4 {
                    150
                } else if x > width / 2 {
                    y * 90 / height
                } else {
                    0
                };
                (paper - ink.min(paper) + noise) as u8
            })
            .collect();
        GrayRaster::new(width, height, pixels).unwrap()
    }

    fn readings() -> Vec<Reading> {
        let mixed = Mode::Mixed { ruling: Ruling::default(), angle: Degrees::new(45.0) };
        [Mode::Line, mixed, Mode::Faint]
            .into_iter()
            .flat_map(|mode| {
                [(0.0, 0.0, 0.0, 1.0), (0.4, -0.3, 0.05, 0.3), (-0.8, 0.6, 0.2, 0.7)].map(
                    |(d, c, b, black)| Reading {
                        mode,
                        density: Swing::new(d),
                        contrast: Swing::new(c),
                        background: DropOut::new(b),
                        black: BlackPoint::new(black),
                    },
                )
            })
            .collect()
    }

    #[test]
    fn a_prepared_whole_reads_as_the_scan_does() {
        let (page, dpi) = (page(500, 400), Dpi::new(300.0).unwrap());
        for reading in readings() {
            let prepared = reading.prepare(page.clone(), dpi, (0, 0), &reading.learn(&page, dpi));
            assert!(prepared.tones(&reading) == reading.tones(&page, dpi), "{reading:?}");
        }
    }

    #[test]
    fn one_preparation_serves_every_setting_of_its_mode() {
        let (page, dpi) = (page(300, 240), Dpi::new(300.0).unwrap());
        for three in readings().chunks(3) {
            let prepared = three[0].prepare(page.clone(), dpi, (0, 0), &three[0].learn(&page, dpi));
            for reading in three {
                assert!(prepared.tones(reading) == reading.tones(&page, dpi), "{reading:?}");
            }
        }
    }

    #[test]
    fn a_part_reads_as_it_does_in_the_whole_inside_its_margin() {
        let (page, dpi) = (page(900, 700), Dpi::new(300.0).unwrap());
        // Cells of the paper's shade are 6 pixels wide here; a part starts on one.
        let (x0, y0, width, height) = (240, 180, 420, 360);
        for reading in readings() {
            let rows = (y0..y0 + height).flat_map(|y| page.row(y)[x0..x0 + width].to_vec()).collect();
            let part = GrayRaster::new(width as u32, height, rows).unwrap();
            let at = (x0 as u32, y0);
            let got = reading.prepare(part, dpi, at, &reading.learn(&page, dpi)).tones(&reading);
            let whole = reading.tones(&page, dpi);
            let margin = (reading.margin_mm() * dpi.px_per_mm()).ceil() as usize;
            for y in margin..height as usize - margin {
                let inner = margin..width - margin;
                let wanted = &whole.row(y0 + y as u32)[x0 + inner.start..x0 + inner.end];
                assert_eq!(&got.row(y as u32)[inner], wanted, "{reading:?}, row {y}");
            }
        }
    }
}
