use std::process::Command;

use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::units::Size;

use super::{Curve, Glyph, Lettering, PdfFonts, Style, cover};
use crate::guide::pdf;
use crate::pdf_parts::{PT_PER_MM, content_in_mm};

/// An em of a millimetre, so that a width in mm is one in em.
const SMALL: Style = Style::regular(PT_PER_MM, [0; 3]);
const STRONG: Style = Style::semi_bold(PT_PER_MM, [0; 3]);
const UNITS_PER_EM: f64 = 2000.0;

fn lettering() -> Lettering {
    Lettering::new().unwrap()
}

/// The lines of words that Poppler finds in a PDF.
pub(crate) fn read_pdf(bytes: &[u8]) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("words.pdf");
    std::fs::write(&path, bytes).unwrap();
    let read = Command::new("pdftotext").arg(&path).arg("-").output();
    let read = read.expect("pdftotext is needed for this test; .ci/setup test installs it");
    let read = String::from_utf8(read.stdout).unwrap();
    read.lines().map(|l| l.trim().to_owned()).filter(|l| !l.is_empty()).collect()
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}

/// Figures of `HarfBuzz` 15.0.0 (`uharfbuzz` 0.57: left to right, script Latn, no language) for the two font files: the
/// number of glyphs, and the pen's way in units of the font.
#[test]
fn texts_are_as_wide_as_harfbuzz_sets_them() {
    let known = [
        ("AV", 2, 2537, 2593),
        ("To", 2, 2179, 2208),
        ("Wave", 4, 5015, 5055),
        // The letters fi are one glyph.
        ("office", 5, 5321, 5398),
        // A space is kerned as well.
        (". A", 3, 2343, 2395),
        // An accent that is typed apart becomes one glyph with its letter.
        ("Te\u{301}l", 3, 2787, 2844),
        // The empty box of what the fonts lack.
        ("→", 1, 1372, 1341),
        ("Plate 2 of 2: Roof tile", 23, 19221, 19521),
    ];
    for (text, glyphs, regular, semi_bold) in known {
        for (style, units) in [(SMALL, regular), (STRONG, semi_bold)] {
            let line = lettering().line(text, style);
            assert_eq!((line.glyphs.len(), line.end), (glyphs, units), "{text}");
            assert!(near(line.width(), f64::from(units) / UNITS_PER_EM), "{text}");
        }
    }
}

#[test]
fn a_kerned_pair_is_narrower_than_its_letters_apart() {
    for (style, kern) in [(SMALL, 2765 - 2537), (STRONG, 2817 - 2593)] {
        let apart = lettering().width("A", style) + lettering().width("V", style);
        assert!(near(apart - lettering().width("AV", style), f64::from(kern) / UNITS_PER_EM));
    }
}

/// From the same run of `HarfBuzz`: an acute over u with two dots is set back by 676, one over h by 1002 and raised by 412.
#[test]
fn an_accent_stands_over_its_letter_and_both_are_one_text() {
    for (text, letter, (back, up)) in [("\u{1d8}", 358, (676, 0)), ("h\u{301}", 261, (1002, 412))] {
        let line = lettering().line(text, SMALL);
        let below = Glyph { id: letter, text: 0..text.len(), x: 0, y: 0 };
        let accent = Glyph { id: 603, text: 0..0, x: line.end - back, y: up };
        assert_eq!(line.glyphs, [below, accent]);
    }
}

#[test]
fn control_characters_and_every_white_space_are_spaces() {
    let line =
        |text: &str| lettering().line(text, SMALL).glyphs.iter().map(|g| (g.id, g.x)).collect::<Vec<_>>();
    for blank in ["\t", "\0", "\n", "\u{a0}", "\u{2009}", "\u{2028}", "\u{3000}"] {
        assert_eq!(line(&format!("a{blank}b")), line("a b"), "{blank:?}");
    }
}

#[test]
fn lines_break_between_words_and_are_no_wider_than_the_room() {
    let text = "  Score along\tthe dashes of net.pdf, then cut along its whole lines. ";
    for room in [4.0, 7.5, 12.0, 40.0] {
        let lines = lettering().wrapped(text, room, SMALL);
        let words: Vec<&str> = text.split_whitespace().collect();
        assert_eq!(lines.join(" "), words.join(" "));
        for (i, line) in lines.iter().enumerate() {
            let is_word = !line.contains(' ');
            assert!(lettering().width(line, SMALL) <= room || is_word, "{line} in {room}");
            // The next word would not have fitted.
            if let Some(next) = lines.get(i + 1).and_then(|l| l.split(' ').next()) {
                assert!(lettering().width(&format!("{line} {next}"), SMALL) > room, "{line} | {next}");
            }
        }
    }
    assert!(lettering().wrapped(" \n", 10.0, SMALL).is_empty());
    let two = lettering().wrapped_to(2, text, 7.5, SMALL);
    assert!(two.len() == 2 && two[0] == "Score along the" && two[1].ends_with("whole lines."), "{two:?}");
}

