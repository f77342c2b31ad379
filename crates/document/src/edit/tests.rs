use proptest::prelude::*;

use super::*;
use crate::project::Project;
use crate::remedy::Growth;
use crate::shelf::Shelf;
use crate::wrap::Wrap;
use slipsheet_core::geometry::Point;
use slipsheet_core::separation::Intent;

fn shelf() -> Shelf {
    Shelf::starter().unwrap()
}

fn scan(name: &str) -> ScanRef {
    let key = ScanKey::new("0".repeat(64));
    ScanRef { path: format!("{name}.png"), size: 1, key, dpi: Dpi::new(300.0).unwrap() }
}

/// A folded sheet with three layers, the second of which has a scan.
fn project() -> Project {
    let mut p = Project::new("Walk", SheetFormat::A4, shelf().stocks[0].clone());
    p.main.fold = slipsheet_paper::fold::find("slit8");
    let sheet = p.main.id;
    for edit in [
        SheetEdit::AddLayer("Sea".to_owned()),
        SheetEdit::AddScan("Weed".to_owned(), scan("weed"), Target::Page(3)),
        SheetEdit::AddLayer("Type".to_owned()),
        SheetEdit::AddEdition("Now".to_owned()),
    ] {
        apply(&mut p, Edit::Sheet(sheet, edit), &shelf()).unwrap();
    }
    p
}

fn ids(p: &Project) -> Vec<LayerId> {
    p.main.layers.iter().map(|l| l.id).collect()
}

fn refused(p: &Project, edit: Edit) -> Refusal {
    let mut tried = p.clone();
    let why = apply(&mut tried, edit, &shelf()).unwrap_err();
    assert_eq!(tried, *p, "a refused edit changes nothing");
    why
}

#[test]
fn what_is_not_there_is_refused_and_nothing_changes() {
    let p = project();
    let none = u32::MAX;
    let layer = LayerId::new(none);
    for (edit, which) in [
        (Edit::Sheet(SheetId::new(none), SheetEdit::ResetSlips), Which::Sheet),
        (Edit::Layer(layer, LayerEdit::Remove), Which::Layer),
        (Edit::Art(ArtId::new(none), ArtEdit::Remove), Which::Art),
        (Edit::Edition(EditionId::new(none), EditionEdit::Use), Which::Edition),
        (Edit::Sheet(p.main.id, SheetEdit::MoveLayer(layer, 0)), Which::Layer),
        (Edit::Art(p.main.layers[1].art[0].id, ArtEdit::MoveTo(layer)), Which::Layer),
    ] {
        assert_eq!(refused(&p, edit), Refusal::Gone(which));
    }
    assert_eq!(Refusal::Gone(Which::Layer).to_string(), "this layer is not there any more");
}

#[test]
fn what_was_done_to_pixels_goes_with_the_pixels() {
    let dpi = |v: f64| Dpi::new(v).unwrap();
    let at = |p: &Project| p.main.layers[1].art[0].clone();
    let mut p = project();
    let art = at(&p).id;
    let flat = Flat {
        corners: [(0, 0), (9000, 0), (9000, 9000), (0, 9000)],
        lens: 0,
        width: 90,
        height: 90,
        dpi: dpi(90.0),
    };
    let region = Region::of_pixels(
        &[(0.0, 0.0), (9.0, 0.0), (9.0, 9.0)].map(|(x, y)| Point::new(x, y)),
        Reading::default(),
        dpi(90.0),
    );
    let mask = MaskId::try_from("a".repeat(64)).unwrap();
    let lined_up = LinedUp {
        placement: Placement::default(),
        crop: None,
        dpi: flat.dpi,
        flat: Some(flat),
        area: None,
        mask: Some(mask.clone()),
        regions: vec![],
    };
    let line_up = Edit::Art(art, ArtEdit::LinedUp(Box::new(lined_up.clone())));
    apply(&mut p, line_up.clone(), &shelf()).unwrap();
    apply(&mut p, Edit::Art(art, ArtEdit::Regions(vec![region.clone()])), &shelf()).unwrap();
    assert_eq!(
        (at(&p).scan.dpi, at(&p).scan.key.flat, at(&p).scan.key.mask.as_ref()),
        (flat.dpi, Some(flat), Some(&mask))
    );
    // Its dust is measured by the resolution that it has now.
    apply(&mut p, Edit::Art(art, ArtEdit::Mend(Some(DustSize::new(0.5)), Some(mask.clone()))), &shelf())
        .unwrap();
    assert_eq!(at(&p).scan.key.dust.unwrap().dpi, flat.dpi);
    apply(&mut p, Edit::Art(art, ArtEdit::Dpi(dpi(180.0))), &shelf()).unwrap();
    assert_eq!((at(&p).scan.key.dust.unwrap().dpi, at(&p).regions.len()), (dpi(180.0), 1));
    apply(&mut p, line_up, &shelf()).unwrap();
    assert_eq!((at(&p).scan.key.dust.unwrap().dpi, at(&p).regions.len()), (flat.dpi, 0));
    apply(&mut p, Edit::Art(art, ArtEdit::Mend(None, Some(mask))), &shelf()).unwrap();
    // Another page of its file is another picture.
    apply(&mut p, Edit::Art(art, ArtEdit::ScanPage(1)), &shelf()).unwrap();
    assert!(
        at(&p).regions.is_empty() && at(&p).scan.key == ScanKey { page: 1, ..at(&p).scan.key.as_scanned() }
    );
}

