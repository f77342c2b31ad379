//! Reads a scanned calibration sheet: from pixels to the colour of every patch.
//!
//! A scanner is no instrument. Its sRGB is taken at its word, relative to the paper (whose colour is known from
//! the stock, or is the scanner's own), and bent through gray patches where some are known. The reading says so.

use slipsheet_base::linear::solve;
use slipsheet_base::stats::median;

use super::homography::Homography;
use super::sheet::{Patch, PatchKind, RING, WedgeSheet, code_bits};
use super::{CalibrateError, fiducials};
use crate::colour::{Lab, SRGB_LUMINANCE, Xyz, linear_from_srgb};
use crate::geometry::{Point, Rect};
use crate::stock::Finish;

/// How the bytes of a scan stand for light.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Encoding {
    /// By the sRGB transfer function.
    #[default]
    Srgb,
    /// In proportion.
    Linear,
}

/// A scan: three bytes a pixel, top row first.
#[derive(Debug, Clone, Copy)]
pub struct ScanPixels<'a> {
    /// Width in pixels.
    pub width: usize,
    /// Height in pixels.
    pub height: usize,
    /// Red, green, blue of each pixel, sRGB's primaries.
    pub rgb: &'a [u8],
    /// How bytes stand for light.
    pub encoding: Encoding,
}

/// What is known of the sheet before it is read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct KnownPatches {
    /// Colour of the bare paper; without it the scanner's own reading is taken.
    pub paper: Option<Lab>,
    /// The paper's surface, for what is not measured.
    pub finish: Finish,
    /// Gray patches of known colour lying on the sheet, in mm from its upper left corner.
    pub grays: Vec<(Rect, Lab)>,
}

/// Where colours come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// A scanner: an estimate, as no scanner sees as a standard observer does.
    Scan {
        /// Whether the paper's colour was known.
        paper_known: bool,
    },
    Instrument,
}

