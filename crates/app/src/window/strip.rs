//! The contact strip: the selected layer in several readings side by side. Each can be changed; dragging a
//! picture moves the crop of all, and a click takes its reading over.

mod crop;

use egui::{Button, ComboBox, Grid, RichText, Sense, TextureHandle, TextureOptions, Ui, Vec2};
use slipsheet_core::geometry::{Point, Rect};
use slipsheet_core::reading::{BlackPoint, DropOut, Reading, Swing};
use slipsheet_core::words::percent;
use slipsheet_document::edit::LayerEdit;
use slipsheet_document::ids::LayerId;
use slipsheet_document::layer::Layer;
use slipsheet_editor::{Request, StripFigures, StripNews, StripOrder};

use super::context::Context;
use super::dialogs::Next;
use super::inspector::{mode_name, modes};
use super::number::drag;
use super::sheet::color_image;
use super::{UiCommand, theme};

/// The fewest and the most readings side by side.
const CELLS: std::ops::RangeInclusive<usize> = 2..=6;
/// Points per mm: at first near enough for the dots of a fine master, and how far one may zoom.
const NEAR: f32 = 18.0;
const ZOOM: std::ops::RangeInclusive<f32> = 1.5..=80.0;

/// The readings side by side.
pub(crate) struct Readings {
    layer: usize,
    /// The readings, the layer's own first.
    readings: Vec<Reading>,
    /// The point of the face in the middle of every picture, mm.
    centre: Point,
    /// Points per mm.
    zoom: f32,
    ordered: Option<(u64, StripOrder)>,
    shown: Option<(u64, StripOrder, Vec<TextureHandle>)>,
    figures: Vec<(u64, Reading, StripFigures)>,
}

/// The layer whose reading is under a slider that is held now.
pub(crate) fn tuned(ctx: &egui::Context) -> Option<usize> {
    let held = ctx.data(|d| d.get_temp::<Option<usize>>(egui::Id::unique("tuned layer"))).flatten();
    held.filter(|_| ctx.input(|i| i.pointer.any_down()))
}

/// Notes which layer that is.
pub(crate) fn tune(ctx: &egui::Context, layer: Option<usize>) {
    ctx.data_mut(|d| d.insert_temp(egui::Id::unique("tuned layer"), layer));
}

/// What a person did with the strip in a frame.
#[derive(Default)]
struct Done {
    take: Option<Reading>,
    moved: Vec2,
    zoomed: f32,
    add: bool,
    remove: Option<usize>,
    close: bool,
}

impl Readings {
    /// Of the selected layer, as far as it makes sense.
    pub fn of_selected(ctx: &egui::Context, cx: &Context<'_>) -> Option<Self> {
        let (layer, found) = cx.session.selected_layer()?;
        let thumbnail = cx.last_print(layer).map(|f| &f.thumbnail);
        Some(Self {
            layer,
            readings: found.reading.alternatives(),
            centre: crop::busiest(thumbnail, cx.session.printing().sheet.size()),
            zoom: NEAR / ctx.pixels_per_point().max(1.0),
            ordered: None,
            shown: None,
            figures: Vec::new(),
        })
    }

    /// A layer as it is and in another reading, at a place in mm on its face.
    pub fn pair(
        ctx: &egui::Context,
        cx: &Context<'_>,
        layer: LayerId,
        other: Reading,
        place: Option<Rect>,
    ) -> Option<Self> {
        let sheet = &cx.session.printing().sheet;
        let at = sheet.position(layer)?;
        let thumbnail = cx.last_print(at).map(|f| &f.thumbnail);
        let all = || crop::busiest(thumbnail, sheet.size());
        let zoom = NEAR / ctx.pixels_per_point().max(1.0);
        Some(Self {
            layer: at,
            readings: vec![sheet.layers.get(at)?.reading, other],
            centre: place.map_or_else(all, Rect::centre),
            // A whole drawing is to be seen rather than its dots.
            zoom: place.map_or(zoom, |r| (360.0 / (r.width.max(r.height) as f32 + 6.0)).min(zoom)),
            ordered: None,
            shown: None,
            figures: Vec::new(),
        })
    }

    /// Whether every picture and figure that was asked for has come.
    pub fn is_settled(&self, revision: u64) -> bool {
        let pictures = self.shown.as_ref().map(|(r, order, _)| (r, order));
        let known = |r: &Reading| self.figures.iter().any(|(at, of, _)| *at == revision && of == r);
        pictures == self.ordered.as_ref().map(|(r, order)| (r, order)) && self.readings.iter().all(known)
    }

