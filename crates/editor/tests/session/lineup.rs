//! Layers lined up by marks and on one another, and compared.

use super::*;

/// A drawing of blots at 100 dpi, shifted by some pixels.
fn blots(folder: &Path, name: &str, dx: i64, dy: i64) -> PathBuf {
    use slipsheet_files::png_out::{PngMeta, write_gray};
    let (w, h) = (800_u32, 600_u32);
    let mut pixels = vec![255_u8; (w * h) as usize];
    let mut state = 7_u64;
    let mut chance = |n: i64| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((state >> 33) % n as u64) as i64
    };
    for _ in 0..90 {
        let (x, y, r, g) = (60 + chance(680), 60 + chance(480), 4 + chance(22), chance(160) as u8);
        for v in -r..=r {
            for u in -r..=r {
                if u * u + v * v <= r * r {
                    let at = (y + v + dy) * i64::from(w) + x + u + dx;
                    pixels[at as usize] = g;
                }
            }
        }
    }
    let path = folder.join(name);
    let meta = PngMeta { dpi: slipsheet_core::units::Dpi::new(100.0).unwrap(), text: vec![] };
    write_gray(std::fs::File::create(&path).unwrap(), w, h, &pixels, &meta).unwrap();
    path
}

/// A command about the first piece of a layer's artwork.
fn apply_to_art(s: &mut Session, command: fn(ArtId) -> Request, layer: usize) -> Vec<Effect> {
    let id = art_id(s, layer);
    apply(s, command(id))
}

#[test]
fn a_layer_is_lined_up_on_the_one_below_by_what_both_show() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    let files = vec![blots(dir.path(), "a.png", 0, 0), blots(dir.path(), "b.png", 8, -4)];
    apply(&mut s, add_scans(files));
    apply_to_art(&mut s, Request::LineUp, 1);
    let placed = s.sheet().layers[1].art[0].placement;
    // 8 and 4 pixels at 100 dpi are 2.03 and 1.02 mm; the layer moves back by as much.
    assert!((placed.dx.get() + 2.03).abs() < 0.1 && (placed.dy.get() - 1.02).abs() < 0.1, "{placed:?}");
    apply(&mut s, Request::Undo);
    assert_eq!(s.sheet().layers[1].art[0].placement, Default::default());
    assert!(
        s.apply(Request::LineUp(art_id(&s, 0)))
            .unwrap_err()
            .to_string()
            .contains("no layer is printed before")
    );
}

#[test]
fn unrelated_layers_are_not_moved() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    let files = vec![blots(dir.path(), "a.png", 0, 0), scan(dir.path(), "plain.png", 90)];
    apply(&mut s, add_scans(files));
    let effects = s.apply(Request::LineUp(art_id(&s, 1))).unwrap();
    let [Effect::Start(job)] = &effects[..] else { panic!("{effects:?}") };
    let done = job.clone().run(&Progress::new());
    let refused = s.apply(Request::JobDone(s.epoch(), Arc::new(done))).unwrap_err();
    assert!(refused.to_string().contains("by its marks or by hand"), "{refused}");
    assert_eq!(s.sheet().layers[1].art[0].placement, Default::default());
}

#[test]
fn a_printed_guide_that_is_scanned_is_placed_by_its_marks() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    let guide = dir.path().join("guide.png");
    apply(&mut s, written_to(slipsheet_editor::GuideExport::Sheets, guide.clone()));
    apply(&mut s, add_scans(vec![guide]));
    apply(&mut s, written_to(slipsheet_editor::WedgeExport, dir.path().join("wedge")));
    assert!(std::fs::read(dir.path().join("wedge.pdf")).unwrap().starts_with(b"%PDF-"));
    // Laid down by hand, it lies wrong by some millimetres.
    let wrong = slipsheet_document::layer::Placement { dx: Mm::new(4.0), ..Default::default() };
    edit_art(&mut s, ArtEdit::Placement(wrong));
    apply_to_art(&mut s, Request::PlaceByMarks, 0);
    let placed = s.sheet().layers[0].art[0].placement;
    assert!(placed.dx.get().abs() < 0.1 && placed.dy.get().abs() < 0.1, "{placed:?}");
    assert!(s.notices().iter().any(|n| n.text.contains("Placed by")), "{:?}", s.notices());
}

