//! The Dummy view: the sheet folds under a slider, its pages turn, and one looks around it by dragging.

use egui::{Key, Modifiers, Pos2, Rect, Sense, Slider, TextureHandle, Ui, Vec2};
use slipsheet_core::dummy::{self, DummyView};
use slipsheet_core::fold::Scheme;
use slipsheet_editor::{LiveOrder, LivePicture};

use super::{SlipsheetApp, Wishes, theme};

/// Where one looks from, and how far the sheet is folded and opened.
pub(crate) struct DummyState {
    yaw: f64,
    pitch: f64,
    zoom: f64,
    fold: f64,
    open: f64,
    /// Openings that the pages are turning to.
    towards: f64,
    /// The fold that a button is moving to.
    folding: Option<f64>,
    openings: f64,
    picture: Option<(LivePicture, TextureHandle)>,
}

impl Default for DummyState {
    fn default() -> Self {
        Self {
            yaw: -18.0,
            pitch: 12.0,
            zoom: 1.0,
            fold: 1.0,
            open: 0.0,
            towards: 0.0,
            folding: None,
            openings: 0.0,
            picture: None,
        }
    }
}

impl DummyState {
    /// Looks straight at it.
    pub fn face_front(&mut self) {
        (self.yaw, self.pitch, self.zoom) = (0.0, 0.0, 1.0);
    }

    /// Nearer or farther.
    pub fn zoom_by(&mut self, factor: f64) {
        self.zoom = (self.zoom * factor).clamp(0.3, 6.0);
    }

    /// Turns pages.
    pub fn turn(&mut self, by: i32) {
        self.towards = (self.towards.round() + f64::from(by)).clamp(0.0, self.openings);
        if self.fold < 1.0 {
            self.folding = Some(1.0);
        }
    }

    /// Whether the picture on screen is the one asked for.
    pub fn shows(&self, revision: u64, order: &LiveOrder) -> bool {
        self.picture.as_ref().is_some_and(|(p, _)| p.revision == revision && p.order == *order)
    }

    /// Takes a picture that is ready.
    pub fn take(&mut self, ctx: &egui::Context, picture: LivePicture) {
        let image = super::sheet::color_image(&picture.picture);
        match &mut self.picture {
            Some((known, texture)) => {
                texture.set(image, egui::TextureOptions::LINEAR);
                *known = picture;
            }
            None => {
                let texture = ctx.load_texture("dummy", image, egui::TextureOptions::LINEAR);
                self.picture = Some((picture, texture));
            }
        }
    }

    /// One step of whatever moves by itself; whether anything does.
    fn animate(&mut self, seconds: f64) -> bool {
        let toward = |value: &mut f64, goal: f64, speed: f64| {
            let step = speed * seconds.min(0.1);
            *value += (goal - *value).clamp(-step, step);
            (*value - goal).abs() > 1e-9
        };
        let mut moving = false;
        if let Some(goal) = self.folding {
            let going = toward(&mut self.fold, goal, 0.45);
            if !going {
                self.folding = None;
            }
            moving |= going;
        }
        if self.fold >= 1.0 {
            moving |= toward(&mut self.open, self.towards, 1.6);
        }
        moving
    }
}

