//! The artwork of a layer: the list of its pieces, and where and how the selected one lies.

use egui::{ComboBox, Grid, RichText, Ui};
use slipsheet_core::units::Dpi;
use slipsheet_core::words::{count, percent as in_words};
use slipsheet_document::edit::{ArtEdit, Edit, SourceEdit};
use slipsheet_document::layer::{Art, GrayFrom, Layer, Placement, Scale, Target};
use slipsheet_document::source::Source;
use slipsheet_editor::{Pick, Request};

use super::crop::crop_fields;
use super::fields::{angle_field, gesture, length_field};
use super::pdf;
use crate::window::actions::{self, Action};
use crate::window::context::Context;
use crate::window::number::drag;
use crate::window::{UiCommand, menu, theme};

pub(super) fn art_fields(ui: &mut Ui, cx: &Context<'_>, i: usize, layer: &Layer, out: &mut Vec<UiCommand>) {
    let selected = cx.session.selected_art().map(|a| a.id);
    ui.horizontal(|ui| {
        ui.label(theme::heading("Artwork"));
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            if ui.button("Add to layer…").on_hover_text("Add originals to this layer").clicked() {
                out.push(Request::Ask(Pick::AddScans(Some(layer.id))).into());
            }
        });
    });
    if layer.art.is_empty() {
        ui.label("No artwork yet: add a scan, or drop one on the window while this layer is selected.");
        return;
    }
    for art in &layer.art {
        let missing = cx.session.missing().contains_key(&art.scan.key);
        let name = art.scan.file_name();
        let place = match art.target {
            Target::Sheet => "whole sheet".to_owned(),
            Target::Page(page) => format!("page {page}"),
            Target::Spread(page) => format!("pages {page} and {}", page + 1),
        };
        let text = if missing { format!("{name} (missing)") } else { format!("{name}, {place}") };
        let mut text = RichText::new(text);
        if missing {
            text = text.color(theme::of(ui).error);
        }
        let row = egui::Button::selectable(Some(art.id) == selected, text)
            .truncate()
            .min_size(egui::vec2(ui.available_width(), 22.0));
        if ui.add(row).on_hover_text(&art.scan.path).clicked() {
            out.push(Request::Select(Some(layer.id), Some(art.id)).into());
        }
    }
    if let Some(art) = cx.session.selected_art() {
        ui.add_space(theme::GAP);
        piece_fields(ui, cx, i, art, out);
    }
}

/// What a plate of a separated picture belongs to, and what can be done with it.
fn plate_ui(ui: &mut Ui, source: &Source, out: &mut Vec<UiCommand>) {
    let text = format!(
        "A plate of {}, which is separated into {}.",
        source.picture.file_name(),
        count(source.plates.len(), "ink")
    );
    ui.add(egui::Label::new(text).wrap());
    ui.horizontal(|ui| {
        let tip = "Other inks, and what becomes of colours that they cannot print";
        if ui.button("Separation…").on_hover_text(tip).clicked() {
            out.push(Request::SeparateAgain(source.id).into());
        }
        let tip = "Write its plates beside the project; each is then artwork like any other";
        if ui.button("Take apart").on_hover_text(tip).clicked() {
            out.push(Request::TakeApart(source.id).into());
        }
        if ui.button("Remove").on_hover_text("Remove the picture with all of its plates").clicked() {
            out.push(Edit::Source(source.id, SourceEdit::Remove).into());
        }
    });
    ui.add_space(theme::GAP);
}

