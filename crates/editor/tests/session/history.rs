//! Gestures, steps, undo and refusals.

use super::*;

#[test]
fn a_gesture_is_one_step_of_history() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    apply(&mut s, Request::BeginGesture("Slip a layer"));
    for i in 1..=9 {
        edit_layer(&mut s, 0, slip(f64::from(i) / 10.0));
    }
    apply(&mut s, Request::EndGesture);
    assert_eq!(s.history().undo_label(), Some("Slip a layer"));
    apply(&mut s, Request::Undo);
    assert!(s.sheet().layers[0].slip.is_none());
    apply(&mut s, Request::Redo);
    assert_eq!(s.sheet().layers[0].slip.dx, Mm::new(0.9));
    apply(&mut s, Request::Undo);
    apply(&mut s, Request::Undo);
    assert!(s.sheet().layers.is_empty());
    assert!(matches!(s.apply(Request::Undo), Err(RequestError::Nothing("undo"))));
}

#[test]
fn an_empty_gesture_leaves_no_step() {
    let mut s = session();
    apply(&mut s, Request::BeginGesture("Slip a layer"));
    apply(&mut s, Request::EndGesture);
    assert!(s.history().undo_label().is_none() && !s.is_dirty());
}

#[test]
fn a_refused_command_changes_nothing() {
    let mut s = session();
    let before = s.project().clone();
    let gone = Request::layer(LayerId::new(u32::MAX), LayerEdit::Visible(false));
    assert!(matches!(s.apply(gone), Err(RequestError::Edit(Refusal::Gone(Which::Layer)))));
    for _ in 0..8 {
        edit_sheet(&mut s, SheetEdit::AddLayer("Layer".to_owned()));
    }
    let ninth = Request::sheet(s.sheet().id, SheetEdit::AddLayer("Layer".to_owned()));
    assert!(matches!(s.apply(ninth), Err(RequestError::Edit(Refusal::FaceFull))));
    for _ in 0..8 {
        apply(&mut s, Request::Undo);
    }
    assert_eq!(s.project(), &before);
}

#[test]
fn undo_after_saving_elsewhere_still_finds_the_scans() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png"]);
    apply(&mut s, Request::SaveAs(dir.path().join("one.slipsheet")));
    edit_layer(&mut s, 0, slip(1.0));
    std::fs::create_dir(dir.path().join("deep")).unwrap();
    apply(&mut s, Request::SaveAs(dir.path().join("deep/two.slipsheet")));
    apply(&mut s, Request::Undo);
    assert_eq!(s.sheet().layers[0].art[0].scan.path, "../a.png");
}

#[test]
fn undo_does_not_ask_again_for_scans_that_are_missing() {
    let dir = tempfile::tempdir().unwrap();
    let mut again = opened_without_its_scan(dir.path());
    edit_layer(&mut again, 0, slip(1.0));
    let notices = again.notices().len();
    assert!(again.apply(Request::Undo).unwrap().is_empty());
    assert_eq!(again.notices().len(), notices);
}

#[test]
fn turning_and_the_slip_of_the_back_are_steps_of_history() {
    use slipsheet_paper::turning::Turning;
    let mut s = session();
    edit_sheet(&mut s, SheetEdit::Turning(Turning::WorkAndTumble));
    let slip = Slip { dx: Mm::new(0.4), ..Slip::default() };
    edit_sheet(&mut s, SheetEdit::BackSlip(slip));
    assert_eq!((s.sheet().turning, s.sheet().back_slip), (Turning::WorkAndTumble, slip));
    apply(&mut s, Request::Undo);
    assert!(s.sheet().back_slip.is_none());
    apply(&mut s, Request::Redo);
    // Reset all slips takes the back's along, in one step.
    edit_sheet(&mut s, SheetEdit::ResetSlips);
    assert!(s.sheet().back_slip.is_none());
    apply(&mut s, Request::Undo);
    assert_eq!(s.sheet().back_slip, slip);
    apply(&mut s, Request::Undo);
    apply(&mut s, Request::Undo);
    assert_eq!(s.sheet().turning, Turning::Sheetwise);
}
