use proptest::prelude::*;

use super::*;
use crate::register::shape::{Corner, Stroke};
use slipsheet_core::geometry::Affine;
use slipsheet_paper::fold::Turn;

/// Marks of these kinds; with `expected` places at most one near each.
fn find_marks(
    raster: &GrayRaster,
    dpi: Dpi,
    kinds: &[MarkKind],
    expected: Option<&[ExpectedMark]>,
) -> Vec<Mark> {
    let search = MarkSearch::new(raster, dpi);
    match expected {
        None => search.anywhere(kinds),
        Some(places) => places.iter().filter_map(|place| search.near(*place)).collect(),
    }
}

/// A drawing made without the search's own model: every pixel is the share of 36 points in it that lie on a
/// stroke, and grain is laid over it.
pub(in crate::register) struct Drawing {
    pub raster: GrayRaster,
    px_per_mm: f64,
}

impl Drawing {
    pub fn new(width: u32, height: u32, dpi: f64) -> Self {
        Self { raster: GrayRaster::filled(width, height, 245).unwrap(), px_per_mm: dpi / 25.4 }
    }

    /// Draws strokes (mm) about a point (pixels), turned by degrees.
    pub fn strokes(&mut self, strokes: &[Stroke], at: Point, turn: f64, width: f64, gray: u8) {
        let back = Affine::turn(-turn);
        let far = strokes.iter().map(|s| match s {
            Stroke::Line { from, to } => {
                [from.x, from.y, to.x, to.y].into_iter().fold(0.0, |m: f64, v| m.max(v.abs()))
            }
            Stroke::Arc { radius, .. } => *radius,
        });
        let reach = ((far.fold(0.0, f64::max) * 1.2 + width) * self.px_per_mm).ceil();
        let (w, h) = (f64::from(self.raster.width()), f64::from(self.raster.height()));
        for y in (at.y - reach).max(0.0) as u32..(at.y + reach).min(h) as u32 {
            for x in (at.x - reach).max(0.0) as u32..(at.x + reach).min(w) as u32 {
                let inside = (0..36_u32).filter(|&i| {
                    // A slanted grid: seen along a line's direction no two points fall together.
                    let (a, b) = (f64::from(i % 6), f64::from(i / 6));
                    let p = Point::new(
                        (f64::from(x) + (a + 0.5) / 6.0 + (b - 2.5) / 36.0 - at.x) / self.px_per_mm,
                        (f64::from(y) + (b + 0.5) / 6.0 - (a - 2.5) / 36.0 - at.y) / self.px_per_mm,
                    );
                    let p = back.vector(p);
                    strokes.iter().any(|s| s.distance(p) <= width / 2.0)
                });
                let cover = inside.count() as f64 / 36.0;
                let i = (y * self.raster.width() + x) as usize;
                let p = &mut self.raster.pixels_mut()[i];
                *p = (f64::from(*p) + (f64::from(gray) - f64::from(*p)) * cover).round() as u8;
            }
        }
    }

