//! The inspector: what is selected, and the sheet it is printed on.

use egui::{ComboBox, DragValue, Grid, RichText, Slider, TextEdit, Ui};
use slipsheet_core::booklet::{Blanks, Booklet, Bound, MAX_PAGES};
use slipsheet_core::fold::{self, Face};
use slipsheet_core::layer::{Art, GrayFrom, Layer, Placement, Scale, Slip, Target};
use slipsheet_core::units::{Degrees, Dpi, Mm, SheetFormat, Size};
use slipsheet_editor::{Command, LayerChange};
use slipsheet_files::home::LengthUnit;

use super::actions::Action;
use super::{SlipsheetApp, Wish, Wishes, pickers, theme};

mod crop;
mod paper;
mod pdf;
mod reading;
mod sides;

pub(super) use reading::{modes, name as mode_name};

impl SlipsheetApp {
    pub(super) fn inspector_ui(&self, ui: &mut Ui, wanted: &mut Wishes) {
        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            // The scroll bar floats; keep fields clear of it.
            ui.set_max_width(ui.available_width() - 6.0);
            if let Some((i, layer)) = self.session.selected_layer().map(|(i, l)| (i, l.clone())) {
                self.layer_fields(ui, i, &layer, wanted);
                ui.add_space(theme::GROUP_GAP);
                self.reading_fields(ui, i, &layer, wanted);
                ui.add_space(theme::GROUP_GAP);
                self.art_fields(ui, i, &layer, wanted);
                ui.add_space(theme::GAP);
                ui.separator();
                ui.add_space(theme::GAP);
            }
            self.sheet_fields(ui, wanted);
        });
    }

    fn layer_fields(&self, ui: &mut Ui, i: usize, layer: &Layer, wanted: &mut Wishes) {
        let change = |change| Wish::Do(Command::Layer(i, change));
        ui.label(theme::heading("Layer"));
        let mut name = layer.name.clone();
        let field = ui.add(TextEdit::singleline(&mut name).desired_width(f32::INFINITY).hint_text("Name"));
        field.widget_info(|| egui::WidgetInfo::labeled(egui::Role::TextInput, true, "Layer name"));
        gesture(&field, "Rename a layer", wanted);
        if field.changed() {
            wanted.push(change(LayerChange::Name(name)));
        }
        let inks = &self.session.shelf().inks;
        if let Some(ink) = pickers::ink_picker(ui, &self.session.project().stock, &layer.ink, inks) {
            wanted.push(change(LayerChange::Ink(ink)));
        }
        if !layer.ink.solid.measured() {
            ui.label(RichText::new(layer.ink.solid.standing()).small().color(theme::of(ui).faint));
        }
        if self.session.project().two_sided() {
            ui.horizontal(|ui| {
                ui.label("Printed on the");
                for face in [Face::Front, Face::Back] {
                    if ui.selectable_label(layer.face == face, face.name().to_lowercase()).clicked() {
                        wanted.push(change(LayerChange::Face(face)));
                    }
                }
            });
        }
        ui.add_space(theme::GAP);
        ui.horizontal(|ui| {
            ui.label(theme::heading("Slip"));
            ui.label(RichText::new("what if it shifts?").small().color(theme::of(ui).faint));
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let reset = ui.add_enabled(!layer.slip.is_none(), egui::Button::new("Reset"));
                if reset.on_hover_text("Put the layer back where it is meant to lie (R)").clicked() {
                    wanted.push(Wish::Act(Action::ResetSlip));
                }
            });
        });
        let unit = self.session.settings().unit;
        let Slip { mut dx, mut dy, mut skew } = layer.slip;
        Grid::new("slip").num_columns(2).show(ui, |ui| {
            let fields =
                [length_field(ui, "To the right", &mut dx, unit), length_field(ui, "Down", &mut dy, unit)];
            let turned = angle_field(ui, "Skew", &mut skew);
            for field in fields.iter().chain([&turned]) {
                gesture(field, "Slip a layer", wanted);
            }
        });
        let slip = Slip { dx, dy, skew };
        if slip != layer.slip {
            wanted.push(change(LayerChange::Slip(slip)));
        }
    }

    fn art_fields(&self, ui: &mut Ui, i: usize, layer: &Layer, wanted: &mut Wishes) {
        let selected = self.session.selection().art;
        ui.horizontal(|ui| {
            ui.label(theme::heading("Artwork"));
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                if ui.button("Add to layer…").on_hover_text("Add originals to this layer").clicked() {
                    wanted.push(Wish::Do(Command::AskScans(Some(i))));
                }
            });
        });
        if layer.art.is_empty() {
            ui.label("No artwork yet: add a scan, or drop one on the window while this layer is selected.");
            return;
        }
        for (k, art) in layer.art.iter().enumerate() {
            let missing = self.session.missing().contains_key(&art.scan.key);
            let name = art.scan.path.rsplit('/').next().unwrap_or(&art.scan.path);
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
            let row = egui::Button::selectable(k == selected, text)
                .truncate()
                .min_size(egui::vec2(ui.available_width(), 22.0));
            if ui.add(row).on_hover_text(&art.scan.path).clicked() {
                wanted.push(Wish::Do(Command::Select(Some(i), k)));
            }
        }
        if let Some(art) = layer.art.get(selected) {
            ui.add_space(theme::GAP);
            self.piece_fields(ui, i, selected, art, wanted);
        }
    }

    fn piece_fields(&self, ui: &mut Ui, i: usize, k: usize, art: &Art, wanted: &mut Wishes) {
        let change = |change| Wish::Do(Command::Layer(i, change));
        let unit = self.session.settings().unit;
        let pages = self.session.project().pages();
        let Placement { mut dx, mut dy, mut rotation, scale, mut flip, .. } = art.placement;
        let mut percent = scale.get() * 100.0;
        let (mut dpi, mut gray, mut lift) = (art.scan.dpi.get(), art.scan.key.gray, art.scan.key.lift_white);
        let mut target = art.target;
        Grid::new("piece").num_columns(2).show(ui, |ui| {
            let label = ui.label("Laid on");
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
            let mut fields = vec![
                length_field(ui, "To the right", &mut dx, unit),
                length_field(ui, "Down", &mut dy, unit),
            ];
            fields.push(angle_field(ui, "Rotation", &mut rotation));
            let label = ui.label("Scale");
            let field = ui.add(
                DragValue::new(&mut percent).range(1.0..=10_000.0).speed(0.2).suffix(" %").max_decimals(2),
            );
            fields.push(field.labelled_by(label.id));
            ui.end_row();
            for field in &fields {
                gesture(field, "Place artwork", wanted);
            }
            let label = ui.label("Mirrored");
            ui.checkbox(&mut flip, "left to right").labelled_by(label.id);
            ui.end_row();
            if pdf::is_page(&art.scan) {
                if let Some(change) = pdf::resolution_ui(ui, k, &art.scan) {
                    wanted.push(Wish::Do(Command::Layer(i, change)));
                }
            } else {
                let label = ui.label("Resolution");
                let field = DragValue::new(&mut dpi).range(10.0..=9600.0).speed(1.0).suffix(" dpi");
                let field = ui.add(field.max_decimals(1));
                gesture(&field.labelled_by(label.id), "Set a resolution", wanted);
                ui.end_row();
            }
            let label = ui.label("Gray from");
            let combo = ComboBox::from_id_salt("gray").selected_text(gray.name()).show_ui(ui, |ui| {
                for way in GrayFrom::ALL {
                    ui.selectable_value(&mut gray, way, way.name());
                }
            });
            combo
                .response
                .labelled_by(label.id)
                .on_hover_text("For colour scans; the blue channel drops blue guide pencil");
            ui.end_row();
            let label = ui.label("White");
            ui.checkbox(&mut lift, "lift the paper's")
                .labelled_by(label.id)
                .on_hover_text("Makes the scanned paper white, black stays");
            ui.end_row();
            self.page_of_file(ui, i, k, art, wanted);
            self.crop_fields(ui, i, k, art, wanted);
        });
        // The way through per cent and back must not count as a change.
        let scale =
            if (percent / 100.0 - scale.get()).abs() < 1e-9 { scale } else { Scale::new(percent / 100.0) };
        let placement = Placement { dx, dy, rotation, scale, flip, ..art.placement };
        if placement != art.placement {
            wanted.push(change(LayerChange::Placement(k, placement)));
        }
        if target != art.target {
            wanted.push(change(LayerChange::Target(k, target)));
        }
        if let Some(dpi) = Dpi::new(dpi).ok().filter(|d| *d != art.scan.dpi) {
            wanted.push(change(LayerChange::Dpi(k, dpi)));
        }
        if (gray, lift) != (art.scan.key.gray, art.scan.key.lift_white) {
            wanted.push(change(LayerChange::Gray(k, gray, lift)));
        }
        ui.add_space(theme::GAP);
        ui.horizontal(|ui| {
            ui.label("Line up");
            let below = ui.add_enabled(i > 0, egui::Button::new("On layer below"));
            if below.on_hover_text("Move it onto the layer printed before it, by what both show").clicked() {
                wanted.push(Wish::Do(Command::LineUp(i, k)));
            }
            if ui.button("By its marks").on_hover_text("Place it by the marks of the page guide").clicked() {
                wanted.push(Wish::Do(Command::PlaceByMarks(i, k)));
            }
        });
        let over = super::actions::of(Action::LineUpByMarks);
        if ui.button(over.label).on_hover_text(super::menu::hint(ui, over)).clicked() {
            wanted.push(Wish::Do(Command::LookOverMarks(i, k)));
        }
        ui.horizontal(|ui| {
            if ui.button("Remove").on_hover_text("Take this artwork off the layer").clicked() {
                wanted.push(change(LayerChange::RemoveArt(k)));
            }
            let others = self.session.project().layers.iter().enumerate().filter(|(j, _)| *j != i);
            ui.menu_button("Move to layer", |ui| {
                for (j, other) in others {
                    if ui.button(&other.name).clicked() {
                        wanted.push(change(LayerChange::MoveArt(k, j)));
                        ui.close();
                    }
                }
            });
        });
    }

    /// Files of several pages: which one.
    fn page_of_file(&self, ui: &mut Ui, i: usize, k: usize, art: &Art, wanted: &mut Wishes) {
        let Some(pages) = self.session.pages_of(&art.scan).filter(|n| *n > 1) else { return };
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
            wanted.push(Wish::Do(Command::Layer(i, LayerChange::ScanPage(k, page))));
        }
    }

    fn sheet_fields(&self, ui: &mut Ui, wanted: &mut Wishes) {
        let project = self.session.project().clone();
        ui.label(theme::heading("Sheet"));
        let mut title = project.title.clone();
        let field = ui.add(TextEdit::singleline(&mut title).desired_width(f32::INFINITY).hint_text("Title"));
        field.widget_info(|| egui::WidgetInfo::labeled(egui::Role::TextInput, true, "Title"));
        gesture(&field, "Change the title", wanted);
        if field.changed() {
            wanted.push(Wish::Do(Command::Title(title)));
        }
        let inks: Vec<_> = project.layers.iter().map(|l| l.ink.clone()).collect();
        if let Some(stock) = pickers::stock_picker(ui, &project.stock, &inks, &self.session.shelf().stocks) {
            wanted.push(Wish::Do(Command::Stock(stock)));
        }
        let unit = self.session.settings().unit;
        Grid::new("sheet").num_columns(2).show(ui, |ui| {
            let label = ui.label("Format");
            let mut format = project.sheet;
            let size = project.sheet_size();
            let combo = ComboBox::from_id_salt("format").selected_text(format.name()).show_ui(ui, |ui| {
                for named in SheetFormat::NAMED {
                    ui.selectable_value(&mut format, named, named.name());
                }
                let custom = matches!(format, SheetFormat::Custom(_));
                if ui.selectable_label(custom, "Custom").clicked() && !custom {
                    format = SheetFormat::Custom(size);
                }
            });
            combo.response.labelled_by(label.id);
            ui.end_row();
            if let SheetFormat::Custom(Size { width, height }) = &mut format {
                for field in [side_field(ui, "Width", width, unit), side_field(ui, "Height", height, unit)] {
                    gesture(&field, "Change the sheet", wanted);
                }
            }
            if format != project.sheet {
                wanted.push(Wish::Do(Command::Sheet(format)));
            }
            if project.fold.is_none()
                && !matches!(project.sheet, SheetFormat::Custom(_) | SheetFormat::Ledger)
            {
                let label = ui.label("Lies");
                let mut lying = project.lying;
                if ui.checkbox(&mut lying, "landscape").labelled_by(label.id).changed() {
                    wanted.push(Wish::Do(Command::Lying(lying)));
                }
                ui.end_row();
            }
            let label = ui.label("Master");
            let mut dpi = project.press_dpi;
            let shown = format!("{:.0} dpi", dpi.get());
            let combo = ComboBox::from_id_salt("press dpi").selected_text(shown).show_ui(ui, |ui| {
                for each in [300.0, 400.0, 600.0].map(|v| Dpi::new(v).unwrap_or_default()) {
                    ui.selectable_value(&mut dpi, each, format!("{:.0} dpi", each.get()));
                }
            });
            combo.response.labelled_by(label.id).on_hover_text("Resolution of the press's masters");
            if dpi != project.press_dpi {
                wanted.push(Wish::Do(Command::PressDpi(dpi)));
            }
            ui.end_row();
            if project.shows_wrap() {
                return;
            }
            let label = ui.label("Trim");
            ui.spacing_mut().slider_width = 96.0;
            let mut trim = project.trim.get();
            let slider = ui.add(Slider::new(&mut trim, 0.0..=10.0).suffix(" mm").step_by(0.5));
            gesture(&slider, "Change the trim", wanted);
            if slider
                .labelled_by(label.id)
                .on_hover_text("Cut off each outer edge of the sheet after folding")
                .changed()
            {
                wanted.push(Wish::Do(Command::Trim(Mm::new(trim))));
            }
            ui.end_row();
        });
        if project.two_sided() {
            self.sides_fields(ui, &project, wanted);
        }
        ui.add_space(theme::GAP);
        if project.shows_wrap() {
            return self.wrap_fields(ui, wanted);
        }
        ui.label(theme::heading("Fold"));
        let flat = if project.booklet.is_some() { "Booklet of several sheets" } else { "Flat, not folded" };
        let shown = project.fold.as_ref().map_or(flat, |f| f.name.as_str());
        let schemes = super::actions::of(Action::FoldSchemes);
        ui.horizontal(|ui| {
            let combo = ComboBox::from_id_salt("fold")
                .height(460.0)
                .width(ui.available_width() - 92.0)
                .truncate()
                .selected_text(shown);
            let response = combo.show_ui(ui, |ui| {
                let is_flat = project.fold.is_none() && project.booklet.is_none();
                if ui.selectable_label(is_flat, "Flat, not folded").clicked() {
                    wanted.push(Wish::Do(Command::Fold(None)));
                }
                let own = self.session.shelf().folds.iter().cloned();
                for scheme in fold::shipped().unwrap_or_default().into_iter().chain(own) {
                    let chosen = project.fold.as_ref().is_some_and(|f| f.id == scheme.id);
                    if ui.selectable_label(chosen, &scheme.name).clicked() && !chosen {
                        wanted.push(Wish::Do(Command::Fold(Some(scheme))));
                    }
                }
                if ui.selectable_label(project.booklet.is_some(), "Booklet of several sheets").clicked() {
                    wanted.push(Wish::Do(Command::Booklet(Some(Booklet::default()))));
                }
                if ui.selectable_label(panels_of(project.fold.as_ref()).is_some(), "Accordion").clicked() {
                    wanted.push(Wish::Do(Command::Fold(fold::accordion(5).ok())));
                }
            });
            response.response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::ComboBox, true, "Fold"));
            if ui.button("Schemes…").on_hover_text(super::menu::hint(ui, schemes)).clicked() {
                wanted.push(Wish::Act(Action::FoldSchemes));
            }
        });
        booklet_ui(ui, &project, wanted);
        accordion_ui(ui, project.fold.as_ref(), wanted);
        if let Some(scheme) = &project.fold {
            ui.label(RichText::new(&scheme.summary).small().color(theme::of(ui).faint));
        }
        paper::paper_ui(ui, &project, wanted);
    }
}

