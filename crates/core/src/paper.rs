//! What a paper's weight means: caliper, scores, how much of the back shows.
//!
//! Every figure here is an estimate until it is measured, and is to be shown as one.

use crate::stock::{Finish, Stock};

/// From this weight on a fold wants a score, in g/m2 (common practice, no source).
pub const SCORE_FROM: f64 = 160.0;

/// Thickness of one leaf in mm: measured where the stock says so, else its weight times the bulk of its finish.
pub fn caliper(stock: &Stock) -> f64 {
    stock.caliper_mm.unwrap_or_else(|| stock.gsm * bulk(stock.finish) / 1000.0)
}

/// Bulk in cubic centimetres a gram (common practice, no source): g/m2 times cm3/g is micrometres.
fn bulk(finish: Finish) -> f64 {
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
    pub width: f64,
    pub depth: f64,
}

/// The score that a stock wants; `None` when it folds well without. Twice the caliper wide and half of it deep
/// (common practice, no source).
pub fn score(stock: &Stock) -> Option<Score> {
    let t = caliper(stock);
    (stock.gsm >= SCORE_FROM).then_some(Score { width: 2.0 * t, depth: t / 2.0 })
}

/// How much of the back shows through, 0..=1.
///
/// Our own estimate, no source: a sheet of 80 g/m2 lets about 6 % of the back's contrast through, and each
/// further 80 g/m2 a fifth of what is left, as light thins out with depth.
pub fn show_through(stock: &Stock) -> f64 {
    (0.06 * libm::exp(-(stock.gsm - 80.0) / 80.0 * libm::log(5.0))).clamp(0.0, 0.3)
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
}
