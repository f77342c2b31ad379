//! A page of the pack, large over the window.

use egui::{Key, Ui, Vec2};

use crate::window::context::Context;
use crate::window::dialogs::Next;
use crate::window::theme;

/// The page that was clicked, until another click or a key.
pub(in crate::window) fn ui(ui: &mut Ui, cx: &Context<'_>, at: &mut usize) -> Next {
    let Some(page) = cx.desk.pages.drawn().get(*at) else { return Next::Close };
    let room = ui.ctx().content_rect().size() - Vec2::new(120.0, 150.0);
    let size = page.texture.size_vec2();
    let scale = (room.x / size.x).min(room.y / size.y).max(0.1);
    let (mut step, mut next) = (0_isize, Next::Stay);
    ui.horizontal(|ui| {
        ui.label(theme::heading(&page.caption));
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            if ui.button("Close").clicked() {
                next = Next::Close;
            }
            if ui.button("Next page").clicked() {
                step = 1;
            }
            if ui.button("Previous page").clicked() {
                step = -1;
            }
        });
    });
    ui.add(egui::Image::new(&page.texture).fit_to_exact_size(size * scale).alt_text(&page.caption));
    ui.input(|i| {
        step += isize::from(i.key_pressed(Key::ArrowRight)) - isize::from(i.key_pressed(Key::ArrowLeft));
    });
    *at = at.saturating_add_signed(step).min(cx.desk.pages.drawn().len().saturating_sub(1));
    next
}
