//! Strokes and openings that are narrower than the slip: type in two inks, knocked-out type, small type.

use slipsheet_core::geometry::Point;

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ThinKind {
    /// A stroke printed in both inks, which the second must hit.
    TwoInkStroke,
    /// An opening through both inks, such as knocked-out type, which a slip closes.
    Knockout,
    /// A stroke of the later ink in a knockout of the earlier one, which a slip covers.
    Stroke,
    /// A stroke of the earlier ink between edges of the later one, which a slip covers.
    LowerStroke,
}

impl ThinKind {
    pub fn name(self) -> &'static str {
        match self {
            Self::TwoInkStroke => "stroke in two inks",
            Self::Knockout => "opening through two inks",
            Self::Stroke => "stroke in a knockout",
            Self::LowerStroke => "stroke under a knockout",
        }
    }
}

/// A place with thin strokes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thin {
    pub kind: ThinKind,
    /// Layer of the ink printed earlier.
    pub lower: usize,
    /// Layer of the ink printed later.
    pub upper: usize,
    /// Where, on the sheet in mm.
    pub at: Point,
    /// Mean width in mm.
    pub size: f64,
    /// Length of its edges in mm.
    pub length: f64,
}

impl Thin {
    /// Whether several strokes or openings lie close together there, as in small type or hatching: more edge
    /// than the two sides of one line across the place.
    pub fn is_dense(&self) -> bool {
        self.length > 2.0 * std::f64::consts::SQRT_2 * CELL
    }

    pub fn name(&self) -> String {
        let what = self.kind.name();
        if self.is_dense() { format!("{what}, small type") } else { what.to_owned() }
    }
}

/// One edge point of something thin: pixels for the place, mm for the sizes.
pub(super) struct ThinPoint {
    pub kind: ThinKind,
    pub x: f64,
    pub y: f64,
    pub size: f64,
    pub length: f64,
}

/// Side in mm of the cells in which thin things are gathered.
const CELL: f64 = 10.0;
/// What is shorter than this, in mm, is a corner and no stroke.
const LEAST: f64 = 2.0;

/// Gathers points into places.
pub(super) fn gather(mut points: Vec<ThinPoint>, px_per_mm: f64, lower: usize, upper: usize) -> Vec<Thin> {
    let cell = |v: f64| (v / (CELL * px_per_mm)) as u32;
    let key = |p: &ThinPoint| (p.kind, cell(p.y), cell(p.x));
    points.sort_by_key(key);
    let place = |group: &[ThinPoint]| {
        let kind = group.first()?.kind;
        let length: f64 = group.iter().map(|p| p.length).sum();
        let mean = |of: fn(&ThinPoint) -> f64| group.iter().map(|p| of(p) * p.length).sum::<f64>() / length;
        let at = Point::new(mean(|p| p.x) / px_per_mm, mean(|p| p.y) / px_per_mm);
        (length >= LEAST).then(|| Thin { kind, lower, upper, at, size: mean(|p| p.size), length })
    };
    points.chunk_by(|a, b| key(a) == key(b)).filter_map(place).collect()
}
