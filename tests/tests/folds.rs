//! Fold schemes against physical facts (common practice, no source) and against the ring walk of the folded
//! sheet itself.
#![expect(clippy::unwrap_used, reason = "a test stops at the first thing that is wrong")]

use proptest::prelude::*;
use slipsheet_core::geometry::Point;
use slipsheet_core::units::Size;
use slipsheet_paper::fold::{self, Binding, Face, Fold, Folding, GridLine, PagePlace, Scheme, Side, Turn};
use slipsheet_tests::nesting::layers_nest;

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
    assert!(all(&rows[0], Turn::Half) && all(&rows[1], Turn::Upright), "{rows:?}");
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

/// All schemes: those that are kept in files and every accordion.
fn all() -> Vec<Scheme> {
    let accordions = fold::PANELS.map(|n| fold::accordion(n).unwrap());
    fold::shipped().unwrap().into_iter().chain(accordions).collect()
}

fn flat_folded() -> impl Iterator<Item = (Scheme, Size, Folding)> {
    all().into_iter().filter(|s| s.binding != Binding::Ring).map(|s| {
        let sheet = s.oriented(Size::mm(210.0, 297.0));
        let folding = Folding::of(&s, sheet).unwrap();
        (s, sheet, folding)
    })
}

#[test]
fn every_page_of_every_scheme_appears_once_where_folding_puts_it() {
    for scheme in all() {
        let mut pages: Vec<u32> = scheme.read().unwrap().iter().map(|p| p.page).collect();
        pages.sort_unstable();
        assert_eq!(pages, (1..=scheme.pages()).collect::<Vec<_>>(), "{}", scheme.id);
        scheme.verify().unwrap();
    }
}

/// What the engine folds must also pass the general condition for layers of equal panels, which knows nothing
/// of steps.
#[test]
fn folded_stacks_of_equal_panels_nest() {
    for (mut scheme, sheet, _) in flat_folded() {
        // Panels that are tucked in count as whole ones here.
        scheme.shorter.clear();
        let folding = Folding::of(&scheme, sheet).unwrap();
        let cols = scheme.columns.len();
        let order: Vec<usize> = folding.folded().layers.iter().map(|p| p.cell.1 * cols + p.cell.0).collect();
        let here = folding.rect(&folding.folded().layers[0]);
        if folding.folded().layers.iter().all(|p| folding.rect(p).centre().distance(here.centre()) < 1e-6) {
            assert!(layers_nest(cols, scheme.rows.len(), &order), "{} {order:?}", scheme.id);
        }
    }
}

/// The outer forme of an octavo reads 8 9 12 5 upside down over 1 16 13 4 (the layout of hand-press printing,
/// as in P. Gaskell, "A New Introduction to Bibliography", 1972; from memory).
#[test]
fn an_octavo_has_the_outer_forme_of_the_hand_press() {
    let scheme = fold::find("octavo16").unwrap();
    let pages: Vec<u32> = scheme.front.iter().map(|p| p.page).collect();
    assert_eq!(pages, [5, 12, 9, 8, 4, 13, 16, 1]);
    let gutter = |sum: u32, pair: &[u32]| pair[0] + pair[1] == sum;
    assert!(pages.chunks(2).all(|pair| gutter(17, pair)));
}

#[test]
fn facing_pages_of_sections_stand_upright_together() {
    for scheme in all().into_iter().filter(|s| s.binding != Binding::Leaflet) {
        let sheet = scheme.oriented(Size::mm(210.0, 297.0));
        let leaves = scheme.pages() as usize / 2;
        for open in 1..leaves {
            let pose = scheme.pose(sheet, 1.0, open as f64);
            let heads: Vec<f64> = pose.panels.iter().map(|p| (p.corners[0] - p.corners[3]).y).collect();
            assert!(heads.iter().all(|y| *y > 0.0), "{} {open}: {heads:?}", scheme.id);
        }
    }
}

