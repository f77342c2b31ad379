//! Proposals: passes, order and remedies together, with what each brings, what it costs and what it changes.

use egui::{Frame, RichText, Ui, Vec2};
use slipsheet_document::edit::SheetEdit;
use slipsheet_editor::{Answers, AnswersWanted, Booked, Request, ShownAnswer};

use super::{ANSWER, RunView};
use crate::window::booking::length;
use crate::window::context::Context;
use crate::window::number::drag;
use crate::window::{UiCommand, theme};

impl RunView {
    pub(super) fn answers_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        // What was found of an earlier state may name what is gone, and its figures are of that.
        let asked = (self.goal / 100.0, self.wanted);
        let of_this = |w: &AnswersWanted| (w.share, w.copies) == asked;
        let fresh = !cx.desk.run_desk.is_busy()
            && cx.desk.run_desk.finished() == Some(cx.session.revision())
            && cx.desk.run.answers.as_ref().is_some_and(|shown| of_this(&shown.of.wanted));
        ui.horizontal(|ui| {
            ui.label(theme::heading("Proposals"));
            let label = ui.label(RichText::new("to reach").color(p.faint));
            let field = drag(&mut self.goal).range(1.0..=100.0).speed(0.5).max_decimals(0).suffix(" of 100");
            let tip =
                "How many of a hundred copies should sell; the smallest change that reaches it comes first";
            ui.add(field).labelled_by(label.id).on_hover_text(tip);
            if cx.desk.run.answers.is_some() && !fresh {
                ui.label(RichText::new("looking again…").small().color(p.faint));
            }
        });
        let Some(shown) = &cx.desk.run.answers else {
            ui.label(RichText::new("Trying passes, orders and traps…").color(p.faint));
            return;
        };
        let answers = &shown.of;
        if !fresh && answers.list.is_empty() {
            return;
        }
        if answers.now.outcome.sold.share() >= answers.wanted.share {
            ui.add(egui::Label::new(enough(cx, answers.wanted.share)).wrap());
            return;
        }
        let side = cx.showing.face.other().name().to_lowercase();
        if let Some(sold) = answers.spoilt_by_other_side {
            let hundred = sold.of_hundred();
            let text = format!(
                "Of 100 copies the {side} lets {hundred} sell, whatever is done here: turn to the {side} first."
            );
            ui.add(egui::Label::new(RichText::new(text).color(p.warning)).wrap());
        }
        if answers.list.is_empty() {
            ui.label("Nothing that was tried lets more copies sell. Accept more, or move the inks apart in the artwork.");
            return;
        }
        for (i, answer) in answers.list.iter().enumerate() {
            let pictures = shown.pictures.get(i).and_then(Option::as_ref);
            let apply =
                ui.add_enabled_ui(fresh, |ui| answer_ui(ui, cx, (i, answer, answers), pictures)).inner;
            if apply {
                let edit = SheetEdit::Answer(answer.proposal.answer.clone());
                out.push(Request::sheet(cx.session.sheet().id, edit).into());
            }
            ui.add_space(theme::GAP);
        }
        let text = "A trap grows only into the other ink; type, hairlines and specks stay as they are. Copies to print are to be safe; minutes and money are those of Booking once they are booked.";
        ui.add(egui::Label::new(RichText::new(text).small().color(p.faint)).wrap());
    }
}

/// That nothing needs to change on the sheet in view; where another sheet of a booklet comes out worse, which.
fn enough(cx: &Context<'_>, wanted: f64) -> String {
    match cx.sold() {
        Some(job) if job.sold.share() < wanted && job.sheet != cx.showing.booklet_sheet => format!(
            "Enough copies of this sheet would sell as it is. Sheet {} comes out worst: turn to it.",
            job.sheet + 1
        ),
        _ => "Enough copies would sell as it is: nothing needs to change.".to_owned(),
    }
}