fn piece_fields(ui: &mut Ui, cx: &Context<'_>, i: usize, art: &Art, out: &mut Vec<UiCommand>) {
    let source = cx.session.sheet().source_of(art.id);
    if let Some(source) = source {
        plate_ui(ui, source, out);
    }
    let change = |edit| UiCommand::Request(Edit::Art(art.id, edit).into());
    let unit = cx.session.settings().unit;
    let pages = cx.session.printing().sheet.pages();
    let Placement { mut dx, mut dy, mut rotation, scale, mut flip, .. } = art.placement;
    let mut percent = scale.get() * 100.0;
    let (mut dpi, mut gray, mut clean) = (art.scan.dpi.get(), art.scan.key.gray, art.scan.key.clean);
    let mut target = art.target;
    Grid::new("piece").num_columns(2).show(ui, |ui| {
        let label = ui.label("Place on");
        let shown = match target {
            Target::Sheet => "Whole sheet".to_owned(),
            Target::Page(page) => format!("Page {page}"),
            Target::Spread(page) => format!("Pages {page} and {}", page + 1),
        };
        let combo = ComboBox::from_id_salt("target").selected_text(shown).show_ui(ui, |ui| {
            ui.selectable_value(&mut target, Target::Sheet, "Whole sheet");
            for page in 1..=pages {
                ui.selectable_value(&mut target, Target::Page(page), format!("Page {page}"));
            }
            for page in (2..pages).step_by(2) {
                let label = format!("Pages {page} and {}", page + 1);
                ui.selectable_value(&mut target, Target::Spread(page), label);
            }
        });
        combo.response.labelled_by(label.id);
        ui.end_row();
        let mut fields =
            vec![length_field(ui, "To the right", &mut dx, unit), length_field(ui, "Down", &mut dy, unit)];
        fields.push(angle_field(ui, "Rotation", &mut rotation));
        let label = ui.label("Scale");
        let field = ui.add(drag(&mut percent).range(1.0..=10_000.0).speed(0.2).suffix(" %").max_decimals(2));
        fields.push(field.labelled_by(label.id));
        ui.end_row();
        for field in &fields {
            gesture(field, "Place artwork", out);
        }
        let label = ui.label("Mirrored");
        ui.checkbox(&mut flip, "left to right").labelled_by(label.id);
        ui.end_row();
        if source.is_none() && pdf::is_page(&art.scan) {
            if let Some(edit) = pdf::resolution_ui(ui, &art.scan) {
                out.push(change(edit));
            }
        } else {
            let label = ui.label("Resolution");
            let field = drag(&mut dpi).range(10.0..=9600.0).speed(1.0).suffix(" dpi");
            let field = ui.add(field.max_decimals(1));
            gesture(&field.labelled_by(label.id), "Set a resolution", out);
            ui.end_row();
        }
        if source.is_none() {
            scan_fields(ui, cx, art, (&mut gray, &mut clean));
            page_of_file(ui, cx, art, out);
        }
        crop_fields(ui, cx, art, out);
    });
    // The way through per cent and back must not count as a change.
    let scale =
        if (percent / 100.0 - scale.get()).abs() < 1e-9 { scale } else { Scale::new(percent / 100.0) };
    let placement = Placement { dx, dy, rotation, scale, flip, ..art.placement };
    if placement != art.placement {
        out.push(change(ArtEdit::Placement(placement)));
    }
    if target != art.target {
        out.push(change(ArtEdit::Target(target)));
    }
    if let Some(dpi) = Dpi::new(dpi).ok().filter(|d| *d != art.scan.dpi) {
        out.push(change(ArtEdit::Dpi(dpi)));
    }
    if (gray, clean) != (art.scan.key.gray, art.scan.key.clean) {
        out.push(change(ArtEdit::Gray(gray, clean)));
    }
    if source.is_some() {
        return;
    }
    ui.add_space(theme::GAP);
    ui.horizontal(|ui| {
        ui.label("Line up");
        let below = ui.add_enabled(i > 0, egui::Button::new("On layer below"));
        if below.on_hover_text("Move it onto the layer printed before it, by what both show").clicked() {
            out.push(Request::LineUp(art.id).into());
        }
        if ui
            .button("By its marks")
            .on_hover_text("Place it by the marks of its guide, or else by the edges of its paper")
            .clicked()
        {
            out.push(Request::PlaceByMarks(art.id).into());
        }
    });
    ui.horizontal(|ui| {
        let over = actions::of(Action::LineUpByMarks);
        if ui.button(over.label).on_hover_text(menu::hint(ui, over)).clicked() {
            out.push(Request::LookOverMarks(art.id).into());
        }
        let mend = actions::of(Action::Mend);
        if ui.button(mend.label).on_hover_text(menu::hint(ui, mend)).clicked() {
            out.push(Request::LookToMend(art.id).into());
        }
    });
    ui.horizontal(|ui| {
        if ui.button("Remove").on_hover_text("Take this artwork off the layer").clicked() {
            out.push(change(ArtEdit::Remove));
        }
        let others = cx.session.sheet().layers.iter().enumerate().filter(|(j, _)| *j != i);
        ui.menu_button("Move to layer", |ui| {
            for (_, other) in others {
                if ui.button(&other.name).clicked() {
                    out.push(change(ArtEdit::MoveTo(other.id)));
                    ui.close();
                }
            }
        });
    });
}

