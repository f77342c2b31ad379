//! Plots, which look like everything else and stay as they are under the pointer.

use std::ops::RangeInclusive;

use egui::{Role, Ui, Vec2, WidgetInfo};
use egui_plot::{AxisHints, Plot, PlotBounds, PlotResponse, PlotUi};

use super::theme;

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
        .clamp_grid(true)
        .grid_color(p.line)
        .custom_x_axes(vec![hints(AxisHints::new_x(), &across.label).formatter(move |m, _| x(m.value))])
        .custom_y_axes(vec![hints(AxisHints::new_y(), &up.label).formatter(move |m, _| y(m.value))])
        .show(ui, |plot| {
            plot.set_plot_bounds(bounds);
            add(plot);
        });
    plot.response.widget_info(|| WidgetInfo::labeled(Role::Image, true, name));
    plot
}
