//! The plot of an ink's tones: asked-for against effective coverage, and what is left beside the curve.

use egui::{Align2, Color32, RichText, Stroke, Ui, Vec2};
use egui_plot::{Bar, BarChart, Line, LineStyle, PlotPoint, PlotPoints, Points, Text, VLine};
use slipsheet_core::calibrate::{InkFit, StepFit};
use slipsheet_core::tone::ToneCurve;

use crate::window::plot::{Axis, plot_ui};
use crate::window::theme;

/// Height of the residuals.
const BELOW: f32 = 104.0;

/// Draws both plots of an ink into this size.
pub(super) fn tones_ui(ui: &mut Ui, ink: &InkFit, channels: bool, size: Vec2) {
    let p = theme::of(ui);
    let percent = |v: f64| format!("{:.0}", v * 100.0);
    let axis = |label: &str| Axis { label: label.to_owned(), range: 0.0..=1.0, word: &percent };
    let axes = [axis("nominal coverage, %"), axis("effective coverage, %")];
    let words = format!("Tones of {}: nominal and effective coverage", ink.name);
    let above = plot_ui(ui, &words, Vec2::new(size.x, size.y - BELOW), axes, |plot| {
        let straight = Line::new("", vec![[0.0, 0.0], [1.0, 1.0]]);
        plot.line(straight.color(p.faint).width(1.0).style(LineStyle::dashed_dense()));
        for (at, word) in [(ink.curve.lightest(), " lightest"), (ink.curve.fill_in(), "fill-in ")] {
            if at > 0.0 && at < 1.0 {
                plot.vline(VLine::new("", at).color(p.warning).style(LineStyle::dotted_dense()));
                let anchor = if at > 0.5 { Align2::RIGHT_CENTER } else { Align2::LEFT_CENTER };
                let word = RichText::new(word).font(theme::small()).color(p.warning);
                plot.text(Text::new("", PlotPoint::new(at, 0.3), word).anchor(anchor));
            }
        }
        for (fit, colour) in ink.channels.iter().zip(theme::CHANNELS).filter(|_| channels) {
            if let Some(fit) = fit {
                plot.line(curve(&fit.curve, theme::rgb(colour)).width(1.0));
            }
        }
        plot.line(curve(&ink.curve, p.text).width(2.0));
        let steps: Vec<[f64; 2]> = ink.steps.iter().map(|s| [s.asked, s.effective]).collect();
        plot.points(Points::new("", steps).color(p.text).radius(3.0));
    });

    let most = ink.steps.iter().map(|s| s.residual().abs()).fold(0.0, f64::max);
    let reach = [0.02, 0.05].into_iter().find(|reach| most <= *reach).unwrap_or(0.1);
    let signed = |v: f64| if v == 0.0 { "0".to_owned() } else { format!("{:+.0}", v * 100.0) };
    let off = Axis { label: "off the curve, %".to_owned(), range: -reach..=reach, word: &signed };
    let width = 0.45 / ink.steps.len().max(1) as f64;
    let bar = |s: &StepFit| Bar::new(s.asked, s.residual()).width(width).fill(p.faint).stroke(Stroke::NONE);
    let below = plot_ui(ui, "Residuals", Vec2::new(size.x, BELOW), [axis(""), off], |plot| {
        plot.bar_chart(BarChart::new("", ink.steps.iter().map(bar).collect()).allow_hover(false));
    });

    let pointed = [above, below].into_iter().find_map(|plot| {
        let at = plot.transform.value_from_position(plot.response.hover_pos()?).x;
        let off = |s: &&StepFit| (s.asked - at).abs();
        let near = ink.steps.iter().min_by(|a, b| off(a).total_cmp(&off(b)))?;
        (off(&near) < 0.03).then_some((plot.response, near))
    });
    if let Some((response, step)) = pointed {
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

/// A curve with its limits, which make steps.
fn curve(curve: &ToneCurve, colour: Color32) -> Line<'static> {
    let points = (0..=250).map(|i| f64::from(i) / 250.0).map(|x| [x, curve.effective(x)]);
    Line::new("", points.collect::<PlotPoints<'_>>()).color(colour).allow_hover(false)
}
