//! The simulated run: a contact sheet, one copy from near or the extremes of the run, and how far the copies
//! open and change.

use egui::{Key, Modifiers, Pos2, Rect, RichText, Sense, Stroke, Ui, Vec2};
use egui_plot::{Bar, BarChart};
use slipsheet_editor::SHOWN;
use slipsheet_registration::slip::run::histogram;

use super::RunView;
use super::desk::{CELLS, NEAR};
use crate::window::context::Context;
use crate::window::number::drag;
use crate::window::plot::{Axis, plot_ui};
use crate::window::sheet::plain_length;
use crate::window::theme;

/// Points around a cell of the contact sheet, and the height of the rule under it.
const GAP: f32 = 6.0;
const RULE: f32 = 3.0;
/// Side of the near picture.
const SIDE: f32 = 236.0;
/// Height of a histogram.
const BARS: f32 = 96.0;
/// Width of the contact sheet with a near picture and space beside it; where there is less, they stand one
/// above the other.
const WIDE: f32 = 486.0 + SIDE + 20.0;

impl RunView {
    pub(super) fn copies_ui(&mut self, ui: &mut Ui, cx: &Context<'_>) {
        self.copy_keys(ui, cx);
        let wide = ui.available_width() >= WIDE;
        if wide {
            ui.horizontal_top(|ui| {
                ui.vertical(|ui| {
                    self.contact_ui(ui, cx);
                    self.run_fields(ui);
                    ui.add_space(theme::GAP);
                    ui.horizontal_top(|ui| self.histograms_ui(ui, cx));
                });
                ui.add_space(theme::GAP);
                ui.vertical(|ui| {
                    ui.set_max_width(SIDE);
                    self.near_ui(ui, cx);
                    self.facts_ui(ui, cx);
                });
            });
        } else {
            self.contact_ui(ui, cx);
            self.run_fields(ui);
            ui.add_space(theme::GAP);
            ui.horizontal_top(|ui| {
                ui.vertical(|ui| {
                    ui.set_max_width(SIDE);
                    self.near_ui(ui, cx);
                });
                ui.add_space(theme::GAP);
                ui.vertical(|ui| {
                    self.facts_ui(ui, cx);
                    self.histograms_ui(ui, cx);
                });
            });
        }
    }

    fn contact_ui(&mut self, ui: &mut Ui, cx: &Context<'_>) {
        let p = theme::of(ui);
        let Some((texture, place)) = &cx.desk.run.contact else {
            ui.allocate_ui(Vec2::new(486.0, 100.0), |ui| ui.label("The first copies come in a moment."));
            return;
        };
        let size = texture.size_vec2();
        let (rect, response) = ui.allocate_exact_size(size, Sense::click());
        theme::named(&response, egui::Role::Image, "Contact sheet");
        let uv = Rect::from_min_max(Pos2::ZERO, Pos2::new(1.0, 1.0));
        ui.painter().image(texture.id(), rect, uv, theme::UNTINTED);
        let (columns, cell) = (CELLS.0, CELLS.1 as f32);
        let step = Vec2::new(cell + GAP, cell + RULE + GAP);
        let shown = cx.desk.run.copies.len().min(SHOWN);
        let place_text = format!("around {:.0}, {:.0} mm", place.x, place.y);
        if let Some(at) = response.interact_pointer_pos().filter(|_| response.clicked()) {
            let local = (at - rect.min - Vec2::splat(GAP)) / step;
            let i = local.y.max(0.0) as usize * columns + (local.x.max(0.0) as usize).min(columns - 1);
            if i < shown {
                self.choose(i);
            }
        }
        if self.chosen < shown && !self.extremes {
            let i = self.chosen;
            let corner =
                rect.min + Vec2::splat(GAP) + step * Vec2::new((i % columns) as f32, (i / columns) as f32);
            let frame = Rect::from_min_size(corner, Vec2::new(cell, cell + RULE)).expand(2.0);
            ui.painter().rect_stroke(
                frame,
                theme::SWATCH,
                Stroke::new(2.0, p.accent),
                egui::StrokeKind::Outside,
            );
        }
        let text = format!("The first {shown} copies {place_text}; green is good, red shows a gap.");
        ui.label(RichText::new(text).small().color(p.faint));
    }

    fn run_fields(&mut self, ui: &mut Ui) {
        ui.horizontal(|ui| {
            let label = ui.label("Copies");
            ui.add(drag(&mut self.number).range(20..=2000).speed(5.0))
                .labelled_by(label.id)
                .on_hover_text("Copies that are simulated; more make the share surer");
            if ui
                .button("Simulate again, new random slips")
                .on_hover_text("The same press, other copies")
                .clicked()
            {
                self.seed = self.seed.wrapping_add(1);
            }
            if self.place.is_some()
                && ui.button("Tightest place").on_hover_text("Look at the tightest place again").clicked()
            {
                self.place = None;
            }
        });
    }

