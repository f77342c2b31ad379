//! The slip rose: tolerance by direction, with the press's own spread beside it.

use egui::epaint::Mesh;
use egui::{Align2, Pos2, RichText, Sense, Shape, Stroke, Ui, Vec2};
use slipsheet_editor::Request;
use slipsheet_registration::slip::{Rose, Tolerance, slip_between_passes};

use super::RunView;
use crate::window::context::Context;
use crate::window::sheet::plain_length;
use crate::window::{UiCommand, theme};

/// Side of the rose in points, and where there is little room beside it.
const SIDES: [f32; 2] = [260.0, 220.0];
/// Rings, evenly spaced and each with its length.
const RINGS: u32 = 4;
/// Room that text beside it needs.
const BESIDE: f32 = 380.0;

impl RunView {
    /// The tolerance in a few words.
    pub(super) fn tolerance_words(&self, cx: &Context<'_>) -> String {
        let unit = cx.session.settings().unit;
        match cx.desk.run.judged().map(Tolerance::least) {
            None => String::new(),
            Some(None) => "any slip".to_owned(),
            Some(Some((slip, _))) => plain_length(slip, unit),
        }
    }

    /// How far the inks may slip, in every direction and pair by pair.
    pub(super) fn tolerance_ui(&self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let Some(tolerance) = cx.desk.run.judged() else { return };
        let unit = cx.session.settings().unit;
        ui.horizontal_top(|ui| {
            self.rose_ui(ui, cx);
            ui.add_space(theme::GROUP_GAP);
            ui.vertical(|ui| {
                match tolerance.least() {
                    Some((slip, degrees)) => {
                        ui.label(RichText::new(plain_length(slip, unit)).heading());
                        ui.label(format!(
                            "A slip this far {} leaves a copy that would not sell.",
                            toward(degrees)
                        ));
                    }
                    None => {
                        ui.label(RichText::new("No tight edges").heading());
                        ui.label(
                            "No two inks abut where a gap would show, so this design forgives any slip.",
                        );
                    }
                }
                let press = &cx.session.printing().press;
                let far = plain_length(slip_between_passes(press, 0.95), unit);
                let text = format!(
                    "Inks of two passes lie less than {far} apart, whichever way, in 19 of 20 copies."
                );
                ui.label(RichText::new(text).color(theme::of(ui).faint));
                ui.add_space(theme::GAP);
                self.pairs_ui(ui, cx, out);
            });
        });
    }

    fn rose_ui(&self, ui: &mut Ui, cx: &Context<'_>) {
        let p = theme::of(ui);
        let [wide, narrow] = SIDES;
        let side = if ui.available_width() >= wide + BESIDE { wide } else { narrow };
        let (rect, response) = ui.allocate_exact_size(Vec2::splat(side), Sense::hover());
        theme::named(&response, egui::Role::Image, "Slip rose");
        let painter = ui.painter_at(rect.expand(2.0));
        let centre = rect.center();
        let radius = side / 2.0 - 16.0;
        let rose = cx.desk.run.judged().map(|t| &t.rose);
        let press = &cx.session.printing().press;
        // In two dimensions 95 % lie within the root of -2 ln 0.05 deviations (Rayleigh's distribution).
        let apart = |v: f64| v * std::f64::consts::SQRT_2 * (-2.0 * 0.05_f64.ln()).sqrt();
        let (sx, sy) = (apart(press.between_passes.dx.get()), apart(press.between_passes.dy.get()));
        let (off_x, off_y) = (press.offset.dx.get(), press.offset.dy.get());
        let known = rose.into_iter().flat_map(|r| r.tolerance.iter().flatten());
        let least = known.clone().copied().fold(f64::INFINITY, f64::min);
        // What matters lies around the least tolerance and the press's scatter.
        let wanted =
            (sx + off_x.abs()).max(sy + off_y.abs()).max(if least.is_finite() { least * 1.5 } else { 0.0 });
        let reach = [0.4, 1.0, 2.0, 3.0, 4.0, 6.0].into_iter().find(|r| wanted <= *r).unwrap_or(10.0);
        let px = |mm: f64| (mm / reach).max(0.0) as f32 * radius;
        painter.circle_filled(centre, radius, theme::see_through(p.strip, 1.0));
        let rings: Vec<f64> = (1..=RINGS).map(|i| reach * f64::from(i) / f64::from(RINGS)).collect();
        for ring in &rings {
            painter.circle_stroke(centre, px(*ring), Stroke::new(1.0, p.line));
        }
        for d in [Vec2::X, Vec2::Y] {
            painter.line_segment([centre - d * radius, centre + d * radius], Stroke::new(1.0, p.line));
        }
        if let Some(rose) = rose {
            fan(&painter, centre, rose, |mm| px(mm.min(reach)), radius, p.good);
        }
        // Where 95 % of the slips between two passes lie.
        let spread: Vec<Pos2> = (0..72)
            .map(|i| {
                let (sin, cos) = (f64::from(i) * std::f64::consts::TAU / 72.0).sin_cos();
                let (x, y) = (off_x + cos * sx, off_y + sin * sy);
                let along = Vec2::new(x as f32, y as f32).normalized();
                centre + along * px(x.hypot(y))
            })
            .collect();
        painter.add(
            Shape::dashed_line(
                &spread.iter().copied().chain(spread.first().copied()).collect::<Vec<_>>(),
                Stroke::new(1.5, p.text),
                4.0,
                3.0,
            )
            .into_iter()
            .collect::<Vec<_>>(),
        );
        let unit = cx.session.settings().unit;
        let text = |at: Pos2, align: Align2, text: String, colour| {
            painter.text(at, align, text, theme::small(), colour);
        };
        // Each ring is named where it crosses the line down, which no two names do at one place.
        for ring in &rings {
            let at = centre + Vec2::new(4.0, px(*ring) - 2.0);
            text(at, Align2::LEFT_BOTTOM, plain_length(*ring, unit), p.faint);
        }
        text(rect.left_bottom(), Align2::LEFT_BOTTOM, "Press".to_owned(), p.text);
        text(rect.right_bottom(), Align2::RIGHT_BOTTOM, "Tolerance".to_owned(), p.good);
        response.on_hover_text(
            "How far an ink may slip in each direction before a copy would not sell. The dashed line holds 95 % of what a later pass slips against the first.",
        );
    }

