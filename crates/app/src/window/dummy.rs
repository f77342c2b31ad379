//! The Dummy view: one line of time folds the sheet and turns its pages, and one looks around by dragging.

mod picture;
mod strip;

use egui::{Key, Modifiers, PointerButton, Pos2, Rect, Sense, TextureHandle, Ui, Vec2};
use slipsheet_editor::{LiveOrder, LivePicture};
use slipsheet_render::dummy::{DummyView as Look, Piece};

use super::context::{Component, Context, Wanted};
use super::{UiCommand, theme};
pub(super) use picture::{PictureForm, picture_ui};

/// Steps of time in a second while it plays, and while a page turns.
const PLAYING: f64 = 0.7;
const TURNING: f64 = 1.5;

/// Where one looks from, and what time it is in the dummy.
pub(crate) struct DummyView {
    yaw: f64,
    pitch: f64,
    zoom: f64,
    pan: [f64; 2],
    /// Time in steps; see [`Piece::steps`]. Folded and closed when the view is first seen.
    time: Option<f64>,
    /// Where time runs by itself, and how fast.
    goal: Option<(f64, f64)>,
    /// The piece that time belongs to.
    piece: String,
    /// What was looked at in this frame, until its picture is ordered.
    view: Option<Look>,
    picture: Option<(LivePicture, TextureHandle)>,
}

impl Default for DummyView {
    fn default() -> Self {
        Self {
            yaw: -18.0,
            pitch: 12.0,
            zoom: 1.0,
            pan: [0.0; 2],
            time: None,
            goal: None,
            piece: String::new(),
            view: None,
            picture: None,
        }
    }
}

impl DummyView {
    /// Looks straight at it.
    pub fn face_front(&mut self) {
        (self.yaw, self.pitch, self.zoom, self.pan) = (0.0, 0.0, 1.0, [0.0; 2]);
    }

    /// Nearer or farther.
    pub fn zoom_by(&mut self, factor: f64) {
        self.zoom = (self.zoom * factor).clamp(0.3, 6.0);
    }

    /// Keeps time within a piece's; another piece starts folded.
    fn settle(&mut self, piece: &Piece) {
        let closed = piece.time_of_opening(0.0);
        let key = piece.key();
        if self.piece != key {
            self.piece = key;
            (self.time, self.goal) = (Some(closed), None);
        }
        let end = piece.steps().len() as f64;
        self.time = Some(self.time.unwrap_or(closed).clamp(0.0, end));
    }

    fn time(&self) -> f64 {
        self.time.unwrap_or(0.0)
    }

    /// Turns pages; folds first what is not folded yet.
    pub fn turn(&mut self, piece: &Piece, by: i32) {
        self.settle(piece);
        let closed = piece.time_of_opening(0.0);
        let end = piece.steps().len() as f64;
        let from = self.goal.map_or(self.time(), |(goal, _)| goal);
        let to = if from < closed { closed } else { (from.round() + f64::from(by)).clamp(closed, end) };
        self.goal = Some((to, TURNING));
    }

    /// Runs through the time that is left, from the start when there is none; or stops.
    fn play(&mut self, piece: &Piece) {
        if self.goal.take().is_some() {
            return;
        }
        let end = piece.steps().len() as f64;
        if self.time() >= end {
            self.time = Some(0.0);
        }
        self.goal = Some((end, PLAYING));
    }

    /// Whether the picture on screen is the one asked for.
    pub fn shows(&self, revision: u64, order: &LiveOrder) -> bool {
        self.picture.as_ref().is_some_and(|(p, _)| p.revision == revision && p.order == *order)
    }

    /// Takes a picture that is ready.
    pub fn take(&mut self, ctx: &egui::Context, picture: LivePicture) {
        super::sheet::keep_live(ctx, &mut self.picture, picture);
    }

    /// One step of whatever moves by itself; whether anything does.
    fn animate(&mut self, seconds: f64) -> bool {
        let Some((goal, speed)) = self.goal else { return false };
        let time = self.time();
        let step = speed * seconds.clamp(0.0, 0.1);
        let now = time + (goal - time).clamp(-step, step);
        self.time = Some(now);
        if (now - goal).abs() < 1e-9 {
            (self.time, self.goal) = (Some(goal), None);
        }
        true
    }
}

