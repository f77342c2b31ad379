//! A session without a window: commands in, effects carried out here and now.
#![expect(clippy::unwrap_used, reason = "a test stops at the first thing that is wrong")]

use std::path::{Path, PathBuf};
use std::sync::Arc;

use slipsheet_core::layer::{GrayFrom, Slip, Target};
use slipsheet_core::shelf::Shelf;
use slipsheet_core::units::Mm;
use slipsheet_editor::{Command, CommandError, Done, Effect, LayerChange, Pick, Session, ShelfChange};
use slipsheet_files::Progress;
use slipsheet_files::home::Settings;

fn session() -> Session {
    Session::new(Shelf::starter().unwrap(), Settings::default())
}

/// Applies a command and runs the jobs it starts, and theirs; what else is asked for comes back.
fn apply(session: &mut Session, command: Command) -> Vec<Effect> {
    let mut left = Vec::new();
    let mut queue = session.apply(command).unwrap();
    while !queue.is_empty() {
        let mut next = Vec::new();
        for effect in queue {
            match effect {
                Effect::Start(job) => {
                    let done = job.run(&Progress::new());
                    next.extend(session.apply(Command::JobDone(session.epoch(), Arc::new(done))).unwrap());
                }
                other => left.push(other),
            }
        }
        queue = next;
    }
    left
}

fn scan(folder: &Path, name: &str, gray: u8) -> PathBuf {
    let path = folder.join(name);
    image::GrayImage::from_pixel(60, 40, image::Luma([gray])).save(&path).unwrap();
    path
}

fn slip(dx: f64) -> LayerChange {
    LayerChange::Slip(Slip { dx: Mm::new(dx), ..Slip::default() })
}

fn with_layers(folder: &Path, names: &[&str]) -> Session {
    let mut s = session();
    let files = names.iter().enumerate().map(|(i, n)| scan(folder, n, 10 * i as u8)).collect();
    apply(&mut s, Command::add_scans(files));
    s
}

#[test]
fn scans_become_layers_with_inks_of_their_own() {
    let dir = tempfile::tempdir().unwrap();
    let s = with_layers(dir.path(), &["a.png", "b.png", "a copy.png"]);
    let layers = &s.project().layers;
    assert_eq!(layers.iter().map(|l| l.name.as_str()).collect::<Vec<_>>(), ["a", "b", "a copy"]);
    assert!(layers[0].ink.name != layers[1].ink.name && layers[1].ink.name != layers[2].ink.name);
    assert_eq!(s.unsized_scans().len(), 3);
    assert_eq!(s.project().title, "a");
}

#[test]
fn a_gesture_is_one_step_of_history() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    apply(&mut s, Command::BeginGesture("Slip a layer"));
    for i in 1..=9 {
        apply(&mut s, Command::Layer(0, slip(f64::from(i) / 10.0)));
    }
    apply(&mut s, Command::EndGesture);
    assert_eq!(s.history().undo_label(), Some("Slip a layer"));
    apply(&mut s, Command::Undo);
    assert!(s.project().layers[0].slip.is_none());
    apply(&mut s, Command::Redo);
    assert_eq!(s.project().layers[0].slip.dx, Mm::new(0.9));
    apply(&mut s, Command::Undo);
    apply(&mut s, Command::Undo);
    assert!(s.project().layers.is_empty());
    assert_eq!(s.apply(Command::Undo).unwrap_err(), CommandError::Nothing("undo"));
}

#[test]
fn an_empty_gesture_leaves_no_step() {
    let mut s = session();
    apply(&mut s, Command::BeginGesture("Slip a layer"));
    apply(&mut s, Command::EndGesture);
    assert!(s.history().undo_label().is_none() && !s.is_dirty());
}

#[test]
fn a_refused_command_changes_nothing() {
    let mut s = session();
    let before = s.project().clone();
    assert_eq!(s.apply(Command::RemoveLayer(0)).unwrap_err(), CommandError::NoLayer(1));
    assert!(s.apply(Command::Layer(3, LayerChange::Visible(false))).is_err());
    for _ in 0..8 {
        apply(&mut s, Command::AddLayer);
    }
    assert_eq!(s.apply(Command::AddLayer).unwrap_err(), CommandError::Full);
    for _ in 0..8 {
        apply(&mut s, Command::Undo);
    }
    assert_eq!(s.project(), &before);
}

