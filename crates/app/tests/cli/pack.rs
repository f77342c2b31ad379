//! Plates, ticket, cost and pack from the command line.

use std::path::Path;

use slipsheet::cli::Ending;
use slipsheet_booking::preflight::{Studied, findings_with};
use slipsheet_document::accepted::Accepted;
use slipsheet_document::edit::{self, Edit, SheetEdit};
use slipsheet_document::shelf::Shelf;
use slipsheet_files::{Progress, store};
use slipsheet_render::images::Images;

use super::harness::{fine, gray_png, slipsheet};

/// An A6 project of two inks at 200 dpi in a folder of its own.
struct Desk(tempfile::TempDir);

impl Desk {
    fn new() -> Self {
        let desk = Self(tempfile::tempdir().unwrap());
        for (name, step) in [("sea.png", 3_u32), ("ink.png", 7)] {
            let (w, h) = (1165_u32, 827_u32);
            let gray: Vec<u8> = (0..w * h)
                .map(|i| if (i / w) % 90 < 40 { ((i % w) / step % 256) as u8 } else { 255 })
                .collect();
            gray_png(&desk.0.path().join(name), (w, h), &gray, 200.0);
        }
        let (job, sea, ink) = (desk.at("walk.slipsheet"), desk.at("sea.png"), desk.at("ink.png"));
        let new = ["new", "--sheet", "a6", "--fold", "slit8", "-o", &job, &sea, &ink];
        fine(&new);
        // Fewer dots, for the time it takes.
        let text = std::fs::read_to_string(&job).unwrap().replace("press_dpi: 600.0", "press_dpi: 200.0");
        std::fs::write(&job, text).unwrap();
        desk
    }

    fn at(&self, name: &str) -> String {
        self.0.path().join(name).display().to_string()
    }

    fn edit(&self, from: &str, to: &str) {
        let job = self.at("walk.slipsheet");
        let text = std::fs::read_to_string(&job).unwrap();
        assert!(text.contains(from), "no {from} in {text}");
        std::fs::write(&job, text.replacen(from, to, 1)).unwrap();
    }
}

#[test]
fn plates_are_written_in_every_format_and_say_what_they_cover() {
    let desk = Desk::new();
    let job = desk.at("walk.slipsheet");
    for (format, files) in [("png", 2), ("tiff", 2), ("pdf", 2), ("spot", 1)] {
        let folder = desk.at(format);
        let (ending, out, err) = slipsheet(&["plates", &job, "-o", &folder, "--format", format]);
        assert_eq!(ending, Ending::Fine, "{err}");
        assert_eq!(std::fs::read_dir(&folder).unwrap().count(), files, "{format}");
        assert!(format == "spot" || out.contains("1165 x 827 pixels, mean tone "), "{out}");
        assert!(out.contains("no marks: they need 3 mm"), "{out}");
    }
    for (form, setting) in [
        ("prepared", "The plates are prepared"),
        ("as-drawn", "The plates are as drawn"),
        ("dots", "print them as line art, without a screen"),
    ] {
        let (ending, out, _) =
            slipsheet(&["plates", &job, "-o", &desk.at(form), "--form", form, "--dpi", "100"]);
        assert!(ending == Ending::Fine && out.contains(setting), "{out}");
        let name = format!("{form}.txt");
        fine(&["ticket", &job, "-o", &desk.at(&name), "--form", form, "--tolerance", "0.4"]);
        assert!(std::fs::read_to_string(desk.at(&name)).unwrap().contains(setting));
    }
    std::fs::remove_file(desk.at("sea.png")).unwrap();
    let (ending, _, err) = slipsheet(&["plates", &job, "-o", &desk.at("png")]);
    assert!(ending == Ending::Failed && err.contains("there is no such file"), "{err}");
}

