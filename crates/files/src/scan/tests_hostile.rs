//! Files that are missing, broken, too large or not images at all: a sentence, never a panic.

use proptest::prelude::*;
use tiff::encoder::Compression;
use tiff::encoder::colortype::{Gray8, RGB16};

use super::testing::{bmp_rgb, exif_block, jpeg_gray, jpeg_rgb, png_plain, tiff_by_hand, tiff_of, tiff_tags};
use super::testing::{ora_of, pdf_of, webp_rgb, with_exif};
use super::*;

fn attempt(bytes: &[u8]) -> Result<Scan, ScanError> {
    read_bytes(
        "x",
        bytes,
        &ScanOptions { clean: true, resolution: Dpi::new(72.0).ok(), ..ScanOptions::default() },
        &Progress::new(),
    )
}

/// A sound file of every kind.
fn samples() -> Vec<Vec<u8>> {
    let gray: Vec<u8> = (0..24 * 20).map(|i| (i * 7 % 256) as u8).collect();
    let rgb: Vec<u8> = (0..24 * 20 * 3).map(|i| (i * 5 % 256) as u8).collect();
    let deep: Vec<u16> = (0..24 * 20 * 3).map(|i| i * 40).collect();
    let mut palette = tiff_tags(24, 20, vec![8], 3);
    palette.push((320, (0..768).map(|i| i * 80).collect()));
    let png = |colour, data: &[u8]| png_plain(24, 20, colour, png::BitDepth::Eight, data);
    vec![
        png(png::ColorType::Grayscale, &gray),
        png(png::ColorType::Rgb, &rgb),
        with_exif(&jpeg_rgb(24, 20, &rgb, Some(300)), &exif_block(6, 300)),
        jpeg_gray(24, 20, &gray, None),
        tiff_of::<Gray8>(24, 20, &gray, Compression::Lzw),
        tiff_of::<RGB16>(24, 20, &deep, Compression::Packbits),
        tiff_by_hand(&palette, &gray),
        webp_rgb(24, 20, &rgb, Some(exif_block(3, 300))),
        bmp_rgb(24, 20, &rgb),
        pdf_of([0, 0, 24, 20], &["0.3 g 3 4 8 9 re f", "q 1 0 0 1 2 2 cm 0 0 1 rg 0 0 m 9 9 l 9 0 l f Q"]),
        ora_of(
            "<image w='24' h='20'><stack><layer name='A' src='data/a.png' x='3'/></stack></image>",
            &[("data/a.png", &png(png::ColorType::Grayscale, &gray))],
        ),
    ]
}

#[test]
fn what_is_not_a_file_of_ours_says_so() {
    let dir = tempfile::tempdir().unwrap();
    let path = |name: &str| dir.path().join(name);
    let options = ScanOptions::default();
    let message = |name: &str| read(&path(name), &options, &Progress::new()).unwrap_err();
    assert!(matches!(message("missing.png"), ScanError::Missing { .. }));
    std::fs::create_dir(path("folder.png")).unwrap();
    assert!(matches!(message("folder.png"), ScanError::NotAFile { .. }));
    std::fs::write(path("empty.png"), b"").unwrap();
    assert!(matches!(message("empty.png"), ScanError::Empty { .. }));
    std::fs::write(path("notes.png"), b"buy paper").unwrap();
    let error = message("notes.png");
    assert!(matches!(error, ScanError::UnknownFormat { .. }));
    assert!(error.to_string().ends_with("notes.png"));
    assert!(matches!(probe(&path("missing.png")), Err(ScanError::Missing { .. })));
}

#[test]
fn a_file_cut_short_anywhere_is_refused() {
    for file in samples() {
        assert!(attempt(&file).is_ok());
        // A PDF whose table is lost is searched for pages, as every reader does.
        if file.starts_with(b"%PDF-") {
            continue;
        }
        for keep in [file.len() / 2, file.len() * 3 / 4, file.len() / 10] {
            let error = attempt(&file[..keep]).unwrap_err();
            assert!(!matches!(error, ScanError::Io { .. }), "{error}");
        }
    }
}