/// How a scan becomes gray, and what was cleaned and mended.
fn scan_fields(ui: &mut Ui, cx: &Context<'_>, art: &Art, (gray, clean): (&mut GrayFrom, &mut bool)) {
    let label = ui.label("Gray from");
    let combo = ComboBox::from_id_salt("gray").selected_text(gray.name()).show_ui(ui, |ui| {
        for way in GrayFrom::ALL {
            ui.selectable_value(gray, way, way.name());
        }
    });
    combo
        .response
        .labelled_by(label.id)
        .on_hover_text("For colour scans; the blue channel drops blue guide pencil");
    ui.end_row();
    let label = ui.label("Paper");
    ui.checkbox(clean, "clean to white")
        .labelled_by(label.id)
        .on_hover_text("Bare paper becomes white; what is drawn on it stays, however faint");
    ui.end_row();
    if art.scan.key.clean {
        ui.label("");
        let found = cx.session.paper_of(&art.scan).map_or_else(
            || "none found to clean".to_owned(),
            |p| {
                let cast = cx.session.cast_of(&art.scan).map_or_else(String::new, |c| format!(", {c}"));
                format!("gray {:.0}{cast}, uneven by {}", p.gray, in_words(p.unevenness))
            },
        );
        ui.label(RichText::new(found).small().color(theme::of(ui).faint));
        ui.end_row();
    }
    if let Some(flat) = art.scan.key.flat {
        ui.label("Photograph");
        let text = format!("made flat at {:.0} dpi", flat.dpi.get());
        ui.label(RichText::new(text).small().color(theme::of(ui).faint));
        ui.end_row();
    }
    if art.scan.key.dust.is_some() || art.scan.key.mask.is_some() {
        ui.label("Mended");
        let specks = cx.session.specks_of(&art.scan);
        let dust = (specks > 0).then(|| format!("{} removed", count(specks, "speck")));
        let mask = art.scan.key.mask.as_ref().map(|_| "by a mask".to_owned());
        let text: Vec<String> = dust.into_iter().chain(mask).collect();
        let text = if text.is_empty() { "no dust found".to_owned() } else { text.join(", ") };
        ui.label(RichText::new(text).small().color(theme::of(ui).faint));
        ui.end_row();
    }
}

/// Files of several pages: which one.
fn page_of_file(ui: &mut Ui, cx: &Context<'_>, art: &Art, out: &mut Vec<UiCommand>) {
    let Some(pages) = cx.session.pages_of(&art.scan).filter(|n| *n > 1) else { return };
    let label = ui.label("Page of the file");
    let mut page = art.scan.key.page;
    let combo = ComboBox::from_id_salt("file page")
        .selected_text(format!("{} of {pages}", page + 1))
        .show_ui(ui, |ui| {
            for n in 0..pages {
                ui.selectable_value(&mut page, n, format!("{}", n + 1));
            }
        });
    combo.response.labelled_by(label.id);
    ui.end_row();
    if page != art.scan.key.page {
        out.push(Edit::Art(art.id, ArtEdit::ScanPage(page)).into());
    }
}
