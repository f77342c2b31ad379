//! A page of the pack, large over the window.

use egui::{Context, Key, Modal, Vec2};

use super::handover::Pages;
use crate::window::theme;

impl Pages {
    /// The page that was clicked, until another click or a key.
    pub fn enlarged_ui(&mut self, ctx: &Context) {
        let Some(at) = self.enlarged else { return };
        let Some(page) = self.pages.get(at) else {
            self.enlarged = None;
            return;
        };
        let room = ctx.content_rect().size() - Vec2::new(120.0, 150.0);
        let size = page.texture.size_vec2();
        let scale = (room.x / size.x).min(room.y / size.y).max(0.1);
        let (mut step, mut close) = (0_isize, false);
        let shown = Modal::new(egui::Id::unique("a page of the pack")).frame(theme::dialog_frame(ctx)).show(
            ctx,
            |ui| {
                ui.horizontal(|ui| {
                    ui.label(theme::heading(&page.caption));
                    ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                        close |= ui.button("Close").clicked();
                        if ui.button("Next page").clicked() {
                            step = 1;
                        }
                        if ui.button("Previous page").clicked() {
                            step = -1;
                        }
                    });
                });
                ui.add(
                    egui::Image::new(&page.texture).fit_to_exact_size(size * scale).alt_text(&page.caption),
                );
            },
        );
        ctx.input(|i| {
            step += isize::from(i.key_pressed(Key::ArrowRight)) - isize::from(i.key_pressed(Key::ArrowLeft));
        });
        let last = self.pages.len().saturating_sub(1);
        self.enlarged = (!close && !shown.should_close()).then(|| at.saturating_add_signed(step).min(last));
    }
}