#[test]
fn what_cannot_be_is_refused_with_what_to_do() {
    let mut p = project();
    let sheet = p.main.id;
    let edition = p.main.editions[0].id;
    let message = |p: &Project, edit| refused(p, edit).to_string();
    assert!(
        message(&p, Edit::Edition(edition, EditionEdit::Rename(" ".to_owned()))).contains("a name first")
    );
    let taken = SheetEdit::AddEdition("now".to_owned());
    assert!(message(&p, Edit::Sheet(sheet, taken)).contains("choose another name"));
    let outdated = SheetEdit::Passes(Face::Front, vec![vec![ids(&p)[0]]]);
    assert!(message(&p, Edit::Sheet(sheet, outdated)).contains("plan them again"));
    let huge = SheetFormat::Custom(slipsheet_core::units::Size::mm(5.0, 100.0));
    assert!(message(&p, Edit::Sheet(sheet, SheetEdit::Format(huge))).contains("from 20 to 2000 mm"));
    for n in 3..MAX_INKS {
        apply(&mut p, Edit::Sheet(sheet, SheetEdit::AddLayer(format!("{n}"))), &shelf()).unwrap();
    }
    assert_eq!(refused(&p, Edit::Sheet(sheet, SheetEdit::AddLayer("9".to_owned()))), Refusal::FaceFull);
}

#[test]
fn an_answer_is_one_step_and_is_refused_whole() {
    let mut p = project();
    p.press.drums = 2;
    let [sea, weed, kind] = ids(&p)[..] else { panic!() };
    let trap = |with, mm| Remedy::Trap { with, by: Growth::new(mm) };
    let face = Face::Front;
    let answer = |passes: Option<Vec<Vec<LayerId>>>, remedies: Vec<(LayerId, Remedy)>| {
        Edit::Sheet(p.main.id, SheetEdit::Answer(Answer { face, passes, remedies }))
    };
    let joined = vec![vec![weed], vec![sea, kind]];
    let none = LayerId::new(u32::MAX);
    for (edit, why) in [
        (answer(None, vec![(sea, trap(weed, 0.2)), (none, trap(sea, 0.2))]), Refusal::Gone(Which::Layer)),
        (answer(Some(joined.clone()), vec![(sea, trap(none, 0.2))]), Refusal::Gone(Which::Layer)),
        (answer(Some(vec![vec![weed], vec![sea]]), vec![(sea, trap(weed, 0.2))]), Refusal::PassesOutdated),
        (answer(Some(vec![vec![weed, none], vec![sea, kind]]), vec![]), Refusal::Gone(Which::Layer)),
    ] {
        assert_eq!(refused(&p, edit), why);
    }
    let first = answer(None, vec![(sea, trap(weed, 0.1))]);
    let second = answer(Some(joined), vec![(sea, trap(weed, 0.4)), (kind, trap(sea, 0.3))]);
    for edit in [first, second] {
        apply(&mut p, edit, &shelf()).unwrap();
    }
    assert_eq!(ids(&p), [weed, sea, kind]);
    assert_eq!(p.main.layer(kind).unwrap().with, Some(sea));
    assert_eq!(p.main.layer(sea).unwrap().remedies, [trap(weed, 0.4)]);
    assert_eq!(p.main.layer(kind).unwrap().remedies, [trap(sea, 0.3)]);
}

