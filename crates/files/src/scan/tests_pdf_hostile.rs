//! PDF pages that are damaged, endless or too much: a sentence soon, and never a gray or white hole.

use std::time::{Duration, Instant};

use proptest::prelude::*;

use super::testing::{jpeg_gray, jpeg_rgb, pdf_drawing};
use super::*;
use crate::deflate::zlib;

const SIDE: u32 = 48;

fn attempt(file: &[u8]) -> Result<Scan, ScanError> {
    let options = ScanOptions { resolution: Dpi::new(72.0).ok(), ..ScanOptions::default() };
    read_bytes("x", file, &options, &Progress::new())
}

/// A picture over the whole page.
fn with_picture(dict: &str, data: Vec<u8>) -> Vec<u8> {
    let dict = format!("/Type /XObject /Subtype /Image /Width {SIDE} /Height {SIDE} {dict}");
    pdf_drawing("q 72 0 0 72 0 0 cm /X5 Do Q", &[(dict, data)])
}

fn gray() -> Vec<u8> {
    (0..SIDE * SIDE).map(|i| (40 + i * 7 % 90) as u8).collect()
}

const GRAY: &str = "/ColorSpace /DeviceGray /BitsPerComponent 8";

#[track_caller]
fn whole(file: &[u8]) {
    let scan = attempt(file).unwrap();
    let light = scan.raster.pixels().iter().filter(|v| **v > 150).count();
    assert!(light * 20 < scan.raster.pixels().len(), "{light} light pixels: the picture was not drawn");
}

#[track_caller]
fn broken(file: &[u8]) {
    let message = attempt(file).map(|s| s.raster.pixels().to_vec()).unwrap_err().to_string();
    assert!(message.contains("in the PDF file is damaged or incomplete; place it again"), "{message}");
}

#[test]
fn a_jpeg_on_a_page_that_is_cut_is_refused_as_a_bare_one_is() {
    let jpeg = jpeg_gray(SIDE, SIDE, &gray(), None);
    let dict = format!("{GRAY} /Filter /DCTDecode");
    whole(&with_picture(&dict, jpeg.clone()));
    for keep in [jpeg.len() - 2, jpeg.len() * 3 / 4, jpeg.len() / 2, jpeg.len() / 4, 20] {
        broken(&with_picture(&dict, jpeg[..keep].to_vec()));
    }
    let packed = format!("{GRAY} /Filter [/FlateDecode /DCTDecode]");
    whole(&with_picture(&packed, zlib(&jpeg)));
    broken(&with_picture(&packed, zlib(&jpeg[..jpeg.len() / 2])));
}

#[test]
fn a_flate_picture_that_is_cut_or_changed_is_refused() {
    let packed = zlib(&gray());
    let dict = format!("{GRAY} /Filter /FlateDecode");
    whole(&with_picture(&dict, packed.clone()));
    for keep in [packed.len() - 1, packed.len() - 4, packed.len() / 2, 3] {
        broken(&with_picture(&dict, packed[..keep].to_vec()));
    }
    let mut changed = packed.clone();
    *changed.last_mut().unwrap() ^= 0x10;
    broken(&with_picture(&dict, changed));
    // Whole streams of too few rows: packed, plain, and in letters.
    broken(&with_picture(&dict, zlib(&gray()[..1000])));
    whole(&with_picture(GRAY, gray()));
    broken(&with_picture(GRAY, gray()[..1000].to_vec()));
    let letters = |data: &[u8]| data.iter().map(|b| format!("{b:02x}")).collect::<String>() + ">";
    let dict = format!("{GRAY} /Filter [/ASCIIHexDecode /FlateDecode]");
    whole(&with_picture(&dict, letters(&packed).into_bytes()));
    broken(&with_picture(&dict, letters(&packed[..packed.len() / 2]).into_bytes()));
}

#[test]
fn a_wrong_length_alone_does_no_harm() {
    let packed = zlib(&gray());
    let file = with_picture(&format!("{GRAY} /Filter /FlateDecode"), packed.clone());
    let stated = format!("/Length {} ", packed.len());
    let at = file.windows(stated.len()).rposition(|w| w == stated.as_bytes()).unwrap();
    for digits in ["9", "1"] {
        let mut wrong = file.clone();
        for (to, from) in wrong[at + 8..].iter_mut().zip(digits.repeat(stated.len() - 9).bytes()) {
            *to = from;
        }
        whole(&wrong);
    }
}

