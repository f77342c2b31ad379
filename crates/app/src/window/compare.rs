//! Two layers held against each other on the Sheet view: in turn, or where they differ. Slips and placements
//! can be changed meanwhile, and the picture follows.

use std::time::Duration;

use egui::{Align2, Area, ComboBox, Key, Rect, RichText, Sense, Ui, Vec2};
use slipsheet_editor::LiveOrder;
use slipsheet_render::View;
use slipsheet_render::compare::{self as core_compare, Compared, Pair};

use super::context::Context;
use super::sheet::SheetView;
use super::showing::{Compare, How};
use super::{UiCommand, theme};

/// Seconds for which each of two layers is seen: the pair comes round twice a second, which is well below
/// three flashes a second, the most that is safe for everybody (WCAG 2.3.1).
const TURN: f64 = 0.25;

/// Whether two orders are the two turns of one blink.
pub(super) fn phases_of_one(a: &LiveOrder, b: &LiveOrder) -> bool {
    let steady = |order: &LiveOrder| {
        let LiveOrder::Compare { face, pair, compared, view, perfect } = order else { return None };
        matches!(compared, Compared::First | Compared::Second).then_some((*face, *pair, *view, *perfect))
    };
    steady(a).is_some() && steady(a) == steady(b)
}

impl SheetView {
    /// Ends the comparison on Escape, and when there are no two layers any more.
    pub(super) fn end_compare(&self, ui: &Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let escaped = cx.reach.views() && ui.input(|i| i.key_pressed(Key::Escape));
        if cx.showing.compare.is_some() && (escaped || self.compared(cx).is_none()) {
            out.push(UiCommand::Compare(None));
        }
    }

    /// The two layers, while both are on the face that is shown.
    fn compared(&self, cx: &Context<'_>) -> Option<(Compare, Pair)> {
        let (compare, pair) = (cx.showing.compare?, cx.pair()?);
        let first = cx.session.printing().sheet.layers.get(pair.first)?;
        (first.face == cx.showing.face).then_some((compare, pair))
    }

    /// The picture to ask for while two layers are compared.
    pub(super) fn compare_order(
        &mut self,
        ctx: &egui::Context,
        cx: &Context<'_>,
        view: View,
    ) -> Option<LiveOrder> {
        let (compare, pair) = self.compared(cx)?;
        let compared = match compare.how {
            How::Difference => Compared::Difference,
            How::Blink => {
                let (now, focused) = ctx.input(|i| (i.time, i.focused));
                // Nothing moves in a window that nobody looks at, or behind a question.
                if focused && !cx.reach.covered {
                    if now - self.turn.1 >= TURN {
                        self.turn = (!self.turn.0, now);
                    }
                    let rest = (self.turn.1 + TURN - now).clamp(0.0, TURN);
                    ctx.request_repaint_after(Duration::from_secs_f64(rest));
                }
                if self.turn.0 { Compared::Second } else { Compared::First }
            }
        };
        Some(LiveOrder::Compare { face: cx.showing.face, pair, compared, view, perfect: cx.showing.perfect })
    }

    /// What the colours mean, the choice of the other layer, and the way out.
    pub(super) fn compare_legend(&self, ui: &Ui, cx: &Context<'_>, canvas: Rect, out: &mut Vec<UiCommand>) {
        let (Some(compare), Some(pair)) = (cx.showing.compare, cx.pair()) else { return };
        let layers = &cx.session.printing().sheet.layers;
        let name = |i: usize| layers.get(i).map_or("", |l| l.name.as_str());
        let face = layers.get(pair.first).map(|l| l.face);
        let area = Area::new(egui::Id::unique("compare legend"))
            .order(egui::Order::Middle)
            .pivot(Align2::CENTER_TOP)
            .fixed_pos(canvas.center_top() + Vec2::new(0.0, 10.0))
            .constrain_to(canvas);
        area.show(ui.ctx(), |ui| {
            egui::Frame::popup(ui.style()).inner_margin(egui::Margin::symmetric(10, 6)).show(ui, |ui| {
                ui.horizontal(|ui| match compare.how {
                    How::Difference => {
                        key_ui(ui, core_compare::FIRST_ALONE, &format!("{} alone", short(name(pair.first))));
                        key_ui(ui, core_compare::BOTH, "both");
                        key_ui(
                            ui,
                            core_compare::SECOND_ALONE,
                            &format!("{} alone", short(name(pair.second))),
                        );
                    }
                    How::Blink => {
                        let seen = if self.turn.0 { pair.second } else { pair.first };
                        turn_ui(ui, &short(name(pair.first)), seen == pair.first);
                        turn_ui(ui, &short(name(pair.second)), seen == pair.second);
                    }
                });
                ui.horizontal(|ui| {
                    let label = ui.label("Against");
                    let mut against = pair.second;
                    let combo = ComboBox::from_id_salt("compare against")
                        .width(120.0)
                        .truncate()
                        .selected_text(name(against))
                        .show_ui(ui, |ui| {
                            for (i, layer) in layers.iter().enumerate() {
                                if i != pair.first && Some(layer.face) == face {
                                    ui.selectable_value(&mut against, i, &layer.name);
                                }
                            }
                        });
                    combo.response.labelled_by(label.id);
                    if against != pair.second {
                        let against = Some(against);
                        out.push(UiCommand::Compare(Some(Compare { against, ..compare })));
                    }
                    if ui.button("End").on_hover_text("Back to the print (Escape)").clicked() {
                        out.push(UiCommand::Compare(None));
                    }
                });
            });
        });
    }
}

/// A swatch with what it means.
fn key_ui(ui: &mut Ui, colour: [u8; 3], text: &str) {
    let (rect, _) = ui.allocate_exact_size(Vec2::splat(12.0), Sense::hover());
    ui.painter().rect_filled(rect, theme::SWATCH, theme::rgb(colour));
    ui.label(text);
}

/// A layer's name, marked while it is the one that is seen; it takes the same room either way.
fn turn_ui(ui: &mut Ui, name: &str, seen: bool) {
    let p = theme::of(ui);
    let (rect, _) = ui.allocate_exact_size(Vec2::splat(12.0), Sense::hover());
    let dot = egui::Stroke::new(1.2, p.text);
    ui.painter().circle(rect.center(), 4.5, if seen { p.text } else { p.panel }, dot);
    ui.label(RichText::new(name).color(if seen { p.text } else { p.faint }));
}

/// A name that fits into the legend.
fn short(name: &str) -> String {
    const MOST: usize = 16;
    if name.chars().count() <= MOST {
        return name.to_owned();
    }
    name.chars().take(MOST - 1).chain(['…']).collect()
}