#[test]
fn a_jpeg_cut_short_is_not_filled_with_gray() {
    let file = jpeg_gray(24, 20, &[90; 480], None);
    let cut = &file[..file.len() - 2];
    assert!(matches!(attempt(cut), Err(ScanError::Truncated { format: ScanFormat::Jpeg, .. })));
}

#[test]
fn a_cmyk_jpeg_says_what_to_do() {
    // Only the frame header matters: four components.
    let mut file = vec![0xFF, 0xD8, 0xFF, 0xC0, 0, 20, 8, 0, 8, 0, 8, 4];
    file.extend([1, 0x11, 0, 2, 0x11, 0, 3, 0x11, 0, 4, 0x11, 0]);
    file.extend([0xFF, 0xDA, 0, 2, 0xFF, 0xD9]);
    assert_eq!(attempt(&file).unwrap_err().to_string(), "this JPEG file is CMYK; save it as gray or RGB: x");
}

#[test]
fn more_than_a_gigapixel_is_refused_from_the_header() {
    // Width and height lie in IHDR; its checksum follows and must fit.
    let mut png = png_plain(1, 1, png::ColorType::Grayscale, png::BitDepth::Eight, &[0]);
    png[16..24].copy_from_slice(&[0, 1, 0, 0, 0, 1, 0, 0]);
    let crc = tests::crc(&png[12..29]);
    png[29..33].copy_from_slice(&crc.to_be_bytes());
    assert!(matches!(attempt(&png), Err(ScanError::TooLarge { width: 65536, height: 65536, .. })));
    let tiff = tiff_by_hand(&tiff_tags(65535, 65535, vec![8], 1), &[0]);
    assert!(matches!(attempt(&tiff), Err(ScanError::TooLarge { .. })));
    let mut bmp = bmp_rgb(1, 1, &[0; 3]);
    bmp[18..26].copy_from_slice(&[0, 0, 1, 0, 0, 0, 1, 0]);
    assert!(matches!(attempt(&bmp), Err(ScanError::TooLarge { .. })));
}

#[test]
fn a_short_file_that_claims_a_large_picture_is_refused_before_memory_is_asked_for() {
    let mut jpeg = jpeg_gray(8, 8, &[0; 64], None);
    let frame = jpeg.windows(2).position(|w| w == [0xFF, 0xC0]).unwrap();
    jpeg[frame + 5..frame + 9].copy_from_slice(&[0x70, 0, 0x70, 0]);
    assert!(matches!(attempt(&jpeg), Err(ScanError::Truncated { .. })));
}

#[test]
fn a_tiff_that_claims_absurdly_many_samples_is_refused() {
    let mut tags = tiff_tags(60_000, 1, vec![8, 8, 8], 2);
    tags.retain(|(tag, _)| *tag != 277 && *tag != 258);
    tags.extend([(277, vec![60_000]), (258, vec![8; 60_000]), (338, vec![0; 59_997])]);
    let error = attempt(&tiff_by_hand(&tags, &[0; 30])).unwrap_err();
    assert!(!matches!(error, ScanError::Io { .. }), "{error}");
}

#[test]
fn a_cancelled_reading_stops() {
    let progress = Progress::new();
    progress.cancel();
    for file in samples() {
        let stopped = read_bytes("x", &file, &ScanOptions::default(), &progress);
        assert!(matches!(stopped, Err(ScanError::Cancelled)));
    }
    let progress = Progress::new();
    read_bytes("x", samples().first().unwrap(), &ScanOptions::default(), &progress).unwrap();
    assert_eq!(progress.fraction(), 1.0);
}

