//! A scan whose parts are read each in its own way.

use rayon::prelude::*;

use slipsheet_core::geometry::Point;
use slipsheet_core::raster::GrayRaster;
use slipsheet_core::reading::Reading;
use slipsheet_core::units::Dpi;
use slipsheet_document::layer::Region;

/// The gray that the master aims at: by this reading, and in each region by its own.
pub(crate) fn tones(scan: &GrayRaster, dpi: Dpi, reading: &Reading, regions: &[Region]) -> GrayRaster {
    let mut all = reading.tones(scan, dpi);
    for region in regions {
        let corners = region.pixels(dpi);
        if corners.len() < 3 {
            continue;
        }
        let read = region.reading.tones(scan, dpi);
        let width = scan.width() as usize;
        all.pixels_mut().par_chunks_mut(width).enumerate().for_each(|(y, row)| {
            for (from, to) in spans(&corners, y as f64 + 0.5, width) {
                if let (Some(row), Some(read)) = (row.get_mut(from..to), read.row(y as u32).get(from..to)) {
                    row.copy_from_slice(read);
                }
            }
        });
    }
    all
}

/// The pixels of a row whose middles lie inside an outline, by the even-odd rule.
fn spans(corners: &[Point], y: f64, width: usize) -> Vec<(usize, usize)> {
    let next = corners.iter().cycle().skip(1);
    let crossing = |(a, b): (&Point, &Point)| {
        let crosses = (a.y <= y) != (b.y <= y);
        crosses.then(|| a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x))
    };
    let mut at: Vec<f64> = corners.iter().zip(next).filter_map(crossing).collect();
    at.sort_by(f64::total_cmp);
    // A pixel's middle lies half a pixel after its number.
    let pixel = |x: f64| libm::ceil(x - 0.5).clamp(0.0, width as f64) as usize;
    at.chunks_exact(2).filter_map(|pair| Some((pixel(*pair.first()?), pixel(*pair.last()?)))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dots::tests::job;
    use crate::images::Images;
    use crate::{Scene, Show, View};
    use proptest::prelude::*;
    use slipsheet_core::reading::{Mode, Ruling, Swing};
    use slipsheet_core::screen::Screen;
    use slipsheet_core::units::Degrees;
    use slipsheet_document::layer::Region;
    use slipsheet_document::printing::Printing;
    use slipsheet_paper::fold::Face;

    fn corners(points: &[(f64, f64)]) -> Vec<Point> {
        points.iter().map(|(x, y)| Point::new(*x, *y)).collect()
    }

    /// A project whose left half is read otherwise.
    fn halved(mode: Mode, other: Reading) -> (Printing, Images) {
        let (mut printing, images) = job(mode);
        let art = &mut printing.sheet.layers[0].art[0];
        let full = images.get(&art.scan.key).unwrap().full();
        let (w, h) = (f64::from(full.width()), f64::from(full.height()));
        let left = corners(&[(0.0, 0.0), (w / 2.0, 0.0), (w / 2.0, h), (0.0, h)]);
        art.regions.push(Region::of_pixels(&left, other, art.scan.dpi));
        (printing, images)
    }

    #[test]
    fn an_outline_covers_the_pixels_whose_middles_it_holds() {
        let square = corners(&[(2.0, 1.0), (6.0, 1.0), (6.0, 4.0), (2.0, 4.0)]);
        assert_eq!(spans(&square, 0.5, 10), []);
        assert_eq!(spans(&square, 1.5, 10), [(2, 6)]);
        assert_eq!(spans(&square, 1.5, 4), [(2, 4)]);
        let notched = corners(&[(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (5.0, 3.0), (0.0, 9.0)]);
        assert_eq!(spans(&notched, 8.5, 10).len(), 2);
    }

    #[test]
    fn each_part_is_read_as_its_own_reading_would_read_all() {
        let screened = Mode::Screened { ruling: Ruling::default(), angle: Degrees::new(45.0) };
        let darker = Reading { density: Swing::new(0.7), ..Reading::of(screened) };
        for (mode, other) in
            [(screened, Reading::of(Mode::Line)), (Mode::Line, darker), (Mode::Faint, darker)]
        {
            let (printing, images) = halved(mode, other);
            let layer = &printing.sheet.layers[0];
            let read = images.read(layer, &layer.art[0]).unwrap();
            let scan = images.get(&layer.art[0].scan.key).unwrap().full();
            let dpi = layer.art[0].scan.dpi;
            let (own, others) = (layer.reading.tones(scan, dpi), other.tones(scan, dpi));
            let half = scan.width() as usize / 2;
            for y in 0..scan.height() {
                assert_eq!(read.full().row(y)[..half], others.row(y)[..half]);
                assert_eq!(read.full().row(y)[half..], own.row(y)[half..]);
            }
            // Dots are drawn by a screen that has any.
            assert!(
                images.screen(&layer.screened_by(), printing.press_dpi, 0).as_ref() != &Screen::Threshold
            );
        }
    }

    #[test]
    fn a_region_with_its_layers_reading_changes_nothing() {
        for mode in [Mode::Continuous, Mode::Line, Mode::Faint] {
            let (plain, images) = job(mode);
            let (printing, _) = halved(mode, plain.sheet.layers[0].reading);
            let view = View::sheet(plain.sheet.size(), Dpi::new(90.0).unwrap());
            let draw = |p: &Printing| Scene::new(p, &images, Show::meant(Face::Front)).unwrap().render(&view);
            assert_eq!(draw(&plain).pixels, draw(&printing).pixels, "{mode:?}");
        }
    }

    proptest! {
        #[test]
        fn any_outline_is_covered_without_a_fault(
            points in proptest::collection::vec((-50.0..80.0_f64, -50.0..80.0_f64), 0..12), y in -60.0..90.0_f64
        ) {
            for (from, to) in spans(&corners(&points), y, 30) {
                prop_assert!(from <= to && to <= 30);
            }
        }
    }
}
