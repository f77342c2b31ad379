//! What a series costs: each edition with its own copies, overs, sheets, masters and drums, and the sum.

use serde::{Deserialize, Serialize};

use super::sum::{Cost, Counted};
use crate::ink_use::InkUse;
use crate::press_pass::press_passes;
use crate::schedule::Schedule;
use crate::sequence::{Part, SeriesOrder, sequence};
use slipsheet_document::ids::EditionId;
use slipsheet_document::printing::Printing;

/// What the present inks and stock are called where no edition has them.
pub const CURRENT: &str = "Current";

/// One edition of a series, and what it costs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EditionCost {
    /// None for the present inks and stock.
    pub edition: Option<EditionId>,
    pub name: String,
    pub stock: String,
    /// The names of its inks in printing order, each once.
    pub inks: Vec<String>,
    pub copies: u32,
    pub overs: u32,
    /// Sheets printed, with overs: of a booklet all its sheets.
    pub sheets: u32,
    /// Masters that are made for it: one that an edition before it has left on its drum is none.
    pub masters: usize,
    /// Drums that are fitted for it.
    pub drums: usize,
    pub cost: Cost,
}

/// All that is printed of a job: its editions, and before them the present inks and stock unless an edition has them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Series {
    pub editions: Vec<EditionCost>,
    pub order: SeriesOrder,
    pub copies: u32,
    pub sheets: u32,
    pub masters: usize,
    pub drums: usize,
    pub total: f64,
    /// The sum shared by all copies; `None` without copies.
    pub per_copy: Option<f64>,
    /// The whole series at the press and by hand.
    pub schedule: Schedule,
}

impl Series {
    /// Whether there is more than one thing to print.
    pub fn is_several(&self) -> bool {
        self.editions.len() > 1
    }
}

/// Works the series of a printing out; `inks` says how much ink one of its parts takes.
///
/// Of the two orders it takes the one that costs less, and where they cost the same the one that is sooner done. A job
/// without editions is a series of one.
pub fn series(printing: &Printing, inks: &mut dyn FnMut(&Printing) -> Vec<InkUse>) -> Series {
    let all = printing.series();
    let uses: Vec<Vec<InkUse>> = all.iter().map(|(_, part)| inks(part)).collect();
    let several = all.len() > 1;
    let name = |at: &Option<usize>| {
        let edition = at.and_then(|at| printing.sheet.editions.get(at));
        edition.map_or(CURRENT, |e| e.name.as_str())
    };
    let parts: Vec<Part<'_>> = all
        .iter()
        .map(|(at, part)| Part {
            name: several.then(|| name(at)),
            printing: part,
            passes: press_passes(part),
            run: part.run_for(part.job.copies),
            copies: part.job.copies,
        })
        .collect();
    let [one_by_one, by_pass] = SeriesOrder::ALL.map(|order| in_order(printing, &parts, &uses, order));
    let mut best = if is_better(&by_pass, &one_by_one) { by_pass } else { one_by_one };
    for (edition, (at, _)) in best.editions.iter_mut().zip(&all) {
        edition.edition = at.and_then(|at| printing.sheet.editions.get(at)).map(|e| e.id);
        edition.name = name(at).to_owned();
    }
    best
}

/// Whether one costs less than another, or the same in less time.
fn is_better(a: &Series, b: &Series) -> bool {
    let least = 1e-9;
    let same = (a.total - b.total).abs() <= least;
    a.total < b.total - least || (same && a.schedule.slot_minutes < b.schedule.slot_minutes - least)
}

fn in_order(printing: &Printing, parts: &[Part<'_>], uses: &[Vec<InkUse>], order: SeriesOrder) -> Series {
    let passes = sequence(parts, order, printing.job.prices.series_masters);
    let of_part = |(i, (part, inks)): (usize, (&Part<'_>, &Vec<InkUse>))| {
        let counted = Counted::in_sequence(part.printing, passes.iter().filter(|run| run.part == i));
        let cost = counted.cost(part.printing, inks, part.copies);
        EditionCost {
            edition: None,
            name: String::new(),
            stock: part.printing.sheet.stock.name.clone(),
            inks: part.printing.sheet.ink_names().into_iter().map(str::to_owned).collect(),
            copies: part.copies,
            overs: part.printing.job.overs,
            sheets: cost.sheets,
            masters: counted.masters(),
            drums: counted.drums(),
            cost,
        }
    };
    let editions: Vec<EditionCost> = parts.iter().zip(uses).enumerate().map(of_part).collect();
    let copies = editions.iter().fold(0_u32, |all, e| all.saturating_add(e.copies));
    // Not by `sum`, whose nothing is -0 and would be written so.
    let total = editions.iter().fold(0.0, |all, e| all + e.cost.total);
    Series {
        order,
        copies,
        sheets: editions.iter().fold(0, |all: u32, e| all.saturating_add(e.sheets)),
        masters: editions.iter().map(|e| e.masters).sum(),
        drums: editions.iter().map(|e| e.drums).sum(),
        total,
        per_copy: (copies > 0).then(|| total / f64::from(copies)),
        schedule: Schedule::of_parts(parts, &passes),
        editions,
    }
}