#[test]
fn saving_elsewhere_keeps_pointing_at_the_same_scans() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    let first = dir.path().join("one.slipsheet");
    apply(&mut s, Command::SaveAs(first.clone()));
    assert_eq!(s.project().layers[0].art[0].scan.path, "a.png");
    std::fs::create_dir(dir.path().join("deep")).unwrap();
    apply(&mut s, Command::SaveAs(dir.path().join("deep/two")));
    assert_eq!(s.path(), Some(dir.path().join("deep/two.slipsheet").as_path()));
    assert_eq!(s.project().layers[0].art[0].scan.path, "../a.png");
    let mut again = session();
    apply(&mut again, Command::Open(dir.path().join("deep/two.slipsheet")));
    assert!(again.missing().is_empty() && again.images().bytes() > 0);
    assert_eq!(again.settings().recent.len(), 1);
}

#[test]
fn unsaved_changes_are_asked_about_before_they_are_lost() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    let effects = s.apply(Command::Quit).unwrap();
    assert!(matches!(&effects[..], [Effect::AskDiscard(c)] if matches!(**c, Command::Quit)), "{effects:?}");
    let effects = s.apply(Command::Discard(Box::new(Command::Quit))).unwrap();
    assert!(matches!(&effects[..], [Effect::Quit]));
    let effects = session().apply(Command::Save).unwrap();
    assert!(matches!(&effects[..], [Effect::AskPath(Pick::SaveProject, _)]));
}

#[test]
fn a_moved_scan_is_found_again_and_a_changed_one_is_noticed() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png", "b.png"]);
    let file = dir.path().join("job.slipsheet");
    apply(&mut s, Command::SaveAs(file.clone()));
    std::fs::create_dir(dir.path().join("elsewhere")).unwrap();
    std::fs::rename(dir.path().join("a.png"), dir.path().join("elsewhere/renamed.png")).unwrap();
    scan(dir.path(), "b.png", 200);
    let mut again = session();
    apply(&mut again, Command::Open(file));
    assert_eq!((again.missing().len(), again.changed().count()), (1, 1));
    apply(&mut again, Command::FindScans(dir.path().join("elsewhere")));
    assert!(again.missing().is_empty());
    assert_eq!(again.project().layers[0].art[0].scan.path, "elsewhere/renamed.png");
    let old = again.project().layers[1].art[0].scan.key.clone();
    apply(&mut again, Command::AcceptChanged);
    assert_eq!(again.changed().count(), 0);
    assert_ne!(again.project().layers[1].art[0].scan.key, old);
    apply(&mut again, Command::Undo);
    assert_eq!(again.project().layers[1].art[0].scan.key, old);
}

#[test]
fn jobs_of_an_earlier_project_are_dropped() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    let effects = s.apply(Command::add_scans(vec![scan(dir.path(), "a.png", 0)])).unwrap();
    let [Effect::Start(job)] = &effects[..] else { panic!("{effects:?}") };
    let (epoch, done) = (s.epoch(), job.clone().run(&Progress::new()));
    assert!(matches!(done, Done::Added { .. }));
    apply(&mut s, Command::New);
    apply(&mut s, Command::JobDone(epoch, Arc::new(done)));
    assert!(s.project().layers.is_empty());
}

#[test]
fn a_bad_file_among_good_ones_is_told_and_the_others_are_taken() {
    let dir = tempfile::tempdir().unwrap();
    let bad = dir.path().join("notes.png");
    std::fs::write(&bad, "not a picture").unwrap();
    let mut s = session();
    apply(&mut s, Command::add_scans(vec![bad, scan(dir.path(), "a.png", 0)]));
    assert_eq!(s.project().layers.len(), 1);
    assert!(s.notices().iter().any(|n| n.text.contains("notes.png")), "{:?}", s.notices());
}

#[test]
fn artwork_for_a_page_goes_to_that_pages_face() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    apply(&mut s, Command::Fold(slipsheet_core::fold::find("single4")));
    let files = vec![scan(dir.path(), "two.png", 0)];
    apply(&mut s, Command::AddScans { files, layer: None, target: Target::Page(2) });
    assert_eq!(s.project().layers[0].face, slipsheet_core::fold::Face::Back);
}

