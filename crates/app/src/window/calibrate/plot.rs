//! The plot of an ink's tones: asked-for against effective coverage, and what is left beside the curve.

use egui::{Align2, Painter, Pos2, Rect, Sense, Shape, Stroke, Ui, Vec2, pos2, vec2};
use slipsheet_core::calibrate::{InkFit, StepFit};
use slipsheet_core::tone::ToneCurve;

use super::super::theme::{self, Palette};

/// Room for the numbers at the left, the top, the right and below.
const ROOM: [f32; 4] = [40.0, 6.0, 10.0, 18.0];
/// Height of the residuals.
const BELOW: f32 = 78.0;

/// Where a plot lies, and what its upper and lower ends stand for.
struct Axes {
    area: Rect,
    low: f64,
    high: f64,
}

impl Axes {
    fn at(&self, x: f64, y: f64) -> Pos2 {
        let up = ((y - self.low) / (self.high - self.low)) as f32;
        pos2(self.area.left() + self.area.width() * x as f32, self.area.bottom() - self.area.height() * up)
    }
}

/// Draws both plots of an ink into this size.
pub(super) fn plot_ui(ui: &mut Ui, ink: &InkFit, channels: bool, size: Vec2) {
    let p = theme::of(ui);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let words = format!("Tones of {}: nominal and effective coverage", ink.name);
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, &words));
    let painter = ui.painter_at(rect);
    let inner = |top: f32, bottom: f32| {
        Rect::from_min_max(pos2(rect.left() + ROOM[0], top), pos2(rect.right() - ROOM[2], bottom))
    };
    let split = rect.bottom() - BELOW - ROOM[3];
    let tones = Axes { area: inner(rect.top() + ROOM[1], split - ROOM[3]), low: 0.0, high: 1.0 };
    tones_ui(&painter, &p, &tones, ink, channels);
    let most = ink.steps.iter().map(|s| s.residual().abs()).fold(0.0, f64::max);
    let reach = if most > 0.05 {
        0.1
    } else if most > 0.02 {
        0.05
    } else {
        0.02
    };
    let rest = Axes { area: inner(split + 10.0, rect.bottom() - ROOM[3]), low: -reach, high: reach };
    residuals_ui(&painter, &p, &rest, &ink.steps);
    if let Some(pointer) = response.hover_pos()
        && let Some(step) = nearest(&tones, &rest, &ink.steps, pointer)
    {
        painter.circle_stroke(tones.at(step.asked, step.effective), 5.5, Stroke::new(1.5, p.faint));
        response.on_hover_text_at_pointer(format!(
            "nominal {:.0} %\neffective {:.1} % (Murray-Davies {:.1} %)\ncurve {:.1} %, residual {:+.1}\nΔE {:.2}",
            step.asked * 100.0,
            step.effective * 100.0,
            step.murray_davies * 100.0,
            step.fitted * 100.0,
            step.residual() * 100.0,
            step.delta_e
        ));
    }
}

/// The step under the pointer.
fn nearest<'a>(tones: &Axes, rest: &Axes, steps: &'a [StepFit], pointer: Pos2) -> Option<&'a StepFit> {
    let near = |s: &&StepFit| {
        let in_rest = rest.area.contains(pointer);
        let at = tones.at(s.asked, s.effective);
        if in_rest { (at.x - pointer.x).abs() } else { at.distance(pointer) }
    };
    steps.iter().filter(|s| near(s) < 12.0).min_by(|a, b| near(a).total_cmp(&near(b)))
}