#[test]
fn a_ticket_is_written_by_the_ending_of_its_name() {
    let desk = Desk::new();
    let job = desk.at("walk.slipsheet");
    for name in ["t.pdf", "t.txt", "t.json"] {
        let (ending, _, err) = slipsheet(&["ticket", &job, "-o", &desk.at(name), "--tolerance", "0.4"]);
        assert_eq!(ending, Ending::Fine, "{err}");
    }
    assert!(std::fs::read_to_string(desk.at("t.txt")).unwrap().contains("takes a slip of 0.4 mm"));
    // Without a figure given the design is studied.
    assert_eq!(slipsheet(&["ticket", &job, "-o", &desk.at("s.json")]).0, Ending::Fine);
    let studied: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(desk.at("s.json")).unwrap()).unwrap();
    assert_eq!(studied["studied"], true);
    let (_, message, _) = slipsheet(&["study", &job, "--json"]);
    let study: serde_json::Value = serde_json::from_str(&message).unwrap();
    assert_eq!(studied["tolerance_mm"], study["tolerance_mm"]);
    let (ending, _, err) = slipsheet(&["ticket", &job, "-o", &desk.at("t.odt")]);
    assert!(ending == Ending::Failed && err.contains("end its name in .pdf, .txt or .json"), "{err}");
    let (ending, _, err) = slipsheet(&["ticket", &job, "-o", &desk.at("sea.png")]);
    assert!(ending == Ending::Failed && err.contains("would replace"), "{err}");
}

#[test]
fn a_pack_is_whole_the_same_twice_and_never_touches_other_files() {
    let desk = Desk::new();
    let (job, folder) = (desk.at("walk.slipsheet"), desk.at("pack"));
    let make = || slipsheet(&["pack", &job, "-o", &folder, "--zip"]);
    let (ending, out, err) = make();
    assert_eq!(ending, Ending::Fine, "{err}");
    for name in ["separations.pdf", "ticket.pdf", "dummy.pdf", "guide.pdf", "proof-front.png", "pack.zip"] {
        assert!(out.contains(name), "no {name} in {out}");
    }
    let first = std::fs::read(desk.at("pack.zip")).unwrap();
    assert_eq!(make().0, Ending::Fine);
    assert!(std::fs::read(desk.at("pack.zip")).unwrap() == first);
    std::fs::write(Path::new(&folder).join("notes.txt"), "mine").unwrap();
    let (ending, _, err) = make();
    assert!(ending == Ending::Failed && err.contains("notes.txt"), "{err}");
    assert_eq!(std::fs::read_to_string(Path::new(&folder).join("notes.txt")).unwrap(), "mine");
}

#[test]
fn a_cost_is_told_with_its_schedule_and_zero_prices_say_so() {
    let desk = Desk::new();
    let job = desk.at("walk.slipsheet");
    let (ending, out, _) = slipsheet(&["cost", &job, "--copies", "100"]);
    assert!(ending == Ending::Fine && out.contains("all prices are zero"), "{out}");
    desk.edit("master: 0.0", "master: 2.5");
    desk.edit("slot: 0.0", "slot: 1.0");
    let (ending, out, _) = slipsheet(&["cost", &job, "--copies", "100", "--json"]);
    assert_eq!(ending, Ending::Warnings);
    let message: serde_json::Value = serde_json::from_str(&out).unwrap();
    assert_eq!(
        (message["cost"]["total"].as_f64(), message["cost"]["per_copy"].as_f64()),
        (Some(5.0), Some(0.05))
    );
    assert!(message["warning"].as_str().unwrap().contains("1 min are booked"), "{out}");
    assert_eq!(message["prices_are_zero"], false);
}

