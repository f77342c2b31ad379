//! PNG, JPEG, WebP and BMP files read back.

use png::{BitDepth, ColorType};
use slipsheet_core::units::Dpi;

use super::testing::probe_bytes;
use super::testing::{
    PngKind, bmp_rgb, exif_block, jpeg_gray, jpeg_rgb, png_of, png_plain, webp_rgb, with_exif,
};
use super::*;

fn scan(bytes: &[u8]) -> Scan {
    read_bytes("test", bytes, &ScanOptions::default(), &Progress::new()).unwrap()
}

fn scan_as(bytes: &[u8], gray: GrayFrom) -> Vec<u8> {
    let options = ScanOptions { gray, ..ScanOptions::default() };
    read_bytes("test", bytes, &options, &Progress::new()).unwrap().raster.pixels().to_vec()
}

fn pixels(bytes: &[u8]) -> Vec<u8> {
    scan(bytes).raster.pixels().to_vec()
}

#[test]
fn gray_png_of_every_depth_is_exact() {
    let g = |depth, width, data: &[u8]| pixels(&png_plain(width, 1, ColorType::Grayscale, depth, data));
    assert_eq!(g(BitDepth::One, 10, &[0b1010_0000, 0b0100_0000]), [255, 0, 255, 0, 0, 0, 0, 0, 0, 255]);
    assert_eq!(g(BitDepth::Two, 4, &[0b0001_1011]), [0, 85, 170, 255]);
    let four: Vec<u8> = (0..8).map(|i| (2 * i) << 4 | (2 * i + 1)).collect();
    assert_eq!(g(BitDepth::Four, 16, &four), (0..16).map(|v| v * 17).collect::<Vec<u8>>());
    let eight: Vec<u8> = (0..=255).collect();
    assert_eq!(g(BitDepth::Eight, 256, &eight), eight);
    let deep: Vec<u16> = (0..=65535).step_by(13).collect();
    let bytes: Vec<u8> = deep.iter().flat_map(|v| v.to_be_bytes()).collect();
    let expected: Vec<u8> = deep.iter().map(|v| (f64::from(*v) / 257.0).round() as u8).collect();
    assert_eq!(g(BitDepth::Sixteen, deep.len() as u32, &bytes), expected);
}

#[test]
fn a_gamma_chunk_changes_nothing() {
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, 3, 1);
    encoder.set_color(ColorType::Grayscale);
    encoder.set_source_gamma(png::ScaledFloat::new(1.0));
    let mut writer = encoder.write_header().unwrap();
    writer.write_image_data(&[1, 100, 200]).unwrap();
    writer.finish().unwrap();
    assert_eq!(pixels(&file), [1, 100, 200]);
}

#[test]
fn colour_palette_and_alpha_png_become_gray_over_white() {
    let gray_alpha = png_plain(3, 1, ColorType::GrayscaleAlpha, BitDepth::Eight, &[0, 0, 0, 255, 100, 128]);
    assert_eq!(pixels(&gray_alpha), [255, 0, 177]);
    let rgba = png_plain(2, 1, ColorType::Rgba, BitDepth::Eight, &[9, 9, 9, 255, 9, 9, 9, 0]);
    assert_eq!(pixels(&rgba), [9, 255]);
    let deep = png_plain(1, 1, ColorType::Rgb, BitDepth::Sixteen, &[0x40, 0x40, 0x40, 0x40, 0x40, 0x40]);
    assert_eq!(pixels(&deep), [0x40]);
    let kind = PngKind {
        colour: ColorType::Indexed,
        depth: BitDepth::Two,
        palette: Some(vec![5, 5, 5, 200, 200, 200, 0, 0, 255]),
        trns: None,
    };
    let palette = png_of(3, 1, kind, &[0b0001_1000]);
    assert_eq!(pixels(&palette).get(..2), Some([5, 200].as_slice()));
    assert_eq!(scan_as(&palette, GrayFrom::Blue), [5, 200, 255]);
    let kind = PngKind {
        colour: ColorType::Indexed,
        depth: BitDepth::Eight,
        palette: Some(vec![5, 5, 5, 200, 200, 200]),
        trns: Some(vec![0, 255]),
    };
    let see_through = scan(&png_of(2, 1, kind, &[0, 1]));
    assert_eq!(see_through.raster.pixels(), [255, 200]);
    assert!(see_through.notices.contains(&ScanNotice::Transparent));
    let kind = PngKind {
        colour: ColorType::Grayscale,
        depth: BitDepth::Eight,
        palette: None,
        trns: Some(vec![0, 7]),
    };
    let keyed = png_of(2, 1, kind, &[7, 8]);
    assert_eq!(pixels(&keyed), [255, 8]);
    let info = probe_bytes("test", &keyed).unwrap();
    assert_eq!((info.colour, info.bits), (ColourKind::GrayAlpha, 8));
}

