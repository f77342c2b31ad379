//! The stack of layers: sheets lying on one another in printing order, the stock at the bottom.

use egui::{
    Color32, CursorIcon, FontId, Mesh, Pos2, Rect, Response, Sense, Shape, Stroke, TextureHandle, Ui, Vec2,
};
use slipsheet_document::edit::{LayerEdit, SheetEdit};
use slipsheet_document::layer::Layer;
use slipsheet_editor::{FacePrint, Request};

use super::actions::{self, Action};
use super::context::{Component, Context};
use super::sheet::slip_short;
use super::{UiCommand, theme};

/// Height of one layer's row.
const ROW: f32 = 66.0;
/// Size of a drawn sheet before it is laid aslant.
const LEAF: Vec2 = Vec2::new(96.0, 76.0);
/// How far a sheet leans.
const LEAN: f32 = 24.0;
/// Where a row's words begin.
const WORDS: f32 = 124.0;

/// Small pictures of the layers in their inks.
#[derive(Default)]
struct Thumbnails(Vec<(FacePrint, [f32; 4], TextureHandle)>);

impl Thumbnails {
    /// The texture of a layer's thumbnail, made again when the print or the ink changed.
    fn texture(&mut self, ctx: &egui::Context, i: usize, print: &FacePrint, ink: Color32) -> egui::TextureId {
        let key = ink.to_normalized_gamma_f32();
        if let Some((_, _, texture)) = self.0.get(i).filter(|(p, k, _)| p == print && *k == key) {
            return texture.id();
        }
        let (w, h) = (print.thumbnail.width() as usize, print.thumbnail.height() as usize);
        let pixels = print
            .thumbnail
            .pixels()
            .iter()
            .map(|g| theme::see_through(ink, 1.0 - f32::from(*g) / 255.0))
            .collect();
        let image = egui::ColorImage::new([w, h], pixels);
        let texture = ctx.load_texture(format!("layer {i}"), image, egui::TextureOptions::LINEAR);
        let entry = (print.clone(), key, texture);
        let id = entry.2.id();
        match self.0.get_mut(i) {
            Some(old) => *old = entry,
            None => self.0.push(entry),
        }
        id
    }
}

/// The stack.
#[derive(Default)]
pub(crate) struct Stack {
    thumbnails: Thumbnails,
}

impl Component for Stack {
    fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        ui.horizontal(|ui| {
            ui.label(theme::heading("Layers"));
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let add = actions::of(Action::AddLayer);
                if ui.button("+").on_hover_text(super::menu::hint(ui, add)).clicked() {
                    out.push(Action::AddLayer.into());
                }
                ui.add_enabled_ui(cx.enabled(Action::RemoveLayer), |ui| {
                    let remove = actions::of(Action::RemoveLayer);
                    if ui.button("−").on_hover_text(super::menu::hint(ui, remove)).clicked() {
                        out.push(Action::RemoveLayer.into());
                    }
                });
            });
        });
        ui.label(
            egui::RichText::new("Printed last on top, the stock below").small().color(theme::of(ui).faint),
        );
        ui.add_space(theme::GAP);
        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            ui.add_space(10.0);
            let layers = cx.session.printing().sheet.layers.clone();
            let mut rows: Vec<(usize, Response)> = Vec::new();
            for (i, layer) in layers.iter().enumerate().rev() {
                let row = self.layer_ui(ui, cx, i, layer, out);
                rows.push((i, row));
            }
            let stock = self.stock_ui(ui, cx, out);
            self.leaves(ui, cx, &layers, &rows, stock);
            if let Some((from, to)) = reorder(ui, &rows)
                && let Some(layer) = layers.get(from)
            {
                let edit = SheetEdit::MoveLayer(layer.id, to);
                out.push(Request::sheet(cx.session.sheet().id, edit).into());
            }
        });
    }
}