#[test]
fn a_scan_is_read_again_when_its_gray_is_changed() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("pencil.png");
    image::RgbImage::from_pixel(30, 30, image::Rgb([90, 120, 250])).save(&path).unwrap();
    let mut s = session();
    apply(&mut s, Command::add_scans(vec![path]));
    let gray =
        |s: &Session| s.images().get(&s.project().layers[0].art[0].scan.key).unwrap().full().pixels()[0];
    let before = gray(&s);
    apply(&mut s, Command::Layer(0, LayerChange::Gray(0, GrayFrom::Blue, false)));
    assert!(before < 150 && gray(&s) == 250, "{before} {}", gray(&s));
    apply(&mut s, Command::Undo);
    assert_eq!(gray(&s), before);
}

#[test]
fn the_shelf_refuses_a_name_twice_and_comes_back_from_its_file() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    let mut ink = s.shelf().inks[0].clone();
    assert!(matches!(
        s.apply(Command::Shelf(ShelfChange::Ink(None, ink.clone()))),
        Err(CommandError::BadName(_))
    ));
    ink.name = "  Mine ".to_owned();
    let effects = apply(&mut s, Command::Shelf(ShelfChange::Ink(None, ink)));
    assert!(matches!(&effects[..], [Effect::SaveShelf]));
    assert_eq!(s.shelf().inks.last().unwrap().name, "Mine");
    let file = dir.path().join("shelf.ron");
    apply(&mut s, Command::Shelf(ShelfChange::Export(file.clone())));
    let mut other = session();
    apply(&mut other, Command::Shelf(ShelfChange::Import(file)));
    assert_eq!(other.shelf(), s.shelf());
}

#[test]
fn a_measured_overprint_reaches_the_project_and_undo_takes_it_back() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png", "b.png"]);
    let inks: Vec<String> = s.project().layers.iter().map(|l| l.ink.name.clone()).collect();
    let stock = s.project().stock.name.clone();
    let lab = slipsheet_core::colour::Lab::new(20.0, 5.0, -5.0).unwrap();
    let swatch = slipsheet_core::ink::OverprintSwatch { inks: inks.clone(), stock, lab };
    apply(&mut s, Command::Shelf(ShelfChange::Overprint(None, swatch.clone())));
    assert_eq!(s.project().overprints, std::slice::from_ref(&swatch));
    assert!(matches!(
        s.apply(Command::Shelf(ShelfChange::Overprint(None, swatch.clone()))),
        Err(CommandError::BadName(_))
    ));
    apply(&mut s, Command::Undo);
    assert!(s.project().overprints.is_empty());
    // The next change of inks takes it over again, for it is on the shelf.
    let ink = s.project().layers[0].ink.clone();
    apply(
        &mut s,
        Command::Layer(
            0,
            LayerChange::Ink(slipsheet_core::ink::Ink {
                opacity: slipsheet_core::ink::Share::new(0.1),
                ..ink
            }),
        ),
    );
    assert_eq!(s.project().overprints, [swatch]);
    apply(&mut s, Command::Shelf(ShelfChange::RemoveOverprint(0)));
    assert!(s.project().overprints.is_empty());
}

#[test]
fn undo_after_saving_elsewhere_still_finds_the_scans() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    apply(&mut s, Command::SaveAs(dir.path().join("one.slipsheet")));
    apply(&mut s, Command::Layer(0, slip(1.0)));
    std::fs::create_dir(dir.path().join("deep")).unwrap();
    apply(&mut s, Command::SaveAs(dir.path().join("deep/two.slipsheet")));
    apply(&mut s, Command::Undo);
    assert_eq!(s.project().layers[0].art[0].scan.path, "../a.png");
}

#[test]
fn a_name_with_a_dot_gets_the_ending_all_the_same() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    apply(&mut s, Command::SaveAs(dir.path().join("zine v1.2")));
    assert_eq!(s.path(), Some(dir.path().join("zine v1.2.slipsheet").as_path()));
}

#[test]
fn nothing_is_written_over_an_original() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    let bytes = std::fs::read(dir.path().join("a.png")).unwrap();
    let options = Box::new(slipsheet_files::proof::ProofOptions::default());
    let refused = s.apply(Command::ExportProof(dir.path().join("a.png"), options)).unwrap_err();
    assert!(refused.to_string().contains("choose another name"), "{refused}");
    assert_eq!(std::fs::read(dir.path().join("a.png")).unwrap(), bytes);
}

