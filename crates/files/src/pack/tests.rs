//! Packs in temporary folders.

use std::collections::BTreeMap;
use std::fs;
use std::io::Cursor;

use slipsheet_core::units::{Dpi, SheetFormat};
use slipsheet_document::edition::Edition;
use slipsheet_document::project::WrapSheet;
use slipsheet_document::sheet::Sheet;
use slipsheet_document::wrap::{Wrap, WrapKind};
use slipsheet_paper::fold;

use super::*;
use crate::plates::tests::{job, project_of};
use crate::ticket::Ticket;

fn zine() -> (Project, Images) {
    let (mut p, images) = job(SheetFormat::A6, &["Hip-berry red", "Ink-bottle blue"], 0.0);
    p.press_dpi = Dpi::new(150.0).unwrap();
    p.sheet.fold = fold::find("slit8");
    (project_of(p), images)
}

pub(super) fn contents(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut all = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap().map(Result::unwrap) {
        let name = entry.file_name().to_string_lossy().into_owned();
        if entry.path().is_dir() {
            all.extend(contents(&entry.path()).into_iter().map(|(k, v)| (format!("{name}/{k}"), v)));
        } else {
            all.insert(name, fs::read(entry.path()).unwrap());
        }
    }
    all
}

#[test]
fn a_pack_is_the_same_every_time_and_lists_its_files_with_their_hashes() {
    let (p, images) = zine();
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("pack");
    let options = PackOptions { zip: true, ..PackOptions::default() };
    let made = write(&p, &images, &options, (&folder, None), &Progress::new()).unwrap();
    let first = contents(home.path());
    for name in
        ["pack.zip", "pack/manifest.json", "pack/ticket.pdf", "pack/plates/2-front-ink-bottle-blue.png"]
    {
        assert!(first.contains_key(name), "no {name} among {:?}", first.keys().collect::<Vec<_>>());
    }
    assert_eq!(first.len(), made.manifest.files.len() + 2);
    for file in &made.manifest.files {
        let bytes = &first[&format!("pack/{}", file.name)];
        assert_eq!((file.bytes, &file.sha256), (bytes.len() as u64, &fingerprint_bytes(bytes).sha256));
    }
    write(&p, &images, &options, (&folder, None), &Progress::new()).unwrap();
    let second = contents(home.path());
    for (name, bytes) in &first {
        assert!(second.get(name) == Some(bytes), "{name} differs the second time");
    }
    assert_eq!(first.len(), second.len());
    let mut archive = zip::ZipArchive::new(Cursor::new(&first["pack.zip"])).unwrap();
    assert_eq!(archive.len(), made.manifest.files.len() + 1);
    assert_eq!(archive.by_name("ticket.txt").unwrap().size(), first["pack/ticket.txt"].len() as u64);
}

#[test]
fn the_list_and_the_ticket_say_the_form_of_the_plates() {
    let (p, images) = zine();
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("pack");
    for (form, what) in [
        (PlateForm::Prepared, "plate, prepared, gray with the reading's tones, 0 is full ink"),
        (PlateForm::AsDrawn, "plate, as drawn, gray without the reading, 0 is full ink"),
        (PlateForm::Dots, "plate, prepared, gray with the reading's tones, 0 is full ink"),
    ] {
        let options = PackOptions { form, ..PackOptions::default() };
        let made = write(&p, &images, &options, (&folder, None), &Progress::new()).unwrap();
        assert_eq!(made.manifest.plates, Some(form));
        let plate = made.manifest.files.iter().find(|f| f.name.starts_with("plates/")).unwrap();
        // Continuous tone has no dots in any form.
        assert_eq!(plate.what, what);
        let list: serde_json::Value =
            serde_json::from_slice(&fs::read(folder.join(MANIFEST)).unwrap()).unwrap();
        assert_eq!(list["plates"], form.id());
        assert!(fs::read_to_string(folder.join("ticket.txt")).unwrap().contains(form.instruction()));
    }
    // A pack of an earlier version, which does not say its form, is still one that may be replaced.
    let path = folder.join(MANIFEST);
    let mut list: serde_json::Value = serde_json::from_slice(&fs::read(&path).unwrap()).unwrap();
    list.as_object_mut().unwrap().remove("plates");
    fs::write(&path, list.to_string()).unwrap();
    write(&p, &images, &PackOptions::default(), (&folder, None), &Progress::new()).unwrap();
}