/// The marks of the first piece of the first layer, as the window would be shown them.
fn marks_shown(s: &mut Session) -> slipsheet_editor::MarksToShow {
    let effects = apply_to_art(s, Request::LookOverMarks, 0);
    let shown = effects.into_iter().find_map(|e| match e {
        Effect::ShowMarks(marks) => Some(*marks),
        _ => None,
    });
    shown.unwrap()
}

#[test]
fn marks_are_looked_over_before_they_place_and_placing_is_one_step() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    let guide = dir.path().join("guide.png");
    apply(&mut s, written_to(slipsheet_editor::GuideExport::Sheets, guide.clone()));
    apply(&mut s, add_scans(vec![guide]));
    let wrong = slipsheet_document::layer::Placement { dx: Mm::new(4.0), ..Default::default() };
    edit_art(&mut s, ArtEdit::Placement(wrong));
    let shown = marks_shown(&mut s);
    assert!(shown.why.is_none() && shown.original.at == art_id(&s, 0) && shown.table.marks.len() >= 8);
    // Looking alone moves nothing.
    assert_eq!(s.sheet().layers[0].art[0].placement, wrong);
    assert_eq!(shown.kind, slipsheet_registration::register::Chosen::Similarity);
    let fit = shown.table.fit(shown.kind).unwrap();
    let reviewed =
        slipsheet_editor::Reviewed { original: shown.original, table: shown.table, fit, crop: true };
    apply(&mut s, Request::PlaceReviewed(Box::new(reviewed)));
    let art = s.sheet().layers[0].art[0].clone();
    assert!(art.placement.dx.get().abs() < 0.1, "{:?}", art.placement);
    let sheet = s.sheet().size();
    let crop = art.crop.unwrap();
    assert!((crop.width.get() - sheet.width.get()).abs() < 0.3, "{crop:?}");
    assert!((crop.height.get() - sheet.height.get()).abs() < 0.3 && crop.x.get() > 5.0, "{crop:?}");
    // Another resolution leaves the crop on its pixels.
    let half = slipsheet_core::units::Dpi::new(art.scan.dpi.get() * 2.0).unwrap();
    edit_art(&mut s, ArtEdit::Dpi(half));
    let smaller = s.sheet().layers[0].art[0].crop.unwrap();
    assert!((smaller.width.get() * 2.0 - crop.width.get()).abs() < 1e-6);
    apply(&mut s, Request::Undo);
    assert_eq!(s.history().undo_label(), Some("Line up by marks"));
    apply(&mut s, Request::Undo);
    assert_eq!((s.sheet().layers[0].art[0].placement, s.sheet().layers[0].art[0].crop), (wrong, None));
}

#[test]
fn a_scan_without_marks_is_shown_with_a_sentence_and_one_on_a_page_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    let shown = marks_shown(&mut s);
    assert!(shown.why.unwrap().contains("set marks by hand"));
    assert!(shown.table.marks.iter().all(|m| m.seen == slipsheet_registration::register::Seen::Missing));
    // On a page the marks of the page's own guide are looked for.
    edit_art(&mut s, ArtEdit::Target(Target::Page(1)));
    let shown = marks_shown(&mut s);
    let page = s.sheet().target_size(Target::Page(1)).unwrap();
    assert!(shown.table.sheet == page && page.width < s.sheet().size().width);
}

