//! PDF pages, rasterised at a resolution of choice onto white.
//!
//! A page is drawn in bands, so that a large sheet needs no more memory than a small one beside its gray
//! raster, and a cancelled reading stops at the next band. The work is done on a thread of its own: its stack
//! is deep enough for nested content, and a panic of the rasteriser ends there.

use std::thread;

use hayro::hayro_interpret::InterpreterSettings;
use hayro::hayro_interpret::util::TransformExt as _;
use hayro::hayro_syntax::page::Page;
use hayro::hayro_syntax::{LoadPdfError, Pdf};
use hayro::kurbo::Affine;
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::vello_cpu::{Pixmap, RasterizerSettings, RenderContext, Resources, TargetInit};
use hayro::{RenderCache, RenderSettings, render_into};
use slipsheet_core::units::Dpi;

use super::context::{Context, Input};
use super::gray::{Channels, Depth, Layout};
use super::resolution::Resolution;
use super::{ColourKind, Header, Orientation, ScanError};

/// The resolution where none was chosen: that of a fine duplicator.
pub const DEFAULT_DPI: f64 = 600.0;
/// Points to the inch (ISO 32000-1, 8.3.2.3).
const POINTS: f64 = 72.0;
/// Pixels that are rasterised at a time, four bytes each.
const BAND: usize = 1 << 26;
/// Stack of the thread, for content that is nested deeply.
const STACK: usize = 64 << 20;

/// Which page, and how fine.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wanted {
    pub page: u32,
    pub dpi: f64,
}

impl Wanted {
    pub fn new(page: u32, dpi: Option<Dpi>) -> Self {
        Self { page, dpi: dpi.map_or(DEFAULT_DPI, Dpi::get) }
    }
}

pub(super) fn header(input: &mut dyn Input, wanted: Wanted, cx: &Context<'_>) -> Result<Header, ScanError> {
    with_page(input, wanted, cx, |page, pages| {
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

/// The gray pixels, and whether any of them had a hue.
pub(super) fn pixels(
    input: &mut dyn Input,
    wanted: Wanted,
    cx: &Context<'_>,
) -> Result<(Vec<u8>, bool), ScanError> {
    with_page(input, wanted, cx, |page, _| {
        let (width, height) = size(page, wanted.dpi, cx)?;
        rasterised(page, (width, height), cx)
    })
}

/// Opens the file on a thread of its own and does the work with the page.
fn with_page<T: Send>(
    input: &mut dyn Input,
    wanted: Wanted,
    cx: &Context<'_>,
    work: impl FnOnce(&Page<'_>, u32) -> Result<T, ScanError> + Send,
) -> Result<T, ScanError> {
    let bytes = cx.all_bytes(input)?;
    let open = || {
        let pdf = Pdf::new(bytes).map_err(|e| trouble(cx, e))?;
        let pages = pdf.pages();
        let count = u32::try_from(pages.len()).unwrap_or(u32::MAX);
        if count == 0 {
            return Err(cx.damaged("it has no pages"));
        }
        let page = pages.get(wanted.page as usize).ok_or_else(|| ScanError::NoSuchPage {
            name: cx.name.to_owned(),
            page: wanted.page,
            pages: count,
        })?;
        work(page, count)
    };
    thread::scope(|scope| {
        let named = thread::Builder::new().name("PDF page".to_owned()).stack_size(STACK);
        let running = named.spawn_scoped(scope, open).map_err(|e| ScanError::from_io(cx.name, e))?;
        running.join().unwrap_or_else(|_| Err(cx.damaged("its decoder gave up")))
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

fn rasterised(
    page: &Page<'_>,
    (width, height): (u32, u32),
    cx: &Context<'_>,
) -> Result<(Vec<u8>, bool), ScanError> {
    let row = width as usize;
    let band_rows = (BAND / row).clamp(1, usize::from(u16::MAX) / 2).min(height as usize);
    // Asked for once in a way that can fail, as the rasteriser's own buffer would abort.
    drop(cx.buffer(4 * u64::from(width), band_rows as u64)?);
    let mut gray = cx.buffer(width.into(), height.into())?;
    // The box is stretched to whole pixels, by less than half of one.
    let (points_wide, points_high) = page.render_dimensions();
    let px_from_points = Affine::scale_non_uniform(
        f64::from(width) / f64::from(points_wide),
        f64::from(height) / f64::from(points_high),
    ) * page.initial_transform(true).to_kurbo();
    let (cache, interpreter) = (RenderCache::new(), InterpreterSettings::default());
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
    Ok((gray, coloured))
}
