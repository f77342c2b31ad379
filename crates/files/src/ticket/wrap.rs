//! A wrap on the ticket: what it is, how many sheets it takes, and how it is made.

use serde::Serialize;
use slipsheet_core::words::count;
use slipsheet_document::printing::{Printing, WrapPart};
use slipsheet_document::wrap::WrapPlan;

use crate::words;

/// The sheets that the wraps of all copies are made from.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TicketWrap {
    /// “sleeve”.
    pub kind: String,
    /// Sheets, with overs where they are printed.
    pub sheets: u32,
    /// Wraps that a sheet gives.
    pub from_each: usize,
    /// “A3, 420 × 297 mm”.
    pub size: String,
    pub stock: String,
    pub gsm: f64,
    /// The inks printed on it, each once; none where it stays blank.
    pub inks: Vec<String>,
}

impl TicketWrap {
    /// Sheets, stock, size and print in a sentence without a stop.
    pub fn words(&self) -> String {
        let printed = match &self.inks[..] {
            [] => "blank".to_owned(),
            inks => format!("printed in {} by the ticket in the folder “wrap”", inks.join(", ")),
        };
        format!(
            "{}, {} of {}, {} gsm, {}, {} from each; {printed}",
            self.kind,
            count(self.sheets, "sheet"),
            self.stock,
            words::number(self.gsm, 1),
            self.size,
            self.from_each
        )
    }
}

pub(super) fn of(printing: &Printing, plan: &WrapPlan) -> TicketWrap {
    let order = &plan.order;
    let inks = match &printing.wrap {
        WrapPart::Around(job) | WrapPart::Itself(job) => job.inks.clone(),
        WrapPart::None => Vec::new(),
    };
    let size = |mm: f64| words::number(mm, 1);
    TicketWrap {
        kind: order.wrap.kind.name().to_owned(),
        sheets: printing.wrap_sheets(plan, printing.job.copies),
        from_each: plan.count(),
        size: format!(
            "{}, {} × {} mm",
            order.format.name(),
            size(plan.sheet.width.get()),
            size(plan.sheet.height.get())
        ),
        stock: order.stock.name.clone(),
        gsm: order.stock.gsm,
        inks,
    }
}

/// “Sleeve, 2 nets on a sheet”.
pub(super) fn name(plan: &WrapPlan) -> String {
    format!("{}, {} on a sheet", plan.order.wrap.kind.name(), count(plan.count(), "net"))
}

pub(super) fn finishing(plan: &WrapPlan) -> Vec<String> {
    let mut steps = vec![
        "Score along the dashes of net.pdf, then cut along its whole lines.".to_owned(),
        "Fold back along the scores, the print outside.".to_owned(),
    ];
    if !plan.net.glue.is_empty() {
        steps.push("Glue the hatched flaps and press them until they hold.".to_owned());
    }
    steps
}