#[test]
fn blue_guide_pencil_vanishes_in_the_blue_channel_alone() {
    // Paper, light blue pencil, black ink.
    let rgb = [250, 250, 250, 120, 190, 250, 10, 10, 10];
    let file = png_plain(3, 1, ColorType::Rgb, BitDepth::Eight, &rgb);
    assert_eq!(scan_as(&file, GrayFrom::Blue), [250, 250, 10]);
    assert_eq!(scan_as(&file, GrayFrom::Red), [250, 120, 10]);
    let seen = scan_as(&file, GrayFrom::Luminance);
    assert!((150..220).contains(&seen[1]), "{seen:?}");
}

#[test]
fn an_interlaced_png_reads_like_a_plain_one() {
    // Adam7 of the 3 x 3 gray picture 0..9, built by hand, as the encoder makes none: passes
    // 1 and 4 hold a pixel of row 0 each, 5 holds row 2's ends, 6 column 1, 7 row 1.
    let raw = [0, 0, 0, 2, 0, 6, 8, 0, 1, 0, 7, 0, 3, 4, 5];
    let mut zlib = vec![0x78, 0x01, 0x01];
    zlib.extend((raw.len() as u16).to_le_bytes());
    zlib.extend((!(raw.len() as u16)).to_le_bytes());
    zlib.extend(raw);
    let (mut a, mut b) = (1_u32, 0_u32);
    for byte in raw {
        a = (a + u32::from(byte)) % 65521;
        b = (b + a) % 65521;
    }
    zlib.extend((b << 16 | a).to_be_bytes());
    let mut file = b"\x89PNG\r\n\x1a\n".to_vec();
    let mut header = 3_u32.to_be_bytes().to_vec();
    header.extend(3_u32.to_be_bytes());
    header.extend([8, 0, 0, 0, 1]);
    for (name, body) in [(b"IHDR", &header), (b"IDAT", &zlib), (b"IEND", &Vec::new())] {
        file.extend((body.len() as u32).to_be_bytes());
        let tagged = [name.as_slice(), body].concat();
        file.extend(&tagged);
        file.extend(crc(&tagged).to_be_bytes());
    }
    assert_eq!(pixels(&file), [0, 1, 2, 3, 4, 5, 6, 7, 8]);
}

/// CRC-32 as PNG defines it (ISO/IEC 15948, annex D).
pub(super) fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |c, _| if c & 1 == 1 { 0xEDB8_8320 ^ c >> 1 } else { c >> 1 })
    })
}

#[test]
fn an_animated_png_is_refused() {
    let mut file = Vec::new();
    let mut encoder = png::Encoder::new(&mut file, 1, 1);
    encoder.set_color(ColorType::Grayscale);
    encoder.set_animated(2, 0).unwrap();
    let mut writer = encoder.write_header().unwrap();
    writer.write_image_data(&[0]).unwrap();
    writer.write_image_data(&[9]).unwrap();
    writer.finish().unwrap();
    let error = read_bytes("a.png", &file, &ScanOptions::default(), &Progress::new()).unwrap_err();
    assert_eq!(error.to_string(), "this PNG file is an animation; save one picture of it: a.png");
}

#[test]
fn jpeg_of_gray_and_of_colour_is_read() {
    let gray: Vec<u8> = (0..16 * 16).map(|i| (i / 2) as u8).collect();
    let back = pixels(&jpeg_gray(16, 16, &gray, None));
    assert!(gray.iter().zip(&back).all(|(a, b)| a.abs_diff(*b) <= 2), "{back:?}");
    let red: Vec<u8> = [200, 30, 30].repeat(64);
    let file = jpeg_rgb(8, 8, &red, None);
    assert!(scan_as(&file, GrayFrom::Red).iter().all(|v| v.abs_diff(200) <= 3));
    assert!(scan_as(&file, GrayFrom::Blue).iter().all(|v| v.abs_diff(30) <= 3));
}

