//! A scene whose one layer follows a slider: its reading is worked out for the view alone, at the view's
//! resolution, from what was prepared before.

use std::sync::Arc;

use super::{Piece, Scene, Show, View};
use crate::images::Images;
use crate::images::Part;
use slipsheet_core::geometry::{Affine, Rect};
use slipsheet_core::overprint::OverprintError;
use slipsheet_core::raster::Pyramid;
use slipsheet_core::units::Dpi;
use slipsheet_document::layer::{Art, Layer};
use slipsheet_document::printing::Printing;

impl Scene {
    /// As [`Scene::new`], for drawing this view alone: one layer (by its index in the project) is read only where
    /// the view shows it, on the halving of its scans that is as fine as the view or up to twice as fine. Strokes
    /// thinner than the view's pixels may come out otherwise than from the whole scan; nothing else does by much.
    ///
    /// # Errors
    /// When the face has more inks than can be predicted.
    pub fn quick(
        printing: &Printing,
        images: &Images,
        show: Show,
        view: &View,
        layer: usize,
    ) -> Result<Self, OverprintError> {
        let one = printing.number(show.sheet);
        let printing = one.as_ref();
        Self::gather(printing, images, show, |index, art, meant_from_slipped| {
            let layer = printing.sheet.layers.get(index).filter(|_| index == layer)?;
            // A reading that is one table for all scans is as quick as can be already.
            if layer.reading.gray_table().is_some() || layer.has_regions() {
                return None;
            }
            let piece = piece(printing, images, (layer, art), meant_from_slipped * view.face_from_view, view);
            Some(piece.into_iter().collect())
        })
    }
}

/// The part of a piece of artwork that a view shows; `None` where it shows nothing of it.
fn piece(
    printing: &Printing,
    images: &Images,
    (layer, art): (&Layer, &Art),
    meant_from_view: Affine,
    view: &View,
) -> Option<Piece> {
    let (key, dpi) = (&art.scan.key, art.scan.dpi);
    let scan = images.get(key)?;
    let (width, height) = (scan.full().width(), scan.full().height());
    let mapping =
        art.mapping(width, height, printing.sheet.size(), printing.sheet.fold.as_ref(), layer.face)?;
    let scan_from_face = mapping.face_from_scan.inverse()?;
    let scan_from_view = scan_from_face * meant_from_view;
    let level = (libm::floor(libm::log2(scan_from_view.growth().max(1.0))) as usize).min(scan.levels() - 1);
    // A level below the least resolution there is would be none.
    let level = (0..=level).rev().find(|l| Dpi::new(dpi.get() / (1_u64 << l) as f64).is_ok())?;
    let step = (1_u64 << level) as f64;
    let all = Rect { x: 0.0, y: 0.0, width: view.width as f64, height: view.height as f64 };
    let seen = scan_from_view.bounds(all);
    let margin = layer.reading.margin_mm() * dpi.px_per_mm() + 4.0 * step;
    let (right, bottom) = (seen.x + seen.width + margin, seen.y + seen.height + margin);
    // Whole blocks of pixels, so that a small move of the view needs no new part.
    let from = |v: f64| (libm::floor((v - margin) / step / BLOCK).max(0.0) * BLOCK) as u32;
    let to = |v: f64| (libm::ceil(v / step / BLOCK).max(0.0) * BLOCK) as u32;
    let (x, y) = (from(seen.x), from(seen.y));
    let part = Part {
        level,
        x,
        y,
        width: to(right).min(width.div_ceil(1 << level)).checked_sub(x).filter(|n| *n > 0)?,
        height: to(bottom).min(height.div_ceil(1 << level)).checked_sub(y).filter(|n| *n > 0)?,
    };
    let prepared = images.prepared(key, dpi, &layer.reading, part)?;
    let pixels = Arc::new(Pyramid::of_levels(prepared.tones(&layer.reading), dpi, 2));
    let part_from_scan = Affine::shift(-f64::from(x), -f64::from(y)) * Affine::scale(1.0 / step, 1.0 / step);
    let crop = art.crop.map(|_| part_from_scan.bounds(mapping.part));
    Some(Piece { pixels, scan_from_face: part_from_scan * scan_from_face, clip: mapping.clip, part: crop })
}

