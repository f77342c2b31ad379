//! Scans that come in, move, change and are read again.

use super::*;

#[test]
fn scans_become_layers_with_inks_of_their_own() {
    let dir = tempfile::tempdir().unwrap();
    let s = with_layers(dir.path(), &["a.png", "b.png", "a copy.png"]);
    let layers = &s.sheet().layers;
    assert_eq!(layers.iter().map(|l| l.name.as_str()).collect::<Vec<_>>(), ["a", "b", "a copy"]);
    assert!(layers[0].ink.name != layers[1].ink.name && layers[1].ink.name != layers[2].ink.name);
    assert_eq!(s.unsized_scans().len(), 3);
    assert_eq!(s.project().title, "a");
}

#[test]
fn a_moved_scan_is_found_again_and_a_changed_one_is_noticed() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png", "b.png"]);
    let file = dir.path().join("job.slipsheet");
    apply(&mut s, Request::SaveAs(file.clone()));
    std::fs::create_dir(dir.path().join("elsewhere")).unwrap();
    std::fs::rename(dir.path().join("a.png"), dir.path().join("elsewhere/renamed.png")).unwrap();
    scan(dir.path(), "b.png", 200);
    let mut again = session();
    apply(&mut again, Request::Leave(Leave::Open(file)));
    assert_eq!((again.missing().len(), again.changed().count()), (1, 1));
    apply(&mut again, Request::FindScans(dir.path().join("elsewhere")));
    assert!(again.missing().is_empty());
    assert_eq!(again.sheet().layers[0].art[0].scan.path, "elsewhere/renamed.png");
    let old = again.sheet().layers[1].art[0].scan.key.clone();
    apply(&mut again, Request::AcceptChanged);
    assert_eq!(again.changed().count(), 0);
    assert_ne!(again.sheet().layers[1].art[0].scan.key, old);
    apply(&mut again, Request::Undo);
    assert_eq!(again.sheet().layers[1].art[0].scan.key, old);
}

#[test]
fn jobs_of_an_earlier_project_are_dropped() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    let effects = s.apply(add_scans(vec![scan(dir.path(), "a.png", 0)])).unwrap();
    let [Effect::Start(job)] = &effects[..] else { panic!("{effects:?}") };
    let (epoch, done) = (s.epoch(), job.clone().run(&Progress::new()));
    assert!(matches!(done, Done::Added { .. }));
    apply(&mut s, Request::Leave(Leave::New));
    apply(&mut s, Request::JobDone(epoch, Arc::new(done)));
    assert!(s.sheet().layers.is_empty());
}

#[test]
fn a_bad_file_among_good_ones_is_told_and_the_others_are_taken() {
    let dir = tempfile::tempdir().unwrap();
    let bad = dir.path().join("notes.png");
    std::fs::write(&bad, "not a picture").unwrap();
    let mut s = session();
    apply(&mut s, add_scans(vec![bad, scan(dir.path(), "a.png", 0)]));
    assert_eq!(s.sheet().layers.len(), 1);
    assert!(s.notices().iter().any(|n| n.text.contains("notes.png")), "{:?}", s.notices());
}

#[test]
fn artwork_for_a_page_goes_to_that_pages_face() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    edit_sheet(&mut s, SheetEdit::Fold(slipsheet_paper::fold::find("single4")));
    let files = vec![scan(dir.path(), "two.png", 0)];
    apply(&mut s, Request::AddScans { files, layer: None, target: Target::Page(2) });
    assert_eq!(s.sheet().layers[0].face, slipsheet_paper::fold::Face::Back);
}

#[test]
fn a_scan_is_read_again_when_its_gray_is_changed() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("pencil.png");
    image::RgbImage::from_pixel(30, 30, image::Rgb([90, 120, 250])).save(&path).unwrap();
    let mut s = session();
    apply(&mut s, add_scans(vec![path]));
    let gray = |s: &Session| s.images().get(&s.sheet().layers[0].art[0].scan.key).unwrap().full().pixels()[0];
    let before = gray(&s);
    edit_art(&mut s, ArtEdit::Gray(GrayFrom::Blue, false));
    assert!(before < 150 && gray(&s) == 250, "{before} {}", gray(&s));
    apply(&mut s, Request::Undo);
    assert_eq!(gray(&s), before);
}

#[test]
fn scans_are_added_to_the_layer_that_is_named() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    let files = vec![scan(dir.path(), "b.png", 9)];
    let layer = Some(layer_id(&s, 0));
    apply(&mut s, Request::AddScans { files, layer, target: Target::Sheet });
    assert_eq!((s.sheet().layers.len(), s.sheet().layers[0].art.len()), (1, 2));
    // A layer that is gone by then does not let a ninth one in.
    for _ in 0..7 {
        edit_sheet(&mut s, SheetEdit::AddLayer("Layer".to_owned()));
    }
    let files = vec![scan(dir.path(), "c.png", 9)];
    let layer = Some(LayerId::new(u32::MAX));
    apply(&mut s, Request::AddScans { files, layer, target: Target::Sheet });
    assert_eq!(s.sheet().layers.len(), 8);
}
