//! The ticket as plain text.

use slipsheet_core::words::{count, is_obeyed};
use std::fmt::Write as _;

use super::{FIELDS, Ticket};
use crate::words::number;

pub(super) fn of(t: &Ticket) -> String {
    let mut out = String::new();
    // Writing into a string cannot fail.
    written(t, &mut out).unwrap_or_default();
    // Names may hold what a terminal obeys.
    out.chars().map(|c| if is_obeyed(c) && c != '\n' { char::REPLACEMENT_CHARACTER } else { c }).collect()
}

fn written(t: &Ticket, out: &mut String) -> std::fmt::Result {
    writeln!(out, "JOB TICKET")?;
    writeln!(out, "{}\n", t.title)?;
    if let Some(edition) = &t.edition {
        writeln!(out, "Edition  {edition}")?;
    }
    writeln!(out, "Sheet    {}", t.sheet)?;
    writeln!(out, "Stock    {}; grain: {}", t.stock, t.grain)?;
    writeln!(out, "Press    {}", t.press)?;
    writeln!(out, "Fold     {}", t.fold)?;
    if !t.turning.is_empty() {
        writeln!(out, "Turning  {}", t.turning)?;
    }
    if let Some(wrap) = &t.wrap {
        writeln!(out, "Wrap     {}", wrap.words())?;
    }
    let each = t.sheets_a_copy;
    let copies = if each > 1 { format!(", {each} a copy") } else { String::new() };
    writeln!(
        out,
        "Copies   {} and {}: {}{copies}",
        t.copies,
        count(t.overs, "over"),
        count(t.sheets, "sheet")
    )?;
    writeln!(out, "Time     about {} min with drying between passes", number(t.slot_minutes, 0))?;
    if t.booked_minutes > 0.0 {
        writeln!(out, "Booked   {} min", number(t.booked_minutes, 0))?;
    }
    if !t.series.is_empty() {
        writeln!(out, "\nEditions")?;
    }
    for line in &t.series {
        writeln!(out, "  {line}")?;
    }
    if !t.imposition.is_empty() {
        writeln!(out, "\nPages on the sheets, lead edge up")?;
    }
    for line in &t.imposition {
        writeln!(out, "  {line}")?;
    }
    writeln!(out, "\n{}", t.instruction)?;
    for pass in &t.passes {
        writeln!(out)?;
        if pass.wait_before_minutes > 0.0 {
            writeln!(out, "Wait {} min for the ink to dry", number(pass.wait_before_minutes, 0))?;
        }
        writeln!(out, "Pass {}, {}", pass.pass, pass.side())?;
        for i in &pass.inks {
            writeln!(out, "  drum {}: {} ({})", i.drum, i.ink, i.layer)?;
            writeln!(
                out,
                "    plate {}; {}; covers {} %",
                i.plate,
                i.setting,
                number(i.coverage_percent, 1)
            )?;
        }
    }
    writeln!(out, "\nRegistration")?;
    writeln!(out, "  {}", t.slip())?;
    for line in &t.register {
        writeln!(out, "  {line}")?;
    }
    writeln!(out, "\nAfter printing")?;
    for (i, step) in t.finishing.iter().enumerate() {
        writeln!(out, "  {}. {step}", i + 1)?;
    }
    if t.finishing.is_empty() {
        writeln!(out, "  nothing: the sheet stays flat")?;
    }
    if !t.fold_lines.is_empty() {
        writeln!(out, "  Fold lines: {}", t.fold_lines)?;
    }
    if !t.packing.is_empty() {
        writeln!(out, "  Packing: {}", t.packing)?;
    }
    writeln!(out, "\nCautions")?;
    for caution in &t.cautions {
        writeln!(out, "  {caution}")?;
    }
    writeln!(out, "\nTo fill in")?;
    for (_, label) in FIELDS {
        writeln!(out, "  {label}: ____________________")?;
    }
    Ok(())
}
