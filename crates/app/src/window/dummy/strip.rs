//! The strip under the dummy: the line of time with its steps, and what turns, plays and pictures it.

use egui::{Align2, Pos2, Rect, RichText, Sense, Slider, Stroke, Ui, Vec2};
use slipsheet_render::dummy::{Piece, Step, StepKind};

use super::DummyView;
use crate::window::actions::{self, Action};
use crate::window::context::Context;
use crate::window::{UiCommand, menu, theme};

/// Height of the row of ticks.
const TICKS: f32 = 20.0;
/// Ticks nearer to one another than this lose their words.
const WORD: f32 = 30.0;

impl DummyView {
    pub(super) fn dummy_strip_ui(
        &mut self,
        ui: &mut Ui,
        cx: &Context<'_>,
        piece: &Piece,
        out: &mut Vec<UiCommand>,
    ) {
        let steps = piece.steps();
        self.time_ui(ui, piece, &steps);
        ui.horizontal_wrapped(|ui| {
            let (closed, end) = (piece.time_of_opening(0.0), steps.len() as f64);
            let time = self.goal.map_or(self.time(), |(goal, _)| goal);
            let back = ui.add_enabled(time > closed, egui::Button::new("Back"));
            if back.on_hover_text("Turn a page back (left arrow)").clicked() {
                self.turn(piece, -1);
            }
            let text = RichText::new(now_text(piece, &steps, self.time())).family(theme::strong());
            ui.add_sized([124.0, 24.0], egui::Label::new(text).truncate());
            let on = ui.add_enabled(time < end, egui::Button::new("Turn page"));
            if on.on_hover_text("Turn the page (right arrow)").clicked() {
                self.turn(piece, 1);
            }
            if ui.button("Front view").on_hover_text("Look straight at it (F)").clicked() {
                self.face_front();
            }
            let mut numbers = cx.showing.numbers;
            let toggle = ui.toggle_value(&mut numbers, "Numbers");
            if toggle.on_hover_text("Page numbers over the pages (N)").changed() {
                out.push(Action::PageMarks.into());
            }
            let info = actions::of(Action::DummyPicture);
            if ui.button("Picture…").on_hover_text(menu::hint(ui, info)).clicked() {
                out.push(Action::DummyPicture.into());
            }
        });
        ui.add(egui::Label::new(RichText::new(piece.summary()).small().color(theme::of(ui).faint)).wrap());
        if let Some(caution) = piece.caution() {
            ui.label(RichText::new(caution).small().color(theme::of(ui).warning));
        }
    }

