//! Copies side by side from the best to the worst, and the line between those that would sell and those that would not.

use egui::{ComboBox, CursorIcon, Key, Modifiers, Pos2, Rect, RichText, Sense, Shape, Stroke, Ui, Vec2};
use slipsheet_document::acceptance::{Acceptance, GapMm};
use slipsheet_document::edit::{Edit, ProjectEdit};
use slipsheet_editor::Request;

use super::line::{Needs, between};
use super::{RunView, TILE};
use crate::window::context::Context;
use crate::window::sheet::plain_length;
use crate::window::{UiCommand, theme};

/// Room between copies, and what stands under each.
const APART: f32 = 8.0;
const FOOT: f32 = 26.0;
/// How far from the line a pointer takes hold of it.
const HOLD: f32 = 9.0;
/// What a step of history is called.
pub(super) const LABEL: &str = "Change what would sell";
/// Copies that a key moves the line past.
const STEP: isize = 10;

/// Another accepted gap.
pub(super) fn accept_gap(cx: &Context<'_>, gap: GapMm) -> UiCommand {
    let acceptance = Acceptance { gap, ..cx.session.project().acceptance };
    Edit::Project(ProjectEdit::Acceptance(acceptance)).into()
}

/// Opens and closes one step of history around a drag.
pub(super) fn gesture(response: &egui::Response, out: &mut Vec<UiCommand>) {
    if response.drag_started() {
        out.push(Request::BeginGesture(LABEL).into());
    }
    if response.drag_stopped() {
        out.push(Request::EndGesture.into());
    }
}