#[test]
fn nothing_is_about_a_layer_that_is_gone() {
    let mut p = project();
    let [sea, weed, kind] = ids(&p)[..] else { panic!() };
    let trap = Growth::new(0.2);
    let remedies = vec![Remedy::Knockout { under: weed, trap }, Remedy::Fill { under: sea }];
    apply(&mut p, Edit::Layer(kind, LayerEdit::Remedies(remedies)), &shelf()).unwrap();
    let place = Place { layer: Some(weed), ..Place::default() };
    let accepted = Accepted { kind: "hairline".to_owned(), place, note: String::new() };
    let accept = Edit::Sheet(p.main.id, SheetEdit::Accept(accepted));
    apply(&mut p, accept, &shelf()).unwrap();
    apply(&mut p, Edit::Layer(weed, LayerEdit::Remove), &shelf()).unwrap();
    assert_eq!(p.main.layer(kind).unwrap().remedies, [Remedy::Fill { under: sea }]);
    assert!(p.main.accepted.is_empty() && !p.main.editions[0].colours.inks.contains_key(&weed));
}

#[test]
fn editions_and_remedies_stay_with_their_layers_when_these_move_and_change_names() {
    let mut p = project();
    let [sea, weed, kind] = ids(&p)[..] else { panic!() };
    let edition = p.main.editions[0].clone();
    let own = p.main.layer(weed).unwrap().ink.clone();
    let other = shelf().inks[9].clone();
    for edit in [
        Edit::Layer(weed, LayerEdit::Ink(other.clone())),
        Edit::Layer(weed, LayerEdit::Name("Sea".to_owned())),
        Edit::Layer(kind, LayerEdit::Remedies(vec![Remedy::Fill { under: sea }])),
        Edit::Sheet(p.main.id, SheetEdit::MoveLayer(weed, 0)),
    ] {
        apply(&mut p, edit, &shelf()).unwrap();
    }
    assert_eq!(ids(&p), [weed, sea, kind]);
    assert!(!p.main.shows(&edition.colours));
    apply(&mut p, Edit::Edition(edition.id, EditionEdit::Use), &shelf()).unwrap();
    assert!(p.main.shows(&edition.colours));
    assert_eq!((&p.main.layers[0].ink, p.main.layer(kind).unwrap().remedies[0].other()), (&own, Some(sea)));
}

#[test]
fn a_series_is_its_editions_and_what_no_edition_has() {
    let mut p = project();
    (p.job.copies, p.job.overs) = (100, 12);
    let edition = p.main.editions[0].id;
    apply(&mut p, Edit::Edition(edition, EditionEdit::Use), &shelf()).unwrap();
    // What is there now is the edition: it is printed once, as often as the job says.
    let copies = |p: &Project| -> Vec<(Option<usize>, u32, u32)> {
        p.main_printing().series().iter().map(|(at, s)| (*at, s.job.copies, s.job.overs)).collect()
    };
    assert_eq!(copies(&p), [(Some(0), 100, 12)]);
    apply(&mut p, Edit::Edition(edition, EditionEdit::Copies(Some(40))), &shelf()).unwrap();
    assert_eq!(copies(&p), [(Some(0), 40, 5)]);
    // The edition by its identity has its own copies as well.
    assert_eq!(p.printing(p.main.id, Some(edition)).unwrap().job.copies, 40);
    // Another stock now: both are printed.
    p.main.stock.gsm += 10.0;
    assert_eq!(copies(&p), [(None, 100, 12), (Some(0), 40, 5)]);
    assert_eq!(p.main_printing().series()[1].1.sheet.stock, p.main.editions[0].colours.stock);
    apply(&mut p, Edit::Edition(edition, EditionEdit::Remove), &shelf()).unwrap();
    assert_eq!(copies(&p), [(None, 100, 12)]);
}

