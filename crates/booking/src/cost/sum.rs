//! The sum: each line of the bill, what a copy costs, and how that falls with the run.

use serde::{Deserialize, Serialize};

use super::cut::{Cut, best_cut};
use crate::ink_use::{InkUse, total_grams};
use crate::schedule::{PressPass, Schedule, drums_fitted, press_passes};
use slipsheet_core::words::count;
use slipsheet_document::printing::Printing;
use slipsheet_document::terms::{ImpressionsBy, Parent, PriceList};

/// What a line of the bill is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
pub enum CostKind {
    Masters,
    SetUp,
    Drums,
    Impressions,
    Stock,
    Cutting,
    Ink,
    Machine,
    Hand,
    Sleeves,
    Wrap,
}

impl CostKind {
    pub fn name(self) -> &'static str {
        match self {
            Self::Masters => "Masters",
            Self::SetUp => "Set-up",
            Self::Drums => "Drum changes",
            Self::Impressions => "Impressions",
            Self::Stock => "Stock",
            Self::Cutting => "Cutting",
            Self::Ink => "Ink",
            Self::Machine => "Machine time",
            Self::Hand => "Hand work",
            Self::Sleeves => "Sleeves",
            Self::Wrap => "Wrap sheets",
        }
    }
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CostLine {
    pub kind: CostKind,
    pub how: String,
    pub amount: f64,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cost {
    pub copies: u32,
    /// Sheets printed, with overs: of a booklet all its sheets.
    pub sheets: u32,
    /// The bill; lines that cost nothing are kept where something was counted.
    pub lines: Vec<CostLine>,
    pub total: f64,
    /// The sum shared by the copies; `None` without copies.
    pub per_copy: Option<f64>,
}

/// What a job costs for a number of copies.
///
/// A copy takes one sheet, or of a booklet one of each. Overs are in the proportion of the terms.
pub fn cost(printing: &Printing, inks: &[InkUse], copies: u32) -> Cost {
    Counted::of(printing).cost(printing, inks, copies)
}

/// What of a job does not depend on the length of the run, counted once for all lengths that are looked at.
struct Counted {
    passes: Vec<PressPass>,
    cut: Option<Cut>,
}

impl Counted {
    fn of(printing: &Printing) -> Self {
        let cut =
            |parent: &Parent| best_cut(parent.size, parent.grain, printing.sheet.size(), printing.job.grain);
        Self { passes: press_passes(printing), cut: printing.job.prices.parent.as_ref().map(cut) }
    }

    fn cost(&self, printing: &Printing, inks: &[InkUse], copies: u32) -> Cost {
        let run = copies.saturating_add(printing.job.overs_for(copies));
        cost_of(self, printing, inks, copies, run)
    }
}

/// The cost where so many of every sheet are printed.
fn cost_of(counted: &Counted, printing: &Printing, inks: &[InkUse], copies: u32, run: u32) -> Cost {
    let sheets = run.saturating_mul(printing.sheet.printed_sheets() as u32);
    let (job, prices, passes) = (&printing.job, &printing.job.prices, &counted.passes);
    let masters: usize = passes.iter().map(|p| p.layers.len()).sum();
    let drums = drums_fitted(passes);
    let (n, c) = (f64::from(run), f64::from(copies));
    let mut lines = Vec::new();
    let mut line = |kind, how: String, amount: f64| lines.push(CostLine { kind, how, amount });
    line(CostKind::Masters, count(masters, "master"), masters as f64 * prices.master.get());
    line(CostKind::SetUp, count(passes.len(), "pass"), passes.len() as f64 * prices.set_up.get());
    line(CostKind::Drums, count(drums, "drum"), drums as f64 * prices.drum_change.get());
    let per_sheet = match prices.impressions_by {
        ImpressionsBy::Pass => passes.len(),
        ImpressionsBy::Ink => masters,
    };
    line(
        CostKind::Impressions,
        format!("{} × {per_sheet}", count(run as usize, "sheet")),
        n * per_sheet as f64 * prices.impression.get(),
    );
    for (kind, how, amount) in stock(counted, prices, sheets) {
        line(kind, how, amount);
    }
    let grams: f64 = total_grams(inks) * n;
    line(CostKind::Ink, format!("{grams:.0} g"), grams / 1000.0 * prices.ink_kilogram.get());
    let machine = Schedule::of_passes(printing, passes, run, copies).machine_minutes;
    line(CostKind::Machine, format!("{machine:.0} min"), machine / 60.0 * prices.machine_hour.get());
    let hand = job.hand.per_copy(&printing.sheet.construction()) * c;
    line(CostKind::Hand, format!("{hand:.0} min"), hand / 60.0 * prices.hand_hour.get());
    line(CostKind::Sleeves, count(copies as usize, "copy"), c * prices.sleeve.get());
    if let Some(plan) = printing.outer_wrap() {
        let sheets = plan.sheets(copies);
        line(CostKind::Wrap, count(sheets, "sheet"), f64::from(sheets) * prices.wrap_sheet.get());
    }
    let total = lines.iter().map(|l| l.amount).sum();
    let per_copy = (copies > 0).then(|| total / c);
    Cost { copies, sheets, lines, total, per_copy }
}

fn stock(counted: &Counted, prices: &PriceList, sheets: u32) -> Vec<(CostKind, String, f64)> {
    let (Some(parent), Some(cut)) = (&prices.parent, &counted.cut) else {
        let amount = f64::from(sheets) * prices.sheet.get();
        return vec![(CostKind::Stock, count(sheets as usize, "sheet"), amount)];
    };
    if cut.sheets == 0 {
        return vec![(CostKind::Stock, "the parent sheet is too small to cut a sheet from".to_owned(), 0.0)];
    }
    let parents = sheets.div_ceil(cut.sheets);
    let how = format!("{}, {} from each", count(parents as usize, "parent sheet"), cut.sheets);
    vec![
        (CostKind::Stock, how, f64::from(parents) * prices.sheet.get()),
        (CostKind::Cutting, count(cut.cuts as usize, "cut"), f64::from(cut.cuts) * parent.per_cut.get()),
    ]
}

/// What a copy costs for each of some run lengths.
pub fn curve(printing: &Printing, inks: &[InkUse], runs: &[u32]) -> Vec<(u32, f64)> {
    let counted = Counted::of(printing);
    runs.iter().filter_map(|n| Some((*n, counted.cost(printing, inks, *n).per_copy?))).collect()
}

/// The smallest run whose sale at the selling price pays for it, up to a million copies; `None` when none does.
pub fn break_even(printing: &Printing, inks: &[InkUse]) -> Option<u32> {
    const MOST: u32 = 1_000_000;
    let price = printing.job.selling_price.get();
    let counted = Counted::of(printing);
    let pays = |n: u32| price * f64::from(n) >= counted.cost(printing, inks, n).total - 1e-9;
    if price <= 0.0 || !pays(MOST) {
        return None;
    }
    // What is left after each copy's own cost grows with the run but for the steps of whole sheets, so the
    // first run that pays is looked for from below within the span that halving finds.
    let (mut fails, mut fits) = (0, MOST);
    while fits - fails > 1 {
        let middle = u32::midpoint(fails, fits);
        if pays(middle) { fits = middle } else { fails = middle }
    }
    let from = fits.saturating_sub(64).max(1);
    (from..=fits).find(|n| pays(*n))
}

/// What it takes to have so many good copies: with a share of good copies from a simulated run, sheets enough
/// that so many are good on the mean; with the terms' overs otherwise.
pub fn budget(printing: &Printing, inks: &[InkUse], good: u32, share: Option<f64>) -> Cost {
    match share.filter(|s| *s > 0.0) {
        Some(share) => {
            let run = libm::ceil(f64::from(good) / share.min(1.0)).min(f64::from(u32::MAX)) as u32;
            cost_of(&Counted::of(printing), printing, inks, good, run)
        }
        None => cost(printing, inks, good),
    }
}
