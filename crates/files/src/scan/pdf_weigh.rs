//! How much work a page of a PDF is, found by going through it once without drawing.
//!
//! A form that draws another twice, which draws another twice, is short in the file and endless on the page; the
//! count ends it. Pictures are decoded here once and held against the size that they claim, because the reader
//! fills what is missing without a word.

use std::collections::BTreeSet;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use hayro::hayro_interpret::font::{Glyph, GlyphRun};
use hayro::hayro_interpret::hayro_syntax::object::{Array, Dict, Object, Stream};
use hayro::hayro_interpret::pattern::{Pattern, TilingPattern};
use hayro::hayro_interpret::{
    BlendMode, CacheKey as _, ClipPath, Context as Interpreter, Device, DrawMode, DrawProps, Image,
    ImageDrawProps, InterpreterCache, InterpreterSettings, InterpreterWarning, Paint, SoftMask, StrokeProps,
    interpret_page,
};
use hayro::hayro_syntax::page::Page;
use hayro::kurbo::{Affine, BezPath, PathEl, Rect, Shape as _};

use super::Progress;
use super::apart::Ended;
use super::pdf_unpack::{Flaw, check_whole};

/// The most things that a page may draw: letters, paths, pictures, groups.
pub(super) const MOST_OBJECTS: f64 = 2e6;
/// The most points that its paths may have.
pub(super) const MOST_POINTS: f64 = 2e7;
/// The most pixels that it may paint, what lies over another counted again: 100 times the largest page.
pub(super) const MOST_PAINTED: f64 = 1e11;
/// The most pixels of pictures that may be decoded, each counted as often as it is drawn.
pub(super) const MOST_DECODED: f64 = 2e10;
/// The most pixels that one picture may have.
pub(super) const MOST_PICTURE: u64 = 300_000_000;
/// How deep patterns, masks and drawn letters may lie in one another.
const DEEPEST: u32 = 40;
/// Points of one letter, on average.
const LETTER: f64 = 40.0;

/// What a page comes to.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Weight {
    pub objects: f64,
    pub points: f64,
    pub painted: f64,
    pub decoded: f64,
    /// Different soft masks, each of which is kept as large as the part of the page that is drawn.
    pub masks: usize,
}

/// What the reader could not do, told by its warnings.
#[derive(Debug, Default)]
pub(super) struct Warnings {
    picture: AtomicBool,
    pub font: AtomicBool,
    pub note: AtomicBool,
}

impl Warnings {
    /// Settings of a reader that warns here.
    pub fn settings(self: &Arc<Self>) -> InterpreterSettings {
        let here = Arc::clone(self);
        let warning_sink = Arc::new(move |warning| {
            match warning {
                InterpreterWarning::UnsupportedFont => &here.font,
                InterpreterWarning::UnresolvedAnnotationAppearance => &here.note,
                // Of warnings that are not known yet the worst is assumed.
                InterpreterWarning::ImageDecodeFailure | _ => &here.picture,
            }
            .store(true, Ordering::Relaxed);
        });
        InterpreterSettings { warning_sink, ..InterpreterSettings::default() }
    }

    /// Whether a picture could not be decoded.
    pub fn check(&self) -> Result<(), Ended> {
        if self.picture.load(Ordering::Relaxed) { Err(Ended::Broken("a picture")) } else { Ok(()) }
    }
}

/// Goes through a page. Throws [`Ended`] when it is too much, is not whole, or was stopped.
pub(super) fn weigh(
    page: &Page<'_>,
    (width, height): (u32, u32),
    px_from_points: Affine,
    warnings: &Arc<Warnings>,
    progress: &Progress,
) -> Weight {
    let target = Rect::new(0.0, 0.0, f64::from(width), f64::from(height));
    let cache = InterpreterCache::new();
    let mut interpreter = Interpreter::new(px_from_points, target, &cache, page.xref(), warnings.settings());
    let mut weigher = Weigher {
        weight: Weight::default(),
        times: 1.0,
        depth: 0,
        target,
        seen: BTreeSet::new(),
        masks: BTreeSet::new(),
        progress,
    };
    interpret_page(page, &mut interpreter, &mut weigher);
    weigher.weight
}

struct Weigher<'p> {
    weight: Weight,
    /// How often what is gone through now will be drawn: copies of a pattern's tile.
    times: f64,
    depth: u32,
    target: Rect,
    /// Pictures that were decoded.
    seen: BTreeSet<u128>,
    masks: BTreeSet<u128>,
    progress: &'p Progress,
}