impl RunView {
    pub(super) fn row_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        let width = ui.available_width();
        self.columns = ((width + APART) / (TILE + APART)).floor().max(1.0) as usize;
        let tile = ((width + APART) / self.columns as f32 - APART).floor();
        ui.horizontal(|ui| {
            self.place_ui(ui, cx);
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let text = if cx.desk.run.is_fresh() {
                    "best to worst; click a copy to see it whole"
                } else {
                    "simulating again…"
                };
                ui.label(RichText::new(text).small().color(p.faint));
            });
        });
        let acceptance = cx.session.project().acceptance;
        let run = &cx.desk.run;
        let (Some(row), Some(copies)) = (&run.row, run.copies_for(&acceptance)) else {
            ui.allocate_space(Vec2::new(width, tile + FOOT));
            return;
        };
        // Marks are of these copies and of what they led to; any other change of either lets go of them.
        if self.marked != Some((acceptance, std::ptr::from_ref(copies) as usize)) {
            self.marks.clear();
        }
        let sorted = copies.ranked.iter().filter_map(|i| copies.openings.get(*i)).map(|o| o.needs);
        let needs = Needs::new(sorted.collect());

        let (rect, _) = ui.allocate_exact_size(Vec2::new(width, tile + FOOT), Sense::hover());
        for (at, (copy, texture)) in row.copies.iter().take(self.columns).enumerate() {
            let corner = rect.min + Vec2::new(at as f32 * (tile + APART), 0.0);
            let picture = Rect::from_min_size(corner, Vec2::splat(tile));
            let uv = Rect::from_min_max(Pos2::ZERO, Pos2::new(1.0, 1.0));
            ui.painter().image(texture.id(), picture, uv, theme::UNTINTED);
            let response = ui.interact(picture, ui.scope_id().with(("copy", at)), Sense::click());
            theme::named(&response, egui::Role::Image, format!("Copy {}", copy + 1));
            if response.on_hover_cursor(CursorIcon::ZoomIn).clicked() {
                self.looked_at = Some(*copy);
            }
            self.verdict_ui(
                ui,
                cx,
                (at, *copy),
                Rect::from_min_size(picture.left_bottom(), Vec2::new(tile, FOOT)),
                out,
            );
        }
        self.line_ui(ui, cx, rect, &needs, out);
        super::counts::counts_ui(ui, cx, &needs, out);
    }

    /// Which place is looked at.
    fn place_ui(&mut self, ui: &mut Ui, cx: &Context<'_>) {
        let Some(study) = &cx.desk.run.study else { return };
        let unit = cx.session.settings().unit;
        let layers = &cx.session.printing().sheet.layers;
        let name = |i: usize| layers.get(i).map_or("", |l| l.name.as_str());
        let worst = study.worst(8);
        let words = |at: slipsheet_core::geometry::Point| {
            format!("{}, {}", plain_length(at.x, unit), plain_length(at.y, unit))
        };
        let shown = match self.place {
            None => "Tightest place".to_owned(),
            Some(at) => format!("Around {}", words(at)),
        };
        let combo = ComboBox::from_id_salt("place").selected_text(shown).width(220.0);
        let combo = combo.show_ui(ui, |ui| {
            if ui.selectable_label(self.place.is_none(), "Tightest place").clicked() {
                self.place = None;
            }
            for w in worst.iter().skip(1) {
                let t = &w.tight;
                let text = format!("{} and {}, {}", name(t.lower), name(t.upper), words(t.at));
                if ui.selectable_label(self.place == Some(t.at), text).clicked() {
                    self.place = Some(t.at);
                }
            }
        });
        theme::named(&combo.response, egui::Role::ComboBox, "Place");
    }

    /// Whether a copy would sell, which a click turns round.
    fn verdict_ui(
        &mut self,
        ui: &Ui,
        cx: &Context<'_>,
        (at, copy): (usize, usize),
        rect: Rect,
        out: &mut Vec<UiCommand>,
    ) {
        let p = theme::of(ui);
        let acceptance = cx.session.project().acceptance;
        let needs = cx.desk.run.copies_for(&acceptance).and_then(|c| c.openings.get(copy));
        let (Some(sells), Some(opening)) = (cx.desk.run.sells(copy, &acceptance), needs) else { return };
        let response = ui.interact(rect, ui.scope_id().with(("verdict", at)), Sense::click());
        let says = if sells { "would sell" } else { "would not sell" };
        theme::named(&response, egui::Role::Button, format!("Copy {} {says}", copy + 1));
        if response.hovered() || response.has_focus() {
            ui.painter().rect_filled(rect.shrink2(Vec2::new(0.0, 1.0)), theme::CONTROL, p.strip);
        }
        let colour = if sells { p.good } else { p.error };
        let sign = Pos2::new(rect.left() + 9.0, rect.center().y);
        let lines = if sells { tick(sign) } else { cross(sign) };
        for line in lines {
            ui.painter().add(Shape::line(line, Stroke::new(2.0, colour)));
        }
        let mark = if self.marks.contains_key(&copy) { ", marked" } else { "" };
        let unit = cx.session.settings().unit;
        let text = format!("gap {}{mark}", plain_length(opening.needs, unit));
        let left = Pos2::new(rect.left() + 22.0, rect.center().y);
        ui.painter().text(left, egui::Align2::LEFT_CENTER, text, theme::small(), p.faint);
        let widest = plain_length(opening.widest, unit);
        let tip = format!(
            "Its widest gap anywhere is {widest}. Click where you disagree: the line follows the copies that you mark"
        );
        if response.on_hover_text(tip).clicked() {
            self.marks.insert(copy, !sells);
            let gap = self.judged(cx).unwrap_or(acceptance.gap);
            let copies = cx.desk.run.copies_for(&acceptance);
            self.marked = copies.map(|c| (Acceptance { gap, ..acceptance }, std::ptr::from_ref(c) as usize));
            if gap != acceptance.gap {
                out.push(accept_gap(cx, gap));
            }
        }
    }

    /// Where the line goes by the copies that were marked.
    fn judged(&self, cx: &Context<'_>) -> Option<GapMm> {
        let acceptance = cx.session.project().acceptance;
        let copies = cx.desk.run.copies_for(&acceptance)?;
        let marks = self.marks.iter();
        let judged: Vec<(f64, bool)> =
            marks.filter_map(|(copy, sells)| Some((copies.openings.get(*copy)?.needs, *sells))).collect();
        between(&judged, acceptance.gap.get()).filter(|gap| *gap != acceptance.gap)
    }

    /// The line over the copies: dragged, or moved by arrow keys.
    fn line_ui(&mut self, ui: &Ui, cx: &Context<'_>, row: Rect, needs: &Needs, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        let gap = cx.session.project().acceptance.gap;
        let x = row.left() + row.width() * needs.share(gap.get()) as f32;
        let hold = Rect::from_x_y_ranges(x - HOLD..=x + HOLD, row.top()..=row.bottom() - FOOT);
        let response = ui.interact(hold, ui.scope_id().with("line"), Sense::drag());
        theme::named(&response, egui::Role::Slider, "Line between copies that would sell and that would not");
        gesture(&response, out);
        let held = response.dragged() || response.drag_stopped();
        if let Some(at) = response.interact_pointer_pos().filter(|_| held) {
            // A line that is dragged overrules what was marked.
            self.marks.clear();
            let to = needs.gap(f64::from((at.x - row.left()) / row.width()));
            if to != gap {
                out.push(accept_gap(cx, to));
            }
        }
        if cx.reach.views() {
            let (right, left) = ui.input_mut(|i| {
                let mut count = |key| i.count_and_consume_key(Modifiers::NONE, key) as isize;
                (count(Key::ArrowRight), count(Key::ArrowLeft))
            });
            if right != left {
                self.marks.clear();
                out.push(accept_gap(cx, needs.stepped(gap.get(), (right - left) * STEP)));
            }
        }
        let active = response.dragged() || response.hovered() || response.has_focus();
        let painter = ui.painter();
        let (top, bottom) = (row.top() - 2.0, row.bottom() - FOOT + 2.0);
        painter.vline(x, top..=bottom, Stroke::new(if active { 7.0 } else { 6.0 }, p.panel));
        painter.vline(x, top..=bottom, Stroke::new(if active { 4.0 } else { 3.0 }, p.accent));
        let knob = Pos2::new(x, (top + bottom) / 2.0);
        painter.circle(knob, 7.0, p.accent, Stroke::new(2.0, p.panel));
        response
            .on_hover_cursor(CursorIcon::ResizeHorizontal)
            .on_hover_text("Drag it to where you would stop selling, or move it with the arrow keys");
    }
}

fn tick(at: Pos2) -> Vec<Vec<Pos2>> {
    vec![vec![at + Vec2::new(-5.0, 0.0), at + Vec2::new(-1.5, 4.0), at + Vec2::new(5.5, -4.5)]]
}

fn cross(at: Pos2) -> Vec<Vec<Pos2>> {
    let d = 4.0;
    vec![vec![at + Vec2::splat(-d), at + Vec2::splat(d)], vec![at + Vec2::new(d, -d), at + Vec2::new(-d, d)]]
}