impl SlipsheetApp {
    pub(super) fn dummy_ui(&mut self, ui: &mut Ui, _wanted: &mut Wishes) {
        let p = theme::of(ui);
        let strip =
            egui::Frame::new().fill(p.strip).inner_margin(egui::Margin::symmetric(theme::PANEL_MARGIN, 8));
        egui::Panel::bottom("dummy strip").frame(strip).show(ui, |ui| self.dummy_strip_ui(ui));
        let canvas = ui.available_rect_before_wrap();
        let response = ui.interact(canvas, ui.scope_id().with("dummy"), Sense::click_and_drag());
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, "Dummy"));
        self.look_around(ui, &response);
        self.page_keys(ui);
        let seconds = f64::from(ui.input(|i| i.stable_dt));
        let moving = self.state.dummy.animate(seconds) || response.dragged();
        if moving {
            ui.ctx().request_repaint();
        }
        let ppp = ui.ctx().pixels_per_point();
        let state = &self.state.dummy;
        let view = DummyView {
            width: (canvas.width() * ppp).round().max(1.0) as usize,
            height: (canvas.height() * ppp).round().max(1.0) as usize,
            yaw: state.yaw,
            pitch: state.pitch,
            zoom: state.zoom,
            ground: [p.canvas.r(), p.canvas.g(), p.canvas.b()],
            samples: if moving { 1 } else { 2 },
        };
        let (fold, open) = (state.fold, state.open);
        if response.clicked() {
            self.click_page(&response, canvas, ppp, &view);
        }
        self.order(LiveOrder::Dummy { fold, open, view, perfect: self.state.perfect });
        if let Some((_, texture)) = &self.state.dummy.picture {
            let uv = Rect::from_min_max(Pos2::ZERO, Pos2::new(1.0, 1.0));
            ui.painter_at(canvas).image(texture.id(), canvas, uv, theme::UNTINTED);
        }
        if self.session.project().layers.is_empty() {
            let note = "The dummy shows the stock until scans are added.";
            ui.painter().text(
                canvas.center_top() + Vec2::new(0.0, 24.0),
                egui::Align2::CENTER_CENTER,
                note,
                egui::FontId::proportional(13.5),
                p.text,
            );
        }
    }

    fn look_around(&mut self, ui: &Ui, response: &egui::Response) {
        let state = &mut self.state.dummy;
        if response.dragged() {
            let d = response.drag_delta();
            state.yaw = (state.yaw + f64::from(d.x) * 0.45 + 540.0).rem_euclid(360.0) - 180.0;
            state.pitch = (state.pitch + f64::from(d.y) * 0.45).clamp(-85.0, 85.0);
        }
        if response.hovered() {
            let (zoom, scroll) = ui.input(|i| (i.zoom_delta(), i.smooth_scroll_delta()));
            if scroll.y != 0.0 || zoom != 1.0 {
                state.zoom_by(f64::from((scroll.y / 200.0).exp() * zoom));
            }
            ui.set_cursor_icon(if response.dragged() {
                egui::CursorIcon::Grabbing
            } else {
                egui::CursorIcon::Grab
            });
        }
    }

    fn page_keys(&mut self, ui: &Ui) {
        if ui.ctx().egui_wants_keyboard_input() || self.state.dialog.is_some() || self.state.shelf.open {
            return;
        }
        let (next, back) = ui.input_mut(|i| {
            (
                i.count_and_consume_key(Modifiers::NONE, Key::ArrowRight),
                i.count_and_consume_key(Modifiers::NONE, Key::ArrowLeft),
            )
        });
        if next != back {
            self.state.dummy.turn(next as i32 - back as i32);
        }
    }

    /// A click on the right half turns on, on the left half back.
    fn click_page(&mut self, response: &egui::Response, canvas: Rect, ppp: f32, view: &DummyView) {
        let (Some(at), Some(scheme)) = (response.interact_pointer_pos(), &self.session.project().fold) else {
            return;
        };
        let sheet = self.session.project().sheet_size();
        let pose = scheme.pose(sheet, self.state.dummy.fold, self.state.dummy.open);
        let local = (at - canvas.min) * ppp;
        if dummy::page_at(&pose, scheme, sheet, view, f64::from(local.x), f64::from(local.y)).is_some() {
            let on = at.x > canvas.center().x || self.state.dummy.towards == 0.0;
            self.state.dummy.turn(if on { 1 } else { -1 });
        }
    }

    fn dummy_strip_ui(&mut self, ui: &mut Ui) {
        let fold = self.session.project().fold.clone();
        let state = &mut self.state.dummy;
        state.openings = fold.as_ref().map_or(0.0, |f| f.openings() as f64);
        state.towards = state.towards.min(state.openings);
        state.open = state.open.min(state.openings);
        let Some(scheme) = fold else {
            ui.label(
                "This sheet is not folded. Choose a fold on the right to see it as a booklet or a leaflet.",
            );
            return;
        };
        ui.horizontal(|ui| {
            let label = ui.label("Fold");
            ui.spacing_mut().slider_width = 72.0;
            let slider = Slider::new(&mut state.fold, 0.0..=1.0).show_value(false);
            if ui
                .add(slider)
                .labelled_by(label.id)
                .on_hover_text("From the flat sheet to the folded piece")
                .changed()
            {
                state.folding = None;
                if state.fold < 1.0 {
                    (state.open, state.towards) = (0.0, 0.0);
                }
            }
            let folded = state.fold >= 1.0;
            if ui.button(if folded { "Unfold" } else { "Fold up" }).clicked() {
                (state.open, state.towards) = (0.0, 0.0);
                state.folding = Some(if folded { 0.0 } else { 1.0 });
            }
            ui.separator();
            let back = ui.add_enabled(state.towards > 0.0, egui::Button::new("Back"));
            if back.on_hover_text("Turn a page back (left arrow)").clicked() {
                state.turn(-1);
            }
            let text = stage_text(&scheme, state.towards.round() as usize);
            ui.add_sized([100.0, 24.0], egui::Label::new(text));
            let on = ui.add_enabled(state.towards < state.openings, egui::Button::new("Turn page"));
            if on.on_hover_text("Turn the page (right arrow)").clicked() {
                state.turn(1);
            }
            ui.separator();
            if ui.button("Face it").on_hover_text("Look straight at it (F)").clicked() {
                state.face_front();
            }
        });
        ui.add(
            egui::Label::new(egui::RichText::new(&scheme.summary).small().color(theme::of(ui).faint)).wrap(),
        );
        if !scheme.slits.is_empty() {
            let caution = "Blades: cut away from your fingers, on a mat, with a steel rule; the shop's rules come first.";
            ui.label(egui::RichText::new(caution).small().color(theme::of(ui).warning));
        }
    }
}

/// Which pages lie open.
fn stage_text(scheme: &Scheme, opened: usize) -> String {
    use slipsheet_core::fold::Binding;
    let pages = scheme.pages() as usize;
    match scheme.binding {
        Binding::Leaflet if opened == 0 => "Closed".to_owned(),
        Binding::Leaflet if opened < scheme.creases.len() => {
            format!("Opened {opened} of {}", scheme.creases.len())
        }
        Binding::Leaflet if opened == scheme.creases.len() => "Flat".to_owned(),
        Binding::Leaflet => "Other face".to_owned(),
        _ if opened == 0 => "Page 1".to_owned(),
        _ if opened * 2 >= pages => format!("Page {pages}"),
        _ => format!("Pages {} and {}", opened * 2, opened * 2 + 1),
    }
}
