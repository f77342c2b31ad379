//! Gray rasters: what a scan becomes, and the pyramid of halvings that lets a
//! view at any zoom read few pixels.

use crate::cache::Bytes;
use rayon::prelude::*;

use crate::geometry::Point;
use crate::units::Dpi;

/// The most pixels a raster may have. Larger scans are refused before memory is asked for.
pub const MAX_PIXELS: u64 = 1_000_000_000;

/// A grayscale original, one byte a pixel: 0 is black (full ink), 255 is white (no ink).
///
/// **Invariant:** `pixels.len() == width * height`, and both sides are at least 1.
#[derive(Clone, PartialEq, Eq)]
pub struct GrayRaster {
    width: u32,
    height: u32,
    pixels: Vec<u8>,
}

impl std::fmt::Debug for GrayRaster {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "GrayRaster({} x {})", self.width, self.height)
    }
}

/// Why a raster could not be made.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RasterError {
    #[error("the image is empty ({width} x {height} pixels)")]
    Empty { width: u32, height: u32 },
    /// More than [`MAX_PIXELS`].
    #[error("the image has {width} x {height} pixels, more than a gigapixel; scan it at a lower resolution")]
    TooLarge { width: u32, height: u32 },
    /// The buffer does not hold `width * height` bytes.
    #[error("the image claims {width} x {height} pixels but holds {got}")]
    WrongLength { width: u32, height: u32, got: usize },
}

/// A picture in colour, three encoded bytes a pixel, row by row from the top.
///
/// **Invariant:** `pixels.len() == width * height * 3`, and both sides are at least 1.
#[derive(Clone, PartialEq, Eq)]
pub struct ColourRaster {
    width: u32,
    height: u32,
    /// With the primaries of Rec.2020 in place of those of sRGB; the transfer function is that of sRGB with both.
    wide: bool,
    pixels: Vec<u8>,
}

impl std::fmt::Debug for ColourRaster {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "ColourRaster({} x {})", self.width, self.height)
    }
}

impl ColourRaster {
    /// A picture in sRGB (IEC 61966-2-1), or with the primaries of Rec.2020 (ITU-R BT.2020) where it is `wide`.
    ///
    /// # Errors
    /// When the size is refused by [`check_size`] or does not match the buffer.
    pub fn new(width: u32, height: u32, wide: bool, pixels: Vec<u8>) -> Result<Self, RasterError> {
        check_size(width, height)?;
        if pixels.len() as u64 != u64::from(width) * u64::from(height) * 3 {
            return Err(RasterError::WrongLength { width, height, got: pixels.len() / 3 });
        }
        Ok(Self { width, height, wide, pixels })
    }

    /// Width in pixels.
    pub fn width(&self) -> u32 {
        self.width
    }

    /// Height in pixels.
    pub fn height(&self) -> u32 {
        self.height
    }

    /// Whether its primaries are those of Rec.2020.
    pub fn is_wide(&self) -> bool {
        self.wide
    }

    /// All samples, row by row.
    pub fn pixels(&self) -> &[u8] {
        &self.pixels
    }

    pub fn into_pixels(self) -> Vec<u8> {
        self.pixels
    }

    /// One row of samples; empty past the last.
    pub fn row(&self, y: u32) -> &[u8] {
        let width = self.width as usize * 3;
        self.pixels.get(y as usize * width..(y as usize + 1) * width).unwrap_or(&[])
    }

    /// The pixel at a place, if it is on the picture.
    pub fn at(&self, x: u32, y: u32) -> Option<[u8; 3]> {
        if x >= self.width {
            return None;
        }
        let at = (y as usize * self.width as usize + x as usize) * 3;
        self.pixels.get(at..at + 3)?.try_into().ok()
    }