/// A bitmap whose pixels are runs (compression 1), of this size and with these bytes of runs.
fn bmp_runs(width: i32, height: i32, runs: &[u8]) -> Vec<u8> {
    let mut file = b"BM".to_vec();
    for number in [0, 0, 54 + 1024, 40] {
        file.extend(i32::to_le_bytes(number));
    }
    file.extend(width.to_le_bytes());
    file.extend(height.to_le_bytes());
    file.extend([1, 0, 8, 0]);
    for number in [1, runs.len() as i32, 0, 0, 256, 0] {
        file.extend(number.to_le_bytes());
    }
    file.extend((0..=255_u8).flat_map(|v| [v, v, v, 0]));
    file.extend(runs);
    file
}

#[test]
fn a_kilobyte_of_runs_that_claims_a_gigapixel_is_refused_and_a_blank_sheet_is_not() {
    let row = [255, 7].repeat(2);
    let sound = bmp_runs(510, 3, &[&row[..], &[0, 0], &row, &[0, 0], &row, &[0, 1]].concat());
    assert!(attempt(&sound).unwrap().raster.pixels().iter().all(|v| *v == 7));
    for (width, height) in [(31_000, 31_000), (30_000, 30_000), (9_000, 9_000)] {
        let error = attempt(&bmp_runs(width, height, &[255, 7, 0, 1])).unwrap_err();
        assert!(matches!(error, ScanError::Truncated { format: ScanFormat::Bmp, .. }), "{width}: {error}");
    }
    let long = attempt(&bmp_runs(1, 999_999_999, &[255, 7, 0, 1]));
    assert!(matches!(long, Err(ScanError::LongBitmap { .. })));
    assert!(attempt(&bmp_runs(2_000, 2_000, &[0, 1])).is_ok(), "a blank sheet");
}

#[test]
fn bitmaps_of_strange_heights_give_a_sentence_and_those_from_the_top_are_read() {
    let sound = bmp_rgb(3, 2, &[10, 10, 10, 20, 20, 20, 30, 30, 30, 40, 40, 40, 50, 50, 50, 60, 60, 60]);
    let with_height = |height: i32| {
        let mut file = sound.clone();
        file[22..26].copy_from_slice(&height.to_le_bytes());
        attempt(&file)
    };
    assert_eq!(with_height(-2).unwrap().raster.pixels(), [40, 50, 60, 10, 20, 30], "the top row first");
    for height in [0, i32::MIN, i32::MAX, -1_000_000_000, 300_000_000, 2_000_000] {
        let error = with_height(height).map(|s| s.raster).unwrap_err();
        assert!(!matches!(error, ScanError::Io { .. }), "{height}: {error}");
    }
}

#[test]
fn a_tiff_of_one_giant_strip_that_is_not_there_is_refused() {
    for (bits, photometric) in [(vec![8], 1), (vec![16, 16, 16], 2), (vec![1], 0)] {
        let error = attempt(&tiff_by_hand(&tiff_tags(31_000, 31_000, bits, photometric), &[0; 9]));
        assert!(error.is_err());
    }
}

#[test]
fn text_of_a_png_that_unpacks_without_end_is_not_unpacked() {
    let bomb = crate::deflate::zlib(&vec![b'a'; 64 << 20]);
    let chunk = |kind: &[u8], body: &[u8]| {
        let named = [kind, body].concat();
        let crc = tests::crc(&named);
        [&(body.len() as u32).to_be_bytes()[..], &named, &crc.to_be_bytes()].concat()
    };
    let sound = png_plain(2, 1, png::ColorType::Grayscale, png::BitDepth::Eight, &[9, 8]);
    for (kind, head) in
        [(b"zTXt", &b"Comment\0\0"[..]), (b"iCCP", b"name\0\0"), (b"iTXt", b"Comment\0\x01\0\0\0")]
    {
        let text = chunk(kind, &[head, &bomb].concat());
        let file = [&sound[..33], &text, &sound[33..]].concat();
        assert_eq!(attempt(&file).unwrap().raster.pixels(), [9, 8]);
    }
}