    /// The pairs that abut, with the tolerance of each.
    fn pairs_ui(&self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        let Some(study) = &cx.desk.run.study else { return };
        let unit = cx.session.settings().unit;
        let Some(tolerance) = cx.desk.run.judged() else { return };
        for (pair, rose) in study.pairs.iter().zip(&tolerance.pairs).take(4) {
            ui.horizontal_wrapped(|ui| {
                let layers = &cx.session.printing().sheet.layers;
                let (Some(lower), Some(upper)) = (layers.get(pair.lower), layers.get(pair.upper)) else {
                    return;
                };
                for layer in [lower, upper] {
                    let (rect, _) = ui.allocate_exact_size(Vec2::splat(10.0), Sense::hover());
                    theme::chip(ui, rect, layer.ink.solid.lab());
                }
                let names = format!("{} and {}", lower.name, upper.name);
                if ui.link(RichText::new(names).color(p.text)).on_hover_text("Select the later one").clicked()
                {
                    out.push(Request::Select(Some(upper.id), None).into());
                }
                let least = rose.least().map_or("any slip".to_owned(), |l| plain_length(l.0, unit));
                let text = format!("{} abut, tolerance {least}", plain_long(pair.length));
                ui.label(RichText::new(text).small().color(p.faint));
            });
        }
    }
}

/// A length of edge, which needs no fractions.
fn plain_long(mm: f64) -> String {
    if mm >= 1000.0 { format!("{:.1} m", mm / 1000.0) } else { format!("{mm:.0} mm") }
}

/// The rose as a fan: each direction is a wedge out to its tolerance, or to the rim where there is none.
fn fan(
    painter: &egui::Painter,
    centre: Pos2,
    rose: &Rose,
    px: impl Fn(f64) -> f32,
    rim: f32,
    colour: egui::Color32,
) {
    let n = rose.tolerance.len();
    let at = |i: usize| {
        let (sin, cos) = (Rose::degrees(i % n.max(1)).to_radians() as f32).sin_cos();
        let tolerance = rose.tolerance.get(i % n.max(1)).copied().flatten();
        centre + Vec2::new(cos, sin) * tolerance.map_or(rim, &px)
    };
    let mut mesh = Mesh::default();
    let fill = theme::see_through(colour, 0.22);
    mesh.colored_vertex(centre, fill);
    (0..n).for_each(|i| mesh.colored_vertex(at(i), fill));
    for i in 0..n as u32 {
        mesh.add_triangle(0, 1 + i, 1 + (i + 1) % n as u32);
    }
    painter.add(mesh);
    let outline: Vec<Pos2> = (0..=n).map(at).collect();
    painter.add(Shape::line(outline, Stroke::new(2.0, colour)));
}

/// A direction in words.
fn toward(degrees: f64) -> &'static str {
    const WORDS: [&str; 8] = [
        "to the right",
        "right and down",
        "down",
        "left and down",
        "to the left",
        "left and up",
        "up",
        "right and up",
    ];
    let i = (degrees / 45.0).round() as usize % 8;
    WORDS.get(i).copied().unwrap_or("to the right")
}
