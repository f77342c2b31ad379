//! What is written, asked about and never replaced.

use super::*;

#[test]
fn saving_elsewhere_keeps_pointing_at_the_same_scans() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    let first = dir.path().join("one.slipsheet");
    apply(&mut s, Request::SaveAs(first.clone()));
    assert_eq!(s.sheet().layers[0].art[0].scan.path, "a.png");
    std::fs::create_dir(dir.path().join("deep")).unwrap();
    apply(&mut s, Request::SaveAs(dir.path().join("deep/two")));
    assert_eq!(s.path(), Some(dir.path().join("deep/two.slipsheet").as_path()));
    assert_eq!(s.sheet().layers[0].art[0].scan.path, "../a.png");
    let mut again = session();
    apply(&mut again, Request::Leave(Leave::Open(dir.path().join("deep/two.slipsheet"))));
    assert!(again.missing().is_empty() && again.images().bytes() > 0);
    assert_eq!(again.settings().recent.len(), 1);
}

#[test]
fn unsaved_changes_are_asked_about_before_they_are_lost() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    let effects = s.apply(Request::Leave(Leave::Quit)).unwrap();
    assert!(matches!(&effects[..], [Effect::AskDiscard(c)] if matches!(c, Leave::Quit)), "{effects:?}");
    let effects = s.apply(Request::Discard(Leave::Quit)).unwrap();
    assert!(matches!(&effects[..], [Effect::Quit]));
    let effects = session().apply(Request::Save).unwrap();
    assert!(matches!(&effects[..], [Effect::AskPath(Pick::SaveProject)]));
}

#[test]
fn a_name_with_a_dot_gets_the_ending_all_the_same() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    apply(&mut s, Request::SaveAs(dir.path().join("zine v1.2")));
    assert_eq!(s.path(), Some(dir.path().join("zine v1.2.slipsheet").as_path()));
}

#[test]
fn nothing_is_written_over_an_original() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    let bytes = std::fs::read(dir.path().join("a.png")).unwrap();
    let refused =
        s.apply(written_to(slipsheet_editor::ProofExport::default(), dir.path().join("a.png"))).unwrap_err();
    assert!(refused.to_string().contains("choose another name"), "{refused}");
    assert_eq!(std::fs::read(dir.path().join("a.png")).unwrap(), bytes);
}

#[test]
fn a_proof_waits_for_every_scan() {
    let dir = tempfile::tempdir().unwrap();
    let mut again = opened_without_its_scan(dir.path());
    let refused = again
        .apply(written_to(slipsheet_editor::ProofExport::default(), dir.path().join("p.png")))
        .unwrap_err();
    assert!(refused.to_string().contains("not loaded"), "{refused}");
}

#[test]
fn saving_first_then_does_what_was_asked_for() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    let effects = s.apply(Request::SaveThen(Leave::Quit)).unwrap();
    assert!(matches!(&effects[..], [Effect::AskPath(Pick::SaveProject)]));
    let effects = apply(&mut s, Request::SaveAs(dir.path().join("job")));
    assert!(effects.iter().any(|e| matches!(e, Effect::Quit)), "{effects:?}");
    // Without an answer nothing is remembered.
    edit_layer(&mut s, 0, slip(1.0));
    let mut fresh = session();
    edit_sheet(&mut fresh, SheetEdit::AddLayer("Layer".to_owned()));
    fresh.apply(Request::SaveThen(Leave::Quit)).unwrap();
    fresh.apply(Request::PathCancelled).unwrap();
    let effects = apply(&mut fresh, Request::SaveAs(dir.path().join("other")));
    assert!(!effects.iter().any(|e| matches!(e, Effect::Quit)));
}

#[test]
fn a_printed_dummy_is_written_by_a_job_and_refused_without_a_fold() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    edit_sheet(&mut s, SheetEdit::Fold(None));
    let refused = |s: &mut Session, to: PathBuf| {
        let effects = s.apply(written_to(slipsheet_editor::DummySheetExport::default(), to)).unwrap();
        let [Effect::Start(job)] = &effects[..] else { panic!("{effects:?}") };
        let Done::Written(written) = job.clone().run(&Progress::new()) else { panic!("not a file") };
        written
    };
    let why = refused(&mut s, dir.path().join("none.pdf")).unwrap_err();
    assert!(why.contains("choose a fold"), "{why}");
    assert!(!dir.path().join("none.pdf").exists());
    edit_sheet(&mut s, SheetEdit::Fold(slipsheet_paper::fold::find("slit8")));
    let path = refused(&mut s, dir.path().join("walk")).unwrap();
    assert!(std::fs::read(dir.path().join("walk.pdf")).unwrap().starts_with(b"%PDF-"), "{path:?}");
}