/// Parts start and end at multiples of this many pixels.
const BLOCK: f64 = 64.0;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dots::tests::job;
    use slipsheet_core::colour::Lab;
    use slipsheet_core::gray_check::Fate;
    use slipsheet_core::ink::Ink;
    use slipsheet_core::reading::{Mode, Reading, Ruling, Swing};
    use slipsheet_core::tone::ToneCurve;
    use slipsheet_core::units::Degrees;

    fn modes() -> [Mode; 4] {
        [
            Mode::Line,
            Mode::Mixed { ruling: Ruling::default(), angle: Degrees::new(45.0) },
            Mode::Faint,
            Mode::Screened { ruling: Ruling::default(), angle: Degrees::new(15.0) },
        ]
    }

    /// Means of blocks of 16 pixels and how many differ by more than a little.
    fn blocks(p: &crate::Picture) -> Vec<f64> {
        let mut out = Vec::new();
        for (by, bx) in (0..p.height / 16).flat_map(|y| (0..p.width / 16).map(move |x| (y, x))) {
            let cells = (0..256).map(|i| p.at(bx * 16 + i % 16, by * 16 + i / 16));
            out.push(cells.map(|c| f64::from(c[1])).sum::<f64>() / 256.0);
        }
        out
    }

    #[test]
    fn a_quick_picture_looks_as_the_whole_does_from_far_and_near() {
        for mode in modes() {
            let (mut printing, images) = job(mode);
            for density in [0.0, 0.4] {
                printing.sheet.layers[0].reading =
                    Reading { density: Swing::new(density), ..Reading::of(mode) };
                let rects = [(0.0, 0.0, 40.0, 30.0, 300, 225), (12.0, 9.0, 9.0, 6.0, 480, 320)];
                for (x, y, width, height, w, h) in rects {
                    let view = View::of_rect(Rect { x, y, width, height }, w, h);
                    for dots in [false, true] {
                        let show = Show { dots, ..Show::default() };
                        let whole = Scene::new(&printing, &images, show).unwrap().render(&view);
                        let quick = Scene::quick(&printing, &images, show, &view, 0).unwrap().render(&view);
                        let off = blocks(&whole).into_iter().zip(blocks(&quick)).map(|(a, b)| (a - b).abs());
                        let worst = off.fold(0.0, f64::max);
                        assert!(worst < 6.0, "{mode:?} {density} {w} dots {dots}: {worst}");
                    }
                }
            }
        }
    }

    #[test]
    fn a_tuned_layer_is_drawn_into_the_pictures_of_the_others() {
        let (mut printing, images) = job(modes()[1]);
        let mut other = printing.sheet.layers[0].clone();
        other.ink = Ink::estimated("Blue", Lab::new(40.0, -10.0, -40.0).unwrap());
        other.reading = Reading::of(modes()[3]);
        printing.sheet.layers.push(other);
        for (size, dots) in [((300, 225), true), ((1200, 900), true)] {
            let rect = Rect { x: 10.0, y: 8.0, width: 12.0, height: 9.0 };
            let view = View::of_rect(rect, size.0, size.1);
            let show = Show { dots, ..Show::default() };
            let scene = Scene::quick(&printing, &images, show, &view, 0).unwrap();
            let near = scene.with_dots(&view, None);
            let cache = near.as_ref().unwrap_or(&scene).drag_cache(0, &view).unwrap();
            printing.sheet.layers[0].reading.density = Swing::new(0.6);
            let tuned = Scene::quick(&printing, &images, show, &view, 0).unwrap();
            let near = tuned.with_dots(&view, Some(0));
            let mut picture = crate::Picture::default();
            near.as_ref().unwrap_or(&tuned).render_drag(&cache, &mut picture);
            let wanted = tuned.render(&view);
            let off = picture.pixels.iter().zip(&wanted.pixels).map(|(a, b)| a[1].abs_diff(b[1])).max();
            assert!(off.unwrap() <= 3, "{size:?}: {off:?}");
            printing.sheet.layers[0].reading.density = Swing::default();
        }
    }

    #[test]
    fn hatches_lie_where_tones_vanish_and_clog_and_follow_the_slip() {
        let (mut printing, images) = job(Mode::Continuous);
        printing.sheet.layers[0].ink.curve =
            ToneCurve::new(vec![(0.0, 0.0), (1.0, 1.0)]).unwrap().with_limits(0.2, 0.8).unwrap();
        printing.sheet.layers[0].slip = Default::default();
        let view = View::of_rect(Rect { x: 0.0, y: 0.0, width: 40.0, height: 30.0 }, 400, 300);
        let marked = |printing: &Printing, fate: Fate| {
            let scene = Scene::new(printing, &images, Show::default()).unwrap();
            let mut picture = scene.render(&view);
            scene.hatch(0, &view, &mut picture);
            let [r, g, b] = fate.colour();
            let columns = picture.pixels.iter().enumerate().filter(|(_, p)| **p == [r, g, b, 255]);
            // Rows at the artwork's rim are mixed with the paper beside it.
            let inner = columns.filter(|(i, _)| (20..280).contains(&(i / 400)));
            let columns: Vec<usize> = inner.map(|(i, _)| i % 400).collect();
            (columns.len(), columns.iter().min().copied(), columns.iter().max().copied())
        };
        // The ramp asks for 0 at the left to 1 at the right: a fifth at each end is lost, but for bare paper
        // (1.2 %) and the solid that is meant (1.6 %).
        let (n, first, last) = marked(&printing, Fate::Vanishes);
        assert!(
            (3000..3500).contains(&n) && first.unwrap() < 12 && (74..82).contains(&last.unwrap()),
            "{n} {first:?} {last:?}"
        );
        let (n, first, last) = marked(&printing, Fate::Clogs);
        assert!(
            (6000..6700).contains(&n) && (318..326).contains(&first.unwrap()) && last.unwrap() > 385,
            "{n} {first:?} {last:?}"
        );
        printing.sheet.layers[0].slip.dx = slipsheet_core::units::Mm::new(3.0);
        let (_, first, last) = marked(&printing, Fate::Vanishes);
        assert!(
            (30..42).contains(&first.unwrap()) && (104..112).contains(&last.unwrap()),
            "{first:?} {last:?}"
        );
        // A lighter reading lets more vanish; a line reading asks for no tones at all, and removes those up to its
        // threshold in the middle.
        printing.sheet.layers[0].reading.density = Swing::new(-0.5);
        assert!(marked(&printing, Fate::Vanishes).0 > 4000);
        printing.sheet.layers[0].reading = Reading::of(Mode::Line);
        printing.sheet.layers[0].slip = Default::default();
        let (n, _, last) = marked(&printing, Fate::Vanishes);
        assert!(n > 8000 && (190..202).contains(&last.unwrap()), "{n} {last:?}");
        assert_eq!(marked(&printing, Fate::Clogs).0, 0);
    }
}
