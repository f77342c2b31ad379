//! The schedule as a bar with its steps below.

use egui::{Align2, Color32, FontId, Pos2, Rect, RichText, Sense, Stroke, Ui, Vec2};
use slipsheet_core::schedule::{Schedule, StepKind};

use crate::window::theme;

pub(super) fn ui(ui: &mut Ui, schedule: &Schedule, booked: f64) {
    let p = theme::of(ui);
    ui.label(theme::heading("Schedule"));
    let hand = if schedule.hand_minutes > 0.0 {
        format!(", then {} by hand", length(schedule.hand_minutes))
    } else {
        String::new()
    };
    ui.label(format!("{} at the machine with its waits{hand}.", length(schedule.slot_minutes)));
    if booked > 0.0 {
        let colour = if schedule.warning.is_some() { p.warning } else { p.faint };
        let short = if schedule.warning.is_some() { ", which is too short" } else { "" };
        ui.label(RichText::new(format!("{} are booked{short}.", length(booked))).color(colour));
    }
    let total = schedule.steps.last().map_or(0.0, |s| s.from + s.minutes).max(booked);
    if total <= 0.0 {
        return;
    }
    let (area, response) = ui.allocate_exact_size(Vec2::new(ui.available_width(), 44.0), Sense::hover());
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, "Schedule"));
    let bar = Rect::from_min_size(area.min, Vec2::new(area.width(), 26.0));
    let painter = ui.painter_at(area);
    painter.rect_filled(bar, 2.0, p.strip);
    let x = |minutes: f64| bar.left() + bar.width() * (minutes / total) as f32;
    for step in &schedule.steps {
        let rect = Rect::from_x_y_ranges(x(step.from)..=x(step.from + step.minutes), bar.y_range());
        painter.rect_filled(rect, 0.0, colour(&p, step.kind));
        painter.vline(rect.left(), bar.y_range(), Stroke::new(1.0, p.panel));
        let pass = step.pass.filter(|_| step.kind == StepKind::Print && rect.width() > 22.0);
        if let Some(pass) = pass {
            let font = FontId::proportional(12.0);
            painter.text(rect.center(), Align2::CENTER_CENTER, pass.to_string(), font, p.on_accent);
        }
    }
    if booked > 0.0 {
        let end = x(booked);
        painter.vline(end, bar.y_range(), Stroke::new(2.0, p.error));
        let at = Pos2::new(end.clamp(bar.left() + 40.0, bar.right() - 2.0), bar.bottom() + 3.0);
        painter.text(at, Align2::RIGHT_TOP, "booked", FontId::proportional(11.0), p.error);
    }
    if let Some(at) = response.hover_pos() {
        let minutes = f64::from((at.x - bar.left()) / bar.width()) * total;
        let under = schedule.steps.iter().find(|s| (s.from..s.from + s.minutes).contains(&minutes));
        if let Some(step) = under {
            let text = format!("{}: {}", step.what, length(step.minutes));
            response.on_hover_text_at_pointer(text);
        }
    }
    ui.horizontal_wrapped(|ui| {
        for (kind, name) in [
            (StepKind::SetUp, "set-up"),
            (StepKind::Print, "printing, by pass"),
            (StepKind::Dry, "drying"),
            (StepKind::Hand, "by hand"),
        ] {
            let (dot, _) = ui.allocate_exact_size(Vec2::splat(10.0), Sense::hover());
            ui.painter().rect_filled(dot, 2.0, colour(&p, kind));
            ui.label(RichText::new(name).small().color(p.faint));
            ui.add_space(theme::GAP);
        }
    });
}

fn colour(p: &theme::Palette, kind: StepKind) -> Color32 {
    match kind {
        StepKind::SetUp => theme::see_through(p.accent, 0.55),
        StepKind::Print => p.accent,
        StepKind::Dry => p.line,
        StepKind::Hand => theme::see_through(p.warning, 0.7),
    }
}

/// Minutes as people say them.
fn length(minutes: f64) -> String {
    let whole = minutes.round() as u64;
    match (whole / 60, whole % 60) {
        (0, m) => format!("{m} min"),
        (h, 0) => format!("{h} h"),
        (h, m) => format!("{h} h {m} min"),
    }
}
