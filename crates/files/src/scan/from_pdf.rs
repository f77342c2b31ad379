//! PDF pages, rasterised at a resolution of choice onto white.
//!
//! A page is looked through before it is drawn: what is damaged or missing ends the reading, and so does what
//! would take too long. Then it is drawn in bands, so that a large sheet needs no more memory than a small one
//! beside its gray raster. The work is done on a thread of its own: its stack is deep enough for nested content,
//! a panic of the rasteriser ends there, and a person who stops the reading does not wait for it.

use std::sync::Arc;
use std::sync::atomic::Ordering;

use hayro::hayro_interpret::util::TransformExt as _;
use hayro::hayro_syntax::object::Object;
use hayro::hayro_syntax::page::Page;
use hayro::hayro_syntax::{LoadPdfError, Pdf};
use hayro::kurbo::Affine;
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::vello_cpu::{Pixmap, RasterizerSettings, RenderContext, Resources, TargetInit};
use hayro::{RenderCache, RenderSettings, render_into};
use slipsheet_core::units::Dpi;
use slipsheet_document::layer::PAGE_DPI;

use super::apart::{Ended, apart};
use super::context::{Context, Input};
use super::gray::{Channels, Depth, Layout};
use super::pdf_unpack::{check_file, check_length};
use super::pdf_walk::check_page;
use super::pdf_weigh::{MOST_DECODED, MOST_OBJECTS, Warnings, Weight, weigh};
use super::resolution::Resolution;
use super::{ColourKind, Header, Orientation, ScanError, ScanNotice};

/// Points to the inch (ISO 32000-1, 8.3.2.3).
const POINTS: f64 = 72.0;
/// Pixels that are rasterised at a time, four bytes each.
const BAND: usize = 1 << 26;
/// The most bytes that the masks of a band may take.
const MOST_MASKS: usize = 1 << 30;
/// The most pages that are counted.
const MOST_PAGES: usize = 100_000;
/// How long a page may take, in minutes. What is weighed and found light enough takes far less on any machine.
const MINUTES: u64 = 10;

/// Which page, and how fine.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wanted {
    pub page: u32,
    pub dpi: f64,
}

impl Wanted {
    pub fn new(page: u32, dpi: Option<Dpi>) -> Self {
        Self { page, dpi: dpi.map_or(PAGE_DPI, Dpi::get) }
    }
}

pub(super) fn header(input: &mut dyn Input, wanted: Wanted, cx: &Context<'_>) -> Result<Header, ScanError> {
    with_page(input, wanted, cx, move |page, pages, cx| {
        let (width, height) = size(page, wanted.dpi, cx)?;
        Ok(Header {
            width,
            height,
            bits: 8,
            colour: ColourKind::Rgb,
            resolution: Some(Resolution { x: wanted.dpi, y: wanted.dpi }),
            pages,
            orientation: Orientation::UPRIGHT,
        })
    })
}

/// What a page gave.
pub(super) struct Drawn {
    pub gray: Vec<u8>,
    /// Whether any pixel had a hue.
    pub coloured: bool,
    pub notices: Vec<ScanNotice>,
}

/// The page in gray pixels.
pub(super) fn pixels(input: &mut dyn Input, wanted: Wanted, cx: &Context<'_>) -> Result<Drawn, ScanError> {
    with_page(input, wanted, cx, move |page, _, cx| {
        let (width, height) = size(page, wanted.dpi, cx)?;
        rasterised(page, (width, height), cx)
    })
}

/// Opens the file on a thread of its own and does the work with the page.
fn with_page<T: Send + 'static>(
    input: &mut dyn Input,
    wanted: Wanted,
    cx: &Context<'_>,
    work: impl FnOnce(&Page<'_>, u32, &Context<'_>) -> Result<T, ScanError> + Send + 'static,
) -> Result<T, ScanError> {
    let bytes = cx.all_bytes(input)?;
    apart(cx, MINUTES, move |cx| {
        let ended = |e: Ended| e.error(cx.name);
        check_file(&bytes).map_err(|_too_long| ended(Ended::TooComplex))?;
        let pdf = Pdf::new(bytes).map_err(|e| trouble(cx, e))?;
        for object in pdf.objects() {
            cx.tick(0, 1)?;
            if let Object::Stream(stream) = object {
                check_length(&stream).map_err(|_too_long| ended(Ended::TooComplex))?;
            }
        }
        let pages = pdf.pages();
        let count = pages.len().min(MOST_PAGES) as u32;
        if count == 0 {
            return Err(cx.damaged("it has no pages"));
        }
        let page = pages.get(wanted.page as usize).filter(|_| wanted.page < count);
        let page = page.ok_or_else(|| ScanError::NoSuchPage {
            name: cx.name.to_owned(),
            page: wanted.page,
            pages: count,
        })?;
        work(page, count, cx)
    })
}

