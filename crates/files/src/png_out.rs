//! Pictures out: PNG files with their resolution, their colour space and a few
//! words of text, compressed for speed.

use std::io::{self, Write};

use png::{BitDepth, ColorType, Compression, Encoder, PixelDimensions, SrgbRenderingIntent, Unit};
use slipsheet_core::units::Dpi;

/// What a written picture says about itself.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PngMeta {
    /// Resolution, stored as whole pixels per metre (pHYs).
    pub dpi: Dpi,
    /// Keyword and text pairs. A keyword is 1 to 79 Latin-1 characters, as the PNG standard asks.
    pub text: Vec<(String, String)>,
}

/// Writes sRGB pixels, three bytes each, top row first.
///
/// # Errors
/// When the buffer does not hold `width * height` pixels, a keyword is refused, or `w` fails.
pub fn write_rgb(w: impl Write, width: u32, height: u32, rgb: &[u8], meta: &PngMeta) -> io::Result<()> {
    write(w, (width, height), ColorType::Rgb, rgb, meta)
}

/// Writes gray pixels, one byte each, 0 black to 255 white, top row first.
pub fn write_gray(w: impl Write, width: u32, height: u32, gray: &[u8], meta: &PngMeta) -> io::Result<()> {
    write(w, (width, height), ColorType::Grayscale, gray, meta)
}

/// Writes sRGB pixels with straight alpha, four bytes each, top row first.
pub fn write_rgba(w: impl Write, width: u32, height: u32, rgba: &[u8], meta: &PngMeta) -> io::Result<()> {
    write(w, (width, height), ColorType::Rgba, rgba, meta)
}

fn write(
    w: impl Write,
    (width, height): (u32, u32),
    color: ColorType,
    pixels: &[u8],
    meta: &PngMeta,
) -> io::Result<()> {
    let wanted = u64::from(width) * u64::from(height) * color.samples() as u64;
    if pixels.len() as u64 != wanted {
        let message =
            format!("a picture of {width} x {height} pixels needs {wanted} bytes, not {}", pixels.len());
        return Err(io::Error::new(io::ErrorKind::InvalidInput, message));
    }
    let mut encoder = Encoder::new(w, width, height);
    encoder.set_color(color);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_compression(Compression::Fast);
    encoder.set_source_srgb(SrgbRenderingIntent::Perceptual);
    let per_metre = (meta.dpi.get() / 0.0254).round() as u32;
    encoder.set_pixel_dims(Some(PixelDimensions { xppu: per_metre, yppu: per_metre, unit: Unit::Meter }));
    for (keyword, text) in &meta.text {
        if is_latin1(text) {
            encoder.add_text_chunk(keyword.clone(), text.clone())?;
        } else {
            encoder.add_itxt_chunk(keyword.clone(), text.clone())?;
        }
    }
    let mut writer = encoder.write_header()?;
    writer.write_image_data(pixels)?;
    writer.finish()?;
    Ok(())
}

/// Whether every character has a code below 256 and is not NUL, as tEXt needs.
fn is_latin1(text: &str) -> bool {
    text.chars().all(|c| matches!(u32::from(c), 1..=0xff))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Smooth art: slow waves with a little grain, as a proof of washes has.
    fn waves(width: u32, height: u32, samples: usize) -> Vec<u8> {
        let mut seed = 1_u32;
        let mut pixels = Vec::with_capacity(width as usize * height as usize * samples);
        for y in 0..height {
            for x in 0..width {
                seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let grain = (seed >> 31) as i32;
                for s in 0..samples as u32 {
                    let wave = (x / 7 + y / 11 + 40 * s) % 400;
                    let up = wave.min(400 - wave) as i32;
                    pixels.push((40 + up + grain).clamp(0, 255) as u8);
                }
            }
        }
        pixels
    }

    type Decoded = (Vec<u8>, png::Info<'static>);

    fn decoded(file: &[u8]) -> Decoded {
        let mut reader = png::Decoder::new(io::Cursor::new(file)).read_info().unwrap();
        let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
        reader.next_frame(&mut pixels).unwrap();
        reader.finish().unwrap();
        (pixels, reader.info().clone())
    }

    #[test]
    fn every_kind_comes_back_as_it_was_written() {
        let meta = PngMeta { dpi: Dpi::new(600.0).unwrap(), text: Vec::new() };
        let mut file = Vec::new();
        write_gray(&mut file, 37, 21, &waves(37, 21, 1), &meta).unwrap();
        assert_eq!(decoded(&file).0, waves(37, 21, 1));
        file.clear();
        write_rgb(&mut file, 37, 21, &waves(37, 21, 3), &meta).unwrap();
        assert_eq!(decoded(&file).0, waves(37, 21, 3));
        file.clear();
        write_rgba(&mut file, 37, 21, &waves(37, 21, 4), &meta).unwrap();
        assert_eq!(decoded(&file).0, waves(37, 21, 4));
    }

    #[test]
    fn resolution_colour_space_and_text_are_in_the_file() {
        let text = vec![
            ("Title".to_owned(), "Tidewrack, naïve proof".to_owned()),
            ("Description".to_owned(), "ink over ink → paper".to_owned()),
        ];
        let meta = PngMeta { dpi: Dpi::new(300.0).unwrap(), text };
        let mut file = Vec::new();
        write_rgb(&mut file, 2, 1, &[1, 2, 3, 4, 5, 6], &meta).unwrap();
        let (_, info) = decoded(&file);
        let dims = info.pixel_dims.unwrap();
        assert_eq!((dims.xppu, dims.yppu, dims.unit), (11811, 11811, Unit::Meter));
        assert_eq!(info.srgb, Some(SrgbRenderingIntent::Perceptual));
        let latin = info.uncompressed_latin1_text.first().unwrap();
        assert_eq!((latin.keyword.as_str(), latin.text.as_str()), ("Title", "Tidewrack, naïve proof"));
        let wide = info.utf8_text.first().unwrap();
        assert_eq!(
            (wide.keyword.as_str(), wide.get_text().unwrap().as_str()),
            ("Description", "ink over ink → paper")
        );
    }

    #[test]
    fn a_buffer_of_the_wrong_size_and_an_empty_keyword_are_refused() {
        let meta = PngMeta::default();
        assert!(write_gray(io::sink(), 3, 3, &[0; 8], &meta).is_err());
        let meta = PngMeta { text: vec![(String::new(), "x".to_owned())], ..PngMeta::default() };
        assert!(write_gray(io::sink(), 1, 1, &[0], &meta).is_err());
    }

    #[test]
    #[ignore = "a measurement, to be run in release"]
    fn letter_at_600_dpi_is_written_in_time() {
        let (w, h) = (5100, 6600);
        let rgb = waves(w, h, 3);
        let mut file = Vec::with_capacity(1 << 26);
        for _ in 0..3 {
            file.clear();
            let start = std::time::Instant::now();
            write_rgb(&mut file, w, h, &rgb, &PngMeta::default()).unwrap();
            let took = start.elapsed();
            std::io::stderr().write_all(format!("{} bytes in {took:?}\n", file.len()).as_bytes()).unwrap();
        }
    }
}