    /// A smaller one whose longer side is at most `most`, each pixel the mean in linear light of those that it covers.
    #[must_use]
    pub fn at_most(&self, most: u32) -> Self {
        let by = self.width.max(self.height).div_ceil(most.max(1));
        if by <= 1 {
            return self.clone();
        }
        let linear: [f32; 256] =
            std::array::from_fn(|v| crate::colour::linear_from_srgb(v as f64 / 255.0) as f32);
        let (width, height) = (self.width.div_ceil(by), self.height.div_ceil(by));
        let mut pixels = vec![0; width as usize * height as usize * 3];
        pixels.par_chunks_mut(width as usize * 3).enumerate().for_each(|(y, row)| {
            let mut sums = vec![[0.0_f32; 4]; width as usize];
            for sy in y as u32 * by..((y as u32 + 1) * by).min(self.height) {
                for (x, px) in self.row(sy).as_chunks::<3>().0.iter().enumerate() {
                    if let Some(sum) = sums.get_mut(x / by as usize) {
                        for (sum, v) in sum.iter_mut().zip(px) {
                            *sum += linear.get(usize::from(*v)).copied().unwrap_or(0.0);
                        }
                        sum[3] += 1.0;
                    }
                }
            }
            for (px, [r, g, b, count]) in row.as_chunks_mut::<3>().0.iter_mut().zip(sums) {
                let encoded = |v: f32| {
                    (crate::colour::srgb_from_linear(f64::from(v / count.max(1.0))) * 255.0 + 0.5) as u8
                };
                *px = [r, g, b].map(encoded);
            }
        });
        Self { width, height, wide: self.wide, pixels }
    }
}

impl Bytes for ColourRaster {
    fn bytes(&self) -> usize {
        self.pixels.len()
    }
}

/// Checks a size before anything of that size is allocated.
///
/// # Errors
/// When a side is zero or the area is more than [`MAX_PIXELS`].
pub fn check_size(width: u32, height: u32) -> Result<(), RasterError> {
    if width == 0 || height == 0 {
        return Err(RasterError::Empty { width, height });
    }
    if u64::from(width) * u64::from(height) > MAX_PIXELS {
        return Err(RasterError::TooLarge { width, height });
    }
    Ok(())
}

impl GrayRaster {
    /// A raster from rows of gray bytes, top row first.
    ///
    /// # Errors
    /// When the size is refused by [`check_size`] or does not match the buffer.
    pub fn new(width: u32, height: u32, pixels: Vec<u8>) -> Result<Self, RasterError> {
        check_size(width, height)?;
        if pixels.len() as u64 != u64::from(width) * u64::from(height) {
            return Err(RasterError::WrongLength { width, height, got: pixels.len() });
        }
        Ok(Self { width, height, pixels })
    }

    /// A raster of one gray.
    ///
    /// # Errors
    /// When the size is refused by [`check_size`].
    pub fn filled(width: u32, height: u32, gray: u8) -> Result<Self, RasterError> {
        check_size(width, height)?;
        Ok(Self { width, height, pixels: vec![gray; width as usize * height as usize] })
    }

    /// A black raster of the same size, its memory not yet touched.
    #[must_use]
    pub fn blank(&self) -> Self {
        Self { width: self.width, height: self.height, pixels: vec![0; self.pixels.len()] }
    }

    /// Width in pixels.
    pub fn width(&self) -> u32 {
        self.width
    }

    /// Height in pixels.
    pub fn height(&self) -> u32 {
        self.height
    }

    /// All bytes, row by row, top row first.
    pub fn pixels(&self) -> &[u8] {
        &self.pixels
    }

    /// All bytes, to be written.
    pub fn pixels_mut(&mut self) -> &mut [u8] {
        &mut self.pixels
    }

    /// The bytes alone.
    pub fn into_pixels(self) -> Vec<u8> {
        self.pixels
    }

    /// One row, top row is 0; an empty slice past the end.
    pub fn row(&self, y: u32) -> &[u8] {
        let w = self.width as usize;
        self.pixels.get(y as usize * w..(y as usize + 1) * w).unwrap_or(&[])
    }

