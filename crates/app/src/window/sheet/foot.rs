//! The lower right corner of the canvas: how large the sheet is shown, and where on it the pointer is.

use egui::{Align, Button, Layout, Rect, Response, RichText, Stroke, Ui, UiBuilder, Vec2};

use super::{Place, plain_length};
use crate::window::actions::{self, Action};
use crate::window::context::Context;
use crate::window::menu::{TRUE_SIZE, hint};
use crate::window::{UiCommand, theme};

/// Size of the corner, and its distance from the canvas's edges.
const SIZE: Vec2 = Vec2::new(136.0, 36.0);
const MARGIN: f32 = 12.0;
/// Side of the buttons that zoom.
const STEP: f32 = 28.0;

/// Zoom, and the pointer's place beside it.
pub(super) fn foot_ui(ui: &mut Ui, cx: &Context<'_>, place: &Place, out: &mut Vec<UiCommand>) {
    let p = theme::of(ui);
    let corner = place.canvas.max - SIZE - Vec2::splat(MARGIN);
    let rect = Rect::from_min_size(corner, SIZE);
    pointer_ui(ui, cx, place, rect);
    theme::note_ground(ui.painter(), rect, p);
    let layout = Layout::left_to_right(Align::Center);
    ui.scope_builder(UiBuilder::new().max_rect(rect.shrink(CLOSE)).layout(layout), |ui| {
        ui.spacing_mut().item_spacing.x = 0.0;
        if step_ui(ui, Action::ZoomOut).clicked() {
            out.push(Action::ZoomOut.into());
        }
        let percent = format!("{:.0} %", place.zoom / TRUE_SIZE * 100.0);
        let size = Button::new(RichText::new(&percent).small()).frame_when_inactive(false);
        let room = Vec2::new(SIZE.x - 2.0 * (CLOSE + STEP), STEP);
        let info = actions::of(Action::ActualSize);
        let response = ui.add_sized(room, size);
        response.widget_info(|| {
            let mut says = egui::WidgetInfo::labeled(egui::Role::Button, true, "Zoom");
            says.current_text_value = Some(percent.clone());
            says
        });
        if response.on_hover_text(hint(ui, info)).clicked() {
            out.push(Action::ActualSize.into());
        }
        if step_ui(ui, Action::ZoomIn).clicked() {
            out.push(Action::ZoomIn.into());
        }
    });
}

/// Where on the sheet the pointer is, left of the zoom.
fn pointer_ui(ui: &Ui, cx: &Context<'_>, place: &Place, zoom: Rect) {
    let over = ui.input(|i| i.pointer.hover_pos());
    let over = over.filter(|at| place.canvas.contains(*at) && place.sheet_rect().contains(*at));
    let Some(at) = over.filter(|at| !zoom.contains(*at)).map(|at| place.face(at)) else { return };
    let (p, unit) = (theme::of(ui), cx.session.settings().unit);
    let text = format!("{}, {}", plain_length(at.x, unit), plain_length(at.y, unit));
    let painter = ui.painter_at(place.canvas);
    let galley = painter.layout_no_wrap(text, theme::small(), p.text);
    let size = Vec2::new(galley.size().x + 2.0 * MARGIN, SIZE.y);
    let rect = Rect::from_min_size(zoom.min - Vec2::new(size.x + theme::GAP, 0.0), size);
    theme::note_ground(&painter, rect, p);
    painter.galley(rect.center() - galley.size() / 2.0, galley, p.text);
}

const CLOSE: f32 = theme::CLOSE;

/// A button that zooms by a step: a plus or a minus.
fn step_ui(ui: &mut Ui, action: Action) -> Response {
    let (p, info) = (theme::of(ui), actions::of(action));
    let button = Button::new("").frame_when_inactive(false).min_size(Vec2::splat(STEP));
    let response = ui.add(button);
    theme::named(&response, egui::Role::Button, info.label);
    let (at, stroke) = (response.rect.center(), Stroke::new(1.5, p.text));
    ui.painter().hline(at.x - 5.0..=at.x + 5.0, at.y, stroke);
    if action == Action::ZoomIn {
        ui.painter().vline(at.x, at.y - 5.0..=at.y + 5.0, stroke);
    }
    response.on_hover_text(hint(ui, info))
}