fn tones_ui(painter: &Painter, p: &Palette, axes: &Axes, ink: &InkFit, channels: bool) {
    grid(painter, p, axes, [0.0, 0.25, 0.5, 0.75, 1.0], |v| format!("{:.0}", v * 100.0));
    let ends = [axes.at(0.0, 0.0), axes.at(1.0, 1.0)];
    painter.extend(Shape::dashed_line(&ends, Stroke::new(1.0, p.faint), 5.0, 4.0));
    let labels = theme::small();
    let corner = axes.area.right_bottom() - vec2(6.0, 4.0);
    painter.text(corner, Align2::RIGHT_BOTTOM, "nominal coverage, %", labels.clone(), p.faint);
    let corner = axes.area.left_top() + vec2(6.0, 4.0);
    painter.text(corner, Align2::LEFT_TOP, "effective coverage, %", labels.clone(), p.faint);
    let limits = [(ink.curve.lightest(), "lightest"), (ink.curve.fill_in(), "fill-in")];
    for (at, word) in limits.into_iter().filter(|(at, _)| *at > 0.0 && *at < 1.0) {
        let line = [axes.at(at, 0.0), axes.at(at, 1.0)];
        painter.extend(Shape::dashed_line(&line, Stroke::new(1.0, p.warning), 2.0, 3.0));
        let (x, side) = if at > 0.5 { (-4.0, Align2::RIGHT_CENTER) } else { (4.0, Align2::LEFT_CENTER) };
        painter.text(axes.at(at, 0.3) + vec2(x, 0.0), side, word, labels.clone(), p.warning);
    }
    if channels {
        for (fit, colour) in ink.channels.iter().zip(theme::CHANNELS) {
            if let Some(fit) = fit {
                line(painter, axes, &fit.curve, Stroke::new(1.0, theme::rgb(colour)));
            }
        }
    }
    line(painter, axes, &ink.curve, Stroke::new(2.0, p.text));
    for step in &ink.steps {
        painter.circle(axes.at(step.asked, step.effective), 3.0, p.text, Stroke::new(1.0, p.panel));
    }
}

/// A curve with its limits, which make steps.
fn line(painter: &Painter, axes: &Axes, curve: &ToneCurve, stroke: Stroke) {
    let point = |i: i32| {
        let x = f64::from(i) / 250.0;
        axes.at(x, curve.effective(x))
    };
    painter.add(Shape::line((0..=250).map(point).collect(), stroke));
}

fn residuals_ui(painter: &Painter, p: &Palette, axes: &Axes, steps: &[StepFit]) {
    grid(painter, p, axes, [axes.low, 0.0, axes.high, 0.0, 0.0], |v| format!("{:+.0}", v * 100.0));
    painter.line_segment([axes.at(0.0, 0.0), axes.at(1.0, 0.0)], Stroke::new(1.0, p.faint));
    let width = (axes.area.width() / steps.len().max(1) as f32 * 0.45).clamp(2.0, 9.0);
    for step in steps {
        let (from, to) = (axes.at(step.asked, 0.0), axes.at(step.asked, step.residual()));
        let bar = Rect::from_two_pos(from - vec2(width / 2.0, 0.0), to + vec2(width / 2.0, 0.0));
        painter.rect_filled(bar.intersect(axes.area), 0.0, p.faint);
    }
    let corner = axes.area.left_top() + vec2(6.0, 3.0);
    painter.text(corner, Align2::LEFT_TOP, "off the curve, % points", theme::small(), p.faint);
}

fn grid(painter: &Painter, p: &Palette, axes: &Axes, heights: [f64; 5], word: impl Fn(f64) -> String) {
    let (hair, font) = (Stroke::new(1.0, theme::see_through(p.line, 0.7)), theme::small());
    for x in [0.0, 0.25, 0.5, 0.75, 1.0] {
        painter.line_segment([axes.at(x, axes.low), axes.at(x, axes.high)], hair);
        let at = axes.at(x, axes.low) + vec2(0.0, 4.0);
        painter.text(at, Align2::CENTER_TOP, format!("{:.0}", x * 100.0), font.clone(), p.faint);
    }
    for (i, y) in heights.into_iter().enumerate() {
        if heights[..i].contains(&y) {
            continue;
        }
        painter.line_segment([axes.at(0.0, y), axes.at(1.0, y)], hair);
        let at = axes.at(0.0, y) - vec2(6.0, 0.0);
        painter.text(at, Align2::RIGHT_CENTER, word(y), font.clone(), p.faint);
    }
}
