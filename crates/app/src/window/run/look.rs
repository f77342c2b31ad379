//! One copy whole, beside the print as it is meant.

use egui::{Key, Modifiers, Pos2, Rect, RichText, Sense, Ui, Vec2};

use super::RunView;
use crate::window::context::Context;
use crate::window::sheet::plain_length;
use crate::window::theme;

/// Room of the words over each picture.
const WORDS: f32 = 22.0;

impl RunView {
    pub(super) fn look_ui(&mut self, ui: &mut Ui, cx: &Context<'_>) {
        let p = theme::of(ui);
        let acceptance = cx.session.project().acceptance;
        let ranked = cx.desk.run.copies_for(&acceptance).map_or(&[][..], |copies| &copies.ranked);
        let Some(copy) = self.looked_at else { return };
        let at = ranked.iter().position(|c| *c == copy).unwrap_or(0);
        let mut step = 0_isize;
        let mut back = false;
        ui.horizontal(|ui| {
            back =
                ui.button("All copies").on_hover_text("Back to the copies side by side (Escape)").clicked();
            if ui.button("Better").on_hover_text("The next better copy (left arrow)").clicked() {
                step -= 1;
            }
            if ui.button("Worse").on_hover_text("The next worse copy (right arrow)").clicked() {
                step += 1;
            }
            ui.label(format!("Copy {}, {} of {} from the best", copy + 1, at + 1, ranked.len()));
            self.facts_ui(ui, cx, copy);
        });
        if cx.reach.views() {
            ui.input_mut(|i| {
                step += i.count_and_consume_key(Modifiers::NONE, Key::ArrowRight) as isize;
                step -= i.count_and_consume_key(Modifiers::NONE, Key::ArrowLeft) as isize;
                back |= i.consume_key(Modifiers::NONE, Key::Escape);
            });
        }
        ui.add_space(theme::GAP);

        let room = ui.available_size();
        let half = Vec2::new(((room.x - theme::GROUP_GAP) / 2.0).floor(), room.y - WORDS);
        let scale = ui.ctx().pixels_per_point();
        self.look_pixels = [half.x, half.y].map(|v| (v * scale).max(32.0) as u32);
        let shown = cx.desk.run.look(copy);
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = theme::GROUP_GAP;
            for (i, name) in ["This copy", "As it is meant"].into_iter().enumerate() {
                ui.vertical(|ui| {
                    ui.set_width(half.x);
                    ui.label(RichText::new(name).font(theme::strong_body()));
                    let (rect, response) = ui.allocate_exact_size(half, Sense::click());
                    theme::named(&response, egui::Role::Image, name);
                    let Some(texture) = shown.get(i) else {
                        ui.painter().text(
                            rect.center(),
                            egui::Align2::CENTER_CENTER,
                            "…",
                            theme::body(),
                            p.faint,
                        );
                        return;
                    };
                    let size = texture.size_vec2() / scale;
                    let picture =
                        Rect::from_min_size(rect.min, size * (half.x / size.x).min(half.y / size.y).min(1.0));
                    let uv = Rect::from_min_max(Pos2::ZERO, Pos2::new(1.0, 1.0));
                    ui.painter().image(texture.id(), picture, uv, theme::UNTINTED);
                    self.pick_place(cx, &response, picture);
                });
            }
        });
        if back {
            self.looked_at = None;
        } else if step != 0 {
            let to = at.saturating_add_signed(step).min(ranked.len().saturating_sub(1));
            self.looked_at = ranked.get(to).copied().or(Some(copy));
        }
    }

    /// A click on the sheet looks at all copies there.
    fn pick_place(&mut self, cx: &Context<'_>, response: &egui::Response, picture: Rect) {
        let Some(study) = &cx.desk.run.study else { return };
        let tip = "Click a place to see it on all copies";
        if let Some(at) =
            response.clone().on_hover_text(tip).interact_pointer_pos().filter(|_| response.clicked())
            && picture.contains(at)
        {
            let share = (at - picture.min) / picture.size();
            let sheet = study.sheet;
            let x = f64::from(share.x) * sheet.width.get();
            let y = f64::from(share.y) * sheet.height.get();
            self.place = Some(slipsheet_core::geometry::Point::new(x, y));
            self.looked_at = None;
        }
    }

    /// What is known of a copy.
    fn facts_ui(&self, ui: &mut Ui, cx: &Context<'_>, copy: usize) {
        let p = theme::of(ui);
        let acceptance = cx.session.project().acceptance;
        let unit = cx.session.settings().unit;
        let Some(opening) = cx.desk.run.copies_for(&acceptance).and_then(|c| c.openings.get(copy)) else {
            return;
        };
        if let Some(sells) = cx.desk.run.sells(copy, &acceptance) {
            let (word, colour) = if sells { ("Would sell", p.good) } else { ("Would not sell", p.error) };
            ui.label(RichText::new(word).font(theme::strong_body()).color(colour));
        }
        let mut text = format!("widest gap {}", plain_length(opening.widest, unit));
        if let Some(change) = cx.desk.run.changes.get(copy) {
            text += &format!(
                "; colour {:.1} off on the mean, at most {:.1} on 95 % of the sheet",
                change.mean, change.most
            );
        }
        ui.add(egui::Label::new(RichText::new(text).color(p.faint)).truncate());
    }
}
