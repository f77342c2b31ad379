//! Choosing an ink or a stock from the shelf: each choice is shown printed, on the stock in use.

use egui::{Color32, Pos2, Rect, Sense, Stroke, Ui, Vec2};
use slipsheet_core::ink::{Ink, Swatch};
use slipsheet_core::overprint::Overprint;
use slipsheet_core::stock::Stock;

use super::theme;

/// Steps of the little ramp: asked-for coverage.
const RAMP: [f64; 4] = [0.15, 0.4, 0.7, 1.0];

/// The colours an ink gives on a stock, light to solid.
fn ramp(stock: &Stock, ink: &Ink) -> Vec<Color32> {
    let Ok(model) = Overprint::of(stock, &[ink], &[]) else { return Vec::new() };
    RAMP.iter().map(|asked| theme::rgb(model.mix(&[ink.curve.effective(*asked)]).shown().rgb)).collect()
}

/// A strip of an ink printed on a stock: bare paper around a ramp of four tints.
pub(super) fn ink_strip(ui: &Ui, rect: Rect, stock: &Stock, ink: &Ink) {
    let p = theme::of(ui);
    let painter = ui.painter_at(rect.expand(1.0));
    painter.rect(
        rect,
        3.0,
        theme::shown(stock.colour.lab()),
        Stroke::new(1.0, p.line),
        egui::StrokeKind::Outside,
    );
    let inner = rect.shrink2(Vec2::new(5.0, 4.0));
    let width = inner.width() / RAMP.len() as f32;
    for (k, colour) in ramp(stock, ink).into_iter().enumerate() {
        let x = inner.left() + width * k as f32;
        painter.rect_filled(
            Rect::from_min_size(Pos2::new(x, inner.top()), Vec2::new(width, inner.height())),
            0.0,
            colour,
        );
    }
}

/// A strip of a stock with every ink in use printed on it.
pub(super) fn stock_strip(ui: &Ui, rect: Rect, stock: &Stock, inks: &[Ink]) {
    let p = theme::of(ui);
    let painter = ui.painter_at(rect.expand(1.0));
    painter.rect(
        rect,
        3.0,
        theme::shown(stock.colour.lab()),
        Stroke::new(1.0, p.line),
        egui::StrokeKind::Outside,
    );
    let inner = rect.shrink2(Vec2::new(5.0, 5.0));
    let width = (inner.width() / inks.len().max(1) as f32).min(26.0);
    for (k, ink) in inks.iter().enumerate() {
        let Some(solid) = ramp(stock, ink).pop() else { continue };
        let x = inner.left() + width * k as f32;
        painter.rect_filled(
            Rect::from_min_size(Pos2::new(x, inner.top()), Vec2::new(width - 2.0, inner.height())),
            1.0,
            solid,
        );
    }
}

/// What a choice is called and how well its colour is known.
struct Choice<'a> {
    name: &'a str,
    standing: &'a str,
    chosen: bool,
}

/// One choice of a list; whether it was taken.
fn choice_ui(ui: &mut Ui, choice: &Choice<'_>, strip: impl FnOnce(&Ui, Rect)) -> bool {
    let p = theme::of(ui);
    let (rect, response) = ui.allocate_exact_size(Vec2::new(ui.available_width(), 40.0), Sense::click());
    response.widget_info(|| egui::WidgetInfo::selected(egui::Role::Button, true, choice.chosen, choice.name));
    if choice.chosen {
        ui.painter().rect_filled(rect, theme::CONTROL, p.selection);
    } else if response.hovered() {
        ui.painter().rect_filled(rect, theme::CONTROL, theme::see_through(p.text, 0.06));
    }
    strip(ui, Rect::from_min_size(rect.min + Vec2::new(5.0, 6.0), Vec2::new(104.0, 28.0)));
    caption(ui, rect, choice.name, choice.standing);
    response.on_hover_cursor(egui::CursorIcon::PointingHand).clicked()
}

fn standing(measured: bool) -> &'static str {
    if measured { "measured" } else { "estimate" }
}

