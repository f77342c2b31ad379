//! Each finding, from a project made to have it.

mod edges;
mod pale;
mod quality;
mod screens;

use std::sync::Arc;

use super::*;
use slipsheet_core::ink::Swatch;
use slipsheet_core::press::Press;
use slipsheet_core::raster::{GrayRaster, Pyramid};
use slipsheet_core::units::{Dpi, Mm, SheetFormat};
use slipsheet_document::accepted::Accepted;
use slipsheet_document::ids::{ArtId, LayerId};
use slipsheet_document::layer::{Art, Layer, ScanRef, Target};
use slipsheet_document::shelf::Shelf;
use slipsheet_paper::fold;
use slipsheet_paper::fold::Face;

fn findings(printing: &Printing, images: &Images, trouble: &[ScanTrouble]) -> Vec<Finding> {
    findings_with(printing, images, trouble, &Studied::default())
}

fn key(name: &str) -> ScanKey {
    ScanKey::new(name)
}

fn art(name: &str, target: Target) -> Art {
    let dpi = Dpi::new(150.0).unwrap();
    let scan = ScanRef { path: format!("{name}.png"), size: 1, key: key(name), dpi };
    Art::new(ArtId::new(0), scan, target)
}

/// A sheet of one ink that reaches every page, all of it measured: nothing to find.
fn sound() -> (Printing, Images) {
    let shelf = Shelf::starter().unwrap();
    let measured = |lab| Swatch::Measured { lab, note: String::new() };
    let mut stock = shelf.stocks[0].clone();
    stock.colour = measured(stock.colour.lab());
    let mut ink = shelf.inks[0].clone();
    ink.solid = measured(ink.solid.lab());
    let mut p = Printing::new("Walk", SheetFormat::Letter, stock);
    p.sheet.fold = fold::find("slit8");
    p.job.copies = 80;
    // Artwork reaches the edges, so the press must.
    let margin = slipsheet_core::press::MarginMm::new(0.0);
    p.press.margins = slipsheet_core::press::Margins { lead: margin, tail: margin, side: margin };
    let layer = Layer { art: vec![art("dark", Target::Sheet)], ..Layer::new(LayerId::new(0), "ink", ink) };
    p.sheet.layers.push(layer);
    let mut images = Images::default();
    for (name, gray) in [("dark", 90), ("white", 254)] {
        let raster = GrayRaster::filled(1650, 1275, gray).unwrap();
        images.insert(key(name), Arc::new(Pyramid::new(raster, Dpi::new(150.0).unwrap())));
    }
    (p, images)
}

/// The first layer once more, to be put beside it.
fn another(p: &Printing) -> Layer {
    let id = LayerId::new(p.sheet.layers.len() as u32);
    Layer { id, ..p.sheet.layers[0].clone() }
}

#[track_caller]
fn check(change: impl FnOnce(&mut Printing), kinds: &[Kind]) -> Vec<Finding> {
    let (mut p, images) = sound();
    change(&mut p);
    let found = findings(&p, &images, &[]);
    assert_eq!(found.iter().map(|f| f.kind).collect::<Vec<_>>(), kinds, "{found:#?}");
    found
}

#[test]
fn a_sound_project_has_no_findings() {
    check(|_| {}, &[]);
    check(|p| p.job.copies = 0, &[Kind::NoCopies]);
}

#[test]
fn layers_without_ink_are_found() {
    check(|p| p.sheet.layers.push(Layer { art: vec![], ..another(p) }), &[Kind::EmptyLayer]);
    let found = check(
        |p| p.sheet.layers.push(Layer { art: vec![art("white", Target::Sheet)], ..another(p) }),
        &[Kind::BlankLayer],
    );
    assert_eq!((found[0].layer, found[0].severity), (Some(LayerId::new(1)), Severity::Warning));
}

#[test]
fn pages_without_ink_are_found_one_by_one() {
    let found = check(
        |p| p.sheet.layers[0].art = [1, 2, 3, 4, 6, 7, 8].map(|n| art("dark", Target::Page(n))).to_vec(),
        &[Kind::EmptyPage],
    );
    assert_eq!(found[0].page, Some(5));
    check(|p| p.sheet.fold = fold::find("single4"), &[Kind::EmptyPage]);
}

#[test]
fn a_page_that_is_not_there_or_on_the_other_face_is_an_error() {
    let at = |n| move |p: &mut Printing| p.sheet.layers[0].art.push(art("dark", Target::Page(n)));
    let found = check(at(9), &[Kind::NoSuchPage]);
    assert!(found[0].sentence.contains("pages 1 to 8") && found[0].page == Some(9), "{found:?}");
    check(
        |p| {
            (p.sheet.fold, p.sheet.landscape) = (None, true);
            at(1)(p);
        },
        &[Kind::NoSuchPage],
    );
    let found = check(
        |p| {
            p.sheet.fold = fold::find("single4");
            p.sheet.layers.push(Layer { face: Face::Back, ..another(p) });
            at(2)(p);
        },
        &[Kind::WrongFace],
    );
    assert!(found[0].sentence.contains("on the back"), "{found:?}");
}