impl<'a> Weigher<'_> {
    /// Adds something of so many points that covers these pixels.
    fn add(&mut self, points: f64, pixels: Rect) {
        if self.progress.is_cancelled() {
            Ended::Stopped.throw();
        }
        let w = &mut self.weight;
        w.objects += self.times;
        w.points += self.times * points;
        let seen = pixels.intersect(self.target);
        // What is not a number counts as everything.
        w.painted += self.times * if seen.is_finite() { seen.area() } else { self.target.area() };
        w.masks = self.masks.len();
        let fits = w.objects <= MOST_OBJECTS
            && w.points <= MOST_POINTS
            && w.painted <= MOST_PAINTED
            && w.decoded <= MOST_DECODED;
        // So written that what is not a number does not fit.
        if !fits {
            Ended::TooComplex.throw();
        }
    }

    /// Goes into a pattern, a mask or a drawn letter.
    fn deeper(&mut self, times: f64, into: impl FnOnce(&mut Self)) {
        if self.depth >= DEEPEST {
            Ended::TooComplex.throw();
        }
        let before = self.times;
        self.depth += 1;
        self.times *= times;
        into(self);
        self.times = before;
        self.depth -= 1;
    }

    fn mask(&mut self, mask: Option<&SoftMask<'a>>) {
        if let Some(mask) = mask
            && self.masks.insert(mask.cache_key())
        {
            self.add(0.0, self.target);
            self.deeper(1.0, |inside| mask.interpret(inside));
        }
    }

    fn paint(&mut self, paint: &Paint<'a>, covered: Rect, is_stroke: bool) {
        let Paint::Pattern(pattern) = paint else { return };
        match &**pattern {
            // Each pixel is a sum of its own.
            Pattern::Shading(_) => (0..4).for_each(|_| self.add(0.0, covered)),
            Pattern::Tiling(tile) => {
                let copies = copies(tile, covered.intersect(self.target));
                self.add(0.0, covered);
                self.deeper(copies, |inside| {
                    tile.interpret(inside, tile.matrix, is_stroke);
                });
            }
        }
    }

    /// Decodes a picture the first time, and holds it against what it claims.
    fn picture(&mut self, image: &Image<'a, '_>) {
        let stream = match image {
            Image::Stencil(stencil) => stencil.stream(),
            Image::Raster(raster) => raster.stream(),
        };
        self.count_pixels(stream, u64::from(image.width()) * u64::from(image.height()));
        let inner = ["SMask", "Mask"].into_iter().filter_map(|key| stream.dict().get::<Stream<'_>>(key));
        for mask in inner {
            let side = |key| u64::from(mask.dict().get::<u32>(key).unwrap_or(0));
            self.count_pixels(&mask, side("Width") * side("Height"));
            if self.seen.insert(mask.cache_key()) {
                whole(&mask);
            }
        }
        if !self.seen.insert(image.cache_key()) {
            return;
        }
        whole(stream);
        let mut is_full = false;
        match image {
            Image::Stencil(stencil) => stencil.with_stencil(
                |luma, _| is_full = fills(luma.height, luma.scale_factors.1, stencil.height()),
                None,
            ),
            Image::Raster(raster) => raster.with_rgba(
                |pixels, alpha| {
                    is_full = fills(pixels.height(), pixels.scale_factors().1, raster.height())
                        && (alpha.is_some() || !stream.dict().contains_key("SMask"));
                },
                None,
            ),
        }
        if !is_full {
            Ended::Broken("a picture").throw();
        }
    }

    fn count_pixels(&mut self, stream: &Stream<'_>, pixels: u64) {
        // Fax and JPEG 2000 streams have a size of their own besides the one that the page is told.
        let dict = stream.dict();
        let mut columns = 0;
        for key in ["DecodeParms", "DP"] {
            let listed = dict.get::<Array<'_>>(key).into_iter().flat_map(|all| all.iter::<Object<'_>>());
            let listed = listed.filter_map(Object::into_dict);
            let widths =
                dict.get::<Dict<'_>>(key).into_iter().chain(listed).filter_map(|p| p.get::<usize>("Columns"));
            columns = widths.map(|w| w as u64).fold(columns, u64::max);
        }
        let rows = ["Height", "H"].into_iter().filter_map(|key| dict.get::<u32>(key)).max();
        let rows = u64::from(rows.unwrap_or(1));
        let pixels = pixels.max(columns.saturating_mul(rows)).max(codestream_pixels(&stream.raw_data()));
        if pixels > MOST_PICTURE {
            Ended::TooComplex.throw();
        }
        self.weight.decoded += self.times * pixels as f64;
    }
}