#[test]
fn a_proof_waits_for_every_scan() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    let file = dir.path().join("job.slipsheet");
    apply(&mut s, Command::SaveAs(file.clone()));
    std::fs::remove_file(dir.path().join("a.png")).unwrap();
    let mut again = session();
    apply(&mut again, Command::Open(file));
    let options = Box::new(slipsheet_files::proof::ProofOptions::default());
    let refused = again.apply(Command::ExportProof(dir.path().join("p.png"), options)).unwrap_err();
    assert!(refused.to_string().contains("not loaded"), "{refused}");
}

#[test]
fn saving_first_then_does_what_was_asked_for() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    let effects = s.apply(Command::SaveThen(Box::new(Command::Quit))).unwrap();
    assert!(matches!(&effects[..], [Effect::AskPath(Pick::SaveProject, _)]));
    let effects = s.apply(Command::SaveAs(dir.path().join("job"))).unwrap();
    assert!(effects.iter().any(|e| matches!(e, Effect::Quit)), "{effects:?}");
    // Without an answer nothing is remembered.
    apply(&mut s, Command::Layer(0, slip(1.0)));
    let mut fresh = session();
    apply(&mut fresh, Command::AddLayer);
    fresh.apply(Command::SaveThen(Box::new(Command::Quit))).unwrap();
    fresh.apply(Command::PathCancelled).unwrap();
    let effects = fresh.apply(Command::SaveAs(dir.path().join("other"))).unwrap();
    assert!(!effects.iter().any(|e| matches!(e, Effect::Quit)));
}

#[test]
fn undo_does_not_ask_again_for_scans_that_are_missing() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    let file = dir.path().join("job.slipsheet");
    apply(&mut s, Command::SaveAs(file.clone()));
    std::fs::remove_file(dir.path().join("a.png")).unwrap();
    let mut again = session();
    apply(&mut again, Command::Open(file));
    apply(&mut again, Command::Layer(0, slip(1.0)));
    let told = again.notices().len();
    assert!(again.apply(Command::Undo).unwrap().is_empty());
    assert_eq!(again.notices().len(), told);
}

#[test]
fn scans_are_added_to_the_layer_that_is_named() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    let files = vec![scan(dir.path(), "b.png", 9)];
    apply(&mut s, Command::AddScans { files, layer: Some(0), target: Target::Sheet });
    assert_eq!((s.project().layers.len(), s.project().layers[0].art.len()), (1, 2));
    // A layer that is gone by then does not let a ninth one in.
    for _ in 0..7 {
        apply(&mut s, Command::AddLayer);
    }
    let files = vec![scan(dir.path(), "c.png", 9)];
    apply(&mut s, Command::AddScans { files, layer: Some(12), target: Target::Sheet });
    assert_eq!(s.project().layers.len(), 8);
}

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

#[test]
fn a_layer_is_lined_up_on_the_one_below_by_what_both_show() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    let files = vec![blots(dir.path(), "a.png", 0, 0), blots(dir.path(), "b.png", 8, -4)];
    apply(&mut s, Command::add_scans(files));
    apply(&mut s, Command::LineUp(1, 0));
    let placed = s.project().layers[1].art[0].placement;
    // 8 and 4 pixels at 100 dpi are 2.03 and 1.02 mm; the layer moves back by as much.
    assert!((placed.dx.get() + 2.03).abs() < 0.1 && (placed.dy.get() - 1.02).abs() < 0.1, "{placed:?}");
    apply(&mut s, Command::Undo);
    assert_eq!(s.project().layers[1].art[0].placement, Default::default());
    assert!(s.apply(Command::LineUp(0, 0)).unwrap_err().to_string().contains("no layer is printed before"));
}

#[test]
fn unrelated_layers_are_not_moved() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    let files = vec![blots(dir.path(), "a.png", 0, 0), scan(dir.path(), "plain.png", 90)];
    apply(&mut s, Command::add_scans(files));
    let effects = s.apply(Command::LineUp(1, 0)).unwrap();
    let [Effect::Start(job)] = &effects[..] else { panic!("{effects:?}") };
    let done = job.clone().run(&Progress::new());
    let refused = s.apply(Command::JobDone(s.epoch(), Arc::new(done))).unwrap_err();
    assert!(refused.to_string().contains("by its marks or by hand"), "{refused}");
    assert_eq!(s.project().layers[1].art[0].placement, Default::default());
}