#[test]
fn masks_of_pictures_are_looked_at_as_well() {
    let picture = |mask: Vec<u8>| {
        let side = format!("/Type /XObject /Subtype /Image /Width {SIDE} /Height {SIDE}");
        let own = (format!("{side} {GRAY} /Filter /FlateDecode /SMask 6 0 R"), zlib(&gray()));
        let mask = (format!("{side} {GRAY} /Filter /FlateDecode"), mask);
        pdf_drawing("q 72 0 0 72 0 0 cm /X5 Do Q", &[own, mask])
    };
    let opaque = zlib(&vec![255; (SIDE * SIDE) as usize]);
    whole(&picture(opaque.clone()));
    broken(&picture(opaque[..opaque.len() - 3].to_vec()));
    // A stencil: one bit a pixel, 0 is painted.
    let bits = zlib(&vec![0; (SIDE * SIDE / 8) as usize]);
    let stencil = "/ImageMask true /BitsPerComponent 1 /Filter /FlateDecode";
    whole(&with_picture(stencil, bits.clone()));
    broken(&with_picture(stencil, bits[..bits.len() - 2].to_vec()));
}

#[test]
fn a_coloured_and_a_lossless_picture_of_other_sizes_than_the_page_says_are_whole() {
    let rgb: Vec<u8> = (0..24 * 24 * 3).map(|i| (i % 100) as u8).collect();
    let jpeg = jpeg_rgb(24, 24, &rgb, None);
    whole(&with_picture("/ColorSpace /DeviceRGB /BitsPerComponent 8 /Filter /DCTDecode", jpeg));
}

#[test]
fn what_a_page_names_must_be_there() {
    broken(&pdf_drawing("/X9 Do", &[]));
    let form = "/Type /XObject /Subtype /Form /BBox [0 0 72 72]".to_owned();
    let inner = [(form.clone(), b"0 g 0 0 72 72 re f".to_vec())];
    whole(&pdf_drawing("/X5 Do", &inner));
    broken(&pdf_drawing("/X5 Do", &[(form, b"/X7 Do".to_vec())]));
    let text = String::from_utf8(pdf_drawing("0 g 0 0 72 72 re f", &[])).unwrap();
    whole(text.as_bytes());
    broken(text.replace("/Contents 4 0 R", "/Contents 9 0 R").as_bytes());
    broken(text.replace("/Contents 4 0 R", "/Contents [4 0 R 9 0 R]").as_bytes());
    // A page may be blank.
    assert!(attempt(text.replace("/Contents 4 0 R", "                ").as_bytes()).is_ok());
}

#[test]
fn packed_contents_that_are_cut_are_refused() {
    let contents = zlib(&b"0 g 0 0 72 72 re f ".repeat(40));
    let form = |data: Vec<u8>| {
        let dict = "/Type /XObject /Subtype /Form /BBox [0 0 72 72] /Filter /FlateDecode".to_owned();
        pdf_drawing("/X5 Do", &[(dict, data)])
    };
    whole(&form(contents.clone()));
    broken(&form(contents[..contents.len() - 5].to_vec()));
}

#[track_caller]
fn too_much(file: &[u8]) {
    let begun = Instant::now();
    let message = attempt(file).unwrap_err().to_string();
    assert!(message.starts_with("the page has too many parts to be drawn; save it as a PNG"), "{message}");
    assert!(begun.elapsed() < Duration::from_secs(60), "{:?}", begun.elapsed());
}

/// The answer does not matter, only that there is one.
#[track_caller]
fn ends(file: &[u8]) {
    let begun = Instant::now();
    drop(attempt(file));
    assert!(begun.elapsed() < Duration::from_secs(60), "{:?}", begun.elapsed());
}

/// Forms each of which draws the next twice.
fn doubling(count: usize) -> Vec<u8> {
    let form = "/Type /XObject /Subtype /Form /BBox [0 0 72 72]";
    let mut streams: Vec<(String, Vec<u8>)> = (0..count)
        .map(|i| {
            let next = format!("/X{} Do", i + 6);
            let resources = format!("/Resources << /XObject << /X{n} {n} 0 R >> >>", n = i + 6);
            (format!("{form} {resources}"), format!("{next} {next}").into_bytes())
        })
        .collect();
    streams.push((form.to_owned(), b"0 g 0 0 72 72 re f".to_vec()));
    pdf_drawing("/X5 Do", &streams)
}