#[test]
fn booking_copies_reaches_the_edition_that_is_shown_where_it_has_its_own() {
    let mut p = project();
    (p.job.copies, p.job.overs, p.job.good_copies) = (100, 12, 90);
    let edition = p.main.editions[0].id;
    let book = |p: &mut Project, copies, overs| {
        assert!(!p.has_booked(copies, overs));
        let edit = Edit::Project(ProjectEdit::Book { copies, overs });
        assert_eq!(apply(p, edit, &shelf()).unwrap().label, "Book copies");
        assert!(p.has_booked(copies, overs));
        let shown = p.main_printing().as_shown().into_owned();
        (shown.job.copies, shown.run_for(shown.job.copies), shown.job.wanted())
    };
    assert_eq!(book(&mut p, 120, 9), (120, 129, 120));
    apply(&mut p, Edit::Edition(edition, EditionEdit::Use), &shelf()).unwrap();
    apply(&mut p, Edit::Edition(edition, EditionEdit::Copies(Some(40))), &shelf()).unwrap();
    // Overs are the job's in proportion: never too few, and for an edition that is no larger a sheet more at most.
    for (copies, overs) in [(50, 7), (120, 43), (7, 3), (40, 0)] {
        let (shown, run, wanted) = book(&mut p, copies, overs);
        assert_eq!((shown, wanted), (copies, copies));
        assert!((copies + overs..=copies + overs + 1).contains(&run), "{run}");
        assert_eq!((p.job.copies, p.main.editions[0].copies), (120, Some(copies)));
    }
}

/// The plates of the first picture: the name of each one's layer, and its key.
fn plates(p: &Project) -> Vec<(String, ScanKey)> {
    let Some(source) = p.main.sources.first() else { return Vec::new() };
    let layers = p.main.layers_of(source);
    let key = |l: &&crate::layer::Layer| {
        l.art.iter().find(|a| source.plates.contains(&a.id)).map(|a| a.scan.key.clone())
    };
    layers.iter().map(|l| (l.name.clone(), key(l).unwrap())).collect()
}

fn separated(inks: &[usize]) -> Project {
    let mut p = project();
    let new = NewSource {
        picture: scan("gull"),
        target: Target::Sheet,
        placement: Placement::default(),
        crop: None,
        inks: inks.iter().map(|i| shelf().inks[*i].clone()).collect(),
        separation: Separation::default(),
    };
    let edit = Edit::Sheet(p.main.id, SheetEdit::AddSource(Box::new(new)));
    apply(&mut p, edit, &shelf()).unwrap();
    p
}

#[test]
fn a_picture_has_a_plate_of_each_ink_and_they_follow_whatever_they_depend_on() {
    let p = separated(&[3, 5, 8]);
    let before = plates(&p);
    assert_eq!(before.len(), 3);
    assert!(before.iter().enumerate().all(|(i, (_, key))| key.plate.as_ref().unwrap().ink == i as u8));
    let layers: Vec<LayerId> = p.main.layers_of(&p.main.sources[0]).iter().map(|l| l.id).collect();
    let changed = |edit: Edit| {
        let mut tried = p.clone();
        apply(&mut tried, edit, &shelf()).unwrap();
        assert!(tried.check().is_ok());
        plates(&tried) != before
    };
    let sheet = |edit| Edit::Sheet(p.main.id, edit);
    let reading = Reading { density: slipsheet_core::reading::Swing::new(0.4), ..Reading::default() };
    for edit in [
        sheet(SheetEdit::Stock(shelf().stocks[4].clone())),
        Edit::Layer(layers[1], LayerEdit::Ink(shelf().inks[9].clone())),
        Edit::Layer(layers[0], LayerEdit::Reading(reading)),
        sheet(SheetEdit::MoveLayer(layers[0], 9)),
        Edit::Layer(layers[2], LayerEdit::Remove),
        Edit::Source(
            p.main.sources[0].id,
            SourceEdit::Separation(Separation { intent: Intent::Saturation, ..Separation::default() }),
        ),
    ] {
        assert!(changed(edit.clone()), "{edit:?}");
    }
    for edit in [
        sheet(SheetEdit::Trim(Mm::new(3.0))),
        Edit::Layer(layers[1], LayerEdit::Visible(false)),
        Edit::Layer(layers[1], LayerEdit::Slip(Slip { dx: Mm::new(1.0), ..Slip::default() })),
        Edit::Project(ProjectEdit::Book { copies: 7, overs: 1 }),
    ] {
        assert!(!changed(edit.clone()), "{edit:?}");
    }
}

