//! Findings about stock, press, finishing and the booked time.
//!
//! Limits not taken from the project are common practice, no source: stock from 160 gsm on cracks when it is
//! folded without a score, and from 120 gsm on when it is folded across the grain.

use super::{Finding, Kind};
use crate::schedule::{Schedule, press_passes};
use slipsheet_core::paper::SCORE_FROM;
use slipsheet_core::stock::Finish;
use slipsheet_document::grain;
use slipsheet_document::project::Project;

const GRAIN_FROM: f64 = 120.0;

pub(super) fn findings(project: &Project) -> Vec<Finding> {
    // Every sheet of a booklet is folded alike.
    let one = project.on_sheet(0);
    [
        weight(project),
        grain(&one),
        score(&one),
        coated(project),
        slot(project),
        marks(project),
        copies(project),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn weight(project: &Project) -> Option<Finding> {
    let (gsm, press) = (project.stock.gsm, &project.press);
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
fn grain(project: &Project) -> Option<Finding> {
    let size = project.sheet_size();
    // What the stock is counts before what was wished for.
    let grain = project.stock.grain.unwrap_or(project.job.grain);
    let scheme = project.sheet_scheme(0)?;
    let crosses = grain::crosses(grain, size, scheme.creases.last()?.line)?;
    (crosses && project.stock.gsm >= GRAIN_FROM).then(|| {
        let sentence = format!(
            "the main fold runs across the grain of {:.0} gsm stock, so it cracks and springs open",
            project.stock.gsm
        );
        Finding::new(Kind::AgainstGrain, sentence)
    })
}

fn score(project: &Project) -> Option<Finding> {
    let gsm = project.stock.gsm;
    let folds = project.fold.as_ref().is_some_and(|f| !f.creases.is_empty());
    (folds && gsm >= SCORE_FROM && project.job.hand.score.get() <= 0.0).then(|| {
        let sentence = format!("stock of {gsm:.0} gsm is folded without a score, so it cracks");
        Finding::new(Kind::ScoreMissing, sentence)
    })
}

fn coated(project: &Project) -> Option<Finding> {
    (project.stock.finish == Finish::Coated && !project.layers.is_empty()).then(|| {
        let sentence =
            "ink of a stencil duplicator soaks in rather than sets, so on coated stock it stays wet and smears".to_owned();
        Finding::new(Kind::CoatedDrying, sentence)
    })
}

/// One pass has nothing to register with, and without a trim there is nothing outside the design.
fn marks(project: &Project) -> Option<Finding> {
    if project.trim.get() <= 0.0 || press_passes(project).len() < 2 {
        return None;
    }
    slipsheet_document::mark_room::trouble(project).map(|sentence| Finding::new(Kind::NoMarks, sentence))
}

fn copies(project: &Project) -> Option<Finding> {
    (project.job.copies == 0 && !project.layers.is_empty()).then(|| {
        let sentence = "no copies are planned, so ticket, cost and schedule count none".to_owned();
        Finding::new(Kind::NoCopies, sentence)
    })
}

fn slot(project: &Project) -> Option<Finding> {
    Schedule::new(project).warning.map(|sentence| Finding::new(Kind::SlotTooShort, sentence))
}
