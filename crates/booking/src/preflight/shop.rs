//! Findings about stock, press, finishing and the booked time.
//!
//! Limits not taken from the project are common practice, no source: stock from 160 gsm on cracks when it is
//! folded without a score, and from 120 gsm on when it is folded across the grain.

use super::{Finding, Kind};
use crate::schedule::{Schedule, press_passes};
use slipsheet_core::paper::SCORE_FROM;
use slipsheet_core::stock::Finish;
use slipsheet_document::grain;
use slipsheet_document::printing::Printing;

const GRAIN_FROM: f64 = 120.0;

pub(super) fn findings(printing: &Printing) -> Vec<Finding> {
    // Every sheet of a booklet is folded alike.
    let one = printing.number(0);
    [
        weight(printing),
        grain(&one),
        score(&one),
        coated(printing),
        slot(printing),
        marks(printing),
        copies(printing),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn weight(printing: &Printing) -> Option<Finding> {
    let (gsm, press) = (printing.sheet.stock.gsm, &printing.press);
    let (least, most) = (press.lightest.get(), press.heaviest.get());
    let how = if gsm < least {
        "light"
    } else if gsm > most {
        "heavy"
    } else {
        return None;
    };
    let sentence = format!(
        "the stock weighs {gsm:.0} gsm and is too {how} for the press, which takes {least:.0} to {most:.0} gsm"
    );
    Some(Finding::new(Kind::StockWeight, sentence))
}

/// The last crease is the spine or the main fold: the grain should run along it.
fn grain(printing: &Printing) -> Option<Finding> {
    let size = printing.sheet.size();
    // What the stock is counts before what was asked for.
    let grain = printing.sheet.stock.grain.unwrap_or(printing.job.grain);
    let scheme = printing.sheet.scheme(0)?;
    let crosses = grain::crosses(grain, size, scheme.creases.last()?.line)?;
    (crosses && printing.sheet.stock.gsm >= GRAIN_FROM).then(|| {
        let sentence = format!(
            "the main fold runs across the grain of {:.0} gsm stock, so it cracks and springs open",
            printing.sheet.stock.gsm
        );
        Finding::new(Kind::AgainstGrain, sentence)
    })
}

fn score(printing: &Printing) -> Option<Finding> {
    let gsm = printing.sheet.stock.gsm;
    let folds = printing.sheet.fold.as_ref().is_some_and(|f| !f.creases.is_empty());
    (folds && gsm >= SCORE_FROM && printing.job.hand.score.get() <= 0.0).then(|| {
        let sentence = format!("stock of {gsm:.0} gsm is folded without a score, so it cracks");
        Finding::new(Kind::ScoreMissing, sentence)
    })
}

fn coated(printing: &Printing) -> Option<Finding> {
    (printing.sheet.stock.finish == Finish::Coated && !printing.sheet.layers.is_empty()).then(|| {
        let sentence =
            "ink of a stencil duplicator soaks in rather than sets, so on coated stock it stays wet and smears".to_owned();
        Finding::new(Kind::CoatedDrying, sentence)
    })
}

/// One pass has nothing to register with, and without a trim there is nothing outside the design.
fn marks(printing: &Printing) -> Option<Finding> {
    if printing.sheet.trim.get() <= 0.0 || press_passes(printing).len() < 2 {
        return None;
    }
    slipsheet_document::mark_room::trouble(printing).map(|sentence| Finding::new(Kind::NoMarks, sentence))
}

fn copies(printing: &Printing) -> Option<Finding> {
    (printing.job.copies == 0 && !printing.sheet.layers.is_empty()).then(|| {
        let sentence = "no copies are planned, so ticket, cost and schedule count none".to_owned();
        Finding::new(Kind::NoCopies, sentence)
    })
}

fn slot(printing: &Printing) -> Option<Finding> {
    Schedule::new(printing).warning.map(|sentence| Finding::new(Kind::SlotTooShort, sentence))
}