    /// The gray between pixels, 0..=255, in a straight line from middle to middle; corners of pixels lie at whole
    /// numbers. The outermost half pixel is as its pixel; `None` off the raster.
    #[inline]
    pub fn between(&self, at: Point) -> Option<f64> {
        let (w, h) = (self.width as usize, self.height as usize);
        // So written that what is not a number is off the raster.
        if !(at.x >= 0.0 && at.y >= 0.0 && at.x <= w as f64 && at.y <= h as f64) {
            return None;
        }
        let (x, y) = ((at.x - 0.5).clamp(0.0, (w - 1) as f64), (at.y - 0.5).clamp(0.0, (h - 1) as f64));
        let (x0, y0) = (x as usize, y as usize);
        let (fx, fy) = (x - x0 as f64, y - y0 as f64);
        let (x1, y1) = ((x0 + 1).min(w - 1), (y0 + 1).min(h - 1));
        let gray = |x: usize, y: usize| self.pixels.get(y * w + x).map(|v| f64::from(*v));
        let (a, b) = (gray(x0, y0)?, gray(x1, y0)?);
        let (c, d) = (gray(x0, y1)?, gray(x1, y1)?);
        let (top, bottom) = (a + (b - a) * fx, c + (d - c) * fx);
        Some(top + (bottom - top) * fy)
    }

    /// The part from column `x` and row `y` on, of this size at most; `None` when nothing is left.
    pub fn part(&self, x: u32, y: u32, width: u32, height: u32) -> Option<Self> {
        let width = width.min(self.width.checked_sub(x)?);
        let height = height.min(self.height.checked_sub(y)?);
        let columns = x as usize..x as usize + width as usize;
        let rows = (y..y + height).filter_map(|y| self.row(y).get(columns.clone()));
        let pixels = rows.flatten().copied().collect();
        Self::new(width, height, pixels).ok()
    }

    /// Every pixel through a table.
    #[must_use]
    pub fn mapped(&self, table: &[u8; 256]) -> Self {
        let mut out = self.blank();
        out.pixels.par_chunks_mut(1 << 16).zip(self.pixels.par_chunks(1 << 16)).for_each(|(to, from)| {
            for (t, f) in to.iter_mut().zip(from) {
                *t = table[usize::from(*f)];
            }
        });
        out
    }

    /// Half the size in each direction, each pixel the mean of the (up to four) under it.
    ///
    /// An odd side keeps its last column or row, so the far edge never loses ink.
    #[must_use]
    pub fn halved(&self) -> Self {
        let (w, h) = (self.width.div_ceil(2), self.height.div_ceil(2));
        let mut pixels = vec![0_u8; w as usize * h as usize];
        pixels.par_chunks_mut(w as usize).enumerate().for_each(|(y, out)| {
            let top = self.row(2 * y as u32);
            let bottom = self.row((2 * y as u32 + 1).min(self.height - 1));
            let ((tops, top), (bottoms, bottom)) = (top.as_chunks::<2>(), bottom.as_chunks::<2>());
            for ((o, [a, b]), [c, d]) in out.iter_mut().zip(tops).zip(bottoms) {
                *o = ((u16::from(*a) + u16::from(*b) + u16::from(*c) + u16::from(*d) + 2) / 4) as u8;
            }
            if let (Some(o), [a], [c]) = (out.last_mut(), top, bottom) {
                *o = ((2 * (u16::from(*a) + u16::from(*c)) + 2) / 4) as u8;
            }
        });
        Self { width: w, height: h, pixels }
    }
}

/// A raster with its halvings, and the resolution it was scanned at.
#[derive(Debug, Clone, PartialEq)]
pub struct Pyramid {
    levels: Vec<GrayRaster>,
    dpi: Dpi,
}

