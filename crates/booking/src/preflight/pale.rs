//! Findings about masters that stay pale: art that prints far from full ink because it was drawn so, or that its reading
//! takes away.
//!
//! Art is judged group by group, so that one pencil drawing among black type is found; a group is what lies together on
//! a page. Where it is darkest counts, for nearly every drawing is meant to reach full ink somewhere (common practice,
//! no source), and what is drawn is known from the original with its paper cleaned, so that bare paper is no art.

mod groups;

use std::cmp::Ordering;

use super::{Finding, Fix, Kind};
use groups::Look;
use slipsheet_core::geometry::Rect;
use slipsheet_core::gray_check::{Fate, fates};
use slipsheet_core::reading::{BlackPoint, Mode, Reading};
use slipsheet_core::units::Dpi;
use slipsheet_document::ids::LayerId;
use slipsheet_document::layer::Layer;
use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::{Face, PagePlace};
use slipsheet_render::images::Images;
use slipsheet_render::{Drawn, Scene, Show, View};

/// Resolution of the look: fine enough for the stem of small type to be as dark as it is.
const DPI: f64 = 300.0;
/// Bytes that the look takes for a pixel: two plates and what they are worked out from, of one layer.
const BYTES_A_PIXEL: f64 = 6.0;
/// Effective coverage below which the darkest tone of a group is pale (common practice, no source).
const PALE: f32 = 0.6;

/// Art on a page that prints no darker than pale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PaleGroup {
    /// The page, from 1; `None` where the sheet has no pages.
    pub page: Option<u32>,
    /// The sheet of a booklet, from 0.
    pub sheet: Option<usize>,
    pub face: Face,
    /// Where it lies on the face, in mm.
    pub rect: Rect,
    /// Effective coverage that its darkest hundredth (at least 0.25 mm², at most 2 mm²) prints with, 0..=1.
    pub darkest: f32,
    /// Share of what was drawn that does not print: lighter than the lightest printable tone, or made bare paper by the
    /// reading, 0..=1.
    pub lost: f32,
    /// The black point that brings the darkest 2 % of what was drawn to full ink, or as near to it as one can; the
    /// layer's own where no lower one is needed, or where its reading has none.
    pub wants: BlackPoint,
}

/// The black point that brings a group to full ink.
pub fn black_point_for(group: &PaleGroup) -> BlackPoint {
    group.wants
}

/// The black point that brings every group of a layer to full ink: the lowest of theirs. What prints full already
/// stays so, and tones between darken with it.
pub fn black_point_of(groups: &[PaleGroup]) -> Option<BlackPoint> {
    groups.iter().map(black_point_for).min_by(|a, b| a.get().total_cmp(&b.get()))
}

/// The art of every visible layer that prints pale, the palest first; layers without any are left out, as is what
/// cannot be drawn.
pub fn pale_groups(printing: &Printing, images: &Images) -> Vec<(LayerId, Vec<PaleGroup>)> {
    let mut all: Vec<(LayerId, Vec<PaleGroup>)> = Vec::new();
    for number in 0..printing.sheet.printed_sheets() {
        let one = printing.number(number);
        let sheet = printing.sheet.booklet.is_some().then_some(number);
        for face in Face::BOTH {
            for (id, groups) in of_face(&one, images, face) {
                let groups = groups.into_iter().map(|g| PaleGroup { sheet, ..g });
                match all.iter_mut().find(|(known, _)| *known == id) {
                    Some((_, known)) => known.extend(groups),
                    None => all.push((id, groups.collect())),
                }
            }
        }
    }
    all.retain(|(_, groups)| !groups.is_empty());
    for (_, groups) in &mut all {
        groups.sort_by(palest);
    }
    all
}

fn palest(a: &PaleGroup, b: &PaleGroup) -> Ordering {
    a.darkest.total_cmp(&b.darkest).then(b.lost.total_cmp(&a.lost))
}

fn of_face(one: &Printing, images: &Images, face: Face) -> Vec<(LayerId, Vec<PaleGroup>)> {
    // How dark a plate is, its separation has decided.
    let is_plate = |l: &Layer| l.art.iter().any(|art| art.scan.key.plate.is_some());
    let loaded = |l: &Layer| !is_plate(l) && l.art.iter().any(|art| images.get(&art.scan.key).is_some());
    let layers: Vec<_> = one.sheet.on(face).filter(|(_, l)| l.visible && loaded(l)).collect();
    if layers.is_empty() {
        return Vec::new();
    }
    let (Ok(scene), Ok(dpi)) = (Scene::new(one, images, Show::meant(face)), Dpi::new(DPI)) else {
        return Vec::new();
    };
    let dpi = scene.sheet().dpi_within(dpi, BYTES_A_PIXEL);
    let view = View::sheet(scene.sheet(), dpi);
    let scheme = one.sheet.fold.as_ref();
    let pages: Vec<PagePlace> = scheme.map_or_else(Vec::new, |s| s.places(one.sheet.size(), face));
    layers
        .into_iter()
        .filter_map(|(i, layer)| Some((layer.id, of_layer(layer, &scene.drawn(i, &view)?, dpi, &pages))))
        .collect()
}