#[test]
fn a_plate_that_is_moved_takes_the_others_along_and_is_mended_by_nobody() {
    let mut p = separated(&[3, 5]);
    let source = p.main.sources[0].clone();
    let placement = Placement { dx: Mm::new(12.0), ..Placement::default() };
    apply(&mut p, Edit::Art(source.plates[1], ArtEdit::Placement(placement)), &shelf()).unwrap();
    let lies = |p: &Project, id: ArtId| p.every_art().find(|a| a.id == id).unwrap().placement;
    assert!(source.plates.iter().all(|id| lies(&p, *id) == placement));
    assert_eq!(p.main.sources[0].placement, placement);
    let mend = Edit::Art(source.plates[0], ArtEdit::Gray(GrayFrom::Red, true));
    assert_eq!(refused(&p, mend), Refusal::IsPlate);
    // The file was found elsewhere: the picture knows it by its plates.
    let paths = vec![(source.picture.key.sha256.clone(), "away/gull.png".to_owned())];
    apply(&mut p, Edit::Project(ProjectEdit::ScanPaths(paths)), &shelf()).unwrap();
    assert_eq!(p.main.sources[0].picture.path, "away/gull.png");
}

#[test]
fn an_ink_that_is_there_takes_the_plate_and_other_inks_come_and_go() {
    let mut p = separated(&[3, 5]);
    let layers = p.main.layers.len();
    let own = p.main.layers[0].ink.clone();
    let id = p.main.sources[0].id;
    let inks = vec![shelf().inks[3].clone(), own.clone()];
    apply(&mut p, Edit::Source(id, SourceEdit::Inks(inks.clone())), &shelf()).unwrap();
    // The layer of an ink that went stays, empty, as it may be meant for something else.
    assert_eq!((p.main.layers.len(), plates(&p).len()), (layers, 2));
    assert_eq!(p.main.layers[0].art.len(), 1, "one master an ink");
    let twice = vec![own.clone(), own];
    assert_eq!(refused(&p, Edit::Source(id, SourceEdit::Inks(twice))), Refusal::Inks);
    assert_eq!(refused(&p, Edit::Source(id, SourceEdit::Inks(vec![]))), Refusal::Inks);

    // Written out, its plates are artwork like any other.
    let written: Vec<(ArtId, ScanRef)> =
        p.main.sources[0].plates.iter().map(|id| (*id, scan("plate"))).collect();
    apply(&mut p, Edit::Source(id, SourceEdit::TakeApart(written)), &shelf()).unwrap();
    assert!(p.main.sources.is_empty() && p.every_art().all(|a| a.scan.key.plate.is_none()));
    let gone = Edit::Source(id, SourceEdit::Remove);
    assert_eq!(refused(&p, gone), Refusal::Gone(Which::Source));
    let mut p = separated(&[3]);
    let id = p.main.sources[0].id;
    apply(&mut p, Edit::Source(id, SourceEdit::Remove), &shelf()).unwrap();
    assert!(p.main.sources.is_empty() && plates(&p).is_empty());
}

#[test]
fn a_wrap_keeps_its_layers_when_it_changes_and_has_no_fold() {
    let mut p = project();
    let stock = shelf().stocks[2].clone();
    let order = WrapOrder { wrap: Wrap::default(), format: SheetFormat::Tabloid, landscape: false, stock };
    let give = |order: &WrapOrder| Edit::Project(ProjectEdit::GiveWrap(Box::new(order.clone())));
    apply(&mut p, give(&order), &shelf()).unwrap();
    let sheet = p.wrap.as_ref().unwrap().sheet.id;
    apply(&mut p, Edit::Sheet(sheet, SheetEdit::AddLayer("Band".to_owned())), &shelf()).unwrap();
    apply(&mut p, give(&WrapOrder { landscape: true, ..order.clone() }), &shelf()).unwrap();
    let wrap = p.wrap.as_ref().unwrap();
    assert!(wrap.sheet.landscape && wrap.sheet.layers.len() == 1 && wrap.sheet.id == sheet);
    assert_eq!(refused(&p, Edit::Sheet(sheet, SheetEdit::Fold(None))), Refusal::NetHasNoFold);
    let small = WrapOrder { format: SheetFormat::A6, ..order };
    assert!(matches!(refused(&p, give(&small)), Refusal::Wrap(_)));
    assert!(p.wrap_printing().unwrap().own_wrap().is_some());
    assert!(p.main_printing().outer_wrap().is_some() && p.main_printing().own_wrap().is_none());
    apply(&mut p, Edit::Project(ProjectEdit::RemoveWrap), &shelf()).unwrap();
    assert!(p.wrap.is_none() && p.wrap_printing().is_none());
}

