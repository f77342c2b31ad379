//! Small files of every kind, made in memory for the tests.

use std::io::Cursor;

use image::codecs::jpeg::{JpegEncoder, PixelDensity, PixelDensityUnit};
use image::{ExtendedColorType, ImageEncoder as _};

use super::{Job, Progress, ScanError, ScanInfo, ScanOptions};

/// An EXIF block (little-endian TIFF) with an orientation and a resolution in dpi.
pub(super) fn exif_block(orientation: u16, dpi: u32) -> Vec<u8> {
    let mut block = b"II\x2a\0\x08\0\0\0\x04\0".to_vec();
    let mut entry = |tag: u16, kind: u16, value: u32| {
        block.extend(tag.to_le_bytes());
        block.extend(kind.to_le_bytes());
        block.extend(1_u32.to_le_bytes());
        block.extend(value.to_le_bytes());
    };
    // 8 for the header, 2 for the count, four entries of 12, 4 for the next directory.
    let rational_at = 8 + 2 + 4 * 12 + 4;
    entry(0x0112, 3, orientation.into());
    entry(0x011A, 5, rational_at);
    entry(0x011B, 5, rational_at);
    entry(0x0128, 3, 2);
    block.extend([0; 4]);
    block.extend(dpi.to_le_bytes());
    block.extend(1_u32.to_le_bytes());
    block
}

/// A JPEG of gray pixels, of best quality, with a JFIF density in dots per inch.
pub(crate) fn jpeg_gray(width: u32, height: u32, gray: &[u8], dpi: Option<u16>) -> Vec<u8> {
    jpeg(width, height, gray, ExtendedColorType::L8, dpi)
}

pub(super) fn jpeg_rgb(width: u32, height: u32, rgb: &[u8], dpi: Option<u16>) -> Vec<u8> {
    jpeg(width, height, rgb, ExtendedColorType::Rgb8, dpi)
}

fn jpeg(width: u32, height: u32, pixels: &[u8], colour: ExtendedColorType, dpi: Option<u16>) -> Vec<u8> {
    let mut file = Vec::new();
    let mut encoder = JpegEncoder::new_with_quality(&mut file, 100);
    if let Some(dpi) = dpi {
        encoder.set_pixel_density(PixelDensity { density: (dpi, dpi), unit: PixelDensityUnit::Inches });
    }
    encoder.write_image(pixels, width, height, colour).unwrap();
    file
}

/// Puts an APP1 segment with this block right after a JPEG's start marker.
pub(super) fn with_exif(jpeg: &[u8], block: &[u8]) -> Vec<u8> {
    let mut file = vec![0xFF, 0xD8, 0xFF, 0xE1];
    file.extend((block.len() as u16 + 8).to_be_bytes());
    file.extend(b"Exif\0\0");
    file.extend(block);
    file.extend(&jpeg[2..]);
    file
}

pub(super) struct PngKind {
    pub colour: png::ColorType,
    pub depth: png::BitDepth,
    pub palette: Option<Vec<u8>>,
    pub trns: Option<Vec<u8>>,
}

pub(super) fn png_of(width: u32, height: u32, kind: PngKind, data: &[u8]) -> Vec<u8> {
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, width, height);
    encoder.set_color(kind.colour);
    encoder.set_depth(kind.depth);
    if let Some(palette) = kind.palette {
        encoder.set_palette(palette);
    }
    if let Some(trns) = kind.trns {
        encoder.set_trns(trns);
    }
    let unit = png::Unit::Meter;
    encoder.set_pixel_dims(Some(png::PixelDimensions { xppu: 11811, yppu: 11811, unit }));
    let mut writer = encoder.write_header().unwrap();
    writer.write_image_data(data).unwrap();
    writer.finish().unwrap();
    file
}

pub(super) fn png_plain(
    width: u32,
    height: u32,
    colour: png::ColorType,
    depth: png::BitDepth,
    data: &[u8],
) -> Vec<u8> {
    png_of(width, height, PngKind { colour, depth, palette: None, trns: None }, data)
}