#[test]
fn exif_turns_a_jpeg_upright_and_gives_its_resolution() {
    // Dark left half: with orientation 6 (a quarter turn clockwise) it is the top half.
    let gray: Vec<u8> = (0..16 * 8).map(|i| if i % 16 < 8 { 20 } else { 220 }).collect();
    let plain = jpeg_gray(16, 8, &gray, None);
    let file = with_exif(&plain, &exif_block(6, 240));
    let info = probe_bytes("test", &file).unwrap();
    assert_eq!((info.width, info.height, info.orientation), (16, 8, Orientation::from_exif(6)));
    assert_eq!(info.upright_size(), (8, 16));
    let turned = scan(&file);
    assert_eq!((turned.raster.width(), turned.raster.height()), (8, 16));
    assert!(turned.raster.row(0).iter().all(|v| *v < 40));
    assert!(turned.raster.row(15).iter().all(|v| *v > 200));
    assert!(turned.notices.contains(&ScanNotice::Turned));
    assert_eq!(scan(&plain).raster.width(), 16);
}

#[test]
fn the_resolution_of_every_format_is_found() {
    let rgb = [7; 12];
    let check = |file: &[u8], expected: f64| {
        assert_eq!(scan(file).dpi, Dpi::new(expected).ok());
        assert_eq!(probe_bytes("test", file).unwrap().resolution, Dpi::new(expected).ok());
    };
    check(&png_plain(2, 2, ColorType::Rgb, BitDepth::Eight, &rgb), 300.0);
    check(&jpeg_rgb(2, 2, &rgb, Some(400)), 400.0);
    check(&with_exif(&jpeg_rgb(2, 2, &rgb, None), &exif_block(1, 240)), 240.0);
    check(&bmp_rgb(2, 2, &rgb), 600.0);
    check(&webp_rgb(2, 2, &rgb, Some(exif_block(1, 150))), 150.0);
    let none = scan(&webp_rgb(2, 2, &rgb, None));
    assert_eq!(none.dpi, None);
    assert!(none.notices.contains(&ScanNotice::NoResolution));
}

#[test]
fn webp_and_bmp_keep_grays_exactly() {
    let rgb: Vec<u8> = (0..=255_u8).flat_map(|v| [v, v, v]).collect();
    let gray: Vec<u8> = (0..=255).collect();
    assert_eq!(pixels(&webp_rgb(16, 16, &rgb, None)), gray);
    assert_eq!(pixels(&bmp_rgb(16, 16, &rgb)), gray);
    let turned = scan(&webp_rgb(32, 8, &rgb, Some(exif_block(8, 300))));
    assert_eq!((turned.raster.width(), turned.raster.height()), (8, 32));
    assert_eq!(turned.raster.row(0).first(), Some(&31));
}

#[test]
fn the_content_and_not_the_name_decides() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("really-a.jpg");
    std::fs::write(&path, png_plain(1, 1, ColorType::Grayscale, BitDepth::Eight, &[77])).unwrap();
    assert_eq!(probe(&path).unwrap().format, ScanFormat::Png);
    let scan = read(&path, &ScanOptions::default(), &Progress::new()).unwrap();
    assert_eq!(scan.raster.pixels(), [77]);
}

#[test]
fn a_picture_written_here_is_read_back_the_same() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("plate.png");
    let gray: Vec<u8> = (0..=255).collect();
    let meta = crate::PngMeta { dpi: Dpi::new(600.0).unwrap(), text: Vec::new() };
    crate::atomic::write(&path, |w| crate::png_out::write_gray(w, 32, 8, &gray, &meta)).unwrap();
    let scan = read(&path, &ScanOptions::default(), &Progress::new()).unwrap();
    assert_eq!((scan.raster.pixels(), scan.dpi), (gray.as_slice(), Some(meta.dpi)));
    assert!(scan.notices.is_empty());
}