#[test]
fn forms_that_draw_each_other_twice_end() {
    whole(&doubling(5));
    too_much(&doubling(30));
}

#[test]
fn a_form_a_letter_and_a_pattern_that_draw_themselves_end() {
    let form = "/Type /XObject /Subtype /Form /BBox [0 0 72 72] /Resources << /XObject << /X5 5 0 R >> >>";
    // The standard forbids it, so a name that leads back to itself leads nowhere.
    for contents in ["/X5 Do /X5 Do", "/X5 Do"] {
        broken(&pdf_drawing("/X5 Do", &[(form.to_owned(), contents.into())]));
    }
    let tile = "/PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 9 9] /XStep 9 /YStep 9 \
                /Resources << /Pattern << /X5 5 0 R >> >>";
    let fill = "/Pattern cs /X5 scn 0 0 72 72 re f";
    ends(&pdf_drawing(fill, &[(tile.to_owned(), fill.into())]));
    // A tile whose step is far smaller than itself is drawn over and over.
    let tile = "/PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 72 72] /XStep 0.01 /YStep 0.01 /Resources << >>";
    too_much(&pdf_drawing(fill, &[(tile.to_owned(), b"0 g 0 0 72 72 re f".to_vec())]));
    let text = pdf_drawing("BT /F 10 Tf (a) Tj ET", &[(String::new(), b"BT /F 10 Tf (aa) Tj ET".to_vec())]);
    let font = "/Font << /F << /Type /Font /Subtype /Type3 /FontBBox [0 0 1 1] /FontMatrix [1 0 0 1 0 0] \
                /FirstChar 97 /LastChar 97 /Widths [1] /Encoding << /Differences [97 /a] >> \
                /CharProcs << /a 5 0 R >> >> >> /Pattern";
    let text = String::from_utf8(text).unwrap().replacen("/Pattern", font, 1);
    ends(text.as_bytes());
}

#[test]
fn a_million_rectangles_are_drawn_or_refused_and_dashes_are_counted() {
    let many = "0 g 9 9 5 5 re f ".repeat(1_000_000);
    match attempt(&pdf_drawing(&many, &[])) {
        Ok(scan) => assert_eq!(scan.raster.pixels().iter().filter(|v| **v == 0).count(), 25),
        Err(e) => assert!(matches!(e, ScanError::TooComplex { .. }), "{e}"),
    }
    too_much(&pdf_drawing("[0.0000001] 0 d 0 0 m 72 72 l S", &[]));
    too_much(&pdf_drawing(&"0 g 9 9 5 5 re f ".repeat(3_000_000), &[]));
}

#[test]
fn contents_that_are_named_again_and_again_are_added_up() {
    let text = String::from_utf8(pdf_drawing(&"0 g 0 0 72 72 re f ".repeat(60_000), &[])).unwrap();
    whole(text.replace("/Contents 4 0 R", "/Contents [4 0 R 4 0 R]").as_bytes());
    let many = format!("/Contents [{}]", "4 0 R ".repeat(400));
    too_much(text.replace("/Contents 4 0 R", &many).as_bytes());
}

#[test]
fn a_fax_of_absurdly_many_columns_is_refused_however_it_is_said() {
    for message in
        ["<< /Columns 4000000000 >>", "[<< /Columns 4000000000 >>]", "[null << /Columns 4000000000 >>]"]
    {
        let dict =
            format!("/ImageMask true /BitsPerComponent 1 /Filter [/CCITTFaxDecode] /DecodeParms {message}");
        // Where the columns belong to another filter the picture is merely broken.
        let message = attempt(&with_picture(&dict, vec![0; 9])).unwrap_err();
        assert!(matches!(message, ScanError::TooComplex { .. } | ScanError::BrokenPart { .. }), "{message}");
    }
    let dict = "/ImageMask true /BitsPerComponent 1 /Filter [/CCITTFaxDecode] /DecodeParms [<< /Columns 40000000 >>]";
    too_much(&with_picture(dict, vec![0; 9]));
}

#[test]
fn a_dash_of_nothing_is_a_whole_line() {
    whole(&pdf_drawing("0 G 90 w [0] 0 d 0 36 m 72 36 l S", &[]));
}