pub(super) fn bmp_rgb(width: u32, height: u32, rgb: &[u8]) -> Vec<u8> {
    let mut file = Vec::new();
    let encoder = image::codecs::bmp::BmpEncoder::new(&mut file);
    encoder.write_image(rgb, width, height, ExtendedColorType::Rgb8).unwrap();
    // Pixels per metre, which the encoder leaves at 0.
    file[38..42].copy_from_slice(&23622_u32.to_le_bytes());
    file[42..46].copy_from_slice(&23622_u32.to_le_bytes());
    file
}

pub(super) fn webp_rgb(width: u32, height: u32, rgb: &[u8], exif: Option<Vec<u8>>) -> Vec<u8> {
    let mut file = Vec::new();
    let mut encoder = image::codecs::webp::WebPEncoder::new_lossless(&mut file);
    if let Some(block) = exif {
        encoder.set_exif_metadata(block).unwrap();
    }
    encoder.write_image(rgb, width, height, ExtendedColorType::Rgb8).unwrap();
    file
}

/// One page of a TIFF: any colour type the encoder has, any compression.
pub(super) fn tiff_of<C: tiff::encoder::colortype::ColorType>(
    width: u32,
    height: u32,
    data: &[C::Inner],
    compression: tiff::encoder::Compression,
) -> Vec<u8>
where
    [C::Inner]: tiff::encoder::TiffValue,
{
    let mut file = Cursor::new(Vec::new());
    let mut encoder = tiff::encoder::TiffEncoder::new(&mut file).unwrap().with_compression(compression);
    let mut image = encoder.new_image::<C>(width, height).unwrap();
    image.resolution(tiff::tags::ResolutionUnit::Inch, tiff::encoder::Rational { n: 600, d: 1 });
    image.rows_per_strip(2).unwrap();
    image.write_data(data).unwrap();
    file.into_inner()
}

/// A hand-built little-endian TIFF with one strip: entries of tag and values (as SHORTs when
/// they fit, else LONGs), and the pixel data.
pub(super) fn tiff_by_hand(entries: &[(u16, Vec<u32>)], data: &[u8]) -> Vec<u8> {
    let mut all: Vec<(u16, Vec<u32>)> = entries.to_vec();
    all.push((273, vec![8]));
    all.push((279, vec![data.len() as u32]));
    all.sort();
    let mut file = b"II\x2a\0".to_vec();
    let padded = data.len().next_multiple_of(2);
    file.extend((8 + padded as u32).to_le_bytes());
    file.extend(data);
    file.resize(8 + padded, 0);
    let mut spill_at = file.len() + 2 + 12 * all.len() + 4;
    let mut spill = Vec::new();
    file.extend((all.len() as u16).to_le_bytes());
    for (tag, values) in &all {
        file.extend(tag.to_le_bytes());
        file.extend(3_u16.to_le_bytes());
        file.extend((values.len() as u32).to_le_bytes());
        let mut bytes: Vec<u8> = values.iter().flat_map(|v| (*v as u16).to_le_bytes()).collect();
        if bytes.len() > 4 {
            file.extend((spill_at as u32).to_le_bytes());
            spill_at += bytes.len();
            spill.extend(bytes);
        } else {
            bytes.resize(4, 0);
            file.extend(bytes);
        }
    }
    file.extend([0; 4]);
    file.extend(spill);
    file
}

/// The tags of a picture of one strip: width, height, bits, photometric interpretation.
pub(super) fn tiff_tags(width: u32, height: u32, bits: Vec<u32>, photometric: u32) -> Vec<(u16, Vec<u32>)> {
    let samples = bits.len() as u32;
    vec![
        (256, vec![width]),
        (257, vec![height]),
        (258, bits),
        (259, vec![1]),
        (262, vec![photometric]),
        (277, vec![samples]),
        (278, vec![height]),
    ]
}

