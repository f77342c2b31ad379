//! A plate as a gray PNG that carries its resolution and its label.

use std::io::{self, Write};

use png::{BitDepth, ColorType, Compression, Encoder, PixelDimensions, Unit};

use super::{Plate, Plates};

pub(super) fn write(
    out: &mut dyn Write,
    plates: &Plates,
    plate: &Plate,
    bands: impl Iterator<Item = io::Result<Vec<u8>>>,
) -> io::Result<()> {
    let mut encoder = Encoder::new(out, plates.width, plates.height);
    encoder.set_color(ColorType::Grayscale);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_compression(Compression::Fast);
    let per_metre = (plates.dpi.get() / 0.0254).round() as u32;
    encoder.set_pixel_dims(Some(PixelDimensions { xppu: per_metre, yppu: per_metre, unit: Unit::Meter }));
    let clean = |text: &str| text.replace('\0', " ");
    encoder.add_itxt_chunk("Title".to_owned(), clean(&plates.title))?;
    encoder.add_itxt_chunk("Description".to_owned(), clean(&plates.about(plate)))?;
    let mut writer = encoder.write_header()?;
    let mut stream = writer.stream_writer_with_size(1 << 18)?;
    for band in bands {
        stream.write_all(&band?)?;
    }
    stream.finish()?;
    writer.finish()?;
    Ok(())
}
