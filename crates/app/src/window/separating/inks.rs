//! The inks of a separation in printing order, proposals of inks, and how colours are brought within their reach.

use egui::{ComboBox, RichText, Slider, Ui, Vec2};
use slipsheet_core::separation::{DetailShare, InkSum, Intent, MOST_INKS};
use slipsheet_editor::Look;

use super::{COLUMN, Separating};
use crate::window::context::Context;
use crate::window::number::drag;
use crate::window::{UiCommand, pickers, theme};

/// The most room that the picture of a set of inks takes.
const SET: Vec2 = Vec2::new(96.0, 72.0);
/// How many inks are proposed together.
const COUNTS: [usize; 3] = [2, 3, 4];

impl Separating {
    /// The inks in printing order, and proposals.
    pub(super) fn inks_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        let stock = &cx.session.sheet().stock;
        ui.label(theme::heading("Inks, first printed first"));
        let (mut up, mut gone, mut other) = (None, None, None);
        for (k, ink) in self.inks.iter().enumerate() {
            ui.push_id(("ink", k), |ui| {
                ui.horizontal(|ui| {
                    ui.vertical(|ui| {
                        ui.set_width(COLUMN - 120.0);
                        if let Some(chosen) = pickers::ink_picker(ui, stock, ink, &cx.session.shelf().inks) {
                            other = Some((k, chosen));
                        }
                    });
                    let earlier = ui.add_enabled(k > 0, egui::Button::new("Up"));
                    theme::named(&earlier, egui::Role::Button, format!("Print {} earlier", ink.name));
                    if earlier.on_hover_text("Print it earlier").clicked() {
                        up = Some(k);
                    }
                    let remove = ui.add_enabled(self.inks.len() > 1, egui::Button::new("−"));
                    theme::named(&remove, egui::Role::Button, format!("Leave {} out", ink.name));
                    if remove.on_hover_text("Leave it out").clicked() {
                        gone = Some(k);
                    }
                });
            });
        }
        if let Some((k, chosen)) = other
            && !self.inks.iter().any(|ink| ink.name == chosen.name)
            && let Some(ink) = self.inks.get_mut(k)
        {
            *ink = chosen;
        }
        if let Some(k) = up.filter(|k| *k > 0) {
            self.inks.swap(k, k - 1);
        }
        if let Some(k) = gone {
            self.inks.remove(k);
            if matches!(self.look, Look::Plate(_)) {
                self.look = Look::Print;
            }
        }
        let room = self.inks.len() < MOST_INKS;
        ui.add_enabled_ui(room, |ui| {
            let combo = ComboBox::from_id_salt("add ink").selected_text("Add an ink…").width(200.0);
            let combo = combo.show_ui(ui, |ui| {
                for ink in &cx.session.shelf().inks {
                    let there = self.inks.iter().any(|own| own.name == ink.name);
                    if !there && ui.selectable_label(false, &ink.name).clicked() {
                        self.inks.push(ink.clone());
                    }
                }
            });
            theme::named(&combo.response, egui::Role::ComboBox, "Add an ink");
        });
        ui.add_space(theme::GAP);
        ui.horizontal(|ui| {
            ui.label("Choose for me");
            for count in COUNTS.into_iter().filter(|n| *n <= cx.session.shelf().inks.len()) {
                let button = ui.add_enabled(self.choosing.is_none(), egui::Button::new(format!("{count}")));
                theme::named(&button, egui::Role::Button, format!("Choose {count} inks for me"));
                if button.on_hover_text("The inks of the shelf that print this picture nearest").clicked() {
                    self.choose(count, cx, out);
                }
            }
            if self.choosing.is_some() {
                ui.label(RichText::new("trying the shelf…").small().color(p.faint));
            }
        });
        let mut taken = None;
        if let Some(chosen) = &self.chosen {
            ui.add_space(theme::GAP);
            for (at, (inks, mean, texture)) in chosen.sets.iter().enumerate() {
                ui.horizontal_top(|ui| {
                    let size = texture.size_vec2();
                    let image = egui::Image::new(texture).fit_to_exact_size(size * (SET / size).min_elem());
                    let button = ui.add(egui::Button::image(image.alt_text("Print")));
                    let name = format!("Use set {} of {}", at + 1, chosen.count);
                    theme::named(&button, egui::Role::Button, name);
                    if button.on_hover_text("Use these inks").clicked() {
                        taken = Some(inks.clone());
                    }
                    ui.vertical(|ui| {
                        ui.spacing_mut().item_spacing.y = 2.0;
                        let names: Vec<&str> = inks.iter().map(|ink| ink.name.as_str()).collect();
                        ui.add(egui::Label::new(names.join(", ")).wrap());
                        let off = format!("comes within {mean:.1} on the mean");
                        ui.label(RichText::new(off).small().color(p.faint));
                    });
                });
            }
        }
        if let Some(inks) = taken {
            (self.inks, self.look) = (inks, Look::Print);
        }
        ui.add_space(theme::GROUP_GAP);
    }

    /// What becomes of colours out of reach, the limit of ink, and detail.
    pub(super) fn how_ui(&mut self, ui: &mut Ui) {
        let p = theme::of(ui);
        ui.label(theme::heading("Colours out of reach"));
        let words = [
            "keeps shapes apart: black becomes the darkest print",
            "comes nearest; dark tones may run together",
            "keeps colour strong",
        ];
        for (intent, words) in Intent::ALL.into_iter().zip(words) {
            ui.radio_value(&mut self.separation.intent, intent, crate::window::sentence(intent.name()));
            ui.indent(("intent", words), |ui| {
                ui.label(RichText::new(words).small().color(p.faint));
            });
        }
        ui.add_space(theme::GROUP_GAP);
        ui.horizontal(|ui| {
            let label = ui.label("Most ink at a place");
            let mut sum = self.separation.ink_sum.get() * 100.0;
            let field = drag(&mut sum).range(50.0..=600.0).speed(1.0).max_decimals(0).suffix(" %");
            let tip = "All coverages together; less sets off less and dries sooner";
            ui.add(field).labelled_by(label.id).on_hover_text(tip);
            self.separation.ink_sum = InkSum::new(sum / 100.0);
        });
        ui.add_space(theme::GROUP_GAP);
        ui.label(theme::heading("Survives slips"));
        let mut detail = self.separation.detail.get() * 100.0;
        let slider = Slider::new(&mut detail, 0.0..=100.0).step_by(5.0).suffix(" %").max_decimals(0);
        let response = ui.add(slider);
        theme::named(&response, egui::Role::Slider, "Detail in the darkest ink");
        self.separation.detail = DetailShare::new(detail / 100.0);
        let text = "Detail that the darkest ink prints alone. Shapes stay sharp when plates slip; colours are a little less true. Look at Slipped.";
        ui.add(egui::Label::new(RichText::new(text).small().color(p.faint)).wrap());
    }
}
