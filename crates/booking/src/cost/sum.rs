//! The sum: each line of the bill, what a copy costs, and how that falls with the run.

use serde::{Deserialize, Serialize};

use super::cut::{Cut, best_cut};
use crate::ink_use::{InkUse, total_grams};
use crate::sequence::{Part, PassRun, SeriesOrder, sequence};
use slipsheet_core::words::count;
use slipsheet_document::printing::Printing;
use slipsheet_document::terms::{ImpressionsBy, Parent, SeriesMasters};
use slipsheet_document::wrap::WrapPlan;

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
pub(super) struct Counted {
    passes: usize,
    /// Inks printed, over all passes.
    inked: usize,
    masters: usize,
    drums: usize,
    cut: Option<Cut>,
    /// The wrap that this is the sheet of, and the one that each copy is put into.
    own: Option<WrapPlan>,
    outer: Option<WrapPlan>,
}

impl Counted {
    fn of(printing: &Printing) -> Self {
        let parts = [Part::single(printing, 0, 0)];
        Self::in_sequence(printing, &sequence(&parts, SeriesOrder::default(), SeriesMasters::default()))
    }

    /// The same where these of the passes of a series are its own.
    pub fn in_sequence<'a>(printing: &Printing, passes: impl IntoIterator<Item = &'a PassRun<'a>>) -> Self {
        let cut =
            |parent: &Parent| best_cut(parent.size, parent.grain, printing.sheet.size(), printing.job.grain);
        let mut counted = Self {
            passes: 0,
            inked: 0,
            masters: 0,
            drums: 0,
            cut: printing.job.prices.parent.as_ref().map(cut),
            own: printing.own_wrap(),
            outer: printing.outer_wrap(),
        };
        for run in passes {
            counted.passes += 1;
            counted.inked += run.pass.layers.len();
            counted.masters += run.masters;
            counted.drums += run.drums;
        }
        counted
    }

    pub fn masters(&self) -> usize {
        self.masters
    }

    pub fn drums(&self) -> usize {
        self.drums
    }

    pub fn cost(&self, printing: &Printing, inks: &[InkUse], copies: u32) -> Cost {
        let run = printing.run_of(self.own.as_ref(), copies);
        cost_of(self, printing, inks, copies, run)
    }
}

/// The cost where so many of every sheet are printed.
fn cost_of(counted: &Counted, printing: &Printing, inks: &[InkUse], copies: u32, run: u32) -> Cost {
    let sheets = run.saturating_mul(printing.sheet.printed_sheets() as u32);
    let mut lines = at_the_press(counted, printing, inks, run);
    lines.extend(stock(counted, printing, sheets));
    // What is done to each copy is counted with the piece, not with its wrap.
    if !printing.is_wrap() {
        lines.extend(each_copy(counted, printing, copies));
    }
    lines.sort_by_key(|line| line.kind);
    let total = lines.iter().map(|l| l.amount).sum();
    let per_copy = (copies > 0).then(|| total / f64::from(copies));
    Cost { copies, sheets, lines, total, per_copy }
}

fn line(kind: CostKind, how: String, amount: f64) -> CostLine {
    CostLine { kind, how, amount }
}

fn at_the_press(counted: &Counted, printing: &Printing, inks: &[InkUse], run: u32) -> Vec<CostLine> {
    let prices = &printing.job.prices;
    let Counted { passes, inked, masters, drums, .. } = *counted;
    let per_sheet = match prices.impressions_by {
        ImpressionsBy::Pass => passes,
        ImpressionsBy::Ink => inked,
    };
    let impressions = format!("{} × {per_sheet}", count(run, "sheet"));
    let n = f64::from(run);
    let grams: f64 = total_grams(inks) * n;
    let machine = passes as f64 * (prices.set_up_of(0, 0) + n / printing.press.speed.get())
        + (prices.set_up_of(drums, masters) - prices.set_up_of(0, 0));
    vec![
        line(CostKind::Masters, count(masters, "master"), masters as f64 * prices.master.get()),
        line(CostKind::SetUp, count(passes, "pass"), passes as f64 * prices.set_up.get()),
        line(CostKind::Drums, count(drums, "drum"), drums as f64 * prices.drum_change.get()),
        line(CostKind::Impressions, impressions, n * per_sheet as f64 * prices.impression.get()),
        line(CostKind::Ink, format!("{grams:.0} g"), grams / 1000.0 * prices.ink_kilogram.get()),
        line(CostKind::Machine, format!("{machine:.0} min"), machine / 60.0 * prices.machine_hour.get()),
    ]
}

fn each_copy(counted: &Counted, printing: &Printing, copies: u32) -> Vec<CostLine> {
    let (job, prices, c) = (&printing.job, &printing.job.prices, f64::from(copies));
    let hand = job.hand.per_copy(&printing.sheet.construction()) * c;
    let mut lines = vec![
        line(CostKind::Hand, format!("{hand:.0} min"), hand / 60.0 * prices.hand_hour.get()),
        line(CostKind::Sleeves, count(copies, "copy"), c * prices.sleeve.get()),
    ];
    if let Some(plan) = &counted.outer {
        let sheets = printing.wrap_sheets(plan, copies);
        let how = format!("{} of {}", count(sheets, "sheet"), plan.order.stock.name);
        lines.push(line(CostKind::Wrap, how, f64::from(sheets) * prices.wrap_sheet.get()));
    }
    lines
}

/// The paper: as it is bought, or for the sheet of a wrap as the piece's cost counts it already.
fn stock(counted: &Counted, printing: &Printing, sheets: u32) -> Vec<CostLine> {
    let (prices, name) = (&printing.job.prices, &printing.sheet.stock.name);
    if printing.is_wrap() {
        let how = format!("{} of {name}, with the piece", count(sheets, "sheet"));
        return vec![line(CostKind::Stock, how, 0.0)];
    }
    let (Some(parent), Some(cut)) = (&prices.parent, &counted.cut) else {
        let how = format!("{} of {name}", count(sheets, "sheet"));
        return vec![line(CostKind::Stock, how, f64::from(sheets) * prices.sheet.get())];
    };
    if cut.sheets == 0 {
        return vec![line(
            CostKind::Stock,
            "the parent sheet is too small to cut a sheet from".to_owned(),
            0.0,
        )];
    }
    let parents = sheets.div_ceil(cut.sheets);
    let how = format!("{} of {name}, {} from each", count(parents, "parent sheet"), cut.sheets);
    vec![
        line(CostKind::Stock, how, f64::from(parents) * prices.sheet.get()),
        line(CostKind::Cutting, count(cut.cuts, "cut"), f64::from(cut.cuts) * parent.per_cut.get()),
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