#[test]
fn paper_is_cleaned_when_asked_for_and_what_was_found_is_said() {
    // Grain of a few grays, and a black bar.
    let gray: Vec<u8> = (0..200 * 200_u32)
        .map(|i| if i < 2000 { 0 } else { 232 + (i.wrapping_mul(2_654_435_761) >> 29) as u8 })
        .collect();
    let file = png_plain(200, 200, ColorType::Grayscale, BitDepth::Eight, &gray);
    let read = |clean| {
        let options = ScanOptions { clean, ..ScanOptions::default() };
        read_bytes("test", &file, &options, &Progress::new()).unwrap()
    };
    let cleaned = read(true);
    let paper = cleaned.paper.unwrap();
    assert!((232.0..=239.0).contains(&paper.gray) && paper.unevenness < 0.03, "{paper:?}");
    assert_eq!((cleaned.raster.pixels().first(), cleaned.raster.pixels().last()), (Some(&0), Some(&255)));
    let kept = read(false);
    assert_eq!((kept.paper, kept.raster.pixels()), (None, gray.as_slice()));
}

#[test]
#[ignore = "a measurement, to be run in release"]
fn a_letter_scan_is_read_in_time() {
    use std::io::Write as _;
    let say = |what: &str, file: &[u8]| {
        for _ in 0..3 {
            let start = std::time::Instant::now();
            let _scan = scan(file);
            let line = format!("{what}: {} bytes in {:?}\n", file.len(), start.elapsed());
            std::io::stderr().write_all(line.as_bytes()).unwrap();
        }
    };
    let (w, h) = (2550_u32, 3300_u32);
    // A slow wash with the grain of two levels that a scanner adds.
    let mut seed = 1_u32;
    let mut grain = || {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        seed >> 30
    };
    let gray: Vec<u8> = (0..w * h).map(|i| (60 + (i % w / 30 + i / w / 27) % 180 + grain()) as u8).collect();
    let rgb: Vec<u8> = gray.iter().flat_map(|v| [*v, v.wrapping_add(20), 200]).collect();
    say("gray png", &png_plain(w, h, ColorType::Grayscale, BitDepth::Eight, &gray));
    say("rgb png", &png_plain(w, h, ColorType::Rgb, BitDepth::Eight, &rgb));
    say("gray jpeg", &jpeg_gray(w, h, &gray, None));
    say("rgb jpeg", &jpeg_rgb(w, h, &rgb, None));
    say("turned rgb jpeg", &with_exif(&jpeg_rgb(w, h, &rgb, None), &exif_block(6, 300)));
}

/// A white lid around a gray sheet: of the whole scan nobody knows which is the paper; of the sheet alone it is clear.
#[test]
fn the_paper_of_a_scan_that_was_lined_up_is_that_of_its_sheet() {
    let (width, height) = (600_u32, 800_u32);
    let mut state = 7_u32;
    let pixels: Vec<u8> = (0..width * height)
        .map(|i| {
            let (x, y) = (i % width, i / width);
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let grain = (state >> 24) as u8 % 5;
            let lid = x < 70 || y < 70 || x >= width - 70 || y >= height - 70;
            match lid {
                true => 250 + grain,
                false if (200..400).contains(&x) && (300..330).contains(&y) => 30,
                false => 205 + grain,
            }
        })
        .collect();
    let mut file = Vec::new();
    let meta = crate::PngMeta { dpi: slipsheet_core::units::Dpi::new(100.0).unwrap(), text: vec![] };
    crate::png_out::write_gray(&mut file, width, height, &pixels, &meta).unwrap();
    let area = Area { x: 70, y: 70, width: width - 140, height: height - 140 };
    let options = ScanOptions { clean: true, area: Some(area), ..ScanOptions::default() };
    let scan = read_bytes("x", &file, &options, &Progress::new()).unwrap();
    assert!(scan.paper.is_some_and(|p| (p.gray - 207.0).abs() < 4.0), "{:?}", scan.paper);
    let at = |x: u32, y: u32| scan.raster.row(y)[x as usize];
    assert!((80..500).all(|x| at(x, 120) > 250) && at(300, 315) < 45);
    assert_eq!(at(20, 20), pixels[(20 * width + 20) as usize], "what lies around it stays");
    // A part that is not on the scan at all cleans nothing.
    let beyond = ScanOptions { area: Some(Area { x: 9000, ..area }), ..options };
    assert_eq!(read_bytes("x", &file, &beyond, &Progress::new()).unwrap().raster.pixels(), pixels);
}