impl Stack {
    fn layer_ui(
        &self,
        ui: &mut Ui,
        cx: &Context<'_>,
        i: usize,
        layer: &Layer,
        out: &mut Vec<UiCommand>,
    ) -> Response {
        let p = theme::of(ui);
        let (rect, response) =
            ui.allocate_exact_size(Vec2::new(ui.available_width(), ROW), Sense::click_and_drag());
        let selected = cx.session.selection().layer == Some(layer.id);
        response.widget_info(|| egui::WidgetInfo::selected(egui::Role::Button, true, selected, &layer.name));
        if response.clicked() || response.drag_started() {
            out.push(Request::Select(Some(layer.id), None).into());
        }
        let painter = ui.painter_at(rect.expand(2.0));
        row_ground(&painter, rect, &response, selected, p);
        let ink = theme::shown(layer.ink.solid.lab());
        let x = rect.left() + WORDS;
        let text = |y: f32, font: FontId, text: String, colour: Color32| {
            let mut job = egui::text::LayoutJob::simple_singleline(text, font, colour);
            job.wrap = egui::text::TextWrapping::truncate_at_width(rect.right() - x - 26.0);
            painter.galley(Pos2::new(x, rect.top() + y), ui.fonts_mut(|f| f.layout_job(job)), colour);
        };
        text(3.0, theme::strong_body(), layer.name.clone(), p.text);
        painter.rect(
            Rect::from_min_size(Pos2::new(x, rect.top() + 25.0), Vec2::splat(10.0)),
            theme::SWATCH,
            ink,
            Stroke::new(1.0, p.line),
            egui::StrokeKind::Outside,
        );
        let ink_font = theme::small();
        let mut job = egui::text::LayoutJob::simple_singleline(layer.ink.name.clone(), ink_font, p.faint);
        job.wrap = egui::text::TextWrapping::truncate_at_width(rect.right() - x - 22.0);
        painter.galley(Pos2::new(x + 15.0, rect.top() + 22.0), ui.fonts_mut(|f| f.layout_job(job)), p.faint);
        let coverage =
            cx.print_of(i).map_or_else(|| "…".to_owned(), |f| format!("{:.0} % covered", f.coverage * 100.0));
        text(36.0, theme::small(), coverage, p.faint);
        let face = if cx.session.printing().sheet.two_sided() {
            format!("{}, ", layer.face.name())
        } else {
            String::new()
        };
        let position = if layer.slip.is_none() {
            let printed = if face.is_empty() { "printed " } else { "" };
            format!("{face}{printed}{}", ordinal(i + 1))
        } else {
            format!("{face}{}", slip_short(layer.slip, cx.session.settings().unit))
        };
        text(50.0, theme::small(), position, if layer.slip.is_none() { p.faint } else { p.warning });
        switch_ui(ui, rect, i, layer, p, out);
        response.on_hover_cursor(CursorIcon::PointingHand)
    }

    /// The stock, at the bottom of the stack.
    fn stock_ui(&self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) -> Rect {
        let p = theme::of(ui);
        let (rect, response) = ui.allocate_exact_size(Vec2::new(ui.available_width(), ROW), Sense::click());
        let painter = ui.painter_at(rect.expand(2.0));
        let stock = &cx.session.printing().sheet.stock;
        let says = format!("Stock: {}", stock.name);
        let selected = cx.session.selection().layer.is_none();
        response.widget_info(|| egui::WidgetInfo::selected(egui::Role::Button, true, selected, &says));
        row_ground(&painter, rect, &response, selected, p);
        if response.on_hover_cursor(CursorIcon::PointingHand).clicked() {
            out.push(Request::Select(None, None).into());
        }
        let x = rect.left() + WORDS;
        let lines = [
            (stock.name.clone(), theme::body(), p.text),
            (
                format!("{} · {:.0} gsm", stock.finish.name().to_lowercase(), stock.gsm),
                theme::small(),
                p.faint,
            ),
            (
                if stock.colour.measured() { "measured" } else { "estimate" }.to_owned(),
                theme::small(),
                p.faint,
            ),
        ];
        for (k, (text, font, colour)) in lines.into_iter().enumerate() {
            let mut job = egui::text::LayoutJob::simple_singleline(text, font, colour);
            job.wrap = egui::text::TextWrapping::truncate_at_width(rect.right() - x - 4.0);
            painter.galley(
                Pos2::new(x, rect.top() + 12.0 + 17.0 * k as f32),
                ui.fonts_mut(|f| f.layout_job(job)),
                colour,
            );
        }
        rect
    }

    /// The sheets themselves, from the stock up, so that each lies on what was printed before it.
    fn leaves(
        &mut self,
        ui: &Ui,
        cx: &Context<'_>,
        layers: &[Layer],
        rows: &[(usize, Response)],
        stock: Rect,
    ) {
        let p = theme::of(ui);
        let paper = theme::shown(cx.session.printing().sheet.stock.colour.lab());
        paint_leaf(ui.painter(), leaf_of(stock), paper, p.line, None, 1.0);
        for ((i, row), layer) in rows.iter().rev().zip(layers) {
            let ink = theme::shown(layer.ink.solid.lab());
            let texture = cx
                .desk
                .prints
                .get(*i)
                .and_then(Option::as_ref)
                .map(|print| self.thumbnails.texture(ui.ctx(), *i, print, ink));
            let fade = if layer.visible { 1.0 } else { 0.3 };
            paint_leaf(ui.painter(), leaf_of(row.rect), p.leaf, p.line, texture, fade);
        }
    }
}

/// The ground of a row: selected, under the pointer, or none.
fn row_ground(painter: &egui::Painter, rect: Rect, row: &Response, selected: bool, p: theme::Palette) {
    if selected {
        painter.rect_filled(rect, theme::CONTROL, p.selection);
        painter.rect_stroke(rect, theme::CONTROL, Stroke::new(1.0, p.accent), egui::StrokeKind::Inside);
    } else if row.hovered() || row.has_focus() {
        painter.rect_filled(rect, theme::CONTROL, theme::see_through(p.text, 0.06));
    }
}

