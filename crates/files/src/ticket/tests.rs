//! The ticket in its three forms.

use slipsheet_core::reading::{DropOut, Mode, Reading, Ruling, Swing};
use slipsheet_core::units::{Degrees, Mm, SheetFormat};
use slipsheet_document::edition::Edition;
use slipsheet_document::ids::EditionId;
use slipsheet_document::terms::{Hand, Minutes};
use slipsheet_paper::fold;

use super::*;
use crate::plates::tests::job;

fn zine() -> (Printing, Images) {
    let (mut p, images) = job(SheetFormat::A6, &["Hip-berry red", "Ink-bottle blue", "Warm black"], 3.0);
    p.sheet.fold = fold::find("slit8");
    p.sheet.trim = Mm::new(3.0);
    p.sheet.layers[1].with = Some(p.sheet.layers[0].id);
    (p.job.copies, p.job.overs) = (120, 15);
    p.job.hand = Hand { score: Minutes::new(0.2), ..Hand::default() };
    p.job.packing = "in paper sleeves of ten".to_owned();
    (p, images)
}

#[test]
fn a_ticket_says_passes_drums_waits_and_what_to_do_after_printing() {
    let (p, images) = zine();
    let notes = TicketNotes {
        studied: true,
        tolerance_mm: Some(0.35),
        sold: None,
        tight: vec!["Hip-berry red meets black along a kiss fit.".to_owned()],
    };
    let t = Ticket::new(&p, &images, &notes, PlateForm::default());
    assert_eq!((t.copies, t.sheets, t.passes.len()), (120, 135, 2));
    assert_eq!(t.passes[0].inks.iter().map(|i| i.drum).collect::<Vec<_>>(), [1, 2]);
    assert_eq!((t.passes[0].wait_before_minutes, t.passes[1].wait_before_minutes), (0.0, 15.0));
    let text = t.text();
    for wanted in [
        "Pass 2, front",
        "plate 3-front-warm-black",
        "Wait 15 min",
        "takes a slip of 0.35 mm",
        "kiss fit",
        "The plates carry no registration marks, because they need 3 mm",
        "1. Let the ink dry for 15 min.",
        "2. Score vertically 37, 74 and 111 mm from the left edge; horizontally 52.5 mm from the lead edge.",
        "5. Slit horizontally 52.5 mm from the lead edge, 74 mm long",
        "7. Gather the leaves so that page 1 is on top.",
        "Trim 3 mm off each outer edge",
        "in paper sleeves of ten",
        "Never reach into a running machine",
    ] {
        assert!(text.contains(wanted), "no “{wanted}” in\n{text}");
    }
    let json: serde_json::Value = serde_json::from_str(&t.json().unwrap()).unwrap();
    assert_eq!(json["passes"][1]["inks"][0]["ink"], "Warm black");
    assert_eq!(json["tolerance_mm"], 0.35);
}

#[test]
fn the_pdf_has_fields_and_only_a_part_of_the_fonts_and_is_the_same_every_time() {
    let (p, images) = zine();
    let t = Ticket::new(&p, &images, &TicketNotes::default(), PlateForm::default());
    let bytes = document(&t, &p, &images).unwrap();
    assert!(bytes == document(&t, &p, &images).unwrap());
    let text = String::from_utf8_lossy(&bytes);
    assert!(text.contains("/AcroForm") && text.contains("/T (customer)") && text.contains("/Count 2"));
    assert!(bytes.len() < 1_500_000, "{} bytes", bytes.len());
}

#[test]
fn what_the_study_found_is_told_and_what_was_not_studied_too() {
    let (p, images) = zine();
    let none = TicketNotes::default();
    assert!(Ticket::new(&p, &images, &none, PlateForm::default()).text().contains("has not been studied"));
    let forgiving = TicketNotes { studied: true, ..none };
    assert!(
        Ticket::new(&p, &images, &forgiving, PlateForm::default())
            .text()
            .contains("No slip that the study looked for opens a gap")
    );
    // The study's own figures, whatever they are, come into the ticket unchanged.
    let found = TicketNotes::of(&p, &images).unwrap();
    let register = JobRegister::of(&p, &images).unwrap();
    assert_eq!(TicketNotes::from_register(&p, &register), found);
    assert!(found.studied && found.tolerance_mm == register.tolerance);
    assert_eq!(found.tight.len(), register.pairs.len());
    let sold = found.sold.clone().unwrap();
    assert!(sold.contains("of 100 copies would sell: gaps to 0.5 mm, 5 % of an edge wider."), "{sold}");
    assert!(Ticket::new(&p, &images, &found, PlateForm::default()).text().contains(&sold));
}

#[test]
fn a_ticket_asks_for_density_only_where_the_plates_are_as_drawn() {
    let (mut p, images) = zine();
    p.sheet.layers[0].reading = Reading {
        density: Swing::new(0.6),
        background: DropOut::new(0.1),
        ..Reading::of(Mode::Screened { ruling: Ruling::new(75.0), angle: Degrees::new(45.0) })
    };
    let text = |form| Ticket::new(&p, &images, &TicketNotes::default(), form).text();
    let [prepared, drawn, dots] = PlateForm::ALL.map(text);
    assert!(prepared.contains("The plates are prepared") && prepared.contains("drop-out to neutral"));
    assert!(prepared.contains("Screened, 75 lpi at 45°; covers"), "{prepared}");
    assert!(drawn.contains("at 45°, darker, drop out a little of the background; covers"), "{drawn}");
    assert!(dots.contains("print them as line art, without a screen, at full size"), "{dots}");
    assert!(dots.contains("Line art, no screen; covers"), "{dots}");
    // No operator can set a figure of ours.
    for text in [&prepared, &drawn, &dots] {
        assert!(!text.contains("0.6") && !text.contains("density 0"), "{text}");
    }
    for form in PlateForm::ALL {
        let ticket = Ticket::new(&p, &images, &TicketNotes::default(), form);
        let json: serde_json::Value = serde_json::from_str(&ticket.json().unwrap()).unwrap();
        assert_eq!(json["plates"], form.id());
        document(&ticket, &p, &images).unwrap();
    }
}