#[test]
fn a_scan_of_a_page_guide_is_placed_on_its_page_and_its_printing_is_no_artwork() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    let options = slipsheet_files::GuideOptions { pages: true, ..Default::default() };
    let document = slipsheet_files::guide::guide_document(s.printing(), &options).unwrap();
    let guide = dir.path().join("pages.pdf");
    std::fs::write(&guide, document).unwrap();
    apply(&mut s, Request::AddScans { files: vec![guide], layer: None, target: Target::Page(1) });
    edit_art(
        &mut s,
        ArtEdit::Placement(slipsheet_document::layer::Placement { dx: Mm::new(7.0), ..Default::default() }),
    );
    let inked = |s: &Session| {
        let key = &s.sheet().layers[0].art[0].scan.key;
        s.images().get(key).unwrap().full().pixels().iter().filter(|g| **g < 200).count()
    };
    let before = inked(&s);
    apply_to_art(&mut s, Request::PlaceByMarks, 0);
    let art = s.sheet().layers[0].art[0].clone();
    assert!(art.placement.dx.get().abs() < 0.1 && art.placement.dy.get().abs() < 0.1, "{:?}", art.placement);
    assert!(art.scan.key.mask.is_some() && art.crop.is_some());
    assert!(inked(&s) * 50 < before, "{} of {before} dark pixels are left", inked(&s));
    // What was taken out comes back with undo, and a saved project finds its mask again.
    let file = dir.path().join("pages.slipsheet");
    apply(&mut s, Request::SaveAs(file.clone()));
    assert_eq!(std::fs::read_dir(dir.path().join("masks")).unwrap().count(), 1);
    let mut again = session();
    apply(&mut again, Request::Leave(slipsheet_editor::Leave::Open(file)));
    assert_eq!(inked(&again), inked(&s));
    apply(&mut s, Request::Undo);
    assert_eq!(inked(&s), before);
}

#[test]
fn a_scan_is_mended_by_a_mask_in_one_step_and_says_where_that_is_lost() {
    use slipsheet_core::retouch;
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    let at = art_id(&s, 0);
    let shown = s.apply(Request::LookToMend(at)).unwrap();
    let [Effect::Start(job)] = &shown[..] else { panic!("{shown:?}") };
    let done = job.clone().run(&Progress::new());
    let effects = s.apply(Request::JobDone(s.epoch(), Arc::new(done))).unwrap();
    let [Effect::ShowMending(read)] = &effects[..] else { panic!("{effects:?}") };
    let mut mask = read.mask.clone();
    assert!(mask.pixels().iter().all(|code| *code == retouch::AS_IT_IS));
    mask.pixels_mut().fill(retouch::WHITE);
    let dust = Some(slipsheet_document::layer::DustSize::new(0.4));
    apply(&mut s, Request::Mend { art: at, dust, mask: Some(Arc::new(mask)) });
    let white = |s: &Session| {
        let key = &s.sheet().layers[0].art[0].scan.key;
        s.images().get(key).is_some_and(|p| p.full().pixels().iter().all(|g| *g == 255))
    };
    assert!(white(&s) && s.history().undo_label() == Some("Mend a scan"));
    // A crash before it is saved loses nothing of it.
    let left = slipsheet_files::home::Recovered {
        file: dir.path().join("0.recovery"),
        project_path: None,
        project: s.project().clone(),
        masks: s.masks().clone(),
    };
    let mut recovered = session();
    apply(&mut recovered, Request::Discard(slipsheet_editor::Leave::Recover(Box::new(left))));
    assert!(white(&recovered));
    let file = dir.path().join("mended.slipsheet");
    apply(&mut s, Request::SaveAs(file.clone()));
    // Saved elsewhere, the mask goes along.
    let other = dir.path().join("other");
    std::fs::create_dir(&other).unwrap();
    let moved = other.join("moved.slipsheet");
    apply(&mut s, Request::SaveAs(moved.clone()));
    std::fs::remove_dir_all(dir.path().join("masks")).unwrap();
    let open = |file: std::path::PathBuf| {
        let mut s = session();
        apply(&mut s, Request::Leave(slipsheet_editor::Leave::Open(file)));
        s
    };
    assert!(white(&open(moved)));
    let lost = open(file);
    assert!(!white(&lost) && lost.notices().iter().any(|n| n.text.contains("mask")), "{:?}", lost.notices());
    apply(&mut s, Request::Undo);
    assert!(!white(&s));
}

