//! What a ticket says of a booklet: which page lies where, and how its sheets become a copy.

use slipsheet_core::paper;
use slipsheet_core::units::Mm;
use slipsheet_core::words::count;
use slipsheet_document::printing::Printing;
use slipsheet_paper::booklet::{Booklet, Bound};

use crate::words::number;

/// “Booklet of 16 pages on 4 sheets, stitched”.
pub(super) fn name(booklet: &Booklet) -> String {
    let bound = match booklet.bound {
        Bound::Saddle => "stitched",
        Bound::Perfect => "glued",
    };
    let sheets = count(booklet.sheets(), "sheet");
    let blank = match booklet.blank_pages() {
        0 => String::new(),
        n => format!(" and {n} blank"),
    };
    format!("Booklet of {}{blank} on {sheets}, {bound}", count(booklet.pages, "page"))
}

/// A line for each side of every sheet.
pub(super) fn imposition(booklet: &Booklet) -> Vec<String> {
    let page = |slot: u32| match booklet.page_in(slot) {
        page if page > booklet.pages => "blank".to_owned(),
        page => format!("page {page}"),
    };
    (0..booklet.sheets())
        .flat_map(|sheet| {
            let [a, b, c, d] = booklet.slots(sheet).map(page);
            [("front", a, b), ("back", c, d)]
                .map(|(side, left, right)| format!("Sheet {}, {side}: {left} left, {right} right", sheet + 1))
        })
        .collect()
}

/// From printed sheets to bound copies.
pub(super) fn finishing(printing: &Printing, booklet: &Booklet) -> Vec<String> {
    let (sheet, caliper) = (printing.sheet.size(), paper::caliper(&printing.sheet.stock));
    let mm = |v: f64| number(v, 1);
    let (middle, sheets) = (mm(sheet.width.get() / 2.0), booklet.sheets());
    let mut steps = Vec::new();
    match booklet.bound {
        Bound::Saddle => {
            if sheets > 1 {
                steps.push(format!(
                    "Gather: every copy takes sheets 1 to {sheets}, sheet 1 outside with the cover, sheet {sheets} inside"
                ));
            }
            if printing.job.hand.score.get() > 0.0 {
                steps.push(format!("Score vertically, {middle} mm from the left edge"));
            }
            let what = if sheets > 1 { "them together" } else { "each sheet" };
            steps.push(format!("Fold {what} in the middle, {middle} mm from the left edge, page 1 outside"));
            let at: Vec<String> = booklet.stitches(sheet).iter().map(|p| mm(p.y)).collect();
            steps
                .push(format!("Stitch through the fold from outside, {} mm from the head", at.join(" and ")));
        }
        Bound::Perfect => {
            if sheets > 1 {
                steps.push(format!("Gather: every copy takes sheets 1 to {sheets}, sheet 1 on top"));
            }
            steps.push(format!("Cut apart vertically, {middle} mm from the left edge"));
            steps.push(
                "Put the left halves on the right ones, page 1 on top, and knock the spine even".to_owned(),
            );
            let wide = number(booklet.spine(Mm::new(caliper)), 1);
            steps.push(format!(
                "Glue the spine, about {wide} mm wide, and leave it in the press until it is dry"
            ));
        }
    }
    let creep = booklet.creep(sheets.saturating_sub(1), Mm::new(caliper));
    let trim = printing.sheet.trim.get();
    if trim > 0.0 {
        steps.push(format!("Trim {} mm off head, foot and fore-edge", mm(trim)));
    }
    if creep >= 0.05 {
        steps.push(format!(
            "Inner sheets stand out at the fore-edge by up to about {} mm: trim it even",
            mm(creep)
        ));
    }
    steps
}

/// What to mind at the stitcher or the glue.
pub(super) fn caution(booklet: &Booklet) -> &'static str {
    match booklet.bound {
        Bound::Saddle => {
            "Stitching heads and staplers pierce: keep fingers clear of the head, and let trained staff clear a jam with the machine off."
        }
        Bound::Perfect => {
            "Glue, above all hot glue, burns and gives off fumes: gloves, fresh air, and the maker's safety sheet."
        }
    }
}