impl Pyramid {
    /// Builds every halving down to a side of at most 64 pixels.
    pub fn new(raster: GrayRaster, dpi: Dpi) -> Self {
        Self::of_levels(raster, dpi, usize::MAX)
    }

    /// The same with this many levels at most, where it is known how far one zooms out.
    pub fn of_levels(raster: GrayRaster, dpi: Dpi, most: usize) -> Self {
        let mut levels = vec![raster];
        while let Some(last) = levels.last().filter(|_| levels.len() < most) {
            if last.width.max(last.height) <= 64 {
                break;
            }
            let half = last.halved();
            levels.push(half);
        }
        Self { levels, dpi }
    }

    pub fn full(&self) -> &GrayRaster {
        // The constructor always stores at least the scan itself.
        &self.levels[0]
    }

    /// Level `i` (0 is the scan), or the smallest there is.
    pub fn level(&self, i: usize) -> &GrayRaster {
        &self.levels[i.min(self.levels.len() - 1)]
    }

    /// Number of levels, at least 1.
    pub fn levels(&self) -> usize {
        self.levels.len()
    }

    pub fn dpi(&self) -> Dpi {
        self.dpi
    }
}

impl Bytes for Pyramid {
    fn bytes(&self) -> usize {
        self.levels.iter().map(|l| l.pixels.len()).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes_are_checked_before_anything_is_allocated() {
        assert!(matches!(GrayRaster::filled(0, 4, 0), Err(RasterError::Empty { .. })));
        assert!(matches!(GrayRaster::filled(u32::MAX, 9, 0), Err(RasterError::TooLarge { .. })));
        assert!(matches!(GrayRaster::new(2, 2, vec![0; 3]), Err(RasterError::WrongLength { got: 3, .. })));
    }

    #[test]
    fn a_part_is_cut_where_it_was_asked_for_and_ends_with_the_raster() {
        let r = GrayRaster::new(3, 3, (0..9).collect()).unwrap();
        assert_eq!(r.part(1, 1, 9, 1), Some(GrayRaster::new(2, 1, vec![4, 5]).unwrap()));
        assert_eq!((r.part(3, 0, 1, 1), r.part(0, 9, 1, 1), r.part(0, 0, 0, 1)), (None, None, None));
    }

    #[test]
    fn gray_between_pixels_runs_from_middle_to_middle_and_ends_with_the_raster() {
        let r = GrayRaster::new(2, 2, vec![0, 100, 50, 200]).unwrap();
        let at = |x, y| r.between(Point::new(x, y));
        assert_eq!((at(0.5, 0.5), at(1.5, 1.5), at(1.0, 0.5)), (Some(0.0), Some(200.0), Some(50.0)));
        assert_eq!((at(1.0, 1.0), at(0.0, 0.0), at(2.0, 2.0)), (Some(87.5), Some(0.0), Some(200.0)));
        assert_eq!((at(-0.01, 1.0), at(1.0, 2.01), at(f64::NAN, 1.0)), (None, None, None));
    }

    #[test]
    fn halving_averages_and_keeps_an_odd_edge() {
        let r = GrayRaster::new(3, 2, vec![0, 100, 50, 100, 200, 70]).unwrap();
        let h = r.halved();
        assert_eq!((h.width(), h.height()), (2, 1));
        assert_eq!(h.pixels(), &[100, 60]);
    }

    #[test]
    fn a_pyramid_keeps_the_mean() {
        let pixels: Vec<u8> = (0..256 * 256).map(|i| ((i * 7919) % 251) as u8).collect();
        let mean =
            |r: &GrayRaster| r.pixels().iter().map(|&p| f64::from(p)).sum::<f64>() / r.pixels().len() as f64;
        let p = Pyramid::new(GrayRaster::new(256, 256, pixels).unwrap(), Dpi::new(300.0).unwrap());
        assert_eq!(p.levels(), 3);
        assert!((mean(p.full()) - mean(p.level(9))).abs() < 0.6);
    }
}