#[test]
fn marks_of_artwork_that_has_moved_meanwhile_are_not_shown() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    let effects = s.apply(Request::LookOverMarks(art_id(&s, 0))).unwrap();
    let [Effect::Start(job)] = &effects[..] else { panic!("{effects:?}") };
    let done = job.clone().run(&Progress::new());
    let moved = slipsheet_document::layer::Placement { dx: Mm::new(4.0), ..Default::default() };
    edit_art(&mut s, ArtEdit::Placement(moved));
    assert!(s.apply(Request::JobDone(s.epoch(), Arc::new(done))).unwrap().is_empty());
}

#[test]
fn two_layers_are_compared_live_and_follow_a_slip() {
    use slipsheet_core::geometry::Affine;
    use slipsheet_editor::{LiveOrder, Snapshot, Worker};
    use slipsheet_render::View;
    use slipsheet_render::compare::{Compared, FIRST_ALONE, Pair};
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    let files = vec![blots(dir.path(), "a.png", 0, 0), blots(dir.path(), "b.png", 0, 0)];
    apply(&mut s, add_scans(files));
    let mut live = Worker::start(|| ()).unwrap();
    let view = View { width: 280, height: 216, face_from_view: Affine::scale(1.0, 1.0) };
    let pair = Pair { first: 1, second: 0 };
    let mut coloured = |s: &Session| {
        let snapshot = Snapshot {
            project: Arc::new(s.project().clone()),
            printing: Arc::clone(s.printing()),
            images: s.images().clone(),
            revision: s.revision(),
        };
        let (face, compared, perfect) = (Default::default(), Compared::Difference, false);
        live.order(snapshot, LiveOrder::Compare { face, pair, compared, view, perfect });
        let start = std::time::Instant::now();
        let picture = loop {
            match live.poll().pop() {
                Some((_, picture)) => break picture.picture,
                None => assert!(start.elapsed().as_secs() < 30, "no picture came"),
            }
            std::thread::sleep(std::time::Duration::from_millis(2));
        };
        assert_eq!((picture.width, picture.height), (280, 216));
        let [r, g, b] = FIRST_ALONE;
        picture.pixels.iter().filter(|p| nearly(**p, [r, g, b])).count()
    };
    assert_eq!(coloured(&s), 0);
    edit_layer(&mut s, 1, slip(3.0));
    assert!(coloured(&s) > 20);
}

/// Whether a pixel is nearly of a colour.
fn nearly(pixel: [u8; 4], colour: [u8; 3]) -> bool {
    pixel.iter().zip(colour).all(|(a, b)| a.abs_diff(b) < 60)
}