#[test]
fn the_inner_panels_of_a_roll_fold_are_shorter() {
    let scheme = fold::find("roll8").unwrap();
    let xs = scheme.column_lines(Size::mm(297.0, 210.0), Face::Front);
    let widths: Vec<f64> = xs.windows(2).map(|w| w[1] - w[0]).collect();
    for (width, wanted) in widths.iter().zip([73.0, 74.0, 75.0, 75.0]) {
        assert!((width - wanted).abs() < 1e-9, "{widths:?}");
    }
}

/// What folds inside another panel is 1 to 2 mm shorter than it (common practice, no source), on small sheets and
/// large ones, and on both faces.
#[test]
fn panels_that_are_tucked_in_are_1_to_2_mm_shorter() {
    for (id, tucked) in [("letter6", vec![0]), ("gate8", vec![0, 3]), ("roll8", vec![1])] {
        let scheme = fold::find(id).unwrap();
        for size in [Size::mm(148.0, 210.0), Size::mm(215.9, 279.4), Size::mm(297.0, 420.0)] {
            let sheet = scheme.oriented(size);
            let widths = |face| -> Vec<f64> {
                scheme.column_lines(sheet, face).windows(2).map(|w| w[1] - w[0]).collect()
            };
            let front = widths(Face::Front);
            let full = front.iter().copied().fold(0.0, f64::max);
            for (column, width) in front.iter().enumerate().filter(|(i, _)| id != "roll8" || *i > 0) {
                let less = full - width;
                let right = if tucked.contains(&column) { 1.0 - 1e-9..=2.0 + 1e-9 } else { -1e-9..=1e-9 };
                assert!(right.contains(&less), "{id} on {sheet:?}: column {column} is {less} mm shorter");
            }
            let back: Vec<f64> = widths(Face::Back).into_iter().rev().collect();
            assert!(front.iter().zip(&back).all(|(f, b)| (f - b).abs() < 1e-9), "{front:?} {back:?}");
            // Pages lie in their panels, and creases between them.
            let lines = scheme.sheet_lines(sheet, Face::Front);
            let xs = scheme.column_lines(sheet, Face::Front);
            assert!(lines.iter().all(|l| xs.iter().any(|x| (x - l.from.x).abs() < 1e-9)), "{lines:?}");
        }
    }
}

/// The gates of a closed gate leave a gap where they meet, and the letter's tucked panel ends short of the crease that it
/// is folded toward.
#[test]
fn folded_flat_the_tucked_panels_do_not_reach_the_next_crease() {
    let a5 = Size::mm(148.0, 210.0);
    for (id, step, gap) in [("gate8", 2, 2.0), ("letter6", 1, 1.5)] {
        let scheme = fold::find(id).unwrap();
        let sheet = scheme.oriented(a5);
        let folding = Folding::of(&scheme, sheet).unwrap();
        // What lies over the panels that were not moved: the middle between creases stays in place.
        let stack = folding.after(step);
        let rects: Vec<_> = stack.layers.iter().map(|p| (p.cell.0, folding.rect(p))).collect();
        let of = |column: usize| rects.iter().find(|(c, _)| *c == column).unwrap().1;
        let found = match id {
            "gate8" => {
                let (left, right) = (of(0), of(3));
                (right.x - (left.x + left.width)).max(left.x - (right.x + right.width))
            }
            _ => {
                let (tucked, over) = (of(0), of(1));
                over.width - tucked.width
            }
        };
        assert!((found - gap).abs() < 1e-6, "{id}: {found} mm");
    }
}

