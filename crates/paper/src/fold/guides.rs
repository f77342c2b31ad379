//! The lines of a sheet: where it is creased, slit and trimmed, as each face is seen.

use super::engine::Folding;
use super::scheme::{Binding, Face, Fold, GridLine, Scheme};
use slipsheet_base::geometry::Point;
use slipsheet_base::units::Size;

/// What happens along a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LineKind {
    /// The faces on this side come together.
    Valley,
    /// The faces on the other side come together.
    Mountain,
    /// Cut before folding.
    Slit,
    /// Cut off in the end.
    Trim,
}

/// A line on a face, in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SheetLine {
    pub from: Point,
    pub to: Point,
    pub kind: LineKind,
}

impl Scheme {
    /// Creases, then slits. The back is seen from behind: columns run the other way, and what is a valley on
    /// the front is a mountain there.
    pub fn sheet_lines(&self, sheet: Size, face: Face) -> Vec<SheetLine> {
        let (xs, ys) = (self.column_lines(sheet, face), self.row_lines(sheet));
        let back = face == Face::Back;
        let x = |i: usize| xs.get(if back { (xs.len() - 1).checked_sub(i)? } else { i }).copied();
        let y = |i: usize| ys.get(i).copied();
        let line = |line: GridLine, span: Option<(usize, usize)>, kind: LineKind| {
            let (from, to) = match line {
                GridLine::Vertical(i) => {
                    let (a, b) = span.unwrap_or((0, self.rows.len()));
                    (Point::new(x(i)?, y(a)?), Point::new(x(i)?, y(b)?))
                }
                GridLine::Horizontal(i) => {
                    let (a, b) = span.unwrap_or((0, self.columns.len()));
                    (Point::new(x(a)?, y(i)?), Point::new(x(b)?, y(i)?))
                }
            };
            Some(SheetLine { from, to, kind })
        };
        let bent = self.bends(sheet);
        let creases = bent.into_iter().filter_map(|(at, span, fold)| {
            let valley = (fold == Fold::Valley) != back;
            line(at, Some(span), if valley { LineKind::Valley } else { LineKind::Mountain })
        });
        let slits = self.slits.iter().filter_map(|s| line(s.line, Some((s.from, s.to)), LineKind::Slit));
        creases.chain(slits).collect()
    }

    /// Every stretch of crease with the way it bends there on the front. A crease through several layers bends
    /// one way in one layer and the other way in the next, which only folding tells.
    pub(super) fn bends(&self, sheet: Size) -> Vec<(GridLine, (usize, usize), Fold)> {
        let folding = if self.binding == Binding::Ring { None } else { Folding::of(self, sheet).ok() };
        let Some(folding) = folding else {
            let whole = |line| match line {
                GridLine::Vertical(_) => (0, self.rows.len()),
                GridLine::Horizontal(_) => (0, self.columns.len()),
            };
            return self.creases.iter().map(|c| (c.line, c.span.unwrap_or(whole(c.line)), c.fold)).collect();
        };
        let mut bends: Vec<(GridLine, (usize, usize), Fold)> = Vec::new();
        for edge in folding.creases() {
            let joins = |(line, span, fold): &(GridLine, (usize, usize), Fold)| {
                (*line, *fold) == (edge.line, edge.fold) && span.1 == edge.at
            };
            match bends.iter_mut().find(|b| joins(b)) {
                Some((_, span, _)) => span.1 += 1,
                None => bends.push((edge.line, (edge.at, edge.at + 1), edge.fold)),
            }
        }
        bends
    }
}

/// The four cuts that take `trim` mm off each outer edge of a sheet; none when nothing would be left.
pub fn trim_lines(sheet: Size, trim: f64) -> Vec<SheetLine> {
    let (w, h) = (sheet.width.get(), sheet.height.get());
    if trim <= 0.0 || 2.0 * trim >= w.min(h) {
        return Vec::new();
    }
    let corners = [
        Point::new(trim, trim),
        Point::new(w - trim, trim),
        Point::new(w - trim, h - trim),
        Point::new(trim, h - trim),
    ];
    (0..4).map(|i| SheetLine { from: corners[i], to: corners[(i + 1) % 4], kind: LineKind::Trim }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_back_mirrors_the_lines_and_turns_valleys_into_mountains() {
        let scheme = crate::fold::find("letter6").unwrap();
        let sheet = Size::mm(300.0, 200.0);
        let front = scheme.sheet_lines(sheet, Face::Front);
        let back = scheme.sheet_lines(sheet, Face::Back);
        // Two panels of 100.5 mm, and one that is 1.5 mm shorter.
        assert_eq!((front[0].from.x, front[0].kind), (99.0, LineKind::Mountain));
        assert_eq!((back[0].from.x, back[0].kind), (201.0, LineKind::Valley));
    }

    #[test]
    fn the_slit_sheet_has_one_slit_in_its_middle() {
        let scheme = crate::fold::find("slit8").unwrap();
        let lines = scheme.sheet_lines(Size::mm(280.0, 200.0), Face::Front);
        let slits: Vec<_> = lines.iter().filter(|l| l.kind == LineKind::Slit).collect();
        assert_eq!(slits.len(), 1);
        assert_eq!((slits[0].from, slits[0].to), (Point::new(70.0, 100.0), Point::new(210.0, 100.0)));
    }

    #[test]
    fn a_trim_that_leaves_nothing_is_not_drawn() {
        assert_eq!(trim_lines(Size::mm(100.0, 50.0), 3.0).len(), 4);
        assert!(trim_lines(Size::mm(100.0, 50.0), 25.0).is_empty());
        assert!(trim_lines(Size::mm(100.0, 50.0), 0.0).is_empty());
    }
}
