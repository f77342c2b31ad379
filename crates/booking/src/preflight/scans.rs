//! Findings about originals: whether they are there, and where they lie.

use super::{Finding, Kind, ScanTrouble, Trouble};
use slipsheet_core::geometry::{Point, Rect};
use slipsheet_document::layer::{Art, Layer, Mapping, Target};
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;
use slipsheet_render::images::Images;

/// Grays from here on count as paper: scanned white is rarely 255 throughout.
pub(super) const PAPER: u8 = 250;

pub(super) fn findings(printing: &Printing, images: &Images, trouble: &[ScanTrouble]) -> Vec<Finding> {
    let mut all = Vec::new();
    for (i, layer) in printing.sheet.layers.iter().enumerate() {
        let mut found: Vec<Finding> =
            layer.art.iter().flat_map(|art| of_art(printing, images, trouble, (layer, art))).collect();
        found.extend(empty(layer, images));
        all.extend(found.into_iter().map(|f| f.on_layer(printing, i)));
    }
    all
}

fn of_art(
    printing: &Printing,
    images: &Images,
    trouble: &[ScanTrouble],
    (layer, art): (&Layer, &Art),
) -> Vec<Finding> {
    let known = trouble.iter().find(|t| t.key == art.scan.key).map(|t| of_trouble(art, &t.trouble));
    let homeless = misplaced(printing, layer, art);
    let off = homeless.is_none().then(|| off_the_sheet(printing, images, layer, art)).flatten();
    [known, homeless, off].into_iter().flatten().map(|f| on_page_of(printing, art, f)).collect()
}

/// Says on which page artwork lies, and on which sheet of a booklet.
pub(super) fn on_page_of(printing: &Printing, art: &Art, finding: Finding) -> Finding {
    match art.target {
        Target::Sheet => finding,
        Target::Page(page) | Target::Spread(page) => {
            let side = printing.sheet.booklet.as_ref().and_then(|b| b.face_of(page));
            match side.filter(|_| finding.kind != Kind::NoSuchPage) {
                Some((sheet, _)) => finding.on_page(page).on_sheet(sheet),
                None => finding.on_page(page),
            }
        }
    }
}

fn of_trouble(art: &Art, trouble: &Trouble) -> Finding {
    let path = &art.scan.path;
    match trouble {
        Trouble::Missing => Finding::new(Kind::ScanMissing, format!("a scan is missing: {path}")),
        Trouble::Changed => {
            Finding::new(Kind::ScanChanged, format!("a scan has changed since it was placed: {path}"))
        }
        Trouble::Unreadable(why) => Finding::new(Kind::ScanUnreadable, why.clone()),
        Trouble::MaskLost => {
            let sentence = format!("what was mended by hand, and the marks taken out, print again: {path}");
            Finding::new(Kind::MaskLost, sentence)
        }
    }
}

/// Artwork laid on a page that is not there.
fn misplaced(printing: &Printing, layer: &Layer, art: &Art) -> Option<Finding> {
    let (Target::Page(page) | Target::Spread(page)) = art.target else { return None };
    let path = &art.scan.path;
    if let Some(booklet) = &printing.sheet.booklet {
        let last = page + u32::from(matches!(art.target, Target::Spread(_)));
        let sentence = format!(
            "a scan is placed on page {last}, but the booklet has pages 1 to {}: {path}",
            booklet.pages
        );
        return (page == 0 || last > booklet.pages).then(|| Finding::new(Kind::NoSuchPage, sentence));
    }
    let Some(scheme) = &printing.sheet.fold else {
        let sentence = format!("a scan is placed on page {page}, but the sheet is not folded: {path}");
        return Some(Finding::new(Kind::NoSuchPage, sentence));
    };
    let Some(place) = scheme.place(printing.sheet.size(), page) else {
        let pages = scheme.pages();
        let sentence =
            format!("a scan is placed on page {page}, but the fold has pages 1 to {pages}: {path}");
        return Some(Finding::new(Kind::NoSuchPage, sentence));
    };
    let name = |f: Face| f.name().to_lowercase();
    (place.face != layer.face).then(|| {
        let (there, here) = (name(place.face), name(layer.face));
        let sentence =
            format!("page {page} is on the {there}, but “{}” prints on the {here}: {path}", layer.name);
        Finding::new(Kind::WrongFace, sentence)
    })
}

fn off_the_sheet(printing: &Printing, images: &Images, layer: &Layer, art: &Art) -> Option<Finding> {
    let pixels = images.get(&art.scan.key)?.full();
    let (w, h) = (pixels.width(), pixels.height());
    let mapping = match (&printing.sheet.booklet, art.target) {
        (Some(booklet), Target::Page(page)) => {
            let (sheet, face) = booklet.face_of(page)?;
            art.mapping(w, h, printing.sheet.size(), booklet.scheme(sheet).as_ref(), face)?
        }
        _ => art.mapping(w, h, printing.sheet.size(), printing.sheet.fold.as_ref(), layer.face)?,
    };
    let what = match art.target {
        Target::Sheet => "the sheet".to_owned(),
        Target::Page(page) => format!("page {page}"),
        Target::Spread(page) => format!("pages {page} and {}", page + 1),
    };
    (!reaches(&mapping)).then(|| {
        let sentence =
            format!("a scan lies wholly outside {what}, so nothing of it prints: {}", art.scan.path);
        Finding::new(Kind::OffTheSheet, sentence)
    })
}

/// Whether the box around a scan meets what it may cover.
pub(super) fn reaches(mapping: &Mapping) -> bool {
    let part = mapping.part;
    let (x0, y0, x1, y1) = (part.x, part.y, part.x + part.width, part.y + part.height);
    let corners =
        [(x0, y0), (x1, y0), (x0, y1), (x1, y1)].map(|(x, y)| mapping.face_from_scan * Point::new(x, y));
    let low = |of: fn(&Point) -> f64| corners.iter().map(of).fold(f64::INFINITY, f64::min);
    let high = |of: fn(&Point) -> f64| corners.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
    let Rect { x, y, width, height } = mapping.clip;
    low(|p| p.x) < x + width && high(|p| p.x) > x && low(|p| p.y) < y + height && high(|p| p.y) > y
}

fn empty(layer: &Layer, images: &Images) -> Option<Finding> {
    let name = &layer.name;
    if layer.art.is_empty() {
        let sentence = format!("“{name}” has no artwork");
        return Some(Finding::new(Kind::EmptyLayer, sentence));
    }
    // What is not loaded may have ink.
    let blank = |art: &Art| {
        images.get(&art.scan.key).is_some_and(|p| p.full().pixels().iter().all(|gray| *gray >= PAPER))
    };
    layer.art.iter().all(blank).then(|| {
        let sentence = format!("“{name}” is white all over, so it prints nothing");
        Finding::new(Kind::BlankLayer, sentence)
    })
}
