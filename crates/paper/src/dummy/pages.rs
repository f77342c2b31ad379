//! Which page is where in a picture of the folded thing.

use super::DummyView;
use super::mesh::Folded;
use super::plane::Camera;
use super::raster::seen;
use crate::construction::Construction;
use crate::fold::{Face, PagePlace, Scheme, Shown};
use slipsheet_base::geometry::Point;
use slipsheet_base::units::Size;

/// A page that is seen, and where its middle lies in the picture, in pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PageMark {
    pub page: u32,
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

pub(super) fn places(scheme: &Scheme, sheet: Size) -> Vec<(usize, PagePlace)> {
    Face::BOTH.into_iter().flat_map(|f| scheme.places(sheet, f)).map(|p| (0, p)).collect()
}

/// The page, of these that lie on their sheets, under a point of the picture.
pub(super) fn page_of(
    folded: &Folded,
    places: &[(usize, PagePlace)],
    view: &DummyView,
    (x, y): (f64, f64),
) -> Option<u32> {
    let camera = Camera::new(view, folded.radius, 1.0);
    let (strip, u, v, first) = seen(folded, &camera, (x, y))?;
    let (face, c) = if first { strip.front } else { strip.back }?;
    let at = Point::new(
        c[0].x + u * (c[1].x - c[0].x) + v * (c[3].x - c[0].x),
        c[0].y + u * (c[1].y - c[0].y) + v * (c[3].y - c[0].y),
    );
    let here =
        |(sheet, p): &&(usize, PagePlace)| *sheet == strip.sheet && p.face == face && p.rect.contains(at);
    places.iter().find(here).map(|(_, p)| p.page)
}

/// Every page whose middle can be seen, in reading order.
pub fn page_marks(folded: &Folded, scheme: &Scheme, sheet: Size, view: &DummyView) -> Vec<PageMark> {
    marks_of(folded, &places(scheme, sheet), view)
}

/// The same of pages that lie on their sheets.
pub(super) fn marks_of(folded: &Folded, places: &[(usize, PagePlace)], view: &DummyView) -> Vec<PageMark> {
    let camera = Camera::new(view, folded.radius, 1.0);
    let mut marks = Vec::new();
    for (on, place) in places {
        let centre = place.rect.centre();
        for strip in folded.strips.iter().filter(|s| s.sheet == *on) {
            for (shown, first) in [(strip.front, true), (strip.back, false)] {
                let Some((u, v)) = on_side(shown, place.face, centre) else { continue };
                let [tl, tr, _, bl] = strip.corners;
                let point = tl + (tr - tl) * u + (bl - tl) * v;
                let Some((x, y)) = camera.picture(camera.eye(point)) else { continue };
                let visible = seen(folded, &camera, (x, y))
                    .is_some_and(|(s, _, _, f)| f == first && s.panel == strip.panel);
                if visible && !marks.iter().any(|m: &PageMark| m.page == place.page) {
                    marks.push(PageMark { page: place.page, x, y });
                }
            }
        }
    }
    marks.sort_by_key(|m| m.page);
    marks
}

/// The opening at which a page lies open before the reader; `None` when the fold has no such page.
pub fn opening_of_page(made: &Construction<'_>, page: u32) -> Option<usize> {
    if let Some(booklet) = made.booklet {
        return (1..=booklet.pages).contains(&page).then(|| booklet.slot(page) as usize / 2);
    }
    let (scheme, sheet) = (made.fold?, made.sheet);
    let view = DummyView::facing(600, 600, [0; 3]);
    (0..=scheme.openings()).find(|opening| {
        let folded = Folded::new(scheme, sheet, 1.0, *opening as f64, made.caliper);
        page_marks(&folded, scheme, sheet, &view).iter().any(|m| m.page == page)
    })
}

/// Where on a side a point of a face lies, along and down.
fn on_side(shown: Shown, face: Face, point: Point) -> Option<(f64, f64)> {
    let (shown, c) = shown?;
    if shown != face {
        return None;
    }
    let (a, d) = ((c[1].x - c[0].x, c[1].y - c[0].y), (c[3].x - c[0].x, c[3].y - c[0].y));
    let det = a.0 * d.1 - a.1 * d.0;
    let (x, y) = (point.x - c[0].x, point.y - c[0].y);
    let (u, v) = ((x * d.1 - y * d.0) / det, (a.0 * y - a.1 * x) / det);
    let inside = det.abs() > 1e-9 && (-1e-9..=1.0 + 1e-9).contains(&u) && (-1e-9..=1.0 + 1e-9).contains(&v);
    inside.then_some((u, v))
}