/// An edit that may or may not fit the project, by a few numbers.
fn any_edit(p: &Project, [what, a, b]: [usize; 3]) -> Edit {
    let layer = ids(p).get(a % 9).copied().unwrap_or(LayerId::new(7));
    let other = ids(p).get(b % 9).copied().unwrap_or(LayerId::new(8));
    let art = p.every_art().nth(a % 5).map_or(ArtId::new(0), |a| a.id);
    let edition = p.main.editions.get(a % 3).map_or(EditionId::new(0), |e| e.id);
    let face = if b % 2 == 0 { Face::Front } else { Face::Back };
    let sheet = |edit| Edit::Sheet(p.main.id, edit);
    let source = p.main.sources.get(a % 2).map_or(SourceId::new(0), |s| s.id);
    match what % 20 {
        0 => sheet(SheetEdit::AddLayer("Layer".to_owned())),
        1 => sheet(SheetEdit::AddScan("Scan".to_owned(), scan("a"), Target::Page(b as u32 % 9))),
        2 => sheet(SheetEdit::MoveLayer(layer, b % 9)),
        3 => Edit::Layer(layer, LayerEdit::Remove),
        4 => Edit::Layer(layer, LayerEdit::Face(face)),
        5 => Edit::Layer(layer, LayerEdit::Remedies(vec![Remedy::Fill { under: other }])),
        6 => Edit::Art(art, ArtEdit::MoveTo(other)),
        7 => Edit::Art(art, ArtEdit::Remove),
        8 => sheet(SheetEdit::AddEdition(format!("Edition {b}"))),
        9 => Edit::Edition(edition, EditionEdit::Use),
        10 => Edit::Edition(edition, EditionEdit::Remove),
        11 => {
            let all: Vec<LayerId> = p.main.on(face).map(|(_, l)| l.id).collect();
            sheet(SheetEdit::Passes(face, all.chunks(1 + a % 3).map(<[LayerId]>::to_vec).collect()))
        }
        12 => {
            let place = Place { layer: Some(layer), ..Place::default() };
            let kind = "hairline".to_owned();
            sheet(SheetEdit::Accept(Accepted { kind, place, note: String::new() }))
        }
        13 => {
            let passes = p.main.on(face).map(|(_, l)| vec![l.id]).collect();
            let remedies = vec![(layer, Remedy::Trap { with: other, by: Growth::new(0.1 * b as f64) })];
            sheet(SheetEdit::Answer(Answer { face, passes: (a % 2 == 0).then_some(passes), remedies }))
        }
        14 => Edit::Edition(edition, EditionEdit::Copies((b % 2 == 0).then_some(b as u32))),
        15 => Edit::Project(ProjectEdit::Book { copies: a as u32, overs: b as u32 }),
        16 => {
            let inks = (0..1 + b % 3).map(|i| shelf().inks[(a + i) % 12].clone()).collect();
            let target = if a % 2 == 0 { Target::Sheet } else { Target::Page(b as u32 % 9) };
            let (placement, crop, separation) = (Placement::default(), None, Separation::default());
            let new = NewSource { picture: scan("c"), target, placement, crop, inks, separation };
            sheet(SheetEdit::AddSource(Box::new(new)))
        }
        17 => Edit::Source(source, SourceEdit::Inks(vec![shelf().inks[a % 12].clone()])),
        18 => Edit::Layer(layer, LayerEdit::Ink(shelf().inks[b % 12].clone())),
        _ => sheet(SheetEdit::Fold(slipsheet_paper::fold::find("half4"))),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn whatever_is_done_the_project_is_sound_and_comes_back_as_it_was_saved(
        edits in prop::collection::vec(any::<[u8; 3]>(), 1..40),
    ) {
        let mut p = project();
        for numbers in edits {
            let before = p.clone();
            let edit = any_edit(&p, numbers.map(usize::from));
            if apply(&mut p, edit, &shelf()).is_err() {
                prop_assert_eq!(&p, &before);
            }
            prop_assert!(p.check().is_ok());
        }
        prop_assert_eq!(&Project::from_ron(&p.to_ron().unwrap()).unwrap(), &p);
    }
}