    /// Play and the slider, with a tick for every step.
    fn time_ui(&mut self, ui: &mut Ui, piece: &Piece, steps: &[Step]) {
        let mut slider_rect = Rect::NOTHING;
        ui.horizontal(|ui| {
            let playing = self.goal.is_some();
            let play =
                egui::Button::new(if playing { "Stop" } else { "Play" }).min_size(Vec2::new(52.0, 24.0));
            if ui.add(play).on_hover_text("Fold it up and turn its pages (space)").clicked() {
                self.play(piece);
            }
            let mut time = self.time();
            ui.spacing_mut().slider_width = (ui.available_width() - 6.0).max(60.0);
            let slider = Slider::new(&mut time, 0.0..=steps.len() as f64).show_value(false);
            let slider = ui.add(slider).on_hover_text("From the flat sheet to the last page");
            slider.widget_info(|| egui::WidgetInfo::slider(true, time, "Time of folding and turning"));
            slider_rect = slider.rect;
            if slider.changed() {
                (self.time, self.goal) = (Some(time), None);
            }
        });
        let (row, _) = ui.allocate_exact_size(Vec2::new(ui.available_width(), TICKS), Sense::hover());
        // The handle's middle runs between the slider's ends less its radius.
        let handle = slider_rect.height() / 2.5;
        let (left, right) = (slider_rect.left() + handle, slider_rect.right() - handle);
        let p = theme::of(ui);
        let spacing = (right - left) / steps.len().max(1) as f32;
        let every = (WORD / spacing.max(1.0)).ceil().max(1.0) as usize;
        let now = self.time();
        let closed = piece.time_of_opening(0.0);
        for i in 0..=steps.len() {
            let x = left + spacing * i as f32;
            let at = i as f64;
            let tick =
                Rect::from_center_size(Pos2::new(x, row.center().y), Vec2::new(spacing.min(60.0), TICKS));
            let response = ui.interact(tick, ui.scope_id().with(("tick", i)), Sense::click());
            let colour = if (now - at).abs() < 0.05 {
                p.accent
            } else if response.hovered() {
                p.text
            } else {
                p.faint
            };
            let long = if at == closed { 6.0 } else { 3.5 };
            let top = Pos2::new(x, row.top() - 2.0);
            ui.painter().line_segment([top, top + Vec2::new(0.0, long)], Stroke::new(1.2, colour));
            if i % every == 0 || at == closed || i == steps.len() {
                let font = theme::small();
                let centre = Pos2::new(x, row.bottom() - 7.0);
                ui.painter().text(centre, Align2::CENTER_CENTER, tick_word(piece, closed, i), font, colour);
            }
            let says = tick_says(piece, steps, i);
            theme::named(&response, egui::Role::Button, &says);
            if response.on_hover_text(&says).clicked() {
                self.goal = Some((at, super::TURNING.max((now - at).abs())));
            }
        }
    }
}

/// What stands under a tick.
fn tick_word(piece: &Piece, closed: f64, i: usize) -> String {
    if i == 0 {
        return "flat".to_owned();
    }
    if (i as f64) < closed {
        return if piece.sheets() > 1 { format!("step {i}") } else { format!("fold {i}") };
    }
    let opened = i - closed as usize;
    let pages = piece.pages() as usize;
    match piece.leaflet() {
        Some(_) if opened == 0 => "folded".to_owned(),
        Some(_) => format!("open {opened}"),
        None if opened == 0 => "1".to_owned(),
        None if opened * 2 >= pages => format!("{pages}"),
        None => format!("{}–{}", opened * 2, opened * 2 + 1),
    }
}

/// What a tick stands for: what has been done there.
fn tick_says(piece: &Piece, steps: &[Step], i: usize) -> String {
    match i.checked_sub(1).and_then(|i| steps.get(i)) {
        None if piece.sheets() > 1 => "The flat sheets".to_owned(),
        None => "The flat sheet".to_owned(),
        Some(step) => format!("Step {i}: {}", step.label),
    }
}

/// What is shown now: a fold that is being made, or the pages that lie open.
fn now_text(piece: &Piece, steps: &[Step], time: f64) -> String {
    let closed = piece.time_of_opening(0.0);
    if time < closed {
        if time <= 0.0 {
            return if piece.sheets() > 1 { "Flat sheets" } else { "Flat sheet" }.to_owned();
        }
        let step = steps.get(time as usize).filter(|s| s.kind == StepKind::Fold);
        return step.map(|s| s.label.clone()).unwrap_or_default();
    }
    stage_text(piece, (time - closed).round() as usize)
}

/// Which pages lie open.
fn stage_text(piece: &Piece, opened: usize) -> String {
    let pages = piece.pages() as usize;
    match piece.leaflet() {
        Some(_) if opened == 0 => "Closed".to_owned(),
        Some(creases) if opened < creases => format!("Opened {opened} of {creases}"),
        Some(creases) if opened == creases => "Flat".to_owned(),
        Some(_) => "Other face".to_owned(),
        None if opened == 0 => "Page 1".to_owned(),
        None if opened * 2 >= pages => format!("Page {pages}"),
        None => format!("Pages {} and {}", opened * 2, opened * 2 + 1),
    }
}
