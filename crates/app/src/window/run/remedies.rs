//! Answers that are proposed, and remedies for the selected layer by hand, with the tolerance before and after.

use egui::{RichText, Ui};
use slipsheet_document::edit::{LayerEdit, SheetEdit};
use slipsheet_document::passes;
use slipsheet_document::remedy::{Growth, Remedy};
use slipsheet_document::sheet::Sheet;
use slipsheet_editor::{Request, Session};
use slipsheet_registration::propose::{Proposal, Proposals};

use super::RunView;
use crate::window::context::Context;
use crate::window::number::drag;
use crate::window::sheet::plain_length;
use crate::window::{UiCommand, theme};

impl RunView {
    pub(super) fn remedies_ui(&mut self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let p = theme::of(ui);
        let unit = cx.session.settings().unit;
        let message = |t: Option<f64>| t.map_or("any slip".to_owned(), |mm| plain_length(mm, unit));
        let [before, after] = cx.desk.run.tolerances;
        if before != after && before.is_some() {
            ui.label(
                RichText::new(format!("Tolerance {} before, {} now", message(before), message(after)))
                    .family(theme::strong()),
            );
        }
        ui.horizontal_wrapped(|ui| {
            let label = ui.label("To sell");
            let goal = drag(&mut self.goal).range(1.0..=100.0).speed(0.5).max_decimals(0).suffix(" %");
            ui.add(goal).labelled_by(label.id).on_hover_text("The share of copies that should sell");
            let busy = self.proposing.is_some();
            let text = if busy { "Trying…" } else { "Propose answers" };
            let button = ui.add_enabled(!busy, egui::Button::new(text));
            if button.on_hover_text("Passes and remedies together, the smallest change first").clicked() {
                self.proposing = Some(self.goal / 100.0);
                self.proposed = None;
            }
            self.merge_ui(ui, cx, out);
        });
        self.proposals_ui(ui, cx, out);
        ui.add_space(theme::GROUP_GAP);
        let Some((i, layer)) = cx.session.selected_layer() else {
            ui.label("Select a layer on the left to give it a remedy.");
            return;
        };
        ui.label(theme::heading(&format!("Remedies of {}", layer.name)));
        let mut remedies = layer.remedies.clone();
        let mut gone = None;
        for (at, remedy) in remedies.iter_mut().enumerate() {
            ui.horizontal(|ui| {
                if remedy_ui(ui, (i, at), remedy, cx.session.sheet(), out) {
                    gone = Some(at);
                }
            });
        }
        if let Some(at) = gone {
            remedies.remove(at);
        }
        if remedies.is_empty() {
            ui.label(RichText::new("None. The plate is the artwork as it was drawn.").color(p.faint));
        }
        ui.add_space(theme::GAP);
        ui.horizontal_wrapped(|ui| {
            if ui.button("Spread").on_hover_text("Let its shapes grow all around").clicked() {
                remedies.push(Remedy::Spread(Growth::new(0.2)));
            }
            if ui.button("Choke").on_hover_text("Let its shapes shrink all around").clicked() {
                remedies.push(Remedy::Choke(Growth::new(0.2)));
            }
            for (_, other) in cx.session.sheet().on(layer.face).filter(|(k, _)| *k != i) {
                let under = other.id;
                let cut = format!("Knock out {}", other.name);
                if ui
                    .button(cut)
                    .on_hover_text("Leave this layer out where the other prints, with a trap")
                    .clicked()
                {
                    remedies.push(Remedy::Knockout { under, trap: Growth::new(0.3) });
                }
                let fill = format!("Print under {} as well", other.name);
                if ui.button(fill).on_hover_text("Fill the other's knockout, so that it overprints").clicked()
                {
                    remedies.push(Remedy::Fill { under });
                }
            }
        });
        if remedies != layer.remedies {
            out.push(Request::layer(layer.id, LayerEdit::Remedies(remedies)).into());
        }
    }

