//! Whether many scans that are added are layers, or the pages of one ink; and then which lands on which page.

use std::path::PathBuf;

use egui::{ComboBox, RichText, ScrollArea, Ui};
use slipsheet_core::overprint::MAX_INKS;
use slipsheet_core::words::count;
use slipsheet_document::ids::LayerId;
use slipsheet_document::layer::Target;
use slipsheet_editor::{Landing, Request};
use slipsheet_paper::fold::Face;

use super::{Next, buttons};
use crate::window::context::Context;
use crate::window::number::drag;
use crate::window::{UiCommand, theme};

/// What is being answered.
pub(crate) struct Form {
    /// In the order of their names, as pages are numbered.
    files: Vec<PathBuf>,
    /// The layer that they were meant for.
    layer: Option<LayerId>,
    as_pages: bool,
    /// The page of the first scan, from 1.
    first: u32,
    /// The layer that the pages go into; a new one where this is `None`.
    into: Option<LayerId>,
}

/// Width of the dialog and the height of its list, in points.
const WIDTH: f32 = 560.0;
const LIST: f32 = 230.0;

impl Form {
    pub fn new(mut files: Vec<PathBuf>, layer: Option<LayerId>) -> Self {
        files.sort_by_key(|file| by_number(file));
        Self { files, layer, as_pages: true, first: 1, into: layer }
    }

    pub fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) -> Next {
        ui.set_width(WIDTH);
        let sheet = cx.session.sheet();
        let pages = sheet.pages();
        ui.heading(format!("Add {}", count(self.files.len(), "scan")));
        ui.add_space(theme::GAP);
        ui.radio_value(&mut self.as_pages, true, "Pages of one ink, one scan on each page, in order")
            .on_hover_text("For originals that were drawn page by page");
        let room = MAX_INKS.saturating_sub(sheet.on(Face::Front).count());
        ui.radio_value(&mut self.as_pages, false, "One layer each, every scan an ink of its own")
            .on_hover_text("For originals of the whole sheet, one for each ink");
        ui.add_space(theme::GAP);
        if self.as_pages {
            self.pages_ui(ui, cx, pages);
        } else if self.layer.is_none() && self.files.len() > room {
            let text = format!(
                "A face holds {MAX_INKS} layers, so {} of these scans would be left out.",
                self.files.len() - room
            );
            ui.label(RichText::new(text).color(theme::of(ui).warning));
        }
        self.list_ui(ui, pages);
        buttons(ui, |ui| {
            if ui.button("Add").clicked() {
                let landing = if self.as_pages {
                    Landing::Pages(self.into, self.first)
                } else {
                    Landing::Each(self.layer, Target::Sheet)
                };
                out.push(Request::AddSo(std::mem::take(&mut self.files), landing).into());
                return Next::Close;
            }
            if ui.button("Cancel").clicked() { Next::Close } else { Next::Stay }
        })
    }

    fn pages_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, pages: u32) {
        ui.horizontal(|ui| {
            let label = ui.label("First page");
            let field = ui.add(drag(&mut self.first).range(1..=pages.max(1)).speed(0.05));
            field.labelled_by(label.id);
            ui.add_space(theme::GROUP_GAP);
            let label = ui.label("Layer");
            let layers = &cx.session.sheet().layers;
            let name = layers.iter().find(|l| Some(l.id) == self.into).map(|l| l.name.as_str());
            let combo = ComboBox::from_id_salt("into").selected_text(name.unwrap_or("A new one"));
            let combo = combo.show_ui(ui, |ui| {
                ui.selectable_value(&mut self.into, None, "A new one");
                for layer in layers {
                    ui.selectable_value(&mut self.into, Some(layer.id), &layer.name);
                }
            });
            combo.response.labelled_by(label.id);
        });
        ui.add_space(theme::GAP);
    }

    /// Which scan lands where.
    fn list_ui(&self, ui: &mut Ui, pages: u32) {
        let p = theme::of(ui);
        egui::Frame::group(ui.style()).show(ui, |ui| {
            ScrollArea::vertical().max_height(LIST).auto_shrink([false, true]).show(ui, |ui| {
                for (i, file) in self.files.iter().enumerate() {
                    let page = self.first + i as u32;
                    let (place, colour) = match (self.as_pages, page <= pages) {
                        (true, true) => (format!("Page {page}"), p.text),
                        (true, false) => ("no page left".to_owned(), p.warning),
                        (false, _) => (format!("Layer {}", i + 1), p.text),
                    };
                    ui.horizontal(|ui| {
                        ui.allocate_ui_with_layout(
                            egui::vec2(96.0, ui.spacing().interact_size.y),
                            egui::Layout::left_to_right(egui::Align::Center),
                            |ui| {
                                ui.set_min_width(96.0);
                                ui.label(RichText::new(place).color(colour));
                            },
                        );
                        let name = file.file_name().map(|n| n.to_string_lossy().into_owned());
                        let label = egui::Label::new(RichText::new(name.unwrap_or_default()).color(p.faint));
                        ui.add(label.truncate());
                    });
                }
            });
        });
    }
}

/// A name so that numbers in it count as numbers: page 2 comes before page 10.
fn by_number(file: &std::path::Path) -> Vec<(String, u64)> {
    let name = file.file_name().map(|n| n.to_string_lossy().to_lowercase()).unwrap_or_default();
    let mut parts: Vec<(String, u64)> = vec![(String::new(), 0)];
    let mut in_number = false;
    for c in name.chars() {
        let digit = c.to_digit(10);
        if in_number && digit.is_none() {
            parts.push((String::new(), 0));
        }
        in_number = digit.is_some();
        if let Some((text, number)) = parts.last_mut() {
            match digit {
                Some(d) => *number = number.saturating_mul(10).saturating_add(u64::from(d)),
                None => text.push(c),
            }
        }
    }
    parts
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pages_are_in_the_order_of_their_numbers() {
        let names = ["page 10.png", "Page 2.png", "page 1.png", "cover.png"].map(PathBuf::from);
        let form = Form::new(names.to_vec(), None);
        let order: Vec<_> = form.files.iter().map(|f| f.to_string_lossy().into_owned()).collect();
        assert_eq!(order, ["cover.png", "page 1.png", "Page 2.png", "page 10.png"]);
    }
}