/// What a booklet is made of, and what comes of it.
fn booklet_ui(ui: &mut Ui, project: &slipsheet_core::project::Project, wanted: &mut Wishes) {
    let Some(known) = &project.booklet else { return };
    let mut booklet = known.clone();
    Grid::new("booklet").num_columns(2).show(ui, |ui| {
        let label = ui.label("Pages");
        let field = DragValue::new(&mut booklet.pages).range(1..=MAX_PAGES).speed(0.1);
        let field = ui.add(field).labelled_by(label.id);
        gesture(&field, "Pages", wanted);
        ui.end_row();
        ui.label("Bound");
        ui.horizontal(|ui| {
            ui.selectable_value(&mut booklet.bound, Bound::Saddle, "Stitched");
            ui.selectable_value(&mut booklet.bound, Bound::Perfect, "Glued");
        });
        ui.end_row();
        ui.label("Blanks");
        ui.horizontal(|ui| {
            ui.selectable_value(&mut booklet.blanks, Blanks::End, "At the end");
            ui.selectable_value(&mut booklet.blanks, Blanks::InsideCovers, "Inside the covers");
        });
        ui.end_row();
        ui.label("");
        ui.checkbox(&mut booklet.compensate, "Make up for creep");
        ui.end_row();
    });
    let caliper = Mm::new(slipsheet_core::paper::caliper(&project.stock));
    let said = format!(
        "{} sheets, {} blank pages, spine {:.1} mm, innermost creep {:.2} mm (caliper {:.3} mm{})",
        booklet.sheets(),
        booklet.blank_pages(),
        booklet.spine(caliper),
        booklet.creep(booklet.sheets() - 1, caliper),
        caliper.get(),
        if project.stock.caliper_mm.is_some() { "" } else { ", estimated" }
    );
    ui.label(RichText::new(said).small().color(theme::of(ui).faint));
    if booklet.bound == Bound::Saddle {
        let caution = "Staplers pierce: keep fingers clear of the needle; the machine's manual comes first.";
        ui.label(RichText::new(caution).small().color(theme::of(ui).warning));
    }
    if booklet != *known {
        wanted.push(Wish::Do(Command::Booklet(Some(booklet))));
    }
}

