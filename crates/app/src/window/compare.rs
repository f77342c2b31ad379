//! Two layers held against each other on the Sheet view: in turn, or where they differ. Slips and placements
//! can be changed meanwhile, and the picture follows.

use std::time::Duration;

use egui::{Align2, Area, ComboBox, Context, Key, Rect, RichText, Sense, Ui, Vec2};
use slipsheet_editor::LiveOrder;
use slipsheet_render::View;
use slipsheet_render::compare::{self as core_compare, Compared, Pair};

use super::{MainView, SlipsheetApp, theme};

/// How two layers are held against each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum How {
    /// One after the other.
    Blink,
    /// Where they differ.
    Difference,
}

/// What is being compared.
pub(crate) struct CompareState {
    how: How,
    /// The other layer, when the person chose one.
    against: Option<usize>,
    /// Whether the other layer is the one that is seen, and since when, in seconds.
    turn: (bool, f64),
}

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

impl SlipsheetApp {
    /// The selected layer, and the one it is compared with: the chosen one, or the one printed before it, or
    /// the next.
    fn pair(&self) -> Option<Pair> {
        let (first, layer) = self.session.selected_layer()?;
        let on_face = |i: &usize| {
            *i != first && self.session.printing().sheet.layers.get(*i).is_some_and(|l| l.face == layer.face)
        };
        let count = self.session.printing().sheet.layers.len();
        let chosen = self.state.compare.as_ref().and_then(|c| c.against).filter(on_face);
        let second =
            chosen.or_else(|| (0..first).rev().find(on_face)).or_else(|| (first + 1..count).find(on_face))?;
        Some(Pair { first, second })
    }

    pub(super) fn can_compare(&self) -> bool {
        self.state.compare.is_some() || self.pair().is_some()
    }

    /// Whether two layers are compared this way just now.
    pub(super) fn compares(&self, how: How) -> bool {
        self.showing.view == MainView::Sheet && self.state.compare.as_ref().is_some_and(|c| c.how == how)
    }

    /// Starts to compare, changes to the other way, or ends when it is this one already.
    pub(super) fn compare(&mut self, how: How) {
        if self.compares(how) {
            self.state.compare = None;
            return;
        }
        let Some((_, layer)) = self.session.selected_layer() else { return };
        (self.showing.face, self.showing.view) = (layer.face, MainView::Sheet);
        let against = self.state.compare.as_ref().and_then(|c| c.against);
        self.state.compare = Some(CompareState { how, against, turn: (false, f64::NEG_INFINITY) });
    }

    /// The picture to ask for while two layers are compared. Ends the comparison on Escape, and when there
    /// are no two layers any more.
    pub(super) fn compare_order(&mut self, ctx: &Context, view: View) -> Option<LiveOrder> {
        self.state.compare.as_ref()?;
        let reach = self.state.reach;
        let escaped = reach.views() && ctx.input(|i| i.key_pressed(Key::Escape));
        let face = self.showing.face;
        let pair = self.pair().filter(|pair| {
            !escaped && self.session.printing().sheet.layers.get(pair.first).is_some_and(|l| l.face == face)
        });
        let (Some(pair), Some(state)) = (pair, self.state.compare.as_mut()) else {
            self.state.compare = None;
            return None;
        };
        let compared = match state.how {
            How::Difference => Compared::Difference,
            How::Blink => {
                let (now, focused) = ctx.input(|i| (i.time, i.focused));
                // Nothing moves in a window that nobody looks at, or behind a question.
                if focused && !reach.covered {
                    if now - state.turn.1 >= TURN {
                        state.turn = (!state.turn.0, now);
                    }
                    let rest = (state.turn.1 + TURN - now).clamp(0.0, TURN);
                    ctx.request_repaint_after(Duration::from_secs_f64(rest));
                }
                if state.turn.0 { Compared::Second } else { Compared::First }
            }
        };
        Some(LiveOrder::Compare { face, pair, compared, view, perfect: self.showing.perfect })
    }

    /// What the colours mean, the choice of the other layer, and the way out.
    pub(super) fn compare_legend(&mut self, ui: &Ui, canvas: Rect) {
        let Some(pair) = self.pair() else { return };
        let Some(mut state) = self.state.compare.take() else { return };
        let layers = &self.session.printing().sheet.layers;
        let name = |i: usize| layers.get(i).map_or("", |l| l.name.as_str());
        let face = layers.get(pair.first).map(|l| l.face);
        let mut ended = false;
        let area = Area::new(egui::Id::unique("compare legend"))
            .order(egui::Order::Middle)
            .pivot(Align2::CENTER_TOP)
            .fixed_pos(canvas.center_top() + Vec2::new(0.0, 10.0))
            .constrain_to(canvas);
        area.show(ui.ctx(), |ui| {
            egui::Frame::popup(ui.style()).inner_margin(egui::Margin::symmetric(10, 6)).show(ui, |ui| {
                ui.horizontal(|ui| match state.how {
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
                        let seen = if state.turn.0 { pair.second } else { pair.first };
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
                        state.against = Some(against);
                    }
                    ended = ui.button("End").on_hover_text("Back to the print (Escape)").clicked();
                });
            });
        });
        if !ended {
            self.state.compare = Some(state);
        }
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
