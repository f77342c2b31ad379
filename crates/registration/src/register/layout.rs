//! Where the marks of a guide sheet lie: crosses on the corners of the sheet, crossed circles outside the
//! middle of each side, and an arrow on the middle of the leading edge.

use super::shape::MarkKind;
use slipsheet_core::geometry::Point;
use slipsheet_core::units::{SheetFormat, Size};
use slipsheet_paper::fold::Turn;

/// Arm of a corner cross in mm.
pub(super) const CROSS: f64 = 4.0;
/// Radius of a crossed circle in mm.
const CIRCLE: f64 = 1.6;
/// Shaft of the centre arrow in mm.
pub(super) const ARROW: f64 = 4.0;
/// How far from the sheet a crossed circle's middle lies: least and most, in mm.
const OUT: (f64, f64) = (3.1, 8.0);
/// The narrowest margin that holds every mark, in mm.
pub const LEAST_MARGIN: f64 = 6.0;

#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayoutMark {
    pub kind: MarkKind,
    /// Where its point lies, in mm from the sheet's top left; marks in the margin lie outside the sheet.
    pub at: Point,
    /// Its size in mm, as [`MarkKind::strokes`] takes it.
    pub size: f64,
}

/// The marks of a sheet. The leading edge is the top one.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkLayout {
    /// The sheet, as it lies.
    pub sheet: Size,
    pub marks: Vec<LayoutMark>,
}

impl MarkLayout {
    /// The marks of our guide sheet: for a sheet in the middle of an original of this size. In a narrow margin
    /// the crossed circle over the arrow is left out. Turn the sheet the way its fold wants it first
    /// ([`slipsheet_document::sheet::Sheet::size`]).
    pub fn guide(sheet: Size, original: Size) -> Self {
        let (w, h) = (sheet.width.get(), sheet.height.get());
        let margin_x = (original.width.get() - w) / 2.0;
        let margin_y = (original.height.get() - h) / 2.0;
        let out = |margin: f64| (margin / 2.0).clamp(OUT.0, OUT.1);
        let mark = |kind, x, y, size| LayoutMark { kind, at: Point::new(x, y), size };
        let mut marks: Vec<LayoutMark> = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)]
            .map(|(x, y)| mark(MarkKind::Cross, x, y, CROSS))
            .to_vec();
        let circle = |x, y| mark(MarkKind::CrossedCircle, x, y, CIRCLE);
        marks.extend([circle(w + out(margin_x), h / 2.0), circle(-out(margin_x), h / 2.0)]);
        marks.push(circle(w / 2.0, h + out(margin_y)));
        // The arrow and the circle share the margin at the leading edge.
        let over_arrow = ARROW + 0.4 + 1.6 * CIRCLE;
        if margin_y >= over_arrow + 1.6 * CIRCLE {
            marks.push(circle(w / 2.0, -out(margin_y).max(over_arrow)));
        }
        marks.push(mark(MarkKind::Arrow(Turn::Upright), w / 2.0, 0.0, ARROW));
        Self { sheet, marks }
    }

    pub(crate) fn kinds(&self) -> Vec<MarkKind> {
        let mut kinds = Vec::new();
        for mark in &self.marks {
            if !kinds.contains(&mark.kind) {
                kinds.push(mark.kind);
            }
        }
        kinds
    }
}

/// The paper that originals for a sheet are customarily drawn on, turned as the sheet is.
///
/// 9 x 12 in for letter, 12 x 18 in for tabloid, the next size up of an ISO format, half an inch all around otherwise.
pub fn usual_original(format: SheetFormat, sheet: Size) -> Size {
    let inch = |w: f64, h: f64| Size::mm(w * 25.4, h * 25.4);
    let upright = match format {
        SheetFormat::Letter => inch(9.0, 12.0),
        SheetFormat::Tabloid | SheetFormat::Ledger => inch(12.0, 18.0),
        SheetFormat::A6 => SheetFormat::A5.size(),
        SheetFormat::A5 => SheetFormat::A4.size(),
        SheetFormat::A4 => SheetFormat::A3.size(),
        SheetFormat::A3 => SheetFormat::A2.size(),
        SheetFormat::B5 => SheetFormat::B4.size(),
        SheetFormat::A2 | SheetFormat::B4 | SheetFormat::Legal | SheetFormat::Custom(_) => {
            return with_margin(sheet, 12.7);
        }
    };
    let landscape = sheet.width.get() > sheet.height.get();
    if landscape == (upright.width.get() > upright.height.get()) { upright } else { upright.turned() }
}

/// A sheet with a margin in mm all around.
pub fn with_margin(sheet: Size, margin: f64) -> Size {
    Size::mm(sheet.width.get() + 2.0 * margin, sheet.height.get() + 2.0 * margin)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_fit_the_usual_originals() {
        for format in SheetFormat::NAMED {
            for sheet in [format.size(), format.size().turned()] {
                let original = usual_original(format, sheet);
                let (mx, my) = (
                    (original.width.get() - sheet.width.get()) / 2.0,
                    (original.height.get() - sheet.height.get()) / 2.0,
                );
                assert!(mx >= LEAST_MARGIN && my >= LEAST_MARGIN, "{} {mx} {my}", format.name());
                for mark in MarkLayout::guide(sheet, original).marks {
                    let reach = mark.size * if mark.kind == MarkKind::CrossedCircle { 1.6 } else { 1.0 };
                    let (x, y) = (mark.at.x, mark.at.y);
                    assert!(x - reach > -mx && x + reach < sheet.width.get() + mx, "{mark:?}");
                    assert!(y - reach > -my && y + reach < sheet.height.get() + my, "{mark:?}");
                }
            }
        }
    }

    #[test]
    fn no_two_marks_touch() {
        let sheet = SheetFormat::Letter.size();
        for original in [usual_original(SheetFormat::Letter, sheet), with_margin(sheet, LEAST_MARGIN)] {
            let marks = MarkLayout::guide(sheet, original).marks;
            for (i, a) in marks.iter().enumerate() {
                for b in &marks[..i] {
                    assert!(a.at.distance(b.at) > 4.5, "{a:?} {b:?}");
                }
            }
        }
    }
}
