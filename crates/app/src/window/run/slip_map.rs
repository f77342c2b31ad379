//! The slip map: how much the picture changes by the slip of the selected layer, with a point to drag.

use egui::{Align2, Pos2, Rect, RichText, Sense, Stroke, Ui, Vec2};
use slipsheet_core::units::{Degrees, Mm};
use slipsheet_document::edit::LayerEdit;
use slipsheet_document::layer::Slip;
use slipsheet_editor::Request;
use slipsheet_files::home::LengthUnit;

use super::RunView;
use super::remedies::layer_ui;
use crate::window::actions::Action;
use crate::window::context::Context;
use crate::window::sheet::{length, plain_length};
use crate::window::{UiCommand, theme};

/// Side of the map in points.
const SIDE: f32 = 330.0;

/// Room of the figures left of the map and below it.
const AXES: Vec2 = Vec2::new(58.0, 34.0);

impl RunView {
    pub(super) fn slip_map_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        let Some((selected, (id, layer))) =
            cx.session.selected_layer().map(|(i, l)| (i, (l.id, l.name.clone())))
        else {
            layer_ui(ui, cx, "Layer that slips", out);
            ui.label("The map shows what the slip of a layer changes.");
            return;
        };
        layer_ui(ui, cx, "Layer that slips", out);
        let unit = cx.session.settings().unit;
        ui.horizontal_top(|ui| {
            let (whole, _) = ui.allocate_exact_size(Vec2::splat(SIDE) + AXES, Sense::hover());
            let rect = Rect::from_min_size(whole.min + Vec2::new(AXES.x, 0.0), Vec2::splat(SIDE));
            let response = ui.interact(rect, ui.scope_id().with("slip map"), Sense::click_and_drag());
            theme::named(&response, egui::Role::Image, "Slip map");
            ui.painter().rect_filled(rect, 0.0, p.strip);
            let Some((map, texture)) = cx.desk.run.map.as_ref().filter(|(m, _)| m.layer == selected) else {
                ui.label(format!("Slipping {layer}…"));
                return;
            };
            // The outermost shifts lie on the map's edge, so half a pixel of the picture is left out.
            let inset = 0.5 / map.side as f32;
            let uv = Rect::from_min_max(Pos2::new(inset, inset), Pos2::new(1.0 - inset, 1.0 - inset));
            ui.painter().image(texture.id(), rect, uv, theme::UNTINTED);
            let px = SIDE / 2.0 / map.reach as f32;
            if let Some(at) = response.interact_pointer_pos() {
                let d = (at - rect.center()) / px;
                let hold = |v: f32| f64::from(v).clamp(-map.reach, map.reach);
                self.point = (hold(d.x), hold(d.y));
            }
            axes_ui(ui, rect, map.reach, unit);
            let (dx, dy) = self.point;
            let at = rect.center() + Vec2::new(dx as f32, dy as f32) * px;
            let painter = ui.painter_at(rect);
            let cross = Stroke::new(1.0, theme::see_through(theme::SHADE, 0.4));
            painter.line_segment([rect.center_top(), rect.center_bottom()], cross);
            painter.line_segment([rect.left_center(), rect.right_center()], cross);
            painter.circle(at, 6.0, theme::UNTINTED, Stroke::new(2.0, theme::SHADE));
            let mean = map.mean_at(dx, dy);
            let most = map.changes.iter().map(|c| c.mean).fold(0.0, f64::max);
            ui.add_space(theme::GROUP_GAP);
            ui.vertical(|ui| {
                ui.label(theme::heading(&format!(
                    "{layer} slips {}, {}",
                    length(dx, unit),
                    length(dy, unit)
                )));
                ui.label(format!("Mean colour change {mean:.2} (CIEDE2000, at reading distance)"));
                let text = format!(
                    "The map runs to {} each way; the strongest change on it is {most:.2}.",
                    plain_length(map.reach, unit)
                );
                ui.add(egui::Label::new(RichText::new(text).color(p.faint)).wrap());
                ui.add_space(theme::GAP);
                if ui
                    .button("See it on the sheet")
                    .on_hover_text("Slip the layer so, and open the Sheet view")
                    .clicked()
                {
                    let slip = Slip { dx: Mm::new(dx), dy: Mm::new(dy), skew: Degrees::default() };
                    out.push(Request::layer(id, LayerEdit::Slip(slip)).into());
                    out.push(Action::SheetView.into());
                }
                ui.label(RichText::new("Drag the point over the map.").small().color(p.faint));
            });
        });
    }
}

/// How far the layer slips across and along, beside the map.
fn axes_ui(ui: &Ui, rect: Rect, reach: f64, unit: LengthUnit) {
    let p = theme::of(ui);
    let painter = ui.painter();
    for share in [-1.0, -0.5, 0.0, 0.5, 1.0_f32] {
        let words = length(f64::from(share) * reach, unit);
        let (x, y) = (rect.center().x + share * SIDE / 2.0, rect.center().y + share * SIDE / 2.0);
        let (across, along) = match share {
            s if s < -0.9 => (Align2::LEFT_TOP, Align2::RIGHT_TOP),
            s if s > 0.9 => (Align2::RIGHT_TOP, Align2::RIGHT_BOTTOM),
            _ => (Align2::CENTER_TOP, Align2::RIGHT_CENTER),
        };
        painter.vline(x, rect.bottom()..=rect.bottom() + 3.0, Stroke::new(1.0, p.edge));
        painter.hline(rect.left() - 3.0..=rect.left(), y, Stroke::new(1.0, p.edge));
        painter.text(Pos2::new(x, rect.bottom() + 4.0), across, &words, theme::small(), p.faint);
        painter.text(Pos2::new(rect.left() - 5.0, y), along, &words, theme::small(), p.faint);
    }
    let under = Pos2::new(rect.center().x, rect.bottom() + 18.0);
    painter.text(under, Align2::CENTER_TOP, "right is more; down is more", theme::small(), p.faint);
}