    /// Takes what has come of a revision.
    pub fn take(&mut self, ctx: &egui::Context, revision: u64, news: StripNews) {
        match news {
            StripNews::Pictures { order, pictures } if order.layer == self.layer => {
                let load = |p| ctx.load_texture("reading", color_image(p), TextureOptions::NEAREST);
                let textures = pictures.iter().map(load).collect();
                self.shown = Some((revision, order, textures));
            }
            StripNews::Figures { layer, reading, figures } if layer == self.layer => {
                self.figures.retain(|(at, of, _)| *at == revision && *of != reading);
                self.figures.push((revision, reading, figures));
            }
            StripNews::Pictures { .. } | StripNews::Figures { .. } => {}
        }
    }

    /// The pictures in a row, each with its figures and settings below.
    pub fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) -> Next {
        // Undo or a removal may have taken the layer away under it.
        let Some(layer) = cx.session.printing().sheet.layers.get(self.layer) else { return Next::Close };
        let screen = ui.ctx().content_rect().size();
        let width = (screen.x - 96.0).clamp(560.0, 1360.0);
        let cell = cell_size(width, screen.y, self.readings.len());
        let mut done = Done { zoomed: 1.0, ..Done::default() };
        ui.set_width(width);
        head_ui(ui, layer, self, cell, &mut done);
        ui.add_space(theme::GAP);
        ui.horizontal_top(|ui| {
            ui.spacing_mut().item_spacing.x = GUTTER;
            for i in 0..self.readings.len() {
                ui.vertical(|ui| {
                    ui.set_width(cell.x);
                    self.cell_ui(ui, i, cell, layer, cx.session.revision(), &mut done);
                });
            }
        });
        ui.add_space(theme::GAP);
        foot_ui(ui, self, &mut done);

        let mm = f64::from(self.zoom);
        self.centre.x -= f64::from(done.moved.x) / mm;
        self.centre.y -= f64::from(done.moved.y) / mm;
        self.zoom = (self.zoom * done.zoomed).clamp(*ZOOM.start(), *ZOOM.end());
        if done.add {
            self.readings.extend(self.readings.last().copied());
        }
        if let Some(i) = done.remove.filter(|i| *i < self.readings.len()) {
            self.readings.remove(i);
        }
        if let Some(reading) = done.take {
            out.push(Request::layer(layer.id, LayerEdit::Reading(reading)).into());
            return Next::Close;
        }
        if done.close {
            return Next::Close;
        }

        let cell = cell_size(width, screen.y, self.readings.len());
        let view = crop::view(self.centre, self.zoom, cell, ui.ctx().pixels_per_point());
        let order = StripOrder { layer: self.layer, readings: self.readings.clone(), view };
        let ordered = Some((cx.session.revision(), order.clone()));
        if self.ordered != ordered {
            self.ordered = ordered;
            out.push(UiCommand::Readings(order));
        }
        Next::Stay
    }

    fn cell_ui(&mut self, ui: &mut Ui, i: usize, size: Vec2, layer: &Layer, revision: u64, done: &mut Done) {
        let Some(mut reading) = self.readings.get(i).copied() else { return };
        let p = theme::of(ui);
        let now = reading == layer.reading;
        ui.horizontal(|ui| {
            let title = if now { "Current".to_owned() } else { format!("Reading {}", i + 1) };
            ui.label(theme::heading(&title));
            let spare = self.readings.len() > *CELLS.start();
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let remove = ui.add_enabled(spare, Button::new("×").small());
                remove.widget_info(|| {
                    egui::WidgetInfo::labeled(egui::Role::Button, spare, format!("Remove reading {}", i + 1))
                });
                if remove.on_hover_text("Remove this reading").clicked() {
                    done.remove = Some(i);
                }
            });
        });
        self.picture_ui(ui, i, size, now, done);
        let figures = self.figures.iter().find(|(at, of, _)| *at == revision && *of == reading);
        let text = match figures {
            Some((_, _, f)) => format!(
                "covers {}\nvanishes {}, fills in {}",
                percent(f.coverage),
                percent(f.vanishes),
                percent(f.clogs)
            ),
            None => "covers …\n".to_owned(),
        };
        ui.label(RichText::new(text).small().color(p.faint))
            .on_hover_text("Of the whole sheet; what vanishes and what fills in are shares of what is drawn");
        settings_ui(ui, i, size.x, &mut reading);
        if let Some(kept) = self.readings.get_mut(i) {
            *kept = reading;
        }
        let width = ui.available_width();
        let take = Button::new(if now { "In use" } else { "Use this" });
        let take = ui.add_enabled_ui(!now, |ui| ui.add_sized([width, 26.0], take)).inner;
        take.widget_info(|| {
            egui::WidgetInfo::labeled(egui::Role::Button, !now, format!("Use reading {}", i + 1))
        });
        if take.clicked() {
            done.take = Some(reading);
        }
    }

    fn picture_ui(&self, ui: &mut Ui, i: usize, size: Vec2, now: bool, done: &mut Done) {
        let p = theme::of(ui);
        let (rect, response) = ui.allocate_exact_size(size, Sense::click_and_drag());
        theme::named(&response, egui::Role::Image, format!("Print of reading {}", i + 1));
        let painter = ui.painter_at(rect);
        painter.rect_filled(rect, 0.0, p.canvas);
        if let Some((_, order, textures)) = &self.shown
            && let Some(texture) = textures.get(i)
        {
            // Until the next picture comes, the last one is moved to where it belongs by now.
            let painted = crop::placed(&order.view, self.centre, self.zoom, rect);
            let uv = egui::Rect::from_min_max(egui::Pos2::ZERO, egui::Pos2::new(1.0, 1.0));
            painter.image(texture.id(), painted, uv, theme::UNTINTED);
        }
        let (wide, colour) = if response.hovered() || now { (2.0, p.accent) } else { (1.0, p.line) };
        painter.rect_stroke(rect, 0.0, egui::Stroke::new(wide, colour), egui::StrokeKind::Inside);
        if response.dragged() {
            done.moved += response.drag_delta();
        }
        if response.hovered() {
            let scroll = ui.input(|i| i.smooth_scroll_delta().y);
            done.zoomed *= (scroll / 160.0).exp() * ui.input(egui::InputState::zoom_delta);
        }
        if response.clicked() {
            done.take = self.readings.get(i).copied().filter(|_| !now);
        }
    }
}