    /// The near picture, and what flips through it.
    fn near_ui(&mut self, ui: &mut Ui, cx: &Context<'_>) {
        let p = theme::of(ui);
        let (rect, response) = ui.allocate_exact_size(Vec2::splat(SIDE), Sense::hover());
        let name = if self.extremes { "Extremes of the run" } else { "Copy from near" };
        theme::named(&response, egui::Role::Image, name);
        ui.painter().rect_filled(rect, 0.0, p.canvas);
        if let Some((_, texture)) = &cx.desk.run.near {
            let uv = Rect::from_min_max(Pos2::ZERO, Pos2::new(1.0, 1.0));
            ui.painter().image(texture.id(), rect, uv, theme::UNTINTED);
        }
        let count = cx.desk.run.copies.len();
        ui.horizontal(|ui| {
            if ui.button("Back").on_hover_text("The copy before (left arrow)").clicked() {
                self.flip(cx, -1);
            }
            if ui.button("Next").on_hover_text("The next copy (right arrow)").clicked() {
                self.flip(cx, 1);
            }
            let which = if self.extremes {
                "Farthest of each way".to_owned()
            } else {
                format!("Copy {} of {count}", self.chosen + 1)
            };
            ui.label(which);
        });
        let ranked = cx.desk.run.summary.as_ref().map(|s| s.ranked);
        ui.horizontal(|ui| {
            ui.spacing_mut().item_spacing.x = 4.0;
            for (i, name) in ["Best", "Middle", "Worst"].into_iter().enumerate() {
                let Some(index) = ranked.and_then(|r| r.get(i).copied()) else { continue };
                let on = self.chosen == index && !self.extremes;
                if ui.selectable_label(on, name).clicked() {
                    self.choose(index);
                }
            }
            let tip = "The copies that slipped farthest in each of eight directions, over one another";
            if ui.selectable_label(self.extremes, "Extremes").on_hover_text(tip).clicked() {
                self.extremes = !self.extremes;
            }
        });
    }

    /// What is known of the copy that is shown.
    fn facts_ui(&self, ui: &mut Ui, cx: &Context<'_>) {
        let p = theme::of(ui);
        let faint = |text: String| egui::Label::new(RichText::new(text).small().color(p.faint)).wrap();
        if self.extremes {
            let text =
                format!("Where edges are doubled, buyers will see them in either place; {NEAR:.0} mm shown.");
            ui.add(faint(text));
            return;
        }
        let unit = cx.session.settings().unit;
        let Some(copy) = cx.desk.run.copies.get(self.chosen) else { return };
        let (word, colour) = if copy.sells(&cx.session.project().acceptance) {
            ("Would sell", p.good)
        } else {
            ("Shows a gap", p.error)
        };
        ui.horizontal_wrapped(|ui| {
            ui.label(RichText::new(word).family(theme::strong()).color(colour));
            ui.label(format!("widest gap {}", plain_length(copy.opening.widest, unit)));
        });
        ui.add(faint(format!(
            "Colour change {:.1} on the mean, {:.1} at most on 95 % of the sheet; {NEAR:.0} mm shown.",
            copy.change.mean, copy.change.most
        )));
    }

    fn choose(&mut self, copy: usize) {
        self.chosen = copy;
        self.extremes = false;
    }

    fn flip(&mut self, cx: &Context<'_>, by: isize) {
        let count = cx.desk.run.copies.len().max(1);
        self.choose((self.chosen + count).saturating_add_signed(by) % count);
    }

    fn copy_keys(&mut self, ui: &Ui, cx: &Context<'_>) {
        if !cx.reach.views() {
            return;
        }
        let (next, back) = ui.input_mut(|i| {
            (
                i.count_and_consume_key(Modifiers::NONE, Key::ArrowRight),
                i.count_and_consume_key(Modifiers::NONE, Key::ArrowLeft),
            )
        });
        if next != back {
            self.flip(cx, next as isize - back as isize);
        }
    }

    /// How many copies open how wide a gap, and how many change how much for the eye.
    fn histograms_ui(&self, ui: &mut Ui, cx: &Context<'_>) {
        let run = &cx.desk.run;
        if run.copies.is_empty() {
            return;
        }
        let unit = cx.session.settings().unit;
        let visible = cx.session.project().acceptance.gap.get();
        let gaps = run.copies.iter().map(|c| c.opening.widest);
        let end = |v: f64| plain_length(v, unit);
        histogram_ui(ui, ("Widest gap of each copy", "Histogram of gaps"), gaps, Some(visible), end);
        let changes = run.copies.iter().map(|c| c.change.most);
        let end = |v: f64| format!("{v:.1}");
        let head = ("Visible change of each copy (CIEDE2000)", "Histogram of changes");
        histogram_ui(ui, head, changes, None, end);
    }
}

/// Bars from 0 to the largest value; those past what is visible warn.
fn histogram_ui(
    ui: &mut Ui,
    (head, name): (&str, &str),
    values: impl Iterator<Item = f64> + Clone,
    visible: Option<f64>,
    word: impl Fn(f64) -> String,
) {
    let p = theme::of(ui);
    let (bin, counts) = histogram(values, 24);
    let most = counts.iter().copied().max().unwrap_or(1).max(1) as f64;
    let bars = counts.iter().enumerate().map(|(i, count)| {
        let middle = (i as f64 + 0.5) * bin;
        let colour = match visible {
            Some(visible) if middle > visible => p.error,
            Some(_) => p.good,
            None => p.faint,
        };
        Bar::new(middle, *count as f64).width(bin * 0.9).fill(colour).stroke(Stroke::NONE)
    });
    let bars: Vec<Bar> = bars.collect();
    ui.vertical(|ui| {
        ui.label(RichText::new(head).small().color(p.faint));
        let axes = [
            Axis { label: String::new(), range: 0.0..=bin * counts.len() as f64, word: &word },
            Axis {
                label: String::new(),
                range: 0.0..=most,
                word: &|v| if v > 0.0 { format!("{v:.0}") } else { String::new() },
            },
        ];
        plot_ui(ui, name, Vec2::new(SIDE, BARS), axes, |plot| {
            plot.bar_chart(BarChart::new("copies", bars).allow_hover(false));
        });
    });
}