/// How many panels the fold has when it is an accordion.
fn panels_of(fold: Option<&fold::Scheme>) -> Option<usize> {
    fold?.id.strip_prefix("accordion")?.parse().ok()
}

/// The number of an accordion's panels.
fn accordion_ui(ui: &mut Ui, fold: Option<&fold::Scheme>, wanted: &mut Wishes) {
    let Some(mut panels) = panels_of(fold) else { return };
    ui.horizontal(|ui| {
        let label = ui.label("Panels");
        let field = ui.add(DragValue::new(&mut panels).range(fold::PANELS).speed(0.05)).labelled_by(label.id);
        gesture(&field, "Panels", wanted);
        if field.changed() {
            wanted.push(Wish::Do(Command::Fold(fold::accordion(panels).ok())));
        }
    });
}

/// While a field is dragged or typed in, its changes are one step of history.
pub(super) fn gesture(field: &egui::Response, label: &'static str, wanted: &mut Wishes) {
    if field.drag_started() || field.gained_focus() {
        wanted.push(Wish::Do(Command::BeginGesture(label)));
    }
    if field.drag_stopped() || field.lost_focus() {
        wanted.push(Wish::Do(Command::EndGesture));
    }
}

/// A length of any sign.
fn length_field(ui: &mut Ui, name: &str, value: &mut Mm, unit: LengthUnit) -> egui::Response {
    ranged_field(ui, name, value, unit, -10_000.0..=10_000.0)
}

