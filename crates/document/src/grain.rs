//! What a sheet's grain and weight mean for folding it.

use slipsheet_core::paper::score;
use slipsheet_core::stock::{Grain, Stock};
use slipsheet_core::units::Size;
use slipsheet_paper::booklet::Bound;
use slipsheet_paper::fold::{Binding, GridLine, Scheme};

use crate::sheet::Sheet;

/// Whether a crease runs across the grain, where it cracks and springs open; `None` when the grain is not known.
pub fn against_grain(stock: &Stock, sheet: Size, line: GridLine) -> Option<bool> {
    crosses(stock.grain?, sheet, line)
}

/// The same for a grain; `None` on a square sheet too, whose sides say nothing.
pub fn crosses(grain: Grain, sheet: Size, line: GridLine) -> Option<bool> {
    let across = grain.runs_across(sheet.width.get(), sheet.height.get())?;
    Some(across == matches!(line, GridLine::Vertical(_)))
}

/// What to mind when a sheet of this stock is folded so, one sentence each.
pub fn advice(stock: &Stock, scheme: &Scheme, sheet: Size) -> Vec<String> {
    let mut messages = Vec::new();
    if let Some(score) = score(stock) {
        messages.push(format!(
            "{:.0} g/m² wants a score about {:.2} mm wide and {:.2} mm deep before folding (estimate; try it on a spare sheet).",
            stock.gsm, score.width, score.depth
        ));
    }
    let across = scheme.creases.iter().filter(|c| against_grain(stock, sheet, c.line) == Some(true)).count();
    match across {
        0 => {}
        1 => messages
            .push("One crease runs across the grain and may crack: score it, or turn the grain.".to_owned()),
        n => messages
            .push(format!("{n} creases run across the grain and may crack: score them, or turn the grain.")),
    }
    messages
}

/// Whether a stapler comes into it: a booklet stitched through its fold, or a section that is cut open.
pub fn is_stitched(sheet: &Sheet, scheme: &Scheme) -> bool {
    let saddle = sheet.booklet.as_ref().is_some_and(|b| b.bound == Bound::Saddle);
    saddle || scheme.binding == Binding::Section
}

#[cfg(test)]
mod tests {
    use super::*;
    use slipsheet_core::colour::Lab;
    use slipsheet_core::ink::Swatch;
    use slipsheet_core::stock::Finish;

    fn stock(gsm: f64) -> Stock {
        let colour = Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap() };
        let finish = Finish::Uncoated;
        Stock { finish, gsm, ..Stock::new("Plain", colour) }
    }

    #[test]
    fn a_crease_along_the_grain_is_not_against_it() {
        let landscape = Size::mm(297.0, 210.0);
        let long = Stock { grain: Some(Grain::Long), ..stock(90.0) };
        assert_eq!(against_grain(&long, landscape, GridLine::Vertical(1)), Some(true));
        assert_eq!(against_grain(&long, landscape, GridLine::Horizontal(1)), Some(false));
        assert_eq!(against_grain(&long, landscape.turned(), GridLine::Vertical(1)), Some(false));
        assert_eq!(against_grain(&stock(90.0), landscape, GridLine::Vertical(1)), None);
    }

    #[test]
    fn a_square_sheet_and_an_unknown_grain_say_nothing_of_a_crease() {
        let square = Size::mm(210.0, 210.0);
        let long = Stock { grain: Some(Grain::Long), ..stock(90.0) };
        assert_eq!(against_grain(&long, square, GridLine::Vertical(1)), None);
        assert_eq!(crosses(Grain::Any, Size::mm(297.0, 210.0), GridLine::Vertical(1)), None);
    }
}