#[test]
fn artwork_that_was_moved_away_is_found() {
    check(
        |p| {
            let mut away = art("dark", Target::Sheet);
            away.placement.dx = Mm::new(300.0);
            p.sheet.layers[0].art.push(away);
        },
        &[Kind::OffTheSheet],
    );
}

#[test]
fn marks_without_room_are_noted_where_passes_must_register() {
    let two_passes = |p: &mut Printing| p.sheet.layers.push(another(p));
    // Without a trim the artwork goes to the edge, and nothing is outside it.
    check(two_passes, &[]);
    let found = check(
        |p| {
            two_passes(p);
            p.sheet.trim = Mm::new(2.0);
        },
        &[Kind::NoMarks],
    );
    assert!(found[0].severity == Severity::Note && found[0].sentence.contains("no registration marks"));
    check(
        |p| {
            two_passes(p);
            p.sheet.trim = Mm::new(4.0);
        },
        &[],
    );
}

#[test]
fn two_inks_that_meet_in_different_passes_are_found_by_the_study() {
    let (mut p, mut images) = sound();
    let dpi = Dpi::new(150.0).unwrap();
    for (name, left) in [("west", true), ("east", false)] {
        let gray = (0..1650_u32 * 1275).map(|i| if ((i % 1650) < 800) == left { 60 } else { 255 }).collect();
        let raster = GrayRaster::new(1650, 1275, gray).unwrap();
        images.insert(key(name), Arc::new(Pyramid::new(raster, dpi)));
    }
    let mut other = another(&p);
    p.sheet.layers[0].art = vec![art("west", Target::Sheet)];
    other.art = vec![art("east", Target::Sheet)];
    "east".clone_into(&mut other.name);
    p.sheet.layers.push(other);
    let tight = |p: &Printing| {
        let found = findings_with(p, &images, &[], &Studied::of(p, &images));
        found.into_iter().filter(|f| f.kind == Kind::Tight).collect::<Vec<_>>()
    };
    let found = tight(&p);
    assert_eq!((found.len(), found[0].layer), (1, Some(LayerId::new(1))), "{found:?}");
    assert!(found[0].sentence.contains("“ink” and “east” print in different passes"), "{found:?}");
    let rect = found[0].place.unwrap().rect;
    // The edge is 800 pixels of 150 dpi from the left of a scan that lies in the middle of the sheet.
    assert!(rect.x < 135.5 && rect.x + rect.width > 135.4, "{rect:?}");
    p.sheet.layers[1].with = Some(p.sheet.layers[0].id);
    assert!(tight(&p).is_empty());
}

#[test]
fn slips_hidden_layers_and_estimates_are_told_by_how_much_they_matter() {
    let found = check(
        |p| {
            p.sheet.layers[0].slip.dx = Mm::new(0.3);
            p.sheet.layers[0].visible = false;
            let lab = p.sheet.layers[0].ink.solid.lab();
            p.sheet.layers[0].ink.solid = Swatch::Estimated { lab };
        },
        &[Kind::SlipSet, Kind::HiddenLayer, Kind::Estimates],
    );
    assert!(found[2].sentence.starts_with("the colour of 1 ink is an estimate"));
}

#[test]
fn more_inks_than_fit_are_an_error() {
    let found = check(
        |p| {
            p.sheet.layers =
                (0..9).map(|i| Layer { id: LayerId::new(i), ..p.sheet.layers[0].clone() }).collect()
        },
        &[Kind::TooManyInks],
    );
    assert_eq!(found[0].severity, Severity::Error);
}

#[test]
fn trouble_with_scans_comes_first_and_a_missing_scan_says_nothing_of_pages() {
    let (p, _) = sound();
    for (trouble, kind) in [
        (Trouble::Missing, Kind::ScanMissing),
        (Trouble::Changed, Kind::ScanChanged),
        (Trouble::Unreadable("the file is empty: dark.png".to_owned()), Kind::ScanUnreadable),
    ] {
        let found = findings(&p, &Images::default(), &[ScanTrouble { key: key("dark"), trouble }]);
        assert_eq!(found.iter().map(|f| f.kind).collect::<Vec<_>>(), [kind]);
        assert!(found[0].sentence.ends_with("dark.png"));
    }
}