/// A PDF with a page of this box (in points) for each content stream, and a table of where its objects lie.
pub(crate) fn pdf_of(page_box: [i32; 4], contents: &[&str]) -> Vec<u8> {
    let [x0, y0, x1, y1] = page_box;
    let kids: Vec<String> = (0..contents.len()).map(|i| format!("{} 0 R", 3 + 2 * i)).collect();
    let mut objects = vec![
        "<< /Type /Catalog /Pages 2 0 R >>".to_owned(),
        format!("<< /Type /Pages /Kids [{}] /Count {} >>", kids.join(" "), contents.len()),
    ];
    for (i, content) in contents.iter().enumerate() {
        objects.push(format!(
            "<< /Type /Page /Parent 2 0 R /MediaBox [{x0} {y0} {x1} {y1}] /Resources << >> /Contents {} 0 R >>",
            4 + 2 * i
        ));
        objects.push(format!("<< /Length {} >>\nstream\n{content}\nendstream", content.len()));
    }
    let mut file = "%PDF-1.4\n".to_owned();
    let mut table = "0000000000 65535 f \n".to_owned();
    for (i, object) in objects.iter().enumerate() {
        table += &format!("{:010} 00000 n \n", file.len());
        file += &format!("{} 0 obj\n{object}\nendobj\n", i + 1);
    }
    let (at, count) = (file.len(), objects.len() + 1);
    file += &format!(
        "xref\n0 {count}\n{table}trailer\n<< /Size {count} /Root 1 0 R >>\nstartxref\n{at}\n%%EOF\n"
    );
    file.into_bytes()
}

/// An `OpenRaster` file of this `stack.xml` and these other entries, the XML deflated.
pub(crate) fn ora_of(stack: &str, entries: &[(&str, &[u8])]) -> Vec<u8> {
    use std::io::Write as _;
    use zip::write::SimpleFileOptions;
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let stored = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    let deflated = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Deflated);
    archive.start_file("mimetype", stored).unwrap();
    archive.write_all(b"image/openraster").unwrap();
    archive.start_file("stack.xml", deflated).unwrap();
    archive.write_all(stack.as_bytes()).unwrap();
    for (name, bytes) in entries {
        archive.start_file(*name, stored).unwrap();
        archive.write_all(bytes).unwrap();
    }
    archive.finish().unwrap().into_inner()
}

/// A PDF of one page of 72 x 72 points that draws these contents. The streams, each the entries of its dictionary
/// and its data, are objects from number 5 on and called `/X5` and so on.
pub(super) fn pdf_drawing(contents: &str, streams: &[(String, Vec<u8>)]) -> Vec<u8> {
    let names: String = (5..5 + streams.len()).map(|n| format!("/X{n} {n} 0 R ")).collect();
    let page = format!(
        "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 72 72] /Contents 4 0 R /Resources << /XObject << {names} >> \
         /Pattern << {names} >> >> >>"
    );
    let stream = |dict: &str, data: &[u8]| {
        let head = format!("<< {dict} /Length {} >>\nstream\n", data.len());
        [head.as_bytes(), data, b"\nendstream"].concat()
    };
    let mut objects = vec![
        b"<< /Type /Catalog /Pages 2 0 R >>".to_vec(),
        b"<< /Type /Pages /Kids [3 0 R] /Count 1 >>".to_vec(),
        page.into_bytes(),
        stream("", contents.as_bytes()),
    ];
    objects.extend(streams.iter().map(|(dict, data)| stream(dict, data)));
    let mut file = b"%PDF-1.4\n".to_vec();
    let mut table = "0000000000 65535 f \n".to_owned();
    for (i, object) in objects.iter().enumerate() {
        table += &format!("{:010} 00000 n \n", file.len());
        file.extend([format!("{} 0 obj\n", i + 1).as_bytes(), object, b"\nendobj\n"].concat());
    }
    let (at, count) = (file.len(), objects.len() + 1);
    let end =
        format!("xref\n0 {count}\n{table}trailer\n<< /Size {count} /Root 1 0 R >>\nstartxref\n{at}\n%%EOF\n");
    file.extend(end.as_bytes());
    file
}

/// What bytes in memory say about their first page.
pub(super) fn probe_bytes(name: &str, bytes: &[u8]) -> Result<ScanInfo, ScanError> {
    let job = Job { name, options: ScanOptions::default(), progress: &Progress::new() };
    job.guarded(&mut Cursor::new(bytes), |input, cx| job.info(input, cx))
}
