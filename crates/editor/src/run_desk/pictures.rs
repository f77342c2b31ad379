//! What copies look like: side by side at a place, whole beside what was meant, and slipped as far as is accepted.

use slipsheet_base::cache::Bytes;
use slipsheet_core::geometry::{Affine, Point, Rect};
use slipsheet_core::units::Dpi;
use slipsheet_document::acceptance::Start;
use slipsheet_registration::slip::run::LayerSlip;
use slipsheet_registration::slip::{SlipError, Study};
use slipsheet_render::{Picture, Scene, Show, View};

use super::{Case, Row, SlippedCopies};

/// Copies side by side, from the best to the worst.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RowWanted {
    /// How many, at evenly spaced places of the order.
    pub copies: usize,
    /// Middle of the place that is shown, in mm; without it the tightest place.
    pub place: Option<Point>,
    /// Side of the place in mm, and of a picture in pixels.
    pub side: f64,
    pub pixels: u32,
}

/// One copy from afar, and the print as it is meant beside it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LookWanted {
    /// Its number, from 0.
    pub copy: usize,
    /// The most pixels of each picture either way.
    pub pixels: [u32; 2],
}

impl Bytes for Row {
    fn bytes(&self) -> usize {
        self.copies.iter().map(|(_, picture)| picture.pixels.bytes()).sum()
    }
}

impl Bytes for SlippedCopies {
    fn bytes(&self) -> usize {
        self.openings.bytes() + self.ranked.bytes()
    }
}

/// The copies of a row by their place in the order: those in the middle of as many equal parts.
fn chosen(ranked: &[usize], copies: usize) -> Vec<usize> {
    let at = |i: usize| ranked.get((2 * i + 1) * ranked.len() / (2 * copies)).copied();
    (0..copies.min(ranked.len())).filter_map(at).collect()
}

pub(super) fn row(case: &Case<'_>, copies: &SlippedCopies, wanted: &RowWanted) -> Result<Row, SlipError> {
    let scene = Scene::new(case.printing(), case.images, Show::meant(case.face()))?;
    let (slipper, place) = (case.slipper(), middle_of(&case.study, wanted.place));
    let view = place_view(&case.study, place, wanted.side, wanted.pixels);
    let draw = |copy: usize| (copy, slipped(&scene, &case.study, &slipper.slips(copy as u64), &view));
    let copies = chosen(&copies.ranked, wanted.copies).into_iter().map(draw).collect();
    Ok(Row { place, copies })
}

pub(super) fn look(case: &Case<'_>, wanted: &LookWanted) -> Result<Vec<Picture>, SlipError> {
    let scene = Scene::new(case.printing(), case.images, Show::meant(case.face()))?;
    let (sheet, [wide, high]) = (case.study.sheet, wanted.pixels.map(f64::from));
    let per_mm = (wide / sheet.width.get()).min(high / sheet.height.get());
    let view = View::sheet(sheet, Dpi::nearest(per_mm * 25.4));
    let slips = case.slipper().slips(wanted.copy as u64);
    Ok(vec![slipped(&scene, &case.study, &slips, &view), scene.render(&view)])
}

/// The tightest place slipped until it opens as wide as each of the starting points accepts; nothing where no place is
/// tight.
pub(super) fn starts(case: &Case<'_>, pixels: u32) -> Result<Vec<Picture>, SlipError> {
    /// Side in mm of what is shown.
    const SIDE: f64 = 10.0;
    let scene = Scene::new(case.printing(), case.images, Show::meant(case.face()))?;
    let Some(worst) = case.study.worst(1).first().copied() else { return Ok(Vec::new()) };
    let view = place_view(&case.study, worst.tight.at, SIDE, pixels);
    let draw = |start: Start| {
        let slip = worst.breaking_slip(start.gap().get());
        let layer = worst.tight.upper;
        let slips = [LayerSlip { layer, dx: slip.dx.get(), dy: slip.dy.get(), ..LayerSlip::default() }];
        slipped(&scene, &case.study, &slips, &view)
    };
    Ok(Start::ALL.into_iter().map(draw).collect())
}

pub(super) fn slipped(scene: &Scene, study: &Study, slips: &[LayerSlip], view: &View) -> Picture {
    let of_layer = |layer: usize| {
        let slip = slips.iter().find(|s| s.layer == layer);
        slip.map_or(Affine::IDENTITY, |s| s.slipped_from_meant(study.sheet))
    };
    scene.moved(of_layer).render(view)
}

/// The place asked for, the tightest one, or the middle of the sheet.
fn middle_of(study: &Study, place: Option<Point>) -> Point {
    let middle = Point::new(study.sheet.width.get() / 2.0, study.sheet.height.get() / 2.0);
    place.or_else(|| study.worst(1).first().map(|w| w.tight.at)).unwrap_or(middle)
}

/// A square around a place, moved onto the sheet where it would hang over.
pub(super) fn place_view(study: &Study, place: Point, side: f64, pixels: u32) -> View {
    let within =
        |c: f64, most: f64| if side < most { c.clamp(side / 2.0, most - side / 2.0) } else { most / 2.0 };
    let x = within(place.x, study.sheet.width.get()) - side / 2.0;
    let y = within(place.y, study.sheet.height.get()) - side / 2.0;
    View::of_rect(Rect { x, y, width: side, height: side }, pixels, pixels)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_shows_the_middle_of_equal_parts_of_the_order() {
        let ranked: Vec<usize> = (0..1000).rev().collect();
        assert_eq!(chosen(&ranked, 5), [899, 699, 499, 299, 99]);
        assert_eq!(chosen(&ranked[..2], 5).len(), 2);
        assert!(chosen(&[], 5).is_empty());
    }
}