#[test]
fn a_pale_ink_whose_original_was_prepared_pale_is_warned_of() {
    let shelf = Shelf::starter().unwrap();
    let pale = shelf.inks.iter().find(|i| i.solid.lab().l() > 75.0).expect("the shelf has a yellow");
    let with = |change: fn(&mut Printing)| {
        let (mut p, mut images) = sound();
        p.sheet.layers[0].ink.solid = Swatch::Measured { lab: pale.solid.lab(), note: String::new() };
        let raster = GrayRaster::filled(1650, 1275, 130).unwrap();
        images.insert(key("pale"), Arc::new(Pyramid::new(raster, Dpi::new(150.0).unwrap())));
        p.sheet.layers[0].art = vec![art("pale", Target::Sheet)];
        change(&mut p);
        findings(&p, &images, &[]).into_iter().filter(|f| f.kind == Kind::PaleOriginal).collect::<Vec<_>>()
    };
    let found = with(|_| {});
    assert_eq!(
        (found.len(), found[0].layer, found[0].severity),
        (1, Some(LayerId::new(0)), Severity::Warning)
    );
    assert!(found[0].sentence.contains("still needs black on the original"), "{}", found[0].sentence);
    // Black somewhere on the layer, a darker reading or a dark ink leave nothing to warn of.
    // What is not loaded may be black.
    assert!(with(|p| p.sheet.layers[0].art.push(art("black", Target::Page(1)))).is_empty());
    assert!(with(|p| p.sheet.layers[0].art.push(art("dark", Target::Page(1)))).is_empty());
    assert!(
        with(|p| p.sheet.layers[0].reading.density = slipsheet_core::reading::Swing::new(1.0)).is_empty()
    );
    assert!(
        with(|p| p.sheet.layers[0].ink.solid = Swatch::Measured {
            lab: slipsheet_core::colour::Lab::new(30.0, 0.0, 0.0).unwrap(),
            note: String::new()
        })
        .is_empty()
    );
}

#[test]
fn solids_and_heavy_places_are_found() {
    let (mut p, mut images) = sound();
    let solid = GrayRaster::filled(1650, 1275, 0).unwrap();
    images.insert(key("solid"), Arc::new(Pyramid::new(solid, Dpi::new(150.0).unwrap())));
    p.sheet.layers[0].art = vec![art("solid", Target::Sheet)];
    let kinds = |p: &Printing| findings(p, &images, &[]).iter().map(|f| f.kind).collect::<Vec<_>>();
    assert_eq!(kinds(&p), [Kind::LargeSolid]);
    p.sheet.layers = (0..3).map(|i| Layer { id: LayerId::new(i), ..p.sheet.layers[0].clone() }).collect();
    assert_eq!(kinds(&p), [Kind::LargeSolid, Kind::LargeSolid, Kind::LargeSolid, Kind::HeavyCoverage]);
}

#[test]
fn stock_fold_and_time_are_looked_at() {
    check(|p| p.sheet.stock.gsm = 300.0, &[Kind::StockWeight, Kind::ScoreMissing]);
    let coated = |p: &mut Printing| p.sheet.stock.finish = slipsheet_core::stock::Finish::Coated;
    check(
        |p| {
            coated(p);
            p.sheet.layers[0].ink.on_finish = slipsheet_core::stock::Finish::Coated;
        },
        &[Kind::CoatedDrying],
    );
    // The same ink, measured on uncoated paper, is an estimate on coated.
    check(coated, &[Kind::CoatedDrying, Kind::Estimates]);
    check(
        |p| {
            p.job.copies = 9000;
            p.job.slot = slipsheet_document::terms::Minutes::new(30.0);
        },
        &[Kind::SlotTooShort],
    );
    // A leaflet folded once down its middle needs the grain upright.
    let leaflet = |grain| {
        move |p: &mut Printing| {
            p.sheet.stock.gsm = 130.0;
            p.sheet.fold = fold::find("letter6");
            p.sheet.layers.push(Layer { face: Face::Back, ..another(p) });
            p.job.grain = grain;
        }
    };
    let upright_is_short = fold::find("letter6").unwrap().landscape;
    let (good, bad) = (slipsheet_document::terms::Grain::Short, slipsheet_document::terms::Grain::Long);
    assert!(upright_is_short);
    check(leaflet(good), &[]);
    check(leaflet(bad), &[Kind::AgainstGrain]);
    // What the stock is counts before what was asked for.
    let on = |stock: slipsheet_core::stock::Grain, asked: slipsheet_core::stock::Grain| {
        move |p: &mut Printing| {
            leaflet(asked)(p);
            p.sheet.stock.grain = Some(stock);
        }
    };
    check(on(good, bad), &[]);
    check(on(bad, good), &[Kind::AgainstGrain]);
}

