//! What names a layer by its place stays with that layer when layers move, go or change sides.
#![expect(clippy::unwrap_used, reason = "a test stops at the first thing that is wrong")]

use slipsheet_document::accepted::Accepted;
use slipsheet_document::passes;
use slipsheet_document::shelf::Shelf;
use slipsheet_editor::{Command, LayerChange, Session};
use slipsheet_files::home::Settings;
use slipsheet_paper::fold::Face;

/// Four layers without artwork, b and c in one pass.
fn session() -> Session {
    let mut s = Session::new(Shelf::starter().unwrap(), Settings::default());
    for name in ["a", "b", "c", "d"] {
        s.apply(Command::AddLayer).unwrap();
        let last = s.project().layers.len() - 1;
        s.apply(Command::Layer(last, LayerChange::Name(name.to_owned()))).unwrap();
    }
    s.apply(Command::Passes(Face::Front, vec![vec![0], vec![1, 2], vec![3]])).unwrap();
    s
}

fn passes(s: &Session) -> Vec<String> {
    let name = |i: &usize| s.project().layers[*i].name.clone();
    passes::passes(s.project(), Face::Front).iter().map(|p| p.iter().map(name).collect()).collect()
}

#[test]
fn removing_the_first_of_a_pass_joins_nothing_new() {
    let mut s = session();
    assert_eq!(passes(&s), ["a", "bc", "d"]);
    s.apply(Command::RemoveLayer(1)).unwrap();
    assert_eq!(passes(&s), ["a", "c", "d"]);
}

#[test]
fn moving_a_layer_between_two_of_a_pass_parts_them_and_joins_neither() {
    let mut s = session();
    s.apply(Command::MoveLayer { from: 3, to: 2 }).unwrap();
    assert_eq!(passes(&s), ["a", "b", "d", "c"]);
    s.apply(Command::Undo).unwrap();
    assert_eq!(passes(&s), ["a", "bc", "d"]);
    s.apply(Command::MoveLayer { from: 0, to: 3 }).unwrap();
    assert_eq!(passes(&s), ["bc", "d", "a"]);
}

#[test]
fn a_layer_that_changes_sides_leaves_its_pass() {
    let mut s = session();
    s.apply(Command::Layer(1, LayerChange::Face(Face::Back))).unwrap();
    assert_eq!(passes(&s), ["a", "c", "d"]);
}

#[test]
fn an_accepted_finding_moves_with_its_layer_and_goes_with_it() {
    let mut s = session();
    let accepted = |place: &str| Accepted {
        kind: "empty-layer".to_owned(),
        place: place.to_owned(),
        note: String::new(),
    };
    s.apply(Command::Accept(accepted("layer 2"))).unwrap();
    s.apply(Command::MoveLayer { from: 1, to: 3 }).unwrap();
    assert_eq!(s.project().accepted, [accepted("layer 4")]);
    s.apply(Command::RemoveLayer(3)).unwrap();
    assert!(s.project().accepted.is_empty());
}
