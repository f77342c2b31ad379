use super::*;
use crate::construction::Construction;
use crate::fold::{Face, Scheme, find, shipped};
use slipsheet_base::picture::Picture;
use slipsheet_base::units::{Mm, Size};

const GROUND: [u8; 3] = [120; 3];

fn view(yaw: f64) -> DummyView {
    DummyView { yaw, ..DummyView::facing(200, 160, GROUND) }
}

fn sheet(scheme: &Scheme) -> Size {
    scheme.oriented(Size::mm(216.0, 280.0))
}

fn plain(rgb: [u8; 3], sheet: Size) -> Texture {
    let (width, height) = ((sheet.width.get() / 2.0) as usize, (sheet.height.get() / 2.0) as usize);
    let [r, g, b] = rgb;
    let pixels = vec![[r, g, b, 255]; width * height];
    Texture::new(Picture { width, height, pixels }, 0.5, [255; 3])
}

fn draw(folded: &Folded, faces: [Option<&Texture>; 2], paper: [u8; 3], view: &DummyView, out: &mut Picture) {
    draw_sheets(folded, |_, face| faces[usize::from(face == Face::Back)], paper, view, out);
}

fn picture(folded: &Folded, faces: [Option<&Texture>; 2], view: &DummyView) -> Picture {
    let mut out = Picture::default();
    draw(folded, faces, [255; 3], view, &mut out);
    out
}

#[test]
fn the_flat_sheet_shows_its_front_and_turned_round_its_back() {
    let scheme = find("single4").unwrap();
    let size = sheet(&scheme);
    let (red, blue) = (plain([200, 0, 0], size), plain([0, 0, 200], size));
    let flat = Folded::new(&scheme, size, 0.0, 0.0, 0.1);
    let out = picture(&flat, [Some(&red), Some(&blue)], &view(0.0));
    assert!(out.at(100, 80)[0] > 180 && out.at(100, 80)[2] == 0, "{:?}", out.at(100, 80));
    assert_eq!(out.at(0, 0), [120, 120, 120, 255]);
    let out = picture(&flat, [Some(&red), Some(&blue)], &view(180.0));
    assert!(out.at(100, 80)[2] > 180 && out.at(100, 80)[0] == 0, "{:?}", out.at(100, 80));
}

#[test]
fn every_side_without_print_shows_the_paper() {
    let scheme = find("single4").unwrap();
    let flat = Folded::new(&scheme, sheet(&scheme), 0.0, 0.0, 0.1);
    let mut out = Picture::default();
    draw(&flat, [None, None], [240, 250, 230], &view(0.0), &mut out);
    let [r, g, b, _] = out.at(100, 80);
    assert!(r.abs_diff(240) < 4 && g.abs_diff(250) < 4 && b.abs_diff(230) < 4, "{:?}", out.at(100, 80));
}

/// A pixel of ground between two pixels of paper would be a tear.
#[test]
fn no_line_shows_between_panels_or_strips() {
    for scheme in shipped().unwrap() {
        let size = sheet(&scheme);
        let white = plain([255; 3], size);
        // The flaps of a leaflet leave true gaps while they move; bound leaves never do.
        let bound = scheme.binding != crate::fold::Binding::Leaflet;
        for (fold, open) in [(0.0, 0.0), (1.0, 1.0), (1.0, 1.37)] {
            if fold > 0.0 && !bound {
                continue;
            }
            let folded = Folded::new(&scheme, size, fold, open, 0.1);
            for yaw in [0.0, 13.0] {
                let v = DummyView { yaw, ground: [255, 0, 0], ..DummyView::facing(403, 301, GROUND) };
                let out = picture(&folded, [Some(&white), Some(&white)], &v);
                let ground = |p: [u8; 4]| p[1] < 20;
                for y in 0..out.height {
                    for x in 1..out.width - 1 {
                        let [left, here, right] = [x - 1, x, x + 1].map(|x| ground(out.at(x, y)));
                        assert!(left || !here || right, "{} at {x}, {y}, {fold} {open} {yaw}", scheme.id);
                    }
                }
            }
        }
    }
}