impl Source {
    /// What is shown beside the figures.
    pub fn standing(self) -> &'static str {
        match self {
            Self::Scan { paper_known: true } => "an estimate from a scan, relative to the known paper",
            Self::Scan { paper_known: false } => {
                "an estimate from a scan whose paper was not known; name a measured stock for a better one"
            }
            Self::Instrument => "measured by an instrument",
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PatchReading {
    pub kind: PatchKind,
    /// Colour, reference white Y = 1.
    pub xyz: Xyz,
    /// The same as Lab.
    pub lab: Lab,
    /// Standard deviation of luminance over the patch, as a share of the paper's.
    pub spread: f64,
    /// Share of the patch that was kept after outliers were left out, 0..=1.
    pub kept: f64,
    /// Whether the scanner ran into the end of its range here, so that the true colour lies further out.
    pub clipped: bool,
}

#[derive(Debug, Clone, PartialEq)]
pub struct SheetReading {
    /// Names of the inks in printing order.
    pub inks: Vec<String>,
    /// Code of the reading each ink's master was made with, as the sheet carries it.
    pub readings: Vec<u8>,
    pub paper: Lab,
    /// The paper's surface, as it was given.
    pub finish: Finish,
    pub source: Source,
    /// Every patch, in the sheet's order.
    pub patches: Vec<PatchReading>,
    /// Most light over least that fell on the sheet, 1 when even.
    pub unevenness: f64,
    /// How far the sheet was turned in the scan, degrees clockwise.
    pub turned: f64,
}

/// The white between dot and ring of a corner mark must come up this far from the ink to the paper.
const SHARP: f64 = 0.5;

/// Finds the sheet in a scan and reads its patches.
///
/// The sheet may lie turned by any quarter and 10 degrees more, larger or smaller, and in slight perspective.
/// A third of each patch's width and height, at its edges, is left out.
///
/// # Errors
/// When the buffer is of the wrong size, the corner marks or codes are not found, or the paper is not seen.
pub fn read_sheet(
    scan: &ScanPixels<'_>,
    sheet: &WedgeSheet,
    known: &KnownPatches,
) -> Result<SheetReading, CalibrateError> {
    let (width, height, got) = (scan.width, scan.height, scan.rgb.len());
    let wanted = width.saturating_mul(height).saturating_mul(3);
    if wanted == 0 || got != wanted {
        return Err(CalibrateError::Pixels { width, height, wanted, got });
    }
    let corners = fiducials::find(scan)?;
    let mut trouble = CalibrateError::Shape;
    // A quarter turn is told by the code: only one way up reads as one.
    for turn in 0..4 {
        let mut turned = corners;
        turned.rotate_left(turn);
        if !fits(sheet, turned) {
            continue;
        }
        let Some(view) = View::new(scan, sheet, turned) else { continue };
        match view.codes(sheet) {
            Ok(_) if view.sharpness(sheet) < SHARP => trouble = CalibrateError::Blurred,
            Ok(readings) => return view.reading(sheet, known, readings),
            Err(_) if view.sharpness(sheet) < SHARP => trouble = CalibrateError::Blurred,
            Err(e) => trouble = e,
        }
    }
    Err(trouble)
}

/// Whether the sides of the quadrilateral stand to one another as the sheet's do, within 12 %.
pub(super) fn fits(sheet: &WedgeSheet, corners: [Point; 4]) -> bool {
    let ratio: Vec<f64> = (0..4)
        .map(|i| {
            let j = (i + 1) % 4;
            corners[i].distance(corners[j]) / sheet.fiducials[i].distance(sheet.fiducials[j])
        })
        .collect();
    let mean = ratio.iter().sum::<f64>() / 4.0;
    ratio.iter().all(|r| (r / mean - 1.0).abs() < 0.12)
}

/// A scan with the sheet found in it.
pub(super) struct View<'a> {
    scan: &'a ScanPixels<'a>,
    linear: [f64; 256],
    px_from_mm: Homography,
    px_per_mm: f64,
    centre: Point,
    /// Natural logarithm of the paper's light: constant, x, y, x², xy, y² with x, y in units of 100 mm.
    paper: [[f64; 6]; 3],
    unevenness: f64,
    turned: f64,
}

/// What a box of the sheet looks like, paper = 1 in each channel.
struct Seen {
    light: [f64; 3],
    spread: f64,
    kept: f64,
    clipped: bool,
}

impl<'a> View<'a> {
    pub(super) fn new(scan: &'a ScanPixels<'a>, sheet: &WedgeSheet, corners: [Point; 4]) -> Option<Self> {
        let px_from_mm = Homography::through(sheet.fiducials, corners)?;
        let linear = std::array::from_fn(|i| match scan.encoding {
            Encoding::Srgb => linear_from_srgb(i as f64 / 255.0),
            Encoding::Linear => i as f64 / 255.0,
        });
        let centre = Point::new(sheet.size.width.get() / 2.0, sheet.size.height.get() / 2.0);
        let along = corners[0].distance(corners[1]) / sheet.fiducials[0].distance(sheet.fiducials[1]);
        let (dx, dy) = (corners[1].x - corners[0].x, corners[1].y - corners[0].y);
        let mut view = Self {
            scan,
            linear,
            px_from_mm,
            px_per_mm: along,
            centre,
            paper: [[0.0; 6]; 3],
            unevenness: 1.0,
            turned: libm::atan2(dy, dx).to_degrees(),
        };
        view.see_paper(&sheet.bare)?;
        Some(view)
    }

    fn pixel(&self, mm: Point) -> Option<[u8; 3]> {
        let p = self.px_from_mm.apply(mm);
        let inside =
            p.x >= 0.0 && p.y >= 0.0 && p.x < self.scan.width as f64 && p.y < self.scan.height as f64;
        let start = inside.then(|| (p.y as usize * self.scan.width + p.x as usize) * 3)?;
        self.scan.rgb.get(start..start + 3).and_then(|px| px.try_into().ok())
    }

    fn terms(&self, mm: Point) -> [f64; 6] {
        let (x, y) = ((mm.x - self.centre.x) / 100.0, (mm.y - self.centre.y) / 100.0);
        [1.0, x, y, x * x, x * y, y * y]
    }

    fn paper_at(&self, mm: Point) -> [f64; 3] {
        let terms = self.terms(mm);
        self.paper.map(|p| libm::exp(p.iter().zip(terms).map(|(a, b)| a * b).sum()))
    }

    /// Mean linear light of a box, before anything is corrected, and how many of its samples are at an end.
    fn mean(&self, area: Rect) -> Option<([f64; 3], f64)> {
        let count = |side: f64| ((side * self.px_per_mm).ceil() as usize).clamp(1, 40);
        let (across, down) = (count(area.width), count(area.height));
        let (mut sum, mut ends) = ([0.0; 3], 0_usize);
        for j in 0..down {
            for i in 0..across {
                let x = area.x + (i as f64 + 0.5) / across as f64 * area.width;
                let y = area.y + (j as f64 + 0.5) / down as f64 * area.height;
                let px = self.pixel(Point::new(x, y))?;
                ends += usize::from(px.iter().any(|v| matches!(v, 0 | 255)));
                for (s, v) in sum.iter_mut().zip(px) {
                    *s += self.linear[usize::from(v)];
                }
            }
        }
        let n = (across * down) as f64;
        Some((sum.map(|s| s / n), ends as f64 / n))
    }