#[test]
fn an_accepted_finding_no_longer_counts() {
    let desk = Desk::new();
    let job = desk.at("walk.slipsheet");
    let (ending, out, _) = slipsheet(&["check", &job, "--json"]);
    assert_eq!(ending, Ending::Warnings);
    let found: serde_json::Value = serde_json::from_str(&out).unwrap();
    let open: Vec<&serde_json::Value> =
        found.as_array().unwrap().iter().filter(|f| f["severity"] == "warning").collect();
    let in_margin = open.iter().find(|f| f["kind"] == "in-margin").unwrap();
    assert!(in_margin["place"]["width"].as_f64().unwrap() > 0.0 && in_margin["remedy"].is_string());
    let first = open.iter().find(|f| f["layer"] == 1 && f["page"].is_null()).unwrap();
    assert!(first["place_key"].as_str().unwrap().starts_with("layer 1"), "{first}");

    // What the window does when a person accepts each of them.
    let path = Path::new(&job);
    let mut project = store::load(path).unwrap();
    let mut images = Images::default();
    for art in project.every_art() {
        let loaded = store::load_scan(Some(path), &art.scan, &Progress::new()).unwrap();
        images.insert(loaded.key, loaded.pixels);
    }
    let printing = project.main_printing();
    let studied = Studied::of(&printing, &images);
    for finding in findings_with(&printing, &images, &[], &studied) {
        let (kind, place) = (finding.kind.id().to_owned(), finding.place_of());
        let accepted = Accepted { kind, place, note: "as meant".to_owned() };
        let edit = Edit::Sheet(project.main.id, SheetEdit::Accept(accepted));
        edit::apply(&mut project, edit, &Shelf::default()).unwrap();
    }
    store::save(&project, path).unwrap();
    let (ending, out, err) = slipsheet(&["check", &job]);
    assert_eq!(ending, Ending::Fine, "{out}{err}");
    assert!(out.contains("accepted: ") && out.contains("(as meant)"), "{out}");
}

#[test]
fn a_series_is_told_edition_by_edition_and_printed_once() {
    let desk = Desk::new();
    let job = desk.at("walk.slipsheet");
    let path = Path::new(&job);
    let mut project = store::load(path).unwrap();
    (project.job.copies, project.job.overs) = (100, 10);
    project.job.prices.sheet = slipsheet_document::terms::Money::new(0.5);
    project.job.prices.master = slipsheet_document::terms::Money::new(2.0);
    for (name, copies) in [("Dawn", 40), ("Dusk", 60)] {
        let (id, mut colours) = (project.ids.edition(), project.main.colours());
        if name == "Dusk" {
            colours.inks.get_mut(&project.main.layers[0].id).unwrap().name = "Plum".to_owned();
        }
        let edition = slipsheet_document::edition::Edition::new(id, name.to_owned(), colours);
        project.main.editions.push(slipsheet_document::edition::Edition { copies: Some(copies), ..edition });
    }
    store::save(&project, path).unwrap();
    let (_, out, _) = slipsheet(&["cost", &job, "--json"]);
    let message: serde_json::Value = serde_json::from_str(&out).unwrap();
    let of = |at: usize| {
        let edition = &message["series"]["editions"][at];
        let number = |what: &str| edition[what].as_u64().unwrap();
        (edition["name"].as_str().unwrap(), [number("copies"), number("overs"), number("sheets")])
    };
    assert_eq!((of(0), of(1)), (("Dawn", [40, 4, 44]), ("Dusk", [60, 6, 66])));
    // 110 sheets; two masters, and one more for the other ink of the second edition.
    assert_eq!(message["whole"]["total"].as_f64(), Some(110.0 * 0.5 + 3.0 * 2.0));
    let copies = |what: &str| message[what]["copies"].as_u64();
    assert_eq!((copies("whole"), copies("cost")), (Some(100), Some(40)));
    let (_, out, _) = slipsheet(&["cost", &job]);
    assert!(out.contains("Dawn, on ") && out.contains("All together") && out.contains("61.00"), "{out}");

    let ticket = desk.at("dusk.txt");
    fine(&["ticket", &job, "-o", &ticket, "--edition", "dusk"]);
    let text = std::fs::read_to_string(&ticket).unwrap();
    assert!(text.contains("Edition  Dusk") && text.contains("Plum") && text.contains("66 sheets"), "{text}");
}