/// Space between two readings.
const GUTTER: f32 = 12.0;

/// The size of one picture in points.
fn cell_size(width: f32, screen: f32, cells: usize) -> Vec2 {
    let n = cells.max(1) as f32;
    let across = ((width - GUTTER * (n - 1.0)) / n).floor();
    Vec2::new(across, (screen - 420.0).clamp(120.0, 460.0).min(across * 1.5).floor())
}

fn head_ui(ui: &mut Ui, layer: &Layer, open: &Readings, cell: Vec2, done: &mut Done) {
    ui.horizontal(|ui| {
        ui.heading(format!("Readings of {}", layer.name));
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            if ui.button("Zoom in").clicked() {
                done.zoomed *= 1.5;
            }
            if ui.button("Zoom out").clicked() {
                done.zoomed /= 1.5;
            }
            let wide = f64::from(cell.x / open.zoom);
            let wide = if wide < 20.0 { format!("{wide:.1}") } else { format!("{wide:.0}") };
            ui.label(RichText::new(format!("{wide} mm across")).color(theme::of(ui).faint));
        });
    });
    let text = "The same place of the layer in each reading, alone, in its ink on the stock. Drag to look elsewhere; click one to use it.";
    ui.label(RichText::new(text).color(theme::of(ui).faint));
}

fn foot_ui(ui: &mut Ui, open: &Readings, done: &mut Done) {
    ui.horizontal(|ui| {
        let room = open.readings.len() < *CELLS.end();
        if ui.add_enabled(room, Button::new("Add a reading")).clicked() {
            done.add = true;
        }
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
            if ui.button("Close").clicked() {
                done.close = true;
            }
        });
    });
}

/// The mode and the settings of a reading, by its number from 0.
pub(super) fn settings_ui(ui: &mut Ui, i: usize, width: f32, reading: &mut Reading) {
    let combo = ComboBox::from_id_salt(("strip mode", i)).width(width).selected_text(mode_name(reading.mode));
    let shown = combo.show_ui(ui, |ui| {
        for (text, mode, tip) in modes() {
            let chosen = mode_name(reading.mode) == text;
            if ui.selectable_label(chosen, text).on_hover_text(tip).clicked() && !chosen {
                reading.mode = mode;
            }
        }
    });
    theme::named(&shown.response, egui::Role::ComboBox, format!("Mode of reading {}", i + 1));
    Grid::new(("strip settings", i)).num_columns(2).spacing([8.0, 4.0]).show(ui, |ui| {
        let mut field = |name: &str, value: f64, range: std::ops::RangeInclusive<f64>| {
            let label = ui.label(name);
            let mut percent = value * 100.0;
            let field = drag(&mut percent).range(range).speed(0.5).suffix(" %").max_decimals(0);
            ui.add(field).labelled_by(label.id);
            ui.end_row();
            if (percent / 100.0 - value).abs() < 1e-9 { value } else { percent / 100.0 }
        };
        reading.density = Swing::new(field("Density", reading.density.get(), -100.0..=100.0));
        reading.contrast = Swing::new(field("Contrast", reading.contrast.get(), -100.0..=100.0));
        reading.background = DropOut::new(field("Drop-out", reading.background.get(), 0.0..=50.0));
        reading.black = BlackPoint::new(field("Black point", reading.black.get(), 20.0..=100.0));
    });
}