#[test]
fn turned_pages_and_originals_of_other_sizes_are_found() {
    check(
        |p| {
            let mut turned = art("dark", Target::Page(3));
            turned.placement.rotation = slipsheet_core::units::Degrees::new(180.0);
            p.sheet.layers[0].art.push(turned);
        },
        &[Kind::PageTurned],
    );
    let (mut p, mut images) = sound();
    let other = GrayRaster::filled(1700, 1275, 90).unwrap();
    images.insert(key("other"), Arc::new(Pyramid::new(other, Dpi::new(150.0).unwrap())));
    p.sheet.layers.push(Layer { art: vec![art("other", Target::Sheet)], ..another(&p) });
    let found = findings(&p, &images, &[]);
    assert_eq!(found.iter().map(|f| f.kind).collect::<Vec<_>>(), [Kind::NotLinedUp]);
    p.sheet.layers[1].art[0].placement.dx = Mm::new(0.4);
    assert!(findings(&p, &images, &[]).is_empty());
    // One alone, on a sheet smaller than it: what lies outside is lost unless it was cropped.
    let (mut p, images) = sound();
    p.sheet.format = SheetFormat::A5;
    let found = findings(&p, &images, &[]);
    assert!(
        found
            .iter()
            .any(|f| f.kind == Kind::NotLinedUp && f.sentence.contains("so what lies outside is lost"))
    );
}

#[test]
fn a_layer_too_light_to_print_is_found() {
    let (mut p, mut images) = sound();
    // A dark corner keeps it from being pale throughout.
    let gray = |i: u32| if i % 1650 < 150 && i / 1650 < 150 { 20 } else { 249 };
    for (corner, kind) in [(true, Kind::TooLight), (false, Kind::PaleArt)] {
        let pixels = (0..1650 * 1275).map(|i| if corner { gray(i) } else { 249 }).collect();
        let faint = GrayRaster::new(1650, 1275, pixels).unwrap();
        images.insert(key("faint"), Arc::new(Pyramid::new(faint, Dpi::new(150.0).unwrap())));
        p.sheet.layers.truncate(1);
        p.sheet.fold = None;
        p.sheet.landscape = true;
        p.sheet.layers.push(Layer { art: vec![art("faint", Target::Sheet)], ..another(&p) });
        let found = findings(&p, &images, &[]);
        assert_eq!(found.iter().map(|f| f.kind).collect::<Vec<_>>(), [kind], "{found:?}");
    }
}

#[test]
fn a_slip_of_the_whole_back_is_found() {
    check(|p| p.sheet.back_slip.dx = Mm::new(0.4), &[Kind::SlipSet]);
}

#[test]
fn an_accepted_finding_goes_last_and_comes_back_when_it_moves() {
    let (mut p, images) = sound();
    p.sheet.layers[0].slip.dx = Mm::new(0.3);
    p.sheet.layers[0].visible = false;
    let found = findings(&p, &images, &[]);
    assert_eq!(found[0].kind, Kind::SlipSet);
    p.sheet.accepted.push(Accepted {
        kind: found[0].kind.id().to_owned(),
        place: found[0].place_of(),
        note: "as meant".to_owned(),
    });
    let found = findings(&p, &images, &[]);
    assert_eq!(found.last().unwrap().accepted.as_deref(), Some("as meant"));
    p.sheet.accepted[0].place.layer = Some(LayerId::new(1));
    assert!(findings(&p, &images, &[]).iter().all(Finding::is_open));
    let meet = StudiedPair { layer: LayerId::new(0), sentence: "they meet".to_owned(), place: None };
    let tight = Studied { tight: vec![meet] };
    let found = findings_with(&p, &images, &[], &tight);
    assert_eq!(found[0].kind, Kind::Tight);
}

#[test]
fn the_empty_pages_of_every_sheet_of_a_booklet_are_named_once() {
    let mut printing = slipsheet_document::printing::Printing::new(
        "",
        slipsheet_core::units::SheetFormat::A5,
        slipsheet_document::shelf::Shelf::starter().unwrap().stocks[0].clone(),
    );
    printing.sheet.booklet = Some(slipsheet_paper::booklet::Booklet { pages: 7, ..Default::default() });
    // An empty project is begun, not wrong; a layer that only waits for its art makes it one to look at.
    assert_eq!(findings(&printing, &Images::default(), &[]), []);
    let ink = slipsheet_document::shelf::Shelf::starter().unwrap().inks[0].clone();
    printing.sheet.layers.push(Layer::new(LayerId::new(0), "ink", ink));
    let all = findings(&printing, &Images::default(), &[]);
    let empty: Vec<&str> =
        all.iter().filter(|f| f.kind == Kind::EmptyPage).map(|f| f.sentence.as_str()).collect();
    // The eighth page was added to fill the outer sheet.
    assert!(empty[0].starts_with("on sheet 1, pages 1, 2 and 7 have no artwork"), "{empty:?}");
    assert!(empty[1].starts_with("on sheet 2, pages 3, 4, 5 and 6 have no artwork"), "{empty:?}");
    assert_eq!(empty.len(), 2);
}