impl Component for DummyView {
    fn ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        let piece = Piece::of(&cx.session.printing().sheet.construction());
        let flat = piece.is_flat();
        self.settle(&piece);
        let strip =
            egui::Frame::new().fill(p.strip).inner_margin(egui::Margin::symmetric(theme::PANEL_MARGIN, 8));
        egui::Panel::bottom("dummy strip").frame(strip).show(ui, |ui| {
            if flat {
                ui.label("This sheet is not folded. Choose a fold on the right to see it as a booklet or a leaflet.");
            } else {
                self.dummy_strip_ui(ui, cx, &piece, out);
            }
        });
        let canvas = ui.available_rect_before_wrap();
        let response = ui.interact(canvas, ui.scope_id().with("dummy"), Sense::click_and_drag());
        theme::named(&response, egui::Role::Image, "Dummy");
        self.look_around(ui, &response);
        self.dummy_keys(ui, cx, &piece);
        let seconds = f64::from(ui.input(|i| i.stable_dt));
        let moving = self.animate(seconds) || response.dragged();
        if moving {
            ui.ctx().request_repaint();
        }
        let ppp = ui.ctx().pixels_per_point();
        let view = Look {
            width: (canvas.width() * ppp).round().max(1.0) as usize,
            height: (canvas.height() * ppp).round().max(1.0) as usize,
            yaw: self.yaw,
            pitch: self.pitch,
            zoom: self.zoom,
            pan: self.pan,
            ground: [p.canvas.r(), p.canvas.g(), p.canvas.b()],
            // While things move the picture comes first.
            samples: if moving { 1 } else { 2 },
        };
        if response.clicked() {
            self.click_page(&response, canvas, ppp, &view, &piece);
        }
        self.view = Some(view);
        if let Some((_, texture)) = &self.picture {
            let uv = Rect::from_min_max(Pos2::ZERO, Pos2::new(1.0, 1.0));
            ui.painter_at(canvas).image(texture.id(), canvas, uv, theme::UNTINTED);
        }
        if cx.showing.numbers && !flat {
            self.numbers_ui(ui, canvas, ppp, &piece);
        }
        if cx.session.printing().sheet.layers.is_empty() {
            let note = "The dummy shows the stock until scans are added.";
            ui.painter().text(
                canvas.center_top() + Vec2::new(0.0, 24.0),
                egui::Align2::CENTER_CENTER,
                note,
                theme::body(),
                p.text,
            );
        }
    }

    fn order(&mut self, _ctx: &egui::Context, cx: &Context<'_>) -> Option<Wanted> {
        let view = self.view.take()?;
        let piece = Piece::of(&cx.session.printing().sheet.construction());
        self.settle(&piece);
        let (fold, open) = piece.moment(self.time());
        Some(Wanted::Live(LiveOrder::Dummy { fold, open, view, perfect: cx.showing.perfect }))
    }
}

impl DummyView {
    fn look_around(&mut self, ui: &Ui, response: &egui::Response) {
        if response.dragged() {
            let d = response.drag_delta();
            let shift = ui.input(|i| i.modifiers.shift);
            if shift || response.dragged_by(PointerButton::Middle) {
                let shorter = f64::from(response.rect.width().min(response.rect.height()).max(1.0));
                self.pan[0] = (self.pan[0] + f64::from(d.x) / shorter).clamp(-3.0, 3.0);
                self.pan[1] = (self.pan[1] + f64::from(d.y) / shorter).clamp(-3.0, 3.0);
            } else {
                self.yaw = (self.yaw + f64::from(d.x) * 0.45 + 540.0).rem_euclid(360.0) - 180.0;
                self.pitch = (self.pitch + f64::from(d.y) * 0.45).clamp(-85.0, 85.0);
            }
        }
        if response.hovered() {
            let (zoom, scroll) = ui.input(|i| (i.zoom_delta(), i.smooth_scroll_delta()));
            if scroll.y != 0.0 || zoom != 1.0 {
                self.zoom_by(f64::from((scroll.y / 200.0).exp() * zoom));
            }
            ui.set_cursor_icon(if response.dragged() {
                egui::CursorIcon::Grabbing
            } else {
                egui::CursorIcon::Grab
            });
        }
    }

    fn dummy_keys(&mut self, ui: &Ui, cx: &Context<'_>, piece: &Piece) {
        if !cx.reach.views() {
            return;
        }
        let (next, back, play) = ui.input_mut(|i| {
            (
                i.count_and_consume_key(Modifiers::NONE, Key::ArrowRight),
                i.count_and_consume_key(Modifiers::NONE, Key::ArrowLeft),
                i.count_and_consume_key(Modifiers::NONE, Key::Space) % 2 == 1,
            )
        });
        if next != back {
            self.turn(piece, next as i32 - back as i32);
        }
        if play {
            self.play(piece);
        }
    }

    /// A click on the right half turns on, on the left half back.
    fn click_page(&mut self, response: &egui::Response, canvas: Rect, ppp: f32, view: &Look, piece: &Piece) {
        let Some(at) = response.interact_pointer_pos() else { return };
        let (fold, open) = piece.moment(self.time());
        let folded = piece.folded(fold, open);
        let local = (at - canvas.min) * ppp;
        let point = (f64::from(local.x), f64::from(local.y));
        if piece.is_under(&folded, view, point) {
            let on = at.x > canvas.center().x || open == 0.0;
            self.turn(piece, if on { 1 } else { -1 });
        }
    }

    /// Page numbers where the picture on screen shows the pages.
    fn numbers_ui(&self, ui: &Ui, canvas: Rect, ppp: f32, piece: &Piece) {
        let Some((LivePicture { order: LiveOrder::Dummy { fold, open, view, .. }, .. }, _)) = &self.picture
        else {
            return;
        };
        let folded = piece.folded(*fold, *open);
        let p = theme::of(ui);
        let painter = ui.painter_at(canvas);
        for mark in piece.page_marks(&folded, (*fold, *open), view) {
            let at = canvas.min + Vec2::new(mark.x as f32, mark.y as f32) / ppp;
            painter.circle_filled(at, 15.0, p.guide_halo);
            painter.circle_stroke(at, 15.0, egui::Stroke::new(1.5, p.guide));
            painter.text(at, egui::Align2::CENTER_CENTER, mark.page, theme::strong_body(), p.guide);
        }
    }
}
