//! Calibration sheets out, as plates and a preview in PNG or as a PDF at true size; and scans of them in.

use std::path::{Path, PathBuf};

use slipsheet_core::calibrate::{Mark, WedgeSheet, recognise};
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::overprint::{Overprint, OverprintError};
use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::units::{Dpi, SheetFormat};

use crate::atomic::{self, WriteError};
use crate::guide::pdf::{document, trace_circle};
use crate::lettering::{FontError, Lettering, PdfFonts, Style};
use crate::pdf_parts::content_in_mm;
use crate::png_out::{self, PngMeta};
use crate::scan::{self, PictureOptions, Profile, Progress, ScanError, ScanFormat};

/// Why a calibration sheet could not be drawn or a scan of it read.
#[derive(Debug, thiserror::Error)]
pub enum WedgeError {
    #[error("a sheet at this resolution has more than 400 million pixels; choose fewer dpi")]
    TooLarge,
    #[error(transparent)]
    Write(#[from] WriteError),
    #[error(transparent)]
    Font(#[from] FontError),
    #[error(transparent)]
    Model(#[from] OverprintError),
    #[error("a calibration sheet is read from the pixels of a scan, not from {format}; save it as PNG, JPEG or TIFF in colour: {}", path.display())]
    Kind { path: PathBuf, format: ScanFormat },
    #[error(transparent)]
    Unreadable(#[from] ScanError),
    #[error("the scan cannot be read ({why}); save it as PNG, JPEG or TIFF in colour: {}", path.display())]
    Scan { path: PathBuf, why: String },
}

/// A colour scan: sRGB, three bytes a pixel.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColourScan {
    /// Width in pixels.
    pub width: usize,
    /// Height in pixels.
    pub height: usize,
    /// Pixels, top row first.
    pub rgb: Vec<u8>,
    /// What its file's numbers meant.
    pub profile: Profile,
}

/// The most pixels of a sheet that is drawn or read.
const MOST: u64 = 400_000_000;

/// Columns and rows of the samples that make a pixel.
const SAMPLES: u32 = 3;

/// The plate of one ink: 0 full ink to 255 none, with its width and height in pixels.
///
/// # Errors
/// [`WedgeError::TooLarge`].
pub fn plate(sheet: &WedgeSheet, ink: usize, dpi: Dpi) -> Result<(u32, u32, Vec<u8>), WedgeError> {
    let (width, height) = sheet.size.pixels(dpi);
    if u64::from(width) * u64::from(height) > MOST {
        return Err(WedgeError::TooLarge);
    }
    let mut gray = vec![255_u8; width as usize * height as usize];
    for mark in sheet.marks(ink) {
        draw(&mut gray, (width, height), &mark, dpi);
    }
    Ok((width, height, gray))
}

/// One shape, its edges softened by how much of each pixel it covers.
fn draw(gray: &mut [u8], (width, height): (u32, u32), mark: &Mark, dpi: Dpi) {
    let scale = dpi.px_per_mm();
    let (x, y, w, h, cover) = match mark {
        Mark::Box { area, cover } => (area.x, area.y, area.width, area.height, *cover),
        Mark::Disc { centre, radius, cover } => {
            (centre.x - radius, centre.y - radius, 2.0 * radius, 2.0 * radius, *cover)
        }
    };
    let hit = |p: Point| match mark {
        Mark::Box { area, .. } => area.contains(p),
        Mark::Disc { centre, radius, .. } => centre.distance(p) <= *radius,
    };
    let ink = 255.0 * (1.0 - cover);
    let span = |from: f64, long: f64, most: u32| {
        (((from * scale).floor().max(0.0)) as u32)
            ..((((from + long) * scale).ceil().max(0.0) as u32).min(most))
    };
    for row in span(y, h, height) {
        for column in span(x, w, width) {
            let inside = (0..SAMPLES * SAMPLES)
                .filter(|i| {
                    let part =
                        |n: u32, i: u32| (f64::from(n) + (f64::from(i) + 0.5) / f64::from(SAMPLES)) / scale;
                    hit(Point::new(part(column, i % SAMPLES), part(row, i / SAMPLES)))
                })
                .count();
            let share = inside as f64 / f64::from(SAMPLES * SAMPLES);
            if let Some(px) = gray.get_mut(row as usize * width as usize + column as usize) {
                *px = (f64::from(*px) * (1.0 - share) + ink * share).round() as u8;
            }
        }
    }
}

/// Writes one plate as a PNG at true size.
///
/// # Errors
/// When it is too large or cannot be written.
pub fn write_plate(sheet: &WedgeSheet, ink: usize, dpi: Dpi, path: &Path) -> Result<(), WedgeError> {
    let (width, height, gray) = plate(sheet, ink, dpi)?;
    let name = sheet.inks.get(ink).cloned().unwrap_or_default();
    let text = vec![
        ("Title".to_owned(), format!("Calibration sheet, plate {}", ink + 1)),
        ("Inks".to_owned(), name),
    ];
    let meta = PngMeta { dpi, text };
    atomic::write(path, |out| png_out::write_gray(out, width, height, &gray, &meta))?;
    Ok(())
}

/// The sheet as the model predicts it with what is known so far, with width and height in pixels.
///
/// # Errors
/// [`WedgeError::TooLarge`].
pub fn preview(
    sheet: &WedgeSheet,
    model: &Overprint,
    curves: &[slipsheet_core::tone::ToneCurve],
    dpi: Dpi,
) -> Result<(u32, u32, Vec<u8>), WedgeError> {
    let plates: Vec<(u32, u32, Vec<u8>)> =
        (0..sheet.inks.len()).map(|k| plate(sheet, k, dpi)).collect::<Result<_, _>>()?;
    let (width, height) = sheet.size.pixels(dpi);
    let mut known = std::collections::BTreeMap::new();
    let mut rgb = Vec::with_capacity(width as usize * height as usize * 3);
    for i in 0..width as usize * height as usize {
        let grays: Vec<u8> = plates.iter().map(|(_, _, gray)| gray.get(i).copied().unwrap_or(255)).collect();
        let colour = known.entry(grays).or_insert_with_key(|grays| {
            let asked = grays.iter().map(|g| 1.0 - f64::from(*g) / 255.0);
            let cover: Vec<f64> = asked.zip(curves).map(|(a, c)| c.effective(a)).collect();
            model.mix(&cover).shown().rgb
        });
        rgb.extend_from_slice(colour);
    }
    Ok((width, height, rgb))
}

/// Writes the predicted sheet as a PNG.
///
/// # Errors
/// When it is too large or cannot be written.
pub fn write_preview(
    sheet: &WedgeSheet,
    model: &Overprint,
    curves: &[slipsheet_core::tone::ToneCurve],
    (dpi, path): (Dpi, &Path),
) -> Result<(), WedgeError> {
    let (width, height, rgb) = preview(sheet, model, curves, dpi)?;
    let text =
        vec![("Title".to_owned(), "Calibration sheet, as predicted before it was measured".to_owned())];
    let meta = PngMeta { dpi, text };
    atomic::write(path, |out| png_out::write_rgb(out, width, height, &rgb, &meta))?;
    Ok(())
}

/// The plates as a PDF of vector shapes, one page each, at true size, with the ink's name at the foot.
///
/// # Errors
/// When the program's own font is damaged.
pub fn pdf(sheet: &WedgeSheet) -> Result<Vec<u8>, WedgeError> {
    let lettering = Lettering::new()?;
    let mut fonts = PdfFonts::default();
    let mut drawn = |(ink, name): (usize, &String)| {
        let mut content = content_in_mm(sheet.size);
        for mark in sheet.marks(ink) {
            let (Mark::Box { cover, .. } | Mark::Disc { cover, .. }) = mark;
            content.set_fill_gray(1.0 - cover as f32);
            match mark {
                Mark::Box { area, .. } => {
                    let [x, y, w, h] = [area.x, area.y, area.width, area.height].map(|v| v as f32);
                    content.rect(x, y, w, h);
                }
                Mark::Disc { centre, radius, .. } => trace_circle(&mut content, centre, radius),
            }
            content.fill_nonzero();
        }
        let label = format!("Plate {} of {}: {name}", ink + 1, sheet.inks.len());
        let line = lettering.line(&label, Style::regular(8.0, [0; 3]));
        content.set_fill_gray(0.0);
        fonts.show(&mut content, &line, Affine::shift(26.0, sheet.size.height.get() - 8.0));
        content.finish().into_vec()
    };
    let plates = sheet.inks.iter().enumerate().map(|plate| (sheet.size, drawn(plate))).collect();
    Ok(document(plates, &fonts, "Calibration sheet")?)
}

/// Writes [`pdf`] to a file.
///
/// # Errors
/// When it cannot be written.
pub fn write_pdf(sheet: &WedgeSheet, path: &Path) -> Result<(), WedgeError> {
    Ok(atomic::write_bytes(path, &pdf(sheet)?)?)
}

/// Reads a scan in colour. A colour profile in the file is honoured; without one its bytes are taken as sRGB.
///
/// # Errors
/// When it cannot be opened or decoded, has no pixels of its own, or is too large.
pub fn read_colour(path: &Path) -> Result<ColourScan, WedgeError> {
    let info = scan::probe(path)?;
    if matches!(info.format, ScanFormat::Pdf | ScanFormat::OpenRaster) {
        return Err(WedgeError::Kind { path: path.to_owned(), format: info.format });
    }
    let trouble = |why: String| WedgeError::Scan { path: path.to_owned(), why };
    if u64::from(info.width) * u64::from(info.height) > MOST {
        return Err(trouble("it has more than 400 million pixels".to_owned()));
    }
    let name = path.display().to_string();
    let bytes = std::fs::read(path).map_err(|e| ScanError::from_io(&name, e))?;
    let options = PictureOptions { srgb_alone: true, ..PictureOptions::default() };
    let picture = scan::read_picture(&name, &bytes, &options, &Progress::new())?;
    let (width, height) = (picture.raster.width() as usize, picture.raster.height() as usize);
    Ok(ColourScan { width, height, rgb: picture.raster.into_pixels(), profile: picture.profile })
}

/// How many inks a scanned sheet of this format was printed with, where its corner marks and codes tell.
pub fn inks_of(scan: &ColourScan, format: SheetFormat) -> Option<usize> {
    // Every ink is dark in one channel at least.
    let gray = scan.rgb.chunks_exact(3).map(|px| px.iter().copied().min().unwrap_or(255)).collect();
    let (width, height) = (u32::try_from(scan.width).ok()?, u32::try_from(scan.height).ok()?);
    let raster = GrayRaster::new(width, height, gray).ok()?;
    recognise(&Pyramid::new(raster, Dpi::default()), &[format]).map(|found| found.inks)
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::calibrate::PatchKind;

    fn sheet() -> WedgeSheet {
        let names = ["Reed", "Roof tile"].map(str::to_owned);
        WedgeSheet::new(SheetFormat::Letter.size(), &names, 1).unwrap()
    }

    #[test]
    fn a_plate_has_its_own_steps_and_leaves_the_other_inks_out() {
        let sheet = sheet();
        let (w, h, gray) = plate(&sheet, 0, Dpi::new(100.0).unwrap()).unwrap();
        assert_eq!((w, h), (850, 1100));
        for patch in &sheet.patches {
            let p = patch.area.centre();
            let at = (p.y * 100.0 / 25.4) as usize * 850 + (p.x * 100.0 / 25.4) as usize;
            let wanted = 255.0 * (1.0 - patch.kind.asked(0));
            assert!((f64::from(gray[at]) - wanted).abs() <= 1.0, "{:?}", patch.kind);
        }
        assert!(sheet.patches.iter().any(|p| p.kind == PatchKind::Overprint { mask: 3 }));
    }

    #[test]
    fn the_pdf_has_a_page_of_true_size_for_each_plate() {
        let bytes = pdf(&sheet()).unwrap();
        let text = String::from_utf8_lossy(&bytes);
        assert!(text.starts_with("%PDF-") && text.contains("/Count 2"));
        assert!(text.contains("/MediaBox [0 0 612 792]"), "{text}");
        let names = ["Reed", "Café – fjord"].map(str::to_owned);
        let sheet = WedgeSheet::new(SheetFormat::Letter.size(), &names, 1).unwrap();
        let read = crate::lettering::tests::read_pdf(&pdf(&sheet).unwrap());
        assert_eq!(read, ["Plate 1 of 2: Reed", "Plate 2 of 2: Café – fjord"]);
    }

    #[test]
    fn what_is_no_picture_is_refused_in_a_sentence() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("scan.png");
        let message = |bytes: &[u8]| {
            std::fs::write(&path, bytes).unwrap();
            read_colour(&path).unwrap_err().to_string()
        };
        assert!(message(b"no picture").contains("save the scan as one of these"));
        assert!(message(b"").contains("the file is empty"));
        assert!(
            message(&pdf(&sheet()).unwrap()).contains("not from PDF; save it as PNG, JPEG or TIFF in colour")
        );
        let gray = vec![9; 100 * 80];
        let mut png = Vec::new();
        png_out::write_gray(&mut png, 100, 80, &gray, &PngMeta::default()).unwrap();
        assert!(message(&png[..png.len() / 2]).contains("ends too early"));
        std::fs::remove_file(&path).unwrap();
        assert!(read_colour(&path).unwrap_err().to_string().contains("there is no such file"));
    }
}