#[test]
fn a_click_finds_the_page() {
    let scheme = find("slit8").unwrap();
    let size = Size::mm(280.0, 216.0);
    let page_at = |folded: &Folded, at| pages::page_of(folded, &pages::places(&scheme, size), &view(0.0), at);
    let flat = Folded::new(&scheme, size, 0.0, 0.0, 0.1);
    assert_eq!(page_at(&flat, (55.0, 60.0)), Some(5));
    let closed = Folded::new(&scheme, size, 1.0, 0.0, 0.1);
    assert_eq!(page_at(&closed, (100.0, 80.0)), Some(1));
    assert_eq!(page_at(&closed, (1.0, 1.0)), None);
}

#[test]
fn an_open_spread_marks_its_two_pages_on_their_sides() {
    let scheme = find("slit8").unwrap();
    let size = Size::mm(280.0, 216.0);
    let folded = Folded::new(&scheme, size, 1.0, 1.0, 0.1);
    let marks = page_marks(&folded, &scheme, size, &view(0.0));
    assert_eq!(marks.iter().map(|m| m.page).collect::<Vec<_>>(), [2, 3]);
    assert!(marks[0].x < 90.0 && marks[1].x > 110.0, "{marks:?}");
}

#[test]
fn the_bend_of_a_leaf_keeps_its_length_and_its_ends() {
    for k in [0.1, 0.4, -0.3] {
        let points: Vec<(f64, f64)> = (0..=400)
            .map(|i| {
                let (x, y, _) = bend::arc(k, f64::from(i) / 400.0);
                (x, y)
            })
            .collect();
        let length: f64 = points.windows(2).map(|p| libm::hypot(p[1].0 - p[0].0, p[1].1 - p[0].1)).sum();
        assert!((length - 1.0).abs() < 1e-5, "{length}");
        assert!(points[400].1.abs() < 1e-12, "the chord keeps its direction");
        assert!(points[200].1 * k > 0.0, "a positive bend rises to the first side");
    }
}

#[test]
fn leaves_bend_when_open_and_lie_flat_when_closed() {
    let scheme = find("quarter8").unwrap();
    let size = sheet(&scheme);
    let bent = |open: f64| {
        let pose = scheme.pose(size, 1.0, open);
        bend::bends(&scheme, size, &pose, 1.0, open).arcs
    };
    assert!(bent(0.0).iter().all(|k| k.abs() < 1e-9));
    let open = bent(1.0);
    assert!(open[0] < -0.1 && open[1] > 0.1, "both rise to the reader: {open:?}");
    assert!(bent(1.5)[1] > 0.3, "the turning leaf bends most: {:?}", bent(1.5));
}

#[test]
fn a_booklet_keeps_its_size_while_a_leaf_turns() {
    let scheme = find("slit8").unwrap();
    let size = Size::mm(280.0, 216.0);
    let radius = |open: f64| Folded::new(&scheme, size, 1.0, open, 0.1).radius;
    for i in 10..20 {
        let (now, next) = (radius(f64::from(i) / 10.0), radius(f64::from(i + 1) / 10.0));
        assert!((now - next).abs() < 1.0, "{now} {next}");
    }
}

#[test]
fn heavier_paper_is_thicker_and_its_edge_is_seen_from_the_side() {
    let scheme = find("single4").unwrap();
    // Seen from the side the sheet is nothing but its edge.
    let columns = |thickness: f64| {
        let flat = Folded::new(&scheme, sheet(&scheme), 0.0, 0.0, thickness);
        let out = picture(&flat, [None, None], &view(90.0));
        (0..200).filter(|x| out.at(*x, 80)[1] > 150).count()
    };
    assert!(columns(0.1) >= 1 && columns(20.0) > columns(0.1) + 5, "{} {}", columns(0.1), columns(20.0));
}

