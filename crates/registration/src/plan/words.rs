//! Why a plan is good or bad, in sentences.

use super::score::Figures;
use super::search::PassPlan;
use slipsheet_core::words::percent;

pub(super) fn give_reasons(figures: &Figures, plans: &mut [PassPlan]) {
    for plan in plans {
        plan.reasons = reasons(figures, plan);
    }
}

fn reasons(figures: &Figures, plan: &PassPlan) -> Vec<String> {
    let name = |layer: &usize| {
        let place = figures.layers.iter().position(|l| l == layer);
        place.and_then(|p| figures.names.get(p)).cloned().unwrap_or_default()
    };
    let mut messages = Vec::new();
    let passes = plan.passes.len();
    let times = if passes == 1 { "One pass".to_owned() } else { format!("{passes} passes") };
    let (wanted, good) = (figures.weights.wanted, percent(plan.good));
    // A hundred times as many is what the count stops at.
    messages.push(if plan.copies < wanted.saturating_mul(50) {
        format!(
            "{times}; {good} of the copies are expected to be good, so print {} for {wanted}.",
            plan.copies
        )
    } else {
        format!(
            "{times}; {good} of the copies are expected to be good: too few to print {wanted} good ones so."
        )
    });
    for pair in plan.passes.iter().filter(|p| p.len() > 1) {
        let names: Vec<String> = pair.iter().map(name).collect();
        messages.push(format!("{} move together in one pass, so they keep their fit.", names.join(" and ")));
    }
    if let Some(last) = plan.passes.last().filter(|_| passes > 1) {
        let cover = |pass: &Vec<usize>| -> f64 {
            let place = |l: &usize| figures.layers.iter().position(|k| k == l);
            pass.iter().filter_map(place).filter_map(|p| figures.cover.get(p)).sum()
        };
        let heaviest = plan.passes.iter().map(cover).fold(0.0, f64::max);
        let names: Vec<String> = last.iter().map(name).collect();
        if cover(last) >= heaviest - 1e-9 {
            messages.push(format!(
                "The heaviest coverage, {}, comes last: nothing waits for it to dry.",
                names.join(" and ")
            ));
        } else {
            messages.push(format!(
                "Drying between passes takes about {:.0} min; heavy ink that is printed over may set off.",
                plan.costs.drying
            ));
        }
    }
    let drift = figures.press.drift.get().abs() * (passes.max(1) - 1) as f64 / 1000.0;
    let apart = drift * figures.weights.wanted as f64;
    if apart >= 0.05 {
        messages.push(format!(
            "By the end of the run the first and the last pass have drifted {apart:.2} mm apart; line up again on the way."
        ));
    }
    if let Some(advice) = figures.press.offset.advice().filter(|_| passes > 1) {
        messages.push(advice);
    }
    if plan.costs.colour >= 0.5 {
        messages.push(
            "The order differs from the one you designed, and colours shift where inks overlap.".to_owned(),
        );
    }
    if plan.costs.dark_first >= 0.5 {
        messages.push("A dark ink prints under a lighter one, which dulls where they overlap.".to_owned());
    }
    let opaque_over = plan.passes.iter().skip(1).flatten().find(|l| {
        let place = figures.layers.iter().position(|k| k == *l);
        place.and_then(|p| figures.opaque.get(p)).copied().unwrap_or(false)
    });
    if let Some(layer) = opaque_over {
        messages.push(format!("{} is opaque and covers what it prints over.", name(layer)));
    }
    let lightest = figures.light.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).map(|(i, _)| i);
    let first = plan.passes.first().and_then(|p| p.first());
    if let Some(layer) =
        first.filter(|l| lightest.and_then(|i| figures.layers.get(i)) == Some(*l) && passes > 1)
    {
        messages.push(format!("The lightest ink, {}, prints first and stays clean.", name(layer)));
    }
    messages
}
