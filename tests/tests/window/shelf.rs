//! Inks and stocks of the shelf, as a person works on them.

use egui::accesskit::Role;
use egui::{Key, Modifiers};
use egui_kittest::kittest::{NodeT as _, Queryable as _};
use slipsheet_tests::window::Person;

const CTRL: Modifiers = Modifiers::COMMAND;

#[test]
fn a_duplicate_is_shown_and_kept_as_itself() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    let names = |p: &Person, stocks: bool| -> Vec<String> {
        let shelf = p.harness.state().session().shelf();
        if stocks {
            shelf.stocks.iter().map(|s| s.name.clone()).collect()
        } else {
            shelf.inks.iter().map(|i| i.name.clone()).collect()
        }
    };
    person.press(CTRL, Key::K);
    for stocks in [false, true] {
        if stocks {
            person.harness.get_by_label("Stocks").click();
            person.settle();
        }
        for which in [0, 1, 2] {
            let before = names(&person, stocks);
            let at = [0, before.len() / 2, before.len() - 1][which];
            let row = before[at].clone();
            person.harness.get_by_role_and_label(Role::Button, &row).scroll_to_me();
            person.settle();
            person.harness.get_by_role_and_label(Role::Button, &row).click();
            person.settle();
            person.click("Duplicate");
            let after = names(&person, stocks);
            assert_eq!(after.len(), before.len() + 1);
            assert!(after[at + 1].starts_with(row.as_str()), "{} after {row}", after[at + 1]);
            let shown = person.harness.get_by_role_and_label(Role::TextInput, "Name");
            assert_eq!(shown.accesskit_node().value(), Some(after[at + 1].clone()), "another item is shown");

            // One edit is kept on the copy alone: everything else stays as it was on the original.
            person.type_into("Name", &format!("Copy {which} {stocks}"));
            person.settle();
            person.click("Save changes");
            let shelf = person.harness.state().session().shelf();
            if stocks {
                let (old, new) = (&shelf.stocks[at], &shelf.stocks[at + 1]);
                assert_eq!((new.gsm, &new.colour), (old.gsm, &old.colour));
                assert_eq!(new.name, format!("Copy {which} {stocks}"));
            } else {
                let (old, new) = (&shelf.inks[at], &shelf.inks[at + 1]);
                assert_eq!((&new.solid, new.opacity), (&old.solid, old.opacity));
                assert_eq!(new.name, format!("Copy {which} {stocks}"));
            }
            let mut others = names(&person, stocks);
            others.remove(at + 1);
            assert_eq!(others, before, "another item was changed");
        }
    }
}

#[test]
fn removing_the_first_item_shows_the_one_that_takes_its_place() {
    let dir = tempfile::tempdir().unwrap();
    let mut person = Person::at(dir.path(), None);
    person.press(CTRL, Key::K);
    let second = person.harness.state().session().shelf().inks[1].clone();
    person.click("Remove");
    let shown = person.harness.get_by_role_and_label(Role::TextInput, "Name");
    assert_eq!(shown.accesskit_node().value(), Some(second.name.clone()));
    assert_eq!(person.harness.state().session().shelf().inks[0], second);
}