#[test]
fn turning_and_the_slip_of_the_back_are_steps_of_history() {
    use slipsheet_core::turning::Turning;
    let mut s = session();
    apply(&mut s, Command::Turning(Turning::WorkAndTumble));
    let slip = Slip { dx: Mm::new(0.4), ..Slip::default() };
    apply(&mut s, Command::BackSlip(slip));
    assert_eq!((s.project().turning, s.project().back_slip), (Turning::WorkAndTumble, slip));
    apply(&mut s, Command::Undo);
    assert!(s.project().back_slip.is_none());
    apply(&mut s, Command::Redo);
    // Reset all slips takes the back's along, in one step.
    apply(&mut s, Command::ResetSlips);
    assert!(s.project().back_slip.is_none());
    apply(&mut s, Command::Undo);
    assert_eq!(s.project().back_slip, slip);
    apply(&mut s, Command::Undo);
    apply(&mut s, Command::Undo);
    assert_eq!(s.project().turning, Turning::Sheetwise);
}

#[test]
fn a_printed_dummy_is_written_by_a_job_and_refused_without_a_fold() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    apply(&mut s, Command::Fold(None));
    let refused = |s: &mut Session, to: PathBuf| {
        let effects = s.apply(Command::ExportDummySheet(to, Default::default())).unwrap();
        let [Effect::Start(job)] = &effects[..] else { panic!("{effects:?}") };
        let Done::Proof(written) = job.clone().run(&Progress::new()) else { panic!("not a file") };
        written
    };
    let why = refused(&mut s, dir.path().join("none.pdf")).unwrap_err();
    assert!(why.contains("choose a fold"), "{why}");
    assert!(!dir.path().join("none.pdf").exists());
    apply(&mut s, Command::Fold(slipsheet_core::fold::find("slit8")));
    let path = refused(&mut s, dir.path().join("walk")).unwrap();
    assert!(std::fs::read(dir.path().join("walk.pdf")).unwrap().starts_with(b"%PDF-"), "{path:?}");
}

#[test]
fn a_printed_guide_that_is_scanned_is_placed_by_its_marks() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    let guide = dir.path().join("guide.png");
    apply(&mut s, Command::ExportGuide(guide.clone()));
    apply(&mut s, Command::add_scans(vec![guide]));
    apply(&mut s, Command::ExportWedge(dir.path().join("wedge")));
    assert!(std::fs::read(dir.path().join("wedge.pdf")).unwrap().starts_with(b"%PDF-"));
    // Laid down by hand, it lies wrong by some millimetres.
    let wrong = slipsheet_core::layer::Placement { dx: Mm::new(4.0), ..Default::default() };
    apply(&mut s, Command::Layer(0, LayerChange::Placement(0, wrong)));
    apply(&mut s, Command::PlaceByMarks(0, 0));
    let placed = s.project().layers[0].art[0].placement;
    assert!(placed.dx.get().abs() < 0.1 && placed.dy.get().abs() < 0.1, "{placed:?}");
    assert!(s.notices().iter().any(|n| n.text.contains("Placed by")), "{:?}", s.notices());
}

