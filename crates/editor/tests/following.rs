//! What is about a layer stays with that layer when layers move, go or change sides.
#![expect(clippy::unwrap_used, reason = "a test stops at the first thing that is wrong")]

use slipsheet_document::accepted::{Accepted, Place};
use slipsheet_document::edit::{LayerEdit, SheetEdit};
use slipsheet_document::ids::LayerId;
use slipsheet_document::passes;
use slipsheet_document::shelf::Shelf;
use slipsheet_editor::{Request, Session};
use slipsheet_files::home::Settings;
use slipsheet_paper::fold::Face;

/// Four layers without artwork, b and c in one pass.
fn session() -> Session {
    let mut s = Session::new(Shelf::starter().unwrap(), Settings::default());
    for name in ["a", "b", "c", "d"] {
        sheet(&mut s, SheetEdit::AddLayer(name.to_owned()));
    }
    let passes = [vec![0], vec![1, 2], vec![3]];
    let named = s.sheet().named(&passes);
    sheet(&mut s, SheetEdit::Passes(Face::Front, named));
    s
}

fn sheet(s: &mut Session, edit: SheetEdit) {
    s.apply(Request::sheet(s.sheet().id, edit)).unwrap();
}

fn layer(s: &Session, name: &str) -> LayerId {
    s.sheet().layers.iter().find(|l| l.name == name).unwrap().id
}

fn remove(s: &mut Session, name: &str) {
    s.apply(Request::layer(layer(s, name), LayerEdit::Remove)).unwrap();
}

fn move_to(s: &mut Session, name: &str, position: usize) {
    let id = layer(s, name);
    sheet(s, SheetEdit::MoveLayer(id, position));
}

fn passes(s: &Session) -> Vec<String> {
    let name = |i: &usize| s.sheet().layers[*i].name.clone();
    passes::passes(s.printing(), Face::Front).iter().map(|p| p.iter().map(name).collect()).collect()
}

#[test]
fn removing_the_first_of_a_pass_joins_nothing_new() {
    let mut s = session();
    assert_eq!(passes(&s), ["a", "bc", "d"]);
    remove(&mut s, "b");
    assert_eq!(passes(&s), ["a", "c", "d"]);
}

#[test]
fn moving_a_layer_between_two_of_a_pass_parts_them_and_joins_neither() {
    let mut s = session();
    move_to(&mut s, "d", 2);
    assert_eq!(passes(&s), ["a", "b", "d", "c"]);
    // Parted once, they stay so when it goes again.
    move_to(&mut s, "d", 3);
    assert_eq!(passes(&s), ["a", "b", "c", "d"]);
    s.apply(Request::Undo).unwrap();
    s.apply(Request::Undo).unwrap();
    assert_eq!(passes(&s), ["a", "bc", "d"]);
    move_to(&mut s, "a", 3);
    assert_eq!(passes(&s), ["bc", "d", "a"]);
}

#[test]
fn a_layer_that_changes_sides_leaves_its_pass() {
    let mut s = session();
    s.apply(Request::layer(layer(&s, "b"), LayerEdit::Face(Face::Back))).unwrap();
    assert_eq!(passes(&s), ["a", "c", "d"]);
}

#[test]
fn an_accepted_finding_stays_with_its_layer_and_goes_with_it() {
    let mut s = session();
    let place = Place { layer: Some(layer(&s, "b")), ..Place::default() };
    let accepted = Accepted { kind: "empty-layer".to_owned(), place, note: String::new() };
    sheet(&mut s, SheetEdit::Accept(accepted.clone()));
    move_to(&mut s, "b", 3);
    assert_eq!(s.sheet().accepted, [accepted]);
    remove(&mut s, "b");
    assert!(s.sheet().accepted.is_empty());
}

#[test]
fn what_is_selected_stays_selected_and_a_neighbour_is_when_it_has_gone() {
    let mut s = session();
    let selected = |s: &Session| s.selected_layer().map(|(_, l)| l.name.clone());
    let (b, c) = (layer(&s, "b"), layer(&s, "c"));
    s.apply(Request::Select(Some(b), None)).unwrap();
    move_to(&mut s, "b", 3);
    assert_eq!(selected(&s).as_deref(), Some("b"));
    // The last of all has gone, so the one before it is selected.
    remove(&mut s, "b");
    assert_eq!(selected(&s).as_deref(), Some("d"));
    s.apply(Request::Select(Some(c), None)).unwrap();
    remove(&mut s, "c");
    assert_eq!(selected(&s).as_deref(), Some("d"), "what came to its place");
    s.apply(Request::Select(Some(c), None)).unwrap();
    assert_eq!(selected(&s), None, "what has gone cannot be selected");
}