/// Something of the shelf that can be chosen by how it looks printed.
trait Printed {
    fn name(&self) -> &str;
    fn colour(&self) -> &Swatch;
}

impl Printed for Ink {
    fn name(&self) -> &str {
        &self.name
    }

    fn colour(&self) -> &Swatch {
        &self.solid
    }
}

impl Printed for Stock {
    fn name(&self) -> &str {
        &self.name
    }

    fn colour(&self) -> &Swatch {
        &self.colour
    }
}

/// A button that shows the ink in use and opens the shelf's inks; the one chosen comes back.
pub(super) fn ink_picker(ui: &mut Ui, stock: &Stock, current: &Ink, shelf: &[Ink]) -> Option<Ink> {
    picker(ui, "Choose an ink", current, shelf, |ui, rect, ink| ink_strip(ui, rect, stock, ink))
}

/// The same for the stock, shown with the inks in use.
pub(super) fn stock_picker(ui: &mut Ui, current: &Stock, inks: &[Ink], shelf: &[Stock]) -> Option<Stock> {
    picker(ui, "Choose a stock", current, shelf, |ui, rect, stock| stock_strip(ui, rect, stock, inks))
}

fn picker<T: Printed + Clone>(
    ui: &mut Ui,
    label: &str,
    current: &T,
    shelf: &[T],
    strip: impl Fn(&Ui, Rect, &T),
) -> Option<T> {
    let (rect, response) = ui.allocate_exact_size(Vec2::new(ui.available_width(), 40.0), Sense::click());
    theme::named(&response, egui::Role::ComboBox, label);
    frame(ui, rect, &response);
    strip(ui, Rect::from_min_size(rect.min + Vec2::new(6.0, 6.0), Vec2::new(104.0, 28.0)), current);
    caption(ui, rect, current.name(), standing(current.colour().measured()));
    arrow(ui, rect);
    let mut chosen = None;
    egui::Popup::menu(&response).width(rect.width().max(300.0)).show(|ui| {
        egui::ScrollArea::vertical().max_height(420.0).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 1.0;
            for item in shelf {
                let choice = Choice {
                    name: item.name(),
                    standing: standing(item.colour().measured()),
                    chosen: item.name() == current.name(),
                };
                if choice_ui(ui, &choice, |ui, rect| strip(ui, rect, item)) {
                    chosen = Some(item.clone());
                    ui.close();
                }
            }
        });
    });
    response.on_hover_text(format!("{}: {}", current.name(), current.colour().standing()));
    chosen
}

fn frame(ui: &Ui, rect: Rect, response: &egui::Response) {
    let visuals = ui.style().interact(response);
    ui.painter().rect(
        rect,
        theme::CONTROL,
        visuals.weak_bg_fill,
        visuals.bg_stroke,
        egui::StrokeKind::Inside,
    );
}

fn caption(ui: &Ui, rect: Rect, name: &str, standing: &str) {
    let p = theme::of(ui);
    let x = rect.left() + 120.0;
    for (y, font, text, colour) in
        [(4.0, theme::body(), name, p.text), (21.0, theme::small(), standing, p.faint)]
    {
        let mut job = egui::text::LayoutJob::simple_singleline(text.to_owned(), font, colour);
        job.wrap = egui::text::TextWrapping::truncate_at_width(rect.right() - x - 20.0);
        let galley = ui.fonts_mut(|f| f.layout_job(job));
        ui.painter().galley(Pos2::new(x, rect.top() + y), galley, colour);
    }
}

/// Says that a list opens.
fn arrow(ui: &Ui, rect: Rect) {
    let p = theme::of(ui);
    let tip = Pos2::new(rect.right() - 13.0, rect.center().y + 2.5);
    let arrow = vec![tip, tip + Vec2::new(-4.0, -5.0), tip + Vec2::new(4.0, -5.0)];
    ui.painter().add(egui::Shape::convex_polygon(arrow, p.faint, Stroke::NONE));
}
