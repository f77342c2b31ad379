//! A wrap on the ticket: what it is, how many sheets it takes, and how it is made.

use slipsheet_core::words::count;
use slipsheet_document::wrap::WrapPlan;

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
