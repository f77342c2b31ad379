//! What a paper's weight and grain mean for folding: caliper, scores, grain.
//!
//! Every figure here is an estimate until it is measured, and is to be shown as one.

use crate::booklet::Bound;
use crate::fold::{Binding, GridLine, Scheme};
use crate::project::Project;
use crate::stock::{Finish, Grain, Stock};
use crate::units::Size;

pub use slipsheet_paper::steps::{FoldStep, StepLine, StepLineKind, cautions, steps};

/// From this weight on a fold wants a score, in g/m2 (common practice, no source).
pub const SCORE_FROM: f64 = 160.0;

/// Thickness of one leaf in mm: measured where the stock says so, else its weight times the bulk of its finish.
pub fn caliper(stock: &Stock) -> f64 {
    stock.caliper_mm.unwrap_or_else(|| stock.gsm * bulk(stock.finish) / 1000.0)
}

/// Bulk in cubic centimetres a gram (common practice, no source): g/m2 times cm3/g is micrometres.
pub fn bulk(finish: Finish) -> f64 {
    match finish {
        Finish::Coated => 0.85,
        Finish::Calendered => 0.95,
        Finish::Uncoated => 1.25,
        Finish::Newsprint => 1.45,
    }
}

/// A groove pressed in before folding, in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Score {
    /// Width of the groove.
    pub width: f64,
    /// Depth of the groove.
    pub depth: f64,
}

/// The score that a stock wants; `None` when it folds well without. Twice the caliper wide and half of it deep
/// (common practice, no source).
pub fn score(stock: &Stock) -> Option<Score> {
    let t = caliper(stock);
    (stock.gsm >= SCORE_FROM).then_some(Score { width: 2.0 * t, depth: t / 2.0 })
}

/// Whether a crease runs across the grain, where it cracks and springs open; `None` when the grain is not known.
pub fn against_grain(stock: &Stock, sheet: Size, line: GridLine) -> Option<bool> {
    crosses(stock.grain?, sheet, line)
}

/// The same for a grain; `None` on a square sheet too, whose sides say nothing.
pub fn crosses(grain: Grain, sheet: Size, line: GridLine) -> Option<bool> {
    let across = grain.runs_across(sheet.width.get(), sheet.height.get())?;
    Some(across == matches!(line, GridLine::Vertical(_)))
}

/// How much of the back shows through, 0..=1.
///
/// Our own estimate, no source: a sheet of 80 g/m2 lets about 6 % of the back's contrast through, and each
/// further 80 g/m2 a fifth of what is left, as light thins out with depth.
pub fn show_through(stock: &Stock) -> f64 {
    (0.06 * libm::exp(-(stock.gsm - 80.0) / 80.0 * libm::log(5.0))).clamp(0.0, 0.3)
}

/// What to mind when a sheet of this stock is folded so, one sentence each.
pub fn advice(stock: &Stock, scheme: &Scheme, sheet: Size) -> Vec<String> {
    let mut said = Vec::new();
    if let Some(score) = score(stock) {
        said.push(format!(
            "{:.0} g/m² wants a score about {:.2} mm wide and {:.2} mm deep before folding (estimate; try it on a spare sheet).",
            stock.gsm, score.width, score.depth
        ));
    }
    let across = scheme.creases.iter().filter(|c| against_grain(stock, sheet, c.line) == Some(true)).count();
    match across {
        0 => {}
        1 => said
            .push("One crease runs across the grain and may crack: score it, or turn the grain.".to_owned()),
        n => said
            .push(format!("{n} creases run across the grain and may crack: score them, or turn the grain.")),
    }
    said
}

/// Whether a stapler comes into it: a booklet stitched through its fold, or a section that is cut open.
pub fn is_stitched(project: &Project, scheme: &Scheme) -> bool {
    let saddle = project.booklet.as_ref().is_some_and(|b| b.bound == Bound::Saddle);
    saddle || scheme.binding == Binding::Section
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::Lab;
    use crate::ink::Swatch;

    fn stock(gsm: f64) -> Stock {
        let colour = Swatch::Estimated { lab: Lab::new(93.0, 0.0, 2.0).unwrap() };
        let finish = Finish::Uncoated;
        Stock { finish, gsm, ..Stock::new("Plain", colour) }
    }

    #[test]
    fn a_measured_caliper_counts_before_an_estimated_one() {
        assert!((caliper(&stock(80.0)) - 0.1).abs() < 1e-12);
        assert_eq!(caliper(&Stock { caliper_mm: Some(0.13), ..stock(80.0) }), 0.13);
    }

    #[test]
    fn heavy_paper_wants_a_score_and_light_paper_does_not() {
        assert_eq!(score(&stock(90.0)), None);
        let score = score(&stock(200.0)).unwrap();
        assert!((score.width - 0.5).abs() < 1e-12 && (score.depth - 0.125).abs() < 1e-12);
    }

    #[test]
    fn a_crease_along_the_grain_is_not_against_it() {
        let lying = Size::mm(297.0, 210.0);
        let long = Stock { grain: Some(Grain::Long), ..stock(90.0) };
        assert_eq!(against_grain(&long, lying, GridLine::Vertical(1)), Some(true));
        assert_eq!(against_grain(&long, lying, GridLine::Horizontal(1)), Some(false));
        assert_eq!(against_grain(&long, lying.turned(), GridLine::Vertical(1)), Some(false));
        assert_eq!(against_grain(&stock(90.0), lying, GridLine::Vertical(1)), None);
    }

    #[test]
    fn heavier_paper_shows_less_through() {
        let (light, heavy) = (show_through(&stock(60.0)), show_through(&stock(160.0)));
        assert!(heavy < light && (heavy - 0.012).abs() < 1e-9);
        assert!((show_through(&stock(80.0)) - 0.06).abs() < 1e-12);
    }

    #[test]
    fn no_paper_shows_more_than_a_third_through_and_board_next_to_nothing() {
        for gsm in [20.0, 45.0, 80.0, 120.0, 300.0, 600.0] {
            let share = show_through(&stock(gsm));
            assert!(share > 0.0 && share <= 0.3, "{gsm}: {share}");
        }
        assert!(show_through(&stock(20.0)) > 0.19 && show_through(&stock(600.0)) < 1e-5);
        // The limit holds whatever a careless caller hands over.
        assert_eq!(show_through(&stock(-400.0)), 0.3);
    }

    #[test]
    fn a_square_sheet_and_an_unknown_grain_say_nothing_of_a_crease() {
        let square = Size::mm(210.0, 210.0);
        let long = Stock { grain: Some(Grain::Long), ..stock(90.0) };
        assert_eq!(against_grain(&long, square, GridLine::Vertical(1)), None);
        assert_eq!(crosses(Grain::Any, Size::mm(297.0, 210.0), GridLine::Vertical(1)), None);
    }
}
