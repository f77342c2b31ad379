//! The density steps of the press's panel.

use egui::{Grid, Id, RichText, TextEdit, Ui};
use slipsheet_core::press::panel::{STEPS, trouble};
use slipsheet_core::press::{DensityStep, Press};
use slipsheet_core::reading::Swing;

use crate::window::number::drag;
use crate::window::{UiCommand, theme};

/// Steps that are being edited and cannot be told apart yet.
#[derive(Clone)]
struct Draft {
    /// The steps of the press that they began as.
    of: Vec<DensityStep>,
    steps: Vec<DensityStep>,
}

/// The steps, a row each. What cannot be told apart yet stays here until it can, and then goes into the press.
pub(super) fn steps_ui(ui: &mut Ui, press: &mut Press, out: &mut Vec<UiCommand>) {
    let draft = Id::unique("density steps of the press");
    // A draft of steps that are not the press's any more is let go.
    let kept: Option<Draft> = ui.data(|d| d.get_temp(draft));
    let kept = kept.filter(|d| d.of == press.density_steps);
    let mut steps = kept.map_or_else(|| press.density_steps.clone(), |d| d.steps);
    let mut gone = None;
    Grid::new("density steps").num_columns(3).spacing([14.0, 6.0]).show(ui, |ui| {
        for (i, step) in steps.iter_mut().enumerate() {
            let name = ui.add(TextEdit::singleline(&mut step.name).desired_width(110.0));
            theme::named(&name, egui::Role::TextInput, format!("Name of density step {}", i + 1));
            crate::window::inspector::gesture(&name, "Change the press", out);
            let mut density = step.density.get();
            let field = ui.add(drag(&mut density).range(-1.0..=1.0).speed(0.01).max_decimals(2));
            let named = format!("Density of step {}", i + 1);
            field.widget_info(move || egui::WidgetInfo::labeled(egui::Role::SpinButton, true, named.clone()));
            crate::window::inspector::gesture(&field, "Change the press", out);
            if field.changed() {
                step.density = Swing::new(density);
            }
            field.on_hover_text("The density of a reading that prints alike: -1 lighter to 1 darker");
            if ui.button("Remove").on_hover_text("Remove this step").clicked() {
                gone = Some(i);
            }
            ui.end_row();
        }
    });
    if let Some(i) = gone {
        steps.remove(i);
    }
    let tip = "A density step of the panel, so that tickets for plates as drawn name the step to set";
    let add = ui.add_enabled(steps.len() < STEPS, egui::Button::new("Add a density step"));
    if add.on_hover_text(tip).clicked() {
        steps.push(next(&steps));
    }

    let wrong = trouble(&steps);
    if let Some(wrong) = &wrong {
        let text = RichText::new(crate::window::sentence(wrong)).color(theme::of(ui).error);
        ui.add(egui::Label::new(text).wrap());
    }
    ui.data_mut(|d| match wrong {
        Some(_) => {
            d.insert_temp(draft, Draft { of: press.density_steps.clone(), steps });
        }
        None => {
            d.remove::<Draft>(draft);
            press.density_steps = steps;
        }
    });
}

/// A step that none of these is: the next number, at a density between -1 and 1 that is free.
fn next(steps: &[DensityStep]) -> DensityStep {
    let free = |name: &String| steps.iter().all(|s| s.name.trim() != name);
    let name = (steps.len() + 1..).map(|n| n.to_string()).find(free).unwrap_or_default();
    let taken = |d: f64| steps.iter().any(|s| (s.density.get() - d).abs() < 1e-9);
    let places = (0..=40).flat_map(|i| [f64::from(i) / 20.0, f64::from(-i) / 20.0]);
    let density = places.filter(|d| d.abs() <= 1.0).find(|d| !taken(*d)).unwrap_or_default();
    DensityStep::new(name, density)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_panel_fills_up_with_steps_that_can_be_told_apart() {
        let mut steps = vec![DensityStep::new("2", 0.0)];
        while steps.len() < STEPS {
            steps.push(next(&steps));
            assert_eq!(trouble(&steps), None, "{steps:?}");
        }
    }
}
