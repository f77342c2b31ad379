//! What an answer does, in words of the shop.

use slipsheet_document::printing::Printing;
use slipsheet_paper::fold::Face;

use super::PassChange;
use super::search::{Candidate, Fix, Fixed, lighter};
use slipsheet_document::passes;

/// A sentence without its stop, such as "Print sea and weed in one pass, 0.4 mm trap where they meet".
pub(super) fn title(printing: &Printing, candidate: &Candidate, face: Face) -> String {
    let name = |layer: usize| printing.sheet.layers.get(layer).map_or("", |l| l.name.as_str());
    let names = |pass: &[usize]| and(&pass.iter().map(|l| name(*l)).collect::<Vec<_>>());
    let present = passes::passes(printing, face);
    let mut parts = Vec::new();
    let new: Vec<&Vec<usize>> = candidate
        .passes
        .iter()
        .filter(|pass| pass.len() > 1 && !present.iter().any(|p| pass.iter().all(|l| p.contains(l))))
        .collect();
    match candidate.change {
        PassChange::None => {}
        PassChange::Pairing | PassChange::Order if !new.is_empty() => {
            let each: Vec<String> = new.iter().map(|pass| names(pass)).collect();
            parts.push(format!("print {} in one pass", each.join(" in one pass, ")));
        }
        PassChange::Pairing => parts.push("print each ink in a pass of its own".to_owned()),
        PassChange::Order => {}
    }
    if candidate.change == PassChange::Order {
        let order: Vec<String> = candidate.passes.iter().map(|pass| names(pass)).collect();
        let print = if new.is_empty() { "print " } else { "" };
        parts.push(format!("{print}in the order {}", order.join(", then ")));
    }
    let told = new.first().map(|pass| pass.as_slice());
    let fixes = &candidate.fixes;
    parts.extend(fixes.iter().map(|f| fix(f, printing, told.filter(|_| fixes.len() == 1))));
    let text = parts.join(", ");
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// What is done where two inks meet; `told` are those that the title has just named.
fn fix(fixed: &Fixed, printing: &Printing, told: Option<&[usize]>) -> String {
    let (light, dark) = lighter(printing, fixed.lower, fixed.upper);
    let name = |layer: usize| printing.sheet.layers.get(layer).map_or("", |l| l.name.as_str());
    let known = told.is_some_and(|pass| pass.contains(&light) && pass.contains(&dark));
    let both = if known { "they".to_owned() } else { format!("{} and {}", name(light), name(dark)) };
    match fixed.fix {
        Fix::Trap(by) => format!("{} mm trap where {both} meet", mm(by)),
        Fix::Under => format!("print {} under {} as well", name(light), name(dark)),
        Fix::White(by) => format!("leave {} mm of white where {both} meet", mm(by)),
    }
}

/// Hundredths of a millimetre, without noughts that say nothing.
fn mm(by: f64) -> String {
    let text = format!("{by:.2}");
    text.strip_suffix('0').map_or(text.clone(), str::to_owned)
}

fn and(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [before @ .., last] => format!("{} and {last}", before.join(", ")),
    }
}