    /// Fits the paper's light to the bare spots, twice without those that lie off the fit.
    fn see_paper(&mut self, bare: &[Point]) -> Option<()> {
        let spots: Vec<(Point, [f64; 3])> = bare
            .iter()
            .filter_map(|p| {
                let area = Rect { x: p.x - 0.6, y: p.y - 0.6, width: 1.2, height: 1.2 };
                let (light, _) = self.mean(area)?;
                light.iter().all(|v| *v > 1e-3).then(|| (*p, light.map(libm::log)))
            })
            .collect();
        let mut keep = vec![true; spots.len()];
        for _ in 0..3 {
            for c in 0..3 {
                let (mut a, mut b) = ([[0.0; 6]; 6], [0.0; 6]);
                for ((p, light), _) in spots.iter().zip(&keep).filter(|(_, k)| **k) {
                    let t = self.terms(*p);
                    for i in 0..6 {
                        for j in 0..6 {
                            a[i][j] += t[i] * t[j];
                        }
                        b[i] += t[i] * light[c];
                    }
                }
                self.paper[c] = solve(a, b)?;
            }
            let off = |(p, light): &(Point, [f64; 3])| {
                let fitted = self.paper_at(*p).map(libm::log);
                (0..3).map(|c| (light[c] - fitted[c]).abs()).fold(0.0, f64::max)
            };
            let offs: Vec<f64> = spots.iter().map(off).collect();
            let limit = (3.5 * median(offs.clone())).max(0.01);
            keep = offs.iter().map(|o| *o <= limit).collect();
        }
        let green = spots.iter().map(|(p, _)| self.paper_at(*p)[1]);
        let (low, high) = green.fold((f64::INFINITY, 0.0_f64), |(low, high), v| (low.min(v), high.max(v)));
        self.unevenness = high / low;
        Some(())
    }

    /// A box without its edges, in 6 x 6 cells, the paper's light taken out. Outliers are sought among
    /// cells and not among pixels, as the pixels of a halftone are all outliers: dots and paper.
    fn see(&self, area: Rect) -> Option<Seen> {
        let (w, h) = (area.width / 9.0, area.height / 9.0);
        let (mut cells, mut ends) = (Vec::with_capacity(36), 0.0);
        for j in 0..6 {
            for i in 0..6 {
                let (i, j) = (f64::from(i), f64::from(j));
                let cell = Rect { x: area.x + w * (1.5 + i), y: area.y + h * (1.5 + j), width: w, height: h };
                let (light, at_end) = self.mean(cell)?;
                let paper = self.paper_at(cell.centre());
                cells.push([light[0] / paper[0], light[1] / paper[1], light[2] / paper[2]]);
                ends += at_end / 36.0;
            }
        }
        let y = |c: &[f64; 3]| c.iter().zip(SRGB_LUMINANCE).map(|(v, w)| v * w).sum::<f64>();
        let middle = median(cells.iter().map(y).collect());
        let mad = median(cells.iter().map(|c| (y(c) - middle).abs()).collect());
        // 1.4826 makes the median deviation of normal noise its standard deviation.
        let limit = (3.5 * 1.4826 * mad).max(0.01);
        let kept: Vec<[f64; 3]> = cells.into_iter().filter(|c| (y(c) - middle).abs() <= limit).collect();
        let n = kept.len().max(1) as f64;
        let light = std::array::from_fn(|c| kept.iter().map(|k| k[c]).sum::<f64>() / n);
        let mean = y(&light);
        let spread = (kept.iter().map(|k| (y(k) - mean) * (y(k) - mean)).sum::<f64>() / n).sqrt();
        Some(Seen { light, spread, kept: n / 36.0, clipped: ends > 0.02 })
    }

