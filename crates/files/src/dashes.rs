//! How lines of a fold are dashed, wherever they are drawn.

use slipsheet_paper::fold::LineKind;

/// Strokes and gaps in mm, in turn.
pub(crate) type Dashes = &'static [f64];
const VALLEY: Dashes = &[3.0, 1.5];
const MOUNTAIN: Dashes = &[4.0, 1.2, 0.4, 1.2];
const SLIT: Dashes = &[];
const TRIM: Dashes = &[0.8, 0.8];

/// How a line of a fold is dashed wherever it is drawn: dash for a valley, dash and dot for a mountain.
pub(crate) fn dashes(kind: LineKind) -> Dashes {
    match kind {
        LineKind::Valley => VALLEY,
        LineKind::Mountain => MOUNTAIN,
        LineKind::Slit => SLIT,
        LineKind::Trim => TRIM,
    }
}