#[test]
fn a_title_of_any_length_is_set_in_little_time() {
    let (mut p, images) = zine();
    let time = |title: String, p: &mut Printing| {
        p.title = title;
        let ticket = Ticket::new(p, &images, &TicketNotes::default(), PlateForm::default());
        let began = std::time::Instant::now();
        document(&ticket, p, &images).unwrap();
        began.elapsed().as_secs_f64()
    };
    // Without and with places to break; trying every shorter title took minutes for the first.
    let short = time("Tide".to_owned(), &mut p);
    for long in ["m".repeat(200_000), "tide ".repeat(40_000)] {
        let taken = time(long, &mut p);
        assert!(taken < 20.0 * short + 10.0, "{taken} s against {short} s");
    }
}

#[test]
fn the_ending_says_which_kind_is_written() {
    let (p, images) = zine();
    let folder = tempfile::tempdir().unwrap();
    for name in ["t.pdf", "t.TXT", "t.json"] {
        write(&p, &images, &TicketNotes::default(), PlateForm::default(), &folder.path().join(name)).unwrap();
    }
    let error =
        write(&p, &images, &TicketNotes::default(), PlateForm::default(), &folder.path().join("t.doc"))
            .unwrap_err();
    assert!(error.to_string().contains("end its name in .pdf"), "{error}");
}

#[test]
fn a_booklet_says_where_its_pages_lie_and_how_it_is_gathered_and_stitched() {
    let (mut p, images) = job(SheetFormat::A5, &["Hip-berry red"], 3.0);
    p.sheet.stock.caliper_mm = Some(0.1);
    p.sheet.booklet = Some(slipsheet_paper::booklet::Booklet { pages: 15, ..Default::default() });
    p.sheet.layers[0].art[0].target = slipsheet_document::layer::Target::Spread(4);
    (p.job.copies, p.job.overs) = (50, 10);
    let t = Ticket::new(&p, &images, &TicketNotes::default(), PlateForm::default());
    // Pages 4 and 5: the back of the second sheet and the front of the third.
    assert_eq!((t.sheets, t.sheets_a_copy, t.passes.len(), t.imposition.len()), (240, 4, 2, 8));
    let text = t.text();
    for wanted in [
        "Booklet of 15 pages and 1 blank on 4 sheets, stitched",
        "240 sheets, 4 a copy",
        "Sheet 1, front: blank left, page 1 right",
        "Sheet 2, back: page 4 left, page 13 right",
        "Pass 1, front of sheet 3",
        "plate sheet2-back-1-hip-berry-red",
        "sheet 1 outside with the cover, sheet 4 inside",
        "Fold them together in the middle, 105 mm from the left edge",
        "37 and 111 mm from the head",
        "by up to about 0.3 mm",
        "Stitching heads and staplers pierce",
    ] {
        assert!(text.contains(wanted), "no “{wanted}” in\n{text}");
    }
    let bytes = document(&t, &p, &images).unwrap();
    assert!(bytes == document(&t, &p, &images).unwrap() && bytes.len() < 1_500_000);
}

#[test]
fn each_edition_has_a_ticket_of_its_own_and_the_first_one_lists_them() {
    let (mut p, images) = zine();
    let ticket = |p: &Printing| Ticket::new(p, &images, &TicketNotes::default(), PlateForm::default());
    assert!(ticket(&p).series.is_empty() && ticket(&p).edition.is_none());
    for (n, name, ink, copies) in [(1, "Dawn", "Hip-berry red", Some(40)), (2, "Dusk", "Plum", None)] {
        let mut colours = p.sheet.colours();
        colours.inks.get_mut(&p.sheet.layers[0].id).unwrap().name = ink.to_owned();
        colours.stock.name = format!("{name} stock");
        let mut edition = Edition::new(EditionId::new(100 + n), name.to_owned(), colours);
        edition.copies = copies;
        p.sheet.editions.push(edition);
    }
    // 15 overs for 120 copies are 5 for 40.
    let dawn = ticket(&p.in_edition(&p.sheet.editions[0]));
    assert_eq!((dawn.edition.as_deref(), dawn.copies, dawn.overs, dawn.sheets), (Some("Dawn"), 40, 5, 45));
    assert!(dawn.series.is_empty() && dawn.stock.starts_with("Dawn stock"));
    let dusk = ticket(&p.in_edition(&p.sheet.editions[1]));
    assert_eq!((dusk.copies, dusk.sheets, dusk.passes[0].inks[0].ink.as_str()), (120, 135, "Plum"));
    // The present inks are on another stock: they are printed besides.
    let present = ticket(&p);
    assert_eq!((present.copies, present.series.len()), (120, 4));
    assert!(present.series[0].starts_with("The present inks and stock: 120 copies"));
    // Once they are an edition's, its ticket is this one, and nothing is printed twice.
    let colours = p.sheet.editions[0].colours.clone();
    p.sheet.take_colours(&colours);
    let shown = ticket(&p);
    assert_eq!((shown.edition.as_deref(), shown.copies, shown.series.len()), (Some("Dawn"), 40, 3));
    let text = shown.text();
    for wanted in ["Edition  Dawn", "45 sheets of Dawn stock", ": this ticket.", "160 copies in all"] {
        assert!(text.contains(wanted), "no “{wanted}” in\n{text}");
    }
    document(&shown, &p, &images).unwrap();
}
