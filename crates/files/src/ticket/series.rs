//! The editions of a series on the ticket, each with what is printed of it.

use slipsheet_core::words::count;
use slipsheet_document::printing::Printing;

use crate::words;

/// A line for each part of a series, and how many copies all of them are; none where there is one part alone.
pub(super) fn lines(printing: &Printing) -> Vec<String> {
    let parts = printing.series();
    if parts.len() < 2 {
        return Vec::new();
    }
    let shown = printing.sheet.shown_edition().map(|e| e.id);
    let line = |(at, part): &(Option<usize>, Printing)| {
        let edition = at.and_then(|at| printing.sheet.editions.get(at));
        let name = edition.map_or("The present inks and stock", |e| e.name.as_str());
        let run = part.run_for(part.job.copies).saturating_mul(part.sheet.printed_sheets() as u32);
        let here = if edition.map(|e| e.id) == shown { ": this ticket" } else { "" };
        format!(
            "{name}: {} and {}, {} of {}; {}{here}.",
            count(part.job.copies, "copy"),
            count(part.job.overs, "over"),
            count(run, "sheet"),
            words::stock(part),
            part.sheet.ink_names().join(", ")
        )
    };
    let mut lines: Vec<String> = parts.iter().map(line).collect();
    let copies = parts.iter().fold(0_u32, |all, (_, part)| all.saturating_add(part.job.copies));
    lines.push(format!("{} in all. Each edition is printed once, by its own ticket.", count(copies, "copy")));
    lines
}