/// Where a row's sheet lies: it reaches over the row below.
fn leaf_of(row: Rect) -> Rect {
    Rect::from_center_size(Pos2::new(row.left() + 64.0, row.center().y + 2.0), LEAF)
}

/// A row that is dragged shows where it will be put; when it is let go, from which position it goes to which.
fn reorder(ui: &Ui, rows: &[(usize, Response)]) -> Option<(usize, usize)> {
    let (from, row) = rows.iter().find(|(_, r)| r.dragged() || r.drag_stopped())?;
    let pointer = ui.input(|i| i.pointer.latest_pos())?;
    // Rows lie top down, the last printed first.
    let above = rows.iter().filter(|(_, r)| r.rect.center().y < pointer.y).count();
    let slot = rows.len() - above;
    let to = if slot > *from { slot - 1 } else { slot };
    if row.drag_stopped() {
        return (to != *from).then_some((*from, to));
    }
    ui.set_cursor_icon(CursorIcon::Grabbing);
    let below = rows.get(above).map(|(_, r)| r.rect.top());
    let y = below.or(rows.last().map(|(_, r)| r.rect.bottom())).unwrap_or(pointer.y);
    ui.painter().hline(row.rect.x_range(), y, Stroke::new(3.0, theme::of(ui).accent));
    None
}

fn switch_ui(ui: &Ui, row: Rect, i: usize, layer: &Layer, p: theme::Palette, out: &mut Vec<UiCommand>) {
    let rect = Rect::from_center_size(Pos2::new(row.right() - 16.0, row.top() + 17.0), Vec2::splat(22.0));
    let response = ui.interact(rect, ui.scope_id().with(("shown", i)), Sense::click());
    let label = format!("{} {}", if layer.visible { "Hide" } else { "Show" }, layer.name);
    response.widget_info(|| egui::WidgetInfo::selected(egui::Role::CheckBox, true, layer.visible, &label));
    let colour = if response.hovered() {
        p.accent
    } else if layer.visible {
        p.text
    } else {
        p.faint
    };
    paint_switch(ui.painter(), rect.center(), colour, layer.visible);
    if response.on_hover_text(label).clicked() {
        out.push(Request::layer(layer.id, LayerEdit::Visible(!layer.visible)).into());
    }
}

/// A small sheet aslant: full when the layer is shown, an outline when it is hidden.
fn paint_switch(painter: &egui::Painter, at: Pos2, colour: Color32, shown: bool) {
    let corners = [(-3.0, -4.5), (8.0, -4.5), (3.0, 4.5), (-8.0, 4.5)].map(|(x, y)| at + Vec2::new(x, y));
    let fill = if shown { colour } else { Color32::TRANSPARENT };
    painter.add(Shape::convex_polygon(corners.to_vec(), fill, Stroke::new(1.4, colour)));
}

/// A sheet laid aslant, with the layer's picture on it.
fn paint_leaf(
    painter: &egui::Painter,
    r: Rect,
    leaf: Color32,
    line: Color32,
    texture: Option<egui::TextureId>,
    fade: f32,
) {
    let half = LEAN / 2.0;
    let corners = [
        r.left_top() + Vec2::new(half, 0.0),
        r.right_top() + Vec2::new(half, 0.0),
        r.right_bottom() - Vec2::new(half, 0.0),
        r.left_bottom() - Vec2::new(half, 0.0),
    ];
    let shadow: Vec<Pos2> = corners.iter().map(|c| *c + Vec2::new(2.0, 4.0)).collect();
    painter.add(Shape::convex_polygon(shadow, theme::see_through(theme::SHADE, 0.16), Stroke::NONE));
    painter.add(Shape::convex_polygon(
        corners.to_vec(),
        theme::see_through(leaf, fade.max(0.4)),
        Stroke::new(1.0, line),
    ));
    if let Some(texture) = texture {
        let mut mesh = Mesh::with_texture(texture);
        let tint = theme::see_through(theme::UNTINTED, fade);
        for (pos, uv) in corners.into_iter().zip([
            Pos2::new(0.0, 0.0),
            Pos2::new(1.0, 0.0),
            Pos2::new(1.0, 1.0),
            Pos2::new(0.0, 1.0),
        ]) {
            mesh.vertices.push(egui::epaint::Vertex { pos, uv, color: tint });
        }
        mesh.add_triangle(0, 1, 2);
        mesh.add_triangle(0, 2, 3);
        painter.add(Shape::mesh(mesh));
    }
}

fn ordinal(n: usize) -> String {
    let ending = match (n % 10, n % 100) {
        (1, r) if r != 11 => "st",
        (2, r) if r != 12 => "nd",
        (3, r) if r != 13 => "rd",
        _ => "th",
    };
    format!("{n}{ending}")
}

#[cfg(test)]
mod tests {
    #[test]
    fn ordinals_end_as_english_has_them() {
        let got: Vec<String> = [1, 2, 3, 4, 11, 12, 13, 21].map(super::ordinal).into();
        assert_eq!(got, ["1st", "2nd", "3rd", "4th", "11th", "12th", "13th", "21st"]);
    }
}
