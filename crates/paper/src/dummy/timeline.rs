//! One line of time for the whole dummy: every fold in order, then every opening, each of length 1.

use crate::fold::{Binding, Crease, Fold, GridLine, Scheme, Side};

/// What happens in a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StepKind {
    Fold,
    /// A page is turned, or the piece is opened further.
    Open,
}

/// One step of the dummy's time.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    pub kind: StepKind,
    pub label: String,
}

/// Ends of the three parts in which a slit sheet is made up, as shares of its folding.
const RING: [f64; 3] = [0.35, 0.7, 1.0];

/// The steps of a scheme. Time `t` lies in step `floor(t)`; at the last whole number all is done.
pub fn steps(scheme: &Scheme) -> Vec<Step> {
    let fold = |label: String| Step { kind: StepKind::Fold, label };
    let folds: Vec<Step> = if scheme.binding == Binding::Ring {
        ["Fold lengthwise", "Push the ends together", "Gather the leaves"].map(|l| fold(l.to_owned())).into()
    } else {
        scheme.creases.iter().map(|c| fold(words(c))).collect()
    };
    let bound = scheme.binding != Binding::Leaflet;
    let open = |i: usize| {
        let label = match (bound, i < scheme.creases.len()) {
            (true, _) => format!("Turn page {}", 2 * i + 1),
            (false, true) => format!("Open {}", i + 1),
            (false, false) => "Turn it over".to_owned(),
        };
        Step { kind: StepKind::Open, label }
    };
    folds.into_iter().chain((0..scheme.openings()).map(open)).collect()
}

/// How far the sheet is folded (0..=1) and how often it is opened at a time.
pub fn moment(scheme: &Scheme, time: f64) -> (f64, f64) {
    let folds = folds(scheme) as f64;
    let time = if time.is_nan() { 0.0 } else { time.clamp(0.0, folds + scheme.openings() as f64) };
    if time >= folds {
        return (1.0, time - folds);
    }
    if scheme.binding != Binding::Ring {
        return (time / folds, 0.0);
    }
    let part = time as usize;
    let from = part.checked_sub(1).and_then(|p| RING.get(p)).copied().unwrap_or(0.0);
    let to = RING.get(part).copied().unwrap_or(1.0);
    (from + (to - from) * (time - part as f64), 0.0)
}

/// The time at which the piece is folded and opened so often.
pub fn time_of_opening(scheme: &Scheme, open: f64) -> f64 {
    folds(scheme) as f64 + open.clamp(0.0, scheme.openings() as f64)
}

fn folds(scheme: &Scheme) -> usize {
    if scheme.binding == Binding::Ring { RING.len() } else { scheme.creases.len() }
}

fn words(crease: &Crease) -> String {
    let part = match (crease.line, crease.moves) {
        (GridLine::Vertical(_), Side::Before) => "left",
        (GridLine::Vertical(_), Side::After) => "right",
        (GridLine::Horizontal(_), Side::Before) => "top",
        (GridLine::Horizontal(_), Side::After) => "bottom",
    };
    let way = if crease.fold == Fold::Valley { "forward" } else { "back" };
    format!("Fold the {part} {way}")
}
