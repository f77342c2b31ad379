//! The picture and its print, and which of its looks is shown.

use egui::{RichText, TextureHandle, Ui, Vec2};
use slipsheet_core::raster::ColourRaster;
use slipsheet_core::words::percent;
use slipsheet_editor::Look;

use super::{Separating, texture};
use crate::window::theme;

/// The least share of a picture that is said.
const LEAST_SAID: f64 = 0.0005;

impl Separating {
    /// The picture, and its print beside it or under it.
    pub(super) fn pictures_ui(&mut self, ui: &mut Ui, size: Vec2) {
        let p = theme::of(ui);
        ui.horizontal_wrapped(|ui| {
            let plates: Vec<(Look, String)> =
                self.inks.iter().enumerate().map(|(k, ink)| (Look::Plate(k), ink.name.clone())).collect();
            let ways = [
                (Look::Print, "Print"),
                (Look::Slipped, "Slipped"),
                (Look::OutOfReach, "Out of reach"),
                (Look::Difference, "Difference"),
            ];
            let tips = [
                "The print as it is predicted",
                "The same with every plate slipped as far as two passes usually lie apart",
                "Hatched where the inks cannot print what it aims at",
                "How far the print is from what it aims at; black is 20 CIEDE2000 or more",
            ];
            for ((look, name), tip) in ways.into_iter().zip(tips) {
                ui.selectable_value(&mut self.look, look, name).on_hover_text(tip);
            }
            ui.separator();
            for (look, name) in plates {
                ui.selectable_value(&mut self.look, look, &name)
                    .on_hover_text("This plate alone, in its ink");
            }
        });
        ui.add_space(theme::GAP);
        let source = self.source.get_or_insert_with(|| source_texture(ui.ctx(), &self.of.small));
        let (w, h) = (self.of.small.width() as f32, self.of.small.height() as f32);
        let room = Vec2::new(size.x, size.y - 84.0);
        // Beside one another where that leaves them larger than one under the other.
        let beside = (room.x - theme::GAP) / 2.0;
        let wide = (beside / w).min(room.y / h);
        let tall = (room.x / w).min((room.y - theme::GAP) / 2.0 / h);
        let scale = wide.max(tall);
        let each = Vec2::new(w * scale, h * scale);
        let print = self.shown.as_ref().map(|s| &s.texture);
        let show = |ui: &mut Ui| {
            ui.spacing_mut().item_spacing = Vec2::splat(theme::GAP);
            ui.add(egui::Image::new(&*source).fit_to_exact_size(each).alt_text("Picture"));
            match print {
                Some(texture) => {
                    ui.add(egui::Image::new(texture).fit_to_exact_size(each).alt_text("Predicted print"));
                }
                None => drop(ui.allocate_space(each)),
            }
        };
        if wide >= tall {
            ui.horizontal(show).inner
        } else {
            ui.vertical(show).inner
        }
        ui.add_space(theme::GAP);
        let said = match (&self.trouble, &self.shown) {
            (Some(why), _) => RichText::new(why).color(p.error),
            (None, None) => RichText::new("Working out the plates…").color(p.faint),
            (None, Some(shown)) => {
                let mut text = format!(
                    "Differs by {:.1} (CIEDE2000) on the mean from the picture with its white as paper.",
                    shown.mean
                );
                if shown.far >= LEAST_SAID {
                    text.push_str(&format!(" {} is out of the inks' reach.", percent(shown.far)));
                }
                RichText::new(text)
            }
        };
        ui.add(egui::Label::new(said).wrap());
    }
}

/// The picture as a screen shows it.
fn source_texture(ctx: &egui::Context, picture: &ColourRaster) -> TextureHandle {
    let shown = slipsheet_editor::as_shown(picture);
    texture(ctx, "picture", &shown)
}