fn trouble(cx: &Context<'_>, error: LoadPdfError) -> ScanError {
    match error {
        LoadPdfError::Decryption(_) => ScanError::Encrypted { name: cx.name.to_owned(), format: cx.format },
        LoadPdfError::Invalid => cx.damaged("its pages cannot be found"),
    }
}

/// The page's box in pixels, refused before anything of that size is asked for.
fn size(page: &Page<'_>, dpi: f64, cx: &Context<'_>) -> Result<(u32, u32), ScanError> {
    let (width, height) = page.render_dimensions();
    // The cast saturates, and the check refuses what is then too large.
    let px = |points: f32| ((f64::from(points) / POINTS * dpi).round() as u32).max(1);
    let (width, height) = (px(width), px(height));
    cx.check_size(width, height)?;
    // The rasteriser counts columns in 16 bits.
    if width > u32::from(u16::MAX) {
        return Err(ScanError::TooWide { name: cx.name.to_owned(), width });
    }
    Ok((width, height))
}

fn rasterised(page: &Page<'_>, (width, height): (u32, u32), cx: &Context<'_>) -> Result<Drawn, ScanError> {
    check_page(page).map_err(|e| e.error(cx.name))?;
    // The box is stretched to whole pixels, by less than half of one.
    let (points_wide, points_high) = page.render_dimensions();
    let px_from_points = Affine::scale_non_uniform(
        f64::from(width) / f64::from(points_wide),
        f64::from(height) / f64::from(points_high),
    ) * page.initial_transform(true).to_kurbo();
    let warnings = Arc::new(Warnings::default());
    let weight = weigh(page, (width, height), px_from_points, &warnings, cx.progress);
    warnings.check().map_err(|e| e.error(cx.name))?;

    let row = width as usize;
    let band_rows = band_rows(&weight, (width, height)).ok_or_else(|| Ended::TooComplex.error(cx.name))?;
    // Asked for once in a way that can fail, as the rasteriser's own buffer would abort.
    drop(cx.buffer(4 * u64::from(width), band_rows as u64)?);
    let mut gray = cx.buffer(width.into(), height.into())?;
    let (cache, interpreter) = (RenderCache::new(), warnings.settings());
    // Hinting would move edges to whole pixels of a screen.
    let settings = RenderSettings { hinting: false, ..RenderSettings::default() };
    let layout = Layout::new(Channels::Rgb, Depth::Eight);
    let (mut coloured, mut done) = (false, 0_u32);
    for out in gray.chunks_mut(row * band_rows) {
        cx.tick(done, height)?;
        let rows = (out.len() / row) as u16;
        let mut context = RenderContext::new(width as u16, rows);
        let band_from_points = Affine::translate((0.0, -f64::from(done))) * px_from_points;
        render_into(page, &cache, &interpreter, &settings, &mut context, band_from_points);
        context.flush();
        let mut drawn = Pixmap::new(width as u16, rows);
        let onto_white =
            RasterizerSettings { target_init: TargetInit::Clear(WHITE), ..RasterizerSettings::default() };
        context.render_with(&mut drawn, &mut Resources::default(), onto_white);
        let mut rgb = vec![0; 3 * row];
        for (samples, out) in drawn.data_as_u8_slice().chunks_exact(4 * row).zip(out.chunks_exact_mut(row)) {
            for (to, [r, g, b, _]) in rgb.as_chunks_mut::<3>().0.iter_mut().zip(samples.as_chunks::<4>().0) {
                coloured |= r != g || g != b;
                *to = [*r, *g, *b];
            }
            cx.mix.row(layout, &mut rgb, out);
        }
        done += u32::from(rows);
    }
    cx.tick(1, 1)?;
    warnings.check().map_err(|e| e.error(cx.name))?;
    let applies = [
        (warnings.font.load(Ordering::Relaxed), ScanNotice::OtherFont),
        (warnings.note.load(Ordering::Relaxed), ScanNotice::NoteLeftOut),
    ];
    let notices = applies.into_iter().filter(|(applies, _)| *applies).map(|(_, notice)| notice).collect();
    Ok(Drawn { gray, coloured, notices })
}

/// How many rows are drawn at a time: fewer where a page has many masks, each of which is as large as the band.
/// None where that makes so many bands that going through the page for each takes too long.
fn band_rows(weight: &Weight, (width, height): (u32, u32)) -> Option<usize> {
    let pixels = (MOST_MASKS / (weight.masks + 1)).min(BAND);
    let rows = (pixels / width as usize).clamp(1, usize::from(u16::MAX) / 2).min(height as usize);
    let bands = f64::from(height) / rows as f64;
    (bands <= 64.0 || bands * weight.objects <= 16.0 * MOST_OBJECTS)
        .then_some(rows)
        .filter(|_| bands * weight.decoded <= 4.0 * MOST_DECODED)
}