fn of_layer(layer: &Layer, drawn: &Drawn, dpi: Dpi, pages: &[PagePlace]) -> Vec<PaleGroup> {
    let fates = fates(&layer.ink.curve);
    let line = matches!(layer.reading.mode, Mode::Line);
    let look = Look {
        drawn,
        effective: layer.ink.curve.table(),
        // Between the strokes of a line reading are means of ink and none, and no tones.
        vanishes: fates.map(|fate| matches!(fate, Fate::Vanishes) && !line),
        px_per_mm: dpi.px_per_mm(),
        pages,
    };
    let group = |g: groups::Group| PaleGroup {
        page: g.page,
        sheet: None,
        face: layer.face,
        rect: g.rect,
        darkest: g.darkest,
        lost: g.lost,
        wants: wanted(&layer.reading, g.original),
    };
    look.pale(PALE).into_iter().map(group).collect()
}

/// The black point of a reading that brings a coverage of the original to full ink.
fn wanted(reading: &Reading, original: f64) -> BlackPoint {
    match reading.mode {
        // Its threshold has no black point.
        Mode::Line => reading.black,
        Mode::Continuous
        | Mode::Screened { .. }
        | Mode::Stochastic { .. }
        | Mode::Mixed { .. }
        | Mode::Faint => BlackPoint::new(original.min(reading.black.get())),
    }
}

pub(super) fn findings(printing: &Printing, images: &Images) -> Vec<Finding> {
    let all = pale_groups(printing, images);
    let finding = |(id, groups): &(LayerId, Vec<PaleGroup>)| {
        let (position, worst) = (printing.sheet.position(*id)?, groups.first()?);
        let layer = printing.sheet.layers.get(position)?;
        let finding = Finding::new(Kind::PaleArt, sentence(layer, worst, groups))
            .on_layer(printing, position)
            .at(worst.face, worst.rect);
        let fix = helpful_point(layer, groups).map(Fix::BlackPoint);
        Some(Finding { page: worst.page, sheet: worst.sheet, fix, ..finding })
    };
    all.iter().filter_map(finding).collect()
}

fn sentence(layer: &Layer, worst: &PaleGroup, groups: &[PaleGroup]) -> String {
    let percent = |share: f64| format!("{:.0} %", share * 100.0);
    let place = match worst.page {
        Some(page) => format!("page {page} of “{}”", layer.name),
        None => format!("the {} of “{}”", worst.face.name().to_lowercase(), layer.name),
    };
    let prints = if worst.darkest > 0.0 {
        format!("some of the art on {place} prints no darker than {}", percent(f64::from(worst.darkest)))
    } else {
        format!("some of the art on {place} does not print at all")
    };
    let lost = f64::from(worst.lost);
    let lost = if worst.darkest > 0.0 && lost >= 0.05 {
        format!(", and {} of it not at all", percent(lost))
    } else {
        String::new()
    };
    format!("{prints}{lost}{}; {}", others(worst, groups), advice(layer, groups))
}

/// Where else the layer is pale.
fn others(worst: &PaleGroup, groups: &[PaleGroup]) -> String {
    let mut pages: Vec<u32> =
        groups.iter().filter_map(|g| g.page).filter(|p| worst.page != Some(*p)).collect();
    pages.sort_unstable();
    pages.dedup();
    let list: Vec<String> = pages.iter().map(u32::to_string).collect();
    match (list.split_last(), worst.page) {
        (Some((last, [])), _) => format!(" (pale as well: page {last})"),
        (Some((last, rest)), _) => format!(" (pale as well: pages {} and {last})", rest.join(", ")),
        (None, None) if groups.len() > 1 => {
            format!(" (pale as well: {} more)", super::count(groups.len() - 1, "place"))
        }
        (None, _) => String::new(),
    }
}

/// The black point that helps a layer; none where it is hardly lower than what it has.
fn helpful_point(layer: &Layer, groups: &[PaleGroup]) -> Option<BlackPoint> {
    black_point_of(groups).filter(|black| layer.reading.black.get() - black.get() >= 0.01)
}

fn advice(layer: &Layer, groups: &[PaleGroup]) -> String {
    let reading = &layer.reading;
    let Some(black) = helpful_point(layer, groups) else {
        return match reading.mode {
            Mode::Line => "it is lighter than its reading's threshold, so raise the density".to_owned(),
            Mode::Continuous
            | Mode::Screened { .. }
            | Mode::Stochastic { .. }
            | Mode::Mixed { .. }
            | Mode::Faint => "its reading makes it so, so raise the density or lower the drop-out".to_owned(),
        };
    };
    format!(
        "set the layer's black point to {:.0} % to bring it to full ink, where what is full already stays as it is",
        black.get() * 100.0
    )
}