#[test]
fn a_line_too_long_ends_with_an_ellipsis_as_late_as_it_can() {
    let text = "Registration of the officers’ “Wave” AVATAR";
    let whole = lettering().width(text, STRONG);
    assert_eq!(lettering().fitted(text, whole, STRONG).text, text);
    for share in [0.1, 0.35, 0.5, 0.8, 0.99] {
        let short = lettering().fitted(text, share * whole, STRONG);
        let kept = short.text.strip_suffix('…').unwrap();
        assert!(text.starts_with(kept) && short.width() <= share * whole, "{}", short.text);
        // A glyph of two letters is not parted, so up to two more letters and a space may be left out.
        let more: String = text.chars().take(kept.chars().count() + 3).collect();
        assert!(lettering().width(&format!("{more}…"), STRONG) > share * whole, "{} of {share}", short.text);
    }
    assert_eq!(lettering().fitted(text, 0.1, STRONG).text, "");
    let long = lettering().fitted(&"tide ".repeat(100_000), 10.0, STRONG);
    assert!(long.text.starts_with("tide tide") && long.text.ends_with('…') && long.width() <= 10.0);
}

/// The area of an outline by its corners (the shoelace formula) against the pixels that it covers.
#[test]
fn outlines_cover_as_much_as_their_area_and_lie_where_they_are_carried() {
    let side = |x: f64, y: f64| Point::new(x, y);
    let corners = [side(1.3, 2.1), side(9.7, 2.1), side(9.7, 6.6), side(1.3, 6.6)];
    let square: Vec<Curve> = (0..4).map(|i| Curve::Line(corners[i], corners[(i + 1) % 4])).collect();
    let covered = cover(&square, 2.0).unwrap();
    let sum: f64 = covered.pixels().map(|(_, _, share)| share).sum();
    assert!((sum - 8.4 * 4.5 * 4.0).abs() < 0.05, "{sum}");
    assert!(covered.pixels().all(|(x, y, _)| (2..20).contains(&x) && (4..14).contains(&y)));
    assert!(
        cover(&[], 2.0).is_none()
            && cover(&lettering().line(" ", SMALL).outlines(Affine::IDENTITY), 9.0).is_none()
    );

    // The letter I is a bar as high as a capital; a quarter turn lays it down.
    let height = |curves: &[Curve]| {
        let ys = curves.iter().map(|c| c.end().y);
        ys.clone().fold(f64::MIN, f64::max) - ys.fold(f64::MAX, f64::min)
    };
    let line = lettering().line("I", SMALL);
    let (standing, laid) = (line.outlines(Affine::IDENTITY), line.outlines(Affine::turn(90.0)));
    assert!(height(&standing) > 0.6 && height(&laid) < 0.2, "{} {}", height(&standing), height(&laid));
    for pair in standing.windows(2) {
        assert_eq!(pair[0].end(), pair[1].start(), "the outline is not closed");
    }
    assert!(standing.iter().all(|c| c.end().y <= 0.0), "it stands on its baseline");
}

/// Poppler reads the words as they were asked for: with kerns, a glyph for two letters, accents that were typed apart,
/// and characters that the fonts lack, which are all drawn as the same box.
#[test]
fn text_of_a_pdf_is_read_as_it_was_asked_for() {
    let asked = [
        "AVATAR To Wave: office, fjord, shuffle",
        "Café Te\u{301}l \u{1d8} h\u{301} x\u{308}\u{301}",
        "→ 日本 ☂ → 日",
        "“Ink-bottle blue” – 75 % at 45°, 3 × 4 mm",
    ];
    let size = Size::mm(200.0, 100.0);
    let (mut content, mut fonts) = (content_in_mm(size), PdfFonts::default());
    for (i, text) in asked.iter().enumerate() {
        let style = if i % 2 == 0 { Style::regular(14.0, [0; 3]) } else { Style::semi_bold(14.0, [0; 3]) };
        let from_line = Affine::shift(10.0, 20.0 * i as f64 + 10.0);
        let line = lettering().line(text, style);
        fonts.show(&mut content, &line, from_line);
    }
    let bytes = pdf::document(vec![(size, content.finish().into_vec())], &fonts, "words").unwrap();
    assert_eq!(read_pdf(&bytes), asked);
}