#[test]
fn streams_that_unpack_without_end_are_refused() {
    let one = zlib(&vec![b' '; 8 << 20]);
    assert!(one.len() < 80_000);
    let form = "/Type /XObject /Subtype /Form /BBox [0 0 72 72]";
    let twice = format!("{form} /Filter [/FlateDecode /FlateDecode]");
    too_much(&pdf_drawing("/X5 Do", &[(twice, zlib(&one))]));
    let runs = format!("{form} /Filter /RunLengthDecode");
    too_much(&pdf_drawing("/X5 Do", &[(runs, [129, b' '].repeat(9 << 20))]));
    let huge =
        "/Type /XObject /Subtype /Image /Width 60000 /Height 60000 /ImageMask true /BitsPerComponent 1";
    too_much(&pdf_drawing("/X5 Do", &[(huge.to_owned(), vec![0; 9])]));
}

#[test]
fn a_person_who_stops_a_page_does_not_wait() {
    let file = doubling(19);
    let progress = std::sync::Arc::new(Progress::new());
    let stop = std::sync::Arc::clone(&progress);
    let stopper = std::thread::Builder::new().spawn(move || {
        std::thread::sleep(Duration::from_millis(60));
        stop.cancel();
    });
    let options = ScanOptions { resolution: Dpi::new(1200.0).ok(), ..ScanOptions::default() };
    let begun = Instant::now();
    let stopped = read_bytes("x", &file, &options, &progress);
    assert!(matches!(stopped, Err(ScanError::Cancelled)), "{stopped:?}");
    assert!(begun.elapsed() < Duration::from_secs(5), "{:?}", begun.elapsed());
    stopper.unwrap().join().unwrap();
}

#[test]
fn absurd_pages_and_numbers_give_a_sentence() {
    let page = |media: &str| {
        let text = String::from_utf8(pdf_drawing("0 g 0 0 1 1 re f", &[])).unwrap();
        attempt(text.replace("[0 0 72 72]", media).as_bytes())
    };
    assert!(matches!(page("[0 0 9999999 9999999]"), Err(ScanError::TooLarge { .. })));
    assert!(matches!(page("[0 0 99999999 1]"), Err(ScanError::TooWide { .. })));
    for tiny in ["[0 0 0 0]", "[0 0 0.001 0.001]", "[5 5 5 5]", "[72 72 0 0]", "[0 0 14400 3]"] {
        assert!(page(tiny).is_ok(), "{tiny}");
    }
    for absurd in ["[0 0 1e38 1e38]", "[0 0 99999999999999999999 1]", "[NaN 0 1 1]", "[0 0]", "[(a) 0 0 1]"] {
        // The answer does not matter, only that there is one.
        drop(page(absurd));
    }
    let numbers = "1e308 0 0 1e308 0 0 cm 99999999999999999999 0 m 1e308 1e308 l S 0 0 1e308 1 re f \
                   -1e308 -1e308 1e308 1e308 1e308 0 c S 1e38 w [1e-38 1e38] 0 d 0 0 m 9 9 l S";
    drop(attempt(&pdf_drawing(numbers, &[])));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn a_cut_picture_is_never_filled_with_another_colour(share in 0.0..0.999_f64, packed in any::<bool>()) {
        let (data, filter) = if packed {
            (zlib(&gray()), "FlateDecode")
        } else {
            (jpeg_gray(SIDE, SIDE, &gray(), None), "DCTDecode")
        };
        let keep = ((data.len() as f64) * share) as usize;
        let file = with_picture(&format!("{GRAY} /Filter /{filter}"), data[..keep].to_vec());
        prop_assert!(attempt(&file).is_err());
    }

    #[test]
    fn contents_of_any_kind_never_panic(words in prop::collection::vec(0_usize..24, 0..60)) {
        const WORDS: [&str; 24] = [
            "q", "Q", "0", "1e9", "-5", "72", "0.5", "m", "l", "c", "re", "f", "S", "W n", "cm", "/X5", "Do", "scn",
            "/Pattern cs", "BT", "ET", "[1 2] 0 d", "(ab) Tj", "/X6 gs",
        ];
        let contents = words.iter().map(|w| WORDS[*w]).collect::<Vec<_>>().join(" ");
        let form = "/Type /XObject /Subtype /Form /BBox [0 0 72 72]".to_owned();
        drop(attempt(&pdf_drawing(&contents, &[(form, b"0 g 1 1 9 9 re f".to_vec())])));
    }
}