/// One proposal; whether it is to be put in.
fn answer_ui(
    ui: &mut Ui,
    cx: &Context<'_>,
    (i, answer, answers): (usize, &ShownAnswer, &Answers),
    pictures: Option<&[egui::TextureHandle; 2]>,
) -> bool {
    let p = theme::of(ui);
    let mut apply = false;
    Frame::new().fill(p.strip).corner_radius(theme::CARD).inner_margin(12).show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.horizontal_top(|ui| {
            if let Some([before, after]) = pictures {
                for (texture, name) in [(before, "now"), (after, "with it")] {
                    ui.vertical(|ui| {
                        ui.set_width(ANSWER);
                        ui.spacing_mut().item_spacing.y = 2.0;
                        let image = egui::Image::new(texture).fit_to_exact_size(Vec2::splat(ANSWER));
                        ui.add(image.alt_text(format!("Proposal {}, {name}", i + 1)));
                        ui.label(RichText::new(name).small().color(p.faint));
                    });
                }
                ui.add_space(theme::GAP);
            }
            ui.vertical(|ui| {
                let button = 96.0;
                let width = ui.available_width() - button;
                ui.horizontal_top(|ui| {
                    ui.vertical(|ui| {
                        ui.set_width(width);
                        let title = RichText::new(&answer.proposal.title).font(theme::strong_body());
                        ui.add(egui::Label::new(title).wrap());
                        for text in says(cx, answer, answers) {
                            ui.add(egui::Label::new(text).wrap());
                        }
                        let colour = answer.proposal.change.colour;
                        let text = if colour < 0.05 {
                            "No colour on the sheet changes.".to_owned()
                        } else {
                            format!("Colours change by {colour:.1} (CIEDE2000) on the mean over the sheet.")
                        };
                        ui.add(egui::Label::new(RichText::new(text).small().color(p.faint)).wrap());
                    });
                    let try_it = egui::Button::new(RichText::new("Apply").font(theme::strong_body()));
                    let try_it = ui.add(try_it.min_size(Vec2::new(80.0, 28.0)));
                    let name = format!("Apply proposal {}", i + 1);
                    theme::named(&try_it, egui::Role::Button, name);
                    apply = try_it.on_hover_text("Put it in; undo takes all of it back").clicked();
                });
            });
        });
    });
    apply
}

/// What a proposal brings and costs, beside what is now.
fn says(cx: &Context<'_>, answer: &ShownAnswer, answers: &Answers) -> Vec<RichText> {
    let (now, then) = (&answers.now, &answer.booked);
    let hundred = |b: &Booked| b.outcome.sold.of_hundred();
    let reaches = if answer.proposal.reaches { "" } else { ", the nearest there is" };
    let mut lines =
        vec![RichText::new(format!("from {} to {} of 100 would sell{reaches}", hundred(now), hundred(then)))];
    let passes = |n: usize| slipsheet_core::words::count(n, "pass");
    let mut costs = Vec::new();
    if now.outcome.passes == then.outcome.passes {
        costs.push(passes(then.outcome.passes));
    } else {
        costs.push(format!("from {} to {}", now.outcome.passes, passes(then.outcome.passes)));
    }
    costs.push(match (now.outcome.copies, then.outcome.copies) {
        (Some(a), Some(b)) if a != b => format!("print {b} for {}, not {a}", answers.wanted.copies),
        (_, Some(b)) => format!("print {b} for {}", answers.wanted.copies),
        (_, None) => format!("too few to print for {}", answers.wanted.copies),
    });
    costs.extend(before_and_after(now.minutes, then.minutes, length));
    let prices = &cx.session.printing().job.prices;
    costs.extend(before_and_after(now.cost, then.cost, |v| prices.amount(v)));
    lines.push(RichText::new(costs.join(" · ")));
    lines
}

/// A figure now and then; nothing where it is not known.
fn before_and_after(now: Option<f64>, then: Option<f64>, word: impl Fn(f64) -> String) -> Option<String> {
    let then = word(then?);
    match now.map(&word) {
        Some(now) if now != then => Some(format!("from {now} to {then}")),
        _ => Some(then),
    }
}
