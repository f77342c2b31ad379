//! Plots, which look like everything else and stay as they are under the pointer.

use std::ops::RangeInclusive;

use egui::{Rangef, Role, Ui, Vec2, WidgetInfo};
use egui_plot::{AxisHints, GridInput, GridMark, Plot, PlotBounds, PlotResponse, PlotUi};

use super::theme;

/// The least distance of two values that are written on an axis across, and on one up, in points.
const ACROSS: f32 = 54.0;
const UP: f32 = 26.0;
/// The toolkit's own least distance of two lines, in which it says how far it is.
const LINES: f32 = 8.0;
/// Room at the left, so that plots under one another begin alike.
const LEFT: f32 = 42.0;

/// What an axis shows.
pub(super) struct Axis<'a> {
    pub label: String,
    pub range: RangeInclusive<f64>,
    /// What stands at a value.
    pub word: &'a dyn Fn(f64) -> String,
}

/// A plot of this size in points, called `name` by those who cannot see it, with its axes across and up.
pub(super) fn plot_ui(
    ui: &mut Ui,
    name: &str,
    size: Vec2,
    [across, up]: [Axis<'_>; 2],
    add: impl FnOnce(&mut PlotUi<'_>),
) -> PlotResponse<()> {
    let p = theme::of(ui);
    let hints = |hints: AxisHints<'static>, label: &str| {
        hints
            .label(egui::RichText::new(label).small().color(p.faint))
            .tick_label_color(p.faint)
            .tick_label_font(theme::small())
            .label_spacing(Rangef::new(UP * 0.9, UP))
    };
    let (x, y) = (across.word, up.word);
    ui.visuals_mut().extreme_bg_color = p.strip;
    let bounds = PlotBounds::from_min_max(
        [*across.range.start(), *up.range.start()],
        [*across.range.end(), *up.range.end()],
    );
    let plot = Plot::new(name)
        .width(size.x)
        .height(size.y)
        .allow_zoom(false)
        .allow_drag(false)
        .allow_scroll(false)
        .allow_boxed_zoom(false)
        .allow_axis_zoom_drag(false)
        .allow_double_click_reset(false)
        .show_crosshair(false)
        .label_formatter(|_| None)
        .clamp_grid(true)
        .x_grid_spacer(|input| marks(&input, ACROSS))
        .y_grid_spacer(|input| marks(&input, UP))
        .grid_color(p.line)
        .custom_x_axes(vec![hints(AxisHints::new_x(), &across.label).formatter(move |m, _| x(m.value))])
        .custom_y_axes(vec![
            hints(AxisHints::new_y(), &up.label).min_thickness(LEFT).formatter(move |m, _| y(m.value)),
        ])
        .show(ui, |plot| {
            plot.set_plot_bounds(bounds);
            add(plot);
        });
    plot.response.widget_info(|| WidgetInfo::labeled(Role::Image, true, name));
    plot
}

/// Lines at round values that lie no nearer than `least` points.
fn marks(input: &GridInput, least: f32) -> Vec<GridMark> {
    let step = round_step(input.base_step_size * f64::from(least / LINES));
    let (first, last) = ((input.bounds.0 / step).ceil() as i64, (input.bounds.1 / step).floor() as i64);
    (first..=last).map(|i| GridMark { value: i as f64 * step, step_size: step }).collect()
}

/// The next of 1, 2, 5, 10, 20 .. (or their tenths) that is no less.
fn round_step(least: f64) -> f64 {
    let decade = 10_f64.powi(least.max(1e-9).log10().floor() as i32);
    let m = least / decade;
    decade
        * if m <= 1.0 {
            1.0
        } else if m <= 2.0 {
            2.0
        } else if m <= 5.0 {
            5.0
        } else {
            10.0
        }
}

#[cfg(test)]
mod tests {
    use super::round_step;

    #[test]
    fn steps_of_an_axis_are_round() {
        for (least, step) in [(0.13, 0.2), (1.0, 1.0), (3.1, 5.0), (60.0, 100.0), (0.004, 0.005)] {
            assert!((round_step(least) - step).abs() < 1e-9, "{least}");
        }
    }
}