#[test]
fn an_open_raster_file_that_nests_deeply_or_claims_much_gives_a_sentence() {
    let png = png_plain(24, 20, png::ColorType::Grayscale, png::BitDepth::Eight, &[7; 480]);
    let of = |xml: &str| attempt(&ora_of(xml, &[("data/a.png", &png)]));
    let layer = "<layer name='A' src='data/a.png'/>";
    let nested = |depth: usize| {
        let (open, close) = ("<stack>".repeat(depth), "</stack>".repeat(depth));
        format!("<image w='24' h='20'>{open}{layer}{close}</image>")
    };
    assert!(of(&nested(300)).is_ok() && of(&nested(100_000)).is_ok());
    assert!(matches!(of(&nested(1_100_000)), Err(ScanError::Damaged { .. })), "more elements than are read");
    let error = of(&format!("<image w='31000' h='31000'><stack>{layer}</stack></image>")).unwrap_err();
    assert!(matches!(error, ScanError::Truncated { .. }), "{error}");
    for side in ["NaN", "1e308", "-4", "0", ""] {
        assert!(of(&format!("<image w='{side}' h='20'><stack>{layer}</stack></image>")).is_err(), "{side}");
    }
    for place in ["NaN", "1e308", "-1e308", "9223372036854775807"] {
        let xml = format!(
            "<image w='24' h='20'><stack><layer src='data/a.png' x='{place}' y='{place}' opacity='{place}'/></stack></image>"
        );
        assert!(of(&xml).is_ok(), "{place}");
    }
    let name = "n".repeat(1 << 20);
    let long =
        of(&format!("<image w='24' h='20'><stack><layer name='{name}' src='data/a.png'/></stack></image>"));
    assert_eq!(long.unwrap().info.page_names, [name]);
    // Entities that stand for one another double without end.
    let doubling: String = (1..40).map(|i| format!("<!ENTITY e{i} '&e{};&e{};'>", i - 1, i - 1)).collect();
    let bomb = format!(
        "<!DOCTYPE image [<!ENTITY e0 'x'>{doubling}]><image w='24' h='20'><stack>&e39;</stack></image>"
    );
    assert!(of(&bomb).is_err());
}

#[test]
fn a_layer_that_unpacks_without_end_is_refused() {
    use std::io::Write as _;
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let stored = zip::write::SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    let deflated = stored.compression_method(zip::CompressionMethod::Deflated);
    archive.start_file("mimetype", stored).unwrap();
    archive.write_all(b"image/openraster").unwrap();
    archive.start_file("stack.xml", deflated).unwrap();
    for _ in 0..65 {
        archive.write_all(&vec![b' '; 1 << 20]).unwrap();
    }
    let file = archive.finish().unwrap().into_inner();
    assert!(file.len() < 1 << 20);
    assert!(matches!(attempt(&file), Err(ScanError::TooMuchMemory { .. })));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, ..ProptestConfig::default() })]

    #[test]
    fn random_bytes_never_panic(bytes in prop::collection::vec(any::<u8>(), 0..600), start in 0_usize..8) {
        let starts: [&[u8]; 8] =
            [b"", b"\x89PNG\r\n\x1a\n", b"\xFF\xD8\xFF", b"II\x2a\0", b"MM\0\x2a", b"RIFF0000WEBPVP8", b"BM", b"%PDF-1.4\n"];
        let file = [starts.get(start).unwrap(), bytes.as_slice()].concat();
        // The answer does not matter, only that there is one.
        drop(attempt(&file));
    }

    #[test]
    fn truncated_files_never_panic(which in 0_usize..11, keep in 0.0..1.0_f64) {
        let file = samples().swap_remove(which);
        let keep = (keep * file.len() as f64) as usize;
        drop(attempt(&file[..keep]));
    }

    #[test]
    fn files_with_flipped_bits_never_panic(
        which in 0_usize..11,
        flips in prop::collection::vec((any::<prop::sample::Index>(), 0_u8..8), 1..6),
    ) {
        let mut file = samples().swap_remove(which);
        for (at, bit) in flips {
            let at = at.index(file.len());
            file[at] ^= 1 << bit;
        }
        if let Ok(scan) = attempt(&file) {
            prop_assert_eq!(scan.raster.width(), scan.info.upright_size().0);
        }
    }
}