/// A side of a sheet.
fn side_field(ui: &mut Ui, name: &str, value: &mut Mm, unit: LengthUnit) -> egui::Response {
    ranged_field(ui, name, value, unit, 20.0..=2000.0)
}

fn ranged_field(
    ui: &mut Ui,
    name: &str,
    value: &mut Mm,
    unit: LengthUnit,
    mm: std::ops::RangeInclusive<f64>,
) -> egui::Response {
    let label = ui.label(name);
    let (per, suffix, decimals, speed) = match unit {
        LengthUnit::Mm => (1.0, " mm", 2, 0.05),
        LengthUnit::Inch => (25.4, " in", 4, 0.002),
    };
    let mut number = value.get() / per;
    let field = ui.add(
        DragValue::new(&mut number)
            .range(mm.start() / per..=mm.end() / per)
            .speed(speed)
            .suffix(suffix)
            .max_decimals(decimals)
            .min_decimals(1),
    );
    if field.changed() {
        *value = Mm::new(number * per);
    }
    ui.end_row();
    field.labelled_by(label.id)
}

fn angle_field(ui: &mut Ui, name: &str, value: &mut Degrees) -> egui::Response {
    let label = ui.label(name);
    let mut number = value.get();
    let field = ui.add(
        DragValue::new(&mut number)
            .speed(0.05)
            .range(-360.0..=360.0)
            .suffix("°")
            .max_decimals(2)
            .min_decimals(1),
    );
    if field.changed() {
        *value = Degrees::new(number);
    }
    ui.end_row();
    field.labelled_by(label.id)
}