/// A project keeps the fold that it was saved with, also where the program's own has changed since.
#[test]
fn a_saved_project_keeps_its_equal_panels() {
    let colour = slipsheet_core::ink::Swatch::Estimated {
        lab: slipsheet_core::colour::Lab::new(93.0, 0.0, 2.0).unwrap(),
    };
    let stock = slipsheet_core::stock::Stock::new("Plain white", colour);
    let mut project =
        slipsheet_document::project::Project::new("Invented", slipsheet_core::units::SheetFormat::A4, stock);
    let mut equal = fold::find("letter6").unwrap();
    equal.shorter.clear();
    project.main.fold = Some(equal.clone());
    let read = slipsheet_document::project::Project::from_ron(&project.to_ron().unwrap()).unwrap();
    assert_eq!(read.main.fold, Some(equal));
    assert!(
        (read.main.fold.unwrap().place(project.main.size(), 1).unwrap().size.width.get() - 99.0).abs() < 1e-9
    );
}

fn refused(change: impl Fn(&mut Scheme), id: &str, words: &[&str]) {
    let mut scheme = fold::find(id).unwrap();
    change(&mut scheme);
    let message = scheme.check().err().map(|e| e.to_string()).unwrap_or_default();
    assert!(words.iter().all(|w| message.contains(w)), "{id}: {message}, not {words:?}");
}

#[test]
fn schemes_that_do_not_fold_into_their_pages_are_refused_with_the_reason() {
    // Two pages swapped.
    refused(|s| s.front.swap(0, 2), "quarter8", &["ends as page", "not as page"]);
    // A page upside down.
    refused(|s| s.front[0].turn = Turn::Upright, "octavo16", &["page 5 must be turned by 180°"]);
    // A flap that is too long for what it is rolled into.
    refused(|s| s.shorter = vec![-2.0, 0.0, 0.0, 0.0], "roll8", &["already reaches past the crease"]);
    // The second fold goes the other way and buries the cover.
    refused(|s| s.creases[2].fold = Fold::Valley, "roll8", &["page 1"]);
    // A crease along a slit.
    refused(
        |s| s.slits.push(fold::Slit { line: GridLine::Vertical(1), from: 0, to: 1 }),
        "single4",
        &["creases along a slit"],
    );
    // A crease that stops inside the sheet.
    refused(|s| s.creases[0].span = Some((0, 1)), "quarter8", &["ends inside the paper"]);
    // A fold done twice.
    refused(|s| s.creases[1] = s.creases[0], "letter6", &["folded already"]);
    // A panel pushed up through one that lies on it.
    let accordion = |s: &mut Scheme| {
        *s = fold::accordion(4).unwrap();
        s.columns = vec![2.0, 0.5, 1.0, 1.0];
        let valley = |line, moves| fold::Crease {
            line: GridLine::Vertical(line),
            fold: Fold::Valley,
            moves,
            span: None,
        };
        s.creases = vec![valley(2, Side::Before), valley(3, Side::After)];
    };
    refused(accordion, "single4", &["step 2", "column 4, row 1 through the one in column 1, row 1"]);
}

proptest! {
    /// Random orders and directions of a strip's creases either fold into a stack that nests, or are refused.
    #[test]
    fn random_folds_of_a_strip_nest_or_are_refused(
        panels in 2_usize..7,
        picks in prop::collection::vec((any::<u8>(), any::<bool>(), any::<bool>()), 6)
    ) {
        let mut scheme = fold::accordion(panels.max(3)).unwrap();
        let panels = scheme.columns.len();
        let mut lines: Vec<usize> = (1..panels).collect();
        scheme.creases = picks.iter().take(panels - 1).map(|(pick, valley, after)| {
            let line = lines.remove(usize::from(*pick) % lines.len());
            fold::Crease {
                line: GridLine::Vertical(line),
                fold: if *valley { Fold::Valley } else { Fold::Mountain },
                moves: if *after { Side::After } else { Side::Before },
                span: None,
            }
        }).collect();
        let sheet = scheme.oriented(Size::mm(210.0, 297.0));
        if let Ok(folding) = Folding::of(&scheme, sheet) {
            let stack = folding.folded();
            let order: Vec<usize> = stack.layers.iter().map(|p| p.cell.0).collect();
            prop_assert!(layers_nest(panels, 1, &order), "{order:?}");
        }
    }
}
