//! Inks, stocks and overprints of the shelf.

use super::*;

#[test]
fn the_shelf_refuses_a_name_twice_and_comes_back_from_its_file() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = session();
    let mut ink = s.shelf().inks[0].clone();
    assert!(matches!(
        s.apply(Request::Shelf(ShelfChange::Ink(None, ink.clone()))),
        Err(RequestError::NameTaken(_))
    ));
    ink.name = "  Mine ".to_owned();
    let effects = apply(&mut s, Request::Shelf(ShelfChange::Ink(None, ink)));
    assert!(matches!(&effects[..], [Effect::SaveShelf]));
    assert_eq!(s.shelf().inks.last().unwrap().name, "Mine");
    let file = dir.path().join("shelf.ron");
    let shelf = slipsheet_editor::ShelfExport(s.shelf().clone());
    apply(&mut s, written_to(shelf, file.clone()));
    let mut other = session();
    apply(&mut other, Request::Shelf(ShelfChange::Import(file)));
    assert_eq!(other.shelf(), s.shelf());
}

#[test]
fn a_measured_overprint_reaches_the_project_and_undo_takes_it_back() {
    let dir = tempfile::tempdir().unwrap();
    let mut s = with_layers(dir.path(), &["a.png", "b.png"]);
    let inks: Vec<String> = s.sheet().layers.iter().map(|l| l.ink.name.clone()).collect();
    let stock = s.sheet().stock.name.clone();
    let lab = slipsheet_core::colour::Lab::new(20.0, 5.0, -5.0).unwrap();
    let swatch = slipsheet_core::ink::OverprintSwatch { inks: inks.clone(), stock, lab };
    apply(&mut s, Request::Shelf(ShelfChange::Overprint(None, swatch.clone())));
    assert_eq!(s.project().overprints, std::slice::from_ref(&swatch));
    assert!(matches!(
        s.apply(Request::Shelf(ShelfChange::Overprint(None, swatch.clone()))),
        Err(RequestError::OverprintKnown)
    ));
    apply(&mut s, Request::Undo);
    assert!(s.project().overprints.is_empty());
    // The next change of inks takes it over again, for it is on the shelf.
    let ink = s.sheet().layers[0].ink.clone();
    let opacity = slipsheet_core::ink::Share::new(0.1);
    edit_layer(&mut s, 0, LayerEdit::Ink(slipsheet_core::ink::Ink { opacity, ..ink }));
    assert_eq!(s.project().overprints, [swatch]);
    apply(&mut s, Request::Shelf(ShelfChange::RemoveOverprint(0)));
    assert!(s.project().overprints.is_empty());
}
