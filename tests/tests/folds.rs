//! Fold schemes against physical facts (common practice, no source) and against the ring walk of the folded
//! sheet itself.
#![expect(clippy::unwrap_used, reason = "a test stops at the first thing that is wrong")]

use proptest::prelude::*;
use slipsheet_core::fold::{self, Face, PagePlace, Scheme, Turn};
use slipsheet_core::geometry::Point;
use slipsheet_core::units::Size;

fn slit8() -> (Scheme, Size) {
    let scheme = fold::find("slit8").unwrap();
    let sheet = scheme.oriented(Size::mm(215.9, 279.4));
    (scheme, sheet)
}

fn place(scheme: &Scheme, sheet: Size, page: u32) -> PagePlace {
    scheme.place(sheet, page).unwrap()
}

#[test]
fn the_covers_of_the_slit_sheet_lie_side_by_side() {
    let (scheme, sheet) = slit8();
    let (first, last) = (place(&scheme, sheet, 1), place(&scheme, sheet, 8));
    assert_eq!(first.cell.1, last.cell.1);
    // Opened flat, the back cover lies left of the front cover.
    assert_eq!(first.cell.0, last.cell.0 + 1);
}

#[test]
fn one_row_of_the_slit_sheet_stands_upright_and_the_other_upside_down() {
    let (scheme, sheet) = slit8();
    let mut rows = [Vec::new(), Vec::new()];
    for p in scheme.places(sheet, Face::Front) {
        rows[p.cell.1].push(p.turn);
    }
    let all = |row: &[Turn], turn| row.len() == 4 && row.iter().all(|t| *t == turn);
    assert!(all(&rows[0], Turn::Half) && all(&rows[1], Turn::None), "{rows:?}");
}

/// Going round the ring of eight panels, pages follow one another, and pages that sum to 9 lie across the
/// spine from each other: as far before the covers' fold as the other lies behind it.
#[test]
fn the_ring_of_the_slit_sheet_reads_in_order_and_opposite_pages_sum_to_nine() {
    let (scheme, sheet) = slit8();
    let mut ring: Vec<PagePlace> = scheme.places(sheet, Face::Front);
    // Clockwise round the slit: the upper row from left to right, then the lower one back.
    ring.sort_by_key(|p| if p.cell.1 == 0 { p.cell.0 } else { 7 - p.cell.0 });
    let pages: Vec<u32> = ring.iter().map(|p| p.page).collect();
    let start = pages.iter().position(|p| *p == 1).unwrap();
    for (i, step) in (0..8).map(|i| (i, pages[(start + 8 - i) % 8])) {
        assert_eq!(step, i as u32 + 1, "the ring reads {pages:?}");
    }
    for i in 0..4 {
        let ahead = pages[(start + 8 - i) % 8];
        let behind = pages[(start + 1 + i) % 8];
        assert_eq!(ahead + behind, 9);
    }
}

/// Neighbours on the sheet that become neighbours in the booklet stand the same way, so a picture may cross
/// their fold.
#[test]
fn facing_pages_stand_the_same_way_and_share_an_edge() {
    let (scheme, sheet) = slit8();
    for (left, right) in [(2, 3), (4, 5), (6, 7), (8, 1)] {
        let (l, r) = (place(&scheme, sheet, left), place(&scheme, sheet, right));
        assert_eq!(l.turn, r.turn);
        let edge = l.face_from_page * Point::new(l.size.width.get(), 30.0);
        let other = r.face_from_page * Point::new(0.0, 30.0);
        assert!(edge.distance(other) < 1e-9, "pages {left} and {right}");
    }
}

/// The head of a letter-size slit booklet's page is 2.75 in wide and 4.25 in high (a letter sheet in eighths).
#[test]
fn a_page_of_the_slit_letter_sheet_is_an_eighth_of_it() {
    let (scheme, sheet) = slit8();
    let page = place(&scheme, sheet, 1).size;
    assert!((page.width.get() - 2.75 * 25.4).abs() < 1e-9 && (page.height.get() - 4.25 * 25.4).abs() < 1e-9);
}

proptest! {
    #[test]
    fn pages_tile_every_printed_face(width in 50.0..600.0_f64, height in 50.0..600.0_f64) {
        for scheme in fold::shipped().unwrap() {
            let sheet = scheme.oriented(Size::mm(width, height));
            for face in [Face::Front, Face::Back] {
                let places = scheme.places(sheet, face);
                if places.is_empty() {
                    continue;
                }
                let area: f64 = places.iter().map(|p| p.rect.width * p.rect.height).sum();
                prop_assert!((area / (sheet.width.get() * sheet.height.get()) - 1.0).abs() < 1e-9);
                for p in &places {
                    let corner = p.face_from_page * Point::default();
                    prop_assert!(p.rect.x - 1e-6 <= corner.x && corner.x <= p.rect.x + p.rect.width + 1e-6);
                    prop_assert!(p.rect.y - 1e-6 <= corner.y && corner.y <= p.rect.y + p.rect.height + 1e-6);
                }
            }
        }
    }
}