#[test]
fn what_was_mended_by_hand_goes_along_when_a_photograph_is_lined_up_otherwise() {
    use slipsheet_core::reading::{Mode, Reading};
    use slipsheet_core::retouch;
    use slipsheet_document::layer::Region;
    let dir = tempfile::tempdir().unwrap();
    let photo = dir.path().join("photo_cat.jpg");
    let data = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/data");
    std::fs::copy(data.join("photo_cat.jpg"), &photo).unwrap();
    let mut s = session();
    let sheet = s.sheet().id;
    apply(&mut s, Request::sheet(sheet, slipsheet_document::edit::SheetEdit::Fold(None)));
    apply(&mut s, Request::sheet(sheet, slipsheet_document::edit::SheetEdit::Landscape(false)));
    apply(&mut s, add_scans(vec![photo]));
    apply_to_art(&mut s, Request::PlaceByMarks, 0);
    let flat = s.sheet().layers[0].art[0].scan.key.flat.unwrap();

    let codes = |s: &Session| {
        let id = s.sheet().layers[0].art[0].scan.key.mask.clone().unwrap();
        slipsheet_files::store::decoded_mask(&s.masks().find(&id, None).unwrap()).unwrap()
    };
    let mut mask = codes(&s);
    let width = mask.width() as usize;
    let (left, right) = (retouch::FILL, retouch::WHITE);
    for (i, code) in mask.pixels_mut().iter_mut().enumerate() {
        let (x, y) = (i % width, i / width);
        if (300..500).contains(&y) && (300..700).contains(&x) {
            *code = if x < 500 { left } else { right };
        }
    }
    let at = art_id(&s, 0);
    apply(&mut s, Request::Mend { art: at, dust: None, mask: Some(Arc::new(mask)) });
    let corners = [(300.0, 300.0), (700.0, 300.0), (700.0, 500.0), (300.0, 500.0)];
    let corners = corners.map(|(x, y)| slipsheet_core::geometry::Point::new(x, y));
    let region = Region::of_pixels(&corners, Reading::of(Mode::Line), flat.dpi);
    edit_art(&mut s, ArtEdit::Regions(vec![region]));

    // A mark set otherwise gives another flat picture.
    let mut shown = marks_shown(&mut s);
    let at = shown.table.marks[0].in_scan;
    shown.table.set(0, slipsheet_core::geometry::Point::new(at.x + 3.0, at.y + 2.0));
    let fit = shown.table.fit(shown.kind).unwrap();
    let reviewed =
        slipsheet_editor::Reviewed { original: shown.original, table: shown.table, fit, crop: true };
    apply(&mut s, Request::PlaceReviewed(Box::new(reviewed)));
    let art = s.sheet().layers[0].art[0].clone();
    assert!(art.scan.key.flat != Some(flat), "it is another flat picture");
    let now = codes(&s);
    for code in [left, right] {
        let count = now.pixels().iter().filter(|c| **c == code).count();
        assert!(count.abs_diff(200 * 200) < 2_000, "{count} of {code}");
    }
    assert!(now.pixels().contains(&retouch::MARK), "marks are found anew");
    let bounds = art.regions[0].bounds();
    let wide = 400.0 / flat.dpi.px_per_mm();
    assert!((bounds.width - wide).abs() < 1.0, "{bounds:?}");
}

#[test]
fn a_page_that_cannot_be_read_leaves_its_page_empty_and_moves_no_other() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    let names = ["p1.png", "p2.png", "p3.png", "p4.png"];
    let files: Vec<_> = names.iter().map(|n| scan(dir.path(), n, 40)).collect();
    std::fs::write(&files[1], b"\x89PNG\r\n\x1a\nbroken").unwrap();
    apply(&mut s, Request::AddSo(files, slipsheet_editor::Landing::Pages(None, 1)));
    let landed: Vec<_> =
        s.sheet().layers[0].art.iter().map(|a| (a.target, a.scan.file_name().to_owned())).collect();
    let wanted = [(1, "p1.png"), (3, "p3.png"), (4, "p4.png")];
    assert_eq!(landed, wanted.map(|(n, name)| (Target::Page(n), name.to_owned())));
    assert!(s.notices().iter().any(|n| n.text.contains("p2.png")), "{:?}", s.notices());
    // What finds no page is named, each of it.
    let more: Vec<_> = ["q1.png", "q2.png", "q3.png"].iter().map(|n| scan(dir.path(), n, 90)).collect();
    apply(&mut s, Request::AddSo(more, slipsheet_editor::Landing::Pages(None, 8)));
    let told =
        |name: &str| s.notices().iter().any(|n| n.text.contains(name) && n.text.contains("no page left"));
    assert!(told("q2.png") && told("q3.png") && !told("q1.png"));
}