    /// Prints the tightest pair in one pass, where the press has two drums.
    fn merge_ui(&self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let (printing, face) = (cx.session.printing(), cx.showing.face);
        let Some(study) = cx.desk.run.study.as_ref().filter(|_| printing.press.drums > 1) else { return };
        let Some(tolerance) = cx.desk.run.judged() else { return };
        let least = |r: &slipsheet_registration::slip::Rose| r.least().map_or(f64::INFINITY, |l| l.0);
        let counted = study.pairs.iter().zip(&tolerance.pairs).filter(|(p, _)| study.options.counts(p));
        let Some((pair, _)) = counted.min_by(|a, b| least(a.1).total_cmp(&least(b.1))) else { return };
        let name = |i: usize| printing.sheet.layers.get(i).map_or("", |l| l.name.as_str());
        let passes = passes::passes(printing, face);
        if passes.iter().any(|p| p.contains(&pair.lower) && p.contains(&pair.upper)) {
            return;
        }
        let text = format!("Print {} and {} in one pass", name(pair.lower), name(pair.upper));
        if ui.button(text).on_hover_text("Inks of one pass move together").clicked() {
            let mut joined: Vec<Vec<usize>> = Vec::new();
            for pass in passes {
                let kept: Vec<usize> =
                    pass.iter().copied().filter(|l| *l != pair.lower && *l != pair.upper).collect();
                if pass.contains(&pair.upper) {
                    joined.push(vec![pair.lower, pair.upper]);
                }
                if !kept.is_empty() {
                    joined.push(kept);
                }
            }
            let edit = SheetEdit::Passes(face, printing.sheet.named(&joined));
            out.push(Request::sheet(printing.sheet.id, edit).into());
        }
    }

    /// The answers that were found for the project as it is.
    fn proposals_ui(&self, ui: &mut Ui, cx: &Context<'_>, out: &mut Vec<UiCommand>) {
        let known = self.proposed.as_ref().filter(|(revision, _)| *revision == cx.session.revision());
        let Some((_, found)) = known else { return };
        let faint = theme::of(ui).faint;
        let text = match (found.is_enough(), found.list.is_empty()) {
            (true, _) => "The design sells enough as it is.",
            (false, true) => "Nothing that was tried helps.",
            (false, false) => "",
        };
        ui.add(egui::Label::new(RichText::new(text).color(faint)).wrap());
        for proposal in &found.list {
            ui.horizontal_wrapped(|ui| {
                if ui.button("Apply").on_hover_text("One step, which can be undone").clicked() {
                    let edit = SheetEdit::Answer(proposal.answer.clone());
                    out.push(Request::sheet(cx.session.printing().sheet.id, edit).into());
                }
                ui.label(&proposal.title);
                ui.label(RichText::new(in_words(proposal)).color(faint));
            });
        }
    }

    pub fn take_proposals(&mut self, session: &Session, found: Proposals) {
        self.proposing = None;
        self.proposed = Some((session.revision(), found));
    }
}

/// What a proposal comes to.
fn in_words(proposal: &Proposal) -> String {
    let outcome = &proposal.outcome;
    let print = outcome.copies.map_or(String::new(), |n| format!("; print {n}"));
    format!("{} of 100 would sell{print}", outcome.sold.of_hundred())
}

/// One remedy with its figure; whether it is to go.
fn remedy_ui(
    ui: &mut Ui,
    (layer, at): (usize, usize),
    remedy: &mut Remedy,
    sheet: &Sheet,
    out: &mut Vec<UiCommand>,
) -> bool {
    let words = remedy.words(|id| sheet.layer(id).map(|l| l.name.as_str()));
    let by = remedy.width_mut();
    let gone = ui.push_id((layer, at), |ui| ui.small_button("Remove").clicked()).inner;
    let label = ui.label(&words);
    if let Some(by) = by {
        let mut mm = by.get();
        let field = drag(&mut mm).range(0.0..=3.0).speed(0.01).max_decimals(2).suffix(" mm");
        let field = ui.add(field).labelled_by(label.id);
        if field.changed() {
            *by = Growth::new(mm);
        }
        crate::window::inspector::gesture(&field, "Change a remedy", out);
    }
    gone
}