/// The marks of the first piece of the first layer, as the window would be shown them.
fn marks_shown(s: &mut Session) -> slipsheet_editor::MarksToShow {
    let effects = apply(s, Command::LookOverMarks(0, 0));
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
    apply(&mut s, Command::ExportGuide(guide.clone()));
    apply(&mut s, Command::add_scans(vec![guide]));
    let wrong = slipsheet_core::layer::Placement { dx: Mm::new(4.0), ..Default::default() };
    apply(&mut s, Command::Layer(0, LayerChange::Placement(0, wrong)));
    let shown = marks_shown(&mut s);
    assert!(shown.why.is_none() && shown.at == (0, 0) && shown.table.marks.len() >= 8);
    // Looking alone moves nothing.
    assert_eq!(s.project().layers[0].art[0].placement, wrong);
    let fit = shown.table.fit(slipsheet_core::register::FitKind::Similarity).unwrap();
    apply(&mut s, Command::Layer(0, LayerChange::LinedUp(0, fit.placement, Some(fit.crop))));
    let art = s.project().layers[0].art[0].clone();
    assert!(art.placement.dx.get().abs() < 0.1, "{:?}", art.placement);
    let sheet = s.project().sheet_size();
    let crop = art.crop.unwrap();
    assert!((crop.width.get() - sheet.width.get()).abs() < 0.3, "{crop:?}");
    assert!((crop.height.get() - sheet.height.get()).abs() < 0.3 && crop.x.get() > 5.0, "{crop:?}");
    // Another resolution leaves the crop on its pixels.
    let half = slipsheet_core::units::Dpi::new(art.scan.dpi.get() * 2.0).unwrap();
    apply(&mut s, Command::Layer(0, LayerChange::Dpi(0, half)));
    let smaller = s.project().layers[0].art[0].crop.unwrap();
    assert!((smaller.width.get() * 2.0 - crop.width.get()).abs() < 1e-6);
    apply(&mut s, Command::Undo);
    assert_eq!(s.history().undo_label(), Some("Line up by marks"));
    apply(&mut s, Command::Undo);
    assert_eq!((s.project().layers[0].art[0].placement, s.project().layers[0].art[0].crop), (wrong, None));
}

#[test]
fn a_scan_without_marks_is_shown_with_a_sentence_and_one_on_a_page_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    let shown = marks_shown(&mut s);
    assert!(shown.why.unwrap().contains("set the marks by hand"));
    assert!(shown.table.marks.iter().all(|m| m.seen == slipsheet_core::register::Seen::Missing));
    apply(&mut s, Command::Layer(0, LayerChange::Target(0, Target::Page(1))));
    let refused = s.apply(Command::LookOverMarks(0, 0)).unwrap_err();
    assert!(refused.to_string().contains("lay this artwork on the sheet first"), "{refused}");
}

#[test]
fn marks_of_artwork_that_has_moved_meanwhile_are_not_shown() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    let effects = s.apply(Command::LookOverMarks(0, 0)).unwrap();
    let [Effect::Start(job)] = &effects[..] else { panic!("{effects:?}") };
    let done = job.clone().run(&Progress::new());
    let moved = slipsheet_core::layer::Placement { dx: Mm::new(4.0), ..Default::default() };
    apply(&mut s, Command::Layer(0, LayerChange::Placement(0, moved)));
    assert!(s.apply(Command::JobDone(s.epoch(), Arc::new(done))).unwrap().is_empty());
}

#[test]
fn two_layers_are_compared_live_and_follow_a_slip() {
    use slipsheet_core::geometry::Affine;
    use slipsheet_core::render::View;
    use slipsheet_core::render::compare::{Compared, FIRST_ALONE, Pair};
    use slipsheet_editor::{Live, LiveOrder, Snapshot};
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    let files = vec![blots(dir.path(), "a.png", 0, 0), blots(dir.path(), "b.png", 0, 0)];
    apply(&mut s, Command::add_scans(files));
    let live = Live::start(|| ()).unwrap();
    let view = View { width: 280, height: 216, face_from_view: Affine::scale(1.0, 1.0) };
    let pair = Pair { first: 1, second: 0 };
    let coloured = |s: &Session| {
        let snapshot = Snapshot {
            project: Arc::new(s.project().clone()),
            images: s.images().clone(),
            revision: s.revision(),
        };
        let (face, compared, perfect) = (Default::default(), Compared::Difference, false);
        live.order(snapshot, LiveOrder::Compare { face, pair, compared, view, perfect });
        let start = std::time::Instant::now();
        let picture = loop {
            match live.picture() {
                Some(picture) => break picture.picture,
                None => assert!(start.elapsed().as_secs() < 30, "no picture came"),
            }
            std::thread::sleep(std::time::Duration::from_millis(2));
        };
        assert_eq!((picture.width, picture.height), (280, 216));
        let [r, g, b] = FIRST_ALONE;
        picture.pixels.iter().filter(|p| nearly(**p, [r, g, b])).count()
    };
    assert_eq!(coloured(&s), 0);
    apply(&mut s, Command::Layer(1, slip(3.0)));
    assert!(coloured(&s) > 20);
}

/// Whether a pixel is nearly of a colour.
fn nearly(pixel: [u8; 4], colour: [u8; 3]) -> bool {
    pixel.iter().zip(colour).all(|(a, b)| a.abs_diff(b) < 60)
}