impl<'a> Device<'a> for Weigher<'_> {
    fn draw_path(&mut self, path: &BezPath, props: DrawProps<'a>, draw_mode: &DrawMode) {
        let (points, extent) = match draw_mode {
            DrawMode::Fill(_) | DrawMode::Invisible => (points(path, props.transform, self.target), 0.0),
            DrawMode::Stroke(stroke) | DrawMode::FillAndStroke(_, stroke) => (
                points(path, props.transform, self.target) + dashes(path, stroke),
                f64::from(stroke.line_width),
            ),
        };
        let covered = props.transform.transform_rect_bbox(path.control_box().inflate(extent, extent));
        self.add(points, covered);
        self.mask(props.soft_mask.as_ref());
        self.paint(&props.paint, covered, matches!(draw_mode, DrawMode::Stroke(_)));
    }

    fn push_clip_path(&mut self, clip_path: &ClipPath) {
        self.add(points(&clip_path.path, Affine::IDENTITY, self.target), Rect::ZERO);
    }

    fn push_transparency_group(&mut self, _: f32, mask: Option<SoftMask<'a>>, _: BlendMode) {
        self.add(0.0, Rect::ZERO);
        self.mask(mask.as_ref());
    }

    fn draw_glyph_run(&mut self, run: &GlyphRun<'_, 'a>, props: DrawProps<'a>, _: &DrawMode) {
        self.mask(props.soft_mask.as_ref());
        for placed in run.glyphs() {
            self.add(LETTER, Rect::ZERO);
            if let Glyph::Type3(drawn) = &**placed {
                self.deeper(1.0, |inside| {
                    drawn.interpret(inside, props.transform, placed.transform(), &props.paint);
                });
            }
        }
        self.paint(&props.paint, self.target, false);
    }

    fn draw_image(&mut self, image: Image<'a, '_>, props: ImageDrawProps<'a>) {
        let size = Rect::new(0.0, 0.0, f64::from(image.width()), f64::from(image.height()));
        let covered = props.transform.transform_rect_bbox(size);
        self.add(4.0, covered);
        self.mask(props.soft_mask.as_ref());
        self.picture(&image);
        if let Image::Stencil(stencil) = &image {
            let mut paint = None;
            stencil.with_stencil(|_, p| paint = Some(p.clone()), None);
            if let Some(paint @ Paint::Pattern(_)) = paint {
                self.paint(&paint, covered, false);
            }
        }
    }

    fn pop_clip(&mut self) {}

    fn pop_transparency_group(&mut self) {}
}

/// Points of a path, curves that run far off the page counted by the pieces that they are drawn as.
fn points(path: &BezPath, px_from_path: Affine, target: Rect) -> f64 {
    let elements = path.elements();
    let curves = elements.iter().filter(|e| matches!(e, PathEl::QuadTo(..) | PathEl::CurveTo(..))).count();
    let size = |r: Rect| libm::hypot(r.width(), r.height());
    let wide = size(px_from_path.transform_rect_bbox(path.control_box()));
    let pieces = if wide > 4.0 * size(target) { wide.sqrt() } else { 4.0 };
    elements.len() as f64 + curves as f64 * pieces
}

fn dashes(path: &BezPath, stroke: &StrokeProps) -> f64 {
    let period: f64 = stroke.dash_array.iter().map(|d| f64::from(d.abs())).sum();
    // A pattern of nothing is a whole line.
    if period <= 0.0 {
        return 0.0;
    }
    4.0 * stroke.dash_array.len() as f64 * path.perimeter(1.0) / period
}

/// How often a tile is drawn to cover this part of the page: once, where it repeats; but a tile that is larger
/// than its step lies over its neighbours.
fn copies(tile: &TilingPattern<'_>, covered: Rect) -> f64 {
    let area = tile.matrix.inverse().transform_rect_bbox(covered);
    let along = |step: f32, cell: f64, seen: f64| {
        let step = f64::from(step.abs());
        let reach = if seen >= step { cell } else { cell + seen };
        (reach / step).ceil().max(1.0)
    };
    along(tile.x_step, tile.bbox.width(), area.width())
        * along(tile.y_step, tile.bbox.height(), area.height())
}

/// Whether a picture has as many rows as it claims, its own rows being scaled to those of the page.
fn fills(rows: u32, scale: f32, claimed: u32) -> bool {
    // A row less comes of rounding the scale.
    f64::from(rows) * f64::from(scale) + 0.5 * f64::from(scale.max(1.0)) >= f64::from(claimed)
}

/// The pixels of a JPEG 2000 codestream (ISO/IEC 15444-1, A.5.1), wherever in the data it begins; 0 of others.
fn codestream_pixels(data: &[u8]) -> u64 {
    const BEGINS: [u8; 4] = [0xFF, 0x4F, 0xFF, 0x51];
    if !data.starts_with(&BEGINS) && data.get(4..8).is_none_or(|b| b != b"jP  ") {
        return 0;
    }
    let Some(at) = data.windows(4).position(|w| w == BEGINS) else { return 0 };
    let long = |from: usize| {
        let bytes = data.get(at + from..).and_then(|b| b.first_chunk::<4>());
        bytes.map_or(0, |b| u64::from(u32::from_be_bytes(*b)))
    };
    long(8).saturating_mul(long(12))
}

fn whole(stream: &Stream<'_>) {
    match check_whole(stream) {
        Ok(()) => {}
        Err(Flaw::Damaged) => Ended::Broken("a picture").throw(),
        Err(Flaw::TooLong) => Ended::TooComplex.throw(),
    }
}