    /// How far the white inside the corner marks comes up from the ink to the paper, 0..=1: the middle one of
    /// the four. Inks that lie a little apart narrow the white on one side only, so the lightest place counts.
    fn sharpness(&self, sheet: &WedgeSheet) -> f64 {
        let [_, inner, dot] = RING;
        let light = |centre: Point, radius: f64| {
            let spot = |i: i32| {
                let (s, c) = libm::sincos(f64::from(i) / 16.0 * std::f64::consts::TAU);
                let at = Point::new(centre.x + radius * c, centre.y + radius * s);
                let seen = self.mean(Rect { x: at.x - 0.2, y: at.y - 0.2, width: 0.4, height: 0.4 });
                let (light, paper) = (seen.map_or([0.0; 3], |s| s.0), self.paper_at(at));
                (0..3).map(|c| light[c] / paper[c]).fold(f64::INFINITY, f64::min)
            };
            (0..16).map(spot).collect::<Vec<f64>>()
        };
        let marks = sheet.fiducials.map(|centre| {
            let ink = median(light(centre, dot / 2.0)).min(0.95);
            let white = light(centre, f64::midpoint(inner, dot)).into_iter().fold(0.0, f64::max);
            (white - ink) / (1.0 - ink)
        });
        median(marks.to_vec())
    }

    /// Reads every ink's code and gives the readings that they name.
    pub(super) fn codes(&self, sheet: &WedgeSheet) -> Result<Vec<u8>, CalibrateError> {
        (0..sheet.inks.len())
            .map(|ink| self.code(sheet, ink).ok_or(CalibrateError::Code { ink: ink + 1 }))
            .collect()
    }

    fn code(&self, sheet: &WedgeSheet, ink: usize) -> Option<u8> {
        let solid = sheet.patches.iter().find(|p| p.kind == PatchKind::Solid { ink })?;
        let solid = self.see(solid.area)?.light;
        let channel = (0..3).min_by(|a, b| solid[*a].total_cmp(&solid[*b]))?;
        let split = (1.0 + solid[channel]) / 2.0;
        let squares = sheet.code.get(ink)?.iter();
        let bits: Vec<bool> =
            squares.map(|s| Some(self.see(*s)?.light[channel] < split)).collect::<Option<_>>()?;
        (solid[channel] < 0.97).then_some(())?;
        (0..8).find(|reading| code_bits(ink, *reading)[..] == bits[..])
    }

    fn reading(
        &self,
        sheet: &WedgeSheet,
        known: &KnownPatches,
        readings: Vec<u8>,
    ) -> Result<SheetReading, CalibrateError> {
        let own = Xyz::from_linear_srgb(self.paper_at(self.centre));
        let paper = known.paper.map_or(own, Lab::xyz);
        let response = self.response(known, paper)?;
        let paper_rgb = paper.linear_srgb();
        let read = |patch: &Patch| {
            let seen = self.see(patch.area).ok_or(CalibrateError::Shape)?;
            let light = std::array::from_fn(|c| paper_rgb[c] * bend(&response[c], seen.light[c]));
            let xyz = Xyz::from_linear_srgb(light);
            Ok(PatchReading {
                kind: patch.kind,
                xyz,
                lab: xyz.lab(),
                spread: seen.spread,
                kept: seen.kept,
                clipped: seen.clipped,
            })
        };
        Ok(SheetReading {
            inks: sheet.inks.clone(),
            readings,
            paper: paper.lab(),
            finish: known.finish,
            source: Source::Scan { paper_known: known.paper.is_some() },
            patches: sheet.patches.iter().map(read).collect::<Result<_, CalibrateError>>()?,
            unevenness: self.unevenness,
            turned: self.turned,
        })
    }

    /// Points (seen, true) of each channel's response relative to the paper: nothing, known grays, paper.
    fn response(&self, known: &KnownPatches, paper: Xyz) -> Result<[Vec<(f64, f64)>; 3], CalibrateError> {
        let paper = paper.linear_srgb();
        let mut response = [(); 3].map(|()| vec![(0.0, 0.0), (1.0, 1.0)]);
        for (area, lab) in &known.grays {
            let seen = self.see(*area).ok_or(CalibrateError::Shape)?;
            let truth = lab.xyz().linear_srgb();
            for c in 0..3 {
                response[c].push((seen.light[c], (truth[c] / paper[c].max(1e-6)).max(0.0)));
            }
        }
        for points in &mut response {
            points.sort_by(|a, b| a.0.total_cmp(&b.0));
            // A gray that would turn the response back is not believed.
            points.dedup_by(|next, before| next.0 <= before.0 || next.1 <= before.1);
        }
        Ok(response)
    }
}

/// Straight from point to point, and in proportion beyond the last.
fn bend(points: &[(f64, f64)], v: f64) -> f64 {
    let right = points.partition_point(|p| p.0 <= v).clamp(1, points.len() - 1);
    let ((x0, y0), (x1, y1)) = (points[right - 1], points[right]);
    y0 + (v - x0) / (x1 - x0) * (y1 - y0)
}
