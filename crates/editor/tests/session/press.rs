//! The press: profiles in and out, and the shelf.

use super::*;
use slipsheet_core::press::{DensityStep, LateFeed, Measured, Offset, Press};
use slipsheet_editor::PressExport;
use slipsheet_files::store;

fn measured() -> Press {
    Press {
        name: "The one by the window".to_owned(),
        offset: Offset::of(0.8, -0.3, 0.1, 0.0),
        measured: Measured { between_passes: true, within_pass: false, offset: true },
        late_feed: LateFeed::new(slipsheet_core::press::FeedSide::Right, 0.2),
        ..Press::default()
    }
}

fn edit_press(s: &mut Session, press: Press) {
    apply(s, Edit::Project(ProjectEdit::Press(Box::new(press))).into());
}

#[test]
fn what_was_measured_of_a_press_is_lost_nowhere() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    edit_press(&mut s, measured());
    // A project and back.
    let file = dir.path().join("job.slipsheet");
    apply(&mut s, Request::SaveAs(file.clone()));
    assert_eq!(store::load(&file).unwrap().press, measured());
    // A profile and back, as one step of history.
    let profile = dir.path().join("ours.slipsheet-press");
    let export = PressExport(s.project().press.clone());
    apply(&mut s, written_to(export, profile.clone()));
    let mut other = session();
    apply(&mut other, Request::ImportPress(profile));
    assert_eq!(other.project().press, measured());
    apply(&mut other, Request::Undo);
    assert_eq!(other.project().press, Press::default());
    // The shelf, its file, and the shelf of another person.
    let effects = apply(&mut s, Request::Shelf(ShelfChange::Press(Box::new(measured()))));
    assert!(matches!(&effects[..], [Effect::SaveShelf]));
    let on = |s: &Session| s.shelf().presses.iter().find(|p| p.name == measured().name).cloned();
    assert_eq!(on(&s), Some(measured()));
    let shelf = dir.path().join("shelf.ron");
    let export = slipsheet_editor::ShelfExport(s.shelf().clone());
    apply(&mut s, written_to(export, shelf.clone()));
    apply(&mut other, Request::Shelf(ShelfChange::Import(shelf)));
    assert_eq!(on(&other), Some(measured()));
    let home = slipsheet_files::home::Home::new(dir.path().join("home"));
    home.save_shelf(s.shelf()).unwrap();
    assert_eq!(home.shelf(), (s.shelf().clone(), None));
}

#[test]
fn the_shelf_has_one_press_of_a_name() {
    let mut s = session();
    let before = s.shelf().presses.len();
    for offset in [0.3, 0.6] {
        let press = Press { offset: Offset::of(offset, 0.0, 0.0, 0.0), ..measured() };
        apply(&mut s, Request::Shelf(ShelfChange::Press(Box::new(press))));
    }
    assert_eq!(s.shelf().presses.len(), before + 1);
    assert_eq!(s.shelf().presses.last().unwrap().offset.dx.get(), 0.6);
    apply(&mut s, Request::Shelf(ShelfChange::RemovePress(measured().name)));
    assert_eq!(s.shelf().presses.len(), before);
    let nameless = Press { name: "  ".to_owned(), ..Press::default() };
    let refused = s.apply(Request::Shelf(ShelfChange::Press(Box::new(nameless))));
    assert!(matches!(refused, Err(RequestError::NameEmpty)));
}

#[test]
fn a_profile_that_cannot_be_read_leaves_the_press() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    edit_press(&mut s, measured());
    let profile = dir.path().join("ours.slipsheet-press");
    std::fs::write(&profile, "PressProfile(format: 4)").unwrap();
    let refused = s.apply(Request::ImportPress(profile.clone())).unwrap_err().to_string();
    assert!(
        refused.contains("newer Slipsheet (format 4") && refused.ends_with("slipsheet-press"),
        "{refused}"
    );
    assert!(s.apply(Request::ImportPress(dir.path().to_owned())).is_err());
    assert_eq!(s.project().press, measured());
    // Steps that no file could be read with again are refused before they are in the project.
    let steps = vec![DensityStep::new("a", 0.1), DensityStep::new("a", 0.2)];
    let press = Press { density_steps: steps, ..measured() };
    let refused = s.apply(Edit::Project(ProjectEdit::Press(Box::new(press))).into());
    assert!(matches!(refused, Err(RequestError::Edit(Refusal::Press(_)))));
    assert_eq!(s.project().press, measured());
}

#[test]
fn layers_that_are_added_pair_up_on_two_drums_and_undo_takes_them_apart() {
    use slipsheet_document::passes::passes;
    use slipsheet_paper::fold::Face;
    let mut s = session();
    for _ in 0..3 {
        edit_sheet(&mut s, SheetEdit::AddLayer("Layer".to_owned()));
    }
    assert_eq!(passes(s.printing(), Face::Front), [vec![0, 1], vec![2]]);
    // What a person sets by hand stays when more are added.
    let apart: Vec<Vec<LayerId>> = s.sheet().layers.iter().map(|l| vec![l.id]).collect();
    edit_sheet(&mut s, SheetEdit::Passes(Face::Front, apart));
    edit_sheet(&mut s, SheetEdit::AddLayer("Layer".to_owned()));
    assert_eq!(passes(s.printing(), Face::Front), [vec![0], vec![1], vec![2, 3]]);
    apply(&mut s, Request::Undo);
    assert_eq!(passes(s.printing(), Face::Front), [vec![0], vec![1], vec![2]]);
    edit_press(&mut s, Press::single_drum());
    edit_sheet(&mut s, SheetEdit::AddLayer("Layer".to_owned()));
    assert!(s.sheet().layers[3].with.is_none());
}
