//! Where the strip looks.

use egui::{Pos2, Rect, Vec2};
use slipsheet_core::geometry::{Affine, Point};
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::units::Size;
use slipsheet_render::View;

/// Pixels of a thumbnail to each side that are looked at together.
const REACH: usize = 6;

/// The place of the sheet where a layer has most to tell one reading from another, in mm: many middle tones, and
/// differences between neighbours. The middle of the sheet where nothing is known of the layer.
pub(super) fn busiest(thumbnail: Option<&GrayRaster>, sheet: Size) -> Point {
    let middle = Point::new(sheet.width.get() / 2.0, sheet.height.get() / 2.0);
    let Some(thumbnail) = thumbnail else { return middle };
    let (width, height) = (thumbnail.width() as usize, thumbnail.height() as usize);
    let interest = |row: &[u8]| -> u64 {
        let tones = row.iter().map(|g| u64::from((*g).min(255 - *g)));
        let steps = row.iter().zip(row.iter().skip(1)).map(|(a, b)| u64::from(a.abs_diff(*b)));
        tones.chain(steps).sum()
    };
    let mut best = (0, middle);
    for y in (REACH..height.saturating_sub(REACH)).step_by(2) {
        for x in (REACH..width.saturating_sub(REACH)).step_by(2) {
            let rows =
                (y - REACH..=y + REACH).filter_map(|v| thumbnail.row(v as u32).get(x - REACH..=x + REACH));
            let here = rows.map(interest).sum();
            if here > best.0 {
                let across = (x as f64 + 0.5) / width as f64 * sheet.width.get();
                best = (here, Point::new(across, (y as f64 + 0.5) / height as f64 * sheet.height.get()));
            }
        }
    }
    best.1
}

/// The window of one picture onto the face; `zoom` is in points per mm.
pub(super) fn view(centre: Point, zoom: f32, size: Vec2, pixels_per_point: f32) -> View {
    let px = |points: f32| (points * pixels_per_point).round().max(1.0) as usize;
    let (width, height) = (px(size.x), px(size.y));
    let mm = 1.0 / f64::from(zoom * pixels_per_point);
    let face_from_view = Affine::shift(centre.x, centre.y)
        * Affine::scale(mm, mm)
        * Affine::shift(-(width as f64) / 2.0, -(height as f64) / 2.0);
    View { width, height, face_from_view }
}

/// Where a picture of a view lies by now, in points.
pub(super) fn placed(view: &View, centre: Point, zoom: f32, rect: Rect) -> Rect {
    let corner = |x: f64, y: f64| {
        let at = view.face_from_view * Point::new(x, y);
        let away = Vec2::new((at.x - centre.x) as f32 * zoom, (at.y - centre.y) as f32 * zoom);
        rect.center() + away
    };
    let (from, to): (Pos2, Pos2) = (corner(0.0, 0.0), corner(view.width as f64, view.height as f64));
    Rect::from_two_pos(from, to)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_strip_opens_where_something_is_drawn() {
        let sheet = Size::mm(200.0, 100.0);
        let at = |x: f64, y: f64, from: Option<&GrayRaster>| busiest(from, sheet).distance(Point::new(x, y));
        assert!(at(100.0, 50.0, None) < 1e-9);
        let pixels = (0..200 * 100).map(|i| {
            let (x, y) = (i % 200, i / 200);
            if (140..170).contains(&x) && (20..50).contains(&y) { 90 } else { 255 }
        });
        let drawn = GrayRaster::new(200, 100, pixels.collect()).unwrap();
        assert!(at(155.0, 35.0, Some(&drawn)) < 20.0, "{:?}", busiest(Some(&drawn), sheet));
        assert!(at(100.0, 50.0, Some(&GrayRaster::filled(200, 100, 255).unwrap())) < 1e-9);
    }

    #[test]
    fn a_picture_lies_where_it_was_ordered_until_the_crop_moves() {
        let rect = Rect::from_min_size(Pos2::new(50.0, 60.0), Vec2::new(200.0, 120.0));
        let centre = Point::new(30.0, 40.0);
        let view = view(centre, 10.0, rect.size(), 2.0);
        assert_eq!((view.width, view.height), (400, 240));
        let still = placed(&view, centre, 10.0, rect);
        assert!((still.min - rect.min).length() < 1e-3 && (still.max - rect.max).length() < 1e-3);
        let moved = placed(&view, Point::new(31.0, 40.0), 10.0, rect);
        assert!((moved.min.x - rect.min.x + 10.0).abs() < 1e-3);
    }
}