#[test]
fn editions_with_long_and_equal_names_have_folders_of_their_own() {
    let (mut p, images) = zine();
    for _ in 0..2 {
        let edition = edition(&mut p, &"Tide, tinted dark ".repeat(20));
        p.main.editions.push(edition);
    }
    let home = tempfile::tempdir().unwrap();
    let options = PackOptions { editions: true, ..PackOptions::default() };
    let made = write(&p, &images, &options, (&home.path().join("pack"), None), &Progress::new()).unwrap();
    let tickets = made.manifest.files.iter().filter(|f| f.name.ends_with("/ticket.txt"));
    assert_eq!(tickets.count(), 2);
}

#[test]
fn a_folder_with_foreign_files_is_refused_and_untouched() {
    let (p, images) = zine();
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("pack");
    fs::create_dir(&folder).unwrap();
    write(&p, &images, &PackOptions::default(), (&folder, None), &Progress::new()).unwrap();
    fs::write(folder.join("plates").join("mine.txt"), "keep").unwrap();
    let before = contents(home.path());
    let error = write(&p, &images, &PackOptions::default(), (&folder, None), &Progress::new()).unwrap_err();
    assert!(error.to_string().contains("plates/mine.txt"), "{error}");
    assert!(contents(home.path()) == before);
}

#[test]
fn a_stopped_pack_leaves_nothing_behind() {
    let (p, images) = zine();
    let home = tempfile::tempdir().unwrap();
    let progress = Progress::new();
    progress.cancel();
    let error = write(&p, &images, &PackOptions::default(), (&home.path().join("pack"), None), &progress)
        .unwrap_err();
    assert!(matches!(error, PackError::Cancelled), "{error}");
    assert_eq!(fs::read_dir(home.path()).unwrap().count(), 0);
    let none = Project { main: Sheet { layers: vec![], ..p.main.clone() }, ..p };
    let error =
        write(&none, &images, &PackOptions::default(), (&home.path().join("pack"), None), &Progress::new());
    assert!(error.unwrap_err().to_string().contains("no layer is shown"));
    assert_eq!(fs::read_dir(home.path()).unwrap().count(), 0);
}

#[test]
fn a_ticket_that_was_filled_in_and_a_zip_of_someone_else_are_kept() {
    let (p, images) = zine();
    let home = tempfile::tempdir().unwrap();
    let folder = home.path().join("pack");
    let zipped = PackOptions { zip: true, ..PackOptions::default() };
    fs::write(home.path().join("pack.zip"), "letters").unwrap();
    let error = write(&p, &images, &zipped, (&folder, None), &Progress::new()).unwrap_err();
    assert!(error.to_string().contains("pack.zip"), "{error}");
    assert!(!folder.exists(), "nothing is made before it is refused");
    write(&p, &images, &PackOptions::default(), (&folder, None), &Progress::new()).unwrap();
    fs::write(folder.join("ticket.pdf"), "filled in").unwrap();
    let error = write(&p, &images, &PackOptions::default(), (&folder, None), &Progress::new()).unwrap_err();
    assert!(error.to_string().contains("ticket.pdf, changed since"), "{error}");
    assert_eq!(fs::read_to_string(folder.join("ticket.pdf")).unwrap(), "filled in");
    assert_eq!(fs::read_to_string(home.path().join("pack.zip")).unwrap(), "letters");
}

