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
        &ScanOptions { lift_white: true, resolution: Dpi::new(72.0).ok(), ..ScanOptions::default() },
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
    let said = |name: &str| read(&path(name), &options, &Progress::new()).unwrap_err();
    assert!(matches!(said("missing.png"), ScanError::Missing { .. }));
    std::fs::create_dir(path("folder.png")).unwrap();
    assert!(matches!(said("folder.png"), ScanError::NotAFile { .. }));
    std::fs::write(path("empty.png"), b"").unwrap();
    assert!(matches!(said("empty.png"), ScanError::Empty { .. }));
    std::fs::write(path("notes.png"), b"buy paper").unwrap();
    let error = said("notes.png");
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
