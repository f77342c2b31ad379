//! PDF pages read back: built by hand, with a black square of known size.

use super::testing::pdf_of;
use super::testing::probe_bytes;
use super::*;

fn at(dpi: f64) -> ScanOptions {
    ScanOptions { resolution: Dpi::new(dpi).ok(), ..ScanOptions::default() }
}

fn scan(bytes: &[u8], options: &ScanOptions) -> Scan {
    read_bytes("test", bytes, options, &Progress::new()).unwrap()
}

/// An inch of black, an inch from the left and half an inch from the top of 4 x 3 inches.
const SQUARE: &str = "0 g 72 108 72 72 re f";

#[test]
fn a_square_lies_where_its_page_says() {
    let file = pdf_of([0, 0, 288, 216], &[SQUARE]);
    for dpi in [100.0, 300.0] {
        let scan = scan(&file, &at(dpi));
        let d = dpi as usize;
        assert_eq!((scan.raster.width() as usize, scan.raster.height() as usize), (4 * d, 3 * d));
        assert_eq!(scan.dpi, Dpi::new(dpi).ok());
        let black = |x: usize, y: usize| (d..2 * d).contains(&x) && (d / 2..3 * d / 2).contains(&y);
        for (i, v) in scan.raster.pixels().iter().enumerate() {
            let (x, y) = (i % (4 * d), i / (4 * d));
            assert_eq!(*v, if black(x, y) { 0 } else { 255 }, "{x} {y}");
        }
        assert_eq!(scan.notices, []);
    }
}

#[test]
fn without_a_wish_a_page_has_600_dpi() {
    let file = pdf_of([0, 0, 36, 72], &["", ""]);
    let info = probe_bytes("test", &file).unwrap();
    assert_eq!((info.width, info.height, info.pages, info.format), (300, 600, 2, ScanFormat::Pdf));
    assert_eq!(info.resolution, Dpi::new(600.0).ok());
}

#[test]
fn the_chosen_page_is_read_and_a_missing_one_refused() {
    let file = pdf_of([100, 50, 172, 122], &["0 g 100 50 72 72 re f", "0.5 g 100 50 72 72 re f"]);
    let second = scan(&file, &ScanOptions { page: 1, ..at(72.0) });
    assert!(second.raster.pixels().iter().all(|v| (127..=128).contains(v)));
    assert_eq!(second.notices, [ScanNotice::OnePage { page: 1, pages: 2 }]);
    assert!(scan(&file, &at(72.0)).raster.pixels().iter().all(|v| *v == 0));
    let third = read_bytes("x", &file, &ScanOptions { page: 2, ..at(72.0) }, &Progress::new());
    assert!(matches!(third, Err(ScanError::NoSuchPage { page: 2, pages: 2, .. })));
}

#[test]
fn colour_becomes_gray_as_in_other_files() {
    let file = pdf_of([0, 0, 10, 10], &["0 0 1 rg 0 0 10 10 re f"]);
    let blue = scan(&file, &ScanOptions { gray: GrayFrom::Blue, ..at(72.0) });
    assert!(blue.raster.pixels().iter().all(|v| *v == 255));
    let seen = scan(&file, &at(72.0));
    assert!(seen.raster.pixels().iter().all(|v| *v < 90));
    assert!(seen.notices.contains(&ScanNotice::Colour { from: GrayFrom::Luminance }));
}

#[test]
fn bands_meet_without_a_seam() {
    // 40 x 20 inches at 600 dpi are 288 million pixels, several bands; a bar runs down all of them.
    let file = pdf_of([0, 0, 720, 1440], &["0 g 360 0 72 1440 re f"]);
    let scan = scan(&file, &at(800.0));
    let width = scan.raster.width() as usize;
    assert_eq!((width, scan.raster.height()), (8000, 16000));
    for row in scan.raster.pixels().chunks(width) {
        assert!(row[4000..4800].iter().all(|v| *v == 0) && row[3999] == 255 && row[4800] == 255);
    }
}

#[test]
fn a_page_of_more_than_a_gigapixel_is_refused_before_it_is_drawn() {
    let file = pdf_of([0, 0, 14400, 14400], &[SQUARE]);
    let error = read_bytes("x", &file, &at(600.0), &Progress::new()).unwrap_err();
    assert!(matches!(error, ScanError::TooLarge { .. }), "{error}");
    let file = pdf_of([0, 0, 14400, 10], &[SQUARE]);
    let error = read_bytes("x", &file, &at(600.0), &Progress::new()).unwrap_err();
    assert!(matches!(error, ScanError::TooWide { width: 120_000, .. }), "{error}");
}

#[test]
fn a_locked_and_a_damaged_file_say_so() {
    let text = String::from_utf8(pdf_of([0, 0, 72, 72], &[SQUARE])).unwrap();
    let lock = "/Encrypt << /Filter /Standard /V 1 /R 2 /P -4 /O (01234567890123456789012345678901) \
                /U (01234567890123456789012345678901) >> /ID [(a) (a)] /Root";
    let locked = text.replace("/Root", lock);
    let error = read_bytes("x", locked.as_bytes(), &at(72.0), &Progress::new()).unwrap_err();
    assert_eq!(error.to_string(), "this PDF file is locked with a password; save it without one: x");
    let error = read_bytes("x", b"%PDF-1.4 and nothing else", &at(72.0), &Progress::new()).unwrap_err();
    assert!(matches!(error, ScanError::Damaged { format: ScanFormat::Pdf, .. }), "{error}");
}