#[test]
fn the_pages_that_are_shown_are_those_of_the_files() {
    let (mut p, images) = zine();
    with_sleeve(&mut p);
    let home = tempfile::tempdir().unwrap();
    let made =
        write(&p, &images, &PackOptions::default(), (&home.path().join("pack"), None), &Progress::new())
            .unwrap();
    let notes = TicketNotes::default();
    let mut shown = pages(&p, &images, &notes, PlateForm::default(), 300);
    let main = p.main_printing();
    let ticket = Ticket::new(&main, &images, &notes, PlateForm::default());
    shown.extend(ticket_pages(&main, &images, &ticket, 300));
    let mut names: Vec<&str> = shown.iter().map(|page| page.file.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    // Text and lists have no pages.
    let of_page = |name: &str| !name.ends_with(".txt") && !name.ends_with(".json");
    let files = made.manifest.files.iter().map(|f| f.name.as_str()).filter(|n| of_page(n));
    let mut wanted: Vec<&str> =
        files.map(|n| if n.contains("plates/") { n.trim_end_matches(".png") } else { n }).collect();
    wanted.sort_unstable();
    assert_eq!(names, wanted);
    for page in shown {
        let dark = page.picture.pixels.iter().filter(|p| p[1] < 160).count();
        assert!(dark > 50 && page.picture.width.max(page.picture.height) <= 301, "{} {dark}", page.caption);
    }
}

/// The project's present inks and stock as an edition.
fn edition(p: &mut Project, name: &str) -> Edition {
    Edition::new(p.ids.edition(), name.to_owned(), p.main.colours())
}

/// A sleeve with one ink of its own on the other sheet.
fn with_sleeve(p: &mut Project) {
    let wrap = Wrap { kind: WrapKind::Sleeve, ..Wrap::default() };
    let mut sheet = Sheet::new(p.ids.sheet(), SheetFormat::A4, p.main.stock.clone());
    sheet.landscape = true;
    sheet.layers.push(p.main.layers[0].clone());
    p.wrap = Some(Box::new(WrapSheet { wrap, sheet }));
}

#[test]
fn a_pack_holds_the_wrap_and_every_edition() {
    let (mut p, images) = zine();
    (p.job.copies, p.job.overs) = (81, 10);
    with_sleeve(&mut p);
    let mut night = edition(&mut p, "Night / tide");
    night.colours.stock.name = "Night blue".to_owned();
    night.copies = Some(20);
    p.main.editions.push(night);
    let home = tempfile::tempdir().unwrap();
    let one = home.path().join("one");
    let options = PackOptions { editions: true, ..PackOptions::default() };
    let made = write(&p, &images, &options, (&one, None), &Progress::new()).unwrap();
    let names: Vec<&str> = made.manifest.files.iter().map(|f| f.name.as_str()).collect();
    for name in [
        "wrap/net.pdf",
        "wrap/plates/1-front-hip-berry-red.png",
        "wrap/ticket.pdf",
        "editions/Night - tide/proof.pdf",
        "editions/Night - tide/separations.pdf",
        "ticket.pdf",
    ] {
        assert!(names.contains(&name), "no {name} among {names:?}");
    }
    assert!(!names.contains(&"wrap/dummy.pdf"));
    let message = |name: &str| fs::read_to_string(one.join(name)).unwrap();
    // The number of sheets follows from how many nets lie on one.
    let nets = p.main_printing().outer_wrap().unwrap().count() as u32;
    // It is printed, so it has overs in proportion.
    let bare = 81_u32.div_ceil(nets);
    let sheets = format!("{} sheets", bare + (10 * bare).div_ceil(81));
    let text = message("wrap/ticket.txt");
    assert!(
        text.contains(&sheets) && text.contains("Sleeve") && text.contains("cut along"),
        "{sheets}\n{text}"
    );
    assert!(message("editions/Night - tide/ticket.txt").contains("Night blue"));
    // The piece's ticket says how many sheets of which stock its sleeves are made of.
    let wrap = p.main_printing().outer_wrap().unwrap();
    let stock = format!("{} of {}, {} gsm", sheets, wrap.order.stock.name, wrap.order.stock.gsm);
    let text = message("ticket.txt");
    assert!(text.contains(&stock) && text.contains("printed in Hip-berry red"), "{stock}\n{text}");
    let json: serde_json::Value =
        serde_json::from_str(&message("editions/Night - tide/ticket.json")).unwrap();
    assert_eq!((&json["copies"], &json["overs"], &json["sheets"]), (&20.into(), &3.into(), &23.into()));
    // It may be replaced by one without editions.
    write(&p, &images, &PackOptions::default(), (&one, None), &Progress::new()).unwrap();
    assert!(!one.join("editions").exists() && one.join("wrap").exists());
}
