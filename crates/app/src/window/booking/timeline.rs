//! The schedule as a bar with its steps below.

use egui::{Align2, Color32, Pos2, Rect, RichText, Sense, Stroke, Ui, Vec2};
use slipsheet_booking::schedule::{Schedule, Step, StepKind};

use crate::window::theme;

pub(super) fn ui(ui: &mut Ui, schedule: &Schedule, sheets: u32, booked: f64) {
    let p = theme::of(ui);
    if sheets == 0 {
        let text = "Enter copies on the right to see how long the job takes.";
        ui.label(RichText::new(text).color(p.faint));
        return;
    }
    let hand = if schedule.hand_minutes > 0.0 {
        format!(", then {} by hand", length(schedule.hand_minutes))
    } else {
        String::new()
    };
    ui.label(format!("About {} at the machine with drying{hand}.", length(schedule.slot_minutes)));
    if booked > 0.0 {
        let colour = if schedule.warning.is_some() { p.warning } else { p.faint };
        let short = if schedule.warning.is_some() { ", which is too short" } else { "" };
        ui.label(RichText::new(format!("{} are booked{short}.", length(booked))).color(colour));
    }
    let total = schedule.steps.last().map_or(0.0, |s| s.from + s.minutes).max(booked);
    if total <= 0.0 {
        return;
    }
    let (area, response) = ui.allocate_exact_size(Vec2::new(ui.available_width(), 60.0), Sense::hover());
    theme::named(&response, egui::Role::Image, "Schedule");
    let bar = Rect::from_min_size(area.min, Vec2::new(area.width(), 26.0));
    let painter = ui.painter_at(area);
    painter.rect_filled(bar, theme::SWATCH, p.strip);
    let x = |minutes: f64| bar.left() + bar.width() * (minutes / total) as f32;
    for step in &schedule.steps {
        let rect = Rect::from_x_y_ranges(x(step.from)..=x(step.from + step.minutes), bar.y_range());
        painter.rect_filled(rect, 0.0, colour(&p, step.kind));
        painter.vline(rect.left(), bar.y_range(), Stroke::new(1.0, p.panel));
        named(&painter, rect, step, &p);
    }
    axis(&painter, bar, total, &p);
    if booked > 0.0 {
        // The booked slot as a bracket under the bar.
        let colour = if schedule.warning.is_some() { p.error } else { p.good };
        let (end, y) = (x(booked), bar.bottom() + 20.0);
        painter.hline(bar.left()..=end, y, Stroke::new(2.0, colour));
        for side in [bar.left() + 1.0, end - 1.0] {
            painter.vline(side, y - 4.0..=y + 1.0, Stroke::new(2.0, colour));
        }
        let text = format!("booked slot, {}", length(booked));
        let at = Pos2::new(bar.left() + 4.0, y + 1.0);
        painter.text(at, Align2::LEFT_TOP, text, theme::small(), colour);
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
            ui.painter().rect_filled(dot, theme::SWATCH, colour(&p, kind));
            ui.label(RichText::new(name).small().color(p.faint));
            ui.add_space(theme::GAP);
        }
    });
}

/// What a block is, as far as there is room to say it.
fn named(painter: &egui::Painter, rect: Rect, step: &Step, p: &theme::Palette) {
    let pass = step.pass.map(|n| n.to_string()).unwrap_or_default();
    let (long, short, ink) = match step.kind {
        StepKind::SetUp => ("set-up".to_owned(), String::new(), p.field),
        StepKind::Print => (format!("pass {pass}"), pass, p.field),
        StepKind::Dry => ("drying".to_owned(), String::new(), p.text),
        StepKind::Hand => (step.what.to_lowercase(), String::new(), p.text),
    };
    let font = theme::small();
    for text in [long, short] {
        let galley = painter.layout_no_wrap(text, font.clone(), ink);
        if galley.size().x + 6.0 <= rect.width() {
            let at = rect.center() - galley.size() / 2.0;
            painter.galley(at, galley, ink);
            return;
        }
    }
}

/// Hours, or round minutes, under the bar.
fn axis(painter: &egui::Painter, bar: Rect, total: f64, p: &theme::Palette) {
    let step = [5.0, 10.0, 15.0, 30.0, 60.0, 120.0, 240.0, 480.0, 1440.0]
        .into_iter()
        .find(|s| total / s <= 10.0)
        .unwrap_or(total);
    let mut minutes = 0.0;
    while minutes <= total {
        let x = bar.left() + bar.width() * (minutes / total) as f32;
        painter.vline(x, bar.bottom()..=bar.bottom() + 3.0, Stroke::new(1.0, p.faint));
        let align = if minutes == 0.0 {
            Align2::LEFT_TOP
        } else if x > bar.right() - 20.0 {
            Align2::RIGHT_TOP
        } else {
            Align2::CENTER_TOP
        };
        let at = Pos2::new(x, bar.bottom() + 3.0);
        painter.text(at, align, length(minutes), theme::small(), p.faint);
        minutes += step;
    }
}

fn colour(p: &theme::Palette, kind: StepKind) -> Color32 {
    match kind {
        StepKind::SetUp => p.edge,
        StepKind::Print => p.faint,
        StepKind::Dry => p.line,
        StepKind::Hand => p.canvas,
    }
}

/// Minutes as people say them.
pub(in crate::window) fn length(minutes: f64) -> String {
    let whole = minutes.round() as u64;
    match (whole / 60, whole % 60) {
        (0, m) => format!("{m} min"),
        (h, 0) => format!("{h} h"),
        (h, m) => format!("{h} h {m} min"),
    }
}
