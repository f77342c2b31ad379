//! What is done to a sheet after printing, in words: scored, slit, folded, trimmed, each with where it lies.

use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::{Face, LineKind, SheetLine};
use slipsheet_paper::steps;
use slipsheet_paper::steps::FoldStep;

use crate::words;

/// The work after printing, step by step; with the drawings of those that have one, by their number.
pub(super) fn finishing(printing: &Printing) -> (Vec<String>, Vec<(usize, FoldStep)>) {
    let Some(scheme) = &printing.sheet.fold else {
        return (trimming(printing).into_iter().collect(), Vec::new());
    };
    let sheet = printing.sheet.size();
    let lines = scheme.sheet_lines(sheet, Face::Front);
    let mut slits: Vec<String> = lines
        .iter()
        .filter(|l| l.kind == LineKind::Slit)
        .map(|l| {
            let length = words::number(l.from.distance(l.to), 1);
            let place = places(&[*l]);
            format!("Slit {place}, {length} mm long, in the middle part only.")
        })
        .collect();
    let (mut messages, mut drawn) = (Vec::new(), Vec::new());
    if printing.job.hand.score.get() > 0.0 {
        messages.push(format!("Score {}.", fold_lines(printing)));
    }
    let steps = steps::steps(scheme, sheet);
    // A scheme whose own steps do not cut is slit before it is folded.
    if !steps.iter().any(|s| s.slit) {
        messages.append(&mut slits);
    }
    for step in steps {
        if step.slit {
            messages.append(&mut slits);
        } else {
            messages.push(step.words.clone());
        }
        drawn.push((messages.len(), step));
    }
    messages.extend(trimming(printing));
    (messages, drawn)
}

fn trimming(printing: &Printing) -> Option<String> {
    let trim = printing.sheet.trim.get();
    (trim > 0.0).then(|| format!("Trim {} mm off each outer edge.", words::number(trim, 1)))
}

/// Where the creases of the sheet run, each line once; empty where there are none.
pub(super) fn fold_lines(printing: &Printing) -> String {
    let lines = printing.sheet.fold.as_ref().map(|f| f.sheet_lines(printing.sheet.size(), Face::Front));
    let creases: Vec<SheetLine> =
        lines.unwrap_or_default().into_iter().filter(|l| l.kind != LineKind::Slit).collect();
    places(&creases)
}

/// “vertically 70 and 140 mm from the left edge; horizontally 108 mm from the lead edge”.
fn places(lines: &[SheetLine]) -> String {
    let upright = |l: &SheetLine| (l.from.x - l.to.x).abs() < 1e-6;
    let mut messages = Vec::new();
    for (stands, name, edge) in [(true, "vertically", "left"), (false, "horizontally", "lead")] {
        let at = lines.iter().filter(|l| upright(l) == stands);
        let mut at: Vec<f64> = at.map(|l| if stands { l.from.x } else { l.from.y }).collect();
        at.sort_by(f64::total_cmp);
        let mut mm: Vec<String> = at.into_iter().map(|v| words::number(v, 1)).collect();
        mm.dedup();
        let all = match mm.split_last() {
            None => continue,
            Some((last, [])) => last.clone(),
            Some((last, others)) => format!("{} and {last}", others.join(", ")),
        };
        messages.push(format!("{name} {all} mm from the {edge} edge"));
    }
    messages.join("; ")
}
