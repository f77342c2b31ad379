//! The list of marks: which they are, how they were found, what each is off, and whether it counts.

use egui::{Align, Button, Layout, RichText, ScrollArea, Ui, Vec2};
use slipsheet_core::geometry::Point;
use slipsheet_core::units::Size;
use slipsheet_registration::register::Seen;

use super::LineUp;
use crate::window::theme;

/// From here on a residual is pointed out, in mm: more than the visible gap of a kiss fit.
const MUCH: f64 = 0.3;

/// The height of a row, and the room for what a mark is off and for how it was found.
const ROW: f32 = 20.0;
const OFF: f32 = 66.0;
const HOW: f32 = 48.0;

impl LineUp {
    pub(super) fn list_ui(&mut self, ui: &mut Ui, height: f32) {
        let mut chosen = None;
        let mut changed = false;
        ScrollArea::vertical().max_height(height).auto_shrink([false, false]).show(ui, |ui| {
            ui.spacing_mut().item_spacing.y = 2.0;
            for i in 0..self.table.marks.len() {
                ui.horizontal(|ui| {
                    changed |= self.count_ui(ui, i);
                    if self.row_ui(ui, i) {
                        chosen = Some(i);
                    }
                });
            }
        });
        if changed {
            self.solve();
        }
        if let Some(i) = chosen {
            self.select(i);
        }
    }

    /// Whether a mark counts.
    fn count_ui(&mut self, ui: &mut Ui, i: usize) -> bool {
        let Some(mark) = self.table.marks.get_mut(i) else { return false };
        let tick = ui.add_enabled(mark.seen != Seen::Missing, egui::Checkbox::without_text(&mut mark.used));
        let (enabled, used) = (mark.seen != Seen::Missing, mark.used);
        tick.widget_info(|| {
            egui::WidgetInfo::selected(egui::Role::CheckBox, enabled, used, format!("Mark {} counts", i + 1))
        });
        tick.on_hover_text("Whether this mark counts").changed()
    }

    fn row_ui(&self, ui: &mut Ui, i: usize) -> bool {
        let p = theme::of(ui);
        let Some(mark) = self.table.marks.get(i) else { return false };
        let text = format!("{}  {}, {}", i + 1, mark.kind.name(), place_of(mark.on_sheet, self.table.sheet));
        let (how, tip) = match mark.seen {
            Seen::Found(score) => {
                ("", format!("Found; its lines agree with the mark to {:.0} %", score * 100.0))
            }
            Seen::ByHand => ("by hand", "Set by hand".to_owned()),
            Seen::Missing => ("", "Not found: set it by hand in the loupe or on the scan".to_owned()),
        };
        let mut clicked = false;
        ui.with_layout(Layout::right_to_left(Align::Center), |ui| {
            let residual = self.fit.as_ref().ok().and_then(|f| f.residuals_mm.get(i).copied().flatten());
            let (off, colour) = match residual {
                Some(mm) if mm > MUCH && mark.used => (format!("{mm:.2} mm"), p.warning),
                Some(mm) if mark.used => (format!("{mm:.2} mm"), p.text),
                Some(mm) => (format!("{mm:.2} mm"), p.faint),
                None if mark.seen == Seen::Missing => ("not found".to_owned(), p.warning),
                None => ("…".to_owned(), p.faint),
            };
            ui.add_sized([OFF, ROW], egui::Label::new(RichText::new(off).color(colour)).halign(Align::RIGHT));
            // Its room is kept while it says nothing, so that the name beside it stays where it is.
            let how = egui::Label::new(RichText::new(how).small().color(p.faint)).halign(Align::RIGHT);
            ui.add_sized([HOW, ROW], how);
            let text = (RichText::new(text).size(theme::SMALL), egui::Atom::grow());
            let row = Button::selectable(i == self.selected, text)
                .truncate()
                .min_size(Vec2::new(ui.available_width(), ROW));
            ui.with_layout(Layout::left_to_right(Align::Center), |ui| {
                clicked = ui.add(row).on_hover_text(tip).clicked();
            });
        });
        clicked
    }
}

/// Where a mark belongs, in words.
fn place_of(at: Point, sheet: Size) -> &'static str {
    let third = |v: f64, all: f64| if v < all / 3.0 { 0 } else { 1 + i32::from(v > all * 2.0 / 3.0) };
    match (third(at.x, sheet.width.get()), third(at.y, sheet.height.get())) {
        (0, 0) => "top left",
        (1, 0) => "top",
        (_, 0) => "top right",
        (0, 1) => "left",
        (1, 1) => "middle",
        (_, 1) => "right",
        (0, _) => "bottom left",
        (1, _) => "bottom",
        _ => "bottom right",
    }
}