#[test]
fn the_ground_is_darkest_beside_the_piece_and_clear_far_from_it() {
    let scheme = find("single4").unwrap();
    let flat = Folded::new(&scheme, sheet(&scheme), 0.0, 0.0, 0.1);
    let out = picture(&flat, [None, None], &DummyView { zoom: 0.6, ..view(0.0) });
    let row: Vec<u8> = (0..200).map(|x| out.at(x, 80)[0]).collect();
    let right = row.iter().rposition(|v| *v > 150).unwrap();
    assert!(row[right + 1] < 95 && row[right + 3] < row[right + 12], "{row:?}");
    assert_eq!(row[199], 120);
    // From behind there is no ground to see.
    let out = picture(&flat, [None, None], &DummyView { zoom: 0.6, ..view(180.0) });
    assert_eq!(out.at(right + 4, 80)[0], 120);
}

#[test]
fn time_runs_through_every_fold_and_then_every_page() {
    for scheme in shipped().unwrap() {
        let steps = steps(&scheme);
        let folds = steps.iter().filter(|s| s.kind == StepKind::Fold).count();
        assert_eq!(steps.len(), folds + scheme.openings(), "{}", scheme.id);
        assert_eq!(moment(&scheme, 0.0), (0.0, 0.0));
        assert_eq!(moment(&scheme, folds as f64), (1.0, 0.0));
        assert_eq!(moment(&scheme, steps.len() as f64), (1.0, scheme.openings() as f64));
        assert_eq!(moment(&scheme, time_of_opening(&scheme, 1.0)), (1.0, 1.0));
        let mut last = (0.0, 0.0);
        for i in 0..=steps.len() * 10 {
            let now = moment(&scheme, i as f64 / 10.0);
            assert!(now.0 >= last.0 && now.1 >= last.1, "{}: {now:?} after {last:?}", scheme.id);
            last = now;
        }
    }
}

#[test]
fn a_page_is_found_at_its_opening() {
    let flat = Construction {
        sheet: Size::mm(279.4, 215.9),
        caliper: 0.1,
        trim: Mm::default(),
        fold: None,
        booklet: None,
    };
    assert_eq!(opening_of_page(&flat, 1), None);
    let slit = find("slit8").unwrap();
    let made = Construction { fold: Some(&slit), ..flat };
    for (page, opening) in [(1, 0), (2, 1), (3, 1), (6, 3), (7, 3), (8, 4)] {
        assert_eq!(opening_of_page(&made, page), Some(opening), "page {page}");
    }
    assert_eq!(opening_of_page(&made, 9), None);
    for scheme in shipped().unwrap() {
        let made = Construction { sheet: sheet(&scheme), fold: Some(&scheme), ..flat };
        for page in 1..=scheme.pages() {
            assert!(opening_of_page(&made, page).is_some(), "{} page {page}", scheme.id);
        }
    }
}

#[test]
fn a_texture_shows_paper_where_nothing_was_drawn() {
    let clear = Texture::new(Picture { width: 4, height: 4, pixels: vec![[0; 4]; 16] }, 0.1, [9, 8, 7]);
    assert!(clear.levels.iter().flat_map(|l| &l.pixels).all(|p| *p == [9, 8, 7, 255]));
}

#[test]
fn both_faces_of_a_turning_leaf_are_seen_from_their_sides() {
    let scheme = find("quarter8").unwrap();
    let size = sheet(&scheme);
    let (front, back) = (plain([250, 0, 0], size), plain([0, 0, 250], size));
    let half = Folded::new(&scheme, size, 1.0, 1.5, 0.1);
    let mut shown = [false; 2];
    for yaw in [-60.0, 60.0] {
        let out = picture(&half, [Some(&front), Some(&back)], &view(yaw));
        shown[0] |= out.pixels.iter().any(|p| p[0] > 120 && p[2] == 0);
        shown[1] |= out.pixels.iter().any(|p| p[2] > 120 && p[0] == 0);
    }
    assert_eq!(shown, [true; 2]);
    assert_eq!(scheme.place(size, 1).unwrap().face, Face::Front);
}
