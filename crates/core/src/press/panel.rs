//! The density steps of a press's panel, and which of them a reading asks for.

use serde::{Deserialize, Serialize};

use crate::reading::Swing;

/// The most steps that a panel has here.
pub const STEPS: usize = 32;
/// The most letters of a step's name.
const NAME: usize = 40;

/// A step of the panel.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DensityStep {
    /// As the panel has it.
    pub name: String,
    /// The density of a reading that prints alike.
    pub density: Swing,
}

impl DensityStep {
    pub fn new(name: impl Into<String>, density: f64) -> Self {
        Self { name: name.into(), density: Swing::new(density) }
    }
}

/// The step that comes nearest to a density.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NearestStep<'a> {
    pub step: &'a DensityStep,
    /// How much darker than the step the density is, where that is more than a step: less than 0 is lighter.
    pub beyond: Option<f64>,
}

/// The step nearest to a density, the lighter one of two that are as near; `None` without any steps.
///
/// A density is more than a step off where it lies beyond the panel by more than its last step: between two steps
/// one of them is always near enough. A panel of one step is off wherever it is not met.
pub fn nearest_step(steps: &[DensityStep], density: Swing) -> Option<NearestStep<'_>> {
    let off = |s: &DensityStep| density.get() - s.density.get();
    let by = |s: &&DensityStep| (off(s).abs(), s.density.get());
    let step = steps.iter().min_by(|a, b| {
        let ((a, lighter), (b, darker)) = (by(a), by(b));
        a.total_cmp(&b).then(lighter.total_cmp(&darker))
    })?;
    let gaps = || steps.iter().map(|s| s.density.get() - step.density.get());
    let within = gaps().any(|gap| gap * off(step) > 0.0);
    let last = gaps().map(f64::abs).filter(|gap| *gap > 0.0).min_by(f64::total_cmp).unwrap_or(0.0);
    let beyond = (!within && off(step).abs() > last + 1e-9).then(|| off(step));
    Some(NearestStep { step, beyond })
}

/// Reads steps.
///
/// # Errors
/// When there are more than 32, one has no name or a long one, or two have the same name or density.
pub(super) fn steps<'de, D: serde::Deserializer<'de>>(d: D) -> Result<Vec<DensityStep>, D::Error> {
    let steps = Vec::<DensityStep>::deserialize(d)?;
    match trouble(&steps) {
        Some(trouble) => Err(serde::de::Error::custom(trouble)),
        None => Ok(steps),
    }
}

/// What is wrong with steps, as a sentence without a stop.
pub fn trouble(steps: &[DensityStep]) -> Option<String> {
    if steps.len() > STEPS {
        return Some(format!("a panel has at most {STEPS} density steps, not {}", steps.len()));
    }
    for (i, step) in steps.iter().enumerate() {
        let letters = step.name.chars().count();
        if step.name.trim().is_empty() || letters > NAME {
            return Some(format!("the name of a density step has 1 to {NAME} letters, not {letters}"));
        }
        let before = steps.iter().take(i);
        if let Some(twin) = before.clone().find(|s| s.name.trim() == step.name.trim()) {
            return Some(format!("two density steps are called “{}”", twin.name));
        }
        if let Some(twin) = before.clone().find(|s| s.density == step.density) {
            let both = format!("“{}” and “{}”", twin.name, step.name);
            return Some(format!("the density steps {both} have the same density {}", step.density.get()));
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn panel() -> Vec<DensityStep> {
        let steps = [("1", -0.6), ("2", -0.3), ("3", 0.0), ("4", 0.4)];
        steps.map(|(name, density)| DensityStep::new(name, density)).to_vec()
    }

    #[test]
    fn a_density_finds_its_step_and_says_when_the_panel_ends_before_it() {
        let panel = panel();
        for (density, name, beyond) in [
            (0.0, "3", None),
            (-0.4, "2", None),
            (0.19, "3", None),
            (0.21, "4", None),
            // Half-way the lighter one: what is too light can be printed again.
            (0.2, "3", None),
            (0.8, "4", None),
            (0.9, "4", Some(0.5)),
            (-0.95, "1", Some(-0.35)),
        ] {
            let found = nearest_step(&panel, Swing::new(density)).unwrap();
            assert_eq!(found.step.name, name, "{density}");
            assert_eq!(found.beyond.map(|v| (v * 1e6).round() / 1e6), beyond, "{density}");
        }
        assert_eq!(nearest_step(&[], Swing::new(0.3)), None);
        let one = [DensityStep::new("normal", 0.0)];
        assert_eq!(nearest_step(&one, Swing::new(0.0)).unwrap().beyond, None);
        assert!(nearest_step(&one, Swing::new(-0.1)).unwrap().beyond.is_some());
    }

    #[test]
    fn steps_that_cannot_be_told_apart_are_refused() {
        let step = |name: &str, density| DensityStep::new(name, density);
        for (steps, wrong) in [
            (vec![step(" ", 0.0)], "has 1 to 40 letters"),
            (vec![step("a", 0.0), step("a", 0.5)], "are called “a”"),
            (vec![step("a", 0.5), step("b", 0.5)], "have the same density 0.5"),
            ((0..33).map(|i| step(&i.to_string(), f64::from(i) / 40.0)).collect(), "at most 32"),
        ] {
            let trouble = trouble(&steps).unwrap();
            assert!(trouble.contains(wrong), "{trouble}");
        }
        assert_eq!(trouble(&panel()), None);
    }

    proptest! {
        #[test]
        fn no_step_is_nearer_and_a_darker_density_never_gets_a_lighter_step(
            densities in proptest::collection::btree_set(-100_i32..=100, 1..9),
            asked in -1.0..=1.0_f64, more in 0.0..=1.0_f64,
        ) {
            let steps: Vec<DensityStep> =
                densities.iter().map(|d| DensityStep::new(d.to_string(), f64::from(*d) / 100.0)).collect();
            let asked = Swing::new(asked);
            let found = nearest_step(&steps, asked).unwrap();
            let off = (asked.get() - found.step.density.get()).abs();
            prop_assert!(steps.iter().all(|s| (asked.get() - s.density.get()).abs() >= off));
            let (least, most) = (steps[0].density.get(), steps[steps.len() - 1].density.get());
            if (least..=most).contains(&asked.get()) {
                prop_assert_eq!(found.beyond, None);
            }
            let darker = nearest_step(&steps, Swing::new(asked.get() + more)).unwrap();
            prop_assert!(darker.step.density >= found.step.density);
        }
    }
}