    /// Adds grain with this standard deviation, about as a scanner does (a sum of four uniform values).
    pub fn grain(&mut self, sigma: f64, seed: u64) {
        let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
        let mut uniform = || {
            state ^= state << 13;
            state ^= state >> 7;
            state ^= state << 17;
            (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
        };
        for p in self.raster.pixels_mut() {
            let g = (uniform() + uniform() + uniform() + uniform()) * sigma * 3.0_f64.sqrt();
            *p = (f64::from(*p) + g).round().clamp(0.0, 255.0) as u8;
        }
    }
}

fn dpi(v: f64) -> Dpi {
    Dpi::new(v).unwrap()
}

fn kinds() -> impl Strategy<Value = (MarkKind, f64)> {
    prop_oneof![
        (2.6..5.0_f64).prop_map(|s| (MarkKind::Cross, s)),
        (1.3..2.8_f64).prop_map(|s| (MarkKind::CrossedCircle, s)),
        Just((MarkKind::CornerTicks(Corner::TopLeft), 4.0)),
        Just((MarkKind::CornerTicks(Corner::BottomRight), 4.5)),
        (3.2..5.0_f64).prop_map(|s| (MarkKind::Arrow(Turn::Upright), s)),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]
    #[test]
    fn a_mark_anywhere_is_found_within_a_tenth_of_a_pixel(
        (kind, size) in kinds(), x in 110.0..190.0_f64, y in 110.0..190.0_f64, turn in -3.0..3.0_f64,
        width in 0.2..0.4_f64, gray in 30..130_u8, seed in any::<u64>()
    ) {
        let mut drawing = Drawing::new(300, 300, 300.0);
        drawing.strokes(&kind.strokes(size), Point::new(x, y), turn, width, gray);
        drawing.grain(6.0, seed);
        let marks = find_marks(&drawing.raster, dpi(300.0), &[kind], None);
        prop_assert_eq!(marks.len(), 1, "{:?}", marks);
        let off = marks[0].at.distance(Point::new(x, y));
        prop_assert!(off < 0.1, "{off} px off, score {}", marks[0].score);
    }
}

#[test]
fn faint_pencil_in_grain_is_found_with_a_lower_score() {
    let found = |gray: u8| {
        let mut drawing = Drawing::new(400, 300, 300.0);
        let at = Point::new(170.3, 140.8);
        drawing.strokes(&MarkKind::CrossedCircle.strokes(1.7), at, 1.0, 0.3, gray);
        drawing.grain(6.0, 5);
        let marks = find_marks(&drawing.raster, dpi(300.0), &[MarkKind::CrossedCircle], None);
        assert_eq!(marks.len(), 1, "{marks:?}");
        assert!(marks[0].at.distance(at) < 0.25, "{marks:?}");
        marks[0].score
    };
    let (strong, faint) = (found(40), found(215));
    assert!(strong > 0.85 && faint < strong, "{strong} {faint}");
}

#[test]
fn grain_lines_and_blots_are_no_marks() {
    let mut drawing = Drawing::new(900, 900, 300.0);
    let line = |x: f64, y: f64| Stroke::Line { from: Point::default(), to: Point::new(x, y) };
    drawing.strokes(&[line(12.0, 0.0)], Point::new(100.0, 200.0), 0.0, 0.3, 30);
    drawing.strokes(&[line(0.0, 12.0), line(12.0, 0.0)], Point::new(400.0, 400.0), 0.0, 0.3, 30);
    drawing.strokes(&[line(0.1, 0.0)], Point::new(700.0, 700.0), 0.0, 6.0, 60);
    drawing.grain(8.0, 11);
    let kinds = [MarkKind::Cross, MarkKind::CrossedCircle, MarkKind::Arrow(Turn::Upright)];
    assert_eq!(find_marks(&drawing.raster, dpi(300.0), &kinds, None), []);
}

#[test]
fn a_cross_and_a_crossed_circle_are_told_apart() {
    let mut drawing = Drawing::new(600, 300, 300.0);
    drawing.strokes(&MarkKind::Cross.strokes(4.0), Point::new(150.0, 150.0), 0.0, 0.25, 40);
    drawing.strokes(&MarkKind::CrossedCircle.strokes(1.6), Point::new(450.0, 150.0), 0.0, 0.25, 40);
    let mut marks =
        find_marks(&drawing.raster, dpi(300.0), &[MarkKind::Cross, MarkKind::CrossedCircle], None);
    marks.sort_by(|a, b| a.at.x.total_cmp(&b.at.x));
    let kinds: Vec<_> = marks.iter().map(|m| m.kind).collect();
    assert_eq!(kinds, [MarkKind::Cross, MarkKind::CrossedCircle]);
}

#[test]
fn an_expected_place_is_searched_alone() {
    let mut drawing = Drawing::new(600, 300, 300.0);
    for x in [150.0, 450.0] {
        drawing.strokes(&MarkKind::Cross.strokes(4.0), Point::new(x, 150.0), 0.0, 0.25, 40);
    }
    let place = ExpectedMark { kind: MarkKind::Cross, at: Point::new(460.0, 145.0), within: 30.0 };
    let marks = find_marks(&drawing.raster, dpi(300.0), &[MarkKind::Cross], Some(&[place]));
    assert_eq!(marks.len(), 1);
    assert!(marks[0].at.distance(Point::new(450.0, 150.0)) < 0.1);
    let nothing = ExpectedMark { at: Point::new(300.0, 150.0), ..place };
    assert_eq!(find_marks(&drawing.raster, dpi(300.0), &[MarkKind::Cross], Some(&[nothing])), []);
}

#[test]
fn a_tiny_or_blank_raster_has_no_marks() {
    let kinds = [MarkKind::Cross, MarkKind::CrossedCircle];
    for (w, h, d) in [(1, 1, 300.0), (2, 900, 1200.0), (500, 500, 300.0), (30, 30, 10.0)] {
        let raster = GrayRaster::filled(w, h, 200).unwrap();
        assert_eq!(find_marks(&raster, dpi(d), &kinds, None), []);
    }
}

#[test]
fn marks_drawn_with_a_thick_pen_are_found() {
    let kinds = [
        (MarkKind::Cross, 4.0),
        (MarkKind::CrossedCircle, 1.6),
        (MarkKind::CrossedCircle, 2.2),
        (MarkKind::Arrow(Turn::Upright), 4.0),
        (MarkKind::CornerTicks(Corner::TopLeft), 4.0),
    ];
    for (kind, size) in kinds {
        for (k, width) in [0.4, 0.5, 0.6, 0.7].into_iter().enumerate() {
            let mut drawing = Drawing::new(300, 300, 300.0);
            let at = Point::new(140.3 + 7.7 * k as f64, 150.6);
            drawing.strokes(&kind.strokes(size), at, k as f64 - 1.5, width, 40 + 25 * k as u8);
            drawing.grain(6.0, k as u64);
            let marks = find_marks(&drawing.raster, dpi(300.0), &[kind], None);
            assert_eq!(marks.len(), 1, "{} of {size} mm in lines of {width} mm: {marks:?}", kind.name());
            assert!(marks[0].at.distance(at) < 0.15, "{marks:?} instead of {at:?}");
        }
    }
}
